/* words.c - sentences with {formulas} in them, and values as words. */
#include "formula/tree.h"

#include <math.h>
#include <string.h>

/* {when FORMULA} and {end}: what stands between is said only when the formula holds. */
enum piece_job { PIECE_IS_SAID, PIECE_BEGINS, PIECE_ENDS };

struct piece {
    enum piece_job job;
    const char *text;              /* plain words; else NULL */
    const struct formula *formula; /* else NULL: the id of a role's part */
    size_t role;
    bool has_unit;
    struct unit unit;
};

struct formula_words {
    struct piece *at;
    size_t count, room;
};

/* ---- Reading a template ---- */

static bool add_piece(struct compiler *compiler, struct formula_words *words, struct piece piece)
{
    if (!ARENA_GROW(compiler->arena, words)) {
        compiler_no_memory(compiler);
        return false;
    }
    words->at[words->count++] = piece;
    return true;
}

/* Plain words up to the next single brace; doubled ones stand for themselves. */
static bool add_plain(struct compiler *compiler, struct formula_words *words, unsigned *at)
{
    const char *text = compiler->text;
    char *plain = arena_copy(compiler->arena, text + *at, strlen(text + *at));
    if (!plain) {
        compiler_no_memory(compiler);
        return false;
    }
    size_t length = 0;
    while (text[*at]) {
        bool brace = text[*at] == '{' || text[*at] == '}';
        if (brace && text[*at + 1] != text[*at])
            break;
        plain[length++] = text[*at];
        *at += brace ? 2 : 1;
    }
    plain[length] = '\0';
    return length == 0 || add_piece(compiler, words, (struct piece){.text = plain});
}

/* The closing brace of what begins at `at`, and the last colon outside brackets and quotes. */
static bool find_close(const char *text, unsigned at, unsigned *close, unsigned *colon)
{
    unsigned depth = 0;
    char quote = '\0';
    *colon = 0;
    for (; text[at]; at++) {
        char c = text[at];
        if (quote) {
            quote = c == quote ? '\0' : quote;
            continue;
        }
        if (c == '\'' || c == '"')
            quote = c;
        else if (c == '(' || c == '[')
            depth++;
        else if ((c == ')' || c == ']') && depth > 0)
            depth--;
        else if (c == ':' && depth == 0)
            *colon = at;
        else if (c == '{' || c == '}')
            break;
    }
    *close = at;
    return text[at] == '}';
}

static struct stretch trimmed(const char *text, unsigned start, unsigned end)
{
    while (start < end && strchr(" \t\r\n", text[start]))
        start++;
    while (end > start && strchr(" \t\r\n", text[end - 1]))
        end--;
    return (struct stretch){(unsigned short)start, (unsigned short)end};
}

static bool is_role(const struct formula_scope *scope, const char *name, size_t *role)
{
    for (size_t i = 0; i < scope->role_count; i++) {
        if (strcmp(scope->roles[i].name, name) == 0) {
            *role = i;
            return true;
        }
    }
    return false;
}

/* "kWh or BTU": what stands behind `or` is for US customary units. True when it is there. */
static bool split_units(const char *text, struct stretch *at, struct stretch *customary)
{
    for (unsigned i = at->start; i + 4 < at->end; i++) {
        if (strncmp(text + i, " or ", 4) != 0)
            continue;
        *customary = trimmed(text, i + 4, at->end);
        *at = trimmed(text, at->start, i);
        return true;
    }
    return false;
}

static bool choose_unit(struct compiler *compiler, struct stretch at, struct piece *piece)
{
    const struct formula_node *root = &piece->formula->nodes[piece->formula->root];
    struct excerpt name = compiler_excerpt(compiler, at);
    if (!unit_find(compiler->text + at.start, (size_t)(at.end - at.start), &piece->unit)) {
        compiler_refuse(compiler, at.start, "there is no unit '%s'.", name.text);
        return false;
    }
    piece->has_unit = true;
    bool number = root->type == VALUE_QUANTITY || root->type == VALUE_RANGE;
    if (number && dimension_same(piece->unit.dimension, root->dimension))
        return true;
    char units[128];
    dimension_units(root->dimension, units, sizeof units);
    if (!number)
        compiler_refuse(compiler, at.start, "'%s' has no unit, so it cannot be told in %s.",
                        piece->formula->text, name.text);
    else
        compiler_refuse(compiler, at.start, "'%s' cannot be told in %s%s%s.", piece->formula->text,
                        name.text, units[0] ? "; write " : "", units);
    return false;
}

static bool begins_with_word(const struct compiler *compiler, struct stretch body, const char *word)
{
    size_t length = strlen(word), room = (size_t)(body.end - body.start);
    const char *text = compiler->text + body.start;
    return room >= length && strncmp(text, word, length) == 0 &&
           (room == length || strchr(" \t\r\n", text[length]));
}

/* Are we behind a {when} that has not ended? */
static bool is_open(const struct formula_words *words)
{
    for (size_t i = words->count; i-- > 0;)
        if (words->at[i].job != PIECE_IS_SAID)
            return words->at[i].job == PIECE_BEGINS;
    return false;
}

static bool add_end(struct compiler *compiler, struct formula_words *words, unsigned at)
{
    if (is_open(words))
        return add_piece(compiler, words, (struct piece){.job = PIECE_ENDS});
    compiler_refuse(compiler, at, "{end} has no {when ...} before it.");
    return false;
}

static bool add_when(struct compiler *compiler, struct formula_words *words, struct stretch body)
{
    struct stretch at = trimmed(compiler->text, body.start + 4u, body.end);
    struct piece piece = {.job = PIECE_BEGINS};
    if (is_open(words)) {
        compiler_refuse(compiler, body.start, "one {when ...} begins within another.");
        return false;
    }
    char *text =
        arena_copy(compiler->arena, compiler->text + at.start, (size_t)(at.end - at.start));
    if (!text) {
        compiler_no_memory(compiler);
        return false;
    }
    piece.formula = formula_compile(compiler->arena, text, compiler_place(compiler, at.start),
                                    compiler->scope, FORMULA_TRUTH, compiler->diagnostics);
    compiler->failed = compiler->failed || !piece.formula;
    return piece.formula && add_piece(compiler, words, piece);
}

/* The piece's unit, and the one told in its place in US customary units. */
static bool choose_units(struct compiler *compiler, struct stretch at, struct piece *piece)
{
    struct piece other = *piece;
    struct stretch customary;
    if (!split_units(compiler->text, &at, &customary))
        return choose_unit(compiler, at, piece);
    if (!choose_unit(compiler, at, piece) || !choose_unit(compiler, customary, &other))
        return false;
    piece->unit.customary = arena_copy(compiler->arena, compiler->text + customary.start,
                                       (size_t)(customary.end - customary.start));
    if (!piece->unit.customary)
        compiler_no_memory(compiler);
    return piece->unit.customary != NULL;
}

static bool is_printable(struct compiler *compiler, unsigned at, const struct formula *formula)
{
    enum value_type type = formula->nodes[formula->root].type;
    if (type != VALUE_POINTS && type != VALUE_FITTINGS)
        return true;
    compiler_refuse(compiler, at, "'%s' is a table, which cannot stand in a sentence.",
                    formula->text);
    return false;
}

static bool add_formula(struct compiler *compiler, struct formula_words *words, unsigned start,
                        unsigned end, unsigned colon)
{
    struct stretch body = trimmed(compiler->text, start, colon ? colon : end);
    if (begins_with_word(compiler, body, "when"))
        return add_when(compiler, words, trimmed(compiler->text, start, end));
    if (begins_with_word(compiler, body, "end"))
        return add_end(compiler, words, start - 1);
    char *text =
        arena_copy(compiler->arena, compiler->text + body.start, (size_t)(body.end - body.start));
    if (!text) {
        compiler_no_memory(compiler);
        return false;
    }
    struct piece piece = {0};
    if (!colon && is_role(compiler->scope, text, &piece.role))
        return add_piece(compiler, words, piece);
    piece.formula = formula_compile(compiler->arena, text, compiler_place(compiler, body.start),
                                    compiler->scope, FORMULA_ANY, compiler->diagnostics);
    if (!piece.formula) {
        compiler->failed = true;
        return false;
    }
    if (!is_printable(compiler, body.start, piece.formula))
        return false;
    if (colon && !choose_units(compiler, trimmed(compiler->text, colon + 1, end), &piece))
        return false;
    return add_piece(compiler, words, piece);
}

static bool read_pieces(struct compiler *compiler, struct formula_words *words)
{
    unsigned at = 0, close, colon;
    for (;;) {
        if (!add_plain(compiler, words, &at))
            return false;
        if (!compiler->text[at] && is_open(words)) {
            compiler_refuse(compiler, at, "{when ...} has no {end} behind it.");
            return false;
        }
        if (!compiler->text[at])
            return true;
        if (compiler->text[at] == '}') {
            compiler_refuse(compiler, at,
                            "a closing brace has none that opens; write }} for the sign itself.");
            return false;
        }
        if (!find_close(compiler->text, at + 1, &close, &colon)) {
            compiler_refuse(
                compiler, at,
                "the brace that opens here is never closed; write {{ for the sign itself.");
            return false;
        }
        if (!add_formula(compiler, words, at + 1, close, colon))
            return false;
        at = close + 1;
    }
}

const struct formula_words *formula_words_compile(struct arena *arena, const char *text,
                                                  struct place at,
                                                  const struct formula_scope *scope,
                                                  struct diagnostics *diagnostics)
{
    struct compiler compiler;
    if (!compiler_open(&compiler, arena, "sentence", text, at, scope, diagnostics))
        return NULL;
    struct formula_words *words = ARENA_TAKE(arena, 1, struct formula_words);
    if (!words) {
        compiler_no_memory(&compiler);
        return NULL;
    }
    return read_pieces(&compiler, words) ? words : NULL;
}

/* ---- Printing ---- */

static void print_list(const struct value *value, struct text *out)
{
    size_t count = value->as.words.count;
    if (count == 0)
        text_add(out, "none");
    for (size_t i = 0; i < count; i++) {
        text_add(out, i == 0 ? "" : i + 1 == count ? " and " : ", ");
        text_add(out, value->as.words.at[i]);
    }
}

void formula_print_value(const struct formula_node *node, const struct formula_result *result,
                         const struct unit *unit, enum unit_system system,
                         const struct apart *apart, const char *missing, struct text *out)
{
    double other;
    if (!unit && node->told->unit.name)
        unit = &node->told->unit;
    switch (result->value.type) {
    case VALUE_QUANTITY:
        other = apart_from(apart, result->value.as.quantity.value);
        if (isnan(other))
            quantity_tell(out, result->value.as.quantity, unit, system);
        else
            quantity_tell_apart(out, result->value.as.quantity, other, unit, system);
        break;
    case VALUE_RANGE:
        range_tell(out, result->value.as.range.low, result->value.as.range.high, unit, system);
        break;
    case VALUE_WORD:
    case VALUE_TEXT:
    case VALUE_ID:
        text_add(out, result->value.as.word);
        break;
    case VALUE_WORDS:
    case VALUE_IDS:
        print_list(&result->value, out);
        break;
    case VALUE_POINTS:
        text_add(out, "(a curve)");
        break;
    case VALUE_FITTINGS:
        text_add(out, "(a list)");
        break;
    case VALUE_NONE:
        text_add(out, result->truth == TRUTH_YES  ? "yes"
                      : result->truth == TRUTH_NO ? "no"
                                                  : missing);
        break;
    }
}

void formula_use_argument(const struct formula_world *world, const struct formula_use *use,
                          struct text *out)
{
    const struct attribute *attribute =
        &world->kind(world->data, use->part)->attributes[use->attribute];
    struct unit unit;
    if (isnan(use->argument) || !attribute->of)
        return;
    bool found = unit_find(attribute->of, strlen(attribute->of), &unit);
    text_add(out, "(");
    quantity_tell(out, (struct quantity){use->argument, attribute->of_dimension},
                  found ? &unit : NULL, world->units);
    text_add(out, ")");
}

#define MISSING "(unknown)"

/* A number that is the sentence's own is a round one: {0.2 m}. */
static void print_piece(const struct piece *piece, const struct formula_world *world,
                        const size_t *parts, enum condition condition, const struct apart *apart,
                        struct text *out)
{
    const struct formula_node *root = &piece->formula->nodes[piece->formula->root];
    const struct unit *unit = piece->has_unit ? &piece->unit : NULL;
    struct formula_result result = formula_evaluate(piece->formula, world, parts, condition, NULL);
    if (root->op == NODE_NUMBER && root->told->unit.name)
        quantity_tell_round(out, result.value.as.quantity, unit ? unit : &root->told->unit,
                            world->units);
    else
        formula_print_value(root, &result, unit, world->units, apart, MISSING, out);
}

static bool tells_figures(const struct formula_words *words)
{
    for (size_t i = 0; i < words->count; i++)
        if (words->at[i].job == PIECE_IS_SAID && words->at[i].formula)
            return true;
    return false;
}

void formula_words_print(const struct formula_words *words, const struct formula_world *world,
                         const size_t *parts, enum condition condition,
                         const struct formula *decided, struct text *out)
{
    const struct apart apart =
        apart_find(tells_figures(words) ? decided : NULL, world, parts, condition);
    bool said = true;
    for (size_t i = 0; i < words->count; i++) {
        const struct piece *piece = &words->at[i];
        if (piece->job != PIECE_IS_SAID) {
            said =
                piece->job == PIECE_ENDS ||
                formula_evaluate(piece->formula, world, parts, condition, NULL).truth == TRUTH_YES;
        } else if (!said) {
            continue;
        } else if (piece->text) {
            text_add(out, piece->text);
        } else if (piece->formula) {
            print_piece(piece, world, parts, condition, &apart, out);
        } else {
            size_t part = parts[piece->role];
            const char *id = part == SIZE_MAX ? NULL : world->id(world->data, part);
            text_add(out, id ? id : MISSING);
        }
    }
}
