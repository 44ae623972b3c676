/* circuit.c - building a circuit, and where its results go. */
#include "solve/circuit.h"

#include <assert.h>
#include <math.h>
#include <string.h>

#include "solve/solve.h"

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

static void fill_fields(const struct kind *kind, struct rig_field *fields)
{
    for (int i = 0; i < FIELD_COUNT; i++)
        fields[i] = (struct rig_field){-1, false};
    for (size_t i = 0; i < kind->solved_count; i++) {
        const struct attribute *attribute = &kind->attributes[kind->solved[i]];
        int field = field_find(attribute->name);
        if (field >= 0)
            fields[field] = (struct rig_field){kind->solved[i], attribute->solved == SOLVED_ONCE};
    }
}

const struct rig_field *solve_fields_new(struct arena *arena, const struct store *store)
{
    struct rig_field *fields =
        ARENA_TAKE_UNSET(arena, store->kind_count * FIELD_COUNT + 1, struct rig_field);
    for (size_t i = 0; fields && i < store->kind_count; i++)
        fill_fields(&store->kinds[i], fields + i * FIELD_COUNT);
    return fields;
}

static const struct rig_field *field_at(const struct circuit *circuit, size_t part,
                                        enum field field)
{
    static const struct rig_field none = {-1, false};
    const struct kind *kind = circuit->rig->parts[part].kind;
    if (!kind)
        return &none;
    size_t place = (size_t)(kind - circuit->rig->store->kinds);
    return &circuit->rig->fields[place * FIELD_COUNT + (size_t)field];
}

struct part_value *circuit_value(const struct circuit *circuit, size_t part, enum field field)
{
    short at = field_at(circuit, part, field)->at;
    return at < 0 ? NULL : &circuit->rig->parts[part].values[at];
}

/* One table for each kind; who solves many rigs of one store makes it beforehand. */
static bool find_fields(struct rig *rig)
{
    if (!rig->fields)
        rig->fields = solve_fields_new(rig->arena, rig->store);
    return rig->fields != NULL;
}

void circuit_put(const struct circuit *circuit, size_t part, enum field field,
                 enum condition condition, double value)
{
    const struct rig_field *to = field_at(circuit, part, field);
    if (to->at < 0)
        return;
    double *solved = circuit->rig->parts[part].values[to->at].solved;
    /* less than this of any unit is what rounding left of 0, perhaps of -0 */
    solved[to->once ? 0 : (size_t)condition] = fabs(value) < 1e-30 ? 0.0 : value;
}

void circuit_put_once(const struct circuit *circuit, size_t part, enum field field, double value)
{
    const struct rig_field *to = field_at(circuit, part, field);
    if (to->at < 0)
        return;
    size_t count = to->once ? 1 : CONDITION_COUNT;
    for (size_t i = 0; i < count; i++)
        circuit->rig->parts[part].values[to->at].solved[i] = value;
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
    if (!find_fields(rig) || !find_touches(out))
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
