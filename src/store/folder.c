/* folder.c - walking a folder. */
#include "store/folder.h"

#include <dirent.h>
#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

struct walk {
    struct arena *arena;
    struct diagnostics *diagnostics;
    struct folder_files *files;
};

static enum outcome refuse(struct walk *walk, const char *path, const char *sentence)
{
    diagnostics_add(walk->diagnostics, LEVEL_ERROR, TOPIC_READS, (struct place){.file = path}, "%s",
                    sentence);
    return OUTCOME_REFUSED;
}

static bool is_yaml(const char *name)
{
    size_t length = strlen(name);
    return length > strlen(".yaml") && strcmp(name + length - strlen(".yaml"), ".yaml") == 0;
}

static enum outcome add_file(struct walk *walk, const char *path)
{
    struct folder_files *files = walk->files;
    if (files->count == FOLDER_MOST_FILES)
        return refuse(walk, path, "this is one file too many; at most 10000 are read at once.");
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
    const char *path = arena_print(walk->arena, "%s/%s", folder, name);
    if (!path)
        return OUTCOME_NO_MEMORY;
    if (lstat(path, &status) != 0)
        return OUTCOME_OK; /* gone since it was listed */
    if (S_ISDIR(status.st_mode))
        return walk_folder(walk, path, depth + 1);
    return S_ISREG(status.st_mode) && is_yaml(name) ? add_file(walk, path) : OUTCOME_OK;
}

static enum outcome walk_folder(struct walk *walk, const char *folder, unsigned depth)
{
    if (depth > FOLDER_MOST_DEPTH)
        return refuse(walk, folder, "this folder lies too deep; at most 32 folders are entered.");
    DIR *stream = opendir(folder);
    if (!stream && errno == ENOMEM)
        return OUTCOME_NO_MEMORY;
    if (!stream)
        return refuse(walk, folder, "this folder can't be read.");
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

enum outcome folder_list(struct arena *arena, const char *folder, struct diagnostics *diagnostics,
                         struct folder_files *out)
{
    struct walk walk = {.arena = arena, .diagnostics = diagnostics, .files = out};
    *out = (struct folder_files){0};
    const char *start = arena_string(arena, folder);
    if (!start)
        return OUTCOME_NO_MEMORY;
    enum outcome outcome = walk_folder(&walk, start, 0);
    if (out->count > 0)
        qsort(out->at, out->count, sizeof *out->at, by_bytes);
    return outcome;
}
