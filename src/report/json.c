/* json.c - `check --format json`: one document, written rig by rig. Fields may be
 * added, none renamed. Numbers are in coherent SI units. */
#include "report/formats.h"
#include "report/jotter.h"
#include "report/page.h"

void json_begin(struct text *out)
{
    text_add(out, "{\n  \"rigtally\": 1,\n  \"rigs\": [");
}

static json_t *json_counts(struct jotter *jotter, const struct judgement *judgement)
{
    json_t *counts = jot_object(jotter);
    if (!counts)
        return NULL;
    jot_set(jotter, counts, "promises", jot_number(jotter, (double)judgement->promises));
    jot_set(jotter, counts, "hold", jot_number(jotter, (double)judgement->hold));
    for (unsigned level = 0; level < LEVEL_COUNT; level++)
        jot_set(jotter, counts, level_name((enum level)level),
                jot_number(jotter, (double)judgement->by_level[level]));
    jot_set(jotter, counts, "accepted", jot_number(jotter, (double)judgement->accepted));
    jot_set(jotter, counts, "known", jot_number(jotter, (double)judgement->known));
    jot_set(jotter, counts, "unread", jot_number(jotter, (double)judgement->unread));
    return counts;
}

/* `line` 0 is the file as a whole. */
static json_t *json_place(struct jotter *jotter, const char *file, const struct place *place)
{
    json_t *at = jot_object(jotter);
    if (!at)
        return NULL;
    jot_set(jotter, at, "file", jot_string(jotter, place->file ? place->file : file));
    jot_set(jotter, at, "line", jot_number(jotter, place->line));
    jot_set(jotter, at, "column", jot_number(jotter, place->column));
    return at;
}

static json_t *json_strings(struct jotter *jotter, const char *const *strings, size_t count)
{
    json_t *array = jot_array(jotter);
    for (size_t i = 0; array && i < count; i++)
        jot_append(jotter, array, jot_string(jotter, strings[i]));
    return array;
}

static json_t *json_values(struct jotter *jotter, const struct finding *finding)
{
    json_t *values = jot_object(jotter);
    for (size_t i = 0; values && i < finding->value_count; i++) {
        const struct finding_value *value = &finding->values[i];
        json_t *item = jot_object(jotter);
        if (item) {
            jot_set(jotter, item, "value", jot_value(jotter, &value->value));
            jot_set(jotter, item, "unit", jot_unit(jotter, &value->value));
            jot_set(jotter, item, "from", jot_string(jotter, origin_name(value->origin)));
            if (value->because)
                jot_set(jotter, item, "because", jot_string(jotter, value->because));
        }
        jot_set(jotter, values, value->name, item);
    }
    return values;
}

static json_t *json_sources(struct jotter *jotter, const struct report_rig *rig,
                            const struct rule *rule)
{
    json_t *sources = jot_array(jotter);
    enum practice practice = rig->rig ? rig->rig->practice : PRACTICE_ANY;
    for (size_t i = 0; sources && rule && i < rule->source_count; i++)
        if (report_source_counts(&rule->sources[i], practice))
            jot_append(jotter, sources, jot_string(jotter, rule->sources[i].text));
    return sources;
}

static json_t *json_accepted(struct jotter *jotter, const struct report_rig *rig,
                             const struct accept *accept)
{
    if (!accept)
        return json_null();
    json_t *item = jot_object(jotter);
    if (!item)
        return NULL;
    jot_set(jotter, item, "because", jot_string(jotter, accept->because));
    jot_set(jotter, item, "until", jot_string(jotter, accept->until));
    jot_set(jotter, item, "at", json_place(jotter, rig->file, &accept->at));
    return item;
}

/* What a thin promise hangs on: each figure by its label, and as it may be instead. */
static json_t *json_doubts(struct jotter *jotter, const struct finding *finding)
{
    json_t *doubts = jot_array(jotter);
    for (size_t i = 0; doubts && i < finding->doubt_count; i++) {
        const struct finding_doubt *doubt = &finding->doubts[i];
        json_t *item = jot_object(jotter);
        if (item) {
            jot_set(jotter, item, "figure", jot_string(jotter, doubt->name));
            jot_set(jotter, item, "value", jot_value(jotter, &doubt->value));
            jot_set(jotter, item, "then", jot_value(jotter, &doubt->then));
            jot_set(jotter, item, "unit", jot_unit(jotter, &doubt->value));
            jot_set(jotter, item, "from", jot_string(jotter, origin_name(doubt->origin)));
            jot_set(jotter, item, "because", jot_string(jotter, doubt->because));
        }
        jot_append(jotter, doubts, item);
    }
    return doubts;
}

static json_t *json_finding(struct jotter *jotter, const struct report_rig *rig,
                            const struct finding *finding)
{
    json_t *item = jot_object(jotter);
    if (!item)
        return NULL;
    const char *condition = finding->has_condition ? condition_name(finding->condition) : NULL;
    jot_set(jotter, item, "rule", jot_string(jotter, finding->rule));
    jot_set(jotter, item, "level", jot_string(jotter, level_name(finding->level)));
    jot_set(jotter, item, "condition", jot_string(jotter, condition));
    jot_set(jotter, item, "parts", json_strings(jotter, finding->parts, finding->part_count));
    jot_set(jotter, item, "at", json_place(jotter, rig->file, &finding->at));
    jot_set(jotter, item, "also",
            finding->also.line ? json_place(jotter, rig->file, &finding->also) : json_null());
    jot_set(jotter, item, "message", jot_string(jotter, finding->message ? finding->message : ""));
    jot_set(jotter, item, "margin",
            finding->has_margin ? jot_number(jotter, finding->margin) : json_null());
    if (finding->is_thin) {
        jot_set(jotter, item, "hangs_on", json_doubts(jotter, finding));
        jot_set(jotter, item, "margin_then",
                finding->has_margin_then ? jot_number(jotter, finding->margin_then) : json_null());
    }
    jot_set(jotter, item, "working", jot_lines(jotter, finding->working ? finding->working : ""));
    jot_set(jotter, item, "values", json_values(jotter, finding));
    jot_set(jotter, item, "why", jot_string(jotter, finding->from ? finding->from->because : NULL));
    jot_set(jotter, item, "mend", jot_string(jotter, finding->mend));
    jot_set(jotter, item, "missing",
            json_strings(jotter, finding->missing, finding->missing_count));
    jot_set(jotter, item, "sources", json_sources(jotter, rig, finding->from));
    jot_set(jotter, item, "accepted", json_accepted(jotter, rig, finding->accepted));
    return item;
}

static json_t *json_findings(struct jotter *jotter, const struct report_rig *rig)
{
    json_t *findings = jot_array(jotter);
    size_t count = rig->judgement.finding_count;
    for (size_t i = 0; findings && i < count && i < REPORT_FINDINGS_MAX; i++)
        jot_append(jotter, findings, json_finding(jotter, rig, &rig->judgement.findings[i]));
    return findings;
}

void json_add_rig(struct text *out, const struct report_style *style, const struct report_rig *rig,
                  bool first)
{
    struct jotter jotter = {0};
    json_t *item = jot_object(&jotter);
    (void)style;
    if (item) {
        const char *practice = rig->rig ? practice_name(rig->rig->practice) : NULL;
        jot_set(&jotter, item, "file", jot_string(&jotter, rig->file));
        jot_set(&jotter, item, "name", jot_string(&jotter, rig->name));
        jot_set(&jotter, item, "practice", jot_string(&jotter, practice));
        jot_set(&jotter, item, "readable", jot_bool(&jotter, report_is_whole(rig)));
        jot_set(&jotter, item, "verdict", jot_string(&jotter, report_verdict(&rig->judgement)));
        jot_set(&jotter, item, "counts", json_counts(&jotter, &rig->judgement));
        jot_set(&jotter, item, "findings_total",
                jot_number(&jotter, (double)rig->judgement.finding_count));
        jot_set(&jotter, item, "findings", json_findings(&jotter, rig));
    }
    text_add(out, first ? "\n    " : ",\n    ");
    jot_write(&jotter, item, 4, out);
}

void json_end(struct text *out, const struct report_style *style, const struct report_sum *sum)
{
    (void)style;
    text_add(out, sum->rigs ? "\n  ]\n}\n" : "]\n}\n");
}
