/* entry.c - the catalogue, for `rigtally part`. */
#include <string.h>

#include "report/page.h"

enum {
    NAME = 2,
    ABOUT = 30, /* where what is said of a name begins */
    VALUE = 24, /* where an attribute's value begins */
    MEANING = 44,
};

/* A name from a file at `indent`; gives the column at which the next thing stands, at least
 * `column`. */
static unsigned add_name(struct page *page, unsigned indent, unsigned column, const char *name)
{
    size_t start = page->out->length;
    page_pad(page, indent);
    escape_terminal(page->out, name);
    if (page->out->failed)
        return column;
    unsigned end = page_width(page->out->bytes + start);
    page_pad(page, end < column ? column - end : 1);
    return end < column ? column : end + 1;
}

void report_kind_line(struct text *out, const struct report_style *style, const struct kind *kind,
                      size_t entries)
{
    struct page page;
    page_begin(&page, out, style);
    unsigned column = add_name(&page, NAME, ABOUT, kind->name);
    text_add(&page.words, kind->about ? kind->about : "");
    text_print(&page.words, " (%zu in the catalogue)", entries);
    page_flow_words(&page, column, ABOUT);
    page_end(&page);
}

void report_entry_line(struct text *out, const struct report_style *style,
                       const struct entry *entry)
{
    struct page page;
    page_begin(&page, out, style);
    unsigned column = add_name(&page, NAME, ABOUT, entry->name);
    text_print(&page.words, "%s: ", entry->kind);
    for (size_t i = 0; i < entry->value_count; i++)
        text_print(&page.words, "%s%s %s", i ? ", " : "", entry->values[i].attribute,
                   entry->values[i].text);
    page_flow_words(&page, column, ABOUT);
    page_end(&page);
}

static void add_value(struct page *page, const struct kind *kind, const struct entry_value *value)
{
    int index = kind ? kind_attribute(kind, value->attribute) : -1;
    const char *about = index < 0 ? NULL : kind->attributes[index].about;
    size_t start = page->out->length;
    unsigned column = add_name(page, NAME, VALUE, value->attribute);
    page_empty(page, &page->words);
    escape_terminal(page->out, value->text);
    unsigned end = page->out->failed ? column : page_width(page->out->bytes + start);
    if (!about) {
        text_add(page->out, "\n");
        return;
    }
    page_pad(page, end + 2 <= MEANING ? MEANING - end : 2);
    page_flow(page, end + 2 <= MEANING ? MEANING : end + 2, MEANING, about);
}

void report_entry(struct text *out, const struct report_style *style, const struct store *store,
                  const struct entry *entry)
{
    struct page page;
    page_begin(&page, out, style);
    text_add(out, "Catalogue entry ");
    page_strong(&page, entry->name);
    text_print(&page.words, ", a %s", entry->kind);
    page_flow_words(&page, 0, 0);
    if (entry->about) {
        page_pad(&page, NAME);
        page_prose(&page, NAME, NAME, entry->about);
    }
    text_add(out, "\n");
    for (size_t i = 0; i < entry->value_count; i++)
        add_value(&page, store_kind(store, entry->kind), &entry->values[i]);
    page_end(&page);
}
