/* jotter.c - JSON by jansson; the escape of that sink is put over the whole text. */
#include "report/jotter.h"

#include <math.h>
#include <string.h>

#include "report/report.h"

/* Fifteen significant digits come back as written (13.8, not 13.800000000000001) and are exact to
 * 1e-15. */
#define WRITTEN (JSON_ENCODE_ANY | JSON_INDENT(2) | JSON_REAL_PRECISION(15))
#define WHOLE_MAX 1e15 /* whole numbers up to here are written without a point */

static json_t *note(struct jotter *jotter, json_t *item)
{
    if (!item)
        jotter->failed = true;
    return item;
}

json_t *jot_object(struct jotter *jotter)
{
    return note(jotter, json_object());
}

json_t *jot_array(struct jotter *jotter)
{
    return note(jotter, json_array());
}

json_t *jot_string(struct jotter *jotter, const char *string)
{
    if (!string)
        return json_null();
    text_clear(&jotter->spare);
    escape_bad_bytes(&jotter->spare, string);
    if (jotter->spare.failed)
        return note(jotter, NULL);
    return note(jotter, json_string(jotter->spare.length ? jotter->spare.bytes : ""));
}

json_t *jot_number(struct jotter *jotter, double number)
{
    if (!isfinite(number))
        return json_null();
    if (number == floor(number) && fabs(number) < WHOLE_MAX)
        return note(jotter, json_integer((json_int_t)number));
    return note(jotter, json_real(number));
}

json_t *jot_bool(struct jotter *jotter, bool truth)
{
    (void)jotter;
    return truth ? json_true() : json_false();
}

void jot_set(struct jotter *jotter, json_t *object, const char *key, json_t *item)
{
    if (!item || json_object_set_new(object, key, item) != 0)
        jotter->failed = true;
}

void jot_append(struct jotter *jotter, json_t *array, json_t *item)
{
    if (!item || json_array_append_new(array, item) != 0)
        jotter->failed = true;
}

json_t *jot_lines(struct jotter *jotter, const char *lines)
{
    json_t *array = jot_array(jotter);
    struct text line = {0};
    while (array && *lines) {
        size_t length = strcspn(lines, "\n");
        text_clear(&line);
        text_add_bytes(&line, lines, length);
        jotter->failed = jotter->failed || line.failed; /* clearing forgets it */
        json_t *item = jot_object(jotter);
        if (item)
            jot_set(jotter, item, "text", jot_string(jotter, line.failed ? "" : line.bytes));
        jot_append(jotter, array, item);
        lines += length + (lines[length] == '\n');
    }
    text_drop(&line);
    return array;
}

/* ---- values ---- */

static json_t *number_pair(struct jotter *jotter, double first, double second)
{
    json_t *pair = jot_array(jotter);
    if (pair) {
        jot_append(jotter, pair, jot_number(jotter, first));
        jot_append(jotter, pair, jot_number(jotter, second));
    }
    return pair;
}

static json_t *word_list(struct jotter *jotter, const struct value *value)
{
    json_t *array = jot_array(jotter);
    for (size_t i = 0; array && i < value->as.words.count; i++)
        jot_append(jotter, array, jot_string(jotter, value->as.words.at[i]));
    return array;
}

static json_t *point_list(struct jotter *jotter, const struct value *value)
{
    json_t *array = jot_array(jotter);
    for (size_t i = 0; array && i < value->as.points.count; i++) {
        const struct value_point *point = &value->as.points.at[i];
        jot_append(jotter, array, number_pair(jotter, point->x.value, point->y.value));
    }
    return array;
}

static json_t *fitting_map(struct jotter *jotter, const struct value *value)
{
    json_t *map = jot_object(jotter);
    for (size_t i = 0; map && i < value->as.fittings.count; i++) {
        const struct value_fitting *fitting = &value->as.fittings.at[i];
        json_t *item = jot_object(jotter);
        if (item) {
            jot_set(jotter, item, "number", jot_number(jotter, fitting->number));
            if (!isnan(fitting->k))
                jot_set(jotter, item, "k", jot_number(jotter, fitting->k));
        }
        jot_set(jotter, map, fitting->name, item);
    }
    return map;
}

json_t *jot_value(struct jotter *jotter, const struct value *value)
{
    switch (value->type) {
    case VALUE_QUANTITY:
        return jot_number(jotter, value->as.quantity.value);
    case VALUE_RANGE:
        return number_pair(jotter, value->as.range.low.value, value->as.range.high.value);
    case VALUE_WORD:
    case VALUE_TEXT:
    case VALUE_ID:
        return jot_string(jotter, value->as.word);
    case VALUE_WORDS:
    case VALUE_IDS:
        return word_list(jotter, value);
    case VALUE_POINTS:
        return point_list(jotter, value);
    case VALUE_FITTINGS:
        return fitting_map(jotter, value);
    case VALUE_NONE:
        break;
    }
    return json_null();
}

json_t *jot_unit(struct jotter *jotter, const struct value *value)
{
    char spare[64], other[64];
    if (value->type == VALUE_QUANTITY)
        return jot_string(jotter, dimension_si(value->as.quantity.dimension, spare));
    if (value->type == VALUE_RANGE)
        return jot_string(jotter, dimension_si(value->as.range.low.dimension, spare));
    if (value->type != VALUE_POINTS || value->as.points.count == 0)
        return json_null();
    json_t *pair = jot_array(jotter);
    if (pair) {
        const struct value_point *point = value->as.points.at;
        jot_append(jotter, pair, jot_string(jotter, dimension_si(point->x.dimension, spare)));
        jot_append(jotter, pair, jot_string(jotter, dimension_si(point->y.dimension, other)));
    }
    return pair;
}

/* ---- writing ---- */

static int take_bytes(const char *bytes, size_t length, void *data)
{
    struct text *text = data;
    text_add_bytes(text, bytes, length);
    return text->failed ? -1 : 0;
}

/* jansson escapes line feeds in strings, so that those in its text are its own: indent after each.
 */
static void add_indented(struct text *out, const char *json, unsigned indent)
{
    for (;;) {
        size_t length = strcspn(json, "\n");
        text_add_bytes(out, json, length);
        json += length;
        if (*json == '\0')
            return;
        json++;
        text_print(out, "\n%*s", (int)indent, "");
    }
}

void jot_write(struct jotter *jotter, json_t *item, unsigned indent, struct text *out)
{
    struct text dumped = {0}, clean = {0};
    if (!item || jotter->failed || json_dump_callback(item, take_bytes, &dumped, WRITTEN) != 0)
        out->failed = true;
    json_decref(item);
    escape_json(&clean, dumped.length ? dumped.bytes : "");
    add_indented(out, clean.length ? clean.bytes : "", indent);
    if (clean.failed)
        out->failed = true;
    text_drop(&dumped);
    text_drop(&clean);
    text_drop(&jotter->spare);
}
