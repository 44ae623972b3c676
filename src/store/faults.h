/* faults.h - telling what is wrong, up to a number: a file of 4 MiB could hold a
 * million faults. Private to the store. */
#ifndef RT_FAULTS_H
#define RT_FAULTS_H
#include "base/diagnostics.h"

#define MOST_FAULTS 1000 /* told of one file's shape, and then of what the files of a set say */

struct faults {
    struct diagnostics *diagnostics;
    size_t count, most;
};

/* Counts one; false when it is past the number that is told. The first that is says so. */
bool faults_count(struct faults *faults, struct place at);
/* True when nothing more is told, and reading on is of no use. */
bool faults_full(const struct faults *faults);

#define FAULT(faults, topic, at, ...)                                                              \
    (faults_count((faults), (at))                                                                  \
         ? diagnostics_add((faults)->diagnostics, LEVEL_ERROR, (topic), (at), __VA_ARGS__)         \
         : (void)0)
#endif
