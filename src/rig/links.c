/* links.c - how the parts of a rig stand to each other, found once from its
 * runs: a flood along the cables for what feeds, guards and switches what, and
 * along the pipes, as they are written, for the water. */
#include <stdlib.h>
#include <string.h>

#include "rig/read.h"

const char *const relation_words[] = {
#define RELATION(symbol, word, inverse, about) word, inverse,
#include "rig/relation.def"
#undef RELATION
    NULL};

/* Of parts, in the rig's order, each once. Behind those of a long list stand the same parts again,
 * those of a kind together: rules ask for the few of one kind, over and over. */
struct list {
    size_t *at;
    size_t count, room;
};

enum { LONG_LIST = 32 };

struct links {
    struct list *
        lists[2 * RELATION_COUNT]; /* [2 r]: part r list; [2 r + 1]: list r part; one list a part */
    size_t *all;                   /* every part, for sums over the whole rig */
};

/* One step from a part: along a run to the part at its other end. */
struct step {
    size_t run, to;
    bool forward; /* from the run's `from` to its `to` */
};

struct linking {
    struct arena *arena;
    const struct rig *rig;
    struct links *links;
    struct step *steps; /* of all parts, those of part p at first[p] .. first[p + 1] */
    size_t *first;
    size_t *queue;            /* for floods */
    const struct step **came; /* over which step each part of the queue was reached */
    unsigned *seen;           /* the number of the last flood that came by */
    unsigned flood;
    size_t pairs;
    bool failed, tangled;
};

static bool is(const struct linking *linking, size_t part, const char *word)
{
    return kind_is(linking->rig->parts[part].kind, word);
}

static bool is_cable(const struct linking *linking, size_t part)
{
    return is(linking, part, "cable");
}

static void add(struct linking *linking, struct list *list, size_t part)
{
    if (!ARENA_GROW(linking->arena, list)) {
        linking->failed = true;
        return;
    }
    list->at[list->count++] = part;
}

/* `a` stands in the relation to `b`. Told twice, it is kept twice until the lists are sorted. */
static void relate(struct linking *linking, enum relation relation, size_t a, size_t b)
{
    if (a == NO_PART || b == NO_PART || a == b || linking->failed)
        return;
    if (linking->pairs++ >= RIG_RELATIONS_MAX) {
        linking->tangled = true;
        return;
    }
    add(linking, &linking->links->lists[2 * relation][a], b);
    add(linking, &linking->links->lists[2 * relation + 1][b], a);
}

/* ---- the graph of runs ---- */

static void count_ends(struct linking *linking)
{
    const struct rig *rig = linking->rig;
    for (size_t i = 0; i < rig->part_count; i++)
        if (rig->parts[i].from != NO_PART && rig->parts[i].to != NO_PART) {
            linking->first[rig->parts[i].from + 1]++;
            linking->first[rig->parts[i].to + 1]++;
        }
    for (size_t i = 0; i < rig->part_count; i++)
        linking->first[i + 1] += linking->first[i];
}

static bool make_steps(struct linking *linking)
{
    const struct rig *rig = linking->rig;
    size_t *next = ARENA_TAKE(linking->arena, rig->part_count + 1, size_t);
    linking->first = ARENA_TAKE(linking->arena, rig->part_count + 2, size_t);
    if (!next || !linking->first)
        return false;
    count_ends(linking);
    linking->steps = ARENA_TAKE(linking->arena, linking->first[rig->part_count] + 1, struct step);
    if (!linking->steps)
        return false;
    memcpy(next, linking->first, rig->part_count * sizeof *next);
    for (size_t i = 0; i < rig->part_count; i++) {
        size_t from = rig->parts[i].from, to = rig->parts[i].to;
        if (from == NO_PART || to == NO_PART)
            continue;
        linking->steps[next[from]++] = (struct step){i, to, true};
        linking->steps[next[to]++] = (struct step){i, from, false};
    }
    return true;
}

/* ---- floods ---- */

/* What a flood along the cables does at a part that it reaches. */
enum passage { PASS, STOP };

struct flood {
    size_t queue_begin, queue_end;
};

static void flood_begin(struct linking *linking, struct flood *flood, size_t part)
{
    *flood = (struct flood){0, 0};
    linking->flood++;
    linking->seen[part] = linking->flood;
    linking->queue[flood->queue_end++] = part;
}

/* Marks a part as reached; true when it is the first time in this flood. */
static bool reach(struct linking *linking, size_t part)
{
    if (linking->seen[part] == linking->flood)
        return false;
    linking->seen[part] = linking->flood;
    return true;
}

/* May current that came to `part` by a run go on over `step`? A converter is passed from its input
 * (`to`) to its output (`from`) only. */
static bool leaves_by(const struct linking *linking, size_t part, const struct step *step)
{
    if (!is_cable(linking, step->run))
        return false;
    return !is(linking, part, "converter") || step->forward;
}

/* Reaches the other side of a converter's input only from the input: a step that ends on an output
 * is refused. */
static bool enters_by(const struct linking *linking, const struct step *step)
{
    return !is(linking, step->to, "converter") || step->forward;
}

static bool leads_to_panel(const struct linking *linking, const struct step *step)
{
    return is(linking, step->to, "panel");
}

/* Where a flood of current from `source` ends. */
static enum passage passage(const struct linking *linking, size_t source, size_t part)
{
    if (is(linking, part, "battery"))
        return STOP;
    if (is(linking, part, "controller"))
        return is(linking, source, "battery") ? PASS : STOP;
    return PASS;
}

static void feed_through(struct linking *linking, size_t source, size_t run)
{
    const struct part *part = &linking->rig->parts[run];
    relate(linking, RELATION_FEEDS, source, run);
    for (size_t i = 0; i < part->through_count; i++)
        relate(linking, RELATION_FEEDS, source, part->through[i].part);
    for (size_t i = 0; i < 2; i++)
        relate(linking, RELATION_FEEDS, source, part->plugs[i]);
}

/* A panel at a controller also feeds the batteries behind it, nothing further. */
static void feed_batteries(struct linking *linking, size_t source, size_t controller)
{
    for (size_t s = linking->first[controller]; s < linking->first[controller + 1]; s++)
        if (is(linking, linking->steps[s].to, "battery"))
            relate(linking, RELATION_FEEDS, source, linking->steps[s].to);
}

static bool may_step(const struct linking *linking, size_t source, size_t part,
                     const struct step *step)
{
    if (!leaves_by(linking, part, step) || !enters_by(linking, step))
        return false;
    bool controller = is(linking, part, "controller");
    return !controller || !leads_to_panel(linking, step) || is(linking, source, "panel");
}

static void feed_electric(struct linking *linking, size_t source)
{
    struct flood flood;
    flood_begin(linking, &flood, source);
    while (flood.queue_begin < flood.queue_end && !linking->tangled) {
        size_t part = linking->queue[flood.queue_begin++];
        if (part != source && passage(linking, source, part) == STOP)
            continue;
        for (size_t s = linking->first[part]; s < linking->first[part + 1]; s++) {
            const struct step *step = &linking->steps[s];
            if (!may_step(linking, source, part, step))
                continue;
            feed_through(linking, source, step->run);
            if (!reach(linking, step->to))
                continue;
            relate(linking, RELATION_FEEDS, source, step->to);
            if (is(linking, source, "panel") && is(linking, step->to, "controller"))
                feed_batteries(linking, source, step->to);
            linking->queue[flood.queue_end++] = step->to;
        }
    }
}

/* Water from `source` as it leaves `start`: the source itself, or what the run with the source in
 * it leads to. */
static void feed_water_from(struct linking *linking, size_t source, size_t start)
{
    struct flood flood;
    flood_begin(linking, &flood, start);
    while (flood.queue_begin < flood.queue_end && !linking->tangled) {
        size_t part = linking->queue[flood.queue_begin++];
        if (part != source && is(linking, part, "tank"))
            continue;
        for (size_t s = linking->first[part]; s < linking->first[part + 1]; s++) {
            const struct step *step = &linking->steps[s];
            if (!step->forward || !is(linking, step->run, "pipe"))
                continue;
            feed_through(linking, source, step->run);
            if (!reach(linking, step->to))
                continue;
            relate(linking, RELATION_FEEDS, source, step->to);
            linking->queue[flood.queue_end++] = step->to;
        }
    }
}

static void feed_water(struct linking *linking, size_t source)
{
    feed_water_from(linking, source, source);
}

/* What sits in `run` behind `part`, and what the run leads to. */
static void feed_in_run(struct linking *linking, size_t part, size_t run)
{
    const struct part *pipe = &linking->rig->parts[run];
    bool behind = false;
    for (size_t i = 0; i < pipe->through_count; i++) {
        if (behind)
            relate(linking, RELATION_FEEDS, part, pipe->through[i].part);
        behind = behind || pipe->through[i].part == part;
    }
    if (!behind || pipe->to == NO_PART)
        return;
    relate(linking, RELATION_FEEDS, part, pipe->to);
    feed_water_from(linking, part, pipe->to);
}

/* A valve, filter or the like stands between runs, or sits in one. */
static void feed_in_pipe(struct linking *linking, size_t part)
{
    feed_water(linking, part);
    const struct list *runs = &linking->links->lists[2 * RELATION_SITS_IN][part];
    for (size_t i = 0; i < runs->count; i++)
        feed_in_run(linking, part, runs->at[i]);
}

/* ---- guards and switches ---- */

/* Does a part of this sort sit in the run? */
static bool run_holds(const struct linking *linking, size_t run, const char *sort)
{
    const struct part *part = &linking->rig->parts[run];
    for (size_t i = 0; i < part->through_count; i++)
        if (is(linking, part->through[i].part, sort))
            return true;
    return false;
}

static bool is_source(const struct linking *linking, size_t part)
{
    return is(linking, part, "source");
}

/* How far a flood over one side of a run goes. */
struct reach {
    size_t run;       /* the run itself is not passed */
    const char *sort; /* nor a run or part of this sort; NULL: no such stop */
    bool up;          /* a converter is passed from its output to its input, else the other way */
    bool direct;      /* converters, controllers and batteries are not passed at all */
};

static bool stops_flood(const struct linking *linking, size_t part)
{
    return is(linking, part, "converter") || is(linking, part, "controller") ||
           is(linking, part, "battery");
}

static bool flood_takes(const struct linking *linking, const struct reach *reach, size_t part,
                        size_t start, const struct step *step)
{
    if (step->run == reach->run || !is_cable(linking, step->run))
        return false;
    if (is(linking, part, "converter") && part != start && step->forward == reach->up)
        return false;
    return !reach->sort ||
           !(run_holds(linking, step->run, reach->sort) || is(linking, step->to, reach->sort));
}

/* Floods one side of a run from the part at its end; appends what it meets. True when it met a
 * source. */
static bool flood_side(struct linking *linking, size_t start, const struct reach *limits,
                       struct list *runs, struct list *parts)
{
    struct flood flood;
    bool source = false;
    flood_begin(linking, &flood, start);
    while (flood.queue_begin < flood.queue_end && !linking->failed) {
        size_t part = linking->queue[flood.queue_begin++];
        source = source || is_source(linking, part);
        if (parts)
            add(linking, parts, part);
        if (limits->direct && stops_flood(linking, part))
            continue;
        for (size_t s = linking->first[part]; s < linking->first[part + 1]; s++) {
            const struct step *step = &linking->steps[s];
            if (!flood_takes(linking, limits, part, start, step) || !reach(linking, step->to))
                continue;
            if (runs)
                add(linking, runs, step->run);
            linking->queue[flood.queue_end++] = step->to;
        }
    }
    return source;
}

/* The runs and loads on the side that is fed through the guard. */
static void guard_beyond(struct linking *linking, enum relation relation, size_t guard, size_t end,
                         const struct reach *limits, bool loads)
{
    struct list runs = {0}, parts = {0};
    flood_side(linking, end, limits, &runs, &parts);
    for (size_t i = 0; i < runs.count; i++)
        relate(linking, relation, guard, runs.at[i]);
    for (size_t i = 0; loads && i < parts.count; i++)
        relate(linking, relation, guard, parts.at[i]);
}

/* The panels that meet the guard without a converter, controller or battery between. */
static void guard_panels(struct linking *linking, enum relation relation, size_t guard, size_t end,
                         const struct reach *limits)
{
    struct list parts = {0};
    struct reach direct = *limits;
    direct.direct = true;
    flood_side(linking, end, &direct, NULL, &parts);
    for (size_t i = 0; i < parts.count; i++)
        if (is(linking, parts.at[i], "panel"))
            relate(linking, relation, guard, parts.at[i]);
}

/* An in-line part that lies in a cable run, looking away from the sources. With sources on both
 * sides it looks both ways. */
static void guard_run(struct linking *linking, enum relation relation, size_t guard,
                      const char *sort, size_t run)
{
    const struct part *part = &linking->rig->parts[run];
    if (part->from == NO_PART || part->to == NO_PART)
        return;
    relate(linking, relation, guard, run);
    const size_t ends[2] = {part->from, part->to};
    bool source[2];
    for (size_t side = 0; side < 2; side++)
        source[side] =
            flood_side(linking, ends[side], &(struct reach){.run = run, .up = true}, NULL, NULL);
    for (size_t side = 0; side < 2; side++) {
        const struct reach limits = {.run = run, .sort = sort};
        if (!source[side] || source[1 - side])
            guard_beyond(linking, relation, guard, ends[side], &limits, !source[side]);
        guard_panels(linking, relation, guard, ends[side], &limits);
    }
}

/* The runs in which an in-line part sits: those that list it, and those that it stands between. */
static void find_holders(struct linking *linking)
{
    const struct rig *rig = linking->rig;
    for (size_t run = 0; run < rig->part_count; run++) {
        const struct part *part = &rig->parts[run];
        for (size_t i = 0; i < part->through_count; i++)
            relate(linking, RELATION_SITS_IN, part->through[i].part, run);
        const size_t ends[2] = {part->from, part->to};
        for (size_t side = 0; side < 2; side++)
            if (ends[side] != NO_PART &&
                (is(linking, ends[side], "in-line") || is(linking, ends[side], "in-pipe")))
                relate(linking, RELATION_SITS_IN, ends[side], run);
    }
}

static void find_guarded(struct linking *linking, enum relation relation, const char *sort)
{
    for (size_t part = 0; part < linking->rig->part_count; part++) {
        if (!is(linking, part, sort))
            continue;
        const struct list *runs = &linking->links->lists[2 * RELATION_SITS_IN][part];
        for (size_t i = 0; i < runs->count; i++)
            if (is_cable(linking, runs->at[i]))
                guard_run(linking, relation, part, sort, runs->at[i]);
    }
}

/* ---- neighbours ---- */

static void find_touching(struct linking *linking)
{
    const struct rig *rig = linking->rig;
    for (size_t run = 0; run < rig->part_count; run++) {
        const struct part *part = &rig->parts[run];
        size_t near[2] = {part->from, part->to};
        for (size_t side = 0; side < 2; side++) {
            relate(linking, RELATION_TOUCHES, run, near[side]);
            relate(linking, RELATION_JOINS, run, near[side]);
            relate(linking, RELATION_JOINS, near[side], run);
        }
        for (size_t i = 0; i < part->through_count; i++) {
            relate(linking, RELATION_JOINS, run, part->through[i].part);
            relate(linking, RELATION_JOINS, part->through[i].part, run);
        }
        for (size_t i = 0; i < 2; i++) {
            relate(linking, RELATION_JOINS, run, part->plugs[i]);
            relate(linking, RELATION_JOINS, part->plugs[i], run);
        }
        const struct part_value *bore = part_value(part, "bore");
        if (bore && bore->value.type == VALUE_NONE && !part->through_count) {
            relate(linking, RELATION_JOINS, near[0], near[1]);
            relate(linking, RELATION_JOINS, near[1], near[0]);
        }
    }
}

/* The plug of a run at the part from which the step starts. */
static size_t plug_at(const struct linking *linking, const struct step *step)
{
    return linking->rig->parts[step->run].plugs[step->forward ? 0 : 1];
}

/* Two halves listed one behind the other, or at the ends of two cables that meet, are pushed into
 * each other: told once, from the first to the second. A half at the end of a cable also joins the
 * part there. */
static void find_mated(struct linking *linking, size_t part)
{
    const struct part *run = &linking->rig->parts[part];
    for (size_t i = 1; i < run->through_count; i++)
        if (is(linking, run->through[i - 1].part, "plug") &&
            is(linking, run->through[i].part, "plug"))
            relate(linking, RELATION_JOINS, run->through[i - 1].part, run->through[i].part);
    size_t other = NO_PART;
    for (size_t s = linking->first[part]; s < linking->first[part + 1]; s++) {
        size_t plug = plug_at(linking, &linking->steps[s]);
        relate(linking, RELATION_JOINS, plug, part);
        if (plug == NO_PART || !is(linking, part, "junction"))
            continue;
        relate(linking, RELATION_JOINS, other, plug);
        other = plug;
    }
}

/* Does a flood over one electrical node go on from `part`, reached over `came`, by `step`? A
 * converter's input and output are two nodes; a controller has one for its panels. */
static bool same_node(const struct linking *linking, size_t source, size_t part,
                      const struct step *came, const struct step *step)
{
    if (!is_cable(linking, step->run))
        return false;
    if (is(linking, part, "converter"))
        return came && came->forward != step->forward;
    if (is(linking, part, "controller"))
        return linking->rig->parts[step->to].kind == linking->rig->parts[source].kind;
    return true;
}

/* Sources of one kind that share a node. */
static void find_alongside(struct linking *linking, size_t source)
{
    struct flood flood;
    flood_begin(linking, &flood, source);
    const struct step *came = NULL;
    while (flood.queue_begin < flood.queue_end && !linking->tangled) {
        size_t part = linking->queue[flood.queue_begin];
        came = linking->came[flood.queue_begin++];
        for (size_t s = linking->first[part]; s < linking->first[part + 1]; s++) {
            const struct step *step = &linking->steps[s];
            if (!same_node(linking, source, part, part == source ? NULL : came, step) ||
                !reach(linking, step->to))
                continue;
            if (linking->rig->parts[step->to].kind == linking->rig->parts[source].kind)
                relate(linking, RELATION_ALONGSIDE, source, step->to);
            linking->came[flood.queue_end] = step;
            linking->queue[flood.queue_end++] = step->to;
        }
    }
}

static void find_readers(struct linking *linking, size_t part)
{
    const struct part_value *senses = part_value(&linking->rig->parts[part], "senses");
    if (!senses || senses->value.type != VALUE_IDS)
        return;
    for (size_t i = 0; i < senses->value.as.words.count; i++) {
        size_t read = rig_find_part(linking->rig, senses->value.as.words.at[i]);
        if (read == NO_PART)
            continue;
        relate(linking, RELATION_READS, part, read);
        const char *on = part_word(&linking->rig->parts[read], "on");
        if (on)
            relate(linking, RELATION_READS, part, rig_find_part(linking->rig, on));
    }
}

static void find_warmed(struct linking *linking, size_t coil)
{
    size_t before = linking->links->lists[2 * RELATION_FEEDS][coil].count;
    feed_water(linking, coil);
    const struct list *fed = &linking->links->lists[2 * RELATION_FEEDS][coil];
    for (size_t i = before; i < fed->count; i++)
        if (is(linking, fed->at[i], "tank"))
            relate(linking, RELATION_WARMS, coil, fed->at[i]);
}

static void find_all(struct linking *linking)
{
    const struct rig *rig = linking->rig;
    find_touching(linking);
    find_holders(linking);
    for (size_t i = 0; i < rig->part_count && !linking->tangled && !linking->failed; i++) {
        if (is_source(linking, i) || is(linking, i, "converter") || is(linking, i, "controller"))
            feed_electric(linking, i);
        if (is_source(linking, i))
            find_alongside(linking, i);
        if (is(linking, i, "tank") || is(linking, i, "pump"))
            feed_water(linking, i);
        if (is(linking, i, "in-pipe"))
            feed_in_pipe(linking, i);
        if (is(linking, i, "coil"))
            find_warmed(linking, i);
        find_readers(linking, i);
        find_mated(linking, i);
    }
    find_guarded(linking, RELATION_PROTECTS, "guard");
    find_guarded(linking, RELATION_SWITCHES, "contact");
    find_guarded(linking, RELATION_SWITCHES, "isolator");
}

static int by_number(const void *a, const void *b)
{
    size_t x = *(const size_t *)a, y = *(const size_t *)b;
    return (x > y) - (x < y);
}

/* Most of them came in order. */
static bool is_sorted(const struct list *list)
{
    for (size_t i = 1; i < list->count; i++)
        if (list->at[i - 1] >= list->at[i])
            return false;
    return true;
}

static void sort_list(struct list *list)
{
    if (is_sorted(list))
        return;
    qsort(list->at, list->count, sizeof *list->at, by_number);
    size_t kept = 1;
    for (size_t i = 1; i < list->count; i++)
        if (list->at[i] != list->at[kept - 1])
            list->at[kept++] = list->at[i];
    list->count = kept;
}

/* Writes a long list's parts behind it once more, by kind. `next`: one more than there are kinds.
 */
static void sort_by_kind(struct linking *linking, struct list *list, size_t *next)
{
    const struct rig *rig = linking->rig;
    const struct store *store = rig->store;
    size_t *both = ARENA_TAKE(linking->arena, 2 * list->count, size_t);
    if (!both) {
        linking->failed = true;
        return;
    }
    memcpy(both, list->at, list->count * sizeof *both);
    memset(next, 0, (store->kind_count + 1) * sizeof *next);
    for (size_t i = 0; i < list->count; i++)
        next[rig->parts[both[i]].kind - store->kinds + 1]++;
    for (size_t k = 0; k < store->kind_count; k++)
        next[k + 1] += next[k];
    for (size_t i = 0; i < list->count; i++)
        both[list->count + next[rig->parts[both[i]].kind - store->kinds]++] = both[i];
    list->at = both;
}

static void sort_lists(struct linking *linking)
{
    const struct rig *rig = linking->rig;
    size_t *next = ARENA_TAKE(linking->arena, rig->store->kind_count + 1, size_t);
    linking->failed |= !next;
    for (size_t r = 0; r < 2 * RELATION_COUNT && !linking->failed; r++)
        for (size_t i = 0; i < rig->part_count; i++) {
            struct list *list = &linking->links->lists[r][i];
            sort_list(list);
            if (list->count >= LONG_LIST)
                sort_by_kind(linking, list, next);
        }
}

const struct links *links_new(struct arena *arena, const struct rig *rig, bool *tangled)
{
    struct linking linking = {.arena = arena, .rig = rig};
    linking.links = ARENA_TAKE(arena, 1, struct links);
    linking.queue = ARENA_TAKE(arena, rig->part_count + 1, size_t);
    linking.seen = ARENA_TAKE(arena, rig->part_count + 1, unsigned);
    linking.came = ARENA_TAKE(arena, rig->part_count + 1, const struct step *);
    if (!linking.links || !linking.queue || !linking.came || !linking.seen || !make_steps(&linking))
        return NULL;
    for (size_t r = 0; r < 2 * RELATION_COUNT; r++) {
        linking.links->lists[r] = ARENA_TAKE(arena, rig->part_count + 1, struct list);
        if (!linking.links->lists[r])
            return NULL;
    }
    linking.links->all = ARENA_TAKE(arena, rig->part_count + 1, size_t);
    if (!linking.links->all)
        return NULL;
    for (size_t i = 0; i < rig->part_count; i++)
        linking.links->all[i] = i;
    find_all(&linking);
    sort_lists(&linking);
    *tangled = linking.tangled;
    return linking.failed ? NULL : linking.links;
}

/* Its place in relation_words. Compiled rules hand in the word from that very table, so that it is
 * seldom spelt out. */
static size_t find_relation(const char *relation)
{
    for (size_t r = 0; relation_words[r]; r++)
        if (relation_words[r] == relation)
            return r;
    size_t r = 0;
    while (relation_words[r] && !name_same(relation_words[r], relation))
        r++;
    return r;
}

size_t rig_related(const struct rig *rig, size_t part, const char *relation, const size_t **out)
{
    if (!relation) {
        *out = rig->links->all;
        return rig->part_count;
    }
    *out = NULL;
    size_t r = find_relation(relation);
    if (!relation_words[r])
        return 0;
    const struct list *list = &rig->links->lists[r][part];
    *out = list->at;
    return list->count;
}

/* Where the parts of this kind, or of those behind it, begin in the second half of a long list. */
static size_t first_of_kind(const struct rig *rig, const struct list *list, const struct kind *kind)
{
    size_t low = list->count, high = 2 * list->count;
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        if (rig->parts[list->at[middle]].kind < kind)
            low = middle + 1;
        else
            high = middle;
    }
    return low;
}

bool rig_related_of_kind(const struct rig *rig, size_t part, const char *relation,
                         const struct kind *kind, const size_t **out, size_t *count)
{
    size_t r = find_relation(relation);
    if (!relation_words[r] || rig->links->lists[r][part].count < LONG_LIST)
        return false;
    const struct list *list = &rig->links->lists[r][part];
    size_t first = first_of_kind(rig, list, kind);
    *out = list->at + first;
    *count = first_of_kind(rig, list, kind + 1) - first;
    return true;
}
