/* water.h - what water, and water with glycol, is at a temperature: density,
 * viscosity, vapour pressure, specific heat, growth. Also the acceleration of
 * gravity that all water-side laws share. Knows nothing of pipes or rigs.
 *
 * All temperatures are degC. Beyond the table's ends the end value is held, so
 * every function is defined for every finite temperature; a NAN gives a NAN. */
#ifndef RT_WATER_H
#define RT_WATER_H

/* Standard acceleration of gravity, m/s2; exact by convention (CGPM 1901). */
#define WATER_GRAVITY_M_S2 9.80665

enum water_fluid {
    WATER_PLAIN,    /* 0 .. 100 degC by 5 K, IAPWS-95 at 101.325 kPa */
    WATER_GLYCOL_30 /* 30 % propylene glycol by volume, 0 .. 60 degC by 20 K */
};

/* Density in kg/m3, straight between rows. */
double water_density_kg_m3(enum water_fluid fluid, double temperature_c);

/* Kinematic viscosity in m2/s; its logarithm is straight between rows. Between
 * two rows it is up to 0.19 % off IAPWS (near 2.5 degC). */
double water_viscosity_m2s(enum water_fluid fluid, double temperature_c);

/* Absolute vapour pressure in Pa; its logarithm is straight between rows. With
 * glycol it is water's own, which is the higher one and so the safe figure. */
double water_vapour_pa(enum water_fluid fluid, double temperature_c);

/* Specific heat at constant pressure in J/(kg K), straight between rows. */
double water_heat_j_kgk(enum water_fluid fluid, double temperature_c);

/* Growth of a volume warmed from cold_c to hot_c, as a share of the cold
 * volume: rho(cold)/rho(hot) - 1. Negative when it shrinks. */
double water_growth_share(enum water_fluid fluid, double cold_c, double hot_c);

#endif
