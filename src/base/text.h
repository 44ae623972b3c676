/* text.h - a growing buffer of bytes for building output. Failure is sticky:
 * after an allocation fails further additions do nothing, and `failed` says so,
 * so that a writer checks once at the end. */
#ifndef RT_TEXT_H
#define RT_TEXT_H
#include <stdbool.h>
#include <stddef.h>

struct text {
    char *bytes; /* NUL-terminated when length > 0 */
    size_t length, room;
    bool failed;
};

void text_drop(struct text *text);
void text_clear(struct text *text); /* empty, keeps its memory */
void text_add(struct text *text, const char *string);
void text_add_bytes(struct text *text, const char *bytes, size_t length);
/* In decimal, with noughts in front up to `least_digits`, at most 20. */
void text_add_number(struct text *text, unsigned long long number, int least_digits);
void text_print(struct text *text, const char *format, ...) __attribute__((format(printf, 2, 3)));
#endif
