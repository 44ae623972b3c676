/* rule.c - rigtally rule: what is promised. */
#include <string.h>

#include "command/workshop.h"

/* All rules, or those of a family, a line each, in byte order; the number of them. */
static size_t list_rules(struct text *out, const struct report_style *style,
                         const struct store *store, const char *family)
{
    size_t count = 0, length = family ? strlen(family) : 0;
    for (size_t i = 0; i < store->rule_count; i++) {
        const struct rule *rule = &store->rules[store->rule_order[i]];
        if (family && (strncmp(rule->name, family, length) != 0 || rule->name[length] != '.'))
            continue;
        report_rule_line(out, style, rule);
        count++;
    }
    return count;
}

static bool print_rules(const struct options *options, struct arena *arena,
                        const struct store *store, struct text *out)
{
    struct report_style style = options_style(options);
    const char *name = options->operand_count ? options->operands[0] : NULL;
    const struct rule *rule = name ? store_rule(store, name) : NULL;
    if (rule) {
        report_rule(out, &style, rule);
        return true;
    }
    if (list_rules(out, &style, store, name) || !name)
        return true;
    complain_no_rule(arena, store, name);
    return false;
}

enum ending command_rule(const struct options *options)
{
    struct workshop workshop;
    struct text text = {0};
    struct arena *arena = workshop_arena(options, &workshop);
    if (!arena)
        return ENDING_UNABLE;
    bool well = print_rules(options, arena, &workshop.store, &text) && deliver(&text);
    text_drop(&text);
    arena_drop(arena);
    return well ? ENDING_CLEAN : ENDING_UNABLE;
}
