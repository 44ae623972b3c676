/* day_report.c - writes down what a day came to, and how. */
#include <math.h>

#include "solve/later.h"

#define J_PER_KWH 3.6e6
#define J_PER_WH 3600.0

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
    NOTE(day, day->rig->site, "day_length", "from sunrise to sunset, the horizon flat: %.4g h\n",
         day->sky.length_h);
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
    put(day, tank->part, FIELD_EVENING_TEMPERATURE, tank->evening_degc);
    if (later_covers(day->rig, tank->part, "high_temperature"))
        put(day, tank->part, FIELD_HIGH_TEMPERATURE, tank->high_degc);
    put(day, tank->part, FIELD_DAY_GAIN, tank->coil_j);
    put(day, tank->part, FIELD_NIGHT_LOSS, night);
    NOTE(day, tank->part, "evening_temperature",
         "at midnight it is %.4g degC\n"
         "over the day coils bring %.4g kWh, pumps in it %.4g kWh, the air takes %.4g kWh\n"
         "its water takes %.4g Wh for each kelvin\n"
         "when the sun is gone it is %.4g degC on average\n",
         tank->start_degc, tank->coil_j / J_PER_KWH, tank->pump_j / J_PER_KWH,
         tank->lost_j / J_PER_KWH, per_k / J_PER_WH, tank->evening_degc);
    NOTE(day, tank->part, "high_temperature",
         "the warmest of its water over the day, from %.4g degC at midnight\n", tank->start_degc);
    NOTE(day, tank->part, "day_gain",
         "what the coils bring to it from midnight to midnight: %.4g kWh\n",
         tank->coil_j / J_PER_KWH);
    NOTE(day, tank->part, "night_loss",
         "from %.4g degC in the evening to %.4g degC at sunrise, %.4g Wh for each kelvin\n"
         "it loses %.4g W for each kelvin above the air\n",
         tank->evening_degc, tank->dawn_degc, per_k / J_PER_WH, tank->heat.loss_w_k);
}

static void report_coil(const struct day *day, const struct day_coil *coil)
{
    if (!day->sky.known || !coil->known || (coil->tank != NONE && !is_told(day, coil->tank)))
        return;
    put(day, coil->part, FIELD_DAY_GAIN, coil->gain_j);
    NOTE(day, coil->part, "day_gain",
         "%.4g L pass it over the day and take %.4g kWh of the sun's %.4g kWh/m2 in its plane\n",
         coil->moved_m3 * 1e3, coil->gain_j / J_PER_KWH,
         day->sky.plane_count ? day->sky.sum_j_m2 / J_PER_KWH : 0.0);
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
             "it turns from %.4g W/m2 on and until %.4g W/m2; the day brings at most %.4g W/m2\n",
             pump->start_sun, pump->stop_sun, day->sky.top);
    NOTE(day, part, "starts_per_hour",
         "starts over the day: %zu; most of them within an hour: %zu\n", pump->starts,
         pump->most_starts);
    if (!pump->flow_known)
        return;
    put(day, part, FIELD_DAY_VOLUME, pump->moved_m3);
    NOTE(day, part, "day_volume", "it runs %.4g h and moves %.4g L, on average %.4g L/h\n", hours,
         pump->moved_m3 * 1e3, hours > 0.0 ? pump->moved_m3 * 1e3 / hours : 0.0);
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
        NOTE(day, part, "daily_use",
             "loads and the controller's own use, at the battery: %.4g Wh\n",
             battery->use_j / J_PER_WH);
        NOTE(day, part, "daily_harvest",
             "what the panels can bring to it over the day, wanted or not: %.4g Wh\n",
             battery->harvest_j / J_PER_WH);
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
