/* pv_array.c - equal modules in series and parallel, and the figures of a panel
 * that need no operating point: cell temperature, weak sun, cold, reverse current. */
#include "physics/pv.h"

#include <math.h>
#include <stddef.h>

double pv_array_current_near(const struct pv_array *array, double volts, double *junction_v,
                             double *slope)
{
    double scale = array->parallel * array->factor;
    double amps = pv_current_near(&array->cell, volts / array->series, junction_v, slope);
    if (slope)
        *slope *= scale / array->series;
    return amps * scale;
}

double pv_array_current(const struct pv_array *array, double volts, double *slope)
{
    double unknown = 0.0;
    return pv_array_current_near(array, volts, &unknown, slope);
}

double pv_array_voltage(const struct pv_array *array, double amps)
{
    return array->series * pv_voltage(&array->cell, amps / (array->parallel * array->factor));
}

double pv_array_open_voltage(const struct pv_array *array)
{
    return array->series * pv_open_voltage(&array->cell);
}

double pv_array_short_current(const struct pv_array *array)
{
    double amps = pv_short_current(&array->cell) / array->isc_factor;
    return array->parallel * array->factor * amps;
}

struct pv_point pv_array_max_power(const struct pv_array *array)
{
    struct pv_point point = pv_max_power(&array->cell);
    point.volts *= array->series;
    point.amps *= array->parallel * array->factor;
    point.watts = point.volts * point.amps;
    return point;
}

double pv_weak_sun_share(double c, double sun_w_m2)
{
    if (sun_w_m2 < 1.0 || sun_w_m2 >= 1000.0)
        return 1.0;
    double factor = 1.0 - c * log(1000.0 / sun_w_m2);
    return factor < 0.0 ? 0.0 : factor;
}

double pv_weak_sun_factor(enum pv_technology technology, double sun_w_m2, bool cautious)
{
    bool thin = technology == PV_THIN_FILM;
    double c = cautious ? (thin ? 0.17 : 0.065) : (thin ? 0.075 : 0.028);
    return pv_weak_sun_share(c, sun_w_m2);
}

double pv_efficiency(double vmp_v, double imp_a, double area_m2, enum pv_technology technology)
{
    double watts = vmp_v * imp_a;
    if (!isnan(area_m2))
        return watts / (1000.0 * area_m2);
    if (watts < 150.0 || technology == PV_THIN_FILM)
        return 0.13;
    return technology == PV_POLY ? 0.15 : 0.175;
}

double pv_cell_temperature(double air_degc, double sun_w_m2, double noct_degc, double efficiency,
                           double wind_m_s)
{
    double noct = isnan(noct_degc) ? 47.0 : noct_degc;
    double rise = (noct - 20.0) / 800.0 * sun_w_m2;
    /* 0.9 is the share of the light that the module absorbs; 5.7 + 3.8 v W/m2K the loss to
     * the wind, 9.5 at the 1 m/s in which T_noct is measured. */
    return air_degc + rise * (1.0 - efficiency / 0.9) * 9.5 / (5.7 + 3.8 * wind_m_s);
}

double pv_cold_voltage_factor(double air_degc)
{
    /* Low end of each band and its factor, NFPA 70 table 690.7(A). */
    static const struct {
        double low_degc, factor;
    } bands[] = {
        {20, 1.02},  {15, 1.04},  {10, 1.06},  {5, 1.08},   {0, 1.10},   {-5, 1.12},  {-10, 1.14},
        {-15, 1.16}, {-20, 1.18}, {-25, 1.20}, {-30, 1.21}, {-35, 1.23}, {-40, 1.25},
    };
    size_t last = sizeof bands / sizeof *bands - 1;
    size_t band = 0;
    while (band < last && bands[band].low_degc > air_degc)
        band++;
    return isnan(air_degc) ? air_degc : bands[band].factor;
}

double pv_cold_open_voltage(const struct pv_fit *fit, double air_degc, double series)
{
    struct pv_cell cell = pv_translate(fit, 1000.0, air_degc);
    double model = pv_open_voltage(&cell);
    double rule = fit->voc_v * (isnan(fit->voc_pct_per_k)
                                    ? pv_cold_voltage_factor(air_degc)
                                    : 1.0 + fit->voc_pct_per_k / 100.0 * (air_degc - 25.0));
    return series * (model > rule ? model : rule);
}

double pv_reverse_current(double isc_a, double strings)
{
    double others = strings - 1.0;
    return others > 0.0 ? 1.25 * isc_a * others : 0.0;
}
