/* test_examples.c - whole rigs: what is found in each of examples/NAME.rig.yaml is
 * exactly what examples/NAME.expected lists, a line for each finding:
 *     level rule part [part]
 * sorted by bytes; lines that begin with # tell which mistakes were planted.
 * Reminders, which every rig gets, are left out. */
#include "check.h"

#include <dirent.h>

#include "judge/judge.h"
#include "rig/rig.h"
#include "solve/solve.h"

#define FOLDER "examples"
#define MOST 400 /* lines of a rig's findings, and rigs */

struct lines {
    const char *at[MOST];
    size_t count;
};

static void lines_add(struct lines *lines, const char *line)
{
    assert_non_null(line);
    assert_true(lines->count < MOST);
    lines->at[lines->count++] = line;
}

static int by_bytes(const void *a, const void *b)
{
    return strcmp(*(const char *const *)a, *(const char *const *)b);
}

static void lines_sort(struct lines *lines)
{
    qsort(lines->at, lines->count, sizeof *lines->at, by_bytes);
}

/* Names without their ending, sorted. */
static void list_rigs(struct arena *arena, struct lines *names)
{
    static const char ending[] = ".rig.yaml";
    DIR *folder = opendir(FOLDER);
    assert_non_null(folder);
    for (const struct dirent *entry; (entry = readdir(folder)) != NULL;) {
        size_t length = strlen(entry->d_name), end = sizeof ending - 1;
        if (length > end && strcmp(entry->d_name + length - end, ending) == 0)
            lines_add(names, arena_copy(arena, entry->d_name, length - end));
    }
    closedir(folder);
    lines_sort(names);
}

static void read_expected(struct arena *arena, const char *name, struct lines *out)
{
    char line[512];
    const char *path = arena_print(arena, FOLDER "/%s.expected", name);
    assert_non_null(path);
    FILE *file = fopen(path, "rb");
    if (!file)
        fail_msg("there is no %s", path);
    while (fgets(line, sizeof line, file)) {
        line[strcspn(line, "\n")] = '\0';
        if (line[0] != '\0' && line[0] != '#')
            lines_add(out, arena_string(arena, line));
    }
    fclose(file);
}

static const char *finding_line(struct arena *arena, const struct finding *finding)
{
    const char *parts[] = {"", ""};
    for (size_t i = 0; i < finding->part_count; i++)
        parts[i] = finding->parts[i];
    return arena_print(arena, "%s %s%s%s%s%s", level_name(finding->level), finding->rule,
                       parts[0][0] ? " " : "", parts[0], parts[1][0] ? " " : "", parts[1]);
}

/* The rig, solved; `store` and `diagnostics` are the caller's. */
static struct rig *solved(struct arena *arena, const char *name, struct store *store,
                          struct diagnostics *diagnostics)
{
    struct rig *rig = NULL;
    store_builtin(store);
    const struct defaults *defaults = defaults_new(arena, store, diagnostics);
    assert_non_null(defaults);
    const char *path = arena_print(arena, FOLDER "/%s.rig.yaml", name);
    assert_int_equal(rig_read(arena, store, defaults, path, diagnostics, &rig), OUTCOME_OK);
    assert_int_equal(solve_rig(rig, diagnostics), OUTCOME_OK);
    return rig;
}

static void find(struct arena *arena, const char *name, struct lines *out)
{
    struct store store;
    struct diagnostics diagnostics = {.arena = arena};
    struct judge_options options = {0};
    struct judgement judgement;
    struct rig *rig = solved(arena, name, &store, &diagnostics);
    const struct rulebook *book = rulebook_new(arena, &store, &diagnostics);
    assert_non_null(book);
    assert_int_equal(judge_rig(book, rig, &diagnostics, &options, &judgement), OUTCOME_OK);
    for (size_t i = 0; i < judgement.finding_count; i++)
        if (judgement.findings[i].level != LEVEL_REMINDER && !judgement.findings[i].accepted)
            lines_add(out, finding_line(arena, &judgement.findings[i]));
    lines_sort(out);
}

/* Prints what one has and the other lacks; gives how many lines that were. */
static size_t compare(const char *name, const struct lines *got, const struct lines *want)
{
    size_t g = 0, w = 0, differences = 0;
    while (g < got->count || w < want->count) {
        int order = g == got->count ? 1 : w == want->count ? -1 : strcmp(got->at[g], want->at[w]);
        if (order < 0)
            print_error("%s: not expected: %s\n", name, got->at[g]);
        else if (order > 0)
            print_error("%s: not found: %s\n", name, want->at[w]);
        differences += order != 0;
        g += order <= 0;
        w += order >= 0;
    }
    return differences;
}

static void every_rig_is_judged_as_expected(void **state)
{
    (void)state;
    struct arena *arena = arena_new();
    struct lines names = {.count = 0};
    size_t differences = 0, clean = 0, faulty = 0;
    assert_non_null(arena);
    list_rigs(arena, &names);
    for (size_t i = 0; i < names.count; i++) {
        struct lines got = {.count = 0}, want = {.count = 0};
        find(arena, names.at[i], &got);
        read_expected(arena, names.at[i], &want);
        differences += compare(names.at[i], &got, &want);
        clean += want.count == 0;
        faulty += want.count > 2;
    }
    assert_true(clean >= 4);
    assert_true(faulty >= 4);
    assert_int_equal(differences, 0);
    arena_drop(arena);
}

static double solved_figure(const struct rig *rig, const char *id, const char *attribute,
                            enum condition condition)
{
    size_t part;
    assert_true(names_find(rig->names, id, &part));
    int at = kind_attribute(rig->parts[part].kind, attribute);
    assert_true(at >= 0);
    return rig->parts[part].values[at].solved[condition];
}

/* Two strings that meet have no voltage of their own in the dark: nothing flows, nothing is lost.
 */
static void two_strings_in_the_dark(void **state)
{
    (void)state;
    struct arena *arena = arena_new();
    struct store store;
    struct diagnostics diagnostics = {.arena = arena};
    assert_non_null(arena);
    struct rig *rig = solved(arena, "orchard-two-strings", &store, &diagnostics);
    static const char *const runs[] = {"row-a-box", "row-b-box", "box-pump"};
    for (size_t i = 0; i < sizeof runs / sizeof *runs; i++) {
        assert_true(solved_figure(rig, runs[i], "amps", CONDITION_DARK) == 0.0);
        assert_true(solved_figure(rig, runs[i], "drop_share", CONDITION_DARK) == 0.0);
        assert_true(solved_figure(rig, runs[i], "drop_share", CONDITION_BRIGHT_NOON) > 0.0);
    }
    arena_drop(arena);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(every_rig_is_judged_as_expected),
                                       cmocka_unit_test(two_strings_in_the_dark)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
