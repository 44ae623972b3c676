/* quantity.c - arithmetic with dimensions. Values follow IEEE 754: a division by
 * zero is infinite; only dimensions make an operation refuse. */
#include "quantity/quantity.h"

#include <limits.h>
#include <math.h>

const struct dimension dimension_none = {{0}, false};

static bool same_exponents(struct dimension a, struct dimension b)
{
    for (int i = 0; i < BASE_COUNT; i++)
        if (a.exponent[i] != b.exponent[i])
            return false;
    return true;
}

bool dimension_same(struct dimension a, struct dimension b)
{
    return a.absolute == b.absolute && same_exponents(a, b);
}

bool dimension_add(struct dimension a, struct dimension b, struct dimension *out)
{
    if (!same_exponents(a, b) || (a.absolute && b.absolute))
        return false;
    a.absolute = a.absolute || b.absolute;
    *out = a;
    return true;
}

bool dimension_subtract(struct dimension a, struct dimension b, struct dimension *out)
{
    if (!same_exponents(a, b) || (b.absolute && !a.absolute))
        return false;
    a.absolute = a.absolute && !b.absolute;
    *out = a;
    return true;
}

/* a + sign * b in every exponent. */
static bool combine(struct dimension a, struct dimension b, int sign, struct dimension *out)
{
    if (a.absolute || b.absolute)
        return false;
    for (int i = 0; i < BASE_COUNT; i++) {
        int exponent = a.exponent[i] + sign * b.exponent[i];
        if (exponent < SCHAR_MIN || exponent > SCHAR_MAX)
            return false;
        a.exponent[i] = (signed char)exponent;
    }
    *out = a;
    return true;
}

bool dimension_multiply(struct dimension a, struct dimension b, struct dimension *out)
{
    return combine(a, b, 1, out);
}

bool dimension_divide(struct dimension a, struct dimension b, struct dimension *out)
{
    return combine(a, b, -1, out);
}

/* Every exponent must stay whole: the root of m2 is m, the root of m is nothing. */
bool dimension_power(struct dimension a, double exponent, struct dimension *out)
{
    if (a.absolute)
        return false;
    for (int i = 0; i < BASE_COUNT; i++) {
        if (a.exponent[i] == 0)
            continue;
        double raised = a.exponent[i] * exponent;
        double whole = round(raised);
        if (!(fabs(raised - whole) <= 1e-9) || whole < SCHAR_MIN || whole > SCHAR_MAX)
            return false;
        a.exponent[i] = (signed char)whole;
    }
    *out = a;
    return true;
}

bool quantity_add(struct quantity a, struct quantity b, struct quantity *out)
{
    if (!dimension_add(a.dimension, b.dimension, &out->dimension))
        return false;
    out->value = a.value + b.value;
    return true;
}

bool quantity_subtract(struct quantity a, struct quantity b, struct quantity *out)
{
    if (!dimension_subtract(a.dimension, b.dimension, &out->dimension))
        return false;
    out->value = a.value - b.value;
    return true;
}

bool quantity_multiply(struct quantity a, struct quantity b, struct quantity *out)
{
    if (!dimension_multiply(a.dimension, b.dimension, &out->dimension))
        return false;
    out->value = a.value * b.value;
    return true;
}

bool quantity_divide(struct quantity a, struct quantity b, struct quantity *out)
{
    if (!dimension_divide(a.dimension, b.dimension, &out->dimension))
        return false;
    out->value = a.value / b.value;
    return true;
}

bool quantity_power(struct quantity a, double exponent, struct quantity *out)
{
    if (!dimension_power(a.dimension, exponent, &out->dimension))
        return false;
    out->value = pow(a.value, exponent);
    return true;
}

struct quantity quantity_as_difference(struct quantity quantity, struct unit unit)
{
    if (quantity.dimension.absolute) {
        quantity.value -= unit.offset;
        quantity.dimension.absolute = false;
    }
    return quantity;
}
