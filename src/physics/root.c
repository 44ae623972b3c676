#include "physics/root.h"

#include <float.h>
#include <math.h>
#include <stdbool.h>

enum {
    NEWTON_STEPS = 12, /* then halving takes turns with Newton */
    STEPS_MAX = 200    /* halving alone needs some 60 from any sensible bracket */
};

double root_newton(root_slope_function *function, const void *with, double low, double high,
                   double start, double scale)
{
    double x = start > high ? high : start < low ? low : start;
    for (int i = 0; i < STEPS_MAX; i++) {
        double slope;
        double value = function(x, with, &slope);
        if (value == 0.0)
            return x;
        if (isnan(value))
            return value;
        if (value < 0.0)
            low = x;
        else
            high = x;
        double next = x - value / slope;
        if (fabs(next - x) <= 1e-9 * scale)
            return next > high ? high : next < low ? low : next;
        bool halve = !(next > low && next < high) || (i > NEWTON_STEPS && i % 2);
        if (halve)
            next = low + (high - low) / 2.0;
        if (next == x || high - low <= DBL_EPSILON * fabs(x))
            return next;
        x = next;
    }
    return x;
}

/* Where the next point goes, as the share of the way from a to b. c is the
 * point before them; inverse quadratic interpolation is trusted only where the
 * function is seen to be monotonic and smooth enough between the three. */
static double next_share(double a, double fa, double b, double fb, double c, double fc)
{
    double xi = (a - b) / (c - b);
    double phi = (fa - fb) / (fc - fb);
    if (!(phi * phi < xi && (1.0 - phi) * (1.0 - phi) < 1.0 - xi))
        return 0.5;
    return fa / (fb - fa) * fc / (fb - fc) + (c - a) / (b - a) * fa / (fc - fa) * fb / (fc - fb);
}

double root_between(root_function *function, const void *with, double low, double low_value,
                    double high, double high_value)
{
    return root_close(function, with, low, low_value, high, high_value, DBL_EPSILON);
}

double root_close(root_function *function, const void *with, double low, double low_value,
                  double high, double high_value, double close)
{
    if (low_value >= 0.0)
        return low;
    if (high_value <= 0.0)
        return high;
    double a = high, fa = high_value, b = low, fb = low_value;
    double share = 0.5;
    for (int i = 0; i < STEPS_MAX; i++) {
        double x = a + share * (b - a);
        double fx = function(x, with);
        if (isnan(fx))
            return fx;
        double c = a, fc = fa;
        if ((fx > 0.0) != (fa > 0.0)) {
            c = b;
            fc = fb;
            b = a;
            fb = fa;
        }
        a = x;
        fa = fx;
        double best = fabs(fa) < fabs(fb) ? a : b;
        double nearest = close * fabs(best) / fabs(b - a);
        if (fx == 0.0 || !(nearest < 0.5))
            return fx == 0.0 ? x : best;
        share = next_share(a, fa, b, fb, c, fc);
        share = share < nearest ? nearest : share > 1.0 - nearest ? 1.0 - nearest : share;
    }
    return a;
}
