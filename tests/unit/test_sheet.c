/* test_sheet.c - the sheet before it is laid out: what stands in which section, in which
 * order. */
#include "failing.h"
#include "rigs.h"

#include "judge/judge.h"
#include "report/sheet.h"

struct desk {
    struct bench bench;
    const struct rulebook *book;
    struct report_rig rig;
    struct judgement steps;
};

/* Reads, solves and judges, with the steps of the work. */
static void desk_open(struct desk *desk, const char *text)
{
    static const struct judge_options all = {0}, steps = {.only = JUDGE_STEPS};
    bench_open(&desk->bench);
    struct bench *bench = &desk->bench;
    desk->book = rulebook_new(bench->arena, &bench->store, &bench->diagnostics);
    assert_non_null(desk->book);
    struct rig *rig = bench_solve(bench, text);
    assert_int_equal(solve_later(rig), OUTCOME_OK);
    desk->rig = (struct report_rig){.file = rig->file, .path = rig->file, .name = rig->name};
    desk->rig.rig = rig;
    assert_int_equal(judge_rig(desk->book, rig, &bench->diagnostics, &all, &desk->rig.judgement),
                     OUTCOME_OK);
    assert_int_equal(judge_rig(desk->book, rig, &bench->diagnostics, &steps, &desk->steps),
                     OUTCOME_OK);
}

static const struct sheet *sheet_of(struct desk *desk)
{
    const struct sheet *sheet = sheet_make(&desk->rig, &desk->steps, "1.2.3");
    assert_non_null(sheet);
    return sheet;
}

#define SITE                                                                                       \
    "rigtally: 1\nname: Yard\nsite: { latitude: 45 deg, air: 2 .. 35 degC, water: 6 .. 28 degC, "  \
    "sun: 5 kWh/m2 }\nparts:\n"

/* A fuse that the thin cord can't bear, and figures that nobody gave. */
static const char battery_rig[] = SITE
    "  bank: { is: battery, chemistry: agm, voltage: 12 V, capacity: 40 Ah, price: 80 }\n"
    "  f1: { use: fuse-blade-20a, price: 2 }\n"
    "  pump: { is: pump, voltage: 12 V, power: 20 W, max_head: 5 m, max_flow: 900 L/h, mounting: "
    "submersible }\n"
    "  drum: { is: tank, volume: 200 L, height: 0 m, level: 0.7 m }\n"
    "  tray: { is: tank, volume: 50 L, height: 1.5 m, level: 0.2 m }\n"
    "cables:\n  - { from: bank, to: pump, use: cord-2x0.75mm2, length: 6 m, through: [f1] }\n"
    "pipes:\n  - { from: drum, to: pump }\n"
    "  - { from: pump, to: tray, use: hose-epdm-13mm, length: 4 m, ends: free, end_height: 1.8 m "
    "}\n";

static const char plain_rig[] =
    SITE "  butt: { is: tank, volume: 200 L, height: 1 m, level: 0.7 m }\n"
         "  drips: { use: dripper-gravity-4l, count: 10, height: 0.1 m }\n"
         "pipes:\n  - { from: butt, to: drips, use: tube-drip-16mm, length: 5 m }\n";

/* Findings stand worst first, numbered within their level. */
static void findings_stand_worst_first(void **state)
{
    (void)state;
    struct desk desk;
    desk_open(&desk, battery_rig);
    const struct sheet_section *section = &sheet_of(&desk)->sections[SHEET_FINDINGS];
    enum level before = LEVEL_ERROR;
    size_t errors = 0, told = 0;
    for (size_t g = 0; g < section->groups.count; g++)
        for (size_t i = 0; i < section->groups.at[g].items.count; i++) {
            const struct sheet_item *item = &section->groups.at[g].items.at[i];
            assert_non_null(item->mark);
            assert_true(item->level >= before);
            before = item->level;
            errors += item->level == LEVEL_ERROR;
            told++;
            assert_true(item->facts.count >= 2);
        }
    assert_int_equal(errors, desk.rig.judgement.by_level[LEVEL_ERROR]);
    assert_true(errors >= 1);
    assert_int_equal(told, desk.rig.judgement.by_level[LEVEL_ERROR] +
                               desk.rig.judgement.by_level[LEVEL_CAUTION]);
    bench_close(&desk.bench);
}

/* Every figure that a question asks for is asked once, under its part. */
static void questions_stand_by_part(void **state)
{
    (void)state;
    struct desk desk;
    desk_open(&desk, battery_rig);
    const struct sheet_section *section = &sheet_of(&desk)->sections[SHEET_QUESTIONS];
    size_t asked = 0;
    for (size_t g = 0; g < section->groups.count; g++) {
        const struct sheet_group *group = &section->groups.at[g];
        if (!group->items.count)
            continue;
        assert_non_null(group->heading);
        assert_int_equal(group->style, SHEET_ASKED);
        for (size_t i = 0; i < group->items.count; i++) {
            asked++;
            for (size_t k = 0; k < i; k++)
                assert_string_not_equal(group->items.at[i].words, group->items.at[k].words);
        }
    }
    size_t names = 0; /* of all questions, each once */
    const struct judgement *judgement = &desk.rig.judgement;
    const char *seen[64];
    for (size_t i = 0; i < judgement->finding_count; i++)
        for (size_t m = 0; m < judgement->findings[i].missing_count; m++) {
            bool known = false;
            for (size_t k = 0; k < names; k++)
                known = known || strcmp(seen[k], judgement->findings[i].missing[m]) == 0;
            if (!known && names < 64)
                seen[names++] = judgement->findings[i].missing[m];
        }
    assert_true(names >= 2);
    assert_int_equal(asked, names);
    bench_close(&desk.bench);
}

static bool has_words(const struct sheet_section *section, const char *words)
{
    for (size_t g = 0; g < section->groups.count; g++) {
        const struct sheet_group *group = &section->groups.at[g];
        if ((group->words && strstr(group->words, words)) ||
            (group->heading && strstr(group->heading, words)))
            return true;
        for (size_t i = 0; i < group->items.count; i++)
            if (strstr(group->items.at[i].words, words))
                return true;
        for (size_t i = 0; i < group->table.cells.count; i++)
            if (strstr(group->table.cells.at[i], words))
                return true;
        for (size_t i = 0; i < group->blanks.count; i++)
            if (strstr(group->blanks.at[i], words))
                return true;
    }
    return false;
}

static void what_is_to_be_bought_is_counted(void **state)
{
    (void)state;
    struct desk desk;
    desk_open(&desk, battery_rig);
    const struct sheet_section *buying = &sheet_of(&desk)->sections[SHEET_BUYING];
    assert_true(has_words(buying, "fuse-blade-20a"));
    assert_true(has_words(buying, "6 m"));
    assert_true(has_words(buying, "cord-2x0.75mm2"));
    assert_true(has_words(buying, "4 m"));
    assert_true(has_words(buying, "82")); /* 80 + 2, of what has a price */
    bench_close(&desk.bench);
}

/* The work's steps are those of what the rig holds. */
static void steps_are_chosen_by_the_rig(void **state)
{
    (void)state;
    struct desk with, without;
    desk_open(&with, battery_rig);
    desk_open(&without, plain_rig);
    const struct sheet_section *more = &sheet_of(&with)->sections[SHEET_STEPS];
    const struct sheet_section *less = &sheet_of(&without)->sections[SHEET_STEPS];
    assert_true(has_words(more, "olarity"));
    assert_true(has_words(more, "uses"));
    assert_false(has_words(less, "olarity"));
    assert_false(has_words(less, "uses and breakers"));
    assert_true(has_words(less, "Leak test") || has_words(less, "leak"));
    const struct sheet_section *local = &sheet_of(&without)->sections[SHEET_LOCAL];
    const char *const blanks[] = {"Permit", "nspector", "Date"};
    for (size_t i = 0; i < 3; i++)
        assert_true(has_words(local, blanks[i]));
    bench_close(&with.bench);
    bench_close(&without.bench);
}

#ifndef SANITIZED
static void memory_that_runs_out_shows(void **state)
{
    (void)state;
    static const enum report_sheet_form forms[] = {SHEET_HTML, SHEET_MARKDOWN, SHEET_TEXT};
    struct desk desk;
    desk_open(&desk, plain_rig);
    const struct report_style style = {.width = 100, .version = "1.2.3"};
    for (size_t f = 0; f < 3; f++) {
        struct text right = {0};
        report_sheet(&right, forms[f], &style, &desk.rig, &desk.steps);
        assert_false(right.failed);
        for (long k = 0; k < 100000; k += 1 + k / 6) {
            struct text text = {0};
            allocator.on = true;
            allocator.from_here_on = true;
            allocator.fails_at = k;
            allocator.made = 0;
            report_sheet(&text, forms[f], &style, &desk.rig, &desk.steps);
            allocator.on = false;
            bool came_through = allocator.made <= k;
            if (!text.failed && (!text.length || strcmp(text.bytes, right.bytes) != 0))
                fail_msg("form %zu, allocation %ld: another sheet, and nothing told", f, k);
            text_drop(&text);
            if (came_through)
                break;
        }
        text_drop(&right);
    }
    bench_close(&desk.bench);
}
#endif

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(findings_stand_worst_first),
        cmocka_unit_test(questions_stand_by_part),
        cmocka_unit_test(what_is_to_be_bought_is_counted),
        cmocka_unit_test(steps_are_chosen_by_the_rig),
#ifndef SANITIZED
        cmocka_unit_test(memory_that_runs_out_shows),
#endif
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
