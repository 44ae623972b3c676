/* Thermostats and other things that switch, at their limits and past them; look-up in a
 * table of equal steps. */
#include "check.h"
#include "physics/lookup.h"
#include "physics/thermostat.h"

/* Off below 100, on from 140, as a pump on a panel: the way there and back. */
static void switching_both_ways(void **state)
{
    (void)state;
    struct switching pump = {140.0, 100.0};
    static const struct {
        double sun;
        bool on;
    } way[] = {
        {0, false},  {100, false}, {139.999, false}, {140, true},  {500, true},
        {139, true}, {100, true},  {99.999, false},  {120, false}, {140, true},
        {NAN, true}, {0, false},   {NAN, false},
    };
    bool on = false;
    for (size_t i = 0; i < sizeof way / sizeof way[0]; i++) {
        on = switching_is_on(pump, on, way[i].sun);
        assert_int_equal(on, way[i].on);
    }
    /* no gap between the two */
    struct switching sharp = {10.0, 10.0};
    assert_true(switching_is_on(sharp, false, 10.0));
    assert_false(switching_is_on(sharp, true, 9.999));
}

/* Set point 40, band 4: on the way up it acts at 40, on the way down at just under 36. */
static void thermostats_both_ways(void **state)
{
    (void)state;
    struct thermostat rise = thermostat_of(40.0, 4.0, THERMOSTAT_CLOSES_ON_RISE);
    struct thermostat fall = thermostat_of(40.0, 4.0, THERMOSTAT_CLOSES_ON_FALL);
    static const struct {
        double degc;
        bool warm;
    } way[] = {{20, false},    {39.99, false}, {40, true}, {36, true},
               {35.99, false}, {38, false},    {45, true}};
    bool rise_closed = false, fall_closed = true;
    for (size_t i = 0; i < sizeof way / sizeof way[0]; i++) {
        rise_closed = thermostat_is_closed(&rise, rise_closed, way[i].degc);
        fall_closed = thermostat_is_closed(&fall, fall_closed, way[i].degc);
        assert_int_equal(rise_closed, way[i].warm);
        assert_int_equal(fall_closed, !way[i].warm);
    }
}

/* 8 K on, 3 K off, as differences between a collector and a tank. */
static void thermostat_by_difference(void **state)
{
    (void)state;
    struct thermostat both = thermostat_of_difference(8.0, 3.0);
    assert_false(thermostat_is_closed(&both, false, 7.9));
    assert_true(thermostat_is_closed(&both, false, 8.0));
    assert_true(thermostat_is_closed(&both, true, 3.0));
    assert_false(thermostat_is_closed(&both, true, 2.9));
}

/* In a slow swing through the band it switches once each way, however fine the steps. */
static void no_chatter(void **state)
{
    (void)state;
    struct thermostat warm = thermostat_of(30.0, 2.0, THERMOSTAT_CLOSES_ON_RISE);
    for (int steps = 50; steps <= 5000; steps *= 10) {
        bool closed = false;
        int changes = 0;
        for (int i = 0; i <= 2 * steps; i++) {
            double degc = 33.0 - fabs((double)i / steps - 1.0) * 10.0; /* 23 .. 33 .. 23 */
            bool now = thermostat_is_closed(&warm, closed, degc);
            changes += now != closed;
            closed = now;
        }
        assert_int_equal(changes, 2);
    }
}

static void looking_up(void **state)
{
    (void)state;
    static const double values[] = {1.0, 3.0, 2.0};
    struct lookup table = {100.0, 10.0, 3, values};
    static const double rows[][2] = {{0, 1},        {100, 1}, {105, 2},   {110, 3},
                                     {112.5, 2.75}, {120, 2}, {1e300, 2}, {-1e300, 1}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        assert_close(lookup_at(&table, rows[i][0]), rows[i][1], 1e-14);
    assert_true(isnan(lookup_at(&table, NAN)));
    table.count = 1;
    assert_close(lookup_at(&table, 115.0), 1.0, 0.0);
    assert_close(lookup_at(&table, 95.0), 1.0, 0.0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(switching_both_ways),
        cmocka_unit_test(thermostats_both_ways),
        cmocka_unit_test(thermostat_by_difference),
        cmocka_unit_test(no_chatter),
        cmocka_unit_test(looking_up),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
