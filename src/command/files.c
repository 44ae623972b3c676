/* files.c - walking folders for rig files. */
#include "command/files.h"

#include <dirent.h>
#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "command/command.h"

#define ENDS ".rig.yaml"

struct walk {
    struct arena *arena;
    struct files *files;
};

static bool is_rig_file(const char *name)
{
    size_t length = strlen(name), end = strlen(ENDS);
    return length > end && strcmp(name + length - end, ENDS) == 0;
}

static enum outcome add_file(struct walk *walk, const char *path, off_t size)
{
    struct files *files = walk->files;
    if (files->count == FILES_MAX) {
        complain("%s is one rig file too many; at most %u are judged in one run.", path, FILES_MAX);
        return OUTCOME_REFUSED;
    }
    files->bytes += size > 0 ? (size_t)size : 0;
    if (files->bytes > FILES_BYTES_MAX) {
        complain(
            "with %s the rig files of this run come to more than %zu MiB; judge fewer at once.",
            path, FILES_BYTES_MAX >> 20);
        return OUTCOME_REFUSED;
    }
    if (!ARENA_GROW(walk->arena, files))
        return OUTCOME_NO_MEMORY;
    files->at[files->count++] = path;
    return OUTCOME_OK;
}

static enum outcome walk_folder(struct walk *walk, const char *folder, unsigned depth);

static enum outcome visit(struct walk *walk, const char *folder, const char *name, unsigned depth)
{
    struct stat status;
    if (name[0] == '.')
        return OUTCOME_OK;
    size_t length = strlen(folder);
    const char *between = length && folder[length - 1] == '/' ? "" : "/";
    const char *path = arena_join(walk->arena, folder, between, name);
    if (!path)
        return OUTCOME_NO_MEMORY;
    if (lstat(path, &status) != 0)
        return OUTCOME_OK; /* gone since it was listed */
    if (S_ISDIR(status.st_mode))
        return walk_folder(walk, path, depth + 1);
    return S_ISREG(status.st_mode) && is_rig_file(name) ? add_file(walk, path, status.st_size)
                                                        : OUTCOME_OK;
}

static enum outcome walk_folder(struct walk *walk, const char *folder, unsigned depth)
{
    if (depth > FOLDER_DEPTH_MAX) {
        complain("%s lies too deep; at most %u folders below each other are entered.", folder,
                 FOLDER_DEPTH_MAX);
        walk->files->trouble = true;
        return OUTCOME_OK;
    }
    errno = 0;
    DIR *stream = opendir(folder);
    if (!stream && errno == ENOMEM)
        return OUTCOME_NO_MEMORY;
    if (!stream) {
        complain("the folder %s can't be read: %s.", folder, strerror(errno));
        walk->files->trouble = true;
        return OUTCOME_OK;
    }
    enum outcome outcome = OUTCOME_OK;
    for (struct dirent *entry; outcome == OUTCOME_OK && (entry = readdir(stream)) != NULL;)
        outcome = visit(walk, folder, entry->d_name, depth);
    closedir(stream);
    return outcome;
}

static int by_bytes(const void *a, const void *b)
{
    return strcmp(*(const char *const *)a, *(const char *const *)b);
}

enum outcome files_add(struct arena *arena, const char *name, struct files *files)
{
    struct walk walk = {arena, files};
    struct stat status;
    size_t before = files->count;
    bool there = stat(name, &status) == 0;
    if (!there || !S_ISDIR(status.st_mode)) /* reading it will tell what is wrong with it */
        return add_file(&walk, name, there && S_ISREG(status.st_mode) ? status.st_size : 0);
    enum outcome outcome = walk_folder(&walk, name, 0);
    if (outcome == OUTCOME_OK && files->count == before && !files->trouble) {
        complain("there is no *%s below the folder %s.", ENDS, name);
        files->trouble = true;
    }
    if (files->count > before)
        qsort(files->at + before, files->count - before, sizeof *files->at, by_bytes);
    return outcome;
}
