/* mend.c - tries changes from the catalogue until a promise holds. */
#include "judge/mend.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "judge/rulebook.h"
#include "rig/edit.h"
#include "solve/solve.h"
#include "store/value_read.h"

/* A rig as it now stands: that of the file, or with changes already made. */
struct standing {
    const struct node *root;
    const struct rig *rig;
    const struct judgement *judgement;
};

struct candidate {
    enum mend_how how;
    size_t part;
    const struct entry *entry;
    bool as_listed;    /* SWAP: figures that the entry lists too go */
    bool last;         /* ADD */
    double distance_m; /* ADD */
    unsigned more;     /* PARALLEL */
    unsigned tier;     /* 0: named by the finding; 1: its figures rest on it; 2: another */
    double far;        /* how unlike what is there */
    size_t order;      /* among equals: as they were found */
};

struct search {
    struct arena *arena;   /* what is kept */
    struct arena *scratch; /* of the candidates for one finding */
    struct arena *tries;   /* of one try */
    const struct mend_bench *bench;
    size_t tries_left;
    bool quick; /* the conditions alone tell whether it still fails */
    struct {
        struct candidate *at;
        size_t count, room;
    } candidates;
    bool no_memory;
};

/* ---- Is it the same finding? ---- */

static bool same_text(const char *a, const char *b)
{
    return a == b || (a && b && strcmp(a, b) == 0);
}

static bool same_finding(const struct finding *a, const struct finding *b)
{
    if (strcmp(a->rule, b->rule) != 0 || a->part_count != b->part_count ||
        !same_text(a->subject, b->subject))
        return false;
    for (size_t i = 0; i < a->part_count; i++)
        if (strcmp(a->parts[i], b->parts[i]) != 0)
            return false;
    return a->from ||
           strcmp(a->message, b->message) == 0; /* mistakes differ by their words alone */
}

/* Of one told for several parts (its subject names the others) the last part says which it is. */
static bool same_promise(const struct finding *a, const struct finding *b)
{
    if (strcmp(a->rule, b->rule) != 0 || a->part_count != b->part_count || !a->part_count)
        return false;
    size_t last = a->part_count - 1;
    if (a->part_count == 2 && (a->subject || b->subject))
        return strcmp(a->parts[last], b->parts[last]) == 0;
    return same_finding(a, b);
}

static bool counts(const struct finding *finding)
{
    return !finding->accepted && finding->level <= LEVEL_QUESTION;
}

static bool still_fails(const struct judgement *judgement, const struct finding *finding)
{
    for (size_t i = 0; i < judgement->finding_count; i++)
        if (counts(&judgement->findings[i]) && same_promise(&judgement->findings[i], finding))
            return true;
    return false;
}

/* Is every finding after the change one that was there before, and no worse than it was? */
static bool brings_nothing(const struct judgement *before, const struct judgement *after)
{
    for (size_t i = 0; i < after->finding_count; i++) {
        const struct finding *found = &after->findings[i];
        bool known = !counts(found);
        for (size_t k = 0; k < before->finding_count && !known; k++)
            known = same_promise(&before->findings[k], found) &&
                    before->findings[k].level <= found->level;
        if (!known)
            return false;
    }
    return true;
}

/* ---- A try ---- */

static const char *spell(struct arena *arena, double number, const char *unit)
{
    return arena_print(arena, "%.12g%s", number, unit);
}

/* NULL: the part is gone with an earlier change, or memory ran out. */
static struct node *edited(struct search *search, struct arena *arena, const struct standing *now,
                           const struct mend_change *change)
{
    size_t index = rig_find_part(now->rig, change->part);
    if (index == NO_PART)
        return NULL;
    const struct part *part = &now->rig->parts[index];
    bool anywhere = isnan(change->distance_m);
    const char *text = NULL;
    struct node *root = NULL;
    switch (change->how) {
    case MEND_SWAP:
        root = edit_use(arena, now->root, part, change->entry, change->dropped_count > 0);
        break;
    case MEND_ADD:
        text = anywhere ? NULL : spell(arena, change->distance_m, " m");
        if (text || anywhere)
            root = edit_insert(arena, now->root, part, change->entry, change->added, change->last,
                               text);
        break;
    default:
        text = spell(arena, change->parallel, "");
        if (text)
            root = edit_give(arena, now->root, part, "parallel", text);
    }
    search->no_memory = search->no_memory || !root;
    return root;
}

/* Reads and solves the changed rig. NULL: it can't be read, or memory ran out. */
static struct rig *build(struct search *search, struct arena *arena, const struct standing *now,
                         const struct node *root, bool quick, struct diagnostics *diagnostics)
{
    const struct mend_bench *bench = search->bench;
    struct rig *rig = NULL;
    enum outcome outcome = rig_read_tree(arena, bench->store, bench->defaults, bench->settings,
                                         now->rig->file, root, diagnostics, &rig);
    if (rig)
        rig->fields = now->rig->fields;
    if (outcome == OUTCOME_OK)
        outcome = quick ? solve_conditions(rig, diagnostics) : solve_rig(rig, diagnostics);
    if (outcome == OUTCOME_NO_MEMORY)
        search->no_memory = true;
    return outcome == OUTCOME_OK ? rig : NULL;
}

/* How much of a judgement is asked for, the cheapest first. */
enum ask { ASK_RULE, ASK_TRUSTING, ASK_ALL };

/* The rule of a finding alone; all rules, labels taken at their word; all of it. */
static bool judge_changed(struct search *search, const struct rig *rig,
                          const struct diagnostics *diagnostics, enum ask ask,
                          const struct finding *finding, struct judgement *out)
{
    struct judge_options options = {.only = ask == ASK_RULE ? finding->rule : NULL,
                                    .today = search->bench->today,
                                    .trusting = ask == ASK_TRUSTING ||
                                                (ask == ASK_RULE && !finding->is_thin),
                                    .without_working = ask != ASK_ALL};
    if (judge_rig(search->bench->book, rig, diagnostics, &options, out) == OUTCOME_NO_MEMORY)
        search->no_memory = true;
    return !search->no_memory;
}

/* Most changes end here: the conditions alone, and only the finding's own rule. */
static bool is_hopeless(struct search *search, struct arena *arena, const struct standing *now,
                        const struct finding *finding, const struct node *root)
{
    struct diagnostics diagnostics = {.arena = arena};
    struct judgement judgement;
    const struct rig *rig = build(search, arena, now, root, true, &diagnostics);
    return !rig || !judge_changed(search, rig, &diagnostics, ASK_RULE, finding, &judgement) ||
           still_fails(&judgement, finding);
}

/* Makes the change and looks at all of it anew, in `arena`. NULL: the finding stays, or something
 * else comes. */
static const struct rig *attempt(struct search *search, struct arena *arena,
                                 const struct standing *now, const struct finding *finding,
                                 const struct mend_change *change, const struct node **root,
                                 struct judgement *out)
{
    struct diagnostics diagnostics = {.arena = arena};
    *root = edited(search, arena, now, change);
    if (!*root || (search->quick && is_hopeless(search, arena, now, finding, *root)))
        return NULL;
    struct rig *rig = build(search, arena, now, *root, false, &diagnostics);
    if (!rig || !judge_changed(search, rig, &diagnostics, ASK_RULE, finding, out) ||
        still_fails(out, finding))
        return NULL;
    for (enum ask ask = ASK_TRUSTING; ask <= ASK_ALL; ask++)
        if (!judge_changed(search, rig, &diagnostics, ask, finding, out) ||
            !brings_nothing(now->judgement, out))
            return NULL;
    /* With a hand valve nothing that a winding needs is asked any more: that is no mend. */
    return out->hold >= now->judgement->hold ? rig : NULL;
}

/* ---- What a figure was and is ---- */

/* The part that a name such as "cable" in "cable.drop_share" stands for: a role of the rule, else
 * an id. */
static size_t owner_of(const struct rig *rig, const struct finding *finding, const char *name,
                       size_t length)
{
    char owner[128];
    const char *pairing = finding->from ? finding->from->pairing.text : NULL;
    if (length >= sizeof owner)
        return NO_PART;
    memcpy(owner, name, length);
    owner[length] = '\0';
    const char *second = pairing ? strrchr(pairing, ' ') : NULL;
    if (pairing && strncmp(pairing, owner, length) == 0 &&
        (pairing[length] == '\0' || pairing[length] == ' '))
        return rig_find_part(rig, finding->parts[0]);
    if (second && (strcmp(second + 1, owner) == 0 || strcmp(owner, "other") == 0))
        return rig_find_part(rig, finding->parts[1]);
    return rig_find_part(rig, owner);
}

static size_t value_owner(const struct rig *rig, const struct finding *finding,
                          const struct finding_value *value)
{
    const char *point = strchr(value->name, '.');
    return point ? owner_of(rig, finding, value->name, (size_t)(point - value->name)) : NO_PART;
}

static bool is_other(const struct value *a, const struct value *b)
{
    double x = a->as.quantity.value, y = b->as.quantity.value;
    return fabs(x - y) > 1e-3 * fmax(fabs(x), fabs(y));
}

/* The figures of the finding that came out otherwise. */
static bool add_effects(struct search *search, const struct rig *after,
                        const struct finding *finding, struct mend_way *way)
{
    struct formula_world world = rig_world(after);
    for (size_t i = 0; i < finding->value_count && way->effect_count < MEND_EFFECTS; i++) {
        const struct finding_value *value = &finding->values[i];
        size_t part = value_owner(after, finding, value);
        const char *attribute = strchr(value->name, '.');
        if (part == NO_PART || !attribute || value->value.type != VALUE_QUANTITY)
            continue;
        const struct kind *kind = after->parts[part].kind;
        int index = kind_attribute(kind, attribute + 1);
        struct mend_effect effect = {.before = value->value};
        enum origin origin;
        if (index < 0 ||
            !world.value(after, part, index, finding->condition, &effect.after, &origin) ||
            effect.after.type != VALUE_QUANTITY || !is_other(&effect.before, &effect.after))
            continue;
        effect.unit = kind->attributes[index].unit;
        effect.customary = kind->attributes[index].customary;
        effect.after.unit = NULL;
        effect.name = arena_print(search->arena, "%s%s", after->parts[part].id, attribute);
        if (!effect.name)
            return false;
        way->effects[way->effect_count++] = effect;
    }
    return true;
}

/* ---- Candidates ---- */

static void add_candidate(struct search *search, struct candidate candidate)
{
    candidate.order = search->candidates.count;
    if (ARENA_GROW(search->scratch, &search->candidates))
        search->candidates.at[search->candidates.count++] = candidate;
    else
        search->no_memory = true;
}

static double share_apart(double a, double b)
{
    if (a == b)
        return 0.0;
    if (!(a > 0.0) || !(b > 0.0))
        return 1.0;
    return fmin(fabs(log(a / b)), 3.0);
}

/* How unlike two values are: 0 the same, 1 nothing alike, or e times as much. */
static double apart(const struct value *a, const struct value *b)
{
    if (a->type == VALUE_QUANTITY && b->type == VALUE_QUANTITY)
        return share_apart(a->as.quantity.value, b->as.quantity.value);
    if (a->type == VALUE_RANGE && b->type == VALUE_RANGE)
        return 0.5 * (share_apart(a->as.range.low.value, b->as.range.low.value) +
                      share_apart(a->as.range.high.value, b->as.range.high.value));
    if (a->type == VALUE_WORD && b->type == VALUE_WORD)
        return strcmp(a->as.word, b->as.word) == 0 ? 0.0 : 1.0;
    return 0.0;
}

/* A rig in mm2 is not mended with AWG, nor the other way round. */
static bool other_gauge(const struct value *a, const struct value *b)
{
    if (a->type != VALUE_QUANTITY || b->type != VALUE_QUANTITY || !a->unit || !b->unit)
        return false;
    return (strcmp(a->unit, "AWG") == 0) != (strcmp(b->unit, "AWG") == 0);
}

/* Figures that the part's own entry lists and the other does not: less would be known of it. */
static double less_known(const struct part *part, const struct entry *entry)
{
    double far = 0.0;
    for (size_t i = 0; part->entry && i < part->entry->value_count; i++)
        far += entry_lists(entry, part->entry->values[i].attribute) ? 0.0 : 0.3;
    return far;
}

/* How unlike an entry is to a part; NAN: it can't take its place. */
static double entry_apart(struct search *search, const struct part *part, const struct entry *entry)
{
    double far = less_known(part, entry);
    for (size_t i = 0; i < entry->value_count; i++) {
        struct diagnostics unused = {.arena = search->scratch};
        struct value value;
        int index = kind_attribute(part->kind, entry->values[i].attribute);
        if (index < 0)
            continue;
        const struct part_value *held = &part->values[index];
        if (held->origin == ORIGIN_UNKNOWN || held->origin == ORIGIN_ASSUMED)
            continue;
        enum outcome outcome =
            value_read_text(search->scratch, entry->values[i].text, entry->values[i].at,
                            &part->kind->attributes[index], &unused, &value);
        if (outcome == OUTCOME_NO_MEMORY)
            search->no_memory = true;
        if (outcome != OUTCOME_OK)
            continue;
        if (other_gauge(&held->value, &value))
            return NAN;
        far += apart(&held->value, &value);
    }
    return far;
}

static bool is_given(const struct part *part, const char *attribute)
{
    int index = kind_attribute(part->kind, attribute);
    return index >= 0 && part->values[index].origin == ORIGIN_GIVEN;
}

/* Figures given beside a part that an entry lists as well. */
static size_t given_and_listed(const struct part *part, const struct entry *entry, const char **out,
                               size_t room)
{
    size_t count = 0;
    for (size_t i = 0; i < entry->value_count; i++)
        if (is_given(part, entry->values[i].attribute)) {
            if (count < room)
                out[count] = entry->values[i].attribute;
            count++;
        }
    return count;
}

/* A pipe without any figure joins its ends: there is nothing to take another of. */
static bool is_plain_joint(const struct part *part)
{
    for (size_t i = 0; i < part->kind->attribute_count; i++)
        if (part->values[i].origin == ORIGIN_GIVEN || part->values[i].origin == ORIGIN_LISTED)
            return false;
    return true;
}

static void add_swaps(struct search *search, const struct rig *rig, size_t index, unsigned tier)
{
    const struct part *part = &rig->parts[index];
    const struct store *store = search->bench->store;
    if (is_plain_joint(part))
        return;
    for (size_t i = 0; i < store->entry_count && !search->no_memory; i++) {
        const struct entry *entry = &store->entries[store->entry_order[i]];
        if (strcmp(entry->kind, part->kind->name) != 0 || entry == part->entry)
            continue;
        double far = entry_apart(search, part, entry);
        size_t listed = given_and_listed(part, entry, NULL, 0);
        if (isnan(far) || listed > MEND_DROPPED_MOST)
            continue;
        struct candidate candidate = {
            .how = MEND_SWAP, .part = index, .entry = entry, .tier = tier, .far = far};
        if (part->entry)
            add_candidate(search, candidate);
        if (listed) {
            candidate.as_listed = true;
            candidate.far += part->entry ? 0.1 : 0.0;
            add_candidate(search, candidate);
        }
    }
}

static unsigned parallel_of(const struct part *part)
{
    double number = part_number_or(part, "parallel", 1.0);
    return number >= 1.0 && number < 1000.0 ? (unsigned)number : 1;
}

static void add_parallels(struct search *search, const struct rig *rig, size_t index, unsigned tier)
{
    const struct part *part = &rig->parts[index];
    int attribute = kind_attribute(part->kind, "parallel");
    if (attribute < 0 || part->kind->attributes[attribute].solved != SOLVED_NO)
        return;
    for (unsigned more = 1; more <= 3; more++)
        add_candidate(
            search,
            (struct candidate){
                .how = MEND_PARALLEL, .part = index, .more = more, .tier = tier, .far = more});
}

/* One more part in a run, at the end where a part of the finding stands, else at both. */
static void add_insertions(struct search *search, const struct rig *rig, size_t run, size_t beside,
                           const struct kind *kind)
{
    const struct store *store = search->bench->store;
    double length = part_number(&rig->parts[run], "length");
    for (size_t i = 0; i < store->entry_count; i++) {
        const struct entry *entry = &store->entries[store->entry_order[i]];
        if (strcmp(entry->kind, kind->name) != 0)
            continue;
        for (int last = 0; last < 2; last++) {
            if (beside != run && beside != (last ? rig->parts[run].to : rig->parts[run].from))
                continue;
            double near = fmin(0.1, 0.5 * length); /* a hand's breadth from the part */
            add_candidate(search, (struct candidate){.how = MEND_ADD,
                                                     .part = run,
                                                     .entry = entry,
                                                     .last = last,
                                                     .distance_m = last ? length - near : near,
                                                     .far = 1.0});
        }
    }
}

/* Does a part of this kind lie in runs of this one? */
static bool lies_in(const struct kind *kind, const struct part *run)
{
    bool pipe = strcmp(run->kind->name, "pipe") == 0;
    return kind_is(kind, pipe ? "in-pipe" : "in-line");
}

static void add_kind(struct search *search, const struct rig *rig, const struct finding *finding,
                     const struct kind *kind)
{
    for (size_t p = 0; p < finding->part_count; p++) {
        size_t part = rig_find_part(rig, finding->parts[p]);
        const size_t *runs;
        if (part == NO_PART)
            continue;
        if (kind_is(rig->parts[part].kind, "run") && lies_in(kind, &rig->parts[part]))
            add_insertions(search, rig, part, part, kind);
        size_t count = rig_related(rig, part, "touched-by", &runs);
        for (size_t i = 0; i < count; i++)
            if (kind_is(rig->parts[runs[i]].kind, "run") && lies_in(kind, &rig->parts[runs[i]]))
                add_insertions(search, rig, runs[i], part, kind);
    }
}

static void add_gathered(struct search *search, const struct rig *rig,
                         const struct finding *finding, const struct formula *formula)
{
    const struct kind *const *kinds;
    size_t count, at = 0;
    while (formula && formula_gathers(formula, &at, &kinds, &count))
        for (size_t i = 0; i < count; i++)
            add_kind(search, rig, finding, kinds[i]);
}

static const struct compiled_rule *rule_of(struct search *search, const struct finding *finding)
{
    const struct rulebook *book = search->bench->book;
    const struct compiled_rule *rule = NULL;
    for (size_t i = 0; i < book->rule_count; i++)
        if (book->rules[i].rule == finding->from)
            rule = &book->rules[i];
    if (!rule || rulebook_ready(rule))
        return rule;
    search->no_memory = true;
    return NULL;
}

/* Kinds that the rule looks for near its parts: a fuse, a filter, a check valve. */
static void add_missing_parts(struct search *search, const struct rig *rig,
                              const struct finding *finding)
{
    const struct compiled_rule *rule = rule_of(search, finding);
    if (!rule)
        return;
    add_gathered(search, rig, finding, rule->when);
    add_gathered(search, rig, finding, rule->error);
    add_gathered(search, rig, finding, rule->caution);
    for (size_t i = 0; i < rule->rule->let_count; i++)
        add_gathered(search, rig, finding, rule->lets[i]);
}

/* How close to the finding each part of the rig is: 0, 1 or 2. */
static unsigned *find_tiers(struct search *search, const struct rig *rig,
                            const struct finding *finding)
{
    unsigned *tier = ARENA_TAKE(search->scratch, rig->part_count + 1, unsigned);
    if (!tier) {
        search->no_memory = true;
        return NULL;
    }
    for (size_t i = 0; i < rig->part_count; i++)
        tier[i] = 2;
    for (size_t i = 0; i < finding->value_count; i++) {
        size_t part = value_owner(rig, finding, &finding->values[i]);
        if (part != NO_PART)
            tier[part] = 1;
    }
    for (size_t i = 0; i < finding->part_count; i++) {
        size_t part = rig_find_part(rig, finding->parts[i]);
        if (part != NO_PART)
            tier[part] = 0;
    }
    return tier;
}

static int compare_candidates(const void *a, const void *b)
{
    const struct candidate *x = a, *y = b;
    if (x->tier != y->tier)
        return x->tier < y->tier ? -1 : 1;
    if (x->far != y->far)
        return x->far < y->far ? -1 : 1;
    return x->order < y->order ? -1 : x->order > y->order;
}

/* Every change that may help, the nearest first. In search->scratch. */
static void find_candidates(struct search *search, const struct rig *rig,
                            const struct finding *finding)
{
    const unsigned *tier = find_tiers(search, rig, finding);
    search->candidates.at = NULL;
    search->candidates.count = search->candidates.room = 0;
    /* One that rests on no figure, or on the list as a whole, is about what is there and joined. */
    bool figures = finding->value_count &&
                   !(finding->part_count && rig_find_part(rig, finding->parts[0]) == rig->whole);
    size_t count = figures ? rig->part_count : 0;
    for (size_t i = 0; tier && i < count && !search->no_memory; i++) {
        if (i == rig->site || i == rig->whole || part_is_spare(&rig->parts[i]))
            continue;
        add_swaps(search, rig, i, tier[i]);
        add_parallels(search, rig, i, tier[i]);
    }
    if (!search->no_memory)
        add_missing_parts(search, rig, finding);
    if (search->candidates.count)
        qsort(search->candidates.at, search->candidates.count, sizeof *search->candidates.at,
              compare_candidates);
}

/* ---- The search ---- */

static const char *free_id(struct search *search, const struct rig *rig, const char *kind)
{
    const char *id = kind;
    for (unsigned n = 2; id && rig_find_part(rig, id) != NO_PART; n++)
        id = arena_print(search->arena, "%s-%u", kind, n);
    if (!id)
        search->no_memory = true;
    return id;
}

static struct mend_change change_of(struct search *search, const struct rig *rig,
                                    const struct candidate *candidate)
{
    const struct part *part = &rig->parts[candidate->part];
    struct mend_change change = {.how = candidate->how,
                                 .part = part->id,
                                 .at = part->at,
                                 .entry = candidate->entry,
                                 .last = candidate->last,
                                 .distance_m = candidate->distance_m};
    if (change.how == MEND_SWAP)
        change.before = part->entry ? part->entry->name : part->kind->name;
    if (change.how == MEND_SWAP && candidate->as_listed)
        change.dropped_count =
            given_and_listed(part, candidate->entry, change.dropped, MEND_DROPPED_MOST);
    if (change.how == MEND_ADD)
        change.added = free_id(search, rig, candidate->entry->kind);
    if (change.how == MEND_PARALLEL) {
        change.were = parallel_of(part);
        change.parallel = change.were + candidate->more;
    }
    return change;
}

/* Another way with the same part of the same run is no news: the nearest entry is shown. */
static bool is_shown(const struct mend *mend, const struct mend_change *change)
{
    for (size_t i = 0; i < mend->way_count; i++)
        if (mend->ways[i].change.how == change->how &&
            strcmp(mend->ways[i].change.part, change->part) == 0)
            return true;
    return false;
}

static bool reads_once(const struct formula *formula)
{
    size_t at = 0, role;
    const struct attribute *attribute;
    while (formula && formula_attribute(formula, &at, &role, &attribute))
        if (attribute->solved == SOLVED_ONCE)
            return true;
    return false;
}

/* Does the finding rest on nothing that is solved once for all conditions? */
static bool rests_on_conditions(struct search *search, const struct rig *rig,
                                const struct finding *finding)
{
    const struct compiled_rule *rule = rule_of(search, finding);
    for (size_t i = 0; i < rig->need_count; i++)
        if (same_text(rig->needs[i].text, finding->subject))
            return !reads_once(rig->needs[i].formula);
    if (!rule || reads_once(rule->when) || reads_once(rule->error) || reads_once(rule->caution))
        return false;
    for (size_t i = 0; i < rule->rule->let_count; i++)
        if (reads_once(rule->lets[i]))
            return false;
    return true;
}

static void mend_one(struct search *search, const struct standing *now, struct mend *mend)
{
    double farthest = INFINITY; /* a further way is shown only when it is not much further */
    arena_clear(search->scratch);
    find_candidates(search, now->rig, mend->finding);
    search->quick = rests_on_conditions(search, now->rig, mend->finding);
    for (size_t i = 0;
         i < search->candidates.count && !search->no_memory && mend->way_count < MEND_WAYS &&
         mend->tried < MEND_TRIES_EACH && search->tries_left;
         i++) {
        const struct candidate *candidate = &search->candidates.at[i];
        struct mend_change change = change_of(search, now->rig, candidate);
        struct judgement judgement;
        const struct node *root;
        if (is_shown(mend, &change) || candidate->far > farthest ||
            (mend->way_count && candidate->tier > 1))
            continue;
        mend->tried++;
        search->tries_left--;
        arena_clear(search->tries);
        const struct rig *after =
            attempt(search, search->tries, now, mend->finding, &change, &root, &judgement);
        if (!after)
            continue;
        struct mend_way *way = &mend->ways[mend->way_count++];
        if (mend->way_count == 1)
            farthest = 1.5 * candidate->far + 0.5;
        way->change = change;
        if (!add_effects(search, after, mend->finding, way))
            search->no_memory = true;
    }
}

static bool is_to_mend(const struct finding *finding, enum level level)
{
    return finding->from && !finding->accepted && finding->level == level;
}

/* Adds a change to those that go together. One that swaps a part again stands in place of the one
 * before, so that a line of the list is told to become one thing only. */
static void keep_together(struct mends *out, struct mend_change *changes,
                          const struct mend_change *change)
{
    for (size_t i = 0; change->how == MEND_SWAP && i < out->together_count; i++) {
        struct mend_change *earlier = &changes[i];
        size_t both = earlier->dropped_count + change->dropped_count;
        if (earlier->how != MEND_SWAP || strcmp(earlier->part, change->part) != 0 ||
            both > MEND_DROPPED_MOST)
            continue;
        earlier->entry = change->entry;
        for (size_t k = 0; k < change->dropped_count; k++)
            earlier->dropped[earlier->dropped_count++] = change->dropped[k];
        return;
    }
    changes[out->together_count++] = *change;
}

/* Makes the first of these ways that goes from here. False: none does, or memory ran out. */
static bool go_on(struct search *search, struct standing *now, const struct mend *mend,
                  struct mends *out, struct mend_change *changes)
{
    for (size_t i = 0; i < mend->way_count && !search->no_memory; i++) {
        struct judgement *judgement = ARENA_TAKE(search->arena, 1, struct judgement);
        struct mend_change change = mend->ways[i].change;
        const struct node *root;
        if (change.how == MEND_ADD)
            change.added = free_id(search, now->rig, change.entry->kind);
        search->no_memory = search->no_memory || !judgement;
        const struct rig *after =
            search->no_memory
                ? NULL
                : attempt(search, search->arena, now, mend->finding, &change, &root, judgement);
        if (!after)
            continue;
        *now = (struct standing){root, after, judgement};
        keep_together(out, changes, &change);
        return true;
    }
    return false;
}

/* Looks anew for what no single change could mend: now that others are made, one may. */
static void mend_the_rest(struct search *search, struct standing *now, size_t most,
                          struct mends *out, struct mend_change *changes)
{
    const struct judgement *judgement = now->judgement;
    for (enum level level = LEVEL_ERROR; level <= LEVEL_CAUTION; level++)
        for (size_t i = 0; i < judgement->finding_count && out->together_count < most; i++) {
            struct mend mend = {.finding = &judgement->findings[i]};
            if (!is_to_mend(mend.finding, level) || !still_fails(now->judgement, mend.finding))
                continue;
            mend_one(search, now, &mend);
            go_on(search, now, &mend, out, changes);
            if (search->no_memory)
                return;
        }
}

/* One way of each finding that goes with those before it. */
static void put_together(struct search *search, struct standing now, const struct mend *mends,
                         struct mends *out)
{
    size_t most = 2 * out->count;
    search->quick = false;
    struct mend_change *changes = ARENA_TAKE(search->arena, most + 1, struct mend_change);
    if (!changes) {
        search->no_memory = true;
        return;
    }
    for (size_t i = 0; i < out->count && !search->no_memory; i++)
        if (still_fails(now.judgement, mends[i].finding))
            go_on(search, &now, &mends[i], out, changes);
    if (out->together_count && !search->no_memory)
        mend_the_rest(search, &now, most, out, changes);
    out->together = changes;
    memcpy(out->left, now.judgement->by_level, sizeof out->left);
}

enum outcome mend_find(struct arena *arena, const struct mend_bench *bench, const struct node *root,
                       const struct rig *rig, const struct judgement *judgement, struct mends *out)
{
    struct search search = {.arena = arena,
                            .scratch = arena_new(),
                            .tries = arena_new(),
                            .bench = bench,
                            .tries_left = MEND_TRIES_ALL};
    struct standing now = {root, rig, judgement};
    struct mend *mends = ARENA_TAKE(arena, judgement->finding_count + 1, struct mend);
    *out = (struct mends){.at = mends};
    search.no_memory = !search.tries || !search.scratch || !mends;
    for (enum level level = LEVEL_ERROR; level <= LEVEL_CAUTION && !search.no_memory; level++)
        for (size_t i = 0; i < judgement->finding_count && !search.no_memory; i++) {
            if (!is_to_mend(&judgement->findings[i], level))
                continue;
            struct mend *mend = &mends[out->count++];
            mend->finding = &judgement->findings[i];
            mend_one(&search, &now, mend);
        }
    if (!search.no_memory)
        put_together(&search, now, mends, out);
    arena_drop(search.tries);
    arena_drop(search.scratch);
    return search.no_memory ? OUTCOME_NO_MEMORY : OUTCOME_OK;
}
