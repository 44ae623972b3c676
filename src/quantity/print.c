/* print.c - quantities for people: a unit that they would choose, three or four
 * significant digits. */
#include "quantity/inside.h"

#include <math.h>
#include <string.h>

/* A decimal as a whole number and the places behind its point. Printing it needs
 * no locale. */
struct decimal {
    long long digits;
    int places;
};

#define LARGEST_PLAIN 1e7 /* from here on with an exponent */
#define SMALLEST_PLAIN 1e-4

static struct decimal rounded(double value, int places)
{
    return (struct decimal){llround(value * pow(10.0, places)), places};
}

/* So many significant digits; one more when it makes it exact; never fewer than stand before the
 * point. At most `most` places. */
static struct decimal shorten(double value, int most, int digits)
{
    int magnitude = value == 0.0 ? 0 : (int)floor(log10(fabs(value)));
    int places = magnitude >= digits - 1 ? 0 : digits - 1 - magnitude;
    int finer = magnitude >= digits ? 0 : digits - magnitude;
    struct decimal fine = rounded(value, finer < most ? finer : most);
    double back = (double)fine.digits / pow(10.0, fine.places);
    struct decimal decimal = fine;
    if (fabs(back - value) > 1e-9 * fabs(value))
        decimal = rounded(value, places < most ? places : most);
    while (decimal.places > 0 && decimal.digits % 10 == 0) {
        decimal.digits /= 10;
        decimal.places--;
    }
    return decimal;
}

static void print_decimal(struct text *text, struct decimal decimal)
{
    long long power = 1;
    for (int i = 0; i < decimal.places; i++)
        power *= 10;
    long long size = decimal.digits < 0 ? -decimal.digits : decimal.digits;
    if (decimal.digits < 0)
        text_add(text, "-");
    text_add_number(text, (unsigned long long)(size / power), 1);
    if (decimal.places == 0)
        return;
    text_add(text, ".");
    text_add_number(text, (unsigned long long)(size % power), decimal.places);
}

static void print_with_exponent(struct text *text, double value)
{
    int exponent = (int)floor(log10(fabs(value)));
    /* in two steps, because 1e-310 has no power of ten to be divided by */
    double mantissa = value / pow(10.0, exponent / 2) / pow(10.0, exponent - exponent / 2);
    struct decimal decimal = shorten(mantissa, 2, DIGITS_USUAL);
    if (decimal.places == 0 && (decimal.digits == 10 || decimal.digits == -10)) {
        decimal.digits /= 10;
        exponent++;
    }
    print_decimal(text, decimal);
    text_print(text, "e%d", exponent);
}

static bool is_time(struct dimension dimension)
{
    return dimension_same(dimension, (struct dimension){.exponent = {[BASE_S] = 1}});
}

static void print_number(struct text *text, double value, int most_places, int digits)
{
    double size = fabs(value);
    if (isnan(value))
        text_add(text, "unknown");
    else if (isinf(value))
        text_add(text, value < 0.0 ? "-infinite" : "infinite");
    else if (size >= LARGEST_PLAIN || (size < SMALLEST_PLAIN && size > 0.0 && most_places > 4))
        print_with_exponent(text, value);
    else
        print_decimal(text, shorten(value, most_places, digits));
}

/* Zero goes in the commonest unit; else it is the largest in which the figure is not too small.
 * NULL when the dimension has no unit of its own. */
const struct unit *quantity_unit(struct quantity quantity)
{
    const struct unit *best = NULL;
    for (size_t i = 0; i < unit_row_count; i++) {
        const struct unit_row *row = &unit_rows[i];
        if (!dimension_same(row->unit.dimension, quantity.dimension) || isinf(row->shown))
            continue;
        double figure = fabs(quantity.value) / row->unit.scale;
        if (row->asked && !(figure > 0.0))
            return &row->unit;
        if (figure >= row->shown * (1.0 - 1e-9) && (!best || row->unit.scale > best->scale))
            best = &row->unit;
    }
    return best;
}

/* True when the unit can show the quantity; a difference may be shown in degF. */
static bool suits(const struct unit *unit, struct quantity quantity)
{
    struct dimension dimension = unit->dimension;
    if (dimension.absolute && unit->offset != 0.0 && !quantity.dimension.absolute)
        dimension.absolute = false;
    return unit->name && dimension_same(dimension, quantity.dimension);
}

/* A wire of a size in between is shown by its area. */
static bool print_size(struct text *text, double area_m2)
{
    char spare[8];
    const char *size = awg_name(area_m2, spare);
    if (size)
        text_print(text, "%s AWG", size);
    return size != NULL;
}

void quantity_print(struct text *text, struct quantity quantity, const struct unit *unit)
{
    print_digits(text, quantity, unit, DIGITS_USUAL);
}

void print_digits(struct text *text, struct quantity quantity, const struct unit *unit, int digits)
{
    char spare[64];
    if (unit && !suits(unit, quantity))
        unit = NULL;
    if (unit && unit_is_awg(unit)) {
        if (print_size(text, quantity.value))
            return;
        unit = NULL;
    }
    if (isinf(quantity.value) && quantity.value > 0.0 && is_time(quantity.dimension)) {
        text_add(text, "never");
        return;
    }
    if (!unit)
        unit = quantity_unit(quantity);
    bool absolute = quantity.dimension.absolute;
    double figure = quantity.value - (unit && absolute ? unit->offset : 0.0);
    int most = absolute ? digits - 1 : 12;
    print_number(text, figure / (unit ? unit->scale : 1.0), most, digits);
    const char *name = unit ? unit->name : dimension_si(quantity.dimension, spare);
    bool none = !name[0] || strcmp(name, "1") == 0;
    if (none)
        return;
    text_add(text, " ");
    text_add(text, name);
}
