#include "solve/later.h"

#include <string.h>

#include "solve/solve.h"

static const char *const covered[] = {
    "evening_temperature", "time_to",   "night_loss",    "day_gain",      "day_volume", "day_hours",
    "starts_per_hour",     "daily_use", "daily_harvest", "lowest_charge", "day_length"};
static const char warmest[] = "high_temperature"; /* of a tank that a coil warms */

bool later_covers(const struct rig *rig, size_t part, const char *attribute)
{
    const size_t *coils;
    if (name_same(attribute, warmest))
        return rig_related(rig, part, "warmed-by", &coils) > 0;
    return later_names(attribute);
}

bool later_names(const char *attribute)
{
    for (size_t i = 0; i < sizeof covered / sizeof *covered; i++)
        if (name_same(covered[i], attribute))
            return true;
    return name_same(attribute, warmest);
}

static void work(struct rig_later *later)
{
    if (day_solve(later->rig, DAY_STEP_S, NULL) == OUTCOME_NO_MEMORY)
        later->no_memory = true;
}

static size_t parts_of_a_day(const struct rig *rig)
{
    static const char *const words[] = {"coil", "tank", "source", "load", "device", "contact"};
    size_t count = 0;
    for (size_t i = 0; i < rig->part_count; i++) {
        bool counts = false;
        for (size_t k = 0; k < sizeof words / sizeof *words; k++)
            counts = counts || kind_is(rig->parts[i].kind, words[k]);
        count += counts;
    }
    return count;
}

enum outcome later_prepare(struct rig *rig, struct diagnostics *diagnostics)
{
    size_t count = rig->part_count > LATER_PARTS_MAX ? parts_of_a_day(rig) : 0;
    if (count > LATER_PARTS_MAX) {
        diagnostics_add(
            diagnostics, LEVEL_CAUTION, TOPIC_SETTLES, (struct place){rig->file, 1, 1},
            "the rig's day is left out: it is reckoned for up to %d coils, tanks, sources and "
            "devices; here are %zu.",
            LATER_PARTS_MAX, count);
        return OUTCOME_OK;
    }
    struct rig_later *later = ARENA_TAKE(rig->arena, 1, struct rig_later);
    if (!later)
        return OUTCOME_NO_MEMORY;
    *later = (struct rig_later){.rig = rig, .covers = later_covers, .work = work};
    rig->later = later;
    return OUTCOME_OK;
}

void later_note(struct rig *rig, size_t part, const char *attribute, const char *lines)
{
    struct rig_note *note = rig->later && lines ? ARENA_TAKE(rig->arena, 1, struct rig_note) : NULL;
    if (note) {
        *note = (struct rig_note){part, attribute, lines, rig->later->notes};
        rig->later->notes = note;
    } else if (rig->later) {
        rig->later->no_memory = true;
    }
}

void later_working(const struct rig *rig, size_t part, const char *attribute, struct text *out)
{
    if (!later_covers(rig, part, attribute))
        return;
    for (const struct rig_note *note = rig->later ? rig->later->notes : NULL; note;
         note = note->next)
        if (note->part == part && strcmp(note->attribute, attribute) == 0)
            text_add(out, note->lines);
}

enum outcome solve_later(const struct rig *rig)
{
    rig_work_later(rig);
    return rig->later && rig->later->no_memory ? OUTCOME_NO_MEMORY : OUTCOME_OK;
}
