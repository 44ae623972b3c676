/* figures_json.c - every attribute of every part, in every condition, as JSON. An
 * attribute that nothing is known of has no key, and neither has a condition in
 * which one has no meaning. */
#include <math.h>

#include "report/figures.h"
#include "report/jotter.h"
#include "solve/solve.h"

static void jot_working(struct jotter *jotter, json_t *object, const char *key,
                        const struct rig *rig, size_t part, size_t index, enum condition condition)
{
    struct text lines = {0};
    solve_working(rig, part, (int)index, condition, &lines);
    if (lines.length)
        jot_set(jotter, object, key, jot_lines(jotter, lines.bytes));
    if (lines.failed)
        jotter->failed = true;
    text_drop(&lines);
}

static void jot_known(struct jotter *jotter, json_t *item, const struct part *part, size_t index)
{
    const struct part_value *value = &part->values[index];
    jot_set(jotter, item, "unit", jot_unit(jotter, &value->value));
    jot_set(jotter, item, "from", jot_string(jotter, origin_name(value->origin)));
    jot_set(jotter, item, "value", jot_value(jotter, &value->value));
    if (value->origin == ORIGIN_ASSUMED)
        jot_set(jotter, item, "because", jot_string(jotter, value->because));
    if (value->origin == ORIGIN_LISTED && part->entry)
        jot_set(jotter, item, "entry", jot_string(jotter, part->entry->name));
    if (value->origin == ORIGIN_GIVEN)
        jot_set(jotter, item, "line", jot_number(jotter, value->at.line));
}

static void jot_solved_unit(struct jotter *jotter, json_t *item, const struct attribute *attribute)
{
    struct value value;
    if (solved_value(attribute, 0.0, &value))
        jot_set(jotter, item, "unit", jot_unit(jotter, &value));
    jot_set(jotter, item, "from", jot_string(jotter, origin_name(ORIGIN_SOLVED)));
}

static void jot_each_condition(struct jotter *jotter, json_t *item, const struct rig *rig,
                               size_t part, size_t index)
{
    const struct attribute *attribute = &rig->parts[part].kind->attributes[index];
    const double *solved = rig->parts[part].values[index].solved;
    json_t *values = jot_object(jotter), *working = jot_object(jotter);
    for (unsigned c = 0; values && working && c < CONDITION_COUNT; c++) {
        struct value value;
        const char *name = condition_name((enum condition)c);
        if (!solved_value(attribute, solved[c], &value))
            continue;
        jot_set(jotter, values, name, jot_value(jotter, &value));
        jot_working(jotter, working, name, rig, part, index, (enum condition)c);
    }
    jot_set(jotter, item, "values", values);
    if (working && json_object_size(working) == 0)
        json_decref(working);
    else
        jot_set(jotter, item, "working", working);
}

static void jot_once(struct jotter *jotter, json_t *item, const struct rig *rig, size_t part,
                     size_t index)
{
    const struct attribute *attribute = &rig->parts[part].kind->attributes[index];
    struct value value;
    if (solved_value(attribute, rig->parts[part].values[index].solved[0], &value))
        jot_set(jotter, item, "value", jot_value(jotter, &value));
    jot_working(jotter, item, "working", rig, part, index, CONDITION_BRIGHT_NOON);
}

/* A figure of something: some of what it may be of, each with its value, in SI. */
static void jot_series(struct jotter *jotter, json_t *item, const struct rig *rig, size_t part,
                       size_t index)
{
    const struct attribute *attribute = &rig->parts[part].kind->attributes[index];
    const struct part_series *series = rig->parts[part].values[index].series;
    json_t *table = jot_array(jotter);
    char spare[64];
    for (size_t i = 0; table && i < series->count; i++) {
        json_t *row = jot_object(jotter);
        if (!row)
            break;
        jot_set(jotter, row, "of", jot_number(jotter, series->at[i]));
        jot_set(jotter, row, "value", jot_number(jotter, series->value[i]));
        jot_append(jotter, table, row);
    }
    jot_set(jotter, item, "of", jot_string(jotter, dimension_si(attribute->of_dimension, spare)));
    jot_set(jotter, item, "table", table);
    jot_working(jotter, item, "working", rig, part, index, CONDITION_BRIGHT_NOON);
}

/* An attribute that is known somewhere; NULL for the others and when memory ran out. */
static json_t *jot_attribute(struct jotter *jotter, const struct rig *rig, size_t index, size_t i)
{
    const struct part *part = &rig->parts[index];
    const struct attribute *attribute = &part->kind->attributes[i];
    const struct part_value *value = &part->values[i];
    bool once = value->solved && attribute->solved == SOLVED_ONCE;
    bool known = attribute->of   ? value->series && value->series->count
                 : once          ? !isnan(value->solved[0])
                 : value->solved ? figures_is_somewhere(part, i)
                                 : value->value.type != VALUE_NONE;
    json_t *item = known ? jot_object(jotter) : NULL;
    if (!item)
        return NULL;
    if (value->solved)
        jot_solved_unit(jotter, item, attribute);
    if (attribute->of)
        jot_series(jotter, item, rig, index, i);
    else if (once)
        jot_once(jotter, item, rig, index, i);
    else if (value->solved)
        jot_each_condition(jotter, item, rig, index, i);
    else
        jot_known(jotter, item, part, i);
    return item;
}

static json_t *jot_part(struct jotter *jotter, const struct rig *rig, size_t index)
{
    const struct part *part = &rig->parts[index];
    json_t *item = jot_object(jotter), *attributes = jot_object(jotter);
    for (size_t i = 0; attributes && i < part->kind->attribute_count; i++) {
        json_t *attribute = jot_attribute(jotter, rig, index, i);
        if (attribute)
            jot_set(jotter, attributes, part->kind->attributes[i].name, attribute);
    }
    if (!item) {
        json_decref(attributes);
        return NULL;
    }
    jot_set(jotter, item, "kind", jot_string(jotter, part->kind->name));
    jot_set(jotter, item, "attributes", attributes);
    return item;
}

static void write_string(struct text *out, const char *string)
{
    struct jotter jotter = {0};
    jot_write(&jotter, jot_string(&jotter, string), 0, out);
}

void figures_json_begin(struct text *out, const struct rig *rig)
{
    text_add(out, "{\n  \"rigtally\": 1,\n  \"file\": ");
    write_string(out, rig->file);
    text_add(out, ",\n  \"name\": ");
    write_string(out, rig->name);
    text_add(out, ",\n  \"parts\": {");
}

void figures_json_part(struct text *out, const struct rig *rig, size_t index)
{
    struct jotter jotter = {0};
    text_add(out, index ? ",\n    " : "\n    ");
    write_string(out, rig->parts[index].id);
    text_add(out, ": ");
    jot_write(&jotter, jot_part(&jotter, rig, index), 4, out);
}

void figures_json_end(struct text *out)
{
    text_add(out, "\n  }\n}\n");
}
