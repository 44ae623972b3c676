#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "document/document.h"

struct contents {
    char *bytes; /* malloc; the caller of document_bytes gets it */
    size_t length, room;
    size_t first; /* room to begin with */
};

static void refuse(struct diagnostics *diagnostics, const char *file, const char *sentence)
{
    diagnostics_add(diagnostics, LEVEL_ERROR, TOPIC_READS, (struct place){file, 0, 0}, "%s",
                    sentence);
}

static void refuse_errno(struct diagnostics *diagnostics, const char *file, int number)
{
    switch (number) {
    case ENOENT:
    case ENOTDIR:
        refuse(diagnostics, file, "there is no file of this name; look at its path.");
        break;
    case EACCES:
    case EPERM:
        refuse(diagnostics, file, "its permissions do not let it be read; change them.");
        break;
    case ELOOP:
        refuse(diagnostics, file, "its symbolic links go round in a circle.");
        break;
    case ENXIO:
        refuse(diagnostics, file, "this is a socket or a device; give a plain file.");
        break;
    default:
        diagnostics_add(diagnostics, LEVEL_ERROR, TOPIC_READS, (struct place){file, 0, 0},
                        "it can't be read; the system says: %s.", strerror(number));
    }
}

static const char *odd_kind(mode_t mode)
{
    if (S_ISDIR(mode))
        return "this is a folder; give a file in it.";
    if (S_ISFIFO(mode))
        return "this is a pipe; give a plain file.";
    return "this is a socket or a device; give a plain file.";
}

/* Room for at least one byte more than was read; never more than `most`. */
static bool widen(struct contents *contents, size_t most)
{
    size_t room = contents->room ? contents->room * 2 : contents->first;
    if (room > most)
        room = most;
    char *bytes = realloc(contents->bytes, room);
    if (!bytes)
        return false;
    contents->bytes = bytes;
    contents->room = room;
    return true;
}

/* Reads until the end, or until one byte more than a file may have: what its size is said to be
 * may be wrong by now. */
static enum outcome read_all(int descriptor, struct contents *contents, size_t most,
                             struct diagnostics *diagnostics, const char *file)
{
    while (contents->length < most) {
        if (contents->length == contents->room && !widen(contents, most))
            return OUTCOME_NO_MEMORY;
        ssize_t got =
            read(descriptor, contents->bytes + contents->length, contents->room - contents->length);
        if (got == 0)
            break;
        if (got < 0 && errno == EINTR)
            continue;
        if (got < 0) {
            refuse_errno(diagnostics, file, errno);
            return OUTCOME_REFUSED;
        }
        contents->length += (size_t)got;
    }
    return OUTCOME_OK;
}

static enum outcome read_descriptor(int descriptor, struct contents *contents,
                                    const struct document_limits *limits,
                                    struct diagnostics *diagnostics, const char *file)
{
    struct stat status;
    if (fstat(descriptor, &status) != 0) {
        refuse_errno(diagnostics, file, errno);
        return OUTCOME_REFUSED;
    }
    if (!S_ISREG(status.st_mode)) {
        refuse(diagnostics, file, odd_kind(status.st_mode));
        return OUTCOME_REFUSED;
    }
    if (status.st_size > 0 && (size_t)status.st_size > limits->file_bytes) {
        diagnostics_add(diagnostics, LEVEL_ERROR, TOPIC_READS, (struct place){file, 0, 0},
                        "the file has %zu bytes; a file may have %zu.", (size_t)status.st_size,
                        limits->file_bytes);
        return OUTCOME_REFUSED;
    }
    contents->first = status.st_size > 0 ? (size_t)status.st_size + 1 : 4096;
    return read_all(descriptor, contents, limits->file_bytes + 1, diagnostics, file);
}

enum outcome document_bytes(struct arena *arena, const char *path,
                            const struct document_limits *limits, struct diagnostics *diagnostics,
                            char **bytes, size_t *length)
{
    struct contents contents = {0};
    const char *file = arena_string(arena, path);
    *bytes = NULL;
    *length = 0;
    if (!file)
        return OUTCOME_NO_MEMORY;
    /* O_NONBLOCK: opening a pipe that nobody writes to must not wait. */
    int descriptor = open(path, O_RDONLY | O_NONBLOCK | O_NOCTTY | O_CLOEXEC);
    if (descriptor < 0) {
        refuse_errno(diagnostics, file, errno);
        return diagnostics->out_of_memory ? OUTCOME_NO_MEMORY : OUTCOME_REFUSED;
    }
    enum outcome outcome = read_descriptor(descriptor, &contents, limits, diagnostics, file);
    close(descriptor);
    if (outcome != OUTCOME_OK) {
        free(contents.bytes);
        return diagnostics->out_of_memory ? OUTCOME_NO_MEMORY : outcome;
    }
    *bytes = contents.bytes;
    *length = contents.length;
    return OUTCOME_OK;
}

enum outcome document_read_file(struct arena *arena, const char *path,
                                const struct document_limits *limits,
                                struct diagnostics *diagnostics, struct node **root)
{
    char *bytes;
    size_t length;
    *root = NULL;
    enum outcome outcome = document_bytes(arena, path, limits, diagnostics, &bytes, &length);
    if (outcome == OUTCOME_OK)
        outcome = document_read(arena, path, bytes, length, limits, diagnostics, root);
    free(bytes);
    return diagnostics->out_of_memory ? OUTCOME_NO_MEMORY : outcome;
}
