/* part.c - rigtally part: looks into the catalogue. A formula is asked of a rig
 * made up of all entries of a kind, each one a part by itself, so that figures
 * that are assumed count as they would in a rig. */
#include <string.h>

#include "base/names.h"
#include "command/workshop.h"

struct search {
    const struct options *options;
    const struct workshop *workshop;
    struct arena *arena;
    struct report_style style;
    struct text text;
};

static size_t count_entries(const struct store *store, const struct kind *kind)
{
    size_t count = 0;
    for (size_t i = 0; i < store->entry_count; i++)
        count += strcmp(store->entries[i].kind, kind->name) == 0;
    return count;
}

static void list_kinds(struct search *search)
{
    const struct store *store = &search->workshop->store;
    for (size_t i = 0; i < store->kind_count; i++) {
        const struct kind *kind = &store->kinds[store->kind_order[i]];
        size_t entries = count_entries(store, kind);
        if (entries)
            report_kind_line(&search->text, &search->style, kind, entries);
    }
}

/* ---- a formula ---- */

/* A rig of every entry of the kind: parts e0, e1 ... in the order of the entries' names. */
static struct rig *make_rig(struct search *search, const struct kind *kind, size_t *count,
                            const struct entry **entries)
{
    const struct store *store = &search->workshop->store;
    struct diagnostics diagnostics = {.arena = search->arena};
    struct text bytes = {0};
    struct rig *rig = NULL;
    *count = 0;
    text_add(&bytes, "rigtally: 1\nname: catalogue\nparts:\n");
    for (size_t i = 0; i < store->entry_count; i++) {
        const struct entry *entry = &store->entries[store->entry_order[i]];
        if (strcmp(entry->kind, kind->name) != 0)
            continue;
        text_print(&bytes, "  e%zu: { use: \"%s\" }\n", *count, entry->name);
        entries[(*count)++] = entry;
    }
    enum outcome outcome =
        bytes.failed ? OUTCOME_NO_MEMORY
                     : rig_read_bytes(search->arena, store, search->workshop->defaults, "catalogue",
                                      bytes.bytes, bytes.length, &diagnostics, &rig);
    text_drop(&bytes);
    if (outcome == OUTCOME_NO_MEMORY)
        complain_memory();
    else if (!rig)
        complain("the catalogue has too many entries of this kind to search.");
    return rig;
}

/* Every attribute of the kind by its bare name, so that `max_head >= 5 m` will do. */
static bool name_attributes(struct search *search, const struct kind *kind,
                            struct formula_scope *scope)
{
    const char **names = ARENA_TAKE(search->arena, kind->attribute_count + 1, const char *);
    const struct formula **lets =
        ARENA_TAKE(search->arena, kind->attribute_count + 1, const struct formula *);
    size_t count = 0;
    for (size_t i = 0; names && lets && i < kind->attribute_count; i++) {
        struct diagnostics unused = {.arena = search->arena};
        struct formula_scope bare = *scope;
        const char *text =
            arena_print(search->arena, "%s.%s", kind->name, kind->attributes[i].name);
        if (!text || kind->attributes[i].solved != SOLVED_NO)
            continue;
        lets[count] =
            formula_compile(search->arena, text, (struct place){0}, &bare, FORMULA_ANY, &unused);
        names[count] = kind->attributes[i].name;
        count += lets[count] != NULL; /* points and texts are nothing to reckon with */
    }
    scope->let_names = names;
    scope->lets = lets;
    scope->let_count = count;
    return names && lets;
}

static const struct formula *compile(struct search *search, const struct kind *kind)
{
    const char *text = search->options->operands[1];
    struct diagnostics diagnostics = {.arena = search->arena};
    struct formula_role role = {kind->name, &kind, 1};
    struct formula_scope scope = {.store = &search->workshop->store,
                                  .roles = &role,
                                  .role_count = 1,
                                  .relations = relation_words};
    const struct formula *formula = NULL;
    if (name_attributes(search, kind, &scope))
        formula = formula_compile(search->arena, text, (struct place){"formula", 1, 1}, &scope,
                                  FORMULA_TRUTH, &diagnostics);
    if (!formula && (diagnostics.count == 0 || diagnostics.out_of_memory))
        complain_memory();
    else if (!formula)
        complain("column %u of the formula: %s", diagnostics.at[0].at.column,
                 diagnostics.at[0].message);
    return formula;
}

static bool search_kind(struct search *search, const struct kind *kind)
{
    size_t count = 0, unknown = 0;
    const struct entry **entries =
        ARENA_TAKE(search->arena, search->workshop->store.entry_count + 1, const struct entry *);
    const struct formula *formula = entries ? compile(search, kind) : NULL;
    struct rig *rig = formula ? make_rig(search, kind, &count, entries) : NULL;
    if (!rig)
        return false;
    struct formula_world world = rig_world(rig);
    for (size_t i = 0; i < count && i < rig->part_count; i++) {
        struct formula_result result =
            formula_evaluate(formula, &world, &i, CONDITION_BRIGHT_NOON, NULL);
        unknown += result.truth == TRUTH_UNKNOWN;
        if (result.truth == TRUTH_YES)
            report_entry_line(&search->text, &search->style, entries[i]);
    }
    if (unknown)
        text_print(&search->text, "%zu more can't be judged: they lack a figure of the formula.\n",
                   unknown);
    return true;
}

/* ---- what is asked ---- */

static bool list_kind(struct search *search, const struct kind *kind)
{
    const struct store *store = &search->workshop->store;
    if (search->options->operand_count > 1)
        return search_kind(search, kind);
    for (size_t i = 0; i < store->entry_count; i++) {
        const struct entry *entry = &store->entries[store->entry_order[i]];
        if (strcmp(entry->kind, kind->name) == 0)
            report_entry_line(&search->text, &search->style, entry);
    }
    return true;
}

static bool unknown_name(const struct store *store, const char *name)
{
    struct near_search near;
    near_begin(&near, name);
    for (size_t i = 0; i < store->kind_count; i++)
        near_offer(&near, store->kinds[i].name);
    for (size_t i = 0; i < store->entry_count; i++)
        near_offer(&near, store->entries[i].name);
    complain_unknown("kind of part and no catalogue entry", name, near_best(&near),
                     "`rigtally part` lists the kinds.");
    return false;
}

static bool find(struct search *search)
{
    const struct store *store = &search->workshop->store;
    if (search->options->operand_count == 0) {
        list_kinds(search);
        return true;
    }
    const char *name = search->options->operands[0];
    const struct kind *kind = store_kind(store, name);
    const struct entry *entry = store_entry(store, name);
    if (kind)
        return list_kind(search, kind);
    if (!entry)
        return unknown_name(store, name);
    if (search->options->operand_count > 1) {
        complain("'%s' is one entry; a formula is asked of a kind.", name);
        return false;
    }
    report_entry(&search->text, &search->style, store, entry);
    return true;
}

enum ending command_part(const struct options *options)
{
    struct workshop workshop;
    struct arena *arena = workshop_arena(options, &workshop);
    if (!arena)
        return ENDING_UNABLE;
    struct search search = {
        .options = options, .workshop = &workshop, .arena = arena, .style = options_style(options)};
    bool well = find(&search);
    bool found = search.text.length > 0;
    well = well && deliver(&search.text);
    text_drop(&search.text);
    arena_drop(arena);
    return !well ? ENDING_UNABLE : found ? ENDING_CLEAN : ENDING_FINDINGS;
}
