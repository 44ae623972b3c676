/* escape_forms.c - untrusted strings for SARIF messages, URIs, HTML and Markdown: sinks
 * that make links, mentions or references of plain words. */
#include <string.h>
#include <strings.h>

#include "document/scan.h"
#include "report/page.h"

/* ---- SARIF ---- */

/* SARIF 2.1.0, 3.11.5: braces are doubled; 3.11.6: `[x](uri)` is a link unless its brackets have a
 * backslash, which itself needs one then. */
void escape_message(struct text *out, const char *string)
{
    for (; *string; string++) {
        if (strchr("[]\\", *string))
            text_add(out, "\\");
        else if (*string == '{' || *string == '}')
            text_add_bytes(out, string, 1);
        text_add_bytes(out, string, 1);
    }
}

/* RFC 3986, section 2.3 and the slash. A colon in the first segment would make it a scheme. */
void escape_uri(struct text *out, const char *path)
{
    static const char plain[] =
        "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-._~/";
    while (strncmp(path, "./", 2) == 0)
        path += 2;
    for (; *path; path++) {
        if (strchr(plain, *path))
            text_add_bytes(out, path, 1);
        else
            text_print(out, "%%%02X", (unsigned)(unsigned char)*path);
    }
}

/* ---- HTML ---- */

/* The five characters that can end a text or a quoted value: XML 1.0, 2.4; HTML, 13.1.2.3. */
void escape_html(struct text *out, const char *string)
{
    struct text shown = {0};
    escape_terminal(&shown, string);
    for (const char *at = shown.length ? shown.bytes : ""; *at;) {
        size_t plain = strcspn(at, "&<>\"'");
        text_add_bytes(out, at, plain);
        at += plain;
        if (*at)
            text_print(out, "&#%d;", *at++);
    }
    out->failed = out->failed || shown.failed;
    text_drop(&shown);
}

/* ---- Markdown ---- */

static bool is_letter(char c)
{
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z');
}

static bool is_digit(char c)
{
    return c >= '0' && c <= '9';
}

/* Seven or more hexadecimal digits, one of 0-9 among them: forges link them as commits. */
static bool looks_like_commit(const char *word, size_t length)
{
    size_t run = 0;
    bool digit = false;
    for (size_t i = 0; i <= length; i++) {
        bool hex = i < length && strchr("0123456789abcdefABCDEF", word[i]);
        if (hex) {
            digit = is_digit(word[i]) || digit;
            run++;
            continue;
        }
        if (run >= 7 && digit)
            return true;
        run = 0;
        digit = false;
    }
    return false;
}

/* `GH-12`, `ABC-12`: capitals, a hyphen, a number. Trackers link them. */
static bool looks_like_ticket(const char *word, size_t length)
{
    for (size_t i = 1; i + 1 < length; i++)
        if (word[i] == '-' && is_digit(word[i + 1]) && is_letter(word[i - 1]) && word[i - 1] < 'a')
            return true;
    return false;
}

static bool holds(const char *word, size_t length, const char *what)
{
    size_t size = strlen(what);
    for (size_t i = 0; i + size <= length; i++)
        if (strncasecmp(word + i, what, size) == 0)
            return true;
    return false;
}

/* Would Markdown, or the forge that shows it, make more of the word than its letters? */
static bool is_lively(const char *word, size_t length)
{
    static const char *const starts[] = {"//", "www.", "mailto:", "xmpp:", "::"};
    for (size_t i = 0; i < length; i++)
        if (strchr("@#!~&$^<>[]`\\|*_", word[i]) || (word[i] == '%' && i == 0))
            return true;
    for (size_t i = 0; i < sizeof starts / sizeof *starts; i++)
        if (holds(word, length, starts[i]))
            return true;
    return looks_like_commit(word, length) || looks_like_ticket(word, length);
}

/* As code, in which nothing is acted on: between more backticks than it holds in a row. */
static void add_span(struct text *out, const char *word, size_t length)
{
    size_t longest = 0, run = 0;
    for (size_t i = 0; i < length; i++) {
        run = word[i] == '`' ? run + 1 : 0;
        longest = run > longest ? run : longest;
    }
    for (size_t i = 0; i <= longest; i++)
        text_add(out, "`");
    text_add(out, longest ? " " : "");
    text_add_bytes(out, word, length);
    text_add(out, longest ? " " : "");
    for (size_t i = 0; i <= longest; i++)
        text_add(out, "`");
}

/* The word as code, without the quotes, brackets and stops about it. */
static void add_code(struct text *out, const char *word, size_t length)
{
    size_t begin = 0, end = length;
    while (begin < end && strchr("'\"(", word[begin]))
        begin++;
    while (end > begin && strchr("'\").,;:?", word[end - 1]))
        end--;
    text_add_bytes(out, word, begin);
    if (end > begin)
        add_span(out, word + begin, end - begin);
    text_add_bytes(out, word + end, length - end);
}

/* `1.` and `1)`, `+`, `-` and `=` mean something where a line begins. */
static void add_plain(struct text *out, const char *word, size_t length, bool first)
{
    size_t digits = 0;
    while (digits < length && is_digit(word[digits]))
        digits++;
    bool item = first && digits < length && strchr(digits ? ".)" : "+-=", word[digits]);
    text_add_bytes(out, word, digits);
    text_add(out, item ? "\\" : "");
    text_add_bytes(out, word + digits, length - digits);
}

void escape_markdown(struct text *out, const char *string)
{
    struct text shown = {0};
    escape_terminal(&shown, string);
    const char *at = shown.length ? shown.bytes : "";
    bool first = true;
    while (*at) {
        size_t blanks = strspn(at, " "), length = strcspn(at + blanks, " ");
        text_add(out, blanks && !first ? " " : "");
        at += blanks;
        if (is_lively(at, length))
            add_code(out, at, length);
        else
            add_plain(out, at, length, first);
        first = first && !length;
        at += length;
    }
    out->failed = out->failed || shown.failed;
    text_drop(&shown);
}
