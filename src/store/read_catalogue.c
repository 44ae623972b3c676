/* read_catalogue.c - catalogue entries: each value is tried by its attribute's
 * type, and kept as YAML flow text. */
#include "store/reader.h"
#include "store/shape.h"
#include "store/value_read.h"

static const struct kind *find_kind(const struct reader *reader, const char *name)
{
    size_t number;
    if (names_find(reader->kind_names, name, &number))
        return &reader->kinds.at[number];
    return store_kind(reader->old, name);
}

static void unknown_kind(struct reader *reader, const struct node *node)
{
    struct near_search search;
    near_begin(&search, node->text);
    for (size_t i = 0; i < reader->kinds.count; i++)
        near_offer(&search, reader->kinds.at[i].name);
    for (size_t i = 0; i < reader->old->kind_count; i++)
        near_offer(&search, reader->old->kinds[i].name);
    const char *near = near_best(&search);
    COMPLAIN(reader, TOPIC_WORDS, node->at,
             near ? "there is no kind '%s'; did you mean %s?" : "there is no kind '%s'.",
             shown(reader->diagnostics, node->text), near);
}

static void unknown_attribute(struct reader *reader, const struct kind *kind,
                              const struct node_pair *pair)
{
    struct near_search search;
    near_begin(&search, pair->key);
    for (size_t i = 0; i < kind->attribute_count; i++)
        near_offer(&search, kind->attributes[i].name);
    const char *key = shown(reader->diagnostics, pair->key);
    if (cut_by_comma(pair))
        COMPLAIN(reader, TOPIC_UNITS, pair->key_at, CUT_BY_COMMA, key);
    else if (near_best(&search))
        COMPLAIN(reader, TOPIC_WORDS, pair->key_at, "a %s has no '%s'; did you mean %s?",
                 kind->name, key, near_best(&search));
    else
        COMPLAIN(reader, TOPIC_WORDS, pair->key_at, "a %s has no '%s'.", kind->name, key);
}

static void read_value(struct reader *reader, const struct kind *kind, const struct node_pair *pair,
                       struct entry_value *out)
{
    struct value value;
    int index = kind_attribute(kind, pair->key);
    if (index < 0) {
        unknown_attribute(reader, kind, pair);
        return;
    }
    const struct attribute *attribute = &kind->attributes[index];
    if (attribute->solved != SOLVED_NO)
        COMPLAIN(reader, TOPIC_WORDS, pair->key_at, "%s is worked out, so no part can list it.",
                 pair->key);
    enum outcome outcome =
        value_read(reader->arena, pair->value, attribute, reader->diagnostics, &value);
    if (outcome == OUTCOME_REFUSED)
        faults_count(&reader->faults, pair->value->at); /* told by value_read */
    out->attribute = attribute->name;
    out->text = node_flow_text(reader->arena, pair->value);
    out->at = pair->value->at;
    reader->no_memory |= outcome == OUTCOME_NO_MEMORY || !out->text;
}

static void read_values(struct reader *reader, const struct kind *kind, const struct node *node,
                        struct entry *out)
{
    const struct node_pair *pair = node_find(node, "values");
    size_t count = pair ? pair->value->count : 0;
    struct entry_value *values = ARENA_TAKE(reader->arena, count + 1, struct entry_value);
    reader->no_memory |= !values;
    for (size_t i = 0; values && i < count && !reader_is_done(reader); i++)
        read_value(reader, kind, &pair->value->pairs[i], &values[i]);
    out->values = values;
    out->value_count = count;
}

static void read_entry(struct reader *reader, const struct record_entry *record,
                       const struct node *node, struct entry *out)
{
    *out = (struct entry){.at = node->at};
    out->name = keep(reader, record->entry);
    out->kind = keep(reader, record->kind);
    out->about = keep(reader, record->about);
    if (!name_is_good(record->entry, "-."))
        COMPLAIN(reader, TOPIC_WORDS, value_of(node, "entry")->at,
                 "'%s' is no name for an entry; small letters, digits and single hyphens or points "
                 "between "
                 "them are.",
                 shown(reader->diagnostics, record->entry));
    const struct kind *kind = find_kind(reader, record->kind);
    if (kind)
        read_values(reader, kind, node, out);
    else
        unknown_kind(reader, value_of(node, "kind"));
}

void read_entries(struct reader *reader, const struct source_file *file)
{
    const struct node *list = value_of(file->root, "catalogue");
    for (size_t i = 0; i < file->records->catalogue_count && !reader_is_done(reader); i++) {
        if (!ARENA_GROW(reader->arena, &reader->entries)) {
            reader->no_memory = true;
            return;
        }
        struct entry *out = &reader->entries.at[reader->entries.count];
        read_entry(reader, &file->records->catalogue[i], list->items[i], out);
        if (!out->name)
            return;
        const struct entry *old = store_entry(reader->old, out->name);
        size_t was = reader->entries.count;
        if (old)
            already_there(reader, out->at, old->at, out->name);
        else if (!name_is_new(reader, reader->entry_names, out->name, reader->entries.count, &was))
            already_there(reader, out->at, reader->entries.at[was].at, out->name);
        reader->entries.count++;
    }
}
