#include "physics/tank_heat.h"

#include <math.h>

static double volume_heat_j_m3k(enum water_fluid fluid)
{
    return water_density_kg_m3(fluid, TANK_HEAT_AT_DEGC) *
           water_heat_j_kgk(fluid, TANK_HEAT_AT_DEGC);
}

static struct tank_heat tank_of(enum water_fluid fluid, double volume_m3, double loss_w_k,
                                double start_degc, int layers)
{
    struct tank_heat tank = {
        .heat_j_k = volume_m3 * volume_heat_j_m3k(fluid),
        .heat_j_m3k = volume_heat_j_m3k(fluid),
        .loss_w_k = loss_w_k,
        .layers = layers,
    };
    for (int i = 0; i < TANK_LAYERS; i++)
        tank.degc[i] = start_degc;
    return tank;
}

struct tank_heat tank_heat_mixed(enum water_fluid fluid, double volume_m3, double loss_w_k,
                                 double start_degc)
{
    return tank_of(fluid, volume_m3, loss_w_k, start_degc, 1);
}

static int layer_at(double height_m, double depth_m)
{
    double place = floor(height_m / depth_m * TANK_LAYERS);
    return (int)fmin(fmax(place, 0.0), TANK_LAYERS - 1);
}

struct tank_heat tank_heat_layered(enum water_fluid fluid, double volume_m3, double loss_w_k,
                                   double start_degc, double draws_m, double back_m, double depth_m)
{
    struct tank_heat tank = tank_of(fluid, volume_m3, loss_w_k, start_degc, TANK_LAYERS);
    tank.draws = layer_at(draws_m, depth_m);
    tank.back = layer_at(back_m, depth_m);
    return tank;
}

double tank_heat_mean_degc(const struct tank_heat *tank)
{
    double sum = 0.0;
    for (int i = 0; i < tank->layers; i++)
        sum += tank->degc[i];
    return sum / tank->layers;
}

double tank_heat_drawn_degc(const struct tank_heat *tank)
{
    return tank->degc[tank->draws];
}

/* Sets layers low .. high to their mean. */
static void mix(struct tank_heat *tank, int low, int high)
{
    double sum = 0.0;
    for (int i = low; i <= high; i++)
        sum += tank->degc[i];
    for (int i = low; i <= high; i++)
        tank->degc[i] = sum / (high - low + 1);
}

/* Warm water below cold rises and mixes until none is left: from the bottom up, each layer
 * that is colder than the mixed ones below joins them. */
static void settle(struct tank_heat *tank)
{
    for (int top = 1; top < tank->layers; top++) {
        int low = top;
        while (low > 0 && tank->degc[low - 1] > tank->degc[low]) {
            double under = tank->degc[low - 1];
            do
                low--;
            while (low > 0 && tank->degc[low - 1] == under);
            mix(tank, low, top);
        }
    }
}

/* Where returning water comes to rest. */
static int entry(const struct tank_heat *tank, double returned_degc)
{
    int layer = tank->back;
    for (int i = layer + 1; i < tank->layers; i++)
        if (tank->degc[i] <= returned_degc)
            layer = i;
    return layer;
}

/* Pushes a share (0 .. 1) of a layer's volume from `from` to the layer drawn from; what is
 * pushed in has incoming_degc. */
static void push(struct tank_heat *tank, int from, double share, double incoming_degc)
{
    int step = from > tank->draws ? -1 : 1;
    for (int i = from;; i += step) {
        double leaving = tank->degc[i];
        tank->degc[i] += share * (incoming_degc - leaving);
        incoming_degc = leaving;
        if (i == tank->draws)
            return;
    }
}

/* Turns the loop's water round in a layered tank. Parts are so small that none pushes more than
 * a layer on; a flow that turns a layer over more than 64 times in a step mixes all. */
static void circulate(struct tank_heat *tank, const struct tank_heat_input *input)
{
    double layer_j_k = tank->heat_j_k / tank->layers;
    double moved_j_k = input->flow_m3s * tank->heat_j_m3k * input->seconds;
    double parts = ceil(moved_j_k / layer_j_k);
    double brought_j = input->loop_w * input->seconds;
    if (!(parts <= 64.0)) {
        tank->degc[tank->draws] += brought_j / layer_j_k;
        mix(tank, 0, tank->layers - 1);
        return;
    }
    for (int i = 0; i < (int)parts; i++) {
        double returned = tank->degc[tank->draws] + brought_j / moved_j_k;
        push(tank, entry(tank, returned), moved_j_k / parts / layer_j_k, returned);
    }
}

/* What a step does to every layer, with x = UA t/C: shares of what it had above the air and of
 * what it is brought that are lost. Each is reckoned by itself, for both are small. */
struct decay {
    double of_excess;  /* 1 - e^-x */
    double of_brought; /* 1 - (1 - e^-x)/x */
};

static struct decay decay_of(double x)
{
    double of_excess = -expm1(-x);
    double series = x / 2.0 * (1.0 - x / 3.0 * (1.0 - x / 4.0 * (1.0 - x / 5.0 * (1.0 - x / 6.0))));
    return (struct decay){of_excess, fabs(x) < 1e-2 ? series : 1.0 - of_excess / x};
}

/* One layer of heat C over the step, air at air_degc; returns what it loses, which is the time's
 * integral of UA (T - T_air) and not what is left over. */
static double relax(double *degc, double heat_j_k, struct decay decay, double brought_j,
                    double air_degc)
{
    double above = *degc - air_degc;
    double brought_k = brought_j / heat_j_k;
    *degc = air_degc + above * (1.0 - decay.of_excess) + brought_k * (1.0 - decay.of_brought);
    return heat_j_k * (above * decay.of_excess + brought_k * decay.of_brought);
}

double tank_heat_step(struct tank_heat *tank, const struct tank_heat_input *input)
{
    double brought_j[TANK_LAYERS] = {0.0};
    brought_j[tank->draws] = input->pump_w * input->seconds;
    if (input->flow_m3s > 0.0 && tank->layers == 1)
        brought_j[0] += input->loop_w * input->seconds;
    else if (input->flow_m3s > 0.0)
        circulate(tank, input);
    struct decay decay = decay_of(tank->loss_w_k * input->seconds / tank->heat_j_k);
    double lost_j = 0.0;
    for (int i = 0; i < tank->layers; i++)
        lost_j += relax(&tank->degc[i], tank->heat_j_k / tank->layers, decay, brought_j[i],
                        input->air_degc);
    settle(tank);
    return lost_j;
}

double tank_growth_m3(enum water_fluid fluid, double volume_m3, double cold_degc, double hot_degc)
{
    return volume_m3 * water_growth_share(fluid, cold_degc, hot_degc);
}
