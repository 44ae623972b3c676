/* report.c - what the reports share: formats, verdicts, sums. */
#include "report/report.h"

#include <string.h>

#include "report/formats.h"
#include "report/page.h"

static const struct report_kind {
    const char *name;
    void (*begin)(struct text *out);
    void (*add)(struct text *out, const struct report_style *style, const struct report_rig *rig,
                bool first);
    void (*end)(struct text *out, const struct report_style *style, const struct report_sum *sum);
    bool shows_working;
} formats[REPORT_FORMAT_COUNT] = {
    [REPORT_TEXT] = {"text", text_begin, text_add_rig, text_end, true},
    [REPORT_LINES] = {"lines", lines_begin, lines_add_rig, lines_end, false},
    [REPORT_JSON] = {"json", json_begin, json_add_rig, json_end, true},
    [REPORT_SARIF] = {"sarif", sarif_begin, sarif_add_rig, sarif_end, false},
    [REPORT_MARKDOWN] = {"markdown", markdown_begin, markdown_add_rig, markdown_end, false},
};

const char *report_format_name(enum report_format format)
{
    return formats[format].name;
}

bool report_format_find(const char *name, enum report_format *out)
{
    for (unsigned i = 0; i < REPORT_FORMAT_COUNT; i++) {
        if (strcmp(formats[i].name, name) == 0) {
            *out = (enum report_format)i;
            return true;
        }
    }
    return false;
}

bool report_shows_working(enum report_format format)
{
    return formats[format].shows_working;
}

void report_begin(struct text *out, enum report_format format)
{
    formats[format].begin(out);
}

void report_add(struct text *out, enum report_format format, const struct report_style *style,
                const struct report_rig *rig, bool first)
{
    formats[format].add(out, style, rig, first);
}

void report_join(struct text *text, enum report_format format, const struct report_sum *before)
{
    if (format == REPORT_SARIF)
        sarif_join(text, before);
}

void report_end(struct text *out, enum report_format format, const struct report_style *style,
                const struct report_sum *sum)
{
    formats[format].end(out, style, sum);
}

const char *report_verdict(const struct judgement *judgement)
{
    for (unsigned level = LEVEL_ERROR; level <= LEVEL_QUESTION; level++)
        if (judgement->by_level[level])
            return level_name((enum level)level);
    return "clean";
}

bool report_is_whole(const struct report_rig *rig)
{
    for (size_t i = 0; rig->rig && i < rig->judgement.finding_count; i++) {
        const struct finding *finding = &rig->judgement.findings[i];
        if (!finding->from && finding->level == LEVEL_ERROR &&
            strcmp(finding->rule, TOPIC_READS) == 0)
            return false;
    }
    return rig->rig != NULL;
}

void report_sum_add(struct report_sum *sum, const struct report_rig *rig)
{
    const struct judgement *judgement = &rig->judgement;
    sum->rigs++;
    bool whole = report_is_whole(rig);
    sum->unreadable += !whole;
    sum->with_errors += whole && judgement->by_level[LEVEL_ERROR];
    sum->promises += judgement->promises;
    sum->hold += judgement->hold;
    sum->accepted += judgement->accepted;
    sum->known += judgement->known;
    for (unsigned level = 0; level < LEVEL_COUNT; level++)
        sum->by_level[level] += judgement->by_level[level];
}

const char *report_plural(size_t count)
{
    return count == 1 ? "" : "s";
}

void report_counts(struct text *out, const size_t by_level[LEVEL_COUNT])
{
    const char *between = "";
    for (unsigned level = 0; level < LEVEL_COUNT; level++) {
        if (by_level[level] == 0)
            continue;
        text_print(out, "%s%zu %s%s", between, by_level[level], level_name((enum level)level),
                   report_plural(by_level[level]));
        between = ", ";
    }
}

bool report_source_counts(const struct rule_source *source, enum practice practice)
{
    return practice == PRACTICE_ANY || source->practice == PRACTICE_ANY ||
           source->practice == practice;
}

enum unit_system report_units(const struct report_rig *rig)
{
    return rig->rig ? rig_units(rig->rig) : UNITS_METRIC;
}
