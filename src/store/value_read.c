/* value_read.c - one function for each type of value; each says what was wrong
 * and what would do. */
#include "store/value_read.h"

#include <math.h>
#include <string.h>

#include "base/names.h"
#include "store/faults.h"
#include "store/shape.h"

struct reading {
    struct arena *arena;
    const struct attribute *attribute;
    struct faults faults;
    bool no_memory;
};

#define MOST_VALUE_FAULTS 100 /* told of one value */
#define COMPLAIN(reading, topic, at, ...) FAULT(&(reading)->faults, (topic), (at), __VA_ARGS__)

/* What a curve's points are: flow, then head. */
static const struct dimension flow = {.exponent = {[BASE_M] = 3, [BASE_S] = -1}};
static const struct dimension head = {.exponent = {[BASE_M] = 1}};

static const char *article(const char *word)
{
    return strchr("aeiou", word[0]) ? "an" : "a";
}

static const char *units_of(struct reading *reading, struct dimension dimension)
{
    char units[128];
    dimension_units(dimension, units, sizeof units);
    const char *kept = arena_string(reading->arena, units);
    reading->no_memory |= !kept;
    return kept ? kept : "";
}

/* "12 A is a current", or what it is not. */
static void wrong_dimension(struct reading *reading, struct place at, const char *what,
                            const char *text, struct dimension is, struct dimension want)
{
    const char *word = dimension_word(is);
    if (word)
        COMPLAIN(reading, TOPIC_UNITS, at, "%s is %s %s; %s takes %s.", text, article(word), word,
                 what, units_of(reading, want));
    else
        COMPLAIN(reading, TOPIC_UNITS, at, "%s takes %s; %s is something else.", what,
                 units_of(reading, want), text);
}

static void check_dimension(struct reading *reading, struct place at, const char *what,
                            const char *text, struct dimension is, struct dimension want)
{
    if (dimension_same(is, want))
        return;
    if (dimension_same(is, dimension_none))
        COMPLAIN(reading, TOPIC_UNITS, at, "%s has no unit; %s takes %s.", text, what,
                 units_of(reading, want));
    else if (dimension_same(want, dimension_none))
        COMPLAIN(reading, TOPIC_UNITS, at, "%s has a unit; %s takes a bare number.", text, what);
    else
        wrong_dimension(reading, at, what, text, is, want);
}

static bool also_fits(const struct attribute *attribute, struct dimension dimension)
{
    struct unit also;
    return attribute->also_unit &&
           unit_find(attribute->also_unit, strlen(attribute->also_unit), &also) &&
           dimension_same(dimension, also.dimension);
}

/* Where 5 degC means a difference of 5 K: takes the scale's zero out again. */
static void make_difference(struct quantity *quantity, const struct unit *unit)
{
    if (!quantity->dimension.absolute)
        return;
    quantity->value -= unit->offset;
    quantity->dimension.absolute = false;
}

/* A limit as its kind writes it, or for those who wrote in a customary unit in that. */
static const char *limit_words(struct text *words, struct quantity limit, const char *written,
                               const struct unit *unit)
{
    if (!unit_is_customary(unit))
        return written;
    quantity_print(words, limit, unit);
    return words->failed || !words->length ? written : words->bytes;
}

/* The value against the attribute's limits; both are in SI. */
static void check_limits(struct reading *reading, struct place at, const char *text,
                         struct quantity quantity, const struct unit *unit)
{
    const struct attribute *attribute = reading->attribute;
    struct text words = {0};
    if (quantity.value < attribute->least) {
        quantity.value = attribute->least;
        COMPLAIN(reading, TOPIC_UNITS, at, "%s is too little; %s is at least %s.", text,
                 attribute->name, limit_words(&words, quantity, attribute->minimum, unit));
    } else if (quantity.value > attribute->most) {
        quantity.value = attribute->most;
        COMPLAIN(reading, TOPIC_UNITS, at, "%s is too much; %s is at most %s.", text,
                 attribute->name, limit_words(&words, quantity, attribute->maximum, unit));
    }
    text_drop(&words);
}

static void check_quantity(struct reading *reading, struct place at, const char *text,
                           struct quantity *quantity, const struct unit *unit)
{
    const struct attribute *attribute = reading->attribute;
    if (attribute->difference)
        make_difference(quantity, unit);
    if (also_fits(attribute, quantity->dimension))
        return;
    check_dimension(reading, at, attribute->name, text, quantity->dimension, attribute->dimension);
    if (reading->faults.count == 0)
        check_limits(reading, at, text, *quantity, unit);
}

static const char *node_word(const struct node *node)
{
    switch (node->type) {
    case NODE_MAPPING:
        return "a mapping";
    case NODE_SEQUENCE:
        return "a list";
    default:
        return node->empty ? "nothing" : "one word";
    }
}

/* The text of a scalar that must be there, or NULL after a complaint. `like` is an example. */
static const char *scalar(struct reading *reading, const struct node *node, const char *like)
{
    if (node->damaged) { /* told already */
        reading->faults.count++;
        return NULL;
    }
    if (node->type == NODE_SCALAR && !node->empty && node->text[0])
        return node->text;
    if (node->type == NODE_SCALAR)
        COMPLAIN(reading, TOPIC_UNITS, node->at, "%s is empty; give it %s or leave it out.",
                 reading->attribute->name, like);
    else
        COMPLAIN(reading, TOPIC_UNITS, node->at, "%s takes %s, but there is %s.",
                 reading->attribute->name, like, node_word(node));
    return NULL;
}

static void read_quantity(struct reading *reading, const struct node *node, struct value *out)
{
    struct unit unit = {.name = NULL};
    const char *why, *text = scalar(reading, node, "one value");
    if (!text)
        return;
    const char *seen = shown(reading->faults.diagnostics, text);
    if (strstr(text, ".."))
        COMPLAIN(reading, TOPIC_UNITS, node->at, "%s takes one value, not a range.",
                 reading->attribute->name);
    else if (!quantity_parse(text, &out->as.quantity, &unit, &why))
        COMPLAIN(reading, TOPIC_UNITS, node->at, "%s %s.", seen, why);
    else
        check_quantity(reading, node->at, seen, &out->as.quantity, &unit);
    out->unit = unit.name;
}

static void read_range(struct reading *reading, const struct node *node, struct value *out)
{
    struct unit unit;
    const char *why, *text = scalar(reading, node, "a range");
    if (!text)
        return;
    const char *seen = shown(reading->faults.diagnostics, text);
    if (!range_parse(text, &out->as.range.low, &out->as.range.high, &unit, &why)) {
        COMPLAIN(reading, TOPIC_UNITS, node->at, "%s %s.", seen, why);
        return;
    }
    out->unit = unit.name;
    check_quantity(reading, node->at, seen, &out->as.range.low, &unit);
    if (reading->faults.count == 0)
        check_quantity(reading, node->at, seen, &out->as.range.high, &unit);
}

static const char *allowed(const struct attribute *attribute, const char *word)
{
    for (size_t i = 0; i < attribute->word_count; i++)
        if (strcmp(attribute->words[i], word) == 0)
            return attribute->words[i];
    return NULL;
}

static bool same_letters(const char *a, const char *b)
{
    for (; *a && *b; a++, b++) {
        char small = *a >= 'A' && *a <= 'Z' ? (char)(*a + 32) : *a;
        if (small != *b)
            return false;
    }
    return *a == *b;
}

/* Other writings of yes and no, of which some readers of YAML make truth values. */
static const char *truth_word(const char *word)
{
    static const char *const others[][2] = {
        {"yes", "yes"}, {"true", "yes"}, {"on", "yes"}, {"y", "yes"},
        {"no", "no"},   {"false", "no"}, {"off", "no"}, {"n", "no"},
    };
    for (size_t i = 0; i < sizeof others / sizeof *others; i++)
        if (same_letters(word, others[i][0]))
            return others[i][1];
    return NULL;
}

/* `verb`: "cannot be" or "has no" */
static void unknown_word(struct reading *reading, struct place at, const char *word,
                         const char *verb)
{
    const struct attribute *attribute = reading->attribute;
    const char *truth = truth_word(word), *seen = shown(reading->faults.diagnostics, word);
    struct near_search search;
    near_begin(&search, word);
    for (size_t i = 0; i < attribute->word_count; i++)
        near_offer(&search, attribute->words[i]);
    const char *words =
        words_or(reading->faults.diagnostics, attribute->words, attribute->word_count);
    if (truth && allowed(attribute, truth))
        COMPLAIN(reading, TOPIC_WORDS, at, "%s takes yes or no; write %s in place of '%s'.",
                 attribute->name, truth, seen);
    else if (near_best(&search))
        COMPLAIN(reading, TOPIC_WORDS, at, "%s %s '%s'; did you mean %s?", attribute->name, verb,
                 seen, near_best(&search));
    else
        COMPLAIN(reading, TOPIC_WORDS, at, "%s %s '%s'; it takes %s.", attribute->name, verb, seen,
                 words);
}

static const char *what_it_takes(enum value_type type)
{
    switch (type) {
    case VALUE_TEXT:
        return "a text";
    case VALUE_ID:
    case VALUE_IDS:
        return "the id of a part";
    default:
        return "a word";
    }
}

/* A word of the attribute's list, or any when it has none. */
static const char *read_word(struct reading *reading, const struct node *node)
{
    const struct attribute *attribute = reading->attribute;
    const char *text = scalar(reading, node, what_it_takes(attribute->type));
    if (!text)
        return NULL;
    if (attribute->word_count > 0) {
        const char *word = allowed(attribute, text);
        if (!word)
            unknown_word(reading, node->at, text, "cannot be");
        return word;
    }
    const char *word = arena_string(reading->arena, text);
    reading->no_memory |= !word;
    return word;
}

/* One word may stand without brackets. */
static void read_words(struct reading *reading, const struct node *node, struct value *out)
{
    bool list = node->type == NODE_SEQUENCE;
    size_t count = list ? node->count : 1;
    const char **words = ARENA_TAKE(reading->arena, count + 1, const char *);
    reading->no_memory |= !words;
    for (size_t i = 0; words && !faults_full(&reading->faults) && i < count; i++)
        words[i] = read_word(reading, list ? node->items[i] : node);
    out->as.words.at = words;
    out->as.words.count = count;
}

/* False when it is no pair at all: the rest of the list will not be better. */
static bool read_point(struct reading *reading, const struct node *node, struct value_point *out)
{
    static const char *const names[2] = {"the first figure of a point",
                                         "the second figure of a point"};
    const struct dimension wants[2] = {flow, head};
    struct quantity *into[2] = {&out->x, &out->y};
    if (node->type != NODE_SEQUENCE || node->count != 2) {
        COMPLAIN(reading, TOPIC_UNITS, node->at,
                 "a point of %s is [flow, head], as [120 L/h, 2.5 m].", reading->attribute->name);
        return false;
    }
    for (size_t i = 0; i < 2; i++) {
        const char *why, *text = scalar(reading, node->items[i], "one value");
        if (!text)
            continue;
        const char *seen = shown(reading->faults.diagnostics, text);
        if (!quantity_parse(text, into[i], NULL, &why))
            COMPLAIN(reading, TOPIC_UNITS, node->items[i]->at, "%s %s.", seen, why);
        else
            check_dimension(reading, node->items[i]->at, names[i], seen, into[i]->dimension,
                            wants[i]);
    }
    return true;
}

static void read_points(struct reading *reading, const struct node *node, struct value *out)
{
    if (node->type != NODE_SEQUENCE || node->count == 0) {
        COMPLAIN(reading, TOPIC_UNITS, node->at,
                 "%s takes points, flow first, as [[0 L/h, 4 m], [420 L/h, 0 m]].",
                 reading->attribute->name);
        return;
    }
    struct value_point *points = ARENA_TAKE(reading->arena, node->count, struct value_point);
    reading->no_memory |= !points;
    for (size_t i = 0; points && !faults_full(&reading->faults) && i < node->count; i++)
        if (!read_point(reading, node->items[i], &points[i]))
            return;
    out->as.points.at = points;
    out->as.points.count = node->count;
}

/* A bare number, zero or more, of a fitting's. */
static double read_number(struct reading *reading, const struct node *node, const char *name)
{
    double number;
    const char *why, *text = scalar(reading, node, "a number");
    if (!text)
        return 0.0;
    const char *seen = shown(reading->faults.diagnostics, text);
    if (!number_parse(text, strlen(text), &number, &why)) {
        COMPLAIN(reading, TOPIC_UNITS, node->at, "%s %s.", seen, why);
        return 0.0;
    }
    if (number < 0.0)
        COMPLAIN(reading, TOPIC_UNITS, node->at, "%s is less than none; %s takes zero or more.",
                 seen, name);
    return number;
}

/* `3`, or `{ number: 1, k: 2 }`, in which either may be left out. */
static void read_fitting(struct reading *reading, const struct node *node,
                         struct value_fitting *out)
{
    out->number = 1.0;
    out->k = NAN;
    if (node->type != NODE_MAPPING) {
        out->number = read_number(reading, node, out->name);
        return;
    }
    for (size_t i = 0; i < node->count && !faults_full(&reading->faults); i++) {
        const struct node_pair *pair = &node->pairs[i];
        if (strcmp(pair->key, "number") == 0)
            out->number = read_number(reading, pair->value, "number");
        else if (strcmp(pair->key, "k") == 0)
            out->k = read_number(reading, pair->value, "k");
        else if (cut_by_comma(pair))
            COMPLAIN(reading, TOPIC_UNITS, pair->key_at, CUT_BY_COMMA,
                     shown(reading->faults.diagnostics, pair->key));
        else
            COMPLAIN(reading, TOPIC_WORDS, pair->key_at,
                     "a fitting has no '%s'; it may have number or k.",
                     shown(reading->faults.diagnostics, pair->key));
    }
}

static void read_fittings(struct reading *reading, const struct node *node, struct value *out)
{
    if (node->type != NODE_MAPPING) {
        COMPLAIN(reading, TOPIC_WORDS, node->at, "%s takes names with numbers, as { elbow: 3 }.",
                 reading->attribute->name);
        return;
    }
    struct value_fitting *fittings =
        ARENA_TAKE(reading->arena, node->count + 1, struct value_fitting);
    reading->no_memory |= !fittings;
    for (size_t i = 0; fittings && !faults_full(&reading->faults) && i < node->count; i++) {
        const struct node_pair *pair = &node->pairs[i];
        if (reading->attribute->word_count > 0 && !allowed(reading->attribute, pair->key))
            unknown_word(reading, pair->key_at, pair->key, "has no");
        fittings[i].name = arena_string(reading->arena, pair->key);
        reading->no_memory |= !fittings[i].name;
        if (fittings[i].name)
            read_fitting(reading, pair->value, &fittings[i]);
    }
    out->as.fittings.at = fittings;
    out->as.fittings.count = node->count;
}

static void read_by_type(struct reading *reading, const struct node *node, struct value *out)
{
    switch (reading->attribute->type) {
    case VALUE_QUANTITY:
        read_quantity(reading, node, out);
        break;
    case VALUE_RANGE:
        read_range(reading, node, out);
        break;
    case VALUE_WORD:
    case VALUE_TEXT:
    case VALUE_ID:
        out->as.word = read_word(reading, node);
        break;
    case VALUE_WORDS:
    case VALUE_IDS:
        read_words(reading, node, out);
        break;
    case VALUE_POINTS:
        read_points(reading, node, out);
        break;
    case VALUE_FITTINGS:
        read_fittings(reading, node, out);
        break;
    case VALUE_NONE:
        reading->faults.count++; /* the attribute itself was refused */
        break;
    }
}

enum outcome value_read(struct arena *arena, const struct node *node,
                        const struct attribute *attribute, struct diagnostics *diagnostics,
                        struct value *out)
{
    struct reading reading = {.arena = arena,
                              .attribute = attribute,
                              .faults = {.diagnostics = diagnostics, .most = MOST_VALUE_FAULTS}};
    *out = (struct value){.type = attribute->type};
    read_by_type(&reading, node, out);
    if (reading.faults.count == 0 && !reading.no_memory)
        return OUTCOME_OK;
    *out = (struct value){.type = VALUE_NONE};
    return reading.no_memory || diagnostics->out_of_memory ? OUTCOME_NO_MEMORY : OUTCOME_REFUSED;
}

enum outcome value_read_text(struct arena *arena, const char *text, struct place at,
                             const struct attribute *attribute, struct diagnostics *diagnostics,
                             struct value *out)
{
    struct diagnostics local = {.arena = diagnostics->arena};
    struct node plain = {.type = NODE_SCALAR, .text = text}, *node = &plain;
    enum outcome outcome = OUTCOME_OK;
    *out = (struct value){.type = VALUE_NONE};
    if (!flow_text_is_plain(text)) /* most are, and need no reader of YAML */
        outcome = document_read(arena, at.file ? at.file : attribute->name, text, strlen(text),
                                &document_limits_default, &local, &node);
    if (outcome == OUTCOME_OK && node)
        outcome = value_read(arena, node, attribute, &local, out);
    for (size_t i = 0; i < local.count; i++)
        diagnostics_add(diagnostics, local.at[i].level, local.at[i].topic, at, "%s",
                        local.at[i].message);
    diagnostics->out_of_memory |= local.out_of_memory;
    return diagnostics->out_of_memory ? OUTCOME_NO_MEMORY : outcome;
}
