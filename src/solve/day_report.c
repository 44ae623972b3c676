/* day_report.c - writes down what a day came to, and how. */
#include <math.h>

#include "solve/later.h"

/* A figure in the units of the rig; `customary`: NULL but where the trade writes another there. */
#define FIGURE(day, si, unit, customary)                                                           \
    figure_tell((char[FIGURE_ROOM]){0}, (si), (unit), (customary), rig_units((day)->rig))
#define TEMPERATURE(day, degc) FIGURE(day, degc, "degC", NULL)
#define HEAT(day, joule) FIGURE(day, joule, "kWh", "BTU")
#define HOURS(day, seconds) FIGURE(day, seconds, "h", NULL)
#define ELECTRIC(day, joule) FIGURE(day, joule, "Wh", NULL)
#define SUN(day, w_m2) FIGURE(day, w_m2, "W/m2", NULL)

/* What a difference of one is called, and how much it is. */
static const char *degree(const struct day *day)
{
    return rig_units(day->rig) == UNITS_CUSTOMARY ? "degF" : "kelvin";
}

static double degree_k(const struct day *day)
{
    return rig_units(day->rig) == UNITS_CUSTOMARY ? 5.0 / 9.0 : 1.0;
}

/* Once for all conditions; what is not known stays unknown. */
static void put(const struct day *day, size_t part, enum field field, double value)
{
    if (!isnan(value))
        circuit_put_once(day->circuit, part, field, value);
}

#define NOTE(day, part, attribute, ...)                                                            \
    later_note((day)->rig, (part), (attribute), arena_print((day)->rig->arena, __VA_ARGS__))

/* Rests on the latitude alone: told when nothing else of the day can be, without a circuit. */
static void report_site(const struct day *day)
{
    const struct part *site = &day->rig->parts[day->rig->site];
    int index = kind_attribute(site->kind, "day_length");
    if (isnan(day->sky.length_h) || index < 0 || !site->values[index].solved)
        return;
    site->values[index].solved[0] = day->sky.length_h * 3600.0;
    NOTE(day, day->rig->site, "day_length", "from sunrise to sunset, the horizon flat: %s\n",
         HOURS(day, day->sky.length_h * 3600.0));
}

/* ---- time_to(temperature) ---- */

/* A tank's mean over the day, for a later question. */
struct warming {
    const double *degc; /* at the beginning of each step and at the end of the last */
    size_t steps;
    double step_s, sunrise_s;
};

static double mean_at(const struct warming *warming, double seconds)
{
    size_t step = (size_t)(seconds / warming->step_s);
    if (step >= warming->steps)
        return warming->degc[warming->steps];
    double part = seconds / warming->step_s - (double)step;
    return warming->degc[step] + part * (warming->degc[step + 1] - warming->degc[step]);
}

/* Seconds from sunrise until the mean first is so warm, straight within a step. */
static double time_to(const void *data, double wanted_degc)
{
    const struct warming *warming = data;
    if (mean_at(warming, warming->sunrise_s) >= wanted_degc)
        return 0.0;
    for (size_t step = (size_t)(warming->sunrise_s / warming->step_s); step < warming->steps;
         step++) {
        double before = warming->degc[step], after = warming->degc[step + 1];
        if (after >= wanted_degc && after > before)
            return fmax(((double)step + (wanted_degc - before) / (after - before)) *
                                warming->step_s -
                            warming->sunrise_s,
                        0.0);
    }
    return HUGE_VAL;
}

static double warmest_of_day(const struct warming *warming)
{
    double warmest = mean_at(warming, warming->sunrise_s);
    for (size_t step = (size_t)(warming->sunrise_s / warming->step_s); step < warming->steps;
         step++)
        warmest = fmax(warmest, warming->degc[step + 1]);
    return warmest;
}

#define SHOWN_K 5.0   /* the figures show the time to each multiple of this ... */
#define SHOWN_MOST 40 /* ... and no more than so many */

static bool show_times(struct arena *arena, const struct warming *warming, double warmest,
                       struct part_series *out)
{
    double first = SHOWN_K * (floor(mean_at(warming, warming->sunrise_s) / SHOWN_K) + 1.0);
    double *at = ARENA_TAKE(arena, SHOWN_MOST, double),
           *value = ARENA_TAKE(arena, SHOWN_MOST, double);
    if (!at || !value)
        return false;
    for (double degc = first; degc <= warmest && out->count < SHOWN_MOST; degc += SHOWN_K) {
        at[out->count] = degc;
        value[out->count++] = time_to(warming, degc);
    }
    out->at = at;
    out->value = value;
    return true;
}

static void report_time_to(const struct day *day, const struct day_tank *tank)
{
    struct rig *rig = day->rig;
    struct part *part = &rig->parts[tank->part];
    int index = kind_attribute(part->kind, "time_to");
    if (index < 0 || isnan(day->sky.length_h))
        return;
    struct warming *warming = ARENA_TAKE(rig->arena, 1, struct warming);
    struct part_series *series = ARENA_TAKE(rig->arena, 1, struct part_series);
    if (warming && series) {
        *warming = (struct warming){tank->mean_degc, day->sky.steps, day->sky.step_s,
                                    (12.0 - 0.5 * day->sky.length_h) * 3600.0};
        double warmest = warmest_of_day(warming);
        *series = (struct part_series){.find = time_to, .data = warming};
        if (show_times(rig->arena, warming, warmest, series)) {
            part->values[index].series = series;
            NOTE(day, tank->part, "time_to",
                 "at sunrise, %s after midnight, its mean is %s\n"
                 "from then to midnight it is %s at the most\n",
                 HOURS(day, warming->sunrise_s),
                 TEMPERATURE(day, mean_at(warming, warming->sunrise_s)), TEMPERATURE(day, warmest));
            return;
        }
    }
    if (rig->later)
        rig->later->no_memory = true;
}

/* The coils that warm a tank, and whether all that its heat rests on is known. */
static bool is_told(const struct day *day, size_t index)
{
    if (!day->tanks.at[index].known || !day->sky.known || day->tanks.at[index].plane == NONE)
        return false;
    for (size_t i = 0; i < day->coils.count; i++) {
        const struct day_coil *coil = &day->coils.at[i];
        if (coil->tank != index)
            continue;
        if (!coil->known)
            return false;
        size_t branch = day->circuit->elements.at[coil->element].branch;
        for (size_t k = 0; k < day->circuit->pumps.count; k++) {
            size_t other = day->circuit->elements.at[day->circuit->pumps.at[k].element].branch;
            if (day->circuit->piece_of_branch[other] == day->circuit->piece_of_branch[branch] &&
                !day->pumps[k].flow_known)
                return false;
        }
    }
    return true;
}

static void report_tank(const struct day *day, size_t index)
{
    const struct day_tank *tank = &day->tanks.at[index];
    if (!is_told(day, index))
        return;
    double per_k = tank->heat.heat_j_k, night = per_k * (tank->evening_degc - tank->dawn_degc);
    report_time_to(day, tank);
    put(day, tank->part, FIELD_EVENING_TEMPERATURE, tank->evening_degc);
    if (later_covers(day->rig, tank->part, "high_temperature"))
        put(day, tank->part, FIELD_HIGH_TEMPERATURE, tank->high_degc);
    put(day, tank->part, FIELD_DAY_GAIN, tank->coil_j);
    put(day, tank->part, FIELD_NIGHT_LOSS, night);
    NOTE(day, tank->part, "evening_temperature",
         "at midnight it is %s\n"
         "over the day coils bring %s, pumps in it %s, the air takes %s\n"
         "its water takes %s for each %s\n"
         "when the sun is gone it is %s on average\n",
         TEMPERATURE(day, tank->start_degc), HEAT(day, tank->coil_j), HEAT(day, tank->pump_j),
         HEAT(day, tank->lost_j), FIGURE(day, per_k * degree_k(day), "Wh", "BTU"), degree(day),
         TEMPERATURE(day, tank->evening_degc));
    NOTE(day, tank->part, "high_temperature",
         "the warmest of its water over the day, from %s at midnight\n",
         TEMPERATURE(day, tank->start_degc));
    NOTE(day, tank->part, "day_gain", "what the coils bring to it from midnight to midnight: %s\n",
         HEAT(day, tank->coil_j));
    NOTE(day, tank->part, "night_loss",
         "from %s in the evening to %s at sunrise, %s for each %s\n"
         "it loses %s for each %s above the air\n",
         TEMPERATURE(day, tank->evening_degc), TEMPERATURE(day, tank->dawn_degc),
         FIGURE(day, per_k * degree_k(day), "Wh", "BTU"), degree(day),
         FIGURE(day, tank->heat.loss_w_k * degree_k(day), "W", "BTU/h"), degree(day));
}

static void report_coil(const struct day *day, const struct day_coil *coil)
{
    if (!day->sky.known || !coil->known || (coil->tank != NONE && !is_told(day, coil->tank)))
        return;
    put(day, coil->part, FIELD_DAY_GAIN, coil->gain_j);
    NOTE(day, coil->part, "day_gain",
         "%s pass it over the day and take %s of the sun's %s in its plane\n",
         FIGURE(day, coil->moved_m3, "L", NULL), HEAT(day, coil->gain_j),
         FIGURE(day, day->sky.plane_count ? day->sky.sum_j_m2 : 0.0, "kWh/m2", NULL));
}

static void report_pump(const struct day *day, size_t index)
{
    const struct day_pump *pump = &day->pumps[index];
    size_t part = day->circuit->pumps.at[index].part;
    if (!pump->known)
        return;
    double hours = (double)pump->steps_on * day->sky.step_s / 3600.0;
    put(day, part, FIELD_DAY_HOURS, hours * 3600.0);
    put(day, part, FIELD_STARTS_PER_HOUR, (double)pump->most_starts);
    if (pump->feed == FEED_PANELS && isnan(pump->start_sun))
        NOTE(day, part, "day_hours", "%s\n", "no sun up to 1300 W/m2 makes it start");
    else if (pump->feed == FEED_PANELS)
        NOTE(day, part, "day_hours",
             "it turns from %s on and until %s; the day brings at most %s\n",
             SUN(day, pump->start_sun), SUN(day, pump->stop_sun), SUN(day, day->sky.top));
    NOTE(day, part, "starts_per_hour",
         "starts over the day: %zu; most of them within an hour: %zu\n", pump->starts,
         pump->most_starts);
    if (!pump->flow_known)
        return;
    put(day, part, FIELD_DAY_VOLUME, pump->moved_m3);
    NOTE(day, part, "day_volume", "it runs %s and moves %s, on average %s\n",
         HOURS(day, hours * 3600.0), FIGURE(day, pump->moved_m3, "L", NULL),
         FIGURE(day, hours > 0.0 ? pump->moved_m3 / (hours * 3600.0) : 0.0, "L/h", NULL));
}

static void report_battery(const struct day *day, size_t giver)
{
    const struct circuit *circuit = day->circuit;
    size_t part = circuit->givers.at[giver].part;
    size_t tree = circuit->knots.at[circuit->givers.at[giver].knot].tree;
    for (size_t i = 0; i < day->batteries.count; i++) {
        const struct day_battery *battery = &day->batteries.at[i];
        if (battery->tree != tree || !battery->known || !day->sky.known)
            continue;
        put(day, part, FIELD_LOWEST_CHARGE, battery->lowest);
        put(day, part, FIELD_DAILY_USE, battery->use_j);
        put(day, part, FIELD_DAILY_HARVEST, battery->harvest_j);
        NOTE(day, part, "lowest_charge",
             "full at midnight; %.4g Ah go out, %.4g Ah come in and stay, %.4g Ah find no room\n"
             "%.4g Ah can be used at its temperature; it comes down to %.3g %%\n",
             battery->given_as / 3600.0, battery->stored_as / 3600.0, battery->refused_as / 3600.0,
             battery->capacity_as / 3600.0, battery->lowest * 100.0);
        NOTE(day, part, "daily_use", "loads and the controller's own use, at the battery: %s\n",
             ELECTRIC(day, battery->use_j));
        NOTE(day, part, "daily_harvest",
             "what the panels can bring to it over the day, wanted or not: %s\n",
             ELECTRIC(day, battery->harvest_j));
    }
}

enum outcome day_report(struct day *day)
{
    report_site(day);
    for (size_t i = 0; i < day->tanks.count; i++)
        report_tank(day, i);
    for (size_t i = 0; i < day->coils.count; i++)
        report_coil(day, &day->coils.at[i]);
    for (size_t i = 0; i < day->circuit->pumps.count; i++)
        report_pump(day, i);
    for (size_t i = 0; i < day->circuit->givers.count; i++)
        if (day->circuit->givers.at[i].kind == GIVER_BATTERY)
            report_battery(day, i);
    return OUTCOME_OK;
}
