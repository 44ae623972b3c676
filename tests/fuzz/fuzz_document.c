/* fuzz_document.c - any bytes at all: reading ends, and what comes out keeps the
 * promises of document.h. Built and run by `make fuzz`. */
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "document/document.h"
#include "document/scan.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

#define CHECK(what)                                                                                \
    do {                                                                                           \
        if (!(what)) {                                                                             \
            fprintf(stderr, "%s:%d: not so: %s\n", __FILE__, __LINE__, #what);                     \
            abort();                                                                               \
        }                                                                                          \
    } while (0)

struct check {
    const struct source *source;
    const struct document_limits *limits;
    unsigned lines;
    size_t nodes;
};

/* Within the file, or the place just behind its end. */
static void check_place(const struct check *check, struct place at)
{
    CHECK(at.file && strcmp(at.file, "fuzz.yaml") == 0);
    CHECK(at.line >= 1 && at.line <= check->lines);
    CHECK(at.column >= 1 && at.column <= check->source->length + 1);
}

static void check_text(const char *text, size_t most)
{
    struct source source = {"", text, strlen(text), 0};
    uint32_t code;
    size_t bytes;
    CHECK(source.length <= most);
    CHECK(scan_fault(&source, 0, &code, &bytes) == source.length);
}

static void check_pairs(const struct check *check, const struct node *node)
{
    for (size_t i = 0; i < node->count; i++) {
        check_place(check, node->pairs[i].key_at);
        /* U+FFFD may take more bytes than the escape's character that it stands for */
        check_text(node->pairs[i].key, 3 * check->limits->key_bytes);
        CHECK(node->count > 50 || node_find(node, node->pairs[i].key) == &node->pairs[i]);
    }
}

static void check_node(struct check *check, const struct node *node, size_t depth)
{
    CHECK(node != NULL);
    check_place(check, node->at);
    check->nodes++;
    if (node->type == NODE_SCALAR) {
        CHECK(node->count == 0);
        CHECK(!(node->empty && node->quoted));
        check_text(node->text, 3 * check->limits->scalar_bytes);
        return;
    }
    CHECK(depth <= check->limits->depth); /* of mappings and lists */
    CHECK(!node->empty && !node->quoted);
    if (node->type == NODE_MAPPING)
        check_pairs(check, node);
    for (size_t i = 0; i < node->count; i++)
        check_node(check, node->type == NODE_MAPPING ? node->pairs[i].value : node->items[i],
                   depth + 1);
}

static void check_diagnostics(const struct check *check, const struct diagnostics *diagnostics)
{
    for (size_t i = 0; i < diagnostics->count; i++) {
        const struct diagnostic *diagnostic = &diagnostics->at[i];
        size_t length = strlen(diagnostic->message);
        CHECK(length > 1 && diagnostic->message[length - 1] == '.');
        if (diagnostic->at.line)
            check_place(check, diagnostic->at);
        if (diagnostic->also.line)
            check_place(check, diagnostic->also);
    }
}

static void read_once(const struct source *source, const struct document_limits *limits)
{
    struct arena *arena = arena_new();
    struct diagnostics diagnostics = {.arena = arena};
    struct node *root = NULL;
    struct check check = {source, limits, 1, 0};
    if (!arena)
        return;
    for (size_t i = 0; i < source->length; i++)
        check.lines += source->bytes[i] == '\n' || source->bytes[i] == '\r';
    enum outcome outcome = document_read(arena, "fuzz.yaml", source->bytes, source->length, limits,
                                         &diagnostics, &root);
    CHECK(outcome == OUTCOME_OK || outcome == OUTCOME_REFUSED);
    CHECK((outcome == OUTCOME_OK) == (root != NULL));
    CHECK(root || diagnostics.count > 0);
    CHECK(diagnostics.count <= 1100);
    if (root) {
        check_node(&check, root, 1);
        CHECK(check.nodes <= limits->nodes + limits->depth);
        CHECK(diagnostics.count > 0 || !root->damaged);
    }
    check_diagnostics(&check, &diagnostics);
    arena_drop(arena);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static const struct document_limits tight = {
        .file_bytes = 1u << 20, .depth = 4, .scalar_bytes = 12, .key_bytes = 6, .nodes = 40};
    struct source source = {"fuzz.yaml", (const char *)data, size, 0};
    read_once(&source, &document_limits_default);
    read_once(&source, &tight);
    return 0;
}
