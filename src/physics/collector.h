/* collector.h - heat that a solar collector gives to the water in it. Knows nothing of
 * tubes, tanks or days. Temperatures in degC, sun in the collector's plane in W/m2. */
#ifndef RT_COLLECTOR_H
#define RT_COLLECTOR_H

struct collector {
    double area_m2;
    double optical_gain;    /* F_R (tau alpha), 1 */
    double loss_w_m2k;      /* F_R U_L */
    double test_kg_m2s;     /* flow per area at which both were measured; NAN: unknown */
};

/* How much more or less of both figures holds at another flow than the test's:
 *   [m c/F'U_L (1 - exp(-F'U_L/(m c)))] in use over the same at test,
 *   F'U_L = -m_t c ln(1 - F_R U_L/(m_t c)),   m the flow per area.
 * 1 when the test flow is unknown or too small for the loss to make sense.
 * Duffie and Beckman, Solar Engineering of Thermal Processes, eq. 6.20.1 to 6.20.4. */
double collector_flow_factor(const struct collector *collector, double flow_kg_m2s, double heat_j_kgk);

/* Useful gain in W, r A [F_R(ta) G - F_R U_L (T_in - T_air)]; negative when the water is
 * cooled. Hottel, Whillier and Bliss, in Duffie and Beckman, chapter 6. */
double collector_gain_w(const struct collector *collector, double sun_w_m2, double inlet_degc,
                        double air_degc, double flow_kg_m2s, double heat_j_kgk);

/* Temperature without flow in degC: T_air + G F_R(ta)/F_R U_L. Same source. */
double collector_standstill_degc(const struct collector *collector, double sun_w_m2, double air_degc);

#endif
