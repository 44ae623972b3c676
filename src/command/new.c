/* new.c - rigtally new: a commented rig file to begin with. */
#include <string.h>

#include "base/names.h"
#include "command/command.h"
#include "command/starter.h"

/* The words of the first line, behind its "# ". */
static void list_starters(struct text *out)
{
    for (size_t i = 0; i < starter_count; i++) {
        const char *about = starters[i].text + strspn(starters[i].text, "# ");
        text_print(out, "  %-10s %.*s\n", starters[i].name, (int)strcspn(about, "\n"), about);
    }
    text_add(out, "\n`rigtally new NAME > my.rig.yaml` writes one down.\n");
}

static const struct starter *find_starter(const char *name)
{
    struct near_search near;
    near_begin(&near, name);
    for (size_t i = 0; i < starter_count; i++) {
        if (strcmp(starters[i].name, name) == 0)
            return &starters[i];
        near_offer(&near, starters[i].name);
    }
    complain_unknown("rig to begin with called", name, near_best(&near),
                     "`rigtally new` lists them.");
    return NULL;
}

enum ending command_new(const struct options *options)
{
    struct text text = {0};
    const struct starter *starter = NULL;
    if (options->operand_count && !(starter = find_starter(options->operands[0])))
        return ENDING_UNABLE;
    if (starter)
        text_add(&text, starter->text);
    else
        list_starters(&text);
    bool well = deliver(&text);
    text_drop(&text);
    return well ? ENDING_CLEAN : ENDING_UNABLE;
}
