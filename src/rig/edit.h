/* edit.h - a rig file's tree with one thing changed: another catalogue part, a
 * figure, a part more in a run. Each gives a new tree that shares all it did not
 * change with the old one, which stays as it was; NULL when memory runs out or
 * the tree has no such part. Places stay those of the file. */
#ifndef RT_RIG_EDIT_H
#define RT_RIG_EDIT_H
#include "rig/rig.h"

/* Takes a part from the catalogue in place of what it was. With `as_listed`, and always for a part
 * that was written out by `is:`, the figures given beside it that the entry lists too go. */
struct node *edit_use(struct arena *arena, const struct node *root, const struct part *part,
                      const struct entry *entry, bool as_listed);

/* Gives a figure of a part, in place of the one that was there. */
struct node *edit_give(struct arena *arena, const struct node *root, const struct part *part,
                       const char *attribute, const char *text);

/* Puts one more part, from the catalogue, into a run: the first from its `from` end or the last;
 * `distance` from there ("0.1 m"), NULL: not given. */
struct node *edit_insert(struct arena *arena, const struct node *root, const struct part *run,
                         const struct entry *entry, const char *id, bool last,
                         const char *distance);
#endif
