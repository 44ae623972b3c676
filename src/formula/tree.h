/* tree.h - what a compiled formula is made of; private to src/formula. A tree
 * lies in one flat array, children before their parents' numbers are known, so
 * nodes name each other by index. Stages: lexer.c cuts words, parser.c makes the
 * tree, check.c gives every node a type, evaluate.c and working.c only read. */
#ifndef RT_FORMULA_TREE_H
#define RT_FORMULA_TREE_H
#include <stdint.h>

#include "base/names.h"
#include "formula/formula.h"

/* Limits, each named to the author when met. They bound the stack and the time of every later
 * stage. */
enum {
    FORMULA_MOST_BYTES = 4096, /* text of a formula, and of a template */
    FORMULA_MOST_LEVELS = 64,  /* brackets, if, not, minus ... within each other */
    FORMULA_MOST_NODES = 512,  /* numbers, attributes and operators */
    FORMULA_MOST_DEPTH = 1024, /* of the tree, with those of the let values it names */
    FORMULA_MOST_COST = 20000, /* nodes, with those of the let values, as often as they are named */
    FORMULA_MOST_NESTING = 2,  /* total(...) within any(...) */
    FORMULA_MOST_HEAD = 4,     /* words before the colon of total(...) */
    FORMULA_NONE = -1,         /* no node */
};

enum node_op {
    NODE_NUMBER,
    NODE_TRUTH, /* yes or no where a truth is due */
    NODE_WORD,
    NODE_LIST, /* [a, b] */
    NODE_NAME, /* a bare name: after checking an attribute, a let, the condition or a word */
    NODE_ATTRIBUTE,
    NODE_LET,
    NODE_CONDITION,
    NODE_PART, /* the id of a role's part */
    NODE_NEGATE,
    NODE_ADD,
    NODE_SUBTRACT,
    NODE_MULTIPLY,
    NODE_DIVIDE,
    NODE_POWER,
    NODE_RANGE, /* A .. B */
    NODE_ELSE,
    NODE_LESS,
    NODE_AT_MOST,
    NODE_MORE,
    NODE_AT_LEAST,
    NODE_EQUAL,
    NODE_UNEQUAL,
    NODE_IS,
    NODE_IS_NOT,
    NODE_IN,
    NODE_NOT_IN,
    NODE_NOT,
    NODE_AND,
    NODE_OR,
    NODE_AT,
    NODE_IF,
    NODE_KNOWN,
    NODE_MIN,
    NODE_MAX,
    NODE_ABS,
    NODE_SQRT,
    NODE_EXP,
    NODE_LN,
    NODE_LOW,
    NODE_HIGH,
    NODE_COUNT,
    NODE_TOTAL,
    NODE_LEAST,
    NODE_MOST,
    NODE_ANY,
    NODE_ALL,
};
enum { NODE_OPS = NODE_ALL + 1 }; /* how many there are */

/* A stretch of the formula's text: bytes start .. end. */
struct stretch {
    unsigned short start, end;
};

struct vocabulary { /* the words a value may be; at NULL: any word */
    const char *const *at;
    size_t count;
};

/* An attribute as it stands in each kind that a role may be. */
struct reference {
    const struct kind *const *kinds;
    const int *index; /* in kinds[i]->attributes */
    size_t count;
    size_t slot; /* number of the role; past the scope's roles: bound by total(...) */
    bool each_condition;
};

/* The parts that an aggregate goes over. */
struct gathering {
    const char *relation; /* NULL: every part of the rig */
    size_t from;          /* slot of the role that stands in the relation */
    size_t slot;          /* to which each part found is bound */
    const struct kind *const *kinds;
    size_t kind_count;
};

/* What matters to the checker and to the printers: kept apart, so that what is evaluated lies
 * close together. */
struct told {
    struct unit unit; /* in which to print it; name NULL: as a practitioner expects */
    struct vocabulary words;
};

struct formula_node {
    enum node_op op;
    short first, second, third; /* children; of a call or list: first of the chain */
    short next;                 /* in a chain of arguments */
    bool bracketed;
    bool constant;            /* holds no attribute: the limit of a comparison may be on its side */
    bool limit_left;          /* of a comparison: the left side is the limit */
    unsigned char head_count; /* of as.head */
    struct stretch at;
    unsigned short sign; /* where its operator stands: the place of an error */

    /* from check.c; VALUE_NONE is a truth */
    enum value_type type;
    struct dimension dimension;
    struct told *told;
    union {
        double number; /* SI */
        bool yes;
        const char *word;
        struct vocabulary list;
        enum condition condition;
        const struct formula *let;
        const struct reference *reference;
        size_t slot;     /* NODE_PART */
        double exponent; /* NODE_POWER */
        const struct gathering *gathering;
        unsigned short name_end; /* NODE_ATTRIBUTE, between parser and checker: past its name */
        struct stretch head[FORMULA_MOST_HEAD]; /* between parser and checker: the words before the
                                                   colon */
    } as;
};

struct formula {
    const char *text; /* its own copy */
    const struct formula_node *nodes;
    size_t node_count;
    short root;
    size_t role_count; /* slots from here on are bound by aggregates */
    unsigned depth, cost, nesting;
    bool varies; /* from one condition to another */
    bool steady; /* what is looked at for it is the same too, but for the condition itself */
};

/* While one formula is being compiled. */
enum token_kind { TOKEN_END, TOKEN_NUMBER, TOKEN_NAME, TOKEN_QUOTED, TOKEN_SIGN };

struct token {
    enum token_kind kind;
    unsigned short start, end;
};

struct bound { /* a role made by an aggregate */
    const char *name;
    const struct kind *const *kinds;
    size_t kind_count;
};

struct compiler {
    struct arena *arena;
    const char *text;
    struct place at;
    const struct formula_scope *scope;
    struct diagnostics *diagnostics;
    bool failed; /* one error is told, the first */
    struct token token;
    unsigned level;
    bool else_is_taken; /* inside `then ...`: an else belongs to the if */
    struct {
        struct formula_node *at;
        size_t count, room;
    } nodes;
    struct bound bound[FORMULA_MOST_NESTING];
    size_t bound_count;
    unsigned cost, nesting;
};

/* lexer.c */
bool token_next(struct compiler *compiler); /* to compiler->token; false after an error */
bool token_matches(const struct compiler *compiler, const char *sign_or_word);
/* The same; most tokens differ in their first letter, and every rule is compiled at each start. */
static inline bool token_is(const struct compiler *compiler, const char *sign_or_word)
{
    return compiler->text[compiler->token.start] == sign_or_word[0] &&
           token_matches(compiler, sign_or_word);
}
/* The end of the unit that follows the number ending at `from`; `from` when there is none. */
unsigned short token_unit(const char *text, unsigned short from);
void compiler_refuse(struct compiler *compiler, unsigned offset, const char *format, ...)
    __attribute__((format(printf, 3, 4)));
struct place compiler_place(const struct compiler *compiler, unsigned offset);
void compiler_no_memory(struct compiler *compiler);
/* Begins to compile `what` ("formula"): copies its text. False when that is too long, which is
 * told. */
bool compiler_open(struct compiler *compiler, struct arena *arena, const char *what,
                   const char *text, struct place at, const struct formula_scope *scope,
                   struct diagnostics *diagnostics);
/* A piece of the text for a message, blanks run together, cut when long. */
struct excerpt {
    char text[72];
};
struct excerpt compiler_excerpt(const struct compiler *compiler, struct stretch at);

/* parser.c: the root, or FORMULA_NONE after an error */
short compiler_parse(struct compiler *compiler);
/* check.c: types the tree below root; false after an error */
bool compiler_check(struct compiler *compiler, short root, enum formula_wants wants);
unsigned compiler_depth(const struct compiler *compiler, short root);

/* evaluate.c */
struct frame { /* whom the roles stand for */
    const struct formula_world *world;
    const size_t *parts;
    size_t bound[FORMULA_MOST_NESTING];
    struct formula_uses *uses;
    struct formula_memory *memory; /* NULL: none */
    const struct apart *apart;     /* while a working is told; else NULL */
};
struct formula_result formula_reply(const struct formula *formula, short index, struct frame *frame,
                                    enum condition condition);
size_t frame_part(const struct formula *formula, const struct frame *frame, size_t slot);

/* apart.c: sides of comparisons that are near to each other, each of which has to be told with
 * digits enough to differ from the other. */
struct apart {
    struct {
        double value, other; /* SI */
    } at[8];                 /* more are told with the usual digits */
    size_t count;
};
/* Those of the formula, and of the let values that it names; NULL: of none. */
struct apart apart_find(const struct formula *formula, const struct formula_world *world,
                        const size_t *parts, enum condition condition);
/* What `value` has to differ from; NAN: nothing. */
double apart_from(const struct apart *apart, double value);

/* words.c: a value as words, in `unit` or (NULL) in the node's own, as told in that system;
 * `missing` stands for one unknown. */
void formula_print_value(const struct formula_node *node, const struct formula_result *result,
                         const struct unit *unit, enum unit_system system,
                         const struct apart *apart, const char *missing, struct text *out);
#endif
