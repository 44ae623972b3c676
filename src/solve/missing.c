/* missing.c - which figures keep a solved attribute unknown: those of its part,
 * and, for what depends on the whole circuit, those of every part that is joined
 * to it by wire or by water. */
#include <assert.h>
#include <stdint.h>
#include <string.h>

#include "solve/later.h"
#include "solve/solve.h"
#include "solve/whole.h"

enum where { OWN, WIRES, WATER, BOTH, DAY };

static const struct required {
    const char *kind;
    enum where where;
    const char *figures;
} required[] = {
#define REQUIRED(kind, where, figures) {kind, where, figures},
#include "solve/required.def"
#undef REQUIRED
};

/* Results that rest on the part's own figures alone. */
static const char *const own_results[] = {"ampacity",        "resistance",
                                          "open_voltage",    "short_current",
                                          "mpp_voltage",     "mpp_current",
                                          "mpp_power",       "cell_temperature",
                                          "reverse_current", "standstill_temperature",
                                          "charge_voltage",  "empty_voltage",
                                          "usable_energy",   "air_now",
                                          "sun_now",         "day_length"};

struct gaps {
    struct solve_gap *at;
    size_t count, room;
    struct solve_lacks lacks; /* what need not be looked through: nothing of it lacks */
};

static bool is_kind(const struct rig *rig, size_t part, const char *kind)
{
    return part_of_kind(&rig->parts[part], kind);
}

static bool is_own_result(const char *attribute)
{
    for (size_t i = 0; i < sizeof own_results / sizeof *own_results; i++)
        if (strcmp(own_results[i], attribute) == 0)
            return true;
    return false;
}

/* The attribute named in name[0..length), or -1. */
static int named_attribute(const struct kind *kind, const char *name, size_t length)
{
    for (size_t i = 0; i < kind->attribute_count; i++)
        if (kind->attributes[i].name[0] == name[0] &&
            strncmp(kind->attributes[i].name, name, length) == 0 &&
            kind->attributes[i].name[length] == '\0')
            return (int)i;
    return -1;
}

static void note(struct gaps *gaps, size_t part, const char *attribute)
{
    for (size_t i = 0; i < gaps->count; i++)
        if (gaps->at[i].part == part && strcmp(gaps->at[i].attribute, attribute) == 0)
            return;
    if (gaps->count < gaps->room)
        gaps->at[gaps->count++] = (struct solve_gap){part, attribute};
}

/* How many of the figures of one way ("max_head+max_flow", up to `|`) lack; notes them when `gaps`
 * is given. */
static size_t count_lacking(const struct rig *rig, size_t index, const char *way, struct gaps *gaps)
{
    const struct part *part = &rig->parts[index];
    size_t lacking = 0;
    while (*way && *way != '|') {
        size_t length = strcspn(way, "+|");
        int attribute = named_attribute(part->kind, way, length);
        if (attribute >= 0 && part->values[attribute].origin == ORIGIN_UNKNOWN) {
            lacking++;
            if (gaps)
                note(gaps, index, part->kind->attributes[attribute].name);
        }
        way += length + (way[length] == '+');
    }
    return lacking;
}

/* Of all ways, what is written but can't be read. */
static void note_unread(const struct rig *rig, size_t index, const char *figures, struct gaps *gaps)
{
    const struct part *part = &rig->parts[index];
    for (const char *at = figures; rig->unread && *at; at += strspn(at, "+|")) {
        size_t length = strcspn(at, "+|");
        int attribute = named_attribute(part->kind, at, length);
        if (attribute >= 0 && part->values[attribute].unread)
            note(gaps, index, part->kind->attributes[attribute].name);
        at += length;
    }
}

/* Nothing when one of the ways is there; else what lacks of the way that lacks least. */
static void check_required(const struct rig *rig, size_t index, const char *figures,
                           struct gaps *gaps)
{
    const char *best = figures;
    size_t least = SIZE_MAX;
    for (const char *way = figures; way; way = strchr(way, '|') ? strchr(way, '|') + 1 : NULL) {
        size_t lacking = count_lacking(rig, index, way, NULL);
        if (lacking < least) {
            least = lacking;
            best = way;
        }
    }
    if (!least)
        return;
    note_unread(rig, index, figures, gaps);
    count_lacking(rig, index, best, gaps);
}

/* A pipe without any figure joins its ends; a hose has at least one. */
static bool is_plain_joint(const struct part *part)
{
    static const char *const figures[] = {"bore", "length", "material", "outside"};
    for (size_t i = 0; i < sizeof figures / sizeof *figures; i++) {
        const struct part_value *value = part_value(part, figures[i]);
        if (value && value->origin != ORIGIN_UNKNOWN)
            return false;
    }
    return true;
}

static void check_part(const struct rig *rig, size_t index, bool own, bool wires, bool water,
                       struct gaps *gaps)
{
    const struct part *part = &rig->parts[index];
    if (!gaps->lacks.circuit)
        return;
    if (strcmp(part->kind->name, "pipe") == 0 && is_plain_joint(part))
        return;
    for (size_t i = 0; i < sizeof required / sizeof *required; i++) {
        const struct required *one = &required[i];
        bool asked = (own && one->where != DAY) || one->where == BOTH ||
                     (wires && one->where == WIRES) || (water && one->where == WATER);
        if (asked && is_kind(rig, index, one->kind))
            check_required(rig, index, one->figures, gaps);
    }
}

/* What the day asks of a part besides. */
static void check_day_part(const struct rig *rig, size_t index, struct gaps *gaps)
{
    for (size_t i = 0; gaps->lacks.day && i < sizeof required / sizeof *required; i++)
        if (required[i].where == DAY && is_kind(rig, index, required[i].kind))
            check_required(rig, index, required[i].figures, gaps);
}

/* ---- the circuit of a part ---- */

enum { PARTS_MOST = RIG_PARTS_MAX + 2 }; /* with the place and the rig */

/* On the stack, some 120 kB: asking what lacks then cannot fail for want of memory. */
struct reach {
    const struct rig *rig;
    bool wires[PARTS_MOST], water[PARTS_MOST]; /* parts reached by cable, by pipe */
    uint16_t queue[2 * PARTS_MOST];
    size_t count;
};

static void enter(struct reach *reach, size_t part, bool wires, bool water)
{
    if (part == NO_PART || ((reach->wires[part] || !wires) && (reach->water[part] || !water)))
        return;
    reach->wires[part] = reach->wires[part] || wires;
    reach->water[part] = reach->water[part] || water;
    reach->queue[reach->count++] = (uint16_t)part;
}

static void enter_run(struct reach *reach, size_t run, bool wires)
{
    const struct part *part = &reach->rig->parts[run];
    enter(reach, run, wires, !wires);
    enter(reach, part->from, wires, !wires);
    enter(reach, part->to, wires, !wires);
    for (size_t i = 0; i < part->through_count; i++)
        enter(reach, part->through[i].part, wires, !wires);
}

static void enter_runs(struct reach *reach, size_t part, const char *relation)
{
    const size_t *runs;
    size_t count = rig_related(reach->rig, part, relation, &runs);
    for (size_t i = 0; i < count; i++) {
        bool cable = is_kind(reach->rig, runs[i], "cable");
        if (!cable && !is_kind(reach->rig, runs[i], "pipe"))
            continue;
        /* A pump's current rests on its water and its flow on its current; water ends at tanks. */
        bool goes = cable ? reach->wires[part] || is_kind(reach->rig, part, "pump")
                          : !is_kind(reach->rig, part, "tank") &&
                                (reach->water[part] || is_kind(reach->rig, part, "pump"));
        if (goes)
            enter_run(reach, runs[i], cable);
    }
}

static void flood(struct reach *reach, size_t start)
{
    const char *kind = reach->rig->parts[start].kind->name;
    bool wires = strcmp(kind, "pipe") != 0 && !kind_is(reach->rig->parts[start].kind, "water-part");
    if (strcmp(kind, "pump") == 0)
        wires = true;
    bool cable = strcmp(kind, "cable") == 0, pipe = strcmp(kind, "pipe") == 0;
    if (cable || pipe)
        enter_run(reach, start, cable);
    else
        enter(reach, start, wires, !wires || strcmp(kind, "pump") == 0);
    for (size_t i = 0; i < reach->count; i++) {
        enter_runs(reach, reach->queue[i], "touched-by");
        enter_runs(reach, reach->queue[i], "sits-in");
    }
}

static void check_circuit(const struct rig *rig, size_t part, struct gaps *gaps)
{
    struct reach reach;
    if (!gaps->lacks.circuit)
        return;
    assert(rig->part_count <= PARTS_MOST);
    reach.rig = rig;
    reach.count = 0;
    memset(reach.wires, 0, rig->part_count);
    memset(reach.water, 0, rig->part_count);
    flood(&reach, part);
    for (size_t i = 0; i < rig->part_count; i++)
        if (reach.wires[i] || reach.water[i])
            check_part(rig, i, false, reach.wires[i], reach.water[i], gaps);
}

/* Does anything in the rig lie in the sun? */
static bool lies_in_sun(const struct rig *rig)
{
    for (size_t i = 0; i < rig->part_count; i++)
        if (is_kind(rig, i, "panel") || is_kind(rig, i, "coil"))
            return true;
    return false;
}

/* The day of a tank rests on the coils that warm it, with all that moves their water; that of a
 * coil on the tank as well. */
static void check_day(const struct rig *rig, size_t part, struct gaps *gaps)
{
    static const char *const relations[] = {"warmed-by", "warms"};
    if (!rig->later)
        return; /* too many parts: what lacks is not a figure */
    check_day_part(rig, part, gaps);
    for (size_t r = 0; r < sizeof relations / sizeof *relations; r++) {
        const size_t *others;
        size_t count = rig_related(rig, part, relations[r], &others);
        for (size_t i = 0; i < count; i++) {
            check_part(rig, others[i], true, true, true, gaps);
            check_day_part(rig, others[i], gaps);
            check_circuit(rig, others[i], gaps);
        }
    }
    if (part != rig->site && lies_in_sun(rig))
        check_day_part(rig, rig->site, gaps);
}

/* ---- what rests on values that can't be read ---- */

#define DOUBTS_MOST 200 /* circuits that are followed; from there on all is in doubt */

static bool looked_for_unread(const struct part *part)
{
    for (size_t i = 0; i < part->kind->attribute_count; i++)
        if (part->values[i].missed)
            return true;
    for (size_t i = 0; i < part->through_count; i++)
        if (part->through[i].unread)
            return true;
    return false;
}

static void doubt_circuit(const struct rig *rig, size_t part, bool *doubtful)
{
    struct reach reach;
    reach.rig = rig;
    reach.count = 0;
    memset(reach.wires, 0, rig->part_count);
    memset(reach.water, 0, rig->part_count);
    flood(&reach, part);
    doubtful[part] = true;
    for (size_t i = 0; i < reach.count; i++)
        doubtful[reach.queue[i]] = true;
}

/* A tank ends the circuits of its pipes, and is in each. */
static void doubt_part(const struct rig *rig, size_t part, bool *doubtful)
{
    const size_t *runs;
    doubt_circuit(rig, part, doubtful);
    size_t count = is_kind(rig, part, "tank") ? rig_related(rig, part, "touched-by", &runs) : 0;
    for (size_t i = 0; i < count; i++)
        doubt_circuit(rig, runs[i], doubtful);
}

/* The day joins a coil with its tank. */
static void doubt_day(const struct rig *rig, bool *doubtful)
{
    for (size_t i = 0; i < rig->part_count; i++) {
        const size_t *tanks;
        size_t count = is_kind(rig, i, "coil") ? rig_related(rig, i, "warms", &tanks) : 0;
        for (size_t k = 0; k < count; k++)
            doubtful[i] = doubtful[tanks[k]] = doubtful[i] || doubtful[tanks[k]];
    }
}

/* What a cable stands, what a panel gives at its best and the like rest on its own figures, and on
 * the air. */
static bool has_own_results(const struct rig *rig, size_t part)
{
    const struct part *site = &rig->parts[rig->site];
    int air = kind_attribute(site->kind, "air");
    return !looked_for_unread(&rig->parts[part]) && (air < 0 || !site->values[air].unread);
}

static void doubt_values(const struct rig *rig, size_t part)
{
    const struct kind *kind = rig->parts[part].kind;
    bool own = has_own_results(rig, part);
    for (size_t i = 0; i < kind->solved_count; i++)
        rig->parts[part].values[kind->solved[i]].unread =
            !(own && is_own_result(kind->attributes[kind->solved[i]].name));
}

void solve_doubt_whole(struct rig *rig)
{
    bool doubtful = false;
    for (size_t i = 0; rig->unread && i < rig->part_count; i++)
        doubtful = doubtful || looked_for_unread(&rig->parts[i]);
    if (doubtful)
        doubt_values(rig, rig->whole);
}

/* The circuits of each part of which the physics looked for a value; all of them when it is the
 * place's. */
static void find_doubtful(const struct rig *rig, bool *doubtful)
{
    size_t circuits = 0;
    for (size_t i = 0; i < rig->part_count; i++) {
        if (!looked_for_unread(&rig->parts[i]))
            continue;
        if (i == rig->site || circuits++ == DOUBTS_MOST) {
            memset(doubtful, true, rig->part_count * sizeof *doubtful);
            return;
        }
        doubt_part(rig, i, doubtful);
    }
    doubt_day(rig, doubtful);
}

enum outcome solve_doubt(struct rig *rig)
{
    if (!rig->unread)
        return OUTCOME_OK;
    bool *doubtful = ARENA_TAKE(rig->arena, rig->part_count + 1, bool);
    if (!doubtful)
        return OUTCOME_NO_MEMORY;
    assert(rig->part_count <= PARTS_MOST);
    find_doubtful(rig, doubtful);
    for (size_t i = 0; i < rig->part_count; i++)
        if (doubtful[i])
            doubt_values(rig, i);
    return OUTCOME_OK;
}

static void note_whole(void *data, size_t part, const char *attribute)
{
    note(data, part, attribute);
}

size_t solve_missing(const struct rig *rig, struct solve_lacks lacks, size_t part, int attribute,
                     struct solve_gap *out, size_t room)
{
    struct gaps gaps = {out, 0, room, lacks};
    const char *name = rig->parts[part].kind->attributes[attribute].name;
    if (part == rig->whole) { /* prices are no concern of the physics */
        whole_missing(rig, name, note_whole, &gaps);
        return gaps.count;
    }
    if (!lacks.circuit && !lacks.day)
        return 0;
    bool of_day = later_covers(rig, part, name);
    if (strcmp(name, "high_temperature") == 0 && !of_day)
        return 0; /* a tank that no coil warms has none of its own */
    check_part(rig, part, true, true, true, &gaps);
    if (strcmp(name, "day_length") == 0)
        check_required(rig, part, "latitude", &gaps);
    if (is_own_result(name))
        return gaps.count;
    check_circuit(rig, part, &gaps);
    if (of_day)
        check_day(rig, part, &gaps);
    return gaps.count;
}

struct solve_lacks solve_lacks(const struct rig *rig)
{
    struct solve_gap first;
    struct gaps circuit = {&first, 0, 1, {true, true}}, day = circuit;
    for (size_t i = 0; i < rig->part_count; i++) {
        if (!circuit.count)
            check_part(rig, i, true, true, true, &circuit);
        if (!day.count)
            check_day_part(rig, i, &day);
    }
    return (struct solve_lacks){circuit.count > 0, day.count > 0};
}
