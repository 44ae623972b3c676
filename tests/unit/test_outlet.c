/* Outlets by the emitter law. */
#include "check.h"
#include "physics/outlet.h"
#include "slope.h"

static double law(double flow, double *slope, const void *context)
{
    return outlet_loss_m(flow, 4e-3 / 3600.0, 1e5, *(const double *)context, 1000.0, slope);
}

/* 4 L/h at 1 bar, which is 10.197 m: half the flow takes a quarter of the head
 * through an orifice, half of it through a laminar dripper. */
static void emitter_law(void **state)
{
    (void)state;
    double nominal = 4e-3 / 3600.0, head = 1e5 / 9806.65;
    double orifice = 0.5, laminar = 1.0, compensated = 0.0, between = 0.7;
    assert_near(law(nominal, NULL, &orifice), head, 1e-14);
    assert_near(law(0.5 * nominal, NULL, &orifice), 0.25 * head, 1e-14);
    assert_near(law(0.5 * nominal, NULL, &laminar), 0.5 * head, 1e-14);
    assert_near(law(0.5 * nominal, NULL, &between), pow(0.5, 1.0 / 0.7) * head, 1e-14);
    assert_close(law(0.5 * nominal, NULL, &compensated), 0.0, 0.0);
    assert_near(law(nominal * (1.0 + 1e-7), NULL, &compensated), 100.0, 1e-7);
    assert_near(law(-1e-12, NULL, &orifice), -10.0, 1e-12);
}

static void slopes(void **state)
{
    (void)state;
    static const double exponents[] = {0.02, 0.2, 0.5, 0.7, 1.0};
    for (size_t i = 0; i < sizeof exponents / sizeof exponents[0]; i++) {
        for (double flow = 1e-9; flow < 2e-6; flow *= 1.7)
            assert_slope(law, flow, 1e-4 * flow, &exponents[i], 1e-7);
        double slope;
        assert_close(law(0.0, &slope, &exponents[i]), 0.0, 0.0);
        assert_true(isfinite(slope));
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(emitter_law),
        cmocka_unit_test(slopes),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
