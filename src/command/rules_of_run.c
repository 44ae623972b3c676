/* rules_of_run.c - all rules by which the rigs of one run are judged, once each. */
#include <stdlib.h>
#include <string.h>

#include "command/run.h"

static int by_name(const void *a, const void *b)
{
    return strcmp((*(const struct rule *const *)a)->name, (*(const struct rule *const *)b)->name);
}

/* Leaves out all but one of each name; the list is sorted. */
static size_t only_once(const struct rule **rules, size_t count)
{
    size_t kept = 0;
    for (size_t i = 0; i < count; i++)
        if (kept == 0 || strcmp(rules[kept - 1]->name, rules[i]->name) != 0)
            rules[kept++] = rules[i];
    return kept;
}

bool rules_of_run(struct arena *arena, const struct workshop *const *workshops, size_t count,
                  struct report_style *style)
{
    size_t total = 0, filled = 0;
    for (size_t i = 0; i < count; i++)
        total += workshops[i]->store.rule_count;
    const struct rule **rules = ARENA_TAKE(arena, total + 1, const struct rule *);
    if (!rules)
        return false;
    for (size_t i = 0; i < count; i++) {
        const struct store *store = &workshops[i]->store;
        for (size_t k = 0; k < store->rule_count; k++)
            rules[filled++] = &store->rules[store->rule_order[k]];
    }
    if (count > 1) /* the rules of one store come in order */
        qsort(rules, total, sizeof *rules, by_name);
    style->rules = rules;
    style->rule_count = only_once(rules, total);
    return true;
}
