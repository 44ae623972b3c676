/* whole.h - the figures of the rig as a whole: what its list comes to. */
#ifndef RT_WHOLE_H
#define RT_WHOLE_H
#include "solve/solve.h"

/* Fills in the solved attributes of the part `rig` from buying_list (rig/buying.h), which it leaves
 * in rig->buying. OUTCOME_OK or OUTCOME_NO_MEMORY. */
enum outcome whole_report(struct rig *rig);

/* The working of one of them: which parts it is made of. */
void whole_working(const struct rig *rig, const char *attribute, struct text *out);

/* Calls `lacks` for each figure whose lack keeps one of them unknown: lengths and sizes of runs,
 * prices. */
void whole_missing(const struct rig *rig, const char *attribute,
                   void (*lacks)(void *data, size_t part, const char *attribute), void *data);
#endif
