/* store.h - kinds, catalogue entries and rules as records: the words of the
 * whole tool. They come from YAML, through the document tree (shape, places)
 * and libcyaml (records of strings); those built in were read when the tool was
 * built and are const tables in the binary. Formulas stay text here: the layer
 * below compiles them. Knows nothing of rig files. */
#ifndef RT_STORE_H
#define RT_STORE_H
#include <string.h>

#include "base/arena.h"
#include "base/diagnostics.h"
#include "base/outcome.h"
#include "document/document.h"
#include "quantity/value.h"

enum condition {
#define CONDITION(symbol, name, about) CONDITION_##symbol,
#include "store/condition.def"
#undef CONDITION
    CONDITION_COUNT
};
const char *condition_name(enum condition condition);
bool condition_find(const char *name, enum condition *out);
const char *condition_list(void); /* "bright-noon, cloud-edge, ..." */

enum practice { PRACTICE_ANY, PRACTICE_IEC, PRACTICE_NORTH_AMERICA };
const char *practice_name(enum practice practice); /* "iec", "north-america"; ANY: NULL */
bool practice_find(const char *name, enum practice *out);

/* When an attribute is worked out. */
enum solved { SOLVED_NO, SOLVED_EACH_CONDITION, SOLVED_ONCE };

struct attribute {
    const char *name;
    enum value_type type;
    struct dimension dimension;  /* QUANTITY, RANGE */
    const char *unit;            /* in which it is printed: "L/h"; "" for a bare number */
    const char *customary;       /* told in its place in US customary units, where that is not what
                                    the trade writes for it as a rule; NULL: as a rule */
    const char *also_unit;       /* voc_temp: %/K, also V/K, which is then divided by ... */
    const char *also_divided_by; /* ... this attribute of the same part. NULL: no second way */
    const char *const *words;    /* allowed words of WORD and WORDS; NULL: any */
    size_t word_count;
    const char *about;      /* a sentence */
    const char *ask;        /* what to ask a seller, without question mark; NULL: not asked */
    const char *assume;     /* formula of a default over the same part and site; NULL: none */
    struct place assume_at; /* of its first character */
    const char *because;    /* why that default */
    const char *minimum, *maximum; /* a value outside is refused; NULL: no limit */
    double least, most;            /* the same in SI; -INFINITY and INFINITY: no limit */
    bool difference;               /* a temperature difference: 5 degC is read as 5 K */
    /* Where the real thing may lie: between its label and these two ends. Of points, the second
     * figure of each. */
    const char *may_be; /* "-15 .. 0 %", or in its own unit "-1 .. 1 K"; NULL: as the label says */
    double may_low, may_high; /* shares of the figure when may_share, else SI to be added to it */
    bool may_share;
    bool weaker_high;  /* the rig gives less (water, warmth, light) at the high end */
    const char *doubt; /* why, and who says so */
    enum solved solved;
    const char
        *of; /* solved, as a figure of something: time_to(35 degC) is of "degC"; NULL: of nothing */
    struct dimension of_dimension;
    struct place at;
};

/* How many numbers a solved attribute holds; of any other, none. */
static inline size_t solved_count(const struct attribute *attribute)
{
    return attribute->solved == SOLVED_NO     ? 0
           : attribute->solved == SOLVED_ONCE ? 1
                                              : CONDITION_COUNT;
}

struct kind {
    const char *name;
    const char *about;
    const char *const
        *groups; /* wider words it goes by in rules: load, source, in-line, device, run */
    size_t group_count;
    const char *const *ports; /* power, inlet, outlet, ...: what can be joined to it */
    size_t port_count;
    /* Those common to every part first, in one order for all kinds; a kind may say one of them in
     * its own words (same name and type), which then stands in the common one's place. */
    const struct attribute *attributes;
    size_t attribute_count;
    const short *slots; /* where an attribute is found by its name (kind_fill_slots); NULL: in none,
                           then all are gone through */
    size_t slot_count;  /* a power of two */
    /* Of its attributes: those that are worked out, which hold number_count numbers together, and
     * those whose label may be off. */
    const short *solved, *doubtful;
    size_t solved_count, number_count, doubtful_count;
    struct place at;
};

struct entry_value {
    const char *attribute;
    const char *text; /* the value as YAML flow text: "12 V", "[always, timed]", "{ elbow: 3 }" */
    struct place at;
};

struct entry {
    const char *name;
    const char *kind;
    const char *about; /* what is typical about it */
    const struct entry_value *values;
    size_t value_count;
    struct place at;
};

struct rule_text {    /* a formula or template with its place in the rule file */
    const char *text; /* NULL: not given */
    struct place at;
};

struct rule_let {
    const char *name;
    struct rule_text formula;
};

struct rule_source {
    const char *text;
    enum practice practice;
};

struct rule_given { /* one value of a proof: "fuse.rating" = "10 A" */
    const char *name, *value;
    struct place at;
};

struct rule_proof {
    const struct rule_given *given;
    size_t given_count;
    const char
        *expect; /* holds, error, caution, question, reminder, not-asked (its `when` is false) */
    bool limit;  /* stated by its author: exactly at the limit */
    struct place at;
};

struct rule {
    const char *name;
    struct rule_text pairing; /* "fuse protects cable", "pump", "rig" */
    struct rule_text under;   /* a condition's name or "every"; NULL: values that do not change */
    struct rule_text when, error_unless, caution_unless, remind;
    struct rule_text says, caution_says, mend; /* templates; caution_says NULL: as says */
    const char *because;
    enum practice practice;
    const struct rule_let *lets;
    size_t let_count;
    const struct rule_source *sources;
    size_t source_count;
    const struct rule_proof *proofs;
    size_t proof_count;
    struct place at;
};

/* Everything that is known of kinds, parts and rules. Never changed once made: adding makes a new
 * one. */
struct store {
    const struct attribute *common; /* what every kind begins with */
    size_t common_count;
    const struct kind *kinds;
    size_t kind_count;
    const struct entry *entries;
    size_t entry_count;
    const struct rule *rules;
    size_t rule_count;
    size_t sound_rule_count; /* the first so many were compiled and proved when the tool was built;
                                0 when kinds were added since, which could change what they mean */
    const unsigned *kind_order, *entry_order,
        *rule_order; /* their indices in byte order of the names */
};

/* The store that was built in; const tables, so that nothing is made at start. */
void store_builtin(struct store *out);

/* Adds what a YAML file holds (`common:`, `kinds:`, `catalogue:`, `rules:`) to a store. A kind,
 * entry or rule of a name that is there already is refused with both places. What is wrong goes to
 * diagnostics with its place; then the answer is REFUSED and the store is as it was. The store's
 * content afterwards lives in arena, and in whatever it lived in before. */
enum outcome store_add_file(struct arena *arena, struct store *store, const char *path,
                            struct diagnostics *diagnostics);
/* Every *.yaml below a folder, in byte order of their paths, as one: a file may use kinds of
 * another. Names that begin with a point, and links, are passed over. A folder without any is no
 * mistake here. */
enum outcome store_add_folder(struct arena *arena, struct store *store, const char *folder,
                              struct diagnostics *diagnostics);
/* The same from bytes, shown as `name`. */
enum outcome store_add_bytes(struct arena *arena, struct store *store, const char *name,
                             const char *bytes, size_t length, struct diagnostics *diagnostics);

const struct kind *store_kind(const struct store *store, const char *name);
const struct entry *store_entry(const struct store *store, const char *name);
/* Does the entry give this figure? */
bool entry_lists(const struct entry *entry, const char *attribute);
const struct rule *store_rule(const struct store *store, const char *name);
/* Where a kind looks for an attribute: three letters and the length tell most of its names apart.
 * Here, because attributes are asked for by name all over, several hundred times a rig, and of a
 * name that stands in the code the compiler works it out. */
static inline size_t attribute_key(const char *name)
{
    size_t length = strlen(name), last = length ? length - 1 : 0;
    return 5u * (unsigned char)name[0] + 37u * (unsigned char)name[length / 2] +
           7u * (unsigned char)name[last] + 13u * length;
}
int kind_attribute_by(const struct kind *kind, const char *name, size_t key);
/* Index in kind->attributes, or -1. */
static inline int kind_attribute(const struct kind *kind, const char *name)
{
    return kind_attribute_by(kind, name, attribute_key(name));
}
/* A value of the attribute as words, in its own unit as told in `system`. */
void attribute_tell(struct text *text, const struct attribute *attribute, const struct value *value,
                    enum unit_system system);
/* How many slots serve so many attributes; fills them, for kind_attribute. */
size_t kind_slots_for(size_t attribute_count);
void kind_fill_slots(const struct kind *kind, short *slots, size_t slot_count);
/* True when `word` is the kind's name, one of its groups, or "part". */
bool kind_is(const struct kind *kind, const char *word);
#endif
