/* test_unread.c - what becomes of every example when one of its figures can't be read: each value
 * in turn is spoilt in the text, and the rig is read, solved and judged again. The mistake is told,
 * and nothing else is made of it: no question, no finding that the sound rig did not have, no
 * assumption in its place. What does not need the value is still judged. */
#include "rigs.h"

#include <dirent.h>
#include <time.h>

#include "judge/judge.h"

#define FOLDER "examples"
#define ENDING ".rig.yaml"
#define TEXT_MOST 16384 /* bytes of an example */

struct court {
    struct store store;
    const struct defaults *defaults;
    const struct rulebook *book;
};

struct judged {
    struct arena *arena;
    struct diagnostics diagnostics;
    struct rig *rig;
    struct judgement judgement;
};

static void court_open(struct court *court, struct arena *arena)
{
    struct diagnostics diagnostics = {.arena = arena};
    store_builtin(&court->store);
    court->defaults = defaults_new(arena, &court->store, &diagnostics);
    court->book = rulebook_new(arena, &court->store, &diagnostics);
    assert_non_null(court->defaults);
    assert_non_null(court->book);
}

/* Labels are taken at their word, which is quicker. */
static void judge_text(const struct court *court, const char *text, struct judged *out)
{
    static const struct judge_options options = {.trusting = true};
    *out = (struct judged){.arena = arena_new()};
    assert_non_null(out->arena);
    out->diagnostics.arena = out->arena;
    assert_int_equal(rig_read_bytes(out->arena, &court->store, court->defaults, "t.rig.yaml", text,
                                    strlen(text), &out->diagnostics, &out->rig),
                     OUTCOME_OK);
    assert_int_equal(solve_rig(out->rig, &out->diagnostics), OUTCOME_OK);
    assert_int_equal(judge_rig(court->book, out->rig, &out->diagnostics, &options, &out->judgement),
                     OUTCOME_OK);
}

static bool is_same(const struct finding *a, const struct finding *b)
{
    if (!b->from || strcmp(a->rule, b->rule) != 0 || a->part_count != b->part_count)
        return false;
    for (size_t i = 0; i < a->part_count; i++)
        if (strcmp(a->parts[i], b->parts[i]) != 0)
            return false;
    return true;
}

static bool has(const struct judgement *judgement, const struct finding *finding)
{
    for (size_t i = 0; i < judgement->finding_count; i++)
        if (is_same(finding, &judgement->findings[i]))
            return true;
    return false;
}

/* Findings that several parts bring are told of the first, which may now be another. */
static bool has_of_rule(const struct judgement *judgement, const struct finding *finding)
{
    for (size_t i = 0; i < judgement->finding_count; i++)
        if (judgement->findings[i].from && strcmp(judgement->findings[i].rule, finding->rule) == 0)
            return finding->part_count == 2;
    return false;
}

/* How many findings stand in `spoilt` that the sound rig did not have. */
static unsigned compare(const struct judged *sound, const struct judged *spoilt, const char *what)
{
    unsigned wrong = 0;
    for (size_t i = 0; i < spoilt->judgement.finding_count; i++) {
        const struct finding *finding = &spoilt->judgement.findings[i];
        if (!finding->from || has(&sound->judgement, finding) ||
            has_of_rule(&sound->judgement, finding))
            continue;
        print_message("%s: %s %s%s%s: %s\n", what, level_name(finding->level), finding->rule,
                      finding->part_count ? " " : "", finding->part_count ? finding->parts[0] : "",
                      finding->message);
        wrong++;
    }
    return wrong;
}

/* The next value of an attribute from *at on: what stands behind "WORD: " up to a comma, a bracket
 * or the line's end, and is no mapping or list. */
static bool next_value(const char *text, size_t *at, size_t *length)
{
    for (const char *colon = text + *at; (colon = strstr(colon, ": ")); colon += 2) {
        const char *value = colon + 2 + strspn(colon + 2, " ");
        const char *line = colon;
        while (line > text && line[-1] != '\n')
            line--;
        size_t size = strcspn(value, ",}]#\n");
        while (size && value[size - 1] == ' ')
            size--;
        if (!size || strchr("{[\"", *value) || memchr(line, '#', (size_t)(colon - line)))
            continue;
        *at = (size_t)(value - text);
        *length = size;
        return true;
    }
    return false;
}

/* Keys that are no attributes of a part: what they name is there or not. */
static bool is_attribute(const char *text, size_t value)
{
    static const char *const others[] = {"rigtally", "name", "practice", "use",   "is", "from",
                                         "to",       "id",   "part",     "rule",  "on", "until",
                                         "because",  "ends", "month",    "senses"};
    size_t end = value;
    while (text[end - 1] == ' ')
        end--;
    size_t start = --end;
    while (start > 0 && strchr("abcdefghijklmnopqrstuvwxyz_", text[start - 1]))
        start--;
    for (size_t i = 0; i < sizeof others / sizeof *others; i++)
        if (strlen(others[i]) == end - start && strncmp(others[i], text + start, end - start) == 0)
            return false;
    return true;
}

struct tally {
    unsigned values, wrong;
    size_t promises, judged; /* of the sound rigs, and of those when spoilt */
};

/* One value spoilt; where any text will do it can be read as well as before, and nothing is asked.
 */
static void spoil(const struct court *court, const struct judged *sound, const char *text,
                  size_t at, size_t length, const char *name, struct tally *tally)
{
    char spoilt[TEXT_MOST + 8], what[96];
    struct judged judged;
    snprintf(spoilt, sizeof spoilt, "%.*s'~?~'%s", (int)at, text, text + at + length);
    judge_text(court, spoilt, &judged);
    bool told = judged.diagnostics.count > sound->diagnostics.count;
    snprintf(what, sizeof what, "%s, byte %zu, %.*s", name, at, (int)(length < 24 ? length : 24),
             text + at);
    if (told) {
        if (!judged.rig->unread)
            print_message("%s: is not known to be unread\n", what);
        tally->wrong += !judged.rig->unread + compare(sound, &judged, what);
        tally->promises += sound->judgement.promises;
        tally->judged += judged.judgement.promises;
        tally->values++;
    }
    arena_drop(judged.arena);
}

static void spoil_all(const struct court *court, const char *name, struct tally *tally)
{
    char path[300], text[TEXT_MOST];
    struct judged sound;
    snprintf(path, sizeof path, FOLDER "/%s", name);
    FILE *file = fopen(path, "r");
    assert_non_null(file);
    size_t size = fread(text, 1, sizeof text - 1, file);
    text[size] = '\0';
    fclose(file);
    judge_text(court, text, &sound);
    for (size_t at = 0, length; next_value(text, &at, &length); at += length)
        if (is_attribute(text, at))
            spoil(court, &sound, text, at, length, name, tally);
    arena_drop(sound.arena);
}

static void nothing_is_made_of_what_cannot_be_read(void **state)
{
    (void)state;
    struct arena *arena = arena_new();
    struct court court;
    court_open(&court, arena);
    DIR *folder = opendir(FOLDER);
    assert_non_null(folder);
    unsigned rigs = 0;
    struct tally tally = {0};
    for (const struct dirent *entry; (entry = readdir(folder));) {
        size_t length = strlen(entry->d_name);
        if (length < sizeof ENDING || strcmp(entry->d_name + length - strlen(ENDING), ENDING) != 0)
            continue;
        rigs++;
        spoil_all(&court, entry->d_name, &tally);
    }
    closedir(folder);
    arena_drop(arena);
    print_message("%u values of %u rigs were spoilt; of %zu promises %zu were still judged\n",
                  tally.values, rigs, tally.promises, tally.judged);
    assert_true(rigs >= 10 && tally.values >= 300);
    assert_true(tally.judged > tally.promises / 3);
    assert_int_equal(tally.wrong, 0);
}

#define RIG(panel, pump)                                                                           \
    "rigtally: 1\nsite: { latitude: 45 deg, air: 2 .. 30 degC, water: 5 .. 20 degC }\nparts:\n"    \
    "  panel: { " panel " }\n"                                                                     \
    "  key:   { use: isolator-dc-16a, terminal: 0.5 .. 6 mm2 }\n"                                  \
    "  pump:  { " pump " }\ncables:\n"                                                             \
    "  - { from: panel, to: pump, use: cable-2x2.5mm2, length: 3 m, through: [key] }\n"
#define PANEL "use: panel-60w-36cell, tilt: 40 deg, azimuth: 180 deg"
#define PUMP "use: pond-pump-35w-24v"

/* What is near counts as written: the slip is told once. */
static void a_slip_of_the_pen_is_told_once(void **state)
{
    (void)state;
    static const char *const rows[] = {
        RIG("use: panel-60w-36cel, tilt: 40 deg", PUMP),
        RIG("is: pannel, power: 60 W", PUMP),
        RIG(PANEL ", vpm: 17 V", PUMP),
        RIG("is: panel, power: 60 W, cells: 36, voc_temp: -69 mV/K", PUMP),
        RIG(PANEL, PUMP ", voltage: 23,5 V"),
        RIG(PANEL, "is: pump, max_hed: 4 m, power: 20 W, voltage: 24 V, max_flow: 600 L/h"),
        RIG(PANEL, "use: pond-pump-35w-24w"),
    };
    struct arena *arena = arena_new();
    struct court court;
    struct judged judged;
    court_open(&court, arena);
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        judge_text(&court, rows[i], &judged);
        if (judged.diagnostics.count != 1)
            fail_msg("told %zu times:\n%s", judged.diagnostics.count, rows[i]);
        assert_true(judged.rig->unread);
        assert_true(judged.judgement.unread > 0);
        arena_drop(judged.arena);
    }
    arena_drop(arena);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(nothing_is_made_of_what_cannot_be_read),
        cmocka_unit_test(a_slip_of_the_pen_is_told_once),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
