/* day_control.c - what a day's switching rests on: thermostats with their hysteresis, relays that
 * they move, and the hours in which a part is to run. */
#include <math.h>
#include <string.h>

#include "physics/collector.h"
#include "physics/thermostat.h"
#include "solve/day.h"

enum spot { SPOT_MEAN, SPOT_TOP, SPOT_MIDDLE, SPOT_BOTTOM, SPOT_INLET, SPOT_OUTLET };

/* What a thermostat reads: a place of a tank or of a coil. */
struct probe {
    size_t tank, coil; /* one of them; both NONE: nothing that the day follows */
    enum spot spot;
};

struct day_control {
    size_t part; /* the thermostat */
    struct thermostat thermostat;
    bool difference;
    struct probe probes[2]; /* the second: the cold one of a difference */
    bool closed;
};

/* ---- Reading ---- */

static enum spot spot_of(const struct part *sensor)
{
    static const struct {
        const char *word;
        enum spot spot;
    } words[] = {{"top", SPOT_TOP},
                 {"middle", SPOT_MIDDLE},
                 {"bottom", SPOT_BOTTOM},
                 {"inlet", SPOT_INLET},
                 {"outlet", SPOT_OUTLET}};
    for (size_t i = 0; i < sizeof words / sizeof *words; i++)
        if (part_is(sensor, "at", words[i].word))
            return words[i].spot;
    return SPOT_MEAN;
}

static struct probe probe_of(const struct day *day, const char *id)
{
    struct probe probe = {NONE, NONE, SPOT_MEAN};
    size_t part = rig_find_part(day->rig, id);
    if (part != NO_PART && circuit_is_kind(day->circuit, part, "sensor")) {
        const char *on = part_word(&day->rig->parts[part], "on");
        probe.spot = spot_of(&day->rig->parts[part]);
        part = on ? rig_find_part(day->rig, on) : NO_PART;
    }
    for (size_t i = 0; part != NO_PART && i < day->tanks.count; i++)
        if (day->tanks.at[i].part == part && day->tanks.at[i].known)
            probe.tank = i;
    for (size_t i = 0; part != NO_PART && i < day->coils.count; i++)
        if (day->coils.at[i].part == part)
            probe.coil = i;
    return probe;
}

/* False: it does not say what it does, or reads nothing that the day follows; it then counts
 * as closed, as in the named conditions. */
static bool read_control(const struct day *day, size_t part, struct day_control *out)
{
    const struct part *p = &day->rig->parts[part];
    const struct part_value *senses = part_value(p, "senses");
    if (!senses || senses->value.type != VALUE_IDS || senses->value.as.words.count == 0)
        return false;
    *out = (struct day_control){.part = part};
    out->difference = senses->value.as.words.count > 1;
    for (size_t i = 0; i < (out->difference ? 2u : 1u); i++) {
        out->probes[i] = probe_of(day, senses->value.as.words.at[i]);
        if (out->probes[i].tank == NONE && out->probes[i].coil == NONE)
            return false;
    }
    if (out->difference) {
        double on = part_number(p, "difference_on");
        out->thermostat = thermostat_of_difference(on, part_number_or(p, "difference_off", on));
        return !isnan(on);
    }
    bool falls = part_is(p, "acts", "closes-on-fall") ||
                 (!part_word(p, "acts") &&
                  (part_is(p, "job", "keep-from-frost") || part_is(p, "job", "top-limit")));
    out->thermostat = thermostat_of(part_number(p, "set_point"), part_number_or(p, "band", 0.0),
                                    falls ? THERMOSTAT_CLOSES_ON_FALL : THERMOSTAT_CLOSES_ON_RISE);
    out->closed = falls;
    return !isnan(part_number(p, "set_point")) && (part_word(p, "acts") || part_word(p, "job"));
}

enum outcome day_control_make(struct day *day)
{
    size_t most = 0;
    for (size_t i = 0; i < day->rig->part_count; i++)
        most += circuit_is_kind(day->circuit, i, "thermostat");
    day->controls = ARENA_TAKE(day->arena, most + 1, struct day_control);
    if (!day->controls)
        return OUTCOME_NO_MEMORY;
    for (size_t i = 0; i < day->rig->part_count; i++)
        if (circuit_is_kind(day->circuit, i, "thermostat") &&
            read_control(day, i, &day->controls[day->control_count]))
            day->control_count++;
    return OUTCOME_OK;
}

/* ---- Following ---- */

static double tank_degc(const struct tank_heat *heat, enum spot spot)
{
    switch (spot) {
    case SPOT_TOP:
    case SPOT_INLET:
        return heat->degc[heat->layers - 1];
    case SPOT_MIDDLE:
        return heat->degc[heat->layers / 2];
    case SPOT_BOTTOM:
        return heat->degc[0];
    case SPOT_OUTLET:
        return tank_heat_drawn_degc(heat);
    case SPOT_MEAN:
        break;
    }
    return tank_heat_mean_degc(heat);
}

/* With water moving what the last step left; standing, what the sun makes of it. */
static double coil_degc(const struct day *day, const struct day_coil *coil, enum spot spot)
{
    if (coil->flow_m3s > 0.0)
        return spot == SPOT_INLET ? coil->inlet_degc : coil->outlet_degc;
    const struct part *part = &day->rig->parts[coil->part];
    struct collector collector = {part_number(part, "area"), part_number(part, "optical_gain"),
                                  part_number(part, "heat_loss"), NAN};
    size_t step = day->step % day->sky.steps;
    double sun = coil->plane == NONE ? 0.0 : day->sky.planes[coil->plane].sun[step];
    return collector_standstill_degc(&collector, sun, day->sky.air_degc[step]);
}

static double probe_degc(const struct day *day, const struct probe *probe)
{
    return probe->tank != NONE ? tank_degc(&day->tanks.at[probe->tank].heat, probe->spot)
                               : coil_degc(day, &day->coils.at[probe->coil], probe->spot);
}

void day_control_step(struct day *day)
{
    for (size_t i = 0; i < day->control_count; i++) {
        struct day_control *control = &day->controls[i];
        double degc = probe_degc(day, &control->probes[0]);
        if (control->difference)
            degc -= probe_degc(day, &control->probes[1]);
        control->closed = thermostat_is_closed(&control->thermostat, control->closed, degc);
    }
}

/* ---- What is let through ---- */

static bool is_closed(const struct day *day, size_t thermostat)
{
    for (size_t i = 0; i < day->control_count; i++)
        if (day->controls[i].part == thermostat)
            return day->controls[i].closed;
    return true;
}

/* A thermostat's own contact, or that of a relay that one moves. */
static bool contact_closed(const struct day *day, size_t contact)
{
    const struct part *part = &day->rig->parts[contact];
    if (circuit_is_kind(day->circuit, contact, "thermostat"))
        return is_closed(day, contact);
    const char *by = part_word(part, "switched_by");
    size_t mover = by ? rig_find_part(day->rig, by) : NO_PART;
    if (mover == NO_PART || !circuit_is_kind(day->circuit, mover, "thermostat"))
        return true;
    for (size_t i = 0; i < day->control_count; i++)
        if (day->controls[i].part == mover)
            return day->controls[i].closed != part_is(part, "contact", "normally-closed");
    return true;
}

/* Hours since the sun last went down; NAN: it never does. */
static double hours_of_dark(const struct day *day, size_t step)
{
    const struct day_sky *sky = &day->sky;
    for (size_t back = 0; back < sky->steps; back++)
        if (sky->up[(step + sky->steps - back) % sky->steps])
            return (double)back * sky->step_s / 3600.0;
    return NAN;
}

/* A valve that does not say runs as long as the outlet of its water that runs longest. */
static const struct part *timed_by(const struct day *day, size_t part)
{
    const struct circuit *circuit = day->circuit;
    const struct part *p = &day->rig->parts[part], *longest = p;
    size_t own = circuit->element_of_part[part];
    if (!circuit_is_kind(circuit, part, "valve") || own == NONE || part_word(p, "runs") ||
        !isnan(part_number(p, "hours_per_day")))
        return p;
    size_t piece = circuit->piece_of_branch[circuit->elements.at[own].branch];
    for (size_t i = 0; i < circuit->elements.count; i++) {
        const struct element *element = &circuit->elements.at[i];
        const struct part *outlet = &day->rig->parts[element->part];
        if (element->kind != ELEMENT_OUTLET || circuit->piece_of_branch[element->branch] != piece)
            continue;
        double hours = part_number(outlet, "hours_per_day");
        if (hours > part_number_or(longest, "hours_per_day", -1.0))
            longest = outlet;
    }
    return longest;
}

/* Timed parts run around noon; with hours given and nothing said they are timed. Common practice,
 * no source. */
static void read_hours(const struct day *day, size_t part, struct day_schedule *out)
{
    const struct part *p = timed_by(day, part);
    double seconds = part_number(p, "hours_per_day");
    out->hours = isnan(seconds) ? NAN : seconds / 3600.0;
    out->clock = part_is(p, "runs", "while-sun")                  ? DAY_WHILE_SUN
                 : part_is(p, "runs", "dusk-to-dawn")             ? DAY_WHILE_DARK
                 : isnan(seconds) || part_is(p, "runs", "always") ? DAY_ALWAYS
                                                                  : DAY_AROUND_NOON;
}

enum outcome day_control_plan(struct day *day)
{
    size_t parts = day->rig->part_count;
    day->schedules = ARENA_TAKE(day->arena, parts + 1, struct day_schedule);
    if (!day->schedules)
        return OUTCOME_NO_MEMORY;
    for (size_t i = 0; i < parts; i++) {
        struct day_schedule *schedule = &day->schedules[i];
        const struct kind *kind = day->rig->parts[i].kind;
        schedule->contact_count = rig_related(day->rig, i, "switched-by", &schedule->contacts);
        if (!day->control_count)
            schedule->contact_count = 0; /* nothing moves them */
        if (kind_is(kind, "load") || kind_is(kind, "device") || kind_is(kind, "contact"))
            read_hours(day, i, schedule);
    }
    return OUTCOME_OK;
}

static bool is_its_hour(const struct day *day, const struct day_schedule *schedule)
{
    size_t step = day->step % day->sky.steps;
    bool up = day->sky.up[step];
    switch (schedule->clock) {
    case DAY_ALWAYS:
        break;
    case DAY_WHILE_SUN:
        return up;
    case DAY_WHILE_DARK:
        return !up && (isnan(schedule->hours) || !(hours_of_dark(day, step) > schedule->hours));
    case DAY_AROUND_NOON:
        return fabs(((double)step + 0.5) * day->sky.step_s / 3600.0 - 12.0) < 0.5 * schedule->hours;
    }
    return true;
}

bool day_control_allows(const struct day *day, size_t part)
{
    const struct day_schedule *schedule = &day->schedules[part];
    for (size_t i = 0; i < schedule->contact_count; i++)
        if (!contact_closed(day, schedule->contacts[i]))
            return false;
    return is_its_hour(day, schedule);
}
