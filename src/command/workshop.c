/* workshop.c - opening the workshop, telling what is wrong with it. */
#include "command/workshop.h"

#include <string.h>

#include "base/names.h"

void complain_diagnostics(const struct diagnostics *diagnostics)
{
    struct text text = {0};
    report_diagnostics(&text, diagnostics);
    deliver_error(&text);
    text_drop(&text);
}

struct arena *workshop_arena(const struct options *options, struct workshop *out)
{
    const char *folders[2 * OPTION_FOLDERS_MAX];
    struct arena *arena = arena_new();
    struct diagnostics diagnostics = {.arena = arena};
    size_t count = options->rules_count;
    memcpy(folders, options->rules, count * sizeof *folders);
    memcpy(folders + count, options->catalogues, options->catalogue_count * sizeof *folders);
    count += options->catalogue_count;
    enum outcome outcome =
        arena ? workshop_open(arena, folders, count, &diagnostics, out) : OUTCOME_NO_MEMORY;
    if (outcome == OUTCOME_OK)
        return arena;
    complain_diagnostics(&diagnostics);
    if (outcome == OUTCOME_NO_MEMORY)
        complain_memory();
    else
        complain("what rigs are judged by could not be read, so nothing was judged.");
    arena_drop(arena);
    return NULL;
}

void complain_no_rule(struct arena *arena, const struct store *store, const char *name)
{
    struct near_search near;
    near_begin(&near, name);
    for (size_t i = 0; i < store->rule_count; i++) {
        const char *rule = store->rules[i].name;
        const char *family = arena_copy(arena, rule, strcspn(rule, "."));
        near_offer(&near, rule);
        if (family)
            near_offer(&near, family);
    }
    complain_unknown("promise", name, near_best(&near), "`rigtally rule` lists them all.");
}
