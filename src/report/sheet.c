/* sheet.c - a rig as a checklist: findings, questions, steps, reminders, assumptions
 * and where all of it comes from. What is in the rig and what is to be bought stand
 * in files of their own. */
#include "report/sheet.h"

#include <stdlib.h>
#include <string.h>

#include "report/page.h"

static const struct {
    const char *name, *heading;
    bool narrow;
} headings[SHEET_PLACES] = {
    [SHEET_GLANCE] = {"rig", "The rig at a glance", false},
    [SHEET_FINDINGS] = {"findings", "What was found", true},
    [SHEET_QUESTIONS] = {"questions", "To ask the sellers", true},
    [SHEET_BUYING] = {"buying", "To buy", true},
    [SHEET_STEPS] = {"steps", "Putting it together", true},
    [SHEET_LOCAL] = {"rules", "Safety and local rules", true},
    [SHEET_ASSUMED] = {"assumed", "Taken for granted", true},
    [SHEET_ORIGINS] = {"origins", "Where the numbers come from", true},
};

/* ---- putting it together ---- */

const char *sheet_keep(struct sheet_maker *maker)
{
    struct text *words = &maker->words;
    char *kept = words->failed
                     ? NULL
                     : arena_copy(maker->arena, words->length ? words->bytes : "", words->length);
    maker->failed = maker->failed || !kept;
    text_clear(words);
    return kept ? kept : "";
}

const char *sheet_say(struct sheet_maker *maker, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    const char *said = arena_vprint(maker->arena, format, arguments);
    va_end(arguments);
    maker->failed = maker->failed || !said;
    return said ? said : "";
}

const char *sheet_prose(struct sheet_maker *maker, const char *prose)
{
    for (size_t length; *prose; prose += length + (prose[length] == '\n')) {
        length = strcspn(prose, "\n");
        text_add_bytes(&maker->words, prose, length);
        text_add(&maker->words, prose[length] && prose[length + 1] ? " " : "");
    }
    return sheet_keep(maker);
}

struct sheet_group *sheet_add_group(struct sheet_maker *maker, enum sheet_place place,
                                    const char *heading)
{
    struct sheet_section *section = &maker->sheet->sections[place];
    if (!ARENA_GROW(maker->arena, &section->groups)) {
        maker->failed = true;
        maker->sheet->lost = (struct sheet_group){.heading = heading};
        return &maker->sheet->lost;
    }
    struct sheet_group *group = &section->groups.at[section->groups.count++];
    *group = (struct sheet_group){.heading = heading};
    return group;
}

struct sheet_item *sheet_add_item(struct sheet_maker *maker, struct sheet_group *group,
                                  const char *words)
{
    if (group->items.count == SHEET_ROWS_MAX) {
        group->left_out++;
        return NULL;
    }
    if (!ARENA_GROW(maker->arena, &group->items)) {
        maker->failed = true;
        return NULL;
    }
    struct sheet_item *item = &group->items.at[group->items.count++];
    *item = (struct sheet_item){.words = words};
    return item;
}

void sheet_add_fact(struct sheet_maker *maker, struct sheet_facts *facts, const char *label,
                    const char *words)
{
    if (ARENA_GROW(maker->arena, facts))
        facts->at[facts->count++] = (struct sheet_fact){.label = label, .words = words};
    else
        maker->failed = true;
}

void sheet_add_row(struct sheet_maker *maker, struct sheet_table *table, const char *const *cells)
{
    if (table->cells.count == SHEET_ROWS_MAX * table->column_count) {
        table->left_out++;
        return;
    }
    for (size_t i = 0; i < table->column_count; i++) {
        if (ARENA_GROW(maker->arena, &table->cells))
            table->cells.at[table->cells.count++] = cells[i];
        else
            maker->failed = true;
    }
}

static void add_blank(struct sheet_maker *maker, struct sheet_group *group, const char *label)
{
    if (ARENA_GROW(maker->arena, &group->blanks))
        group->blanks.at[group->blanks.count++] = label;
    else
        maker->failed = true;
}

/* ---- sources, as notes ---- */

/* The number of a source, new or told before. */
static size_t note_number(struct sheet_maker *maker, const char *source)
{
    const char *words = sheet_prose(maker, source);
    size_t number = maker->sheet->notes.count + 1;
    if (!names_add(maker->noted, maker->arena, words, number, &number))
        maker->failed = true;
    if (number <= maker->sheet->notes.count)
        return number;
    if (ARENA_GROW(maker->arena, &maker->sheet->notes))
        maker->sheet->notes.at[maker->sheet->notes.count++] = words;
    else
        maker->failed = true;
    return number;
}

/* `published`: only what can be looked up. */
static void add_notes(struct sheet_maker *maker, struct sheet_item *item, const struct rule *rule,
                      bool published)
{
    for (size_t i = 0; rule && i < rule->source_count; i++) {
        const struct rule_source *source = &rule->sources[i];
        if (!report_source_counts(source, maker->rig->rig->practice) ||
            (published && report_is_practice(source)))
            continue;
        size_t number = note_number(maker, source->text);
        if (ARENA_GROW(maker->arena, &item->notes))
            item->notes.at[item->notes.count++] = number;
        else
            maker->failed = true;
    }
}

/* ---- findings ---- */

/* Under which number of its list a rule gave its reason; more rules than that give it again. */
#define TOLD_MAX 200
struct told {
    const struct rule *rules[TOLD_MAX];
    size_t numbers[TOLD_MAX];
    size_t count;
};

/* 0: it has not been told; from now on it has, under `number`. */
static size_t told_under(struct told *told, const struct rule *rule, size_t number)
{
    for (size_t i = 0; i < told->count; i++)
        if (told->rules[i] == rule)
            return told->numbers[i];
    if (told->count < TOLD_MAX) {
        told->rules[told->count] = rule;
        told->numbers[told->count++] = number;
    }
    return 0;
}

static const char *where(struct sheet_maker *maker, const struct finding *finding)
{
    report_where(&maker->words, maker->rig, finding);
    return sheet_keep(maker);
}

static void add_why(struct sheet_maker *maker, struct sheet_item *item,
                    const struct finding *finding, size_t number, struct told *told)
{
    const struct rule *rule = finding->from;
    size_t before = rule ? told_under(told, rule, number) : 0;
    if (before)
        sheet_add_fact(maker, &item->facts, "why",
                       sheet_say(maker, "as under %s %zu", level_name(finding->level), before));
    else if (rule && rule->because)
        sheet_add_fact(maker, &item->facts, "why", sheet_prose(maker, rule->because));
}

static void add_working(struct sheet_maker *maker, struct sheet_item *item,
                        const struct finding *finding)
{
    if (!finding->working || !finding->working[0])
        return;
    sheet_add_fact(maker, &item->facts, "sum", finding->working);
    if (item->facts.count)
        item->facts.at[item->facts.count - 1].lines = true;
}

static void add_finding(struct sheet_maker *maker, struct sheet_group *group,
                        const struct finding *finding, size_t number, struct told *told)
{
    struct sheet_item *item =
        sheet_add_item(maker, group, finding->message ? finding->message : "");
    if (!item)
        return;
    item->mark = sheet_say(maker, "%s %zu", level_name(finding->level), number);
    item->level = finding->level;
    sheet_add_fact(maker, &item->facts, "where", where(maker, finding));
    for (size_t i = 0; i < finding->doubt_count; i++)
        sheet_add_fact(
            maker, &item->facts, "doubt",
            sheet_say(maker, "%s: %s", finding->doubts[i].name, finding->doubts[i].because));
    if (finding->mend)
        sheet_add_fact(maker, &item->facts, "mend", finding->mend);
    if (finding->accepted) {
        report_accepted(&maker->words, finding->accepted);
        sheet_add_fact(maker, &item->facts, "accepted", sheet_keep(maker));
    }
    add_why(maker, item, finding, number, told);
    add_working(maker, item, finding);
    sheet_add_fact(maker, &item->facts, "promise", finding->rule);
    add_notes(maker, item, finding->from, false);
}

/* In the order and under the numbers of the report of `check`: mistakes in the file first, because
 * they can be the cause of the rest. */
static void add_findings(struct sheet_maker *maker, struct sheet_group *group, enum level level,
                         bool accepted)
{
    const struct judgement *judgement = &maker->rig->judgement;
    struct told told = {.count = 0};
    size_t number = 0;
    for (unsigned mistakes = 2; mistakes-- > 0;) {
        for (size_t i = 0; i < judgement->finding_count; i++) {
            const struct finding *finding = &judgement->findings[i];
            if (finding->level == level && (finding->accepted != NULL) == accepted &&
                (finding->from == NULL) == (mistakes == 1))
                add_finding(maker, group, finding, ++number, &told);
        }
    }
}

static void make_findings(struct sheet_maker *maker)
{
    const struct judgement *judgement = &maker->rig->judgement;
    for (unsigned level = LEVEL_ERROR; level <= LEVEL_CAUTION; level++) {
        size_t count = judgement->by_level[level];
        if (!count)
            continue;
        const char *heading = sheet_say(maker, "%zu %s%s", count, level_name((enum level)level),
                                        report_plural(count));
        struct sheet_group *group = sheet_add_group(maker, SHEET_FINDINGS, heading);
        group->words = report_level_words((enum level)level);
        group->goes_on = true;
        group->style = SHEET_TICKED;
        add_findings(maker, group, (enum level)level, false);
    }
    if (!judgement->by_level[LEVEL_ERROR] && !judgement->by_level[LEVEL_CAUTION])
        sheet_add_group(maker, SHEET_FINDINGS, NULL)->words = "No error and no caution.";
    if (!judgement->accepted)
        return;
    struct sheet_group *group = sheet_add_group(
        maker, SHEET_FINDINGS, sheet_say(maker, "%zu accepted", judgement->accepted));
    group->words = "known to the rig's owner, and left as they are";
    group->goes_on = true;
    for (unsigned level = 0; level < LEVEL_COUNT; level++)
        add_findings(maker, group, (enum level)level, true);
}

/* ---- questions ---- */

struct asked { /* one figure that is missing */
    size_t part;
    const struct attribute *attribute;
    size_t order; /* in which it was met */
};
struct asked_list {
    SHEET_LIST(struct asked);
};

static int by_part(const void *a, const void *b)
{
    const struct asked *x = a, *y = b;
    if (x->part != y->part)
        return x->part < y->part ? -1 : 1;
    return x->order < y->order ? -1 : x->order > y->order;
}

/* "pump.max_head" as a part and its attribute; false when the rig has no such thing. */
static bool find_figure(const struct sheet_maker *maker, const char *name, struct asked *out)
{
    const struct rig *rig = maker->rig->rig;
    const char *dot = strrchr(name, '.');
    char id[256];
    if (!dot || (size_t)(dot - name) >= sizeof id)
        return false;
    memcpy(id, name, (size_t)(dot - name));
    id[dot - name] = '\0';
    out->part = rig_find_part(rig, id);
    if (out->part == NO_PART)
        return false;
    const struct kind *kind = rig->parts[out->part].kind;
    int index = kind_attribute(kind, dot + 1);
    out->attribute = index < 0 ? NULL : &kind->attributes[index];
    return index >= 0;
}

/* Figures that questions ask for, each once; false when this finding names none. */
static bool collect(struct sheet_maker *maker, const struct finding *finding, struct names *met,
                    struct asked_list *list)
{
    bool any = false;
    for (size_t i = 0; i < finding->missing_count; i++) {
        struct asked asked;
        size_t was = list->count;
        if (!find_figure(maker, finding->missing[i], &asked))
            continue;
        any = true;
        if (!names_add(met, maker->arena, finding->missing[i], list->count, &was) ||
            !ARENA_GROW(maker->arena, list)) {
            maker->failed = true;
            return true;
        }
        asked.order = list->count;
        if (was == list->count)
            list->at[list->count++] = asked;
    }
    return any;
}

const char *sheet_part_words(struct sheet_maker *maker, const struct part *part)
{
    if (strcmp(part->id, part->kind->name) == 0 && !part->entry)
        return part->id;
    return sheet_say(maker, "%s: %s%s", part->id, part->entry ? part->entry->name : "a ",
                     part->entry ? "" : part->kind->name);
}

static void add_asked(struct sheet_maker *maker, const struct asked_list *list)
{
    struct sheet_group *group = NULL;
    for (size_t i = 0; i < list->count; i++) {
        const struct asked *asked = &list->at[i];
        if (i == 0 || asked->part != list->at[i - 1].part) {
            const struct part *part = &maker->rig->rig->parts[asked->part];
            group = sheet_add_group(maker, SHEET_QUESTIONS, sheet_part_words(maker, part));
            group->style = SHEET_ASKED;
        }
        const char *words = asked->attribute->ask ? asked->attribute->ask : asked->attribute->about;
        sheet_add_item(maker, group,
                       sheet_say(maker, "%s?", words ? words : asked->attribute->name));
    }
}

static void make_questions(struct sheet_maker *maker)
{
    const struct judgement *judgement = &maker->rig->judgement;
    struct names *met = names_new(maker->arena);
    struct asked_list list = {.count = 0};
    struct sheet_group other = {.style = SHEET_ASKED};
    if (!met) {
        maker->failed = true;
        return;
    }
    for (size_t i = 0; i < judgement->finding_count; i++) {
        const struct finding *finding = &judgement->findings[i];
        if (finding->level == LEVEL_QUESTION && !finding->accepted &&
            !collect(maker, finding, met, &list))
            sheet_add_item(maker, &other, finding->message);
    }
    if (list.count)
        qsort(list.at, list.count, sizeof *list.at, by_part);
    if (!list.count && !other.items.count)
        sheet_add_group(maker, SHEET_QUESTIONS, NULL)->words = "Nothing: no figure is missing.";
    add_asked(maker, &list);
    if (other.items.count) {
        other.heading = list.count ? "Besides" : NULL;
        *sheet_add_group(maker, SHEET_QUESTIONS, NULL) = other;
    }
}

/* ---- steps and reminders ---- */

/* In the order in which their rules were written, one rule's in the order of the list. */
static int by_rule(const void *a, const void *b)
{
    const struct finding *x = *(const struct finding *const *)a;
    const struct finding *y = *(const struct finding *const *)b;
    if (x->from != y->from)
        return x->from < y->from ? -1 : 1;
    return x < y ? -1 : x > y;
}

static void make_steps(struct sheet_maker *maker)
{
    const struct judgement *steps = maker->steps;
    const struct finding **sorted =
        ARENA_TAKE(maker->arena, steps->finding_count + 1, const struct finding *);
    size_t count = 0;
    if (!sorted) {
        maker->failed = true;
        return;
    }
    for (size_t i = 0; i < steps->finding_count; i++)
        if (steps->findings[i].from && steps->findings[i].level == LEVEL_REMINDER)
            sorted[count++] = &steps->findings[i];
    qsort(sorted, count, sizeof *sorted, by_rule);
    struct sheet_group *group = sheet_add_group(maker, SHEET_STEPS, NULL);
    group->style = SHEET_NUMBERED;
    group->words = count ? "In this order; each is ticked when it is done."
                         : "No part of the list asks for a step of its own.";
    for (size_t i = 0; i < count; i++) {
        struct sheet_item *item = sheet_add_item(maker, group, sorted[i]->message);
        if (item)
            add_notes(maker, item, sorted[i]->from, true);
    }
}

bool sheet_is_of_list(const struct rule *rule)
{
    return rule && strncmp(rule->name, "list.", 5) == 0;
}

/* Asked of the place, and so of whoever rules there; or of the rig. */
static bool is_of_site(const struct rule *rule)
{
    return rule && rule->pairing.text && strcmp(rule->pairing.text, "site") == 0;
}

static void add_reminders(struct sheet_maker *maker, const char *heading, bool of_site)
{
    const struct judgement *judgement = &maker->rig->judgement;
    struct sheet_group *group = NULL;
    for (size_t i = 0; i < judgement->finding_count; i++) {
        const struct finding *finding = &judgement->findings[i];
        if (finding->level != LEVEL_REMINDER || finding->accepted ||
            sheet_is_of_list(finding->from) || is_of_site(finding->from) != of_site)
            continue;
        if (!group) {
            group = sheet_add_group(maker, SHEET_LOCAL, heading);
            group->style = SHEET_TICKED;
        }
        struct sheet_item *item = sheet_add_item(maker, group, finding->message);
        if (item)
            add_notes(maker, item, finding->from, true);
    }
}

static void make_local(struct sheet_maker *maker)
{
    static const char *const blanks[] = {"Permit", "Authority or inspector", "Electrician, plumber",
                                         "Checked by", "Date and signature"};
    const char *practice = practice_name(maker->rig->rig->practice);
    sheet_add_group(maker, SHEET_LOCAL, NULL)->words = sheet_say(
        maker,
        "Judged by the wiring practice %s, as far as its rules are known here. This sheet takes "
        "nobody's place: the local authority, its inspector and licensed electricians and plumbers "
        "have "
        "the last word, and where they and this sheet differ, they are right.",
        practice ? practice : "that is common");
    add_reminders(maker, "Ask the local authority", true);
    add_reminders(maker, "Look on site", false);
    struct sheet_group *group = sheet_add_group(maker, SHEET_LOCAL, "Seen and signed");
    for (size_t i = 0; i < sizeof blanks / sizeof *blanks; i++)
        add_blank(maker, group, blanks[i]);
}

/* ---- what was assumed ---- */

struct assumed { /* the same figure assumed for the same reason */
    const char *attribute, *value, *because;
    SHEET_LIST(const char *) parts;
};
struct assumed_list {
    SHEET_LIST(struct assumed);
};

static void collect_assumed(struct sheet_maker *maker, const struct part *part, size_t index,
                            struct names *met, struct assumed_list *list)
{
    const struct attribute *attribute = &part->kind->attributes[index];
    const struct part_value *value = &part->values[index];
    part_tell(&maker->words, maker->rig->rig, attribute, value);
    const char *words = sheet_keep(maker);
    const char *because = value->because ? value->because : "the usual";
    const char *key = sheet_say(maker, "%s %s %s", attribute->name, words, because);
    size_t at = list->count;
    if (!names_add(met, maker->arena, key, list->count, &at) || !ARENA_GROW(maker->arena, list)) {
        maker->failed = true;
        return;
    }
    if (at == list->count)
        list->at[list->count++] = (struct assumed){attribute->name, words, because, {0}};
    if (ARENA_GROW(maker->arena, &list->at[at].parts))
        list->at[at].parts.at[list->at[at].parts.count++] = part->id;
    else
        maker->failed = true;
}

#define PARTS_NAMED 8 /* of one assumption; more are counted */

/* "pump.start_factor", or "fluid of drum-pump, pump-coil". */
static const char *name_figure(struct sheet_maker *maker, const struct assumed *assumed)
{
    if (assumed->parts.count == 1)
        return sheet_say(maker, "%s.%s", assumed->parts.at[0], assumed->attribute);
    text_print(&maker->words, "%s of ", assumed->attribute);
    for (size_t i = 0; i < assumed->parts.count && i < PARTS_NAMED; i++)
        text_print(&maker->words, "%s%s", i ? ", " : "", assumed->parts.at[i]);
    if (assumed->parts.count > PARTS_NAMED)
        text_print(&maker->words, " and %zu more", assumed->parts.count - PARTS_NAMED);
    return sheet_keep(maker);
}

static void add_assumed(struct sheet_maker *maker, struct sheet_group *group)
{
    const struct rig *rig = maker->rig->rig;
    struct names *met = names_new(maker->arena);
    struct assumed_list list = {.count = 0};
    if (!met) {
        maker->failed = true;
        return;
    }
    for (size_t p = 0; p < rig->part_count; p++)
        for (size_t i = 0; i < rig->parts[p].kind->attribute_count; i++)
            if (rig->parts[p].values[i].origin == ORIGIN_ASSUMED)
                collect_assumed(maker, &rig->parts[p], i, met, &list);
    for (size_t i = 0; i < list.count; i++) {
        const char *figure = name_figure(maker, &list.at[i]);
        sheet_add_item(maker, group,
                       sheet_say(maker, "%s = %s: %s", figure, list.at[i].value,
                                 sheet_prose(maker, list.at[i].because)));
    }
}

static void make_assumed(struct sheet_maker *maker)
{
    size_t count = report_assumed(maker->rig->rig);
    struct sheet_group *group = sheet_add_group(maker, SHEET_ASSUMED, NULL);
    if (!count) {
        group->words = "Nothing: every figure that was asked for is in the list.";
        return;
    }
    group->words =
        sheet_say(maker,
                  "%zu figure%s not given and so assumed. Give your own in the rig file where you "
                  "know better, and check again.",
                  count, count == 1 ? " was" : "s were");
    add_assumed(maker, group);
}

/* ---- where the numbers come from ---- */

/* By enum origin; solved figures have none. */
struct origin_counts {
    size_t given, listed, assumed, solved;
};

static struct origin_counts count_origins(const struct rig *rig)
{
    struct origin_counts counts = {0};
    for (size_t p = 0; p < rig->part_count; p++) {
        const struct part *part = &rig->parts[p];
        for (size_t i = 0; i < part->kind->attribute_count; i++) {
            enum origin origin = part->values[i].origin;
            counts.given += origin == ORIGIN_GIVEN;
            counts.listed += origin == ORIGIN_LISTED;
            counts.assumed += origin == ORIGIN_ASSUMED;
            counts.solved += part->values[i].solved != NULL;
        }
    }
    return counts;
}

static void make_origins(struct sheet_maker *maker)
{
    struct origin_counts counts = count_origins(maker->rig->rig);
    struct sheet_group *group = sheet_add_group(maker, SHEET_ORIGINS, NULL);
    struct sheet_facts *facts = &group->facts;
    sheet_add_fact(maker, facts, "given",
                   sheet_say(maker, "%zu figures as they stand in the rig file.", counts.given));
    sheet_add_fact(maker, facts, "listed",
                   sheet_say(maker,
                             "%zu figures of catalogue entries, typical of such parts; the "
                             "label on your own part goes before them.",
                             counts.listed));
    sheet_add_fact(maker, facts, "assumed",
                   sheet_say(maker, "%zu figures, each with its reason above.", counts.assumed));
    sheet_add_fact(maker, facts, "solved",
                   sheet_say(maker,
                             "%zu kinds of figures worked out from these; `rigtally figures` "
                             "shows every one with its working.",
                             counts.solved));
    sheet_add_fact(maker, facts, "made by",
                   sheet_say(maker, "rigtally %s from %s", maker->version, maker->rig->file));
    sheet_add_group(maker, SHEET_ORIGINS, "What this sheet can't judge")->words =
        "Workmanship, the ground, roofs and trees, the water itself, a part that is not what its "
        "label says, and whatever is not in the list. It judges what figures can tell.";
}

/* ---- the whole ---- */

const struct sheet *sheet_make(const struct report_rig *rig, const struct judgement *steps,
                               const char *version)
{
    struct sheet_maker maker = {
        .arena = rig->rig->arena, .rig = rig, .steps = steps, .version = version};
    struct sheet *sheet = maker.sheet = ARENA_TAKE(maker.arena, 1, struct sheet);
    maker.noted = names_new(maker.arena);
    if (!sheet || !maker.noted)
        return NULL;
    sheet->rig = rig;
    sheet->title = rig->name[0] ? rig->name : "A rig without a name";
    sheet->verdict = report_verdict_words(rig);
    report_sum_words(&maker.words, &rig->judgement);
    sheet->sum = sheet_keep(&maker);
    for (unsigned i = 0; i < SHEET_PLACES; i++) {
        sheet->sections[i].name = headings[i].name;
        sheet->sections[i].heading = headings[i].heading;
        sheet->sections[i].narrow = headings[i].narrow;
        sheet->sections[i].small = i == SHEET_ASSUMED;
    }
    sheet_make_glance(&maker);
    make_findings(&maker);
    make_questions(&maker);
    sheet_make_buying(&maker);
    make_steps(&maker);
    make_local(&maker);
    make_assumed(&maker);
    make_origins(&maker);
    bool failed = maker.failed || maker.words.failed;
    text_drop(&maker.words);
    return failed ? NULL : sheet;
}

void report_sheet(struct text *out, enum report_sheet_form form, const struct report_style *style,
                  const struct report_rig *rig, const struct judgement *steps)
{
    static void (*const forms[])(struct text * out, const struct sheet *sheet) = {
        [SHEET_HTML] = sheet_html, [SHEET_MARKDOWN] = sheet_markdown, [SHEET_TEXT] = sheet_text};
    const struct sheet *sheet = sheet_make(rig, steps, style->version);
    if (sheet)
        forms[form](out, sheet);
    else
        out->failed = true;
}
