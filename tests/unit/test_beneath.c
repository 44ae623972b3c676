/* test_beneath.c - folders that a repository's file names stay below its own, with
 * the kernel's help and without. */
#include "check.h"

#include <errno.h>
#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include "command/repository.h"

static char root[] = "/tmp/rigtally-beneath-XXXXXX";
static char inner[sizeof root + 8];

static const char *below(const char *name)
{
    static char path[256];
    snprintf(path, sizeof path, "%s/%s", root, name);
    return path;
}

static int make_folders(void **state)
{
    (void)state;
    if (!mkdtemp(root))
        return -1;
    snprintf(inner, sizeof inner, "%s/in", root);
    bool made = mkdir(inner, 0700) == 0 && mkdir(below("in/a"), 0700) == 0 &&
                mkdir(below("in/a/b"), 0700) == 0 && symlink("a", below("in/link")) == 0 &&
                symlink("..", below("in/up")) == 0 && symlink("/", below("in/slash")) == 0;
    int file = made ? open(below("in/file"), O_CREAT | O_WRONLY | O_EXCL, 0600) : -1;
    return file < 0 ? -1 : close(file);
}

static int drop_folders(void **state)
{
    static const char *const links[] = {"in/link", "in/up", "in/slash", "in/file"};
    static const char *const folders[] = {"in/a/b", "in/a", "in", ""};
    (void)state;
    for (size_t i = 0; i < 4; i++)
        unlink(below(links[i]));
    for (size_t i = 0; i < 4; i++)
        rmdir(below(folders[i]));
    return 0;
}

static const struct row {
    const char *folder;
    int kernel, walk; /* errno; 0: it opens */
} rows[] = {
    {"a", 0, 0},
    {"a/b", 0, 0},
    {"a//b/", 0, 0},
    {".", 0, 0},
    {"./a", 0, 0},
    {"..", EXDEV, EXDEV},
    {"a/../../in", EXDEV, EXDEV},
    {"/", EXDEV, EXDEV},
    {"/tmp", EXDEV, EXDEV},
    {"up", EXDEV, EXDEV},
    {"slash", EXDEV, EXDEV},
    {"up/in", EXDEV, EXDEV},
    {"none", ENOENT, ENOENT},
    {"file", ENOTDIR, ENOTDIR},
    {"link", 0, EXDEV}, /* stays inside; the kernel can tell, the walk can't */
};

static void check(int descriptor, int kind, const struct row *row, int want)
{
    if (descriptor >= 0) {
        kind = 0;
        close(descriptor);
    }
    if (kind != want)
        fail_msg("'%s' gives %s, not %s", row->folder, strerror(kind), strerror(want));
}

static void the_kernel_keeps_it_below(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        int descriptor = open_beneath(inner, rows[i].folder);
        /* An old kernel walks. */
        bool walked = descriptor < 0 && errno == EXDEV && rows[i].kernel == 0;
        check(descriptor, errno, &rows[i], walked ? rows[i].walk : rows[i].kernel);
    }
}

static void the_walk_keeps_it_below(void **state)
{
    (void)state;
    int at = open(inner, O_RDONLY | O_DIRECTORY);
    assert_true(at >= 0);
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        int descriptor = walk_beneath(at, rows[i].folder);
        check(descriptor, errno, &rows[i], rows[i].walk);
    }
    close(at);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_kernel_keeps_it_below),
        cmocka_unit_test(the_walk_keeps_it_below),
    };
    return cmocka_run_group_tests(tests, make_folders, drop_folders);
}
