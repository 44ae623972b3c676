/* threshold.h - the sun at which pumps and converters start, stop and first give water. */
#ifndef RT_THRESHOLD_H
#define RT_THRESHOLD_H
#include "solve/circuit.h"

/* Finds and writes start_sun, stop_sun and flow_sun of everything that panels alone feed. */
void threshold_solve(struct circuit *circuit);
#endif
