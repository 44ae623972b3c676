/* judge.c - every rule on every pairing of a rig; what does not hold becomes a
 * finding with its words, its working and the figures that it rests on. */
#include "judge/judge.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/names.h"
#include "judge/fingerprint.h"
#include "judge/rulebook.h"
#include "judge/thin.h"
#include "solve/solve.h"

#define NEED_RULE "need.is-met"            /* stands for each line under `needs:` */
#define ENDED_RULE "accept.is-still-valid" /* stands for each entry under `accept:` with an end */
#define USED_RULE "accept.is-used"         /* stands for each entry that has not ended */
#define LIST_FAMILY "list." /* rules about the list as a whole: not asked of half a list */
#define OTHERS_MAX 6        /* parts named beside the first of a finding that several bring */
#define GAPS_MAX 16         /* figures that one question can ask for */

struct gaps {
    struct solve_gap at[GAPS_MAX];
    size_t count;
};

struct judge {
    struct arena *arena;
    const struct rulebook *book;
    const struct rig *rig;
    struct formula_world world;
    const struct judge_options *options;
    struct judgement *out;
    struct {
        struct finding *at;
        size_t count, room;
    } findings;
    const bool *spare;    /* by part */
    const size_t *first;  /* by part: where its attributes begin in `lacking` */
    signed char *lacking; /* 1: something given lacks for it; -1: nothing does; 0: not asked yet */
    struct solve_lacks lacks;
    struct {
        struct thin_asked *at;
        size_t count, room;
    } held;           /* promises that hold, by figures that may be off */
    struct text text; /* for building strings */
    bool *used;       /* which of the rig's accepts met a finding */
    bool no_memory;
};

static struct finding *new_finding(struct judge *judge)
{
    if (!ARENA_GROW(judge->arena, &judge->findings)) {
        judge->no_memory = true;
        return NULL;
    }
    struct finding *finding = &judge->findings.at[judge->findings.count++];
    *finding = (struct finding){.working = ""};
    return finding;
}

/* What was built in judge->text, kept in the arena; "" when memory ran out, which is noted. */
static const char *keep_text(struct judge *judge)
{
    const char *kept = judge->text.failed
                           ? NULL
                           : arena_copy(judge->arena, judge->text.bytes ? judge->text.bytes : "",
                                        judge->text.length);
    if (!kept)
        judge->no_memory = true;
    text_clear(&judge->text);
    return kept ? kept : "";
}

static const struct attribute *used_attribute(const struct rig *rig, const struct formula_use *use)
{
    return &rig->parts[use->part].kind->attributes[use->attribute];
}

/* ---- what is missing ---- */

static void add_gap(struct gaps *gaps, size_t part, const char *attribute)
{
    for (size_t i = 0; i < gaps->count; i++)
        if (gaps->at[i].part == part && strcmp(gaps->at[i].attribute, attribute) == 0)
            return;
    if (gaps->count < GAPS_MAX)
        gaps->at[gaps->count++] = (struct solve_gap){part, attribute};
}

/* The given figures that an unknown value waits for; none when it has no meaning there. */
static void add_gaps_of(const struct judge *judge, const struct formula_use *use, struct gaps *gaps)
{
    const struct rig *rig = judge->rig;
    const struct attribute *attribute = used_attribute(rig, use);
    if (attribute->solved == SOLVED_NO) {
        add_gap(gaps, use->part, attribute->name);
        return;
    }
    struct solve_gap lacking[GAPS_MAX];
    size_t count = solve_missing(rig, judge->lacks, use->part, use->attribute, lacking, GAPS_MAX);
    for (size_t i = 0; i < count; i++)
        add_gap(gaps, lacking[i].part, lacking[i].attribute);
}

static bool use_is_missing(const void *data, const struct formula_use *use)
{
    const struct judge *judge = data;
    const struct formula_world *world = &judge->world;
    if (world->unread && world->unread(world->data, use->part, use->attribute))
        return true;
    signed char *lacking = &judge->lacking[judge->first[use->part] + (size_t)use->attribute];
    if (!*lacking) {
        struct gaps gaps = {.count = 0};
        add_gaps_of(judge, use, &gaps);
        *lacking = gaps.count ? 1 : -1;
    }
    return *lacking > 0;
}

static bool has_unread(const struct rig *rig, const struct gaps *gaps)
{
    for (size_t i = 0; i < gaps->count; i++) {
        const struct part_value *value =
            part_value(&rig->parts[gaps->at[i].part], gaps->at[i].attribute);
        if (value && value->unread)
            return true;
    }
    return false;
}

/* What is asked for. False: some of it is written, but can't be read, which is told already. */
static bool find_gaps(const struct judge *judge, const struct formula_uses *uses, struct gaps *gaps)
{
    const struct formula_world *world = &judge->world;
    bool unread = false;
    gaps->count = 0;
    for (size_t i = 0; i < uses->count; i++) {
        const struct formula_use *use = &uses->at[i];
        if (!use->unknown)
            continue;
        add_gaps_of(judge, use, gaps);
        unread = unread || (world->unread && world->unread(world->data, use->part, use->attribute));
    }
    return !unread && !(world->unread && has_unread(judge->rig, gaps));
}

static const char *const *gap_names(struct judge *judge, const struct gaps *gaps)
{
    const char **names = ARENA_TAKE(judge->arena, gaps->count + 1, const char *);
    for (size_t i = 0; names && i < gaps->count; i++) {
        names[i] = arena_join(judge->arena, judge->rig->parts[gaps->at[i].part].id, ".",
                              gaps->at[i].attribute);
        if (!names[i])
            names = NULL;
    }
    if (!names)
        judge->no_memory = true;
    return names;
}

static void print_gap(struct judge *judge, const struct solve_gap *gap)
{
    const struct part *part = &judge->rig->parts[gap->part];
    int index = kind_attribute(part->kind, gap->attribute);
    const struct attribute *attribute = index < 0 ? NULL : &part->kind->attributes[index];
    const char *which = !attribute ? NULL : attribute->ask ? attribute->ask : attribute->about;
    text_add(&judge->text, gap->attribute);
    text_add(&judge->text, " of ");
    text_add(&judge->text, part->id);
    if (!which)
        return;
    text_add(&judge->text, " (");
    text_add(&judge->text, which);
    text_add(&judge->text, ")");
}

static void ask(struct judge *judge, struct finding *finding, const struct gaps *gaps)
{
    finding->level = LEVEL_QUESTION;
    finding->missing = gap_names(judge, gaps);
    finding->missing_count = finding->missing ? gaps->count : 0;
    text_add(&judge->text, "Can't tell without ");
    for (size_t i = 0; i < gaps->count; i++) {
        if (i)
            text_add(&judge->text, i + 1 == gaps->count ? " and " : ", ");
        print_gap(judge, &gaps->at[i]);
    }
    text_add(&judge->text, gaps->count > 1 ? "; find them out or ask the seller."
                                           : "; find it out or ask the seller.");
    finding->message = keep_text(judge);
}

/* ---- the figures and the working ---- */

/* "fuse.rating" by its role in the pairing, else by the part's id. */
static const char *use_name(struct judge *judge, const struct compiled_rule *rule,
                            const size_t *parts, const struct formula_use *use)
{
    const char *owner = judge->rig->parts[use->part].id;
    for (size_t i = 0; rule && i < rule->role_count; i++)
        if (parts[i] == use->part)
            owner = rule->roles[i].name;
    const char *name = arena_join(judge->arena, owner, ".", used_attribute(judge->rig, use)->name);
    if (!name)
        judge->no_memory = true;
    if (name && !isnan(use->argument)) {
        text_add(&judge->text, name);
        formula_use_argument(&judge->world, use, &judge->text);
        name = keep_text(judge);
    }
    return name ? name : "";
}

static const char *because_of(const struct rig *rig, const struct formula_use *use)
{
    return rig->parts[use->part].values[use->attribute].because;
}

static void add_values(struct judge *judge, struct finding *finding,
                       const struct compiled_rule *rule, const size_t *parts,
                       const struct formula_uses *uses)
{
    if (judge->options->without_working)
        return;
    struct finding_value *values = ARENA_TAKE(judge->arena, uses->count + 1, struct finding_value);
    if (!values) {
        judge->no_memory = true;
        return;
    }
    for (size_t i = 0; i < uses->count; i++) {
        const struct formula_use *use = &uses->at[i];
        struct finding_value *value = &values[finding->value_count];
        if (!formula_use_value(&judge->world, use, &value->value, &value->origin))
            continue;
        value->name = use_name(judge, rule, parts, use);
        if (value->origin == ORIGIN_ASSUMED)
            value->because = because_of(judge->rig, use);
        finding->value_count++;
    }
    finding->values = values;
}

/* The solver's own lines on a solved value, indented under it. */
static void add_solved_working(struct judge *judge, const struct formula_use *use)
{
    struct text lines = {0};
    solve_working(judge->rig, use->part, use->attribute, use->condition, &lines);
    char *rest = NULL;
    for (char *line = lines.length ? strtok_r(lines.bytes, "\n", &rest) : NULL; line;
         line = strtok_r(NULL, "\n", &rest))
        text_print(&judge->text, "  %s\n", line);
    judge->text.failed = judge->text.failed || lines.failed;
    text_drop(&lines);
}

/* Was it given in rigtally.yaml? */
static bool is_elsewhere(const struct rig *rig, const struct part_value *held)
{
    return held->at.file && strcmp(held->at.file, rig->file) != 0;
}

static void add_use_working(struct judge *judge, const struct finding *finding,
                            const struct formula_use *use)
{
    const struct rig *rig = judge->rig;
    enum origin origin = ORIGIN_UNKNOWN;
    struct value value;
    if (!formula_use_value(&judge->world, use, &value, &origin))
        return;
    const struct attribute *attribute = used_attribute(rig, use);
    const struct part_value *held = &rig->parts[use->part].values[use->attribute];
    text_print(&judge->text, "%s.%s", rig->parts[use->part].id, attribute->name);
    formula_use_argument(&judge->world, use, &judge->text);
    text_add(&judge->text, " = ");
    attribute_tell(&judge->text, attribute, &value, judge->world.units);
    if (finding->has_condition && use->condition != finding->condition)
        text_print(&judge->text, " at %s", condition_name(use->condition));
    if (origin == ORIGIN_ASSUMED)
        text_print(&judge->text, ", assumed: %s", held->because ? held->because : "usual");
    else if (origin == ORIGIN_GIVEN && held->at.line)
        text_print(&judge->text, ", given in line %u%s%s", held->at.line,
                   is_elsewhere(rig, held) ? " of " : "",
                   is_elsewhere(rig, held) ? held->at.file : "");
    else if (origin == ORIGIN_GIVEN)
        text_add(&judge->text, ", given");
    else if (origin == ORIGIN_LISTED)
        text_add(&judge->text, ", from the catalogue");
    text_add(&judge->text, "\n");
    if (origin == ORIGIN_SOLVED)
        add_solved_working(judge, use);
}

static void add_working(struct judge *judge, struct finding *finding, const size_t *parts,
                        const struct formula *formula, const struct formula_uses *uses)
{
    if (judge->options->without_working)
        return;
    for (size_t i = 0; i < uses->count; i++)
        add_use_working(judge, finding, &uses->at[i]);
    formula_working(formula, &judge->world, parts, finding->condition, &judge->text);
    finding->working = keep_text(judge);
}

/* ---- findings ---- */

/* Its last day is before today. */
static bool has_ended(const struct judge *judge, const struct accept *accept)
{
    const char *today = judge->options->today;
    return accept->until && today && strcmp(accept->until, today) < 0;
}

static bool accepts(const struct accept *accept, const struct finding *finding)
{
    if (strcmp(accept->rule, finding->rule) != 0)
        return false;
    for (size_t i = 0; i < finding->part_count; i++)
        if (strcmp(accept->on, finding->parts[i]) == 0)
            return true;
    return false;
}

/* The first that accepts it; every one that does counts as used. */
static const struct accept *find_accept(struct judge *judge, const struct finding *finding)
{
    const struct accept *found = NULL;
    for (size_t i = 0; i < judge->rig->accept_count; i++) {
        const struct accept *accept = &judge->rig->accepts[i];
        if (has_ended(judge, accept) || !accepts(accept, finding))
            continue;
        judge->used[i] = true;
        found = found ? found : accept;
    }
    return found;
}

static void place_finding(struct judge *judge, struct finding *finding, const size_t *parts,
                          size_t count)
{
    for (size_t i = 0; i < count; i++)
        finding->parts[i] = judge->rig->parts[parts[i]].id;
    finding->part_count = count;
    finding->at = judge->rig->parts[parts[count - 1]].at;
    if (count > 1)
        finding->also = judge->rig->parts[parts[0]].at;
}

/* NULL: the rule has none. */
static const char *print_words(struct judge *judge, const struct compiled_rule *rule,
                               enum rule_words which, const size_t *parts,
                               const struct promise *promise)
{
    const struct formula_words *words;
    if (!rulebook_words(rule, which, &words))
        judge->no_memory = true;
    if (!words)
        return NULL;
    formula_words_print(words, &judge->world, parts, promise->condition, promise->formula,
                        &judge->text);
    return keep_text(judge);
}

static void tell_failure(struct judge *judge, const struct compiled_rule *rule, const size_t *parts,
                         const struct promise *promise, struct finding *finding)
{
    finding->level = promise->level;
    finding->has_margin = promise->has_margin;
    finding->margin = promise->margin;
    bool caution = promise->level == LEVEL_CAUTION && rule->rule->caution_says.text;
    enum rule_words words = promise->level == LEVEL_REMINDER ? WORDS_REMIND
                            : caution                        ? WORDS_CAUTION_SAYS
                                                             : WORDS_SAYS;
    finding->message = print_words(judge, rule, words, parts, promise);
    finding->mend = print_words(judge, rule, WORDS_MEND, parts, promise);
    if (promise->formula)
        add_working(judge, finding, parts, promise->formula, &promise->uses);
}

static void tell_promise(struct judge *judge, const struct compiled_rule *rule, const size_t *parts,
                         const struct promise *promise)
{
    struct gaps gaps;
    if (!promise->failed && !find_gaps(judge, &promise->uses, &gaps)) {
        judge->out->unread++;
        return;
    }
    struct finding *finding = new_finding(judge);
    if (!finding)
        return;
    finding->rule = rule->rule->name;
    finding->from = rule->rule;
    finding->has_condition = (rule->every || rule->one) && promise->level != LEVEL_REMINDER;
    finding->condition = promise->condition;
    place_finding(judge, finding, parts, rule->pair_count);
    add_values(judge, finding, rule, parts, &promise->uses);
    if (promise->failed) {
        tell_failure(judge, rule, parts, promise, finding);
    } else {
        ask(judge, finding, &gaps);
    }
    finding->accepted = find_accept(judge, finding);
}

/* The parts of all the rule's roles: the pairing's, then the place and the rig. */
static void fill_roles(const struct judge *judge, const struct compiled_rule *rule,
                       const size_t *pair, size_t *parts)
{
    for (size_t i = 0; i < rule->role_count; i++)
        parts[i] = i < rule->pair_count                     ? pair[i]
                   : name_same(rule->roles[i].name, "site") ? judge->rig->site
                                                            : judge->rig->whole;
}

/* A promise that holds; `asked` is kept when it may hang on its figures. */
static void hold(struct judge *judge, const struct thin_asked *asked)
{
    judge->out->hold++;
    if (judge->options->trusting || !asked->near || (asked->rule && !thin_concerns(asked->rule)))
        return;
    if (ARENA_GROW(judge->arena, &judge->held))
        judge->held.at[judge->held.count++] = *asked;
    else
        judge->no_memory = true;
}

static void judge_pair(struct judge *judge, const struct compiled_rule *rule, const size_t *pair)
{
    size_t parts[RULE_ROLES_MAX];
    struct promise promise;
    if (!rulebook_ready(rule)) {
        judge->no_memory = true;
        return;
    }
    fill_roles(judge, rule, pair, parts);
    promise_judge(rule, &judge->world, parts, judge_conditions(judge->options), use_is_missing,
                  judge, &promise);
    if (!promise.asked)
        return;
    if (promise.failed || promise.missing) {
        tell_promise(judge, rule, parts, &promise);
        return;
    }
    struct thin_asked asked = {.rule = rule,
                               .near = promise.near,
                               .has_margin = promise.has_margin,
                               .margin = promise.margin};
    memcpy(asked.parts, parts, rule->role_count * sizeof *parts);
    hold(judge, &asked);
}

/* May the part stand in this role of the rule's pairing? */
static bool takes(const struct judge *judge, const struct compiled_rule *rule, size_t role,
                  size_t part)
{
    return rule->takes[role][judge->rig->parts[part].kind - judge->rig->store->kinds];
}

static void judge_subject(struct judge *judge, const struct compiled_rule *rule, size_t subject)
{
    if (rule->pair_count == 1) {
        judge_pair(judge, rule, &subject);
        return;
    }
    const size_t *others;
    size_t count = rig_related(judge->rig, subject, rule->relation, &others);
    for (size_t i = 0; i < count; i++) {
        const size_t parts[2] = {subject, others[i]};
        if (takes(judge, rule, 1, others[i]))
            judge_pair(judge, rule, parts);
    }
}

/* Is this rule asked for: by its name, its family, or none named? */
static bool is_asked(const struct judge *judge, const char *name)
{
    const char *only = judge->options->only;
    size_t length = only ? strlen(only) : 0;
    return !only ||
           (strncmp(name, only, length) == 0 && (name[length] == '\0' || name[length] == '.'));
}

static bool is_wanted(const struct judge *judge, const struct rule *rule)
{
    if (rule->practice != PRACTICE_ANY && rule->practice != judge->rig->practice)
        return false;
    if (judge->rig->damaged && strncmp(rule->name, LIST_FAMILY, strlen(LIST_FAMILY)) == 0)
        return false;
    /* The steps of the work are no promises: they are told only to who asks for them. */
    if (!judge->options->only && strncmp(rule->name, JUDGE_STEPS ".", strlen(JUDGE_STEPS ".")) == 0)
        return false;
    return is_asked(judge, rule->name);
}

/* These stand for lines of the rig file, and are judged line by line. */
static bool is_of_lines(const struct rule *rule)
{
    return name_same(rule->name, NEED_RULE) || name_same(rule->name, ENDED_RULE) ||
           name_same(rule->name, USED_RULE);
}

/* Parts that lie in a drawer are not judged. */
static bool find_spares(struct judge *judge)
{
    bool *spare = ARENA_TAKE(judge->arena, judge->rig->part_count + 1, bool);
    for (size_t i = 0; spare && i < judge->rig->part_count; i++)
        spare[i] = part_is_spare(&judge->rig->parts[i]);
    judge->spare = spare;
    return spare != NULL;
}

/* Room to remember, for every attribute of every part, whether something given lacks for it. */
static bool make_memory(struct judge *judge)
{
    size_t count = 0;
    size_t *first = ARENA_TAKE(judge->arena, judge->rig->part_count + 1, size_t);
    if (!first)
        return false;
    for (size_t i = 0; i < judge->rig->part_count; i++) {
        first[i] = count;
        count += judge->rig->parts[i].kind->attribute_count;
    }
    judge->first = first;
    judge->lacking = ARENA_TAKE(judge->arena, count + 1, signed char);
    return judge->lacking != NULL;
}

/* Parts among which all are that may be the first of the rule's pairing, in the rig's order. */
static size_t subjects(const struct judge *judge, const struct compiled_rule *rule,
                       const size_t **out)
{
    const struct formula_world *world = &judge->world;
    const struct formula_role *role = &rule->roles[0];
    if (world->of_kind && role->kind_count == 1)
        return world->of_kind(world->data, role->kinds[0], out);
    return world->related(world->data, NO_PART, NULL, out);
}

static void judge_rules(struct judge *judge)
{
    for (size_t r = 0; r < judge->book->rule_count && !judge->no_memory; r++) {
        const struct compiled_rule *rule = &judge->book->rules[r];
        const size_t *parts;
        size_t count = subjects(judge, rule, &parts);
        if (count == 0 || !is_wanted(judge, rule->rule) || is_of_lines(rule->rule))
            continue;
        for (size_t i = 0; i < count; i++)
            if (takes(judge, rule, 0, parts[i]) && !judge->spare[parts[i]])
                judge_subject(judge, rule, parts[i]);
    }
}

/* ---- needs ---- */

static struct finding *new_need_finding(struct judge *judge, const struct rule *rule,
                                        const struct need *need, const struct formula_uses *uses)
{
    struct finding *finding = new_finding(judge);
    if (!finding)
        return NULL;
    finding->rule = NEED_RULE;
    finding->from = rule;
    finding->subject = need->text;
    finding->at = need->at;
    if (uses->count) {
        finding->parts[0] = judge->rig->parts[uses->at[0].part].id;
        finding->part_count = 1;
    }
    add_values(judge, finding, NULL, NULL, uses);
    finding->condition = uses->count ? uses->at[0].condition : CONDITION_BRIGHT_NOON;
    return finding;
}

static void tell_need(struct judge *judge, const struct rule *rule, const struct need *need,
                      const struct formula_result *result, const struct formula_uses *uses)
{
    struct gaps gaps = {.count = 0};
    if (result->truth == TRUTH_UNKNOWN && !find_gaps(judge, uses, &gaps)) {
        judge->out->unread++;
        return;
    }
    struct finding *finding = new_need_finding(judge, rule, need, uses);
    if (!finding)
        return;
    if (gaps.count) {
        ask(judge, finding, &gaps);
    } else {
        finding->level = LEVEL_ERROR;
        finding->has_margin = result->has_margin;
        finding->margin = result->margin;
        thin_need_words(judge->rig, need, result, uses, &judge->text);
        finding->message = keep_text(judge);
        add_working(judge, finding, need->parts, need->formula, uses);
    }
    finding->accepted = find_accept(judge, finding);
}

/* A need is dearer than a rule, and what makes it (a flow, a warmth) may fall steeply. */
static unsigned need_nearness(const struct formula_result *result, const struct formula_uses *uses)
{
    bool far = result->has_margin && result->margin > NEED_NEAR;
    return far ? 0 : promise_looked_at(uses, CONDITION_BRIGHT_NOON);
}

static void judge_needs(struct judge *judge)
{
    const struct rule *rule = store_rule(judge->book->store, NEED_RULE);
    if (!is_asked(judge, NEED_RULE))
        return;
    for (size_t i = 0; i < judge->rig->need_count && !judge->no_memory; i++) {
        const struct need *need = &judge->rig->needs[i];
        if (!need->formula)
            continue;
        struct formula_uses uses = {0};
        struct formula_result result = formula_evaluate(need->formula, &judge->world, need->parts,
                                                        CONDITION_BRIGHT_NOON, &uses);
        if (result.truth == TRUTH_YES)
            hold(judge, &(struct thin_asked){.need = need,
                                             .near = need_nearness(&result, &uses),
                                             .has_margin = result.has_margin,
                                             .margin = result.margin});
        else
            tell_need(judge, rule, need, &result, &uses);
    }
}

/* ---- thin margins ---- */

/* Points go up or down together. */
static double points_share(const struct finding_doubt *doubt)
{
    const struct value *was = &doubt->value, *is = &doubt->then;
    for (size_t i = 0; i < was->as.points.count; i++)
        if (was->as.points.at[i].y.value > 0.0)
            return is->as.points.at[i].y.value / was->as.points.at[i].y.value;
    return 1.0;
}

static void print_doubted(struct judge *judge, const struct finding_doubt *doubt, bool then)
{
    if (doubt->value.type != VALUE_POINTS)
        value_tell(&judge->text, then ? &doubt->then : &doubt->value, doubt->unit, doubt->customary,
                   judge->world.units);
    else if (then)
        text_print(&judge->text, "%.3g %% of its heads", 100.0 * points_share(doubt));
    else
        text_add(&judge->text, "as it is listed");
}

/* "max_head of pump is really 4 m", of two or three joined; `then`: "3.4 m". */
static void print_doubts(struct judge *judge, const struct thin_promise *thin, bool then)
{
    for (size_t i = 0; i < thin->doubt_count; i++) {
        const struct finding_doubt *doubt = &thin->doubts[i];
        if (i)
            text_add(&judge->text, i + 1 == thin->doubt_count ? " and " : ", ");
        if (!then)
            text_print(&judge->text, "%s of %s is really ", doubt->attribute, doubt->part);
        print_doubted(judge, doubt, then);
        if (!then && doubt->origin == ORIGIN_ASSUMED)
            text_add(&judge->text, ", which is assumed");
    }
}

static const char *thin_message(struct judge *judge, const struct thin_promise *thin)
{
    if (thin->doubt_count) {
        text_add(&judge->text, "Holds only if ");
        print_doubts(judge, thin, false);
        text_add(&judge->text, "; at ");
        print_doubts(judge, thin, true);
    } else {
        text_print(&judge->text,
                   "Holds only if the labels are right; with all of them at the end at which the "
                   "rig gives %s",
                   thin->weaker ? "less" : "more");
    }
    text_print(&judge->text, ": %s", thin->says ? thin->says : "");
    return keep_text(judge);
}

/* How it holds: the figures and the sum by the labels, in the condition in which it would fail. */
static struct finding *new_thin_finding(struct judge *judge, const struct thin_promise *thin)
{
    const struct thin_asked *asked = thin->asked;
    const struct need *need = asked->need;
    const struct formula *formula = need ? need->formula : asked->rule->error;
    const size_t *parts = need ? need->parts : asked->parts;
    struct formula_uses uses = {0};
    struct formula_result result =
        formula_evaluate(formula, &judge->world, parts, thin->condition, &uses);
    struct finding *finding =
        need ? new_need_finding(judge, store_rule(judge->book->store, NEED_RULE), need, &uses)
             : new_finding(judge);
    if (!finding)
        return NULL;
    if (!need) {
        finding->rule = asked->rule->rule->name;
        finding->from = asked->rule->rule;
        finding->has_condition = asked->rule->every || asked->rule->one;
        finding->condition = thin->condition;
        place_finding(judge, finding, parts, asked->rule->pair_count);
        add_values(judge, finding, asked->rule, parts, &uses);
    }
    finding->has_margin = result.has_margin;
    finding->margin = result.margin;
    add_working(judge, finding, parts, formula, &uses);
    return finding;
}

static void tell_thin(struct judge *judge, const struct thin_promise *thin)
{
    struct finding *finding = new_thin_finding(judge, thin);
    if (!finding)
        return;
    judge->out->hold--;
    finding->level = LEVEL_CAUTION;
    finding->is_thin = true;
    finding->has_margin_then = thin->has_margin;
    finding->margin_then = thin->margin;
    finding->doubts = thin->doubts;
    finding->doubt_count = thin->doubt_count;
    finding->message = thin_message(judge, thin);
    finding->mend = thin->mend;
    finding->accepted = find_accept(judge, finding);
}

/* Nothing is said of promises whose margins were not looked at, but that they were not. */
static void tell_too_many(struct judge *judge, size_t count)
{
    struct finding *finding = new_finding(judge);
    if (!finding)
        return;
    finding->rule = TOPIC_MARGINS;
    finding->level = LEVEL_REMINDER;
    finding->at = (struct place){judge->rig->file, 1, 1};
    text_print(&judge->text,
               "the rig has %zu figures that may be off their labels; which of its promises hang "
               "on them is told of up to %d.",
               count, THIN_FIGURES_MOST);
    finding->message = keep_text(judge);
}

static void judge_thin(struct judge *judge)
{
    struct thin_promises thin;
    if (judge->no_memory || thin_find(judge->rig, judge->options, judge->held.at, judge->held.count,
                                      &thin) != OUTCOME_OK) {
        judge->no_memory = true;
        return;
    }
    for (size_t i = 0; i < thin.count && !judge->no_memory; i++)
        tell_thin(judge, &thin.at[i]);
    if (thin.too_many)
        tell_too_many(judge, thin.too_many);
}

/* ---- accepts ---- */

static struct finding *tell_accept(struct judge *judge, const char *rule,
                                   const struct accept *accept)
{
    struct finding *finding = new_finding(judge);
    if (!finding)
        return NULL;
    finding->rule = rule;
    finding->from = store_rule(judge->book->store, rule);
    finding->level = LEVEL_CAUTION;
    finding->at = accept->at;
    finding->parts[0] = accept->on;
    finding->part_count = 1;
    finding->subject = accept->rule;
    return finding;
}

static void tell_ended(struct judge *judge, const struct accept *accept)
{
    struct finding *finding = tell_accept(judge, ENDED_RULE, accept);
    if (!finding)
        return;
    text_print(&judge->text, "%s on %s was accepted until %s, which is over.", accept->rule,
               accept->on, accept->until);
    finding->message = keep_text(judge);
    finding->mend = "Look at the finding again; put it right, or accept it until a later day.";
}

static const char *near_rule(const struct judge *judge, const char *name)
{
    const struct store *store = judge->book->store;
    struct near_search near;
    near_begin(&near, name);
    for (size_t i = 0; i < store->rule_count; i++)
        near_offer(&near, store->rules[i].name);
    return near_best(&near);
}

static void tell_unused(struct judge *judge, const struct accept *accept)
{
    struct finding *finding = tell_accept(judge, USED_RULE, accept);
    if (!finding)
        return;
    if (store_rule(judge->book->store, accept->rule)) {
        text_print(&judge->text, "There is nothing left to accept: %s finds no fault with %s.",
                   accept->rule, accept->on);
        finding->mend = "Take the entry out, so that it can't hide a later finding.";
    } else {
        const char *near = near_rule(judge, accept->rule);
        text_print(&judge->text, "There is no promise '%s' that could be accepted%s%s%s",
                   accept->rule, near ? "; did you mean " : ".", near ? near : "", near ? "?" : "");
    }
    finding->message = keep_text(judge);
}

/* Could this promise have met a finding in this run? Else nothing can be said of its use. */
static bool was_judged(const struct judge *judge, const struct accept *accept)
{
    const struct rule *rule = store_rule(judge->book->store, accept->rule);
    if (judge->options->one_condition || judge->rig->damaged || judge->out->unread)
        return false;
    return rule ? is_wanted(judge, rule) : !judge->options->only;
}

static void judge_accepts(struct judge *judge)
{
    for (size_t i = 0; i < judge->rig->accept_count && !judge->no_memory; i++) {
        const struct accept *accept = &judge->rig->accepts[i];
        bool ended = has_ended(judge, accept);
        if (accept->until && is_asked(judge, ENDED_RULE)) {
            if (ended)
                tell_ended(judge, accept);
            else
                judge->out->hold++;
        }
        if (ended || !is_asked(judge, USED_RULE) || !was_judged(judge, accept))
            continue;
        if (judge->used[i])
            judge->out->hold++;
        else
            tell_unused(judge, accept);
    }
}

/* ---- mistakes in the file, order, sums ---- */

static void add_mistakes(struct judge *judge, const struct diagnostics *diagnostics)
{
    for (size_t i = 0; i < diagnostics->count; i++) {
        const struct diagnostic *mistake = &diagnostics->at[i];
        struct finding *finding = new_finding(judge);
        if (!finding)
            return;
        finding->rule = mistake->topic;
        finding->level = mistake->level;
        finding->at = mistake->at;
        finding->also = mistake->also;
        finding->message = mistake->message;
    }
    judge->no_memory = judge->no_memory || diagnostics->out_of_memory;
}

/* ---- one mistake is told once ---- */

static bool is_id_byte(char byte)
{
    return (byte >= 'a' && byte <= 'z') || (byte >= 'A' && byte <= 'Z') ||
           (byte >= '0' && byte <= '9') || byte == '-' || byte == '_';
}

/* The words with a part's id taken out wherever it stands as a word of its own. */
static void add_without(struct text *text, const char *words, const char *id)
{
    size_t length = strlen(id);
    const char *at = words;
    for (const char *found; (found = strstr(at, id)); at = found + length) {
        bool begins = found == words || !is_id_byte(found[-1]);
        text_add_bytes(text, at, (size_t)(found - at));
        text_add(text, begins && !is_id_byte(found[length]) ? "\x01" : id);
    }
    text_add(text, at);
}

/* What two findings have in common that are told as one: questions that ask for the same figures,
 * and the same trouble with one part that several others bring, alike but for their names. NULL: it
 * stands for itself. */
static const char *sameness(struct judge *judge, const struct finding *finding)
{
    struct text *text = &judge->text;
    if (finding->level == LEVEL_QUESTION && finding->missing_count) {
        for (size_t i = 0; i < finding->missing_count; i++) {
            text_add(text, finding->missing[i]);
            text_add(text, ",");
        }
    } else if (finding->level != LEVEL_QUESTION && finding->part_count == 2) {
        text_add(text, finding->rule);
        text_add(text, " ");
        text_add_number(text, (unsigned)finding->level, 1);
        text_add(text, " ");
        text_add(text, finding->parts[1]);
        text_add(text, " ");
        add_without(text, finding->message, finding->parts[0]);
    } else {
        return NULL;
    }
    text_add(text, " ");
    text_add(text, finding->accepted ? finding->accepted->because : "");
    return keep_text(judge);
}

/* "... The same goes for B and C." */
static void tell_others(struct judge *judge, struct finding *finding, const char *const *others,
                        size_t count)
{
    text_print(&judge->text, "%s The same goes for ", finding->message);
    for (size_t i = 0; i < count && i < OTHERS_MAX; i++)
        text_print(&judge->text, "%s%s", i == 0 ? "" : i + 1 == count ? " and " : ", ", others[i]);
    if (count > OTHERS_MAX)
        text_print(&judge->text, " and %zu more", count - OTHERS_MAX);
    text_add(&judge->text, ".");
    finding->message = keep_text(judge);
    for (size_t i = 0; i < count; i++)
        text_print(&judge->text, "%s ", others[i]);
    finding->subject = keep_text(judge); /* one more of them makes another finding */
}

struct alike { /* the other subjects of a finding that is kept */
    const char **at;
    size_t count, room;
};

static void add_other(struct judge *judge, struct alike *alike, const char *part)
{
    if (!ARENA_GROW(judge->arena, alike)) {
        judge->no_memory = true;
        return;
    }
    alike->at[alike->count++] = part;
}

static void merge_findings(struct judge *judge)
{
    size_t count = judge->findings.count, kept = 0;
    struct names *names = names_new(judge->arena);
    struct alike *alike = ARENA_TAKE(judge->arena, count + 1, struct alike);
    if (!names || !alike) {
        judge->no_memory = true;
        return;
    }
    for (size_t i = 0; i < count && !judge->no_memory; i++) {
        struct finding finding = judge->findings.at[i];
        const char *key = sameness(judge, &finding);
        size_t first = kept;
        if (key && !names_add(names, judge->arena, key, kept, &first))
            judge->no_memory = true;
        if (first == kept)
            judge->findings.at[kept++] = finding;
        else if (finding.level != LEVEL_QUESTION)
            add_other(judge, &alike[first], finding.parts[0]);
    }
    judge->findings.count = kept;
    for (size_t i = 0; i < kept && !judge->no_memory; i++)
        if (alike[i].count)
            tell_others(judge, &judge->findings.at[i], alike[i].at, alike[i].count);
}

static int compare_findings(const void *a, const void *b)
{
    const struct finding *x = a, *y = b;
    if (x->at.line != y->at.line)
        return x->at.line < y->at.line ? -1 : 1;
    if (x->at.column != y->at.column)
        return x->at.column < y->at.column ? -1 : 1;
    if (x->level != y->level)
        return x->level < y->level ? -1 : 1;
    int by_rule = strcmp(x->rule, y->rule);
    if (by_rule)
        return by_rule;
    for (size_t i = 0; i < x->part_count && i < y->part_count; i++)
        if (strcmp(x->parts[i], y->parts[i]) != 0)
            return strcmp(x->parts[i], y->parts[i]);
    return strcmp(x->message ? x->message : "", y->message ? y->message : "");
}

static void count_findings(struct judgement *out, const struct finding *findings, size_t count)
{
    memset(out->by_level, 0, sizeof out->by_level);
    out->accepted = 0;
    for (size_t i = 0; i < count; i++) {
        if (findings[i].accepted)
            out->accepted++;
        else
            out->by_level[findings[i].level]++;
    }
}

/* The findings that are promises: reminders apart. */
static size_t count_told(const struct judgement *judgement)
{
    return judgement->by_level[LEVEL_ERROR] + judgement->by_level[LEVEL_CAUTION] +
           judgement->by_level[LEVEL_QUESTION] + judgement->accepted;
}

bool judgement_leave_out(struct arena *arena, struct judgement *judgement,
                         bool (*is_known)(const void *data, const struct finding *finding),
                         const void *data)
{
    struct finding *findings = ARENA_TAKE(arena, judgement->finding_count + 1, struct finding);
    size_t kept = 0;
    if (!findings)
        return false;
    for (size_t i = 0; i < judgement->finding_count; i++)
        if (!is_known(data, &judgement->findings[i]))
            findings[kept++] = judgement->findings[i];
    size_t before = count_told(judgement);
    judgement->findings = findings;
    judgement->finding_count = kept;
    count_findings(judgement, findings, kept);
    judgement->known += before - count_told(judgement);
    return true;
}

static enum outcome finish(struct judge *judge)
{
    merge_findings(judge);
    if (judge->findings.count)
        qsort(judge->findings.at, judge->findings.count, sizeof *judge->findings.at,
              compare_findings);
    judge->no_memory = !fingerprint_all(judge->arena, judge->findings.at, judge->findings.count) ||
                       judge->no_memory;
    count_findings(judge->out, judge->findings.at, judge->findings.count);
    judge->out->promises = judge->out->hold + count_told(judge->out);
    judge->out->findings = judge->findings.at;
    judge->out->finding_count = judge->findings.count;
    text_drop(&judge->text);
    bool late = judge->rig && judge->rig->later && judge->rig->later->no_memory;
    return judge->no_memory || late ? OUTCOME_NO_MEMORY : OUTCOME_OK;
}

enum outcome judge_rig(const struct rulebook *book, const struct rig *rig,
                       const struct diagnostics *diagnostics, const struct judge_options *options,
                       struct judgement *out)
{
    struct judge judge = {.arena = rig->arena,
                          .book = book,
                          .rig = rig,
                          .options = options,
                          .out = out,
                          .world = rig_world(rig)};
    *out = (struct judgement){0};
    judge.lacks = solve_lacks(rig);
    judge.used = ARENA_TAKE(rig->arena, rig->accept_count + 1, bool);
    if (!judge.used || !find_spares(&judge) || !make_memory(&judge))
        return OUTCOME_NO_MEMORY;
    add_mistakes(&judge, diagnostics);
    judge_rules(&judge);
    judge_needs(&judge);
    judge_thin(&judge);
    judge_accepts(&judge);
    return finish(&judge);
}

enum outcome judge_unreadable(struct arena *arena, const struct diagnostics *diagnostics,
                              struct judgement *out)
{
    struct judge judge = {.arena = arena, .out = out};
    *out = (struct judgement){0};
    add_mistakes(&judge, diagnostics);
    return finish(&judge);
}

bool judgement_has_mistakes(const struct judgement *judgement)
{
    for (size_t i = 0; i < judgement->finding_count; i++)
        if (!judgement->findings[i].from && judgement->findings[i].level == LEVEL_ERROR)
            return true;
    return false;
}
