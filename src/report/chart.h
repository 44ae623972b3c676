/* chart.h - curves of a solved rig, drawn with axes in the practitioner's units: what its panels
 * give, what its pumps do against the pipes, its day. Each is one <svg> for an HTML page, black on
 * white, 116 mm wide, told apart by dashes and words; no ids, no styles, no scripts.
 *
 * Each function appends nothing when there is nothing to show (another kind of part, a figure
 * missing, a rig whose day is past its limit): compare out->length. The same bytes each
 * time. False when memory ran out; `out` then has failed. */
#ifndef RT_REPORT_CHART_H
#define RT_REPORT_CHART_H
#include "base/text.h"
#include "rig/rig.h"

/* A panel's current and power by its voltage in four suns, and where it works as the sun rises,
 * with bright-noon and weak-sun marked. */
bool chart_panel(const struct rig *rig, size_t part, struct text *out);

/* A pump's head by its flow at rated voltage, bright-noon and weak-sun, what the pipes ask, and
 * where both meet. */
bool chart_pump(const struct rig *rig, size_t part, struct text *out);

/* The rig's day over its hours: sun, flow of its pumps, warmth of its tanks, charge of its
 * batteries; those that it has. */
bool chart_day(const struct rig *rig, struct text *out);
#endif
