/* test_base.c - arenas, growing text, diagnostics in order, names. */
#include <stdalign.h>

#include "check.h"

#include "base/arena.h"
#include "base/diagnostics.h"
#include "base/level.h"
#include "base/names.h"
#include "base/text.h"

#if defined(__has_feature)
#if __has_feature(address_sanitizer)
#define SANITIZED 1
#endif
#endif
#if defined(__SANITIZE_ADDRESS__)
#define SANITIZED 1
#endif

/* Makes allocation fail on demand, over glibc's own; AddressSanitizer brings an
 * allocator that can't be replaced, so there these tests are skipped. */
#ifndef SANITIZED
extern void *__libc_malloc(size_t size);
extern void *__libc_realloc(void *old, size_t size);
static bool out_of_memory;

void *malloc(size_t size)
{
    return out_of_memory ? NULL : __libc_malloc(size);
}

void *realloc(void *old, size_t size)
{
    return out_of_memory ? NULL : __libc_realloc(old, size);
}
#endif

static void an_arena_gives_zeroed_aligned_memory(void **state)
{
    (void)state;
    struct arena *arena = arena_new();
    assert_non_null(arena);
    for (int round = 0; round < 2; round++) {
        for (size_t size = 0; size < 3000; size += 7) {
            unsigned char *bytes = arena_take(arena, size, 1);
            assert_non_null(bytes);
            assert_int_equal((uintptr_t)bytes % alignof(max_align_t), 0);
            for (size_t i = 0; i < size; i++)
                assert_int_equal(bytes[i], 0);
            memset(bytes, 0xAA, size);
        }
        arena_clear(arena);
    }
    arena_drop(arena);
    arena_drop(NULL);
}

static void an_arena_keeps_pieces_apart(void **state)
{
    (void)state;
    struct arena *arena = arena_new();
    char *pieces[200];
    for (size_t i = 0; i < 200; i++) {
        pieces[i] =
            arena_take(arena, 1, i * 37 + 1); /* small ones and ones with a block of their own */
        memset(pieces[i], (int)i, i * 37 + 1);
    }
    for (size_t i = 0; i < 200; i++)
        for (size_t j = 0; j < i * 37 + 1; j++)
            assert_int_equal((unsigned char)pieces[i][j], i);
    arena_drop(arena);
}

/* The sanitizers tell when one that goes with another is kept or freed twice. */
static void an_arena_goes_with_the_one_around_it(void **state)
{
    (void)state;
    struct arena *outer = arena_new();
    for (int round = 0; round < 2; round++) {
        struct arena *inner[] = {arena_within(outer), arena_within(outer)};
        struct arena *innermost = arena_within(inner[1]);
        const char *names[] = {arena_string(inner[0], "pump"), arena_string(outer, "tank"),
                               arena_string(inner[1], "coil"), arena_string(innermost, "fuse")};
        assert_string_equal(names[0], "pump");
        assert_string_equal(names[1], "tank");
        assert_string_equal(names[2], "coil");
        assert_string_equal(names[3], "fuse");
        arena_clear(inner[1]);
        assert_string_equal(names[0], "pump");
        arena_clear(outer);
    }
    assert_non_null(arena_take(arena_within(outer), 1, 100000));
    arena_drop(outer);
}

static void an_arena_refuses_sizes_that_overflow(void **state)
{
    (void)state;
    struct arena *arena = arena_new();
    assert_null(arena_take(arena, SIZE_MAX / 2, 4));
    assert_null(arena_take(arena, 4, SIZE_MAX / 2));
    assert_null(arena_take(arena, SIZE_MAX, 1));
    assert_null(arena_take(arena, PTRDIFF_MAX, 1));
    assert_null(arena_copy(arena, "", SIZE_MAX));
    assert_non_null(arena_take(arena, 0, 0));
    assert_non_null(arena_take(arena, SIZE_MAX, 0));
    arena_drop(arena);
}

static void an_arena_copies_and_prints(void **state)
{
    (void)state;
    struct arena *arena = arena_new();
    assert_string_equal(arena_copy(arena, "abcdef", 3), "abc");
    assert_string_equal(arena_copy(arena, NULL, 0), "");
    assert_string_equal(arena_string(arena, "pump"), "pump");
    assert_string_equal(arena_print(arena, "%s takes %d V", "pump", 12), "pump takes 12 V");
    char *wide = arena_print(arena, "%9000d", 1);
    assert_int_equal(strlen(wide), 9000);
    arena_drop(arena);
}

static void an_array_grows(void **state)
{
    (void)state;
    struct arena *arena = arena_new();
    struct {
        size_t *at;
        size_t count, room;
    } list = {0};
    for (size_t i = 0; i < 5000; i++) {
        assert_true(ARENA_GROW(arena, &list));
        list.at[list.count++] = i;
    }
    for (size_t i = 0; i < 5000; i++)
        assert_int_equal(list.at[i], i);
    void *huge = NULL;
    size_t room = SIZE_MAX / 2 + 1;
    assert_false(arena_grow(arena, &huge, room, &room, 1));
    assert_int_equal(room, SIZE_MAX / 2 + 1);
    arena_drop(arena);
}

static void text_grows(void **state)
{
    (void)state;
    struct text text = {0};
    text_print(&text, "%s", "");
    assert_string_equal(text.bytes, "");
    size_t length = 0;
    for (int i = 0; i < 1000; i++) {
        text_add(&text, "ab");
        text_add_bytes(&text, "cde", 2);
        text_print(&text, "%03d", i);
        length += 7;
        assert_int_equal(text.length, length);
        assert_int_equal(strlen(text.bytes), length);
    }
    assert_memory_equal(text.bytes, "abcd000abcd001abcd002", 21);
    text_print(&text, "%5000s|", "x");
    assert_int_equal(text.length, length + 5001);
    assert_false(text.failed);
    size_t room = text.room;
    text_clear(&text);
    assert_int_equal(text.length, 0);
    assert_int_equal(text.room, room);
    assert_string_equal(text.bytes, "");
    text_drop(&text);
    assert_null(text.bytes);
}

static void numbers_are_written(void **state)
{
    (void)state;
    static const struct {
        unsigned long long number;
        int least_digits;
        const char *written;
    } rows[] = {
        {0, 1, "0"},
        {7, 1, "7"},
        {10, 1, "10"},
        {42, 5, "00042"},
        {123, 2, "123"},
        {18446744073709551615u, 1, "18446744073709551615"},
        {5, 99, "00000000000000000005"},
    };
    struct text text = {0};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        text_clear(&text);
        text_add_number(&text, rows[i].number, rows[i].least_digits);
        assert_string_equal(text.bytes, rows[i].written);
    }
    text_drop(&text);
}

static void running_out_of_memory_is_told(void **state)
{
    (void)state;
#ifdef SANITIZED
    print_message("skipped: AddressSanitizer brings its own allocator\n");
    skip();
#else
    struct arena *arena = arena_new();
    struct diagnostics diagnostics = {.arena = arena};
    struct text text = {0};
    struct names *names = names_new(arena);
    struct {
        char (*at)[512];
        size_t count, room;
    } list = {0};
    out_of_memory = true;
    bool no_arena = arena_new() == NULL;
    bool no_piece = arena_take(arena, 1, 1000000) == NULL;
    bool taken = true;
    while (taken)
        taken = arena_take(arena, 1, 8) != NULL;
    bool grown = ARENA_GROW(arena, &list);
    bool named = names_add(names, arena, "pump", 1, NULL);
    diagnostics_add(&diagnostics, LEVEL_ERROR, TOPIC_READS, (struct place){0}, "%s", "x");
    text_add(&text, "lost");
    out_of_memory = false;
    assert_true(no_arena && no_piece);
    assert_false(grown || named);
    assert_null(list.at);
    assert_true(diagnostics.out_of_memory);
    assert_int_equal(diagnostics.count, 0);
    text_add(&text, "after a failure nothing is added");
    text_print(&text, "%d", 1);
    assert_true(text.failed);
    assert_int_equal(text.length, 0);
    text_drop(&text);
    arena_drop(arena);
#endif
}

static void levels_have_names(void **state)
{
    (void)state;
    assert_string_equal(level_name(LEVEL_ERROR), "error");
    assert_string_equal(level_name(LEVEL_CAUTION), "caution");
    assert_string_equal(level_name(LEVEL_QUESTION), "question");
    assert_string_equal(level_name(LEVEL_REMINDER), "reminder");
}

static void diagnostics_come_in_file_order(void **state)
{
    (void)state;
    static const struct {
        struct place at;
        const char *message;
    } rows[] = {
        {{"b", 1, 1}, "6"}, {{"a", 9, 2}, "4"}, {{"a", 9, 2}, "5"},
        {{"a", 9, 1}, "3"}, {{"a", 2, 7}, "2"}, {{NULL, 0, 0}, "0"},
        {{"a", 0, 0}, "1"}, {{"b", 1, 1}, "7"}, {{"b", 1, 1}, "8"},
    };
    struct arena *arena = arena_new();
    struct diagnostics diagnostics = {.arena = arena};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        diagnostics_add(&diagnostics, LEVEL_CAUTION, TOPIC_UNITS, rows[i].at, "%s",
                        rows[i].message);
    diagnostics_sort(&diagnostics);
    for (size_t i = 0; i < diagnostics.count; i++)
        assert_int_equal(diagnostics.at[i].message[0], '0' + (int)i);
    assert_int_equal(diagnostics.count, 9);
    assert_true(diagnostics_has(&diagnostics, LEVEL_CAUTION));
    assert_false(diagnostics_has(&diagnostics, LEVEL_ERROR));
    diagnostics_add_pair(&diagnostics, LEVEL_ERROR, TOPIC_ONCE, (struct place){"a", 3, 1},
                         (struct place){"a", 2, 1}, "twice");
    assert_int_equal(diagnostics.at[9].also.line, 2);
    assert_true(diagnostics_has(&diagnostics, LEVEL_ERROR));
    arena_drop(arena);
}

static void many_diagnostics_keep_their_order_among_equals(void **state)
{
    (void)state;
    struct arena *arena = arena_new();
    struct diagnostics diagnostics = {.arena = arena};
    for (unsigned i = 0; i < 2000; i++)
        diagnostics_add(&diagnostics, LEVEL_ERROR, TOPIC_READS,
                        (struct place){"a", i * 7919 % 50 + 1, 1}, "%04u", i);
    diagnostics_sort(&diagnostics);
    for (size_t i = 1; i < diagnostics.count; i++) {
        const struct diagnostic *a = &diagnostics.at[i - 1], *b = &diagnostics.at[i];
        assert_true(a->at.line <= b->at.line);
        if (a->at.line == b->at.line)
            assert_true(strcmp(a->message, b->message) < 0);
    }
    arena_drop(arena);
}

static void names_are_found(void **state)
{
    (void)state;
    struct arena *arena = arena_new();
    struct names *names = names_new(arena);
    size_t number = 77, was = 77;
    assert_false(names_find(names, "pump", &number));
    for (size_t i = 0; i < 3000; i++) {
        const char *name = arena_print(arena, "%zx", i * 2654435761u % 100003);
        assert_true(names_add(names, arena, name, i, &was));
        assert_int_equal(was, i);
    }
    assert_true(names_add(names, arena, "", 5000, NULL));
    for (size_t i = 0; i < 3000; i++) {
        const char *name = arena_print(arena, "%zx", i * 2654435761u % 100003);
        assert_true(names_find(names, name, &number));
        assert_int_equal(number, i);
    }
    assert_true(names_find(names, "", &number));
    assert_int_equal(number, 5000);
    assert_false(names_find(names, "pump", &number));
    assert_true(names_add(names, arena, "", 6000, &was));
    assert_int_equal(was, 5000);
    arena_drop(arena);
}

/* Names of which each is the start of the next make the deepest tree. */
static void nested_names_are_found(void **state)
{
    (void)state;
    struct arena *arena = arena_new();
    struct names *names = names_new(arena);
    char name[257];
    memset(name, '\xff', 256);
    for (size_t length = 0; length <= 256; length++)
        assert_true(names_add(names, arena, arena_copy(arena, name, length), length, NULL));
    for (size_t length = 0; length <= 256; length++) {
        size_t number = 0;
        assert_true(names_find(names, arena_copy(arena, name, length), &number));
        assert_int_equal(number, length);
    }
    arena_drop(arena);
}

static void the_nearest_name_is_offered(void **state)
{
    (void)state;
    static const char *const words[] = {"voltage", "power", "max_head", "max_flow",
                                        "port",    "höhe",  "curve",    "kv"};
    static const struct {
        const char *name, *near;
    } rows[] = {
        {"volatge", "voltage"},  /* a swap counts as one */
        {"voltag", "voltage"},   /* left out */
        {"voltaage", "voltage"}, /* put in */
        {"valtege", "voltage"},  /* two of seven */
        {"valtegi", NULL},       /* three of seven: more than a third */
        {"Voltage", "voltage"},
        {"MAX_HEAD", "max_head"},
        {"max_heat", "max_head"},
        {"hohe", "höhe"},
        {"prot", "port"},
        {"cv", NULL},
        {"KV", "kv"},
        {"", NULL},
        {"zzz", NULL},
        {"max_h", NULL},
        {"max_fead", "max_head"}, /* a tie goes to the first */
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct near_search search;
        near_begin(&search, rows[i].name);
        for (size_t j = 0; j < sizeof words / sizeof *words; j++)
            near_offer(&search, words[j]);
        const char *near = near_best(&search);
        if (!near != !rows[i].near || (near && strcmp(near, rows[i].near) != 0)) {
            print_error("near %s: got %s\n", rows[i].name, near ? near : "none");
            fail();
        }
    }
}

static void a_very_long_name_has_no_near_one(void **state)
{
    (void)state;
    char name[66];
    memset(name, 'a', 65);
    name[65] = '\0';
    struct near_search search;
    near_begin(&search, name);
    near_offer(&search, name);
    assert_null(near_best(&search));
    near_begin(&search, name + 1); /* 64 letters */
    near_offer(&search, name);
    assert_null(near_best(&search));
    near_offer(&search, name + 2);
    assert_ptr_equal(near_best(&search), name + 2);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(an_arena_gives_zeroed_aligned_memory),
        cmocka_unit_test(an_arena_keeps_pieces_apart),
        cmocka_unit_test(an_arena_goes_with_the_one_around_it),
        cmocka_unit_test(an_arena_refuses_sizes_that_overflow),
        cmocka_unit_test(an_arena_copies_and_prints),
        cmocka_unit_test(an_array_grows),
        cmocka_unit_test(text_grows),
        cmocka_unit_test(numbers_are_written),
        cmocka_unit_test(running_out_of_memory_is_told),
        cmocka_unit_test(levels_have_names),
        cmocka_unit_test(diagnostics_come_in_file_order),
        cmocka_unit_test(many_diagnostics_keep_their_order_among_equals),
        cmocka_unit_test(names_are_found),
        cmocka_unit_test(nested_names_are_found),
        cmocka_unit_test(the_nearest_name_is_offered),
        cmocka_unit_test(a_very_long_name_has_no_near_one),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
