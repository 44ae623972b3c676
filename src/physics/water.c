#include "physics/water.h"

#include <math.h>
#include <stddef.h>

struct row {
    double density_kg_m3;
    double viscosity_m2s;
    double vapour_pa;
    double heat_j_kgk;
};

/* Rows at equal steps from 0 degC. */
struct table {
    double step_k;
    size_t count;
    const struct row *rows;
};

/* IAPWS-95 with the IAPWS viscosity release, at 101.325 kPa, saturated at 100
 * degC; computed with python iapws 1.5.2. */
static const struct row plain[] = {
    {999.84, 1.7914e-06, 611.7, 4219.4},                                          /* 0 degC */
    {999.97, 1.5182e-06, 872.6, 4205.0},   {999.70, 1.3063e-06, 1228.2, 4195.2},  /* 10 */
    {999.10, 1.1386e-06, 1705.8, 4188.5},  {998.21, 1.0034e-06, 2339.3, 4184.1},  /* 20 */
    {997.05, 8.9266e-07, 3169.9, 4181.3},  {995.65, 8.0071e-07, 4247.0, 4179.8},  /* 30 */
    {994.03, 7.2344e-07, 5629.0, 4179.3},  {992.22, 6.5785e-07, 7384.9, 4179.4},  /* 40 */
    {990.21, 6.0166e-07, 9595.0, 4180.1},  {988.04, 5.5313e-07, 12351.9, 4181.3}, /* 50 */
    {985.69, 5.1093e-07, 15762.1, 4183.0}, {983.20, 4.7400e-07, 19946.4, 4185.0}, /* 60 */
    {980.55, 4.4149e-07, 25041.6, 4187.3}, {977.76, 4.1273e-07, 31200.9, 4190.1}, /* 70 */
    {974.84, 3.8716e-07, 38595.4, 4193.2}, {971.79, 3.6433e-07, 47414.5, 4196.8}, /* 80 */
    {968.61, 3.4387e-07, 57867.0, 4200.7}, {965.31, 3.2547e-07, 70181.8, 4205.2}, /* 90 */
    {961.89, 3.0886e-07, 84608.5, 4210.2}, {958.35, 2.9382e-07, 101418.0, 4215.7} /* 100 */
};

/* 30 % propylene glycol by volume. From memory of handbook values: density to 5
 * kg/m3, viscosity to 10 %, specific heat to 2 %. Vapour pressure is water's. */
static const struct row glycol_30[] = {
    {1031.0, 4.8497e-06, 0.0, 3770.0}, /* 0 degC */
    {1022.0, 2.3483e-06, 0.0, 3820.0}, /* 20 */
    {1012.0, 1.3636e-06, 0.0, 3860.0}, /* 40 */
    {1000.0, 9.0000e-07, 0.0, 3910.0}  /* 60 */
};

static const struct table tables[] = {
    [WATER_PLAIN] = {5.0, sizeof plain / sizeof plain[0], plain},
    [WATER_GLYCOL_30] = {20.0, sizeof glycol_30 / sizeof glycol_30[0], glycol_30},
};

/* The row below a temperature and how far on to the next one it is, 0 .. 1. */
static const struct row *find(const struct table *table, double temperature_c, double *part)
{
    double last = (double)(table->count - 1);
    double place = temperature_c / table->step_k;
    if (isnan(place)) {
        *part = place;
        return table->rows;
    }
    place = fmin(fmax(place, 0.0), last);
    double below = fmin(floor(place), last - 1.0);
    *part = place - below;
    return table->rows + (size_t)below;
}

static double straight(double low, double high, double part)
{
    return low + (high - low) * part;
}

/* Between two positive values so that the logarithm is straight. */
static double straight_log(double low, double high, double part)
{
    return low * exp(log(high / low) * part);
}

double water_density_kg_m3(enum water_fluid fluid, double temperature_c)
{
    double part;
    const struct row *row = find(&tables[fluid], temperature_c, &part);
    return straight(row[0].density_kg_m3, row[1].density_kg_m3, part);
}

double water_viscosity_m2s(enum water_fluid fluid, double temperature_c)
{
    double part;
    const struct row *row = find(&tables[fluid], temperature_c, &part);
    return straight_log(row[0].viscosity_m2s, row[1].viscosity_m2s, part);
}

double water_vapour_pa(enum water_fluid fluid, double temperature_c)
{
    (void)fluid; /* water's own is the higher one */
    double part;
    const struct row *row = find(&tables[WATER_PLAIN], temperature_c, &part);
    return straight_log(row[0].vapour_pa, row[1].vapour_pa, part);
}

double water_heat_j_kgk(enum water_fluid fluid, double temperature_c)
{
    double part;
    const struct row *row = find(&tables[fluid], temperature_c, &part);
    return straight(row[0].heat_j_kgk, row[1].heat_j_kgk, part);
}

double water_growth_share(enum water_fluid fluid, double cold_c, double hot_c)
{
    return water_density_kg_m3(fluid, cold_c) / water_density_kg_m3(fluid, hot_c) - 1.0;
}
