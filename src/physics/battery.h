/* battery.h - what a battery's chemistry fixes: voltages, resistance, cold.
 * Knows nothing of what is joined to it. */
#ifndef RT_BATTERY_H
#define RT_BATTERY_H
#include <stdbool.h>

#include "physics/source.h"

enum battery_chemistry {
    BATTERY_FLOODED,
    BATTERY_AGM,
    BATTERY_GEL,
    BATTERY_LIFEPO4,
    BATTERY_NMC,
    BATTERY_CHEMISTRY_COUNT
};

/* One class of "12 V" battery; voltages are of a pack of nominal_v. General
 * battery engineering (practice of IEEE 937, 1013, 1361; IEC 62485-2), mostly
 * from memory; resistances are class estimates. NAN where a figure means nothing. */
struct battery_class {
    const char *name;
    enum battery_chemistry chemistry;
    int cells;
    double nominal_v;
    double empty_v; /* lowest ever, under load */
    double load_disconnect_v;
    double rest_full_v;
    double absorb_min_v, absorb_max_v;
    double float_min_v, float_max_v;
    double equalize_max_v;
    double most_v;                        /* not above this, ever */
    double comp_v_per_k_cell;             /* charge voltage, per K above 25 degC and cell */
    double depth_recommended, depth_most; /* shares of capacity */
    double charge_least_c, charge_recommended_c, charge_most_c,
        discharge_most_c; /* of capacity per hour */
    double charge_min_degc, charge_max_degc, discharge_min_degc;
    double resistance_low_ohm, resistance_high_ohm; /* 12 V, 100 Ah */
    double self_discharge_low, self_discharge_high; /* share per month at 25 degC */
};

/* The class of a chemistry. There are two of nmc: three cells in series when
 * voltage_v is nearer to 10.95 V than to 14.6 V, else four. */
const struct battery_class *battery_class_of(enum battery_chemistry chemistry, double voltage_v);

struct battery {
    enum battery_chemistry chemistry;
    double voltage_v;        /* of one, as on its label */
    double capacity_as;      /* of one, ampere seconds (100 Ah = 360000) */
    double resistance_ohm;   /* of one; NAN when unknown: the class estimate */
    double series, parallel; /* 1 and 1 for a single one */
};

/* Voltages of the bank at rest or charging, in V: the class's value x
 * voltage / nominal x series. */
double battery_full_v(const struct battery *battery);       /* rest, full */
double battery_disconnect_v(const struct battery *battery); /* loads are cut off here */
double battery_charge_v(const struct battery *battery);     /* highest absorption */
double battery_empty_v(const struct battery *battery);      /* lowest ever, under load */

/* Open-circuit voltage at a state of charge held to 0..1, in V: a straight line from
 * battery_disconnect_v() to battery_full_v(). *per_charge (may be NULL) gets its slope. */
double battery_open_v(const struct battery *battery, double charge, double *per_charge);

/* Internal resistance of the bank, in ohm: that of one (else the middle of the
 * class's two x 100 Ah / capacity x voltage / 12 V) x series / parallel. */
double battery_resistance_ohm(const struct battery *battery);

/* Full battery into a dead short at the far end of a run of run_ohm (0: at its
 * terminals), in A: full voltage / (internal + run). */
double battery_short_a(const struct battery *battery, double run_ohm);

/* By how much cold shrinks a lead-acid battery: usable capacity = capacity /
 * multiplier. Straight between rows, 1 above 26.7 degC, held at 1.59 below -6.7 degC;
 * 1 for lithium. Table printed alike in two unrelated documents. */
double battery_cold_multiplier(enum battery_chemistry chemistry, double battery_degc);

/* Usable energy of the bank in J: label voltage x capacity x depth / multiplier x
 * series x parallel. */
double battery_usable_j(const struct battery *battery, double depth, double cold_multiplier);

/* The battery to the circuit at an open voltage (from one of the functions above). */
struct source battery_source(const struct battery *battery, double open_v);
#endif
