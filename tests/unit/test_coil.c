/* Head lost in coils: the published laws at computed points, the slopes, the
 * join at the critical Reynolds number, and serpentines. */
#include "check.h"
#include "physics/coil.h"
#include "physics/pipe.h"
#include "slope.h"

/* Darcy factors in a coil, computed with python fluids 1.0.22, which follows
 * White (1929), and Mori and Nakayama (1967); eight figures as printed. The
 * first row's curvature is past White's limit: it tests the formula only. */
static const struct {
    double reynolds, bore, turn, friction;
} white[] =
    {
        {250, 0.02, 0.1, 0.40632818},
        {1000, 0.01, 0.6, 0.10660938},
        {1500, 0.013, 0.4, 0.092666827},
        {2000, 0.015, 0.5, 0.076349099},
},
  mori[] = {
      {10000, 0.01, 0.2, 0.037311802},
      {10000, 0.01, 0.6, 0.034454895},
      {12000, 0.013, 0.4, 0.034737499},
      {20000, 0.015, 0.5, 0.030980682},
};

static void published_points(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof white / sizeof white[0]; i++) {
        double a = white[i].bore / white[i].turn;
        assert_near(coil_white(white[i].reynolds, a, NULL), white[i].friction, 5e-8);
        assert_near(coil_friction(white[i].reynolds, a, 0.0, NULL), white[i].friction, 5e-8);
    }
    for (size_t i = 0; i < sizeof mori / sizeof mori[0]; i++) {
        double a = mori[i].bore / mori[i].turn;
        assert_near(coil_mori_nakayama(mori[i].reynolds, a, NULL), mori[i].friction, 5e-8);
        assert_near(coil_friction(mori[i].reynolds, a, 0.0, NULL), mori[i].friction, 5e-8);
    }
}

/* Ito (1959): 20000 a^0.32, computed with python fluids 1.0.22. */
static void critical_reynolds(void **state)
{
    (void)state;
    static const double rows[][3] = {
        {1, 7, 10729.973},      {0.02, 0.1, 11949.771},  {0.01, 0.2, 7668.323},
        {0.01, 0.6, 5395.3745}, {0.013, 0.4, 6680.8646}, {0.015, 0.5, 6511.9161},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        assert_near(coil_critical_reynolds(rows[i][0] / rows[i][1]), rows[i][2], 5e-8);
}

struct bend {
    double curvature, roughness;
};
static const struct bend bends[] = {
    {0.2, 0.0}, {0.05, 1.5e-4}, {1.0 / 60.0, 1e-3}, {0.003, 1.5e-4}, {0.0004, 0.02},
};
static const size_t bend_count = sizeof bends / sizeof bends[0];

static double white_law(double reynolds, double *slope, const void *context)
{
    return coil_white(reynolds, ((const struct bend *)context)->curvature, slope);
}

static double mori_law(double reynolds, double *slope, const void *context)
{
    return coil_mori_nakayama(reynolds, ((const struct bend *)context)->curvature, slope);
}

static double coil_law(double reynolds, double *slope, const void *context)
{
    const struct bend *bend = context;
    return coil_friction(reynolds, bend->curvature, bend->roughness, slope);
}

static void friction_slopes(void **state)
{
    (void)state;
    for (size_t i = 0; i < bend_count; i++) {
        const struct bend *bend = &bends[i];
        for (double reynolds = 3.0; reynolds < 1e6; reynolds *= 1.19) {
            double step = 1e-4 * reynolds;
            assert_slope(mori_law, reynolds, step, bend, 1e-7);
            if (fabs(reynolds * sqrt(bend->curvature) / 11.6 - 1.0) > 0.02)
                assert_slope(white_law, reynolds, step, bend, 1e-7);
        }
        assert_joins(white_law, 11.6 / sqrt(bend->curvature), bend, 1e-2);
        /* straight up to there, and within 0.1 % of it a Dean number on: part =
         * (1 - u)^2.22 starts flat */
        double foot = 11.6 / sqrt(bend->curvature);
        assert_near(white_law(0.999 * foot, NULL, bend), 64.0 / (0.999 * foot), 1e-15);
        assert_near(white_law(1.01 * foot, NULL, bend), 64.0 / (1.01 * foot), 1e-4);
    }
}

/* Over the whole law, away from its corners. */
static void whole_law_slopes(void **state)
{
    (void)state;
    for (size_t i = 0; i < bend_count; i++) {
        const struct bend *bend = &bends[i];
        double critical = coil_critical_reynolds(bend->curvature);
        for (double reynolds = 3.0; reynolds < 1e6; reynolds *= 1.07) {
            double step = 1e-5 * reynolds;
            double straight = pipe_friction(reynolds, bend->roughness, NULL);
            double coiled = coil_mori_nakayama(reynolds, bend->curvature, NULL);
            if (fabs(reynolds / critical - 1.0) < 1e-3 || fabs(reynolds / 2000.0 - 1.0) < 1e-3 ||
                fabs(reynolds / 4000.0 - 1.0) < 1e-3 || fabs(coiled / straight - 1.0) < 1e-3 ||
                fabs(reynolds * sqrt(bend->curvature) / 11.6 - 1.0) < 0.02)
                continue;
            assert_slope(coil_law, reynolds, step, bend, 1e-6);
            double got = coil_law(reynolds, NULL, bend);
            if (reynolds > critical)
                assert_close(got, fmax(straight, coiled), 0.0);
            else
                assert_close(got, coil_white(reynolds, bend->curvature, NULL), 0.0);
        }
    }
}

/* At the critical Reynolds number the law climbs within one millionth of it,
 * without a jump and without a wrong slope at either foot. */
static void joins_at_the_critical_reynolds(void **state)
{
    (void)state;
    for (size_t i = 0; i < bend_count; i++) {
        const struct bend *bend = &bends[i];
        double low = coil_critical_reynolds(bend->curvature);
        double high = low * (1.0 + COIL_JOIN);
        double below = coil_law(low, NULL, bend);
        double above = coil_law(high, NULL, bend);
        assert_true(above > below);
        double before = below;
        for (int k = 1; k <= 100; k++) {
            double reynolds = low + (high - low) * k / 100.0;
            double got = coil_law(reynolds, NULL, bend);
            assert_true(got >= before && got <= above * (1.0 + 1e-12));
            before = got;
        }
        double middle = 0.5 * (low + high);
        assert_slope(coil_law, middle, 1e-3 * (high - low), bend, 1e-4);
        double outside, inside;
        coil_law(low, &outside, bend);
        coil_law(nextafter(low, INFINITY), &inside, bend);
        assert_close(inside, outside, 1e-4 * (above - below) / (high - low));
        coil_law(high, &outside, bend);
        coil_law(nextafter(high, 0.0), &inside, bend);
        assert_close(inside, outside, 1e-4 * (above - below) / (high - low));
    }
}

static const struct coil_tube coils[] = {
    {COIL_HELICAL, 0.01, 18.0, 0.4, 0.0, 1.0, 1.5e-6},
    {COIL_HELICAL, 0.013, 12.0, 0.9, 0.0, 3.0, 1.5e-6},
    {COIL_SERPENTINE, 0.01, 18.0, 0.0, 14.0, 2.0, 1.5e-6},
    {COIL_STRAIGHT, 0.008, 2.0, 0.0, 0.0, 10.0, 1.5e-6},
};
static const size_t coil_count = sizeof coils / sizeof coils[0];

static double loss_law(double flow, double *slope, const void *context)
{
    return coil_loss_m(context, flow, 8e-7, slope);
}

static void loss_slopes(void **state)
{
    (void)state;
    for (size_t i = 0; i < coil_count; i++) {
        const struct coil_tube *coil = &coils[i];
        double before = 0.0;
        for (double flow = 1e-10; flow < 2e-3; flow *= 1.23) {
            double loss = loss_law(flow, NULL, coil);
            assert_true(loss > before);
            assert_close(loss_law(-flow, NULL, coil), -loss, 0.0);
            before = loss;
            assert_slope(loss_law, flow, 1e-6 * flow, coil, 1e-5);
            assert_slope(loss_law, -flow, 1e-6 * flow, coil, 1e-5);
        }
        /* at rest: Hagen and Poiseuille in every tube */
        double slope;
        assert_close(loss_law(0.0, &slope, coil), 0.0, 0.0);
        assert_near(slope,
                    128.0 * 8e-7 * coil->length_m /
                        (3.14159265358979323846 * 9.80665 * pow(coil->bore_m, 4.0)) / coil->tubes,
                    1e-13);
    }
}

/* Whole coils against the sum done by hand from the factor: f L/D v2/2g in one
 * tube of those in parallel, and bends at K 1.5 for a serpentine. */
static void loss_by_hand(void **state)
{
    (void)state;
    for (size_t i = 0; i < coil_count; i++) {
        const struct coil_tube *coil = &coils[i];
        for (double flow = 2e-6; flow < 1e-3; flow *= 2.7) {
            double speed = pipe_velocity_m_s(flow / coil->tubes, coil->bore_m);
            double reynolds = speed * coil->bore_m / 8e-7;
            double rr = coil->roughness_m / coil->bore_m;
            double friction = coil->layout == COIL_HELICAL
                                  ? coil_friction(reynolds, coil->bore_m / coil->turn_m, rr, NULL)
                                  : pipe_friction(reynolds, rr, NULL);
            double k = coil->layout == COIL_SERPENTINE ? 1.5 * coil->bends : 0.0;
            double by_hand =
                (friction * coil->length_m / coil->bore_m + k) * speed * speed / (2.0 * 9.80665);
            assert_near(loss_law(flow, NULL, coil), by_hand, 1e-12);
        }
    }
}

static void bends_not_counted(void **state)
{
    (void)state;
    assert_close(coil_bends(18.0, 1.4), 14.0, 0.0); /* 15.21 lengths of the side */
    assert_close(coil_bends(18.0, 1.44), floor(18.0 / sqrt(1.44)) - 1.0, 0.0);
    assert_close(coil_bends(1.0, 4.0), 0.0, 0.0);
    assert_close(coil_bends(2.0, 4.0), 0.0, 0.0);
    assert_close(coil_bends(4.1, 4.0), 1.0, 0.0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(published_points),
        cmocka_unit_test(critical_reynolds),
        cmocka_unit_test(friction_slopes),
        cmocka_unit_test(whole_law_slopes),
        cmocka_unit_test(joins_at_the_critical_reynolds),
        cmocka_unit_test(loss_slopes),
        cmocka_unit_test(loss_by_hand),
        cmocka_unit_test(bends_not_counted),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
