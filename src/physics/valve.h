/* valve.h - what a valve, a check valve and a relief valve lose and pass.
 * A Kv is held in SI as the flow in m3/s of water of 1000 kg/m3 that loses
 * 1 bar; 1 m3/h at 1 bar is 1/3600. Slopes go to a pointer that may be NULL. */
#ifndef RT_VALVE_H
#define RT_VALVE_H

/* Slope d h / d Q in s/m2 of something that is shut, or that holds against
 * reverse flow: 10 m of head then leak 1e-12 m3/s (32 mL a year, nothing that
 * a report shows), and Newton's method still has a slope to work with. Our own
 * choice; no source. */
#define VALVE_SHUT_SLOPE_S_M2 1e13

/* Kv in m3/s at 1 bar from Cv in m3/s at 1 psi: Kv [m3/h] = 0.865 Cv [US
 * gal/min], taken as exact in those units (0.86498 computed). */
double valve_kv_of_cv(double cv_m3s);

/* Kv in m3/s at 1 bar of a sharp hole: Kv [m3/h] = 0.03999 Cd d2, d in mm,
 * Cd 0.62; from Q = Cd A sqrt(2 dp/rho), rho 1000 kg/m3. */
double valve_kv_of_orifice(double orifice_m);

/* Loss coefficient K on a bore's velocity of a valve with that Kv. */
double valve_k_of_kv(double kv_m3s, double bore_m);

/* Kv of two valves in series: 1/Kv2 adds (IEC 60534-2-1). */
double valve_kv_in_series(double kv1_m3s, double kv2_m3s);

/* Pressure lost in Pa, signed as the flow (IEC 60534):
 *   dp [bar] = rho/1000 (Q/Kv)^2.
 * *by_flow: d p / d Q in Pa s/m3, 0 at rest. */
double valve_drop_pa(double flow_m3s, double kv_m3s, double density_kg_m3, double *by_flow);

/* The same as head in m; density drops out: 1e5/(1000 g) (Q/Kv)^2.
 * *by_flow_s_m2: d h / d Q in s/m2. */
double valve_loss_m(double flow_m3s, double kv_m3s, double *by_flow_s_m2);

/* Flow in m3/s at a pressure across the valve, signed as it. *by_drop: d Q / d p
 * in m3/(s Pa); INFINITY at 0, where the law is a square root. */
double valve_flow_m3s(double drop_pa, double kv_m3s, double density_kg_m3, double *by_drop);

/* Head lost in m over a shut valve: VALVE_SHUT_SLOPE_S_M2 times the flow. */
double valve_shut_loss_m(double flow_m3s, double *by_flow_s_m2);

/* Head lost in m over a check valve that lets flow > 0 through:
 *   dp = p_crack + rho/1000 (Q/Kv)^2 bar,
 * the cracking pressure staying lost while it flows. At flow <= 0 it holds, on
 * a line of VALVE_SHUT_SLOPE_S_M2 that starts from the cracking pressure. */
double check_valve_loss_m(double flow_m3s, double kv_m3s, double cracking_pa, double density_kg_m3,
                          double *by_flow_s_m2);

/* Flow in m3/s, 0 below the cracking pressure; *by_drop as valve_flow_m3s, 0
 * while shut. A relief valve is the same with its set pressure and the gauge
 * pressure before it. */
double check_valve_flow_m3s(double drop_pa, double kv_m3s, double cracking_pa, double density_kg_m3,
                            double *by_drop);

#endif
