/* sheet_html.c - the sheet as one page of HTML that needs nothing else: to be printed
 * in black and white on A4 or Letter, and to be read and ticked on a phone. Levels
 * are told by words and shapes; what has no room is wrapped, never cut. */
#include <string.h>

#include "report/chart.h"
#include "report/diagram.h"
#include "report/sheet.h"

#define ROWS_TOGETHER 20 /* a table of no more rows is not parted by the end of a page */

/* clang-format off: a line for each rule */
static const char style[] =
    "*{box-sizing:border-box}\n"
    "body{font:16px/1.4 "
    "Helvetica,Arial,sans-serif;color:#000;background:#fff;max-width:50em;margin:0 auto;padding:0 "
    "1em 2em;overflow-wrap:anywhere}\n"
    "h1{font-size:1.7em;margin:.6em 0 .2em}\n"
    "h2{font-size:1.25em;margin:1.4em 0 .5em;border-bottom:2px solid #000}\n"
    "h3{font-size:1em;margin:.9em 0 .3em}\n"
    "h3 span{font-weight:normal}\n"
    "p{margin:.3em 0}\n"
    ".verdict{border:2px solid #000;padding:.3em .6em;font-weight:bold}\n"
    ".verdict span{font-weight:normal}\n"
    ".verdict.error{border-left-width:10px}\n"
    ".verdict.caution,.verdict.question{border-left:8px double #000}\n"
    "ul,ol.steps{list-style:none;margin:.3em 0;padding:0}\n"
    "ol.steps{counter-reset:step}\n"
    "li.item{margin:0 0 .5em;padding-left:1.7em;position:relative}\n"
    "li.plain{padding-left:0}\n"
    ".ways li.plain{padding-left:1em;text-indent:-1em}\n"
    ".item input[type=checkbox]{position:absolute;left:0;top:.15em}\n"
    "input[type=checkbox]{width:1em;height:1em;margin:0;appearance:none;-webkit-appearance:none;"
    "border:1.5px solid #000;border-radius:0;background:#fff;vertical-align:-.1em}\n"
    "input[type=checkbox]:checked{background:linear-gradient(45deg,#fff 0 40%,#000 40% 60%,#fff "
    "60%)}\n"
    ":focus-visible{outline:3px solid #06c;outline-offset:2px}\n"
    ".steps .item{padding-left:3.5em}\n"
    ".steps .item::before{counter-increment:step;content:counter(step) "
    "\".\";position:absolute;left:1.7em}\n"
    ".mark{font-weight:bold;white-space:nowrap;padding:0 .3em}\n"
    ".error .mark{border:2px solid #000}\n"
    ".caution .mark{border:1px dashed #000}\n"
    ".question .mark,.reminder .mark{border:1px dotted #000}\n"
    "dl{margin:.2em 0}\n"
    "dl div{display:flex;gap:.6em}\n"
    "dt{flex:0 0 5.2em;font-style:italic}\n"
    "dd{margin:0;flex:1;min-width:0}\n"
    ".item dl{font-size:.9em}\n"
    ".sum span{display:block;padding-left:1em;text-indent:-1em;font-size:.9em;line-height:1.3}\n"
    ".sum .deep{padding-left:2.2em}\n"
    "a{color:#000}\n"
    ".drawn{display:flex;flex-wrap:wrap;gap:0 2em}\n"
    ".drawn svg{flex:0 1 auto;min-width:0}\n"
    ".ways{flex:1 1 15em}\n"
    "svg{display:block;max-width:100%;height:auto;margin:.5em 0}\n"
    ".curves{display:flex;flex-wrap:wrap;gap:0 1.5em;align-items:flex-start}\n"
    ".curves svg{flex:0 1 440px;min-width:0}\n"
    "table{border-collapse:collapse;width:100%;font-size:.9em;margin:0 0 .6em}\n"
    "caption{text-align:left;font-weight:bold;padding:.4em 0 .2em}\n"
    "th,td{text-align:left;vertical-align:top;padding:.15em .5em .15em 0;border-bottom:1px solid "
    "#777}\n"
    "th{font-weight:normal;font-style:italic;white-space:nowrap}\n"
    "td.number,th.number{text-align:right;padding-right:.8em}\n"
    ".box{width:2.4em}\n"
    "input.answer{border:0;border-bottom:1px solid "
    "#000;border-radius:0;background:#fff;color:#000;font:inherit;width:100%}\n"
    ".blank{display:flex;gap:.6em;align-items:flex-end;margin:.7em 0}\n"
    ".blank label{flex:0 0 13em}\n"
    ".small{font-size:.85em}\n"
    ".small li.item{margin-bottom:.15em;padding-left:1em;text-indent:-1em}\n"
    "ol.sources{font-size:.85em;padding-left:1.8em;margin:.3em 0}\n"
    "@media (max-width:30em){.item dl div{flex-direction:column;gap:0}.item dt{flex:none}"
    ".blank{flex-wrap:wrap}table{font-size:.8em}}\n"
    "@page{margin:11mm 12mm 12mm}\n"
    "@media print{\n"
    "body{font-size:8.2pt;line-height:1.22;max-width:none;padding:0}\n"
    "h1{margin-top:0}\n"
    "h2{margin:.6em 0 .3em}\n"
    "li.item{margin-bottom:.25em}\n"
    "h2,h3,caption{break-after:avoid}\n"
    "tr,.fact,.sum span,.blank,svg,.short,.verdict,label{break-inside:avoid}\n"
    "label,dl div:first-child{break-after:avoid}\n"
    "thead{display:table-header-group}\n"
    "p,li,span{orphans:2;widows:2}\n"
    ".columns{columns:2;column-gap:7mm}\n"
    ".columns>:first-child,.columns>:first-child>:first-child{margin-top:0}\n"
    ".drawn svg{max-height:105mm}\n"
    ".sum .deep{display:none}\n"
    ".curves{display:block;columns:2;column-gap:7mm}\n"
    ".curves svg{max-width:76mm;margin:0 0 1mm}\n"
    ".blank{margin:.9em 0}\n"
    ".blank label{flex-basis:11em}\n"
    "a{text-decoration:none}\n"
    "}\n";
/* clang-format on */

/* ---- small things ---- */

static void put_element(struct text *out, const char *name, const char *raw)
{
    text_print(out, "<%s>", name);
    escape_html(out, raw);
    text_print(out, "</%s>\n", name);
}

/* The shape of a level, for those who see no colour; it says nothing that the word does not. */
static const char *shape(enum level level)
{
    static const char *const shapes[LEVEL_COUNT] = {
        [LEVEL_ERROR] = "\xe2\x96\xa0",   /* a black square */
        [LEVEL_CAUTION] = "\xe2\x96\xb2", /* a triangle */
        [LEVEL_QUESTION] = "?",
        [LEVEL_REMINDER] = "\xe2\x97\x8f", /* a disc */
    };
    return shapes[level];
}

static void put_mark(struct text *out, const struct sheet_item *item)
{
    if (!item->mark)
        return;
    text_print(out, "<span class=\"mark\"><span aria-hidden=\"true\">%s</span> ",
               shape(item->level));
    escape_html(out, item->mark);
    text_add(out, "</span> ");
}

static void put_notes(struct text *out, const struct sheet_item *item)
{
    for (size_t i = 0; i < item->notes.count; i++)
        text_print(out, " <a href=\"#note-%zu\">[%zu]</a>", item->notes.at[i], item->notes.at[i]);
}

/* ---- facts ---- */

/* One line of a working; what stands deeper belongs to the line above. */
static void put_working(struct text *out, const char *line, size_t length)
{
    size_t blanks = strspn(line, " ");
    struct text words = {0};
    if (blanks > length)
        blanks = length;
    text_add_bytes(&words, line + blanks, length - blanks);
    text_print(out, "<span%s>", blanks ? " class=\"deep\"" : "");
    escape_html(out, words.length ? words.bytes : "");
    text_add(out, "</span>");
    out->failed = out->failed || words.failed;
    text_drop(&words);
}

static void put_fact(struct text *out, const struct sheet_fact *fact)
{
    text_add(out, fact->lines ? "<div><dt>" : "<div class=\"fact\"><dt>");
    escape_html(out, fact->label);
    text_add(out, fact->lines ? "</dt><dd class=\"sum\">" : "</dt><dd>");
    const char *lines = fact->words;
    while (fact->lines && *lines) {
        size_t length = strcspn(lines, "\n");
        put_working(out, lines, length);
        lines += length + (lines[length] == '\n');
    }
    if (!fact->lines)
        escape_html(out, fact->words);
}

/* Facts of the same thing; the notes of an item stand behind the last of them. */
static void put_facts(struct text *out, const struct sheet_facts *facts,
                      const struct sheet_item *item)
{
    if (!facts->count)
        return;
    text_add(out, "<dl>\n");
    for (size_t i = 0; i < facts->count; i++) {
        put_fact(out, &facts->at[i]);
        if (item && i + 1 == facts->count)
            put_notes(out, item);
        text_add(out, "</dd></div>\n");
    }
    text_add(out, "</dl>\n");
}

/* ---- items ---- */

static void put_item(struct text *out, const struct sheet_group *group,
                     const struct sheet_item *item)
{
    bool ticked = group->style != SHEET_PLAIN;
    bool brief = !item->facts.count; /* its notes stand behind its words */
    text_print(out, "<li class=\"item%s%s%s%s\">", ticked ? "" : " plain", brief ? " short" : "",
               item->mark ? " " : "", item->mark ? level_name(item->level) : "");
    text_add(out, ticked ? "<label><input type=\"checkbox\"> " : "");
    put_mark(out, item);
    escape_html(out, item->words);
    text_add(out, ticked ? "</label>" : "");
    if (brief)
        put_notes(out, item);
    if (group->style == SHEET_ASKED) {
        text_add(out, " <input type=\"text\" class=\"answer\" aria-label=\"Answer: ");
        escape_html(out, item->words);
        text_add(out, "\">");
    }
    text_add(out, "\n");
    if (!brief)
        put_facts(out, &item->facts, item);
    text_add(out, "</li>\n");
}

static void put_left_out(struct text *out, size_t count, const char *what)
{
    if (count)
        text_print(out, "<p>%zu more %s left out here.</p>\n", count, what);
}

static void put_items(struct text *out, const struct sheet_group *group, bool small)
{
    bool steps = group->style == SHEET_NUMBERED;
    if (!group->items.count)
        return;
    text_print(out, "<%s", steps ? "ol" : "ul");
    /* Some readers drop a list that shows no bullets, unless it says that it is one. */
    text_print(out, " role=\"list\"%s>\n",
               steps   ? " class=\"steps\""
               : small ? " class=\"small\""
                       : "");
    for (size_t i = 0; i < group->items.count; i++)
        put_item(out, group, &group->items.at[i]);
    text_print(out, "</%s>\n", steps ? "ol" : "ul");
    put_left_out(out, group->left_out, "are");
}

/* ---- tables ---- */

static void put_heads(struct text *out, const struct sheet_table *table)
{
    text_add(out, "<thead><tr>");
    text_add(out, table->ticked ? "<th scope=\"col\" class=\"box\">got</th>" : "");
    for (size_t i = 0; i < table->column_count; i++) {
        text_print(out, "<th scope=\"col\"%s>",
                   table->columns[i].number ? " class=\"number\"" : "");
        escape_html(out, table->columns[i].heading);
        text_add(out, "</th>");
    }
    text_add(out, "</tr></thead>\n");
}

static void put_row(struct text *out, const struct sheet_table *table, const char *const *cells)
{
    text_add(out, "<tr>");
    if (table->ticked) {
        text_add(out, "<td class=\"box\"><input type=\"checkbox\" aria-label=\"got: ");
        escape_html(out, cells[table->named]);
        text_add(out, "\"></td>");
    }
    for (size_t i = 0; i < table->column_count; i++) {
        text_print(out, "<td%s>", table->columns[i].number ? " class=\"number\"" : "");
        escape_html(out, cells[i]);
        text_add(out, "</td>");
    }
    text_add(out, "</tr>\n");
}

static void put_table(struct text *out, const struct sheet_table *table)
{
    if (!table->column_count)
        return;
    bool brief = table->cells.count <= ROWS_TOGETHER * table->column_count;
    text_print(out, "<table%s>\n<caption>", brief ? " class=\"short\"" : "");
    escape_html(out, table->caption);
    text_add(out, "</caption>\n");
    put_heads(out, table);
    text_add(out, "<tbody>\n");
    for (size_t i = 0; i + table->column_count <= table->cells.count; i += table->column_count)
        put_row(out, table, table->cells.at + i);
    text_add(out, "</tbody>\n</table>\n");
    put_left_out(out, table->left_out, "are");
}

/* ---- the page ---- */

static void put_blanks(struct text *out, const struct sheet_group *group, const char *section,
                       size_t number)
{
    for (size_t i = 0; i < group->blanks.count; i++) {
        text_print(out, "<div class=\"blank\"><label for=\"%s-%zu-%zu\">", section, number, i);
        escape_html(out, group->blanks.at[i]);
        text_print(out, "</label><input type=\"text\" class=\"answer\" id=\"%s-%zu-%zu\"></div>\n",
                   section, number, i);
    }
}

static void put_heading(struct text *out, const struct sheet_group *group)
{
    if (!group->heading || group->table.column_count) /* a table has a caption */
        return;
    text_add(out, "<h3>");
    escape_html(out, group->heading);
    if (group->goes_on) {
        text_add(out, "<span>: ");
        escape_html(out, group->words);
        text_add(out, "</span>");
    }
    text_add(out, "</h3>\n");
}

static void put_group(struct text *out, const struct sheet_section *section, size_t number)
{
    const struct sheet_group *group = &section->groups.at[number];
    put_heading(out, group);
    if (group->words && !group->goes_on)
        put_element(out, "p", group->words);
    put_facts(out, &group->facts, NULL);
    put_items(out, group, section->small);
    put_table(out, &group->table);
    put_blanks(out, group, section->name, number);
}

/* The drawing of the circuits; where there is room, the rest of the section stands beside it. */
static void put_drawing(struct text *out, const struct sheet *sheet)
{
    text_add(out, "<div class=\"drawn\">\n");
    diagram_draw(sheet->rig->rig, out);
    text_add(out, "<div class=\"ways\">\n");
}

static void put_section(struct text *out, const struct sheet *sheet,
                        const struct sheet_section *section)
{
    bool drawn = false;
    text_print(out, "<section aria-labelledby=\"%s\">\n<h2 id=\"%s\">", section->name,
               section->name);
    escape_html(out, section->heading);
    text_print(out, "</h2>\n<div%s>\n", section->narrow ? " class=\"columns\"" : "");
    for (size_t i = 0; i < section->groups.count; i++) {
        if (section->groups.at[i].drawn && !drawn) {
            put_drawing(out, sheet);
            drawn = true;
        }
        put_group(out, section, i);
    }
    text_add(out, drawn ? "</div>\n</div>\n" : "");
    text_add(out, "</div>\n</section>\n");
}

#define CHARTS_MAX 12 /* of panels and pumps: a sheet is to be printed */

/* The charts of a rig: what its panels give, what its pumps do, its day. */
static void put_curves(struct text *out, const struct sheet *sheet)
{
    const struct rig *rig = sheet->rig->rig;
    struct text drawn = {0};
    size_t count = 0;
    for (size_t i = 0; i < rig->part_count && count < CHARTS_MAX; i++) {
        size_t before = drawn.length;
        chart_panel(rig, i, &drawn);
        chart_pump(rig, i, &drawn);
        count += drawn.length > before;
    }
    chart_day(rig, &drawn);
    if (drawn.length) {
        text_add(out, "<section aria-labelledby=\"curves\">\n<h2 id=\"curves\">Its curves</h2>\n"
                      "<div class=\"curves\">\n");
        text_add_bytes(out, drawn.bytes, drawn.length);
        text_add(out, "</div>\n</section>\n");
    }
    out->failed = out->failed || drawn.failed;
    text_drop(&drawn);
}

static void put_sources(struct text *out, const struct sheet *sheet)
{
    if (!sheet->notes.count)
        return;
    text_add(out, "<section aria-labelledby=\"sources\">\n<h2 id=\"sources\">Sources</h2>\n"
                  "<ol class=\"sources columns\">\n");
    for (size_t i = 0; i < sheet->notes.count; i++) {
        text_print(out, "<li id=\"note-%zu\">", i + 1);
        escape_html(out, sheet->notes.at[i]);
        text_add(out, "</li>\n");
    }
    text_add(out, "</ol>\n</section>\n");
}

/* Nothing is loaded from anywhere, whatever a rig file may hold. */
static void put_head(struct text *out, const struct sheet *sheet)
{
    text_add(out, "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
                  "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n"
                  "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; "
                  "style-src 'unsafe-inline'\">\n<title>");
    escape_html(out, sheet->title);
    text_add(out, " - rigtally sheet</title>\n<style>\n");
    text_add(out, style);
    text_add(out, "</style>\n</head>\n<body>\n");
}

void sheet_html(struct text *out, const struct sheet *sheet)
{
    put_head(out, sheet);
    text_add(out, "<header>\n");
    put_element(out, "h1", sheet->title);
    text_print(out, "<p class=\"verdict %s\">", report_verdict(&sheet->rig->judgement));
    escape_html(out, sheet->verdict);
    text_add(out, " <span>");
    escape_html(out, sheet->sum);
    text_add(out, "</span></p>\n</header>\n<main>\n");
    for (unsigned i = 0; i < SHEET_PLACES; i++)
        put_section(out, sheet, &sheet->sections[i]);
    put_curves(out, sheet);
    put_sources(out, sheet);
    text_add(out, "</main>\n</body>\n</html>\n");
}
