/* files.h - which rig files are meant by the names on the command line. */
#ifndef RT_FILES_H
#define RT_FILES_H
#include "base/arena.h"
#include "base/outcome.h"

#define FILES_MAX 10000u
#define FILES_BYTES_MAX ((size_t)256 << 20)
#define FOLDER_DEPTH_MAX 32u

struct files {
    const char **at;
    size_t count, room;
    size_t bytes;
    bool trouble; /* a complaint was made; what is in the list can still be judged */
};

/* Adds a file as it is named, or every *.rig.yaml below a folder in byte order of the paths. Names
 * that begin with a point are passed over, and so are links: what they lead to inside the folder is
 * found by its own name, and what lies outside is not meant. REFUSED: a limit was met, and told. */
enum outcome files_add(struct arena *arena, const char *name, struct files *files);
#endif
