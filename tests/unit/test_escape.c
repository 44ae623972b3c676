/* test_escape.c - hostile strings, sink by sink. What is dangerous is shown, nothing is lost. */
#include "check.h"

#include <jansson.h>

#include "report/report.h"

struct row {
    const char *raw, *shown;
};

/* The control functions are those of ECMA-48; bidirectional controls and characters without width,
 * of The Unicode Standard (Bidi_Control, Default_Ignorable_Code_Point). */
static const struct row terminal[] = {
    {"pump", "pump"},
    {"", ""},
    {"Pümpe 2.5 mm² 40 °C Ω 水", "Pümpe 2.5 mm² 40 °C Ω 水"},
    {"\x1b[2J\x1b]0;title\x07", "\\x1b[2J\\x1b]0;title\\x07"},
    {"a\nb\rc\td\b", "a\\x0ab\\x0dc\\x09d\\x08"},
    {"\x7f", "\\x7f"},
    {"\xc2\x9b"
     "31m",
     "<U+009B>31m"}, /* C1 control sequence introducer */
    {"\xc2\x85", "<U+0085>"},
    {"\x9b"
     "31m",
     "\\x9b31m"}, /* the same as a bare byte: no UTF-8 */
    {"\xff\xfe", "\\xff\\xfe"},
    {"\xc0\xaf", "\\xc0\\xaf"},          /* an overlong slash */
    {"\xed\xa0\x80", "\\xed\\xa0\\x80"}, /* half of a surrogate pair */
    {"\xe2\x82", "\\xe2\\x82"},          /* cut off */
    {"ab\xe2\x80\xaegnp", "ab<U+202E>gnp"},
    {"\xe2\x81\xa6x\xe2\x81\xa9", "<U+2066>x<U+2069>"},
    {"\xd8\x9c", "<U+061C>"},
    {"pu\xe2\x80\x8bmp", "pu<U+200B>mp"},
    {"\xef\xbb\xbfpump", "<U+FEFF>pump"},
    {"so\xc2\xad"
     "ft",
     "so<U+00AD>ft"},
    {"\xe2\x80\xa8", "<U+2028>"},
    {"\xf3\xa0\x81\x81", "<U+E0041>"}, /* a tag character */
    {"x\xef\xb8\x8f", "x<U+FE0F>"},
    {"::error file=a::b", ":\\x3aerror file=a:\\x3ab"},
    {" ::set-output", " :\\x3aset-output"},
    {":::", ":\\x3a\\x3a"},
    {"##[command]rm", "#\\x23[command]rm"},
    {"##vso[task.complete]", "#\\x23vso[task.complete]"},
    {"a: b # c", "a: b # c"},
    {"100 %s %n", "100 %s %n"},
};

static void terminal_shows_what_it_would_act_on(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof terminal / sizeof *terminal; i++) {
        struct text out = {0};
        text_add(&out, "");
        escape_terminal(&out, terminal[i].raw);
        assert_false(out.failed);
        assert_string_equal(out.bytes, terminal[i].shown);
        text_drop(&out);
    }
}

/* Whatever two bytes follow each other, nothing below a blank, no DEL, no bare C1 and no CI mark
 * comes out. */
static void no_two_bytes_get_through(void **state)
{
    (void)state;
    struct text out = {0};
    for (unsigned first = 1; first < 256; first++) {
        for (unsigned second = 1; second < 256; second++) {
            char raw[] = {(char)first, (char)second, '\0'};
            text_clear(&out);
            escape_terminal(&out, raw);
            for (size_t i = 0; i < out.length; i++)
                assert_true((unsigned char)out.bytes[i] >= 0x20 && out.bytes[i] != 0x7f);
            assert_null(strstr(out.bytes, "::"));
            assert_null(strstr(out.bytes, "##"));
            assert_false(out.length == 2 && (unsigned char)out.bytes[0] == 0xc2 &&
                         (unsigned char)out.bytes[1] < 0xa0);
            assert_false(out.length == 1); /* one of the two was lost */
        }
    }
    text_drop(&out);
}

static const struct row paths[] = {
    {"a.rig.yaml", "./a.rig.yaml"},
    {"./a.rig.yaml", "./a.rig.yaml"},
    {"../a.rig.yaml", "../a.rig.yaml"},
    {"/tmp/a.rig.yaml", "/tmp/a.rig.yaml"},
    {"::error::.rig.yaml", "./:\\x3aerror:\\x3a.rig.yaml"},
    {"-rf", "./-rf"},
    {"..", "./.."},
    {"\n##[x]", "./\\x0a#\\x23[x]"},
};

static void no_line_begins_with_a_strange_path(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof paths / sizeof *paths; i++) {
        struct text out = {0};
        escape_path(&out, paths[i].raw);
        assert_string_equal(out.bytes, paths[i].shown);
        text_drop(&out);
    }
}

static const struct row json[] = {
    {"\"pump\"", "\"pump\""},
    {"[1,2]", "[1,2]"},
    {"\"2.5 mm²\"", "\"2.5 mm²\""},
    {"\"\xe2\x80\xae\"", "\"\\u202e\""},
    {"\"\x7f\xc2\x9b\"", "\"\\u007f\\u009b\""},
    {"\"\xf3\xa0\x81\x81\"", "\"\\udb40\\udc41\""},
    {"\"::error::\"", "\":\\u003aerror:\\u003a\""},
    {"{\"##[\": 1}", "{\"#\\u0023[\": 1}"},
};

static void json_is_escaped_as_a_whole(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof json / sizeof *json; i++) {
        struct text out = {0};
        escape_json(&out, json[i].raw);
        assert_string_equal(out.bytes, json[i].shown);
        /* ... and reads back as what it was. */
        json_t *before = json_loads(json[i].raw, JSON_DECODE_ANY, NULL);
        json_t *after = json_loads(out.bytes, JSON_DECODE_ANY, NULL);
        assert_non_null(before);
        assert_true(json_equal(before, after));
        json_decref(before);
        json_decref(after);
        text_drop(&out);
    }
}

static void broken_utf8_becomes_readable_utf8(void **state)
{
    (void)state;
    struct text out = {0};
    escape_bad_bytes(&out, "a\xff\xc2\xb2\x1b");
    assert_string_equal(out.bytes, "a\\xff\xc2\xb2\x1b");
    text_drop(&out);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(terminal_shows_what_it_would_act_on),
        cmocka_unit_test(no_two_bytes_get_through),
        cmocka_unit_test(no_line_begins_with_a_strange_path),
        cmocka_unit_test(json_is_escaped_as_a_whole),
        cmocka_unit_test(broken_utf8_becomes_readable_utf8),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
