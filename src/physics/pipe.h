/* pipe.h - friction in a straight round pipe that runs full, with the exact
 * slope of every law, so that Newton's method sees no jump in value or slope.
 * Knows nothing of fittings' names, materials or rigs.
 *
 * Slopes go to a pointer that may be NULL. Head is metres of the water itself.
 * Units: flow m3/s, bore and length m, viscosity (kinematic) m2/s. */
#ifndef RT_PIPE_H
#define RT_PIPE_H

/* Reynolds numbers where laminar flow ends and where Colebrook begins. */
#define PIPE_LAMINAR_END 2000.0
#define PIPE_TURBULENT_START 4000.0

/* Area of a round bore, m2. */
double pipe_area_m2(double bore_m);

/* Mean speed in m/s, signed as the flow. */
double pipe_velocity_m_s(double flow_m3s, double bore_m);

/* Reynolds number, never negative: 4 |Q| / (pi D nu). */
double pipe_reynolds(double flow_m3s, double bore_m, double viscosity_m2s);

/* Darcy friction factor of Colebrook (1939),
 *   1/sqrt(f) = -2 log10(rr/3.7 + 2.51/(Re sqrt(f))),
 * to the last few bits, by two steps of fourth order after D. Clamond (2009),
 * Ind. Eng. Chem. Res. 48, 3665. For reynolds > 0; meant from 2000 up.
 * relative_roughness is roughness over bore, 0 for smooth.
 * *by_reynolds: d f / d Re. */
double pipe_colebrook(double reynolds, double relative_roughness, double *by_reynolds);

/* Darcy friction factor at any reynolds > 0: 64/Re to 2000, Colebrook from
 * 4000, and between them the cubic in Re that joins both in value and in slope
 * (after Dunlop, but with Colebrook's own value and slope at 4000).
 * *by_reynolds: d f / d Re, continuous. */
double pipe_friction(double reynolds, double relative_roughness, double *by_reynolds);

/* f Re^2 and its slope: what head loss is proportional to. Unlike f it is
 * finite at rest, where it starts with the slope 64. For reynolds >= 0. */
double pipe_friction_re2(double reynolds, double relative_roughness, double *by_reynolds);

/* Head lost in m, by Darcy and Weisbach with the sum of loss coefficients:
 *   h = (f L/D + K) v |v| / 2g,
 * signed as the flow and odd in it.
 * *by_flow_s_m2: d h / d Q in s/m2, > 0 whenever length_m > 0, also at rest. */
double pipe_loss_m(double flow_m3s, double bore_m, double length_m, double roughness_m,
                   double k_sum, double viscosity_m2s, double *by_flow_s_m2);

/* The same with a friction factor that is known already (a chart, a test). */
double pipe_loss_at_friction_m(double flow_m3s, double bore_m, double length_m, double friction,
                               double k_sum, double *by_flow_s_m2);

/* Flow in m3/s at which pipe_loss_m gives loss_m, signed as it; the inverse,
 * by Newton inside a bracket, to 1e-14 of the flow. 0 when length_m and k_sum
 * are both 0 and loss_m is 0; INFINITY with loss_m's sign when they are 0 and
 * loss_m is not.
 * *by_loss_m2_s: d Q / d h in m2/s. */
double pipe_flow_m3s(double loss_m, double bore_m, double length_m, double roughness_m,
                     double k_sum, double viscosity_m2s, double *by_loss_m2_s);

/* Head lost in m after Hazen and Williams, V = 0.849182 C R^0.63 S^0.54 (the
 * 1.318 of the US form, in metres). A second opinion only; the solver does not
 * use it. hazen_williams_c without unit, see roughness_hazen_williams. */
double pipe_loss_hazen_williams_m(double flow_m3s, double bore_m, double length_m,
                                  double hazen_williams_c);

#endif
