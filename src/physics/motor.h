/* motor.h - the current that a motor or another load takes at a voltage, with
 * derivatives. What the water asks of it enters as one number, the share of its
 * rated load. Knows nothing of pumps' curves, cables, rigs or rules. */
#ifndef RT_MOTOR_H
#define RT_MOTOR_H
#include <stdbool.h>

enum motor_law {
    MOTOR_SQUARE,    /* unregulated, turns a centrifugal pump: I = I_rated (V/V_rated)^2 share
                        [affinity laws: P grows with speed cubed, speed with V] */
    MOTOR_TORQUE,    /* unregulated, turns a diaphragm pump: I = I_rated share at any voltage,
                        since torque follows pressure (common practice, no source) */
    MOTOR_REGULATED, /* driver inside holds the power: I = P_rated share / V */
    MOTOR_RESISTOR, /* heater, filament lamp, valve or relay winding: I = I_rated share V/V_rated */
};

struct motor {
    enum motor_law law;
    double rated_v;
    double rated_a; /* `current`, else power / voltage */
    double least_v; /* starts and stops here: start voltage, or the low end of a regulated
                       one's voltage range; 0 for none */
};

/* Rated current in A: current_a when it is a number, else power_w / voltage_v. */
double motor_rated_a(double current_a, double power_w, double voltage_v);

/* True when it turns at that voltage: v >= least_v. */
bool motor_runs(const struct motor *motor, double volts);

struct motor_point {
    double amps;
    double amps_per_volt;  /* derivative at constant share */
    double amps_per_share; /* derivative at constant voltage */
};

/* The law of a running motor at any voltage: the caller decides whether it runs
 * (motor_runs). Above the voltage range the law goes on. At and below 0 V the
 * square law gives 0. The regulated law follows its tangent below half of least_v (a
 * twentieth of rated_v when that is 0), where no motor runs, so that a solver on
 * its way through finds finite numbers. */
struct motor_point motor_current(const struct motor *motor, double volts, double share);

/* Speed over rated speed: V / V_rated unregulated, 1 regulated, 0 when it stands.
 * *per_volt (may be NULL) gets its derivative in 1/V. Not limited at 1. */
double motor_speed(const struct motor *motor, double volts, bool running, double *per_volt);

/* A share of the rated load, 0..1, and how it follows the water. */
struct motor_share {
    double share;
    double per_flow; /* s/m3 */
    double per_speed;
};

/* Share for a centrifugal pump: shutoff_share + (1 - shutoff_share) x (Q / (s Q_open)
 * held to 0..1). flow_m3s is the flow at speed ratio s; open_flow_m3s is the curve's flow
 * at no head and rated speed; shutoff_share 0.6 is common practice without a source. A
 * speed at or below 0 gives shutoff_share. */
struct motor_share motor_share_centrifugal(double flow_m3s, double speed, double open_flow_m3s,
                                           double shutoff_share);

/* Share for a diaphragm pump: 0.4 + 0.6 p / p_max, p held to 0..p_max (common
 * practice, no source). *per_pa (may be NULL) gets its derivative. */
double motor_share_diaphragm(double pressure_pa, double most_pa, double *per_pa);
#endif
