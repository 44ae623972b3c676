/* check.c - gives every node its type. A formula that passes can't add volts to
 * amps, whatever the values turn out to be. Names are settled here as well. */
#include "formula/tree.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* What may stand where a node stands. */
enum place_for {
    FOR_VALUE, /* no bare word */
    FOR_WORD,  /* a bare word stands for itself */
    FOR_TRUTH, /* something that holds or does not; yes and no do */
};

static bool check(struct compiler *compiler, short index, enum place_for due);

static struct formula_node *node_at(const struct compiler *compiler, short index)
{
    return &compiler->nodes.at[index];
}

static bool is_word(enum value_type type)
{
    return type == VALUE_WORD || type == VALUE_TEXT || type == VALUE_ID;
}

static bool is_words(enum value_type type)
{
    return type == VALUE_WORDS || type == VALUE_IDS;
}

/* ---- Saying what a node is ---- */

struct description {
    char text[112];
};

/* "V", the commonest unit of a dimension */
static void usual_unit(struct dimension dimension, char *out, size_t size)
{
    char spare[64];
    dimension_units(dimension, out, size);
    size_t length = strcspn(out, " ,");
    if (length == 0) {
        const char *si = dimension_si(dimension, spare);
        length = strlen(si) < size ? strlen(si) : size - 1;
        memcpy(out, si, length);
    }
    out[length] = '\0';
}

static const char *article(const char *word)
{
    return word[0] && strchr("aeiouAEIOU", word[0]) ? "an" : "a";
}

static struct description describe_dimension(struct dimension dimension)
{
    struct description out;
    char unit[64];
    const char *word = dimension_word(dimension);
    if (dimension_same(dimension, dimension_none)) {
        snprintf(out.text, sizeof out.text, "a bare number");
        return out;
    }
    usual_unit(dimension, unit, sizeof unit);
    if (word)
        snprintf(out.text, sizeof out.text, "%s %s (%s)", article(word), word, unit);
    else
        snprintf(out.text, sizeof out.text, "a quantity in %s", unit);
    return out;
}

static struct description describe_type(enum value_type type, struct dimension dimension)
{
    struct description out;
    static const char *const others[] = {
        [VALUE_NONE] = "something that holds or does not",
        [VALUE_WORD] = "a word",
        [VALUE_WORDS] = "a list of words",
        [VALUE_TEXT] = "free text",
        [VALUE_POINTS] = "a curve",
        [VALUE_ID] = "a part's id",
        [VALUE_IDS] = "a list of ids",
        [VALUE_FITTINGS] = "a list of fittings",
    };
    if (type == VALUE_QUANTITY)
        return describe_dimension(dimension);
    if (type == VALUE_RANGE) {
        char unit[64];
        usual_unit(dimension, unit, sizeof unit);
        snprintf(out.text, sizeof out.text, "a range in %s", unit);
    } else {
        snprintf(out.text, sizeof out.text, "%s", others[type]);
    }
    return out;
}

static struct description describe(const struct formula_node *node)
{
    return describe_type(node->type, node->dimension);
}

static struct excerpt text_of(const struct compiler *compiler, short index)
{
    return compiler_excerpt(compiler, node_at(compiler, index)->at);
}

/* "; degC is a temperature and K a difference" when that is all that is wrong. */
static const char *kelvin_hint(struct dimension a, struct dimension b)
{
    bool differ = a.absolute != b.absolute;
    a.absolute = b.absolute = false;
    return differ && dimension_same(a, b)
               ? "; a temperature is written in degC, a difference between two in K"
               : "";
}

/* "; write low(...) or high(...)" and the like: what to do with a value of the wrong sort. */
static const char *remedy(const struct formula_node *node)
{
    if (node->type == VALUE_RANGE)
        return "; take its low(...) or high(...)";
    if (node->type == VALUE_WORD)
        return "; compare words with 'is'";
    return "";
}

static bool is_quantity(struct compiler *compiler, short index)
{
    const struct formula_node *node = node_at(compiler, index);
    if (node->type == VALUE_QUANTITY)
        return true;
    compiler_refuse(compiler, node->at.start, "'%s' is %s, where a quantity is due%s.",
                    text_of(compiler, index).text, describe(node).text, remedy(node));
    return false;
}

static bool check_quantity(struct compiler *compiler, short index)
{
    return check(compiler, index, FOR_VALUE) && is_quantity(compiler, index);
}

/* ---- Names ---- */

static char *copy(struct compiler *compiler, struct stretch at)
{
    char *name =
        arena_copy(compiler->arena, compiler->text + at.start, (size_t)(at.end - at.start));
    if (!name)
        compiler_no_memory(compiler);
    return name;
}

/* The innermost role of that name. */
static bool find_role(const struct compiler *compiler, const char *name, struct bound *role,
                      size_t *slot)
{
    const struct formula_scope *scope = compiler->scope;
    for (size_t i = compiler->bound_count; i-- > 0;) {
        if (strcmp(compiler->bound[i].name, name) == 0) {
            *role = compiler->bound[i];
            *slot = scope->role_count + i;
            return true;
        }
    }
    for (size_t i = 0; i < scope->role_count; i++) {
        if (strcmp(scope->roles[i].name, name) == 0) {
            *role = (struct bound){name, scope->roles[i].kinds, scope->roles[i].kind_count};
            *slot = i;
            return true;
        }
    }
    return false;
}

static void offer_roles(const struct compiler *compiler, struct near_search *near)
{
    for (size_t i = compiler->bound_count; i-- > 0;)
        near_offer(near, compiler->bound[i].name);
    for (size_t i = 0; i < compiler->scope->role_count; i++)
        near_offer(near, compiler->scope->roles[i].name);
}

/* "; did you mean X?" or a full stop. */
static struct description did_you_mean(const struct near_search *near)
{
    struct description out;
    const char *best = near_best(near);
    if (best && strlen(best) < 80)
        snprintf(out.text, sizeof out.text, "; did you mean %s?", best);
    else
        snprintf(out.text, sizeof out.text, ".");
    return out;
}

static bool no_attribute(struct compiler *compiler, const struct bound *role,
                         const struct kind *kind, const char *name, unsigned at)
{
    struct near_search near;
    near_begin(&near, name);
    for (size_t i = 0; i < kind->attribute_count; i++)
        near_offer(&near, kind->attributes[i].name);
    struct description end = did_you_mean(&near);
    if (strchr(name, '-')) /* no attribute has a hyphen */
        snprintf(end.text, sizeof end.text, "; a minus sign needs blanks around it.");
    if (role->kind_count > 1 && strcmp(role->name, kind->name) != 0)
        compiler_refuse(compiler, at, "%s %s has no '%s', and %s may be one%s", article(kind->name),
                        kind->name, name, role->name, end.text);
    else
        compiler_refuse(compiler, at, "%s %s has no '%s'%s", article(kind->name), kind->name, name,
                        end.text);
    return false;
}

static const struct attribute *attribute_of(const struct reference *reference, size_t i)
{
    return &reference->kinds[i]->attributes[reference->index[i]];
}

/* The words of the attribute in every kind that the role may be. */
static bool gather_words(struct compiler *compiler, const struct reference *reference,
                         struct vocabulary *out)
{
    const struct attribute *first = attribute_of(reference, 0);
    size_t total = 0;
    bool alike = true;
    for (size_t i = 0; i < reference->count; i++) {
        const struct attribute *other = attribute_of(reference, i);
        if (!other->words) {
            *out = (struct vocabulary){0};
            return true;
        }
        alike = alike && other->words == first->words && other->word_count == first->word_count;
        total += other->word_count;
    }
    *out = (struct vocabulary){first->words, first->word_count};
    if (alike)
        return true;
    const char **all = ARENA_TAKE(compiler->arena, total, const char *);
    if (!all) {
        compiler_no_memory(compiler);
        return false;
    }
    *out = (struct vocabulary){all, 0};
    for (size_t i = 0; i < reference->count; i++)
        for (size_t j = 0; j < attribute_of(reference, i)->word_count; j++)
            all[out->count++] = attribute_of(reference, i)->words[j];
    return true;
}

static bool alike_in_all(struct compiler *compiler, const struct reference *reference, unsigned at)
{
    const struct attribute *first = attribute_of(reference, 0);
    for (size_t i = 1; i < reference->count; i++) {
        const struct attribute *other = attribute_of(reference, i);
        if (other->type == first->type && dimension_same(other->dimension, first->dimension) &&
            !other->of == !first->of &&
            (!first->of || dimension_same(other->of_dimension, first->of_dimension)))
            continue;
        compiler_refuse(compiler, at, "'%s' is %s in %s %s, but %s in %s %s.", first->name,
                        describe_type(first->type, first->dimension).text,
                        article(reference->kinds[0]->name), reference->kinds[0]->name,
                        describe_type(other->type, other->dimension).text,
                        article(reference->kinds[i]->name), reference->kinds[i]->name);
        return false;
    }
    return true;
}

static void find_unit(const char *name, struct dimension dimension, struct unit *out)
{
    struct unit unit;
    if (name && name[0] && unit_find(name, strlen(name), &unit) &&
        dimension_same(unit.dimension, dimension))
        *out = unit;
    else if (name && !name[0])
        *out = (struct unit){.name = "", .scale = 1.0};
}

/* Makes node `index` the attribute `name` of a role. */
static bool refer(struct compiler *compiler, short index, const struct bound *role, size_t slot,
                  const char *name, unsigned at)
{
    if (role->kind_count == 0) {
        compiler_refuse(compiler, at, "nothing is known of '%s', so it has no '%s'.", role->name,
                        name);
        return false;
    }
    struct reference *reference = ARENA_TAKE(compiler->arena, 1, struct reference);
    int *indices = ARENA_TAKE(compiler->arena, role->kind_count, int);
    if (!reference || !indices) {
        compiler_no_memory(compiler);
        return false;
    }
    *reference = (struct reference){role->kinds, indices, role->kind_count, slot, false};
    for (size_t i = 0; i < role->kind_count; i++) {
        indices[i] = kind_attribute(role->kinds[i], name);
        if (indices[i] < 0)
            return no_attribute(compiler, role, role->kinds[i], name, at);
        reference->each_condition |= attribute_of(reference, i)->solved == SOLVED_EACH_CONDITION;
    }
    if (!alike_in_all(compiler, reference, at))
        return false;
    const struct attribute *attribute = attribute_of(reference, 0);
    struct formula_node *node = node_at(compiler, index);
    node->op = NODE_ATTRIBUTE;
    node->type = attribute->type;
    node->dimension = attribute->dimension;
    node->constant = false;
    node->as.reference = reference;
    find_unit(attribute->unit, attribute->dimension, &node->told->unit);
    node->told->unit.customary = attribute->customary;
    return gather_words(compiler, reference, &node->told->words);
}

static bool refuse_argument(struct compiler *compiler, short index, const struct attribute *figure,
                            unsigned at)
{
    const struct formula_node *node = node_at(compiler, index);
    if (!figure->of)
        compiler_refuse(compiler, node_at(compiler, node->first)->at.start,
                        "'%s' is a figure of nothing else, so it takes no brackets.", figure->name);
    else if (node->first < 0)
        compiler_refuse(compiler, at, "'%s' is told of %s; write %s(... %s).", figure->name,
                        describe_dimension(figure->of_dimension).text, figure->name, figure->of);
    else
        compiler_refuse(
            compiler, node_at(compiler, node->first)->at.start, "'%s' is told of %s, not of %s%s.",
            figure->name, describe_dimension(figure->of_dimension).text,
            describe(node_at(compiler, node->first)).text,
            kelvin_hint(figure->of_dimension, node_at(compiler, node->first)->dimension));
    return false;
}

/* A figure of something names it, in its dimension; any other takes nothing. */
static bool check_argument(struct compiler *compiler, short index, unsigned at)
{
    const struct formula_node *node = node_at(compiler, index);
    const struct attribute *figure = attribute_of(node->as.reference, 0);
    bool takes = figure->of != NULL, named = node->first >= 0;
    if (takes != named)
        return refuse_argument(compiler, index, figure, at);
    if (!named)
        return true;
    if (!check_quantity(compiler, node->first))
        return false;
    return dimension_same(node_at(compiler, node->first)->dimension, figure->of_dimension) ||
           refuse_argument(compiler, index, figure, at);
}

static bool check_attribute(struct compiler *compiler, short index)
{
    const struct formula_node *node = node_at(compiler, index);
    struct stretch role_at = {node->at.start, node->sign};
    struct stretch name_at = {(unsigned short)(node->sign + 1), node->as.name_end};
    if (node->bracketed) { /* the stretch was widened to the brackets */
        const char *text = compiler->text;
        while (role_at.start < role_at.end && strchr("( \t\r\n", text[role_at.start]))
            role_at.start++;
    }
    char *role_name = copy(compiler, role_at);
    char *name = role_name ? copy(compiler, name_at) : NULL;
    if (!name)
        return false;
    struct bound role;
    size_t slot;
    if (find_role(compiler, role_name, &role, &slot))
        return refer(compiler, index, &role, slot, name, name_at.start) &&
               check_argument(compiler, index, name_at.start);
    struct near_search near;
    near_begin(&near, role_name);
    offer_roles(compiler, &near);
    compiler_refuse(compiler, role_at.start, "there is no '%s' here%s", role_name,
                    did_you_mean(&near).text);
    return false;
}

static const char *const conditions[] = {
#define CONDITION(symbol, name, about) name,
#include "store/condition.def"
#undef CONDITION
};

static bool name_let(struct compiler *compiler, short index, size_t let)
{
    struct formula_node *node = node_at(compiler, index);
    const struct formula *formula = compiler->scope->lets[let];
    if (!formula) { /* it did not compile, which was said where it stands */
        compiler_refuse(compiler, node->at.start,
                        "'%s' has a mistake of its own, told where it is named.",
                        compiler->scope->let_names[let]);
        return false;
    }
    const struct formula_node *root = &formula->nodes[formula->root];
    node->op = NODE_LET;
    node->as.let = formula;
    node->type = root->type;
    node->dimension = root->dimension;
    node->told->unit = root->told->unit;
    node->told->words = root->told->words;
    node->constant = root->constant;
    compiler->cost += formula->cost;
    unsigned nesting = (unsigned)compiler->bound_count + formula->nesting;
    if (nesting > compiler->nesting)
        compiler->nesting = nesting;
    return true;
}

static void make_word(struct formula_node *node, const char *word)
{
    node->op = NODE_WORD;
    node->type = VALUE_WORD;
    node->as.word = word;
    node->constant = true;
}

static bool find_let(const struct compiler *compiler, const char *name, size_t *out)
{
    for (size_t i = compiler->scope->let_count; i-- > 0;) {
        if (strcmp(compiler->scope->let_names[i], name) == 0) {
            *out = i;
            return true;
        }
    }
    return false;
}

static bool unknown_name(struct compiler *compiler, short index, const char *name)
{
    const struct formula_scope *scope = compiler->scope;
    unsigned at = node_at(compiler, index)->sign;
    struct bound role;
    size_t slot;
    if (find_role(compiler, name, &role, &slot)) {
        compiler_refuse(compiler, at, "'%s' is a part; write %s.ATTRIBUTE for one of its values.",
                        name, name);
        return false;
    }
    struct near_search near;
    near_begin(&near, name);
    for (size_t i = 0; i < scope->let_count; i++)
        near_offer(&near, scope->let_names[i]);
    if (scope->role_count == 1 && scope->roles[0].kind_count > 0)
        for (size_t i = 0; i < scope->roles[0].kinds[0]->attribute_count; i++)
            near_offer(&near, scope->roles[0].kinds[0]->attributes[i].name);
    offer_roles(compiler, &near);
    struct description end = did_you_mean(&near);
    if (!near_best(&near) && strchr(name, '-'))
        snprintf(end.text, sizeof end.text, "; a minus sign needs blanks around it.");
    compiler_refuse(compiler, at, "there is no '%s' here%s", name, end.text);
    return false;
}

static char *copy_name(struct compiler *compiler, short index)
{
    /* `sign` is where the name itself begins; brackets may have widened the stretch */
    unsigned short start = node_at(compiler, index)->sign, end = start;
    const char *text = compiler->text;
    while (end < node_at(compiler, index)->at.end && !strchr(" \t\r\n)", text[end]))
        end++;
    return copy(compiler, (struct stretch){start, end});
}

static bool check_name(struct compiler *compiler, short index, enum place_for due)
{
    char *name = copy_name(compiler, index);
    if (!name)
        return false;
    const struct formula_scope *scope = compiler->scope;
    struct formula_node *node = node_at(compiler, index);
    size_t let;
    if (find_let(compiler, name, &let))
        return name_let(compiler, index, let);
    if (strcmp(name, "condition") == 0) {
        node->op = NODE_CONDITION;
        node->type = VALUE_WORD;
        node->told->words = (struct vocabulary){conditions, CONDITION_COUNT};
        return true;
    }
    bool yes = strcmp(name, "yes") == 0;
    if (yes || strcmp(name, "no") == 0) {
        make_word(node, name);
        if (due == FOR_TRUTH) {
            node->op = NODE_TRUTH;
            node->type = VALUE_NONE;
            node->as.yes = yes;
        }
        return true;
    }
    if (scope->role_count == 1 && scope->roles[0].kind_count > 0 &&
        kind_attribute(scope->roles[0].kinds[0], name) >= 0) {
        struct bound role = {scope->roles[0].name, scope->roles[0].kinds,
                             scope->roles[0].kind_count};
        return refer(compiler, index, &role, 0, name, node->sign);
    }
    if (due != FOR_WORD)
        return unknown_name(compiler, index, name);
    make_word(node, name);
    return true;
}

/* ---- Arithmetic ---- */

/* A unit for a result: that of the first operand whose dimension fits. */
static void adopt_unit(struct formula_node *node, const struct formula_node *a,
                       const struct formula_node *b)
{
    bool fits_a = a->told->unit.name && dimension_same(a->told->unit.dimension, node->dimension);
    bool fits_b =
        b && b->told->unit.name && dimension_same(b->told->unit.dimension, node->dimension);
    if (fits_a && (a->told->unit.name[0] || !fits_b))
        node->told->unit = a->told->unit;
    else if (fits_b)
        node->told->unit = b->told->unit;
}

/* "3 has no unit; flow takes L/h or L/min": a bare number beside a quantity with a unit. */
static bool refuse_bare(struct compiler *compiler, short bare, struct dimension other)
{
    const struct formula_node *node = node_at(compiler, bare);
    const char *word = dimension_word(other);
    char units[96];
    if (node->op != NODE_NUMBER || !node->told->unit.name || node->told->unit.name[0] ||
        dimension_same(other, dimension_none))
        return false;
    dimension_units(other, units, sizeof units);
    if (!word || !units[0])
        return false;
    compiler_refuse(compiler, node->at.start, "%s has no unit; %s takes %s.",
                    text_of(compiler, bare).text, word, units);
    return true;
}

/* "A + B adds a voltage (V) to a current (A)." from nodes x and y, in the order of the words */
static bool refuse_order(struct compiler *compiler, const struct formula_node *node,
                         const char *verb, short x, const char *joint, short y)
{
    const struct formula_node *a = node_at(compiler, x), *b = node_at(compiler, y);
    struct stretch both = {node_at(compiler, node->first)->at.start,
                           node_at(compiler, node->second)->at.end};
    if (refuse_bare(compiler, x, b->dimension) || refuse_bare(compiler, y, a->dimension))
        return false;
    compiler_refuse(compiler, node->sign, "%s %s %s %s %s%s.",
                    compiler_excerpt(compiler, both).text, verb, describe(a).text, joint,
                    describe(b).text, kelvin_hint(a->dimension, b->dimension));
    return false;
}

static bool refuse_pair(struct compiler *compiler, const struct formula_node *node,
                        const char *verb, const char *joint)
{
    return refuse_order(compiler, node, verb, node->first, joint, node->second);
}

static bool check_sum(struct compiler *compiler, struct formula_node *node)
{
    const struct formula_node *a = node_at(compiler, node->first),
                              *b = node_at(compiler, node->second);
    if (node->op == NODE_ADD) {
        if (!dimension_add(a->dimension, b->dimension, &node->dimension))
            return refuse_pair(compiler, node, "adds", "to");
    } else if (!dimension_subtract(a->dimension, b->dimension, &node->dimension)) {
        return refuse_order(compiler, node, "takes", node->second, "from", node->first);
    }
    adopt_unit(node, a, b);
    return true;
}

static bool check_product(struct compiler *compiler, struct formula_node *node)
{
    const struct formula_node *a = node_at(compiler, node->first),
                              *b = node_at(compiler, node->second);
    bool multiply = node->op == NODE_MULTIPLY;
    if (multiply ? dimension_multiply(a->dimension, b->dimension, &node->dimension)
                 : dimension_divide(a->dimension, b->dimension, &node->dimension)) {
        adopt_unit(node, a, multiply ? b : NULL);
        return true;
    }
    if (!a->dimension.absolute && !b->dimension.absolute)
        return refuse_pair(compiler, node, multiply ? "multiplies" : "divides", "beyond reason by");
    struct stretch both = {a->at.start, b->at.end};
    compiler_refuse(
        compiler, node->sign,
        "%s scales a temperature in degC, which has no meaning; take a difference (K) first.",
        compiler_excerpt(compiler, both).text);
    return false;
}

static bool constant_value(const struct compiler *compiler, short index, double *out)
{
    const struct formula_node *node = node_at(compiler, index);
    double a, b;
    switch (node->op) {
    case NODE_NUMBER:
        *out = node->as.number;
        return true;
    case NODE_NEGATE:
        if (!constant_value(compiler, node->first, &a))
            return false;
        *out = -a;
        return true;
    case NODE_DIVIDE:
        if (!constant_value(compiler, node->first, &a) ||
            !constant_value(compiler, node->second, &b) || b == 0.0)
            return false;
        *out = a / b;
        return true;
    default:
        return false;
    }
}

static bool check_power(struct compiler *compiler, struct formula_node *node)
{
    const struct formula_node *base = node_at(compiler, node->first),
                              *up = node_at(compiler, node->second);
    if (!dimension_same(up->dimension, dimension_none)) {
        compiler_refuse(compiler, node->sign, "an exponent is a bare number; '%s' is %s.",
                        text_of(compiler, node->second).text, describe(up).text);
        return false;
    }
    double exponent;
    bool constant = constant_value(compiler, node->second, &exponent);
    bool bare = dimension_same(base->dimension, dimension_none);
    if (!constant && !bare) {
        compiler_refuse(compiler, node->sign,
                        "'%s' is %s, so its exponent must be a plain number, known here.",
                        text_of(compiler, node->first).text, describe(base).text);
        return false;
    }
    node->as.exponent = constant ? exponent : (double)NAN;
    if (bare || dimension_power(base->dimension, exponent, &node->dimension))
        return true;
    compiler_refuse(compiler, node->sign, "%s cannot be raised to the power '%s'.",
                    describe(base).text, text_of(compiler, node->second).text);
    return false;
}

static bool check_negate(struct compiler *compiler, struct formula_node *node)
{
    const struct formula_node *a = node_at(compiler, node->first);
    node->dimension = a->dimension;
    adopt_unit(node, a, NULL);
    if (!a->dimension.absolute)
        return true;
    compiler_refuse(compiler, node->sign,
                    "a temperature in degC cannot be turned round by a minus sign.");
    return false;
}

static bool check_arithmetic(struct compiler *compiler, short index)
{
    struct formula_node *node = node_at(compiler, index);
    if (!check_quantity(compiler, node->first) ||
        (node->second >= 0 && !check_quantity(compiler, node->second)))
        return false;
    node->type = VALUE_QUANTITY;
    node->constant = node_at(compiler, node->first)->constant &&
                     (node->second < 0 || node_at(compiler, node->second)->constant);
    switch (node->op) {
    case NODE_ADD:
    case NODE_SUBTRACT:
        return check_sum(compiler, node);
    case NODE_MULTIPLY:
    case NODE_DIVIDE:
        return check_product(compiler, node);
    case NODE_POWER:
        return check_power(compiler, node);
    default:
        return check_negate(compiler, node);
    }
}

static bool check_range(struct compiler *compiler, short index)
{
    struct formula_node *node = node_at(compiler, index);
    if (!check_quantity(compiler, node->first) || !check_quantity(compiler, node->second))
        return false;
    const struct formula_node *a = node_at(compiler, node->first),
                              *b = node_at(compiler, node->second);
    if (!dimension_same(a->dimension, b->dimension))
        return refuse_pair(compiler, node, "runs from", "to");
    node->type = VALUE_RANGE;
    node->dimension = a->dimension;
    node->constant = a->constant && b->constant;
    adopt_unit(node, a, b);
    if (a->op != NODE_NUMBER || b->op != NODE_NUMBER || a->as.number <= b->as.number)
        return true;
    compiler_refuse(compiler, node->sign, "the range runs downwards; write the lower end first.");
    return false;
}

/* ---- Comparisons ---- */

static bool check_comparison(struct compiler *compiler, short index)
{
    struct formula_node *node = node_at(compiler, index);
    if (!check(compiler, node->first, FOR_VALUE) || !check(compiler, node->second, FOR_VALUE))
        return false;
    const struct formula_node *a = node_at(compiler, node->first),
                              *b = node_at(compiler, node->second);
    bool equal = node->op == NODE_EQUAL || node->op == NODE_UNEQUAL;
    if (equal && is_word(a->type)) {
        compiler_refuse(compiler, node->sign, "'%s' is %s; compare words with 'is' or 'is not'.",
                        text_of(compiler, node->first).text, describe(a).text);
        return false;
    }
    if (!is_quantity(compiler, node->first) || !is_quantity(compiler, node->second))
        return false;
    if (!dimension_same(a->dimension, b->dimension))
        return refuse_pair(compiler, node, "compares", "with");
    node->type = VALUE_NONE;
    node->limit_left = a->constant && !b->constant;
    node->constant = a->constant && b->constant;
    return true;
}

static bool knows_word(struct vocabulary words, const char *word)
{
    for (size_t i = 0; i < words.count; i++)
        if (strcmp(words.at[i], word) == 0)
            return true;
    return !words.at;
}

static bool refuse_word(struct compiler *compiler, short index, const char *word, short of)
{
    const struct vocabulary words = node_at(compiler, of)->told->words;
    struct near_search near;
    near_begin(&near, word);
    for (size_t i = 0; i < words.count; i++)
        near_offer(&near, words.at[i]);
    char list[160] = "";
    size_t length = 0;
    for (size_t i = 0; i < words.count && length < sizeof list - 48; i++)
        length += (size_t)snprintf(list + length, sizeof list - length, "%s%.40s",
                                   i == 0                 ? ""
                                   : i + 1 == words.count ? " or "
                                                          : ", ",
                                   words.at[i]);
    if (near_best(&near))
        compiler_refuse(compiler, node_at(compiler, index)->at.start, "'%s' is never '%s'%s",
                        text_of(compiler, of).text, word, did_you_mean(&near).text);
    else
        compiler_refuse(compiler, node_at(compiler, index)->at.start,
                        "'%s' is never '%s'; it is one of %s.", text_of(compiler, of).text, word,
                        list);
    return false;
}

/* A word that is compared with node `of`: one of its words, a let value, a role where an id is due.
 */
static bool check_word(struct compiler *compiler, short index, short of)
{
    struct formula_node *node = node_at(compiler, index);
    struct vocabulary words = node_at(compiler, of)->told->words;
    if (node->op == NODE_WORD) {
        make_word(node, node->as.word);
        return knows_word(words, node->as.word) || refuse_word(compiler, index, node->as.word, of);
    }
    if (node->op != NODE_NAME) {
        if (!check(compiler, index, FOR_VALUE))
            return false;
        if (is_word(node_at(compiler, index)->type))
            return true;
        compiler_refuse(compiler, node_at(compiler, index)->at.start,
                        "'%s' is %s, where a word is due.", text_of(compiler, index).text,
                        describe(node_at(compiler, index)).text);
        return false;
    }
    char *name = copy_name(compiler, index);
    if (!name)
        return false;
    struct bound role;
    size_t let, slot;
    enum value_type type = node_at(compiler, of)->type;
    if (words.at && knows_word(words, name)) {
        make_word(node, name);
        return true;
    }
    if (find_let(compiler, name, &let)) {
        if (!name_let(compiler, index, let))
            return false;
        if (is_word(node->type))
            return true;
        compiler_refuse(compiler, node->at.start, "'%s' is %s, where a word is due.", name,
                        describe(node).text);
        return false;
    }
    if ((type == VALUE_ID || type == VALUE_IDS) && find_role(compiler, name, &role, &slot)) {
        node->op = NODE_PART;
        node->type = VALUE_ID;
        node->as.slot = slot;
        return true;
    }
    make_word(node, name);
    return knows_word(words, name) || refuse_word(compiler, index, name, of);
}

static bool check_is(struct compiler *compiler, short index)
{
    struct formula_node *node = node_at(compiler, index);
    node->type = VALUE_NONE;
    if (!check(compiler, node->first, FOR_VALUE))
        return false;
    const struct formula_node *left = node_at(compiler, node->first);
    if (is_word(left->type))
        return check_word(compiler, node->second, node->first);
    const char *instead = left->type == VALUE_NONE ? "leave 'is' out, or write 'not' before it"
                          : left->type == VALUE_QUANTITY
                              ? "compare quantities with =, <= and the like"
                          : is_words(left->type) ? "write WORD in it"
                                                 : "it has no word to compare";
    compiler_refuse(compiler, node->sign, "'%s' is %s; %s.", text_of(compiler, node->first).text,
                    describe(left).text, instead);
    return false;
}

static bool check_in_list(struct compiler *compiler, struct formula_node *node)
{
    struct formula_node *list = node_at(compiler, node->second);
    list->type = VALUE_WORDS;
    if (!check(compiler, node->first, FOR_VALUE))
        return false;
    if (!is_word(node_at(compiler, node->first)->type)) {
        compiler_refuse(compiler, node->sign, "'%s' is %s; a list holds words.",
                        text_of(compiler, node->first).text,
                        describe(node_at(compiler, node->first)).text);
        return false;
    }
    for (short item = list->first; item >= 0; item = node_at(compiler, item)->next)
        if (!check_word(compiler, item, node->first))
            return false;
    return true;
}

static bool check_in(struct compiler *compiler, short index)
{
    struct formula_node *node = node_at(compiler, index);
    node->type = VALUE_NONE;
    if (node_at(compiler, node->second)->op == NODE_LIST)
        return check_in_list(compiler, node);
    if (!check(compiler, node->second, FOR_VALUE))
        return false;
    const struct formula_node *right = node_at(compiler, node->second);
    if (is_words(right->type))
        return check_word(compiler, node->first, node->second);
    if (right->type != VALUE_RANGE) {
        compiler_refuse(compiler, node->sign, "'%s' is %s; a value lies in a range or in a list.",
                        text_of(compiler, node->second).text, describe(right).text);
        return false;
    }
    if (!check_quantity(compiler, node->first))
        return false;
    if (!dimension_same(node_at(compiler, node->first)->dimension, right->dimension))
        return refuse_pair(compiler, node, "looks for", "in");
    return true;
}

/* ---- Logic and choice ---- */

static bool check_truth(struct compiler *compiler, short index)
{
    if (!check(compiler, index, FOR_TRUTH))
        return false;
    const struct formula_node *node = node_at(compiler, index);
    if (node->type == VALUE_NONE)
        return true;
    bool yes_or_no =
        node->type == VALUE_WORD && node->told->words.at && knows_word(node->told->words, "yes");
    struct excerpt text = text_of(compiler, index);
    compiler_refuse(compiler, node->at.start,
                    "'%s' is %s, where something that holds or does not is due%s%s%s.", text.text,
                    describe(node).text, yes_or_no ? "; write " : "", yes_or_no ? text.text : "",
                    yes_or_no ? " is yes" : "");
    return false;
}

static bool same_sort(const struct formula_node *a, const struct formula_node *b)
{
    if (a->type == VALUE_QUANTITY || a->type == VALUE_RANGE)
        return a->type == b->type && dimension_same(a->dimension, b->dimension);
    return a->type == b->type || (is_word(a->type) && is_word(b->type)) ||
           (is_words(a->type) && is_words(b->type));
}

/* Two values of which the formula takes one: A else B, if .. then A else B, min(A, B). */
static bool check_either(struct compiler *compiler, struct formula_node *node, short first,
                         short second, enum place_for due)
{
    if (due == FOR_TRUTH) {
        node->type = VALUE_NONE;
        return check_truth(compiler, first) && check_truth(compiler, second);
    }
    if (!check(compiler, first, due))
        return false;
    if (node_at(compiler, first)->type == VALUE_NONE) {
        node->type = VALUE_NONE;
        return check_truth(compiler, second);
    }
    /* a bare word may stand in for a word that has no other */
    bool word = is_word(node_at(compiler, first)->type);
    bool fine = word && (node_at(compiler, second)->op == NODE_NAME ||
                         node_at(compiler, second)->op == NODE_WORD)
                    ? check_word(compiler, second, first)
                    : check(compiler, second, due);
    if (!fine)
        return false;
    const struct formula_node *a = node_at(compiler, first), *b = node_at(compiler, second);
    if (!same_sort(a, b)) {
        compiler_refuse(compiler, node->sign, "'%s' is %s, but '%s' is %s%s; both must be alike.",
                        text_of(compiler, first).text, describe(a).text,
                        text_of(compiler, second).text, describe(b).text,
                        kelvin_hint(a->dimension, b->dimension));
        return false;
    }
    node->type = a->type;
    node->dimension = a->dimension;
    node->constant = a->constant && b->constant;
    node->told->words =
        a->told->words.at && b->told->words.at ? a->told->words : (struct vocabulary){0};
    adopt_unit(node, a, b);
    return true;
}

static bool check_if(struct compiler *compiler, short index, enum place_for due)
{
    struct formula_node *node = node_at(compiler, index);
    if (!check_truth(compiler, node->first) ||
        !check_either(compiler, node, node->second, node->third, due))
        return false;
    node->constant = node->constant && node_at(compiler, node->first)->constant;
    return true;
}

static bool check_at(struct compiler *compiler, short index, enum place_for due)
{
    struct formula_node *node = node_at(compiler, index);
    if (!check(compiler, node->first, due == FOR_TRUTH ? FOR_TRUTH : FOR_VALUE))
        return false;
    const struct formula_node *a = node_at(compiler, node->first);
    node->type = a->type;
    node->dimension = a->dimension;
    node->told->unit = a->told->unit;
    node->told->words = a->told->words;
    node->constant = a->constant;
    return true;
}

/* ---- Functions ---- */

static const char *function_name(enum node_op op)
{
    static const char *const names[] = {
        [NODE_KNOWN - NODE_KNOWN] = "known", [NODE_MIN - NODE_KNOWN] = "min",
        [NODE_MAX - NODE_KNOWN] = "max",     [NODE_ABS - NODE_KNOWN] = "abs",
        [NODE_SQRT - NODE_KNOWN] = "sqrt",   [NODE_EXP - NODE_KNOWN] = "exp",
        [NODE_LN - NODE_KNOWN] = "ln",       [NODE_LOW - NODE_KNOWN] = "low",
        [NODE_HIGH - NODE_KNOWN] = "high",   [NODE_COUNT - NODE_KNOWN] = "count",
        [NODE_TOTAL - NODE_KNOWN] = "total", [NODE_LEAST - NODE_KNOWN] = "least",
        [NODE_MOST - NODE_KNOWN] = "most",   [NODE_ANY - NODE_KNOWN] = "any",
        [NODE_ALL - NODE_KNOWN] = "all",
    };
    return names[op - NODE_KNOWN];
}

static bool check_smallest(struct compiler *compiler, short index)
{
    struct formula_node *node = node_at(compiler, index);
    short first = node->first;
    if (!check_quantity(compiler, first))
        return false;
    const struct formula_node *a = node_at(compiler, first);
    bool constant = a->constant;
    for (short other = a->next; other >= 0; other = node_at(compiler, other)->next) {
        if (!check_quantity(compiler, other))
            return false;
        const struct formula_node *b = node_at(compiler, other);
        constant = constant && b->constant;
        if (dimension_same(a->dimension, b->dimension))
            continue;
        compiler_refuse(compiler, b->at.start, "%s(...) compares %s with %s%s.",
                        function_name(node->op), describe(a).text, describe(b).text,
                        kelvin_hint(a->dimension, b->dimension));
        return false;
    }
    node->type = VALUE_QUANTITY;
    node->dimension = a->dimension;
    node->constant = constant;
    adopt_unit(node, a, node_at(compiler, a->next));
    return true;
}

/* abs sqrt exp ln */
static bool check_number_function(struct compiler *compiler, struct formula_node *node)
{
    if (!check_quantity(compiler, node->first))
        return false;
    const struct formula_node *a = node_at(compiler, node->first);
    node->type = VALUE_QUANTITY;
    node->constant = a->constant;
    bool fits = node->op == NODE_ABS    ? !a->dimension.absolute
                : node->op == NODE_SQRT ? dimension_power(a->dimension, 0.5, &node->dimension)
                                        : dimension_same(a->dimension, dimension_none);
    if (node->op == NODE_ABS) {
        node->dimension = a->dimension;
        adopt_unit(node, a, NULL);
    }
    if (!fits)
        compiler_refuse(compiler, a->at.start, "%s(...) cannot take %s%s.", function_name(node->op),
                        describe(a).text,
                        node->op == NODE_EXP || node->op == NODE_LN ? "; it takes a bare number"
                                                                    : "");
    return fits;
}

static bool check_end(struct compiler *compiler, struct formula_node *node) /* low, high */
{
    if (!check(compiler, node->first, FOR_VALUE))
        return false;
    const struct formula_node *a = node_at(compiler, node->first);
    node->type = VALUE_QUANTITY;
    node->dimension = a->dimension;
    node->told->unit = a->told->unit;
    node->constant = a->constant;
    if (a->type != VALUE_RANGE)
        compiler_refuse(compiler, a->at.start, "%s(...) takes a range; '%s' is %s.",
                        function_name(node->op), text_of(compiler, node->first).text,
                        describe(a).text);
    return a->type == VALUE_RANGE;
}

static bool check_function(struct compiler *compiler, short index)
{
    struct formula_node *node = node_at(compiler, index);
    bool several = node_at(compiler, node->first)->next >= 0;
    bool wants_several = node->op == NODE_MIN || node->op == NODE_MAX;
    if (several != wants_several) {
        compiler_refuse(compiler, node->at.start, "%s(...) takes %s.", function_name(node->op),
                        wants_several ? "two values or more, with commas between" : "one value");
        return false;
    }
    if (wants_several)
        return check_smallest(compiler, index);
    if (node->op == NODE_KNOWN) {
        node->type = VALUE_NONE;
        return check(compiler, node->first, FOR_VALUE);
    }
    if (node->op == NODE_LOW || node->op == NODE_HIGH)
        return check_end(compiler, node);
    return check_number_function(compiler, node);
}

/* ---- Aggregates ---- */

static bool refuse_kind(struct compiler *compiler, const char *word, unsigned at)
{
    const struct store *store = compiler->scope->store;
    struct near_search near;
    near_begin(&near, word);
    for (size_t i = 0; i < store->kind_count; i++) {
        near_offer(&near, store->kinds[i].name);
        for (size_t j = 0; j < store->kinds[i].group_count; j++)
            near_offer(&near, store->kinds[i].groups[j]);
    }
    compiler_refuse(compiler, at, "there is no kind '%s'%s", word, did_you_mean(&near).text);
    return false;
}

/* The kinds that go by a word. `part` is any part of a parts list: not the place, not the rig as a
 * whole. */
static bool gather_kinds(struct compiler *compiler, const char *word, unsigned at,
                         struct gathering *out)
{
    const struct store *store = compiler->scope->store;
    const struct kind **kinds = ARENA_TAKE(compiler->arena, store->kind_count, const struct kind *);
    bool part = strcmp(word, "part") == 0;
    if (!kinds) {
        compiler_no_memory(compiler);
        return false;
    }
    for (size_t i = 0; i < store->kind_count; i++) {
        const struct kind *kind = &store->kinds[i];
        bool apart = part && (strcmp(kind->name, "site") == 0 || strcmp(kind->name, "rig") == 0);
        if (!apart && kind_is(kind, word))
            kinds[out->kind_count++] = kind;
    }
    out->kinds = kinds;
    return out->kind_count > 0 || refuse_kind(compiler, word, at);
}

static bool find_relation(struct compiler *compiler, struct stretch at, struct gathering *out)
{
    char *word = copy(compiler, at);
    if (!word)
        return false;
    const char *const *relations = compiler->scope->relations;
    for (size_t i = 0; relations && relations[i]; i++)
        if (strcmp(relations[i], word) == 0) {
            out->relation = relations[i];
            return true;
        }
    struct near_search near;
    near_begin(&near, word);
    for (size_t i = 0; relations && relations[i]; i++)
        near_offer(&near, relations[i]);
    compiler_refuse(compiler, at.start, "there is no relation '%s'%s", word,
                    did_you_mean(&near).text);
    return false;
}

/* KIND, RELATION KIND or ROLE RELATION KIND */
static bool check_head(struct compiler *compiler, const struct formula_node *node,
                       struct gathering *out, const char **word)
{
    unsigned count = node->head_count;
    struct stretch kind = node->as.head[count - 1];
    *word = copy(compiler, kind);
    if (!*word || !gather_kinds(compiler, *word, kind.start, out))
        return false;
    if (count == 1)
        return true;
    if (!find_relation(compiler, node->as.head[count - 2], out))
        return false;
    struct bound role;
    if (count == 3) {
        char *name = copy(compiler, node->as.head[0]);
        if (!name)
            return false;
        if (find_role(compiler, name, &role, &out->from))
            return true;
        struct near_search near;
        near_begin(&near, name);
        offer_roles(compiler, &near);
        compiler_refuse(compiler, node->as.head[0].start, "there is no '%s' here%s", name,
                        did_you_mean(&near).text);
        return false;
    }
    if (compiler->scope->role_count > 0 && !compiler->scope->no_subject) {
        out->from = 0;
        return true;
    }
    compiler_refuse(compiler, node->as.head[0].start,
                    "nothing stands before '%s'; write PART %s %s.", out->relation, out->relation,
                    *word);
    return false;
}

/* Within another it starts from the part at hand: else a rig of many parts would be gone over once
 * for each of them. */
static bool starts_at_hand(struct compiler *compiler, const struct formula_node *node,
                           const struct gathering *gathering)
{
    if (compiler->bound_count == 0)
        return true;
    size_t innermost = compiler->scope->role_count + compiler->bound_count - 1;
    if (gathering->relation && gathering->from == innermost)
        return true;
    const char *name = compiler->bound[compiler->bound_count - 1].name;
    compiler_refuse(compiler, node->at.start,
                    "inside another, %s(...) starts from the part at hand; write %s(%s RELATION "
                    "KIND...), or name its value with let: first.",
                    function_name(node->op), function_name(node->op), name);
    return false;
}

static bool check_body(struct compiler *compiler, short index)
{
    struct formula_node *node = node_at(compiler, index);
    short body = node->first;
    bool truth = node->op == NODE_COUNT || node->op == NODE_ANY || node->op == NODE_ALL;
    node->type = node->op == NODE_ANY || node->op == NODE_ALL ? VALUE_NONE : VALUE_QUANTITY;
    if (node->op == NODE_COUNT)
        node->told->unit = (struct unit){.name = "", .scale = 1.0};
    if (body < 0)
        return true;
    if (truth)
        return check_truth(compiler, body);
    if (!check_quantity(compiler, body))
        return false;
    const struct formula_node *each = node_at(compiler, body);
    node->dimension = each->dimension;
    node->told->unit = each->told->unit;
    if (node->op != NODE_TOTAL || !each->dimension.absolute)
        return true;
    compiler_refuse(compiler, each->at.start,
                    "temperatures in degC cannot be added up; take least or most.");
    return false;
}

static bool check_aggregate(struct compiler *compiler, short index)
{
    struct formula_node *node = node_at(compiler, index);
    if (compiler->bound_count == FORMULA_MOST_NESTING) {
        compiler_refuse(compiler, node->at.start,
                        "%s(...) stands more than %d deep in others of its sort.",
                        function_name(node->op), FORMULA_MOST_NESTING);
        return false;
    }
    struct gathering *gathering = ARENA_TAKE(compiler->arena, 1, struct gathering);
    if (!gathering) {
        compiler_no_memory(compiler);
        return false;
    }
    const char *word;
    if (!check_head(compiler, node, gathering, &word) || !starts_at_hand(compiler, node, gathering))
        return false;
    node->as.gathering = gathering;
    gathering->slot = compiler->scope->role_count + compiler->bound_count;
    compiler->bound[compiler->bound_count++] =
        (struct bound){word, gathering->kinds, gathering->kind_count};
    if (compiler->bound_count > compiler->nesting)
        compiler->nesting = (unsigned)compiler->bound_count;
    bool fine = check_body(compiler, index);
    compiler->bound_count--;
    return fine;
}

/* ---- All of it ---- */

static bool check_list(struct compiler *compiler, short index)
{
    struct formula_node *node = node_at(compiler, index);
    size_t count = 0;
    for (short item = node->first; item >= 0; item = node_at(compiler, item)->next)
        count++;
    const char **words = ARENA_TAKE(compiler->arena, count, const char *);
    if (!words) {
        compiler_no_memory(compiler);
        return false;
    }
    node->type = VALUE_WORDS;
    node->constant = true;
    node->as.list = (struct vocabulary){words, 0};
    for (short item = node->first; item >= 0; item = node_at(compiler, item)->next) {
        if (!check(compiler, item, FOR_WORD))
            return false;
        const struct formula_node *word = node_at(compiler, item);
        if (word->op == NODE_WORD) {
            words[node->as.list.count++] = word->as.word;
            continue;
        }
        compiler_refuse(compiler, word->at.start, "'%s' is %s; a list holds plain words.",
                        text_of(compiler, item).text, describe(word).text);
        return false;
    }
    return true;
}

static bool check(struct compiler *compiler, short index, enum place_for due)
{
    struct formula_node *node = node_at(compiler, index);
    compiler->cost++;
    switch (node->op) {
    case NODE_NUMBER:
        node->type = VALUE_QUANTITY;
        node->constant = true;
        return true;
    case NODE_WORD:
        make_word(node, node->as.word);
        return true;
    case NODE_LIST:
        return check_list(compiler, index);
    case NODE_NAME:
        return check_name(compiler, index, due);
    case NODE_ATTRIBUTE:
        return check_attribute(compiler, index);
    case NODE_NEGATE:
    case NODE_ADD:
    case NODE_SUBTRACT:
    case NODE_MULTIPLY:
    case NODE_DIVIDE:
    case NODE_POWER:
        return check_arithmetic(compiler, index);
    case NODE_RANGE:
        return check_range(compiler, index);
    case NODE_ELSE:
        return check_either(compiler, node, node->first, node->second, due);
    case NODE_LESS:
    case NODE_AT_MOST:
    case NODE_MORE:
    case NODE_AT_LEAST:
    case NODE_EQUAL:
    case NODE_UNEQUAL:
        return check_comparison(compiler, index);
    case NODE_IS:
    case NODE_IS_NOT:
        return check_is(compiler, index);
    case NODE_IN:
    case NODE_NOT_IN:
        return check_in(compiler, index);
    case NODE_AND:
    case NODE_OR:
    case NODE_NOT:
        node->type = VALUE_NONE;
        return check_truth(compiler, node->first) &&
               (node->second < 0 || check_truth(compiler, node->second));
    case NODE_AT:
        return check_at(compiler, index, due);
    case NODE_IF:
        return check_if(compiler, index, due);
    case NODE_KNOWN:
    case NODE_MIN:
    case NODE_MAX:
    case NODE_ABS:
    case NODE_SQRT:
    case NODE_EXP:
    case NODE_LN:
    case NODE_LOW:
    case NODE_HIGH:
        return check_function(compiler, index);
    case NODE_COUNT:
    case NODE_TOTAL:
    case NODE_LEAST:
    case NODE_MOST:
    case NODE_ANY:
    case NODE_ALL:
        return check_aggregate(compiler, index);
    case NODE_TRUTH: /* these are made here, and each node is checked once */
    case NODE_LET:
    case NODE_CONDITION:
    case NODE_PART:
        break;
    }
    return true;
}

bool compiler_check(struct compiler *compiler, short root, enum formula_wants wants)
{
    if (wants == FORMULA_TRUTH) {
        if (!check_truth(compiler, root))
            return false;
    } else if (!check(compiler, root, wants == FORMULA_VALUE ? FOR_WORD : FOR_VALUE)) {
        return false;
    }
    const struct formula_node *node = node_at(compiler, root);
    if (wants == FORMULA_VALUE && node->type == VALUE_NONE) {
        compiler_refuse(compiler, node->at.start, "'%s' holds or does not, where a value is due.",
                        text_of(compiler, root).text);
        return false;
    }
    if (compiler->cost > FORMULA_MOST_COST) {
        compiler_refuse(compiler, 0,
                        "with the values that it names the formula has more than %d terms.",
                        FORMULA_MOST_COST);
        return false;
    }
    if (compiler->nesting > FORMULA_MOST_NESTING) {
        compiler_refuse(
            compiler, 0,
            "with the values that it names the formula goes over parts of parts more than "
            "%d deep.",
            FORMULA_MOST_NESTING);
        return false;
    }
    return true;
}

unsigned compiler_depth(const struct compiler *compiler, short index)
{
    unsigned deepest = 0;
    if (index < 0)
        return 0;
    const struct formula_node *node = node_at(compiler, index);
    if (node->op == NODE_LET)
        return 1 + node->as.let->depth;
    const short below[] = {node->first, node->second, node->third};
    for (size_t i = 0; i < sizeof below / sizeof *below; i++) {
        bool chained = i == 0; /* the arguments of a function hang on its first */
        for (short child = below[i]; child >= 0;
             child = chained ? node_at(compiler, child)->next : -1) {
            unsigned depth = compiler_depth(compiler, child);
            deepest = depth > deepest ? depth : deepest;
        }
    }
    return deepest + 1;
}
