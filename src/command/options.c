/* options.c - reading what follows a command's name. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <time.h>
#include <unistd.h>

#include "base/names.h"
#include "command/command.h"

#define JOBS_MAX 64u
#define WIDTH_USUAL 100u
#define WIDTH_MOST 120u

static const struct option_row rows[OPTION_COUNT] = {
#define OPTION(symbol, letter, name, value, about) {letter, name, value, about},
#include "command/option.def"
#undef OPTION
};

struct reader {
    const struct command *command;
    char **arguments;
    size_t count, next;
    const char **operands;
    struct options *out;
    bool *help;
};

const struct option_row *option_row(enum option_bit option)
{
    return &rows[option];
}

bool option_taken(const struct command *command, enum option_bit option)
{
    return option == OPTION_HELP || (command->options & (1u << option)) != 0;
}

/* Room for one of "`rigtally check --help` lists what there is." */
struct hint {
    char words[96];
};

static struct hint hint(const struct command *command)
{
    struct hint hint;
    snprintf(hint.words, sizeof hint.words, "`rigtally %s --help` lists what there is.",
             command->name);
    return hint;
}

/* ---- values ---- */

static bool one_of(const char *what, const char *given, const char *const *words, size_t count,
                   size_t *out)
{
    struct near_search near;
    near_begin(&near, given);
    for (size_t i = 0; i < count; i++) {
        if (strcmp(words[i], given) == 0) {
            *out = i;
            return true;
        }
        near_offer(&near, words[i]);
    }
    struct text list = {0};
    for (size_t i = 0; i < count; i++)
        text_print(&list, "%s%s", i == 0 ? "" : i + 1 == count ? " or " : ", ", words[i]);
    if (near_best(&near))
        complain("%s '%s' is not known; did you mean %s? It can be %s.", what, given,
                 near_best(&near), list.length ? list.bytes : "another");
    else
        complain("%s '%s' is not known; it can be %s.", what, given,
                 list.length ? list.bytes : "another");
    text_drop(&list);
    return false;
}

/* A command that tells no findings has the two formats that tell anything. */
static size_t format_words(const struct command *command, const char **words)
{
    size_t count = 0;
    for (unsigned i = 0; i < REPORT_FORMAT_COUNT; i++)
        if (i == REPORT_TEXT || i == REPORT_JSON || command->lines)
            words[count++] = report_format_name((enum report_format)i);
    return count;
}

_Static_assert(CONDITION_COUNT <= OPTION_WORDS_MAX && REPORT_FORMAT_COUNT <= OPTION_WORDS_MAX,
               "every option's words have room");

size_t option_words(const struct command *command, enum option_bit option,
                    const char *words[OPTION_WORDS_MAX])
{
    switch (option) {
    case OPTION_FORMAT:
        return format_words(command, words);
    case OPTION_FAIL_AT: /* the index is the level */
        for (unsigned i = 0; i <= LEVEL_QUESTION; i++)
            words[i] = level_name((enum level)i);
        return LEVEL_QUESTION + 1;
    case OPTION_UNDER: /* the index is the condition */
        for (unsigned i = 0; i < CONDITION_COUNT; i++)
            words[i] = condition_name((enum condition)i);
        return CONDITION_COUNT;
    case OPTION_COLOR: /* the index is the colour */
        words[COLOUR_AUTO] = "auto";
        words[COLOUR_ALWAYS] = "always";
        words[COLOUR_NEVER] = "never";
        return COLOUR_NEVER + 1;
    default:
        return 0;
    }
}

/* What an option's word is called in a complaint. */
static const char *const sorts[OPTION_COUNT] = {[OPTION_FORMAT] = "format",
                                                [OPTION_FAIL_AT] = "level",
                                                [OPTION_UNDER] = "condition",
                                                [OPTION_COLOR] = "colour"};

static bool read_word(const struct command *command, enum option_bit option, const char *value,
                      struct options *out)
{
    const char *words[OPTION_WORDS_MAX];
    size_t count = option_words(command, option, words), chosen;
    if (!one_of(sorts[option], value, words, count, &chosen))
        return false;
    switch (option) {
    case OPTION_FORMAT:
        return report_format_find(words[chosen], &out->format);
    case OPTION_FAIL_AT:
        out->fail_at = (enum level)chosen;
        return true;
    case OPTION_UNDER:
        out->one_condition = true;
        out->condition = (enum condition)chosen;
        return true;
    default:
        out->colour = (enum colour)chosen;
        return true;
    }
}

static bool read_jobs(const char *value, struct options *out)
{
    unsigned jobs = 0;
    size_t length = strlen(value);
    bool digits = length > 0 && length <= 4 && strspn(value, "0123456789") == length;
    for (size_t i = 0; digits && i < length; i++)
        jobs = jobs * 10 + (unsigned)(value[i] - '0');
    if (!digits || jobs == 0 || jobs > JOBS_MAX) {
        complain("'%s' is no number of jobs; it can be 1 to %u.", value, JOBS_MAX);
        return false;
    }
    out->jobs = jobs;
    return true;
}

static bool read_today(const char *value, struct options *out)
{
    const char *pattern = "dddd-dd-dd";
    size_t i = 0;
    while (pattern[i] && value[i] &&
           (pattern[i] == '-' ? value[i] == '-' : value[i] >= '0' && value[i] <= '9'))
        i++;
    if (pattern[i] || value[i]) {
        complain("'%s' is no date; write it as 2027-05-01.", value);
        return false;
    }
    out->today = value;
    return true;
}

static bool read_folder(const char *value, const char **folders, size_t *count)
{
    if (*count == OPTION_FOLDERS_MAX) {
        complain("more than %d folders of one sort are named; put them below one.",
                 OPTION_FOLDERS_MAX);
        return false;
    }
    folders[(*count)++] = value;
    return true;
}

static bool apply(struct reader *reader, unsigned option, const char *value)
{
    struct options *out = reader->out;
    switch (option) {
    case OPTION_FORMAT:
    case OPTION_FAIL_AT:
    case OPTION_UNDER:
    case OPTION_COLOR:
        return read_word(reader->command, option, value, out);
    case OPTION_ONLY:
        out->only = value;
        return true;
    case OPTION_BRIEF:
        out->brief = true;
        return true;
    case OPTION_TODAY:
        return read_today(value, out);
    case OPTION_OUTPUT:
        out->output = value;
        return true;
    case OPTION_WRITE_BASELINE:
        out->write_baseline = value;
        return true;
    case OPTION_SINCE_BASELINE:
        out->since_baseline = value;
        return true;
    case OPTION_JOBS:
        return read_jobs(value, out);
    case OPTION_RULES:
        return read_folder(value, out->rules, &out->rules_count);
    case OPTION_CATALOGUE:
        return read_folder(value, out->catalogues, &out->catalogue_count);
    case OPTION_HELP:
        *reader->help = true;
        return true;
    default:
        return false;
    }
}

/* ---- words ---- */

static bool unknown_option(const struct command *command, const char *given, const char *name,
                           size_t length)
{
    char shown[80], nearest[80];
    struct near_search near;
    snprintf(shown, sizeof shown, "%.*s", length < 64 ? (int)length : 64, name);
    near_begin(&near, shown);
    for (unsigned i = 0; i < OPTION_COUNT; i++)
        if (option_taken(command, i))
            near_offer(&near, rows[i].name);
    snprintf(nearest, sizeof nearest, "--%s", near_best(&near) ? near_best(&near) : "");
    complain_unknown("option", given, near_best(&near) ? nearest : NULL, hint(command).words);
    return false;
}

/* Takes an option's value from behind `=`, from the next word, or has none. */
static bool read_option(struct reader *reader, unsigned option, const char *inside)
{
    const struct option_row *row = &rows[option];
    if (!row->value) {
        if (inside) {
            complain("--%s takes nothing behind it.", row->name);
            return false;
        }
        return apply(reader, option, NULL);
    }
    if (!inside && reader->next == reader->count) {
        complain("--%s needs a %s behind it. %s", row->name, row->value,
                 hint(reader->command).words);
        return false;
    }
    return apply(reader, option, inside ? inside : reader->arguments[reader->next++]);
}

static bool read_long(struct reader *reader, const char *word)
{
    const char *name = word + 2;
    size_t length = strcspn(name, "=");
    for (unsigned i = 0; i < OPTION_COUNT; i++)
        if (option_taken(reader->command, i) && strlen(rows[i].name) == length &&
            strncmp(rows[i].name, name, length) == 0)
            return read_option(reader, i, name[length] ? name + length + 1 : NULL);
    return unknown_option(reader->command, word, name, length);
}

static bool read_short(struct reader *reader, const char *word)
{
    for (unsigned i = 0; i < OPTION_COUNT; i++)
        if (option_taken(reader->command, i) && rows[i].letter && rows[i].letter == word[1])
            return read_option(reader, i, word[2] ? word + 2 : NULL);
    return unknown_option(reader->command, word, word + 1, strlen(word + 1));
}

static bool count_fits(const struct reader *reader)
{
    const struct command *command = reader->command;
    size_t count = reader->out->operand_count;
    if (count < command->operands_least) {
        complain("%s needs %s. %s", command->name, command->usage, hint(command).words);
        return false;
    }
    if (count > command->operands_most) {
        complain("%s does not know what to do with '%s'. %s", command->name,
                 reader->out->operands[command->operands_most], hint(command).words);
        return false;
    }
    return true;
}

bool options_read(const struct command *command, char **arguments, size_t count,
                  const char **operands, struct options *out, bool *help)
{
    struct reader reader = {command, arguments, count, 0, operands, out, help};
    bool options_over = false;
    *out = (struct options){.operands = operands, .jobs = 1};
    *help = false;
    while (reader.next < count) {
        const char *word = arguments[reader.next++];
        bool is_option = !options_over && word[0] == '-' && word[1];
        if (is_option && strcmp(word, "--") == 0)
            options_over = true;
        else if (!is_option)
            operands[out->operand_count++] = word;
        else if (!(word[1] == '-' ? read_long(&reader, word) : read_short(&reader, word)))
            return false;
        if (*help)
            return true;
    }
    return count_fits(&reader);
}

void options_help(struct text *out, const struct command *command)
{
    for (unsigned i = 0; i < OPTION_COUNT; i++) {
        const struct option_row *row = &rows[i];
        char name[64];
        if (!option_taken(command, i))
            continue;
        snprintf(name, sizeof name, "%s%c%s--%s%s%s", row->letter ? "-" : "",
                 row->letter ? row->letter : ' ', row->letter ? ", " : "   ", row->name,
                 row->value ? " " : "", row->value ? row->value : "");
        text_print(out, "  %-26s", name);
        /* wrapped by hand: help is no report */
        const char *words = row->about;
        while (strlen(words) > 70) {
            size_t cut = 70;
            while (cut > 0 && words[cut] != ' ')
                cut--;
            text_print(out, "%.*s\n%28s", (int)cut, words, "");
            words += cut + 1;
        }
        text_print(out, "%s\n", words);
    }
}

const char *options_today(const struct options *options, char spare[16])
{
    time_t now = time(NULL);
    struct tm parts;
    if (options->today)
        return options->today;
    if (!gmtime_r(&now, &parts) || strftime(spare, 16, "%Y-%m-%d", &parts) == 0)
        return NULL;
    return spare;
}

/* ---- style ---- */

/* https://no-color.org: set and not empty. An option goes before variables. */
static bool wants_colour(const struct options *options)
{
    if (options->colour != COLOUR_AUTO)
        return options->colour == COLOUR_ALWAYS;
    const char *no_color = getenv("NO_COLOR"), *term = getenv("TERM");
    if (no_color && no_color[0])
        return false;
    return isatty(STDOUT_FILENO) && term && term[0] && strcmp(term, "dumb") != 0;
}

/* A terminal's own width, in bounds; else one for all, so that the same input gives the same bytes.
 */
static unsigned find_width(void)
{
    struct winsize size;
    if (!isatty(STDOUT_FILENO) || ioctl(STDOUT_FILENO, TIOCGWINSZ, &size) != 0 || size.ws_col == 0)
        return WIDTH_USUAL;
    return size.ws_col < WIDTH_MOST ? size.ws_col : WIDTH_MOST;
}

struct report_style options_style(const struct options *options)
{
    return (struct report_style){.colour = wants_colour(options),
                                 .brief = options->brief,
                                 .width = find_width(),
                                 .version = TOOL_VERSION};
}
