/* store.c - looking things up in a store by name. */
#include "store/store.h"

#include <string.h>

/* Half of the order at a time; the name of item i stands first in it, as every record begins with
 * its name. */
static const void *find(const void *items, size_t size, const unsigned *order, size_t count,
                        const char *name)
{
    size_t low = 0, high = count;
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        const char *item = (const char *)items + order[middle] * size;
        int side = strcmp(*(const char *const *)(const void *)item, name);
        if (side == 0)
            return item;
        if (side < 0)
            low = middle + 1;
        else
            high = middle;
    }
    return NULL;
}

_Static_assert(offsetof(struct kind, name) == 0 && offsetof(struct entry, name) == 0 &&
                   offsetof(struct rule, name) == 0,
               "find() takes the name from the start of a record");

const struct kind *store_kind(const struct store *store, const char *name)
{
    return find(store->kinds, sizeof *store->kinds, store->kind_order, store->kind_count, name);
}

const struct entry *store_entry(const struct store *store, const char *name)
{
    return find(store->entries, sizeof *store->entries, store->entry_order, store->entry_count,
                name);
}

const struct rule *store_rule(const struct store *store, const char *name)
{
    return find(store->rules, sizeof *store->rules, store->rule_order, store->rule_count, name);
}

/* Most words differ in their first two letters. */
static bool same_word(const char *a, const char *b)
{
    return a[0] == b[0] && (a[0] == '\0' || (a[1] == b[1] && strcmp(a, b) == 0));
}

int kind_attribute(const struct kind *kind, const char *name)
{
    for (size_t i = 0; i < kind->attribute_count; i++)
        if (same_word(kind->attributes[i].name, name))
            return (int)i;
    return -1;
}

bool kind_is(const struct kind *kind, const char *word)
{
    if (same_word(word, kind->name) || same_word(word, "part"))
        return true;
    for (size_t i = 0; i < kind->group_count; i++)
        if (same_word(kind->groups[i], word))
            return true;
    return false;
}
