/* day_sky.c - the sun on every plane of a rig and the air, step by step. */
#include <math.h>

#include "solve/condition.h"
#include "solve/day.h"

struct weather_of_day {
    struct sun_day day;
    struct sun_haze haze;
    double share, period_min; /* of passing clouds */
};

/* An angle of a part in degrees; values are held in radians. */
static double degrees(const struct part *part, const char *attribute)
{
    return part_number(part, attribute) * (180.0 / acos(-1.0));
}

/* Not given: sloped by the latitude, towards the equator. */
static struct sun_plane plane_of(const struct part *part, double latitude_deg)
{
    struct sun_plane plane = sun_plane_assumed(latitude_deg);
    double slope = degrees(part, "tilt"), compass = degrees(part, "azimuth");
    if (!isnan(slope))
        plane.slope_deg = slope;
    return isnan(compass) ? plane : sun_plane_facing(plane.slope_deg, compass);
}

/* Clear sun on a plane by step. At steps of a minute those are the minutes of sun_clear_day(). */
static void clear_plane(const struct day_sky *sky, const struct weather_of_day *weather,
                        struct sun_plane plane, double *out)
{
    if (sky->steps == SUN_MINUTES) {
        sun_clear_day(&weather->day, &weather->haze, plane, SUN_GROUND, out);
        return;
    }
    for (size_t i = 0; i < sky->steps; i++) {
        double angle = sun_hour_angle_deg(((double)i + 0.5) * sky->step_s / 3600.0);
        struct sun_sky clear = sun_clear_sky(&weather->day, &weather->haze, angle);
        out[i] = sun_on_plane_w_m2(&clear, sun_cos_incidence(&weather->day, plane, angle),
                                   plane.slope_deg, SUN_GROUND);
    }
}

/* A plane before this one that lies alike lends its sun. */
static void light_plane(const struct day_sky *sky, const struct weather_of_day *weather,
                        const struct sun_plane *lies, size_t index)
{
    struct day_plane *out = &sky->planes[index];
    for (size_t k = 0; k < index; k++)
        if (lies[k].slope_deg == lies[index].slope_deg &&
            lies[k].azimuth_deg == lies[index].azimuth_deg) {
            out->clear = sky->planes[k].clear;
            out->sun = sky->planes[k].sun;
            return;
        }
    clear_plane(sky, weather, lies[index], out->clear);
    for (size_t i = 0; i < sky->steps; i++) {
        double minute = ((double)i + 0.5) * sky->step_s / 60.0;
        out->clear[i] *= sky->factor;
        out->sun[i] = out->clear[i];
        if (weather->share > 0.0)
            out->sun[i] *= sun_broken(minute, weather->share, weather->period_min);
    }
}

/* What the clear day is multiplied by: to the site's sum on the plane of the first panel (else
 * coil), else to its clearness on the flat. NAN: neither is given. */
static double factor_of(const struct part *site, const struct weather_of_day *weather,
                        struct sun_plane plane)
{
    double sum = part_number(site, "sun");
    if (!isnan(sum))
        return sun_scale(sum,
                         sun_clear_day(&weather->day, &weather->haze, plane, SUN_GROUND, NULL));
    double flat = sun_clear_day(&weather->day, &weather->haze, (struct sun_plane){0.0, 0.0},
                                SUN_GROUND, NULL);
    return sun_scale(part_number(site, "clearness") * sun_outside_day_j_m2(&weather->day), flat);
}

static bool is_kind(const struct rig *rig, size_t part, const char *kind)
{
    return kind_is(rig->parts[part].kind, kind);
}

/* Does anything lie in the sun? */
static bool has_planes(const struct rig *rig)
{
    for (size_t i = 0; i < rig->part_count; i++)
        if ((is_kind(rig, i, "panel") || is_kind(rig, i, "coil")) && !part_is_spare(&rig->parts[i]))
            return true;
    return false;
}

static bool add_plane(struct day_sky *sky, struct arena *arena, size_t part)
{
    struct day_plane plane = {part, ARENA_TAKE(arena, sky->steps, double),
                              ARENA_TAKE(arena, sky->steps, double)};
    sky->planes[sky->plane_count++] = plane;
    return plane.clear && plane.sun;
}

static bool find_planes(const struct rig *rig, struct arena *arena, struct day_sky *sky)
{
    size_t coils = 0;
    sky->panel = NONE;
    for (size_t i = 0; i < rig->part_count; i++)
        coils += is_kind(rig, i, "coil");
    sky->planes = ARENA_TAKE(arena, coils + 1, struct day_plane);
    if (!sky->planes)
        return false;
    for (size_t i = 0; i < rig->part_count && sky->panel == NONE; i++)
        if (is_kind(rig, i, "panel") && !part_is_spare(&rig->parts[i])) {
            sky->panel = 0;
            if (!add_plane(sky, arena, i))
                return false;
        }
    for (size_t i = 0; i < rig->part_count; i++)
        if (is_kind(rig, i, "coil") && !part_is_spare(&rig->parts[i]) && !add_plane(sky, arena, i))
            return false;
    return true;
}

static void air_and_sun(const struct rig *rig, const struct weather_of_day *weather, bool placed,
                        struct day_sky *sky)
{
    struct weather range = condition_weather(rig);
    for (size_t i = 0; i < sky->steps; i++) {
        double hour = ((double)i + 0.5) * sky->step_s / 3600.0;
        sky->air_degc[i] = sun_air_degc(range.air_low, range.air_high, hour);
        sky->up[i] = placed ? sun_cos_zenith(&weather->day, sun_hour_angle_deg(hour)) > 0.0
                            : fabs(hour - 12.0) < 6.0;
    }
}

enum outcome day_sky_make(const struct rig *rig, struct arena *arena, double step_s,
                          struct day_sky *out)
{
    const struct part *site = &rig->parts[rig->site];
    double latitude = degrees(site, "latitude");
    double month = part_number(site, "month");
    struct weather_of_day weather = {.share = part_number_or(site, "broken", 0.0),
                                     .period_min = part_number(site, "cloud_period") / 60.0};
    *out = (struct day_sky){
        .step_s = step_s, .steps = (size_t)(86400.0 / step_s + 0.5), .length_h = NAN};
    if (isnan(latitude) && has_planes(rig))
        return OUTCOME_OK; /* nothing can be known: no need to go through the day */
    out->air_degc = ARENA_TAKE(arena, out->steps, double);
    out->up = ARENA_TAKE(arena, out->steps, bool);
    if (!out->air_degc || !out->up || !find_planes(rig, arena, out))
        return OUTCOME_NO_MEMORY;
    if (!isnan(latitude)) {
        int month_number = isnan(month) ? 0 : (int)month;
        weather.day = sun_day_usual(latitude, sun_mean_day(month_number));
        weather.haze = sun_haze_of(sun_climate_of(latitude, month_number),
                                   part_number_or(site, "altitude", 0.0));
        out->length_h = sun_day_length_h(&weather.day, 0.0);
    }
    air_and_sun(rig, &weather, !isnan(latitude), out);
    if (!out->plane_count) {
        out->known = true; /* nothing in it lies in the sun */
        return OUTCOME_OK;
    }
    struct sun_plane *lies = ARENA_TAKE(arena, out->plane_count, struct sun_plane);
    if (!lies)
        return OUTCOME_NO_MEMORY;
    for (size_t i = 0; i < out->plane_count; i++)
        lies[i] = plane_of(&rig->parts[out->planes[i].part], latitude);
    out->factor = factor_of(site, &weather, lies[0]);
    if (isnan(out->factor))
        return OUTCOME_OK;
    out->known = true;
    for (size_t i = 0; i < out->plane_count; i++)
        light_plane(out, &weather, lies, i);
    for (size_t i = 0; i < out->steps; i++) {
        out->sum_j_m2 += out->planes[0].sun[i] * step_s;
        if (out->panel != NONE)
            out->top = fmax(out->top, out->planes[out->panel].sun[i]);
    }
    return OUTCOME_OK;
}

size_t day_sky_plane_of(const struct day_sky *sky, size_t part)
{
    for (size_t i = 0; i < sky->plane_count; i++)
        if (sky->planes[i].part == part)
            return i;
    return sky->plane_count ? 0 : NONE;
}
