/* edit.c - trees with one thing changed. */
#include "rig/edit.h"

#include <string.h>

#include "document/document.h"

static struct node *scalar(struct arena *arena, struct place at, const char *text)
{
    struct node *node = ARENA_TAKE(arena, 1, struct node);
    if (node)
        *node = (struct node){.type = NODE_SCALAR, .at = at, .text = text};
    return text ? node : NULL;
}

/* A mapping or list with its own row of children, and room for one more. */
static struct node *copy(struct arena *arena, const struct node *node)
{
    struct node *out = ARENA_TAKE(arena, 1, struct node);
    if (!out)
        return NULL;
    *out = *node;
    out->pairs = NULL;
    out->items = NULL;
    if (node->type == NODE_MAPPING) {
        out->pairs = ARENA_TAKE(arena, node->count + 1, struct node_pair);
        if (out->pairs && node->count)
            memcpy(out->pairs, node->pairs, node->count * sizeof *node->pairs);
    } else if (node->type == NODE_SEQUENCE) {
        out->items = ARENA_TAKE(arena, node->count + 1, struct node *);
        if (out->items && node->count)
            memcpy(out->items, node->items, node->count * sizeof *node->items);
    }
    return out->pairs || out->items ? out : NULL;
}

static struct node_pair *find(struct node *mapping, const char *key)
{
    for (size_t i = 0; i < mapping->count; i++)
        if (strcmp(mapping->pairs[i].key, key) == 0)
            return &mapping->pairs[i];
    return NULL;
}

/* The value of a key, copied into its place. */
static struct node *copy_value(struct arena *arena, struct node *mapping, const char *key)
{
    struct node_pair *pair = find(mapping, key);
    if (!pair || pair->value->type == NODE_SCALAR)
        return NULL;
    pair->value = copy(arena, pair->value);
    return pair->value;
}

static bool same_place(struct place a, struct place b)
{
    return a.line == b.line && a.column == b.column;
}

/* A run's mapping, known by where it stands, copied into its place. */
static struct node *copy_run(struct arena *arena, struct node *root, const struct part *run)
{
    static const char *const lists[] = {"cables", "pipes"};
    for (size_t k = 0; k < sizeof lists / sizeof *lists; k++) {
        struct node_pair *pair = find(root, lists[k]);
        for (size_t i = 0; pair && pair->value->type == NODE_SEQUENCE && i < pair->value->count;
             i++) {
            if (!same_place(pair->value->items[i]->at, run->at) ||
                pair->value->items[i]->type != NODE_MAPPING)
                continue;
            struct node *list = copy(arena, pair->value);
            struct node *mapping = list ? copy(arena, list->items[i]) : NULL;
            if (mapping) {
                pair->value = list;
                list->items[i] = mapping;
            }
            return mapping;
        }
    }
    return NULL;
}

/* The mapping of a part or run, its own in a root that is too. */
static struct node *copy_part(struct arena *arena, struct node *root, const struct part *part)
{
    if (kind_is(part->kind, "run"))
        return copy_run(arena, root, part);
    struct node *parts = copy_value(arena, root, "parts");
    return parts ? copy_value(arena, parts, part->id) : NULL;
}

struct node *edit_use(struct arena *arena, const struct node *root, const struct part *part,
                      const struct entry *entry, bool as_listed)
{
    struct node *out = copy(arena, root);
    struct node *mapping = out ? copy_part(arena, out, part) : NULL;
    struct node *use = mapping ? scalar(arena, mapping->at, entry->name) : NULL;
    if (!use)
        return NULL;
    const struct node_pair *is = find(mapping, "is"), *old = find(mapping, "use");
    bool drop = as_listed || is || !old;
    struct place at = old ? old->key_at : is ? is->key_at : mapping->at;
    size_t kept = 0;
    for (size_t i = 0; i < mapping->count; i++) {
        const struct node_pair pair = mapping->pairs[i];
        bool goes = strcmp(pair.key, "is") == 0 || strcmp(pair.key, "use") == 0 ||
                    (drop && entry_lists(entry, pair.key));
        if (!goes)
            mapping->pairs[kept++] = pair;
    }
    mapping->pairs[kept++] = (struct node_pair){"use", at, use};
    mapping->count = kept;
    return out;
}

struct node *edit_give(struct arena *arena, const struct node *root, const struct part *part,
                       const char *attribute, const char *text)
{
    struct node *out = copy(arena, root);
    struct node *mapping = out ? copy_part(arena, out, part) : NULL;
    struct node *value = mapping ? scalar(arena, mapping->at, text) : NULL;
    if (!value)
        return NULL;
    struct node_pair *pair = find(mapping, attribute);
    if (pair)
        pair->value = value;
    else
        mapping->pairs[mapping->count++] = (struct node_pair){attribute, mapping->at, value};
    return out;
}

/* { use: ENTRY } and the like: of one or two keys. */
static struct node *small_mapping(struct arena *arena, struct place at, const char *key,
                                  const char *text, const char *second_key, const char *second)
{
    struct node *mapping = ARENA_TAKE(arena, 1, struct node);
    struct node_pair *pairs = ARENA_TAKE(arena, 2, struct node_pair);
    if (!mapping || !pairs)
        return NULL;
    pairs[0] = (struct node_pair){key, at, scalar(arena, at, text)};
    pairs[1] = (struct node_pair){second_key, at, second ? scalar(arena, at, second) : NULL};
    *mapping = (struct node){
        .type = NODE_MAPPING, .at = at, .pairs = pairs, .count = second ? (size_t)2 : (size_t)1};
    return pairs[0].value && (!second || pairs[1].value) ? mapping : NULL;
}

/* What a run has in it, as a list that one more fits into. */
static struct node *copy_through(struct arena *arena, struct node *run)
{
    struct node_pair *pair = find(run, "through");
    if (pair && pair->value->type == NODE_SEQUENCE) {
        pair->value = copy(arena, pair->value);
        return pair->value;
    }
    bool one = pair && !(pair->value->type == NODE_SCALAR && pair->value->empty);
    struct node *list = ARENA_TAKE(arena, 1, struct node);
    struct node **items = ARENA_TAKE(arena, 2, struct node *);
    if (!list || !items)
        return NULL;
    if (one)
        items[0] = pair->value;
    *list = (struct node){.type = NODE_SEQUENCE, .at = run->at, .items = items, .count = one};
    if (pair)
        pair->value = list;
    else
        run->pairs[run->count++] = (struct node_pair){"through", run->at, list};
    return list;
}

struct node *edit_insert(struct arena *arena, const struct node *root, const struct part *run,
                         const struct entry *entry, const char *id, bool last, const char *distance)
{
    struct node *out = copy(arena, root);
    struct node *parts = out ? copy_value(arena, out, "parts") : NULL;
    struct node *mapping = out ? copy_run(arena, out, run) : NULL;
    struct node *through = mapping ? copy_through(arena, mapping) : NULL;
    if (!parts || !through)
        return NULL;
    struct node *part = small_mapping(arena, run->at, "use", entry->name, NULL, NULL);
    struct node *item = distance ? small_mapping(arena, run->at, "part", id, "distance", distance)
                                 : scalar(arena, run->at, id);
    if (!part || !item)
        return NULL;
    parts->pairs[parts->count++] = (struct node_pair){id, run->at, part};
    if (!last && through->count)
        memmove(through->items + 1, through->items, through->count * sizeof *through->items);
    through->items[last ? through->count : 0] = item;
    through->count++;
    return out;
}
