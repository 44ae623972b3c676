#include "document/scan.h"

#include <stdio.h>
#include <string.h>

enum { MOST_FAULTS = 20 }; /* past these it is hardly a text file; common practice, no source */

static const char replacement[] = "\xEF\xBF\xBD"; /* U+FFFD */
enum { REPLACEMENT_BYTES = sizeof replacement - 1 };

struct scanner {
    struct source source;
    struct diagnostics *diagnostics;
    size_t faults;
};

enum character character_judge(uint32_t code)
{
    if (code < 0x20)
        return code == '\t' || code == '\n' || code == '\r' ? CHARACTER_FINE : CHARACTER_CONTROL;
    if (code < 0x7F)
        return CHARACTER_FINE;
    if (code == 0x85 || code == 0x2028 || code == 0x2029)
        return CHARACTER_BREAK;
    if (code < 0xA0)
        return CHARACTER_CONTROL;
    if (code == 0xFEFF)
        return CHARACTER_BOM;
    if ((code >= 0xD800 && code <= 0xDFFF) || code == 0xFFFE || code == 0xFFFF || code > 0x10FFFF)
        return CHARACTER_NONE;
    return CHARACTER_FINE;
}

/* Of a lead byte: how many bytes follow it, and the range of the first of them, which shuts out
 * overlong forms, surrogates and what lies past U+10FFFF (The Unicode Standard, table 3-7). */
static size_t followers(unsigned char lead, unsigned char *low, unsigned char *high)
{
    *low = lead == 0xE0 ? 0xA0 : lead == 0xF0 ? 0x90 : 0x80;
    *high = lead == 0xED ? 0x9F : lead == 0xF4 ? 0x8F : 0xBF;
    if (lead >= 0xC2 && lead <= 0xDF)
        return 1;
    if (lead >= 0xE0 && lead <= 0xEF)
        return 2;
    if (lead >= 0xF0 && lead <= 0xF4)
        return 3;
    return 0;
}

size_t scan_decode(const char *bytes, size_t left, uint32_t *code)
{
    unsigned char lead = (unsigned char)bytes[0], low, high;
    if (lead < 0x80) {
        *code = lead;
        return 1;
    }
    size_t more = followers(lead, &low, &high);
    *code = CODE_BAD;
    if (more == 0)
        return 1;
    uint32_t value = lead & (0x3Fu >> more);
    for (size_t i = 1; i <= more; i++) {
        unsigned char byte = i < left ? (unsigned char)bytes[i] : 0;
        if (byte < low || byte > high)
            return i;
        value = value << 6 | (byte & 0x3Fu);
        low = 0x80;
        high = 0xBF;
    }
    *code = value;
    return more + 1;
}

/* True when the byte at i is the last of a line end. */
static bool ends_line(const char *bytes, size_t length, size_t i)
{
    return bytes[i] == '\n' || (bytes[i] == '\r' && (i + 1 == length || bytes[i + 1] != '\n'));
}

void scan_advance(const struct source *source, size_t from, size_t to, struct place *at)
{
    uint32_t code;
    size_t start = from;
    for (size_t i = from; i < to; i++) {
        if (ends_line(source->bytes, source->length, i)) {
            at->line++;
            at->column = 1;
            start = i + 1;
        }
    }
    for (size_t i = start; i < to; at->column++)
        i += scan_decode(source->bytes + i, source->length - i, &code);
}

struct place scan_place(const struct source *source, size_t byte)
{
    struct place at = {source->file, 1, 1};
    scan_advance(source, 0, byte < source->length ? byte : source->length, &at);
    return at;
}

size_t scan_byte(const struct source *source, size_t index)
{
    size_t byte = 0;
    uint32_t code;
    while (index > 0 && byte < source->length) {
        byte += scan_decode(source->bytes + byte, source->length - byte, &code);
        index--;
    }
    return byte;
}

/* Counts a fault; false when it is one too many, which is then reported in its stead. */
static bool another(struct scanner *scanner, struct place at)
{
    if (++scanner->faults <= MOST_FAULTS)
        return true;
    if (scanner->faults == MOST_FAULTS + 1)
        diagnostics_add(scanner->diagnostics, LEVEL_ERROR, TOPIC_READS, at,
                        "more than %d characters or directives that can't be read stand before "
                        "this; see that it is plain text in UTF-8. Reading stopped here.",
                        MOST_FAULTS);
    return false;
}

static void report_character(struct scanner *scanner, size_t byte, uint32_t code)
{
    struct place at = scan_place(&scanner->source, byte);
    if (!another(scanner, at))
        return;
    const char *form = NULL;
    switch (character_judge(code)) {
    case CHARACTER_FINE:
        break;
    case CHARACTER_CONTROL:
        form = "the control character U+%04X stands here; delete it.";
        break;
    case CHARACTER_BREAK:
        form =
            "U+%04X ends a line for some programs and not for others; put a plain line end here.";
        break;
    case CHARACTER_BOM:
        form = "a byte-order mark, U+%04X, may stand only at the very start; delete it.";
        break;
    case CHARACTER_NONE:
        form = "U+%04X is no character; delete it.";
        break;
    }
    if (code == CODE_BAD)
        diagnostics_add(scanner->diagnostics, LEVEL_ERROR, TOPIC_READS, at,
                        "the byte 0x%02X is not UTF-8 here; save the file as UTF-8.",
                        (unsigned)(unsigned char)scanner->source.bytes[byte]);
    else {
        char message[128];
        snprintf(message, sizeof message, form, (unsigned)code);
        diagnostics_add(scanner->diagnostics, LEVEL_ERROR, TOPIC_READS, at, "%s", message);
    }
}

/* The next byte from `byte` on that is neither a sign of ASCII nor a line feed, or the length. */
static size_t skip_plain(const struct source *source, size_t byte)
{
    const char *bytes = source->bytes;
    while (byte < source->length &&
           ((bytes[byte] >= 0x20 && bytes[byte] < 0x7F) || bytes[byte] == '\n'))
        byte++;
    return byte;
}

size_t scan_fault(const struct source *source, size_t byte, uint32_t *code, size_t *bytes)
{
    while ((byte = skip_plain(source, byte)) < source->length) {
        *bytes = scan_decode(source->bytes + byte, source->length - byte, code);
        if (*code == CODE_BAD || character_judge(*code) != CHARACTER_FINE)
            break;
        byte += *bytes;
    }
    return byte;
}

/* Reports the characters that may not stand here. */
static void judge_characters(struct scanner *scanner)
{
    uint32_t code = 0;
    size_t bytes = 0, i = skip_plain(&scanner->source, 0);
    scanner->source.plain = i;
    while (scanner->faults <= MOST_FAULTS &&
           (i = scan_fault(&scanner->source, i, &code, &bytes)) < scanner->source.length) {
        report_character(scanner, i, code);
        i += bytes;
    }
}

const char *scan_replace(struct arena *arena, struct source *source, size_t faults)
{
    char *copy = ARENA_TAKE(arena, source->length + faults * REPLACEMENT_BYTES + 1, char);
    size_t to = 0, from = 0, bytes = 0;
    uint32_t code;
    if (!copy)
        return NULL;
    while (from < source->length) {
        size_t fault = scan_fault(source, from, &code, &bytes);
        memcpy(copy + to, source->bytes + from, fault - from);
        to += fault - from;
        from = fault;
        if (fault < source->length) {
            memcpy(copy + to, replacement, REPLACEMENT_BYTES);
            to += REPLACEMENT_BYTES;
            from += bytes;
        }
    }
    source->bytes = copy;
    source->length = to;
    return copy;
}

static size_t skip_blanks(const struct source *source, size_t i)
{
    while (i < source->length && (source->bytes[i] == ' ' || source->bytes[i] == '\t'))
        i++;
    return i;
}

static bool at_line_end(const struct source *source, size_t i)
{
    return i >= source->length || source->bytes[i] == '\n' || source->bytes[i] == '\r';
}

/* True for "%YAML 1.1" or "1.2", with nothing but a comment behind it. */
static bool is_version(const struct source *source, size_t i)
{
    if (source->length - i < 9 || memcmp(source->bytes + i, "%YAML", 5) != 0)
        return false;
    size_t number = skip_blanks(source, i + 5);
    if (number == i + 5 || source->length - number < 3 ||
        (memcmp(source->bytes + number, "1.1", 3) != 0 &&
         memcmp(source->bytes + number, "1.2", 3) != 0))
        return false;
    size_t end = skip_blanks(source, number + 3);
    return at_line_end(source, end) || (end > number + 3 && source->bytes[end] == '#');
}

/* Reports a directive that is refused; `version` is the line of the one that was accepted, or 0. */
static void report_directive(struct scanner *scanner, size_t i, unsigned line, unsigned version)
{
    struct place at = {scanner->source.file, line, 1};
    if (!another(scanner, at))
        return;
    if (version && is_version(&scanner->source, i))
        diagnostics_add_pair(scanner->diagnostics, LEVEL_ERROR, TOPIC_READS, at,
                             (struct place){at.file, version, 1},
                             "%%YAML stands here for the second time; delete this line.");
    else
        diagnostics_add(scanner->diagnostics, LEVEL_ERROR, TOPIC_READS, at,
                        "a line that begins with %% is not used here, but for '%%YAML 1.2' or "
                        "'%%YAML 1.1' at the start; delete it.");
}

/* Judges the lines before the first that is neither blank, nor a comment, nor a directive. Each
 * refused directive becomes a comment in a copy; false when memory for it runs out. */
static bool judge_directives(struct arena *arena, struct scanner *scanner)
{
    struct source *source = &scanner->source;
    unsigned version = 0;
    char *copy = NULL;
    size_t i = 0;
    for (unsigned line = 1; i < source->length && scanner->faults <= MOST_FAULTS; line++) {
        if (source->bytes[i] == '%') {
            if (!version && is_version(source, i)) {
                version = line;
            } else {
                report_directive(scanner, i, line, version);
                if (!copy && !(copy = arena_copy(arena, source->bytes, source->length)))
                    return false;
                source->bytes = copy;
                copy[i] = '#';
            }
        } else {
            size_t text = skip_blanks(source, i);
            if (!at_line_end(source, text) && source->bytes[text] != '#')
                break;
        }
        while (i < source->length && !ends_line(source->bytes, source->length, i))
            i++;
        i++;
    }
    return true;
}

static bool is_utf16(const struct source *source)
{
    return source->length >= 2 &&
           (memcmp(source->bytes, "\xFF\xFE", 2) == 0 || memcmp(source->bytes, "\xFE\xFF", 2) == 0);
}

enum outcome scan_source(struct arena *arena, const struct source *given,
                         struct diagnostics *diagnostics, struct source *clean)
{
    struct scanner scanner = {*given, diagnostics, 0};
    if (is_utf16(given)) {
        diagnostics_add(diagnostics, LEVEL_ERROR, TOPIC_READS, (struct place){given->file, 1, 1},
                        "the file is in UTF-16; save it as UTF-8.");
        return OUTCOME_REFUSED;
    }
    if (given->length >= 3 && memcmp(given->bytes, "\xEF\xBB\xBF", 3) == 0) {
        scanner.source.bytes += 3;
        scanner.source.length -= 3;
    }
    judge_characters(&scanner);
    if (scanner.faults > 0 && scanner.faults <= MOST_FAULTS &&
        !scan_replace(arena, &scanner.source, scanner.faults))
        return OUTCOME_NO_MEMORY;
    if (!judge_directives(arena, &scanner))
        return OUTCOME_NO_MEMORY;
    *clean = scanner.source;
    return scanner.faults > MOST_FAULTS ? OUTCOME_REFUSED : OUTCOME_OK;
}
