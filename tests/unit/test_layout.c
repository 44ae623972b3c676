/* test_layout.c - lifts, open flows and the place of a battery's fuse: what follows
 * from how a rig lies. Heights are plain differences, by hand. */
#include "rigs.h"

static int open_bench(void **state)
{
    static struct bench bench;
    bench_open(&bench);
    *state = &bench;
    return 0;
}

static int close_bench(void **state)
{
    bench_close(*state);
    return 0;
}

#define PUMP                                                                                       \
    "{ is: pump, voltage: 12 V, power: 12 W, max_head: 5 m, max_flow: 600 L/h, mounting: "         \
    "submersible }"
#define HEAD                                                                                       \
    "rigtally: 1\n"                                                                                \
    "parts:\n"                                                                                     \
    "  cell: { is: supply, voltage: 12 V, max_current: 5 A }\n"                                    \
    "  low: { is: tank, height: -1 m, level: 0.5 m, volume: 200 L }\n"
#define WIRE "  - { from: cell, to: pump, area: 2.5 mm2, length: 2 m }\n"

static void a_lift_ends_at_the_highest_outlet(void **state)
{
    const struct rig *rig =
        bench_solve(*state, HEAD
                    "  pump: " PUMP "\n"
                    "  tee: { is: fitting }\n"
                    "  drip: { is: outlet, height: 1 m, nominal_flow: 30 L/h, pressure: 0.2 bar }\n"
                    "  tap: { is: outlet, height: 2.25 m, kv: 1 m3/h }\n"
                    "cables:\n" WIRE "pipes:\n"
                    "  - { from: low, to: pump }\n"
                    "  - { from: pump, to: tee, bore: 13 mm, length: 4 m, high_point: 3 m }\n"
                    "  - { from: tee, to: drip, bore: 13 mm, length: 1 m }\n"
                    "  - { from: tee, to: tap, bore: 13 mm, length: 2 m }\n");
    /* the water stands at -1 + 0.5 m */
    assert_close(figure(rig, "pump.static_lift", CONDITION_BRIGHT_NOON), 2.75, 1e-12);
    assert_close(figure(rig, "pump.prime_lift", CONDITION_BRIGHT_NOON), 3.5, 1e-12);
    assert_close(figure(rig, "pump.open_flow", CONDITION_BRIGHT_NOON), 600.0 / 3.6e6, 1e-15);
}

static void a_loop_lifts_nothing_once_it_is_full(void **state)
{
    const struct rig *rig = bench_solve(
        *state, HEAD "  pump: " PUMP "\n"
                     "  coil: { is: coil, bore: 10 mm, length: 12 m, area: 1 m2, height: 1.5 m }\n"
                     "cables:\n" WIRE "pipes:\n"
                     "  - { from: low, to: pump }\n"
                     "  - { from: pump, to: coil, bore: 13 mm, length: 4 m }\n"
                     "  - { from: coil, to: low, bore: 13 mm, length: 4 m, ends: under-water }\n");
    assert_close(figure(rig, "pump.static_lift", CONDITION_DARK), 0.0, 1e-12);
    assert_close(figure(rig, "pump.prime_lift", CONDITION_DARK), 2.0, 1e-12);
}

/* Into the top of a tank: over its rim, not to its water. */
static void a_free_end_goes_over_the_rim(void **state)
{
    const struct rig *rig =
        bench_solve(*state, HEAD
                    "  pump: " PUMP "\n"
                    "  high: { is: tank, height: 1 m, depth: 0.8 m, level: 0.2 m, volume: 100 L }\n"
                    "cables:\n" WIRE "pipes:\n"
                    "  - { from: low, to: pump }\n"
                    "  - { from: pump, to: high, bore: 13 mm, length: 4 m, ends: free }\n");
    assert_close(figure(rig, "pump.static_lift", CONDITION_DARK), 2.3, 1e-12);
    assert_close(figure(rig, "pump.prime_lift", CONDITION_DARK), 2.3, 1e-12);
}

static void two_pumps_in_a_row_share_their_lift(void **state)
{
    const struct rig *rig = bench_solve(
        *state, HEAD "  pump: " PUMP "\n  boost: " PUMP "\n"
                     "  high: { is: tank, height: 3 m, level: 0.2 m, volume: 100 L }\n"
                     "cables:\n" WIRE "  - { from: cell, to: boost, area: 2.5 mm2, length: 2 m }\n"
                     "pipes:\n"
                     "  - { from: low, to: pump }\n"
                     "  - { from: pump, to: boost, bore: 13 mm, length: 4 m }\n"
                     "  - { from: boost, to: high, bore: 13 mm, length: 4 m }\n");
    assert_true(isnan(figure(rig, "pump.static_lift", CONDITION_DARK)));
    assert_true(isnan(figure(rig, "boost.prime_lift", CONDITION_DARK)));
}

#define BATTERY                                                                                    \
    "rigtally: 1\n"                                                                                \
    "parts:\n"                                                                                     \
    "  bank: { is: battery, chemistry: agm, voltage: 12 V, capacity: 40 Ah, depth_of_discharge: "  \
    "50 % }\n"                                                                                     \
    "  lamp: { is: load, voltage: 12 V, power: 6 W }\n"                                            \
    "  f1: { is: fuse, rating: 5 A }\n"                                                            \
    "  f2: { is: fuse, rating: 5 A }\n"                                                            \
    "cables:\n"

static void the_nearest_fuse_counts_from_the_battery(void **state)
{
    static const struct {
        const char *cables;
        double metres;
    } rows[] = {
        {"  - { id: run, from: bank, to: lamp, area: 2.5 mm2, length: 3 m, through: [{ part: f1, "
         "distance: 0.15 m }, { part: f2, distance: 2 m }] }\n",
         0.15},
        {"  - { id: run, from: lamp, to: bank, area: 2.5 mm2, length: 3 m, through: [{ part: f2, "
         "distance: 1 m }, { part: f1, distance: 2.8 m }] }\n",
         0.2},
        {"  - { id: run, from: bank, to: lamp, area: 2.5 mm2, length: 3 m, through: [f1, f2] }\n",
         3.0},
        {"  - { id: run, from: bank, to: f1, area: 2.5 mm2, length: 0.1 m }\n  - { from: f1, to: "
         "lamp, area: 2.5 mm2, length: 3 m, through: [f2] }\n",
         0.1},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        char text[2048];
        snprintf(text, sizeof text, "%s%s", BATTERY, rows[i].cables);
        const struct rig *rig = bench_solve(*state, text);
        assert_close(figure(rig, "run.guard_distance", CONDITION_DARK), rows[i].metres, 1e-12);
    }
}

static void without_a_fuse_there_is_no_distance(void **state)
{
    const struct rig *rig = bench_solve(
        *state, "rigtally: 1\n"
                "parts:\n"
                "  bank: { is: battery, chemistry: agm, voltage: 12 V, capacity: 40 Ah, "
                "depth_of_discharge: 50 % }\n"
                "  lamp: { is: load, voltage: 12 V, current: 0.5 A }\n"
                "cables:\n  - { id: run, from: bank, to: lamp, area: 2.5 mm2, length: 3 m }\n");
    assert_true(isnan(figure(rig, "run.guard_distance", CONDITION_DARK)));
    /* a load may tell its current instead of its power: 1.25 times it sizes the run */
    assert_close(figure(rig, "run.design_amps", CONDITION_DARK), 0.625, 1e-12);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_lift_ends_at_the_highest_outlet),
        cmocka_unit_test(a_loop_lifts_nothing_once_it_is_full),
        cmocka_unit_test(a_free_end_goes_over_the_rim),
        cmocka_unit_test(two_pumps_in_a_row_share_their_lift),
        cmocka_unit_test(the_nearest_fuse_counts_from_the_battery),
        cmocka_unit_test(without_a_fuse_there_is_no_distance),
    };
    return cmocka_run_group_tests(tests, open_bench, close_bench);
}
