/* defaults.c - what a kind assumes when nobody knows: each default is a value
 * ("47 degC") or a formula over the same part and the site ("0.5 * pump.voltage"). */
#include <string.h>

#include "rig/read.h"
#include "store/value_read.h"

struct default_of {
    const struct formula *formula; /* NULL: literal, or no default */
    struct value literal;          /* type NONE: no literal */
};

struct defaults {
    const struct default_of **kinds; /* [kind][attribute]; NULL: the kind has none */
};

/* A default that reads as a value is one; anything else is a formula. Words that are no formula
 * (`stranded`) and ranges can only be values. */
static bool read_default(struct arena *arena, const struct store *store, const struct kind *kind,
                         const struct attribute *attribute, struct diagnostics *diagnostics,
                         struct default_of *out)
{
    struct diagnostics unheard = {.arena = arena};
    if (value_read_text(arena, attribute->assume, attribute->at, attribute, &unheard,
                        &out->literal) == OUTCOME_OK)
        return true;
    const struct kind *site = store_kind(store, "site");
    const struct formula_role roles[] = {{kind->name, &kind, 1}, {"site", &site, 1}};
    const struct formula_scope scope = {
        .store = store, .roles = roles, .role_count = site && site != kind ? 2 : 1};
    out->literal.type = VALUE_NONE;
    out->formula = formula_compile(arena, attribute->assume, attribute->at, &scope, FORMULA_VALUE,
                                   diagnostics);
    return out->formula != NULL;
}

static bool read_kind(struct arena *arena, const struct store *store, const struct kind *kind,
                      struct diagnostics *diagnostics, const struct default_of **out)
{
    struct default_of *defaults = ARENA_TAKE(arena, kind->attribute_count + 1, struct default_of);
    if (!defaults)
        return false;
    bool sound = true;
    for (size_t i = 0; i < kind->attribute_count; i++)
        if (kind->attributes[i].assume)
            sound =
                read_default(arena, store, kind, &kind->attributes[i], diagnostics, &defaults[i]) &&
                sound;
    *out = defaults;
    return sound;
}

const struct defaults *defaults_new(struct arena *arena, const struct store *store,
                                    struct diagnostics *diagnostics)
{
    struct defaults *defaults = ARENA_TAKE(arena, 1, struct defaults);
    if (!defaults)
        return NULL;
    defaults->kinds = ARENA_TAKE(arena, store->kind_count + 1, const struct default_of *);
    if (!defaults->kinds)
        return NULL;
    bool sound = true;
    for (size_t i = 0; i < store->kind_count; i++)
        sound =
            read_kind(arena, store, &store->kinds[i], diagnostics, &defaults->kinds[i]) && sound;
    return sound ? defaults : NULL;
}

static void assume(struct part_value *value, const struct value *what,
                   const struct attribute *attribute)
{
    value->value = *what;
    value->origin = ORIGIN_ASSUMED;
    value->because = attribute->because;
}

/* True when a value was found that was not there before. */
static bool assume_one(const struct default_of *from, const struct attribute *attribute,
                       const struct formula_world *world, const size_t *roles,
                       struct part_value *value)
{
    if (from->literal.type != VALUE_NONE) {
        assume(value, &from->literal, attribute);
        return true;
    }
    if (!from->formula)
        return false;
    struct formula_result result =
        formula_evaluate(from->formula, world, roles, CONDITION_BRIGHT_NOON, NULL);
    if (result.value.type == VALUE_NONE)
        return false;
    assume(value, &result.value, attribute);
    return true;
}

/* One default may rest on another, so a part is gone over until nothing new turns up. */
static void assume_part(const struct default_of *defaults, const struct rig *rig, size_t index)
{
    struct part *part = &rig->parts[index];
    const struct formula_world world = rig_world(rig);
    const size_t roles[] = {index, rig->site};
    bool more = true;
    while (more) {
        more = false;
        for (size_t i = 0; i < part->kind->attribute_count; i++)
            if (part->values[i].origin == ORIGIN_UNKNOWN && !part->values[i].solved)
                more = assume_one(&defaults[i], &part->kind->attributes[i], &world, roles,
                                  &part->values[i]) ||
                       more;
    }
}

void defaults_apply(const struct defaults *defaults, struct rig *rig)
{
    assume_part(defaults->kinds[rig->parts[rig->site].kind - rig->store->kinds], rig, rig->site);
    for (size_t i = 0; i < rig->part_count; i++)
        if (i != rig->site)
            assume_part(defaults->kinds[rig->parts[i].kind - rig->store->kinds], rig, i);
}
