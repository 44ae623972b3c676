/* twin.c - a rig again, with figures of its own: to see what comes of it when
 * its labels are off. */
#include <math.h>

#include "rig/rig.h"

/* How many values, and how many solved numbers, all parts hold together. */
static void count_room(const struct rig *rig, size_t *values, size_t *numbers)
{
    *values = *numbers = 0;
    for (size_t i = 0; i < rig->part_count; i++) {
        const struct kind *kind = rig->parts[i].kind;
        *values += kind->attribute_count;
        for (size_t k = 0; k < kind->attribute_count; k++)
            *numbers += solved_count(&kind->attributes[k]);
    }
}

struct rig *rig_twin(struct arena *arena, const struct rig *rig)
{
    size_t value_count, number_count;
    count_room(rig, &value_count, &number_count);
    struct rig *twin = ARENA_TAKE_UNSET(arena, 1, struct rig);
    struct part *parts = ARENA_TAKE_UNSET(arena, rig->part_count + 1, struct part);
    struct part_value *values = ARENA_TAKE_UNSET(arena, value_count + 1, struct part_value);
    double *numbers = ARENA_TAKE_UNSET(arena, number_count + 1, double);
    if (!twin || !parts || !values || !numbers)
        return NULL;
    *twin = *rig;
    twin->arena = arena;
    twin->parts = parts;
    for (size_t i = 0; i < rig->part_count; i++) {
        const struct kind *kind = rig->parts[i].kind;
        parts[i] = rig->parts[i];
        parts[i].values = values;
        for (size_t k = 0; k < kind->attribute_count; k++) {
            size_t size = solved_count(&kind->attributes[k]);
            values[k].solved = size ? numbers : NULL;
            numbers += size;
        }
        values += kind->attribute_count;
    }
    return twin;
}

static void reset_solved(const struct attribute *attribute, unsigned conditions, const double *from,
                         double *to)
{
    size_t size = solved_count(attribute);
    for (size_t i = 0; i < size; i++)
        to[i] = size == 1 || (conditions >> i & 1u) ? NAN : from[i];
}

/* What the whole rig amounts to (its price, its metres of hose) hangs on no figure in doubt. */
static void keep_solved(const struct attribute *attribute, const double *from, double *to)
{
    size_t size = solved_count(attribute);
    for (size_t i = 0; i < size; i++)
        to[i] = from[i];
}

void rig_twin_reset(struct rig *twin, const struct rig *rig, unsigned conditions)
{
    twin->later = NULL;
    for (size_t i = 0; i < rig->part_count; i++) {
        const struct kind *kind = rig->parts[i].kind;
        struct part_value *values = twin->parts[i].values;
        for (size_t k = 0; k < kind->attribute_count; k++) {
            double *solved = values[k].solved;
            values[k] = rig->parts[i].values[k];
            values[k].solved = solved;
            if (solved && i == rig->whole)
                keep_solved(&kind->attributes[k], rig->parts[i].values[k].solved, solved);
            else if (solved)
                reset_solved(&kind->attributes[k], conditions, rig->parts[i].values[k].solved,
                             solved);
        }
    }
}

static double moved(const struct attribute *attribute, double number, double by)
{
    return attribute->may_share ? number * (1.0 + by) : number + by;
}

static bool move_points(struct arena *arena, const struct attribute *attribute, double by,
                        struct value *value)
{
    struct value_point *points = ARENA_TAKE(arena, value->as.points.count + 1, struct value_point);
    for (size_t i = 0; points && i < value->as.points.count; i++) {
        points[i] = value->as.points.at[i];
        points[i].y.value = moved(attribute, points[i].y.value, by);
    }
    if (points)
        value->as.points.at = points;
    return points != NULL;
}

bool rig_twin_move(struct rig *twin, size_t part, size_t index, bool weaker)
{
    const struct attribute *attribute = &twin->parts[part].kind->attributes[index];
    struct value *value = &twin->parts[part].values[index].value;
    double by = weaker == attribute->weaker_high ? attribute->may_high : attribute->may_low;
    if (value->type == VALUE_POINTS)
        return move_points(twin->arena, attribute, by, value);
    double number = moved(attribute, value->as.quantity.value, by);
    value->as.quantity.value = fmin(fmax(number, attribute->least), attribute->most);
    return true;
}

bool rig_may_be_off(const struct part *part, size_t index, bool weaker)
{
    const struct attribute *attribute = &part->kind->attributes[index];
    enum value_type type = part->values[index].value.type;
    if (!attribute->may_be || (type != VALUE_QUANTITY && type != VALUE_POINTS))
        return false;
    return (weaker == attribute->weaker_high ? attribute->may_high : attribute->may_low) != 0.0;
}
