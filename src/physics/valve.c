#include "physics/valve.h"

#include <math.h>
#include <stddef.h>

#include "physics/pipe.h"
#include "physics/water.h"

#define BAR_PA 1e5
#define REFERENCE_KG_M3 1000.0
#define SECONDS_PER_HOUR 3600.0
#define GALLON_M3 3.785411784e-3 /* US gallon, 231 cubic inches; exact */

static void give(double *slope, double value)
{
    if (slope)
        *slope = value;
}

double valve_kv_of_cv(double cv_m3s)
{
    double cv_gal_min = cv_m3s * (60.0 / GALLON_M3);
    return 0.865 * cv_gal_min / SECONDS_PER_HOUR;
}

double valve_kv_of_orifice(double orifice_m)
{
    double orifice_mm = orifice_m * 1e3;
    return 0.03999 * 0.62 * orifice_mm * orifice_mm / SECONDS_PER_HOUR;
}

/* K rho v2/2 = 1 bar at the flow Kv. */
double valve_k_of_kv(double kv_m3s, double bore_m)
{
    double speed = pipe_velocity_m_s(kv_m3s, bore_m);
    return 2.0 * BAR_PA / (REFERENCE_KG_M3 * speed * speed);
}

double valve_kv_in_series(double kv1_m3s, double kv2_m3s)
{
    return kv1_m3s / hypot(1.0, kv1_m3s / kv2_m3s);
}

double valve_drop_pa(double flow_m3s, double kv_m3s, double density_kg_m3, double *by_flow)
{
    double per_square = BAR_PA * density_kg_m3 / REFERENCE_KG_M3 / (kv_m3s * kv_m3s);
    give(by_flow, 2.0 * per_square * fabs(flow_m3s));
    return per_square * flow_m3s * fabs(flow_m3s);
}

double valve_loss_m(double flow_m3s, double kv_m3s, double *by_flow_s_m2)
{
    double per_square = BAR_PA / (REFERENCE_KG_M3 * WATER_GRAVITY_M_S2 * kv_m3s * kv_m3s);
    give(by_flow_s_m2, 2.0 * per_square * fabs(flow_m3s));
    return per_square * flow_m3s * fabs(flow_m3s);
}

double valve_flow_m3s(double drop_pa, double kv_m3s, double density_kg_m3, double *by_drop)
{
    double at_one = BAR_PA * density_kg_m3 / REFERENCE_KG_M3;
    double root = sqrt(fabs(drop_pa) / at_one);
    give(by_drop, kv_m3s / (2.0 * at_one * root));
    return copysign(kv_m3s * root, drop_pa);
}

double valve_shut_loss_m(double flow_m3s, double *by_flow_s_m2)
{
    give(by_flow_s_m2, VALVE_SHUT_SLOPE_S_M2);
    return VALVE_SHUT_SLOPE_S_M2 * flow_m3s;
}

double check_valve_loss_m(double flow_m3s, double kv_m3s, double cracking_pa, double density_kg_m3,
                          double *by_flow_s_m2)
{
    double crack = cracking_pa / (density_kg_m3 * WATER_GRAVITY_M_S2);
    if (flow_m3s > 0.0)
        return crack + valve_loss_m(flow_m3s, kv_m3s, by_flow_s_m2);
    return crack + valve_shut_loss_m(flow_m3s, by_flow_s_m2);
}

double check_valve_flow_m3s(double drop_pa, double kv_m3s, double cracking_pa, double density_kg_m3,
                            double *by_drop)
{
    if (drop_pa > cracking_pa)
        return valve_flow_m3s(drop_pa - cracking_pa, kv_m3s, density_kg_m3, by_drop);
    give(by_drop, 0.0);
    return 0.0;
}
