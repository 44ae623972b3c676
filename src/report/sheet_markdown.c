/* sheet_markdown.c - the sheet as Markdown with task lists and tables, as forges and
 * note books show them. */
#include <string.h>

#include "report/sheet.h"

static void put_left_out(struct text *out, size_t count)
{
    if (count)
        text_print(out, "\n%zu more are left out here.\n", count);
}

/* Lines as code below an item: a fence longer than any run of backticks in them. */
static void put_lines(struct text *out, const char *lines)
{
    struct text shown = {0};
    size_t longest = 2, run = 0;
    for (const char *at = lines; *at; at++) {
        run = *at == '`' ? run + 1 : 0;
        longest = run > longest ? run : longest;
    }
    text_print(out, "\n\n    %.*s\n", (int)(longest + 1 < 64 ? longest + 1 : 64),
               "````````````````````````````````````````````````````````````````");
    while (*lines) {
        size_t length = strcspn(lines, "\n");
        text_clear(&shown);
        text_add_bytes(&shown, lines, length);
        text_add(out, "    ");
        escape_terminal(out, shown.length ? shown.bytes : "");
        text_add(out, "\n");
        out->failed = out->failed || shown.failed;
        lines += length + (lines[length] == '\n');
    }
    text_drop(&shown);
    text_print(out, "    %.*s\n", (int)(longest + 1 < 64 ? longest + 1 : 64),
               "````````````````````````````````````````````````````````````````");
}

static void put_facts(struct text *out, const struct sheet_facts *facts, const char *indent)
{
    for (size_t i = 0; i < facts->count; i++) {
        const struct sheet_fact *fact = &facts->at[i];
        text_print(out, "%s- ", indent);
        if (fact->label[0])
            text_print(out, "%s: ", fact->label);
        if (fact->lines) {
            put_lines(out, fact->words);
            continue;
        }
        escape_markdown(out, fact->words);
        text_add(out, "\n");
    }
}

static void put_notes(struct text *out, const struct sheet_item *item)
{
    for (size_t i = 0; i < item->notes.count; i++)
        text_print(out, " \\[%zu\\]", item->notes.at[i]);
}

static void put_item(struct text *out, const struct sheet_group *group,
                     const struct sheet_item *item, size_t number)
{
    if (group->style == SHEET_NUMBERED)
        text_print(out, "- [ ] %zu\\. ", number);
    else
        text_add(out, group->style == SHEET_PLAIN ? "- " : "- [ ] ");
    if (item->mark) {
        text_add(out, "**");
        text_add(out, item->mark);
        text_add(out, ":** ");
    }
    escape_markdown(out, item->words);
    put_notes(out, item);
    text_add(out, group->style == SHEET_ASKED ? " \\_\\_\\_\\_\\_\\_\\_\\_\n" : "\n");
    put_facts(out, &item->facts, "  ");
}

static void put_items(struct text *out, const struct sheet_group *group)
{
    text_add(out, group->items.count ? "\n" : "");
    for (size_t i = 0; i < group->items.count; i++)
        put_item(out, group, &group->items.at[i], i + 1);
    put_left_out(out, group->left_out);
}

/* Inside a table a bar ends the cell, also within code, unless a backslash is before it (GitHub
 * Flavored Markdown, 4.10). */
static void put_cell(struct text *out, const char *raw)
{
    struct text shown = {0};
    escape_markdown(&shown, raw);
    for (const char *at = shown.length ? shown.bytes : ""; *at; at++) {
        text_add(out, *at == '|' ? "\\" : "");
        text_add_bytes(out, at, 1);
    }
    text_add(out, " |");
    out->failed = out->failed || shown.failed;
    text_drop(&shown);
}

static void put_row(struct text *out, const struct sheet_table *table, const char *const *cells)
{
    text_add(out, table->ticked ? "| \xe2\x98\x90 |" : "|"); /* an empty box */
    for (size_t i = 0; i < table->column_count; i++) {
        text_add(out, " ");
        put_cell(out, cells[i]);
    }
    text_add(out, "\n");
}

static void put_table(struct text *out, const struct sheet_table *table)
{
    if (!table->column_count)
        return;
    text_add(out, table->ticked ? "\n| got |" : "\n|");
    for (size_t i = 0; i < table->column_count; i++)
        text_print(out, " %s |", table->columns[i].heading);
    text_add(out, table->ticked ? "\n| --- |" : "\n|");
    for (size_t i = 0; i < table->column_count; i++)
        text_add(out, table->columns[i].number ? " ---: |" : " --- |");
    text_add(out, "\n");
    for (size_t i = 0; i + table->column_count <= table->cells.count; i += table->column_count)
        put_row(out, table, table->cells.at + i);
    put_left_out(out, table->left_out);
}

static void put_group(struct text *out, const struct sheet_group *group)
{
    if (group->heading) {
        text_add(out, "\n### ");
        escape_markdown(out, group->heading);
        text_add(out, group->goes_on ? ": " : "\n");
    }
    if (group->words && group->goes_on) {
        escape_markdown(out, group->words);
        text_add(out, "\n");
    } else if (group->words) {
        text_add(out, "\n");
        escape_markdown(out, group->words);
        text_add(out, "\n");
    }
    text_add(out, group->facts.count ? "\n" : "");
    put_facts(out, &group->facts, "");
    put_items(out, group);
    put_table(out, &group->table);
    text_add(out, group->blanks.count ? "\n" : "");
    for (size_t i = 0; i < group->blanks.count; i++)
        text_print(out, "- %s: \\_\\_\\_\\_\\_\\_\\_\\_\\_\\_\\_\\_\\_\\_\\_\\_\n",
                   group->blanks.at[i]);
}

void sheet_markdown(struct text *out, const struct sheet *sheet)
{
    text_add(out, "# ");
    escape_markdown(out, sheet->title);
    text_print(out, "\n\n**%s** %s\n", sheet->verdict, sheet->sum);
    for (unsigned i = 0; i < SHEET_PLACES; i++) {
        const struct sheet_section *section = &sheet->sections[i];
        text_print(out, "\n## %s\n", section->heading);
        for (size_t k = 0; k < section->groups.count; k++)
            put_group(out, &section->groups.at[k]);
    }
    text_add(out, sheet->notes.count ? "\n## Sources\n\n" : "");
    for (size_t i = 0; i < sheet->notes.count; i++) {
        text_print(out, "- \\[%zu\\] ", i + 1);
        escape_markdown(out, sheet->notes.at[i]);
        text_add(out, "\n");
    }
}
