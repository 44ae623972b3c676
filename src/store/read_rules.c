/* read_rules.c - rules, from records and the tree. Formulas and templates stay
 * text with the place where they begin; the layer below compiles them. */
#include <string.h>

#include "store/reader.h"
#include "store/shape.h"
#include "store/value_read.h"

static struct rule_text keep_text(struct reader *reader, const struct node *node, const char *key,
                                  const char *text)
{
    return (struct rule_text){.text = keep(reader, text),
                              .at = text ? value_of(node, key)->at : (struct place){0}};
}

static enum practice read_practice(struct reader *reader, const struct node *node, const char *text)
{
    enum practice practice = PRACTICE_ANY;
    if (text && !practice_find(text, &practice))
        COMPLAIN(reader, TOPIC_WORDS, value_of(node, "practice")->at,
                 "practice takes iec or north-america, not '%s'.",
                 shown(reader->diagnostics, text));
    return practice;
}

static void check_under(struct reader *reader, const struct node *node, const char *text)
{
    const char *names[CONDITION_COUNT + 1] = {"every"};
    enum condition condition;
    struct near_search search;
    if (!text || strcmp(text, "every") == 0 || condition_find(text, &condition))
        return;
    near_begin(&search, text);
    near_offer(&search, "every");
    for (unsigned i = 0; i < CONDITION_COUNT; i++) {
        names[i + 1] = condition_name((enum condition)i);
        near_offer(&search, names[i + 1]);
    }
    struct place at = value_of(node, "under")->at;
    const char *seen = shown(reader->diagnostics, text);
    const char *all = words_or(reader->diagnostics, names, CONDITION_COUNT + 1);
    if (near_best(&search))
        COMPLAIN(reader, TOPIC_WORDS, at, "there is no condition '%s'; did you mean %s?", seen,
                 near_best(&search));
    else
        COMPLAIN(reader, TOPIC_WORDS, at, "there is no condition '%s'; under takes %s.", seen, all);
}

/* fuse.protects-cable: one point, words with hyphens on both sides. */
static bool rule_name_is_good(const char *name)
{
    const char *point = strchr(name, '.');
    return point && !strchr(point + 1, '.') && name_is_good(name, "-.");
}

static void read_lets(struct reader *reader, const struct node *node, struct rule *out)
{
    const struct node_pair *pair = node_find(node, "let");
    if (!pair)
        return;
    struct rule_let *lets = ARENA_TAKE(reader->arena, pair->value->count + 1, struct rule_let);
    reader->no_memory |= !lets;
    for (size_t i = 0; lets && i < pair->value->count; i++) {
        const struct node_pair *let = &pair->value->pairs[i];
        if (!name_is_good(let->key, "_"))
            COMPLAIN(
                reader, TOPIC_WORDS, let->key_at,
                "'%s' is no name for a value; small letters, digits and single _ between them are.",
                shown(reader->diagnostics, let->key));
        if (let->value->type != NODE_SCALAR || let->value->empty)
            COMPLAIN(reader, TOPIC_WORDS, let->value->at, "%s needs a formula.",
                     shown(reader->diagnostics, let->key));
        lets[i].name = let->key;
        lets[i].formula =
            (struct rule_text){.text = keep(reader, let->value->text), .at = let->value->at};
    }
    out->lets = lets;
    out->let_count = pair->value->count;
}

static void read_sources(struct reader *reader, const struct record_rule *record,
                         const struct node *node, struct rule *out)
{
    const struct node *items = value_of(node, "sources");
    struct rule_source *sources =
        ARENA_TAKE(reader->arena, record->sources_count + 1, struct rule_source);
    reader->no_memory |= !sources;
    for (size_t i = 0; sources && i < record->sources_count && !reader_is_done(reader); i++) {
        sources[i].text = keep(reader, record->sources[i].text);
        sources[i].practice = read_practice(reader, items->items[i], record->sources[i].practice);
    }
    out->sources = sources;
    out->source_count = record->sources_count;
}

static void read_given(struct reader *reader, const struct node *node, struct rule_proof *out)
{
    const struct node_pair *pair = node_find(node, "given");
    size_t count = pair ? pair->value->count : 0;
    struct rule_given *given = ARENA_TAKE(reader->arena, count + 1, struct rule_given);
    reader->no_memory |= !given;
    for (size_t i = 0; given && i < count; i++) {
        const struct node_pair *one = &pair->value->pairs[i];
        given[i].name = one->key;
        given[i].value = node_flow_text(reader->arena, one->value);
        given[i].at = one->value->at;
        reader->no_memory |= !given[i].value;
    }
    out->given = given;
    out->given_count = count;
}

static const struct {
    const char *word;
    const char *needs; /* the key without which it cannot come about; NULL: none */
} outcomes[] = {
    {"holds", NULL},    {"error", "error_unless"}, {"caution", "caution_unless"},
    {"question", NULL}, {"reminder", "remind"},    {"not-asked", "when"},
};
#define EXPECT_COUNT (sizeof outcomes / sizeof *outcomes)

static void check_expect(struct reader *reader, const struct node *rule, const struct node *proof,
                         const char *expect)
{
    const char *words[EXPECT_COUNT];
    struct place at = value_of(proof, "expect")->at;
    for (size_t i = 0; i < EXPECT_COUNT; i++) {
        words[i] = outcomes[i].word;
        if (strcmp(words[i], expect) != 0)
            continue;
        if (outcomes[i].needs && !node_find(rule, outcomes[i].needs))
            COMPLAIN(reader, TOPIC_WORDS, at, "%s cannot come about: the rule has no %s.", expect,
                     outcomes[i].needs);
        return;
    }
    const char *all = words_or(reader->diagnostics, words, EXPECT_COUNT);
    COMPLAIN(reader, TOPIC_WORDS, at, "expect takes %s, not '%s'.", all,
             shown(reader->diagnostics, expect));
}

static void read_proofs(struct reader *reader, const struct record_rule *record,
                        const struct node *node, struct rule *out)
{
    const struct node *items = value_of(node, "proofs");
    struct rule_proof *proofs =
        ARENA_TAKE(reader->arena, record->proofs_count + 1, struct rule_proof);
    reader->no_memory |= !proofs;
    for (size_t i = 0; proofs && i < record->proofs_count && !reader_is_done(reader); i++) {
        const struct record_proof *from = &record->proofs[i];
        const struct node *item = items->items[i];
        proofs[i].at = item->at;
        proofs[i].expect = keep(reader, from->expect);
        proofs[i].limit = keep_yes(reader, item, "limit", from->limit);
        check_expect(reader, node, item, from->expect);
        read_given(reader, item, &proofs[i]);
    }
    out->proofs = proofs;
    out->proof_count = record->proofs_count;
}

/* A rule judges by a formula and says what is wrong, or only reminds. */
static void check_levels(struct reader *reader, const struct record_rule *record,
                         const struct node *node)
{
    bool judges = record->error_unless || record->caution_unless;
    if (!judges && !record->remind)
        COMPLAIN(reader, TOPIC_WORDS, node->at,
                 "a rule needs error_unless, caution_unless or remind.");
    if (judges && record->remind)
        COMPLAIN(reader, TOPIC_WORDS, value_of(node, "remind")->at,
                 "a rule that judges cannot remind as well; make it two rules.");
    if (judges && !record->says)
        COMPLAIN(reader, TOPIC_WORDS, node->at, "a rule needs the key says.");
    if (record->caution_says && !record->caution_unless)
        COMPLAIN(reader, TOPIC_WORDS, value_of(node, "caution_says")->at,
                 "caution_says is never said: the rule has no caution_unless.");
}

static void read_texts(struct reader *reader, const struct record_rule *record,
                       const struct node *node, struct rule *out)
{
    out->pairing = keep_text(reader, node, "pairing", record->pairing);
    out->under = keep_text(reader, node, "under", record->under);
    out->when = keep_text(reader, node, "when", record->when);
    out->error_unless = keep_text(reader, node, "error_unless", record->error_unless);
    out->caution_unless = keep_text(reader, node, "caution_unless", record->caution_unless);
    out->remind = keep_text(reader, node, "remind", record->remind);
    out->says = keep_text(reader, node, "says", record->says);
    out->caution_says = keep_text(reader, node, "caution_says", record->caution_says);
    out->mend = keep_text(reader, node, "mend", record->mend);
    out->because = keep(reader, record->because);
}

static void read_rule(struct reader *reader, const struct record_rule *record,
                      const struct node *node, struct rule *out)
{
    *out = (struct rule){.at = node->at};
    out->name = keep(reader, record->rule);
    if (!rule_name_is_good(record->rule))
        COMPLAIN(reader, TOPIC_WORDS, value_of(node, "rule")->at,
                 "'%s' is no name for a rule; family.words-with-hyphens is.",
                 shown(reader->diagnostics, record->rule));
    out->practice = read_practice(reader, node, record->practice);
    check_under(reader, node, record->under);
    check_levels(reader, record, node);
    read_texts(reader, record, node, out);
    read_lets(reader, node, out);
    read_sources(reader, record, node, out);
    read_proofs(reader, record, node, out);
}

void read_rules(struct reader *reader, const struct source_file *file)
{
    const struct node *list = value_of(file->root, "rules");
    for (size_t i = 0; i < file->records->rules_count && !reader_is_done(reader); i++) {
        if (!ARENA_GROW(reader->arena, &reader->rules)) {
            reader->no_memory = true;
            return;
        }
        struct rule *out = &reader->rules.at[reader->rules.count];
        read_rule(reader, &file->records->rules[i], list->items[i], out);
        if (!out->name)
            return;
        const struct rule *old = store_rule(reader->old, out->name);
        size_t was = reader->rules.count;
        if (old)
            already_there(reader, out->at, old->at, out->name);
        else if (!name_is_new(reader, reader->rule_names, out->name, reader->rules.count, &was))
            already_there(reader, out->at, reader->rules.at[was].at, out->name);
        reader->rules.count++;
    }
}
