#include "physics/fitting.h"

#include <math.h>
#include <stddef.h>
#include <string.h>

#include "physics/pipe.h"
#include "physics/water.h"

struct named {
    const char *name;
    double k;
};

/* A rig's word is the first published row of that fitting. Munson, Young and
 * Okiishi, Fundamentals of Fluid Mechanics, 5th ed, table 8.2, but for the foot
 * valve: Perry's Chemical Engineers' Handbook, table 6-4. Where sources differ
 * the greater loss stands. */
static const struct named named[] = {
    {"elbow", 1.5},   /* 90 deg, threaded, regular */
    {"bend-45", 0.4}, /* 45 deg elbow, threaded, regular */
    {"return-bend", FITTING_K_RETURN_BEND},
    {"tee-run", 0.9},     /* threaded, straight through */
    {"tee-branch", 2.0},  /* threaded, round the corner */
    {"ball-valve", 0.05}, /* open, full bore */
    {"gate-valve", 0.15}, /* open */
    {"union", 0.08},
    {"entry", FITTING_K_ENTRANCE}, /* sharp, flush */
    {"exit", FITTING_K_EXIT},
    {"foot-valve", 15.0}, /* with strainer */
};

struct point {
    double ratio;
    double k;
};

/* Hose barb, straight: a contraction, a short bore and an expansion, on the
 * hose's velocity; computed, good to a fifth down and a half up. (A 2019 study of
 * micro-irrigation connectors, all of them narrow, measured 2.72 to 24.16.) */
static const struct point barb[] = {
    {0.55, 9.78}, {0.60, 6.09}, {0.65, 3.82}, {0.70, 2.40},
    {0.75, 1.49}, {0.80, 0.90}, {0.85, 0.53}, {0.90, 0.29},
};

/* Sudden contraction, on the smaller bore's velocity; computed with python
 * fluids 1.0.22. Nothing is lost where nothing narrows. */
static const struct point contraction[] = {
    {0.40, 0.5301}, {0.50, 0.4956}, {0.60, 0.4386}, {0.70, 0.3509}, {0.75, 0.2944},
    {0.80, 0.2303}, {0.85, 0.1616}, {0.90, 0.0950}, {0.95, 0.0488}, {1.00, 0.0000},
};

double fitting_k(const char *name)
{
    for (size_t i = 0; i < sizeof named / sizeof named[0]; i++)
        if (strcmp(name, named[i].name) == 0)
            return named[i].k;
    if (strcmp(name, "barb") == 0)
        return fitting_barb_k(FITTING_BARB_RATIO);
    return NAN;
}

/* Straight between points, held beyond the ends; a NAN comes back. */
static double between(const struct point *points, size_t count, double ratio)
{
    if (isnan(ratio))
        return ratio;
    if (ratio <= points[0].ratio)
        return points[0].k;
    for (size_t i = 1; i < count; i++)
        if (ratio <= points[i].ratio) {
            const struct point *low = &points[i - 1], *high = &points[i];
            /* this way round a row's own ratio gives that row's own figure */
            return high->k +
                   (low->k - high->k) * ((high->ratio - ratio) / (high->ratio - low->ratio));
        }
    return points[count - 1].k;
}

double fitting_barb_k(double ratio)
{
    return between(barb, sizeof barb / sizeof barb[0], ratio);
}

double fitting_reducer_k(double ratio)
{
    if (ratio > 1.0)
        ratio = 1.0 / ratio;
    return between(contraction, sizeof contraction / sizeof contraction[0], ratio);
}

double fitting_k_on_bore(double k, double own_bore_m, double other_bore_m)
{
    double ratio = other_bore_m / own_bore_m;
    return k * (ratio * ratio) * (ratio * ratio);
}

double fitting_loss_m(double flow_m3s, double bore_m, double k, double *by_flow_s_m2)
{
    double area = pipe_area_m2(bore_m);
    double per_square = k / (2.0 * WATER_GRAVITY_M_S2 * area * area);
    if (by_flow_s_m2)
        *by_flow_s_m2 = 2.0 * per_square * fabs(flow_m3s);
    return per_square * flow_m3s * fabs(flow_m3s);
}
