#include "solve/threshold.h"

#include <math.h>

#include "solve/condition.h"
#include "solve/electric.h"
#include "solve/water.h"

/* The sun that is looked at, W/m2. */
#define LEAST_SUN 1.0
#define MOST_SUN 1300.0
enum { GRID = 48 };

struct question {
    struct circuit *circuit;
    size_t tree;     /* of the panels */
    size_t taker;    /* whose answer is wanted */
    bool from_dark;  /* else: at all */
    bool flows;      /* water has to come, not only turning */
};

static bool holds(const struct question *question, double sun)
{
    struct circuit *circuit = question->circuit;
    const struct taker *taker = &circuit->takers.at[question->taker];
    electric_set_sun(circuit, sun, NAN);
    if (!electric_all_run(circuit, question->tree, question->from_dark))
        return false;
    if (taker->kind == TAKER_CONVERTER)
        return taker->state == CONVERTER_REGULATING;
    if (!question->flows)
        return true;
    const struct pump *pump = &circuit->pumps.at[taker->pump];
    double by_speed;
    water_share(circuit, taker->pump, motor_speed(&taker->motor, taker->volts, true, NULL), &by_speed);
    return pump->flow > 0.0;
}

/* The least sun at which it holds, NAN: never. */
static double least_sun(const struct question *question)
{
    double low = LEAST_SUN;
    if (holds(question, low))
        return low;
    double factor = pow(MOST_SUN / LEAST_SUN, 1.0 / GRID), high = NAN;
    for (int i = 1; i <= GRID; i++) {
        double sun = i == GRID ? MOST_SUN : LEAST_SUN * pow(factor, i);
        if (holds(question, sun)) {
            high = sun;
            break;
        }
        low = sun;
    }
    while (high - low > 1e-11 * high) {
        double middle = 0.5 * (low + high);
        if (holds(question, middle))
            high = middle;
        else
            low = middle;
    }
    return high;
}

/* The panels' tree that feeds a tree; NONE when anything else does, or nothing. */
static size_t panels_above(const struct circuit *circuit, size_t tree)
{
    for (size_t n = 0; n <= circuit->trees.count; n++) {
        const struct tree *t = &circuit->trees.at[tree];
        if (!t->known)
            return NONE;
        if (t->feeder == NONE)
            return t->panels && !t->battery && !t->supply && !t->charger ? tree : NONE;
        tree = circuit->knots.at[circuit->takers.at[t->feeder].knot].tree;
    }
    return NONE;
}

static void prepare(struct circuit *circuit)
{
    struct weather weather = condition_weather(circuit->rig);
    circuit->air_degc = 0.5 * (weather.air_low + weather.air_high);
    circuit->water_degc = 0.5 * (weather.water_low + weather.water_high);
    circuit->weak = true;
    circuit->no_flow = false;
    circuit->sun = MOST_SUN;
    electric_prepare(circuit, NAN, BATTERY_FULL);
    water_prepare(circuit);
    water_set_valves(circuit, false);
}

void threshold_solve(struct circuit *circuit)
{
    prepare(circuit);
    for (size_t i = 0; i < circuit->takers.count; i++) {
        const struct taker *taker = &circuit->takers.at[i];
        size_t tree = panels_above(circuit, circuit->knots.at[taker->knot].tree);
        bool pump = taker->kind == TAKER_MOTOR && circuit_is_kind(circuit, taker->part, "pump");
        if (tree == NONE || (!pump && taker->kind != TAKER_CONVERTER))
            continue;
        struct question question = { circuit, tree, i, true, false };
        circuit_put_once(circuit, taker->part, FIELD_START_SUN, least_sun(&question));
        question.from_dark = false;
        circuit_put_once(circuit, taker->part, FIELD_STOP_SUN, least_sun(&question));
        if (!pump || taker->pump == NONE ||
            !circuit->branches.at[circuit->elements.at[circuit->pumps.at[taker->pump].element].branch].known)
            continue;
        question.from_dark = true;
        question.flows = true;
        circuit_put_once(circuit, taker->part, FIELD_FLOW_SUN, least_sun(&question));
    }
}
