/* rigs.h - what the tests of whole rigs share: a rig from text, solved, and its figures. */
#ifndef RT_RIGS_H
#define RT_RIGS_H
#include "check.h"

#include "rig/rig.h"
#include "solve/solve.h"

struct bench {
    struct arena *arena;
    struct store store;
    const struct defaults *defaults;
    struct diagnostics diagnostics;
};

static inline void bench_open(struct bench *bench)
{
    *bench = (struct bench){.arena = arena_new()};
    assert_non_null(bench->arena);
    bench->diagnostics.arena = bench->arena;
    store_builtin(&bench->store);
    bench->defaults = defaults_new(bench->arena, &bench->store, &bench->diagnostics);
    assert_non_null(bench->defaults);
}

static inline void bench_close(struct bench *bench)
{
    arena_drop(bench->arena);
}

/* Reads and solves; what is wrong with the text fails the test. */
static inline struct rig *bench_solve(struct bench *bench, const char *text)
{
    struct rig *rig = NULL;
    bench->diagnostics.count = 0;
    enum outcome outcome =
        rig_read_bytes(bench->arena, &bench->store, bench->defaults, "test.rig.yaml", text,
                       strlen(text), &bench->diagnostics, &rig);
    if (outcome != OUTCOME_OK || !rig || bench->diagnostics.count > 0)
        fail_msg("%s\n%s", bench->diagnostics.count ? bench->diagnostics.at[0].message : "refused",
                 text);
    assert_int_equal(solve_rig(rig, &bench->diagnostics), OUTCOME_OK);
    return rig;
}

static inline struct part *part_of(const struct rig *rig, const char *id)
{
    size_t part = rig_find_part(rig, id);
    if (part == NO_PART)
        fail_msg("no part %s", id);
    return &rig->parts[part];
}

/* "pump.flow" in a condition; of what is solved once, the condition does not matter. */
static inline double figure(const struct rig *rig, const char *what, enum condition condition)
{
    char id[64];
    const char *dot = strrchr(what, '.');
    snprintf(id, sizeof id, "%.*s", (int)(dot - what), what);
    const struct part *part = part_of(rig, id);
    const struct part_value *value = part_value(part, dot + 1);
    if (!value || !value->solved)
        fail_msg("%s is not solved", what);
    bool once = part->kind->attributes[value - part->values].solved == SOLVED_ONCE;
    return value->solved[once ? 0 : condition];
}
#endif
