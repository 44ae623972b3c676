/* sheet_text.c - the sheet as plain text, 80 columns wide: for a printer without
 * pictures, or a terminal. */
#include <stdio.h>
#include <string.h>

#include "report/page.h"
#include "report/sheet.h"

enum {
    WIDTH = 80,
    BODY = 4,    /* where the words of an item begin */
    STEP = 8,    /* the same of a numbered one */
    FACT = 14,   /* where what is said of it begins */
    WIDEST = 30, /* of a column of a table but the last */
};

static const struct report_style plain = {.width = WIDTH};

static void put_line(struct page *page, unsigned width, char mark)
{
    for (unsigned i = 0; i < width; i++)
        text_add_bytes(page->out, &mark, 1);
    text_add(page->out, "\n");
}

static void put_heading(struct page *page, const char *raw, char mark)
{
    size_t start = page->out->length;
    escape_terminal(page->out, raw);
    unsigned width =
        page->out->failed || page->out->length == start ? 0 : page_width(page->out->bytes + start);
    text_add(page->out, "\n");
    if (mark)
        put_line(page, width < WIDTH ? width : WIDTH, mark);
}

static void put_left_out(struct page *page, size_t count)
{
    if (count)
        text_print(page->out, "%zu more are left out here.\n", count);
}

static void put_facts(struct page *page, const struct sheet_facts *facts, unsigned indent)
{
    unsigned column = indent + FACT - BODY;
    for (size_t i = 0; i < facts->count; i++) {
        const struct sheet_fact *fact = &facts->at[i];
        page_label(page, indent, column, fact->label);
        if (fact->lines)
            page_lines(page, column, column, fact->words);
        else
            page_flow(page, column, column, fact->words);
    }
}

static void put_item(struct page *page, const struct sheet_group *group,
                     const struct sheet_item *item, size_t number)
{
    char step[32] = "";
    unsigned indent = group->style == SHEET_NUMBERED ? STEP : BODY;
    if (group->style == SHEET_NUMBERED)
        snprintf(step, sizeof step, "[ ] %2zu.", number);
    else
        snprintf(step, sizeof step, "%s", group->style == SHEET_PLAIN ? " -" : "[ ]");
    page_label(page, 0, indent, step);
    if (item->mark)
        text_print(&page->words, "%s: ", item->mark);
    text_add(&page->words, item->words);
    for (size_t i = 0; i < item->notes.count; i++)
        text_print(&page->words, " [%zu]", item->notes.at[i]);
    if (group->style == SHEET_ASKED)
        text_add(&page->words, " ____________");
    page_flow_words(page, indent, indent);
    put_facts(page, &item->facts, indent);
}

static void put_items(struct page *page, const struct sheet_group *group)
{
    for (size_t i = 0; i < group->items.count; i++) {
        bool apart = group->items.at[i].facts.count > 0;
        put_item(page, group, &group->items.at[i], i + 1);
        text_add(page->out, apart && i + 1 < group->items.count ? "\n" : "");
    }
    put_left_out(page, group->left_out);
}

/* ---- tables ---- */

static unsigned shown_width(struct page *page, const char *raw)
{
    page_empty(page, &page->clean);
    escape_terminal(&page->clean, raw);
    return page_width(page->clean.length ? page->clean.bytes : "");
}

static unsigned column_width(struct page *page, const struct sheet_table *table, size_t column)
{
    unsigned widest = shown_width(page, table->columns[column].heading);
    for (size_t i = column; i < table->cells.count; i += table->column_count) {
        unsigned width = shown_width(page, table->cells.at[i]);
        widest = width > widest ? width : widest;
    }
    return widest < WIDEST ? widest : WIDEST;
}

#define COLUMNS_MAX 8

/* All columns but the last keep their width, the last one flows. */
static void put_cells(struct page *page, const struct sheet_table *table, const unsigned *widths,
                      const char *first, const char *const *cells)
{
    unsigned column = BODY, at = BODY;
    page_label(page, 0, BODY, first);
    for (size_t i = 0; i < table->column_count; i++) {
        unsigned width = shown_width(page, cells[i]);
        if (i + 1 == table->column_count) {
            page_flow(page, at, column, cells[i]);
            break;
        }
        bool right = table->columns[i].number;
        unsigned blanks = width < widths[i] ? widths[i] - width : 0;
        page_pad(page, right ? blanks : 0);
        text_add(page->out, page->clean.length ? page->clean.bytes : "");
        page_pad(page, (right ? 0 : blanks) + 2);
        at += width + blanks + 2;
        column += widths[i] + 2;
    }
}

static void put_table(struct page *page, const struct sheet_table *table)
{
    unsigned widths[COLUMNS_MAX] = {0};
    const char *heads[COLUMNS_MAX] = {0};
    if (!table->column_count || table->column_count > COLUMNS_MAX)
        return;
    for (size_t i = 0; i < table->column_count; i++) {
        widths[i] = column_width(page, table, i);
        heads[i] = table->columns[i].heading;
    }
    put_cells(page, table, widths, "", heads);
    for (size_t i = 0; i + table->column_count <= table->cells.count; i += table->column_count)
        put_cells(page, table, widths, table->ticked ? "[ ]" : "", table->cells.at + i);
    put_left_out(page, table->left_out);
}

/* ---- the page ---- */

static bool is_empty(const struct sheet_group *group)
{
    return !group->heading && !group->words && !group->facts.count && !group->items.count &&
           !group->table.column_count && !group->blanks.count;
}

static void put_group(struct page *page, const struct sheet_group *group)
{
    if (is_empty(group))
        return;
    text_add(page->out, "\n");
    if (group->goes_on) {
        text_print(&page->words, "%s: %s", group->heading, group->words);
        page_flow_words(page, 0, 2);
        text_add(page->out, "\n");
    } else if (group->heading) {
        put_heading(page, group->heading, '-');
    }
    if (group->words && !group->goes_on)
        page_flow(page, 0, 0, group->words);
    put_facts(page, &group->facts, 0);
    put_items(page, group);
    put_table(page, &group->table);
    for (size_t i = 0; i < group->blanks.count; i++) {
        page_label(page, 0, 28, group->blanks.at[i]);
        put_line(page, WIDTH - 28, '_');
    }
}

static void put_sources(struct page *page, const struct sheet *sheet)
{
    if (!sheet->notes.count)
        return;
    text_add(page->out, "\n");
    put_heading(page, "Sources", '=');
    for (size_t i = 0; i < sheet->notes.count; i++) {
        char number[32];
        snprintf(number, sizeof number, "[%zu]", i + 1);
        page_label(page, 0, 5, number);
        page_flow(page, 5, 5, sheet->notes.at[i]);
    }
}

void sheet_text(struct text *out, const struct sheet *sheet)
{
    struct page page;
    page_begin(&page, out, &plain);
    put_heading(&page, sheet->title, '=');
    text_print(&page.words, "%s %s", sheet->verdict, sheet->sum);
    page_flow_words(&page, 0, 0);
    for (unsigned i = 0; i < SHEET_PLACES; i++) {
        text_add(out, "\n");
        put_heading(&page, sheet->sections[i].heading, '=');
        for (size_t k = 0; k < sheet->sections[i].groups.count; k++)
            put_group(&page, &sheet->sections[i].groups.at[k]);
    }
    put_sources(&page, sheet);
    page_end(&page);
}
