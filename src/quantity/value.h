/* value.h - what an attribute can hold. Knows dimensions and words, not which
 * attribute it is. Strings and arrays belong to the arena of whoever made them. */
#ifndef RT_VALUE_H
#define RT_VALUE_H
#include "base/text.h"
#include "quantity/quantity.h"

enum value_type {
    VALUE_NONE,     /* nothing: unknown */
    VALUE_QUANTITY, /* 12 V; also counts (no dimension) */
    VALUE_RANGE,    /* 6 .. 26 V */
    VALUE_WORD,     /* one of the attribute's words; yes and no are words */
    VALUE_WORDS,    /* a list of them */
    VALUE_TEXT,     /* free text: a note */
    VALUE_POINTS,   /* a list of [flow, head] */
    VALUE_ID,       /* another part's id */
    VALUE_IDS,
    VALUE_FITTINGS, /* a map from a fitting's name to its number and, perhaps, k */
};

struct value_point {
    struct quantity x, y;
};

struct value_fitting {
    const char *name;
    double number;
    double k; /* NAN: from the table */
};

struct value {
    enum value_type type;
    const char *unit; /* as the user wrote it; NULL when not written */
    union {
        struct quantity quantity;
        struct {
            struct quantity low, high;
        } range;
        const char *word; /* WORD, TEXT, ID */
        struct {
            const char *const *at;
            size_t count;
        } words; /* WORDS, IDS */
        struct {
            const struct value_point *at;
            size_t count;
        } points;
        struct {
            const struct value_fitting *at;
            size_t count;
        } fittings;
    } as;
};

/* Prints a value as a person would write it: "15 A", "6 V .. 26 V", "yes", "always, timed".
 * Quantities in the unit of this name ("": a bare number; NULL or one that does not fit: as a
 * practitioner expects). */
void value_print(struct text *text, const struct value *value, const char *unit);

/* The same for those who read in `system`: in what stands there in the place of that unit;
 * `customary`: in US customary units in this one instead (NULL: as a rule). Both ends of a range in
 * the unit that fits the larger. */
void value_tell(struct text *text, const struct value *value, const char *unit,
                const char *customary, enum unit_system system);
/* In the unit in which it was written. In customary units a gauge has its area beside it: "14 AWG
 * (2.08 mm2)". */
void value_echo(struct text *text, const struct value *value, enum unit_system system);
#endif
