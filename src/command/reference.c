/* reference.c - kinds with their attributes, and rules, as Markdown, from the data that the tool
 * judges by. */
#include <string.h>

#include "command/pages.h"

/* Words of data in a cell of a table, or in a line: a bar would end the cell, a line end the row.
 */
static void add_words(struct text *out, const char *words)
{
    for (const char *at = words; *at; at++) {
        if (*at == '|' || *at == '<' || *at == '*' || *at == '_')
            text_add(out, "\\");
        text_add_bytes(out, *at == '\n' ? " " : at, 1);
    }
}

/* A formula as code, on one line. */
static void add_code(struct text *out, const char *formula)
{
    bool blank = false;
    text_add(out, "`");
    for (const char *at = formula; *at; at++) {
        bool space = *at == '\n' || *at == ' ';
        if (!space && blank)
            text_add(out, " ");
        blank = space;
        if (*at == '|')
            text_add(out, "\\");
        if (!space)
            text_add_bytes(out, at, 1);
    }
    text_add(out, "`");
}

/* ---- kinds ---- */

static const char *type_words(const struct attribute *attribute)
{
    switch (attribute->type) {
    case VALUE_QUANTITY:
        return attribute->unit[0] ? attribute->unit : "a bare number";
    case VALUE_RANGE:
        return "a range";
    case VALUE_TEXT:
        return "text";
    case VALUE_ID:
        return "a part";
    case VALUE_IDS:
        return "parts";
    case VALUE_WORD:
        return "a word";
    case VALUE_WORDS:
        return "words";
    default:
        return "a list";
    }
}

static void add_type(struct text *out, const struct attribute *attribute)
{
    if (attribute->word_count) {
        for (size_t i = 0; i < attribute->word_count; i++)
            text_print(out, "%s%s", i ? ", " : "", attribute->words[i]);
        return;
    }
    add_words(out, type_words(attribute));
    if (attribute->type == VALUE_RANGE && attribute->unit && attribute->unit[0]) {
        text_add(out, ", ");
        add_words(out, attribute->unit);
    }
}

static void add_attribute(struct text *out, const struct attribute *attribute)
{
    static const char *const from[] = {[SOLVED_NO] = "given",
                                       [SOLVED_EACH_CONDITION] = "solved, by condition",
                                       [SOLVED_ONCE] = "solved"};
    text_print(out, "| `%s` | ", attribute->name);
    add_type(out, attribute);
    text_print(out, " | %s | ", from[attribute->solved]);
    add_words(out, attribute->about ? attribute->about : attribute->ask ? attribute->ask : "");
    if (attribute->may_be) {
        text_add(out, ". The real one may be off by ");
        add_words(out, attribute->may_be);
        text_add(out, ": ");
        add_words(out, attribute->doubt);
    }
    text_add(out, " | ");
    if (attribute->assume) {
        add_code(out, attribute->assume);
        text_add(out, attribute->because ? ": " : "");
        add_words(out, attribute->because ? attribute->because : "");
    }
    text_add(out, " |\n");
}

static void add_attributes(struct text *out, const struct attribute *attributes, size_t count)
{
    text_add(out,
             "\n| attribute | unit or words | where from | what it is | when it is not given |\n"
             "| --- | --- | --- | --- | --- |\n");
    for (size_t i = 0; i < count; i++)
        add_attribute(out, &attributes[i]);
}

static void add_list(struct text *out, const char *label, const char *const *words, size_t count)
{
    for (size_t i = 0; i < count; i++)
        text_print(out, "%s%s", i ? ", " : label, words[i]);
    text_add(out, count ? ".\n" : "");
}

static bool is_common(const struct store *store, const struct attribute *attribute)
{
    for (size_t i = 0; i < store->common_count; i++)
        if (strcmp(store->common[i].name, attribute->name) == 0)
            return store->common[i].about == attribute->about;
    return false;
}

void reference_kinds(struct text *out, const struct store *store)
{
    text_add(out, "## Every part\n");
    add_attributes(out, store->common, store->common_count);
    for (size_t k = 0; k < store->kind_count; k++) {
        const struct kind *kind = &store->kinds[k];
        text_print(out, "\n## %s\n\n%s\n", kind->name, kind->about);
        add_list(out, "Rules also find it as: ", kind->groups, kind->group_count);
        add_list(out, "Can be joined at: ", kind->ports, kind->port_count);
        text_add(out, "\n| attribute | unit or words | where from | what it is | when it is not "
                      "given |\n| --- | --- | --- | --- | --- |\n");
        for (size_t i = 0; i < kind->attribute_count; i++)
            if (!is_common(store, &kind->attributes[i]))
                add_attribute(out, &kind->attributes[i]);
    }
}

/* ---- rules ---- */

static void add_formula(struct text *out, const char *label, const struct rule_text *formula)
{
    if (!formula->text)
        return;
    text_print(out, "- %s: ", label);
    add_code(out, formula->text);
    text_add(out, "\n");
}

static void add_said(struct text *out, const char *label, const char *words)
{
    if (!words)
        return;
    text_print(out, "- %s: ", label);
    add_words(out, words);
    text_add(out, "\n");
}

static void add_rule(struct text *out, const struct rule *rule)
{
    text_print(out, "\n### %s\n\n", rule->name);
    if (rule->because)
        add_words(out, rule->because);
    text_add(out, "\n\n");
    add_formula(out, "asked of", &rule->pairing);
    add_formula(out, "under", &rule->under);
    add_formula(out, "when", &rule->when);
    for (size_t i = 0; i < rule->let_count; i++)
        add_formula(out, rule->lets[i].name, &rule->lets[i].formula);
    add_formula(out, "error unless", &rule->error_unless);
    add_formula(out, "caution unless", &rule->caution_unless);
    add_said(out, "reminds", rule->remind.text);
    add_said(out, "mend", rule->mend.text);
    if (rule->practice != PRACTICE_ANY)
        text_print(out, "- practice: %s\n", practice_name(rule->practice));
    for (size_t i = 0; i < rule->source_count; i++) {
        const char *practice = practice_name(rule->sources[i].practice);
        text_add(out, "- source: ");
        add_words(out, rule->sources[i].text);
        text_print(out, "%s%s%s\n", practice ? " (practice " : "", practice ? practice : "",
                   practice ? ")" : "");
    }
}

void reference_rules(struct text *out, const struct store *store)
{
    for (size_t i = 0; i < store->rule_count; i++)
        add_rule(out, &store->rules[i]);
}
