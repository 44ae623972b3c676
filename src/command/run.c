/* run.c - read, solve, judge. */
#include "command/run.h"

#include "command/repository.h"
#include "judge/rulebook.h"
#include "solve/solve.h"

enum outcome workshop_open(struct arena *arena, const char *const *folders, size_t folder_count,
                           struct diagnostics *diagnostics, struct workshop *out)
{
    *out = (struct workshop){0};
    store_builtin(&out->store);
    for (size_t i = 0; i < folder_count; i++) {
        enum outcome outcome = store_add_folder(arena, &out->store, folders[i], diagnostics);
        if (outcome != OUTCOME_OK)
            return outcome;
    }
    out->book = rulebook_new(arena, &out->store, diagnostics);
    out->defaults = out->book ? defaults_new(arena, &out->store, diagnostics) : NULL;
    if (out->defaults)
        return OUTCOME_OK;
    return diagnostics->count && !diagnostics->out_of_memory ? OUTCOME_REFUSED : OUTCOME_NO_MEMORY;
}

/* The rest of the way; `rig` is NULL when there is nothing to judge. */
static enum outcome judge(struct arena *arena, const struct workshop *workshop, struct rig *rig,
                          struct diagnostics *diagnostics, const struct judge_options *options,
                          struct report_rig *out)
{
    if (!rig) {
        diagnostics_sort(diagnostics);
        return judge_unreadable(arena, diagnostics, &out->judgement);
    }
    rig->fields = workshop->book->fields;
    enum outcome outcome = solve_rig(rig, diagnostics);
    if (outcome == OUTCOME_NO_MEMORY)
        return outcome;
    out->rig = rig;
    out->name = rig->name ? rig->name : "";
    diagnostics_sort(diagnostics);
    return judge_rig(workshop->book, rig, diagnostics, options, &out->judgement);
}

/* What is wrong with the repository's own file is told of each of its rigs. */
static void add_faults(const struct diagnostics *faults, struct diagnostics *diagnostics)
{
    for (size_t i = 0; faults && i < faults->count; i++) {
        const struct diagnostic *fault = &faults->at[i];
        if (fault->also.line)
            diagnostics_add_pair(diagnostics, fault->level, fault->topic, fault->at, fault->also,
                                 "%s", fault->message);
        else
            diagnostics_add(diagnostics, fault->level, fault->topic, fault->at, "%s",
                            fault->message);
    }
}

enum outcome run_rig_tree(struct arena *arena, const struct workshop *workshop, const char *path,
                          const struct judge_options *options, struct report_rig *out,
                          const struct node **root)
{
    struct diagnostics diagnostics = {.arena = arena};
    struct rig *rig = NULL;
    struct node *tree = NULL;
    *root = NULL;
    *out = (struct report_rig){.file = path, .root = workshop->root_shown, .name = ""};
    if (!repository_path(arena, workshop, path, &out->path))
        return OUTCOME_NO_MEMORY;
    enum outcome outcome =
        document_read_file(arena, path, &document_limits_default, &diagnostics, &tree);
    if (tree)
        outcome = rig_read_tree(arena, &workshop->store, workshop->defaults, workshop->settings,
                                path, tree, &diagnostics, &rig);
    add_faults(workshop->faults, &diagnostics);
    if (outcome == OUTCOME_NO_MEMORY)
        return outcome;
    *root = tree;
    return judge(arena, workshop, outcome == OUTCOME_OK ? rig : NULL, &diagnostics, options, out);
}

enum outcome run_rig(struct arena *arena, const struct workshop *workshop, const char *path,
                     const struct judge_options *options, struct report_rig *out)
{
    const struct node *root;
    return run_rig_tree(arena, workshop, path, options, out, &root);
}

enum outcome run_bytes(struct arena *arena, const struct workshop *workshop, const char *name,
                       const char *bytes, size_t length, const struct judge_options *options,
                       struct report_rig *out)
{
    struct diagnostics diagnostics = {.arena = arena};
    struct rig *rig = NULL;
    *out = (struct report_rig){.file = name, .name = ""};
    enum outcome outcome = rig_read_bytes(arena, &workshop->store, workshop->defaults, name, bytes,
                                          length, &diagnostics, &rig);
    if (outcome == OUTCOME_NO_MEMORY)
        return outcome;
    return judge(arena, workshop, outcome == OUTCOME_OK ? rig : NULL, &diagnostics, options, out);
}
