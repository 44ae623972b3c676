/* baseline.c - writing and reading baselines. A line is read strictly: what is not
 * ours is told with its place, and nothing is judged by half of a file. */
#include "command/baseline.h"

#include <stdlib.h>
#include <string.h>

#include "base/names.h"

#define FILE_BYTES_MAX ((size_t)64 << 20)
#define FINGERPRINT_DIGITS 16
#define FIELDS 4

struct baseline {
    struct names *names; /* "FINGERPRINT PATH", to levels */
};

/* Never known: there might be anything in the part that can't be read. */
static bool is_unreadable(const struct finding *finding)
{
    return !finding->from && strcmp(finding->rule, TOPIC_READS) == 0;
}

void baseline_add(struct text *out, const struct report_rig *rig)
{
    for (size_t i = 0; i < rig->judgement.finding_count; i++) {
        const struct finding *finding = &rig->judgement.findings[i];
        if (finding->accepted || is_unreadable(finding))
            continue;
        text_print(out, "%s %s ", finding->fingerprint, level_name(finding->level));
        escape_uri(out, finding->rule);
        text_add(out, " ");
        escape_uri(out, rig->path ? rig->path : rig->file);
        text_add(out, "\n");
    }
}

/* ---- reading ---- */

struct field {
    const char *at;
    size_t length;
};

static bool find_level(const struct field *field, size_t *out)
{
    for (size_t level = 0; level < LEVEL_COUNT; level++) {
        const char *name = level_name((enum level)level);
        if (strlen(name) == field->length && memcmp(name, field->at, field->length) == 0) {
            *out = level;
            return true;
        }
    }
    return false;
}

/* Splits at single blanks; false when there are not just as many fields, or one is empty. */
static bool split(const char *line, size_t length, struct field fields[FIELDS])
{
    size_t count = 0, begin = 0;
    for (size_t i = 0; i <= length; i++) {
        if (i < length && line[i] != ' ')
            continue;
        if (count == FIELDS || i == begin)
            return false;
        fields[count++] = (struct field){line + begin, i - begin};
        begin = i + 1;
    }
    return count == FIELDS;
}

static bool is_fingerprint(const struct field *field)
{
    for (size_t i = 0; i < field->length; i++)
        if (!strchr("0123456789abcdef", field->at[i]) || !field->at[i])
            return false;
    return field->length == FINGERPRINT_DIGITS;
}

static bool is_plain(const char *line, size_t length)
{
    for (size_t i = 0; i < length; i++)
        if (line[i] < 0x20 || line[i] > 0x7e)
            return false;
    return true;
}

static const char *key_of(struct arena *arena, const char *fingerprint, const char *path,
                          size_t length)
{
    return arena_print(arena, "%.*s %.*s", FINGERPRINT_DIGITS, fingerprint, (int)length, path);
}

static enum outcome read_line(struct arena *arena, struct baseline *baseline, const char *line,
                              size_t length, struct place at, struct diagnostics *diagnostics)
{
    struct field fields[FIELDS];
    size_t level, was;
    if (!is_plain(line, length) || !split(line, length, fields) || !is_fingerprint(&fields[0]) ||
        !find_level(&fields[1], &level)) {
        diagnostics_add(diagnostics, LEVEL_ERROR, TOPIC_READS, at,
                        "a line of a baseline is FINGERPRINT LEVEL RULE PATH, as --write-baseline "
                        "writes it.");
        return diagnostics->out_of_memory ? OUTCOME_NO_MEMORY : OUTCOME_REFUSED;
    }
    const char *key = key_of(arena, fields[0].at, fields[3].at, fields[3].length);
    if (!key || !names_add(baseline->names, arena, key, level, &was))
        return OUTCOME_NO_MEMORY;
    return OUTCOME_OK;
}

static bool begins_well(const char *bytes, size_t length)
{
    size_t head = strlen(BASELINE_HEAD);
    return length >= head && memcmp(bytes, BASELINE_HEAD, head) == 0;
}

enum outcome baseline_read_bytes(struct arena *arena, const char *name, const char *bytes,
                                 size_t length, struct diagnostics *diagnostics,
                                 struct baseline **out)
{
    struct place at = {.file = name, .line = 1, .column = 1};
    *out = ARENA_TAKE(arena, 1, struct baseline);
    if (!*out || !((*out)->names = names_new(arena)))
        return OUTCOME_NO_MEMORY;
    if (!begins_well(bytes, length)) {
        diagnostics_add(diagnostics, LEVEL_ERROR, TOPIC_READS, at,
                        "this is no baseline: one begins with the line `rigtally baseline 1`.");
        return diagnostics->out_of_memory ? OUTCOME_NO_MEMORY : OUTCOME_REFUSED;
    }
    for (size_t begin = strlen(BASELINE_HEAD); begin < length;) {
        const char *end = memchr(bytes + begin, '\n', length - begin);
        size_t size = (end ? (size_t)(end - bytes) : length) - begin;
        at.line++;
        enum outcome outcome = read_line(arena, *out, bytes + begin, size, at, diagnostics);
        if (outcome != OUTCOME_OK)
            return outcome;
        begin += size + 1;
    }
    return OUTCOME_OK;
}

enum outcome baseline_read(struct arena *arena, const char *path, struct diagnostics *diagnostics,
                           struct baseline **out)
{
    struct document_limits limits = document_limits_default;
    char *bytes;
    size_t length;
    limits.file_bytes = FILE_BYTES_MAX;
    enum outcome outcome = document_bytes(arena, path, &limits, diagnostics, &bytes, &length);
    if (outcome == OUTCOME_OK)
        outcome = baseline_read_bytes(arena, path, bytes ? bytes : "", length, diagnostics, out);
    free(bytes);
    return outcome;
}

/* ---- what is known ---- */

struct known {
    struct arena *arena;
    const struct baseline *baseline;
    struct text path; /* of the rig, as a URI */
    bool no_memory;
};

static bool is_known(const void *data, const struct finding *finding)
{
    /* Looking a key up takes memory, and that it ran out is kept here. */
    struct known *known = *(struct known *const *)data;
    size_t level;
    if (finding->accepted || is_unreadable(finding))
        return false;
    const char *key = key_of(known->arena, finding->fingerprint,
                             known->path.length ? known->path.bytes : "", known->path.length);
    known->no_memory = known->no_memory || !key;
    return key && names_find(known->baseline->names, key, &level) &&
           (size_t)finding->level >= level;
}

bool baseline_leave_out(struct arena *arena, const struct baseline *baseline,
                        struct report_rig *rig)
{
    struct known known = {.arena = arena, .baseline = baseline};
    struct known *handle = &known;
    escape_uri(&known.path, rig->path ? rig->path : rig->file);
    bool well = !known.path.failed &&
                judgement_leave_out(arena, &rig->judgement, is_known, &handle) && !known.no_memory;
    text_drop(&known.path);
    return well;
}
