/* scan.h - one pass over the bytes of a file before libyaml sees them: UTF-8,
 * characters that may not stand in a file, directives. Tells which line and
 * column a byte has. libyaml itself would be slow on thousands of directives and
 * gives no line for a bad byte. Knows nothing of YAML's structure. */
#ifndef RT_SCAN_H
#define RT_SCAN_H
#include <stdint.h>

#include "base/arena.h"
#include "base/diagnostics.h"
#include "base/outcome.h"

struct source {
    const char *file;  /* its name as shown */
    const char *bytes; /* after a byte-order mark at the start, if any */
    size_t length;
    size_t plain; /* so many bytes at the start are a character each; set by scan_source, else 0 */
};

/* Why a code point may not stand in a file, nor in a text that is decoded from one. */
enum character {
    CHARACTER_FINE,
    CHARACTER_CONTROL, /* C0 but tab, line feed and carriage return; DEL; C1 */
    CHARACTER_BREAK,   /* U+0085, U+2028, U+2029: line ends to some programs and not to others */
    CHARACTER_BOM,     /* a byte-order mark past the start */
    CHARACTER_NONE,    /* U+FFFE, U+FFFF, surrogates, past U+10FFFF */
};
enum character character_judge(uint32_t code);

/* Decodes the code point at bytes[0..left), left > 0, and returns how many bytes it takes. Where
 * they are not UTF-8, *code is CODE_BAD and what is returned is the run of bytes that a decoder
 * would show as one replacement character (The Unicode Standard, section 3.9). */
#define CODE_BAD UINT32_MAX
size_t scan_decode(const char *bytes, size_t left, uint32_t *code);

/* Line and column, from 1, columns in code points, of a byte of the source; walks from the start.
 * LF, CR and CR LF end a line. */
struct place scan_place(const struct source *source, size_t byte);
/* Moves *at, the place of bytes[from], to that of bytes[to]. */
void scan_advance(const struct source *source, size_t from, size_t to, struct place *at);
/* The byte at which a code point stands, counted from 0; walks from the start. */
size_t scan_byte(const struct source *source, size_t index);

/* The next byte from `byte` on at which a character stands that may not, or the length; *code is
 * that character and *bytes how many it takes. */
size_t scan_fault(const struct source *source, size_t byte, uint32_t *code, size_t *bytes);
/* Makes *source a copy in the arena with U+FFFD for each of its faults, and returns its bytes,
 * which end with a NUL. NULL when memory runs out. */
const char *scan_replace(struct arena *arena, struct source *source, size_t faults);

/* Judges every byte; *clean is what may be given to libyaml. With faults, which are reported, it is
 * a copy in `arena` in which U+FFFD stands for each bad character and # for the % of a refused
 * directive: every line and column stays, so that the rest can still be read. REFUSED when it is
 * not text, or when more than 20 faults were met. */
enum outcome scan_source(struct arena *arena, const struct source *given,
                         struct diagnostics *diagnostics, struct source *clean);
#endif
