/* pages.h - what is written of the tool when it is built, from the tables that its own help is
 * printed from: the lists of the manual page, the words of the shells' completions. Each appends to
 * `out`; memory that runs out shows in out->failed. */
#ifndef RT_PAGES_H
#define RT_PAGES_H
#include "command/command.h"

/* mdoc(7): the calls, each command with its options, each option with its words. */
void manual_calls(struct text *out);
void manual_commands(struct text *out);
void manual_options(struct text *out);
void manual_conditions(struct text *out);

/* Names with a blank between them, as both shells take them. */
void completion_commands(struct text *out);
void completion_rules(struct text *out, const struct store *store); /* and their families */
void completion_parts(struct text *out, const struct store *store); /* kinds, then entries */
void completion_starters(struct text *out);

/* Branches of `case "$command"`: what may stand behind it; of `case "$command $option"`: what may
 * stand behind its option. What is no list of words is one of :rigs: :rule-files: :rules: :parts:
 * :starters: :file: :folder: or nothing. */
void completion_bash_operands(struct text *out);
void completion_bash_options(struct text *out);
void completion_bash_values(struct text *out);
/* Rows "name:about" of _describe; branches of `case $command` that call _arguments. */
void completion_zsh_commands(struct text *out);
void completion_zsh_arguments(struct text *out);

/* Markdown: a section for each kind with a table of its attributes; one for each rule. */
void reference_kinds(struct text *out, const struct store *store);
void reference_rules(struct text *out, const struct store *store);
#endif
