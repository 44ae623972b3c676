/* formula.h - the rule language: arithmetic with units over attributes, typed
 * by dimension when it is compiled, evaluated with three-valued logic. Knows
 * kinds and their attributes (store); what the values are, and which parts
 * stand in which relation, it asks through struct formula_world.
 *
 * Grammar, the loosest first:
 *   if A then B else C
 *   A or B
 *   A and B
 *   not A
 *   A at CONDITION            takes in a comparison; in brackets it picks a value
 *   A < B  <=  >  >=  =  !=   A is WORD   A is not WORD   A in [WORD, ...]   A not in ...
 *                             A in RANGE (its ends belong to it)   WORD in words attribute
 *   A .. B                    a range
 *   A else D                  D when A is unknown: then assumed
 *   A + B  A - B
 *   A * B  A / B
 *   -A
 *   A ^ 2
 *   12 V  3 %  -5 degC  2  1/0 AWG  ROLE.ATTRIBUTE  LETNAME  (...)  yes  no  'WORD'
 *   ROLE.ATTRIBUTE(X)         a figure of something: tank.time_to(35 degC); the kind says of what
 *   known(X) min(A, B, ..) max(A, B, ..) abs(X) sqrt(X) exp(X) ln(X) low(RANGE) high(RANGE)
 *   condition                 a word, the condition's name: condition is bright-noon
 *   count(KIND) total(KIND: X) least(KIND: X) most(KIND: X) any(KIND: X) all(KIND: X)
 *                             over every part of the rig of that kind
 *   total(RELATION KIND: X)   and so on: over those to which the first role stands in that
 *   total(ROLE RELATION KIND: X)   relation, or another role
 *
 * KIND may be a group (load) or `part`. Inside X the KIND is a role that stands for each part in
 * turn; an outer role of the same name is hidden there. One such inside another starts from the
 * part at hand: any(feeds pump: any(pump joins pipe: X)). count(KIND: X) counts those for which X
 * holds. Of no part at all: total and count are 0, all holds, any does not, least and most are
 * unknown. total multiplies nothing by itself: write X * panel.count.
 *
 * Ids may hold hyphens (pump-coil.flow): a minus sign behind a name has blanks around it. A word
 * that is no plain name is quoted: 'bspp-1/2'. Where there is one role, its attributes may stand
 * without it: max_head >= 5 m. A bare word stands for itself behind `is` and `in` (one of the
 * attribute's own words first, then a let name), and as the whole of a FORMULA_VALUE or of a
 * branch of it (if pump.type is diaphragm then yes else no); elsewhere it is quoted. An id is
 * compared with that of a role's part: thermostat.senses is tank.
 *
 * Values that differ by less than one part in 1e9 are equal. 0 / 0 and the root of a negative
 * number are unknown; 1 / 0 is without limit.
 *
 * Limits: 4096 bytes, 64 levels of brackets and the like, 512 terms (20000 with the let values
 * named), one total(...) or the like within another. */
#ifndef RT_FORMULA_H
#define RT_FORMULA_H
#include "base/arena.h"
#include "base/diagnostics.h"
#include "base/outcome.h"
#include "base/text.h"
#include "store/store.h"

struct formula;       /* compiled; lives in the arena given */
struct formula_words; /* a compiled template: words with {formulas} in them */

/* A name that stands for a part in a formula. In a rule: a kind or group of its pairing; in a rig's
 * need: a part's id. */
struct formula_role {
    const char *name;
    const struct kind *const
        *kinds; /* what it may be: an attribute must be there, alike, in each */
    size_t kind_count;
};

struct formula_scope {
    const struct store *store;
    const struct formula_role *roles; /* the first is the subject of relations */
    size_t role_count;
    bool no_subject; /* none of them is, as in a rig's needs: a relation names its role */
    const char *const *relations; /* words that any() and the like know, ended by NULL */
    const char *const *let_names; /* values that were named before, in order */
    const struct formula *const *lets;
    size_t let_count;
};

enum formula_wants { FORMULA_ANY, FORMULA_TRUTH, FORMULA_VALUE };

/* A let value is compiled with the roles of the formulas that name it, and given to them in `lets`
 * (NULL when it did not compile). A comparison's `limit` is its right side, or its left when only
 * that holds no attribute.
 *
 * NULL when it does not parse or type (or memory ran out: diagnostics->out_of_memory): the
 * diagnostics then hold one error with topic TOPIC_FORMULA at the line and column of the offending
 * word; `at` is where text begins. */
const struct formula *formula_compile(struct arena *arena, const char *text, struct place at,
                                      const struct formula_scope *scope, enum formula_wants wants,
                                      struct diagnostics *diagnostics);
/* The type of what it yields: dimension of a QUANTITY, RANGE, WORD, WORDS, or truth (type
 * VALUE_NONE, *truth). */
enum value_type formula_type(const struct formula *formula, struct dimension *dimension,
                             bool *truth);

/* Does it, or a let value that it names, compare quantities (<, <=, >, >=, in a range), so that it
 * has a limit? */
bool formula_compares(const struct formula *formula);

/* Can it come out otherwise in another condition? */
bool formula_varies(const struct formula *formula);

/* Attributes that a formula may look at: begin with *at 0; false when there are no more. *role is
 * SIZE_MAX for one inside total(...) and the like. Those of let values are not among them. */
bool formula_attribute(const struct formula *formula, size_t *at, size_t *role,
                       const struct attribute **attribute);

/* Kinds that its total(...), any(...) and the like go over: begin with *at 0; false when there are
 * no more. Those of let values are not among them. */
bool formula_gathers(const struct formula *formula, size_t *at, const struct kind *const **kinds,
                     size_t *count);

/* "{fuse} can pass {fuse.rating}; over {fuse.rating * 2 : mA}." Doubled braces stand for
 * themselves. {ROLE} is the part's id; `: UNIT` after a formula picks the unit printed, else the
 * attribute's own; `: UNIT or CUSTOMARY` also the one for US customary units, where that is not
 * what the trade writes in its place as a rule. A number of the sentence's own stands in braces
 * too, as {0.2 m}, so that it is told in the units of the rig. What stands between {when FORMULA}
 * and {end} is said only when the formula holds. */
const struct formula_words *formula_words_compile(struct arena *arena, const char *text,
                                                  struct place at,
                                                  const struct formula_scope *scope,
                                                  struct diagnostics *diagnostics);

/* Where a value comes from, worst last: a sum of given and assumed values counts as assumed. */
enum origin { ORIGIN_GIVEN, ORIGIN_LISTED, ORIGIN_SOLVED, ORIGIN_ASSUMED, ORIGIN_UNKNOWN };
const char *origin_name(enum origin origin); /* "given", "listed", ... */

/* What the evaluator asks. Parts are the caller's own numbers. All calls answer false / VALUE_NONE
 * when unknown. */
struct formula_world {
    enum unit_system units; /* in which values are told */
    const void *data;
    /* attribute `index` of the part's kind under a condition */
    bool (*value)(const void *data, size_t part, int attribute, enum condition condition,
                  struct value *out, enum origin *origin);
    const struct kind *(*kind)(const void *data, size_t part);
    const char *(*id)(const void *data, size_t part);
    /* parts to which `part` stands in a relation, in the rig's order; `part` SIZE_MAX and relation
     * NULL: every part. */
    size_t (*related)(const void *data, size_t part, const char *relation, const size_t **out);
    /* those of them that are of one kind; false: go through `related`. May be NULL */
    bool (*related_of_kind)(const void *data, size_t part, const char *relation,
                            const struct kind *kind, const size_t **out, size_t *count);
    /* every part of a kind, in the rig's order; may be NULL: then all parts are gone through */
    size_t (*of_kind)(const void *data, const struct kind *kind, const size_t **out);
    /* what `value` gives for an attribute that is a quantity, in SI, NAN when unknown; may be NULL:
     * then `value` is asked */
    double (*number)(const void *data, size_t part, int attribute, enum condition condition,
                     enum origin *origin);
    /* the same of one that is a word, a text or an id; NULL when unknown */
    const char *(*word)(const void *data, size_t part, int attribute, enum condition condition,
                        enum origin *origin);
    /* as value, of an attribute that is a figure of something: of `argument`, in SI; may be
     * NULL: then unknown */
    bool (*value_of)(const void *data, size_t part, int attribute, enum condition condition,
                     double argument, struct value *out, enum origin *origin);
    /* is an unknown value there, but can't be read? Then it is not absent either: known(X) and
     * X else D are unknown with it. May be NULL: none is. */
    bool (*unread)(const void *data, size_t part, int attribute);
};

enum truth { TRUTH_NO, TRUTH_YES, TRUTH_UNKNOWN };

struct formula_result {
    struct value value; /* VALUE_NONE when unknown, or when it is a truth */
    enum truth truth;   /* of a FORMULA_TRUTH */
    enum origin origin;
    bool has_margin; /* a comparison decided it */
    /* Signed, as a share of the limit: a <= b gives (b - a) / |b|, a >= b gives (a - b) / |b|; a
     * limit of 0 counts as the larger of both figures; one in degC as its figure, at least 1 K.
     * Positive when it holds, 0 exactly at the limit (where < and > fail). Equality has no limit
     * and so no margin. `and` gives the smallest of those that decide, `or` the largest, `not`
     * turns the sign. Within -1e9 .. 1e9. */
    double margin;
};

/* One attribute that was looked at while evaluating. */
struct formula_use {
    size_t part;
    int attribute;
    enum condition condition;
    double argument; /* SI; of an attribute that is a figure of something, else NAN */
    bool unknown;
};

struct formula_uses {
    /* In order of first use, each once; more than fit are not kept, the known before the unknown.
     * The unknown are exactly those that keep the formula from being decided: none when it is. */
    struct formula_use at[32];
    size_t count;
};

/* What was looked at, again: its value, and what stands behind the attribute's name ("(35 degC)";
 * nothing where it is a figure of nothing). */
bool formula_use_value(const struct formula_world *world, const struct formula_use *use,
                       struct value *out, enum origin *origin);
void formula_use_argument(const struct formula_world *world, const struct formula_use *use,
                          struct text *out);

/* Let values that come out the same in every condition, kept for formulas of the same lets, parts
 * and world that are evaluated one after another. Its counts are 0 at first. */
struct formula_memory {
    struct formula_kept {
        const struct formula *let;
        double number; /* SI; or the margin of a truth */
        enum truth truth;
        enum origin origin;
        size_t first_use, use_count; /* what was looked at for it, in `uses` */
    } at[8];
    size_t count;
    struct formula_use uses[32];
    size_t use_count;
};

/* Evaluates; no allocation, cannot fail. parts[i] is the part of role i. uses may be NULL. */
struct formula_result formula_evaluate(const struct formula *formula,
                                       const struct formula_world *world, const size_t *parts,
                                       enum condition condition, struct formula_uses *uses);
/* The same with what is remembered of evaluations before. */
struct formula_result formula_evaluate_again(const struct formula *formula,
                                             const struct formula_world *world, const size_t *parts,
                                             enum condition condition, struct formula_uses *uses,
                                             struct formula_memory *memory);

/* The working, a line each, appended to out:
 *   fuse.rating <= limit
 *   limit = 0.8 * cable.ampacity = 0.8 * 14.5 A = 11.6 A
 *   10 A <= 11.6 A
 *   holds, with 14 % to spare
 * that is: in symbols, each let value, with numbers and units, and what comes of it ("fails, by
 * 29 %", "= 11.6 A" of a value, "cannot be decided: f1.rating is unknown"). */
void formula_working(const struct formula *formula, const struct formula_world *world,
                     const size_t *parts, enum condition condition, struct text *out);

/* The template's words for these parts. A value that is unknown prints as "(unknown)". Of the
 * formula `decided` (NULL: of none) the values compared have digits enough to differ in print. */
void formula_words_print(const struct formula_words *words, const struct formula_world *world,
                         const size_t *parts, enum condition condition,
                         const struct formula *decided, struct text *out);
#endif
