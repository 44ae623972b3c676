/* figures.c - every attribute of every part, in every condition, with where it
 * comes from and its working, as text. */
#include <math.h>
#include <string.h>

#include "report/figures.h"
#include "report/page.h"
#include "solve/solve.h"

#define VALUE_COLUMN 26u /* where a value begins */
#define FROM_COLUMN 48u  /* where its origin begins */

static void build_origin(struct text *words, const struct part *part,
                         const struct part_value *value)
{
    if (value->origin == ORIGIN_GIVEN && value->at.line)
        text_print(words, "given, line %u", value->at.line);
    else if (value->origin == ORIGIN_GIVEN)
        text_add(words, "given");
    else if (value->origin == ORIGIN_LISTED)
        text_print(words, "listed, %s", part->entry ? part->entry->name : "catalogue");
    else if (value->unread)
        text_print(words, "the usual: line %u can't be read", value->at.line);
    else
        text_print(words, "assumed: %s", value->because ? value->because : "the usual");
}

/* Name, value (which stands in the page's words) and origin on a line of three columns. */
static void add_row(struct page *page, const char *name)
{
    struct text *words = &page->words;
    size_t start = page->out->length;
    page_empty(page, &page->clean);
    escape_terminal(&page->clean, words->length ? words->bytes : "");
    page_empty(page, words);
    page_label(page, 2, VALUE_COLUMN, name);
    text_add(page->out, page->clean.length ? page->clean.bytes : "");
    if (page->out->failed)
        return;
    unsigned end = page_width(page->out->bytes + start);
    page_pad(page, end < FROM_COLUMN ? FROM_COLUMN - end : 2);
}

static unsigned row_end(const struct page *page)
{
    size_t start = page->out->length;
    while (start > 0 && page->out->bytes[start - 1] != '\n')
        start--;
    return page->out->failed ? 0 : page_width(page->out->bytes + start);
}

static void add_known(struct page *page, const struct rig *rig, const struct part *part,
                      size_t index)
{
    const struct attribute *attribute = &part->kind->attributes[index];
    const struct part_value *value = &part->values[index];
    if (value->solved || value->value.type == VALUE_NONE)
        return;
    part_tell(&page->words, rig, attribute, value);
    add_row(page, attribute->name);
    build_origin(&page->words, part, value);
    page_flow_words(page, row_end(page), FROM_COLUMN);
}

static void add_working(struct page *page, const struct rig *rig, size_t part, size_t index,
                        enum condition condition)
{
    struct text lines = {0};
    solve_working(rig, part, (int)index, condition, &lines);
    if (lines.length) {
        page_pad(page, 6);
        page_lines(page, 6, 6, lines.bytes);
    }
    if (lines.failed)
        page->out->failed = true;
    text_drop(&lines);
}

static void add_solved_once(struct page *page, const struct rig *rig, size_t index, size_t i)
{
    const struct part *part = &rig->parts[index];
    const struct attribute *attribute = &part->kind->attributes[i];
    struct value value;
    if (attribute->solved != SOLVED_ONCE || !part->values[i].solved ||
        !solved_value(attribute, part->values[i].solved[0], &value))
        return;
    attribute_tell(&page->words, attribute, &value, rig_units(rig));
    add_row(page, attribute->name);
    text_add(page->out, "solved\n");
    add_working(page, rig, index, i, CONDITION_BRIGHT_NOON);
}

/* A figure of something: a row for each of some of what it may be of. */
static void add_series(struct page *page, const struct rig *rig, size_t index, size_t i)
{
    const struct part *part = &rig->parts[index];
    const struct attribute *attribute = &part->kind->attributes[i];
    const struct part_series *series = part->values[i].series;
    for (size_t k = 0; series && k < series->count; k++) {
        struct text name = {0};
        struct value of = {.type = VALUE_QUANTITY,
                           .as.quantity = {series->at[k], attribute->of_dimension}};
        struct value value;
        text_print(&name, "%s(", attribute->name);
        value_tell(&name, &of, attribute->of, NULL, rig_units(rig));
        text_add(&name, ")");
        if (!name.failed && solved_value(attribute, series->value[k], &value)) {
            attribute_tell(&page->words, attribute, &value, rig_units(rig));
            add_row(page, name.bytes);
            text_add(page->out, "solved\n");
        }
        page->out->failed = page->out->failed || name.failed;
        text_drop(&name);
    }
    if (series && series->count)
        add_working(page, rig, index, i, CONDITION_BRIGHT_NOON);
}

/* ---- the table of what was solved for each condition ---- */

struct table {
    struct page *page;
    enum unit_system units;
    const struct part *part;
    bool shown[CONDITION_COUNT];
    unsigned width[CONDITION_COUNT];
    unsigned first; /* width of the first column */
    unsigned gap;   /* blanks before each other one */
};

/* What is left of a sum that comes to nothing: shown as 0. */
static double without_rest(const struct part_value *value, double number)
{
    double largest = 0.0;
    for (unsigned c = 0; c < CONDITION_COUNT; c++)
        if (fabs(value->solved[c]) > largest)
            largest = fabs(value->solved[c]);
    return fabs(number) < 1e-9 * largest ? 0.0 : number;
}

/* The unit of a row, which fits the largest figure in it; name "" or NULL: none. */
static struct unit row_unit(const struct table *table, size_t index)
{
    const struct attribute *attribute = &table->part->kind->attributes[index];
    struct unit unit = {0};
    double largest = 0.0;
    if (!attribute->unit || !unit_find(attribute->unit, strlen(attribute->unit), &unit))
        return (struct unit){0};
    for (unsigned c = 0; c < CONDITION_COUNT; c++)
        if (figures_is_in(table->part, index, (enum condition)c))
            largest = fmax(largest, fabs(table->part->values[index].solved[c]));
    unit.customary = attribute->customary;
    return unit_told(&unit, table->units, largest);
}

/* A cell's text into page->clean: the number alone, its unit stands with the name. */
static const char *cell(struct table *table, size_t index, enum condition condition)
{
    struct page *page = table->page;
    const struct attribute *attribute = &table->part->kind->attributes[index];
    struct value value;
    page_empty(page, &page->clean);
    const struct part_value *known = &table->part->values[index];
    if (figures_is_in(table->part, index, condition) &&
        solved_value(attribute, without_rest(known, known->solved[condition]), &value)) {
        struct unit unit = row_unit(table, index);
        if (value.type == VALUE_QUANTITY)
            quantity_print(&page->clean, value.as.quantity, &unit);
        else
            value_print(&page->clean, &value, NULL);
        char *blank = page->clean.length ? strchr(page->clean.bytes, ' ') : NULL;
        if (blank)
            *blank = '\0';
        return page->clean.length ? page->clean.bytes : "";
    }
    return "-";
}

static void build_row_name(const struct table *table, size_t index)
{
    struct text *words = &table->page->words;
    struct unit unit = row_unit(table, index);
    page_empty(table->page, words);
    text_add(words, table->part->kind->attributes[index].name);
    if (unit.name && unit.name[0])
        text_print(words, ", %s", unit.name);
}

static void widen(unsigned *width, unsigned to)
{
    if (*width < to)
        *width = to;
}

static void measure(struct table *table)
{
    const struct kind *kind = table->part->kind;
    for (size_t i = 0; i < kind->attribute_count; i++) {
        if (!figures_is_somewhere(table->part, i))
            continue;
        build_row_name(table, i);
        if (table->page->words.length)
            widen(&table->first, page_width(table->page->words.bytes));
        for (unsigned c = 0; c < CONDITION_COUNT; c++) {
            table->shown[c] = table->shown[c] || figures_is_in(table->part, i, (enum condition)c);
            widen(&table->width[c], page_width(cell(table, i, (enum condition)c)));
        }
    }
    for (unsigned c = 0; c < CONDITION_COUNT; c++)
        widen(&table->width[c], page_width(condition_name((enum condition)c)));
    page_empty(table->page, &table->page->words);
}

static unsigned full_width(const struct table *table, unsigned gap)
{
    unsigned width = 2 + table->first;
    for (unsigned c = 0; c < CONDITION_COUNT; c++)
        width += table->shown[c] ? table->width[c] + gap : 0;
    return width;
}

static void add_cells(struct table *table, size_t index, unsigned from, unsigned to)
{
    struct text *out = table->page->out;
    for (unsigned c = from; c < to; c++) {
        if (!table->shown[c])
            continue;
        const char *words = cell(table, index, (enum condition)c);
        unsigned width = page_width(words);
        text_print(out, "%*s%s", (int)(table->width[c] + table->gap - width), "", words);
    }
    text_add(out, "\n");
}

static bool has_cells(const struct table *table, size_t index, unsigned from, unsigned to)
{
    for (unsigned c = from; c < to; c++)
        if (figures_is_in(table->part, index, (enum condition)c))
            return true;
    return false;
}

/* The columns `from` to before `to`, which fit on the page. */
static void add_columns(struct table *table, unsigned from, unsigned to)
{
    struct page *page = table->page;
    const struct kind *kind = table->part->kind;
    page_label(page, 2, table->first + 2, "solved");
    for (unsigned c = from; c < to; c++)
        if (table->shown[c])
            text_print(page->out, "%*s", (int)(table->width[c] + table->gap),
                       condition_name((enum condition)c));
    text_add(page->out, "\n");
    for (size_t i = 0; i < kind->attribute_count; i++) {
        if (!has_cells(table, i, from, to))
            continue;
        build_row_name(table, i);
        page_pad(page, 2);
        text_print(page->out, "%-*s", (int)table->first,
                   page->words.length ? page->words.bytes : "");
        page_empty(page, &page->words);
        add_cells(table, i, from, to);
    }
}

static void add_table(struct page *page, const struct rig *rig, const struct part *part)
{
    struct table table = {.page = page, .units = rig_units(rig), .part = part, .first = 8};
    measure(&table);
    table.gap = full_width(&table, 2) <= page->style->width ? 2 : 1;
    for (unsigned from = 0; from < CONDITION_COUNT;) {
        unsigned to = from, used = 2 + table.first;
        bool any = false;
        while (to < CONDITION_COUNT) {
            unsigned more = table.shown[to] ? table.width[to] + table.gap : 0;
            if (any && used + more > page->style->width)
                break;
            any = any || table.shown[to];
            used += more;
            to++;
        }
        if (any)
            add_columns(&table, from, to);
        from = to;
    }
}

/* The working of each attribute of the table, for the first condition in which there is one. */
static void add_table_working(struct page *page, const struct rig *rig, size_t index)
{
    const struct part *part = &rig->parts[index];
    for (size_t i = 0; i < part->kind->attribute_count; i++) {
        for (unsigned c = 0; c < CONDITION_COUNT; c++) {
            if (!figures_is_in(part, i, (enum condition)c))
                continue;
            size_t before = page->out->length;
            text_print(page->out, "    %s at %s\n", part->kind->attributes[i].name,
                       condition_name((enum condition)c));
            size_t heading = page->out->length;
            add_working(page, rig, index, i, (enum condition)c);
            if (page->out->length != heading || page->out->failed)
                break;
            page->out->length = before; /* nothing to say: the heading goes too */
            page->out->bytes[before] = '\0';
        }
    }
}

static void add_part(struct page *page, const struct rig *rig, size_t index)
{
    const struct part *part = &rig->parts[index];
    text_add(page->out, "\nPart ");
    page_strong(page, part->id);
    text_print(page->out, ", a %s", part->kind->name);
    if (part->at.line)
        text_print(page->out, ", line %u", part->at.line);
    text_add(page->out, "\n");
    for (size_t i = 0; i < part->kind->attribute_count; i++)
        add_known(page, rig, part, i);
    for (size_t i = 0; i < part->kind->attribute_count; i++)
        add_solved_once(page, rig, index, i);
    for (size_t i = 0; i < part->kind->attribute_count; i++)
        add_series(page, rig, index, i);
    add_table(page, rig, part);
    if (!page->style->brief)
        add_table_working(page, rig, index);
}

void figures_text_begin(struct text *out, const struct report_style *style, const struct rig *rig)
{
    struct page page;
    page_begin(&page, out, style);
    text_add(out, "Figures of ");
    page_strong(&page, rig->name && rig->name[0] ? rig->name : "a rig without a name");
    text_add(out, "\nin ");
    escape_path(out, rig->file);
    text_add(out, "\n");
    page_flow(
        &page, 0, 0,
        "given: in the rig file. listed: in the catalogue, under the entry named. assumed: by "
        "nobody's word, for the reason told. solved: worked out. A dash: no meaning there.");
    page_end(&page);
}

void figures_text_part(struct text *out, const struct report_style *style, const struct rig *rig,
                       size_t index)
{
    struct page page;
    page_begin(&page, out, style);
    add_part(&page, rig, index);
    page_end(&page);
}

bool figures_is_in(const struct part *part, size_t index, enum condition condition)
{
    const struct part_value *value = &part->values[index];
    return value->solved && part->kind->attributes[index].solved == SOLVED_EACH_CONDITION &&
           !isnan(value->solved[condition]);
}

bool figures_is_somewhere(const struct part *part, size_t index)
{
    for (unsigned condition = 0; condition < CONDITION_COUNT; condition++)
        if (figures_is_in(part, index, (enum condition)condition))
            return true;
    return false;
}

void report_figures_begin(struct text *out, bool json, const struct report_style *style,
                          const struct rig *rig)
{
    if (json)
        figures_json_begin(out, rig);
    else
        figures_text_begin(out, style, rig);
}

void report_figures_part(struct text *out, bool json, const struct report_style *style,
                         const struct rig *rig, size_t index)
{
    if (json)
        figures_json_part(out, rig, index);
    else
        figures_text_part(out, style, rig, index);
}

void report_figures_end(struct text *out, bool json)
{
    if (json)
        figures_json_end(out);
}
