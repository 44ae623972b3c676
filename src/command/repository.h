/* repository.h - the folder that a rig file belongs to, and its `rigtally.yaml`.
 *
 * The root is the nearest folder, from the rig file's own upwards, that holds a
 * `rigtally.yaml`; none is looked for above a folder that holds .git, .hg or .svn,
 * which is the root then. The file is read only when it is a plain file and belongs
 * to whoever runs the tool, to the owner of the rig file's folder, or to root, so
 * that nobody else's file in a shared folder changes what is judged. Its `rules:`
 * and `catalogue:` name folders that stay inside the root. */
#ifndef RT_REPOSITORY_H
#define RT_REPOSITORY_H
#include "command/files.h"
#include "command/run.h"

struct repositories {
    const struct workshop **of_file; /* by the file's number */
    const struct workshop **all;     /* each once; the base first */
    size_t count;
};

/* By what each of the files is judged: the base, with what its repository adds. Mistakes in a
 * repository's file are kept in the workshop's faults. Everything lives in `arena`; false when
 * memory runs out. */
bool repositories_find(struct arena *arena, const struct workshop *base, const char *const *files,
                       size_t count, struct repositories *out);

/* The path of a file below its workshop's root, or its last part when it is not below it or there
 * is no root. False when memory runs out. */
bool repository_path(struct arena *arena, const struct workshop *workshop, const char *file,
                     const char **out);

/* Opens a folder below another and never leaves it, also not over a link; -1 with errno (EXDEV: it
 * would leave it). */
int open_beneath(const char *root, const char *folder);
/* The same where the kernel can't do it (Linux before 5.6): no link at all is followed, no `..`. */
int walk_beneath(int root, const char *folder);
#endif
