/* pump.h - head of a pump against its flow and speed. Knows nothing of motors:
 * the speed ratio s is given (1 at the rated voltage). Units: flow m3/s, head m.
 * Slopes go to pointers that may be NULL. */
#ifndef RT_PUMP_H
#define RT_PUMP_H
#include <stdbool.h>
#include <stddef.h>

/* H = shutoff + linear Q + square Q2 at the rated speed. */
struct pump_curve {
    double shutoff_m;   /* head at no flow */
    double linear_s_m2; /* never positive */
    double square_s2_m5;
    double open_m3s; /* flow at no head: the smallest positive zero */
};

enum pump_fit {
    PUMP_FIT_GOOD,
    PUMP_FIT_TOO_FEW,    /* too few different flows for the unknowns, or figures not finite */
    PUMP_FIT_NO_HEAD,    /* head at no flow is not positive */
    PUMP_FIT_RISES,      /* head rises with flow at no flow or at the open flow */
    PUMP_FIT_NEVER_OPENS /* head never falls to 0 */
};

/* Curve from two nameplate figures: H = H_max (1 - (Q/Q_max)^2). Common
 * practice, no source. PUMP_FIT_TOO_FEW when a figure is not positive. */
enum pump_fit pump_curve_of_plate(double max_head_m, double max_flow_m3s, struct pump_curve *out);

/* Curve through points, least squares of head on flow, unweighted. With
 * shutoff_m > 0 it is pinned to that head at no flow (two different flows
 * above 0 are then enough), else free (three different flows). On refusal *out
 * is untouched. */
enum pump_fit pump_curve_of_points(const double *flow_m3s, const double *head_m, size_t count,
                                   double shutoff_m, struct pump_curve *out);

/* How a pump stands in its pipe. */
struct pump_seat {
    double bore_m;   /* of the first pipe from its outlet, else to its inlet; 0: no loss */
    bool holds_back; /* lets no water back */
};

/* Head in m of a centrifugal pump turning at speed s > 0, by the affinity laws
 *   H(Q, s) = s2 H(Q/s);
 * past the open flow the same polynomial goes on (negative head). Against
 * reverse flow: s2 shutoff plus the standing loss, or the wall of a pump that
 * holds back.
 * *by_flow_s_m2: d H / d Q; *by_speed_m: d H / d s. At Q = 0 with a linear term
 * the slope is that of Q > 0. */
double pump_head_m(const struct pump_curve *curve, const struct pump_seat *seat, double flow_m3s,
                   double speed, double *by_flow_s_m2, double *by_speed_m);

/* Head gained in m by a standing pump, so minus its loss: a swing check valve
 * (K 2.0) on the seat's bore in both directions; when it holds back, shut both
 * ways. */
double pump_standing_head_m(const struct pump_seat *seat, double flow_m3s, double *by_flow_s_m2);

/* Head in m of a diaphragm pump at speed s > 0:
 *   min(p_max, 4 p_max (1 - Q/(s Q_max))) / (rho g),
 * from Q = Q_max s (1 - 0.25 p/p_max) and a pressure switch at p_max, on which
 * it cycles at any mean flow up to 0.75 s Q_max. No reverse flow: a wall there.
 * Common practice, no source. */
double pump_diaphragm_head_m(double max_pressure_pa, double max_flow_m3s, double density_kg_m3,
                             double flow_m3s, double speed, double *by_flow_s_m2,
                             double *by_speed_m);

/* Power in W that the water gains: rho g Q H. With a volume for the flow it is
 * the energy in J. */
double pump_water_power_w(double flow_m3s, double head_m, double density_kg_m3);

/* Share of the electric power that reaches the water; NAN unless watts > 0. */
double pump_efficiency(double flow_m3s, double head_m, double density_kg_m3, double watts);

#endif
