/* pv.h - a solar panel: from the figures on its label to its current at any
 * voltage, in any sun, at any temperature. One module, then an array of equal
 * modules. Pure functions of numbers; knows nothing of rigs, cables or loads.
 *
 * The model is the one-diode equation with a shunt,
 *
 *     I = I_L - I_o [exp((V + I R_s)/a) - 1] - (V + I R_s)/R_sh
 *
 * solved in the junction voltage x = V + I R_s, in which everything is explicit
 * (Bishop, Solar Cells 25 (1988) 73-89, from memory). Every solve is bracketed and
 * goes on to machine precision; none can fail. A NAN in gives a NAN out.
 * Currents are positive when the panel delivers. Above the open voltage the
 * current is negative: the panel takes power, for the model has no blocking diode. Bypass
 * diodes, shading and breakdown are not in it.
 *
 * Units: V, A, W, ohm, S, degC for temperatures, K for differences, W/m2 for sun in the
 * plane of the panel. "Reference" is 1000 W/m2 with cells at 25 degC. */
#ifndef RT_PV_H
#define RT_PV_H
#include <stdbool.h>

/* ---- One module in one sun at one temperature (pv_cell.c) ---- */

/* The five parameters, each finite; saturation and ideality above 0, the rest at
 * least 0. A shunt of 0 S is no shunt at all. */
struct pv_cell {
    double light_current_a;
    double saturation_a;
    double ideality_v; /* a = n N_s k T/q: the number of cells is never needed */
    double series_ohm;
    double shunt_siemens;
};

struct pv_point {
    double volts, amps, watts;
};

/* Current at a voltage of either sign, A. *slope, unless NULL, receives dI/dV in
 * A/V, which is never positive. */
double pv_current(const struct pv_cell *cell, double volts, double *slope);
/* The same, for who asks again and again: *junction_v is where the search begins, V (0: nothing is
 * known), and receives the junction's voltage. */
double pv_current_near(const struct pv_cell *cell, double volts, double *junction_v, double *slope);

/* Voltage at which a current flows, V: the inverse of pv_current. Minus infinity where a
 * current above the light current meets no shunt. */
double pv_voltage(const struct pv_cell *cell, double amps);

/* Voltage at no current, V; 0 without light. */
double pv_open_voltage(const struct pv_cell *cell);

/* Current at no voltage, A; as modelled, so up to 6 % above the label where the
 * fit had to lift it (see pv_fit.isc_factor). */
double pv_short_current(const struct pv_cell *cell);

/* Voltage, current and power at the maximum power point; zeros without light. */
struct pv_point pv_max_power(const struct pv_cell *cell);

/* ---- From a label to the parameters (pv_label.c, pv_fit.c) ---- */

enum pv_technology { PV_UNKNOWN, PV_MONO, PV_POLY, PV_THIN_FILM };

/* What a label says of one module at reference. NAN, PV_UNKNOWN: not said. */
struct pv_label {
    double power_w, vmp_v, imp_a, voc_v, isc_a;
    double cells;         /* in series: 36, 60 or 72 tell vmp, unless thin film */
    double for_voltage_v; /* 12 or 24: "for 12 V" */
    enum pv_technology technology;
    /* Temperature coefficients. Where both forms are there, %/K goes first. */
    double isc_pct_per_k, isc_a_per_k;
    double voc_pct_per_k, voc_v_per_k;
    double power_pct_per_k;
};

/* A label that says nothing. */
struct pv_label pv_label_blank(void);

/* Where the wanted power coefficient comes from; FILLED stands above these when one of the four
 * figures vmp, imp, voc, isc had to be found as well. */
enum pv_level {
    PV_LEVEL_NONE,
    PV_LEVEL_POWER_TEMP, /* L1: power_pct_per_k is on the label */
    PV_LEVEL_VOC_TEMP,   /* L2: from the voltage's coefficient */
    PV_LEVEL_TECHNOLOGY, /* L3: median of the technology */
    PV_LEVEL_FOUR,       /* L4: median of all modules */
    PV_LEVEL_FILLED      /* L5 */
};

/* Figures that were not on the label and how they were found, as flags of pv_fit.assumed. */
enum {
    PV_ASSUMED_VMP_BY_POWER = 1 << 0, /* power/imp: worked out */
    PV_ASSUMED_IMP_BY_POWER = 1 << 1, /* power/vmp: worked out */
    PV_ASSUMED_VMP_BY_CLASS = 1 << 2, /* median of panels of so many cells, or "for 12 V" */
    PV_ASSUMED_VOC_BY_CLASS = 1 << 3,
    PV_ASSUMED_VOC_BY_RATIO = 1 << 4, /* usual voc/vmp of the technology */
    PV_ASSUMED_ISC_BY_RATIO = 1 << 5,
    PV_ASSUMED_ISC_TEMP = 1 << 6,
    PV_ASSUMED_POWER_TEMP = 1 << 7,
    PV_ASSUMED_CRYSTALLINE = 1 << 8,         /* by class or ratio, with the technology not said */
    PV_ASSUMED_THIN_AS_CRYSTALLINE = 1 << 9, /* thin film "for 12 V" has no figures of its own */
    PV_ASSUMED_LAST = PV_ASSUMED_THIN_AS_CRYSTALLINE
};

/* Doubts about what is on the label, as flags of pv_fit.warnings. "Unusual" is outside the 5th to
 * 95th percentile of the modules of that technology and power. */
enum {
    PV_WARN_POWER_DIFFERS = 1 << 0, /* stated power more than 3 % from vmp x imp */
    PV_WARN_VOC_UNUSUAL = 1 << 1,   /* voc/vmp */
    PV_WARN_ISC_UNUSUAL = 1 << 2,   /* isc/imp */
    PV_WARN_VOC_TEMP_UNUSUAL = 1 << 3,
    PV_WARN_ISC_TEMP_UNUSUAL = 1 << 4,
    PV_WARN_POWER_TEMP_UNUSUAL = 1 << 5,
    PV_WARN_POWER_TEMP_NOT_MET = 1 << 6, /* no parameters give this coefficient */
    PV_WARN_LAST = PV_WARN_POWER_TEMP_NOT_MET
};

/* A fitted module. When `refused` is not NULL it is a constant phrase that can
 * follow "panel: "; then only the label's figures, `assumed` and `warnings` count. */
struct pv_fit {
    const char *refused;
    struct pv_cell cell;    /* at reference */
    double isc_a_per_k;     /* alpha */
    double gap_ev;          /* band gap at 25 degC: 1.121 unless moved to meet power_pct_per_k */
    double isc_factor;      /* f >= 1: the model's short current over the label's */
    double power_pct_per_k; /* wanted, between -10 and 50 degC at 1000 W/m2 */
    double power_pct_per_k_met;        /* what the parameters give */
    double vmp_v, imp_a, voc_v, isc_a; /* the label, completed */
    double voc_pct_per_k;              /* NAN when not on the label: never assumed */
    enum pv_technology technology;
    enum pv_level level;            /* PV_LEVEL_FILLED when a figure was filled in */
    enum pv_level coefficient_from; /* L1 to L4 in any case */
    unsigned assumed, warnings;
};

/* Fits the five parameters to a label: vmp, imp, voc (and isc, unless isc_factor is
 * above 1) are met exactly, and the power's temperature coefficient by the choice of a. Missing
 * figures are filled in first from medians of 14,531 modules (California Energy
 * Commission's list in NREL's module library, releases of 2015 to 2021). Takes some
 * 15 microseconds. */
struct pv_fit pv_fit(const struct pv_label *label);

/* Words for a single flag: what was assumed and on what ground, and what is
 * doubtful. NULL for a number that is no single flag. */
const char *pv_assumed_words(unsigned flag);
const char *pv_warning_words(unsigned flag);

/* The fitted module in another sun and at another cell temperature. Below 1 W/m2
 * it is dark: no light current, no shunt, the diode alone.
 * De Soto, Klein, Beckman, Solar Energy 80 (2006) 78-88. */
struct pv_cell pv_translate(const struct pv_fit *fit, double sun_w_m2, double cell_degc);

/* ---- An array of equal modules (pv_array.c) ---- */

struct pv_array {
    struct pv_cell cell;
    double series, parallel; /* modules in a string, strings; each above 0 */
    double factor;           /* on every current: pv_weak_sun_factor, or 1 */
    double isc_factor;       /* of the fit */
};

/* Current of the array at the array's voltage, A; *slope, unless NULL, receives
 * dI/dV in A/V. */
double pv_array_current(const struct pv_array *array, double volts, double *slope);
/* The same for who asks again and again; *junction_v as in pv_current_near. */
double pv_array_current_near(const struct pv_array *array, double volts, double *junction_v,
                             double *slope);

/* As pv_voltage, for the whole array. */
double pv_array_voltage(const struct pv_array *array, double amps);

double pv_array_open_voltage(const struct pv_array *array);

/* The label's short current carried over to this sun and temperature, A: the
 * model's over isc_factor, so that fuses and wires never see the lifted one. */
double pv_array_short_current(const struct pv_array *array);

struct pv_point pv_array_max_power(const struct pv_array *array);

/* What a real panel gives in weak sun over what the model says, current at every
 * voltage: 1 - c ln(1000/G) from 1 to 1000 W/m2, at least 0; 1 outside that range.
 * c is 0.028 (thin film 0.075); cautious: 0.065 (0.17), the 95th percentile of 523
 * modules measured by Sandia National Laboratories, library of 2015-06-30. */
double pv_weak_sun_factor(enum pv_technology technology, double sun_w_m2, bool cautious);
/* The same for a c of one's own. */
double pv_weak_sun_share(double c, double sun_w_m2);

/* Share of the sun that a module turns into electricity: vmp x imp/(1000 area), or, with an
 * area of NAN, 0.13 under 150 W and for thin film, 0.15 poly, 0.175 mono or unknown. */
double pv_efficiency(double vmp_v, double imp_a, double area_m2, enum pv_technology technology);

/* Cell temperature, degC, from the nominal operating one (NAN: 47 degC):
 *     T_a + (T_noct - 20)/800 G (1 - eta/0.9) 9.5/(5.7 + 3.8 v)
 * wind_m_s at the module; 1 m/s makes the last factor 1.
 * Duffie & Beckman; NREL TP-6A20-67399, section 10.6. */
double pv_cell_temperature(double air_degc, double sun_w_m2, double noct_degc, double efficiency,
                           double wind_m_s);

/* Factor from voc at 25 degC to the highest voltage at an air temperature when the
 * coefficient is unknown. NFPA 70 table 690.7(A), 2008 edition onward; below its last row
 * (-40 degC) that row's. */
double pv_cold_voltage_factor(double air_degc);

/* Highest open voltage of a string in the cold, V: series x the largest of the model's
 * at 1000 W/m2, voc by its coefficient, and, without a coefficient, voc x
 * pv_cold_voltage_factor. */
double pv_cold_open_voltage(const struct pv_fit *fit, double air_degc, double series);

/* Current that the other strings of a node push back through one of them, A:
 * 1.25 isc (strings - 1), at least 0. IEC 62548; NFPA 70, 690.9. */
double pv_reverse_current(double isc_a, double strings);

#endif
