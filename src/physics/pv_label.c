/* pv_label.c - what a label says, what it leaves out, and whether it can be true.
 * Medians and percentiles below are those of 14,531 modules on the California
 * Energy Commission's list (module library of NREL, releases of 2015, 2017 and 2021). */
#include "physics/pv_fit.h"

#include <math.h>
#include <stddef.h>

/* Below this many watts modules are a class of their own. */
static const double small_w = 150.0;

struct span {
    double low, high; /* 5th and 95th percentile */
};

/* What is usual, by technology and power. PV_UNKNOWN: mono and poly together. */
struct usual {
    struct span voc_ratio, isc_ratio, voc_pct_per_k, isc_pct_per_k, power_pct_per_k;
};

static const struct usual usual_small[] = {
    [PV_UNKNOWN] =
        {{1.195, 1.306}, {1.031, 1.152}, {-0.419, -0.273}, {0.021, 0.143}, {-0.578, -0.371}},
    [PV_MONO] =
        {{1.195, 1.306}, {1.031, 1.124}, {-0.419, -0.273}, {0.029, 0.088}, {-0.578, -0.371}},
    [PV_POLY] =
        {{1.200, 1.297}, {1.053, 1.152}, {-0.377, -0.300}, {0.021, 0.143}, {-0.547, -0.429}},
    [PV_THIN_FILM] =
        {{1.247, 1.422}, {1.093, 1.271}, {-0.404, -0.238}, {-0.003, 0.118}, {-0.500, -0.210}},
};

static const struct usual usual_all[] = {
    [PV_UNKNOWN] =
        {{1.184, 1.273}, {1.038, 1.113}, {-0.407, -0.255}, {0.021, 0.102}, {-0.523, -0.331}},
    [PV_MONO] =
        {{1.184, 1.261}, {1.038, 1.100}, {-0.393, -0.255}, {0.021, 0.081}, {-0.521, -0.331}},
    [PV_POLY] =
        {{1.196, 1.273}, {1.043, 1.113}, {-0.407, -0.290}, {0.028, 0.102}, {-0.523, -0.384}},
    [PV_THIN_FILM] =
        {{1.200, 1.393}, {1.065, 1.266}, {-0.401, -0.230}, {-0.008, 0.118}, {-0.488, -0.220}},
};

/* Medians that stand in for a coefficient, and the distance from the voltage's
 * coefficient to the power's (own fit to the same modules). */
static const struct {
    double isc_per_k, power_small, power_large, power_less_voc;
} medians[] = {
    [PV_UNKNOWN] = {0.0005, -0.43, -0.43, -0.10},
    [PV_MONO] = {0.00046, -0.46, -0.42, -0.104},
    [PV_POLY] = {0.00056, -0.47, -0.45, -0.113},
    [PV_THIN_FILM] = {0.00043, -0.31, -0.33, -0.007},
};

/* Median voltages of crystalline panels of 36 cells (175 modules), 60 (5,650) and 72 up to
 * 250 W (724). Nothing but 36 and 72 cells is sold as "for 12 V" and "for 24 V". */
static const struct panel_class {
    double cells, for_voltage_v, vmp_v, voc_v;
} classes[] = {
    {36, 12, 17.9, 22.2},
    {60, NAN, 30.9, 37.91},
    {72, 24, 36.0, 44.5},
};

struct pv_label pv_label_blank(void)
{
    return (struct pv_label){
        .power_w = NAN,
        .vmp_v = NAN,
        .imp_a = NAN,
        .voc_v = NAN,
        .isc_a = NAN,
        .cells = NAN,
        .for_voltage_v = NAN,
        .technology = PV_UNKNOWN,
        .isc_pct_per_k = NAN,
        .isc_a_per_k = NAN,
        .voc_pct_per_k = NAN,
        .voc_v_per_k = NAN,
        .power_pct_per_k = NAN,
    };
}

/* A panel's cells go before "for 12 V". */
static const struct panel_class *find_class(const struct pv_label *label)
{
    const struct panel_class *end = classes + sizeof classes / sizeof *classes;
    for (const struct panel_class *class = classes; class < end; class ++)
        if (class->cells == label->cells && label->technology != PV_THIN_FILM)
            return class;
    for (const struct panel_class *class = classes; class < end; class ++)
        if (class->for_voltage_v == label->for_voltage_v)
            return class;
    return NULL;
}

static void note_technology(const struct pv_label *label, struct pv_fit *fit)
{
    if (label->technology == PV_UNKNOWN)
        fit->assumed |= PV_ASSUMED_CRYSTALLINE;
}

static void fill_by_class(const struct pv_label *label, struct pv_fit *fit)
{
    const struct panel_class *class = find_class(label);
    if (!class)
        return;
    fit->vmp_v = class->vmp_v;
    fit->assumed |= PV_ASSUMED_VMP_BY_CLASS;
    if (isnan(fit->voc_v)) {
        fit->voc_v = class->voc_v;
        fit->assumed |= PV_ASSUMED_VOC_BY_CLASS;
    }
    note_technology(label, fit);
    if (label->technology == PV_THIN_FILM)
        fit->assumed |= PV_ASSUMED_THIN_AS_CRYSTALLINE;
}

/* Open voltage and short current by the usual ratios: 1.245 and 1.075, thin
 * film 1.32 and 1.18. */
static void fill_by_ratio(const struct pv_label *label, struct pv_fit *fit)
{
    bool thin =
        label->technology == PV_THIN_FILM && !(fit->assumed & PV_ASSUMED_THIN_AS_CRYSTALLINE);
    if (isnan(fit->voc_v)) {
        fit->voc_v = (thin ? 1.32 : 1.245) * fit->vmp_v;
        fit->assumed |= PV_ASSUMED_VOC_BY_RATIO;
        note_technology(label, fit);
    }
    if (isnan(fit->isc_a)) {
        fit->isc_a = (thin ? 1.18 : 1.075) * fit->imp_a;
        fit->assumed |= PV_ASSUMED_ISC_BY_RATIO;
        note_technology(label, fit);
    }
}

/* The four figures, given or found; what stays NAN cannot be found. */
static void complete(const struct pv_label *label, struct pv_fit *fit)
{
    fit->vmp_v = label->vmp_v;
    fit->imp_a = label->imp_a;
    fit->voc_v = label->voc_v;
    fit->isc_a = label->isc_a;
    if (isnan(fit->vmp_v) && !isnan(label->power_w) && !isnan(fit->imp_a)) {
        fit->vmp_v = label->power_w / fit->imp_a;
        fit->assumed |= PV_ASSUMED_VMP_BY_POWER;
    }
    if (isnan(fit->vmp_v))
        fill_by_class(label, fit);
    if (isnan(fit->imp_a) && !isnan(label->power_w) && !isnan(fit->vmp_v)) {
        fit->imp_a = label->power_w / fit->vmp_v;
        fit->assumed |= PV_ASSUMED_IMP_BY_POWER;
    }
    fill_by_ratio(label, fit);
}

static bool says(double figure)
{
    return !isnan(figure);
}

/* False for a figure that is there and not a positive number. */
static bool above_zero(double figure)
{
    return isnan(figure) || figure > 0.0;
}

/* False for a positive figure that no single module has, in V, A or W; beyond
 * it the arithmetic would overflow. */
static bool within_reason(double figure)
{
    return isnan(figure) || (figure > 1e-6 && figure < 1e6);
}

static const char far_off[] = "its figures are beyond any solar panel";

static const char *why_unreadable(const struct pv_label *label)
{
    if (!above_zero(label->power_w))
        return "power must be above 0 W";
    if (!above_zero(label->vmp_v) || !above_zero(label->voc_v))
        return "vmp and voc must be above 0 V";
    if (!above_zero(label->imp_a) || !above_zero(label->isc_a))
        return "imp and isc must be above 0 A";
    if (label->power_pct_per_k >= 0.0)
        return "power_temp must be below 0 %/K; a panel gives less when it is hot";
    if (label->voc_pct_per_k >= 0.0 || label->voc_v_per_k >= 0.0)
        return "voc_temp must be below 0; a panel's voltage falls when it is hot";
    bool reasonable = within_reason(label->power_w) && within_reason(label->vmp_v) &&
                      within_reason(label->imp_a) && within_reason(label->voc_v) &&
                      within_reason(label->isc_a);
    return reasonable ? NULL : far_off;
}

/* A curve that falls, ever more steeply, from (0, isc) to (voc, 0) lies below its tangent at
 * maximum power, which cuts the axes at 2 vmp and 2 imp: hence the two halves. */
static const char *why_impossible(const struct pv_fit *fit)
{
    if (!says(fit->vmp_v))
        return "vmp is not known; power with imp, 36, 60 or 72 cells, or for_voltage 12 V or "
               "24 V would do";
    if (!says(fit->imp_a))
        return "imp is not known; power would do";
    if (fit->vmp_v >= fit->voc_v)
        return "vmp must be below voc";
    if (fit->imp_a >= fit->isc_a)
        return "imp must be below isc";
    if (fit->vmp_v <= fit->voc_v / 2.0)
        return "vmp must be above half of voc; no panel has its best power lower";
    if (fit->imp_a <= fit->isc_a / 2.0)
        return "imp must be above half of isc; no panel has its best power lower";
    return NULL;
}

static double first_known(double first, double second)
{
    return isnan(first) ? second : first;
}

static void choose_coefficients(const struct pv_label *label, struct pv_fit *fit)
{
    enum pv_technology technology = label->technology;
    fit->voc_pct_per_k = first_known(label->voc_pct_per_k, 100.0 * label->voc_v_per_k / fit->voc_v);
    fit->isc_a_per_k = first_known(label->isc_pct_per_k / 100.0 * fit->isc_a, label->isc_a_per_k);
    if (isnan(fit->isc_a_per_k)) {
        fit->isc_a_per_k = medians[technology].isc_per_k * fit->isc_a;
        fit->assumed |= PV_ASSUMED_ISC_TEMP;
    }
    fit->power_pct_per_k = label->power_pct_per_k;
    fit->coefficient_from = PV_LEVEL_POWER_TEMP;
    if (says(fit->power_pct_per_k))
        return;
    fit->assumed |= PV_ASSUMED_POWER_TEMP;
    if (says(fit->voc_pct_per_k)) {
        fit->coefficient_from = PV_LEVEL_VOC_TEMP;
        fit->power_pct_per_k = fit->voc_pct_per_k + medians[technology].power_less_voc;
        return;
    }
    fit->coefficient_from = technology == PV_UNKNOWN ? PV_LEVEL_FOUR : PV_LEVEL_TECHNOLOGY;
    bool is_small = fit->vmp_v * fit->imp_a < small_w;
    fit->power_pct_per_k =
        is_small ? medians[technology].power_small : medians[technology].power_large;
}

static bool outside(double figure, struct span span)
{
    return figure < span.low || figure > span.high; /* false for NAN */
}

/* Only what the label itself says can be unusual. */
static unsigned doubts(const struct pv_label *label, const struct pv_fit *fit)
{
    double watts = fit->vmp_v * fit->imp_a;
    const struct usual *usual = &(watts < small_w ? usual_small : usual_all)[fit->technology];
    double isc_pct = 100.0 * fit->isc_a_per_k / fit->isc_a;
    bool own_isc_temp = !(fit->assumed & PV_ASSUMED_ISC_TEMP);
    return (fabs(label->power_w - watts) > 0.03 * label->power_w ? PV_WARN_POWER_DIFFERS : 0u) |
           (outside(label->voc_v / fit->vmp_v, usual->voc_ratio) ? PV_WARN_VOC_UNUSUAL : 0u) |
           (outside(label->isc_a / fit->imp_a, usual->isc_ratio) ? PV_WARN_ISC_UNUSUAL : 0u) |
           (outside(fit->voc_pct_per_k, usual->voc_pct_per_k) ? PV_WARN_VOC_TEMP_UNUSUAL : 0u) |
           (own_isc_temp && outside(isc_pct, usual->isc_pct_per_k) ? PV_WARN_ISC_TEMP_UNUSUAL
                                                                   : 0u) |
           (outside(label->power_pct_per_k, usual->power_pct_per_k) ? PV_WARN_POWER_TEMP_UNUSUAL
                                                                    : 0u);
}

struct pv_fit pv_fit(const struct pv_label *label)
{
    struct pv_fit fit = {.technology = label->technology};
    complete(label, &fit);
    fit.refused = why_unreadable(label);
    if (!fit.refused)
        fit.refused = why_impossible(&fit);
    if (fit.refused)
        return fit;
    choose_coefficients(label, &fit);
    fit.level = fit.coefficient_from;
    if (isnan(label->vmp_v + label->imp_a + label->voc_v + label->isc_a))
        fit.level = PV_LEVEL_FILLED;
    fit.warnings = doubts(label, &fit);
    if (!pv_fit_parameters(&fit))
        fit.refused = "vmp x imp is too near voc x isc for any solar cell";
    else if (!isfinite(fit.power_pct_per_k_met) || isinf(fit.voc_pct_per_k))
        fit.refused = far_off;
    return fit;
}

const char *pv_assumed_words(unsigned flag)
{
    switch (flag) {
    case PV_ASSUMED_VMP_BY_POWER:
        return "vmp is power over imp";
    case PV_ASSUMED_IMP_BY_POWER:
        return "imp is power over vmp";
    case PV_ASSUMED_VMP_BY_CLASS:
        return "vmp is the median of crystalline panels of that many cells (36 for 12 V, 72 for "
               "24 V)";
    case PV_ASSUMED_VOC_BY_CLASS:
        return "voc is the median of crystalline panels of that many cells (36 for 12 V, 72 for "
               "24 V)";
    case PV_ASSUMED_VOC_BY_RATIO:
        return "voc is the usual multiple of vmp: 1.245, thin film 1.32";
    case PV_ASSUMED_ISC_BY_RATIO:
        return "isc is the usual multiple of imp: 1.075, thin film 1.18";
    case PV_ASSUMED_ISC_TEMP:
        return "isc_temp is the median of its technology";
    case PV_ASSUMED_POWER_TEMP:
        return "power_temp follows voc_temp where that is known, else it is the median of its "
               "technology";
    case PV_ASSUMED_CRYSTALLINE:
        return "technology is not known; the ratios are those of crystalline panels";
    case PV_ASSUMED_THIN_AS_CRYSTALLINE:
        return "thin film has no usual voltage for a 12 V or 24 V panel; the figures are those "
               "of crystalline ones";
    default:
        return NULL;
    }
}

const char *pv_warning_words(unsigned flag)
{
    switch (flag) {
    case PV_WARN_POWER_DIFFERS:
        return "power is more than 3 % away from vmp x imp";
    case PV_WARN_VOC_UNUSUAL:
        return "voc/vmp is outside what nine in ten such modules have";
    case PV_WARN_ISC_UNUSUAL:
        return "isc/imp is outside what nine in ten such modules have";
    case PV_WARN_VOC_TEMP_UNUSUAL:
        return "voc_temp is outside what nine in ten such modules have";
    case PV_WARN_ISC_TEMP_UNUSUAL:
        return "isc_temp is outside what nine in ten such modules have";
    case PV_WARN_POWER_TEMP_UNUSUAL:
        return "power_temp is outside what nine in ten such modules have";
    case PV_WARN_POWER_TEMP_NOT_MET:
        return "power_temp cannot be met by any solar cell with these figures";
    default:
        return NULL;
    }
}
