/* world.c - answers the formula language's questions from a rig. */
#include <math.h>

#include "rig/rig.h"

static const struct attribute *attribute_of(const struct part *part, int index)
{
    return &part->kind->attributes[index];
}

bool solved_value(const struct attribute *attribute, double number, struct value *out)
{
    if (isnan(number))
        return false;
    *out = (struct value){.type = attribute->type};
    if (attribute->type == VALUE_WORD)
        out->as.word = number != 0.0 ? "yes" : "no";
    else
        out->as.quantity = (struct quantity){number, attribute->dimension};
    return true;
}

void rig_work_later(const struct rig *rig)
{
    struct rig_later *later = rig->later;
    if (!later || later->done)
        return;
    later->done = true;
    later->work(later);
}

static bool is_left_for_later(const struct rig *rig, size_t part, const struct attribute *attribute)
{
    return rig->later && !rig->later->done && rig->later->covers(rig, part, attribute->name);
}

/* The number solved for a condition; a day that this is left to is worked out first. */
static double solved_number(const struct rig *rig, size_t index, int attribute,
                            enum condition condition)
{
    const struct part_value *value = &rig->parts[index].values[attribute];
    const struct attribute *asked = attribute_of(&rig->parts[index], attribute);
    size_t slot = asked->solved == SOLVED_ONCE ? 0 : (size_t)condition;
    if (isnan(value->solved[slot]) && is_left_for_later(rig, index, asked))
        rig_work_later(rig);
    return value->solved[slot];
}

static bool world_value(const void *data, size_t index, int attribute, enum condition condition,
                        struct value *out, enum origin *origin)
{
    const struct rig *rig = data;
    const struct part *part = &rig->parts[index];
    const struct part_value *value = &part->values[attribute];
    *origin = ORIGIN_UNKNOWN;
    if (value->solved) {
        if (!solved_value(attribute_of(part, attribute),
                          solved_number(rig, index, attribute, condition), out))
            return false;
        *origin = ORIGIN_SOLVED;
        return true;
    }
    if (value->value.type == VALUE_NONE)
        return false;
    *out = value->value;
    *origin = value->origin;
    return true;
}

static double world_number(const void *data, size_t index, int attribute, enum condition condition,
                           enum origin *origin)
{
    const struct rig *rig = data;
    const struct part_value *value = &rig->parts[index].values[attribute];
    *origin = value->solved ? ORIGIN_SOLVED : value->origin;
    if (value->solved)
        return solved_number(rig, index, attribute, condition);
    return value->value.type == VALUE_QUANTITY ? value->value.as.quantity.value : NAN;
}

static const char *world_word(const void *data, size_t index, int attribute,
                              enum condition condition, enum origin *origin)
{
    const struct rig *rig = data;
    const struct part_value *held = &rig->parts[index].values[attribute];
    struct value solved = {.type = VALUE_NONE};
    const struct value *value = held->solved ? &solved : &held->value;
    if (held->solved)
        world_value(data, index, attribute, condition, &solved, origin);
    else
        *origin = held->origin;
    bool word = value->type == VALUE_WORD || value->type == VALUE_TEXT || value->type == VALUE_ID;
    return word ? value->as.word : NULL;
}

static bool world_value_of(const void *data, size_t index, int attribute, enum condition condition,
                           double argument, struct value *out, enum origin *origin)
{
    (void)condition; /* figures of something are solved once */
    const struct rig *rig = data;
    const struct part_value *value = &rig->parts[index].values[attribute];
    const struct attribute *about = attribute_of(&rig->parts[index], attribute);
    *origin = ORIGIN_UNKNOWN;
    if (!value->series && is_left_for_later(rig, index, about))
        rig_work_later(rig);
    if (!value->series ||
        !solved_value(about, value->series->find(value->series->data, argument), out))
        return false;
    *origin = ORIGIN_SOLVED;
    return true;
}

static const struct kind *world_kind(const void *data, size_t part)
{
    return ((const struct rig *)data)->parts[part].kind;
}

static const char *world_id(const void *data, size_t part)
{
    return ((const struct rig *)data)->parts[part].id;
}

static size_t world_related(const void *data, size_t part, const char *relation, const size_t **out)
{
    return rig_related(data, part, relation, out);
}

static bool world_related_of_kind(const void *data, size_t part, const char *relation,
                                  const struct kind *kind, const size_t **out, size_t *count)
{
    return rig_related_of_kind(data, part, relation, kind, out, count);
}

static size_t world_of_kind(const void *data, const struct kind *kind, const size_t **out)
{
    const struct rig *rig = data;
    size_t place = (size_t)(kind - rig->store->kinds);
    *out = rig->by_kind + rig->of_kind[place];
    return rig->of_kind[place + 1] - rig->of_kind[place];
}

/* ---- of a rig in which something can't be read ---- */

static bool world_unread(const void *data, size_t part, int attribute)
{
    const struct rig *rig = data;
    return rig->parts[part].values[attribute].unread;
}

static bool readable_value(const void *data, size_t part, int attribute, enum condition condition,
                           struct value *out, enum origin *origin)
{
    *origin = ORIGIN_UNKNOWN;
    return !world_unread(data, part, attribute) &&
           world_value(data, part, attribute, condition, out, origin);
}

static double readable_number(const void *data, size_t part, int attribute,
                              enum condition condition, enum origin *origin)
{
    *origin = ORIGIN_UNKNOWN;
    return world_unread(data, part, attribute)
               ? NAN
               : world_number(data, part, attribute, condition, origin);
}

static const char *readable_word(const void *data, size_t part, int attribute,
                                 enum condition condition, enum origin *origin)
{
    *origin = ORIGIN_UNKNOWN;
    return world_unread(data, part, attribute)
               ? NULL
               : world_word(data, part, attribute, condition, origin);
}

static bool readable_value_of(const void *data, size_t part, int attribute,
                              enum condition condition, double argument, struct value *out,
                              enum origin *origin)
{
    *origin = ORIGIN_UNKNOWN;
    return !world_unread(data, part, attribute) &&
           world_value_of(data, part, attribute, condition, argument, out, origin);
}

struct formula_world rig_world(const struct rig *rig)
{
    return (struct formula_world){.units = rig_units(rig),
                                  .data = rig,
                                  .value = rig->unread ? readable_value : world_value,
                                  .value_of = rig->unread ? readable_value_of : world_value_of,
                                  .kind = world_kind,
                                  .id = world_id,
                                  .related = world_related,
                                  .related_of_kind = world_related_of_kind,
                                  .of_kind = rig->by_kind ? world_of_kind : NULL,
                                  .number = rig->unread ? readable_number : world_number,
                                  .word = rig->unread ? readable_word : world_word,
                                  .unread = rig->unread ? world_unread : NULL};
}

size_t rig_find_part(const struct rig *rig, const char *id)
{
    size_t index;
    return names_find(rig->names, id, &index) ? index : NO_PART;
}
