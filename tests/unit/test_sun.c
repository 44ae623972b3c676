/* The sun: textbook examples, a reference position, clear days, and the ends where
 * the formulas need care. D&B: Duffie and Beckman, Solar Engineering of Thermal
 * Processes. */
#include "check.h"
#include "csv.h"

#include <stdbool.h>

#include "physics/pv.h"
#include "physics/sun.h"

static const double pi = 3.14159265358979323846;

static double arc_cos(double cosine)
{
    return acos(cosine) * 180.0 / pi;
}

/* ---- The table of examples: published and recomputed ---- */

/* Half of the last digit that a number is printed with, and a hair. */
static double half_digit(const char *printed)
{
    const char *point = strchr(printed, '.');
    size_t decimals = point ? strspn(point + 1, "0123456789") : 0;
    return 0.5001 * pow(10.0, -(double)decimals);
}

/* What an example is given; `same` in the table keeps what was read before. */
struct given {
    double lat, n, omega, beta, gamma, delta, month;
};

static void read_given(const char *text, struct given *given)
{
    static const struct {
        const char *key;
        size_t at;
    } keys[] = {
        {"lat=", offsetof(struct given, lat)},     {"n=", offsetof(struct given, n)},
        {"omega=", offsetof(struct given, omega)}, {"beta=", offsetof(struct given, beta)},
        {"gamma=", offsetof(struct given, gamma)}, {"delta=", offsetof(struct given, delta)},
        {"month=", offsetof(struct given, month)},
    };
    for (size_t i = 0; i < sizeof keys / sizeof keys[0]; i++) {
        const char *found = strstr(text, keys[i].key);
        if (found)
            *(double *)((char *)given + keys[i].at) = strtod(found + strlen(keys[i].key), NULL);
    }
}

/* The books' examples take Cooper's declination. */
static struct sun_day book_day(const struct given *given)
{
    return sun_day_of(given->lat, sun_declination_cooper_deg(given->n), sun_outside_w_m2(given->n));
}

static struct sun_plane plane_of(const struct given *given)
{
    return (struct sun_plane){given->beta, given->gamma};
}

static double declination(const struct given *given)
{
    return sun_declination_cooper_deg(given->n);
}

static double time_equation(const struct given *given)
{
    return sun_time_equation_min(given->n);
}

/* D&B 1.5.1: 10:30 standard time at 89.4 W, zone of 90 W. */
static double solar_time(const struct given *given)
{
    return sun_solar_hour(10.5, -89.4, -6.0, sun_time_equation_min(given->n));
}

static double cos_theta(const struct given *given)
{
    struct sun_day day = book_day(given);
    return sun_cos_incidence(&day, plane_of(given), given->omega);
}

static double theta(const struct given *given)
{
    return arc_cos(cos_theta(given));
}

static double zenith(const struct given *given)
{
    struct sun_day day = book_day(given);
    return arc_cos(sun_cos_zenith(&day, given->omega));
}

static double altitude(const struct given *given)
{
    return 90.0 - zenith(given);
}

static double azimuth(const struct given *given)
{
    struct sun_day day = book_day(given);
    return sun_azimuth_deg(&day, given->omega);
}

/* D&B 1.6.3: a plane of azimuth 25. */
static double profile(const struct given *given)
{
    struct sun_day day = book_day(given);
    return sun_profile_deg(&day, 25.0, given->omega);
}

static double sunset(const struct given *given)
{
    struct sun_day day = book_day(given);
    return sun_sunset_deg(&day, 0.0);
}

static double sunset_hour(const struct given *given)
{
    struct sun_day day = book_day(given);
    return 12.0 + sun_day_length_h(&day, 0.0) / 2.0;
}

/* D&B 1.7.1: a plane turned all day about an axis from east to west has the slope
 * tan(theta_z) |cos(gamma_s)| and looks south or north with the sun; the angle is then the
 * same at every latitude, here 40. */
static double theta_turned(const struct given *given)
{
    struct sun_day day = sun_day_of(40.0, given->delta, 1367.0);
    double high = acos(sun_cos_zenith(&day, given->omega));
    double towards = sun_azimuth_deg(&day, given->omega);
    double slope = atan(tan(high) * fabs(cos(towards * pi / 180.0))) * 180.0 / pi;
    struct sun_plane plane = {slope, fabs(towards) < 90.0 ? 0.0 : 180.0};
    return arc_cos(sun_cos_incidence(&day, plane, given->omega));
}

static double beam_ratio(const struct given *given)
{
    struct sun_day day = book_day(given);
    return sun_beam_ratio(&day, plane_of(given), given->omega);
}

static double outside_day(const struct given *given)
{
    struct sun_day day = book_day(given);
    return sun_outside_day_j_m2(&day) * 1e-6;
}

/* D&B 1.10.2: 10 to 11 h. */
static double outside_hour(const struct given *given)
{
    struct sun_day day = book_day(given);
    return sun_outside_between_j_m2(&day, -30.0, -15.0) * 1e-6;
}

/* D&B table 1.10.1: mean over all days of a month. */
static double outside_month(const struct given *given)
{
    static const int first[13] = {1, 32, 60, 91, 121, 152, 182, 213, 244, 274, 305, 335, 366};
    int month = (int)given->month - 1;
    double sum = 0.0;
    for (int day = first[month]; day < first[month + 1]; day++)
        sum += outside_day(&(struct given){.lat = given->lat, .n = day});
    return sum / (first[month + 1] - first[month]);
}

/* D&B 2.8.1 and 2.8.2: 43 N, 270 m, mid-latitude summer, day 234, 11:30. */
static struct sun_haze book_haze(void)
{
    return sun_haze_of(SUN_MIDLATITUDE_SUMMER, 270.0);
}

static struct sun_sky book_sky(void)
{
    struct sun_day day = book_day(&(struct given){.lat = 43.0, .n = 234.0});
    struct sun_haze haze = book_haze();
    return sun_clear_sky(&day, &haze, sun_hour_angle_deg(11.5));
}

static double haze_a0(const struct given *given)
{
    (void)given;
    return book_haze().a0;
}

static double haze_a1(const struct given *given)
{
    (void)given;
    return book_haze().a1;
}

static double haze_k(const struct given *given)
{
    (void)given;
    return book_haze().k;
}

static double cos_zenith(const struct given *given)
{
    (void)given;
    return book_sky().cos_zenith;
}

static double beam_share(const struct given *given)
{
    (void)given;
    struct sun_haze haze = book_haze();
    return sun_beam_share(&haze, book_sky().cos_zenith);
}

static double outside_normal(const struct given *given)
{
    return sun_outside_w_m2(given->n);
}

static double beam_normal(const struct given *given)
{
    (void)given;
    return book_sky().beam_w_m2;
}

static double beam_flat(const struct given *given)
{
    (void)given;
    return book_sky().beam_w_m2 * book_sky().cos_zenith;
}

static double diffuse_share(const struct given *given)
{
    (void)given;
    return book_sky().diffuse_w_m2 / (sun_outside_w_m2(234.0) * book_sky().cos_zenith);
}

static double diffuse_flat(const struct given *given)
{
    (void)given;
    return book_sky().diffuse_w_m2;
}

static double total_flat(const struct given *given)
{
    (void)given;
    return book_sky().total_w_m2;
}

/* The book's day is the sum over the middles of the hours. */
static double clear_day_by_hours(const struct given *given)
{
    struct sun_day day = book_day(given);
    struct sun_haze haze = book_haze();
    double sum = 0.0;
    for (int hour = 0; hour < 24; hour++)
        sum += sun_clear_sky(&day, &haze, sun_hour_angle_deg(hour + 0.5)).total_w_m2 * 3600.0;
    return sum * 1e-6;
}

/* D&B 2.15.1: an hour's total 1.04, beam 0.244, diffuse 0.796 MJ/m2 over snow of 0.6. `part`
 * leaves out the rest: 1 beam, 2 diffuse, 4 ground. */
static double on_book_plane(const struct given *given, int part)
{
    struct sun_day day = book_day(given);
    double up = sun_cos_zenith(&day, given->omega);
    struct sun_sky sky = {up, part & 1 ? 0.244 / up : 0.0, part & 2 ? 0.796 : 0.0,
                          part & 4 ? 1.04 : 0.0};
    return sun_on_plane_w_m2(&sky, cos_theta(given), given->beta, 0.6);
}

static double plane_beam(const struct given *given)
{
    return on_book_plane(given, 1);
}

static double plane_diffuse(const struct given *given)
{
    return on_book_plane(given, 2);
}

static double plane_ground(const struct given *given)
{
    return on_book_plane(given, 4);
}

static double plane_total(const struct given *given)
{
    return on_book_plane(given, 7);
}

static const struct {
    const char *quantity; /* its beginning */
    double (*of)(const struct given *given);
} book_rows[] = {
    {"equation of time", time_equation},
    {"solar time", solar_time},
    {"declination", declination},
    {"cos(theta)", cos_theta},
    {"theta; surface turned", theta_turned},
    {"theta", theta},
    {"zenith", zenith},
    {"solar azimuth", azimuth},
    {"solar altitude", altitude},
    {"profile angle", profile},
    {"sunset hour angle", sunset},
    {"sunset solar time", sunset_hour},
    {"R_b", beam_ratio},
    {"H0 month average", outside_month},
    {"H0", outside_day},
    {"I0", outside_hour},
    {"cos(zenith)", cos_zenith},
    {"a0", haze_a0},
    {"a1", haze_a1},
    {"k", haze_k},
    {"tau_b", beam_share},
    {"G_on", outside_normal},
    {"G_cnb", beam_normal},
    {"G_cb", beam_flat},
    {"tau_d", diffuse_share},
    {"G_cd", diffuse_flat},
    {"G_c horizontal", total_flat},
    {"daily clear-sky", clear_day_by_hours},
    {"beam part", plane_beam},
    {"sky diffuse", plane_diffuse},
    {"ground part", plane_ground},
    {"I_T", plane_total},
};

/* Recomputed values hold to their printed digits. The book rounds on its way (a
 * declination of -14 for -13.95), so its own last digit may be off by one; in 2.15.1
 * its R_b, from rounded angles, by 0.0012. */
static void check_book_row(const struct csv *table, const struct given *given)
{
    const char *quantity = csv_text(table, "quantity");
    const char *published = csv_text(table, "published");
    const char *recomputed = csv_text(table, "recomputed");
    size_t row = 0;
    while (row < sizeof book_rows / sizeof book_rows[0] &&
           strncmp(quantity, book_rows[row].quantity, strlen(book_rows[row].quantity)))
        row++;
    assert_true(row < sizeof book_rows / sizeof book_rows[0]);
    double value = book_rows[row].of(given);
    assert_close(value, strtod(recomputed, NULL), half_digit(recomputed));
    double off = !strcmp(published, "1.7144") ? 0.0012 : 2.4 * half_digit(published);
    assert_close(value, strtod(published, NULL), off);
}

static void book_examples(void **state)
{
    (void)state;
    struct csv table;
    if (!csv_open(&table, "sun_examples.csv"))
        return;
    struct given given = {0};
    int rows = 0;
    while (csv_next(&table)) {
        if (strncmp(csv_text(&table, "example"), "DB ", 3))
            continue;
        const char *inputs = csv_text(&table, "inputs");
        if (strcmp(inputs, "same") && strcmp(inputs, "surface azimuth 25"))
            given = (struct given){0};
        read_given(inputs, &given);
        check_book_row(&table, &given);
        rows++;
    }
    assert_int_equal(rows, 141);
}

/* A few of these rows, typed in, so that they are checked without the table too. */
static void book_examples_by_heart(void **state)
{
    (void)state;
    assert_close(sun_time_equation_min(34.0), -13.5, 0.05);            /* 1.5.1 */
    assert_close(sun_declination_cooper_deg(44.0), -13.9463, 0.00005); /* 1.6.1 */
    struct given given = {.lat = 43.0, .n = 44.0, .omega = -22.5, .beta = 45.0, .gamma = 15.0};
    assert_close(cos_theta(&given), 0.817558, 5e-7);
    assert_close(beam_ratio(&given), 1.66375, 5e-6); /* 1.8.1 */
    given = (struct given){.lat = 43.0, .n = 182.0, .omega = 97.5};
    assert_close(azimuth(&given), 112.0, 0.05); /* 1.6.2 */
    given.n = 105.0;
    assert_close(outside_day(&given), 33.8, 0.05);   /* 1.10.1 */
    assert_close(outside_hour(&given), 3.79, 0.005); /* 1.10.2 */
    assert_close(book_sky().beam_w_m2, 830.0, 0.5);  /* 2.8.1 */
}

/* ---- A reference position and reference sunrises ---- */

/* 39.742476 N, 105.1786 W, zone -7 h; published position and times from the test data of an
 * open solar library with a high-precision algorithm. */
static const double ref_lat = 39.742476, ref_lon = -105.1786, ref_zone = -7.0;

enum way { COOPER, SPENCER, ALMANAC };

/* Declination and equation of time at a moment of a clock day, day n of the year. */
static struct sun_almanac position(enum way way, int year, int month, int date, double clock,
                                   double n)
{
    if (way == ALMANAC)
        return sun_almanac_at(sun_days_since_2000(year, month, date, clock - ref_zone));
    return (struct sun_almanac){way == COOPER ? sun_declination_cooper_deg(n)
                                              : sun_declination_spencer_deg(n),
                                sun_time_equation_min(n)};
}

/* 2003-10-17, 12:30:30: zenith 50.127954, azimuth from north 194.340241. */
static void reference_position(void **state)
{
    (void)state;
    static const struct {
        enum way way;
        double zenith, azimuth; /* recomputed */
        double off;             /* from the published position, degrees */
    } rows[] = {
        {COOPER, 51.1318, 194.146, 1.01},
        {SPENCER, 49.7865, 194.489, 0.35},
        {ALMANAC, 50.1267, 194.336, 0.005},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        double clock = 12.0 + 30.5 / 60.0;
        struct sun_almanac sun = position(rows[i].way, 2003, 10, 17, clock, 290.0);
        struct sun_day day = sun_day_of(ref_lat, sun.declination_deg, 1367.0);
        double hour = sun_solar_hour(clock, ref_lon, ref_zone, sun.time_equation_min);
        double omega = sun_hour_angle_deg(hour);
        double high = arc_cos(sun_cos_zenith(&day, omega));
        double bearing = sun_azimuth_deg(&day, omega) + 180.0;
        assert_close(high, rows[i].zenith, 0.00005);
        assert_close(bearing, rows[i].azimuth, 0.0005);
        assert_close(high, 50.127954, rows[i].off);
        assert_close(bearing, 194.340241, rows[i].off);
    }
}

/* Clock hour of sunrise (side -1), noon (0), sunset (1), with the sun where it is at noon or,
 * with the almanac, at that very moment, found by repeating. */
static double event(enum way way, int month, int date, double n, int side, bool moving)
{
    double edge = way == ALMANAC ? -0.833 : -50.0 / 60.0; /* as they were recomputed */
    double clock = 12.0;
    for (int turn = 0; turn < 8; turn++) {
        struct sun_almanac sun = position(way, 2015, month, date, moving ? clock : 12.0, n);
        struct sun_day day = sun_day_of(ref_lat, sun.declination_deg, 1367.0);
        double solar = 12.0 + side * sun_sunset_deg(&day, edge) / 15.0;
        clock = sun_clock_hour(solar, ref_lon, ref_zone, sun.time_equation_min);
    }
    return clock;
}

/* 2015-01-02: 7:21:55, 12:04:45, 16:47:43; 2015-08-02: 5:00:27, 12:06:58, 19:13:58. Recomputed
 * values are met to 0.36 s: how near noon the almanac was taken for them is not said. */
static void reference_sunrises(void **state)
{
    (void)state;
    static const struct {
        enum way way;
        int month, date;
        double n, hour[3]; /* recomputed */
        double seconds;    /* from the published times */
    } rows[] = {
        {COOPER, 1, 2, 2, {7.35726, 12.0678, 16.7783}, 65.0},
        {SPENCER, 1, 2, 2, {7.36061, 12.0678, 16.7749}, 75.0},
        {ALMANAC, 1, 2, 2, {7.36603, 12.0793, 16.7926}, 10.0},
        {COOPER, 8, 2, 214, {5.0181, 12.1196, 19.2212}, 45.0},
        {SPENCER, 8, 2, 214, {4.99736, 12.1196, 19.2419}, 40.0},
        {ALMANAC, 8, 2, 214, {5.01223, 12.1165, 19.2207}, 45.0},
    };
    static const double published[2][3] = {{26515, 43485, 60463}, {18027, 43618, 69238}}; /* s */
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        for (int side = 0; side < 3; side++) {
            double hour =
                event(rows[i].way, rows[i].month, rows[i].date, rows[i].n, side - 1, false);
            assert_close(hour, rows[i].hour[side], 0.0001);
            assert_close(hour * 3600.0, published[i / 3][side], rows[i].seconds);
        }
    }
}

/* With the sun where it is at that moment the almanac meets five of the six to 2 s. The sixth,
 * the sunset in August, is 63 s early: with the published 19:13:58 the afternoon would be a
 * minute longer than the morning while the declination falls, so we doubt the published one. */
static void sunrises_with_a_moving_sun(void **state)
{
    (void)state;
    static const double published[2][3] = {{26515, 43485, 60463}, {18027, 43618, 69238}}; /* s */
    for (int side = 0; side < 3; side++) {
        double january = event(ALMANAC, 1, 2, 2.0, side - 1, true) * 3600.0;
        double august = event(ALMANAC, 8, 2, 214.0, side - 1, true) * 3600.0;
        assert_close(january, published[0][side], 2.0);
        assert_close(august, published[1][side], side == 2 ? 63.5 : 2.0);
    }
}

/* The lengths of these days by Cooper and Spencer, the edge 50 arc minutes down. */
static void reference_day_lengths(void **state)
{
    (void)state;
    static const struct {
        double n, cooper, spencer, published;
    } rows[] = {{2, 9.42102, 9.41432, 9.43}, {214, 14.2031, 14.2446, 14.2253}};
    for (size_t i = 0; i < 2; i++) {
        struct sun_day day = sun_day_of(ref_lat, sun_declination_cooper_deg(rows[i].n), 1367.0);
        assert_close(sun_day_length_h(&day, -50.0 / 60.0), rows[i].cooper, 0.000051);
        assert_close(sun_day_length_h(&day, -50.0 / 60.0), rows[i].published, 0.023);
        day = sun_day_of(ref_lat, sun_declination_spencer_deg(rows[i].n), 1367.0);
        assert_close(sun_day_length_h(&day, -50.0 / 60.0), rows[i].spencer, 0.000051);
        assert_close(sun_day_length_h(&day, -50.0 / 60.0), rows[i].published, 0.02);
    }
}

/* T_noct 47.4, efficiency 0.1663, 1000 W/m2, 20 degC, 1 m/s: 47.9214; and what
 * defines T_noct: 800 W/m2, 20 degC, no power drawn. */
static void cells_in_the_sun(void **state)
{
    (void)state;
    assert_close(pv_cell_temperature(20.0, 1000.0, 47.4, 0.1663, 1.0), 47.9214, 0.00005);
    assert_close(pv_cell_temperature(20.0, 800.0, 45.0, 0.0, 1.0), 45.0, 1e-12);
}

/* ---- Days ---- */

/* The day number of the almanac at known days: J2000 itself, a leap day, a new year. */
static void days_since_2000(void **state)
{
    (void)state;
    assert_close(sun_days_since_2000(2000, 1, 1, 12.0), 0.0, 0.0);
    assert_close(sun_days_since_2000(2000, 1, 1, 0.0), -0.5, 0.0);
    assert_close(sun_days_since_2000(1999, 12, 31, 12.0), -1.0, 0.0);
    assert_close(sun_days_since_2000(2000, 2, 29, 12.0), 59.0, 0.0);
    assert_close(sun_days_since_2000(2000, 3, 1, 12.0), 60.0, 0.0);
    assert_close(sun_days_since_2000(2001, 1, 1, 12.0), 366.0, 0.0);
    assert_close(sun_days_since_2000(2003, 10, 17, 19.5), 1385.0 + 7.5 / 24.0, 1e-9);
    assert_close(sun_days_since_2000(2100, 3, 1, 36.0), 36525.0 + 60.0, 0.0);
}

/* Against the almanac over 2021 and 2024: Cooper -1.2 .. 0.1, Spencer -0.5 .. 0.5 degrees. */
static void declinations_against_the_almanac(void **state)
{
    (void)state;
    static const int years[] = {2021, 2024};
    double low[2] = {9, 9}, high[2] = {-9, -9};
    for (int y = 0; y < 2; y++) {
        for (int n = 1; n <= 365; n++) {
            double right =
                sun_almanac_at(sun_days_since_2000(years[y], 1, n, 12.0)).declination_deg;
            double off[2] = {sun_declination_cooper_deg(n) - right,
                             sun_declination_spencer_deg(n) - right};
            for (int i = 0; i < 2; i++) {
                low[i] = fmin(low[i], off[i]);
                high[i] = fmax(high[i], off[i]);
            }
        }
    }
    assert_close(low[0], -1.2, 0.05);
    assert_close(high[0], 0.1, 0.05);
    assert_close(low[1], -0.5, 0.06);
    assert_close(high[1], 0.5, 0.05);
}

static void which_day_and_climate(void **state)
{
    (void)state;
    assert_int_equal(sun_mean_day(1), 17);
    assert_int_equal(sun_mean_day(6), 162);
    assert_int_equal(sun_mean_day(12), 344);
    assert_int_equal(sun_mean_day(0), 80);
    assert_int_equal(sun_mean_day(13), 80);
    assert_int_equal(sun_climate_of(23.4, 7), SUN_TROPICAL);
    assert_int_equal(sun_climate_of(-23.4, 7), SUN_TROPICAL);
    assert_int_equal(sun_climate_of(23.5, 4), SUN_MIDLATITUDE_SUMMER);
    assert_int_equal(sun_climate_of(47.0, 9), SUN_MIDLATITUDE_SUMMER);
    assert_int_equal(sun_climate_of(47.0, 10), SUN_MIDLATITUDE_WINTER);
    assert_int_equal(sun_climate_of(47.0, 3), SUN_MIDLATITUDE_WINTER);
    assert_int_equal(sun_climate_of(47.0, 0), SUN_MIDLATITUDE_WINTER);
    assert_int_equal(sun_climate_of(-35.0, 12), SUN_MIDLATITUDE_SUMMER);
    assert_int_equal(sun_climate_of(-35.0, 0), SUN_MIDLATITUDE_SUMMER);
    assert_int_equal(sun_climate_of(-23.5, 6), SUN_MIDLATITUDE_WINTER);
}

/* Poles, the equator, straight overhead: no division by nothing. */
static void poles_and_overhead(void **state)
{
    (void)state;
    static const double poles[] = {90.0, -90.0};
    for (int i = 0; i < 2; i++) {
        struct sun_day summer = sun_day_of(poles[i], poles[i] > 0 ? 20.0 : -20.0, 1367.0);
        assert_close(sun_sunset_deg(&summer, 0.0), 180.0, 0.0);
        assert_close(sun_day_length_h(&summer, 0.0), 24.0, 0.0);
        assert_near(sun_outside_day_j_m2(&summer), 86400.0 * 1367.0 * sin(20.0 * pi / 180.0),
                    1e-12);
        assert_close(fabs(sun_azimuth_deg(&summer, 30.0)), i == 0 ? 30.0 : 150.0, 1e-9);
        struct sun_day winter = sun_day_of(poles[i], poles[i] > 0 ? -20.0 : 20.0, 1367.0);
        assert_close(sun_sunset_deg(&winter, 0.0), 0.0, 0.0);
        assert_close(sun_outside_day_j_m2(&winter), 0.0, 0.0);
    }
    /* just over the arctic circle the midsummer sun does not set, just short of it it does */
    struct sun_day arctic = sun_day_of(66.56, 23.45, 1367.0);
    assert_close(sun_sunset_deg(&arctic, 0.0), 180.0, 0.0);
    arctic = sun_day_of(66.54, 23.45, 1367.0);
    assert_true(sun_sunset_deg(&arctic, 0.0) < 180.0);
    /* overhead at the equator: noon at an equinox */
    struct sun_day equator = sun_day_of(0.0, 0.0, 1367.0);
    assert_close(sun_cos_zenith(&equator, 0.0), 1.0, 1e-15);
    assert_true(isfinite(sun_azimuth_deg(&equator, 0.0)));
    assert_close(sun_profile_deg(&equator, 0.0, 0.0), 90.0, 1e-6);
    assert_close(sun_sunset_deg(&equator, 0.0), 90.0, 1e-12);
    assert_true(isnan(sun_sunset_deg(&(struct sun_day){.sin_latitude = NAN}, 0.0)));
}

/* D&B eq. 1.6.6 with its sign and arc cosine, at many places. */
static void azimuth_by_the_book(void **state)
{
    (void)state;
    for (double lat = -80.0; lat <= 80.0; lat += 16.0) {
        for (double omega = -170.0; omega <= 170.0; omega += 20.0) {
            struct sun_day day = sun_day_of(lat, 17.0, 1367.0);
            double up = sun_cos_zenith(&day, omega);
            double inside = (up * day.sin_latitude - day.sin_declination) /
                            (sqrt(1.0 - up * up) * day.cos_latitude);
            double want = copysign(arc_cos(fmin(fmax(inside, -1.0), 1.0)), omega);
            assert_close(sun_azimuth_deg(&day, omega), want, 1e-5);
        }
    }
}

/* What is turned round is the same: a plane looking north in the south, half a year on,
 * sees what one looking south sees in the north. */
static void south_mirrors_north(void **state)
{
    (void)state;
    struct sun_day north = sun_day_of(35.0, 12.0, 1367.0);
    struct sun_day south = sun_day_of(-35.0, -12.0, 1367.0);
    struct sun_plane here = sun_plane_assumed(35.0), there = sun_plane_assumed(-35.0);
    assert_close(here.azimuth_deg, 0.0, 0.0);
    assert_close(there.azimuth_deg, -180.0, 0.0);
    assert_close(there.slope_deg, 35.0, 0.0);
    assert_close(sun_plane_facing(10.0, 270.0).azimuth_deg, 90.0, 0.0); /* west */
    struct sun_haze haze = sun_haze_of(SUN_TROPICAL, 0.0);
    double sum = sun_clear_day(&north, &haze, here, 0.2, NULL);
    assert_near(sun_clear_day(&south, &haze, there, 0.2, NULL), sum, 1e-12);
    for (double hour = 5.0; hour < 20.0; hour += 0.7) {
        double omega = sun_hour_angle_deg(hour);
        assert_close(sun_cos_incidence(&north, here, omega),
                     sun_cos_incidence(&south, there, omega), 1e-14);
    }
    /* and a plane to the east sees in the morning what one to the west sees in the evening */
    assert_close(sun_cos_incidence(&north, sun_plane_facing(60.0, 90.0), -40.0),
                 sun_cos_incidence(&north, sun_plane_facing(60.0, 270.0), 40.0), 1e-14);
}

/* Hottel's corrections r0, r1, rk of each climate (Solar Energy 18 (1976) 129-134; D&B table
 * 2.8.1) on the standard atmosphere at 1 km: 0.4237 - 0.00821 x 25, 0.5055 + 0.00595 x
 * 30.25, 0.2711 + 0.01858 x 2.25. */
static void climates(void **state)
{
    (void)state;
    static const double rows[][3] = {
        [SUN_TROPICAL] = {0.95, 0.98, 1.02},
        [SUN_MIDLATITUDE_SUMMER] = {0.97, 0.99, 1.02},
        [SUN_SUBARCTIC_SUMMER] = {0.99, 0.99, 1.01},
        [SUN_MIDLATITUDE_WINTER] = {1.03, 1.01, 1.00},
    };
    for (int climate = 0; climate < 4; climate++) {
        struct sun_haze haze = sun_haze_of((enum sun_climate)climate, 1000.0);
        assert_near(haze.a0, rows[climate][0] * 0.21845, 1e-12);
        assert_near(haze.a1, rows[climate][1] * 0.6854875, 1e-12);
        assert_near(haze.k, rows[climate][2] * 0.312905, 1e-12);
    }
}

/* Less comes down at sea level than at 1.5 km, and the more so the lower the sun. */
static void height_clears_the_sky(void **state)
{
    (void)state;
    struct sun_haze low = sun_haze_of(SUN_MIDLATITUDE_SUMMER, 0.0);
    struct sun_haze high = sun_haze_of(SUN_MIDLATITUDE_SUMMER, 1500.0);
    struct sun_day day = sun_day_of(0.0, 0.0, 1367.0);
    double before = 1.0;
    for (double zenith = 0.0; zenith < 85.0; zenith += 10.0) {
        double ratio = sun_clear_sky(&day, &low, zenith).total_w_m2 /
                       sun_clear_sky(&day, &high, zenith).total_w_m2;
        assert_true(ratio < before);
        before = ratio;
    }
}

/* Hottel's limits: altitude held, climates in their order at sea level, nothing at night. */
static void hazes(void **state)
{
    (void)state;
    struct sun_haze low = sun_haze_of(SUN_MIDLATITUDE_WINTER, -200.0);
    assert_close(low.a0, 1.03 * (0.4237 - 0.00821 * 36.0), 1e-15);
    assert_close(low.a1, 1.01 * (0.5055 + 0.00595 * 42.25), 1e-15);
    assert_close(low.k, 0.2711 + 0.01858 * 6.25, 1e-15);
    struct sun_haze top = sun_haze_of(SUN_SUBARCTIC_SUMMER, 4000.0);
    assert_close(top.k, 1.01 * 0.2711, 1e-15);
    struct sun_haze same = sun_haze_of(SUN_SUBARCTIC_SUMMER, 2500.0);
    assert_close(top.a0, same.a0, 0.0);
    assert_close(sun_beam_share(&top, 0.0), 0.0, 0.0);
    assert_close(sun_beam_share(&top, -0.5), 0.0, 0.0);
    assert_close(sun_beam_share(&top, 1e-6), same.a0, 1e-12);
    struct sun_day day = sun_day_usual(47.0, 162);
    struct sun_sky night = sun_clear_sky(&day, &top, 180.0);
    assert_true(night.cos_zenith < 0.0);
    assert_close(night.total_w_m2, 0.0, 0.0);
    assert_close(sun_on_plane_w_m2(&night, 0.7, 45.0, 0.2), 0.0, 0.0);
    assert_close(sun_beam_ratio(&day, (struct sun_plane){45.0, 0.0}, 180.0), 0.0, 0.0);
    assert_true(isnan(sun_haze_of(SUN_TROPICAL, NAN).a0));
}

/* Clear days at 45 N, 35 degrees to the south, 200 m: 7.29, 6.09 and 3.13 kWh/m2,
 * computed by a second program. */
static void clear_days(void **state)
{
    (void)state;
    static const struct {
        int n;
        enum sun_climate climate;
        double kwh_m2;
    } rows[] = {{172, SUN_MIDLATITUDE_SUMMER, 7.29},
                {80, SUN_MIDLATITUDE_SUMMER, 6.09},
                {355, SUN_MIDLATITUDE_WINTER, 3.13}};
    static double w_m2[SUN_MINUTES];
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct sun_day day = sun_day_usual(45.0, rows[i].n);
        struct sun_haze haze = sun_haze_of(rows[i].climate, 200.0);
        struct sun_plane plane = {35.0, 0.0};
        double sum = sun_clear_day(&day, &haze, plane, SUN_GROUND, w_m2);
        assert_close(sum / 3.6e6, rows[i].kwh_m2, 0.0051);
        /* minute by minute it is what the single functions say */
        for (int minute = 0; minute < SUN_MINUTES; minute += 7) {
            double omega = sun_hour_angle_deg((minute + 0.5) / 60.0);
            struct sun_sky sky = sun_clear_sky(&day, &haze, omega);
            double single =
                sun_on_plane_w_m2(&sky, sun_cos_incidence(&day, plane, omega), 35.0, 0.2);
            assert_close(w_m2[minute], single, 1e-10);
            assert_close(w_m2[minute], w_m2[SUN_MINUTES - 1 - minute], 1e-10);
        }
    }
}

/* Steps of half a minute change a day's sum by 1e-4 at most: the sun comes on with a jump, and
 * which minute it falls in is a matter of chance. */
static void halved_minutes(void **state)
{
    (void)state;
    for (double lat = -60.0; lat <= 60.0; lat += 30.0) {
        struct sun_day day = sun_day_usual(lat, 105);
        struct sun_haze haze = sun_haze_of(SUN_MIDLATITUDE_SUMMER, 0.0);
        struct sun_plane plane = sun_plane_facing(40.0, 200.0);
        double fine = 0.0;
        for (int half = 0; half < 2 * SUN_MINUTES; half++) {
            double omega = sun_hour_angle_deg((half + 0.5) / 120.0);
            struct sun_sky sky = sun_clear_sky(&day, &haze, omega);
            fine += 30.0 * sun_on_plane_w_m2(&sky, sun_cos_incidence(&day, plane, omega),
                                             plane.slope_deg, SUN_GROUND);
        }
        assert_near(sun_clear_day(&day, &haze, plane, SUN_GROUND, NULL), fine, 1e-4);
    }
}

/* The minute sums of the sun outside the air meet H_0: with a0 1 and a1 0 all of it comes
 * through as beam. */
static void minutes_against_the_closed_sum(void **state)
{
    (void)state;
    struct sun_haze none = {1.0, 0.0, 0.0};
    for (double lat = -75.0; lat <= 90.0; lat += 15.0) {
        struct sun_day day = sun_day_usual(lat, 228);
        double closed = sun_outside_day_j_m2(&day), sum = 0.0;
        for (int minute = 0; minute < SUN_MINUTES; minute++) {
            struct sun_sky sky =
                sun_clear_sky(&day, &none, sun_hour_angle_deg((minute + 0.5) / 60.0));
            sum += 60.0 * sky.beam_w_m2 * fmax(0.0, sky.cos_zenith);
        }
        assert_close(sum, closed, 2e-5 * closed + 5.0);
        /* and hours add up to the day */
        double hours = 0.0;
        for (double from = -180.0; from < 180.0; from += 15.0)
            hours += sun_outside_between_j_m2(&day, from, from + 15.0);
        assert_close(hours, closed, 1e-9 * closed);
    }
}

static void scaling_a_day(void **state)
{
    (void)state;
    struct sun_day day = sun_day_usual(47.0, sun_mean_day(6));
    struct sun_haze haze = sun_haze_of(sun_climate_of(47.0, 6), 0.0);
    static double w_m2[SUN_MINUTES];
    double clear = sun_clear_day(&day, &haze, sun_plane_assumed(47.0), SUN_GROUND, w_m2);
    double factor = sun_scale(5.2 * 3.6e6, clear), sum = 0.0;
    for (int minute = 0; minute < SUN_MINUTES; minute++)
        sum += factor * w_m2[minute] * 60.0;
    assert_near(sum, 5.2 * 3.6e6, 1e-12);
    /* clearness 0.6: the flat sum is 0.6 of that outside the air */
    double flat = sun_clear_day(&day, &haze, (struct sun_plane){0.0, 0.0}, SUN_GROUND, NULL);
    double by_clearness = sun_scale(0.6 * sun_outside_day_j_m2(&day), flat);
    assert_near(by_clearness * flat, 0.6 * sun_outside_day_j_m2(&day), 1e-12);
    /* polar night */
    struct sun_day night = sun_day_usual(80.0, 355);
    assert_close(sun_clear_day(&night, &haze, sun_plane_assumed(80.0), 0.2, NULL), 0.0, 0.0);
    assert_close(sun_scale(1e6, 0.0), 0.0, 0.0);
}

/* A share of 0.4 in 20 minutes: 12 clear ones at 1/0.6, 8 dark ones, and the same sum. */
static void broken_sun(void **state)
{
    (void)state;
    double sum = 0.0;
    for (int minute = 0; minute < SUN_MINUTES; minute++)
        sum += sun_broken(minute + 0.5, 0.4, 20.0);
    assert_near(sum, SUN_MINUTES, 1e-12);
    assert_near(sun_broken(0.5, 0.4, 20.0), 1.0 / 0.6, 1e-15);
    assert_near(sun_broken(11.5, 0.4, 20.0), 1.0 / 0.6, 1e-15);
    assert_close(sun_broken(12.5, 0.4, 20.0), 0.0, 0.0);
    assert_close(sun_broken(19.5, 0.4, 20.0), 0.0, 0.0);
    assert_near(sun_broken(20.5, 0.4, 20.0), 1.0 / 0.6, 1e-15);
    assert_close(sun_broken(700.5, 0.0, 20.0), 1.0, 0.0);
    assert_close(sun_broken(700.5, 1.0, 20.0), 0.0, 0.0);
    assert_true(isnan(sun_broken(700.5, NAN, 20.0)));
}

/* The shares of the hours make up the day; the fit itself is good to 1 %. */
static void shape_of_a_day(void **state)
{
    (void)state;
    for (double set = 60.0; set <= 120.0; set += 10.0) {
        double sum = 0.0;
        for (int minute = 0; minute < SUN_MINUTES; minute++)
            sum += sun_hour_share(sun_hour_angle_deg((minute + 0.5) / 60.0), set) / 60.0;
        assert_close(sum, 1.0, 0.01);
    }
    assert_close(sun_hour_share(91.0, 90.0), 0.0, 0.0);
    assert_close(sun_hour_share(0.0, 0.0), 0.0, 0.0);
    /* at an equinox, by hand: a = 0.409 + 0.2508, b = 0.6609 - 0.23835, noon pi/24 (a + b) */
    assert_close(sun_hour_share(0.0, 90.0), pi / 24.0 * (0.6598 + 0.42255), 1e-12);
    assert_true(isnan(sun_hour_share(0.0, NAN)));
}

static void air_over_the_day(void **state)
{
    (void)state;
    assert_close(sun_air_degc(-15.0, 34.0, 15.0), 34.0, 1e-12);
    assert_close(sun_air_degc(-15.0, 34.0, 3.0), -15.0, 1e-12);
    assert_close(sun_air_degc(-15.0, 34.0, 9.0), 9.5, 1e-12);
    assert_close(sun_air_degc(-15.0, 34.0, 27.0), -15.0, 1e-12);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(book_examples),
        cmocka_unit_test(book_examples_by_heart),
        cmocka_unit_test(reference_position),
        cmocka_unit_test(reference_sunrises),
        cmocka_unit_test(sunrises_with_a_moving_sun),
        cmocka_unit_test(reference_day_lengths),
        cmocka_unit_test(cells_in_the_sun),
        cmocka_unit_test(days_since_2000),
        cmocka_unit_test(declinations_against_the_almanac),
        cmocka_unit_test(which_day_and_climate),
        cmocka_unit_test(poles_and_overhead),
        cmocka_unit_test(azimuth_by_the_book),
        cmocka_unit_test(south_mirrors_north),
        cmocka_unit_test(climates),
        cmocka_unit_test(height_clears_the_sky),
        cmocka_unit_test(hazes),
        cmocka_unit_test(clear_days),
        cmocka_unit_test(halved_minutes),
        cmocka_unit_test(minutes_against_the_closed_sum),
        cmocka_unit_test(scaling_a_day),
        cmocka_unit_test(broken_sun),
        cmocka_unit_test(shape_of_a_day),
        cmocka_unit_test(air_over_the_day),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
