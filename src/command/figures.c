/* figures.c - rigtally figures: every figure of one rig. */
#include "command/repository.h"
#include "command/workshop.h"

#include "solve/solve.h"

static bool write_figures(const struct rig *rig, bool json, const struct report_style *style)
{
    struct text text = {0};
    report_figures_begin(&text, json, style, rig);
    bool well = deliver(&text);
    for (size_t i = 0; well && i < rig->part_count; i++) {
        report_figures_part(&text, json, style, rig, i);
        well = deliver(&text);
    }
    report_figures_end(&text, json);
    well = well && deliver(&text);
    text_drop(&text);
    return well;
}

static enum ending print_figures(const struct options *options, const struct report_rig *rig)
{
    struct report_style style = options_style(options);
    bool mistaken = judgement_has_mistakes(&rig->judgement);
    if (mistaken || !rig->rig)
        deliver_lines(rig, &style);
    if (!rig->rig || !write_figures(rig->rig, options->format == REPORT_JSON, &style))
        return ENDING_UNABLE;
    if (!report_is_whole(rig))
        return ENDING_UNABLE;
    return mistaken ? ENDING_FINDINGS : ENDING_CLEAN;
}

enum ending command_figures(const struct options *options)
{
    struct workshop workshop;
    struct report_rig rig;
    struct arena *arena = workshop_arena(options, &workshop);
    if (!arena)
        return ENDING_UNABLE;
    /* Of the judgement only the mistakes in the file are wanted: a family that no rule is in. */
    struct judge_options judging = {.only = "file"};
    enum ending ending = ENDING_UNABLE;
    struct repositories repositories;
    if (repositories_find(arena, &workshop, options->operands, 1, &repositories) &&
        run_rig(arena, repositories.of_file[0], options->operands[0], &judging, &rig) ==
            OUTCOME_OK &&
        (!rig.rig || solve_later(rig.rig) == OUTCOME_OK))
        ending = print_figures(options, &rig);
    else
        complain_memory();
    arena_drop(arena);
    return ending;
}
