/* main.c - which command is called, and the help of all. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/names.h"
#include "command/command.h"

static void tool_help(struct text *out)
{
    text_add(
        out,
        "rigtally reads the parts list of a small off-grid water rig, works out what every part\n"
        "will see, and says where two parts do not tally.\n\n");
    for (size_t i = 0; i < command_count; i++) {
        char call[64];
        snprintf(call, sizeof call, "%s %s", commands[i].name, commands[i].usage);
        text_print(out, "  rigtally %-30s %s\n", call, commands[i].about);
    }
    text_add(out,
             "\n  rigtally COMMAND --help           what a command takes\n"
             "  rigtally --version                which version this is\n\n"
             "It judges what figures can tell. Local codes and licensed practice go before it.\n");
}

static void command_help(struct text *out, const struct command *command)
{
    text_print(out, "rigtally %s [OPTION]... %s\n  %s\n\n", command->name, command->usage,
               command->about);
    text_add(out, command->more);
    text_add(out, "\n");
    options_help(out, command);
}

static enum ending print(void (*help)(struct text *out, const struct command *command),
                         const struct command *command)
{
    struct text text = {0};
    help(&text, command);
    bool well = deliver(&text);
    text_drop(&text);
    return well ? ENDING_CLEAN : ENDING_UNABLE;
}

static void print_tool_help(struct text *out, const struct command *unused)
{
    (void)unused;
    tool_help(out);
}

static void print_version(struct text *out, const struct command *unused)
{
    (void)unused;
    text_add(out, "rigtally " TOOL_VERSION ", rig file format 1\n");
}

static const struct command *find_command(const char *name)
{
    struct near_search near;
    near_begin(&near, name);
    for (size_t i = 0; i < command_count; i++) {
        if (strcmp(commands[i].name, name) == 0)
            return &commands[i];
        near_offer(&near, commands[i].name);
    }
    if (name[0] == '-') {
        near_begin(&near, name);
        near_offer(&near, "--help");
        near_offer(&near, "--version");
    }
    complain_unknown(name[0] == '-' ? "option" : "command", name, near_best(&near),
                     "`rigtally --help` lists what there is.");
    return NULL;
}

static enum ending run(const struct command *command, char **arguments, size_t count)
{
    const char **operands = calloc(count + 1, sizeof *operands);
    struct options options;
    bool help;
    enum ending ending = ENDING_UNABLE;
    if (!operands)
        complain_memory();
    else if (options_read(command, arguments, count, operands, &options, &help))
        ending = help ? print(command_help, command) : command->run(&options);
    free(operands);
    return ending;
}

static enum ending choose(int count, char **arguments)
{
    if (count < 2) {
        struct text text = {0};
        tool_help(&text);
        deliver_error(&text);
        text_drop(&text);
        return ENDING_UNABLE;
    }
    if (strcmp(arguments[1], "--help") == 0 || strcmp(arguments[1], "-h") == 0)
        return print(print_tool_help, NULL);
    if (strcmp(arguments[1], "--version") == 0)
        return print(print_version, NULL);
    const struct command *command = find_command(arguments[1]);
    return command ? run(command, arguments + 2, (size_t)count - 2) : ENDING_UNABLE;
}

int main(int count, char **arguments)
{
    enum ending ending = choose(count, arguments);
    return delivered_all() ? (int)ending : (int)ENDING_UNABLE;
}
