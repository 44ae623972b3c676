/* sheet.c - rigtally sheet: one rig as a checklist. */
#include <string.h>
#include <strings.h>

#include "command/output.h"
#include "command/repository.h"
#include "command/workshop.h"

#include "solve/solve.h"

static const struct {
    const char *ending;
    enum report_sheet_form form;
} endings[] = {{".html", SHEET_HTML}, {".md", SHEET_MARKDOWN}, {".txt", SHEET_TEXT}};

/* By the end of the file's name; text where none is named. */
static bool find_form(const char *output, enum report_sheet_form *out)
{
    *out = SHEET_TEXT;
    if (!output)
        return true;
    size_t length = strlen(output);
    for (size_t i = 0; i < sizeof endings / sizeof *endings; i++) {
        size_t end = strlen(endings[i].ending);
        if (length < end || strcasecmp(output + length - end, endings[i].ending) != 0)
            continue;
        *out = endings[i].form;
        return true;
    }
    complain("%s names no form of a sheet; its name has to end in .html, .md or .txt.", output);
    return false;
}

/* Half a rig on paper would pass for the whole one, so there is none then. */
static enum ending refuse(const struct report_rig *rig, const struct report_style *style)
{
    deliver_lines(rig, style);
    complain("%s can't be read as a whole, so no sheet was made of it.", rig->file);
    return ENDING_UNABLE;
}

static enum ending write_sheet(const struct options *options, enum report_sheet_form form,
                               const struct report_rig *rig, const struct judgement *steps)
{
    struct report_style style = options_style(options);
    struct text text = {0};
    if (!report_is_whole(rig))
        return refuse(rig, &style);
    report_sheet(&text, form, &style, rig, steps);
    bool well = options->output ? output_write(options->output, &text) : deliver(&text);
    text_drop(&text);
    if (!well)
        return ENDING_UNABLE;
    return judgement_has_mistakes(&rig->judgement) ? ENDING_FINDINGS : ENDING_CLEAN;
}

/* All promises first, then the steps of the work, which are told only when they are named. */
static enum outcome judge(struct arena *arena, const struct workshop *workshop, const char *file,
                          const char *today, struct report_rig *rig, struct judgement *steps)
{
    struct judge_options all = {.today = today}, only = {.only = JUDGE_STEPS, .today = today};
    struct diagnostics none = {.arena = arena};
    enum outcome outcome = run_rig(arena, workshop, file, &all, rig);
    if (outcome != OUTCOME_OK || !rig->rig)
        return outcome;
    outcome = solve_later(rig->rig);
    return outcome == OUTCOME_OK ? judge_rig(workshop->book, rig->rig, &none, &only, steps)
                                 : outcome;
}

enum ending command_sheet(const struct options *options)
{
    struct workshop workshop;
    struct report_rig rig;
    struct judgement steps = {0};
    struct repositories repositories;
    enum report_sheet_form form;
    char spare[16];
    if (!find_form(options->output, &form))
        return ENDING_UNABLE;
    struct arena *arena = workshop_arena(options, &workshop);
    if (!arena)
        return ENDING_UNABLE;
    enum ending ending = ENDING_UNABLE;
    if (repositories_find(arena, &workshop, options->operands, 1, &repositories) &&
        judge(arena, repositories.of_file[0], options->operands[0], options_today(options, spare),
              &rig, &steps) == OUTCOME_OK)
        ending = write_sheet(options, form, &rig, &steps);
    else
        complain_memory();
    arena_drop(arena);
    return ending;
}
