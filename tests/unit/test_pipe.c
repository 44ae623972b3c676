/* Friction in a straight pipe: published factors, the slope of every law, the
 * joins at Reynolds 2000 and 4000, and the way back from head to flow. */
#include <stdbool.h>

#include "check.h"
#include "physics/pipe.h"
#include "physics/water.h"
#include "slope.h"

/* Darcy friction factors: 64/Re up to 2000; Colebrook from 4000, solved two
 * ways (scipy brentq, python fluids 1.0.22) and printed to six figures. Rows
 * between 2000 and 4000 are left out, as there our cubic stands. */
static const struct {
    const char *row;
    double reynolds, relative_roughness, friction;
} published[] = {
    {"F001", 10, 0, 6.40000},
    {"F002", 50, 0, 1.28000},
    {"F003", 100, 0, 0.640000},
    {"F004", 250, 0, 0.256000},
    {"F005", 500, 0, 0.128000},
    {"F006", 1000, 0, 0.0640000},
    {"F007", 1500, 0, 0.0426667},
    {"F008", 2000, 0, 0.0320000},
    {"F011", 4000, 0, 0.0399070},
    {"F012", 4000, 0.0001, 0.0400084},
    {"F013", 4000, 0.001, 0.0409104},
    {"F014", 4000, 0.01, 0.0490823},
    {"F015", 5000, 0, 0.0373927},
    {"F016", 6000, 0.0002, 0.0357453},
    {"F017", 8000, 0.001, 0.0341436},
    {"F018", 10000, 0, 0.0308830},
    {"F019", 10000, 0.0001, 0.0310372},
    {"F020", 10000, 0.001, 0.0323818},
    {"F021", 10000, 0.005, 0.0376299},
    {"F022", 10000, 0.02, 0.0522749},
    {"F023", 15000, 0.0001, 0.0279944},
    {"F024", 20000, 0, 0.0258831},
    {"F025", 20000, 0.0005, 0.0269465},
    {"F026", 20000, 0.01, 0.0407054},
    {"F027", 30000, 0.0001, 0.0237532},
    {"F028", 50000, 0, 0.0208914},
    {"F029", 50000, 0.0001, 0.0212479},
    {"F030", 50000, 0.001, 0.0240208},
    {"F031", 50000, 0.01, 0.0390816},
    {"F032", 100000, 0, 0.0179898},
    {"F033", 100000, 1e-05, 0.0180438},
    {"F034", 100000, 0.0001, 0.0185139},
    {"F035", 100000, 0.001, 0.0221745},
    {"F036", 100000, 0.01, 0.0385035},
    {"F037", 200000, 0.0002, 0.0170980},
    {"F038", 500000, 0, 0.0131579},
    {"F039", 500000, 0.0001, 0.0144302},
    {"F040", 1e+06, 0, 0.0116450},
    {"F041", 1e+06, 1e-05, 0.0118695},
    {"F042", 1e+06, 0.0001, 0.0134414},
    {"F043", 1e+06, 0.001, 0.0199435},
    {"F044", 1e+06, 0.01, 0.0379647},
    {"F045", 1e+06, 0.05, 0.0715738},
    {"F046", 1e+07, 0, 0.00810267},
    {"F047", 1e+07, 0.0001, 0.0121661},
    {"F048", 1e+08, 1e-06, 0.00643256},
    {"F049", 1e+08, 0.01, 0.0379043},
    {"F051", 7008.73, 0.00012427506, 0.0341603},
    {"F052", 9875.58, 0.00011029412, 0.0311547},
    {"F053", 17730.4, 7.4257426e-05, 0.0268168},
    {"F054", 6329.22, 9.7402597e-05, 0.0350964},
    {"F055", 12892.9, 5.952381e-05, 0.0290051},
    {"F057", 10663.3, 0.00058823529, 0.0312844},
    {"F058", 9436.8, 0.025316456, 0.0567356},
    {"F059", 134312, 4e-05, 0.0171838},
    {"F060", 116865, 0.0052, 0.0315189},
    {"F061", 488.903, 0, 0.130905},
    {"F062", 1777.48, 0, 0.0360060},
    {"F063", 45094.9, 8e-05, 0.0216511},
    {"F064", 13743, 0.000375, 0.0290996},
    {"F065", 35273.4, 0, 0.0226135},
    {"F066", 142460, 0, 0.0167291},
    {"F067", 61276, 0.00044965787, 0.0216513},
    {"F068", 169426, 0.001, 0.0212547},
    {"F069", 427481, 0.00045045045, 0.0175008},
    {"F070", 187454, 0.001275, 0.0221195},
    {"F071", 727655, 0.0020210026, 0.0237389},
    {"F072", 128000, 0.0013, 0.0227161},
    {"F073", 270000, 0.0008, 0.0198437},
};

static void friction_factors(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof published / sizeof published[0]; i++) {
        double got = pipe_friction(published[i].reynolds, published[i].relative_roughness, NULL);
        if (fabs(got / published[i].friction - 1.0) > 5e-6)
            print_error("row %s:\n", published[i].row);
        /* six printed figures, some of them up to 3.9e-6 off */
        assert_near(got, published[i].friction, 5e-6);
    }
}

/* Textbook examples, Darcy factors as printed (companion notebooks of the books
 * named). Printed digits, or 0.5 % where the book read a chart. */
static const struct {
    const char *book;
    double reynolds, relative_roughness, friction, relative;
} books[] = {
    {"Cengel and Cimbala, 2nd ed, example 8-3", 134312, 4e-05, 0.0172, 5e-3},
    {"Cengel and Cimbala, 2nd ed, example 8-8", 116865, 0.0052, 0.0315, 0.00005 / 0.0315},
    {"Cengel and Cimbala, 2nd ed, example 8-1", 488.903, 0, 0.1309, 0.00005 / 0.1309},
    {"Cengel and Cimbala, 2nd ed, example 8-2", 1777.48, 0, 0.0360, 0.00005 / 0.0360},
    {"Abulencia and Theodore, example 22.5", 169426, 0.001, 4 * 0.0053, 5e-3},
    {"Fox and McDonald, example 10.8", 727655, 0.0020210026, 0.0237, 0.00005 / 0.0237},
    /* read from a chart and further off than 0.5 %: the bound is what was found */
    {"Munson, Young and Okiishi, 5th ed, example 8.8", 45094.9, 8e-05, 0.0215, 7.1e-3},
    {"I. A. Khan, example 12.4", 187454, 0.001275, 0.022, 5.5e-3},
    {"White, oil in 200 mm cast iron, from memory", 128000, 0.0013, 0.0225, 9.7e-3},
    {"White, asphalted cast iron, from memory", 270000, 0.0008, 0.0197, 7.4e-3},
};

static void textbook_factors(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof books / sizeof books[0]; i++) {
        double got = pipe_friction(books[i].reynolds, books[i].relative_roughness, NULL);
        if (fabs(got / books[i].friction - 1.0) > books[i].relative)
            print_error("%s:\n", books[i].book);
        assert_near(got, books[i].friction, books[i].relative);
    }
}

static const double roughnesses[] = {0.0, 1e-6, 1e-5, 1e-4, 1e-3, 0.01, 0.05};
static const size_t roughness_count = sizeof roughnesses / sizeof roughnesses[0];

/* Colebrook's own equation, in long double, is left with no error to speak of:
 * 1e-13 of 1/sqrt(f), all the way from 2000 to 1e8. */
static void colebrook_is_solved(void **state)
{
    (void)state;
    for (size_t i = 0; i < roughness_count; i++)
        for (double reynolds = 2000.0; reynolds <= 1e8; reynolds *= 1.17) {
            double rr = roughnesses[i];
            double friction = pipe_colebrook(reynolds, rr, NULL);
            long double x = 1.0L / sqrtl((long double)friction);
            long double right =
                -2.0L * log10l((long double)rr / 3.7L + 2.51L * x / (long double)reynolds);
            assert_near((double)x, (double)right, 1e-13);
        }
}

static double friction_law(double reynolds, double *slope, const void *context)
{
    return pipe_friction(reynolds, *(const double *)context, slope);
}

static double friction_re2_law(double reynolds, double *slope, const void *context)
{
    return pipe_friction_re2(reynolds, *(const double *)context, slope);
}

static void friction_slopes(void **state)
{
    (void)state;
    for (size_t i = 0; i < roughness_count; i++) {
        for (double reynolds = 3.0; reynolds <= 1e8; reynolds *= 1.31) {
            double step = 1e-4 * reynolds;
            bool corner = fabs(reynolds - 2000.0) < 2 * step || fabs(reynolds - 4000.0) < 2 * step;
            if (corner)
                continue;
            assert_slope(friction_re2_law, reynolds, step, &roughnesses[i], 1e-8);
            /* fully rough, f hardly changes and its slope is lost in rounding */
            double slope;
            double friction = pipe_friction(reynolds, roughnesses[i], &slope);
            double by_difference =
                slope_by_difference(friction_law, reynolds, step, &roughnesses[i]);
            assert_close(slope, by_difference, 1e-7 * fabs(slope) + 5e-11 * friction / reynolds);
        }
        assert_joins(friction_law, PIPE_LAMINAR_END, &roughnesses[i], 1e-8);
        assert_joins(friction_law, PIPE_TURBULENT_START, &roughnesses[i], 1e-8);
        assert_joins(friction_re2_law, PIPE_LAMINAR_END, &roughnesses[i], 1e-8);
        assert_joins(friction_re2_law, PIPE_TURBULENT_START, &roughnesses[i], 1e-8);
    }
}

/* The cubic through (2000, 0.032) with slope -64/2000^2 and Colebrook's value
 * and slope at 4000, smooth: at 3000 by hand, (f0 + f1)/2 + 2000 (s0 - s1)/8. */
static void middle_of_the_transition(void **state)
{
    (void)state;
    double end_slope;
    double end = pipe_colebrook(4000.0, 0.0, &end_slope);
    double by_hand = 0.5 * (0.032 + end) + 2000.0 * (-64.0 / 4e6 - end_slope) / 8.0;
    assert_near(pipe_friction(3000.0, 0.0, NULL), by_hand, 1e-13);
    assert_close(by_hand, 0.0327, 1e-4);
}

struct hose {
    double bore, length, roughness, k, viscosity;
};

/* 13 mm hose, short and full of fittings; a long rough pipe; fittings alone;
 * a capillary with glycol; a pipe without fittings. */
static const struct hose hoses[] = {
    {0.013, 3.0, 1e-5, 6.0, 1e-6},       {0.05, 200.0, 2.6e-4, 3.5, 1.3e-6},
    {0.02, 0.0, 0.0, 2.0, 1e-6},         {0.003, 9.0, 0.0, 0.5, 4.8e-6},
    {0.0136, 20.0, 1.5e-6, 0.0, 6.6e-7},
};
static const size_t hose_count = sizeof hoses / sizeof hoses[0];

static double loss_law(double flow, double *slope, const void *context)
{
    const struct hose *h = context;
    return pipe_loss_m(flow, h->bore, h->length, h->roughness, h->k, h->viscosity, slope);
}

static double flow_at(const struct hose *h, double reynolds)
{
    return reynolds * 3.14159265358979323846 / 4.0 * h->bore * h->viscosity;
}

static void loss_slopes(void **state)
{
    (void)state;
    for (size_t i = 0; i < hose_count; i++) {
        const struct hose *h = &hoses[i];
        for (double reynolds = 1e-3; reynolds < 1e7; reynolds *= 1.37) {
            double flow = flow_at(h, reynolds);
            assert_slope(loss_law, flow, 1e-4 * flow, h, 1e-7);
            assert_slope(loss_law, -flow, 1e-4 * flow, h, 1e-7);
        }
        assert_joins(loss_law, flow_at(h, 2000.0), h, 1e-8);
        assert_joins(loss_law, flow_at(h, 4000.0), h, 1e-8);
        assert_joins(loss_law, -flow_at(h, 4000.0), h, 1e-8);
    }
}

/* At rest the law goes through nothing with the laminar slope
 * 128 nu L/(pi g D4), whatever the fittings; Hagen and Poiseuille. */
static void at_rest(void **state)
{
    (void)state;
    for (size_t i = 0; i < hose_count; i++) {
        const struct hose *h = &hoses[i];
        double slope;
        assert_close(loss_law(0.0, &slope, h), 0.0, 0.0);
        double by_hand = 128.0 * h->viscosity * h->length /
                         (3.14159265358979323846 * 9.80665 * pow(h->bore, 4.0));
        assert_near(slope, by_hand, 1e-14);
        double tiny;
        loss_law(-1e-30, &tiny, h);
        assert_close(tiny, by_hand, 1e-12 * by_hand + 1e-20);
    }
}

static void odd_and_rising(void **state)
{
    (void)state;
    for (size_t i = 0; i < hose_count; i++) {
        double before = 0.0;
        for (double reynolds = 1.0; reynolds < 1e7; reynolds *= 1.003) {
            double flow = flow_at(&hoses[i], reynolds);
            double loss = loss_law(flow, NULL, &hoses[i]);
            assert_close(loss_law(-flow, NULL, &hoses[i]), -loss, 0.0);
            assert_true(loss > before);
            before = loss;
        }
    }
}

static void the_way_back(void **state)
{
    (void)state;
    for (size_t i = 0; i < hose_count; i++) {
        const struct hose *h = &hoses[i];
        for (double reynolds = 1e-3; reynolds < 1e7; reynolds *= 1.7) {
            double flow = flow_at(h, reynolds);
            double slope, back_slope;
            double loss = loss_law(flow, &slope, h);
            double back = pipe_flow_m3s(loss, h->bore, h->length, h->roughness, h->k, h->viscosity,
                                        &back_slope);
            assert_near(back, flow, 1e-13);
            assert_near(back_slope, 1.0 / slope, 1e-10);
            back = pipe_flow_m3s(-loss, h->bore, h->length, h->roughness, h->k, h->viscosity, NULL);
            assert_near(back, -flow, 1e-13);
        }
    }
    double slope;
    assert_close(pipe_flow_m3s(0.0, 0.013, 3.0, 1e-5, 6.0, 1e-6, &slope), 0.0, 0.0);
    assert_true(isfinite(slope) && slope > 0.0);
    assert_close(pipe_flow_m3s(0.0, 0.013, 0.0, 0.0, 0.0, 1e-6, NULL), 0.0, 0.0);
    assert_true(pipe_flow_m3s(1.0, 0.013, 0.0, 0.0, 0.0, 1e-6, NULL) == INFINITY);
    assert_true(pipe_flow_m3s(-1.0, 0.013, 0.0, 0.0, 0.0, 1e-6, NULL) == -INFINITY);
}

/* Nine small pipes at water's temperature (flow, bore, temperature, then speed
 * and Reynolds number as printed; speeds to 0.001 m/s). The printed bores are
 * the smallest allowed. */
static void speed_and_reynolds(void **state)
{
    (void)state;
    static const struct {
        double litres_min, bore, c, speed, reynolds;
    } rows[] = {
        {4, 0.01207, 20, 0.583, 7008.73}, /* PEX 1/2 */
        {3, 0.0136, 60, 0.344, 9875.58},  /* copper 15 x 0.7 */
        {8, 0.0202, 60, 0.416, 17730.4},  /* copper 22 x 0.9 */
        {6, 0.0154, 10, 0.537, 6329.22},  /* PE 20 */
        {20, 0.0252, 10, 0.668, 12892.9}, /* PE 32 */
        {6, 0.0119, 20, 0.899, 10663.3},  /* hose 12.5 */
        {8, 0.0158, 15, 0.680, 9436.8},   /* galvanised 1/2 */
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        double flow = rows[i].litres_min / 60000.0;
        double viscosity = water_viscosity_m2s(WATER_PLAIN, rows[i].c);
        assert_close(pipe_velocity_m_s(flow, rows[i].bore), rows[i].speed, 0.0006);
        assert_near(pipe_reynolds(-flow, rows[i].bore, viscosity), rows[i].reynolds, 1e-4);
    }
}

static void nan_comes_back(void **state)
{
    (void)state;
    double slope;
    assert_true(isnan(pipe_loss_m(NAN, 0.013, 3.0, 1e-5, 6.0, 1e-6, &slope)));
    assert_true(isnan(pipe_loss_m(1e-4, NAN, 3.0, 1e-5, 6.0, 1e-6, &slope)));
    assert_true(isnan(pipe_friction(NAN, 0.0, &slope)));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(friction_factors),
        cmocka_unit_test(textbook_factors),
        cmocka_unit_test(colebrook_is_solved),
        cmocka_unit_test(friction_slopes),
        cmocka_unit_test(middle_of_the_transition),
        cmocka_unit_test(loss_slopes),
        cmocka_unit_test(at_rest),
        cmocka_unit_test(odd_and_rising),
        cmocka_unit_test(the_way_back),
        cmocka_unit_test(speed_and_reynolds),
        cmocka_unit_test(nan_comes_back),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
