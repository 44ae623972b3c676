/* explain.c - the physics' own working of a solved value: a few lines that a person can follow
 * with a pocket calculator, from figures of the rig and other solved values. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "physics/collector.h"
#include "physics/npsh.h"
#include "physics/pipe.h"
#include "physics/roughness.h"
#include "physics/valve.h"
#include "solve/circuit.h"
#include "solve/condition.h"
#include "solve/later.h"
#include "solve/solve.h"
#include "solve/whole.h"

enum { SLOTS = 12 };

struct telling {
    const struct rig *rig;
    const struct part *part;
    size_t index;
    enum condition condition;
    struct text *out;
    double value;
    char slot[SLOTS][FIGURE_ROOM]; /* numbers being written: used in turn within one line */
    int next;
};

/* ---- Numbers ---- */

/* An SI figure in a unit by its name; `customary`: NULL but where the trade writes another there.
 */
static const char *print_or(struct telling *t, double si, const char *unit, const char *customary)
{
    return figure_tell(t->slot[t->next++ % SLOTS], si, unit, customary, rig_units(t->rig));
}

static const char *print(struct telling *t, double si, const char *unit)
{
    return print_or(t, si, unit, NULL);
}

/* Its number alone. */
static const char *bare_or(struct telling *t, double si, const char *unit, const char *customary)
{
    return figure_bare(t->slot[t->next++ % SLOTS], si, unit, customary, rig_units(t->rig));
}

static bool is_customary(const struct telling *t)
{
    return rig_units(t->rig) == UNITS_CUSTOMARY;
}

/* SI value of one of a unit. */
static double one(const char *unit)
{
    struct unit found;
    bool known = unit_find(unit, strlen(unit), &found);
    return known ? found.scale : NAN;
}

static const char *plain(struct telling *t, double value)
{
    return print(t, value, "");
}
static const char *volts(struct telling *t, double value)
{
    return print(t, value, "V");
}
static const char *amps(struct telling *t, double value)
{
    return print(t, value, "A");
}
static const char *watts(struct telling *t, double value)
{
    return print(t, value, "W");
}
static const char *heat(struct telling *t, double value)
{
    return print_or(t, value, "W", "BTU/h");
}
/* Heads, and lengths that are reckoned with beside them. */
static const char *metres(struct telling *t, double value)
{
    return print_or(t, value, "m", "ft");
}
static const char *across(struct telling *t, double value)
{
    return print(t, value, "mm");
}
static const char *litres(struct telling *t, double value)
{
    return print(t, value, "L/h");
}
static const char *degrees(struct telling *t, double value)
{
    return print(t, value, "degC");
}
/* Of conductors, everywhere: their tables are in degC. */
static const char *celsius(struct telling *t, double value)
{
    return print_or(t, value, "degC", "degC");
}
static const char *sun(struct telling *t, double value)
{
    return print(t, value, "W/m2");
}
static const char *bars(struct telling *t, double value)
{
    return print(t, value, "bar");
}
static const char *ohms(struct telling *t, double value)
{
    return print(t, value, "mohm");
}

static double solved_of(const struct part *part, const char *name, enum condition condition)
{
    const struct part_value *value = part_value(part, name);
    if (!value || !value->solved)
        return NAN;
    bool once = part->kind->attributes[value - part->values].solved == SOLVED_ONCE;
    return value->solved[once ? 0 : (size_t)condition];
}

static double now(const struct telling *t, const char *name)
{
    return solved_of(t->part, name, t->condition);
}

static double given(const struct telling *t, const char *name)
{
    return part_number(t->part, name);
}

static const struct part *site(const struct telling *t)
{
    return &t->rig->parts[t->rig->site];
}

static double air(const struct telling *t)
{
    return solved_of(site(t), "air_now", t->condition);
}

static double water_degc(const struct telling *t)
{
    struct weather weather = condition_weather(t->rig);
    double low = weather.air_low, high = weather.air_high;
    double place = high > low ? (air(t) - low) / (high - low) : 1.0;
    return weather.water_low + place * (weather.water_high - weather.water_low);
}

/* The first cable at the part, and the part at its other end. */
static const struct part *cable_at(const struct telling *t, bool to_it, const struct part **other)
{
    for (size_t i = 0; i < t->rig->part_count; i++) {
        const struct part *run = &t->rig->parts[i];
        if (!part_of_kind(run, "cable") || run->from >= t->rig->part_count ||
            run->to >= t->rig->part_count || (to_it ? run->to : run->from) != t->index)
            continue;
        *other = &t->rig->parts[to_it ? run->from : run->to];
        return run;
    }
    return NULL;
}

/* ---- Panels ---- */

static void tell_cell_temperature(struct telling *t)
{
    double sun_now = solved_of(site(t), "sun_now", t->condition);
    if (t->value == air(t)) {
        text_print(t->out, "cells as cold as the air: %s\n", degrees(t, t->value));
        return;
    }
    struct pv_label label = circuit_label(t->part);
    struct pv_fit fit = pv_fit(&label);
    double noct = given(t, "noct");
    double share = pv_efficiency(fit.vmp_v, fit.imp_a, given(t, "area"), fit.technology);
    double heating_sun = t->condition == CONDITION_CLOUD_EDGE ? 1000.0 : sun_now;
    const char *scale = is_customary(t) ? "1.8 x " : ""; /* NOCT is in degC */
    text_print(t->out,
               "air + %s(NOCT - 20)/800 x sun x (1 - efficiency/0.9) = %s + %s(%s - 20)/800 x %s x "
               "(1 - %s/0.9)\n",
               scale, degrees(t, air(t)), scale, plain(t, noct), plain(t, heating_sun),
               plain(t, share));
    if (t->condition == CONDITION_CLOUD_EDGE)
        text_add(t->out,
                 "the flash at a cloud's edge is over before the cells warm up: as at 1000 W/m2\n");
    text_print(t->out, "= %s\n", degrees(t, t->value));
}

static void tell_fit(struct telling *t)
{
    static const char *const levels[] = {"no",
                                         "its own temperature coefficient of power",
                                         "its temperature coefficient of voltage",
                                         "the usual coefficient of its technology",
                                         "the usual coefficient of crystalline panels",
                                         "usual figures for what the label does not say"};
    struct pv_label label = circuit_label(t->part);
    struct pv_fit fit = pv_fit(&label);
    if (fit.refused)
        return;
    text_print(t->out, "one-diode model through the label: %s and %s at best, %s open, %s short; ",
               volts(t, fit.vmp_v), amps(t, fit.imp_a), volts(t, fit.voc_v), amps(t, fit.isc_a));
    text_print(t->out, "with %s\n", levels[fit.level]);
}

static void tell_wired(struct telling *t)
{
    double series = part_number_or(t->part, "series", 1.0);
    double parallel =
        part_number_or(t->part, "parallel", 1.0) * part_number_or(t->part, "count", 1.0);
    if (series > 1.0 || parallel > 1.0)
        text_print(t->out, "wired: %s in series, %s in parallel\n", plain(t, series),
                   plain(t, parallel));
}

static void tell_sun_on_panel(struct telling *t)
{
    double sun_now = solved_of(site(t), "sun_now", t->condition);
    text_print(t->out, "at %s with cells at %s", sun(t, sun_now),
               degrees(t, now(t, "cell_temperature")));
    if (t->condition == CONDITION_WEAK_SUN)
        text_print(t->out, ", less what real panels lose in weak sun: x %s",
                   plain(t, pv_weak_sun_share(part_number(t->part, "weak_sun_loss"), sun_now)));
    text_add(t->out, "\n");
}

static void tell_best_power(struct telling *t)
{
    tell_fit(t);
    tell_sun_on_panel(t);
    tell_wired(t);
    text_print(t->out, "best point %s x %s = %s\n", volts(t, now(t, "mpp_voltage")),
               amps(t, now(t, "mpp_current")), watts(t, now(t, "mpp_power")));
}

static void tell_short_current(struct telling *t)
{
    tell_sun_on_panel(t);
    tell_wired(t);
    text_print(t->out, "short-circuit current of the label carried over to there: %s\n",
               amps(t, t->value));
}

static void tell_open_voltage(struct telling *t)
{
    struct pv_label label = circuit_label(t->part);
    struct pv_fit fit = pv_fit(&label);
    double series = part_number_or(t->part, "series", 1.0);
    if (fit.refused)
        return;
    tell_sun_on_panel(t);
    if (t->condition != CONDITION_COLD_DAWN) {
        tell_wired(t);
        text_print(t->out, "the model gives no current at %s\n", volts(t, t->value));
        return;
    }
    struct pv_cell cell = pv_translate(&fit, 1000.0, air(t));
    text_print(t->out, "the model: %s\n", volts(t, series * pv_open_voltage(&cell)));
    if (!isnan(fit.voc_pct_per_k))
        text_print(
            t->out, "by its coefficient: %s x (1 + %s %%/K x (%s - %s)%s) = %s\n",
            volts(t, series * fit.voc_v), plain(t, fit.voc_pct_per_k),
            bare_or(t, air(t), "degC", NULL), bare_or(t, 25.0, "degC", NULL),
            is_customary(t) ? "/1.8" : "",
            volts(t, series * fit.voc_v * (1.0 + fit.voc_pct_per_k / 100.0 * (air(t) - 25.0))));
    else
        text_print(t->out, "without a coefficient: %s x %s of the wiring code's table = %s\n",
                   volts(t, series * fit.voc_v), plain(t, pv_cold_voltage_factor(air(t))),
                   volts(t, series * fit.voc_v * pv_cold_voltage_factor(air(t))));
    text_print(t->out, "the larger: %s\n", volts(t, t->value));
}

static void tell_panel_point(struct telling *t)
{
    double open = now(t, "open_voltage");
    if (t->condition == CONDITION_COLD_DAWN) {
        text_print(t->out, "lit, cold and unloaded: %s\n", volts(t, now(t, "volts")));
        return;
    }
    text_print(t->out,
               "from no current at %s down to what its loads take: they meet at %s and %s\n",
               volts(t, open), volts(t, now(t, "volts")), amps(t, now(t, "amps")));
    text_print(t->out, "= %s of the %s that it could give\n", watts(t, now(t, "watts")),
               watts(t, now(t, "mpp_power")));
}

static void tell_reverse_current(struct telling *t)
{
    struct pv_label label = circuit_label(t->part);
    struct pv_fit fit = pv_fit(&label);
    text_print(t->out, "1.25 x %s x the other strings on the same node, %s of them\n",
               amps(t, fit.isc_a), plain(t, t->value / (1.25 * fit.isc_a)));
}

/* ---- Loads and converters ---- */

static void tell_supply(struct telling *t, const char *here)
{
    const struct part *other;
    const struct part *run = cable_at(t, true, &other);
    if (!run)
        return;
    double drop = solved_of(run, "volt_drop", t->condition);
    if (isnan(drop))
        return;
    text_print(t->out, "%s at %s", volts(t, now(t, here) + drop), other->id);
    text_print(t->out, " less %s lost in %s = %s\n", volts(t, drop), run->id,
               volts(t, now(t, here)));
}

static bool stands(const struct telling *t)
{
    return now(t, "speed_ratio") == 0.0 || now(t, "amps") == 0.0;
}

static double least_voltage(const struct telling *t)
{
    double low, high;
    if (part_is(t->part, "regulated", "yes") && part_range(t->part, "voltage_range", &low, &high))
        return low;
    return given(t, "start_voltage");
}

static void tell_load_volts(struct telling *t)
{
    tell_supply(t, "volts");
    if (part_of_kind(t->part, "pump") && stands(t))
        text_print(t->out, "it stands: it needs %s to run, with its load on\n",
                   volts(t, least_voltage(t)));
}

static void tell_pump_amps(struct telling *t)
{
    double rated_v = given(t, "voltage");
    double rated = motor_rated_a(given(t, "current"), given(t, "power"), rated_v);
    double count = part_number_or(t->part, "count", 1.0), v = now(t, "volts"), a = now(t, "amps");
    if (stands(t)) {
        text_print(t->out, "it stands at %s and takes nothing\n", volts(t, v));
        return;
    }
    double speed = now(t, "speed_ratio");
    if (part_is(t->part, "regulated", "yes")) {
        text_print(t->out, "speed held: %s x share %s / %s = %s\n",
                   watts(t, count * rated * rated_v), plain(t, a * v / (count * rated * rated_v)),
                   volts(t, v), amps(t, a));
    } else if (part_is(t->part, "type", "diaphragm")) {
        text_print(t->out, "torque follows pressure: %s x share %s = %s at any voltage\n",
                   amps(t, count * rated), plain(t, a / (count * rated)), amps(t, a));
    } else {
        text_print(t->out,
                   "speed follows voltage, current its square: %s x (%s/%s)^2 x share %s = %s\n",
                   amps(t, count * rated), volts(t, v), volts(t, rated_v),
                   plain(t, a / (count * rated * speed * speed)), amps(t, a));
    }
    if (part_is(t->part, "type", "diaphragm"))
        text_print(t->out, "share = 0.4 + 0.6 x pressure/largest pressure, at a head of %s\n",
                   metres(t, now(t, "head")));
    else
        text_print(t->out, "share = %s at no flow, rising to 1 at the open flow; here %s\n",
                   plain(t, part_number_or(t->part, "shutoff_power_share", 0.6)),
                   litres(t, now(t, "flow")));
}

static void tell_watts(struct telling *t)
{
    text_print(t->out, "%s x %s = %s\n", volts(t, now(t, "volts")), amps(t, now(t, "amps")),
               watts(t, t->value));
}

static void tell_speed(struct telling *t)
{
    if (t->value == 0.0 && isnan(now(t, "volts")))
        text_add(t->out, "it is off\n");
    else if (t->value == 0.0)
        text_print(t->out, "it stands: %s is not enough for it, or it is off\n",
                   volts(t, now(t, "volts")));
    else if (part_is(t->part, "regulated", "yes"))
        text_add(t->out, "its electronics hold the rated speed\n");
    else
        text_print(t->out, "voltage over rated voltage: %s/%s = %s\n", volts(t, now(t, "volts")),
                   volts(t, given(t, "voltage")), plain(t, t->value));
}

static void tell_converter_input(struct telling *t)
{
    tell_supply(t, "input_volts");
    if (now(t, "input_amps") == 0.0)
        text_add(t->out, "off, or nothing behind it takes current\n");
    else
        text_print(t->out, "it takes %s to give %s x %s\n", amps(t, now(t, "input_amps")),
                   volts(t, now(t, "output_volts")), amps(t, now(t, "output_amps")));
}

static void tell_input_amps(struct telling *t)
{
    double out = now(t, "output_volts") * now(t, "output_amps");
    double in_v = now(t, "input_volts"), idle = part_number_or(t->part, "idle_power", 0.0);
    double efficiency = given(t, "efficiency");
    if (t->value == 0.0) {
        text_print(t->out, "off: it needs %s to come on\n", volts(t, given(t, "restart_input")));
        return;
    }
    if (now(t, "regulating") > 0.0 || part_is(t->part, "type", "booster") ||
        out / (efficiency * in_v) >= now(t, "output_amps"))
        text_print(t->out, "(%s x %s / %s + %s) / %s = %s\n", volts(t, now(t, "output_volts")),
                   amps(t, now(t, "output_amps")), plain(t, efficiency), watts(t, idle),
                   volts(t, in_v), amps(t, t->value));
    else
        text_print(t->out, "it passes its input on, so it takes what it gives: %s + %s / %s = %s\n",
                   amps(t, now(t, "output_amps")), watts(t, idle), volts(t, in_v),
                   amps(t, t->value));
}

static void tell_output_volts(struct telling *t)
{
    double set = given(t, "output"), most = given(t, "max_current");
    if (now(t, "regulating") > 0.0)
        text_print(t->out, "regulating: its set %s\n", volts(t, set));
    else if (t->value == 0.0)
        text_print(t->out, "off at an input of %s\n", volts(t, now(t, "input_volts")));
    else if (part_is(t->part, "type", "booster"))
        text_print(t->out,
                   "it holds its panels at their best voltage, %s; the output falls until the load "
                   "takes just what "
                   "they have\n",
                   volts(t, now(t, "input_volts")));
    else if (now(t, "output_amps") >= most * (1.0 - 1e-9))
        text_print(t->out,
                   "at its current limit of %s: the output falls until the load takes no more\n",
                   amps(t, most));
    else
        text_print(t->out, "the input is too low for %s; it passes %s on, less its drop of %s\n",
                   volts(t, set), volts(t, now(t, "input_volts")),
                   volts(t, now(t, "input_volts") - t->value));
}

static void tell_output_amps(struct telling *t)
{
    text_print(t->out, "what hangs at its output takes %s at %s\n", amps(t, t->value),
               volts(t, now(t, "output_volts")));
}

static void tell_regulating(struct telling *t)
{
    text_print(t->out, "output %s of a set %s, from an input of %s\n",
               volts(t, now(t, "output_volts")), volts(t, given(t, "output")),
               volts(t, now(t, "input_volts")));
}

static void tell_threshold_air(struct telling *t)
{
    struct weather weather = condition_weather(t->rig);
    text_print(t->out,
               "looked for between 1 and 1300 W/m2 in mean air, %s, with the loss of real panels "
               "in weak sun\n",
               degrees(t, 0.5 * (weather.air_low + weather.air_high)));
}

static void tell_start_sun(struct telling *t)
{
    tell_threshold_air(t);
    bool converter = part_of_kind(t->part, "converter");
    double start = converter ? given(t, "restart_input") : least_voltage(t);
    text_print(t->out,
               "coming up from dark it switches on at %s; from %s on the panel then carries it to "
               "where it %s\n",
               volts(t, start), sun(t, t->value), converter ? "regulates" : "runs");
}

static void tell_stop_sun(struct telling *t)
{
    tell_threshold_air(t);
    text_print(t->out, "below %s no steady voltage is left at which it %s\n", sun(t, t->value),
               part_of_kind(t->part, "converter") ? "regulates" : "runs");
    double start = now(t, "start_sun");
    if (start > t->value * 1.001)
        text_print(t->out, "once stopped it comes back only at %s\n", sun(t, start));
}

static void tell_flow_sun(struct telling *t)
{
    tell_threshold_air(t);
    text_print(t->out, "it turns from %s; from %s on its head reaches the outlet and water moves\n",
               sun(t, now(t, "start_sun")), sun(t, t->value));
}

static void tell_battery_volts(struct telling *t)
{
    text_print(t->out, "its voltage without current, less its resistance times %s: %s\n",
               amps(t, now(t, "amps")), volts(t, t->value));
}

static void tell_short_circuit(struct telling *t)
{
    text_print(t->out, "full voltage over its own resistance and that of its cable, cold: %s\n",
               amps(t, t->value));
}

/* ---- Cables ---- */

static void tell_resistance(struct telling *t)
{
    struct ampacity_wire wire = circuit_wire(t->rig, t->part);
    double each = conductor_r20_ohm_per_m(&wire.wire);
    const char *length = is_customary(t) ? "kft" : "km";
    text_print(t->out, "out and back: 2 x %s x %s ohm per %s / %s = %s at 20 degC\n",
               metres(t, given(t, "length")), bare_or(t, each, "ohm/km", NULL), length,
               plain(t, wire.count), ohms(t, t->value));
    text_print(t->out, "per %s by %s\n", length, conductor_r20_source(&wire.wire));
}

static void tell_volt_drop(struct telling *t)
{
    double a = now(t, "amps"), cold = now(t, "resistance"), degc = now(t, "conductor_temperature");
    if (a == 0.0) {
        text_add(t->out, "no current, no loss\n");
        return;
    }
    struct ampacity_wire wire = circuit_wire(t->rig, t->part);
    double warm =
        conductor_at_temperature(cold, conductor_coefficient_per_k(wire.wire.metal), degc);
    double rest = t->value / a - warm;
    text_print(t->out, "wire out and back: %s at 20 degC, %s at %s\n", ohms(t, cold), ohms(t, warm),
               celsius(t, degc));
    if (rest > 1e-7)
        text_print(t->out, "fuses, plugs and contacts in it: %s\n", ohms(t, rest));
    text_print(t->out, "%s x %s = %s\n", amps(t, a), ohms(t, warm + fmax(rest, 0.0)),
               volts(t, t->value));
}

static void tell_drop_share(struct telling *t)
{
    double drop = now(t, "volt_drop");
    if (drop == 0.0)
        text_add(t->out, "no current, no loss\n");
    else
        text_print(t->out, "%s of the %s at its first end = %s %%\n", volts(t, drop),
                   volts(t, drop / t->value), plain(t, 100.0 * t->value));
}

static void tell_ampacity(struct telling *t)
{
    struct ampacity_wire wire = circuit_wire(t->rig, t->part);
    struct ampacity found = ampacity_find(&wire, air(t));
    if (!found.known)
        return;
    text_print(t->out, "%s, row of %s: %s\n", found.table, print(t, found.row_m2, "mm2"),
               amps(t, found.base_a));
    text_print(t->out, "x %s for air of %s x %s for grouping x %s = %s\n",
               plain(t, found.air_factor), degrees(t, air(t)), plain(t, found.grouping_factor),
               plain(t, wire.count), amps(t, t->value));
}

static void tell_conductor_temperature(struct telling *t)
{
    struct ampacity_wire wire = circuit_wire(t->rig, t->part);
    struct ampacity found = ampacity_find(&wire, air(t));
    if (found.known)
        text_print(t->out, "air + (%s - %s) x (%s/%s)^2 = %s + %s\n", plain(t, found.table_degc),
                   plain(t, found.table_air_degc), amps(t, now(t, "amps")),
                   amps(t, found.full_current_a), celsius(t, air(t)),
                   print_or(t, t->value - air(t), "K", "K"));
}

static void tell_design_amps(struct telling *t)
{
    bool north_america = t->rig->practice == PRACTICE_NORTH_AMERICA;
    text_print(t->out,
               "on the panels' side %s x short-circuit current of all strings; elsewhere 1.25 x "
               "the rated currents of "
               "all loads beyond it: %s\n",
               north_america ? "1.5625" : "1.25", amps(t, t->value));
}

/* ---- Pumps and water ---- */

static void tell_shutoff(struct telling *t)
{
    double speed = now(t, "speed_ratio");
    if (speed == 0.0)
        text_add(t->out, "it stands: no head\n");
    else if (part_is(t->part, "type", "diaphragm"))
        text_print(t->out, "its pressure switch opens at %s, whatever the speed\n",
                   metres(t, t->value));
    else
        text_print(t->out, "head goes with speed squared: %s^2 x %s = %s\n", plain(t, speed),
                   metres(t, t->value / (speed * speed)), metres(t, t->value));
}

/* What takes the pump's head: friction of the runs that carry its water, coils, and the rest. */
static void tell_losses(struct telling *t, double flow, double head)
{
    double sum = 0.0;
    for (size_t i = 0; i < t->rig->part_count; i++) {
        const struct part *part = &t->rig->parts[i];
        bool pipe = part->kind && part_of_kind(part, "pipe"),
             coil = part->kind && part_of_kind(part, "coil");
        if (!pipe && !coil)
            continue;
        double through = fabs(solved_of(part, "flow", t->condition));
        double loss = solved_of(part, pipe ? "friction_head" : "head_loss", t->condition);
        if (!(loss > 0.0) || fabs(through - fabs(flow)) > 1e-6 * fabs(flow))
            continue;
        text_print(t->out, "%s takes %s\n", part->id, metres(t, loss));
        sum += loss;
    }
    if (fabs(head - sum) > 1e-6 * fabs(head))
        text_print(t->out, "lift, valves and branches take the other %s\n", metres(t, head - sum));
}

static void tell_pump_point(struct telling *t)
{
    double flow = now(t, "flow"), head = now(t, "head"), speed = now(t, "speed_ratio");
    if (t->condition == CONDITION_DEAD_END) {
        text_print(t->out, "shut outlet: no flow, the head of %s\n",
                   metres(t, now(t, "shutoff_head")));
        return;
    }
    if (speed == 0.0) {
        text_add(t->out, "it stands; water passes it only as gravity drives it, as through an open "
                         "check valve (K 2)\n");
        return;
    }
    text_print(t->out, "at speed %s its curve begins at %s without flow", plain(t, speed),
               metres(t, now(t, "shutoff_head")));
    if (isnan(given(t, "max_flow")))
        text_add(t->out, "\n");
    else
        text_print(t->out, " and ends at %s without head\n",
                   litres(t, speed * given(t, "max_flow")));
    if (flow > 0.0)
        tell_losses(t, flow, head);
    text_print(t->out, "curve and runs meet at %s and %s\n", litres(t, flow), metres(t, head));
}

static void tell_pump_efficiency(struct telling *t)
{
    double rho = water_density_kg_m3(WATER_PLAIN, water_degc(t));
    double flow = now(t, "flow"), head = now(t, "head"), weight = rho * WATER_GRAVITY_M_S2;
    if (is_customary(t))
        text_print(t->out, "%s x %s x %s for each gal/h and ft = %s\n",
                   print_or(t, flow, "L/h", "gal/h"), metres(t, head),
                   watts(t, weight * one("gal/h") * one("ft")), watts(t, weight * flow * head));
    else
        text_print(t->out, "rho g Q H = %s kg/m3 x 9.807 m/s2 x %s x %s = %s\n", plain(t, rho),
                   litres(t, flow), metres(t, head), watts(t, weight * flow * head));
    text_print(t->out, "of %s\n", watts(t, now(t, "watts")));
}

static void tell_suction(struct telling *t)
{
    double rho = water_density_kg_m3(WATER_PLAIN, water_degc(t)) * WATER_GRAVITY_M_S2;
    double pressure = npsh_air_pa(part_number_or(site(t), "altitude", 0.0)) / rho;
    double vapour = water_vapour_pa(WATER_PLAIN, water_degc(t)) / rho,
           required = given(t, "npsh_required");
    text_print(t->out, "air presses with %s of water; it boils at %s\n", metres(t, pressure),
               metres(t, vapour));
    text_print(t->out, "water at its inlet stands, losses taken off, %s above it\n",
               metres(t, t->value + required - pressure + vapour));
    text_print(t->out, "less the %s that it requires = %s\n", metres(t, required),
               metres(t, t->value));
}

static void tell_velocity(struct telling *t)
{
    double count = part_number_or(t->part, "count", 1.0), bore = given(t, "bore");
    text_print(t->out, "%s / %s through a bore of %s = %s\n", litres(t, fabs(now(t, "flow"))),
               plain(t, count), across(t, bore), print(t, t->value, "m/s"));
}

static void tell_reynolds(struct telling *t)
{
    text_print(t->out, "velocity x bore / viscosity = %s x %s / %s at %s\n",
               print(t, now(t, "velocity"), "m/s"), print_or(t, given(t, "bore"), "mm", "ft"),
               print(t, water_viscosity_m2s(WATER_PLAIN, water_degc(t)), "mm2/s"),
               degrees(t, water_degc(t)));
}

static void tell_friction(struct telling *t)
{
    double v = now(t, "velocity"), bore = given(t, "bore"), length = given(t, "length"),
           re = now(t, "reynolds");
    if (!(v > 0.0)) {
        text_add(t->out, "no flow, no loss\n");
        return;
    }
    const char *material = part_word(t->part, "material");
    double rough = part_number_or(t->part, "roughness", material ? roughness_m(material) : NAN);
    if (isnan(rough))
        return;
    double factor = pipe_friction(re, rough / bore, NULL),
           speed_head = v * v / (2.0 * WATER_GRAVITY_M_S2);
    double k = t->value / speed_head - factor * length / bore;
    text_print(t->out, "friction factor %s at Reynolds number %s, %s\n", plain(t, factor),
               plain(t, re),
               re <= PIPE_LAMINAR_END      ? "laminar"
               : re < PIPE_TURBULENT_START ? "between laminar and turbulent"
                                           : "turbulent");
    text_print(t->out, "(f L/D + K) v2/2g = (%s x %s/%s + %s) x %s\n", plain(t, factor),
               metres(t, length), metres(t, bore), plain(t, fmax(0.0, k)), metres(t, speed_head));
    text_print(t->out, "= %s; K is that of its fittings, entrance and exit\n", metres(t, t->value));
}

static void tell_weight(struct telling *t, const char *whose)
{
    double rho = water_density_kg_m3(WATER_PLAIN, water_degc(t));
    const char *height = metres(t, t->value / (rho * WATER_GRAVITY_M_S2));
    if (is_customary(t))
        text_print(t->out, "%s is %s above it: x %s for each ft = %s\n", whose, height,
                   bars(t, rho * WATER_GRAVITY_M_S2 * one("ft")), bars(t, t->value));
    else
        text_print(t->out, "%s is %s above it: x %s kg/m3 x 9.807 m/s2 = %s\n", whose, height,
                   plain(t, rho), bars(t, t->value));
}

static void tell_high_pressure(struct telling *t)
{
    for (size_t i = 0; i < t->rig->part_count; i++) {
        const struct part *pump = &t->rig->parts[i];
        double head = pump->kind && part_of_kind(pump, "pump")
                          ? solved_of(pump, "shutoff_head", t->condition)
                          : NAN;
        if (head > 0.0)
            text_print(t->out, "against a shut outlet %s makes %s\n", pump->id, metres(t, head));
    }
    tell_weight(t, "the highest head from any tank, with the pumps on the way,");
}

static void tell_rest_pressure(struct telling *t)
{
    tell_weight(t, "the highest tank upstream, no pump running,");
}

static void tell_pressure_drop(struct telling *t)
{
    double kv = given(t, "kv") * part_number_or(t->part, "count", 1.0);
    if (isnan(kv))
        text_print(t->out, "what %s loses in it, by its Cv or bore: %s\n",
                   litres(t, now(t, "flow")), bars(t, t->value));
    else if (is_customary(t))
        text_print(t->out, "(flow/Cv)^2 = (%s/%s)^2 in psi, for its water's weight = %s\n",
                   print_or(t, now(t, "flow"), "L/h", "gal/min"),
                   print_or(t, kv / valve_kv_of_cv(1.0), "L/h", "gal/min"), bars(t, t->value));
    else
        text_print(t->out, "(flow/Kv)^2 = (%s/%s)^2 in bar, for its water's weight = %s\n",
                   litres(t, now(t, "flow")), litres(t, kv), bars(t, t->value));
}

static void tell_drain_time(struct telling *t)
{
    text_print(t->out,
               "the level falls through its runs by the same laws as water flows by, until nothing "
               "flows: %s\n",
               print(t, t->value, "h"));
}

/* ---- Coils ---- */

static void tell_gain(struct telling *t)
{
    double sun_now = solved_of(site(t), "sun_now", t->condition),
           inlet = now(t, "inlet_temperature");
    text_print(
        t->out,
        "area x (optical gain x sun - loss x (inlet - air)) = %s x (%s x %s - %s x (%s - %s))\n",
        print(t, given(t, "area") * part_number_or(t->part, "count", 1.0), "m2"),
        plain(t, given(t, "optical_gain")), bare_or(t, sun_now, "W/m2", "BTU/h ft2"),
        bare_or(t, given(t, "heat_loss"), "W/m2K", NULL), bare_or(t, inlet, "degC", NULL),
        bare_or(t, air(t), "degC", NULL));
    const char *area = is_customary(t) ? "ft2" : "m2";
    if (!isnan(given(t, "test_flow")))
        text_print(t->out, "corrected from its test flow to %s per %s\n",
                   print(t, now(t, "specific_flow") * one(area), "kg/s"), area);
    text_print(t->out, "= %s\n", heat(t, t->value));
}

static void tell_outlet(struct telling *t)
{
    double inlet = now(t, "inlet_temperature");
    double mass =
        now(t, "specific_flow") * given(t, "area") * part_number_or(t->part, "count", 1.0);
    text_print(t->out, "inlet + gain/(flow x heat) = %s + %s/(%s x %s)\n", degrees(t, inlet),
               heat(t, now(t, "gain")), print(t, mass, "kg/s"),
               print(t, water_heat_j_kgk(WATER_PLAIN, inlet), "J/kgK"));
}

static void tell_inlet(struct telling *t)
{
    text_print(t->out, "the condition's water: %s\n", degrees(t, t->value));
}

static void tell_standstill(struct telling *t)
{
    double sun_now = solved_of(site(t), "sun_now", t->condition);
    text_print(t->out, "air + sun x optical gain/loss = %s + %s x %s/%s = %s\n", degrees(t, air(t)),
               bare_or(t, sun_now, "W/m2", "BTU/h ft2"), plain(t, given(t, "optical_gain")),
               bare_or(t, given(t, "heat_loss"), "W/m2K", NULL), degrees(t, t->value));
}

static void tell_head_loss(struct telling *t)
{
    double tubes = part_number_or(t->part, "tubes", 1.0) * part_number_or(t->part, "count", 1.0);
    if (now(t, "flow") == 0.0) {
        text_add(t->out, "no flow, no loss\n");
        return;
    }
    text_print(t->out,
               "%s through %s of bore %s each, %s side by side: friction and bends take %s\n",
               litres(t, now(t, "flow") / tubes), metres(t, given(t, "length")),
               across(t, given(t, "bore")), plain(t, tubes), metres(t, t->value));
}

/* ---- */

static const struct {
    const char *kind, *attribute;
    void (*tell)(struct telling *t);
} tellings[] = {
    {"panel", "cell_temperature", tell_cell_temperature},
    {"panel", "open_voltage", tell_open_voltage},
    {"panel", "short_current", tell_short_current},
    {"panel", "mpp_voltage", tell_best_power},
    {"panel", "mpp_current", tell_best_power},
    {"panel", "mpp_power", tell_best_power},
    {"panel", "volts", tell_panel_point},
    {"panel", "amps", tell_panel_point},
    {"panel", "watts", tell_panel_point},
    {"panel", "reverse_current", tell_reverse_current},
    {"battery", "volts", tell_battery_volts},
    {"battery", "short_circuit_current", tell_short_circuit},
    {"converter", "input_volts", tell_converter_input},
    {"converter", "input_amps", tell_input_amps},
    {"converter", "output_volts", tell_output_volts},
    {"converter", "output_amps", tell_output_amps},
    {"converter", "regulating", tell_regulating},
    {"converter", "start_sun", tell_start_sun},
    {"converter", "stop_sun", tell_stop_sun},
    {"load", "volts", tell_load_volts},
    {"load", "watts", tell_watts},
    {"cable", "resistance", tell_resistance},
    {"cable", "ampacity", tell_ampacity},
    {"cable", "volt_drop", tell_volt_drop},
    {"cable", "drop_share", tell_drop_share},
    {"cable", "conductor_temperature", tell_conductor_temperature},
    {"cable", "design_amps", tell_design_amps},
    {"pump", "volts", tell_load_volts},
    {"pump", "amps", tell_pump_amps},
    {"pump", "watts", tell_watts},
    {"pump", "speed_ratio", tell_speed},
    {"pump", "flow", tell_pump_point},
    {"pump", "head", tell_pump_point},
    {"pump", "shutoff_head", tell_shutoff},
    {"pump", "suction_margin", tell_suction},
    {"pump", "efficiency", tell_pump_efficiency},
    {"pump", "start_sun", tell_start_sun},
    {"pump", "stop_sun", tell_stop_sun},
    {"pump", "flow_sun", tell_flow_sun},
    {"pipe", "velocity", tell_velocity},
    {"pipe", "reynolds", tell_reynolds},
    {"pipe", "friction_head", tell_friction},
    {"pipe", "high_pressure", tell_high_pressure},
    {"valve", "rest_pressure", tell_rest_pressure},
    {"valve", "high_pressure", tell_high_pressure},
    {"valve", "pressure_drop", tell_pressure_drop},
    {"valve", "drain_time", tell_drain_time},
    {"check-valve", "pressure_drop", tell_pressure_drop},
    {"filter", "pressure_drop", tell_pressure_drop},
    {"coil", "gain", tell_gain},
    {"coil", "inlet_temperature", tell_inlet},
    {"coil", "outlet_temperature", tell_outlet},
    {"coil", "standstill_temperature", tell_standstill},
    {"coil", "head_loss", tell_head_loss},
};

void solve_working(const struct rig *rig, size_t part, int attribute, enum condition condition,
                   struct text *out)
{
    const struct part *p = part < rig->part_count ? &rig->parts[part] : NULL;
    if (!p || !p->kind || attribute < 0 || (size_t)attribute >= p->kind->attribute_count ||
        !p->values[attribute].solved)
        return;
    const struct attribute *a = &p->kind->attributes[attribute];
    struct telling telling = {
        .rig = rig, .part = p, .index = part, .condition = condition, .out = out};
    telling.value = p->values[attribute].solved[a->solved == SOLVED_ONCE ? 0 : (size_t)condition];
    if (isnan(telling.value) && !p->values[attribute].series)
        return;
    if (part == rig->whole)
        whole_working(rig, a->name, out);
    later_working(rig, part, a->name, out);
    for (size_t i = 0; i < sizeof tellings / sizeof *tellings; i++)
        if (strcmp(tellings[i].kind, p->kind->name) == 0 &&
            strcmp(tellings[i].attribute, a->name) == 0) {
            tellings[i].tell(&telling);
            return;
        }
}
