/* test_formula.c - the rule language: types and their errors, values, truths,
 * margins, sentences, workings, and text that nobody would write in good faith. */
#include "check.h"

#include "formula/formula.h"

#define COUNT(list) (sizeof(list) / sizeof *(list))

/* ---- Kinds and a small rig, made by hand ---- */

#define LENGTH_DIM                                                                                 \
    {                                                                                              \
        {1, 0, 0, 0, 0, 0}, false                                                                  \
    }
#define FLOW_DIM                                                                                   \
    {                                                                                              \
        {3, 0, -1, 0, 0, 0}, false                                                                 \
    }
#define VOLT_DIM                                                                                   \
    {                                                                                              \
        {2, 1, -3, -1, 0, 0}, false                                                                \
    }
#define AMP_DIM                                                                                    \
    {                                                                                              \
        {0, 0, 0, 1, 0, 0}, false                                                                  \
    }
#define WATT_DIM                                                                                   \
    {                                                                                              \
        {2, 1, -3, 0, 0, 0}, false                                                                 \
    }
#define PASCAL_DIM                                                                                 \
    {                                                                                              \
        {-1, 1, -2, 0, 0, 0}, false                                                                \
    }
#define KELVIN_DIM                                                                                 \
    {                                                                                              \
        {0, 0, 0, 0, 1, 0}, false                                                                  \
    }
#define CELSIUS_DIM                                                                                \
    {                                                                                              \
        {0, 0, 0, 0, 1, 0}, true                                                                   \
    }
#define BARE_DIM                                                                                   \
    {                                                                                              \
        {0, 0, 0, 0, 0, 0}, false                                                                  \
    }

#define QUANTITY(name_, dim, unit_, solved_)                                                       \
    {                                                                                              \
        .name = name_, .type = VALUE_QUANTITY, .dimension = dim, .unit = unit_, .solved = solved_  \
    }
#define RANGE(name_, dim, unit_)                                                                   \
    {                                                                                              \
        .name = name_, .type = VALUE_RANGE, .dimension = dim, .unit = unit_                        \
    }
#define WORDS_OF(name_, type_, list)                                                               \
    {                                                                                              \
        .name = name_, .type = type_, .words = list, .word_count = COUNT(list), .unit = NULL       \
    }

static const char *const yes_no[] = {"yes", "no"};
static const char *const actions[] = {"direct", "pilot", "motorised"};
static const char *const modes[] = {"always", "timed", "dusk-to-dawn"};
static const char *const motors[] = {"brushless", "brushed"};
static const char *const loads[] = {"load"};

enum {
    PUMP_COUNT_,
    PUMP_VOLTAGE,
    PUMP_CURRENT,
    PUMP_FLOW,
    PUMP_MAX_HEAD,
    PUMP_WINDOW,
    PUMP_REGULATED,
    PUMP_MOTOR,
    PUMP_RUNS,
    PUMP_CURVE,
    PUMP_SHARE,
    PUMP_START
};
static const struct attribute pump_attributes[] = {
    QUANTITY("count", BARE_DIM, "", SOLVED_NO),
    QUANTITY("voltage", VOLT_DIM, "V", SOLVED_NO),
    QUANTITY("current", AMP_DIM, "A", SOLVED_NO),
    QUANTITY("flow", FLOW_DIM, "L/h", SOLVED_EACH_CONDITION),
    QUANTITY("max_head", LENGTH_DIM, "m", SOLVED_NO),
    RANGE("voltage_range", VOLT_DIM, "V"),
    WORDS_OF("regulated", VALUE_WORD, yes_no),
    WORDS_OF("motor", VALUE_WORD, motors),
    WORDS_OF("runs", VALUE_WORD, modes),
    {.name = "curve", .type = VALUE_POINTS},
    QUANTITY("share", BARE_DIM, "%", SOLVED_NO),
    QUANTITY("start_voltage", VOLT_DIM, "V", SOLVED_NO),
};
enum { FUSE_COUNT_, FUSE_RATING };
static const struct attribute fuse_attributes[] = {
    QUANTITY("count", BARE_DIM, "", SOLVED_NO),
    QUANTITY("rating", AMP_DIM, "A", SOLVED_NO),
};
enum { CABLE_COUNT_, CABLE_AMPACITY, CABLE_LENGTH };
static const struct attribute cable_attributes[] = {
    QUANTITY("count", BARE_DIM, "", SOLVED_NO),
    QUANTITY("ampacity", AMP_DIM, "A", SOLVED_NO),
    QUANTITY("length", LENGTH_DIM, "m", SOLVED_NO),
};
enum { VALVE_COUNT_, VALVE_VOLTAGE, VALVE_ACTION, VALVE_REST, VALVE_LEAST, VALVE_CURRENT };
static const struct attribute valve_attributes[] = {
    QUANTITY("count", BARE_DIM, "", SOLVED_NO),
    QUANTITY("voltage", VOLT_DIM, "V", SOLVED_NO),
    WORDS_OF("action", VALUE_WORD, actions),
    QUANTITY("rest_pressure", PASCAL_DIM, "bar", SOLVED_NO),
    QUANTITY("least_pressure", PASCAL_DIM, "bar", SOLVED_NO),
    {.name = "current", .type = VALUE_WORD, .words = yes_no, .word_count = 2}, /* unlike a pump's */
};
enum { TANK_COUNT_, TANK_TEMPERATURE, TANK_LOSS, TANK_MODES, TANK_SENSOR };
static const struct attribute tank_attributes[] = {
    QUANTITY("count", BARE_DIM, "", SOLVED_NO),
    QUANTITY("evening_temperature", CELSIUS_DIM, "degC", SOLVED_ONCE),
    QUANTITY("night_loss", KELVIN_DIM, "K", SOLVED_ONCE),
    WORDS_OF("load_modes", VALUE_WORDS, modes),
    {.name = "senses", .type = VALUE_ID},
    RANGE("water", CELSIUS_DIM, "degC"),
    {.name = "time_to",
     .type = VALUE_QUANTITY,
     .dimension = {{0, 0, 1, 0, 0, 0}, false},
     .unit = "h",
     .solved = SOLVED_ONCE,
     .of = "degC",
     .of_dimension = CELSIUS_DIM},
};

#define KIND(name_, list, groups_, group_count_)                                                   \
    {                                                                                              \
        .name = name_, .attributes = list, .attribute_count = COUNT(list), .groups = groups_,      \
        .group_count = group_count_                                                                \
    }
static const struct kind kinds[] = {
    KIND("pump", pump_attributes, loads, 1),  KIND("fuse", fuse_attributes, NULL, 0),
    KIND("cable", cable_attributes, NULL, 0), KIND("valve", valve_attributes, loads, 1),
    KIND("tank", tank_attributes, NULL, 0),
};
enum { PUMP, FUSE, CABLE, VALVE, TANK };
static const struct store store = {.kinds = kinds, .kind_count = COUNT(kinds)};
static const char *const relations[] = {"feeds", "protects", "sits-in", NULL};
static const struct kind *const one[] = {&kinds[0], &kinds[1], &kinds[2], &kinds[3], &kinds[4]};
static const struct kind *const both_loads[] = {&kinds[PUMP], &kinds[VALVE]};
static const struct formula_role roles[] = {
    {"pump", &one[PUMP], 1},       {"fuse", &one[FUSE], 1}, {"cable", &one[CABLE], 1},
    {"valve", &one[VALVE], 1},     {"tank", &one[TANK], 1}, {"load", both_loads, 2},
    {"pump-coil", &one[CABLE], 1}, {"nobody", NULL, 0},     {"m", &one[CABLE], 1},
};
static const struct formula_scope scope = {
    .store = &store, .roles = roles, .role_count = COUNT(roles), .relations = relations};

/* Parts 0 .. 4 stand for the roles; 5 is a second pump; the load role is the valve, pump-coil the
 * cable. */
static const size_t parts[] = {0, 1, 2, 3, 4, 3, 2, SIZE_MAX, 2};
static const struct kind *const part_kinds[] = {&kinds[PUMP],  &kinds[FUSE], &kinds[CABLE],
                                                &kinds[VALVE], &kinds[TANK], &kinds[PUMP]};
static const char *const part_ids[] = {"lift", "f1", "lift-run", "drain", "drum", "spare"};

/* "PART.INDEX" to text; the values of one row of a test */
struct given {
    size_t part;
    int attribute;
    const char *text; /* NULL ends the list */
    int condition;    /* -1: any */
};

struct rig {
    struct given at[12];
    struct arena *arena;
};

static bool rig_value(const void *data, size_t part, int attribute, enum condition condition,
                      struct value *out, enum origin *origin)
{
    const struct rig *rig = data;
    const struct attribute *about = &part_kinds[part]->attributes[attribute];
    const char *why;
    for (size_t i = 0; i < COUNT(rig->at) && rig->at[i].text; i++) {
        const struct given *given = &rig->at[i];
        if (given->part != part || given->attribute != attribute ||
            (given->condition >= 0 && given->condition != (int)condition))
            continue;
        *out = (struct value){.type = about->type};
        *origin = given->text[0] == '~' ? ORIGIN_ASSUMED : ORIGIN_GIVEN;
        const char *text = given->text + (given->text[0] == '~');
        struct unit unit = {.name = NULL};
        if (about->type == VALUE_QUANTITY)
            assert_true(quantity_parse(text, &out->as.quantity, &unit, &why));
        else if (about->type == VALUE_RANGE)
            assert_true(range_parse(text, &out->as.range.low, &out->as.range.high, &unit, &why));
        else if (about->type == VALUE_WORDS)
            out->as.words.at = modes, out->as.words.count = 2; /* always, timed */
        else
            out->as.word = text;
        out->unit = unit.name;
        return true;
    }
    return false;
}

/* The drum warms evenly: a tenth of an hour for each degree; it never comes to 90 degC, and of
 * temperatures below 0 degC nothing is known. */
static bool rig_value_of(const void *data, size_t part, int attribute, enum condition condition,
                         double argument, struct value *out, enum origin *origin)
{
    (void)data, (void)condition;
    if (argument < 0.0)
        return false;
    *origin = ORIGIN_SOLVED;
    *out = (struct value){.type = VALUE_QUANTITY,
                          .as.quantity = {argument < 90.0 ? argument * 360.0 : HUGE_VAL,
                                          part_kinds[part]->attributes[attribute].dimension}};
    return true;
}

static const struct kind *rig_kind(const void *data, size_t part)
{
    (void)data;
    return part_kinds[part];
}

static const char *rig_id(const void *data, size_t part)
{
    (void)data;
    return part_ids[part];
}

/* The pump (the subject) feeds both pumps and the valve; nothing protects anything. */
static size_t rig_related(const void *data, size_t part, const char *relation, const size_t **out)
{
    static const size_t all[] = {0, 1, 2, 3, 4, 5}, fed[] = {0, 3, 5};
    (void)data;
    if (part == SIZE_MAX) {
        *out = all;
        return COUNT(all);
    }
    *out = fed;
    return strcmp(relation, "feeds") == 0 ? COUNT(fed) : 0;
}

static struct formula_world world_of(const struct rig *rig)
{
    return (struct formula_world){.data = rig,
                                  .value = rig_value,
                                  .value_of = rig_value_of,
                                  .kind = rig_kind,
                                  .id = rig_id,
                                  .related = rig_related};
}

static const struct place start = {"rules/x.yaml", 12, 20};

static const struct formula *compile_in(struct arena *arena, const struct formula_scope *in,
                                        const char *text, enum formula_wants wants)
{
    struct diagnostics diagnostics = {.arena = arena};
    const struct formula *formula = formula_compile(arena, text, start, in, wants, &diagnostics);
    if (!formula)
        print_error("%s\n  %u: %s\n", text, diagnostics.at[0].at.column, diagnostics.at[0].message);
    assert_non_null(formula);
    assert_int_equal(diagnostics.count, 0);
    return formula;
}

/* ---- Types ---- */

static void types(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        enum value_type type;
        struct dimension dimension;
    } rows[] = {
        {"fuse.rating <= cable.ampacity", VALUE_NONE, BARE_DIM},
        {"pump.voltage * pump.current", VALUE_QUANTITY, WATT_DIM},
        {"12 V / 2 ohm", VALUE_QUANTITY, AMP_DIM},
        {"12 V/pump.current*pump.current", VALUE_QUANTITY, VOLT_DIM},
        {"240 L/h + pump.flow", VALUE_QUANTITY, FLOW_DIM},
        {"sqrt(cable.length ^ 2)", VALUE_QUANTITY, LENGTH_DIM},
        {"cable.length ^ -1 * cable.length", VALUE_QUANTITY, BARE_DIM},
        {"2 ^ pump.count", VALUE_QUANTITY, BARE_DIM},
        {"(9 m2) ^ (1 / 2)", VALUE_QUANTITY, LENGTH_DIM},
        {"tank.evening_temperature - 5 degC", VALUE_QUANTITY, KELVIN_DIM},
        {"tank.evening_temperature + 5 K", VALUE_QUANTITY, CELSIUS_DIM},
        {"tank.evening_temperature - tank.night_loss", VALUE_QUANTITY, CELSIUS_DIM},
        {"low(tank.water)", VALUE_QUANTITY, CELSIUS_DIM},
        {"-5 .. 34 degC", VALUE_RANGE, CELSIUS_DIM},
        {"0.9 * pump.voltage .. 1.1 * pump.voltage", VALUE_RANGE, VOLT_DIM},
        {"high(pump.voltage_range)", VALUE_QUANTITY, VOLT_DIM},
        {"3 %", VALUE_QUANTITY, BARE_DIM},
        {"14 AWG", VALUE_QUANTITY, {{2, 0, 0, 0, 0, 0}, false}},
        {"1/0 AWG", VALUE_QUANTITY, {{2, 0, 0, 0, 0, 0}, false}},
        {"if pump.regulated is yes then 3 A else 5 A", VALUE_QUANTITY, AMP_DIM},
        {"if pump.motor is brushed then yes else no", VALUE_WORD, BARE_DIM},
        {"brushless", VALUE_WORD, BARE_DIM},
        {"'bspp-1/2'", VALUE_WORD, BARE_DIM},
        {"[always, timed]", VALUE_WORDS, BARE_DIM},
        {"pump.motor", VALUE_WORD, BARE_DIM},
        {"condition is dark", VALUE_NONE, BARE_DIM},
        {"known(pump.curve)", VALUE_NONE, BARE_DIM},
        {"pump.start_voltage else 0.5 * pump.voltage", VALUE_QUANTITY, VOLT_DIM},
        {"(pump.flow at weak-sun) > 0.1 * (pump.flow at bright-noon)", VALUE_NONE, BARE_DIM},
        {"count(pump)", VALUE_QUANTITY, BARE_DIM},
        {"total(pump: pump.current)", VALUE_QUANTITY, AMP_DIM},
        {"least(feeds pump: pump.voltage)", VALUE_QUANTITY, VOLT_DIM},
        {"any(pump feeds load: load.voltage > 6 V)", VALUE_NONE, BARE_DIM},
        {"all(feeds pump: pump.regulated is yes)", VALUE_NONE, BARE_DIM},
        {"load.voltage", VALUE_QUANTITY, VOLT_DIM},
        {"pump-coil.length", VALUE_QUANTITY, LENGTH_DIM},
        {"timed in tank.load_modes", VALUE_NONE, BARE_DIM},
        {"pump.motor in [brushed, brushless]", VALUE_NONE, BARE_DIM},
        {"12 V in pump.voltage_range", VALUE_NONE, BARE_DIM},
        {"cable.length >= 5 in", VALUE_NONE, BARE_DIM},
        {"tank.senses is pump", VALUE_NONE, BARE_DIM},
        {"max(1 A, pump.current, 2 A)", VALUE_QUANTITY, AMP_DIM},
        {"ln(exp(1))", VALUE_QUANTITY, BARE_DIM},
        {"not (fuse.rating = 3 A) else no", VALUE_NONE, BARE_DIM},
        {"pump.flow\n  >= 60 L/h\n  at bright-noon", VALUE_NONE, BARE_DIM},
        {"40 \xc2\xb0"
         "C",
         VALUE_QUANTITY, CELSIUS_DIM},
        {"2.5mm\xc2\xb2", VALUE_QUANTITY, {{2, 0, 0, 0, 0, 0}, false}},
    };
    struct arena *arena = arena_new();
    for (size_t i = 0; i < COUNT(rows); i++) {
        const struct formula *formula =
            compile_in(arena, &scope, rows[i].text,
                       rows[i].type == VALUE_NONE ? FORMULA_TRUTH : FORMULA_VALUE);
        struct dimension dimension;
        bool truth;
        enum value_type type = formula_type(formula, &dimension, &truth);
        if (type != rows[i].type || !dimension_same(dimension, rows[i].dimension))
            fail_msg("%s: wrong type %d", rows[i].text, (int)type);
        assert_int_equal(truth, rows[i].type == VALUE_NONE);
    }
    arena_drop(arena);
}

static void mistakes(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        unsigned line, column; /* within the text, from 1 */
        const char *message;
    } rows[] = {
        {"valve.voltage + pump.current", 1, 15,
         "valve.voltage + pump.current adds a voltage (V) to a current (A)."},
        {"pump.voltage - 2 A", 1, 14, "pump.voltage - 2 A takes a current (A) from a voltage (V)."},
        {"pump.flow >= valve.rest_pressure", 1, 11,
         "pump.flow >= valve.rest_pressure compares a flow (L/h) with a pressure (bar)."},
        {"pump.volatge > 6 V", 1, 6, "a pump has no 'volatge'; did you mean voltage?"},
        {"pmup.voltage > 6 V", 1, 1, "there is no 'pmup' here; did you mean pump?"},
        {"load.max_head > 1 m", 1, 6, "a valve has no 'max_head', and load may be one."},
        {"load.current > 1 A", 1, 6,
         "'current' is a current (A) in a pump, but a word in a valve."},
        {"-tank.evening_temperature > 3 degC", 1, 1,
         "a temperature in degC cannot be turned round by a minus sign."},
        {"(2 m2) ^ -(1 / 3) > 1", 1, 8, "an area (m2) cannot be raised to the power '-(1 / 3)'."},
        {"(2 m) ^ (1 / 0) > 1 m", 1, 7,
         "'(2 m)' is a length (m), so its exponent must be a plain number, known here."},
        {"(2 m) ^ 60 * (2 m) ^ 60 * (2 m) ^ 60 > 1", 1, 25,
         "(2 m) ^ 60 * (2 m) ^ 60 * (2 m) ^ 60 multiplies a quantity in m120 beyond reason by a "
         "quantity in m60."},
        {"1 V in pump.voltage .. 2 A", 1, 21,
         "pump.voltage .. 2 A runs from a voltage (V) to a current (A)."},
        {"1 V in (5 V) .. (3 V)", 1, 14, "the range runs downwards; write the lower end first."},
        {"1 V in pump.voltage", 1, 5,
         "'pump.voltage' is a voltage (V); a value lies in a range or in a list."},
        {"1 A in pump.voltage_range", 1, 5,
         "1 A in pump.voltage_range looks for a current (A) in a range in V."},
        {"pump.voltage in [a, b]", 1, 14, "'pump.voltage' is a voltage (V); a list holds words."},
        {"known([a, 3 V])", 1, 11, "'3 V' is a voltage (V); a list holds plain words."},
        {"tank.load_modes is timed", 1, 17,
         "'tank.load_modes' is a list of words; write WORD in it."},
        {"pump.curve is timed", 1, 12, "'pump.curve' is a curve; it has no word to compare."},
        {"known(pump.curve) is yes", 1, 19,
         "'known(pump.curve)' is something that holds or does not; leave 'is' out, or write 'not' "
         "before it."},
        {"pump.curve > 3 V", 1, 1, "'pump.curve' is a curve, where a quantity is due."},
        {"max(3 V, 2 A) > 1 V", 1, 10, "max(...) compares a voltage (V) with a current (A)."},
        {"max(3 K, 2 degC) > 1 K", 1, 10,
         "max(...) compares a temperature difference (K) with a temperature (degC); a temperature "
         "is "
         "written in degC, a difference between two in K."},
        {"either.voltage > 3 V", 1, 1, "there is no 'either' here."},
        {"nobody.voltage > 3 V", 1, 8, "nothing is known of 'nobody', so it has no 'voltage'."},
        {"any(a b c d: yes)", 1, 11, "'d' stands where a colon or a closing bracket is due."},
        {"any(: yes)", 1, 5, "':' stands where a kind of part is due."},
        {"pump. voltage > 3 V", 1, 7, "'voltage' stands where the name of an attribute is due."},
        {"pump.flow > 3 L/h at 12", 1, 22, "'12' stands where the name of a condition is due."},
        {"pump.motor not brushed", 1, 16,
         "'brushed' stands where 'in' (a value is 'not in' something) is due."},
        {"pump.flow-pump.flow > 1 L/h", 1, 6,
         "'flow-pump' is one name; a minus sign needs blanks around it."},
        {"pump.flow > 3", 1, 13, "3 has no unit; flow takes L/h, L/min or gal/min."},
        {"2 + pump.voltage > 3 V", 1, 1, "2 has no unit; voltage takes V or mV."},
        {"pump.voltage - 0.5 > 3 V", 1, 16, "0.5 has no unit; voltage takes V or mV."},
        {"pump.flow > pump.count", 1, 11,
         "pump.flow > pump.count compares a flow (L/h) with a bare number."},
        {"3 > pump.count + 3 V", 1, 16, "pump.count + 3 V adds a bare number to a voltage (V)."},
        {"tank.evening_temperature >= 5 K", 1, 26,
         "tank.evening_temperature >= 5 K compares a temperature (degC) with a temperature "
         "difference (K); a temperature is written in degC, a difference between two in K."},
        {"tank.evening_temperature + 5 degC > 3 degC", 1, 26,
         "tank.evening_temperature + 5 degC adds a temperature (degC) to a temperature (degC)."},
        {"2 * tank.evening_temperature > 3 degC", 1, 3,
         "2 * tank.evening_temperature scales a temperature in degC, which has no meaning; take a "
         "difference (K) first."},
        {"tank.night_loss - 5 degC > 1 K", 1, 17,
         "tank.night_loss - 5 degC takes a temperature (degC) from a temperature difference (K); a "
         "temperature is written in degC, a difference between two in K."},
        {"pump.motor is brushles", 1, 15,
         "'pump.motor' is never 'brushles'; did you mean brushless?"},
        {"pump.motor is 12", 1, 15, "'12' is a bare number, where a word is due."},
        {"valve.action in [pilot, wet]", 1, 25,
         "'valve.action' is never 'wet'; it is one of direct, pilot or motorised."},
        {"sometimes in tank.load_modes", 1, 1,
         "'tank.load_modes' is never 'sometimes'; it is one of always, timed or dusk-to-dawn."},
        {"pump.regulated and pump.flow > 3 L/h", 1, 1,
         "'pump.regulated' is a word, where something that holds or does not is due; write "
         "pump.regulated is yes."},
        {"pump.voltage", 1, 1,
         "'pump.voltage' is a voltage (V), where something that holds or does not is due."},
        {"pump.flow > 60 L/h at bright-nun", 1, 23,
         "there is no condition 'bright-nun'; did you mean bright-noon? There are bright-noon, "
         "cloud-edge, weak-sun, cold-dawn, dark, dead-end, standstill."},
        {"pump.flow > 60 L/h at noon", 1, 23,
         "there is no condition 'noon'; there are bright-noon, cloud-edge, weak-sun, cold-dawn, "
         "dark, dead-end, standstill."},
        {"condition is darc", 1, 14, "'condition' is never 'darc'; did you mean dark?"},
        {"any(fedes pump: pump.voltage > 3 V)", 1, 5,
         "there is no relation 'fedes'; did you mean feeds?"},
        {"count(pupm) > 3", 1, 7, "there is no kind 'pupm'; did you mean pump?"},
        {"any(filter feeds pump: pump.voltage > 3 V)", 1, 5, "there is no 'filter' here."},
        {"total(pump) > 3 A", 1, 11,
         "')' stands where a colon and what to look at in each is due."},
        {"total(tank: tank.evening_temperature) > 3 K", 1, 13,
         "temperatures in degC cannot be added up; take least or most."},
        {"tank.time_to <= 6 h", 1, 6,
         "'time_to' is told of a temperature (degC); write time_to(... degC)."},
        {"(tank.time_to) <= 6 h", 1, 7,
         "'time_to' is told of a temperature (degC); write time_to(... degC)."},
        {"tank.time_to(35 V) <= 6 h", 1, 14,
         "'time_to' is told of a temperature (degC), not of a voltage (V)."},
        {"tank.time_to(35 K) <= 6 h", 1, 14,
         "'time_to' is told of a temperature (degC), not of a temperature difference (K); a "
         "temperature is written in degC, a difference between two in K."},
        {"tank.time_to(35) <= 6 h", 1, 14,
         "'time_to' is told of a temperature (degC), not of a bare number."},
        {"tank.time_to(35 degC) <= 6 K", 1, 23,
         "tank.time_to(35 degC) <= 6 K compares a time (s) with a temperature difference (K)."},
        {"tank.time_to() <= 6 h", 1, 14, "')' stands where a value is due."},
        {"tank.time_to(35 degC, 6 h) <= 6 h", 1, 21, "',' stands where a closing bracket is due."},
        {"tank.time_to (35 degC) <= 6 h", 1, 14, "'(' stands where an operator or the end is due."},
        {"tank.time_ot(35 degC) <= 6 h", 1, 6, "a tank has no 'time_ot'; did you mean time_to?"},
        {"pump.flow(35 degC) <= 6 L/h", 1, 11,
         "'flow' is a figure of nothing else, so it takes no brackets."},
        {"sqtr(4) > 1", 1, 1, "there is no function 'sqtr'; did you mean sqrt(...)?"},
        {"sqrt(4 V) > 1 V", 1, 6, "sqrt(...) cannot take a voltage (V)."},
        {"ln(4 V) > 1", 1, 4, "ln(...) cannot take a voltage (V); it takes a bare number."},
        {"min(4 V) > 1 V", 1, 1, "min(...) takes two values or more, with commas between."},
        {"abs(4 V, 1 V) > 1 V", 1, 1, "abs(...) takes one value."},
        {"low(pump.voltage) > 1 V", 1, 5,
         "low(...) takes a range; 'pump.voltage' is a voltage (V)."},
        {"pump.voltage_range > 12 V", 1, 1,
         "'pump.voltage_range' is a range in V, where a quantity is due; take its low(...) or "
         "high(...)."},
        {"pump.voltage ^ pump.count > 1 V", 1, 14,
         "'pump.voltage' is a voltage (V), so its exponent must be a plain number, known here."},
        {"pump.voltage ^ 0.3 > 1 V", 1, 14, "a voltage (V) cannot be raised to the power '0.3'."},
        {"2 ^ 3 V > 1", 1, 3, "an exponent is a bare number; '3 V' is a voltage (V)."},
        {"pump.flow at weak-sun > 3 L/h", 1, 23,
         "'at' takes in the whole comparison; to pick one value, write (pump.flow at weak-sun)."},
        {"1 V < pump.voltage < 3 V", 1, 20,
         "two comparisons in a row; compare twice and put 'and' between."},
        {"pump.voltage == 3 V", 1, 14, "write = in place of ==."},
        {"pump.voltage \xe2\x89\xa5 3 V", 1, 14, "write >= in place of \xe2\x89\xa5."},
        {"pump.voltage > 1,5 V", 1, 17,
         "a comma stands inside a number; write a point for decimals, or a blank after a comma "
         "that parts two numbers."},
        {"pump.voltage > 12 Vv", 1, 16, "12 Vv has a unit that is not known."},
        {"cable.length > 2 * pump-coil.length-1", 1, 30,
         "a cable has no 'length-1'; a minus sign needs blanks around it."},
        {"pump.voltage >", 1, 15, "the formula ends where a value is due."},
        {"", 1, 1, "the formula ends where a value is due."},
        {"(pump.voltage > 3 V", 1, 20, "the formula ends where a closing bracket is due."},
        {"pump.voltage > 3 V)", 1, 19, "')' stands where an operator or the end is due."},
        {"if pump.voltage > 3 V then yes", 1, 31, "the formula ends where 'else' is due."},
        {"1 V + if yes then 1 V else 2 V", 1, 7,
         "'if' stands where a value (put brackets around an if inside a sum) is due."},
        {"(if yes then 1 V else 2 A) > 1 V", 1, 2,
         "'1 V' is a voltage (V), but '2 A' is a current (A); both must be alike."},
        {"pump.motor = fuse.rating", 1, 12,
         "'pump.motor' is a word; compare words with 'is' or 'is not'."},
        {"pump.voltage is brushed", 1, 14,
         "'pump.voltage' is a voltage (V); compare quantities with =, <= and the like."},
        {"pump", 1, 1, "'pump' is a part; write pump.ATTRIBUTE for one of its values."},
        {"volts > 3 V", 1, 1, "there is no 'volts' here."},
        {"pump.voltage > 3 V; exit", 1, 19, "';' has no place in a formula."},
        {"pump.voltage > \x01", 1, 16, "a control character (byte 1) has no place in a formula."},
        {"pump.motor is 'brushed", 1, 15, "the quote that opens here is never closed."},
        {"pump.voltage >\n3 V and\npump.flow > 1 A", 3, 11,
         "pump.flow > 1 A compares a flow (L/h) with a current (A)."},
        {"34 .. 15 degC = 3", 1, 1, "34 .. 15 degC has its low end above its high end."},
        {"pump.voltage ..", 1, 16, "the formula ends where a value is due."},
        {"total(pump: total(pump feeds pump: total(pump feeds pump: pump.voltage))) > 3 V", 1, 36,
         "total(...) stands more than 2 deep in others of its sort."},
        {"total(pump: most(valve: valve.voltage)) > 3 V", 1, 13,
         "inside another, most(...) starts from the part at hand; write most(pump RELATION "
         "KIND...), or name its value with let: first."},
        {"any(feeds valve: any(fuse feeds pump: pump.voltage > 3 V))", 1, 18,
         "inside another, any(...) starts from the part at hand; write any(valve RELATION "
         "KIND...), or name its value with let: first."},
    };
    struct arena *arena = arena_new();
    for (size_t i = 0; i < COUNT(rows); i++) {
        struct diagnostics diagnostics = {.arena = arena};
        const struct formula *formula =
            formula_compile(arena, rows[i].text, start, &scope, FORMULA_TRUTH, &diagnostics);
        if (formula)
            fail_msg("%s: was taken", rows[i].text);
        assert_int_equal(diagnostics.count, 1);
        const struct diagnostic *told = &diagnostics.at[0];
        unsigned line = start.line + rows[i].line - 1;
        unsigned column = rows[i].line == 1 ? start.column + rows[i].column - 1 : rows[i].column;
        if (told->at.line != line || told->at.column != column)
            print_error("%s: at %u:%u, not %u:%u\n", rows[i].text, told->at.line, told->at.column,
                        line, column);
        assert_string_equal(told->message, rows[i].message);
        assert_int_equal(told->at.line, line);
        assert_int_equal(told->at.column, column);
        assert_string_equal(told->at.file, start.file);
        assert_string_equal(told->topic, TOPIC_FORMULA);
        assert_int_equal(told->level, LEVEL_ERROR);
    }
    arena_drop(arena);
}

/* ---- Values, truths, margins, and what is missing ---- */

#define ANY -1
#define PUMP_IS(attribute, text)                                                                   \
    {                                                                                              \
        0, attribute, text, ANY                                                                    \
    }
#define FUSE_IS(text)                                                                              \
    {                                                                                              \
        1, FUSE_RATING, text, ANY                                                                  \
    }
#define CABLE_IS(text)                                                                             \
    {                                                                                              \
        2, CABLE_AMPACITY, text, ANY                                                               \
    }

static void values(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        struct given given[6];
        double value; /* SI; NAN: unknown */
        enum origin origin;
    } rows[] = {
        {"1 + 2 * 3", {{0}}, 7.0, ORIGIN_GIVEN},
        {"(1 + 2) * 3", {{0}}, 9.0, ORIGIN_GIVEN},
        {"10 - 4 - 3", {{0}}, 3.0, ORIGIN_GIVEN},
        {"24 / 4 / 3", {{0}}, 2.0, ORIGIN_GIVEN},
        {"2 ^ 3 ^ 2", {{0}}, 512.0, ORIGIN_GIVEN},
        {"-2 ^ 2", {{0}}, -4.0, ORIGIN_GIVEN},
        {"(-2) ^ 2", {{0}}, 4.0, ORIGIN_GIVEN},
        {"2-1", {{0}}, 1.0, ORIGIN_GIVEN},
        {"3 %", {{0}}, 0.03, ORIGIN_GIVEN},
        {"-5 degF", {{0}}, (-5.0 - 32.0) / 1.8, ORIGIN_GIVEN},
        {"1e3 L/h", {{0}}, 1.0 / 3600.0, ORIGIN_GIVEN},
        {"sqrt(2) * sqrt(2)", {{0}}, 2.0, ORIGIN_GIVEN},
        {"exp(ln(5))", {{0}}, 5.0, ORIGIN_GIVEN},
        /* units of several words, and strokes that divide */
        /* figures of something */
        {"tank.time_to(35 degC)", {{0}}, 3.5 * 3600.0, ORIGIN_SOLVED},
        {"tank.time_to(95 degF)", {{0}}, 3.5 * 3600.0, ORIGIN_SOLVED},
        {"tank.time_to(30 degC + 5 K) - tank.time_to(25 degC)", {{0}}, 3600.0, ORIGIN_SOLVED},
        {"tank.time_to(tank.evening_temperature)",
         {{4, TANK_TEMPERATURE, "~40 degC", ANY}},
         4.0 * 3600.0,
         ORIGIN_ASSUMED},
        {"tank.time_to(tank.evening_temperature)", {{0}}, NAN, ORIGIN_UNKNOWN},
        {"tank.time_to(90 degC)", {{0}}, HUGE_VAL, ORIGIN_SOLVED},
        {"tank.time_to(-1 degC)", {{0}}, NAN, ORIGIN_UNKNOWN},
        {"3600 1/h", {{0}}, 1.0, ORIGIN_GIVEN},
        {"3600 /h", {{0}}, 1.0, ORIGIN_GIVEN},
        {"3600 per h", {{0}}, 1.0, ORIGIN_GIVEN},
        {"2 kg/s per m2", {{0}}, 2.0, ORIGIN_GIVEN},
        {"12 V DC", {{0}}, 12.0, ORIGIN_GIVEN},
        {"12 V/2 A", {{0}}, 6.0, ORIGIN_GIVEN},
        {"12 V / 2", {{0}}, 6.0, ORIGIN_GIVEN},
        {"12/pump.count", {PUMP_IS(PUMP_COUNT_, "3")}, 4.0, ORIGIN_GIVEN},
        {"12 /pump.count", {PUMP_IS(PUMP_COUNT_, "3")}, 4.0, ORIGIN_GIVEN},
        {"12 V/pump.count", {PUMP_IS(PUMP_COUNT_, "3")}, 4.0, ORIGIN_GIVEN},
        {"12 / 1/3", {{0}}, 4.0, ORIGIN_GIVEN},
        {"12 m/m.length", {{2, CABLE_LENGTH, "3 m", ANY}}, 4.0, ORIGIN_GIVEN},
        {"30 degC + 2 K else 3 degC", {{0}}, 32.0, ORIGIN_GIVEN},
        {"12 in / 1 ft", {{0}}, 1.0, ORIGIN_GIVEN},
        {"3 %/K * 2 K", {{0}}, 0.06, ORIGIN_GIVEN},
        {"3 %+3%", {{0}}, 0.06, ORIGIN_GIVEN},
        {"abs(3 V - 5 V)", {{0}}, 2.0, ORIGIN_GIVEN},
        {"min(3 V, 2 V, 4 V)", {{0}}, 2.0, ORIGIN_GIVEN},
        {"max(3 V, 2 V, 4 V)", {{0}}, 4.0, ORIGIN_GIVEN},
        {"low(6 V .. 26 V) + high(6 .. 26 V)", {{0}}, 32.0, ORIGIN_GIVEN},
        {"34 degC - 20 degC", {{0}}, 14.0, ORIGIN_GIVEN},
        {"if 2 > 1 then 3 V else 4 V", {{0}}, 3.0, ORIGIN_GIVEN},
        {"if 2 < 1 then 3 V else if 1 < 0 then 4 V else 5 V", {{0}}, 5.0, ORIGIN_GIVEN},
        {"if 2 > 1 then if 1 > 2 then 3 V else 4 V else 5 V", {{0}}, 4.0, ORIGIN_GIVEN},
        {"pump.voltage * pump.current",
         {PUMP_IS(PUMP_VOLTAGE, "12 V"), PUMP_IS(PUMP_CURRENT, "~2 A")},
         24.0,
         ORIGIN_ASSUMED},
        {"pump.voltage * pump.current",
         {PUMP_IS(PUMP_VOLTAGE, "12 V")},
         (double)NAN,
         ORIGIN_UNKNOWN},
        {"pump.start_voltage else 0.5 * pump.voltage",
         {PUMP_IS(PUMP_VOLTAGE, "12 V")},
         6.0,
         ORIGIN_ASSUMED},
        {"pump.start_voltage else 0.5 * pump.voltage",
         {PUMP_IS(PUMP_START, "5 V")},
         5.0,
         ORIGIN_GIVEN},
        {"pump.start_voltage else pump.voltage else 3 V", {{0}}, 3.0, ORIGIN_ASSUMED},
        {"pump.flow at weak-sun",
         {{0, PUMP_FLOW, "36 L/h", CONDITION_WEAK_SUN}},
         1e-5,
         ORIGIN_GIVEN},
        {"pump.flow", {{0, PUMP_FLOW, "36 L/h", CONDITION_WEAK_SUN}}, (double)NAN, ORIGIN_UNKNOWN},
        {"count(pump) + count(part)", {{0}}, 8.0, ORIGIN_GIVEN},
        {"count(feeds load)", {{0}}, 3.0, ORIGIN_GIVEN},
        {"count(protects load)", {{0}}, 0.0, ORIGIN_GIVEN},
        {"count(pump: pump.voltage > 10 V)",
         {{0, PUMP_VOLTAGE, "12 V", ANY}, {5, PUMP_VOLTAGE, "6 V", ANY}},
         1.0,
         ORIGIN_GIVEN},
        {"total(pump: pump.current)",
         {{0, PUMP_CURRENT, "2 A", ANY}, {5, PUMP_CURRENT, "~3 A", ANY}},
         5.0,
         ORIGIN_ASSUMED},
        {"total(pump: pump.current)", {{0, PUMP_CURRENT, "2 A", ANY}}, (double)NAN, ORIGIN_UNKNOWN},
        {"least(pump: pump.current)",
         {{0, PUMP_CURRENT, "2 A", ANY}, {5, PUMP_CURRENT, "3 A", ANY}},
         2.0,
         ORIGIN_GIVEN},
        {"most(pump: pump.current)",
         {{0, PUMP_CURRENT, "2 A", ANY}, {5, PUMP_CURRENT, "3 A", ANY}},
         3.0,
         ORIGIN_GIVEN},
        {"total(protects pump: pump.current) / 1 A", {{0}}, 0.0, ORIGIN_GIVEN},
        {"most(protects pump: pump.current)", {{0}}, (double)NAN, ORIGIN_UNKNOWN},
        {"total(feeds load: load.voltage)",
         {{0, PUMP_VOLTAGE, "12 V", ANY},
          {5, PUMP_VOLTAGE, "6 V", ANY},
          {3, VALVE_VOLTAGE, "9 V", ANY}},
         27.0,
         ORIGIN_GIVEN},
        {"load.voltage", {{3, VALVE_VOLTAGE, "9 V", ANY}}, 9.0, ORIGIN_GIVEN},
        {"total(pump: total(pump feeds pump: 1 A))", {{0}}, 4.0, ORIGIN_GIVEN},
        {"min(pump.current, 3 A)", {{0}}, (double)NAN, ORIGIN_UNKNOWN},
        {"sqrt(-4)", {{0}}, (double)NAN, ORIGIN_UNKNOWN},
        {"abs(pump.current)", {{0}}, (double)NAN, ORIGIN_UNKNOWN},
        {"high(pump.voltage_range)", {PUMP_IS(PUMP_WINDOW, "6 .. 16 V")}, 16.0, ORIGIN_GIVEN},
        {"high(pump.voltage .. 16 V)", {{0}}, (double)NAN, ORIGIN_UNKNOWN},
        {"high(pump.voltage .. 16 V)", {PUMP_IS(PUMP_VOLTAGE, "6 V")}, 16.0, ORIGIN_GIVEN},
        {"low(if pump.regulated is yes then 3 .. 4 V else 3 .. 4 V)", {{0}}, 3.0, ORIGIN_GIVEN},
        {"4 ^ -0.5", {{0}}, 0.5, ORIGIN_GIVEN},
        {"(4 m2) ^ -(1 / 2)", {{0}}, 0.5, ORIGIN_GIVEN},
        {"0 / 0", {{0}}, (double)NAN, ORIGIN_UNKNOWN},
        {"1 / 0", {{0}}, (double)INFINITY, ORIGIN_GIVEN},
        {"if pump.regulated is yes then 2 A else 2 A", {{0}}, 2.0, ORIGIN_GIVEN},
        {"if pump.regulated is yes then 2 A else 3 A", {{0}}, (double)NAN, ORIGIN_UNKNOWN},
    };
    struct arena *arena = arena_new();
    for (size_t i = 0; i < COUNT(rows); i++) {
        const struct formula *formula = compile_in(arena, &scope, rows[i].text, FORMULA_VALUE);
        struct rig rig = {.arena = arena};
        memcpy(rig.at, rows[i].given, sizeof rows[i].given);
        struct formula_world world = world_of(&rig);
        struct formula_uses uses;
        struct formula_result result =
            formula_evaluate(formula, &world, parts, CONDITION_BRIGHT_NOON, &uses);
        bool known = result.value.type == VALUE_QUANTITY;
        double got = result.value.as.quantity.value;
        if (known == isnan(rows[i].value) || result.origin != rows[i].origin)
            fail_msg("%s: known %d, origin %s", rows[i].text, known, origin_name(result.origin));
        if (known && got != rows[i].value &&
            !(fabs(got - rows[i].value) <= 1e-12 * fabs(rows[i].value)))
            fail_msg("%s: %.17g, not %.17g", rows[i].text, got, rows[i].value);
        assert_int_equal(result.truth, TRUTH_UNKNOWN);
    }
    arena_drop(arena);
}

static void list_missing(const struct formula_uses *uses, char out[200])
{
    size_t length = 0;
    out[0] = '\0';
    for (size_t i = 0; i < uses->count; i++)
        if (uses->at[i].unknown)
            length += (size_t)snprintf(
                out + length, 200 - length, "%s%s.%s", length ? " " : "",
                part_ids[uses->at[i].part],
                part_kinds[uses->at[i].part]->attributes[uses->at[i].attribute].name);
}

static void truths(void **state)
{
    (void)state;
    const double none = (double)NAN; /* no margin */
    const struct {
        const char *text;
        struct given given[6];
        enum truth truth;
        double margin;
        const char *missing;
    } rows[] = {
        /* the margin is a share of the limit, the right side */
        {"fuse.rating <= cable.ampacity",
         {FUSE_IS("10 A"), CABLE_IS("11.6 A")},
         TRUTH_YES,
         1.6 / 11.6,
         ""},
        {"fuse.rating <= cable.ampacity",
         {FUSE_IS("11.6 A"), CABLE_IS("11.6 A")},
         TRUTH_YES,
         0.0,
         ""},
        {"fuse.rating <= cable.ampacity",
         {FUSE_IS("15 A"), CABLE_IS("11.6 A")},
         TRUTH_NO,
         -3.4 / 11.6,
         ""},
        {"fuse.rating < cable.ampacity",
         {FUSE_IS("11.6 A"), CABLE_IS("11.6 A")},
         TRUTH_NO,
         0.0,
         ""},
        {"cable.ampacity >= fuse.rating",
         {FUSE_IS("10 A"), CABLE_IS("11.6 A")},
         TRUTH_YES,
         0.16,
         ""},
        {"cable.ampacity > fuse.rating", {FUSE_IS("10 A"), CABLE_IS("10 A")}, TRUTH_NO, 0.0, ""},
        /* a product that rounds to a hair beside the limit stands at the limit */
        {"3 * fuse.rating <= 0.3 A", {FUSE_IS("0.1 A")}, TRUTH_YES, 0.0, ""},
        {"fuse.rating = 3 * 0.1 A", {FUSE_IS("0.3 A")}, TRUTH_YES, NAN, ""},
        {"fuse.rating = 4 A", {FUSE_IS("3 A")}, TRUTH_NO, NAN, ""},
        {"fuse.rating != 4 A", {FUSE_IS("3 A")}, TRUTH_YES, NAN, ""},
        {"fuse.rating != 4 A", {FUSE_IS("4 A")}, TRUTH_NO, NAN, ""},
        /* the side without an attribute is the limit, whichever it is */
        {"4 A <= fuse.rating", {FUSE_IS("5 A")}, TRUTH_YES, 0.25, ""},
        {"4 A >= fuse.rating", {FUSE_IS("5 A")}, TRUTH_NO, -0.25, ""},
        /* a limit of nothing: the larger figure */
        {"fuse.rating > 0 A", {FUSE_IS("5 A")}, TRUTH_YES, 1.0, ""},
        {"fuse.rating > 0 A", {FUSE_IS("0 A")}, TRUTH_NO, 0.0, ""},
        /* temperatures: of the figure in degC, at least of 1 K */
        {"tank.evening_temperature >= 32 degC",
         {{4, TANK_TEMPERATURE, "40 degC", ANY}},
         TRUTH_YES,
         0.25,
         ""},
        {"tank.evening_temperature >= 0 degC",
         {{4, TANK_TEMPERATURE, "2 degC", ANY}},
         TRUTH_YES,
         2.0,
         ""},
        {"tank.evening_temperature >= -10 degC",
         {{4, TANK_TEMPERATURE, "-15 degC", ANY}},
         TRUTH_NO,
         -0.5,
         ""},
        {"1 / 0 > 3", {{0}}, TRUTH_YES, 1e9, ""},
        {"3 < 1 / 0", {{0}}, TRUTH_YES, 1.0, ""},
        /* and: the smallest; or: the largest; not: turned */
        {"fuse.rating >= 4 A and cable.ampacity >= 4 A",
         {FUSE_IS("5 A"), CABLE_IS("8 A")},
         TRUTH_YES,
         0.25,
         ""},
        {"fuse.rating >= 4 A and cable.ampacity >= 4 A",
         {FUSE_IS("3 A"), CABLE_IS("2 A")},
         TRUTH_NO,
         -0.5,
         ""},
        {"fuse.rating >= 4 A and cable.ampacity >= 4 A",
         {FUSE_IS("5 A"), CABLE_IS("2 A")},
         TRUTH_NO,
         -0.5,
         ""},
        {"fuse.rating >= 4 A or cable.ampacity >= 4 A",
         {FUSE_IS("5 A"), CABLE_IS("8 A")},
         TRUTH_YES,
         1.0,
         ""},
        {"fuse.rating >= 4 A or cable.ampacity >= 4 A",
         {FUSE_IS("3 A"), CABLE_IS("2 A")},
         TRUTH_NO,
         -0.25,
         ""},
        {"fuse.rating >= 4 A or cable.ampacity >= 4 A",
         {FUSE_IS("5 A"), CABLE_IS("2 A")},
         TRUTH_YES,
         0.25,
         ""},
        {"not fuse.rating >= 4 A", {FUSE_IS("3 A")}, TRUTH_YES, 0.25, ""},
        {"valve.action is direct or fuse.rating >= 4 A",
         {{3, VALVE_ACTION, "direct", ANY}},
         TRUTH_YES,
         none,
         ""},
        {"valve.action is direct or fuse.rating >= 4 A",
         {{3, VALVE_ACTION, "pilot", ANY}, FUSE_IS("2 A")},
         TRUTH_NO,
         -0.5,
         ""},
        /* unknown: exactly what keeps it from being decided */
        {"fuse.rating <= cable.ampacity",
         {FUSE_IS("10 A")},
         TRUTH_UNKNOWN,
         none,
         "lift-run.ampacity"},
        {"fuse.rating <= cable.ampacity",
         {{0}},
         TRUTH_UNKNOWN,
         none,
         "f1.rating lift-run.ampacity"},
        {"fuse.rating >= 4 A and cable.ampacity >= 4 A", {CABLE_IS("2 A")}, TRUTH_NO, -0.5, ""},
        {"fuse.rating >= 4 A and cable.ampacity >= 4 A",
         {CABLE_IS("5 A")},
         TRUTH_UNKNOWN,
         none,
         "f1.rating"},
        {"fuse.rating >= 4 A and cable.ampacity >= 4 A", {FUSE_IS("2 A")}, TRUTH_NO, -0.5, ""},
        {"fuse.rating >= 4 A or cable.ampacity >= 4 A", {CABLE_IS("5 A")}, TRUTH_YES, 0.25, ""},
        {"fuse.rating >= 4 A or cable.ampacity >= 4 A",
         {CABLE_IS("2 A")},
         TRUTH_UNKNOWN,
         none,
         "f1.rating"},
        {"fuse.rating >= 4 A or cable.ampacity >= 4 A",
         {{0}},
         TRUTH_UNKNOWN,
         none,
         "f1.rating lift-run.ampacity"},
        {"fuse.rating >= 4 A and fuse.rating <= 9 A", {{0}}, TRUTH_UNKNOWN, none, "f1.rating"},
        {"known(fuse.rating)", {{0}}, TRUTH_NO, none, ""},
        {"known(fuse.rating)", {FUSE_IS("2 A")}, TRUTH_YES, none, ""},
        {"not known(fuse.rating) or fuse.rating > 1 A", {{0}}, TRUTH_YES, none, ""},
        {"(fuse.rating else 5 A) >= 4 A", {{0}}, TRUTH_YES, 0.25, ""},
        {"fuse.rating else 5 A >= 4 A", {{0}}, TRUTH_YES, 0.25, ""},
        {"(fuse.rating >= 4 A) else yes", {{0}}, TRUTH_YES, none, ""},
        {"if valve.action is pilot then fuse.rating >= 4 A else yes",
         {{3, VALVE_ACTION, "direct", ANY}},
         TRUTH_YES,
         none,
         ""},
        {"if valve.action is pilot then fuse.rating >= 4 A else yes",
         {FUSE_IS("5 A")},
         TRUTH_YES,
         none,
         ""},
        {"if valve.action is pilot then fuse.rating >= 4 A else yes",
         {FUSE_IS("3 A")},
         TRUTH_UNKNOWN,
         none,
         "drain.action"},
        {"if valve.action is pilot then fuse.rating >= 4 A else yes",
         {{3, VALVE_ACTION, "pilot", ANY}},
         TRUTH_UNKNOWN,
         none,
         "f1.rating"},
        /* words and ranges */
        {"pump.motor is brushed", {PUMP_IS(PUMP_MOTOR, "brushed")}, TRUTH_YES, none, ""},
        {"pump.motor is not brushed", {PUMP_IS(PUMP_MOTOR, "brushed")}, TRUTH_NO, none, ""},
        {"pump.motor is brushed", {{0}}, TRUTH_UNKNOWN, none, "lift.motor"},
        {"pump.runs in tank.load_modes",
         {PUMP_IS(PUMP_RUNS, "timed"), {4, TANK_MODES, "-", ANY}},
         TRUTH_YES,
         none,
         ""},
        {"pump.runs in tank.load_modes",
         {PUMP_IS(PUMP_RUNS, "dusk-to-dawn"), {4, TANK_MODES, "-", ANY}},
         TRUTH_NO,
         none,
         ""},
        {"pump.runs not in [timed, always]",
         {PUMP_IS(PUMP_RUNS, "dusk-to-dawn")},
         TRUTH_YES,
         none,
         ""},
        {"dusk-to-dawn in tank.load_modes", {{4, TANK_MODES, "-", ANY}}, TRUTH_NO, none, ""},
        {"pump.voltage in pump.voltage_range",
         {PUMP_IS(PUMP_VOLTAGE, "12 V"), PUMP_IS(PUMP_WINDOW, "6 .. 16 V")},
         TRUTH_YES,
         0.25,
         ""},
        {"pump.voltage in 6 .. 10 V", {PUMP_IS(PUMP_VOLTAGE, "12 V")}, TRUTH_NO, -0.2, ""},
        {"pump.voltage in 6 .. 12 V", {PUMP_IS(PUMP_VOLTAGE, "12 V")}, TRUTH_YES, 0.0, ""},
        {"pump.voltage not in 6 .. 10 V", {PUMP_IS(PUMP_VOLTAGE, "12 V")}, TRUTH_YES, 0.2, ""},
        {"tank.senses is pump", {{4, TANK_SENSOR, "lift", ANY}}, TRUTH_YES, none, ""},
        {"tank.senses is fuse", {{4, TANK_SENSOR, "lift", ANY}}, TRUTH_NO, none, ""},
        {"condition is bright-noon", {{0}}, TRUTH_YES, none, ""},
        {"(condition is dark) at dark and condition is not dark", {{0}}, TRUTH_YES, none, ""},
        {"pump.motor in ['brushed', valve.action]",
         {PUMP_IS(PUMP_MOTOR, "brushed")},
         TRUTH_YES,
         none,
         ""},
        {"pump.motor in [valve.action, brushed]",
         {PUMP_IS(PUMP_MOTOR, "brushed")},
         TRUTH_YES,
         none,
         ""},
        {"pump.motor in [valve.action, brushed]",
         {PUMP_IS(PUMP_MOTOR, "brushless")},
         TRUTH_UNKNOWN,
         none,
         "drain.action"},
        {"pump.motor in [brushed]", {{0}}, TRUTH_UNKNOWN, none, "lift.motor"},
        {"(if valve.action is pilot then pump.motor else pump.motor) is brushed",
         {PUMP_IS(PUMP_MOTOR, "brushed")},
         TRUTH_YES,
         none,
         ""},
        {"known(pump.curve)", {PUMP_IS(PUMP_CURVE, "-")}, TRUTH_YES, none, ""},
        {"known(pump.curve)", {{0}}, TRUTH_NO, none, ""},
        {"known([always, timed])", {{0}}, TRUTH_YES, none, ""},
        /* at takes in the comparison, and binds tighter than and */
        {"pump.flow >= 40 L/h at bright-noon and pump.flow >= 40 L/h at weak-sun",
         {{0, PUMP_FLOW, "60 L/h", CONDITION_BRIGHT_NOON},
          {0, PUMP_FLOW, "50 L/h", CONDITION_WEAK_SUN}},
         TRUTH_YES,
         0.25,
         ""},
        {"(pump.flow at weak-sun) > 0.1 * (pump.flow at bright-noon)",
         {{0, PUMP_FLOW, "60 L/h", CONDITION_BRIGHT_NOON},
          {0, PUMP_FLOW, "9 L/h", CONDITION_WEAK_SUN}},
         TRUTH_YES,
         0.5,
         ""},
        {"pump.flow >= 40 L/h at dark",
         {{0, PUMP_FLOW, "60 L/h", CONDITION_BRIGHT_NOON}},
         TRUTH_UNKNOWN,
         none,
         "lift.flow"},
        /* any and all */
        {"any(feeds pump: pump.voltage > 10 V)",
         {{0, PUMP_VOLTAGE, "12 V", ANY}, {5, PUMP_VOLTAGE, "6 V", ANY}},
         TRUTH_YES,
         0.2,
         ""},
        {"any(feeds pump: pump.voltage > 10 V)",
         {{0, PUMP_VOLTAGE, "12 V", ANY}},
         TRUTH_YES,
         0.2,
         ""},
        {"any(feeds pump: pump.voltage > 10 V)",
         {{0, PUMP_VOLTAGE, "6 V", ANY}},
         TRUTH_UNKNOWN,
         none,
         "spare.voltage"},
        {"all(feeds pump: pump.voltage > 10 V)",
         {{0, PUMP_VOLTAGE, "12 V", ANY}, {5, PUMP_VOLTAGE, "6 V", ANY}},
         TRUTH_NO,
         -0.4,
         ""},
        {"all(feeds pump: pump.voltage > 10 V)",
         {{0, PUMP_VOLTAGE, "6 V", ANY}},
         TRUTH_NO,
         -0.4,
         ""},
        {"all(feeds pump: pump.voltage > 10 V)",
         {{0, PUMP_VOLTAGE, "12 V", ANY}},
         TRUTH_UNKNOWN,
         none,
         "spare.voltage"},
        {"any(protects pump: pump.voltage > 10 V)", {{0}}, TRUTH_NO, none, ""},
        {"all(protects pump: pump.voltage > 10 V)", {{0}}, TRUTH_YES, none, ""},
        {"any(fuse feeds valve: valve.action is pilot)",
         {{3, VALVE_ACTION, "pilot", ANY}},
         TRUTH_YES,
         none,
         ""},
        /* inside, the kind's name stands for each part in turn and hides the outer role */
        {"all(pump: pump.current = 3 A) and pump.current = 3 A",
         {{0, PUMP_CURRENT, "3 A", ANY}, {5, PUMP_CURRENT, "2 A", ANY}},
         TRUTH_NO,
         NAN,
         ""},
    };
    struct arena *arena = arena_new();
    for (size_t i = 0; i < COUNT(rows); i++) {
        const struct formula *formula = compile_in(arena, &scope, rows[i].text, FORMULA_TRUTH);
        struct rig rig = {.arena = arena};
        memcpy(rig.at, rows[i].given, sizeof rows[i].given);
        struct formula_world world = world_of(&rig);
        struct formula_uses uses;
        struct formula_result result =
            formula_evaluate(formula, &world, parts, CONDITION_BRIGHT_NOON, &uses);
        char missing[200];
        list_missing(&uses, missing);
        if (result.truth != rows[i].truth || result.has_margin == isnan(rows[i].margin) ||
            strcmp(missing, rows[i].missing) != 0 ||
            (result.has_margin &&
             fabs(result.margin - rows[i].margin) > 1e-9 * fabs(rows[i].margin)))
            fail_msg("%s: truth %d, margin %d %.9g, missing '%s'", rows[i].text, (int)result.truth,
                     result.has_margin, result.margin, missing);
        assert_int_equal(result.value.type, VALUE_NONE);
    }
    arena_drop(arena);
}

/* Kleene's tables, every row: no, yes, unknown as 0, 1, 2. */
static void truth_tables(void **state)
{
    (void)state;
    static const char *const words[] = {"brushless", "brushed", NULL};
    static const enum truth and[3][3] = {{0, 0, 0}, {0, 1, 2}, {0, 2, 2}};
    static const enum truth or [3][3] = {{0, 1, 2}, {1, 1, 1}, {2, 1, 2}};
    static const enum truth not [3] = {1, 0, 2};
    struct arena *arena = arena_new();
    const struct formula *formulas[] = {
        compile_in(arena, &scope, "pump.motor is brushed and valve.action is pilot", FORMULA_TRUTH),
        compile_in(arena, &scope, "pump.motor is brushed or valve.action is pilot", FORMULA_TRUTH),
        compile_in(arena, &scope, "not pump.motor is brushed", FORMULA_TRUTH)};
    for (int a = 0; a < 3; a++) {
        for (int b = 0; b < 3; b++) {
            struct rig rig = {.arena = arena};
            size_t count = 0;
            if (words[a])
                rig.at[count++] = (struct given){0, PUMP_MOTOR, words[a], ANY};
            if (words[b])
                rig.at[count] = (struct given){3, VALVE_ACTION, b ? "pilot" : "direct", ANY};
            struct formula_world world = world_of(&rig);
            enum truth got[3];
            for (int i = 0; i < 3; i++)
                got[i] = formula_evaluate(formulas[i], &world, parts, CONDITION_DARK, NULL).truth;
            assert_int_equal(got[0], and[a][b]);
            assert_int_equal(got[1], or [a][b]);
            assert_int_equal(got[2], not [a]);
        }
    }
    arena_drop(arena);
}

/* ---- Let values ---- */

static void let_values(void **state)
{
    (void)state;
    struct arena *arena = arena_new();
    struct formula_scope inner = scope;
    const struct formula *lets[4];
    static const char *const names[] = {"limit", "need", "kind_of", "broken"};
    inner.let_names = names;
    inner.lets = lets;
    lets[0] = compile_in(arena, &inner, "0.8 * cable.ampacity", FORMULA_ANY);
    inner.let_count = 1;
    lets[1] = compile_in(arena, &inner, "1.25 * limit", FORMULA_ANY);
    lets[2] = compile_in(arena, &inner, "if fuse.rating > 3 A then 'brushed' else 'brushless'",
                         FORMULA_ANY);
    lets[3] = NULL;
    inner.let_count = 4;
    const struct formula *formula =
        compile_in(arena, &inner, "fuse.rating <= need and pump.motor is kind_of", FORMULA_TRUTH);
    struct rig rig = {.at = {FUSE_IS("10 A"), CABLE_IS("16 A"), PUMP_IS(PUMP_MOTOR, "brushed")}};
    struct formula_world world = world_of(&rig);
    struct formula_uses uses;
    struct formula_result result = formula_evaluate(formula, &world, parts, CONDITION_DARK, &uses);
    assert_int_equal(result.truth, TRUTH_YES);
    assert_close(result.margin, 6.0 / 16.0, 1e-12);
    assert_int_equal(uses.count, 3);

    struct text out = {0};
    formula_working(formula, &world, parts, CONDITION_DARK, &out);
    assert_string_equal(out.bytes, "limit = 0.8 * cable.ampacity = 0.8 * 16 A = 12.8 A\n"
                                   "need = 1.25 * limit = 1.25 * 12.8 A = 16 A\n"
                                   "kind_of = 'brushed' = brushed\n"
                                   "fuse.rating <= need and pump.motor is kind_of\n"
                                   "10 A <= 16 A and brushed is brushed\n"
                                   "holds, with 38 % to spare\n");
    text_drop(&out);

    struct diagnostics diagnostics = {.arena = arena};
    assert_null(formula_compile(arena, "broken > 3", start, &inner, FORMULA_TRUTH, &diagnostics));
    assert_string_equal(diagnostics.at[0].message,
                        "'broken' has a mistake of its own, told where it is named.");
    arena_drop(arena);
}

/* What is kept from one evaluation to the next comes out as if nothing were kept: the result and
 * what was looked at for it. */
static void assert_kept(const struct formula *formula, const struct formula_world *world,
                        enum condition condition, struct formula_memory *memory)
{
    struct formula_uses want, got;
    struct formula_result new = formula_evaluate(formula, world, parts, condition, &want);
    struct formula_result old =
        formula_evaluate_again(formula, world, parts, condition, &got, memory);
    assert_int_equal(old.truth, new.truth);
    assert_int_equal(old.origin, new.origin);
    assert_int_equal(old.has_margin, new.has_margin);
    assert_close(old.margin, new.margin, 0.0);
    assert_int_equal(got.count, want.count);
    for (size_t i = 0; i < got.count; i++) {
        assert_int_equal(got.at[i].part, want.at[i].part);
        assert_int_equal(got.at[i].attribute, want.at[i].attribute);
        assert_int_equal(got.at[i].condition, want.at[i].condition);
        assert_int_equal(got.at[i].unknown, want.at[i].unknown);
    }
}

static void let_values_are_kept(void **state)
{
    (void)state;
    static const char *const names[] = {"limit", "sound", "wanted", "at_dark", "open"};
    static const char *const texts[] = {
        "max(2 A, 0.8 * cable.ampacity, fuse.rating)",
        "known(fuse.rating) and (fuse.rating > 3 A or pump.max_head > 1 m)",
        "(pump.max_head else 2 m) + 3 m",
        "(cable.ampacity at dark) - 1 A + 1 A", /* names a condition: not kept */
        "total(part: count(part feeds pump)) > 2 and pump.voltage > 1 V",
    };
    static const char *const rows[] = {
        "fuse.rating <= limit and (sound or limit > 3 A) and pump.flow > 1 L/h",
        "pump.max_head > 1 m or (sound and pump.flow > 2 L/h)",
        "wanted > 4 m and pump.max_head >= wanted",
        "limit <= at_dark and cable.ampacity > at_dark and sound",
        "open or sound and not open",
        "if pump.flow > 30 L/h then open else sound and limit >= 2 A",
    };
    struct arena *arena = arena_new();
    struct formula_scope inner = scope;
    const struct formula *lets[COUNT(names)];
    inner.let_names = names;
    inner.lets = lets;
    for (; inner.let_count < COUNT(names); inner.let_count++)
        lets[inner.let_count] = compile_in(arena, &inner, texts[inner.let_count], FORMULA_ANY);
    const struct rig rigs[] = {
        {.at = {FUSE_IS("10 A"), CABLE_IS("16 A"), {0, PUMP_FLOW, "50 L/h", CONDITION_DARK}}},
        {.at = {FUSE_IS("2 A"), PUMP_IS(PUMP_MAX_HEAD, "~4 m"), PUMP_IS(PUMP_FLOW, "20 L/h")}},
        {.at = {CABLE_IS("16 A"), PUMP_IS(PUMP_VOLTAGE, "12 V")}},
    };
    for (size_t r = 0; r < COUNT(rigs); r++) {
        struct formula_world world = world_of(&rigs[r]);
        struct formula_memory memory;
        memory.count = memory.use_count = 0;
        for (int c = 0; c < CONDITION_COUNT; c++)
            for (size_t i = 0; i < COUNT(rows); i++)
                assert_kept(compile_in(arena, &inner, rows[i], FORMULA_TRUTH), &world,
                            (enum condition)c, &memory);
        assert_int_equal(memory.count, 4); /* all but at_dark */
    }
    arena_drop(arena);
}

/* Names that double at each step would take for ever to work out. */
static void let_values_that_multiply(void **state)
{
    (void)state;
    struct arena *arena = arena_new();
    static const char *const names[] = {"a", "b", "c", "d", "e", "f", "g", "h"};
    const struct formula *lets[COUNT(names)] = {NULL};
    struct formula_scope inner = scope;
    inner.let_names = names;
    inner.lets = lets;
    struct diagnostics diagnostics = {.arena = arena};
    lets[0] = compile_in(arena, &inner, "1 + 1 + 1 + 1 + 1 + 1 + 1 + 1", FORMULA_ANY);
    size_t made = 1;
    for (; made < COUNT(names); made++) {
        char text[64];
        const char *n = names[made - 1];
        snprintf(text, sizeof text, "%s + %s + %s + %s + %s + %s + %s + %s", n, n, n, n, n, n, n,
                 n);
        inner.let_count = made;
        lets[made] = formula_compile(arena, text, start, &inner, FORMULA_ANY, &diagnostics);
        if (!lets[made])
            break;
    }
    assert_int_equal(made, 4);
    assert_string_equal(diagnostics.at[0].message,
                        "with the values that it names the formula has more than 20000 terms.");
    arena_drop(arena);
}

/* What is deep, by way of let values, is refused before the stack is at risk; what is taken works.
 */
static void deep_let_values(void **state)
{
    (void)state;
    struct arena *arena = arena_new();
    static const char *const names[] = {"a", "b", "c", "d", "e"};
    const struct formula *lets[COUNT(names)] = {NULL};
    struct formula_scope inner = scope;
    inner.let_names = names;
    inner.lets = lets;
    struct diagnostics diagnostics = {.arena = arena};
    char text[600];
    size_t made = 0;
    for (; made < COUNT(names); made++) {
        size_t length = (size_t)snprintf(text, sizeof text, "%s", made ? names[made - 1] : "1");
        for (int i = 0; i < 254; i++)
            length += (size_t)snprintf(text + length, sizeof text - length, "+1");
        inner.let_count = made;
        lets[made] = formula_compile(arena, text, start, &inner, FORMULA_ANY, &diagnostics);
        if (!lets[made])
            break;
    }
    assert_int_equal(made, 4);
    assert_string_equal(
        diagnostics.at[0].message,
        "with the values that it names the formula goes more than 1024 levels deep.");
    struct rig rig = {.arena = arena};
    struct formula_world world = world_of(&rig);
    struct formula_result result = formula_evaluate(lets[3], &world, parts, CONDITION_DARK, NULL);
    assert_close(result.value.as.quantity.value, 1017.0, 0.0);
    struct text out = {0};
    formula_working(lets[3], &world, parts, CONDITION_DARK, &out);
    assert_false(out.failed);
    text_drop(&out);
    arena_drop(arena);
}

/* In a rig's needs no role is the subject. */
static void no_subject(void **state)
{
    (void)state;
    struct arena *arena = arena_new();
    struct formula_scope needs = scope;
    needs.no_subject = true;
    compile_in(arena, &needs, "any(pump feeds valve: valve.voltage > 3 V)", FORMULA_TRUTH);
    struct diagnostics diagnostics = {.arena = arena};
    assert_null(formula_compile(arena, "any(feeds valve: valve.voltage > 3 V)", start, &needs,
                                FORMULA_TRUTH, &diagnostics));
    assert_string_equal(diagnostics.at[0].message,
                        "nothing stands before 'feeds'; write PART feeds valve.");
    arena_drop(arena);
}

/* ---- One role: its attributes stand without it ---- */

static void bare_attributes(void **state)
{
    (void)state;
    struct arena *arena = arena_new();
    struct formula_scope alone = {
        .store = &store, .roles = roles, .role_count = 1, .relations = relations};
    const struct formula *formula =
        compile_in(arena, &alone, "max_head >= 5 m and motor is brushed", FORMULA_TRUTH);
    struct rig rig = {.at = {PUMP_IS(PUMP_MAX_HEAD, "6 m"), PUMP_IS(PUMP_MOTOR, "brushed")}};
    struct formula_world world = world_of(&rig);
    struct formula_result result = formula_evaluate(formula, &world, parts, CONDITION_DARK, NULL);
    assert_int_equal(result.truth, TRUTH_YES);
    assert_close(result.margin, 0.2, 1e-12);
    struct diagnostics diagnostics = {.arena = arena};
    assert_null(
        formula_compile(arena, "max_haed >= 5 m", start, &alone, FORMULA_TRUTH, &diagnostics));
    assert_string_equal(diagnostics.at[0].message,
                        "there is no 'max_haed' here; did you mean max_head?");
    /* which attributes a formula looks at */
    size_t at = 0, role;
    const struct attribute *attribute;
    assert_true(formula_attribute(formula, &at, &role, &attribute));
    assert_string_equal(attribute->name, "max_head");
    assert_int_equal(role, 0);
    assert_true(formula_attribute(formula, &at, &role, &attribute));
    assert_string_equal(attribute->name, "motor");
    assert_false(formula_attribute(formula, &at, &role, &attribute));
    assert_true(formula_compares(formula));
    assert_false(formula_compares(compile_in(arena, &alone, "motor is brushed", FORMULA_TRUTH)));
    assert_true(formula_compares(compile_in(arena, &alone, "voltage in 6 .. 16 V", FORMULA_TRUTH)));
    arena_drop(arena);
}

static bool rating_is_unread(const void *data, size_t part, int attribute)
{
    (void)data;
    return part == 1 && attribute == FUSE_RATING;
}

/* What is written but can't be read is not absent: nothing stands in for it. */
static void unread_values(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        enum truth absent, unread;
    } rows[] = {
        {"known(fuse.rating)", TRUTH_NO, TRUTH_UNKNOWN},
        {"not known(fuse.rating) and cable.ampacity > 20 A", TRUTH_NO, TRUTH_NO},
        {"(fuse.rating else 5 A) < 10 A", TRUTH_YES, TRUTH_UNKNOWN},
        {"(fuse.rating < 4 A) else yes", TRUTH_YES, TRUTH_UNKNOWN},
        {"fuse.rating < 10 A or cable.ampacity > 5 A", TRUTH_YES, TRUTH_YES},
        {"known(pump.curve)", TRUTH_NO, TRUTH_NO},
    };
    struct arena *arena = arena_new();
    struct rig rig = {.at = {CABLE_IS("11.6 A")}};
    struct formula_world world = world_of(&rig), unread = world;
    unread.unread = rating_is_unread;
    for (size_t i = 0; i < COUNT(rows); i++) {
        const struct formula *formula = compile_in(arena, &scope, rows[i].text, FORMULA_TRUTH);
        assert_int_equal(formula_evaluate(formula, &world, parts, CONDITION_DARK, NULL).truth,
                         rows[i].absent);
        assert_int_equal(formula_evaluate(formula, &unread, parts, CONDITION_DARK, NULL).truth,
                         rows[i].unread);
    }
    arena_drop(arena);
}

/* ---- Sentences ---- */

static void sentences(void **state)
{
    (void)state;
    static const struct {
        const char *text, *words;
    } rows[] = {
        {"", ""},
        {"nothing to fill in", "nothing to fill in"},
        {"{fuse} can pass {fuse.rating}; {cable} may carry only {cable.ampacity}.",
         "f1 can pass 10 A; lift-run may carry only 11.6 A."},
        {"over { fuse.rating * 2 : mA }", "over 20000 mA"},
        {"{pump.flow}", "111 L/h"},
        {"{pump.flow: gal/min}", "0.489 gal/min"}, /* 3.785411784 L to the gallon: 0.48870 */
        {"{{{pump}}}", "{lift}"},
        {"{pump.motor}, {pump.share}, {condition}", "brushed, 5.5 %, bright-noon"},
        {"{pump.voltage_range} {tank.load_modes}", "6 V .. 16 V always and timed"},
        {"{total(cable: cable.length)} {total(cable: cable.length) : km}", "(unknown) (unknown)"},
        {"{fuse.rating <= cable.ampacity}", "yes"},
        {"{tank.evening_temperature} {tank.evening_temperature: degF}", "32 degC 89.6 degF"},
        {"{pump.voltage} at {valve.voltage}", "(unknown) at (unknown)"},
        {"line\n  {fuse}", "line\n  f1"},
        {"{if pump.motor is 'brushed' then '{:}' else \"}\"}", "{:}"},
        {"{nobody}", "(unknown)"},
        {"{tank.senses}{known(pump.curve)}", "(unknown)no"},
        {"{3 V .. 4 V : mV}", "3000 mV .. 4000 mV"},
        {"a{when fuse.rating <= cable.ampacity}, {fuse.rating}{end}, b{when not yes}c {fuse}{end}.",
         "a, 10 A, b."},
        {"{ when pump.voltage > 3 V }not known, not said{ end }", ""},
    };
    struct arena *arena = arena_new();
    struct rig rig = {.at = {FUSE_IS("10 A"),
                             CABLE_IS("11.6 A"),
                             PUMP_IS(PUMP_FLOW, "111 L/h"),
                             PUMP_IS(PUMP_MOTOR, "brushed"),
                             PUMP_IS(PUMP_SHARE, "5.5 %"),
                             PUMP_IS(PUMP_WINDOW, "6 .. 16 V"),
                             {4, TANK_MODES, "-", ANY},
                             {4, TANK_TEMPERATURE, "32 degC", ANY}}};
    struct formula_world world = world_of(&rig);
    struct text out = {0};
    for (size_t i = 0; i < COUNT(rows); i++) {
        struct diagnostics diagnostics = {.arena = arena};
        const struct formula_words *words =
            formula_words_compile(arena, rows[i].text, start, &scope, &diagnostics);
        if (!words)
            fail_msg("%s: %s", rows[i].text, diagnostics.at[0].message);
        text_clear(&out);
        formula_words_print(words, &world, parts, CONDITION_BRIGHT_NOON, NULL, &out);
        assert_string_equal(out.bytes ? out.bytes : "", rows[i].words);
    }
    text_drop(&out);
    arena_drop(arena);
}

/* The same for those who read US customary units. */
static void customary_sentences(void **state)
{
    (void)state;
    static const struct {
        const char *text, *words;
    } rows[] = {
        {"{fuse.rating} {pump.flow}", "10 A 29.3 gal/h"},
        {"{pump.flow : L/h}", "29.3 gal/h"},
        {"{pump.flow : L/h or gal/min}", "0.489 gal/min"},
        {"{pump.flow : L/h or L/h}", "111 L/h"},
        {"{pump.flow : L/h or ft3/h}", "3.92 ft3/h"}, /* a unit without a row of its own */
        {"{2 * pump.flow}", "58.6 gal/h"},
        {"{tank.evening_temperature} {tank.evening_temperature : degC}", "89.6 degF 89.6 degF"},
        {"{tank.evening_temperature - 20 degC : K}", "21.6 degF"},
        {"{fuse.rating * pump.max_head / 1 A : m}", "197 ft"},
        /* a number of the sentence's own is round: 43 degC is 109.4 degF, 2 m 6.56 ft */
        {"{43 degC} {0 degC} {2 m} {0.2 m} {3 K} {7 V}",
         "109 degF 32 degF 6.6 ft 7.9 in 5.4 degF 7 V"},
        {"{2 m : mm} {0 L/h}", "79 in 0 gal/min"},
        {"{10 degC .. 35 degC}", "50 degF .. 95 degF"},
    };
    struct arena *arena = arena_new();
    struct rig rig = {.at = {FUSE_IS("10 A"),
                             PUMP_IS(PUMP_FLOW, "111 L/h"),
                             PUMP_IS(PUMP_MAX_HEAD, "6 m"),
                             {4, TANK_TEMPERATURE, "32 degC", ANY}}};
    struct formula_world world = world_of(&rig);
    world.units = UNITS_CUSTOMARY;
    struct text out = {0};
    for (size_t i = 0; i < COUNT(rows); i++) {
        struct diagnostics diagnostics = {.arena = arena};
        const struct formula_words *words =
            formula_words_compile(arena, rows[i].text, start, &scope, &diagnostics);
        if (!words)
            fail_msg("%s: %s", rows[i].text, diagnostics.at[0].message);
        text_clear(&out);
        formula_words_print(words, &world, parts, CONDITION_BRIGHT_NOON, NULL, &out);
        assert_string_equal(out.bytes ? out.bytes : "", rows[i].words);
    }
    text_drop(&out);
    arena_drop(arena);
}

/* In symbols as it is written, then all in one system, so that the sum can be followed. */
static void customary_workings(void **state)
{
    (void)state;
    static const struct {
        const char *text, *working;
    } rows[] = {
        {"pump.max_head >= 5 m",
         "pump.max_head >= 5 m\n19.7 ft >= 16.4 ft\nholds, with 20 % to spare\n"},
        {"pump.max_head >= 20 ft", "pump.max_head >= 20 ft\n19.7 ft >= 20 ft\nfails, by 1.6 %\n"},
        {"tank.evening_temperature - 20 degC >= 10 K",
         "tank.evening_temperature - 20 degC >= 10 K\n89.6 degF - 68 degF >= 18 degF\nholds, with "
         "20 % to spare\n"},
        {"fuse.rating >= 12 A", "fuse.rating >= 12 A\n10 A >= 12 A\nfails, by 17 %\n"},
        {"2 m > 1 m", "2 m > 1 m\nholds, with 100 % to spare\n"},
    };
    struct arena *arena = arena_new();
    struct rig rig = {.at = {FUSE_IS("10 A"),
                             PUMP_IS(PUMP_MAX_HEAD, "6 m"),
                             {4, TANK_TEMPERATURE, "32 degC", ANY}}};
    struct formula_world world = world_of(&rig);
    world.units = UNITS_CUSTOMARY;
    struct text out = {0};
    for (size_t i = 0; i < COUNT(rows); i++) {
        text_clear(&out);
        formula_working(compile_in(arena, &scope, rows[i].text, FORMULA_TRUTH), &world, parts,
                        CONDITION_BRIGHT_NOON, &out);
        assert_string_equal(out.bytes, rows[i].working);
    }
    text_drop(&out);
    arena_drop(arena);
}

/* What is compared never prints alike where one of them is past the limit. */
static void near_values_are_told_apart(void **state)
{
    (void)state;
    static const struct {
        const char *rating, *ampacity, *decided, *words;
    } rows[] = {
        {"11.6004 A", "11.6 A", "fuse.rating <= cable.ampacity", "11.6004 A, 11.6 A"},
        {"11.60041 A", "11.60037 A", "fuse.rating <= cable.ampacity", "11.60041 A, 11.60037 A"},
        {"11.6004 A", "11.6 A", "fuse.rating <= 20 A", "11.6 A, 11.6 A"},
        {"11.6004 A", "3 A", "not (fuse.rating <= 11.6 A)", "11.6004 A, 3 A"},
        {"11.6 A", "11.6 A", "fuse.rating <= cable.ampacity", "11.6 A, 11.6 A"},
        {"20003 mA", "20 A", "fuse.rating <= cable.ampacity", "20.003 A, 20 A"},
    };
    struct arena *arena = arena_new();
    struct diagnostics diagnostics = {.arena = arena};
    const struct formula_words *words = formula_words_compile(
        arena, "{fuse.rating}, {cable.ampacity}", start, &scope, &diagnostics);
    struct text out = {0};
    for (size_t i = 0; i < COUNT(rows); i++) {
        struct rig rig = {.at = {FUSE_IS(rows[i].rating), CABLE_IS(rows[i].ampacity)}};
        struct formula_world world = world_of(&rig);
        text_clear(&out);
        formula_words_print(words, &world, parts, CONDITION_DARK,
                            compile_in(arena, &scope, rows[i].decided, FORMULA_TRUTH), &out);
        assert_string_equal(out.bytes, rows[i].words);
    }
    text_drop(&out);
    arena_drop(arena);
}

static void sentences_with_mistakes(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        unsigned column;
        const char *message;
    } rows[] = {
        {"a {fuse", 3, "the brace that opens here is never closed; write {{ for the sign itself."},
        {"a {fuse {b}", 3,
         "the brace that opens here is never closed; write {{ for the sign itself."},
        {"a } b", 3, "a closing brace has none that opens; write }} for the sign itself."},
        {"a {fusee.rating}", 4, "there is no 'fusee' here; did you mean fuse?"},
        {"a {fuze}", 4, "there is no 'fuze' here; did you mean fuse?"},
        {"{fuse} {fuse.ratign}", 14, "a fuse has no 'ratign'; did you mean rating?"},
        {"{fuse.rating : V}", 16, "'fuse.rating' cannot be told in V; write A or mA."},
        {"{fuse.rating : Q}", 16, "there is no unit 'Q'."},
        {"{fuse.rating : A or V}", 21, "'fuse.rating' cannot be told in V; write A or mA."},
        {"{fuse.rating : A or Q}", 21, "there is no unit 'Q'."},
        {"{pump.motor : V}", 15, "'pump.motor' has no unit, so it cannot be told in V."},
        {"{pump.curve}", 2, "'pump.curve' is a table, which cannot stand in a sentence."},
        {"{}", 2, "the formula ends where a value is due."},
        {"{when yes} a", 13, "{when ...} has no {end} behind it."},
        {"a {end}", 3, "{end} has no {when ...} before it."},
        {"{when yes}{end}{end}", 16, "{end} has no {when ...} before it."},
        {"{when yes}{when no}{end}{end}", 12, "one {when ...} begins within another."},
        {"{when fuse.rating}{end}", 7,
         "'fuse.rating' is a current (A), where something that holds or does not is due."},
        {"{when}{end}", 6, "the formula ends where a value is due."},
        {"\xc3\xa9\xc3\xa9 {fuse.ratign}", 10, "a fuse has no 'ratign'; did you mean rating?"},
    };
    struct arena *arena = arena_new();
    for (size_t i = 0; i < COUNT(rows); i++) {
        struct diagnostics diagnostics = {.arena = arena};
        assert_null(formula_words_compile(arena, rows[i].text, (struct place){"x", 3, 1}, &scope,
                                          &diagnostics));
        assert_int_equal(diagnostics.count, 1);
        assert_string_equal(diagnostics.at[0].message, rows[i].message);
        assert_int_equal(diagnostics.at[0].at.column, rows[i].column);
        assert_int_equal(diagnostics.at[0].at.line, 3);
    }
    arena_drop(arena);
}

/* ---- Workings ---- */

static void workings(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        struct given given[4];
        const char *working;
    } rows[] = {
        {"fuse.rating <= cable.ampacity",
         {FUSE_IS("10 A"), CABLE_IS("11.6 A")},
         "fuse.rating <= cable.ampacity\n10 A <= 11.6 A\nholds, with 14 % to spare\n"},
        {"fuse.rating <= cable.ampacity",
         {FUSE_IS("15 A"), CABLE_IS("11.6 A")},
         "fuse.rating <= cable.ampacity\n15 A <= 11.6 A\nfails, by 29 %\n"},
        {"fuse.rating <= cable.ampacity",
         {FUSE_IS("11.6 A"), CABLE_IS("11.6 A")},
         "fuse.rating <= cable.ampacity\n11.6 A <= 11.6 A\nholds, exactly at the limit\n"},
        {"fuse.rating <= cable.ampacity",
         {FUSE_IS("11.6004 A"), CABLE_IS("11.6 A")},
         "fuse.rating <= cable.ampacity\n11.6004 A <= 11.6 A\nfails, by less than 0.1 %\n"},
        {"fuse.rating < 1.25 * cable.ampacity",
         {FUSE_IS("14.5 A"), CABLE_IS("11.599 A")},
         "fuse.rating < 1.25 * cable.ampacity\n14.5 A < 1.25 * 11.599 A\nfails, by less than 0.1 "
         "%\n"},
        {"fuse.rating <= cable.ampacity",
         {FUSE_IS("11.5 A"), CABLE_IS("11.6 A")},
         "fuse.rating <= cable.ampacity\n11.5 A <= 11.6 A\nholds, with 0.9 % to spare\n"},
        {"fuse.rating <= cable.ampacity",
         {CABLE_IS("11.6 A")},
         "fuse.rating <= cable.ampacity\nunknown <= 11.6 A\ncannot be decided: f1.rating is "
         "unknown\n"},
        {"fuse.rating <= cable.ampacity",
         {{0}},
         "fuse.rating <= cable.ampacity\nunknown <= unknown\ncannot be decided: f1.rating and "
         "lift-run.ampacity are unknown\n"},
        {"pump.motor is brushed",
         {PUMP_IS(PUMP_MOTOR, "brushed")},
         "pump.motor is brushed\nbrushed is brushed\nholds\n"},
        {"( pump.flow )\n  >= 60 L/h\n at weak-sun ",
         {{0, PUMP_FLOW, "111 L/h", CONDITION_WEAK_SUN}},
         "( pump.flow ) >= 60 L/h at weak-sun\n111 L/h >= 60 L/h at weak-sun\nholds, with 85 % to "
         "spare\n"},
        {"1.25 * pump.current",
         {PUMP_IS(PUMP_CURRENT, "2 A")},
         "1.25 * pump.current\n1.25 * 2 A\n= 2.5 A\n"},
        {"pump.current", {PUMP_IS(PUMP_CURRENT, "2 A")}, "pump.current\n= 2 A\n"},
        {"pump.current", {{0}}, "pump.current\n= unknown: lift.current is unknown\n"},
        {"tank.time_to(40 degC) <= 5 h",
         {{0}},
         "tank.time_to(40 degC) <= 5 h\n4 h <= 5 h\nholds, with 20 % to spare\n"},
        {"tank.time_to(90 degC) <= 5 h",
         {{0}},
         "tank.time_to(90 degC) <= 5 h\nnever <= 5 h\nfails, by more than a hundred times\n"},
        {"tank.time_to(-1 degC) <= tank.time_to(-2 degC)",
         {{0}},
         "tank.time_to(-1 degC) <= tank.time_to(-2 degC)\nunknown <= unknown\n"
         "cannot be decided: drum.time_to(-1 degC) and drum.time_to(-2 degC) are unknown\n"},
        {"total(pump: pump.current) * 2",
         {{0, PUMP_CURRENT, "2 A", ANY}, {5, PUMP_CURRENT, "1 A", ANY}},
         "total(pump: pump.current) * 2\n3 A * 2\n= 6 A\n"},
        {"pump.current ^ 2 - pump.current ^ 2",
         {PUMP_IS(PUMP_CURRENT, "2 A")},
         "pump.current ^ 2 - pump.current ^ 2\n(2 A) ^ 2 - (2 A) ^ 2\n= 0 A2\n"},
        {"5 m - cable.length",
         {{2, CABLE_LENGTH, "-3 m", ANY}},
         "5 m - cable.length\n5 m - (-3 m)\n= 8 m\n"},
        {"2 V + 3 V", {{0}}, "2 V + 3 V\n= 5 V\n"},
        {"fuse.rating > 0 A",
         {FUSE_IS("0 A")},
         "fuse.rating > 0 A\n0 A > 0 A\nfails, exactly at the limit\n"},
        {"fuse.rating < 1 / 0 * 1 A",
         {FUSE_IS("3 A")},
         "fuse.rating < 1 / 0 * 1 A\n3 A < 1 / 0 * 1 A\nholds, with 100 % to spare\n"},
        {"fuse.rating > 0.001 A",
         {FUSE_IS("3 A")},
         "fuse.rating > 0.001 A\n3 A > 0.001 A\nholds, by far\n"},
    };
    struct arena *arena = arena_new();
    struct text out = {0};
    for (size_t i = 0; i < COUNT(rows); i++) {
        const struct formula *formula = compile_in(arena, &scope, rows[i].text, FORMULA_ANY);
        struct rig rig = {.arena = arena};
        memcpy(rig.at, rows[i].given, sizeof rows[i].given);
        struct formula_world world = world_of(&rig);
        text_clear(&out);
        formula_working(formula, &world, parts, CONDITION_BRIGHT_NOON, &out);
        assert_string_equal(out.bytes, rows[i].working);
    }
    text_drop(&out);
    arena_drop(arena);
}

/* ---- What was looked at ---- */

static void uses_are_told_once(void **state)
{
    (void)state;
    struct arena *arena = arena_new();
    const struct formula *formula = compile_in(
        arena, &scope,
        "fuse.rating + fuse.rating >= 3 A and pump.flow > 1 L/h and pump.flow > 1 L/h at dark",
        FORMULA_TRUTH);
    struct rig rig = {.at = {FUSE_IS("10 A"), PUMP_IS(PUMP_FLOW, "50 L/h")}};
    struct formula_world world = world_of(&rig);
    struct formula_uses uses;
    formula_evaluate(formula, &world, parts, CONDITION_WEAK_SUN, &uses);
    assert_int_equal(uses.count, 3);
    assert_int_equal(uses.at[0].part, 1);
    assert_int_equal(uses.at[0].attribute, FUSE_RATING);
    assert_false(uses.at[0].unknown);
    assert_int_equal(uses.at[1].condition, CONDITION_WEAK_SUN);
    assert_int_equal(uses.at[2].condition, CONDITION_DARK);
    arena_drop(arena);
}

/* More attributes than the list has room for: what is missing stays on it. */
static bool ones(const void *data, size_t part, int attribute, enum condition condition,
                 struct value *out, enum origin *origin)
{
    (void)data;
    (void)part;
    (void)condition;
    *out = (struct value){.type = VALUE_QUANTITY, .as.quantity.value = 1.0};
    *origin = ORIGIN_GIVEN;
    return attribute != 38;
}

/* A kind with more attributes than a list of uses takes; x.a38 is never known. */
static const char *const many_names[] = {"a0",  "a1",  "a2",  "a3",  "a4",  "a5",  "a6",  "a7",
                                         "a8",  "a9",  "a10", "a11", "a12", "a13", "a14", "a15",
                                         "a16", "a17", "a18", "a19", "a20", "a21", "a22", "a23",
                                         "a24", "a25", "a26", "a27", "a28", "a29", "a30", "a31",
                                         "a32", "a33", "a34", "a35", "a36", "a37", "a38", "a39"};
struct many {
    struct attribute attributes[COUNT(many_names)];
    struct kind kind;
    const struct kind *its_kind;
    struct formula_role role;
    struct formula_scope scope;
    struct formula_world world;
};

static void make_many(struct many *many)
{
    *many = (struct many){
        .kind = {.name = "x", .attributes = many->attributes, .attribute_count = COUNT(many_names)},
        .its_kind = &many->kind,
        .role = {"x", &many->its_kind, 1},
        .scope = {.store = &store, .roles = &many->role, .role_count = 1},
        .world = {.value = ones, .kind = rig_kind, .id = rig_id, .related = rig_related}};
    for (size_t i = 0; i < COUNT(many_names); i++)
        many->attributes[i] =
            (struct attribute){.name = many_names[i], .type = VALUE_QUANTITY, .unit = ""};
}

/* "x.a3 + x.a4 + x.a5" */
static const char *sum_of_many(char text[600], size_t from, size_t end)
{
    text[0] = '\0';
    for (size_t i = from; i < end; i++)
        snprintf(text + strlen(text), 600 - strlen(text), "%sx.%s", i == from ? "" : " + ",
                 many_names[i]);
    return text;
}

static void missing_uses_are_kept(void **state)
{
    (void)state;
    struct arena *arena = arena_new();
    struct many many;
    char text[600];
    make_many(&many);
    const struct formula *sum =
        compile_in(arena, &many.scope, sum_of_many(text, 0, COUNT(many_names)), FORMULA_VALUE);
    struct formula_uses uses;
    struct formula_result result = formula_evaluate(sum, &many.world, parts, CONDITION_DARK, &uses);
    assert_int_equal(result.value.type, VALUE_NONE);
    assert_int_equal(uses.count, 32);
    size_t missing = 0;
    for (size_t i = 0; i < uses.count; i++)
        missing += uses.at[i].unknown && uses.at[i].attribute == 38;
    assert_int_equal(missing, 1);
    arena_drop(arena);
}

/* Where the list of uses has no room for what a kept value looked at, it is worked out anew. */
static void let_values_are_kept_while_there_is_room(void **state)
{
    (void)state;
    static const char *const names[] = {"first", "second", "third"};
    static const char *const rows[] = {"first > 3 and second > 3", "second > 3 or third > 3",
                                       "third + second + first > 3", "first > 3"};
    const size_t from[] = {0, 10, 25}, end[] = {14, 30, 40};
    struct arena *arena = arena_new();
    struct many many;
    char text[600];
    const struct formula *lets[COUNT(names)];
    make_many(&many);
    many.scope.let_names = names;
    many.scope.lets = lets;
    for (size_t i = 0; i < COUNT(names); i++) {
        lets[i] = compile_in(arena, &many.scope, sum_of_many(text, from[i], end[i]), FORMULA_ANY);
        many.scope.let_count = i + 1;
    }
    struct formula_memory memory;
    memory.count = memory.use_count = 0;
    for (int c = 0; c < CONDITION_COUNT; c++)
        for (size_t i = 0; i < COUNT(rows); i++)
            assert_kept(compile_in(arena, &many.scope, rows[i], FORMULA_TRUTH), &many.world,
                        (enum condition)c, &memory);
    assert_int_equal(memory.count, 2); /* the 14 uses of first and 15 of third, not 20 more */
    arena_drop(arena);
}

/* A role that may be several kinds knows the words of each; a part that is none of them is unknown.
 */
static void roles_of_several_kinds(void **state)
{
    (void)state;
    static const char *const first_words[] = {"in", "out"}, *const second_words[] = {"up", "down"};
    static const struct attribute first[] = {WORDS_OF("way", VALUE_WORD, first_words)};
    static const struct attribute second[] = {QUANTITY("count", BARE_DIM, "", SOLVED_NO),
                                              WORDS_OF("way", VALUE_WORD, second_words)};
    static const struct kind two[] = {KIND("one", first, NULL, 0), KIND("two", second, NULL, 0)};
    static const struct kind *const either[] = {&two[0], &two[1]};
    struct arena *arena = arena_new();
    const struct formula_role role = {"either", either, 2};
    const struct formula_scope alone = {.store = &store, .roles = &role, .role_count = 1};
    compile_in(arena, &alone, "either.way is 'in' or either.way is down", FORMULA_TRUTH);
    struct diagnostics diagnostics = {.arena = arena};
    assert_null(
        formula_compile(arena, "either.way is left", start, &alone, FORMULA_TRUTH, &diagnostics));
    assert_string_equal(diagnostics.at[0].message,
                        "'either.way' is never 'left'; it is one of in, out, up or down.");
    struct rig rig = {.at = {PUMP_IS(PUMP_VOLTAGE, "12 V")}};
    struct formula_world world = world_of(&rig); /* part 0 is a pump, and no part at all */
    const size_t pump[] = {0}, nothing[] = {SIZE_MAX};
    const struct formula *formula = compile_in(arena, &alone, "either.way is up", FORMULA_TRUTH);
    assert_int_equal(formula_evaluate(formula, &world, pump, CONDITION_DARK, NULL).truth,
                     TRUTH_UNKNOWN);
    assert_int_equal(formula_evaluate(formula, &world, nothing, CONDITION_DARK, NULL).truth,
                     TRUTH_UNKNOWN);
    arena_drop(arena);
}

static void what_is_wanted(void **state)
{
    (void)state;
    struct arena *arena = arena_new();
    struct diagnostics diagnostics = {.arena = arena};
    assert_null(formula_compile(arena, "3 V > 2 V", start, &scope, FORMULA_VALUE, &diagnostics));
    assert_string_equal(diagnostics.at[0].message,
                        "'3 V > 2 V' holds or does not, where a value is due.");
    assert_null(formula_compile(arena, "brushed", start, &scope, FORMULA_ANY, &diagnostics));
    assert_string_equal(diagnostics.at[1].message, "there is no 'brushed' here.");
    assert_string_equal(origin_name(ORIGIN_ASSUMED), "assumed");
    /* a list as a value, as a default may be */
    struct rig rig = {.arena = arena};
    struct formula_world world = world_of(&rig);
    struct formula_result result =
        formula_evaluate(compile_in(arena, &scope, "[always, timed]", FORMULA_VALUE), &world, parts,
                         CONDITION_DARK, NULL);
    assert_int_equal(result.value.type, VALUE_WORDS);
    assert_int_equal(result.value.as.words.count, 2);
    assert_string_equal(result.value.as.words.at[1], "timed");
    arena_drop(arena);
}

/* ---- Nobody writes these in good faith ---- */

static const char *refusal(struct arena *arena, const char *text)
{
    struct diagnostics diagnostics = {.arena = arena};
    assert_null(formula_compile(arena, text, start, &scope, FORMULA_ANY, &diagnostics));
    assert_int_equal(diagnostics.count, 1);
    return diagnostics.at[0].message;
}

static char *repeated(const char *piece, size_t times, const char *end)
{
    size_t length = strlen(piece);
    char *text = malloc(length * times + strlen(end) + 1);
    assert_non_null(text);
    for (size_t i = 0; i < times; i++)
        memcpy(text + i * length, piece, length);
    strcpy(text + length * times, end);
    return text;
}

static void hostile(void **state)
{
    (void)state;
    static const struct {
        const char *piece;
        size_t times;
        const char *end, *message;
    } rows[] = {
        {"1+", 500000, "1", "the formula is longer than 4096 bytes."},
        {"(", 4000, "",
         "the formula goes more than 64 levels deep; use let: to name a part of it."},
        {"-", 4000, "1",
         "the formula goes more than 64 levels deep; use let: to name a part of it."},
        {"not ", 1000, "yes",
         "the formula goes more than 64 levels deep; use let: to name a part of it."},
        {"2^", 2000, "1",
         "the formula goes more than 64 levels deep; use let: to name a part of it."},
        {"1 else ", 500, "1",
         "the formula goes more than 64 levels deep; use let: to name a part of it."},
        {"if yes then ", 300, "1",
         "the formula goes more than 64 levels deep; use let: to name a part of it."},
        {"if yes then 1 else ", 200, "1",
         "the formula goes more than 64 levels deep; use let: to name a part of it."},
        {"abs(", 1000, "1",
         "the formula goes more than 64 levels deep; use let: to name a part of it."},
        {"1+", 2000, "1", "the formula has more than 512 terms; use let: to name a part of it."},
        {"[a,", 1300, "b",
         "the formula goes more than 64 levels deep; use let: to name a part of it."},
        {"yes or ", 500, "yes",
         "the formula has more than 512 terms; use let: to name a part of it."},
        {"pump.voltage * ", 200, "1", NULL},
        {"9", 100, "", "a number with its unit is longer than 62 bytes."},
        {"\x80\xff", 300, "", NULL},
    };
    struct arena *arena = arena_new();
    for (size_t i = 0; i < COUNT(rows); i++) {
        char *text = repeated(rows[i].piece, rows[i].times, rows[i].end);
        const char *message = refusal(arena, text);
        if (rows[i].message)
            assert_string_equal(message, rows[i].message);
        free(text);
    }
    /* just inside the limits */
    char *deep = repeated("(", 63, "1"), *whole = repeated(")", 63, "");
    char *text = malloc(strlen(deep) + strlen(whole) + 1);
    sprintf(text, "%s%s", deep, whole);
    compile_in(arena, &scope, text, FORMULA_VALUE);
    free(text), free(deep), free(whole);
    text = repeated("1+", 255, "1");
    struct rig rig = {.arena = arena};
    struct formula_world world = world_of(&rig);
    struct formula_result result = formula_evaluate(compile_in(arena, &scope, text, FORMULA_VALUE),
                                                    &world, parts, CONDITION_DARK, NULL);
    assert_close(result.value.as.quantity.value, 256.0, 0.0);
    free(text);
    text = repeated("{", 2000, "");
    struct diagnostics diagnostics = {.arena = arena};
    assert_non_null(formula_words_compile(arena, text, start, &scope, &diagnostics));
    text[1999] = '\0';
    assert_null(formula_words_compile(arena, text, start, &scope, &diagnostics));
    free(text);
    text = repeated("words ", 200000, "");
    assert_null(formula_words_compile(arena, text, start, &scope, &diagnostics));
    assert_string_equal(diagnostics.at[1].message, "the sentence is longer than 4096 bytes.");
    free(text);
    arena_drop(arena);
}

/* Every prefix and every single changed byte of a long formula: an answer or one error, never
 * worse. */
static void mangled(void **state)
{
    (void)state;
    static const char sound[] =
        "if any(pump feeds load: load.voltage in 6 .. 16 V) then -2 ^ 2 * (pump.flow else "
        "3 L/h) >= 1e3 L/h at dark else 'x' is \"y\" or pump.motor not in [brushed] and yes";
    static const char bytes[] = "()[]{}:,.'\"-+*/^<>=! \n\t%0ae\x01\x7f\x80\xc2\xe2\xff";
    struct arena *arena = arena_new();
    char text[sizeof sound];
    for (size_t i = 0; i < sizeof sound; i++) {
        for (size_t j = 0; j < sizeof bytes; j++) { /* the last is a NUL: a prefix */
            memcpy(text, sound, sizeof sound);
            text[i] = bytes[j];
            text[sizeof sound - 1] = '\0';
            struct diagnostics diagnostics = {.arena = arena};
            const struct formula *formula =
                formula_compile(arena, text, start, &scope, FORMULA_ANY, &diagnostics);
            assert_int_equal(diagnostics.count, formula ? 0 : 1);
            if (!formula)
                continue;
            struct rig rig = {.arena = arena};
            struct formula_world world = world_of(&rig);
            struct text out = {0};
            formula_working(formula, &world, parts, CONDITION_DARK, &out);
            assert_false(out.failed);
            text_drop(&out);
        }
        arena_clear(arena);
    }
    arena_drop(arena);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(types),
        cmocka_unit_test(mistakes),
        cmocka_unit_test(values),
        cmocka_unit_test(truths),
        cmocka_unit_test(truth_tables),
        cmocka_unit_test(let_values),
        cmocka_unit_test(let_values_are_kept),
        cmocka_unit_test(let_values_that_multiply),
        cmocka_unit_test(deep_let_values),
        cmocka_unit_test(no_subject),
        cmocka_unit_test(bare_attributes),
        cmocka_unit_test(unread_values),
        cmocka_unit_test(sentences),
        cmocka_unit_test(near_values_are_told_apart),
        cmocka_unit_test(customary_sentences),
        cmocka_unit_test(customary_workings),
        cmocka_unit_test(sentences_with_mistakes),
        cmocka_unit_test(workings),
        cmocka_unit_test(uses_are_told_once),
        cmocka_unit_test(missing_uses_are_kept),
        cmocka_unit_test(let_values_are_kept_while_there_is_room),
        cmocka_unit_test(roles_of_several_kinds),
        cmocka_unit_test(what_is_wanted),
        cmocka_unit_test(hostile),
        cmocka_unit_test(mangled),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
