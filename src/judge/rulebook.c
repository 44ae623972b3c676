/* rulebook.c - compiles the rules of a store. */
#include "judge/rulebook.h"

#include <string.h>

#include "solve/solve.h"

struct compiling {
    struct arena *arena;
    const struct store *store;
    struct diagnostics *diagnostics;
    bool failed; /* something did not compile, or memory ran out */
};

static void refuse(struct compiling *compiling, struct place at, const char *words,
                   const char *name)
{
    diagnostics_add(compiling->diagnostics, LEVEL_ERROR, TOPIC_FORMULA, at, words, name);
    compiling->failed = true;
}

/* "part" is any part that a parts list names: not the place, not the rig as a whole. */
static bool stands_for(const struct kind *kind, const char *word)
{
    if (strcmp(word, "part") == 0)
        return strcmp(kind->name, "site") != 0 && strcmp(kind->name, "rig") != 0;
    return kind_is(kind, word);
}

/* The kinds that a word of a pairing stands for. */
static void find_role(struct compiling *compiling, const char *word, struct place at,
                      struct formula_role *out)
{
    const struct store *store = compiling->store;
    const struct kind **kinds =
        ARENA_TAKE(compiling->arena, store->kind_count + 1, const struct kind *);
    *out = (struct formula_role){.name = word, .kinds = kinds};
    if (!kinds) {
        compiling->failed = true;
        return;
    }
    for (size_t i = 0; i < store->kind_count; i++)
        if (stands_for(&store->kinds[i], word))
            kinds[out->kind_count++] = &store->kinds[i];
    if (out->kind_count)
        return;
    struct near_search near;
    near_begin(&near, word);
    for (size_t i = 0; i < store->kind_count; i++)
        near_offer(&near, store->kinds[i].name);
    if (near_best(&near))
        diagnostics_add(compiling->diagnostics, LEVEL_ERROR, TOPIC_FORMULA, at,
                        "no kind or group of parts is called '%s'; did you mean %s?", word,
                        near_best(&near));
    else
        diagnostics_add(compiling->diagnostics, LEVEL_ERROR, TOPIC_FORMULA, at,
                        "no kind or group of parts is called '%s'.", word);
    compiling->failed = true;
}

/* The relation's own word in the table of them, or NULL. */
static const char *find_relation(const char *word)
{
    for (size_t i = 0; relation_words[i]; i++)
        if (strcmp(relation_words[i], word) == 0)
            return relation_words[i];
    return NULL;
}

/* Which kinds a role takes, for looking up. */
static const bool *kinds_taken(struct compiling *compiling, const struct formula_role *role)
{
    bool *takes = ARENA_TAKE(compiling->arena, compiling->store->kind_count + 1, bool);
    if (!takes) {
        compiling->failed = true;
        return NULL;
    }
    for (size_t i = 0; i < role->kind_count; i++)
        takes[role->kinds[i] - compiling->store->kinds] = true;
    return takes;
}

/* "fuse protects cable", or one word. */
static void compile_pairing(struct compiling *compiling, const struct rule *rule,
                            struct compiled_rule *out)
{
    char *words = arena_string(compiling->arena, rule->pairing.text ? rule->pairing.text : "");
    const char *word[4] = {NULL};
    size_t count = 0;
    char *rest = NULL;
    for (char *w = words ? strtok_r(words, " ", &rest) : NULL; w && count < 4;
         w = strtok_r(NULL, " ", &rest))
        word[count++] = w;
    if (count != 1 && count != 3) {
        refuse(compiling, rule->pairing.text ? rule->pairing.at : rule->at,
               "the pairing of %s should be one word or three, such as `fuse protects cable`.",
               rule->name);
        return;
    }
    find_role(compiling, word[0], rule->pairing.at, &out->roles[0]);
    out->pair_count = 1;
    out->takes[0] = kinds_taken(compiling, &out->roles[0]);
    if (count == 1)
        return;
    out->relation = find_relation(word[1]);
    if (!out->relation)
        refuse(compiling, rule->pairing.at, "parts can't stand to each other as '%s'.", word[1]);
    find_role(compiling, word[2], rule->pairing.at, &out->roles[1]);
    if (strcmp(word[0], word[2]) == 0)
        out->roles[1].name = "other";
    out->pair_count = 2;
    out->takes[1] = kinds_taken(compiling, &out->roles[1]);
}

/* The place and the rig as a whole can be named in every rule. */
static void add_common_roles(struct compiling *compiling, const struct rule *rule,
                             struct compiled_rule *out)
{
    static const char *const common[] = {"site", "rig"};
    out->role_count = out->pair_count;
    for (size_t i = 0; i < 2 && !compiling->failed; i++)
        if (strcmp(out->roles[0].name, common[i]) != 0)
            find_role(compiling, common[i], rule->pairing.at, &out->roles[out->role_count++]);
}

static void compile_under(struct compiling *compiling, const struct rule *rule,
                          struct compiled_rule *out)
{
    if (!rule->under.text)
        return;
    out->every = strcmp(rule->under.text, "every") == 0;
    out->one = !out->every && condition_find(rule->under.text, &out->condition);
    if (!out->every && !out->one)
        refuse(compiling, rule->under.at, "there is no condition '%s'.", rule->under.text);
}

static const struct formula *compile_one(struct compiling *compiling, const struct rule_text *text,
                                         const struct formula_scope *scope,
                                         enum formula_wants wants)
{
    if (!text->text)
        return NULL;
    const struct formula *formula = formula_compile(compiling->arena, text->text, text->at, scope,
                                                    wants, compiling->diagnostics);
    if (!formula)
        compiling->failed = true;
    return formula;
}

static const struct formula_words *compile_words(struct compiling *compiling,
                                                 const struct rule_text *text,
                                                 const struct formula_scope *scope)
{
    if (!text->text)
        return NULL;
    const struct formula_words *words = formula_words_compile(
        compiling->arena, text->text, text->at, scope, compiling->diagnostics);
    if (!words)
        compiling->failed = true;
    return words;
}

/* A let may use those before it. */
static void compile_lets(struct compiling *compiling, const struct rule *rule,
                         struct formula_scope *scope)
{
    const char **names = ARENA_TAKE(compiling->arena, rule->let_count + 1, const char *);
    const struct formula **lets =
        ARENA_TAKE(compiling->arena, rule->let_count + 1, const struct formula *);
    if (!names || !lets) {
        compiling->failed = true;
        return;
    }
    scope->let_names = names;
    scope->lets = lets;
    for (size_t i = 0; i < rule->let_count && !compiling->failed; i++) {
        names[i] = rule->lets[i].name;
        lets[i] = compile_one(compiling, &rule->lets[i].formula, scope, FORMULA_ANY);
        scope->let_count = i + 1;
    }
}

static void check_whole(struct compiling *compiling, const struct rule *rule)
{
    bool judges = rule->error_unless.text || rule->caution_unless.text;
    if (judges == (rule->remind.text != NULL))
        refuse(compiling, rule->at,
               "%s should have `error_unless:` or `caution_unless:` (or both), or else `remind:`.",
               rule->name);
    if (judges && !rule->says.text)
        refuse(compiling, rule->at,
               "%s does not say what is wrong when it fails: `says:` is missing.", rule->name);
}

static void note_doubts(const struct formula *formula, struct compiled_rule *out)
{
    const struct attribute *attribute;
    size_t at = 0, role;
    while (formula && formula_attribute(formula, &at, &role, &attribute)) {
        out->doubtful = out->doubtful || attribute->solved != SOLVED_NO || attribute->may_be;
        if (attribute->solved != SOLVED_NO)
            out->waits_for |= solve_waits_for(attribute->name);
    }
}

/* Of its error: by all let values, whether it names them or not. */
static void find_doubts(const struct rule *rule, struct compiled_rule *out)
{
    if (!out->error)
        return;
    note_doubts(out->when, out);
    note_doubts(out->error, out);
    for (size_t i = 0; i < rule->let_count; i++)
        note_doubts(out->lets[i], out);
}

static void compile_rule(struct compiling *compiling, const struct rule *rule,
                         struct compiled_rule *out)
{
    out->rule = rule;
    check_whole(compiling, rule);
    compile_pairing(compiling, rule, out);
    compile_under(compiling, rule, out);
    if (!compiling->failed)
        add_common_roles(compiling, rule, out);
    if (compiling->failed)
        return;
    struct formula_scope scope = {.store = compiling->store,
                                  .roles = out->roles,
                                  .role_count = out->role_count,
                                  .relations = relation_words};
    compile_lets(compiling, rule, &scope);
    if (compiling->failed)
        return;
    out->lets = scope.lets;
    out->when = compile_one(compiling, &rule->when, &scope, FORMULA_TRUTH);
    out->error = compile_one(compiling, &rule->error_unless, &scope, FORMULA_TRUTH);
    out->caution = compile_one(compiling, &rule->caution_unless, &scope, FORMULA_TRUTH);
    out->reminder = rule->remind.text != NULL;
    out->remind = compile_words(compiling, &rule->remind, &scope);
    out->says = compile_words(compiling, &rule->says, &scope);
    out->caution_says = compile_words(compiling, &rule->caution_says, &scope);
    out->mend = compile_words(compiling, &rule->mend, &scope);
    find_doubts(rule, out);
}

const struct rulebook *rulebook_new(struct arena *arena, const struct store *store,
                                    struct diagnostics *diagnostics)
{
    struct rulebook *book = ARENA_TAKE(arena, 1, struct rulebook);
    struct compiled_rule *rules = ARENA_TAKE(arena, store->rule_count + 1, struct compiled_rule);
    if (!book || !rules)
        return NULL;
    *book = (struct rulebook){store, rules, store->rule_count};
    bool sound = true;
    for (size_t i = 0; i < store->rule_count; i++) {
        struct compiling compiling = {arena, store, diagnostics, false};
        compile_rule(&compiling, &store->rules[i], &rules[i]);
        sound = sound && !compiling.failed;
    }
    return sound ? book : NULL;
}
