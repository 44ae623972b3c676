/* solve.c - all conditions of a rig, one after the other, each starting from where the last one
 * settled. */
#include "solve/solve.h"

#include <math.h>
#include <string.h>

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
    if (rig->unread)
        return; /* it may be for want of what can't be read */
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

/* What is to be solved: conditions as bits, what is the same in all of them, and what that needs
 * besides (SOLVE_STARTS and so on). */
struct solve_job {
    unsigned conditions;
    bool once;
    unsigned further;
};

static bool is_asked(const struct solve_job *job, enum condition condition)
{
    return job->conditions >> (unsigned)condition & 1u;
}

/* The highest speed of a pump in the conditions that are not solved anew; at least 1. */
static double fastest_before(const struct rig *rig, size_t pump, const struct solve_job *job)
{
    double fastest = 1.0;
    for (int c = 0; c < CONDITION_COUNT; c++)
        if (!is_asked(job, (enum condition)c))
            fastest =
                fmax(fastest, part_solved(&rig->parts[pump], "speed_ratio", (enum condition)c));
    return fastest;
}

/* What is the same in all conditions. */
static void solve_once(struct circuit *circuit, unsigned further, const double *fastest)
{
    if (further & (SOLVE_STARTS | SOLVE_DAY))
        threshold_solve(circuit);
    electric_report_once(circuit, fastest);
    if (further & SOLVE_DRAINS)
        water_report_drains(circuit);
    layout_report(circuit);
}

static enum outcome solve_all(struct rig *rig, const struct solve_job *job,
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
        fastest[i] = fastest_before(rig, circuit->pumps.at[i].part, job);
    for (size_t i = 0; i < sizeof order / sizeof *order && !circuit->no_memory; i++) {
        if (!is_asked(job, order[i]))
            continue;
        circuit->unsettled = false;
        condition_solve(circuit, order[i], fastest);
        if (circuit->unsettled)
            say_unsettled(rig, diagnostics, condition_name(order[i]));
    }
    circuit->unsettled = false;
    if (job->once)
        solve_once(circuit, job->further, fastest);
    if (circuit->unsettled)
        say_unsettled(rig, diagnostics, "starting and stopping");
    rig->solve_imbalance = circuit->imbalance;
    return circuit->no_memory ? OUTCOME_NO_MEMORY : OUTCOME_OK;
}

static enum outcome solve(struct rig *rig, const struct solve_job *job,
                          struct diagnostics *diagnostics)
{
    struct arena *scratch = arena_new();
    if (!scratch)
        return OUTCOME_NO_MEMORY;
    struct circuit circuit = {0};
    enum outcome outcome = solve_all(rig, job, diagnostics, scratch, &circuit);
    circuit_drop(&circuit);
    arena_drop(scratch);
    return outcome;
}

/* The day and the list look for values too. */
static enum outcome solve_in_doubt(struct rig *rig)
{
    rig_work_later(rig);
    enum outcome outcome = solve_doubt(rig);
    if (outcome == OUTCOME_OK)
        outcome = whole_report(rig);
    if (outcome == OUTCOME_OK)
        solve_doubt_whole(rig);
    return outcome;
}

enum outcome solve_rig(struct rig *rig, struct diagnostics *diagnostics)
{
    static const struct solve_job all = {SOLVE_EVERY, true, SOLVE_STARTS | SOLVE_DRAINS};
    enum outcome outcome = solve(rig, &all, diagnostics);
    if (outcome == OUTCOME_OK)
        outcome = later_prepare(rig, diagnostics);
    if (outcome == OUTCOME_OK && rig->unread)
        return solve_in_doubt(rig);
    return outcome == OUTCOME_OK ? whole_report(rig) : outcome;
}

enum outcome solve_conditions(struct rig *rig, struct diagnostics *diagnostics)
{
    static const struct solve_job conditions = {.conditions = SOLVE_EVERY};
    enum outcome outcome = solve(rig, &conditions, diagnostics);
    return outcome == OUTCOME_OK ? solve_doubt(rig) : outcome;
}

unsigned solve_waits_for(const char *attribute)
{
    static const char *const starts[] = {"start_sun", "stop_sun", "flow_sun"};
    for (size_t i = 0; i < sizeof starts / sizeof *starts; i++)
        if (strcmp(attribute, starts[i]) == 0)
            return SOLVE_STARTS;
    if (strcmp(attribute, "drain_time") == 0)
        return SOLVE_DRAINS;
    return later_names(attribute) ? SOLVE_DAY : 0;
}

enum outcome solve_twin(struct rig *twin, unsigned conditions, unsigned further, bool *settled)
{
    const struct solve_job job = {conditions, true, further};
    struct diagnostics diagnostics = {.arena = twin->arena};
    enum outcome outcome = solve(twin, &job, &diagnostics);
    if (outcome == OUTCOME_OK)
        outcome = later_prepare(twin, &diagnostics);
    *settled = outcome == OUTCOME_OK && diagnostics.count == 0;
    return outcome == OUTCOME_REFUSED ? OUTCOME_OK : outcome;
}

double solve_imbalance(const struct rig *rig)
{
    return rig->solve_imbalance;
}
