/* value_read.h - a node of a YAML tree as a value of an attribute's type. The one
 * reader of values: of rig files, catalogue entries and proofs alike. */
#ifndef RT_VALUE_READ_H
#define RT_VALUE_READ_H
#include "store/store.h"

/* Reads a value of the attribute's type. Quantities are in SI; of an attribute with `also_unit`
 * they keep the dimension that was written (the caller divides). A temperature difference written
 * in degC or degF comes out in K. The strings of *out live in arena. REFUSED: diagnostics got one
 * error for each thing wrong, with its place, and out->type is VALUE_NONE. */
enum outcome value_read(struct arena *arena, const struct node *node,
                        const struct attribute *attribute, struct diagnostics *diagnostics,
                        struct value *out);
/* The same from YAML flow text, as a catalogue entry keeps it ("12 V", "[always, timed]"); every
 * complaint is placed at `at`. */
enum outcome value_read_text(struct arena *arena, const char *text, struct place at,
                             const struct attribute *attribute, struct diagnostics *diagnostics,
                             struct value *out);

/* A node as one line of YAML flow text that reads back as the same tree; NULL when memory runs out.
 */
const char *node_flow_text(struct arena *arena, const struct node *node);
/* True when a scalar's text reads back as itself without quotes, wherever in a line of flow text it
 * stands. */
bool flow_text_is_plain(const char *text);
#endif
