/* formula.c - from text to a compiled formula. */
#include "formula/tree.h"

#include <string.h>

/* A node or any below it, and those behind it in a chain. */
static bool node_varies(const struct formula *formula, short index)
{
    for (; index >= 0; index = formula->nodes[index].next) {
        const struct formula_node *node = &formula->nodes[index];
        if (node->op == NODE_CONDITION ||
            (node->op == NODE_ATTRIBUTE && node->as.reference->each_condition) ||
            (node->op == NODE_LET && node->as.let->varies))
            return true;
        if (node->op != NODE_AT &&
            (node_varies(formula, node->first) || node_varies(formula, node->second) ||
             node_varies(formula, node->third)))
            return true;
    }
    return false;
}

/* Does it look at no condition but the one under which it is evaluated, and at nothing that varies?
 */
static bool is_steady(const struct formula *formula)
{
    for (size_t i = 0; i < formula->node_count; i++) {
        const struct formula_node *node = &formula->nodes[i];
        if (node->op == NODE_CONDITION || node->op == NODE_AT ||
            (node->op == NODE_ATTRIBUTE && node->as.reference->each_condition) ||
            (node->op == NODE_LET && !node->as.let->steady))
            return false;
    }
    return true;
}

static bool keep(struct compiler *compiler, short root, struct formula *out)
{
    *out = (struct formula){.text = compiler->text,
                            .nodes = compiler->nodes.at,
                            .node_count = compiler->nodes.count,
                            .root = root,
                            .role_count = compiler->scope->role_count,
                            .depth = compiler_depth(compiler, root),
                            .cost = compiler->cost,
                            .nesting = compiler->nesting};
    out->varies = node_varies(out, root);
    out->steady = is_steady(out);
    if (out->depth <= FORMULA_MOST_DEPTH)
        return true;
    compiler_refuse(compiler, 0,
                    "with the values that it names the formula goes more than %d levels deep.",
                    FORMULA_MOST_DEPTH);
    return false;
}

bool compiler_open(struct compiler *compiler, struct arena *arena, const char *what,
                   const char *text, struct place at, const struct formula_scope *scope,
                   struct diagnostics *diagnostics)
{
    size_t length = strnlen(text, FORMULA_MOST_BYTES + 1);
    *compiler = (struct compiler){
        .arena = arena, .text = "", .at = at, .scope = scope, .diagnostics = diagnostics};
    if (compiler->at.column == 0)
        compiler->at.column = 1;
    if (length > FORMULA_MOST_BYTES) {
        compiler_refuse(compiler, 0, "the %s is longer than %d bytes.", what, FORMULA_MOST_BYTES);
        return false;
    }
    const char *copy = arena_copy(arena, text, length);
    if (copy)
        compiler->text = copy;
    else
        compiler_no_memory(compiler);
    return copy != NULL;
}

static bool compile(struct compiler *compiler, enum formula_wants wants, struct formula *out)
{
    short root = compiler_parse(compiler);
    return root >= 0 && compiler_check(compiler, root, wants) && keep(compiler, root, out);
}

const struct formula *formula_compile(struct arena *arena, const char *text, struct place at,
                                      const struct formula_scope *scope, enum formula_wants wants,
                                      struct diagnostics *diagnostics)
{
    struct compiler compiler;
    if (!compiler_open(&compiler, arena, "formula", text, at, scope, diagnostics))
        return NULL;
    struct formula *formula = ARENA_TAKE(arena, 1, struct formula);
    if (!formula) {
        compiler_no_memory(&compiler);
        return NULL;
    }
    return compile(&compiler, wants, formula) ? formula : NULL;
}

enum value_type formula_type(const struct formula *formula, struct dimension *dimension,
                             bool *truth)
{
    const struct formula_node *root = &formula->nodes[formula->root];
    if (dimension)
        *dimension = root->dimension;
    if (truth)
        *truth = root->type == VALUE_NONE;
    return root->type;
}

bool formula_compares(const struct formula *formula)
{
    for (size_t i = 0; i < formula->node_count; i++) {
        const struct formula_node *node = &formula->nodes[i];
        bool range = (node->op == NODE_IN || node->op == NODE_NOT_IN) &&
                     formula->nodes[node->second].type == VALUE_RANGE;
        if (range || (node->op >= NODE_LESS && node->op <= NODE_AT_LEAST) ||
            (node->op == NODE_LET && formula_compares(node->as.let)))
            return true;
    }
    return false;
}

bool formula_varies(const struct formula *formula)
{
    return formula->varies;
}

bool formula_attribute(const struct formula *formula, size_t *at, size_t *role,
                       const struct attribute **attribute)
{
    for (; *at < formula->node_count; ++*at) {
        const struct formula_node *node = &formula->nodes[*at];
        if (node->op != NODE_ATTRIBUTE)
            continue;
        const struct reference *reference = node->as.reference;
        *role = reference->slot < formula->role_count ? reference->slot : SIZE_MAX;
        *attribute = &reference->kinds[0]->attributes[reference->index[0]];
        ++*at;
        return true;
    }
    return false;
}

bool formula_gathers(const struct formula *formula, size_t *at, const struct kind *const **kinds,
                     size_t *count)
{
    for (; *at < formula->node_count; ++*at) {
        const struct formula_node *node = &formula->nodes[*at];
        if (node->op < NODE_COUNT)
            continue;
        *kinds = node->as.gathering->kinds;
        *count = node->as.gathering->kind_count;
        ++*at;
        return true;
    }
    return false;
}
