/* layout.c - lifts and distances: floods over the branches of water, as they are
 * written, from each pump on and back. */
#include "solve/layout.h"

#include <math.h>

/* Branches by the node that they leave and by the node that they reach. */
struct ways {
    const struct circuit *circuit;
    size_t *first[2]; /* by node: [0] that leave it, [1] that reach it */
    size_t *next[2];  /* by branch */
    size_t *queue;
    size_t *seen; /* by node: the number of the last flood */
    size_t flood;
};

static bool take_ways(struct ways *ways, struct circuit *circuit)
{
    *ways = (struct ways){.circuit = circuit};
    for (size_t side = 0; side < 2; side++) {
        ways->first[side] = ARENA_TAKE(circuit->arena, circuit->node_count + 1, size_t);
        ways->next[side] = ARENA_TAKE(circuit->arena, circuit->branches.count + 1, size_t);
    }
    ways->queue = ARENA_TAKE(circuit->arena, circuit->node_count + 1, size_t);
    ways->seen = ARENA_TAKE(circuit->arena, circuit->node_count + 1, size_t);
    if (!ways->first[0] || !ways->first[1] || !ways->next[0] || !ways->next[1] || !ways->queue ||
        !ways->seen)
        return false;
    for (size_t node = 0; node < circuit->node_count; node++)
        ways->first[0][node] = ways->first[1][node] = NONE;
    for (size_t i = circuit->branches.count; i-- > 0;) {
        const size_t ends[2] = {circuit->branches.at[i].from, circuit->branches.at[i].to};
        for (size_t side = 0; side < 2; side++) {
            ways->next[side][i] = ways->first[side][ends[side]];
            ways->first[side][ends[side]] = i;
        }
    }
    return true;
}

/* What a flood met. */
struct met {
    double lowest, highest; /* heads of tanks and ends, m; NAN: none */
    double top;             /* highest point of the runs and parts passed, m; NAN: none */
    bool other_pump;
    bool unknown; /* a tank of unknown level */
};

static void pass_branch(const struct circuit *circuit, const struct branch_of_water *branch,
                        struct met *met)
{
    for (size_t i = branch->first; i < branch->first + branch->count; i++) {
        const struct element *element = &circuit->elements.at[i];
        const struct part *part = &circuit->rig->parts[element->part];
        met->other_pump = met->other_pump || element->kind == ELEMENT_PUMP;
        met->top = fmax(met->top,
                        part_number(part, element->kind == ELEMENT_PIPE ? "high_point" : "height"));
    }
}

/* True when the flood ends at this node. */
static bool meet_node(const struct circuit *circuit, size_t node, struct met *met)
{
    double head = circuit->fixed_head[node];
    if (isnan(head)) {
        met->unknown = met->unknown || circuit->is_tank[node];
        return circuit->is_tank[node];
    }
    met->lowest = fmin(met->lowest, head);
    met->highest = fmax(met->highest, head);
    return true;
}

/* side 0: on from the node, as the pipes are written; 1: back. */
static struct met flood(struct ways *ways, size_t node, size_t side)
{
    const struct circuit *circuit = ways->circuit;
    struct met met = {NAN, NAN, NAN, false, false};
    size_t begin = 0, end = 0;
    ways->seen[node] = ++ways->flood;
    ways->queue[end++] = node;
    while (begin < end) {
        size_t here = ways->queue[begin++];
        if (meet_node(circuit, here, &met))
            continue;
        for (size_t i = ways->first[side][here]; i != NONE; i = ways->next[side][i]) {
            const struct branch_of_water *branch = &circuit->branches.at[i];
            size_t there = side == 0 ? branch->to : branch->from;
            pass_branch(circuit, branch, &met);
            if (ways->seen[there] == ways->flood)
                continue;
            ways->seen[there] = ways->flood;
            ways->queue[end++] = there;
        }
    }
    return met;
}

static void report_lifts(struct ways *ways, const struct branch_of_water *branch, size_t part)
{
    struct met back = flood(ways, branch->from, 1), on = flood(ways, branch->to, 0);
    double water = back.lowest, end = on.highest, top = fmax(end, on.top);
    if (back.other_pump || on.other_pump || back.unknown || on.unknown)
        water = end = NAN;
    circuit_put_once(ways->circuit, part, FIELD_STATIC_LIFT, end - water);
    circuit_put_once(ways->circuit, part, FIELD_PRIME_LIFT, isnan(end) ? NAN : top - water);
}

static void report_pumps(struct circuit *circuit)
{
    struct ways ways;
    if (!take_ways(&ways, circuit)) {
        circuit->no_memory = true;
        return;
    }
    for (size_t i = 0; i < circuit->branches.count; i++) {
        const struct branch_of_water *branch = &circuit->branches.at[i];
        for (size_t k = branch->first; k < branch->first + branch->count; k++)
            if (circuit->elements.at[k].kind == ELEMENT_PUMP)
                report_lifts(&ways, branch, circuit->elements.at[k].part);
    }
}

static void report_open_flow(const struct circuit *circuit, const struct pump *pump)
{
    double flow = pump->diaphragm ? pump->max_flow_m3s : pump->curve.open_m3s;
    circuit_put_once(circuit, pump->part, FIELD_OPEN_FLOW, pump->known ? flow * pump->count : NAN);
}

/* Cable between the battery at one end of the run and the nearest guard in it, m. */
static double guard_distance(const struct circuit *circuit, const struct part *run, bool at_from)
{
    const struct rig *rig = circuit->rig;
    double length = part_number(run, "length"), nearest = NAN;
    size_t other = at_from ? run->to : run->from;
    if (other != NO_PART && kind_is(rig->parts[other].kind, "guard"))
        nearest = length;
    for (size_t i = 0; i < run->through_count; i++) {
        const struct through *through = &run->through[i];
        if (through->part == NO_PART || !kind_is(rig->parts[through->part].kind, "guard"))
            continue;
        double away = at_from ? through->distance_m : length - through->distance_m;
        nearest = fmin(nearest, isnan(away) ? length : away);
    }
    return nearest;
}

static bool is_battery(const struct circuit *circuit, size_t part)
{
    return part != NO_PART && circuit_is_kind(circuit, part, "battery");
}

static void report_guard_distance(const struct circuit *circuit, size_t part)
{
    const struct part *run = &circuit->rig->parts[part];
    bool at_from = is_battery(circuit, run->from), at_to = is_battery(circuit, run->to);
    double distance = NAN;
    if (at_from)
        distance = guard_distance(circuit, run, true);
    if (at_to) /* a cable between two batteries: the worse of its ends */
        distance = fmax(distance, guard_distance(circuit, run, false));
    circuit_put_once(circuit, part, FIELD_GUARD_DISTANCE, distance);
}

void layout_report(struct circuit *circuit)
{
    for (size_t i = 0; i < circuit->rig->part_count; i++)
        if (circuit_is_kind(circuit, i, "cable"))
            report_guard_distance(circuit, i);
    for (size_t i = 0; i < circuit->pumps.count; i++)
        report_open_flow(circuit, &circuit->pumps.at[i]);
    if (circuit->waters.count)
        report_pumps(circuit);
}
