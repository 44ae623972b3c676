/* test_without.c - what becomes of every example when one of its figures is left out: each
 * attribute in turn is cut from the text, and the rig is read, solved and judged again. Whatever
 * was promised before must then be asked about, found fault with, or rest on a figure that the list
 * shows as assumed or as the catalogue's; nothing may pass in silence. A promise passes in silence
 * when
 *   - it still holds, the attribute that it looks at is not known, nothing stands in for it, and
 *     there is a value of it with which the promise would fail; or
 *   - it holds or is no longer asked because a solved figure was lost, and no finding that was not
 *     there before names the part. */
#include "rigs.h"

#include <dirent.h>
#include <time.h>

#include "judge/judge.h"
#include "judge/rulebook.h"

#define FOLDER "examples"
#define ENDING ".rig.yaml"
#define TEXT_MOST 16384 /* bytes of an example */

/* One promise of a rig as it came out, and what it looked at. */
struct outcome_of {
    size_t rule, parts[2]; /* NO_PART: no second */
    bool asked, failed, missing;
    unsigned char *looked; /* by attribute of the whole rig: bits below */
    bool assumed;          /* something stood in for what is not known */
};
enum { IN_WHEN = 1, IN_FORMULA = 2 };

struct judged {
    struct arena *arena;
    struct diagnostics diagnostics;
    struct rig *rig;
    struct solve_lacks lacks;
    size_t *first; /* by part: its first attribute among all */
    size_t attribute_count;
    struct {
        struct outcome_of *at;
        size_t count, room;
    } promises;
    struct judgement judgement;
};

/* ---- a world that notes what is looked at, and may put one value in place of another ---- */

struct spy {
    struct formula_world inner;
    struct judged *judged;
    unsigned char *looked; /* NULL: nothing is noted */
    unsigned char bit;
    const struct value *probe; /* NULL: nothing is put in */
    size_t part;
    int attribute;
};

static bool is_probed(const struct spy *spy, size_t part, int attribute)
{
    return spy->probe && spy->part == part && spy->attribute == attribute;
}

static void look(const struct spy *spy, size_t part, int attribute)
{
    if (spy->looked)
        spy->looked[spy->judged->first[part] + (size_t)attribute] |= spy->bit;
}

static bool spy_value(const void *data, size_t part, int attribute, enum condition condition,
                      struct value *out, enum origin *origin)
{
    const struct spy *spy = data;
    look(spy, part, attribute);
    if (!is_probed(spy, part, attribute))
        return spy->inner.value(spy->inner.data, part, attribute, condition, out, origin);
    *out = *spy->probe;
    *origin = ORIGIN_GIVEN;
    return true;
}

static double spy_number(const void *data, size_t part, int attribute, enum condition condition,
                         enum origin *origin)
{
    const struct spy *spy = data;
    look(spy, part, attribute);
    if (!is_probed(spy, part, attribute))
        return spy->inner.number(spy->inner.data, part, attribute, condition, origin);
    *origin = ORIGIN_GIVEN;
    return spy->probe->type == VALUE_QUANTITY ? spy->probe->as.quantity.value : (double)NAN;
}

static bool spy_value_of(const void *data, size_t part, int attribute, enum condition condition,
                         double argument, struct value *out, enum origin *origin)
{
    const struct spy *spy = data;
    look(spy, part, attribute);
    return spy->inner.value_of(spy->inner.data, part, attribute, condition, argument, out, origin);
}

static const struct kind *spy_kind(const void *data, size_t part)
{
    const struct spy *spy = data;
    return spy->inner.kind(spy->inner.data, part);
}

static const char *spy_id(const void *data, size_t part)
{
    const struct spy *spy = data;
    return spy->inner.id(spy->inner.data, part);
}

static size_t spy_related(const void *data, size_t part, const char *relation, const size_t **out)
{
    const struct spy *spy = data;
    return spy->inner.related(spy->inner.data, part, relation, out);
}

static size_t spy_of_kind(const void *data, const struct kind *kind, const size_t **out)
{
    const struct spy *spy = data;
    return spy->inner.of_kind(spy->inner.data, kind, out);
}

static struct formula_world world_of(const struct spy *spy)
{
    return (struct formula_world){.data = spy,
                                  .value = spy_value,
                                  .number = spy_number,
                                  .value_of = spy_value_of,
                                  .kind = spy_kind,
                                  .id = spy_id,
                                  .related = spy_related,
                                  .of_kind = spy_of_kind};
}

/* As the judge asks it. */
static bool is_missing(const void *data, const struct formula_use *use)
{
    const struct judged *judged = data;
    struct solve_gap gap;
    const struct attribute *attribute =
        &judged->rig->parts[use->part].kind->attributes[use->attribute];
    return attribute->solved == SOLVED_NO ||
           solve_missing(judged->rig, judged->lacks, use->part, use->attribute, &gap, 1) > 0;
}

/* ---- every promise of a rig ---- */

static void fill_roles(const struct rig *rig, const struct compiled_rule *rule, const size_t *pair,
                       size_t *parts)
{
    for (size_t i = 0; i < rule->role_count; i++)
        parts[i] = i < rule->pair_count                       ? pair[i]
                   : strcmp(rule->roles[i].name, "site") == 0 ? rig->site
                                                              : rig->whole;
}

/* Does anything stand in for what is not known, in a condition? */
static bool rests_on_assumed(const struct compiled_rule *rule, const struct formula_world *world,
                             const size_t *parts)
{
    const struct formula *formulas[] = {rule->when, rule->error, rule->caution};
    for (size_t i = 0; i < 3; i++)
        for (unsigned c = 0; formulas[i] && c < CONDITION_COUNT; c++)
            if (formula_evaluate(formulas[i], world, parts, (enum condition)c, NULL).origin ==
                ORIGIN_ASSUMED)
                return true;
    return false;
}

static struct promise judge_pair(struct judged *judged, const struct compiled_rule *rule,
                                 const size_t *pair, struct spy *spy)
{
    size_t parts[RULE_ROLES_MAX];
    struct promise promise;
    struct formula_world world = world_of(spy);
    fill_roles(judged->rig, rule, pair, parts);
    promise_judge(rule, &world, parts, ALL_CONDITIONS, is_missing, judged, &promise);
    return promise;
}

static void add_promise(struct judged *judged, const struct rulebook *book, size_t index,
                        const size_t *pair)
{
    const struct compiled_rule *rule = &book->rules[index];
    size_t parts[RULE_ROLES_MAX];
    assert_true(ARENA_GROW(judged->arena, &judged->promises));
    struct outcome_of *out = &judged->promises.at[judged->promises.count++];
    *out = (struct outcome_of){
        .rule = index,
        .parts = {pair[0], rule->pair_count > 1 ? pair[1] : NO_PART},
        .looked = ARENA_TAKE(judged->arena, judged->attribute_count + 1, unsigned char)};
    assert_non_null(out->looked);
    struct spy spy = {.inner = rig_world(judged->rig),
                      .judged = judged,
                      .looked = out->looked,
                      .bit = IN_FORMULA};
    struct promise promise = judge_pair(judged, rule, pair, &spy);
    out->asked = promise.asked;
    out->failed = promise.failed;
    out->missing = promise.missing;
    struct formula_world world = world_of(&spy);
    fill_roles(judged->rig, rule, pair, parts);
    spy.bit = IN_WHEN;
    for (unsigned c = 0; rule->when && c < CONDITION_COUNT; c++)
        formula_evaluate(rule->when, &world, parts, (enum condition)c, NULL);
    out->assumed = rests_on_assumed(rule, &world, parts);
}

static bool takes(const struct judged *judged, const struct compiled_rule *rule, size_t role,
                  size_t part)
{
    return rule->takes[role][judged->rig->parts[part].kind - judged->rig->store->kinds];
}

static void add_promises_of(struct judged *judged, const struct rulebook *book, size_t index,
                            size_t part)
{
    const struct compiled_rule *rule = &book->rules[index];
    const size_t *others;
    assert_true(rulebook_ready(rule));
    if (rule->pair_count == 1) {
        add_promise(judged, book, index, &part);
        return;
    }
    size_t count = rig_related(judged->rig, part, rule->relation, &others);
    for (size_t i = 0; i < count; i++)
        if (takes(judged, rule, 1, others[i]))
            add_promise(judged, book, index, (const size_t[]){part, others[i]});
}

static bool is_judged(const struct judged *judged, const struct rule *rule)
{
    return (rule->practice == PRACTICE_ANY || rule->practice == judged->rig->practice) &&
           !rule->remind.text;
}

static void judge_text(struct judged *judged, const struct bench *bench,
                       const struct rulebook *book, const char *text)
{
    struct judge_options options = {0};
    *judged = (struct judged){.arena = arena_new()};
    assert_non_null(judged->arena);
    judged->diagnostics.arena = judged->arena;
    assert_int_equal(rig_read_bytes(judged->arena, &bench->store, bench->defaults, "t.rig.yaml",
                                    text, strlen(text), &judged->diagnostics, &judged->rig),
                     OUTCOME_OK);
    struct rig *rig = judged->rig;
    assert_int_equal(solve_rig(rig, &judged->diagnostics), OUTCOME_OK);
    assert_int_equal(judge_rig(book, rig, &judged->diagnostics, &options, &judged->judgement),
                     OUTCOME_OK);
    judged->lacks = solve_lacks(rig);
    judged->first = ARENA_TAKE(judged->arena, rig->part_count + 1, size_t);
    assert_non_null(judged->first);
    for (size_t i = 0; i < rig->part_count; i++) {
        judged->first[i] = judged->attribute_count;
        judged->attribute_count += rig->parts[i].kind->attribute_count;
    }
    for (size_t r = 0; r < book->rule_count; r++)
        for (size_t i = 0; is_judged(judged, book->rules[r].rule) && i < rig->part_count; i++)
            if (takes(judged, &book->rules[r], 0, i) && !part_is(&rig->parts[i], "spare", "yes"))
                add_promises_of(judged, book, r, i);
}

/* ---- cutting an attribute from the text ---- */

static size_t offset_of(const char *text, struct place at)
{
    size_t offset = 0;
    for (unsigned line = 1; line < at.line; line++)
        offset += strcspn(text + offset, "\n") + 1;
    for (unsigned column = 1; column < at.column; column++) { /* columns count letters, not bytes */
        offset++;
        while (((unsigned char)text[offset] & 0xc0) == 0x80)
            offset++;
    }
    return offset;
}

static size_t end_of_value(const char *text, size_t at)
{
    int depth = 0;
    char quote = '\0';
    for (; text[at]; at++) {
        char c = text[at];
        if (quote) {
            quote = c == quote ? '\0' : quote;
        } else if (c == '"' || c == '\'') {
            quote = c;
        } else if (c == '{' || c == '[') {
            depth++;
        } else if ((c == '}' || c == ']') && depth > 0) {
            depth--;
        } else if (depth == 0 && (strchr(",}]\n", c) || (c == '#' && text[at - 1] == ' '))) {
            break;
        }
    }
    return at;
}

/* A key that stands first on its line, and not in a list in braces: its value ends with the line.
 */
static bool stands_alone(const char *text, size_t key)
{
    size_t at = key;
    while (at > 0 && text[at - 1] == ' ')
        at--;
    bool first = at == 0 || text[at - 1] == '\n';
    while (at > 0 && strchr(" \n", text[at - 1]))
        at--;
    return first && at > 0 && !strchr(",{", text[at - 1]);
}

/* Writes the text without `name: value`; false when the name does not stand before the value. */
static bool cut(const char *text, struct place at, const char *name, char *out)
{
    size_t value = offset_of(text, at), begin = value, end = end_of_value(text, value);
    while (begin > 0 && strchr(" :", text[begin - 1]))
        begin--;
    size_t length = strlen(name);
    if (begin < length || strncmp(text + begin - length, name, length) != 0)
        return false;
    begin -= length;
    if (stands_alone(text, begin)) {
        if (!strchr("{[", text[value]))
            end = value + strcspn(text + value, "\n");
    } else if (text[end] == ',') {
        end++;
    } else {
        size_t before = begin;
        while (before > 0 && strchr(" \n", text[before - 1]))
            before--;
        if (before > 0 && text[before - 1] == ',' && text[end] == '}')
            begin = before - 1;
    }
    snprintf(out, TEXT_MOST, "%.*s%s", (int)begin, text, text + end);
    return true;
}

/* ---- comparing ---- */

static int compare_promises(const void *a, const void *b)
{
    const struct outcome_of *x = a, *y = b;
    if (x->rule != y->rule)
        return x->rule < y->rule ? -1 : 1;
    for (size_t i = 0; i < 2; i++)
        if (x->parts[i] != y->parts[i])
            return x->parts[i] < y->parts[i] ? -1 : 1;
    return 0;
}

static bool mentions(const struct finding *finding, const char *word)
{
    for (size_t i = 0; i < finding->part_count; i++)
        if (strcmp(finding->parts[i], word) == 0)
            return true;
    for (size_t i = 0; i < finding->missing_count; i++)
        if (strstr(finding->missing[i], word))
            return true;
    return finding->message && strstr(finding->message, word);
}

static bool is_new(const struct judged *before, const struct finding *finding)
{
    for (size_t i = 0; i < before->judgement.finding_count; i++)
        if (strcmp(before->judgement.findings[i].message, finding->message) == 0)
            return false;
    return finding->level != LEVEL_REMINDER;
}

/* Is there a finding that was not there before, and that names the part or the attribute? */
static bool is_told(const struct judged *before, const struct judged *after, const char *part,
                    const char *attribute)
{
    for (size_t i = 0; i < after->judgement.finding_count; i++) {
        const struct finding *finding = &after->judgement.findings[i];
        if (is_new(before, finding) && (mentions(finding, part) || mentions(finding, attribute)))
            return true;
    }
    return false;
}

/* Did a solved figure that the promise looked at lose a value? */
static bool lost_a_figure(const struct judged *before, const struct judged *after,
                          const struct outcome_of *promise)
{
    for (size_t p = 0; p < before->rig->part_count; p++) {
        const struct part *was = &before->rig->parts[p], *is = &after->rig->parts[p];
        for (size_t i = 0; i < was->kind->attribute_count; i++) {
            const struct attribute *attribute = &was->kind->attributes[i];
            if (!was->values[i].solved || attribute->of ||
                !(promise->looked[before->first[p] + i] & IN_FORMULA))
                continue;
            size_t count = attribute->solved == SOLVED_ONCE ? 1 : CONDITION_COUNT;
            for (size_t c = 0; c < count; c++)
                if (!isnan(was->values[i].solved[c]) && isnan(is->values[i].solved[c]))
                    return true;
        }
    }
    return false;
}

/* Did what decides whether it is asked come out otherwise, all of it known? */
static bool is_judged_otherwise(const struct judged *before, const struct judged *after,
                                const struct outcome_of *promise)
{
    for (size_t p = 0; p < before->rig->part_count; p++) {
        const struct part *was = &before->rig->parts[p], *is = &after->rig->parts[p];
        for (size_t i = 0; i < was->kind->attribute_count; i++) {
            bool once = was->kind->attributes[i].solved == SOLVED_ONCE;
            if (!was->values[i].solved || !(promise->looked[before->first[p] + i] & IN_WHEN))
                continue;
            for (size_t c = 0; c < (once ? 1 : CONDITION_COUNT); c++)
                if (isnan(is->values[i].solved[c]) && !isnan(was->values[i].solved[c]))
                    return false;
                else if (is->values[i].solved[c] < was->values[i].solved[c] ||
                         is->values[i].solved[c] > was->values[i].solved[c])
                    return true;
        }
    }
    return false;
}

/* Would the promise fail with some value of the attribute that is gone? */
static bool could_fail(struct judged *after, const struct compiled_rule *rule,
                       const struct outcome_of *promise, size_t part, int index,
                       const struct value *given)
{
    static const double factors[] = {0.0, 0.01, 0.5, 2.0, 100.0, -1.0};
    const struct attribute *attribute = &after->rig->parts[part].kind->attributes[index];
    struct value probe = *given;
    struct spy spy = {.inner = rig_world(after->rig),
                      .judged = after,
                      .probe = &probe,
                      .part = part,
                      .attribute = index};
    size_t count = given->type == VALUE_QUANTITY || given->type == VALUE_RANGE
                       ? sizeof factors / sizeof *factors
                   : given->type == VALUE_WORD ? attribute->word_count
                                               : 0;
    for (size_t i = 0; i < count; i++) {
        if (given->type == VALUE_QUANTITY)
            probe.as.quantity.value = given->as.quantity.value * factors[i];
        else if (given->type == VALUE_RANGE)
            probe.as.range.low.value = given->as.range.low.value * factors[i],
            probe.as.range.high.value = given->as.range.high.value * factors[i];
        else
            probe.as.word = attribute->words[i];
        if (judge_pair(after, rule, promise->parts, &spy).failed)
            return true;
    }
    return false;
}

struct tally {
    size_t cut, held, asked_about, failed, stood_in, free, no_longer_asked, silent;
};

static void complain(struct tally *tally, const char *name, const struct judged *before,
                     const struct rulebook *book, const struct outcome_of *promise,
                     const char *part, const char *attribute, const char *what)
{
    print_error("%s without %s.%s: %s (%s%s%s) %s\n", name, part, attribute,
                book->rules[promise->rule].rule->name, before->rig->parts[promise->parts[0]].id,
                promise->parts[1] == NO_PART ? "" : ", ",
                promise->parts[1] == NO_PART ? "" : before->rig->parts[promise->parts[1]].id, what);
    tally->silent++;
}

static void compare(const char *name, const struct rulebook *book, const struct judged *before,
                    struct judged *after, size_t part, int index, struct tally *tally)
{
    const char *id = before->rig->parts[part].id;
    const char *attribute = before->rig->parts[part].kind->attributes[index].name;
    const struct part_value *given = &before->rig->parts[part].values[index],
                            *now = &after->rig->parts[part].values[index];
    bool told = is_told(before, after, id, attribute);
    for (size_t i = 0; i < before->promises.count; i++) {
        const struct outcome_of *was = &before->promises.at[i];
        if (!was->asked || was->failed || was->missing)
            continue;
        tally->held++;
        const struct outcome_of *is =
            bsearch(was, after->promises.at, after->promises.count, sizeof *was, compare_promises);
        unsigned char looked = was->looked[before->first[part] + (size_t)index];
        bool known = now->origin != ORIGIN_UNKNOWN;
        if (is && is->failed) {
            tally->failed++;
        } else if (is && is->missing) {
            tally->asked_about++;
        } else if (is && is->asked) {
            if (looked && !known && !is->assumed &&
                could_fail(after, &book->rules[was->rule], was, part, index, &given->value))
                complain(tally, name, before, book, was, id, attribute, "holds in silence");
            else if (!looked && !told && lost_a_figure(before, after, was))
                complain(tally, name, before, book, was, id, attribute,
                         "holds, though a figure of it is lost");
            else if (looked && (known || is->assumed))
                tally->stood_in++;
            else
                tally->free++;
        } else if ((looked & IN_WHEN) || told || known || given->value.type == VALUE_ID ||
                   is_judged_otherwise(before, after, was)) {
            tally->no_longer_asked++;
        } else {
            complain(tally, name, before, book, was, id, attribute, "is no longer asked");
        }
    }
}

static void go_without(const char *name, const char *text, const struct bench *bench,
                       const struct rulebook *book, struct tally *tally)
{
    static char less[TEXT_MOST];
    struct judged before, after;
    judge_text(&before, bench, book, text);
    for (size_t p = 0; p < before.rig->part_count; p++) {
        const struct part *part = &before.rig->parts[p];
        for (size_t i = 0; i < part->kind->attribute_count; i++) {
            const struct part_value *value = &part->values[i];
            if (value->origin != ORIGIN_GIVEN || !value->at.line)
                continue;
            if (!cut(text, value->at, part->kind->attributes[i].name,
                     less)) { /* both ports by one key */
                print_message("%s: %s.%s is not written as a name and its value\n", name, part->id,
                              part->kind->attributes[i].name);
                continue;
            }
            judge_text(&after, bench, book, less);
            if (after.rig->part_count != before.rig->part_count)
                fail_msg("%s without %s.%s reads otherwise:\n%s", name, part->id,
                         part->kind->attributes[i].name, less);
            tally->cut++;
            if (after.promises.count)
                qsort(after.promises.at, after.promises.count, sizeof *after.promises.at,
                      compare_promises);
            compare(name, book, &before, &after, p, (int)i, tally);
            arena_drop(after.arena);
        }
    }
    arena_drop(before.arena);
}

static bool read_example(const char *name, char *text)
{
    char path[512];
    snprintf(path, sizeof path, FOLDER "/%s", name);
    FILE *file = fopen(path, "rb");
    assert_non_null(file);
    size_t length = fread(text, 1, TEXT_MOST, file);
    fclose(file);
    assert_true(length < TEXT_MOST);
    text[length] = '\0';
    return true;
}

static void nothing_passes_in_silence(void **state)
{
    (void)state;
    static char text[TEXT_MOST];
    struct bench bench;
    struct tally tally = {0};
    bench_open(&bench);
    const struct rulebook *book = rulebook_new(bench.arena, &bench.store, &bench.diagnostics);
    assert_non_null(book);
    clock_t start = clock();
    DIR *folder = opendir(FOLDER);
    assert_non_null(folder);
    for (const struct dirent *entry; (entry = readdir(folder)) != NULL;) {
        size_t length = strlen(entry->d_name), end = sizeof ENDING - 1;
        if (length > end && strcmp(entry->d_name + length - end, ENDING) == 0 &&
            read_example(entry->d_name, text))
            go_without(entry->d_name, text, &bench, book, &tally);
    }
    closedir(folder);
    print_message("%zu figures left out one by one; of %zu promises that held %zu are asked about, "
                  "%zu fail, %zu rest on a stand-in, %zu hold without it, %zu are not asked any "
                  "more, %zu pass in silence; %.1f s\n",
                  tally.cut, tally.held, tally.asked_about, tally.failed, tally.stood_in,
                  tally.free, tally.no_longer_asked, tally.silent,
                  (double)(clock() - start) / CLOCKS_PER_SEC);
    assert_true(tally.cut > 300);
    assert_true(tally.asked_about > 0 && tally.failed > 0 && tally.stood_in > 0);
    assert_int_equal(tally.silent, 0);
    bench_close(&bench);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(nothing_passes_in_silence)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
