/* root.h - where a rising function of one number crosses zero, to machine
 * precision. Knows nothing of what the function means. */
#ifndef RT_ROOT_H
#define RT_ROOT_H

/* Value of the function at x, and by *slope its derivative. */
typedef double root_slope_function(double x, const void *with, double *slope);

/* Newton's way from `start`, kept between low and high by halving whenever a step would
 * leave them or comes on too slowly. f(low) <= 0 <= f(high). `scale` is the length over which the
 * slope changes much: after a step shorter than 1e-9 of it nothing is left to gain,
 * for Newton's error is about the step's square over the scale.
 * A NAN from the function comes back as NAN; there is no other failure. */
double root_newton(root_slope_function *function, const void *with, double low, double high,
                   double start, double scale);

typedef double root_function(double x, const void *with);

/* The same without a slope: inverse quadratic steps where three points allow them, halving
 * where not (Chandrupatla, Advances in Engineering Software 28 (1997) 145-149, from memory).
 * Takes the values at both ends, which the caller has by then. An end that is
 * on the wrong side of zero is the answer. */
double root_between(root_function *function, const void *with, double low, double low_value,
                    double high, double high_value);
/* The same, no closer than to this share of the answer. */
double root_close(root_function *function, const void *with, double low, double low_value,
                  double high, double high_value, double share);

#endif
