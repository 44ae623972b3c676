/* working.c - the sum behind a result, printed from the formula itself: its own
 * text, then the same text with values in place of names. */
#include "formula/tree.h"

#include <math.h>
#include <string.h>

struct walk {
    const struct formula *formula;
    struct frame *frame;
    struct text *out;
    unsigned short cursor; /* up to here the formula's text is printed */
    bool any;              /* a value was put in */
    bool symbols;          /* names stay; only the branches that were not taken go */
};

static bool is_space(char c)
{
    return c == ' ' || c == '\t' || c == '\r' || c == '\n';
}

/* A stretch of the formula's text on one line. */
static void print_text(struct text *out, const char *text, size_t length)
{
    for (size_t i = 0; i < length; i++) {
        if (!is_space(text[i]))
            text_add_bytes(out, text + i, 1);
        else if (i == 0 || !is_space(text[i - 1]))
            text_add(out, " ");
    }
}

static void print_symbols(const struct formula *formula, struct text *out)
{
    const char *text = formula->text + strspn(formula->text, " \t\r\n");
    size_t length = strlen(text);
    while (length && is_space(text[length - 1]))
        length--;
    print_text(out, text, length);
}

static bool is_arithmetic(enum node_op op)
{
    return op >= NODE_NEGATE && op <= NODE_POWER;
}

/* Puts the value of a node in place of its text; in brackets where a sign or a power beside it
 * would otherwise be misread. */
static void put_value(struct walk *walk, short index, enum node_op parent, enum condition condition)
{
    const struct formula_node *node = &walk->formula->nodes[index];
    if (walk->symbols)
        return;
    struct formula_result result = formula_reply(walk->formula, index, walk->frame, condition);
    bool negative = result.value.type == VALUE_QUANTITY && result.value.as.quantity.value < 0.0;
    bool brackets = result.value.type == VALUE_QUANTITY &&
                    (parent == NODE_POWER || (negative && is_arithmetic(parent)));
    print_text(walk->out, walk->formula->text + walk->cursor,
               (size_t)(node->at.start - walk->cursor));
    text_add(walk->out, brackets ? "(" : "");
    formula_print_value(node, &result, NULL, walk->frame->world->units, walk->frame->apart,
                        "unknown", walk->out);
    text_add(walk->out, brackets ? ")" : "");
    walk->cursor = node->at.end;
    walk->any = true;
}

/* A number of the formula's own stays as it is written, unless it has to be told in other units. */
static void put_number(struct walk *walk, short index, enum node_op parent,
                       enum condition condition)
{
    const struct formula_node *node = &walk->formula->nodes[index];
    bool any = walk->any;
    if (!node->told->unit.name ||
        unit_told(&node->told->unit, walk->frame->world->units, node->as.number).name ==
            node->told->unit.name)
        return;
    put_value(walk, index, parent, condition);
    walk->any = any;
}

static void walk_node(struct walk *walk, short index, enum node_op parent,
                      enum condition condition);

/* The branch of `if` that was taken, the side of `else` that counts; -1: none is known to be. */
static short taken_branch(const struct walk *walk, const struct formula_node *node,
                          enum condition condition)
{
    struct formula_result result =
        formula_reply(walk->formula, node->first, walk->frame, condition);
    if (node->op == NODE_ELSE)
        return result.value.type != VALUE_NONE ? node->first : node->second;
    if (result.truth == TRUTH_UNKNOWN)
        return -1;
    return result.truth == TRUTH_YES ? node->second : node->third;
}

/* Puts the branch taken in place of the whole. False when none was. */
static bool put_branch(struct walk *walk, short index, enum node_op parent,
                       enum condition condition)
{
    const struct formula_node *node = &walk->formula->nodes[index];
    bool truth = node->type == VALUE_NONE && node->op == NODE_ELSE;
    short branch = truth ? -1 : taken_branch(walk, node, condition);
    if (branch < 0)
        return false;
    const struct formula_node *taken = &walk->formula->nodes[branch];
    const char *text = walk->formula->text;
    print_text(walk->out, text + walk->cursor, (size_t)(node->at.start - walk->cursor));
    walk->cursor = taken->at.start;
    walk_node(walk, branch, parent, condition);
    print_text(walk->out, text + walk->cursor, (size_t)(taken->at.end - walk->cursor));
    walk->cursor = node->at.end;
    return true;
}

static void walk_node(struct walk *walk, short index, enum node_op parent, enum condition condition)
{
    const struct formula_node *node = &walk->formula->nodes[index];
    switch (node->op) {
    case NODE_IF:
    case NODE_ELSE:
        if (put_branch(walk, index, parent, condition))
            return;
        break;
    case NODE_NUMBER:
        put_number(walk, index, parent, condition);
        return;
    case NODE_ATTRIBUTE:
    case NODE_LET:
    case NODE_CONDITION:
    case NODE_PART:
    case NODE_COUNT:
    case NODE_TOTAL:
    case NODE_LEAST:
    case NODE_MOST:
    case NODE_ANY:
    case NODE_ALL:
        put_value(walk, index, parent, condition);
        return;
    case NODE_AT:
        condition = node->as.condition;
        break;
    default:
        break;
    }
    const short below[] = {node->first, node->second, node->third};
    for (size_t i = 0; i < sizeof below / sizeof *below; i++)
        for (short child = below[i]; child >= 0;
             child = i == 0 ? walk->formula->nodes[child].next : -1)
            walk_node(walk, child, node->op, condition);
}

static bool walk_formula(const struct formula *formula, struct frame *frame, bool symbols,
                         enum condition condition, struct text *out)
{
    unsigned short start = (unsigned short)strspn(formula->text, " \t\r\n");
    struct walk walk = {
        .formula = formula, .frame = frame, .out = out, .cursor = start, .symbols = symbols};
    walk_node(&walk, formula->root, NODE_NAME, condition);
    size_t end = strlen(formula->text);
    while (end > walk.cursor && is_space(formula->text[end - 1]))
        end--;
    print_text(out, formula->text + walk.cursor, end - walk.cursor);
    return walk.any;
}

static void cut_back(struct text *out, size_t length)
{
    if (out->failed || !out->bytes)
        return;
    out->length = length;
    out->bytes[length] = '\0';
}

/* The formula in its symbols, without the branches that were not taken. */
static void print_taken(const struct formula *formula, struct frame *frame,
                        enum condition condition, struct text *out)
{
    walk_formula(formula, frame, true, condition, out);
}

/* The formula with its numbers; false (and nothing printed) when it names no value. */
static bool print_numbers(const struct formula *formula, struct frame *frame,
                          enum condition condition, struct text *out)
{
    size_t length = out->length;
    bool any = walk_formula(formula, frame, false, condition, out);
    if (!any)
        cut_back(out, length);
    return any;
}

static bool is_single_name(const struct formula *formula)
{
    enum node_op op = formula->nodes[formula->root].op;
    return op == NODE_ATTRIBUTE || op == NODE_LET || op >= NODE_COUNT || op == NODE_CONDITION;
}

/* ---- Let values ---- */

struct named {
    struct {
        const struct formula *formula;
        enum condition condition;
        struct excerpt name;
    } at[16]; /* more are not shown */
    size_t count;
};

static void collect(const struct formula *formula, short index, enum condition condition,
                    struct named *named)
{
    const struct formula_node *node = &formula->nodes[index];
    if (node->op == NODE_LET) {
        for (size_t i = 0; i < named->count; i++)
            if (named->at[i].formula == node->as.let && named->at[i].condition == condition)
                return;
        collect(node->as.let, node->as.let->root, condition, named);
        if (named->count == sizeof named->at / sizeof *named->at)
            return;
        const struct compiler source = {.text = formula->text};
        named->at[named->count].formula = node->as.let;
        named->at[named->count].condition = condition;
        named->at[named->count].name = compiler_excerpt(&source, node->at);
        named->count++;
        return;
    }
    if (node->op == NODE_AT)
        condition = node->as.condition;
    const short below[] = {node->first, node->second, node->third};
    for (size_t i = 0; i < sizeof below / sizeof *below; i++)
        for (short child = below[i]; child >= 0; child = i == 0 ? formula->nodes[child].next : -1)
            collect(formula, child, condition, named);
}

/* Is what stands at begin .. end the same as what stands behind the sign at `last`? */
static bool repeats(const struct text *out, size_t begin, size_t end, size_t last)
{
    size_t length = out->length - (last + 3);
    return end - begin == length && memcmp(out->bytes + begin, out->bytes + last + 3, length) == 0;
}

/* NAME = formula = numbers = value, the formula without the branches not taken */
static void print_let(const char *name, const struct formula *formula, const struct frame *frame,
                      enum condition own, enum condition condition, struct text *out)
{
    struct frame inner = {.world = frame->world, .parts = frame->parts, .apart = frame->apart};
    const struct formula_node *root = &formula->nodes[formula->root];
    text_print(out, "%s = ", name);
    size_t first = out->length;
    print_taken(formula, &inner, condition, out);
    size_t second = out->length;
    text_add(out, " = ");
    if (is_single_name(formula) || !print_numbers(formula, &inner, condition, out))
        cut_back(out, second);
    size_t third = out->length;
    struct formula_result result = formula_reply(formula, formula->root, &inner, condition);
    text_add(out, " = ");
    formula_print_value(root, &result, NULL, frame->world->units, frame->apart, "unknown", out);
    if (!out->failed && (repeats(out, first, second, third) ||
                         (second < third && repeats(out, second + 3, third, third))))
        cut_back(out, third);
    if (own != condition)
        text_print(out, " at %s", condition_name(condition));
    text_add(out, "\n");
}

static void print_lets(const struct formula *formula, const struct frame *frame,
                       enum condition condition, struct text *out)
{
    struct named named = {.count = 0};
    collect(formula, formula->root, condition, &named);
    for (size_t i = 0; i < named.count; i++)
        print_let(named.at[i].name.text, named.at[i].formula, frame, condition,
                  named.at[i].condition, out);
}

/* ---- The last line ---- */

/* 0.138 as "14 %", 0.031 as "3.1 %" */
static void print_share(double share, struct text *out)
{
    double percent = fabs(share) * 100.0;
    if (percent < 0.05)
        text_add(out, "less than 0.1 %");
    else
        text_print(out, percent < 9.95 ? "%.1f %%" : "%.0f %%", percent);
}

static void print_verdict(const struct formula_result *result, struct text *out)
{
    bool yes = result->truth == TRUTH_YES;
    text_add(out, yes ? "holds" : "fails");
    if (result->has_margin && result->margin == 0.0) {
        text_add(out, ", exactly at the limit");
    } else if (result->has_margin && fabs(result->margin) >= 100.0) {
        text_add(out, yes ? ", by far" : ", by more than a hundred times");
    } else if (result->has_margin) {
        text_add(out, yes ? ", with " : ", by ");
        print_share(result->margin, out);
        text_add(out, yes ? " to spare" : "");
    }
    text_add(out, "\n");
}

/* "cannot be decided: f1.rating and pump.power are unknown" */
static void print_missing(const struct formula_uses *uses, const struct formula_world *world,
                          bool truth, struct text *out)
{
    size_t total = 0, told = 0;
    for (size_t i = 0; i < uses->count; i++)
        total += uses->at[i].unknown;
    text_add(out, truth ? "cannot be decided" : "= unknown");
    for (size_t i = 0; i < uses->count; i++) {
        const struct formula_use *use = &uses->at[i];
        if (!use->unknown)
            continue;
        const struct kind *kind = world->kind(world->data, use->part);
        text_add(out, told == 0 ? ": " : told + 1 == total ? " and " : ", ");
        text_print(out, "%s.%s", world->id(world->data, use->part),
                   kind->attributes[use->attribute].name);
        formula_use_argument(world, use, out);
        told++;
    }
    text_add(out, told == 0 ? "\n" : told == 1 ? " is unknown\n" : " are unknown\n");
}

void formula_working(const struct formula *formula, const struct formula_world *world,
                     const size_t *parts, enum condition condition, struct text *out)
{
    struct formula_uses uses = {.count = 0};
    const struct apart apart = apart_find(formula, world, parts, condition);
    struct frame frame = {.world = world, .parts = parts, .apart = &apart};
    const struct formula_node *root = &formula->nodes[formula->root];
    struct formula_result result = formula_evaluate(formula, world, parts, condition, &uses);
    bool truth = root->type == VALUE_NONE;
    print_lets(formula, &frame, condition, out);
    print_symbols(formula, out);
    text_add(out, "\n");
    if ((truth || !is_single_name(formula)) && print_numbers(formula, &frame, condition, out))
        text_add(out, "\n");
    if (truth && result.truth != TRUTH_UNKNOWN) {
        print_verdict(&result, out);
    } else if (result.value.type == VALUE_NONE) {
        print_missing(&uses, world, truth, out);
    } else {
        text_add(out, "= ");
        formula_print_value(root, &result, NULL, world->units, NULL, "unknown", out);
        text_add(out, "\n");
    }
}
