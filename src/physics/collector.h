/* collector.h - the heat that a solar collector gives to the water in it. Knows
 * nothing of tubes, tanks or days. Temperatures in degC, sun in the collector's
 * plane in W/m2, flow per area in kg/s m2, at least 0. A NAN in gives a NAN out. */
#ifndef RT_COLLECTOR_H
#define RT_COLLECTOR_H

struct collector {
    double area_m2;
    double optical_gain; /* F_R (tau alpha), a share */
    double loss_w_m2k;   /* F_R U_L, at least 0 */
    double test_kg_m2s;  /* flow per area at which both were measured; NAN: unknown */
};

/* What both figures are to be multiplied by at another flow than the test's:
 *   r = [m c/F'U_L (1 - exp(-F'U_L/(m c)))] in use over the same at test,
 *   F'U_L = -m_t c ln(1 - F_R U_L/(m_t c)).
 * Duffie and Beckman, Solar Engineering of Thermal Processes, eq. 6.20.1 to 6.20.4.
 * 1 when the test flow is unknown, or so small that it could not carry the loss;
 * 0 at no flow when it is known. */
double collector_flow_factor(const struct collector *collector, double flow_kg_m2s,
                             double heat_j_kgk);

/* Useful gain in W: r A [F_R(ta) G - F_R U_L (T_in - T_air)], T_in where the water
 * comes in. Negative when the collector cools the water. Hottel, Whillier and
 * Bliss, in Duffie and Beckman, chapter 6. */
double collector_gain_w(const struct collector *collector, double sun_w_m2, double inlet_degc,
                        double air_degc, double flow_kg_m2s, double heat_j_kgk);

/* Where the water leaves, degC: T_in + gain/(m c), with m in kg/s. At no flow there
 * is no such place: NAN. */
double collector_outlet_degc(double inlet_degc, double gain_w, double flow_kg_s, double heat_j_kgk);

/* How hot it gets without flow, degC: T_air + G F_R(ta)/F_R U_L (same source). The
 * straight line is cautious: hot collectors lose more than it says. INFINITY
 * without loss. */
double collector_standstill_degc(const struct collector *collector, double sun_w_m2,
                                 double air_degc);

#endif
