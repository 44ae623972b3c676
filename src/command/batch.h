/* batch.h - judging many rig files, perhaps several at a time, with one report in
 * the order of the files. The bytes are the same for any number of threads. */
#ifndef RT_BATCH_H
#define RT_BATCH_H
#include "command/baseline.h"
#include "command/command.h"
#include "command/files.h"
#include "command/run.h"

struct batch {
    const struct workshop *const *workshops; /* of each file */
    const struct files *files;
    struct judge_options judging;
    enum report_format format;
    struct report_style style;
    unsigned jobs;
    const struct baseline *since; /* what is known and left out; NULL: nothing */
    struct text *record;          /* gets a baseline's lines; NULL: none is wanted */
};

/* Judges all files and writes their reports, each as soon as those before it are written. False:
 * memory ran out or the report could not be delivered, which was told. */
bool batch_run(const struct batch *batch, struct report_sum *sum);
#endif
