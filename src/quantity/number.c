/* number.c - the one number grammar: sign, digits, a point with digits, an
 * exponent. No locale, no hexadecimal, no words, always finite. */
#include "quantity/inside.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* 767 digits settle how any decimal rounds to a double (IEEE 754 binary64); more
 * only count when one of them is not 0. */
#define DIGITS 770
#define EXPONENT_LIMIT 100000000L

static const char no_number[] = "does not begin with a number";
static const char not_finite[] = "is not a finite number";
static const char decimal_comma[] = "has a decimal comma; write a point";
static const char thousands[] = "has thousands set apart; leave nothing between them";
static const char either_comma[] =
    "has a comma; write a point before decimals and nothing between thousands";

struct scan {
    const char *at, *end;
    char digits[DIGITS + 16]; /* significant ones, then the exponent */
    size_t count;
    long exponent; /* of ten, for digits read as a whole number */
    bool rest;     /* a digit other than 0 was left out */
};

static bool is_digit(char c)
{
    return c >= '0' && c <= '9';
}

static bool digit_at(const char *text, size_t length, size_t at)
{
    return at < length && is_digit(text[at]);
}

static bool at_digit(const struct scan *scan)
{
    return scan->at < scan->end && is_digit(*scan->at);
}

static void take_digits(struct scan *scan, bool behind_point)
{
    for (; at_digit(scan); scan->at++) {
        if (scan->count == 0 && *scan->at == '0') {
            scan->exponent -= behind_point;
        } else if (scan->count < DIGITS) {
            scan->digits[scan->count++] = *scan->at;
            scan->exponent -= behind_point;
        } else {
            scan->rest |= *scan->at != '0';
            scan->exponent += !behind_point;
        }
    }
}

/* An e that no digit follows is not an exponent. */
static void take_exponent(struct scan *scan)
{
    const char *at = scan->at;
    if (at == scan->end || (*at != 'e' && *at != 'E'))
        return;
    at++;
    bool negative = at < scan->end && *at == '-';
    at += at < scan->end && (*at == '-' || *at == '+');
    if (at == scan->end || !is_digit(*at))
        return;
    long exponent = 0;
    for (; at < scan->end && is_digit(*at); at++)
        if (exponent < EXPONENT_LIMIT)
            exponent = exponent * 10 + (*at - '0');
    scan->exponent += negative ? -exponent : exponent;
    scan->at = at;
}

/* A whole number below 2^53 times or over a power of ten up to 10^22: both are exact, and so the
 * one rounding is the right one (Clinger, How to read floating point numbers accurately, 1990, from
 * memory). */
static bool is_short(const struct scan *scan)
{
    return scan->count <= 15 && scan->exponent >= -22 && scan->exponent <= 22;
}

static double short_value(const struct scan *scan)
{
    static const double tens[] = {1e0,  1e1,  1e2,  1e3,  1e4,  1e5,  1e6,  1e7,
                                  1e8,  1e9,  1e10, 1e11, 1e12, 1e13, 1e14, 1e15,
                                  1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22};
    double whole = 0.0;
    for (size_t i = 0; i < scan->count; i++)
        whole = whole * 10.0 + (scan->digits[i] - '0');
    return scan->exponent < 0 ? whole / tens[-scan->exponent] : whole * tens[scan->exponent];
}

/* Written as a whole number with an exponent there is no decimal point, and so
 * nothing that strtod would read by the locale. */
static double scan_value(struct scan *scan)
{
    if (scan->count == 0)
        return 0.0;
    if (is_short(scan))
        return short_value(scan);
    if (scan->rest)
        scan->digits[scan->count - 1] = '1'; /* anything but 0 breaks a tie the same way */
    snprintf(scan->digits + scan->count, 16, "e%ld", scan->exponent);
    return strtod(scan->digits, NULL);
}

static bool starts_with_word(const char *text, size_t length, const char *word)
{
    for (; *word; word++, text++, length--)
        if (length == 0 || (*text | 0x20) != *word)
            return false;
    return true;
}

static const char *why_no_number(const char *text, size_t length)
{
    if (length == 0)
        return "is empty";
    if (text[0] == '.' && digit_at(text, length, 1))
        return "has no digit before its point";
    if (starts_with_word(text, length, "inf") || starts_with_word(text, length, "nan"))
        return not_finite;
    return no_number;
}

static size_t sign_length(const char *text, size_t length)
{
    if (length >= 1 && (text[0] == '-' || text[0] == '+'))
        return 1;
    if (length >= 3 && memcmp(text, "\xe2\x88\x92", 3) == 0) /* U+2212, a printed minus */
        return 3;
    return 0;
}

bool number_scan(const char *text, size_t length, size_t *used, double *out, const char **why)
{
    struct scan scan; /* its digits are many, and seldom used */
    scan.at = text;
    scan.end = text + length;
    scan.count = 0;
    scan.exponent = 0;
    scan.rest = false;
    size_t sign = sign_length(text, length);
    scan.at += sign;
    if (!at_digit(&scan)) {
        *why = why_no_number(scan.at, length - sign);
        return false;
    }
    take_digits(&scan, false);
    if (scan.at + 1 < scan.end && scan.at[0] == '.' && is_digit(scan.at[1])) {
        scan.at++;
        take_digits(&scan, true);
    }
    take_exponent(&scan);
    double value = scan_value(&scan);
    if (!isfinite(value) || (value == 0.0 && scan.count > 0)) {
        *why = value == 0.0 ? "is too small a number" : "is too large a number";
        return false;
    }
    *out = sign > 0 && text[0] != '+' ? -value : value;
    *used = (size_t)(scan.at - text);
    return true;
}

static size_t digits_from(const char *text, size_t length, size_t at)
{
    size_t count = 0;
    while (digit_at(text, length, at + count))
        count++;
    return count;
}

/* "1,5" is a decimal comma, "1,000,000" and "1,000.5" are not; "1,000" may be either. */
static const char *why_comma(const char *text, size_t length, size_t used)
{
    size_t group = digits_from(text, length, used + 1);
    size_t next = used + 1 + group;
    if (memchr(text, '.', used) || group != 3)
        return decimal_comma;
    if (next < length && (text[next] == ',' || text[next] == '.') &&
        digit_at(text, length, next + 1))
        return thousands;
    return text[0] == '0' ? decimal_comma : either_comma;
}

static const char *why_point(const char *text, size_t length, size_t used)
{
    if (used + 1 < length && text[used + 1] == '.')
        return "is a range, where one figure is due";
    if (digit_at(text, length, used + 1))
        return "has more than one point";
    return "has no digit after its point";
}

/* The one unit with a digit in front is what divides 1: 1/K. */
static bool begins_unit(const char *text, size_t length, size_t at)
{
    return at + 2 < length && text[at] == '1' && text[at + 1] == '/' && !is_digit(text[at + 2]);
}

const char *number_rest(const char *text, size_t length, size_t used)
{
    if (used == length)
        return NULL;
    char next = text[used];
    bool digit_follows = digit_at(text, length, used + 1);
    if (next == ',' && digit_follows)
        return why_comma(text, length, used);
    if (next == '.')
        return why_point(text, length, used);
    if ((next == '\'' || next == '_') && digit_follows)
        return thousands;
    if (next == '/' && digit_follows)
        return "is a fraction; write it with a point";
    if (next == '-' && digit_follows)
        return "looks like a range; write .. between its ends";
    size_t blank = 0, step;
    while ((step = blank_length(text + used + blank, length - used - blank)) > 0)
        blank += step;
    if (blank == 0 || !digit_at(text, length, used + blank) ||
        begins_unit(text, length, used + blank))
        return NULL;
    return digits_from(text, length, used + blank) == 3 ? thousands : "is more than one number";
}

bool number_parse(const char *text, size_t length, double *out, const char **why)
{
    size_t used;
    double value;
    if (!number_scan(text, length, &used, &value, why))
        return false;
    if (used < length) {
        const char *rest = number_rest(text, length, used);
        *why = rest ? rest : "is not a number";
        return false;
    }
    *out = value;
    return true;
}
