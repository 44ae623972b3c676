/* command.h - what one call of the tool asks for, and the commands that do it.
 * Each command is a row of table.c and a function here. */
#ifndef RT_COMMAND_H
#define RT_COMMAND_H
#include "report/report.h"

#define TOOL_VERSION "0.1.0"
#define OPTION_FOLDERS_MAX 64

/* As grep and diff: nothing found, something found, could not do the job. The last wins over the
 * others. */
enum ending { ENDING_CLEAN, ENDING_FINDINGS, ENDING_UNABLE };

enum colour { COLOUR_AUTO, COLOUR_ALWAYS, COLOUR_NEVER };

struct options {
    const char *const *operands;
    size_t operand_count;
    enum report_format format;
    enum level fail_at;
    const char *only;
    bool one_condition;
    enum condition condition;
    enum colour colour;
    unsigned jobs;
    const char *today; /* YYYY-MM-DD */
    bool brief;
    const char *output;                          /* a file to write, or NULL */
    const char *write_baseline, *since_baseline; /* files, or NULL */
    const char *rules[OPTION_FOLDERS_MAX], *catalogues[OPTION_FOLDERS_MAX];
    size_t rules_count, catalogue_count;
};

/* Which options a command takes: a bit each, in the order of option.def. */
enum option_bit {
#define OPTION(symbol, letter, name, value, about) OPTION_##symbol,
#include "command/option.def"
#undef OPTION
    OPTION_COUNT
};

/* What the words behind a command and its options name. */
enum operand {
    OPERAND_NONE,
    OPERAND_RIGS,
    OPERAND_RULE_FILES,
    OPERAND_RULE,
    OPERAND_PART,
    OPERAND_STARTER
};

struct command {
    const char *name;
    const char *usage; /* what follows the name */
    enum operand operand;
    const char *about;
    const char *more; /* further lines of its help; "" for none */
    unsigned options; /* bits 1u << OPTION_... */
    size_t operands_least, operands_most;
    bool lines; /* may the formats be asked for that only tell findings? */
    enum ending (*run)(const struct options *options);
};

extern const struct command commands[];
extern const size_t command_count;

enum ending command_check(const struct options *options);
enum ending command_figures(const struct options *options);
enum ending command_sheet(const struct options *options);
enum ending command_mend(const struct options *options);
enum ending command_rule(const struct options *options);
enum ending command_part(const struct options *options);
enum ending command_prove(const struct options *options);
enum ending command_schema(const struct options *options);
enum ending command_new(const struct options *options);

/* Reads what follows a command's name. False: a sentence on what is wrong went to standard error.
 * *help: the command's help is wanted and nothing else was looked at. The operands are put in order
 * into `operands`, which has room for all of them. */
bool options_read(const struct command *command, char **arguments, size_t count,
                  const char **operands, struct options *out, bool *help);
/* An option as it is written and told. */
struct option_row {
    char letter; /* 0: none */
    const char *name;
    const char *value; /* what it takes, "FILE"; NULL: nothing */
    const char *about;
};
const struct option_row *option_row(enum option_bit option);
/* Does the command take the option? --help is taken by all. */
bool option_taken(const struct command *command, enum option_bit option);
/* The words that may stand behind an option of this command, at most `most` of them; their number,
 * 0 where it is no matter of fixed words. */
#define OPTION_WORDS_MAX 16
size_t option_words(const struct command *command, enum option_bit option,
                    const char *words[OPTION_WORDS_MAX]);
/* A line for each of the options that a command takes. */
void options_help(struct text *out, const struct command *command);
/* The day on which findings are judged, YYYY-MM-DD: the one that was named, else that of the clock
 * in universal time, so that it does not hang on where the machine stands. NULL: no clock. */
const char *options_today(const struct options *options, char spare[16]);
/* Colour and width as the terminal, the environment and --color have it. */
struct report_style options_style(const struct options *options);

/* "rigtally: WORDS", escaped, to standard error. */
void complain(const char *format, ...) __attribute__((format(printf, 1, 2)));
/* The same, with "did you mean X?" where a name is near; `near` may be NULL. */
void complain_unknown(const char *what, const char *name, const char *near, const char *hint);
void complain_memory(void);
/* Writes text to standard output or error; false, and a complaint, when it could not be delivered.
 */
bool deliver(struct text *text);
void deliver_error(struct text *text);
/* What was found of a rig, a line each, to standard error: where it is not the report that was
 * asked for, but figures that hang on it are missing or wrong. */
void deliver_lines(const struct report_rig *rig, const struct report_style *style);
/* Everything handed to standard output has arrived? To be asked once, at the end. */
bool delivered_all(void);
#endif
