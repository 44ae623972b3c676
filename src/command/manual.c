/* manual.c - the lists of the manual page, in mdoc(7). */
#include <stdbool.h>
#include <string.h>

#include "command/pages.h"

enum { LINE = 70 }; /* a line of text in the source, before its escapes */

/* A character of text, so that roff changes none: no backslash, quotation mark or hyphen. */
static void add_character(struct text *out, char c, bool *open)
{
    static const struct {
        char c;
        const char *roff;
    } specials[] = {{'\\', "\\e"}, {'\'', "\\(aq"}, {'-', "\\-"}};
    for (size_t i = 0; i < sizeof specials / sizeof *specials; i++)
        if (specials[i].c == c) {
            text_add(out, specials[i].roff);
            return;
        }
    if (c == '`') {
        text_add(out, *open ? "\\(cq" : "\\(oq");
        *open = !*open;
        return;
    }
    text_add_bytes(out, &c, 1);
}

/* A sentence as lines of text; no line begins as a macro does. */
static void add_sentence(struct text *out, const char *words, size_t length)
{
    bool open = false;
    size_t start = out->length;
    for (const char *end = words + length; words < end;) {
        size_t word = strcspn(words, " \n");
        if (words + word > end)
            word = (size_t)(end - words);
        if (out->length > start && out->length - start + 1 + word > LINE) {
            text_add(out, "\n");
            start = out->length;
        } else if (out->length > start) {
            text_add(out, " ");
        }
        if (out->length == start && (*words == '.' || *words == '\''))
            text_add(out, "\\&");
        for (size_t i = 0; i < word; i++)
            add_character(out, words[i], &open);
        words += word;
        words += strspn(words, " \n");
    }
    text_add(out, "\n");
}

/* Length of the first sentence, which ends at ". ", before a status, or with the string. */
static size_t sentence(const char *words)
{
    size_t i = 0;
    for (; words[i]; i++)
        if ((words[i] == '.' && strchr(" \n", words[i + 1])) ||
            strncmp(words + i, "\nStatus: ", 9) == 0)
            return i + 1;
    return i;
}

/* A line of its own for each sentence, as mdoc wants it; the status begins a paragraph. */
static void add_text(struct text *out, const char *words)
{
    for (words += strspn(words, " \n"); *words; words += strspn(words, " \n")) {
        size_t length = sentence(words);
        if (strncmp(words, "Status: ", 8) == 0)
            text_add(out, ".Pp\n");
        add_sentence(out, words, length);
        words += length;
    }
}

/* "[FILE|FOLDER]... NAME" as macros. */
static void add_usage(struct text *out, const char *usage)
{
    while (*(usage += strspn(usage, " "))) {
        size_t length = strcspn(usage, " "), name = strcspn(usage + (*usage == '['), "] ");
        bool optional = *usage == '[', many = strncmp(usage + length - 3, "...", 3) == 0;
        text_add(out, optional ? " Oo" : "");
        for (const char *part = usage + optional, *end = part + name; part < end;) {
            size_t one = strcspn(part, "|] ");
            text_print(out, " %s %.*s", part > usage + 1 ? "|" : "Ar", (int)one, part);
            part += one + 1;
        }
        text_add(out, optional ? " Oc" : "");
        text_add(out, many ? " Ns ..." : "");
        usage += length;
    }
    text_add(out, "\n");
}

void manual_calls(struct text *out)
{
    for (size_t i = 0; i < command_count; i++) {
        text_print(out, ".Nm\n.Cm %s Oo Ar option Oc Ns ...", commands[i].name);
        add_usage(out, commands[i].usage);
    }
}

static void add_option_names(struct text *out, const struct command *command)
{
    text_add(out, ".Pp\nOptions:\n");
    for (unsigned i = 0; i < OPTION_COUNT; i++)
        if (option_taken(command, (enum option_bit)i))
            text_print(out, ".Fl \\-%s%s\n", option_row((enum option_bit)i)->name,
                       i + 1 < OPTION_COUNT ? " ," : " .");
}

void manual_commands(struct text *out)
{
    for (size_t i = 0; i < command_count; i++) {
        text_print(out, ".It Cm %s", commands[i].name);
        add_usage(out, commands[i].usage);
        add_text(out, commands[i].about);
        if (strncmp(commands[i].more, "Status: ", 8) != 0)
            text_add(out, ".Pp\n");
        add_text(out, commands[i].more);
        add_option_names(out, &commands[i]);
    }
}

void manual_options(struct text *out)
{
    for (unsigned i = 0; i < OPTION_COUNT; i++) {
        const struct option_row *row = option_row((enum option_bit)i);
        text_add(out, ".It ");
        if (row->letter)
            text_print(out, "Fl %c%s%s , ", row->letter, row->value ? " Ar " : "",
                       row->value ? row->value : "");
        text_print(out, "Fl \\-%s%s%s\n", row->name, row->value ? " Ar " : "",
                   row->value ? row->value : "");
        add_text(out, row->about);
    }
}

void manual_conditions(struct text *out)
{
    static const char *const rows[][2] = {
#define CONDITION(symbol, name, about) {name, about},
#include "store/condition.def"
#undef CONDITION
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        text_print(out, ".It Cm %s\n", rows[i][0]);
        add_text(out, rows[i][1]);
    }
}
