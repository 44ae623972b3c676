/* escape.c - untrusted strings, made fit for what shows them. A terminal acts on
 * control characters, bidirectional overrides turn a line round, characters
 * without width hide, and CI runners act on `::` and `##[` in a log. All of it
 * is shown as what it is; nothing is taken away. */
#include <stdint.h>
#include <string.h>

#include "document/scan.h"
#include "report/page.h"

struct span {
    uint32_t first, last;
};

/* Code points that have no glyph of their own, or that move others about: C1, soft hyphen, marks of
 * direction, joiners, line separators, fillers, variation selectors, interlinear marks, tags.
 * The Unicode Standard 15, Default_Ignorable_Code_Point and Bidi_Control. */
static const struct span hidden[] = {
    {0x80, 0x9f},     {0xad, 0xad},       {0x34f, 0x34f},     {0x61c, 0x61c},     {0x115f, 0x1160},
    {0x17b4, 0x17b5}, {0x180b, 0x180f},   {0x200b, 0x200f},   {0x2028, 0x202e},   {0x2060, 0x206f},
    {0x3164, 0x3164}, {0xfe00, 0xfe0f},   {0xfeff, 0xfeff},   {0xffa0, 0xffa0},   {0xfff0, 0xfffb},
    {0xfffe, 0xffff}, {0x1bca0, 0x1bca3}, {0x1d173, 0x1d17a}, {0xe0000, 0xe0fff},
};

static bool is_hidden(uint32_t code)
{
    for (size_t i = 0; i < sizeof hidden / sizeof *hidden; i++)
        if (code >= hidden[i].first && code <= hidden[i].last)
            return true;
    return false;
}

/* The second of two colons or two number signs: what CI runners look for. */
static bool is_command(const char *start, const char *at)
{
    return at > start && (*at == ':' || *at == '#') && at[-1] == *at;
}

static void show_bytes(struct text *out, const char *bytes, size_t length)
{
    for (size_t i = 0; i < length; i++)
        text_print(out, "\\x%02x", (unsigned)(unsigned char)bytes[i]);
}

/* Letters, digits and usual signs that no terminal and no CI log takes for anything else: from the
 * blank to ~, but not # and :. */
static const bool is_plain[256] = {
    [' '] = 1, 1, 1, 0, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, /* ' ' to '/', without '#' */
    ['0'] = 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 0, 1, 1, 1, 1, 1, /* '0' to '?', without ':' */
    ['@'] = 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, /* '@' to 'O' */
    ['P'] = 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, /* 'P' to '_' */
    ['`'] = 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, /* '`' to 'o' */
    ['p'] = 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1,    /* 'p' to '~' */
};

static size_t plain_length(const char *text)
{
    size_t length = 0;
    while (is_plain[(unsigned char)text[length]])
        length++;
    return length;
}

void escape_terminal(struct text *out, const char *string)
{
    const char *at = string, *end = string + strlen(string);
    while (at < end) {
        size_t plain = plain_length(at);
        text_add_bytes(out, at, plain);
        at += plain;
        if (at == end)
            break;
        uint32_t code;
        size_t length = scan_decode(at, (size_t)(end - at), &code);
        if (code == CODE_BAD || code < 0x20 || code == 0x7f || is_command(string, at))
            show_bytes(out, at, length);
        else if (is_hidden(code))
            text_print(out, "<U+%04X>", (unsigned)code);
        else
            text_add_bytes(out, at, length);
        at += length;
    }
}

static void add_json_code(struct text *out, uint32_t code)
{
    if (code < 0x10000) {
        text_print(out, "\\u%04x", (unsigned)code);
        return;
    }
    uint32_t past = code - 0x10000; /* RFC 8259, section 7: as a surrogate pair */
    text_print(out, "\\u%04x\\u%04x", (unsigned)(0xd800 + (past >> 10)),
               (unsigned)(0xdc00 + (past & 0x3ff)));
}

void escape_json(struct text *out, const char *json)
{
    const char *at = json, *end = json + strlen(json);
    while (at < end) {
        uint32_t code;
        size_t length = scan_decode(at, (size_t)(end - at), &code);
        if (code == 0x7f || is_hidden(code) || is_command(json, at))
            add_json_code(out, code);
        else
            text_add_bytes(out, at, length);
        at += length;
    }
}

void escape_bad_bytes(struct text *out, const char *string)
{
    const char *at = string, *end = string + strlen(string);
    while (at < end) {
        uint32_t code;
        size_t length = scan_decode(at, (size_t)(end - at), &code);
        if (code == CODE_BAD)
            show_bytes(out, at, length);
        else
            text_add_bytes(out, at, length);
        at += length;
    }
}

const char *path_start(const char *path)
{
    bool plain = path[0] == '/' || strncmp(path, "./", 2) == 0 || strncmp(path, "../", 3) == 0;
    return plain ? "" : "./";
}

void escape_path(struct text *out, const char *path)
{
    text_add(out, path_start(path));
    escape_terminal(out, path);
}
