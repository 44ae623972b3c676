/* test_solve_brute.c - random rigs with one panel and one pump, against a slow and simple
 * reckoning: every equation by halving, every meeting point by looking along the voltage. Only
 * the laws of single parts (src/physics) are shared; how they settle together is not. */
#include "rigs.h"

#include "physics/ampacity.h"
#include "physics/coil.h"
#include "physics/conductor.h"
#include "physics/fitting.h"
#include "physics/motor.h"
#include "physics/pipe.h"
#include "physics/pump.h"
#include "physics/pv.h"
#include "physics/roughness.h"
#include "physics/water.h"
#include "solve/circuit.h"
#include "solve/threshold.h"

enum feed { DIRECT, STEP_DOWN, PASSING, BOTH, FEEDS };
enum end { LOOP, LIFT_FREE, LIFT_TANK, ENDS };

struct sketch { /* what a random rig is made of */
    double vmp, imp, voc, isc;
    enum feed feed;
    double output, dropout, min_input, restart, max_a, efficiency, idle;
    bool regulated, diaphragm;
    double rated_v, rated_w, start_v, max_head, max_flow;
    double length[2]; /* of the cables: panel to converter (or pump), converter to pump */
    enum end end;
    double pipe_length[2], pipe_bore, tube_length, lift;
    bool coil;
};

static uint64_t seed;

static double uniform(double low, double high)
{
    seed = seed * 6364136223846793005u + 1442695040888963407u;
    return low + (high - low) * (double)(seed >> 11) / 9007199254740992.0;
}

/* Rounded, so that the text and the sketch hold the same number. */
static double pick(double low, double high)
{
    return round(uniform(low, high) * 1000.0) / 1000.0;
}

static struct sketch draw(void)
{
    struct sketch s = {0};
    s.vmp = pick(15, 38);
    s.imp = pick(0.5, 5);
    s.voc = round(s.vmp * uniform(1.18, 1.28) * 1000.0) / 1000.0;
    s.isc = round(s.imp * uniform(1.05, 1.12) * 1000.0) / 1000.0;
    s.feed = (enum feed)(int)uniform(0, FEEDS);
    s.regulated = uniform(0, 1) < 0.3;
    s.diaphragm = uniform(0, 1) < 0.2;
    s.rated_v = uniform(0, 1) < 0.6 ? 12.0 : 24.0;
    s.rated_w = pick(3, 60);
    s.start_v = pick(0.3, 0.7) * s.rated_v;
    s.max_head = pick(1.5, 12);
    s.max_flow = pick(150, 1500);
    s.output = s.rated_v;
    s.dropout = pick(0.5, 3);
    s.min_input = s.feed == BOTH ? pick(5, 9) : pick(6, 10);
    s.restart = s.min_input + pick(0.3, 4);
    s.max_a = pick(2, 8);
    s.efficiency = round(uniform(80, 96)) / 100.0;
    s.idle = uniform(0, 1) < 0.5 ? 0.0 : pick(0.01, 0.3);
    s.length[0] = pick(1, 15);
    s.length[1] = pick(0.5, 10);
    s.end = (enum end)(int)uniform(0, ENDS);
    s.pipe_length[0] = pick(1, 20);
    s.pipe_length[1] = pick(1, 20);
    s.pipe_bore = pick(9, 20);
    s.coil = uniform(0, 1) < 0.6;
    s.tube_length = pick(5, 30);
    s.lift = pick(0.7, 8);
    return s;
}

static const char *text_of(const struct sketch *s)
{
    static char text[4096];
    char converter[512] = "", cables[512], water[1024];
    static const char *const types[] = {"", "type: step-down", "type: step-down, pass_through: yes",
                                        "type: both"};
    if (s->feed != DIRECT)
        snprintf(converter, sizeof converter,
                 "  conv: { is: converter, %s, input: 5 .. 60 V, output: %.17g V, dropout: %.17g "
                 "V, min_input: %.17g V, "
                 "restart_input: %.17g V, max_current: %.17g A, efficiency: %.17g %%, idle_power: "
                 "%.17g W }\n",
                 types[s->feed], s->output, s->dropout, s->min_input, s->restart, s->max_a,
                 100.0 * s->efficiency, s->idle);
    snprintf(cables, sizeof cables,
             "  - { from: panel, to: %s, area: 2.5 mm2, class: flexible, length: %.17g m }\n",
             s->feed == DIRECT ? "pump" : "conv", s->length[0]);
    if (s->feed != DIRECT)
        snprintf(cables + strlen(cables), sizeof cables - strlen(cables),
                 "  - { from: conv, to: pump, area: 1.5 mm2, length: %.17g m }\n", s->length[1]);
    snprintf(water, sizeof water, "  - { from: drum, to: pump }\n");
    const char *to = s->end == LIFT_TANK ? "upper" : "drum";
    if (s->coil)
        snprintf(water + strlen(water), sizeof water - strlen(water),
                 "  - { id: p1, from: pump, to: coil, bore: %.17g mm, material: hdpe, length: "
                 "%.17g m, fittings: { elbow: 2 } }\n"
                 "  - { id: p2, from: coil, to: %s, bore: %.17g mm, material: hdpe, length: %.17g "
                 "m, ends: %s, end_height: %.17g m }\n",
                 s->pipe_bore, s->pipe_length[0], to, s->pipe_bore, s->pipe_length[1],
                 s->end == LIFT_FREE ? "free" : "under-water", s->lift);
    else
        snprintf(water + strlen(water), sizeof water - strlen(water),
                 "  - { id: p2, from: pump, to: %s, bore: %.17g mm, material: hdpe, length: %.17g "
                 "m, ends: %s, end_height: %.17g m }\n",
                 to, s->pipe_bore, s->pipe_length[1], s->end == LIFT_FREE ? "free" : "under-water",
                 s->lift);
    snprintf(
        text, sizeof text,
        "rigtally: 1\nname: t\nsite: { air: -10 .. 34 degC, water: 6 .. 40 degC }\nparts:\n"
        "  panel: { is: panel, vmp: %.17g V, imp: %.17g A, voc: %.17g V, isc: %.17g A }\n%s"
        "  pump: { is: pump, type: %s, voltage: %.17g V, power: %.17g W, regulated: %s, "
        "start_voltage: %.17g V, "
        "max_head: %.17g m, max_flow: %.17g L/h }\n"
        "  drum: { is: tank, volume: 90 L, height: 0 m, level: 0.5 m }\n%s%scables:\n%spipes:\n%s",
        s->vmp, s->imp, s->voc, s->isc, converter, s->diaphragm ? "diaphragm" : "centrifugal",
        s->rated_v, s->rated_w, s->regulated ? "yes" : "no", s->start_v, s->max_head, s->max_flow,
        s->end == LIFT_TANK ? "" : "", "", cables, water);
    if (s->end == LIFT_TANK || s->coil) { /* further parts */
        static char all[6144];
        char *cut = strstr(text, "cables:");
        snprintf(all, sizeof all, "%.*s", (int)(cut - text), text);
        if (s->end == LIFT_TANK)
            snprintf(all + strlen(all), sizeof all - strlen(all),
                     "  upper: { is: tank, volume: 50 L, height: %.17g m, level: 0.1 m }\n",
                     s->lift);
        if (s->coil)
            snprintf(all + strlen(all), sizeof all - strlen(all),
                     "  coil: { is: coil, area: 1.2 m2, bore: 10 mm, length: %.17g m, bends: 8, "
                     "material: copper, height: 1 m }\n",
                     s->tube_length);
        strncat(all, cut, sizeof all - strlen(all) - 1);
        return all;
    }
    return text;
}

/* ---- The slow reckoning ---- */

struct slow {
    const struct sketch *s;
    struct pv_fit fit;
    double air, water, sun;
    bool weak, no_flow;
    double fixed_share; /* of no_flow */
    struct pv_array array;
    struct conductor_run first, second;
    double last_flow, last_head;
    bool limited; /* the converter may be at its current limit, which is not looked at here */
    double held_v, held_a; /* pump while a converter regulates */
};

static double lift_of(const struct sketch *s)
{
    if (s->end == LOOP)
        return 0.0;
    return s->end == LIFT_TANK ? s->lift + 0.1 - 0.5 : s->lift - 0.5;
}

/* Head lost along all runs at a flow, against the tank's level. */
static double way_m(const struct slow *slow, double flow)
{
    const struct sketch *s = slow->s;
    double nu = water_viscosity_m2s(WATER_PLAIN, slow->water), bore = s->pipe_bore * 1e-3, slope,
           sum;
    double rough = roughness_m("hdpe");
    sum = pipe_loss_m(flow, bore, s->pipe_length[1], rough, 1.0, nu, &slope);
    if (s->coil) {
        struct coil_tube coil = {COIL_SERPENTINE,      0.01, s->tube_length, 0, 8, 1,
                                 roughness_m("copper")};
        sum += pipe_loss_m(flow, bore, s->pipe_length[0], rough, 2 * 1.5, nu, &slope);
        sum += coil_loss_m(&coil, flow, nu, &slope);
    }
    return sum + lift_of(s);
}

static double pump_m(const struct slow *slow, double flow, double speed)
{
    const struct sketch *s = slow->s;
    double a, b, q = s->max_flow * 1e-3 / 3600.0,
                 rho = water_density_kg_m3(WATER_PLAIN, slow->water);
    struct pump_seat seat = {s->pipe_bore * 1e-3, false};
    if (speed <= 0.0)
        return pump_standing_head_m(&seat, flow, &a);
    if (s->diaphragm)
        return pump_diaphragm_head_m(rho * WATER_GRAVITY_M_S2 * s->max_head, q, rho, flow, speed,
                                     &a, &b);
    struct pump_curve curve;
    pump_curve_of_plate(s->max_head, q, &curve);
    return pump_head_m(&curve, &seat, flow, speed, &a, &b);
}

static double flow_at(struct slow *slow, double speed)
{
    double low = slow->s->end == LIFT_FREE ? 0.0 : -0.01, high = 0.01;
    if (slow->s->end == LIFT_FREE && pump_m(slow, 0.0, speed) <= way_m(slow, 0.0))
        high = 0.0;
    for (int i = 0; i < 80; i++) {
        double middle = 0.5 * (low + high);
        if (pump_m(slow, middle, speed) > way_m(slow, middle))
            low = middle;
        else
            high = middle;
    }
    slow->last_flow = 0.5 * (low + high);
    slow->last_head = way_m(slow, slow->last_flow);
    if (slow->s->end == LIFT_FREE && high == 0.0) {
        slow->last_flow = 0.0;
        slow->last_head = pump_m(slow, 0.0, speed);
    }
    return slow->last_flow;
}

static double pump_a(struct slow *slow, double volts)
{
    const struct sketch *s = slow->s;
    double rated = s->rated_w / s->rated_v, speed = s->regulated ? 1.0 : volts / s->rated_v, share;
    if (slow->no_flow)
        share = s->diaphragm ? 1.0 : 0.6;
    else if (s->diaphragm) {
        double rho = water_density_kg_m3(WATER_PLAIN, slow->water);
        flow_at(slow, speed);
        share = 0.4 + 0.6 * fmin(fmax(slow->last_head / s->max_head, 0.0), 1.0);
        (void)rho;
    } else {
        double q = flow_at(slow, speed);
        share = 0.6 + 0.4 * fmin(1.0, fmax(0.0, q / (speed * s->max_flow * 1e-3 / 3600.0)));
    }
    if (s->regulated)
        return s->rated_w * share / volts;
    return s->diaphragm ? rated * share : rated * speed * speed * share;
}

/* One point of the way up: what the panel's voltage and surplus are when the pump (or, while a
 * converter regulates, its input) stands at a voltage. Everything follows from there without
 * solving. The place on the way, u, rises with the panel's voltage. */
struct point {
    double root_v, over, input_v, pump_v, out_v, out_a, amps;
    bool regulating;
};

/* Pump voltage at the end of the second cable while the converter holds its output: the highest. */
static double held_pump_v(struct slow *slow)
{
    double volts = slow->s->output, high = volts, step = volts / 400.0;
    for (double low = volts - step; low > 0.1 * volts; high = low, low -= step) {
        if (low + conductor_drop_v(&slow->second, pump_a(slow, low), NULL) > volts)
            continue;
        for (int i = 0; i < 60; i++) {
            double middle = 0.5 * (low + high);
            if (middle + conductor_drop_v(&slow->second, pump_a(slow, middle), NULL) > volts)
                high = middle;
            else
                low = middle;
        }
        return low;
    }
    return NAN;
}

static struct point at(struct slow *slow, double u)
{
    const struct sketch *s = slow->s;
    struct point p = {0};
    if (s->feed == DIRECT) {
        p.pump_v = u;
        p.amps = pump_a(slow, u);
        p.input_v = u;
    } else {
        double r = s->dropout / s->max_a;
        p.regulating = s->feed != PASSING || u >= slow->held_v;
        p.pump_v = p.regulating ? slow->held_v : u;
        p.out_a = p.regulating ? slow->held_a : pump_a(slow, u);
        p.out_v = p.regulating ? s->output : u + conductor_drop_v(&slow->second, p.out_a, NULL);
        p.input_v = p.out_v + r * p.out_a;
        if (p.regulating)
            p.input_v = s->feed == PASSING ? p.input_v + (u - slow->held_v) : u;
        double share = p.out_v / (s->efficiency * p.input_v);
        p.amps = p.out_a * (p.regulating ? share : fmax(1.0, share)) + s->idle / p.input_v;
    }
    p.root_v = p.input_v + conductor_drop_v(&slow->first, p.amps, NULL);
    p.over = pv_array_current(&slow->array, p.root_v, NULL) - p.amps;
    return p;
}

static void set(struct slow *slow, double sun, double cell)
{
    slow->sun = sun;
    if (isnan(cell))
        cell = pv_cell_temperature(slow->air, sun, 47.0,
                                   pv_efficiency(slow->s->vmp, slow->s->imp, NAN, PV_UNKNOWN), 1.0);
    slow->array = (struct pv_array){pv_translate(&slow->fit, sun, cell), 1, 1,
                                    slow->weak ? pv_weak_sun_factor(PV_UNKNOWN, sun, false) : 1.0,
                                    slow->fit.isc_factor};
}

/* The point reached from dark; false: it stands. */
static bool settle(struct slow *slow, struct point *out)
{
    const struct sketch *s = slow->s;
    double stop = s->start_v, start = s->start_v, top = pv_array_open_voltage(&slow->array);
    if (s->feed != DIRECT) {
        stop = s->feed == STEP_DOWN ? fmax(s->min_input, s->output + s->dropout) : s->min_input;
        start = fmax(s->restart, stop);
        if (s->feed == PASSING)
            start = fmax(start, s->start_v);
        slow->held_v = held_pump_v(slow);
        slow->held_a = pump_a(slow, slow->held_v);
    }
    if (start > top || isnan(slow->held_v))
        return false;
    /* the way from far below to the panel's open voltage, where its voltage rises with u */
    enum { STEPS = 1500 };
    static struct point way[STEPS + 1];
    size_t first = STEPS;
    for (size_t i = STEPS + 1; i-- > 0;) {
        way[i] = at(slow, 0.05 * top + (top - 0.05 * top) * (double)i / STEPS);
        /* where a converter begins to regulate its current may fall, and the voltage at the panel
         * with it */
        bool corner =
            s->feed == PASSING && i < STEPS && !way[i].regulating && way[i + 1].regulating;
        if (i < STEPS && way[i].root_v >= way[i + 1].root_v && !corner)
            break;
        first = i;
    }
    size_t begin = first;
    while (begin < STEPS && way[begin].root_v < start)
        begin++;
    slow->limited = s->feed != DIRECT && (way[first].root_v > start || way[begin].out_a > s->max_a);
    if (way[first].root_v > start)
        return false; /* the cable cannot carry the load at the start voltage */
    double low = NAN, high = NAN;
    double u0 = 0.05 * top, du = (top - u0) / STEPS;
    /* the start itself lies between begin - 1 and begin */
    double a = u0 + du * (double)(begin ? begin - 1 : 0), b = u0 + du * (double)begin;
    for (int i = 0; i < 60; i++) {
        double middle = 0.5 * (a + b);
        if (at(slow, middle).root_v < start)
            a = middle;
        else
            b = middle;
    }
    if (at(slow, b).over >= 0.0) {
        low = b;
        for (size_t i = begin; i <= STEPS && isnan(high); i++)
            if (way[i].over < 0.0)
                high = u0 + du * (double)i;
            else
                low = u0 + du * (double)i;
        if (isnan(high))
            high = top;
    } else {
        high = b;
        for (size_t i = begin; i-- > first && isnan(low);)
            if (way[i].over >= 0.0)
                low = u0 + du * (double)i;
            else
                high = u0 + du * (double)i;
        if (isnan(low))
            return false;
    }
    for (int i = 0; i < 70; i++) {
        double middle = 0.5 * (low + high);
        if (at(slow, middle).over >= 0.0)
            low = middle;
        else
            high = middle;
    }
    *out = at(slow, low);
    return out->pump_v >= s->start_v && (s->feed == DIRECT || out->input_v >= stop);
}

static void blame(const char *text)
{
    fputs(text, stderr); /* longer than a message may be */
}

static void agree(const char *what, double got, double want, double scale, const char *text)
{
    if (!(fabs(got - want) <= 1e-8 * fmax(fabs(want), scale))) {
        blame(text);
        fail_msg("%s is %.12g, the slow way says %.12g", what, got, want);
    }
}

static struct conductor_run run_of(double area_mm2, enum conductor_class strands, double length,
                                   double air)
{
    struct conductor_wire wire = {.area_m2 = area_mm2 * 1e-6, .strands = strands};
    struct conductor_run run = {.r20_ohm = 2.0 * length * conductor_r20_ohm_per_m(&wire),
                                .coefficient_per_k = 0.00393,
                                .air_degc = air};
    /* IEC 60364-5-52 B.52: 2.5 mm2 flexible, 1.5 mm2 stranded with no way of laying given:
     * installed in conduit (B1), PVC at 70 degC in air of 30; the table's current is asked of the
     * same table as the rig's. */
    run.full_rise_k = NAN;
    return run;
}

static int run_count, threshold_count;

static void compare(struct bench *bench, const struct sketch *s)
{
    const char *text = text_of(s);
    struct rig *rig = bench_solve(bench, text);
    if (bench->diagnostics.count) {
        blame(text);
        fail_msg("%s", bench->diagnostics.at[0].message);
    }
    if (!(solve_imbalance(rig) < 1e-9)) {
        blame(text);
        fail_msg("imbalance %g", solve_imbalance(rig));
    }
    struct slow slow = {.s = s};
    struct pv_label label = pv_label_blank();
    label.vmp_v = s->vmp;
    label.imp_a = s->imp;
    label.voc_v = s->voc;
    label.isc_a = s->isc;
    slow.fit = pv_fit(&label);
    assert_null(slow.fit.refused);
    static const struct {
        enum condition condition;
        double sun, place;
        bool cold, weak, no_flow;
    } rows[] = {
        {CONDITION_BRIGHT_NOON, 1000, 1, false, false, false},
        {CONDITION_WEAK_SUN, 250, 0.5, false, true, false},
        {CONDITION_DEAD_END, 1000, 0, true, false, true},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        enum condition c = rows[i].condition;
        slow.air = -10 + 44 * rows[i].place;
        slow.water = 6 + 34 * rows[i].place;
        slow.weak = rows[i].weak;
        slow.no_flow = rows[i].no_flow;
        slow.first = run_of(2.5, CONDUCTOR_FLEXIBLE, s->length[0], slow.air);
        slow.second = run_of(1.5, CONDUCTOR_STRANDED, s->length[1], slow.air);
        struct ampacity_wire first = {.wire = {.area_m2 = 2.5e-6, .strands = CONDUCTOR_FLEXIBLE},
                                      .insulation_degc = NAN,
                                      .count = 1,
                                      .grouped = 1};
        struct ampacity_wire second = {
            .wire = {.area_m2 = 1.5e-6}, .insulation_degc = NAN, .count = 1, .grouped = 1};
        struct ampacity a = ampacity_find(&first, slow.air), b = ampacity_find(&second, slow.air);
        slow.first.full_current_a = a.full_current_a;
        slow.first.full_rise_k = a.table_degc - a.table_air_degc;
        slow.second.full_current_a = b.full_current_a;
        slow.second.full_rise_k = b.table_degc - b.table_air_degc;
        set(&slow, rows[i].sun, rows[i].cold ? slow.air : NAN);
        struct point point = {0};
        slow.limited = false;
        bool runs = settle(&slow, &point);
        double speed = 0.0;
        if (slow.limited ||
            (s->feed != DIRECT && (point.out_a > s->max_a || slow.held_a > s->max_a)))
            continue; /* at its current limit: another test's matter */
        if (!runs) {
            agree("pump.amps", figure(rig, "pump.amps", c), 0.0, 1.0, text);
            agree("pump.speed_ratio", figure(rig, "pump.speed_ratio", c), 0.0, 1.0, text);
        } else {
            speed = s->regulated ? 1.0 : point.pump_v / s->rated_v;
            agree("panel.volts", figure(rig, "panel.volts", c), point.root_v, 1.0, text);
            agree("panel.amps", figure(rig, "panel.amps", c), point.amps, 0.01, text);
            agree("pump.volts", figure(rig, "pump.volts", c), point.pump_v, 1.0, text);
            agree("pump.speed_ratio", figure(rig, "pump.speed_ratio", c), speed, 0.1, text);
            agree("pump.amps", figure(rig, "pump.amps", c), pump_a(&slow, point.pump_v), 0.01,
                  text);
            if (s->feed != DIRECT) {
                agree("conv.output_volts", figure(rig, "conv.output_volts", c), point.out_v, 1.0,
                      text);
                agree("conv.regulating", figure(rig, "conv.regulating", c), point.regulating, 1.0,
                      text);
            }
            run_count++;
        }
        if (rows[i].no_flow)
            continue;
        double flow = flow_at(&slow, speed);
        if (fabs(flow) < 1e-11)
            flow = 0.0; /* what a shut way leaks */
        agree("pump.flow", figure(rig, "pump.flow", c), flow, 1e-5, text);
        if (flow != 0.0)
            agree("pump.head", figure(rig, "pump.head", c), slow.last_head, 0.1, text);
    }
}

static size_t rigs_wanted(void)
{
    const char *wanted = getenv("RIGTALLY_RIGS");
    return wanted ? (size_t)strtoul(wanted, NULL, 10) : 25;
}

/* Start, stop and first water by the curve of least sun, against halving the sun with the whole
 * rig settled at every try. */
static void compare_thresholds(struct bench *bench, const char *text, const char *const *figures,
                               size_t count)
{
    struct rig *rig = bench_solve(bench, text);
    double quick[12];
    for (size_t i = 0; i < count; i++)
        quick[i] = figure(rig, figures[i], CONDITION_BRIGHT_NOON);
    struct circuit circuit;
    assert_int_equal(circuit_build(rig, &bench->diagnostics, bench->arena, &circuit), OUTCOME_OK);
    threshold_solve_by(&circuit, false);
    circuit_drop(&circuit);
    for (size_t i = 0; i < count; i++) {
        double slow = figure(rig, figures[i], CONDITION_BRIGHT_NOON);
        if (isnan(slow) != isnan(quick[i]) || fabs(slow - quick[i]) > 2e-9 * slow) {
            blame(text);
            fail_msg("%s is %.12g, by halving %.12g", figures[i], quick[i], slow);
        }
        threshold_count += !isnan(slow);
    }
}

/* Two or three pumps on one panel, each with its own tank, one of them perhaps behind a converter.
 */
static const char *several_pumps(size_t *count)
{
    static char text[6144];
    *count = uniform(0, 1) < 0.5 ? 2 : 3;
    bool converter = uniform(0, 1) < 0.4;
    snprintf(text, sizeof text,
             "rigtally: 1\nname: t\nsite: { air: -10 .. 34 degC, water: 6 .. 40 degC }\nparts:\n"
             "  panel: { is: panel, vmp: 17.6 V, imp: %.3f A, voc: 22 V, isc: %.3f A }\n  box: { "
             "is: junction }\n",
             uniform(1, 4), 4.5);
    if (converter)
        snprintf(text + strlen(text), sizeof text - strlen(text),
                 "  conv: { is: converter, type: both, input: 5 .. 60 V, output: 12 V, min_input: "
                 "%.3f V, restart_input: %.3f V, "
                 "efficiency: 90 %% }\n",
                 uniform(6, 9), uniform(9, 14));
    for (size_t i = 0; i < *count; i++)
        snprintf(text + strlen(text), sizeof text - strlen(text),
                 "  pump%zu: { is: pump, voltage: 12 V, power: %.3f W, regulated: %s, "
                 "start_voltage: %.3f V, max_head: %.3f m, "
                 "max_flow: %.3f L/h }\n  drum%zu: { is: tank, volume: 90 L, height: 0 m, level: "
                 "0.5 m }\n",
                 i, uniform(2, 12), uniform(0, 1) < 0.4 ? "yes" : "no", uniform(4, 9),
                 uniform(1.5, 8), uniform(200, 900), i);
    strcat(text, "cables:\n  - { from: panel, to: box, area: 2.5 mm2, length: 4 m }\n");
    if (converter)
        strcat(text, "  - { from: box, to: conv, area: 2.5 mm2, length: 2 m }\n");
    for (size_t i = 0; i < *count; i++)
        snprintf(text + strlen(text), sizeof text - strlen(text),
                 "  - { from: %s, to: pump%zu, area: 1.5 mm2, length: %.3f m }\n",
                 converter && i == 0 ? "conv" : "box", i, uniform(1, 9));
    strcat(text, "pipes:\n");
    for (size_t i = 0; i < *count; i++)
        snprintf(text + strlen(text), sizeof text - strlen(text),
                 "  - { from: drum%zu, to: pump%zu }\n  - { from: pump%zu, to: drum%zu, bore: 13 "
                 "mm, length: 5 m, material: hdpe, "
                 "ends: free, end_height: %.3f m }\n",
                 i, i, i, i, uniform(0.4, 3));
    return text;
}

static void several_pumps_on_a_panel(void **state)
{
    (void)state;
    static const char *const figures[] = {"pump0.start_sun", "pump0.stop_sun", "pump0.flow_sun",
                                          "pump1.start_sun", "pump1.stop_sun", "pump1.flow_sun",
                                          "pump2.start_sun", "pump2.stop_sun", "pump2.flow_sun"};
    seed = 5;
    for (size_t i = 0; i < rigs_wanted() / 5; i++) {
        struct bench bench;
        size_t count;
        const char *text = several_pumps(&count);
        bench_open(&bench);
        compare_thresholds(&bench, text, figures, 3 * count);
        bench_close(&bench);
    }
}

static void random_rigs(void **state)
{
    (void)state;
    static const char *const figures[] = {"pump.start_sun", "pump.stop_sun", "pump.flow_sun",
                                          "conv.start_sun", "conv.stop_sun"};
    seed = 20;
    struct bench bench;
    for (size_t i = 0; i < rigs_wanted(); i++) {
        struct sketch sketch = draw();
        bench_open(&bench);
        compare(&bench, &sketch);
        compare_thresholds(&bench, text_of(&sketch), figures, sketch.feed == DIRECT ? 3 : 5);
        bench_close(&bench);
    }
    print_message("%d running points, %d thresholds agree\n", run_count, threshold_count);
    assert_true(run_count > 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(random_rigs),
                                       cmocka_unit_test(several_pumps_on_a_panel)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
