/* thin.h - promises that hold by the labels, and would fail if the real things lay
 * where their kinds say that they may. */
#ifndef RT_THIN_H
#define RT_THIN_H
#include "judge/rulebook.h"

#define TOPIC_MARGINS "rig.margins"
#define NEED_NEAR 1.0         /* of a need's limit; one of 0 always leaves just this */
#define THIN_FIGURES_MOST 300 /* in doubt, of one rig */

/* A promise that holds: a rule on a pairing, or a need. */
struct thin_asked {
    const struct compiled_rule *rule; /* NULL: a need */
    const struct need *need;
    size_t parts[RULE_ROLES_MAX]; /* of a rule's roles */
    unsigned near; /* as bits: the conditions in which it may fail; see struct promise */
    bool has_margin;
    double margin; /* the least over its conditions */
};

/* One of them that hangs on its figures. */
struct thin_promise {
    const struct thin_asked *asked;
    enum condition condition; /* in which it would fail worst */
    const char *says, *mend;  /* the rule's own words then; mend NULL: none */
    bool has_margin;
    double margin; /* then */
    /* The figures that are enough, together, to make it fail; none: they were not looked for one
     * by one, and all of the rig's were off. */
    const struct finding_doubt *doubts;
    size_t doubt_count;
    bool weaker; /* the labels were taken at the end at which the rig gives less */
};

struct thin_promises {
    struct thin_promise *at;
    size_t count, room;
    size_t too_many; /* figures in doubt, when that was too many to look; else 0 */
};

/* Can this rule's promise fail by a figure that may be off? */
bool thin_concerns(const struct compiled_rule *rule);

/* Solves the rig again with its figures in doubt at their weaker end, and at their stronger, and
 * finds the promises that then fail as errors, each with the figures on which it hangs. In the
 * rig's arena, in the order of `asked`. OUTCOME_OK or OUTCOME_NO_MEMORY. */
enum outcome thin_find(const struct rig *rig, const struct judge_options *options,
                       const struct thin_asked *asked, size_t count, struct thin_promises *out);

/* Why a need is not met, as a sentence. */
void thin_need_words(const struct rig *rig, const struct need *need,
                     const struct formula_result *result, const struct formula_uses *uses,
                     struct text *out);
#endif
