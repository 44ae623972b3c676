/* tank.h - a tank's shape when only its volume is known, what heat it loses,
 * and how long it takes to drain. */
#ifndef RT_TANK_H
#define RT_TANK_H
#include <stdbool.h>

/* An upright cylinder 1.5 times as high as wide holding volume_m3. */
double tank_diameter_m(double volume_m3);
double tank_height_m(double volume_m3);

/* Its whole outside, both ends counted, m2. */
double tank_surface_m2(double volume_m3);

/* Its floor, which is its water surface, m2. */
double tank_floor_m2(double volume_m3);

/* Heat lost per kelvin to the air, W/K: 1/(1/8 + t/k) W/m2K over the surface, 8
 * W/m2K bare, and 20 W/m2K more on open water. Common practice, no source.
 * insulation_m <= 0 is bare; conductivity in W/(m K). */
double tank_loss_w_k(double surface_m2, double insulation_m, double conductivity_w_mk,
                     bool open_water, double water_surface_m2);

/* Flow out in m3/s while the water stands at that level above the tank's
 * bottom; must not fall as the level rises. */
typedef double tank_outflow(double level_m, void *context);

struct tank_drain {
    double time_s; /* INFINITY when the work limit was met before the end */
    double left_m; /* level at which the flow stops, 0 when it runs dry */
};

/* Time to drain a straight-sided tank from level_m until it is dry or until the
 * flow is stop_m3s or less: the integral of surface/flow over the level, to
 * about 1e-9. A flow that only creeps to its end (laminar into a shut level)
 * takes for ever, so stop_m3s sets where that is called the end. time_s is 0
 * when nothing flows to begin with. Calls outflow at most some 20 000 times. */
struct tank_drain tank_drain_time(double water_surface_m2, double level_m, double stop_m3s,
                                  tank_outflow *outflow, void *context);

/* The same for a sharp hole in closed form, as a cross-check (Torricelli):
 * t = 2 A (sqrt(h1) - sqrt(h2)) / (Cd a sqrt(2 g)). */
double tank_drain_hole_s(double water_surface_m2, double hole_m2, double discharge, double from_m,
                         double to_m);

#endif
