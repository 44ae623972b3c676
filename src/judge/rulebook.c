/* rulebook.c - compiles the rules of a store: the pairings at once, formulas and
 * templates at once or later. */
#include "judge/rulebook.h"

#include <pthread.h>
#include <stdatomic.h>
#include <string.h>

#include "base/names.h"
#include "solve/solve.h"

/* What is compiled later, and by which thread, is not known: the flag of what is there is set
 * last. */
struct later_rule {
    atomic_bool ready;
    _Atomic(const struct formula_words *) words[WORDS_COUNT];
};

struct later_rules {
    pthread_mutex_t lock; /* held by whoever compiles; guards the arena too */
    struct arena *arena;
    struct compiled_rule *rules;
    struct later_rule *at; /* by rule */
};

/* What a word of a pairing stands for. */
struct known_word {
    const struct kind **kinds;
    size_t kind_count;
    bool *takes; /* by kind's place in the store */
};

struct known_words { /* found once: most rules are about the same few */
    struct names *names;
    struct known_word *at;
    size_t count, room;
};

struct compiling {
    struct arena *arena;
    const struct store *store;
    struct diagnostics *diagnostics;
    struct known_words *words;
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

static bool find_kinds(struct compiling *compiling, const char *word, struct known_word *out)
{
    const struct store *store = compiling->store;
    out->kinds = ARENA_TAKE(compiling->arena, store->kind_count + 1, const struct kind *);
    out->takes = ARENA_TAKE(compiling->arena, store->kind_count + 1, bool);
    if (!out->kinds || !out->takes)
        return false;
    for (size_t i = 0; i < store->kind_count; i++) {
        out->takes[i] = stands_for(&store->kinds[i], word);
        if (out->takes[i])
            out->kinds[out->kind_count++] = &store->kinds[i];
    }
    return true;
}

/* NULL when memory runs out. */
static const struct known_word *know(struct compiling *compiling, const char *word)
{
    struct known_words *words = compiling->words;
    size_t index;
    if (names_find(words->names, word, &index))
        return &words->at[index];
    struct known_word found = {0};
    if (!find_kinds(compiling, word, &found) || !ARENA_GROW(compiling->arena, words) ||
        !names_add(words->names, compiling->arena, word, words->count, NULL))
        return NULL;
    words->at[words->count] = found;
    return &words->at[words->count++];
}

static void refuse_word(struct compiling *compiling, const char *word, struct place at)
{
    struct near_search near;
    near_begin(&near, word);
    for (size_t i = 0; i < compiling->store->kind_count; i++)
        near_offer(&near, compiling->store->kinds[i].name);
    if (near_best(&near))
        diagnostics_add(compiling->diagnostics, LEVEL_ERROR, TOPIC_FORMULA, at,
                        "no kind or group of parts is called '%s'; did you mean %s?", word,
                        near_best(&near));
    else
        diagnostics_add(compiling->diagnostics, LEVEL_ERROR, TOPIC_FORMULA, at,
                        "no kind or group of parts is called '%s'.", word);
    compiling->failed = true;
}

/* The kinds that a word of a pairing stands for. Gives which these are, for looking up; NULL when
 * memory runs out. */
static const bool *find_role(struct compiling *compiling, const char *word, struct place at,
                             struct formula_role *out)
{
    const struct known_word *known = know(compiling, word);
    *out = (struct formula_role){.name = word};
    if (!known) {
        compiling->failed = true;
        return NULL;
    }
    out->kinds = known->kinds;
    out->kind_count = known->kind_count;
    if (known->kind_count == 0)
        refuse_word(compiling, word, at);
    return known->takes;
}

/* The relation's own word in the table of them, or NULL. */
static const char *find_relation(const char *word)
{
    for (size_t i = 0; relation_words[i]; i++)
        if (strcmp(relation_words[i], word) == 0)
            return relation_words[i];
    return NULL;
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
    out->takes[0] = find_role(compiling, word[0], rule->pairing.at, &out->roles[0]);
    out->pair_count = 1;
    if (count == 1)
        return;
    out->relation = find_relation(word[1]);
    if (!out->relation)
        refuse(compiling, rule->pairing.at, "parts can't stand to each other as '%s'.", word[1]);
    out->takes[1] = find_role(compiling, word[2], rule->pairing.at, &out->roles[1]);
    if (strcmp(word[0], word[2]) == 0)
        out->roles[1].name = "other";
    out->pair_count = 2;
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

/* What a formula or template of the rule may name: its lets as far as they are compiled. */
static struct formula_scope scope_of(const struct compiled_rule *rule, size_t let_count)
{
    return (struct formula_scope){.store = rule->book->store,
                                  .roles = rule->roles,
                                  .role_count = rule->role_count,
                                  .relations = relation_words,
                                  .let_names = rule->let_names,
                                  .lets = rule->lets,
                                  .let_count = let_count};
}

/* A let may use those before it. */
static void compile_lets(struct compiling *compiling, struct compiled_rule *out)
{
    const struct rule *rule = out->rule;
    const char **names = ARENA_TAKE(compiling->arena, rule->let_count + 1, const char *);
    const struct formula **lets =
        ARENA_TAKE(compiling->arena, rule->let_count + 1, const struct formula *);
    if (!names || !lets) {
        compiling->failed = true;
        return;
    }
    out->let_names = names;
    out->lets = lets;
    for (size_t i = 0; i < rule->let_count && !compiling->failed; i++) {
        struct formula_scope scope = scope_of(out, i);
        names[i] = rule->lets[i].name;
        lets[i] = compile_one(compiling, &rule->lets[i].formula, &scope, FORMULA_ANY);
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
static void find_doubts(struct compiled_rule *out)
{
    if (!out->error)
        return;
    note_doubts(out->when, out);
    note_doubts(out->error, out);
    for (size_t i = 0; i < out->rule->let_count; i++)
        note_doubts(out->lets[i], out);
}

/* All but its formulas and templates. */
static void begin_rule(struct compiling *compiling, const struct rulebook *book,
                       const struct rule *rule, struct compiled_rule *out)
{
    out->book = book;
    out->rule = rule;
    out->reminder = rule->remind.text != NULL;
    check_whole(compiling, rule);
    compile_pairing(compiling, rule, out);
    compile_under(compiling, rule, out);
    if (!compiling->failed)
        add_common_roles(compiling, rule, out);
}

/* After its lets. */
static void compile_promise(struct compiling *compiling, struct compiled_rule *out)
{
    const struct rule *rule = out->rule;
    struct formula_scope scope = scope_of(out, rule->let_count);
    out->when = compile_one(compiling, &rule->when, &scope, FORMULA_TRUTH);
    out->error = compile_one(compiling, &rule->error_unless, &scope, FORMULA_TRUTH);
    out->caution = compile_one(compiling, &rule->caution_unless, &scope, FORMULA_TRUTH);
    find_doubts(out);
}

static const struct rule_text *text_of(const struct rule *rule, enum rule_words words)
{
    switch (words) {
    case WORDS_REMIND:
        return &rule->remind;
    case WORDS_SAYS:
        return &rule->says;
    case WORDS_CAUTION_SAYS:
        return &rule->caution_says;
    default:
        return &rule->mend;
    }
}

/* NULL when there are none, or they do not compile. */
static const struct formula_words *
compile_words(struct compiling *compiling, const struct compiled_rule *rule, enum rule_words words)
{
    const struct rule_text *text = text_of(rule->rule, words);
    if (!text->text)
        return NULL;
    struct formula_scope scope = scope_of(rule, rule->rule->let_count);
    const struct formula_words *compiled = formula_words_compile(
        compiling->arena, text->text, text->at, &scope, compiling->diagnostics);
    if (!compiled)
        compiling->failed = true;
    return compiled;
}

/* ---- now or later ---- */

static void compile_now(struct compiling *compiling, struct compiled_rule *rule,
                        struct later_rule *later)
{
    if (!compiling->failed)
        compile_lets(compiling, rule);
    if (compiling->failed)
        return;
    compile_promise(compiling, rule);
    atomic_init(&later->ready, !compiling->failed);
    for (unsigned i = 0; i < WORDS_COUNT; i++)
        atomic_init(&later->words[i], compile_words(compiling, rule, (enum rule_words)i));
}

static size_t place_of(const struct compiled_rule *rule)
{
    return (size_t)(rule->rule - rule->book->store->rules);
}

/* They compile; that memory runs out is all that can go wrong. */
static struct compiling compile_later(const struct compiled_rule *rule,
                                      struct diagnostics *diagnostics)
{
    *diagnostics = (struct diagnostics){.arena = rule->book->later->arena};
    return (struct compiling){
        .arena = diagnostics->arena, .store = rule->book->store, .diagnostics = diagnostics};
}

bool rulebook_ready(const struct compiled_rule *rule)
{
    struct later_rules *all = rule->book->later;
    struct later_rule *later = &all->at[place_of(rule)];
    if (atomic_load_explicit(&later->ready, memory_order_acquire))
        return true;
    struct diagnostics diagnostics;
    struct compiling compiling = compile_later(rule, &diagnostics);
    pthread_mutex_lock(&all->lock);
    if (!atomic_load_explicit(&later->ready, memory_order_relaxed))
        compile_lets(&compiling, &all->rules[place_of(rule)]);
    if (!compiling.failed && !atomic_load_explicit(&later->ready, memory_order_relaxed))
        compile_promise(&compiling, &all->rules[place_of(rule)]);
    atomic_store_explicit(&later->ready, !compiling.failed, memory_order_release);
    pthread_mutex_unlock(&all->lock);
    return !compiling.failed;
}

bool rulebook_words(const struct compiled_rule *rule, enum rule_words words,
                    const struct formula_words **out)
{
    struct later_rules *all = rule->book->later;
    struct later_rule *later = &all->at[place_of(rule)];
    *out = atomic_load_explicit(&later->words[words], memory_order_acquire);
    if (*out || !text_of(rule->rule, words)->text)
        return true;
    struct diagnostics diagnostics;
    struct compiling compiling = compile_later(rule, &diagnostics);
    pthread_mutex_lock(&all->lock);
    *out = atomic_load_explicit(&later->words[words], memory_order_relaxed);
    if (!*out)
        *out = compile_words(&compiling, rule, words);
    atomic_store_explicit(&later->words[words], *out, memory_order_release);
    pthread_mutex_unlock(&all->lock);
    return *out != NULL;
}

static struct rulebook *new_book(struct arena *arena, const struct store *store)
{
    struct rulebook *book = ARENA_TAKE(arena, 1, struct rulebook);
    struct later_rules *later = ARENA_TAKE(arena, 1, struct later_rules);
    if (!book || !later || pthread_mutex_init(&later->lock, NULL) != 0)
        return NULL;
    later->arena = arena_within(arena);
    later->at = ARENA_TAKE(arena, store->rule_count + 1, struct later_rule);
    later->rules = ARENA_TAKE(arena, store->rule_count + 1, struct compiled_rule);
    *book = (struct rulebook){store, later->rules, store->rule_count, later,
                              solve_fields_new(arena, store)};
    return later->arena && later->at && later->rules && book->fields ? book : NULL;
}

const struct rulebook *rulebook_new(struct arena *arena, const struct store *store,
                                    struct diagnostics *diagnostics)
{
    struct rulebook *book = new_book(arena, store);
    struct known_words words = {.names = names_new(arena)};
    if (!book || !words.names)
        return NULL;
    bool sound = true;
    for (size_t i = 0; i < store->rule_count; i++) {
        struct compiling compiling = {arena, store, diagnostics, &words, false};
        begin_rule(&compiling, book, &store->rules[i], &book->later->rules[i]);
        if (i >= store->sound_rule_count)
            compile_now(&compiling, &book->later->rules[i], &book->later->at[i]);
        sound = sound && !compiling.failed;
    }
    return sound ? book : NULL;
}
