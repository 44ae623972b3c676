/* Motors: the affinity laws, the diaphragm pump's current, and their derivatives. */
#include "physics/motor.h"

#include <stdbool.h>

#include "check.h"

/* A small centrifugal pump: 12 V, 8 W, turns from 6 V up. */
static struct motor small_pump(enum motor_law law)
{
    return (struct motor){law, .rated_v = 12.0, .rated_a = motor_rated_a(NAN, 8.0, 12.0),
                          .least_v = 6.0};
}

static void rated_current(void **state)
{
    (void)state;
    assert_near(motor_rated_a(NAN, 8.0, 12.0), 2.0 / 3.0, 1e-15);
    assert_close(motor_rated_a(0.75, 8.0, 12.0), 0.75, 0); /* the stated current wins */
    assert_true(isnan(motor_rated_a(NAN, NAN, 12.0)));
}

/* Cengel and Cimbala, Fluid Mechanics, example 14-10: twice the speed needs 8 times the
 * power; so a 12 V 8 W pump takes 64 W at 24 V and 1 W at 6 V. */
static void double_speed_needs_eight_times_the_power(void **state)
{
    (void)state;
    struct motor pump = small_pump(MOTOR_SQUARE);
    assert_near(motor_speed(&pump, 24.0, true, NULL), 2.0, 1e-15);
    assert_near(24.0 * motor_current(&pump, 24.0, 1.0).amps, 64.0, 1e-14);
    assert_near(6.0 * motor_current(&pump, 6.0, 1.0).amps, 1.0, 1e-14);
    assert_near(12.0 * motor_current(&pump, 12.0, 0.6).amps, 4.8, 1e-14);
    assert_close(motor_current(&pump, -3.0, 1.0).amps, 0.0, 0);
}

/* P = P_rated x share at any voltage of its window. */
static void regulated_power_is_constant(void **state)
{
    (void)state;
    struct motor pump = small_pump(MOTOR_REGULATED);
    for (double volts = 6.0; volts < 40.0; volts += 1.7) {
        assert_near(volts * motor_current(&pump, volts, 1.0).amps, 8.0, 1e-14);
        assert_near(volts * motor_current(&pump, volts, 0.7).amps, 5.6, 1e-14);
        assert_close(motor_speed(&pump, volts, true, NULL), 1.0, 0);
    }
    /* below half of 6 V the tangent at 3 V: 8/3 A there, 16/3 A at 0 V */
    assert_near(motor_current(&pump, 3.0, 1.0).amps, 8.0 / 3.0, 1e-14);
    assert_near(motor_current(&pump, 0.0, 1.0).amps, 16.0 / 3.0, 1e-14);
    pump.least_v = 0.0; /* no window: from a twentieth of 12 V */
    assert_near(motor_current(&pump, 0.6, 1.0).amps, 8.0 / 0.6, 1e-14);
    assert_near(motor_current(&pump, 0.0, 1.0).amps, 16.0 / 0.6, 1e-14);
}

/* A diaphragm pump of 4 A: torque follows pressure, so its current does, at any voltage. */
static void diaphragm_current_follows_pressure(void **state)
{
    (void)state;
    struct motor pump = {MOTOR_TORQUE, .rated_v = 12.0, .rated_a = 4.0, .least_v = 6.0};
    const double most_pa = 2.5e5;
    static const struct {
        double pa, amps;
    } rows[] = {
        {-1e4, 1.6}, {0, 1.6}, {1.25e5, 2.8}, {2.5e5, 4.0}, {9e5, 4.0},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        double share = motor_share_diaphragm(rows[i].pa, most_pa, NULL);
        assert_near(motor_current(&pump, 7.0, share).amps, rows[i].amps, 1e-14);
        assert_near(motor_current(&pump, 14.0, share).amps, rows[i].amps, 1e-14);
    }
    assert_near(motor_speed(&pump, 9.0, true, NULL), 0.75, 1e-15);
}

/* Ohm: a 12 V 24 W heater is 6 ohm. */
static void resistor(void **state)
{
    (void)state;
    struct motor heater = {MOTOR_RESISTOR, .rated_v = 12.0, .rated_a = 2.0};
    assert_near(motor_current(&heater, 9.0, 1.0).amps, 1.5, 1e-15);
    assert_near(motor_current(&heater, 9.0, 1.0).amps_per_volt, 1.0 / 6.0, 1e-15);
}

static void starts_and_stops_at_its_least_voltage(void **state)
{
    (void)state;
    struct motor pump = small_pump(MOTOR_SQUARE);
    assert_true(motor_runs(&pump, 6.0));
    assert_false(motor_runs(&pump, 5.999999));
    assert_false(motor_runs(&pump, NAN));
    assert_close(motor_speed(&pump, 5.9, false, NULL), 0.0, 0);
}

/* Shut-off 0.6 of rated, open flow all of it, half of the open flow at that speed 0.8; the
 * open flow grows with speed (affinity). */
static void share_of_a_centrifugal_pump(void **state)
{
    (void)state;
    const double open = 1.2e-4; /* m3/s */
    static const struct {
        double flow, speed, share;
    } rows[] = {
        {0, 1, 0.6},     {0.6e-4, 1, 0.8}, {1.2e-4, 1, 1.0}, {2e-4, 1, 1.0},
        {-1e-4, 1, 0.6}, {0.6e-4, 0.5, 1}, {0.6e-4, 2, 0.7}, {1e-5, 0, 0.6},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        assert_near(motor_share_centrifugal(rows[i].flow, rows[i].speed, open, 0.6).share,
                    rows[i].share, 1e-14);
}

static void derivatives_of_currents(void **state)
{
    (void)state;
    static const double volts[] = {0.7, 2.9, 4.0, 12.0, 19.5};
    for (int law = MOTOR_SQUARE; law <= MOTOR_RESISTOR; law++) {
        struct motor motor = small_pump((enum motor_law)law);
        for (size_t i = 0; i < sizeof volts / sizeof *volts; i++) {
            const double h = 1e-5;
            double v = volts[i];
            struct motor_point here = motor_current(&motor, v, 0.8);
            double rise =
                motor_current(&motor, v + h, 0.8).amps - motor_current(&motor, v - h, 0.8).amps;
            assert_close(here.amps_per_volt, rise / (2 * h), 1e-8);
            rise = motor_current(&motor, v, 0.8 + h).amps - motor_current(&motor, v, 0.8 - h).amps;
            assert_close(here.amps_per_share, rise / (2 * h), 1e-8);
            double per_volt;
            rise = motor_speed(&motor, v + h, true, NULL);
            rise -= motor_speed(&motor, v - h, true, &per_volt);
            assert_close(per_volt, rise / (2 * h), 1e-9);
        }
    }
}

static void derivatives_of_shares(void **state)
{
    (void)state;
    const double open = 1.2e-4;
    static const struct {
        double flow, speed;
    } rows[] = {
        {0.3e-4, 1}, {0.9e-4, 0.9}, {1.4e-4, 1.6}, {3e-4, 1}, {-1e-5, 1},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        double flow = rows[i].flow, speed = rows[i].speed;
        struct motor_share here = motor_share_centrifugal(flow, speed, open, 0.6);
        double h = 1e-9;
        double rise = motor_share_centrifugal(flow + h, speed, open, 0.6).share -
                      motor_share_centrifugal(flow - h, speed, open, 0.6).share;
        assert_close(here.per_flow, rise / (2 * h), 1e-5 * (1.0 + fabs(here.per_flow)));
        h = 1e-6;
        rise = motor_share_centrifugal(flow, speed + h, open, 0.6).share -
               motor_share_centrifugal(flow, speed - h, open, 0.6).share;
        assert_close(here.per_speed, rise / (2 * h), 1e-8);
    }
    double per_pa;
    double rise = -motor_share_diaphragm(1e5 - 1.0, 3e5, NULL);
    rise += motor_share_diaphragm(1e5 + 1.0, 3e5, NULL);
    motor_share_diaphragm(1e5, 3e5, &per_pa);
    assert_near(per_pa, rise / 2.0, 1e-8);
    motor_share_diaphragm(4e5, 3e5, &per_pa);
    assert_close(per_pa, 0.0, 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(rated_current),
        cmocka_unit_test(double_speed_needs_eight_times_the_power),
        cmocka_unit_test(regulated_power_is_constant),
        cmocka_unit_test(diaphragm_current_follows_pressure),
        cmocka_unit_test(resistor),
        cmocka_unit_test(starts_and_stops_at_its_least_voltage),
        cmocka_unit_test(share_of_a_centrifugal_pump),
        cmocka_unit_test(derivatives_of_currents),
        cmocka_unit_test(derivatives_of_shares),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
