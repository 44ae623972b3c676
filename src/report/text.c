/* text.c - the report for the person with the spanner. Sections by level, the
 * worst first; each finding says what is wrong, where it stands in the list, what
 * would do, the sum behind it, and why anyone promises it. Levels are words;
 * colour only repeats them. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "report/formats.h"
#include "report/page.h"

enum {
    ITEM = 2,     /* where "error 1" begins */
    BODY = 16,    /* where what is said of it begins */
    DETAIL = 25,  /* where the text of a labelled detail begins */
    DIVIDER = 72, /* width of what stands between two rigs */
};

struct text_report {
    struct page page;
    const struct report_rig *rig;
    size_t printed;
};

void text_begin(struct text *out)
{
    (void)out;
}

static void flow_detail(struct page *page, const char *label, const char *words)
{
    page_label(page, BODY, DETAIL, label);
    page_flow(page, DETAIL, DETAIL, words);
}

static void flow_prose_detail(struct page *page, const char *label, const char *prose)
{
    page_label(page, BODY, DETAIL, label);
    page_prose(page, DETAIL, DETAIL, prose);
}

static void flow_built_detail(struct page *page, const char *label)
{
    page_label(page, BODY, DETAIL, label);
    page_flow_words(page, DETAIL, DETAIL);
}

/* ---- one finding ---- */

static void add_where(struct text_report *report, const struct finding *finding)
{
    report_where(&report->page.words, report->rig, finding);
    flow_built_detail(&report->page, "where");
}

/* The assumptions that a finding rests on, once each. */
static void add_assumed(struct text_report *report, const struct finding *finding)
{
    struct text *words = &report->page.words;
    for (size_t i = 0; i < finding->value_count; i++) {
        const struct finding_value *value = &finding->values[i];
        if (value->origin != ORIGIN_ASSUMED)
            continue;
        text_print(words, "%s%s = ", words->length ? "; " : "", value->name);
        value_tell(words, &value->value, value->value.unit, NULL, report_units(report->rig));
    }
    if (words->length)
        flow_built_detail(&report->page, "assumed");
}

/* Why a figure that a promise hangs on may be off. */
static void add_doubts(struct page *page, const struct finding *finding)
{
    for (size_t i = 0; i < finding->doubt_count; i++) {
        text_print(&page->words, "%s: %s", finding->doubts[i].name, finding->doubts[i].because);
        flow_built_detail(page, i ? "" : "doubt");
    }
}

/* `published`: only what can be looked up. */
static void add_sources(struct text_report *report, const struct rule *rule, bool published)
{
    const char *label = "source";
    enum practice practice = report->rig->rig ? report->rig->rig->practice : PRACTICE_ANY;
    for (size_t i = 0; i < rule->source_count; i++) {
        if (!report_source_counts(&rule->sources[i], practice) ||
            (published && report_is_practice(&rule->sources[i])))
            continue;
        flow_prose_detail(&report->page, label, rule->sources[i].text);
        label = "";
    }
}

static void add_accepted(struct page *page, const struct accept *accept)
{
    report_accepted(&page->words, accept);
    flow_built_detail(page, "accepted");
}

/* Whatever the rule says of itself has been said under an earlier finding of the section. */
struct told {
    const struct rule *rule;
    size_t number; /* of that finding; 0: it has not been said yet */
};

static void add_reasons(struct text_report *report, const struct finding *finding, struct told told)
{
    struct page *page = &report->page;
    if (finding->working && finding->working[0]) {
        page_label(page, BODY, DETAIL, "sum");
        page_lines(page, DETAIL, DETAIL, finding->working);
    }
    if (!finding->from)
        return;
    if (told.number) {
        text_print(&page->words, "as under %s %zu", level_name(finding->level), told.number);
        flow_built_detail(page, "why");
        return;
    }
    if (finding->from->because)
        flow_prose_detail(page, "why", finding->from->because);
    if (finding->level != LEVEL_QUESTION)
        add_sources(report, finding->from, false);
}

/* The number of a finding; gives the column at which its words begin. */
static unsigned add_number(struct page *page, enum level level, size_t number)
{
    char label[64];
    snprintf(label, sizeof label, "%s %zu", level_name(level), number);
    unsigned end = ITEM + page_width(label);
    page_pad(page, ITEM);
    page_level(page, level, label);
    page_pad(page, end < BODY ? BODY - end : 1);
    return end < BODY ? BODY : end + 1;
}

static bool is_whole_rig(const struct part *part)
{
    return strcmp(part->kind->name, "site") == 0 || strcmp(part->kind->name, "rig") == 0;
}

/* Reminders are many and nothing can be reckoned in them: words, promise, and what can be looked
 * up. */
static void add_reminder(struct text_report *report, const struct finding *finding, size_t number,
                         struct told told)
{
    struct page *page = &report->page;
    unsigned column = add_number(page, LEVEL_REMINDER, number);
    const struct part *part =
        finding->part_count ? report_part(report->rig, finding->parts[0]) : NULL;
    text_print(&page->words, "%s (%s", finding->message ? finding->message : "", finding->rule);
    if (part && !is_whole_rig(part)) {
        text_add(&page->words, ": ");
        report_parts(&page->words, report->rig, finding);
    }
    text_add(&page->words, ")");
    page_flow_words(page, column, BODY);
    if (finding->from && !told.number && !page->style->brief)
        add_sources(report, finding->from, true);
}

static void add_finding(struct text_report *report, const struct finding *finding, size_t number,
                        struct told told)
{
    struct page *page = &report->page;
    unsigned column = add_number(page, finding->level, number);
    page_flow(page, column, BODY, finding->message ? finding->message : "");
    add_where(report, finding);
    add_doubts(page, finding);
    if (finding->mend)
        flow_detail(page, "do", finding->mend);
    if (finding->accepted)
        add_accepted(page, finding->accepted);
    if (page->style->brief)
        add_assumed(report, finding);
    else
        add_reasons(report, finding, told);
    flow_detail(page, "promise", finding->rule);
    text_add(page->out, "\n");
}

/* ---- sections ---- */

struct section {
    enum level level;
    bool accepted;
    struct told *told; /* by rule; room for REPORT_FINDINGS_MAX; NULL: every finding says all */
    size_t told_count, number;
};

static bool is_in_section(const struct section *section, const struct finding *finding)
{
    return finding->level == section->level && (finding->accepted != NULL) == section->accepted;
}

/* Where the rule was told before; from now on it counts as told under this number. */
static struct told find_told(struct section *section, const struct rule *rule, size_t number)
{
    for (size_t i = 0; section->told && i < section->told_count; i++)
        if (section->told[i].rule == rule)
            return section->told[i];
    if (section->told && rule && section->told_count < REPORT_FINDINGS_MAX)
        section->told[section->told_count++] = (struct told){rule, number};
    return (struct told){0};
}

/* The findings of a section: mistakes in the file, or all others. */
static void add_some(struct text_report *report, struct section *section, bool mistakes)
{
    const struct judgement *judgement = &report->rig->judgement;
    for (size_t i = 0; i < judgement->finding_count; i++) {
        const struct finding *finding = &judgement->findings[i];
        if (!is_in_section(section, finding) || (finding->from == NULL) != mistakes)
            continue;
        if (report->printed == REPORT_FINDINGS_MAX)
            return;
        report->printed++;
        section->number++;
        struct told told = find_told(section, finding->from, section->number);
        if (finding->level == LEVEL_REMINDER && !finding->accepted)
            add_reminder(report, finding, section->number, told);
        else
            add_finding(report, finding, section->number, told);
    }
}

/* Mistakes in the file go before the rest: they can be the cause of it. */
static void add_findings(struct text_report *report, enum level level, bool accepted)
{
    struct section section = {.level = level, .accepted = accepted};
    section.told = calloc(REPORT_FINDINGS_MAX, sizeof *section.told);
    if (!section.told)
        report->page.out->failed = true;
    add_some(report, &section, true);
    add_some(report, &section, false);
    if (level == LEVEL_REMINDER && !accepted && section.number)
        text_add(report->page.out, "\n"); /* they stand without blank lines between them */
    free(section.told);
}

static void add_section(struct text_report *report, enum level level)
{
    struct page *page = &report->page;
    size_t count = report->rig->judgement.by_level[level];
    char heading[64];
    if (count == 0)
        return;
    snprintf(heading, sizeof heading, "%zu %s%s", count, level_name(level), report_plural(count));
    page_level(page, level, heading);
    text_add(page->out, " - ");
    page_flow(page, page_width(heading) + 3, ITEM, report_level_words(level));
    text_add(page->out, "\n");
    add_findings(report, level, false);
}

static void add_accepted_section(struct text_report *report)
{
    size_t count = report->rig->judgement.accepted;
    if (count == 0)
        return;
    text_print(report->page.out,
               "%zu accepted - known to the rig's owner, and left as they are\n\n", count);
    for (unsigned level = 0; level < LEVEL_COUNT; level++)
        add_findings(report, (enum level)level, true);
}

static void add_heading(struct text_report *report)
{
    struct page *page = &report->page;
    const struct report_rig *rig = report->rig;
    text_add(page->out, "Rig: ");
    page_strong(page, rig->name[0] ? rig->name : rig->rig ? "without a name" : "can't be read");
    text_add(page->out, "\nin   ");
    text_print(&page->words, "%s%s", path_start(rig->file), rig->file);
    if (rig->rig) {
        size_t own = rig->rig->part_count > 2 ? rig->rig->part_count - 2 : 0; /* not site and rig */
        const char *practice = practice_name(rig->rig->practice);
        text_print(&page->words, "; %zu part%s, cables and pipes counted", own, report_plural(own));
        if (practice)
            text_print(&page->words, "; wiring practice %s", practice);
    }
    page_flow_words(page, 5, 5);
    text_add(page->out, "\n");
}

/* ---- what it all comes to ---- */

static void add_rig_sum(struct text_report *report)
{
    struct page *page = &report->page;
    const struct judgement *judgement = &report->rig->judgement;
    size_t assumed = report_assumed(report->rig->rig);
    if (judgement->finding_count > report->printed)
        text_print(page->out, "Printed are %zu findings of %zu; the rest is left out.\n",
                   report->printed, judgement->finding_count);
    text_add(&page->words, report_verdict_words(report->rig));
    text_add(&page->words, " ");
    if (report->rig->rig)
        report_sum_words(&page->words, judgement);
    page_flow_words(page, 0, 0);
    if (!assumed)
        return;
    text_print(
        &page->words,
        "Not given, so assumed: %zu figure%s. `rigtally figures` shows each with its reason.",
        assumed, report_plural(assumed));
    page_flow_words(page, 0, 0);
}

void text_add_rig(struct text *out, const struct report_style *style, const struct report_rig *rig,
                  bool first)
{
    struct text_report report = {.rig = rig};
    page_begin(&report.page, out, style);
    if (!first) {
        text_add(out, "\n");
        for (unsigned i = 0; i < style->width && i < DIVIDER; i++)
            text_add(out, "=");
        text_add(out, "\n\n");
    }
    add_heading(&report);
    for (unsigned level = 0; level < LEVEL_COUNT; level++)
        add_section(&report, (enum level)level);
    add_accepted_section(&report);
    add_rig_sum(&report);
    page_end(&report.page);
}

void text_end(struct text *out, const struct report_style *style, const struct report_sum *sum)
{
    struct page page;
    if (sum->rigs < 2)
        return;
    page_begin(&page, out, style);
    text_print(&page.words, "%zu rigs: %zu without an error, %zu with errors", sum->rigs,
               sum->rigs - sum->with_errors - sum->unreadable, sum->with_errors);
    if (sum->unreadable)
        text_print(&page.words, ", %zu that can't be read as a whole", sum->unreadable);
    text_print(&page.words, ". %zu promise%s in all: %zu hold", sum->promises,
               report_plural(sum->promises), sum->hold);
    if (sum->accepted)
        text_print(&page.words, ", %zu accepted", sum->accepted);
    if (sum->known)
        text_print(&page.words, ", %zu known since the baseline", sum->known);
    for (unsigned level = 0; level < LEVEL_REMINDER; level++)
        if (sum->by_level[level])
            text_print(&page.words, ", %zu %s%s", sum->by_level[level],
                       level_name((enum level)level), report_plural(sum->by_level[level]));
    text_add(&page.words, ".");
    text_add(out, "\n");
    page_flow_words(&page, 0, 0);
    page_end(&page);
}
