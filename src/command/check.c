/* check.c - rigtally check: judges rigs. */
#include <string.h>

#include "command/batch.h"
#include "command/output.h"
#include "command/repository.h"
#include "command/workshop.h"

/* Is it a rule, a family of rules, or a mistake in the file? */
static bool is_promise(const struct store *store, const char *only)
{
    size_t length = strlen(only);
    if (store_rule(store, only))
        return true;
    for (size_t i = 0; i < store->rule_count; i++)
        if (strncmp(store->rules[i].name, only, length) == 0 && store->rules[i].name[length] == '.')
            return true;
    return false;
}

static bool only_is_known(struct arena *arena, const struct repositories *repositories,
                          const char *only)
{
    for (size_t i = 0; i < repositories->count; i++)
        if (!only || is_promise(&repositories->all[i]->store, only))
            return true;
    complain_no_rule(arena, &repositories->all[0]->store, only);
    return false;
}

static enum outcome list_files(struct arena *arena, const struct options *options,
                               struct files *files)
{
    enum outcome outcome = OUTCOME_OK;
    if (options->operand_count == 0)
        return files_add(arena, ".", files);
    for (size_t i = 0; outcome == OUTCOME_OK && i < options->operand_count; i++)
        outcome = files_add(arena, options->operands[i], files);
    return outcome;
}

static enum ending ending_of(const struct report_sum *sum, enum level fail_at)
{
    if (sum->unreadable)
        return ENDING_UNABLE;
    for (unsigned level = 0; level <= fail_at; level++)
        if (sum->by_level[level])
            return ENDING_FINDINGS;
    return ENDING_CLEAN;
}

static enum ending judge_files(struct arena *arena, const struct options *options,
                               const struct repositories *repositories,
                               const struct baseline *since, const struct files *files)
{
    char spare[16];
    struct report_sum sum = {0};
    struct text text = {0};
    struct batch batch = {.workshops = repositories->of_file,
                          .files = files,
                          .judging = {.only = options->only,
                                      .one_condition = options->one_condition,
                                      .condition = options->condition,
                                      .today = options_today(options, spare),
                                      .without_working = !report_shows_working(options->format)},
                          .format = options->format,
                          .style = options_style(options),
                          .jobs = options->jobs,
                          .since = since};
    if (!rules_of_run(arena, repositories->all, repositories->count, &batch.style)) {
        complain_memory();
        return ENDING_UNABLE;
    }
    struct text record = {0};
    if (options->write_baseline) {
        text_add(&record, BASELINE_HEAD);
        batch.record = &record;
    }
    report_begin(&text, options->format);
    bool well = deliver(&text) && batch_run(&batch, &sum);
    if (well) {
        report_end(&text, options->format, &batch.style, &sum);
        well = deliver(&text);
    }
    if (well && options->write_baseline)
        well = output_write(options->write_baseline, &record);
    text_drop(&record);
    text_drop(&text);
    return well ? ending_of(&sum, options->fail_at) : ENDING_UNABLE;
}

static enum outcome read_since(struct arena *arena, const struct options *options,
                               struct baseline **out)
{
    struct diagnostics diagnostics = {.arena = arena};
    if (!options->since_baseline)
        return OUTCOME_OK;
    enum outcome outcome = baseline_read(arena, options->since_baseline, &diagnostics, out);
    if (outcome == OUTCOME_REFUSED)
        complain_diagnostics(&diagnostics);
    return outcome;
}

enum ending command_check(const struct options *options)
{
    struct workshop workshop;
    struct files files = {0};
    struct arena *arena = workshop_arena(options, &workshop);
    if (!arena)
        return ENDING_UNABLE;
    enum ending ending = ENDING_UNABLE;
    struct repositories repositories;
    struct baseline *since = NULL;
    enum outcome outcome = read_since(arena, options, &since);
    if (outcome == OUTCOME_OK)
        outcome = list_files(arena, options, &files);
    if (outcome == OUTCOME_OK &&
        !repositories_find(arena, &workshop, files.at, files.count, &repositories))
        outcome = OUTCOME_NO_MEMORY;
    if (outcome == OUTCOME_OK && !only_is_known(arena, &repositories, options->only))
        outcome = OUTCOME_REFUSED;
    if (outcome == OUTCOME_NO_MEMORY)
        complain_memory();
    if (outcome == OUTCOME_OK && files.count)
        ending = judge_files(arena, options, &repositories, since, &files);
    arena_drop(arena);
    return files.trouble ? ENDING_UNABLE : ending;
}
