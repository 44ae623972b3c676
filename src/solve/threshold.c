/* threshold.c - sun thresholds. What the loads take at each root voltage does not depend on the
 * sun, and what the panels give does not depend on the loads: so for each root voltage there is
 * a least sun that feeds the loads there, found from the panels alone. Start and stop are the
 * lowest and highest points of that curve between the voltages that matter. Where loads stand among
 * the panels, or pumps share their water, the sun itself is halved instead. */
#include "solve/threshold.h"

#include <math.h>

#include "physics/root.h"
#include "solve/condition.h"
#include "solve/electric.h"
#include "solve/solve.h"
#include "solve/water.h"

/* The sun that is looked at, W/m2. */
#define LEAST_SUN 1.0
#define MOST_SUN 1300.0
enum { GRID = 48, MOST_CORNERS = 4, CUTS = 16, MOST_LOADS = 64, MOST_HALVED = 4 };

struct question {
    struct circuit *circuit;
    size_t tree;    /* of the panels */
    size_t taker;   /* whose answer is wanted */
    bool from_dark; /* else: at all */
    bool flows;     /* water has to come, not only turning */
};

/* The panels' tree that feeds a tree; NONE when anything else does, or nothing. */
static size_t panels_above(const struct circuit *circuit, size_t tree)
{
    for (size_t n = 0; n <= circuit->trees.count; n++) {
        const struct tree *t = &circuit->trees.at[tree];
        if (!t->known)
            return NONE;
        if (t->feeder == NONE)
            return t->panels && !t->battery && !t->supply && !t->charger ? tree : NONE;
        tree = circuit->knots.at[circuit->takers.at[t->feeder].knot].tree;
    }
    return NONE;
}

static size_t loads_on(const struct circuit *circuit, size_t tree)
{
    size_t loads = 0;
    for (size_t i = 0; i < circuit->takers.count; i++)
        loads +=
            panels_above(circuit, circuit->knots.at[circuit->takers.at[i].knot].tree) == tree &&
            circuit->takers.at[i].kind != TAKER_CONVERTER;
    return loads;
}

/* ---- By halving the sun ---- */

static double flow_now(struct circuit *circuit, const struct taker *taker)
{
    double by_speed;
    double speed = motor_speed(&taker->motor, taker->volts, true, NULL);
    water_share(circuit, taker->pump, speed, &by_speed);
    return circuit->pumps.at[taker->pump].answer.flow;
}

static bool holds(const struct question *question, double sun)
{
    struct circuit *circuit = question->circuit;
    const struct taker *taker = &circuit->takers.at[question->taker];
    electric_set_sun(circuit, sun, NAN);
    if (!electric_all_run(circuit, question->tree, question->from_dark))
        return false;
    if (taker->kind == TAKER_CONVERTER)
        return taker->state == CONVERTER_REGULATING;
    return !question->flows || flow_now(circuit, taker) > WATER_NOTHING_M3S;
}

/* The least sun from `low` up at which it holds, NAN: never. */
static double halve_sun(const struct question *question, double low)
{
    double high = NAN;
    if (isnan(low) || holds(question, low))
        return low;
    for (int i = 1; i <= GRID && isnan(high); i++) {
        double sun = LEAST_SUN * pow(MOST_SUN / LEAST_SUN, (double)i / GRID);
        if (sun <= low)
            continue;
        if (holds(question, sun))
            high = sun;
        else
            low = sun;
    }
    while (high - low > 1e-11 * high) {
        double middle = 0.5 * (low + high);
        if (holds(question, middle))
            high = middle;
        else
            low = middle;
    }
    return high;
}

/* ---- From the curve of least sun ---- */

struct curve {
    struct circuit *circuit;
    size_t tree;
    struct electric_split split;
    double start_v, limit_v, top_v; /* root voltages: start; least with all limits kept; highest */
    double regulates_v; /* where its first passing converter begins to regulate; 0: it has none */
    double near_sun;    /* the last that was found: the next lies close to it */
    struct {            /* the last answers: a converter's are often its pump's */
        double limit_v, start, stop;
    } last;
    double corner[MOST_CORNERS +
                  CUTS]; /* that, and where several loads share it some voltages between */
    size_t corner_count;
};

struct demand {
    struct curve *curve;
    double volts, amps;
};

static double excess(double sun, const void *with)
{
    const struct demand *demand = with;
    double slope;
    return electric_source(demand->curve->circuit, &demand->curve->split, sun, demand->volts,
                           &slope) -
           demand->amps;
}

/* The sun that gives a current at a voltage, by secants from the last that was found: what a panel
 * gives is nearly straight in the sun. NAN: they lead nowhere, or not to where it rises. */
static double sun_close_by(const struct demand *demand)
{
    double a = demand->curve->near_sun, fa = excess(a, demand);
    double b = a * (1.0 - fa / (fa + demand->amps)); /* through no current in no sun */
    for (int i = 0; i < 8 && b > LEAST_SUN && b < MOST_SUN; i++) {
        double fb = excess(b, demand), rise = (fb - fa) / (b - a);
        if (fb == 0.0 && (rise > 0.0 || b == a))
            return b;
        double next = b - fb / rise;
        if (!(rise > 0.0))
            break;
        if (fabs(next - b) <= 1e-14 * b)
            return next;
        a = b;
        fa = fb;
        b = next;
    }
    return NAN;
}

/* Least sun that gives a current at a voltage; INFINITY: none does. Close to the open voltage the
 * current can fall again as the cells warm up, so it is also looked for in between. */
static double sun_for(struct curve *curve, double volts, double amps)
{
    struct demand demand = {curve, volts, amps};
    double close = curve->near_sun > 0.0 ? sun_close_by(&demand) : NAN;
    if (!isnan(close))
        return curve->near_sun = close;
    double low = LEAST_SUN, low_value = excess(low, &demand);
    double high = MOST_SUN, high_value = excess(high, &demand);
    if (low_value >= 0.0)
        return low;
    for (int i = 1; i < GRID && high_value < 0.0; i++) {
        high = LEAST_SUN * pow(MOST_SUN / LEAST_SUN, (double)i / GRID);
        high_value = excess(high, &demand);
        if (high_value < 0.0) {
            low = high;
            low_value = high_value;
        }
    }
    if (!(high_value >= 0.0))
        return INFINITY;
    return curve->near_sun = root_between(excess, &demand, low, low_value, high, high_value);
}

/* The curve at a root voltage. *rises: the sign of its slope there (a steady point: above 0). */
static double curve_at(struct curve *curve, double volts, double *rises)
{
    double load_slope, source_slope;
    double amps = electric_load(curve->circuit, curve->tree, volts, &load_slope);
    if (rises)
        *rises = isfinite(amps) ? 1.0
                                : -1.0; /* what the wires cannot carry eases off with the voltage */
    if (!isfinite(amps))
        return INFINITY;
    double sun = sun_for(curve, volts, amps);
    if (rises) {
        electric_source(curve->circuit, &curve->split, fmin(sun, MOST_SUN), volts, &source_slope);
        *rises = load_slope - source_slope;
    }
    return sun;
}

struct along {
    struct curve *curve;
};

static double rise_at(double volts, const void *with)
{
    const struct along *along = with;
    double rises;
    curve_at(along->curve, volts, &rises);
    return rises;
}

/* As close to a corner as counts as its one side, as a share: the load may jump at it. */
#define BESIDE 1e-11

/* Lowest point of the curve between two voltages without a corner between. */
static double lowest_of_piece(struct curve *curve, double low, double high)
{
    double low_rises, high_rises;
    double at_low = curve_at(curve, low, &low_rises);
    if (low_rises >= 0.0)
        return at_low;
    double at_high = curve_at(curve, high, &high_rises);
    if (high_rises <= 0.0)
        return at_high;
    struct along along = {curve};
    /* where it is flat: 1e-8 of a voltage beside it the curve is 1e-16 higher */
    double volts = root_close(rise_at, &along, low, low_rises, high, high_rises, 1e-8);
    return fmin(curve_at(curve, volts, NULL), fmin(at_low, at_high));
}

static double lowest(struct curve *curve, double low, double high)
{
    double least = INFINITY, from = low;
    for (size_t i = 0; i <= curve->corner_count; i++) {
        double to = i < curve->corner_count ? curve->corner[i] : high;
        if (to > high)
            to = high;
        if (to > from || (i == curve->corner_count && from == low)) {
            bool corner = i < curve->corner_count && to == curve->corner[i];
            least = fmin(
                least, lowest_of_piece(curve, from, fmax(from, corner ? to * (1.0 - BESIDE) : to)));
            from = corner ? to * (1.0 + BESIDE) : to;
        }
    }
    return least;
}

/* Highest point: at an end or a corner, for every piece rises, or falls and then rises. */
static double highest(struct curve *curve, double low, double high)
{
    double most = fmax(curve_at(curve, low, NULL), curve_at(curve, high, NULL));
    for (size_t i = 0; i < curve->corner_count; i++)
        for (int side = -1; side <= 1; side += 2) {
            double volts = curve->corner[i] * (1.0 + side * BESIDE);
            if (volts > low && volts < high)
                most = fmax(most, curve_at(curve, volts, NULL));
        }
    return most;
}

static double margin_at(double volts, const void *with)
{
    const struct curve *curve = with;
    return electric_margin(curve->circuit, curve->tree, volts);
}

/* Least root voltage at which a rising function is not negative; INFINITY: none. */
static double least_volts(const struct curve *curve, root_function *function, const void *with)
{
    double top_value = function(curve->top_v, with);
    if (top_value < 0.0)
        return INFINITY;
    double volts = root_between(function, with, 0.0, function(0.0, with), curve->top_v, top_value);
    for (double nudge = 1e-15; nudge < 1e-6 && function(volts, with) < 0.0; nudge *= 2.0)
        volts += volts * nudge; /* onto the side where it holds */
    return volts;
}

static bool has_booster(const struct circuit *circuit, size_t tree)
{
    for (size_t i = 0; i < circuit->takers.count; i++)
        if (circuit->takers.at[i].booster &&
            circuit->knots.at[circuit->takers.at[i].knot].tree == tree)
            return true;
    return false;
}

static void add_cut(struct curve *curve, double volts)
{
    size_t at = curve->corner_count++;
    for (; at > 0 && curve->corner[at - 1] > volts; at--)
        curve->corner[at] = curve->corner[at - 1];
    curve->corner[at] = volts;
}

/* False: the short way does not suit this tree. */
static bool find_curve(struct circuit *circuit, size_t tree, struct curve *curve)
{
    *curve = (struct curve){.circuit = circuit, .tree = tree, .last.limit_v = NAN};
    size_t loads = loads_on(circuit, tree);
    if (loads > MOST_LOADS || circuit->coupled || has_booster(circuit, tree) ||
        !electric_split(circuit, tree, &curve->split))
        return false;
    static const double suns[] = {20.0, 100.0, 300.0, 600.0, 1000.0, 1300.0};
    for (size_t i = 0; i < sizeof suns / sizeof *suns; i++) {
        electric_set_sun(circuit, suns[i], NAN);
        curve->top_v = fmax(curve->top_v, electric_open_voltage(circuit, tree));
    }
    electric_switch_on(circuit, tree);
    curve->start_v = electric_start_voltage(circuit, tree);
    curve->corner_count = electric_corners(circuit, tree, curve->corner, MOST_CORNERS);
    curve->regulates_v = curve->corner_count ? curve->corner[0] : 0.0;
    for (size_t i = 1; loads > 1 && i < CUTS; i++)
        add_cut(curve, curve->top_v * (double)i / CUTS);
    curve->limit_v = least_volts(curve, margin_at, curve);
    margin_at(curve->start_v, curve);
    if (!electric_is_limited(circuit, tree))
        return true;
    electric_join(circuit, tree, &curve->split);
    return false;
}

/* Least sun at which any steady point at or above a root voltage exists. */
static double stop_of(struct curve *curve, double limit_v)
{
    return limit_v < curve->top_v ? lowest(curve, limit_v, curve->top_v) : INFINITY;
}

static double open_above(double sun, const void *with)
{
    const struct curve *curve = with;
    electric_set_sun(curve->circuit, sun, NAN);
    return electric_open_voltage(curve->circuit, curve->tree) - curve->start_v;
}

/* Least sun at which, switched on at the start voltage, it comes to a point at or above limit_v:
 * by climbing there past every voltage between, or by falling from the start onto it. */
static double start_of(struct curve *curve, double limit_v)
{
    if (!(limit_v < curve->top_v) || !(curve->start_v <= curve->top_v))
        return INFINITY;
    double sun = limit_v > curve->start_v ? highest(curve, curve->start_v, limit_v)
                                          : lowest(curve, limit_v, curve->start_v);
    if (!isfinite(sun))
        return sun;
    double over = open_above(sun, curve);
    if (over >= 0.0)
        return sun;
    /* enough current, but not yet the voltage to switch on */
    double high = MOST_SUN;
    for (int i = 1; i <= GRID && over < 0.0; i++) {
        high = sun * pow(MOST_SUN / sun, (double)i / GRID);
        over = open_above(high, curve);
    }
    return over < 0.0 ? INFINITY
                      : root_between(open_above, curve, sun, open_above(sun, curve), high, over);
}

struct speed_wanted {
    const struct curve *curve;
    size_t taker;
    double speed;
};

static double speed_above(double volts, const void *with)
{
    const struct speed_wanted *wanted = with;
    struct circuit *circuit = wanted->curve->circuit;
    const struct taker *taker = &circuit->takers.at[wanted->taker];
    double slope;
    if (!isfinite(electric_load(circuit, wanted->curve->tree, volts, &slope)))
        return -1.0;
    return motor_speed(&taker->motor, taker->volts, true, NULL) - wanted->speed;
}

/* Root voltage from which water comes; INFINITY: it never does. */
static double flow_voltage(const struct curve *curve, size_t taker_index)
{
    struct circuit *circuit = curve->circuit;
    struct taker *taker = &circuit->takers.at[taker_index];
    struct pump *pump = &circuit->pumps.at[taker->pump];
    double slope, by_speed, start = fmax(curve->limit_v, 0.0);
    if (!isfinite(start) || !isfinite(electric_load(circuit, curve->tree, start, &slope)))
        return INFINITY;
    if (flow_now(circuit, taker) > WATER_NOTHING_M3S)
        return start;
    double low = motor_speed(&taker->motor, taker->volts, true, NULL);
    electric_load(circuit, curve->tree, curve->top_v, &slope);
    double high = motor_speed(&taker->motor, taker->volts, true, NULL);
    if (!(high > low) || !(flow_now(circuit, taker) > WATER_NOTHING_M3S))
        return INFINITY;
    while (high - low > 1e-13 * high) {
        double middle = 0.5 * (low + high);
        water_share(circuit, taker->pump, middle, &by_speed);
        if (pump->answer.flow > WATER_NOTHING_M3S)
            high = middle;
        else
            low = middle;
        if (middle == low && middle == high)
            break;
    }
    struct speed_wanted wanted = {curve, taker_index, high};
    return least_volts(curve, speed_above, &wanted);
}

/* Root voltage from which a converter regulates. A step-up does so from below its output. */
static double regulating_voltage(const struct curve *curve, const struct taker *taker)
{
    double slope;
    if (isfinite(curve->limit_v) &&
        isfinite(electric_load(curve->circuit, curve->tree, curve->limit_v, &slope)) &&
        taker->state == CONVERTER_REGULATING)
        return curve->limit_v;
    if (!isfinite(electric_load(curve->circuit, curve->tree, curve->top_v, &slope)) ||
        taker->state != CONVERTER_REGULATING)
        return INFINITY; /* at its current limit, or its load is too much for it */
    return fmax(curve->limit_v, curve->regulates_v * (1.0 + BESIDE));
}

static double known(double sun)
{
    return isfinite(sun) ? sun : NAN;
}

static void answer_by_curve(struct curve *curve, size_t taker_index, bool pump)
{
    struct circuit *circuit = curve->circuit;
    const struct taker *taker = &circuit->takers.at[taker_index];
    double limit = pump ? curve->limit_v : regulating_voltage(curve, taker);
    if (curve->last.limit_v != limit) {
        curve->last.limit_v = limit;
        curve->last.start = start_of(curve, limit);
        curve->last.stop = stop_of(curve, limit);
    }
    circuit_put_once(circuit, taker->part, FIELD_START_SUN, known(curve->last.start));
    circuit_put_once(circuit, taker->part, FIELD_STOP_SUN, known(curve->last.stop));
    if (pump && water_knows_pump(circuit, taker->pump))
        circuit_put_once(circuit, taker->part, FIELD_FLOW_SUN,
                         known(start_of(curve, fmax(limit, flow_voltage(curve, taker_index)))));
}

/* Pumps on the same panels, all of which have to run, start and stop together: asked once. */
struct halved {
    size_t tree;
    double start, stop;
};

static void answer_by_halving(struct circuit *circuit, size_t tree, size_t taker_index, bool pump,
                              struct halved *known_already)
{
    const struct taker *taker = &circuit->takers.at[taker_index];
    struct question question = {circuit, tree, taker_index, true, false};
    bool asked = pump && known_already->tree == tree;
    double start = asked ? known_already->start : halve_sun(&question, LEAST_SUN);
    question.from_dark = false;
    double stop = asked ? known_already->stop : halve_sun(&question, LEAST_SUN);
    if (pump)
        *known_already = (struct halved){tree, start, stop};
    circuit_put_once(circuit, taker->part, FIELD_START_SUN, start);
    circuit_put_once(circuit, taker->part, FIELD_STOP_SUN, stop);
    question.from_dark = question.flows = true;
    if (pump && water_knows_pump(circuit, taker->pump)) /* not before it turns */
        circuit_put_once(circuit, taker->part, FIELD_FLOW_SUN, halve_sun(&question, start));
}

/* ---- */

static bool tell_too_many(const struct circuit *circuit, bool told)
{
    struct place at = {circuit->rig->file, 1, 1};
    if (!told)
        diagnostics_add(circuit->diagnostics, LEVEL_CAUTION, TOPIC_SETTLES, at,
                        "starting and stopping: more loads share these panels (more than %d, or %d "
                        "where their water "
                        "is shared too) than the sun at which each starts and stops is looked for.",
                        MOST_LOADS, MOST_HALVED);
    return true;
}

static void prepare(struct circuit *circuit)
{
    condition_set_mean(circuit, MOST_SUN);
    water_set_valves(circuit, false);
    circuit->pilots_follow = true;
}

void threshold_solve_by(struct circuit *circuit, bool short_way)
{
    prepare(circuit);
    struct curve curve = {.tree = NONE};
    struct halved halved = {.tree = NONE};
    bool suits = false, told = false;
    for (size_t i = 0; i < circuit->takers.count; i++) {
        const struct taker *taker = &circuit->takers.at[i];
        size_t tree = panels_above(circuit, circuit->knots.at[taker->knot].tree);
        bool pump = taker->kind == TAKER_MOTOR && circuit_is_kind(circuit, taker->part, "pump");
        if (tree == NONE || (!pump && taker->kind != TAKER_CONVERTER))
            continue;
        if (curve.tree != tree) {
            if (suits)
                electric_join(circuit, curve.tree, &curve.split);
            suits = short_way && find_curve(circuit, tree, &curve);
            curve.tree = tree;
        }
        if (suits)
            answer_by_curve(&curve, i, pump);
        else if (loads_on(circuit, tree) <= MOST_HALVED)
            answer_by_halving(circuit, tree, i, pump, &halved);
        else
            told = tell_too_many(circuit, told);
    }
    if (suits)
        electric_join(circuit, curve.tree, &curve.split);
    circuit->pilots_follow = false;
}

void threshold_solve(struct circuit *circuit)
{
    threshold_solve_by(circuit, true);
}
