/* test_document.c - the tree of a YAML file: what it holds and where, what is
 * refused, in which words, and that no input makes it slow or large. */
#include "check.h"

#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include "document/document.h"

#if defined(__has_feature)
#if __has_feature(address_sanitizer)
#define SANITIZED 1
#endif
#endif
#if defined(__SANITIZE_ADDRESS__)
#define SANITIZED 1
#endif

struct reading {
    struct arena *arena;
    struct diagnostics diagnostics;
    struct node *root;
    enum outcome outcome;
};

static void begin(struct reading *reading)
{
    *reading = (struct reading){.arena = arena_new()};
    assert_non_null(reading->arena);
    reading->diagnostics.arena = reading->arena;
}

static void read_bytes(struct reading *reading, const char *bytes, size_t length)
{
    begin(reading);
    reading->outcome =
        document_read(reading->arena, "t.yaml", bytes, length, &document_limits_default,
                      &reading->diagnostics, &reading->root);
    diagnostics_sort(&reading->diagnostics);
    if (reading->outcome == OUTCOME_OK)
        assert_non_null(reading->root);
    else
        assert_null(reading->root);
}

static void read_text(struct reading *reading, const char *text)
{
    read_bytes(reading, text, strlen(text));
}

static void end(struct reading *reading)
{
    arena_drop(reading->arena);
}

static void show(const struct reading *reading)
{
    for (size_t i = 0; i < reading->diagnostics.count; i++) {
        const struct diagnostic *d = &reading->diagnostics.at[i];
        print_error("  %u:%u (%u:%u) %s\n", d->at.line, d->at.column, d->also.line, d->also.column,
                    d->message);
    }
}

/* ---- the tree ---- */

/* A tree in one line: scalars as they are, 'quoted', - for empty, ! after what is damaged. */
static void draw(const struct node *node, char *out, size_t room)
{
    size_t used;
    if (node->type == NODE_SCALAR)
        snprintf(out, room, node->quoted ? "'%s'" : "%s", node->empty ? "-" : node->text);
    else
        snprintf(out, room, node->type == NODE_MAPPING ? "{" : "[");
    for (size_t i = 0; i < node->count; i++) {
        used = strlen(out);
        if (node->type == NODE_MAPPING)
            snprintf(out + used, room - used, "%s%s: ", i ? ", " : "", node->pairs[i].key);
        else
            snprintf(out + used, room - used, i ? ", " : "");
        used = strlen(out);
        draw(node->type == NODE_MAPPING ? node->pairs[i].value : node->items[i], out + used,
             room - used);
    }
    used = strlen(out);
    snprintf(out + used, room - used, "%s%s",
             node->type == NODE_MAPPING    ? "}"
             : node->type == NODE_SEQUENCE ? "]"
                                           : "",
             node->damaged ? "!" : "");
}

static const struct {
    const char *text, *tree;
} trees[] = {
    {"{}", "{}"},
    {"[]", "[]"},
    {"text", "text"},
    {"a: 1", "{a: 1}"},
    {"a: 1\r\nb: 2\r\n", "{a: 1, b: 2}"},
    {"a: 1\rb: 2\r", "{a: 1, b: 2}"},
    {"\xEF\xBB\xBF"
     "a: 1\n",
     "{a: 1}"},
    {"%YAML 1.2\n---\na: 1\n...\n# end\n...\n", "{a: 1}"},
    {"# first\n\n%YAML  1.1 # old\n---\na: 1\n", "{a: 1}"},
    {"a: [1, {b: 2}, []]\nc: {}\n", "{a: [1, {b: 2}, []], c: {}}"},
    {"- 1\n-\n  - 2\n  - 3\n", "[1, [2, 3]]"},
    {"[a: b, ? c : d]", "[{a: b}, {c: d}]"},
    /* absent, null, empty and quoted are four different things */
    {"a:\nb: ~\nc: null\nd: ''\ne: \"null\"\nf: '~'\n",
     "{a: -, b: -, c: -, d: '', e: 'null', f: '~'}"},
    {"a: 010\nb: 24V\nc: yes\nd: 1.5\n", "{a: 010, b: 24V, c: yes, d: 1.5}"},
    {"a: >\n  x\n  y\nb: |-\n  z\n", "{a: 'x y\n', b: 'z'}"},
    {"\"\\x41\\u00b2\\U0001F4A7\": \"t\\tab\"\n", "{A\xC2\xB2\xF0\x9F\x92\xA7: 't\tab'}"},
    {"'<<': 1\n'': 2\n", "{<<: 1, : 2}"},
    {"a:\tx\t# blank\n", "{a: x}"},
    {"a: x\n  -y\n  -\n", "{a: x -y -}"},
    {"a: {url: http://x.y, t: 12:30}\n", "{a: {url: http://x.y, t: 12:30}}"},
    /* after a fault the rest is still there, or what was read until then */
    {"a: &x 1\nb: *x\nc: !!str 3\n", "{a: 1, b: -!, c: 3}"},
    {"&a [*a]\n", "[-!]"},
    {"<<: {a: 1}\nb: 2\n", "{b: 2}!"},
    {"? [a, b]\n: 1\n{c: 1}: 2\nd: 3\n", "{d: 3}!"},
    {"a: 1\nb: 2\na: 3\nb: {c: 1}\n", "{a: 1, b: 2}"},
    {"a: {volts:12 V, b: 1}\n", "{a: {b: 1}!}"},
    {"a: 1\nb: [2, {c: 3, d", "{a: 1, b: [2, {c: 3, d: -!}!]!}!"},
    {"a: 1\nb: \"x", "{a: 1, b: -!}!"},
    {"pump: 12\n  volts: 12 V\n", "{pump: 12 volts!}!"},
    {"a: 1\n---\nb: 2\n", "{a: 1}!"},
    {"a: \"x\\ey\"\n\"k\\0\": 1", "{a: 'x\xEF\xBF\xBDy'!, k\xEF\xBF\xBD: 1}!"},
    {"a: x\x1b[31m\nb: 2\n", "{a: x\xEF\xBF\xBD[31m, b: 2}"},
};

static void tree_of_each_text(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof trees / sizeof *trees; i++) {
        struct reading reading;
        char drawn[500] = "";
        read_text(&reading, trees[i].text);
        if (reading.root)
            draw(reading.root, drawn, sizeof drawn);
        else
            show(&reading);
        assert_string_equal(drawn, trees[i].tree);
        end(&reading);
    }
}

static void places_count_code_points_from_1(void **state)
{
    (void)state;
    struct reading reading;
    read_text(&reading, "\xEF\xBB\xBF"
                        "n: \xC3\xA9\xE2\x82\xAC\xF0\x9F\x92\xA7\r\n"
                        "list: ['\xC3\xA9', x]\r\n"
                        "\r\n"
                        "m:\r\n  \xC3\xA9k: v\r\n");
    assert_int_equal(reading.outcome, OUTCOME_OK);
    assert_int_equal(reading.diagnostics.count, 0);
    const struct node_pair *list = node_find(reading.root, "list");
    assert_non_null(list);
    assert_string_equal(list->key_at.file, "t.yaml");
    assert_int_equal(list->key_at.line, 2);
    assert_int_equal(list->key_at.column, 1);
    assert_int_equal(list->value->at.column, 7);
    assert_int_equal(list->value->items[1]->at.line, 2);
    assert_int_equal(list->value->items[1]->at.column, 13);
    const struct node *m = node_find(reading.root, "m")->value;
    assert_int_equal(m->at.line, 5);
    assert_int_equal(m->at.column, 3);
    assert_int_equal(m->pairs[0].value->at.column, 7);
    assert_null(node_find(reading.root, "lis"));
    assert_null(node_find(list->value, "list"));
    end(&reading);
}

static void tree_outlives_the_bytes(void **state)
{
    (void)state;
    struct reading reading;
    char bytes[] = "key: {a: text}";
    char name[] = "t.yaml";
    begin(&reading);
    reading.outcome = document_read(reading.arena, name, bytes, strlen(bytes),
                                    &document_limits_default, &reading.diagnostics, &reading.root);
    memset(bytes, 'x', sizeof bytes);
    memset(name, 'x', sizeof name);
    assert_int_equal(reading.outcome, OUTCOME_OK);
    const struct node_pair *pair = node_find(reading.root, "key");
    assert_non_null(pair);
    assert_string_equal(pair->key_at.file, "t.yaml");
    assert_string_equal(pair->value->pairs[0].value->text, "text");
    end(&reading);
}

/* ---- what is refused ---- */

static const struct {
    const char *text;
    unsigned line, column, also_line, also_column;
    const char *message;
} faults[] = {
    /* characters */
    {"a: b\nc: \x01", 2, 4, 0, 0, "the control character U+0001 stands here; delete it."},
    {"a: \x1b[31mred", 1, 4, 0, 0, "the control character U+001B stands here; delete it."},
    {"a\x1b]0;x\x07: 1", 1, 2, 0, 0, "the control character U+001B stands here; delete it."},
    {"a: \x7f", 1, 4, 0, 0, "the control character U+007F stands here; delete it."},
    {"\xC3\xA9: \xC2\x9B", 1, 4, 0, 0, "the control character U+009B stands here; delete it."},
    {"# \xC2\x85", 1, 3, 0, 0,
     "U+0085 ends a line for some programs and not for others; put a plain line end here."},
    {"a: 1\xE2\x80\xA8"
     "b: 2",
     1, 5, 0, 0,
     "U+2028 ends a line for some programs and not for others; put a plain line end here."},
    {"a: 1\xE2\x80\xA9", 1, 5, 0, 0,
     "U+2029 ends a line for some programs and not for others; put a plain line end here."},
    {"a: 1\r\n\xEF\xBB\xBF"
     "b: 2",
     2, 1, 0, 0, "a byte-order mark, U+FEFF, may stand only at the very start; delete it."},
    {"\xEF\xBB\xBF\xEF\xBB\xBF"
     "b: 2",
     1, 1, 0, 0, "a byte-order mark, U+FEFF, may stand only at the very start; delete it."},
    {"a: \xEF\xBF\xBE", 1, 4, 0, 0, "U+FFFE is no character; delete it."},
    /* bytes that are not UTF-8: The Unicode Standard, table 3-7 */
    {"a: \x80", 1, 4, 0, 0, "the byte 0x80 is not UTF-8 here; save the file as UTF-8."},
    {"a: caf\xE9 x", 1, 7, 0, 0, "the byte 0xE9 is not UTF-8 here; save the file as UTF-8."},
    {"a: \xC3", 1, 4, 0, 0, "the byte 0xC3 is not UTF-8 here; save the file as UTF-8."},
    {"a: \xE2\x82", 1, 4, 0, 0, "the byte 0xE2 is not UTF-8 here; save the file as UTF-8."},
    {"a: \xF4\x90\x80", 1, 4, 0, 0, "the byte 0xF4 is not UTF-8 here; save the file as UTF-8."},
    {"a: \xFE", 1, 4, 0, 0, "the byte 0xFE is not UTF-8 here; save the file as UTF-8."},
    {"\xFF\xFE"
     "a:",
     1, 1, 0, 0, "the file is in UTF-16; save it as UTF-8."},
    {"\xFE\xFF", 1, 1, 0, 0, "the file is in UTF-16; save it as UTF-8."},
    /* escapes */
    {"a: \"\xC3\xA9\\\r\n  x \\e[31m\"", 2, 5, 0, 0,
     "the escape \\e stands for a character that no text may hold; leave it out."},
    {"a: {\"k\\x9b\": 1}", 1, 7, 0, 0,
     "the escape \\x9b stands for a character that no text may hold; leave it out."},
    {"a: \"\\0\"", 1, 5, 0, 0,
     "the escape \\0 stands for a character that no text may hold; leave it out."},
    {"a: \"\\\\\\U0000FEFF\"", 1, 7, 0, 0,
     "the escape \\U0000FEFF stands for a character that no text may hold; leave it out."},
    {"a: \"x\\L\"", 1, 6, 0, 0,
     "the escape \\L stands for a character that no text may hold; leave it out."},
    {"a: \"\xC3\xA9\\q\"", 1, 6, 0, 0,
     "\\q stands for nothing in double quotes; write \\\\ for a backslash, or use single quotes. "
     "Reading stopped here."},
    {"a: \"\\xZZ\"", 1, 5, 0, 0,
     "\\x takes the number of a character in hexadecimal: \\x two digits, \\u four, \\U eight. "
     "Reading stopped here."},
    {"a: \"\\uD800\"", 1, 5, 0, 0,
     "\\u takes the number of a character in hexadecimal: \\x two digits, \\u four, \\U eight. "
     "Reading stopped here."},
    /* directives and documents */
    {"%YAML 1.3\n---\na: 1\n", 1, 1, 0, 0,
     "a line that begins with % is not used here, but for '%YAML 1.2' or '%YAML 1.1' at the "
     "start; delete it."},
    {"# c\n%TAG ! tag:x\n---\na: 1\n", 2, 1, 0, 0,
     "a line that begins with % is not used here, but for '%YAML 1.2' or '%YAML 1.1' at the "
     "start; delete it."},
    {"%YAML 1.1\n%YAML 1.2\n---\na: 1\n", 2, 1, 1, 1,
     "%YAML stands here for the second time; delete this line."},
    {"%YAML 1.2\na: 1\n", 2, 1, 0, 0,
     "the line '---' is missing between %YAML and what it is for. Reading stopped here."},
    {"a: [\n%FOO\n]\n", 2, 1, 0, 0,
     "a line can't begin with '%' here; put the text in quotes. Reading stopped here."},
    {"a: 1\n...\n%TAG ! x\n", 3, 1, 0, 0,
     "a line can't begin with '%' here. Reading stopped here."},
    {"", 1, 1, 0, 0, "nothing stands in this file but blanks and comments."},
    {"# x\n\n", 1, 1, 0, 0, "nothing stands in this file but blanks and comments."},
    {"---\n...\n", 1, 1, 0, 0, "nothing stands in this file but blanks and comments."},
    {"~", 1, 1, 0, 0, "nothing stands in this file but blanks and comments."},
    {"a: 1\n--- \nb: 2\n", 2, 1, 0, 0,
     "a second document begins here; keep one in a file. Reading stopped here."},
    {"  a: 1\nb: 2\n", 2, 1, 0, 0,
     "'b:' does not belong to what stands above it, which is complete; see how both are indented. "
     "Reading stopped here."},
    {"{a: 1}\n}\n", 2, 1, 0, 0, "this } closes nothing that is open here. Reading stopped here."},
    /* what a parts list never needs */
    {"a: &x 1", 1, 4, 0, 0, "an anchor (&) has no use here; delete it, or put the text in quotes."},
    {"a: *x", 1, 4, 0, 0,
     "an alias (*) has no use here; write the value out, or put the text in quotes."},
    {"*x : 1\nb: 2", 1, 1, 0, 0,
     "an alias (*) has no use here; write the value out, or put the text in quotes."},
    {"a: !!str x", 1, 4, 0, 0, "a tag (!) has no use here; delete it, or put the text in quotes."},
    {"a: ! x", 1, 4, 0, 0, "a tag (!) has no use here; delete it, or put the text in quotes."},
    {"a: !x {b: 1}", 1, 4, 0, 0,
     "a tag (!) has no use here; delete it, or put the text in quotes."},
    {"a: !<foo 1\n", 1, 4, 0, 0,
     "a text that begins with '!' must stand in quotes. Reading stopped here."},
    {"a: !foo!x 3\n", 1, 4, 0, 0,
     "a text that begins with '!' must stand in quotes. Reading stopped here."},
    {"a: *important*\n", 1, 4, 0, 0,
     "a text that begins with '*' must stand in quotes. Reading stopped here."},
    {"a: 1\n<<: {b: 2}", 2, 1, 0, 0, "'<<' merges nothing here; write the keys out."},
    {"{a: 1}: 2\nb: 1", 1, 1, 0, 0, "a key must be one word or text, not a list or a mapping."},
    {"? [a]\n: 2\n", 1, 3, 0, 0, "a key must be one word or text, not a list or a mapping."},
    {"{a: 1, : 2}", 1, 8, 0, 0, "a key is missing before this ':'. Reading stopped here."},
    {"? a\n?\n", 2, 2, 0, 0, "a key is missing here."},
    {"a: {b: 1, c: 2, b: 3}", 1, 17, 1, 5,
     "'b' stands here for the second time; keep one of the two."},
    {"a: 1\n'a': 2\n", 2, 1, 1, 1, "'a' stands here for the second time; keep one of the two."},
    /* quotes and brackets: where they open */
    {"a: 1\nb: \"x\nc: 2\n", 2, 4, 0, 0,
     "this quote is never closed; put another \" where the text ends. Reading stopped here."},
    {"a: 'x\n---\n'", 1, 4, 2, 1,
     "this quote is never closed before the document ends; put another ' where the text ends. "
     "Reading stopped here."},
    {"a: [1, 2\nb: 3\n", 1, 4, 2, 2,
     "this [ is still open at line 2; put a ] where it ends, or a comma between its entries. "
     "Reading stopped here."},
    {"pump: {is: pump, v: 12 V\n  panel: {use: x}\n", 1, 7, 2, 8,
     "this { is still open at line 2; put a } where it ends, or a comma between its entries. "
     "Reading stopped here."},
    {"a: {b: [1, 2]\n", 1, 4, 0, 0,
     "this { is never closed; put a } where it ends. Reading stopped here."},
    {"a: {b: [1, 2],\n", 1, 4, 0, 0,
     "this { is never closed; put a } where it ends. Reading stopped here."},
    {"d: [\n", 1, 4, 0, 0, "this [ is never closed; put a ] where it ends. Reading stopped here."},
    {"a: [1}\n", 1, 6, 1, 4, "this } closes a [; put a ] here. Reading stopped here."},
    {"a: [1]]\n", 1, 7, 0, 0, "this ] closes nothing that is open here. Reading stopped here."},
    {"a: [1, , 2]\n", 1, 8, 0, 0, "an entry is missing before this comma. Reading stopped here."},
    {"a: {b: \"x\" c: 2}\n", 1, 12, 1, 4,
     "'c:' can't follow what stands before it; put a comma between them, or quotes round the "
     "whole text. Reading stopped here."},
    {"a: [1], b: 2\n", 1, 7, 0, 0,
     "a comma parts entries only inside [ ] or { }. Reading stopped here."},
    {"a: 'it's x'\n", 1, 8, 0, 0,
     "'s' follows a closing quote; write '' for an apostrophe inside single quotes, or use "
     "double quotes. Reading stopped here."},
    {"a: \"x\" y\n", 1, 8, 0, 0,
     "'y' can't follow what stands before it on this line; put the whole text in one pair of "
     "quotes. Reading stopped here."},
    {"a: @x\n", 1, 4, 0, 0, "a text can't begin with '@'; put it in quotes. Reading stopped here."},
    {"a: %x\n", 1, 4, 0, 0, "a text can't begin with '%'; put it in quotes. Reading stopped here."},
    /* indentation and colons */
    {"a:\n\tb: 1\n", 2, 1, 0, 0,
     "a tab stands where the line is indented; use blanks. Reading stopped here."},
    {"a: |\n\tx\n", 2, 1, 0, 0,
     "a tab stands where the line is indented; use blanks. Reading stopped here."},
    {"a:\n    b: 1\n  c: 2\n", 3, 3, 1, 1,
     "this line begins in column 3; the keys above that it could stand with begin in column 1. "
     "Line it up. Reading stopped here."},
    {"cables:\n  - a\n  b: 1\n", 3, 3, 2, 3,
     "'b:' stands in a list; begin it with '- ', or indent it to suit. Reading stopped here."},
    {"a: 1\n- b\n", 2, 1, 1, 1,
     "'-' stands among keys that are not a list; indent it to suit. Reading stopped here."},
    {"a: - b\n", 1, 4, 0, 0,
     "a list can't begin on the line of its key; put each '- ' on a line of its own, or the list "
     "in [ ]. Reading stopped here."},
    {"a: b: c\n", 1, 5, 1, 2,
     "a second ':' stands on this line; put the text in quotes, or the second key on a line of "
     "its own. Reading stopped here."},
    {"pump\n  volts: 12 V\n", 2, 3, 1, 1,
     "this key goes on with line 1; end that line with ':' if it is the key's parent, or line "
     "the two up. Reading stopped here."},
    {"a: 1\npump\nb: 2\n", 2, 1, 0, 0,
     "'pump' stands where a key is due, and no ':' follows it within 1024 characters on its "
     "line. Reading stopped here."},
    {"a: 1\nvolts:12 V\nb: 2\n", 2, 6, 0, 0,
     "a key's ':' needs a blank behind it, as in 'key: value'. Reading stopped here."},
    {"volts:12 V\nb: 2\n", 1, 6, 0, 0,
     "a key's ':' needs a blank behind it, as in 'key: value'. Reading stopped here."},
    {"a: {volts:12 V, b: 1}\n", 1, 5, 0, 0,
     "a key's ':' needs a blank behind it, as in 'key: value'."},
    {"a: 1\n: 2\n", 2, 1, 0, 0, "a key is missing before this ':'. Reading stopped here."},
    {"a: |0\n  x\n", 1, 5, 0, 0,
     "the number behind | or > says how deep the text is indented, 1 to 9. Reading stopped here."},
    {"a: | x\n  x\n", 1, 6, 0, 0,
     "only a line end or a comment may follow | or > and what belongs to it. Reading stopped "
     "here."},
};

static bool fault_is(const struct diagnostic *got, size_t row)
{
    return got->at.line == faults[row].line && got->at.column == faults[row].column &&
           got->also.line == faults[row].also_line && got->also.column == faults[row].also_column &&
           strcmp(got->message, faults[row].message) == 0;
}

static void fault_of_each_text(void **state)
{
    (void)state;
    unsigned wrong = 0;
    for (size_t i = 0; i < sizeof faults / sizeof *faults; i++) {
        struct reading reading;
        read_text(&reading, faults[i].text);
        if (reading.diagnostics.count == 0 || !fault_is(&reading.diagnostics.at[0], i) ||
            reading.diagnostics.at[0].level != LEVEL_ERROR) {
            print_error("row %zu, %u:%u (%u:%u) %s\ngot\n", i, faults[i].line, faults[i].column,
                        faults[i].also_line, faults[i].also_column, faults[i].message);
            show(&reading);
            wrong++;
        }
        end(&reading);
    }
    assert_int_equal(wrong, 0);
}

static void every_fault_is_reported_in_one_reading(void **state)
{
    (void)state;
    struct reading reading;
    read_text(&reading, "a: \x01\nb: &x \xE9\n<<: 1\nb: 2\nc: \"\\e\"\nd: [\n");
    static const unsigned lines[] = {1, 2, 2, 3, 4, 5, 6};
    assert_int_equal(reading.diagnostics.count, sizeof lines / sizeof *lines);
    for (size_t i = 0; i < reading.diagnostics.count; i++)
        assert_int_equal(reading.diagnostics.at[i].at.line, lines[i]);
    assert_string_equal(reading.diagnostics.at[4].topic, TOPIC_ONCE);
    end(&reading);
}

static void an_entry_read_as_text_is_doubtful(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        unsigned line, column; /* line 0: nothing is said */
    } rows[] = {
        {"a:\n  - \xC3\xA9\n   - y\n", 3, 4},
        {"a: x\n  more\n   \n  - y z\nb: 1\n", 4, 3},
        {"a: [x\r\n  - y]", 2, 3},
        {"a: x\n  -y\n  -\n", 0, 0},
        {"a: 'x\n  - y'\nb: |\n  z\n  - y\n", 0, 0},
        {"a: x - y\nb:\n- z\n- y\n", 0, 0},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct reading reading;
        read_text(&reading, rows[i].text);
        assert_int_equal(reading.diagnostics.count, rows[i].line > 0);
        if (rows[i].line > 0) {
            const struct diagnostic *told = &reading.diagnostics.at[0];
            assert_int_equal(told->level, LEVEL_CAUTION);
            assert_int_equal(told->at.line, rows[i].line);
            assert_int_equal(told->at.column, rows[i].column);
            assert_string_equal(told->message,
                                "this '- ' is read as more of the text above it; line it up with "
                                "the entries of its list, or put the text in quotes.");
        }
        end(&reading);
    }
}

static void nul_bytes_are_refused(void **state)
{
    (void)state;
    struct reading reading;
    read_bytes(&reading, "a: x\0y\nb: 2", 11);
    assert_int_equal(reading.diagnostics.count, 1);
    assert_string_equal(reading.diagnostics.at[0].message,
                        "the control character U+0000 stands here; delete it.");
    assert_int_equal(reading.diagnostics.at[0].at.column, 5);
    assert_string_equal(node_find(reading.root, "a")->value->text, "x\xEF\xBF\xBDy");
    assert_string_equal(node_find(reading.root, "b")->value->text, "2");
    end(&reading);
}

static void many_bad_bytes_are_no_text(void **state)
{
    (void)state;
    struct reading reading;
    char bytes[100] = {0};
    read_bytes(&reading, bytes, sizeof bytes);
    assert_int_equal(reading.outcome, OUTCOME_REFUSED);
    assert_int_equal(reading.diagnostics.count, 21);
    assert_int_equal(reading.diagnostics.at[20].at.column, 21);
    end(&reading);
}

/* Each byte pair and a fair part of the triples: what the scan lets pass, libyaml's own reader
 * passes too, and no byte moves what follows it. */
static void odd_bytes_never_shift_the_rest(void **state)
{
    (void)state;
    for (unsigned first = 0x80; first < 0x100; first++) {
        for (unsigned second = 0x01; second < 0x100; second += 7) {
            struct reading reading;
            char text[] = "a: '..'\nb: [x]\n";
            text[4] = (char)first;
            text[5] = (char)second;
            read_text(&reading, text);
            const struct node_pair *b = reading.root ? node_find(reading.root, "b") : NULL;
            if (second == '\'') {
                assert_true(reading.diagnostics.count > 0);
            } else {
                unsigned line = second == '\n' || second == '\r' ? 3 : 2;
                assert_non_null(b);
                assert_int_equal(b->key_at.line, line);
                assert_int_equal(b->value->items[0]->at.column, 5);
            }
            end(&reading);
        }
    }
}

/* ---- limits, and inputs made to hurt ---- */

#ifdef SANITIZED
static const double most_seconds = 10.0;
#else
static const double most_seconds = 1.0; /* without caps: 3 to 50 s */
#endif

static char *repeat(const char *start, const char *unit, size_t count, const char *tail,
                    size_t *length)
{
    size_t unit_length = strlen(unit);
    *length = strlen(start) + unit_length * count + strlen(tail);
    char *text = malloc(*length + 1);
    assert_non_null(text);
    char *to = text + sprintf(text, "%s", start);
    for (size_t i = 0; i < count; i++, to += unit_length)
        memcpy(to, unit, unit_length);
    strcpy(to, tail);
    return text;
}

static const struct {
    const char *start, *unit;
    size_t count;
    const char *tail;
    enum outcome outcome;
    unsigned line, column; /* of the last thing reported; line 0: nothing */
    const char *message;
} hostile[] = {
    {"", "[", 100000, "", OUTCOME_OK, 1, 33,
     "this is nested more than 32 deep, which is the most that is read. Reading stopped here."},
    {"", "{a: ", 100000, "", OUTCOME_OK, 1, 129,
     "this is nested more than 32 deep, which is the most that is read. Reading stopped here."},
    {"", "- ", 100000, "", OUTCOME_OK, 1, 65,
     "this is nested more than 32 deep, which is the most that is read. Reading stopped here."},
    {"", "? ", 100000, "", OUTCOME_OK, 1, 65,
     "this is nested more than 32 deep, which is the most that is read. Reading stopped here."},
    {"", "%TAG !a! b\n", 50000, "--- x", OUTCOME_REFUSED, 21, 1,
     "more than 20 characters or directives that can't be read stand before this; see that it is "
     "plain text in UTF-8. Reading stopped here."},
    {"a: 1\n...\n", "%TAG !a! b\n", 50000, "--- x", OUTCOME_OK, 3, 1,
     "a line can't begin with '%' here. Reading stopped here."},
    {"a: 1\n", "%TAG !a! b\n", 50000, "--- x", OUTCOME_OK, 2, 1,
     "a line can't begin with '%' here. Reading stopped here."},
    {"", "\x01", 4000000, "", OUTCOME_REFUSED, 1, 21,
     "more than 20 characters or directives that can't be read stand before this; see that it is "
     "plain text in UTF-8. Reading stopped here."},
    {"[", "*a,", 500000, "]", OUTCOME_OK, 1, 3002,
     "1000 faults stand before this one. Reading stopped here."},
    {"[", "\"\\e\",", 500000, "]", OUTCOME_OK, 1, 5002,
     "1000 faults stand before this one. Reading stopped here."},
    {"", "a: 1\n", 500000, "", OUTCOME_OK, 1002, 1,
     "1000 faults stand before this one. Reading stopped here."},
    {"{", "a,", 500000, "}", OUTCOME_OK, 1, 2004,
     "1000 faults stand before this one. Reading stopped here."},
    {"", "#\n", 2000000, "a: 1", OUTCOME_OK, 0, 0, NULL},
    {"", "...\n", 1000000, "", OUTCOME_REFUSED, 1, 1,
     "'...' stands where a value is due. Reading stopped here."},
    {"a: 1\n", "...\n", 1000000, "", OUTCOME_OK, 0, 0, NULL},
    {"a: 1\n", "   \n", 1000000, "x", OUTCOME_OK, 1000002, 1,
     "'x' stands where a key is due, and no ':' follows it within 1024 characters on its line. "
     "Reading stopped here."},
    {"a: '", "\n", 4000000, "'", OUTCOME_OK, 1, 4,
     "this text has 3999999 bytes; a text may have 65536."},
    {"a: ", "x", 65536, "", OUTCOME_OK, 0, 0, NULL},
    {"a: ", "x", 65537, "", OUTCOME_OK, 1, 4, "this text has 65537 bytes; a text may have 65536."},
    {"a: 1\n", "k", 256, ": 2", OUTCOME_OK, 0, 0, NULL},
    {"a: 1\n", "k", 257, ": 2", OUTCOME_OK, 2, 1, "this key has 257 bytes; a key may have 256."},
    {"", "\xC3\xA9", 129, ": 2", OUTCOME_OK, 1, 1, "this key has 258 bytes; a key may have 256."},
    {"a: 1\n", "k", 2000, ": 2\n", OUTCOME_OK, 2, 1,
     "'kkkkkkkkkkkkkkkkkkkkkkkkkkkkkkkkkkkk...' stands where a key is due, and no ':' follows it "
     "within 1024 characters on its line. Reading stopped here."},
    {"", "[", 32, "]", OUTCOME_OK, 1, 31,
     "this [ is never closed; put a ] where it ends. Reading stopped here."},
    {"[", "a,", 599999, "]", OUTCOME_OK, 0, 0, NULL}, /* 600,000 with the list itself */
    {"[", "a,", 600000, "]", OUTCOME_OK, 1, 1200000,
     "the file has more than 600000 values, which is the most that is read. Reading stopped "
     "here."},
    {"", "x", (4u << 20) + 1, "", OUTCOME_REFUSED, 0, 0,
     "the file has 4194305 bytes; a file may have 4194304."},
    {"a: ", "x", 100u << 20, "", OUTCOME_REFUSED, 0, 0,
     "the file has 104857603 bytes; a file may have 4194304."},
};

static void hostile_input_is_bounded(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof hostile / sizeof *hostile; i++) {
        struct reading reading;
        size_t length;
        char *text =
            repeat(hostile[i].start, hostile[i].unit, hostile[i].count, hostile[i].tail, &length);
        clock_t begun = clock();
        read_bytes(&reading, text, length);
        double seconds = (double)(clock() - begun) / CLOCKS_PER_SEC;
        size_t count = reading.diagnostics.count;
        if (seconds > most_seconds)
            fail_msg("row %zu took %.1f s", i, seconds);
        if (reading.outcome != hostile[i].outcome || (count > 0) != (hostile[i].message != NULL)) {
            show(&reading);
            fail_msg("row %zu ended as %d with %zu faults", i, (int)reading.outcome, count);
        }
        if (count > 0) {
            const struct diagnostic *last = &reading.diagnostics.at[count - 1];
            if (last->at.line != hostile[i].line || last->at.column != hostile[i].column)
                fail_msg("row %zu: %u:%u %s", i, last->at.line, last->at.column, last->message);
            assert_string_equal(last->message, hostile[i].message);
        }
        end(&reading);
        free(text);
    }
}

/* Nine levels of nine aliases each would be 400 million nodes. */
static void alias_bomb_stays_small(void **state)
{
    (void)state;
    struct reading reading;
    char text[2000] = "a0: &a0 [x,x,x,x,x,x,x,x,x]\n";
    for (int i = 1; i < 10; i++) {
        size_t used = strlen(text);
        snprintf(text + used, sizeof text - used,
                 "a%d: &a%d [*a%d,*a%d,*a%d,*a%d,*a%d,*a%d,*a%d,*a%d,*a%d]\n", i, i, i - 1, i - 1,
                 i - 1, i - 1, i - 1, i - 1, i - 1, i - 1, i - 1);
    }
    read_text(&reading, text);
    assert_int_equal(reading.diagnostics.count, 10 + 81);
    assert_int_equal(reading.root->count, 10);
    assert_int_equal(node_find(reading.root, "a9")->value->count, 9);
    end(&reading);
}

/* Many keys, each different, and one of them again: found wherever it stands. */
static void one_repeated_key_among_many(void **state)
{
    (void)state;
    static const int counts[] = {2, 16, 17, 20000};
    for (size_t c = 0; c < sizeof counts / sizeof *counts; c++) {
        struct reading reading;
        int count = counts[c];
        char *text = malloc((size_t)count * 12 + 20), *to = text;
        assert_non_null(text);
        for (int i = 0; i < count; i++)
            to += sprintf(to, "k%d: 1\n", (i * 7919) % 1000003);
        sprintf(to, "k0: 2\n");
        read_text(&reading, text);
        assert_int_equal(reading.diagnostics.count, 1);
        assert_int_equal(reading.diagnostics.at[0].at.line, count + 1);
        assert_int_equal(reading.diagnostics.at[0].also.line, 1);
        assert_int_equal(reading.root->count, count);
        assert_string_equal(reading.root->pairs[0].value->text, "1");
        end(&reading);
        free(text);
    }
}

/* All of the above, in one process, under 400 MB at its largest, the 100 MB of input included. */
static void memory_stays_bounded(void **state)
{
    (void)state;
#ifdef SANITIZED
    skip();
#else
    struct rusage usage;
    assert_int_equal(getrusage(RUSAGE_SELF, &usage), 0);
    assert_true(usage.ru_maxrss < 400 * 1024);
#endif
}

static void limits_of_the_caller_hold(void **state)
{
    (void)state;
    struct reading reading;
    const struct document_limits limits = {
        .file_bytes = 1000, .depth = 2, .scalar_bytes = 3, .key_bytes = 2, .nodes = 100};
    const char *text = "abc: 1\nb: wxyz\nc: [1, [2]]\n";
    begin(&reading);
    reading.outcome = document_read(reading.arena, "t.yaml", text, strlen(text), &limits,
                                    &reading.diagnostics, &reading.root);
    assert_int_equal(reading.outcome, OUTCOME_OK);
    assert_int_equal(reading.diagnostics.count, 3);
    assert_string_equal(reading.diagnostics.at[0].message,
                        "this key has 3 bytes; a key may have 2.");
    assert_string_equal(reading.diagnostics.at[1].message,
                        "this text has 4 bytes; a text may have 3.");
    assert_string_equal(reading.diagnostics.at[2].message,
                        "this is nested more than 2 deep, which is the most that is read. Reading "
                        "stopped here.");
    assert_int_equal(reading.diagnostics.at[2].at.column, 8);
    end(&reading);
}

/* ---- files ---- */

static char folder[] = "/tmp/rigtally-test-document-XXXXXX";

static int make_folder(void **state)
{
    (void)state;
    return mkdtemp(folder) ? 0 : -1;
}

static const char *in_folder(const char *name)
{
    static char path[200];
    snprintf(path, sizeof path, "%s/%s", folder, name);
    return path;
}

static int remove_folder(void **state)
{
    (void)state;
    static const char *const names[] = {"good", "large", "pipe", "circle", "locked", "empty"};
    for (size_t i = 0; i < sizeof names / sizeof *names; i++)
        unlink(in_folder(names[i]));
    return rmdir(folder);
}

static void write_file(const char *name, const char *text, size_t length)
{
    FILE *file = fopen(in_folder(name), "wb");
    assert_non_null(file);
    assert_int_equal(fwrite(text, 1, length, file), length);
    assert_int_equal(fclose(file), 0);
}

static void read_file(struct reading *reading, const char *path)
{
    begin(reading);
    reading->outcome = document_read_file(reading->arena, path, &document_limits_default,
                                          &reading->diagnostics, &reading->root);
}

static void file_is_read(void **state)
{
    (void)state;
    struct reading reading;
    write_file("good", "a: {b: 1}\n", 10);
    read_file(&reading, in_folder("good"));
    assert_int_equal(reading.outcome, OUTCOME_OK);
    assert_int_equal(reading.diagnostics.count, 0);
    assert_string_equal(node_find(reading.root, "a")->key_at.file, in_folder("good"));
    end(&reading);
}

/* A file whose size is told as 0 until it is read. */
static void file_of_unknown_size_is_read(void **state)
{
    (void)state;
    struct reading reading;
    struct stat status;
    const char *path = "/proc/self/limits";
    if (stat(path, &status) != 0 || !S_ISREG(status.st_mode))
        skip();
    read_file(&reading, path);
    assert_true(reading.outcome == OUTCOME_OK || reading.diagnostics.count > 0);
    if (reading.root)
        assert_int_equal(reading.root->at.line, 1);
    else
        assert_null(strstr(reading.diagnostics.at[0].message, "nothing stands in this file"));
    end(&reading);
}

static void refuses_file(const char *path, const char *message)
{
    struct reading reading;
    read_file(&reading, path);
    assert_int_equal(reading.outcome, OUTCOME_REFUSED);
    assert_null(reading.root);
    assert_int_equal(reading.diagnostics.count, 1);
    assert_string_equal(reading.diagnostics.at[0].message, message);
    assert_string_equal(reading.diagnostics.at[0].at.file, path);
    assert_int_equal(reading.diagnostics.at[0].at.line, 0);
    end(&reading);
}

static void odd_files_are_refused(void **state)
{
    (void)state;
    refuses_file(in_folder("missing"), "there is no file of this name; look at its path.");
    refuses_file(folder, "this is a folder; give a file in it.");
    assert_int_equal(mkfifo(in_folder("pipe"), 0600), 0);
    refuses_file(in_folder("pipe"), "this is a pipe; give a plain file.");
    refuses_file("/dev/null", "this is a socket or a device; give a plain file.");
    assert_int_equal(symlink("circle", in_folder("circle")), 0);
    refuses_file(in_folder("circle"), "its symbolic links go round in a circle.");
}

static void large_file_is_refused_unread(void **state)
{
    (void)state;
    write_file("large", "", 0);
    assert_int_equal(truncate(in_folder("large"), (off_t)1 << 40), 0);
    refuses_file(in_folder("large"), "the file has 1099511627776 bytes; a file may have 4194304.");
}

static void empty_file_is_refused(void **state)
{
    (void)state;
    struct reading reading;
    write_file("empty", "", 0);
    read_file(&reading, in_folder("empty"));
    assert_int_equal(reading.outcome, OUTCOME_REFUSED);
    assert_string_equal(reading.diagnostics.at[0].message,
                        "nothing stands in this file but blanks and comments.");
    assert_int_equal(reading.diagnostics.at[0].at.line, 1);
    end(&reading);
}

/* The superuser may read anything: the child becomes somebody else first. */
static int read_locked(const char *path)
{
    struct reading reading;
    if (geteuid() == 0 && (chmod(folder, 0755) != 0 || setuid(65534) != 0))
        return 2;
    read_file(&reading, path);
    bool right = reading.outcome == OUTCOME_REFUSED && reading.diagnostics.count == 1 &&
                 strcmp(reading.diagnostics.at[0].message,
                        "its permissions do not let it be read; change them.") == 0;
    end(&reading);
    return right ? 0 : 1;
}

static void locked_file_is_refused(void **state)
{
    (void)state;
    int status = 0;
    write_file("locked", "a: 1\n", 5);
    assert_int_equal(chmod(in_folder("locked"), 0), 0);
    pid_t child = fork();
    assert_true(child >= 0);
    if (child == 0)
        _exit(read_locked(in_folder("locked")));
    assert_int_equal(waitpid(child, &status, 0), child);
    assert_true(WIFEXITED(status));
    if (WEXITSTATUS(status) == 2)
        skip();
    assert_int_equal(WEXITSTATUS(status), 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(tree_of_each_text),
        cmocka_unit_test(places_count_code_points_from_1),
        cmocka_unit_test(tree_outlives_the_bytes),
        cmocka_unit_test(fault_of_each_text),
        cmocka_unit_test(every_fault_is_reported_in_one_reading),
        cmocka_unit_test(an_entry_read_as_text_is_doubtful),
        cmocka_unit_test(nul_bytes_are_refused),
        cmocka_unit_test(many_bad_bytes_are_no_text),
        cmocka_unit_test(odd_bytes_never_shift_the_rest),
        cmocka_unit_test(hostile_input_is_bounded),
        cmocka_unit_test(alias_bomb_stays_small),
        cmocka_unit_test(one_repeated_key_among_many),
        cmocka_unit_test(memory_stays_bounded),
        cmocka_unit_test(limits_of_the_caller_hold),
        cmocka_unit_test(file_is_read),
        cmocka_unit_test(file_of_unknown_size_is_read),
        cmocka_unit_test(odd_files_are_refused),
        cmocka_unit_test(large_file_is_refused_unread),
        cmocka_unit_test(empty_file_is_refused),
        cmocka_unit_test(locked_file_is_refused),
    };
    return cmocka_run_group_tests_name("document", tests, make_folder, remove_folder);
}
