/* flow_text.c - a node written as one line of YAML flow text. */
#include <string.h>

#include "base/text.h"
#include "store/value_read.h"

static bool is_alnum(char byte)
{
    return (byte >= 'a' && byte <= 'z') || (byte >= 'A' && byte <= 'Z') ||
           (byte >= '0' && byte <= '9');
}

bool flow_text_is_plain(const char *text)
{
    size_t length = strlen(text);
    bool sign = text[0] == '-' || text[0] == '+' || text[0] == '.';
    if (length == 0 || !is_alnum(text[sign ? 1 : 0]) || text[length - 1] == ' ')
        return false;
    if (strcmp(text, "null") == 0 || strcmp(text, "Null") == 0 || strcmp(text, "NULL") == 0)
        return false;
    for (size_t i = 0; i < length; i++)
        if (!is_alnum(text[i]) && !strchr(" ./%+-_()", text[i]))
            return false;
    return true;
}

static void write_quoted(struct text *out, const char *text)
{
    text_add(out, "\"");
    for (; *text; text++) {
        if (*text == '\n')
            text_add(out, "\\n");
        else if (*text == '\t')
            text_add(out, "\\t");
        else if (*text == '"' || *text == '\\')
            text_print(out, "\\%c", *text);
        else
            text_add_bytes(out, text, 1);
    }
    text_add(out, "\"");
}

static void write_scalar(struct text *out, const struct node *node)
{
    if (node->empty)
        text_add(out, "~");
    else if (flow_text_is_plain(node->text))
        text_add(out, node->text);
    else
        write_quoted(out, node->text);
}

static void write_key(struct text *out, const char *key)
{
    if (flow_text_is_plain(key))
        text_add(out, key);
    else
        write_quoted(out, key);
}

/* Goes no deeper than the tree, whose depth is limited. */
static void write_node(struct text *out, const struct node *node)
{
    if (node->type == NODE_SCALAR) {
        write_scalar(out, node);
        return;
    }
    bool mapping = node->type == NODE_MAPPING;
    text_add(out, mapping ? "{" : "[");
    for (size_t i = 0; i < node->count; i++) {
        text_add(out, i > 0 ? ", " : mapping ? " " : "");
        if (mapping) {
            write_key(out, node->pairs[i].key);
            text_add(out, ": ");
        }
        write_node(out, mapping ? node->pairs[i].value : node->items[i]);
    }
    text_add(out, mapping ? " }" : "]");
}

const char *node_flow_text(struct arena *arena, const struct node *node)
{
    struct text text = {0};
    write_node(&text, node);
    const char *out = text.failed ? NULL : arena_copy(arena, text.bytes, text.length);
    text_drop(&text);
    return out;
}
