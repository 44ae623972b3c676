/* diagnostics.h - what is wrong with a file that was read: where, how bad, a
 * sentence. Reading goes on after each. Messages hold raw text from the file:
 * the report escapes it for its sink. Knows nothing of rigs. */
#ifndef RT_DIAGNOSTICS_H
#define RT_DIAGNOSTICS_H
#include <stdbool.h>
#include <stddef.h>

#include "base/arena.h"
#include "base/level.h"
#include "base/place.h"

/* The promise of a readable file that was broken: a finding's rule name. */
#define TOPIC_READS "file.reads"                 /* syntax, encoding, a size or depth limit */
#define TOPIC_WORDS "file.knows-its-words"       /* unknown key, kind, part, entry, word */
#define TOPIC_UNITS "file.gives-units"           /* no unit, wrong unit, not a number */
#define TOPIC_ONCE "file.says-things-once"       /* duplicate key or id */
#define TOPIC_JOINS "file.joins-up"              /* a run that ends nowhere, a loop of cables */
#define TOPIC_FORMULA "file.formulas-make-sense" /* a formula that does not parse or type */

struct diagnostic {
    enum level level;
    const char *topic; /* one of the above */
    struct place at;
    struct place also; /* the other place when two disagree; line 0: none */
    const char *message;
};

struct diagnostics {
    struct arena *arena; /* owns the messages */
    struct diagnostic *at;
    size_t count, room;
    bool out_of_memory; /* a diagnostic could not be kept */
};

/* Adds one; the first form names no second place. */
void diagnostics_add(struct diagnostics *diagnostics, enum level level, const char *topic,
                     struct place at, const char *format, ...)
    __attribute__((format(printf, 5, 6)));
void diagnostics_add_pair(struct diagnostics *diagnostics, enum level level, const char *topic,
                          struct place at, struct place also, const char *format, ...)
    __attribute__((format(printf, 6, 7)));
bool diagnostics_has(const struct diagnostics *diagnostics, enum level level);
/* Sorts by file, line, column, then the order in which they were added. */
void diagnostics_sort(struct diagnostics *diagnostics);
#endif
