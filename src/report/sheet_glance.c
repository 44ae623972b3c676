/* sheet_glance.c - the rig at a glance: what it is, where it stands, what it is for,
 * and its circuits as they are walked, with what they do at bright-noon. */
#include <math.h>
#include <string.h>

#include "report/page.h"
#include "report/sheet.h"

/* ---- name, place, needs ---- */

static void add_site(struct sheet_maker *maker, struct sheet_facts *facts)
{
    const struct rig *rig = maker->rig->rig;
    const struct part *site = &rig->parts[rig->site];
    bool any = false;
    for (size_t i = 0; i < site->kind->attribute_count; i++) {
        const struct attribute *attribute = &site->kind->attributes[i];
        const struct part_value *value = &site->values[i];
        if (value->origin != ORIGIN_GIVEN || value->solved || value->value.type == VALUE_NONE)
            continue;
        text_print(&maker->words, "%s%s ", any ? "; " : "", attribute->name);
        part_tell(&maker->words, rig, attribute, value);
        any = true;
    }
    sheet_add_fact(maker, facts, "site", any ? sheet_keep(maker) : "nothing is said of it");
}

/* What became of a need: its finding, or NULL when it is met. */
static const struct finding *find_need(const struct report_rig *rig, const struct need *need)
{
    for (size_t i = 0; i < rig->judgement.finding_count; i++) {
        const struct finding *finding = &rig->judgement.findings[i];
        if (finding->from && finding->subject == need->text && finding->at.line == need->at.line)
            return finding;
    }
    return NULL;
}

static void add_needs(struct sheet_maker *maker, struct sheet_facts *facts)
{
    const struct rig *rig = maker->rig->rig;
    for (size_t i = 0; i < rig->need_count && i < SHEET_ROWS_MAX; i++) {
        const struct finding *finding = find_need(maker->rig, &rig->needs[i]);
        const char *word = !rig->needs[i].formula             ? "can't be read"
                           : !finding                         ? "met"
                           : finding->is_thin                 ? "met, by the labels"
                           : finding->level == LEVEL_QUESTION ? "open: a figure is missing"
                           : finding->accepted                ? "not met, and accepted"
                                                              : "not met";
        sheet_add_fact(maker, facts, i ? "" : "needs",
                       sheet_say(maker, "%s - %s", rig->needs[i].text, word));
    }
    if (!rig->need_count)
        sheet_add_fact(maker, facts, "needs", "none is stated");
}

static void add_facts(struct sheet_maker *maker)
{
    const struct rig *rig = maker->rig->rig;
    struct sheet_group *group = sheet_add_group(maker, SHEET_GLANCE, NULL);
    struct sheet_facts *facts = &group->facts;
    group->drawn = true;
    const char *practice = practice_name(rig->practice);
    size_t own = rig->part_count > 2 ? rig->part_count - 2 : 0; /* not site and rig */
    sheet_add_fact(maker, facts, "file",
                   sheet_say(maker, "%s; %zu part%s, cables and pipes counted", maker->rig->file,
                             own, report_plural(own)));
    sheet_add_fact(maker, facts, "practice", practice ? practice : "none is stated");
    add_site(maker, facts);
    add_needs(maker, facts);
}

/* ---- circuits ---- */

struct pair {
    const char *first, *second; /* attributes; second may be NULL */
};

/* What is said of a part on its way, of the first pair of which it has one. */
static const struct pair electric[] = {
    {"volts", "amps"}, {"output_volts", "output_amps"}, {"charge_amps", "load_amps"}, {NULL, NULL}};
static const struct pair wet[] = {{"flow", "head"},
                                  {"flow", "head_loss"},
                                  {"flow", "pressure_drop"},
                                  {"flow", NULL},
                                  {NULL, NULL}};

struct walk {
    struct sheet_maker *maker;
    const char *kind;           /* of its runs: cable or pipe */
    const struct pair *said;    /* of its parts */
    const char *lost;           /* of its runs */
    bool *gone;                 /* by part: this run was walked */
    const size_t *first, *next; /* runs that leave a part, as written: chained by run */
    bool *entered;              /* by part: a run ends there */
};

/* A solved figure at bright-noon; NULL when it has none there. */
static const struct attribute *solved_now(const struct part *part, const char *attribute,
                                          struct value *out)
{
    int index = kind_attribute(part->kind, attribute);
    if (index < 0 || !part->values[index].solved)
        return NULL;
    const struct attribute *kind = &part->kind->attributes[index];
    double number =
        part->values[index].solved[kind->solved == SOLVED_ONCE ? 0 : CONDITION_BRIGHT_NOON];
    return solved_value(kind, number, out) ? kind : NULL;
}

static bool add_solved(struct sheet_maker *maker, const struct part *part, const char *attribute,
                       const char *before)
{
    struct value value;
    const struct attribute *kind = attribute ? solved_now(part, attribute, &value) : NULL;
    if (!kind)
        return false;
    text_add(&maker->words, before);
    attribute_tell(&maker->words, kind, &value, rig_units(maker->rig->rig));
    return true;
}

static void add_part(struct walk *walk, size_t index)
{
    struct text *words = &walk->maker->words;
    const struct part *part = &walk->maker->rig->rig->parts[index];
    text_add(words, part->id);
    for (const struct pair *pair = walk->said; pair->first; pair++) {
        if (kind_attribute(part->kind, pair->first) < 0 ||
            (pair->second && kind_attribute(part->kind, pair->second) < 0))
            continue;
        bool any = add_solved(walk->maker, part, pair->first, " (");
        any = add_solved(walk->maker, part, pair->second, any ? ", " : " (") || any;
        text_add(words, any ? ")" : "");
        return;
    }
}

static void add_run(struct walk *walk, size_t index)
{
    struct text *words = &walk->maker->words;
    const struct rig *rig = walk->maker->rig->rig;
    const struct part *run = &rig->parts[index];
    const struct part_value *length = part_value(run, "length");
    text_add(words, " -> ");
    if (length && length->value.type == VALUE_QUANTITY) {
        part_tell(words, rig, &run->kind->attributes[length - run->values], length);
        text_add(words, " ");
    }
    text_add(words, run->entry ? run->entry->name : run->id);
    for (size_t i = 0; i < run->through_count; i++)
        if (run->through[i].part != NO_PART)
            text_print(words, "%s%s", i ? ", " : " through ", rig->parts[run->through[i].part].id);
    add_solved(walk->maker, run, walk->lost, ", loses ");
    text_add(words, " -> ");
}

/* From a part along the runs that leave it, until none is left; the others begin lines of their
 * own later. */
static void add_way(struct walk *walk, struct sheet_group *group, size_t run)
{
    const struct rig *rig = walk->maker->rig->rig;
    if (rig->parts[run].from == NO_PART)
        return;
    add_part(walk, rig->parts[run].from);
    while (run != NO_PART) {
        walk->gone[run] = true;
        add_run(walk, run);
        size_t to = rig->parts[run].to;
        if (to == NO_PART) {
            text_add(&walk->maker->words, "?");
            break;
        }
        add_part(walk, to);
        run = walk->first[to];
        while (run != NO_PART && walk->gone[run])
            run = walk->next[run];
    }
    sheet_add_item(walk->maker, group, sheet_keep(walk->maker));
}

/* Chains the runs of the walk's kind by the part that they leave, in the rig's order. */
static bool chain_runs(struct walk *walk)
{
    const struct rig *rig = walk->maker->rig->rig;
    size_t *first = ARENA_TAKE(rig->arena, rig->part_count + 1, size_t);
    size_t *next = ARENA_TAKE(rig->arena, rig->part_count + 1, size_t);
    walk->gone = ARENA_TAKE(rig->arena, rig->part_count + 1, bool);
    walk->entered = ARENA_TAKE(rig->arena, rig->part_count + 1, bool);
    if (!first || !next || !walk->gone || !walk->entered)
        return false;
    for (size_t i = 0; i < rig->part_count; i++)
        first[i] = next[i] = NO_PART;
    for (size_t i = rig->part_count; i-- > 0;) {
        const struct part *run = &rig->parts[i];
        if (strcmp(run->kind->name, walk->kind) != 0)
            continue;
        if (run->to != NO_PART)
            walk->entered[run->to] = true;
        if (run->from == NO_PART)
            continue;
        next[i] = first[run->from];
        first[run->from] = i;
    }
    walk->first = first;
    walk->next = next;
    return true;
}

/* Ways that begin where nothing comes in go first, then what is left of loops and branches. */
static void add_ways(struct walk *walk, const char *heading)
{
    const struct rig *rig = walk->maker->rig->rig;
    if (!chain_runs(walk)) {
        walk->maker->failed = true;
        return;
    }
    struct sheet_group ways = {.heading = heading, .style = SHEET_PLAIN};
    for (unsigned round = 0; round < 2; round++) {
        for (size_t i = 0; i < rig->part_count; i++) {
            const struct part *run = &rig->parts[i];
            if (strcmp(run->kind->name, walk->kind) != 0 || walk->gone[i] || run->from == NO_PART ||
                (round == 0 && walk->entered[run->from]))
                continue;
            add_way(walk, &ways, i);
        }
    }
    if (ways.items.count)
        *sheet_add_group(walk->maker, SHEET_GLANCE, NULL) = ways;
}

void sheet_make_glance(struct sheet_maker *maker)
{
    add_facts(maker);
    struct walk cables = {.maker = maker, .kind = "cable", .said = electric, .lost = "volt_drop"};
    struct walk pipes = {.maker = maker, .kind = "pipe", .said = wet, .lost = "friction_head"};
    add_ways(&cables, "Its wires at bright-noon");
    add_ways(&pipes, "Its water at bright-noon");
}
