/* workshop.h - the workshop that a command's options ask for. */
#ifndef RT_WORKSHOP_H
#define RT_WORKSHOP_H
#include "command/command.h"
#include "command/run.h"

/* What is built in, with --rules and --catalogue added, in a new arena that the caller drops. NULL:
 * it could not be had, and why was told. */
struct arena *workshop_arena(const struct options *options, struct workshop *out);
/* Tells what is wrong with the tool's own files. */
void complain_diagnostics(const struct diagnostics *diagnostics);
/* "there is no promise 'NAME'", with the rule or family of rules that is nearest. */
void complain_no_rule(struct arena *arena, const struct store *store, const char *name);
#endif
