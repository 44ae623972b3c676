/* quantity.h - a number with a dimension. Values are held in SI; the unit the
 * user wrote matters only to printing. Knows nothing of YAML, rigs or rules. */
#ifndef RT_QUANTITY_H
#define RT_QUANTITY_H
#include <stdbool.h>
#include <stddef.h>

#include "base/text.h"

/* An angle has a base of its own, so that degrees never pass for a bare number; its SI unit is rad.
 */
enum base { BASE_M, BASE_KG, BASE_S, BASE_A, BASE_K, BASE_RAD, BASE_COUNT };

struct dimension {
    signed char exponent[BASE_COUNT];
    bool absolute; /* a temperature (degC), not a difference (K) */
};

struct quantity {
    double value; /* SI: V, A, m, m3/s, Pa, rad; degC when absolute */
    struct dimension dimension;
};

struct unit {
    const char
        *name;     /* as it is printed; "" for a bare number; NULL for a product without a name */
    double scale;  /* SI value of one; of a temperature: of a difference of one; AWG: NAN */
    double offset; /* degC of its zero (degF: -160/9.); 0 for all else */
    struct dimension dimension;
    const char *customary; /* told in its place in US customary units, where that is not what the
                              trade writes for it as a rule; NULL: as a rule */
};

/* Whose units figures are told in. */
enum unit_system { UNITS_METRIC, UNITS_CUSTOMARY };

extern const struct dimension dimension_none;
bool dimension_same(struct dimension a, struct dimension b);
/* "voltage", "flow", ... or NULL when it has no trade name. */
const char *dimension_word(struct dimension dimension);
/* Names of units that would do, the commonest first, as "V or mV"; into out, cut at size. */
void dimension_units(struct dimension dimension, char *out, size_t size);
/* The coherent SI unit in which JSON gives it: "V", "m3/s", "degC", "1"; made up from bases
 * into spare ("kg m2/s3") when it has no name. */
const char *dimension_si(struct dimension dimension, char spare[64]);

/* A unit by any of its common writings ("L/h", "l/h", "mm²", "sqmm", "gpm", "°C", "%/K");
 * products and quotients of known units are understood ("W/m2K", "kWh/m2"; in them degC is K).
 * "" and "1" are the bare number. False when unknown. */
bool unit_find(const char *name, size_t length, struct unit *out);
/* Every named unit in the table, for tests and docs; NULL past the end. */
const struct unit *unit_row(size_t index);
/* Where a writing is found by its letters: the numbers of all writings, -1 where there is none.
 * Filled when the tool is built; until then the count is 0, and the whole table is gone through. */
#define UNIT_SLOTS 2048
extern const short unit_slots[];
extern const size_t unit_slot_count;
void unit_fill_slots(short slots[UNIT_SLOTS]);

/* The number grammar: optional sign, digits, optional point and digits, optional exponent; the
 * whole of text[0..length); no locale; finite. On failure *why points at a constant phrase. */
bool number_parse(const char *text, size_t length, double *out, const char **why);

/* Reads "12 V", "2.5mm²", "14 AWG", "3 %", "-15 degC", "12" (no dimension). `unit`, when not NULL,
 * gets the unit as written. On failure *out is untouched and *why points at a constant phrase
 * that can follow the text ("has a decimal comma; write a point", "is not a number", ...). */
bool quantity_parse(const char *text, struct quantity *out, struct unit *unit, const char **why);
/* "-15 .. 34 degC" or "6 V .. 26 V": both ends of one dimension, low <= high. */
bool range_parse(const char *text, struct quantity *low, struct quantity *high, struct unit *unit,
                 const char **why);

/* False when the dimensions do not allow it; *out is then untouched. Temperatures: degC - degC = K,
 * degC +- K = degC; degC + degC is refused, and a degC can't be scaled. */
bool quantity_add(struct quantity a, struct quantity b, struct quantity *out);
bool quantity_subtract(struct quantity a, struct quantity b, struct quantity *out);
bool quantity_multiply(struct quantity a, struct quantity b, struct quantity *out);
bool quantity_divide(struct quantity a, struct quantity b, struct quantity *out);
bool quantity_power(struct quantity a, double exponent, struct quantity *out);

/* What was read as a temperature in `unit`, where a difference is meant: 9 degF is 5 K. Others
 * stay. */
struct quantity quantity_as_difference(struct quantity quantity, struct unit unit);

/* The dimensions alone, for checking formulas before there are values. */
bool dimension_add(struct dimension a, struct dimension b, struct dimension *out);
bool dimension_subtract(struct dimension a, struct dimension b, struct dimension *out);
bool dimension_multiply(struct dimension a, struct dimension b, struct dimension *out);
bool dimension_divide(struct dimension a, struct dimension b, struct dimension *out);
bool dimension_power(struct dimension a, double exponent, struct dimension *out);

/* Prints "11.6 A" in the unit given (NULL: a unit that a practitioner expects for that size and
 * dimension), three to four significant digits, no trailing noise, no exponent where a person
 * would not write one. */
void quantity_print(struct text *text, struct quantity quantity, const struct unit *unit);

/* Does the trade write this one in US customary units? */
bool unit_is_customary(const struct unit *unit);
/* The unit in which a figure is told that by itself is told in `unit`: L/h is gal/h in US customary
 * units, and gal/min for much; of K it is degF without its zero, for differences. Which one can
 * hang on the size of the figure, `si`. A unit that has no counterpart stays. */
struct unit unit_told(const struct unit *unit, enum unit_system system, double si);
/* Prints it so. In customary units a wire's size between two gauges names both: "8.04 mm2 (between
 * 10 and 8 AWG)". */
void quantity_tell(struct text *text, struct quantity quantity, const struct unit *unit,
                   enum unit_system system);
/* The same with as many digits as it takes to tell it from `other`, a figure of the same
 * dimension: 13.24 V beside 13.2 V. */
void quantity_tell_apart(struct text *text, struct quantity quantity, double other,
                         const struct unit *unit, enum unit_system system);
/* A round figure of a sentence stays one: in customary units it has two digits, a temperature whole
 * degrees. */
void quantity_tell_round(struct text *text, struct quantity quantity, const struct unit *unit,
                         enum unit_system system);
/* For sums that somebody reckons along with: four significant digits, of an SI value that is told
 * in the unit of this name; `customary`: in US customary units in this one (NULL: as a rule). Both
 * units are our own, so a name that is not known is our own mistake: asserted. Into room, which is
 * returned. */
#define FIGURE_ROOM 40
const char *figure_tell(char room[FIGURE_ROOM], double si, const char *unit, const char *customary,
                        enum unit_system system);
/* The number alone. */
const char *figure_bare(char room[FIGURE_ROOM], double si, const char *unit, const char *customary,
                        enum unit_system system);
/* "6 V .. 26 V": both ends in the unit that fits the larger. */
void range_tell(struct text *text, struct quantity low, struct quantity high,
                const struct unit *unit, enum unit_system system);
#endif
