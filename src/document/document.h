/* document.h - a YAML file as a tree that remembers where everything stands.
 * Reads with libyaml's events; refuses what a parts list never needs (anchors,
 * aliases, tags, merge keys, a second document, keys that are not plain text)
 * and whatever passes a limit, each with its place. Knows nothing of rigs. */
#ifndef RT_DOCUMENT_H
#define RT_DOCUMENT_H
#include "base/arena.h"
#include "base/diagnostics.h"
#include "base/outcome.h"

enum node_type { NODE_SCALAR, NODE_MAPPING, NODE_SEQUENCE };

struct node {
    enum node_type type;
    struct place at;
    bool empty;       /* a scalar that stands for nothing: `key:`, `~` or `null`, not quoted */
    bool quoted;      /* a scalar in quotes or block style */
    bool damaged;     /* what is wrong in it has been reported: a scalar whose text was refused; a
                         mapping or sequence that lost a child or was cut short where reading stopped */
    bool cut;         /* of the root: reading stopped before the end of the file */
    const char *text; /* a scalar's decoded text, NUL-terminated, no NUL inside */
    size_t count;     /* children */
    struct node_pair *pairs; /* of a mapping, in file order, keys unique */
    struct node **items;     /* of a sequence */
};

struct node_pair {
    const char *key;
    struct place key_at;
    struct node *value;
};

struct document_limits {
    size_t file_bytes, depth, scalar_bytes, key_bytes, nodes;
};
extern const struct document_limits document_limits_default; /* 4 MiB, 32, 64 KiB, 256, 600000 */

/* Reads bytes[0..length) shown as `name`. What is wrong goes to diagnostics, a thousand faults at
 * the most. Duplicate keys are reported and the first is kept, so that the rest can still be
 * checked. Where reading has to stop, what was read until then is kept, its open mappings and lists
 * damaged and its root cut. A character that may not stand in a
 * file is U+FFFD in the tree. REFUSED only when no tree can be had at all, NO_MEMORY when an
 * allocation failed; *root is then NULL. All lives in arena; bytes may go after the call. */
enum outcome document_read(struct arena *arena, const char *name, const char *bytes, size_t length,
                           const struct document_limits *limits, struct diagnostics *diagnostics,
                           struct node **root);
/* The same from a file; refuses what is not a regular file, without waiting for a pipe. What can't
 * be opened or read is reported for the file as a whole: line 0. */
enum outcome document_read_file(struct arena *arena, const char *path,
                                const struct document_limits *limits,
                                struct diagnostics *diagnostics, struct node **root);
/* The bytes of a file alone, for a second reader of the same bytes. *bytes is malloc'ed, for the
 * caller to free; NULL unless OK. */
enum outcome document_bytes(struct arena *arena, const char *path,
                            const struct document_limits *limits, struct diagnostics *diagnostics,
                            char **bytes, size_t *length);

/* The pair of a key in a mapping, or NULL. */
const struct node_pair *node_find(const struct node *mapping, const char *key);
#endif
