/* needs.c - what a rig is for, and what its owner accepts. */
#include <string.h>

#include "rig/read.h"

#define NEEDS_MAX 200 /* a need may go over all parts, so their number is bounded */

/* Every part of the rig may be named in a need. */
static bool all_roles(struct reading *reading, struct formula_role **roles, size_t **parts)
{
    const struct rig *rig = reading->rig;
    *roles = ARENA_TAKE(reading->arena, rig->part_count + 1, struct formula_role);
    *parts = ARENA_TAKE(reading->arena, rig->part_count + 1, size_t);
    if (!*roles || !*parts)
        return false;
    for (size_t i = 0; i < rig->part_count; i++) {
        (*roles)[i] = (struct formula_role){rig->parts[i].id, &rig->parts[i].kind, 1};
        (*parts)[i] = i;
    }
    return true;
}

bool read_needs(struct reading *reading, const struct node *list)
{
    struct rig *rig = reading->rig;
    if (list->type != NODE_SEQUENCE) {
        diagnostics_add(
            reading->diagnostics, LEVEL_ERROR, TOPIC_READS, list->at,
            "needs should be a list of formulas: `- pump.flow >= 60 L/h at bright-noon`.");
        return true;
    }
    struct formula_role *roles;
    size_t *parts;
    struct need *needs = ARENA_TAKE(reading->arena, list->count + 1, struct need);
    if (!needs || !all_roles(reading, &roles, &parts))
        return false;
    const struct formula_scope scope = {.store = rig->store,
                                        .roles = roles,
                                        .role_count = rig->part_count,
                                        .no_subject = true,
                                        .relations = relation_words};
    for (size_t i = 0; i < list->count; i++) {
        const struct node *item = list->items[i];
        if (i == NEEDS_MAX) {
            diagnostics_add(reading->diagnostics, LEVEL_ERROR, TOPIC_READS, item->at,
                            "a rig may state %d needs; the rest is not read.", NEEDS_MAX);
            break;
        }
        if (item->type != NODE_SCALAR || item->empty) {
            diagnostics_add(reading->diagnostics, LEVEL_ERROR, TOPIC_READS, item->at,
                            "a need is a formula, such as `pump.flow >= 60 L/h at bright-noon`.");
            continue;
        }
        struct need *need = &needs[rig->need_count++];
        *need = (struct need){
            .text = item->text, .at = item->at, .parts = parts, .part_count = rig->part_count};
        need->formula = formula_compile(reading->arena, item->text, item->at, &scope, FORMULA_TRUTH,
                                        reading->diagnostics);
    }
    rig->needs = needs;
    return true;
}

static const char *accept_text(struct reading *reading, const struct node *item, const char *key,
                               bool wanted)
{
    const struct node_pair *pair = node_find(item, key);
    if (pair && pair->value->type == NODE_SCALAR && !pair->value->empty)
        return pair->value->text;
    if (pair || wanted)
        diagnostics_add(reading->diagnostics, LEVEL_ERROR, TOPIC_READS,
                        pair ? pair->value->at : item->at,
                        "an accepted finding has `rule:`, `on:` (a part), `because:` and perhaps "
                        "`until:`; its `%s` is missing.",
                        key);
    return NULL;
}

static bool is_date(const char *text)
{
    static const char shape[] = "dddd-dd-dd";
    size_t i = 0;
    for (; shape[i] && text[i]; i++)
        if (shape[i] == 'd' ? text[i] < '0' || text[i] > '9' : text[i] != shape[i])
            return false;
    return !shape[i] && !text[i];
}

static void check_accept_keys(struct reading *reading, const struct node *item)
{
    static const char *const keys[] = {"rule", "on", "because", "until"};
    for (size_t i = 0; i < item->count; i++) {
        bool known = false;
        struct near_search near;
        near_begin(&near, item->pairs[i].key);
        for (size_t k = 0; k < 4; k++) {
            known = known || strcmp(keys[k], item->pairs[i].key) == 0;
            near_offer(&near, keys[k]);
        }
        const char *best = near_best(&near);
        if (!known)
            diagnostics_add(reading->diagnostics, LEVEL_ERROR, TOPIC_WORDS, item->pairs[i].key_at,
                            "an accepted finding has no '%s'%s%s%s", item->pairs[i].key,
                            best ? "; did you mean " : ".", best ? best : "", best ? "?" : "");
    }
}

static void read_accept(struct reading *reading, const struct node *item, struct accept *out)
{
    check_accept_keys(reading, item);
    *out = (struct accept){.at = item->at,
                           .rule = accept_text(reading, item, "rule", true),
                           .on = accept_text(reading, item, "on", true),
                           .because = accept_text(reading, item, "because", true),
                           .until = accept_text(reading, item, "until", false)};
    if (out->until && !is_date(out->until)) {
        diagnostics_add(reading->diagnostics, LEVEL_ERROR, TOPIC_READS, item->at,
                        "until is a date such as 2027-05-01, not '%s'.", out->until);
        out->until = NULL;
    }
    if (out->on && rig_find_part(reading->rig, out->on) == NO_PART)
        diagnostics_add(reading->diagnostics, LEVEL_ERROR, TOPIC_WORDS, item->at,
                        "there is no part '%s' on which to accept a finding.", out->on);
}

bool read_accepts(struct reading *reading, const struct node *list)
{
    struct rig *rig = reading->rig;
    if (list->type != NODE_SEQUENCE) {
        diagnostics_add(reading->diagnostics, LEVEL_ERROR, TOPIC_READS, list->at,
                        "accept should be a list: `- { rule: …, on: …, because: … }`.");
        return true;
    }
    struct accept *accepts = ARENA_TAKE(reading->arena, list->count + 1, struct accept);
    if (!accepts)
        return false;
    for (size_t i = 0; i < list->count; i++) {
        if (list->items[i]->type != NODE_MAPPING) {
            diagnostics_add(reading->diagnostics, LEVEL_ERROR, TOPIC_READS, list->items[i]->at,
                            "an accepted finding is written { rule: …, on: …, because: … }.");
            continue;
        }
        read_accept(reading, list->items[i], &accepts[rig->accept_count]);
        rig->accept_count += accepts[rig->accept_count].rule && accepts[rig->accept_count].on &&
                             accepts[rig->accept_count].because;
    }
    rig->accepts = accepts;
    return true;
}
