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

/* Current that leaves a tree's root downwards less what its sources give there, at a root
 * voltage: rises where loads win. INFINITY: no balance is possible below. */
double electric_root_current(struct circuit *circuit, size_t tree, double volts, double *slope);

void electric_report(struct circuit *circuit, enum condition condition);
/* No current anywhere: the highest voltage that cold panels can reach. */
void electric_report_cold(struct circuit *circuit, enum condition condition);
/* Of the panels: what needs no operating point. */
void electric_report_panels(struct circuit *circuit, enum condition condition, bool cold);
/* What does not depend on the condition; fastest: highest speed ratio by pump, at least 1. */
void electric_report_once(struct circuit *circuit, const double *fastest);
#endif
