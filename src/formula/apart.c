/* apart.c - values that would print alike, though one is within the limit and the other is not. */
#include "formula/tree.h"

#include <math.h>

/* As far apart as three digits can hide, and no nearer than what counts as equal. */
static const double nearest = 1e-9, farthest = 1e-2;

static double side(const struct formula *formula, short index, struct frame *frame,
                   enum condition condition)
{
    if (formula->nodes[index].type != VALUE_QUANTITY)
        return NAN;
    struct formula_result result = formula_reply(formula, index, frame, condition);
    return result.value.type == VALUE_QUANTITY ? result.value.as.quantity.value : NAN;
}

static void note(struct apart *apart, double value, double other)
{
    if (apart->count < sizeof apart->at / sizeof *apart->at) {
        apart->at[apart->count].value = value;
        apart->at[apart->count++].other = other;
    }
}

/* The figures of a sum on one side, each to be told as finely as its result. */
static void note_terms(const struct formula *formula, short index, struct frame *frame,
                       enum condition condition, double share, struct apart *apart)
{
    const struct formula_node *node = &formula->nodes[index];
    if (node->op == NODE_ATTRIBUTE || node->op == NODE_LET) {
        double value = side(formula, index, frame, condition);
        if (isfinite(value) && value != 0.0)
            note(apart, value, value * (1.0 + share));
        return;
    }
    if (node->op < NODE_NEGATE || node->op > NODE_DIVIDE)
        return;
    note_terms(formula, node->first, frame, condition, share, apart);
    if (node->op != NODE_NEGATE)
        note_terms(formula, node->second, frame, condition, share, apart);
}

static void compare(const struct formula *formula, const struct formula_node *node,
                    struct frame *frame, enum condition condition, struct apart *apart)
{
    double a = side(formula, node->first, frame, condition);
    double b = side(formula, node->second, frame, condition);
    double size = fmax(fabs(a), fabs(b)), gap = fabs(a - b);
    if (!(gap > nearest * size && gap < farthest * size))
        return;
    note(apart, a, b);
    note(apart, b, a);
    note_terms(formula, node->first, frame, condition, gap / size, apart);
    note_terms(formula, node->second, frame, condition, gap / size, apart);
}

static void look(const struct formula *formula, short index, struct frame *frame,
                 enum condition condition, struct apart *apart)
{
    const struct formula_node *node = &formula->nodes[index];
    if (node->op == NODE_LET) {
        struct frame own = {.world = frame->world, .parts = frame->parts};
        look(node->as.let, node->as.let->root, &own, condition, apart);
        return;
    }
    if (node->op >= NODE_COUNT) /* what goes over many parts tells of none */
        return;
    if (node->op >= NODE_LESS && node->op <= NODE_AT_LEAST)
        compare(formula, node, frame, condition, apart);
    if (node->op == NODE_AT)
        condition = node->as.condition;
    const short below[] = {node->first, node->second, node->third};
    for (size_t i = 0; i < sizeof below / sizeof *below; i++)
        for (short child = below[i]; child >= 0; child = i == 0 ? formula->nodes[child].next : -1)
            look(formula, child, frame, condition, apart);
}

struct apart apart_find(const struct formula *formula, const struct formula_world *world,
                        const size_t *parts, enum condition condition)
{
    struct apart apart = {.count = 0};
    struct frame frame = {.world = world, .parts = parts};
    if (formula)
        look(formula, formula->root, &frame, condition, &apart);
    return apart;
}

double apart_from(const struct apart *apart, double value)
{
    for (size_t i = 0; apart && i < apart->count; i++)
        if (apart->at[i].value == value)
            return apart->at[i].other;
    return NAN;
}
