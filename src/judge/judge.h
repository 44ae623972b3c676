/* judge.h - rules x pairings -> findings. A promise is one rule applied to one
 * pairing of a solved rig; a finding is a promise that did not hold, or can't be
 * decided. Knows rigs and what was solved; prints nothing. */
#ifndef RT_JUDGE_H
#define RT_JUDGE_H
#include "base/diagnostics.h"
#include "base/outcome.h"
#include "rig/rig.h"
#include "store/store.h"

/* The rules of a store, their formulas compiled. Lives in the arena given. */
struct rulebook;
/* NULL when a formula does not compile (the diagnostics say which and where) or memory runs out.
 * The rules that are known to compile (store->sound_rule_count) may still be compiled later on. */
const struct rulebook *rulebook_new(struct arena *arena, const struct store *store,
                                    struct diagnostics *diagnostics);

/* One figure that a finding rests on. */
struct finding_value {
    const char *name; /* "pump.flow", or "f1.rating": the part's id and its attribute */
    struct value value;
    enum origin origin;
    const char *because; /* of an assumption */
};

/* A figure of a label on which a promise hangs: it holds by `value` and fails by `then`. */
struct finding_doubt {
    const char *name;                    /* "pump.max_head": the part's id and its attribute, */
    const char *part, *attribute, *unit; /* which also stand alone, with the unit to print in, */
    const char *customary; /* and the one in its place in US customary units (NULL: as a rule) */
    struct value value, then;
    enum origin origin;
    const char *because; /* why the real thing may be so far off */
};

struct finding {
    const char *rule;        /* its name; of a mistake in the file: the topic */
    const struct rule *from; /* NULL: a mistake in the file */
    enum level level;
    bool has_condition;
    enum condition condition;
    const char *parts[2]; /* ids; the pairing */
    size_t part_count;
    struct place at, also;
    const char *message;
    bool has_margin;
    double margin;
    const char *working; /* lines, each ended by \n; "" when there is none */
    const struct finding_value *values;
    size_t value_count;
    const char *mend; /* NULL: none */
    /* Of a promise that holds by the labels alone: level CAUTION, `margin` and `working` as it
     * holds. */
    bool is_thin;
    bool has_margin_then;
    double margin_then; /* with the figures in doubt as they may be; negative */
    const struct finding_doubt *doubts;
    size_t doubt_count;         /* 0: it takes many figures together */
    const char *const *missing; /* "pump.max_head": what a question asks for */
    size_t missing_count;
    const struct accept *accepted; /* NULL: not accepted by the rig's owner */
    const char *subject; /* what it is about besides the parts: a need's formula; NULL: nothing */
    const char *fingerprint; /* the same for the same finding wherever it stands in the file */
};

struct judgement {
    size_t promises; /* those that hold, and the errors, cautions, questions and accepted findings;
                        reminders apart */
    size_t hold;
    size_t by_level[LEVEL_COUNT]; /* not counting accepted ones */
    size_t accepted;
    size_t known;  /* of those promises: in the baseline, and so left out of all the rest */
    size_t unread; /* promises apart, that were not judged: they need what is written but can't be
                      read */
    const struct finding *findings; /* in file order, the worst first at one place */
    size_t finding_count;
};

/* The family of the steps of putting a rig together: no promises, only reminders in the order of
 * their rules, told only where `only` names them. */
#define JUDGE_STEPS "assembly"

struct judge_options {
    const char *only;   /* a rule's name or family ("fuse"); NULL: all but the steps */
    bool one_condition; /* judge only under `condition` */
    enum condition condition;
    const char *today;    /* YYYY-MM-DD, for accepted findings that end; NULL: nothing ends */
    bool trusting;        /* labels are taken at their word: no thin margins are looked for */
    bool without_working; /* `working` and `values` of the findings stay empty: nobody reads them */
};

/* Judges a solved rig; the mistakes found while reading and solving it become findings too.
 * Everything lives in the rig's arena. */
enum outcome judge_rig(const struct rulebook *book, const struct rig *rig,
                       const struct diagnostics *diagnostics, const struct judge_options *options,
                       struct judgement *out);
/* The same when there is no rig, only mistakes in its file. */
enum outcome judge_unreadable(struct arena *arena, const struct diagnostics *diagnostics,
                              struct judgement *out);

/* Leaves out the findings for which is_known() is true, and counts them as known. False when memory
 * runs out. */
bool judgement_leave_out(struct arena *arena, struct judgement *judgement,
                         bool (*is_known)(const void *data, const struct finding *finding),
                         const void *data);

/* Runs the proofs of a rule, handing each to `each`: what came out ("holds", "error", ...) against
 * what was expected. Gives the number that did not come out as expected; *ran gets how many were
 * run. */
struct proof_result {
    const struct rule *rule;
    const struct rule_proof *proof;
    const char *got;     /* what came out, in the words of `expect` */
    const char *problem; /* what is wrong with the proof itself: a name or value that can't be read;
                            NULL: nothing */
    bool as_expected;
    bool has_margin;
    double margin;
};
enum outcome judge_prove(struct arena *arena, const struct rulebook *book, const struct rule *rule,
                         void (*each)(void *data, const struct proof_result *result), void *data,
                         size_t *ran, size_t *wrong);
/* What a rule's proofs leave out, as words ("a proof at its limit"), or NULL: it has a holding
 * proof, a failing one for each of its levels and one exactly at its limit. */
const char *judge_proofs_lack(const struct rulebook *book, const struct rule *rule);

/* Was anything in the file itself told as an error, beside what rules find? */
bool judgement_has_mistakes(const struct judgement *judgement);
#endif
