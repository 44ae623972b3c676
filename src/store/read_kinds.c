/* read_kinds.c - kinds and their attributes, from records and the tree. */
#include <math.h>
#include <string.h>

#include "store/reader.h"
#include "store/shape.h"

/* Types that are named; a unit or a list of words gives the others. */
static const struct {
    const char *name;
    enum value_type one, list;
} types[] = {
    {"word", VALUE_WORD, VALUE_WORDS},
    {"words", VALUE_WORDS, VALUE_WORDS},
    {"text", VALUE_TEXT, VALUE_NONE},
    {"id", VALUE_ID, VALUE_IDS},
    {"ids", VALUE_IDS, VALUE_IDS},
    {"points", VALUE_POINTS, VALUE_NONE},
    {"fittings", VALUE_FITTINGS, VALUE_NONE},
};
#define TYPE_COUNT (sizeof types / sizeof *types)

static enum value_type named_type(struct reader *reader, const struct node *node, const char *name,
                                  bool list)
{
    const char *names[TYPE_COUNT];
    for (size_t i = 0; i < TYPE_COUNT; i++) {
        names[i] = types[i].name;
        if (strcmp(types[i].name, name) != 0)
            continue;
        enum value_type type = list ? types[i].list : types[i].one;
        if (type == VALUE_NONE)
            COMPLAIN(reader, TOPIC_WORDS, value_of(node, "list")->at, "%s cannot be a list.", name);
        return type;
    }
    const char *all = words_or(reader->diagnostics, names, TYPE_COUNT);
    COMPLAIN(reader, TOPIC_WORDS, value_of(node, "type")->at, "'%s' is no type; there are %s.",
             shown(reader->diagnostics, name), all);
    return VALUE_NONE;
}

static bool takes_words(enum value_type type)
{
    return type == VALUE_WORD || type == VALUE_WORDS || type == VALUE_FITTINGS;
}

static void read_unit(struct reader *reader, const struct record_attribute *record,
                      const struct node *node, bool list, struct attribute *out)
{
    struct unit unit;
    if (list)
        COMPLAIN(reader, TOPIC_WORDS, value_of(node, "list")->at, "a quantity cannot be a list.");
    if (!unit_find(record->unit, strlen(record->unit), &unit)) {
        COMPLAIN(reader, TOPIC_UNITS, value_of(node, "unit")->at,
                 "'%s' is no unit that is known here.", shown(reader->diagnostics, record->unit));
        return;
    }
    out->dimension = unit.dimension;
    out->unit = keep(reader, record->unit);
}

/* The unit told in its place in US customary units. */
static void read_customary(struct reader *reader, const struct record_attribute *record,
                           const struct node *node, struct attribute *out)
{
    struct unit unit;
    if (!record->customary)
        return;
    struct place at = value_of(node, "customary")->at;
    if (!unit_find(record->customary, strlen(record->customary), &unit))
        COMPLAIN(reader, TOPIC_UNITS, at, "'%s' is no unit that is known here.",
                 shown(reader->diagnostics, record->customary));
    else if (!out->unit || !dimension_same(unit.dimension, out->dimension))
        COMPLAIN(reader, TOPIC_UNITS, at, "%s cannot be told in %s.", out->name,
                 shown(reader->diagnostics, record->customary));
    else
        out->customary = keep(reader, record->customary);
}

/* What an attribute holds: by its unit, its words or the name of a type. */
static void read_type(struct reader *reader, const struct record_attribute *record,
                      const struct node *node, struct attribute *out)
{
    bool list = keep_yes(reader, node, "list", record->list);
    bool range = keep_yes(reader, node, "range", record->range);
    out->words = keep_texts(reader, record->words, record->words_count);
    out->word_count = record->words_count;
    if (record->unit) {
        out->type = range ? VALUE_RANGE : VALUE_QUANTITY;
        read_unit(reader, record, node, list, out);
    } else if (record->type) {
        out->type = named_type(reader, node, record->type, list);
    } else if (record->words) {
        out->type = list ? VALUE_WORDS : VALUE_WORD;
    } else {
        COMPLAIN(reader, TOPIC_WORDS, node->at, "%s needs a unit, words or a type.", out->name);
    }
    if (record->unit && (record->words || record->type))
        COMPLAIN(reader, TOPIC_WORDS, node->at, "%s has a unit, and so neither words nor a type.",
                 out->name);
    else if (out->type != VALUE_NONE && record->words && !takes_words(out->type))
        COMPLAIN(reader, TOPIC_WORDS, value_of(node, "words")->at,
                 "%s has words, but its type takes none.", out->name);
    if (range && !record->unit)
        COMPLAIN(reader, TOPIC_WORDS, value_of(node, "range")->at,
                 "%s is a range, so it needs a unit.", out->name);
}

static const char *read_limit(struct reader *reader, const struct node *node, const char *key,
                              const char *text, const struct attribute *attribute, double *si)
{
    struct quantity limit;
    const char *why;
    if (!text)
        return NULL;
    struct place at = value_of(node, key)->at;
    if (attribute->type != VALUE_QUANTITY && attribute->type != VALUE_RANGE)
        COMPLAIN(reader, TOPIC_WORDS, at, "%s has no unit, and so no %s.", attribute->name, key);
    else if (!quantity_parse(text, &limit, NULL, &why))
        COMPLAIN(reader, TOPIC_UNITS, at, "%s %s.", shown(reader->diagnostics, text), why);
    else if (attribute->unit && !dimension_same(limit.dimension, attribute->dimension))
        COMPLAIN(reader, TOPIC_UNITS, at, "%s of %s is not in %s or the like.", key,
                 attribute->name, attribute->unit[0] ? attribute->unit : "bare numbers");
    else
        *si = limit.value;
    return keep(reader, text);
}

static void read_solved(struct reader *reader, const struct record_attribute *record,
                        const struct node *node, struct attribute *out)
{
    if (!record->solved || strcmp(record->solved, "no") == 0)
        out->solved = SOLVED_NO;
    else if (strcmp(record->solved, "yes") == 0)
        out->solved = SOLVED_EACH_CONDITION;
    else if (strcmp(record->solved, "once") == 0)
        out->solved = SOLVED_ONCE;
    else
        COMPLAIN(reader, TOPIC_WORDS, value_of(node, "solved")->at,
                 "solved takes yes, once or no, not '%s'.",
                 shown(reader->diagnostics, record->solved));
}

/* What a solved figure is of: time_to(35 degC). */
static void read_of(struct reader *reader, const struct record_attribute *record,
                    const struct node *node, struct attribute *out)
{
    struct unit unit;
    if (!record->of)
        return;
    struct place at = value_of(node, "of")->at;
    if (!unit_find(record->of, strlen(record->of), &unit)) {
        COMPLAIN(reader, TOPIC_UNITS, at, "'%s' is no unit that is known here.",
                 shown(reader->diagnostics, record->of));
        return;
    }
    if (out->solved != SOLVED_ONCE || out->type != VALUE_QUANTITY)
        COMPLAIN(reader, TOPIC_WORDS, at,
                 "%s is of something else, so it needs a unit and `solved: once`.", out->name);
    out->of = keep(reader, record->of);
    out->of_dimension = unit.dimension;
}

static void read_difference(struct reader *reader, const struct record_attribute *record,
                            const struct node *node, struct attribute *out)
{
    static const struct dimension kelvin = {.exponent = {[BASE_K] = 1}};
    out->difference = keep_yes(reader, node, "difference", record->difference);
    if (out->difference && out->unit && !dimension_same(out->dimension, kelvin))
        COMPLAIN(reader, TOPIC_UNITS, value_of(node, "difference")->at,
                 "%s is a temperature difference, so its unit is K.", out->name);
}

/* A difference to a figure of the attribute: a share of it, or an amount in its unit. */
static bool is_amount(struct dimension difference, const struct attribute *attribute)
{
    struct dimension plain = attribute->dimension;
    plain.absolute = false;
    return !difference.absolute && dimension_same(difference, plain);
}

static void read_ends(struct reader *reader, struct place at, const char *text,
                      struct attribute *out)
{
    struct quantity low = {0}, high = {0};
    struct unit unit;
    const char *why;
    const char *words = shown(reader->diagnostics, text);
    bool share = strchr(text, '%') != NULL;
    if (!range_parse(text, &low, &high, &unit, &why))
        COMPLAIN(reader, TOPIC_UNITS, at, "%s %s.", words, why);
    else if (share ? !dimension_same(low.dimension, dimension_none)
                   : out->type != VALUE_QUANTITY || !is_amount(low.dimension, out))
        COMPLAIN(reader, TOPIC_UNITS, at,
                 "%s tells no share in %% and no difference that could be added to %s.", words,
                 out->name);
    else if (low.value > 0.0 || high.value < 0.0 || !(low.value < high.value))
        COMPLAIN(reader, TOPIC_UNITS, at, "%s should hold 0, which is what the label says.", words);
    else if (share && low.value <= -1.0)
        COMPLAIN(reader, TOPIC_UNITS, at, "%s leaves nothing of %s.", words, out->name);
    out->may_low = low.value;
    out->may_high = high.value;
    out->may_share = share;
}

/* How far off its label the real thing may be, which end of that is the weaker one, and why. */
static void read_doubt(struct reader *reader, const struct record_attribute *record,
                       const struct node *node, struct attribute *out)
{
    const char *key = record->may_be ? "may_be" : record->weaker ? "weaker" : "doubt";
    struct place at = value_of(node, key)->at;
    if (!record->may_be && !record->weaker && !record->doubt)
        return;
    if (!record->may_be || !record->weaker || !record->doubt) {
        COMPLAIN(reader, TOPIC_WORDS, at, "may_be, weaker and doubt go together.");
        return;
    }
    if (out->solved != SOLVED_NO || (out->type != VALUE_QUANTITY && out->type != VALUE_POINTS)) {
        COMPLAIN(reader, TOPIC_WORDS, at,
                 "%s is no figure of a label, and so no may_be goes with it.", out->name);
        return;
    }
    out->weaker_high = strcmp(record->weaker, "high") == 0;
    if (!out->weaker_high && strcmp(record->weaker, "low") != 0)
        COMPLAIN(reader, TOPIC_WORDS, value_of(node, "weaker")->at,
                 "weaker takes low or high, not '%s'.", shown(reader->diagnostics, record->weaker));
    read_ends(reader, at, record->may_be, out);
    out->may_be = keep(reader, record->may_be);
    out->doubt = keep(reader, record->doubt);
}

static void read_attribute(struct reader *reader, const struct record_attribute *record,
                           const struct node *node, struct attribute *out)
{
    out->at = node->at;
    out->name = keep(reader, record->name);
    if (!name_is_good(record->name, "_"))
        COMPLAIN(reader, TOPIC_WORDS, value_of(node, "name")->at,
                 "'%s' is no name for an attribute; small letters, digits and single _ between "
                 "them are.",
                 shown(reader->diagnostics, record->name));
    read_type(reader, record, node, out);
    read_customary(reader, record, node, out);
    read_difference(reader, record, node, out);
    read_solved(reader, record, node, out);
    read_of(reader, record, node, out);
    out->about = keep(reader, record->about);
    out->ask = keep(reader, record->ask);
    out->assume = keep(reader, record->assume);
    out->assume_at = value_of(node, "assume")->at;
    out->because = keep(reader, record->because);
    out->also_unit = keep(reader, record->also);
    out->also_divided_by = keep(reader, record->also_divided_by);
    out->least = -INFINITY;
    out->most = INFINITY;
    out->minimum = read_limit(reader, node, "minimum", record->minimum, out, &out->least);
    out->maximum = read_limit(reader, node, "maximum", record->maximum, out, &out->most);
    read_doubt(reader, record, node, out);
    if (record->assume && !record->because)
        COMPLAIN(reader, TOPIC_WORDS, value_of(node, "assume")->at,
                 "%s is assumed, but nothing says because of what.", out->name);
}

/* The second unit's dimension over that of the attribute that divides it must be the first's. */
static void check_also(struct reader *reader, const struct node *node,
                       const struct attribute *attribute, const struct attribute *all, size_t count)
{
    struct unit also;
    struct dimension quotient;
    if (!attribute->also_unit && !attribute->also_divided_by)
        return;
    struct place at = value_of(node, attribute->also_unit ? "also" : "also_divided_by")->at;
    if (!attribute->also_unit || !attribute->also_divided_by) {
        COMPLAIN(reader, TOPIC_WORDS, at, "also and also_divided_by go together.");
        return;
    }
    if (!unit_find(attribute->also_unit, strlen(attribute->also_unit), &also)) {
        COMPLAIN(reader, TOPIC_UNITS, at, "'%s' is no unit that is known here.",
                 shown(reader->diagnostics, attribute->also_unit));
        return;
    }
    for (size_t i = 0; i < count; i++) {
        if (strcmp(all[i].name, attribute->also_divided_by) != 0)
            continue;
        if (all[i].type != VALUE_QUANTITY ||
            !dimension_divide(also.dimension, all[i].dimension, &quotient) ||
            !dimension_same(quotient, attribute->dimension))
            COMPLAIN(reader, TOPIC_UNITS, at, "%s divided by %s is not in %s.",
                     attribute->also_unit, all[i].name,
                     attribute->unit ? attribute->unit : "its unit");
        return;
    }
    COMPLAIN(reader, TOPIC_WORDS, value_of(node, "also_divided_by")->at,
             "there is no attribute '%s' here.",
             shown(reader->diagnostics, attribute->also_divided_by));
}

void read_common(struct reader *reader, const struct source_file *file)
{
    const struct node *list = value_of(file->root, "common");
    if (!file->records->common)
        return;
    if (reader->old->kind_count > 0)
        COMPLAIN(reader, TOPIC_ONCE, list->at,
                 "what is common to every part is settled with the first kinds; these come later.");
    for (size_t i = 0; i < file->records->common_count && !reader_is_done(reader); i++) {
        if (!ARENA_GROW(reader->arena, &reader->common)) {
            reader->no_memory = true;
            return;
        }
        if (reader->common.count == MOST_ATTRIBUTES) {
            COMPLAIN(reader, TOPIC_READS, list->items[i]->at,
                     "there are %d common attributes already, which is the most.", MOST_ATTRIBUTES);
            return;
        }
        struct attribute *out = &reader->common.at[reader->common.count];
        *out = (struct attribute){0};
        read_attribute(reader, &file->records->common[i], list->items[i], out);
        size_t was = reader->common.count;
        if (out->name &&
            !name_is_new(reader, reader->common_names, out->name, reader->common.count, &was))
            already_there(reader, out->at, reader->common.at[was].at, out->name);
        reader->common.count++;
    }
}

/* The attributes of a kind while they are read: the common ones first. */
struct kind_list {
    struct attribute *at;
    size_t count, common_count;
    struct names *names;
};

static bool begin_kind(struct reader *reader, size_t own_count, struct kind_list *list)
{
    bool first = reader->old->kind_count == 0;
    const struct attribute *common = first ? reader->common.at : reader->old->common;
    list->common_count = first ? reader->common.count : reader->old->common_count;
    list->count = list->common_count;
    list->names = names_new(reader->arena);
    list->at = ARENA_TAKE(reader->arena, list->common_count + own_count + 1, struct attribute);
    if (!list->names || !list->at)
        return false;
    for (size_t i = 0; i < list->common_count; i++) {
        list->at[i] = common[i];
        if (!names_add(list->names, reader->arena, common[i].name, i, NULL))
            return false;
    }
    return true;
}

/* A common attribute in the kind's own words. */
static void replace_common(struct reader *reader, struct attribute *common,
                           const struct attribute *own)
{
    if (common->type != own->type || !dimension_same(common->dimension, own->dimension)) {
        if (faults_count(&reader->faults, own->at))
            diagnostics_add_pair(reader->diagnostics, LEVEL_ERROR, TOPIC_WORDS, own->at, common->at,
                                 "%s is common to every part, and is of another type there.",
                                 own->name);
    }
    *common = *own;
}

static void add_attribute(struct reader *reader, struct kind_list *list, bool *replaced,
                          const struct attribute *own)
{
    size_t was = list->count;
    if (name_is_new(reader, list->names, own->name, list->count, &was)) {
        list->at[list->count++] = *own;
    } else if (was < list->common_count && !replaced[was]) {
        replaced[was] = true;
        replace_common(reader, &list->at[was], own);
    } else {
        already_there(reader, own->at, list->at[was].at, own->name);
    }
}

static void list_attributes(struct reader *reader, struct kind *kind)
{
    short *solved = ARENA_TAKE_UNSET(reader->arena, 2 * kind->attribute_count + 1, short);
    reader->no_memory = reader->no_memory || !solved;
    if (!solved)
        return;
    short *doubtful = solved + kind->attribute_count;
    for (size_t i = 0; i < kind->attribute_count; i++) {
        size_t count = solved_count(&kind->attributes[i]);
        if (count)
            solved[kind->solved_count++] = (short)i;
        if (kind->attributes[i].may_be)
            doubtful[kind->doubtful_count++] = (short)i;
        kind->number_count += count;
    }
    kind->solved = solved;
    kind->doubtful = doubtful;
}

static void read_attributes(struct reader *reader, const struct record_kind *record,
                            const struct node *node, struct kind *out)
{
    struct kind_list list;
    const struct node *items = value_of(node, "attributes");
    if (!begin_kind(reader, record->attributes_count, &list)) {
        reader->no_memory = true;
        return;
    }
    bool *replaced = ARENA_TAKE(reader->arena, list.common_count + 1, bool);
    for (size_t i = 0; replaced && i < record->attributes_count && !reader->no_memory; i++) {
        struct attribute own = {0};
        read_attribute(reader, &record->attributes[i], items->items[i], &own);
        if (own.name)
            add_attribute(reader, &list, replaced, &own);
    }
    reader->no_memory |= !replaced;
    for (size_t i = 0; i < record->attributes_count; i++) {
        int index =
            kind_attribute(&(struct kind){.attributes = list.at, .attribute_count = list.count},
                           record->attributes[i].name);
        if (index >= 0)
            check_also(reader, items->items[i], &list.at[index], list.at, list.count);
    }
    out->attributes = list.at;
    out->attribute_count = list.count;
    out->slot_count = kind_slots_for(list.count);
    short *slots = ARENA_TAKE(reader->arena, out->slot_count, short);
    reader->no_memory = reader->no_memory || !slots;
    if (slots)
        kind_fill_slots(out, slots, out->slot_count);
    out->slots = slots;
    list_attributes(reader, out);
}

static void check_words(struct reader *reader, const struct node *node, const char *key)
{
    const struct node_pair *pair = node_find(node, key);
    for (size_t i = 0; pair && i < pair->value->count; i++) {
        const struct node *item = pair->value->items[i];
        if (!name_is_good(item->text, "-_"))
            COMPLAIN(reader, TOPIC_WORDS, item->at,
                     "'%s' is no name; small letters, digits and single hyphens between them are.",
                     shown(reader->diagnostics, item->text));
    }
}

static void read_kind(struct reader *reader, const struct record_kind *record,
                      const struct node *node, struct kind *out)
{
    *out = (struct kind){.at = node->at};
    out->name = keep(reader, record->kind);
    out->about = keep(reader, record->about);
    if (!name_is_good(record->kind, "-"))
        COMPLAIN(reader, TOPIC_WORDS, value_of(node, "kind")->at,
                 "'%s' is no name for a kind; small letters, digits and single hyphens between "
                 "them are.",
                 shown(reader->diagnostics, record->kind));
    check_words(reader, node, "groups");
    check_words(reader, node, "ports");
    out->groups = keep_texts(reader, record->groups, record->groups_count);
    out->group_count = record->groups_count;
    out->ports = keep_texts(reader, record->ports, record->ports_count);
    out->port_count = record->ports_count;
    read_attributes(reader, record, node, out);
}

void read_kinds(struct reader *reader, const struct source_file *file)
{
    const struct node *list = value_of(file->root, "kinds");
    for (size_t i = 0; i < file->records->kinds_count && !reader_is_done(reader); i++) {
        if (!ARENA_GROW(reader->arena, &reader->kinds)) {
            reader->no_memory = true;
            return;
        }
        if (reader->old->kind_count + reader->kinds.count == MOST_KINDS) {
            COMPLAIN(reader, TOPIC_READS, list->items[i]->at,
                     "there are %d kinds already, which is the most.", MOST_KINDS);
            return;
        }
        struct kind *out = &reader->kinds.at[reader->kinds.count];
        read_kind(reader, &file->records->kinds[i], list->items[i], out);
        if (!out->name)
            return;
        const struct kind *old = store_kind(reader->old, out->name);
        size_t was = reader->kinds.count;
        if (old)
            already_there(reader, out->at, old->at, out->name);
        else if (!name_is_new(reader, reader->kind_names, out->name, reader->kinds.count, &was))
            already_there(reader, out->at, reader->kinds.at[was].at, out->name);
        reader->kinds.count++;
    }
}
