/* failing.h - malloc and its kin over the C library's own, for a test binary in
 * which every allocation can be made to fail: it reaches the libraries too. Included
 * by one file of the binary. Under the sanitizers, which keep malloc for themselves,
 * it only defines SANITIZED. */
#ifndef RT_FAILING_H
#define RT_FAILING_H
#if defined(__has_feature)
#if __has_feature(address_sanitizer)
#define SANITIZED 1
#endif
#endif
#if defined(__SANITIZE_ADDRESS__)
#define SANITIZED 1
#endif

#ifndef SANITIZED
#include <errno.h>
#include <stdbool.h>
#include <stddef.h>

extern void *__libc_malloc(size_t size);
extern void *__libc_calloc(size_t count, size_t size);
extern void *__libc_realloc(void *old, size_t size);
extern void __libc_free(void *old);
void *malloc(size_t size);
void *calloc(size_t count, size_t size);
void *realloc(void *old, size_t size);
void free(void *old);

static struct {
    bool on;           /* counting, and failing */
    bool from_here_on; /* the one at `fails_at` and all after it, not that one alone */
    long fails_at;     /* from 0; negative: none */
    long made;         /* allocations asked for */
    long held;         /* blocks not given back */
} allocator = {.fails_at = -1};

static bool fails(void)
{
    if (!allocator.on)
        return false;
    long number = allocator.made++;
    bool fail = allocator.fails_at >= 0 && (allocator.from_here_on ? number >= allocator.fails_at
                                                                   : number == allocator.fails_at);
    if (fail)
        errno = ENOMEM;
    return fail;
}

static void *held(void *block)
{
    allocator.held += allocator.on && block;
    return block;
}

void *malloc(size_t size)
{
    return fails() ? NULL : held(__libc_malloc(size));
}

void *calloc(size_t count, size_t size)
{
    return fails() ? NULL : held(__libc_calloc(count, size));
}

void *realloc(void *old, size_t size)
{
    if (fails())
        return NULL;
    return old ? __libc_realloc(old, size) : held(__libc_realloc(NULL, size));
}

void free(void *old)
{
    allocator.held -= allocator.on && old;
    __libc_free(old);
}
#endif
#endif
