/* settings.c - `rigtally.yaml`: what stands once for all rigs of a repository. */
#include <string.h>

#include "rig/read.h"

static void complain(struct diagnostics *diagnostics, const char *topic, struct place at,
                     const char *words)
{
    diagnostics_add(diagnostics, LEVEL_ERROR, topic, at, "%s", words);
}

static void check_keys(struct diagnostics *diagnostics, const struct node *root)
{
    static const char *const keys[] = {"rigtally", "practice", "site", "rules", "catalogue"};
    for (size_t i = 0; i < root->count; i++) {
        struct near_search near;
        bool known = false;
        near_begin(&near, root->pairs[i].key);
        for (size_t k = 0; k < sizeof keys / sizeof *keys; k++) {
            known = known || strcmp(keys[k], root->pairs[i].key) == 0;
            near_offer(&near, keys[k]);
        }
        const char *best = near_best(&near);
        if (!known)
            diagnostics_add(diagnostics, LEVEL_ERROR, TOPIC_WORDS, root->pairs[i].key_at,
                            "%s has no '%s'%s%s%s", RIG_SETTINGS_FILE, root->pairs[i].key,
                            best ? "; did you mean "
                                 : "; it has practice, site, rules and catalogue.",
                            best ? best : "", best ? "?" : "");
    }
}

static const struct node_pair *find(const struct node *root, const char *key)
{
    const struct node_pair *pair = node_find(root, key);
    return pair && !(pair->value->type == NODE_SCALAR && pair->value->empty) ? pair : NULL;
}

static void check_version(struct diagnostics *diagnostics, const struct node *root)
{
    const struct node_pair *pair = find(root, "rigtally");
    if (pair && (pair->value->type != NODE_SCALAR || strcmp(pair->value->text, "1") != 0))
        complain(diagnostics, TOPIC_READS, pair->value->at,
                 "this tool reads format version 1: write `rigtally: 1`.");
}

static const struct node_pair *find_practice(struct diagnostics *diagnostics,
                                             const struct node *root)
{
    enum practice practice;
    const struct node_pair *pair = find(root, "practice");
    if (!pair || pair->value->damaged)
        return NULL;
    if (pair->value->type == NODE_SCALAR && practice_find(pair->value->text, &practice))
        return pair;
    complain(diagnostics, TOPIC_WORDS, pair->value->at,
             "practice is one word: iec or north-america.");
    return NULL;
}

static const struct node *find_site(struct diagnostics *diagnostics, const struct node *root)
{
    const struct node_pair *pair = find(root, "site");
    if (!pair || pair->value->damaged)
        return NULL;
    if (pair->value->type == NODE_MAPPING)
        return pair->value;
    complain(diagnostics, TOPIC_READS, pair->value->at,
             "site should be a list of `name: value` lines.");
    return NULL;
}

/* A list of folders; one may stand without brackets. */
static bool find_folders(struct arena *arena, struct diagnostics *diagnostics,
                         const struct node *root, const char *key, struct rig_folders *out)
{
    const struct node_pair *pair = find(root, key);
    *out = (struct rig_folders){0};
    if (!pair || pair->value->damaged)
        return true;
    struct node *single = pair->value;
    bool list = pair->value->type == NODE_SEQUENCE;
    size_t count = list ? pair->value->count : 1;
    struct node *const *items = list ? pair->value->items : &single;
    const struct node **folders = ARENA_TAKE(arena, count + 1, const struct node *);
    if (!folders)
        return false;
    for (size_t i = 0; i < count; i++) {
        if (items[i]->type == NODE_SCALAR && !items[i]->empty && items[i]->text[0])
            folders[out->count++] = items[i];
        else if (!items[i]->damaged)
            diagnostics_add(diagnostics, LEVEL_ERROR, TOPIC_READS, items[i]->at,
                            "%s takes a list of folders below this file's own.", key);
    }
    out->at = folders;
    return true;
}

static enum outcome read_tree(struct arena *arena, struct diagnostics *diagnostics,
                              const struct node *root, struct rig_settings *out)
{
    if (root->type != NODE_MAPPING) {
        complain(diagnostics, TOPIC_READS, root->at,
                 "this file is a list of `name: value` lines: practice, site, rules, catalogue.");
        return OUTCOME_REFUSED;
    }
    check_keys(diagnostics, root);
    check_version(diagnostics, root);
    out->practice = find_practice(diagnostics, root);
    out->site = find_site(diagnostics, root);
    if (!find_folders(arena, diagnostics, root, "rules", &out->rules) ||
        !find_folders(arena, diagnostics, root, "catalogue", &out->catalogue))
        return OUTCOME_NO_MEMORY;
    return OUTCOME_OK;
}

enum outcome rig_settings_read(struct arena *arena, const char *path,
                               struct diagnostics *diagnostics, struct rig_settings *out)
{
    struct node *root = NULL;
    *out = (struct rig_settings){.file = path};
    enum outcome outcome =
        document_read_file(arena, path, &document_limits_default, diagnostics, &root);
    if (root && outcome != OUTCOME_NO_MEMORY)
        outcome = read_tree(arena, diagnostics, root, out);
    return diagnostics->out_of_memory ? OUTCOME_NO_MEMORY : outcome;
}
