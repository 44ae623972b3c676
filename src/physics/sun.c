#include "physics/sun.h"

#include <math.h>
#include <stdbool.h>
#include <stddef.h>

static const double pi = 3.14159265358979323846;
static const double solar_constant_w_m2 = 1367.0; /* World Radiation Center, as in D&B */

static double radians(double degrees)
{
    return degrees * (pi / 180.0);
}

static double degrees(double angle)
{
    return angle * (180.0 / pi);
}

static double sin_deg(double angle)
{
    return sin(radians(angle));
}

static double cos_deg(double angle)
{
    return cos(radians(angle));
}

/* ---- The day of the year ---- */

int sun_mean_day(int month)
{
    static const int day[12] = {17, 47, 75, 105, 135, 162, 198, 228, 258, 288, 318, 344};
    return month >= 1 && month <= 12 ? day[month - 1] : 80;
}

double sun_declination_cooper_deg(double day)
{
    return 23.45 * sin_deg(360.0 * (284.0 + day) / 365.0);
}

double sun_declination_spencer_deg(double day)
{
    double b = radians((day - 1.0) * 360.0 / 365.0);
    return degrees(0.006918 - 0.399912 * cos(b) + 0.070257 * sin(b) - 0.006758 * cos(2.0 * b) +
                   0.000907 * sin(2.0 * b) - 0.002697 * cos(3.0 * b) + 0.00148 * sin(3.0 * b));
}

double sun_time_equation_min(double day)
{
    double b = radians((day - 1.0) * 360.0 / 365.0);
    return 229.2 * (0.000075 + 0.001868 * cos(b) - 0.032077 * sin(b) - 0.014615 * cos(2.0 * b) -
                    0.04089 * sin(2.0 * b));
}

/* Whole days of the Gregorian calendar, by years that begin in March, so that the day that
 * comes and goes is the last. 730425 brings 2000-01-01 to 0. */
double sun_days_since_2000(int year, int month, int day, double hour_ut)
{
    double y = month > 2 ? year : year - 1.0;
    double m = month > 2 ? month - 3.0 : month + 9.0;
    double whole = 365.0 * y + floor(y / 4.0) - floor(y / 100.0) + floor(y / 400.0) +
                   floor((153.0 * m + 2.0) / 5.0) + day - 1.0;
    return whole - 730425.0 + (hour_ut - 12.0) / 24.0;
}

struct sun_almanac sun_almanac_at(double days)
{
    double anomaly = 357.529 + 0.98560028 * days;
    double mean = 280.459 + 0.98564736 * days;
    double longitude = mean + 1.915 * sin_deg(anomaly) + 0.020 * sin_deg(2.0 * anomaly);
    double tilt = 23.439 - 0.00000036 * days;
    double ascension = degrees(atan2(cos_deg(tilt) * sin_deg(longitude), cos_deg(longitude)));
    return (struct sun_almanac){
        .declination_deg = degrees(asin(sin_deg(tilt) * sin_deg(longitude))),
        .time_equation_min = 4.0 * remainder(mean - ascension, 360.0),
    };
}

double sun_solar_hour(double clock_hour, double longitude_deg, double zone_h, double equation_min)
{
    return clock_hour + (4.0 * (longitude_deg - 15.0 * zone_h) + equation_min) / 60.0;
}

double sun_clock_hour(double solar_hour, double longitude_deg, double zone_h, double equation_min)
{
    return solar_hour - (4.0 * (longitude_deg - 15.0 * zone_h) + equation_min) / 60.0;
}

double sun_hour_angle_deg(double solar_hour)
{
    return 15.0 * (solar_hour - 12.0);
}

/* ---- One day at one latitude ---- */

struct sun_day sun_day_of(double latitude_deg, double declination_deg, double outside_w_m2)
{
    return (struct sun_day){
        .sin_latitude = sin_deg(latitude_deg),
        .cos_latitude = cos_deg(latitude_deg),
        .sin_declination = sin_deg(declination_deg),
        .cos_declination = cos_deg(declination_deg),
        .outside_w_m2 = outside_w_m2,
    };
}

struct sun_day sun_day_usual(double latitude_deg, int day)
{
    return sun_day_of(latitude_deg, sun_declination_spencer_deg(day), sun_outside_w_m2(day));
}

double sun_outside_w_m2(double day)
{
    return solar_constant_w_m2 * (1.0 + 0.033 * cos_deg(360.0 * day / 365.0));
}

/* sin(latitude) sin(declination): the part that does not turn with the hour. */
static double steady(const struct sun_day *day)
{
    return day->sin_latitude * day->sin_declination;
}

static double turning(const struct sun_day *day)
{
    return day->cos_latitude * day->cos_declination;
}

double sun_cos_zenith(const struct sun_day *day, double hour_angle_deg)
{
    return turning(day) * cos_deg(hour_angle_deg) + steady(day);
}

double sun_azimuth_deg(const struct sun_day *day, double hour_angle_deg)
{
    double west = day->cos_declination * sin_deg(hour_angle_deg);
    double south = day->sin_latitude * day->cos_declination * cos_deg(hour_angle_deg) -
                   day->cos_latitude * day->sin_declination;
    return degrees(atan2(west, south));
}

/* At a pole `turning` is 0 or a rounding error and the sun's height does not change: the
 * comparisons hold without dividing by it. */
double sun_sunset_deg(const struct sun_day *day, double horizon_deg)
{
    double over = sin_deg(horizon_deg) - steady(day);
    double swing = turning(day);
    if (over >= swing)
        return 0.0;
    if (over <= -swing)
        return 180.0;
    return degrees(acos(over / swing));
}

double sun_day_length_h(const struct sun_day *day, double horizon_deg)
{
    return 2.0 * sun_sunset_deg(day, horizon_deg) / 15.0;
}

double sun_outside_between_j_m2(const struct sun_day *day, double from_deg, double to_deg)
{
    double sunset = sun_sunset_deg(day, 0.0);
    double from = from_deg < -sunset ? -sunset : from_deg;
    double to = to_deg > sunset ? sunset : to_deg;
    if (from >= to)
        return 0.0;
    return 12.0 * 3600.0 / pi * day->outside_w_m2 *
           (turning(day) * (sin_deg(to) - sin_deg(from)) + radians(to - from) * steady(day));
}

double sun_outside_day_j_m2(const struct sun_day *day)
{
    return sun_outside_between_j_m2(day, -180.0, 180.0);
}

/* ---- A plane ---- */

struct sun_plane sun_plane_facing(double slope_deg, double compass_deg)
{
    return (struct sun_plane){slope_deg, compass_deg - 180.0};
}

struct sun_plane sun_plane_assumed(double latitude_deg)
{
    return sun_plane_facing(fabs(latitude_deg), latitude_deg < 0.0 ? 0.0 : 180.0);
}

/* The cosine of incidence is steady + cosine cos(hour angle) + sine sin(hour angle). */
struct course {
    double steady, cosine, sine;
};

static struct course course_over(const struct sun_day *day, struct sun_plane plane)
{
    double cos_slope = cos_deg(plane.slope_deg), sin_slope = sin_deg(plane.slope_deg);
    double south = sin_slope * cos_deg(plane.azimuth_deg);
    double west = sin_slope * sin_deg(plane.azimuth_deg);
    return (struct course){
        .steady =
            day->sin_declination * (day->sin_latitude * cos_slope - day->cos_latitude * south),
        .cosine =
            day->cos_declination * (day->cos_latitude * cos_slope + day->sin_latitude * south),
        .sine = day->cos_declination * west,
    };
}

double sun_cos_incidence(const struct sun_day *day, struct sun_plane plane, double hour_angle_deg)
{
    struct course course = course_over(day, plane);
    return course.steady + course.cosine * cos_deg(hour_angle_deg) +
           course.sine * sin_deg(hour_angle_deg);
}

double sun_profile_deg(const struct sun_day *day, double plane_azimuth_deg, double hour_angle_deg)
{
    double up = sun_cos_zenith(day, hour_angle_deg);
    double flat = sqrt(fmax(0.0, 1.0 - up * up));
    double before = flat * cos_deg(sun_azimuth_deg(day, hour_angle_deg) - plane_azimuth_deg);
    return before == 0.0 ? 90.0 : degrees(atan(up / before));
}

/* ---- The clear sky ---- */

enum sun_climate sun_climate_of(double latitude_deg, int month)
{
    if (fabs(latitude_deg) < 23.5)
        return SUN_TROPICAL;
    bool northern_summer = month >= 4 && month <= 9;
    return northern_summer == (latitude_deg > 0.0) ? SUN_MIDLATITUDE_SUMMER
                                                   : SUN_MIDLATITUDE_WINTER;
}

struct sun_haze sun_haze_of(enum sun_climate climate, double altitude_m)
{
    static const struct sun_haze factor[] = {
        [SUN_TROPICAL] = {0.95, 0.98, 1.02},
        [SUN_MIDLATITUDE_SUMMER] = {0.97, 0.99, 1.02},
        [SUN_SUBARCTIC_SUMMER] = {0.99, 0.99, 1.01},
        [SUN_MIDLATITUDE_WINTER] = {1.03, 1.01, 1.00},
    };
    double km = isnan(altitude_m) ? altitude_m : fmin(fmax(altitude_m * 1e-3, 0.0), 2.5);
    return (struct sun_haze){
        .a0 = factor[climate].a0 * (0.4237 - 0.00821 * (6.0 - km) * (6.0 - km)),
        .a1 = factor[climate].a1 * (0.5055 + 0.00595 * (6.5 - km) * (6.5 - km)),
        .k = factor[climate].k * (0.2711 + 0.01858 * (2.5 - km) * (2.5 - km)),
    };
}

double sun_beam_share(const struct sun_haze *haze, double cos_zenith)
{
    if (cos_zenith <= 0.0)
        return 0.0;
    return haze->a0 + haze->a1 * exp(-haze->k / cos_zenith);
}

static struct sun_sky sky_at(double outside_w_m2, const struct sun_haze *haze, double cos_zenith)
{
    if (cos_zenith <= 0.0)
        return (struct sun_sky){.cos_zenith = cos_zenith};
    double share = sun_beam_share(haze, cos_zenith);
    double beam = outside_w_m2 * share;
    double diffuse = outside_w_m2 * cos_zenith * (0.271 - 0.294 * share);
    return (struct sun_sky){cos_zenith, beam, diffuse, beam * cos_zenith + diffuse};
}

struct sun_sky sun_clear_sky(const struct sun_day *day, const struct sun_haze *haze,
                             double hour_angle_deg)
{
    return sky_at(day->outside_w_m2, haze, sun_cos_zenith(day, hour_angle_deg));
}

static double on_plane(const struct sun_sky *sky, double cos_incidence, double cos_slope,
                       double ground)
{
    double beam = cos_incidence <= 0.0 ? 0.0 : sky->beam_w_m2 * cos_incidence;
    return beam + sky->diffuse_w_m2 * (1.0 + cos_slope) / 2.0 +
           sky->total_w_m2 * ground * (1.0 - cos_slope) / 2.0;
}

double sun_on_plane_w_m2(const struct sun_sky *sky, double cos_incidence, double slope_deg,
                         double ground)
{
    return on_plane(sky, cos_incidence, cos_deg(slope_deg), ground);
}

double sun_beam_ratio(const struct sun_day *day, struct sun_plane plane, double hour_angle_deg)
{
    double flat = sun_cos_zenith(day, hour_angle_deg);
    double plane_cos = sun_cos_incidence(day, plane, hour_angle_deg);
    return flat <= 0.0 || plane_cos <= 0.0 ? 0.0 : plane_cos / flat;
}

/* ---- A whole day, minute by minute ---- */

double sun_clear_day(const struct sun_day *day, const struct sun_haze *haze, struct sun_plane plane,
                     double ground, double w_m2[SUN_MINUTES])
{
    struct course course = course_over(day, plane);
    double cos_slope = cos_deg(plane.slope_deg);
    double still = steady(day), swing = turning(day);
    double sum = 0.0;
    for (int minute = 0; minute < SUN_MINUTES; minute++) {
        double angle = radians(sun_hour_angle_deg((minute + 0.5) / 60.0));
        double cosine = cos(angle);
        struct sun_sky sky = sky_at(day->outside_w_m2, haze, swing * cosine + still);
        double incidence = course.steady + course.cosine * cosine + course.sine * sin(angle);
        double sun = on_plane(&sky, incidence, cos_slope, ground);
        if (w_m2)
            w_m2[minute] = sun;
        sum += sun * 60.0;
    }
    return sum;
}

double sun_scale(double wanted_j_m2, double clear_j_m2)
{
    return clear_j_m2 <= 0.0 ? 0.0 : wanted_j_m2 / clear_j_m2;
}

double sun_broken(double minute, double share, double period_min)
{
    if (share >= 1.0)
        return 0.0;
    double place = minute - period_min * floor(minute / period_min);
    return place >= (1.0 - share) * period_min ? 0.0 : 1.0 / (1.0 - share);
}

double sun_hour_share(double hour_angle_deg, double sunset_deg)
{
    if (fabs(hour_angle_deg) >= sunset_deg)
        return 0.0;
    double a = 0.409 + 0.5016 * sin_deg(sunset_deg - 60.0);
    double b = 0.6609 - 0.4767 * sin_deg(sunset_deg - 60.0);
    double cos_sunset = cos_deg(sunset_deg), cos_hour = cos_deg(hour_angle_deg);
    return pi / 24.0 * (a + b * cos_hour) * (cos_hour - cos_sunset) /
           (sin_deg(sunset_deg) - radians(sunset_deg) * cos_sunset);
}

double sun_air_degc(double low_degc, double high_degc, double solar_hour)
{
    return 0.5 * (low_degc + high_degc) +
           0.5 * (high_degc - low_degc) * cos_deg(15.0 * (solar_hour - 15.0));
}
