/* layout.h - what follows from how a rig lies and is the same in every condition:
 * how high a pump has to lift, how far a fuse is from its battery. */
#ifndef RT_LAYOUT_H
#define RT_LAYOUT_H
#include "solve/circuit.h"

/* Fills in, once:
 *   pump.static_lift    m, highest end that its water comes to, less the lowest water that it draws
 * from pump.prime_lift     m, highest point on the way there, less that water pump.open_flow m3/s,
 * flow at no head at the rated voltage, of all its `count` cable.guard_distance m, cable between a
 * battery and the nearest fuse or breaker in the run Lifts follow the pipes as they are written.
 * Where another pump stands on the way, or no water is known to draw from or to come to, they stay
 * unknown. Memory that runs out is noted in the circuit. */
void layout_report(struct circuit *circuit);

#endif
