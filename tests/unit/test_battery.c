/* Batteries and supplies: the table of chemistries, banks, cold, autonomy sums. */
#include "physics/battery.h"

#include "check.h"
#include "csv.h"

static struct battery battery_of(enum battery_chemistry chemistry, double voltage_v, double ah)
{
    return (struct battery){chemistry, voltage_v, ah * 3600.0, NAN, 1.0, 1.0};
}

static double usable_wh(double voltage_v, double ah, double depth, double multiplier)
{
    struct battery battery = battery_of(BATTERY_FLOODED, voltage_v, ah);
    return battery_usable_j(&battery, depth, multiplier) / 3600.0;
}

static enum battery_chemistry chemistry_of(const char *name)
{
    static const char *const starts[BATTERY_CHEMISTRY_COUNT] = {
        "flooded", "agm", "gel", "lifepo4", "liion_nmc",
    };
    for (int i = 0; i < BATTERY_CHEMISTRY_COUNT; i++)
        if (!strncmp(name, starts[i], strlen(starts[i])))
            return (enum battery_chemistry)i;
    fail();
    return BATTERY_FLOODED;
}

static void check_cell(const struct csv *csv, const char *column, double got, double scale)
{
    double want = csv_number(csv, column) * scale;
    if (isnan(want))
        assert_true(isnan(got));
    else
        assert_near(got, want, 1e-12);
}

static void all_chemistries(void **state)
{
    (void)state;
    struct csv csv;
    if (!csv_open(&csv, "battery.csv"))
        return;
    while (csv_next(&csv)) {
        const struct battery_class *c = battery_class_of(chemistry_of(csv_text(&csv, "chemistry")),
                                                         csv_number(&csv, "pack_nominal_V"));
        check_cell(&csv, "cells_for_12V_class", c->cells, 1);
        check_cell(&csv, "pack_nominal_V", c->nominal_v, 1);
        check_cell(&csv, "pack_empty_cutoff_V", c->empty_v, 1);
        check_cell(&csv, "load_disconnect_V", c->load_disconnect_v, 1);
        check_cell(&csv, "pack_rest_full_V", c->rest_full_v, 1);
        check_cell(&csv, "absorb_min_V", c->absorb_min_v, 1);
        check_cell(&csv, "absorb_max_V", c->absorb_max_v, 1);
        check_cell(&csv, "float_min_V", c->float_min_v, 1);
        check_cell(&csv, "float_max_V", c->float_max_v, 1);
        check_cell(&csv, "equalize_max_V", c->equalize_max_v, 1);
        check_cell(&csv, "pack_abs_max_V", c->most_v, 1);
        check_cell(&csv, "temp_comp_mV_per_K_per_cell", c->comp_v_per_k_cell, 1e-3);
        check_cell(&csv, "dod_recommended_pct", c->depth_recommended, 0.01);
        check_cell(&csv, "dod_max_pct", c->depth_most, 0.01);
        check_cell(&csv, "charge_rate_min_C", c->charge_least_c, 1);
        check_cell(&csv, "charge_rate_recommended_C", c->charge_recommended_c, 1);
        check_cell(&csv, "charge_rate_max_C", c->charge_most_c, 1);
        check_cell(&csv, "discharge_rate_continuous_C", c->discharge_most_c, 1);
        check_cell(&csv, "charge_temp_min_C", c->charge_min_degc, 1);
        check_cell(&csv, "charge_temp_max_C", c->charge_max_degc, 1);
        check_cell(&csv, "discharge_temp_min_C", c->discharge_min_degc, 1);
        check_cell(&csv, "r_internal_12V_100Ah_low_mohm", c->resistance_low_ohm, 1e-3);
        check_cell(&csv, "r_internal_12V_100Ah_high_mohm", c->resistance_high_ohm, 1e-3);
        check_cell(&csv, "self_discharge_low_pct_per_month_25C", c->self_discharge_low, 0.01);
        check_cell(&csv, "self_discharge_high_pct_per_month_25C", c->self_discharge_high, 0.01);
    }
    assert_int_equal(csv.rows, 6);
}

static void nmc_of_three_or_four_cells(void **state)
{
    (void)state;
    assert_int_equal(battery_class_of(BATTERY_NMC, 11.1)->cells, 3);
    assert_int_equal(battery_class_of(BATTERY_NMC, 12.77)->cells, 3);
    assert_int_equal(battery_class_of(BATTERY_NMC, 12.78)->cells, 4);
    assert_int_equal(battery_class_of(BATTERY_NMC, 14.8)->cells, 4);
}

/* Rest full, load disconnect, highest absorption (IEEE 937, 1013, 1361 practice; memory):
 * flooded 12.7, 11.8, 14.8 V; lithium iron phosphate 13.4, 11.6, 14.6 V of 12.8 V. */
static void voltages_of_banks(void **state)
{
    (void)state;
    struct battery battery = battery_of(BATTERY_FLOODED, 12, 100);
    assert_near(battery_full_v(&battery), 12.7, 1e-12);
    assert_near(battery_disconnect_v(&battery), 11.8, 1e-12);
    assert_near(battery_charge_v(&battery), 14.8, 1e-12);
    assert_near(battery_empty_v(&battery), 10.5, 1e-12);
    battery.voltage_v = 6; /* four of 6 V in series: a 24 V bank */
    battery.series = 4;
    assert_near(battery_full_v(&battery), 25.4, 1e-12);
    battery = battery_of(BATTERY_LIFEPO4, 12.8, 100);
    battery.series = 2;
    assert_near(battery_charge_v(&battery), 29.2, 1e-12);
    assert_near(battery_disconnect_v(&battery), 23.2, 1e-12);
    battery = battery_of(BATTERY_LIFEPO4, 25.6, 100);
    assert_near(battery_full_v(&battery), 26.8, 1e-12);
}

static void open_voltage_over_charge(void **state)
{
    (void)state;
    struct battery battery = battery_of(BATTERY_AGM, 12, 100);
    double slope;
    assert_near(battery_open_v(&battery, 1.0, NULL), 12.9, 1e-12);
    assert_near(battery_open_v(&battery, 0.0, NULL), 11.8, 1e-12);
    assert_near(battery_open_v(&battery, 0.5, &slope), 12.35, 1e-12);
    assert_near(slope, 1.1, 1e-12);
    assert_near(battery_open_v(&battery, 1.2, &slope), 12.9, 1e-12);
    assert_close(slope, 0.0, 0);
    assert_near(battery_open_v(&battery, -0.2, NULL), 11.8, 1e-12);
}

/* Class estimate, by hand: flooded (5 + 10)/2 = 7.5 mohm at 12 V, 100 Ah; 200 Ah halve it, 6 V
 * halve it again; four in series, two strings double it. */
static void internal_resistance(void **state)
{
    (void)state;
    struct battery battery = battery_of(BATTERY_FLOODED, 12, 100);
    assert_near(battery_resistance_ohm(&battery), 7.5e-3, 1e-12);
    battery = battery_of(BATTERY_FLOODED, 6, 200);
    assert_near(battery_resistance_ohm(&battery), 1.875e-3, 1e-12);
    battery.series = 4;
    battery.parallel = 2;
    assert_near(battery_resistance_ohm(&battery), 3.75e-3, 1e-12);
    battery.resistance_ohm = 5e-3; /* a data sheet wins */
    assert_near(battery_resistance_ohm(&battery), 10e-3, 1e-12);
}

/* I = V_oc/(R_i + R_cable): a 5 mohm battery at 12.8 V gives 2560 A, more than the 1000 A that
 * ISO 8820-3 blade fuses break. 13.4 V when full: 2680 A. */
static void short_circuit(void **state)
{
    (void)state;
    struct battery battery = battery_of(BATTERY_LIFEPO4, 12.8, 100);
    battery.resistance_ohm = 5e-3;
    assert_near(battery_short_a(&battery, 0.0), 2680, 1e-12);
    assert_near(battery_short_a(&battery, 0.0) * 12.8 / battery_full_v(&battery), 2560, 1e-12);
    assert_near(battery_short_a(&battery, 15e-3), 670, 1e-12);
}

static void cold(void **state)
{
    (void)state;
    struct csv csv;
    if (csv_open(&csv, "battery_temp_factor.csv"))
        while (csv_next(&csv))
            assert_near(battery_cold_multiplier(BATTERY_GEL, csv_number(&csv, "battery_temp_C")),
                        csv_number(&csv, "capacity_multiplier_for_sizing"), 1e-12);
    static const struct {
        double degc, multiplier;
    } between[] = {
        {40, 1},      {26.7, 1},    {23.9, 1.02}, {10, 1.19},
        {7.2, 1.245}, {1.65, 1.35}, {-6.7, 1.59}, {-30, 1.59},
    };
    for (size_t i = 0; i < sizeof between / sizeof *between; i++) {
        assert_near(battery_cold_multiplier(BATTERY_FLOODED, between[i].degc),
                    between[i].multiplier, 1e-12);
        assert_close(battery_cold_multiplier(BATTERY_LIFEPO4, between[i].degc), 1.0, 0);
        assert_close(battery_cold_multiplier(BATTERY_NMC, between[i].degc), 1.0, 0);
    }
}

/* A blog's "simplified IEEE method": 1000 Wh a day, 2.5 days, half depth, 40 degF (1.30), 12 V:
 * 6500 Wh, so 541.667 Ah; its quick rule without cold: 416.66 Ah. The bank must yield 2500 Wh. */
static void autonomy_of_2_5_days(void **state)
{
    (void)state;
    double multiplier = battery_cold_multiplier(BATTERY_FLOODED, 4.4);
    assert_near(usable_wh(12, 6500.0 / 12, 0.5, multiplier), 2500, 1e-12);
    assert_close(usable_wh(12, 416.66, 0.5, 1.0), 2500, 0.06);
}

/* "Size of battery bank": 460 W for 7 h, 0.80, 12 V 200 Ah batteries: 1.68 of them.
 * "How to size the battery": 380 W for 4 h, factor 0.648, 12 V: 195.5 Ah. */
static void banks_for_a_house(void **state)
{
    (void)state;
    assert_close(460.0 * 7.0 / usable_wh(12, 200, 0.8, 1.0), 1.68, 5e-3);
    assert_close(380.0 * 4.0 / usable_wh(12, 1, 0.648, 1.0), 195.5, 0.05);
}

/* Masters, Renewable and Efficient Electric Power Systems, ch. 9 (recalled): cabin of 3000 Wh
 * a day through an inverter of 0.85, 24 V, 4.6 days, depth 0.80, factor 0.97: 871 Ah. Two
 * strings of four 6 V batteries of half that are the same bank. */
static void cabin(void **state)
{
    (void)state;
    double need_wh = 3000.0 / 0.85 * 4.6;
    assert_close(need_wh / usable_wh(24, 1, 0.8, 1.0 / 0.97), 871, 1.0);
    struct battery bank = battery_of(BATTERY_FLOODED, 6, 0.5 * 871);
    bank.series = 4;
    bank.parallel = 2;
    assert_close(battery_usable_j(&bank, 0.8, 1.0 / 0.97) / 3600.0, need_wh, 20.0);
}

static void sources(void **state)
{
    (void)state;
    struct battery battery = battery_of(BATTERY_AGM, 12, 50);
    battery.resistance_ohm = 0.02;
    struct source source = battery_source(&battery, battery_full_v(&battery));
    double per_volt;
    assert_near(source_v(source, 10.0), 12.7, 1e-12);
    assert_near(source_a(source, 12.7, &per_volt), 10.0, 1e-12);
    assert_near(per_volt, -50.0, 1e-12);
    assert_near(source_a(source, 13.0, NULL), -5.0, 1e-12); /* charging */
    source = source_from_supply(24.0);
    assert_close(source_v(source, 1000.0), 24.0, 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(all_chemistries),
        cmocka_unit_test(nmc_of_three_or_four_cells),
        cmocka_unit_test(voltages_of_banks),
        cmocka_unit_test(open_voltage_over_charge),
        cmocka_unit_test(internal_resistance),
        cmocka_unit_test(short_circuit),
        cmocka_unit_test(cold),
        cmocka_unit_test(autonomy_of_2_5_days),
        cmocka_unit_test(banks_for_a_house),
        cmocka_unit_test(cabin),
        cmocka_unit_test(sources),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
