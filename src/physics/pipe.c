#include "physics/pipe.h"

#include <math.h>
#include <stdbool.h>
#include <stddef.h>

#include "physics/water.h"

static const double pi = 3.14159265358979323846;
static const double ln10 = 2.30258509299404568402;

static void give(double *slope, double value)
{
    if (slope)
        *slope = value;
}

double pipe_area_m2(double bore_m)
{
    return pi / 4.0 * bore_m * bore_m;
}

double pipe_velocity_m_s(double flow_m3s, double bore_m)
{
    return flow_m3s / pipe_area_m2(bore_m);
}

double pipe_reynolds(double flow_m3s, double bore_m, double viscosity_m2s)
{
    return fabs(flow_m3s) * 4.0 / (pi * bore_m * viscosity_m2s);
}

/* One step towards y + ln(k + y) = c, given the left side's error and using its
 * first three derivatives: fourth order, so two steps from within 10 % reach
 * the last bits (Clamond 2009). */
static double colebrook_step(double y, double k, double error)
{
    double sum = 1.0 + k + y;
    double e = error / sum;
    return y - (sum + 0.5 * e) * e * (k + y) / (sum + e * (1.0 + e / 3.0));
}

/* With y = ln10/(2 sqrt f) Colebrook's equation reads y + ln(k + y) = c, where
 * k = ln10 rr Re/(2 3.7 2.51) and c = ln(ln10 Re/(2 2.51)). Implicit
 * differentiation of that gives the slope without another logarithm. */
double pipe_colebrook(double reynolds, double relative_roughness, double *by_reynolds)
{
    double k = relative_roughness * reynolds * (ln10 / (2.0 * 3.7 * 2.51));
    double c = log(reynolds * (ln10 / (2.0 * 2.51)));
    double y = c - 0.2;
    y = colebrook_step(y, k, log(k + y) - 0.2);
    y = colebrook_step(y, k, log(k + y) + y - c);

    double root = 0.5 * ln10 / y;
    double friction = root * root;
    /* y' (1 + 1/(k + y)) = 1/Re - k/(Re (k + y)), and f'/f = -2 y'/y */
    give(by_reynolds, -2.0 * friction / (reynolds * (1.0 + k + y)));
    return friction;
}

/* The cubic over 2000 .. 4000, in Hermite's form. */
static double transition(double reynolds, double relative_roughness, double *by_reynolds)
{
    const double from = PIPE_LAMINAR_END;
    const double span = PIPE_TURBULENT_START - PIPE_LAMINAR_END;
    const double low = 64.0 / from;
    const double low_slope = -64.0 / (from * from) * span;
    double high_slope;
    double high = pipe_colebrook(PIPE_TURBULENT_START, relative_roughness, &high_slope);
    high_slope *= span;

    double t = (reynolds - from) / span;
    double square = 3.0 * (high - low) - 2.0 * low_slope - high_slope;
    double cube = 2.0 * (low - high) + low_slope + high_slope;
    give(by_reynolds, (low_slope + t * (2.0 * square + t * 3.0 * cube)) / span);
    return low + t * (low_slope + t * (square + t * cube));
}

double pipe_friction(double reynolds, double relative_roughness, double *by_reynolds)
{
    if (reynolds <= PIPE_LAMINAR_END) {
        double friction = 64.0 / reynolds;
        give(by_reynolds, -friction / reynolds);
        return friction;
    }
    if (reynolds < PIPE_TURBULENT_START)
        return transition(reynolds, relative_roughness, by_reynolds);
    return pipe_colebrook(reynolds, relative_roughness, by_reynolds);
}

double pipe_friction_re2(double reynolds, double relative_roughness, double *by_reynolds)
{
    if (reynolds <= PIPE_LAMINAR_END) {
        give(by_reynolds, 64.0);
        return 64.0 * reynolds;
    }
    double slope;
    double friction = pipe_friction(reynolds, relative_roughness, &slope);
    give(by_reynolds, reynolds * (2.0 * friction + reynolds * slope));
    return friction * reynolds * reynolds;
}

/* h = f Re2 L nu2/(2 g D3) + K v2/2g, so that nothing is divided by the flow. */
double pipe_loss_m(double flow_m3s, double bore_m, double length_m, double roughness_m,
                   double k_sum, double viscosity_m2s, double *by_flow_s_m2)
{
    double area = pipe_area_m2(bore_m);
    double speed = fabs(flow_m3s) / area;
    double reynolds_by_speed = bore_m / viscosity_m2s;
    double scale = length_m * viscosity_m2s * viscosity_m2s /
                   (2.0 * WATER_GRAVITY_M_S2 * bore_m * bore_m * bore_m);
    double slope;
    double friction =
        scale * pipe_friction_re2(speed * reynolds_by_speed, roughness_m / bore_m, &slope);
    double fittings = k_sum * speed * speed / (2.0 * WATER_GRAVITY_M_S2);
    give(by_flow_s_m2,
         (scale * slope * reynolds_by_speed + k_sum * speed / WATER_GRAVITY_M_S2) / area);
    return copysign(friction + fittings, flow_m3s);
}

double pipe_loss_at_friction_m(double flow_m3s, double bore_m, double length_m, double friction,
                               double k_sum, double *by_flow_s_m2)
{
    double area = pipe_area_m2(bore_m);
    double per_square =
        (friction * length_m / bore_m + k_sum) / (2.0 * WATER_GRAVITY_M_S2 * area * area);
    give(by_flow_s_m2, 2.0 * per_square * fabs(flow_m3s));
    return per_square * flow_m3s * fabs(flow_m3s);
}

/* A flow that loses at least as much: laminar friction and turbulent fittings
 * each lose less than the whole, so the smaller of the two flows will do. */
static double flow_above(double loss_m, double bore_m, double length_m, double k_sum,
                         double viscosity_m2s)
{
    double area = pipe_area_m2(bore_m);
    double laminar = loss_m * area * 2.0 * WATER_GRAVITY_M_S2 * bore_m * bore_m /
                     (64.0 * viscosity_m2s * length_m);
    double fittings = area * sqrt(2.0 * WATER_GRAVITY_M_S2 * loss_m / k_sum);
    return fmin(laminar, fittings);
}

/* Where to start: friction alone is explicit in the head when it is turbulent
 * (Colebrook's own form), and squares of flows add for what is in series. */
static double flow_guess(double loss_m, double bore_m, double length_m, double roughness_m,
                         double k_sum, double viscosity_m2s)
{
    double area = pipe_area_m2(bore_m);
    double root = sqrt(2.0 * WATER_GRAVITY_M_S2 * bore_m * loss_m / length_m); /* v sqrt(f) */
    double friction = -2.0 / ln10 * area * root *
                      log(roughness_m / bore_m / 3.7 + 2.51 * viscosity_m2s / (bore_m * root));
    double fittings = area * sqrt(2.0 * WATER_GRAVITY_M_S2 * loss_m / k_sum);
    return friction / hypot(1.0, friction / fittings);
}

/* Newton; the law rises throughout, so the bracket always holds the root. */
double pipe_flow_m3s(double loss_m, double bore_m, double length_m, double roughness_m,
                     double k_sum, double viscosity_m2s, double *by_loss_m2_s)
{
    double want = fabs(loss_m);
    double low = 0.0, slope;
    double high = want > 0.0 ? flow_above(want, bore_m, length_m, k_sum, viscosity_m2s) : 0.0;
    double flow = high;
    double guess = flow_guess(want, bore_m, length_m, roughness_m, k_sum, viscosity_m2s);
    if (guess > 0.0 && guess < high)
        flow = guess;
    for (int i = 0; i < 100 && isfinite(flow) && flow > 0.0; i++) {
        double error =
            pipe_loss_m(flow, bore_m, length_m, roughness_m, k_sum, viscosity_m2s, &slope) - want;
        if (error > 0.0)
            high = flow;
        else
            low = flow;
        double next = flow - error / slope;
        if (!(next >= low && next <= high))
            next = 0.5 * (low + high);
        bool done = fabs(next - flow) <= 1e-15 * flow;
        flow = next;
        if (done)
            break;
    }
    if (by_loss_m2_s) {
        pipe_loss_m(flow, bore_m, length_m, roughness_m, k_sum, viscosity_m2s, &slope);
        *by_loss_m2_s = 1.0 / slope;
    }
    return copysign(flow, loss_m);
}

double pipe_loss_hazen_williams_m(double flow_m3s, double bore_m, double length_m,
                                  double hazen_williams_c)
{
    double speed = fabs(pipe_velocity_m_s(flow_m3s, bore_m));
    double gradient =
        pow(speed / (0.849182 * hazen_williams_c * pow(bore_m / 4.0, 0.63)), 1.0 / 0.54);
    return copysign(length_m * gradient, flow_m3s);
}
