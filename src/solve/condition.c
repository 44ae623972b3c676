#include "solve/condition.h"

#include <math.h>

#include "physics/collector.h"
#include "solve/electric.h"
#include "solve/water.h"

struct weather condition_weather(const struct rig *rig)
{
    struct weather weather = {NAN, NAN, NAN, NAN};
    const struct part *site = &rig->parts[rig->site];
    part_range(site, "air", &weather.air_low, &weather.air_high);
    part_range(site, "water", &weather.water_low, &weather.water_high);
    return weather;
}

/* What each condition fixes: sun, where the air (and the water) stands in its range, whether the
 * cells have the air's temperature, the battery. */
static const struct {
    double sun, place; /* 0: lowest, 1: highest */
    bool cold_cells, weak;
    enum battery_state battery;
} fixed[CONDITION_COUNT] = {
    [CONDITION_BRIGHT_NOON] = {1000.0, 1.0, false, false, BATTERY_FULL},
    [CONDITION_CLOUD_EDGE] = {1250.0, 1.0, false, false, BATTERY_FULL},
    [CONDITION_WEAK_SUN] = {250.0, 0.5, false, true, BATTERY_FULL},
    [CONDITION_COLD_DAWN] = {1000.0, 0.0, true, false, BATTERY_FULL},
    [CONDITION_DARK] = {0.0, 0.0, true, false, BATTERY_DISCONNECT},
    [CONDITION_DEAD_END] = {1000.0, 0.0, true, false, BATTERY_CHARGING},
    [CONDITION_STANDSTILL] = {1000.0, 1.0, false, false, BATTERY_FULL},
};

static void set_weather(struct circuit *circuit, enum condition condition)
{
    struct weather weather = condition_weather(circuit->rig);
    double place = fixed[condition].place;
    circuit->air_degc = place == 0.5  ? 0.5 * (weather.air_low + weather.air_high)
                        : place > 0.5 ? weather.air_high
                                      : weather.air_low;
    circuit->water_degc = place == 0.5  ? 0.5 * (weather.water_low + weather.water_high)
                          : place > 0.5 ? weather.water_high
                                        : weather.water_low;
    circuit->sun = fixed[condition].sun;
    circuit->weak = fixed[condition].weak;
    circuit->no_flow = condition == CONDITION_DEAD_END;
    circuit_put(circuit, circuit->rig->site, FIELD_AIR_NOW, condition, circuit->air_degc);
    circuit_put(circuit, circuit->rig->site, FIELD_SUN_NOW, condition, circuit->sun);
}

/* At cloud-edge the cells are as warm as at bright noon: the flash is over before they warm up. */
static void prepare_cells(struct circuit *circuit, enum condition condition)
{
    electric_prepare(circuit, fixed[condition].cold_cells ? circuit->air_degc : NAN,
                     fixed[condition].battery);
    if (condition != CONDITION_CLOUD_EDGE)
        return;
    for (size_t i = 0; i < circuit->panels.count; i++) {
        struct panel *panel = &circuit->panels.at[i];
        if (panel->fit.refused)
            continue;
        panel->cell_degc = pv_cell_temperature(circuit->air_degc, 1000.0, panel->noct_degc,
                                               pv_efficiency(panel->fit.vmp_v, panel->fit.imp_a,
                                                             panel->area_m2, panel->fit.technology),
                                               1.0);
        panel->array.cell = pv_translate(&panel->fit, circuit->sun, panel->cell_degc);
        panel->open_v = pv_array_open_voltage(&panel->array);
    }
}

static void run_pumps(struct circuit *circuit, enum condition condition, double *fastest)
{
    electric_settle(circuit);
    if (!circuit->no_flow && water_release_pilots(circuit))
        electric_settle(circuit); /* valves opened: once more, with them open */
    if (!circuit->no_flow)
        water_solve(circuit);
    for (size_t i = 0; i < circuit->pumps.count; i++)
        fastest[i] = fmax(fastest[i], circuit->pumps.at[i].speed);
    electric_report(circuit, condition);
}

/* A pipe at a coil gets its heat; between two coils, that of the hotter one. */
static void heat_pipe(struct circuit *circuit, size_t pipe, double degc)
{
    double so_far =
        part_solved(&circuit->rig->parts[pipe], "water_temperature_high", CONDITION_STANDSTILL);
    if (!(degc <= so_far))
        circuit_put(circuit, pipe, FIELD_WATER_TEMPERATURE_HIGH, CONDITION_STANDSTILL, degc);
}

static void report_standstill(struct circuit *circuit)
{
    const struct rig *rig = circuit->rig;
    for (size_t i = 0; i < rig->part_count; i++) {
        if (!circuit_is_kind(circuit, i, "coil"))
            continue;
        struct collector collector = {.area_m2 = part_number(&rig->parts[i], "area"),
                                      .optical_gain = part_number(&rig->parts[i], "optical_gain"),
                                      .loss_w_m2k = part_number(&rig->parts[i], "heat_loss"),
                                      .test_kg_m2s = NAN};
        double degc = collector_standstill_degc(&collector, circuit->sun, circuit->air_degc);
        circuit_put(circuit, i, FIELD_STANDSTILL_TEMPERATURE, CONDITION_STANDSTILL, degc);
        for (size_t t = circuit->touch_first[i]; t < circuit->touch_first[i + 1]; t++)
            if (circuit_is_kind(circuit, circuit->touch[t], "pipe"))
                heat_pipe(circuit, circuit->touch[t], degc);
    }
}

static void stand_pumps(struct circuit *circuit, enum condition condition)
{
    for (size_t i = 0; i < circuit->pumps.count; i++) {
        circuit->pumps.at[i].speed = 0.0;
        if (circuit->pumps.at[i].fed_known)
            circuit_put(circuit, circuit->pumps.at[i].part, FIELD_SPEED_RATIO, condition, 0.0);
    }
    water_forget(circuit);
}

void condition_solve(struct circuit *circuit, enum condition condition, double *fastest)
{
    bool standstill = condition == CONDITION_STANDSTILL;
    set_weather(circuit, condition);
    prepare_cells(circuit, condition);
    water_prepare(circuit);
    water_set_valves(circuit, standstill);
    if (standstill) {
        for (size_t i = 0; i < circuit->panels.count; i++)
            if (!circuit->panels.at[i].fit.refused)
                circuit_put(circuit, circuit->panels.at[i].part, FIELD_CELL_TEMPERATURE, condition,
                            circuit->panels.at[i].cell_degc);
        stand_pumps(circuit, condition);
        report_standstill(circuit);
    } else {
        electric_report_panels(circuit, condition, condition == CONDITION_COLD_DAWN);
        if (condition == CONDITION_COLD_DAWN) {
            electric_report_cold(circuit, condition);
            stand_pumps(circuit, condition);
            water_release_pilots(circuit);
            water_solve(circuit);
        } else {
            run_pumps(circuit, condition, fastest);
        }
    }
    if (condition == CONDITION_BRIGHT_NOON)
        water_keep_valves(circuit);
    water_report(circuit, condition, standstill || condition == CONDITION_DEAD_END);
    if (condition == CONDITION_DEAD_END)
        water_report_dead_end(circuit, condition);
    water_report_rest(circuit, condition);
    if (!standstill && condition != CONDITION_DEAD_END)
        circuit->imbalance = fmax(circuit->imbalance, water_imbalance(circuit));
}

void condition_set_mean(struct circuit *circuit, double sun)
{
    struct weather weather = condition_weather(circuit->rig);
    circuit->air_degc = 0.5 * (weather.air_low + weather.air_high);
    circuit->water_degc = 0.5 * (weather.water_low + weather.water_high);
    circuit->weak = true;
    circuit->no_flow = false;
    circuit->sun = sun;
    electric_prepare(circuit, NAN, BATTERY_FULL);
    water_prepare(circuit);
}
