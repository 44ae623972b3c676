/* read.c - a rig file's tree as a rig: parts, runs, needs, accepts. Everything
 * that is wrong is told with its place, and reading goes on. */
#include <math.h>
#include <string.h>

#include "document/document.h"
#include "rig/read.h"
#include "store/value_read.h"

static const struct document_limits *const limits = &document_limits_default;

/* A run as it stands in the file, until all parts are known. */
struct run_node {
    const struct node *node;
    const char *kind;
};

static void complain(struct reading *reading, const char *topic, struct place at, const char *words,
                     const char *name)
{
    diagnostics_add(reading->diagnostics, LEVEL_ERROR, topic, at, words, name);
}

/* "…; did you mean X?" when something near was offered. */
static void complain_unknown(struct reading *reading, struct place at, const char *what,
                             const char *name, const char *near)
{
    if (near)
        diagnostics_add(reading->diagnostics, LEVEL_ERROR, TOPIC_WORDS, at,
                        "%s '%s'; did you mean %s?", what, name, near);
    else
        diagnostics_add(reading->diagnostics, LEVEL_ERROR, TOPIC_WORDS, at, "%s '%s'.", what, name);
}

static bool is_id(const char *text)
{
    if (!strchr("abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ", text[0]) || !text[0])
        return false;
    return text[strspn(text, "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789_-")] ==
           '\0';
}

/* The text of a scalar that must be there; else NULL and a complaint. */
static const char *scalar_text(struct reading *reading, const struct node *node, const char *what)
{
    if (node->damaged)
        return NULL; /* told already */
    if (node->type == NODE_SCALAR && !node->empty)
        return node->text;
    complain(reading, TOPIC_READS, node->at, "%s should be a single word or text here.", what);
    return NULL;
}

static bool mapping_or_complain(struct reading *reading, const struct node *node, const char *what)
{
    if (node->type == NODE_MAPPING)
        return true;
    if (!node->damaged)
        complain(reading, TOPIC_READS, node->at, "%s should be a list of `name: value` lines.",
                 what);
    return false;
}

/* ---- parts ---- */

/* A file full of unknown names gets its first few explained, not a search each. */
static bool may_search(struct reading *reading)
{
    return reading->searches_left && reading->searches_left--;
}

/* The kind of this name; NULL when there is none, and *near_kind that which is near, or NULL. */
static const struct kind *find_kind(struct reading *reading, const char *name, struct place at,
                                    const struct kind **near_kind)
{
    const struct store *store = reading->rig->store;
    const struct kind *kind = store_kind(store, name);
    if (kind)
        return kind;
    struct near_search near;
    near_begin(&near, name);
    for (size_t i = 0; i < store->kind_count; i++)
        near_offer(&near, store->kinds[i].name);
    complain_unknown(reading, at, "there is no kind of part called", name, near_best(&near));
    *near_kind = near_best(&near) ? store_kind(store, near_best(&near)) : NULL;
    return NULL;
}

/* The entry of this name; NULL when there is none, and *near_kind the kind of one that is near. */
static const struct entry *find_entry(struct reading *reading, const char *name, struct place at,
                                      const struct kind **near_kind)
{
    const struct store *store = reading->rig->store;
    const struct entry *entry = store_entry(store, name);
    if (entry)
        return entry;
    struct near_search near;
    near_begin(&near, name);
    for (size_t i = may_search(reading) ? 0 : SIZE_MAX; i < store->entry_count; i++)
        near_offer(&near, store->entries[i].name);
    complain_unknown(reading, at, "the catalogue has no", name, near_best(&near));
    const struct entry *best = near_best(&near) ? store_entry(store, near_best(&near)) : NULL;
    *near_kind = best ? store_kind(store, best->kind) : NULL;
    return NULL;
}

/* What `use:` and `is:` say of a part; *near when what they say is only near to a kind. False:
 * neither gives a kind. */
static bool read_kind_of(struct reading *reading, struct part *part, const struct node *mapping,
                         const char *kind_of_run, bool *near)
{
    const struct node_pair *use = node_find(mapping, "use"), *is = node_find(mapping, "is");
    const struct kind *near_kind = NULL;
    if (use) {
        const char *name = scalar_text(reading, use->value, "use");
        part->entry = name ? find_entry(reading, name, use->value->at, &near_kind) : NULL;
        part->unread = !part->entry;
        if (part->entry)
            part->kind = store_kind(reading->rig->store, part->entry->kind);
    }
    if (is) {
        const char *name = scalar_text(reading, is->value, "is");
        const struct kind *kind = name ? find_kind(reading, name, is->value->at, &near_kind) : NULL;
        if (kind && part->kind && kind != part->kind)
            diagnostics_add(
                reading->diagnostics, LEVEL_ERROR, TOPIC_WORDS, is->value->at,
                "%s is a %s, but its catalogue entry %s is a %s; leave one of them out.", part->id,
                kind->name, part->entry->name, part->kind->name);
        else if (kind)
            part->kind = kind;
    }
    if (kind_of_run && part->kind && strcmp(part->kind->name, kind_of_run) != 0) {
        diagnostics_add(reading->diagnostics, LEVEL_ERROR, TOPIC_WORDS, mapping->at,
                        "%s stands among the %ss, but it is a %s.", part->id, kind_of_run,
                        part->kind->name);
        part->kind = NULL;
        part->entry = NULL;
        part->unread = true;
    }
    if (kind_of_run && !part->kind)
        part->kind = store_kind(reading->rig->store, kind_of_run);
    *near = !part->kind && near_kind;
    part->unread = part->unread || *near;
    if (*near)
        part->kind = near_kind;
    if (!part->kind && !use && !is)
        diagnostics_add(reading->diagnostics, LEVEL_ERROR, TOPIC_WORDS, mapping->at,
                        "%s does not say what it is; write `use: ENTRY` for a catalogue part or "
                        "`is: KIND` to give its figures yourself.",
                        part->id);
    return part->kind != NULL;
}

static bool make_values(struct arena *arena, struct part *part)
{
    const struct kind *kind = part->kind;
    double *numbers = ARENA_TAKE_UNSET(arena, kind->number_count + 1, double);
    part->values = ARENA_TAKE_UNSET(arena, kind->attribute_count + 1, struct part_value);
    if (!numbers || !part->values)
        return false;
    for (size_t i = 0; i < kind->number_count; i++)
        numbers[i] = NAN;
    for (size_t i = 0; i < kind->attribute_count; i++)
        part->values[i] = (struct part_value){.origin = ORIGIN_UNKNOWN};
    for (size_t i = 0; i < kind->solved_count; i++) {
        part->values[kind->solved[i]].solved = numbers;
        numbers += solved_count(&kind->attributes[kind->solved[i]]);
    }
    return true;
}

static bool read_listed(struct reading *reading, struct part *part)
{
    for (size_t i = 0; part->entry && i < part->entry->value_count; i++) {
        const struct entry_value *from = &part->entry->values[i];
        int index = kind_attribute(part->kind, from->attribute);
        if (index < 0)
            continue; /* refused when the catalogue was read */
        struct part_value *value = &part->values[index];
        enum outcome outcome =
            value_read_text(reading->arena, from->text, part->at, &part->kind->attributes[index],
                            reading->diagnostics, &value->value);
        if (outcome == OUTCOME_NO_MEMORY)
            return false;
        value->at = part->at;
        if (outcome == OUTCOME_OK)
            value->origin = ORIGIN_LISTED;
    }
    return true;
}

/* Something is written for it, which can't be read: what the catalogue lists counts no more. */
static void lose(struct reading *reading, struct part_value *value, struct place at)
{
    value->at = at;
    value->value = (struct value){.type = VALUE_NONE};
    value->origin = ORIGIN_UNKNOWN;
    value->unread = true;
    reading->rig->unread = true;
}

/* Of a part that can't be read: all that is not given. */
static void lose_rest(struct reading *reading, struct part *part)
{
    for (size_t i = 0; part->unread && i < part->kind->attribute_count; i++)
        if (part->values[i].origin == ORIGIN_UNKNOWN &&
            part->kind->attributes[i].solved == SOLVED_NO)
            lose(reading, &part->values[i], part->at);
}

static bool is_rest_of_number(const char *key)
{
    return key[0] >= '0' && key[0] <= '9';
}

/* What is near counts as written. */
static void complain_attribute(struct reading *reading, struct part *part,
                               const struct node_pair *pair, const char *const *skip)
{
    if (is_rest_of_number(pair->key)) {
        diagnostics_add(reading->diagnostics, LEVEL_ERROR, TOPIC_UNITS, pair->key_at,
                        "'%s' looks like the rest of a number with a decimal comma; write a point.",
                        pair->key);
        return;
    }
    struct near_search near;
    near_begin(&near, pair->key);
    for (size_t i = 0; i < part->kind->attribute_count; i++)
        if (part->kind->attributes[i].solved == SOLVED_NO)
            near_offer(&near, part->kind->attributes[i].name);
    for (size_t i = 0; skip[i]; i++)
        near_offer(&near, skip[i]);
    const char *best = near_best(&near);
    diagnostics_add(reading->diagnostics, LEVEL_ERROR, TOPIC_WORDS, pair->key_at,
                    "a %s has no '%s'%s%s%s", part->kind->name, pair->key,
                    best ? "; did you mean " : ".", best ? best : "", best ? "?" : "");
    int index = best ? kind_attribute(part->kind, best) : -1;
    if (index >= 0 && part->values[index].origin != ORIGIN_GIVEN)
        lose(reading, &part->values[index], pair->key_at);
}

static bool is_skipped(const char *key, const char *const *skip)
{
    for (size_t i = 0; skip[i]; i++)
        if (name_same(key, skip[i]))
            return true;
    return false;
}

static bool read_attribute(struct reading *reading, struct part *part, const struct node_pair *pair,
                           int index)
{
    const struct attribute *attribute = &part->kind->attributes[index];
    if (attribute->solved != SOLVED_NO) {
        diagnostics_add(reading->diagnostics, LEVEL_ERROR, TOPIC_WORDS, pair->key_at,
                        "%s of a %s is worked out, it can't be given; leave it out.",
                        attribute->name, part->kind->name);
        return true;
    }
    if (pair->value->type == NODE_SCALAR && pair->value->empty)
        return true; /* left blank: unknown */
    struct value read;
    enum outcome outcome =
        value_read(reading->arena, pair->value, attribute, reading->diagnostics, &read);
    if (outcome == OUTCOME_NO_MEMORY)
        return false;
    struct part_value *value = &part->values[index];
    value->at = pair->value->at;
    value->value = read;
    value->origin = ORIGIN_GIVEN;
    value->unread = false;
    if (outcome != OUTCOME_OK)
        lose(reading, value, pair->value->at);
    return true;
}

/* voc_temp in V/K becomes %/K: it is divided by voc. */
static void convert_second_unit(struct reading *reading, struct part *part, size_t index)
{
    const struct attribute *attribute = &part->kind->attributes[index];
    struct part_value *value = &part->values[index];
    if (!attribute->also_unit || value->value.type != VALUE_QUANTITY ||
        dimension_same(value->value.as.quantity.dimension, attribute->dimension))
        return;
    const struct part_value *by = part_value(part, attribute->also_divided_by);
    struct quantity divided;
    if (by && by->value.type == VALUE_QUANTITY &&
        quantity_divide(value->value.as.quantity, by->value.as.quantity, &divided)) {
        value->value.as.quantity = divided;
        value->value.unit = NULL;
        return;
    }
    diagnostics_add(reading->diagnostics, LEVEL_QUESTION, TOPIC_UNITS, value->at,
                    "%s of %s is given per kelvin in %s; give %s too, or write it in %s.",
                    attribute->name, part->id, attribute->also_unit, attribute->also_divided_by,
                    attribute->unit);
    lose(reading, value, value->at);
}

/* `port` stands for both ends where they are not given. */
static void spread_port(struct part *part)
{
    const struct part_value *port = part_value(part, "port");
    static const char *const ends[] = {"inlet_port", "outlet_port"};
    for (size_t i = 0; port && (port->origin != ORIGIN_UNKNOWN || port->unread) && i < 2; i++) {
        int index = kind_attribute(part->kind, ends[i]);
        if (index >= 0 && part->values[index].origin == ORIGIN_UNKNOWN)
            part->values[index] = *port;
    }
}

/* "level: 0,5 m" is read as a level of 0 and a key "5 m", which is told: the 0 is no mistake of its
 * own. */
static bool is_cut_by_comma(const struct node *mapping, size_t index)
{
    return index + 1 < mapping->count && is_rest_of_number(mapping->pairs[index + 1].key);
}

bool read_attributes(struct reading *reading, struct part *part, const struct node *mapping,
                     const char *const *skip)
{
    for (size_t i = 0; i < mapping->count; i++) {
        const struct node_pair *pair = &mapping->pairs[i];
        if (is_skipped(pair->key, skip))
            continue;
        int index = kind_attribute(part->kind, pair->key);
        if (index >= 0 && is_cut_by_comma(mapping, i))
            lose(reading, &part->values[index], pair->value->at);
        else if (index < 0)
            complain_attribute(reading, part, pair, skip);
        else if (!read_attribute(reading, part, pair, index))
            return false;
    }
    for (size_t i = 0; i < part->kind->attribute_count; i++)
        convert_second_unit(reading, part, i);
    spread_port(part);
    lose_rest(reading, part);
    return true;
}

/* A new part of the rig, with nothing but its id and place; NULL when memory runs out. */
static struct part *new_part(struct reading *reading, const char *id, struct place at)
{
    struct rig *rig = reading->rig;
    if (!names_add(rig->names, reading->arena, id, rig->part_count, NULL))
        return NULL;
    struct {
        struct part *at;
        size_t count, room;
    } list = {rig->parts, rig->part_count, reading->room};
    if (!ARENA_GROW(reading->arena, &list))
        return NULL;
    rig->parts = list.at;
    reading->room = list.room;
    struct part *part = &rig->parts[rig->part_count++];
    *part = (struct part){
        .id = id, .at = at, .from = NO_PART, .to = NO_PART, .plugs = {NO_PART, NO_PART}};
    return part;
}

/* True, and told once, when the rig can take no more parts. */
static bool is_full(struct reading *reading, struct place at)
{
    if (reading->rig->part_count < RIG_PARTS_MAX)
        return false;
    if (!reading->too_many)
        diagnostics_add(
            reading->diagnostics, LEVEL_ERROR, TOPIC_READS, at,
            "this rig has more than %d parts and runs, which is the most that are read.",
            RIG_PARTS_MAX);
    reading->too_many = true;
    return true;
}

static bool read_part(struct reading *reading, const struct node_pair *pair)
{
    static const char *const skip[] = {"use", "is", NULL};
    if (is_full(reading, pair->key_at))
        return true;
    if (!is_id(pair->key)) {
        complain(
            reading, TOPIC_WORDS, pair->key_at,
            "'%s' can't be a part's id; use letters, digits, - and _, beginning with a letter.",
            pair->key);
        return true;
    }
    if (strcmp(pair->key, "site") == 0 || strcmp(pair->key, "rig") == 0) {
        complain(reading, TOPIC_WORDS, pair->key_at,
                 "'%s' already stands for the place or the rig as a whole; choose another id.",
                 pair->key);
        return true;
    }
    struct part found = {.id = pair->key};
    bool near = false;
    if (!mapping_or_complain(reading, pair->value, pair->key) ||
        !read_kind_of(reading, &found, pair->value, NULL, &near)) {
        reading->rig->damaged = true;
        return true;
    }
    struct part *part = new_part(reading, pair->key, pair->key_at);
    if (!part)
        return false;
    part->kind = found.kind;
    part->entry = found.entry;
    part->unread = found.unread;
    if (!make_values(reading->arena, part))
        return false;
    if (near) { /* of another kind, perhaps: its lines are not held against it */
        const struct node_pair *spare = node_find(pair->value, "spare");
        int index = kind_attribute(part->kind, "spare");
        bool well = !spare || index < 0 || read_attribute(reading, part, spare, index);
        lose_rest(reading, part);
        return well;
    }
    return read_listed(reading, part) && read_attributes(reading, part, pair->value, skip);
}

static bool read_parts(struct reading *reading, const struct node *parts)
{
    if (!mapping_or_complain(reading, parts, "parts"))
        return true;
    for (size_t i = 0; i < parts->count; i++)
        if (!read_part(reading, &parts->pairs[i]))
            return false;
    reading->left_out = reading->rig->part_count < parts->count;
    return true;
}

/* ---- runs ---- */

/* Is this the id of one of `parts:` that could not be read? Then its mistake was told already. */
static bool was_left_out(const struct reading *reading, const struct node *parts, const char *id)
{
    return reading->left_out && node_find(parts, id);
}

static size_t find_end(struct reading *reading, const struct node *parts, const char *id,
                       struct place at)
{
    size_t found = rig_find_part(reading->rig, id);
    if (found != NO_PART || was_left_out(reading, parts, id))
        return found;
    struct near_search near;
    near_begin(&near, id);
    for (size_t i = may_search(reading) ? 0 : SIZE_MAX; i < reading->rig->part_count; i++)
        near_offer(&near, reading->rig->parts[i].id);
    complain_unknown(reading, at, "there is no part", id, near_best(&near));
    reading->rig->damaged = true;
    return near_best(&near) ? rig_find_part(reading->rig, near_best(&near)) : NO_PART;
}

static size_t read_end(struct reading *reading, const struct node *parts, const struct node *run,
                       const char *key)
{
    const struct node_pair *pair = node_find(run, key);
    if (!pair) {
        complain(reading, TOPIC_JOINS, run->at, "this run has no `%s:`; every run joins two parts.",
                 key);
        return NO_PART;
    }
    const char *id = scalar_text(reading, pair->value, key);
    return id ? find_end(reading, parts, id, pair->value->at) : NO_PART;
}

static bool read_through_item(struct reading *reading, const struct node *parts,
                              const struct node *item, struct through *out)
{
    out->at = item->at;
    out->distance_m = NAN;
    out->part = NO_PART;
    if (item->type == NODE_SCALAR && !item->empty) {
        out->part = find_end(reading, parts, item->text, item->at);
        return true;
    }
    const struct node_pair *part = item->type == NODE_MAPPING ? node_find(item, "part") : NULL;
    if (!part || part->value->type != NODE_SCALAR) {
        complain(reading, TOPIC_READS, item->at,
                 "%s: write a part's id, or { part: ID, distance: 0.15 m }.", "through");
        return true;
    }
    out->part = find_end(reading, parts, part->value->text, part->value->at);
    const struct node_pair *distance = node_find(item, "distance");
    if (!distance)
        return true;
    struct dimension metre = {.exponent = {[BASE_M] = 1}};
    const struct attribute length = {.name = "distance",
                                     .type = VALUE_QUANTITY,
                                     .dimension = metre,
                                     .unit = "m",
                                     .minimum = "0 m",
                                     .maximum = "100 km",
                                     .least = 0.0,
                                     .most = 1e5};
    struct value value;
    enum outcome outcome =
        value_read(reading->arena, distance->value, &length, reading->diagnostics, &value);
    out->unread = outcome != OUTCOME_OK;
    reading->rig->unread = reading->rig->unread || out->unread;
    if (outcome == OUTCOME_OK)
        out->distance_m = value.as.quantity.value;
    return outcome != OUTCOME_NO_MEMORY;
}

static bool read_through(struct reading *reading, const struct node *parts, const struct node *run,
                         struct part *part)
{
    const struct node_pair *pair = node_find(run, "through");
    if (!pair || (pair->value->type == NODE_SCALAR && pair->value->empty))
        return true;
    struct node *single = pair->value;
    size_t count = pair->value->type == NODE_SEQUENCE ? pair->value->count : 1;
    struct node *const *items = pair->value->type == NODE_SEQUENCE ? pair->value->items : &single;
    struct through *through = ARENA_TAKE(reading->arena, count + 1, struct through);
    if (!through)
        return false;
    for (size_t i = 0; i < count; i++) {
        if (!read_through_item(reading, parts, items[i], &through[part->through_count]))
            return false;
        if (through[part->through_count].part != NO_PART)
            part->through_count++;
    }
    part->through = through;
    return true;
}

/* `ends: [plug_a, plug_b]` of a cable. */
static void read_plugs(struct reading *reading, const struct node *parts, const struct node *run,
                       struct part *part)
{
    const struct node_pair *pair = node_find(run, "ends");
    if (!pair)
        return;
    if (pair->value->type != NODE_SEQUENCE || pair->value->count != 2) {
        complain(reading, TOPIC_READS, pair->value->at,
                 "%s of a cable are its two plugs: [plug_a, plug_b].", "ends");
        return;
    }
    for (size_t i = 0; i < 2; i++)
        if (pair->value->items[i]->type == NODE_SCALAR && !pair->value->items[i]->empty)
            part->plugs[i] =
                find_end(reading, parts, pair->value->items[i]->text, pair->value->items[i]->at);
}

static const char *end_name(const struct node *run, const char *key)
{
    const struct node_pair *pair = node_find(run, key);
    return pair && pair->value->type == NODE_SCALAR && !pair->value->empty ? pair->value->text
                                                                           : "?";
}

static bool id_is_taken(const struct reading *reading, const struct node *parts, const char *id)
{
    return rig_find_part(reading->rig, id) != NO_PART || was_left_out(reading, parts, id);
}

/* How many runs from there to there have been named, and one more; NULL when memory runs out. */
static unsigned *run_counter(struct reading *reading, const char *base)
{
    size_t index;
    if (!names_add(reading->pairs, reading->arena, base, reading->counters.count, &index))
        return NULL;
    if (index < reading->counters.count)
        return &reading->counters.at[index];
    if (!ARENA_GROW(reading->arena, &reading->counters))
        return NULL;
    reading->counters.at[reading->counters.count++] = 1;
    return &reading->counters.at[index];
}

/* A run's id: given, or FROM-TO, then FROM-TO-2 ...; the counter goes over cables and pipes
 * together. */
static const char *name_run(struct reading *reading, const struct node *parts,
                            const struct node *run)
{
    const struct node_pair *given = node_find(run, "id");
    const char *id = given ? scalar_text(reading, given->value, "id") : NULL;
    if (id && is_id(id) && !id_is_taken(reading, parts, id))
        return id;
    if (id && !is_id(id))
        complain(reading, TOPIC_WORDS, given->value->at,
                 "'%s' can't be a run's id; use letters, digits, - and _, beginning with a letter.",
                 id);
    else if (id)
        complain(reading, TOPIC_ONCE, given->value->at, "there is already a part '%s'.", id);
    const char *from = end_name(run, "from"), *to = end_name(run, "to");
    char *base = arena_join(reading->arena, from, "-", to);
    unsigned *counter = base ? run_counter(reading, base) : NULL;
    if (!counter)
        return NULL;
    id = base;
    if (*counter > 1)
        id = arena_print(reading->arena, "%s-%u", base, *counter);
    while (id && id_is_taken(reading, parts, id))
        id = arena_print(reading->arena, "%s-%u", base, ++*counter);
    ++*counter;
    return id;
}

static bool read_run(struct reading *reading, const struct node *parts, const struct run_node *run)
{
    static const char *const cable_skip[] = {"use", "is",      "id",   "from",
                                             "to",  "through", "ends", NULL};
    static const char *const pipe_skip[] = {"use", "is", "id", "from", "to", "through", NULL};
    bool cable = strcmp(run->kind, "cable") == 0;
    const char *id = name_run(reading, parts, run->node);
    struct part *part = id ? new_part(reading, id, run->node->at) : NULL;
    if (!part)
        return false;
    bool near;
    if (!read_kind_of(reading, part, run->node, run->kind, &near)) {
        complain(reading, TOPIC_WORDS, run->node->at, "the kinds lack '%s'.", run->kind);
        return false;
    }
    part->from = read_end(reading, parts, run->node, "from");
    part->to = read_end(reading, parts, run->node, "to");
    if (part->from != NO_PART && part->from == part->to)
        complain(reading, TOPIC_JOINS, run->node->at,
                 "%s begins and ends at the same part; a run joins two.", id);
    if (cable)
        read_plugs(reading, parts, run->node, part);
    return read_through(reading, parts, run->node, part) && make_values(reading->arena, part) &&
           read_listed(reading, part) &&
           read_attributes(reading, part, run->node, cable ? cable_skip : pipe_skip);
}

static bool read_runs(struct reading *reading, const struct node *parts, const struct node *list,
                      const char *kind, const char *key)
{
    if (list->type != NODE_SEQUENCE) {
        complain(reading, TOPIC_READS, list->at,
                 "%s should be a list: one `- { from: …, to: … }` each.", key);
        return true;
    }
    for (size_t i = 0; i < list->count; i++) {
        if (is_full(reading, list->items[i]->at))
            break;
        if (!mapping_or_complain(reading, list->items[i], kind))
            continue;
        struct run_node run = {list->items[i], kind};
        if (!read_run(reading, parts, &run))
            return false;
    }
    return true;
}

/* ---- the file ---- */

static bool add_special(struct reading *reading, const char *kind_name, const struct node *mapping,
                        size_t *index)
{
    static const char *const skip[] = {NULL};
    const struct kind *kind = store_kind(reading->rig->store, kind_name);
    if (!kind) {
        complain(reading, TOPIC_WORDS, (struct place){0}, "the kinds lack '%s'.", kind_name);
        return false;
    }
    struct place at = mapping ? mapping->at : (struct place){reading->rig->file, 1, 1};
    struct part *part = new_part(reading, kind_name, at);
    if (!part)
        return false;
    part->kind = kind;
    *index = reading->rig->part_count - 1;
    if (!make_values(reading->arena, part))
        return false;
    if (!mapping || !mapping_or_complain(reading, mapping, kind_name))
        return true;
    return read_attributes(reading, part, mapping, skip);
}

/* The site's values that stand for the whole repository, where the rig gives none of its own. */
static bool read_common_site(struct reading *reading, const struct node *own)
{
    const struct node *common = reading->settings ? reading->settings->site : NULL;
    size_t count = own && own->type == NODE_MAPPING ? own->count : 0;
    if (!common)
        return true;
    const char **given = ARENA_TAKE(reading->arena, count + 1, const char *);
    if (!given)
        return false;
    for (size_t i = 0; i < count; i++)
        given[i] = own->pairs[i].key;
    return read_attributes(reading, &reading->rig->parts[reading->rig->site], common, given);
}

static void read_practice(struct reading *reading, const struct node *root)
{
    struct rig *rig = reading->rig;
    const struct node_pair *pair = node_find(root, "practice");
    if (!pair && reading->settings)
        pair = reading->settings->practice;
    rig->practice = PRACTICE_IEC;
    struct part_value *value = &rig->parts[rig->whole].values[0];
    int index = kind_attribute(rig->parts[rig->whole].kind, "practice");
    if (pair) {
        const char *word = scalar_text(reading, pair->value, "practice");
        if (word && !practice_find(word, &rig->practice))
            complain(reading, TOPIC_WORDS, pair->value->at,
                     "'%s' is no practice; write iec or north-america.", word);
    }
    if (index < 0)
        return;
    value += index;
    value->value = (struct value){.type = VALUE_WORD};
    value->value.as.word = practice_name(rig->practice);
    value->origin = pair ? ORIGIN_GIVEN : ORIGIN_ASSUMED;
    value->because = pair ? NULL : "IEC tables are the wider used ones";
}

static void read_version(struct reading *reading, const struct node *root)
{
    const struct node_pair *pair = node_find(root, "rigtally");
    if (!pair)
        complain(reading, TOPIC_READS, root->at,
                 "%s is missing; a rig file begins with `rigtally: 1`, the version of its format.",
                 "rigtally");
    else if (pair->value->type != NODE_SCALAR || strcmp(pair->value->text, "1") != 0)
        complain(reading, TOPIC_READS, pair->value->at,
                 "this tool reads format version 1: write `%s: 1`.", "rigtally");
}

static void check_keys(struct reading *reading, const struct node *root)
{
    static const char *const keys[] = {"rigtally", "name",  "practice", "site",   "parts",
                                       "cables",   "pipes", "needs",    "accept", NULL};
    for (size_t i = 0; i < root->count; i++) {
        if (is_skipped(root->pairs[i].key, keys))
            continue;
        struct near_search near;
        near_begin(&near, root->pairs[i].key);
        for (size_t k = 0; keys[k]; k++)
            near_offer(&near, keys[k]);
        complain_unknown(reading, root->pairs[i].key_at, "a rig file has no", root->pairs[i].key,
                         near_best(&near));
    }
}

static const struct node *value_of(const struct node *root, const char *key)
{
    const struct node_pair *pair = node_find(root, key);
    return pair && !(pair->value->type == NODE_SCALAR && pair->value->empty) ? pair->value : NULL;
}

/* A `parts:` of the wrong shape gets a message of its own. */
static bool has_parts(const struct node *parts)
{
    return parts && (parts->type != NODE_MAPPING || parts->count > 0);
}

/* Lists the parts by their kinds. */
static bool sort_by_kind(struct reading *reading)
{
    struct rig *rig = reading->rig;
    size_t kinds = rig->store->kind_count;
    size_t *first = ARENA_TAKE(reading->arena, kinds + 2, size_t);
    size_t *list = ARENA_TAKE(reading->arena, rig->part_count + 1, size_t);
    if (!first || !list)
        return false;
    for (size_t i = 0; i < rig->part_count; i++)
        first[rig->parts[i].kind - rig->store->kinds + 2]++;
    for (size_t k = 2; k < kinds + 2; k++)
        first[k] += first[k - 1];
    for (size_t i = 0; i < rig->part_count; i++)
        list[first[rig->parts[i].kind - rig->store->kinds + 1]++] = i;
    rig->by_kind = list;
    rig->of_kind = first;
    return true;
}

static bool read_root(struct reading *reading, const struct node *root)
{
    struct rig *rig = reading->rig;
    check_keys(reading, root);
    read_version(reading, root);
    const struct node *name = value_of(root, "name"), *parts = value_of(root, "parts");
    const struct node *cables = value_of(root, "cables"), *pipes = value_of(root, "pipes");
    rig->name = name ? scalar_text(reading, name, "name") : NULL;
    if (!rig->name)
        rig->name = "";
    if (!has_parts(parts))
        complain(reading, TOPIC_READS, parts ? parts->at : root->at,
                 "this file lists no %s: there is nothing to judge.", "parts");
    if ((parts && !read_parts(reading, parts)) ||
        (cables && !read_runs(reading, parts, cables, "cable", "cables")) ||
        (pipes && !read_runs(reading, parts, pipes, "pipe", "pipes")) ||
        !add_special(reading, "site", value_of(root, "site"), &rig->site) ||
        !read_common_site(reading, value_of(root, "site")) ||
        !add_special(reading, "rig", NULL, &rig->whole))
        return false;
    read_practice(reading, root);
    if (!sort_by_kind(reading))
        return false;
    defaults_apply(reading->defaults, rig);
    bool tangled = false;
    rig->links = links_new(reading->arena, rig, &tangled);
    if (tangled)
        diagnostics_add(
            reading->diagnostics, LEVEL_ERROR, TOPIC_READS, root->at,
            "more than %d pairs of parts are related in this rig, which is the most that "
            "are judged; split it.",
            RIG_RELATIONS_MAX);
    const struct node *needs = value_of(root, "needs"), *accepts = value_of(root, "accept");
    if (!rig->links || (needs && !read_needs(reading, needs)) ||
        (accepts && !read_accepts(reading, accepts)))
        return false;
    part_solve_once(&rig->parts[rig->whole], "needs", (double)rig->need_count);
    return true;
}

enum outcome rig_read_tree(struct arena *arena, const struct store *store,
                           const struct defaults *defaults, const struct rig_settings *settings,
                           const char *file, const struct node *root,
                           struct diagnostics *diagnostics, struct rig **out)
{
    struct rig *rig = ARENA_TAKE(arena, 1, struct rig);
    *out = NULL;
    if (!rig)
        return OUTCOME_NO_MEMORY;
    *rig = (struct rig){.arena = arena,
                        .store = store,
                        .file = file,
                        .name = "",
                        .names = names_new(arena),
                        .damaged = root->damaged};
    struct reading reading = {.arena = arena,
                              .rig = rig,
                              .defaults = defaults,
                              .settings = settings,
                              .diagnostics = diagnostics,
                              .pairs = names_new(arena),
                              .searches_left = 50};
    if (!rig->names || !reading.pairs)
        return OUTCOME_NO_MEMORY;
    if (root->cut)
        return OUTCOME_REFUSED; /* half a rig has other faults than the whole of it */
    if (root->type != NODE_MAPPING) {
        diagnostics_add(
            diagnostics, LEVEL_ERROR, TOPIC_READS, root->at,
            "a rig file is a list of `name: value` lines, beginning with `rigtally: 1`.");
        return OUTCOME_REFUSED;
    }
    if (!read_root(&reading, root))
        return OUTCOME_NO_MEMORY;
    *out = rig;
    return has_parts(value_of(root, "parts")) ? OUTCOME_OK : OUTCOME_REFUSED;
}

enum outcome rig_read_bytes(struct arena *arena, const struct store *store,
                            const struct defaults *defaults, const char *name, const char *bytes,
                            size_t length, struct diagnostics *diagnostics, struct rig **out)
{
    struct node *root = NULL;
    *out = NULL;
    enum outcome outcome = document_read(arena, name, bytes, length, limits, diagnostics, &root);
    return root ? rig_read_tree(arena, store, defaults, NULL, name, root, diagnostics, out)
                : outcome;
}

enum outcome rig_read(struct arena *arena, const struct store *store,
                      const struct defaults *defaults, const char *path,
                      struct diagnostics *diagnostics, struct rig **out)
{
    return rig_read_with(arena, store, defaults, NULL, path, diagnostics, out);
}

enum outcome rig_read_with(struct arena *arena, const struct store *store,
                           const struct defaults *defaults, const struct rig_settings *settings,
                           const char *path, struct diagnostics *diagnostics, struct rig **out)
{
    struct node *root = NULL;
    *out = NULL;
    enum outcome outcome = document_read_file(arena, path, limits, diagnostics, &root);
    return root ? rig_read_tree(arena, store, defaults, settings, path, root, diagnostics, out)
                : outcome;
}
