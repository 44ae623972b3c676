/* test_accept.c - what becomes of the findings that a rig's owner accepts, and what
 * makes two findings the same one. The rules are the command line tests' own. */
#include "rigs.h"

#include "judge/judge.h"

struct court {
    struct bench bench;
    const struct rulebook *book;
};

/* Only the rules under test, whatever else is built in. */
static void court_open(struct court *court)
{
    struct bench *bench = &court->bench;
    bench_open(bench);
    bench->store.rules = NULL;
    bench->store.rule_order = NULL;
    bench->store.rule_count = 0;
    assert_int_equal(store_add_file(bench->arena, &bench->store, "tests/cli/data/rules/try.yaml",
                                    &bench->diagnostics),
                     OUTCOME_OK);
    assert_int_equal(
        store_add_file(bench->arena, &bench->store, "rules/accept.yaml", &bench->diagnostics),
        OUTCOME_OK);
    court->book = rulebook_new(bench->arena, &bench->store, &bench->diagnostics);
    assert_non_null(court->book);
}

static struct judgement judge_text(struct court *court, const char *text,
                                   const struct judge_options *options)
{
    struct judgement judgement;
    const struct rig *rig = bench_solve(&court->bench, text);
    assert_int_equal(judge_rig(court->book, rig, &court->bench.diagnostics, options, &judgement),
                     OUTCOME_OK);
    return judgement;
}

static const struct finding *find(const struct judgement *judgement, const char *rule,
                                  const char *part)
{
    for (size_t i = 0; i < judgement->finding_count; i++) {
        const struct finding *finding = &judgement->findings[i];
        if (strcmp(finding->rule, rule) == 0 &&
            (!part || (finding->part_count && strcmp(finding->parts[0], part) == 0)))
            return finding;
    }
    return NULL;
}

#define PARTS                                                                                      \
    "rigtally: 1\nparts:\n"                                                                        \
    "  low:  { is: pump, max_head: 2 m, life: 5000 h }\n"                                          \
    "  high: { is: pump, max_head: 9 m, life: 5000 h }\naccept:\n"
#define LIFTS "try.pump-lifts-enough"
#define ACCEPT(rule, on, more) "  - { rule: " rule ", on: " on ", because: Known" more " }\n"

static const struct judge_options in_2030 = {.today = "2030-01-01"};

static void an_accepted_finding_no_longer_counts(void **state)
{
    (void)state;
    struct court court;
    court_open(&court);
    struct judgement judgement = judge_text(&court, PARTS ACCEPT(LIFTS, "low", ""), &in_2030);
    const struct finding *finding = find(&judgement, LIFTS, "low");
    assert_non_null(finding);
    assert_non_null(finding->accepted);
    assert_string_equal(finding->accepted->because, "Known");
    assert_int_equal(judgement.by_level[LEVEL_ERROR], 0);
    assert_int_equal(judgement.accepted, 1);
    assert_null(find(&judgement, "accept.is-used", NULL));
    assert_null(find(&judgement, "accept.is-still-valid", NULL));
    bench_close(&court.bench);
}

/* The last day counts; the day after it does not. */
static void an_acceptance_ends_after_its_last_day(void **state)
{
    (void)state;
    static const struct {
        const char *today;
        size_t errors, cautions;
    } days[] = {{"2029-12-31", 0, 0}, {"2030-01-01", 0, 0}, {"2030-01-02", 1, 1}, {NULL, 0, 0}};
    struct court court;
    court_open(&court);
    for (size_t i = 0; i < sizeof days / sizeof *days; i++) {
        const struct judge_options options = {.today = days[i].today};
        struct judgement judgement =
            judge_text(&court, PARTS ACCEPT(LIFTS, "low", ", until: 2030-01-01"), &options);
        const struct finding *ended = find(&judgement, "accept.is-still-valid", "low");
        assert_int_equal(judgement.by_level[LEVEL_ERROR], days[i].errors);
        assert_int_equal(judgement.by_level[LEVEL_CAUTION], days[i].cautions);
        assert_int_equal(ended != NULL, days[i].cautions);
        assert_null(find(&judgement, "accept.is-used", NULL));
        if (!ended)
            continue;
        assert_int_equal(ended->at.line, 6);
        assert_non_null(ended->from);
        assert_string_equal(ended->message,
                            LIFTS " on low was accepted until 2030-01-01, which is over.");
    }
    bench_close(&court.bench);
}

static void an_entry_that_meets_nothing_is_told(void **state)
{
    (void)state;
    static const struct {
        const char *text, *message;
    } rows[] = {
        {PARTS ACCEPT(LIFTS, "high", ""),
         "There is nothing left to accept: " LIFTS " finds no fault with high."},
        {PARTS ACCEPT("try.pump-lift-enough", "low", ""),
         "There is no promise 'try.pump-lift-enough' that could be accepted; did you mean " LIFTS
         "?"},
        {PARTS ACCEPT("nothing-of-the-kind", "low", ""),
         "There is no promise 'nothing-of-the-kind' that could be accepted."},
    };
    struct court court;
    court_open(&court);
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct judgement judgement = judge_text(&court, rows[i].text, &in_2030);
        const struct finding *unused = find(&judgement, "accept.is-used", NULL);
        assert_non_null(unused);
        assert_int_equal(unused->level, LEVEL_CAUTION);
        assert_string_equal(unused->message, rows[i].message);
        assert_int_equal(judgement.by_level[LEVEL_ERROR], 1);
    }
    bench_close(&court.bench);
}

/* What was not judged in this run may well be needed. */
static void nothing_is_said_of_what_was_not_judged(void **state)
{
    (void)state;
    static const struct judge_options options[] = {
        {.only = "try.pump-lasts", .today = "2030-01-01"},
        {.only = "accept", .today = "2030-01-01"},
        {.one_condition = true, .condition = CONDITION_DARK, .today = "2030-01-01"}};
    struct court court;
    court_open(&court);
    for (size_t i = 0; i < sizeof options / sizeof *options; i++) {
        struct judgement judgement =
            judge_text(&court, PARTS ACCEPT(LIFTS, "high", ""), &options[i]);
        assert_null(find(&judgement, "accept.is-used", NULL));
    }
    bench_close(&court.bench);
}

static void a_question_can_be_accepted(void **state)
{
    (void)state;
    struct court court;
    court_open(&court);
    struct judgement judgement = judge_text(
        &court,
        "rigtally: 1\nparts:\n  low: { is: pump }\naccept:\n" ACCEPT("try.pump-lasts", "low", "")
            ACCEPT(LIFTS, "low", ""),
        &in_2030);
    assert_int_equal(judgement.by_level[LEVEL_QUESTION], 0);
    assert_int_equal(judgement.accepted, 2);
    bench_close(&court.bench);
}

/* ---- fingerprints ---- */

static const char *print_of(struct court *court, const char *text, const char *part)
{
    struct judgement judgement = judge_text(court, text, &in_2030);
    const struct finding *finding = find(&judgement, LIFTS, part);
    assert_non_null(finding);
    assert_int_equal(strlen(finding->fingerprint), 16);
    return finding->fingerprint;
}

static void a_fingerprint_stays_when_lines_move(void **state)
{
    (void)state;
    struct court court;
    court_open(&court);
    const char *first = print_of(&court, PARTS ACCEPT(LIFTS, "low", ""), "low");
    const char *moved = print_of(
        &court,
        "# above\nrigtally: 1\nparts:\n  new: { is: pump, max_head: 1 m, life: 5000 h }\n\n"
        "  low: { is: pump, max_head: 2.5 m, life: 5000 h }\n",
        "low");
    const char *other = print_of(
        &court, "rigtally: 1\nparts:\n  new: { is: pump, max_head: 2 m, life: 5000 h }\n", "new");
    assert_string_equal(first, moved);
    assert_string_not_equal(first, other);
    bench_close(&court.bench);
}

/* Findings that differ in nothing but their place are still different ones. */
static void like_findings_are_numbered(void **state)
{
    (void)state;
    struct arena *arena = arena_new();
    struct diagnostics diagnostics = {.arena = arena};
    struct judgement judgement;
    for (unsigned line = 1; line <= 3; line++)
        diagnostics_add(&diagnostics, LEVEL_ERROR, TOPIC_WORDS, (struct place){"a", line, 1},
                        "a pump has no 'x'.");
    assert_int_equal(judge_unreadable(arena, &diagnostics, &judgement), OUTCOME_OK);
    for (size_t i = 0; i < 3; i++)
        for (size_t k = 0; k < i; k++)
            assert_string_not_equal(judgement.findings[i].fingerprint,
                                    judgement.findings[k].fingerprint);
    arena_drop(arena);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(an_accepted_finding_no_longer_counts),
        cmocka_unit_test(an_acceptance_ends_after_its_last_day),
        cmocka_unit_test(an_entry_that_meets_nothing_is_told),
        cmocka_unit_test(nothing_is_said_of_what_was_not_judged),
        cmocka_unit_test(a_question_can_be_accepted),
        cmocka_unit_test(a_fingerprint_stays_when_lines_move),
        cmocka_unit_test(like_findings_are_numbered),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
