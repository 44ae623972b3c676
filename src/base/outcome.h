/* outcome.h - how a step that can fail ends. An allocation that fails is an
 * outcome, handed up like the rest. */
#ifndef RT_OUTCOME_H
#define RT_OUTCOME_H

enum outcome {
    OUTCOME_OK,
    OUTCOME_REFUSED,   /* the input can't be used; the diagnostics say why */
    OUTCOME_NO_MEMORY, /* an allocation failed */
};
#endif
