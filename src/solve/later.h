/* later.h - figures of a rig that are dear and seldom asked for: its day. They are worked out when
 * the first of them is asked for (rig_later of rig.h), and keep their working as text. */
#ifndef RT_LATER_H
#define RT_LATER_H
#include "base/text.h"
#include "solve/day.h"

/* Coils, tanks, sources and devices of a rig whose day is reckoned: what a step costs rises with
 * the square of their number. */
#define LATER_PARTS_MAX 300

/* Makes the rig ready to be asked; one with too many parts for that is told of in diagnostics, and
 * the figures of its day stay unknown. OUTCOME_OK or OUTCOME_NO_MEMORY. */
enum outcome later_prepare(struct rig *rig, struct diagnostics *diagnostics);

/* Is an attribute of a part a figure of the day? The highest temperature of a tank that no coil
 * warms is not one: its water is as warm as the site's. */
bool later_covers(const struct rig *rig, size_t part, const char *attribute);

/* Has any figure of the day this name? */
bool later_names(const char *attribute);

/* Keeps the working of a figure: lines, each ended by \n, in the rig's arena (NULL: it could not be
 * had there, which is noted). */
void later_note(struct rig *rig, size_t part, const char *attribute, const char *lines);

/* Appends what was kept of a figure. */
void later_working(const struct rig *rig, size_t part, const char *attribute, struct text *out);

/* Writes the figures of a day that was run, and their working. */
enum outcome day_report(struct day *day);
#endif
