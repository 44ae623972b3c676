/* shape.h - whether a tree has the keys and the kinds of value that a file of
 * kinds, catalogue entries or rules must have. Private to the store. */
#ifndef RT_SHAPE_H
#define RT_SHAPE_H
#include "document/document.h"

/* Every fault goes to diagnostics with its place; false when there was one. */
bool shape_check(struct arena *arena, const struct node *root, struct diagnostics *diagnostics);

/* True of `5 V` in { voltage: 3,5 V }: to YAML a key of its own. The format takes the key. */
bool cut_by_comma(const struct node_pair *pair);
#define CUT_BY_COMMA "'%s' stands alone after a comma; a decimal comma must be a point, as in 3.5."

/* For messages: "copper, brass or steel"; a text, cut when it is long. "" when memory runs out,
 * which the diagnostics then say. */
const char *words_or(struct diagnostics *diagnostics, const char *const *words, size_t count);
const char *shown(struct diagnostics *diagnostics, const char *text);
#endif
