/* coil.h - head lost in a coiled or serpentine tube. Heat is elsewhere.
 * Slopes go to a pointer that may be NULL. Darcy friction factors throughout.
 * "curvature" is bore over the mean diameter of the turns. */
#ifndef RT_COIL_H
#define RT_COIL_H

enum coil_layout { COIL_STRAIGHT, COIL_SERPENTINE, COIL_HELICAL };

struct coil_tube {
    enum coil_layout layout;
    double bore_m;
    double length_m; /* of one tube */
    double turn_m;   /* mean diameter of the turns; helical only */
    double bends;    /* number of return bends; serpentine only */
    double tubes;    /* in parallel; the flow divides evenly */
    double roughness_m;
};

/* Return bends of a serpentine when nobody counted them: length of one tube
 * over the square root of the collector's area, rounded down, less one, at
 * least 0. */
double coil_bends(double length_m, double area_m2);

/* Reynolds number at which flow in a coil turns turbulent: 20000 a^0.32
 * (H. Ito 1959). */
double coil_critical_reynolds(double curvature);

/* Friction factor in a laminar coil (C. M. White 1929):
 *   (64/Re) / (1 - (1 - (11.6/De)^0.45)^(1/0.45)),  De = Re sqrt(a),
 * and 64/Re up to De = 11.6, where value and slope agree. reynolds > 0. */
double coil_white(double reynolds, double curvature, double *by_reynolds);

/* Friction factor in a turbulent coil (Y. Mori and W. Nakayama 1967):
 *   0.3 sqrt(a) (Re a2)^-0.2 (1 + 0.112 (Re a2)^-0.2). reynolds > 0. */
double coil_mori_nakayama(double reynolds, double curvature, double *by_reynolds);

/* Share of the critical Reynolds number over which coil_friction climbs from
 * White's value to Mori and Nakayama's. The two laws do not meet there (2 to
 * 12 % apart, the turbulent one higher), and a jump has no slope. */
#define COIL_JOIN 1e-6

/* Friction factor in a helical coil: White up to the critical Reynolds number,
 * from there (within COIL_JOIN) the larger of Mori and Nakayama and a straight
 * pipe of that roughness. Continuous; its slope is too, but for the one corner
 * where the larger law changes. reynolds > 0. */
double coil_friction(double reynolds, double curvature, double relative_roughness,
                     double *by_reynolds);

/* Head lost in m from inlet to outlet at the flow of all tubes together,
 * without entrance and exit, signed as the flow. *by_flow_s_m2: d h / d Q in
 * s/m2, > 0 when length_m > 0. */
double coil_loss_m(const struct coil_tube *coil, double flow_m3s, double viscosity_m2s,
                   double *by_flow_s_m2);

#endif
