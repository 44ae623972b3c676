/* test_rig.c - reading rig files: every mistake is told at its place and hides
 * no other; defaults; how parts stand to each other. */
#include "check.h"

#include "rig/rig.h"

struct bench { /* what a test reads with */
    struct arena *arena;
    struct store store;
    const struct defaults *defaults;
    struct diagnostics diagnostics;
    struct rig *rig;
};

static int begin(void **state)
{
    static struct bench bench;
    bench = (struct bench){.arena = arena_new()};
    bench.diagnostics.arena = bench.arena;
    store_builtin(&bench.store);
    bench.defaults = defaults_new(bench.arena, &bench.store, &bench.diagnostics);
    *state = &bench;
    return bench.defaults ? 0 : -1;
}

static int end(void **state)
{
    arena_drop(((struct bench *)*state)->arena);
    return 0;
}

static struct rig *read_rig(void **state, const char *text)
{
    struct bench *bench = *state;
    enum outcome outcome =
        rig_read_bytes(bench->arena, &bench->store, bench->defaults, "t.rig.yaml", text,
                       strlen(text), &bench->diagnostics, &bench->rig);
    assert_int_not_equal(outcome, OUTCOME_NO_MEMORY);
    diagnostics_sort(&bench->diagnostics);
    return bench->rig;
}

static const struct part *find(const struct rig *rig, const char *id)
{
    size_t index = rig_find_part(rig, id);
    assert_true(index != NO_PART);
    return &rig->parts[index];
}

static void expect_mistake(const struct diagnostics *diagnostics, size_t index, unsigned line,
                           unsigned column, const char *words)
{
    assert_true(index < diagnostics->count);
    const struct diagnostic *got = &diagnostics->at[index];
    if (got->at.line != line || got->at.column != column || !strstr(got->message, words))
        fail_msg("got %u:%u %s\nwanted %u:%u %s", got->at.line, got->at.column, got->message, line,
                 column, words);
}

#define HEAD "rigtally: 1\nname: t\n"

static void a_small_rig_is_read(void **state)
{
    const struct rig *rig =
        read_rig(state, HEAD
                 "site: { air: -15 .. 34 degC, water: 8 .. 45 degC }\n"
                 "parts:\n"
                 "  panel: { is: panel, power: 60 W, vmp: 17.9 V, voc_temp: -69 mV/K, voc: 22 V }\n"
                 "  pump:  { is: pump, voltage: 12 V, power: 8 W }\n"
                 "cables:\n"
                 "  - { from: panel, to: pump, area: 2.5 mm2, length: 7 m }\n"
                 "needs:\n"
                 "  - pump.flow >= 60 L/h at bright-noon\n");
    const struct bench *bench = *state;
    for (size_t i = 0; i < bench->diagnostics.count; i++)
        print_message("%u: %s\n", bench->diagnostics.at[i].at.line,
                      bench->diagnostics.at[i].message);
    assert_int_equal(bench->diagnostics.count, 0);
    assert_string_equal(rig->name, "t");
    assert_close(part_number(find(rig, "panel"), "power"), 60.0, 0);
    assert_close(part_number(find(rig, "panel"), "voc_temp"), -0.069 / 22.0, 1e-12);
    assert_close(part_number(find(rig, "panel-pump"), "area"), 2.5e-6, 1e-18);
    double low = NAN, high = NAN;
    assert_true(part_range(&rig->parts[rig->site], "air", &low, &high));
    assert_close(low, -15.0, 0);
    assert_close(high, 34.0, 0);
    assert_int_equal(rig->need_count, 1);
    assert_non_null(rig->needs[0].formula);
    assert_close(part_solved(&rig->parts[rig->whole], "needs", CONDITION_BRIGHT_NOON), 1.0, 0);
}

static void what_is_not_given_is_assumed_and_says_so(void **state)
{
    const struct rig *rig =
        read_rig(state, HEAD "parts:\n"
                             "  p: { is: pump, voltage: 12 V, motor: brushed }\n"
                             "  c: { is: converter, input: 9 .. 30 V }\n");
    const struct part_value *start = part_value(find(rig, "p"), "start_voltage");
    assert_int_equal(start->origin, ORIGIN_ASSUMED);
    assert_close(start->value.as.quantity.value, 6.0, 1e-12);
    assert_non_null(start->because);
    assert_close(part_number(find(rig, "p"), "start_factor"), 6.0, 0);
    assert_close(part_number(find(rig, "c"), "min_input"), 9.0, 0);
    assert_close(part_number(find(rig, "c"), "restart_input"), 9.5,
                 1e-12); /* rests on another default */
    assert_true(part_is(find(rig, "p"), "type", "centrifugal"));
    assert_int_equal(part_value(find(rig, "p"), "power")->origin, ORIGIN_UNKNOWN);
    assert_close(part_number(&rig->parts[rig->site], "altitude"), 0.0, 0);
}

static void one_mistake_does_not_hide_the_next(void **state)
{
    read_rig(state, HEAD "parts:\n"
                         "  pump:  { is: pump, voltage: 12, volatge: 12 V }\n"
                         "  panel: { is: panel, power: 60 A }\n"
                         "  thing: { is: pmup }\n"
                         "  blank: {}\n"
                         "cables:\n"
                         "  - { from: panel, to: pupm, area: 2.5 mm2, length: 7 m }\n"
                         "  - { from: panel, to: thing, area: 2,5 mm2 }\n"
                         "colour: red\n");
    const struct diagnostics *got = &((struct bench *)*state)->diagnostics;
    expect_mistake(got, 0, 4, 31, "12 has no unit");
    expect_mistake(got, 1, 4, 35, "a pump has no 'volatge'; did you mean voltage?");
    expect_mistake(got, 2, 5, 30, "60 A");
    expect_mistake(got, 3, 6, 16, "there is no kind of part called 'pmup'; did you mean pump?");
    expect_mistake(got, 4, 7, 10, "blank does not say what it is");
    expect_mistake(got, 5, 9, 24, "there is no part 'pupm'; did you mean pump?");
    expect_mistake(got, 6, 10, 39, "decimal comma; write a point");
    expect_mistake(got, 7, 11, 1, "a rig file has no 'colour'");
    assert_int_equal(got->count, 8);
}

static const struct {
    const char *text;
    unsigned line, column;
    const char *words;
} mistakes[] = {
    {"name: x\nparts:\n  a: { is: pump }\n", 1, 1, "begins with `rigtally: 1`"},
    {"rigtally: 2\nparts:\n  a: { is: pump }\n", 1, 11, "format version 1"},
    {"rigtally: 1\n", 1, 1, "no parts"},
    {"rigtally: 1\nparts: [a]\n", 2, 8, "parts should be a list of `name: value` lines"},
    {"rigtally: 1\nparts:\n  a: { use: no-such-entry-at-all }\n", 3, 13, "the catalogue has no"},
    {"rigtally: 1\nparts:\n  site: { is: pump }\n", 3, 3, "already stands for the place"},
    {"rigtally: 1\nparts:\n  \"a b\": { is: pump }\n", 3, 3, "can't be a part's id"},
    {"rigtally: 1\nparts:\n  a: { is: pump, flow: 60 L/h }\n", 3, 18, "is worked out"},
    {"rigtally: 1\nparts:\n  a: { is: pump, max_head: 1e308 km }\n", 3, 28, ""},
    {"rigtally: 1\nparts:\n  a: { is: pump, max_head: .nan m }\n", 3, 28, ""},
    {"rigtally: 1\nparts:\n  a: { is: pump }\ncables:\n  - { from: a, to: a, length: 1 m }\n", 5, 5,
     "begins and ends at the same part"},
    {"rigtally: 1\nparts:\n  a: { is: pump }\ncables:\n  - { from: a, length: 1 m }\n", 5, 5,
     "no `to:`"},
    {"rigtally: 1\nparts:\n  a: { is: pump }\n  b: { is: tank }\npipes:\n  - { from: a, to: b, "
     "length: 0 m }\n",
     6, 31, "0 m"},
    {"rigtally: 1\nparts:\n  a: { is: pump }\npractice: us\n", 4, 11, "iec or north-america"},
    {"rigtally: 1\nparts:\n  a: { is: pump }\nneeds:\n  - a.flwo >= 60 L/h\n", 5, 0, "flow"},
    {"rigtally: 1\nparts:\n  a: { is: pump }\naccept:\n  - { rule: x, on: a }\n", 5, 5, "because"},
    {"rigtally: 1\nparts:\n  a: { is: pump }\naccept:\n  - { rule: x, on: b, because: y, until: "
     "May }\n",
     5, 5, "until is a date"},
};

static void each_mistake_has_its_place(void **state)
{
    for (size_t i = 0; i < sizeof mistakes / sizeof *mistakes; i++) {
        struct bench *bench = *state;
        bench->diagnostics.count = 0;
        read_rig(state, mistakes[i].text);
        const struct diagnostics *got = &bench->diagnostics;
        if (!got->count)
            fail_msg("nothing said of:\n%s", mistakes[i].text);
        unsigned column = mistakes[i].column ? mistakes[i].column : got->at[0].at.column;
        expect_mistake(got, 0, mistakes[i].line, column, mistakes[i].words);
    }
}

/* Half a rig has other faults than the whole of it: where reading stops, nothing else is told. */
static void where_reading_stops_nothing_else_is_told(void **state)
{
    static const struct {
        const char *text;
        unsigned line, column;
    } rows[] = {
        {"rigtally: 1\nparts:\n  a: { is: pimp, voltage: 12\n", 3, 6},  /* never closed */
        {"parts: {\n", 1, 8},                                           /* no parts yet */
        {"rigtally: 1\nparts:\n  a: { is: pimp }\n x: y\n", 4, 2},      /* indented oddly */
        {"rigtally: 1\nparts:\n  a: { is: pimp }\n]\n", 4, 1},          /* closes nothing */
        {"rigtally: 1\nparts:\n  a: { is: pimp }\n---\nb: c\n", 4, 1},  /* a second document */
        {"rigtally: 1\nparts:\n  a: { is: pimp, note: \"x }\n", 3, 24}, /* an open quote */
    };
    struct bench *bench = *state;
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        bench->diagnostics.count = 0;
        assert_null(read_rig(state, rows[i].text));
        expect_mistake(&bench->diagnostics, 0, rows[i].line, rows[i].column,
                       "Reading stopped here.");
        assert_int_equal(bench->diagnostics.count, 1);
    }
}

static void runs_are_named_by_their_ends(void **state)
{
    const struct rig *rig =
        read_rig(state, HEAD "parts:\n"
                             "  a: { is: tank }\n"
                             "  b: { is: pump }\n"
                             "cables:\n"
                             "  - { from: a, to: b, length: 1 m, area: 1 mm2 }\n"
                             "pipes:\n"
                             "  - { from: a, to: b, id: suction }\n"
                             "  - { from: a, to: b }\n"
                             "  - { from: a, to: b }\n");
    find(rig, "a-b");
    find(rig, "suction");
    find(rig, "a-b-2");
    find(rig, "a-b-3");
}

static bool related(const struct rig *rig, const char *a, const char *relation, const char *b)
{
    const size_t *others;
    size_t from = rig_find_part(rig, a), to = rig_find_part(rig, b);
    assert_true(from != NO_PART && to != NO_PART);
    size_t count = rig_related(rig, from, relation, &others);
    for (size_t i = 0; i < count; i++)
        if (others[i] == to)
            return true;
    return false;
}

static const char *const sunny = HEAD "parts:\n"
                                      "  east: { is: panel }\n"
                                      "  west: { is: panel }\n"
                                      "  f1: { is: fuse, rating: 5 A }\n"
                                      "  f2: { is: fuse, rating: 3 A }\n"
                                      "  buck: { is: converter }\n"
                                      "  pump: { is: pump }\n"
                                      "  lamp: { is: load }\n"
                                      "  drum: { is: tank }\n"
                                      "  coil: { is: coil }\n"
                                      "  v: { is: valve }\n"
                                      "cables:\n"
                                      "  - { from: east, to: buck, through: [f1] }\n"
                                      "  - { from: west, to: buck }\n"
                                      "  - { from: buck, to: f2 }\n"
                                      "  - { from: f2, to: pump }\n"
                                      "  - { from: buck, to: lamp }\n"
                                      "pipes:\n"
                                      "  - { from: drum, to: pump }\n"
                                      "  - { from: pump, to: coil, bore: 13 mm, through: [v] }\n"
                                      "  - { from: coil, to: drum, bore: 13 mm }\n";

static void parts_stand_to_each_other(void **state)
{
    const struct rig *rig = read_rig(state, sunny);
    assert_true(related(rig, "east", "feeds", "buck"));
    assert_true(related(rig, "east", "feeds", "pump"));
    assert_true(related(rig, "pump", "fed-by", "east"));
    assert_true(related(rig, "buck", "feeds", "lamp"));
    assert_false(related(rig, "buck", "feeds", "east"));
    assert_false(related(rig, "pump", "feeds", "lamp"));
    assert_true(related(rig, "east", "feeds", "east-buck"));
    assert_true(related(rig, "east", "feeds", "f1"));
    assert_true(related(rig, "east", "alongside", "west"));
    assert_true(related(rig, "f1", "sits-in", "east-buck"));
    assert_true(related(rig, "f2", "sits-in", "f2-pump"));
    assert_true(related(rig, "f2", "sits-in", "buck-f2"));
    assert_true(related(rig, "east-buck", "holds", "f1"));
    assert_true(related(rig, "drum", "joins", "drum-pump"));
    assert_true(related(rig, "drum", "joins", "pump")); /* no hose between */
    assert_true(related(rig, "pump-coil", "touches", "coil"));
    assert_true(related(rig, "coil", "warms", "drum"));
    assert_true(related(rig, "pump", "feeds", "v"));
    assert_true(related(rig, "drum", "feeds", "v"));
}

static void what_sits_in_a_pipe_feeds_what_comes_after_it(void **state)
{
    const struct rig *rig = read_rig(
        state, HEAD "parts:\n"
                    "  drum: { is: tank }\n"
                    "  standing: { is: mixing-valve }\n"
                    "  inline: { is: mixing-valve }\n"
                    "  sieve: { is: filter }\n"
                    "  shower: { is: outlet }\n"
                    "  basin: { is: outlet }\n"
                    "  tap: { is: outlet }\n"
                    "pipes:\n"
                    "  - { from: drum, to: standing, bore: 13 mm }\n"
                    "  - { from: standing, to: shower, bore: 13 mm }\n"
                    "  - { from: drum, to: basin, bore: 13 mm, through: [inline, sieve] }\n"
                    "  - { from: drum, to: tap, bore: 13 mm }\n");
    assert_true(related(rig, "shower", "fed-by", "standing"));
    assert_true(related(rig, "standing", "feeds", "standing-shower"));
    assert_true(related(rig, "basin", "fed-by", "inline"));
    assert_true(related(rig, "sieve", "fed-by", "inline"));
    assert_false(related(rig, "inline", "fed-by", "sieve"));
    assert_false(related(rig, "shower", "fed-by", "inline"));
    assert_false(related(rig, "tap", "fed-by", "standing"));
    assert_false(related(rig, "tap", "fed-by", "inline"));
    assert_false(related(rig, "standing", "feeds", "drum-standing"));
}

/* A tank that feeds ninety parts of three kinds: asked for by kind, they are those of that kind
 * among all, in the same order. So few as feed one tap are not kept by kind. */
static void many_related_parts_are_found_by_kind_as_well(void **state)
{
    enum { TAPS = 40 };
    struct text text = {0};
    text_add(&text, HEAD "parts:\n  drum: { is: tank }\n  pump: { is: pump }\n");
    for (int i = 0; i < TAPS; i++)
        text_print(&text, "  tap%d: { is: outlet }\n", i);
    text_add(&text, "pipes:\n  - { from: drum, to: pump }\n");
    for (int i = 0; i < TAPS; i++)
        text_print(&text, "  - { from: pump, to: tap%d, bore: 13 mm }\n", i);
    assert_false(text.failed);
    const struct rig *rig = read_rig(state, text.bytes);
    text_drop(&text);
    size_t drum = rig_find_part(rig, "drum"), tap = rig_find_part(rig, "tap7"), found = 0;
    const size_t *all, *some;
    size_t all_count = rig_related(rig, drum, "feeds", &all), count;
    assert_int_equal(all_count, 2 * TAPS + 2);
    for (size_t k = 0; k < rig->store->kind_count; k++) {
        const struct kind *kind = &rig->store->kinds[k];
        assert_true(rig_related_of_kind(rig, drum, "feeds", kind, &some, &count));
        size_t next = 0;
        for (size_t i = 0; i < all_count; i++)
            if (rig->parts[all[i]].kind == kind) {
                assert_true(next < count);
                assert_int_equal(some[next++], all[i]);
            }
        assert_int_equal(next, count);
        found += count;
    }
    assert_int_equal(found, all_count);
    assert_false(rig_related_of_kind(rig, tap, "fed-by", rig->parts[drum].kind, &some, &count));
}

static void a_fuse_guards_what_lies_beyond(void **state)
{
    const struct rig *rig = read_rig(state, sunny);
    assert_true(related(rig, "f1", "protects", "east-buck"));
    assert_true(related(rig, "f1", "protects", "east"));
    assert_true(related(rig, "f2", "protects", "buck-f2"));
    assert_true(related(rig, "f2", "protects", "f2-pump"));
    assert_true(related(rig, "f2", "protects", "pump"));
    assert_false(related(rig, "f2", "protects", "lamp"));
    assert_false(related(rig, "f2", "protects", "buck-lamp"));
    assert_false(related(rig, "f2", "protects", "east")); /* a converter stands between */
    assert_true(related(rig, "pump", "protected-by", "f2"));
}

/* A list of runs between the same two parts, and one of unknown names: neither may take long. */
static void many_runs_are_read_in_good_time(void **state)
{
    struct text text = {0};
    text_add(&text, HEAD "parts:\n  a: { is: tank }\n  b: { is: pump }\npipes:\n");
    for (int i = 0; i < 40000; i++)
        text_print(&text, "  - { from: a, to: %s }\n", i % 2 ? "b" : "nobody");
    assert_false(text.failed);
    const struct rig *rig = read_rig(state, text.bytes);
    assert_true(rig->part_count <= RIG_PARTS_MAX + 2);
    text_drop(&text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(a_small_rig_is_read, begin, end),
        cmocka_unit_test_setup_teardown(what_is_not_given_is_assumed_and_says_so, begin, end),
        cmocka_unit_test_setup_teardown(one_mistake_does_not_hide_the_next, begin, end),
        cmocka_unit_test_setup_teardown(each_mistake_has_its_place, begin, end),
        cmocka_unit_test_setup_teardown(where_reading_stops_nothing_else_is_told, begin, end),
        cmocka_unit_test_setup_teardown(runs_are_named_by_their_ends, begin, end),
        cmocka_unit_test_setup_teardown(parts_stand_to_each_other, begin, end),
        cmocka_unit_test_setup_teardown(what_sits_in_a_pipe_feeds_what_comes_after_it, begin, end),
        cmocka_unit_test_setup_teardown(many_related_parts_are_found_by_kind_as_well, begin, end),
        cmocka_unit_test_setup_teardown(a_fuse_guards_what_lies_beyond, begin, end),
        cmocka_unit_test_setup_teardown(many_runs_are_read_in_good_time, begin, end),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
