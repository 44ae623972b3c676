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

/* (1 - e^-x)/x, and 1 less that, which for small x the first would lose digits of. */
static double kept_share(double x)
{
    return x == 0.0 ? 1.0 : -expm1(-x) / x;
}

static double lost_share(double x)
{
    if (fabs(x) < 1e-2)
        return x / 2.0 * (1.0 - x / 3.0 * (1.0 - x / 4.0 * (1.0 - x / 5.0 * (1.0 - x / 6.0))));
    return 1.0 - kept_share(x);
}

/* One layer of heat C over the step; returns what it loses, the time's integral of UA (T -
 * T_air), reckoned by itself and not as what is left over. */
static double relax(double *degc, double heat_j_k, double loss_w_k, double power_w, double air_degc,
                    double seconds)
{
    double x = loss_w_k * seconds / heat_j_k;
    double above = *degc - air_degc;
    double brought_k = power_w * seconds / heat_j_k;
    *degc = air_degc + above * exp(-x) + brought_k * kept_share(x);
    return heat_j_k * (above * -expm1(-x) + brought_k * lost_share(x));
}

double tank_heat_step(struct tank_heat *tank, const struct tank_heat_input *input)
{
    double power_w[TANK_LAYERS] = {0.0};
    power_w[tank->draws] = input->pump_w;
    if (input->flow_m3s > 0.0 && tank->layers == 1)
        power_w[0] += input->loop_w;
    else if (input->flow_m3s > 0.0)
        circulate(tank, input);
    double lost_j = 0.0;
    for (int i = 0; i < tank->layers; i++)
        lost_j += relax(&tank->degc[i], tank->heat_j_k / tank->layers,
                        tank->loss_w_k / tank->layers, power_w[i], input->air_degc, input->seconds);
    settle(tank);
    return lost_j;
}

double tank_growth_m3(enum water_fluid fluid, double volume_m3, double cold_degc, double hot_degc)
{
    return volume_m3 * water_growth_share(fluid, cold_degc, hot_degc);
}
