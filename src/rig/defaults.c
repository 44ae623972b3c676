/* defaults.c - what a kind assumes when nobody knows: each default is a value
 * ("47 degC") or a formula over the same part and the site ("0.5 * pump.voltage"). */
#include <string.h>

#include "rig/read.h"
#include "store/value_read.h"

struct default_of {
    size_t attribute;              /* its place in the kind */
    const struct formula *formula; /* NULL: literal */
    struct value literal;
};

struct kind_defaults {
    struct default_of *at;
    size_t count;
};

struct defaults {
    struct kind_defaults *kinds; /* as in the store */
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
                      struct diagnostics *diagnostics, struct kind_defaults *out)
{
    size_t count = 0;
    for (size_t i = 0; i < kind->attribute_count; i++)
        count += kind->attributes[i].assume != NULL;
    out->at = ARENA_TAKE(arena, count + 1, struct default_of);
    if (!out->at)
        return false;
    bool sound = true;
    for (size_t i = 0; i < kind->attribute_count; i++) {
        if (!kind->attributes[i].assume)
            continue;
        struct default_of *next = &out->at[out->count++];
        next->attribute = i;
        sound = read_default(arena, store, kind, &kind->attributes[i], diagnostics, next) && sound;
    }
    return sound;
}

const struct defaults *defaults_new(struct arena *arena, const struct store *store,
                                    struct diagnostics *diagnostics)
{
    struct defaults *defaults = ARENA_TAKE(arena, 1, struct defaults);
    if (!defaults)
        return NULL;
    defaults->kinds = ARENA_TAKE(arena, store->kind_count + 1, struct kind_defaults);
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
    if (value->unread)
        return;
    value->origin = ORIGIN_ASSUMED;
    value->because = attribute->because;
}

/* Does it wait for a value that can't be read? Then it is no more known than that. */
static bool waits_for_unread(const struct formula_world *world, const struct formula_uses *uses)
{
    for (size_t i = 0; world->unread && i < uses->count; i++)
        if (uses->at[i].unknown &&
            world->unread(world->data, uses->at[i].part, uses->at[i].attribute))
            return true;
    return false;
}

/* True when something came to be known of it that was not before. */
static bool assume_one(const struct default_of *from, const struct attribute *attribute,
                       const struct formula_world *world, const size_t *roles,
                       struct part_value *value)
{
    if (!from->formula) {
        assume(value, &from->literal, attribute);
        return true;
    }
    struct formula_uses uses;
    struct formula_result result = formula_evaluate(
        from->formula, world, roles, CONDITION_BRIGHT_NOON, world->unread ? &uses : NULL);
    if (result.value.type == VALUE_NONE) {
        bool was = value->unread;
        value->unread = was || waits_for_unread(world, &uses);
        return value->unread && !was;
    }
    assume(value, &result.value, attribute);
    return true;
}

/* One default may rest on another, so a part is gone over until nothing new turns up. */
static void assume_part(const struct kind_defaults *defaults, const struct rig *rig, size_t index)
{
    struct part *part = &rig->parts[index];
    const struct formula_world world = rig_world(rig);
    const size_t roles[] = {index, rig->site};
    bool more, open;
    do {
        more = open = false;
        for (size_t i = 0; i < defaults->count; i++) {
            const struct default_of *from = &defaults->at[i];
            struct part_value *value = &part->values[from->attribute];
            if (value->origin != ORIGIN_UNKNOWN || value->solved || value->value.type != VALUE_NONE)
                continue;
            if (assume_one(from, &part->kind->attributes[from->attribute], &world, roles, value))
                more = true;
            else
                open = true;
        }
    } while (more && open);
}

void defaults_apply(const struct defaults *defaults, struct rig *rig)
{
    assume_part(&defaults->kinds[rig->parts[rig->site].kind - rig->store->kinds], rig, rig->site);
    for (size_t i = 0; i < rig->part_count; i++)
        if (i != rig->site)
            assume_part(&defaults->kinds[rig->parts[i].kind - rig->store->kinds], rig, i);
}
