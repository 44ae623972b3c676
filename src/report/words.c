/* words.c - what several reports say of a finding and of a rig: where, what it comes
 * to, how much of it was assumed. Raw words, yet to be escaped for their sink. */
#include <string.h>

#include "report/page.h"

const char *report_level_words(enum level level)
{
    static const char *const words[LEVEL_COUNT] = {
        [LEVEL_ERROR] = "will not work, or can hurt",
        [LEVEL_CAUTION] = "thin, wearing or doubtful",
        [LEVEL_QUESTION] = "a figure is missing: find it out, or ask the seller",
        [LEVEL_REMINDER] = "not to be worked out from a list: look on site, ask those who know",
    };
    return words[level];
}

/* ---- where ---- */

static void add_place(struct text *words, const struct report_rig *rig, const struct place *place)
{
    if (place->file && strcmp(place->file, rig->file) != 0)
        text_print(words, "%s, ", place->file);
    if (place->line)
        text_print(words, "line %u", place->line);
    else
        text_add(words, "the file as a whole");
}

const struct part *report_part(const struct report_rig *rig, const char *id)
{
    size_t index = rig->rig ? rig_find_part(rig->rig, id) : NO_PART;
    return index == NO_PART ? NULL : &rig->rig->parts[index];
}

static bool stands_at_a_part(const struct report_rig *rig, const struct finding *finding)
{
    for (size_t i = 0; i < finding->part_count; i++) {
        const struct part *part = report_part(rig, finding->parts[i]);
        if (part && part->at.line == finding->at.line)
            return true;
    }
    return false;
}

void report_parts(struct text *words, const struct report_rig *rig, const struct finding *finding)
{
    for (size_t i = 0; i < finding->part_count; i++) {
        const struct part *part = report_part(rig, finding->parts[i]);
        text_print(words, "%s%s", i ? " and " : "", finding->parts[i]);
        if (part && part->at.line)
            text_print(words, " (line %u)", part->at.line);
    }
}

/* A mistake in the file has a line and column; a promise has parts, and a line of its own when it
 * is a need. */
static void add_spot(struct text *words, const struct report_rig *rig,
                     const struct finding *finding)
{
    if (finding->part_count && stands_at_a_part(rig, finding)) {
        report_parts(words, rig, finding);
        return;
    }
    add_place(words, rig, &finding->at);
    if (finding->part_count) {
        text_add(words, ": ");
        report_parts(words, rig, finding);
        return;
    }
    if (finding->at.line)
        text_print(words, ", column %u", finding->at.column);
    if (finding->also.line) {
        text_add(words, "; see also ");
        add_place(words, rig, &finding->also);
    }
}

void report_where(struct text *words, const struct report_rig *rig, const struct finding *finding)
{
    add_spot(words, rig, finding);
    if (finding->has_condition)
        text_print(words, "; worst at %s", condition_name(finding->condition));
}

void report_accepted(struct text *words, const struct accept *accept)
{
    text_print(words, "by the rig's owner in line %u: %s", accept->at.line,
               accept->because ? accept->because : "no reason given");
    if (accept->until)
        text_print(words, " (until %s)", accept->until);
}

bool report_is_practice(const struct rule_source *source)
{
    return strncmp(source->text, "common practice", strlen("common practice")) == 0;
}

/* ---- what it all comes to ---- */

size_t report_assumed(const struct rig *rig)
{
    size_t count = 0;
    for (size_t p = 0; rig && p < rig->part_count; p++)
        for (size_t i = 0; i < rig->parts[p].kind->attribute_count; i++)
            count += rig->parts[p].values[i].origin == ORIGIN_ASSUMED;
    return count;
}

void report_sum_words(struct text *words, const struct judgement *judgement)
{
    size_t left[LEVEL_COUNT];
    size_t reminders = judgement->by_level[LEVEL_REMINDER];
    memcpy(left, judgement->by_level, sizeof left);
    left[LEVEL_REMINDER] = 0;
    text_print(words, "%zu promise%s: %zu hold%s", judgement->promises,
               report_plural(judgement->promises), judgement->hold,
               judgement->hold == 1 ? "s" : "");
    if (judgement->accepted)
        text_print(words, ", %zu accepted", judgement->accepted);
    if (judgement->known)
        text_print(words, ", %zu known since the baseline", judgement->known);
    if (left[LEVEL_ERROR] || left[LEVEL_CAUTION] || left[LEVEL_QUESTION])
        text_add(words, ", ");
    report_counts(words, left);
    text_add(words, ".");
    if (reminders)
        text_print(words, " Besides, %zu reminder%s.", reminders, report_plural(reminders));
    if (judgement->unread)
        text_print(words, " %zu more can't be judged before what can't be read is put right.",
                   judgement->unread);
}

const char *report_verdict_words(const struct report_rig *rig)
{
    const size_t *by_level = rig->judgement.by_level;
    if (!rig->rig)
        return "This file can't be read as a rig, so nothing was judged.";
    if (!report_is_whole(rig))
        return "This file can't be read as a whole, so the rig was judged in part.";
    if (by_level[LEVEL_ERROR])
        return "This rig does not tally.";
    if (by_level[LEVEL_QUESTION])
        return "Nothing speaks against this rig yet, but the questions have to be answered first.";
    if (by_level[LEVEL_CAUTION])
        return "This rig tallies, with cautions.";
    return "This rig tallies.";
}
