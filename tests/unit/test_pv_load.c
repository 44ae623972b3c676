/* The panel against four kinds of load: constant power, a brushed motor, one behind a
 * current booster, a brushless one. The panel's current is ours, the load lines stand here. All
 * on one 40 W panel of 36 cells; published figures come from a second program. */
#include "check.h"
#include "csv.h"

#include <stdbool.h>

#include "physics/pv.h"

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

/* A panel in one weather: cells at a fixed temperature, or at T_a + 27/800 G (T_noct 47). */
struct weather {
    struct pv_fit fit;
    double degc, degc_per_sun;
};

static struct weather read_weather(const char *text)
{
    struct weather weather = {.fit = fit_40w()};
    if (sscanf(text, "Tc=%lf", &weather.degc) == 1)
        return weather;
    assert_int_equal(sscanf(text, "NOCT47 Ta=%lf", &weather.degc), 1);
    weather.degc_per_sun = 27.0 / 800.0;
    return weather;
}

static struct pv_cell cell_in(const struct weather *weather, double sun_w_m2)
{
    return pv_translate(&weather->fit, sun_w_m2, weather->degc + weather->degc_per_sun * sun_w_m2);
}

/* The least sun for which something holds, by steps of 1 W/m2 and then halving; NAN when
 * there is none below 1300 W/m2. */
struct question {
    bool (*holds)(const struct pv_cell *cell, const struct question *question);
    double volts, amps, watts;
};

static double least_sun(const struct weather *weather, const struct question *question)
{
    for (double high = 2.0; high <= 1300.0; high += 1.0) {
        struct pv_cell cell = cell_in(weather, high);
        if (!question->holds(&cell, question))
            continue;
        double low = high - 1.0;
        for (int i = 0; i < 40; i++) {
            double middle = (low + high) / 2.0;
            cell = cell_in(weather, middle);
            *(question->holds(&cell, question) ? &high : &low) = middle;
        }
        return high;
    }
    return NAN;
}

static bool has_power(const struct pv_cell *cell, const struct question *question)
{
    return pv_max_power(cell).watts >= question->watts;
}

/* A converter that starts at `volts` and asks for `watts` gets away only when it is then above the
 * dividing point. */
static bool gets_away(const struct pv_cell *cell, const struct question *question)
{
    if (pv_open_voltage(cell) <= question->volts)
        return false;
    struct pv_point best = pv_max_power(cell);
    if (question->volts > best.volts)
        return best.watts >= question->watts;
    return question->volts * pv_current(cell, question->volts, NULL) >= question->watts;
}

static bool gives_current(const struct pv_cell *cell, const struct question *question)
{
    return pv_current(cell, question->volts, NULL) >= question->amps;
}

/* ---- Constant power ---- */

static void constant_power(void **state)
{
    (void)state;
    struct csv csv;
    if (!csv_open(&csv, "pv_load_examples.csv"))
        return;
    int rows = 0;
    while (csv_next(&csv)) {
        if (strcmp(csv_text(&csv, "case"), "constant power converter"))
            continue;
        rows++;
        struct weather weather = read_weather(csv_text(&csv, "temperature"));
        double start_v, start_factor;
        assert_int_equal(sscanf(csv_text(&csv, "inputs"),
                                "V_on=%lf V; V_off=7 V; P_in=8.8889 W; start factor %lf", &start_v,
                                &start_factor),
                         2);
        bool drop = !strcmp(csv_text(&csv, "quantity"), "G_drop_Wm2");
        struct question question = {drop ? has_power : gets_away, .volts = start_v,
                                    .watts = (drop ? 1.0 : start_factor) * 8.0 / 0.9};
        double sun = least_sun(&weather, &question);
        if (!strcmp(csv_text(&csv, "value"), "none below 1300"))
            assert_true(isnan(sun));
        else
            assert_close(sun, csv_number(&csv, "value"), 0.006);
    }
    assert_int_equal(rows, 288);
}

/* Where volts x amps is 8.8889 W, left and right of the best point: none, or two. */
static double meeting_point(const struct pv_cell *cell, bool right)
{
    double watts = 8.0 / 0.9;
    struct pv_point best = pv_max_power(cell);
    if (best.watts < watts)
        return NAN;
    double inner = best.volts, outer = right ? pv_open_voltage(cell) : 0.0;
    for (int i = 0; i < 60; i++) {
        double middle = (inner + outer) / 2.0;
        *(middle * pv_current(cell, middle, NULL) >= watts ? &inner : &outer) = middle;
    }
    return inner;
}

/* Cells at 25 degC: power and voltage at the best point, open voltage, the two meeting
 * points with 8 W through a converter of efficiency 0.9, and the current at 7 V. */
static void meeting_points(void **state)
{
    (void)state;
    static const struct {
        double sun, watts, vmp, voc, low, high, amps_at_7;
    } rows[] = {
        {1000, 40.08, 17.20, 21.60, 3.50, 21.12, 2.521},
        {600, 24.38, 17.36, 21.13, 5.85, 20.49, 1.515},
        {500, 20.33, 17.36, 20.96, 7.04, 20.23, 1.263},
        {400, 16.24, 17.32, 20.76, 8.83, 19.87, 1.011},
        {300, 12.12, 17.22, 20.49, 11.85, 19.25, 0.758},
        {250, 10.06, 17.14, 20.32, 14.33, 18.59, 0.632},
        {200, 7.99, 17.02, 20.12, NAN, NAN, NAN},
    };
    struct weather weather = read_weather("Tc=25");
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct pv_cell cell = cell_in(&weather, rows[i].sun);
        assert_close(pv_max_power(&cell).watts, rows[i].watts, 0.0051);
        assert_close(pv_max_power(&cell).volts, rows[i].vmp, 0.0051);
        assert_close(pv_open_voltage(&cell), rows[i].voc, 0.0051);
        if (isnan(rows[i].low)) {
            assert_true(isnan(meeting_point(&cell, true)));
            continue;
        }
        assert_close(meeting_point(&cell, false), rows[i].low, 0.0051);
        assert_close(meeting_point(&cell, true), rows[i].high, 0.0051);
        assert_close(pv_current(&cell, 7.0, NULL), rows[i].amps_at_7, 0.00051);
    }
}

/* ---- Motors ---- */

/* A brushed motor with permanent magnets: V = R_a I + k w, torque k I; a centrifugal pump takes
 * T_f + c w2. Textbook, from memory. */
static const double armature_ohm = 1.5, constant_v_s = 0.0350, friction_nm = 0.004;
static const double running_a = 0.667, starting_a = 1.334, rated_v = 12.0;

static double rad_per_s(double volts, double amps)
{
    return (volts - armature_ohm * amps) / constant_v_s;
}

static double rpm(double volts, double amps)
{
    return rad_per_s(volts, amps) * 30.0 / acos(-1.0);
}

static double centrifugal_amps(double volts)
{
    double rated = rad_per_s(rated_v, running_a);
    double c = (constant_v_s * running_a - friction_nm) / (rated * rated);
    double a = c * armature_ohm / constant_v_s, k = constant_v_s;
    double rest = friction_nm * armature_ohm / constant_v_s - volts;
    double w = (-k + sqrt(k * k - 4.0 * a * rest)) / (2.0 * a);
    return (friction_nm + c * w * w) / constant_v_s;
}

/* 0.05 A, and the rest with the square of the voltage: 0.0042847 A/V2. */
static double brushless_amps(double volts)
{
    double share = volts / rated_v;
    return 0.05 + (running_a - 0.05) * share * share;
}

/* The only voltage at which the panel gives what the load takes. */
static double operating_volts(const struct pv_cell *cell, double (*load)(double volts))
{
    double low = 0.5, high = pv_open_voltage(cell);
    for (int i = 0; i < 60; i++) {
        double middle = (low + high) / 2.0;
        *(pv_current(cell, middle, NULL) > load(middle) ? &low : &high) = middle;
    }
    return low;
}

/* "...; G=60" */
static double sun_of(const struct csv *csv)
{
    const char *sun = strstr(csv_text(csv, "inputs"), "G=");
    return sun ? strtod(sun + 2, NULL) : NAN;
}

static void brushed_motor(void **state)
{
    (void)state;
    struct csv csv;
    if (!csv_open(&csv, "pv_load_examples.csv"))
        return;
    int rows = 0;
    while (csv_next(&csv)) {
        if (strcmp(csv_text(&csv, "case"), "direct-coupled brushed motor; centrifugal"))
            continue;
        rows++;
        struct weather weather = read_weather(csv_text(&csv, "temperature"));
        struct pv_cell cell = cell_in(&weather, sun_of(&csv));
        double volts = operating_volts(&cell, centrifugal_amps);
        double amps = centrifugal_amps(volts);
        const char *quantity = csv_text(&csv, "quantity");
        double want = csv_number(&csv, "value");
        if (!strcmp(quantity, "V_V"))
            assert_close(volts, want, 0.51e-4);
        else if (!strcmp(quantity, "I_A"))
            assert_close(amps, want, 0.51e-5);
        else
            assert_close(rpm(volts, amps), want, 0.051);
    }
    assert_int_equal(rows, 30);
}

/* The displacement pump takes 0.667 A at any speed and 1.334 A to break away; standing, it is
 * its armature's resistance. */
static double displacement_figure(const struct csv *csv, const struct weather *weather)
{
    bool booster = !strncmp(csv_text(csv, "case"), "current booster", 15);
    const char *quantity = csv_text(csv, "quantity");
    if (!strcmp(quantity, "speed_rpm")) {
        struct pv_cell cell = cell_in(weather, sun_of(csv));
        double volts = fmin(15.0, 0.9 * pv_max_power(&cell).watts / running_a);
        return rpm(volts, running_a);
    }
    double amps = !strcmp(quantity, "G_start_Wm2") ? starting_a : running_a;
    struct question question = {gives_current, .volts = armature_ohm * amps, .amps = amps};
    if (booster) {
        question.holds = has_power;
        question.watts = armature_ohm * amps * amps / 0.9;
    }
    return least_sun(weather, &question);
}

static void displacement_pump_and_booster(void **state)
{
    (void)state;
    struct csv csv;
    if (!csv_open(&csv, "pv_load_examples.csv"))
        return;
    int rows = 0;
    while (csv_next(&csv)) {
        if (!strstr(csv_text(&csv, "case"), "displacement"))
            continue;
        rows++;
        struct weather weather = read_weather(csv_text(&csv, "temperature"));
        double want = csv_number(&csv, "value");
        bool speed = !strcmp(csv_text(&csv, "quantity"), "speed_rpm");
        assert_close(displacement_figure(&csv, &weather), want, speed ? 0.051 : 0.0051);
    }
    assert_int_equal(rows, 9);
}

static void brushless_motor(void **state)
{
    (void)state;
    struct csv csv;
    if (!csv_open(&csv, "pv_load_examples.csv"))
        return;
    int rows = 0;
    while (csv_next(&csv)) {
        if (strncmp(csv_text(&csv, "case"), "brushless", 9))
            continue;
        rows++;
        struct weather weather = read_weather(csv_text(&csv, "temperature"));
        if (strcmp(csv_text(&csv, "quantity"), "V_V")) {
            struct question start = {gives_current, .volts = 6.0, .amps = brushless_amps(6.0)};
            assert_close(least_sun(&weather, &start), csv_number(&csv, "value"), 0.0051);
            continue;
        }
        struct pv_cell cell = cell_in(&weather, sun_of(&csv));
        assert_close(operating_volts(&cell, brushless_amps), csv_number(&csv, "value"), 0.51e-4);
    }
    assert_int_equal(rows, 9);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(constant_power),  cmocka_unit_test(meeting_points),
        cmocka_unit_test(brushed_motor),   cmocka_unit_test(displacement_pump_and_booster),
        cmocka_unit_test(brushless_motor),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
