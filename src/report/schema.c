/* schema.c - `rigtally schema`: the rig file as a JSON Schema (draft-07) for editors,
 * from the same kinds and catalogue by which a rig is read. It lets through whatever
 * the tool reads; what a pattern can't tell (`volts` for `V`), the tool tells. */
#include <math.h>
#include <string.h>

#include "report/jotter.h"
#include "report/report.h"

#define NUMBER "[-+]?([0-9]+([.][0-9]*)?|[.][0-9]+)([eE][-+]?[0-9]+)?"
#define BLANK "[ \\u00a0\\u2009\\u202f]*"
#define ID "[A-Za-z][A-Za-z0-9_-]*"

struct schema {
    struct jotter jotter;
    const struct store *store;
    json_t *definitions;
    struct text text; /* for building patterns and names */
};

/* ---- small things ---- */

static json_t *string(struct schema *schema, const char *words)
{
    return jot_string(&schema->jotter, words);
}

static json_t *object(struct schema *schema, const char *type)
{
    json_t *item = jot_object(&schema->jotter);
    if (item && type)
        jot_set(&schema->jotter, item, "type", string(schema, type));
    return item;
}

/* Sets a key of an object that may not be there; `item` is taken over in any case. */
static void set(struct schema *schema, json_t *into, const char *key, json_t *item)
{
    if (into)
        jot_set(&schema->jotter, into, key, item);
    else
        json_decref(item);
}

static void append(struct schema *schema, json_t *into, json_t *item)
{
    if (into)
        jot_append(&schema->jotter, into, item);
    else
        json_decref(item);
}

/* What was built in schema->text. */
static json_t *built(struct schema *schema)
{
    schema->jotter.failed = schema->jotter.failed || schema->text.failed;
    json_t *item = string(schema, schema->text.length ? schema->text.bytes : "");
    text_clear(&schema->text);
    return item;
}

static json_t *reference(struct schema *schema, const char *name)
{
    json_t *item = object(schema, NULL);
    text_print(&schema->text, "#/definitions/%s", name);
    set(schema, item, "$ref", built(schema));
    return item;
}

static json_t *with_pattern(struct schema *schema, const char *pattern)
{
    json_t *item = object(schema, "string");
    set(schema, item, "pattern", string(schema, pattern));
    return item;
}

static json_t *words(struct schema *schema, const char *const *list, size_t count)
{
    json_t *item = object(schema, NULL), *array = jot_array(&schema->jotter);
    for (size_t i = 0; i < count; i++)
        append(schema, array, string(schema, list[i]));
    set(schema, item, "enum", array);
    return item;
}

/* One of two; both are taken over. */
static json_t *either(struct schema *schema, json_t *a, json_t *b)
{
    json_t *item = object(schema, NULL), *array = jot_array(&schema->jotter);
    append(schema, array, a);
    append(schema, array, b);
    set(schema, item, "anyOf", array);
    return item;
}

static json_t *list_of(struct schema *schema, json_t *items)
{
    json_t *item = object(schema, "array");
    set(schema, item, "items", items);
    return item;
}

static json_t *closed(struct schema *schema, json_t *properties)
{
    json_t *item = object(schema, "object");
    set(schema, item, "properties", properties);
    set(schema, item, "additionalProperties", jot_bool(&schema->jotter, false));
    return item;
}

static void require(struct schema *schema, json_t *item, const char *const *keys)
{
    json_t *array = jot_array(&schema->jotter);
    for (; *keys; keys++)
        append(schema, array, string(schema, *keys));
    set(schema, item, "required", array);
}

/* ---- quantities ---- */

/* A temperature and a difference of temperatures are written in the same units. */
static bool alike(struct dimension a, struct dimension b)
{
    a.absolute = b.absolute = false;
    return dimension_same(a, b);
}

static void add_quoted(struct text *out, const char *name)
{
    for (; *name; name++) {
        if (strchr("\\^$.|?*+()[]{}/", *name))
            text_add(out, "\\");
        text_add_bytes(out, name, 1);
    }
}

static bool second_dimension(const struct attribute *attribute, struct dimension *out)
{
    struct unit unit;
    if (!attribute->also_unit ||
        !unit_find(attribute->also_unit, strlen(attribute->also_unit), &unit))
        return false;
    *out = unit.dimension;
    return true;
}

/* A unit that is none of another sort: every name of the table that would be wrong is shut out. */
static void add_unit(struct text *out, const struct attribute *attribute)
{
    struct dimension also = attribute->dimension;
    const char *between = "";
    second_dimension(attribute, &also);
    text_add(out, BLANK "(?!(?:");
    for (size_t i = 0; unit_row(i); i++) {
        const struct unit *unit = unit_row(i);
        if (alike(unit->dimension, attribute->dimension) || alike(unit->dimension, also))
            continue;
        text_add(out, between);
        add_quoted(out, unit->name);
        between = "|";
    }
    text_add(out, ")" BLANK "$)[^-+0-9., ].*");
}

static bool is_bare(const struct attribute *attribute)
{
    return dimension_same(attribute->dimension, dimension_none);
}

/* `14 AWG`, `1/0 AWG` are sizes of wire. */
static json_t *quantity_pattern(struct schema *schema, const struct attribute *attribute)
{
    json_t *item = object(schema, "string");
    text_add(&schema->text, "^" BLANK "(" NUMBER);
    if (is_bare(attribute)) {
        text_add(&schema->text, BLANK "(%|percent|per cent|pct)?");
    } else {
        add_unit(&schema->text, attribute);
        text_add(&schema->text, "|[0-9]/0" BLANK "AWG");
    }
    text_add(&schema->text, ")" BLANK "$");
    set(schema, item, "pattern", built(schema));
    return item;
}

static json_t *range_pattern(struct schema *schema, const struct attribute *attribute)
{
    json_t *item = object(schema, "string");
    text_add(&schema->text, "^" BLANK NUMBER "[^.\\u2026]*([.][.]|\\u2026)" BLANK NUMBER);
    if (is_bare(attribute))
        text_add(&schema->text, BLANK "%?");
    else
        add_unit(&schema->text, attribute);
    text_add(&schema->text, BLANK "$");
    set(schema, item, "pattern", built(schema));
    return item;
}

/* "quantity-V", "range-m3-s-or-V-K": one definition for all attributes of a dimension. */
static void name_definition(struct text *out, const struct attribute *attribute)
{
    char spare[64], other[64];
    struct dimension also;
    text_add(out, attribute->type == VALUE_RANGE ? "range-" : "quantity-");
    const char *names[2] = {dimension_si(attribute->dimension, spare), NULL};
    if (second_dimension(attribute, &also))
        names[1] = dimension_si(also, other);
    for (size_t i = 0; i < 2 && names[i]; i++) {
        text_add(out, i ? "-or-" : "");
        for (const char *at = names[i]; *at; at++)
            text_print(out, "%c", strchr("/ %^", *at) ? '-' : *at);
    }
}

static json_t *shared(struct schema *schema, const struct attribute *attribute)
{
    struct text name = {0};
    name_definition(&name, attribute);
    schema->jotter.failed = schema->jotter.failed || name.failed;
    const char *key = name.length ? name.bytes : "";
    if (!json_object_get(schema->definitions, key))
        set(schema, schema->definitions, key,
            attribute->type == VALUE_RANGE ? range_pattern(schema, attribute)
                                           : quantity_pattern(schema, attribute));
    json_t *item = reference(schema, key);
    text_drop(&name);
    return item;
}

static json_t *bare_number(struct schema *schema, const struct attribute *attribute)
{
    json_t *item = object(schema, "number");
    if (isfinite(attribute->least))
        set(schema, item, "minimum", jot_number(&schema->jotter, attribute->least));
    if (isfinite(attribute->most))
        set(schema, item, "maximum", jot_number(&schema->jotter, attribute->most));
    return item;
}

/* ---- values ---- */

static json_t *one_word(struct schema *schema, const struct attribute *attribute)
{
    if (attribute->word_count)
        return words(schema, attribute->words, attribute->word_count);
    /* A text may look like a number to YAML. */
    return either(schema, object(schema, "string"), object(schema, "number"));
}

static json_t *points(struct schema *schema)
{
    const struct attribute flow = {.type = VALUE_QUANTITY,
                                   .dimension = {.exponent = {[BASE_M] = 3, [BASE_S] = -1}}};
    const struct attribute head = {.type = VALUE_QUANTITY,
                                   .dimension = {.exponent = {[BASE_M] = 1}}};
    json_t *pair = object(schema, "array"), *items = jot_array(&schema->jotter);
    append(schema, items, shared(schema, &flow));
    append(schema, items, shared(schema, &head));
    set(schema, pair, "items", items);
    set(schema, pair, "minItems", jot_number(&schema->jotter, 2));
    set(schema, pair, "maxItems", jot_number(&schema->jotter, 2));
    json_t *list = list_of(schema, pair);
    set(schema, list, "minItems", jot_number(&schema->jotter, 1));
    return list;
}

static json_t *not_negative(struct schema *schema)
{
    json_t *item = object(schema, "number");
    set(schema, item, "minimum", jot_number(&schema->jotter, 0));
    return item;
}

static json_t *fittings(struct schema *schema, const struct attribute *attribute)
{
    json_t *item = object(schema, "object"), *inside = jot_object(&schema->jotter);
    set(schema, inside, "number", not_negative(schema));
    set(schema, inside, "k", not_negative(schema));
    set(schema, item, "additionalProperties",
        either(schema, not_negative(schema), closed(schema, inside)));
    if (attribute->word_count)
        set(schema, item, "propertyNames", words(schema, attribute->words, attribute->word_count));
    return item;
}

static json_t *value_schema(struct schema *schema, const struct attribute *attribute)
{
    switch (attribute->type) {
    case VALUE_QUANTITY:
        return is_bare(attribute)
                   ? either(schema, bare_number(schema, attribute), shared(schema, attribute))
                   : shared(schema, attribute);
    case VALUE_RANGE:
        return shared(schema, attribute);
    case VALUE_WORDS:
    case VALUE_IDS:
        return either(schema, one_word(schema, attribute),
                      list_of(schema, one_word(schema, attribute)));
    case VALUE_POINTS:
        return points(schema);
    case VALUE_FITTINGS:
        return fittings(schema, attribute);
    default:
        return one_word(schema, attribute);
    }
}

/* What it is, in which units, and what is assumed without it. */
static void describe(struct schema *schema, json_t *item, const struct attribute *attribute)
{
    char units[160];
    bool figure = attribute->type == VALUE_QUANTITY || attribute->type == VALUE_RANGE;
    text_print(&schema->text, "%s.", attribute->about ? attribute->about : attribute->name);
    if (figure && !is_bare(attribute)) {
        dimension_units(attribute->dimension, units, sizeof units);
        text_print(&schema->text, " In %s.", units);
    }
    if (attribute->minimum && attribute->maximum)
        text_print(&schema->text, " From %s to %s.", attribute->minimum, attribute->maximum);
    if (attribute->assume)
        text_print(&schema->text, " Assumed when not given: %s.", attribute->assume);
    if (attribute->may_be)
        text_print(&schema->text, " The real one may be off by %s.", attribute->may_be);
    set(schema, item, "description", built(schema));
    if (!figure || is_bare(attribute))
        return;
    json_t *examples = jot_array(&schema->jotter);
    text_print(&schema->text, attribute->type == VALUE_RANGE ? "1 .. 2 %s" : "1 %s",
               attribute->unit);
    append(schema, examples, built(schema));
    set(schema, item, "examples", examples);
}

/* A key that is left blank says that nobody knows. */
static json_t *own_attribute(struct schema *schema, const struct attribute *attribute)
{
    json_t *item = either(schema, value_schema(schema, attribute), object(schema, "null"));
    describe(schema, item, attribute);
    return item;
}

/* Is it one that all kinds have, in its common words? */
static bool is_common(const struct store *store, const struct attribute *attribute)
{
    for (size_t i = 0; i < store->common_count; i++) {
        const struct attribute *common = &store->common[i];
        if (strcmp(common->name, attribute->name) == 0)
            return strcmp(common->about ? common->about : "",
                          attribute->about ? attribute->about : "") == 0 &&
                   common->word_count == attribute->word_count;
    }
    return false;
}

static json_t *attribute_schema(struct schema *schema, const struct attribute *attribute)
{
    char name[300];
    if (!is_common(schema->store, attribute))
        return own_attribute(schema, attribute);
    snprintf(name, sizeof name, "common-%s", attribute->name);
    if (!json_object_get(schema->definitions, name))
        set(schema, schema->definitions, name, own_attribute(schema, attribute));
    return reference(schema, name);
}

/* ---- kinds ---- */

static json_t *list_entries(struct schema *schema, const char *kind)
{
    const struct store *store = schema->store;
    json_t *item = object(schema, NULL), *array = jot_array(&schema->jotter);
    bool any = false;
    for (size_t i = 0; i < store->entry_count; i++) {
        const struct entry *entry = &store->entries[store->entry_order[i]];
        if (kind && strcmp(entry->kind, kind) != 0)
            continue;
        append(schema, array, string(schema, entry->name));
        any = true;
    }
    if (!any) /* draft-07 wants at least one; an id never has a blank */
        append(schema, array, string(schema, "no entry"));
    set(schema, item, "enum", array);
    set(schema, item, "description", string(schema, "An entry of the catalogue."));
    return item;
}

/* `kind` NULL: of all kinds. */
static json_t *entries_of(struct schema *schema, const char *kind)
{
    char name[300];
    snprintf(name, sizeof name, "entries-%s", kind ? kind : "of-all");
    if (!json_object_get(schema->definitions, name))
        set(schema, schema->definitions, name, list_entries(schema, kind));
    return reference(schema, name);
}

static json_t *constant(struct schema *schema, const char *word)
{
    json_t *item = object(schema, NULL);
    set(schema, item, "const", string(schema, word));
    return item;
}

static json_t *attributes_of(struct schema *schema, const struct kind *kind)
{
    json_t *properties = jot_object(&schema->jotter);
    for (size_t i = 0; i < kind->attribute_count; i++)
        if (kind->attributes[i].solved == SOLVED_NO)
            set(schema, properties, kind->attributes[i].name,
                attribute_schema(schema, &kind->attributes[i]));
    return properties;
}

static json_t *kind_schema(struct schema *schema, const struct kind *kind)
{
    json_t *properties = attributes_of(schema, kind);
    set(schema, properties, "use", entries_of(schema, kind->name));
    set(schema, properties, "is", constant(schema, kind->name));
    json_t *item = closed(schema, properties);
    set(schema, item, "description", string(schema, kind->about));
    return item;
}

static json_t *key_with(struct schema *schema, const char *key, json_t *value)
{
    json_t *item = object(schema, NULL), *properties = jot_object(&schema->jotter);
    const char *const keys[] = {key, NULL};
    set(schema, properties, key, value);
    set(schema, item, "properties", properties);
    require(schema, item, keys);
    return item;
}

/* `if` it is of this kind, by either key, `then` it has this kind's attributes. */
static json_t *choice(struct schema *schema, const struct kind *kind)
{
    json_t *item = object(schema, NULL);
    set(schema, item, "if",
        either(schema, key_with(schema, "is", constant(schema, kind->name)),
               key_with(schema, "use", entries_of(schema, kind->name))));
    char name[300];
    snprintf(name, sizeof name, "kind-%s", kind->name);
    set(schema, item, "then", reference(schema, name));
    return item;
}

static bool is_place(const struct kind *kind)
{
    return strcmp(kind->name, "site") == 0 || strcmp(kind->name, "rig") == 0;
}

static json_t *kind_names(struct schema *schema)
{
    json_t *item = object(schema, NULL), *array = jot_array(&schema->jotter);
    for (size_t i = 0; i < schema->store->kind_count; i++)
        if (!is_place(&schema->store->kinds[i]))
            append(schema, array, string(schema, schema->store->kinds[i].name));
    set(schema, item, "enum", array);
    set(schema, item, "description",
        string(schema, "The kind of part, when its figures stand here."));
    return item;
}

static json_t *part_schema(struct schema *schema)
{
    json_t *item = object(schema, "object"), *choices = jot_array(&schema->jotter);
    json_t *properties = jot_object(&schema->jotter);
    for (size_t i = 0; i < schema->store->kind_count; i++)
        if (!is_place(&schema->store->kinds[i]))
            append(schema, choices, choice(schema, &schema->store->kinds[i]));
    set(schema, properties, "use", entries_of(schema, NULL));
    set(schema, properties, "is", kind_names(schema));
    set(schema, item, "properties", properties);
    static const char *const use[] = {"use", NULL}, *const is[] = {"is", NULL};
    json_t *by_use = object(schema, NULL), *by_is = object(schema, NULL);
    require(schema, by_use, use);
    require(schema, by_is, is);
    json_t *either_key = jot_array(&schema->jotter);
    append(schema, either_key, by_use);
    append(schema, either_key, by_is);
    set(schema, item, "anyOf", either_key);
    set(schema, item, "allOf", choices);
    return item;
}

/* ---- runs ---- */

static json_t *through_schema(struct schema *schema)
{
    static const char *const keys[] = {"part", NULL};
    const struct attribute distance = {.type = VALUE_QUANTITY,
                                       .dimension = {.exponent = {[BASE_M] = 1}}};
    json_t *properties = jot_object(&schema->jotter);
    set(schema, properties, "part", with_pattern(schema, "^" ID "$"));
    set(schema, properties, "distance", shared(schema, &distance));
    json_t *placed = closed(schema, properties);
    require(schema, placed, keys);
    return either(schema, with_pattern(schema, "^" ID "$"), placed);
}

static json_t *plugs_schema(struct schema *schema)
{
    json_t *item = list_of(schema, with_pattern(schema, "^" ID "$"));
    set(schema, item, "minItems", jot_number(&schema->jotter, 2));
    set(schema, item, "maxItems", jot_number(&schema->jotter, 2));
    return item;
}

static json_t *run_schema(struct schema *schema, const struct kind *kind)
{
    static const char *const keys[] = {"from", "to", NULL};
    json_t *properties = attributes_of(schema, kind);
    for (size_t i = 0; keys[i]; i++)
        set(schema, properties, keys[i], with_pattern(schema, "^" ID "$"));
    set(schema, properties, "id", with_pattern(schema, "^" ID "$"));
    set(schema, properties, "use", entries_of(schema, kind->name));
    set(schema, properties, "is", constant(schema, kind->name));
    set(schema, properties, "through",
        either(schema, through_schema(schema),
               either(schema, list_of(schema, through_schema(schema)), object(schema, "null"))));
    if (strcmp(kind->name, "cable") == 0)
        set(schema, properties, "ends", plugs_schema(schema));
    json_t *item = closed(schema, properties);
    require(schema, item, keys);
    set(schema, item, "description", string(schema, kind->about));
    return list_of(schema, item);
}

/* ---- the file ---- */

static json_t *accept_schema(struct schema *schema)
{
    static const char *const keys[] = {"rule", "on", "because", NULL};
    json_t *properties = jot_object(&schema->jotter);
    for (size_t i = 0; keys[i]; i++)
        set(schema, properties, keys[i], object(schema, "string"));
    set(schema, properties, "until", with_pattern(schema, "^[0-9]{4}-[0-9]{2}-[0-9]{2}$"));
    json_t *item = closed(schema, properties);
    require(schema, item, keys);
    return list_of(schema, item);
}

static json_t *parts_schema(struct schema *schema)
{
    json_t *item = object(schema, "object");
    set(schema, item, "minProperties", jot_number(&schema->jotter, 1));
    set(schema, item, "propertyNames", with_pattern(schema, "^(?!(?:site|rig)$)" ID "$"));
    set(schema, item, "additionalProperties", reference(schema, "part"));
    return item;
}

static json_t *site_schema(struct schema *schema, const struct kind *kind)
{
    json_t *item = closed(schema, attributes_of(schema, kind));
    set(schema, item, "description", string(schema, kind->about));
    return item;
}

static json_t *practices(struct schema *schema)
{
    const char *const both[] = {practice_name(PRACTICE_IEC), practice_name(PRACTICE_NORTH_AMERICA)};
    json_t *item = words(schema, both, 2);
    set(schema, item, "description",
        string(schema, "Whose wiring tables and local reminders count; iec when not given."));
    return item;
}

static json_t *version(struct schema *schema)
{
    json_t *item = object(schema, NULL);
    set(schema, item, "const", jot_number(&schema->jotter, 1));
    set(schema, item, "description", string(schema, "Version of the format."));
    return item;
}

/* A key that may be left blank. */
static json_t *or_blank(struct schema *schema, json_t *item)
{
    return either(schema, item, object(schema, "null"));
}

static json_t *file_properties(struct schema *schema)
{
    json_t *properties = jot_object(&schema->jotter);
    const struct kind *site = store_kind(schema->store, "site");
    const struct kind *cable = store_kind(schema->store, "cable");
    const struct kind *pipe = store_kind(schema->store, "pipe");
    set(schema, properties, "rigtally", version(schema));
    set(schema, properties, "name",
        either(schema, object(schema, "string"), object(schema, "number")));
    set(schema, properties, "practice", practices(schema));
    if (site)
        set(schema, properties, "site", or_blank(schema, site_schema(schema, site)));
    set(schema, properties, "parts", parts_schema(schema));
    if (cable)
        set(schema, properties, "cables", or_blank(schema, run_schema(schema, cable)));
    if (pipe)
        set(schema, properties, "pipes", or_blank(schema, run_schema(schema, pipe)));
    set(schema, properties, "needs", or_blank(schema, list_of(schema, object(schema, "string"))));
    set(schema, properties, "accept", or_blank(schema, accept_schema(schema)));
    return properties;
}

static void define_parts(struct schema *schema)
{
    for (size_t i = 0; i < schema->store->kind_count; i++) {
        const struct kind *kind = &schema->store->kinds[i];
        char name[300];
        if (is_place(kind))
            continue;
        snprintf(name, sizeof name, "kind-%s", kind->name);
        set(schema, schema->definitions, name, kind_schema(schema, kind));
    }
    set(schema, schema->definitions, "part", part_schema(schema));
}

void report_schema(struct text *out, const struct store *store)
{
    static const char *const keys[] = {"rigtally", "parts", NULL};
    struct schema schema = {.store = store};
    schema.definitions = jot_object(&schema.jotter);
    json_t *root = NULL;
    if (schema.definitions) {
        define_parts(&schema);
        root = closed(&schema, file_properties(&schema));
        set(&schema, root, "$schema", string(&schema, "http://json-schema.org/draft-07/schema#"));
        set(&schema, root, "title", string(&schema, "A rig file of rigtally"));
        require(&schema, root, keys);
        set(&schema, root, "definitions", schema.definitions);
    }
    text_drop(&schema.text);
    jot_write(&schema.jotter, root, 0, out);
    text_add(out, "\n");
}
