/* add.c - a set of files becomes part of a store, all of it or nothing. First
 * every file is read and its shape checked; then libcyaml fills the records;
 * then the readers go over all files, kinds before what uses them. */
#include <stdlib.h>
#include <string.h>

#include "store/folder.h"
#include "store/reader.h"
#include "store/shape.h"

#define MOST_BYTES ((size_t)256 << 20) /* of one set */

struct input {
    const char *name;
    const char *bytes;
    size_t length;
};

/* Reads the tree and checks its shape; REFUSED when anything is wrong with it. */
static enum outcome accept(struct reader *reader, const struct input *input,
                           struct source_file *file)
{
    struct diagnostics *diagnostics = reader->diagnostics;
    struct node *root = NULL;
    size_t before = diagnostics->count;
    enum outcome outcome = document_read(reader->arena, input->name, input->bytes, input->length,
                                         &document_limits_default, diagnostics, &root);
    if (outcome != OUTCOME_OK)
        return outcome;
    bool fault = !shape_check(reader->arena, root, diagnostics);
    for (size_t i = before; i < diagnostics->count; i++)
        fault |= diagnostics->at[i].level == LEVEL_ERROR;
    file->root = root;
    return fault ? OUTCOME_REFUSED : OUTCOME_OK;
}

static enum outcome accept_all(struct reader *reader, const struct input *inputs, size_t count,
                               struct source_file *files)
{
    enum outcome worst = OUTCOME_OK;
    for (size_t i = 0; i < count; i++) {
        enum outcome outcome = accept(reader, &inputs[i], &files[i]);
        if (outcome == OUTCOME_NO_MEMORY)
            return outcome;
        if (outcome == OUTCOME_REFUSED)
            worst = outcome;
    }
    return worst;
}

static enum outcome load_all(struct reader *reader, const struct input *inputs, size_t count,
                             struct source_file *files)
{
    for (size_t i = 0; i < count; i++) {
        const char *why = "";
        enum outcome outcome =
            records_load(inputs[i].bytes, inputs[i].length, &files[i].records, &why);
        if (outcome == OUTCOME_REFUSED)
            COMPLAIN(reader, TOPIC_READS, files[i].root->at, "libcyaml cannot take this file: %s.",
                     why);
        if (outcome != OUTCOME_OK)
            return outcome;
    }
    return OUTCOME_OK;
}

static enum outcome read_all(struct reader *reader, const struct source_file *files, size_t count)
{
    static void (*const steps[])(struct reader *, const struct source_file *) = {
        read_common, read_kinds, read_entries, read_rules};
    reader->common_names = names_new(reader->arena);
    reader->kind_names = names_new(reader->arena);
    reader->entry_names = names_new(reader->arena);
    reader->rule_names = names_new(reader->arena);
    if (!reader->common_names || !reader->kind_names || !reader->entry_names || !reader->rule_names)
        return OUTCOME_NO_MEMORY;
    for (size_t step = 0; step < sizeof steps / sizeof *steps; step++)
        for (size_t i = 0; i < count && !reader_is_done(reader); i++)
            steps[step](reader, &files[i]);
    if (reader->no_memory || reader->diagnostics->out_of_memory)
        return OUTCOME_NO_MEMORY;
    return reader->faults.count > 0 ? OUTCOME_REFUSED : OUTCOME_OK;
}

/* Old items with new ones after them. */
static const void *join(struct arena *arena, const void *old, size_t old_count, const void *added,
                        size_t added_count, size_t size)
{
    char *all = arena_take(arena, old_count + added_count + 1, size);
    if (!all)
        return NULL;
    if (old_count)
        memcpy(all, old, old_count * size);
    if (added_count)
        memcpy(all + old_count * size, added, added_count * size);
    return all;
}

struct ordered {
    const char *name;
    unsigned index;
};

static int by_name(const void *a, const void *b)
{
    return strcmp(((const struct ordered *)a)->name, ((const struct ordered *)b)->name);
}

/* The indices of items in byte order of the names that they begin with. */
static const unsigned *order(struct arena *arena, const void *items, size_t count, size_t size)
{
    struct ordered *sorted = ARENA_TAKE(arena, count + 1, struct ordered);
    unsigned *out = ARENA_TAKE(arena, count + 1, unsigned);
    if (!sorted || !out)
        return NULL;
    for (size_t i = 0; i < count; i++) {
        const void *item = (const char *)items + i * size;
        sorted[i] = (struct ordered){*(const char *const *)item, (unsigned)i};
    }
    qsort(sorted, count, sizeof *sorted, by_name);
    for (size_t i = 0; i < count; i++)
        out[i] = sorted[i].index;
    return out;
}

#define JOIN(reader, list, old, old_count)                                                         \
    join((reader)->arena, (old), (old_count), (reader)->list.at, (reader)->list.count,             \
         sizeof *(reader)->list.at)

static enum outcome commit(struct reader *reader, struct store *store)
{
    struct store next = *store;
    struct arena *arena = reader->arena;
    if (reader->common.count > 0) {
        next.common = reader->common.at;
        next.common_count = reader->common.count;
    }
    next.kinds = JOIN(reader, kinds, store->kinds, store->kind_count);
    next.entries = JOIN(reader, entries, store->entries, store->entry_count);
    next.rules = JOIN(reader, rules, store->rules, store->rule_count);
    if (!next.kinds || !next.entries || !next.rules)
        return OUTCOME_NO_MEMORY;
    next.kind_count += reader->kinds.count;
    next.entry_count += reader->entries.count;
    next.rule_count += reader->rules.count;
    if (reader->kinds.count > 0)
        next.sound_rule_count = 0;
    next.kind_order = order(arena, next.kinds, next.kind_count, sizeof *next.kinds);
    next.entry_order = order(arena, next.entries, next.entry_count, sizeof *next.entries);
    next.rule_order = order(arena, next.rules, next.rule_count, sizeof *next.rules);
    if (!next.kind_order || !next.entry_order || !next.rule_order)
        return OUTCOME_NO_MEMORY;
    *store = next;
    return OUTCOME_OK;
}

static enum outcome add_files(struct reader *reader, struct store *store,
                              const struct input *inputs, size_t count, struct source_file *files)
{
    enum outcome outcome = accept_all(reader, inputs, count, files);
    if (outcome == OUTCOME_OK)
        outcome = load_all(reader, inputs, count, files);
    if (outcome == OUTCOME_OK)
        outcome = read_all(reader, files, count);
    if (outcome == OUTCOME_OK)
        outcome = commit(reader, store);
    for (size_t i = 0; i < count; i++)
        records_drop(files[i].records);
    return reader->diagnostics->out_of_memory ? OUTCOME_NO_MEMORY : outcome;
}

static enum outcome add_set(struct arena *arena, struct store *store, const struct input *inputs,
                            size_t count, struct diagnostics *diagnostics)
{
    struct reader reader = {.arena = arena,
                            .diagnostics = diagnostics,
                            .old = store,
                            .faults = {.diagnostics = diagnostics, .most = MOST_FAULTS}};
    struct source_file *files = ARENA_TAKE(arena, count + 1, struct source_file);
    return files ? add_files(&reader, store, inputs, count, files) : OUTCOME_NO_MEMORY;
}

enum outcome store_add_bytes(struct arena *arena, struct store *store, const char *name,
                             const char *bytes, size_t length, struct diagnostics *diagnostics)
{
    return add_set(arena, store, &(struct input){name, bytes, length}, 1, diagnostics);
}

/* The bytes of the files, each malloc'ed; what was read before a failure is in `inputs` too. */
static enum outcome load_bytes(struct arena *arena, const char *const *paths, size_t count,
                               struct diagnostics *diagnostics, struct input *inputs)
{
    enum outcome worst = OUTCOME_OK;
    size_t total = 0;
    for (size_t i = 0; i < count; i++) {
        char *bytes = NULL;
        inputs[i].name = paths[i];
        enum outcome outcome = document_bytes(arena, paths[i], &document_limits_default,
                                              diagnostics, &bytes, &inputs[i].length);
        inputs[i].bytes = bytes;
        total += inputs[i].length;
        if (outcome == OUTCOME_NO_MEMORY)
            return outcome;
        if (outcome == OUTCOME_REFUSED)
            worst = outcome;
        if (total > MOST_BYTES) {
            diagnostics_add(diagnostics, LEVEL_ERROR, TOPIC_READS, (struct place){.file = paths[i]},
                            "with this file there is more to read than 256 MiB.");
            return OUTCOME_REFUSED;
        }
    }
    return worst;
}

static enum outcome add_paths(struct arena *arena, struct store *store, const char *const *paths,
                              size_t count, struct diagnostics *diagnostics)
{
    struct input *inputs = ARENA_TAKE(arena, count + 1, struct input);
    if (!inputs)
        return OUTCOME_NO_MEMORY;
    enum outcome outcome = load_bytes(arena, paths, count, diagnostics, inputs);
    if (outcome == OUTCOME_OK)
        outcome = add_set(arena, store, inputs, count, diagnostics);
    for (size_t i = 0; i < count; i++)
        free((char *)inputs[i].bytes);
    return diagnostics->out_of_memory ? OUTCOME_NO_MEMORY : outcome;
}

enum outcome store_add_file(struct arena *arena, struct store *store, const char *path,
                            struct diagnostics *diagnostics)
{
    return add_paths(arena, store, &path, 1, diagnostics);
}

enum outcome store_add_folder(struct arena *arena, struct store *store, const char *folder,
                              struct diagnostics *diagnostics)
{
    struct folder_files files;
    enum outcome outcome = folder_list(arena, folder, diagnostics, &files);
    if (outcome != OUTCOME_OK)
        return diagnostics->out_of_memory ? OUTCOME_NO_MEMORY : outcome;
    return add_paths(arena, store, files.at, files.count, diagnostics);
}
