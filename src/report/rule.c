/* rule.c - what a rule promises, for `rigtally rule` and `rigtally prove`. */
#include <string.h>

#include "report/page.h"

enum {
    LABEL = 2,
    WORDS = 18, /* where the words of a labelled line begin */
    NAME = 2,
    ABOUT = 34, /* where a list's second column begins */
};

static void add_text(struct page *page, const char *label, const char *words)
{
    if (!words)
        return;
    page_label(page, LABEL, WORDS, label);
    page_prose(page, WORDS, WORDS + 2, words);
}

static const char *under_words(const struct rule *rule)
{
    if (!rule->under.text)
        return "values that no condition changes";
    return strcmp(rule->under.text, "every") == 0 ? "every condition; the worst one is told"
                                                  : rule->under.text;
}

static void add_lets(struct page *page, const struct rule *rule)
{
    for (size_t i = 0; i < rule->let_count; i++) {
        page_label(page, LABEL, WORDS, i == 0 ? "let" : "");
        text_print(&page->words, "%s = %s", rule->lets[i].name, rule->lets[i].formula.text);
        page_flow_words(page, WORDS, WORDS + 2);
    }
}

static void add_sources(struct page *page, const struct rule *rule)
{
    for (size_t i = 0; i < rule->source_count; i++) {
        const char *practice = practice_name(rule->sources[i].practice);
        page_label(page, LABEL, WORDS, i == 0 ? "source" : "");
        text_add(&page->words, rule->sources[i].text);
        if (practice)
            text_print(&page->words, " (practice %s)", practice);
        page_flow_words(page, WORDS, WORDS + 2);
    }
}

static void build_proof(struct text *words, const struct rule_proof *proof)
{
    for (size_t i = 0; i < proof->given_count; i++)
        text_print(words, "%s%s = %s", i ? ", " : "", proof->given[i].name, proof->given[i].value);
    text_print(words, "%s%s%s", proof->given_count ? ": " : "nothing given: ", proof->expect,
               proof->limit ? " (exactly at the limit)" : "");
}

static void add_proofs(struct page *page, const struct rule *rule)
{
    for (size_t i = 0; i < rule->proof_count; i++) {
        page_label(page, LABEL, WORDS, i == 0 ? "proof" : "");
        build_proof(&page->words, &rule->proofs[i]);
        page_flow_words(page, WORDS, WORDS + 2);
    }
}

void report_rule(struct text *out, const struct report_style *style, const struct rule *rule)
{
    struct page page;
    page_begin(&page, out, style);
    text_add(out, "Promise ");
    page_strong(&page, rule->name);
    text_add(out, "\n");
    add_text(&page, "asked of", rule->pairing.text);
    add_text(&page, "practice", practice_name(rule->practice));
    add_text(&page, "under", rule->remind.text ? NULL : under_words(rule));
    add_text(&page, "only when", rule->when.text);
    add_lets(&page, rule);
    add_text(&page, "error unless", rule->error_unless.text);
    add_text(&page, "caution unless", rule->caution_unless.text);
    add_text(&page, "reminder", rule->remind.text);
    add_text(&page, "says", rule->says.text);
    add_text(&page, "as a caution", rule->caution_says.text);
    add_text(&page, "mend", rule->mend.text);
    add_text(&page, "why", rule->because);
    add_sources(&page, rule);
    add_proofs(&page, rule);
    page_end(&page);
}

/* The levels that a rule can come to, in words. */
static const char *levels_of(const struct rule *rule)
{
    if (rule->remind.text)
        return "reminder";
    if (rule->error_unless.text)
        return rule->caution_unless.text ? "error or caution" : "error";
    return "caution";
}

void report_rule_line(struct text *out, const struct report_style *style, const struct rule *rule)
{
    struct page page;
    page_begin(&page, out, style);
    page_pad(&page, NAME);
    size_t start = out->length;
    escape_terminal(out, rule->name);
    unsigned width = out->failed ? 0 : page_width(out->bytes + start);
    page_pad(&page, NAME + width < ABOUT - 1 ? ABOUT - NAME - width : 1);
    text_print(&page.words, "%s: %s", levels_of(rule),
               rule->pairing.text ? rule->pairing.text : "");
    page_flow_words(&page, NAME + width < ABOUT - 1 ? ABOUT : NAME + width + 1, ABOUT);
    page_end(&page);
}

void report_proof(struct text *out, const struct report_style *style,
                  const struct proof_result *result)
{
    struct page page;
    page_begin(&page, out, style);
    escape_path(out, result->proof->at.file ? result->proof->at.file : "built in");
    if (result->proof->at.line)
        text_print(out, ", line %u", result->proof->at.line);
    text_add(out, ": a proof of ");
    page_strong(&page, result->rule->name);
    text_add(out, " comes out otherwise\n");
    page_label(&page, LABEL, WORDS, "given");
    build_proof(&page.words, result->proof);
    page_flow_words(&page, WORDS, WORDS + 2);
    add_text(&page, "came out", result->got);
    if (result->has_margin) {
        text_print(&page.words, "%.3g %%", 100.0 * result->margin);
        page_label(&page, LABEL, WORDS, "margin");
        page_flow_words(&page, WORDS, WORDS);
    }
    add_text(&page, "trouble", result->problem);
    page_end(&page);
}
