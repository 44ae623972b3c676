/* test_buying.c - what a rig is ordered from, counted by hand beside each rig. */
#include "rigs.h"

#include "rig/buying.h"

#define HEAD                                                                                       \
    "rigtally: 1\nname: t\npractice: iec\nsite: { latitude: 40 deg, air: 0 .. 30 degC }\nparts:\n"

static const struct buying_list *listed(struct bench *bench, const char *text)
{
    const struct buying_list *list = buying_list(bench->arena, bench_solve(bench, text));
    assert_non_null(list);
    return list;
}

static const struct buying_item *item_of(const struct rig *rig, const struct buying_list *list,
                                         const char *id)
{
    size_t part = rig_find_part(rig, id);
    for (size_t i = 0; i < list->item_count; i++)
        for (size_t k = 0; k < list->items[i].part_count; k++)
            if (list->items[i].parts[k] == part)
                return &list->items[i];
    fail_msg("%s is on no line", id);
    return NULL;
}

static const char pieces[] =
    HEAD "  pa: { use: panel-60w-36cell, series: 2, parallel: 3, string_fuses: fs, price: 50 }\n"
         "  fs: { use: fuse-blade-10a, price: 2 }\n"
         "  f1: { use: fuse-blade-10a, price: 2 }\n"
         "  f2: { use: fuse-blade-10a, count: 4, spare: yes }\n"
         "  f3: { use: fuse-blade-10a, rating: 9 A }\n"
         "  f4: { is: fuse, rating: 9 A }\n"
         "  f5: { is: fuse, rating: 9 A, note: In the lid }\n"
         "  lamp: { is: load, voltage: 24 V, power: 10 W }\n"
         "cables:\n"
         "  - { from: pa, to: lamp, area: 2.5 mm2, length: 3 m, price: 12, through: [fs, f1, f3, "
         "f4, f5] }\n";

/* Panels: 2 x 3. Blade fuses: one in each of 3 strings, f1, 4 in the drawer: 8; f3 is of another
 * rating. Prices: 6 x 50 + 3 x 2 + 2 + 12 = 320; without: 4 spare fuses, f3, f4, f5, the lamp. */
static void pieces_are_counted(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench);
    const struct rig *rig = bench_solve(&bench, pieces);
    const struct buying_list *list = buying_list(bench.arena, rig);
    assert_non_null(list);
    assert_int_equal(list->item_count, 5);
    assert_close(item_of(rig, list, "pa")->pieces, 6.0, 0.0);
    assert_close(item_of(rig, list, "fs")->pieces, 8.0, 0.0);
    assert_close(item_of(rig, list, "fs")->spares, 4.0, 0.0);
    assert_close(item_of(rig, list, "fs")->price.known, 8.0, 0.0);
    assert_close(item_of(rig, list, "fs")->price.unpriced, 4.0, 0.0);
    assert_ptr_equal(item_of(rig, list, "f2"), item_of(rig, list, "fs"));
    assert_ptr_not_equal(item_of(rig, list, "f3"), item_of(rig, list, "fs"));
    assert_ptr_equal(item_of(rig, list, "f4"), item_of(rig, list, "f5"));
    assert_close(list->price.known, 320.0, 1e-9);
    assert_close(list->price.unpriced, 8.0, 0.0);
    bench_close(&bench);
}

/* What nobody sells, and what its owner says is there already, stands on no list and costs nothing;
 * the other hose of 4 m wants a clamp at the pump; at the drum it hangs over the rim. */
static void what_is_there_is_not_bought(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench);
    const struct buying_list *list = listed(
        &bench, HEAD "  well: { use: well-dug, height: -5 m, level: 3 m }\n"
                     "  tank: { is: tank, volume: 90 L, height: 2 m, price: 30, bought: no }\n"
                     "  drum: { is: tank, volume: 90 L, height: 2 m, price: 40, bought: yes }\n"
                     "  pump: { use: pond-pump-35w-24v, height: -4 m, price: 50 }\n"
                     "pipes:\n"
                     "  - { from: well, to: pump }\n"
                     "  - { from: pump, to: tank, use: hose-epdm-13mm, length: 9 m, bought: no }\n"
                     "  - { from: pump, to: drum, use: hose-epdm-13mm, length: 4 m, price: 8 }\n");
    assert_int_equal(list->item_count, 2); /* pump, drum */
    assert_int_equal(list->pipe_count, 1);
    assert_close(list->pipes[0].length_m, 4.0, 1e-12);
    assert_close(list->barbed_ends, 1.0, 0.0);
    assert_close(list->price.known, 98.0, 1e-9);
    assert_close(list->price.unpriced, 0.0, 0.0);
    bench_close(&bench);
}

static const char lengths[] = HEAD
    "  s: { is: supply, voltage: 12 V, max_current: 10 A }\n"
    "  a: { is: load, voltage: 12 V, power: 10 W }\n"
    "  b: { is: load, voltage: 12 V, power: 10 W }\n"
    "  c: { is: load, voltage: 12 V, power: 10 W }\n"
    "  t: { is: tank, volume: 90 L, height: 2 m, level: 0.5 m }\n"
    "  o: { is: outlet, kv: 1 m3/h, height: 0 m }\n"
    "cables:\n"
    "  - { from: s, to: a, area: 2.5 mm2, cores: 2, material: copper, length: 7 m }\n"
    "  - { from: s, to: b, area: 2.5 mm2, cores: 2, material: copper, length: 4 m, count: 2 }\n"
    "  - { from: s, to: c, area: 2.5 mm2, cores: 1, material: copper, length: 5 m }\n"
    "  - { from: a, to: b, area: 1.5 mm2, cores: 2, material: copper }\n"
    "pipes:\n"
    "  - { from: t, to: o, bore: 19 mm, material: hdpe, length: 10 m }\n"
    "  - { from: t, to: o, bore: 13 mm, material: epdm-hose, length: 3 m, ends: free }\n"
    "  - { from: t, to: o, bore: 13 mm, material: pvc-hose, length: 2 m, count: 2, ends: free }\n";

/* 2.5 mm2 of two cores: 7 + 2 x 4 = 15 m; of one core: 5 m out and 5 m back. 13 mm: 3 m and
 * 2 x 2 m. */
static void metres_are_added(void **state)
{
    (void)state;
    struct bench bench;
    double without = -1.0;
    bench_open(&bench);
    const struct buying_list *list = listed(&bench, lengths);
    assert_int_equal(list->cable_count, 3);
    assert_close(list->cables[0].size, 1.5e-6, 1e-18);
    assert_close(list->cables[0].unmeasured, 1.0, 0.0);
    assert_close(list->cables[1].cores, 1.0, 0.0);
    assert_close(list->cables[1].length_m, 10.0, 1e-12);
    assert_close(list->cables[2].length_m, 15.0, 1e-12);
    assert_int_equal(list->cables[2].run_count, 2);
    assert_close(buying_cable_m(list, 2.5e-6, &without), 25.0, 1e-12);
    assert_close(without, 0.0, 0.0);
    assert_close(buying_cable_m(list, 1.5e-6, &without), 0.0, 0.0);
    assert_close(without, 1.0, 0.0);
    assert_int_equal(list->pipe_count, 3);
    assert_string_equal(list->pipes[0].material, "epdm-hose");
    assert_close(buying_pipe_m(list, 0.013, NULL), 7.0, 1e-12);
    assert_close(buying_pipe_m(list, 0.019, NULL), 10.0, 1e-12);
    assert_close(buying_pipe_m(list, 0.020, NULL), 0.0, 0.0);
    bench_close(&bench);
}

#define LOOP(clamps, hose)                                                                         \
    HEAD "  t: { is: tank, volume: 90 L, height: 0 m, level: 0.5 m }\n"                            \
         "  p: { is: pump, mounting: submersible, voltage: 12 V, power: 8 W, max_head: 4 m, "      \
         "max_flow: 400 L/h, port: barb-13mm }\n"                                                  \
         "  f: { is: filter, kv: 3 m3/h, port: barb-13mm }\n"                                      \
         "  c: { is: coil, area: 1 m2, bore: 10 mm, length: 10 m, port: plain-13mm, height: 1 m "  \
         "}\n" clamps "pipes:\n"                                                                   \
         "  - { from: t, to: p }\n"                                                                \
         "  - { from: p, to: c, bore: 13 mm, length: 3 m, through: [f], " hose " }\n"              \
         "  - { from: c, to: t, bore: 13 mm, length: 2 m, ends: under-water, " hose " }\n"

/* Pump, both sides of the filter, coil; coil again, and a loose end: 5. A pump that stands in the
 * water is joined without hose. */
static const struct {
    const char *text;
    double ends, listed, clamped;
} clamped[] = {
    {LOOP("", "material: epdm-hose, outside: 19 mm"), 5, 0, 0},
    {LOOP("  k: { is: clamp, size: 16 .. 25 mm, count: 5 }\n",
          "material: epdm-hose, outside: 19 mm"),
     5, 5, 5},
    {LOOP("  k: { is: clamp, size: 16 .. 25 mm, count: 4 }\n",
          "material: epdm-hose, outside: 19 mm"),
     5, 4, 4},
    {LOOP("  k: { is: clamp, size: 19 .. 25 mm, count: 5 }\n",
          "material: epdm-hose, outside: 19 mm"),
     5, 5, 5},
    {LOOP("  k: { is: clamp, size: 20 .. 25 mm, count: 5 }\n",
          "material: epdm-hose, outside: 19 mm"),
     5, 5, 0},
    {LOOP("  k: { is: clamp, size: 16 .. 25 mm, count: 5, spare: yes }\n",
          "material: epdm-hose, outside: 19 mm"),
     5, 0, 0},
    {LOOP("  k: { is: clamp, count: 9 }\n", "material: epdm-hose, outside: 19 mm"), 5, 9, 5},
    {LOOP("  k: { is: clamp, size: 8 .. 12 mm, count: 5 }\n", "material: epdm-hose"), 5, 5, 5},
    {LOOP("  k: { is: clamp, size: 8 .. 12 mm, count: 5 }\n", "material: epdm-hose, wall: 3 mm"), 5,
     5, 0},
    {LOOP("", "material: copper"), 0, 0, 0},
    {LOOP("", "wall: 3 mm"), 5, 0, 0},
    {LOOP("", "material: epdm-hose, fittings: { barb: 8 }"), 16, 0, 0},
    {LOOP("", "material: epdm-hose, from_port: bspp-1/2-female"), 3, 0, 0},
};

static void hose_ends_want_clamps(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench);
    for (size_t i = 0; i < sizeof clamped / sizeof *clamped; i++) {
        const struct buying_list *list = listed(&bench, clamped[i].text);
        assert_close(list->barbed_ends, clamped[i].ends, 0.0);
        assert_close(list->clamps_listed, clamped[i].listed, 0.0);
        assert_close(list->clamped_ends, clamped[i].clamped, 0.0);
    }
    bench_close(&bench);
}

static const char two_hoses[] =
    HEAD "  t: { is: tank, volume: 90 L, height: 0 m, level: 0.5 m }\n"
         "  a: { is: filter, kv: 3 m3/h, port: barb-13mm }\n"
         "  b: { is: filter, kv: 3 m3/h, port: barb-19mm }\n"
         "  narrow: { is: clamp, size: 16 .. 20 mm, count: 1 }\n"
         "  wide: { is: clamp, size: 16 .. 28 mm, count: 2 }\n"
         "pipes:\n"
         "  - { from: t, to: b, bore: 19 mm, outside: 26 mm, length: 3 m, material: epdm-hose }\n"
         "  - { from: b, to: a, bore: 13 mm, outside: 19 mm, length: 3 m, material: epdm-hose }\n";

/* One end of 26 mm and two of 19 mm; two clamps fit all, one only the thin hose. First come first
 * served could leave the thick end bare; none need be. */
static void clamps_go_where_they_are_needed(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench);
    const struct buying_list *list = listed(&bench, two_hoses);
    assert_int_equal(list->clamp_count, 2);
    assert_close(list->clamps[0].outside_m, 0.019, 1e-12);
    assert_close(list->clamps[0].ends, 2.0, 0.0);
    assert_close(list->clamps[1].ends, 1.0, 0.0);
    assert_close(list->clamps[1].clamped, 1.0, 0.0);
    assert_close(list->clamped_ends, 3.0, 0.0);
    bench_close(&bench);
}

static const char plugs[] = HEAD "  pa: { use: panel-60w-36cell, plug: panel }\n"
                                 "  a: { is: plug, pattern: panel, half: pin }\n"
                                 "  b: { is: plug, pattern: flat-2pole, half: pin }\n"
                                 "  c: { is: plug, pattern: flat-2pole, half: socket }\n"
                                 "  d: { is: plug, pattern: tab-6.3, half: socket }\n"
                                 "  e: { is: plug, pattern: tab-6.3, half: socket, spare: yes }\n"
                                 "  f: { is: plug, half: pin }\n";

static void a_plug_without_its_mate(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench);
    const struct rig *rig = bench_solve(&bench, plugs);
    const struct buying_list *list = buying_list(bench.arena, rig);
    assert_non_null(list);
    assert_int_equal(list->lone_plug_count, 1);
    assert_int_equal(list->lone_plugs[0], rig_find_part(rig, "d"));
    bench_close(&bench);
}

/* ---- The same as figures of the rig ---- */

static double asked(const struct rig *rig, const char *attribute, double of)
{
    struct formula_world world = rig_world(rig);
    struct value value;
    enum origin origin;
    int index = kind_attribute(rig->parts[rig->whole].kind, attribute);
    bool known = world.value_of(rig, rig->whole, index, CONDITION_DARK, of, &value, &origin);
    return known ? value.as.quantity.value : (double)NAN;
}

static bool lacks(const struct rig *rig, const char *attribute, const char *part, const char *what)
{
    struct solve_gap gaps[8];
    int index = kind_attribute(rig->parts[rig->whole].kind, attribute);
    size_t count = solve_missing(rig, solve_lacks(rig), rig->whole, index, gaps, 8);
    for (size_t i = 0; i < count; i++)
        if (strcmp(rig->parts[gaps[i].part].id, part) == 0 && strcmp(gaps[i].attribute, what) == 0)
            return true;
    return false;
}

/* What the rows above were counted to; a run without length, or a piece without price, leaves the
 * sum it belongs to unknown and is asked for. */
static void figures_of_the_rig(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench);
    const struct rig *rig = bench_solve(&bench, lengths);
    assert_close(asked(rig, "cable_length", 2.5e-6), 25.0, 1e-12);
    assert_close(asked(rig, "cable_length", 4e-6), 0.0, 0.0);
    assert_true(isnan(asked(rig, "cable_length", 1.5e-6)));
    assert_true(lacks(rig, "cable_length", "a-b", "length"));
    assert_close(asked(rig, "hose_length", 0.013), 7.0, 1e-12);
    assert_true(isnan(figure(rig, "rig.price", CONDITION_DARK)));
    assert_true(lacks(rig, "price", "s", "price"));
    assert_close(figure(rig, "rig.unpriced", CONDITION_DARK), 6.0 + 5.0 + 4.0, 0.0);
    rig = bench_solve(&bench, pieces);
    assert_close(figure(rig, "rig.known_price", CONDITION_DARK), 320.0, 1e-9);
    assert_close(figure(rig, "rig.unpriced", CONDITION_DARK), 8.0, 0.0);
    rig = bench_solve(&bench, clamped[2].text);
    assert_close(figure(rig, "rig.barbed_ends", CONDITION_DARK), 5.0, 0.0);
    assert_close(figure(rig, "rig.clamps", CONDITION_DARK), 4.0, 0.0);
    assert_close(figure(rig, "rig.clamped_ends", CONDITION_DARK), 4.0, 0.0);
    rig = bench_solve(&bench, HEAD "  s: { is: supply, voltage: 12 V, price: 9, count: 2 }\n");
    assert_close(figure(rig, "rig.price", CONDITION_DARK), 18.0, 0.0);
    rig = bench_solve(&bench, HEAD "  t: { is: tank, volume: 9 L }\n  o: { is: outlet, kv: 1 m3/h "
                                   "}\npipes:\n  - { from: t, to: o, length: 2 m }\n");
    assert_true(isnan(asked(rig, "hose_length", 0.013)));
    assert_true(lacks(rig, "hose_length", "t-o", "bore"));
    bench_close(&bench);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(pieces_are_counted),
        cmocka_unit_test(what_is_there_is_not_bought),
        cmocka_unit_test(metres_are_added),
        cmocka_unit_test(hose_ends_want_clamps),
        cmocka_unit_test(clamps_go_where_they_are_needed),
        cmocka_unit_test(a_plug_without_its_mate),
        cmocka_unit_test(figures_of_the_rig),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
