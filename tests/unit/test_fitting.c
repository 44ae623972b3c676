/* Loss coefficients by name and by ratio of bores, and roughness by material. */
#include "check.h"
#include "physics/fitting.h"
#include "physics/roughness.h"
#include "slope.h"

/* Munson, Young and Okiishi, Fundamentals of Fluid Mechanics, 5th ed, table 8.2
 * (threaded); foot valve with strainer: Perry, table 6-4. The barb at 0.80 is
 * computed. */
static const struct {
    const char *name;
    double k;
} named[] = {
    {"elbow", 1.5},      {"bend-45", 0.4},     {"return-bend", 1.5}, {"tee-run", 0.9},
    {"tee-branch", 2.0}, {"ball-valve", 0.05}, {"gate-valve", 0.15}, {"union", 0.08},
    {"entry", 0.5},      {"exit", 1.0},        {"foot-valve", 15.0}, {"barb", 0.90},
};

static void by_name(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof named / sizeof named[0]; i++)
        assert_close(fitting_k(named[i].name), named[i].k, 1e-15);
    assert_true(isnan(fitting_k("reducer"))); /* needs its ratio */
    assert_true(isnan(fitting_k("elbows")));
    assert_true(isnan(fitting_k("")));
}

/* Rows of bores' ratio and K, computed; the contraction agrees with Idelchik's
 * 0.5 (1 - b2) to within its band. */
static void by_ratio(void **state)
{
    (void)state;
    static const double barbs[][2] = {{0.55, 9.78}, {0.60, 6.09}, {0.65, 3.82}, {0.70, 2.40},
                                      {0.75, 1.49}, {0.80, 0.90}, {0.85, 0.53}, {0.90, 0.29}};
    for (size_t i = 0; i < sizeof barbs / sizeof barbs[0]; i++)
        assert_close(fitting_barb_k(barbs[i][0]), barbs[i][1], 1e-15);
    static const double steps[][2] = {
        {0.40, 0.5301}, {0.50, 0.4956}, {0.60, 0.4386}, {0.70, 0.3509}, {0.75, 0.2944},
        {0.80, 0.2303}, {0.85, 0.1616}, {0.90, 0.0950}, {0.95, 0.0488}, {1.00, 0.0}};
    for (size_t i = 0; i < sizeof steps / sizeof steps[0]; i++)
        assert_close(fitting_reducer_k(steps[i][0]), steps[i][1], 1e-15);
    assert_close(fitting_barb_k(0.775), 0.5 * (1.49 + 0.90), 1e-14);
    assert_close(fitting_reducer_k(0.65), 0.5 * (0.4386 + 0.3509), 1e-14);
    assert_close(fitting_barb_k(0.1), 9.78, 0.0);
    assert_close(fitting_barb_k(1.0), 0.29, 0.0);
    assert_close(fitting_reducer_k(0.2), 0.5301, 0.0);
    assert_close(fitting_reducer_k(2.0), 0.4956, 1e-15); /* either way round */
    assert_true(isnan(fitting_barb_k(NAN)) && isnan(fitting_reducer_k(NAN)));
}

static void on_another_bore(void **state)
{
    (void)state;
    /* half the bore: four times the speed, sixteen times the head */
    assert_near(fitting_k_on_bore(0.5, 0.010, 0.020), 8.0, 1e-14);
    double small = fitting_loss_m(1e-4, 0.010, 0.5, NULL);
    assert_near(fitting_loss_m(1e-4, 0.020, fitting_k_on_bore(0.5, 0.010, 0.020), NULL), small,
                1e-14);
}

static double loss_law(double flow, double *slope, const void *context)
{
    return fitting_loss_m(flow, 0.013, *(const double *)context, slope);
}

static void loss_and_slope(void **state)
{
    (void)state;
    double k = FITTING_K_CHECK_SWING;
    /* 1 m/s through 13 mm: 2/(2 g) */
    double flow = 3.14159265358979323846 / 4.0 * 0.013 * 0.013;
    assert_near(loss_law(flow, NULL, &k), 1.0 / 9.80665, 1e-14);
    assert_near(loss_law(-flow, NULL, &k), -1.0 / 9.80665, 1e-14);
    for (double at = 1e-9; at < 1e-2; at *= 3.0) {
        assert_slope(loss_law, at, 1e-3 * at, &k, 1e-9);
        assert_slope(loss_law, -at, 1e-3 * at, &k, 1e-9);
    }
    double slope;
    assert_close(loss_law(0.0, &slope, &k), 0.0, 0.0);
    assert_close(slope, 0.0, 0.0);
}

/* mm, from the rows named in roughness.c. */
static void roughness(void **state)
{
    (void)state;
    static const struct {
        const char *material;
        double mm, hazen_williams;
    } rows[] = {
        {"copper", 0.0015, 135},
        {"brass", 0.002, 135},
        {"stainless-steel", 0.002, 145},
        {"galvanised-steel", 0.15, 120},
        {"cast-iron", 0.26, 130},
        {"steel", 0.4, 100},
        {"hdpe", 0.0015, 145},
        {"ldpe", 0.0015, 145},
        {"pex", 0.0015, 145},
        {"pvc", 0.0015, 145},
        {"pvc-hose", 0.007, 145},
        {"epdm-hose", 0.01, 140},
        {"silicone-hose", 0.01, 140},
        {"rubber-hose", 0.01, 140},
        {"glass", 0.0015, 140},
        {"timber", 0.5, 120},
        {"nylon", 0.0015, 135},
        {"lead", 0.0015, 135},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        assert_near(roughness_m(rows[i].material), rows[i].mm * 1e-3, 1e-15);
        assert_close(roughness_hazen_williams(rows[i].material), rows[i].hazen_williams, 0.0);
    }
    assert_true(isnan(roughness_m("cheese")) && isnan(roughness_hazen_williams("")));
}

/* Every word for a material that a rig may use has a row. */
static void every_material_has_a_row(void **state)
{
    (void)state;
    static const char *const words[] = {
        "copper",
        "brass",
        "bronze",
        "stainless-steel",
        "galvanised-steel",
        "cast-iron",
        "steel",
        "aluminium",
        "lead",
        "hdpe",
        "ldpe",
        "pex",
        "pvc",
        "pvc-hose",
        "cpvc",
        "pp",
        "nylon",
        "abs",
        "epdm-hose",
        "silicone-hose",
        "rubber-hose",
        "polycarbonate",
        "glass",
        "timber",
    };
    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++)
        assert_true(roughness_m(words[i]) > 0.0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(by_name),         cmocka_unit_test(by_ratio),
        cmocka_unit_test(on_another_bore), cmocka_unit_test(loss_and_slope),
        cmocka_unit_test(roughness),       cmocka_unit_test(every_material_has_a_row),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
