/* From a label to five parameters: reference fits, the module list, what is refused,
 * what is assumed, and a plain bisection of the same equations. */
#include "check.h"
#include "csv.h"

#include "physics/pv_fit.h"

#include <stdbool.h>

static struct pv_label four(double voc, double isc, double vmp, double imp)
{
    struct pv_label label = pv_label_blank();
    label.voc_v = voc;
    label.isc_a = isc;
    label.vmp_v = vmp;
    label.imp_a = imp;
    return label;
}

static struct pv_label four_of_row(const struct csv *csv, const char *voc, const char *isc,
                                   const char *vmp, const char *imp)
{
    return four(csv_number(csv, voc), csv_number(csv, isc), csv_number(csv, vmp),
                csv_number(csv, imp));
}

/* ---- Reference fits ---- */

/* 30 modules at two levels, worked to machine precision elsewhere; every column to 1e-6. */
static void reference_fits(void **state)
{
    (void)state;
    struct csv csv;
    if (!csv_open(&csv, "../data/pv_fit_examples.csv"))
        return;
    int rows = 0;
    for (; csv_next(&csv); rows++) {
        struct pv_label label = four_of_row(&csv, "V_oc_V", "I_sc_A", "V_mp_V", "I_mp_A");
        bool coefficients = !strcmp(csv_text(&csv, "level"), "gamma");
        if (coefficients) {
            label.isc_a_per_k = csv_number(&csv, "alpha_sc_A_per_K");
            label.power_pct_per_k = csv_number(&csv, "gamma_pct_per_K");
        }
        struct pv_fit fit = pv_fit(&label);
        assert_null(fit.refused);
        assert_int_equal(fit.level, coefficients ? PV_LEVEL_POWER_TEMP : PV_LEVEL_FOUR);
        assert_near(fit.isc_a_per_k, csv_number(&csv, "alpha_sc_A_per_K"), 1e-6);
        assert_near(fit.power_pct_per_k, csv_number(&csv, "gamma_pct_per_K"), 1e-6);
        assert_near(fit.isc_factor, csv_number(&csv, "f_isc"), 1e-6);
        assert_near(fit.cell.ideality_v, csv_number(&csv, "a_V"), 1e-6);
        assert_near(fit.cell.light_current_a, csv_number(&csv, "I_L_A"), 1e-6);
        assert_near(fit.cell.saturation_a, csv_number(&csv, "I_o_A"), 1e-6);
        assert_near(fit.cell.series_ohm, csv_number(&csv, "R_s_ohm"), 1e-6);
        assert_near(fit.gap_ev, csv_number(&csv, "E_g_eV"), 1e-6);
        double shunt_ohm = csv_number(&csv, "R_sh_ohm");
        if (isinf(shunt_ohm))
            assert_close(fit.cell.shunt_siemens, 0.0, 1e-5 * label.isc_a / label.voc_v);
        else
            assert_near(1.0 / fit.cell.shunt_siemens, shunt_ohm, 1e-6);
        struct pv_cell weak = pv_translate(&fit, 200.0, 25.0);
        struct pv_cell hot = pv_translate(&fit, 1000.0, 60.0);
        assert_near(pv_max_power(&fit.cell).watts, csv_number(&csv, "P_1000_25_W"), 1e-6);
        assert_near(pv_max_power(&weak).watts, csv_number(&csv, "P_200_25_W"), 1e-6);
        assert_near(pv_max_power(&weak).volts, csv_number(&csv, "V_mp_200_25_V"), 1e-6);
        assert_near(pv_max_power(&hot).watts, csv_number(&csv, "P_1000_60_W"), 1e-6);
        assert_near(pv_max_power(&hot).volts, csv_number(&csv, "V_mp_1000_60_V"), 1e-6);
    }
    assert_int_equal(rows, 60);
}

/* J. Renewables (Springer), 2018, doi 10.1186/s40807-018-0049-0, table 1: 36 cells,
 * 20 W, n 1.0036 (a 0.928263 V): I_L 1.173, I_o 2.6797e-11, R_s 1.0547, R_sh 405.962. The
 * exact solution at that a, from a second program: 1.173040, 2.67756e-11, 1.054777, 405.948. */
static void published_parameters(void **state)
{
    (void)state;
    struct pv_figures figures = {.vmp_v = 18.76, .imp_a = 1.07, .voc_v = 22.70, .isc_a = 1.17};
    struct pv_cell cell;
    assert_true(pv_fit_at(&figures, 0.928263, &cell));
    assert_close(cell.light_current_a, 1.173, 0.5e-3);
    assert_near(cell.saturation_a, 2.6797e-11, 1e-3);
    assert_close(cell.series_ohm, 1.0547, 1e-4);
    assert_close(1.0 / cell.shunt_siemens, 405.962, 0.02);
    assert_close(cell.light_current_a, 1.173040, 0.5e-6);
    assert_near(cell.saturation_a, 2.67756e-11, 2e-5);
    assert_close(cell.series_ohm, 1.054777, 0.5e-6);
    assert_close(1.0 / cell.shunt_siemens, 405.948, 0.5e-3);
}

/* ---- The same equations by plain bisection ----
 * Nothing is shared with the fit but the equations: two linear equations for J and G, the slope at
 * maximum power, and halving for R_s, the factor on isc, the largest a, a, and the band gap. */

struct plain {
    double voc, isc, vmp, imp;
    double a, rs, j, g;
};

static double plain_residual(struct plain *p, double rs)
{
    double e_sc = exp((p->isc * rs - p->voc) / p->a);
    double e_mp = exp((p->vmp + p->imp * rs - p->voc) / p->a);
    double a11 = 1.0 - e_sc, a12 = p->voc - p->isc * rs;
    double a21 = 1.0 - e_mp, a22 = p->voc - p->vmp - p->imp * rs;
    double d = a11 * a22 - a12 * a21;
    p->j = (p->isc * a22 - p->imp * a12) / d;
    p->g = (a11 * p->imp - a21 * p->isc) / d;
    p->rs = rs;
    return (p->j * e_mp / p->a + p->g) * (p->vmp - p->imp * rs) - p->imp;
}

static bool plain_feasible(struct plain *p)
{
    if (!(plain_residual(p, 0.0) < 0.0))
        return false;
    double low = 0.0, high = (p->voc - p->vmp) / p->imp;
    for (int i = 0; i < 55; i++) {
        double middle = (low + high) / 2.0;
        *(plain_residual(p, middle) < 0.0 ? &low : &high) = middle;
    }
    plain_residual(p, low);
    return p->g >= 0.0;
}

static struct plain plain_at(const struct plain *label, double a, double *factor)
{
    struct plain p = *label;
    p.a = a;
    *factor = 1.0;
    if (plain_feasible(&p))
        return p;
    double low = 1.0, high = 1.06;
    for (int i = 0; i < 44; i++) {
        double middle = (low + high) / 2.0;
        p.isc = label->isc * middle;
        *(plain_feasible(&p) ? &high : &low) = middle;
    }
    *factor = high;
    p.isc = label->isc * high;
    plain_feasible(&p);
    return p;
}

static struct pv_fit plain_cell(const struct plain *label, double a, double alpha, double gap)
{
    struct pv_fit fit = {.isc_a_per_k = alpha, .gap_ev = gap};
    struct plain p = plain_at(label, a, &fit.isc_factor);
    double saturation = p.j * exp(-p.voc / a);
    fit.cell = (struct pv_cell){p.j - saturation + p.g * p.voc, saturation, a, p.rs, p.g};
    return fit;
}

static double plain_coefficient(const struct pv_fit *fit, const struct plain *label)
{
    struct pv_cell hot = pv_translate(fit, 1000.0, 50.0);
    struct pv_cell cold = pv_translate(fit, 1000.0, -10.0);
    return 100.0 * (pv_max_power(&hot).watts - pv_max_power(&cold).watts) /
           (60.0 * label->vmp * label->imp);
}

static double plain_largest_a(const struct plain *label)
{
    struct plain lifted = *label;
    lifted.isc *= 1.06;
    lifted.a = 0.075 * label->voc;
    if (plain_feasible(&lifted))
        return lifted.a;
    double low = 0.015 * label->voc, high = 0.075 * label->voc;
    for (int i = 0; i < 45; i++) {
        lifted.a = (low + high) / 2.0;
        *(plain_feasible(&lifted) ? &low : &high) = lifted.a;
    }
    return low;
}

static struct pv_fit plain_fit(const struct plain *label, double alpha, double gamma)
{
    double low = 0.015 * label->voc, high = plain_largest_a(label);
    for (int i = 0; i < 40; i++) {
        double middle = (low + high) / 2.0;
        struct pv_fit trial = plain_cell(label, middle, alpha, 1.121);
        *(plain_coefficient(&trial, label) > gamma ? &low : &high) = middle;
    }
    struct pv_fit fit = plain_cell(label, (low + high) / 2.0, alpha, 1.121);
    if (fabs(plain_coefficient(&fit, label) - gamma) <= 0.002)
        return fit;
    low = 0.2;
    high = 3.0;
    for (int i = 0; i < 45; i++) {
        fit.gap_ev = (low + high) / 2.0;
        *(plain_coefficient(&fit, label) > gamma ? &low : &high) = fit.gap_ev;
    }
    return fit;
}

/* Evenly spread numbers, the same in every run (Knuth's multiplier). */
static double spread(uint64_t *state, double low, double high)
{
    *state = *state * 6364136223846793005u + 1442695040888963407u;
    return low + (high - low) * (double)(*state >> 11) / 9007199254740992.0;
}

static void agrees_with_plain_bisection(void **state)
{
    (void)state;
    uint64_t chance = 1;
    int compared = 0, lifted = 0, gap_moved = 0;
    for (int i = 0; i < 150; i++) {
        struct plain plain = {.voc = spread(&chance, 3.0, 60.0), .isc = spread(&chance, 0.3, 12.0)};
        plain.vmp = plain.voc * spread(&chance, 0.53, 0.92);
        plain.imp = plain.isc * spread(&chance, 0.53, 0.985);
        struct pv_label label = four(plain.voc, plain.isc, plain.vmp, plain.imp);
        label.isc_pct_per_k = spread(&chance, 0.0, 0.12);
        label.power_pct_per_k = spread(&chance, -0.6, -0.2);
        double factor;
        if (plain_at(&plain, 0.015 * plain.voc, &factor).g < 0.0)
            continue; /* the least a is too large already: not what halving can do */
        compared++;
        struct pv_fit fit = pv_fit(&label);
        assert_null(fit.refused);
        struct pv_fit want =
            plain_fit(&plain, label.isc_pct_per_k / 100.0 * plain.isc, label.power_pct_per_k);
        assert_near(fit.cell.ideality_v, want.cell.ideality_v, 1e-7);
        assert_near(fit.isc_factor, want.isc_factor, 1e-7);
        assert_near(fit.gap_ev, want.gap_ev, 1e-6);
        assert_near(fit.cell.light_current_a, want.cell.light_current_a, 1e-7);
        assert_near(fit.cell.saturation_a, want.cell.saturation_a, 1e-5);
        assert_close(fit.cell.series_ohm, want.cell.series_ohm, 1e-7 * plain.voc / plain.isc);
        assert_close(fit.cell.shunt_siemens, want.cell.shunt_siemens, 1e-7 * plain.isc / plain.voc);
        lifted += fit.isc_factor > 1.0;
        gap_moved += fit.gap_ev != 1.121;
    }
    /* Every branch of the fit was taken. */
    print_message("%d labels compared, isc lifted for %d, gap moved for %d\n", compared, lifted,
                  gap_moved);
    assert_true(compared > 140 && lifted > 10 && gap_moved > 3);
}

/* ---- Every label is fitted exactly or refused ---- */

static void check_meets_label(const struct pv_fit *fit)
{
    struct pv_point best = pv_max_power(&fit->cell);
    assert_near(best.volts, fit->vmp_v, 1e-9);
    assert_near(best.amps, fit->imp_a, 1e-9);
    assert_near(pv_open_voltage(&fit->cell), fit->voc_v, 1e-12);
    assert_near(pv_short_current(&fit->cell), fit->isc_a * fit->isc_factor, 1e-12);
    assert_true(fit->isc_factor >= 1.0 && fit->isc_factor <= 1.06 * (1.0 + 1e-12));
    assert_true(fit->cell.series_ohm >= 0.0 && fit->cell.shunt_siemens >= 0.0);
    assert_true(fit->cell.saturation_a > 0.0 && fit->cell.light_current_a > 0.0);
}

/* Where real labels lie all are fitted; nearer to a square or to a triangle they are
 * fitted or refused, but never come out wrong. */
static void random_labels(void **state)
{
    (void)state;
    uint64_t chance = 7;
    int refused = 0;
    for (int i = 0; i < 6000; i++) {
        bool wide = i % 3 == 0;
        double voc = spread(&chance, 1.0, 90.0), isc = spread(&chance, 0.05, 15.0);
        double vmp = voc * (wide ? spread(&chance, 0.5, 1.0) : spread(&chance, 0.52, 0.93));
        double imp = isc * (wide ? spread(&chance, 0.5, 1.0) : spread(&chance, 0.52, 0.985));
        struct pv_label label = four(voc, isc, vmp, imp);
        if (i % 2) {
            label.power_pct_per_k = spread(&chance, -1.2, -0.01);
            label.isc_pct_per_k = spread(&chance, -0.1, 0.3);
        }
        struct pv_fit fit = pv_fit(&label);
        if (fit.refused) {
            assert_true(wide);
            refused++;
            continue;
        }
        check_meets_label(&fit);
        bool met = fabs(fit.power_pct_per_k_met - fit.power_pct_per_k) <= 0.002;
        assert_int_equal(met, !(fit.warnings & PV_WARN_POWER_TEMP_NOT_MET));
    }
    print_message("random labels: %d of 2000 wide ones refused\n", refused);
    assert_true(refused > 0 && refused < 1000);
}

/* Anything may stand on a label. */
static void absurd_labels(void **state)
{
    (void)state;
    static const double figures[] = {
        NAN, NAN, -INFINITY, INFINITY, -1.0, 0.0,  1e-300, 1e-9, 0.05,  1.0,
        5.0, 5.5, 12.0,      17.0,     20.0, 24.0, 36.0,   1e9,  1e300,
    };
    const size_t count = sizeof figures / sizeof *figures;
    uint64_t chance = 11;
    int fitted = 0;
    for (int i = 0; i < 40000; i++) {
        double pick[12];
        for (int j = 0; j < 12; j++)
            pick[j] = figures[(size_t)spread(&chance, 0.0, (double)count)];
        struct pv_label label = {
            .power_w = pick[0],
            .vmp_v = pick[1],
            .imp_a = pick[2],
            .voc_v = pick[3],
            .isc_a = pick[4],
            .cells = pick[5],
            .for_voltage_v = pick[6],
            .technology = (enum pv_technology)(i % 4),
            .isc_pct_per_k = pick[7],
            .isc_a_per_k = pick[8],
            .voc_pct_per_k = -pick[9],
            .voc_v_per_k = -pick[10],
            .power_pct_per_k = -pick[11],
        };
        struct pv_fit fit = pv_fit(&label);
        if (fit.refused)
            continue;
        fitted++;
        assert_true(isfinite(fit.cell.series_ohm) && isfinite(fit.cell.shunt_siemens));
        assert_true(isfinite(fit.gap_ev) && isfinite(fit.power_pct_per_k_met));
        check_meets_label(&fit);
    }
    print_message("absurd labels: %d of 40000 can be fitted all the same\n", fitted);
    assert_true(fitted > 50);
}

/* ---- The module list ---- */

enum { MODULES_MAX = 4096, CONDITIONS = 5 };

struct errors {
    int count;
    double percent[MODULES_MAX];
};

static int by_size(const void *left, const void *right)
{
    double a = *(const double *)left, b = *(const double *)right;
    return (a > b) - (a < b);
}

static double percentile(const struct errors *sorted, double share)
{
    double place = share * (sorted->count - 1);
    int below = (int)place;
    int above = below + 1 < sorted->count ? below + 1 : below;
    double part = place - below;
    return sorted->percent[below] * (1.0 - part) + sorted->percent[above] * part;
}

static double rms(const struct errors *errors)
{
    double sum = 0.0;
    for (int i = 0; i < errors->count; i++)
        sum += errors->percent[i] * errors->percent[i];
    return sqrt(sum / errors->count);
}

static enum pv_technology technology_named(const char *name)
{
    return !strcmp(name, "mono") ? PV_MONO : !strcmp(name, "multi") ? PV_POLY : PV_THIN_FILM;
}

static struct pv_label label_of_module(const struct csv *csv)
{
    return four_of_row(csv, "V_oc_ref_V", "I_sc_ref_A", "V_mp_ref_V", "I_mp_ref_A");
}

/* The five parameters of the list itself, with its own correction of alpha. */
static struct pv_fit own_parameters(const struct csv *csv)
{
    return (struct pv_fit){
        .cell = {csv_number(csv, "I_L_ref_A"), csv_number(csv, "I_o_ref_A"),
                 csv_number(csv, "a_ref_V"), csv_number(csv, "R_s_ohm"),
                 1.0 / csv_number(csv, "R_sh_ref_ohm")},
        .isc_a_per_k =
            csv_number(csv, "alpha_sc_A_per_K") * (1.0 - csv_number(csv, "Adjust_pct") / 100.0),
        .gap_ev = 1.121,
    };
}

/* The errors of one module: power at (200, 25), (1000, 60), (200, 60), vmp at (1000, 60) against
 * the list's own parameters, power at the test condition (PTC) against the listed watts. */
static void measure(const struct csv *csv, const struct pv_fit *fit, double errors[CONDITIONS])
{
    static const double conditions[3][2] = {{200, 25}, {1000, 60}, {200, 60}};
    struct pv_fit own = own_parameters(csv);
    for (int i = 0; i < 3; i++) {
        struct pv_cell cell = pv_translate(fit, conditions[i][0], conditions[i][1]);
        struct pv_cell want = pv_translate(&own, conditions[i][0], conditions[i][1]);
        errors[i] = 100.0 * (pv_max_power(&cell).watts / pv_max_power(&want).watts - 1.0);
        if (i == 1)
            errors[3] = 100.0 * (pv_max_power(&cell).volts / pv_max_power(&want).volts - 1.0);
    }
    double efficiency =
        pv_efficiency(fit->vmp_v, fit->imp_a, csv_number(csv, "area_m2"), fit->technology);
    double degc = pv_cell_temperature(20.0, 1000.0, csv_number(csv, "T_NOCT_C"), efficiency, 1.0);
    struct pv_cell test = pv_translate(fit, 1000.0, degc);
    errors[4] = 100.0 * (pv_max_power(&test).watts / csv_number(csv, "PTC_W") - 1.0);
}

/* What is known besides the four numbers. */
enum known { KNOWN_L1, KNOWN_L1_NO_ALPHA, KNOWN_L2, KNOWN_L3, KNOWN_L4, KNOWN_COUNT };

static struct pv_label label_knowing(const struct csv *csv, enum known known)
{
    struct pv_label label = label_of_module(csv);
    if (known != KNOWN_L4)
        label.technology = technology_named(csv_text(csv, "technology"));
    if (known == KNOWN_L1 || known == KNOWN_L1_NO_ALPHA)
        label.power_pct_per_k = csv_number(csv, "gamma_r_pct_per_K");
    if (known == KNOWN_L2)
        label.voc_v_per_k = csv_number(csv, "beta_oc_V_per_K");
    if (known == KNOWN_L1 || known == KNOWN_L2)
        label.isc_a_per_k = csv_number(csv, "alpha_sc_A_per_K");
    return label;
}

/* (The median of vmp at L1 below 150 W is printed as 0.01; it is -0.013, taken for a lost sign.)
 * Published for the whole list of 14,448 modules and for its 551 modules under
 * 150 W: median, 5th and 95th percentile, rms, in per cent. The sample here holds all of the
 * small ones, and the large ones in another mix. */
static const struct {
    const char *name;
    double all[CONDITIONS][4], small[CONDITIONS][4];
} published[KNOWN_COUNT] = {
    [KNOWN_L1] = {"L1",
                  {{-0.07, -0.27, 0.07, 0.19},
                   {-0.02, -0.13, 0.05, 0.13},
                   {-0.10, -0.49, 0.13, 0.39},
                   {-0.12, -0.52, 0.18, 0.36},
                   {-0.09, -0.53, 0.38, 0.69}},
                  {{-0.01, -0.37, 0.43, 0.25},
                   {0.01, -0.16, 0.28, 0.16},
                   {0.00, -0.52, 0.64, 0.42},
                   {-0.01, -0.79, 0.98, 0.53},
                   {-0.18, -1.68, 1.57, 1.32}}},
    [KNOWN_L1_NO_ALPHA] = {"L1, alpha unknown",
                           {{-0.09, -0.59, 0.77, 0.42},
                            {-0.03, -0.25, 0.40, 0.21},
                            {-0.14, -0.98, 1.32, 0.71},
                            {-0.16, -1.15, 1.51, 0.84},
                            {-0.10, -0.43, 0.37, 0.68}},
                           {{0.0}}}, /* not published */
    [KNOWN_L2] = {"L2",
                  {{-0.12, -1.16, 0.86, 0.68},
                   {-0.10, -2.43, 2.09, 1.52},
                   {-0.24, -4.04, 3.34, 2.43},
                   {-0.21, -2.20, 1.66, 1.30},
                   {-0.13, -1.75, 1.46, 1.22}},
                  {{0.19, -1.91, 2.14, 1.19},
                   {0.59, -5.07, 4.78, 2.83},
                   {0.84, -7.23, 7.48, 4.26},
                   {0.37, -3.88, 4.40, 2.43},
                   {0.20, -4.14, 4.73, 2.72}}},
    [KNOWN_L3] = {"L3",
                  {{0.00, -1.89, 1.90, 1.18},
                   {0.00, -3.47, 4.07, 2.33},
                   {0.02, -5.86, 6.78, 3.89},
                   {0.01, -3.45, 3.74, 2.24},
                   {-0.11, -1.93, 2.57, 1.51}},
                  {{0.16, -1.83, 2.66, 1.31},
                   {0.02, -3.59, 6.63, 2.95},
                   {0.18, -5.83, 9.98, 4.52},
                   {0.28, -3.48, 5.67, 2.69},
                   {-0.10, -3.39, 5.10, 2.69}}},
    [KNOWN_L4] = {"L4",
                  {{0.10, -2.22, 1.79, 1.30},
                   {0.37, -4.01, 3.92, 2.54},
                   {0.59, -6.84, 6.46, 4.24},
                   {0.20, -4.06, 3.47, 2.45},
                   {0.06, -2.27, 2.46, 1.62}},
                  {{-0.33, -3.53, 2.09, 1.97},
                   {-0.73, -8.26, 5.01, 4.33},
                   {-1.24, -11.88, 7.80, 6.65},
                   {-0.76, -7.08, 4.16, 3.86},
                   {-0.86, -6.42, 4.36, 3.31}}},
};

static const char *const condition_names[CONDITIONS] = {"P 200 25", "P 1000 60", "P 200 60",
                                                        "Vmp 1000 60", "PTC"};

/* Median, 5th and 95th percentile, rms. */
static void summarise(struct errors *errors, double figures[4])
{
    qsort(errors->percent, (size_t)errors->count, sizeof *errors->percent, by_size);
    figures[0] = percentile(errors, 0.5);
    figures[1] = percentile(errors, 0.05);
    figures[2] = percentile(errors, 0.95);
    figures[3] = rms(errors);
}

/* Static for their size; every use empties them first. */
static struct errors all_errors[CONDITIONS], small_errors[CONDITIONS];

static void add_error(struct errors *errors, double percent)
{
    assert_true(errors->count < MODULES_MAX && isfinite(percent));
    errors->percent[errors->count++] = percent;
}

static void gather(enum known known)
{
    struct csv csv;
    assert_true(csv_open(&csv, "../data/pv_modules.csv"));
    for (int i = 0; i < CONDITIONS; i++)
        all_errors[i].count = small_errors[i].count = 0;
    int rows = 0;
    for (; csv_next(&csv); rows++) {
        struct pv_label label = label_knowing(&csv, known);
        struct pv_fit fit = pv_fit(&label);
        assert_null(fit.refused);
        check_meets_label(&fit);
        if (csv_number(&csv, "consistent") != 1.0)
            continue;
        double errors[CONDITIONS];
        measure(&csv, &fit, errors);
        for (int i = 0; i < CONDITIONS; i++) {
            add_error(&all_errors[i], errors[i]);
            if (csv_number(&csv, "STC_W") < 150.0)
                add_error(&small_errors[i], errors[i]);
        }
    }
    assert_int_equal(rows, 4000);
    assert_int_equal(all_errors[0].count, 3987);
    assert_int_equal(small_errors[0].count, 551);
}

static void print_figures(const char *name, const double figures[4])
{
    print_message("%s %6.2f [%6.2f, %6.2f] %5.2f", name, figures[0], figures[1], figures[2],
                  figures[3]);
}

/* All 4,000 modules converge at each level and meet their four figures; the small ones, which are
 * all here, reproduce the published errors digit by digit; the mix of all comes near. */
static void module_list(void **state)
{
    (void)state;
    if (!reference_folder()) {
        print_message("skipped: no reference data (module list)\n");
        return;
    }
    for (enum known known = 0; known < KNOWN_COUNT; known++) {
        gather(known);
        print_message("%s: per cent, median [5th, 95th percentile] rms\n", published[known].name);
        for (int i = 0; i < CONDITIONS; i++) {
            double all[4], small[4];
            summarise(&all_errors[i], all);
            summarise(&small_errors[i], small);
            print_message("  %-11s", condition_names[i]);
            print_figures(" all", all);
            print_figures("   under 150 W", small);
            print_message("\n");
            const double *want = published[known].all[i];
            assert_close(all[0], want[0], 0.25);
            assert_close(all[1], want[1], 0.05 + 0.45 * fabs(want[1]));
            assert_close(all[2], want[2], 0.1 + 0.45 * fabs(want[2]));
            assert_near(all[3], want[3], 0.28);
            for (int j = 0; j < 4 && known != KNOWN_L1_NO_ALPHA; j++)
                assert_close(small[j], published[known].small[i][j], 0.0051);
        }
    }
}

/* Power and vmp alone, modules under 150 W: median, 5th and 95th percentile of the error in P at
 * (200, 25) and (1000, 60), and in voc; one digit is published. Which power coefficient the
 * published run took is not said: mono's for all crystalline modules comes nearest, within 0.2. */
static void from_power_and_vmp(void **state)
{
    (void)state;
    static const double want[2][3][3] = {
        {{-0.3, -4.1, 4.7}, {0.2, -3.6, 4.7}, {-0.1, -4.1, 3.9}}, /* crystalline */
        {{0.6, -6.9, 5.7}, {0.0, -3.8, 7.5}, {0.2, -7.1, 5.8}},   /* thin film */
    };
    for (int thin = 0; thin < 2; thin++) {
        struct csv csv;
        if (!csv_open(&csv, "../data/pv_modules.csv"))
            return;
        for (int i = 0; i < 3; i++)
            small_errors[i].count = 0;
        while (csv_next(&csv)) {
            enum pv_technology technology = technology_named(csv_text(&csv, "technology"));
            if (csv_number(&csv, "STC_W") >= 150.0 || (technology == PV_THIN_FILM) != thin)
                continue;
            struct pv_label whole = label_of_module(&csv);
            struct pv_label label = pv_label_blank();
            label.technology = thin ? PV_THIN_FILM : PV_MONO;
            label.vmp_v = whole.vmp_v;
            label.power_w = whole.vmp_v * whole.imp_a;
            struct pv_fit fit = pv_fit(&label);
            assert_null(fit.refused);
            assert_int_equal(fit.level, PV_LEVEL_FILLED);
            double errors[CONDITIONS];
            measure(&csv, &fit, errors);
            add_error(&small_errors[0], errors[0]);
            add_error(&small_errors[1], errors[1]);
            add_error(&small_errors[2], 100.0 * (fit.voc_v / whole.voc_v - 1.0));
        }
        for (int i = 0; i < 3; i++) {
            double got[4];
            summarise(&small_errors[i], got);
            print_figures(i ? "  |" : thin ? "thin film  " : "crystalline", got);
            for (int j = 0; j < 3; j++)
                assert_close(got[j], want[thin][i][j], i == 2 ? 0.051 : 0.21);
        }
        print_message("\n");
    }
}

/* ---- What is taken when the label is silent ---- */

/* Medians of 14,531 modules, by technology and power; the limit itself, 150 W, is not under it. */
static void coefficients_by_level(void **state)
{
    (void)state;
    static const struct {
        enum pv_technology technology;
        double imp_a, voc_pct, isc_pct_want, power_pct_want;
        enum pv_level level;
    } rows[] = {
        {PV_MONO, 9.999, NAN, 0.046, -0.46, PV_LEVEL_TECHNOLOGY},
        {PV_MONO, 10.0, NAN, 0.046, -0.42, PV_LEVEL_TECHNOLOGY},
        {PV_POLY, 2.0, NAN, 0.056, -0.47, PV_LEVEL_TECHNOLOGY},
        {PV_POLY, 10.0, NAN, 0.056, -0.45, PV_LEVEL_TECHNOLOGY},
        {PV_THIN_FILM, 2.0, NAN, 0.043, -0.31, PV_LEVEL_TECHNOLOGY},
        {PV_THIN_FILM, 10.0, NAN, 0.043, -0.33, PV_LEVEL_TECHNOLOGY},
        {PV_UNKNOWN, 2.0, NAN, 0.05, -0.43, PV_LEVEL_FOUR},
        {PV_UNKNOWN, 10.0, NAN, 0.05, -0.43, PV_LEVEL_FOUR},
        {PV_MONO, 2.0, -0.31, 0.046, -0.414, PV_LEVEL_VOC_TEMP},
        {PV_POLY, 2.0, -0.31, 0.056, -0.423, PV_LEVEL_VOC_TEMP},
        {PV_THIN_FILM, 2.0, -0.31, 0.043, -0.317, PV_LEVEL_VOC_TEMP},
        {PV_UNKNOWN, 2.0, -0.31, 0.05, -0.41, PV_LEVEL_VOC_TEMP},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct pv_label label = four(18.75, 1.08 * rows[i].imp_a, 15.0, rows[i].imp_a);
        label.technology = rows[i].technology;
        label.voc_v_per_k = rows[i].voc_pct / 100.0 * label.voc_v;
        struct pv_fit fit = pv_fit(&label);
        assert_null(fit.refused);
        assert_int_equal(fit.level, rows[i].level);
        assert_int_equal(fit.coefficient_from, rows[i].level);
        assert_near(100.0 * fit.isc_a_per_k / label.isc_a, rows[i].isc_pct_want, 1e-12);
        assert_near(fit.power_pct_per_k, rows[i].power_pct_want, 1e-12);
        assert_near(fit.power_pct_per_k_met, fit.power_pct_per_k, 1e-9);
        assert_int_equal(fit.assumed, PV_ASSUMED_ISC_TEMP | PV_ASSUMED_POWER_TEMP);
    }
}

/* What is given goes before every median, and the power's coefficient before the voltage's. */
static void given_coefficients_win(void **state)
{
    (void)state;
    struct pv_label label = four(21.6, 2.56, 17.2, 2.33);
    label.technology = PV_MONO;
    label.isc_pct_per_k = 0.06;
    label.voc_pct_per_k = -0.3;
    label.power_pct_per_k = -0.5;
    struct pv_fit fit = pv_fit(&label);
    assert_int_equal(fit.level, PV_LEVEL_POWER_TEMP);
    assert_near(fit.power_pct_per_k_met, -0.5, 1e-9);
    assert_near(fit.isc_a_per_k, 0.0006 * 2.56, 1e-12);
    assert_near(fit.voc_pct_per_k, -0.3, 1e-12);
    assert_int_equal(fit.assumed, 0);
    label.power_pct_per_k = label.voc_pct_per_k = NAN;
    assert_near(pv_fit(&label).isc_a_per_k, 0.0006 * 2.56, 1e-12);
}

enum { CLASS = PV_ASSUMED_VMP_BY_CLASS, CLASS_VOC = PV_ASSUMED_VOC_BY_CLASS };

static void filled_labels(void **state)
{
    (void)state;
    const double x = NAN;
    static const enum pv_technology mono = PV_MONO, thin = PV_THIN_FILM, any = PV_UNKNOWN;
    const unsigned ratios = PV_ASSUMED_VOC_BY_RATIO | PV_ASSUMED_ISC_BY_RATIO;
    const unsigned imp = PV_ASSUMED_IMP_BY_POWER, vmp = PV_ASSUMED_VMP_BY_POWER;
    const unsigned isc = PV_ASSUMED_ISC_BY_RATIO;
    const struct {
        double power, vmp, imp, voc, isc, cells, for_voltage;
        enum pv_technology technology;
        double want_vmp, want_imp, want_voc, want_isc;
        unsigned assumed;
    } rows[] = {
        /* power and vmp: voc 1.245 vmp, isc 1.075 imp; thin film 1.32 and 1.18 */
        {36, 18, x, x, x, x, x, mono, 18, 2, 22.41, 2.15, imp | ratios},
        {36, 18, x, x, x, x, x, thin, 18, 2, 23.76, 2.36, imp | ratios},
        {36, 18, x, x, x, x, x, any, 18, 2, 22.41, 2.15, imp | ratios | PV_ASSUMED_CRYSTALLINE},
        /* power and imp */
        {36, x, 2, x, x, x, x, mono, 18, 2, 22.41, 2.15, vmp | ratios},
        {36, x, 2, 22, 2.2, x, x, mono, 18, 2, 22, 2.2, vmp},
        /* only voc or only isc missing */
        {x, 18, 2, x, 2.2, x, x, mono, 18, 2, 22.41, 2.2, PV_ASSUMED_VOC_BY_RATIO},
        {x, 18, 2, 22, x, x, x, mono, 18, 2, 22, 2.15, isc},
        /* medians of 36 and 72 cells: 17.9 and 22.2 V, 36.0 and 44.5 V */
        {35.8, x, x, x, x, x, 12, mono, 17.9, 2, 22.2, 2.15, CLASS | CLASS_VOC | imp | isc},
        {72, x, x, x, x, x, 24, mono, 36, 2, 44.5, 2.15, CLASS | CLASS_VOC | imp | isc},
        {35.8, x, x, x, x, 36, x, mono, 17.9, 2, 22.2, 2.15, CLASS | CLASS_VOC | imp | isc},
        {72, x, x, x, x, 72, 12, mono, 36, 2, 44.5, 2.15, CLASS | CLASS_VOC | imp | isc},
        {35.8, x, x, x, x, 40, 12, mono, 17.9, 2, 22.2, 2.15, CLASS | CLASS_VOC | imp | isc},
        {61.8, x, x, x, x, 60, x, mono, 30.9, 2, 37.91, 2.15, CLASS | CLASS_VOC | imp | isc},
        {35.8, x, x, 21.5, x, x, 12, mono, 17.9, 2, 21.5, 2.15, CLASS | imp | isc},
        /* the panel's own figures go before "for 12 V" */
        {36, 18, x, x, x, 72, 24, mono, 18, 2, 22.41, 2.15, imp | ratios},
        /* "for 12 V" in thin film: as crystalline, and said so; its cells tell nothing */
        {35.8, x, x, x, x, 72, 12, thin, 17.9, 2, 22.2, 2.15,
         CLASS | CLASS_VOC | imp | isc | PV_ASSUMED_THIN_AS_CRYSTALLINE},
    };
    const unsigned coefficients = PV_ASSUMED_ISC_TEMP | PV_ASSUMED_POWER_TEMP;
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct pv_label label = four(rows[i].voc, rows[i].isc, rows[i].vmp, rows[i].imp);
        label.power_w = rows[i].power;
        label.cells = rows[i].cells;
        label.for_voltage_v = rows[i].for_voltage;
        label.technology = rows[i].technology;
        struct pv_fit fit = pv_fit(&label);
        assert_null(fit.refused);
        assert_int_equal(fit.level, PV_LEVEL_FILLED);
        assert_near(fit.vmp_v, rows[i].want_vmp, 1e-12);
        assert_near(fit.imp_a, rows[i].want_imp, 1e-12);
        assert_near(fit.voc_v, rows[i].want_voc, 1e-12);
        assert_near(fit.isc_a, rows[i].want_isc, 1e-12);
        assert_int_equal(fit.assumed, rows[i].assumed | coefficients);
        check_meets_label(&fit);
    }
}

/* ---- What is refused, what is doubted ---- */

static void refused_labels(void **state)
{
    (void)state;
    static const struct {
        double voc, isc, vmp, imp, power_pct, voc_pct;
        const char *says;
    } rows[] = {
        /* four faulty rows of the published module list */
        {32.95, 5.21, 25.31, 7.71, NAN, NAN, "imp must be below isc"},
        {32.40, 7.72, 26.78, 7.09, 0.586, NAN, "below 0 %/K"},
        {32.40, 7.83, 26.95, 7.24, 0.586, NAN, "below 0 %/K"},
        {32.62, 8.04, 27.22, 7.35, 0.586, NAN, "below 0 %/K"},
        /* at each limit */
        {20, 5, 20, 4, NAN, NAN, "vmp must be below voc"},
        {20, 5, 16, 5, NAN, NAN, "imp must be below isc"},
        {20, 5, 10, 4, NAN, NAN, "above half of voc"},
        {20, 5, 16, 2.5, NAN, NAN, "above half of isc"},
        {20, 5, 16, 4, 0, NAN, "below 0 %/K"},
        {20, 5, 16, 4, NAN, 0, "voc_temp must be below 0"},
        {20, 5, 19.9, 4.99, NAN, NAN, "too near"},
        {-20, 5, 16, 4, NAN, NAN, "above 0 V"},
        {20, 0, 16, 4, NAN, NAN, "above 0 A"},
        {20, INFINITY, 16, 4, NAN, NAN, "beyond any"},
        {20, 5, 16, 4, -0.4, -INFINITY, "beyond any"},
        {2e6, 5, 1.6e6, 4, NAN, NAN, "beyond any"},
        {20, 5, NAN, 4, NAN, NAN, "vmp is not known"},
        {20, 5, 16, NAN, NAN, NAN, "imp is not known"},
        {20, 5, NAN, NAN, NAN, NAN, "vmp is not known"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct pv_label label = four(rows[i].voc, rows[i].isc, rows[i].vmp, rows[i].imp);
        label.power_pct_per_k = rows[i].power_pct;
        label.voc_pct_per_k = rows[i].voc_pct;
        struct pv_fit fit = pv_fit(&label);
        assert_non_null(fit.refused);
        if (!strstr(fit.refused, rows[i].says))
            fail_msg("row %zu says: %s", i, fit.refused);
    }
}

/* Limits: 5th and 95th percentile of mono modules under 150 W; 3 % of the stated power. */
static void doubtful_labels(void **state)
{
    (void)state;
    static const struct {
        double power, voc_ratio, isc_ratio, voc_pct, isc_pct, power_pct;
        unsigned want;
    } rows[] = {
        {40, 1.25, 1.07, -0.33, 0.05, -0.45, 0},
        {41.2, 1.25, 1.07, -0.33, 0.05, -0.45, 0},
        {41.3, 1.25, 1.07, -0.33, 0.05, -0.45, PV_WARN_POWER_DIFFERS},
        {38.8, 1.25, 1.07, -0.33, 0.05, -0.45, PV_WARN_POWER_DIFFERS},
        {40, 1.307, 1.07, -0.33, 0.05, -0.45, PV_WARN_VOC_UNUSUAL},
        {40, 1.194, 1.07, -0.33, 0.05, -0.45, PV_WARN_VOC_UNUSUAL},
        {40, 1.25, 1.125, -0.33, 0.05, -0.45, PV_WARN_ISC_UNUSUAL},
        {40, 1.25, 1.03, -0.33, 0.05, -0.45, PV_WARN_ISC_UNUSUAL},
        {40, 1.25, 1.07, -0.42, 0.05, -0.45, PV_WARN_VOC_TEMP_UNUSUAL},
        {40, 1.25, 1.07, -0.272, 0.05, -0.45, PV_WARN_VOC_TEMP_UNUSUAL},
        {40, 1.25, 1.07, -0.33, 0.028, -0.45, PV_WARN_ISC_TEMP_UNUSUAL},
        {40, 1.25, 1.07, -0.33, 0.089, -0.45, PV_WARN_ISC_TEMP_UNUSUAL},
        {40, 1.25, 1.07, -0.33, 0.05, -0.58, PV_WARN_POWER_TEMP_UNUSUAL},
        {40, 1.25, 1.07, -0.33, 0.05, -0.37, PV_WARN_POWER_TEMP_UNUSUAL},
        {40, 1.25, 1.07, -0.33, 0.05, -6.0,
         PV_WARN_POWER_TEMP_UNUSUAL | PV_WARN_POWER_TEMP_NOT_MET},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct pv_label label = four(16.0 * rows[i].voc_ratio, 2.5 * rows[i].isc_ratio, 16.0, 2.5);
        label.technology = PV_MONO;
        label.power_w = rows[i].power;
        label.voc_pct_per_k = rows[i].voc_pct;
        label.isc_pct_per_k = rows[i].isc_pct;
        label.power_pct_per_k = rows[i].power_pct;
        struct pv_fit fit = pv_fit(&label);
        assert_null(fit.refused);
        assert_int_equal(fit.warnings, rows[i].want);
        check_meets_label(&fit);
    }
}

static void every_flag_has_words(void **state)
{
    (void)state;
    for (unsigned flag = 1; flag <= PV_ASSUMED_LAST; flag <<= 1)
        assert_non_null(pv_assumed_words(flag));
    for (unsigned flag = 1; flag <= PV_WARN_LAST; flag <<= 1)
        assert_non_null(pv_warning_words(flag));
    assert_null(pv_assumed_words(PV_ASSUMED_LAST << 1));
    assert_null(pv_warning_words(3));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(reference_fits),
        cmocka_unit_test(published_parameters),
        cmocka_unit_test(agrees_with_plain_bisection),
        cmocka_unit_test(random_labels),
        cmocka_unit_test(absurd_labels),
        cmocka_unit_test(module_list),
        cmocka_unit_test(from_power_and_vmp),
        cmocka_unit_test(coefficients_by_level),
        cmocka_unit_test(given_coefficients_win),
        cmocka_unit_test(filled_labels),
        cmocka_unit_test(refused_labels),
        cmocka_unit_test(doubtful_labels),
        cmocka_unit_test(every_flag_has_words),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
