/* sarif.c - `check --format sarif`: one run of SARIF 2.1.0 (OASIS), written rig by
 * rig. No time, machine or absolute path is in it: the same rigs give the same bytes. */
#include <stdlib.h>
#include <string.h>

#include "report/formats.h"
#include "report/jotter.h"
#include "report/page.h"

#define BASE_ID "RIGS"
#define FINGERPRINT "rigtally/v1"

/* What a file itself promises; these have no rule file. */
static const struct topic {
    const char *name, *about;
} topics[] = {
    {TOPIC_READS, "The file can be read: text, YAML, within the limits."},
    {TOPIC_WORDS, "Every key, kind, part and word is one that is known."},
    {TOPIC_UNITS, "Every figure has a unit of its own sort."},
    {TOPIC_ONCE, "Nothing is said twice."},
    {TOPIC_JOINS, "Every run joins two parts."},
    {TOPIC_FORMULA, "Every formula makes sense."},
};
#define TOPIC_COUNT (sizeof topics / sizeof *topics)

/* SARIF's own words, 3.27.10. Questions and reminders are for reading. */
static const char *const levels[LEVEL_COUNT] = {
    [LEVEL_ERROR] = "error",
    [LEVEL_CAUTION] = "warning",
    [LEVEL_QUESTION] = "note",
    [LEVEL_REMINDER] = "note",
};

void sarif_begin(struct text *out)
{
    text_add(out, "{\n"
                  "  \"$schema\": \"https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/"
                  "schemas/sarif-schema-2.1.0.json\",\n"
                  "  \"version\": \"2.1.0\",\n"
                  "  \"runs\": [\n    {\n"
                  "      \"columnKind\": \"unicodeCodePoints\",\n"
                  "      \"results\": [");
}

/* ---- pieces ---- */

/* {"text": …}, escaped as a message. */
static json_t *message(struct jotter *jotter, const char *words)
{
    struct text escaped = {0};
    json_t *object = jot_object(jotter);
    escape_message(&escaped, words);
    jotter->failed = jotter->failed || escaped.failed;
    if (object)
        jot_set(jotter, object, "text", jot_string(jotter, escaped.length ? escaped.bytes : ""));
    text_drop(&escaped);
    return object;
}

static const char *base_name(const char *path)
{
    const char *slash = strrchr(path, '/');
    return slash ? slash + 1 : path;
}

/* The path of a file below the root that all paths of the run begin at. */
static const char *path_below_root(const struct report_rig *rig, const char *file)
{
    if (!file || strcmp(file, rig->file) == 0)
        return rig->path ? rig->path : rig->file;
    size_t length = rig->root ? strlen(rig->root) : 0;
    if (length && strncmp(file, rig->root, length) == 0 && file[length] == '/')
        return file + length + 1;
    bool below = rig->root && strcmp(rig->root, ".") == 0 && file[0] != '/';
    return below ? file : base_name(file);
}

static json_t *artifact(struct jotter *jotter, const struct report_rig *rig, const char *file)
{
    struct text uri = {0};
    const char *path = path_below_root(rig, file);
    json_t *object = jot_object(jotter);
    escape_uri(&uri, path[0] == '/' ? base_name(path) : path);
    jotter->failed = jotter->failed || uri.failed;
    if (object) {
        jot_set(jotter, object, "uri", jot_string(jotter, uri.length ? uri.bytes : ""));
        jot_set(jotter, object, "uriBaseId", jot_string(jotter, BASE_ID));
    }
    text_drop(&uri);
    return object;
}

static json_t *region(struct jotter *jotter, const struct place *place)
{
    json_t *object = jot_object(jotter);
    if (object) {
        jot_set(jotter, object, "startLine", jot_number(jotter, place->line));
        if (place->column)
            jot_set(jotter, object, "startColumn", jot_number(jotter, place->column));
    }
    return object;
}

static json_t *location(struct jotter *jotter, const struct report_rig *rig,
                        const struct place *place)
{
    json_t *object = jot_object(jotter), *physical = jot_object(jotter);
    if (physical) {
        jot_set(jotter, physical, "artifactLocation", artifact(jotter, rig, place->file));
        if (place->line)
            jot_set(jotter, physical, "region", region(jotter, place));
    }
    if (!object) {
        json_decref(physical);
        return NULL;
    }
    jot_set(jotter, object, "physicalLocation", physical);
    return object;
}

static json_t *one_location(struct jotter *jotter, const struct report_rig *rig,
                            const struct place *place)
{
    json_t *array = jot_array(jotter);
    if (array)
        jot_append(jotter, array, location(jotter, rig, place));
    return array;
}

/* ---- results ---- */

static int by_name(const void *name, const void *rule)
{
    return strcmp(name, (*(const struct rule *const *)rule)->name);
}

/* Where the rule stands in the driver's list; -1: nowhere, as SARIF has it. */
static double rule_index(const struct report_style *style, const char *name)
{
    for (size_t i = 0; i < TOPIC_COUNT; i++)
        if (strcmp(topics[i].name, name) == 0)
            return (double)i;
    const struct rule *const *found =
        style->rule_count
            ? bsearch(name, style->rules, style->rule_count, sizeof *style->rules, by_name)
            : NULL;
    return found ? (double)(TOPIC_COUNT + (size_t)(found - style->rules)) : -1.0;
}

static json_t *result_message(struct jotter *jotter, const struct finding *finding)
{
    struct text words = {0};
    text_add(&words, finding->message ? finding->message : "");
    if (finding->mend)
        text_print(&words, " To mend: %s", finding->mend);
    jotter->failed = jotter->failed || words.failed;
    json_t *object = message(jotter, words.length ? words.bytes : "");
    text_drop(&words);
    return object;
}

static json_t *suppression(struct jotter *jotter, const struct report_rig *rig,
                           const struct accept *accept)
{
    struct text words = {0};
    json_t *object = jot_object(jotter);
    text_add(&words, accept->because ? accept->because : "");
    if (accept->until)
        text_print(&words, " (until %s)", accept->until);
    jotter->failed = jotter->failed || words.failed;
    if (object) {
        jot_set(jotter, object, "kind", jot_string(jotter, "inSource"));
        jot_set(jotter, object, "status", jot_string(jotter, "accepted"));
        jot_set(jotter, object, "justification",
                jot_string(jotter, words.length ? words.bytes : ""));
        jot_set(jotter, object, "location", location(jotter, rig, &accept->at));
    }
    text_drop(&words);
    return object;
}

/* An empty array says "not suppressed"; to leave it out would say "not known", and then of all. */
static json_t *suppressions(struct jotter *jotter, const struct report_rig *rig,
                            const struct finding *finding)
{
    json_t *array = jot_array(jotter);
    if (array && finding->accepted)
        jot_append(jotter, array, suppression(jotter, rig, finding->accepted));
    return array;
}

static json_t *fingerprints(struct jotter *jotter, const struct finding *finding)
{
    json_t *object = jot_object(jotter);
    if (object)
        jot_set(jotter, object, FINGERPRINT, jot_string(jotter, finding->fingerprint));
    return object;
}

static json_t *hangs_on(struct jotter *jotter, const struct finding *finding)
{
    json_t *names = jot_array(jotter);
    for (size_t i = 0; names && i < finding->doubt_count; i++)
        jot_append(jotter, names, jot_string(jotter, finding->doubts[i].name));
    return names;
}

static json_t *properties(struct jotter *jotter, const struct finding *finding)
{
    json_t *object = jot_object(jotter), *parts = jot_array(jotter);
    for (size_t i = 0; parts && i < finding->part_count; i++)
        jot_append(jotter, parts, jot_string(jotter, finding->parts[i]));
    if (!object) {
        json_decref(parts);
        return NULL;
    }
    jot_set(jotter, object, "level", jot_string(jotter, level_name(finding->level)));
    jot_set(jotter, object, "parts", parts);
    if (finding->has_condition)
        jot_set(jotter, object, "condition",
                jot_string(jotter, condition_name(finding->condition)));
    if (finding->has_margin)
        jot_set(jotter, object, "margin", jot_number(jotter, finding->margin));
    if (finding->is_thin)
        jot_set(jotter, object, "hangs_on", hangs_on(jotter, finding));
    if (finding->has_margin_then)
        jot_set(jotter, object, "margin_then", jot_number(jotter, finding->margin_then));
    return object;
}

static json_t *result(struct jotter *jotter, const struct report_style *style,
                      const struct report_rig *rig, const struct finding *finding)
{
    json_t *object = jot_object(jotter);
    if (!object)
        return NULL;
    jot_set(jotter, object, "ruleId", jot_string(jotter, finding->rule));
    jot_set(jotter, object, "ruleIndex", jot_number(jotter, rule_index(style, finding->rule)));
    jot_set(jotter, object, "level", jot_string(jotter, levels[finding->level]));
    jot_set(jotter, object, "message", result_message(jotter, finding));
    jot_set(jotter, object, "locations", one_location(jotter, rig, &finding->at));
    if (finding->also.line)
        jot_set(jotter, object, "relatedLocations", one_location(jotter, rig, &finding->also));
    if (finding->fingerprint)
        jot_set(jotter, object, "partialFingerprints", fingerprints(jotter, finding));
    jot_set(jotter, object, "suppressions", suppressions(jotter, rig, finding));
    jot_set(jotter, object, "properties", properties(jotter, finding));
    return object;
}

void sarif_add_rig(struct text *out, const struct report_style *style, const struct report_rig *rig,
                   bool first)
{
    size_t count = rig->judgement.finding_count;
    for (size_t i = 0; i < count && i < REPORT_FINDINGS_MAX; i++) {
        struct jotter jotter = {0};
        text_add(out, first && i == 0 ? "\n        " : ",\n        ");
        jot_write(&jotter, result(&jotter, style, rig, &rig->judgement.findings[i]), 8, out);
    }
}

static size_t findings_of(const struct report_sum *sum)
{
    size_t count = sum->accepted;
    for (unsigned level = 0; level < LEVEL_COUNT; level++)
        count += sum->by_level[level];
    return count;
}

void sarif_join(struct text *text, const struct report_sum *before)
{
    if (findings_of(before) || !text->length || text->bytes[0] != ',')
        return;
    memmove(text->bytes, text->bytes + 1, text->length--); /* with its NUL */
}

/* ---- rules ---- */

static void add_line(struct text *text, const char *label, const char *words)
{
    if (words)
        text_print(text, "%s%s\n", label, words);
}

/* A line end in a rule file is no more than a blank. */
static json_t *prose(struct jotter *jotter, const char *words)
{
    struct text flowing = {0};
    for (size_t length; *words; words += length) {
        words += strspn(words, " \n");
        length = strcspn(words, " \n");
        if (length && flowing.length)
            text_add(&flowing, " ");
        text_add_bytes(&flowing, words, length);
    }
    jotter->failed = jotter->failed || flowing.failed;
    json_t *object = message(jotter, flowing.length ? flowing.bytes : "");
    text_drop(&flowing);
    return object;
}

/* What is judged, in the rule's own formulas. */
static json_t *rule_help(struct jotter *jotter, const struct rule *rule)
{
    struct text help = {0};
    add_line(&help, "Judged of: ", rule->pairing.text);
    add_line(&help, "Under: ", rule->under.text);
    add_line(&help, "When: ", rule->when.text);
    add_line(&help, "An error unless: ", rule->error_unless.text);
    add_line(&help, "A caution unless: ", rule->caution_unless.text);
    add_line(&help, "To mend: ", rule->mend.text);
    for (size_t i = 0; i < rule->source_count; i++)
        add_line(&help, "Source: ", rule->sources[i].text);
    jotter->failed = jotter->failed || help.failed;
    if (help.length)
        help.bytes[--help.length] = '\0'; /* the last line feed */
    json_t *object = message(jotter, help.length ? help.bytes : "");
    text_drop(&help);
    return object;
}

static const char *usual_level(const struct rule *rule)
{
    if (rule->error_unless.text)
        return levels[LEVEL_ERROR];
    return levels[rule->caution_unless.text ? LEVEL_CAUTION : LEVEL_REMINDER];
}

static json_t *configuration(struct jotter *jotter, const char *level)
{
    json_t *object = jot_object(jotter);
    if (object)
        jot_set(jotter, object, "level", jot_string(jotter, level));
    return object;
}

/* A rule in short: what it reminds of, else its formula. */
static const char *in_short(const struct rule *rule)
{
    return rule->remind.text           ? rule->remind.text
           : rule->error_unless.text   ? rule->error_unless.text
           : rule->caution_unless.text ? rule->caution_unless.text
                                       : rule->name;
}

static json_t *descriptor(struct jotter *jotter, const struct rule *rule)
{
    json_t *object = jot_object(jotter);
    if (!object)
        return NULL;
    jot_set(jotter, object, "id", jot_string(jotter, rule->name));
    jot_set(jotter, object, "shortDescription", prose(jotter, in_short(rule)));
    jot_set(jotter, object, "fullDescription",
            prose(jotter, rule->because ? rule->because : rule->name));
    jot_set(jotter, object, "help", rule_help(jotter, rule));
    jot_set(jotter, object, "defaultConfiguration", configuration(jotter, usual_level(rule)));
    return object;
}

static json_t *topic_descriptor(struct jotter *jotter, const struct topic *topic)
{
    json_t *object = jot_object(jotter);
    if (!object)
        return NULL;
    jot_set(jotter, object, "id", jot_string(jotter, topic->name));
    jot_set(jotter, object, "shortDescription", message(jotter, topic->about));
    jot_set(jotter, object, "fullDescription", message(jotter, topic->about));
    jot_set(jotter, object, "help", message(jotter, topic->about));
    jot_set(jotter, object, "defaultConfiguration", configuration(jotter, levels[LEVEL_ERROR]));
    return object;
}

static json_t *driver(struct jotter *jotter, const struct report_style *style)
{
    json_t *object = jot_object(jotter), *rules = jot_array(jotter);
    for (size_t i = 0; rules && i < TOPIC_COUNT; i++)
        jot_append(jotter, rules, topic_descriptor(jotter, &topics[i]));
    for (size_t i = 0; rules && i < style->rule_count; i++)
        jot_append(jotter, rules, descriptor(jotter, style->rules[i]));
    if (!object) {
        json_decref(rules);
        return NULL;
    }
    jot_set(jotter, object, "name", jot_string(jotter, "rigtally"));
    if (style->version)
        jot_set(jotter, object, "version", jot_string(jotter, style->version));
    jot_set(jotter, object, "rules", rules);
    return object;
}

/* ---- the end of the run ---- */

static void write_item(struct text *out, const char *key, struct jotter *jotter, json_t *item)
{
    text_print(out, ",\n      \"%s\": ", key);
    jot_write(jotter, item, 6, out);
}

static json_t *wrap(struct jotter *jotter, const char *key, json_t *inner)
{
    json_t *object = jot_object(jotter);
    if (!object) {
        json_decref(inner);
        return NULL;
    }
    jot_set(jotter, object, key, inner);
    return object;
}

static json_t *invocations(struct jotter *jotter, const struct report_sum *sum)
{
    json_t *array = jot_array(jotter);
    if (array)
        jot_append(jotter, array,
                   wrap(jotter, "executionSuccessful", jot_bool(jotter, sum->unreadable == 0)));
    return array;
}

static json_t *sums(struct jotter *jotter, const struct report_sum *sum)
{
    json_t *object = jot_object(jotter);
    if (object) {
        jot_set(jotter, object, "rigs", jot_number(jotter, (double)sum->rigs));
        jot_set(jotter, object, "promises", jot_number(jotter, (double)sum->promises));
        jot_set(jotter, object, "hold", jot_number(jotter, (double)sum->hold));
        jot_set(jotter, object, "findings", jot_number(jotter, (double)findings_of(sum)));
    }
    return object;
}

void sarif_end(struct text *out, const struct report_style *style, const struct report_sum *sum)
{
    struct jotter of_base = {0}, of_call = {0}, of_tool = {0}, of_sums = {0};
    static const char where[] =
        "The folder that holds rigtally.yaml or the version control's data; "
        "without one, the folder that holds all the rig files.";
    text_add(out, findings_of(sum) ? "\n      ]" : "]");
    write_item(out, "originalUriBaseIds", &of_base,
               wrap(&of_base, BASE_ID, wrap(&of_base, "description", message(&of_base, where))));
    write_item(out, "invocations", &of_call, invocations(&of_call, sum));
    write_item(out, "tool", &of_tool, wrap(&of_tool, "driver", driver(&of_tool, style)));
    write_item(out, "properties", &of_sums, sums(&of_sums, sum));
    text_add(out, "\n    }\n  ]\n}\n");
}
