/* test_figures.c - every figure of a rig as JSON and as text. The solved ones are put in by hand.
 */
#include "check.h"

#include <jansson.h>

#include "report/report.h"

static const char rig_text[] =
    "rigtally: 1\n"
    "name: Bench\n"
    "parts:\n"
    "  pump: { is: pump, voltage: 12 V, voltage_range: 6 .. 15 V, max_head: 13 ft, max_flow: 420 "
    "L/h,\n"
    "          curve: [[0 L/h, 4 m], [360 L/h, 1.5 m]], note: \"\\u202e::x\" }\n"
    "  hut: { is: controller, load_modes: [always, timed] }\n"
    "  drum: { is: tank, volume: 90 L }\n"
    "  hose: { is: pipe, bore: 13 mm, fittings: { elbow: 3, entry: { number: 1, k: 0.5 } } }\n";

struct bench {
    struct arena *arena;
    struct store store;
    struct rig *rig;
};

static int make_bench(void **state)
{
    static struct bench bench;
    bench.arena = arena_new();
    struct diagnostics diagnostics = {.arena = bench.arena};
    store_builtin(&bench.store);
    const struct defaults *defaults =
        bench.arena ? defaults_new(bench.arena, &bench.store, &diagnostics) : NULL;
    if (!defaults || rig_read_bytes(bench.arena, &bench.store, defaults, "b.rig.yaml", rig_text,
                                    strlen(rig_text), &diagnostics, &bench.rig) != OUTCOME_OK)
        return -1;
    struct part *pump = &bench.rig->parts[rig_find_part(bench.rig, "pump")];
    part_solve(pump, "flow", CONDITION_BRIGHT_NOON, 1.0 / 30000.0);
    part_solve(pump, "flow", CONDITION_WEAK_SUN, 0.0);
    part_solve(pump, "amps", CONDITION_BRIGHT_NOON, 2.0 / 3.0);
    part_solve(pump, "amps", CONDITION_WEAK_SUN, -1e-16);
    part_solve_once(pump, "start_sun", 471.25);
    static const double degc[] = {20.0, 25.0}, seconds[] = {5400.0, 9000.0};
    static const struct part_series series = {.at = degc, .value = seconds, .count = 2};
    struct part *drum = &bench.rig->parts[rig_find_part(bench.rig, "drum")];
    drum->values[kind_attribute(drum->kind, "time_to")].series = &series;
    *state = &bench;
    return 0;
}

static int drop_bench(void **state)
{
    arena_drop(((struct bench *)*state)->arena);
    return 0;
}

static struct text print(const struct rig *rig, bool json)
{
    const struct report_style style = {.width = 100};
    struct text out = {0};
    report_figures_begin(&out, json, &style, rig);
    for (size_t i = 0; i < rig->part_count; i++)
        report_figures_part(&out, json, &style, rig, i);
    report_figures_end(&out, json);
    assert_false(out.failed);
    return out;
}

static json_t *parsed(const struct bench *bench)
{
    json_error_t error;
    struct text out = print(bench->rig, true);
    json_t *root = json_loads(out.bytes, JSON_REJECT_DUPLICATES, &error);
    if (!root)
        fail_msg("%s in line %d of\n%s", error.text, error.line, out.bytes);
    text_drop(&out);
    return root;
}

static json_t *attribute(json_t *root, const char *part, const char *name)
{
    json_t *one = json_object_get(json_object_get(root, "parts"), part);
    return json_object_get(json_object_get(one, "attributes"), name);
}

static void assert_word(json_t *object, const char *key, const char *word)
{
    const char *got = json_string_value(json_object_get(object, key));
    assert_non_null(got);
    assert_string_equal(got, word);
}

static void json_gives_si_units_and_origins(void **state)
{
    json_t *root = parsed(*state);
    json_t *head = attribute(root, "pump", "max_head");
    assert_close(json_number_value(json_object_get(head, "value")), 13 * 0.3048, 1e-12);
    assert_word(head, "unit", "m");
    assert_word(head, "from", "given");
    assert_int_equal(json_integer_value(json_object_get(head, "line")), 4);
    json_t *start = attribute(root, "pump", "start_voltage"); /* 0.5 * pump.voltage */
    assert_close(json_number_value(json_object_get(start, "value")), 6.0, 1e-12);
    assert_word(start, "from", "assumed");
    assert_true(strlen(json_string_value(json_object_get(start, "because"))) > 0);
    json_t *volume = attribute(root, "drum", "volume");
    assert_close(json_number_value(json_object_get(volume, "value")), 0.09, 1e-15);
    assert_word(volume, "unit", "m3");
    assert_null(attribute(root, "drum", "level")); /* unknown: no key */
    json_decref(root);
}

static void json_leaves_out_conditions_without_meaning(void **state)
{
    json_t *root = parsed(*state);
    json_t *flow = attribute(root, "pump", "flow");
    json_t *values = json_object_get(flow, "values");
    assert_word(flow, "unit", "m3/s");
    assert_word(flow, "from", "solved");
    assert_int_equal(json_object_size(values), 2);
    assert_near(json_number_value(json_object_get(values, "bright-noon")), 1.0 / 30000.0, 1e-14);
    assert_close(json_number_value(json_object_get(values, "weak-sun")), 0.0, 0.0);
    assert_true(json_is_number(json_object_get(values, "weak-sun")));
    json_t *sun = attribute(root, "pump", "start_sun");
    assert_close(json_number_value(json_object_get(sun, "value")), 471.25, 1e-12);
    assert_null(json_object_get(sun, "values"));
    assert_null(attribute(root, "pump", "head")); /* solved nowhere: no key */
    json_decref(root);
}

static void json_of_lists_and_words(void **state)
{
    json_t *root = parsed(*state);
    json_t *range = json_object_get(attribute(root, "pump", "voltage_range"), "value");
    assert_int_equal(json_array_size(range), 2);
    assert_close(json_number_value(json_array_get(range, 1)), 15.0, 1e-15);
    json_t *curve = json_object_get(attribute(root, "pump", "curve"), "value");
    assert_int_equal(json_array_size(curve), 2);
    json_t *point = json_array_get(curve, 1);
    assert_close(json_number_value(json_array_get(point, 0)), 1e-4, 1e-18);
    assert_close(json_number_value(json_array_get(point, 1)), 1.5, 1e-15);
    json_t *modes = json_object_get(attribute(root, "hut", "load_modes"), "value");
    assert_int_equal(json_array_size(modes), 2);
    assert_string_equal(json_string_value(json_array_get(modes, 1)), "timed");
    json_t *fittings = json_object_get(attribute(root, "hose", "fittings"), "value");
    json_t *entry = json_object_get(fittings, "entry");
    assert_close(json_number_value(json_object_get(entry, "k")), 0.5, 1e-15);
    assert_null(json_object_get(json_object_get(fittings, "elbow"), "k"));
    json_t *motor = attribute(root, "pump", "motor");
    assert_word(motor, "value", "brushless");
    assert_true(json_is_null(json_object_get(motor, "unit")));
    json_decref(root);
}

/* A figure of something: a row for each of some of what it may be of, in SI. */
static void json_of_a_figure_of_something(void **state)
{
    json_t *root = parsed(*state);
    json_t *time_to = attribute(root, "drum", "time_to");
    json_t *table = json_object_get(time_to, "table");
    assert_word(time_to, "unit", "s");
    assert_word(time_to, "of", "degC");
    assert_word(time_to, "from", "solved");
    assert_null(json_object_get(time_to, "value"));
    assert_int_equal(json_array_size(table), 2);
    json_t *row = json_array_get(table, 1);
    assert_close(json_number_value(json_object_get(row, "of")), 25.0, 0.0);
    assert_close(json_number_value(json_object_get(row, "value")), 9000.0, 0.0);
    assert_null(attribute(root, "rig", "cable_length")); /* not known: no key */
    json_decref(root);
}

static void assert_has(const struct text *text, const char *words)
{
    if (!strstr(text->bytes, words))
        fail_msg("'%s' is not in:\n%s", words, text->bytes);
}

static void text_is_a_page_for_each_part(void **state)
{
    const struct bench *bench = *state;
    struct text out = print(bench->rig, false);
    assert_has(&out, "Part pump, a pump, line 4\n");
    assert_has(&out, "given, line 4\n");
    assert_has(&out, "6 V                   assumed: ");
    assert_has(&out, "471 W/m2              solved\n");
    assert_has(&out, "  time_to(20 degC)        1.5 h                 solved\n");
    assert_has(&out, "  time_to(25 degC)        2.5 h                 solved\n");
    assert_has(&out, "flow, L/h");
    assert_has(&out, "120");               /* 1/30000 m3/s */
    assert_null(strstr(out.bytes, "e-1")); /* what rounding left of nothing is 0 */
    assert_null(strstr(out.bytes, "\xe2\x80\xae"));
    assert_null(strstr(out.bytes, "::"));
    for (const char *line = out.bytes; *line; line += strcspn(line, "\n") + 1)
        assert_true(strcspn(line, "\n") <= 100);
    text_drop(&out);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(json_gives_si_units_and_origins),
        cmocka_unit_test(json_leaves_out_conditions_without_meaning),
        cmocka_unit_test(json_of_lists_and_words),
        cmocka_unit_test(json_of_a_figure_of_something),
        cmocka_unit_test(text_is_a_page_for_each_part),
    };
    return cmocka_run_group_tests(tests, make_bench, drop_bench);
}
