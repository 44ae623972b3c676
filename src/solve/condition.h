/* condition.h - the named conditions: what each fixes, and solving a circuit in it. */
#ifndef RT_CONDITION_H
#define RT_CONDITION_H
#include "solve/circuit.h"

/* The site's ranges. */
struct weather {
    double air_low, air_high, water_low, water_high; /* degC */
};
struct weather condition_weather(const struct rig *rig);

/* The weather in which start and stop sun are looked for and a day is tabled: mean air and water,
 * weak sun, batteries at rest; at this sun. */
void condition_set_mean(struct circuit *circuit, double sun);

/* Solves a condition and writes its figures. *fastest (by pump) rises to the speed ratios met. */
void condition_solve(struct circuit *circuit, enum condition condition, double *fastest);
#endif
