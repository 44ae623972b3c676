/* pv_fit.c - five parameters from four figures and a temperature coefficient.
 *
 * For a trial a and R_s put E = exp(-y/a), y = voc - vmp - imp R_s. The curve through
 * (0, isc), (vmp, imp), (voc, 0) is linear in J = I_o exp(voc/a) and G = 1/R_sh:
 *     isc = J (1 - e_sc) + G w          e_sc = exp(-w/a), w = voc - isc R_s
 *     imp = J (1 - E) + G y
 * and power is at its best at (vmp, imp) when, with z = vmp - imp R_s,
 *     r = (J E/a + G) z - imp = 0
 * Cleared of its denominator, which is negative everywhere, r has the sign of
 *     E (K - N z/a) - (K + (1 - e_sc) imp (2 vmp - voc))
 *     N = isc (voc - vmp) - imp voc      K = imp voc - isc vmp
 * whose two parts' logarithms are almost straight in R_s: one root, a few Newton steps.
 * Two-variable reduction after Laudani et al., Solar Energy 103 (2014), from memory. */
#include "physics/pv_fit.h"

#include "physics/root.h"

#include <math.h>
#include <stddef.h>

/* How far the short current may be lifted, and where a is looked for, as shares of voc. */
static const double factor_max = 1.06;
static const double ideality_low = 0.015, ideality_high = 0.075;
/* Between these it is for 89 % of 4,000 modules of the list of the California Energy Commission, as
 * fitted by the National Renewable Energy Laboratory. */
static const double usual_low = 0.036, usual_high = 0.046;
/* Labels that no a in that range meets get the largest one below it that does, down to here, where
 * exp(voc/a) still leaves room for the cold. No real module is near. */
static const double ideality_least = 1.0 / 300.0;

static const double usual_gap_ev = 1.121; /* silicon at 25 degC, De Soto et al. 2006 */

struct trial {
    struct pv_figures at;
    double ideality_v;
};

/* ln of the two parts of r above, first less second: rises through 0 at R_s. */
static double excess_series(double series_ohm, const void *with, double *slope)
{
    const struct trial *trial = with;
    const struct pv_figures *at = &trial->at;
    double a = trial->ideality_v;
    double n = at->isc_a * (at->voc_v - at->vmp_v) - at->imp_a * at->voc_v;
    double k = at->imp_a * at->voc_v - at->isc_a * at->vmp_v;
    double y = at->voc_v - at->vmp_v - at->imp_a * series_ohm;
    double z = at->vmp_v - at->imp_a * series_ohm;
    double e_sc = exp((at->isc_a * series_ohm - at->voc_v) / a);
    double lever = at->imp_a * (2.0 * at->vmp_v - at->voc_v);
    double first = k - n * z / a;
    double second = k + (1.0 - e_sc) * lever;
    if (first <= 0.0 || second <= 0.0) { /* far from any root; only the sign is left */
        *slope = 1.0;
        return exp(-y / a) * first > second ? INFINITY : -INFINITY;
    }
    *slope = at->imp_a / a * (1.0 + n / first) + e_sc * at->isc_a / a * lever / second;
    return log(first / second) - y / a;
}

/* The parameters at a root R_s. `shunt_free` says that G is 0 by the choice of isc, so
 * that rounding must not decide on which side. */
static struct pv_cell cell_at(const struct trial *trial, double series_ohm, bool shunt_free)
{
    const struct pv_figures *at = &trial->at;
    double a = trial->ideality_v;
    double w = at->voc_v - at->isc_a * series_ohm;
    double y = at->voc_v - at->vmp_v - at->imp_a * series_ohm;
    double to_short = -expm1(-w / a), to_best = -expm1(-y / a);
    double denominator = to_short * y - to_best * w;
    double j = (at->isc_a * y - at->imp_a * w) / denominator;
    double shunt = (to_short * at->imp_a - to_best * at->isc_a) / denominator;
    if (shunt_free) {
        j = at->imp_a / to_best;
        shunt = 0.0;
    }
    double saturation = j * exp(-at->voc_v / a);
    return (struct pv_cell){
        .light_current_a = j - saturation + shunt * at->voc_v,
        .saturation_a = saturation,
        .ideality_v = a,
        .series_ohm = series_ohm,
        .shunt_siemens = shunt,
    };
}

/* True when r is negative without series resistance, so that there is a root above. */
static bool needs_series(const struct trial *trial)
{
    double slope;
    return excess_series(0.0, trial, &slope) < 0.0;
}

bool pv_fit_at(const struct pv_figures *figures, double ideality_v, struct pv_cell *cell)
{
    struct trial trial = {*figures, ideality_v};
    if (!needs_series(&trial))
        return false;
    double high = (figures->voc_v - figures->vmp_v) / figures->imp_a;
    double scale = ideality_v / figures->imp_a;
    double series = root_newton(excess_series, &trial, 0.0, high, high / 2.0, scale);
    struct pv_cell found = cell_at(&trial, series, false);
    if (!(found.shunt_siemens >= 0.0))
        return false;
    *cell = found;
    return true;
}

/* Without a shunt r = 0 becomes z = a (exp(y/a) - 1). With u = y/a and z - y = 2 vmp - voc this is
 * u = ln(1 + d + u), d = (2 vmp - voc)/a. */
static double excess_log(double u, const void *with, double *slope)
{
    double sum = *(const double *)with + u;
    *slope = sum / (1.0 + sum);
    return u - log1p(sum);
}

struct shunt_free {
    double ideality_v, j, series_ohm, voc_v, isc_a;
};

/* Of isc = j (1 - exp((isc R_s - voc)/a)). */
static double excess_short(double isc_a, const void *with, double *slope)
{
    const struct shunt_free *curve = with;
    double a = curve->ideality_v;
    double grown = curve->j * exp((isc_a * curve->series_ohm - curve->voc_v) / a);
    *slope = 1.0 + grown * curve->series_ohm / a;
    return isc_a - curve->j + grown;
}

/* The curve through (vmp, imp) and (voc, 0) that has no shunt, and its short current. */
static struct shunt_free without_shunt(const struct pv_figures *at, double a)
{
    double d = (2.0 * at->vmp_v - at->voc_v) / a;
    double u = root_newton(excess_log, &d, 0.0, 1.0 + d, log1p(d + log1p(d)), 1.0);
    struct shunt_free curve = {
        .ideality_v = a,
        .j = at->imp_a / -expm1(-u),
        .series_ohm = (at->voc_v - at->vmp_v - u * a) / at->imp_a,
        .voc_v = at->voc_v,
    };
    double scale = fmin(curve.j, a / fabs(curve.series_ohm));
    curve.isc_a = root_newton(excess_short, &curve, 0.0, curve.j, curve.j, scale);
    return curve;
}

/* Positive when a is too large for any short current up to factor_max times the label's: then
 * the shunt would have to be negative, or the series resistance. */
static double excess_ideality(double a, const void *with)
{
    const struct pv_figures *label = with;
    struct trial lifted = {*label, a};
    lifted.at.isc_a *= factor_max;
    double slope;
    double short_of_series = excess_series(0.0, &lifted, &slope);
    double short_of_shunt = without_shunt(label, a).isc_a / lifted.at.isc_a - 1.0;
    return fmax(short_of_series, short_of_shunt);
}

/* The parameters at a, with the least factor on isc that makes them physical. The more
 * isc, the more shunt and the less series resistance; so that factor is 1, or the one with no
 * shunt at all. NAN when there is none. */
static double cell_with_factor(const struct pv_figures *label, double a, struct pv_cell *cell)
{
    if (pv_fit_at(label, a, cell))
        return 1.0;
    struct shunt_free bare = without_shunt(label, a);
    double factor = bare.isc_a / label->isc_a;
    static const double rounding = 1e-9; /* of a factor that is just 1, or factor_max */
    if (!(bare.series_ohm >= 0.0 && factor > 1.0 - rounding && factor < factor_max + rounding))
        return NAN;
    struct trial trial = {*label, a};
    trial.at.isc_a = bare.isc_a;
    *cell = cell_at(&trial, bare.series_ohm, true);
    return fmax(factor, 1.0);
}

/* Power coefficient between -10 and 50 degC at 1000 W/m2, %/K. */
static double coefficient_of(const struct pv_fit *fit)
{
    struct pv_cell hot = pv_translate(fit, 1000.0, 50.0);
    struct pv_cell cold = pv_translate(fit, 1000.0, -10.0);
    double gain = pv_max_power(&hot).watts - pv_max_power(&cold).watts;
    return 100.0 * gain / (60.0 * fit->vmp_v * fit->imp_a);
}

static struct pv_figures figures_of(const struct pv_fit *fit)
{
    return (struct pv_figures){fit->vmp_v, fit->imp_a, fit->voc_v, fit->isc_a};
}

static struct pv_fit fit_with_ideality(const struct pv_fit *fit, double a)
{
    struct pv_fit trial = *fit;
    struct pv_figures label = figures_of(fit);
    trial.isc_factor = cell_with_factor(&label, a, &trial.cell);
    return trial;
}

/* Both rise: the coefficient falls as a, and as the gap, grows. */
static double excess_by_ideality(double a, const void *with)
{
    const struct pv_fit *fit = with;
    struct pv_fit trial = fit_with_ideality(fit, a);
    return isnan(trial.isc_factor) ? (double)NAN : fit->power_pct_per_k - coefficient_of(&trial);
}

static double excess_by_gap(double gap_ev, const void *with)
{
    struct pv_fit trial = *(const struct pv_fit *)with;
    trial.gap_ev = gap_ev;
    return trial.power_pct_per_k - coefficient_of(&trial);
}

static bool coefficient_is_met(struct pv_fit *fit)
{
    fit->power_pct_per_k_met = coefficient_of(fit);
    return fabs(fit->power_pct_per_k_met - fit->power_pct_per_k) <= 0.002;
}

static double largest_ideality(const struct pv_figures *label, double low, double high)
{
    return root_between(excess_ideality, label, low, excess_ideality(low, label), high,
                        excess_ideality(high, label));
}

/* Where the coefficient is met, between the a of most modules; false: not there. */
static bool fit_usual(struct pv_fit *fit)
{
    double low = usual_low * fit->voc_v, high = usual_high * fit->voc_v;
    double low_value = excess_by_ideality(low, fit), high_value = excess_by_ideality(high, fit);
    if (!(low_value < 0.0 && high_value > 0.0)) /* NAN: there is no such a */
        return false;
    *fit = fit_with_ideality(
        fit, root_between(excess_by_ideality, fit, low, low_value, high, high_value));
    return coefficient_is_met(fit);
}

bool pv_fit_parameters(struct pv_fit *fit)
{
    fit->gap_ev = usual_gap_ev;
    if (fit_usual(fit))
        return true;
    struct pv_figures label = figures_of(fit);
    double low = ideality_low * fit->voc_v;
    double high = largest_ideality(&label, low, ideality_high * fit->voc_v);
    if (isnan(fit_with_ideality(fit, low).isc_factor))
        low = high = largest_ideality(&label, ideality_least * fit->voc_v, low);
    if (isnan(fit_with_ideality(fit, low).isc_factor))
        return false;
    double a = root_between(excess_by_ideality, fit, low, excess_by_ideality(low, fit), high,
                            excess_by_ideality(high, fit));
    *fit = fit_with_ideality(fit, a);
    if (coefficient_is_met(fit))
        return true;
    static const double gap_low = 0.2, gap_high = 3.0;
    fit->gap_ev = root_between(excess_by_gap, fit, gap_low, excess_by_gap(gap_low, fit), gap_high,
                               excess_by_gap(gap_high, fit));
    if (!coefficient_is_met(fit))
        fit->warnings |= PV_WARN_POWER_TEMP_NOT_MET;
    return true;
}
