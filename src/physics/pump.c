#include "physics/pump.h"

#include <math.h>

#include "physics/fitting.h"
#include "physics/valve.h"
#include "physics/water.h"

/* Below this share of the curve's own size a coefficient is rounding, not a
 * slope: points on an exact H_max - c Q2 must not be refused for b = 1e-17. */
static const double rounding = 1e-9;

static void give(double *slope, double value)
{
    if (slope)
        *slope = value;
}

enum pump_fit pump_curve_of_plate(double max_head_m, double max_flow_m3s, struct pump_curve *out)
{
    if (!(max_head_m > 0.0 && max_flow_m3s > 0.0 && isfinite(max_head_m) && isfinite(max_flow_m3s)))
        return PUMP_FIT_TOO_FEW;
    *out = (struct pump_curve){.shutoff_m = max_head_m,
                               .square_s2_m5 = -max_head_m / (max_flow_m3s * max_flow_m3s),
                               .open_m3s = max_flow_m3s};
    return PUMP_FIT_GOOD;
}

/* Sums over the points, with the flow in shares of the largest so that the
 * normal equations stay well scaled. */
struct sums {
    double x[5]; /* sum of x^k */
    double y[3]; /* sum of y x^k */
};

static struct sums sum_up(const double *flow, const double *head, size_t count, double unit,
                          double pin)
{
    struct sums sums = {{0.0}, {0.0}};
    for (size_t i = 0; i < count; i++) {
        double power = 1.0;
        double x = flow[i] / unit;
        for (int k = 0; k < 5; k++) {
            sums.x[k] += power;
            if (k < 3)
                sums.y[k] += (head[i] - pin) * power;
            power *= x;
        }
    }
    return sums;
}

/* Solves a symmetric positive definite n by n system (n <= 3) in place, by
 * elimination; the answer is in right. False when a pivot vanishes, which is
 * when there are too few different flows. */
static bool solve(double matrix[3][3], double right[3], int n)
{
    for (int i = 0; i < n; i++) {
        double scale = matrix[i][i];
        for (int j = 0; j < i; j++) {
            double factor = matrix[i][j] / matrix[j][j];
            for (int k = j; k < n; k++)
                matrix[i][k] -= factor * matrix[j][k];
            right[i] -= factor * right[j];
        }
        if (!(matrix[i][i] > 1e-12 * scale))
            return false;
    }
    for (int i = n - 1; i >= 0; i--) {
        for (int k = i + 1; k < n; k++)
            right[i] -= matrix[i][k] * right[k];
        right[i] /= matrix[i][i];
    }
    return true;
}

/* Least squares of a + b x + c x2, a given when pinned; false: too few. */
static bool fit(const struct sums *sums, bool pinned, double coefficient[3])
{
    int first = pinned ? 1 : 0;
    int n = 3 - first;
    double matrix[3][3] = {{0.0}};
    double right[3] = {0.0};
    for (int i = 0; i < n; i++) {
        for (int j = 0; j < n; j++)
            matrix[i][j] = sums->x[i + j + 2 * first];
        right[i] = sums->y[i + first];
    }
    if (!solve(matrix, right, n))
        return false;
    for (int i = 0; i < n; i++)
        coefficient[i + first] = right[i];
    return true;
}

/* Smallest positive zero of a + b x + c x2 with a > 0 and b <= 0; NAN: none. */
static double open_at(double a, double b, double c)
{
    double inner = b * b - 4.0 * a * c;
    if (inner < 0.0)
        return NAN;
    /* the form that does not subtract: with b <= 0 it is the smaller root when c
     * > 0 and the positive one when c < 0 */
    double open = 2.0 * a / (-b + sqrt(inner));
    return isfinite(open) ? open : NAN;
}

static double largest(const double *values, size_t count)
{
    double most = 0.0;
    for (size_t i = 0; i < count; i++)
        most = fmax(most, values[i]);
    return most;
}

static bool all_usable(const double *flow, const double *head, size_t count)
{
    for (size_t i = 0; i < count; i++)
        if (!isfinite(flow[i]) || !isfinite(head[i]) || flow[i] < 0.0)
            return false;
    return true;
}

enum pump_fit pump_curve_of_points(const double *flow_m3s, const double *head_m, size_t count,
                                   double shutoff_m, struct pump_curve *out)
{
    bool pinned = shutoff_m > 0.0;
    double unit = largest(flow_m3s, count);
    if (!all_usable(flow_m3s, head_m, count) || !(unit > 0.0))
        return PUMP_FIT_TOO_FEW;

    double c[3] = {pinned ? shutoff_m : 0.0, 0.0, 0.0};
    struct sums sums = sum_up(flow_m3s, head_m, count, unit, c[0]);
    if (!fit(&sums, pinned, c))
        return PUMP_FIT_TOO_FEW;
    if (!(c[0] > 0.0))
        return PUMP_FIT_NO_HEAD;
    if (c[1] > rounding * c[0])
        return PUMP_FIT_RISES;
    c[1] = fmin(c[1], 0.0);
    double open = open_at(c[0], c[1], c[2]);
    if (isnan(open))
        return PUMP_FIT_NEVER_OPENS;
    if (c[1] + 2.0 * c[2] * open > rounding * c[0])
        return PUMP_FIT_RISES;
    *out = (struct pump_curve){.shutoff_m = c[0],
                               .linear_s_m2 = c[1] / unit,
                               .square_s2_m5 = c[2] / (unit * unit),
                               .open_m3s = open * unit};
    return PUMP_FIT_GOOD;
}

double pump_standing_head_m(const struct pump_seat *seat, double flow_m3s, double *by_flow_s_m2)
{
    double slope = 0.0, loss = 0.0;
    if (seat->holds_back)
        loss = valve_shut_loss_m(flow_m3s, &slope);
    else if (seat->bore_m > 0.0)
        loss = fitting_loss_m(flow_m3s, seat->bore_m, FITTING_K_CHECK_SWING, &slope);
    give(by_flow_s_m2, -slope);
    return -loss;
}

double pump_head_m(const struct pump_curve *curve, const struct pump_seat *seat, double flow_m3s,
                   double speed, double *by_flow_s_m2, double *by_speed_m)
{
    double shutoff = curve->shutoff_m * speed * speed;
    if (flow_m3s < 0.0) {
        give(by_speed_m, 2.0 * curve->shutoff_m * speed);
        return shutoff + pump_standing_head_m(seat, flow_m3s, by_flow_s_m2);
    }
    /* s2 H(Q/s) multiplied out, so that nothing is divided by s */
    double linear = curve->linear_s_m2;
    double square = curve->square_s2_m5;
    give(by_flow_s_m2, linear * speed + 2.0 * square * flow_m3s);
    give(by_speed_m, 2.0 * curve->shutoff_m * speed + linear * flow_m3s);
    return shutoff + flow_m3s * (linear * speed + square * flow_m3s);
}

double pump_diaphragm_head_m(double max_pressure_pa, double max_flow_m3s, double density_kg_m3,
                             double flow_m3s, double speed, double *by_flow_s_m2,
                             double *by_speed_m)
{
    double top = max_pressure_pa / (density_kg_m3 * WATER_GRAVITY_M_S2);
    double share = flow_m3s / (speed * max_flow_m3s);
    give(by_speed_m, 0.0);
    if (flow_m3s < 0.0) {
        double wall;
        double loss = valve_shut_loss_m(flow_m3s, &wall);
        give(by_flow_s_m2, -wall);
        return top - loss;
    }
    if (share <= 0.75) {
        give(by_flow_s_m2, 0.0);
        return top;
    }
    give(by_flow_s_m2, -4.0 * top / (speed * max_flow_m3s));
    give(by_speed_m, 4.0 * top * share / speed);
    return 4.0 * top * (1.0 - share);
}

double pump_water_power_w(double flow_m3s, double head_m, double density_kg_m3)
{
    return density_kg_m3 * WATER_GRAVITY_M_S2 * flow_m3s * head_m;
}

double pump_efficiency(double flow_m3s, double head_m, double density_kg_m3, double watts)
{
    if (!(watts > 0.0))
        return NAN;
    return pump_water_power_w(flow_m3s, head_m, density_kg_m3) / watts;
}
