/* schema.c - rigtally schema: the rig file's form, for editors. */
#include "command/workshop.h"

enum ending command_schema(const struct options *options)
{
    struct workshop workshop;
    struct text text = {0};
    struct arena *arena = workshop_arena(options, &workshop);
    if (!arena)
        return ENDING_UNABLE;
    report_schema(&text, &workshop.store);
    bool well = deliver(&text);
    text_drop(&text);
    arena_drop(arena);
    return well ? ENDING_CLEAN : ENDING_UNABLE;
}
