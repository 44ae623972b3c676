/* sheet_buying.c - what has to be ordered, as tables to tick off. */
#include <math.h>
#include <string.h>

#include "report/page.h"
#include "report/sheet.h"
#include "rig/buying.h"

#define IDS_NAMED 8 /* of one line; more are counted */

static const char *say_number(struct sheet_maker *maker, double number)
{
    return isnan(number) ? "" : sheet_say(maker, "%.10g", number);
}

/* A quantity in SI as a person writes it, in the unit of this attribute as a part of the line gives
 * it: 14 AWG stays 14 AWG. */
static const char *say_size(struct sheet_maker *maker, const struct part *part,
                            const char *attribute)
{
    const struct part_value *value = part_value(part, attribute);
    if (!value || value->value.type != VALUE_QUANTITY)
        return NULL;
    part_tell(&maker->words, maker->rig->rig, &part->kind->attributes[value - part->values], value);
    return sheet_keep(maker);
}

/* In the unit in which the first of the runs was measured. */
static const char *say_length(struct sheet_maker *maker, const struct buying_length *length)
{
    const struct part_value *first = part_value(&maker->rig->rig->parts[length->runs[0]], "length");
    const char *between = "";
    if (length->length_m > 0) {
        struct value sum = {.type = VALUE_QUANTITY};
        sum.as.quantity.value = length->length_m;
        sum.as.quantity.dimension.exponent[BASE_M] = 1;
        value_tell(&maker->words, &sum, first && first->value.unit ? first->value.unit : "m", NULL,
                   first && first->origin == ORIGIN_GIVEN ? UNITS_METRIC
                                                          : rig_units(maker->rig->rig));
        between = " and ";
    }
    if (length->unmeasured > 0)
        text_print(&maker->words, "%s%.10g piece%s of unknown length", between, length->unmeasured,
                   length->unmeasured == 1 ? "" : "s");
    return sheet_keep(maker);
}

/* "12.50", ", 3 without a price": nothing when no price is known. */
static const char *say_price(struct sheet_maker *maker, const struct buying_price *price)
{
    if (price->known > 0)
        text_print(&maker->words, "%.2f", price->known);
    if (price->known > 0 && price->unpriced > 0)
        text_print(&maker->words, " and %.10g not priced", price->unpriced);
    return sheet_keep(maker);
}

static const char *say_ids(struct sheet_maker *maker, const size_t *parts, size_t count)
{
    const struct rig *rig = maker->rig->rig;
    for (size_t i = 0; i < count && i < IDS_NAMED; i++)
        text_print(&maker->words, "%s%s", i ? ", " : "", rig->parts[parts[i]].id);
    if (count > IDS_NAMED)
        text_print(&maker->words, " and %zu more", count - IDS_NAMED);
    return sheet_keep(maker);
}

/* A table; its last column, of prices, only where one is known. */
static struct sheet_table *begin_table(struct sheet_maker *maker, const char *heading,
                                       const struct sheet_column *columns, size_t count,
                                       size_t named, bool priced)
{
    struct sheet_table *table = &sheet_add_group(maker, SHEET_BUYING, heading)->table;
    *table = (struct sheet_table){.caption = heading,
                                  .ticked = true,
                                  .named = named,
                                  .columns = columns,
                                  .column_count = priced ? count : count - 1};
    return table;
}

/* The figures that the rig file gives of a part and that one would ask a seller for. */
static void add_figures(struct sheet_maker *maker, const struct part *part)
{
    const char *between = ": ";
    for (size_t i = 0; i < part->kind->attribute_count; i++) {
        const struct attribute *attribute = &part->kind->attributes[i];
        const struct part_value *value = &part->values[i];
        if (!attribute->ask || value->origin != ORIGIN_GIVEN || value->value.type == VALUE_NONE)
            continue;
        text_print(&maker->words, "%s%s ", between, attribute->name);
        part_tell(&maker->words, maker->rig->rig, attribute, value);
        between = ", ";
    }
}

/* What to ask for: its entry or kind, the figures given of it, and what is noted of it. */
static const char *say_piece(struct sheet_maker *maker, const struct buying_item *item)
{
    const struct part *part = &maker->rig->rig->parts[item->parts[0]];
    const char *note = part_word(part, "note");
    text_add(&maker->words, item->entry ? item->entry->name : item->kind->name);
    add_figures(maker, part);
    if (note)
        text_print(&maker->words, " (%s)", note);
    if (item->spares > 0)
        text_print(&maker->words, "; %.10g of them spare", item->spares);
    return sheet_keep(maker);
}

static void add_pieces(struct sheet_maker *maker, const struct buying_list *list, bool priced)
{
    static const struct sheet_column columns[] = {
        {"pieces", true}, {"what", false}, {"in the list as", false}, {"price", true}};
    if (!list->item_count)
        return;
    struct sheet_table *table = begin_table(maker, "Parts", columns, 4, 1, priced);
    for (size_t i = 0; i < list->item_count; i++) {
        const struct buying_item *item = &list->items[i];
        sheet_add_row(maker, table,
                      (const char *const[]){say_number(maker, item->pieces), say_piece(maker, item),
                                            say_ids(maker, item->parts, item->part_count),
                                            say_price(maker, &item->price)});
    }
}

/* What a length is, by its entry, or by size, cores and material. */
static const char *say_run(struct sheet_maker *maker, const struct buying_length *length,
                           const char *size)
{
    if (length->entry)
        return length->entry->name;
    text_add(&maker->words, length->kind->name);
    if (!isnan(length->cores))
        text_print(&maker->words, ", %.10g cores", length->cores);
    if (size && size[0])
        text_print(&maker->words, ", %s", size);
    if (length->material)
        text_print(&maker->words, ", %s", length->material);
    return sheet_keep(maker);
}

static void add_lengths(struct sheet_maker *maker, const char *heading, const char *attribute,
                        const struct sheet_column *columns, const struct buying_length *lengths,
                        size_t count, bool priced)
{
    if (!count)
        return;
    struct sheet_table *table = begin_table(maker, heading, columns, 5, 1, priced);
    for (size_t i = 0; i < count; i++) {
        const struct buying_length *length = &lengths[i];
        const struct part *run = &maker->rig->rig->parts[length->runs[0]];
        const char *size = say_size(maker, run, attribute);
        sheet_add_row(maker, table,
                      (const char *const[]){say_length(maker, length), say_run(maker, length, size),
                                            size ? size : "not given",
                                            say_ids(maker, length->runs, length->run_count),
                                            say_price(maker, &length->price)});
    }
}

static void add_runs(struct sheet_maker *maker, const struct buying_list *list, bool priced)
{
    static const struct sheet_column cables[] = {
        {"length", true}, {"what", false}, {"conductor", false}, {"runs", false}, {"price", true}};
    static const struct sheet_column pipes[] = {
        {"length", true}, {"what", false}, {"bore", false}, {"runs", false}, {"price", true}};
    add_lengths(maker, "Cable", "area", cables, list->cables, list->cable_count, priced);
    add_lengths(maker, "Hose and pipe", "bore", pipes, list->pipes, list->pipe_count, priced);
}

/* "25 mm" */
static const char *say_across(struct sheet_maker *maker, double length_m)
{
    struct value across = {.type = VALUE_QUANTITY, .as.quantity.value = length_m};
    across.as.quantity.dimension.exponent[BASE_M] = 1;
    value_tell(&maker->words, &across, "mm", NULL, rig_units(maker->rig->rig));
    return sheet_keep(maker);
}

static const char *say_clamps(struct sheet_maker *maker, const struct buying_clamps *clamps)
{
    text_print(&maker->words, "%.10g hose clamp%s for ", clamps->ends,
               clamps->ends == 1 ? "" : "s");
    const char *words = sheet_keep(maker);
    const char *size =
        !isnan(clamps->outside_m)
            ? sheet_say(maker, "a hose of %s outside", say_across(maker, clamps->outside_m))
        : !isnan(clamps->bore_m)
            ? sheet_say(maker, "a hose of %s inside; measure its outside, which is not given",
                        say_across(maker, clamps->bore_m))
            : "a hose of unknown size";
    return sheet_say(maker, "%s%s; %.10g %s in the list.", words, size, clamps->clamped,
                     clamps->clamped == 1 ? "is" : "are");
}

/* Whatever the list does not name by itself, but the order needs. */
static void add_small(struct sheet_maker *maker, const struct buying_list *list)
{
    struct sheet_group small = {.heading = "Small parts and spares", .style = SHEET_TICKED};
    for (size_t i = 0; i < list->clamp_count; i++)
        if (list->clamps[i].ends > 0)
            sheet_add_item(maker, &small, say_clamps(maker, &list->clamps[i]));
    if (list->lone_plug_count)
        sheet_add_item(maker, &small,
                       sheet_say(maker, "The opposite half of the plug for %s, of the same make.",
                                 say_ids(maker, list->lone_plugs, list->lone_plug_count)));
    const struct judgement *judgement = &maker->rig->judgement;
    for (size_t i = 0; i < judgement->finding_count; i++)
        if (judgement->findings[i].level == LEVEL_REMINDER && !judgement->findings[i].accepted &&
            sheet_is_of_list(judgement->findings[i].from))
            sheet_add_item(maker, &small, judgement->findings[i].message);
    if (small.items.count)
        *sheet_add_group(maker, SHEET_BUYING, NULL) = small;
}

static void add_total(struct sheet_maker *maker, const struct buying_price *price)
{
    struct sheet_group *group = sheet_add_group(maker, SHEET_BUYING, NULL);
    if (price->unpriced > 0)
        group->words = sheet_say(maker,
                                 "Prices given come to %.2f; %.10g piece%s without a price %s not "
                                 "in it. Small parts are not priced.",
                                 price->known, price->unpriced, price->unpriced == 1 ? "" : "s",
                                 price->unpriced == 1 ? "is" : "are");
    else
        group->words =
            sheet_say(maker, "All of it comes to %.2f; small parts are not priced.", price->known);
}

void sheet_make_buying(struct sheet_maker *maker)
{
    const struct buying_list *list = buying_list(maker->arena, maker->rig->rig);
    if (!list) {
        maker->failed = true;
        return;
    }
    bool priced = list->price.known > 0;
    bool runs = list->cable_count || list->pipe_count;
    if (runs)
        sheet_add_group(maker, SHEET_BUYING, NULL)->words =
            rig_units(maker->rig->rig) == UNITS_CUSTOMARY
                ? "Lengths are those of the list, with nothing for cutting: add a tenth, and two "
                  "feet at each end of a cable (common practice, no source)."
                : "Lengths are those of the list, with nothing for cutting: add a tenth, and half "
                  "a metre at each end of a cable (common practice, no source).";
    else if (!list->item_count)
        sheet_add_group(maker, SHEET_BUYING, NULL)->words = "The list holds nothing to buy.";
    add_pieces(maker, list, priced);
    add_runs(maker, list, priced);
    add_small(maker, list);
    if (priced)
        add_total(maker, &list->price);
}
