/* arena.h - memory that is freed all at once by its owner. Everything read from
 * one file, or made while judging one rig, lives in one arena.
 * Every function that allocates returns NULL when memory runs out. */
#ifndef RT_ARENA_H
#define RT_ARENA_H
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>

struct arena;

struct arena *arena_new(void);
void arena_drop(struct arena *arena);  /* NULL is allowed */
void arena_clear(struct arena *arena); /* empty it, keep a block for the next use */

/* An arena that goes when `outer` is dropped or cleared, and never by itself. One thread may take
 * from it while another takes from `outer`. */
struct arena *arena_within(struct arena *outer);

/* Zeroed memory, aligned for any type; count * size is checked for overflow. */
void *arena_take(struct arena *arena, size_t count, size_t size);
#define ARENA_TAKE(arena, count, type) ((type *)arena_take((arena), (count), sizeof(type)))
/* The same with any bytes in it, for what is filled at once. */
void *arena_take_unset(struct arena *arena, size_t count, size_t size);
#define ARENA_TAKE_UNSET(arena, count, type)                                                       \
    ((type *)arena_take_unset((arena), (count), sizeof(type)))

char *arena_copy(struct arena *arena, const char *bytes, size_t length); /* ends with a NUL */
char *arena_string(struct arena *arena, const char *string);
char *arena_join(struct arena *arena, const char *first, const char *joint, const char *second);
char *arena_print(struct arena *arena, const char *format, ...)
    __attribute__((format(printf, 2, 3)));
char *arena_vprint(struct arena *arena, const char *format, va_list arguments);

/* An array that grows in an arena: doubles when full; old storage stays until
 * the arena goes; what lies past `count` is not set. False when memory runs out, the array
 * untouched. struct { T *at; size_t count, room; } list; if (!ARENA_GROW(arena, &list)) return
 * OUTCOME_NO_MEMORY; list.at[list.count++] = item; */
#define ARENA_GROW(arena, list)                                                                    \
    arena_grow((arena), (void **)&(list)->at, (list)->count, &(list)->room, sizeof *(list)->at)
bool arena_grow(struct arena *arena, void **at, size_t count, size_t *room, size_t size);
#endif
