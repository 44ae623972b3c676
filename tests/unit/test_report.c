/* test_report.c - reports of findings made by hand, hostile ones among them. */
#include "check.h"

#include <jansson.h>

#include "report/report.h"

static const struct report_style plain = {.width = 100};

static const struct rule_source sources[] = {
    {"IEC 60364-4-43, clause 433.1", PRACTICE_IEC},
    {"NFPA 70, 240.4", PRACTICE_NORTH_AMERICA},
    {"common practice, no source", PRACTICE_ANY},
};

static const struct rule rule = {
    .name = "fuse.protects-cable",
    .pairing = {.text = "fuse protects cable"},
    .error_unless = {.text = "fuse.rating <= cable.ampacity"},
    .because = "A fuse is there\nfor the cable.\n",
    .sources = sources,
    .source_count = 3,
};

/* V: m2 kg s-3 A-1 */
static const struct dimension volt = {.exponent = {2, 1, -3, -1, 0, 0}};

static const struct kind any_kind = {.name = "thing"};
static struct part parts[] = {{.id = "f1", .kind = &any_kind, .at = {"a.rig.yaml", 14, 3}},
                              {.id = "panel-buck", .kind = &any_kind, .at = {"a.rig.yaml", 21, 5}},
                              {.id = "site", .kind = &any_kind},
                              {.id = "rig", .kind = &any_kind}};
static struct rig rig = {.file = "a.rig.yaml",
                         .name = "Bench",
                         .practice = PRACTICE_IEC,
                         .parts = parts,
                         .part_count = 4};

static int name_parts(void **state)
{
    struct arena *arena = arena_new();
    *state = arena;
    rig.names = arena ? names_new(arena) : NULL;
    for (size_t i = 0; rig.names && i < rig.part_count; i++)
        if (!names_add(rig.names, arena, parts[i].id, i, NULL))
            return -1;
    return rig.names ? 0 : -1;
}

static int drop_names(void **state)
{
    arena_drop(*state);
    return 0;
}

static struct finding_value values[] = {
    {.name = "fuse.volts",
     .value = {.type = VALUE_QUANTITY},
     .origin = ORIGIN_ASSUMED,
     .because = "usual"},
};

static struct finding error_at(unsigned line)
{
    return (struct finding){.rule = rule.name,
                            .from = &rule,
                            .level = LEVEL_ERROR,
                            .has_condition = true,
                            .condition = CONDITION_WEAK_SUN,
                            .parts = {"f1", "panel-buck"},
                            .part_count = 2,
                            .at = {"a.rig.yaml", line, 5},
                            .also = {"a.rig.yaml", 14, 3},
                            .message = "f1 can pass 15 A; panel-buck may carry only 11.6 A.",
                            .has_margin = true,
                            .margin = -0.293,
                            .working = "fuse.rating <= cable.ampacity\n15 A <= 11.6 A\n",
                            .values = values,
                            .value_count = 1,
                            .mend = "A fuse of 11.6 A or less."};
}

static struct judgement judgement_of(const struct finding *findings, size_t count)
{
    struct judgement judgement = {.promises = 10, .findings = findings, .finding_count = count};
    for (size_t i = 0; i < count; i++) {
        if (findings[i].accepted)
            judgement.accepted++;
        else
            judgement.by_level[findings[i].level]++;
    }
    judgement.hold = judgement.promises > count ? judgement.promises - count : 0;
    return judgement;
}

static struct text print(enum report_format format, const struct report_style *style,
                         const struct finding *findings, size_t count)
{
    struct report_rig one = {.file = "a.rig.yaml",
                             .name = "Bench",
                             .rig = &rig,
                             .judgement = judgement_of(findings, count)};
    struct report_sum sum = {0};
    struct text out = {0};
    values[0].value.as.quantity = (struct quantity){13.8, volt};
    report_begin(&out, format);
    report_add(&out, format, style, &one, true);
    report_sum_add(&sum, &one);
    report_end(&out, format, style, &sum);
    assert_false(out.failed);
    return out;
}

static void assert_has(const struct text *text, const char *words)
{
    if (!text->bytes || !strstr(text->bytes, words))
        fail_msg("'%s' is not in:\n%s", words, text->bytes ? text->bytes : "");
}

static void assert_lacks(const struct text *text, const char *words)
{
    if (text->bytes && strstr(text->bytes, words))
        fail_msg("'%s' is in:\n%s", words, text->bytes);
}

static void a_line_is_in_the_gnu_form(void **state)
{
    (void)state;
    struct finding findings[] = {error_at(21), error_at(30)};
    findings[1].from = NULL;
    findings[1].rule = "file.says-things-once";
    findings[1].mend = NULL;
    findings[1].has_condition = false;
    findings[1].also = (struct place){"a.rig.yaml", 3, 4};
    findings[1].message = "there is already a part 'f1'.";
    struct text out = print(REPORT_LINES, &plain, findings, 2);
    assert_string_equal(
        out.bytes,
        "./a.rig.yaml:21:5: error: f1 can pass 15 A; panel-buck may carry only 11.6 A. To mend: A "
        "fuse of 11.6 A or less. See also ./a.rig.yaml:14:3. (fuse.protects-cable at weak-sun)\n"
        "./a.rig.yaml:30:5: error: there is already a part 'f1'. See also ./a.rig.yaml:3:4. "
        "(file.says-things-once)\n");
    text_drop(&out);
}

static void lines_leave_out_what_is_accepted(void **state)
{
    (void)state;
    static const struct accept accept = {"fuse.protects-cable", "f1", "Known", NULL, {NULL, 9, 1}};
    struct finding findings[] = {error_at(21)};
    findings[0].accepted = &accept;
    struct text out = print(REPORT_LINES, &plain, findings, 1);
    assert_int_equal(out.length, 0);
    text_drop(&out);
    out = print(REPORT_TEXT, &plain, findings, 1);
    assert_has(&out, "1 accepted");
    assert_has(&out, "by the rig's owner in line 9: Known");
    assert_has(&out, "This rig tallies.");
    text_drop(&out);
}

static void text_says_where_why_and_what_to_do(void **state)
{
    (void)state;
    struct finding findings[] = {error_at(21)};
    struct text out = print(REPORT_TEXT, &plain, findings, 1);
    assert_has(&out, "Rig: Bench\n");
    assert_has(&out, "./a.rig.yaml");
    assert_has(&out, "1 error - ");
    assert_has(&out, "f1 can pass 15 A; panel-buck may carry only 11.6 A.");
    assert_has(&out, "f1 (line 14) and panel-buck (line 21); worst at weak-sun");
    assert_has(&out, "A fuse of 11.6 A or less.");
    assert_has(&out, "15 A <= 11.6 A\n");
    assert_has(&out, "A fuse is there for the cable.\n");
    assert_has(&out, "IEC 60364-4-43, clause 433.1");
    assert_has(&out, "common practice, no source");
    assert_lacks(&out, "NFPA"); /* the rig is of the other practice */
    assert_has(&out, "10 promises: 9 hold, 1 error.");
    assert_has(&out, "does not tally");
    text_drop(&out);
}

static void brief_text_names_assumptions_and_no_sums(void **state)
{
    (void)state;
    const struct report_style brief = {.width = 100, .brief = true};
    struct finding findings[] = {error_at(21)};
    struct text out = print(REPORT_TEXT, &brief, findings, 1);
    assert_lacks(&out, "15 A <= 11.6 A\n");
    assert_lacks(&out, "IEC");
    assert_has(&out, "fuse.volts = 13.8 V");
    text_drop(&out);
}

/* Mistakes in the file come before the findings of their level, and the worst level first. */
static void text_is_in_order_of_weight(void **state)
{
    (void)state;
    struct finding findings[] = {error_at(1), error_at(2), error_at(3)};
    findings[0].level = LEVEL_CAUTION;
    findings[0].message = "third";
    findings[1].message = "second";
    findings[2].message = "first";
    findings[2].from = NULL;
    struct text out = print(REPORT_TEXT, &plain, findings, 3);
    const char *first = strstr(out.bytes, "first"), *second = strstr(out.bytes, "second"),
               *third = strstr(out.bytes, "third");
    assert_true(first && second && third);
    assert_true(first < second && second < third);
    text_drop(&out);
}

static void text_keeps_to_its_width(void **state)
{
    (void)state;
    static const unsigned widths[] = {60, 80, 100};
    struct finding findings[] = {error_at(21)};
    findings[0].message =
        "A sentence that is a good deal longer than sixty columns, so that it has to be "
        "wrapped at least once, and on a narrow terminal oftener than that.";
    for (size_t i = 0; i < sizeof widths / sizeof *widths; i++) {
        const struct report_style style = {.width = widths[i]};
        struct text out = print(REPORT_TEXT, &style, findings, 1);
        for (const char *line = out.bytes; *line; line += strcspn(line, "\n") + 1)
            assert_true(strcspn(line, "\n") <= widths[i]);
        text_drop(&out);
    }
}

static void colour_only_repeats_what_words_say(void **state)
{
    (void)state;
    const struct report_style coloured = {.width = 100, .colour = true};
    struct finding findings[] = {error_at(21), error_at(22), error_at(23), error_at(24)};
    for (unsigned level = 0; level < LEVEL_COUNT; level++)
        findings[level].level = (enum level)level;
    struct text out = print(REPORT_TEXT, &coloured, findings, 4);
    struct text bare = print(REPORT_TEXT, &plain, findings, 4);
    assert_has(&out, "\x1b[");
    assert_lacks(&bare, "\x1b");
    size_t kept = 0; /* without its escape sequences the one is the other */
    for (size_t i = 0; i < out.length; i++) {
        if (out.bytes[i] == '\x1b')
            i += strcspn(out.bytes + i, "m");
        else
            out.bytes[kept++] = out.bytes[i];
    }
    out.bytes[kept] = '\0';
    assert_string_equal(out.bytes, bare.bytes);
    text_drop(&out);
    text_drop(&bare);
}

#define HOSTILE "\x1b[31m\n::error::\xe2\x80\xae##[group] \xff\x7f"

static struct finding hostile_finding(void)
{
    static const char *const missing[] = {HOSTILE};
    static const struct accept accept = {HOSTILE, HOSTILE, HOSTILE, HOSTILE, {HOSTILE, 1, 1}};
    static const struct rule_source source[] = {{HOSTILE, PRACTICE_ANY}};
    static const struct rule strange = {
        .name = HOSTILE, .because = HOSTILE, .sources = source, .source_count = 1};
    struct finding finding = error_at(1);
    finding.rule = HOSTILE;
    finding.from = &strange;
    finding.parts[0] = finding.parts[1] = HOSTILE;
    finding.at.file = finding.also.file = HOSTILE;
    finding.also.line = 3;
    finding.message = finding.mend = HOSTILE;
    finding.working = HOSTILE "\n" HOSTILE "\n";
    finding.missing = missing;
    finding.missing_count = 1;
    finding.accepted = &accept;
    return finding;
}

static void nothing_hostile_reaches_any_sink(void **state)
{
    (void)state;
    struct finding findings[] = {hostile_finding(), hostile_finding()};
    findings[1].accepted = NULL;
    for (unsigned format = 0; format < REPORT_FORMAT_COUNT; format++) {
        for (unsigned brief = 0; brief < 2; brief++) {
            const struct report_style style = {.width = 80, .brief = brief};
            struct text out = print((enum report_format)format, &style, findings, 2);
            for (size_t i = 0; i < out.length; i++)
                assert_true(out.bytes[i] == '\n' || (unsigned char)out.bytes[i] >= 0x20);
            assert_lacks(&out, "\x7f");
            assert_lacks(&out, "\xff");
            assert_lacks(&out, "\xe2\x80\xae");
            assert_lacks(&out, "::error");
            assert_lacks(&out, "##[");
            text_drop(&out);
        }
    }
}

static json_t *parsed(const struct text *text)
{
    json_error_t error;
    json_t *root = json_loads(text->bytes, JSON_REJECT_DUPLICATES, &error);
    if (!root)
        fail_msg("%s in line %d of\n%s", error.text, error.line, text->bytes);
    return root;
}

static void json_has_every_field(void **state)
{
    (void)state;
    struct finding findings[] = {error_at(21)};
    struct text out = print(REPORT_JSON, &plain, findings, 1);
    json_t *root = parsed(&out);
    const char *file, *name, *verdict, *rule_name, *level, *condition, *part, *message, *line,
        *from, *unit, *mend, *source;
    int format, promises, hold, errors, at_line, at_column;
    double margin, value;
    json_t *accepted, *missing, *list;
    assert_int_equal(json_unpack(root, "{s:i, s:[{s:s, s:s, s:s, s:{s:i, s:i, s:i}, s:[O]}]}",
                                 "rigtally", &format, "rigs", "file", &file, "name", &name,
                                 "verdict", &verdict, "counts", "promises", &promises, "hold",
                                 &hold, "error", &errors, "findings", &list),
                     0);
    assert_int_equal(
        json_unpack(list,
                    "{s:s, s:s, s:s, s:[s,s], s:{s:s, s:i, s:i}, s:s, s:F, s:[{s:s},{}], "
                    "s:{s:{s:F, s:s, s:s}}, s:s, s:o, s:[s,s], s:o}",
                    "rule", &rule_name, "level", &level, "condition", &condition, "parts", &part,
                    &part, "at", "file", &file, "line", &at_line, "column", &at_column, "message",
                    &message, "margin", &margin, "working", "text", &line, "values", "fuse.volts",
                    "value", &value, "unit", &unit, "from", &from, "mend", &mend, "missing",
                    &missing, "sources", &source, &source, "accepted", &accepted),
        0);
    assert_int_equal(format, 1);
    assert_string_equal(verdict, "error");
    assert_int_equal(promises, 10);
    assert_int_equal(hold, 9);
    assert_int_equal(errors, 1);
    assert_string_equal(rule_name, "fuse.protects-cable");
    assert_string_equal(condition, "weak-sun");
    assert_string_equal(part, "panel-buck");
    assert_int_equal(at_line, 21);
    assert_int_equal(at_column, 5);
    assert_close(margin, -0.293, 1e-15);
    assert_string_equal(line, "fuse.rating <= cable.ampacity");
    assert_close(value, 13.8, 1e-15);
    assert_string_equal(unit, "V");
    assert_string_equal(from, "assumed");
    assert_true(json_is_null(accepted));
    assert_int_equal(json_array_size(missing), 0);
    assert_has(&out, "\"value\": 13.8,"); /* and not 13.800000000000001 */
    json_decref(list);
    json_decref(root);
    text_drop(&out);
}

static void json_of_hostile_text_reads_back(void **state)
{
    (void)state;
    struct finding findings[] = {hostile_finding()};
    struct text out = print(REPORT_JSON, &plain, findings, 1);
    json_t *root = parsed(&out);
    const char *message;
    json_t *rigs = json_object_get(root, "rigs");
    json_t *list = json_object_get(json_array_get(rigs, 0), "findings");
    message = json_string_value(json_object_get(json_array_get(list, 0), "message"));
    assert_string_equal(message, "\x1b[31m\n::error::\xe2\x80\xae##[group] \\xff\x7f");
    json_decref(root);
    text_drop(&out);
}

static void json_of_no_rig_is_whole(void **state)
{
    (void)state;
    struct report_sum sum = {0};
    struct text out = {0};
    report_begin(&out, REPORT_JSON);
    report_end(&out, REPORT_JSON, &plain, &sum);
    json_t *root = parsed(&out);
    assert_int_equal(json_array_size(json_object_get(root, "rigs")), 0);
    json_decref(root);
    text_drop(&out);
}

static void more_findings_than_are_printed_are_counted(void **state)
{
    (void)state;
    size_t count = REPORT_FINDINGS_MAX + 1;
    struct finding *findings = calloc(count, sizeof *findings);
    assert_non_null(findings);
    for (size_t i = 0; i < count; i++)
        findings[i] = error_at((unsigned)i + 1);
    struct text out = print(REPORT_LINES, &plain, findings, count);
    size_t lines = 0;
    for (size_t i = 0; i < out.length; i++)
        lines += out.bytes[i] == '\n';
    assert_int_equal(lines, count);
    assert_has(&out, "1000 findings are printed of 1001");
    text_drop(&out);
    out = print(REPORT_TEXT, &plain, findings, count);
    assert_has(&out, "1001 errors");
    assert_has(&out, "error 1000 ");
    assert_lacks(&out, "error 1001 ");
    assert_has(&out, "Printed are 1000 findings of 1001");
    text_drop(&out);
    out = print(REPORT_JSON, &plain, findings, count);
    json_t *root = parsed(&out);
    json_t *one = json_array_get(json_object_get(root, "rigs"), 0);
    assert_int_equal(json_array_size(json_object_get(one, "findings")), REPORT_FINDINGS_MAX);
    assert_int_equal(json_integer_value(json_object_get(one, "findings_total")), count);
    json_decref(root);
    text_drop(&out);
    free(findings);
}

static void the_verdict_is_the_worst_level(void **state)
{
    (void)state;
    static const struct {
        size_t by_level[LEVEL_COUNT];
        const char *verdict;
    } rows[] = {
        {{1, 1, 1, 1}, "error"}, {{0, 2, 1, 1}, "caution"}, {{0, 0, 1, 1}, "question"},
        {{0, 0, 0, 5}, "clean"}, {{0, 0, 0, 0}, "clean"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct judgement judgement = {0};
        memcpy(judgement.by_level, rows[i].by_level, sizeof judgement.by_level);
        assert_string_equal(report_verdict(&judgement), rows[i].verdict);
    }
}

static void formats_are_found_by_name(void **state)
{
    (void)state;
    enum report_format format;
    for (unsigned i = 0; i < REPORT_FORMAT_COUNT; i++) {
        assert_true(report_format_find(report_format_name((enum report_format)i), &format));
        assert_int_equal(format, i);
    }
    assert_false(report_format_find("xml", &format));
    assert_false(report_format_find("", &format));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_line_is_in_the_gnu_form),
        cmocka_unit_test(lines_leave_out_what_is_accepted),
        cmocka_unit_test(text_says_where_why_and_what_to_do),
        cmocka_unit_test(brief_text_names_assumptions_and_no_sums),
        cmocka_unit_test(text_is_in_order_of_weight),
        cmocka_unit_test(text_keeps_to_its_width),
        cmocka_unit_test(colour_only_repeats_what_words_say),
        cmocka_unit_test(nothing_hostile_reaches_any_sink),
        cmocka_unit_test(json_has_every_field),
        cmocka_unit_test(json_of_hostile_text_reads_back),
        cmocka_unit_test(json_of_no_rig_is_whole),
        cmocka_unit_test(more_findings_than_are_printed_are_counted),
        cmocka_unit_test(the_verdict_is_the_worst_level),
        cmocka_unit_test(formats_are_found_by_name),
    };
    return cmocka_run_group_tests(tests, name_parts, drop_names);
}
