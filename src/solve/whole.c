/* whole.c - what the list of a rig comes to, as figures that needs and rules can ask for. */
#include "solve/whole.h"

#include <math.h>
#include <string.h>

#include "rig/buying.h"

struct lengths {
    const struct buying_length *at;
    size_t count;
};

static struct lengths lengths_of(const struct buying_list *list, bool cables)
{
    return cables ? (struct lengths){list->cables, list->cable_count}
                  : (struct lengths){list->pipes, list->pipe_count};
}

/* A run of unknown size may be of any. */
static bool has_unknown_size(struct lengths lengths)
{
    return lengths.count > 0 && isnan(lengths.at[lengths.count - 1].size);
}

static double find_cable(const void *data, double area_m2)
{
    double unmeasured, metres = buying_cable_m(data, area_m2, &unmeasured);
    return unmeasured > 0.0 || has_unknown_size(lengths_of(data, true)) ? (double)NAN : metres;
}

static double find_pipe(const void *data, double bore_m)
{
    double unmeasured, metres = buying_pipe_m(data, bore_m, &unmeasured);
    return unmeasured > 0.0 || has_unknown_size(lengths_of(data, false)) ? (double)NAN : metres;
}

static bool is_same_size(double a, double b)
{
    return fabs(a - b) <= 1e-9 * fabs(a);
}

/* A row for each size that is known, with its metres. */
static enum outcome put_lengths(struct rig *rig, const char *attribute, bool cables)
{
    struct part *whole = &rig->parts[rig->whole];
    struct lengths lengths = lengths_of(rig->buying, cables);
    int index = kind_attribute(whole->kind, attribute);
    if (index < 0)
        return OUTCOME_OK;
    struct part_series *series = ARENA_TAKE(rig->arena, 1, struct part_series);
    double *at = ARENA_TAKE(rig->arena, 2 * lengths.count + 1, double);
    if (!series || !at)
        return OUTCOME_NO_MEMORY;
    double *value = at + lengths.count;
    *series = (struct part_series){
        .find = cables ? find_cable : find_pipe, .data = rig->buying, .at = at, .value = value};
    for (size_t i = 0; i < lengths.count; i++) {
        double size = lengths.at[i].size, metres = series->find(rig->buying, size);
        if (isnan(size) || isnan(metres) ||
            (series->count && is_same_size(at[series->count - 1], size)))
            continue;
        at[series->count] = size;
        value[series->count++] = metres;
    }
    whole->values[index].series = series;
    return OUTCOME_OK;
}

static void put(struct rig *rig, const char *attribute, double value)
{
    struct part *whole = &rig->parts[rig->whole];
    if (kind_attribute(whole->kind, attribute) >= 0)
        part_solve_once(whole, attribute, value);
}

enum outcome whole_report(struct rig *rig)
{
    const struct buying_list *list = buying_list(rig->arena, rig);
    rig->buying = list;
    if (!list)
        return OUTCOME_NO_MEMORY;
    put(rig, "barbed_ends", list->barbed_ends);
    put(rig, "clamps", list->clamps_listed);
    put(rig, "clamped_ends", list->clamped_ends);
    put(rig, "known_price", list->price.known);
    put(rig, "unpriced", list->price.unpriced);
    put(rig, "price", list->price.unpriced > 0.0 ? (double)NAN : list->price.known);
    enum outcome outcome = put_lengths(rig, "cable_length", true);
    return outcome == OUTCOME_OK ? put_lengths(rig, "hose_length", false) : outcome;
}

/* ---- how they came about ---- */

static const char *id_of(const struct rig *rig, size_t part)
{
    return rig->parts[part].id;
}

static void tell_lengths(const struct rig *rig, struct lengths lengths, struct text *out)
{
    for (size_t i = 0; i < lengths.count; i++) {
        const struct buying_length *length = &lengths.at[i];
        text_print(out, "%s%s: ", length->entry ? length->entry->name : "not from the catalogue",
                   length->cores == 1.0 ? " (one core: out and back)" : "");
        for (size_t k = 0; k < length->run_count && k < 8; k++)
            text_print(out, "%s%s", k ? " + " : "", id_of(rig, length->runs[k]));
        text_print(out, "%s = %s%s\n", length->run_count > 8 ? " + ..." : "",
                   figure_tell((char[FIGURE_ROOM]){0}, length->length_m, "m", NULL, rig_units(rig)),
                   length->unmeasured > 0.0 ? ", without those that have no length" : "");
    }
}

static void tell_clamps(const struct rig *rig, const struct buying_list *list, struct text *out)
{
    for (size_t i = 0; i < list->clamp_count; i++) {
        const struct buying_clamps *clamps = &list->clamps[i];
        if (isnan(clamps->outside_m))
            text_add(out, "hose whose outside is not known: ");
        else
            text_print(
                out, "hose of %s outside: ",
                figure_tell((char[FIGURE_ROOM]){0}, clamps->outside_m, "mm", NULL, rig_units(rig)));
        text_print(out, "%.4g ends on barbs or tubes, clamps listed that fit for %.4g\n",
                   clamps->ends, clamps->clamped);
    }
}

static void tell_price(const struct buying_list *list, struct text *out)
{
    for (size_t i = 0; i < list->item_count; i++) {
        const struct buying_item *item = &list->items[i];
        if (item->price.known > 0.0)
            text_print(out, "%.4g of %s: %.6g\n", item->pieces - item->price.unpriced,
                       item->entry ? item->entry->name : item->kind->name, item->price.known);
    }
    const struct lengths runs[] = {lengths_of(list, true), lengths_of(list, false)};
    double known = 0.0;
    for (size_t i = 0; i < 2; i++)
        for (size_t k = 0; k < runs[i].count; k++)
            known += runs[i].at[k].price.known;
    if (known > 0.0)
        text_print(out, "cable and pipe: %.6g\n", known);
    if (list->price.unpriced > 0.0)
        text_print(out, "%.4g pieces have no price and are not in this\n", list->price.unpriced);
}

void whole_working(const struct rig *rig, const char *attribute, struct text *out)
{
    if (!rig->buying)
        return;
    if (strcmp(attribute, "cable_length") == 0)
        tell_lengths(rig, lengths_of(rig->buying, true), out);
    else if (strcmp(attribute, "hose_length") == 0)
        tell_lengths(rig, lengths_of(rig->buying, false), out);
    else if (strcmp(attribute, "barbed_ends") == 0 || strcmp(attribute, "clamped_ends") == 0)
        tell_clamps(rig, rig->buying, out);
    else if (strcmp(attribute, "price") == 0 || strcmp(attribute, "known_price") == 0)
        tell_price(rig->buying, out);
}

/* ---- what lacks ---- */

static void lengths_lack(const struct rig *rig, struct lengths lengths, const char *size,
                         void (*lacks)(void *data, size_t part, const char *attribute), void *data)
{
    for (size_t i = 0; i < lengths.count; i++)
        for (size_t k = 0; k < lengths.at[i].run_count; k++) {
            size_t run = lengths.at[i].runs[k];
            if (isnan(lengths.at[i].size))
                lacks(data, run, size);
            if (isnan(part_number(&rig->parts[run], "length")))
                lacks(data, run, "length");
        }
}

static void prices_lack(const struct rig *rig,
                        void (*lacks)(void *data, size_t part, const char *attribute), void *data)
{
    const struct buying_list *list = rig->buying;
    for (size_t i = 0; i < list->item_count; i++)
        for (size_t k = 0; k < list->items[i].part_count; k++)
            if (isnan(part_number(&rig->parts[list->items[i].parts[k]], "price")))
                lacks(data, list->items[i].parts[k], "price");
    const struct lengths runs[] = {lengths_of(list, true), lengths_of(list, false)};
    for (size_t r = 0; r < 2; r++)
        for (size_t i = 0; i < runs[r].count; i++)
            for (size_t k = 0; k < runs[r].at[i].run_count; k++)
                if (isnan(part_number(&rig->parts[runs[r].at[i].runs[k]], "price")))
                    lacks(data, runs[r].at[i].runs[k], "price");
}

void whole_missing(const struct rig *rig, const char *attribute,
                   void (*lacks)(void *data, size_t part, const char *attribute), void *data)
{
    if (!rig->buying)
        return;
    if (strcmp(attribute, "cable_length") == 0)
        lengths_lack(rig, lengths_of(rig->buying, true), "area", lacks, data);
    else if (strcmp(attribute, "hose_length") == 0)
        lengths_lack(rig, lengths_of(rig->buying, false), "bore", lacks, data);
    else if (strcmp(attribute, "price") == 0)
        prices_lack(rig, lacks, data);
}
