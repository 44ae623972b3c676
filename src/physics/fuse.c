#include "physics/fuse.h"

#include <math.h>
#include <stddef.h>

/* IEC 60127-2, 5 x 20 mm, the R10 series; 8 A and 10 A on some standard sheets only. */
static const double miniature[] = {0.032, 0.04,  0.05, 0.063, 0.08, 0.1, 0.125, 0.16, 0.2,
                                   0.25,  0.315, 0.4,  0.5,   0.63, 0.8, 1,     1.25, 1.6,
                                   2,     2.5,   3.15, 4,     5,    6.3, 8,     10};
/* ISO 8820-3 types F, C and E, from memory. */
static const double blade_mini[] = {2, 3, 4, 5, 7.5, 10, 15, 20, 25, 30};
static const double blade_medium[] = {1, 2, 3, 4, 5, 7.5, 10, 15, 20, 25, 30, 35, 40};
static const double blade_large[] = {20, 25, 30, 40, 50, 60, 70, 80, 100};
/* IEC 60269-6, 10 x 38 mm, from memory; 25 A and 30 A often at a lower voltage. */
static const double gpv[] = {1, 2, 3, 4, 5, 6, 8, 10, 12, 15, 16, 20, 25, 30};
/* NFPA 70, 240.6(A), with the additional ratings 1, 3, 6 and 10 A. */
static const double north_american[] = {1,   3,   6,   10,  15,  20,  25,  30,  35,  40,
                                        45,  50,  60,  70,  80,  90,  100, 110, 125, 150,
                                        175, 200, 225, 250, 300, 350, 400, 450, 500, 600};

#define SERIES(ratings)                                                                            \
    {                                                                                              \
        ratings, (int)(sizeof(ratings) / sizeof *(ratings))                                        \
    }
static const struct {
    const double *ratings;
    int count;
} series_of[FUSE_SERIES_COUNT] = {
    [FUSE_MINIATURE] = SERIES(miniature),
    [FUSE_BLADE_MINI] = SERIES(blade_mini),
    [FUSE_BLADE_MEDIUM] = SERIES(blade_medium),
    [FUSE_BLADE_LARGE] = SERIES(blade_large),
    [FUSE_GPV] = SERIES(gpv),
    [FUSE_NORTH_AMERICAN] = SERIES(north_american),
};

const double *fuse_ratings(enum fuse_series series, int *count)
{
    *count = series_of[series].count;
    return series_of[series].ratings;
}

double fuse_next_a(enum fuse_series series, double least_a)
{
    for (int i = 0; i < series_of[series].count; i++)
        if (series_of[series].ratings[i] >= least_a)
            return series_of[series].ratings[i];
    return NAN;
}

double fuse_below_a(enum fuse_series series, double most_a)
{
    for (int i = series_of[series].count; i-- > 0;)
        if (series_of[series].ratings[i] <= most_a)
            return series_of[series].ratings[i];
    return NAN;
}

double fuse_between_a(enum fuse_series series, double least_a, double most_a)
{
    double rating_a = fuse_next_a(series, least_a);
    return rating_a <= most_a ? rating_a : NAN;
}
