#include "document/syntax.h"

#include <stdio.h>
#include <string.h>

/* An error of libyaml's, and where it lies in the bytes. */
struct snag {
    const struct source *source;
    struct diagnostics *diagnostics;
    const char *problem, *context;  /* libyaml's words; context may be NULL */
    size_t byte, began;             /* where it was noticed; where the thing began */
    struct place noticed, began_at; /* the same as places; began_at.line 0: none */
    struct opening open;
};

__attribute__((format(printf, 4, 5))) static void say(const struct snag *snag, struct place at,
                                                      struct place also, const char *format, ...)
{
    char sentence[400];
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(sentence, sizeof sentence, format, arguments);
    va_end(arguments);
    if (also.line == at.line && also.column == at.column)
        also.line = 0;
    diagnostics_add_pair(snag->diagnostics, LEVEL_ERROR, TOPIC_READS, at, also,
                         "%s Reading stopped here.", sentence);
}

static const struct place nowhere = {0};

/* ---- looking at the bytes ---- */

static char byte_at(const struct source *source, size_t i)
{
    return i < source->length ? source->bytes[i] : '\0';
}

static bool is_blank(char c)
{
    return c == ' ' || c == '\t';
}

static bool ends(char c)
{
    return c == '\0' || c == '\n' || c == '\r';
}

static size_t line_start(const struct source *source, size_t i)
{
    while (i > 0 && !ends(source->bytes[i - 1]))
        i--;
    return i;
}

static size_t skip_blanks(const struct source *source, size_t i)
{
    while (is_blank(byte_at(source, i)))
        i++;
    return i;
}

static bool begins_line(const struct source *source, size_t i)
{
    return skip_blanks(source, line_start(source, i)) >= i;
}

/* The start of the line before the one at `start`, blank lines passed over; `start` if none. */
static size_t line_before(const struct source *source, size_t start)
{
    size_t i = start;
    while (i > 0 && (ends(source->bytes[i - 1]) || is_blank(source->bytes[i - 1])))
        i--;
    return i > 0 ? line_start(source, i - 1) : start;
}

/* The first ':' of a line from i on that has no blank behind it, or the source's length. */
static size_t tight_colon(const struct source *source, size_t i)
{
    for (; !ends(byte_at(source, i)); i++) {
        char next = byte_at(source, i + 1);
        if (source->bytes[i] == '#' && i > 0 && is_blank(source->bytes[i - 1]))
            break;
        if (source->bytes[i] == ':')
            return is_blank(next) || ends(next) ? source->length : i;
    }
    return source->length;
}

enum { EXCERPT = 40 };

/* What stands at a byte, in quotes, up to a blank; long ones are cut. */
static const char *excerpt(const struct source *source, size_t i, char out[EXCERPT + 8])
{
    size_t to = i;
    uint32_t code;
    if (i >= source->length)
        return "the end of the file";
    while (!ends(byte_at(source, to)) && !is_blank(byte_at(source, to)) && to - i < EXCERPT - 4)
        to += scan_decode(source->bytes + to, source->length - to, &code);
    if (to == i)
        return "the end of the line";
    bool cut = !ends(byte_at(source, to)) && !is_blank(byte_at(source, to));
    snprintf(out, EXCERPT + 8, "'%.*s%s'", (int)(to - i), source->bytes + i, cut ? "..." : "");
    return out;
}

/* ---- one function for each way to go wrong that needs a look at the bytes ---- */

static void say_tab(const struct snag *snag)
{
    say(snag, snag->noticed, nowhere, "a tab stands where the line is indented; use blanks.");
}

static void say_start(const struct snag *snag)
{
    char first = byte_at(snag->source, snag->byte);
    if (first == '\t')
        say_tab(snag);
    else
        say(snag, snag->noticed, nowhere, "a text can't begin with '%c'; put it in quotes.", first);
}

static void say_open_quote(const struct snag *snag)
{
    char quote = byte_at(snag->source, snag->began);
    bool marker = snag->byte < snag->source->length;
    if (quote == '"' || quote == '\'')
        say(snag, snag->began_at, marker ? snag->noticed : nowhere,
            "this quote is never closed%s; put another %c where the text ends.",
            marker ? " before the document ends" : "", quote);
    else
        say(snag, snag->began_at, nowhere, "this text in quotes is never closed.");
}

static void say_escape(const struct snag *snag)
{
    size_t i = snag->byte;
    uint32_t code;
    while (i > snag->began && byte_at(snag->source, i) != '\\')
        i--;
    size_t bytes = i + 1 < snag->source->length ? scan_decode(snag->source->bytes + i + 1,
                                                              snag->source->length - i - 1, &code)
                                                : 0;
    int length = (int)(bytes + 1);
    const char *text = snag->source->bytes + i;
    struct place at = scan_place(snag->source, i);
    if (strcmp(snag->problem, "found unknown escape character") == 0)
        say(snag, at, nowhere,
            "%.*s stands for nothing in double quotes; write \\\\ for a backslash, or use single "
            "quotes.",
            length, text);
    else
        say(snag, at, nowhere,
            "%.*s takes the number of a character in hexadecimal: \\x two digits, \\u four, "
            "\\U eight.",
            length, text);
}

/* A ':' where none can stand: two on a line, or a line that goes on with the one above. */
static void say_colon(const struct snag *snag)
{
    const struct source *source = snag->source;
    size_t start = line_start(source, snag->byte), first = skip_blanks(source, start);
    size_t above = line_before(source, start);
    size_t tight = above < start ? tight_colon(source, above) : source->length;
    for (size_t i = first; i < snag->byte; i++) {
        if (source->bytes[i] == ':' && is_blank(byte_at(source, i + 1))) {
            say(snag, snag->noticed, scan_place(source, i),
                "a second ':' stands on this line; put the text in quotes, or the second key on a "
                "line of its own.");
            return;
        }
    }
    if (tight < start) {
        say(snag, scan_place(source, tight), nowhere,
            "a key's ':' needs a blank behind it, as in 'key: value'.");
    } else if (above < start && first < snag->byte) {
        struct place also = scan_place(source, skip_blanks(source, above));
        say(snag, scan_place(source, first), also,
            "this key goes on with line %u; end that line with ':' if it is the key's parent, or "
            "line the two up.",
            also.line);
    } else {
        say(snag, snag->noticed, nowhere, "this ':' has no key before it.");
    }
}

/* A line among keys that has no ':'. */
static void say_no_colon(const struct snag *snag)
{
    char word[EXCERPT + 8];
    size_t tight = tight_colon(snag->source, snag->began);
    if (tight < snag->source->length)
        say(snag, scan_place(snag->source, tight), nowhere,
            "a key's ':' needs a blank behind it, as in 'key: value'.");
    else
        say(snag, snag->began_at, nowhere,
            "%s stands where a key is due, and no ':' follows it within 1024 characters on its "
            "line.",
            excerpt(snag->source, snag->began, word));
}

static bool is_closing(char c)
{
    return c == ']' || c == '}';
}

static void say_never_closed(const struct snag *snag, struct opening open)
{
    say(snag, open.at, nowhere, "this %c is never closed; put a %c where it ends.", open.bracket,
        open.bracket == '[' ? ']' : '}');
}

/* Inside [ ] or { }. */
static void say_in_brackets(const struct snag *snag)
{
    char word[EXCERPT + 8];
    char open = byte_at(snag->source, snag->began), close = open == '[' ? ']' : '}';
    char here = byte_at(snag->source, snag->byte);
    if (snag->byte >= snag->source->length)
        say_never_closed(snag, (struct opening){snag->began_at, open});
    else if (is_closing(here))
        say(snag, snag->noticed, snag->began_at, "this %c closes a %c; put a %c here.", here, open,
            close);
    else if (snag->noticed.line > snag->began_at.line)
        say(snag, snag->began_at, snag->noticed,
            "this %c is still open at line %u; put a %c where it ends, or a comma between its "
            "entries.",
            open, snag->noticed.line, close);
    else
        say(snag, snag->noticed, snag->began_at,
            "%s can't follow what stands before it; put a comma between them, or quotes round "
            "the whole text.",
            excerpt(snag->source, snag->byte, word));
}

static void say_nothing_there(const struct snag *snag)
{
    char word[EXCERPT + 8];
    char here = byte_at(snag->source, snag->byte);
    if (snag->byte >= snag->source->length && snag->open.bracket)
        say_never_closed(snag, snag->open);
    else if (snag->byte >= snag->source->length)
        say(snag, snag->noticed, nowhere, "the file ends where a value is due.");
    else if (here == ',')
        say(snag, snag->noticed, nowhere, "an entry is missing before this comma.");
    else if (here == ':')
        say(snag, snag->noticed, nowhere, "a key is missing before this ':'.");
    else if (is_closing(here))
        say(snag, snag->noticed, nowhere, "this %c closes nothing that is open here.", here);
    else
        say(snag, snag->noticed, nowhere, "%s stands where a value is due.",
            excerpt(snag->source, snag->byte, word));
}

/* In a mapping or list that is told by its indentation. */
static void say_in_block(const struct snag *snag)
{
    char word[EXCERPT + 8];
    bool list = strcmp(snag->problem, "did not find expected '-' indicator") == 0;
    char here = byte_at(snag->source, snag->byte);
    const char *what = list ? "entries" : "keys";
    if (is_closing(here))
        say(snag, snag->noticed, nowhere, "this %c closes nothing that is open here.", here);
    else if (here == ',')
        say(snag, snag->noticed, nowhere, "a comma parts entries only inside [ ] or { }.");
    else if (here == ':')
        say(snag, snag->noticed, nowhere, "a key is missing before this ':'.");
    else if (snag->byte > 0 && snag->source->bytes[snag->byte - 1] == '\'')
        say(snag, snag->noticed, nowhere,
            "%s follows a closing quote; write '' for an apostrophe inside single quotes, or use "
            "double quotes.",
            excerpt(snag->source, snag->byte, word));
    else if (!begins_line(snag->source, snag->byte))
        say(snag, snag->noticed, nowhere,
            "%s can't follow what stands before it on this line; put the whole text in one pair "
            "of quotes.",
            excerpt(snag->source, snag->byte, word));
    else if (snag->noticed.column != snag->began_at.column)
        say(snag, snag->noticed, snag->began_at,
            "this line begins in column %u; the %s above that it could stand with begin in "
            "column %u. Line it up.",
            snag->noticed.column, what, snag->began_at.column);
    else
        say(snag, snag->noticed, snag->began_at,
            list ? "%s stands in a list; begin it with '- ', or indent it to suit."
                 : "%s stands among keys that are not a list; indent it to suit.",
            excerpt(snag->source, snag->byte, word));
}

static void say_directive(const struct snag *snag)
{
    say(snag, snag->context && snag->began_at.line ? snag->began_at : snag->noticed, nowhere,
        "a line can't begin with '%%' here; put the text in quotes.");
}

static void say_mark(const struct snag *snag)
{
    char first = byte_at(snag->source, snag->began);
    say(snag, snag->began_at.line ? snag->began_at : snag->noticed, nowhere,
        "a text that begins with '%c' must stand in quotes.",
        first == '&' || first == '*' ? first : '!');
}

/* ---- which function says which of libyaml's errors ---- */

struct known {
    const char *words; /* of libyaml's problem, or the start of its context */
    void (*say)(const struct snag *snag);
    const char *sentence; /* when nothing needs a look at the bytes: said where it was noticed */
};

static const struct known contexts[] = {
    {"while scanning a directive", say_directive, NULL},
    {"while scanning a %", say_directive, NULL},
    {"while parsing a %", say_directive, NULL},
    {"while scanning an anchor", say_mark, NULL},
    {"while scanning an alias", say_mark, NULL},
    {"while scanning a tag", say_mark, NULL},
    {"while parsing a tag", say_mark, NULL},
};

static const struct known problems[] = {
    {"found undefined tag handle", say_mark, NULL},
    {"found character that cannot start any token", say_start, NULL},
    {"found a tab character that violates indentation", say_tab, NULL},
    {"found a tab character where an indentation space is expected", say_tab, NULL},
    {"found unexpected end of stream", say_open_quote, NULL},
    {"found unexpected document indicator", say_open_quote, NULL},
    {"found unknown escape character", say_escape, NULL},
    {"did not find expected hexdecimal number", say_escape, NULL},
    {"found invalid Unicode character escape code", say_escape, NULL},
    {"mapping values are not allowed in this context", say_colon, NULL},
    {"could not find expected ':'", say_no_colon, NULL},
    {"did not find expected ',' or ']'", say_in_brackets, NULL},
    {"did not find expected ',' or '}'", say_in_brackets, NULL},
    {"did not find expected node content", say_nothing_there, NULL},
    {"did not find expected key", say_in_block, NULL},
    {"did not find expected '-' indicator", say_in_block, NULL},
    {"block sequence entries are not allowed in this context", NULL,
     "a list can't begin on the line of its key; put each '- ' on a line of its own, or the list "
     "in [ ]."},
    {"mapping keys are not allowed in this context", NULL,
     "'? ' can't stand here; write 'key: value'."},
    {"found unexpected ':'", NULL, "a key's ':' needs a blank behind it, as in 'key: value'."},
    {"found an indentation indicator equal to 0", NULL,
     "the number behind | or > says how deep the text is indented, 1 to 9."},
    {"did not find expected comment or line break", NULL,
     "only a line end or a comment may follow | or > and what belongs to it."},
    {"did not find expected <document start>", NULL,
     "the line '---' is missing between %YAML and what it is for."},
};

static const struct known *find_known(const struct snag *snag)
{
    for (size_t i = 0; snag->context && i < sizeof contexts / sizeof *contexts; i++) {
        if (strncmp(snag->context, contexts[i].words, strlen(contexts[i].words)) == 0)
            return &contexts[i];
    }
    for (size_t i = 0; i < sizeof problems / sizeof *problems; i++) {
        if (strcmp(snag->problem, problems[i].words) == 0)
            return &problems[i];
    }
    return NULL;
}

void syntax_report(const struct source *source, const yaml_parser_t *parser, struct opening open,
                   struct diagnostics *diagnostics)
{
    char word[EXCERPT + 8];
    struct snag snag = {.source = source,
                        .diagnostics = diagnostics,
                        .problem = parser->problem ? parser->problem : "",
                        .context = parser->context,
                        .open = open};
    /* The reader has no mark: it tells a byte. Nothing that the scan let pass makes it fail. */
    snag.byte = parser->error == YAML_READER_ERROR ? parser->problem_offset
                                                   : scan_byte(source, parser->problem_mark.index);
    snag.noticed = scan_place(source, snag.byte);
    if (parser->context) {
        snag.began = scan_byte(source, parser->context_mark.index);
        snag.began_at = scan_place(source, snag.began);
    }
    const struct known *known = find_known(&snag);
    if (known && known->say)
        known->say(&snag);
    else if (known)
        say(&snag, snag.noticed, nowhere, "%s", known->sentence);
    else
        say(&snag, snag.noticed, nowhere, "%s can't stand here.", excerpt(source, snag.byte, word));
}

/* ---- behind the document ---- */

static bool is_marker(const struct source *source, size_t i, char c)
{
    char after = byte_at(source, i + 3);
    return byte_at(source, i) == c && byte_at(source, i + 1) == c && byte_at(source, i + 2) == c &&
           (is_blank(after) || ends(after));
}

static void report_rest_at(const struct source *source, size_t i, struct diagnostics *diagnostics)
{
    struct place at = scan_place(source, i);
    char word[EXCERPT + 8];
    if (at.column == 1 && is_marker(source, i, '-'))
        diagnostics_add(diagnostics, LEVEL_ERROR, TOPIC_READS, at,
                        "a second document begins here; keep one in a file. Reading stopped here.");
    else if (is_closing(byte_at(source, i)))
        diagnostics_add(diagnostics, LEVEL_ERROR, TOPIC_READS, at,
                        "this %c closes nothing that is open here. Reading stopped here.",
                        byte_at(source, i));
    else if (at.column == 1 && byte_at(source, i) == '%')
        diagnostics_add(diagnostics, LEVEL_ERROR, TOPIC_READS, at,
                        "a line can't begin with '%%' here. Reading stopped here.");
    else
        diagnostics_add(diagnostics, LEVEL_ERROR, TOPIC_READS, at,
                        "%s does not belong to what stands above it, which is complete; see how "
                        "both are indented. Reading stopped here.",
                        excerpt(source, i, word));
}

bool syntax_report_rest(const struct source *source, size_t byte, struct diagnostics *diagnostics)
{
    for (size_t i = byte; i < source->length; i++) {
        if (i == line_start(source, i) && is_marker(source, i, '.'))
            i += 3; /* ends the document once more */
        i = skip_blanks(source, i);
        if (byte_at(source, i) == '#')
            while (!ends(byte_at(source, i)))
                i++;
        if (i < source->length && !ends(byte_at(source, i))) {
            report_rest_at(source, i, diagnostics);
            return true;
        }
    }
    return false;
}
