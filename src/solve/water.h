/* water.h - how the water of a circuit settles in one condition, and what that is worth to
 * each part. Heads are piezometric, in m above the rig's datum. */
#ifndef RT_WATER_H_SOLVE
#define RT_WATER_H_SOLVE
#include "solve/circuit.h"

/* Flow in m3/s that is nothing: shut valves leak less than this at 100 m of head (see
 * VALVE_SHUT_SLOPE_S_M2). 36 uL an hour. */
#define WATER_NOTHING_M3S 1e-11

/* Takes over the temperature of the condition's water. */
void water_prepare(struct circuit *circuit);

/* Opens and shuts every valve as in a named condition (`resting`: as at standstill). Pilot
 * valves are held shut until water_release_pilots() finds pressure enough across them. */
void water_set_valves(struct circuit *circuit, bool resting);
/* True when any pilot valve opened: the rest has to settle anew. */
bool water_release_pilots(struct circuit *circuit);

/* Flows and heads at the pumps' present speeds. False: nothing settled; the circuit says so. */
bool water_solve(struct circuit *circuit);

/* Largest relative imbalance at any node of any piece, after a solve. */
double water_imbalance(const struct circuit *circuit);

/* A pump's speed ratio, 0: it stands. A pump of NONE is passed over. */
void water_set_speed(struct circuit *circuit, size_t pump, double speed);
/* Share of the rated load that a pump takes from its motor at a speed, the other pumps at
 * their present speeds, and its derivative by the speed. Remembered per speed. */
double water_share(struct circuit *circuit, size_t pump, double speed, double *by_speed);
/* Whether all figures are there that a pump's flow needs. */
bool water_knows_pump(const struct circuit *circuit, size_t pump);
/* Forgets what was remembered: the condition, a valve or another pump's speed changed. */
void water_forget(struct circuit *circuit);

/* Flow of all of a part's `count`, signed as its element or run; NAN when not known. */
double water_flow_of_branch(const struct circuit *circuit, size_t branch);

/* Loss of one element at a flow, m. */
double water_element_drop(const struct circuit *circuit, const struct element *element, double flow,
                          double *slope);

/* What pumps are on a way without flow. */
enum pumps_on_way {
    PUMPS_STAND, /* they add nothing, and let water back unless they hold it */
    PUMPS_RUN,   /* they add their shut-off head at the present speed */
    PUMPS_DRAW,  /* they add nothing and let nothing back: heads of what each draws from */
};
/* Largest head at every node without flow: that of any tank and of pumps passed on the way.
 * `except`: a branch that is no way, or NONE. NAN: no tank leads there. heads has node_count
 * numbers. False: no memory. */
bool water_high_heads(struct circuit *circuit, enum pumps_on_way pumps, size_t except,
                      double *heads);

/* Height of a part for pressures: its own, its tank's, or the lowest of the water it joins. */
double water_part_height(const struct circuit *circuit, size_t part);

/* Writes the water side of a condition: as it flows, or (`no_flow`) standing. */
void water_report(struct circuit *circuit, enum condition condition, bool no_flow);
/* Highest pressures with the pumps' present speeds and a shut outlet. */
void water_report_dead_end(struct circuit *circuit, enum condition condition);
/* Heads at valves with no pump running. */
void water_report_rest(struct circuit *circuit, enum condition condition);
/* Remembers how valves stand at bright noon, after that has settled. */
void water_keep_valves(struct circuit *circuit);
/* How long tanks take to run empty with each valve open, at the mean water temperature: the other
 * valves as at bright noon, no pump running. All that leaves the tank counts. */
void water_report_drains(struct circuit *circuit);
#endif
