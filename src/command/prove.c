/* prove.c - rigtally prove: runs the proofs of rule files. */
#include <string.h>

#include "command/workshop.h"

struct proving {
    struct text text;
    struct report_style style;
    size_t rules, proofs, wrong, lacking;
};

static void note_result(void *data, const struct proof_result *result)
{
    struct proving *proving = data;
    if (!result->as_expected)
        report_proof(&proving->text, &proving->style, result);
}

static void note_lack(struct proving *proving, const struct rule *rule, const char *lack)
{
    escape_path(&proving->text, rule->at.file ? rule->at.file : "built in");
    text_print(&proving->text, ", line %u: ", rule->at.line);
    escape_terminal(&proving->text, rule->name);
    text_add(&proving->text, " lacks ");
    escape_terminal(&proving->text, lack);
    text_add(&proving->text, "\n");
    proving->lacking++;
}

static enum outcome prove_rule(struct arena *arena, const struct rulebook *book,
                               const struct rule *rule, struct proving *proving)
{
    size_t ran = 0, wrong = 0;
    enum outcome outcome = judge_prove(arena, book, rule, note_result, proving, &ran, &wrong);
    if (outcome != OUTCOME_OK)
        return outcome;
    const char *lack = judge_proofs_lack(book, rule);
    if (lack)
        note_lack(proving, rule, lack);
    proving->rules++;
    proving->proofs += ran;
    proving->wrong += wrong;
    return OUTCOME_OK;
}

static void add_sum(struct proving *proving)
{
    struct text *text = &proving->text;
    text_print(text, "%zu proof%s of %zu rule%s: ", proving->proofs,
               proving->proofs == 1 ? "" : "s", proving->rules, proving->rules == 1 ? "" : "s");
    if (proving->wrong)
        text_print(text, "%zu otherwise than written", proving->wrong);
    else
        text_add(text, "all as written");
    if (proving->lacking)
        text_print(text, "; %zu rule%s without all the proofs that are due", proving->lacking,
                   proving->lacking == 1 ? "" : "s");
    text_add(text, ".\n");
}

static enum ending prove_store(const struct options *options, struct arena *arena,
                               const struct store *store, const struct rulebook *book)
{
    struct proving proving = {.style = options_style(options)};
    enum outcome outcome = OUTCOME_OK;
    for (size_t i = 0; outcome == OUTCOME_OK && i < store->rule_count; i++)
        outcome = prove_rule(arena, book, &store->rules[i], &proving);
    if (proving.rules)
        add_sum(&proving);
    bool well = outcome == OUTCOME_OK;
    if (!well)
        complain_memory();
    well = well && deliver(&proving.text);
    text_drop(&proving.text);
    if (!well)
        return ENDING_UNABLE;
    if (proving.rules == 0)
        complain("there is no rule in what was given.");
    return proving.rules == 0                 ? ENDING_UNABLE
           : proving.wrong || proving.lacking ? ENDING_FINDINGS
                                              : ENDING_CLEAN;
}

/* The kinds and parts that are built in, with the rules of the files named and no others: a file
 * that is being worked on may hold rules by the names of those built in. */
static enum outcome read_files(const struct options *options, struct arena *arena,
                               struct store *store, struct diagnostics *diagnostics)
{
    enum outcome outcome = OUTCOME_OK;
    store_builtin(store);
    store->rule_count = 0;
    for (size_t i = 0; outcome == OUTCOME_OK && i < options->operand_count; i++)
        outcome = store_add_file(arena, store, options->operands[i], diagnostics);
    return outcome;
}

static enum ending prove_files(const struct options *options, struct arena *arena)
{
    struct store store;
    struct diagnostics diagnostics = {.arena = arena};
    enum outcome outcome = read_files(options, arena, &store, &diagnostics);
    const struct rulebook *book =
        outcome == OUTCOME_OK ? rulebook_new(arena, &store, &diagnostics) : NULL;
    if (book)
        return prove_store(options, arena, &store, book);
    complain_diagnostics(&diagnostics);
    if (outcome == OUTCOME_NO_MEMORY || diagnostics.out_of_memory || diagnostics.count == 0)
        complain_memory();
    return ENDING_UNABLE;
}

enum ending command_prove(const struct options *options)
{
    struct workshop workshop;
    bool files = options->operand_count > 0;
    struct arena *arena = files ? arena_new() : workshop_arena(options, &workshop);
    if (!arena) {
        if (files)
            complain_memory();
        return ENDING_UNABLE;
    }
    enum ending ending = files ? prove_files(options, arena)
                               : prove_store(options, arena, &workshop.store, workshop.book);
    arena_drop(arena);
    return ending;
}
