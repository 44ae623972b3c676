/* unit.c - the table of units: finding one by its writing, products and
 * quotients of them, and what a dimension is called. */
#include "quantity/inside.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define NEVER INFINITY
#define UNIT(name, scale, m, kg, s, a, k, rad, asked, shown, word, ...)                            \
    {{name, scale, 0.0, {{m, kg, s, a, k, rad}, false}, NULL},                                     \
     asked,                                                                                        \
     shown,                                                                                        \
     word,                                                                                         \
     {name, __VA_ARGS__}},
#define TEMPERATURE(name, scale, offset, m, kg, s, a, k, rad, asked, shown, word, ...)             \
    {{name, scale, offset, {{m, kg, s, a, k, rad}, true}, NULL},                                   \
     asked,                                                                                        \
     shown,                                                                                        \
     word,                                                                                         \
     {name, __VA_ARGS__}},
const struct unit_row unit_rows[] = {
#include "quantity/unit.def"
};
#undef UNIT
#undef TEMPERATURE
const size_t unit_row_count = sizeof unit_rows / sizeof *unit_rows;

static const struct unit bare = {.name = "", .scale = 1.0};

#define UNIT_ROOM 48 /* no unit that anybody writes is longer */
#define FACTORS 8
#define JOINED 8 /* longest run of units without anything between, as in W/m2K */

const struct unit *unit_row(size_t index)
{
    return index < unit_row_count ? &unit_rows[index].unit : NULL;
}

/* FNV-1a. */
static size_t slot_of(const char *writing, size_t slot_count)
{
    unsigned hash = 2166136261u;
    for (size_t i = 0; i < WRITING_ROOM && writing[i]; i++)
        hash = (hash ^ (unsigned char)writing[i]) * 16777619u;
    return (hash ^ hash >> 15) & (slot_count - 1);
}

void unit_fill_slots(short slots[UNIT_SLOTS])
{
    for (size_t i = 0; i < UNIT_SLOTS; i++)
        slots[i] = -1;
    for (size_t i = 0; i < unit_row_count; i++)
        for (size_t j = 0; j < WRITINGS && unit_rows[i].writings[j][0]; j++) {
            size_t slot = slot_of(unit_rows[i].writings[j], UNIT_SLOTS);
            while (slots[slot] >= 0)
                slot = (slot + 1) % UNIT_SLOTS;
            slots[slot] = (short)(i * WRITINGS + j);
        }
}
_Static_assert(WRITINGS *(sizeof unit_rows / sizeof *unit_rows) < UNIT_SLOTS,
               "a search ends at a slot that is free");

static bool is_written(const char key[WRITING_ROOM], size_t row, size_t writing)
{
    return memcmp(unit_rows[row].writings[writing], key, WRITING_ROOM) == 0;
}

static const struct unit *look_through(const char key[WRITING_ROOM])
{
    for (size_t i = 0; i < unit_row_count; i++)
        for (size_t j = 0; j < WRITINGS; j++)
            if (is_written(key, i, j))
                return &unit_rows[i].unit;
    return NULL;
}

static const struct unit *lookup(const char *name, size_t length)
{
    char key[WRITING_ROOM] = {0};
    if (length == 0 || length > sizeof key)
        return NULL;
    memcpy(key, name, length);
    if (!unit_slot_count)
        return look_through(key);
    size_t slot = slot_of(key, unit_slot_count);
    for (; unit_slots[slot] >= 0; slot = (slot + 1) & (unit_slot_count - 1)) {
        size_t number = (size_t)unit_slots[slot];
        if (is_written(key, number / WRITINGS, number % WRITINGS))
            return &unit_rows[number / WRITINGS].unit;
    }
    return NULL;
}

/* Signs and their plain writing. */
static const struct {
    const char *sign, *plain;
} signs[] = {
    {"\xc2\xb2", "2"},        /* raised 2 */
    {"\xc2\xb3", "3"},        /* raised 3 */
    {"\xc2\xb9", "1"},        /* raised 1 */
    {"\xe2\x81\xbb", "-"},    /* raised minus */
    {"\xc2\xb7", " "},        /* middle dot */
    {"\xe2\x8b\x85", " "},    /* dot operator */
    {"*", " "},               /* times */
    {"\xc2\xb5", "u"},        /* micro sign */
    {"\xce\xbc", "u"},        /* Greek mu */
    {"\xce\xa9", "ohm"},      /* Greek omega */
    {"\xe2\x84\xa6", "ohm"},  /* ohm sign */
    {"\xc2\xb0", "deg"},      /* degree sign */
    {"\xc2\xba", "deg"},      /* raised o, often taken for it */
    {"\xe2\x84\x83", "degC"}, /* degree Celsius in one sign */
    {"\xe2\x84\x89", "degF"}, /* degree Fahrenheit in one sign */
    {" per ", "/"},           /* kg/s per m2 */
};

/* The sign or blank at the start of text: its plain writing and its length. */
static const char *plain(const char *text, size_t length, size_t *taken)
{
    for (size_t i = 0; i < sizeof signs / sizeof *signs; i++) {
        size_t bytes = strlen(signs[i].sign);
        if (bytes <= length && memcmp(text, signs[i].sign, bytes) == 0) {
            *taken = bytes;
            return signs[i].plain;
        }
    }
    *taken = blank_length(text, length);
    return *taken > 0 ? " " : NULL;
}

static bool is_joint(char c)
{
    return c == ' ' || c == '/' || c == '(' || c == ')';
}

/* Puts one byte behind the others; of blanks only one, and none beside a stroke or bracket. */
static bool put(char out[UNIT_ROOM], size_t *length, char c)
{
    if (c == ' ' && (*length == 0 || is_joint(out[*length - 1])))
        return true;
    if (is_joint(c) && c != ' ' && *length > 0 && out[*length - 1] == ' ')
        --*length;
    if (*length + 1 >= UNIT_ROOM)
        return false;
    out[(*length)++] = c;
    return true;
}

/* Writes a unit plainly, NUL-terminated: no signs, single blanks. False when it is too long. */
static bool write_plainly(const char *text, size_t length, char out[UNIT_ROOM])
{
    size_t count = 0;
    while (length > 0) {
        size_t taken;
        const char *bytes = plain(text, length, &taken);
        if (!bytes) {
            taken = 1;
            if (!put(out, &count, *text))
                return false;
        }
        for (; bytes && *bytes; bytes++)
            if (!put(out, &count, *bytes))
                return false;
        text += taken;
        length -= taken;
    }
    while (count > 0 && out[count - 1] == ' ')
        count--;
    out[count] = '\0';
    return true;
}

/* A product being put together. A factor's name, its joint and its exponent take at most 16 bytes.
 */
struct product {
    struct unit unit;
    char name[FACTORS * 16 + 16]; /* as our table would write it */
    size_t length, factors;
    bool below; /* behind a stroke */
};

static void name_factor(struct product *product, const char *name, int exponent)
{
    bool first_below = product->below && !strchr(product->name, '/');
    const char *joint = first_below ? "/" : product->below || product->length == 0 ? "" : " ";
    char *end = product->name + product->length;
    size_t room = sizeof product->name - product->length;
    int length = exponent == 1 ? snprintf(end, room, "%s%s", joint, name)
                               : snprintf(end, room, "%s%s%d", joint, name, exponent);
    product->length += (size_t)length;
}

/* A temperature within a product is a difference: %/degC is %/K. */
static bool multiply_in(struct product *product, const struct unit *factor, int exponent)
{
    struct dimension dimension = factor->dimension;
    int sign = product->below ? -exponent : exponent;
    bool celsius = dimension.absolute && factor->offset == 0.0;
    dimension.absolute = false;
    if (product->factors == FACTORS || !isfinite(factor->scale) ||
        !dimension_power(dimension, sign, &dimension) ||
        !dimension_multiply(product->unit.dimension, dimension, &product->unit.dimension))
        return false;
    product->factors++;
    product->unit.scale *= pow(factor->scale, sign);
    name_factor(product, celsius ? "K" : factor->name, exponent);
    return true;
}

/* A unit with or without an exponent: m2, m^2, s-1. */
static bool take_factor(struct product *product, const char *text, size_t length)
{
    const struct unit *found = lookup(text, length);
    if (found)
        return multiply_in(product, found, 1);
    if (length < 2 || text[length - 1] < '1' || text[length - 1] > '9')
        return false;
    int exponent = text[--length] - '0';
    if (length > 1 && text[length - 1] == '-') {
        exponent = -exponent;
        length--;
    }
    if (length > 1 && text[length - 1] == '^')
        length--;
    found = lookup(text, length);
    return found && multiply_in(product, found, exponent);
}

/* Everything between two joints. Behind a stroke units may be joined: W/m2K. */
static bool take_run(struct product *product, const char *text, size_t length)
{
    if (length == 1 && text[0] == '1' && product->length == 0) {
        name_factor(product, "1", 1);
        return true;
    }
    if (take_factor(product, text, length))
        return true;
    if (!product->below || length > JOINED)
        return false;
    while (length > 0) {
        size_t part = length;
        while (part > 0 && !take_factor(product, text, part))
            part--;
        if (part == 0)
            return false;
        text += part;
        length -= part;
    }
    return true;
}

/* What may stand before the next run: nothing, a blank, a stroke, a stroke and a bracket. */
static bool take_joint(struct product *product, const char **at, bool *bracket)
{
    if (**at == ')') {
        if (!*bracket || ((*at)[1] != '/' && (*at)[1] != '\0'))
            return false;
        *bracket = false;
        ++*at;
    }
    if (**at == '/') {
        if (*bracket)
            return false;
        product->below = true;
        ++*at;
        *bracket = **at == '(';
        *at += *bracket;
        return **at != '\0' && !is_joint(**at);
    }
    if (**at == ' ')
        ++*at;
    return !is_joint(**at);
}

/* Whatever stands behind a stroke divides: W/m2 K is W/m2K. */
static bool compose(const char *text, struct product *product)
{
    bool bracket = false;
    *product = (struct product){.unit = bare};
    while (*text) {
        if (!take_joint(product, &text, &bracket))
            return false;
        size_t length = strcspn(text, " /()");
        if (length > 0 && !take_run(product, text, length))
            return false;
        text += length;
    }
    double scale = product->unit.scale;
    return !bracket && product->factors > 0 && isfinite(scale) && scale > 0.0;
}

/* The product's row in the table, when what our table would write is there and means the same. */
static const struct unit *product_row(const struct product *product)
{
    const struct unit *row = lookup(product->name, product->length);
    if (!row || !dimension_same(row->dimension, product->unit.dimension))
        return NULL;
    return fabs(row->scale / product->unit.scale - 1.0) < 1e-12 ? row : NULL;
}

static bool find_product(const char *text, struct unit *out)
{
    struct product product;
    if (!compose(text, &product))
        return false;
    const struct unit *row = product_row(&product);
    product.unit.name = NULL;
    *out = row ? *row : product.unit;
    return true;
}

bool unit_find(const char *name, size_t length, struct unit *out)
{
    char text[UNIT_ROOM];
    const struct unit *found = lookup(name, length);
    if (!found && !write_plainly(name, length, text))
        return false;
    if (!found && (text[0] == '\0' || strcmp(text, "1") == 0))
        found = &bare;
    if (!found)
        found = lookup(text, strlen(text));
    if (!found)
        return find_product(text, out);
    *out = *found;
    return true;
}

static const struct unit_row *coherent_row(struct dimension dimension)
{
    for (size_t i = 0; i < unit_row_count; i++)
        if (unit_rows[i].word && dimension_same(unit_rows[i].unit.dimension, dimension))
            return &unit_rows[i];
    return NULL;
}

const char *dimension_word(struct dimension dimension)
{
    if (dimension_same(dimension, dimension_none))
        return "plain number";
    const struct unit_row *row = coherent_row(dimension);
    return row ? row->word : NULL;
}

/* Adds bases of one sign as "kg m2". */
static size_t add_bases(struct dimension dimension, int sign, char spare[64], size_t length)
{
    static const struct {
        enum base base;
        const char *name;
    } bases[] = {{BASE_KG, "kg"}, {BASE_M, "m"}, {BASE_S, "s"},
                 {BASE_A, "A"},   {BASE_K, "K"}, {BASE_RAD, "rad"}};
    const char *blank = "";
    for (size_t i = 0; i < sizeof bases / sizeof *bases; i++) {
        int exponent = sign * dimension.exponent[bases[i].base];
        if (exponent <= 0)
            continue;
        int added = snprintf(spare + length, 64 - length, exponent == 1 ? "%s%s" : "%s%s%d", blank,
                             bases[i].name, exponent);
        length += (size_t)added;
        blank = " ";
    }
    return length;
}

const char *dimension_si(struct dimension dimension, char spare[64])
{
    const struct unit_row *row = coherent_row(dimension);
    if (row)
        return row->unit.name;
    size_t above = add_bases(dimension, 1, spare, 0);
    if (above == 0)
        spare[above++] = '1';
    spare[above] = '/';
    size_t length = add_bases(dimension, -1, spare, above + 1);
    if (length == above + 1)
        length--;
    spare[length] = '\0';
    return spare;
}

static size_t count_asked(struct dimension dimension)
{
    size_t count = 0;
    for (size_t i = 0; i < unit_row_count; i++)
        count += unit_rows[i].asked && dimension_same(unit_rows[i].unit.dimension, dimension);
    return count;
}

/* A list that knows how many names are still to come. */
struct hint {
    char *out;
    size_t size, length, left;
};

static void add_hint(struct hint *hint, const char *name)
{
    const char *joint = --hint->left > 1 ? ", " : hint->left == 1 ? " or " : "";
    if (hint->length >= hint->size)
        return;
    int added = snprintf(hint->out + hint->length, hint->size - hint->length, "%s%s", name, joint);
    hint->length += added > 0 ? (size_t)added : 0;
}

void dimension_units(struct dimension dimension, char *out, size_t size)
{
    char spare[64];
    bool none = dimension_same(dimension, dimension_none);
    size_t count = count_asked(dimension) + none;
    struct hint hint = {.out = out, .size = size, .left = count > 0 ? count : 1};
    if (size > 0)
        out[0] = '\0';
    if (none)
        add_hint(&hint, "a plain number");
    for (size_t i = 0; i < unit_row_count; i++)
        if (unit_rows[i].asked && dimension_same(unit_rows[i].unit.dimension, dimension))
            add_hint(&hint, unit_rows[i].unit.name);
    if (count == 0)
        add_hint(&hint, dimension_si(dimension, spare));
}
