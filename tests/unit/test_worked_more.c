/* test_worked_more.c - worked examples of books and courses that no other test takes: a
 * control wire, a module in the cold, a source circuit, a deep-well pump, a field of modules for a
 * motor, a glass tube whose pump has failed. */
#include "check.h"

#include "physics/ampacity.h"
#include "physics/collector.h"
#include "physics/conductor.h"
#include "physics/pump.h"
#include "physics/pv.h"

#define FOOT_M 0.3048
#define GALLON_PER_MIN_M3S 6.30902e-5

/* A code-training course (electrician2.com, lesson 135; NFPA 70 chapter 9, table 8): AWG 16,
 * stranded, 100 ft one way, 4 A, 24 V: 4.0 V, 16.7 %; 3.992 V with the table's 4.99 ohm/1000 ft at
 * 75 degC. Our gauge is the computed area, within the 1 % by which tables differ. */
static void control_wire(void **state)
{
    (void)state;
    const struct conductor_wire wire = {.area_m2 = conductor_gauge_area_m2(16.0), .gauged = true};
    double loop = conductor_loop_ohm(conductor_r20_ohm_per_m(&wire), 100.0 * FOOT_M, 1.0);
    double warm = conductor_at_temperature(loop, conductor_coefficient_per_k(wire.metal), 75.0);
    assert_close(4.0 * warm, 4.0, 0.05);
    assert_near(4.0 * warm, 3.992, 0.01);
    assert_close(100.0 * 4.0 * warm / 24.0, 16.7, 0.2);
}

/* A quiz of a certification course (NABCEP review, set 4): 49.0 V, -0.24 %/K, -7.2 degC: 52.79 V;
 * by the table 1.14 x 49.0 = 55.86 V. The rest of the label is made up
 * around it; ours is the larger of the coefficient's and the model's, and so lies between. */
static void module_in_the_cold(void **state)
{
    (void)state;
    struct pv_label label = pv_label_blank();
    label.voc_v = 49.0;
    label.isc_a = 10.0;
    label.vmp_v = 41.0;
    label.imp_a = 9.4;
    label.voc_pct_per_k = -0.24;
    struct pv_fit fit = pv_fit(&label);
    double cold_v = pv_cold_open_voltage(&fit, -7.2, 1.0);
    assert_true(cold_v > 52.79 - 0.005);
    assert_true(cold_v < 49.0 * pv_cold_voltage_factor(-7.2));
    assert_close(49.0 * pv_cold_voltage_factor(-7.2), 55.86, 0.005);
}

/* Wiles, Photovoltaic Power Systems and the National Electrical Code, appendix E, example 1
 * (recalled): four panels of 3.8 A on a pump: 19.0 A, then 23.75 A for the wire. AWG 10 of 90 degC
 * in conduit carries 40 A, at 61 to 70 degC 0.58 of it: 23.2 A, which just does not do. */
static void source_circuit(void **state)
{
    (void)state;
    assert_close(ampacity_panel_design_a(AMPACITY_IEC, 3.8, 4), 19.0, 1e-9);
    double wanted_a = ampacity_panel_design_a(AMPACITY_NORTH_AMERICA, 3.8, 4);
    assert_close(wanted_a, 23.75, 1e-9);
    const struct ampacity_wire wire = {
        .practice = AMPACITY_NORTH_AMERICA,
        .wire = {.area_m2 = conductor_gauge_area_m2(10.0), .gauged = true},
        .laid = AMPACITY_LAID_IN_CONDUIT,
        .insulation_degc = 90.0,
        .grouped = 1,
        .count = 1};
    struct ampacity found = ampacity_find(&wire, 70.0);
    assert_true(found.known);
    assert_close(found.base_a, 40.0, 0.0);
    assert_close(found.amps, 23.2, 0.05);
    assert_true(found.amps < wanted_a);
}

/* After Masters, Renewable and Efficient Electric Power Systems, equations 9.59 to 9.63 (a page of
 * solutions): 170 ft, 4.1 gal/min, pump efficiency 0.34: 386 W; strings of three modules at 15 V
 * and 5.9 A derated by 0.80: 1.8 of them. */
static void deep_well_pump(void **state)
{
    (void)state;
    double watts = pump_water_power_w(4.1 * GALLON_PER_MIN_M3S, 170.0 * FOOT_M, 998.0) / 0.34;
    assert_close(watts, 386.0, 0.8);
    assert_close(pump_efficiency(4.1 * GALLON_PER_MIN_M3S, 170.0 * FOOT_M, 998.0, 386.4), 0.34,
                 0.001);
    assert_close(watts / (3.0 * 15.0 * 5.9 * 0.80), 1.8, 0.05);
}

/* B. H. Khan, Non-Conventional Energy Resources, 2nd ed 2009, example 6.3, p 182: a motor of 735 W
 * at 85 %, modules of 36 cells of 125 mm square at 12 % and 1000 W/m2: 13 of them, 12.81 before
 * they are whole. A label of that module has the efficiency that the book begins with. */
static void modules_for_a_motor(void **state)
{
    (void)state;
    double area_m2 = 36.0 * 0.125 * 0.125, volts = 17.9, amps = 0.12 * 1000.0 * area_m2 / volts;
    double efficiency = pv_efficiency(volts, amps, area_m2, PV_MONO);
    assert_close(efficiency, 0.12, 1e-12);
    double modules = 735.0 / 0.85 / (1000.0 * area_m2 * efficiency);
    assert_close(modules, 12.8105, 5e-5);
    assert_close(ceil(modules), 13.0, 0.0);
}

/* Cengel, Heat and Mass Transfer: A Practical Approach, 3rd ed 2006, example 9-6: a 50 mm tube in a
 * 100 mm glass tube takes in 30 W a metre in air of 20 degC and its pump fails: 82 degC without
 * radiation. Ours is a straight line, and cautious: with the loss that is assumed of a glass cover
 * (7 W/m2K, optical gain 0.7) the tube gets hotter than that, and not by more than four tenths of
 * its rise. */
static void glass_tube_without_flow(void **state)
{
    (void)state;
    const struct collector tube = {
        .area_m2 = 0.050 * 1.0, .optical_gain = 0.7, .loss_w_m2k = 7.0, .test_kg_m2s = NAN};
    double sun_w_m2 = 30.0 / (tube.area_m2 * tube.optical_gain);
    double hot = collector_standstill_degc(&tube, sun_w_m2, 20.0);
    assert_true(hot >= 82.0);
    assert_true(hot - 20.0 <= 1.4 * (82.0 - 20.0));
    /* and with the loss that the book's own figures come to, it is the book's temperature */
    struct collector measured = tube;
    measured.loss_w_m2k = 30.0 / tube.area_m2 / (82.9496 - 20.0);
    assert_close(collector_standstill_degc(&measured, sun_w_m2, 20.0), 82.0, 1.0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(control_wire),        cmocka_unit_test(module_in_the_cold),
        cmocka_unit_test(source_circuit),      cmocka_unit_test(deep_well_pump),
        cmocka_unit_test(modules_for_a_motor), cmocka_unit_test(glass_tube_without_flow),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
