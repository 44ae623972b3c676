/* lookup.h - values at equal steps, straight between them: what makes a day of a
 * thousand steps cheap when each value was dear to find. */
#ifndef RT_LOOKUP_H
#define RT_LOOKUP_H
#include <math.h>
#include <stddef.h>

struct lookup {
    double first, spacing; /* where the first value lies; the step, above 0 */
    size_t count;          /* at least 1 */
    const double *values;  /* the caller's */
};

/* The value at x, the end's beyond the ends; NAN at NAN. */
static inline double lookup_at(const struct lookup *table, double x)
{
    double place = (x - table->first) / table->spacing;
    if (isnan(place))
        return place;
    if (place <= 0.0)
        return table->values[0];
    if (place >= (double)(table->count - 1))
        return table->values[table->count - 1];
    size_t below = (size_t)place;
    double part = place - (double)below;
    return table->values[below] + (table->values[below + 1] - table->values[below]) * part;
}
#endif
