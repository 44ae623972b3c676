#include "solve/electric.h"

#include <math.h>
#include <string.h>

#include "solve/water.h"

/* Newton's steps on a voltage end when they are this share of it. */
#define VOLTS_CLOSE 1e-13
/* They may end as well when what is left is this share at the most. */
#define VOLTS_LEFT 1e-11
/* Volts that are none: where unlike panels meet in the dark the search for 0 ends a little above
 * it. */
#define NOTHING_V 1e-12
/* How close to the voltage at which a converter begins to regulate its side is told, as a share. */
#define CORNER_CLOSE 1e-12
enum { MOST_STEPS = 100, SCAN = 48, MOST_ROUNDS = 60, MOST_DROPPED = 200 };

static double knot_current(struct circuit *circuit, size_t knot, double volts, double *slope);
static double tree_current(struct circuit *circuit, size_t tree, double volts, double *slope);

/* ---- Sources ---- */

static double chain_links_v(const struct circuit *circuit, const struct giver *giver, double amps,
                            double *slope)
{
    double sum = 0.0;
    *slope = 0.0;
    for (size_t i = 0; i < giver->link_count; i++) {
        double ohm;
        sum += conductor_drop_v(
            &circuit->stretches.at[circuit->links.at[giver->first_link + i]].run, amps, &ohm);
        *slope += ohm;
    }
    return sum;
}

static struct panel *panel_of(const struct circuit *circuit, const struct giver *giver,
                              size_t index)
{
    return &circuit->panels.at[circuit->chained.at[giver->first_panel + index]];
}

/* Voltage of a chain at a current, and its slope (ohm, never positive). */
static double chain_v(const struct circuit *circuit, const struct giver *giver, double amps,
                      double *slope)
{
    double sum = -chain_links_v(circuit, giver, amps, slope);
    *slope = -*slope;
    for (size_t i = 0; i < giver->panel_count; i++) {
        struct panel *panel = panel_of(circuit, giver, i);
        double siemens;
        panel->volts = pv_array_voltage(&panel->array, amps);
        panel->amps = amps;
        pv_array_current_near(&panel->array, panel->volts, &panel->junction_v, &siemens);
        sum += panel->volts;
        *slope += 1.0 / siemens;
    }
    return sum;
}

/* Current of unlike panels in series at a voltage: their voltages fall as it rises. */
static double chain_a(const struct circuit *circuit, struct giver *giver, double volts,
                      double *slope)
{
    double low = -1.0, high = 1.0, ohm = 0.0;
    for (size_t i = 0; i < giver->panel_count; i++)
        high = fmax(high,
                    2.0 * fabs(pv_array_short_current(&panel_of(circuit, giver, i)->array)) + 1.0);
    while (chain_v(circuit, giver, low, &ohm) < volts && low > -1e6)
        low *= 2.0;
    double amps = giver->guess_a;
    if (!(amps > low && amps < high))
        amps = 0.5 * (low + high);
    for (int i = 0; i < MOST_STEPS; i++) {
        double over = chain_v(circuit, giver, amps, &ohm) - volts;
        if (over > 0.0)
            low = amps;
        else
            high = amps;
        double next = amps - over / ohm;
        if (!(next > low && next < high) || !isfinite(next))
            next = 0.5 * (low + high);
        double step = fabs(next - amps);
        amps = next;
        if (step <= 1e-14 * (1.0 + fabs(amps)))
            break;
    }
    chain_v(circuit, giver, amps, &ohm);
    giver->guess_a = amps;
    *slope = 1.0 / ohm;
    return amps;
}

static double charger_a(struct circuit *circuit, const struct giver *giver, double volts,
                        double *slope);

/* What a source gives at its knot's voltage. */
static double giver_current(struct circuit *circuit, struct giver *giver, double volts,
                            double *slope)
{
    *slope = 0.0;
    switch (giver->kind) {
    case GIVER_PANELS:
        if (giver->panel_count == 1) {
            struct panel *panel = panel_of(circuit, giver, 0);
            panel->volts = volts;
            panel->amps = pv_array_current_near(&panel->array, volts, &panel->junction_v, slope);
            giver->amps = panel->amps;
        } else {
            giver->amps = chain_a(circuit, giver, volts, slope);
        }
        break;
    case GIVER_BATTERY:
        giver->amps = (giver->open_v - volts) / giver->resistance_ohm;
        *slope = -1.0 / giver->resistance_ohm;
        break;
    case GIVER_SUPPLY: {
        /* at a root it holds the knot and is not asked; elsewhere it is all but stiff */
        const double ohm = 1e-6;
        giver->amps = (giver->open_v - volts) / ohm;
        *slope = -1.0 / ohm;
        break;
    }
    case GIVER_CHARGER:
        giver->amps = charger_a(circuit, giver, volts, slope);
        break;
    }
    return giver->amps;
}

static double giver_open_v(const struct circuit *circuit, const struct giver *giver)
{
    double sum = 0.0;
    if (giver->kind != GIVER_PANELS)
        return giver->kind == GIVER_CHARGER ? 0.0 : giver->open_v;
    for (size_t i = 0; i < giver->panel_count; i++)
        sum += panel_of(circuit, giver, i)->open_v;
    return sum;
}

/* ---- What hangs below a wire ---- */

struct hanging { /* a tree, or the part of one from a knot down, below a wire that ends at a voltage
                  */
    struct circuit *circuit;
    size_t tree, knot; /* tree NONE: the knot and what is below it */
    const struct conductor_run *run;
    double above_v;
};

/* Excess of the voltage below plus what the wire loses over the voltage above; *current and
 * *current_slope: what hangs there takes. */
static double excess_below(const struct hanging *hanging, double volts, double *slope,
                           double *current, double *current_slope)
{
    *current = hanging->tree == NONE
                   ? knot_current(hanging->circuit, hanging->knot, volts, current_slope)
                   : tree_current(hanging->circuit, hanging->tree, volts, current_slope);
    if (!isfinite(*current))
        return INFINITY;
    double ohm;
    double drop = conductor_drop_v(hanging->run, *current, &ohm);
    *slope = 1.0 + ohm * *current_slope;
    return volts + drop - hanging->above_v;
}

/* How a search along convex laws ended. */
enum search {
    SEARCH_FOUND,
    SEARCH_TURNED, /* it came to where more voltage means less: from above there is no answer */
    SEARCH_LOST,
};

/* Newton from *volts towards the highest voltage at which a knot and its wire agree. From the
 * right of it a load of constant power makes the excess convex, so that the steps come down
 * onto the highest answer. Where two steps on either side of it do not come on, their middle is
 * tried. */
static enum search newton_below(const struct hanging *hanging, double *volts, double *current,
                                double *current_slope)
{
    double top = fmax(1.0, fabs(hanging->above_v));
    double last = INFINITY, low = -top, high = INFINITY;
    for (int i = 0; i < MOST_STEPS; i++) {
        double slope;
        double excess = excess_below(hanging, *volts, &slope, current, current_slope);
        if (!isfinite(excess) || !(slope > 0.0))
            return SEARCH_TURNED;
        if (excess > 0.0)
            high = fmin(high, *volts);
        else
            low = fmax(low, *volts);
        double next = *volts - excess / slope;
        if (i > 4 && fabs(next - *volts) > 0.5 * last && isfinite(high))
            next = 0.5 * (low + high);
        double step = fabs(next - *volts);
        if (step <= VOLTS_CLOSE * top || high - low <= VOLTS_CLOSE * top)
            return SEARCH_FOUND;
        *volts = next;
        if (*volts < -top)
            return SEARCH_TURNED;
        last = step;
    }
    return SEARCH_LOST;
}

/* The slow way: looks down from the top for a change of sign, then halves. */
static bool scan_below(const struct hanging *hanging, double *volts, double *current,
                       double *current_slope)
{
    double slope, high = fmax(hanging->above_v, 0.0);
    double from = excess_below(hanging, high, &slope, current, current_slope);
    for (int i = 1; i <= SCAN; i++) {
        double low = hanging->above_v * (1.0 - (double)i / SCAN);
        double at = excess_below(hanging, low, &slope, current, current_slope);
        if (at <= 0.0 && from >= 0.0 && isfinite(from)) {
            for (int k = 0; k < 200 && high - low > VOLTS_CLOSE * (1.0 + fabs(high)); k++) {
                double middle = 0.5 * (low + high);
                if (excess_below(hanging, middle, &slope, current, current_slope) > 0.0)
                    high = middle;
                else
                    low = middle;
            }
            *volts = low;
            return isfinite(excess_below(hanging, low, &slope, current, current_slope));
        }
        from = at;
        high = low;
    }
    return false;
}

static bool may_jump(const struct circuit *circuit, const struct tree *tree);

/* Current into a wire of which the far end takes what it takes; INFINITY when no voltage there
 * agrees. *slope: by the voltage above. */
static double current_below(const struct hanging *hanging, double guess_v, double *slope)
{
    double volts = guess_v, current, current_slope;
    struct circuit *circuit = hanging->circuit;
    enum search end = newton_below(hanging, &volts, &current, &current_slope);
    if (end != SEARCH_FOUND && guess_v != hanging->above_v) {
        volts = hanging->above_v;
        end = newton_below(hanging, &volts, &current, &current_slope);
    }
    size_t tree = hanging->tree == NONE ? circuit->knots.at[hanging->knot].tree : hanging->tree;
    bool look =
        end == SEARCH_LOST || (end == SEARCH_TURNED && may_jump(circuit, &circuit->trees.at[tree]));
    if (end != SEARCH_FOUND && !(look && scan_below(hanging, &volts, &current, &current_slope))) {
        *slope = 0.0;
        return INFINITY;
    }
    double ohm;
    conductor_drop_v(hanging->run, current, &ohm);
    *slope = current_slope / (1.0 + ohm * current_slope);
    return current;
}

static double stretch_current(struct circuit *circuit, struct stretch *stretch, double volts,
                              double *slope)
{
    struct hanging hanging = {circuit, NONE, stretch->lower, &stretch->run, volts};
    double amps = current_below(&hanging, volts, slope);
    stretch->amps = isfinite(amps) ? amps : 0.0;
    return amps;
}

/* ---- Loads ---- */

static double motor_current_at(struct circuit *circuit, struct taker *taker, double volts,
                               double *slope)
{
    double by_volt, by_speed;
    double speed = motor_speed(&taker->motor, volts, true, &by_volt);
    double share = 1.0;
    by_speed = 0.0;
    if (taker->pump != NONE)
        share = water_share(circuit, taker->pump, speed, &by_speed);
    struct motor_point point = motor_current(&taker->motor, volts, share);
    taker->amps = taker->count * point.amps;
    *slope = taker->count * (point.amps_per_volt + point.amps_per_share * by_speed * by_volt);
    return taker->amps;
}

/* Converter whose load asks for more than its limit: the output falls to where the load takes
 * just that, from the highest voltage down; held_v is what it could hold at that current. */
static double find_limited_v(struct circuit *circuit, const struct taker *taker, double held_v)
{
    size_t tree = taker->output_tree;
    double most = taker->converter.max_a, high = held_v, low = 0.0, slope;
    bool found = false;
    for (int i = 1; i <= SCAN && !found; i++) {
        low = held_v * (1.0 - (double)i / SCAN);
        found = tree_current(circuit, tree, low, &slope) <= most;
        if (!found)
            high = low;
    }
    if (!found)
        return 0.0; /* it asks for too much at any voltage */
    double volts = low;
    for (int i = 0; i < MOST_STEPS && high - low > VOLTS_CLOSE * held_v; i++) {
        double over = tree_current(circuit, tree, volts, &slope) - most;
        if (over > 0.0)
            high = volts;
        else
            low = volts;
        double next = volts - over / slope;
        if (!(slope > 0.0) || !(next > low && next < high))
            next = 0.5 * (low + high);
        double step = fabs(next - volts);
        volts = next;
        if (step <= VOLTS_CLOSE * held_v)
            break;
    }
    return volts;
}

static bool on_tree(const struct circuit *circuit, const struct taker *taker, size_t tree);

/* Which of the loads on a tree, and behind it, are on, as one number (FNV-1a; that two sets should
 * share one is beyond all likelihood). */
static size_t who_runs(const struct circuit *circuit, size_t tree)
{
    size_t running = (size_t)14695981039346656037u;
    for (size_t i = 0; i < circuit->takers.count; i++) {
        const struct taker *taker = &circuit->takers.at[i];
        if (!on_tree(circuit, taker, tree))
            continue;
        running = (running ^ (2 * i + taker->on)) * (size_t)1099511628211u;
        if (taker->kind == TAKER_CONVERTER && taker->output_tree != NONE)
            running ^= who_runs(circuit, taker->output_tree);
    }
    return running;
}

/* Is what a tree takes a matter of its voltage, its loads and their water alone? */
static bool has_loads_alone(const struct circuit *circuit, const struct tree *tree)
{
    return tree->feeder != NONE && !tree->panels && !tree->battery && !tree->supply &&
           !tree->charger && !circuit->coupled;
}

/* What the loads take at a voltage does not hang on the sun: once a voltage was found from above,
 * it is the answer from every voltage down to it, until a load, its water or the weather changes.
 */
static double limited_v(struct circuit *circuit, struct taker *taker, double held_v)
{
    bool own = has_loads_alone(circuit, &circuit->trees.at[taker->output_tree]);
    if (!(held_v > 0.0) || isinf(taker->converter.max_a))
        return 0.0;
    size_t running = who_runs(circuit, taker->output_tree);
    if (own && taker->limit.epoch == circuit->epoch && taker->limit.running == running &&
        held_v <= taker->limit.held_v && held_v > taker->limit.volts)
        return taker->limit.volts;
    double volts = find_limited_v(circuit, taker, held_v);
    taker->limit.held_v = held_v;
    taker->limit.volts = volts;
    taker->limit.epoch = circuit->epoch;
    taker->limit.running = running;
    return volts;
}

/* Settles what hangs at a converter's output for an input voltage. */
static void settle_output(struct circuit *circuit, struct taker *taker, double volts,
                          double *conductance)
{
    const struct converter *converter = &taker->converter;
    struct converter_drop drop = converter_drop(converter);
    size_t tree = taker->output_tree;
    taker->output_v = converter->output_v;
    taker->output_a = 0.0;
    *conductance = 0.0;
    if (tree == NONE) {
        taker->output_v = converter_output_v(converter, volts, 0.0, NULL, NULL);
        taker->state = converter_state(converter, volts, taker->output_v, 0.0);
        return;
    }
    taker->output_a = tree_current(circuit, tree, taker->output_v, conductance);
    double held_v = isfinite(taker->output_a)
                        ? converter_output_v(converter, volts, taker->output_a, NULL, NULL)
                        : 0.0;
    if (isfinite(taker->output_a) && held_v < converter->output_v) {
        /* passing: the load hangs on the input through a resistance */
        struct conductor_run run = {.full_current_a = INFINITY,
                                    .contacts_ohm = drop.resistance_ohm};
        struct hanging hanging = {circuit, tree, NONE, &run, volts - drop.constant_v};
        double slope;
        taker->output_a = current_below(&hanging, hanging.above_v, &slope);
        if (isfinite(taker->output_a)) {
            taker->output_v = hanging.above_v - drop.resistance_ohm * taker->output_a;
            taker->output_a = tree_current(circuit, tree, taker->output_v, conductance);
        }
    }
    if (!(taker->output_a <= converter->max_a)) {
        taker->output_v = limited_v(
            circuit, taker, converter_output_v(converter, volts, converter->max_a, NULL, NULL));
        taker->output_a = tree_current(circuit, tree, taker->output_v, conductance);
        if (!(taker->output_a < converter->max_a * (1.0 + 1e-9)))
            taker->output_a = converter->max_a; /* it holds nothing: the output lies at 0 V */
        *conductance = 0.0;
    }
    taker->state = converter_state(converter, volts, taker->output_v, taker->output_a);
    if (taker->output_a >= converter->max_a * (1.0 - 1e-12) &&
        taker->output_v < converter->output_v)
        taker->state = CONVERTER_LIMITED;
}

/* A booster that tracks: its output stands where the load takes what the panels' best power leaves.
 */
static double boosted_current(struct circuit *circuit, struct taker *taker, double *slope)
{
    double left = fmax(0.0, taker->panel_v * taker->panel_a - taker->converter.idle_w) *
                  taker->converter.efficiency;
    double low = 0.0, high = taker->converter.output_v, by_volt;
    size_t tree = taker->output_tree;
    taker->output_v = taker->output_a = 0.0;
    for (int i = 0; i < 100 && tree != NONE && high - low > VOLTS_CLOSE * high; i++) {
        double middle = 0.5 * (low + high);
        if (middle * tree_current(circuit, tree, middle, &by_volt) > left)
            high = middle;
        else
            low = middle;
    }
    if (tree != NONE && low > 0.0) {
        taker->output_v = low;
        taker->output_a = tree_current(circuit, tree, low, &by_volt);
    }
    taker->state = CONVERTER_LIMITED;
    taker->amps = taker->panel_a;
    *slope = 0.0;
    return taker->amps;
}

static double converter_current(struct circuit *circuit, struct taker *taker, double volts,
                                double *slope)
{
    double conductance;
    if (taker->tracking)
        return boosted_current(circuit, taker, slope);
    settle_output(circuit, taker, volts, &conductance);
    if (taker->state == CONVERTER_LIMITED) {
        struct converter_input input =
            converter_input(&taker->converter, volts, taker->output_v, taker->output_a);
        taker->amps = input.amps;
        *slope = input.per_input_v;
    } else {
        struct converter_seen seen =
            converter_seen(&taker->converter, volts, taker->output_v, taker->output_a, conductance);
        taker->state = seen.state;
        taker->amps = seen.input_a;
        *slope = seen.per_input_v;
    }
    return taker->amps;
}

static double taker_current(struct circuit *circuit, struct taker *taker, double volts,
                            double *slope)
{
    *slope = 0.0;
    taker->volts = volts;
    taker->amps = 0.0;
    if (!taker->on || taker->kind == TAKER_CHARGER) {
        water_set_speed(circuit, taker->pump, 0.0);
        return 0.0;
    }
    return taker->kind == TAKER_CONVERTER ? converter_current(circuit, taker, volts, slope)
                                          : motor_current_at(circuit, taker, volts, slope);
}

/* What the loads at a knot take less what its sources give. */
static double local_current(struct circuit *circuit, struct knot *knot, double volts, double *slope)
{
    double sum = 0.0, more;
    *slope = 0.0;
    knot->volts = volts;
    for (size_t i = knot->first_taker; i != NONE; i = circuit->takers.at[i].next) {
        sum += taker_current(circuit, &circuit->takers.at[i], volts, &more);
        *slope += more;
    }
    for (size_t i = knot->first_giver; i != NONE; i = circuit->givers.at[i].next) {
        sum -= giver_current(circuit, &circuit->givers.at[i], volts, &more);
        *slope -= more;
    }
    return sum;
}

/* All that leaves a knot downwards, one wire after the other. Slow, but it sees every answer. */
static double knot_current(struct circuit *circuit, size_t knot, double volts, double *slope)
{
    struct knot *k = &circuit->knots.at[knot];
    double sum = local_current(circuit, k, volts, slope), more;
    for (size_t i = k->first_stretch; i != NONE && isfinite(sum);
         i = circuit->stretches.at[i].next) {
        sum += stretch_current(circuit, &circuit->stretches.at[i], volts, &more);
        *slope += more;
    }
    return sum;
}

/* One step of Newton on all knots of a tree at once: every law as a straight line, gathered from
 * the leaves (each knot takes base + slope u), then the voltages laid out from the root.
 * weight: how much of the way is gone. *moved: the largest change of a voltage that was wanted;
 * NAN when a line turns the wrong way. */
static void sweep(struct circuit *circuit, const struct tree *tree, double volts, double weight,
                  double *moved)
{
    const size_t *order = &circuit->order.at[tree->first_knot];
    for (size_t i = tree->knot_count; i-- > 0;) {
        struct knot *knot = &circuit->knots.at[order[i]];
        double u = i == 0 ? volts : knot->volts, slope;
        double current = local_current(circuit, knot, u, &slope);
        knot->base = current - slope * u;
        knot->slope = slope;
        for (size_t s = knot->first_stretch; s != NONE; s = circuit->stretches.at[s].next) {
            struct stretch *stretch = &circuit->stretches.at[s];
            const struct knot *lower = &circuit->knots.at[stretch->lower];
            double ohm, drop = conductor_drop_v(&stretch->run, stretch->amps, &ohm);
            double turn = 1.0 + lower->slope * ohm;
            stretch->offset = ohm * stretch->amps - drop;
            stretch->ohm = ohm;
            if (!(turn > 0.0)) {
                *moved = NAN;
                return;
            }
            knot->base += (lower->base + lower->slope * stretch->offset) / turn;
            knot->slope += lower->slope / turn;
        }
    }
    *moved = 0.0;
    for (size_t i = 0; i < tree->knot_count; i++) {
        struct knot *knot = &circuit->knots.at[order[i]];
        for (size_t s = knot->first_stretch; s != NONE; s = circuit->stretches.at[s].next) {
            struct stretch *stretch = &circuit->stretches.at[s];
            struct knot *lower = &circuit->knots.at[stretch->lower];
            double amps = (lower->base + lower->slope * (knot->volts + stretch->offset)) /
                          (1.0 + lower->slope * stretch->ohm);
            double below_v = knot->volts + stretch->offset - stretch->ohm * amps;
            *moved = fmax(*moved, fabs(below_v - lower->volts));
            stretch->amps += weight * (amps - stretch->amps);
            lower->volts += weight * (below_v - lower->volts);
            if (!isfinite(amps))
                *moved = NAN;
        }
    }
}

/* Has a search by Newton arrived? The next step would be smaller than this one by as much at least
 * as this one is smaller than the last. */
static bool has_arrived(double step, double last, double top)
{
    return step <= VOLTS_CLOSE * top || (isfinite(last) && step * step <= VOLTS_LEFT * top * last);
}

static enum search settle_knots(struct circuit *circuit, const struct tree *tree, double volts)
{
    double last = INFINITY, weight = 1.0, top = fmax(1.0, fabs(volts));
    for (int i = 0; i < MOST_STEPS; i++) {
        double moved;
        sweep(circuit, tree, volts, weight, &moved);
        if (isnan(moved) || moved > 1e6 * top)
            return SEARCH_TURNED;
        if (has_arrived(moved, circuit->rough ? last : INFINITY, top))
            return SEARCH_FOUND;
        /* swinging to and fro over a corner: shorter steps; coming on well: longer ones again */
        if (i > 4)
            weight = moved > last * (1.0 - 0.5 * weight) ? fmax(0.05, 0.6 * weight)
                                                         : fmin(1.0, 1.5 * weight);
        last = moved;
    }
    return SEARCH_LOST;
}

static void level_knots(struct circuit *circuit, const struct tree *tree, double volts)
{
    for (size_t i = 0; i < tree->knot_count; i++) {
        struct knot *knot = &circuit->knots.at[circuit->order.at[tree->first_knot + i]];
        knot->volts = volts;
        if (knot->above != NONE)
            circuit->stretches.at[knot->above].amps = 0.0;
    }
}

static bool may_jump(const struct circuit *circuit, const struct tree *tree)
{
    for (size_t i = 0; i < tree->knot_count; i++)
        for (size_t t = circuit->knots.at[circuit->order.at[tree->first_knot + i]].first_taker;
             t != NONE; t = circuit->takers.at[t].next)
            if (circuit->takers.at[t].on && circuit->takers.at[t].kind == TAKER_CONVERTER &&
                circuit->takers.at[t].converter.pass_through)
                return true;
    return false;
}

/* Deeper than this the slow way would take too long: each level costs ten times the one above. */
enum { SLOW_KNOTS = 6 };

static double find_tree_current(struct circuit *circuit, const struct tree *tree, double volts,
                                double *slope)
{
    struct knot *root = &circuit->knots.at[tree->root];
    if (tree->knot_count == 1)
        return local_current(circuit, root, volts, slope);
    /* A converter that begins to regulate may take less than just before: of two answers the higher
     * one counts, so the search comes from above. Else it starts from where it last was. */
    bool jumps = may_jump(circuit, tree);
    if (jumps)
        level_knots(circuit, tree, volts);
    enum search end = settle_knots(circuit, tree, volts);
    if (end != SEARCH_FOUND && !jumps) {
        level_knots(circuit, tree, volts);
        end = settle_knots(circuit, tree, volts);
    }
    if (end == SEARCH_FOUND) {
        *slope = root->slope;
        return root->base + root->slope * volts;
    }
    level_knots(circuit, tree, volts);
    *slope = 0.0;
    bool look = tree->knot_count <= SLOW_KNOTS && (jumps || end == SEARCH_LOST);
    return look ? knot_current(circuit, tree->root, volts, slope) : INFINITY;
}

/* What loads take at a voltage hangs on nothing that stands before them: a converter that holds its
 * output asks for the same again and again. */
static double tree_current(struct circuit *circuit, size_t tree_index, double volts, double *slope)
{
    struct tree *tree = &circuit->trees.at[tree_index];
    if (!has_loads_alone(circuit, tree))
        return find_tree_current(circuit, tree, volts, slope);
    size_t running = who_runs(circuit, tree_index);
    if (!tree->last.known || tree->last.volts != volts || tree->last.epoch != circuit->epoch ||
        tree->last.running != running || (tree->last.rough && !circuit->rough)) {
        tree->last.amps = find_tree_current(circuit, tree, volts, &tree->last.slope);
        tree->last.volts = volts;
        tree->last.epoch = circuit->epoch;
        tree->last.running = running;
        tree->last.known = true;
        tree->last.rough = circuit->rough;
    }
    *slope = tree->last.slope;
    return tree->last.amps;
}

double electric_root_current(struct circuit *circuit, size_t tree, double volts, double *slope)
{
    return tree_current(circuit, tree, volts, slope);
}

/* ---- Meeting points ---- */

static size_t index_of(const struct circuit *circuit, const struct tree *tree)
{
    return (size_t)(tree - circuit->trees.at);
}

/* What the sources give more than the loads take, at the root. */
static double surplus(struct circuit *circuit, const struct tree *tree, double volts, double *slope)
{
    double current = tree_current(circuit, index_of(circuit, tree), volts, slope);
    *slope = -*slope;
    return isfinite(current) ? -current : -INFINITY;
}

/* The voltage between low (surplus) and high (lack) at which they meet: Newton from above, by
 * halves where it leaves the bracket or does not come on (a pump that just reaches its outlet
 * turns the load's slope into a cliff). */
static double meet(struct circuit *circuit, const struct tree *tree, double low, double high)
{
    double volts = high, last = INFINITY;
    circuit->rough = !circuit->coupled;
    for (int i = 0; i < MOST_STEPS; i++) {
        double slope;
        double more = surplus(circuit, tree, volts, &slope);
        if (more >= 0.0)
            low = volts;
        else
            high = volts;
        double next = volts - more / slope;
        if (!isfinite(more) || !(slope < 0.0) || !(next >= low && next <= high) ||
            (i > 4 && fabs(next - volts) > 0.5 * last))
            next = 0.5 * (low + high);
        double step = fabs(next - volts);
        volts = next;
        if (has_arrived(step, circuit->rough ? last : INFINITY, fabs(volts)) ||
            high - low <= VOLTS_CLOSE * fabs(high))
            break;
        last = step;
    }
    circuit->rough = false;
    double slope;
    if (circuit->coupled) /* each pump answers to the last speeds of the others: once more */
        surplus(circuit, tree, volts, &slope);
    return volts;
}

/* Where the surplus is largest between low (it rises there) and high (it falls). */
static double crest(struct circuit *circuit, const struct tree *tree, double low, double high,
                    double *value)
{
    double best_v = low, slope;
    *value = -INFINITY;
    for (int i = 0; i < 60 && high - low > 1e-9 * fabs(high); i++) {
        double middle = 0.5 * (low + high);
        double more = surplus(circuit, tree, middle, &slope);
        if (more > *value) {
            *value = more;
            best_v = middle;
        }
        if (*value >= 0.0)
            break;
        if (!isfinite(more) || slope > 0.0)
            low = middle;
        else
            high = middle;
    }
    return best_v;
}

/* Root voltages at which a law on the tree changes its form, rising; at most `room`. */
static size_t corners(struct circuit *circuit, const struct tree *tree, double *out, size_t room)
{
    size_t count = 0;
    for (size_t i = 0; i < circuit->takers.count && count < room; i++) {
        struct taker *taker = &circuit->takers.at[i];
        if (taker->kind != TAKER_CONVERTER || !taker->on ||
            circuit->knots.at[taker->knot].tree != index_of(circuit, tree))
            continue;
        if (!converter_can_pass(&taker->converter))
            continue;
        /* where it begins to regulate: its input, and what its wires lose on the way */
        struct converter_drop drop = converter_drop(&taker->converter);
        double slope, amps = 0.0;
        if (taker->output_tree != NONE)
            amps = tree_current(circuit, taker->output_tree, taker->converter.output_v, &slope);
        if (!isfinite(amps))
            continue;
        double volts = taker->converter.output_v + drop.constant_v + drop.resistance_ohm * amps;
        volts *=
            1.0 + CORNER_CLOSE; /* on the side where it regulates: its current may jump there */
        double input_a =
            converter_input(&taker->converter, volts, taker->converter.output_v, amps).amps;
        for (size_t k = taker->knot; circuit->knots.at[k].above != NONE;
             k = circuit->stretches.at[circuit->knots.at[k].above].upper)
            volts += conductor_drop_v(&circuit->stretches.at[circuit->knots.at[k].above].run,
                                      input_a, NULL);
        size_t at = count++;
        for (; at > 0 && out[at - 1] > volts; at--)
            out[at] = out[at - 1];
        out[at] = volts;
    }
    return count;
}

enum { MOST_CORNERS = 8, MOST_CUTS = 40 };
/* As close to a corner as counts as its one side, as a share. */
#define BESIDE 1e-11

/* Voltages from low to high between which the surplus is looked at: the ends, the corners and,
 * where several loads share the tree or one is at its current limit, some between. The tree's state
 * is that at low. */
static size_t cuts(struct circuit *circuit, const struct tree *tree, double low, double high,
                   double *out)
{
    double corner[MOST_CORNERS];
    size_t corner_count = corners(circuit, tree, corner, MOST_CORNERS);
    size_t loads = 0, count = 0;
    for (size_t i = 0; i < circuit->takers.count; i++) {
        const struct taker *taker = &circuit->takers.at[i];
        if (taker->on && circuit->knots.at[taker->knot].tree == index_of(circuit, tree))
            loads += taker->kind == TAKER_CONVERTER && taker->state == CONVERTER_LIMITED ? 2 : 1;
    }
    size_t parts = loads > 1 ? MOST_CUTS - 2 * MOST_CORNERS - 2 : 1;
    size_t next = 0;
    out[count++] = low;
    for (size_t i = 1; i <= parts; i++) {
        double at = i == parts ? high : low + (high - low) * (double)i / (double)parts;
        for (; next < corner_count && corner[next] < at; next++)
            for (int side = -1; side <= 1; side += 2) /* the load may jump at it */
                if (corner[next] * (1.0 + side * BESIDE) > out[count - 1])
                    out[count++] = corner[next] * (1.0 + side * BESIDE);
        out[count++] = at;
    }
    return count;
}

/* The first meeting point above low, where the surplus was just looked at and is not negative. */
static double climb(struct circuit *circuit, const struct tree *tree, double low, double high)
{
    double at[MOST_CUTS], slope;
    size_t count = cuts(circuit, tree, low, high, at);
    for (size_t i = 1; i < count; i++)
        if (i + 1 == count || surplus(circuit, tree, at[i], &slope) < 0.0)
            return meet(circuit, tree, at[i - 1], at[i]);
    return high;
}

/* The first meeting point below high, where the loads take more than there is; NAN: none. */
static double fall(struct circuit *circuit, const struct tree *tree, double low, double high)
{
    double at[MOST_CUTS], high_slope;
    surplus(circuit, tree, low, &high_slope);
    size_t count = cuts(circuit, tree, low, high, at);
    double above = surplus(circuit, tree, high, &high_slope);
    for (size_t i = count - 1; i-- > 0;) {
        double slope, top = at[i + 1];
        double here = surplus(circuit, tree, at[i], &slope);
        if (here >= 0.0)
            return meet(circuit, tree, at[i], top);
        if (high_slope < 0.0 && isfinite(above)) { /* it rises below the top, perhaps far enough */
            double most;
            double crest_v = crest(circuit, tree, at[i], top, &most);
            if (most >= 0.0)
                return meet(circuit, tree, crest_v, top);
        }
        high_slope = slope;
        above = here;
    }
    return NAN;
}

/* ---- What runs ---- */

static bool on_tree(const struct circuit *circuit, const struct taker *taker, size_t tree)
{
    return circuit->knots.at[taker->knot].tree == tree;
}

/* Turns everything on a tree on or off, with all behind its converters. */
static void switch_tree(struct circuit *circuit, size_t tree, bool on)
{
    for (size_t i = 0; i < circuit->takers.count; i++) {
        struct taker *taker = &circuit->takers.at[i];
        if (!on_tree(circuit, taker, tree))
            continue;
        taker->on = on;
        taker->tracking = false;
        if (taker->kind == TAKER_CONVERTER && taker->output_tree != NONE)
            switch_tree(circuit, taker->output_tree, on);
    }
}

static void switch_taker(struct circuit *circuit, size_t taker, bool on)
{
    circuit->takers.at[taker].tracking = false;
    circuit->takers.at[taker].on = on;
    if (circuit->takers.at[taker].kind == TAKER_CONVERTER &&
        circuit->takers.at[taker].output_tree != NONE)
        switch_tree(circuit, circuit->takers.at[taker].output_tree, on);
}

/* Largest start voltage of what is on, on this tree; a passing converter's loads count too. */
static double start_voltage(const struct circuit *circuit, size_t tree)
{
    double most = 0.0;
    for (size_t i = 0; i < circuit->takers.count; i++) {
        const struct taker *taker = &circuit->takers.at[i];
        if (!taker->on || !on_tree(circuit, taker, tree) || taker->kind == TAKER_CHARGER)
            continue;
        most = fmax(most, taker->start_v);
        if (taker->kind == TAKER_CONVERTER && taker->converter.pass_through &&
            taker->output_tree != NONE)
            most = fmax(most, start_voltage(circuit, taker->output_tree));
    }
    return most;
}

static double open_voltage(const struct circuit *circuit, size_t tree)
{
    double most = 0.0;
    for (size_t i = 0; i < circuit->givers.count; i++)
        if (circuit->knots.at[circuit->givers.at[i].knot].tree == tree)
            most = fmax(most, giver_open_v(circuit, &circuit->givers.at[i]));
    return most;
}

#define NO_VOLTAGE 1e-6 /* of its limit */

/* The one on this tree or behind it that is furthest below its limit: its own share of it. */
static double weakest(const struct circuit *circuit, size_t tree, bool starting, double volts,
                      size_t *which)
{
    double least = INFINITY;
    const struct rig *rig = circuit->rig;
    for (size_t i = 0; i < circuit->takers.count; i++) {
        const struct taker *taker = &circuit->takers.at[i];
        if (!taker->on || !on_tree(circuit, taker, tree) || taker->kind == TAKER_CHARGER)
            continue;
        double limit = starting ? taker->start_v : taker->stop_v;
        if (limit > 0.0) {
            double share = (starting ? volts : taker->volts) / limit;
            if (share < NO_VOLTAGE) /* what rounding left at an output that lies down, or below */
                share = 0.0;
            bool earlier = share == least && *which != NONE &&
                           strcmp(rig->parts[taker->part].id,
                                  rig->parts[circuit->takers.at[*which].part].id) < 0;
            if (share < least || earlier) {
                least = share;
                *which = i;
            }
        }
        bool behind = taker->kind == TAKER_CONVERTER && taker->output_tree != NONE &&
                      (!starting || taker->converter.pass_through);
        if (behind) {
            size_t inner = NONE;
            double share = weakest(circuit, taker->output_tree, starting, volts, &inner);
            if (share < least) {
                least = share;
                *which = inner;
            }
        }
    }
    return least;
}

/* Leaves out everything that needs more than a voltage to start; true: there was something. */
static bool drop_unable(struct circuit *circuit, size_t tree, double volts)
{
    bool dropped = false;
    for (size_t i = 0; i < circuit->takers.count; i++) {
        struct taker *taker = &circuit->takers.at[i];
        if (!taker->on || !on_tree(circuit, taker, tree) || taker->kind == TAKER_CHARGER)
            continue;
        if (taker->start_v > volts) {
            switch_taker(circuit, i, false);
            dropped = true;
        } else if (taker->kind == TAKER_CONVERTER && taker->converter.pass_through &&
                   taker->output_tree != NONE) {
            dropped |= drop_unable(circuit, taker->output_tree, volts);
        }
    }
    return dropped;
}

/* First load of the tree by id; a converter stands for all behind it. */
static size_t first_by_id(const struct circuit *circuit, size_t tree)
{
    size_t first = NONE;
    const struct rig *rig = circuit->rig;
    for (size_t i = 0; i < circuit->takers.count; i++) {
        const struct taker *taker = &circuit->takers.at[i];
        if (!taker->on || !on_tree(circuit, taker, tree) || taker->kind == TAKER_CHARGER)
            continue;
        if (first == NONE ||
            strcmp(rig->parts[taker->part].id, rig->parts[circuit->takers.at[first].part].id) < 0)
            first = i;
    }
    return first;
}

/* Everything behind a converter that is off has no voltage. */
static void blank_outputs(struct circuit *circuit, size_t tree)
{
    for (size_t i = 0; i < circuit->takers.count; i++) {
        struct taker *taker = &circuit->takers.at[i];
        if (!on_tree(circuit, taker, tree) || taker->kind != TAKER_CONVERTER)
            continue;
        if (!taker->on) {
            taker->output_v = taker->output_a = 0.0;
            taker->state = CONVERTER_OFF;
        }
        if (taker->output_tree == NONE)
            continue;
        struct tree *output = &circuit->trees.at[taker->output_tree];
        output->last.known = output->last.known && taker->on;
        for (size_t k = 0; k < output->knot_count && !taker->on; k++) {
            struct knot *knot = &circuit->knots.at[circuit->order.at[output->first_knot + k]];
            knot->volts = 0.0;
            for (size_t t = knot->first_taker; t != NONE; t = circuit->takers.at[t].next) {
                circuit->takers.at[t].volts = circuit->takers.at[t].amps = 0.0;
                water_set_speed(circuit, circuit->takers.at[t].pump, 0.0);
            }
            if (knot->above != NONE)
                circuit->stretches.at[knot->above].amps = 0.0;
        }
        blank_outputs(circuit, taker->output_tree);
    }
}

/* What the panels of a tree give at its root, where a controller or a booster stands (and takes
 * nothing meanwhile). */
static double panel_side_a(struct circuit *circuit, const struct taker *taker, double volts,
                           double *slope)
{
    double amps = -tree_current(circuit, circuit->knots.at[taker->knot].tree, volts, slope);
    *slope = -*slope;
    return amps;
}

/* The best that they can give there: V dI/dV + I = 0. */
static void track_best(struct circuit *circuit, struct taker *taker)
{
    size_t tree = circuit->knots.at[taker->knot].tree;
    double low = 0.0, high = open_voltage(circuit, tree), slope;
    for (int i = 0; i < 200 && high - low > 1e-14 * high; i++) {
        double middle = 0.5 * (low + high);
        double amps = panel_side_a(circuit, taker, middle, &slope);
        if (amps + middle * slope > 0.0)
            low = middle;
        else
            high = middle;
    }
    taker->panel_v = 0.5 * (low + high);
    taker->panel_a = panel_side_a(circuit, taker, taker->panel_v, &slope);
}

/* A booster that stands alone on its panels; NONE. */
static size_t lone_booster(const struct circuit *circuit, size_t tree)
{
    size_t booster = NONE;
    for (size_t i = 0; i < circuit->takers.count; i++) {
        const struct taker *taker = &circuit->takers.at[i];
        if (!on_tree(circuit, taker, tree) || !taker->on)
            continue;
        if (!taker->booster || booster != NONE)
            return NONE;
        booster = i;
    }
    return booster;
}

/* Where a booster ends up: regulating on the upper meeting point while the panels' best power
 * covers its set output, else holding them at that point; NAN: below its least input. */
static double reach_boosted(struct circuit *circuit, size_t tree_index, struct taker *taker,
                            double top)
{
    double slope, need = INFINITY;
    taker->tracking = taker->on = false;
    track_best(circuit, taker);
    if (taker->panel_v < taker->stop_v) {
        taker->panel_v = taker->stop_v;
        taker->panel_a = panel_side_a(circuit, taker, taker->panel_v, &slope);
    }
    taker->on = true;
    if (!(taker->panel_a > 0.0))
        return NAN;
    double amps = taker->output_tree == NONE ? 0.0
                                             : tree_current(circuit, taker->output_tree,
                                                            taker->converter.output_v, &slope);
    if (isfinite(amps) && amps <= taker->converter.max_a)
        need = taker->converter.output_v * amps / taker->converter.efficiency +
               taker->converter.idle_w;
    if (need <= taker->panel_v * taker->panel_a)
        return meet(circuit, &circuit->trees.at[tree_index], taker->panel_v, top);
    taker->tracking = true;
    return taker->panel_v;
}

/* The meeting point that the tree comes to with what is on; NAN: none. *starts: it got as far as
 * trying, else idle_v (with nothing on) is all that it reaches. */
static double reach(struct circuit *circuit, size_t tree_index, double idle_v, bool *starts)
{
    struct tree *tree = &circuit->trees.at[tree_index];
    double slope, top = open_voltage(circuit, tree_index);
    *starts = true;
    if (tree->supply) {
        double volts = NAN;
        for (size_t i = circuit->knots.at[tree->root].first_giver; i != NONE;
             i = circuit->givers.at[i].next)
            if (circuit->givers.at[i].kind == GIVER_SUPPLY)
                volts = circuit->givers.at[i].open_v;
        double before = tree_current(circuit, tree_index, volts, &slope);
        return isfinite(before) ? volts : NAN;
    }
    if (tree->battery) {
        /* a charger can lift it above the battery's own voltage */
        double high = fmax(top, 1.0);
        for (int i = 0; i < 8 && surplus(circuit, tree, high, &slope) > 0.0; i++)
            high *= 1.5;
        return fall(circuit, tree, 0.0, high);
    }
    double start_v = start_voltage(circuit, tree_index);
    if (!(top > 0.0))
        return top == 0.0 && start_v == 0.0 ? (surplus(circuit, tree, 0.0, &slope), 0.0)
                                            : (*starts = false, NAN);
    if (start_v > idle_v) {
        *starts = false;
        return NAN;
    }
    size_t booster = lone_booster(circuit, tree_index);
    if (booster != NONE)
        return reach_boosted(circuit, tree_index, &circuit->takers.at[booster], top);
    return surplus(circuit, tree, start_v, &slope) >= 0.0 ? climb(circuit, tree, start_v, top)
                                                          : fall(circuit, tree, 0.0, start_v);
}

/* Panels alone at several knots have no single open voltage: where they meet unloaded. */
static double idle_voltage(struct circuit *circuit, size_t tree_index)
{
    struct tree *tree = &circuit->trees.at[tree_index];
    size_t panels = 0;
    for (size_t i = 0; i < circuit->givers.count; i++)
        panels += circuit->knots.at[circuit->givers.at[i].knot].tree == tree_index;
    double top = open_voltage(circuit, tree_index);
    if (panels <= 1 || !(top > 0.0))
        return top;
    switch_tree(circuit, tree_index, false);
    return meet(circuit, tree, 0.0, top);
}

static void hold_at(struct circuit *circuit, size_t tree_index, double volts)
{
    double slope;
    struct tree *tree = &circuit->trees.at[tree_index];
    tree->root_amps = tree_current(circuit, tree_index, volts, &slope);
    tree->volts = volts;
    blank_outputs(circuit, tree_index);
}

static double pump_speed(const struct circuit *circuit, const struct pump *pump)
{
    if (pump->taker == NONE)
        return 0.0;
    const struct taker *taker = &circuit->takers.at[pump->taker];
    const struct tree *tree = &circuit->trees.at[circuit->knots.at[taker->knot].tree];
    bool fed = tree->feeder == NONE ? tree->panels || tree->battery || tree->supply : true;
    return motor_speed(&taker->motor, taker->volts, taker->on && fed && taker->volts > 0.0, NULL);
}

bool electric_all_run(struct circuit *circuit, size_t tree_index, bool from_dark)
{
    double idle = idle_voltage(circuit, tree_index);
    bool starts = true;
    size_t out = NONE;
    switch_tree(circuit, tree_index, true);
    bool boosted = lone_booster(circuit, tree_index) != NONE; /* it does not fold back */
    double volts = from_dark || boosted ? reach(circuit, tree_index, idle, &starts)
                                        : fall(circuit, &circuit->trees.at[tree_index], 0.0,
                                               open_voltage(circuit, tree_index));
    if (!starts || isnan(volts))
        return false;
    hold_at(circuit, tree_index, volts);
    return weakest(circuit, tree_index, false, NAN, &out) >= 1.0;
}

void electric_settle_tree(struct circuit *circuit, size_t tree_index)
{
    struct tree *tree = &circuit->trees.at[tree_index];
    tree->settled = false;
    double idle =
        tree->panels && !tree->battery && !tree->supply ? idle_voltage(circuit, tree_index) : 0.0;
    switch_tree(circuit, tree_index, true);
    /* Loads are left out one by one; a rig of which hundreds must go is not a rig, and one of
     * thousands would take for ever. */
    size_t most = MOST_DROPPED * 100 / (tree->knot_count + 100) + 2;
    for (size_t round = 0; round <= circuit->takers.count && round <= most; round++) {
        bool starts;
        size_t out = NONE;
        double volts = reach(circuit, tree_index, idle, &starts);
        if (!starts) {
            /* what the open voltage does not start never will: it goes at once, one after the other
             * or all together comes to the same */
            if (drop_unable(circuit, tree_index, idle))
                continue;
            weakest(circuit, tree_index, true, idle, &out);
        } else if (isnan(volts)) {
            out = first_by_id(circuit, tree_index);
        } else {
            hold_at(circuit, tree_index, volts);
            if (weakest(circuit, tree_index, false, NAN, &out) >= 1.0) {
                tree->settled = true;
                return;
            }
        }
        if (out == NONE)
            break;
        switch_taker(circuit, out, false);
    }
    circuit->unsettled = true;
}

/* ---- Chargers ---- */

/* What a controller puts into its battery side: with tracking the panels' best power, else the
 * panels' current at the battery's voltage; no current back. */
static double charger_a(struct circuit *circuit, const struct giver *giver, double volts,
                        double *slope)
{
    struct taker *charger = &circuit->takers.at[giver->charger];
    const struct tree *tree = &circuit->trees.at[circuit->knots.at[charger->knot].tree];
    *slope = 0.0;
    double amps = 0.0;
    if (tree->panels && tree->known) {
        if (charger->mppt) {
            double watts =
                fmax(0.0, charger->panel_v * charger->panel_a) * charger->converter.efficiency;
            double from = fmax(volts, 1.0);
            amps = watts / from;
            *slope = volts > 1.0 ? -amps / from : 0.0;
        } else {
            amps = panel_side_a(circuit, charger, volts, slope);
            charger->panel_v = volts;
            charger->panel_a = amps;
            if (amps < 0.0) {
                amps = *slope = 0.0;
                charger->panel_a = 0.0;
            }
        }
    }
    if (amps > charger->converter.max_a) {
        amps = charger->converter.max_a;
        *slope = 0.0;
    }
    return amps - charger->converter.idle_w; /* its own use, A */
}

double electric_charge_a(struct circuit *circuit, size_t giver, double volts)
{
    double slope;
    if (circuit->givers.at[giver].kind == GIVER_CHARGER) {
        struct taker *charger = &circuit->takers.at[circuit->givers.at[giver].charger];
        const struct tree *tree = &circuit->trees.at[circuit->knots.at[charger->knot].tree];
        charger->panel_a = 0.0;
        if (charger->mppt && tree->panels && tree->known)
            track_best(circuit, charger);
    }
    return giver_current(circuit, &circuit->givers.at[giver], volts, &slope);
}

/* A panel side whose controller has blocked, or that charges nothing, stands at its open voltage.
 */
static void settle_charger(struct circuit *circuit, struct taker *charger)
{
    size_t tree_index = circuit->knots.at[charger->knot].tree;
    struct tree *tree = &circuit->trees.at[tree_index];
    if (!tree->panels || !tree->known)
        return;
    double slope;
    if (!(charger->panel_a > 0.0)) {
        charger->panel_a = 0.0;
        charger->panel_v = meet(circuit, tree, 0.0, fmax(open_voltage(circuit, tree_index), 1e-9));
    }
    tree_current(circuit, tree_index, charger->panel_v, &slope);
    tree->volts = charger->panel_v;
    charger->volts = charger->panel_v;
    charger->amps = charger->panel_a;
    tree->settled = true;
}

/* ---- The whole ---- */

static bool is_source_tree(const struct circuit *circuit, size_t tree)
{
    const struct tree *t = &circuit->trees.at[tree];
    return t->feeder == NONE && t->known && (t->panels || t->battery || t->supply);
}

static void settle_once(struct circuit *circuit)
{
    for (size_t i = 0; i < circuit->takers.count; i++) {
        struct taker *taker = &circuit->takers.at[i];
        taker->panel_a = 0.0;
        if (taker->kind == TAKER_CHARGER &&
            is_source_tree(circuit, circuit->knots.at[taker->knot].tree) && taker->mppt)
            track_best(circuit, taker);
    }
    for (size_t i = 0; i < circuit->trees.count; i++)
        if (is_source_tree(circuit, i) && !circuit->trees.at[i].charger &&
            circuit_tree_known(circuit, i))
            electric_settle_tree(circuit, i);
    for (size_t i = 0; i < circuit->takers.count; i++)
        if (circuit->takers.at[i].kind == TAKER_CHARGER)
            settle_charger(circuit, &circuit->takers.at[i]);
}

/* Each pump's speed as its motor has it; the largest change. */
static double take_speeds(struct circuit *circuit)
{
    double most = 0.0;
    for (size_t i = 0; i < circuit->pumps.count; i++) {
        double speed = pump_speed(circuit, &circuit->pumps.at[i]);
        most = fmax(most, fabs(speed - circuit->pumps.at[i].before));
        circuit->pumps.at[i].before = speed;
        water_set_speed(circuit, i, speed);
    }
    return most;
}

void electric_settle(struct circuit *circuit)
{
    for (size_t i = 0; i < circuit->trees.count; i++)
        circuit->trees.at[i].settled = false;
    for (size_t i = 0; i < circuit->takers.count; i++)
        circuit->takers.at[i].on = false;
    for (size_t i = 0; i < circuit->pumps.count; i++)
        circuit->pumps.at[i].before = 0.0;
    /* pumps of one tree answer to each other while it settles; those of several trees from round to
     * round */
    for (int round = 0; round < MOST_ROUNDS; round++) {
        settle_once(circuit);
        double most = take_speeds(circuit);
        if (!circuit->coupled || circuit->no_flow || most <= 1e-12)
            return;
    }
    circuit->unsettled = true;
}

/* ---- The condition ---- */

static void prepare_wires(struct circuit *circuit)
{
    for (size_t i = 0; i < circuit->stretches.count; i++) {
        struct stretch *stretch = &circuit->stretches.at[i];
        stretch->run = (struct conductor_run){.contacts_ohm = stretch->contacts_ohm,
                                              .air_degc = circuit->air_degc,
                                              .full_current_a = INFINITY};
        stretch->amps = 0.0;
        if (!stretch->cable)
            continue;
        stretch->ampacity = ampacity_find(&stretch->wire, circuit->air_degc);
        stretch->run.r20_ohm = stretch->r20_ohm;
        stretch->run.coefficient_per_k = conductor_coefficient_per_k(stretch->wire.wire.metal);
        if (stretch->ampacity.known) {
            stretch->run.full_rise_k =
                stretch->ampacity.table_degc - stretch->ampacity.table_air_degc;
            stretch->run.full_current_a = stretch->ampacity.full_current_a;
        }
    }
}

static void set_cells(struct circuit *circuit, double sun, double cell_degc)
{
    circuit->sun = sun;
    for (size_t i = 0; i < circuit->panels.count; i++) {
        struct panel *panel = &circuit->panels.at[i];
        const struct pv_fit *fit = &panel->fit;
        if (fit->refused)
            continue;
        panel->cell_degc = cell_degc;
        if (isnan(cell_degc))
            panel->cell_degc = pv_cell_temperature(
                circuit->air_degc, sun, panel->noct_degc,
                pv_efficiency(fit->vmp_v, fit->imp_a, panel->area_m2, fit->technology), 1.0);
        panel->array = (struct pv_array){
            .cell = pv_translate(fit, sun, panel->cell_degc),
            .series = panel->series,
            .parallel = panel->parallel,
            .factor = circuit->weak ? pv_weak_sun_share(panel->weak_loss, sun) : 1.0,
            .isc_factor = fit->isc_factor,
        };
    }
}

void electric_set_sun(struct circuit *circuit, double sun, double cell_degc)
{
    set_cells(circuit, sun, cell_degc);
    for (size_t i = 0; i < circuit->panels.count; i++)
        if (!circuit->panels.at[i].fit.refused)
            circuit->panels.at[i].open_v = pv_array_open_voltage(&circuit->panels.at[i].array);
}

/* ---- For thresholds: sun and load apart ---- */

/* What stands below a stretch: panels alone, loads alone, or both. */
static void look_below(const struct circuit *circuit, size_t stretch, bool *givers, bool *takers)
{
    const struct knot *knot = &circuit->knots.at[circuit->stretches.at[stretch].lower];
    *givers |= knot->first_giver != NONE;
    *takers |= knot->first_taker != NONE;
    for (size_t s = knot->first_stretch; s != NONE; s = circuit->stretches.at[s].next)
        look_below(circuit, s, givers, takers);
}

bool electric_split(struct circuit *circuit, size_t tree, struct electric_split *out)
{
    struct knot *root = &circuit->knots.at[circuit->trees.at[tree].root];
    *out = (struct electric_split){.givers = root->first_giver, .giving = NONE};
    for (size_t s = root->first_stretch; s != NONE; s = circuit->stretches.at[s].next)
        out->count++;
    out->order = ARENA_TAKE(circuit->arena, out->count + 1, size_t);
    if (!out->order) {
        circuit->no_memory = true;
        return false;
    }
    size_t n = 0;
    bool apart = true;
    for (size_t s = root->first_stretch; s != NONE; s = circuit->stretches.at[s].next) {
        bool givers = false, takers = false;
        out->order[n++] = s;
        look_below(circuit, s, &givers, &takers);
        apart &= !(givers && takers);
    }
    if (!apart)
        return false;
    root->first_giver = root->first_stretch = NONE;
    for (size_t i = n; i-- > 0;) {
        bool givers = false, takers = false;
        size_t s = out->order[i], *chain;
        look_below(circuit, s, &givers, &takers);
        chain = givers ? &out->giving : &root->first_stretch;
        circuit->stretches.at[s].next = *chain;
        *chain = s;
    }
    return true;
}

void electric_join(struct circuit *circuit, size_t tree, const struct electric_split *split)
{
    struct knot *root = &circuit->knots.at[circuit->trees.at[tree].root];
    root->first_giver = split->givers;
    root->first_stretch = split->count ? split->order[0] : NONE;
    for (size_t i = 0; i < split->count; i++)
        circuit->stretches.at[split->order[i]].next =
            i + 1 < split->count ? split->order[i + 1] : NONE;
}

double electric_source(struct circuit *circuit, const struct electric_split *split, double sun,
                       double volts, double *slope)
{
    double sum = 0.0, more;
    *slope = 0.0;
    set_cells(circuit, sun, NAN);
    for (size_t i = split->givers; i != NONE; i = circuit->givers.at[i].next) {
        sum += giver_current(circuit, &circuit->givers.at[i], volts, &more);
        *slope += more;
    }
    for (size_t i = split->giving; i != NONE; i = circuit->stretches.at[i].next) {
        sum -= stretch_current(circuit, &circuit->stretches.at[i], volts, &more);
        *slope -= more;
    }
    return sum;
}

double electric_load(struct circuit *circuit, size_t tree, double volts, double *slope)
{
    return tree_current(circuit, tree, volts, slope);
}

void electric_switch_on(struct circuit *circuit, size_t tree)
{
    switch_tree(circuit, tree, true);
}

double electric_margin(struct circuit *circuit, size_t tree, double volts)
{
    double slope;
    size_t which = NONE;
    if (!isfinite(electric_load(circuit, tree, volts, &slope)))
        return -1.0;
    return weakest(circuit, tree, false, NAN, &which) - 1.0;
}

bool electric_is_limited(const struct circuit *circuit, size_t tree)
{
    for (size_t i = 0; i < circuit->takers.count; i++)
        if (on_tree(circuit, &circuit->takers.at[i], tree) &&
            circuit->takers.at[i].kind == TAKER_CONVERTER && circuit->takers.at[i].on &&
            circuit->takers.at[i].state == CONVERTER_LIMITED)
            return true;
    return false;
}

double electric_start_voltage(const struct circuit *circuit, size_t tree)
{
    return start_voltage(circuit, tree);
}

size_t electric_corners(struct circuit *circuit, size_t tree, double *out, size_t room)
{
    return corners(circuit, &circuit->trees.at[tree], out, room);
}

double electric_open_voltage(const struct circuit *circuit, size_t tree)
{
    return open_voltage(circuit, tree);
}

void electric_prepare(struct circuit *circuit, double cell_degc, enum battery_state battery)
{
    circuit->epoch++;
    prepare_wires(circuit);
    electric_set_sun(circuit, circuit->sun, cell_degc);
    for (size_t i = 0; i < circuit->givers.count; i++) {
        struct giver *giver = &circuit->givers.at[i];
        giver->guess_a = 0.0;
        if (giver->kind != GIVER_BATTERY)
            continue;
        giver->open_v = battery == BATTERY_DISCONNECT ? battery_disconnect_v(&giver->battery)
                        : battery == BATTERY_CHARGING ? battery_charge_v(&giver->battery)
                                                      : battery_full_v(&giver->battery);
    }
}

/* ---- Results ---- */

/* Less than this is rounding: 1 pA. */
static double tidy(double amps)
{
    return fabs(amps) < 1e-12 ? 0.0 : amps;
}

static double through_stretch(const struct stretch *stretch)
{
    return tidy(stretch->from == stretch->upper ? stretch->amps : -stretch->amps);
}

static void put_larger(struct circuit *circuit, size_t part, enum condition condition, double amps)
{
    const struct part_value *value = circuit_value(circuit, part, FIELD_AMPS);
    if (!value)
        return;
    double now = value->solved[condition];
    if (isnan(now) || fabs(amps) > fabs(now))
        circuit_put(circuit, part, FIELD_AMPS, condition, amps);
}

/* In-line parts carry what their run carries; one that sits in several, the most. */
static void report_in_line(struct circuit *circuit, size_t run, enum condition condition,
                           double amps)
{
    const struct part *part = &circuit->rig->parts[run];
    for (size_t i = 0; i < part->through_count; i++)
        if (part->through[i].part < circuit->rig->part_count)
            put_larger(circuit, part->through[i].part, condition, amps);
}

static void report_stretch(struct circuit *circuit, const struct stretch *stretch, double from_v,
                           double to_v, double amps, enum condition condition)
{
    if (!stretch->cable) {
        put_larger(circuit, stretch->part, condition, amps);
        return;
    }
    circuit_put(circuit, stretch->part, FIELD_AMPS, condition, amps);
    circuit_put(circuit, stretch->part, FIELD_VOLT_DROP, condition, from_v - to_v);
    circuit_put(circuit, stretch->part, FIELD_DROP_SHARE, condition,
                fabs(from_v) < NOTHING_V ? 0.0 : (from_v - to_v) / from_v);
    circuit_put(circuit, stretch->part, FIELD_CONDUCTOR_TEMPERATURE, condition,
                conductor_temperature_degc(&stretch->run, amps));
    report_in_line(circuit, stretch->part, condition, amps);
}

static void report_taker(struct circuit *circuit, const struct taker *taker,
                         enum condition condition)
{
    size_t part = taker->part;
    if (taker->kind == TAKER_CHARGER) {
        circuit_put(circuit, part, FIELD_PANEL_VOLTS, condition, taker->panel_v);
        circuit_put(circuit, part, FIELD_PANEL_AMPS, condition, taker->panel_a);
    } else if (taker->kind == TAKER_CONVERTER) {
        circuit_put(circuit, part, FIELD_INPUT_VOLTS, condition, taker->volts);
        circuit_put(circuit, part, FIELD_INPUT_AMPS, condition, taker->amps);
        circuit_put(circuit, part, FIELD_OUTPUT_VOLTS, condition, taker->output_v);
        circuit_put(circuit, part, FIELD_OUTPUT_AMPS, condition, taker->output_a);
        circuit_put(circuit, part, FIELD_REGULATING, condition,
                    taker->on && taker->state == CONVERTER_REGULATING ? 1.0 : 0.0);
    } else {
        circuit_put(circuit, part, FIELD_VOLTS, condition, taker->volts);
        circuit_put(circuit, part, FIELD_AMPS, condition, taker->amps);
        circuit_put(circuit, part, FIELD_WATTS, condition, taker->volts * taker->amps);
        circuit_put(
            circuit, part, FIELD_SPEED_RATIO, condition,
            motor_speed(&taker->motor, taker->volts, taker->on && taker->volts > 0.0, NULL));
    }
}

static void report_links(struct circuit *circuit, const struct giver *giver,
                         enum condition condition)
{
    for (size_t i = 0; i < giver->link_count; i++) {
        const struct stretch *link =
            &circuit->stretches.at[circuit->links.at[giver->first_link + i]];
        double from_v = panel_of(circuit, giver, 0)->volts;
        for (size_t k = 0; k < giver->panel_count; k++)
            if (panel_of(circuit, giver, k)->part == circuit->rig->parts[link->part].from)
                from_v = panel_of(circuit, giver, k)->volts;
        double drop = conductor_drop_v(&link->run, giver->amps, NULL);
        report_stretch(circuit, link, from_v, from_v - drop, giver->amps, condition);
    }
}

static void report_giver(struct circuit *circuit, const struct giver *giver,
                         const struct tree *tree, enum condition condition)
{
    double volts = circuit->knots.at[giver->knot].volts;
    switch (giver->kind) {
    case GIVER_PANELS:
        for (size_t i = 0; i < giver->panel_count; i++) {
            const struct panel *panel = panel_of(circuit, giver, i);
            circuit_put(circuit, panel->part, FIELD_VOLTS, condition, panel->volts);
            circuit_put(circuit, panel->part, FIELD_AMPS, condition, tidy(panel->amps));
            circuit_put(circuit, panel->part, FIELD_WATTS, condition,
                        panel->volts * tidy(panel->amps));
        }
        report_links(circuit, giver, condition);
        break;
    case GIVER_SUPPLY:
        circuit_put(circuit, giver->part, FIELD_VOLTS, condition, volts);
        circuit_put(circuit, giver->part, FIELD_AMPS, condition,
                    giver->knot == tree->root ? tree->root_amps : giver->amps);
        break;
    case GIVER_BATTERY:
        circuit_put(circuit, giver->part, FIELD_VOLTS, condition, volts);
        circuit_put(circuit, giver->part, FIELD_AMPS, condition, tidy(giver->amps));
        break;
    case GIVER_CHARGER: {
        /* what goes on from its battery side, away from the battery */
        const struct knot *knot = &circuit->knots.at[giver->knot];
        double loads = 0.0;
        for (size_t s = knot->first_stretch; s != NONE; s = circuit->stretches.at[s].next)
            loads += circuit->stretches.at[s].amps;
        circuit_put(circuit, giver->part, FIELD_CHARGE_AMPS, condition, tidy(giver->amps));
        circuit_put(circuit, giver->part, FIELD_LOAD_AMPS, condition, tidy(loads));
        break;
    }
    }
}

static void report_tree(struct circuit *circuit, size_t tree_index, enum condition condition)
{
    const struct tree *tree = &circuit->trees.at[tree_index];
    for (size_t i = 0; i < tree->knot_count; i++) {
        const struct knot *knot = &circuit->knots.at[circuit->order.at[tree->first_knot + i]];
        for (size_t t = knot->first_taker; t != NONE; t = circuit->takers.at[t].next) {
            report_taker(circuit, &circuit->takers.at[t], condition);
            if (circuit->takers.at[t].kind == TAKER_CONVERTER &&
                circuit->takers.at[t].output_tree != NONE)
                report_tree(circuit, circuit->takers.at[t].output_tree, condition);
        }
        for (size_t g = knot->first_giver; g != NONE; g = circuit->givers.at[g].next)
            report_giver(circuit, &circuit->givers.at[g], tree, condition);
        if (knot->above == NONE)
            continue;
        const struct stretch *stretch = &circuit->stretches.at[knot->above];
        report_stretch(circuit, stretch, circuit->knots.at[stretch->from].volts,
                       circuit->knots.at[stretch->to].volts, through_stretch(stretch), condition);
    }
}

/* Current is conserved at every knot: the largest relative miss. */
static double tree_imbalance(struct circuit *circuit, size_t tree_index)
{
    const struct tree *tree = &circuit->trees.at[tree_index];
    double worst = 0.0;
    for (size_t i = 0; i < tree->knot_count; i++) {
        const struct knot *knot = &circuit->knots.at[circuit->order.at[tree->first_knot + i]];
        double sum = 0.0, most = 1e-3;
        bool stiff = false;
        for (size_t t = knot->first_taker; t != NONE; t = circuit->takers.at[t].next) {
            if (circuit->takers.at[t].kind == TAKER_CHARGER) {
                stiff = true; /* takes what is left */
                continue;
            }
            sum += circuit->takers.at[t].amps;
            most = fmax(most, fabs(circuit->takers.at[t].amps));
        }
        for (size_t g = knot->first_giver; g != NONE; g = circuit->givers.at[g].next) {
            stiff |= circuit->givers.at[g].kind == GIVER_SUPPLY;
            sum -= circuit->givers.at[g].amps;
            most = fmax(most, fabs(circuit->givers.at[g].amps));
        }
        for (size_t s = knot->first_stretch; s != NONE; s = circuit->stretches.at[s].next) {
            sum += circuit->stretches.at[s].amps;
            most = fmax(most, fabs(circuit->stretches.at[s].amps));
        }
        if (knot->above != NONE)
            sum -= circuit->stretches.at[knot->above].amps;
        else if (tree->feeder != NONE)
            sum -= circuit->takers.at[tree->feeder].on ? circuit->takers.at[tree->feeder].output_a
                                                       : 0.0;
        if (!stiff)
            worst = fmax(worst, fabs(sum) / most);
    }
    return worst;
}

void electric_report(struct circuit *circuit, enum condition condition)
{
    for (size_t i = 0; i < circuit->trees.count; i++) {
        struct tree *tree = &circuit->trees.at[i];
        if (tree->settled && tree->feeder == NONE)
            report_tree(circuit, i, condition);
        if (tree->settled)
            circuit->imbalance = fmax(circuit->imbalance, tree_imbalance(circuit, i));
    }
    for (size_t i = 0; i < circuit->pumps.count; i++)
        if (circuit->pumps.at[i].fed_known)
            circuit_put(circuit, circuit->pumps.at[i].part, FIELD_SPEED_RATIO, condition,
                        circuit->pumps.at[i].speed);
}

void electric_report_panels(struct circuit *circuit, enum condition condition, bool cold)
{
    for (size_t i = 0; i < circuit->stretches.count; i++) {
        const struct stretch *stretch = &circuit->stretches.at[i];
        if (stretch->cable && stretch->ampacity.known)
            circuit_put(circuit, stretch->part, FIELD_AMPACITY, condition, stretch->ampacity.amps);
    }
    for (size_t i = 0; i < circuit->panels.count; i++) {
        struct panel *panel = &circuit->panels.at[i];
        if (panel->fit.refused)
            continue;
        struct pv_point best = pv_array_max_power(&panel->array);
        if (cold)
            panel->cold_open_v =
                pv_cold_open_voltage(&panel->fit, circuit->air_degc, panel->series);
        circuit_put(circuit, panel->part, FIELD_CELL_TEMPERATURE, condition, panel->cell_degc);
        circuit_put(circuit, panel->part, FIELD_OPEN_VOLTAGE, condition,
                    cold ? panel->cold_open_v : panel->open_v);
        circuit_put(circuit, panel->part, FIELD_SHORT_CURRENT, condition,
                    pv_array_short_current(&panel->array));
        circuit_put(circuit, panel->part, FIELD_MPP_VOLTAGE, condition, best.volts);
        circuit_put(circuit, panel->part, FIELD_MPP_CURRENT, condition, best.amps);
        circuit_put(circuit, panel->part, FIELD_MPP_POWER, condition, best.watts);
    }
}

/* The highest voltage on a tree where no current flows. */
static double cold_voltage(const struct circuit *circuit, size_t tree)
{
    double volts = NAN, source = NAN;
    for (size_t i = 0; i < circuit->givers.count; i++) {
        const struct giver *giver = &circuit->givers.at[i];
        if (circuit->knots.at[giver->knot].tree != tree || giver->kind == GIVER_CHARGER)
            continue;
        if (giver->kind != GIVER_PANELS) {
            source = fmax(source, giver->open_v);
            continue;
        }
        double sum = 0.0;
        for (size_t k = 0; k < giver->panel_count; k++)
            sum += panel_of(circuit, giver, k)->cold_open_v;
        volts = fmax(volts, sum);
    }
    return isnan(source) ? volts : source;
}

void electric_report_cold(struct circuit *circuit, enum condition condition)
{
    for (size_t i = 0; i < circuit->stretches.count; i++)
        circuit->stretches.at[i].amps = 0.0;
    for (size_t i = 0; i < circuit->trees.count; i++) {
        struct tree *tree = &circuit->trees.at[i];
        if (!is_source_tree(circuit, i))
            continue;
        double volts = cold_voltage(circuit, i);
        for (size_t k = 0; k < tree->knot_count; k++) {
            struct knot *knot = &circuit->knots.at[circuit->order.at[tree->first_knot + k]];
            knot->volts = volts;
            if (knot->above != NONE) {
                struct stretch *stretch = &circuit->stretches.at[knot->above];
                report_stretch(circuit, stretch, volts, volts, 0.0, condition);
            }
            for (size_t t = knot->first_taker; t != NONE; t = circuit->takers.at[t].next) {
                struct taker *taker = &circuit->takers.at[t];
                if (taker->kind == TAKER_CONVERTER) {
                    circuit_put(circuit, taker->part, FIELD_INPUT_VOLTS, condition, volts);
                    circuit_put(circuit, taker->part, FIELD_INPUT_AMPS, condition, 0.0);
                    continue;
                }
                taker->on = false;
                taker->volts = taker->panel_v = volts;
                taker->amps = taker->panel_a = 0.0;
                report_taker(circuit, taker, condition);
            }
            for (size_t g = knot->first_giver; g != NONE; g = circuit->givers.at[g].next) {
                struct giver *giver = &circuit->givers.at[g];
                giver->amps = 0.0;
                tree->root_amps = 0.0;
                for (size_t p = 0; p < giver->panel_count; p++) {
                    struct panel *panel = panel_of(circuit, giver, p);
                    panel->volts = giver->panel_count > 1 ? panel->cold_open_v : volts;
                    panel->amps = 0.0;
                }
                report_giver(circuit, giver, tree, condition);
            }
        }
    }
    for (size_t i = 0; i < circuit->pumps.count; i++)
        circuit_put(circuit, circuit->pumps.at[i].part, FIELD_SPEED_RATIO, condition, 0.0);
}

/* ---- Ratings ---- */

/* A load's current (watts false) or power at full load, at the highest speed that it reaches. */
static double rated(const struct taker *taker, const double *fastest, bool watts)
{
    const struct motor *motor = &taker->motor;
    double speed =
        taker->pump == NONE || motor->law == MOTOR_REGULATED ? 1.0 : fastest[taker->pump];
    double amps =
        taker->count * motor->rated_a * (motor->law == MOTOR_SQUARE ? speed * speed : 1.0);
    return watts ? amps * motor->rated_v * speed : amps;
}

static double rated_behind(const struct circuit *circuit, size_t tree, const double *fastest)
{
    double watts = 0.0;
    for (size_t i = 0; i < circuit->takers.count; i++) {
        const struct taker *taker = &circuit->takers.at[i];
        if (!on_tree(circuit, taker, tree))
            continue;
        if (taker->kind == TAKER_MOTOR)
            watts += rated(taker, fastest, true);
        else if (taker->kind == TAKER_CONVERTER && taker->output_tree != NONE)
            watts +=
                rated_behind(circuit, taker->output_tree, fastest) / taker->converter.efficiency;
    }
    return watts;
}

struct rating { /* of a knot and all below */
    double load_a, strings_a;
    bool loads;
};

static struct rating rate_knot(const struct circuit *circuit, const struct knot *knot,
                               const double *fastest)
{
    struct rating rating = {0.0, 0.0, knot->first_taker != NONE};
    for (size_t t = knot->first_taker; t != NONE; t = circuit->takers.at[t].next) {
        const struct taker *taker = &circuit->takers.at[t];
        if (taker->kind == TAKER_MOTOR)
            rating.load_a += rated(taker, fastest, false);
        else if (taker->kind == TAKER_CONVERTER && taker->output_tree != NONE)
            rating.load_a += rated_behind(circuit, taker->output_tree, fastest) /
                             (taker->converter.efficiency * taker->stop_v);
    }
    for (size_t g = knot->first_giver; g != NONE; g = circuit->givers.at[g].next) {
        const struct giver *giver = &circuit->givers.at[g];
        double most = 0.0;
        for (size_t k = 0; k < giver->panel_count; k++) {
            const struct panel *panel = panel_of(circuit, giver, k);
            most = fmax(most, panel->fit.refused ? NAN : panel->fit.isc_a * panel->parallel);
            if (panel->fit.refused)
                rating.strings_a = NAN;
        }
        rating.strings_a += most;
    }
    return rating;
}

static void report_carried(struct circuit *circuit, size_t run, double amps)
{
    const struct part *part = &circuit->rig->parts[run];
    for (size_t i = 0; i < part->through_count; i++) {
        size_t in_line = part->through[i].part;
        const struct part_value *value = in_line < circuit->rig->part_count
                                             ? circuit_value(circuit, in_line, FIELD_CARRIES)
                                             : NULL;
        if (!value)
            continue;
        double now = value->solved[0];
        circuit_put_once(circuit, in_line, FIELD_CARRIES, isnan(now) ? amps : fmax(now, amps));
    }
}

static void report_tree_ratings(struct circuit *circuit, const struct tree *tree,
                                const double *fastest, struct rating *ratings)
{
    bool north_america = circuit->rig->practice == PRACTICE_NORTH_AMERICA;
    const size_t *order = &circuit->order.at[tree->first_knot];
    for (size_t i = tree->knot_count; i-- > 0;) {
        const struct knot *knot = &circuit->knots.at[order[i]];
        struct rating sum = rate_knot(circuit, knot, fastest);
        for (size_t s = knot->first_stretch; s != NONE; s = circuit->stretches.at[s].next) {
            const struct rating *below = &ratings[circuit->stretches.at[s].lower];
            sum.load_a += below->load_a;
            sum.strings_a += below->strings_a;
            sum.loads |= below->loads;
        }
        ratings[order[i]] = sum;
    }
    const struct rating *all = &ratings[tree->root];
    bool panels_only = tree->panels && !tree->battery && !tree->supply;
    for (size_t i = 1; i < tree->knot_count; i++) {
        const struct knot *knot = &circuit->knots.at[order[i]];
        const struct stretch *stretch = &circuit->stretches.at[knot->above];
        const struct rating *below = &ratings[order[i]];
        double carried, design;
        if (panels_only) {
            /* the panel side is that below when only panels hang there, else that above */
            bool panels_below =
                below->strings_a > 0.0 && !(below->loads && all->strings_a > below->strings_a);
            carried = panels_below ? below->strings_a : all->strings_a - below->strings_a;
            design = ampacity_panel_design_a(north_america ? AMPACITY_NORTH_AMERICA : AMPACITY_IEC,
                                             carried, 1.0);
        } else {
            carried = below->loads ? below->load_a : all->load_a - below->load_a;
            design = ampacity_load_design_a(carried);
        }
        if (stretch->cable) {
            circuit_put_once(circuit, stretch->part, FIELD_DESIGN_AMPS, design);
            report_carried(circuit, stretch->part, carried);
        } else {
            circuit_put_once(circuit, stretch->part, FIELD_CARRIES, carried);
        }
    }
}

static void report_batteries(struct circuit *circuit)
{
    const struct rig *rig = circuit->rig;
    double low = NAN, high = NAN;
    for (size_t i = 0; i < circuit->givers.count; i++) {
        const struct giver *giver = &circuit->givers.at[i];
        const struct part *part = &rig->parts[giver->part];
        if (giver->kind != GIVER_BATTERY || !(giver->battery.voltage_v > 0.0))
            continue;
        double run_ohm = INFINITY; /* of several cables the one that lets most through */
        for (size_t s = 0; s < circuit->stretches.count; s++) {
            const struct stretch *stretch = &circuit->stretches.at[s];
            if (stretch->cable && (stretch->from == giver->knot || stretch->to == giver->knot))
                run_ohm = fmin(run_ohm, stretch->r20_ohm);
        }
        if (isinf(run_ohm))
            run_ohm = 0.0;
        if (!part_range(part, "air", &low, &high))
            part_range(&rig->parts[rig->site], "air", &low, &high);
        circuit_put_once(circuit, giver->part, FIELD_SHORT_CIRCUIT_CURRENT,
                         battery_short_a(&giver->battery, run_ohm));
        circuit_put_once(circuit, giver->part, FIELD_CHARGE_VOLTAGE,
                         battery_charge_v(&giver->battery));
        circuit_put_once(circuit, giver->part, FIELD_EMPTY_VOLTAGE,
                         battery_disconnect_v(&giver->battery));
        circuit_put_once(circuit, giver->part, FIELD_USABLE_ENERGY,
                         battery_usable_j(&giver->battery, part_number(part, "depth_of_discharge"),
                                          battery_cold_multiplier(giver->battery.chemistry, low)));
    }
}

/* Strings in parallel on a tree: each chain counts the strings of its first panel. */
static double strings_on(const struct circuit *circuit, size_t tree)
{
    double strings = 0.0;
    for (size_t i = 0; i < circuit->givers.count; i++) {
        const struct giver *giver = &circuit->givers.at[i];
        if (giver->kind == GIVER_PANELS && circuit->knots.at[giver->knot].tree == tree)
            strings += panel_of(circuit, giver, 0)->parallel;
    }
    return strings;
}

void electric_report_once(struct circuit *circuit, const double *fastest)
{
    struct rating *ratings = ARENA_TAKE(circuit->arena, circuit->knots.count + 1, struct rating);
    if (!ratings) {
        circuit->no_memory = true;
        return;
    }
    for (size_t i = 0; i < circuit->stretches.count; i++)
        if (circuit->stretches.at[i].cable)
            circuit_put_once(circuit, circuit->stretches.at[i].part, FIELD_RESISTANCE,
                             circuit->stretches.at[i].r20_ohm);
    for (size_t i = 0; i < circuit->trees.count; i++)
        report_tree_ratings(circuit, &circuit->trees.at[i], fastest, ratings);
    for (size_t i = 0; i < circuit->givers.count; i++) {
        const struct giver *giver = &circuit->givers.at[i];
        for (size_t k = 0; k < giver->link_count; k++) {
            const struct panel *panel = panel_of(circuit, giver, 0);
            circuit_put_once(
                circuit, circuit->stretches.at[circuit->links.at[giver->first_link + k]].part,
                FIELD_DESIGN_AMPS,
                ampacity_panel_design_a(
                    circuit->rig->practice == PRACTICE_NORTH_AMERICA ? AMPACITY_NORTH_AMERICA
                                                                     : AMPACITY_IEC,
                    panel->fit.refused ? NAN : panel->fit.isc_a, panel->parallel));
        }
    }
    for (size_t i = 0; i < circuit->panels.count; i++) {
        const struct panel *panel = &circuit->panels.at[i];
        size_t tree = circuit->knots.at[circuit->givers.at[panel->chain].knot].tree;
        if (!panel->fit.refused)
            circuit_put_once(circuit, panel->part, FIELD_REVERSE_CURRENT,
                             pv_reverse_current(panel->fit.isc_a, strings_on(circuit, tree)));
    }
    report_batteries(circuit);
}
