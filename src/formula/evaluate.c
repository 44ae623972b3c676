/* evaluate.c - what a formula comes to for given parts. Three-valued: unknown
 * in, unknown out, unless the rest decides. Allocates nothing; the depth of the
 * tree was limited when it was compiled.
 *
 * Every node was typed by check.c, so there is one way for each sort of answer:
 * number_of for quantities, truth_of for truths, word_of for words, thing_of for
 * lists and ranges. The first three answer in registers: rules are little else,
 * and every rule is asked of every pairing. */
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

struct number {
    double value; /* SI; NAN: unknown */
    enum origin origin;
};

struct verdict {
    double margin; /* NAN: none */
    enum truth truth;
    enum origin origin;
};

struct wording {
    const char *text; /* NULL: unknown */
    enum origin origin;
};

static const struct number no_number = {NAN, ORIGIN_UNKNOWN};
static const struct wording no_word = {NULL, ORIGIN_UNKNOWN};
static const struct verdict undecided = {NAN, TRUTH_UNKNOWN, ORIGIN_UNKNOWN};

static struct number number_of(const struct formula *formula, short index, struct frame *frame,
                               enum condition condition);
static struct verdict truth_of(const struct formula *formula, short index, struct frame *frame,
                               enum condition condition);
static struct wording word_of(const struct formula *formula, short index, struct frame *frame,
                              enum condition condition);
static struct formula_result thing_of(const struct formula *formula, short index,
                                      struct frame *frame, enum condition condition);

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

enum { USES_ROOM = sizeof((struct formula_uses *)0)->at / sizeof(struct formula_use) };

/* Is one of the missing values there, but can't be read? Then what lacks it is not absent. */
static bool lacks_unread(const struct frame *frame)
{
    const struct formula_world *world = frame->world;
    const struct formula_uses *uses = frame->uses;
    for (size_t i = 0; uses && world->unread && i < uses->count; i++)
        if (uses->at[i].unknown &&
            world->unread(world->data, uses->at[i].part, uses->at[i].attribute))
            return true;
    return false;
}

/* Keeps a use once. When the table is full a missing value takes the place of the last known one:
 * what keeps a promise from being decided must not be lost. */
static void keep_use(struct frame *frame, const struct formula_use *use, bool each_condition)
{
    struct formula_uses *uses = frame->uses;
    if (!uses)
        return;
    for (size_t i = 0; i < uses->count; i++)
        if (uses->at[i].part == use->part && uses->at[i].attribute == use->attribute &&
            (!each_condition || uses->at[i].condition == use->condition) &&
            (isnan(use->argument) || uses->at[i].argument == use->argument))
            return;
    if (uses->count < USES_ROOM) {
        uses->at[uses->count++] = *use;
        return;
    }
    for (size_t i = USES_ROOM; use->unknown && i-- > 0;) {
        if (!uses->at[i].unknown) {
            uses->at[i] = *use;
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
    if (part == SIZE_MAX)
        return -1;
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

bool formula_use_value(const struct formula_world *world, const struct formula_use *use,
                       struct value *out, enum origin *origin)
{
    if (isnan(use->argument))
        return world->value(world->data, use->part, use->attribute, use->condition, out, origin);
    *origin = ORIGIN_UNKNOWN;
    return world->value_of && world->value_of(world->data, use->part, use->attribute,
                                              use->condition, use->argument, out, origin);
}

static double use_number(const struct formula_world *world, const struct formula_use *use,
                         enum origin *origin)
{
    if (world->number && isnan(use->argument))
        return world->number(world->data, use->part, use->attribute, use->condition, origin);
    struct value value = {.type = VALUE_NONE};
    bool known = formula_use_value(world, use, &value, origin);
    return known && value.type == VALUE_QUANTITY ? value.as.quantity.value : NAN;
}

static struct number number_attribute(const struct formula *formula,
                                      const struct formula_node *node, struct frame *frame,
                                      enum condition condition)
{
    const struct reference *reference = node->as.reference;
    size_t part = frame_part(formula, frame, reference->slot);
    int index = index_for(reference, frame, part);
    if (index < 0)
        return no_number;
    struct formula_use use = {part, index, condition, NAN, false};
    struct number of = {NAN, ORIGIN_GIVEN}, result = of;
    if (node->first >= 0) { /* a figure of something */
        of = number_of(formula, node->first, frame, condition);
        if (isnan(of.value))
            return no_number;
        use.argument = of.value;
    }
    result.value = use_number(frame->world, &use, &result.origin);
    use.unknown = isnan(result.value);
    keep_use(frame, &use, reference->each_condition);
    result.origin = worse(result.origin, of.origin);
    return use.unknown ? no_number : result;
}

static const char *use_word(const struct formula_world *world, const struct formula_use *use,
                            enum origin *origin)
{
    if (world->word)
        return world->word(world->data, use->part, use->attribute, use->condition, origin);
    struct value value = {.type = VALUE_NONE};
    bool known = formula_use_value(world, use, &value, origin) && fits(VALUE_WORD, &value);
    return known ? value.as.word : NULL;
}

static struct wording word_attribute(const struct formula *formula, const struct formula_node *node,
                                     struct frame *frame, enum condition condition)
{
    const struct reference *reference = node->as.reference;
    size_t part = frame_part(formula, frame, reference->slot);
    int index = index_for(reference, frame, part);
    if (index < 0)
        return no_word;
    struct formula_use use = {part, index, condition, NAN, false};
    struct wording result = {NULL, ORIGIN_GIVEN};
    result.text = use_word(frame->world, &use, &result.origin);
    use.unknown = !result.text;
    keep_use(frame, &use, reference->each_condition);
    return use.unknown ? no_word : result;
}

static struct formula_result attribute(const struct formula *formula,
                                       const struct formula_node *node, struct frame *frame,
                                       enum condition condition)
{
    const struct reference *reference = node->as.reference;
    size_t part = frame_part(formula, frame, reference->slot);
    int index = index_for(reference, frame, part);
    if (index < 0)
        return unknown;
    struct formula_use use = {part, index, condition, NAN, false};
    struct formula_result result = unknown;
    result.origin = ORIGIN_GIVEN;
    use.unknown = !formula_use_value(frame->world, &use, &result.value, &result.origin) ||
                  !fits(node->type, &result.value);
    keep_use(frame, &use, reference->each_condition);
    return use.unknown ? unknown : result;
}

static struct number number(double value, enum origin origin)
{
    return (struct number){value, isnan(value) ? ORIGIN_UNKNOWN : origin};
}

static struct verdict holds(bool yes, enum origin origin)
{
    return (struct verdict){NAN, yes ? TRUTH_YES : TRUTH_NO, origin};
}

/* ---- Let values, worked out once ---- */

/* A let value stands by itself: the roles bound outside are not its own. */
static struct frame frame_of_let(const struct frame *frame)
{
    return (struct frame){
        .world = frame->world, .parts = frame->parts, .uses = frame->uses, .memory = frame->memory};
}

/* One of fewer nodes is as soon worked out as looked up. */
enum { KEPT_COST = 4 };

static bool is_kept(const struct frame *frame, const struct formula *let)
{
    return frame->memory && frame->uses && let->steady && let->cost >= KEPT_COST;
}

/* Tells again what was looked at for a let value. False: there is no room to be sure of it. */
static bool tell_again(struct frame *frame, const struct formula_use *uses, size_t count,
                       enum condition condition)
{
    if (frame->uses->count + count > USES_ROOM)
        return false;
    for (size_t i = 0; i < count; i++) {
        struct formula_use use = uses[i];
        use.condition = condition;
        keep_use(frame, &use, false);
    }
    return true;
}

/* The let value as it was kept, told again; NULL when it was not. */
static const struct formula_kept *recall(struct frame *frame, const struct formula *let,
                                         enum condition condition)
{
    const struct formula_memory *memory = frame->memory;
    for (size_t i = 0; i < memory->count; i++) {
        const struct formula_kept *kept = &memory->at[i];
        if (kept->let == let)
            return tell_again(frame, &memory->uses[kept->first_use], kept->use_count, condition)
                       ? kept
                       : NULL;
    }
    return NULL;
}

static struct formula_kept work_out(const struct formula *let, struct frame *frame,
                                    enum condition condition, bool truth)
{
    struct formula_kept kept = {.let = let};
    if (truth) {
        struct verdict verdict = truth_of(let, let->root, frame, condition);
        kept.number = verdict.margin;
        kept.truth = verdict.truth;
        kept.origin = verdict.origin;
    } else {
        struct number number = number_of(let, let->root, frame, condition);
        kept.number = number.value;
        kept.origin = number.origin;
    }
    return kept;
}

static void keep_let(struct formula_memory *memory, struct formula_kept kept,
                     const struct formula_uses *uses)
{
    const size_t room = sizeof memory->at / sizeof *memory->at;
    const size_t use_room = sizeof memory->uses / sizeof *memory->uses;
    if (memory->count == room || memory->use_count + uses->count > use_room)
        return;
    memcpy(&memory->uses[memory->use_count], uses->at, uses->count * sizeof *uses->at);
    kept.first_use = memory->use_count;
    kept.use_count = uses->count;
    memory->use_count += uses->count;
    memory->at[memory->count++] = kept;
}

/* As a truth or a number: the other is not looked at. */
static struct formula_kept kept_let(const struct formula *let, struct frame *frame,
                                    enum condition condition, bool truth)
{
    const struct formula_kept *known = recall(frame, let, condition);
    if (known)
        return *known;
    struct formula_uses uses;
    uses.count = 0;
    struct frame own = frame_of_let(frame);
    own.uses = &uses;
    struct formula_kept kept = work_out(let, &own, condition, truth);
    if (tell_again(frame, uses.at, uses.count, condition)) {
        keep_let(frame->memory, kept, &uses);
        return kept;
    }
    own.uses = frame->uses;
    own.memory = NULL;
    return work_out(let, &own, condition, truth);
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

static struct verdict compare_numbers(const struct formula_node *node, enum node_op op, double a,
                                      double b, bool absolute, enum origin origin)
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
    struct verdict result = holds(yes, origin);
    result.margin = relative(gap, node->limit_left ? a : b, node->limit_left ? b : a, absolute);
    return result;
}

/* Joins two truths; what was looked at for a begins at mark_a, for b at mark_b. `and` is decided by
 * a no and takes the smallest margin, `or` by a yes and takes the largest. */
static struct verdict merge(bool and, struct verdict a, struct verdict b, struct frame *frame,
                            size_t mark_a, size_t mark_b)
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
        return undecided;
    /* fmin and fmax pass over a margin that is none */
    return (struct verdict){and? fmin(a.margin, b.margin) : fmax(a.margin, b.margin), a.truth,
                            worse(a.origin, b.origin)};
}

/* True when nothing that follows can change the truth or the margin. */
static bool is_settled(bool and, const struct verdict *verdict)
{
    return verdict->truth == (and? TRUTH_NO : TRUTH_YES) && isnan(verdict->margin);
}

static struct verdict logic(const struct formula *formula, const struct formula_node *node,
                            struct frame *frame, enum condition condition)
{
    bool and = node->op == NODE_AND;
    size_t mark_a = use_mark(frame);
    struct verdict a = truth_of(formula, node->first, frame, condition);
    if (is_settled(and, &a))
        return a;
    size_t mark_b = use_mark(frame);
    struct verdict b = truth_of(formula, node->second, frame, condition);
    return merge(and, a, b, frame, mark_a, mark_b);
}

static struct verdict turned(struct verdict a)
{
    if (a.truth != TRUTH_UNKNOWN)
        a.truth = a.truth == TRUTH_YES ? TRUTH_NO : TRUTH_YES;
    a.margin = a.margin == 0.0 ? 0.0 : -a.margin;
    return a;
}

/* ---- Words, ranges and lists among each other ---- */

static struct verdict in_range(const struct formula *formula, const struct formula_node *node,
                               struct frame *frame, enum condition condition)
{
    struct number a = number_of(formula, node->first, frame, condition);
    struct formula_result range = thing_of(formula, node->second, frame, condition);
    if (isnan(a.value) || !is_known(&range))
        return undecided;
    bool absolute = formula->nodes[node->first].dimension.absolute;
    enum origin origin = worse(a.origin, range.origin);
    struct verdict low = compare_numbers(node, NODE_AT_LEAST, a.value,
                                         range.value.as.range.low.value, absolute, origin);
    struct verdict high = compare_numbers(node, NODE_AT_MOST, a.value,
                                          range.value.as.range.high.value, absolute, origin);
    return merge(true, low, high, frame, use_mark(frame), use_mark(frame));
}

static bool is_among(const char *text, const struct value *words)
{
    for (size_t i = 0; i < words->as.words.count; i++)
        if (name_same(words->as.words.at[i], text))
            return true;
    return false;
}

/* A word among the items of a list, any of which may be a value: unknown items leave it open. */
static struct verdict in_list(const struct formula *formula, const struct formula_node *list,
                              struct wording a, struct frame *frame, enum condition condition)
{
    enum origin origin = a.origin;
    bool open = false;
    size_t mark = use_mark(frame);
    for (short i = list->first; i >= 0; i = formula->nodes[i].next) {
        struct wording item = word_of(formula, i, frame, condition);
        if (!item.text) {
            open = true;
        } else if (name_same(item.text, a.text)) {
            forget_missing(frame, mark);
            return holds(true, worse(origin, item.origin));
        } else {
            origin = worse(origin, item.origin);
        }
    }
    return open ? undecided : holds(false, origin);
}

static struct verdict within(const struct formula *formula, const struct formula_node *node,
                             struct frame *frame, enum condition condition)
{
    const struct formula_node *right = &formula->nodes[node->second];
    if (right->type == VALUE_RANGE)
        return in_range(formula, node, frame, condition);
    struct wording a = word_of(formula, node->first, frame, condition);
    if (right->op == NODE_LIST)
        return a.text ? in_list(formula, right, a, frame, condition) : undecided;
    struct formula_result b = thing_of(formula, node->second, frame, condition);
    if (!a.text || !is_known(&b))
        return undecided;
    return holds(is_among(a.text, &b.value), worse(a.origin, b.origin));
}

/* A is B, A is not B. */
static struct verdict alike(const struct formula *formula, const struct formula_node *node,
                            struct frame *frame, enum condition condition)
{
    struct wording a = word_of(formula, node->first, frame, condition);
    struct wording b = word_of(formula, node->second, frame, condition);
    if (!a.text || !b.text)
        return undecided;
    bool same = name_same(a.text, b.text);
    return holds(same == (node->op == NODE_IS), worse(a.origin, b.origin));
}

static struct verdict comparison(const struct formula *formula, const struct formula_node *node,
                                 struct frame *frame, enum condition condition)
{
    struct number a = number_of(formula, node->first, frame, condition);
    struct number b = number_of(formula, node->second, frame, condition);
    if (isnan(a.value) || isnan(b.value))
        return undecided;
    return compare_numbers(node, node->op, a.value, b.value,
                           formula->nodes[node->first].dimension.absolute,
                           worse(a.origin, b.origin));
}

/* ---- Arithmetic ---- */

static struct number arithmetic(const struct formula *formula, const struct formula_node *node,
                                struct frame *frame, enum condition condition)
{
    struct number a = number_of(formula, node->first, frame, condition);
    struct number b = a;
    if (node->second >= 0)
        b = number_of(formula, node->second, frame, condition);
    if (isnan(a.value) || isnan(b.value))
        return no_number;
    enum origin origin = worse(a.origin, b.origin);
    double x = a.value, y = b.value;
    switch (node->op) {
    case NODE_ADD:
        return number(x + y, origin);
    case NODE_SUBTRACT:
        return number(x - y, origin);
    case NODE_MULTIPLY:
        return number(x * y, origin);
    case NODE_DIVIDE:
        return number(x / y, origin);
    case NODE_POWER:
        return number(pow(x, isnan(node->as.exponent) ? y : node->as.exponent), origin);
    default:
        return number(-x, origin);
    }
}

static struct formula_result range(const struct formula *formula, const struct formula_node *node,
                                   struct frame *frame, enum condition condition)
{
    struct number low = number_of(formula, node->first, frame, condition);
    struct number high = number_of(formula, node->second, frame, condition);
    if (isnan(low.value) || isnan(high.value))
        return unknown;
    return (struct formula_result){
        .value = {.type = VALUE_RANGE,
                  .unit = node->told->unit.name,
                  .as.range = {{low.value, node->dimension}, {high.value, node->dimension}}},
        .truth = TRUTH_UNKNOWN,
        .origin = worse(low.origin, high.origin)};
}

static struct number extreme(const struct formula *formula, const struct formula_node *node,
                             struct frame *frame, enum condition condition)
{
    double best = node->op == NODE_MIN ? HUGE_VAL : -HUGE_VAL;
    enum origin origin = ORIGIN_GIVEN;
    bool open = false;
    for (short i = node->first; i >= 0; i = formula->nodes[i].next) {
        struct number item = number_of(formula, i, frame, condition);
        if (isnan(item.value)) {
            open = true;
            continue;
        }
        best = node->op == NODE_MIN ? fmin(best, item.value) : fmax(best, item.value);
        origin = worse(origin, item.origin);
    }
    return open ? no_number : number(best, origin);
}

static struct number end_of_range(const struct formula *formula, const struct formula_node *node,
                                  struct frame *frame, enum condition condition)
{
    struct formula_result a = thing_of(formula, node->first, frame, condition);
    if (!is_known(&a))
        return no_number;
    return number(node->op == NODE_LOW ? a.value.as.range.low.value : a.value.as.range.high.value,
                  a.origin);
}

static struct number function(const struct formula *formula, const struct formula_node *node,
                              struct frame *frame, enum condition condition)
{
    struct number a = number_of(formula, node->first, frame, condition);
    switch (node->op) {
    case NODE_ABS:
        return number(fabs(a.value), a.origin);
    case NODE_SQRT:
        return number(sqrt(a.value), a.origin);
    case NODE_EXP:
        return number(exp(a.value), a.origin);
    default:
        return number(log(a.value), a.origin);
    }
}

/* ---- Choice: if and else, of each sort ---- */

static struct number number_choice(const struct formula *formula, const struct formula_node *node,
                                   struct frame *frame, enum condition condition)
{
    size_t mark = use_mark(frame);
    struct verdict test = truth_of(formula, node->first, frame, condition);
    if (test.truth != TRUTH_UNKNOWN) {
        struct number taken = number_of(
            formula, test.truth == TRUTH_YES ? node->second : node->third, frame, condition);
        taken.origin = worse(taken.origin, test.origin);
        return taken;
    }
    struct number yes = number_of(formula, node->second, frame, condition);
    struct number no = number_of(formula, node->third, frame, condition);
    if (isnan(yes.value) || yes.value != no.value)
        return no_number;
    forget_missing(frame, mark); /* either way it comes to the same */
    yes.origin = worse(yes.origin, no.origin);
    return yes;
}

static struct verdict truth_choice(const struct formula *formula, const struct formula_node *node,
                                   struct frame *frame, enum condition condition)
{
    size_t mark = use_mark(frame);
    struct verdict test = truth_of(formula, node->first, frame, condition);
    if (test.truth != TRUTH_UNKNOWN) {
        struct verdict taken = truth_of(
            formula, test.truth == TRUTH_YES ? node->second : node->third, frame, condition);
        taken.origin = worse(taken.origin, test.origin);
        return taken;
    }
    struct verdict yes = truth_of(formula, node->second, frame, condition);
    struct verdict no = truth_of(formula, node->third, frame, condition);
    if (yes.truth == TRUTH_UNKNOWN || yes.truth != no.truth)
        return undecided;
    forget_missing(frame, mark);
    bool both = !isnan(yes.margin) && !isnan(no.margin);
    return (struct verdict){both ? fmin(yes.margin, no.margin) : NAN, yes.truth,
                            worse(yes.origin, no.origin)};
}

static struct wording word_choice(const struct formula *formula, const struct formula_node *node,
                                  struct frame *frame, enum condition condition)
{
    size_t mark = use_mark(frame);
    struct verdict test = truth_of(formula, node->first, frame, condition);
    if (test.truth != TRUTH_UNKNOWN) {
        struct wording taken = word_of(
            formula, test.truth == TRUTH_YES ? node->second : node->third, frame, condition);
        taken.origin = worse(taken.origin, test.origin);
        return taken;
    }
    struct wording yes = word_of(formula, node->second, frame, condition);
    struct wording no = word_of(formula, node->third, frame, condition);
    if (!yes.text || !no.text || !name_same(yes.text, no.text))
        return no_word;
    forget_missing(frame, mark);
    yes.origin = worse(yes.origin, no.origin);
    return yes;
}

/* Lists are not compared. */
static bool is_same_range(const struct formula_result *a, const struct formula_result *b)
{
    return a->value.type == VALUE_RANGE &&
           a->value.as.range.low.value == b->value.as.range.low.value &&
           a->value.as.range.high.value == b->value.as.range.high.value;
}

static struct formula_result thing_choice(const struct formula *formula,
                                          const struct formula_node *node, struct frame *frame,
                                          enum condition condition)
{
    size_t mark = use_mark(frame);
    struct verdict test = truth_of(formula, node->first, frame, condition);
    if (test.truth != TRUTH_UNKNOWN) {
        struct formula_result taken = thing_of(
            formula, test.truth == TRUTH_YES ? node->second : node->third, frame, condition);
        taken.origin = worse(taken.origin, test.origin);
        return taken;
    }
    struct formula_result yes = thing_of(formula, node->second, frame, condition);
    struct formula_result no = thing_of(formula, node->third, frame, condition);
    if (!is_known(&yes) || !is_known(&no) || !is_same_range(&yes, &no))
        return unknown;
    forget_missing(frame, mark);
    yes.origin = worse(yes.origin, no.origin);
    return yes;
}

static struct number number_fallback(const struct formula *formula, const struct formula_node *node,
                                     struct frame *frame, enum condition condition)
{
    size_t mark = use_mark(frame);
    struct number a = number_of(formula, node->first, frame, condition);
    if (!isnan(a.value))
        return a;
    if (lacks_unread(frame))
        return no_number;
    struct number b = number_of(formula, node->second, frame, condition);
    if (isnan(b.value))
        return no_number;
    forget_missing(frame, mark);
    return (struct number){b.value, ORIGIN_ASSUMED};
}

static struct verdict truth_fallback(const struct formula *formula, const struct formula_node *node,
                                     struct frame *frame, enum condition condition)
{
    size_t mark = use_mark(frame);
    struct verdict a = truth_of(formula, node->first, frame, condition);
    if (a.truth != TRUTH_UNKNOWN)
        return a;
    if (lacks_unread(frame))
        return undecided;
    struct verdict b = truth_of(formula, node->second, frame, condition);
    if (b.truth == TRUTH_UNKNOWN)
        return undecided;
    forget_missing(frame, mark);
    b.origin = ORIGIN_ASSUMED;
    return b;
}

static struct wording word_fallback(const struct formula *formula, const struct formula_node *node,
                                    struct frame *frame, enum condition condition)
{
    size_t mark = use_mark(frame);
    struct wording a = word_of(formula, node->first, frame, condition);
    if (a.text)
        return a;
    if (lacks_unread(frame))
        return no_word;
    struct wording b = word_of(formula, node->second, frame, condition);
    if (!b.text)
        return no_word;
    forget_missing(frame, mark);
    return (struct wording){b.text, ORIGIN_ASSUMED};
}

static struct formula_result thing_fallback(const struct formula *formula,
                                            const struct formula_node *node, struct frame *frame,
                                            enum condition condition)
{
    size_t mark = use_mark(frame);
    struct formula_result a = thing_of(formula, node->first, frame, condition);
    if (is_known(&a))
        return a;
    if (lacks_unread(frame))
        return unknown;
    struct formula_result b = thing_of(formula, node->second, frame, condition);
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

/* The parts of one kind to which `from` stands in a relation; of the whole rig where there is none.
 * False: the world does not keep them by kind. */
static bool members_of_one(const struct formula_world *world, size_t from, const char *relation,
                           const struct kind *kind, struct members *out)
{
    if (relation)
        return world->related_of_kind &&
               world->related_of_kind(world->data, from, relation, kind, &out->at, &out->count);
    if (!world->of_kind)
        return false;
    out->count = world->of_kind(world->data, kind, &out->at);
    return true;
}

/* What a gathering goes over, when it is of one kind or nothing; false: of several kinds, so that
 * all parts have to be gone through to keep the rig's order. */
static bool members_of_kind(const struct gathering *gathering, const struct formula_world *world,
                            size_t from, struct members *out)
{
    *out = (struct members){NULL, 0};
    for (size_t i = 0; i < gathering->kind_count; i++) {
        struct members found;
        if (!members_of_one(world, from, gathering->relation, gathering->kinds[i], &found) ||
            (found.count && out->count))
            return false;
        if (found.count)
            *out = found;
    }
    return true;
}

/* So few parts are gone through sooner than asked for by kind. */
enum { FEW = 32 };

static struct members members_of(const struct formula *formula, const struct gathering *gathering,
                                 const struct frame *frame)
{
    const struct formula_world *world = frame->world;
    struct members all = {NULL, 0}, some;
    size_t from = SIZE_MAX;
    if (gathering->relation) {
        from = frame_part(formula, frame, gathering->from);
        if (from == SIZE_MAX)
            return all;
        all.count = world->related(world->data, from, gathering->relation, &all.at);
        if (all.count < FEW)
            return all;
    }
    if (members_of_kind(gathering, world, from, &some))
        return some;
    if (!gathering->relation)
        all.count = world->related(world->data, from, NULL, &all.at);
    return all;
}

static bool is_of(const struct gathering *gathering, const struct frame *frame, size_t part)
{
    const struct kind *kind = frame->world->kind(frame->world->data, part);
    for (size_t i = 0; i < gathering->kind_count; i++)
        if (gathering->kinds[i] == kind)
            return true;
    return false;
}

static struct verdict any_or_all(const struct formula *formula, const struct formula_node *node,
                                 struct frame *frame, enum condition condition)
{
    const struct gathering *gathering = node->as.gathering;
    struct members members = members_of(formula, gathering, frame);
    bool and = node->op == NODE_ALL;
    struct verdict result = holds(and, ORIGIN_GIVEN);
    size_t start = use_mark(frame);
    for (size_t i = 0; i < members.count && !is_settled(and, &result); i++) {
        if (!is_of(gathering, frame, members.at[i]))
            continue;
        frame->bound[gathering->slot - formula->role_count] = members.at[i];
        size_t mark = use_mark(frame);
        struct verdict next = truth_of(formula, node->first, frame, condition);
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

/* How many there are, or for how many the truth in the brackets holds. */
static struct number count(const struct formula *formula, const struct formula_node *node,
                           struct frame *frame, enum condition condition)
{
    const struct gathering *gathering = node->as.gathering;
    struct members members = members_of(formula, gathering, frame);
    struct number sum = {0.0, ORIGIN_GIVEN};
    bool open = false;
    for (size_t i = 0; i < members.count; i++) {
        if (!is_of(gathering, frame, members.at[i]))
            continue;
        struct verdict each = holds(true, ORIGIN_GIVEN);
        frame->bound[gathering->slot - formula->role_count] = members.at[i];
        if (node->first >= 0)
            each = truth_of(formula, node->first, frame, condition);
        open = open || each.truth == TRUTH_UNKNOWN;
        sum.origin = worse(sum.origin, each.origin);
        sum.value += each.truth == TRUTH_YES;
    }
    return open ? no_number : sum;
}

/* total, least, most. The least of nothing is unknown. */
static struct number tally(const struct formula *formula, const struct formula_node *node,
                           struct frame *frame, enum condition condition)
{
    const struct gathering *gathering = node->as.gathering;
    struct members members = members_of(formula, gathering, frame);
    struct number sum = {0.0, ORIGIN_GIVEN};
    size_t found = 0;
    bool open = false;
    for (size_t i = 0; i < members.count; i++) {
        if (!is_of(gathering, frame, members.at[i]))
            continue;
        frame->bound[gathering->slot - formula->role_count] = members.at[i];
        struct number each = number_of(formula, node->first, frame, condition);
        open = open || isnan(each.value);
        sum.origin = worse(sum.origin, each.origin);
        sum.value = found == 0 ? each.value : gather(node->op, sum.value, each.value);
        found++;
    }
    bool nothing = found == 0 && node->op != NODE_TOTAL;
    return open || nothing ? no_number : number(sum.value, sum.origin);
}

/* ---- All of it ---- */

/* Is a value of any sort known? */
static bool is_answered(const struct formula *formula, short index, struct frame *frame,
                        enum condition condition)
{
    struct formula_result thing;
    switch (formula->nodes[index].type) {
    case VALUE_NONE:
        return truth_of(formula, index, frame, condition).truth != TRUTH_UNKNOWN;
    case VALUE_QUANTITY:
        return !isnan(number_of(formula, index, frame, condition).value);
    case VALUE_WORD:
    case VALUE_TEXT:
    case VALUE_ID:
        return word_of(formula, index, frame, condition).text != NULL;
    default:
        thing = thing_of(formula, index, frame, condition);
        return is_known(&thing);
    }
}

static struct verdict known(const struct formula *formula, const struct formula_node *node,
                            struct frame *frame, enum condition condition)
{
    size_t mark = use_mark(frame);
    bool answered = is_answered(formula, node->first, frame, condition);
    if (!answered && lacks_unread(frame))
        return undecided;
    forget_missing(frame, mark);
    return holds(answered, ORIGIN_GIVEN);
}

static struct wording part_id(const struct formula *formula, const struct formula_node *node,
                              struct frame *frame, enum condition condition)
{
    (void)condition;
    size_t part = frame_part(formula, frame, node->as.slot);
    const char *id = part == SIZE_MAX ? NULL : frame->world->id(frame->world->data, part);
    return id ? (struct wording){id, ORIGIN_GIVEN} : no_word;
}

/* ---- One way for each operator, by the sort of its answer; check.c lets no other through ---- */

static struct number number_literal(const struct formula *formula, const struct formula_node *node,
                                    struct frame *frame, enum condition condition)
{
    (void)formula;
    (void)frame;
    (void)condition;
    return (struct number){node->as.number, ORIGIN_GIVEN};
}

static struct number number_let(const struct formula *formula, const struct formula_node *node,
                                struct frame *frame, enum condition condition)
{
    (void)formula;
    if (is_kept(frame, node->as.let)) {
        struct formula_kept kept = kept_let(node->as.let, frame, condition, false);
        return (struct number){kept.number, kept.origin};
    }
    struct frame own = frame_of_let(frame);
    return number_of(node->as.let, node->as.let->root, &own, condition);
}

static struct number number_at(const struct formula *formula, const struct formula_node *node,
                               struct frame *frame, enum condition condition)
{
    (void)condition;
    return number_of(formula, node->first, frame, node->as.condition);
}

static struct number (*const number_ops[NODE_OPS])(const struct formula *,
                                                   const struct formula_node *, struct frame *,
                                                   enum condition) = {
    [NODE_NUMBER] = number_literal, [NODE_ATTRIBUTE] = number_attribute,
    [NODE_LET] = number_let,        [NODE_NEGATE] = arithmetic,
    [NODE_ADD] = arithmetic,        [NODE_SUBTRACT] = arithmetic,
    [NODE_MULTIPLY] = arithmetic,   [NODE_DIVIDE] = arithmetic,
    [NODE_POWER] = arithmetic,      [NODE_ELSE] = number_fallback,
    [NODE_AT] = number_at,          [NODE_IF] = number_choice,
    [NODE_MIN] = extreme,           [NODE_MAX] = extreme,
    [NODE_ABS] = function,          [NODE_SQRT] = function,
    [NODE_EXP] = function,          [NODE_LN] = function,
    [NODE_LOW] = end_of_range,      [NODE_HIGH] = end_of_range,
    [NODE_COUNT] = count,           [NODE_TOTAL] = tally,
    [NODE_LEAST] = tally,           [NODE_MOST] = tally,
};

static struct number number_of(const struct formula *formula, short index, struct frame *frame,
                               enum condition condition)
{
    const struct formula_node *node = &formula->nodes[index];
    return number_ops[node->op](formula, node, frame, condition);
}

static struct verdict truth_literal(const struct formula *formula, const struct formula_node *node,
                                    struct frame *frame, enum condition condition)
{
    (void)formula;
    (void)frame;
    (void)condition;
    return holds(node->as.yes, ORIGIN_GIVEN);
}

static struct verdict not_within(const struct formula *formula, const struct formula_node *node,
                                 struct frame *frame, enum condition condition)
{
    return turned(within(formula, node, frame, condition));
}

static struct verdict negation(const struct formula *formula, const struct formula_node *node,
                               struct frame *frame, enum condition condition)
{
    return turned(truth_of(formula, node->first, frame, condition));
}

static struct verdict truth_let(const struct formula *formula, const struct formula_node *node,
                                struct frame *frame, enum condition condition)
{
    (void)formula;
    if (is_kept(frame, node->as.let)) {
        struct formula_kept kept = kept_let(node->as.let, frame, condition, true);
        return (struct verdict){kept.number, kept.truth, kept.origin};
    }
    struct frame own = frame_of_let(frame);
    return truth_of(node->as.let, node->as.let->root, &own, condition);
}

static struct verdict truth_at(const struct formula *formula, const struct formula_node *node,
                               struct frame *frame, enum condition condition)
{
    (void)condition;
    return truth_of(formula, node->first, frame, node->as.condition);
}

static struct verdict (*const truth_ops[NODE_OPS])(const struct formula *,
                                                   const struct formula_node *, struct frame *,
                                                   enum condition) = {
    [NODE_TRUTH] = truth_literal, [NODE_LET] = truth_let,
    [NODE_ELSE] = truth_fallback, [NODE_LESS] = comparison,
    [NODE_AT_MOST] = comparison,  [NODE_MORE] = comparison,
    [NODE_AT_LEAST] = comparison, [NODE_EQUAL] = comparison,
    [NODE_UNEQUAL] = comparison,  [NODE_IS] = alike,
    [NODE_IS_NOT] = alike,        [NODE_IN] = within,
    [NODE_NOT_IN] = not_within,   [NODE_NOT] = negation,
    [NODE_AND] = logic,           [NODE_OR] = logic,
    [NODE_AT] = truth_at,         [NODE_IF] = truth_choice,
    [NODE_KNOWN] = known,         [NODE_ANY] = any_or_all,
    [NODE_ALL] = any_or_all,
};

static struct verdict truth_of(const struct formula *formula, short index, struct frame *frame,
                               enum condition condition)
{
    const struct formula_node *node = &formula->nodes[index];
    return truth_ops[node->op](formula, node, frame, condition);
}

static struct wording word_literal(const struct formula *formula, const struct formula_node *node,
                                   struct frame *frame, enum condition condition)
{
    (void)formula;
    (void)frame;
    (void)condition;
    return (struct wording){node->as.word, ORIGIN_GIVEN};
}

static struct wording condition_word(const struct formula *formula, const struct formula_node *node,
                                     struct frame *frame, enum condition condition)
{
    (void)formula;
    (void)node;
    (void)frame;
    return (struct wording){condition_name(condition), ORIGIN_GIVEN};
}

static struct wording word_let(const struct formula *formula, const struct formula_node *node,
                               struct frame *frame, enum condition condition)
{
    (void)formula;
    struct frame own = frame_of_let(frame);
    return word_of(node->as.let, node->as.let->root, &own, condition);
}

static struct wording word_at(const struct formula *formula, const struct formula_node *node,
                              struct frame *frame, enum condition condition)
{
    (void)condition;
    return word_of(formula, node->first, frame, node->as.condition);
}

static struct wording (*const word_ops[NODE_OPS])(const struct formula *,
                                                  const struct formula_node *, struct frame *,
                                                  enum condition) = {
    [NODE_WORD] = word_literal, [NODE_ATTRIBUTE] = word_attribute,
    [NODE_LET] = word_let,      [NODE_CONDITION] = condition_word,
    [NODE_PART] = part_id,      [NODE_ELSE] = word_fallback,
    [NODE_AT] = word_at,        [NODE_IF] = word_choice,
};

static struct wording word_of(const struct formula *formula, short index, struct frame *frame,
                              enum condition condition)
{
    const struct formula_node *node = &formula->nodes[index];
    return word_ops[node->op](formula, node, frame, condition);
}

static struct formula_result thing_of(const struct formula *formula, short index,
                                      struct frame *frame, enum condition condition)
{
    const struct formula_node *node = &formula->nodes[index];
    struct frame own;
    switch (node->op) {
    case NODE_LIST:
        return (struct formula_result){
            .value = {.type = VALUE_WORDS, .as.words = {node->as.list.at, node->as.list.count}},
            .truth = TRUTH_UNKNOWN,
            .origin = ORIGIN_GIVEN};
    case NODE_ATTRIBUTE:
        return attribute(formula, node, frame, condition);
    case NODE_LET:
        own = frame_of_let(frame);
        return thing_of(node->as.let, node->as.let->root, &own, condition);
    case NODE_RANGE:
        return range(formula, node, frame, condition);
    case NODE_ELSE:
        return thing_fallback(formula, node, frame, condition);
    case NODE_AT:
        return thing_of(formula, node->first, frame, node->as.condition);
    case NODE_IF:
        return thing_choice(formula, node, frame, condition);
    default:
        return unknown;
    }
}

static struct formula_result as_truth(struct verdict verdict)
{
    bool has_margin = !isnan(verdict.margin);
    return (struct formula_result){.truth = verdict.truth,
                                   .origin = verdict.origin,
                                   .has_margin = has_margin,
                                   .margin = has_margin ? verdict.margin : 0.0};
}

static struct formula_result as_number(const struct formula_node *node, struct number number)
{
    if (isnan(number.value))
        return unknown;
    return (struct formula_result){.value = {.type = VALUE_QUANTITY,
                                             .unit = node->told->unit.name,
                                             .as.quantity = {number.value, node->dimension}},
                                   .truth = TRUTH_UNKNOWN,
                                   .origin = number.origin};
}

static struct formula_result as_word(const struct formula_node *node, struct wording wording)
{
    if (!wording.text)
        return unknown;
    return (struct formula_result){.value = {.type = node->type, .as.word = wording.text},
                                   .truth = TRUTH_UNKNOWN,
                                   .origin = wording.origin};
}

struct formula_result formula_reply(const struct formula *formula, short index, struct frame *frame,
                                    enum condition condition)
{
    const struct formula_node *node = &formula->nodes[index];
    switch (node->type) {
    case VALUE_NONE:
        return as_truth(truth_of(formula, index, frame, condition));
    case VALUE_QUANTITY:
        return as_number(node, number_of(formula, index, frame, condition));
    case VALUE_WORD:
    case VALUE_TEXT:
    case VALUE_ID:
        return as_word(node, word_of(formula, index, frame, condition));
    default:
        return thing_of(formula, index, frame, condition);
    }
}

struct formula_result formula_evaluate_again(const struct formula *formula,
                                             const struct formula_world *world, const size_t *parts,
                                             enum condition condition, struct formula_uses *uses,
                                             struct formula_memory *memory)
{
    struct formula_uses own;
    if (!uses && world->unread)
        uses = &own;
    if (uses)
        uses->count = 0;
    struct frame frame = {.world = world, .parts = parts, .uses = uses, .memory = memory};
    return formula_reply(formula, formula->root, &frame, condition);
}

struct formula_result formula_evaluate(const struct formula *formula,
                                       const struct formula_world *world, const size_t *parts,
                                       enum condition condition, struct formula_uses *uses)
{
    return formula_evaluate_again(formula, world, parts, condition, uses, NULL);
}
