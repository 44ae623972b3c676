/* Tanks: the assumed cylinder, heat loss, and draining against Torricelli. */
#include "check.h"
#include "physics/pipe.h"
#include "physics/tank.h"
#include "physics/valve.h"

static const double pi = 3.14159265358979323846;

/* Upright cylinders 1.5 times as high as wide: litres, diameter, height, whole
 * outside; computed, printed to 0.001. */
static void assumed_cylinder(void **state)
{
    (void)state;
    static const double rows[][4] = {
        {10, 0.204, 0.306, 0.261},  {20, 0.257, 0.386, 0.415},  {50, 0.349, 0.523, 0.764},
        {100, 0.439, 0.659, 1.214}, {200, 0.554, 0.831, 1.926},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        double volume = rows[i][0] * 1e-3;
        assert_close(tank_diameter_m(volume), rows[i][1], 0.0006);
        assert_close(tank_height_m(volume), rows[i][2], 0.0006);
        assert_close(tank_surface_m2(volume), rows[i][3], 0.0006);
        assert_near(tank_floor_m2(volume) * tank_height_m(volume), volume, 1e-14);
        /* two ends and the shell */
        assert_near(tank_surface_m2(volume),
                    2.0 * tank_floor_m2(volume) +
                        pi * tank_diameter_m(volume) * tank_height_m(volume),
                    1e-14);
    }
}

/* By hand for 1.2 m2: bare 8 x 1.2; 50 mm at 0.04 W/mK: 1.2/(0.125 + 1.25); 0.3
 * m2 of open water: 6 W/K more. */
static void heat_loss(void **state)
{
    (void)state;
    assert_near(tank_loss_w_k(1.2, 0.0, NAN, false, 0.3), 9.6, 1e-14);
    assert_near(tank_loss_w_k(1.2, 0.05, 0.04, false, 0.3), 1.2 / 1.375, 1e-14);
    assert_near(tank_loss_w_k(1.2, 0.0, NAN, true, 0.3), 15.6, 1e-14);
    assert_near(tank_loss_w_k(1.2, 0.05, 0.04, true, 0.3), 1.2 / 1.375 + 6.0, 1e-14);
    /* bare published rows use a film of 10 W/m2K: litres and W/K */
    static const double bare[][2] = {
        {10, 2.615}, {20, 4.15}, {50, 7.645}, {100, 12.136}, {200, 19.264}};
    for (size_t i = 0; i < sizeof bare / sizeof bare[0]; i++) {
        double surface = tank_surface_m2(bare[i][0] * 1e-3);
        assert_near(tank_loss_w_k(surface, 0.0, NAN, false, 0.0) * 10.0 / 8.0, bare[i][1], 5e-4);
    }
}

struct outlet {
    double area, discharge; /* sharp hole */
    double sill;            /* height of the outlet over the tank's bottom */
    double bore, length, k; /* or a pipe, when bore > 0 */
    int calls;
};

static double run_out(double level, void *context)
{
    struct outlet *outlet = context;
    outlet->calls++;
    double head = level - outlet->sill;
    if (head <= 0.0)
        return 0.0;
    if (outlet->bore > 0.0)
        return pipe_flow_m3s(head, outlet->bore, outlet->length, 1e-5, outlet->k, 1e-6, NULL);
    return outlet->discharge * outlet->area * sqrt(2.0 * 9.80665 * head);
}

/* A sharp hole is Torricelli's case: A = 0.4 m2, 10 mm, Cd 0.62, from 0.9 m. */
static void torricelli(void **state)
{
    (void)state;
    struct outlet hole = {.area = pi / 4.0 * 1e-4, .discharge = 0.62};
    struct tank_drain drain = tank_drain_time(0.4, 0.9, 0.0, run_out, &hole);
    assert_near(drain.time_s, tank_drain_hole_s(0.4, hole.area, 0.62, 0.9, 0.0), 1e-9);
    assert_close(drain.left_m, 0.0, 0.0);
    assert_true(hole.calls < 100);
    /* a hole in the side leaves what is below it */
    hole.sill = 0.2;
    drain = tank_drain_time(0.4, 0.9, 0.0, run_out, &hole);
    assert_near(drain.time_s, tank_drain_hole_s(0.4, hole.area, 0.62, 0.7, 0.0), 1e-7);
    assert_close(drain.left_m, 0.2, 1e-9);
    /* an outlet below the floor runs dry while water still flows */
    hole.sill = -1.0;
    drain = tank_drain_time(0.4, 0.9, 0.0, run_out, &hole);
    assert_near(drain.time_s, tank_drain_hole_s(0.4, hole.area, 0.62, 1.9, 1.0), 1e-9);
    assert_close(drain.left_m, 0.0, 0.0);
}

/* Through a valve, closed form: t = 2 A (sqrt h1 - sqrt h2)/(Kv sqrt(rho g/1e5
 * 1000/rho)), published with Kv/3600 and 0.0980665. */
static double valve_out(double level, void *context)
{
    return valve_flow_m3s(level * 9806.65, *(double *)context, 1000.0, NULL);
}

static void through_a_valve(void **state)
{
    (void)state;
    double kv = 1.2 / 3600.0;
    struct tank_drain drain = tank_drain_time(0.2, 0.55, 0.0, valve_out, &kv);
    assert_near(drain.time_s, 2.0 * 0.2 * sqrt(0.55) / (1.2 / 3600.0 * sqrt(0.0980665)), 1e-9);
}

/* Purely laminar, Q = level/R: a level falls by e in A R seconds and never gets
 * to nothing; it is over where the flow meets stop_m3s. */
static double creep(double level, void *context)
{
    return level / *(double *)context;
}

static void creeping(void **state)
{
    (void)state;
    double resistance = 1e5;
    struct tank_drain drain = tank_drain_time(0.2, 1.0, 1e-8, creep, &resistance);
    assert_near(drain.time_s, 0.2 * 1e5 * log(1e-5 / 1e-8), 1e-7);
    assert_near(drain.left_m, 1e-3, 1e-9);
}

/* A hose from turbulent through the transition into laminar flow, against a
 * plain sum over a million equal levels (trapezoids in the level). */
static void through_a_hose(void **state)
{
    (void)state;
    struct outlet hose = {.bore = 0.013, .length = 2.0, .k = 1.5, .sill = -0.01};
    struct tank_drain drain = tank_drain_time(0.15, 0.6, 0.0, run_out, &hose);
    assert_true(hose.calls < 2000);
    const int steps = 200000;
    double sum = 0.0;
    for (int i = 0; i <= steps; i++) {
        double weight = i == 0 || i == steps ? 0.5 : 1.0;
        sum += weight / run_out(0.6 * i / steps, &hose);
    }
    assert_near(drain.time_s, sum * 0.15 * 0.6 / steps, 1e-7);
}

static void nothing_to_drain(void **state)
{
    (void)state;
    struct outlet hole = {.area = 1e-4, .discharge = 0.62, .sill = 0.5};
    struct tank_drain drain = tank_drain_time(0.4, 0.3, 0.0, run_out, &hole);
    assert_close(drain.time_s, 0.0, 0.0);
    assert_close(drain.left_m, 0.3, 0.0);
    drain = tank_drain_time(0.4, 0.0, 0.0, run_out, &hole);
    assert_close(drain.time_s, 0.0, 0.0);
    assert_close(drain.left_m, 0.0, 0.0);
}

/* An outflow that never settles meets the limit and says so. */
static double restless(double level, void *context)
{
    (void)context;
    return 1e-4 * (1.001 + sin(1e7 * level));
}

static void work_is_bounded(void **state)
{
    (void)state;
    struct tank_drain drain = tank_drain_time(0.4, 1.0, 0.0, restless, NULL);
    assert_true(drain.time_s == INFINITY);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(assumed_cylinder), cmocka_unit_test(heat_loss),
        cmocka_unit_test(torricelli),       cmocka_unit_test(through_a_valve),
        cmocka_unit_test(creeping),         cmocka_unit_test(through_a_hose),
        cmocka_unit_test(nothing_to_drain), cmocka_unit_test(work_is_bounded),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
