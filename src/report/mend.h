/* mend.h - how mends are told. */
#ifndef RT_REPORT_MEND_H
#define RT_REPORT_MEND_H
#include "judge/mend.h"
#include "report/report.h"

/* Appended to `out`; memory that runs out shows in out->failed. */
void report_mends(struct text *out, const struct report_style *style, const struct report_rig *rig,
                  const struct mends *mends);
void report_mends_json(struct text *out, const struct report_rig *rig, const struct mends *mends);
#endif
