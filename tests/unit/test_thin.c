/* test_thin.c - promises that hold by their labels and would fail within the doubt that
 * their kinds have of them. */
#include "rigs.h"

#include "judge/judge.h"
#include "judge/rulebook.h"

struct court {
    struct bench bench;
    const struct rulebook *book;
};

static void court_open(struct court *court)
{
    bench_open(&court->bench);
    court->book = rulebook_new(court->bench.arena, &court->bench.store, &court->bench.diagnostics);
    assert_non_null(court->book);
}

static struct judgement judge_text(struct court *court, const char *text, const char *only)
{
    struct judgement judgement;
    const struct judge_options options = {.only = only, .today = "2030-01-01"};
    const struct rig *rig = bench_solve(&court->bench, text);
    assert_int_equal(judge_rig(court->book, rig, &court->bench.diagnostics, &options, &judgement),
                     OUTCOME_OK);
    return judgement;
}

static const struct finding *find(const struct judgement *judgement, const char *rule)
{
    for (size_t i = 0; i < judgement->finding_count; i++)
        if (strcmp(judgement->findings[i].rule, rule) == 0)
            return &judgement->findings[i];
    return NULL;
}

static size_t count_thin(const struct judgement *judgement)
{
    size_t count = 0;
    for (size_t i = 0; i < judgement->finding_count; i++)
        count += judgement->findings[i].is_thin;
    return count;
}

/* The pump gets 12 V but for a millivolt or so, and has to fill a loop that begins 0.5 m above the
 * datum: at 4 m it clears a top of 4.3 m by 5 %, and one of 3.35 m by 40 %. */
#define RIG(pump, adapter, top, more)                                                              \
    "rigtally: 1\nsite: { air: 5 .. 30 degC, water: 10 .. 20 degC, altitude: 0 m }\nparts:\n"      \
    "  adapter: { is: supply, max_current: 5 A, " adapter " }\n"                                   \
    "  pump: { is: pump, voltage: 12 V, power: 12 W, max_flow: 600 L/h, mounting: "                \
    "submersible, " pump " }\n"                                                                    \
    "  drum: { is: tank, volume: 90 L, height: 0 m, level: 0.5 m, depth: 0.7 m }\n"                \
    "cables:\n  - { from: adapter, to: pump, area: 16 mm2, length: 0.1 m }\n"                      \
    "pipes:\n  - { from: drum, to: pump }\n"                                                       \
    "  - { from: pump, to: drum, bore: 13 mm, material: epdm-hose, length: 3 m, "                  \
    "high_point: " top ", ends: under-water }\n" more

#define PRIMES "pump.primes"

static void a_lift_cleared_by_5_percent_hangs_on_the_head(void **state)
{
    (void)state;
    struct court court;
    court_open(&court);
    struct judgement judgement =
        judge_text(&court, RIG("max_head: 4 m", "voltage: 12 V", "4.3 m", ""), PRIMES);
    const struct finding *finding = find(&judgement, PRIMES);
    assert_non_null(finding);
    assert_true(finding->is_thin);
    assert_int_equal(finding->level, LEVEL_CAUTION);
    assert_int_equal(finding->doubt_count, 1);
    assert_string_equal(finding->doubts[0].name, "pump.max_head");
    assert_close(finding->doubts[0].value.as.quantity.value, 4.0, 1e-12);
    assert_close(finding->doubts[0].then.as.quantity.value, 3.4, 1e-12); /* 15 % less */
    assert_int_equal(finding->doubts[0].origin, ORIGIN_GIVEN);
    assert_true(strncmp(finding->message,
                        "Holds only if max_head of pump is really 4 m; at 3.4 m: ", 56) == 0);
    /* it holds by (4 - 3.8)/3.8, and would fail by (3.8 - 3.4)/3.8; cable and fittings take next to
     * nothing of the voltage */
    assert_close(finding->margin, 0.2 / 3.8, 0.003);
    assert_close(finding->margin_then, -0.4 / 3.8, 0.003);
    assert_non_null(strstr(finding->working, "holds"));
    assert_int_equal(judgement.by_level[LEVEL_CAUTION], 1);
    assert_int_equal(judgement.hold, 0);
    assert_int_equal(judgement.promises, 1);
    bench_close(&court.bench);
}

static void a_lift_cleared_by_40_percent_does_not(void **state)
{
    (void)state;
    struct court court;
    court_open(&court);
    struct judgement judgement =
        judge_text(&court, RIG("max_head: 4 m", "voltage: 12 V", "3.35 m", ""), PRIMES);
    assert_null(find(&judgement, PRIMES));
    assert_int_equal(judgement.hold, 1);
    bench_close(&court.bench);
}

/* At the limit of the doubt: 85 % of the head is just enough, and just not. */
static void the_doubt_ends_where_its_kind_says(void **state)
{
    (void)state;
    struct court court;
    court_open(&court);
    /* other figures (the adapter's voltage) are in doubt as well, so each row asks by name */
    struct judgement enough =
        judge_text(&court, RIG("max_head: 4 m", "voltage: 12 V", "3.88 m", ""), PRIMES);
    struct judgement lacking =
        judge_text(&court, RIG("max_head: 4 m", "voltage: 12 V", "3.92 m", ""), PRIMES);
    const struct finding *together = find(&enough, PRIMES), *alone = find(&lacking, PRIMES);
    assert_non_null(together);
    assert_int_equal(together->doubt_count, 2);
    assert_string_equal(together->doubts[0].name, "pump.max_head");
    assert_string_equal(together->doubts[1].name, "adapter.voltage");
    assert_non_null(alone);
    assert_int_equal(alone->doubt_count, 1);
    assert_string_equal(alone->doubts[0].name, "pump.max_head");
    bench_close(&court.bench);
}

/* What fails by its labels stays an error, and is told once. */
static void a_failure_stays_one(void **state)
{
    (void)state;
    struct court court;
    court_open(&court);
    struct judgement judgement =
        judge_text(&court, RIG("max_head: 4 m", "voltage: 12 V", "5 m", ""), PRIMES);
    assert_int_equal(judgement.by_level[LEVEL_ERROR], 1);
    assert_int_equal(judgement.finding_count, 1);
    assert_false(judgement.findings[0].is_thin);
    bench_close(&court.bench);
}

/* An unregulated pump on 6.2 V starts at 6 V, which nobody gave. */
static void an_assumed_figure_is_said_to_be_one(void **state)
{
    (void)state;
    struct court court;
    court_open(&court);
    struct judgement judgement =
        judge_text(&court,
                   RIG("max_head: 4 m", "voltage: 6.2 V", "0.6 m",
                       "needs:\n  - pump.speed_ratio > 0 at bright-noon\n"),
                   "need.is-met");
    const struct finding *finding = find(&judgement, "need.is-met");
    assert_non_null(finding);
    assert_true(finding->is_thin);
    assert_int_equal(finding->doubt_count, 1);
    assert_string_equal(finding->doubts[0].name, "pump.start_voltage");
    assert_int_equal(finding->doubts[0].origin, ORIGIN_ASSUMED);
    assert_non_null(strstr(finding->message,
                           "start_voltage of pump is really 6 V, which is assumed; at 6.6 V"));
    bench_close(&court.bench);
}

/* The stronger end: a head 7 % above its label is too much for this hose, 2 % beyond. */
static void too_much_is_found_as_well(void **state)
{
    (void)state;
    struct court court;
    court_open(&court);
    struct judgement judgement =
        judge_text(&court,
                   RIG("max_head: 4 m", "voltage: 12 V", "1 m",
                       "needs:\n  - pump.shutoff_head <= 4.2 m at dead-end\n"),
                   "need.is-met");
    const struct finding *finding = find(&judgement, "need.is-met");
    assert_non_null(finding);
    assert_int_equal(finding->doubt_count, 1);
    assert_string_equal(finding->doubts[0].name, "pump.max_head");
    assert_close(finding->doubts[0].then.as.quantity.value, 4.28, 1e-12);
    bench_close(&court.bench);
}

static void its_owner_may_accept_it(void **state)
{
    (void)state;
    struct court court;
    court_open(&court);
    struct judgement judgement =
        judge_text(&court,
                   RIG("max_head: 4 m", "voltage: 12 V", "4.3 m",
                       "accept:\n  - { rule: " PRIMES ", on: pump, because: Measured }\n"),
                   PRIMES);
    const struct finding *finding = find(&judgement, PRIMES);
    assert_non_null(finding);
    assert_non_null(finding->accepted);
    assert_int_equal(judgement.accepted, 1);
    assert_int_equal(judgement.by_level[LEVEL_CAUTION], 0);
    bench_close(&court.bench);
}

/* What was known as thin must not hide that it fails. */
static void thin_and_failed_are_told_apart(void **state)
{
    (void)state;
    struct court court;
    court_open(&court);
    struct judgement thin =
        judge_text(&court, RIG("max_head: 4 m", "voltage: 12 V", "4.3 m", ""), PRIMES);
    struct judgement failed =
        judge_text(&court, RIG("max_head: 4 m", "voltage: 12 V", "5 m", ""), PRIMES);
    assert_string_not_equal(find(&thin, PRIMES)->fingerprint, find(&failed, PRIMES)->fingerprint);
    bench_close(&court.bench);
}

/* The same words each time, and whatever else is asked. */
static void asked_again_or_among_others_it_is_the_same(void **state)
{
    (void)state;
    static const char text[] = RIG("max_head: 4 m", "voltage: 12 V", "4.3 m",
                                   "needs:\n  - pump.flow >= 500 L/h at bright-noon\n");
    struct court court;
    court_open(&court);
    struct judgement alone = judge_text(&court, text, PRIMES);
    struct judgement again = judge_text(&court, text, PRIMES);
    struct judgement all = judge_text(&court, text, NULL);
    const struct finding *one = find(&alone, PRIMES);
    assert_non_null(one);
    assert_string_equal(find(&again, PRIMES)->message, one->message);
    assert_string_equal(find(&all, PRIMES)->message, one->message);
    assert_string_equal(find(&all, PRIMES)->working, one->working);
    assert_close(find(&all, PRIMES)->margin_then, one->margin_then, 0.0);
    assert_true(count_thin(&all) >= 2);
    bench_close(&court.bench);
}

static void labels_can_be_taken_at_their_word(void **state)
{
    (void)state;
    struct court court;
    court_open(&court);
    const struct judge_options trusting = {.only = PRIMES, .trusting = true};
    struct judgement judgement;
    const struct rig *rig =
        bench_solve(&court.bench, RIG("max_head: 4 m", "voltage: 12 V", "4.3 m", ""));
    assert_int_equal(judge_rig(court.book, rig, &court.bench.diagnostics, &trusting, &judgement),
                     OUTCOME_OK);
    assert_int_equal(judgement.finding_count, 0);
    assert_int_equal(judgement.hold, 1);
    bench_close(&court.bench);
}

/* A twin's figures move to the end asked for, and the rig's own stay. */
static void a_twin_has_figures_of_its_own(void **state)
{
    (void)state;
    struct court court;
    court_open(&court);
    struct rig *rig =
        bench_solve(&court.bench, RIG("curve: [[0 L/h, 4 m], [300 L/h, 3 m], [600 L/h, 0 m]]",
                                      "voltage: 12 V", "1 m", ""));
    struct rig_twin *again = rig_twin_new(court.bench.arena, rig);
    assert_non_null(again);
    struct rig *twin = rig_twin_reset(again, SOLVE_EVERY);
    size_t pump = rig_find_part(rig, "pump");
    size_t curve = (size_t)kind_attribute(rig->parts[pump].kind, "curve");
    assert_true(rig_may_be_off(&rig->parts[pump], curve, true));
    assert_true(rig_twin_move(again, pump, curve, true));
    const struct value *moved = &twin->parts[pump].values[curve].value;
    assert_close(moved->as.points.at[1].y.value, 3.0 * 0.93, 1e-12);
    assert_close(moved->as.points.at[1].x.value, 300e-3 / 3600.0, 1e-12);
    assert_close(rig->parts[pump].values[curve].value.as.points.at[1].y.value, 3.0, 1e-12);
    assert_true(isnan(part_solved(&twin->parts[pump], "flow", CONDITION_BRIGHT_NOON)));
    bool settled;
    assert_int_equal(solve_twin(twin, 1u << CONDITION_BRIGHT_NOON, 0, &settled), OUTCOME_OK);
    assert_true(settled);
    assert_true(part_solved(&twin->parts[pump], "flow", CONDITION_BRIGHT_NOON) <
                part_solved(&rig->parts[pump], "flow", CONDITION_BRIGHT_NOON));
    bench_close(&court.bench);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_lift_cleared_by_5_percent_hangs_on_the_head),
        cmocka_unit_test(a_lift_cleared_by_40_percent_does_not),
        cmocka_unit_test(the_doubt_ends_where_its_kind_says),
        cmocka_unit_test(a_failure_stays_one),
        cmocka_unit_test(an_assumed_figure_is_said_to_be_one),
        cmocka_unit_test(too_much_is_found_as_well),
        cmocka_unit_test(its_owner_may_accept_it),
        cmocka_unit_test(thin_and_failed_are_told_apart),
        cmocka_unit_test(asked_again_or_among_others_it_is_the_same),
        cmocka_unit_test(labels_can_be_taken_at_their_word),
        cmocka_unit_test(a_twin_has_figures_of_its_own),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
