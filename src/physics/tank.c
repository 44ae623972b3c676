#include "physics/tank.h"

#include <math.h>

#include "physics/water.h"

static const double pi = 3.14159265358979323846;

/* V = pi/4 D2 1.5 D. */
double tank_diameter_m(double volume_m3)
{
    return cbrt(volume_m3 / (0.375 * pi));
}

double tank_height_m(double volume_m3)
{
    return 1.5 * tank_diameter_m(volume_m3);
}

/* pi D 1.5 D + 2 pi/4 D2 = 2 pi D2. */
double tank_surface_m2(double volume_m3)
{
    double diameter = tank_diameter_m(volume_m3);
    return 2.0 * pi * diameter * diameter;
}

double tank_floor_m2(double volume_m3)
{
    double diameter = tank_diameter_m(volume_m3);
    return pi / 4.0 * diameter * diameter;
}

double tank_loss_w_k(double surface_m2, double insulation_m, double conductivity_w_mk,
                     bool open_water, double water_surface_m2)
{
    const double film = 8.0;         /* W/m2K, wall to still air */
    const double evaporation = 20.0; /* W/m2K, open water near 40 degC */
    double per_area = film;
    if (insulation_m > 0.0)
        per_area = 1.0 / (1.0 / film + insulation_m / conductivity_w_mk);
    return per_area * surface_m2 + (open_water ? evaporation * water_surface_m2 : 0.0);
}

/* Draining. With the level written as stop + x2 the time is the integral of
 * 2 A x / Q over x, which stays finite where the flow ends as a square root. */
struct draining {
    double surface_m2;
    double stop_level_m;
    double whole_s; /* first estimate, to judge errors by */
    int calls_left;
    tank_outflow *outflow;
    void *context;
};

static double pace(struct draining *draining, double x)
{
    draining->calls_left--;
    return 2.0 * draining->surface_m2 * x /
           draining->outflow(draining->stop_level_m + x * x, draining->context);
}

/* Gauss (7 points) within Kronrod (15 points), QUADPACK's qk15 (Piessens et al.
 * 1983): the integral, and in *error how far the two differ. */
static double kronrod(struct draining *draining, double low, double high, double *error)
{
    static const double node[7] = {0.991455371120812639, 0.949107912342758525, 0.864864423359769073,
                                   0.741531185599394440, 0.586087235467691130, 0.405845151377397167,
                                   0.207784955007898468};
    static const double fine[8] = {0.022935322010529225, 0.063092092629978553, 0.104790010322250184,
                                   0.140653259715525919, 0.169004726639267903, 0.190350578064785410,
                                   0.204432940075298892, 0.209482141084727828};
    static const double coarse[4] = {0.129484966168869693, 0.279705391489276668,
                                     0.381830050505118945, 0.417959183673469388};
    double centre = 0.5 * (low + high);
    double half = 0.5 * (high - low);
    double middle = pace(draining, centre);
    double sum_fine = fine[7] * middle;
    double sum_coarse = coarse[3] * middle;
    for (int i = 0; i < 7; i++) {
        double pair =
            pace(draining, centre - half * node[i]) + pace(draining, centre + half * node[i]);
        sum_fine += fine[i] * pair;
        if (i % 2 == 1)
            sum_coarse += coarse[i / 2] * pair;
    }
    *error = half * fabs(sum_fine - sum_coarse);
    return half * sum_fine;
}

/* Halves a stretch until its two rules agree; depth bounds the halving. */
static double integrate(struct draining *draining, double low, double high, int depth)
{
    double error;
    double part = kronrod(draining, low, high, &error);
    if (depth == 0)
        draining->whole_s = part;
    if ((depth > 0 && error <= 1e-9 * draining->whole_s) || depth >= 45 ||
        draining->calls_left <= 0)
        return part;
    double middle = 0.5 * (low + high);
    return integrate(draining, low, middle, depth + 1) +
           integrate(draining, middle, high, depth + 1);
}

/* Level below which no more than stop_m3s flows: 0, or found by halving. Asked a
 * hair above the bottom, as a hole in the bottom passes nothing at level 0. */
static double stop_level(double level_m, double stop_m3s, tank_outflow *outflow, void *context)
{
    if (outflow(1e-12 * level_m, context) > stop_m3s)
        return 0.0;
    double still = 0.0, flowing = level_m;
    for (int i = 0; i < 60; i++) {
        double middle = 0.5 * (still + flowing);
        if (outflow(middle, context) > stop_m3s)
            flowing = middle;
        else
            still = middle;
    }
    return flowing;
}

struct tank_drain tank_drain_time(double water_surface_m2, double level_m, double stop_m3s,
                                  tank_outflow *outflow, void *context)
{
    struct tank_drain drain = {0.0, fmax(level_m, 0.0)};
    if (!(level_m > 0.0) || !(outflow(level_m, context) > stop_m3s))
        return drain;
    drain.left_m = stop_level(level_m, stop_m3s, outflow, context);
    struct draining draining = {.surface_m2 = water_surface_m2,
                                .stop_level_m = drain.left_m,
                                .calls_left = 20000,
                                .outflow = outflow,
                                .context = context};
    drain.time_s = integrate(&draining, 0.0, sqrt(level_m - drain.left_m), 0);
    if (draining.calls_left <= 0)
        drain.time_s = INFINITY;
    return drain;
}

double tank_drain_hole_s(double water_surface_m2, double hole_m2, double discharge, double from_m,
                         double to_m)
{
    return 2.0 * water_surface_m2 * (sqrt(from_m) - sqrt(to_m)) /
           (discharge * hole_m2 * sqrt(2.0 * WATER_GRAVITY_M_S2));
}
