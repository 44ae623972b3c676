/* Surge: wave speeds of common tubes, stopping at once and slowly. */
#include "check.h"
#include "physics/surge.h"

/* sqrt(K/rho)/sqrt(1 + K D/(E e)), K 2.19 GPa, rho 998.2 kg/m3: bore and wall in
 * mm, wall modulus GPa, m/s to 1, bar per m/s to 0.01 (0.005 at the rounding),
 * round trip of 10 m in ms. Computed by another hand; moduli from memory. */
static const struct {
    double bore, wall, modulus, speed, bar, ms;
} tubes[] = {
    {10, 1, INFINITY, 1481, 14.79, 13.5}, {13.6, 0.7, 120, 1273, 12.7, 15.7},
    {20.2, 0.9, 120, 1248, 12.45, 16.0},  {15.8, 2.77, 207, 1438, 14.36, 13.9},
    {15.8, 2.77, 2.8, 634, 6.33, 31.6},   {21.2, 1.9, 3.0, 490, 4.89, 40.8},
    {12.4, 1.73, 2.9, 585, 5.84, 34.2},   {12.3, 1.78, 0.7, 311, 3.11, 64.2},
    {12.3, 1.78, 0.35, 223, 2.22, 89.8},  {26, 3.0, 1.0, 331, 3.31, 60.4},
    {28, 2.0, 1.0, 263, 2.63, 76.0},      {13.6, 1.2, 0.25, 148, 1.48, 135.2},
    {12.5, 3, 0.1, 154, 1.54, 129.7},     {16, 4, 0.03, 87, 0.86, 231.1},
    {10, 2.5, 0.008, 45, 0.45, 447.0},
};

static void wave_speeds(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof tubes / sizeof tubes[0]; i++) {
        double wave = surge_wave_speed_m_s(SURGE_WATER_MODULUS_PA, 998.2, tubes[i].bore * 1e-3,
                                           tubes[i].wall * 1e-3, tubes[i].modulus * 1e9);
        assert_close(wave, tubes[i].speed, 0.51);
        assert_close(surge_pressure_pa(998.2, wave, 1.0, 10.0, 0.0) * 1e-5, tubes[i].bar, 0.0051);
        assert_close(surge_round_trip_s(10.0, wave) * 1e3, tubes[i].ms, 0.051);
    }
}

static void slow_closing(void **state)
{
    (void)state;
    /* 20 m at 1000 m/s: 40 ms there and back */
    assert_near(surge_pressure_pa(1000.0, 1000.0, 1.0, 20.0, 0.040), 1e6, 1e-15);
    assert_near(surge_pressure_pa(1000.0, 1000.0, 1.0, 20.0, 0.010), 1e6, 1e-15);
    assert_near(surge_pressure_pa(1000.0, 1000.0, 1.0, 20.0, 0.080), 5e5, 1e-14);
    /* then it is 2 rho L v/T, whatever the wall */
    assert_near(surge_pressure_pa(1000.0, 300.0, 1.0, 20.0, 1.0), 2.0 * 1000.0 * 20.0, 1e-14);
}

static void wall_moduli(void **state)
{
    (void)state;
    static const struct {
        const char *material;
        double gpa;
    } rows[] = {{"copper", 120},     {"steel", 207},          {"pvc", 3.0},   {"cpvc", 2.9},
                {"pex", 0.7},        {"hdpe", 1.0},           {"ldpe", 0.25}, {"pvc-hose", 0.1},
                {"epdm-hose", 0.03}, {"silicone-hose", 0.008}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        assert_near(surge_wall_modulus_pa(rows[i].material), rows[i].gpa * 1e9, 1e-15);
    assert_true(isnan(surge_wall_modulus_pa("timber")));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(wave_speeds),
        cmocka_unit_test(slow_closing),
        cmocka_unit_test(wall_moduli),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
