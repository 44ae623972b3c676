/* source.h - a voltage behind a resistance: what batteries and supplies are to
 * the circuit. */
#ifndef RT_SOURCE_H
#define RT_SOURCE_H

struct source {
    double open_v;
    double resistance_ohm; /* 0 for a supply: then the node is held at open_v */
};

/* A mains adapter or other fixed source: its voltage whatever it gives; that it
 * gives more than it is rated for is a matter for a rule. */
struct source source_from_supply(double voltage_v);

/* Voltage at its terminals while it gives current_a (fed when negative), in V. */
double source_v(struct source source, double current_a);

/* Current that it gives at terminals held at volts, in A; *per_volt (may be NULL)
 * gets the derivative -1/resistance. The resistance must be above 0. */
double source_a(struct source source, double volts, double *per_volt);
#endif
