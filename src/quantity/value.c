/* value.c - a value as a person would write it. */
#include "quantity/value.h"

#include <math.h>
#include <string.h>

/* How figures are told; name NULL: as a practitioner expects. */
struct told {
    struct unit unit;
    enum unit_system system;
};

/* Its unit, where it can show the quantity; else NULL. */
static const struct unit *unit_for(const struct told *told, struct quantity quantity)
{
    bool fits = told->unit.name && dimension_same(told->unit.dimension, quantity.dimension);
    return fits ? &told->unit : NULL;
}

static void print_words(struct text *text, const char *const *words, size_t count)
{
    for (size_t i = 0; i < count; i++)
        text_print(text, "%s%s", i ? ", " : "", words[i]);
}

static void print_points(struct text *text, const struct value *value, enum unit_system system)
{
    for (size_t i = 0; i < value->as.points.count; i++) {
        text_add(text, i ? ", " : "");
        quantity_tell(text, value->as.points.at[i].y, NULL, system);
        text_add(text, " at ");
        quantity_tell(text, value->as.points.at[i].x, NULL, system);
    }
}

static void print_fittings(struct text *text, const struct value *value)
{
    for (size_t i = 0; i < value->as.fittings.count; i++) {
        const struct value_fitting *fitting = &value->as.fittings.at[i];
        text_print(text, "%s%g %s", i ? ", " : "", fitting->number, fitting->name);
        if (!isnan(fitting->k))
            text_print(text, " (k %g)", fitting->k);
    }
}

static void print_value(struct text *text, const struct value *value, const struct told *told)
{
    switch (value->type) {
    case VALUE_NONE:
        text_add(text, "(unknown)");
        break;
    case VALUE_QUANTITY:
        quantity_tell(text, value->as.quantity, unit_for(told, value->as.quantity), told->system);
        break;
    case VALUE_RANGE:
        range_tell(text, value->as.range.low, value->as.range.high,
                   unit_for(told, value->as.range.low), told->system);
        break;
    case VALUE_WORD:
    case VALUE_TEXT:
    case VALUE_ID:
        text_add(text, value->as.word);
        break;
    case VALUE_WORDS:
    case VALUE_IDS:
        print_words(text, value->as.words.at, value->as.words.count);
        break;
    case VALUE_POINTS:
        print_points(text, value, told->system);
        break;
    case VALUE_FITTINGS:
        print_fittings(text, value);
        break;
    }
}

void value_tell(struct text *text, const struct value *value, const char *unit,
                const char *customary, enum unit_system system)
{
    struct told told = {.system = system};
    if (!unit || !unit_find(unit, strlen(unit), &told.unit))
        told.unit.name = NULL;
    told.unit.customary = customary;
    print_value(text, value, &told);
}

void value_print(struct text *text, const struct value *value, const char *unit)
{
    value_tell(text, value, unit, NULL, UNITS_METRIC);
}

void value_echo(struct text *text, const struct value *value, enum unit_system system)
{
    const char *unit = value->unit;
    value_print(text, value, unit);
    if (system != UNITS_CUSTOMARY || value->type != VALUE_QUANTITY || !unit ||
        strcmp(unit, "AWG") != 0)
        return;
    text_add(text, " (");
    value_print(text, value, "mm2");
    text_add(text, ")");
}
