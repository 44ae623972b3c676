/* circuit.c - building a circuit, and where its results go. */
#include "solve/circuit.h"

#include <assert.h>
#include <math.h>
#include <string.h>

static const char *const field_names[FIELD_COUNT] = {
#define FIELD(symbol, name) [FIELD_##symbol] = name,
#include "solve/field.def"
#undef FIELD
};

static int field_find(const char *name)
{
    for (int i = 0; i < FIELD_COUNT; i++)
        if (name[0] == field_names[i][0] && strcmp(name, field_names[i]) == 0)
            return i;
    return -1;
}

static const short *fields_of(struct arena *arena, const struct kind *kind)
{
    short *at = ARENA_TAKE(arena, FIELD_COUNT, short);
    if (!at)
        return NULL;
    for (int i = 0; i < FIELD_COUNT; i++)
        at[i] = -1;
    for (size_t i = 0; i < kind->solved_count; i++) {
        int field = field_find(kind->attributes[kind->solved[i]].name);
        if (field >= 0)
            at[field] = kind->solved[i];
    }
    return at;
}

/* One table for each kind, shared by its parts; made once for a rig and its twins. */
static bool find_fields(struct circuit *circuit)
{
    struct rig *rig = circuit->rig;
    circuit->fields = rig->fields;
    if (rig->fields)
        return true;
    const short **fields = ARENA_TAKE(rig->arena, rig->part_count + 1, const short *);
    if (!fields)
        return false;
    for (size_t i = 0; i < rig->part_count; i++) {
        if (!rig->parts[i].kind)
            continue;
        size_t first = rig->by_kind[rig->of_kind[rig->parts[i].kind - rig->store->kinds]];
        fields[i] = first < i ? fields[first] : fields_of(rig->arena, rig->parts[i].kind);
        if (!fields[i])
            return false;
    }
    circuit->fields = rig->fields = fields;
    return true;
}

void circuit_put(const struct circuit *circuit, size_t part, enum field field,
                 enum condition condition, double value)
{
    const short *at = circuit->fields[part];
    if (!at || at[field] < 0)
        return;
    const struct part *p = &circuit->rig->parts[part];
    bool once = p->kind->attributes[at[field]].solved == SOLVED_ONCE;
    /* less than this of any unit is what rounding left of 0, perhaps of -0 */
    p->values[at[field]].solved[once ? 0 : (size_t)condition] = fabs(value) < 1e-30 ? 0.0 : value;
}

void circuit_put_once(const struct circuit *circuit, size_t part, enum field field, double value)
{
    const short *at = circuit->fields[part];
    if (!at || at[field] < 0)
        return;
    const struct part *p = &circuit->rig->parts[part];
    size_t count = p->kind->attributes[at[field]].solved == SOLVED_ONCE ? 1 : CONDITION_COUNT;
    for (size_t i = 0; i < count; i++)
        p->values[at[field]].solved[i] = value;
}

static bool is_run(const struct rig *rig, size_t part)
{
    const struct part *run = &rig->parts[part];
    return run->from < rig->part_count && run->to < rig->part_count;
}

static bool find_touches(struct circuit *circuit)
{
    const struct rig *rig = circuit->rig;
    size_t n = rig->part_count;
    size_t *first = ARENA_TAKE(circuit->arena, n + 2, size_t);
    size_t *touch = ARENA_TAKE(circuit->arena, 2 * n + 1, size_t);
    if (!first || !touch)
        return false;
    /* first[p + 1] counts, then holds where p's next run goes, and so ends as where p + 1 begins */
    for (size_t i = 0; i < n; i++)
        if (is_run(rig, i)) {
            first[rig->parts[i].from + 1]++;
            first[rig->parts[i].to + 1] += rig->parts[i].to != rig->parts[i].from;
        }
    size_t sum = 0;
    for (size_t p = 0; p < n; p++) {
        size_t count = first[p + 1];
        first[p + 1] = sum;
        sum += count;
    }
    for (size_t i = 0; i < n; i++)
        if (is_run(rig, i)) {
            touch[first[rig->parts[i].from + 1]++] = i;
            if (rig->parts[i].to != rig->parts[i].from)
                touch[first[rig->parts[i].to + 1]++] = i;
        }
    circuit->touch_first = first;
    circuit->touch = touch;
    return true;
}

enum outcome circuit_build(struct rig *rig, struct diagnostics *diagnostics, struct arena *arena,
                           struct circuit *out)
{
    *out = (struct circuit){.rig = rig, .diagnostics = diagnostics, .arena = arena};
    if (!find_fields(out) || !find_touches(out))
        return OUTCOME_NO_MEMORY;
    enum outcome outcome = circuit_build_wires(out);
    if (outcome == OUTCOME_OK)
        outcome = circuit_build_water(out);
    return outcome;
}

void circuit_drop(struct circuit *circuit)
{
    for (size_t i = 0; i < circuit->waters.count; i++)
        network_drop(circuit->waters.at[i]);
    circuit->waters.count = 0;
}
