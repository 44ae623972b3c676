#include "physics/motor.h"

#include <math.h>
#include <stddef.h>

#include "physics/reciprocal.h"

double motor_rated_a(double current_a, double power_w, double voltage_v)
{
    return isnan(current_a) ? power_w / voltage_v : current_a;
}

bool motor_runs(const struct motor *motor, double volts)
{
    return volts >= motor->least_v;
}

/* (V/V_rated)^n of the law, and its derivative per volt. */
static double law_of_voltage(const struct motor *motor, double volts, double *per_volt)
{
    double ratio = volts / motor->rated_v;
    switch (motor->law) {
    case MOTOR_SQUARE:
        ratio = fmax(ratio, 0.0);
        *per_volt = 2.0 * ratio / motor->rated_v;
        return ratio * ratio;
    case MOTOR_TORQUE:
        break;
    case MOTOR_REGULATED: {
        double floor_v = motor->least_v > 0.0 ? 0.5 * motor->least_v : 0.05 * motor->rated_v;
        double inverse = reciprocal_above(volts, floor_v, per_volt);
        *per_volt *= motor->rated_v;
        return motor->rated_v * inverse;
    }
    case MOTOR_RESISTOR:
        *per_volt = 1.0 / motor->rated_v;
        return ratio;
    }
    *per_volt = 0.0;
    return 1.0;
}

struct motor_point motor_current(const struct motor *motor, double volts, double share)
{
    double per_volt;
    double factor = law_of_voltage(motor, volts, &per_volt);
    return (struct motor_point){
        .amps = motor->rated_a * factor * share,
        .amps_per_volt = motor->rated_a * per_volt * share,
        .amps_per_share = motor->rated_a * factor,
    };
}

double motor_speed(const struct motor *motor, double volts, bool running, double *per_volt)
{
    bool follows = running && (motor->law == MOTOR_SQUARE || motor->law == MOTOR_TORQUE);
    if (per_volt)
        *per_volt = follows ? 1.0 / motor->rated_v : 0.0;
    if (!running)
        return 0.0;
    return follows ? volts / motor->rated_v : 1.0;
}

struct motor_share motor_share_centrifugal(double flow_m3s, double speed, double open_flow_m3s,
                                           double shutoff_share)
{
    if (!(speed > 0.0) || !(flow_m3s > 0.0))
        return (struct motor_share){shutoff_share, 0.0, 0.0};
    double fullness = flow_m3s / (speed * open_flow_m3s);
    if (fullness >= 1.0)
        return (struct motor_share){1.0, 0.0, 0.0};
    double span = 1.0 - shutoff_share;
    return (struct motor_share){
        .share = shutoff_share + span * fullness,
        .per_flow = span / (speed * open_flow_m3s),
        .per_speed = -span * fullness / speed,
    };
}

double motor_share_diaphragm(double pressure_pa, double most_pa, double *per_pa)
{
    double fullness = fmin(fmax(pressure_pa / most_pa, 0.0), 1.0);
    if (per_pa)
        *per_pa = fullness > 0.0 && fullness < 1.0 ? 0.6 / most_pa : 0.0;
    return 0.4 + 0.6 * fullness;
}
