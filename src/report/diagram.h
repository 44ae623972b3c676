/* diagram.h - the circuits of a rig as a drawing: every part with its trade symbol, cables and
 * pipes between them, and what they do at bright-noon. One <svg> for an HTML page, black on white,
 * at most 180 mm wide and 240 mm high; no ids, no styles, no scripts, so that several can stand on
 * a page. The places come from Graphviz (layered drawing, dot); shapes and words are ours. */
#ifndef RT_REPORT_DIAGRAM_H
#define RT_REPORT_DIAGRAM_H
#include "base/text.h"
#include "rig/rig.h"

/* More parts than that, runs not counted, can't be read on a page. */
#define DIAGRAM_PARTS_MAX 150

/* Appends the drawing of a solved rig, or, of one that can't be drawn (no part, too many, the
 * library is not there), a <p class="left-out"> that says so. The same bytes each time. False when
 * memory ran out; `out` then has failed. */
bool diagram_draw(const struct rig *rig, struct text *out);
#endif
