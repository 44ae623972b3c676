/* names.c - names as a tree that forks at the first bit in which they differ. It
 * is never deeper than a name has bits, whatever names a file is made of; a hash
 * table can be made slow by chosen names. */
#include "base/names.h"

#include <stdint.h>
#include <string.h>

struct tree {
    const char *name; /* of a leaf; NULL: a fork */
    size_t number;    /* of a leaf; of a fork: the byte that it looks at */
    unsigned mask;    /* of a fork: the one bit that it looks at */
    struct tree *child[2];
};

struct names {
    struct tree *root; /* NULL: empty */
};

struct names *names_new(struct arena *arena)
{
    return ARENA_TAKE(arena, 1, struct names);
}

/* Which way a name goes at a fork; past its end all bits are 0. */
static int way(const struct tree *fork, const char *name, size_t length)
{
    unsigned byte = fork->number < length ? (unsigned char)name[fork->number] : 0;
    return (byte & fork->mask) != 0;
}

/* The only leaf that can be equal to the name. */
static const struct tree *nearest_leaf(const struct tree *tree, const char *name, size_t length)
{
    while (!tree->name)
        tree = tree->child[way(tree, name, length)];
    return tree;
}

bool names_find(const struct names *names, const char *name, size_t *number)
{
    if (!names->root)
        return false;
    const struct tree *leaf = nearest_leaf(names->root, name, strlen(name));
    if (strcmp(leaf->name, name) != 0)
        return false;
    *number = leaf->number;
    return true;
}

static struct tree *new_leaf(struct arena *arena, const char *name, size_t number)
{
    struct tree *leaf = ARENA_TAKE(arena, 1, struct tree);
    if (leaf)
        *leaf = (struct tree){.name = name, .number = number};
    return leaf;
}

static unsigned highest_bit(unsigned bits)
{
    unsigned bit = 0x80;
    while (!(bits & bit))
        bit >>= 1;
    return bit;
}

/* True when fork a is looked at before fork b. */
static bool before(const struct tree *a, const struct tree *b)
{
    return a->number < b->number || (a->number == b->number && a->mask > b->mask);
}

static bool insert(struct names *names, struct arena *arena, const char *name, size_t number,
                   const char *neighbour)
{
    struct tree *leaf = new_leaf(arena, name, number);
    struct tree *fork = ARENA_TAKE(arena, 1, struct tree);
    if (!leaf || !fork)
        return false;
    size_t byte = 0, length = strlen(name);
    while (name[byte] == neighbour[byte])
        byte++;
    fork->number = byte;
    fork->mask =
        highest_bit((unsigned)((unsigned char)name[byte] ^ (unsigned char)neighbour[byte]));

    struct tree **where = &names->root;
    while (!(*where)->name && before(*where, fork))
        where = &(*where)->child[way(*where, name, length)];
    int side = way(fork, name, length);
    fork->child[side] = leaf;
    fork->child[1 - side] = *where;
    *where = fork;
    return true;
}

bool names_add(struct names *names, struct arena *arena, const char *name, size_t number,
               size_t *was)
{
    if (was)
        *was = number;
    if (!names->root) {
        names->root = new_leaf(arena, name, number);
        return names->root != NULL;
    }
    const struct tree *leaf = nearest_leaf(names->root, name, strlen(name));
    if (strcmp(leaf->name, name) == 0) {
        if (was)
            *was = leaf->number;
        return true;
    }
    return insert(names, arena, name, number, leaf->name);
}

/* No word of ours is longer; what is longer has no near name. */
#define MOST_LETTERS 64

static uint32_t small_letter(unsigned char byte)
{
    return byte >= 'A' && byte <= 'Z' ? byte | 0x20u : byte;
}

/* The letters of a name, one number each; the bytes of one code point make one
 * letter. Returns how many, or MOST_LETTERS + 1 when there are more. */
static size_t spell(const char *name, uint32_t letters[MOST_LETTERS])
{
    size_t count = 0;
    for (; *name; name++) {
        unsigned char byte = (unsigned char)*name;
        if ((byte & 0xC0) == 0x80 && count > 0) {
            letters[count - 1] = letters[count - 1] << 8 | byte;
            continue;
        }
        if (count == MOST_LETTERS)
            return MOST_LETTERS + 1;
        letters[count++] = small_letter(byte);
    }
    return count;
}

static unsigned least(unsigned a, unsigned b)
{
    return a < b ? a : b;
}

/* How many letters must be put in, left out, replaced or swapped with their
 * neighbour (optimal string alignment). */
static unsigned distance(const uint32_t *a, size_t a_count, const uint32_t *b, size_t b_count)
{
    unsigned rows[3][MOST_LETTERS + 1];
    for (size_t j = 0; j <= b_count; j++)
        rows[0][j] = (unsigned)j;
    for (size_t i = 1; i <= a_count; i++) {
        unsigned *row = rows[i % 3];
        const unsigned *above = rows[(i + 2) % 3], *two_above = rows[(i + 1) % 3];
        row[0] = (unsigned)i;
        for (size_t j = 1; j <= b_count; j++) {
            row[j] = least(least(above[j], row[j - 1]) + 1, above[j - 1] + (a[i - 1] != b[j - 1]));
            if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1])
                row[j] = least(row[j], two_above[j - 2] + 1);
        }
    }
    return rows[a_count % 3][b_count];
}

void near_begin(struct near_search *search, const char *name)
{
    *search = (struct near_search){.name = name};
}

void near_offer(struct near_search *search, const char *candidate)
{
    uint32_t name[MOST_LETTERS], other[MOST_LETTERS];
    size_t count = spell(search->name, name), other_count = spell(candidate, other);
    if (count > MOST_LETTERS || other_count > MOST_LETTERS)
        return;
    size_t gap = count > other_count ? count - other_count : other_count - count;
    if (gap > count / 3)
        return;
    unsigned wrong = distance(name, count, other, other_count);
    if (wrong > count / 3 || (search->best && wrong >= search->best_distance))
        return;
    search->best = candidate;
    search->best_distance = wrong;
}

const char *near_best(const struct near_search *search)
{
    return search->best;
}
