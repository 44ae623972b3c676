/* text.c - the growing buffer. */
#include "base/text.h"

#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

void text_drop(struct text *text)
{
    free(text->bytes);
    *text = (struct text){0};
}

void text_clear(struct text *text)
{
    text->length = 0;
    text->failed = false;
    if (text->bytes)
        text->bytes[0] = '\0';
}

/* Room for `more` bytes and a NUL after what is there. */
static bool make_room(struct text *text, size_t more)
{
    if (text->failed)
        return false;
    if (more < text->room - text->length)
        return true;
    text->failed = true; /* until it has worked */
    if (more > PTRDIFF_MAX / 2 - text->length)
        return false;
    size_t room = text->room ? text->room : 128;
    while (room - text->length <= more)
        room *= 2;
    char *bytes = realloc(text->bytes, room);
    if (!bytes)
        return false;
    text->bytes = bytes;
    text->room = room;
    text->failed = false;
    return true;
}

void text_add_bytes(struct text *text, const char *bytes, size_t length)
{
    if (!make_room(text, length))
        return;
    if (length)
        memcpy(text->bytes + text->length, bytes, length);
    text->length += length;
    text->bytes[text->length] = '\0';
}

void text_add(struct text *text, const char *string)
{
    text_add_bytes(text, string, strlen(string));
}

void text_add_number(struct text *text, unsigned long long number, int least_digits)
{
    char digits[20]; /* 2^64 has as many */
    char *end = digits + sizeof digits, *first = end;
    while (first > digits && (number || end - first < least_digits)) {
        *--first = (char)('0' + number % 10);
        number /= 10;
    }
    text_add_bytes(text, first, (size_t)(end - first));
}

/* Prints into what room there is, and once more when that was too little. */
static bool print_once(struct text *text, const char *format, va_list arguments, size_t *length)
{
    size_t room = text->room - text->length;
    int printed = vsnprintf(text->bytes + text->length, room, format, arguments);
    if (printed < 0) {
        text->bytes[text->length] = '\0';
        text->failed = true;
        return true;
    }
    *length = (size_t)printed;
    if (*length >= room) {
        text->bytes[text->length] = '\0';
        return false;
    }
    text->length += *length;
    return true;
}

void text_print(struct text *text, const char *format, ...)
{
    va_list arguments, again;
    size_t length = 0;
    if (!make_room(text, 0))
        return;
    va_start(arguments, format);
    va_copy(again, arguments);
    if (!print_once(text, format, arguments, &length) && make_room(text, length))
        print_once(text, format, again, &length);
    va_end(again);
    va_end(arguments);
}
