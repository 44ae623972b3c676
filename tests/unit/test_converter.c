/* Converters: thresholds, the laws of each state, derivatives, and Newton on a small circuit. */
#include "physics/converter.h"

#include "check.h"

/* 12 V, 5 A, 0.90, 1.5 V dropout, 0.12 W idle, works from 8 V up. */
static struct converter step_down(bool pass_through)
{
    return (struct converter){.type = CONVERTER_STEP_DOWN,
                              .output_v = 12.0,
                              .dropout_v = 1.5,
                              .min_input_v = 8.0,
                              .restart_v = NAN,
                              .max_a = 5.0,
                              .efficiency = 0.9,
                              .idle_w = 0.12,
                              .pass_through = pass_through};
}

static struct converter step_up(void)
{
    struct converter converter = step_down(false);
    converter.type = CONVERTER_STEP_UP;
    converter.output_v = 24.0;
    return converter;
}

static void thresholds(void **state)
{
    (void)state;
    struct converter converter = step_down(false);
    assert_near(converter_stop_v(&converter), 13.5, 1e-15);  /* 12 + 1.5 */
    assert_near(converter_start_v(&converter), 13.5, 1e-15); /* 8.5 lies below it */
    converter.restart_v = 15.0;
    assert_near(converter_start_v(&converter), 15.0, 1e-15);
    converter.min_input_v = 14.0;
    assert_near(converter_stop_v(&converter), 14.0, 1e-15);
    converter = step_down(true);
    assert_near(converter_stop_v(&converter), 8.0, 1e-15);
    assert_near(converter_start_v(&converter), 8.5, 1e-15);
    converter = step_down(false);
    converter.type = CONVERTER_BOTH;
    assert_near(converter_stop_v(&converter), 8.0, 1e-15);
    converter = step_up();
    assert_near(converter_stop_v(&converter), 8.0, 1e-15);
}

/* Energy balance, I_in = P_out / (efficiency V_in): 8 W at 0.90 take 8.8889 W, 1.2698 A at
 * 7 V; the worked figures of a 12 V 8 W load behind a converter of either direction. */
static void constant_power(void **state)
{
    (void)state;
    struct converter converter = step_down(false);
    converter.type = CONVERTER_BOTH;
    converter.min_input_v = 7.0;
    converter.idle_w = 0.0;
    double load_a = 8.0 / 12.0;
    assert_close(7.0 * converter_input(&converter, 7.0, 12.0, load_a).amps, 8.8889, 5e-5);
    assert_close(converter_input(&converter, 7.0, 12.0, load_a).amps, 1.2698, 5e-5);
    for (double input_v = 7.0; input_v < 30.0; input_v += 0.9) {
        assert_near(input_v * converter_input(&converter, input_v, 12.0, load_a).amps, 8.0 / 0.9,
                    1e-14);
        assert_int_equal(converter_state(&converter, input_v, 12.0, load_a), CONVERTER_REGULATING);
    }
}

/* By hand: 5 A from 10 V through 1.5 V / 5 A = 0.3 ohm: 8.5 V, and 2 A give 9.4 V. */
static void passing_drops_in_proportion(void **state)
{
    (void)state;
    struct converter converter = step_down(true);
    assert_near(converter_output_v(&converter, 10.0, 5.0, NULL, NULL), 8.5, 1e-15);
    assert_near(converter_output_v(&converter, 10.0, 2.0, NULL, NULL), 9.4, 1e-15);
    assert_int_equal(converter_state(&converter, 10.0, 9.4, 2.0), CONVERTER_PASSING);
    /* the output reaches 12 V from 12 + 0.6 V on */
    assert_near(converter_output_v(&converter, 12.6, 2.0, NULL, NULL), 12.0, 1e-15);
    assert_true(converter_output_v(&converter, 12.59, 2.0, NULL, NULL) < 12.0);
    assert_near(converter_output_v(&converter, 30.0, 2.0, NULL, NULL), 12.0, 1e-15);
    assert_close(converter_output_v(&converter, 0.2, 2.0, NULL, NULL), 0.0, 0);
    /* without a largest current the dropout is constant */
    converter.max_a = INFINITY;
    assert_near(converter_output_v(&converter, 10.0, 5.0, NULL, NULL), 8.5, 1e-15);
    assert_near(converter_output_v(&converter, 10.0, 2.0, NULL, NULL), 8.5, 1e-15);
    converter.max_a = NAN; /* the same by another name */
    assert_near(converter_output_v(&converter, 10.0, 2.0, NULL, NULL), 8.5, 1e-15);
    assert_int_equal(converter_state(&converter, 20.0, 12.0, 500.0), CONVERTER_REGULATING);
    /* and one that does not pass holds its output or is off */
    converter = step_down(false);
    assert_near(converter_output_v(&converter, 10.0, 2.0, NULL, NULL), 12.0, 1e-15);
}

/* A step-up hands its input on once that lies above the output, less 0.3 ohm: 2 A from 24.3 V leave
 * 23.7 V. Where that would be more than 24 V it regulates, as from below: 30 V times the amps are
 * 48 W / 0.9 and 0.12 W idle. pass_through is a word for step-downs and changes nothing. */
static void step_up_from_both_sides(void **state)
{
    (void)state;
    struct converter converter = step_up();
    assert_near(converter_output_v(&converter, 12.0, 2.0, NULL, NULL), 24.0, 1e-15);
    assert_near(converter_input(&converter, 12.0, 24.0, 2.0).amps, (48.0 / 0.9 + 0.12) / 12.0,
                1e-14);
    assert_near(converter_output_v(&converter, 24.3, 2.0, NULL, NULL), 23.7, 1e-14);
    assert_near(converter_output_v(&converter, 30.0, 2.0, NULL, NULL), 24.0, 1e-15);
    assert_near(converter_input(&converter, 24.3, 23.7, 2.0).amps,
                2.0 * 23.7 / (0.9 * 24.3) + 0.12 / 24.3, 1e-14);
    for (int passing = 0; passing < 2; passing++) {
        converter.pass_through = passing != 0;
        assert_near(converter_input(&converter, 30.0, 24.0, 2.0).amps, (48.0 / 0.9 + 0.12) / 30.0,
                    1e-14);
        assert_int_equal(converter_state(&converter, 30.0, 24.0, 2.0), CONVERTER_REGULATING);
    }
}

static void current_limit(void **state)
{
    (void)state;
    struct converter converter = step_down(false);
    assert_int_equal(converter_state(&converter, 20.0, 9.0, 5.0), CONVERTER_LIMITED);
    assert_int_equal(converter_state(&converter, 20.0, 12.0, 5.0), CONVERTER_REGULATING);
    assert_int_equal(converter_state(&converter, 20.0, 12.0, 4.9), CONVERTER_REGULATING);
    struct converter_row row = converter_residual(&converter, 20.0, 9.0, 5.5);
    assert_near(row.value, 0.5, 1e-14);
    assert_close(row.per_output_a, 1.0, 0);
    assert_near(converter_input(&converter, 20.0, 9.0, 5.0).amps, (45.0 / 0.9 + 0.12) / 20.0,
                1e-14);
}

/* No state makes energy, and the input current does not jump while the input moves
 * through where passing begins (drop at 2 A 0.6 V, under a tenth of 12 V). */
static void energy_and_continuity(void **state)
{
    (void)state;
    struct converter converter = step_down(true);
    const double step_v = 1e-4;
    for (double load_a = 0.1; load_a <= 4.0; load_a += 0.3) {
        double last_a = NAN;
        for (double input_v = 8.0; input_v < 20.0; input_v += step_v) {
            double output_v = converter_output_v(&converter, input_v, load_a, NULL, NULL);
            double input_a = converter_input(&converter, input_v, output_v, load_a).amps;
            assert_true(input_v * input_a >= output_v * load_a + converter.idle_w - 1e-12);
            if (!isnan(last_a))
                assert_close(input_a, last_a, 10.0 * step_v);
            last_a = input_a;
        }
    }
}

/* Every derivative of the two rows against central differences, away from their corners. */
static void derivatives(void **state)
{
    (void)state;
    static const struct {
        double input_v, output_v, output_a;
    } points[] = {
        {20, 12, 2}, {10, 9.4, 2}, {10, 5, 2},  {20, 9, 5.2},
        {3, 2.4, 1}, {0.5, 0, 3},  {30, 24, 2}, {26, 11.5, 4},
    };
    struct converter converters[3] = {step_down(false), step_down(true), step_up()};
    const double h = 1e-5;
    for (size_t i = 0; i < sizeof points / sizeof *points; i++)
        for (size_t j = 0; j < sizeof converters / sizeof *converters; j++) {
            const struct converter *c = &converters[j];
            double vi = points[i].input_v, vo = points[i].output_v, io = points[i].output_a;
            struct converter_row row = converter_residual(c, vi, vo, io);
            struct converter_input in = converter_input(c, vi, vo, io);
            double scale = 0.5 / h;
            assert_close(row.per_input_v,
                         scale * (converter_residual(c, vi + h, vo, io).value -
                                  converter_residual(c, vi - h, vo, io).value),
                         1e-8);
            assert_close(row.per_output_v,
                         scale * (converter_residual(c, vi, vo + h, io).value -
                                  converter_residual(c, vi, vo - h, io).value),
                         1e-8);
            assert_close(row.per_output_a,
                         scale * (converter_residual(c, vi, vo, io + h).value -
                                  converter_residual(c, vi, vo, io - h).value),
                         1e-8);
            assert_close(in.per_input_v,
                         scale * (converter_input(c, vi + h, vo, io).amps -
                                  converter_input(c, vi - h, vo, io).amps),
                         1e-8);
            assert_close(in.per_output_v,
                         scale * (converter_input(c, vi, vo + h, io).amps -
                                  converter_input(c, vi, vo - h, io).amps),
                         1e-8);
            assert_close(in.per_output_a,
                         scale * (converter_input(c, vi, vo, io + h).amps -
                                  converter_input(c, vi, vo, io - h).amps),
                         1e-8);
        }
}

/* A source behind a resistance, a converter, a resistor. */
struct bench {
    struct converter converter;
    double source_v, source_ohm, load_ohm;
    double input_v, output_v, output_a; /* the solution */
};

/* Solves a 3 x 3 system by Cramer's rule. */
static void solve_3(double a[3][3], const double b[3], double x[3])
{
    double whole = 0.0;
    for (int column = -1; column < 3; column++) {
        double m[3][3];
        for (int i = 0; i < 3; i++)
            for (int j = 0; j < 3; j++)
                m[i][j] = j == column ? b[i] : a[i][j];
        double det = m[0][0] * (m[1][1] * m[2][2] - m[1][2] * m[2][1]) -
                     m[0][1] * (m[1][0] * m[2][2] - m[1][2] * m[2][0]) +
                     m[0][2] * (m[1][0] * m[2][1] - m[1][1] * m[2][0]);
        if (column < 0)
            whole = det;
        else
            x[column] = det / whole;
    }
}

/* Newton on nodes and one branch, as a network solver does it. */
static void newton(struct bench *b)
{
    b->input_v = b->source_v;
    b->output_v = b->output_a = 0.0;
    double worst = INFINITY;
    for (int i = 0; i < 50 && worst > 1e-13; i++) {
        struct converter_row row =
            converter_residual(&b->converter, b->input_v, b->output_v, b->output_a);
        struct converter_input in =
            converter_input(&b->converter, b->input_v, b->output_v, b->output_a);
        double a[3][3] = {
            {in.per_input_v + 1.0 / b->source_ohm, in.per_output_v, in.per_output_a},
            {0.0, 1.0 / b->load_ohm, -1.0},
            {row.per_input_v, row.per_output_v, row.per_output_a},
        };
        double rest[3] = {
            -(in.amps - (b->source_v - b->input_v) / b->source_ohm),
            -(b->output_v / b->load_ohm - b->output_a),
            -row.value,
        };
        double x[3];
        solve_3(a, rest, x);
        b->input_v += x[0];
        b->output_v += x[1];
        b->output_a += x[2];
        worst = fabs(x[0]) + fabs(x[1]) + fabs(x[2]);
    }
    assert_true(worst <= 1e-13);
}

/* Closed forms. Regulating: V_in^2 - V_s V_in + R_s P_in = 0. Passing without own use: all
 * linear, I_in = I_out V_out/(eta V_in). Limited: 5 A into the load, P_in from that. */
static void newton_finds_each_state(void **state)
{
    (void)state;
    struct bench bench = {step_down(true), 24.0, 0.5, 6.0, 0, 0, 0};
    newton(&bench);
    double power_w = 12.0 * 2.0 / 0.9 + 0.12;
    assert_near(bench.input_v, 0.5 * (24.0 + sqrt(576.0 - 4.0 * 0.5 * power_w)), 1e-12);
    assert_int_equal(
        converter_state(&bench.converter, bench.input_v, bench.output_v, bench.output_a),
        CONVERTER_REGULATING);

    bench = (struct bench){step_down(true), 11.0, 0.5, 6.0, 0, 0, 0};
    bench.converter.idle_w = 0.0;
    newton(&bench);
    double follow = 1.0 / (1.0 + 0.3 / 6.0); /* V_out / V_in */
    double conductance_s = follow / 6.0 * follow / 0.9;
    assert_near(bench.input_v, 11.0 / (1.0 + 0.5 * conductance_s), 1e-12);
    assert_near(bench.output_v, follow * bench.input_v, 1e-12);
    assert_int_equal(
        converter_state(&bench.converter, bench.input_v, bench.output_v, bench.output_a),
        CONVERTER_PASSING);

    bench = (struct bench){step_down(true), 24.0, 0.5, 1.5, 0, 0, 0};
    newton(&bench);
    assert_near(bench.output_a, 5.0, 1e-12);
    assert_near(bench.output_v, 7.5, 1e-12);
    power_w = 7.5 * 5.0 / 0.9 + 0.12;
    assert_near(bench.input_v, 0.5 * (24.0 + sqrt(576.0 - 4.0 * 0.5 * power_w)), 1e-12);
    assert_int_equal(
        converter_state(&bench.converter, bench.input_v, bench.output_v, bench.output_a),
        CONVERTER_LIMITED);
}

/* The converter and its resistor as one load: input current against input voltage, its
 * slope with the output following, in every state. */
static double seen_current(const struct converter *converter, double input_v, double load_ohm,
                           struct converter_seen *seen)
{
    struct converter_drop drop = converter_drop(converter);
    double output_v = converter->output_v;
    if (converter->pass_through)
        output_v =
            fmin(output_v, (input_v - drop.constant_v) / (1.0 + drop.resistance_ohm / load_ohm));
    output_v = fmin(output_v, converter->max_a * load_ohm);
    *seen = converter_seen(converter, input_v, output_v, output_v / load_ohm, 1.0 / load_ohm);
    return seen->input_a;
}

static void slope_of_converter_with_load(void **state)
{
    (void)state;
    static const struct {
        double input_v, load_ohm;
        enum converter_state state;
    } rows[] = {
        {20, 6, CONVERTER_REGULATING},    {10, 6, CONVERTER_PASSING},
        {20, 1.5, CONVERTER_LIMITED},     {9, 3, CONVERTER_PASSING},
        {12.1, 50, CONVERTER_REGULATING},
    };
    struct converter converter = step_down(true);
    const double h = 1e-5;
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct converter_seen seen, aside;
        double rise = seen_current(&converter, rows[i].input_v + h, rows[i].load_ohm, &aside) -
                      seen_current(&converter, rows[i].input_v - h, rows[i].load_ohm, &aside);
        seen_current(&converter, rows[i].input_v, rows[i].load_ohm, &seen);
        assert_int_equal(seen.state, rows[i].state);
        assert_close(seen.per_input_v, rise / (2.0 * h), 1e-8);
        double follow = 1.0 / (1.0 + 0.3 / rows[i].load_ohm);
        assert_near(seen.output_v_per_input_v, seen.state == CONVERTER_PASSING ? follow : 0.0,
                    1e-14);
    }
    /* regulating is the load of negative slope that makes panels fold back */
    struct converter_seen seen;
    seen_current(&converter, 20.0, 6.0, &seen);
    assert_near(seen.per_input_v, -seen.input_a / 20.0, 1e-14);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(thresholds),
        cmocka_unit_test(constant_power),
        cmocka_unit_test(passing_drops_in_proportion),
        cmocka_unit_test(step_up_from_both_sides),
        cmocka_unit_test(current_limit),
        cmocka_unit_test(energy_and_continuity),
        cmocka_unit_test(derivatives),
        cmocka_unit_test(newton_finds_each_state),
        cmocka_unit_test(slope_of_converter_with_load),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
