/* say.c - the two ways out: reports to standard output, complaints to standard
 * error. A report that does not arrive is told. */
#include <errno.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "command/command.h"

void deliver_error(struct text *text)
{
    if (text->length)
        fwrite(text->bytes, 1, text->length, stderr);
    text_clear(text);
}

void deliver_lines(const struct report_rig *rig, const struct report_style *style)
{
    struct text text = {0};
    report_add(&text, REPORT_LINES, style, rig, true);
    deliver_error(&text);
    text_drop(&text);
}

static void say(const char *words)
{
    struct text line = {0};
    text_add(&line, "rigtally: ");
    escape_terminal(&line, words);
    text_add(&line, "\n");
    deliver_error(&line);
    text_drop(&line);
}

void complain(const char *format, ...)
{
    va_list arguments;
    char buffer[2048]; /* a longer sentence is cut */
    va_start(arguments, format);
    vsnprintf(buffer, sizeof buffer, format, arguments);
    va_end(arguments);
    say(buffer);
}

void complain_unknown(const char *what, const char *name, const char *near, const char *hint)
{
    if (near)
        complain("there is no %s '%s'; did you mean %s? %s", what, name, near, hint);
    else
        complain("there is no %s '%s'. %s", what, name, hint);
}

void complain_memory(void)
{
    fputs("rigtally: there is not enough memory for this.\n", stderr);
}

static bool arrived(bool well)
{
    if (!well)
        complain("the report could not be written: %s.", strerror(errno));
    return well;
}

bool deliver(struct text *text)
{
    if (text->failed) {
        complain_memory();
        return false;
    }
    bool well = fwrite(text->length ? text->bytes : "", 1, text->length, stdout) == text->length;
    text_clear(text);
    return arrived(well);
}

bool delivered_all(void)
{
    if (ferror(stdout))
        return false; /* told when it happened */
    return arrived(fflush(stdout) == 0 && fclose(stdout) == 0);
}
