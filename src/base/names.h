/* names.h - a table from names to numbers, and the nearest name to a misspelt
 * one. Knows nothing of what the numbers mean. */
#ifndef RT_NAMES_H
#define RT_NAMES_H
#include <stdbool.h>
#include <stddef.h>
#include <string.h>

#include "base/arena.h"

/* Equal? Most names differ in their first letter. */
static inline bool name_same(const char *a, const char *b)
{
    return a[0] == b[0] && strcmp(a, b) == 0;
}

struct names; /* lives in an arena; the strings are not copied */

struct names *names_new(struct arena *arena);
/* False when memory runs out. A name that is there already keeps its number;
 * *was (may be NULL) gets the number that now stands for it. */
bool names_add(struct names *names, struct arena *arena, const char *name, size_t number,
               size_t *was);
bool names_find(const struct names *names, const char *name, size_t *number);

/* The candidate nearest to `name`, or NULL when none is near: at most a third of
 * its letters wrong (a swap of neighbours counts as one, a capital as its small
 * letter), ties to the first offered. A name of more than 64 letters has none. */
struct near_search {
    const char *name;
    const char *best;
    unsigned best_distance;
};
void near_begin(struct near_search *search, const char *name);
void near_offer(struct near_search *search, const char *candidate);
const char *near_best(const struct near_search *search);
#endif
