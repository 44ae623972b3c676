/* npsh.h - how hard a pump may suck: pressure of the air and what of it is left
 * at the pump's inlet (net positive suction head). */
#ifndef RT_NPSH_H
#define RT_NPSH_H

/* NPSH in m that a surface centrifugal pump needs when nobody knows better.
 * Common practice, no source. */
#define NPSH_REQUIRED_ASSUMED_M 3.0

/* Pressure of the air in Pa at an altitude in m, held to -1000 .. 11000 m:
 * 101325 (1 - 2.25577e-5 h)^5.25588 (ICAO standard atmosphere, Doc 7488). */
double npsh_air_pa(double altitude_m);

/* Head in m left above boiling at the pump's inlet:
 *   (p_air - p_vapour)/(rho g) + z_water - z_pump - h_friction. */
double npsh_available_m(double air_pa, double vapour_pa, double density_kg_m3,
                        double water_height_m, double pump_height_m, double friction_m);

#endif
