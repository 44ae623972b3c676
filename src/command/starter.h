/* starter.h - rig files to begin with, built in from docs/starters. */
#ifndef RT_STARTER_H
#define RT_STARTER_H
#include <stddef.h>

struct starter {
    const char *name; /* "fountain" */
    const char *text; /* the whole file; its first line is a comment that says what it is */
};
extern const struct starter starters[]; /* in byte order of their names */
extern const size_t starter_count;
#endif
