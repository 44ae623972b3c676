/* test_twins.c - every rule on two near twins: tests/twins/RULE.twins.yaml is one small whole rig.
 * A line that ends in `# fires` belongs only to the rig in which the rule has to fire at its
 * strongest level, one in `# silent` only to the twin in which it has to hold, one in `# cautions`
 * only to a third in which nothing stronger than its caution fires; `# fires, cautions` belongs to
 * both. All other lines belong to each. A file whose head says `# silent: not asked, because ...`
 * is of a promise that by its nature is not asked in the good rig. Prints a table of rules by their
 * proofs and twins; an empty cell fails. */
#include "check.h"

#include <dirent.h>

#include "judge/judge.h"
#include "judge/rulebook.h"
#include "rig/rig.h"
#include "solve/solve.h"

#define FOLDER "tests/twins"
#define ENDING ".twins.yaml"
#define FILE_MOST 16384    /* bytes of a file */
#define TODAY "2026-06-01" /* for accepted findings that end */

enum twin { FIRES, CAUTIONS, SILENT, TWIN_COUNT };
static const char *const twin_names[] = {"fires", "cautions", "silent"};

struct file {
    const char *bytes;    /* NULL: there is none */
    bool has[TWIN_COUNT]; /* is any line marked so */
    bool not_asked;
};

/* What came of the twins of one rule. */
struct row {
    const struct compiled_rule *rule;
    struct file file;
    const char *told[TWIN_COUNT]; /* for the table; NULL: as it should not be, or no such rig */
    size_t problems;
};

struct twins {
    struct arena *arena; /* of the rules; each rig has its own */
    struct store store;
    const struct rulebook *book;
    const struct defaults *defaults;
    size_t problems, held, not_asked, reminders;
};

static void complain(struct row *row, enum twin twin, const char *what, const char *more)
{
    print_error(FOLDER "/%s" ENDING ", %s: %s%s%s\n", row->rule->rule->name, twin_names[twin], what,
                more ? ": " : "", more ? more : "");
    row->problems++;
}

/* ---- files ---- */

static const char *read_bytes(struct arena *arena, const char *rule)
{
    const char *path = arena_print(arena, FOLDER "/%s" ENDING, rule);
    char *bytes = ARENA_TAKE(arena, FILE_MOST, char);
    assert_non_null(path);
    assert_non_null(bytes);
    FILE *file = fopen(path, "rb");
    if (!file)
        return NULL;
    size_t length = fread(bytes, 1, FILE_MOST, file);
    assert_true(length < FILE_MOST);
    bytes[length] = '\0';
    fclose(file);
    return bytes;
}

static int find_twin(const char *word, size_t length)
{
    for (int i = 0; i < TWIN_COUNT; i++)
        if (strlen(twin_names[i]) == length && strncmp(twin_names[i], word, length) == 0)
            return i;
    return -1;
}

/* The rigs to which a line belongs, as bits: those in its last comment when that is nothing but
 * their names; 0 when it has no such mark. */
static unsigned line_mark(const char *line, size_t length)
{
    size_t at = length;
    unsigned mark = 0;
    while (at > 0 && line[at - 1] != '#')
        at--;
    while (at > 0 && at < length) {
        at += strspn(line + at, " ");
        size_t word = strcspn(line + at, " ,\n");
        int twin = at + word <= length ? find_twin(line + at, word) : -1;
        if (twin < 0)
            return 0;
        mark |= 1U << twin;
        at += word;
        if (at < length && line[at++] != ',')
            return 0;
    }
    return mark;
}

/* The lines of one of the rigs; those of others are left empty, so that places stay. */
static char *twin_text(struct arena *arena, const char *bytes, enum twin twin)
{
    char *text = arena_string(arena, bytes), *end = text;
    assert_non_null(text);
    for (const char *line = bytes; *line;) {
        size_t length = strcspn(line, "\n");
        unsigned mark = line_mark(line, length);
        if (mark == 0 || (mark >> twin & 1U)) {
            memcpy(end, line, length);
            end += length;
        }
        line += length;
        if (*line)
            *end++ = *line++;
    }
    *end = '\0';
    return text;
}

static struct file read_file(struct arena *arena, const char *rule)
{
    struct file file = {.bytes = read_bytes(arena, rule)};
    for (const char *line = file.bytes; line && *line;) {
        size_t length = strcspn(line, "\n");
        unsigned mark = line_mark(line, length);
        for (int i = 0; i < TWIN_COUNT; i++)
            file.has[i] = file.has[i] || (mark >> i & 1U);
        file.not_asked = file.not_asked || strncmp(line, "# silent: not asked, because ", 29) == 0;
        line += length + (line[length] == '\n');
    }
    return file;
}

/* ---- judging ---- */

/* A rig of its own arena: the twin, solved. NULL when it is not whole. */
static struct rig *read_twin(struct twins *twins, struct row *row, enum twin twin,
                             struct diagnostics *diagnostics)
{
    struct rig *rig = NULL;
    const char *name = row->rule->rule->name;
    const char *text = twin_text(diagnostics->arena, row->file.bytes, twin);
    enum outcome outcome = rig_read_bytes(diagnostics->arena, &twins->store, twins->defaults, name,
                                          text, strlen(text), diagnostics, &rig);
    if (outcome == OUTCOME_OK && rig)
        outcome = solve_rig(rig, diagnostics);
    for (size_t i = 0; i < diagnostics->count; i++)
        complain(row, twin, "a mistake in the file", diagnostics->at[i].message);
    if (outcome != OUTCOME_OK || !rig)
        complain(row, twin, "it can't be read or solved", NULL);
    return outcome == OUTCOME_OK && diagnostics->count == 0 ? rig : NULL;
}

static struct judgement judge(const struct twins *twins, const struct rig *rig, const char *only)
{
    struct judgement judgement;
    struct diagnostics none = {.arena = rig->arena};
    /* twins may stand near their limit: labels are taken at their word */
    struct judge_options options = {.only = only, .today = TODAY, .trusting = true};
    assert_int_equal(judge_rig(twins->book, rig, &none, &options, &judgement), OUTCOME_OK);
    return judgement;
}

/* In how many pairings the rule was asked and held. An entry under `accept:` is judged only when
 * the rule that it names is: all of them then. */
static size_t count_held(const struct twins *twins, const struct rig *rig, const struct rule *rule)
{
    if (strcmp(rule->name, "accept.is-used") == 0)
        return rig->accept_count;
    return judge(twins, rig, rule->name).hold;
}

static const struct finding *find_finding(const struct judgement *judgement,
                                          const struct rule *rule, enum level level)
{
    for (size_t i = 0; i < judgement->finding_count; i++)
        if (judgement->findings[i].from == rule && judgement->findings[i].level == level &&
            !judgement->findings[i].accepted)
            return &judgement->findings[i];
    return NULL;
}

/* A finding has words, and they name a part of its pairing where it has any. */
static void check_words(struct row *row, enum twin twin, const struct finding *finding)
{
    const char *pairing = row->rule->rule->pairing.text;
    bool whole = strcmp(pairing, "rig") == 0 || strcmp(pairing, "site") == 0;
    bool named = whole;
    for (size_t i = 0; i < finding->part_count; i++)
        named = named || (finding->message && strstr(finding->message, finding->parts[i]));
    if (!finding->message || finding->message[0] == '\0')
        complain(row, twin, "the finding has no words", NULL);
    else if (!whole && finding->part_count == 0)
        complain(row, twin, "the finding names no part", finding->message);
    else if (!named)
        complain(row, twin, "the words name no part", finding->message);
}

static void check_fires(struct row *row, enum twin twin, const struct judgement *judgement,
                        enum level level)
{
    const struct rule *rule = row->rule->rule;
    const struct finding *finding = find_finding(judgement, rule, level);
    if (!finding) {
        complain(row, twin, "the rule does not fire", level_name(level));
        return;
    }
    if (twin == CAUTIONS && find_finding(judgement, rule, LEVEL_ERROR))
        complain(row, twin, "the rule fires as an error too", NULL);
    check_words(row, twin, finding);
    row->told[twin] = level_name(level);
}

static void check_silent(struct twins *twins, struct row *row, const struct judgement *judgement,
                         const struct rig *rig)
{
    const struct rule *rule = row->rule->rule;
    size_t before = row->problems;
    for (size_t i = 0; i < judgement->finding_count; i++)
        if (judgement->findings[i].from == rule)
            complain(row, SILENT, "the rule speaks", judgement->findings[i].message);
    size_t held = count_held(twins, rig, rule);
    if (held == 0 && !row->file.not_asked && !row->rule->reminder)
        complain(row, SILENT, "the rule was not asked", NULL);
    if (held > 0 && row->file.not_asked)
        complain(row, SILENT, "the head says that the rule is not asked, but it was", NULL);
    if (row->problems == before)
        row->told[SILENT] = row->rule->reminder ? "quiet" : held ? "holds" : "not asked";
}

/* A part that nothing leads to is a slip of the file's author, but for the rule that says so. */
static void check_smells(struct row *row, enum twin twin, const struct judgement *judgement)
{
    static const char smell[] = "list.every-part-is-used";
    for (size_t i = 0; i < judgement->finding_count; i++)
        if (strcmp(judgement->findings[i].rule, smell) == 0 &&
            strcmp(row->rule->rule->name, smell) != 0)
            complain(row, twin, "a part lies idle", judgement->findings[i].message);
}

/* The steps of the work are told only to who asks for them. */
static bool is_step(const char *rule)
{
    return strncmp(rule, JUDGE_STEPS ".", sizeof JUDGE_STEPS) == 0;
}

static void judge_twin(struct twins *twins, struct row *row, enum twin twin)
{
    const struct compiled_rule *rule = row->rule;
    struct arena *arena = arena_new();
    assert_non_null(arena);
    struct diagnostics diagnostics = {.arena = arena};
    struct rig *rig = read_twin(twins, row, twin, &diagnostics);
    if (rig) {
        struct judgement judgement = judge(twins, rig, NULL);
        check_smells(row, twin, &judgement);
        if (is_step(rule->rule->name))
            judgement = judge(twins, rig, rule->rule->name);
        if (twin == SILENT)
            check_silent(twins, row, &judgement, rig);
        else
            check_fires(row, twin, &judgement,
                        rule->reminder                    ? LEVEL_REMINDER
                        : rule->error && twin != CAUTIONS ? LEVEL_ERROR
                                                          : LEVEL_CAUTION);
    }
    arena_drop(arena);
}

/* ---- the table ---- */

static size_t count_proofs(const struct rule *rule, const char *expect)
{
    size_t count = 0;
    for (size_t i = 0; i < rule->proof_count; i++)
        count += strcmp(rule->proofs[i].expect, expect) == 0;
    return count;
}

static size_t count_limits(const struct rule *rule)
{
    size_t count = 0;
    for (size_t i = 0; i < rule->proof_count; i++)
        count += rule->proofs[i].limit;
    return count;
}

static bool compares(const struct compiled_rule *rule)
{
    return (rule->error && formula_compares(rule->error)) ||
           (rule->caution && formula_compares(rule->caution));
}

/* A number of proofs, "-" where none is wanted, or a gap. */
static const char *proof_cell(struct row *row, char *room, size_t size, bool wanted, size_t count)
{
    if (count == 0 && wanted)
        row->problems++;
    if (count == 0)
        return wanted ? "GAP" : "-";
    snprintf(room, size, "%zu", count);
    return room;
}

static const char *twin_cell(const struct row *row, enum twin twin)
{
    return row->told[twin] ? row->told[twin] : row->file.bytes ? "GAP" : "none yet";
}

static void print_row(struct row *row)
{
    char holds[24], fails[24], limit[24];
    const struct rule *rule = row->rule->rule;
    bool reminder = row->rule->reminder;
    bool two = row->rule->error && row->rule->caution;
    size_t errors = count_proofs(rule, "error"), cautions = count_proofs(rule, "caution");
    bool lacks = two && (errors == 0 || cautions == 0);
    printf("%-48s %-6s %-6s %-6s %s%s%s, %s\n", rule->name,
           proof_cell(row, holds, sizeof holds, true,
                      count_proofs(rule, reminder ? "reminder" : "holds")),
           proof_cell(row, fails, sizeof fails, !reminder, lacks ? 0 : errors + cautions),
           proof_cell(row, limit, sizeof limit, compares(row->rule), count_limits(rule)),
           twin_cell(row, FIRES), row->told[CAUTIONS] ? " and " : "",
           row->told[CAUTIONS] ? row->told[CAUTIONS] : "", twin_cell(row, SILENT));
}

static void print_head(void)
{
    printf(
        "\nEvery rule, its proofs (how many hold, fail, stand exactly at the limit) and what it\n"
        "says of its two twins. A rule that only reminds neither holds nor fails: its first\n"
        "figure counts proofs in which it reminds, then stands '-'. A rule that compares nothing\n"
        "has no limit: '-'.\n\n%-48s %-6s %-6s %-6s %s\n",
        "rule", "holds", "fails", "limit", "firing twin, silent twin");
}

/* ---- the test ---- */

static void judge_file(struct twins *twins, struct row *row)
{
    const struct file *file = &row->file;
    if (file->bytes[0] != '#')
        complain(row, FIRES, "the head does not tell the mistake", NULL);
    if (!file->has[FIRES] && !file->has[SILENT])
        complain(row, FIRES, "no line tells the twins apart", NULL);
    judge_twin(twins, row, FIRES);
    judge_twin(twins, row, SILENT);
    if (file->has[CAUTIONS])
        judge_twin(twins, row, CAUTIONS);
}

static void judge_row(struct twins *twins, const struct compiled_rule *rule)
{
    struct row row = {.rule = rule, .file = read_file(twins->arena, rule->rule->name)};
    assert_true(rulebook_ready(rule));
    if (row.file.bytes)
        judge_file(twins, &row);
    else
        complain(&row, FIRES, "there is no such file", NULL);
    print_row(&row);
    twins->problems += row.problems;
    twins->not_asked += row.file.not_asked;
    twins->reminders += rule->reminder && row.file.bytes;
    twins->held += row.told[SILENT] && strcmp(row.told[SILENT], "holds") == 0;
}

/* A file that is named after no rule tests nothing. */
static size_t count_strays(struct twins *twins)
{
    size_t strays = 0, end = strlen(ENDING);
    DIR *folder = opendir(FOLDER);
    assert_non_null(folder);
    for (const struct dirent *entry; (entry = readdir(folder)) != NULL;) {
        size_t length = strlen(entry->d_name);
        if (entry->d_name[0] == '.')
            continue;
        bool named = length > end && strcmp(entry->d_name + length - end, ENDING) == 0;
        const char *rule = arena_copy(twins->arena, entry->d_name, named ? length - end : length);
        if (!named || !store_rule(&twins->store, rule)) {
            print_error(FOLDER "/%s is named after no rule\n", entry->d_name);
            strays++;
        }
    }
    closedir(folder);
    return strays;
}

static void every_rule_tells_its_twins_apart(void **state)
{
    (void)state;
    struct twins twins = {.arena = arena_new()};
    assert_non_null(twins.arena);
    struct diagnostics diagnostics = {.arena = twins.arena};
    store_builtin(&twins.store);
    twins.book = rulebook_new(twins.arena, &twins.store, &diagnostics);
    twins.defaults = defaults_new(twins.arena, &twins.store, &diagnostics);
    assert_non_null(twins.book);
    assert_non_null(twins.defaults);
    print_head();
    for (size_t i = 0; i < twins.book->rule_count; i++)
        judge_row(&twins, &twins.book->rules[i]);
    printf("\n%zu rules: %zu hold in their silent twin, %zu are not asked there, %zu only "
           "remind.\n",
           twins.book->rule_count, twins.held, twins.not_asked, twins.reminders);
    assert_int_equal(twins.problems + count_strays(&twins), 0);
    arena_drop(twins.arena);
}

/* ---- the marks themselves ---- */

static void marks_choose_lines(void **state)
{
    (void)state;
    struct arena *arena = arena_new();
    assert_non_null(arena);
    static const char bytes[] = "# head\na: 1 # fires\na: 2 # silent, cautions\nb: '#' # why\n";
    assert_string_equal(twin_text(arena, bytes, FIRES), "# head\na: 1 # fires\n\nb: '#' # why\n");
    assert_string_equal(twin_text(arena, bytes, CAUTIONS),
                        "# head\n\na: 2 # silent, cautions\nb: '#' # why\n");
    assert_string_equal(twin_text(arena, bytes, SILENT), twin_text(arena, bytes, CAUTIONS));
    assert_int_equal(line_mark("a: 1 # fires silent", 19), 0);
    assert_int_equal(line_mark("fires", 5), 0);
    assert_int_equal(line_mark("# silent: not asked, because", 28), 0);
    arena_drop(arena);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(marks_choose_lines),
                                       cmocka_unit_test(every_rule_tells_its_twins_apart)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
