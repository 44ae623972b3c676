/* test_catalogue.c - the generic parts that are built in: every kind has some,
 * every entry reads, says one sentence, and its figures agree with each other
 * and with what such parts can be. */
#include "check.h"
#include "store/store.h"
#include "store/value_read.h"

struct shelf {
    struct arena *arena;
    struct diagnostics diagnostics;
    struct store store;
};

static int open_shelf(void **state)
{
    struct shelf *shelf = calloc(1, sizeof *shelf);
    if (!shelf)
        return -1;
    shelf->arena = arena_new();
    shelf->diagnostics.arena = shelf->arena;
    store_builtin(&shelf->store);
    *state = shelf;
    return shelf->arena ? 0 : -1;
}

static int close_shelf(void **state)
{
    struct shelf *shelf = *state;
    arena_drop(shelf->arena);
    free(shelf);
    return 0;
}

/* The value that an entry lists for an attribute; type NONE: it lists none. */
static struct value listed(struct shelf *shelf, const struct entry *entry, const char *attribute)
{
    struct value value = {.type = VALUE_NONE};
    const struct kind *kind = store_kind(&shelf->store, entry->kind);
    for (size_t i = 0; i < entry->value_count; i++) {
        const struct entry_value *at = &entry->values[i];
        if (strcmp(at->attribute, attribute) != 0)
            continue;
        int index = kind_attribute(kind, attribute);
        assert_true(index >= 0);
        enum outcome outcome = value_read_text(
            shelf->arena, at->text, at->at, &kind->attributes[index], &shelf->diagnostics, &value);
        if (outcome != OUTCOME_OK)
            print_error("%s: %s: %s\n", entry->name, attribute, at->text);
        assert_int_equal(outcome, OUTCOME_OK);
    }
    return value;
}

/* In SI units; NAN when the entry does not list it. */
static double number(struct shelf *shelf, const struct entry *entry, const char *attribute)
{
    struct value value = listed(shelf, entry, attribute);
    return value.type == VALUE_QUANTITY ? value.as.quantity.value : NAN;
}

static double lowest(struct shelf *shelf, const struct entry *entry, const char *attribute)
{
    struct value value = listed(shelf, entry, attribute);
    return value.type == VALUE_RANGE ? value.as.range.low.value : NAN;
}

static double highest(struct shelf *shelf, const struct entry *entry, const char *attribute)
{
    struct value value = listed(shelf, entry, attribute);
    return value.type == VALUE_RANGE ? value.as.range.high.value : NAN;
}

static bool says(struct shelf *shelf, const struct entry *entry, const char *attribute,
                 const char *word)
{
    struct value value = listed(shelf, entry, attribute);
    return value.type == VALUE_WORD && strcmp(value.as.word, word) == 0;
}

#define MOST_RELATIONS_PER_KIND 8
typedef bool relation(struct shelf *shelf, const struct entry *entry);
#define NUMBER(attribute) number(shelf, entry, attribute)

/* True when either is unlisted: which figures must be listed is a table of its own. */
static bool below(double low, double high)
{
    return isnan(low) || isnan(high) || low < high;
}

static bool within(double low, double middle, double high)
{
    return isnan(middle) || (low <= middle && middle <= high);
}

/* -- panels -- */

static bool panel_works_below_its_limits(struct shelf *shelf, const struct entry *entry)
{
    return below(NUMBER("vmp"), NUMBER("voc")) && below(NUMBER("imp"), NUMBER("isc"));
}

/* Labels round power to whole watts and current to hundredths. */
static bool panel_power_is_volts_times_amps(struct shelf *shelf, const struct entry *entry)
{
    return within(0.98, NUMBER("vmp") * NUMBER("imp") / NUMBER("power"), 1.02);
}

/* Medians in a public list of 14448 tested modules: 0.61 .. 0.73 thin film, 0.72 .. 0.78
 * crystalline. */
static bool panel_fill_factor_is_likely(struct shelf *shelf, const struct entry *entry)
{
    double share = NUMBER("vmp") * NUMBER("imp") / (NUMBER("voc") * NUMBER("isc"));
    return within(says(shelf, entry, "technology", "thin-film") ? 0.55 : 0.70, share, 0.82);
}

static bool panel_efficiency_is_likely(struct shelf *shelf, const struct entry *entry)
{
    double share = NUMBER("power") / (1000.0 * NUMBER("area"));
    return says(shelf, entry, "technology", "thin-film") ? within(0.05, share, 0.18)
                                                         : within(0.09, share, 0.23);
}

/* IEC 62548: a string fuse is at least 1.5 times Isc, so the largest that it may have is no less.
 */
static bool panel_largest_fuse_leaves_room(struct shelf *shelf, const struct entry *entry)
{
    return !(NUMBER("max_series_fuse") < 1.5 * NUMBER("isc"));
}

static bool panel_warms_as_panels_do(struct shelf *shelf, const struct entry *entry)
{
    return within(-0.0040, NUMBER("voc_temp"), -0.0025) && within(0.0, NUMBER("isc_temp"), 0.001) &&
           within(-0.0050, NUMBER("power_temp"), -0.0020);
}

/* -- electricity -- */

static bool battery_currents_suit_its_capacity(struct shelf *shelf, const struct entry *entry)
{
    double per_hour = NUMBER("capacity") / 3600.0;
    return within(0.1, NUMBER("max_charge_current") / per_hour, 1.0) &&
           within(0.1, NUMBER("max_discharge_current") / per_hour, 1.0);
}

static bool battery_does_not_give_more_than_all(struct shelf *shelf, const struct entry *entry)
{
    return within(0.2, NUMBER("depth_of_discharge"), 0.9);
}

/* The table of chemistries gives 3 to 15 mohm for 12 V and 100 Ah. */
static bool battery_resistance_is_likely(struct shelf *shelf, const struct entry *entry)
{
    double as_100_ah = NUMBER("internal_resistance") * (NUMBER("capacity") / 360000.0) *
                       (12.0 / NUMBER("voltage"));
    return within(0.003, as_100_ah, 0.015);
}

static bool controller_voltages_are_in_order(struct shelf *shelf, const struct entry *entry)
{
    return below(NUMBER("low_voltage_disconnect"), NUMBER("battery_voltage")) &&
           below(NUMBER("battery_voltage"), NUMBER("float_voltage")) &&
           below(NUMBER("float_voltage"), NUMBER("absorption_voltage")) &&
           below(NUMBER("absorption_voltage"), NUMBER("max_panel_voltage"));
}

static bool mppt_needs_headroom(struct shelf *shelf, const struct entry *entry)
{
    return !says(shelf, entry, "type", "mppt") ||
           NUMBER("min_panel_voltage") >= NUMBER("battery_voltage") + 1.0;
}

static bool converter_range_is_a_range(struct shelf *shelf, const struct entry *entry)
{
    return lowest(shelf, entry, "input") < highest(shelf, entry, "input") &&
           !(NUMBER("min_input") > lowest(shelf, entry, "input"));
}

/* Where the output is fixed: a step-down starts above it, a step-up reaches it by four times at the
 * most (general power-electronics data). */
static bool converter_reaches_its_output(struct shelf *shelf, const struct entry *entry)
{
    double low = lowest(shelf, entry, "input");
    if (says(shelf, entry, "type", "step-down"))
        return !(NUMBER("output") + NUMBER("dropout") > low);
    return !(NUMBER("output") > 4.0 * low);
}

static bool converter_efficiency_is_likely(struct shelf *shelf, const struct entry *entry)
{
    return within(0.80, NUMBER("efficiency"), 0.97);
}

static bool is_one_of(double value, const double *list, size_t count)
{
    for (size_t i = 0; i < count; i++)
        if (fabs(value - list[i]) < 1e-9)
            return true;
    return false;
}
#define IS_ONE_OF(value, list) is_one_of((value), (list), sizeof(list) / sizeof *(list))

static bool fuse_rating_is_made(struct shelf *shelf, const struct entry *entry)
{
    /* ISO 8820-3 types C and E; IEC 60127-2; IEC 60269-6, 10 x 38 mm. */
    static const double blade[] = {1,  2,  3,  4,  5,  7.5, 10, 15, 20,
                                   25, 30, 35, 40, 50, 60,  70, 80, 100};
    static const double glass[] = {0.032, 0.04,  0.05, 0.063, 0.08, 0.1, 0.125, 0.16, 0.2,
                                   0.25,  0.315, 0.4,  0.5,   0.63, 0.8, 1,     1.25, 1.6,
                                   2,     2.5,   3.15, 4,     5,    6.3, 8,     10};
    static const double gpv[] = {1, 2, 3, 4, 5, 6, 8, 10, 12, 15, 16, 20, 25, 30};
    double rating = NUMBER("rating");
    if (says(shelf, entry, "type", "blade"))
        return IS_ONE_OF(rating, blade);
    if (says(shelf, entry, "type", "glass"))
        return IS_ONE_OF(rating, glass);
    return !says(shelf, entry, "type", "gpv") || IS_ONE_OF(rating, gpv);
}

/* ISO 8820-1: 32 V DC. IEC 60269-6: 10 kA DC at the least. IEC 60127-2 says nothing of DC. */
static bool fuse_breaks_what_its_standard_says(struct shelf *shelf, const struct entry *entry)
{
    if (says(shelf, entry, "type", "blade"))
        return NUMBER("max_voltage") == 32.0;
    if (says(shelf, entry, "type", "gpv"))
        return NUMBER("breaking_capacity") >= 10e3;
    return !says(shelf, entry, "type", "glass") ||
           (isnan(NUMBER("max_voltage")) && isnan(NUMBER("breaking_capacity")));
}

static bool cable_size_is_made(struct shelf *shelf, const struct entry *entry)
{
    static const double mm2[] = {0.5, 0.75, 1, 1.5, 2.5, 4, 6, 10, 16, 25, 35}; /* IEC 60228 */
    struct value area = listed(shelf, entry, "area");
    if (area.type != VALUE_QUANTITY || !area.unit)
        return false;
    return strcmp(area.unit, "AWG") == 0 || IS_ONE_OF(area.as.quantity.value * 1e6, mm2);
}

static bool panel_cable_stands_the_sun(struct shelf *shelf, const struct entry *entry)
{
    return !says(shelf, entry, "panel_cable", "yes") || says(shelf, entry, "outdoors", "yes");
}

static bool contact_bears_a_motor_less(struct shelf *shelf, const struct entry *entry)
{
    return !(NUMBER("motor_current") > NUMBER("contact_current")) &&
           !(NUMBER("making_current") < NUMBER("contact_current"));
}

/* -- water -- */

static bool load_voltage_is_in_its_range(struct shelf *shelf, const struct entry *entry)
{
    double volts = NUMBER("voltage");
    return !(volts < lowest(shelf, entry, "voltage_range")) &&
           !(volts > highest(shelf, entry, "voltage_range"));
}

static bool pump_starts_below_its_voltage(struct shelf *shelf, const struct entry *entry)
{
    return below(NUMBER("start_voltage"), NUMBER("voltage"));
}

/* Best water power over electric power: of H (1 - (Q/Qmax)^2) it is 2/(3 sqrt 3) of rho g Qmax
 * Hmax. Small plastic pumps reach 5 %, multistage ones 60 % (common practice). */
static bool centrifugal_efficiency_is_likely(struct shelf *shelf, const struct entry *entry)
{
    if (!says(shelf, entry, "type", "centrifugal"))
        return true;
    double water_w = 2.0 / (3.0 * sqrt(3.0)) * 9789.0 * NUMBER("max_flow") * NUMBER("max_head");
    double power_w = NUMBER("power"), most = power_w <= 12.0 ? 0.20 : power_w < 60.0 ? 0.40 : 0.60;
    return within(0.05, water_w / power_w, most);
}

/* At p_max three quarters of the flow are left. 48 % is the best of four measured by Vick and
 * Clark, USDA Agricultural Research Service. */
static bool diaphragm_efficiency_is_likely(struct shelf *shelf, const struct entry *entry)
{
    return !says(shelf, entry, "type", "diaphragm") ||
           within(0.20, 0.75 * NUMBER("max_flow") * NUMBER("max_pressure") / NUMBER("power"), 0.48);
}

static bool diaphragm_head_is_its_pressure(struct shelf *shelf, const struct entry *entry)
{
    return !says(shelf, entry, "type", "diaphragm") ||
           within(0.99, 9789.0 * NUMBER("max_head") / NUMBER("max_pressure"), 1.01);
}

static bool pump_under_water_says_how_deep(struct shelf *shelf, const struct entry *entry)
{
    return !says(shelf, entry, "mounting", "submersible") || NUMBER("max_immersion") > 0.0;
}

/* Kv = 0.0244 d2 (mm) is a sharp hole with Cd 0.61; a valve is no better than that. */
static bool valve_passes_no_more_than_its_hole(struct shelf *shelf, const struct entry *entry)
{
    double hole_mm = NUMBER("orifice") * 1e3;
    return !(NUMBER("kv") * 3600.0 > 0.0244 * hole_mm * hole_mm);
}

static bool only_a_pilot_needs_pressure(struct shelf *shelf, const struct entry *entry)
{
    double least_pa = NUMBER("least_pressure");
    return says(shelf, entry, "action", "pilot") ? within(0.2e5, least_pa, 0.5e5) : least_pa == 0.0;
}

static bool pipe_wall_fills_the_rest(struct shelf *shelf, const struct entry *entry)
{
    double rest_mm = 1e3 * (NUMBER("outside") - NUMBER("bore") - 2.0 * NUMBER("wall"));
    return within(-0.1, rest_mm, 0.1);
}

static bool pipe_is_rated_where_it_may_be_used(struct shelf *shelf, const struct entry *entry)
{
    return !(NUMBER("max_pressure_at") > NUMBER("max_water_temp"));
}

static bool outlet_lets_water_out(struct shelf *shelf, const struct entry *entry)
{
    return NUMBER("kv") > 0.0 || (NUMBER("nominal_flow") > 0.0 && NUMBER("pressure") > 0.0);
}

static bool expansion_vessel_is_filled_below_its_limit(struct shelf *shelf,
                                                       const struct entry *entry)
{
    return below(NUMBER("fill_pressure"), NUMBER("max_pressure"));
}

static bool clamp_range_is_a_range(struct shelf *shelf, const struct entry *entry)
{
    return lowest(shelf, entry, "size") < highest(shelf, entry, "size");
}

/* -- heat -- */

/* Standstill at 30 degC air and 1000 W/m2: from a windy open mat to a selective plate under glass
 * (Duffie and Beckman; ISO 9806 certificates; from memory). */
static bool coil_stands_still_at_a_likely_heat(struct shelf *shelf, const struct entry *entry)
{
    return within(46.0, 30.0 + 1000.0 * NUMBER("optical_gain") / NUMBER("heat_loss"), 280.0);
}

static bool coil_is_wider_outside(struct shelf *shelf, const struct entry *entry)
{
    return NUMBER("bore") < NUMBER("outside");
}

static bool tank_holds_no_more_than_its_shape(struct shelf *shelf, const struct entry *entry)
{
    return !(NUMBER("volume") > 1.05 * NUMBER("water_surface") * NUMBER("depth"));
}

/* `needs`: attributes that every entry of the kind lists, so that no relation holds by silence. */
static const struct {
    const char *kind, *needs;
    relation *holds[MOST_RELATIONS_PER_KIND];
} kinds[] = {
    {"panel",
     "power",
     {panel_works_below_its_limits, panel_power_is_volts_times_amps, panel_fill_factor_is_likely,
      panel_efficiency_is_likely, panel_largest_fuse_leaves_room, panel_warms_as_panels_do}},
    {"battery",
     "chemistry voltage capacity max_charge_current max_discharge_current depth_of_discharge",
     {battery_currents_suit_its_capacity, battery_does_not_give_more_than_all,
      battery_resistance_is_likely}},
    {"supply", "voltage max_current mains", {NULL}},
    {"controller",
     "type battery_voltage chemistries max_panel_voltage max_charge_current absorption_voltage "
     "float_voltage low_voltage_disconnect",
     {controller_voltages_are_in_order, mppt_needs_headroom}},
    {"converter",
     "type input max_current efficiency min_input",
     {converter_range_is_a_range, converter_reaches_its_output, converter_efficiency_is_likely}},
    {"fuse", "rating type speed", {fuse_rating_is_made, fuse_breaks_what_its_standard_says}},
    {"breaker", "rating max_voltage breaking_capacity dc_rated", {NULL}},
    {"switch", "max_current dc_rated poles", {NULL}},
    {"relay",
     "coil_voltage coil_power contact_current contact_voltage contact_is contact",
     {contact_bears_a_motor_less}},
    {"light-switch", "contact_current contact_voltage contact_is", {contact_bears_a_motor_less}},
    {"timer", "contact_current contact_voltage contact_is", {contact_bears_a_motor_less}},
    {"flow-switch", "contact_current contact_voltage contact_is", {contact_bears_a_motor_less}},
    {"pressure-switch", "set_pressure contact_current contact_is", {contact_bears_a_motor_less}},
    {"float-switch", "acts contact_current contact_is", {contact_bears_a_motor_less}},
    {"thermostat",
     "sensor_range acts contact_current contact_voltage contact_is",
     {contact_bears_a_motor_less}},
    {"sensor", "range accuracy", {NULL}},
    {"plug", "pattern max_current max_voltage wire", {NULL}},
    {"load", "voltage voltage_range power", {load_voltage_is_in_its_range}},
    {"cable",
     "area class insulation_temp outdoors under_water max_voltage",
     {cable_size_is_made, panel_cable_stands_the_sun}},
    {"pump",
     "type motor mounting voltage voltage_range power max_head max_flow max_water_temp",
     {load_voltage_is_in_its_range, pump_starts_below_its_voltage, centrifugal_efficiency_is_likely,
      diaphragm_efficiency_is_likely, diaphragm_head_is_its_pressure,
      pump_under_water_says_how_deep}},
    {"valve",
     "action kv least_pressure max_pressure port",
     {load_voltage_is_in_its_range, valve_passes_no_more_than_its_hole,
      only_a_pilot_needs_pressure}},
    {"check-valve", "kv cracking_pressure port max_pressure", {NULL}},
    {"relief-valve", "set_pressure", {NULL}},
    {"expansion-vessel", "volume fill_pressure", {expansion_vessel_is_filled_below_its_limit}},
    {"mixing-valve", "outlet_temperature kv least_flow", {NULL}},
    {"air-vent", "max_water_temp", {NULL}},
    {"filter", "kv mesh port", {NULL}},
    {"outlet", "", {outlet_lets_water_out}},
    {"pipe",
     "bore material max_pressure max_pressure_at max_water_temp",
     {pipe_wall_fills_the_rest, pipe_is_rated_where_it_may_be_used}},
    {"fitting", "ends", {NULL}},
    {"clamp", "size", {clamp_range_is_a_range}},
    {"coil",
     "bore outside material layout optical_gain heat_loss",
     {coil_stands_still_at_a_likely_heat, coil_is_wider_outside}},
    {"tank", "volume depth vented", {tank_holds_no_more_than_its_shape}},
};

static void lists_all(struct shelf *shelf, const struct entry *entry, const char *needs)
{
    char word[64];
    int used = 0;
    for (; sscanf(needs, "%63s%n", word, &used) == 1; needs += used) {
        if (listed(shelf, entry, word).type == VALUE_NONE)
            fail_msg("%s does not list its %s", entry->name, word);
    }
}

static void figures_agree(void **state)
{
    struct shelf *shelf = *state;
    size_t broken = 0;
    for (size_t k = 0; k < sizeof kinds / sizeof *kinds; k++)
        for (size_t e = 0; e < shelf->store.entry_count; e++) {
            const struct entry *entry = &shelf->store.entries[e];
            if (strcmp(entry->kind, kinds[k].kind) != 0)
                continue;
            lists_all(shelf, entry, kinds[k].needs);
            for (size_t r = 0; r < MOST_RELATIONS_PER_KIND && kinds[k].holds[r]; r++)
                if (!kinds[k].holds[r](shelf, entry)) {
                    print_error("%s breaks relation %zu of a %s\n", entry->name, r, entry->kind);
                    broken++;
                }
        }
    assert_int_equal(broken, 0);
}

static void every_value_reads(void **state)
{
    struct shelf *shelf = *state;
    for (size_t e = 0; e < shelf->store.entry_count; e++) {
        const struct entry *entry = &shelf->store.entries[e];
        assert_non_null(store_kind(&shelf->store, entry->kind));
        for (size_t i = 0; i < entry->value_count; i++) {
            assert_int_not_equal(listed(shelf, entry, entry->values[i].attribute).type, VALUE_NONE);
            assert_string_not_equal(entry->values[i].attribute, "price");
        }
    }
    assert_int_equal(shelf->diagnostics.count, 0);
    assert_true(shelf->store.entry_count >= 160);
}

/* A site is given by the rig file and the rig is what is solved: neither can be bought. */
static void every_kind_has_some(void **state)
{
    struct shelf *shelf = *state;
    for (size_t k = 0; k < shelf->store.kind_count; k++) {
        const char *kind = shelf->store.kinds[k].name;
        size_t count = 0;
        for (size_t e = 0; e < shelf->store.entry_count; e++)
            count += strcmp(shelf->store.entries[e].kind, kind) == 0;
        if (strcmp(kind, "site") != 0 && strcmp(kind, "rig") != 0 && count == 0)
            fail_msg("no entry is a %s", kind);
    }
}

static void no_name_comes_twice(void **state)
{
    struct shelf *shelf = *state;
    for (size_t i = 0; i < shelf->store.entry_count; i++)
        for (size_t j = 0; j < i; j++)
            assert_string_not_equal(shelf->store.entries[i].name, shelf->store.entries[j].name);
}

/* Capital, words, one full stop at the end; a point between figures is none. */
static bool is_one_sentence(const char *text)
{
    size_t length = strlen(text);
    if (length < 10 || length > 160 || text[0] < 'A' || text[0] > 'Z' || text[length - 1] != '.')
        return false;
    return !strstr(text, ". ") && !strpbrk(text, "!?\n\t");
}

static void about_is_one_sentence(void **state)
{
    struct shelf *shelf = *state;
    assert_false(is_one_sentence("It is one. It is two."));
    assert_false(is_one_sentence("without a capital."));
    assert_false(is_one_sentence("Without an end"));
    for (size_t e = 0; e < shelf->store.entry_count; e++)
        if (!is_one_sentence(shelf->store.entries[e].about))
            fail_msg("%s: %s", shelf->store.entries[e].name, shelf->store.entries[e].about);
}

static void names_that_the_docs_use_are_there(void **state)
{
    struct shelf *shelf = *state;
    static const char *const names[] = {"panel-60w-36cell", "step-down-5a",   "coil-copper-10mm",
                                        "drum-90l",         "fuse-blade-5a",  "cable-2x2.5mm2",
                                        "cable-2x1.5mm2",   "hose-epdm-13mm", "fuse-blade-7.5a"};
    for (size_t i = 0; i < sizeof names / sizeof *names; i++)
        if (!store_entry(&shelf->store, names[i]))
            fail_msg("there is no %s", names[i]);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_value_reads),
        cmocka_unit_test(figures_agree),
        cmocka_unit_test(every_kind_has_some),
        cmocka_unit_test(no_name_comes_twice),
        cmocka_unit_test(about_is_one_sentence),
        cmocka_unit_test(names_that_the_docs_use_are_there),
    };
    return cmocka_run_group_tests(tests, open_shelf, close_shelf);
}
