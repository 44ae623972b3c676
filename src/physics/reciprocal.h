/* reciprocal.h - 1/x for laws of constant power, finite all the way to 0 and below. */
#ifndef RT_RECIPROCAL_H
#define RT_RECIPROCAL_H

/* 1/x from floor up; below it the tangent at the floor, 2/floor - x/floor^2, so that
 * a solver that strays there finds finite numbers with a continuous slope. floor
 * must be above 0. *slope gets the derivative. */
static inline double reciprocal_above(double x, double floor, double *slope)
{
    double from = x > floor ? x : floor;
    *slope = -1.0 / (from * from);
    return 1.0 / from + *slope * (x - from);
}
#endif
