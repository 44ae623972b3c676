/* Zeros of rising functions, with and without a slope. */
#include "check.h"

#include "physics/root.h"

static int calls;

static double cube(double x, const void *with, double *slope)
{
    calls++;
    *slope = 3.0 * x * x;
    return x * x * x - *(const double *)with;
}

static double steep(double x, const void *with, double *slope)
{
    calls++;
    *slope = exp(x);
    return exp(x) - *(const double *)with;
}

static double arc(double x, const void *with, double *slope)
{
    calls++;
    double off = x - *(const double *)with;
    *slope = 1.0 / (1.0 + off * off);
    return atan(off);
}

static double broken(double x, const void *with, double *slope)
{
    (void)with;
    *slope = 1.0;
    return x > 0.5 ? NAN : -1.0;
}

/* Newton alone would overflow (steep from below), run away (arc) or divide by 0 (cube). */
static void newton(void **state)
{
    (void)state;
    static const struct {
        root_slope_function *function;
        double with, low, high, start, scale, root;
    } rows[] = {
        {cube, 2.0, 0.0, 2.0, 0.0, 1.0, 1.2599210498948732},
        {cube, -8.0, -1e6, 1e6, 1e6, 1.0, -2.0},
        {steep, 2.0, -700.0, 700.0, -700.0, 1.0, 0.69314718055994531},
        {steep, 2.0, 0.0, 700.0, 700.0, 1.0, 0.69314718055994531},
        {arc, 0.25, -1e9, 1e9, 1e9, 1.0, 0.25},
        {arc, 0.25, 0.25, 1.0, 9.0, 1.0, 0.25},
        {arc, 1.0, 0.25, 1.0, -9.0, 1.0, 1.0},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        calls = 0;
        double root = root_newton(rows[i].function, &rows[i].with, rows[i].low, rows[i].high,
                                  rows[i].start, rows[i].scale);
        assert_close(root, rows[i].root, 4e-16 * fabs(rows[i].root));
        assert_true(calls < 100);
    }
    assert_true(isnan(root_newton(broken, NULL, 0.0, 1.0, 0.1, 1.0)));
}

static double plain_steep(double x, const void *with)
{
    double slope;
    return steep(x, with, &slope);
}

static double plain_arc(double x, const void *with)
{
    double slope;
    return arc(x, with, &slope);
}

static double plain_step(double x, const void *with)
{
    calls++;
    return x < *(const double *)with ? -1.0 : 1.0;
}

static void between(void **state)
{
    (void)state;
    static const struct {
        root_function *function;
        double with, low, high, root;
        int calls_max;
    } rows[] = {
        {plain_steep, 2.0, -3.0, 3.0, 0.69314718055994531, 14},
        {plain_steep, 2.0, -3.0, 300.0, 0.69314718055994531, 70},
        {plain_arc, 0.25, -1e6, 1e6, 0.25, 90},
        {plain_step, 0.3, 0.0, 1.0, 0.3, 70}, /* a jump */
        {plain_arc, -1.0, 0.0, 1.0, 0.0, 2},  /* above 0 all the way: the low end */
        {plain_arc, 2.0, 0.0, 1.0, 1.0, 2},   /* below: the high end */
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        double low_value = rows[i].function(rows[i].low, &rows[i].with);
        double high_value = rows[i].function(rows[i].high, &rows[i].with);
        calls = 0;
        double root = root_between(rows[i].function, &rows[i].with, rows[i].low, low_value,
                                   rows[i].high, high_value);
        assert_close(root, rows[i].root, 5e-16 * fabs(rows[i].root));
        assert_true(calls <= rows[i].calls_max);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(newton), cmocka_unit_test(between)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
