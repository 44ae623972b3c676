#include "physics/conductor.h"

#include <math.h>
#include <stddef.h>

static const double mm2 = 1e-6; /* m2 */

/* Two areas within this are the same size, mm2. */
static const double same_mm2 = 1e-6;

/* Largest resistance at 20 degC, ohm/km, by nominal area.
 * IEC 60228:2004, tables 1 (solid), 2 (stranded) and 3 (flexible). */
static const struct {
    double area_mm2;
    double stranded, solid, flexible, flexible_tinned;
} nominal[] = {
    {0.5, 36.0, 36.0, 39.0, 40.1},      {0.75, 24.5, 24.5, 26.0, 26.7},
    {1.0, 18.1, 18.1, 19.5, 20.0},      {1.5, 12.1, 12.1, 13.3, 13.7},
    {2.5, 7.41, 7.41, 7.98, 8.21},      {4.0, 4.61, 4.61, 4.95, 5.09},
    {6.0, 3.08, 3.08, 3.30, 3.39},      {10.0, 1.83, 1.83, 1.91, 1.95},
    {16.0, 1.15, 1.15, 1.21, 1.24},     {25.0, 0.727, 0.727, 0.780, 0.795},
    {35.0, 0.524, 0.524, 0.554, 0.565}, {50.0, 0.387, 0.387, 0.386, 0.393},
    {70.0, 0.268, 0.268, 0.272, 0.277}, {95.0, 0.193, 0.193, 0.206, 0.210},
};

double conductor_gauge_diameter_m(double gauge)
{
    return 0.127e-3 * pow(92.0, (36.0 - gauge) / 39.0);
}

double conductor_gauge_area_m2(double gauge)
{
    double diameter_m = conductor_gauge_diameter_m(gauge);
    return acos(-1.0) / 4.0 * diameter_m * diameter_m;
}

int conductor_area_gauge(double area_m2)
{
    double diameter_m = sqrt(4.0 / acos(-1.0) * area_m2);
    double gauge = 36.0 - 39.0 * log(diameter_m / 0.127e-3) / log(92.0);
    /* Held to where wire is drawn, so that no area makes the conversion overflow. */
    int whole = (int)ceil(fmin(fmax(gauge, -100.0), 100.0) - 1e-3);
    while (conductor_gauge_area_m2(whole) > area_m2 + same_mm2 * mm2 && whole < 100)
        whole++;
    return whole;
}

double conductor_resistivity_ohm_m(enum conductor_metal metal)
{
    return metal == CONDUCTOR_ALUMINIUM ? 0.02826e-6 : 1e-6 / 58.0;
}

double conductor_coefficient_per_k(enum conductor_metal metal)
{
    return metal == CONDUCTOR_ALUMINIUM ? 0.00403 : 0.00393;
}

/* The row of that nominal area; -1 when the area is no nominal one. */
static int find_nominal(double area_m2)
{
    for (size_t i = 0; i < sizeof nominal / sizeof *nominal; i++)
        if (fabs(area_m2 / mm2 - nominal[i].area_mm2) <= same_mm2)
            return (int)i;
    return -1;
}

static double nominal_ohm_per_km(int row, const struct conductor_wire *wire)
{
    if (wire->panel_cable)
        return nominal[row].flexible_tinned;
    switch (wire->strands) {
    case CONDUCTOR_SOLID:
        return nominal[row].solid;
    case CONDUCTOR_FLEXIBLE:
        return nominal[row].flexible;
    case CONDUCTOR_STRANDED:
        break;
    }
    return nominal[row].stranded;
}

double conductor_r20_ohm_per_m(const struct conductor_wire *wire)
{
    if (!(wire->area_m2 > 0.0))
        return NAN;
    double plain = conductor_resistivity_ohm_m(wire->metal) / wire->area_m2;
    if (wire->metal == CONDUCTOR_ALUMINIUM)
        return plain;
    if (wire->gauged)
        return wire->strands == CONDUCTOR_SOLID ? plain : 1.02 * plain;
    int row = find_nominal(wire->area_m2);
    return row < 0 ? plain : 1e-3 * nominal_ohm_per_km(row, wire);
}

const char *conductor_r20_source(const struct conductor_wire *wire)
{
    if (wire->metal == CONDUCTOR_ALUMINIUM)
        return "resistivity of aluminium over area (IEC 60889)";
    if (wire->gauged)
        return wire->strands == CONDUCTOR_SOLID
                   ? "resistivity of copper over the gauge's area (ASTM B258, IEC 60028)"
                   : "resistivity of copper over the gauge's area (ASTM B258, IEC 60028), "
                     "2 % more for strands";
    if (find_nominal(wire->area_m2) < 0)
        return "resistivity of copper over area (IEC 60028)";
    if (wire->panel_cable)
        return "IEC 60228, tinned class 5";
    switch (wire->strands) {
    case CONDUCTOR_SOLID:
        return "IEC 60228, class 1";
    case CONDUCTOR_FLEXIBLE:
        return "IEC 60228, class 5";
    case CONDUCTOR_STRANDED:
        break;
    }
    return "IEC 60228, class 2";
}

double conductor_at_temperature(double r20, double coefficient_per_k, double wire_degc)
{
    return r20 * (1.0 + coefficient_per_k * (wire_degc - 20.0));
}

double conductor_loop_ohm(double r20_ohm_per_m, double length_m, double count)
{
    return 2.0 * length_m * r20_ohm_per_m / count;
}

double conductor_temperature_degc(const struct conductor_run *run, double current_a)
{
    double load = current_a / run->full_current_a;
    return run->air_degc + run->full_rise_k * load * load;
}

/* drop = linear I + cubic I^3: the warming makes the resistance grow with I^2. */
static void drop_terms(const struct conductor_run *run, double *linear_ohm,
                       double *cubic_ohm_per_a2)
{
    *linear_ohm = run->contacts_ohm +
                  conductor_at_temperature(run->r20_ohm, run->coefficient_per_k, run->air_degc);
    *cubic_ohm_per_a2 = run->r20_ohm * run->coefficient_per_k * run->full_rise_k /
                        (run->full_current_a * run->full_current_a);
}

double conductor_drop_v(const struct conductor_run *run, double current_a, double *slope_ohm)
{
    double linear, cubic;
    drop_terms(run, &linear, &cubic);
    double square = current_a * current_a;
    if (slope_ohm)
        *slope_ohm = linear + 3.0 * cubic * square;
    return current_a * (linear + cubic * square);
}

double conductor_current_a(const struct conductor_run *run, double drop_v, double *slope_s)
{
    double linear, cubic;
    drop_terms(run, &linear, &cubic);
    double current_a = drop_v / linear;
    if (cubic > 0.0) {
        /* The one real root of a cubic with two positive terms, through sinh 3x. */
        double scale = sqrt(3.0 * cubic / linear);
        double root = 2.0 / scale * sinh(asinh(1.5 * current_a * scale) / 3.0);
        if (isfinite(root))
            current_a = root;
    }
    double slope_ohm;
    double excess_v = conductor_drop_v(run, current_a, &slope_ohm) - drop_v;
    current_a -= excess_v / slope_ohm; /* takes off what sinh rounds */
    if (slope_s)
        *slope_s = 1.0 / (linear + 3.0 * cubic * current_a * current_a);
    return current_a;
}

double conductor_contact_ohm(enum conductor_contact contact, double rating_a)
{
    switch (contact) {
    case CONDUCTOR_CONTACT_FUSE:
        return rating_a > 0.0 ? 0.08 / rating_a : NAN;
    case CONDUCTOR_CONTACT_PLUG:
        return 0.5e-3;
    case CONDUCTOR_CONTACT_RELAY:
        return 30e-3;
    case CONDUCTOR_CONTACT_SWITCH:
        return 10e-3;
    }
    return NAN;
}
