/* fingerprint.c - a 64-bit FNV-1a hash over what a finding is about. It tells
 * findings apart; it does not guard against somebody who seeks two that are alike:
 * whoever writes the rig can accept a finding in it as well. */
#include "judge/fingerprint.h"

#include <stdint.h>

#include "base/names.h"

/* Fowler, Noll and Vo: offset basis and prime of the 64-bit hash; from memory. */
#define BASIS UINT64_C(0xcbf29ce484222325)
#define PRIME UINT64_C(0x00000100000001b3)

/* With its NUL, so that "ab" "c" is not "a" "bc". NULL is not "". */
static uint64_t mix(uint64_t hash, const char *string)
{
    hash = (hash ^ (string ? 1u : 0u)) * PRIME;
    for (; string && *string; string++)
        hash = (hash ^ (unsigned char)*string) * PRIME;
    return hash * PRIME;
}

/* `number`: 0 for the first finding of its sort. A mistake in a file is about what its words say.
 */
static uint64_t hash_of(const struct finding *finding, size_t number)
{
    uint64_t hash = mix(BASIS, finding->rule);
    for (size_t i = 0; i < 2; i++)
        hash = mix(hash, i < finding->part_count ? finding->parts[i] : NULL);
    hash = mix(hash, finding->from ? finding->subject : finding->message);
    if (finding->is_thin) /* known as thin, it must not hide a failure */
        hash = mix(hash, "thin");
    return (hash ^ number) * PRIME;
}

/* In hexadecimal. */
static const char *print_hash(struct arena *arena, const struct finding *finding, size_t number)
{
    char digits[16];
    uint64_t hash = hash_of(finding, number);
    for (size_t i = sizeof digits; i-- > 0; hash >>= 4)
        digits[i] = "0123456789abcdef"[hash & 15u];
    return arena_copy(arena, digits, sizeof digits);
}

bool fingerprint_all(struct arena *arena, struct finding *findings, size_t count)
{
    struct names *firsts = names_new(arena);
    size_t *numbers = ARENA_TAKE(arena, count + 1, size_t); /* by the first of each sort */
    if (!firsts || !numbers)
        return false;
    for (size_t i = 0; i < count; i++) {
        size_t first;
        const char *fingerprint = print_hash(arena, &findings[i], 0);
        if (!fingerprint || !names_add(firsts, arena, fingerprint, i, &first))
            return false;
        if (first != i)
            fingerprint = print_hash(arena, &findings[i], ++numbers[first]);
        if (!fingerprint)
            return false;
        findings[i].fingerprint = fingerprint;
    }
    return true;
}
