/* fuzz_formula.c - any text as a formula and as a sentence, over made-up values:
 * it compiles or gets one error within its text, and what it comes to keeps the
 * promises of formula.h. The first byte chooses what is wanted, the second the values. */
#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "formula/formula.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

#define CHECK(what)                                                                                \
    do {                                                                                           \
        if (!(what)) {                                                                             \
            fprintf(stderr, "%s:%d: not so: %s\n", __FILE__, __LINE__, #what);                     \
            abort();                                                                               \
        }                                                                                          \
    } while (0)

#define PARTS 5

struct rig {
    unsigned seed;
    const struct kind *kinds[PARTS];
};

/* The same number for the same question. */
static unsigned draw(const struct rig *rig, size_t part, int attribute, int condition)
{
    unsigned x = rig->seed * 2654435761u + (unsigned)part * 40503u + (unsigned)attribute * 9973u +
                 (unsigned)condition * 101u;
    x ^= x >> 15;
    x *= 2246822519u;
    return x ^ x >> 13;
}

static double number(unsigned drawn)
{
    static const double odd[] = {0.0, -0.0, -1.0, 1e-300, 1e300, INFINITY, -INFINITY, NAN};
    return drawn % 5 == 0 ? odd[drawn / 5 % 8] : (double)(drawn % 1000) / 10.0;
}

static bool rig_value(const void *data, size_t part, int attribute, enum condition condition,
                      struct value *out, enum origin *origin)
{
    static const char *const some[] = {"always", "yes"};
    const struct rig *rig = data;
    const struct attribute *about = &rig->kinds[part]->attributes[attribute];
    unsigned drawn = draw(rig, part, attribute, (int)condition);
    if (drawn % 4 == 0)
        return false;
    *origin = (enum origin)(drawn % 4);
    *out = (struct value){.type = about->type};
    switch (about->type) {
    case VALUE_QUANTITY:
        out->as.quantity = (struct quantity){number(drawn / 4), about->dimension};
        return true;
    case VALUE_RANGE:
        out->as.range.low = (struct quantity){number(drawn / 4), about->dimension};
        out->as.range.high = (struct quantity){number(drawn / 7), about->dimension};
        return true;
    case VALUE_WORD:
    case VALUE_TEXT:
    case VALUE_ID:
        out->as.word = about->word_count ? about->words[drawn % about->word_count] : "p1";
        return true;
    case VALUE_WORDS:
    case VALUE_IDS:
        out->as.words.at = some;
        out->as.words.count = drawn % 3;
        return true;
    default:
        return true; /* an empty table */
    }
}

static const struct kind *rig_kind(const void *data, size_t part)
{
    return ((const struct rig *)data)->kinds[part];
}

static const char *rig_id(const void *data, size_t part)
{
    static const char *const ids[] = {"p1", "p2", "p3", "p4", "p5"};
    (void)data;
    return ids[part];
}

static size_t rig_related(const void *data, size_t part, const char *relation, const size_t **out)
{
    static const size_t all[] = {0, 1, 2, 3, 4};
    (void)data;
    (void)relation;
    *out = all;
    return part == SIZE_MAX ? PARTS : part;
}

static void check_result(const struct formula *formula, const struct formula_result *result,
                         const struct formula_uses *uses)
{
    struct dimension dimension;
    bool truth;
    enum value_type type = formula_type(formula, &dimension, &truth);
    bool known = result->value.type != VALUE_NONE || result->truth != TRUTH_UNKNOWN;
    CHECK(truth ? result->value.type == VALUE_NONE : result->truth == TRUTH_UNKNOWN);
    CHECK(known == (result->origin != ORIGIN_UNKNOWN));
    if (type == VALUE_QUANTITY && known) {
        CHECK(result->value.type == VALUE_QUANTITY);
        CHECK(dimension_same(result->value.as.quantity.dimension, dimension));
        CHECK(!isnan(result->value.as.quantity.value));
    }
    if (result->has_margin) {
        CHECK(fabs(result->margin) <= 1e9);
        CHECK(result->truth == TRUTH_YES ? result->margin >= 0.0 : result->margin <= 0.0);
        CHECK(result->truth != TRUTH_UNKNOWN);
    }
    CHECK(uses->count <= sizeof uses->at / sizeof *uses->at);
    for (size_t i = 0; known && i < uses->count; i++)
        CHECK(!uses->at[i].unknown);
}

static void check_refusal(const char *text, const struct diagnostics *diagnostics, bool made)
{
    CHECK(!diagnostics->out_of_memory);
    CHECK(diagnostics->count == !made);
    if (made)
        return;
    CHECK(diagnostics->at[0].at.line >= 1 && diagnostics->at[0].at.line <= 1 + strlen(text));
    CHECK(diagnostics->at[0].at.column >= 1 && diagnostics->at[0].at.column <= 1 + strlen(text));
    CHECK(diagnostics->at[0].message[0]);
}

struct stage {
    struct arena *arena;
    struct formula_scope scope;
    struct formula_world world;
    const size_t *parts;
    enum condition condition;
};

static void try_formula(const struct stage *stage, const char *text, enum formula_wants wants)
{
    struct diagnostics diagnostics = {.arena = stage->arena};
    const struct formula *formula = formula_compile(stage->arena, text, (struct place){"f", 1, 1},
                                                    &stage->scope, wants, &diagnostics);
    check_refusal(text, &diagnostics, formula != NULL);
    if (!formula)
        return;
    struct formula_uses uses;
    struct formula_result result =
        formula_evaluate(formula, &stage->world, stage->parts, stage->condition, &uses);
    check_result(formula, &result, &uses);
    struct text out = {0};
    formula_working(formula, &stage->world, stage->parts, stage->condition, &out);
    CHECK(!out.failed && out.length > 0 && out.bytes[out.length - 1] == '\n');
    text_drop(&out);
}

static void try_words(const struct stage *stage, const char *text)
{
    struct diagnostics diagnostics = {.arena = stage->arena};
    const struct formula_words *words = formula_words_compile(
        stage->arena, text, (struct place){"f", 1, 1}, &stage->scope, &diagnostics);
    check_refusal(text, &diagnostics, words != NULL);
    if (!words)
        return;
    struct text out = {0};
    formula_words_print(words, &stage->world, stage->parts, stage->condition, NULL, &out);
    CHECK(!out.failed);
    text_drop(&out);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static const char *const relations[] = {"feeds", "sits-in", NULL};
    static const char *const let_names[] = {"limit", "fast"};
    static const size_t parts[] = {0, 1, 2, 3, 4, 3};
    if (size < 2)
        return 0;
    struct arena *arena = arena_new();
    char *text = arena ? arena_copy(arena, (const char *)data + 2, size - 2) : NULL;
    struct store store;
    store_builtin(&store);
    struct rig rig = {data[1],
                      {store_kind(&store, "pump"), store_kind(&store, "fuse"),
                       store_kind(&store, "cable"), store_kind(&store, "tank"),
                       store_kind(&store, "pump")}};
    const struct kind *either[] = {rig.kinds[0], rig.kinds[3]};
    const struct formula_role roles[] = {{"pump", &rig.kinds[0], 1},  {"fuse", &rig.kinds[1], 1},
                                         {"cable", &rig.kinds[2], 1}, {"tank", &rig.kinds[3], 1},
                                         {"p5", &rig.kinds[4], 1},    {"either", either, 2}};
    struct stage stage = {
        arena,
        {.store = &store, .roles = roles, .role_count = 6, .relations = relations},
        {.data = &rig, .value = rig_value, .kind = rig_kind, .id = rig_id, .related = rig_related},
        parts,
        (enum condition)(data[1] % CONDITION_COUNT)};
    struct diagnostics diagnostics = {.arena = arena};
    const struct place at = {"l", 1, 1};
    const struct formula *lets[] = {
        formula_compile(arena, "0.8 * cable.ampacity", at, &stage.scope, FORMULA_ANY, &diagnostics),
        formula_compile(arena, "pump.motor is brushed", at, &stage.scope, FORMULA_ANY,
                        &diagnostics)};
    CHECK(text && lets[0] && lets[1]);
    stage.scope.let_names = let_names;
    stage.scope.lets = lets;
    stage.scope.let_count = 2;
    if (data[0] % 4 == 3)
        try_words(&stage, text);
    else
        try_formula(&stage, text, (enum formula_wants)(data[0] % 4));
    arena_drop(arena);
    return 0;
}
