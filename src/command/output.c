/* output.c - writing a file as a whole. */
#include "command/output.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "command/command.h"

#define NAME_MOST 200 /* bytes of a file's name: room is left for the temporary one's ending */
#define PATH_MOST 4096

struct output {
    const char *path; /* as it was given */
    char folder[PATH_MOST];
    const char *name;
    char temporary[NAME_MOST + 32];
    int at; /* the folder */
};

static bool refuse(const struct output *output, const char *why)
{
    complain("%s can't be written: %s.", output->path, why);
    return false;
}

static bool split(struct output *output)
{
    const char *slash = strrchr(output->path, '/');
    size_t length = slash ? (size_t)(slash - output->path) : 0;
    output->name = slash ? slash + 1 : output->path;
    if (!output->name[0] || strcmp(output->name, ".") == 0 || strcmp(output->name, "..") == 0)
        return refuse(output, "this is a folder; name a file in it");
    if (strlen(output->name) > NAME_MOST || length >= sizeof output->folder)
        return refuse(output, "its name is too long");
    snprintf(output->folder, sizeof output->folder, "%.*s", (int)length, output->path);
    if (!length)
        snprintf(output->folder, sizeof output->folder, "%s", slash ? "/" : ".");
    return true;
}

static bool open_folder(struct output *output)
{
    output->at = open(output->folder, O_RDONLY | O_DIRECTORY | O_NOFOLLOW | O_CLOEXEC);
    if (output->at >= 0)
        return true;
    if (errno == ELOOP || errno == ENOTDIR) {
        struct stat status;
        bool link = lstat(output->folder, &status) == 0 && S_ISLNK(status.st_mode);
        return refuse(output, link ? "its folder is a link; name the folder itself"
                                   : "its folder is no folder");
    }
    return refuse(output, strerror(errno));
}

static bool may_replace(const struct output *output)
{
    struct stat status;
    if (fstatat(output->at, output->name, &status, AT_SYMLINK_NOFOLLOW) != 0)
        return errno == ENOENT || refuse(output, strerror(errno));
    if (S_ISREG(status.st_mode))
        return true;
    return refuse(output, S_ISLNK(status.st_mode)   ? "a link stands there; name the file itself"
                          : S_ISDIR(status.st_mode) ? "this is a folder; name a file in it"
                                                    : "there is something that is no plain file");
}

static int create(struct output *output)
{
    int file = -1;
    for (unsigned i = 0; file < 0 && i < 100; i++) {
        snprintf(output->temporary, sizeof output->temporary, ".%s.%ld-%u.part", output->name,
                 (long)getpid(), i);
        file = openat(output->at, output->temporary,
                      O_WRONLY | O_CREAT | O_EXCL | O_NOFOLLOW | O_CLOEXEC, 0666);
        if (file < 0 && errno != EEXIST)
            break;
    }
    return file;
}

static bool put(int file, const char *bytes, size_t length)
{
    while (length > 0) {
        ssize_t put = write(file, bytes, length);
        if (put < 0 && errno != EINTR)
            return false;
        if (put > 0) {
            bytes += put;
            length -= (size_t)put;
        }
    }
    return true;
}

static bool write_and_rename(struct output *output, const struct text *text)
{
    int file = create(output);
    if (file < 0)
        return refuse(output, strerror(errno));
    bool well = put(file, text->bytes, text->length) && fsync(file) == 0;
    int why = errno;
    if (close(file) != 0 && well) {
        well = false;
        why = errno;
    }
    if (well && renameat(output->at, output->temporary, output->at, output->name) != 0) {
        well = false;
        why = errno;
    }
    if (well)
        return true;
    unlinkat(output->at, output->temporary, 0);
    return refuse(output, strerror(why));
}

bool output_write(const char *path, const struct text *text)
{
    struct output output = {.path = path, .at = -1};
    if (text->failed) {
        complain_memory();
        return false;
    }
    if (!split(&output) || !open_folder(&output))
        return false;
    bool well = may_replace(&output) && write_and_rename(&output, text);
    close(output.at);
    return well;
}
