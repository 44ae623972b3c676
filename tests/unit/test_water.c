/* Water at a temperature, against IAPWS and against its own rows. */
#include "check.h"
#include "physics/water.h"

/* IAPWS-95 with the viscosity release of 2008 at 101.325 kPa, computed with
 * python iapws 1.5.2; each figure to its printed digits. */
static const struct {
    double c, density, dynamic, kinematic, vapour_kpa, heat;
} rows[] = {
    {0, 999.84, 1.7911e-03, 1.7914e-06, 0.6117, 4219.4},
    {5, 999.97, 1.5182e-03, 1.5182e-06, 0.8726, 4205.0},
    {10, 999.7, 1.3059e-03, 1.3063e-06, 1.2282, 4195.2},
    {15, 999.1, 1.1376e-03, 1.1386e-06, 1.7058, 4188.5},
    {20, 998.21, 1.0016e-03, 1.0034e-06, 2.3393, 4184.1},
    {25, 997.05, 8.9002e-04, 8.9266e-07, 3.1699, 4181.3},
    {30, 995.65, 7.9722e-04, 8.0071e-07, 4.2470, 4179.8},
    {35, 994.03, 7.1913e-04, 7.2344e-07, 5.6290, 4179.3},
    {40, 992.22, 6.5273e-04, 6.5785e-07, 7.3849, 4179.4},
    {45, 990.21, 5.9577e-04, 6.0166e-07, 9.5950, 4180.1},
    {50, 988.04, 5.4652e-04, 5.5313e-07, 12.3519, 4181.3},
    {55, 985.69, 5.0362e-04, 5.1093e-07, 15.7621, 4183.0},
    {60, 983.2, 4.6604e-04, 4.7400e-07, 19.9464, 4185.0},
    {65, 980.55, 4.3290e-04, 4.4149e-07, 25.0416, 4187.3},
    {70, 977.76, 4.0355e-04, 4.1273e-07, 31.2009, 4190.1},
    {75, 974.84, 3.7742e-04, 3.8716e-07, 38.5954, 4193.2},
    {80, 971.79, 3.5405e-04, 3.6433e-07, 47.4145, 4196.8},
    {85, 968.61, 3.3308e-04, 3.4387e-07, 57.8670, 4200.7},
    {90, 965.31, 3.1418e-04, 3.2547e-07, 70.1818, 4205.2},
    {95, 961.89, 2.9709e-04, 3.0886e-07, 84.6085, 4210.2},
    {100, 958.35, 2.8158e-04, 2.9382e-07, 101.4180, 4215.7},
};
static const size_t row_count = sizeof rows / sizeof rows[0];

static void rows_are_given_back(void **state)
{
    (void)state;
    for (size_t i = 0; i < row_count; i++) {
        double c = rows[i].c;
        assert_near(water_density_kg_m3(WATER_PLAIN, c), rows[i].density, 1e-14);
        assert_near(water_viscosity_m2s(WATER_PLAIN, c), rows[i].kinematic, 1e-14);
        assert_near(water_vapour_pa(WATER_PLAIN, c), rows[i].vapour_kpa * 1e3, 1e-14);
        assert_near(water_heat_j_kgk(WATER_PLAIN, c), rows[i].heat, 1e-14);
        /* dynamic = kinematic x density within the five printed digits of each */
        double dynamic = water_viscosity_m2s(WATER_PLAIN, c) * water_density_kg_m3(WATER_PLAIN, c);
        assert_near(dynamic, rows[i].dynamic, 4e-5);
    }
}

/* Half way: the mean of the neighbours, or their geometric mean where the
 * logarithm is straight. */
static void half_way_between_rows(void **state)
{
    (void)state;
    for (size_t i = 0; i + 1 < row_count; i++) {
        double c = rows[i].c + 2.5;
        assert_near(water_density_kg_m3(WATER_PLAIN, c),
                    0.5 * (rows[i].density + rows[i + 1].density), 1e-14);
        assert_near(water_heat_j_kgk(WATER_PLAIN, c), 0.5 * (rows[i].heat + rows[i + 1].heat),
                    1e-14);
        assert_near(water_viscosity_m2s(WATER_PLAIN, c),
                    sqrt(rows[i].kinematic * rows[i + 1].kinematic), 1e-14);
        assert_near(water_vapour_pa(WATER_PLAIN, c),
                    1e3 * sqrt(rows[i].vapour_kpa * rows[i + 1].vapour_kpa), 1e-14);
    }
}

/* Verification values of the IAPWS releases themselves, which lie between rows;
 * the tolerance is what straight lines over 5 K cost. */
static void agrees_with_the_releases(void **state)
{
    (void)state;
    /* R12-08 (2008), table 4: 298.15 K, 998 kg/m3: 889.735100 uPa s */
    assert_near(water_viscosity_m2s(WATER_PLAIN, 25.0) * 998.0, 889.735100e-6, 2e-3);
    /* IF97 (R7-97), table 35: saturation at 300 K 0.353658941e-2 MPa */
    assert_near(water_vapour_pa(WATER_PLAIN, 26.85), 3536.58941, 1.3e-3);
    /* R6-95, table 7: 300 K, 996.5560 kg/m3 at 0.0992418352 MPa */
    assert_near(water_density_kg_m3(WATER_PLAIN, 26.85), 996.5560, 3e-5);
}

static void held_beyond_the_table(void **state)
{
    (void)state;
    assert_close(water_density_kg_m3(WATER_PLAIN, -15.0), 999.84, 0.0);
    assert_close(water_density_kg_m3(WATER_PLAIN, 1e9), 958.35, 0.0);
    assert_near(water_viscosity_m2s(WATER_PLAIN, -15.0), 1.7914e-06, 1e-15);
    assert_near(water_viscosity_m2s(WATER_PLAIN, INFINITY), 2.9382e-07, 1e-14);
    assert_near(water_viscosity_m2s(WATER_GLYCOL_30, -15.0), 4.8497e-06, 1e-15);
    assert_near(water_viscosity_m2s(WATER_GLYCOL_30, 95.0), 9e-07, 1e-14);
    assert_true(isnan(water_density_kg_m3(WATER_PLAIN, NAN)));
    assert_true(isnan(water_viscosity_m2s(WATER_PLAIN, NAN)));
    assert_true(isnan(water_vapour_pa(WATER_GLYCOL_30, NAN)));
}

/* Handbook values recalled for 30 % propylene glycol by volume. */
static void glycol(void **state)
{
    (void)state;
    assert_near(water_density_kg_m3(WATER_GLYCOL_30, 20.0), 1022.0, 1e-14);
    assert_near(water_density_kg_m3(WATER_GLYCOL_30, 30.0), 1017.0, 1e-14);
    assert_near(water_viscosity_m2s(WATER_GLYCOL_30, 40.0), 1.3636e-06, 1e-14);
    assert_near(water_viscosity_m2s(WATER_GLYCOL_30, 10.0), sqrt(4.8497e-06 * 2.3483e-06), 1e-14);
    assert_near(water_heat_j_kgk(WATER_GLYCOL_30, 50.0), 3885.0, 1e-14);
    /* Lange's Handbook of Chemistry, 15th ed, table 5.13: specific gravity 1.024
     * at 15.6 degC; the recalled density is good to 5 kg/m3 */
    assert_close(water_density_kg_m3(WATER_GLYCOL_30, 15.6), 1.024 * 999.0, 5.0);
    /* the safe figure: water's own vapour pressure */
    assert_near(water_vapour_pa(WATER_GLYCOL_30, 60.0), 19946.4, 1e-14);
}

/* The same table's growth column, in per cent from 10 degC. */
static void growth(void **state)
{
    (void)state;
    assert_close(100.0 * water_growth_share(WATER_PLAIN, 10.0, 20.0), 0.15, 1e-3);
    assert_close(100.0 * water_growth_share(WATER_PLAIN, 10.0, 50.0), 1.181, 1e-3);
    assert_close(100.0 * water_growth_share(WATER_PLAIN, 10.0, 90.0), 3.563, 1e-3);
    assert_close(100.0 * water_growth_share(WATER_PLAIN, 10.0, 5.0), -0.026, 2e-3);
    assert_close(water_growth_share(WATER_PLAIN, 40.0, 40.0), 0.0, 0.0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(rows_are_given_back),
        cmocka_unit_test(half_way_between_rows),
        cmocka_unit_test(agrees_with_the_releases),
        cmocka_unit_test(held_beyond_the_table),
        cmocka_unit_test(glycol),
        cmocka_unit_test(growth),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
