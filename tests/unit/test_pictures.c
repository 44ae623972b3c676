/* test_pictures.c - the drawing of the circuits and the charts: well-formed, whole, the same each
 * time, true to the figures, and through any lack of memory. */
#include "rigs.h"

#include "failing.h"

#include "report/diagram.h"
#include "report/svg.h"

static const char head[] =
    "rigtally: 1\nname: \"T <b>&\\\"'\"\nsite: { latitude: 47 deg, air: -10 .. 30 degC, water: "
    "10 .. 30 degC, sun: 5 kWh/m2 }\nparts:\n";

/* A panel, a step-down and a pump that turns water through a coil; a spare valve on no run. */
static const char loop[] =
    "  roof: { is: panel, voc: 21.6 V, isc: 2.56 A, vmp: 17.2 V, imp: 2.33 A, azimuth: 180 deg, "
    "tilt: 40 deg }\n"
    "  f1: { is: fuse, rating: 5 A }\n"
    "  conv: { is: converter, type: step-down, input: 7 .. 40 V, output: 12 V, pass_through: yes, "
    "max_current: 3 A }\n"
    "  pump: { is: pump, voltage: 12 V, power: 8 W, max_head: 4 m, max_flow: 420 L/h, height: 0 m "
    "}\n"
    "  coil: { is: coil, area: 1.4 m2, bore: 10 mm, length: 18 m, material: copper, height: 1 m, "
    "azimuth: 180 deg, tilt: 40 deg }\n"
    "  drum: { is: tank, volume: 90 L, height: 0 m, level: 0.5 m, depth: 0.8 m }\n"
    "  spare-valve: { is: valve, action: hand, kv: 1 m3/h, spare: yes }\n"
    "cables:\n  - { from: roof, to: conv, area: 2.5 mm2, length: 5 m, through: [f1] }\n"
    "  - { from: conv, to: pump, area: 1.5 mm2, length: 5 m }\n"
    "pipes:\n  - { from: drum, to: pump, bore: 13 mm, length: 1 m, material: hdpe }\n"
    "  - { from: pump, to: coil, bore: 13 mm, length: 4 m, material: hdpe }\n"
    "  - { from: coil, to: drum, bore: 13 mm, length: 4 m, material: hdpe, ends: under-water }\n";

static struct rig *solve(struct bench *bench, const char *parts)
{
    size_t room = sizeof head + strlen(parts);
    char *text = arena_take(bench->arena, room, 1);
    assert_non_null(text);
    snprintf(text, room, "%s%s", head, parts);
    return bench_solve(bench, text);
}

/* ---- XML ---- */

/* Every tag closed by its like, every attribute quoted, every & an entity by number (XML 1.0,
 * sections 3.1 and 4.1). What stands there instead, or NULL. */
static const char *not_xml(const char *at)
{
    char open[16][16];
    size_t depth = 0;
    while (*at) {
        if (*at == '&') {
            size_t digits = strspn(at + 2, "0123456789");
            if (at[1] != '#' || !digits || at[2 + digits] != ';')
                return at;
        }
        if (*at++ != '<')
            continue;
        bool closes = *at == '/';
        at += closes;
        char name[16] = "";
        size_t length = strspn(at, "abcdefghijklmnopqrstuvwxyz");
        if (!length || length >= sizeof name)
            return at;
        memcpy(name, at, length);
        at += length;
        while (!closes && *at == ' ') {
            at += 1 + strspn(at + 1, "abcdefghijklmnopqrstuvwxyzBV0123456789-");
            if (strncmp(at, "=\"", 2) != 0)
                return at;
            at += 2 + strcspn(at + 2, "\"<&");
            if (*at++ != '"')
                return at;
        }
        bool empty = *at == '/';
        at += empty;
        if (*at++ != '>')
            return at;
        if (closes && (!depth || strcmp(open[--depth], name) != 0))
            return at;
        if (!closes && !empty) {
            if (depth == 16)
                return at;
            memcpy(open[depth++], name, sizeof name);
        }
    }
    return depth ? at : NULL;
}

static void what_is_not_xml_is_noticed(void **state)
{
    (void)state;
    static const char *const bad[] = {"<a>", "<a></b>", "a & b", "<a b=c/>", "<a b=\"<\"/>",
                                      "<a/", "</a>",    "<>",    "&amp",     "<a b=\"c/>"};
    assert_null(not_xml("<a b=\"c\"><d/>e &#38; f</a>\n"));
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++)
        if (!not_xml(bad[i]))
            fail_msg("taken for XML: %s", bad[i]);
}

static void assert_xml(const struct text *text)
{
    assert_false(text->failed);
    assert_true(text->length > 0);
    const char *at = not_xml(text->bytes);
    if (at)
        fail_msg("no XML from here on: %.60s", at);
}

static size_t count(const struct text *text, const char *what)
{
    size_t count = 0;
    for (const char *at = text->bytes; (at = strstr(at, what)); at++)
        count++;
    return count;
}

/* ---- The strokes ---- */

static void words_are_escaped(void **state)
{
    (void)state;
    static const struct {
        const char *raw, *shown;
    } rows[] = {
        {"plain 12 V", "plain 12 V"},
        {"<b>&\"'", "&#60;b&#62;&#38;&#34;&#39;"},
        {"\x1b[2J", "\\x1b[2J"},
        {"a\xe2\x80\xae"
         "b",
         "a&#60;U+202E&#62;b"},
        {"gr\xc3\xbcn", "gr\xc3\xbcn"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct text text = {0};
        svg_escape(&text, rows[i].raw);
        assert_string_equal(text.bytes, rows[i].shown);
        text_drop(&text);
    }
}

/* Adobe Font Metrics of Helvetica: W 944, i 222, blank 278 (from memory), a sixth added. */
static void words_have_a_width(void **state)
{
    (void)state;
    const struct svg_words ten = {.size = 10};
    assert_close(svg_width(&ten, "Wi "), 10.0 * (0.944 + 0.222 + 0.278) * 1.17, 1e-9);
    assert_true(svg_width(&ten, "\xc3\xbc") > 0.0);
    assert_true(svg_width(&ten, "\xff") > 0.0);
}

/* ---- The drawing ---- */

static void the_drawing_names_every_part_once(void **state)
{
    (void)state;
    static const char *const names[] = {"roof",      "f1",        "conv",        "pump",
                                        "coil",      "drum",      "spare-valve", "roof-conv",
                                        "conv-pump", "drum-pump", "pump-coil",   "coil-drum"};
    struct bench bench;
    bench_open(&bench);
    struct rig *rig = solve(&bench, loop);
    struct text text = {0};
    assert_true(diagram_draw(rig, &text));
    assert_xml(&text);
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        char word[64];
        snprintf(word, sizeof word, ">%s</text>", names[i]);
        assert_int_equal(count(&text, word), 1);
    }
    assert_int_equal(count(&text, "<svg "), 1);
    assert_int_equal(count(&text, "role=\"img\""), 1);
    assert_int_equal(count(&text, " id="), 0);
    assert_int_equal(count(&text, "<title>Circuits of T &#60;b&#62;&#38;&#34;&#39;</title>"), 1);
    text_drop(&text);
    bench_close(&bench);
}

/* What stands on it are the figures of the rig. */
static void the_drawing_tells_the_figures(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench);
    struct rig *rig = solve(&bench, loop);
    struct text text = {0}, words = {0};
    assert_true(diagram_draw(rig, &text));
    struct quantity flow = {figure(rig, "pump.flow", CONDITION_BRIGHT_NOON), {{0}, false}};
    struct unit unit;
    assert_true(unit_find("L/h", 3, &unit));
    flow.dimension = unit.dimension;
    text_add(&words, ">");
    quantity_print(&words, flow, &unit);
    text_add(&words, ", ");
    flow.value = figure(rig, "pump.head", CONDITION_BRIGHT_NOON);
    assert_true(unit_find("m", 1, &unit));
    flow.dimension = unit.dimension;
    quantity_print(&words, flow, &unit);
    text_add(&words, "</text>");
    assert_int_equal(count(&text, words.bytes), 1);
    text_drop(&text);
    text_drop(&words);
    bench_close(&bench);
}

static void the_drawing_is_the_same_each_time(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench);
    struct rig *rig = solve(&bench, loop);
    struct text one = {0}, two = {0};
    assert_true(diagram_draw(rig, &one));
    assert_true(diagram_draw(rig, &two));
    assert_string_equal(one.bytes, two.bytes);
    text_drop(&one);
    text_drop(&two);
    bench_close(&bench);
}

/* A row of so many tanks, each with a pipe to the next. */
static struct rig *row_of_tanks(struct bench *bench, size_t tanks)
{
    struct text text = {0};
    for (size_t i = 0; i < tanks; i++)
        text_print(&text, "  t%zu: { is: tank, volume: 90 L, height: 0 m, level: 0.5 m }\n", i);
    text_add(&text, tanks > 1 ? "pipes:\n" : "");
    for (size_t i = 1; i < tanks; i++)
        text_print(&text,
                   "  - { from: t%zu, to: t%zu, bore: 13 mm, length: 1 m, material: hdpe }\n",
                   i - 1, i);
    struct rig *rig = solve(bench, text.bytes);
    text_drop(&text);
    return rig;
}

static void a_drawing_has_an_end(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench);
    struct text text = {0};
    assert_true(diagram_draw(row_of_tanks(&bench, DIAGRAM_PARTS_MAX), &text));
    assert_int_equal(count(&text, "<svg "), 1);
    text_clear(&text);
    assert_true(diagram_draw(row_of_tanks(&bench, DIAGRAM_PARTS_MAX + 1), &text));
    assert_xml(&text);
    assert_int_equal(count(&text, "<svg "), 0);
    assert_int_equal(count(&text, "of 151 parts"), 1);
    text_drop(&text);
    bench_close(&bench);
}

/* ---- Memory ---- */

#ifdef SANITIZED
/* The sanitizers keep malloc for themselves. */
static void every_allocation_fails(void **state)
{
    (void)state;
    skip();
}
#else
typedef bool picture(const struct rig *rig, struct text *out);

static void fail_each(const char *name, picture *draw, const struct rig *rig, const char *also)
{
    struct text right = {0};
    allocator.on = true;
    allocator.from_here_on = false;
    allocator.fails_at = -1;
    allocator.made = allocator.held = 0;
    assert_true(draw(rig, &right));
    allocator.on = false;
    long made = allocator.made;
    assert_true(made > 5);
    for (long k = 0; k < 2 * made; k++) {
        struct text text = {0};
        allocator.on = true;
        allocator.from_here_on = k >= made;
        allocator.fails_at = k % made;
        allocator.made = allocator.held = 0;
        bool done = draw(rig, &text);
        bool whole = !text.failed && text.length &&
                     (strcmp(text.bytes, right.bytes) == 0 || (also && strstr(text.bytes, also)));
        text_drop(&text);
        allocator.on = false;
        if (done && !whole)
            fail_msg("%s: allocation %ld of %ld: another picture", name, k % made, made);
        if (allocator.held != 0)
            fail_msg("%s: allocation %ld of %ld: %ld blocks kept", name, k % made, made,
                     allocator.held);
    }
    print_message("%s: %ld allocations\n", name, made);
    text_drop(&right);
}

static void every_allocation_fails(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench);
    struct rig *rig = solve(&bench, loop);
    assert_int_equal(solve_later(rig), OUTCOME_OK);
    /* where only the child lacks memory, the drawing is left out */
    fail_each("drawing", diagram_draw, rig, "left-out");
    bench_close(&bench);
}
#endif

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_is_not_xml_is_noticed),
        cmocka_unit_test(words_are_escaped),
        cmocka_unit_test(words_have_a_width),
        cmocka_unit_test(the_drawing_names_every_part_once),
        cmocka_unit_test(the_drawing_tells_the_figures),
        cmocka_unit_test(the_drawing_is_the_same_each_time),
        cmocka_unit_test(a_drawing_has_an_end),
        cmocka_unit_test(every_allocation_fails),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
