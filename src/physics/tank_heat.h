/* tank_heat.h - a tank of water as a store of heat, mixed or in layers, moved on
 * step by step. What it loses to the air per kelvin comes from tank.h, what a
 * collector brings from collector.h. All energy that goes in, out or into the
 * water adds up, at any length of step. */
#ifndef RT_TANK_HEAT_H
#define RT_TANK_HEAT_H
#include "physics/water.h"

enum { TANK_LAYERS = 8 };

/* The water's density and heat are those at this temperature whatever it really has, so
 * that energy is the same at every temperature. */
#define TANK_HEAT_AT_DEGC 40.0

/* The caller's own; make it with one of the functions below. Copying it is how to look ahead. */
struct tank_heat {
    double heat_j_k;   /* of all the water */
    double heat_j_m3k; /* of a volume of it */
    double loss_w_k;   /* to the air, shared evenly by the layers */
    int layers;        /* 1: mixed; or TANK_LAYERS */
    int draws, back;   /* layers that the loop draws from and returns to, counted from the bottom */
    double degc[TANK_LAYERS]; /* bottom first; the first `layers` count */
};

/* A tank all at start_degc whose water is always mixed. */
struct tank_heat tank_heat_mixed(enum water_fluid fluid, double volume_m3, double loss_w_k,
                                 double start_degc);

/* One in TANK_LAYERS layers of equal volume. The loop's heights are above the tank's bottom, those
 * beyond 0 .. depth_m count as its end. */
struct tank_heat tank_heat_layered(enum water_fluid fluid, double volume_m3, double loss_w_k,
                                   double start_degc, double draws_m, double back_m,
                                   double depth_m);

/* Mean temperature; and that of the water which the loop draws. degC. */
double tank_heat_mean_degc(const struct tank_heat *tank);
double tank_heat_drawn_degc(const struct tank_heat *tank);

/* What a step brings. */
struct tank_heat_input {
    double seconds;
    double air_degc;
    double flow_m3s; /* through the loop, at least 0 */
    double loop_w;   /* that the loop brings or, below 0, takes; counts only with a flow */
    double pump_w;   /* of a pump in the water, into the layer drawn from */
};

/* Moves the tank on by one step; returns the heat lost to the air in J, below 0 when the air
 * warms it. After it
 *     heat_j_k x rise of the mean = (loop_w + pump_w) seconds - loss.
 *
 * Each layer follows C dT/dt = P - UA (T - T_air) exactly over the step, with P constant:
 *     T = T_air + (T_0 - T_air) e^-x + P t/C (1 - e^-x)/x,  x = UA t/C.
 * Before that the loop's water moves, layer by layer, in parts of a layer at most. It comes
 * back loop_w/(rho c Q) warmer than it was drawn and enters at `back` or, if that is higher, the
 * highest layer that is not warmer. Last, layers warmer than those above mix with them.
 * Duffie and Beckman, chapter 8, for the balances; that of entering and mixing is common
 * practice, no source. */
double tank_heat_step(struct tank_heat *tank, const struct tank_heat_input *input);

/* By how many m3 a volume grows when warmed from cold_degc to hot_degc. */
double tank_growth_m3(enum water_fluid fluid, double volume_m3, double cold_degc, double hot_degc);

#endif
