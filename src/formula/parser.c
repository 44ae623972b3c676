/* parser.c - makes the tree. One function for each step of the grammar in
 * formula.h, the loosest first; every way down counts its levels. */
#include "formula/tree.h"

#include <string.h>

static short expression(struct compiler *compiler);
static short unary(struct compiler *compiler);

static bool deeper(struct compiler *compiler)
{
    if (++compiler->level <= FORMULA_MOST_LEVELS)
        return true;
    compiler_refuse(compiler, compiler->token.start,
                    "the formula goes more than %d levels deep; use let: to name a part of it.",
                    FORMULA_MOST_LEVELS);
    return false;
}

static short node_new(struct compiler *compiler, enum node_op op, struct stretch at,
                      unsigned short sign)
{
    if (compiler->nodes.count >= FORMULA_MOST_NODES) {
        compiler_refuse(compiler, at.start,
                        "the formula has more than %d terms; use let: to name a part of it.",
                        FORMULA_MOST_NODES);
        return FORMULA_NONE;
    }
    struct told *told = ARENA_TAKE(compiler->arena, 1, struct told);
    if (!told || !ARENA_GROW(compiler->arena, &compiler->nodes)) {
        compiler_no_memory(compiler);
        return FORMULA_NONE;
    }
    short index = (short)compiler->nodes.count++;
    compiler->nodes.at[index] = (struct formula_node){.op = op,
                                                      .first = FORMULA_NONE,
                                                      .second = FORMULA_NONE,
                                                      .third = FORMULA_NONE,
                                                      .next = FORMULA_NONE,
                                                      .at = at,
                                                      .sign = sign,
                                                      .told = told};
    return index;
}

static struct formula_node *node_at(const struct compiler *compiler, short index)
{
    return &compiler->nodes.at[index];
}

/* A operator B; -1 when either is. */
static short join(struct compiler *compiler, enum node_op op, unsigned short sign, short a, short b)
{
    if (a < 0 || b < 0)
        return FORMULA_NONE;
    struct stretch at = {node_at(compiler, a)->at.start, node_at(compiler, b)->at.end};
    short index = node_new(compiler, op, at, sign);
    if (index >= 0) {
        node_at(compiler, index)->first = a;
        node_at(compiler, index)->second = b;
    }
    return index;
}

/* Refuses the word at which reading stands. */
static short unexpected(struct compiler *compiler, const char *wanted)
{
    struct token token = compiler->token;
    if (token.kind == TOKEN_END)
        compiler_refuse(compiler, token.start, "the formula ends where %s is due.", wanted);
    else
        compiler_refuse(compiler, token.start, "'%s' stands where %s is due.",
                        compiler_excerpt(compiler, (struct stretch){token.start, token.end}).text,
                        wanted);
    return FORMULA_NONE;
}

/* Steps over a sign or word that must be there. */
static bool step(struct compiler *compiler, const char *wanted, const char *in_words)
{
    if (token_is(compiler, wanted))
        return token_next(compiler);
    unexpected(compiler, in_words);
    return false;
}

static bool is_reserved(const struct compiler *compiler)
{
    static const char *const words[] = {"and", "or", "not", "is", "in", "at", "then", "else", "if"};
    for (size_t i = 0; i < sizeof words / sizeof *words; i++)
        if (token_is(compiler, words[i]))
            return true;
    return false;
}

static struct stretch token_stretch(const struct compiler *compiler)
{
    return (struct stretch){compiler->token.start, compiler->token.end};
}

/* The number with its unit in text[at], with or without a minus sign before it. */
static bool read_number(struct compiler *compiler, struct formula_node *node, struct stretch digits,
                        bool minus)
{
    char text[64];
    size_t length = (size_t)(digits.end - digits.start);
    if (length + 2 > sizeof text) {
        compiler_refuse(compiler, digits.start, "a number with its unit is longer than %d bytes.",
                        (int)sizeof text - 2);
        return false;
    }
    text[0] = '-';
    memcpy(text + 1, compiler->text + digits.start, length);
    text[length + 1] = '\0';
    struct quantity quantity;
    const char *why;
    if (!quantity_parse(text + !minus, &quantity, &node->told->unit, &why)) {
        compiler_refuse(compiler, digits.start, "%s %s.", text + !minus, why);
        return false;
    }
    node->as.number = quantity.value;
    node->dimension = quantity.dimension;
    return true;
}

static short number(struct compiler *compiler)
{
    struct stretch at = token_stretch(compiler);
    short index = node_new(compiler, NODE_NUMBER, at, at.start);
    if (index < 0 || !read_number(compiler, node_at(compiler, index), at, false) ||
        !token_next(compiler))
        return FORMULA_NONE;
    return index;
}

static short quoted(struct compiler *compiler)
{
    struct stretch at = token_stretch(compiler);
    short index = node_new(compiler, NODE_WORD, at, at.start);
    if (index < 0)
        return FORMULA_NONE;
    char *word =
        arena_copy(compiler->arena, compiler->text + at.start + 1, (size_t)(at.end - at.start - 2));
    if (!word) {
        compiler_no_memory(compiler);
        return FORMULA_NONE;
    }
    node_at(compiler, index)->as.word = word;
    return token_next(compiler) ? index : FORMULA_NONE;
}

/* What stands between brackets is free of the if around it. */
static short inside(struct compiler *compiler)
{
    bool taken = compiler->else_is_taken;
    compiler->else_is_taken = false;
    short index = expression(compiler);
    compiler->else_is_taken = taken;
    return index;
}

static short brackets(struct compiler *compiler)
{
    unsigned short start = compiler->token.start;
    if (!token_next(compiler))
        return FORMULA_NONE;
    short index = inside(compiler);
    if (index < 0)
        return FORMULA_NONE;
    unsigned short end = compiler->token.end;
    if (!step(compiler, ")", "a closing bracket"))
        return FORMULA_NONE;
    node_at(compiler, index)->at = (struct stretch){start, end};
    node_at(compiler, index)->bracketed = true;
    return index;
}

/* A, B, ... up to the closing sign, chained. */
static bool chain(struct compiler *compiler, short owner, const char *close, const char *in_words)
{
    short last = FORMULA_NONE;
    for (;;) {
        short item = inside(compiler);
        if (item < 0)
            return false;
        if (last < 0)
            node_at(compiler, owner)->first = item;
        else
            node_at(compiler, last)->next = item;
        last = item;
        if (!token_is(compiler, ","))
            break;
        if (!token_next(compiler))
            return false;
    }
    node_at(compiler, owner)->at.end = compiler->token.end;
    return step(compiler, close, in_words);
}

static short list(struct compiler *compiler)
{
    struct stretch at = token_stretch(compiler);
    short index = node_new(compiler, NODE_LIST, at, at.start);
    if (index < 0 || !token_next(compiler))
        return FORMULA_NONE;
    return chain(compiler, index, "]", "a comma or a closing bracket ]") ? index : FORMULA_NONE;
}

/* The words before the colon: KIND, RELATION KIND or ROLE RELATION KIND. */
static bool aggregate_head(struct compiler *compiler, short index)
{
    unsigned char count = 0;
    while (compiler->token.kind == TOKEN_NAME) {
        if (count == FORMULA_MOST_HEAD - 1) {
            unexpected(compiler, "a colon or a closing bracket");
            return false;
        }
        node_at(compiler, index)->as.head[count++] = token_stretch(compiler);
        if (!token_next(compiler))
            return false;
    }
    node_at(compiler, index)->head_count = count;
    if (count > 0)
        return true;
    unexpected(compiler, "a kind of part");
    return false;
}

static short aggregate(struct compiler *compiler, short index)
{
    if (!aggregate_head(compiler, index))
        return FORMULA_NONE;
    if (token_is(compiler, ":")) {
        if (!token_next(compiler))
            return FORMULA_NONE;
        short body = inside(compiler);
        if (body < 0)
            return FORMULA_NONE;
        node_at(compiler, index)->first = body;
    } else if (node_at(compiler, index)->op != NODE_COUNT) {
        return unexpected(compiler, "a colon and what to look at in each");
    }
    node_at(compiler, index)->at.end = compiler->token.end;
    return step(compiler, ")", "a closing bracket") ? index : FORMULA_NONE;
}

static const struct {
    const char *name;
    enum node_op op;
} functions[] = {
    {"known", NODE_KNOWN}, {"min", NODE_MIN},     {"max", NODE_MAX},     {"abs", NODE_ABS},
    {"sqrt", NODE_SQRT},   {"exp", NODE_EXP},     {"ln", NODE_LN},       {"low", NODE_LOW},
    {"high", NODE_HIGH},   {"count", NODE_COUNT}, {"total", NODE_TOTAL}, {"least", NODE_LEAST},
    {"most", NODE_MOST},   {"any", NODE_ANY},     {"all", NODE_ALL},
};

static short call(struct compiler *compiler, struct stretch name)
{
    compiler->token = (struct token){TOKEN_NAME, name.start, name.end};
    for (size_t i = 0; i < sizeof functions / sizeof *functions; i++) {
        if (!token_is(compiler, functions[i].name))
            continue;
        short index = node_new(compiler, functions[i].op, name, name.start);
        if (index < 0 || !token_next(compiler) || !token_next(compiler))
            return FORMULA_NONE;
        if (functions[i].op >= NODE_COUNT)
            return aggregate(compiler, index);
        return chain(compiler, index, ")", "a closing bracket") ? index : FORMULA_NONE;
    }
    struct near_search near;
    struct excerpt wrong = compiler_excerpt(compiler, name);
    near_begin(&near, wrong.text);
    for (size_t i = 0; i < sizeof functions / sizeof *functions; i++)
        near_offer(&near, functions[i].name);
    const char *best = near_best(&near);
    compiler_refuse(compiler, name.start, "there is no function '%s'%s%s%s", wrong.text,
                    best ? "; did you mean " : ".", best ? best : "", best ? "(...)?" : "");
    return FORMULA_NONE;
}

/* (X) right behind an attribute's name: what it is a figure of. */
static bool argument(struct compiler *compiler, short index)
{
    unsigned short end = node_at(compiler, index)->at.end;
    node_at(compiler, index)->as.name_end = end;
    if (!token_is(compiler, "(") || compiler->token.start != end)
        return true;
    if (!token_next(compiler))
        return false;
    short of = inside(compiler);
    if (of < 0)
        return false;
    node_at(compiler, index)->first = of;
    node_at(compiler, index)->at.end = compiler->token.end;
    return step(compiler, ")", "a closing bracket");
}

/* ROLE.ATTRIBUTE, f(...) or a bare name. */
static short name(struct compiler *compiler)
{
    struct stretch at = token_stretch(compiler);
    if (!token_next(compiler))
        return FORMULA_NONE;
    if (token_is(compiler, "("))
        return call(compiler, at);
    if (!token_is(compiler, ".") || compiler->token.start != at.end)
        return node_new(compiler, NODE_NAME, at, at.start);
    unsigned short point = compiler->token.start;
    if (!token_next(compiler))
        return FORMULA_NONE;
    if (compiler->token.kind != TOKEN_NAME || compiler->token.start != point + 1)
        return unexpected(compiler, "the name of an attribute");
    at.end = compiler->token.end;
    short index = node_new(compiler, NODE_ATTRIBUTE, at, point);
    if (index < 0 || !token_next(compiler))
        return FORMULA_NONE;
    if (token_is(compiler, ".") && memchr(compiler->text + point, '-', (size_t)(at.end - point))) {
        struct stretch wrong = {(unsigned short)(point + 1), at.end};
        compiler_refuse(compiler, wrong.start,
                        "'%s' is one name; a minus sign needs blanks around it.",
                        compiler_excerpt(compiler, wrong).text);
        return FORMULA_NONE;
    }
    return argument(compiler, index) ? index : FORMULA_NONE;
}

static short primary(struct compiler *compiler)
{
    if (compiler->token.kind == TOKEN_NUMBER)
        return number(compiler);
    if (compiler->token.kind == TOKEN_QUOTED)
        return quoted(compiler);
    if (token_is(compiler, "("))
        return brackets(compiler);
    if (token_is(compiler, "["))
        return list(compiler);
    if (token_is(compiler, "if"))
        return unexpected(compiler, "a value (put brackets around an if inside a sum)");
    if (compiler->token.kind == TOKEN_NAME && !is_reserved(compiler))
        return name(compiler);
    return unexpected(compiler, "a value");
}

static short power(struct compiler *compiler)
{
    short base = primary(compiler);
    if (base < 0 || !token_is(compiler, "^"))
        return base;
    unsigned short sign = compiler->token.start;
    if (!token_next(compiler) || !deeper(compiler))
        return FORMULA_NONE;
    short index = join(compiler, NODE_POWER, sign, base, unary(compiler));
    compiler->level--;
    return index;
}

/* A minus before a number makes the number negative (-5 degF is 5 below, not 5 degF taken away). */
static short minus(struct compiler *compiler)
{
    unsigned short sign = compiler->token.start;
    if (!token_next(compiler) || !deeper(compiler))
        return FORMULA_NONE;
    short operand = unary(compiler);
    compiler->level--;
    if (operand < 0)
        return FORMULA_NONE;
    struct formula_node *node = node_at(compiler, operand);
    if (node->op == NODE_NUMBER && !node->bracketed && compiler->text[node->at.start] != '-') {
        if (!read_number(compiler, node, node->at, true))
            return FORMULA_NONE;
        node->at.start = sign;
        return operand;
    }
    struct stretch at = {sign, node->at.end};
    short index = node_new(compiler, NODE_NEGATE, at, sign);
    if (index >= 0)
        node_at(compiler, index)->first = operand;
    return index;
}

static short unary(struct compiler *compiler)
{
    return token_is(compiler, "-") ? minus(compiler) : power(compiler);
}

static short product(struct compiler *compiler)
{
    short left = unary(compiler);
    while (left >= 0 && (token_is(compiler, "*") || token_is(compiler, "/"))) {
        enum node_op op = token_is(compiler, "*") ? NODE_MULTIPLY : NODE_DIVIDE;
        unsigned short sign = compiler->token.start;
        left =
            token_next(compiler) ? join(compiler, op, sign, left, unary(compiler)) : FORMULA_NONE;
    }
    return left;
}

static short sum(struct compiler *compiler)
{
    short left = product(compiler);
    while (left >= 0 && (token_is(compiler, "+") || token_is(compiler, "-"))) {
        enum node_op op = token_is(compiler, "+") ? NODE_ADD : NODE_SUBTRACT;
        unsigned short sign = compiler->token.start;
        left =
            token_next(compiler) ? join(compiler, op, sign, left, product(compiler)) : FORMULA_NONE;
    }
    return left;
}

static short fallback(struct compiler *compiler)
{
    short left = sum(compiler);
    if (left < 0 || compiler->else_is_taken || !token_is(compiler, "else"))
        return left;
    unsigned short sign = compiler->token.start;
    if (!token_next(compiler) || !deeper(compiler))
        return FORMULA_NONE;
    short index = join(compiler, NODE_ELSE, sign, left, fallback(compiler));
    compiler->level--;
    return index;
}

static bool is_plain_number(const struct compiler *compiler, short index)
{
    return node_at(compiler, index)->op == NODE_NUMBER && !node_at(compiler, index)->bracketed;
}

/* "-15 .. 34 degC": one end may leave its unit to the other. */
static bool read_range(struct compiler *compiler, struct formula_node *low,
                       struct formula_node *high)
{
    char text[128];
    size_t length = (size_t)(high->at.end - low->at.start);
    const char *why;
    struct quantity ends[2];
    if (length >= sizeof text) {
        compiler_refuse(compiler, low->at.start, "a range is longer than %d bytes.",
                        (int)sizeof text - 1);
        return false;
    }
    memcpy(text, compiler->text + low->at.start, length);
    text[length] = '\0';
    if (!range_parse(text, &ends[0], &ends[1], &high->told->unit, &why)) {
        compiler_refuse(compiler, low->at.start, "%s %s.", text, why);
        return false;
    }
    low->as.number = ends[0].value;
    high->as.number = ends[1].value;
    low->dimension = high->dimension = ends[0].dimension;
    low->told->unit = high->told->unit;
    return true;
}

static short range(struct compiler *compiler)
{
    short low = fallback(compiler);
    if (low < 0 || !token_is(compiler, ".."))
        return low;
    unsigned short sign = compiler->token.start;
    if (!token_next(compiler))
        return FORMULA_NONE;
    short high = fallback(compiler);
    if (high < 0)
        return FORMULA_NONE;
    if (is_plain_number(compiler, low) && is_plain_number(compiler, high) &&
        !read_range(compiler, node_at(compiler, low), node_at(compiler, high)))
        return FORMULA_NONE;
    return join(compiler, NODE_RANGE, sign, low, high);
}

static bool comparison_here(const struct compiler *compiler, enum node_op *op)
{
    static const struct {
        const char *sign;
        enum node_op op;
    } signs[] = {{"<", NODE_LESS},      {"<=", NODE_AT_MOST}, {">", NODE_MORE},
                 {">=", NODE_AT_LEAST}, {"=", NODE_EQUAL},    {"!=", NODE_UNEQUAL},
                 {"is", NODE_IS},       {"in", NODE_IN},      {"not", NODE_NOT_IN}};
    for (size_t i = 0; i < sizeof signs / sizeof *signs; i++) {
        if (token_is(compiler, signs[i].sign)) {
            *op = signs[i].op;
            return true;
        }
    }
    return false;
}

static short comparison(struct compiler *compiler)
{
    short left = range(compiler);
    enum node_op op, again;
    if (left < 0 || !comparison_here(compiler, &op))
        return left;
    unsigned short sign = compiler->token.start;
    if (!token_next(compiler))
        return FORMULA_NONE;
    if (op == NODE_NOT_IN && !step(compiler, "in", "'in' (a value is 'not in' something)"))
        return FORMULA_NONE;
    if (op == NODE_IS && token_is(compiler, "not")) {
        op = NODE_IS_NOT;
        if (!token_next(compiler))
            return FORMULA_NONE;
    }
    short index = join(compiler, op, sign, left, range(compiler));
    if (index >= 0 && comparison_here(compiler, &again)) {
        compiler_refuse(compiler, compiler->token.start,
                        "two comparisons in a row; compare twice and put 'and' between.");
        return FORMULA_NONE;
    }
    return index;
}

static short near_condition(struct compiler *compiler, struct excerpt wrong)
{
    struct near_search near;
    near_begin(&near, wrong.text);
    for (int i = 0; i < CONDITION_COUNT; i++)
        near_offer(&near, condition_name((enum condition)i));
    const char *best = near_best(&near);
    compiler_refuse(compiler, compiler->token.start,
                    "there is no condition '%s'; %s%s%shere are %s.", wrong.text,
                    best ? "did you mean " : "", best ? best : "", best ? "? T" : "t",
                    condition_list());
    return FORMULA_NONE;
}

static short at_condition(struct compiler *compiler)
{
    short left = comparison(compiler);
    while (left >= 0 && token_is(compiler, "at")) {
        unsigned short sign = compiler->token.start;
        if (!token_next(compiler))
            return FORMULA_NONE;
        if (compiler->token.kind != TOKEN_NAME)
            return unexpected(compiler, "the name of a condition");
        struct excerpt word = compiler_excerpt(compiler, token_stretch(compiler));
        enum condition condition;
        if (!condition_find(word.text, &condition))
            return near_condition(compiler, word);
        struct stretch at = {node_at(compiler, left)->at.start, compiler->token.end};
        short index = node_new(compiler, NODE_AT, at, sign);
        if (index < 0 || !token_next(compiler))
            return FORMULA_NONE;
        node_at(compiler, index)->first = left;
        node_at(compiler, index)->as.condition = condition;
        left = index;
    }
    enum node_op op;
    if (left >= 0 && node_at(compiler, left)->op == NODE_AT &&
        !node_at(compiler, left)->bracketed && comparison_here(compiler, &op)) {
        compiler_refuse(compiler, compiler->token.start,
                        "'at' takes in the whole comparison; to pick one value, write (%s).",
                        compiler_excerpt(compiler, node_at(compiler, left)->at).text);
        return FORMULA_NONE;
    }
    return left;
}

static short negation(struct compiler *compiler)
{
    if (!token_is(compiler, "not"))
        return at_condition(compiler);
    unsigned short sign = compiler->token.start;
    if (!deeper(compiler) || !token_next(compiler))
        return FORMULA_NONE;
    short operand = negation(compiler);
    compiler->level--;
    if (operand < 0)
        return FORMULA_NONE;
    struct stretch at = {sign, node_at(compiler, operand)->at.end};
    short index = node_new(compiler, NODE_NOT, at, sign);
    if (index >= 0)
        node_at(compiler, index)->first = operand;
    return index;
}

static short conjunction(struct compiler *compiler)
{
    short left = negation(compiler);
    while (left >= 0 && token_is(compiler, "and")) {
        unsigned short sign = compiler->token.start;
        left = token_next(compiler) ? join(compiler, NODE_AND, sign, left, negation(compiler))
                                    : FORMULA_NONE;
    }
    return left;
}

static short disjunction(struct compiler *compiler)
{
    short left = conjunction(compiler);
    while (left >= 0 && token_is(compiler, "or")) {
        unsigned short sign = compiler->token.start;
        left = token_next(compiler) ? join(compiler, NODE_OR, sign, left, conjunction(compiler))
                                    : FORMULA_NONE;
    }
    return left;
}

static short choice(struct compiler *compiler)
{
    unsigned short sign = compiler->token.start;
    if (!token_next(compiler))
        return FORMULA_NONE;
    bool taken = compiler->else_is_taken;
    compiler->else_is_taken = false;
    short test = expression(compiler);
    if (test < 0 || !step(compiler, "then", "'then'"))
        return FORMULA_NONE;
    compiler->else_is_taken = true;
    short yes = expression(compiler);
    compiler->else_is_taken = taken;
    if (yes < 0 || !step(compiler, "else", "'else'"))
        return FORMULA_NONE;
    short no = expression(compiler);
    if (no < 0)
        return FORMULA_NONE;
    struct stretch at = {sign, node_at(compiler, no)->at.end};
    short index = node_new(compiler, NODE_IF, at, sign);
    if (index >= 0) {
        node_at(compiler, index)->first = test;
        node_at(compiler, index)->second = yes;
        node_at(compiler, index)->third = no;
    }
    return index;
}

static short expression(struct compiler *compiler)
{
    if (!deeper(compiler))
        return FORMULA_NONE;
    short index = token_is(compiler, "if") ? choice(compiler) : disjunction(compiler);
    compiler->level--;
    return index;
}

short compiler_parse(struct compiler *compiler)
{
    if (!token_next(compiler))
        return FORMULA_NONE;
    short root = expression(compiler);
    if (root < 0)
        return FORMULA_NONE;
    if (compiler->token.kind != TOKEN_END)
        return unexpected(compiler, "an operator or the end");
    return root;
}
