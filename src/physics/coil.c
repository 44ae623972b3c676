#include "physics/coil.h"

#include <math.h>
#include <stddef.h>

#include "physics/fitting.h"
#include "physics/pipe.h"
#include "physics/water.h"

static void give(double *slope, double value)
{
    if (slope)
        *slope = value;
}

double coil_bends(double length_m, double area_m2)
{
    return fmax(0.0, floor(length_m / sqrt(area_m2)) - 1.0);
}

double coil_critical_reynolds(double curvature)
{
    return 20000.0 * pow(curvature, 0.32);
}

double coil_white(double reynolds, double curvature, double *by_reynolds)
{
    double dean = reynolds * sqrt(curvature);
    double straight = 64.0 / reynolds;
    if (dean <= 11.6) {
        give(by_reynolds, -straight / reynolds);
        return straight;
    }
    double u = pow(11.6 / dean, 0.45);
    double part = pow(1.0 - u, 1.0 / 0.45);
    double factor = 1.0 / (1.0 - part);
    /* d part/d Re = part/(1-u) u/Re: the two exponents 0.45 cancel */
    double part_slope = u < 1.0 ? part / (1.0 - u) * u / reynolds : 0.0;
    give(by_reynolds, straight * factor * (part_slope * factor - 1.0 / reynolds));
    return straight * factor;
}

double coil_mori_nakayama(double reynolds, double curvature, double *by_reynolds)
{
    double p = pow(reynolds * curvature * curvature, -0.2);
    double lead = 0.3 * sqrt(curvature);
    give(by_reynolds, lead * (1.0 + 0.224 * p) * -0.2 * p / reynolds);
    return lead * p * (1.0 + 0.112 * p);
}

/* The larger of the coil's law and a straight pipe's. */
static double turbulent(double reynolds, double curvature, double relative_roughness, double *slope)
{
    double straight_slope;
    double straight = pipe_friction(reynolds, relative_roughness, &straight_slope);
    double coiled = coil_mori_nakayama(reynolds, curvature, slope);
    if (coiled >= straight)
        return coiled;
    *slope = straight_slope;
    return straight;
}

/* Hermite's cubic over one joining span. */
static double join(double part, double span, double low, double low_slope, double high,
                   double high_slope, double *slope)
{
    low_slope *= span;
    high_slope *= span;
    double square = 3.0 * (high - low) - 2.0 * low_slope - high_slope;
    double cube = 2.0 * (low - high) + low_slope + high_slope;
    *slope = (low_slope + part * (2.0 * square + part * 3.0 * cube)) / span;
    return low + part * (low_slope + part * (square + part * cube));
}

double coil_friction(double reynolds, double curvature, double relative_roughness,
                     double *by_reynolds)
{
    double critical = coil_critical_reynolds(curvature);
    if (reynolds <= critical)
        return coil_white(reynolds, curvature, by_reynolds);
    double slope, friction;
    double span = critical * COIL_JOIN;
    if (reynolds >= critical + span) {
        friction = turbulent(reynolds, curvature, relative_roughness, &slope);
    } else {
        double low_slope, high_slope;
        double low = coil_white(critical, curvature, &low_slope);
        double high = turbulent(critical + span, curvature, relative_roughness, &high_slope);
        friction =
            join((reynolds - critical) / span, span, low, low_slope, high, high_slope, &slope);
    }
    give(by_reynolds, slope);
    return friction;
}

/* f Re2 of a coil; 64 Re at rest as in a straight pipe. */
static double friction_re2(double reynolds, double curvature, double relative_roughness,
                           double *slope)
{
    if (reynolds * sqrt(curvature) <= 11.6 && reynolds <= coil_critical_reynolds(curvature)) {
        *slope = 64.0;
        return 64.0 * reynolds;
    }
    double friction_slope;
    double friction = coil_friction(reynolds, curvature, relative_roughness, &friction_slope);
    *slope = reynolds * (2.0 * friction + reynolds * friction_slope);
    return friction * reynolds * reynolds;
}

static double helical_loss_m(const struct coil_tube *coil, double flow_m3s, double viscosity_m2s,
                             double *slope)
{
    double area = pipe_area_m2(coil->bore_m);
    double reynolds_by_flow = coil->bore_m / (viscosity_m2s * area);
    double scale = coil->length_m * viscosity_m2s * viscosity_m2s /
                   (2.0 * WATER_GRAVITY_M_S2 * coil->bore_m * coil->bore_m * coil->bore_m);
    double loss =
        scale * friction_re2(fabs(flow_m3s) * reynolds_by_flow, coil->bore_m / coil->turn_m,
                             coil->roughness_m / coil->bore_m, slope);
    *slope *= scale * reynolds_by_flow;
    return copysign(loss, flow_m3s);
}

double coil_loss_m(const struct coil_tube *coil, double flow_m3s, double viscosity_m2s,
                   double *by_flow_s_m2)
{
    double one = flow_m3s / coil->tubes;
    double slope;
    double loss;
    if (coil->layout == COIL_HELICAL) {
        loss = helical_loss_m(coil, one, viscosity_m2s, &slope);
    } else {
        double k = coil->layout == COIL_SERPENTINE ? coil->bends * FITTING_K_RETURN_BEND : 0.0;
        loss = pipe_loss_m(one, coil->bore_m, coil->length_m, coil->roughness_m, k, viscosity_m2s,
                           &slope);
    }
    give(by_flow_s_m2, slope / coil->tubes);
    return loss;
}
