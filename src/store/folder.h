/* folder.h - the YAML files below a folder. Private to the store. */
#ifndef RT_FOLDER_H
#define RT_FOLDER_H
#include "base/arena.h"
#include "base/diagnostics.h"
#include "base/outcome.h"

#define FOLDER_MOST_FILES 10000
#define FOLDER_MOST_DEPTH 32

struct folder_files {
    const char **at; /* paths that begin with the folder's, in byte order */
    size_t count, room;
};

/* Every *.yaml below; names that begin with a point, and links, are passed over. A folder that
 * can't be read, and a limit that is passed, go to diagnostics: REFUSED. */
enum outcome folder_list(struct arena *arena, const char *folder, struct diagnostics *diagnostics,
                         struct folder_files *out);
#endif
