/* battery_charge.h - how full a battery is, step by step. Its voltage at that charge is
 * battery_open_v() of battery.h; the currents come from the circuit. */
#ifndef RT_BATTERY_CHARGE_H
#define RT_BATTERY_CHARGE_H
#include "physics/battery.h"

/* The caller's own. Charge is in ampere seconds; batteries in series share it. */
struct battery_charge {
    double capacity_as; /* of the bank, that can be used at its temperature; above 0 */
    double efficiency;  /* share of the charge put in that comes out again, above 0 .. 1 */
    double share;       /* how full, 0 .. 1 */
};

/* Share of the charge put in that comes out again: 0.85 for lead-acid (a university's
 * PV course text), 0.99 for lithium (from memory). What the internal resistance costs besides is
 * voltage, not charge. */
double battery_charge_efficiency(enum battery_chemistry chemistry);

/* The bank of that battery: capacity x parallel / cold multiplier (battery_cold_multiplier). An
 * efficiency of NAN: the chemistry's. share is held to 0 .. 1. */
struct battery_charge battery_charge_of(const struct battery *battery, double cold_multiplier,
                                        double efficiency, double share);

/* What one step did with the current; all in A s, at least 0. */
struct battery_step {
    double given_as;   /* came out */
    double short_as;   /* was asked for but is not there: the battery ran empty */
    double stored_as;  /* went in and stays */
    double wasted_as;  /* went in and is lost to the efficiency */
    double refused_as; /* finds no room: the battery is full */
};

/* Moves the charge on: a current above 0 comes out, below 0 goes in, steady over the
 * step. After it  capacity_as x rise of share = stored - given,  current x seconds =
 * given + short - (stored + wasted + refused). Self-discharge (some per cent a month) is left out.
 */
struct battery_step battery_charge_step(struct battery_charge *battery, double current_a,
                                        double seconds);

#endif
