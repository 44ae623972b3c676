/* parse.c - a quantity or a range of them as written in a file. */
#include "quantity/inside.h"

#include <math.h>
#include <string.h>

/* A quantity before its unit is applied: one end of a range may borrow the other's. */
struct reading {
    const char *digits; /* the number as written, for a wire size */
    size_t length;
    double number;
    bool slash; /* "3/0" */
    struct unit unit;
    bool has_unit;
};

static const char bad_size[] = "is not a wire size; AWG goes from 40 to 4/0";

size_t blank_length(const char *text, size_t length)
{
    static const char *const wide[] = {"\xc2\xa0", "\xe2\x80\x89",
                                       "\xe2\x80\xaf"}; /* U+00A0, 2009, 202F */
    if (length == 0)
        return 0;
    if ((unsigned char)text[0] < 0x80)
        return text[0] == ' ' || text[0] == '\t';
    for (size_t i = 0; i < sizeof wide / sizeof *wide; i++) {
        size_t bytes = strlen(wide[i]);
        if (length >= bytes && memcmp(text, wide[i], bytes) == 0)
            return bytes;
    }
    return 0;
}

static void skip_blanks(const char **text, size_t *length)
{
    size_t step;
    while ((step = blank_length(*text, *length)) > 0) {
        *text += step;
        *length -= step;
    }
}

static void trim(const char **text, size_t *length)
{
    skip_blanks(text, length);
    while (*length > 0 && ((*text)[*length - 1] == ' ' || (*text)[*length - 1] == '\t'))
        --*length;
}

/* Splits a trimmed text into its number and its unit. */
static bool read(const char *text, size_t length, struct reading *out, const char **why)
{
    size_t used = awg_slash_length(text, length);
    *out = (struct reading){.digits = text, .slash = used > 0};
    if (!out->slash && !number_scan(text, length, &used, &out->number, why))
        return false;
    const char *rest = out->slash ? NULL : number_rest(text, length, used);
    if (rest) {
        *why = rest;
        return false;
    }
    out->length = used;
    text += used;
    length -= used;
    skip_blanks(&text, &length);
    out->has_unit = length > 0;
    if (unit_find(text, length, &out->unit))
        return true;
    *why = "has a unit that is not known";
    return false;
}

static bool in_unit(const struct reading *reading, const struct unit *unit, struct quantity *out,
                    const char **why)
{
    struct quantity quantity = {.dimension = unit->dimension};
    if (unit_is_awg(unit)) {
        *why = bad_size;
        if (!awg_area(reading->digits, reading->length, &quantity.value))
            return false;
        *out = quantity;
        return true;
    }
    *why = "is a fraction; write it with a point";
    if (reading->slash)
        return false;
    quantity.value = reading->number * unit->scale + unit->offset;
    *why = "is too large a number";
    if (!isfinite(quantity.value))
        return false;
    *why = "is below absolute zero";
    if (quantity.dimension.absolute && quantity.value < -273.15)
        return false;
    *out = quantity;
    return true;
}

bool quantity_parse(const char *text, struct quantity *out, struct unit *unit, const char **why)
{
    size_t length = strlen(text);
    struct reading reading;
    trim(&text, &length);
    if (!read(text, length, &reading, why)) {
        if (strstr(text, ".."))
            *why = "is a range, where one figure is due";
        return false;
    }
    if (!in_unit(&reading, &reading.unit, out, why))
        return false;
    if (unit)
        *unit = reading.unit;
    return true;
}

/* Where the two points (or their one sign) stand; NULL: nowhere. */
static const char *find_points(const char *text, size_t *length)
{
    const char *points = strstr(text, "..");
    const char *sign = strstr(text, "\xe2\x80\xa6"); /* U+2026 */
    *length = points ? 2 : 3;
    return points ? points : sign;
}

static bool read_ends(const char *text, struct reading *low, struct reading *high, const char **why)
{
    size_t points_length;
    const char *points = find_points(text, &points_length);
    if (!points) {
        *why = "is not a range; write its low end, two points, its high end";
        return false;
    }
    size_t low_length = (size_t)(points - text);
    const char *high_text = points + points_length;
    size_t high_length = strlen(high_text);
    trim(&text, &low_length);
    trim(&high_text, &high_length);
    *why = "has only one end";
    if (low_length == 0 || high_length == 0)
        return false;
    return read(text, low_length, low, why) && read(high_text, high_length, high, why);
}

bool range_parse(const char *text, struct quantity *low, struct quantity *high, struct unit *unit,
                 const char **why)
{
    struct reading ends[2];
    struct quantity from, to;
    if (!read_ends(text, &ends[0], &ends[1], why))
        return false;
    if (ends[0].has_unit && !ends[1].has_unit) {
        *why = "has a unit at its low end only; write it at the high end";
        return false;
    }
    const struct unit *low_unit = ends[0].has_unit ? &ends[0].unit : &ends[1].unit;
    if (!in_unit(&ends[0], low_unit, &from, why) || !in_unit(&ends[1], &ends[1].unit, &to, why))
        return false;
    *why = "has ends of different kinds";
    if (!dimension_same(from.dimension, to.dimension))
        return false;
    bool falls = from.value > to.value;
    *why = "has its low end above its high end";
    if (falls && !(unit_is_awg(low_unit) && unit_is_awg(&ends[1].unit)))
        return false;
    *low = falls ? to : from; /* the number of a wire size falls as the wire grows */
    *high = falls ? from : to;
    if (unit)
        *unit = ends[1].unit;
    return true;
}
