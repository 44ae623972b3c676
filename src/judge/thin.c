/* thin.c - thin margins. A twin of the rig gets all its doubtful figures moved to one
 * end, is solved, and the promises that held are judged again. For one that
 * fails, figures are put in doubt bit by bit, the likeliest first, until it is
 * known which of them are enough.
 *
 * What is left out, so that it costs little: promises with much to spare
 * (PROMISE_NEAR; NEED_NEAR; about the day DAY_MARGIN), and the conditions in which
 * all have much to spare;
 * rigs with more than THIN_FIGURES_MOST figures in doubt (which is told). */
#include "judge/thin.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "solve/solve.h"

#define DAY_MARGIN 0.25
#define TRIES_MOST 200  /* solves of one rig in search of figures */
#define DOUBTS_MOST 3   /* figures searched for one promise; the rest is taken together */
#define SHARE_MOST 0.15 /* doubts beyond it are as likely as this one: those of small things */

#define BIT(condition) (1u << CONDITION_##condition)

/* Conditions in which something can fail for want of it, and those in which there can be too much;
 * the others are not solved anew: with less of everything what is highest in them is lower still,
 * with more what is least is more. */
static const unsigned weaker_conditions = BIT(BRIGHT_NOON) | BIT(WEAK_SUN) | BIT(DARK);
static const unsigned stronger_conditions =
    BIT(BRIGHT_NOON) | BIT(CLOUD_EDGE) | BIT(COLD_DAWN) | BIT(DEAD_END) | BIT(STANDSTILL);

struct figure {
    size_t part, attribute;
    double share; /* how far it may be off, of its value */
};

struct thinning {
    const struct rig *rig;
    const struct judge_options *options;
    const struct thin_asked *asked;
    bool *open;    /* by asked: to be judged */
    bool *failing; /* by asked: fails with all figures of this end moved */
    size_t count;
    struct thin_promises *out;

    struct arena *arena; /* the twin's */
    struct rig_twin *again;
    struct rig *twin;           /* the same, as it was last reset; NULL before */
    struct formula_world world; /* of the twin */
    unsigned further;
    unsigned near, needed; /* conditions in which open promises may fail; in which open needs may */
    bool weaker;
    struct {
        struct figure *at;
        size_t count, room;
    } figures;
    size_t *order;        /* of the figures, for the promise at hand */
    bool *moved, *wanted; /* by figure: as the twin is solved, and as it is to be next */
    bool settled;         /* that solution is one to rely on */
    size_t tries;
    struct text text;
    bool no_memory;
};

/* How a promise comes out in the twin. */
struct verdict {
    bool fails;
    enum condition condition;
    struct formula_result result;
};

bool thin_concerns(const struct compiled_rule *rule)
{
    return rule->error && rule->doubtful;
}

/* The first figure that was looked at and that never comes about. */
static const struct formula_use *find_never(const struct formula_world *world,
                                            const struct formula_uses *uses)
{
    for (size_t i = 0; i < uses->count; i++) {
        struct value value;
        enum origin origin;
        if (!isnan(uses->at[i].argument) &&
            formula_use_value(world, &uses->at[i], &value, &origin) &&
            isinf(value.as.quantity.value))
            return &uses->at[i];
    }
    return NULL;
}

static void print_never(const struct rig *rig, const struct formula_world *world,
                        const struct formula_use *use, struct text *out)
{
    const struct part *part = &rig->parts[use->part];
    text_print(out, "%s.%s", part->id, part->kind->attributes[use->attribute].name);
    formula_use_argument(world, use, out);
    text_add(out, " never comes about.");
}

void thin_need_words(const struct rig *rig, const struct need *need,
                     const struct formula_result *result, const struct formula_uses *uses,
                     struct text *out)
{
    const struct formula_world world = rig_world(rig);
    const struct formula_use *never = find_never(&world, uses);
    if (result->truth == TRUTH_UNKNOWN) {
        text_print(out, "`%s` can't be judged: it has no meaning there.", need->text);
    } else if (never) {
        text_print(out, "`%s` is not met: ", need->text);
        print_never(rig, &world, never, out);
    } else if (result->has_margin) {
        text_print(out, "`%s` is not met: it falls short by %.3g %%.", need->text,
                   -100.0 * result->margin);
    } else {
        text_print(out, "`%s` is not met.", need->text);
    }
}

/* ---- what is worth asking ---- */

static unsigned waits_for(const struct thin_asked *asked)
{
    const struct attribute *attribute;
    size_t at = 0, role;
    unsigned waits = 0;
    if (asked->rule)
        return asked->rule->waits_for;
    while (formula_attribute(asked->need->formula, &at, &role, &attribute))
        if (attribute->solved != SOLVED_NO)
            waits |= solve_waits_for(attribute->name);
    return waits;
}

static size_t choose(struct thinning *thinning)
{
    size_t open = 0;
    for (size_t i = 0; i < thinning->count; i++) {
        const struct thin_asked *asked = &thinning->asked[i];
        unsigned waits = waits_for(asked);
        bool far = waits & SOLVE_DAY && asked->has_margin && asked->margin > DAY_MARGIN;
        thinning->open[i] = !far && asked->near;
        if (!thinning->open[i])
            continue;
        thinning->further |= waits;
        thinning->near |= asked->near;
        thinning->needed |= asked->need ? asked->near : 0;
        open++;
    }
    return open;
}

static void add_figure(struct thinning *thinning, size_t part, size_t index)
{
    const struct attribute *attribute = &thinning->rig->parts[part].kind->attributes[index];
    const struct value *value = &thinning->rig->parts[part].values[index].value;
    double by =
        thinning->weaker == attribute->weaker_high ? attribute->may_high : attribute->may_low;
    double share = fabs(attribute->may_share || value->as.quantity.value == 0.0
                            ? by
                            : by / value->as.quantity.value);
    if (!ARENA_GROW(thinning->arena, &thinning->figures)) {
        thinning->no_memory = true;
        return;
    }
    thinning->figures.at[thinning->figures.count++] =
        (struct figure){part, index, fmin(share, SHARE_MOST)};
}

/* What lies in a drawer has no say. */
static void find_figures(struct thinning *thinning)
{
    thinning->figures.count = 0;
    for (size_t i = 0; i < thinning->rig->part_count && !thinning->no_memory; i++) {
        const struct part *part = &thinning->rig->parts[i];
        if (part_is_spare(part))
            continue;
        for (size_t k = 0; k < part->kind->doubtful_count && !thinning->no_memory; k++)
            if (rig_may_be_off(part, (size_t)part->kind->doubtful[k], thinning->weaker))
                add_figure(thinning, i, (size_t)part->kind->doubtful[k]);
    }
}

/* ---- trying ---- */

static unsigned conditions(const struct thinning *thinning)
{
    unsigned end = thinning->weaker ? weaker_conditions : stronger_conditions;
    return thinning->needed | (thinning->near & end);
}

/* Did the twin's day run out of memory? Asked before the day goes. */
static void note_later(struct thinning *thinning)
{
    const struct rig_later *later = thinning->twin ? thinning->twin->later : NULL;
    thinning->no_memory = thinning->no_memory || (later && later->no_memory);
}

/* Solves the twin with the wanted figures moved. False: no answer to rely on. */
static bool try_wanted(struct thinning *thinning)
{
    size_t count = thinning->figures.count;
    if (memcmp(thinning->moved, thinning->wanted, count * sizeof *thinning->moved) == 0)
        return thinning->settled;
    memcpy(thinning->moved, thinning->wanted, count * sizeof *thinning->moved);
    note_later(thinning);
    thinning->twin = rig_twin_reset(thinning->again, conditions(thinning));
    thinning->world = rig_world(thinning->twin);
    for (size_t i = 0; i < count && !thinning->no_memory; i++) {
        const struct figure *figure = &thinning->figures.at[i];
        if (thinning->moved[i] &&
            !rig_twin_move(thinning->again, figure->part, figure->attribute, thinning->weaker))
            thinning->no_memory = true;
    }
    thinning->settled = false;
    if (!thinning->no_memory && solve_twin(thinning->twin, conditions(thinning), thinning->further,
                                           &thinning->settled) != OUTCOME_OK)
        thinning->no_memory = true;
    thinning->tries++;
    return thinning->settled && !thinning->no_memory;
}

static void want_all(struct thinning *thinning, bool all)
{
    for (size_t i = 0; i < thinning->figures.count; i++)
        thinning->wanted[i] = all;
}

/* What has no meaning when labels are off is no failure. */
static bool means_nothing(const void *data, const struct formula_use *use)
{
    (void)data;
    (void)use;
    return false;
}

/* Judges the error of a rule in the conditions that were solved. */
static struct verdict judge_rule(const struct thinning *thinning, const struct thin_asked *asked)
{
    struct compiled_rule rule = *asked->rule;
    struct promise promise;
    unsigned judged = judge_conditions(thinning->options);
    if (rule.every)
        judged &= asked->near & conditions(thinning);
    rule.caution = NULL;
    promise_judge(&rule, &thinning->world, asked->parts, judged, means_nothing, NULL, &promise);
    return (struct verdict){promise.failed,
                            promise.condition,
                            {.has_margin = promise.has_margin, .margin = promise.margin}};
}

static struct verdict judge_need(const struct thinning *thinning, const struct need *need)
{
    struct formula_result result =
        formula_evaluate(need->formula, &thinning->world, need->parts, CONDITION_BRIGHT_NOON, NULL);
    return (struct verdict){
        .fails = result.truth != TRUTH_YES, .condition = CONDITION_BRIGHT_NOON, .result = result};
}

static struct verdict judge_asked(const struct thinning *thinning, size_t asked)
{
    const struct thin_asked *one = &thinning->asked[asked];
    return one->rule ? judge_rule(thinning, one) : judge_need(thinning, one->need);
}

/* ---- which figures ---- */

static bool is_own(const struct thin_asked *asked, size_t part)
{
    const size_t *parts = asked->rule ? asked->parts : asked->need->parts;
    size_t count = asked->rule ? asked->rule->pair_count : asked->need->part_count;
    for (size_t i = 0; i < count; i++)
        if (parts[i] == part)
            return true;
    return false;
}

/* Does figure a come before b? Those of the promise's own parts, then the more doubtful ones. */
static bool is_likelier(const struct thinning *thinning, const struct thin_asked *asked, size_t a,
                        size_t b)
{
    const struct figure *x = &thinning->figures.at[a], *y = &thinning->figures.at[b];
    bool own = is_own(asked, x->part), other = is_own(asked, y->part);
    if (own != other)
        return own;
    return x->share > y->share;
}

/* By insertion: they are few, and equal ones keep the rig's order. */
static void order_figures(struct thinning *thinning, const struct thin_asked *asked)
{
    for (size_t i = 0; i < thinning->figures.count; i++) {
        size_t at = i;
        for (; at > 0 && is_likelier(thinning, asked, i, thinning->order[at - 1]); at--)
            thinning->order[at] = thinning->order[at - 1];
        thinning->order[at] = i;
    }
}

/* Do the chosen figures and the first `prefix` in order make the promise fail? */
static bool fails_with(struct thinning *thinning, size_t asked, const size_t *chosen,
                       size_t chosen_count, size_t prefix)
{
    want_all(thinning, false);
    for (size_t i = 0; i < chosen_count; i++)
        thinning->wanted[chosen[i]] = true;
    for (size_t i = 0; i < prefix; i++)
        thinning->wanted[thinning->order[i]] = true;
    return try_wanted(thinning) && judge_asked(thinning, asked).fails;
}

/* The shortest beginning of the order, of `known` at the most, that fails with those chosen: first
 * in growing steps, for it is short as a rule, then by halves. `known` does fail. */
static size_t shortest(struct thinning *thinning, size_t asked, const size_t *chosen,
                       size_t chosen_count, size_t known)
{
    size_t holds = 0, fails = known;
    for (size_t step = 1; holds + step < fails; step *= 2) {
        if (fails_with(thinning, asked, chosen, chosen_count, holds + step)) {
            fails = holds + step;
            break;
        }
        holds += step;
    }
    while (fails - holds > 1) {
        size_t middle = holds + (fails - holds) / 2;
        if (fails_with(thinning, asked, chosen, chosen_count, middle))
            fails = middle;
        else
            holds = middle;
    }
    return fails;
}

/* They are found from the least likely on. */
static void reverse(size_t *figures, size_t count)
{
    for (size_t i = 0; i < count / 2; i++) {
        size_t last = figures[count - 1 - i];
        figures[count - 1 - i] = figures[i];
        figures[i] = last;
    }
}

/* Figures that are enough to make a promise fail; the twin is left solved with just these moved.
 * 0: more than can be told, or none was found in the tries that were left; all are moved. */
static size_t find_doubts(struct thinning *thinning, size_t asked, size_t chosen[DOUBTS_MOST])
{
    size_t count = 0, known = thinning->figures.count;
    order_figures(thinning, &thinning->asked[asked]);
    while (count < DOUBTS_MOST && known > 0 && thinning->tries < TRIES_MOST &&
           !thinning->no_memory) {
        known = shortest(thinning, asked, chosen, count, known) - 1;
        chosen[count++] = thinning->order[known];
        if (fails_with(thinning, asked, chosen, count, 0)) {
            reverse(chosen, count);
            return count;
        }
    }
    want_all(thinning, true);
    try_wanted(thinning);
    return 0;
}

/* ---- telling ---- */

static const char *keep_words(struct thinning *thinning)
{
    const char *kept =
        thinning->text.failed
            ? NULL
            : arena_copy(thinning->rig->arena, thinning->text.bytes ? thinning->text.bytes : "",
                         thinning->text.length);
    thinning->no_memory |= !kept;
    text_clear(&thinning->text);
    return kept;
}

static const char *print_words(struct thinning *thinning, const struct thin_asked *asked,
                               enum rule_words which, enum condition condition)
{
    const struct formula_words *words;
    if (!rulebook_words(asked->rule, which, &words))
        thinning->no_memory = true;
    if (!words)
        return NULL;
    formula_words_print(words, &thinning->world, asked->parts, condition, asked->rule->error,
                        &thinning->text);
    return keep_words(thinning);
}

static struct finding_doubt doubt_of(struct thinning *thinning, const struct figure *figure)
{
    const struct part *part = &thinning->rig->parts[figure->part];
    const struct attribute *attribute = &part->kind->attributes[figure->attribute];
    const struct part_value *value = &part->values[figure->attribute];
    const char *name = arena_join(thinning->rig->arena, part->id, ".", attribute->name);
    thinning->no_memory |= !name;
    return (struct finding_doubt){
        .name = name,
        .part = part->id,
        .attribute = attribute->name,
        .unit = attribute->unit,
        .customary = attribute->customary,
        .value = value->value,
        .then = thinning->twin->parts[figure->part].values[figure->attribute].value,
        .origin = value->origin,
        .because = attribute->doubt};
}

static void tell_doubts(struct thinning *thinning, const size_t *figures, size_t count,
                        struct thin_promise *promise)
{
    struct finding_doubt *doubts =
        ARENA_TAKE(thinning->rig->arena, count + 1, struct finding_doubt);
    if (!doubts) {
        thinning->no_memory = true;
        return;
    }
    for (size_t i = 0; i < count; i++)
        doubts[i] = doubt_of(thinning, &thinning->figures.at[figures[i]]);
    promise->doubts = doubts;
    promise->doubt_count = count;
}

/* Tells a promise that fails in the twin as it is solved now. */
static void tell(struct thinning *thinning, size_t index, const size_t *figures, size_t count)
{
    const struct thin_asked *asked = &thinning->asked[index];
    struct verdict verdict = judge_asked(thinning, index);
    thinning->open[index] = thinning->failing[index] = false;
    if (!verdict.fails)
        return;
    struct thin_promise promise = {.asked = asked,
                                   .condition = verdict.condition,
                                   .has_margin = verdict.result.has_margin,
                                   .margin = verdict.result.margin,
                                   .weaker = thinning->weaker};
    if (asked->rule) {
        promise.says = print_words(thinning, asked, WORDS_SAYS, verdict.condition);
        promise.mend = print_words(thinning, asked, WORDS_MEND, verdict.condition);
    } else {
        struct formula_uses uses = {.count = 0};
        formula_evaluate(asked->need->formula, &thinning->world, asked->need->parts,
                         CONDITION_BRIGHT_NOON, &uses);
        thin_need_words(thinning->twin, asked->need, &verdict.result, &uses, &thinning->text);
        promise.says = keep_words(thinning);
    }
    tell_doubts(thinning, figures, count, &promise);
    if (!ARENA_GROW(thinning->rig->arena, thinning->out))
        thinning->no_memory = true;
    else
        thinning->out->at[thinning->out->count++] = promise;
}

static void follow(struct thinning *thinning, size_t asked)
{
    size_t chosen[DOUBTS_MOST];
    size_t count = find_doubts(thinning, asked, chosen);
    if (!thinning->no_memory)
        tell(thinning, asked, chosen, count);
}

static void look_at_end(struct thinning *thinning, bool weaker)
{
    thinning->weaker = weaker;
    find_figures(thinning);
    size_t count = thinning->figures.count;
    if (count > THIN_FIGURES_MOST)
        thinning->out->too_many = count;
    thinning->order = ARENA_TAKE(thinning->arena, count + 1, size_t);
    thinning->moved = ARENA_TAKE(thinning->arena, count + 1, bool);
    thinning->wanted = ARENA_TAKE(thinning->arena, count + 1, bool);
    thinning->no_memory |= !thinning->order || !thinning->moved || !thinning->wanted;
    if (count == 0 || count > THIN_FIGURES_MOST || thinning->no_memory)
        return;
    want_all(thinning, true);
    bool settled = try_wanted(thinning);
    for (size_t i = 0; i < thinning->count && settled; i++)
        thinning->failing[i] = thinning->open[i] && judge_asked(thinning, i).fails;
    for (size_t i = 0; i < thinning->count && settled && !thinning->no_memory; i++)
        if (thinning->failing[i])
            follow(thinning, i);
}

static int by_asked(const void *a, const void *b)
{
    const struct thin_promise *x = a, *y = b;
    return (x->asked > y->asked) - (x->asked < y->asked);
}

static void look(struct thinning *thinning)
{
    thinning->open = ARENA_TAKE(thinning->arena, thinning->count + 1, bool);
    thinning->failing = ARENA_TAKE(thinning->arena, thinning->count + 1, bool);
    thinning->no_memory = !thinning->open || !thinning->failing;
    if (thinning->no_memory || choose(thinning) == 0)
        return;
    thinning->again = rig_twin_new(thinning->arena, thinning->rig);
    thinning->no_memory = !thinning->again;
    if (thinning->no_memory)
        return;
    look_at_end(thinning, true);
    if (!thinning->no_memory)
        look_at_end(thinning, false);
    if (thinning->out->count)
        qsort(thinning->out->at, thinning->out->count, sizeof *thinning->out->at, by_asked);
}

enum outcome thin_find(const struct rig *rig, const struct judge_options *options,
                       const struct thin_asked *asked, size_t count, struct thin_promises *out)
{
    *out = (struct thin_promises){0};
    if (count == 0)
        return OUTCOME_OK;
    struct thinning thinning = {
        .rig = rig, .options = options, .asked = asked, .count = count, .out = out};
    thinning.arena = arena_new();
    if (!thinning.arena)
        return OUTCOME_NO_MEMORY;
    look(&thinning);
    note_later(&thinning);
    text_drop(&thinning.text);
    arena_drop(thinning.arena);
    return thinning.no_memory ? OUTCOME_NO_MEMORY : OUTCOME_OK;
}
