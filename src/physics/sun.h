/* sun.h - where the sun stands, what it gives through a clear sky on any plane, and
 * how a day's sum is made to fit. Pure functions; knows nothing of panels or tanks.
 *
 * Angles are in degrees. Latitude and declination are positive north. The hour
 * angle is 15 (solar hour - 12): negative in the morning. The azimuth of the sun and
 * of planes is 0 south, positive west, negative east, as in the books;
 * sun_plane_facing() takes a compass bearing. Hours are solar time, 12 at the sun's
 * highest. Sun is in W/m2, sums in J/m2. A NAN in gives a NAN out.
 *
 * D&B stands for Duffie and Beckman, Solar Engineering of Thermal Processes. */
#ifndef RT_SUN_H
#define RT_SUN_H

/* ---- The day of the year ---- */

/* Day of the year that has the month's mean sun outside the air, 1 .. 365: 17, 47, 75 ... 344
 * for months 1 .. 12 (Klein; D&B table 1.6.1). Any other month means "not said": 80,
 * the equinox of March. */
int sun_mean_day(int month);

/* Declination from the day of the year, counted from 1. Cooper, in D&B eq. 1.6.1a:
 * within 1.2 degrees. Spencer, eq. 1.6.1b: within 0.5. */
double sun_declination_cooper_deg(double day);
double sun_declination_spencer_deg(double day);

/* Equation of time in minutes from the day of the year; D&B eq. 1.5.3 (Spencer). */
double sun_time_equation_min(double day);

/* Days from 2000-01-01 12:00 UT, with the fraction, of a date in the Gregorian
 * calendar; hour_ut may pass 0 .. 24. */
double sun_days_since_2000(int year, int month, int day, double hour_ut);

/* The low-precision sun of the Astronomical Almanac (from memory; it meets the published
 * reference position within 0.005 degrees). Argument as sun_days_since_2000 gives it. */
struct sun_almanac {
    double declination_deg;
    double time_equation_min; /* -720 .. 720 */
};
struct sun_almanac sun_almanac_at(double days);

/* Solar hour at a standard (not summer) time of the clock: clock + 4 min x (longitude
 * - 15 x zone) + equation of time; longitude and zone are positive east. D&B eq.
 * 1.5.2. And back. */
double sun_solar_hour(double clock_hour, double longitude_deg, double zone_h, double equation_min);
double sun_clock_hour(double solar_hour, double longitude_deg, double zone_h, double equation_min);

/* 15 (hour - 12). */
double sun_hour_angle_deg(double solar_hour);

/* ---- One day at one latitude ---- */

/* Make it with one of the functions below; it holds sines for speed. */
struct sun_day {
    double sin_latitude, cos_latitude;
    double sin_declination, cos_declination;
    double outside_w_m2; /* G_on: square to the sun, outside the air */
};

struct sun_day sun_day_of(double latitude_deg, double declination_deg, double outside_w_m2);

/* With Spencer's declination and 1367 W/m2, the constant of the published examples
 * (1361 is the newer value), times its yearly swing. */
struct sun_day sun_day_usual(double latitude_deg, int day);

/* 1367 (1 + 0.033 cos(360 n/365)); D&B eq. 1.4.1a. */
double sun_outside_w_m2(double day);

/* Cosine of the angle from the vertical; negative while the sun is down. D&B eq. 1.6.5. */
double sun_cos_zenith(const struct sun_day *day, double hour_angle_deg);

/* Azimuth of the sun, -180 .. 180; D&B eq. 1.6.6, written with both its sine and
 * cosine, so that nothing is divided by. Straight overhead, where it has no
 * meaning, any number may come; at a pole it is the hour angle. */
double sun_azimuth_deg(const struct sun_day *day, double hour_angle_deg);

/* Hour angle of sunset, 0 .. 180: 0 when the sun does not rise, 180 when it does not
 * set. horizon_deg is where its centre sets: 0 as in the books, -0.833 as in almanacs.
 * D&B eq. 1.6.10. */
double sun_sunset_deg(const struct sun_day *day, double horizon_deg);

/* Hours from sunrise to sunset: 2/15 of the above. */
double sun_day_length_h(const struct sun_day *day, double horizon_deg);

/* Sum on the flat outside the air over the day, J/m2: H_0, D&B eq. 1.10.3. */
double sun_outside_day_j_m2(const struct sun_day *day);

/* The same between two hour angles, of which only the part between sunrise and sunset
 * counts: I_0, D&B eq. 1.10.4. */
double sun_outside_between_j_m2(const struct sun_day *day, double from_deg, double to_deg);

/* ---- A plane ---- */

struct sun_plane {
    double slope_deg;   /* 0 lies flat, 90 stands upright */
    double azimuth_deg; /* which way it looks: 0 south, west positive */
};

/* From a compass bearing: 0 north, 90 east, 180 south. */
struct sun_plane sun_plane_facing(double slope_deg, double compass_deg);

/* Where nothing is said: the slope is the latitude, towards the equator. */
struct sun_plane sun_plane_assumed(double latitude_deg);

/* Cosine of the angle between the sun and the plane's normal; negative when the sun is
 * behind it. D&B eq. 1.6.2. */
double sun_cos_incidence(const struct sun_day *day, struct sun_plane plane, double hour_angle_deg);

/* Sun's height as seen along the plane's own direction: atan(tan(altitude)/cos(azimuth
 * of the sun - of the plane)), -90 .. 90; D&B eq. 1.6.12. What shades a row or
 * an eave is drawn with it. */
double sun_profile_deg(const struct sun_day *day, double plane_azimuth_deg, double hour_angle_deg);

/* ---- The clear sky ---- */

enum sun_climate {
    SUN_TROPICAL,
    SUN_MIDLATITUDE_SUMMER,
    SUN_SUBARCTIC_SUMMER,
    SUN_MIDLATITUDE_WINTER
};

/* Nearer the equator than 23.5 degrees tropical; else summer from April to September in
 * the north and the other half of the year in the south, winter for the rest. A month outside
 * 1 .. 12 counts as March, the month of sun_mean_day's 80. The bounds are our own. */
enum sun_climate sun_climate_of(double latitude_deg, int month);

/* Constants of Hottel's clear sky at 23 km visibility. */
struct sun_haze {
    double a0, a1, k;
};

/* altitude_m is held to 0 .. 2500. H. C. Hottel, Solar Energy 18 (1976) 129-134; D&B eq.
 * 2.8.1 to 2.8.4. A usual clear day: 9 % (overhead) to 25 % (10 degrees up) below a
 * very clean one at sea level, 0 to 6 % at 1.5 km, computed with the clear-sky model of
 * R. E. Bird and R. L. Hulstrom (SERI/TR-642-761, 1981). */
struct sun_haze sun_haze_of(enum sun_climate climate, double altitude_m);

/* Share of the beam that comes through: a0 + a1 exp(-k/cos). 0 while the sun is down. */
double sun_beam_share(const struct sun_haze *haze, double cos_zenith);

struct sun_sky {
    double cos_zenith;
    double beam_w_m2;    /* square to the sun */
    double diffuse_w_m2; /* on the flat */
    double total_w_m2;   /* on the flat */
};

/* Beam by Hottel, diffuse G_on cos (0.271 - 0.294 tau_b) by B. Y. H. Liu and R. C. Jordan,
 * Solar Energy 4 (1960) 1-19. All 0 while the sun is down. */
struct sun_sky sun_clear_sky(const struct sun_day *day, const struct sun_haze *haze,
                             double hour_angle_deg);

/* Share of what lies on ordinary ground that it throws back; snow 0.6 to 0.7. */
#define SUN_GROUND 0.2

/* What a plane gets from a sky that is equally bright everywhere: beam max(0, cos theta)
 * + diffuse (1 + cos slope)/2 + total x ground (1 - cos slope)/2. D&B eq. 2.15.1. No
 * reflection at the plane's own glass. */
double sun_on_plane_w_m2(const struct sun_sky *sky, double cos_incidence, double slope_deg,
                         double ground);

/* cos theta/cos theta_z, the plane's share of beam over the flat's, for hourly sums; 0
 * when the sun is down or behind the plane. It grows without bound towards sunrise:
 * take it at mid-hour. D&B eq. 1.8.1. */
double sun_beam_ratio(const struct sun_day *day, struct sun_plane plane, double hour_angle_deg);

/* ---- A whole day, minute by minute ---- */

enum { SUN_MINUTES = 1440 };

/* Clear sun on the plane at the middles of the minutes, solar time 0.5, 1.5 .. 1439.5 min
 * from midnight, and their sum in J/m2, each standing for 60 s. w_m2 may be NULL. Some 40 us. */
double sun_clear_day(const struct sun_day *day, const struct sun_haze *haze, struct sun_plane plane,
                     double ground, double w_m2[SUN_MINUTES]);

/* What to multiply all of a clear day by so that a plane's sum becomes the wanted one; both
 * in J/m2. May be above 1. 0 on a day without sun. For a wanted clearness K_T: wanted is
 * K_T sun_outside_day_j_m2(), clear is that of the plane {0, 0}. */
double sun_scale(double wanted_j_m2, double clear_j_m2);

/* Passing clouds as a square wave that keeps the sum: 1/(1 - share) in the clear part, which
 * comes first from midnight on, 0 under cloud. share of the time clouded, 0 .. 1; at 1 all
 * is 0. period_min above 0. Common practice, no source. */
double sun_broken(double minute, double share, double period_min);

/* Share of an average day's total in the hour around an hour angle: M. Collares-Pereira
 * and A. Rabl, Solar Energy 22 (1979) 155-164, from memory; D&B eq. 2.13.2. 0 outside
 * sunset_deg (as sun_sunset_deg gives it). */
double sun_hour_share(double hour_angle_deg, double sunset_deg);

/* Air over the day, degC: a cosine between its lowest and highest, highest at 15:00.
 * Common practice, no source. */
double sun_air_degc(double low_degc, double high_degc, double solar_hour);

#endif
