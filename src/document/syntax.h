/* syntax.h - what stands in the way when libyaml can't go on, said in plain
 * sentences with the place that a reader has to look at. */
#ifndef RT_SYNTAX_H
#define RT_SYNTAX_H
#include <yaml.h>

#include "document/scan.h"

/* The innermost bracket that is open; '\0': none. */
struct opening {
    struct place at;
    char bracket; /* [ or { */
};

/* Reports why the parser stopped: a scanner or parser error, not one of memory. */
void syntax_report(const struct source *source, const yaml_parser_t *parser, struct opening open,
                   struct diagnostics *diagnostics);

/* Reports what stands behind the end of the document, from `byte` on, and returns true, if anything
 * but blanks, comments and `...` does. */
bool syntax_report_rest(const struct source *source, size_t byte, struct diagnostics *diagnostics);
#endif
