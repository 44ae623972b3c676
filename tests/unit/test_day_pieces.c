/* The pieces of a day put together: hours that a load runs on a panel, and a solar heater
 * from midnight to midnight, whose energy and charge must add up. */
#include "check.h"
#include "csv.h"

#include <stdbool.h>

#include "physics/battery_charge.h"
#include "physics/collector.h"
#include "physics/lookup.h"
#include "physics/pv.h"
#include "physics/sun.h"
#include "physics/tank.h"
#include "physics/tank_heat.h"
#include "physics/thermostat.h"

/* ---- Constant power on a 40 W panel through clear days ---- */

struct case_of_day {
    int n;
    double air_degc, start_v, watts;
    enum sun_climate climate;
};

/* 21.6 V, 2.56 A, 17.2 V, 2.33 A, 0.00128 A/K, -0.46 %/K. */
static struct pv_fit fit_40w(void)
{
    struct pv_label label = pv_label_blank();
    label.voc_v = 21.6;
    label.isc_a = 2.56;
    label.vmp_v = 17.2;
    label.imp_a = 2.33;
    label.isc_a_per_k = 0.00128;
    label.power_pct_per_k = -0.46;
    return pv_fit(&label);
}

/* Whether the load runs on in this sun, or, standing, gets away from its start voltage: cells
 * at T_air + 27/800 G, the simple form that these examples take. */
static bool runs(const struct pv_fit *fit, const struct case_of_day *day, double sun_w_m2, bool on)
{
    if (sun_w_m2 <= 0.0)
        return false;
    struct pv_cell cell = pv_translate(fit, sun_w_m2, day->air_degc + 27.0 / 800.0 * sun_w_m2);
    struct pv_point best = pv_max_power(&cell);
    if (on || day->start_v > best.volts)
        return best.watts >= day->watts && pv_open_voltage(&cell) > day->start_v;
    return day->start_v * pv_current(&cell, day->start_v, NULL) >= day->watts;
}

static double hours_of(const struct case_of_day *which)
{
    static double w_m2[SUN_MINUTES];
    struct sun_day day = sun_day_usual(45.0, which->n);
    struct sun_haze haze = sun_haze_of(which->climate, 200.0);
    sun_clear_day(&day, &haze, (struct sun_plane){35.0, 0.0}, SUN_GROUND, w_m2);
    struct pv_fit fit = fit_40w();
    int minutes = 0;
    bool on = false;
    for (int minute = 0; minute < SUN_MINUTES; minute++) {
        on = runs(&fit, which, w_m2[minute], on);
        minutes += on;
    }
    return minutes / 60.0;
}

/* Latitude 45, 35 degrees south, 200 m, Spencer, minutes of solar time; by a second program,
 * to the minute. */
static void hours_on_a_panel(void **state)
{
    (void)state;
    struct csv table;
    if (!csv_open(&table, "pv_load_examples.csv"))
        return;
    int rows = 0;
    while (csv_next(&table)) {
        const char *name = csv_text(&table, "case");
        if (strncmp(name, "clear day", 9))
            continue;
        rows++;
        bool winter = strstr(name, "midlat winter");
        struct case_of_day which = {.climate =
                                        winter ? SUN_MIDLATITUDE_WINTER : SUN_MIDLATITUDE_SUMMER,
                                    .watts = 8.0 / 0.9};
        assert_int_equal(sscanf(csv_text(&table, "temperature"), "Ta=%lf", &which.air_degc), 1);
        assert_int_equal(
            sscanf(csv_text(&table, "inputs"), "n=%d; V_on=%lf;", &which.n, &which.start_v), 2);
        assert_close(hours_of(&which), csv_number(&table, "value"), 0.00051);
    }
    assert_int_equal(rows, 9);
}

/* Three of these rows, typed in: hours above the sun at which it drops out. */
static void hours_by_heart(void **state)
{
    (void)state;
    static const struct {
        struct case_of_day which;
        double hours;
    } rows[] = {
        {{172, 25.0, 17.0, 8.0 / 0.9, SUN_MIDLATITUDE_SUMMER}, 10.367},
        {{80, 12.0, 9.0, 8.0 / 0.9, SUN_MIDLATITUDE_SUMMER}, 8.333},
        {{355, 2.0, 7.0, 8.0 / 0.9, SUN_MIDLATITUDE_WINTER}, 4.567},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        assert_close(hours_of(&rows[i].which), rows[i].hours, 0.00051);
}

/* ---- A heater from midnight to midnight ---- */

/* A pump on its panel turns from 180 W/m2 on, down to 120; flow and watts by the sun, made up
 * but of the usual size. */
static const double flow_l_h[] = {60, 90, 115, 140, 160, 180, 195, 210, 222, 232, 240};
static const struct switching pump_sun = {180.0, 120.0};

struct heater {
    struct tank_heat tank;
    struct battery_charge battery;
    double seconds; /* of a step */
    bool top_limit; /* a thermostat stops the pump at 45 degC */
    bool broken;    /* passing clouds */
    bool by_clock;  /* the pump runs from 9 to 16 h and by nothing else */
};

struct day_sums {
    double brought_j, lost_j, moved_m3, sun_j_m2;
    double kept_as;
    int starts, steps_on;
    double evening_degc;
};

static double sun_at(const struct heater *heater, double hour)
{
    struct sun_day day = sun_day_usual(47.0, sun_mean_day(6));
    struct sun_haze haze = sun_haze_of(sun_climate_of(47.0, 6), 300.0);
    struct sun_sky sky = sun_clear_sky(&day, &haze, sun_hour_angle_deg(hour));
    struct sun_plane plane = sun_plane_facing(35.0, 190.0);
    double cosine = sun_cos_incidence(&day, plane, sun_hour_angle_deg(hour));
    double clouds = heater->broken ? sun_broken(hour * 60.0, 0.4, 30.0) : 1.0;
    return 0.9 * clouds * sun_on_plane_w_m2(&sky, cosine, plane.slope_deg, SUN_GROUND);
}

/* The gain with the drawn layer's temperature at the step's start, flow from the table. */
static struct tank_heat_input input_at(const struct heater *heater, double hour, double sun,
                                       bool on)
{
    static const struct lookup flow = {100.0, 100.0, sizeof flow_l_h / sizeof flow_l_h[0],
                                       flow_l_h};
    static const struct collector coil = {1.4, 0.8, 9.0, 0.02};
    struct tank_heat_input input = {.seconds = heater->seconds,
                                    .air_degc = sun_air_degc(8.0, 24.0, hour)};
    if (!on)
        return input;
    input.flow_m3s = lookup_at(&flow, sun) * 1e-3 / 3600.0;
    input.pump_w = 0.9 * 8.0 * fmin(1.0, sun / 800.0);
    input.loop_w = collector_gain_w(&coil, sun, tank_heat_drawn_degc(&heater->tank), input.air_degc,
                                    input.flow_m3s * 992.22 / coil.area_m2, 4179.4);
    return input;
}

static struct day_sums run_day(struct heater *heater)
{
    struct thermostat limit = thermostat_of(45.0, 3.0, THERMOSTAT_CLOSES_ON_FALL);
    struct day_sums sums = {0};
    bool on = false, closed = true, turned = false;
    double battery_start = heater->battery.share;
    int steps = (int)(86400.0 / heater->seconds + 0.5);
    for (int i = 0; i < steps; i++) {
        double hour = (i + 0.5) * heater->seconds / 3600.0;
        double sun = sun_at(heater, hour);
        on = heater->by_clock ? hour > 9.0 && hour < 16.0 : switching_is_on(pump_sun, on, sun);
        closed = thermostat_is_closed(&limit, closed, tank_heat_mean_degc(&heater->tank));
        bool now = on && (closed || !heater->top_limit);
        struct tank_heat_input input = input_at(heater, hour, sun, now);
        sums.starts += now && !turned;
        sums.steps_on += now;
        turned = now;
        sums.brought_j += (input.loop_w + input.pump_w) * input.seconds;
        sums.moved_m3 += input.flow_m3s * input.seconds;
        sums.sun_j_m2 += sun * input.seconds;
        sums.lost_j += tank_heat_step(&heater->tank, &input);
        struct battery_step step =
            battery_charge_step(&heater->battery, 0.3 - sun / 1000.0 * 1.2, heater->seconds);
        sums.kept_as += step.stored_as - step.given_as;
        if (sun > 0.0)
            sums.evening_degc = tank_heat_mean_degc(&heater->tank);
    }
    assert_close(sums.kept_as,
                 (heater->battery.share - battery_start) * heater->battery.capacity_as, 1e-6);
    return sums;
}

static struct heater heater_of(bool layers, double seconds)
{
    double loss = tank_loss_w_k(tank_surface_m2(0.09), 0.03, 0.036, false, 0.0);
    struct battery battery = {BATTERY_LIFEPO4, 12.8, 6.0 * 3600.0, NAN, 1.0, 1.0};
    return (struct heater){
        .tank = layers ? tank_heat_layered(WATER_PLAIN, 0.09, loss, 12.0, 0.1, 0.6, 0.64)
                       : tank_heat_mixed(WATER_PLAIN, 0.09, loss, 12.0),
        .battery = battery_charge_of(&battery, 1.0, NAN, 0.5),
        .seconds = seconds,
    };
}

/* Every kind of day: what was brought less what was lost is in the water, to 1e-6 of it
 * and in fact to 1e-11. */
static void energy_adds_up(void **state)
{
    (void)state;
    for (int kind = 0; kind < 8; kind++) {
        struct heater heater = heater_of(kind & 1, 60.0);
        heater.top_limit = kind & 2;
        heater.broken = kind & 4;
        struct day_sums sums = run_day(&heater);
        double kept = heater.tank.heat_j_k * (tank_heat_mean_degc(&heater.tank) - 12.0);
        assert_close(sums.brought_j - sums.lost_j, kept, 1e-11 * sums.brought_j);
        assert_true(sums.brought_j > 0.3 * 1.4 * 0.8 * sums.sun_j_m2 || heater.top_limit);
        assert_true(sums.moved_m3 > 0.5);
        assert_true(sums.evening_degc > 30.0);
    }
}

/* Once a day without clouds; under each of them off and on again; by the limit in between. */
static void starts_are_counted(void **state)
{
    (void)state;
    struct heater clear = heater_of(false, 60.0);
    struct day_sums sums = run_day(&clear);
    assert_int_equal(sums.starts, 1);
    struct heater broken = heater_of(false, 60.0);
    broken.broken = true;
    struct day_sums clouds = run_day(&broken);
    assert_true(clouds.starts > 15);
    assert_near(clouds.sun_j_m2, sums.sun_j_m2, 0.02); /* the wave keeps the sum */
    assert_true(clouds.steps_on < sums.steps_on);
    struct heater limited = heater_of(false, 60.0);
    limited.top_limit = true;
    assert_true(run_day(&limited).evening_degc <= 45.1);
}

/* Temperature at midnight by steps of 60, 30, 15 and 7.5 s. */
static void at_midnight(bool layers, bool by_clock, double degc[4])
{
    for (int i = 0; i < 4; i++) {
        struct heater heater = heater_of(layers, 60.0 / (1 << i));
        heater.by_clock = by_clock;
        run_day(&heater);
        degc[i] = tank_heat_mean_degc(&heater.tank);
    }
}

/* The gain is taken at the step's start, so half the step makes half the error, as long as nothing
 * else depends on the step; a minute is good to some hundredths of a kelvin in any case. */
static void halving_the_step(void **state)
{
    (void)state;
    double degc[4];
    at_midnight(false, true, degc);
    assert_close(degc[0], degc[1], 0.02);
    assert_close((degc[0] - degc[1]) / (degc[1] - degc[2]), 2.0, 0.05);
    assert_close((degc[1] - degc[2]) / (degc[2] - degc[3]), 2.0, 0.05);
    for (int kind = 0; kind < 2; kind++) {
        at_midnight(kind == 1, false, degc);
        for (int i = 0; i < 3; i++)
            assert_close(degc[i], degc[i + 1], 0.03);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(hours_on_a_panel), cmocka_unit_test(hours_by_heart),
        cmocka_unit_test(energy_adds_up),   cmocka_unit_test(starts_are_counted),
        cmocka_unit_test(halving_the_step),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
