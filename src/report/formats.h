/* formats.h - the reports of `check`, one set of three functions each; report.c
 * holds the table of them. Private to the report layer. */
#ifndef RT_REPORT_FORMATS_H
#define RT_REPORT_FORMATS_H
#include "report/report.h"

void text_begin(struct text *out);
void text_add_rig(struct text *out, const struct report_style *style, const struct report_rig *rig,
                  bool first);
void text_end(struct text *out, const struct report_style *style, const struct report_sum *sum);

void lines_begin(struct text *out);
void lines_add_rig(struct text *out, const struct report_style *style, const struct report_rig *rig,
                   bool first);
void lines_end(struct text *out, const struct report_style *style, const struct report_sum *sum);

void json_begin(struct text *out);
void json_add_rig(struct text *out, const struct report_style *style, const struct report_rig *rig,
                  bool first);
void json_end(struct text *out, const struct report_style *style, const struct report_sum *sum);

void sarif_begin(struct text *out);
void sarif_add_rig(struct text *out, const struct report_style *style, const struct report_rig *rig,
                   bool first);
/* Takes the comma away before the first result of all. */
void sarif_join(struct text *text, const struct report_sum *before);
void sarif_end(struct text *out, const struct report_style *style, const struct report_sum *sum);

void markdown_begin(struct text *out);
void markdown_add_rig(struct text *out, const struct report_style *style,
                      const struct report_rig *rig, bool first);
void markdown_end(struct text *out, const struct report_style *style, const struct report_sum *sum);
#endif
