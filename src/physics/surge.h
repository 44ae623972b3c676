/* surge.h - the pressure that stopping water in a pipe makes (water hammer). */
#ifndef RT_SURGE_H
#define RT_SURGE_H

/* Bulk modulus of water near 20 degC, Pa. From memory. */
#define SURGE_WATER_MODULUS_PA 2.19e9

/* Short-term Young's modulus in Pa of a pipe's material at 20 degC; NAN for a
 * material that no row covers. Most are from memory, see surge.c. */
double surge_wall_modulus_pa(const char *material);

/* Speed in m/s of a pressure wave: sqrt(K/rho) / sqrt(1 + K D/(E e)), thin wall
 * with expansion joints. wall_modulus_pa INFINITY is a rigid pipe. */
double surge_wave_speed_m_s(double water_modulus_pa, double density_kg_m3, double bore_m,
                            double wall_m, double wall_modulus_pa);

/* Time in s for the wave to run out and back: 2 L/a. */
double surge_round_trip_s(double length_m, double wave_m_s);

/* Pressure rise in Pa when the speed falls by velocity_m_s within closing_s:
 * rho a dv (N. Joukowsky 1898), times round trip over closing time when the
 * closing takes longer (K. Subramanya, 1000 Solved Problems in Fluid Mechanics,
 * 2005, example 14.18). closing_s <= 0 is at once. */
double surge_pressure_pa(double density_kg_m3, double wave_m_s, double velocity_m_s,
                         double length_m, double closing_s);

#endif
