/* mend.c - rigtally mend: changes that were tried and recheck clean. */
#include "report/mend.h"
#include "command/repository.h"
#include "command/workshop.h"

static bool tell(const struct options *options, const struct report_rig *rig,
                 const struct mends *mends)
{
    struct report_style style = options_style(options);
    struct text text = {0};
    if (options->format == REPORT_JSON)
        report_mends_json(&text, rig, mends);
    else
        report_mends(&text, &style, rig, mends);
    bool well = deliver(&text);
    text_drop(&text);
    return well;
}

static bool is_promise(const void *unused, const struct finding *finding)
{
    (void)unused;
    return finding->from != NULL;
}

/* Nothing is tried on a file that can't be read to its end; its mistakes are told. */
static enum ending tell_unreadable(struct arena *arena, const struct options *options,
                                   struct report_rig *rig)
{
    struct report_style style = options_style(options);
    struct text text = {0};
    if (judgement_leave_out(arena, &rig->judgement, is_promise, NULL))
        report_add(&text, REPORT_LINES, &style, rig, true);
    else
        text.failed = true;
    deliver_error(&text);
    text_drop(&text);
    return ENDING_UNABLE;
}

static enum ending mend(struct arena *arena, const struct options *options,
                        const struct workshop *workshop, struct report_rig *rig,
                        const struct node *root, const char *today)
{
    struct mends mends;
    struct mend_bench bench = {&workshop->store, workshop->book, workshop->defaults,
                               workshop->settings, today};
    if (!rig->rig || !report_is_whole(rig))
        return tell_unreadable(arena, options, rig);
    if (mend_find(arena, &bench, root, rig->rig, &rig->judgement, &mends) != OUTCOME_OK) {
        complain_memory();
        return ENDING_UNABLE;
    }
    if (!tell(options, rig, &mends))
        return ENDING_UNABLE;
    return mends.count ? ENDING_FINDINGS : ENDING_CLEAN;
}

enum ending command_mend(const struct options *options)
{
    struct workshop workshop;
    struct report_rig rig;
    struct repositories repositories;
    const struct node *root = NULL;
    char spare[16];
    struct arena *arena = workshop_arena(options, &workshop);
    if (!arena)
        return ENDING_UNABLE;
    struct judge_options judging = {.today = options_today(options, spare)};
    enum ending ending = ENDING_UNABLE;
    if (repositories_find(arena, &workshop, options->operands, 1, &repositories) &&
        run_rig_tree(arena, repositories.of_file[0], options->operands[0], &judging, &rig, &root) ==
            OUTCOME_OK)
        ending = mend(arena, options, repositories.of_file[0], &rig, root, judging.today);
    else
        complain_memory();
    arena_drop(arena);
    return ending;
}
