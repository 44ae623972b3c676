/* twin.c - a rig again, with figures of its own: to see what comes of it when
 * its labels are off. */
#include <math.h>
#include <string.h>

#include "rig/rig.h"

/* The numbers of a solved attribute, of the rig and of its twin. */
struct slot {
    const struct part_value *from;
    struct part_value *to;
    size_t count;
    bool whole; /* one of the whole rig: its price, its metres of hose hang on no figure in doubt */
};

struct moved {
    size_t part, attribute;
};

struct rig_twin {
    struct rig rig;
    const struct rig *of;
    struct slot *slots;
    size_t slot_count;
    struct {
        struct moved *at;
        size_t count, room;
    } moved; /* since the last reset */
};

struct room {
    size_t values, slots, numbers;
};

/* What all parts hold together. */
static struct room count_room(const struct rig *rig)
{
    struct room room = {0};
    for (size_t i = 0; i < rig->part_count; i++) {
        const struct kind *kind = rig->parts[i].kind;
        room.values += kind->attribute_count;
        room.slots += kind->solved_count;
        room.numbers += kind->number_count;
    }
    return room;
}

/* Gives a solved value numbers of its own; how many they are. */
static size_t add_slot(struct rig_twin *twin, size_t part, size_t index, double *numbers)
{
    const struct part_value *from = &twin->of->parts[part].values[index];
    struct part_value *to = &twin->rig.parts[part].values[index];
    size_t count = solved_count(&twin->rig.parts[part].kind->attributes[index]);
    to->solved = numbers;
    twin->slots[twin->slot_count++] = (struct slot){from, to, count, part == twin->rig.whole};
    return count;
}

struct rig_twin *rig_twin_new(struct arena *arena, const struct rig *rig)
{
    struct room room = count_room(rig);
    struct rig_twin *twin = ARENA_TAKE(arena, 1, struct rig_twin);
    struct part *parts = ARENA_TAKE_UNSET(arena, rig->part_count + 1, struct part);
    struct part_value *values = ARENA_TAKE_UNSET(arena, room.values + 1, struct part_value);
    double *numbers = ARENA_TAKE_UNSET(arena, room.numbers + 1, double);
    struct slot *slots = ARENA_TAKE_UNSET(arena, room.slots + 1, struct slot);
    if (!twin || !parts || !values || !numbers || !slots)
        return NULL;
    *twin = (struct rig_twin){.rig = *rig, .of = rig, .slots = slots};
    twin->rig.arena = arena;
    twin->rig.parts = parts;
    for (size_t i = 0; i < rig->part_count; i++) {
        const struct kind *kind = rig->parts[i].kind;
        parts[i] = rig->parts[i];
        parts[i].values = values;
        memcpy(values, rig->parts[i].values, kind->attribute_count * sizeof *values);
        for (size_t k = 0; k < kind->solved_count; k++)
            numbers += add_slot(twin, i, (size_t)kind->solved[k], numbers);
        values += kind->attribute_count;
    }
    return twin;
}

static void reset_slot(const struct slot *slot, unsigned conditions)
{
    slot->to->series = slot->from->series;
    for (size_t i = 0; i < slot->count; i++) {
        bool again = !slot->whole && (slot->count == 1 || (conditions >> i & 1u));
        slot->to->solved[i] = again ? (double)NAN : slot->from->solved[i];
    }
}

struct rig *rig_twin_reset(struct rig_twin *twin, unsigned conditions)
{
    for (size_t i = 0; i < twin->moved.count; i++) {
        const struct moved *moved = &twin->moved.at[i];
        twin->rig.parts[moved->part].values[moved->attribute] =
            twin->of->parts[moved->part].values[moved->attribute];
    }
    twin->moved.count = 0;
    twin->rig.later = NULL;
    for (size_t i = 0; i < twin->slot_count; i++)
        reset_slot(&twin->slots[i], conditions);
    return &twin->rig;
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

bool rig_twin_move(struct rig_twin *twin, size_t part, size_t index, bool weaker)
{
    struct arena *arena = twin->rig.arena;
    const struct attribute *attribute = &twin->rig.parts[part].kind->attributes[index];
    struct value *value = &twin->rig.parts[part].values[index].value;
    double by = weaker == attribute->weaker_high ? attribute->may_high : attribute->may_low;
    if (!ARENA_GROW(arena, &twin->moved))
        return false;
    twin->moved.at[twin->moved.count++] = (struct moved){part, index};
    if (value->type == VALUE_POINTS)
        return move_points(arena, attribute, by, value);
    double number = moved(attribute, value->as.quantity.value, by);
    value->as.quantity.value = fmin(fmax(number, attribute->least), attribute->most);
    return true;
}
