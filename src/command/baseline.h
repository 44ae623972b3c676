/* baseline.h - findings that are known already, in a file of lines, so that only
 * new ones are judged:
 *
 *   rigtally baseline 1
 *   FINGERPRINT LEVEL RULE PATH
 *
 * RULE is there for readers; PATH is below the repository's root, as a URI. A
 * finding is known when its fingerprint and path are listed with its level or a
 * worse one. A file that can't be read as a whole is always new. */
#ifndef RT_BASELINE_H
#define RT_BASELINE_H
#include "report/report.h"

struct baseline; /* lives in an arena; never changed once read, so that threads can share it */

#define BASELINE_HEAD "rigtally baseline 1\n"
/* A line for each finding of the rig that is not accepted. */
void baseline_add(struct text *out, const struct report_rig *rig);

/* REFUSED: the diagnostics say why. */
enum outcome baseline_read(struct arena *arena, const char *path, struct diagnostics *diagnostics,
                           struct baseline **out);
enum outcome baseline_read_bytes(struct arena *arena, const char *name, const char *bytes,
                                 size_t length, struct diagnostics *diagnostics,
                                 struct baseline **out);
/* Leaves out of the rig's findings what is known. False when memory runs out. */
bool baseline_leave_out(struct arena *arena, const struct baseline *baseline,
                        struct report_rig *rig);
#endif
