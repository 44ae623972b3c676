/* mend.c - the changes that make promises hold, for people and as JSON. */
#include "report/mend.h"

#include <math.h>
#include <string.h>

#include "report/jotter.h"
#include "report/page.h"

enum {
    ITEM = 2, /* where "error 1" begins */
    BODY = 16,
    WAY = 19, /* what follows "a)" */
};

/* ---- words ---- */

static const char *article(const char *word)
{
    return word[0] && strchr("aeiou", word[0]) ? "an" : "a";
}

/* "0.15 m from its start" */
static void add_distance(struct text *words, const struct report_rig *rig, double distance_m)
{
    struct value distance = {.type = VALUE_QUANTITY, .as.quantity.value = distance_m};
    distance.as.quantity.dimension.exponent[BASE_M] = 1;
    value_tell(words, &distance, "m", NULL, report_units(rig));
    text_add(words, " from its start");
}

/* "line 15: take fuse-blade-3a for f1 in place of fuse-blade-5a." */
static void add_change(struct text *words, const struct report_rig *rig,
                       const struct mend_change *change)
{
    if (change->at.file && rig->file && strcmp(change->at.file, rig->file) != 0)
        text_print(words, "%s, ", change->at.file);
    text_print(words, "line %u: ", change->at.line);
    switch (change->how) {
    case MEND_SWAP:
        text_print(words, "make %s %s %s, not the %s there", change->part,
                   article(change->entry->name), change->entry->name, change->before);
        for (size_t i = 0; i < change->dropped_count; i++)
            text_print(words, "%s%s",
                       i == 0                           ? ", and take out its own "
                       : i + 1 == change->dropped_count ? " and "
                                                        : ", ",
                       change->dropped[i]);
        break;
    case MEND_ADD:
        text_print(words, "put %s %s into %s, ", article(change->entry->name), change->entry->name,
                   change->part);
        if (isnan(change->distance_m))
            text_print(words, "%s of what it goes through", change->last ? "last" : "first");
        else
            add_distance(words, rig, change->distance_m);
        break;
    default:
        text_print(words, "lay %u of %s in parallel, not %u", change->parallel, change->part,
                   change->were);
        break;
    }
    text_add(words, ".");
}

static void add_effects(struct text *words, const struct report_rig *rig,
                        const struct mend_way *way)
{
    for (size_t i = 0; i < way->effect_count; i++) {
        const struct mend_effect *effect = &way->effects[i];
        text_print(words, "%s%s: ", i == 0 ? " " : "; ", effect->name);
        value_tell(words, &effect->before, effect->unit, effect->customary, report_units(rig));
        text_add(words, " becomes ");
        value_tell(words, &effect->after, effect->unit, effect->customary, report_units(rig));
    }
    if (way->effect_count)
        text_add(words, ".");
}

/* ---- for people ---- */

static void add_way(struct page *page, const struct report_rig *rig, const struct mend_way *way,
                    size_t index)
{
    page_pad(page, BODY);
    text_print(page->out, "%c) ", (char)('a' + (int)index));
    add_change(&page->words, rig, &way->change);
    add_effects(&page->words, rig, way);
    page_flow_words(page, WAY, WAY);
}

static void add_mend(struct page *page, const struct report_rig *rig, const struct mend *mend,
                     size_t number)
{
    page_pad(page, ITEM);
    text_print(&page->words, "%s %zu", level_name(mend->finding->level), number);
    unsigned column = ITEM + (unsigned)page->words.length;
    page_level(page, mend->finding->level, page->words.bytes ? page->words.bytes : "");
    page_empty(page, &page->words);
    page_pad(page, column < BODY ? BODY - column : 1);
    page_flow(page, BODY, BODY, mend->finding->message ? mend->finding->message : "");
    page_pad(page, BODY);
    report_where(&page->words, rig, mend->finding);
    page_flow_words(page, BODY, BODY);
    for (size_t i = 0; i < mend->way_count; i++)
        add_way(page, rig, &mend->ways[i], i);
    if (!mend->way_count) {
        page_pad(page, BODY);
        if (mend->tried)
            text_print(&page->words,
                       "None of %zu change%s tried from the catalogue ends this without bringing "
                       "something else.",
                       mend->tried, report_plural(mend->tried));
        else
            text_add(&page->words, "No part of the catalogue could change this.");
        if (mend->finding->mend)
            text_print(&page->words, " What would do: %s", mend->finding->mend);
        page_flow_words(page, BODY, BODY);
    }
    text_add(page->out, "\n");
}

static void add_together(struct page *page, const struct report_rig *rig, const struct mends *mends)
{
    if (mends->together_count < 2)
        return;
    page_flow(page, 0, 0, "All at once: these go together.");
    text_add(page->out, "\n");
    for (size_t i = 0; i < mends->together_count; i++) {
        page_pad(page, ITEM);
        add_change(&page->words, rig, &mends->together[i]);
        page_flow_words(page, ITEM, ITEM + 2);
    }
    text_add(page->out, "\n");
    struct text counts = {0};
    size_t left[LEVEL_COUNT];
    memcpy(left, mends->left, sizeof left);
    left[LEVEL_REMINDER] = 0;
    report_counts(&counts, left);
    text_print(&page->words, "With them the rig is left with %s.",
               counts.length ? counts.bytes : "nothing to tell");
    page->out->failed = page->out->failed || counts.failed;
    text_drop(&counts);
    page_flow_words(page, 0, 0);
}

void report_mends(struct text *out, const struct report_style *style, const struct report_rig *rig,
                  const struct mends *mends)
{
    struct page page;
    page_begin(&page, out, style);
    page_strong(&page, rig->name && rig->name[0] ? rig->name : rig->file);
    text_add(out, "\n\n");
    size_t number[LEVEL_COUNT] = {0};
    for (size_t i = 0; i < mends->count; i++)
        add_mend(&page, rig, &mends->at[i], ++number[mends->at[i].finding->level]);
    if (!mends->count)
        page_flow(&page, 0, 0,
                  rig->judgement.by_level[LEVEL_ERROR]
                      ? "No change of parts is looked for: what can't be read has to be put right "
                        "first."
                      : "There is nothing to mend: no error and no caution stands open.");
    add_together(&page, rig, mends);
    page_end(&page);
}

/* ---- JSON ---- */

static json_t *json_change(struct jotter *jotter, const struct mend_change *change)
{
    static const char *const hows[] = {
        [MEND_SWAP] = "swap", [MEND_ADD] = "add", [MEND_PARALLEL] = "parallel"};
    json_t *item = jot_object(jotter);
    if (!item)
        return NULL;
    jot_set(jotter, item, "change", jot_string(jotter, hows[change->how]));
    jot_set(jotter, item, "part", jot_string(jotter, change->part));
    jot_set(jotter, item, "line", jot_number(jotter, change->at.line));
    if (change->entry)
        jot_set(jotter, item, "use", jot_string(jotter, change->entry->name));
    if (change->before)
        jot_set(jotter, item, "instead_of", jot_string(jotter, change->before));
    if (change->how == MEND_SWAP) {
        json_t *dropped = jot_array(jotter);
        for (size_t i = 0; dropped && i < change->dropped_count; i++)
            jot_append(jotter, dropped, jot_string(jotter, change->dropped[i]));
        jot_set(jotter, item, "take_out", dropped);
    }
    if (change->how == MEND_ADD) {
        jot_set(jotter, item, "id", jot_string(jotter, change->added));
        jot_set(jotter, item, "at_end", jot_string(jotter, change->last ? "to" : "from"));
        jot_set(jotter, item, "distance",
                isnan(change->distance_m) ? json_null() : jot_number(jotter, change->distance_m));
    }
    if (change->how == MEND_PARALLEL)
        jot_set(jotter, item, "parallel", jot_number(jotter, change->parallel));
    return item;
}

static json_t *json_way(struct jotter *jotter, const struct mend_way *way)
{
    json_t *item = json_change(jotter, &way->change);
    json_t *effects = jot_object(jotter);
    for (size_t i = 0; effects && i < way->effect_count; i++) {
        const struct mend_effect *effect = &way->effects[i];
        json_t *values = jot_object(jotter);
        if (values) {
            jot_set(jotter, values, "before", jot_value(jotter, &effect->before));
            jot_set(jotter, values, "after", jot_value(jotter, &effect->after));
            jot_set(jotter, values, "unit", jot_unit(jotter, &effect->after));
        }
        jot_set(jotter, effects, effect->name, values);
    }
    if (item)
        jot_set(jotter, item, "effects", effects);
    return item;
}

static json_t *json_mend(struct jotter *jotter, const struct mend *mend)
{
    json_t *item = jot_object(jotter), *parts = jot_array(jotter), *ways = jot_array(jotter);
    const struct finding *finding = mend->finding;
    for (size_t i = 0; parts && i < finding->part_count; i++)
        jot_append(jotter, parts, jot_string(jotter, finding->parts[i]));
    for (size_t i = 0; ways && i < mend->way_count; i++)
        jot_append(jotter, ways, json_way(jotter, &mend->ways[i]));
    if (!item)
        return NULL;
    jot_set(jotter, item, "rule", jot_string(jotter, finding->rule));
    jot_set(jotter, item, "level", jot_string(jotter, level_name(finding->level)));
    jot_set(jotter, item, "parts", parts);
    jot_set(jotter, item, "line", jot_number(jotter, finding->at.line));
    jot_set(jotter, item, "message", jot_string(jotter, finding->message));
    jot_set(jotter, item, "tried", jot_number(jotter, (double)mend->tried));
    jot_set(jotter, item, "ways", ways);
    return item;
}

void report_mends_json(struct text *out, const struct report_rig *rig, const struct mends *mends)
{
    struct jotter jotter = {0};
    json_t *item = jot_object(&jotter), *list = jot_array(&jotter), *together = jot_array(&jotter);
    json_t *left = jot_object(&jotter);
    for (size_t i = 0; list && i < mends->count; i++)
        jot_append(&jotter, list, json_mend(&jotter, &mends->at[i]));
    for (size_t i = 0; together && i < mends->together_count; i++)
        jot_append(&jotter, together, json_change(&jotter, &mends->together[i]));
    for (unsigned level = 0; left && level < LEVEL_REMINDER; level++)
        jot_set(&jotter, left, level_name((enum level)level),
                jot_number(&jotter, (double)mends->left[level]));
    if (item) {
        jot_set(&jotter, item, "rigtally", jot_number(&jotter, 1));
        jot_set(&jotter, item, "file", jot_string(&jotter, rig->file));
        jot_set(&jotter, item, "mends", list);
        jot_set(&jotter, item, "together", together);
        jot_set(&jotter, item, "left", left);
    }
    jot_write(&jotter, item, 0, out);
    text_add(out, "\n");
}
