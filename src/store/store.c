/* store.c - looking things up in a store by name. */
#include "store/store.h"

#include <string.h>

#include "base/names.h"

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

static size_t slot_of(size_t key, size_t slot_count)
{
    return (key ^ key >> 5) & (slot_count - 1);
}

size_t kind_slots_for(size_t attribute_count)
{
    size_t slots = 4;
    while (slots < 4 * attribute_count)
        slots *= 2;
    return slots;
}

void kind_fill_slots(const struct kind *kind, short *slots, size_t slot_count)
{
    for (size_t i = 0; i < slot_count; i++)
        slots[i] = -1;
    for (size_t i = 0; i < kind->attribute_count; i++) {
        size_t slot = slot_of(attribute_key(kind->attributes[i].name), slot_count);
        while (slots[slot] >= 0)
            slot = (slot + 1) & (slot_count - 1);
        slots[slot] = (short)i;
    }
}

static int look_through(const struct kind *kind, const char *name)
{
    for (size_t i = 0; i < kind->attribute_count; i++)
        if (name_same(kind->attributes[i].name, name))
            return (int)i;
    return -1;
}

int kind_attribute_by(const struct kind *kind, const char *name, size_t key)
{
    if (!kind->slots)
        return look_through(kind, name);
    size_t slot = slot_of(key, kind->slot_count);
    while (kind->slots[slot] >= 0 && !name_same(kind->attributes[kind->slots[slot]].name, name))
        slot = (slot + 1) & (kind->slot_count - 1);
    return kind->slots[slot];
}

bool kind_is(const struct kind *kind, const char *word)
{
    if (name_same(word, kind->name) || name_same(word, "part"))
        return true;
    for (size_t i = 0; i < kind->group_count; i++)
        if (name_same(kind->groups[i], word))
            return true;
    return false;
}

void attribute_tell(struct text *text, const struct attribute *attribute, const struct value *value,
                    enum unit_system system)
{
    value_tell(text, value, attribute->unit, attribute->customary, system);
}

bool entry_lists(const struct entry *entry, const char *attribute)
{
    for (size_t i = 0; i < entry->value_count; i++)
        if (name_same(entry->values[i].attribute, attribute))
            return true;
    return false;
}
