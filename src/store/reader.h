/* reader.h - what the readers of kinds, catalogue and rules share while one set
 * of files is added to a store. Private to the store. */
#ifndef RT_READER_H
#define RT_READER_H
#include "base/names.h"
#include "store/faults.h"
#include "store/records.h"
#include "store/store.h"

/* One file of the set, accepted by document_read and shape_check. */
struct source_file {
    const struct node *root;
    struct record_file *records; /* libcyaml's; dropped when the set is done */
};

struct reader {
    struct arena *arena;
    struct diagnostics *diagnostics;
    const struct store *old; /* what was there before */
    /* What the set adds. Its names go to indices in the list. */
    struct {
        struct attribute *at;
        size_t count, room;
    } common;
    struct {
        struct kind *at;
        size_t count, room;
    } kinds;
    struct {
        struct entry *at;
        size_t count, room;
    } entries;
    struct {
        struct rule *at;
        size_t count, room;
    } rules;
    struct names *common_names, *kind_names, *entry_names, *rule_names;
    struct faults faults; /* of all files of the set */
    bool no_memory;       /* sticky */
};

/* One step each; the steps go over all files of the set in this order. */
void read_common(struct reader *reader, const struct source_file *file);
void read_kinds(struct reader *reader, const struct source_file *file);
void read_entries(struct reader *reader, const struct source_file *file);
void read_rules(struct reader *reader, const struct source_file *file);

#define COMPLAIN(reader, topic, at, ...) FAULT(&(reader)->faults, (topic), (at), __VA_ARGS__)

/* True when reading on is of no use. */
bool reader_is_done(const struct reader *reader);
/* A copy in the arena of a string of libcyaml's; NULL of NULL, and when memory runs out. */
const char *keep(struct reader *reader, const char *string);
const char *const *keep_texts(struct reader *reader, char *const *texts, size_t count);
/* What a key stands before, or the mapping itself when the key is absent. */
const struct node *value_of(const struct node *mapping, const char *key);
/* `yes` and `no` of a key; absent is no. */
bool keep_yes(struct reader *reader, const struct node *mapping, const char *key, const char *text);
/* Lowercase letters, digits and what stands in `joints` between them, a letter first. */
bool name_is_good(const char *name, const char *joints);
/* False when a name of the set is taken; *was then gets its number. */
bool name_is_new(struct reader *reader, struct names *names, const char *name, size_t number,
                 size_t *was);
/* Complains that a name is there already, with both places. */
void already_there(struct reader *reader, struct place at, struct place also, const char *name);
#endif
