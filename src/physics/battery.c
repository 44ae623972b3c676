#include "physics/battery.h"

#include <assert.h>
#include <math.h>
#include <stddef.h>

/* General battery engineering after IEEE 937, 1013, 1361 practice and IEC 62485-2, mostly from
 * memory; resistances and self-discharge are class estimates; that lithium is not charged
 * below 0 degC and the C/20 to C/5 window of lead-acid were found in several documents. */
/* clang-format off */
static const struct battery_class classes[] = {
    { .name = "flooded lead-acid", .chemistry = BATTERY_FLOODED, .cells = 6, .nominal_v = 12,
      .empty_v = 10.5, .load_disconnect_v = 11.8, .rest_full_v = 12.7,
      .absorb_min_v = 14.4, .absorb_max_v = 14.8, .float_min_v = 13.2, .float_max_v = 13.8,
      .equalize_max_v = 15.8, .most_v = 16.0, .comp_v_per_k_cell = -4e-3,
      .depth_recommended = 0.5, .depth_most = 0.8,
      .charge_least_c = 0.05, .charge_recommended_c = 0.1, .charge_most_c = 0.2,
      .discharge_most_c = 0.2,
      .charge_min_degc = -20, .charge_max_degc = 50, .discharge_min_degc = -20,
      .resistance_low_ohm = 5e-3, .resistance_high_ohm = 10e-3,
      .self_discharge_low = 0.04, .self_discharge_high = 0.15 },
    { .name = "AGM lead-acid", .chemistry = BATTERY_AGM, .cells = 6, .nominal_v = 12,
      .empty_v = 10.5, .load_disconnect_v = 11.8, .rest_full_v = 12.9,
      .absorb_min_v = 14.4, .absorb_max_v = 14.7, .float_min_v = 13.5, .float_max_v = 13.8,
      .equalize_max_v = NAN, .most_v = 15.0, .comp_v_per_k_cell = -3e-3,
      .depth_recommended = 0.5, .depth_most = 0.8,
      .charge_least_c = 0.05, .charge_recommended_c = 0.2, .charge_most_c = 0.3,
      .discharge_most_c = 0.5,
      .charge_min_degc = -20, .charge_max_degc = 50, .discharge_min_degc = -20,
      .resistance_low_ohm = 3e-3, .resistance_high_ohm = 6e-3,
      .self_discharge_low = 0.01, .self_discharge_high = 0.03 },
    { .name = "gel lead-acid", .chemistry = BATTERY_GEL, .cells = 6, .nominal_v = 12,
      .empty_v = 10.5, .load_disconnect_v = 11.8, .rest_full_v = 12.9,
      .absorb_min_v = 14.1, .absorb_max_v = 14.4, .float_min_v = 13.5, .float_max_v = 13.8,
      .equalize_max_v = NAN, .most_v = 14.4, .comp_v_per_k_cell = -3e-3,
      .depth_recommended = 0.5, .depth_most = 0.8,
      .charge_least_c = 0.05, .charge_recommended_c = 0.15, .charge_most_c = 0.25,
      .discharge_most_c = 0.3,
      .charge_min_degc = -20, .charge_max_degc = 50, .discharge_min_degc = -20,
      .resistance_low_ohm = 5e-3, .resistance_high_ohm = 9e-3,
      .self_discharge_low = 0.02, .self_discharge_high = 0.03 },
    { .name = "lithium iron phosphate", .chemistry = BATTERY_LIFEPO4, .cells = 4,
      .nominal_v = 12.8,
      .empty_v = 10.0, .load_disconnect_v = 11.6, .rest_full_v = 13.4,
      .absorb_min_v = 14.0, .absorb_max_v = 14.6, .float_min_v = 13.4, .float_max_v = 13.6,
      .equalize_max_v = NAN, .most_v = 14.6, .comp_v_per_k_cell = 0,
      .depth_recommended = 0.8, .depth_most = 0.95,
      .charge_least_c = NAN, .charge_recommended_c = 0.2, .charge_most_c = 0.5,
      .discharge_most_c = 1.0,
      .charge_min_degc = 0, .charge_max_degc = 45, .discharge_min_degc = -20,
      .resistance_low_ohm = 4e-3, .resistance_high_ohm = 10e-3,
      .self_discharge_low = 0.02, .self_discharge_high = 0.03 },
    { .name = "lithium nmc, three cells", .chemistry = BATTERY_NMC, .cells = 3,
      .nominal_v = 10.95,
      .empty_v = 9.0, .load_disconnect_v = 9.9, .rest_full_v = 12.5,
      .absorb_min_v = 12.45, .absorb_max_v = 12.6, .float_min_v = NAN, .float_max_v = NAN,
      .equalize_max_v = NAN, .most_v = 12.6, .comp_v_per_k_cell = 0,
      .depth_recommended = 0.8, .depth_most = 0.9,
      .charge_least_c = NAN, .charge_recommended_c = 0.3, .charge_most_c = 0.5,
      .discharge_most_c = 1.0,
      .charge_min_degc = 0, .charge_max_degc = 45, .discharge_min_degc = -20,
      .resistance_low_ohm = 6e-3, .resistance_high_ohm = 15e-3,
      .self_discharge_low = 0.02, .self_discharge_high = 0.05 },
    { .name = "lithium nmc, four cells", .chemistry = BATTERY_NMC, .cells = 4,
      .nominal_v = 14.6,
      .empty_v = 12.0, .load_disconnect_v = 13.2, .rest_full_v = 16.6,
      .absorb_min_v = 16.6, .absorb_max_v = 16.8, .float_min_v = NAN, .float_max_v = NAN,
      .equalize_max_v = NAN, .most_v = 16.8, .comp_v_per_k_cell = 0,
      .depth_recommended = 0.8, .depth_most = 0.9,
      .charge_least_c = NAN, .charge_recommended_c = 0.3, .charge_most_c = 0.5,
      .discharge_most_c = 1.0,
      .charge_min_degc = 0, .charge_max_degc = 45, .discharge_min_degc = -20,
      .resistance_low_ohm = 6e-3, .resistance_high_ohm = 15e-3,
      .self_discharge_low = 0.02, .self_discharge_high = 0.05 },
};
/* clang-format on */

/* Sizing multiplier of lead-acid against cold, warm to cold. Printed alike in an
 * independent blog and an inverter manual of 2015. */
static const struct {
    double degc;
    double multiplier;
} cold[] = {
    {26.7, 1.0}, {21.1, 1.04}, {15.6, 1.11}, {10.0, 1.19}, {4.4, 1.3}, {-1.1, 1.4}, {-6.7, 1.59},
};

const struct battery_class *battery_class_of(enum battery_chemistry chemistry, double voltage_v)
{
    size_t row = 0;
    while (classes[row].chemistry != chemistry) {
        row++;
        assert(row < sizeof classes / sizeof *classes);
    }
    if (chemistry == BATTERY_NMC &&
        !(fabs(voltage_v - classes[row].nominal_v) < fabs(voltage_v - classes[row + 1].nominal_v)))
        row++;
    return &classes[row];
}

/* What to multiply a class's voltage by for the bank. */
static double bank_scale(const struct battery *battery, const struct battery_class *class)
{
    return battery->voltage_v / class->nominal_v * battery->series;
}

double battery_full_v(const struct battery *battery)
{
    const struct battery_class *class = battery_class_of(battery->chemistry, battery->voltage_v);
    return class->rest_full_v * bank_scale(battery, class);
}

double battery_disconnect_v(const struct battery *battery)
{
    const struct battery_class *class = battery_class_of(battery->chemistry, battery->voltage_v);
    return class->load_disconnect_v * bank_scale(battery, class);
}

double battery_charge_v(const struct battery *battery)
{
    const struct battery_class *class = battery_class_of(battery->chemistry, battery->voltage_v);
    return class->absorb_max_v * bank_scale(battery, class);
}

double battery_empty_v(const struct battery *battery)
{
    const struct battery_class *class = battery_class_of(battery->chemistry, battery->voltage_v);
    return class->empty_v * bank_scale(battery, class);
}

double battery_open_v(const struct battery *battery, double charge, double *per_charge)
{
    double empty_v = battery_disconnect_v(battery);
    double span_v = battery_full_v(battery) - empty_v;
    if (per_charge)
        *per_charge = charge >= 0.0 && charge <= 1.0 ? span_v : 0.0;
    return empty_v + span_v * fmin(fmax(charge, 0.0), 1.0);
}

double battery_resistance_ohm(const struct battery *battery)
{
    double one_ohm = battery->resistance_ohm;
    if (isnan(one_ohm)) {
        const struct battery_class *class =
            battery_class_of(battery->chemistry, battery->voltage_v);
        double middle_ohm = 0.5 * (class->resistance_low_ohm + class->resistance_high_ohm);
        one_ohm =
            middle_ohm * (100.0 * 3600.0 / battery->capacity_as) * (battery->voltage_v / 12.0);
    }
    return one_ohm * battery->series / battery->parallel;
}

double battery_short_a(const struct battery *battery, double run_ohm)
{
    return battery_full_v(battery) / (battery_resistance_ohm(battery) + run_ohm);
}

static bool is_lead_acid(enum battery_chemistry chemistry)
{
    return chemistry == BATTERY_FLOODED || chemistry == BATTERY_AGM || chemistry == BATTERY_GEL;
}

double battery_cold_multiplier(enum battery_chemistry chemistry, double battery_degc)
{
    const int last = (int)(sizeof cold / sizeof *cold) - 1;
    if (!is_lead_acid(chemistry) || battery_degc >= cold[0].degc)
        return 1.0;
    for (int i = 0; i < last; i++)
        if (battery_degc >= cold[i + 1].degc) {
            double place = (battery_degc - cold[i].degc) / (cold[i + 1].degc - cold[i].degc);
            return cold[i].multiplier + place * (cold[i + 1].multiplier - cold[i].multiplier);
        }
    return cold[last].multiplier;
}

double battery_usable_j(const struct battery *battery, double depth, double cold_multiplier)
{
    return battery->voltage_v * battery->capacity_as * depth / cold_multiplier * battery->series *
           battery->parallel;
}

struct source battery_source(const struct battery *battery, double open_v)
{
    return (struct source){open_v, battery_resistance_ohm(battery)};
}
