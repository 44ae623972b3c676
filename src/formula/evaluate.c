/* evaluate.c - what a formula comes to for given parts. Three-valued: unknown
 * in, unknown out, unless the rest decides. Allocates nothing; the depth of the
 * tree was limited when it was compiled. */
#include "formula/tree.h"

#include <math.h>
#include <string.h>

static const struct formula_result unknown = {.truth = TRUTH_UNKNOWN, .origin = ORIGIN_UNKNOWN};

/* Two values that differ by less than this share of the larger are one: 11.6 A from a table
 * and 11.6 A from a product must stand exactly at the limit. Far above rounding, far below any
 * nameplate. */
static const double rounding = 1e-9;

const char *origin_name(enum origin origin)
{
    static const char *const names[] = {"given", "listed", "solved", "assumed", "unknown"};
    return names[origin];
}

static bool is_known(const struct formula_result *result)
{
    return result->value.type != VALUE_NONE || result->truth != TRUTH_UNKNOWN;
}

static enum origin worse(enum origin a, enum origin b)
{
    return a > b ? a : b;
}

/* ---- What was looked at ---- */

static size_t use_mark(const struct frame *frame)
{
    return frame->uses ? frame->uses->count : 0;
}

/* What was missing since the mark turned out not to matter. */
static void forget_missing(struct frame *frame, size_t mark)
{
    struct formula_uses *uses = frame->uses;
    if (!uses)
        return;
    size_t kept = mark < uses->count ? mark : uses->count;
    for (size_t i = kept; i < uses->count; i++)
        if (!uses->at[i].unknown)
            uses->at[kept++] = uses->at[i];
    uses->count = kept;
}

/* Keeps a use once. When the table is full a missing value takes the place of the last known one:
 * what keeps a promise from being decided must not be lost. */
static void keep_use(struct frame *frame, struct formula_use use, bool each_condition)
{
    struct formula_uses *uses = frame->uses;
    const size_t room = sizeof uses->at / sizeof *uses->at;
    if (!uses)
        return;
    for (size_t i = 0; i < uses->count; i++)
        if (uses->at[i].part == use.part && uses->at[i].attribute == use.attribute &&
            (!each_condition || uses->at[i].condition == use.condition))
            return;
    if (uses->count < room) {
        uses->at[uses->count++] = use;
        return;
    }
    for (size_t i = room; use.unknown && i-- > 0;) {
        if (!uses->at[i].unknown) {
            uses->at[i] = use;
            return;
        }
    }
}

/* ---- Leaves ---- */

size_t frame_part(const struct formula *formula, const struct frame *frame, size_t slot)
{
    return slot < formula->role_count ? frame->parts[slot]
                                      : frame->bound[slot - formula->role_count];
}

/* The attribute's index in the kind of this part; -1 when the part is of none of the role's kinds.
 */
static int index_for(const struct reference *reference, const struct frame *frame, size_t part)
{
    if (reference->count == 1)
        return reference->index[0];
    const struct kind *kind = frame->world->kind(frame->world->data, part);
    for (size_t i = 0; i < reference->count; i++)
        if (reference->kinds[i] == kind)
            return reference->index[i];
    return -1;
}

static bool fits(enum value_type due, const struct value *value)
{
    switch (due) {
    case VALUE_QUANTITY:
        return value->type == due && !isnan(value->as.quantity.value);
    case VALUE_RANGE:
        return value->type == due && !isnan(value->as.range.low.value) &&
               !isnan(value->as.range.high.value);
    case VALUE_WORD:
    case VALUE_TEXT:
    case VALUE_ID:
        return (value->type == VALUE_WORD || value->type == VALUE_TEXT ||
                value->type == VALUE_ID) &&
               value->as.word;
    case VALUE_WORDS:
    case VALUE_IDS:
        return value->type == VALUE_WORDS || value->type == VALUE_IDS;
    default:
        return value->type == due;
    }
}

static struct formula_result attribute(const struct formula *formula,
                                       const struct formula_node *node, struct frame *frame,
                                       enum condition condition)
{
    const struct reference *reference = node->as.reference;
    size_t part = frame_part(formula, frame, reference->slot);
    if (part == SIZE_MAX)
        return unknown;
    int index = index_for(reference, frame, part);
    if (index < 0)
        return unknown;
    struct formula_result result = unknown;
    result.origin = ORIGIN_GIVEN;
    bool known = frame->world->value(frame->world->data, part, index, condition, &result.value,
                                     &result.origin) &&
                 fits(node->type, &result.value);
    keep_use(frame, (struct formula_use){part, index, condition, !known},
             reference->each_condition);
    return known ? result : unknown;
}

static struct formula_result quantity(const struct formula_node *node, double value,
                                      enum origin origin)
{
    if (isnan(value))
        return unknown;
    return (struct formula_result){.value = {.type = VALUE_QUANTITY,
                                             .unit = node->unit,
                                             .as.quantity = {value, node->dimension}},
                                   .truth = TRUTH_UNKNOWN,
                                   .origin = origin};
}

static struct formula_result word(const char *text, enum value_type type, enum origin origin)
{
    return (struct formula_result){
        .value = {.type = type, .as.word = text}, .truth = TRUTH_UNKNOWN, .origin = origin};
}

static struct formula_result holds(bool yes, enum origin origin)
{
    return (struct formula_result){.truth = yes ? TRUTH_YES : TRUTH_NO, .origin = origin};
}

static double number_of(const struct formula_result *result)
{
    return result->value.as.quantity.value;
}

/* ---- Comparisons and their margins ---- */

static bool same_number(double a, double b, bool absolute)
{
    double larger = fmax(fabs(a), fabs(b));
    if (isinf(larger))
        return a == b;
    return a == b || fabs(a - b) <= rounding * (absolute ? fmax(larger, 1.0) : larger);
}

/* A gap as a share of the limit. Of a limit of zero: of the larger of the two; of a temperature in
 * degC, whose zero means nothing: of its figure, but at least of 1 K. Held within a thousand
 * million, so that an unlimited value still prints. */
static double relative(double gap, double limit, double other, bool absolute)
{
    double base = fabs(limit);
    if (absolute)
        base = fmax(base, 1.0);
    else if (base == 0.0)
        base = fmax(fabs(limit), fabs(other));
    double margin = isinf(base) ? (isinf(gap) ? copysign(1.0, gap) : 0.0) : gap / base;
    if (gap == 0.0 || isnan(margin))
        return 0.0;
    return fmin(fmax(margin, -1e9), 1e9);
}

static struct formula_result compare_numbers(const struct formula_node *node, enum node_op op,
                                             double a, double b, bool absolute, enum origin origin)
{
    bool same = same_number(a, b, absolute);
    double gap = same ? 0.0 : op == NODE_MORE || op == NODE_AT_LEAST ? a - b : b - a;
    bool yes;
    switch (op) {
    case NODE_EQUAL:
        return holds(same, origin);
    case NODE_UNEQUAL:
        return holds(!same, origin);
    case NODE_LESS:
    case NODE_MORE:
        yes = !same && gap > 0.0;
        break;
    default:
        yes = same || gap > 0.0;
        break;
    }
    struct formula_result result = holds(yes, origin);
    result.has_margin = true;
    result.margin = relative(gap, node->limit_left ? a : b, node->limit_left ? b : a, absolute);
    return result;
}

/* Joins two truths; what was looked at for a begins at mark_a, for b at mark_b. `and` is decided by
 * a no and takes the smallest margin, `or` by a yes and takes the largest. */
static struct formula_result merge(bool and, struct formula_result a, struct formula_result b,
                                   struct frame *frame, size_t mark_a, size_t mark_b)
{
    const enum truth decides = and? TRUTH_NO : TRUTH_YES;
    bool a_decides = a.truth == decides, b_decides = b.truth == decides;
    if (a_decides && !b_decides) {
        forget_missing(frame, mark_b);
        return a;
    }
    if (b_decides && !a_decides) {
        forget_missing(frame, mark_a);
        return b;
    }
    if (a.truth == TRUTH_UNKNOWN || b.truth == TRUTH_UNKNOWN)
        return unknown;
    struct formula_result result = a;
    result.origin = worse(a.origin, b.origin);
    result.has_margin = a.has_margin || b.has_margin;
    if (a.has_margin && b.has_margin)
        result.margin = and? fmin(a.margin, b.margin) : fmax(a.margin, b.margin);
    else if (b.has_margin)
        result.margin = b.margin;
    return result;
}

/* True when nothing that follows can change the truth or the margin. */
static bool is_settled(bool and, const struct formula_result *result)
{
    return result->truth == (and? TRUTH_NO : TRUTH_YES) && !result->has_margin;
}

static struct formula_result logic(const struct formula *formula, const struct formula_node *node,
                                   struct frame *frame, enum condition condition)
{
    bool and = node->op == NODE_AND;
    size_t mark_a = use_mark(frame);
    struct formula_result a = formula_reply(formula, node->first, frame, condition);
    if (is_settled(and, &a))
        return a;
    size_t mark_b = use_mark(frame);
    struct formula_result b = formula_reply(formula, node->second, frame, condition);
    return merge(and, a, b, frame, mark_a, mark_b);
}

static struct formula_result turned(struct formula_result a)
{
    if (a.truth != TRUTH_UNKNOWN)
        a.truth = a.truth == TRUTH_YES ? TRUTH_NO : TRUTH_YES;
    a.margin = a.margin == 0.0 ? 0.0 : -a.margin;
    return a;
}

static struct formula_result in_range(const struct formula_node *node,
                                      const struct formula_result *a,
                                      const struct formula_result *range, struct frame *frame)
{
    double value = number_of(a);
    bool absolute = a->value.as.quantity.dimension.absolute;
    enum origin origin = worse(a->origin, range->origin);
    struct formula_result low = compare_numbers(node, NODE_AT_LEAST, value,
                                                range->value.as.range.low.value, absolute, origin);
    struct formula_result high = compare_numbers(
        node, NODE_AT_MOST, value, range->value.as.range.high.value, absolute, origin);
    return merge(true, low, high, frame, use_mark(frame), use_mark(frame));
}

static bool is_among(const char *text, const struct value *words)
{
    for (size_t i = 0; i < words->as.words.count; i++)
        if (strcmp(words->as.words.at[i], text) == 0)
            return true;
    return false;
}

/* A word among the items of a list, any of which may be a value: unknown items leave it open. */
static struct formula_result in_list(const struct formula *formula, const struct formula_node *list,
                                     const struct formula_result *a, struct frame *frame,
                                     enum condition condition)
{
    enum origin origin = a->origin;
    bool open = false;
    size_t mark = use_mark(frame);
    for (short i = list->first; i >= 0; i = formula->nodes[i].next) {
        struct formula_result item = formula_reply(formula, i, frame, condition);
        if (!is_known(&item)) {
            open = true;
        } else if (strcmp(item.value.as.word, a->value.as.word) == 0) {
            forget_missing(frame, mark);
            return holds(true, worse(origin, item.origin));
        } else {
            origin = worse(origin, item.origin);
        }
    }
    return open ? unknown : holds(false, origin);
}

static struct formula_result within(const struct formula *formula, const struct formula_node *node,
                                    struct frame *frame, enum condition condition)
{
    struct formula_result a = formula_reply(formula, node->first, frame, condition);
    const struct formula_node *right = &formula->nodes[node->second];
    if (right->op == NODE_LIST)
        return is_known(&a) ? in_list(formula, right, &a, frame, condition) : unknown;
    struct formula_result b = formula_reply(formula, node->second, frame, condition);
    if (!is_known(&a) || !is_known(&b))
        return unknown;
    if (right->type == VALUE_RANGE)
        return in_range(node, &a, &b, frame);
    return holds(is_among(a.value.as.word, &b.value), worse(a.origin, b.origin));
}

static struct formula_result comparison(const struct formula *formula,
                                        const struct formula_node *node, struct frame *frame,
                                        enum condition condition)
{
    struct formula_result a = formula_reply(formula, node->first, frame, condition);
    struct formula_result b = formula_reply(formula, node->second, frame, condition);
    if (!is_known(&a) || !is_known(&b))
        return unknown;
    enum origin origin = worse(a.origin, b.origin);
    if (node->op == NODE_IS || node->op == NODE_IS_NOT) {
        bool same = strcmp(a.value.as.word, b.value.as.word) == 0;
        return holds(same == (node->op == NODE_IS), origin);
    }
    return compare_numbers(node, node->op, number_of(&a), number_of(&b),
                           a.value.as.quantity.dimension.absolute, origin);
}

/* ---- Arithmetic ---- */

static struct formula_result arithmetic(const struct formula *formula,
                                        const struct formula_node *node, struct frame *frame,
                                        enum condition condition)
{
    struct formula_result a = formula_reply(formula, node->first, frame, condition);
    struct formula_result b = a;
    if (node->second >= 0)
        b = formula_reply(formula, node->second, frame, condition);
    if (!is_known(&a) || !is_known(&b))
        return unknown;
    enum origin origin = worse(a.origin, b.origin);
    double x = number_of(&a), y = number_of(&b);
    switch (node->op) {
    case NODE_ADD:
        return quantity(node, x + y, origin);
    case NODE_SUBTRACT:
        return quantity(node, x - y, origin);
    case NODE_MULTIPLY:
        return quantity(node, x * y, origin);
    case NODE_DIVIDE:
        return quantity(node, x / y, origin);
    case NODE_POWER:
        return quantity(node, pow(x, isnan(node->as.exponent) ? y : node->as.exponent), origin);
    default:
        return quantity(node, -x, origin);
    }
}

static struct formula_result range(const struct formula *formula, const struct formula_node *node,
                                   struct frame *frame, enum condition condition)
{
    struct formula_result low = formula_reply(formula, node->first, frame, condition);
    struct formula_result high = formula_reply(formula, node->second, frame, condition);
    if (!is_known(&low) || !is_known(&high))
        return unknown;
    return (struct formula_result){
        .value = {.type = VALUE_RANGE,
                  .unit = node->unit,
                  .as.range = {low.value.as.quantity, high.value.as.quantity}},
        .truth = TRUTH_UNKNOWN,
        .origin = worse(low.origin, high.origin)};
}

static struct formula_result extreme(const struct formula *formula, const struct formula_node *node,
                                     struct frame *frame, enum condition condition)
{
    double best = node->op == NODE_MIN ? HUGE_VAL : -HUGE_VAL;
    enum origin origin = ORIGIN_GIVEN;
    bool open = false;
    for (short i = node->first; i >= 0; i = formula->nodes[i].next) {
        struct formula_result item = formula_reply(formula, i, frame, condition);
        if (!is_known(&item)) {
            open = true;
            continue;
        }
        best = node->op == NODE_MIN ? fmin(best, number_of(&item)) : fmax(best, number_of(&item));
        origin = worse(origin, item.origin);
    }
    return open ? unknown : quantity(node, best, origin);
}

static struct formula_result function(const struct formula *formula,
                                      const struct formula_node *node, struct frame *frame,
                                      enum condition condition)
{
    struct formula_result a = formula_reply(formula, node->first, frame, condition);
    if (!is_known(&a))
        return unknown;
    switch (node->op) {
    case NODE_ABS:
        return quantity(node, fabs(number_of(&a)), a.origin);
    case NODE_SQRT:
        return quantity(node, sqrt(number_of(&a)), a.origin);
    case NODE_EXP:
        return quantity(node, exp(number_of(&a)), a.origin);
    case NODE_LN:
        return quantity(node, log(number_of(&a)), a.origin);
    case NODE_LOW:
        return quantity(node, a.value.as.range.low.value, a.origin);
    default:
        return quantity(node, a.value.as.range.high.value, a.origin);
    }
}

/* ---- Choice ---- */

static bool is_same(const struct formula_result *a, const struct formula_result *b)
{
    if (a->value.type == VALUE_NONE)
        return a->truth == b->truth;
    switch (a->value.type) {
    case VALUE_QUANTITY:
        return number_of(a) == number_of(b);
    case VALUE_RANGE:
        return a->value.as.range.low.value == b->value.as.range.low.value &&
               a->value.as.range.high.value == b->value.as.range.high.value;
    case VALUE_WORD:
    case VALUE_TEXT:
    case VALUE_ID:
        return strcmp(a->value.as.word, b->value.as.word) == 0;
    default:
        return false; /* lists are not compared */
    }
}

static struct formula_result choice(const struct formula *formula, const struct formula_node *node,
                                    struct frame *frame, enum condition condition)
{
    size_t mark = use_mark(frame);
    struct formula_result test = formula_reply(formula, node->first, frame, condition);
    if (test.truth != TRUTH_UNKNOWN) {
        struct formula_result taken = formula_reply(
            formula, test.truth == TRUTH_YES ? node->second : node->third, frame, condition);
        taken.origin = worse(taken.origin, test.origin);
        return taken;
    }
    struct formula_result yes = formula_reply(formula, node->second, frame, condition);
    struct formula_result no = formula_reply(formula, node->third, frame, condition);
    if (!is_known(&yes) || !is_known(&no) || !is_same(&yes, &no))
        return unknown;
    forget_missing(frame, mark); /* either way it comes to the same */
    yes.origin = worse(yes.origin, no.origin);
    yes.has_margin = yes.has_margin && no.has_margin;
    yes.margin = yes.has_margin ? fmin(yes.margin, no.margin) : 0.0;
    return yes;
}

static struct formula_result fallback(const struct formula *formula,
                                      const struct formula_node *node, struct frame *frame,
                                      enum condition condition)
{
    size_t mark = use_mark(frame);
    struct formula_result a = formula_reply(formula, node->first, frame, condition);
    if (is_known(&a))
        return a;
    struct formula_result b = formula_reply(formula, node->second, frame, condition);
    if (!is_known(&b))
        return unknown;
    forget_missing(frame, mark);
    b.origin = ORIGIN_ASSUMED;
    return b;
}

/* ---- Aggregates ---- */

struct members {
    const size_t *at;
    size_t count;
};

/* The parts of the rig that a gathering goes over, when they are of one kind or of none; false: of
 * several kinds, so that all parts have to be gone through to keep the rig's order. */
static bool members_of_kind(const struct gathering *gathering, const struct formula_world *world,
                            struct members *out)
{
    if (!world->of_kind)
        return false;
    *out = (struct members){NULL, 0};
    for (size_t i = 0; i < gathering->kind_count; i++) {
        struct members found;
        found.count = world->of_kind(world->data, gathering->kinds[i], &found.at);
        if (found.count && out->count)
            return false;
        if (found.count)
            *out = found;
    }
    return true;
}

static struct members members_of(const struct formula *formula, const struct gathering *gathering,
                                 const struct frame *frame)
{
    struct members members = {NULL, 0};
    size_t from = SIZE_MAX;
    if (gathering->relation) {
        from = frame_part(formula, frame, gathering->from);
        if (from == SIZE_MAX)
            return members;
    } else if (members_of_kind(gathering, frame->world, &members)) {
        return members;
    }
    members.count =
        frame->world->related(frame->world->data, from, gathering->relation, &members.at);
    return members;
}

static bool is_of(const struct gathering *gathering, const struct frame *frame, size_t part)
{
    const struct kind *kind = frame->world->kind(frame->world->data, part);
    for (size_t i = 0; i < gathering->kind_count; i++)
        if (gathering->kinds[i] == kind)
            return true;
    return false;
}

static struct formula_result any_or_all(const struct formula *formula,
                                        const struct formula_node *node, struct frame *frame,
                                        enum condition condition)
{
    const struct gathering *gathering = node->as.gathering;
    struct members members = members_of(formula, gathering, frame);
    bool and = node->op == NODE_ALL;
    struct formula_result result = holds(and, ORIGIN_GIVEN);
    size_t start = use_mark(frame);
    for (size_t i = 0; i < members.count && !is_settled(and, &result); i++) {
        if (!is_of(gathering, frame, members.at[i]))
            continue;
        frame->bound[gathering->slot - formula->role_count] = members.at[i];
        size_t mark = use_mark(frame);
        struct formula_result next = formula_reply(formula, node->first, frame, condition);
        result = merge(and, result, next, frame, start, mark);
    }
    return result;
}

static double gather(enum node_op op, double sum, double next)
{
    switch (op) {
    case NODE_TOTAL:
        return sum + next;
    case NODE_LEAST:
        return fmin(sum, next);
    default:
        return fmax(sum, next);
    }
}

/* count, total, least, most. The least of nothing is unknown. */
static struct formula_result tally(const struct formula *formula, const struct formula_node *node,
                                   struct frame *frame, enum condition condition)
{
    const struct gathering *gathering = node->as.gathering;
    struct members members = members_of(formula, gathering, frame);
    enum origin origin = ORIGIN_GIVEN;
    double sum = 0.0;
    size_t found = 0;
    bool open = false;
    for (size_t i = 0; i < members.count; i++) {
        if (!is_of(gathering, frame, members.at[i]))
            continue;
        found++;
        if (node->first < 0)
            continue;
        frame->bound[gathering->slot - formula->role_count] = members.at[i];
        struct formula_result each = formula_reply(formula, node->first, frame, condition);
        open = open || !is_known(&each);
        origin = worse(origin, each.origin);
        if (node->op == NODE_COUNT)
            sum += each.truth == TRUTH_YES;
        else
            sum = found == 1 ? number_of(&each) : gather(node->op, sum, number_of(&each));
    }
    if (node->op == NODE_COUNT && node->first < 0)
        sum = (double)found;
    bool nothing = found == 0 && (node->op == NODE_LEAST || node->op == NODE_MOST);
    return open || nothing ? unknown : quantity(node, sum, origin);
}

/* ---- All of it ---- */

static struct formula_result let(const struct formula_node *node, const struct frame *frame,
                                 enum condition condition)
{
    struct frame own = {.world = frame->world, .parts = frame->parts, .uses = frame->uses};
    return formula_reply(node->as.let, node->as.let->root, &own, condition);
}

static struct formula_result known(const struct formula *formula, const struct formula_node *node,
                                   struct frame *frame, enum condition condition)
{
    size_t mark = use_mark(frame);
    struct formula_result a = formula_reply(formula, node->first, frame, condition);
    forget_missing(frame, mark);
    return holds(is_known(&a), ORIGIN_GIVEN);
}

static struct formula_result part_id(const struct formula *formula, const struct formula_node *node,
                                     const struct frame *frame)
{
    size_t part = frame_part(formula, frame, node->as.slot);
    const char *id = part == SIZE_MAX ? NULL : frame->world->id(frame->world->data, part);
    return id ? word(id, VALUE_ID, ORIGIN_GIVEN) : unknown;
}

struct formula_result formula_reply(const struct formula *formula, short index, struct frame *frame,
                                    enum condition condition)
{
    const struct formula_node *node = &formula->nodes[index];
    switch (node->op) {
    case NODE_NUMBER:
        return quantity(node, node->as.number, ORIGIN_GIVEN);
    case NODE_TRUTH:
        return holds(node->as.yes, ORIGIN_GIVEN);
    case NODE_WORD:
        return word(node->as.word, VALUE_WORD, ORIGIN_GIVEN);
    case NODE_LIST:
        return (struct formula_result){
            .value = {.type = VALUE_WORDS, .as.words = {node->as.list.at, node->as.list.count}},
            .truth = TRUTH_UNKNOWN,
            .origin = ORIGIN_GIVEN};
    case NODE_ATTRIBUTE:
        return attribute(formula, node, frame, condition);
    case NODE_LET:
        return let(node, frame, condition);
    case NODE_CONDITION:
        return word(condition_name(condition), VALUE_WORD, ORIGIN_GIVEN);
    case NODE_PART:
        return part_id(formula, node, frame);
    case NODE_NEGATE:
    case NODE_ADD:
    case NODE_SUBTRACT:
    case NODE_MULTIPLY:
    case NODE_DIVIDE:
    case NODE_POWER:
        return arithmetic(formula, node, frame, condition);
    case NODE_RANGE:
        return range(formula, node, frame, condition);
    case NODE_ELSE:
        return fallback(formula, node, frame, condition);
    case NODE_LESS:
    case NODE_AT_MOST:
    case NODE_MORE:
    case NODE_AT_LEAST:
    case NODE_EQUAL:
    case NODE_UNEQUAL:
    case NODE_IS:
    case NODE_IS_NOT:
        return comparison(formula, node, frame, condition);
    case NODE_IN:
        return within(formula, node, frame, condition);
    case NODE_NOT_IN:
        return turned(within(formula, node, frame, condition));
    case NODE_NOT:
        return turned(formula_reply(formula, node->first, frame, condition));
    case NODE_AND:
    case NODE_OR:
        return logic(formula, node, frame, condition);
    case NODE_AT:
        return formula_reply(formula, node->first, frame, node->as.condition);
    case NODE_IF:
        return choice(formula, node, frame, condition);
    case NODE_KNOWN:
        return known(formula, node, frame, condition);
    case NODE_MIN:
    case NODE_MAX:
        return extreme(formula, node, frame, condition);
    case NODE_ABS:
    case NODE_SQRT:
    case NODE_EXP:
    case NODE_LN:
    case NODE_LOW:
    case NODE_HIGH:
        return function(formula, node, frame, condition);
    case NODE_COUNT:
    case NODE_TOTAL:
    case NODE_LEAST:
    case NODE_MOST:
        return tally(formula, node, frame, condition);
    case NODE_ANY:
    case NODE_ALL:
        return any_or_all(formula, node, frame, condition);
    case NODE_NAME: /* none is left after checking */
        break;
    }
    return unknown;
}

struct formula_result formula_evaluate(const struct formula *formula,
                                       const struct formula_world *world, const size_t *parts,
                                       enum condition condition, struct formula_uses *uses)
{
    if (uses)
        uses->count = 0;
    struct frame frame = {.world = world, .parts = parts, .uses = uses};
    return formula_reply(formula, formula->root, &frame, condition);
}
