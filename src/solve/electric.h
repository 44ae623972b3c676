/* electric.h - how the wires of a circuit settle in one condition. Each tree of wire is
 * followed the way current does it: its root's voltage climbs until sources and loads meet.
 * Loads that turn pumps ask the water (water.h) on the way. */
#ifndef RT_ELECTRIC_H
#define RT_ELECTRIC_H
#include "solve/circuit.h"

/* Takes over sun, air and battery state of the condition. cell_air_degc: the cells have this
 * temperature; NAN: that of the nominal operating cell model. battery: 'f'ull at rest, load
 * 'd'isconnect, 'c'harging. */
enum battery_state { BATTERY_FULL, BATTERY_DISCONNECT, BATTERY_CHARGING };
void electric_prepare(struct circuit *circuit, double cell_degc, enum battery_state battery);
/* Only the panels, for another sun: what start and stop are looked for with. */
void electric_set_sun(struct circuit *circuit, double sun, double cell_degc);

/* Settles every tree that has a source, with all loads that can run running. */
void electric_settle(struct circuit *circuit);
/* Settles one tree. */
void electric_settle_tree(struct circuit *circuit, size_t tree);

/* Can all loads of a tree that only panels feed run together: from dark, or (false) at all, at any
 * steady point? The circuit then holds that point. */
bool electric_all_run(struct circuit *circuit, size_t tree, bool from_dark);

/* ---- For thresholds, which take a tree's sun and its load apart ---- */

/* A tree with its panels taken off its root; the loads are left. */
struct electric_split {
    size_t givers;        /* panels at the root itself */
    size_t giving;        /* wires from the root to panels: the first, chained by `next` */
    size_t *order, count; /* the root's wires as they were */
};
/* False, and nothing changed: panels and loads do not part at the root (or no memory). */
bool electric_split(struct circuit *circuit, size_t tree, struct electric_split *out);
void electric_join(struct circuit *circuit, size_t tree, const struct electric_split *split);
/* What the panels give at the root in a sun at a voltage, A; *slope A/V. */
double electric_source(struct circuit *circuit, const struct electric_split *split, double sun,
                       double volts, double *slope);
/* What the loads that are on take from the root of a split tree; INFINITY: more than its wires can
 * carry. */
double electric_load(struct circuit *circuit, size_t tree, double volts, double *slope);
void electric_switch_on(struct circuit *circuit, size_t tree);
/* At that root voltage: the smallest voltage of anything that is on over its stop limit, less 1. */
double electric_margin(struct circuit *circuit, size_t tree, double volts);
/* After a look at a voltage: a converter on the tree is at its current limit. */
bool electric_is_limited(const struct circuit *circuit, size_t tree);
double electric_start_voltage(const struct circuit *circuit, size_t tree);
double electric_open_voltage(const struct circuit *circuit, size_t tree);
/* Root voltages at which converters begin to regulate, rising. */
size_t electric_corners(struct circuit *circuit, size_t tree, double *out, size_t room);

/* Current that leaves a tree's root downwards less what its sources give there, at a root
 * voltage: rises where loads win. INFINITY: no balance is possible below. */
double electric_root_current(struct circuit *circuit, size_t tree, double volts, double *slope);

/* What panels, or the controller that they feed, push into a battery that holds them at a voltage;
 * below 0 a controller's own use, or what panels without a controller draw in the dark. */
double electric_charge_a(struct circuit *circuit, size_t giver, double volts);

void electric_report(struct circuit *circuit, enum condition condition);
/* No current anywhere: the highest voltage that cold panels can reach. */
void electric_report_cold(struct circuit *circuit, enum condition condition);
/* Of the panels: what needs no operating point. */
void electric_report_panels(struct circuit *circuit, enum condition condition, bool cold);
/* What does not depend on the condition; fastest: highest speed ratio by pump, at least 1. */
void electric_report_once(struct circuit *circuit, const double *fastest);
#endif
