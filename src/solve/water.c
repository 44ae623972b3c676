#include "solve/water.h"

#include <math.h>
#include <string.h>

#include "physics/collector.h"
#include "physics/fitting.h"
#include "physics/npsh.h"
#include "physics/outlet.h"
#include "physics/pipe.h"
#include "physics/tank.h"
#include "physics/valve.h"

double water_branch_law(const void *context, double flow, double *slope);

/* ---- Laws ---- */

static double pump_drop(const struct circuit *circuit, const struct element *element, double flow,
                        double *slope)
{
    const struct pump *pump = &circuit->pumps.at[element->pump];
    double by_flow = 0.0, by_speed, head;
    double each = flow / element->count;
    if (!(pump->speed > 0.0))
        head = pump_standing_head_m(&pump->seat, each, &by_flow);
    else if (pump->diaphragm)
        head = pump_diaphragm_head_m(pump->max_pa, pump->max_flow_m3s, element->density, each,
                                     pump->speed, &by_flow, &by_speed);
    else
        head = pump_head_m(&pump->curve, &pump->seat, each, pump->speed, &by_flow, &by_speed);
    *slope = -by_flow / element->count;
    return -head;
}

static double loss_of_kv(double flow, double kv, double *slope)
{
    *slope = 0.0;
    if (isnan(kv))
        return 0.0;
    return kv > 0.0 ? valve_loss_m(flow, kv, slope) : valve_shut_loss_m(flow, slope);
}

double water_element_drop(const struct circuit *circuit, const struct element *element, double flow,
                          double *slope)
{
    double each = flow / element->count;
    double drop = 0.0;
    *slope = 0.0;
    switch (element->kind) {
    case ELEMENT_PIPE:
    case ELEMENT_LOSS:
        drop = pipe_loss_m(each, element->bore_m, element->length_m, element->roughness_m,
                           element->k, element->viscosity, slope);
        break;
    case ELEMENT_PUMP:
        return pump_drop(circuit, element, flow, slope);
    case ELEMENT_COIL:
        drop = coil_loss_m(&element->coil, each, element->viscosity, slope);
        break;
    case ELEMENT_VALVE:
        drop = element->shut || element->held_shut ? valve_shut_loss_m(each, slope)
                                                   : loss_of_kv(each, element->kv_m3s, slope);
        break;
    case ELEMENT_CHECK:
        drop = check_valve_loss_m(each, isnan(element->kv_m3s) ? INFINITY : element->kv_m3s,
                                  element->cracking_pa, element->density, slope);
        break;
    case ELEMENT_OUTLET:
        drop = !isnan(element->kv_m3s)
                   ? check_valve_loss_m(each, element->kv_m3s, 0.0, element->density, slope)
                   : outlet_loss_m(each, element->nominal_m3s, element->nominal_pa,
                                   element->exponent, element->density, slope);
        break;
    case ELEMENT_ONE_WAY:
        if (flow < 0.0)
            drop = valve_shut_loss_m(each, slope);
        break;
    }
    *slope /= element->count;
    return drop;
}

double water_branch_law(const void *context, double flow, double *slope)
{
    const struct branch_of_water *branch = context;
    if (!branch->known)
        return valve_shut_loss_m(flow, slope);
    double drop = 0.0;
    *slope = 0.0;
    for (size_t i = 0; i < branch->count; i++) {
        double more;
        drop += water_element_drop(branch->circuit,
                                   &branch->circuit->elements.at[branch->first + i], flow, &more);
        *slope += more;
    }
    return drop;
}

/* ---- Where the networks keep it ---- */

static struct network *network_of(const struct circuit *circuit, size_t branch)
{
    return circuit->waters.at[circuit->branches.at[branch].water];
}

static double flow_in(const struct circuit *circuit, size_t branch)
{
    return network_flow(network_of(circuit, branch), circuit->branches.at[branch].at);
}

static double head_at(const struct circuit *circuit, size_t node)
{
    if (circuit->water_of[node] == NONE)
        return circuit->head_now[node];
    return network_effort(circuit->waters.at[circuit->water_of[node]],
                          circuit->node_in_water[node]);
}

/* Holds a tank's node at a head, in every piece that it bounds. */
static void set_head(struct circuit *circuit, size_t node, double head)
{
    circuit->head_now[node] = head;
    for (size_t i = 0; i < circuit->branches.count; i++) {
        const struct branch_of_water *branch = &circuit->branches.at[i];
        if (branch->from == node)
            network_set_effort(network_of(circuit, i), branch->at_from, head);
        if (branch->to == node)
            network_set_effort(network_of(circuit, i), branch->at_to, head);
    }
}

static void fill(const struct circuit *circuit)
{
    for (size_t i = 0; i < circuit->waters.count; i++)
        network_fill(circuit->waters.at[i]);
}

double water_imbalance(const struct circuit *circuit)
{
    double worst = 0.0;
    for (size_t i = 0; i < circuit->waters.count; i++)
        worst = fmax(worst, network_imbalance(circuit->waters.at[i]));
    return worst;
}

/* ---- The condition ---- */

void water_prepare(struct circuit *circuit)
{
    double viscosity[2], density[2];
    for (int i = 0; i < 2; i++) {
        viscosity[i] = water_viscosity_m2s((enum water_fluid)i, circuit->water_degc);
        density[i] = water_density_kg_m3((enum water_fluid)i, circuit->water_degc);
    }
    circuit->density = density[WATER_PLAIN];
    for (size_t i = 0; i < circuit->elements.count; i++) {
        struct element *element = &circuit->elements.at[i];
        element->viscosity = viscosity[element->fluid];
        element->density = density[element->fluid];
    }
    for (size_t i = 0; i < circuit->pumps.count; i++) {
        struct pump *pump = &circuit->pumps.at[i];
        double rho = circuit->elements.at[pump->element].density;
        pump->max_pa =
            isnan(pump->given_pa) ? rho * WATER_GRAVITY_M_S2 * pump->given_m : pump->given_pa;
        pump->speed = 0.0;
    }
    water_forget(circuit);
}

void water_forget(struct circuit *circuit)
{
    circuit->epoch++;
    for (size_t i = 0; i < circuit->pumps.count; i++) {
        circuit->pumps.at[i].answer.known = false;
        for (size_t k = 0; k < PUMP_ANSWERS; k++)
            circuit->pumps.at[i].last[k].known = false;
    }
}

void water_set_valves(struct circuit *circuit, bool resting)
{
    for (size_t i = 0; i < circuit->elements.count; i++) {
        struct element *element = &circuit->elements.at[i];
        if (element->kind != ELEMENT_VALVE)
            continue;
        element->shut = resting ? element->rests_shut : element->switched_shut;
        element->held_shut = element->pilot && !element->shut;
    }
    water_forget(circuit);
}

static bool any_held(const struct circuit *circuit)
{
    for (size_t i = 0; i < circuit->elements.count; i++)
        if (circuit->elements.at[i].held_shut)
            return true;
    return false;
}

/* Head across an element: what the branch's ends leave when the other elements took theirs. */
static double head_across(const struct circuit *circuit, const struct element *element)
{
    const struct branch_of_water *branch = &circuit->branches.at[element->branch];
    double flow = flow_in(circuit, element->branch);
    double left = head_at(circuit, branch->from) - head_at(circuit, branch->to);
    for (size_t i = 0; i < branch->count; i++) {
        const struct element *other = &circuit->elements.at[branch->first + i];
        double slope;
        if (other != element)
            left -= water_element_drop(circuit, other, flow, &slope);
    }
    return left;
}

/* Opens the held valves of one water, or of all (NONE), across which there is pressure enough. */
static bool open_pilots(struct circuit *circuit, size_t water)
{
    bool opened = false;
    fill(circuit);
    for (size_t i = 0; i < circuit->elements.count; i++) {
        struct element *element = &circuit->elements.at[i];
        const struct branch_of_water *branch = &circuit->branches.at[element->branch];
        if (!element->held_shut || !branch->known || (water != NONE && branch->water != water))
            continue;
        double pa = element->density * WATER_GRAVITY_M_S2 * head_across(circuit, element);
        if (pa >= element->least_pa) {
            element->held_shut = false;
            opened = true;
        }
    }
    return opened;
}

bool water_release_pilots(struct circuit *circuit)
{
    bool opened = any_held(circuit) && water_solve(circuit) && open_pilots(circuit, NONE);
    if (opened)
        water_forget(circuit);
    return opened;
}

static bool solve_piece(struct circuit *circuit, size_t water)
{
    struct network *network = circuit->waters.at[water];
    enum network_end end = network_solve(network);
    if (end == NETWORK_UNSETTLED) { /* once more, from rest */
        network_restart(network);
        end = network_solve(network);
    }
    circuit->no_memory |= end == NETWORK_NO_MEMORY;
    return end == NETWORK_SETTLED;
}

bool water_solve(struct circuit *circuit)
{
    bool settled = true;
    for (size_t i = 0; i < circuit->waters.count; i++)
        settled &= solve_piece(circuit, i);
    circuit->unsettled |=
        !settled; /* on the way to it, a state that does not settle is passed by */
    return settled;
}

/* ---- A pump's answer to its speed ---- */

void water_set_speed(struct circuit *circuit, size_t pump, double speed)
{
    if (pump == NONE || circuit->pumps.at[pump].speed == speed)
        return;
    circuit->pumps.at[pump].speed = speed;
    circuit->stamp++;
}

/* False: this water has none. */
static bool hold_pilots(struct circuit *circuit, size_t water)
{
    bool any = false;
    for (size_t i = 0; i < circuit->elements.count; i++) {
        struct element *element = &circuit->elements.at[i];
        if (!element->pilot || element->shut ||
            circuit->branches.at[element->branch].water != water)
            continue;
        element->held_shut = any = true;
    }
    return any;
}

static void ask_water(struct circuit *circuit, struct pump *pump, double speed)
{
    const struct element *element = &circuit->elements.at[pump->element];
    water_set_speed(circuit, (size_t)(pump - circuit->pumps.at), speed);
    const struct branch_of_water *branch = &circuit->branches.at[element->branch];
    struct network *network = circuit->waters.at[branch->water];
    if (pump->answer.known) /* of another speed: what it would come to if all laws were lines */
        network_begin_at(network, branch->at,
                         pump->count * (pump->answer.flow +
                                        pump->answer.flow_by_speed * (speed - pump->answer.speed)));
    if (circuit->pilots_follow && hold_pilots(circuit, branch->water) &&
        solve_piece(circuit, branch->water))
        open_pilots(circuit, branch->water);
    solve_piece(circuit, branch->water);
    double flow = network_flow(network, branch->at);
    double each = flow / pump->count;
    double by_flow, by_speed, head;
    if (pump->diaphragm)
        head = pump_diaphragm_head_m(pump->max_pa, pump->max_flow_m3s, element->density, each,
                                     speed, &by_flow, &by_speed);
    else
        head = pump_head_m(&pump->curve, &pump->seat, each, speed, &by_flow, &by_speed);
    double response = network_response(network, branch->at, branch->at) / pump->count;
    double flow_by_speed = response * by_speed;
    pump->answer = (struct pump_answer){.known = true,
                                        .stamp = circuit->stamp,
                                        .speed = speed,
                                        .flow = each,
                                        .head = head,
                                        .flow_by_speed = flow_by_speed,
                                        .head_by_speed = by_speed + by_flow * flow_by_speed};
    pump->last[pump->next] = pump->answer;
    pump->next = (pump->next + 1) % PUMP_ANSWERS;
}

/* Was the same asked before? Pumps on the same water answer to each other's present speed as well.
 */
static bool recall(const struct circuit *circuit, struct pump *pump, double speed)
{
    if (pump->answer.known && pump->answer.speed == speed &&
        (!circuit->coupled || pump->answer.stamp == circuit->stamp))
        return true;
    for (size_t i = 0; i < PUMP_ANSWERS && !circuit->coupled; i++)
        if (pump->last[i].known && pump->last[i].speed == speed) {
            pump->answer = pump->last[i];
            return true;
        }
    return false;
}

bool water_knows_pump(const struct circuit *circuit, size_t pump)
{
    return pump != NONE &&
           circuit->branches.at[circuit->elements.at[circuit->pumps.at[pump].element].branch].known;
}

double water_share(struct circuit *circuit, size_t pump_index, double speed, double *by_speed)
{
    *by_speed = 0.0;
    if (pump_index == NONE)
        return 1.0;
    struct pump *pump = &circuit->pumps.at[pump_index];
    if (circuit->no_flow)
        return pump->diaphragm ? 1.0 : pump->shutoff_share;
    if (!water_knows_pump(circuit, pump_index) || !(speed > 0.0))
        return 1.0; /* where the water is not known, judge by the rated load */
    if (!recall(circuit, pump, speed))
        ask_water(circuit, pump, speed);
    if (pump->diaphragm) {
        double per_pa, weight = circuit->elements.at[pump->element].density * WATER_GRAVITY_M_S2;
        double share = motor_share_diaphragm(weight * pump->answer.head, pump->max_pa, &per_pa);
        *by_speed = per_pa * weight * pump->answer.head_by_speed;
        return share;
    }
    struct motor_share share = motor_share_centrifugal(pump->answer.flow, speed,
                                                       pump->curve.open_m3s, pump->shutoff_share);
    *by_speed = share.per_flow * pump->answer.flow_by_speed + share.per_speed;
    return share.share;
}

/* ---- Heads without flow ---- */

struct way { /* from a node (or a heap of nodes) to another, with what a pump adds */
    size_t from, to;
    double gain;
};

struct heights_search {
    const struct circuit *circuit;
    size_t *heap; /* nodes that stand at one head: union-find */
    struct way *ways;
    size_t way_count;
    bool *on_way;
    double *best;
    size_t steps_left;
};

static size_t heap_of(struct heights_search *search, size_t node)
{
    while (search->heap[node] != node)
        node = search->heap[node] = search->heap[search->heap[node]];
    return node;
}

static bool is_free_end(const struct circuit *circuit, size_t node)
{
    return !circuit->is_tank[node] && !isnan(circuit->fixed_head[node]);
}

/* What a branch lets through without flow, and what it adds. */
static void passage(const struct circuit *circuit, const struct branch_of_water *branch,
                    enum pumps_on_way pumps, double *gain, bool *forward_only, bool *plain)
{
    *gain = 0.0;
    *forward_only = false;
    *plain = true;
    for (size_t i = 0; i < branch->count; i++) {
        const struct element *element = &circuit->elements.at[branch->first + i];
        if (element->kind == ELEMENT_CHECK || element->kind == ELEMENT_ONE_WAY) {
            *forward_only = true;
            *plain = false;
        } else if (element->kind == ELEMENT_PUMP) {
            const struct pump *pump = &circuit->pumps.at[element->pump];
            *plain = false;
            *forward_only |= pump->seat.holds_back || pump->diaphragm || pumps == PUMPS_DRAW;
            if (pumps == PUMPS_RUN && pump->speed > 0.0)
                *gain += pump->diaphragm ? pump->max_pa / (element->density * WATER_GRAVITY_M_S2)
                                         : pump->speed * pump->speed * pump->curve.shutoff_m;
        }
    }
}

static void lay_ways(struct heights_search *search, size_t first, enum pumps_on_way pumps,
                     size_t except)
{
    const struct circuit *circuit = search->circuit;
    search->way_count = 0;
    for (int pass = 0; pass < 2; pass++)
        for (size_t i = first; i < circuit->branches.count;
             i = circuit->branches.at[i].next_in_piece) {
            const struct branch_of_water *branch = &circuit->branches.at[i];
            double gain;
            bool forward_only, plain;
            if (i == except || !branch->known || is_free_end(circuit, branch->from) ||
                is_free_end(circuit, branch->to))
                continue;
            passage(circuit, branch, pumps, &gain, &forward_only, &plain);
            bool tank = circuit->is_tank[branch->from] || circuit->is_tank[branch->to];
            if (pass == 0 && plain && !tank) {
                size_t a = heap_of(search, branch->from), b = heap_of(search, branch->to);
                search->heap[a > b ? a : b] = a > b ? b : a;
            } else if (pass == 1 && (!plain || tank)) {
                size_t a = heap_of(search, branch->from), b = heap_of(search, branch->to);
                search->ways[search->way_count++] = (struct way){a, b, gain};
                if (!forward_only)
                    search->ways[search->way_count++] = (struct way){b, a, 0.0};
            }
        }
}

/* Every way that comes to no place twice. Rigs have few pumps and check valves; where there are
 * so many that this would take long, a way that brings no more head is not followed on. */
static void follow(struct heights_search *search, size_t heap, double head, size_t depth)
{
    bool more = isnan(search->best[heap]) || head > search->best[heap];
    if (more)
        search->best[heap] = head;
    if (depth > 200 || (!more && search->steps_left == 0))
        return;
    if (search->steps_left > 0)
        search->steps_left--;
    search->on_way[heap] = true;
    for (size_t i = 0; i < search->way_count; i++) {
        const struct way *way = &search->ways[i];
        if (way->from == heap && !search->on_way[way->to] && !search->circuit->is_tank[way->to])
            follow(search, way->to, head + way->gain, depth + 1);
    }
    search->on_way[heap] = false;
}

static struct heights_search *take_search(struct circuit *circuit)
{
    size_t n = circuit->node_count + 1;
    struct heights_search *search = ARENA_TAKE(circuit->arena, 1, struct heights_search);
    if (!search)
        return NULL;
    *search = (struct heights_search){
        .circuit = circuit,
        .heap = ARENA_TAKE(circuit->arena, n, size_t),
        .ways = ARENA_TAKE(circuit->arena, 2 * circuit->branches.count + 1, struct way),
        .on_way = ARENA_TAKE(circuit->arena, n, bool),
    };
    return search->heap && search->ways && search->on_way ? search : NULL;
}

/* A piece's nodes, and the tanks at its edge, in one pass of its branches. */
static void clear_heads(struct heights_search *search, size_t first, double *heads)
{
    const struct circuit *circuit = search->circuit;
    for (size_t i = first; i < circuit->branches.count; i = circuit->branches.at[i].next_in_piece) {
        const size_t ends[] = {circuit->branches.at[i].from, circuit->branches.at[i].to};
        for (int e = 0; e < 2; e++) {
            search->heap[ends[e]] = ends[e];
            heads[ends[e]] = NAN;
        }
    }
}

/* Ways do not pass through tanks, so each piece of water is for itself. */
static void search_piece(struct heights_search *search, size_t first, enum pumps_on_way pumps,
                         size_t except, double *heads)
{
    const struct circuit *circuit = search->circuit;
    search->best = heads;
    search->steps_left = 20000;
    clear_heads(search, first, heads);
    lay_ways(search, first, pumps, except);
    for (size_t i = first; i < circuit->branches.count; i = circuit->branches.at[i].next_in_piece) {
        const size_t ends[] = {circuit->branches.at[i].from, circuit->branches.at[i].to};
        for (int e = 0; e < 2; e++)
            if (circuit->is_tank[ends[e]] && !isnan(circuit->fixed_head[ends[e]]) &&
                isnan(heads[ends[e]]))
                follow(search, ends[e], circuit->fixed_head[ends[e]], 0);
    }
    for (size_t i = first; i < circuit->branches.count; i = circuit->branches.at[i].next_in_piece) {
        heads[circuit->branches.at[i].from] = heads[heap_of(search, circuit->branches.at[i].from)];
        heads[circuit->branches.at[i].to] = heads[heap_of(search, circuit->branches.at[i].to)];
    }
}

bool water_high_heads(struct circuit *circuit, enum pumps_on_way pumps, size_t except,
                      double *heads)
{
    if (!circuit->search)
        circuit->search = take_search(circuit);
    if (!circuit->search) {
        circuit->no_memory = true;
        return false;
    }
    if (except != NONE) {
        search_piece(circuit->search, circuit->first_of_water[circuit->branches.at[except].water],
                     pumps, except, heads);
        return true;
    }
    for (size_t i = 0; i < circuit->node_count; i++)
        heads[i] = circuit->is_tank[i] ? circuit->fixed_head[i] : NAN;
    for (size_t i = 0; i < circuit->waters.count; i++)
        search_piece(circuit->search, circuit->first_of_water[i], pumps, NONE, heads);
    return true;
}

/* ---- Heights ---- */

static const struct part *part_at(const struct circuit *circuit, size_t part)
{
    return &circuit->rig->parts[part];
}

static bool is_tank_part(const struct circuit *circuit, size_t part)
{
    return circuit_is_kind(circuit, part, "tank");
}

/* The lowest height that anything joined by water to this part has (by runs, tanks too). */
static double lowest_around(const struct circuit *circuit, size_t part)
{
    const struct rig *rig = circuit->rig;
    if (circuit->lowest_known[part])
        return circuit->lowest[part];
    bool *seen = ARENA_TAKE(circuit->arena, rig->part_count + 1, bool);
    size_t *queue = ARENA_TAKE(circuit->arena, rig->part_count + 1, size_t);
    double lowest = NAN;
    if (!seen || !queue)
        return NAN;
    size_t begin = 0, end = 0;
    seen[part] = true;
    queue[end++] = part;
    while (begin < end) {
        size_t here = queue[begin++];
        const struct part *p = part_at(circuit, here);
        double height =
            p->kind ? part_number_or(p, "height", is_tank_part(circuit, here) ? 0.0 : NAN) : NAN;
        lowest = fmin(lowest, height);
        for (size_t t = circuit->touch_first[here]; t < circuit->touch_first[here + 1]; t++) {
            const struct part *run = &rig->parts[circuit->touch[t]];
            if (!circuit_is_kind(circuit, circuit->touch[t], "pipe"))
                continue;
            lowest = fmin(lowest, part_number(run, "end_height"));
            size_t other = run->from == here ? run->to : run->from;
            if (other < rig->part_count && !seen[other]) {
                seen[other] = true;
                queue[end++] = other;
            }
        }
    }
    for (size_t i = 0; i < end; i++) { /* the same for all that hang together */
        circuit->lowest[queue[i]] = lowest;
        circuit->lowest_known[queue[i]] = true;
    }
    return lowest;
}

double water_part_height(const struct circuit *circuit, size_t part)
{
    const struct part *p = part_at(circuit, part);
    double height = part_number(p, "height");
    if (!isnan(height))
        return height;
    if (is_tank_part(circuit, part))
        return 0.0;
    /* joined without hose to a tank, it stands at the tank's bottom */
    for (size_t t = circuit->touch_first[part]; t < circuit->touch_first[part + 1]; t++) {
        const struct part *run = part_at(circuit, circuit->touch[t]);
        size_t other = run->to == part ? run->from : run->to;
        if (circuit->is_joint[circuit->touch[t]] && is_tank_part(circuit, other))
            return part_number_or(part_at(circuit, other), "height", 0.0);
    }
    return lowest_around(circuit, part);
}

/* ---- Results ---- */

static double tidy(double flow)
{
    return fabs(flow) < WATER_NOTHING_M3S ? 0.0 : flow; /* nor -0 */
}

double water_flow_of_branch(const struct circuit *circuit, size_t branch)
{
    if (!circuit->branches.at[branch].known)
        return NAN;
    return tidy(flow_in(circuit, branch));
}

/* Flows of runs without bore: what the branches at one of their ends take or bring. Peels off
 * ends that have one such run left. */
static void find_joint_flows(struct circuit *circuit, bool no_flow)
{
    size_t ports = 3 * circuit->rig->part_count;
    double *surplus = ARENA_TAKE(circuit->arena, ports + 1, double);
    size_t *left = ARENA_TAKE(circuit->arena, ports + 1, size_t);
    if (!surplus || !left) {
        circuit->no_memory = true;
        return;
    }
    for (size_t i = 0; i < circuit->joints.count; i++) {
        left[circuit->joints.at[i].from_port]++;
        left[circuit->joints.at[i].to_port]++;
        circuit->joints.at[i].flow = NAN;
    }
    for (size_t i = 0; i < circuit->branches.count; i++) {
        const struct branch_of_water *branch = &circuit->branches.at[i];
        double flow = no_flow ? 0.0 : water_flow_of_branch(circuit, i);
        surplus[branch->from_port] -= flow;
        surplus[branch->to_port] += flow;
    }
    for (size_t round = 0, changed = 1; changed && round <= circuit->joints.count; round++) {
        changed = 0;
        for (size_t i = 0; i < circuit->joints.count; i++) {
            struct joint *joint = &circuit->joints.at[i];
            if (!isnan(joint->flow) || left[joint->from_port] == 0 || left[joint->to_port] == 0)
                continue;
            bool at_from =
                left[joint->from_port] == 1 && !is_tank_part(circuit, joint->from_port / 2);
            bool at_to = left[joint->to_port] == 1 && !is_tank_part(circuit, joint->to_port / 2);
            if (!at_from && !at_to)
                continue;
            joint->flow = at_from ? surplus[joint->from_port] : -surplus[joint->to_port];
            surplus[joint->from_port] -= joint->flow;
            surplus[joint->to_port] += joint->flow;
            left[joint->from_port]--;
            left[joint->to_port]--;
            changed = 1;
        }
    }
}

/* Head lost in a run: its own pipe and fittings, not what lies in it. */
static void report_pipe(const struct circuit *circuit, size_t branch, enum condition condition,
                        bool no_flow)
{
    const struct branch_of_water *b = &circuit->branches.at[branch];
    if (!circuit_is_kind(circuit, b->part, "pipe"))
        return;
    double flow = no_flow && b->known ? 0.0 : water_flow_of_branch(circuit, branch);
    const struct element *element = b->count ? &circuit->elements.at[b->first] : NULL;
    circuit_put(circuit, b->part, FIELD_FLOW, condition, flow);
    if (isnan(flow))
        return;
    if (!element || element->kind != ELEMENT_PIPE) {
        circuit_put(circuit, b->part, FIELD_FRICTION_HEAD, condition, 0.0);
        return;
    }
    double each = flow / element->count, slope;
    circuit_put(circuit, b->part, FIELD_VELOCITY, condition,
                fabs(pipe_velocity_m_s(each, element->bore_m)));
    circuit_put(circuit, b->part, FIELD_REYNOLDS, condition,
                pipe_reynolds(each, element->bore_m, element->viscosity));
    circuit_put(circuit, b->part, FIELD_FRICTION_HEAD, condition,
                fabs(water_element_drop(circuit, element, flow, &slope)));
}

static void report_joint(const struct circuit *circuit, const struct joint *joint,
                         enum condition condition)
{
    circuit_put(circuit, joint->part, FIELD_FLOW, condition,
                isnan(joint->flow) ? NAN : tidy(joint->flow));
    if (!isnan(joint->flow))
        circuit_put(circuit, joint->part, FIELD_FRICTION_HEAD, condition, 0.0);
}

static void report_coil(const struct circuit *circuit, const struct element *element, double flow,
                        enum condition condition)
{
    const struct part *part = part_at(circuit, element->part);
    struct collector collector = {.area_m2 = part_number(part, "area") * element->count,
                                  .optical_gain = part_number(part, "optical_gain"),
                                  .loss_w_m2k = part_number(part, "heat_loss"),
                                  .test_kg_m2s = part_number(part, "test_flow")};
    double slope, inlet = circuit->water_degc;
    double mass = element->density * fabs(flow);
    double per_area = mass / collector.area_m2;
    double heat = water_heat_j_kgk(element->fluid, inlet);
    circuit_put(circuit, element->part, FIELD_HEAD_LOSS, condition,
                fabs(water_element_drop(circuit, element, flow, &slope)));
    circuit_put(circuit, element->part, FIELD_SPECIFIC_FLOW, condition, per_area);
    circuit_put(circuit, element->part, FIELD_INLET_TEMPERATURE, condition, inlet);
    if (mass == 0.0)
        return;
    double gain =
        collector_gain_w(&collector, circuit->sun, inlet, circuit->air_degc, per_area, heat);
    circuit_put(circuit, element->part, FIELD_GAIN, condition, gain);
    circuit_put(circuit, element->part, FIELD_OUTLET_TEMPERATURE, condition,
                inlet + gain / (mass * heat));
}

static bool is_shut(const struct element *element)
{
    return element->kind == ELEMENT_VALVE && (element->shut || element->held_shut);
}

static void report_valve(const struct circuit *circuit, const struct element *element, double flow,
                         enum condition condition)
{
    double slope;
    double drop = water_element_drop(circuit, element, flow, &slope);
    if (is_shut(element) || flow == 0.0)
        return;
    circuit_put(circuit, element->part, FIELD_PRESSURE_DROP, condition,
                fabs(drop) * element->density * WATER_GRAVITY_M_S2);
}

/* ---- Trapped water ---- */

/* Between shut valves, check valves and free ends water can be shut off from every tank. What
 * little our shut parts leak would give it some head between those around it; none is its own. */
struct trapped {
    size_t *heap;  /* by node: those that nothing keeps apart; union-find */
    bool *open;    /* by heap: a tank or a running free end is in it */
    double *drawn; /* by node: head of the water that pumps draw from there; NAN: none */
};

/* Does a branch without flow keep the waters at its ends apart? */
static bool keeps_apart(const struct circuit *circuit, const struct branch_of_water *branch)
{
    for (size_t i = 0; i < branch->count; i++) {
        const struct element *element = &circuit->elements.at[branch->first + i];
        const struct pump *pump =
            element->kind == ELEMENT_PUMP ? &circuit->pumps.at[element->pump] : NULL;
        if (is_shut(element) || element->kind == ELEMENT_CHECK ||
            element->kind == ELEMENT_ONE_WAY || element->kind == ELEMENT_OUTLET ||
            (pump && (pump->seat.holds_back || (pump->diaphragm && pump->speed > 0.0))))
            return true;
    }
    return false;
}

static size_t trapped_heap(const struct trapped *trapped, size_t node)
{
    while (trapped->heap[node] != node)
        node = trapped->heap[node] = trapped->heap[trapped->heap[node]];
    return node;
}

static bool is_trapped(const struct trapped *trapped, size_t node)
{
    return !trapped->open[trapped_heap(trapped, node)];
}

/* After a solve. False: no memory. */
static bool find_trapped(struct circuit *circuit, struct trapped *trapped)
{
    size_t n = circuit->node_count;
    *trapped = (struct trapped){.heap = ARENA_TAKE(circuit->arena, n + 1, size_t),
                                .open = ARENA_TAKE(circuit->arena, n + 1, bool),
                                .drawn = ARENA_TAKE(circuit->arena, n + 1, double)};
    if (!trapped->heap || !trapped->open || !trapped->drawn) {
        circuit->no_memory = true;
        return false;
    }
    for (size_t i = 0; i < n; i++)
        trapped->heap[i] = i;
    for (size_t i = 0; i < circuit->branches.count; i++) {
        const struct branch_of_water *branch = &circuit->branches.at[i];
        if (!branch->known ||
            (water_flow_of_branch(circuit, i) == 0.0 && keeps_apart(circuit, branch)))
            continue;
        trapped->heap[trapped_heap(trapped, branch->from)] = trapped_heap(trapped, branch->to);
    }
    for (size_t i = 0; i < n; i++)
        trapped->open[trapped_heap(trapped, i)] |= !isnan(circuit->fixed_head[i]);
    return water_high_heads(circuit, PUMPS_DRAW, NONE, trapped->drawn);
}

/* Air pressure less vapour, in m, and the water's head at the inlet over the pump: all that
 * is lost on the way is in that head already. */
static void report_suction(const struct circuit *circuit, const struct pump *pump,
                           double inlet_head, enum condition condition)
{
    const struct element *element = &circuit->elements.at[pump->element];
    const struct part *part = part_at(circuit, pump->part);
    double required = part_number(part, "npsh_required");
    if (isnan(required) && part_is(part, "mounting", "surface") && !pump->diaphragm)
        required = NPSH_REQUIRED_ASSUMED_M;
    if (isnan(required))
        return; /* so is the margin */
    double altitude = part_number_or(part_at(circuit, circuit->rig->site), "altitude", 0.0);
    double available = npsh_available_m(
        npsh_air_pa(altitude), water_vapour_pa(element->fluid, circuit->water_degc),
        element->density, inlet_head, water_part_height(circuit, pump->part), 0.0);
    circuit_put(circuit, pump->part, FIELD_SUCTION_MARGIN, condition, available - required);
}

static double shutoff_head(const struct circuit *circuit, const struct pump *pump)
{
    if (!(pump->speed > 0.0))
        return 0.0;
    if (pump->diaphragm)
        return pump->max_pa / (circuit->elements.at[pump->element].density * WATER_GRAVITY_M_S2);
    return pump->speed * pump->speed * pump->curve.shutoff_m;
}

/* Head that a pump brings: at its outlet less at its inlet. Where one of them is trapped it takes
 * the other's, and the pump's own. */
static double pump_rise(const struct circuit *circuit, const struct element *element,
                        const struct trapped *trapped, double flow)
{
    const struct pump *pump = &circuit->pumps.at[element->pump];
    const struct branch_of_water *branch = &circuit->branches.at[element->branch];
    if (!trapped ||
        (flow == 0.0 && (is_trapped(trapped, branch->from) || is_trapped(trapped, branch->to))))
        return shutoff_head(circuit, pump);
    if (branch->count == 1)
        return head_at(circuit, branch->to) - head_at(circuit, branch->from);
    return -head_across(circuit, element);
}

/* `trapped` is NULL where nothing flows at all. */
static void report_pump(const struct circuit *circuit, const struct element *element, double flow,
                        enum condition condition, const struct trapped *trapped)
{
    const struct pump *pump = &circuit->pumps.at[element->pump];
    double rise = pump_rise(circuit, element, trapped, flow);
    circuit_put(circuit, pump->part, FIELD_HEAD, condition, rise);
    circuit_put(circuit, pump->part, FIELD_SHUTOFF_HEAD, condition, shutoff_head(circuit, pump));
    if (pump->taker != NONE && pump->speed > 0.0 && trapped) {
        const struct taker *taker = &circuit->takers.at[pump->taker];
        circuit_put(circuit, pump->part, FIELD_EFFICIENCY, condition,
                    pump_efficiency(flow, rise, element->density, taker->volts * taker->amps));
    } else if (pump->speed > 0.0) {
        circuit_put(circuit, pump->part, FIELD_EFFICIENCY, condition, 0.0);
    }
}

/* Head at a pump's inlet: as the water flows, or of what it would draw from. */
static double inlet_head(const struct circuit *circuit, const struct pump *pump,
                         const struct trapped *trapped, bool no_flow)
{
    size_t node = circuit->branches.at[circuit->elements.at[pump->element].branch].from;
    return no_flow || is_trapped(trapped, node) ? trapped->drawn[node] : head_at(circuit, node);
}

void water_report(struct circuit *circuit, enum condition condition, bool no_flow)
{
    struct trapped trapped;
    if (!circuit->branches.count && !circuit->joints.count)
        return;
    if (!no_flow)
        fill(circuit);
    if (!find_trapped(circuit, &trapped))
        return;
    for (size_t i = 0; i < circuit->branches.count; i++)
        report_pipe(circuit, i, condition, no_flow);
    find_joint_flows(circuit, no_flow);
    for (size_t i = 0; i < circuit->joints.count; i++)
        report_joint(circuit, &circuit->joints.at[i], condition);
    for (size_t i = 0; i < circuit->elements.count; i++) {
        const struct element *element = &circuit->elements.at[i];
        if (!circuit->branches.at[element->branch].known || element->kind == ELEMENT_PIPE)
            continue;
        double flow = no_flow ? 0.0 : water_flow_of_branch(circuit, element->branch);
        circuit_put(circuit, element->part, FIELD_FLOW, condition, is_shut(element) ? 0.0 : flow);
        if (element->kind == ELEMENT_COIL)
            report_coil(circuit, element, flow, condition);
        else if (element->kind == ELEMENT_PUMP) {
            const struct pump *pump = &circuit->pumps.at[element->pump];
            report_pump(circuit, element, flow, condition, no_flow ? NULL : &trapped);
            report_suction(circuit, pump, inlet_head(circuit, pump, &trapped, no_flow), condition);
        } else if (element->kind == ELEMENT_VALVE || element->kind == ELEMENT_CHECK)
            report_valve(circuit, element, flow, condition);
    }
}

/* ---- Highest pressures ---- */

static double end_height(const struct circuit *circuit, const struct branch_of_water *branch,
                         bool to_end)
{
    const struct part *run = part_at(circuit, branch->part);
    size_t node = to_end ? branch->to : branch->from;
    if (to_end && is_free_end(circuit, node))
        return circuit->fixed_head[node];
    return water_part_height(circuit, to_end ? run->to : run->from);
}

/* A tank or a free end, shut, takes the head of the other end. */
static double larger_head(const struct circuit *circuit, size_t from, size_t to,
                          const double *heads)
{
    bool from_open = circuit->is_tank[from] || is_free_end(circuit, from);
    bool to_open = circuit->is_tank[to] || is_free_end(circuit, to);
    if (from_open && !to_open)
        return heads[to];
    if (to_open && !from_open)
        return heads[from];
    return fmax(heads[from], heads[to]);
}

void water_report_dead_end(struct circuit *circuit, enum condition condition)
{
    double *heads = ARENA_TAKE(circuit->arena, circuit->node_count + 1, double);
    if (!heads || !water_high_heads(circuit, PUMPS_RUN, NONE, heads)) {
        circuit->no_memory |= !heads;
        return;
    }
    double weight = circuit->density * WATER_GRAVITY_M_S2;
    for (size_t i = 0; i < circuit->branches.count; i++) {
        const struct branch_of_water *branch = &circuit->branches.at[i];
        if (!branch->known || !circuit_is_kind(circuit, branch->part, "pipe"))
            continue;
        double head = larger_head(circuit, branch->from, branch->to, heads);
        double height = fmin(end_height(circuit, branch, false), end_height(circuit, branch, true));
        circuit_put(circuit, branch->part, FIELD_HIGH_PRESSURE, condition,
                    isnan(head) || isnan(height) ? NAN : fmax(0.0, weight * (head - height)));
    }
    for (size_t i = 0; i < circuit->joints.count; i++) {
        const struct part *run = part_at(circuit, circuit->joints.at[i].part);
        double head = heads[circuit->node_of_port[circuit->joints.at[i].from_port]];
        double height =
            fmin(water_part_height(circuit, run->from), water_part_height(circuit, run->to));
        circuit_put(circuit, circuit->joints.at[i].part, FIELD_HIGH_PRESSURE, condition,
                    isnan(head) || isnan(height) ? NAN : fmax(0.0, weight * (head - height)));
    }
}

/* An in-line valve stands at the `to` end of its run. */
static double valve_height(const struct circuit *circuit, const struct element *element)
{
    const struct branch_of_water *branch = &circuit->branches.at[element->branch];
    double own = part_number(part_at(circuit, element->part), "height");
    if (!isnan(own) || branch->part == element->part)
        return water_part_height(circuit, element->part);
    return end_height(circuit, branch, true);
}

static double upstream_pressure(struct circuit *circuit, const struct element *element,
                                enum pumps_on_way pumps, double *heads)
{
    if (!water_high_heads(circuit, pumps, element->branch, heads))
        return NAN;
    double head = heads[circuit->branches.at[element->branch].from];
    return element->density * WATER_GRAVITY_M_S2 * (head - valve_height(circuit, element));
}

static bool is_valve(const struct circuit *circuit, const struct element *element)
{
    return element->kind == ELEMENT_VALVE && circuit_is_kind(circuit, element->part, "valve") &&
           circuit->branches.at[element->branch].known;
}

void water_report_rest(struct circuit *circuit, enum condition condition)
{
    double *heads = ARENA_TAKE(circuit->arena, circuit->node_count + 1, double);
    if (!heads) {
        circuit->no_memory = true;
        return;
    }
    for (size_t i = 0; i < circuit->elements.count; i++) {
        const struct element *element = &circuit->elements.at[i];
        if (!is_valve(circuit, element))
            continue;
        circuit_put(circuit, element->part, FIELD_REST_PRESSURE, condition,
                    upstream_pressure(circuit, element, PUMPS_STAND, heads));
        if (condition == CONDITION_DEAD_END)
            circuit_put(circuit, element->part, FIELD_HIGH_PRESSURE, condition,
                        upstream_pressure(circuit, element, PUMPS_RUN, heads));
    }
}

/* ---- Draining ---- */

struct draining {
    struct circuit *circuit;
    size_t node;
    double bottom_m;
    size_t *branch, count; /* those at the tank */
};

/* Valves times branches at their tanks that are gone through: each asks for hundreds of solves. */
enum { MOST_DRAINED = 512 };

/* Net flow out of the tank at a level. */
static double flow_out(double level_m, void *context)
{
    struct draining *draining = context;
    struct circuit *circuit = draining->circuit;
    double out = 0.0;
    for (size_t i = 0; i < draining->count; i++) {
        const struct branch_of_water *branch = &circuit->branches.at[draining->branch[i]];
        struct network *network = circuit->waters.at[branch->water];
        if (branch->from == draining->node)
            network_set_effort(network, branch->at_from, draining->bottom_m + level_m);
        if (branch->to == draining->node)
            network_set_effort(network, branch->at_to, draining->bottom_m + level_m);
    }
    for (size_t i = 0; i < draining->count; i++) {
        const struct branch_of_water *branch = &circuit->branches.at[draining->branch[i]];
        bool again = i > 0 && circuit->branches.at[draining->branch[i - 1]].water == branch->water;
        if (!again && !solve_piece(circuit, branch->water))
            return 0.0;
        double flow = flow_in(circuit, draining->branch[i]);
        out += (branch->from == draining->node ? flow : 0.0) -
               (branch->to == draining->node ? flow : 0.0);
    }
    return out;
}

/* The tank from which a valve draws: the first that its runs lead back to, the way they are
 * written. */
static size_t tank_above(const struct circuit *circuit, const struct element *element)
{
    size_t part = circuit->branches.at[element->branch].part;
    for (size_t n = 0; n <= circuit->rig->part_count; n++) {
        if (is_tank_part(circuit, part))
            return part;
        size_t before = NONE;
        if (circuit_is_kind(circuit, part, "pipe"))
            before = part_at(circuit, part)->from;
        else
            for (size_t t = circuit->touch_first[part];
                 t < circuit->touch_first[part + 1] && before == NONE; t++)
                if (circuit_is_kind(circuit, circuit->touch[t], "pipe") &&
                    part_at(circuit, circuit->touch[t])->to == part)
                    before = part_at(circuit, circuit->touch[t])->from;
        if (before >= circuit->rig->part_count)
            return NONE;
        part = before;
    }
    return NONE;
}

/* open_time: by node, what was found for its tank as all valves stand at noon; NAN: nothing yet.
 * It is the same for every valve that is open then. */
static double drain_time(struct circuit *circuit, const struct element *element, double *open_time,
                         size_t *budget)
{
    size_t tank = tank_above(circuit, element);
    if (tank == NONE)
        return NAN;
    const struct part *part = part_at(circuit, tank);
    double surface = part_number(part, "water_surface");
    double volume = part_number(part, "volume"), level = part_number(part, "level");
    if (isnan(surface) && volume > 0.0)
        surface = tank_floor_m2(volume);
    struct draining draining = {.circuit = circuit,
                                .node = circuit->node_of_port[2 * tank],
                                .bottom_m = part_number_or(part, "height", 0.0),
                                .branch = ARENA_TAKE(circuit->arena, MOST_DRAINED, size_t)};
    if (!(surface > 0.0) || !(level > 0.0) || draining.node == NONE || !draining.branch)
        return NAN;
    for (size_t i = 0; i < circuit->branches.count; i++)
        if ((circuit->branches.at[i].from == draining.node ||
             circuit->branches.at[i].to == draining.node) &&
            draining.count < MOST_DRAINED)
            draining.branch[draining.count++] = i;
    if (*budget < draining.count) {
        *budget = 0;
        return NAN;
    }
    *budget -= draining.count;
    /* a flow of a millionth of the first one is the end */
    double first = flow_out(level, &draining);
    if (!(first > 1e-9) || fabs(flow_in(circuit, element->branch)) < WATER_NOTHING_M3S)
        return NAN;
    double time = element->shut_at_noon ? NAN : open_time[draining.node];
    if (isnan(time))
        time = tank_drain_time(surface, level, fmax(1e-6 * first, WATER_NOTHING_M3S), flow_out,
                               &draining)
                   .time_s;
    if (!element->shut_at_noon)
        open_time[draining.node] = time;
    set_head(circuit, draining.node, circuit->fixed_head[draining.node]);
    return time;
}

void water_keep_valves(struct circuit *circuit)
{
    for (size_t i = 0; i < circuit->elements.count; i++)
        circuit->elements.at[i].shut_at_noon = is_shut(&circuit->elements.at[i]);
}

void water_report_drains(struct circuit *circuit)
{
    size_t budget = MOST_DRAINED;
    double *open_time = ARENA_TAKE(circuit->arena, circuit->node_count + 1, double);
    if (!open_time) {
        circuit->no_memory = true;
        return;
    }
    for (size_t i = 0; i < circuit->node_count; i++)
        open_time[i] = NAN;
    for (size_t i = 0; i < circuit->pumps.count; i++)
        circuit->pumps.at[i].speed = 0.0;
    for (size_t i = 0; i < circuit->elements.count; i++) {
        circuit->elements.at[i].shut = circuit->elements.at[i].shut_at_noon;
        circuit->elements.at[i].held_shut = false;
    }
    water_forget(circuit);
    for (size_t i = 0; i < circuit->elements.count && budget > 0; i++) {
        struct element *element = &circuit->elements.at[i];
        if (!is_valve(circuit, element))
            continue;
        element->shut = false;
        double time = drain_time(circuit, element, open_time, &budget);
        size_t tank = tank_above(circuit, element);
        if (tank != NONE && circuit->node_of_port[2 * tank] != NONE)
            set_head(circuit, circuit->node_of_port[2 * tank],
                     circuit->fixed_head[circuit->node_of_port[2 * tank]]);
        element->shut = element->shut_at_noon;
        circuit_put_once(circuit, element->part, FIELD_DRAIN_TIME, time);
    }
}
