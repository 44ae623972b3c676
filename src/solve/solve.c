/* solve.c - all conditions of a rig, one after the other, each starting from where the last one
 * settled. */
#include "solve/solve.h"

#include <math.h>

#include "solve/circuit.h"
#include "solve/condition.h"
#include "solve/electric.h"
#include "solve/later.h"
#include "solve/layout.h"
#include "solve/threshold.h"
#include "solve/water.h"
#include "solve/whole.h"

static void say_unsettled(const struct rig *rig, struct diagnostics *diagnostics, const char *where)
{
    struct place at = {rig->file, 1, 1};
    diagnostics_add(
        diagnostics, LEVEL_CAUTION, TOPIC_SETTLES, at,
        "%s: no voltages and flows were found that agree everywhere; the figures there are "
        "not to be relied on.",
        where);
}

/* Order: each condition after one whose flows are near its own. */
static const enum condition order[] = {
    CONDITION_BRIGHT_NOON, CONDITION_CLOUD_EDGE, CONDITION_DEAD_END,  CONDITION_WEAK_SUN,
    CONDITION_DARK,        CONDITION_COLD_DAWN,  CONDITION_STANDSTILL};

static enum outcome solve_all(struct rig *rig, bool conditions_alone,
                              struct diagnostics *diagnostics, struct arena *scratch,
                              struct circuit *circuit)
{
    enum outcome outcome = circuit_build(rig, diagnostics, scratch, circuit);
    if (outcome != OUTCOME_OK)
        return outcome;
    double *fastest = ARENA_TAKE(scratch, circuit->pumps.count + 1, double);
    if (!fastest)
        return OUTCOME_NO_MEMORY;
    for (size_t i = 0; i < circuit->pumps.count; i++)
        fastest[i] = 1.0;
    for (size_t i = 0; i < sizeof order / sizeof *order && !circuit->no_memory; i++) {
        circuit->unsettled = false;
        condition_solve(circuit, order[i], fastest);
        if (circuit->unsettled)
            say_unsettled(rig, diagnostics, condition_name(order[i]));
    }
    circuit->unsettled = false;
    if (!conditions_alone) {
        threshold_solve(circuit);
        electric_report_once(circuit, fastest);
        water_report_drains(circuit);
        layout_report(circuit);
    }
    if (circuit->unsettled)
        say_unsettled(rig, diagnostics, "starting and stopping");
    rig->solve_imbalance = circuit->imbalance;
    return circuit->no_memory ? OUTCOME_NO_MEMORY : OUTCOME_OK;
}

static enum outcome solve(struct rig *rig, bool conditions_alone, struct diagnostics *diagnostics)
{
    struct arena *scratch = arena_new();
    if (!scratch)
        return OUTCOME_NO_MEMORY;
    struct circuit circuit = {0};
    enum outcome outcome = solve_all(rig, conditions_alone, diagnostics, scratch, &circuit);
    circuit_drop(&circuit);
    arena_drop(scratch);
    return outcome;
}

enum outcome solve_rig(struct rig *rig, struct diagnostics *diagnostics)
{
    enum outcome outcome = solve(rig, false, diagnostics);
    if (outcome == OUTCOME_OK)
        outcome = whole_report(rig);
    return outcome == OUTCOME_OK ? later_prepare(rig, diagnostics) : outcome;
}

enum outcome solve_conditions(struct rig *rig, struct diagnostics *diagnostics)
{
    return solve(rig, true, diagnostics);
}

double solve_imbalance(const struct rig *rig)
{
    return rig->solve_imbalance;
}
