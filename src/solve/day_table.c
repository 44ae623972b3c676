/* day_table.c - operating points of a rig by the sun on its panels and the charge of its
 * batteries: dear to find, so found once at equal steps. */
#include <math.h>

#include "physics/lookup.h"
#include "solve/condition.h"
#include "solve/day.h"
#include "solve/electric.h"
#include "solve/water.h"

/* ---- What feeds what ---- */

static size_t tree_of(const struct circuit *circuit, const struct taker *taker)
{
    return circuit->knots.at[taker->knot].tree;
}

enum feed day_feed(const struct circuit *circuit, const struct taker *taker, size_t *root)
{
    size_t at = tree_of(circuit, taker);
    for (size_t n = 0; n <= circuit->trees.count; n++) {
        const struct tree *tree = &circuit->trees.at[at];
        *root = at;
        if (!tree->known)
            return FEED_NOTHING;
        if (tree->feeder == NONE)
            return tree->supply                     ? FEED_SUPPLY
                   : tree->battery                  ? FEED_BATTERY
                   : tree->panels && !tree->charger ? FEED_PANELS
                                                    : FEED_NOTHING;
        at = tree_of(circuit, &circuit->takers.at[tree->feeder]);
    }
    return FEED_NOTHING;
}

/* A pump's start_sun or stop_sun from the named solve; INFINITY: it never runs. */
static double threshold(const struct circuit *circuit, size_t pump, const char *attribute)
{
    double sun = part_solved(&circuit->rig->parts[circuit->pumps.at[pump].part], attribute,
                             CONDITION_BRIGHT_NOON);
    return isnan(sun) ? INFINITY : sun;
}

static bool is_on_panels(const struct circuit *circuit, size_t pump, size_t *root)
{
    size_t taker = circuit->pumps.at[pump].taker;
    return taker != NONE && day_feed(circuit, &circuit->takers.at[taker], root) == FEED_PANELS;
}

/* ---- One point ---- */

static void set_charge(struct circuit *circuit, double share)
{
    for (size_t i = 0; i < circuit->givers.count; i++) {
        struct giver *giver = &circuit->givers.at[i];
        if (giver->kind == GIVER_BATTERY)
            giver->open_v = battery_open_v(&giver->battery, share, NULL);
    }
}

static void settle(struct circuit *circuit)
{
    water_set_valves(circuit, false);
    electric_settle(circuit);
    if (water_release_pilots(circuit))
        electric_settle(circuit);
}

/* Whether everything hangs on panels and is below the sun at which it starts: then what stands from
 * dark need not be found. */
static bool only_keeps_running(const struct circuit *circuit, double sun)
{
    for (size_t i = 0; i < circuit->trees.count; i++)
        if (circuit->trees.at[i].battery || circuit->trees.at[i].supply)
            return false;
    for (size_t i = 0; i < circuit->pumps.count; i++) {
        size_t root;
        if (!is_on_panels(circuit, i, &root) || sun >= threshold(circuit, i, "start_sun") ||
            sun < threshold(circuit, i, "stop_sun"))
            return false;
    }
    return circuit->pumps.count > 0;
}

/* Below the sun at which it starts, what has been running runs on as long as it can. */
static void keep_running(struct circuit *circuit, double sun)
{
    size_t done = NONE;
    for (size_t i = 0; i < circuit->pumps.count; i++) {
        size_t root;
        if (!is_on_panels(circuit, i, &root))
            continue;
        const struct pump *pump = &circuit->pumps.at[i];
        bool between =
            sun < threshold(circuit, i, "start_sun") && sun >= threshold(circuit, i, "stop_sun");
        if (!between || (root != done && !electric_all_run(circuit, root, false)))
            continue;
        done = root;
        const struct taker *taker = &circuit->takers.at[pump->taker];
        water_set_speed(circuit, i, motor_speed(&taker->motor, taker->volts, true, NULL));
    }
}

static double *column_at(const struct day_table *table, size_t row, size_t column)
{
    return &table->values[(row * table->columns + column) * table->count];
}

static double flow_of(const struct circuit *circuit, size_t element)
{
    return water_flow_of_branch(circuit, circuit->elements.at[element].branch);
}

static void note_point(struct circuit *circuit, const struct day_table *table, const size_t *coils,
                       size_t row, size_t point)
{
    size_t column = 0;
    for (size_t i = 0; i < table->takers; i++) {
        const struct taker *taker = &circuit->takers.at[i];
        column_at(table, row, column++)[point] = taker->amps;
        column_at(table, row, column++)[point] = taker->amps * taker->volts;
    }
    for (size_t i = 0; i < table->pumps; i++)
        column_at(table, row, column++)[point] = flow_of(circuit, circuit->pumps.at[i].element);
    for (size_t i = 0; i < table->coils; i++)
        column_at(table, row, column++)[point] = flow_of(circuit, coils[i]);
}

static void fill_rows(struct circuit *circuit, const struct day_table *table, const size_t *coils)
{
    for (size_t row = 0; row < table->rows; row++)
        for (size_t point = 0; point < table->count; point++) {
            double sun = table->first + DAY_SPACING * (double)point;
            electric_set_sun(circuit, sun, NAN);
            set_charge(circuit, table->rows == 1 ? 1.0 : (double)row);
            if (only_keeps_running(circuit, sun))
                water_set_valves(circuit, false);
            else
                settle(circuit);
            keep_running(circuit, sun);
            water_forget(circuit);
            water_solve(circuit);
            note_point(circuit, table, coils, row, point);
        }
}

/* ---- What panels bring ---- */

static double charge_of(struct circuit *circuit, size_t tree, double volts)
{
    double amps = 0.0;
    for (size_t i = 0; i < circuit->givers.count; i++) {
        const struct giver *giver = &circuit->givers.at[i];
        if (circuit->knots.at[giver->knot].tree == tree &&
            (giver->kind == GIVER_PANELS || giver->kind == GIVER_CHARGER))
            amps += electric_charge_a(circuit, i, volts);
    }
    return amps;
}

static void fill_charge(struct circuit *circuit, const struct day_table *table,
                        const size_t *batteries, size_t battery_count)
{
    for (size_t point = 0; point < table->charge_count; point++) {
        electric_set_sun(circuit, DAY_SPACING * (double)point, NAN);
        for (size_t i = 0; i < battery_count; i++)
            for (size_t full = 0; full < 2; full++) {
                const struct giver *giver = &circuit->givers.at[batteries[i]];
                double volts = battery_open_v(&giver->battery, (double)full, NULL);
                table->charge[(2 * i + full) * table->charge_count + point] =
                    charge_of(circuit, circuit->knots.at[giver->knot].tree, volts);
            }
    }
}

/* ---- The table ---- */

static size_t points_to(double first, double top)
{
    return top > first ? (size_t)ceil((top - first) / DAY_SPACING) + 1 : 1;
}

/* From the least sun at which anything on panels runs; one point when nothing does. */
static void choose_points(const struct circuit *circuit, const struct day_sky *sky,
                          struct day_table *table)
{
    double least = INFINITY;
    for (size_t i = 0; i < circuit->pumps.count; i++) {
        size_t root;
        if (is_on_panels(circuit, i, &root))
            least = fmin(least, threshold(circuit, i, "stop_sun"));
    }
    table->first = least <= sky->top ? least : 0.0;
    table->count = least <= sky->top ? points_to(least, sky->top) : 1;
}

enum outcome day_table_make(struct circuit *circuit, const struct day_sky *sky, const size_t *coils,
                            size_t coil_count, const size_t *batteries, size_t battery_count,
                            struct arena *arena, struct day_table *out)
{
    *out = (struct day_table){.rows = battery_count ? 2 : 1,
                              .takers = circuit->takers.count,
                              .pumps = circuit->pumps.count,
                              .coils = coil_count};
    condition_set_mean(circuit, 0.0);
    choose_points(circuit, sky, out);
    out->columns = 2 * out->takers + out->pumps + out->coils;
    out->charge_count = battery_count ? points_to(0.0, sky->top) : 0;
    out->values = ARENA_TAKE(arena, out->rows * out->columns * out->count + 1, double);
    out->charge = ARENA_TAKE(arena, 2 * battery_count * out->charge_count + 1, double);
    if (!out->values || !out->charge)
        return OUTCOME_NO_MEMORY;
    fill_rows(circuit, out, coils);
    fill_charge(circuit, out, batteries, battery_count);
    return circuit->no_memory ? OUTCOME_NO_MEMORY : OUTCOME_OK;
}

static double value_at(const struct day_table *table, size_t column, double sun, double charge)
{
    struct lookup lookup = {table->first, DAY_SPACING, table->count, column_at(table, 0, column)};
    double empty = lookup_at(&lookup, sun);
    if (table->rows == 1)
        return empty;
    lookup.values = column_at(table, 1, column);
    return empty + (lookup_at(&lookup, sun) - empty) * charge;
}

double day_table_amps(const struct day_table *table, size_t taker, double sun, double charge)
{
    return value_at(table, 2 * taker, sun, charge);
}

double day_table_watts(const struct day_table *table, size_t taker, double sun, double charge)
{
    return value_at(table, 2 * taker + 1, sun, charge);
}

double day_table_pump_m3s(const struct day_table *table, size_t pump, double sun, double charge)
{
    return value_at(table, 2 * table->takers + pump, sun, charge);
}

double day_table_coil_m3s(const struct day_table *table, size_t coil, double sun, double charge)
{
    return value_at(table, 2 * table->takers + table->pumps + coil, sun, charge);
}

double day_table_charge_a(const struct day_table *table, size_t battery, double sun, double charge)
{
    struct lookup lookup = {0.0, DAY_SPACING, table->charge_count,
                            &table->charge[2 * battery * table->charge_count]};
    double empty = lookup_at(&lookup, sun);
    lookup.values += table->charge_count;
    return empty + (lookup_at(&lookup, sun) - empty) * charge;
}
