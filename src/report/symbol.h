/* symbol.h - one trade symbol for every kind of part, after IEC 60617 (electricity) and ISO 14617
 * (water) where those have a plain one (from memory); a box for kinds that others added. Private
 * to the report layer. */
#ifndef RT_REPORT_SYMBOL_H
#define RT_REPORT_SYMBOL_H
#include "base/text.h"
#include "rig/rig.h"

#define SYMBOL_PX 30.0 /* of each side */

/* Draws it about a middle. */
void symbol_draw(struct text *out, const struct part *part, double x, double y);
#endif
