/* completion.c - what the shells' completions know of the tool. */
#include <string.h>

#include "command/pages.h"
#include "command/starter.h"

static void add_name(struct text *out, const char *name)
{
    text_print(out, "%s%s", out->length && out->bytes[out->length - 1] == '"' ? "" : " ", name);
}

void completion_commands(struct text *out)
{
    for (size_t i = 0; i < command_count; i++)
        add_name(out, commands[i].name);
}

/* In byte order the rules of a family follow each other. */
void completion_rules(struct text *out, const struct store *store)
{
    const char *before = "";
    for (size_t i = 0; i < store->rule_count; i++) {
        const char *name = store->rules[store->rule_order[i]].name;
        size_t length = strcspn(name, ".");
        if (strncmp(before, name, length + 1) != 0)
            text_print(out, " %.*s", (int)length, name);
        text_print(out, " %s", name);
        before = name;
    }
}

void completion_parts(struct text *out, const struct store *store)
{
    for (size_t i = 0; i < store->kind_count; i++)
        add_name(out, store->kinds[store->kind_order[i]].name);
    for (size_t i = 0; i < store->entry_count; i++)
        add_name(out, store->entries[store->entry_order[i]].name);
}

void completion_starters(struct text *out)
{
    for (size_t i = 0; i < starter_count; i++)
        add_name(out, starters[i].name);
}

/* What stands for a list that is made elsewhere. */
static const char *const operand_marks[] = {
    [OPERAND_NONE] = "",        [OPERAND_RIGS] = ":rigs:",  [OPERAND_RULE_FILES] = ":rule-files:",
    [OPERAND_RULE] = ":rules:", [OPERAND_PART] = ":parts:", [OPERAND_STARTER] = ":starters:",
};

static const struct value_mark {
    const char *value, *mark, *zsh;
} value_marks[] = {
    {"FILE", ":file:", "_files"},
    {"DIR", ":folder:", "_files -/"},
    {"RULE", ":rules:", "($rules)"},
};

static const struct value_mark *value_mark(const char *value)
{
    for (size_t i = 0; i < sizeof value_marks / sizeof *value_marks; i++)
        if (strcmp(value_marks[i].value, value) == 0)
            return &value_marks[i];
    return NULL;
}

/* ---- bash ---- */

void completion_bash_operands(struct text *out)
{
    for (size_t i = 0; i < command_count; i++)
        text_print(out, "        %s) words=%s ;;\n", commands[i].name,
                   operand_marks[commands[i].operand]);
}

void completion_bash_options(struct text *out)
{
    for (size_t i = 0; i < command_count; i++) {
        text_print(out, "        %s) words=\"", commands[i].name);
        for (unsigned j = 0; j < OPTION_COUNT; j++) {
            const struct option_row *row = option_row((enum option_bit)j);
            if (!option_taken(&commands[i], (enum option_bit)j))
                continue;
            text_print(out, "--%s ", row->name);
            if (row->letter)
                text_print(out, "-%c ", row->letter);
        }
        text_add(out, "\" ;;\n");
    }
}

/* One branch for a command and an option of it that takes a value. */
static void add_value_branch(struct text *out, const struct command *command,
                             enum option_bit option)
{
    const struct option_row *row = option_row(option);
    const struct value_mark *mark = value_mark(row->value);
    const char *words[OPTION_WORDS_MAX];
    size_t count = option_words(command, option, words);
    text_print(out, "        \"%s --%s\"", command->name, row->name);
    if (row->letter)
        text_print(out, " | \"%s -%c\"", command->name, row->letter);
    text_print(out, ") words=\"%s", mark ? mark->mark : "");
    for (size_t i = 0; i < count; i++)
        add_name(out, words[i]);
    text_add(out, "\" ;;\n");
}

void completion_bash_values(struct text *out)
{
    for (size_t i = 0; i < command_count; i++)
        for (unsigned j = 0; j < OPTION_COUNT; j++)
            if (option_taken(&commands[i], (enum option_bit)j) &&
                option_row((enum option_bit)j)->value)
                add_value_branch(out, &commands[i], (enum option_bit)j);
}

/* ---- zsh ---- */

/* For a word in single quotes; brackets and colons have a meaning there for _arguments. */
static void add_quoted(struct text *out, const char *words)
{
    for (; *words; words++) {
        if (*words == '\'')
            text_add(out, "'\\'");
        else if (strchr("[]:\\", *words))
            text_add(out, "\\");
        text_add_bytes(out, words, 1);
    }
}

void completion_zsh_commands(struct text *out)
{
    for (size_t i = 0; i < command_count; i++) {
        text_print(out, "    '%s:", commands[i].name);
        add_quoted(out, commands[i].about);
        text_add(out, "'\n");
    }
}

static void add_zsh_value(struct text *out, const struct command *command, enum option_bit option)
{
    const struct option_row *row = option_row(option);
    const struct value_mark *mark = value_mark(row->value);
    const char *words[OPTION_WORDS_MAX];
    size_t count = option_words(command, option, words);
    text_print(out, ":%s:", row->value);
    for (size_t i = 0; i < count; i++)
        text_print(out, "%s%s", i ? " " : "(", words[i]);
    text_add(out, count ? ")" : mark ? mark->zsh : " ");
}

/* `'--rules=[about]:DIR:_files -/'`, with a star where it may be given again. A list of names that
 * is a variable stands outside the single quotes. */
static void add_zsh_option(struct text *out, const struct command *command, enum option_bit option,
                           bool letter)
{
    const struct option_row *row = option_row(option);
    bool again = option == OPTION_RULES || option == OPTION_CATALOGUE;
    text_print(out, " \\\n        '%s", again ? "*" : "");
    if (letter)
        text_print(out, "-%c%s", row->letter, row->value ? "+" : "");
    else
        text_print(out, "--%s%s", row->name, row->value ? "=" : "");
    text_add(out, "[");
    add_quoted(out, row->about);
    text_add(out, "]");
    if (row->value)
        add_zsh_value(out, command, option);
    text_add(out, "'");
}

static const char *const operand_zsh[] = {
    [OPERAND_NONE] = NULL,
    [OPERAND_RIGS] = "*:rig:_files -g \"*.rig.yaml\"",
    [OPERAND_RULE_FILES] = "*:rule file:_files -g \"*.yaml\"",
    [OPERAND_RULE] = "1:rule:($rules)",
    [OPERAND_PART] = "1:kind or entry:($parts)",
    [OPERAND_STARTER] = "1:scenario:($starters)",
};

void completion_zsh_arguments(struct text *out)
{
    for (size_t i = 0; i < command_count; i++) {
        text_print(out, "    %s)\n      _arguments -s", commands[i].name);
        for (unsigned j = 0; j < OPTION_COUNT; j++) {
            if (!option_taken(&commands[i], (enum option_bit)j))
                continue;
            add_zsh_option(out, &commands[i], (enum option_bit)j, false);
            if (option_row((enum option_bit)j)->letter)
                add_zsh_option(out, &commands[i], (enum option_bit)j, true);
        }
        if (operand_zsh[commands[i].operand])
            text_print(out, " \\\n        '%s'", operand_zsh[commands[i].operand]);
        text_add(out, "\n      ;;\n");
    }
}
