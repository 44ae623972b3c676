/* Valves by their Kv, check and relief valves. */
#include "check.h"
#include "physics/valve.h"
#include "slope.h"

static const double m3_h = 1.0 / 3600.0;
static const double gal_min = 3.785411784e-3 / 60.0;

static void conversions(void **state)
{
    (void)state;
    /* Kv = 0.865 Cv in m3/h and US gal/min, as published; 0.86498 by units */
    assert_near(valve_kv_of_cv(1.4 * gal_min) / m3_h, 0.865 * 1.4, 1e-14);
    double by_units = gal_min / m3_h * sqrt(1e5 / 6894.757293168);
    assert_near(valve_kv_of_cv(gal_min) / m3_h, by_units, 3e-5);
    /* K = 0.0015989 d4/Kv2, d in mm: Kv 1 at 15 mm gives 80.94 */
    assert_near(valve_k_of_kv(1.0 * m3_h, 0.015), 80.94, 1e-4);
    assert_near(valve_kv_in_series(3.0, 4.0), 2.4, 1e-15); /* 1/9 + 1/16 = 1/5.76 */
}

/* Published Kv of sharp holes are for Cd 0.61 (d in mm, Kv in m3/h); ours is for
 * 0.62, which is 0.62/0.61 of them. Printed to 0.001. */
static void sharp_holes(void **state)
{
    (void)state;
    static const double rows[][2] = {{5, 0.61},   {6, 0.878},  {8, 1.561},  {10, 2.439},
                                     {13, 4.122}, {16, 6.244}, {20, 9.757}, {25, 15.245}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        assert_close(valve_kv_of_orifice(rows[i][0] * 1e-3) / m3_h * 0.61 / 0.62, rows[i][1],
                     0.002);
    /* Q = Cd A sqrt(2 dp/rho) at 1 bar, 10 mm, within the rounded 0.03999 */
    double area = 3.14159265358979323846 / 4.0 * 1e-4;
    assert_near(valve_kv_of_orifice(0.01), 0.62 * area * sqrt(2.0 * 1e5 / 1000.0), 2e-4);
}

/* IEC 60534: Kv m3/h of water at 1 bar; twice the flow, four times the drop. */
static void drop(void **state)
{
    (void)state;
    double kv = 1.2 * m3_h;
    assert_near(valve_drop_pa(kv, kv, 1000.0, NULL), 1e5, 1e-14);
    assert_near(valve_drop_pa(2.0 * kv, kv, 1000.0, NULL), 4e5, 1e-14);
    assert_near(valve_drop_pa(-kv, kv, 983.2, NULL), -98320.0, 1e-14);
    /* 1 bar is 10.197 m of water of 1000 kg/m3; as head the density drops out */
    assert_near(valve_loss_m(kv, kv, NULL), 10.19716, 1e-6);
    assert_near(valve_loss_m(kv, kv, NULL), valve_drop_pa(kv, kv, 983.2, NULL) / (983.2 * 9.80665),
                1e-14);
    assert_near(valve_flow_m3s(4e5, kv, 1000.0, NULL), 2.0 * kv, 1e-14);
    assert_near(valve_flow_m3s(-98320.0, kv, 983.2, NULL), -kv, 1e-14);
}

static double drop_law(double flow, double *slope, const void *context)
{
    return valve_drop_pa(flow, *(const double *)context, 990.0, slope);
}

static double loss_law(double flow, double *slope, const void *context)
{
    return valve_loss_m(flow, *(const double *)context, slope);
}

static double flow_law(double drop_pa, double *slope, const void *context)
{
    return valve_flow_m3s(drop_pa, *(const double *)context, 990.0, slope);
}

static double check_law(double flow, double *slope, const void *context)
{
    return check_valve_loss_m(flow, *(const double *)context, 3000.0, 990.0, slope);
}

static double check_flow_law(double drop_pa, double *slope, const void *context)
{
    return check_valve_flow_m3s(drop_pa, *(const double *)context, 3000.0, 990.0, slope);
}

static void slopes(void **state)
{
    (void)state;
    double kv = 1.2 * m3_h;
    for (double sign = -1.0; sign <= 1.0; sign += 2.0)
        for (double size = 1e-9; size < 1e-2; size *= 7.0) {
            assert_slope(drop_law, sign * size, 1e-3 * size, &kv, 1e-9);
            assert_slope(loss_law, sign * size, 1e-3 * size, &kv, 1e-9);
            if (size > 1e-6) /* smaller ones drown in the cracking pressure */
                assert_slope(check_law, sign * size, 1e-3 * size, &kv, 1e-6);
            assert_slope(flow_law, sign * size * 1e8, 1e5 * size, &kv, 1e-9);
        }
    for (double over = 1.0; over < 1e6; over *= 5.0)
        assert_slope(check_flow_law, 3000.0 + over, 1e-3 * over, &kv, 1e-7);
    double slope;
    assert_close(drop_law(0.0, &slope, &kv), 0.0, 0.0);
    assert_close(slope, 0.0, 0.0);
    assert_close(flow_law(0.0, &slope, &kv), 0.0, 0.0);
    assert_true(slope == INFINITY);
}

/* The cracking pressure stays lost while it flows, so the law starts from it. */
static void check_valve(void **state)
{
    (void)state;
    double kv = 2.0 * m3_h, slope;
    double crack = 3000.0 / (990.0 * 9.80665);
    assert_near(check_valve_loss_m(1e-15, kv, 3000.0, 990.0, NULL), crack, 1e-12);
    assert_near(check_valve_loss_m(0.0, kv, 3000.0, 990.0, NULL), crack, 1e-14);
    assert_near(check_valve_loss_m(kv, kv, 3000.0, 990.0, NULL), crack + 1e5 / 9806.65, 1e-14);
    /* 10 m the wrong way leaks 1e-12 m3/s and no more */
    assert_near(check_valve_loss_m(-1e-12, kv, 0.0, 990.0, &slope), -10.0, 1e-12);
    assert_near(slope, 1e13, 0.0);
    assert_near(valve_shut_loss_m(1e-12, &slope), 10.0, 1e-12);

    assert_close(check_valve_flow_m3s(2999.0, kv, 3000.0, 990.0, &slope), 0.0, 0.0);
    assert_close(slope, 0.0, 0.0);
    assert_close(check_valve_flow_m3s(3000.0, kv, 3000.0, 990.0, NULL), 0.0, 0.0);
    assert_close(check_valve_flow_m3s(-1e6, kv, 3000.0, 990.0, NULL), 0.0, 0.0);
    assert_near(check_valve_flow_m3s(102000.0, kv, 3000.0, 990.0, NULL), kv, 1e-14);
    /* a relief valve set to 3 bar passes nothing at 3 bar, its Kv at 4 */
    assert_close(check_valve_flow_m3s(3e5, kv, 3e5, 1000.0, NULL), 0.0, 0.0);
    assert_near(check_valve_flow_m3s(4e5, kv, 3e5, 1000.0, NULL), kv, 1e-14);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(conversions), cmocka_unit_test(sharp_holes), cmocka_unit_test(drop),
        cmocka_unit_test(slopes),      cmocka_unit_test(check_valve),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
