/* diagnostics.c - collecting what is wrong with a file, and putting it in order. */
#include "base/diagnostics.h"

#include <stdarg.h>
#include <string.h>

static void add(struct diagnostics *diagnostics, const struct diagnostic *diagnostic,
                const char *format, va_list arguments)
{
    struct arena *arena = diagnostics->arena;
    const char *message = arena_vprint(arena, format, arguments);
    if (!message || !ARENA_GROW(arena, diagnostics)) {
        diagnostics->out_of_memory = true;
        return;
    }
    struct diagnostic *added = &diagnostics->at[diagnostics->count++];
    *added = *diagnostic;
    added->message = message;
}

void diagnostics_add(struct diagnostics *diagnostics, enum level level, const char *topic,
                     struct place at, const char *format, ...)
{
    struct diagnostic diagnostic = {.level = level, .topic = topic, .at = at};
    va_list arguments;
    va_start(arguments, format);
    add(diagnostics, &diagnostic, format, arguments);
    va_end(arguments);
}

void diagnostics_add_pair(struct diagnostics *diagnostics, enum level level, const char *topic,
                          struct place at, struct place also, const char *format, ...)
{
    struct diagnostic diagnostic = {.level = level, .topic = topic, .at = at, .also = also};
    va_list arguments;
    va_start(arguments, format);
    add(diagnostics, &diagnostic, format, arguments);
    va_end(arguments);
}

bool diagnostics_has(const struct diagnostics *diagnostics, enum level level)
{
    for (size_t i = 0; i < diagnostics->count; i++)
        if (diagnostics->at[i].level == level)
            return true;
    return false;
}

static int compare_files(const char *a, const char *b)
{
    if (!a || !b)
        return (a != NULL) - (b != NULL);
    return strcmp(a, b);
}

static int compare(const struct diagnostic *a, const struct diagnostic *b)
{
    int files = compare_files(a->at.file, b->at.file);
    if (files)
        return files;
    if (a->at.line != b->at.line)
        return a->at.line < b->at.line ? -1 : 1;
    return (a->at.column > b->at.column) - (a->at.column < b->at.column);
}

/* Merges from[low..middle) and from[middle..high) into to; of two equal ones the left goes first.
 */
static void merge(const struct diagnostic *from, struct diagnostic *to, size_t low, size_t middle,
                  size_t high)
{
    size_t left = low, right = middle;
    for (size_t i = low; i < high; i++) {
        bool take_left =
            left < middle && (right >= high || compare(&from[left], &from[right]) <= 0);
        to[i] = take_left ? from[left++] : from[right++];
    }
}

static bool in_order(const struct diagnostics *diagnostics)
{
    for (size_t i = 1; i < diagnostics->count; i++)
        if (compare(&diagnostics->at[i - 1], &diagnostics->at[i]) > 0)
            return false;
    return true;
}

/* A merge sort, because qsort promises no order among equals. */
void diagnostics_sort(struct diagnostics *diagnostics)
{
    size_t count = diagnostics->count;
    if (in_order(diagnostics))
        return;
    struct diagnostic *from = diagnostics->at;
    struct diagnostic *to = ARENA_TAKE(diagnostics->arena, diagnostics->room, struct diagnostic);
    if (!to) {
        diagnostics->out_of_memory = true;
        return;
    }
    for (size_t width = 1; width < count; width *= 2) {
        for (size_t low = 0; low < count; low += 2 * width) {
            size_t middle = low + width < count ? low + width : count;
            size_t high = low + 2 * width < count ? low + 2 * width : count;
            merge(from, to, low, middle, high);
        }
        struct diagnostic *swap = from;
        from = to;
        to = swap;
    }
    diagnostics->at = from;
}
