/* records.h - the keys of kinds, catalogue and rule files, each once. A row here
 * is the key in the shape check, the member of the record and libcyaml's field.
 *   TEXT(key, need)                a scalar
 *   TEXTS(key, need, most)         a list of scalars, at most so many
 *   MAP(key, need, most)           names of the author's own with values: read from
 *                                  the tree, because libcyaml knows no free keys
 *   LIST(key, need, most, record)  a list of mappings of another record
 * What is looked through from end to end has a limit, so that no file makes the
 * tool slow; MANY is as many as a file can hold. Private to the store. */
#ifndef RT_RECORDS_H
#define RT_RECORDS_H
#include <stddef.h>
#include <stdint.h>

#include "base/outcome.h"

#define MANY SIZE_MAX
#define MOST_WORDS 300      /* of an attribute; groups and ports of a kind */
#define MOST_ATTRIBUTES 300 /* of a kind, and common to all */
#define MOST_KINDS 500      /* of a store: each holds the common attributes again */
#define MOST_LETS 100       /* of a rule */

#define ATTRIBUTE_KEYS(TEXT, TEXTS, MAP, LIST)                                                     \
    TEXT(name, NEEDED)                                                                             \
    TEXT(unit, OPTIONAL)                                                                           \
    TEXT(customary, OPTIONAL)                                                                      \
    TEXTS(words, OPTIONAL, MOST_WORDS)                                                             \
    TEXT(type, OPTIONAL)                                                                           \
    TEXT(range, OPTIONAL)                                                                          \
    TEXT(list, OPTIONAL)                                                                           \
    TEXT(difference, OPTIONAL)                                                                     \
    TEXT(also, OPTIONAL)                                                                           \
    TEXT(also_divided_by, OPTIONAL)                                                                \
    TEXT(about, OPTIONAL)                                                                          \
    TEXT(ask, OPTIONAL)                                                                            \
    TEXT(assume, OPTIONAL)                                                                         \
    TEXT(because, OPTIONAL)                                                                        \
    TEXT(minimum, OPTIONAL)                                                                        \
    TEXT(maximum, OPTIONAL)                                                                        \
    TEXT(may_be, OPTIONAL)                                                                         \
    TEXT(weaker, OPTIONAL)                                                                         \
    TEXT(doubt, OPTIONAL)                                                                          \
    TEXT(solved, OPTIONAL)                                                                         \
    TEXT(of, OPTIONAL)

#define KIND_KEYS(TEXT, TEXTS, MAP, LIST)                                                          \
    TEXT(kind, NEEDED)                                                                             \
    TEXT(about, NEEDED)                                                                            \
    TEXTS(groups, OPTIONAL, MOST_WORDS)                                                            \
    TEXTS(ports, OPTIONAL, MOST_WORDS)                                                             \
    LIST(attributes, OPTIONAL, MOST_ATTRIBUTES, attribute)

#define ENTRY_KEYS(TEXT, TEXTS, MAP, LIST)                                                         \
    TEXT(entry, NEEDED)                                                                            \
    TEXT(kind, NEEDED)                                                                             \
    TEXT(about, NEEDED)                                                                            \
    MAP(values, OPTIONAL, MANY)

#define SOURCE_KEYS(TEXT, TEXTS, MAP, LIST)                                                        \
    TEXT(text, NEEDED)                                                                             \
    TEXT(practice, OPTIONAL)

#define PROOF_KEYS(TEXT, TEXTS, MAP, LIST)                                                         \
    MAP(given, OPTIONAL, MANY)                                                                     \
    TEXT(expect, NEEDED)                                                                           \
    TEXT(limit, OPTIONAL)

#define RULE_KEYS(TEXT, TEXTS, MAP, LIST)                                                          \
    TEXT(rule, NEEDED)                                                                             \
    TEXT(pairing, NEEDED)                                                                          \
    TEXT(under, OPTIONAL)                                                                          \
    TEXT(practice, OPTIONAL)                                                                       \
    TEXT(when, OPTIONAL)                                                                           \
    MAP(let, OPTIONAL, MOST_LETS)                                                                  \
    TEXT(error_unless, OPTIONAL)                                                                   \
    TEXT(caution_unless, OPTIONAL)                                                                 \
    TEXT(remind, OPTIONAL)                                                                         \
    TEXT(says, OPTIONAL)                                                                           \
    TEXT(caution_says, OPTIONAL)                                                                   \
    TEXT(mend, OPTIONAL)                                                                           \
    TEXT(because, NEEDED)                                                                          \
    LIST(sources, OPTIONAL, MANY, source)                                                          \
    LIST(proofs, OPTIONAL, MANY, proof)

#define FILE_KEYS(TEXT, TEXTS, MAP, LIST)                                                          \
    LIST(common, OPTIONAL, MOST_ATTRIBUTES, attribute)                                             \
    LIST(kinds, OPTIONAL, MANY, kind)                                                              \
    LIST(catalogue, OPTIONAL, MANY, entry)                                                         \
    LIST(rules, OPTIONAL, MANY, rule)

/* The records, innermost first, and what a message calls one. */
#define RECORDS(RECORD)                                                                            \
    RECORD(attribute, ATTRIBUTE_KEYS, "an attribute")                                              \
    RECORD(kind, KIND_KEYS, "a kind")                                                              \
    RECORD(entry, ENTRY_KEYS, "an entry")                                                          \
    RECORD(source, SOURCE_KEYS, "a source")                                                        \
    RECORD(proof, PROOF_KEYS, "a proof")                                                           \
    RECORD(rule, RULE_KEYS, "a rule")                                                              \
    RECORD(file, FILE_KEYS, "a file of rules, kinds or parts")

/* struct record_attribute and so on: strings of libcyaml's, NULL where the key is absent. */
#define MEMBER_TEXT(key, need) char *key;
#define MEMBER_TEXTS(key, need, most)                                                              \
    char **key;                                                                                    \
    unsigned key##_count;
#define MEMBER_MAP(key, need, most)
#define MEMBER_LIST(key, need, most, record)                                                       \
    struct record_##record *key;                                                                   \
    unsigned key##_count;
#define MEMBERS(record, KEYS, what)                                                                \
    struct record_##record {                                                                       \
        KEYS(MEMBER_TEXT, MEMBER_TEXTS, MEMBER_MAP, MEMBER_LIST)                                   \
    };
RECORDS(MEMBERS)
#undef MEMBERS
#undef MEMBER_LIST
#undef MEMBER_MAP
#undef MEMBER_TEXTS
#undef MEMBER_TEXT

/* Fills the records from bytes that have passed document_read and shape_check; records_drop frees
 * them. REFUSED: *why is a constant phrase. */
enum outcome records_load(const char *bytes, size_t length, struct record_file **out,
                          const char **why);
void records_drop(struct record_file *records); /* NULL is allowed */
#endif
