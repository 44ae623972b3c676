/* outlet.h - what an open end with a nozzle, a dripper or a sprinkler loses. */
#ifndef RT_OUTLET_H
#define RT_OUTLET_H

/* Below this exponent an outlet counts as pressure-compensated. */
#define OUTLET_LEAST_EXPONENT 0.02

/* Head in m lost at an outlet that passes nominal_m3s at nominal_pa, by the
 * emitter law Q = Q_n (p/p_n)^x (J. Keller and D. Karmeli 1974):
 *   h = p_n/(rho g) (Q/Q_n)^(1/x).
 * exponent x is 0.5 for an orifice, 1 for a laminar dripper, 0 for a
 * pressure-compensated one, which loses nothing up to its nominal flow and holds
 * it there. Water only comes out: flow < 0 meets a wall of VALVE_SHUT_SLOPE_S_M2.
 * *by_flow_s_m2 (may be NULL): d h / d Q in s/m2. */
double outlet_loss_m(double flow_m3s, double nominal_m3s, double nominal_pa, double exponent,
                     double density_kg_m3, double *by_flow_s_m2);

#endif
