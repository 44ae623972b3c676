/* read.h - what the files of this layer share while a rig is read. */
#ifndef RT_RIG_READ_H
#define RT_RIG_READ_H
#include "rig/rig.h"

struct reading {
    struct arena *arena;
    struct rig *rig;
    const struct defaults *defaults;
    const struct rig_settings *settings; /* NULL: none */
    struct diagnostics *diagnostics;
    size_t room;         /* of rig->parts */
    struct names *pairs; /* FROM-TO of the runs so far, to their counters */
    struct {
        unsigned *at;
        size_t count, room;
    } counters;
    unsigned searches_left; /* for near names: a hostile file must not make us search for ever */
    bool too_many;          /* RIG_PARTS_MAX was met and told */
    bool left_out;          /* some of `parts:` could not be read, which was told */
};

/* Fills in what the rig file does not give: from the kinds' defaults. */
void defaults_apply(const struct defaults *defaults, struct rig *rig);

/* Finds how all parts stand to each other. NULL when memory runs out; *tangled when there are more
 * than RIG_RELATIONS_MAX pairs (those found so far are kept). */
const struct links *links_new(struct arena *arena, const struct rig *rig, bool *tangled);

/* Reads the attributes of a part from a mapping, leaving out the keys in `skip` (ended by NULL),
 * which the caller reads. False when memory runs out. */
bool read_attributes(struct reading *reading, struct part *part, const struct node *mapping,
                     const char *const *skip);

/* Compiles the needs. False when memory runs out. */
bool read_needs(struct reading *reading, const struct node *list);
bool read_accepts(struct reading *reading, const struct node *list);
#endif
