/* lexer.c - cuts a formula into numbers, names, quoted words and signs. */
#include "formula/tree.h"

#include <stdio.h>
#include <string.h>

static bool is_digit(char c)
{
    return c >= '0' && c <= '9';
}

/* What people write in place of our signs. */
static const struct {
    const char *wrong, *right;
} foreign[] = {
    {"==", "="},      {"&&", "and"},    {"||", "or"},     {"<>", "!="},
    {"\u2264", "<="}, {"\u2265", ">="}, {"\u2260", "!="}, {"\u00d7", "*"},
    {"\u00f7", "/"},  {"\u2212", "-"},  {"\u2013", "-"},  {"**", "^"},
};

static const char *foreign_at(const char *at, const char **right)
{
    for (size_t i = 0; i < sizeof foreign / sizeof *foreign; i++) {
        if (*at == foreign[i].wrong[0] &&
            strncmp(at, foreign[i].wrong, strlen(foreign[i].wrong)) == 0) {
            *right = foreign[i].right;
            return foreign[i].wrong;
        }
    }
    return NULL;
}

static bool is_wide_space(const char *at) /* one that does not break the line */
{
    return (unsigned char)at[0] == 0xc2 && (unsigned char)at[1] == 0xa0;
}

static bool is_plain_letter(char c)
{
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || c == '_';
}

/* Letters of other scripts count as letters: ids may hold them. */
static bool is_letter(const char *at)
{
    const char *right;
    if ((unsigned char)*at < 0x80)
        return is_plain_letter(*at);
    return !is_wide_space(at) && !foreign_at(at, &right);
}

static bool is_space(const char *at)
{
    return *at == ' ' || *at == '\t' || *at == '\n' || *at == '\r';
}

/* Line and column, in code points, of a byte of the text. */
struct place compiler_place(const struct compiler *compiler, unsigned offset)
{
    struct place at = compiler->at;
    for (unsigned i = 0; i < offset && compiler->text[i]; i++) {
        if (compiler->text[i] == '\n') {
            at.line += at.line > 0;
            at.column = 1;
        } else if (((unsigned char)compiler->text[i] & 0xc0) != 0x80) {
            at.column++;
        }
    }
    return at;
}

void compiler_no_memory(struct compiler *compiler)
{
    compiler->failed = true;
    compiler->diagnostics->out_of_memory = true;
}

void compiler_refuse(struct compiler *compiler, unsigned offset, const char *format, ...)
{
    if (compiler->failed)
        return;
    compiler->failed = true;
    va_list arguments;
    va_start(arguments, format);
    char *message = arena_vprint(compiler->diagnostics->arena, format, arguments);
    va_end(arguments);
    if (!message)
        compiler->diagnostics->out_of_memory = true;
    else
        diagnostics_add(compiler->diagnostics, LEVEL_ERROR, TOPIC_FORMULA,
                        compiler_place(compiler, offset), "%s", message);
}

struct excerpt compiler_excerpt(const struct compiler *compiler, struct stretch at)
{
    struct excerpt out;
    size_t length = 0;
    const size_t most = sizeof out.text - 4; /* room for "..." */
    for (unsigned i = at.start; i < at.end; i++) {
        bool space = is_space(compiler->text + i);
        if (space && (length == 0 || out.text[length - 1] == ' '))
            continue;
        if (length == most) {
            while (length && ((unsigned char)out.text[length - 1] & 0xc0) == 0x80)
                length--; /* whole code points */
            if (length && (unsigned char)out.text[length - 1] >= 0xc0)
                length--;
            memcpy(out.text + length, "...", 3);
            length += 3;
            break;
        }
        out.text[length++] = space ? ' ' : compiler->text[i];
    }
    while (length && out.text[length - 1] == ' ')
        length--;
    out.text[length] = '\0';
    return out;
}

bool token_matches(const struct compiler *compiler, const char *wanted)
{
    const struct token *token = &compiler->token;
    if (token->kind != TOKEN_NAME && token->kind != TOKEN_SIGN)
        return false;
    size_t length = (size_t)(token->end - token->start);
    if (compiler->text[token->start] != wanted[0] || strlen(wanted) != length ||
        memcmp(compiler->text + token->start, wanted, length) != 0)
        return false;
    /* a name with a point behind it is a role, whatever it is called */
    const char *behind = compiler->text + token->end;
    return token->kind == TOKEN_SIGN || behind[0] != '.' || behind[1] == '.';
}

static unsigned short end_of_name(const char *text, unsigned short at)
{
    for (;; at++) {
        char c = text[at];
        if (is_plain_letter(c) || is_digit(c))
            continue;
        bool hyphen = c == '-' && (is_letter(text + at + 1) || is_digit(text[at + 1]));
        if (!hyphen && !is_letter(text + at))
            return at;
    }
}

static unsigned short end_of_number(const char *text, unsigned short at)
{
    while (is_digit(text[at]))
        at++;
    if (text[at] == '.' && is_digit(text[at + 1]))
        for (at++; is_digit(text[at]);)
            at++;
    if (text[at] == 'e' || text[at] == 'E') {
        unsigned short digits = (unsigned short)(at + 1);
        digits = (unsigned short)(digits + (text[digits] == '-' || text[digits] == '+'));
        if (is_digit(text[digits]))
            for (at = digits; is_digit(text[at]);)
                at++;
    }
    return at;
}

/* Words that may stand right behind a number and are no units. */
static bool is_keyword(const char *text, size_t length)
{
    static const char *const keywords[] = {"and", "or",   "not",  "is", "at",
                                           "in",  "then", "else", "if"};
    for (size_t i = 0; i < sizeof keywords / sizeof *keywords; i++)
        if (strlen(keywords[i]) == length && memcmp(keywords[i], text, length) == 0)
            return true;
    return false;
}

/* `in` behind a number is an inch, unless something to look in follows. */
static bool inch_follows(const char *text, unsigned short end)
{
    const char *at = text + end;
    while (is_space(at))
        at++;
    if (*at == '[' || *at == '(' || is_digit(*at) || *at == '\'' || *at == '"')
        return false;
    size_t length = (size_t)(end_of_name(at, 0));
    return length == 0 || is_keyword(at, length);
}

/* A unit from start to end; not when a point follows: 12 V/m.length divides by a part's length. */
static bool is_unit(const char *text, unsigned short start, unsigned short end)
{
    struct unit unit;
    bool role = text[end] == '.' && is_letter(text + end + 1);
    return !role && unit_find(text + start, (size_t)(end - start), &unit);
}

static unsigned short end_of_letters(const char *text, unsigned short at)
{
    while (is_letter(text + at) || is_digit(text[at]))
        at++;
    return at;
}

#define UNIT_PARTS 6

/* Where a unit that begins at `at` may end: behind each part of "kg/s per m2". */
static size_t unit_ends(const char *text, unsigned short at, unsigned short ends[UNIT_PARTS])
{
    size_t count = 0;
    while (count < UNIT_PARTS) {
        unsigned short end = text[at] == '%' ? (unsigned short)(at + 1) : end_of_letters(text, at);
        if (end == at || (count > 0 && is_keyword(text + at, (size_t)(end - at))))
            break;
        ends[count++] = end;
        bool joined = text[end] == '/' || text[end] == ' ';
        if (!joined || !is_letter(text + end + 1))
            break;
        at = (unsigned short)(end + 1);
    }
    return count;
}

unsigned short token_unit(const char *text, unsigned short from)
{
    unsigned short start = from;
    while (is_space(text + start))
        start++;
    unsigned short body = start; /* "1/h" and "/h" begin with a stroke */
    body = (unsigned short)(body + (text[body] == '1' && text[body + 1] == '/'));
    body = (unsigned short)(body + (text[body] == '/'));
    if ((text[body] != '%' && !is_letter(text + body)) || (body > start && start == from))
        return from;
    unsigned short ends[UNIT_PARTS];
    size_t count = unit_ends(text, body, ends);
    if (body == start && is_keyword(text + start, (size_t)(ends[0] - start)) &&
        (strncmp(text + start, "in", 2) != 0 || !inch_follows(text, ends[0])))
        return from;
    for (size_t i = count; i-- > 0;) /* the longest that is a unit */
        if (is_unit(text, start, ends[i]))
            return ends[i];
    return body == start ? ends[0] : from;
}

static bool take(struct compiler *compiler, enum token_kind kind, unsigned short start,
                 unsigned short end)
{
    compiler->token = (struct token){kind, start, end};
    return true;
}

/* A number with its unit. 1/0 AWG and the like are one number. */
static bool take_number(struct compiler *compiler, unsigned short at)
{
    const char *text = compiler->text;
    unsigned short end = end_of_number(text, at);
    if (text[end] == ',' && is_digit(text[end + 1])) {
        compiler_refuse(compiler, end,
                        "a comma stands inside a number; write a point for decimals, or a blank "
                        "after a comma that parts two numbers.");
        return false;
    }
    if (text[end] == '/' && text[end + 1] == '0') {
        unsigned short wide = token_unit(text, (unsigned short)(end + 2));
        if (wide >= 3 && memcmp(text + wide - 3, "AWG", 3) == 0)
            return take(compiler, TOKEN_NUMBER, at, wide);
    }
    return take(compiler, TOKEN_NUMBER, at, token_unit(text, end));
}

static bool take_quoted(struct compiler *compiler, unsigned short at)
{
    const char *close = strchr(compiler->text + at + 1, compiler->text[at]);
    if (!close) {
        compiler_refuse(compiler, at, "the quote that opens here is never closed.");
        return false;
    }
    return take(compiler, TOKEN_QUOTED, at, (unsigned short)(close + 1 - compiler->text));
}

/* Of a sign that begins here, where the text does not end; 0: none does. */
static unsigned short sign_length(const char *at)
{
    switch (*at) {
    case '<':
    case '>':
        return at[1] == '=' ? 2 : 1;
    case '!':
        return at[1] == '=' ? 2 : 0;
    case '.':
        return at[1] == '.' ? 2 : 1;
    default:
        return strchr("=+-*/^()[],:", *at) ? 1 : 0;
    }
}

bool token_next(struct compiler *compiler)
{
    const char *text = compiler->text;
    unsigned short at = compiler->token.end;
    if (compiler->failed)
        return false;
    for (;; at++) {
        if (is_wide_space(text + at))
            at++;
        else if (!is_space(text + at))
            break;
    }
    char c = text[at];
    if (!c)
        return take(compiler, TOKEN_END, at, at);
    if (is_digit(c))
        return take_number(compiler, at);
    const char *right = NULL, *wrong = is_plain_letter(c) ? NULL : foreign_at(text + at, &right);
    if (wrong) {
        compiler_refuse(compiler, at, "write %s in place of %s.", right, wrong);
        return false;
    }
    if (is_letter(text + at))
        return take(compiler, TOKEN_NAME, at, end_of_name(text, at));
    if (c == '"' || c == '\'')
        return take_quoted(compiler, at);
    unsigned short sign = sign_length(text + at);
    if (sign > 0)
        return take(compiler, TOKEN_SIGN, at, (unsigned short)(at + sign));
    if ((unsigned char)c < 0x20 || c == 0x7f)
        compiler_refuse(compiler, at, "a control character (byte %u) has no place in a formula.",
                        (unsigned)(unsigned char)c);
    else
        compiler_refuse(compiler, at, "'%c' has no place in a formula.", c);
    return false;
}
