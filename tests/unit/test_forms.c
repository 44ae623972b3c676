/* test_forms.c - SARIF and Markdown: what the standard asks of every result, and
 * that nothing hostile becomes a link, a mention or a command. */
#include "check.h"

#include <jansson.h>

#include "report/report.h"

static const struct rule rules_of_run[] = {
    {.name = "cable.keeps-voltage",
     .pairing = {.text = "cable"},
     .caution_unless = {.text = "cable.drop_share <= 3 %"},
     .because = "Lost volts are lost litres."},
    {.name = "fuse.protects-cable",
     .pairing = {.text = "fuse protects cable"},
     .error_unless = {.text = "fuse.rating <= cable.ampacity"},
     .says = {.text = "{fuse} can pass {fuse.rating}."},
     .because = "A fuse is there\nfor the cable, [see](x).\n"},
    {.name = "site.is-looked-at",
     .pairing = {.text = "site"},
     .remind = {.text = "Look at {site}."},
     .because = "A list shows no trees."},
};
#define RULE_COUNT 3
static const struct rule *const listed[RULE_COUNT] = {&rules_of_run[0], &rules_of_run[1],
                                                      &rules_of_run[2]};
static const struct report_style style = {
    .width = 100, .version = "1.2.3", .rules = listed, .rule_count = RULE_COUNT};

static struct rig rig = {.file = "farm/a b.rig.yaml", .name = "Bench"};

static struct finding found(const struct rule *rule, enum level level, const char *message)
{
    return (struct finding){.rule = rule ? rule->name : TOPIC_WORDS,
                            .from = rule,
                            .level = level,
                            .parts = {"f1", "run"},
                            .part_count = rule ? 2 : 0,
                            .at = {"farm/a b.rig.yaml", 21, 5},
                            .message = message,
                            .fingerprint = "0123456789abcdef",
                            .working = ""};
}

static struct text print(enum report_format format, const char *path, struct finding *findings,
                         size_t count)
{
    struct report_rig one = {.file = rig.file,
                             .path = path,
                             .name = rig.name,
                             .rig = &rig,
                             .judgement = {.findings = findings, .finding_count = count}};
    struct report_sum sum = {0};
    struct text out = {0};
    for (size_t i = 0; i < count; i++) {
        if (findings[i].accepted)
            one.judgement.accepted++;
        else
            one.judgement.by_level[findings[i].level]++;
    }
    report_begin(&out, format);
    report_add(&out, format, &style, &one, true);
    report_sum_add(&sum, &one);
    report_end(&out, format, &style, &sum);
    assert_false(out.failed);
    return out;
}

/* The run of a SARIF log; the caller drops *log. */
static json_t *run_of(const char *path, struct finding *findings, size_t count, json_t **log)
{
    json_error_t error;
    struct text out = print(REPORT_SARIF, path, findings, count);
    *log = json_loads(out.bytes, JSON_REJECT_DUPLICATES, &error);
    if (!*log)
        fail_msg("line %d: %s\n%s", error.line, error.text, out.bytes);
    text_drop(&out);
    assert_string_equal(json_string_value(json_object_get(*log, "version")), "2.1.0");
    assert_int_equal(json_array_size(json_object_get(*log, "runs")), 1);
    return json_array_get(json_object_get(*log, "runs"), 0);
}

static json_t *at(json_t *json, const char *const *path)
{
    for (; *path; path++) {
        json = (*path)[0] == '0' ? json_array_get(json, 0) : json_object_get(json, *path);
        if (!json)
            fail_msg("there is no '%s'", *path);
    }
    return json;
}
#define AT(json, ...) at((json), (const char *const[]){__VA_ARGS__, NULL})
#define TEXT_AT(json, ...) json_string_value(AT(json, __VA_ARGS__))

/* SARIF 2.1.0: 3.14 run, 3.18 tool, 3.19 driver, 3.49 rules, 3.27 result. */
static void a_run_has_what_the_standard_asks(void **state)
{
    (void)state;
    json_t *log;
    struct finding findings[] = {found(&rules_of_run[1], LEVEL_ERROR, "Too much."),
                                 found(&rules_of_run[0], LEVEL_CAUTION, "Thin."),
                                 found(&rules_of_run[0], LEVEL_QUESTION, "How thick?"),
                                 found(&rules_of_run[2], LEVEL_REMINDER, "Look."),
                                 found(NULL, LEVEL_ERROR, "a pump has no 'x'.")};
    static const char *const levels[] = {"error", "warning", "note", "note", "error"};
    json_t *run = run_of("farm/a b.rig.yaml", findings, 5, &log);
    json_t *results = AT(run, "results"), *rules = AT(run, "tool", "driver", "rules");
    assert_string_equal(TEXT_AT(run, "columnKind"), "unicodeCodePoints");
    assert_string_equal(TEXT_AT(run, "tool", "driver", "name"), "rigtally");
    assert_int_equal(json_array_size(results), 5);
    for (size_t i = 0; i < 5; i++) {
        json_t *result = json_array_get(results, i);
        const char *name = TEXT_AT(result, "ruleId");
        json_t *rule =
            json_array_get(rules, (size_t)json_integer_value(json_object_get(result, "ruleIndex")));
        assert_string_equal(TEXT_AT(rule, "id"), name);
        assert_string_equal(TEXT_AT(result, "level"), levels[i]);
        assert_string_equal(TEXT_AT(result, "message", "text"), findings[i].message);
        assert_true(json_is_array(json_object_get(result, "suppressions")));
        assert_string_equal(TEXT_AT(result, "partialFingerprints", "rigtally/v1"),
                            "0123456789abcdef");
    }
    for (size_t i = 0; i < json_array_size(rules); i++) {
        json_t *rule = json_array_get(rules, i);
        assert_non_null(TEXT_AT(rule, "shortDescription", "text"));
        assert_non_null(TEXT_AT(rule, "fullDescription", "text"));
        assert_non_null(TEXT_AT(rule, "help", "text"));
        assert_non_null(TEXT_AT(rule, "defaultConfiguration", "level"));
    }
    json_decref(log);
}

static void a_place_is_relative_and_in_code_points(void **state)
{
    (void)state;
    static const struct {
        const char *path, *uri;
    } rows[] = {{"farm/a b.rig.yaml", "farm/a%20b.rig.yaml"},
                {"./x:y%.rig.yaml", "x%3Ay%25.rig.yaml"},
                {"caf\xc3\xa9/[a]#?.rig.yaml", "caf%C3%A9/%5Ba%5D%23%3F.rig.yaml"},
                {"/home/me/a.rig.yaml", "a.rig.yaml"},
                {"a\\b\n\xff.rig.yaml", "a%5Cb%0A%FF.rig.yaml"}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        json_t *log;
        struct finding finding = found(&rules_of_run[1], LEVEL_ERROR, "Too much.");
        json_t *run = run_of(rows[i].path, &finding, 1, &log);
        json_t *physical = AT(run, "results", "0", "locations", "0", "physicalLocation");
        assert_string_equal(TEXT_AT(physical, "artifactLocation", "uri"), rows[i].uri);
        assert_int_equal(json_integer_value(AT(physical, "region", "startLine")), 21);
        assert_int_equal(json_integer_value(AT(physical, "region", "startColumn")), 5);
        json_decref(log);
    }
}

static void a_file_as_a_whole_has_no_region(void **state)
{
    (void)state;
    json_t *log;
    struct finding finding = found(NULL, LEVEL_ERROR, "there is no file of this name.");
    finding.at.line = finding.at.column = 0;
    json_t *run = run_of(NULL, &finding, 1, &log);
    json_t *physical = AT(run, "results", "0", "locations", "0", "physicalLocation");
    assert_null(json_object_get(physical, "region"));
    json_decref(log);
}

static void an_accepted_finding_is_suppressed_with_its_reason(void **state)
{
    (void)state;
    json_t *log;
    const struct accept accept = {.because = "Known", .until = "2030-01-01", .at = {NULL, 9, 3}};
    struct finding finding = found(&rules_of_run[1], LEVEL_ERROR, "Too much.");
    finding.accepted = &accept;
    json_t *run = run_of("a.rig.yaml", &finding, 1, &log);
    json_t *suppression = AT(run, "results", "0", "suppressions", "0");
    assert_string_equal(TEXT_AT(suppression, "kind"), "inSource");
    assert_string_equal(TEXT_AT(suppression, "status"), "accepted");
    assert_string_equal(TEXT_AT(suppression, "justification"), "Known (until 2030-01-01)");
    json_decref(log);
}

/* SARIF 2.1.0, 3.11.5 and 3.11.6 */
static void a_message_has_no_links_and_no_places_to_fill(void **state)
{
    (void)state;
    static const struct {
        const char *given, *want;
    } rows[] = {
        {"[x](http://evil.example)", "\\[x\\](http://evil.example)"},
        {"\\[x](y)", "\\\\\\[x\\](y)"},
        {"{0} and {fuse}", "{{0}} and {{fuse}}"},
        {"12 A through 2.5 mm\xc2\xb2", "12 A through 2.5 mm\xc2\xb2"},
        {"", ""},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct text out = {0};
        escape_message(&out, rows[i].given);
        assert_string_equal(out.length ? out.bytes : "", rows[i].want);
        text_drop(&out);
        json_t *log;
        struct finding finding = found(&rules_of_run[1], LEVEL_ERROR, rows[i].given);
        json_t *run = run_of("a.rig.yaml", &finding, 1, &log);
        assert_string_equal(TEXT_AT(run, "results", "0", "message", "text"), rows[i].want);
        json_decref(log);
    }
}

static void sarif_text_is_plain_ascii_controls_and_all(void **state)
{
    (void)state;
    struct finding finding =
        found(&rules_of_run[1], LEVEL_ERROR, "\x1b[31m::error::\xe2\x80\xae##[x] </script>\xff");
    finding.mend = "\x1b]0;t\x07";
    struct text out = print(REPORT_SARIF, "a.rig.yaml", &finding, 1);
    for (size_t i = 0; i < out.length; i++)
        assert_true(out.bytes[i] == '\n' || (unsigned char)out.bytes[i] >= 0x20);
    assert_null(strstr(out.bytes, "::"));
    assert_null(strstr(out.bytes, "##"));
    assert_null(strstr(out.bytes, "\xe2\x80\xae"));
    text_drop(&out);
}

static void markdown_acts_on_nothing(void **state)
{
    (void)state;
    static const struct {
        const char *given, *want;
    } rows[] = {
        {"The fuse is 15 A; 3 m are needed.", "The fuse is 15 A; 3 m are needed."},
        {"ask @everyone now", "ask `@everyone` now"},
        {"see #12, !7 and GH-4.", "see `#12`, `!7` and `GH-4`."},
        {"[x](http://evil.example)", "`[x](http://evil.example`)"},
        {"https://evil.example/a.", "`https://evil.example/a`."},
        {"www.evil.example", "`www.evil.example`"},
        {"<script>alert(1)</script>", "`<script>alert(1)</script>`"},
        {"<!-- x -->", "`<!--` x `-->`"},
        {"a & b &lt;", "a `&` b `&lt`;"},
        {"`a` ``b", "`` `a` `` ``` ``b ```"},
        {"*bold* _it_ ~~no~~", "`*bold*` `_it_` `~~no~~`"},
        {"fixed in 1234567a", "fixed in `1234567a`"},
        {"a\nb\rc", "`a\\x0ab\\x0dc`"},
        {"\xe2\x80\xae::error ##[x]", "`<U+202E>:\\x3aerror` `#\\x23[x]`"},
        {"\x1b[2J", "`\\x1b[2J`"},
        {"1. first", "1\\. first"},
        {"- item", "\\- item"},
        {"+ item", "\\+ item"},
        {"    four blanks", "four blanks"},
        {"| a | b |", "`|` a `|` b `|`"},
        {"pump-2 of panel-60w-36cell", "pump-2 of panel-60w-36cell"},
        {"x]]>y", "`x]]>y`"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct text out = {0};
        escape_markdown(&out, rows[i].given);
        assert_string_equal(out.length ? out.bytes : "", rows[i].want);
        text_drop(&out);
    }
}

/* Whatever stands in a finding, its lines stay list items that we began. */
static void markdown_keeps_its_lines(void **state)
{
    (void)state;
    struct finding finding = found(&rules_of_run[1], LEVEL_ERROR, "a\n# b\n\n```\n<b>");
    finding.mend = "c\n\n---\n";
    struct text out = print(REPORT_MARKDOWN, NULL, &finding, 1);
    size_t line = 0;
    for (const char *start = out.bytes; *start; line++) {
        assert_true(start[0] == '\n' || strncmp(start, "- ", 2) == 0 ||
                    strncmp(start, "  - ", 4) == 0 || line < 3);
        start += strcspn(start, "\n");
        start += *start == '\n';
    }
    text_drop(&out);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_run_has_what_the_standard_asks),
        cmocka_unit_test(a_place_is_relative_and_in_code_points),
        cmocka_unit_test(a_file_as_a_whole_has_no_region),
        cmocka_unit_test(an_accepted_finding_is_suppressed_with_its_reason),
        cmocka_unit_test(a_message_has_no_links_and_no_places_to_fill),
        cmocka_unit_test(sarif_text_is_plain_ascii_controls_and_all),
        cmocka_unit_test(markdown_acts_on_nothing),
        cmocka_unit_test(markdown_keeps_its_lines),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
