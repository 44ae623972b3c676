#include "document/document.h"

#include <limits.h>
#include <stdlib.h>
#include <string.h>
#include <yaml.h>

#include "base/names.h"
#include "document/scan.h"
#include "document/syntax.h"

enum { MOST_FAULTS = 1000 }; /* reported of one file; a file of 4 MiB could hold a million */

const struct document_limits document_limits_default = {
    .file_bytes = 4u << 20,
    .depth = 32,
    .scalar_bytes = 64u << 10,
    .key_bytes = 256,
    .nodes = 600000,
};

/* A mapping or sequence that is still open. */
struct frame {
    struct node *node;
    size_t first;  /* its first child in `children` */
    bool key_read; /* of a mapping: the next node is a value */
    bool dropped;  /* its key was refused: the value goes too */
    bool key_plain;
    char bracket; /* [ or {; '\0' in block style */
    const char *key;
    struct place key_at;
};

struct reader {
    struct arena *arena;   /* the caller's: the tree */
    struct arena *scratch; /* goes with the call */
    const struct document_limits *limits;
    struct diagnostics *diagnostics;
    struct source source;
    yaml_parser_t parser;
    struct {
        struct frame *at;
        size_t count, room;
    } frames;
    struct {
        struct node_pair *at;
        size_t count, room;
    } children; /* of all open frames, the outermost first; of a sequence only `value` is used */
    struct node *root;
    struct node *latest; /* the value that was read last, if a scalar */
    size_t latest_end;   /* the line on which it ends, from 0 */
    size_t nodes, faults;
    size_t reported_before;           /* diagnostics of other files */
    size_t cursor_byte, cursor_index; /* a byte of the source and the code point that it begins */
    bool stopped;                     /* read no further */
    bool no_memory;
};

static struct place place_of(const struct reader *reader, yaml_mark_t mark)
{
    return (struct place){reader->source.file, (unsigned)mark.line + 1, (unsigned)mark.column + 1};
}

static void out_of_memory(struct reader *reader)
{
    reader->no_memory = true;
    reader->stopped = true;
}

/* False when this fault is past the number that is reported of one file. */
static bool may_report(struct reader *reader, struct place at)
{
    if (++reader->faults <= MOST_FAULTS)
        return true;
    if (reader->faults == MOST_FAULTS + 1)
        diagnostics_add(reader->diagnostics, LEVEL_ERROR, TOPIC_READS, at,
                        "%d faults stand before this one. Reading stopped here.", MOST_FAULTS);
    reader->stopped = true;
    return false;
}

static void fault(struct reader *reader, struct place at, const char *sentence)
{
    if (may_report(reader, at))
        diagnostics_add(reader->diagnostics, LEVEL_ERROR, TOPIC_READS, at, "%s", sentence);
}

/* Moves the cursor on to a mark; marks only grow, so that a whole file costs one walk. */
static size_t byte_of(struct reader *reader, yaml_mark_t mark)
{
    const struct source *source = &reader->source;
    uint32_t code;
    if (mark.index <= source->plain)
        return mark.index;
    if (reader->cursor_byte < source->plain)
        reader->cursor_byte = reader->cursor_index = source->plain;
    while (reader->cursor_index < mark.index && reader->cursor_byte < source->length) {
        reader->cursor_byte += scan_decode(source->bytes + reader->cursor_byte,
                                           source->length - reader->cursor_byte, &code);
        reader->cursor_index++;
    }
    return reader->cursor_byte;
}

/* ---- nodes ---- */

static struct node *node_new(struct reader *reader, enum node_type type, struct place at)
{
    if (++reader->nodes > reader->limits->nodes) {
        if (may_report(reader, at))
            diagnostics_add(reader->diagnostics, LEVEL_ERROR, TOPIC_READS, at,
                            "the file has more than %zu values, which is the most that is read. "
                            "Reading stopped here.",
                            reader->limits->nodes);
        reader->stopped = true;
        return NULL;
    }
    struct node *node = ARENA_TAKE(reader->arena, 1, struct node);
    if (!node) {
        out_of_memory(reader);
        return NULL;
    }
    node->type = type;
    node->at = at;
    node->text = "";
    return node;
}

static struct frame *top(struct reader *reader)
{
    return reader->frames.count ? &reader->frames.at[reader->frames.count - 1] : NULL;
}

static bool key_is_due(struct reader *reader)
{
    struct frame *frame = top(reader);
    return frame && frame->node->type == NODE_MAPPING && !frame->key_read;
}

/* "{voltage:12 V}" is to YAML a key of that whole name with no value. */
static bool lacks_blank(const struct frame *frame, const struct node *value)
{
    return frame->key_plain && value->type == NODE_SCALAR && value->empty && !value->text[0] &&
           strchr(frame->key, ':');
}

/* Hands a finished scalar or a container that has just begun to its parent. */
static void attach(struct reader *reader, struct node *node)
{
    struct frame *frame = top(reader);
    if (!frame) {
        reader->root = node;
        return;
    }
    frame->key_read = false;
    if (frame->node->type == NODE_MAPPING) {
        if (frame->dropped)
            return;
        if (lacks_blank(frame, node)) {
            fault(reader, frame->key_at,
                  "a key's ':' needs a blank behind it, as in 'key: value'.");
            frame->node->damaged = true;
            return;
        }
    }
    if (!ARENA_GROW(reader->scratch, &reader->children)) {
        out_of_memory(reader);
        return;
    }
    reader->children.at[reader->children.count++] =
        (struct node_pair){frame->key, frame->key_at, node};
}

static void open_frame(struct reader *reader, struct node *node, bool flow)
{
    if (!ARENA_GROW(reader->scratch, &reader->frames)) {
        out_of_memory(reader);
        return;
    }
    char bracket = !flow ? '\0' : node->type == NODE_MAPPING ? '{' : '[';
    reader->frames.at[reader->frames.count++] =
        (struct frame){.node = node, .first = reader->children.count, .bracket = bracket};
}

/* ---- keys ---- */

/* The key of the innermost mapping is `key`, or was refused when that is NULL. */
static void set_key(struct reader *reader, const char *key, struct place at, bool plain)
{
    struct frame *frame = top(reader);
    frame->key_read = true;
    frame->key = key;
    frame->key_at = at;
    frame->key_plain = plain;
    frame->dropped = !key;
    if (!key)
        frame->node->damaged = true;
}

struct key_order {
    uint64_t hash;
    const char *key;
    size_t order;
};

static int compare_keys(const void *left, const void *right)
{
    const struct key_order *a = left, *b = right;
    if (a->hash != b->hash)
        return a->hash < b->hash ? -1 : 1;
    int by_text = strcmp(a->key, b->key);
    if (by_text)
        return by_text;
    return a->order < b->order ? -1 : a->order > b->order;
}

static void report_twice(struct reader *reader, const struct node_pair *first,
                         const struct node_pair *again)
{
    if (may_report(reader, again->key_at))
        diagnostics_add_pair(
            reader->diagnostics, LEVEL_ERROR, TOPIC_ONCE, again->key_at, first->key_at,
            "'%s' stands here for the second time; keep one of the two.", again->key);
}

/* Few keys: each against those before it. */
static void drop_repeated_few(struct reader *reader, struct node_pair *pairs, size_t count)
{
    for (size_t i = 1; i < count; i++) {
        for (size_t j = 0; j < i; j++) {
            if (pairs[j].value && name_same(pairs[i].key, pairs[j].key)) {
                report_twice(reader, &pairs[j], &pairs[i]);
                pairs[i].value = NULL;
                break;
            }
        }
    }
}

/* FNV-1a, 64 bits (Fowler, Noll and Vo; constants from memory). */
static uint64_t hash_of(const char *text)
{
    uint64_t hash = 0xCBF29CE484222325u;
    for (; *text; text++)
        hash = (hash ^ (unsigned char)*text) * 0x100000001B3u;
    return hash;
}

/* Many: sorted, since no choice of keys makes that slow, as it could a hash table. The hash goes
 * first only because it lies at hand, where the keys are all over memory. */
static void drop_repeated_many(struct reader *reader, struct node_pair *pairs, size_t count)
{
    struct key_order *keys = ARENA_TAKE_UNSET(reader->scratch, count, struct key_order);
    if (!keys) {
        out_of_memory(reader);
        return;
    }
    for (size_t i = 0; i < count; i++)
        keys[i] = (struct key_order){hash_of(pairs[i].key), pairs[i].key, i};
    qsort(keys, count, sizeof *keys, compare_keys);
    for (size_t i = 1, first = 0; i < count; i++) {
        if (keys[i].hash != keys[first].hash || strcmp(keys[i].key, keys[first].key) != 0) {
            first = i;
            continue;
        }
        report_twice(reader, &pairs[keys[first].order], &pairs[keys[i].order]);
        pairs[keys[i].order].value = NULL;
    }
}

/* Reports keys that stand twice, takes all but the first out, and returns how many are left. */
static size_t drop_repeated(struct reader *reader, struct node_pair *pairs, size_t count)
{
    size_t kept = 0;
    if (count <= 16)
        drop_repeated_few(reader, pairs, count);
    else
        drop_repeated_many(reader, pairs, count);
    for (size_t i = 0; i < count; i++) {
        if (pairs[i].value)
            pairs[kept++] = pairs[i];
    }
    return kept;
}

/* ---- the end of a mapping or sequence ---- */

static void keep_pairs(struct reader *reader, struct node *node, struct node_pair *from,
                       size_t count)
{
    count = drop_repeated(reader, from, count);
    if (count == 0)
        return;
    node->pairs = ARENA_TAKE_UNSET(reader->arena, count, struct node_pair);
    if (!node->pairs) {
        out_of_memory(reader);
        return;
    }
    memcpy(node->pairs, from, count * sizeof *from);
    node->count = count;
}

static void keep_items(struct reader *reader, struct node *node, const struct node_pair *from,
                       size_t count)
{
    if (count == 0)
        return;
    node->items = ARENA_TAKE_UNSET(reader->arena, count, struct node *);
    if (!node->items) {
        out_of_memory(reader);
        return;
    }
    for (size_t i = 0; i < count; i++)
        node->items[i] = from[i].value;
    node->count = count;
}

static void close_frame(struct reader *reader)
{
    struct frame frame = reader->frames.at[--reader->frames.count];
    size_t count = reader->children.count - frame.first;
    struct node_pair *from = count ? reader->children.at + frame.first : NULL;
    reader->children.count = frame.first;
    if (frame.node->type == NODE_MAPPING)
        keep_pairs(reader, frame.node, from, count);
    else
        keep_items(reader, frame.node, from, count);
}

/* Closes what was open when reading stopped, each marked as cut short. */
static void close_all(struct reader *reader)
{
    if (reader->root && reader->frames.count > 0)
        reader->root->cut = true;
    while (reader->frames.count > 0 && !reader->no_memory) {
        struct frame *frame = top(reader);
        frame->node->damaged = true;
        if (frame->node->type == NODE_MAPPING && frame->key_read && !frame->dropped) {
            struct node *value = ARENA_TAKE(reader->arena, 1, struct node);
            if (!value) {
                out_of_memory(reader);
                return;
            }
            *value = (struct node){.at = frame->key_at, .empty = true, .damaged = true, .text = ""};
            frame->key_plain = false;
            attach(reader, value);
        }
        close_frame(reader);
    }
}

/* ---- scalars ---- */

/* One character of a text in double quotes: what it stands for, and how many bytes it takes.
 * libyaml has read it before, so that an escape is whole. */
static size_t quoted_character(const char *bytes, size_t left, uint32_t *code)
{
    static const char letters[] = "0abtnvfreNLP";
    static const uint32_t stands_for[] = {0, 7, 8, 9, 10, 11, 12, 13, 27, 0x85, 0x2028, 0x2029};
    if (bytes[0] != '\\' || left < 2)
        return scan_decode(bytes, left, code);
    size_t digits = bytes[1] == 'x' ? 2 : bytes[1] == 'u' ? 4 : bytes[1] == 'U' ? 8 : 0;
    const char *letter = strchr(letters, bytes[1]);
    *code = ' ';
    if (letter && *letter)
        *code = stands_for[letter - letters];
    if (digits == 0 || left < 2 + digits)
        return 2;
    char number[9] = {0};
    memcpy(number, bytes + 2, digits);
    *code = (uint32_t)strtoul(number, NULL, 16);
    return 2 + digits;
}

/* The first bad escape from `byte`, the opening quote, on, and how many bytes it takes. */
static size_t find_escape(const struct source *source, size_t byte, size_t *bytes)
{
    uint32_t code;
    for (; byte < source->length; byte += *bytes) {
        *bytes = quoted_character(source->bytes + byte, source->length - byte, &code);
        if (source->bytes[byte] == '\\' && character_judge(code) != CHARACTER_FINE)
            return byte;
    }
    *bytes = 0;
    return source->length;
}

static void report_escape(struct reader *reader, const yaml_event_t *event)
{
    struct place at = place_of(reader, event->start_mark);
    const struct source *source = &reader->source;
    size_t bytes, quote = byte_of(reader, event->start_mark);
    if (!may_report(reader, at))
        return;
    size_t escape = find_escape(source, quote, &bytes);
    scan_advance(source, quote, escape, &at);
    diagnostics_add(reader->diagnostics, LEVEL_ERROR, TOPIC_READS, at,
                    "the escape %.*s stands for a character that no text may hold; leave it out.",
                    (int)bytes, source->bytes + escape);
}

static size_t count_faults(const struct source *text)
{
    uint32_t code;
    size_t bytes = 0, faults = 0;
    for (size_t i = 0; (i = scan_fault(text, i, &code, &bytes)) < text->length; i += bytes)
        faults++;
    return faults;
}

/* The decoded text in the arena; each character that may not be there becomes U+FFFD. */
static const char *keep_text(struct reader *reader, const yaml_event_t *event, bool *damaged)
{
    struct source text = {.bytes = (const char *)event->data.scalar.value,
                          .length = event->data.scalar.length};
    /* Only escapes can bring in what the scan of the bytes did not see. */
    size_t faults =
        event->data.scalar.style == YAML_DOUBLE_QUOTED_SCALAR_STYLE ? count_faults(&text) : 0;
    const char *kept = faults ? scan_replace(reader->arena, &text, faults)
                              : arena_copy(reader->arena, text.bytes, text.length);
    if (!kept) {
        out_of_memory(reader);
        return NULL;
    }
    if (faults) {
        *damaged = true;
        report_escape(reader, event);
    }
    return kept;
}

static bool stands_for_nothing(const char *text)
{
    return !text[0] || name_same(text, "~") || name_same(text, "null") || name_same(text, "Null") ||
           name_same(text, "NULL");
}

static void report_marks(struct reader *reader, struct place at, const yaml_char_t *anchor,
                         const yaml_char_t *tag)
{
    if (anchor)
        fault(reader, at, "an anchor (&) has no use here; delete it, or put the text in quotes.");
    if (tag)
        fault(reader, at, "a tag (!) has no use here; delete it, or put the text in quotes.");
}

static void read_key(struct reader *reader, const yaml_event_t *event, struct place at)
{
    size_t length = event->data.scalar.length;
    bool plain = event->data.scalar.style == YAML_PLAIN_SCALAR_STYLE;
    bool damaged = false;
    const char *key = NULL;
    if (length > reader->limits->key_bytes) {
        if (may_report(reader, at))
            diagnostics_add(reader->diagnostics, LEVEL_ERROR, TOPIC_READS, at,
                            "this key has %zu bytes; a key may have %zu.", length,
                            reader->limits->key_bytes);
    } else if (plain && length == 0) {
        fault(reader, at, "a key is missing here.");
    } else if (!(key = keep_text(reader, event, &damaged))) {
        return;
    } else if (plain && strcmp(key, "<<") == 0) {
        fault(reader, at, "'<<' merges nothing here; write the keys out.");
        key = NULL;
    }
    set_key(reader, key, at, plain);
    if (damaged)
        top(reader)->node->damaged = true;
}

/* An entry of a list that is indented a little too far is to YAML more of the text above it. */
static void look_for_entry(struct reader *reader, const yaml_event_t *event, struct place at)
{
    const struct source *source = &reader->source;
    size_t from = byte_of(reader, event->start_mark), to = byte_of(reader, event->end_mark);
    for (size_t i = from; i + 1 < to; i++) {
        if (source->bytes[i] != '\n' && source->bytes[i] != '\r')
            continue;
        while (i + 2 < to && (source->bytes[i + 1] == ' ' || source->bytes[i + 1] == '\t'))
            i++;
        if (source->bytes[i + 1] != '-' || i + 2 >= to || source->bytes[i + 2] != ' ')
            continue;
        scan_advance(source, from, i + 1, &at);
        if (may_report(reader, at))
            diagnostics_add(reader->diagnostics, LEVEL_CAUTION, TOPIC_READS, at,
                            "this '- ' is read as more of the text above it; line it up with the "
                            "entries of its list, or put the text in quotes.");
        return;
    }
}

static void read_value(struct reader *reader, const yaml_event_t *event, struct place at)
{
    size_t length = event->data.scalar.length;
    struct node *node = node_new(reader, NODE_SCALAR, at);
    if (!node)
        return;
    node->quoted = event->data.scalar.style != YAML_PLAIN_SCALAR_STYLE;
    if (length > reader->limits->scalar_bytes) {
        if (may_report(reader, at))
            diagnostics_add(reader->diagnostics, LEVEL_ERROR, TOPIC_READS, at,
                            "this text has %zu bytes; a text may have %zu.", length,
                            reader->limits->scalar_bytes);
        node->damaged = true;
    } else if (!(node->text = keep_text(reader, event, &node->damaged))) {
        return;
    }
    node->empty = !node->quoted && !node->damaged && stands_for_nothing(node->text);
    if (!node->quoted && event->end_mark.line > event->start_mark.line)
        look_for_entry(reader, event, at);
    reader->latest = node;
    reader->latest_end = event->end_mark.line;
    attach(reader, node);
}

/* Where a scalar stands; a value that is absent may be marked at what comes next, or on a line past
 * the end of the file: it stands where its key does. */
static struct place place_of_scalar(struct reader *reader, const yaml_event_t *event)
{
    struct frame *frame = top(reader);
    bool nothing = event->start_mark.index == event->end_mark.index;
    if (nothing && event->start_mark.column == 0 && frame && frame->key_read)
        return frame->key_at;
    return place_of(reader, event->start_mark);
}

static void read_scalar(struct reader *reader, const yaml_event_t *event)
{
    struct place at = place_of_scalar(reader, event);
    report_marks(reader, at, event->data.scalar.anchor, event->data.scalar.tag);
    if (reader->stopped)
        return;
    if (key_is_due(reader))
        read_key(reader, event, at);
    else
        read_value(reader, event, at);
}

static void read_alias(struct reader *reader, const yaml_event_t *event)
{
    struct place at = place_of(reader, event->start_mark);
    fault(reader, at,
          "an alias (*) has no use here; write the value out, or put the text in quotes.");
    if (key_is_due(reader)) {
        set_key(reader, NULL, at, false);
        return;
    }
    struct node *node = node_new(reader, NODE_SCALAR, at);
    if (!node)
        return;
    node->empty = true;
    node->damaged = true;
    attach(reader, node);
}

static void open_container(struct reader *reader, enum node_type type, struct place at, bool flow)
{
    if (reader->frames.count >= reader->limits->depth) {
        if (may_report(reader, at))
            diagnostics_add(reader->diagnostics, LEVEL_ERROR, TOPIC_READS, at,
                            "this is nested more than %zu deep, which is the most that is read. "
                            "Reading stopped here.",
                            reader->limits->depth);
        reader->stopped = true;
        return;
    }
    struct node *node = node_new(reader, type, at);
    if (!node)
        return;
    if (key_is_due(reader)) {
        fault(reader, at, "a key must be one word or text, not a list or a mapping.");
        set_key(reader, NULL, at, false);
    } else {
        attach(reader, node);
    }
    open_frame(reader, node, flow);
}

/* ---- events ---- */

/* What follows the document is told from the bytes: asking libyaml for a second one would have it
 * read any number of directives first. */
static void end_document(struct reader *reader, yaml_mark_t end)
{
    bool more = syntax_report_rest(&reader->source, byte_of(reader, end), reader->diagnostics);
    if (!more || !reader->root)
        return;
    reader->root->cut = true;
    reader->root->damaged = reader->root->damaged || reader->root->type != NODE_SCALAR;
}

static void read_event(struct reader *reader, const yaml_event_t *event)
{
    struct place at = place_of(reader, event->start_mark);
    switch (event->type) {
    case YAML_SCALAR_EVENT:
        read_scalar(reader, event);
        break;
    case YAML_ALIAS_EVENT:
        read_alias(reader, event);
        break;
    case YAML_MAPPING_START_EVENT:
        report_marks(reader, at, event->data.mapping_start.anchor, event->data.mapping_start.tag);
        open_container(reader, NODE_MAPPING, at,
                       event->data.mapping_start.style == YAML_FLOW_MAPPING_STYLE);
        break;
    case YAML_SEQUENCE_START_EVENT:
        report_marks(reader, at, event->data.sequence_start.anchor, event->data.sequence_start.tag);
        open_container(reader, NODE_SEQUENCE, at,
                       event->data.sequence_start.style == YAML_FLOW_SEQUENCE_STYLE);
        break;
    case YAML_MAPPING_END_EVENT:
    case YAML_SEQUENCE_END_EVENT:
        close_frame(reader);
        break;
    case YAML_DOCUMENT_END_EVENT:
        end_document(reader, event->end_mark);
        reader->stopped = true;
        break;
    case YAML_STREAM_END_EVENT:
        reader->stopped = true;
        break;
    default:
        break;
    }
}

/* libyaml can't go on. A text on the line where it stopped may have lost its end, or taken in what
 * was meant to be a key. */
static void end_on_error(struct reader *reader)
{
    /* libyaml 0.2.5 fails with no error at all when memory for a tag's handle runs out. */
    if (reader->parser.error == YAML_MEMORY_ERROR || reader->parser.error == YAML_NO_ERROR) {
        out_of_memory(reader);
        return;
    }
    if (reader->latest && reader->latest_end == reader->parser.problem_mark.line)
        reader->latest->damaged = true;
    struct opening open = {0};
    if (top(reader))
        open = (struct opening){top(reader)->node->at, top(reader)->bracket};
    syntax_report(&reader->source, &reader->parser, open, reader->diagnostics);
}

static void read_events(struct reader *reader)
{
    while (!reader->stopped) {
        yaml_event_t event;
        if (!yaml_parser_parse(&reader->parser, &event)) {
            end_on_error(reader);
            break;
        }
        read_event(reader, &event);
        yaml_event_delete(&event);
    }
    close_all(reader);
}

/* Runs libyaml over the clean source. */
static void run_parser(struct reader *reader)
{
    if (!yaml_parser_initialize(&reader->parser)) {
        out_of_memory(reader);
        return;
    }
    yaml_parser_set_encoding(&reader->parser, YAML_UTF8_ENCODING);
    yaml_parser_set_input_string(&reader->parser, (const unsigned char *)reader->source.bytes,
                                 reader->source.length);
    read_events(reader);
    yaml_parser_delete(&reader->parser);
}

/* A document of nothing, or of one empty value, is none. */
static void refuse_empty(struct reader *reader)
{
    struct node *root = reader->root;
    if (root && !(root->type == NODE_SCALAR && root->empty && !root->damaged))
        return;
    if (reader->diagnostics->count == reader->reported_before)
        diagnostics_add(reader->diagnostics, LEVEL_ERROR, TOPIC_READS,
                        (struct place){reader->source.file, 1, 1},
                        "nothing stands in this file but blanks and comments.");
    reader->root = NULL;
}

static enum outcome read_source(struct reader *reader, const struct source *given)
{
    enum outcome outcome =
        scan_source(reader->scratch, given, reader->diagnostics, &reader->source);
    if (outcome != OUTCOME_OK)
        return outcome;
    run_parser(reader);
    if (!reader->no_memory)
        refuse_empty(reader);
    if (reader->no_memory)
        return OUTCOME_NO_MEMORY;
    return reader->root ? OUTCOME_OK : OUTCOME_REFUSED;
}

enum outcome document_read(struct arena *arena, const char *name, const char *bytes, size_t length,
                           const struct document_limits *limits, struct diagnostics *diagnostics,
                           struct node **root)
{
    struct reader reader = {.arena = arena,
                            .limits = limits,
                            .diagnostics = diagnostics,
                            .reported_before = diagnostics->count};
    struct source given = {arena_string(arena, name), bytes ? bytes : "", length, 0};
    *root = NULL;
    if (!given.file)
        return OUTCOME_NO_MEMORY;
    if (length > limits->file_bytes) {
        diagnostics_add(diagnostics, LEVEL_ERROR, TOPIC_READS, (struct place){given.file, 0, 0},
                        "the file has %zu bytes; a file may have %zu.", length, limits->file_bytes);
        return diagnostics->out_of_memory ? OUTCOME_NO_MEMORY : OUTCOME_REFUSED;
    }
    reader.scratch = arena_new();
    if (!reader.scratch)
        return OUTCOME_NO_MEMORY;
    enum outcome outcome = read_source(&reader, &given);
    arena_drop(reader.scratch);
    if (diagnostics->out_of_memory)
        return OUTCOME_NO_MEMORY;
    if (outcome == OUTCOME_OK)
        *root = reader.root;
    return outcome;
}

const struct node_pair *node_find(const struct node *mapping, const char *key)
{
    if (mapping->type != NODE_MAPPING)
        return NULL;
    for (size_t i = 0; i < mapping->count; i++) {
        if (name_same(mapping->pairs[i].key, key))
            return &mapping->pairs[i];
    }
    return NULL;
}
