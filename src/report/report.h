/* report.h - what was found, for people and programs. Every report is made from
 * the same findings. Only this layer prints, and every string that comes from a
 * file passes exactly one escape for its sink. */
#ifndef RT_REPORT_H
#define RT_REPORT_H
#include "base/text.h"
#include "judge/judge.h"

/* One rig with what was found. */
struct report_rig {
    const char *file;
    const char *name;      /* "" when it has none or could not be read */
    const struct rig *rig; /* NULL when it could not be read */
    struct judgement judgement;
};

struct report_style {
    bool colour;
    bool brief;     /* no working and sources */
    unsigned width; /* of the terminal, for wrapping */
};

/* The worst level of a judgement as a word: error, caution, question or clean. */
const char *report_verdict(const struct judgement *judgement);

/* Each report is begun, given the rigs one by one, in order, and ended: a thousand rigs need no more memory than one. */
enum report_format { REPORT_TEXT, REPORT_LINES, REPORT_JSON };
bool report_format_find(const char *name, enum report_format *out);
void report_begin(struct text *out, enum report_format format);
void report_add(struct text *out, enum report_format format, const struct report_style *style,
                const struct report_rig *rig, bool first);
struct report_sum { /* over all rigs */
    size_t rigs, unreadable, promises, hold, by_level[LEVEL_COUNT], accepted;
};
void report_end(struct text *out, enum report_format format, const struct report_style *style,
                const struct report_sum *sum);

/* Every attribute of every part in every condition, as text or JSON. */
void report_figures(struct text *out, bool json, const struct report_style *style, const struct rig *rig);

/* What a rule promises, why, its sources and proofs; and a line for it in a list. */
void report_rule(struct text *out, const struct report_style *style, const struct rule *rule);
void report_rule_line(struct text *out, const struct report_style *style, const struct rule *rule);
/* A catalogue entry, and a line for it. */
void report_entry(struct text *out, const struct report_style *style, const struct store *store, const struct entry *entry);

/* Escapes, one for each sink. Control characters, bidirectional overrides and the like are shown, not sent. */
void escape_terminal(struct text *out, const char *string);
void escape_json(struct text *out, const char *string); /* without the quotes */
#endif
