/* beneath.c - opening a folder below another, and no other. */
#include <errno.h>
#include <fcntl.h>
#include <linux/openat2.h>
#include <string.h>
#include <sys/syscall.h>
#include <unistd.h>

#include "command/repository.h"

/* One step down. A link is refused: without the kernel's help nobody knows where it leads. */
static int step(int folder, const char *name, size_t length)
{
    char part[256];
    if (length >= sizeof part) {
        errno = ENAMETOOLONG;
        return -1;
    }
    if (length == 2 && strncmp(name, "..", 2) == 0) {
        errno = EXDEV;
        return -1;
    }
    memcpy(part, name, length);
    part[length] = '\0';
    int next = openat(folder, part, O_RDONLY | O_DIRECTORY | O_NOFOLLOW | O_CLOEXEC);
    if (next < 0 && (errno == ELOOP || errno == ENOTDIR)) {
        int kind = errno;
        char target[1];
        errno = readlinkat(folder, part, target, sizeof target) >= 0 ? EXDEV : kind;
    }
    return next;
}

int walk_beneath(int root, const char *folder)
{
    int at = dup(root);
    if (folder[0] == '/') {
        close(at);
        errno = EXDEV;
        return -1;
    }
    while (at >= 0 && *folder) {
        size_t length = strcspn(folder, "/");
        int next = length ? step(at, folder, length) : dup(at);
        int kind = errno;
        close(at);
        errno = kind;
        at = next;
        folder += length + (folder[length] == '/');
    }
    return at;
}

int open_beneath(const char *root, const char *folder)
{
    int at = open(root, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    if (at < 0)
        return -1;
    struct open_how how = {.flags = O_RDONLY | O_DIRECTORY | O_CLOEXEC,
                           .resolve = RESOLVE_BENEATH | RESOLVE_NO_MAGICLINKS};
    int found = (int)syscall(SYS_openat2, at, folder, &how, sizeof how);
    if (found < 0 && (errno == ENOSYS || errno == EPERM)) /* an old kernel, or a sandbox */
        found = walk_beneath(at, folder);
    int kind = errno;
    close(at);
    errno = kind;
    return found;
}
