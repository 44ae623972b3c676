/* jotter.h - building JSON with jansson, failing once and for all: after an
 * allocation fails further additions do nothing, and `failed` says so. Private to
 * the report layer. */
#ifndef RT_REPORT_JOTTER_H
#define RT_REPORT_JOTTER_H
#include <jansson.h>

#include "base/text.h"
#include "quantity/value.h"

struct jotter {
    bool failed;
    struct text spare; /* for making strings valid UTF-8 */
};

json_t *jot_object(struct jotter *jotter);
json_t *jot_array(struct jotter *jotter);
/* A string from a file or an argument; NULL gives null. */
json_t *jot_string(struct jotter *jotter, const char *string);
/* A whole number is written without a point; what is not finite as null. */
json_t *jot_number(struct jotter *jotter, double number);
json_t *jot_bool(struct jotter *jotter, bool truth);
/* Lines that each end with \n, as an array of {"text": line}. */
json_t *jot_lines(struct jotter *jotter, const char *lines);
/* These take `item` over, also when they fail; a NULL item is a failure met before. */
void jot_set(struct jotter *jotter, json_t *object, const char *key, json_t *item);
void jot_append(struct jotter *jotter, json_t *array, json_t *item);

/* A value in coherent SI units, and their name: ranges as [low, high], lists as arrays, points as
 * pairs, fittings as an object of objects. Words have the unit null. */
json_t *jot_value(struct jotter *jotter, const struct value *value);
json_t *jot_unit(struct jotter *jotter, const struct value *value);

/* Writes it, indented by `indent` blanks after its first line, escaped; drops `item` and the
 * jotter. */
void jot_write(struct jotter *jotter, json_t *item, unsigned indent, struct text *out);
#endif
