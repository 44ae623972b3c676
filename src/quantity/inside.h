/* inside.h - what the files of this folder share and nobody else needs. */
#ifndef RT_QUANTITY_INSIDE_H
#define RT_QUANTITY_INSIDE_H
#include "quantity/quantity.h"

#define WRITINGS 8 /* of one unit, its name among them */
#define WRITING_ROOM 12

struct unit_row {
    struct unit unit;
    bool asked;       /* named in hints */
    double shown;     /* least figure for which printing chooses it; INFINITY: never */
    const char *word; /* of its dimension, on the row of the SI unit; else NULL */
    char writings[WRITINGS]
                 [WRITING_ROOM]; /* filled up with NULs; the longest has none at its end */
};

extern const struct unit_row unit_rows[];
extern const size_t unit_row_count;

/* Reads the longest number at the start of text[0..length); *used gets its length. Blanks are not
 * skipped. False, with *why, when there is none or when it is not finite. */
bool number_scan(const char *text, size_t length, size_t *used, double *out, const char **why);
/* Why text[0..length), read as a number up to `used`, is not a number as a whole; NULL when what
 * follows may well be a unit. */
const char *number_rest(const char *text, size_t length, size_t used);

/* As quantity_print, with so many significant digits. */
#define DIGITS_USUAL 3
void print_digits(struct text *text, struct quantity quantity, const struct unit *unit, int digits);

/* The unit that a practitioner expects for that size and dimension; NULL when it has none. */
const struct unit *quantity_unit(struct quantity quantity);

/* The bytes of a blank at the start of text[0..length), the no-break and thin ones among them; 0:
 * none. */
size_t blank_length(const char *text, size_t length);

/* True for the one unit that is not a multiple of its SI unit. */
bool unit_is_awg(const struct unit *unit);
/* The bytes at the start of text[0..length) that write a size of many noughts as "3/0"; 0: none. */
size_t awg_slash_length(const char *text, size_t length);
/* Area of the conductor in m2 for a size as written: "14", "0", "000", "3/0". False when there is
 * no such size between 40 and 4/0. */
bool awg_area(const char *text, size_t length, double *out);
/* The size as written whose area is within 0.1 % of that, or NULL. */
const char *awg_name(double area_m2, char spare[8]);
#endif
