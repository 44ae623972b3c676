/* reader.c - the small steps that all readers of the store take. */
#include "store/reader.h"

#include <string.h>

#include "store/shape.h"

bool reader_is_done(const struct reader *reader)
{
    return reader->no_memory || faults_full(&reader->faults);
}

const char *keep(struct reader *reader, const char *string)
{
    if (!string)
        return NULL;
    const char *copy = arena_string(reader->arena, string);
    reader->no_memory |= !copy;
    return copy;
}

const char *const *keep_texts(struct reader *reader, char *const *texts, size_t count)
{
    if (count == 0)
        return NULL;
    const char **kept = ARENA_TAKE(reader->arena, count, const char *);
    for (size_t i = 0; kept && i < count; i++)
        kept[i] = keep(reader, texts[i]);
    reader->no_memory |= !kept;
    return kept;
}

const struct node *value_of(const struct node *mapping, const char *key)
{
    const struct node_pair *pair = node_find(mapping, key);
    return pair ? pair->value : mapping;
}

bool keep_yes(struct reader *reader, const struct node *mapping, const char *key, const char *text)
{
    if (!text || strcmp(text, "no") == 0)
        return false;
    if (strcmp(text, "yes") == 0)
        return true;
    COMPLAIN(reader, TOPIC_WORDS, value_of(mapping, key)->at, "%s takes yes or no, not '%s'.", key,
             shown(reader->diagnostics, text));
    return false;
}

static bool is_small_letter(char byte)
{
    return byte >= 'a' && byte <= 'z';
}

bool name_is_good(const char *name, const char *joints)
{
    if (!is_small_letter(name[0]))
        return false;
    bool after_joint = false;
    for (const char *byte = name; *byte; byte++) {
        bool joint = strchr(joints, *byte) != NULL;
        bool plain = is_small_letter(*byte) || (*byte >= '0' && *byte <= '9');
        if ((!joint && !plain) || (joint && after_joint))
            return false;
        after_joint = joint;
    }
    return !after_joint;
}

bool name_is_new(struct reader *reader, struct names *names, const char *name, size_t number,
                 size_t *was)
{
    if (!names_add(names, reader->arena, name, number, was)) {
        reader->no_memory = true;
        return true;
    }
    return *was == number;
}

void already_there(struct reader *reader, struct place at, struct place also, const char *name)
{
    if (!faults_count(&reader->faults, at))
        return;
    diagnostics_add_pair(reader->diagnostics, LEVEL_ERROR, TOPIC_ONCE, at, also,
                         "%s is there already%s.", name, also.line ? "" : ", built in");
}
