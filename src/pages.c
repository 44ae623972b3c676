/* pages.c - writes what is installed beside the tool, when it is built: the manual page, the
 * shells' completions, the reference. A template says everything once that no table says; `@NAME@`
 * in it stands for what the tables say.   pages TEMPLATE OUT */
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "command/pages.h"

/* ---- what a mark stands for ---- */

static void add_version(struct text *out, const struct store *unused)
{
    (void)unused;
    text_add(out, TOOL_VERSION);
}

#define PLAIN(name)                                                                                \
    static void add_##name(struct text *out, const struct store *unused)                           \
    {                                                                                              \
        (void)unused;                                                                              \
        name(out);                                                                                 \
    }
PLAIN(manual_calls)
PLAIN(manual_commands)
PLAIN(manual_options)
PLAIN(manual_conditions)
PLAIN(completion_commands)
PLAIN(completion_starters)
PLAIN(completion_bash_operands)
PLAIN(completion_bash_options)
PLAIN(completion_bash_values)
PLAIN(completion_zsh_commands)
PLAIN(completion_zsh_arguments)

static const struct mark {
    const char *name;
    void (*add)(struct text *out, const struct store *store);
} marks[] = {
    {"version", add_version},
    {"manual-calls", add_manual_calls},
    {"manual-commands", add_manual_commands},
    {"manual-options", add_manual_options},
    {"manual-conditions", add_manual_conditions},
    {"commands", add_completion_commands},
    {"rules", completion_rules},
    {"parts", completion_parts},
    {"starters", add_completion_starters},
    {"bash-operands", add_completion_bash_operands},
    {"bash-options", add_completion_bash_options},
    {"bash-values", add_completion_bash_values},
    {"zsh-commands", add_completion_zsh_commands},
    {"zsh-arguments", add_completion_zsh_arguments},
    {"reference-kinds", reference_kinds},
    {"reference-rules", reference_rules},
};

static const struct mark *find_mark(const char *name, size_t length)
{
    for (size_t i = 0; i < sizeof marks / sizeof *marks; i++)
        if (strlen(marks[i].name) == length && strncmp(marks[i].name, name, length) == 0)
            return &marks[i];
    return NULL;
}

/* Length of the mark that begins here, with both its signs; 0: none does. A newline behind a mark
 * that ended with one itself is left out by the caller. */
static size_t mark_length(const char *at)
{
    size_t name = strspn(at + 1, "abcdefghijklmnopqrstuvwxyz-");
    return name && at[1 + name] == '@' ? name + 2 : 0;
}

static bool add_mark(struct text *out, const char *at, size_t length, const struct store *store)
{
    const struct mark *mark = find_mark(at + 1, length - 2);
    if (mark)
        mark->add(out, store);
    else
        fprintf(stderr, "pages: nothing is called %.*s\n", (int)length, at);
    return mark != NULL;
}

static bool fill(struct text *out, const char *template, const struct store *store)
{
    while (*template) {
        size_t length = *template == '@' ? mark_length(template) : 0;
        if (!length) {
            text_add_bytes(out, template ++, 1);
            continue;
        }
        if (!add_mark(out, template, length, store))
            return false;
        template += length;
        if (*template == '\n' && out->length && out->bytes[out->length - 1] == '\n')
            template ++;
    }
    return true;
}

/* ---- files ---- */

static bool read_file(const char *path, struct text *out)
{
    char buffer[4096];
    size_t length;
    FILE *file = fopen(path, "rb");
    if (!file)
        return false;
    while ((length = fread(buffer, 1, sizeof buffer, file)) > 0)
        text_add_bytes(out, buffer, length);
    bool well = !ferror(file) && !out->failed && out->length;
    fclose(file);
    return well;
}

static bool write_file(const char *path, const struct text *text)
{
    FILE *file = text->failed ? NULL : fopen(path, "wb");
    if (!file)
        return false;
    bool written = fwrite(text->bytes, 1, text->length, file) == text->length;
    written = fclose(file) == 0 && written;
    if (!written)
        remove(path);
    return written;
}

int main(int count, char **arguments)
{
    if (count != 3) {
        fprintf(stderr, "pages TEMPLATE OUT\n");
        return 2;
    }
    struct text template = {0}, page = {0};
    struct store store;
    store_builtin(&store);
    int status = 0;
    if (!read_file(arguments[1], &template) || !fill(&page, template.bytes, &store) ||
        !write_file(arguments[2], &page)) {
        fprintf(stderr, "pages: %s can't be made of %s%s%s\n", arguments[2], arguments[1],
                errno ? ": " : "", errno ? strerror(errno) : "");
        status = 1;
    }
    text_drop(&template);
    text_drop(&page);
    return status;
}
