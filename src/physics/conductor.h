/* conductor.h - what a wire and the contacts in it resist. Sizes are areas in
 * m2; a size that was written in AWG is its computed area with `gauged` set.
 * Knows nothing of ampacity tables (ampacity.h), rigs or rules. */
#ifndef RT_CONDUCTOR_H
#define RT_CONDUCTOR_H
#include <stdbool.h>

enum conductor_metal { CONDUCTOR_COPPER, CONDUCTOR_ALUMINIUM };

/* IEC 60228 classes 2, 1 and 5. Stranded comes first: it is what is assumed. */
enum conductor_class { CONDUCTOR_STRANDED, CONDUCTOR_SOLID, CONDUCTOR_FLEXIBLE };

struct conductor_wire {
    double area_m2; /* of one conductor */
    bool gauged;    /* the size was written in AWG */
    enum conductor_metal metal;
    enum conductor_class strands;
    bool panel_cable; /* tinned class 5 when its area is a nominal one */
};

/* Area of a round solid wire of that American gauge in m2, from its diameter
 * 0.127 mm x 92^((36 - gauge)/39) [ASTM B258]. 1/0 is gauge 0, 4/0 gauge -3. */
double conductor_gauge_area_m2(double gauge);

/* Its diameter in m, same source. */
double conductor_gauge_diameter_m(double gauge);

/* The thickest whole gauge that is not thicker than area_m2; its area may
 * exceed area_m2 by 1e-12 m2 (1e-6 mm2), which forgives rounding. */
int conductor_area_gauge(double area_m2);

/* Resistivity at 20 degC in ohm m: annealed copper 1/58 ohm mm2/m [IEC 60028],
 * aluminium 0.02826 ohm mm2/m [IEC 60889]. */
double conductor_resistivity_ohm_m(enum conductor_metal metal);

/* Temperature coefficient of resistance at 20 degC per K: copper 0.00393
 * [IEC 60028], aluminium 0.00403 [IEC 60889]. */
double conductor_coefficient_per_k(enum conductor_metal metal);

/* Resistance of one conductor at 20 degC in ohm/m. Copper of a nominal area
 * (within 1e-6 mm2) takes the largest value that IEC 60228 allows its class;
 * a gauge takes its computed area, 2 % more when stranded or flexible
 * (common practice; NFPA 70 chapter 9 table 8 lies 1.7 to 2.6 % above solid);
 * any other area, and aluminium always, takes resistivity over area.
 * NAN when the area is not above 0. */
double conductor_r20_ohm_per_m(const struct conductor_wire *wire);

/* The words for a working that say where that resistance comes from. */
const char *conductor_r20_source(const struct conductor_wire *wire);

/* R(T) = R20 (1 + coefficient (T - 20)). Same unit out as in. */
double conductor_at_temperature(double r20, double coefficient_per_k, double wire_degc);

/* A cable run out and back, at one air temperature, with what sits in it. */
struct conductor_run {
    double r20_ohm;           /* loop at 20 degC: 2 x length x R' / count */
    double coefficient_per_k; /* of its metal */
    double air_degc;
    double full_rise_k;    /* conductor limit less air, both of the ampacity table */
    double full_current_a; /* table value x grouping x count, without the air factor;
                              INFINITY when unknown: the wire then has the air's temperature */
    double contacts_ohm;   /* fuses, plugs, switches in the run: cold, constant */
};

/* Loop resistance at 20 degC of `count` cables side by side, in ohm:
 * 2 x length x R' / count. In-line parts are not in it. */
double conductor_loop_ohm(double r20_ohm_per_m, double length_m, double count);

/* Temperature of the conductor at a current, in degC:
 * air + full_rise (I / full_current)^2  [IEC 60287 in its simplest form]. */
double conductor_temperature_degc(const struct conductor_run *run, double current_a);

/* Voltage lost along the run at a current, in V, contacts included, the wire as
 * warm as that current makes it. *slope_ohm (may be NULL) gets d drop/d current.
 * Odd in the current and rising everywhere. */
double conductor_drop_v(const struct conductor_run *run, double current_a, double *slope_ohm);

/* The other way round: the current that loses drop_v, in A, exactly (the drop is
 * a cubic in the current). *slope_s (may be NULL) gets d current/d drop in A/V.
 * The run's resistance must be above 0. */
double conductor_current_a(const struct conductor_run *run, double drop_v, double *slope_s);

enum conductor_contact {
    CONDUCTOR_CONTACT_FUSE,   /* 0.08 V at its rated current; common practice, no source */
    CONDUCTOR_CONTACT_PLUG,   /* 0.5 mohm new; IEC 62852 allows 5 mohm after ageing */
    CONDUCTOR_CONTACT_RELAY,  /* 30 mohm; also thermostats, float and light switches;
                                 common practice, no source */
    CONDUCTOR_CONTACT_SWITCH, /* 10 mohm; common practice, no source */
};

/* Resistance of one in-line part in ohm when nothing better is known. rating_a
 * matters to a fuse only: NAN when it is not above 0. */
double conductor_contact_ohm(enum conductor_contact contact, double rating_a);
#endif
