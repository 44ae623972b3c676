#include "solve/curves.h"

#include <math.h>
#include <stdlib.h>

#include "solve/condition.h"
#include "solve/day.h"
#include "solve/electric.h"
#include "solve/later.h"
#include "solve/water.h"

#define WEAK_SUN 250.0    /* W/m2 of the condition weak-sun */
#define BRIGHT_SUN 1000.0 /* and of bright-noon */

/* ---- A circuit of one's own, in one sun ---- */

struct bench {
    struct arena *arena; /* of the circuit; dropped with it */
    struct diagnostics said;
    struct circuit circuit;
};

static enum outcome bench_open(const struct rig *rig, struct bench *bench)
{
    *bench = (struct bench){0};
    if (!rig->later)
        return OUTCOME_REFUSED;
    bench->arena = arena_new();
    if (!bench->arena)
        return OUTCOME_NO_MEMORY;
    bench->said.arena = bench->arena;
    return circuit_build(rig->later->rig, &bench->said, bench->arena, &bench->circuit);
}

static enum outcome bench_close(struct bench *bench, enum outcome outcome)
{
    if (bench->circuit.no_memory)
        outcome = OUTCOME_NO_MEMORY;
    circuit_drop(&bench->circuit);
    arena_drop(bench->arena);
    return outcome;
}

/* Sun and weather: means up to weak-sun, the highest at bright-noon. The weak-sun factor is 1 at
 * bright-noon (pv_weak_sun_factor). */
static void set_sun(struct circuit *circuit, double sun)
{
    struct weather weather = condition_weather(circuit->rig);
    double place = fmin(fmax((sun - WEAK_SUN) / (BRIGHT_SUN - WEAK_SUN), 0.0), 1.0);
    double air = 0.5 * (weather.air_low + weather.air_high);
    double water = 0.5 * (weather.water_low + weather.water_high);
    circuit->air_degc = air + place * (weather.air_high - air);
    circuit->water_degc = water + place * (weather.water_high - water);
    circuit->weak = true;
    circuit->no_flow = false;
    circuit->sun = sun;
    electric_prepare(circuit, NAN, BATTERY_FULL);
}

/* As the named conditions settle. False: nothing settled. */
static bool settle(struct circuit *circuit)
{
    circuit->unsettled = false;
    water_prepare(circuit);
    water_set_valves(circuit, false);
    electric_settle(circuit);
    if (water_release_pilots(circuit))
        electric_settle(circuit);
    water_solve(circuit);
    return !circuit->unsettled;
}

static bool curve_make(struct curve *curve, size_t room, struct arena *arena)
{
    *curve =
        (struct curve){ARENA_TAKE(arena, room + 1, double), ARENA_TAKE(arena, room + 1, double), 0};
    return curve->x && curve->y;
}

static void curve_add(struct curve *curve, double x, double y)
{
    curve->x[curve->count] = x;
    curve->y[curve->count++] = y;
}

static int by_size(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* ---- Panels ---- */

/* Most points where the current falls off: above this share of the open voltage. */
#define KNEE 0.7
enum { FLAT_POINTS = 14, KNEE_POINTS = 100 };

static size_t find_panel(const struct circuit *circuit, size_t part)
{
    for (size_t i = 0; i < circuit->panels.count; i++)
        if (circuit->panels.at[i].part == part && !circuit->panels.at[i].fit.refused)
            return i;
    return NONE;
}

static bool sample_panel(const struct panel *panel, double works_v, struct arena *arena,
                         struct curve *out)
{
    double open = panel->open_v;
    if (!curve_make(out, FLAT_POINTS + KNEE_POINTS + 2, arena))
        return false;
    for (int i = 0; i < FLAT_POINTS; i++) {
        double volts = KNEE * open * i / FLAT_POINTS;
        curve_add(out, volts, pv_array_current(&panel->array, volts, NULL));
    }
    for (int i = 0; i < KNEE_POINTS; i++) {
        double volts = open * (KNEE + (1.0 - KNEE) * i / KNEE_POINTS);
        curve_add(out, volts, pv_array_current(&panel->array, volts, NULL));
    }
    curve_add(out, open, 0.0);
    if (works_v > open)
        curve_add(out, works_v, pv_array_current(&panel->array, works_v, NULL));
    return true;
}

static size_t how_many_run(const struct circuit *circuit)
{
    size_t count = 0;
    for (size_t i = 0; i < circuit->takers.count; i++)
        count += circuit->takers.at[i].on;
    return count;
}

/* Less than this is no current: 1 uA. */
static bool works(const struct panel *panel)
{
    return fabs(panel->amps) > 1e-6;
}

static bool follow_sun(struct circuit *circuit, const struct panel *panel, struct arena *arena,
                       struct curves_panel *out)
{
    size_t running = 0;
    if (!curve_make(&out->works, 2 * CURVES_STEPS, arena))
        return false;
    for (int i = 1; i <= CURVES_STEPS; i++) {
        double sun = BRIGHT_SUN * i / CURVES_STEPS;
        set_sun(circuit, sun);
        bool settled = settle(circuit);
        size_t now = how_many_run(circuit);
        if (out->works.count && (!settled || !works(panel) || now != running))
            curve_add(&out->works, NAN, NAN);
        if (settled && works(panel))
            curve_add(&out->works, panel->volts, panel->amps);
        running = now;
        if (settled && sun == WEAK_SUN) {
            out->weak_sun.volts = panel->volts;
            out->weak_sun.amps = panel->amps;
        }
        if (settled && sun == BRIGHT_SUN) {
            out->bright_noon.volts = panel->volts;
            out->bright_noon.amps = panel->amps;
        }
    }
    return true;
}

/* The tree of wire that a panel alone feeds, by itself, and whose loads follow its voltage; NONE.
 */
static size_t tree_alone(const struct circuit *circuit, const struct panel *panel)
{
    const struct giver *giver = &circuit->givers.at[panel->chain];
    size_t at = circuit->knots.at[giver->knot].tree;
    const struct tree *tree = &circuit->trees.at[at];
    if (giver->panel_count != 1 || tree->battery || tree->supply || tree->charger ||
        !circuit_tree_known(circuit, at) || circuit->coupled)
        return NONE;
    for (size_t i = 0; i < circuit->givers.count; i++)
        if (&circuit->givers.at[i] != giver &&
            circuit->knots.at[circuit->givers.at[i].knot].tree == at)
            return NONE;
    for (size_t i = 0; i < circuit->takers.count; i++)
        if (circuit->takers.at[i].booster &&
            circuit->knots.at[circuit->takers.at[i].knot].tree == at)
            return NONE;
    return at;
}

/* Voltages at which the load is asked, where it works one of them. */
enum { LOAD_POINTS = 80 };

/* The load's line, from a circuit that settled at bright-noon. */
static bool follow_load(struct circuit *circuit, const struct panel *panel, struct arena *arena,
                        struct curve *out)
{
    size_t tree = tree_alone(circuit, panel);
    struct electric_split split;
    if (!curve_make(out, LOAD_POINTS + 1, arena))
        return false;
    if (tree == NONE || !(panel->amps > 1e-6))
        return true;
    double works_v = circuit->knots.at[circuit->trees.at[tree].root].volts;
    double ohm = (panel->volts - works_v) / panel->amps;
    double voltages[LOAD_POINTS + 1];
    for (int i = 0; i < LOAD_POINTS; i++)
        voltages[i] = 1.05 * panel->open_v * (i + 1) / LOAD_POINTS;
    voltages[LOAD_POINTS] = works_v;
    qsort(voltages, LOAD_POINTS + 1, sizeof *voltages, by_size);
    if (!electric_split(circuit, tree, &split))
        return !circuit->no_memory;
    electric_switch_on(circuit, tree);
    for (int i = 0; i <= LOAD_POINTS; i++) {
        double slope;
        if (electric_margin(circuit, tree, voltages[i]) < 0.0)
            continue; /* something on it would stop */
        double amps = electric_load(circuit, tree, voltages[i], &slope);
        if (isfinite(amps))
            curve_add(out, voltages[i] + ohm * amps, amps);
    }
    electric_join(circuit, tree, &split);
    return true;
}

static enum outcome sample_suns(struct circuit *circuit, size_t part, struct arena *arena,
                                struct curves_panel *out)
{
    size_t index = find_panel(circuit, part);
    if (index == NONE)
        return OUTCOME_REFUSED;
    const struct panel *panel = &circuit->panels.at[index];
    *out = (struct curves_panel){.sun = {BRIGHT_SUN, 750.0, 500.0, WEAK_SUN},
                                 .bright_noon = {NAN, NAN},
                                 .weak_sun = {NAN, NAN}};
    if (!follow_sun(circuit, panel, arena, out) || !follow_load(circuit, panel, arena, &out->load))
        return OUTCOME_NO_MEMORY;
    for (size_t i = 0; i < CURVES_SUNS; i++) {
        double works_v = i == 0                 ? out->bright_noon.volts
                         : i == CURVES_SUNS - 1 ? out->weak_sun.volts
                                                : NAN;
        set_sun(circuit, out->sun[i]);
        out->cell_degc[i] = panel->cell_degc;
        if (!sample_panel(panel, works_v, arena, &out->amps[i]))
            return OUTCOME_NO_MEMORY;
    }
    return OUTCOME_OK;
}

enum outcome curves_of_panel(const struct rig *rig, size_t part, struct arena *arena,
                             struct curves_panel *out)
{
    struct bench bench;
    enum outcome outcome = bench_open(rig, &bench);
    if (outcome == OUTCOME_OK)
        outcome = sample_suns(&bench.circuit, part, arena, out);
    return bench_close(&bench, outcome);
}

/* ---- Pumps ---- */

/* Speeds at which the water is asked, up to so many times the fastest; points of a pump's curve. */
#define FASTEST_ASKED 1.5
enum { SPEEDS = 60, HEADS = 64, HALVINGS = 40 };

static size_t find_pump(const struct circuit *circuit, size_t part)
{
    for (size_t i = 0; i < circuit->pumps.count; i++)
        if (circuit->pumps.at[i].part == part && circuit->pumps.at[i].known &&
            water_knows_pump(circuit, i))
            return i;
    return NONE;
}

static double flow_now(const struct circuit *circuit, const struct pump *pump)
{
    return water_flow_of_branch(circuit, circuit->elements.at[pump->element].branch);
}

/* What the pump adds at its present speed. */
static double head_at(const struct circuit *circuit, const struct pump *pump, double flow)
{
    double slope;
    return -water_element_drop(circuit, &circuit->elements.at[pump->element], flow, &slope);
}

static bool sample_pump(struct circuit *circuit, const struct pump *pump, struct arena *arena,
                        struct curve *out)
{
    double open =
        pump->count * pump->speed * (pump->diaphragm ? pump->max_flow_m3s : pump->curve.open_m3s);
    if (!curve_make(out, HEADS + 1, arena))
        return false;
    for (int i = 0; pump->speed > 0.0 && i <= HEADS; i++)
        curve_add(out, open * i / HEADS, head_at(circuit, pump, open * i / HEADS));
    return true;
}

/* Sets its speed and asks the water. False: nothing settled, or no water comes. */
static bool ask(struct circuit *circuit, size_t index, double speed, double *flow, double *head)
{
    water_set_speed(circuit, index, speed);
    water_forget(circuit);
    if (!water_solve(circuit))
        return false;
    *flow = flow_now(circuit, &circuit->pumps.at[index]);
    *head = head_at(circuit, &circuit->pumps.at[index], *flow);
    return *flow > WATER_NOTHING_M3S;
}

/* Between a speed that brings no water and one that does: the head at which it begins. */
static void add_begin(struct circuit *circuit, size_t index, double low, double high,
                      struct curve *out)
{
    double flow, head, begin_flow = NAN, begin_head = NAN;
    for (int i = 0; i < HALVINGS; i++) {
        double middle = 0.5 * (low + high);
        if (ask(circuit, index, middle, &flow, &head)) {
            high = middle;
            begin_flow = flow;
            begin_head = head;
        } else {
            low = middle;
        }
    }
    if (!isnan(begin_flow))
        curve_add(out, begin_flow, begin_head);
}

/* The water's heads at other speeds of a pump; its speed, where it works, is one of them. */
static bool sample_pipes(struct circuit *circuit, size_t index, struct arena *arena,
                         struct curve *out)
{
    struct pump *pump = &circuit->pumps.at[index];
    double speeds[SPEEDS + 1], works = pump->speed, before = 0.0;
    if (!curve_make(out, SPEEDS + 2, arena))
        return false;
    for (int i = 0; i < SPEEDS; i++)
        speeds[i] = FASTEST_ASKED * fmax(works, 1.0) * (i + 1) / SPEEDS;
    speeds[SPEEDS] = works > 0.0 ? works : speeds[SPEEDS - 1];
    qsort(speeds, SPEEDS + 1, sizeof *speeds, by_size);
    for (int i = 0; i <= SPEEDS; i++) {
        double flow, head;
        if (speeds[i] == before)
            continue;
        bool comes = ask(circuit, index, speeds[i], &flow, &head);
        if (comes && out->count == 0) {
            add_begin(circuit, index, before, speeds[i], out);
            comes = ask(circuit, index, speeds[i], &flow, &head);
        }
        if (comes)
            curve_add(out, flow, head);
        before = speeds[i];
    }
    water_set_speed(circuit, index, works);
    return true;
}

/* A pump in one sun: where it works, its curve there, and what the water asks. */
static enum outcome sample_at(struct circuit *circuit, size_t index, double sun,
                              struct arena *arena, struct curves_pump *out, enum curves_speed which)
{
    const struct pump *pump = &circuit->pumps.at[index];
    set_sun(circuit, sun);
    if (settle(circuit)) {
        out->at[which].speed = pump->speed;
        out->at[which].flow = flow_now(circuit, pump);
        out->at[which].head = head_at(circuit, pump, out->at[which].flow);
        if (pump->taker != NONE)
            out->at[which].volts = circuit->takers.at[pump->taker].volts;
    }
    if (!sample_pump(circuit, pump, arena, &out->at[which].pump) ||
        !sample_pipes(circuit, index, arena, &out->at[which].pipes))
        return OUTCOME_NO_MEMORY;
    return OUTCOME_OK;
}

static enum outcome sample_speeds(struct circuit *circuit, size_t part, struct arena *arena,
                                  struct curves_pump *out)
{
    size_t index = find_pump(circuit, part);
    if (index == NONE)
        return OUTCOME_REFUSED;
    struct pump *pump = &circuit->pumps.at[index];
    *out = (struct curves_pump){0};
    for (int i = 0; i < CURVES_SPEED_COUNT; i++)
        out->at[i].volts = out->at[i].flow = out->at[i].head = NAN;
    enum outcome outcome = sample_at(circuit, index, BRIGHT_SUN, arena, out, CURVES_BRIGHT_NOON);
    if (outcome != OUTCOME_OK)
        return outcome;
    water_set_speed(circuit, index, 1.0);
    out->at[CURVES_RATED].speed = 1.0;
    out->at[CURVES_RATED].volts = part_number(&circuit->rig->parts[part], "voltage");
    if (!sample_pump(circuit, pump, arena, &out->at[CURVES_RATED].pump))
        return OUTCOME_NO_MEMORY;
    return sample_at(circuit, index, WEAK_SUN, arena, out, CURVES_WEAK_SUN);
}

enum outcome curves_of_pump(const struct rig *rig, size_t part, struct arena *arena,
                            struct curves_pump *out)
{
    struct bench bench;
    enum outcome outcome = bench_open(rig, &bench);
    if (outcome == OUTCOME_OK)
        outcome = sample_speeds(&bench.circuit, part, arena, out);
    return bench_close(&bench, outcome);
}

/* ---- The day ---- */

struct watch {
    struct arena *arena;
    struct curves_day *out;
    size_t *pumps, *tanks, *batteries; /* which of the day's they are, by track */
};

static bool is_warmed(const struct day *day, size_t tank)
{
    for (size_t i = 0; i < day->coils.count; i++)
        if (day->coils.at[i].tank == tank && day->coils.at[i].known)
            return day->tanks.at[tank].known;
    return false;
}

/* One more track for what is the day's `index`; `of` and the tracks have room. */
static bool add_track(struct watch *watch, struct curves_tracks *tracks, size_t *of, size_t index,
                      size_t part)
{
    double *values = ARENA_TAKE(watch->arena, watch->out->steps + 1, double);
    of[tracks->count] = index;
    tracks->at[tracks->count++] = (struct curves_track){part, values};
    return values;
}

static bool make_room(struct watch *watch, struct curves_tracks *tracks, size_t **of, size_t most)
{
    tracks->at = ARENA_TAKE(watch->arena, most + 1, struct curves_track);
    *of = ARENA_TAKE(watch->arena, most + 1, size_t);
    return tracks->at && *of;
}

static bool begin_watch(struct watch *watch, const struct day *day)
{
    struct curves_day *out = watch->out;
    *out = (struct curves_day){.step_s = day->sky.step_s, .steps = day->sky.steps};
    out->sun = ARENA_TAKE(watch->arena, out->steps + 1, double);
    if (!out->sun || !make_room(watch, &out->pumps, &watch->pumps, day->circuit->pumps.count) ||
        !make_room(watch, &out->tanks, &watch->tanks, day->tanks.count) ||
        !make_room(watch, &out->batteries, &watch->batteries, day->batteries.count))
        return false;
    bool room = true;
    for (size_t i = 0; room && i < day->circuit->pumps.count; i++)
        if (day->pumps[i].flow_known)
            room = add_track(watch, &out->pumps, watch->pumps, i, day->circuit->pumps.at[i].part);
    for (size_t i = 0; room && i < day->tanks.count; i++)
        if (is_warmed(day, i))
            room = add_track(watch, &out->tanks, watch->tanks, i, day->tanks.at[i].part);
    for (size_t i = 0; room && i < day->batteries.count; i++)
        if (day->batteries.at[i].known)
            room = add_track(watch, &out->batteries, watch->batteries, i,
                             day->circuit->givers.at[day->batteries.at[i].giver].part);
    return room;
}

static enum outcome see(const struct day *day, void *with)
{
    struct watch *watch = with;
    struct curves_day *out = watch->out;
    if (day->step == 0 && !begin_watch(watch, day))
        return OUTCOME_NO_MEMORY;
    out->sun[day->step] = day->sky.plane_count ? day->sky.planes[0].sun[day->step] : 0.0;
    for (size_t i = 0; i < out->pumps.count; i++)
        out->pumps.at[i].values[day->step] = day->pumps[watch->pumps[i]].flow_m3s;
    for (size_t i = 0; i < out->tanks.count; i++)
        out->tanks.at[i].values[day->step] =
            tank_heat_mean_degc(&day->tanks.at[watch->tanks[i]].heat);
    for (size_t i = 0; i < out->batteries.count; i++)
        out->batteries.at[i].values[day->step] = day->batteries.at[watch->batteries[i]].share;
    return OUTCOME_OK;
}

enum outcome curves_of_day(const struct rig *rig, struct arena *arena, struct curves_day *out)
{
    struct watch watch = {.arena = arena, .out = out};
    *out = (struct curves_day){0};
    if (!rig->later)
        return OUTCOME_REFUSED;
    enum outcome outcome = day_watch(rig->later->rig, DAY_STEP_S, see, &watch);
    if (outcome == OUTCOME_OK && out->pumps.count + out->tanks.count + out->batteries.count == 0)
        return OUTCOME_REFUSED;
    return outcome;
}
