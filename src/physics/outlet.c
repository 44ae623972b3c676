#include "physics/outlet.h"

#include <math.h>

#include "physics/valve.h"
#include "physics/water.h"

static double compensated(double flow_m3s, double nominal_m3s, double *slope)
{
    /* so steep that no head of a small rig shows in the flow: 100 m add a ten-millionth */
    double wall = fmax(VALVE_SHUT_SLOPE_S_M2, 1e9 / nominal_m3s);
    if (flow_m3s > nominal_m3s) {
        *slope = wall;
        return wall * (flow_m3s - nominal_m3s);
    }
    *slope = 0.0;
    return 0.0;
}

static double power_law(double flow_m3s, double nominal_m3s, double nominal_m, double power,
                        double *slope)
{
    double share = flow_m3s / nominal_m3s;
    /* the slope first, so that nothing is divided by the flow at rest */
    double rest = nominal_m / nominal_m3s * pow(share, power - 1.0);
    *slope = power * rest;
    return rest * flow_m3s;
}

double outlet_loss_m(double flow_m3s, double nominal_m3s, double nominal_pa, double exponent,
                     double density_kg_m3, double *by_flow_s_m2)
{
    double slope, loss;
    if (flow_m3s < 0.0)
        loss = valve_shut_loss_m(flow_m3s, &slope);
    else if (exponent < OUTLET_LEAST_EXPONENT)
        loss = compensated(flow_m3s, nominal_m3s, &slope);
    else
        loss = power_law(flow_m3s, nominal_m3s, nominal_pa / (density_kg_m3 * WATER_GRAVITY_M_S2),
                         1.0 / exponent, &slope);
    if (by_flow_s_m2)
        *by_flow_s_m2 = slope;
    return loss;
}
