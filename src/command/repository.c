/* repository.c - finding the roots of rig files, once for each folder. */
#include "command/repository.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/names.h"

struct found { /* a root */
    struct workshop workshop;
    struct rig_settings settings;
    struct diagnostics faults;
};

struct search {
    struct arena *arena;
    const struct workshop *base;
    struct names *folders, *roots; /* absolute paths, and folders as given, to numbers in `found` */
    struct {
        struct found **at;
        size_t count, room;
    } found;
    struct found *loose; /* of files that have no root of their own; NULL: none yet */
};

/* ---- paths ---- */

/* "a/b.yaml": "a"; "b.yaml": "." */
static const char *folder_of(struct arena *arena, const char *path)
{
    const char *slash = strrchr(path, '/');
    if (!slash)
        return arena_string(arena, ".");
    return arena_copy(arena, path, slash == path ? 1 : (size_t)(slash - path));
}

/* Absolute, without links. NULL: there is no such folder, or memory ran out (*no_memory). */
static const char *real_folder(struct arena *arena, const char *folder, bool *no_memory)
{
    errno = 0;
    char *real = realpath(folder, NULL);
    *no_memory = !real && errno == ENOMEM;
    const char *kept = real ? arena_string(arena, real) : NULL;
    *no_memory = *no_memory || (real && !kept);
    free(real);
    return kept;
}

/* Cuts the last part off; false at "/". */
static bool go_up(char *path)
{
    char *slash = strrchr(path, '/');
    if (!slash || !path[1])
        return false;
    slash[slash == path ? 1 : 0] = '\0';
    return true;
}

static bool holds(struct arena *arena, const char *folder, const char *name, struct stat *status,
                  bool *no_memory)
{
    const char *path = arena_print(arena, "%s/%s", folder, name);
    *no_memory = *no_memory || !path;
    return path && lstat(path, status) == 0;
}

static bool same_folder(const char *a, const char *b)
{
    struct stat of_a, of_b;
    return stat(a, &of_a) == 0 && stat(b, &of_b) == 0 && of_a.st_dev == of_b.st_dev &&
           of_a.st_ino == of_b.st_ino;
}

/* "a/b" up one is "a"; "." is ".."; ".." is "../..". */
static const char *shown_up(struct arena *arena, const char *shown)
{
    const char *slash = strrchr(shown, '/'), *last = slash ? slash + 1 : shown;
    if (strcmp(shown, ".") == 0)
        return arena_string(arena, "..");
    if (strcmp(last, "..") == 0 || strcmp(last, ".") == 0)
        return arena_print(arena, "%s/..", shown);
    if (!slash)
        return arena_string(arena, ".");
    return arena_copy(arena, shown, slash == shown ? 1 : (size_t)(slash - shown));
}

/* How a root is shown: as a way from the folder as it was named. */
static const char *shown_root(struct arena *arena, const char *folder, size_t levels,
                              const char *root)
{
    const char *shown = folder, *climb = folder;
    for (size_t i = 0; shown && climb && i < levels; i++) {
        shown = shown_up(arena, shown);
        climb = arena_print(arena, "%s/..", climb);
    }
    return shown && same_folder(shown, root) ? shown : climb; /* else there is a link in it */
}

/* ---- a root and its file ---- */

static void refuse(struct diagnostics *faults, struct place at, const char *folder, int number)
{
    const char *why = number == EXDEV || number == ELOOP
                          ? "leads out of the folder of rigtally.yaml; name one below it"
                      : number == ENOENT  ? "is not there"
                      : number == ENOTDIR ? "is no folder"
                                          : "can't be opened";
    diagnostics_add(faults, LEVEL_ERROR, TOPIC_READS, at, "the folder '%s' %s.", folder, why);
}

/* Adds the files below these folders to the store; what is wrong goes to the faults. */
static enum outcome add_folders(struct arena *arena, struct found *found,
                                const struct rig_folders *folders)
{
    for (size_t i = 0; i < folders->count; i++) {
        const char *name = folders->at[i]->text;
        int folder = open_beneath(found->workshop.root, name);
        if (folder < 0) {
            refuse(&found->faults, folders->at[i]->at, name, errno);
            continue;
        }
        close(folder);
        const char *path = strcmp(found->workshop.root_shown, ".") == 0
                               ? name
                               : arena_print(arena, "%s/%s", found->workshop.root_shown, name);
        if (!path || store_add_folder(arena, &found->workshop.store, path, &found->faults) ==
                         OUTCOME_NO_MEMORY)
            return OUTCOME_NO_MEMORY;
    }
    return OUTCOME_OK;
}

/* When the repository's own rules can't be used, its rigs are judged by the base. */
static enum outcome compile(struct arena *arena, const struct workshop *base, struct found *found)
{
    struct workshop *workshop = &found->workshop;
    size_t before = found->faults.count;
    workshop->book = rulebook_new(arena, &workshop->store, &found->faults);
    workshop->defaults =
        workshop->book ? defaults_new(arena, &workshop->store, &found->faults) : NULL;
    if (workshop->defaults)
        return OUTCOME_OK;
    workshop->store = base->store;
    workshop->book = base->book;
    workshop->defaults = base->defaults;
    return found->faults.count > before && !found->faults.out_of_memory ? OUTCOME_OK
                                                                        : OUTCOME_NO_MEMORY;
}

static bool is_trusted(const struct stat *file, const char *folder)
{
    struct stat status;
    return file->st_uid == 0 || file->st_uid == geteuid() ||
           (stat(folder, &status) == 0 && status.st_uid == file->st_uid);
}

static enum outcome read_settings(struct search *search, struct found *found,
                                  const struct stat *file, const char *folder)
{
    struct workshop *workshop = &found->workshop;
    const char *shown =
        strcmp(workshop->root_shown, ".") == 0
            ? RIG_SETTINGS_FILE
            : arena_print(search->arena, "%s/%s", workshop->root_shown, RIG_SETTINGS_FILE);
    if (!shown)
        return OUTCOME_NO_MEMORY;
    workshop->faults = &found->faults;
    const struct place at = {.file = shown};
    if (!S_ISREG(file->st_mode) || !is_trusted(file, folder)) {
        diagnostics_add(&found->faults, LEVEL_CAUTION, TOPIC_READS, at,
                        S_ISREG(file->st_mode)
                            ? "this file belongs to somebody else, so it was not read."
                            : "this is no plain file, so it was not read.");
        return found->faults.out_of_memory ? OUTCOME_NO_MEMORY : OUTCOME_OK;
    }
    enum outcome outcome =
        rig_settings_read(search->arena, shown, &found->faults, &found->settings);
    if (outcome != OUTCOME_OK)
        return outcome == OUTCOME_REFUSED ? OUTCOME_OK : outcome;
    workshop->settings = &found->settings;
    if (found->settings.rules.count + found->settings.catalogue.count == 0)
        return OUTCOME_OK;
    /* Kinds that rules add may be used by entries, and rules may name neither's words alone. */
    outcome = add_folders(search->arena, found, &found->settings.rules);
    if (outcome == OUTCOME_OK)
        outcome = add_folders(search->arena, found, &found->settings.catalogue);
    return outcome == OUTCOME_OK ? compile(search->arena, search->base, found) : outcome;
}

static struct found *new_found(struct search *search)
{
    struct found *found = ARENA_TAKE(search->arena, 1, struct found);
    if (!found || !ARENA_GROW(search->arena, &search->found))
        return NULL;
    found->workshop = *search->base;
    found->faults.arena = search->arena;
    search->found.at[search->found.count++] = found;
    return found;
}

/* ---- finding it ---- */

/* The root at or above `folder`, and whether it has a file. False: none, or no memory. */
static bool find_root(struct search *search, const char *folder, const char **root, size_t *levels,
                      struct stat *file, bool *has_file, bool *no_memory)
{
    static const char *const marks[] = {".git", ".hg", ".svn"};
    char *at = arena_copy(search->arena, folder, strlen(folder));
    bool marked = false, more = at != NULL;
    *no_memory = !at;
    for (*levels = 0; more && !*no_memory; (*levels)++) {
        struct stat status;
        *has_file = holds(search->arena, at, RIG_SETTINGS_FILE, file, no_memory);
        for (size_t i = 0; i < sizeof marks / sizeof *marks; i++)
            marked = holds(search->arena, at, marks[i], &status, no_memory) || marked;
        if (*has_file || marked) {
            *root = at;
            return !*no_memory;
        }
        more = go_up(at);
    }
    return false;
}

static struct found *find_in(struct search *search, const char *shown, const char *folder,
                             bool *no_memory)
{
    const char *root = NULL;
    size_t levels = 0, number;
    struct stat file;
    bool has_file = false;
    if (!find_root(search, folder, &root, &levels, &file, &has_file, no_memory))
        return *no_memory ? NULL : search->loose;
    *no_memory = true;
    if (!names_add(search->roots, search->arena, root, search->found.count, &number))
        return NULL;
    if (number < search->found.count) {
        *no_memory = false;
        return search->found.at[number];
    }
    struct found *found = new_found(search);
    if (!found)
        return NULL;
    found->workshop.root = root;
    found->workshop.root_shown = shown_root(search->arena, shown, levels, root);
    if (!found->workshop.root_shown ||
        (has_file && read_settings(search, found, &file, folder) != OUTCOME_OK))
        return NULL;
    *no_memory = false;
    return found;
}

/* Loose files have the folder that holds them all as their root. */
static bool widen_loose(struct search *search, const char *folder)
{
    struct workshop *workshop = &search->loose->workshop;
    if (!workshop->root) {
        workshop->root = folder;
        return true;
    }
    size_t same = 0, cut = 0;
    const char *root = workshop->root;
    while (root[same] && root[same] == folder[same]) {
        same++;
        if (folder[same] == '/' || root[same] == '/' || !root[same] || !folder[same])
            cut = (!root[same] || root[same] == '/') && (!folder[same] || folder[same] == '/')
                      ? same
                      : cut;
    }
    workshop->root = arena_copy(search->arena, root, cut ? cut : 1);
    return workshop->root != NULL;
}

/* `shown`: as the file's folder was given. */
static const struct workshop *of_folder(struct search *search, const char *shown, bool *no_memory)
{
    size_t number;
    const char *folder = real_folder(search->arena, shown, no_memory);
    if (!folder)
        return search->base; /* reading the file will tell what is wrong */
    if (names_find(search->folders, folder, &number)) {
        if (!names_add(search->folders, search->arena, shown, number, NULL))
            *no_memory = true;
        return &search->found.at[number]->workshop;
    }
    struct found *found = find_in(search, shown, folder, no_memory);
    if (!found)
        return NULL;
    if (found == search->loose && !widen_loose(search, folder))
        *no_memory = true;
    for (number = 0; search->found.at[number] != found; number++)
        ;
    if (!names_add(search->folders, search->arena, folder, number, NULL))
        *no_memory = true;
    return &found->workshop;
}

/* The files of a folder come one after the other. */
static const struct workshop *of_file(struct search *search, const char *path, bool *no_memory)
{
    size_t number;
    const char *shown = folder_of(search->arena, path);
    *no_memory = *no_memory || !shown;
    if (!shown)
        return search->base;
    if (names_find(search->folders, shown, &number))
        return &search->found.at[number]->workshop;
    return of_folder(search, shown, no_memory);
}

bool repositories_find(struct arena *arena, const struct workshop *base, const char *const *files,
                       size_t count, struct repositories *out)
{
    struct search search = {
        .arena = arena, .base = base, .folders = names_new(arena), .roots = names_new(arena)};
    bool no_memory = false;
    *out = (struct repositories){.of_file = ARENA_TAKE(arena, count + 1, const struct workshop *)};
    if (!search.folders || !search.roots || !out->of_file || !(search.loose = new_found(&search)))
        return false;
    for (size_t i = 0; i < count && !no_memory; i++)
        out->of_file[i] = of_file(&search, files[i], &no_memory);
    out->all =
        no_memory ? NULL : ARENA_TAKE(arena, search.found.count + 1, const struct workshop *);
    if (!out->all)
        return false;
    out->all[out->count++] = base;
    for (size_t i = 0; i < search.found.count; i++)
        out->all[out->count++] = &search.found.at[i]->workshop;
    return true;
}

bool repository_path(struct arena *arena, const struct workshop *workshop, const char *file,
                     const char **out)
{
    bool no_memory = false;
    const char *slash = strrchr(file, '/'), *name = slash ? slash + 1 : file;
    const char *shown = folder_of(arena, file);
    const char *folder = shown && workshop->root ? real_folder(arena, shown, &no_memory) : NULL;
    size_t length = workshop->root ? strlen(workshop->root) : 0;
    *out = name;
    if (!shown || no_memory)
        return false;
    if (!folder || strncmp(folder, workshop->root, length) != 0)
        return true;
    const char *below = folder + length;
    if (*below && length > 1 && *below != '/')
        return true;
    below += *below == '/';
    *out = *below ? arena_print(arena, "%s/%s", below, name) : name;
    return *out != NULL;
}
