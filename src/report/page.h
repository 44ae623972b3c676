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
/* True when a source of a rule counts in a rig of this practice. */
bool report_source_counts(const struct rule_source *source, enum practice practice);
#endif
