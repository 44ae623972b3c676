/* markdown.c - `check --format markdown`: a comment on a change. Short: what fails
 * and what to do, without sums, reasons and sources; reminders are only counted. */
#include "report/formats.h"
#include "report/page.h"

#define FINDINGS_MAX 100 /* of one rig: a comment has a largest size */

void markdown_begin(struct text *out)
{
    (void)out;
}

static void add_place(struct text *out, const struct report_rig *rig, const struct place *place)
{
    const char *file = place->file ? place->file : rig->file;
    if (place->line)
        text_print(out, "line %u of ", place->line);
    escape_markdown(out, file);
}

/* The parts, where they stand, the condition and the promise, in a line below the finding. */
static void add_where(struct text *out, const struct report_rig *rig, const struct finding *finding)
{
    text_add(out, "  - ");
    for (size_t i = 0; i < finding->part_count; i++) {
        text_add(out, i ? " and " : "");
        escape_markdown(out, finding->parts[i]);
    }
    text_add(out, finding->part_count ? ", " : "");
    add_place(out, rig, &finding->at);
    if (finding->has_condition)
        text_print(out, "; worst at %s", condition_name(finding->condition));
    text_add(out, "; promise ");
    escape_markdown(out, finding->rule);
    text_add(out, "\n");
}

static void add_item(struct text *out, const char *label, const char *words)
{
    text_print(out, "  - %s: ", label);
    escape_markdown(out, words);
    text_add(out, "\n");
}

static void add_finding(struct text *out, const struct report_rig *rig,
                        const struct finding *finding)
{
    text_print(out, "- %s: ", level_name(finding->level));
    escape_markdown(out, finding->message ? finding->message : "");
    text_add(out, "\n");
    add_where(out, rig, finding);
    for (size_t i = 0; i < finding->doubt_count; i++)
        add_item(out, finding->doubts[i].name, finding->doubts[i].because);
    if (finding->mend)
        add_item(out, "to mend", finding->mend);
    if (finding->accepted) {
        add_item(out, "accepted", finding->accepted->because ? finding->accepted->because : "");
        if (finding->accepted->until)
            add_item(out, "until", finding->accepted->until);
    }
}

static bool is_in(const struct finding *finding, enum level level, bool accepted)
{
    return finding->level == level && (finding->accepted != NULL) == accepted;
}

static size_t add_level(struct text *out, const struct report_rig *rig, enum level level,
                        bool accepted, size_t left)
{
    for (size_t i = 0; left && i < rig->judgement.finding_count; i++) {
        if (!is_in(&rig->judgement.findings[i], level, accepted))
            continue;
        add_finding(out, rig, &rig->judgement.findings[i]);
        left--;
    }
    return left;
}

static const char *verdict(const struct report_rig *rig)
{
    const size_t *by_level = rig->judgement.by_level;
    if (!report_is_whole(rig))
        return "can't be read as a whole";
    if (by_level[LEVEL_ERROR])
        return "does not tally";
    if (by_level[LEVEL_QUESTION])
        return "leaves questions open";
    return by_level[LEVEL_CAUTION] ? "tallies, with cautions" : "tallies";
}

static void add_heading(struct text *out, const struct report_rig *rig)
{
    text_add(out, "**");
    escape_markdown(out, rig->name[0] ? rig->name : "A rig without a name");
    text_print(out, "** %s\n\n", verdict(rig));
}

static void add_sum(struct text *out, const struct report_rig *rig)
{
    const struct judgement *judgement = &rig->judgement;
    escape_markdown(out, rig->file);
    text_print(out, ": %zu promise%s, %zu hold", judgement->promises,
               report_plural(judgement->promises), judgement->hold);
    for (unsigned level = 0; level < LEVEL_REMINDER; level++)
        if (judgement->by_level[level])
            text_print(out, ", %zu %s%s", judgement->by_level[level], level_name((enum level)level),
                       report_plural(judgement->by_level[level]));
    if (judgement->accepted)
        text_print(out, ", %zu accepted", judgement->accepted);
    if (judgement->known)
        text_print(out, ", %zu in the baseline", judgement->known);
    text_add(out, ".");
    if (judgement->by_level[LEVEL_REMINDER])
        text_print(out, " Besides, %zu reminder%s for the site.",
                   judgement->by_level[LEVEL_REMINDER],
                   report_plural(judgement->by_level[LEVEL_REMINDER]));
    text_add(out, "\n");
}

void markdown_add_rig(struct text *out, const struct report_style *style,
                      const struct report_rig *rig, bool first)
{
    size_t total = rig->judgement.finding_count - rig->judgement.by_level[LEVEL_REMINDER];
    size_t left = FINDINGS_MAX;
    (void)style;
    text_add(out, first ? "" : "\n");
    add_heading(out, rig);
    add_sum(out, rig);
    text_add(out, total ? "\n" : "");
    for (unsigned level = 0; level < LEVEL_REMINDER; level++)
        left = add_level(out, rig, (enum level)level, false, left);
    for (unsigned level = 0; level < LEVEL_COUNT; level++)
        left = add_level(out, rig, (enum level)level, true, left);
    if (left == 0 && total > FINDINGS_MAX)
        text_print(out, "\nShown are %d findings of %zu.\n", FINDINGS_MAX, total);
}

void markdown_end(struct text *out, const struct report_style *style, const struct report_sum *sum)
{
    (void)style;
    if (sum->rigs > 1)
        text_print(out, "\n%zu rigs: %zu with errors, %zu that can't be read as a whole.\n",
                   sum->rigs, sum->with_errors, sum->unreadable);
}
