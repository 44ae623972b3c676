/* part.c - looking up a part's attributes by name, for the physics. */
#include <assert.h>
#include <math.h>
#include <string.h>

#include "rig/rig.h"

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
