/* test_solve.c - whole rigs through the solver: published sums, what each condition fixes, loads
 * that fail, valves, pressures, heat. What each check rests on stands beside it. */
#include "rigs.h"

#include "physics/battery.h"
#include "physics/coil.h"
#include "physics/collector.h"
#include "physics/conductor.h"
#include "physics/pipe.h"
#include "physics/pv.h"
#include "physics/tank.h"
#include "physics/valve.h"
#include "physics/water.h"

#define HEAD "rigtally: 1\nname: t\nsite: { air: -10 .. 30 degC, water: 10 .. 30 degC }\n"
#define NOON CONDITION_BRIGHT_NOON

static struct bench bench;

static int open_bench(void **state)
{
    (void)state;
    bench_open(&bench);
    return 0;
}

static int close_bench(void **state)
{
    (void)state;
    bench_close(&bench);
    return 0;
}

static struct rig *solve(const char *text)
{
    struct rig *rig = bench_solve(&bench, text);
    if (bench.diagnostics.count)
        fail_msg("%s", bench.diagnostics.at[0].message);
    if (!(solve_imbalance(rig) < 1e-9))
        fail_msg("imbalance %g", solve_imbalance(rig));
    return rig;
}

/* ---- Water: published sums ---- */

/* B. R. Munson, D. F. Young and T. H. Okiishi, Fundamentals of Fluid Mechanics, 5th ed 2007,
 * Ex 8.8: a tap behind 60 ft of copper pipe of 0.0625 ft bore, 20 ft up, four elbows of K 1.5, a
 * globe valve of K 10 and a tap of K 2 on the pipe's velocity: 30.5 psi drive 0.0267 ft3/s, the jet
 * leaving a tap of half an inch. Here the pressure is a tank's level; the jet's velocity head less
 * the pipe's stands in place of our entrance and exit losses, and Colebrook's friction at 5e-6 ft
 * in place of the chart's. 30.54 psi over the water's weight and the rise is what is left for the
 * flow; water at 60 degF. */
static void tap_behind_a_copper_pipe(void **state)
{
    (void)state;
    double foot = 0.3048,
           jet = pow(0.0625 / (0.5 / 12.0), 4.0); /* K of the jet on the pipe's velocity */
    double psi = 30.54 * 6894.757, rho = 1.94 * 515.379;
    double level = psi / (rho * 9.81456);
    char text[1024];
    snprintf(
        text, sizeof text,
        "rigtally: 1\nname: t\nsite: { air: 10 .. 20 degC, water: 15.56 .. 15.56 degC }\nparts:\n"
        "  main: { is: tank, volume: 1000 L, height: 0 m, level: %.17g m }\n  tap: { is: outlet, "
        "height: %.17g m }\n"
        "pipes:\n  - { id: p, from: main, to: tap, bore: %.17g mm, length: %.17g m, roughness: "
        "0.001524 mm, "
        "fittings: { elbow: { number: 4, k: 1.5 }, ball-valve: { number: 1, k: 10 }, union: { "
        "number: 1, k: %.17g } } }\n",
        level, 20 * foot, 0.0625 * foot * 1000, 60 * foot, 2.0 + jet - 1.0 - 0.5 - 1.0);
    struct rig *rig = solve(text);
    assert_near(figure(rig, "p.flow", NOON), 0.0267 * foot * foot * foot, 0.002);
    assert_near(figure(rig, "tap.flow", NOON), figure(rig, "p.flow", NOON), 1e-12);
    /* W04's Reynolds number is 45,094.88 with the book's viscosity of 2.34e-5 lb s/ft2 */
    assert_near(figure(rig, "p.reynolds", NOON), 45095.0, 0.04);
}

/* Y. A. Cengel and J. M. Cimbala, Fluid Mechanics, 2nd ed 2010, Ex 8-8: 6 L/s from one tank to
 * another through 89 m of 5 cm cast iron (0.26 mm), two elbows of K 0.3, a gate valve of K 0.2,
 * water at 10 degC: with Colebrook and an exit K of 1 the upper level stands at 31.78 m over a
 * lower one of 4 m. */
static void two_tanks(void **state)
{
    (void)state;
    struct rig *rig =
        solve("rigtally: 1\nname: t\nsite: { air: 5 .. 15 degC, water: 10 .. 10 degC }\nparts:\n"
              "  upper: { is: tank, volume: 1000 L, height: 30 m, level: 1.78 m }\n"
              "  lower: { is: tank, volume: 1000 L, height: 3 m, level: 1 m }\n"
              "pipes:\n  - { id: p, from: upper, to: lower, bore: 50 mm, length: 89 m, material: "
              "cast-iron, "
              "fittings: { elbow: { number: 2, k: 0.3 }, gate-valve: { number: 1, k: 0.2 } } }\n");
    assert_near(figure(rig, "p.flow", NOON), 0.006, 0.001);
    assert_close(figure(rig, "p.friction_head", NOON), 27.78, 1e-9);
}

/* F. M. White, Fluid Mechanics, 5th ed, example 6.18 (from memory): three pipes side by side
 * under 20.3 m lose it in 62.5, 25.9 and 11.4 m3/h; there without entrance and exit, here with, so
 * a little less flows. */
static void parallel_pipes(void **state)
{
    (void)state;
    struct rig *rig = solve(
        "rigtally: 1\nname: t\nsite: { air: 5 .. 15 degC, water: 20 .. 20 degC }\nparts:\n"
        "  upper: { is: tank, volume: 1000 L, height: 20.3 m, level: 1 m }\n"
        "  lower: { is: tank, volume: 1000 L, height: 0 m, level: 1 m }\npipes:\n"
        "  - { id: a, from: upper, to: lower, bore: 80 mm, length: 100 m, roughness: 0.24 mm }\n"
        "  - { id: b, from: lower, to: upper, bore: 60 mm, length: 150 m, roughness: 0.12 mm }\n"
        "  - { id: c, from: upper, to: lower, bore: 40 mm, length: 80 m, roughness: 0.20 mm }\n");
    assert_near(figure(rig, "a.flow", NOON) * 3600.0, 62.5, 0.03);
    assert_near(figure(rig, "b.flow", NOON) * 3600.0, -25.9,
                0.03); /* written the other way round */
    assert_near(figure(rig, "c.flow", NOON) * 3600.0, 11.4, 0.03);
    assert_true(figure(rig, "b.velocity", NOON) > 0.0);
}

/* A. K. Choudhary and Om Prakash, Fluid Mechanics, 2nd ed 2009, Ex 6.19, drains by Torricelli; here
 * a hand valve whose Kv is that of a hole (Cd 0.62), close under a box of known water surface: the
 * level falls as t = 2 A (sqrt h1 - sqrt h2)/(Cd a sqrt 2g). */
static void draining_through_a_hole(void **state)
{
    (void)state;
    struct rig *rig =
        solve(HEAD "parts:\n  box: { is: tank, volume: 2000 L, water_surface: 1.2 m2, height: 0 m, "
                   "level: 1.5 m }\n"
                   "  tap: { is: valve, action: hand, rests: open, orifice: 20 mm, height: 0 m }\n"
                   "  bucket: { is: outlet, height: 0 m }\npipes:\n  - { from: box, to: tap }\n  - "
                   "{ from: tap, to: bucket }\n");
    double hole = 3.14159265358979 / 4.0 * 0.02 * 0.02;
    /* 0.03999 in the law of Kv against the exact 0.0399863: 1e-4 */
    assert_near(figure(rig, "tap.drain_time", NOON), tank_drain_hole_s(1.2, hole, 0.62, 1.5, 0.0),
                5e-4);
    double kv = valve_kv_of_orifice(0.02), head = 1.5;
    assert_near(figure(rig, "tap.flow", NOON), kv * sqrt(head * 9.80665e-5 * 1000.0), 1e-9);
    assert_near(figure(rig, "bucket.flow", NOON), figure(rig, "tap.flow", NOON), 1e-9);
}

/* F9: two valves at one box, both open at bright noon: the level falls by what leaves through both,
 * so Torricelli's time is that of the sum of their holes, 20 mm and 10 mm. A third valve is shut
 * then, and open for its own time only: all three holes. A pilot valve opens under 1.5 m of water
 * (0.146 bar) when 0.1 bar lift it, whichever valve is asked. */
static void draining_through_several_valves(void **state)
{
    (void)state;
    struct rig *rig = solve(
        HEAD
        "parts:\n  box: { is: tank, volume: 2000 L, water_surface: 1.2 m2, height: 0 m, level: "
        "1.5 m }\n"
        "  clock: { is: timer }\n"
        "  big: { is: valve, action: hand, rests: open, orifice: 20 mm, height: 0 m }\n"
        "  small: { is: valve, action: pilot, rests: closed, energised_by: clock, orifice: 10 "
        "mm, least_pressure: 0.1 bar, height: 0 m }\n"
        "  shut: { is: valve, action: hand, rests: closed, orifice: 30 mm, height: 0 m }\n"
        "  bucket: { is: outlet, height: 0 m }\n  jug: { is: outlet, height: 0 m }\n"
        "  bowl: { is: outlet, height: 0 m }\npipes:\n"
        "  - { from: box, to: big }\n  - { from: big, to: bucket }\n"
        "  - { from: box, to: small }\n  - { from: small, to: jug }\n"
        "  - { from: box, to: shut }\n  - { from: shut, to: bowl }\n");
    double one = 3.14159265358979 / 4.0 * 0.01 * 0.01; /* of 10 mm */
    double both = tank_drain_hole_s(1.2, 5.0 * one, 0.62, 1.5, 0.0);
    /* 0.03999 in the law of Kv against the exact 0.0399863: 1e-4 */
    assert_near(figure(rig, "big.drain_time", NOON), both, 5e-4);
    assert_near(figure(rig, "small.drain_time", NOON), figure(rig, "big.drain_time", NOON), 1e-12);
    assert_near(figure(rig, "shut.drain_time", NOON),
                figure(rig, "big.drain_time", NOON) * 5.0 / 14.0, 1e-7);
}

/* ---- A converter on a panel: a page of sums ---- */

/* A 40 W panel (21.6 V, 2.56 A; 17.2 V, 2.33 A; 0.05 %/K, -0.46 %/K) and a converter that
 * takes 8.889 W at any voltage above 7 V, without cable: worked by hand for cells at 25 degC in the
 * reference tables, case "constant power converter": it drops out at 221.73 W/m2 and, switched on
 * at 7, 9, 12 or 17 V, comes back at 502.76, 392.61, 296.44 and 221.79. Those tables have no
 * weak-sun loss and cells of 25 degC whatever the sun, so the rig's own thresholds are looked up on
 * the same model with its loss and its cells. */
static void converter_on_a_panel(void **state)
{
    (void)state;
    static const double starts[] = {7.0, 9.0, 12.0, 17.0};
    for (size_t i = 0; i < sizeof starts / sizeof *starts; i++) {
        char text[1024];
        snprintf(text, sizeof text,
                 HEAD "parts:\n"
                      "  panel: { is: panel, voc: 21.6 V, isc: 2.56 A, vmp: 17.2 V, imp: 2.33 A, "
                      "isc_temp: 0.05 %%/K, power_temp: -0.46 %%/K }\n"
                      "  conv: { is: converter, type: both, input: 5 .. 40 V, output: 12 V, "
                      "min_input: 7 V, restart_input: %g V, efficiency: 90 %% }\n"
                      "  lamp: { is: load, voltage: 12 V, power: 8 W }\n"
                      "cables:\n  - { from: panel, to: conv, area: 300 mm2, length: 1 mm }\n  - { "
                      "from: conv, to: lamp, area: 300 mm2, length: 1 mm }\n",
                 starts[i]);
        struct rig *rig = solve(text);
        struct pv_label label = pv_label_blank();
        label.voc_v = 21.6, label.isc_a = 2.56, label.vmp_v = 17.2, label.imp_a = 2.33;
        label.isc_pct_per_k = 0.05, label.power_pct_per_k = -0.46;
        struct pv_fit fit = pv_fit(&label);
        /* by halving: least sun whose best power, and least whose current at the start voltage,
         * will do */
        double found[2];
        for (int want = 0; want < 2; want++) {
            double low = 1.0, high = 1300.0;
            for (int k = 0; k < 60; k++) {
                double sun = 0.5 * (low + high);
                double cells = pv_cell_temperature(10.0, sun, 47.0, 0.13, 1.0);
                struct pv_array array = {pv_translate(&fit, sun, cells), 1, 1,
                                         pv_weak_sun_factor(PV_UNKNOWN, sun, false), 1};
                struct pv_point best = pv_array_max_power(&array);
                bool will_do = best.watts >= 8.0 / 0.9;
                if (want && starts[i] < best.volts) /* else the best power decides */
                    will_do = pv_array_current(&array, starts[i], NULL) * starts[i] >= 8.0 / 0.9;
                if (will_do)
                    high = sun;
                else
                    low = sun;
            }
            found[want] = high;
        }
        assert_near(figure(rig, "conv.stop_sun", NOON), found[0],
                    1e-5); /* the cable's few microohms */
        assert_near(figure(rig, "conv.start_sun", NOON), found[1], 1e-5);
        assert_near(figure(rig, "conv.input_amps", NOON) * figure(rig, "conv.input_volts", NOON),
                    8.0 / 0.9, 1e-5);
        assert_true(figure(rig, "conv.input_volts", NOON) > 17.0); /* the upper meeting point */
    }
    /* and the published row itself, at 25 degC without loss: see test_pv_load */
}

/* ---- What each condition fixes ---- */

#define DIRECT                                                                                     \
    "  panel: { is: panel, voc: 21.6 V, isc: 2.56 A, vmp: 17.2 V, imp: 2.33 A, voc_temp: -0.35 "   \
    "%/K }\n"                                                                                      \
    "  pump: { is: pump, voltage: 12 V, power: 8 W, start_voltage: 6 V, max_head: 4 m, max_flow: " \
    "420 L/h }\n"                                                                                  \
    "  drum: { is: tank, volume: 90 L, height: 0 m, level: 0.5 m }\n"
#define DIRECT_RUNS                                                                                \
    "cables:\n  - { id: wire, from: panel, to: pump, area: 2.5 mm2, length: 5 m }\n"               \
    "pipes:\n  - { from: drum, to: pump }\n"                                                       \
    "  - { id: hose, from: pump, to: drum, bore: 13 mm, length: 4 m, material: hdpe }\n"

static void conditions_of_a_direct_pump(void **state)
{
    (void)state;
    struct rig *rig = solve(HEAD "parts:\n" DIRECT DIRECT_RUNS);
    /* E2: cells at 30 + 27/800 x 1000 x (1 - 0.13/0.9) at noon and, E3, at the edge of a cloud;
     * mean air in weak sun */
    double rise = 27.0 / 800.0 * (1.0 - 0.13 / 0.9);
    assert_close(figure(rig, "panel.cell_temperature", NOON), 30.0 + 1000.0 * rise, 1e-9);
    assert_close(figure(rig, "panel.cell_temperature", CONDITION_CLOUD_EDGE), 30.0 + 1000.0 * rise,
                 1e-9);
    assert_close(figure(rig, "panel.cell_temperature", CONDITION_WEAK_SUN), 10.0 + 250.0 * rise,
                 1e-9);
    assert_close(figure(rig, "panel.cell_temperature", CONDITION_DEAD_END), -10.0, 1e-12);
    /* E7: by the coefficient 21.6 x (1 + 0.0035 x 35) = 24.246 V, or by the model if that is more;
     * nothing flows */
    double cold = figure(rig, "panel.open_voltage", CONDITION_COLD_DAWN);
    assert_true(cold >= 24.246 - 1e-9);
    assert_true(cold >= figure(rig, "panel.open_voltage", CONDITION_DEAD_END));
    assert_close(figure(rig, "pump.volts", CONDITION_COLD_DAWN), cold, 0.0);
    assert_close(figure(rig, "panel.volts", CONDITION_COLD_DAWN), cold, 0.0);
    assert_close(figure(rig, "pump.amps", CONDITION_COLD_DAWN), 0.0, 0.0);
    assert_close(figure(rig, "wire.volt_drop", CONDITION_COLD_DAWN), 0.0, 0.0);
    assert_close(figure(rig, "wire.drop_share", CONDITION_COLD_DAWN), 0.0, 0.0);
    /* dark: nothing at all; standstill: no electrical figure */
    assert_close(figure(rig, "pump.volts", CONDITION_DARK), 0.0, 0.0);
    assert_close(figure(rig, "pump.amps", CONDITION_DARK), 0.0, 0.0);
    assert_true(isnan(figure(rig, "pump.volts", CONDITION_STANDSTILL)));
    assert_true(isnan(figure(rig, "panel.open_voltage", CONDITION_STANDSTILL)));
    assert_close(figure(rig, "pump.flow", CONDITION_STANDSTILL), 0.0, 0.0);
    /* M2 at noon: I = I_rated s2 phi, and the flow that phi rests on is the one reported */
    double s = figure(rig, "pump.speed_ratio", NOON), q = figure(rig, "pump.flow", NOON);
    double phi = 0.6 + 0.4 * fmin(1.0, q / (s * 420e-3 / 3600.0));
    assert_near(s, figure(rig, "pump.volts", NOON) / 12.0, 1e-12);
    assert_near(figure(rig, "pump.amps", NOON), 8.0 / 12.0 * s * s * phi, 1e-10);
    assert_true(s > 1.3); /* M8: not limited at 1 */
    /* dead-end: phi 0.6, flow none, head s2 H_max; D2 in the hose: that and the level over the
     * drum's bottom */
    double dead = figure(rig, "pump.speed_ratio", CONDITION_DEAD_END);
    assert_near(figure(rig, "pump.amps", CONDITION_DEAD_END), 8.0 / 12.0 * dead * dead * 0.6,
                1e-10);
    assert_close(figure(rig, "pump.flow", CONDITION_DEAD_END), 0.0, 0.0);
    assert_near(figure(rig, "pump.head", CONDITION_DEAD_END), 4.0 * dead * dead, 1e-12);
    double rho = water_density_kg_m3(WATER_PLAIN, 10.0);
    assert_near(figure(rig, "hose.high_pressure", CONDITION_DEAD_END),
                rho * 9.80665 * (0.5 + 4.0 * dead * dead), 1e-12);
    assert_true(isnan(figure(rig, "hose.high_pressure", NOON)));
    /* F7 */
    double warm = water_density_kg_m3(WATER_PLAIN, 30.0);
    assert_near(figure(rig, "pump.efficiency", NOON),
                warm * 9.80665 * q * figure(rig, "pump.head", NOON) /
                    figure(rig, "pump.watts", NOON),
                1e-10);
    /* C9 and M2: a run fed by panels only */
    assert_near(figure(rig, "wire.design_amps", NOON), 1.25 * 2.56, 1e-12);
    /* V4: unregulated, so it stops where it starts; water comes at once, there is no lift */
    assert_near(figure(rig, "pump.start_sun", NOON), figure(rig, "pump.stop_sun", NOON), 1e-9);
    assert_near(figure(rig, "pump.start_sun", NOON), figure(rig, "pump.flow_sun", NOON), 1e-9);
}

/* H1: a pump with its hose open under the surface of a higher tank runs backwards when it stands.
 */
static void water_runs_back_through_a_standing_pump(void **state)
{
    (void)state;
    static const char *const holds[] = {"no", "yes"};
    for (int i = 0; i < 2; i++) {
        char text[2048];
        snprintf(
            text, sizeof text,
            HEAD
            "parts:\n  panel: { is: panel, voc: 21.6 V, isc: 2.56 A, vmp: 17.2 V, imp: 2.33 A }\n"
            "  pump: { is: pump, voltage: 12 V, power: 8 W, max_head: 4 m, max_flow: 420 L/h, "
            "holds_back: %s }\n"
            "  low: { is: tank, volume: 90 L, height: 0 m, level: 0.5 m }\n"
            "  high: { is: tank, volume: 90 L, height: 1 m, level: 0.5 m }\n"
            "cables:\n  - { from: panel, to: pump, area: 2.5 mm2, length: 5 m }\n"
            "pipes:\n  - { from: low, to: pump }\n  - { id: hose, from: pump, to: high, bore: 13 "
            "mm, length: 4 m, material: hdpe }\n",
            holds[i]);
        struct rig *rig = solve(text);
        double back = figure(rig, "hose.flow", CONDITION_COLD_DAWN);
        if (i) {
            assert_close(back, 0.0, 0.0);
            assert_close(figure(rig, "pump.head", CONDITION_COLD_DAWN), 1.0,
                         1e-6); /* it holds the difference */
        } else {
            double v = -back / pipe_area_m2(0.013);
            assert_true(back < 0.0);
            assert_near(figure(rig, "pump.head", CONDITION_COLD_DAWN),
                        2.0 * v * v / (2.0 * 9.80665), 1e-9);
        }
    }
}

/* M5: two pumps on one panel; the larger asks too much in weak sun and is left out, the smaller
 * runs. */
static void the_weaker_load_stands(void **state)
{
    (void)state;
    struct rig *rig =
        solve(HEAD "parts:\n"
                   "  panel: { is: panel, voc: 21.6 V, isc: 2.56 A, vmp: 17.2 V, imp: 2.33 A }\n"
                   "  big: { is: pump, voltage: 24 V, power: 60 W, start_voltage: 14 V, max_head: "
                   "4 m, max_flow: 900 L/h }\n"
                   "  small: { is: pump, voltage: 12 V, power: 3 W, start_voltage: 6 V, max_head: "
                   "2 m, max_flow: 200 L/h }\n"
                   "  a: { is: tank, volume: 90 L, height: 0 m, level: 0.5 m }\n  b: { is: tank, "
                   "volume: 90 L, height: 0 m, level: 0.5 m }\n"
                   "  box: { is: junction }\n"
                   "cables:\n  - { from: panel, to: box, area: 2.5 mm2, length: 5 m }\n  - { from: "
                   "box, to: big, area: 1.5 mm2, length: 2 m }\n"
                   "  - { from: box, to: small, area: 1.5 mm2, length: 2 m }\n"
                   "pipes:\n  - { from: a, to: big }\n  - { from: big, to: a, bore: 13 mm, length: "
                   "4 m, material: hdpe }\n"
                   "  - { from: b, to: small }\n  - { from: small, to: b, bore: 13 mm, length: 4 "
                   "m, material: hdpe }\n");
    assert_close(figure(rig, "big.amps", CONDITION_WEAK_SUN), 0.0, 0.0);
    assert_close(figure(rig, "big.speed_ratio", CONDITION_WEAK_SUN), 0.0, 0.0);
    assert_true(figure(rig, "small.amps", CONDITION_WEAK_SUN) > 0.0);
    assert_true(figure(rig, "big.volts", CONDITION_WEAK_SUN) > 6.0); /* what it sees standing */
    assert_true(figure(rig, "big.amps", NOON) > 0.0 && figure(rig, "small.amps", NOON) > 0.0);
    /* V4: each with the other on */
    assert_near(figure(rig, "big.start_sun", NOON), figure(rig, "small.start_sun", NOON), 1e-9);
}

/* Two pumps side by side on one manifold, fed by a supply: what each passes rests on the other, and
 * so do their currents. Two equal ones do what one part of count 2 does (F10). */
static void pumps_on_one_manifold(void **state)
{
    (void)state;
#define PUMP "is: pump, voltage: 12 V, power: 20 W, max_head: 5 m, max_flow: 900 L/h"
#define MANIFOLD                                                                                   \
    "  drum: { is: tank, volume: 90 L, height: 0 m, level: 0.5 m }\n  mains: { is: supply, "       \
    "voltage: 12 V }\n  tee: { is: fitting }\n"
    struct rig *two =
        solve(HEAD "parts:\n" MANIFOLD "  one: { " PUMP " }\n  two: { " PUMP " }\n"
                   "cables:\n  - { from: mains, to: one, area: 1.5 mm2, length: 5 m }\n  - { from: "
                   "mains, to: two, area: 1.5 mm2, length: 5 m }\n"
                   "pipes:\n  - { from: drum, to: one }\n  - { from: drum, to: two }\n"
                   "  - { from: one, to: tee, bore: 16 mm, length: 1 m, material: hdpe }\n  - { "
                   "from: two, to: tee, bore: 16 mm, length: 1 m, material: hdpe }\n"
                   "  - { id: rest, from: tee, to: drum, bore: 16 mm, length: 6 m, material: hdpe, "
                   "ends: free, end_height: 1 m }\n");
    double q1 = figure(two, "one.flow", NOON), q = figure(two, "rest.flow", NOON);
    assert_near(figure(two, "two.flow", NOON), q1, 1e-9);
    assert_near(q, 2.0 * q1, 1e-9);
    double phi = 0.6 + 0.4 * q1 / (figure(two, "one.speed_ratio", NOON) * 0.9 / 3600.0);
    double s = figure(two, "one.speed_ratio", NOON);
    assert_near(figure(two, "one.amps", NOON), 20.0 / 12.0 * s * s * phi, 1e-9);
    assert_near(figure(two, "mains.amps", NOON), 2.0 * figure(two, "one.amps", NOON), 1e-9);

    struct rig *pair =
        solve(HEAD "parts:\n" MANIFOLD "  both: { " PUMP ", count: 2 }\n"
                   "cables:\n  - { from: mains, to: both, area: 1.5 mm2, count: 2, length: 5 m }\n"
                   "pipes:\n  - { from: drum, to: both }\n  - { from: both, to: tee, bore: 16 mm, "
                   "length: 1 m, material: hdpe, count: 2 }\n"
                   "  - { id: rest, from: tee, to: drum, bore: 16 mm, length: 6 m, material: hdpe, "
                   "ends: free, end_height: 1 m }\n");
    assert_near(figure(pair, "both.flow", NOON), q, 1e-9);
    assert_near(figure(pair, "both.amps", NOON), 2.0 * figure(two, "one.amps", NOON), 1e-9);
    assert_near(figure(pair, "both.speed_ratio", NOON), s, 1e-9);
    assert_near(figure(pair, "both.head", NOON), figure(two, "one.head", NOON), 1e-9);
}

/* The same two pumps on a panel: they start and stop where a pair as one part does, which is
 * reckoned another way (threshold.c), and so does their water come. */
static void two_pumps_start_together(void **state)
{
    (void)state;
#define PV                                                                                         \
    "  panel: { is: panel, voc: 21.6 V, isc: 5.2 A, vmp: 17.2 V, imp: 4.8 A }\n  drum: { is: "     \
    "tank, volume: 90 L, height: 0 m, level: 0.5 m }\n  tee: { is: fitting }\n"
    struct rig *two =
        solve(HEAD "parts:\n" PV "  one: { " PUMP " }\n  two: { " PUMP " }\n"
                   "cables:\n  - { from: panel, to: one, area: 1.5 mm2, length: 5 m }\n  - { from: "
                   "panel, to: two, area: 1.5 mm2, length: 5 m }\n"
                   "pipes:\n  - { from: drum, to: one }\n  - { from: drum, to: two }\n"
                   "  - { from: one, to: tee, bore: 16 mm, length: 1 m, material: hdpe }\n  - { "
                   "from: two, to: tee, bore: 16 mm, length: 1 m, material: hdpe }\n"
                   "  - { id: rest, from: tee, to: drum, bore: 16 mm, length: 6 m, material: hdpe, "
                   "ends: free, end_height: 3 m }\n");
    struct rig *pair =
        solve(HEAD "parts:\n" PV "  both: { " PUMP ", count: 2 }\n"
                   "cables:\n  - { from: panel, to: both, area: 1.5 mm2, count: 2, length: 5 m }\n"
                   "pipes:\n  - { from: drum, to: both }\n  - { from: both, to: tee, bore: 16 mm, "
                   "length: 1 m, material: hdpe, count: 2 }\n"
                   "  - { id: rest, from: tee, to: drum, bore: 16 mm, length: 6 m, material: hdpe, "
                   "ends: free, end_height: 3 m }\n");
    assert_near(figure(two, "rest.flow", NOON), figure(pair, "rest.flow", NOON), 1e-9);
    assert_near(figure(two, "one.amps", NOON), 0.5 * figure(pair, "both.amps", NOON), 1e-9);
    assert_near(figure(two, "one.start_sun", NOON), figure(pair, "both.start_sun", NOON), 1e-8);
    assert_near(figure(two, "two.stop_sun", NOON), figure(pair, "both.stop_sun", NOON), 1e-8);
    /* at first water the least difference of two speeds drives water round between them: found less
     * sharply */
    assert_near(figure(two, "one.flow_sun", NOON), figure(pair, "both.flow_sun", NOON), 3e-4);
    assert_true(figure(two, "one.flow_sun", NOON) > figure(two, "one.start_sun", NOON));
}

/* E8, E10, C9: two unlike strings on one node. */
static void strings_in_parallel(void **state)
{
    (void)state;
    struct rig *rig = solve(
        HEAD "practice: north-america\nparts:\n"
             "  a: { is: panel, voc: 21.6 V, isc: 2.5 A, vmp: 17.2 V, imp: 2.3 A, parallel: 2 }\n"
             "  b: { is: panel, voc: 18 V, isc: 3 A, vmp: 14.5 V, imp: 2.7 A }\n"
             "  lamp: { is: load, voltage: 12 V, power: 1 W }\n"
             "cables:\n  - { id: a-wire, from: a, to: lamp, area: 12 AWG, length: 4 m }\n  - { id: "
             "b-wire, from: b, to: lamp, area: 12 AWG, length: 4 m }\n");
    assert_near(figure(rig, "a.reverse_current", NOON), 1.25 * 2.5 * 2, 1e-12);
    assert_near(figure(rig, "b.reverse_current", NOON), 1.25 * 3 * 2, 1e-12);
    assert_near(figure(rig, "a-wire.design_amps", NOON), 1.5625 * 2.5 * 2, 1e-12);
    assert_near(figure(rig, "b-wire.design_amps", NOON), 1.5625 * 3, 1e-12);
    /* hardly any load: the higher string feeds the lower one backwards */
    assert_true(figure(rig, "b.amps", NOON) < 0.0);
    assert_near(figure(rig, "a.amps", NOON) + figure(rig, "b.amps", NOON),
                figure(rig, "lamp.amps", NOON), 1e-9);
    /* E4, E6: as wired, at the label's own current */
    assert_near(figure(rig, "a.short_current", NOON) / figure(rig, "b.short_current", NOON),
                5.0 / 3.0, 1e-3);
    /* E7: no current in the cold, between unlike panels either */
    assert_close(figure(rig, "b.amps", CONDITION_COLD_DAWN), 0.0, 0.0);
    assert_close(figure(rig, "b.volts", CONDITION_COLD_DAWN),
                 figure(rig, "a.open_voltage", CONDITION_COLD_DAWN), 0.0);
}

/* A cable from panel to panel puts them in series: as one part with `series: 2`, save its loss. */
static void panels_in_series_by_cable(void **state)
{
    (void)state;
#define MODULE "is: panel, voc: 21.6 V, isc: 2.5 A, vmp: 17.2 V, imp: 2.3 A"
#define SERIES_LOAD                                                                                \
    "  pump: { is: pump, voltage: 24 V, power: 40 W, max_head: 4 m, max_flow: 900 L/h }\n"
    struct rig *apart = solve(HEAD "parts:\n  a: { " MODULE " }\n  b: { " MODULE " }\n" SERIES_LOAD
                                   "cables:\n  - { from: a, to: b, area: 300 mm2, length: 1 mm }\n "
                                   " - { id: w, from: b, to: pump, area: 2.5 mm2, length: 5 m }\n");
    struct rig *one =
        solve(HEAD "parts:\n  a: { " MODULE ", series: 2 }\n" SERIES_LOAD
                   "cables:\n  - { id: w, from: a, to: pump, area: 2.5 mm2, length: 5 m }\n");
    for (int c = 0; c < CONDITION_COUNT - 1; c++) {
        assert_close(figure(apart, "pump.volts", (enum condition)c),
                     figure(one, "pump.volts", (enum condition)c), 1e-5);
        assert_close(figure(apart, "pump.amps", (enum condition)c),
                     figure(one, "pump.amps", (enum condition)c), 1e-5);
    }
    assert_near(figure(apart, "a.volts", NOON) + figure(apart, "b.volts", NOON),
                figure(one, "a.volts", NOON), 1e-5);
    assert_near(figure(apart, "a.amps", NOON), figure(apart, "b.amps", NOON), 1e-12);
    assert_near(figure(apart, "w.design_amps", NOON), 1.25 * 2.5, 1e-12);
    assert_close(figure(apart, "a.reverse_current", NOON), 0.0, 0.0); /* one string */
    assert_near(figure(apart, "pump.start_sun", NOON), figure(one, "pump.start_sun", NOON), 1e-4);
}

/* B1, V3: a battery sags under its load; dark and dead-end take other voltages of its table. */
static void battery_feeds_a_pump(void **state)
{
    (void)state;
    struct rig *rig = solve(HEAD "parts:\n"
                                 "  battery: { is: battery, chemistry: lifepo4, voltage: 12.8 V, "
                                 "capacity: 20 Ah, internal_resistance: 40 mohm }\n"
                                 "  f1: { is: fuse, rating: 5 A }\n"
                                 "  pump: { is: pump, voltage: 12 V, power: 24 W, regulated: yes, "
                                 "voltage_range: 10 .. 15 V, max_head: 4 m, max_flow: 420 L/h }\n"
                                 "  drum: { is: tank, volume: 90 L, height: 0 m, level: 0.5 m }\n"
                                 "cables:\n  - { id: wire, from: battery, to: pump, area: 2.5 mm2, "
                                 "length: 5 m, through: [f1] }\n"
                                 "pipes:\n  - { from: drum, to: pump }\n  - { from: pump, to: "
                                 "drum, bore: 13 mm, length: 4 m, material: hdpe }\n");
    struct battery battery = {BATTERY_LIFEPO4, 12.8, 72000.0, 0.04, 1, 1};
    static const enum condition conditions[] = {CONDITION_BRIGHT_NOON, CONDITION_DARK,
                                                CONDITION_DEAD_END};
    double open[] = {battery_full_v(&battery), battery_disconnect_v(&battery),
                     battery_charge_v(&battery)};
    for (int i = 0; i < 3; i++) {
        enum condition c = conditions[i];
        double a = figure(rig, "battery.amps", c);
        assert_near(figure(rig, "battery.volts", c), open[i] - 0.04 * a, 1e-12);
        assert_near(figure(rig, "pump.amps", c), a, 1e-10);
        assert_near(figure(rig, "wire.amps", c), a, 1e-10);
        assert_near(figure(rig, "f1.amps", c), a, 1e-10);
        assert_near(figure(rig, "battery.volts", c) - figure(rig, "pump.volts", c),
                    figure(rig, "wire.volt_drop", c), 1e-9);
        double q = figure(rig, "pump.flow", c),
               phi = c == CONDITION_DEAD_END ? 0.6 : 0.6 + 0.4 * q / (0.42 / 3600.0);
        assert_near(figure(rig, "pump.watts", c), 24.0 * phi, 1e-10);
        /* C3: 2.5 mm2, 24 A at 30 degC in conduit reach 70 degC; C8: the fuse loses 0.08 V at 5 A
         */
        double degc = figure(rig, "wire.conductor_temperature", c),
               air = figure(rig, "site.air_now", c);
        assert_close(degc, air + 40.0 * a * a / (24.0 * 24.0), 1e-9);
        double r =
            10.0 * 7.41e-3 * (1.0 + 0.00393 * (degc - 20.0)) + 0.08 / 5.0; /* IEC 60228, class 2 */
        assert_near(figure(rig, "wire.volt_drop", c), a * r, 1e-9);
    }
    assert_true(isnan(figure(rig, "pump.start_sun", NOON)));
    assert_near(figure(rig, "wire.design_amps", NOON), 1.25 * 2.0, 1e-12);
    assert_near(figure(rig, "f1.carries", NOON), 2.0, 1e-12);
    /* physics: V_full/(R_internal + R_run) */
    assert_near(figure(rig, "battery.short_circuit_current", NOON),
                open[0] / (0.04 + 10.0 * 7.41e-3), 1e-9);
    assert_close(figure(rig, "battery.volts", CONDITION_COLD_DAWN), open[0], 1e-12);
}

/* V5: a limit of 1 A holds a 12 V lamp of 24 W (6 ohm) at 6 V. */
static void converter_at_its_limit(void **state)
{
    (void)state;
    struct rig *rig = solve(HEAD "parts:\n  mains: { is: supply, voltage: 24 V }\n"
                                 "  conv: { is: converter, type: step-down, input: 8 .. 40 V, "
                                 "output: 12 V, max_current: 1 A, efficiency: 90 % }\n"
                                 "  lamp: { is: load, voltage: 12 V, power: 24 W }\n"
                                 "cables:\n  - { from: mains, to: conv, area: 2.5 mm2, length: 1 m "
                                 "}\n  - { from: conv, to: lamp, area: 300 mm2, length: 1 mm }\n");
    assert_near(figure(rig, "conv.output_amps", NOON), 1.0, 1e-9);
    assert_near(figure(rig, "conv.output_volts", NOON), 6.0, 1e-4);
    assert_close(figure(rig, "conv.regulating", NOON), 0.0, 0.0);
    assert_near(
        figure(rig, "conv.input_amps", NOON),
        figure(rig, "conv.output_volts", NOON) / 0.9 / figure(rig, "conv.input_volts", NOON), 1e-9);
}

/* V1: a step-up of 12 V that regulates on 24 V: a lamp of 12 ohm (12 V, 12 W) takes 12 W there, so
 * 12 W / 0.9 + 0.2 W = 13.5333 W go in. Passing, it has 0.5 V / 2 A = 0.25 ohm before the
 * lamp: 12.4 V would leave 12.4 * 12/12.25 = 12.1469 V, more than is set, so it regulates there
 * too; 12.1 V leave 11.8531 V at 0.987755 A, which is less, and 11.7079 W / 0.9 + 0.2 W go in (the
 * efficiency is less than 11.8531/12.1). Wires of a millimetre lose nothing. */
static void a_step_up_from_above(void **state)
{
    (void)state;
    static const struct {
        double mains_v, output_v, input_w;
        bool regulates;
    } rows[] = {
        {24.0, 12.0, 12.0 / 0.9 + 0.2, true},
        {12.4, 12.0, 12.0 / 0.9 + 0.2, true},
        {12.1, 12.1 * 12.0 / 12.25, 12.1 * 12.1 / 12.25 / 0.9 / (12.25 / 12.0) + 0.2, false},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        char text[1024];
        snprintf(text, sizeof text,
                 HEAD "parts:\n  mains: { is: supply, voltage: %g V }\n"
                      "  conv: { is: converter, type: step-up, input: 8 .. 40 V, output: 12 V, "
                      "max_current: 2 A, dropout: 0.5 V, efficiency: 90 %%, idle_power: 0.2 W }\n"
                      "  lamp: { is: load, voltage: 12 V, power: 12 W }\n"
                      "cables:\n  - { from: mains, to: conv, area: 300 mm2, length: 1 mm }\n"
                      "  - { from: conv, to: lamp, area: 300 mm2, length: 1 mm }\n",
                 rows[i].mains_v);
        struct rig *rig = solve(text);
        assert_near(figure(rig, "conv.output_volts", NOON), rows[i].output_v, 1e-6);
        assert_near(figure(rig, "conv.input_amps", NOON) * rows[i].mains_v, rows[i].input_w, 1e-6);
        assert_close(figure(rig, "conv.regulating", NOON), rows[i].regulates ? 1.0 : 0.0, 0.0);
    }
}

/* A step-up of 24 V on a 12 V panel regulates wherever it is on, so both start and stop together
 * (V4), and the pump's word is the converter's. */
static void a_step_up_on_a_panel_starts(void **state)
{
    (void)state;
    struct rig *rig =
        solve(HEAD "parts:\n"
                   "  panel: { is: panel, vmp: 17.2 V, imp: 2.7 A, voc: 20.6 V, isc: 2.9 A }\n"
                   "  conv: { is: converter, type: step-up, input: 9 .. 40 V, output: 24 V, "
                   "max_current: 3 A, dropout: 0.7 V, efficiency: 90 % }\n"
                   "  pump: { is: pump, voltage: 24 V, power: 20 W, max_head: 5 m, max_flow: 1000 "
                   "L/h }\n"
                   "  box: { is: tank, volume: 300 L, level: 0.6 m }\n"
                   "cables:\n  - { from: panel, to: conv, area: 2.5 mm2, length: 4 m }\n"
                   "  - { from: conv, to: pump, area: 2.5 mm2, length: 4 m }\n"
                   "pipes:\n  - { from: box, to: pump, bore: 20 mm, length: 2 m, material: hdpe }\n"
                   "  - { from: pump, to: box, bore: 20 mm, length: 6 m, material: hdpe }\n");
    static const char *const suns[][2] = {{"conv.start_sun", "pump.start_sun"},
                                          {"conv.stop_sun", "pump.stop_sun"}};
    for (int i = 0; i < 2; i++) {
        assert_true(figure(rig, suns[i][1], NOON) > 1.0);
        assert_near(figure(rig, suns[i][0], NOON), figure(rig, suns[i][1], NOON), 1e-9);
    }
}

/* A booster holds the panel at its best voltage: in weak sun a pump of 24 W still turns on what a
 * 40 W panel has left, P_out = efficiency x P_mp at whatever voltage the pump takes that (affinity
 * laws: P = P_rated s^3 x share). Trade practice; no source. */
static void a_booster_keeps_the_pump_turning(void **state)
{
    (void)state;
    static const char *const types[] = {"both", "booster"};
    for (int i = 0; i < 2; i++) {
        char text[2048];
        snprintf(
            text, sizeof text,
            HEAD
            "parts:\n  panel: { is: panel, voc: 21.6 V, isc: 2.56 A, vmp: 17.2 V, imp: 2.33 A }\n"
            "  conv: { is: converter, type: %s, input: 6 .. 30 V, output: 12 V, efficiency: 90 %%, "
            "idle_power: 0.1 W }\n"
            "  pump: { is: pump, voltage: 12 V, power: 24 W, start_voltage: 4 V, max_head: 4 m, "
            "max_flow: 900 L/h }\n"
            "  drum: { is: tank, volume: 90 L, height: 0 m, level: 0.5 m }\n"
            "cables:\n  - { from: panel, to: conv, area: 300 mm2, length: 1 mm }\n  - { from: "
            "conv, to: pump, area: 2.5 mm2, length: 3 m }\n"
            "pipes:\n  - { from: drum, to: pump }\n  - { from: pump, to: drum, bore: 13 mm, "
            "length: 4 m, material: hdpe }\n",
            types[i]);
        struct rig *rig = solve(text);
        double least = figure(rig, "panel.mpp_power", CONDITION_WEAK_SUN);
        assert_near(figure(rig, "pump.volts", NOON),
                    figure(rig, "conv.output_volts", NOON) -
                        figure(rig, "conv-pump.volt_drop", NOON),
                    1e-9);
        if (i == 0) { /* it asks for 3 A at its start voltage, and falls back whatever the sun */
            assert_close(figure(rig, "pump.amps", NOON), 0.0, 0.0);
            assert_close(figure(rig, "pump.amps", CONDITION_WEAK_SUN), 0.0, 0.0);
            continue;
        }
        assert_close(figure(rig, "conv.regulating", NOON), 1.0, 0.0);
        assert_near(figure(rig, "panel.watts", CONDITION_WEAK_SUN), least, 1e-6);
        assert_near(figure(rig, "conv.output_volts", CONDITION_WEAK_SUN) *
                        figure(rig, "conv.output_amps", CONDITION_WEAK_SUN),
                    0.9 * (figure(rig, "panel.watts", CONDITION_WEAK_SUN) - 0.1), 1e-5);
        assert_true(figure(rig, "pump.speed_ratio", CONDITION_WEAK_SUN) > 0.4 &&
                    figure(rig, "pump.speed_ratio", CONDITION_WEAK_SUN) < 1.0);
        assert_close(figure(rig, "conv.regulating", CONDITION_WEAK_SUN), 0.0, 0.0);
        assert_true(figure(rig, "pump.start_sun", NOON) < 100.0);
    }
}

/* A controller: with tracking its panels stand at their best power and efficiency x that goes into
 * battery and loads; without, they are at the battery's voltage. Common practice. */
static void controllers_charge_a_battery(void **state)
{
    (void)state;
    static const char *const types[] = {"mppt", "pwm"};
    for (int i = 0; i < 2; i++) {
        char text[2048];
        snprintf(
            text, sizeof text,
            HEAD
            "parts:\n  panel: { is: panel, voc: 21.6 V, isc: 2.56 A, vmp: 17.2 V, imp: 2.33 A }\n"
            "  ctl: { is: controller, type: %s, battery_voltage: 12 V, efficiency: 95 %%, own_use: "
            "10 mA }\n"
            "  battery: { is: battery, chemistry: agm, voltage: 12 V, capacity: 20 Ah, "
            "internal_resistance: 20 mohm }\n"
            "  lamp: { is: load, voltage: 12 V, power: 6 W }\n"
            "cables:\n  - { from: panel, to: ctl, area: 2.5 mm2, length: 5 m }\n  - { id: b, from: "
            "ctl, to: battery, area: 2.5 mm2, length: 1 m }\n"
            "  - { id: l, from: ctl, to: lamp, area: 1.5 mm2, length: 4 m }\n",
            types[i]);
        struct rig *rig = solve(text);
        double charge = figure(rig, "ctl.charge_amps", NOON),
               load = figure(rig, "ctl.load_amps", NOON);
        assert_near(figure(rig, "lamp.amps", NOON), load, 1e-9);
        assert_near(figure(rig, "battery.amps", NOON), load - charge, 1e-9);
        assert_near(figure(rig, "ctl.panel_amps", NOON), figure(rig, "panel.amps", NOON), 1e-9);
        double at = figure(rig, "battery.volts", NOON) + figure(rig, "b.volt_drop", NOON);
        if (i == 0) {
            assert_near(figure(rig, "ctl.panel_volts", NOON) * figure(rig, "ctl.panel_amps", NOON) *
                            0.95,
                        (charge + 0.01) * at, 1e-9);
            /* the best at the controller: the wire's loss is taken off, so the panel itself is just
             * beside its own best */
            assert_near(figure(rig, "panel.watts", NOON), figure(rig, "panel.mpp_power", NOON),
                        1e-3);
        } else {
            assert_near(figure(rig, "ctl.panel_volts", NOON), at, 1e-9);
            assert_near(figure(rig, "ctl.panel_amps", NOON), charge + 0.01, 1e-9);
        }
        assert_close(figure(rig, "ctl.panel_amps", CONDITION_DARK), 0.0, 0.0);
        assert_near(figure(rig, "battery.amps", CONDITION_DARK),
                    figure(rig, "lamp.amps", CONDITION_DARK) + 0.01, 1e-9);
        assert_close(figure(rig, "ctl.load_amps", CONDITION_COLD_DAWN), 0.0, 0.0);
        assert_close(figure(rig, "ctl.panel_volts", CONDITION_COLD_DAWN),
                     figure(rig, "panel.open_voltage", CONDITION_COLD_DAWN), 0.0);
    }
}

static void loops_of_cable_are_refused(void **state)
{
    (void)state;
    struct rig *rig = bench_solve(
        &bench, HEAD "parts:\n  mains: { is: supply, voltage: 12 V }\n  a: { is: load, voltage: 12 "
                     "V, power: 5 W }\n"
                     "  b: { is: load, voltage: 12 V, power: 5 W }\ncables:\n"
                     "  - { from: mains, to: a, area: 2.5 mm2, length: 1 m }\n  - { from: mains, "
                     "to: b, area: 2.5 mm2, length: 1 m }\n"
                     "  - { id: closer, from: a, to: b, area: 2.5 mm2, length: 1 m }\n");
    assert_int_equal(bench.diagnostics.count, 1);
    assert_string_equal(bench.diagnostics.at[0].topic, TOPIC_JOINS);
    assert_non_null(strstr(bench.diagnostics.at[0].message, "closer"));
    assert_int_equal(bench.diagnostics.at[0].at.line, 11);
    assert_true(figure(rig, "a.volts", NOON) > 11.9); /* the rest is still reckoned */
    assert_true(isnan(figure(rig, "closer.amps", NOON)));
}

/* ---- Valves, heat ---- */

/* F8, H5: a pilot valve under a low tank has too little pressure to open; a direct one opens. */
static void pilot_valves_need_pressure(void **state)
{
    (void)state;
    static const char *const actions[] = {"pilot", "direct"};
    for (int i = 0; i < 2; i++) {
        char text[1024];
        snprintf(text, sizeof text,
                 HEAD "parts:\n  drum: { is: tank, volume: 200 L, height: 1 m, level: 0.5 m }\n  "
                      "clock: { is: timer }\n"
                      "  valve: { is: valve, action: %s, rests: closed, kv: 1.2 m3/h, "
                      "least_pressure: 0.2 bar, energised_by: clock, height: 0.2 m }\n"
                      "  bed: { is: outlet, height: 0.1 m }\n"
                      "pipes:\n  - { id: in, from: drum, to: valve, bore: 13 mm, length: 2 m, "
                      "material: hdpe }\n"
                      "  - { from: valve, to: bed, bore: 13 mm, length: 2 m, material: hdpe }\n",
                 actions[i]);
        struct rig *rig = solve(text);
        double rho = water_density_kg_m3(WATER_PLAIN, 30.0);
        assert_near(figure(rig, "valve.rest_pressure", NOON), rho * 9.80665 * (1.5 - 0.2), 1e-12);
        assert_close(figure(rig, "valve.flow", CONDITION_STANDSTILL), 0.0, 0.0);
        if (i == 0) {
            assert_close(figure(rig, "valve.flow", NOON), 0.0, 0.0);
            assert_true(isnan(figure(rig, "valve.pressure_drop", NOON)));
        } else {
            double q = figure(rig, "valve.flow", NOON), part = q / (1.2 / 3600.0);
            assert_true(q > 1e-5);
            assert_near(figure(rig, "valve.pressure_drop", NOON), 1e5 * rho / 1000.0 * part * part,
                        1e-9);
            assert_near(figure(rig, "bed.flow", NOON), q, 1e-9);
        }
    }
}

/* An in-line check valve (P6, H3): its cracking pressure stays lost; a shut one shuts its run. */
static void check_valve_in_a_hose(void **state)
{
    (void)state;
    struct rig *rig =
        solve(HEAD "parts:\n  drum: { is: tank, volume: 200 L, height: 1 m, level: 0.5 m }\n"
                   "  flap: { is: check-valve, kv: 2 m3/h, cracking_pressure: 30 mbar }\n"
                   "  lower: { is: tank, volume: 200 L, height: 0 m, level: 0.5 m }\n"
                   "pipes:\n  - { id: down, from: drum, to: lower, bore: 13 mm, length: 2 m, "
                   "material: hdpe, through: [flap] }\n"
                   "  - { id: up, from: lower, to: drum, bore: 13 mm, length: 2 m, material: hdpe, "
                   "through: [flap] }\n");
    double q = figure(rig, "down.flow", NOON), rho = water_density_kg_m3(WATER_PLAIN, 30.0);
    double part = q / (2.0 / 3600.0), drop = 3000.0 + 1e5 * rho / 1000.0 * part * part;
    assert_true(q > 1e-5);
    assert_near(figure(rig, "down.friction_head", NOON), 1.0 - drop / (rho * 9.80665), 1e-9);
    assert_close(figure(rig, "up.flow", NOON), 0.0, 0.0);
}

/* H1, H7: water that shut parts keep from every tank has no head of its own. A pump that holds back
 * or runs against it brings no more than its own shut-off head, and at its inlet the water counts
 * that it draws from. Air less vapour stands at (101325 - 1228) Pa / (999.70 kg/m3 g) = 10.210 m of
 * water of 10 degC and (101325 - 4247) Pa / (995.65 kg/m3 g) = 9.942 m of 30 degC (NIST webbook);
 * the inlet lies 0.2 m high under a head of 1 m, and 2 m are required: 9.010 m and 8.742 m. */
static void trapped_water(void **state)
{
    (void)state;
    static const struct {
        const char *pump, *in, *out, *far;
        double head_cold, head_noon;
    } rows[] = {
        /* between the pump and a tap above the tank */
        {"max_head: 0.3 m, holds_back: yes", "", "", "is: outlet, height: 1.4 m", 0.0, 0.3},
        /* between a check valve and the pump that holds back a higher tank: 3 m less 1 m */
        {"max_head: 0.3 m, holds_back: yes", "through: [flap], ", "", "is: tank, level: 3 m", 0.0,
         0.3},
        /* between the check valve and a tap */
        {"max_head: 0.3 m", "through: [flap], ", "", "is: outlet, height: 1.4 m", 0.0, 0.3},
        /* not trapped: the pump holds back 3 m less 1 m */
        {"max_head: 0.3 m, holds_back: yes", "", "", "is: tank, level: 3 m", 2.0, 2.0},
        /* between the pump and a shut valve */
        {"max_head: 0.3 m, holds_back: yes", "", "through: [stop], ", "is: tank, level: 0 m", 0.0,
         0.3},
        /* between a shut valve and the pump */
        {"max_head: 0.3 m, holds_back: yes", "through: [stop], ", "", "is: tank, level: 3 m", 0.0,
         0.3},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        char text[1400];
        snprintf(text, sizeof text,
                 HEAD "parts:\n  mains: { is: supply, voltage: 12 V }\n"
                      "  box: { is: tank, volume: 300 L, height: 0.4 m, level: 0.6 m }\n"
                      "  pump: { is: pump, voltage: 12 V, power: 6 W, max_flow: 500 L/h, height: "
                      "0.2 m, npsh_required: 2 m, %s }\n"
                      "  flap: { is: check-valve, kv: 3 m3/h, cracking_pressure: 20 mbar }\n"
                      "  stop: { is: valve, action: hand, rests: closed, kv: 3 m3/h }\n"
                      "  far: { %s }\n"
                      "cables:\n  - { from: mains, to: pump, area: 300 mm2, length: 1 mm }\n"
                      "pipes:\n  - { from: box, to: pump, %sbore: 20 mm, length: 2 m, material: "
                      "hdpe }\n"
                      "  - { from: pump, to: far, %sbore: 20 mm, length: 2 m, material: hdpe }\n",
                 rows[i].pump, rows[i].far, rows[i].in, rows[i].out);
        struct rig *rig = solve(text);
        assert_close(figure(rig, "pump.flow", NOON), 0.0, 0.0);
        assert_close(figure(rig, "pump.head", CONDITION_COLD_DAWN), rows[i].head_cold, 1e-9);
        assert_close(figure(rig, "pump.head", NOON), rows[i].head_noon, 1e-6);
        assert_close(figure(rig, "pump.suction_margin", CONDITION_COLD_DAWN), 9.010, 1e-3);
        assert_close(figure(rig, "pump.suction_margin", NOON), 8.742, 1e-3);
        assert_close(figure(rig, "pump.suction_margin", CONDITION_DEAD_END), 9.010, 1e-3);
        assert_close(figure(rig, "pump.suction_margin", CONDITION_STANDSTILL), 8.742, 1e-3);
    }
}

/* H6 and T1: a coil in a loop; S1: its temperature without flow, also in the hoses at it. */
static void a_coil_warms_its_water(void **state)
{
    (void)state;
    struct rig *rig = solve(
        HEAD "parts:\n" DIRECT
             "  coil: { is: coil, area: 1.4 m2, bore: 10 mm, length: 18 m, material: copper, "
             "optical_gain: 0.8, heat_loss: 12 W/m2K, test_flow: 0.02 kg/m2s, height: 1 m }\n"
             "cables:\n  - { from: panel, to: pump, area: 2.5 mm2, length: 5 m }\n"
             "pipes:\n  - { from: drum, to: pump }\n  - { id: a, from: pump, to: coil, bore: 13 "
             "mm, length: 3 m, material: hdpe }\n"
             "  - { id: b, from: coil, to: drum, bore: 13 mm, length: 3 m, material: hdpe }\n");
    double q = figure(rig, "coil.flow", NOON), rho = water_density_kg_m3(WATER_PLAIN, 30.0);
    double heat = water_heat_j_kgk(WATER_PLAIN, 30.0), per_area = rho * q / 1.4;
    struct coil_tube tube = {COIL_SERPENTINE, 0.01, 18.0, NAN, coil_bends(18.0, 1.4), 1, 1.5e-6};
    assert_near(figure(rig, "coil.head_loss", NOON),
                coil_loss_m(&tube, q, water_viscosity_m2s(WATER_PLAIN, 30.0), NULL), 1e-9);
    assert_near(figure(rig, "coil.specific_flow", NOON), per_area, 1e-12);
    /* D&B 6.20: r of the flow in use over that of the test */
    double loss = -0.02 * heat * log(1.0 - 12.0 / (0.02 * heat));
    double use = per_area * heat / loss * (1.0 - exp(-loss / (per_area * heat)));
    double test = 0.02 * heat / loss * (1.0 - exp(-loss / (0.02 * heat)));
    double gain = use / test * 1.4 * (0.8 * 1000.0 - 12.0 * (30.0 - 30.0));
    assert_near(figure(rig, "coil.gain", NOON), gain, 1e-9);
    assert_near(figure(rig, "coil.outlet_temperature", NOON), 30.0 + gain / (rho * q * heat), 1e-9);
    assert_near(figure(rig, "coil.gain", CONDITION_CLOUD_EDGE), use / test * 1.4 * 1000.0,
                0.01); /* G 1250; its own flow */
    assert_true(isnan(figure(rig, "coil.gain", CONDITION_DEAD_END)));
    assert_near(figure(rig, "coil.standstill_temperature", CONDITION_STANDSTILL),
                30.0 + 1000.0 * 0.8 / 12.0, 1e-12);
    assert_near(figure(rig, "a.water_temperature_high", CONDITION_STANDSTILL),
                30.0 + 1000.0 * 0.8 / 12.0, 1e-12);
    assert_true(isnan(figure(rig, "coil.standstill_temperature", NOON)));
    /* W6: pipe, coil and pipe are in series, all the pump's head is lost in them */
    assert_near(figure(rig, "pump.head", NOON),
                figure(rig, "a.friction_head", NOON) + figure(rig, "coil.head_loss", NOON) +
                    figure(rig, "b.friction_head", NOON),
                1e-9);
}

/* V4: with a lift the pump turns long before water comes. At that sun its shut-off head is just the
 * lift. */
static void first_water_over_a_lift(void **state)
{
    (void)state;
    struct rig *rig =
        solve(HEAD "parts:\n" DIRECT
                   "cables:\n  - { from: panel, to: pump, area: 2.5 mm2, length: 5 m }\n"
                   "pipes:\n  - { from: drum, to: pump }\n  - { from: pump, to: drum, bore: 13 mm, "
                   "length: 4 m, material: hdpe, ends: free, end_height: 2.75 m }\n");
    assert_true(figure(rig, "pump.flow_sun", NOON) > 1.5 * figure(rig, "pump.start_sun", NOON));
    assert_close(figure(rig, "pump.static_lift", NOON), 2.25, 1e-12);
    /* s2 x 4 m = 2.25 m: s = 0.75, 9 V, and 0.667 A x 0.75^2 x 0.6 there */
    struct pv_label label = pv_label_blank();
    label.voc_v = 21.6, label.isc_a = 2.56, label.vmp_v = 17.2, label.imp_a = 2.33,
    label.voc_pct_per_k = -0.35;
    struct pv_fit fit = pv_fit(&label);
    double sun = figure(rig, "pump.flow_sun", NOON), amps = 8.0 / 12.0 * 0.75 * 0.75 * 0.6;
    struct pv_array array = {
        pv_translate(&fit, sun, pv_cell_temperature(10.0, sun, 47.0, 0.13, 1.0)), 1, 1,
        pv_weak_sun_factor(PV_UNKNOWN, sun, false), 1};
    double ohm = 10.0 * 7.41e-3 * (1.0 + 0.00393 * (10.0 - 20.0)); /* the wire hardly warms */
    assert_near(pv_array_current(&array, 9.0 + amps * ohm, NULL), amps, 1e-6);
}

/* Every working that is there is a few lines, and none shows a number that is not one. */
static void workings_are_readable(void **state)
{
    (void)state;
    struct rig *rig = solve(HEAD "parts:\n" DIRECT DIRECT_RUNS);
    size_t told = 0;
    for (size_t i = 0; i < rig->part_count; i++)
        for (size_t a = 0; rig->parts[i].kind && a < rig->parts[i].kind->attribute_count; a++)
            for (int c = 0; c < CONDITION_COUNT; c++) {
                struct text text = {0};
                solve_working(rig, i, (int)a, (enum condition)c, &text);
                size_t lines = 0;
                for (size_t k = 0; k < text.length; k++)
                    lines += text.bytes[k] == '\n';
                if (text.length &&
                    (strstr(text.bytes, "nan") || lines > 8 || text.bytes[text.length - 1] != '\n'))
                    fail_msg("%s.%s: %s", rig->parts[i].id, rig->parts[i].kind->attributes[a].name,
                             text.bytes);
                told += text.length > 0;
                text_drop(&text);
            }
    assert_true(told > 50);
}

/* S1: a pipe between two coils gets the heat of the hotter one, whichever is written first. */
static void the_hotter_coil_heats_the_pipe_between(void **state)
{
    (void)state;
    static const double losses[2][2] = {{10.0, 20.0}, {20.0, 10.0}};
    for (int i = 0; i < 2; i++) {
        char text[2048];
        snprintf(text, sizeof text,
                 HEAD "parts:\n%s"
                      "  one: { is: coil, area: 1 m2, bore: 10 mm, length: 9 m, material: copper, "
                      "optical_gain: 0.8, heat_loss: %g W/m2K, height: 1 m }\n"
                      "  two: { is: coil, area: 1 m2, bore: 10 mm, length: 9 m, material: copper, "
                      "optical_gain: 0.8, heat_loss: %g W/m2K, height: 1 m }\n"
                      "cables:\n  - { from: panel, to: pump, area: 2.5 mm2, length: 5 m }\n"
                      "pipes:\n  - { from: drum, to: pump }\n"
                      "  - { from: pump, to: one, bore: 13 mm, length: 3 m, material: hdpe }\n"
                      "  - { id: between, from: one, to: two, bore: 13 mm, length: 1 m, "
                      "material: hdpe }\n"
                      "  - { from: two, to: drum, bore: 13 mm, length: 3 m, material: hdpe }\n",
                 DIRECT, losses[i][0], losses[i][1]);
        assert_near(figure(solve(text), "between.water_temperature_high", CONDITION_STANDSTILL),
                    30.0 + 1000.0 * 0.8 / 10.0, 1e-12);
    }
}

/* V_full/(R_internal + R_run): of two cables at a battery the one of less resistance counts, in
 * whatever order they stand. IEC 60228, class 2: 2.5 mm2 7.41, 1.5 mm2 12.1 ohm/km. */
static void the_best_cable_sets_the_short_circuit(void **state)
{
    (void)state;
    static const char *const areas[2][2] = {{"2.5", "1.5"}, {"1.5", "2.5"}};
    for (int i = 0; i < 2; i++) {
        char text[2048];
        snprintf(text, sizeof text,
                 HEAD "parts:\n"
                      "  battery: { is: battery, chemistry: agm, voltage: 12 V, capacity: 100 Ah, "
                      "internal_resistance: 20 mohm }\n"
                      "  lamp: { is: load, voltage: 12 V, power: 12 W }\n"
                      "  fan: { is: load, voltage: 12 V, power: 6 W }\n"
                      "cables:\n  - { from: battery, to: lamp, area: %s mm2, length: 5 m }\n"
                      "  - { from: battery, to: fan, area: %s mm2, length: 5 m }\n",
                 areas[i][0], areas[i][1]);
        assert_near(figure(solve(text), "battery.short_circuit_current", NOON),
                    12.9 / (0.02 + 10.0 * 7.41e-3), 1e-9);
    }
}

/* A lamp and a pump ask together for more than the converter's 0.76 A, at any voltage: its output
 * lies down, no voltage can be compared, and the first by its id is taken out (the lamp). The pump
 * alone takes 15 W x 0.83 / 20.2 V = 0.62 A. */
static void of_two_at_no_voltage_the_first_stands(void **state)
{
    (void)state;
    struct bench own;
    bench_open(&own);
    const struct rig *rig = bench_solve(
        &own,
        "rigtally: 1\nsite: { air: -4 .. 42 degC, water: 4 .. 36 degC }\nparts:\n"
        "  pump: { is: pump, voltage: 24 V, current: 0.625 A, regulated: yes, start_voltage: 8.87 "
        "V, "
        "max_head: 8 m, max_flow: 999.9 L/h, shutoff_power_share: 0.83 }\n"
        "  panel: { is: panel, vmp: 16.82 V, imp: 12.42 A, voc: 21.25 V, isc: 13.65 A }\n"
        "  lamp: { is: load, voltage: 24 V, power: 8 W, regulated: yes, voltage_range: 18 .. 33.6 "
        "V }\n"
        "  conv: { is: converter, output: 20.3 V, type: step-down, input: 4.37 .. 60 V, "
        "efficiency: 82 "
        "%, max_current: 0.76 A }\n"
        "  hub: { is: junction }\n  tank: { is: tank, height: 0 m, level: 0.75 m, depth: 1.4 m }\n"
        "cables:\n  - { from: panel, to: conv, area: 0.5 mm2, length: 5.6 m }\n"
        "  - { from: conv, to: hub, area: 3 mm2, length: 1.2 m }\n"
        "  - { from: hub, to: pump, area: 1.5 mm2, length: 5.6 m }\n"
        "  - { from: hub, to: lamp, area: 6 mm2, length: 7.3 m }\n"
        "pipes:\n  - { from: tank, to: pump }\n"
        "  - { from: pump, to: tank, bore: 13 mm, material: copper, length: 11 m }\n");
    assert_close(figure(rig, "lamp.amps", CONDITION_DEAD_END), 0.0, 1e-12);
    assert_close(figure(rig, "pump.speed_ratio", CONDITION_DEAD_END), 1.0, 1e-12);
    assert_close(figure(rig, "pump.watts", CONDITION_DEAD_END), 15.0 * 0.83, 1e-9);
    bench_close(&own);
}

/* A valve that rests closed and that nothing opens: the pump turns, but water never comes. */
static void through_a_shut_valve_water_never_comes(void **state)
{
    (void)state;
    struct bench own;
    bench_open(&own);
    const struct rig *rig = bench_solve(
        &own, "rigtally: 1\nsite: { air: 0 .. 33 degC, water: 8 .. 30 degC }\nparts:\n"
              "  pump: { is: pump, voltage: 12 V, power: 8 W, voltage_range: 6 .. 18 V, regulated: "
              "yes, max_head: 3 m, max_flow: 1300 L/h }\n"
              "  panel: { is: panel, vmp: 17 V, imp: 2 A, voc: 21 V, isc: 2.2 A }\n"
              "  tank: { is: tank, height: 0 m, level: 0.7 m, depth: 1.4 m }\n"
              "  valve: { is: valve, rests: closed, kv: 1 m3/h, height: 0.4 m }\n"
              "cables:\n  - { from: panel, to: pump, area: 1.5 mm2, length: 5 m }\n"
              "pipes:\n  - { from: tank, to: pump, bore: 13 mm, length: 1 m, through: [valve] }\n"
              "  - { from: pump, to: tank, bore: 13 mm, length: 3 m, ends: under-water }\n");
    assert_true(figure(rig, "pump.start_sun", CONDITION_BRIGHT_NOON) > 0.0);
    assert_true(isnan(figure(rig, "pump.flow_sun", CONDITION_BRIGHT_NOON)));
    assert_close(figure(rig, "pump.flow", CONDITION_BRIGHT_NOON), 0.0, 1e-15);
    bench_close(&own);
}

/* The suns at which a pump behind a valve in its loop starts, stops and moves water. */
static void suns_behind(const char *valve, double out[3])
{
    struct bench own;
    char text[1200];
    bench_open(&own);
    int length =
        snprintf(text, sizeof text,
                 "rigtally: 1\nsite: { air: 0 .. 33 degC, water: 8 .. 30 degC }\nparts:\n"
                 "  pump: { is: pump, voltage: 24 V, power: 60 W, regulated: yes, max_head: 4 m, "
                 "max_flow: 600 L/h }\n"
                 "  panel: { is: panel, vmp: 18 V, imp: 12 A, voc: 22 V, isc: 12.8 A }\n"
                 "  tank: { is: tank, height: 0 m, level: 0.7 m, depth: 1.4 m }\n"
                 "  valve: { is: valve, rests: closed, energised_by: pump, kv: 2 m3/h, %s }\n"
                 "cables:\n  - { from: panel, to: pump, area: 4 mm2, length: 8 m }\n"
                 "pipes:\n  - { from: tank, to: pump }\n"
                 "  - { from: pump, to: tank, bore: 13 mm, length: 12 m, ends: under-water, "
                 "through: [valve] }\n",
                 valve);
    assert_true(length > 0 && (size_t)length < sizeof text);
    const struct rig *rig = bench_solve(&own, text);
    out[0] = figure(rig, "pump.start_sun", CONDITION_BRIGHT_NOON);
    out[1] = figure(rig, "pump.stop_sun", CONDITION_BRIGHT_NOON);
    out[2] = figure(rig, "pump.flow_sun", CONDITION_BRIGHT_NOON);
    bench_close(&own);
}

/* A regulated pump that runs makes its 4 m, 0.39 bar: a pilot valve that asks for less opens with
 * it as any other does, and one that asks for more never; then the pump turns in less sun, for it
 * works less. */
static void a_pilot_valve_opens_with_its_pump(void **state)
{
    (void)state;
    double plain[3], pilot[3], stiff[3];
    suns_behind("action: direct", plain);
    suns_behind("action: pilot, least_pressure: 0.04 bar", pilot);
    suns_behind("action: pilot, least_pressure: 0.5 bar", stiff);
    for (size_t i = 0; i < 3; i++)
        assert_close(pilot[i], plain[i], 1e-9 * plain[i]);
    assert_true(stiff[0] < plain[0] && stiff[1] < plain[1]);
    assert_true(isnan(stiff[2]));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(tap_behind_a_copper_pipe, open_bench, close_bench),
        cmocka_unit_test_setup_teardown(two_tanks, open_bench, close_bench),
        cmocka_unit_test_setup_teardown(parallel_pipes, open_bench, close_bench),
        cmocka_unit_test_setup_teardown(draining_through_a_hole, open_bench, close_bench),
        cmocka_unit_test_setup_teardown(draining_through_several_valves, open_bench, close_bench),
        cmocka_unit_test_setup_teardown(converter_on_a_panel, open_bench, close_bench),
        cmocka_unit_test_setup_teardown(conditions_of_a_direct_pump, open_bench, close_bench),
        cmocka_unit_test_setup_teardown(water_runs_back_through_a_standing_pump, open_bench,
                                        close_bench),
        cmocka_unit_test_setup_teardown(the_weaker_load_stands, open_bench, close_bench),
        cmocka_unit_test_setup_teardown(pumps_on_one_manifold, open_bench, close_bench),
        cmocka_unit_test_setup_teardown(two_pumps_start_together, open_bench, close_bench),
        cmocka_unit_test_setup_teardown(strings_in_parallel, open_bench, close_bench),
        cmocka_unit_test_setup_teardown(panels_in_series_by_cable, open_bench, close_bench),
        cmocka_unit_test_setup_teardown(battery_feeds_a_pump, open_bench, close_bench),
        cmocka_unit_test_setup_teardown(converter_at_its_limit, open_bench, close_bench),
        cmocka_unit_test_setup_teardown(a_step_up_from_above, open_bench, close_bench),
        cmocka_unit_test_setup_teardown(a_step_up_on_a_panel_starts, open_bench, close_bench),
        cmocka_unit_test_setup_teardown(a_booster_keeps_the_pump_turning, open_bench, close_bench),
        cmocka_unit_test_setup_teardown(controllers_charge_a_battery, open_bench, close_bench),
        cmocka_unit_test_setup_teardown(loops_of_cable_are_refused, open_bench, close_bench),
        cmocka_unit_test_setup_teardown(pilot_valves_need_pressure, open_bench, close_bench),
        cmocka_unit_test_setup_teardown(check_valve_in_a_hose, open_bench, close_bench),
        cmocka_unit_test_setup_teardown(trapped_water, open_bench, close_bench),
        cmocka_unit_test_setup_teardown(a_coil_warms_its_water, open_bench, close_bench),
        cmocka_unit_test_setup_teardown(the_hotter_coil_heats_the_pipe_between, open_bench,
                                        close_bench),
        cmocka_unit_test_setup_teardown(the_best_cable_sets_the_short_circuit, open_bench,
                                        close_bench),
        cmocka_unit_test_setup_teardown(first_water_over_a_lift, open_bench, close_bench),
        cmocka_unit_test_setup_teardown(workings_are_readable, open_bench, close_bench),
        cmocka_unit_test(of_two_at_no_voltage_the_first_stands),
        cmocka_unit_test(through_a_shut_valve_water_never_comes),
        cmocka_unit_test(a_pilot_valve_opens_with_its_pump),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
