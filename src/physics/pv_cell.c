/* pv_cell.c - one module's equation, solved in the junction voltage x = V + I R_s:
 *     I(x) = I_L - I_o (exp(x/a) - 1) - x/R_sh
 *     V(x) = x - I(x) R_s
 *     g(x) = -dI/dx = I_o/a exp(x/a) + 1/R_sh
 * Each function solved below rises and bends upwards, so that Newton's way down from an upper bound
 * goes straight to its only zero. */
#include "physics/pv.h"

#include "physics/root.h"

#include <math.h>
#include <stddef.h>

/* exp of more would overflow. */
static const double exponent_max = 700.0;

struct junction {
    double amps;  /* delivered, A */
    double slope; /* g, S */
    double bend;  /* dg/dx, S/V */
};

/* expm1, by the much quicker exp where taking 1 away loses nothing. */
static double grown_by(double exponent)
{
    return exponent > 1.0 ? exp(fmin(exponent, exponent_max)) - 1.0 : expm1(exponent);
}

static struct junction junction_at(const struct pv_cell *cell, double x)
{
    double per_volt = 1.0 / cell->ideality_v;
    double grown = grown_by(x * per_volt);
    double diode = cell->saturation_a * per_volt * (grown + 1.0);
    return (struct junction){
        .amps = cell->light_current_a - cell->saturation_a * grown - x * cell->shunt_siemens,
        .slope = diode + cell->shunt_siemens,
        .bend = diode * per_volt,
    };
}

/* The junction voltage at which the diode alone takes `amps` > 0, V. */
static double diode_voltage(const struct pv_cell *cell, double amps)
{
    double share = amps / cell->saturation_a;
    return cell->ideality_v * fmin(share > 1.0 ? log(1.0 + share) : log1p(share), exponent_max);
}

struct wanted {
    const struct pv_cell *cell;
    double at; /* V or A */
};

/* By Halley's step: Newton's, with the bend taken in. The function is an exponential on a straight
 * line, of which Newton's first steps down see only the exponential. */
static double excess_volts(double x, const void *with, double *slope)
{
    const struct wanted *wanted = with;
    double series = wanted->cell->series_ohm;
    struct junction junction = junction_at(wanted->cell, x);
    double value = x - junction.amps * series - wanted->at;
    double rise = 1.0 + junction.slope * series;
    *slope = rise - 0.5 * value * junction.bend * series / rise;
    return value;
}

static double junction_at_volts(const struct pv_cell *cell, double volts, double near)
{
    if (!(cell->series_ohm > 0.0))
        return volts;
    struct wanted wanted = {cell, volts};
    /* The junction's voltage if nothing were lost in diode and shunt. */
    double ideal = volts + cell->light_current_a * cell->series_ohm;
    double start = ideal / (1.0 + cell->series_ohm * cell->shunt_siemens);
    if (ideal <= 0.0)
        return root_newton(excess_volts, &wanted, ideal, 0.0, start, cell->ideality_v);
    if (near > 0.0 && near < start)
        return root_newton(excess_volts, &wanted, 0.0, start, near, cell->ideality_v);
    double high = fmin(start, diode_voltage(cell, ideal / cell->series_ohm));
    return root_newton(excess_volts, &wanted, 0.0, high, high, cell->ideality_v);
}

double pv_current_near(const struct pv_cell *cell, double volts, double *junction_v, double *slope)
{
    *junction_v = junction_at_volts(cell, volts, *junction_v);
    struct junction junction = junction_at(cell, *junction_v);
    if (slope)
        *slope = -junction.slope / (1.0 + junction.slope * cell->series_ohm);
    return junction.amps;
}

double pv_current(const struct pv_cell *cell, double volts, double *slope)
{
    double unknown = 0.0;
    return pv_current_near(cell, volts, &unknown, slope);
}

static double excess_loss(double x, const void *with, double *slope)
{
    const struct wanted *wanted = with;
    struct junction junction = junction_at(wanted->cell, x);
    *slope = junction.slope;
    return wanted->at - junction.amps;
}

double pv_voltage(const struct pv_cell *cell, double amps)
{
    struct wanted wanted = {cell, amps};
    double lost = cell->light_current_a - amps; /* in diode and shunt, A */
    double shunt = lost / cell->shunt_siemens;  /* V if the shunt took it all */
    if (lost == 0.0)
        shunt = 0.0;
    double x;
    if (isnan(lost))
        return lost;
    if (lost >= 0.0) {
        double high = fmin(diode_voltage(cell, lost), shunt);
        x = root_newton(excess_loss, &wanted, 0.0, high, high, cell->ideality_v);
    } else {
        double diode = lost > -cell->saturation_a ? diode_voltage(cell, lost) : -INFINITY;
        double low = fmax(diode, shunt);
        if (isinf(low))
            return low;
        x = root_newton(excess_loss, &wanted, low, 0.0, low, cell->ideality_v);
    }
    return x - amps * cell->series_ohm;
}

double pv_open_voltage(const struct pv_cell *cell)
{
    return pv_voltage(cell, 0.0);
}

double pv_short_current(const struct pv_cell *cell)
{
    return pv_current(cell, 0.0, NULL);
}

/* Minus dP/dx times dx/dV, which rises through 0 at maximum power. */
static double excess_slope(double x, const void *with, double *slope)
{
    const struct pv_cell *cell = with;
    struct junction j = junction_at(cell, x);
    double inner = x - 2.0 * j.amps * cell->series_ohm;
    *slope = j.bend * inner + j.slope * (2.0 + 2.0 * j.slope * cell->series_ohm);
    return j.slope * inner - j.amps;
}

struct pv_point pv_max_power(const struct pv_cell *cell)
{
    if (cell->light_current_a <= 0.0)
        return (struct pv_point){0.0, 0.0, 0.0};
    double high = diode_voltage(cell, cell->light_current_a);
    if (cell->shunt_siemens > 0.0)
        high = fmin(high, cell->light_current_a / cell->shunt_siemens);
    /* Where an exponential alone would have its best power. */
    double start = high - cell->ideality_v * log1p(high / cell->ideality_v);
    double x = root_newton(excess_slope, cell, 0.0, high, start, cell->ideality_v);
    double amps = junction_at(cell, x).amps;
    double volts = x - amps * cell->series_ohm;
    return (struct pv_point){volts, amps, volts * amps};
}

struct pv_cell pv_translate(const struct pv_fit *fit, double sun_w_m2, double cell_degc)
{
    static const double boltzmann_ev_per_k = 8.617333262e-5; /* CODATA 2018 */
    static const double reference_k = 298.15;
    double kelvin = cell_degc + 273.15;
    double warmer = kelvin - reference_k;
    double share = sun_w_m2 < 1.0 ? 0.0 : sun_w_m2 / 1000.0;
    double ratio = kelvin / reference_k;
    double gap_ev = fit->gap_ev * (1.0 - 0.0002677 * warmer);
    double exponent = (fit->gap_ev / reference_k - gap_ev / kelvin) / boltzmann_ev_per_k;
    double light = fit->cell.light_current_a + fit->isc_a_per_k * warmer;
    return (struct pv_cell){
        .light_current_a = share * (light < 0.0 ? 0.0 : light),
        .saturation_a = fit->cell.saturation_a * ratio * ratio * ratio * exp(exponent),
        .ideality_v = fit->cell.ideality_v * ratio,
        .series_ohm = fit->cell.series_ohm,
        .shunt_siemens = fit->cell.shunt_siemens * share,
    };
}
