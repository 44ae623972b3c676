/* fuse.h - the ratings that fuses are made in, and choosing among them. */
#ifndef RT_FUSE_H
#define RT_FUSE_H

enum fuse_series {
    FUSE_MINIATURE,      /* 5 x 20 mm cartridges, IEC 60127-2 */
    FUSE_BLADE_MINI,     /* ISO 8820-3 type F */
    FUSE_BLADE_MEDIUM,   /* ISO 8820-3 type C */
    FUSE_BLADE_LARGE,    /* ISO 8820-3 type E */
    FUSE_GPV,            /* 10 x 38 mm panel fuses, IEC 60269-6 */
    FUSE_NORTH_AMERICAN, /* NFPA 70, 240.6(A) */
    FUSE_SERIES_COUNT
};

/* The ratings of a series in A, rising; *count gets how many. */
const double *fuse_ratings(enum fuse_series series, int *count);

/* The smallest rating that is not below least_a, in A; NAN when there is none. */
double fuse_next_a(enum fuse_series series, double least_a);

/* The largest rating that is not above most_a, in A; NAN when there is none. */
double fuse_below_a(enum fuse_series series, double most_a);

/* The rating of a series for a load between two limits: the smallest that is
 * neither below least_a nor above most_a, in A; NAN when none fits (the wire is
 * then too thin). */
double fuse_between_a(enum fuse_series series, double least_a, double most_a);
#endif
