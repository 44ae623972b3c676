/* part.c - looking up a part's attributes by name, for the physics. */
#include <assert.h>
#include <math.h>
#include <string.h>

#include "rig/rig.h"

const struct part_value *part_value(const struct part *part, const char *attribute)
{
    int index = kind_attribute(part->kind, attribute);
    return index < 0 ? NULL : &part->values[index];
}

double part_number(const struct part *part, const char *attribute)
{
    const struct part_value *value = part_value(part, attribute);
    if (!value || value->value.type != VALUE_QUANTITY)
        return NAN;
    return value->value.as.quantity.value;
}

double part_number_or(const struct part *part, const char *attribute, double otherwise)
{
    double number = part_number(part, attribute);
    return isnan(number) ? otherwise : number;
}

bool part_range(const struct part *part, const char *attribute, double *low, double *high)
{
    const struct part_value *value = part_value(part, attribute);
    if (!value || value->value.type != VALUE_RANGE)
        return false;
    *low = value->value.as.range.low.value;
    *high = value->value.as.range.high.value;
    return true;
}

const char *part_word(const struct part *part, const char *attribute)
{
    const struct part_value *value = part_value(part, attribute);
    if (!value)
        return NULL;
    enum value_type type = value->value.type;
    return type == VALUE_WORD || type == VALUE_TEXT || type == VALUE_ID ? value->value.as.word
                                                                        : NULL;
}

bool part_is(const struct part *part, const char *attribute, const char *word)
{
    const char *now = part_word(part, attribute);
    return now && strcmp(now, word) == 0;
}

enum unit_system rig_units(const struct rig *rig)
{
    return rig->practice == PRACTICE_NORTH_AMERICA ? UNITS_CUSTOMARY : UNITS_METRIC;
}

void part_tell(struct text *text, const struct rig *rig, const struct attribute *attribute,
               const struct part_value *value)
{
    const char *unit = value->value.unit;
    bool own = unit && (value->origin == ORIGIN_GIVEN || strcmp(unit, "AWG") == 0);
    if (own)
        value_echo(text, &value->value, rig_units(rig));
    else
        value_tell(text, &value->value, unit ? unit : attribute->unit, attribute->customary,
                   rig_units(rig));
}

static double *solved_slot(const struct part *part, const char *attribute, size_t index)
{
    const struct part_value *value = part_value(part, attribute);
    assert(value && value->solved);
    return &value->solved[index];
}

void part_solve(struct part *part, const char *attribute, enum condition condition, double value)
{
    *solved_slot(part, attribute, (size_t)condition) = value;
}

void part_solve_once(struct part *part, const char *attribute, double value)
{
    *solved_slot(part, attribute, 0) = value;
}

double part_solved(const struct part *part, const char *attribute, enum condition condition)
{
    return *solved_slot(part, attribute, (size_t)condition);
}
