/* figures.h - what the two forms of `figures` share. Private to the report layer. */
#ifndef RT_REPORT_FIGURES_H
#define RT_REPORT_FIGURES_H
#include "report/report.h"

/* Has the attribute a meaning in this condition; in any? False for what is not solved for each. */
bool figures_is_in(const struct part *part, size_t index, enum condition condition);
bool figures_is_somewhere(const struct part *part, size_t index);

void figures_text_begin(struct text *out, const struct report_style *style, const struct rig *rig);
void figures_text_part(struct text *out, const struct report_style *style, const struct rig *rig,
                       size_t index);
void figures_json_begin(struct text *out, const struct rig *rig);
void figures_json_part(struct text *out, const struct rig *rig, size_t index);
void figures_json_end(struct text *out);
#endif
