/* promise.c - how one promise comes out, over the conditions in which it has to
 * be kept: what fails counts before what is unknown, an error before a caution,
 * and of several failures the one with the smallest margin. */
#include <math.h>
#include <string.h>

#include "judge/rulebook.h"

struct judging {
    const struct compiled_rule *rule;
    const struct formula_world *world;
    const size_t *parts;
    bool (*means)(const void *data, const struct formula_use *use);
    const void *data;
    struct formula_memory *memory; /* NULL: the rule has no let values */
    bool applies;                  /* its `when` holds in every condition */
    bool cautioned;                /* its caution is judged for every condition */
};

/* Does it wait for a figure? Not where a solved value has no meaning: the promise is not asked in
 * that condition, whatever else lacks. */
static bool something_missing(const struct judging *judging, const struct formula_uses *uses)
{
    bool missing = false;
    for (size_t i = 0; i < uses->count; i++) {
        if (!uses->at[i].unknown)
            continue;
        if (!judging->means(judging->data, &uses->at[i]))
            return false;
        missing = true;
    }
    return missing;
}

/* Is this failure worse than what was found so far? */
static bool is_worse(const struct promise *promise, enum level level,
                     const struct formula_result *result)
{
    if (!promise->failed || level != promise->level)
        return !promise->failed || level < promise->level;
    return result->has_margin && (!promise->has_margin || result->margin < promise->margin);
}

static void keep(struct promise *promise, const struct formula *formula, enum condition condition,
                 const struct formula_result *result, const struct formula_uses *uses)
{
    promise->condition = condition;
    promise->formula = formula;
    promise->has_margin = result->has_margin;
    promise->margin = result->margin;
    promise->uses.count = uses->count;
    memcpy(promise->uses.at, uses->at, uses->count * sizeof *uses->at);
}

static void note_unknown(const struct judging *judging, struct promise *promise,
                         const struct formula *formula, enum condition condition,
                         const struct formula_result *result, const struct formula_uses *uses)
{
    if (!something_missing(judging, uses))
        return;
    promise->asked = true;
    if (promise->failed || promise->missing)
        return;
    promise->missing = true;
    keep(promise, formula, condition, result, uses);
}

unsigned promise_looked_at(const struct formula_uses *uses, enum condition condition)
{
    unsigned at = 1u << (unsigned)condition;
    if (uses->count == sizeof uses->at / sizeof *uses->at)
        return ~0u;
    for (size_t i = 0; i < uses->count; i++)
        at |= 1u << (unsigned)uses->at[i].condition;
    return at;
}

static void judge_formula(const struct judging *judging, struct promise *promise,
                          const struct formula *formula, enum level level, enum condition condition)
{
    struct formula_uses uses;
    struct formula_result result = formula_evaluate_again(formula, judging->world, judging->parts,
                                                          condition, &uses, judging->memory);
    if (result.truth == TRUTH_UNKNOWN) {
        note_unknown(judging, promise, formula, condition, &result, &uses);
        return;
    }
    promise->asked = true;
    if (level == LEVEL_ERROR && (!result.has_margin || result.margin <= PROMISE_NEAR))
        promise->near |= promise_looked_at(&uses, condition);
    if (result.truth == TRUTH_NO && is_worse(promise, level, &result)) {
        promise->failed = true;
        promise->missing = false;
        promise->level = level;
        keep(promise, formula, condition, &result, &uses);
    } else if (!promise->failed && !promise->missing && result.has_margin &&
               (!promise->has_margin || result.margin < promise->margin)) {
        promise->condition = condition;
        promise->has_margin = true;
        promise->margin = result.margin;
    }
}

static enum truth applies(const struct judging *judging, struct promise *promise,
                          enum condition condition)
{
    if (!judging->rule->when)
        return TRUTH_YES;
    struct formula_uses uses;
    struct formula_result result = formula_evaluate_again(
        judging->rule->when, judging->world, judging->parts, condition, &uses, judging->memory);
    if (result.truth == TRUTH_UNKNOWN)
        note_unknown(judging, promise, judging->rule->when, condition, &result, &uses);
    return result.truth;
}

/* Judges under one condition; what does not vary, under the first. False when it would come out the
 * same under every other. */
static bool judge_condition(struct judging *judging, struct promise *promise,
                            enum condition condition)
{
    const struct compiled_rule *rule = judging->rule;
    bool varies = rule->when && formula_varies(rule->when);
    if (!judging->applies && applies(judging, promise, condition) != TRUTH_YES)
        return varies;
    judging->applies = !varies;
    if (rule->reminder) {
        promise->asked = promise->failed = true;
        promise->level = LEVEL_REMINDER;
        promise->condition = condition;
        return varies;
    }
    if (rule->error)
        judge_formula(judging, promise, rule->error, LEVEL_ERROR, condition);
    if (rule->caution && !judging->cautioned)
        judge_formula(judging, promise, rule->caution, LEVEL_CAUTION, condition);
    judging->cautioned = rule->caution && !formula_varies(rule->caution);
    return varies || (rule->error && formula_varies(rule->error)) ||
           (rule->caution && formula_varies(rule->caution));
}

void promise_judge(const struct compiled_rule *rule, const struct formula_world *world,
                   const size_t *parts, unsigned conditions,
                   bool (*means)(const void *data, const struct formula_use *use), const void *data,
                   struct promise *out)
{
    struct formula_memory memory;
    memory.count = memory.use_count = 0;
    bool several = rule->every && (conditions & (conditions - 1)) != 0;
    struct judging judging = {.memory = several ? &memory : NULL,
                              .rule = rule,
                              .world = world,
                              .parts = parts,
                              .means = means,
                              .data = data};
    out->asked = out->missing = out->failed = out->has_margin = false;
    out->level = LEVEL_ERROR;
    out->condition = CONDITION_BRIGHT_NOON;
    out->margin = 0.0;
    out->near = 0;
    out->formula = NULL;
    out->uses.count = 0;
    if (!rule->every) {
        if (!rule->one || conditions >> rule->condition & 1u)
            judge_condition(&judging, out, rule->one ? rule->condition : CONDITION_BRIGHT_NOON);
        return;
    }
    bool goes_on = true;
    for (unsigned c = 0; c < CONDITION_COUNT && goes_on; c++)
        if (conditions >> c & 1u)
            goes_on = judge_condition(&judging, out, (enum condition)c);
}
