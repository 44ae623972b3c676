/* awg.c - American wire gauge: sizes that are no multiples of one another. */
#include "quantity/inside.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define PI 3.14159265358979323846
#define THICKEST (-3) /* 4/0 */
#define THINNEST 40

bool unit_is_awg(const struct unit *unit)
{
    return unit->name && strcmp(unit->name, "AWG") == 0;
}

/* Area in m2 of size n, where 0 is 1/0 and -3 is 4/0: ASTM B258 makes 36 AWG 0.005 in and 4/0 AWG
 * 0.46 in thick, with 38 sizes in between at one ratio, so d = 0.005 in * 92^((36 - n) / 39). */
static double area_of(int n)
{
    double diameter_m = 0.005 * 0.0254 * pow(92.0, (36 - n) / 39.0);
    return PI / 4.0 * diameter_m * diameter_m;
}

static bool is_digit(char c)
{
    return c >= '0' && c <= '9';
}

size_t awg_slash_length(const char *text, size_t length)
{
    if (length < 3 || text[0] < '1' || text[0] > '9' || text[1] != '/' || text[2] != '0')
        return 0;
    return length > 3 && is_digit(text[3]) ? 0 : 3;
}

static bool read_size(const char *text, size_t length, int *out)
{
    if (awg_slash_length(text, length) == length && length > 0) {
        *out = 1 - (text[0] - '0');
        return *out >= THICKEST;
    }
    size_t noughts = 0;
    while (noughts < length && text[noughts] == '0')
        noughts++;
    if (noughts == length && length >= 1 && length <= 4) {
        *out = 1 - (int)length;
        return true;
    }
    if (length < 1 || length > 2 || noughts > 0 || !is_digit(text[0]) ||
        !is_digit(text[length - 1]))
        return false;
    *out = length == 1 ? text[0] - '0' : (text[0] - '0') * 10 + text[1] - '0';
    return *out <= THINNEST;
}

bool awg_area(const char *text, size_t length, double *out)
{
    int size;
    if (!read_size(text, length, &size))
        return false;
    *out = area_of(size);
    return true;
}

const char *awg_name(double area_m2, char spare[8])
{
    for (int size = THICKEST; size <= THINNEST; size++) {
        if (!(fabs(area_m2 / area_of(size) - 1.0) < 1e-3))
            continue;
        if (size > 0)
            snprintf(spare, 8, "%d", size);
        else
            snprintf(spare, 8, "%d/0", 1 - size);
        return spare;
    }
    return NULL;
}
