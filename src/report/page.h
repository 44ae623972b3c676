/* page.h - lines of words for people: indented, labelled, wrapped to a width.
 * Private to the report layer. What is laid out here is escaped here, once. */
#ifndef RT_REPORT_PAGE_H
#define RT_REPORT_PAGE_H
#include "report/report.h"

struct page {
    struct text *out;
    const struct report_style *style;
    struct text words; /* where a caller puts raw words together before they are laid out */
    struct text clean; /* the same, escaped */
};

void page_begin(struct page *page, struct text *out, const struct report_style *style);
/* Drops what the page used; a failure to get memory becomes one of `out`. */
void page_end(struct page *page);

/* Empties page->words or page->clean, keeping in mind whether memory ran out for it. */
void page_empty(struct page *page, struct text *text);
/* Raw words as a paragraph, escaped and wrapped, ended by \n. The line holds `column` characters
 * already; further lines begin at `indent`. */
void page_flow(struct page *page, unsigned column, unsigned indent, const char *words);
/* The same of page->words, which is then empty again. */
void page_flow_words(struct page *page, unsigned column, unsigned indent);
/* Prose of a rule, in which a line end is no more than a blank. */
void page_prose(struct page *page, unsigned column, unsigned indent, const char *prose);
/* Lines that each end with \n: each one a paragraph that keeps its own leading blanks. */
void page_lines(struct page *page, unsigned column, unsigned indent, const char *lines);
/* One of our own words at `indent`, padded so that what follows it stands at `column`. */
void page_label(struct page *page, unsigned indent, unsigned column, const char *label);
void page_pad(struct page *page, unsigned count);
/* Our own words in the colour of a level, when there is colour. */
void page_level(struct page *page, enum level level, const char *words);
void page_strong(struct page *page, const char *raw);
/* How many columns escaped text takes: code points. */
unsigned page_width(const char *clean);

/* What goes before a path so that its line does not begin with text of others: "./" or nothing. */
const char *path_start(const char *path);

const char *report_plural(size_t count); /* "" or "s" */
/* "3 errors, 1 caution", leaving out what there is none of; "" for nothing. */
void report_counts(struct text *out, const size_t by_level[LEVEL_COUNT]);
/* What findings of a level are, as a heading goes on. */
const char *report_level_words(enum level level);
/* The part of this name in the rig; NULL: there is none, or no rig. */
const struct part *report_part(const struct report_rig *rig, const char *id);
/* The parts of a finding, each with its line: "f1 (line 15) and panel (line 14)". */
void report_parts(struct text *words, const struct report_rig *rig, const struct finding *finding);
/* Where a finding stands in the list, and the condition in which it is worst. */
void report_where(struct text *words, const struct report_rig *rig, const struct finding *finding);
/* By whom and why it was accepted, and until when. */
void report_accepted(struct text *words, const struct accept *accept);
/* The way in which rule files say that nobody published it. */
bool report_is_practice(const struct rule_source *source);
/* How many figures of a rig were assumed. */
size_t report_assumed(const struct rig *rig);
/* "73 promises: 67 hold, 2 errors, 4 cautions. Besides, 7 reminders." */
void report_sum_words(struct text *words, const struct judgement *judgement);
/* "This rig does not tally.": a sentence on all of it. */
const char *report_verdict_words(const struct report_rig *rig);
/* In whose units a rig's figures are told; metric where the rig could not be read. */
enum unit_system report_units(const struct report_rig *rig);
/* True when a source of a rule counts in a rig of this practice. */
bool report_source_counts(const struct rule_source *source, enum practice practice);
#endif
