/* rulebook.h - a store's rules, compiled: shared by judging and proving. What was
 * built in compiled when the tool was built, and a rig meets a part of it: each of
 * these is compiled when it is first wanted, by whichever thread wants it. */
#ifndef RT_RULEBOOK_H
#define RT_RULEBOOK_H
#include "judge/judge.h"

#define RULE_ROLES_MAX 4

/* What a rule has to say. */
enum rule_words { WORDS_REMIND, WORDS_SAYS, WORDS_CAUTION_SAYS, WORDS_MEND, WORDS_COUNT };

struct compiled_rule {
    const struct rulebook *book;
    const struct rule *rule;
    /* The pairing's one or two (one of the same name twice: the second is `other`), then `site` and
     * `rig`. */
    struct formula_role roles[RULE_ROLES_MAX];
    size_t pair_count; /* roles of the pairing */
    size_t role_count; /* all of them */
    const bool
        *takes[2]; /* by kind's place in the store: may it stand in this role of the pairing */
    const char *relation; /* of a pairing of two */
    bool every;           /* judged under every condition */
    bool one;             /* or under one: */
    enum condition condition;
    bool reminder;
    /* There after rulebook_ready(): */
    const struct formula *when, *error, *caution; /* NULL: none */
    const struct formula *const *lets;
    const char *const *let_names;
    bool doubtful;      /* its error looks at figures that are solved, or may be off their label */
    unsigned waits_for; /* what these are solved with besides the conditions (solve_waits_for) */
};

struct rulebook {
    const struct store *store;
    const struct compiled_rule *rules; /* in the store's order */
    size_t rule_count;
    struct later_rules *later;      /* rulebook.c's own */
    const struct rig_field *fields; /* solve_fields_new of the store */
};

/* Compiles a rule's formulas, unless they are. False: memory ran out. */
bool rulebook_ready(const struct compiled_rule *rule);
/* A template of a rule that is ready, compiled; *out NULL: it has none. False: memory ran out. */
bool rulebook_words(const struct compiled_rule *rule, enum rule_words words,
                    const struct formula_words **out);

#define PROMISE_NEAR 0.5 /* of the limit */

/* As bits: the conditions that a formula looked at when it was evaluated under one of them; all,
 * when it looked at more than was kept. */
unsigned promise_looked_at(const struct formula_uses *uses, enum condition condition);

/* How one promise came out, over the conditions in which it has to be kept. */
struct promise {
    bool asked;       /* its `when` held in some condition */
    bool missing;     /* something given is missing, and nothing failed */
    enum level level; /* of a promise that failed: ERROR, CAUTION, REMINDER */
    bool failed;
    enum condition condition; /* the worst one: the smallest margin */
    bool has_margin;
    double margin;
    unsigned near; /* as bits: conditions that its error looks at with PROMISE_NEAR to spare or
                      less, or with a margin that can't be told */
    const struct formula *formula; /* what failed, or what could not be decided; else NULL */
    struct formula_uses uses;      /* of that formula, in that condition */
};

#define ALL_CONDITIONS (~0u) /* as bits */
static inline unsigned judge_conditions(const struct judge_options *options)
{
    return options->one_condition ? 1u << (unsigned)options->condition : ALL_CONDITIONS;
}

/* Judges one promise under those of its conditions that are among `conditions`, as bits (one that
 * is asked under none whichever these are). `means` tells whether an unknown value counts as
 * missing (true) or as without meaning in that condition (false: the condition is then not asked).
 */
void promise_judge(const struct compiled_rule *rule, const struct formula_world *world,
                   const size_t *parts, unsigned conditions,
                   bool (*means)(const void *data, const struct formula_use *use), const void *data,
                   struct promise *out);
#endif
