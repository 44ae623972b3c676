/* shape.c - the shape check, a table of keys made from the rows of records.h. */
#include "store/shape.h"

#include <string.h>

#include "base/names.h"
#include "store/faults.h"
#include "store/records.h"

enum shape { SHAPE_TEXT, SHAPE_TEXTS, SHAPE_MAP, SHAPE_LIST };

struct shape_record;
struct shape_key {
    const char *key;
    enum shape shape;
    bool needed;
    size_t most;                       /* children */
    const struct shape_record *record; /* of a LIST */
};
struct shape_record {
    const char *what;
    const struct shape_key *keys;
    size_t count;
};

#define NEEDED true
#define OPTIONAL false
#define ROW_TEXT(key, need) {#key, SHAPE_TEXT, need, MANY, NULL},
#define ROW_TEXTS(key, need, most) {#key, SHAPE_TEXTS, need, most, NULL},
#define ROW_MAP(key, need, most) {#key, SHAPE_MAP, need, most, NULL},
#define ROW_LIST(key, need, most, record) {#key, SHAPE_LIST, need, most, &record##_record},
#define ROWS(record, KEYS, what)                                                                   \
    static const struct shape_key record##_keys[] = {                                              \
        KEYS(ROW_TEXT, ROW_TEXTS, ROW_MAP, ROW_LIST)};                                             \
    static const struct shape_record record##_record = {                                           \
        what, record##_keys, sizeof record##_keys / sizeof *record##_keys};
RECORDS(ROWS)

struct check {
    struct arena *arena;
    struct faults faults;
};

#define COMPLAIN(check, at, ...) FAULT(&(check)->faults, TOPIC_WORDS, (at), __VA_ARGS__)

const char *words_or(struct diagnostics *diagnostics, const char *const *words, size_t count)
{
    size_t length = 1;
    for (size_t i = 0; i < count; i++)
        length += strlen(words[i]) + strlen(" or ");
    char *out = ARENA_TAKE(diagnostics->arena, length, char);
    if (!out) {
        diagnostics->out_of_memory = true;
        return "";
    }
    for (size_t i = 0; i < count; i++) {
        if (i > 0)
            strcat(out, i + 1 == count ? " or " : ", ");
        strcat(out, words[i]);
    }
    return out;
}

#define MOST_SHOWN 60 /* bytes of a wrong text that a message repeats */

const char *shown(struct diagnostics *diagnostics, const char *text)
{
    size_t length = strlen(text);
    if (length <= MOST_SHOWN)
        return text;
    length = MOST_SHOWN;
    while (length > 0 && ((unsigned char)text[length] & 0xC0) == 0x80)
        length--;
    const char *out = arena_print(diagnostics->arena, "%.*s...", (int)length, text);
    diagnostics->out_of_memory |= !out;
    return out ? out : "";
}

static const struct shape_key *find_key(const struct shape_record *record, const char *key)
{
    for (size_t i = 0; i < record->count; i++)
        if (strcmp(record->keys[i].key, key) == 0)
            return &record->keys[i];
    return NULL;
}

bool cut_by_comma(const struct node_pair *pair)
{
    const char *key = pair->key;
    return key[0] >= '0' && key[0] <= '9' && pair->value->type == NODE_SCALAR && pair->value->empty;
}

static void unknown_key(struct check *check, const struct shape_record *record,
                        const struct node_pair *pair)
{
    struct near_search search;
    const char *words[32];
    size_t count = 0;
    near_begin(&search, pair->key);
    for (size_t i = 0; i < record->count; i++) {
        near_offer(&search, record->keys[i].key);
        if (count < sizeof words / sizeof *words)
            words[count++] = record->keys[i].key;
    }
    const char *key = shown(check->faults.diagnostics, pair->key);
    if (cut_by_comma(pair)) {
        COMPLAIN(check, pair->key_at, CUT_BY_COMMA, key);
        return;
    }
    if (near_best(&search)) {
        COMPLAIN(check, pair->key_at, "%s has no '%s'; did you mean %s?", record->what, key,
                 near_best(&search));
        return;
    }
    const char *list = words_or(check->faults.diagnostics, words, count);
    COMPLAIN(check, pair->key_at, "%s has no '%s'; it may have %s.", record->what, key, list);
}

static const char *node_word(const struct node *node)
{
    switch (node->type) {
    case NODE_MAPPING:
        return "a mapping";
    case NODE_SEQUENCE:
        return "a list";
    default:
        return node->empty ? "nothing" : "a text";
    }
}

static void check_text(struct check *check, const char *key, const struct node *node)
{
    if (node->type == NODE_SCALAR && !node->empty)
        return;
    COMPLAIN(check, node->at, "%s takes a text, but there is %s.", key, node_word(node));
}

static void check_texts(struct check *check, const char *key, const struct node *node)
{
    if (node->type != NODE_SEQUENCE) {
        COMPLAIN(check, node->at, "%s takes a list, as [one, two], but there is %s.", key,
                 node_word(node));
        return;
    }
    for (size_t i = 0; i < node->count && !faults_full(&check->faults); i++)
        check_text(check, key, node->items[i]);
}

static void check_map(struct check *check, const char *key, const struct node *node)
{
    if (node->type != NODE_MAPPING)
        COMPLAIN(check, node->at,
                 "%s takes names with values, as { name: value }, but there is %s.", key,
                 node_word(node));
}

static void check_record(struct check *check, const struct shape_record *record,
                         const struct node *node);

static void check_list(struct check *check, const struct shape_key *key, const struct node *node)
{
    if (node->type != NODE_SEQUENCE) {
        COMPLAIN(check, node->at, "%s takes a list, each item after a dash, but there is %s.",
                 key->key, node_word(node));
        return;
    }
    for (size_t i = 0; i < node->count && !faults_full(&check->faults); i++)
        check_record(check, key->record, node->items[i]);
}

static void check_value(struct check *check, const struct shape_key *key, const struct node *node)
{
    if (node->type == NODE_SCALAR && node->damaged) /* told already */
        return;
    if (node->count > key->most) {
        COMPLAIN(check, node->at, "%s has %zu items; it may have %zu.", key->key, node->count,
                 key->most);
        return;
    }
    switch (key->shape) {
    case SHAPE_TEXT:
        check_text(check, key->key, node);
        break;
    case SHAPE_TEXTS:
        check_texts(check, key->key, node);
        break;
    case SHAPE_MAP:
        check_map(check, key->key, node);
        break;
    case SHAPE_LIST:
        check_list(check, key, node);
        break;
    }
}

/* Goes no deeper than the tables nest. */
static void check_record(struct check *check, const struct shape_record *record,
                         const struct node *node)
{
    if (node->type != NODE_MAPPING) {
        COMPLAIN(check, node->at, "%s is a mapping of keys to values, but there is %s.",
                 record->what, node_word(node));
        return;
    }
    for (size_t i = 0; i < node->count && !faults_full(&check->faults); i++) {
        const struct shape_key *key = find_key(record, node->pairs[i].key);
        if (key)
            check_value(check, key, node->pairs[i].value);
        else
            unknown_key(check, record, &node->pairs[i]);
    }
    for (size_t i = 0; i < record->count && !node->damaged; i++)
        if (record->keys[i].needed && !node_find(node, record->keys[i].key))
            COMPLAIN(check, node->at, "%s needs the key %s.", record->what, record->keys[i].key);
}

bool shape_check(struct arena *arena, const struct node *root, struct diagnostics *diagnostics)
{
    struct check check = {arena, {.diagnostics = diagnostics, .most = MOST_FAULTS}};
    check_record(&check, &file_record, root);
    return check.faults.count == 0;
}
