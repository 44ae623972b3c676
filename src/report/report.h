/* report.h - what was found, for people and programs. Every report is made from
 * the same findings. Only this layer words what is printed, and every string that
 * comes from a file passes exactly one escape for its sink. Each function appends
 * to `out`; memory that runs out shows in out->failed. */
#ifndef RT_REPORT_H
#define RT_REPORT_H
#include "base/text.h"
#include "judge/judge.h"

#define REPORT_FINDINGS_MAX 1000 /* printed of one rig; the total is stated */

/* One rig with what was found. */
struct report_rig {
    const char *file;      /* as it was named */
    const char *path;      /* below the root of its repository; NULL: as it was named */
    const char *root;      /* that root, as shown to people; NULL: not known */
    const char *name;      /* "" when it has none or could not be read */
    const struct rig *rig; /* NULL when it could not be read */
    struct judgement judgement;
};

struct report_style {
    bool colour;
    bool brief;     /* no working and sources */
    unsigned width; /* of the terminal, for wrapping */
    /* What SARIF says of the tool: its version, and the rules of the run in byte order. */
    const char *version;
    const struct rule *const *rules;
    size_t rule_count;
};

/* The worst level of a judgement as a word: error, caution, question or clean. */
const char *report_verdict(const struct judgement *judgement);

/* Could the file be read from its first to its last word? If not, what was judged is not the rig
 * that was meant. */
bool report_is_whole(const struct report_rig *rig);

/* Each report is begun, given the rigs one by one, in order, and ended: a thousand rigs need no
 * more memory than one. */
enum report_format {
    REPORT_TEXT,
    REPORT_LINES,
    REPORT_JSON,
    REPORT_SARIF,
    REPORT_MARKDOWN,
    REPORT_FORMAT_COUNT
};
const char *report_format_name(enum report_format format); /* "text", "lines", "json" ... */
bool report_format_find(const char *name, enum report_format *out);
/* Does it print the working and the values of findings? */
bool report_shows_working(enum report_format format);
void report_begin(struct text *out, enum report_format format);
/* `first`: no other rig was added before. */
void report_add(struct text *out, enum report_format format, const struct report_style *style,
                const struct report_rig *rig, bool first);
struct report_sum { /* over all rigs */
    size_t rigs, unreadable,
        with_errors; /* each rig is unreadable (not whole), or with errors, or neither */
    size_t promises, hold, by_level[LEVEL_COUNT], accepted, known;
};
/* To be called on what report_add made, before it is written after rigs of this sum. */
void report_join(struct text *text, enum report_format format, const struct report_sum *before);
void report_sum_add(struct report_sum *sum, const struct report_rig *rig);
void report_end(struct text *out, enum report_format format, const struct report_style *style,
                const struct report_sum *sum);

/* Every attribute of every part in every condition, as text or JSON: begun, given the parts one by
 * one, in order, and ended, so that a rig of thousands of parts need not stand in memory as text.
 */
void report_figures_begin(struct text *out, bool json, const struct report_style *style,
                          const struct rig *rig);
void report_figures_part(struct text *out, bool json, const struct report_style *style,
                         const struct rig *rig, size_t index);
void report_figures_end(struct text *out, bool json);

/* The rig as a checklist to be printed and taken to the job. `steps`: a judgement of JUDGE_STEPS;
 * rig->rig must be there. The same bytes each time. */
enum report_sheet_form { SHEET_HTML, SHEET_MARKDOWN, SHEET_TEXT };
void report_sheet(struct text *out, enum report_sheet_form form, const struct report_style *style,
                  const struct report_rig *rig, const struct judgement *steps);

/* What a rule promises, why, its sources and proofs; and a line for it in a list. */
void report_rule(struct text *out, const struct report_style *style, const struct rule *rule);
void report_rule_line(struct text *out, const struct report_style *style, const struct rule *rule);
/* What came out of a proof that did not come out as expected. */
void report_proof(struct text *out, const struct report_style *style,
                  const struct proof_result *result);
/* A kind with the number of its catalogue entries; a line for an entry; all of an entry. */
void report_kind_line(struct text *out, const struct report_style *style, const struct kind *kind,
                      size_t entries);
void report_entry_line(struct text *out, const struct report_style *style,
                       const struct entry *entry);
void report_entry(struct text *out, const struct report_style *style, const struct store *store,
                  const struct entry *entry);
/* The JSON Schema (draft-07) of a rig file whose parts are of this store. */
void report_schema(struct text *out, const struct store *store);
/* What is wrong with files that the tool itself needs, one line each in the `lines` form. */
void report_diagnostics(struct text *out, const struct diagnostics *diagnostics);

/* ---- Escapes, one for each sink. What is dangerous is shown, not sent, and never taken away. ----
 */
/* For a terminal or a log: control characters and broken UTF-8 as \x1b, bidirectional overrides and
 * characters without width as <U+202E>, and the second character of `::` and of `##` as \x3a, \x23.
 */
void escape_terminal(struct text *out, const char *string);
/* For a path that begins a line: the same, and a relative one begins with ./ */
void escape_path(struct text *out, const char *path);
/* For a whole JSON document, as text: the same characters as \uXXXX, which reads back as what it
 * was. */
void escape_json(struct text *out, const char *json);
/* For a SARIF message that is yet to be written as JSON: no links and no placeholders. */
void escape_message(struct text *out, const char *string);
/* A relative path as a relative URI. */
void escape_uri(struct text *out, const char *path);
/* For Markdown inside a line: as for a terminal, and any word that Markdown or a forge would act on
 * (HTML, links, mentions, references, emphasis) as code. Runs of blanks become one. */
void escape_markdown(struct text *out, const char *string);
/* For text and quoted attribute values of HTML and XML: as for a terminal, and & < > " ' as
 * character references. */
void escape_html(struct text *out, const char *string);
/* Broken UTF-8 as \xff, all else as it is: for a JSON string that is yet to be written. */
void escape_bad_bytes(struct text *out, const char *string);
#endif
