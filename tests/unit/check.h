/* check.h - what the unit tests share: comparing doubles, finding and reading
 * the optional reference data. cmocka 1.1.5 compares only floats. */
#ifndef RT_CHECK_H
#define RT_CHECK_H
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

/* Passes when |got - want| <= tolerance; prints both when not. */
#define assert_close(got, want, tolerance)                                                         \
    check_close_((got), (want), (tolerance), #got, __FILE__, __LINE__)

/* Passes when |got - want| <= tolerance * |want|. */
#define assert_near(got, want, relative)                                                           \
    check_close_((got), (want), fabs((relative) * (want)), #got, __FILE__, __LINE__)

static inline void check_close_(double got, double want, double tolerance, const char *what,
                                const char *file, int line)
{
    if (fabs(got - want) <= tolerance)
        return;
    print_error("%s is %.17g, expected %.17g within %.3g\n", what, got, want, tolerance);
    _fail(file, line);
}

/* The folder of reference data: RIGTALLY_REFERENCE, else ../shared beside the
 * checkout. NULL when there is none: the test then says that it is skipped. */
static inline const char *reference_folder(void)
{
    const char *folder = getenv("RIGTALLY_REFERENCE");
    if (!folder)
        folder = "../shared";
    char probe[4096];
    snprintf(probe, sizeof probe, "%s/data/README.md", folder);
    FILE *file = fopen(probe, "rb");
    if (!file)
        return NULL;
    fclose(file);
    return folder;
}
#endif
