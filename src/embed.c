/* embed.c - a program of the build alone: reads folders of kinds, catalogue and
 * rules as rigtally itself would, and writes them as const tables in C. What is
 * wrong in them stops the build with file, line and column.
 * Rig files among the folders become the starters of `rigtally new`, as they are.
 *   embed OUT.c FOLDER|STARTER.rig.yaml... */
#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/text.h"
#include "judge/judge.h"
#include "rig/rig.h"
#include "store/store.h"

#define STARTER_ENDS ".rig.yaml"

/* What reads the data here has no index of units yet. */
const short unit_slots[] = {-1};
const size_t unit_slot_count = 0;

/* A C string. Octal escapes end after three digits, whatever follows; `?` is escaped for trigraphs.
 */
static void write_string(struct text *out, const char *string)
{
    if (!string) {
        text_add(out, "NULL");
        return;
    }
    text_add(out, "\"");
    for (; *string; string++) {
        unsigned char byte = (unsigned char)*string;
        if (byte == '"' || byte == '\\' || byte == '?')
            text_print(out, "\\%c", byte);
        else if (byte < 0x20 || byte >= 0x7f)
            text_print(out, "\\%03o", byte);
        else
            text_add_bytes(out, string, 1);
    }
    text_add(out, "\"");
}

/* `.member = "string", `, left out when there is none. */
static void write_member(struct text *out, const char *member, const char *string)
{
    if (!string)
        return;
    text_print(out, ".%s = ", member);
    write_string(out, string);
    text_add(out, ", ");
}

static void write_number(struct text *out, const char *member, size_t number)
{
    if (number)
        text_print(out, ".%s = %zu, ", member, number);
}

static void write_limit(struct text *out, const char *member, double limit)
{
    if (isinf(limit))
        text_print(out, ".%s = %sINFINITY, ", member, limit < 0.0 ? "-" : "");
    else
        text_print(out, ".%s = %.17g, ", member, limit);
}

/* `static const char *const NAME_A_B[] = {...};`, or nothing when there are no strings. */
static void write_strings(struct text *out, const char *name, size_t a, size_t b,
                          const char *const *strings, size_t count)
{
    if (count == 0)
        return;
    text_print(out, "static const char *const %s_%zu_%zu[] = {", name, a, b);
    for (size_t i = 0; i < count; i++) {
        text_add(out, i > 0 ? ", " : "");
        write_string(out, strings[i]);
    }
    text_add(out, "};\n");
}

/* `.member = NAME_A_B, .counter = COUNT, ` for an array that was written before. */
static void write_array(struct text *out, const char *member, const char *counter, const char *name,
                        size_t a, size_t b, size_t count)
{
    if (count > 0)
        text_print(out, ".%s = %s_%zu_%zu, .%s = %zu, ", member, name, a, b, counter, count);
}

static void write_dimension(struct text *out, const char *member, struct dimension dimension)
{
    text_print(out, ".%s = {.exponent = {", member);
    for (size_t i = 0; i < BASE_COUNT; i++)
        text_print(out, "%s%d", i > 0 ? ", " : "", dimension.exponent[i]);
    text_print(out, "}, .absolute = %s}, ", dimension.absolute ? "true" : "false");
}

static void write_attribute(struct text *out, const struct attribute *attribute, size_t kind,
                            size_t index)
{
    text_add(out, "    {");
    write_member(out, "name", attribute->name);
    write_number(out, "type", attribute->type);
    write_dimension(out, "dimension", attribute->dimension);
    write_member(out, "unit", attribute->unit);
    write_member(out, "customary", attribute->customary);
    write_member(out, "also_unit", attribute->also_unit);
    write_member(out, "also_divided_by", attribute->also_divided_by);
    write_array(out, "words", "word_count", "words", kind, index, attribute->word_count);
    write_member(out, "about", attribute->about);
    write_member(out, "ask", attribute->ask);
    write_member(out, "assume", attribute->assume);
    write_member(out, "because", attribute->because);
    write_member(out, "minimum", attribute->minimum);
    write_member(out, "maximum", attribute->maximum);
    write_limit(out, "least", attribute->least);
    write_limit(out, "most", attribute->most);
    write_number(out, "difference", attribute->difference);
    write_member(out, "may_be", attribute->may_be);
    if (attribute->may_be)
        text_print(out, ".may_low = %.17g, .may_high = %.17g, ", attribute->may_low,
                   attribute->may_high);
    write_number(out, "may_share", attribute->may_share);
    write_number(out, "weaker_high", attribute->weaker_high);
    write_member(out, "doubt", attribute->doubt);
    write_number(out, "solved", attribute->solved);
    write_member(out, "of", attribute->of);
    if (attribute->of)
        write_dimension(out, "of_dimension", attribute->of_dimension);
    text_add(out, "},\n");
}

static void write_attributes(struct text *out, const struct attribute *attributes, size_t count,
                             size_t kind)
{
    if (count == 0)
        return;
    for (size_t i = 0; i < count; i++)
        write_strings(out, "words", kind, i, attributes[i].words, attributes[i].word_count);
    text_print(out, "static const struct attribute attributes_%zu_0[] = {\n", kind);
    for (size_t i = 0; i < count; i++)
        write_attribute(out, &attributes[i], kind, i);
    text_add(out, "};\n");
}

static void write_shorts(struct text *out, const short *numbers, size_t count)
{
    for (size_t i = 0; i < count; i++)
        text_print(out, "%s%d", i ? ", " : "", numbers[i]);
    text_add(out, "};\n");
}

/* Nothing of an empty one. */
static void write_places(struct text *out, const char *name, size_t kind, const short *places,
                         size_t count)
{
    if (count == 0)
        return;
    text_print(out, "static const short %s_%zu[] = {", name, kind);
    write_shorts(out, places, count);
}

static void write_kinds(struct text *out, const struct store *store)
{
    for (size_t i = 0; i < store->kind_count; i++) {
        const struct kind *kind = &store->kinds[i];
        write_attributes(out, kind->attributes, kind->attribute_count, i);
        write_strings(out, "groups", i, 0, kind->groups, kind->group_count);
        write_strings(out, "ports", i, 0, kind->ports, kind->port_count);
        write_places(out, "slots", i, kind->slots, kind->slot_count);
        write_places(out, "solved", i, kind->solved, kind->solved_count);
        write_places(out, "doubtful", i, kind->doubtful, kind->doubtful_count);
    }
    text_add(out, "static const struct kind kinds[] = {\n");
    for (size_t i = 0; i < store->kind_count; i++) {
        const struct kind *kind = &store->kinds[i];
        text_add(out, "    {");
        write_member(out, "name", kind->name);
        write_member(out, "about", kind->about);
        write_array(out, "groups", "group_count", "groups", i, 0, kind->group_count);
        write_array(out, "ports", "port_count", "ports", i, 0, kind->port_count);
        write_array(out, "attributes", "attribute_count", "attributes", i, 0,
                    kind->attribute_count);
        text_print(out, ".slots = slots_%zu, .slot_count = %zu, ", i, kind->slot_count);
        if (kind->solved_count)
            text_print(out, ".solved = solved_%zu, .solved_count = %zu, .number_count = %zu, ", i,
                       kind->solved_count, kind->number_count);
        if (kind->doubtful_count)
            text_print(out, ".doubtful = doubtful_%zu, .doubtful_count = %zu", i,
                       kind->doubtful_count);
        text_add(out, "},\n");
    }
    text_add(out, "    {.name = NULL},\n};\n\n");
}

static void write_entries(struct text *out, const struct store *store)
{
    for (size_t i = 0; i < store->entry_count; i++) {
        const struct entry *entry = &store->entries[i];
        if (entry->value_count == 0)
            continue;
        text_print(out, "static const struct entry_value values_%zu_0[] = {\n", i);
        for (size_t j = 0; j < entry->value_count; j++) {
            text_add(out, "    {");
            write_member(out, "attribute", entry->values[j].attribute);
            write_member(out, "text", entry->values[j].text);
            text_add(out, "},\n");
        }
        text_add(out, "};\n");
    }
    text_add(out, "static const struct entry entries[] = {\n");
    for (size_t i = 0; i < store->entry_count; i++) {
        const struct entry *entry = &store->entries[i];
        text_add(out, "    {");
        write_member(out, "name", entry->name);
        write_member(out, "kind", entry->kind);
        write_member(out, "about", entry->about);
        write_array(out, "values", "value_count", "values", i, 0, entry->value_count);
        text_add(out, "},\n");
    }
    text_add(out, "    {.name = NULL},\n};\n\n");
}

static void write_rule_text(struct text *out, const char *member, struct rule_text text)
{
    if (!text.text)
        return;
    text_print(out, ".%s = {", member);
    write_member(out, "text", text.text);
    text_add(out, "}, ");
}

static void write_lets(struct text *out, const struct rule *rule, size_t index)
{
    if (rule->let_count == 0)
        return;
    text_print(out, "static const struct rule_let lets_%zu_0[] = {\n", index);
    for (size_t i = 0; i < rule->let_count; i++) {
        text_add(out, "    {");
        write_member(out, "name", rule->lets[i].name);
        write_rule_text(out, "formula", rule->lets[i].formula);
        text_add(out, "},\n");
    }
    text_add(out, "};\n");
}

static void write_sources(struct text *out, const struct rule *rule, size_t index)
{
    if (rule->source_count == 0)
        return;
    text_print(out, "static const struct rule_source sources_%zu_0[] = {\n", index);
    for (size_t i = 0; i < rule->source_count; i++) {
        text_add(out, "    {");
        write_member(out, "text", rule->sources[i].text);
        write_number(out, "practice", rule->sources[i].practice);
        text_add(out, "},\n");
    }
    text_add(out, "};\n");
}

static void write_given(struct text *out, const struct rule_proof *proof, size_t rule, size_t index)
{
    if (proof->given_count == 0)
        return;
    text_print(out, "static const struct rule_given given_%zu_%zu[] = {\n", rule, index);
    for (size_t i = 0; i < proof->given_count; i++) {
        text_add(out, "    {");
        write_member(out, "name", proof->given[i].name);
        write_member(out, "value", proof->given[i].value);
        text_add(out, "},\n");
    }
    text_add(out, "};\n");
}

static void write_proofs(struct text *out, const struct rule *rule, size_t index)
{
    if (rule->proof_count == 0)
        return;
    for (size_t i = 0; i < rule->proof_count; i++)
        write_given(out, &rule->proofs[i], index, i);
    text_print(out, "static const struct rule_proof proofs_%zu_0[] = {\n", index);
    for (size_t i = 0; i < rule->proof_count; i++) {
        text_add(out, "    {");
        write_array(out, "given", "given_count", "given", index, i, rule->proofs[i].given_count);
        write_member(out, "expect", rule->proofs[i].expect);
        write_number(out, "limit", rule->proofs[i].limit);
        text_add(out, "},\n");
    }
    text_add(out, "};\n");
}

static void write_rule(struct text *out, const struct rule *rule, size_t index)
{
    text_add(out, "    {");
    write_member(out, "name", rule->name);
    write_rule_text(out, "pairing", rule->pairing);
    write_rule_text(out, "under", rule->under);
    write_rule_text(out, "when", rule->when);
    write_rule_text(out, "error_unless", rule->error_unless);
    write_rule_text(out, "caution_unless", rule->caution_unless);
    write_rule_text(out, "remind", rule->remind);
    write_rule_text(out, "says", rule->says);
    write_rule_text(out, "caution_says", rule->caution_says);
    write_rule_text(out, "mend", rule->mend);
    write_member(out, "because", rule->because);
    write_number(out, "practice", rule->practice);
    write_array(out, "lets", "let_count", "lets", index, 0, rule->let_count);
    write_array(out, "sources", "source_count", "sources", index, 0, rule->source_count);
    write_array(out, "proofs", "proof_count", "proofs", index, 0, rule->proof_count);
    text_add(out, "},\n");
}

static void write_rules(struct text *out, const struct store *store)
{
    for (size_t i = 0; i < store->rule_count; i++) {
        write_lets(out, &store->rules[i], i);
        write_sources(out, &store->rules[i], i);
        write_proofs(out, &store->rules[i], i);
    }
    text_add(out, "static const struct rule rules[] = {\n");
    for (size_t i = 0; i < store->rule_count; i++)
        write_rule(out, &store->rules[i], i);
    text_add(out, "    {.name = NULL},\n};\n\n");
}

static void write_order(struct text *out, const char *name, const unsigned *order, size_t count)
{
    text_print(out, "static const unsigned %s[] = {", name);
    for (size_t i = 0; i < count; i++)
        text_print(out, "%u, ", order[i]);
    text_add(out, "0};\n");
}

static void write_unit_slots(struct text *out)
{
    short slots[UNIT_SLOTS];
    unit_fill_slots(slots);
    text_add(out, "const short unit_slots[] = {");
    write_shorts(out, slots, UNIT_SLOTS);
    text_print(out, "const size_t unit_slot_count = %d;\n\n", UNIT_SLOTS);
}

static void write_store(struct text *out, const struct store *store)
{
    text_add(out,
             "/* builtin.c - the kinds, catalogue and rules that are built in. Written by embed;\n"
             " * change the YAML instead. */\n#include <math.h>\n\n#include \"store/store.h\"\n\n");
    write_unit_slots(out);
    write_attributes(out, store->common, store->common_count, store->kind_count);
    write_kinds(out, store);
    write_entries(out, store);
    write_rules(out, store);
    write_order(out, "kind_order", store->kind_order, store->kind_count);
    write_order(out, "entry_order", store->entry_order, store->entry_count);
    write_order(out, "rule_order", store->rule_order, store->rule_count);
    text_add(out,
             "\nvoid store_builtin(struct store *out)\n{\n    *out = (struct store){\n        ");
    write_array(out, "common", "common_count", "attributes", store->kind_count, 0,
                store->common_count);
    text_print(out, ".kinds = kinds, .kind_count = %zu, .entries = entries, .entry_count = %zu,\n",
               store->kind_count, store->entry_count);
    text_print(out, "        .rules = rules, .rule_count = %zu, .sound_rule_count = %zu,\n",
               store->rule_count, store->rule_count);
    text_add(out, "        .kind_order = kind_order,\n        .entry_order = entry_order, "
                  ".rule_order = rule_order};\n}\n");
}

static void say_place(struct place at)
{
    if (at.file && at.line)
        fprintf(stderr, "%s:%u:%u: ", at.file, at.line, at.column);
    else if (at.file)
        fprintf(stderr, "%s: ", at.file);
}

static void say(struct diagnostics *diagnostics)
{
    diagnostics_sort(diagnostics);
    for (size_t i = 0; i < diagnostics->count; i++) {
        const struct diagnostic *one = &diagnostics->at[i];
        say_place(one->at);
        fprintf(stderr, "%s: %s\n", level_name(one->level), one->message);
        if (one->also.file) {
            say_place(one->also);
            fprintf(stderr, "the other place\n");
        }
    }
}

/* What is asked of data that is built in, beyond what any file must be. */
static void check_sources(struct arena *arena, const struct store *store,
                          struct diagnostics *diagnostics)
{
    (void)arena;
    for (size_t i = 0; i < store->rule_count; i++)
        if (store->rules[i].source_count == 0)
            diagnostics_add(
                diagnostics, LEVEL_ERROR, TOPIC_WORDS, store->rules[i].at,
                "%s names no source; where there is none, say so: common practice, no source.",
                store->rules[i].name);
}

static void check_abouts(struct arena *arena, const struct store *store,
                         struct diagnostics *diagnostics)
{
    (void)arena;
    for (size_t i = 0; i < store->kind_count; i++)
        for (size_t j = 0; j < store->kinds[i].attribute_count; j++)
            if (!store->kinds[i].attributes[j].about)
                diagnostics_add(diagnostics, LEVEL_ERROR, TOPIC_WORDS,
                                store->kinds[i].attributes[j].at,
                                "%s says nothing about itself; it needs the key about.",
                                store->kinds[i].attributes[j].name);
}

static void check_defaults(struct arena *arena, const struct store *store,
                           struct diagnostics *diagnostics)
{
    if (!defaults_new(arena, store, diagnostics) && !diagnostics_has(diagnostics, LEVEL_ERROR))
        diagnostics->out_of_memory = true;
}

/* A proof that did not come out as its author expects. */
static void note_proof(void *data, const struct proof_result *result)
{
    if (result->as_expected)
        return;
    diagnostics_add(data, LEVEL_ERROR, TOPIC_FORMULA, result->proof->at,
                    "this proof of %s should come out as '%s' and comes out as '%s'%s%s.",
                    result->rule->name, result->proof->expect ? result->proof->expect : "",
                    result->got, result->problem ? ": " : "",
                    result->problem ? result->problem : "");
}

static void check_rules(struct arena *arena, const struct store *store,
                        struct diagnostics *diagnostics)
{
    const struct rulebook *book = rulebook_new(arena, store, diagnostics);
    if (!book && !diagnostics_has(diagnostics, LEVEL_ERROR))
        diagnostics->out_of_memory = true;
    for (size_t i = 0; book && i < store->rule_count; i++) {
        size_t ran, wrong;
        if (judge_prove(arena, book, &store->rules[i], note_proof, diagnostics, &ran, &wrong) ==
            OUTCOME_NO_MEMORY)
            diagnostics->out_of_memory = true;
        const char *lack = judge_proofs_lack(book, &store->rules[i]);
        if (lack)
            diagnostics_add(diagnostics, LEVEL_ERROR, TOPIC_FORMULA, store->rules[i].at,
                            "%s lacks %s.", store->rules[i].name, lack);
    }
}

/* The checks that the store must pass before it is built in; one row each. */
static void (*const checks[])(struct arena *arena, const struct store *store,
                              struct diagnostics *diagnostics) = {
    check_sources,
    check_abouts,
    check_defaults,
    check_rules,
};

/* ---- starters ---- */

static bool is_starter(const char *path)
{
    size_t length = strlen(path), end = strlen(STARTER_ENDS);
    return length > end && strcmp(path + length - end, STARTER_ENDS) == 0;
}

/* `docs/starters/NAME.rig.yaml` */
static void write_starter(struct text *out, const char *path, char *bytes, size_t length)
{
    const char *slash = strrchr(path, '/'), *name = slash ? slash + 1 : path;
    char *own = realloc(bytes, length + 1);
    if (!own) {
        free(bytes);
        out->failed = true;
        return;
    }
    own[length] = '\0';
    text_print(out, "    {\"%.*s\", ", (int)(strlen(name) - strlen(STARTER_ENDS)), name);
    write_string(out, own);
    text_add(out, "},\n");
    free(own);
}

static enum outcome write_starters(struct text *out, struct arena *arena, char *const *paths,
                                   int count, struct diagnostics *diagnostics)
{
    size_t starters = 0;
    text_add(out, "\n#include \"command/starter.h\"\n\nconst struct starter starters[] = {\n");
    for (int i = 0; i < count; i++) {
        char *bytes;
        size_t length;
        if (!is_starter(paths[i]))
            continue;
        enum outcome outcome =
            document_bytes(arena, paths[i], &document_limits_default, diagnostics, &bytes, &length);
        if (outcome != OUTCOME_OK)
            return outcome;
        write_starter(out, paths[i], bytes, length);
        starters++;
    }
    text_print(out, "    {NULL, NULL},\n};\nconst size_t starter_count = %zu;\n", starters);
    return OUTCOME_OK;
}

static enum outcome read_folders(struct arena *arena, char *const *folders, int count,
                                 struct store *store, struct diagnostics *diagnostics)
{
    for (int i = 0; i < count; i++) {
        if (is_starter(folders[i]))
            continue;
        enum outcome outcome = store_add_folder(arena, store, folders[i], diagnostics);
        if (outcome != OUTCOME_OK)
            return outcome;
    }
    for (size_t i = 0; i < sizeof checks / sizeof *checks; i++)
        checks[i](arena, store, diagnostics);
    if (diagnostics->out_of_memory)
        return OUTCOME_NO_MEMORY;
    return diagnostics_has(diagnostics, LEVEL_ERROR) ? OUTCOME_REFUSED : OUTCOME_OK;
}

/* True when the file holds just these bytes. */
static bool holds(const char *path, const struct text *text)
{
    FILE *file = fopen(path, "rb");
    if (!file)
        return false;
    size_t i = 0;
    int byte;
    while ((byte = getc(file)) != EOF && i < text->length && (unsigned char)text->bytes[i] == byte)
        i++;
    bool same = byte == EOF && i == text->length && !ferror(file);
    fclose(file);
    return same;
}

/* Under a temporary name first, so that a build that is broken off leaves no half of a file. */
static bool write_file(const char *path, const struct text *text)
{
    char temporary[4096];
    int length = snprintf(temporary, sizeof temporary, "%s.part", path);
    if (length < 0 || (size_t)length >= sizeof temporary)
        return false;
    FILE *file = fopen(temporary, "wb");
    if (!file)
        return false;
    bool written = fwrite(text->bytes, 1, text->length, file) == text->length;
    written = fclose(file) == 0 && written;
    if (written && rename(temporary, path) == 0)
        return true;
    remove(temporary);
    return false;
}

static int write_out(const char *path, struct text *starters, const struct store *store)
{
    struct text text = {0};
    write_store(&text, store);
    text_add(&text, starters->length ? starters->bytes : "");
    text.failed = text.failed || starters->failed;
    bool done = !text.failed && (holds(path, &text) || write_file(path, &text));
    if (!done)
        fprintf(stderr, "%s: cannot be written: %s\n", path,
                text.failed ? "out of memory" : strerror(errno));
    text_drop(&text);
    return done ? 0 : 2;
}

int main(int count, char **arguments)
{
    if (count < 2) {
        fprintf(stderr, "embed OUT.c FOLDER...\n");
        return 2;
    }
    struct arena *arena = arena_new();
    struct diagnostics diagnostics = {.arena = arena};
    struct store store = {0};
    enum outcome outcome = arena
                               ? read_folders(arena, arguments + 2, count - 2, &store, &diagnostics)
                               : OUTCOME_NO_MEMORY;
    struct text starters = {0};
    if (outcome == OUTCOME_OK)
        outcome = write_starters(&starters, arena, arguments + 2, count - 2, &diagnostics);
    say(&diagnostics);
    if (outcome == OUTCOME_NO_MEMORY)
        fprintf(stderr, "embed: out of memory\n");
    int status = outcome == OUTCOME_OK ? write_out(arguments[1], &starters, &store) : 1;
    text_drop(&starters);
    arena_drop(arena);
    return status;
}
