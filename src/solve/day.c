/* day.c - the day step by step: who runs, what it moves, how warm the water gets, how full the
 * batteries are; and what of it is written down. */
#include "solve/day.h"

#include <math.h>
#include <string.h>

#include "physics/battery_charge.h"
#include "physics/collector.h"
#include "physics/tank.h"
#include "solve/condition.h"
#include "solve/later.h"

/* Share of a submersible motor's power that stays in the water; common practice, no source. */
#define HEAT_SHARE 0.9
/* A battery that ran empty feeds its loads again from this charge on; common practice, no source.
 */
#define BACK_ON_SHARE 0.1

static const struct part *part_at(const struct day *day, size_t part)
{
    return &day->rig->parts[part];
}

static bool is_spare(const struct day *day, size_t part)
{
    return part_is_spare(part_at(day, part));
}

/* ---- What takes part ---- */

/* Heat that a tank loses per kelvin, W/K. */
static double loss_of(const struct part *part, double volume_m3)
{
    bool open = part_is(part, "vented", "yes") && !part_is(part, "lid", "yes");
    return tank_loss_w_k(part_number_or(part, "surface", tank_surface_m2(volume_m3)),
                         part_number_or(part, "insulation", 0.0), part_number(part, "conductivity"),
                         open, part_number_or(part, "water_surface", tank_floor_m2(volume_m3)));
}

static struct day_tank tank_of(const struct day *day, size_t index)
{
    const struct part *part = part_at(day, index);
    struct day_tank tank = {.part = index,
                            .evening_degc = NAN,
                            .dawn_degc = NAN,
                            .end_degc = NAN,
                            .plane = day->sky.plane_count ? 0 : NONE};
    double volume = part_number(part, "volume"), count = part_number_or(part, "count", 1.0);
    if (!(volume > 0.0))
        return tank;
    struct weather weather = condition_weather(day->rig);
    double draws = part_number(part, "draws_from"), back = part_number(part, "returns_at");
    double loss = loss_of(part, volume) * count;
    tank.start_degc = part_number_or(part, "start_temperature", weather.water_low);
    tank.known = !isnan(loss) && !isnan(tank.start_degc);
    if (isnan(draws) || isnan(back))
        tank.heat = tank_heat_mixed(WATER_PLAIN, volume * count, loss, tank.start_degc);
    else
        tank.heat = tank_heat_layered(WATER_PLAIN, volume * count, loss, tank.start_degc, draws,
                                      back, part_number_or(part, "depth", tank_height_m(volume)));
    tank.high_degc = tank.start_degc;
    return tank;
}

static size_t find_tank(const struct day *day, size_t part, const char *relation)
{
    const size_t *others;
    size_t count = rig_related(day->rig, part, relation, &others);
    for (size_t i = 0; i < count; i++)
        for (size_t k = 0; k < day->tanks.count; k++)
            if (day->tanks.at[k].part == others[i])
                return k;
    return NONE;
}

static bool add_tanks(struct day *day)
{
    for (size_t i = 0; i < day->rig->part_count; i++) {
        if (!circuit_is_kind(day->circuit, i, "tank") || is_spare(day, i))
            continue;
        if (!ARENA_GROW(day->arena, &day->tanks))
            return false;
        struct day_tank tank = tank_of(day, i);
        tank.mean_degc = ARENA_TAKE(day->kept, tank.known ? day->sky.steps + 1 : 1, double);
        if (!tank.mean_degc)
            return false;
        tank.mean_degc[0] = tank.start_degc;
        day->tanks.at[day->tanks.count++] = tank;
    }
    return true;
}

static bool add_coils(struct day *day)
{
    for (size_t e = 0; e < day->circuit->elements.count; e++) {
        const struct element *element = &day->circuit->elements.at[e];
        if (element->kind != ELEMENT_COIL)
            continue;
        if (!ARENA_GROW(day->arena, &day->coils))
            return false;
        struct day_coil coil = {.part = element->part,
                                .element = e,
                                .plane = day_sky_plane_of(&day->sky, element->part),
                                .tank = find_tank(day, element->part, "warms")};
        coil.known = day->circuit->branches.at[element->branch].known &&
                     part_number(part_at(day, element->part), "area") > 0.0;
        if (coil.tank != NONE)
            day->tanks.at[coil.tank].plane = coil.plane;
        day->coils.at[day->coils.count++] = coil;
    }
    return true;
}

/* One for each tree: batteries that lie in parallel share its current and count as one. */
static bool add_batteries(struct day *day)
{
    const struct circuit *circuit = day->circuit;
    for (size_t g = 0; g < circuit->givers.count; g++) {
        const struct giver *giver = &circuit->givers.at[g];
        if (giver->kind != GIVER_BATTERY)
            continue;
        double low = day->air_low, high = day->air_high;
        part_range(part_at(day, giver->part), "air", &low, &high);
        struct battery_charge charge = battery_charge_of(
            &giver->battery, battery_cold_multiplier(giver->battery.chemistry, 0.5 * (low + high)),
            NAN, 1.0);
        struct day_battery battery = {.giver = g,
                                      .tree = circuit->knots.at[giver->knot].tree,
                                      .share = 1.0,
                                      .lowest = 1.0,
                                      .capacity_as = charge.capacity_as,
                                      .efficiency = charge.efficiency};
        battery.known = circuit->trees.at[battery.tree].known && battery.capacity_as > 0.0;
        size_t same = 0;
        while (same < day->batteries.count && day->batteries.at[same].tree != battery.tree)
            same++;
        if (same < day->batteries.count) {
            day->batteries.at[same].capacity_as += battery.capacity_as;
            day->batteries.at[same].known &= battery.known;
            continue;
        }
        if (!ARENA_GROW(day->arena, &day->batteries))
            return false;
        day->batteries.at[day->batteries.count++] = battery;
    }
    return true;
}

static size_t battery_on(const struct day *day, size_t tree)
{
    for (size_t i = 0; i < day->batteries.count; i++)
        if (day->batteries.at[i].tree == tree)
            return i;
    return NONE;
}

static bool add_pumps(struct day *day)
{
    const struct circuit *circuit = day->circuit;
    size_t n = circuit->pumps.count;
    day->pumps = ARENA_TAKE(day->arena, n + 1, struct day_pump);
    day->taker_on = ARENA_TAKE(day->arena, circuit->takers.count + 1, bool);
    if (!day->pumps || !day->taker_on)
        return false;
    for (size_t i = 0; i < n; i++) {
        struct day_pump *pump = &day->pumps[i];
        const struct pump *from = &circuit->pumps.at[i];
        const struct part *part = part_at(day, from->part);
        *pump = (struct day_pump){.battery = NONE};
        pump->started = ARENA_TAKE(day->arena, day->sky.steps, unsigned char);
        if (!pump->started)
            return false;
        if (from->taker != NONE)
            pump->feed = day_feed(circuit, &circuit->takers.at[from->taker], &pump->root);
        if (pump->feed == FEED_BATTERY)
            pump->battery = battery_on(day, pump->root);
        pump->known = pump->feed != FEED_NOTHING && day->sky.known;
        pump->flow_known =
            pump->known && circuit->branches.at[circuit->elements.at[from->element].branch].known;
        pump->start_sun = part_solved(part, "start_sun", CONDITION_BRIGHT_NOON);
        pump->stop_sun = part_solved(part, "stop_sun", CONDITION_BRIGHT_NOON);
        pump->tank = find_tank(day, from->part, "fed-by");
        pump->heat_share = part_is(part, "mounting", "submersible") ? HEAT_SHARE : 0.0;
    }
    return true;
}

/* ---- A step: who runs ---- */

static double panel_sun(const struct day *day, size_t step)
{
    return day->sky.panel == NONE ? 0.0 : day->sky.planes[day->sky.panel].sun[step];
}

static double charge_for(const struct day *day, size_t battery)
{
    return battery == NONE ? 1.0 : day->batteries.at[battery].share;
}

static bool valve_lets_through(const struct day *day, size_t branch_index)
{
    const struct branch_of_water *branch = &day->circuit->branches.at[branch_index];
    for (size_t i = 0; i < branch->count; i++) {
        const struct element *element = &day->circuit->elements.at[branch->first + i];
        if (element->kind == ELEMENT_VALVE && element->rests_shut &&
            !day_control_allows(day, element->part))
            return false;
    }
    return true;
}

static bool is_to_run(const struct day *day, size_t index, double sun)
{
    const struct day_pump *pump = &day->pumps[index];
    if (!pump->known || !day_control_allows(day, day->circuit->pumps.at[index].part))
        return false;
    switch (pump->feed) {
    case FEED_PANELS:
        return sun >= pump->start_sun || (pump->running && sun >= pump->stop_sun);
    case FEED_BATTERY:
        return pump->battery != NONE && !day->batteries.at[pump->battery].cut;
    case FEED_SUPPLY:
        return true;
    case FEED_NOTHING:
        break;
    }
    return false;
}

static void count_start(struct day_pump *pump, size_t step, size_t window)
{
    pump->starts++;
    pump->started[step] = 1;
    size_t recent = 0;
    for (size_t i = step + 1 > window ? step + 1 - window : 0; i <= step; i++)
        recent += pump->started[i];
    if (recent > pump->most_starts)
        pump->most_starts = recent;
}

static void run_pump(struct day *day, size_t index, double sun)
{
    struct day_pump *pump = &day->pumps[index];
    const struct pump *of = &day->circuit->pumps.at[index];
    double charge = charge_for(day, pump->battery);
    bool runs = is_to_run(day, index, sun);
    bool today = day->step < day->sky.steps;
    if (runs && !pump->running && day->step > 0 && today)
        count_start(pump, day->step, (size_t)(3600.0 / day->sky.step_s));
    pump->running = runs;
    pump->flow_m3s = pump->watts = 0.0;
    if (!runs)
        return;
    pump->watts = day_table_watts(&day->table, of->taker, sun, charge);
    if (pump->flow_known && valve_lets_through(day, day->circuit->elements.at[of->element].branch))
        pump->flow_m3s = day_table_pump_m3s(&day->table, index, sun, charge);
    if (today) {
        pump->steps_on++;
        pump->moved_m3 += fabs(pump->flow_m3s) * day->sky.step_s;
    }
}

static void switch_takers(struct day *day)
{
    const struct circuit *circuit = day->circuit;
    for (size_t i = 0; i < circuit->takers.count; i++)
        day->taker_on[i] = circuit->takers.at[i].pump == NONE
                               ? day_control_allows(day, circuit->takers.at[i].part)
                               : day->pumps[circuit->takers.at[i].pump].running;
}

/* ---- A step: coils and tanks ---- */

/* Of the water that the pumps of its piece would move together, the share that moves now. */
static double share_moving(const struct day *day, size_t branch, double sun)
{
    const struct circuit *circuit = day->circuit;
    double all = 0.0, now = 0.0;
    size_t pumps = 0;
    for (size_t i = 0; i < circuit->pumps.count; i++) {
        size_t other = circuit->elements.at[circuit->pumps.at[i].element].branch;
        if (circuit->piece_of_branch[other] != circuit->piece_of_branch[branch])
            continue;
        pumps++;
        all +=
            fabs(day_table_pump_m3s(&day->table, i, sun, charge_for(day, day->pumps[i].battery)));
        now += fabs(day->pumps[i].flow_m3s);
    }
    return !pumps ? 1.0 : all > 0.0 ? now / all : 0.0;
}

/* The charge of the battery that moves a coil's water; full when none does. */
static double charge_behind(const struct day *day, size_t branch)
{
    const struct circuit *circuit = day->circuit;
    for (size_t i = 0; i < circuit->pumps.count; i++) {
        size_t other = circuit->elements.at[circuit->pumps.at[i].element].branch;
        if (circuit->piece_of_branch[other] == circuit->piece_of_branch[branch] &&
            day->pumps[i].battery != NONE)
            return charge_for(day, day->pumps[i].battery);
    }
    return 1.0;
}

/* Where a coil's water comes from: the coil before it on the same run of water, else its tank. */
static double inlet_of(const struct day *day, size_t index)
{
    const struct day_coil *coil = &day->coils.at[index];
    size_t branch = day->circuit->elements.at[coil->element].branch;
    if (index > 0 && day->circuit->elements.at[day->coils.at[index - 1].element].branch == branch)
        return day->coils.at[index - 1].outlet_degc;
    return coil->tank == NONE || !day->tanks.at[coil->tank].known
               ? day->water_degc
               : tank_heat_drawn_degc(&day->tanks.at[coil->tank].heat);
}

static void warm_coil(struct day *day, size_t index, double sun)
{
    struct day_coil *coil = &day->coils.at[index];
    const struct element *element = &day->circuit->elements.at[coil->element];
    const struct part *part = part_at(day, coil->part);
    size_t step = day->step % day->sky.steps;
    coil->flow_m3s = coil->gain_w = 0.0;
    coil->inlet_degc = coil->outlet_degc = inlet_of(day, index);
    if (!coil->known || coil->plane == NONE || !valve_lets_through(day, element->branch))
        return;
    coil->flow_m3s =
        fabs(day_table_coil_m3s(&day->table, index, sun, charge_behind(day, element->branch))) *
        share_moving(day, element->branch, sun);
    if (!(coil->flow_m3s > 0.0))
        return;
    double heat = water_heat_j_kgk(element->fluid, TANK_HEAT_AT_DEGC);
    double mass = water_density_kg_m3(element->fluid, TANK_HEAT_AT_DEGC) * coil->flow_m3s;
    struct collector collector = {part_number(part, "area") * element->count,
                                  part_number(part, "optical_gain"), part_number(part, "heat_loss"),
                                  part_number(part, "test_flow")};
    coil->gain_w =
        collector_gain_w(&collector, day->sky.planes[coil->plane].sun[step], coil->inlet_degc,
                         day->sky.air_degc[step], mass / collector.area_m2, heat);
    coil->outlet_degc = coil->inlet_degc + coil->gain_w / (mass * heat);
    if (day->step < day->sky.steps) {
        coil->gain_j += coil->gain_w * day->sky.step_s;
        coil->moved_m3 += coil->flow_m3s * day->sky.step_s;
    }
}

/* Coils in series pass the same water on: it counts once. */
static double loop_flow(const struct day *day, size_t tank)
{
    double flow = 0.0;
    for (size_t i = 0; i < day->coils.count; i++) {
        const struct day_coil *coil = &day->coils.at[i];
        size_t branch = day->circuit->elements.at[coil->element].branch;
        bool again =
            i > 0 && day->circuit->elements.at[day->coils.at[i - 1].element].branch == branch;
        if (coil->tank == tank && !again)
            flow += coil->flow_m3s;
    }
    return flow;
}

static void warm_tank(struct day *day, size_t index)
{
    struct day_tank *tank = &day->tanks.at[index];
    size_t step = day->step % day->sky.steps;
    if (!tank->known)
        return;
    struct tank_heat_input input = {.seconds = day->sky.step_s,
                                    .air_degc = day->sky.air_degc[step],
                                    .flow_m3s = loop_flow(day, index)};
    for (size_t i = 0; i < day->coils.count; i++)
        if (day->coils.at[i].tank == index)
            input.loop_w += day->coils.at[i].gain_w;
    for (size_t i = 0; i < day->circuit->pumps.count; i++)
        if (day->pumps[i].tank == index)
            input.pump_w += day->pumps[i].heat_share * day->pumps[i].watts;
    double lost = tank_heat_step(&tank->heat, &input);
    if (day->step >= day->sky.steps)
        return;
    tank->coil_j += input.loop_w * input.seconds;
    tank->pump_j += input.pump_w * input.seconds;
    tank->lost_j += lost;
    for (int i = 0; i < tank->heat.layers; i++)
        tank->high_degc = fmax(tank->high_degc, tank->heat.degc[i]);
    tank->end_degc = tank_heat_mean_degc(&tank->heat);
    tank->mean_degc[step + 1] = tank->end_degc;
    if (tank->plane != NONE && day->sky.planes[tank->plane].clear[step] > 0.0)
        tank->evening_degc = tank->end_degc;
}

/* ---- A step: batteries ---- */

/* Current of a taker right on a battery's tree; a converter takes its share by what runs behind. */
static double taker_amps(const struct day *day, size_t index, double sun, double charge)
{
    const struct circuit *circuit = day->circuit;
    const struct taker *taker = &circuit->takers.at[index];
    double amps = day_table_amps(&day->table, index, sun, charge);
    if (taker->kind == TAKER_MOTOR)
        return day->taker_on[index] ? amps : 0.0;
    if (taker->kind != TAKER_CONVERTER || taker->output_tree == NONE)
        return amps;
    double all = 0.0, now = 0.0;
    for (size_t i = 0; i < circuit->takers.count; i++) {
        if (circuit->knots.at[circuit->takers.at[i].knot].tree != taker->output_tree)
            continue;
        double watts = day_table_watts(&day->table, i, sun, charge);
        all += watts;
        now += day->taker_on[i] ? watts : 0.0;
    }
    return all > 0.0 ? amps * now / all : amps;
}

static void step_battery(struct day *day, size_t index, double sun)
{
    struct day_battery *battery = &day->batteries.at[index];
    const struct giver *giver = &day->circuit->givers.at[battery->giver];
    double seconds = day->sky.step_s;
    if (!battery->known || day->step >= day->sky.steps)
        return;
    double volts = battery_open_v(&giver->battery, battery->share, NULL), loads = 0.0;
    for (size_t i = 0; i < day->circuit->takers.count && !battery->cut; i++)
        if (day->circuit->knots.at[day->circuit->takers.at[i].knot].tree == battery->tree)
            loads += taker_amps(day, i, sun, battery->share);
    double brought = day_table_charge_a(&day->table, index, sun, battery->share);
    if (brought < 0.0) { /* a controller's own use */
        loads -= brought;
        brought = 0.0;
    }
    struct battery_charge charge = {battery->capacity_as, battery->efficiency, battery->share};
    struct battery_step step = battery_charge_step(&charge, loads - brought, seconds);
    battery->share = charge.share;
    battery->lowest = fmin(battery->lowest, charge.share);
    battery->cut = charge.share <= 0.0 || (battery->cut && charge.share < BACK_ON_SHARE);
    battery->use_j += loads * volts * seconds;
    battery->harvest_j += brought * volts * seconds;
    battery->stored_as += step.stored_as;
    battery->given_as += step.given_as;
    battery->short_as += step.short_as;
    battery->refused_as += step.refused_as;
}

/* ---- The day ---- */

static void one_step(struct day *day)
{
    double sun = panel_sun(day, day->step % day->sky.steps);
    day_control_step(day);
    for (size_t i = 0; i < day->circuit->pumps.count; i++)
        run_pump(day, i, sun);
    switch_takers(day);
    for (size_t i = 0; i < day->coils.count; i++)
        warm_coil(day, i, sun);
    for (size_t i = 0; i < day->batteries.count; i++)
        step_battery(day, i, sun);
    for (size_t i = 0; i < day->tanks.count; i++)
        warm_tank(day, i);
}

/* Until sunrise of the next day on a tank's plane; the day before it is as long as this one. */
static bool note_dawn(struct day *day)
{
    bool all = true;
    size_t step = day->step % day->sky.steps;
    for (size_t i = 0; i < day->tanks.count; i++) {
        struct day_tank *tank = &day->tanks.at[i];
        if (!tank->known || tank->plane == NONE || !isnan(tank->dawn_degc))
            continue;
        if (day->sky.planes[tank->plane].clear[step] > 0.0)
            tank->dawn_degc = tank_heat_mean_degc(&tank->heat);
        else
            all = false;
    }
    return all;
}

static void run(struct day *day)
{
    size_t steps = day->sky.steps;
    for (day->step = 0; day->step < steps; day->step++)
        one_step(day);
    for (; day->step < 2 * steps && !note_dawn(day); day->step++)
        one_step(day);
}

static enum outcome set_up(struct day *day)
{
    struct weather weather = condition_weather(day->rig);
    day->air_low = weather.air_low;
    day->air_high = weather.air_high;
    day->water_degc = 0.5 * (weather.water_low + weather.water_high);
    if (!add_tanks(day) || !add_coils(day) || !add_batteries(day) || !add_pumps(day))
        return OUTCOME_NO_MEMORY;
    size_t *coils = ARENA_TAKE(day->arena, day->coils.count + 1, size_t);
    size_t *batteries = ARENA_TAKE(day->arena, day->batteries.count + 1, size_t);
    if (!coils || !batteries)
        return OUTCOME_NO_MEMORY;
    for (size_t i = 0; i < day->coils.count; i++)
        coils[i] = day->coils.at[i].element;
    for (size_t i = 0; i < day->batteries.count; i++)
        batteries[i] = day->batteries.at[i].giver;
    enum outcome outcome = day_table_make(day->circuit, &day->sky, coils, day->coils.count,
                                          batteries, day->batteries.count, day->arena, &day->table);
    if (outcome == OUTCOME_OK)
        outcome = day_control_make(day);
    return outcome == OUTCOME_OK ? day_control_plan(day) : outcome;
}

/* ---- What adds up ---- */

static double share_of(double gap, double whole)
{
    return whole > 0.0 ? fabs(gap) / whole : fabs(gap);
}

static struct day_balance balance_of(const struct day *day)
{
    struct day_balance balance = {.evening_degc = NAN};
    for (size_t i = 0; i < day->tanks.count; i++) {
        const struct day_tank *tank = &day->tanks.at[i];
        if (!tank->known)
            continue;
        double kept = tank->heat.heat_j_k * (tank->end_degc - tank->start_degc);
        double brought = tank->coil_j + tank->pump_j;
        balance.heat_gap =
            fmax(balance.heat_gap, share_of(brought - tank->lost_j - kept,
                                            fabs(brought) + fabs(tank->lost_j) + fabs(kept)));
        if (isnan(balance.evening_degc))
            balance.evening_degc = tank->evening_degc;
    }
    for (size_t i = 0; i < day->batteries.count; i++) {
        const struct day_battery *battery = &day->batteries.at[i];
        double kept = (battery->share - 1.0) * battery->capacity_as;
        balance.charge_gap =
            fmax(balance.charge_gap, share_of(battery->stored_as - battery->given_as - kept,
                                              battery->stored_as + battery->given_as));
    }
    for (size_t i = 0; i < day->coils.count; i++) {
        size_t branch = day->circuit->elements.at[day->coils.at[i].element].branch;
        for (size_t k = 0; k < day->circuit->pumps.count; k++)
            if (day->circuit->elements.at[day->circuit->pumps.at[k].element].branch == branch)
                balance.water_gap = fmax(
                    balance.water_gap, share_of(day->pumps[k].moved_m3 - day->coils.at[i].moved_m3,
                                                day->pumps[k].moved_m3));
    }
    return balance;
}

/* Sky, circuit, table and control, as far as there is sun. */
static enum outcome prepare(struct day *day, struct diagnostics *said, double step_s)
{
    enum outcome outcome = day_sky_make(day->rig, day->arena, step_s, &day->sky);
    if (outcome == OUTCOME_OK && day->sky.known)
        outcome = circuit_build(day->rig, said, day->arena, day->circuit);
    return outcome == OUTCOME_OK && day->sky.known ? set_up(day) : outcome;
}

enum outcome day_solve(struct rig *rig, double step_s, struct day_balance *balance)
{
    struct arena *scratch = arena_new();
    if (!scratch)
        return OUTCOME_NO_MEMORY;
    struct diagnostics said = {.arena = scratch}; /* the named conditions said it before */
    struct circuit circuit = {.rig = rig};
    struct day day = {.circuit = &circuit, .rig = rig, .arena = scratch, .kept = rig->arena};
    enum outcome outcome = prepare(&day, &said, step_s);
    if (outcome == OUTCOME_OK && day.sky.known)
        run(&day);
    if (outcome == OUTCOME_OK)
        outcome = day_report(&day);
    if (balance && outcome == OUTCOME_OK)
        *balance = balance_of(&day);
    circuit_drop(&circuit);
    arena_drop(scratch);
    return outcome;
}

enum outcome day_watch(struct rig *rig, double step_s, day_seen *seen, void *with)
{
    struct arena *scratch = arena_new();
    if (!scratch)
        return OUTCOME_NO_MEMORY;
    struct diagnostics said = {.arena = scratch};
    struct circuit circuit = {.rig = rig};
    struct day day = {.circuit = &circuit, .rig = rig, .arena = scratch, .kept = scratch};
    enum outcome outcome = prepare(&day, &said, step_s);
    if (outcome == OUTCOME_OK && !day.sky.known)
        outcome = OUTCOME_REFUSED;
    for (; outcome == OUTCOME_OK && day.step < day.sky.steps; day.step++) {
        one_step(&day);
        outcome = seen(&day, with);
    }
    circuit_drop(&circuit);
    arena_drop(scratch);
    return outcome;
}
