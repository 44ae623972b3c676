/* prove.c - a rule's proofs: small made-up pairings with the outcome that its
 * author expects. Values are named ROLE.ATTRIBUTE, perhaps `at CONDITION`; a kind
 * that is no role of the pairing stands for one more part, to which the others
 * stand in every relation; the pairing's two stand in its own to each other. */
#include <math.h>
#include <string.h>

#include "judge/judge.h"
#include "judge/rulebook.h"
#include "store/value_read.h"

#define STAGE_PARTS_MAX 8 /* RULE_ROLES_MAX and some beside */
#define STAGE_VALUES_MAX 64

struct stage_part {
    const char *name; /* role or kind */
    const struct kind *kind;
};

struct stage_value {
    size_t part;
    int attribute;
    bool everywhere;
    enum condition condition;
    struct value value;
};

/* The made-up parts of one proof. */
struct stage {
    struct arena *arena;
    const struct rulebook *book;
    const struct compiled_rule *rule;
    struct stage_part parts[STAGE_PARTS_MAX];
    size_t part_count;
    struct stage_value values[STAGE_VALUES_MAX];
    size_t value_count;
    size_t others[STAGE_PARTS_MAX]; /* the parts beside the pairing's */
    size_t kin[2][STAGE_PARTS_MAX]; /* of each of the two: its partner, then the others */
    size_t other_count;
    const char *problem;
    bool no_memory;
};

static bool stage_value(const void *data, size_t part, int attribute, enum condition condition,
                        struct value *out, enum origin *origin)
{
    const struct stage *stage = data;
    *origin = ORIGIN_UNKNOWN;
    for (size_t i = 0; i < stage->value_count; i++) {
        const struct stage_value *value = &stage->values[i];
        if (value->part != part || value->attribute != attribute)
            continue;
        if (!value->everywhere && value->condition != condition)
            continue;
        *out = value->value;
        *origin = ORIGIN_GIVEN;
        return true;
    }
    return false;
}

/* A proof gives such a figure once, of whatever it is asked. */
static bool stage_value_of(const void *data, size_t part, int attribute, enum condition condition,
                           double argument, struct value *out, enum origin *origin)
{
    (void)argument;
    return stage_value(data, part, attribute, condition, out, origin);
}

static const struct kind *stage_kind(const void *data, size_t part)
{
    return ((const struct stage *)data)->parts[part].kind;
}

static const char *stage_id(const void *data, size_t part)
{
    return ((const struct stage *)data)->parts[part].name;
}

/* Is it the pairing's own relation, seen from this one of its two parts? */
static bool is_pairing(const struct compiled_rule *rule, size_t part, const char *relation)
{
    if (rule->pair_count < 2 || part > 1)
        return false;
    size_t word = 0;
    while (relation_words[word] && strcmp(relation_words[word], rule->relation) != 0)
        word++;
    /* the words stand in twos, the second being the other way round; compile_pairing knows that it
     * is there */
    return strcmp(relation, relation_words[part == 0 ? word : word ^ 1]) == 0;
}

static size_t stage_related(const void *data, size_t part, const char *relation, const size_t **out)
{
    static const size_t all[STAGE_PARTS_MAX] = {0, 1, 2, 3, 4, 5, 6, 7};
    const struct stage *stage = data;
    if (relation && is_pairing(stage->rule, part, relation)) {
        *out = stage->kin[part];
        return stage->other_count + 1;
    }
    *out = relation ? stage->others : all;
    return relation ? stage->other_count : stage->part_count;
}

static bool stage_means(const void *data, const struct formula_use *use)
{
    (void)data;
    (void)use;
    return true;
}

static void problem(struct stage *stage, const char *words, const char *name)
{
    if (stage->problem)
        return;
    stage->problem = arena_print(stage->arena, words, name);
    if (!stage->problem)
        stage->no_memory = true;
}

/* Of several kinds that a role may be, the first that has the attribute. */
static void settle_kind(struct stage *stage, size_t part, const char *attribute)
{
    if (part >= stage->rule->role_count)
        return;
    const struct formula_role *role = &stage->rule->roles[part];
    for (size_t i = 0; i < role->kind_count; i++)
        if (kind_attribute(role->kinds[i], attribute) >= 0) {
            if (kind_attribute(stage->parts[part].kind, attribute) < 0)
                stage->parts[part].kind = role->kinds[i];
            return;
        }
}

/* The part called so: a role of the pairing, or one more part of that kind. */
static size_t find_stage_part(struct stage *stage, const char *name)
{
    for (size_t i = 0; i < stage->part_count; i++)
        if (strcmp(stage->parts[i].name, name) == 0)
            return i;
    const struct kind *kind = store_kind(stage->book->store, name);
    if (!kind || stage->part_count == STAGE_PARTS_MAX) {
        problem(stage,
                kind ? "more parts than a proof can hold: '%s'."
                     : "'%s' is neither in the pairing nor a kind of part.",
                name);
        return NO_PART;
    }
    stage->parts[stage->part_count] = (struct stage_part){name, kind};
    stage->others[stage->other_count++] = stage->part_count;
    for (size_t i = 0; i < 2; i++)
        stage->kin[i][stage->other_count] = stage->part_count;
    return stage->part_count++;
}

/* "pump.flow at weak-sun" cut into its three words; condition "" when there is none. */
static bool split_name(struct stage *stage, const char *given, char **part, char **attribute,
                       char **condition)
{
    char *name = arena_string(stage->arena, given);
    if (!name) {
        stage->no_memory = true;
        return false;
    }
    char *at = strstr(name, " at ");
    *condition = at ? at + 4 : NULL;
    if (at)
        *at = '\0';
    char *dot = strchr(name, '.');
    if (dot)
        *dot = '\0';
    *part = name;
    *attribute = dot ? dot + 1 : NULL;
    return true;
}

static void read_given_value(struct stage *stage, const struct rule_given *given, size_t part,
                             const char *attribute, const char *condition)
{
    settle_kind(stage, part, attribute);
    const struct kind *kind = stage->parts[part].kind;
    struct stage_value *value = &stage->values[stage->value_count];
    *value = (struct stage_value){.part = part,
                                  .attribute = kind_attribute(kind, attribute),
                                  .everywhere = condition == NULL};
    if (value->attribute < 0) {
        problem(stage, "there is no attribute '%s'.", given->name);
        return;
    }
    if (condition && !condition_find(condition, &value->condition)) {
        problem(stage, "there is no condition '%s'.", condition);
        return;
    }
    struct diagnostics diagnostics = {.arena = stage->arena};
    enum outcome outcome =
        value_read_text(stage->arena, given->value, given->at, &kind->attributes[value->attribute],
                        &diagnostics, &value->value);
    stage->no_memory = stage->no_memory || outcome == OUTCOME_NO_MEMORY;
    if (outcome == OUTCOME_OK)
        stage->value_count++;
    else if (diagnostics.count)
        problem(stage, "%s", diagnostics.at[0].message);
}

static void read_given(struct stage *stage, const struct rule_given *given)
{
    char *part_name, *attribute, *condition;
    if (stage->value_count == STAGE_VALUES_MAX) {
        problem(stage, "more values than a proof can hold: '%s'.", given->name);
        return;
    }
    if (!split_name(stage, given->name, &part_name, &attribute, &condition))
        return;
    size_t part = find_stage_part(stage, part_name);
    if (part != NO_PART && attribute)
        read_given_value(stage, given, part, attribute, condition);
}

static void set_stage(struct stage *stage, struct arena *arena, const struct rulebook *book,
                      const struct compiled_rule *rule, const struct rule_proof *proof)
{
    *stage = (struct stage){.arena = arena, .book = book, .rule = rule, .kin = {{1}, {0}}};
    for (size_t i = 0; i < rule->role_count; i++)
        stage->parts[stage->part_count++] =
            (struct stage_part){rule->roles[i].name, rule->roles[i].kinds[0]};
    for (size_t i = 0; i < proof->given_count; i++)
        read_given(stage, &proof->given[i]);
}

static const char *outcome_word(const struct promise *promise)
{
    if (promise->failed)
        return level_name(promise->level);
    if (promise->missing)
        return "question";
    return promise->asked ? "holds" : "not-asked";
}

static struct proof_result run_proof(struct stage *stage, const struct rule_proof *proof)
{
    static const size_t parts[RULE_ROLES_MAX] = {0, 1, 2, 3};
    const struct formula_world world = {.data = stage,
                                        .value = stage_value,
                                        .value_of = stage_value_of,
                                        .kind = stage_kind,
                                        .id = stage_id,
                                        .related = stage_related};
    struct promise promise;
    promise_judge(stage->rule, &world, parts, ALL_CONDITIONS, stage_means, NULL, &promise);
    struct proof_result result = {.rule = stage->rule->rule,
                                  .proof = proof,
                                  .got = outcome_word(&promise),
                                  .problem = stage->problem,
                                  .has_margin = promise.has_margin,
                                  .margin = promise.margin};
    if (!result.problem && proof->limit && !(result.has_margin && fabs(result.margin) <= 1e-9))
        result.problem = "it is said to be exactly at the limit, but it is not";
    result.as_expected = !result.problem && proof->expect && strcmp(result.got, proof->expect) == 0;
    return result;
}

static const struct compiled_rule *find_compiled(const struct rulebook *book,
                                                 const struct rule *rule)
{
    for (size_t i = 0; i < book->rule_count; i++)
        if (book->rules[i].rule == rule)
            return &book->rules[i];
    return NULL;
}

enum outcome judge_prove(struct arena *arena, const struct rulebook *book, const struct rule *rule,
                         void (*each)(void *data, const struct proof_result *result), void *data,
                         size_t *ran, size_t *wrong)
{
    const struct compiled_rule *compiled = find_compiled(book, rule);
    struct stage *stage = ARENA_TAKE(arena, 1, struct stage);
    *ran = *wrong = 0;
    if (!stage || (compiled && !rulebook_ready(compiled)))
        return OUTCOME_NO_MEMORY;
    if (!compiled)
        return OUTCOME_REFUSED;
    for (size_t i = 0; i < rule->proof_count; i++) {
        set_stage(stage, arena, book, compiled, &rule->proofs[i]);
        if (stage->no_memory)
            return OUTCOME_NO_MEMORY;
        struct proof_result result = run_proof(stage, &rule->proofs[i]);
        ++*ran;
        *wrong += !result.as_expected;
        each(data, &result);
    }
    return OUTCOME_OK;
}

static bool has_proof(const struct rule *rule, const char *expect)
{
    for (size_t i = 0; i < rule->proof_count; i++)
        if (rule->proofs[i].expect && strcmp(rule->proofs[i].expect, expect) == 0)
            return true;
    return false;
}

static bool has_limit_proof(const struct rule *rule)
{
    for (size_t i = 0; i < rule->proof_count; i++)
        if (rule->proofs[i].limit)
            return true;
    return false;
}

const char *judge_proofs_lack(const struct rulebook *book, const struct rule *rule)
{
    const struct compiled_rule *compiled = find_compiled(book, rule);
    if (!compiled || !rulebook_ready(compiled))
        return "its formulas";
    if (compiled->reminder)
        return has_proof(rule, "reminder") ? NULL : "a proof in which it reminds";
    if (!has_proof(rule, "holds"))
        return "a proof in which it holds";
    if (compiled->error && !has_proof(rule, "error"))
        return "a proof in which it fails as an error";
    if (compiled->caution && !has_proof(rule, "caution"))
        return "a proof in which it fails as a caution";
    bool compares = (compiled->error && formula_compares(compiled->error)) ||
                    (compiled->caution && formula_compares(compiled->caution));
    return compares && !has_limit_proof(rule) ? "a proof exactly at its limit" : NULL;
}
