/* solve.h - works out what every part really sees: builds the circuits of a rig
 * (cables, pipes), finds the operating point in every condition and fills in
 * the solved attributes. */
#ifndef RT_SOLVE_H
#define RT_SOLVE_H
#include "base/outcome.h"
#include "rig/rig.h"

#define TOPIC_SETTLES                                                                              \
    "rig.settles" /* the physics found no answer that conserves charge and water */

/* Where each kind of a store has its solved numbers, for the `fields` of all its rigs; in the
 * arena. NULL: no memory. */
const struct rig_field *solve_fields_new(struct arena *arena, const struct store *store);

/* Fills in the solved attributes of the rig for all conditions. A circuit that can't be solved (no
 * convergence, a figure missing) leaves its attributes NAN; the former is a finding in diagnostics.
 */
enum outcome solve_rig(struct rig *rig, struct diagnostics *diagnostics);

/* The same for what differs from condition to condition alone, for a quick look: what is solved
 * once (the sun at which a pump starts, the time to drain, the day) stays NAN. */
enum outcome solve_conditions(struct rig *rig, struct diagnostics *diagnostics);

/* What a solved attribute waits for besides the conditions; 0: nothing. */
enum { SOLVE_STARTS = 1, SOLVE_DRAINS = 2, SOLVE_DAY = 4 };
unsigned solve_waits_for(const char *attribute);
/* As solve_rig, of a twin (rig_twin), only in these conditions (bits, 1 << condition; what it holds
 * of the others stays) and with the further work named; the figures of the day are left for later
 * as ever. False in *settled: somewhere no voltages and flows agree. */
#define SOLVE_EVERY ((1u << CONDITION_COUNT) - 1)
enum outcome solve_twin(struct rig *twin, unsigned conditions, unsigned further, bool *settled);

/* Works out the figures of the day, which solve_rig leaves until the formula language asks for one
 * (rig_later of rig.h); for whoever reads solved numbers directly. OUTCOME_OK or OUTCOME_NO_MEMORY.
 */
enum outcome solve_later(const struct rig *rig);

/* The physics' own working of a solved value: how it came about, a line each, with numbers and
 * units, in words that a person with a spanner can follow. Appends nothing when there is nothing to
 * say. */
void solve_working(const struct rig *rig, size_t part, int attribute, enum condition condition,
                   struct text *out);

/* Does any figure lack that the physics can ask for: of the circuits, of the day? */
struct solve_lacks {
    bool circuit, day;
};
struct solve_lacks solve_lacks(const struct rig *rig);

/* The given figures (with none assumed) whose lack keeps a solved attribute of a part unknown in
 * every condition: the part's own, and those of the other parts of its circuit. 0: nothing lacks,
 * the attribute has no meaning there (a panel's amps in the dark, the flow of a valve that is
 * shut). At most `room` are given. `lacks` is what solve_lacks() says of the rig: it saves looking
 * through a rig that is complete. */
struct solve_gap {
    size_t part;
    const char *attribute; /* "max_head" */
};
size_t solve_missing(const struct rig *rig, struct solve_lacks lacks, size_t part, int attribute,
                     struct solve_gap *out, size_t room);

/* Once the physics has looked for its values: what is solved in the circuits of each part of which
 * it looked for one that can't be read counts as unread itself, in all circuits when that is the
 * place's; but for what rests on a part's own figures. OUTCOME_OK or OUTCOME_NO_MEMORY. The second
 * is for what is counted of the whole rig after that. */
enum outcome solve_doubt(struct rig *rig);
void solve_doubt_whole(struct rig *rig);

/* Largest relative imbalance at any node of the last solve, over all conditions: for tests and
 * `figures`. */
double solve_imbalance(const struct rig *rig);
#endif
