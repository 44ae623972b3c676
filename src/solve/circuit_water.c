/* circuit_water.c - from pipe runs and parts to a network of water. */
#include <math.h>
#include <string.h>

#include "physics/fitting.h"
#include "physics/roughness.h"
#include "physics/valve.h"
#include "solve/circuit.h"

/* Roughness of a hose or tube of no stated material: drawn tubing, as roughness.c's row for
 * plastic. Our own choice; no source. */
#define ROUGHNESS_UNKNOWN_M 1.5e-6

struct plumbing {
    struct circuit *circuit;
    const struct rig *rig;
    size_t *joined;  /* union-find over ports */
    size_t *touches; /* pipes that end at a part */
    size_t *met;     /* pipes of a two-ended fitting met so far */
    bool failed;
};

static const struct part *part_at(const struct plumbing *plumbing, size_t part)
{
    return &plumbing->rig->parts[part];
}

static bool is(const struct plumbing *plumbing, size_t part, const char *kind)
{
    return circuit_is_kind(plumbing->circuit, part, kind);
}

static bool is_water_part(const struct plumbing *plumbing, size_t part)
{
    const struct kind *kind =
        part < plumbing->rig->part_count ? part_at(plumbing, part)->kind : NULL;
    return kind && (kind_is(kind, "water-part") || strcmp(kind->name, "junction") == 0);
}

static bool is_run(const struct plumbing *plumbing, size_t part)
{
    const struct part *run = part_at(plumbing, part);
    return is(plumbing, part, "pipe") && run->from < plumbing->rig->part_count &&
           run->to < plumbing->rig->part_count && !part_is(run, "takes_from", "overflow");
}

/* Does the second end hang in the air? Into a tank it is under water, into anything that takes
 * no water free, unless it says so. */
static bool ends_free(const struct plumbing *plumbing, const struct part *run)
{
    if (part_is(run, "ends", "free"))
        return true;
    return !part_is(run, "ends", "under-water") && !is_water_part(plumbing, run->to);
}

/* An outlet without figures is an open end. */
static bool is_open_end(const struct plumbing *plumbing, size_t part)
{
    const struct part *p = part_at(plumbing, part);
    return is(plumbing, part, "outlet") && isnan(part_number(p, "kv")) &&
           !(part_number(p, "nominal_flow") > 0.0 && part_number(p, "pressure") > 0.0);
}

static bool is_two_ended(const struct plumbing *plumbing, size_t part)
{
    static const char *const kinds[] = {"pump",        "valve",  "coil",
                                        "check-valve", "filter", "mixing-valve"};
    for (size_t i = 0; i < sizeof kinds / sizeof *kinds; i++)
        if (is(plumbing, part, kinds[i]))
            return true;
    if (!is(plumbing, part, "fitting") || plumbing->touches[part] != 2)
        return false;
    const struct part *p = part_at(plumbing, part);
    return part_number(p, "k") > 0.0 || part_number(p, "equivalent_length") > 0.0;
}

static size_t root_of(const struct plumbing *plumbing, size_t port)
{
    while (plumbing->joined[port] != port)
        port = plumbing->joined[port] = plumbing->joined[plumbing->joined[port]];
    return port;
}

static void join(struct plumbing *plumbing, size_t a, size_t b)
{
    a = root_of(plumbing, a);
    b = root_of(plumbing, b);
    plumbing->joined[a > b ? a : b] = a > b ? b : a;
}

/* The port at which a pipe's end stands: 2 part is its inlet, 2 part + 1 its outlet. */
static size_t port_of_end(struct plumbing *plumbing, size_t part, bool from_end)
{
    if (!is_two_ended(plumbing, part))
        return 2 * part;
    if (is(plumbing, part, "fitting")) /* it loses alike both ways: first come, first end */
        return 2 * part + (plumbing->met[part]++ ? 1 : 0);
    return 2 * part + (from_end ? 1 : 0);
}

/* ---- Elements ---- */

static double kv_of(const struct part *part)
{
    double kv = part_number(part, "kv");
    if (!isnan(kv))
        return kv;
    const struct part_value *cv = part_value(part, "cv");
    if (cv && cv->value.type == VALUE_QUANTITY)
        return valve_kv_of_cv(cv->value.as.quantity.value);
    const struct part_value *orifice = part_value(part, "orifice");
    if (orifice && orifice->value.type == VALUE_QUANTITY)
        return valve_kv_of_orifice(orifice->value.as.quantity.value);
    return NAN;
}

static double roughness_of(const struct part *part)
{
    double given = part_number(part, "roughness");
    if (!isnan(given))
        return given;
    const char *material = part_word(part, "material");
    double known = material ? roughness_m(material) : NAN;
    return isnan(known) ? ROUGHNESS_UNKNOWN_M : known;
}

static struct element element_of(const struct plumbing *plumbing, size_t part,
                                 enum element_kind kind)
{
    const struct part *p = part_at(plumbing, part);
    return (struct element){.kind = kind,
                            .part = part,
                            .count = part_number_or(p, "count", 1.0),
                            .pump = NONE,
                            .kv_m3s = NAN};
}

/* Opened or shut by its coil in the named conditions (its switches are on); a hand valve and one
 * that nothing energises as it rests. At standstill everything rests: see water.c. */
static struct element valve_element(const struct plumbing *plumbing, size_t part)
{
    const struct part *p = part_at(plumbing, part);
    struct element element = element_of(plumbing, part, ELEMENT_VALVE);
    const struct part_value *rests = part_value(p, "rests");
    bool rests_open = part_is(p, "rests", "open");
    /* nobody lists a hand valve to leave it shut */
    if (part_is(p, "action", "hand") &&
        (!rests || rests->origin == ORIGIN_ASSUMED || rests->origin == ORIGIN_UNKNOWN))
        rests_open = true;
    bool on = part_word(p, "energised_by") != NULL;
    element.kv_m3s = kv_of(p);
    element.switched_shut = rests_open == on;
    element.rests_shut = !rests_open;
    element.pilot = part_is(p, "action", "pilot");
    element.least_pa = part_number_or(p, "least_pressure", 0.0);
    return element;
}

static struct element coil_element(const struct plumbing *plumbing, size_t part)
{
    const struct part *p = part_at(plumbing, part);
    struct element element = element_of(plumbing, part, ELEMENT_COIL);
    enum coil_layout layout = COIL_SERPENTINE;
    if (part_is(p, "layout", "helical"))
        layout = COIL_HELICAL;
    else if (part_is(p, "layout", "straight"))
        layout = COIL_STRAIGHT;
    double length = part_number(p, "length");
    element.coil = (struct coil_tube){
        .layout = layout,
        .bore_m = part_number(p, "bore"),
        .length_m = length,
        .turn_m = part_number(p, "coil_diameter"),
        .bends = part_number_or(p, "bends", coil_bends(length, part_number(p, "area"))),
        .tubes = part_number_or(p, "tubes", 1.0),
        .roughness_m = roughness_of(p),
    };
    if (layout != COIL_SERPENTINE || isnan(element.coil.bends))
        element.coil.bends = 0.0;
    return element;
}

static struct element outlet_element(const struct plumbing *plumbing, size_t part)
{
    const struct part *p = part_at(plumbing, part);
    struct element element = element_of(plumbing, part, ELEMENT_OUTLET);
    element.kv_m3s = part_number(p, "kv");
    element.nominal_m3s = part_number(p, "nominal_flow");
    element.nominal_pa = part_number(p, "pressure");
    element.exponent = part_number_or(p, "exponent", 0.5);
    return element;
}

static double bore_beside(const struct plumbing *plumbing, size_t part, size_t except);

static struct element fitting_element(const struct plumbing *plumbing, size_t part)
{
    const struct part *p = part_at(plumbing, part);
    struct element element = element_of(plumbing, part, ELEMENT_LOSS);
    element.bore_m = part_number(p, "bore");
    if (isnan(element.bore_m))
        element.bore_m = bore_beside(plumbing, part, NONE);
    element.k = part_number_or(p, "k", 0.0);
    element.length_m = element.k > 0.0 ? 0.0 : part_number_or(p, "equivalent_length", 0.0);
    element.roughness_m = roughness_of(p);
    return element;
}

/* The curve of a pump; false when its figures do not give one. */
static bool read_curve(const struct plumbing *plumbing, const struct part *part,
                       struct pump_curve *out)
{
    const struct part_value *curve = part_value(part, "curve");
    double max_head = part_number(part, "max_head");
    if (!curve || curve->value.type != VALUE_POINTS)
        return pump_curve_of_plate(max_head, part_number(part, "max_flow"), out) == PUMP_FIT_GOOD;
    size_t count = curve->value.as.points.count;
    double *x = ARENA_TAKE(plumbing->circuit->arena, 2 * count + 1, double);
    if (!x)
        return false;
    for (size_t i = 0; i < count; i++) {
        x[i] = curve->value.as.points.at[i].x.value;
        x[count + i] = curve->value.as.points.at[i].y.value;
    }
    return pump_curve_of_points(x, x + count, count, isnan(max_head) ? 0.0 : max_head, out) ==
           PUMP_FIT_GOOD;
}

/* Bore of the first pipe from the pump's outlet, else to its inlet. */
static double seat_bore(const struct plumbing *plumbing, size_t pump)
{
    const struct circuit *circuit = plumbing->circuit;
    for (int pass = 0; pass < 2; pass++)
        for (size_t t = circuit->touch_first[pump]; t < circuit->touch_first[pump + 1]; t++) {
            size_t i = circuit->touch[t];
            if (!is_run(plumbing, i))
                continue;
            const struct part *run = part_at(plumbing, i);
            double bore = part_number(run, "bore");
            if ((pass ? run->to : run->from) == pump && !isnan(bore))
                return bore;
        }
    return 0.0;
}

static struct element pump_element(struct plumbing *plumbing, size_t part)
{
    struct circuit *circuit = plumbing->circuit;
    const struct part *p = part_at(plumbing, part);
    struct element element = element_of(plumbing, part, ELEMENT_PUMP);
    struct pump pump = {.part = part,
                        .taker = NONE,
                        .diaphragm = part_is(p, "type", "diaphragm"),
                        .shutoff_share = part_number_or(p, "shutoff_power_share", 0.6),
                        .count = part_number_or(p, "count", 1.0)};
    pump.seat = (struct pump_seat){.bore_m = seat_bore(plumbing, part),
                                   .holds_back = part_is(p, "holds_back", "yes")};
    if (pump.diaphragm) {
        pump.given_pa = part_number(p, "max_pressure");
        pump.given_m = part_number(p, "max_head");
        pump.max_flow_m3s = part_number(p, "max_flow");
        pump.known = (pump.given_pa > 0.0 || pump.given_m > 0.0) && pump.max_flow_m3s > 0.0;
    } else {
        pump.known = read_curve(plumbing, p, &pump.curve);
    }
    for (size_t i = 0; i < circuit->takers.count; i++)
        if (circuit->takers.at[i].part == part && circuit->takers.at[i].kind == TAKER_MOTOR) {
            pump.taker = i;
            circuit->takers.at[i].pump = circuit->pumps.count;
        }
    pump.fed_known = pump.taker == NONE || circuit_feed_known(circuit, pump.taker);
    pump.element = circuit->elements.count;
    element.pump = circuit->pumps.count;
    if (!CIRCUIT_ADD(circuit, pumps, pump))
        plumbing->failed = true;
    return element;
}

/* Adds the element that a part is; false when it lets water through without loss. */
static bool part_element(struct plumbing *plumbing, size_t part, struct element *out)
{
    if (is(plumbing, part, "pump"))
        *out = pump_element(plumbing, part);
    else if (is(plumbing, part, "coil"))
        *out = coil_element(plumbing, part);
    else if (is(plumbing, part, "valve"))
        *out = valve_element(plumbing, part);
    else if (is(plumbing, part, "check-valve")) {
        *out = element_of(plumbing, part, ELEMENT_CHECK);
        out->kv_m3s = kv_of(part_at(plumbing, part));
        out->cracking_pa = part_number_or(part_at(plumbing, part), "cracking_pressure", 0.0);
    } else if (is(plumbing, part, "filter") || is(plumbing, part, "mixing-valve")) {
        *out = element_of(plumbing, part, ELEMENT_VALVE);
        out->kv_m3s = kv_of(part_at(plumbing, part));
    } else if (is(plumbing, part, "fitting")) {
        *out = fitting_element(plumbing, part);
    } else {
        return false;
    }
    return true;
}

static void add_element(struct plumbing *plumbing, struct element element)
{
    struct circuit *circuit = plumbing->circuit;
    element.branch = circuit->branches.count - 1;
    if (circuit->element_of_part[element.part] == NONE)
        circuit->element_of_part[element.part] = circuit->elements.count;
    if (!CIRCUIT_ADD(circuit, elements, element))
        plumbing->failed = true;
    else
        circuit->branches.at[element.branch].count++;
}

static void begin_branch(struct plumbing *plumbing, size_t part, size_t from_port, size_t to_port)
{
    struct circuit *circuit = plumbing->circuit;
    if (!CIRCUIT_ADD(circuit, branches,
                     (struct branch_of_water){.from_port = from_port,
                                              .to_port = to_port,
                                              .part = part,
                                              .first = circuit->elements.count}))
        plumbing->failed = true;
}

/* ---- Pipes ---- */

/* Bore of another run (or coil) at a part, NAN when there is none. */
static double bore_beside(const struct plumbing *plumbing, size_t part, size_t except)
{
    const struct circuit *circuit = plumbing->circuit;
    for (size_t t = circuit->touch_first[part]; t < circuit->touch_first[part + 1]; t++) {
        size_t i = circuit->touch[t];
        const struct part *run = part_at(plumbing, i);
        if (i == except || !is_run(plumbing, i))
            continue;
        double bore = part_number(run, "bore");
        if (!isnan(bore))
            return bore;
    }
    return is(plumbing, part, "coil") ? part_number(part_at(plumbing, part), "bore") : NAN;
}

/* A reducer narrows from the run's bore to that of what it meets: k on the run's own velocity. */
static double reducer_k(const struct plumbing *plumbing, size_t run, double bore)
{
    const struct part *p = part_at(plumbing, run);
    const size_t ends[] = {p->to, p->from};
    for (int i = 0; i < 2; i++) {
        double other = bore_beside(plumbing, ends[i], run);
        if (isnan(other) || other == bore)
            continue;
        double smaller = fmin(bore, other), larger = fmax(bore, other);
        return fitting_k_on_bore(fitting_reducer_k(smaller / larger), smaller, bore);
    }
    return 0.0;
}

static double fittings_k(const struct plumbing *plumbing, size_t run, double bore)
{
    const struct part_value *fittings = part_value(part_at(plumbing, run), "fittings");
    double sum = 0.0;
    if (!fittings || fittings->value.type != VALUE_FITTINGS)
        return 0.0;
    for (size_t i = 0; i < fittings->value.as.fittings.count; i++) {
        const struct value_fitting *fitting = &fittings->value.as.fittings.at[i];
        double k = fitting->k;
        if (isnan(k))
            k = strcmp(fitting->name, "reducer") == 0 ? reducer_k(plumbing, run, bore)
                                                      : fitting_k(fitting->name);
        if (!isnan(k))
            sum += fitting->number * k;
    }
    return sum;
}

static struct element pipe_element(const struct plumbing *plumbing, size_t run, bool into_air)
{
    const struct part *p = part_at(plumbing, run);
    struct element element = element_of(plumbing, run, ELEMENT_PIPE);
    element.bore_m = part_number(p, "bore");
    element.length_m = part_number(p, "length");
    element.roughness_m = roughness_of(p);
    element.k = fittings_k(plumbing, run, element.bore_m);
    if (is(plumbing, p->from, "tank"))
        element.k += FITTING_K_ENTRANCE;
    if (into_air || is(plumbing, p->to, "tank"))
        element.k += FITTING_K_EXIT;
    return element;
}

static double free_end_height(const struct plumbing *plumbing, const struct part *run)
{
    const struct part *to = part_at(plumbing, run->to);
    double height = part_number(run, "end_height");
    if (!isnan(height))
        return height;
    height = part_number_or(to, "height", 0.0);
    if (!is(plumbing, run->to, "tank"))
        return height;
    return height + part_number_or(to, "depth", part_number_or(to, "level", 0.0));
}

static bool is_joint(const struct plumbing *plumbing, size_t run, bool into_air)
{
    const struct part *p = part_at(plumbing, run);
    if (into_air || !isnan(part_number(p, "bore")))
        return false;
    for (size_t i = 0; i < p->through_count; i++)
        if (is_water_part(plumbing, p->through[i].part))
            return false;
    /* two tanks joined without loss have no answer: their levels differ or nothing flows */
    return !(is(plumbing, p->from, "tank") && is(plumbing, p->to, "tank"));
}

static void add_in_line_parts(struct plumbing *plumbing, const struct part *run)
{
    for (size_t i = 0; i < run->through_count && !plumbing->failed; i++) {
        struct element element;
        size_t part = run->through[i].part;
        if (part < plumbing->rig->part_count && part_element(plumbing, part, &element))
            add_element(plumbing, element);
    }
}

static void add_pipe(struct plumbing *plumbing, size_t run)
{
    struct circuit *circuit = plumbing->circuit;
    const struct part *p = part_at(plumbing, run);
    bool hangs = ends_free(plumbing, p), open = is_open_end(plumbing, p->to);
    bool into_air = hangs || open;
    size_t from = port_of_end(plumbing, p->from, true);
    size_t to = hangs ? NONE : port_of_end(plumbing, p->to, false);
    if (is_joint(plumbing, run, hangs)) {
        if (!CIRCUIT_ADD(circuit, joints,
                         (struct joint){.part = run, .from_port = from, .to_port = to}))
            plumbing->failed = true;
        circuit->is_joint[run] = true;
        join(plumbing, from, to);
        return;
    }
    if (hangs) { /* numbered after the ports */
        to = 2 * plumbing->rig->part_count + circuit->free_ends.count;
        if (!CIRCUIT_ADD(circuit, free_ends,
                         (struct free_end){.height_m = free_end_height(plumbing, p)}))
            plumbing->failed = true;
    }
    begin_branch(plumbing, run, from, to);
    if (plumbing->failed)
        return;
    if (!isnan(part_number(p, "bore")))
        add_element(plumbing, pipe_element(plumbing, run, into_air));
    add_in_line_parts(plumbing, p);
    if (hangs)
        add_element(plumbing, element_of(plumbing, run, ELEMENT_ONE_WAY));
}

static void add_outlet(struct plumbing *plumbing, size_t part)
{
    struct circuit *circuit = plumbing->circuit;
    size_t end = 2 * plumbing->rig->part_count + circuit->free_ends.count;
    double height = part_number_or(part_at(plumbing, part), "height", 0.0);
    begin_branch(plumbing, part, 2 * part, end);
    if (plumbing->failed || !CIRCUIT_ADD(circuit, free_ends, (struct free_end){.height_m = height}))
        plumbing->failed = true;
    else
        add_element(plumbing, is_open_end(plumbing, part)
                                  ? element_of(plumbing, part, ELEMENT_ONE_WAY)
                                  : outlet_element(plumbing, part));
}

static void add_part_branches(struct plumbing *plumbing)
{
    for (size_t i = 0; i < plumbing->rig->part_count && !plumbing->failed; i++) {
        if (!plumbing->touches[i])
            continue;
        if (is(plumbing, i, "outlet")) {
            add_outlet(plumbing, i);
        } else if (is_two_ended(plumbing, i)) {
            struct element element;
            if (!part_element(plumbing, i, &element))
                continue;
            begin_branch(plumbing, i, 2 * i, 2 * i + 1);
            if (!plumbing->failed)
                add_element(plumbing, element);
        }
    }
}

/* ---- Nodes ---- */

static bool element_known(const struct circuit *circuit, const struct element *element)
{
    switch (element->kind) {
    case ELEMENT_PIPE:
    case ELEMENT_LOSS:
        return element->bore_m > 0.0 && element->length_m >= 0.0;
    case ELEMENT_COIL:
        return element->coil.bore_m > 0.0 && element->coil.length_m > 0.0 &&
               (element->coil.layout != COIL_HELICAL || element->coil.turn_m > 0.0);
    case ELEMENT_PUMP:
        return circuit->pumps.at[element->pump].known && circuit->pumps.at[element->pump].fed_known;
    default:
        return true;
    }
}

static size_t node_of(struct plumbing *plumbing, size_t *numbers, size_t port)
{
    size_t root = root_of(plumbing, port);
    if (numbers[root] == NONE)
        numbers[root] = plumbing->circuit->node_count++;
    return numbers[root];
}

static bool number_nodes(struct plumbing *plumbing, size_t ports)
{
    struct circuit *circuit = plumbing->circuit;
    size_t *numbers = circuit->node_of_port;
    for (size_t i = 0; i < ports; i++)
        numbers[i] = NONE;
    for (size_t i = 0; i < circuit->branches.count; i++) {
        struct branch_of_water *branch = &circuit->branches.at[i];
        branch->circuit = circuit;
        branch->from = node_of(plumbing, numbers, branch->from_port);
        branch->to = node_of(plumbing, numbers, branch->to_port);
    }
    for (size_t i = 0; i < circuit->joints.count; i++)
        node_of(plumbing, numbers, circuit->joints.at[i].from_port);
    for (size_t i = 0; i < ports; i++) /* every port knows its node */
        numbers[i] = numbers[root_of(plumbing, i)];
    for (size_t i = 0; i < circuit->free_ends.count; i++)
        circuit->free_ends.at[i].node = numbers[2 * plumbing->rig->part_count + i];
    circuit->fixed_head = ARENA_TAKE(circuit->arena, circuit->node_count + 1, double);
    circuit->is_tank = ARENA_TAKE(circuit->arena, circuit->node_count + 1, bool);
    size_t pieces = circuit->node_count + circuit->branches.count + 1;
    circuit->piece_of_branch = ARENA_TAKE(circuit->arena, circuit->branches.count + 1, size_t);
    circuit->piece_known = ARENA_TAKE(circuit->arena, pieces, bool);
    return circuit->fixed_head && circuit->is_tank && circuit->piece_of_branch &&
           circuit->piece_known;
}

static void fix_heads(struct plumbing *plumbing)
{
    struct circuit *circuit = plumbing->circuit;
    for (size_t i = 0; i < circuit->node_count; i++)
        circuit->fixed_head[i] = NAN;
    for (size_t i = 0; i < circuit->free_ends.count; i++)
        circuit->fixed_head[circuit->free_ends.at[i].node] = circuit->free_ends.at[i].height_m;
    for (size_t i = 0; i < plumbing->rig->part_count; i++) {
        size_t node = circuit->node_of_port[2 * i];
        if (!is(plumbing, i, "tank") || node == NONE)
            continue;
        const struct part *tank = part_at(plumbing, i);
        circuit->fixed_head[node] =
            part_number_or(tank, "height", 0.0) + part_number(tank, "level");
        circuit->is_tank[node] = true;
    }
}

/* Pieces of water that hang together without a tank between; one with a figure missing is
 * left unknown. */
static void find_pieces(struct circuit *circuit, size_t *root)
{
    for (size_t i = 0; i < circuit->node_count; i++)
        root[i] = i;
    for (size_t i = 0; i < circuit->branches.count; i++) {
        size_t a = circuit->branches.at[i].from, b = circuit->branches.at[i].to;
        if (!isnan(circuit->fixed_head[a]) || !isnan(circuit->fixed_head[b]) ||
            circuit->is_tank[a] || circuit->is_tank[b])
            continue;
        while (root[a] != a)
            a = root[a] = root[root[a]];
        while (root[b] != b)
            b = root[b] = root[root[b]];
        root[a > b ? a : b] = a > b ? b : a;
    }
    for (size_t i = 0; i < circuit->node_count; i++)
        root[i] = root[root[i]]; /* the root is the smallest: settled already */
    for (size_t i = 0; i < circuit->branches.count; i++) {
        const struct branch_of_water *branch = &circuit->branches.at[i];
        bool from_fixed =
            !isnan(circuit->fixed_head[branch->from]) || circuit->is_tank[branch->from];
        bool to_fixed = !isnan(circuit->fixed_head[branch->to]) || circuit->is_tank[branch->to];
        circuit->piece_of_branch[i] = !from_fixed ? root[branch->from]
                                      : !to_fixed ? root[branch->to]
                                                  : circuit->node_count + i;
    }
}

static void find_unknown(struct circuit *circuit)
{
    for (size_t i = 0; i < circuit->node_count + circuit->branches.count; i++)
        circuit->piece_known[i] = true;
    for (size_t i = 0; i < circuit->branches.count; i++) {
        const struct branch_of_water *branch = &circuit->branches.at[i];
        const size_t ends[] = {branch->from, branch->to};
        for (int e = 0; e < 2; e++)
            if (circuit->is_tank[ends[e]] && isnan(circuit->fixed_head[ends[e]]))
                circuit->piece_known[circuit->piece_of_branch[i]] = false;
    }
    for (size_t i = 0; i < circuit->elements.count; i++)
        if (!element_known(circuit, &circuit->elements.at[i]))
            circuit->piece_known[circuit->piece_of_branch[circuit->elements.at[i].branch]] = false;
    for (size_t i = 0; i < circuit->branches.count; i++)
        circuit->branches.at[i].known = circuit->piece_known[circuit->piece_of_branch[i]];
}

static void find_fluid(struct plumbing *plumbing)
{
    struct circuit *circuit = plumbing->circuit;
    for (size_t i = 0; i < circuit->elements.count; i++) {
        const struct element *glycol = &circuit->elements.at[i];
        if (glycol->kind != ELEMENT_PIPE || glycol->fluid == WATER_GLYCOL_30 ||
            !part_is(part_at(plumbing, glycol->part), "fluid", "glycol-30"))
            continue;
        for (size_t k = 0; k < circuit->elements.count; k++)
            if (circuit->piece_of_branch[circuit->elements.at[k].branch] ==
                circuit->piece_of_branch[glycol->branch])
                circuit->elements.at[k].fluid = WATER_GLYCOL_30;
    }
}

static void find_coupling(struct circuit *circuit)
{
    for (size_t i = 0; i < circuit->pumps.count; i++)
        for (size_t k = 0; k < i && !circuit->coupled; k++) {
            size_t a = circuit->elements.at[circuit->pumps.at[i].element].branch;
            size_t b = circuit->elements.at[circuit->pumps.at[k].element].branch;
            circuit->coupled = circuit->piece_of_branch[a] == circuit->piece_of_branch[b];
        }
}

double water_branch_law(const void *context, double flow, double *slope);

/* A node as a piece's own network knows it: a free one is numbered once; of tanks and free ends,
 * which several pieces may share, each branch has its own copy. */
static size_t node_in_piece(struct circuit *circuit, size_t node, size_t water, size_t *count)
{
    if (circuit->is_tank[node] || !isnan(circuit->fixed_head[node]))
        return (*count)++;
    if (circuit->water_of[node] == NONE) {
        circuit->water_of[node] = water;
        circuit->node_in_water[node] = (*count)++;
    }
    return circuit->node_in_water[node];
}

/* Numbers a piece's branches and nodes; its size. */
static void number_piece(struct circuit *circuit, size_t first, size_t *node_count,
                         size_t *branch_count)
{
    *node_count = *branch_count = 0;
    for (size_t i = first; i < circuit->branches.count; i = circuit->branches.at[i].next_in_piece) {
        struct branch_of_water *branch = &circuit->branches.at[i];
        branch->water = circuit->waters.count;
        branch->at = (*branch_count)++;
        branch->at_from = node_in_piece(circuit, branch->from, branch->water, node_count);
        branch->at_to = node_in_piece(circuit, branch->to, branch->water, node_count);
    }
}

static void fix_end(struct circuit *circuit, struct network *network, size_t node, size_t at,
                    bool ordered)
{
    bool known = !isnan(circuit->fixed_head[node]);
    if (!ordered && (known || circuit->is_tank[node]))
        network_fix(network, at, true);
    else if (ordered && known)
        network_set_effort(network, at, circuit->fixed_head[node]);
}

static void fix_ends(struct circuit *circuit, struct network *network, size_t first, bool ordered)
{
    for (size_t i = first; i < circuit->branches.count; i = circuit->branches.at[i].next_in_piece) {
        const struct branch_of_water *branch = &circuit->branches.at[i];
        fix_end(circuit, network, branch->from, branch->at_from, ordered);
        fix_end(circuit, network, branch->to, branch->at_to, ordered);
    }
}

static enum outcome make_network(struct circuit *circuit, size_t first)
{
    size_t nodes, branches;
    number_piece(circuit, first, &nodes, &branches);
    if (!CIRCUIT_ADD(circuit, waters, NULL))
        return OUTCOME_NO_MEMORY;
    circuit->first_of_water[circuit->waters.count - 1] = first;
    struct network *network = network_new(nodes, branches);
    if (!network)
        return OUTCOME_NO_MEMORY;
    circuit->waters.at[circuit->waters.count - 1] = network;
    for (size_t i = first; i < circuit->branches.count; i = circuit->branches.at[i].next_in_piece) {
        const struct branch_of_water *branch = &circuit->branches.at[i];
        network_join(network, branch->at, branch->at_from, branch->at_to, water_branch_law, branch);
    }
    fix_ends(circuit, network, first, false);
    enum outcome outcome = network_order(network);
    if (outcome != OUTCOME_OK)
        return outcome;
    fix_ends(circuit, network, first, true);
    /* 1e-9 m3/s is 3.6 mL an hour; 1e-5 s/m2 is a nanometre of head at 0.4 m3/h */
    network_set_scale(network, 1e-9, 1e-5);
    return OUTCOME_OK;
}

/* One network for each piece: what happens in one does not reach the others. */
static enum outcome make_networks(struct circuit *circuit)
{
    size_t n = circuit->branches.count, nodes = circuit->node_count;
    size_t *last = ARENA_TAKE(circuit->arena, nodes + n + 1, size_t);
    bool *first = ARENA_TAKE(circuit->arena, n + 1, bool);
    circuit->water_of = ARENA_TAKE(circuit->arena, nodes + 1, size_t);
    circuit->node_in_water = ARENA_TAKE(circuit->arena, nodes + 1, size_t);
    circuit->head_now = ARENA_TAKE(circuit->arena, nodes + 1, double);
    circuit->first_of_water = ARENA_TAKE(circuit->arena, n + 1, size_t);
    if (!circuit->first_of_water || !last || !first || !circuit->water_of ||
        !circuit->node_in_water || !circuit->head_now)
        return OUTCOME_NO_MEMORY;
    for (size_t i = 0; i < nodes; i++) {
        circuit->water_of[i] = NONE;
        circuit->head_now[i] = circuit->fixed_head[i];
    }
    for (size_t i = 0; i < nodes + n; i++)
        last[i] = NONE;
    for (size_t i = 0; i < n; i++) {
        size_t piece = circuit->piece_of_branch[i];
        circuit->branches.at[i].next_in_piece = n;
        first[i] = last[piece] == NONE;
        if (!first[i])
            circuit->branches.at[last[piece]].next_in_piece = i;
        last[piece] = i;
    }
    for (size_t i = 0; i < n; i++) {
        enum outcome outcome = first[i] ? make_network(circuit, i) : OUTCOME_OK;
        if (outcome != OUTCOME_OK)
            return outcome;
    }
    return OUTCOME_OK;
}

static bool take_scratch(struct plumbing *plumbing, size_t ports)
{
    struct circuit *circuit = plumbing->circuit;
    size_t parts = plumbing->rig->part_count + 1;
    plumbing->joined = ARENA_TAKE(circuit->arena, ports + 1, size_t);
    plumbing->touches = ARENA_TAKE(circuit->arena, parts, size_t);
    plumbing->met = ARENA_TAKE(circuit->arena, parts, size_t);
    circuit->node_of_port = ARENA_TAKE(circuit->arena, ports + 1, size_t);
    circuit->element_of_part = ARENA_TAKE(circuit->arena, parts, size_t);
    circuit->is_joint = ARENA_TAKE(circuit->arena, parts, bool);
    circuit->lowest = ARENA_TAKE(circuit->arena, parts, double);
    circuit->lowest_known = ARENA_TAKE(circuit->arena, parts, bool);
    if (!circuit->is_joint || !circuit->lowest || !circuit->lowest_known || !plumbing->joined ||
        !plumbing->touches || !plumbing->met || !circuit->node_of_port || !circuit->element_of_part)
        return false;
    for (size_t i = 0; i < ports; i++)
        plumbing->joined[i] = i;
    for (size_t i = 0; i < parts; i++)
        circuit->element_of_part[i] = NONE;
    return true;
}

enum outcome circuit_build_water(struct circuit *circuit)
{
    struct plumbing plumbing = {.circuit = circuit, .rig = circuit->rig};
    /* two ports a part, and a free end for each run or outlet at the most */
    size_t ports = 3 * circuit->rig->part_count;
    if (!take_scratch(&plumbing, ports))
        return OUTCOME_NO_MEMORY;
    for (size_t i = 0; i < circuit->rig->part_count; i++)
        if (is_run(&plumbing, i)) {
            plumbing.touches[circuit->rig->parts[i].from]++;
            if (!ends_free(&plumbing, &circuit->rig->parts[i]))
                plumbing.touches[circuit->rig->parts[i].to]++;
        }
    add_part_branches(&plumbing);
    for (size_t i = 0; i < circuit->rig->part_count && !plumbing.failed; i++)
        if (is_run(&plumbing, i))
            add_pipe(&plumbing, i);
    if (plumbing.failed || !number_nodes(&plumbing, ports))
        return OUTCOME_NO_MEMORY;
    fix_heads(&plumbing);
    find_pieces(circuit, plumbing.joined);
    find_unknown(circuit);
    find_fluid(&plumbing);
    find_coupling(circuit);
    return make_networks(circuit);
}
