/* arena.c - blocks of memory in a chain, the newest first; each allocation is a
 * step along the newest block. Under AddressSanitizer what is not handed out is
 * poisoned, and a gap stays between two allocations, so that an overrun shows. */
#include "base/arena.h"

#include <stdalign.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#if defined(__has_feature)
#if __has_feature(address_sanitizer)
#define POISONS 1
#endif
#endif
#if defined(__SANITIZE_ADDRESS__)
#define POISONS 1
#endif

#ifdef POISONS
#include <sanitizer/asan_interface.h>
#define poison(at, size) ASAN_POISON_MEMORY_REGION((at), (size))
#define unpoison(at, size) ASAN_UNPOISON_MEMORY_REGION((at), (size))
#else
#define poison(at, size) ((void)(at), (void)(size))
#define unpoison(at, size) ((void)(at), (void)(size))
#endif

#define ALIGNMENT alignof(max_align_t)
#ifdef POISONS
#define GAP ALIGNMENT
#else
#define GAP 0
#endif

#define FIRST_ROOM ((size_t)4096)
#define LARGEST_ROOM ((size_t)1 << 20)

struct block {
    struct block *older;
    size_t room, used;
    alignas(max_align_t) unsigned char bytes[];
};

struct arena {
    struct block *newest; /* NULL: nothing taken yet */
    size_t next_room;     /* of the next ordinary block, doubled each time */
    struct arena *inner;  /* the first of those that go with it, */
    struct arena *beside; /* and the next one within the same */
};

struct arena *arena_new(void)
{
    struct arena *arena = malloc(sizeof *arena);
    if (arena)
        *arena = (struct arena){.next_room = FIRST_ROOM};
    return arena;
}

struct arena *arena_within(struct arena *outer)
{
    struct arena *arena = arena_new();
    if (!arena)
        return NULL;
    arena->beside = outer->inner;
    outer->inner = arena;
    return arena;
}

static void drop_blocks(struct block *block)
{
    while (block) {
        struct block *older = block->older;
        unpoison(block->bytes, block->room);
        free(block);
        block = older;
    }
}

static void drop_inner(struct arena *arena)
{
    while (arena->inner) {
        struct arena *inner = arena->inner;
        arena->inner = inner->beside;
        arena_drop(inner);
    }
}

void arena_drop(struct arena *arena)
{
    if (!arena)
        return;
    drop_inner(arena);
    drop_blocks(arena->newest);
    free(arena);
}

void arena_clear(struct arena *arena)
{
    drop_inner(arena);
    struct block *kept = arena->newest;
    if (!kept)
        return;
    drop_blocks(kept->older);
    kept->older = NULL;
    kept->used = 0;
    poison(kept->bytes, kept->room);
}

static struct block *block_new(size_t room)
{
    if (room > PTRDIFF_MAX - sizeof(struct block))
        return NULL;
    struct block *block = malloc(sizeof *block + room);
    if (!block)
        return NULL;
    block->older = NULL;
    block->room = room;
    block->used = 0;
    poison(block->bytes, room);
    return block;
}

/* A large piece gets a block to itself, put behind the newest one, whose rest
 * then stays in use. */
static struct block *block_add(struct arena *arena, size_t size)
{
    struct block *newest = arena->newest;
    bool large = size > arena->next_room / 4;
    struct block *block = block_new(large ? size : arena->next_room);
    if (!block)
        return NULL;
    if (large && newest) {
        block->older = newest->older;
        newest->older = block;
        return block;
    }
    block->older = newest;
    arena->newest = block;
    if (!large && arena->next_room < LARGEST_ROOM)
        arena->next_room *= 2;
    return block;
}

void *arena_take_unset(struct arena *arena, size_t count, size_t size)
{
    if (size && count > (PTRDIFF_MAX - 2 * ALIGNMENT) / size)
        return NULL;
    size_t wanted = count * size;
    size_t step = (wanted + ALIGNMENT - 1) / ALIGNMENT * ALIGNMENT + GAP;
    if (step == 0)
        step = ALIGNMENT;
    struct block *block = arena->newest;
    if (!block || block->room - block->used < step)
        block = block_add(arena, step);
    if (!block)
        return NULL;
    void *taken = block->bytes + block->used;
    block->used += step;
    unpoison(taken, wanted);
    return taken;
}

void *arena_take(struct arena *arena, size_t count, size_t size)
{
    void *taken = arena_take_unset(arena, count, size);
    return taken ? memset(taken, 0, count * size) : NULL;
}

char *arena_copy(struct arena *arena, const char *bytes, size_t length)
{
    if (length >= PTRDIFF_MAX)
        return NULL;
    char *copy = arena_take_unset(arena, length + 1, 1);
    if (!copy)
        return NULL;
    if (length)
        memcpy(copy, bytes, length);
    copy[length] = '\0';
    return copy;
}

char *arena_string(struct arena *arena, const char *string)
{
    return arena_copy(arena, string, strlen(string));
}

char *arena_join(struct arena *arena, const char *first, const char *joint, const char *second)
{
    size_t a = strlen(first), b = strlen(joint), c = strlen(second);
    char *joined = arena_take_unset(arena, a + b + c + 1, 1);
    if (!joined)
        return NULL;
    memcpy(joined, first, a);
    memcpy(joined + a, joint, b);
    memcpy(joined + a + b, second, c + 1);
    return joined;
}

/* Most of what is printed is short: it is printed once, and copied. */
char *arena_vprint(struct arena *arena, const char *format, va_list arguments)
{
    char brief[256];
    va_list again;
    va_copy(again, arguments);
    int length = vsnprintf(brief, sizeof brief, format, again);
    va_end(again);
    if (length < 0)
        return NULL;
    if ((size_t)length < sizeof brief)
        return arena_copy(arena, brief, (size_t)length);
    char *printed = arena_take_unset(arena, (size_t)length + 1, 1);
    if (printed)
        vsnprintf(printed, (size_t)length + 1, format, arguments);
    return printed;
}

char *arena_print(struct arena *arena, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    char *printed = arena_vprint(arena, format, arguments);
    va_end(arguments);
    return printed;
}

bool arena_grow(struct arena *arena, void **at, size_t count, size_t *room, size_t size)
{
    if (count < *room)
        return true;
    if (*room > SIZE_MAX / 2)
        return false;
    size_t larger = *room ? *room * 2 : 8;
    void *moved = arena_take_unset(arena, larger, size);
    if (!moved)
        return false;
    if (count)
        memcpy(moved, *at, count * size);
    *at = moved;
    *room = larger;
    return true;
}
