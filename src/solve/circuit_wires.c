/* circuit_wires.c - from cable runs and parts to trees of wire. */
#include <math.h>
#include <string.h>

#include "solve/circuit.h"

struct wiring {
    struct circuit *circuit;
    const struct rig *rig;
    size_t *touches;  /* cables that end at a part */
    size_t *joined;   /* union-find over knots */
    size_t *in_chain; /* by part: the first panel of its series, else itself */
    bool *seen;       /* scratch, by part */
    size_t *queue;    /* scratch, by part */
    bool failed;
};

static const struct part *part_at(const struct wiring *wiring, size_t part)
{
    return &wiring->rig->parts[part];
}

static bool is(const struct wiring *wiring, size_t part, const char *kind)
{
    return circuit_is_kind(wiring->circuit, part, kind);
}

static bool goes_by(const struct wiring *wiring, size_t part, const char *word)
{
    const struct kind *kind = part_at(wiring, part)->kind;
    return kind && kind_is(kind, word);
}

static bool is_run(const struct wiring *wiring, size_t part)
{
    const struct part *run = part_at(wiring, part);
    return is(wiring, part, "cable") && run->from < wiring->rig->part_count &&
           run->to < wiring->rig->part_count && part_at(wiring, run->from)->kind &&
           part_at(wiring, run->to)->kind;
}

static bool joins_panels(const struct wiring *wiring, size_t run)
{
    const struct part *cable = part_at(wiring, run);
    return is(wiring, cable->from, "panel") && is(wiring, cable->to, "panel");
}

/* ---- Knots ---- */

static size_t new_knot(struct wiring *wiring, size_t part)
{
    struct circuit *circuit = wiring->circuit;
    if (!CIRCUIT_ADD(circuit, knots,
                     (struct knot){.part = part,
                                   .tree = NONE,
                                   .first_giver = NONE,
                                   .first_taker = NONE,
                                   .first_stretch = NONE,
                                   .above = NONE})) {
        wiring->failed = true;
        return NONE;
    }
    return circuit->knots.count - 1;
}

/* Whether the cables from `part`, not counting the way back to `except`, lead to panels and to
 * no battery: that is how a controller's panel side is told from its battery side. */
static bool leads_to_panels(struct wiring *wiring, size_t part, size_t except)
{
    const struct rig *rig = wiring->rig;
    const struct circuit *circuit = wiring->circuit;
    memset(wiring->seen, 0, rig->part_count * sizeof *wiring->seen);
    size_t begin = 0, end = 0;
    bool panels = false;
    wiring->seen[except] = true;
    wiring->seen[part] = true;
    wiring->queue[end++] = part;
    while (begin < end) {
        size_t here = wiring->queue[begin++];
        if (is(wiring, here, "battery"))
            return false;
        panels = panels || is(wiring, here, "panel");
        if (is(wiring, here, "controller") || is(wiring, here, "converter"))
            continue;
        for (size_t k = circuit->touch_first[here]; k < circuit->touch_first[here + 1]; k++) {
            size_t i = circuit->touch[k];
            if (!is_run(wiring, i))
                continue;
            size_t other = rig->parts[i].from == here ? rig->parts[i].to : rig->parts[i].from;
            if (!wiring->seen[other]) {
                wiring->seen[other] = true;
                wiring->queue[end++] = other;
            }
        }
    }
    return panels;
}

/* The knot at which a cable's end stands at a part. */
static size_t knot_of_end(struct wiring *wiring, size_t cable, bool from_end)
{
    const struct part *run = part_at(wiring, cable);
    size_t part = from_end ? run->from : run->to;
    size_t other = from_end ? run->to : run->from;
    struct circuit *circuit = wiring->circuit;
    if (is(wiring, part, "panel"))
        part = wiring->in_chain[part];
    bool out = false;
    if (is(wiring, part, "controller"))
        out = !leads_to_panels(wiring, other, part);
    else if (is(wiring, part, "converter"))
        out = from_end;
    else if (circuit->knot_out[part] != circuit->knot_in[part])
        out = from_end;
    return out ? circuit->knot_out[part] : circuit->knot_in[part];
}

/* Two knots for what current passes through, one for the rest. */
static bool has_two_sides(const struct wiring *wiring, size_t part)
{
    return is(wiring, part, "converter") || is(wiring, part, "controller") ||
           (goes_by(wiring, part, "in-line") && wiring->touches[part] >= 2);
}

static void make_knots(struct wiring *wiring)
{
    struct circuit *circuit = wiring->circuit;
    for (size_t i = 0; i < wiring->rig->part_count && !wiring->failed; i++) {
        circuit->knot_in[i] = circuit->knot_out[i] = NONE;
        bool stands_alone =
            is(wiring, i, "panel") || is(wiring, i, "battery") || is(wiring, i, "supply");
        if (!part_at(wiring, i)->kind || (!wiring->touches[i] && !stands_alone))
            continue;
        if (wiring->in_chain[i] != i) { /* an earlier panel of its series has the knot */
            circuit->knot_in[i] = circuit->knot_in[wiring->in_chain[i]];
            circuit->knot_out[i] = circuit->knot_in[i];
            continue;
        }
        circuit->knot_in[i] = new_knot(wiring, i);
        circuit->knot_out[i] = has_two_sides(wiring, i) ? new_knot(wiring, i) : circuit->knot_in[i];
    }
}

/* ---- Stretches ---- */

static double contact_ohm(const struct wiring *wiring, size_t part)
{
    const struct part *p = part_at(wiring, part);
    if (!p->kind || !kind_is(p->kind, "in-line"))
        return 0.0;
    double ohm = part_number(p, "resistance");
    if (isnan(ohm)) {
        enum conductor_contact contact = CONDUCTOR_CONTACT_RELAY;
        if (kind_is(p->kind, "fuse") || kind_is(p->kind, "breaker"))
            contact = CONDUCTOR_CONTACT_FUSE;
        else if (kind_is(p->kind, "plug"))
            contact = CONDUCTOR_CONTACT_PLUG;
        else if (kind_is(p->kind, "switch"))
            contact = CONDUCTOR_CONTACT_SWITCH;
        ohm = conductor_contact_ohm(contact, part_number(p, "rating"));
    }
    /* a fuse of unknown rating: what it loses is small, and its rule asks for the rating */
    return isnan(ohm) ? 0.0 : ohm * part_number_or(p, "count", 1.0);
}

static double contacts_of(const struct wiring *wiring, const struct part *run)
{
    double ohm = 0.0;
    for (size_t i = 0; i < run->through_count; i++)
        if (run->through[i].part < wiring->rig->part_count)
            ohm += contact_ohm(wiring, run->through[i].part);
    for (int i = 0; i < 2; i++)
        if (run->plugs[i] < wiring->rig->part_count)
            ohm += contact_ohm(wiring, run->plugs[i]);
    return ohm;
}

static enum ampacity_laid laid_of(const char *word)
{
    static const struct {
        const char *word;
        enum ampacity_laid laid;
    } words[] = {{"in-conduit", AMPACITY_LAID_IN_CONDUIT},
                 {"on-surface", AMPACITY_LAID_ON_SURFACE},
                 {"in-air", AMPACITY_LAID_IN_AIR},
                 {"buried", AMPACITY_LAID_BURIED},
                 {"cord", AMPACITY_LAID_CORD}};
    for (size_t i = 0; word && i < sizeof words / sizeof *words; i++)
        if (strcmp(word, words[i].word) == 0)
            return words[i].laid;
    return AMPACITY_LAID_UNKNOWN;
}

struct ampacity_wire circuit_wire(const struct rig *rig, const struct part *run)
{
    const struct part_value *area = part_value(run, "area");
    bool gauged = area && area->value.type == VALUE_QUANTITY && area->value.unit &&
                  strcmp(area->value.unit, "AWG") == 0;
    enum conductor_class strands = CONDUCTOR_STRANDED;
    if (part_is(run, "class", "solid"))
        strands = CONDUCTOR_SOLID;
    else if (part_is(run, "class", "flexible"))
        strands = CONDUCTOR_FLEXIBLE;
    return (struct ampacity_wire){
        .practice = rig->practice == PRACTICE_NORTH_AMERICA ? AMPACITY_NORTH_AMERICA : AMPACITY_IEC,
        .wire = {.area_m2 = part_number(run, "area"),
                 .gauged = gauged,
                 .metal =
                     part_is(run, "material", "aluminium") ? CONDUCTOR_ALUMINIUM : CONDUCTOR_COPPER,
                 .strands = strands,
                 .panel_cable = part_is(run, "panel_cable", "yes")},
        .laid = laid_of(part_word(run, "laid")),
        .insulation_degc = part_number(run, "insulation_temp"),
        .grouped = (int)part_number_or(run, "grouped", 1.0),
        .count = part_number_or(run, "count", 1.0),
    };
}

static struct stretch stretch_of_cable(const struct wiring *wiring, size_t part)
{
    const struct part *run = part_at(wiring, part);
    struct stretch stretch = {.part = part,
                              .from = NONE,
                              .to = NONE,
                              .upper = NONE,
                              .lower = NONE,
                              .next = NONE,
                              .cable = true,
                              .wire = circuit_wire(wiring->rig, run),
                              .contacts_ohm = contacts_of(wiring, run)};
    stretch.r20_ohm = conductor_loop_ohm(conductor_r20_ohm_per_m(&stretch.wire.wire),
                                         part_number(run, "length"), stretch.wire.count);
    return stretch;
}

static size_t joined_root(const struct wiring *wiring, size_t knot)
{
    while (wiring->joined[knot] != knot)
        knot = wiring->joined[knot] = wiring->joined[wiring->joined[knot]];
    return knot;
}

/* Adds a stretch between two knots; false: they are joined already, which would close a loop. */
static bool add_stretch(struct wiring *wiring, struct stretch stretch, size_t from, size_t to)
{
    size_t a = joined_root(wiring, from), b = joined_root(wiring, to);
    if (a == b)
        return false;
    wiring->joined[a > b ? a : b] = a > b ? b : a;
    stretch.from = from;
    stretch.to = to;
    if (!CIRCUIT_ADD(wiring->circuit, stretches, stretch))
        wiring->failed = true;
    return true;
}

static void refuse_loop(const struct wiring *wiring, size_t cable)
{
    const struct part *run = part_at(wiring, cable);
    diagnostics_add(
        wiring->circuit->diagnostics, LEVEL_ERROR, TOPIC_JOINS, run->at,
        "%s closes a loop of cables: %s and %s are joined by other runs already. Wires "
        "branch like a tree; leave this run out of the reckoning, or one of the others.",
        run->id, part_at(wiring, run->from)->id, part_at(wiring, run->to)->id);
}

/* Both cables of an in-line part written alike (`to: f1` twice): the later one leaves it. */
static size_t other_side_if_taken(const struct wiring *wiring, size_t part, size_t knot,
                                  size_t *uses_in, size_t *uses_out)
{
    struct circuit *circuit = wiring->circuit;
    if (!goes_by(wiring, part, "in-line") || circuit->knot_in[part] == circuit->knot_out[part])
        return knot;
    bool in = knot == circuit->knot_in[part];
    if (wiring->touches[part] == 2 && (in ? *uses_in : *uses_out) == 1) {
        in = !in;
        knot = in ? circuit->knot_in[part] : circuit->knot_out[part];
    }
    ++*(in ? uses_in : uses_out);
    return knot;
}

static void join_cables(struct wiring *wiring)
{
    const struct rig *rig = wiring->rig;
    size_t *uses = ARENA_TAKE(wiring->circuit->arena, 2 * rig->part_count + 1, size_t);
    if (!uses) {
        wiring->failed = true;
        return;
    }
    for (size_t i = 0; i < rig->part_count && !wiring->failed; i++) {
        if (!is_run(wiring, i) || joins_panels(wiring, i))
            continue;
        size_t from = rig->parts[i].from, to = rig->parts[i].to;
        size_t a = other_side_if_taken(wiring, from, knot_of_end(wiring, i, true), &uses[2 * from],
                                       &uses[2 * from + 1]);
        size_t b = other_side_if_taken(wiring, to, knot_of_end(wiring, i, false), &uses[2 * to],
                                       &uses[2 * to + 1]);
        if (!add_stretch(wiring, stretch_of_cable(wiring, i), a, b))
            refuse_loop(wiring, i);
    }
}

static void join_in_line_parts(struct wiring *wiring)
{
    struct circuit *circuit = wiring->circuit;
    for (size_t i = 0; i < wiring->rig->part_count && !wiring->failed; i++) {
        if (circuit->knot_in[i] == circuit->knot_out[i] || !goes_by(wiring, i, "in-line"))
            continue;
        struct stretch stretch = {.part = i,
                                  .upper = NONE,
                                  .lower = NONE,
                                  .next = NONE,
                                  .contacts_ohm = contact_ohm(wiring, i)};
        add_stretch(wiring, stretch, circuit->knot_in[i], circuit->knot_out[i]);
    }
}

/* ---- Panels ---- */

/* A coefficient given per kelvin as a share, in per cent. */
static double per_cent(double share)
{
    return 100.0 * share;
}

struct pv_label circuit_label(const struct part *part)
{
    struct pv_label label = pv_label_blank();
    label.power_w = part_number(part, "power");
    label.vmp_v = part_number(part, "vmp");
    label.imp_a = part_number(part, "imp");
    label.voc_v = part_number(part, "voc");
    label.isc_a = part_number(part, "isc");
    label.cells = part_number(part, "cells");
    label.for_voltage_v = part_number(part, "for_voltage");
    label.isc_pct_per_k = per_cent(part_number(part, "isc_temp"));
    label.voc_pct_per_k = per_cent(part_number(part, "voc_temp"));
    label.power_pct_per_k = per_cent(part_number(part, "power_temp"));
    if (part_is(part, "technology", "mono"))
        label.technology = PV_MONO;
    else if (part_is(part, "technology", "poly"))
        label.technology = PV_POLY;
    else if (part_is(part, "technology", "thin-film"))
        label.technology = PV_THIN_FILM;
    return label;
}

static void find_chains(struct wiring *wiring)
{
    const struct rig *rig = wiring->rig;
    for (size_t i = 0; i < rig->part_count; i++)
        wiring->in_chain[i] = i;
    for (size_t round = 0, changed = 1; changed && round <= rig->part_count; round++) {
        changed = 0;
        for (size_t i = 0; i < rig->part_count; i++) {
            if (!is_run(wiring, i) || !joins_panels(wiring, i))
                continue;
            size_t a = wiring->in_chain[rig->parts[i].from], b = wiring->in_chain[rig->parts[i].to];
            size_t first = a < b ? a : b;
            if (a != b) {
                wiring->in_chain[rig->parts[i].from] = wiring->in_chain[rig->parts[i].to] = first;
                changed = 1;
            }
        }
    }
}

static size_t add_panel(struct wiring *wiring, size_t part, size_t chain)
{
    const struct part *p = part_at(wiring, part);
    struct pv_label label = circuit_label(p);
    struct panel panel = {.part = part,
                          .fit = pv_fit(&label),
                          .series = part_number_or(p, "series", 1.0),
                          .noct_degc = part_number(p, "noct"),
                          .area_m2 = part_number(p, "area"),
                          .weak_loss = part_number(p, "weak_sun_loss"),
                          .chain = chain};
    panel.parallel = part_number_or(p, "parallel", 1.0) * part_number_or(p, "count", 1.0);
    if (!CIRCUIT_ADD(wiring->circuit, panels, panel))
        wiring->failed = true;
    return wiring->circuit->panels.count - 1;
}

/* A chain of panels in series (or one alone): they share a knot. */
static void add_chain(struct wiring *wiring, size_t first)
{
    struct circuit *circuit = wiring->circuit;
    struct giver giver = {.kind = GIVER_PANELS,
                          .part = first,
                          .knot = circuit->knot_in[first],
                          .next = NONE,
                          .first_panel = circuit->chained.count,
                          .first_link = circuit->links.count,
                          .charger = NONE};
    for (size_t i = first; i < wiring->rig->part_count && !wiring->failed; i++) {
        if (is(wiring, i, "panel") && wiring->in_chain[i] == first) {
            size_t panel = add_panel(wiring, i, circuit->givers.count);
            if (wiring->failed || !CIRCUIT_ADD(circuit, chained, panel))
                wiring->failed = true;
            else
                giver.panel_count++;
        }
    }
    for (size_t i = 0; i < wiring->rig->part_count && !wiring->failed; i++) {
        if (!is_run(wiring, i) || !joins_panels(wiring, i) ||
            wiring->in_chain[part_at(wiring, i)->from] != first)
            continue;
        if (!CIRCUIT_ADD(circuit, stretches, stretch_of_cable(wiring, i)) ||
            !CIRCUIT_ADD(circuit, links, circuit->stretches.count - 1))
            wiring->failed = true;
        else
            giver.link_count++;
    }
    if (!wiring->failed && !CIRCUIT_ADD(circuit, givers, giver))
        wiring->failed = true;
}

/* ---- Sources and loads ---- */

static enum battery_chemistry chemistry_of(const char *word, bool *known)
{
    static const struct {
        const char *word;
        enum battery_chemistry chemistry;
    } words[] = {{"flooded", BATTERY_FLOODED},
                 {"agm", BATTERY_AGM},
                 {"gel", BATTERY_GEL},
                 {"lifepo4", BATTERY_LIFEPO4},
                 {"nmc", BATTERY_NMC}};
    *known = true;
    for (size_t i = 0; word && i < sizeof words / sizeof *words; i++)
        if (strcmp(word, words[i].word) == 0)
            return words[i].chemistry;
    *known = false;
    return BATTERY_FLOODED;
}

static void add_battery(struct wiring *wiring, size_t part)
{
    const struct part *p = part_at(wiring, part);
    bool known;
    struct giver giver = {
        .kind = GIVER_BATTERY,
        .part = part,
        .knot = wiring->circuit->knot_in[part],
        .next = NONE,
        .battery = {.chemistry = chemistry_of(part_word(p, "chemistry"), &known),
                    .voltage_v = part_number(p, "voltage"),
                    .capacity_as = part_number(p, "capacity"),
                    .resistance_ohm = part_number(p, "internal_resistance"),
                    .series = part_number_or(p, "series", 1.0),
                    .parallel =
                        part_number_or(p, "parallel", 1.0) * part_number_or(p, "count", 1.0)},
        .charger = NONE,
    };
    if (!known)
        giver.battery.voltage_v = NAN;
    giver.resistance_ohm = battery_resistance_ohm(&giver.battery);
    if (!CIRCUIT_ADD(wiring->circuit, givers, giver))
        wiring->failed = true;
}

static void add_supply(struct wiring *wiring, size_t part)
{
    struct giver giver = {.kind = GIVER_SUPPLY,
                          .part = part,
                          .next = NONE,
                          .charger = NONE,
                          .knot = wiring->circuit->knot_in[part],
                          .open_v = part_number(part_at(wiring, part), "voltage")};
    if (!CIRCUIT_ADD(wiring->circuit, givers, giver))
        wiring->failed = true;
}

static struct taker taker_of(const struct wiring *wiring, size_t part, enum taker_kind kind)
{
    return (struct taker){.kind = kind,
                          .part = part,
                          .knot = wiring->circuit->knot_in[part],
                          .next = NONE,
                          .count = part_number_or(part_at(wiring, part), "count", 1.0),
                          .pump = NONE,
                          .output_tree = NONE,
                          .charge = NONE};
}

static void add_motor(struct wiring *wiring, size_t part)
{
    const struct part *p = part_at(wiring, part);
    struct taker taker = taker_of(wiring, part, TAKER_MOTOR);
    bool pump = is(wiring, part, "pump");
    bool regulated = part_is(p, "regulated", "yes");
    double volts = part_number(p, "voltage");
    double low = NAN, high;
    bool ranged = part_range(p, "voltage_range", &low, &high);
    taker.motor.rated_v = volts;
    taker.motor.rated_a = motor_rated_a(part_number(p, "current"), part_number(p, "power"), volts);
    if (regulated)
        taker.motor.law = MOTOR_REGULATED;
    else if (!pump)
        taker.motor.law = MOTOR_RESISTOR;
    else
        taker.motor.law = part_is(p, "type", "diaphragm") ? MOTOR_TORQUE : MOTOR_SQUARE;
    if (regulated && ranged)
        taker.motor.least_v = low;
    else if (pump)
        taker.motor.least_v = part_number_or(p, "start_voltage", 0.5 * volts);
    taker.start_v = taker.stop_v = taker.motor.least_v;
    if (!CIRCUIT_ADD(wiring->circuit, takers, taker))
        wiring->failed = true;
}

/* A winding: of a valve, a relay, a thermostat's own electronics. */
static void add_winding(struct wiring *wiring, size_t part, double volts, double watts)
{
    if (isnan(volts) || !(watts > 0.0))
        return;
    struct taker taker = taker_of(wiring, part, TAKER_MOTOR);
    taker.motor = (struct motor){.law = MOTOR_RESISTOR, .rated_v = volts, .rated_a = watts / volts};
    if (!CIRCUIT_ADD(wiring->circuit, takers, taker))
        wiring->failed = true;
}

static void add_relay_winding(struct wiring *wiring, size_t part)
{
    const struct part *p = part_at(wiring, part);
    double volts = part_number(p, "coil_voltage");
    double watts = part_number(p, "coil_power");
    double low, high;
    if (is(wiring, part, "thermostat") && !(watts > 0.0)) {
        watts = part_number(p, "own_use");
        if (isnan(volts) && part_range(p, "supply", &low, &high))
            volts = 0.5 * (low + high);
    }
    add_winding(wiring, part, volts, watts);
}

static void add_converter(struct wiring *wiring, size_t part)
{
    const struct part *p = part_at(wiring, part);
    struct taker taker = taker_of(wiring, part, TAKER_CONVERTER);
    double low = NAN, high = NAN;
    part_range(p, "input", &low, &high);
    enum converter_type type = CONVERTER_STEP_DOWN;
    if (part_is(p, "type", "step-up"))
        type = CONVERTER_STEP_UP;
    else if (part_is(p, "type", "both") || part_is(p, "type", "booster"))
        type = CONVERTER_BOTH;
    taker.booster = part_is(p, "type", "booster");
    taker.converter = (struct converter){
        .type = type,
        .output_v = part_number(p, "output"),
        .dropout_v = part_number_or(p, "dropout", 0.0),
        .min_input_v = part_number_or(p, "min_input", low),
        .restart_v = part_number(p, "restart_input"),
        .max_a = part_number_or(p, "max_current", INFINITY),
        .efficiency = part_number(p, "efficiency"),
        .idle_w = part_number_or(p, "idle_power", 0.0),
        .pass_through = type == CONVERTER_STEP_DOWN && part_is(p, "pass_through", "yes"),
    };
    taker.stop_v = converter_stop_v(&taker.converter);
    taker.start_v = converter_start_v(&taker.converter);
    if (!CIRCUIT_ADD(wiring->circuit, takers, taker))
        wiring->failed = true;
}

static void add_controller(struct wiring *wiring, size_t part)
{
    const struct part *p = part_at(wiring, part);
    struct circuit *circuit = wiring->circuit;
    struct taker taker = taker_of(wiring, part, TAKER_CHARGER);
    taker.mppt = part_is(p, "type", "mppt");
    taker.converter.efficiency = part_number_or(p, "efficiency", 1.0);
    taker.converter.max_a = part_number_or(p, "max_charge_current", INFINITY);
    taker.converter.idle_w = part_number_or(p, "own_use", 0.0); /* A, at the battery */
    taker.charge = circuit->givers.count;
    struct giver giver = {.kind = GIVER_CHARGER,
                          .part = part,
                          .knot = circuit->knot_out[part],
                          .next = NONE,
                          .charger = circuit->takers.count};
    if (!CIRCUIT_ADD(circuit, takers, taker) || !CIRCUIT_ADD(circuit, givers, giver))
        wiring->failed = true;
}

static void add_parts(struct wiring *wiring)
{
    struct circuit *circuit = wiring->circuit;
    for (size_t i = 0; i < wiring->rig->part_count && !wiring->failed; i++) {
        const struct part *p = part_at(wiring, i);
        if (circuit->knot_in[i] == NONE)
            continue;
        if (is(wiring, i, "panel")) {
            if (wiring->in_chain[i] == i)
                add_chain(wiring, i);
        } else if (is(wiring, i, "battery")) {
            add_battery(wiring, i);
        } else if (is(wiring, i, "supply")) {
            add_supply(wiring, i);
        } else if (is(wiring, i, "converter")) {
            add_converter(wiring, i);
        } else if (is(wiring, i, "controller")) {
            add_controller(wiring, i);
        } else if (is(wiring, i, "pump") || is(wiring, i, "load")) {
            add_motor(wiring, i);
        } else if (is(wiring, i, "valve")) {
            if (!part_is(p, "latching", "yes"))
                add_winding(wiring, i, part_number(p, "voltage"), part_number(p, "power"));
        } else if (goes_by(wiring, i, "contact") && wiring->touches[i] == 1) {
            add_relay_winding(wiring, i);
        }
    }
}

/* ---- Trees ---- */

static void hang_parts(struct circuit *circuit)
{
    /* from the last to the first, so that each chain at a knot runs in the rig's order */
    for (size_t i = circuit->givers.count; i-- > 0;) {
        struct knot *knot = &circuit->knots.at[circuit->givers.at[i].knot];
        circuit->givers.at[i].next = knot->first_giver;
        knot->first_giver = i;
    }
    for (size_t i = circuit->takers.count; i-- > 0;) {
        struct knot *knot = &circuit->knots.at[circuit->takers.at[i].knot];
        circuit->takers.at[i].next = knot->first_taker;
        knot->first_taker = i;
    }
}

static void number_trees(struct wiring *wiring)
{
    struct circuit *circuit = wiring->circuit;
    for (size_t i = 0; i < circuit->knots.count && !wiring->failed; i++) {
        size_t root = joined_root(wiring, i);
        if (root == i) {
            circuit->knots.at[i].tree = circuit->trees.count;
            if (!CIRCUIT_ADD(circuit, trees,
                             (struct tree){.root = NONE, .feeder = NONE, .known = true}))
                wiring->failed = true;
        } else {
            circuit->knots.at[i].tree = circuit->knots.at[root].tree; /* root < i */
        }
    }
}

static bool taker_known(const struct taker *taker)
{
    switch (taker->kind) {
    case TAKER_MOTOR:
        return taker->motor.rated_v > 0.0 && taker->motor.rated_a >= 0.0 &&
               !isnan(taker->motor.least_v);
    case TAKER_CONVERTER:
        return taker->converter.output_v > 0.0 && taker->converter.efficiency > 0.0 &&
               taker->converter.min_input_v >= 0.0 && !isnan(taker->stop_v);
    case TAKER_CHARGER:
        break;
    }
    return true;
}

static bool giver_known(const struct circuit *circuit, const struct giver *giver)
{
    switch (giver->kind) {
    case GIVER_PANELS:
        for (size_t i = 0; i < giver->panel_count; i++)
            if (circuit->panels.at[circuit->chained.at[giver->first_panel + i]].fit.refused)
                return false;
        for (size_t i = 0; i < giver->link_count; i++)
            if (isnan(circuit->stretches.at[circuit->links.at[giver->first_link + i]].r20_ohm))
                return false;
        return true;
    case GIVER_BATTERY:
        return giver->battery.voltage_v > 0.0 && giver->resistance_ohm > 0.0;
    case GIVER_SUPPLY:
        return giver->open_v > 0.0;
    case GIVER_CHARGER:
        break;
    }
    return true;
}

static void mark_trees(struct circuit *circuit)
{
    for (size_t i = 0; i < circuit->givers.count; i++) {
        const struct giver *giver = &circuit->givers.at[i];
        struct tree *tree = &circuit->trees.at[circuit->knots.at[giver->knot].tree];
        tree->panels |= giver->kind == GIVER_PANELS;
        tree->battery |= giver->kind == GIVER_BATTERY;
        tree->supply |= giver->kind == GIVER_SUPPLY;
        tree->known &= giver_known(circuit, giver);
    }
    for (size_t i = 0; i < circuit->takers.count; i++) {
        const struct taker *taker = &circuit->takers.at[i];
        struct tree *tree = &circuit->trees.at[circuit->knots.at[taker->knot].tree];
        tree->charger |= taker->kind == TAKER_CHARGER;
        tree->known &= taker_known(taker);
    }
    for (size_t i = 0; i < circuit->stretches.count; i++) {
        const struct stretch *stretch = &circuit->stretches.at[i];
        if (stretch->from != NONE && isnan(stretch->r20_ohm))
            circuit->trees.at[circuit->knots.at[stretch->from].tree].known = false;
    }
}

bool circuit_tree_known(const struct circuit *circuit, size_t tree)
{
    if (!circuit->trees.at[tree].known)
        return false;
    for (size_t i = 0; i < circuit->takers.count; i++) {
        const struct taker *taker = &circuit->takers.at[i];
        if (circuit->knots.at[taker->knot].tree == tree && taker->kind == TAKER_CONVERTER &&
            taker->output_tree != NONE && !circuit_tree_known(circuit, taker->output_tree))
            return false;
    }
    return true;
}

bool circuit_feed_known(const struct circuit *circuit, size_t taker)
{
    size_t tree = circuit->knots.at[circuit->takers.at[taker].knot].tree;
    while (circuit->trees.at[tree].feeder != NONE)
        tree = circuit->knots.at[circuit->takers.at[circuit->trees.at[tree].feeder].knot].tree;
    const struct tree *source = &circuit->trees.at[tree];
    return (!source->panels && !source->battery && !source->supply) ||
           circuit_tree_known(circuit, tree);
}

/* Which tree a converter feeds: the one at its output, unless that has a source of its own or
 * is fed already. */
static void find_feeders(struct wiring *wiring)
{
    struct circuit *circuit = wiring->circuit;
    for (size_t i = 0; i < circuit->takers.count; i++) {
        struct taker *taker = &circuit->takers.at[i];
        if (taker->kind != TAKER_CONVERTER)
            continue;
        size_t output = circuit->knot_out[taker->part];
        size_t in_tree = circuit->knots.at[taker->knot].tree;
        size_t out_tree = circuit->knots.at[output].tree;
        struct tree *tree = &circuit->trees.at[out_tree];
        const struct part *part = part_at(wiring, taker->part);
        if (in_tree == out_tree)
            diagnostics_add(
                circuit->diagnostics, LEVEL_ERROR, TOPIC_JOINS, part->at,
                "%s is joined to itself: cables lead from its output back to its input.", part->id);
        else if (!tree->panels && !tree->battery && !tree->supply && tree->feeder == NONE) {
            tree->feeder = i;
            tree->root = output;
            taker->output_tree = out_tree;
        }
    }
}

/* Converters one behind the other: more than this are not reckoned, for each asks all behind it
 * several times over. */
enum { MOST_BEHIND = 5 };

/* A chain of converters that bites its own tail, or is too long, is cut. */
static void cut_rings(struct wiring *wiring)
{
    struct circuit *circuit = wiring->circuit;
    for (size_t i = 0; i < circuit->trees.count; i++) {
        size_t tree = i;
        for (size_t n = 0; n <= MOST_BEHIND && tree != NONE; n++) {
            size_t feeder = circuit->trees.at[tree].feeder;
            tree = feeder == NONE ? NONE : circuit->knots.at[circuit->takers.at[feeder].knot].tree;
        }
        if (tree == NONE)
            continue;
        struct taker *feeder = &circuit->takers.at[circuit->trees.at[i].feeder];
        const struct part *part = part_at(wiring, feeder->part);
        diagnostics_add(circuit->diagnostics, LEVEL_ERROR, TOPIC_JOINS, part->at,
                        "%s stands behind more than %d other converters, or in a ring of them; "
                        "what it feeds is "
                        "not reckoned.",
                        part->id, MOST_BEHIND - 1);
        feeder->output_tree = NONE;
        circuit->trees.at[i].feeder = NONE;
    }
}

/* ---- Roots ---- */

/* Walks a tree from its root: fills in above, below and the order. */
static bool root_tree(struct circuit *circuit, size_t tree_index, const size_t *first_end,
                      const size_t *ends)
{
    struct tree *tree = &circuit->trees.at[tree_index];
    tree->first_knot = circuit->order.count;
    if (!CIRCUIT_ADD(circuit, order, tree->root))
        return false;
    for (size_t i = tree->first_knot; i < circuit->order.count; i++) {
        size_t here = circuit->order.at[i];
        struct knot *knot = &circuit->knots.at[here];
        for (size_t e = first_end[here + 1]; e-- > first_end[here];) {
            struct stretch *stretch = &circuit->stretches.at[ends[e]];
            if (ends[e] == knot->above)
                continue;
            stretch->upper = here;
            stretch->lower = stretch->from == here ? stretch->to : stretch->from;
            stretch->next = knot->first_stretch;
            knot->first_stretch = ends[e];
            circuit->knots.at[stretch->lower].above = ends[e];
        }
        for (size_t s = knot->first_stretch; s != NONE; s = circuit->stretches.at[s].next)
            if (!CIRCUIT_ADD(circuit, order, circuit->stretches.at[s].lower))
                return false;
    }
    tree->knot_count = circuit->order.count - tree->first_knot;
    return true;
}

/* The way up from a knot is known only once the tree has a root: root at `root`, in scratch. */
static void find_way_up(const struct circuit *circuit, size_t root, const size_t *first_end,
                        const size_t *ends, size_t *up, size_t *queue)
{
    size_t begin = 0, end = 0;
    up[root] = NONE;
    queue[end++] = root;
    while (begin < end) {
        size_t here = queue[begin++];
        for (size_t e = first_end[here]; e < first_end[here + 1]; e++) {
            const struct stretch *stretch = &circuit->stretches.at[ends[e]];
            size_t other = stretch->from == here ? stretch->to : stretch->from;
            if (other == up[here])
                continue;
            up[other] = here;
            queue[end++] = other;
        }
    }
}

/* Where panels that stand at several knots meet, seen from the first load: on the ways between
 * panels, the knot that is nearest to it. One panel alone is the root itself. */
static size_t meeting_knot(const struct circuit *circuit, size_t tree, const size_t *first_end,
                           const size_t *ends, size_t *scratch)
{
    size_t n = circuit->knots.count;
    size_t *up = scratch, *queue = scratch + n, *between = scratch + 2 * n;
    size_t first = NONE, load = NONE;
    for (size_t i = 0; i < circuit->givers.count && first == NONE; i++)
        if (circuit->knots.at[circuit->givers.at[i].knot].tree == tree)
            first = circuit->givers.at[i].knot;
    if (first == NONE)
        return NONE;
    find_way_up(circuit, first, first_end, ends, up, queue);
    for (size_t i = 0; i < n; i++)
        between[i] = 0;
    between[first] = 1;
    for (size_t i = 0; i < circuit->givers.count; i++) {
        size_t knot = circuit->givers.at[i].knot;
        if (circuit->knots.at[knot].tree == tree)
            for (; knot != NONE; knot = up[knot])
                between[knot] = 1;
    }
    for (size_t i = 0; i < circuit->takers.count && load == NONE; i++)
        if (circuit->knots.at[circuit->takers.at[i].knot].tree == tree)
            load = circuit->takers.at[i].knot;
    if (load == NONE)
        return first;
    while (!between[load])
        load = up[load];
    return load;
}

static size_t choose_root(const struct circuit *circuit, size_t tree_index, const size_t *first_end,
                          const size_t *ends, size_t *scratch)
{
    const struct tree *tree = &circuit->trees.at[tree_index];
    if (tree->root != NONE)
        return tree->root; /* a converter's output */
    for (size_t i = 0; i < circuit->takers.count; i++)
        if (tree->panels &&
            (circuit->takers.at[i].kind == TAKER_CHARGER || circuit->takers.at[i].booster) &&
            circuit->knots.at[circuit->takers.at[i].knot].tree == tree_index)
            return circuit->takers.at[i].knot;
    for (int pass = 0; pass < 2; pass++)
        for (size_t i = 0; i < circuit->givers.count; i++)
            if (circuit->knots.at[circuit->givers.at[i].knot].tree == tree_index &&
                circuit->givers.at[i].kind == (pass ? GIVER_BATTERY : GIVER_SUPPLY))
                return circuit->givers.at[i].knot;
    return meeting_knot(circuit, tree_index, first_end, ends, scratch);
}

static bool root_trees(struct wiring *wiring)
{
    struct circuit *circuit = wiring->circuit;
    size_t n = circuit->knots.count;
    size_t *first_end = ARENA_TAKE(circuit->arena, n + 2, size_t);
    size_t *ends = ARENA_TAKE(circuit->arena, 2 * circuit->stretches.count + 1, size_t);
    size_t *fill = ARENA_TAKE(circuit->arena, n + 1, size_t);
    size_t *scratch = ARENA_TAKE(circuit->arena, 3 * n + 1, size_t);
    if (!first_end || !ends || !fill || !scratch)
        return false;
    for (size_t i = 0; i < circuit->stretches.count; i++)
        if (circuit->stretches.at[i].from != NONE) {
            first_end[circuit->stretches.at[i].from + 1]++;
            first_end[circuit->stretches.at[i].to + 1]++;
        }
    for (size_t i = 0; i < n; i++)
        first_end[i + 1] += first_end[i];
    memcpy(fill, first_end, (n + 1) * sizeof *fill);
    for (size_t i = 0; i < circuit->stretches.count; i++)
        if (circuit->stretches.at[i].from != NONE) {
            ends[fill[circuit->stretches.at[i].from]++] = i;
            ends[fill[circuit->stretches.at[i].to]++] = i;
        }
    for (size_t i = 0; i < circuit->trees.count; i++) {
        struct tree *tree = &circuit->trees.at[i];
        tree->root = choose_root(circuit, i, first_end, ends, scratch);
        for (size_t k = 0; k < n && tree->root == NONE; k++)
            if (circuit->knots.at[k].tree == i)
                tree->root = k;
        if (!root_tree(circuit, i, first_end, ends))
            return false;
    }
    return true;
}

static void count_touches(struct wiring *wiring)
{
    for (size_t i = 0; i < wiring->rig->part_count; i++)
        if (is_run(wiring, i)) {
            wiring->touches[wiring->rig->parts[i].from]++;
            wiring->touches[wiring->rig->parts[i].to]++;
        }
}

static bool take_scratch(struct wiring *wiring)
{
    struct circuit *circuit = wiring->circuit;
    size_t n = wiring->rig->part_count + 1;
    circuit->knot_in = ARENA_TAKE(circuit->arena, n, size_t);
    circuit->knot_out = ARENA_TAKE(circuit->arena, n, size_t);
    wiring->touches = ARENA_TAKE(circuit->arena, n, size_t);
    wiring->in_chain = ARENA_TAKE(circuit->arena, n, size_t);
    wiring->seen = ARENA_TAKE(circuit->arena, n, bool);
    wiring->queue = ARENA_TAKE(circuit->arena, n, size_t);
    return circuit->knot_in && circuit->knot_out && wiring->touches && wiring->in_chain &&
           wiring->seen && wiring->queue;
}

enum outcome circuit_build_wires(struct circuit *circuit)
{
    struct wiring wiring = {.circuit = circuit, .rig = circuit->rig};
    if (!take_scratch(&wiring))
        return OUTCOME_NO_MEMORY;
    count_touches(&wiring);
    find_chains(&wiring);
    make_knots(&wiring);
    wiring.joined = ARENA_TAKE(circuit->arena, circuit->knots.count + 1, size_t);
    if (wiring.failed || !wiring.joined)
        return OUTCOME_NO_MEMORY;
    for (size_t i = 0; i < circuit->knots.count; i++)
        wiring.joined[i] = i;
    join_in_line_parts(&wiring);
    join_cables(&wiring);
    add_parts(&wiring);
    if (!wiring.failed) {
        number_trees(&wiring);
        hang_parts(circuit);
    }
    if (wiring.failed)
        return OUTCOME_NO_MEMORY;
    mark_trees(circuit);
    find_feeders(&wiring);
    cut_rings(&wiring);
    return root_trees(&wiring) ? OUTCOME_OK : OUTCOME_NO_MEMORY;
}
