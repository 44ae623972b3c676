/* test_rules.c - the rules that are built in: they compile, their proofs come out
 * as written, they tell why, what would do and where it is written. */
#include "check.h"

#include "base/arena.h"
#include "judge/judge.h"
#include "store/store.h"

struct fixture {
    struct arena *arena;
    struct store store;
    struct diagnostics diagnostics;
    const struct rulebook *book;
};

static int set_up(void **state)
{
    static struct fixture fixture;
    fixture.arena = arena_new();
    if (!fixture.arena)
        return -1;
    fixture.diagnostics = (struct diagnostics){.arena = fixture.arena};
    store_builtin(&fixture.store);
    fixture.store.sound_rule_count = 0; /* so that all are compiled here */
    fixture.book = rulebook_new(fixture.arena, &fixture.store, &fixture.diagnostics);
    *state = &fixture;
    return 0;
}

static int tear_down(void **state)
{
    struct fixture *fixture = *state;
    arena_drop(fixture->arena);
    return 0;
}

static void all_rules_compile(void **state)
{
    const struct fixture *fixture = *state;
    for (size_t i = 0; i < fixture->diagnostics.count; i++)
        print_error("%s:%u:%u: %s\n", fixture->diagnostics.at[i].at.file,
                    fixture->diagnostics.at[i].at.line, fixture->diagnostics.at[i].at.column,
                    fixture->diagnostics.at[i].message);
    assert_non_null(fixture->book);
    assert_int_equal(fixture->diagnostics.count, 0);
    assert_true(fixture->store.rule_count > 0);
}

static void tell_proof(void *data, const struct proof_result *result)
{
    (void)data;
    if (!result->as_expected)
        print_error("%s, line %u: expected %s, got %s%s%s\n", result->rule->name,
                    result->proof->at.line, result->proof->expect, result->got,
                    result->problem ? ": " : "", result->problem ? result->problem : "");
}

static void all_proofs_come_out(void **state)
{
    const struct fixture *fixture = *state;
    size_t proofs = 0;
    assert_non_null(fixture->book);
    for (size_t i = 0; i < fixture->store.rule_count; i++) {
        size_t ran, wrong;
        assert_int_equal(judge_prove(fixture->arena, fixture->book, &fixture->store.rules[i],
                                     tell_proof, NULL, &ran, &wrong),
                         OUTCOME_OK);
        assert_int_equal(wrong, 0);
        assert_int_equal(ran, fixture->store.rules[i].proof_count);
        proofs += ran;
    }
    assert_true(proofs >= 2 * fixture->store.rule_count);
}

/* A holding proof, a failing one for each level, one at the limit. */
static void no_proof_lacks(void **state)
{
    const struct fixture *fixture = *state;
    assert_non_null(fixture->book);
    for (size_t i = 0; i < fixture->store.rule_count; i++) {
        const char *lack = judge_proofs_lack(fixture->book, &fixture->store.rules[i]);
        if (lack)
            print_error("%s lacks %s\n", fixture->store.rules[i].name, lack);
        assert_null(lack);
    }
}

static bool has_proof(const struct rule *rule, const char *expect)
{
    for (size_t i = 0; i < rule->proof_count; i++)
        if (strcmp(rule->proofs[i].expect, expect) == 0)
            return true;
    return false;
}

/* Families whose rules rest on figures of parts. */
static bool rests_on_figures(const struct rule *rule)
{
    static const char *const families[] = {"panel.", "converter.", "battery.", "supply.",
                                           "cable.", "fuse.",      "contact.", "wiring.",
                                           "pump.",  "pipe.",      "valve.",   "need."};
    if (rule->remind.text || strcmp(rule->name, "pump.inlet-is-screened") == 0) /* listed or not */
        return false;
    for (size_t i = 0; i < sizeof families / sizeof *families; i++)
        if (strncmp(rule->name, families[i], strlen(families[i])) == 0)
            return true;
    return false;
}

/* What a figure that is missing makes of it, is proved as well: a question, not silence. */
static void what_is_missing_is_asked(void **state)
{
    const struct fixture *fixture = *state;
    for (size_t i = 0; i < fixture->store.rule_count; i++) {
        const struct rule *rule = &fixture->store.rules[i];
        if (!rests_on_figures(rule))
            continue;
        if (!has_proof(rule, "question"))
            print_error("%s has no proof that asks\n", rule->name);
        assert_true(has_proof(rule, "question"));
    }
}

static bool is_empty(const char *text)
{
    return !text || !text[strspn(text, " \t\n")];
}

static void every_rule_explains_itself(void **state)
{
    const struct fixture *fixture = *state;
    for (size_t i = 0; i < fixture->store.rule_count; i++) {
        const struct rule *rule = &fixture->store.rules[i];
        bool reminds = rule->remind.text != NULL;
        if (is_empty(rule->because) || !rule->source_count ||
            (!reminds && is_empty(rule->mend.text)))
            print_error("%s does not explain itself\n", rule->name);
        assert_false(is_empty(rule->because));
        assert_true(rule->source_count > 0);
        assert_false(!reminds && is_empty(rule->mend.text));
        for (size_t k = 0; k < rule->source_count; k++)
            assert_false(is_empty(rule->sources[k].text));
    }
}

/* A source for one practice needs one for the other, unless the rule itself is for one only. */
static void both_practices_have_sources(void **state)
{
    const struct fixture *fixture = *state;
    for (size_t i = 0; i < fixture->store.rule_count; i++) {
        const struct rule *rule = &fixture->store.rules[i];
        bool iec = false, america = false, both = false;
        for (size_t k = 0; k < rule->source_count; k++) {
            iec |= rule->sources[k].practice == PRACTICE_IEC;
            america |= rule->sources[k].practice == PRACTICE_NORTH_AMERICA;
            both |= rule->sources[k].practice == PRACTICE_ANY;
        }
        bool fine = rule->practice == PRACTICE_IEC             ? iec || both
                    : rule->practice == PRACTICE_NORTH_AMERICA ? america || both
                                                               : iec == america;
        if (!fine)
            print_error("%s has sources for one practice only\n", rule->name);
        assert_true(fine);
    }
}

static void reminders_of_the_site_send_to_the_authority(void **state)
{
    const struct fixture *fixture = *state;
    size_t reminders = 0;
    for (size_t i = 0; i < fixture->store.rule_count; i++) {
        const struct rule *rule = &fixture->store.rules[i];
        if (strncmp(rule->name, "site.", 5) != 0)
            continue;
        assert_non_null(rule->remind.text);
        assert_non_null(strstr(rule->remind.text, "Ask your local authority"));
        assert_non_null(rule->when.text);
        reminders++;
    }
    assert_true(reminders >= 8);
}

/* Every promise that the list of promises of a good rig has by name. */
static void the_promises_are_there(void **state)
{
    static const char *const names[] = {
        "panel.runs-pump",
        "panel.starts-pump",
        "panel.keeps-pump-running",
        "panel.voltage-reaches-load",
        "panel.cold-voltage-is-safe",
        "panel.strings-match",
        "panel.backfeed-is-fused",
        "panel.suits-controller",
        "panel.faces-the-sun",
        "controller.takes-panel-current",
        "controller.suits-battery",
        "controller.feeds-load",
        "controller.offers-mode",
        "converter.takes-input",
        "converter.suits-load",
        "converter.carries-load",
        "battery.lasts",
        "battery.is-refilled",
        "battery.charges-gently",
        "battery.charges-in-cold",
        "battery.suits-load-voltage",
        "battery.is-vented",
        "battery.is-fused-close",
        "supply.carries-load",
        "cable.carries-current",
        "cable.keeps-voltage",
        "cable.suits-place",
        "cable.fits-terminal",
        "fuse.protects-cable",
        "fuse.carries-load",
        "fuse.survives-start",
        "fuse.breaks-dc",
        "fuse.suits-panel",
        "plug.mates",
        "plug.carries-current",
        "plug.keeps-water-out",
        "contact.switches-dc",
        "contact.survives-start",
        "coil-winding.gets-its-voltage",
        "coil-winding.is-suppressed",
        "wiring.stays-low-voltage",
        "wiring.can-be-isolated",
        "thermostat.covers-setpoint",
        "thermostat.acts-the-right-way",
        "thermostat.band-is-wide-enough",
        "thermostat.does-not-chatter",
        "sensor.sits-where-it-counts",
        "valve.fails-safe",
        "pump.voltage-fits",
        "pump.clears-lift",
        "pump.primes",
        "pump.delivers",
        "pump.stays-wet",
        "pump.suction-is-short",
        "pump.stands-heat",
        "pump.ports-fit",
        "pump.may-run-all-day",
        "pump.inlet-is-screened",
        "pipe.holds-pressure",
        "pipe.stands-heat",
        "pipe.flows-well",
        "pipe.lets-air-out",
        "pipe.ends-fit",
        "pipe.keeps-out-light",
        "pipe.resists-frost",
        "pipe.does-not-siphon",
        "metals.get-along",
        "pipe.flows-by-gravity",
        "valve.holds-pressure",
        "valve.opens-at-pressure",
        "valve.passes-flow",
        "valve.stands-heat",
        "valve.may-stay-open",
        "valve.closes-softly",
        "valve.is-screened",
        "coil.gets-its-flow",
        "coil.survives-standstill",
        "coil.suits-tank",
        "coil.holds-heat-at-night",
        "tank.gets-warm",
        "tank.stands-heat",
        "tank.keeps-warm",
        "loop.can-expand",
        "water.does-not-scald",
        "water.stays-wholesome",
        "need.is-met",
        "list.every-part-is-used",
        "list.every-joint-has-its-clamp",
        "list.every-plug-has-its-mate",
        "list.every-need-is-stated",
        "list.has-spares",
    };
    const struct fixture *fixture = *state;
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        if (!store_rule(&fixture->store, names[i]))
            print_error("there is no %s\n", names[i]);
        assert_non_null(store_rule(&fixture->store, names[i]));
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(all_rules_compile),
        cmocka_unit_test(all_proofs_come_out),
        cmocka_unit_test(no_proof_lacks),
        cmocka_unit_test(what_is_missing_is_asked),
        cmocka_unit_test(every_rule_explains_itself),
        cmocka_unit_test(both_practices_have_sources),
        cmocka_unit_test(reminders_of_the_site_send_to_the_authority),
        cmocka_unit_test(the_promises_are_there),
    };
    return cmocka_run_group_tests(tests, set_up, tear_down);
}
