/* State of charge: charge adds up, full and empty are kept, cold shrinks it. */
#include "check.h"
#include "physics/battery_charge.h"

static struct battery agm(void)
{
    return (struct battery){BATTERY_AGM, 12.0, 12.0 * 3600.0, NAN, 1.0, 1.0};
}

static void capacity_of_a_bank(void **state)
{
    (void)state;
    struct battery battery = agm();
    assert_close(battery_charge_of(&battery, 1.0, NAN, 0.5).capacity_as, 43200.0, 0.0);
    battery.parallel = 3.0;
    battery.series = 2.0;                                     /* adds voltage, not charge */
    double cold = battery_cold_multiplier(BATTERY_AGM, 10.0); /* 1.19 */
    assert_near(battery_charge_of(&battery, cold, NAN, 0.5).capacity_as, 3.0 * 43200.0 / 1.19,
                1e-12);
    assert_close(battery_charge_of(&battery, 1.0, NAN, 1.7).share, 1.0, 0.0);
    assert_close(battery_charge_of(&battery, 1.0, NAN, -1.0).share, 0.0, 0.0);
    assert_true(isnan(battery_charge_of(&battery, 1.0, NAN, NAN).share));
    /* lead-acid, coulombs: 0.85, a university's PV course text */
    assert_close(battery_charge_of(&battery, 1.0, NAN, 0.5).efficiency, 0.85, 0.0);
    assert_close(battery_charge_of(&battery, 1.0, 0.9, 0.5).efficiency, 0.9, 0.0);
    battery.chemistry = BATTERY_LIFEPO4;
    assert_close(battery_charge_of(&battery, 1.0, NAN, 0.5).efficiency, 0.99, 0.0);
}

/* By hand, 12 Ah: 1.2 A for an hour takes a tenth out; 1.2 A for an hour brings 0.085 in. */
static void out_and_in(void **state)
{
    (void)state;
    struct battery battery = agm();
    struct battery_charge charge = battery_charge_of(&battery, 1.0, NAN, 0.8);
    struct battery_step step = battery_charge_step(&charge, 1.2, 3600.0);
    assert_near(charge.share, 0.7, 1e-14);
    assert_near(step.given_as, 4320.0, 1e-14);
    step = battery_charge_step(&charge, -1.2, 3600.0);
    assert_near(charge.share, 0.785, 1e-14);
    assert_near(step.stored_as, 0.85 * 4320.0, 1e-14);
    assert_near(step.wasted_as, 0.15 * 4320.0, 1e-12);
    /* what went in for what came out again is the efficiency */
    battery_charge_step(&charge, 0.85 * 1.2, 3600.0);
    assert_near(charge.share, 0.7, 1e-14);
    /* at rest nothing changes */
    step = battery_charge_step(&charge, 0.0, 3600.0);
    assert_near(charge.share, 0.7, 1e-14);
    assert_close(step.given_as + step.stored_as, 0.0, 0.0);
}

static void empty_and_full(void **state)
{
    (void)state;
    struct battery battery = agm();
    struct battery_charge charge = battery_charge_of(&battery, 1.0, NAN, 0.05);
    struct battery_step step = battery_charge_step(&charge, 1.0, 3600.0);
    assert_close(charge.share, 0.0, 0.0);
    assert_near(step.given_as, 2160.0, 1e-14);
    assert_near(step.short_as, 1440.0, 1e-14);
    charge.share = 0.95;
    step = battery_charge_step(&charge, -1.0, 3600.0);
    assert_close(charge.share, 1.0, 0.0);
    assert_near(step.stored_as, 2160.0, 1e-12);
    assert_near(step.wasted_as, 2160.0 * (1.0 / 0.85 - 1.0), 1e-12);
    assert_near(step.refused_as, 3600.0 - 2160.0 / 0.85, 1e-12);
    step = battery_charge_step(&charge, -1.0, 3600.0);
    assert_close(step.refused_as, 3600.0, 0.0);
    /* just full, just empty */
    charge.share = 0.5;
    step = battery_charge_step(&charge, 6.0, 3600.0);
    assert_close(charge.share, 0.0, 0.0);
    assert_close(step.short_as, 0.0, 0.0);
}

static double chance(unsigned *seed)
{
    *seed = *seed * 1664525u + 1013904223u;
    return (double)(*seed >> 8) / 16777216.0;
}

/* Weeks of chance: the two sums of the header hold, and the charge stays in its bounds. */
static void charge_adds_up(void **state)
{
    (void)state;
    unsigned seed = 3;
    struct battery battery = agm();
    struct battery_charge charge = battery_charge_of(&battery, 1.2, 0.85, 0.6);
    double kept = 0.0, through = 0.0;
    for (int minute = 0; minute < 20000; minute++) {
        double amps = 12.0 * chance(&seed) - 6.2 + 5.0 * sin(minute / 300.0);
        struct battery_step step = battery_charge_step(&charge, amps, 60.0);
        kept += step.stored_as - step.given_as;
        through += step.stored_as + step.given_as;
        double out = step.given_as + step.short_as;
        double in = step.stored_as + step.wasted_as + step.refused_as;
        assert_close(out - in, amps * 60.0, 1e-9);
        assert_true(step.wasted_as >= 0.0 && step.refused_as >= 0.0 && step.short_as >= 0.0);
        assert_true(charge.share >= 0.0 && charge.share <= 1.0);
    }
    assert_close(kept, (charge.share - 0.6) * charge.capacity_as, 1e-11 * through);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(capacity_of_a_bank),
        cmocka_unit_test(out_and_in),
        cmocka_unit_test(empty_and_full),
        cmocka_unit_test(charge_adds_up),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
