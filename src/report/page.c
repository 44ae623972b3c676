/* page.c - wrapping, labels and colour. */
#include "report/page.h"

#include <string.h>

#define NARROWEST 40u /* less room than this is not wrapped to */

void page_begin(struct page *page, struct text *out, const struct report_style *style)
{
    *page = (struct page){.out = out, .style = style};
}

void page_end(struct page *page)
{
    if (page->words.failed || page->clean.failed)
        page->out->failed = true;
    text_drop(&page->words);
    text_drop(&page->clean);
}

unsigned page_width(const char *clean)
{
    unsigned width = 0;
    for (; *clean; clean++)
        width += ((unsigned char)*clean & 0xc0) != 0x80;
    return width;
}

void page_pad(struct page *page, unsigned count)
{
    static const char blanks[] = "                                ";
    for (unsigned most = sizeof blanks - 1; count > 0;) {
        unsigned some = count < most ? count : most;
        text_add_bytes(page->out, blanks, some);
        count -= some;
    }
}

/* The columns of bytes that end at a blank or at the end. */
static unsigned word_width(const char *word, size_t length)
{
    unsigned width = 0;
    for (size_t i = 0; i < length; i++)
        width += ((unsigned char)word[i] & 0xc0) != 0x80;
    return width;
}

/* Escaped words, from `column` on, further lines at `indent`. */
static void wrap(struct page *page, unsigned column, unsigned indent, const char *words)
{
    unsigned limit = page->style->width > NARROWEST ? page->style->width : NARROWEST;
    if (indent > limit / 2)
        indent = limit / 2;
    bool fresh = true; /* nothing of ours on this line yet */
    for (;;) {
        words += strspn(words, " ");
        size_t length = strcspn(words, " ");
        if (length == 0)
            break;
        unsigned width = word_width(words, length);
        if (!fresh && column + 1 + width > limit) {
            text_add(page->out, "\n");
            page_pad(page, indent);
            column = indent;
            fresh = true;
        }
        if (!fresh) {
            text_add(page->out, " ");
            column++;
        }
        text_add_bytes(page->out, words, length);
        column += width;
        words += length;
        fresh = false;
    }
    text_add(page->out, "\n");
}

void page_empty(struct page *page, struct text *text)
{
    page->out->failed = page->out->failed || text->failed; /* clearing forgets it */
    text_clear(text);
}

void page_flow(struct page *page, unsigned column, unsigned indent, const char *words)
{
    page_empty(page, &page->clean);
    escape_terminal(&page->clean, words);
    wrap(page, column, indent, page->clean.length ? page->clean.bytes : "");
}

void page_flow_words(struct page *page, unsigned column, unsigned indent)
{
    page_flow(page, column, indent, page->words.length ? page->words.bytes : "");
    page_empty(page, &page->words);
}

void page_prose(struct page *page, unsigned column, unsigned indent, const char *prose)
{
    page_empty(page, &page->words);
    for (size_t length; *prose; prose += length + (prose[length] == '\n')) {
        length = strcspn(prose, "\n");
        text_add_bytes(&page->words, prose, length);
        text_add(&page->words, " ");
    }
    page_flow_words(page, column, indent);
}

void page_lines(struct page *page, unsigned column, unsigned indent, const char *lines)
{
    while (*lines) {
        size_t length = strcspn(lines, "\n");
        unsigned blanks = (unsigned)strspn(lines, " ");
        if (blanks > length)
            blanks = (unsigned)length;
        page_pad(page, blanks);
        page_empty(page, &page->words);
        text_add_bytes(&page->words, lines + blanks, length - blanks);
        page_flow_words(page, column + blanks, indent + blanks + 4);
        lines += length + (lines[length] == '\n');
        if (*lines)
            page_pad(page, indent);
        column = indent;
    }
}

void page_label(struct page *page, unsigned indent, unsigned column, const char *label)
{
    page_pad(page, indent);
    text_add(page->out, label);
    unsigned end = indent + page_width(label);
    page_pad(page, end < column ? column - end : 1);
}

/* Select Graphic Rendition, ECMA-48, 8.3.117. */
static const char *const level_colour[LEVEL_COUNT] = {
    [LEVEL_ERROR] = "\x1b[1;31m",
    [LEVEL_CAUTION] = "\x1b[33m",
    [LEVEL_QUESTION] = "\x1b[36m",
    [LEVEL_REMINDER] = "\x1b[35m",
};

void page_level(struct page *page, enum level level, const char *words)
{
    text_add(page->out, page->style->colour ? level_colour[level] : "");
    text_add(page->out, words);
    text_add(page->out, page->style->colour ? "\x1b[0m" : "");
}

void page_strong(struct page *page, const char *raw)
{
    text_add(page->out, page->style->colour ? "\x1b[1m" : "");
    escape_terminal(page->out, raw);
    text_add(page->out, page->style->colour ? "\x1b[0m" : "");
}
