/* test_mend.c - changes that are said to mend a rig do: each is made by hand in the
 * text of the rig, and judged anew. */
#include "failing.h"
#include "rigs.h"

#include "judge/mend.h"
#include "rig/edit.h"

/* The fuse passes more than its cord may carry, the cord is thin for its length, the pilot
 * valve stands under a low tank, and nothing is said of a need. */
#define RIG(fuse, cord, valve)                                                                     \
    "rigtally: 1\nname: Barrel\npractice: iec\n"                                                   \
    "site: { latitude: 45 deg, air: 3 .. 36 degC, water: 8 .. 28 degC, sun: 5 kWh/m2 }\n"          \
    "parts:\n"                                                                                     \
    "  battery: { use: battery-lifepo4-20ah, place: sheltered }\n"                                 \
    "  f1:      { use: " fuse " }\n"                                                               \
    "  clock:   { use: timer-12v-10a-dc, suppressed: yes }\n"                                      \
    "  barrel:  { use: barrel-rain-300l, height: 2.4 m, level: 0.8 m }\n"                          \
    "  screen:  { use: filter-hose-13mm }\n"                                                       \
    "  valve:   { use: " valve ", height: 0.3 m, energised_by: clock }\n"                          \
    "  drips:   { use: dripper-gravity-4l, count: 60, height: 0.2 m, runs: timed, "                \
    "hours_per_day: 1 h }\n"                                                                       \
    "cables:\n"                                                                                    \
    "  - { from: battery, to: valve, use: " cord                                                   \
    ", length: 9 m, through: [{ part: f1, distance: 0.1 m }, clock] }\n"                           \
    "pipes:\n"                                                                                     \
    "  - { from: barrel, to: valve, use: hose-epdm-13mm, length: 4 m, through: [screen] }\n"       \
    "  - { from: valve, to: drips, use: tube-drip-16mm, length: 12 m, shaded: yes }\n"             \
    "needs:\n  - drips.flow >= 120 L/h at dark\n"
#define WRONG RIG("fuse-glass-10a", "cord-2x0.75mm2", "valve-pilot-1-2in-12v")

struct shop {
    struct bench bench;
    const struct rulebook *book;
    struct mend_bench tools;
};

static void shop_open(struct shop *shop)
{
    bench_open(&shop->bench);
    shop->book = rulebook_new(shop->bench.arena, &shop->bench.store, &shop->bench.diagnostics);
    assert_non_null(shop->book);
    shop->tools =
        (struct mend_bench){&shop->bench.store, shop->book, shop->bench.defaults, NULL, NULL};
}

static const struct node *tree_of(struct shop *shop, const char *text)
{
    struct node *root = NULL;
    assert_int_equal(document_read(shop->bench.arena, "test.rig.yaml", text, strlen(text),
                                   &document_limits_default, &shop->bench.diagnostics, &root),
                     OUTCOME_OK);
    return root;
}

/* Of a tree as it stands. */
static const struct rig *solved_tree(struct shop *shop, const struct node *root)
{
    struct rig *rig = NULL;
    struct bench *bench = &shop->bench;
    bench->diagnostics.count = 0;
    assert_int_equal(rig_read_tree(bench->arena, &bench->store, bench->defaults, NULL,
                                   "test.rig.yaml", root, &bench->diagnostics, &rig),
                     OUTCOME_OK);
    assert_int_equal(bench->diagnostics.count, 0);
    assert_int_equal(solve_rig(rig, &bench->diagnostics), OUTCOME_OK);
    return rig;
}

static struct judgement judged(struct shop *shop, const struct rig *rig)
{
    struct judgement judgement;
    const struct judge_options options = {0};
    assert_int_equal(judge_rig(shop->book, rig, &shop->bench.diagnostics, &options, &judgement),
                     OUTCOME_OK);
    return judgement;
}

static struct mends mends_of(struct shop *shop, const char *text)
{
    const struct node *root = tree_of(shop, text);
    const struct rig *rig = solved_tree(shop, root);
    struct judgement *judgement = ARENA_TAKE(shop->bench.arena, 1, struct judgement);
    struct mends mends;
    *judgement = judged(shop, rig);
    assert_int_equal(mend_find(shop->bench.arena, &shop->tools, root, rig, judgement, &mends),
                     OUTCOME_OK);
    return mends;
}

static const struct mend *mend_of(const struct mends *mends, const char *rule)
{
    for (size_t i = 0; i < mends->count; i++)
        if (strcmp(mends->at[i].finding->rule, rule) == 0)
            return &mends->at[i];
    fail_msg("nothing of %s", rule);
    return NULL;
}

static bool stands_out(const struct judgement *judgement, const char *rule)
{
    for (size_t i = 0; i < judgement->finding_count; i++)
        if (strcmp(judgement->findings[i].rule, rule) == 0 &&
            judgement->findings[i].level < LEVEL_QUESTION)
            return true;
    return false;
}

/* The first way, made by hand, ends the finding and brings none. */
static void each_way_holds_when_made_by_hand(void **state)
{
    (void)state;
    struct shop shop;
    shop_open(&shop);
    struct judgement before = judged(&shop, solved_tree(&shop, tree_of(&shop, WRONG)));
    struct mends mends = mends_of(&shop, WRONG);
    const struct mend *fuse = mend_of(&mends, "fuse.protects-cable");
    assert_true(fuse->way_count >= 1);
    const struct mend_change *change = &fuse->ways[0].change;
    assert_int_equal(change->how, MEND_SWAP);
    assert_string_equal(change->part, "f1");
    assert_string_equal(change->before, "fuse-glass-10a");
    assert_string_equal(change->entry->name, "fuse-glass-5a"); /* the nearest that protects it */
    struct judgement after =
        judged(&shop, solved_tree(&shop, tree_of(&shop, RIG("fuse-glass-5a", "cord-2x0.75mm2",
                                                            "valve-pilot-1-2in-12v"))));
    assert_true(stands_out(&before, "fuse.protects-cable"));
    assert_false(stands_out(&after, "fuse.protects-cable"));
    assert_true(after.by_level[LEVEL_ERROR] < before.by_level[LEVEL_ERROR]);
    assert_true(after.by_level[LEVEL_CAUTION] <= before.by_level[LEVEL_CAUTION]);
    bench_close(&shop.bench);
}

/* A valve that stays shut is not mended by one that nothing opens: the promise has to be kept. */
static void a_promise_is_kept_not_dodged(void **state)
{
    (void)state;
    struct shop shop;
    shop_open(&shop);
    struct mends mends = mends_of(&shop, WRONG);
    const struct mend *valve = mend_of(&mends, "valve.opens-at-pressure");
    assert_true(valve->way_count >= 1);
    for (size_t i = 0; i < valve->way_count; i++) {
        const struct entry *entry = valve->ways[i].change.entry;
        for (size_t k = 0; entry && k < entry->value_count; k++)
            if (strcmp(entry->values[k].attribute, "action") == 0)
                assert_string_not_equal(entry->values[k].text, "hand");
    }
    bench_close(&shop.bench);
}

static void what_goes_together_is_judged_together(void **state)
{
    (void)state;
    struct shop shop;
    shop_open(&shop);
    struct mends mends = mends_of(&shop, WRONG);
    assert_true(mends.together_count >= 2);
    assert_int_equal(mends.left[LEVEL_ERROR], 0);
    const struct node *root = tree_of(&shop, WRONG);
    for (size_t i = 0; i < mends.together_count; i++) {
        const struct mend_change *change = &mends.together[i];
        for (size_t k = 0; k < i; k++) /* a part becomes one thing only */
            assert_false(change->how == MEND_SWAP && mends.together[k].how == MEND_SWAP &&
                         strcmp(change->part, mends.together[k].part) == 0);
        const struct rig *rig = solved_tree(&shop, root);
        const struct part *part = part_of(rig, change->part);
        const char *distance = arena_print(shop.bench.arena, "%g m", change->distance_m);
        assert_non_null(distance);
        assert_int_not_equal(change->how, MEND_PARALLEL);
        root = change->how == MEND_SWAP ? edit_use(shop.bench.arena, root, part, change->entry,
                                                   change->dropped_count > 0)
                                        : edit_insert(shop.bench.arena, root, part, change->entry,
                                                      change->added, change->last, distance);
        assert_non_null(root);
    }
    struct judgement after = judged(&shop, solved_tree(&shop, root));
    for (unsigned level = 0; level < LEVEL_REMINDER; level++)
        assert_int_equal(after.by_level[level], mends.left[level]);
    bench_close(&shop.bench);
}

static void a_rig_without_fault_has_nothing_to_mend(void **state)
{
    (void)state;
    struct shop shop;
    shop_open(&shop);
    struct mends mends = mends_of(
        &shop, "rigtally: 1\nparts:\n  barrel: { use: barrel-rain-300l, height: 1 m, level: 0.6 m, "
               "spare: yes }\n");
    for (size_t i = 0; i < mends.count; i++)
        assert_int_not_equal(mends.at[i].finding->level, LEVEL_ERROR);
    bench_close(&shop.bench);
}

/* ---- Trees with one thing changed ---- */

static void an_edit_leaves_the_old_tree_as_it_was(void **state)
{
    (void)state;
    struct shop shop;
    shop_open(&shop);
    struct arena *arena = shop.bench.arena;
    const struct node *root = tree_of(&shop, WRONG);
    const struct rig *rig = solved_tree(&shop, root);
    const struct entry *entry = store_entry(&shop.bench.store, "fuse-glass-5a");
    const struct part *cord = part_of(rig, "battery-valve");
    const struct rig *swapped =
        solved_tree(&shop, edit_use(arena, root, part_of(rig, "f1"), entry, false));
    assert_string_equal(part_of(swapped, "f1")->entry->name, "fuse-glass-5a");
    const struct rig *given = solved_tree(&shop, edit_give(arena, root, cord, "length", "3 m"));
    assert_close(part_number(part_of(given, "battery-valve"), "length"), 3.0, 1e-12);
    const struct rig *wider =
        solved_tree(&shop, edit_insert(arena, root, cord, entry, "f2", true, "8.9 m"));
    const struct part *run = part_of(wider, "battery-valve");
    assert_int_equal(run->through_count, 3);
    assert_string_equal(wider->parts[run->through[2].part].id, "f2");
    assert_close(run->through[2].distance_m, 8.9, 1e-12);
    const struct rig *first =
        solved_tree(&shop, edit_insert(arena, root, cord, entry, "f2", false, NULL));
    run = part_of(first, "battery-valve");
    assert_string_equal(first->parts[run->through[0].part].id, "f2");
    const struct rig *again = solved_tree(&shop, root);
    assert_string_equal(part_of(again, "f1")->entry->name, "fuse-glass-10a");
    assert_close(part_number(part_of(again, "battery-valve"), "length"), 9.0, 1e-12);
    assert_int_equal(part_of(again, "battery-valve")->through_count, 2);
    bench_close(&shop.bench);
}

/* A part that was written out loses what the entry says instead, and keeps what it does not. */
static void a_part_written_out_takes_the_entrys_figures(void **state)
{
    (void)state;
    struct shop shop;
    shop_open(&shop);
    const struct node *root = tree_of(
        &shop, "rigtally: 1\nparts:\n"
               "  f1: { is: fuse, rating: 30 A, speed: fast, note: Red box, spare: yes }\n");
    const struct rig *rig = solved_tree(&shop, root);
    const struct entry *entry = store_entry(&shop.bench.store, "fuse-blade-5a");
    const struct rig *after =
        solved_tree(&shop, edit_use(shop.bench.arena, root, part_of(rig, "f1"), entry, false));
    const struct part *fuse = part_of(after, "f1");
    assert_close(part_number(fuse, "rating"), 5.0, 1e-12);
    assert_int_equal(part_value(fuse, "rating")->origin, ORIGIN_LISTED);
    assert_int_equal(part_value(fuse, "note")->origin, ORIGIN_GIVEN);
    bench_close(&shop.bench);
}

#ifndef SANITIZED
static enum outcome find_with(struct shop *shop, const struct node *root, const struct rig *rig,
                              const struct judgement *judgement, long fails_at, size_t *together)
{
    struct mends mends = {0};
    allocator.on = true;
    allocator.fails_at = fails_at;
    allocator.made = allocator.held = 0;
    struct arena *arena = arena_new();
    enum outcome outcome =
        arena ? mend_find(arena, &shop->tools, root, rig, judgement, &mends) : OUTCOME_NO_MEMORY;
    *together = outcome == OUTCOME_OK ? mends.together_count : 0;
    arena_drop(arena);
    allocator.on = false;
    return outcome;
}

/* The first allocations one by one, then further and further apart: a search makes many alike. */
static void memory_that_runs_out_is_told(void **state)
{
    (void)state;
    struct shop shop;
    shop_open(&shop);
    const struct node *root = tree_of(&shop, WRONG);
    const struct rig *rig = solved_tree(&shop, root);
    struct judgement judgement = judged(&shop, rig);
    size_t right, together;
    assert_int_equal(find_with(&shop, root, rig, &judgement, -1, &right), OUTCOME_OK);
    long made = allocator.made;
    assert_int_equal(allocator.held, 0);
    assert_true(right >= 2);
    for (long k = 0; k < made; k += 1 + k / 8) {
        enum outcome outcome = find_with(&shop, root, rig, &judgement, k, &together);
        if (outcome != OUTCOME_NO_MEMORY && (outcome != OUTCOME_OK || together != right))
            fail_msg("allocation %ld of %ld: outcome %d, other mends", k, made, (int)outcome);
        if (allocator.held != 0)
            fail_msg("allocation %ld of %ld: %ld blocks kept", k, made, allocator.held);
    }
    print_message("%ld allocations\n", made);
    bench_close(&shop.bench);
}
#endif

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_way_holds_when_made_by_hand),
        cmocka_unit_test(a_promise_is_kept_not_dodged),
        cmocka_unit_test(what_goes_together_is_judged_together),
        cmocka_unit_test(a_rig_without_fault_has_nothing_to_mend),
        cmocka_unit_test(an_edit_leaves_the_old_tree_as_it_was),
        cmocka_unit_test(a_part_written_out_takes_the_entrys_figures),
#ifndef SANITIZED
        cmocka_unit_test(memory_that_runs_out_is_told),
#endif
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
