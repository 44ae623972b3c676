/* test_solve_memory.c - every allocation of the solver fails in turn, alone and from there on:
 * it then says so, or comes to the same figures, and gives back all that it took. */
#include "rigs.h"

#include "failing.h"

#ifdef SANITIZED
/* The sanitizers keep malloc for themselves. */
static void every_allocation_fails(void **state)
{
    (void)state;
    skip();
}
#else

static const char text[] =
    "rigtally: 1\nname: t\nsite: { latitude: 47 deg, air: -10 .. 30 degC, water: 10 .. 30 degC, "
    "sun: 5 kWh/m2 }\nparts:\n"
    "  panel: { is: panel, voc: 21.6 V, isc: 2.56 A, vmp: 17.2 V, imp: 2.33 A }\n"
    "  conv: { is: converter, type: step-down, input: 7 .. 40 V, output: 12 V, pass_through: yes, "
    "max_current: 3 A }\n"
    "  pump: { is: pump, voltage: 12 V, power: 8 W, max_head: 4 m, max_flow: 420 L/h }\n"
    "  clock: { is: timer }\n  tee: { is: fitting }\n"
    "  coil: { is: coil, area: 1.4 m2, bore: 10 mm, length: 18 m, material: copper, height: 1 m }\n"
    "  valve: { is: valve, action: pilot, rests: closed, kv: 1 m3/h, least_pressure: 0.01 bar, "
    "energised_by: clock, height: 0 m }\n"
    "  drum: { is: tank, volume: 90 L, height: 0 m, level: 0.5 m }\n  bed: { is: outlet, height: 0 "
    "m }\n"
    "cables:\n  - { from: panel, to: conv, area: 2.5 mm2, length: 5 m }\n  - { from: conv, to: "
    "pump, area: 1.5 mm2, length: 5 m }\n"
    "pipes:\n  - { from: drum, to: pump }\n  - { from: pump, to: tee, bore: 13 mm, length: 4 m, "
    "material: hdpe }\n"
    "  - { from: tee, to: coil, bore: 13 mm, length: 4 m, material: hdpe }\n  - { from: tee, to: "
    "drum, bore: 10 mm, length: 4 m, material: hdpe }\n"
    "  - { from: coil, to: drum, bore: 13 mm, length: 4 m, material: hdpe }\n"
    "  - { from: drum, to: valve, bore: 13 mm, length: 4 m, material: hdpe }\n  - { from: valve, "
    "to: bed, bore: 13 mm, length: 4 m, material: hdpe }\n";

static double sum_of_figures(const struct rig *rig)
{
    double sum = 0.0;
    for (size_t i = 0; i < rig->part_count; i++)
        for (size_t a = 0; rig->parts[i].kind && a < rig->parts[i].kind->attribute_count; a++) {
            const struct part_value *value = &rig->parts[i].values[a];
            bool once = rig->parts[i].kind->attributes[a].solved == SOLVED_ONCE;
            for (int c = 0; value->solved && c < (once ? 1 : CONDITION_COUNT); c++)
                sum += isnan(value->solved[c]) ? 7.0 : value->solved[c];
        }
    return sum;
}

static void every_allocation_fails(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench);
    struct rig *rig = bench_solve(&bench, text);
    double right = sum_of_figures(rig);
    allocator.on = true;
    assert_int_equal(solve_rig(rig, &bench.diagnostics), OUTCOME_OK);
    allocator.on = false;
    long made = allocator.made;
    assert_true(made > 10);
    assert_int_equal(allocator.held, 0);
    for (long k = 0; k < 2 * made; k++) {
        allocator.on = true;
        allocator.from_here_on = k >= made;
        allocator.fails_at = k % made;
        allocator.made = allocator.held = 0;
        enum outcome outcome = solve_rig(rig, &bench.diagnostics);
        allocator.on = false;
        if (outcome != OUTCOME_NO_MEMORY &&
            (outcome != OUTCOME_OK || fabs(sum_of_figures(rig) - right) > 1e-9 * fabs(right)))
            fail_msg("allocation %ld of %ld: outcome %d, other figures", k % made, made,
                     (int)outcome);
        if (allocator.held != 0)
            fail_msg("allocation %ld of %ld: %ld blocks kept", k % made, made, allocator.held);
    }
    print_message("%ld allocations\n", made);
    bench_close(&bench);
}
#endif

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(every_allocation_fails)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
