/* customary.c - US customary units in the place of metric ones: which the trade
 * writes for what, by the size of the figure. The only table of that sort. */
#include "quantity/inside.h"

#include <assert.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

enum { CHOICES = 3 };

#define DIGITS_MOST 10 /* values nearer than that are equal */

/* A metric unit, and what stands in its place: the first whose figure is not less than `least`.
 * A unit without a row stays: those of electricity and sunshine are the same everywhere, panels'
 * data sheets give %/K, and Kv is a flow of m3/h by definition (its customary sister, Cv, is not
 * the same flow). What the trade writes is common practice, no source. */
static const struct {
    const char *metric;
    struct {
        const char *name;
        double least;
    } choices[CHOICES];
} rows[] = {
    {"L/h", {{"gal/min", 10.0}, {"gal/h", 0.0}}}, /* pond pumps and drippers; well pumps */
    {"L/min", {{"gal/min", 0.0}}},
    {"L/s", {{"gal/min", 0.0}}},
    {"bar", {{"psi", 0.0}}},
    {"mbar", {{"psi", 0.0}}},
    {"kPa", {{"psi", 0.0}}},
    {"Pa", {{"psi", 0.0}}},
    {"m", {{"ft", 1.0}, {"in", 0.0}}},
    {"mm", {{"in", 0.02}, {"um", 0.0}}}, /* meshes are told in microns */
    {"cm", {{"in", 0.0}}},
    {"m2", {{"ft2", 0.0}}},
    {"cm2", {{"in2", 0.0}}},
    {"mm2", {{"AWG", 0.0}}},
    {"L", {{"gal", 0.0}}},
    {"m3", {{"gal", 0.0}}},
    {"kg", {{"lb", 0.0}}},
    {"degC", {{"degF", 0.0}}},
    {"K", {{"degF", 0.0}}},
    {"m/s", {{"ft/s", 0.0}}},
    {"km/h", {{"mph", 0.0}}},
    {"ohm/km", {{"ohm/kft", 0.0}}},
    {"L/m2", {{"gal/ft2", 0.0}}},
    {"kg/m2s", {{"lb/h ft2", 0.0}}},
    {"kg/s", {{"lb/h", 0.0}}},
    {"kg/m3", {{"lb/ft3", 0.0}}},
    {"mm2/s", {{"ft2/s", 0.0}}},
    {"J/kgK", {{"BTU/lbF", 0.0}}},
    {"J/K", {{"BTU/F", 0.0}}},
    {"W/K", {{"BTU/hF", 0.0}}},
    {"W/m2K", {{"BTU/hft2F", 0.0}}},
    {"W/mK", {{"BTUin/hft2F", 0.0}}},
};
enum { ROWS = sizeof rows / sizeof *rows };

static bool named(const char *name, struct unit *out)
{
    return unit_find(name, strlen(name), out);
}

/* Of a difference, degF has no zero. */
static void fit(struct unit *unit, bool absolute)
{
    if (absolute)
        return;
    unit->offset = 0.0;
    unit->dimension.absolute = false;
}

/* Zero goes in the first. */
static bool is_least(const struct unit *unit, double si, double least)
{
    return si == 0.0 || !(fabs(si) / unit->scale < least * (1.0 - 1e-9));
}

static bool choose(size_t row, double si, struct unit *out)
{
    char spare[8];
    for (size_t i = 0; i < CHOICES && rows[row].choices[i].name; i++) {
        if (!named(rows[row].choices[i].name, out))
            return false;
        if (unit_is_awg(out) ? awg_name(si, spare) != NULL
                             : is_least(out, si, rows[row].choices[i].least))
            return true;
    }
    return false;
}

bool unit_is_customary(const struct unit *unit)
{
    const char *name = unit->name;
    for (size_t row = 0; name && row < ROWS; row++)
        for (size_t i = 0; i < CHOICES && rows[row].choices[i].name; i++)
            if (strcmp(rows[row].choices[i].name, name) == 0)
                return true;
    return false;
}

/* The row of a unit; of one that nobody named, else that of its dimension. */
static size_t row_of(const struct unit *unit, bool by_dimension)
{
    struct unit metric;
    for (size_t row = 0; row < ROWS; row++)
        if (strcmp(rows[row].metric, unit->name) == 0)
            return row;
    for (size_t row = 0; by_dimension && row < ROWS; row++)
        if (named(rows[row].metric, &metric) && dimension_same(metric.dimension, unit->dimension))
            return row;
    return ROWS;
}

static struct unit swap(const struct unit *unit, double si, bool by_dimension)
{
    struct unit found;
    if (!unit->name || !unit->name[0] || unit_is_customary(unit))
        return *unit;
    if (unit->customary) {
        bool fits =
            named(unit->customary, &found) && dimension_same(found.dimension, unit->dimension);
        if (fits && !found.name) /* a product without a row: as it is written there */
            found.name = unit->customary;
        return fits ? found : *unit;
    }
    size_t row = row_of(unit, by_dimension);
    if (row == ROWS || !choose(row, si, &found))
        return *unit;
    fit(&found, unit->dimension.absolute);
    return found;
}

struct unit unit_told(const struct unit *unit, enum unit_system system, double si)
{
    return system == UNITS_CUSTOMARY ? swap(unit, si, false) : *unit;
}

/* The sizes that are sold on both sides: " (between 10 and 8 AWG)". */
static void print_neighbours(struct text *text, double area_m2)
{
    static const char *const sold[] = {"24", "22", "20", "18", "16", "14",  "12",  "10",  "8",
                                       "6",  "4",  "3",  "2",  "1",  "1/0", "2/0", "3/0", "4/0"};
    for (size_t i = 0; i + 1 < sizeof sold / sizeof *sold; i++) {
        double thin, thick;
        if (awg_area(sold[i], strlen(sold[i]), &thin) &&
            awg_area(sold[i + 1], strlen(sold[i + 1]), &thick) && area_m2 > thin && area_m2 < thick)
            text_print(text, " (between %s and %s AWG)", sold[i], sold[i + 1]);
    }
}

static void tell_digits(struct text *text, struct quantity quantity, const struct unit *unit,
                        enum unit_system system, int digits)
{
    char spare[8];
    const struct unit *usual = unit ? unit : quantity_unit(quantity);
    if (system == UNITS_METRIC || !usual) {
        print_digits(text, quantity, unit, digits);
        return;
    }
    struct unit told = swap(usual, quantity.value, !unit);
    print_digits(text, quantity, &told, digits);
    bool wire = told.name && (unit_is_awg(&told) || strcmp(told.name, "mm2") == 0);
    if (wire && !awg_name(quantity.value, spare))
        print_neighbours(text, quantity.value);
}

void quantity_tell(struct text *text, struct quantity quantity, const struct unit *unit,
                   enum unit_system system)
{
    tell_digits(text, quantity, unit, system, DIGITS_USUAL);
}

void quantity_tell_apart(struct text *text, struct quantity quantity, double other,
                         const struct unit *unit, enum unit_system system)
{
    struct text own = {0}, others = {0};
    int digits = DIGITS_USUAL - 1;
    do {
        digits++;
        text_clear(&own);
        text_clear(&others);
        tell_digits(&own, quantity, unit, system, digits);
        tell_digits(&others, (struct quantity){other, quantity.dimension}, unit, system, digits);
    } while (!own.failed && !others.failed && digits < DIGITS_MOST &&
             strcmp(own.bytes, others.bytes) == 0);
    text->failed = text->failed || own.failed || others.failed;
    if (!text->failed)
        text_add(text, own.bytes);
    text_drop(&own);
    text_drop(&others);
}

void quantity_tell_round(struct text *text, struct quantity quantity, const struct unit *unit,
                         enum unit_system system)
{
    struct unit told = unit_told(unit, system, quantity.value);
    double figure = (quantity.value - told.offset) / told.scale;
    if (told.name != unit->name && isfinite(figure) && figure != 0.0) {
        double step =
            quantity.dimension.absolute ? 1.0 : pow(10.0, floor(log10(fabs(figure))) - 1.0);
        quantity.value = round(figure / step) * step * told.scale + told.offset;
    }
    quantity_tell(text, quantity, &told, system);
}

void range_tell(struct text *text, struct quantity low, struct quantity high,
                const struct unit *unit, enum unit_system system)
{
    struct unit told;
    if (unit) {
        told = unit_told(unit, system, fmax(fabs(low.value), fabs(high.value)));
        unit = &told;
    }
    quantity_tell(text, low, unit, system);
    text_add(text, " .. ");
    quantity_tell(text, high, unit, system);
}

static struct unit figure_unit(double si, const char *name, const char *customary,
                               enum unit_system system)
{
    struct unit unit;
    bool known = named(name, &unit);
    assert(known);
    (void)known;
    unit.customary = customary;
    return unit_told(&unit, system, si);
}

/* No exponent where a person would not write one. */
static void print_figure(char room[FIGURE_ROOM], const struct unit *told, double si,
                         const char *name)
{
    double figure = (si - told->offset) / told->scale;
    bool large = fabs(figure) >= 9999.5 && fabs(figure) < 1e7;
    snprintf(room, FIGURE_ROOM, large ? "%.0f%s%s" : "%.4g%s%s", figure, *name ? " " : "", name);
}

const char *figure_bare(char room[FIGURE_ROOM], double si, const char *unit, const char *customary,
                        enum unit_system system)
{
    struct unit told = figure_unit(si, unit, customary, system);
    print_figure(room, &told, si, "");
    return room;
}

const char *figure_tell(char room[FIGURE_ROOM], double si, const char *unit, const char *customary,
                        enum unit_system system)
{
    char spare[8];
    struct unit told = figure_unit(si, unit, customary, system);
    if (unit_is_awg(&told)) {
        snprintf(room, FIGURE_ROOM, "%s AWG", awg_name(si, spare));
        return room;
    }
    print_figure(room, &told, si, told.name ? told.name : unit);
    return room;
}
