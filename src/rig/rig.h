/* rig.h - one design: its parts with their attributes, its runs, what it is
 * for. Reading it from YAML, the defaults of its kinds, and how its parts stand
 * to each other. Knows no physics. */
#ifndef RT_RIG_H
#define RT_RIG_H
#include <math.h>
#include <stdint.h>

#include "base/arena.h"
#include "base/diagnostics.h"
#include "base/names.h"
#include "base/outcome.h"
#include "formula/formula.h"
#include "store/store.h"

#define NO_PART SIZE_MAX
#define RIG_PARTS_MAX 20000       /* parts and runs of one rig */
#define RIG_RELATIONS_MAX 2000000 /* pairs of related parts of one rig */

enum relation {
#define RELATION(symbol, word, inverse, about) RELATION_##symbol,
#include "rig/relation.def"
#undef RELATION
    RELATION_COUNT
};
extern const char *const relation_words[]; /* both ways, for formula_scope; ended by NULL */

/* A solved figure that is one of something: time_to(35 degC). */
struct part_series {
    double (*find)(const void *data,
                   double argument); /* SI in and out; NAN: not known, INFINITY: never */
    const void *data;
    const double *at, *value; /* some of them, to be shown */
    size_t count;
};

/* The value of one attribute of one part. */
struct part_value {
    enum origin origin;  /* ORIGIN_UNKNOWN: nothing known */
    bool unread;         /* unknown because what was written can't be read, which is told. Neither
                            asked for nor told as assumed; the physics goes on with what is usual,
                            and what it solves with that counts as unread too (solve_doubt) */
    bool missed;         /* ... and the physics did look for it */
    struct value value;  /* given, listed or assumed */
    struct place at;     /* where it was given */
    const char *because; /* reason of an assumption */
    double *solved;      /* of a solved attribute: CONDITION_COUNT numbers in SI (SOLVED_ONCE: one);
                            NAN: it has no meaning there; a yes/no word is 1 or 0. Else NULL. */
    const struct part_series *series; /* of a solved figure of something; NULL: not known */
};

struct through {
    size_t part;
    double distance_m; /* from the run's `from` end; NAN: not given */
    bool unread;       /* the distance is given, but can't be read */
    struct place at;
};

struct part {
    const char *id;
    const struct kind *kind;
    const struct entry *entry; /* from `use:`, or NULL */
    struct place at;           /* of its id, or of a run's line */
    struct part_value *values; /* kind->attribute_count, in its order */
    bool unread;               /* what it is can't be read: of a kind that is near what is written,
                                  its figures all unread */
    /* runs only (kinds cable and pipe): */
    size_t from, to; /* parts at its ends; NO_PART when the name was wrong */
    const struct through *through;
    size_t through_count;
    size_t plugs[2]; /* `ends: [plug_a, plug_b]`, NO_PART */
};

struct need {
    const char *text;
    struct place at;
    const struct formula *formula; /* NULL when it did not compile (a diagnostic says why) */
    const size_t *parts;           /* the parts of its roles */
    size_t part_count;
};

struct accept {
    const char *rule, *on, *because, *until; /* until: YYYY-MM-DD or NULL */
    struct place at;
};

/* How a figure that was worked out late came about; lines, each ended by \n. */
struct rig_note {
    size_t part;
    const char *attribute, *lines;
    const struct rig_note *next;
};

/* Solved figures that are worked out only when the first of them is asked for. Made by the solver,
 * in the rig's arena; whoever asks first pays. One rig is asked by one thread at a time. */
struct rig_later {
    struct rig *rig;
    bool (*covers)(const struct rig *rig, size_t part,
                   const char *attribute); /* is it one of them? */
    void (*work)(struct rig_later *later); /* fills them in, as far as they can be known */
    bool done, no_memory;
    const struct rig_note *notes;
};

/* Where a kind has one of the numbers that are solved. */
struct rig_field {
    short at; /* -1: it has none */
    bool once;
};

struct rig {
    struct arena *arena; /* owns everything here */
    const struct store *store;
    const char *file; /* as shown */
    const char *name;
    bool damaged; /* part of the file could not be read: what seems unused may be used there */
    bool unread;  /* some of its values are */
    enum practice practice;
    struct part *parts; /* in file order: those of `parts:`, then cables, then pipes, then `site`
                           and `rig` */
    size_t part_count;
    struct names *names;   /* from ids to parts */
    const size_t *by_kind; /* all parts, those of a kind together, each kind in the rig's order */
    const size_t *
        of_kind; /* by kind's place in the store: where it begins in by_kind; one more at the end */
    size_t site, whole; /* the parts of kind site and rig; always there */
    const struct need *needs;
    size_t need_count;
    const struct accept *accepts;
    size_t accept_count;
    const struct links *links;        /* made by rig_read; see rig_related */
    const struct rig_field *fields;   /* see solve_fields_new; NULL: the solver makes its own */
    double solve_imbalance;           /* left by solve_rig, see solve_imbalance() */
    struct rig_later *later;          /* NULL: nothing is left to work out */
    const struct buying_list *buying; /* see rig/buying.h; made by solve_rig, NULL before */
};

/* The defaults of all kinds, compiled once and used for every rig. */
struct defaults;
/* NULL when a default does not compile (the diagnostics say which) or memory runs out. */
const struct defaults *defaults_new(struct arena *arena, const struct store *store,
                                    struct diagnostics *diagnostics);

/* What `rigtally.yaml` says for all rigs of its repository; a rig's own words go before it, key by
 * key. Nodes live in the arena that it was read with. */
#define RIG_SETTINGS_FILE "rigtally.yaml"
struct rig_folders {
    const struct node *const *at; /* scalars: relative folders, not yet looked at */
    size_t count;
};
struct rig_settings {
    const char *file;                 /* as shown */
    const struct node_pair *practice; /* NULL: not said */
    const struct node *site;          /* a mapping, or NULL */
    struct rig_folders rules, catalogue;
};
/* What is wrong goes to diagnostics; what can be used is used. `path` must outlive *out. */
enum outcome rig_settings_read(struct arena *arena, const char *path,
                               struct diagnostics *diagnostics, struct rig_settings *out);
/* As rig_read below; `settings` may be NULL. */
enum outcome rig_read_with(struct arena *arena, const struct store *store,
                           const struct defaults *defaults, const struct rig_settings *settings,
                           const char *path, struct diagnostics *diagnostics, struct rig **out);

/* Reads a rig file. What is wrong goes to diagnostics, with its place, and reading goes on: REFUSED
 * only when there is nothing to judge, or no more than the half of a file that broke off.
 * Assumptions are filled in; solved attributes have room but are NAN. `defaults` were made of
 * `store`; both must outlive the rig. */
enum outcome rig_read(struct arena *arena, const struct store *store,
                      const struct defaults *defaults, const char *path,
                      struct diagnostics *diagnostics, struct rig **out);
/* The same from bytes, shown as `name`. */
enum outcome rig_read_bytes(struct arena *arena, const struct store *store,
                            const struct defaults *defaults, const char *name, const char *bytes,
                            size_t length, struct diagnostics *diagnostics, struct rig **out);

/* The same from a tree that was read (or changed, see edit.h), which must outlive the rig. */
enum outcome rig_read_tree(struct arena *arena, const struct store *store,
                           const struct defaults *defaults, const struct rig_settings *settings,
                           const char *file, const struct node *root,
                           struct diagnostics *diagnostics, struct rig **out);

size_t rig_find_part(const struct rig *rig, const char *id); /* NO_PART when there is none */

/* Parts to which `part` stands in the relation (by its word, either way round), in the rig's order;
 * relation NULL: every part of the rig. */
size_t rig_related(const struct rig *rig, size_t part, const char *relation, const size_t **out);
/* Those of them that are of one kind. False where they are so few that they are not kept by kind.
 */
bool rig_related_of_kind(const struct rig *rig, size_t part, const char *relation,
                         const struct kind *kind, const size_t **out, size_t *count);

/* Works out what was left for later, unless that is done. */
void rig_work_later(const struct rig *rig);

/* A solved number as a value of its attribute's type; false when it has no meaning there (NAN). */
bool solved_value(const struct attribute *attribute, double number, struct value *out);

/* In whose units its figures are told: those of its practice. */
enum unit_system rig_units(const struct rig *rig);
/* A figure of a part as words: as the rig gives it, else in the units of the rig. */
void part_tell(struct text *text, const struct rig *rig, const struct attribute *attribute,
               const struct part_value *value);

/* What the formula language asks, answered from a rig; works out what was left for later when it is
 * asked for. */
struct formula_world rig_world(const struct rig *rig);

/* The same rig with figures of its own, to be moved within their doubt and solved again. All else
 * it shares with the rig, which must outlive it. In the arena given; NULL: no memory. */
struct rig_twin;
struct rig_twin *rig_twin_new(struct arena *arena, const struct rig *rig);
/* The twin, with all its figures as they are in the rig; what is solved in these conditions (bits,
 * 1 << condition) and once for all is unknown again, in others as in the rig. */
struct rig *rig_twin_reset(struct rig_twin *twin, unsigned conditions);
/* Is this figure known, and may the real one lie to the weaker (stronger) side of it? */
static inline bool rig_may_be_off(const struct part *part, size_t index, bool weaker)
{
    const struct attribute *attribute = &part->kind->attributes[index];
    enum value_type type = part->values[index].value.type;
    if (!attribute->may_be || (type != VALUE_QUANTITY && type != VALUE_POINTS))
        return false;
    if (part->values[index].unread)
        return false;
    return (weaker == attribute->weaker_high ? attribute->may_high : attribute->may_low) != 0.0;
}
/* Moves such a figure to that end, within the attribute's limits. False: no memory. */
bool rig_twin_move(struct rig_twin *twin, size_t part, size_t attribute, bool weaker);

/* Plain numbers for the physics. NAN / NULL / false when unknown. Here, as kind_attribute is. */
static inline const struct part_value *part_value(const struct part *part, const char *attribute)
{
    int index = kind_attribute(part->kind, attribute);
    if (index < 0)
        return NULL;
    if (part->values[index].unread)
        part->values[index].missed = true;
    return &part->values[index];
}

/* SI; also-units are converted. */
static inline double part_number(const struct part *part, const char *attribute)
{
    const struct part_value *value = part_value(part, attribute);
    if (!value || value->value.type != VALUE_QUANTITY)
        return NAN;
    return value->value.as.quantity.value;
}

static inline double part_number_or(const struct part *part, const char *attribute,
                                    double otherwise)
{
    double number = part_number(part, attribute);
    return isnan(number) ? otherwise : number;
}

static inline bool part_range(const struct part *part, const char *attribute, double *low,
                              double *high)
{
    const struct part_value *value = part_value(part, attribute);
    if (!value || value->value.type != VALUE_RANGE)
        return false;
    *low = value->value.as.range.low.value;
    *high = value->value.as.range.high.value;
    return true;
}

static inline const char *part_word(const struct part *part, const char *attribute)
{
    const struct part_value *value = part_value(part, attribute);
    if (!value)
        return NULL;
    enum value_type type = value->value.type;
    return type == VALUE_WORD || type == VALUE_TEXT || type == VALUE_ID ? value->value.as.word
                                                                        : NULL;
}

static inline bool part_is(const struct part *part, const char *attribute, const char *word)
{
    const char *now = part_word(part, attribute);
    return now && name_same(now, word);
}
/* Is it of just this kind (not of a group: kind_is)? */
static inline bool part_of_kind(const struct part *part, const char *kind)
{
    return part->kind && name_same(part->kind->name, kind);
}
/* It lies in a drawer: it does nothing and is not judged. */
static inline bool part_is_spare(const struct part *part)
{
    return part_is(part, "spare", "yes");
}

/* Where the physics puts a result. An attribute that the kind does not have is our own mistake:
 * asserted. */
void part_solve(struct part *part, const char *attribute, enum condition condition, double value);
void part_solve_once(struct part *part, const char *attribute, double value);
double part_solved(const struct part *part, const char *attribute, enum condition condition);
#endif
