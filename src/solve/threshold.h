/* threshold.h - the sun at which pumps and converters start, stop and first give water. */
#ifndef RT_THRESHOLD_H
#define RT_THRESHOLD_H
#include "solve/circuit.h"

/* Finds and writes start_sun, stop_sun and flow_sun of everything that panels alone feed. */
void threshold_solve(struct circuit *circuit);
/* The same, but always by halving the sun when short_way is false: for tests of one way by the
 * other. */
void threshold_solve_by(struct circuit *circuit, bool short_way);
#endif
