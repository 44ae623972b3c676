/* test_memory.c - every allocation fails in turn, once and from there on. What
 * is run must then say so, or do without and come to the same result, and give
 * back all that it took. malloc and its kin are defined here over the C
 * library's own, so that the libraries are reached too.
 *
 * To put more under test, write a function like run_document() and give it a row
 * in `entries`. */
#include "check.h"

#include "failing.h"

#ifdef SANITIZED
/* The sanitizers keep malloc for themselves. */
static void every_allocation_fails_in_turn(void **state)
{
    (void)state;
    skip();
}
#define make_file NULL
#define remove_file NULL
#else

#include <errno.h>
#include <sys/wait.h>
#include <unistd.h>

#include "base/outcome.h"
#include "command/baseline.h"
#include "command/repository.h"
#include "command/run.h"
#include "document/document.h"
#include "formula/formula.h"
#include "store/store.h"
#include "store/value_read.h"

/* ---- what is run ---- */

/* A number that differs when the result does: FNV-1a, 64 bits (constants from memory). */
static void digest_text(uint64_t *digest, const char *text)
{
    for (; *text; text++)
        *digest = (*digest ^ (unsigned char)*text) * 0x100000001B3u;
    *digest = (*digest ^ 0xFF) * 0x100000001B3u;
}

static void digest_node(uint64_t *digest, const struct node *node)
{
    digest_text(digest, node->type == NODE_MAPPING ? "{" : node->type == NODE_SEQUENCE ? "[" : "");
    if (node->text)
        digest_text(digest, node->text);
    for (size_t i = 0; i < node->count; i++) {
        if (node->type == NODE_MAPPING)
            digest_text(digest, node->pairs[i].key);
        digest_node(digest, node->type == NODE_MAPPING ? node->pairs[i].value : node->items[i]);
    }
    digest_text(digest, "}");
}

static void digest_diagnostics(uint64_t *digest, const struct diagnostics *diagnostics)
{
    for (size_t i = 0; i < diagnostics->count; i++)
        digest_text(digest, diagnostics->at[i].message);
}

static enum outcome run_document(const char *text, uint64_t *digest)
{
    struct arena *arena = arena_new();
    struct diagnostics diagnostics = {.arena = arena};
    struct node *root = NULL;
    if (!arena)
        return OUTCOME_NO_MEMORY;
    enum outcome outcome = document_read(arena, "t.yaml", text, strlen(text),
                                         &document_limits_default, &diagnostics, &root);
    if (root)
        digest_node(digest, root);
    digest_diagnostics(digest, &diagnostics);
    arena_drop(arena);
    return outcome;
}

static enum outcome run_file(const char *path, uint64_t *digest)
{
    struct arena *arena = arena_new();
    struct diagnostics diagnostics = {.arena = arena};
    struct node *root = NULL;
    if (!arena)
        return OUTCOME_NO_MEMORY;
    enum outcome outcome =
        document_read_file(arena, path, &document_limits_default, &diagnostics, &root);
    if (root)
        digest_node(digest, root);
    digest_diagnostics(digest, &diagnostics);
    arena_drop(arena);
    return outcome;
}

/* Every quantity is 3, all else unknown. */
static bool three(const void *data, size_t part, int attribute, enum condition condition,
                  struct value *out, enum origin *origin)
{
    const struct kind *kind = data;
    (void)part;
    (void)condition;
    *origin = ORIGIN_GIVEN;
    *out = (struct value){.type = VALUE_QUANTITY};
    out->as.quantity = (struct quantity){3.0, kind->attributes[attribute].dimension};
    return kind->attributes[attribute].type == VALUE_QUANTITY;
}

static const struct kind *only_kind(const void *data, size_t part)
{
    (void)part;
    return data;
}

static const char *only_id(const void *data, size_t part)
{
    (void)data;
    (void)part;
    return "lift";
}

static size_t all_parts(const void *data, size_t part, const char *relation, const size_t **out)
{
    static const size_t all[] = {0, 0};
    (void)data;
    (void)part;
    (void)relation;
    *out = all;
    return 2;
}

/* Compiles a formula, or a sentence when it begins with '=', over a pump, and prints what comes of
 * it. */
static enum outcome run_formula(const char *input, uint64_t *digest)
{
    static const char *const relations[] = {"feeds", NULL};
    const size_t parts[] = {0};
    const struct place at = {"f.yaml", 1, 1};
    struct arena *arena = arena_new();
    struct diagnostics diagnostics = {.arena = arena};
    struct store store;
    store_builtin(&store);
    const struct kind *kind = store_kind(&store, "pump");
    const struct formula_role role = {"pump", &kind, 1};
    const struct formula_scope scope = {
        .store = &store, .roles = &role, .role_count = 1, .relations = relations};
    const struct formula_world world = {
        .data = kind, .value = three, .kind = only_kind, .id = only_id, .related = all_parts};
    struct text out = {0};
    if (!arena)
        return OUTCOME_NO_MEMORY;
    if (input[0] == '=') {
        const struct formula_words *words =
            formula_words_compile(arena, input + 1, at, &scope, &diagnostics);
        if (words)
            formula_words_print(words, &world, parts, CONDITION_DARK, NULL, &out);
    } else {
        const struct formula *formula =
            formula_compile(arena, input, at, &scope, FORMULA_ANY, &diagnostics);
        if (formula)
            formula_working(formula, &world, parts, CONDITION_DARK, &out);
    }
    enum outcome outcome = diagnostics.out_of_memory || out.failed ? OUTCOME_NO_MEMORY
                           : diagnostics.count                     ? OUTCOME_REFUSED
                                                                   : OUTCOME_OK;
    if (out.bytes)
        digest_text(digest, out.bytes);
    digest_diagnostics(digest, &diagnostics);
    text_drop(&out);
    arena_drop(arena);
    return outcome;
}

static void digest_store(uint64_t *digest, const struct store *store)
{
    for (size_t i = 0; i < store->kind_count; i++)
        for (size_t j = 0; j < store->kinds[i].attribute_count; j++)
            digest_text(digest, store->kinds[i].attributes[j].name);
    for (size_t i = 0; i < store->entry_count; i++)
        for (size_t j = 0; j < store->entries[i].value_count; j++)
            digest_text(digest, store->entries[i].values[j].text);
    for (size_t i = 0; i < store->rule_count; i++)
        for (size_t j = 0; j < store->rules[i].proof_count; j++)
            digest_text(digest, store->rules[i].proofs[j].expect);
    for (size_t i = 0; i < store->entry_count; i++)
        digest_text(digest, store->entries[store->entry_order[i]].name);
}

static enum outcome run_store(const char *text, uint64_t *digest)
{
    struct arena *arena = arena_new();
    struct diagnostics diagnostics = {.arena = arena};
    struct store store = {0};
    if (!arena)
        return OUTCOME_NO_MEMORY;
    enum outcome outcome =
        store_add_bytes(arena, &store, "t.yaml", text, strlen(text), &diagnostics);
    digest_store(digest, &store);
    digest_diagnostics(digest, &diagnostics);
    arena_drop(arena);
    return outcome;
}

static const char long_formula[] =
    "all(feeds pump: pump.voltage * (pump.current else 2 A) >= 1 W) and pump.motor in [brushed, "
    "brushless] or max(pump.voltage, 2 V, 3 V) ^ 2 / 4 ohm in 3 .. 5 W and pump.flow > 1 L/h at "
    "dark "
    "or pump.flow > 2 L/h at weak-sun or pump.flow > 3 L/h or pump.flow > 4 L/h or pump.flow > 5 "
    "L/h "
    "or total(pump: pump.count) = 3 or least(feeds pump: pump.power) > 3 W or count(load) > 2";
static const char long_sentence[] =
    "={pump} lifts {pump.max_head} or {pump.flow : gal/min} ({pump.motor}); {{{count(pump)}}} of "
    "them. "
    "{pump.voltage * pump.current} {pump.max_head : ft} {pump.voltage_range} {pump.flow >= 1 L/h}";

static enum outcome run_folder(const char *folder, uint64_t *digest)
{
    struct arena *arena = arena_new();
    struct diagnostics diagnostics = {.arena = arena};
    struct store store = {0};
    if (!arena)
        return OUTCOME_NO_MEMORY;
    enum outcome outcome = store_add_folder(arena, &store, folder, &diagnostics);
    digest_store(digest, &store);
    digest_diagnostics(digest, &diagnostics);
    arena_drop(arena);
    return outcome;
}

/* A value in YAML flow text, by turns as several attributes. */
static enum outcome run_value(const char *text, uint64_t *digest)
{
    static const char *const words[] = {"always", "timed"};
    static const struct attribute attributes[] = {
        {.name = "modes", .type = VALUE_WORDS, .words = words, .word_count = 2},
        {.name = "curve", .type = VALUE_POINTS},
        {.name = "fittings", .type = VALUE_FITTINGS},
        {.name = "note", .type = VALUE_TEXT},
    };
    struct arena *arena = arena_new();
    struct diagnostics diagnostics = {.arena = arena};
    enum outcome worst = OUTCOME_OK;
    if (!arena)
        return OUTCOME_NO_MEMORY;
    for (size_t i = 0; i < sizeof attributes / sizeof *attributes; i++) {
        struct value value;
        enum outcome outcome = value_read_text(arena, text, (struct place){"t.yaml", 1, 1},
                                               &attributes[i], &diagnostics, &value);
        if (outcome > worst)
            worst = outcome;
    }
    digest_diagnostics(digest, &diagnostics);
    arena_drop(arena);
    return worst;
}

/* What rigs are judged by: made once, before anything fails. */
static struct arena *workshop_arena;
static struct workshop workshop;

/* As the first rig of a run meets it: no formula of its rules is compiled yet. */
static bool open_workshop(struct arena *arena, struct workshop *out)
{
    struct diagnostics diagnostics = {.arena = arena};
    *out = workshop;
    out->book = rulebook_new(arena, &workshop.store, &diagnostics);
    return out->book != NULL;
}

/* A rig from its bytes to findings, one of which has to be a thin margin. */
static enum outcome run_judged(const char *text, uint64_t *digest)
{
    const struct judge_options options = {.today = "2026-06-01"};
    struct arena *arena = arena_new();
    struct workshop own;
    struct report_rig rig;
    if (!arena)
        return OUTCOME_NO_MEMORY;
    enum outcome outcome = open_workshop(arena, &own) ? run_bytes(arena, &own, "t.rig.yaml", text,
                                                                  strlen(text), &options, &rig)
                                                      : OUTCOME_NO_MEMORY;
    bool thin = false;
    for (size_t i = 0; outcome == OUTCOME_OK && i < rig.judgement.finding_count; i++) {
        digest_text(digest, rig.judgement.findings[i].message);
        thin = thin || rig.judgement.findings[i].is_thin;
    }
    arena_drop(arena);
    return outcome == OUTCOME_OK && !thin ? OUTCOME_REFUSED : outcome;
}

/* A rig from its bytes to every report on it. */
static enum outcome run_reports(const char *text, uint64_t *digest)
{
    const struct judge_options options = {.today = "2026-06-01"};
    const struct report_style style = {.width = 100};
    struct arena *arena = arena_new();
    struct workshop own;
    struct report_rig rig;
    struct report_sum sum = {0};
    struct text out = {0};
    if (!arena)
        return OUTCOME_NO_MEMORY;
    enum outcome outcome = open_workshop(arena, &own) ? run_bytes(arena, &own, "t.rig.yaml", text,
                                                                  strlen(text), &options, &rig)
                                                      : OUTCOME_NO_MEMORY;
    if (outcome == OUTCOME_OK) {
        report_sum_add(&sum, &rig);
        for (unsigned i = 0; i < REPORT_FORMAT_COUNT; i++) {
            report_begin(&out, (enum report_format)i);
            report_add(&out, (enum report_format)i, &style, &rig, true);
            report_end(&out, (enum report_format)i, &style, &sum);
        }
        for (int json = 0; rig.rig && json < 2; json++) {
            report_figures_begin(&out, json != 0, &style, rig.rig);
            for (size_t i = 0; i < rig.rig->part_count; i++)
                report_figures_part(&out, json != 0, &style, rig.rig, i);
            report_figures_end(&out, json != 0);
        }
    }
    if (out.failed)
        outcome = OUTCOME_NO_MEMORY;
    if (out.bytes)
        digest_text(digest, out.bytes);
    text_drop(&out);
    arena_drop(arena);
    return outcome;
}

/* A baseline that is read, a rig without what is known in it, and its schema. */
static enum outcome run_baseline(const char *text, uint64_t *digest)
{
    const struct judge_options options = {.today = "2026-06-01"};
    static const char rig_text[] = "rigtally: 1\nparts: { p: { is: pmp }, q: { is: pmp } }\n";
    struct arena *arena = arena_new();
    struct diagnostics diagnostics = {.arena = arena};
    struct baseline *baseline;
    struct workshop own;
    struct report_rig rig;
    struct text out = {0};
    if (!arena)
        return OUTCOME_NO_MEMORY;
    enum outcome outcome =
        baseline_read_bytes(arena, "known.txt", text, strlen(text), &diagnostics, &baseline);
    if (outcome == OUTCOME_OK && !open_workshop(arena, &own))
        outcome = OUTCOME_NO_MEMORY;
    if (outcome == OUTCOME_OK)
        outcome = run_bytes(arena, &own, "t.rig.yaml", rig_text, strlen(rig_text), &options, &rig);
    if (outcome == OUTCOME_OK) {
        baseline_add(&out, &rig);
        if (!baseline_leave_out(arena, baseline, &rig))
            outcome = OUTCOME_NO_MEMORY;
        baseline_add(&out, &rig);
    }
    if (out.failed)
        outcome = OUTCOME_NO_MEMORY;
    if (outcome != OUTCOME_NO_MEMORY && out.bytes)
        digest_text(digest, out.bytes);
    digest_diagnostics(digest, &diagnostics);
    text_drop(&out);
    arena_drop(arena);
    return outcome;
}

/* By what a rig of this checkout is judged, and the paths that are shown of it. */
static enum outcome run_repository(const char *text, uint64_t *digest)
{
    const char *const files[] = {text, "tests/unit/../cli/data/plain.rig.yaml",
                                 "nowhere/x.rig.yaml"};
    struct arena *arena = arena_new();
    struct repositories repositories;
    const char *path = NULL;
    enum outcome outcome = OUTCOME_NO_MEMORY;
    if (arena && repositories_find(arena, &workshop, files, 3, &repositories) &&
        repository_path(arena, repositories.of_file[0], text, &path))
        outcome = OUTCOME_OK;
    if (outcome == OUTCOME_OK)
        digest_text(digest, path);
    arena_drop(arena);
    return outcome;
}

static const char small_rig[] =
    "rigtally: 1\nname: \"B\\u202e\"\nsite: { latitude: 47 deg, air: -5 .. 30 degC, water: 5 .. 25 "
    "degC }\n"
    "parts:\n  f1: { is: fuse, rating: 5 A }\n  pmp: { is: pmp }\n"
    "  lamp: { is: load, voltage: 12 V, power: 4 W, runs: [timed] }\n  s: { is: supply, voltage: "
    "12 V }\n"
    "cables:\n  - { from: s, to: lamp, area: 1 mm2, length: 2 m, through: [f1] }\n"
    "needs:\n  - lamp.voltage >= 24 V\n";

/* At 4 m the pump clears 4.3 m - 0.5 m by 5 %, and a new one may make 15 % less than its label. */
static const char thin_rig[] =
    "rigtally: 1\nsite: { air: 5 .. 30 degC, water: 10 .. 20 degC }\nparts:\n"
    "  s: { is: supply, voltage: 12 V, max_current: 5 A }\n"
    "  p: { is: pump, voltage: 12 V, power: 12 W, max_head: 4 m, max_flow: 600 L/h }\n"
    "  d: { is: tank, volume: 90 L, height: 0 m, level: 0.5 m, depth: 0.7 m }\n"
    "cables:\n  - { from: s, to: p, area: 16 mm2, length: 0.1 m }\n"
    "pipes:\n  - { from: d, to: p }\n"
    "  - { from: p, to: d, bore: 13 mm, material: epdm-hose, length: 3 m, high_point: 4.3 m, ends: "
    "under-water }\n";

static const char good_text[] =
    "%YAML 1.2\n---\n# a comment\nname: Bench\nparts:\n  pump: { is: pump, voltage: 12 V }\n"
    "  drum: { use: drum, \"height\": 0 m, note: 'it''s' }\nlist:\n  - one\n  - [2, 3]\n"
    "text: |\n  several\n  lines\nfolded: >-\n  of a\n  text\n? long\n: key\n"
    "a1: 1\na2: 1\na3: 1\na4: 1\na5: 1\na6: 1\na7: 1\na8: 1\na9: 1\na10: 1\na11: 1\na12: 1\n";
static const char bad_text[] =
    "%TAG !x! tag:y\n---\na: &b 1\nc: *b\nd: !!str x\ne: !<u> y\nf: \"\\e\\x9b\"\n\"\\0\": \x01\n"
    "<<: 1\na: 2\n? [k]\n: v\n{x: y}: z\ng: {h:1, i}\nj: [1, {k: [2";
static const char open_quote[] = "a: [1, 2]\nb: \"never closed\nc: 1\n";
static const char bad_indent[] = "a:\n    b: 1\n  c: 2\n";
static const char anchors[] = "&a [*a, &b !!map {c: *a}, !x &d e, ! f]\n";
static const char two_documents[] = "a: 1\n---\nb: 2\n";

static const char bad_store[] =
    "common:\n  - { name: height, unit: m, minimum: 3 V }\nkinds:\n  - kind: lamp\n    about: x\n"
    "    groups: [Load]\n    attributes:\n      - { name: height, unit: V }\n"
    "      - { name: lens, words: [a, b], range: maybe }\n      - { name: Lens, unit: XX }\n"
    "catalogue:\n  - { entry: l, kind: lamp, about: x, values: { lens: c, hight: 3 m } }\n"
    "  - { entry: m, kind: lump, about: x }\nrules:\n  - rule: lamp\n    pairing: lamp\n"
    "    under: noon\n    because: y\n    proofs:\n      - { expect: fails }\n";

static char file_path[] = "/tmp/rigtally-test-memory-XXXXXX";

static int make_file(void **state)
{
    (void)state;
    workshop_arena = arena_new();
    struct diagnostics diagnostics = {.arena = workshop_arena};
    if (!workshop_arena ||
        workshop_open(workshop_arena, NULL, 0, &diagnostics, &workshop) != OUTCOME_OK)
        return -1;
    int descriptor = mkstemp(file_path);
    if (descriptor < 0)
        return -1;
    ssize_t length = (ssize_t)strlen(good_text);
    bool written = write(descriptor, good_text, (size_t)length) == length;
    return close(descriptor) == 0 && written ? 0 : -1;
}

static int remove_file(void **state)
{
    (void)state;
    arena_drop(workshop_arena);
    return unlink(file_path);
}

static const struct {
    const char *name;
    enum outcome (*run)(const char *input, uint64_t *digest);
    const char *input;
    enum outcome outcome; /* when nothing fails */
} entries[] = {
    {"document_read: nothing wrong", run_document, good_text, OUTCOME_OK},
    {"document_read: much wrong", run_document, bad_text, OUTCOME_OK},
    {"document_read: open quote", run_document, open_quote, OUTCOME_OK},
    {"document_read: bad indent", run_document, bad_indent, OUTCOME_OK},
    {"document_read: anchors and tags", run_document, anchors, OUTCOME_OK},
    {"document_read: two documents", run_document, two_documents, OUTCOME_OK},
    {"document_read: empty", run_document, "", OUTCOME_REFUSED},
    {"document_read: no text", run_document, "\xFF\xFE", OUTCOME_REFUSED},
    {"document_read_file: a file", run_file, file_path, OUTCOME_OK},
    {"document_read_file: no file", run_file, "no/such/file", OUTCOME_REFUSED},
    {"document_read_file: a folder", run_file, "/", OUTCOME_REFUSED},
    {"formula_working: nothing wrong", run_formula, long_formula, OUTCOME_OK},
    {"formula_compile: a wrong word", run_formula, "pump.volatge > 3 V", OUTCOME_REFUSED},
    {"formula_compile: wrong dimensions", run_formula, "pump.voltage > 3 A", OUTCOME_REFUSED},
    {"formula_words_print: nothing wrong", run_formula, long_sentence, OUTCOME_OK},
    {"formula_words_compile: an open brace", run_formula, "=a {pump", OUTCOME_REFUSED},
    {"store_add_folder: nothing wrong", run_folder, "tests/unit/data/store", OUTCOME_OK},
    {"store_add_folder: no folder", run_folder, "no/such/folder", OUTCOME_REFUSED},
    {"store_add_bytes: wrong shape", run_store, "kinds:\n  - { kindd: a }\n", OUTCOME_REFUSED},
    {"store_add_bytes: much wrong", run_store, bad_store, OUTCOME_REFUSED},
    {"value_read: a list", run_value, "[always, timed]", OUTCOME_REFUSED},
    {"value_read: points", run_value, "[[0 L/h, 4 m], [3 A, true]]", OUTCOME_REFUSED},
    {"value_read: fittings", run_value, "{ elbow: 3, tee: { number: 1, k: 2 } }", OUTCOME_REFUSED},
    {"value_read: a word", run_value, "always", OUTCOME_REFUSED},
    {"reports: a small rig", run_reports, small_rig, OUTCOME_OK},
    {"judge_rig: a thin margin", run_judged, thin_rig, OUTCOME_OK},
    {"reports: no rig", run_reports, "- 1\n", OUTCOME_OK},
    {"baseline", run_baseline,
     BASELINE_HEAD
     "0123456789abcdef error a.b t.rig.yaml\nfedcba9876543210 caution c.d t.rig.yaml\n",
     OUTCOME_OK},
    {"baseline: no baseline", run_baseline, BASELINE_HEAD "x\n", OUTCOME_REFUSED},
    {"repository", run_repository, "tests/cli/data/plain.rig.yaml", OUTCOME_OK},
};

/* ---- one run, in a process of its own ---- */

struct result {
    enum outcome outcome;
    uint64_t digest;
    long made, held;
};

static struct result run_entry(size_t entry, long fails_at, bool from_here_on)
{
    struct result result = {.digest = 0xCBF29CE484222325u};
    allocator.fails_at = fails_at;
    allocator.from_here_on = from_here_on;
    allocator.made = allocator.held = 0;
    allocator.on = true;
    result.outcome = entries[entry].run(entries[entry].input, &result.digest);
    allocator.on = false;
    result.made = allocator.made;
    result.held = allocator.held;
    return result;
}

/* Runs it in a child, so that a crash is only its own. */
static bool run_apart(size_t entry, long fails_at, bool from_here_on, struct result *result)
{
    int ends[2], status = 0;
    assert_int_equal(pipe(ends), 0);
    pid_t child = fork();
    assert_true(child >= 0);
    if (child == 0) {
        alarm(20);
        struct result made = run_entry(entry, fails_at, from_here_on);
        _exit(write(ends[1], &made, sizeof made) == (ssize_t)sizeof made ? 0 : 1);
    }
    close(ends[1]);
    ssize_t got = read(ends[0], result, sizeof *result);
    close(ends[0]);
    assert_int_equal(waitpid(child, &status, 0), child);
    return got == (ssize_t)sizeof *result && WIFEXITED(status) && WEXITSTATUS(status) == 0;
}

static const char *judge(const struct result *sound, const struct result *result, bool ended)
{
    if (!ended)
        return "it crashed or hung";
    if (result->held != 0)
        return "it did not give back all that it took";
    if (result->outcome == OUTCOME_NO_MEMORY)
        return NULL;
    if (result->outcome != sound->outcome || result->digest != sound->digest)
        return "it came to another result and did not say that memory ran out";
    return NULL;
}

static unsigned fail_each(size_t entry, const struct result *sound, bool from_here_on)
{
    unsigned wrong = 0;
    for (long at = 0; at < sound->made; at++) {
        struct result result = {0};
        bool ended = run_apart(entry, at, from_here_on, &result);
        const char *why = judge(sound, &result, ended);
        if (why) {
            print_error("%s: allocation %ld of %ld fails %s: %s\n", entries[entry].name, at + 1,
                        sound->made, from_here_on ? "and all after it" : "alone", why);
            wrong++;
        }
    }
    return wrong;
}

static void every_allocation_fails_in_turn(void **state)
{
    (void)state;
    unsigned wrong = 0;
    for (size_t i = 0; i < sizeof entries / sizeof *entries; i++) {
        struct result sound = {0};
        assert_true(run_apart(i, -1, false, &sound));
        if (sound.outcome != entries[i].outcome || sound.held != 0)
            fail_msg("%s ends as %d and keeps %ld blocks when nothing fails", entries[i].name,
                     (int)sound.outcome, sound.held);
        assert_true(sound.made > 0);
        wrong += fail_each(i, &sound, false);
        wrong += fail_each(i, &sound, true);
    }
    assert_int_equal(wrong, 0);
}
#endif

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(every_allocation_fails_in_turn)};
    return cmocka_run_group_tests_name("memory", tests, make_file, remove_file);
}
