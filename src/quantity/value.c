/* value.c - a value as a person would write it. */
#include "quantity/value.h"

#include <math.h>
#include <string.h>

static void print_quantity(struct text *text, struct quantity quantity, const char *unit)
{
    struct unit found;
    bool fits = unit && unit_find(unit, strlen(unit), &found) &&
                dimension_same(found.dimension, quantity.dimension);
    quantity_print(text, quantity, fits ? &found : NULL);
}

static void print_words(struct text *text, const char *const *words, size_t count)
{
    for (size_t i = 0; i < count; i++)
        text_print(text, "%s%s", i ? ", " : "", words[i]);
}

static void print_points(struct text *text, const struct value *value)
{
    for (size_t i = 0; i < value->as.points.count; i++) {
        text_add(text, i ? ", " : "");
        quantity_print(text, value->as.points.at[i].y, NULL);
        text_add(text, " at ");
        quantity_print(text, value->as.points.at[i].x, NULL);
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

void value_print(struct text *text, const struct value *value, const char *unit)
{
    switch (value->type) {
    case VALUE_NONE:
        text_add(text, "(unknown)");
        break;
    case VALUE_QUANTITY:
        print_quantity(text, value->as.quantity, unit);
        break;
    case VALUE_RANGE:
        print_quantity(text, value->as.range.low, unit);
        text_add(text, " .. ");
        print_quantity(text, value->as.range.high, unit);
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
        print_points(text, value);
        break;
    case VALUE_FITTINGS:
        print_fittings(text, value);
        break;
    }
}
