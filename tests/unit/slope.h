/* slope.h - checks a law's slope against differences of its values. */
#ifndef RT_SLOPE_H
#define RT_SLOPE_H
#include "check.h"

/* A law in one variable; *slope may be NULL. */
typedef double slope_law(double x, double *slope, const void *context);

/* Two central differences, the second with half the step, and Richardson's
 * extrapolation: good to about 1e-9 on a smooth law. */
static inline double slope_by_difference(slope_law *law, double x, double step, const void *context)
{
    double wide = (law(x + step, NULL, context) - law(x - step, NULL, context)) / (2.0 * step);
    double half = 0.5 * step;
    double narrow = (law(x + half, NULL, context) - law(x - half, NULL, context)) / (2.0 * half);
    return (4.0 * narrow - wide) / 3.0;
}

/* The slope at x agrees with differences within the relative tolerance. */
#define assert_slope(law, x, step, context, relative)                                              \
    do {                                                                                           \
        double slope_given_;                                                                       \
        (law)((x), &slope_given_, (context));                                                      \
        assert_near(slope_given_, slope_by_difference((law), (x), (step), (context)), (relative)); \
    } while (0)

/* Value and slope just below and just above x agree (no jump, no corner). */
#define assert_joins(law, x, context, relative)                                                    \
    do {                                                                                           \
        double below_slope_, above_slope_;                                                         \
        double below_ = (law)((x) * (1.0 - 1e-12), &below_slope_, (context));                      \
        double above_ = (law)((x) * (1.0 + 1e-12), &above_slope_, (context));                      \
        assert_near(above_, below_, (relative));                                                   \
        assert_near(above_slope_, below_slope_, (relative));                                       \
    } while (0)

#endif
