#include "physics/collector.h"

#include <math.h>

/* (1 - exp(-x))/x with x = F'U_L/(m c): 1 at a large flow, 0 at none. */
static double removal(double capacity_w_m2k, double loss_w_m2k)
{
    if (loss_w_m2k == 0.0)
        return 1.0;
    double x = loss_w_m2k / capacity_w_m2k;
    return -expm1(-x) / x;
}

double collector_flow_factor(const struct collector *collector, double flow_kg_m2s,
                             double heat_j_kgk)
{
    double test = collector->test_kg_m2s * heat_j_kgk;
    if (isnan(test) || test <= collector->loss_w_m2k)
        return 1.0;
    double loss = -test * log1p(-collector->loss_w_m2k / test);
    return removal(flow_kg_m2s * heat_j_kgk, loss) / removal(test, loss);
}

double collector_gain_w(const struct collector *collector, double sun_w_m2, double inlet_degc,
                        double air_degc, double flow_kg_m2s, double heat_j_kgk)
{
    double per_area =
        collector->optical_gain * sun_w_m2 - collector->loss_w_m2k * (inlet_degc - air_degc);
    return collector_flow_factor(collector, flow_kg_m2s, heat_j_kgk) * collector->area_m2 *
           per_area;
}

double collector_outlet_degc(double inlet_degc, double gain_w, double flow_kg_s, double heat_j_kgk)
{
    if (flow_kg_s == 0.0)
        return NAN;
    return inlet_degc + gain_w / (flow_kg_s * heat_j_kgk);
}

double collector_standstill_degc(const struct collector *collector, double sun_w_m2,
                                 double air_degc)
{
    return air_degc + sun_w_m2 * collector->optical_gain / collector->loss_w_m2k;
}
