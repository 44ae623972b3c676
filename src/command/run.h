/* run.h - the whole way of one rig file, from bytes to findings, and what all
 * rigs are judged by. Prints nothing. */
#ifndef RT_RUN_H
#define RT_RUN_H
#include "report/report.h"

/* What is made once and used for every rig; nothing in it changes afterwards, so that threads can
 * share it. */
struct workshop {
    struct store store;
    const struct rulebook *book;
    const struct defaults *defaults;
    /* Of a repository (see repository.h); NULL: none, or nothing to tell. */
    const struct rig_settings *settings;
    const struct diagnostics *faults; /* what is wrong with it, told with each of its rigs */
    const char *root;                 /* its folder, absolute and without links */
    const char *root_shown;           /* the same as it is shown to people */
};

/* What was built in, with what lies below these folders added. Lives in `arena`. REFUSED: the
 * diagnostics say why. */
enum outcome workshop_open(struct arena *arena, const char *const *folders, size_t folder_count,
                           struct diagnostics *diagnostics, struct workshop *out);

/* Puts the rules of all these workshops into the style, for reports that list them; of two of one
 * name one is taken. Lives in `arena`; false when memory runs out. */
bool rules_of_run(struct arena *arena, const struct workshop *const *workshops, size_t count,
                  struct report_style *style);

/* Reads, solves and judges one file. Everything in *out lives in `arena`; `path` is shown as it is
 * and must outlive it. A file that can't be read as a rig is OUTCOME_OK too: out->rig is NULL and
 * the judgement says why. */
enum outcome run_rig(struct arena *arena, const struct workshop *workshop, const char *path,
                     const struct judge_options *options, struct report_rig *out);
/* The same, with the file's tree, for who wants to change it (rig/edit.h); NULL when there is none.
 */
enum outcome run_rig_tree(struct arena *arena, const struct workshop *workshop, const char *path,
                          const struct judge_options *options, struct report_rig *out,
                          const struct node **root);
/* The same of bytes, shown as `name`. */
enum outcome run_bytes(struct arena *arena, const struct workshop *workshop, const char *name,
                       const char *bytes, size_t length, const struct judge_options *options,
                       struct report_rig *out);
#endif
