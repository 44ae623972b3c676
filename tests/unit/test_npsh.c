/* Air pressure by height, and suction head left at a pump. */
#include "check.h"
#include "physics/npsh.h"
#include "physics/water.h"

/* ICAO standard atmosphere, Doc 7488: Pa, here to 0.02 % as the constants of the
 * closed form are rounded. */
static void air_pressure(void **state)
{
    (void)state;
    static const double rows[][2] = {
        {0, 101325}, {500, 95461}, {1000, 89875}, {2000, 79495}, {3000, 70109}, {5000, 54020},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        assert_near(npsh_air_pa(rows[i][0]), rows[i][1], 2e-4);
    assert_close(npsh_air_pa(0.0), 101325.0, 0.0);
    assert_true(isfinite(npsh_air_pa(1e9)) && npsh_air_pa(1e9) == npsh_air_pa(11000.0));
    assert_true(isnan(npsh_air_pa(NAN)));
}

/* Vapour pressure as head of water, m: published to 0.01 at 20, 40, 60, 80 degC
 * (IAPWS-95). */
static void vapour_head(void **state)
{
    (void)state;
    static const double rows[][2] = {{20, 0.24}, {40, 0.76}, {60, 2.07}, {80, 4.98}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        double density = water_density_kg_m3(WATER_PLAIN, rows[i][0]);
        double vapour = water_vapour_pa(WATER_PLAIN, rows[i][0]);
        double with = npsh_available_m(101325.0, vapour, density, 0.0, 0.0, 0.0);
        double without = npsh_available_m(101325.0, 0.0, density, 0.0, 0.0, 0.0);
        assert_close(without - with, rows[i][1], 0.0051);
    }
}

/* By hand: (101325 - 2339.3)/(998.21 g) = 10.112 m, less 1.2 m of lift and 0.3 m
 * of friction. */
static void available(void **state)
{
    (void)state;
    double head = (101325.0 - 2339.3) / (998.21 * 9.80665);
    assert_near(npsh_available_m(101325.0, 2339.3, 998.21, 0.4, 1.6, 0.3), head - 1.5, 1e-14);
    assert_close(head, 10.112, 0.0005);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(air_pressure),
        cmocka_unit_test(vapour_head),
        cmocka_unit_test(available),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
