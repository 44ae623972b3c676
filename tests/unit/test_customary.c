/* test_customary.c - figures told in US customary units. Factors: NIST SP 811, appendix B.8, where
 * no other source is named; GNU units checks the units themselves (test_units_gnu.c). */
#include "check.h"

#include "base/text.h"
#include "quantity/quantity.h"
#include "quantity/value.h"

static void read(const char *words, struct quantity *quantity, struct unit *unit)
{
    const char *why;
    if (!quantity_parse(words, quantity, unit, &why)) {
        print_error("'%s' %s\n", words, why);
        fail();
    }
}

/* What is told in its own unit in metric. */
static const struct {
    const char *metric, *customary;
} rows[] = {
    {"100 L/h", "26.4 gal/h"},    /* 1 gal (US) = 3.785412 L */
    {"2271 L/h", "600 gal/h"},    /* just under 10 gal/min */
    {"2300 L/h", "10.1 gal/min"}, /* from here on as well pumps are told */
    {"0 L/h", "0 gal/min"},
    {"-100 L/h", "-26.4 gal/h"},
    {"4 L/min", "1.06 gal/min"},
    {"2.5 m3/h", "2.5 m3/h"}, /* Kv */
    {"1 bar", "14.5 psi"},    /* 1 psi = 6.894757 kPa */
    {"20 mbar", "0.29 psi"},
    {"0.3048 m", "1 ft"},
    {"2.4384 m", "8 ft"},
    {"0.2 m", "7.87 in"}, /* shorter than a foot */
    {"0 m", "0 ft"},
    {"19 mm", "0.748 in"},
    {"508 mm", "20 in"}, /* diameters stay in inches */
    {"0.13 mm", "130 um"},
    {"1 m2", "10.8 ft2"},
    {"300 L", "79.3 gal"},
    {"2 kg", "4.41 lb"},
    {"40 degC", "104 degF"},
    {"-40 degC", "-40 degF"},
    {"0 degC", "32 degF"},
    {"5 K", "9 degF"}, /* a difference has no zero */
    {"0 K", "0 degF"},
    {"-2 K", "-3.6 degF"},
    {"1.5 m/s", "4.92 ft/s"},
    {"8.45 ohm/km", "2.58 ohm/kft"},
    {"0.02 kg/m2s", "14.7 lb/h ft2"},   /* ASHRAE 93, test flow of collectors */
    {"1 W/m2K", "0.176 BTU/hft2F"},     /* 1 BTU/(h ft2 degF) = 5.678263 W/(m2 K) */
    {"0.04 W/mK", "0.277 BTUin/hft2F"}, /* 1 BTU in/(h ft2 degF) = 0.1442279 W/(m K) */
    {"1 W/K", "1.9 BTU/hF"},
    {"1000 kg/m3", "62.4 lb/ft3"},
    {"4186.8 J/kgK", "1 BTU/lbF"},
    {"12 V", "12 V"}, /* the same everywhere */
    {"60 W", "60 W"},
    {"800 W/m2", "800 W/m2"},
    {"5.2 kWh/m2", "5.2 kWh/m2"},
    {"-0.33 %/K", "-0.33 %/K"},
    {"3 %", "3 %"},
    {"7", "7"},
    /* ASTM B258: 14 AWG 2.08 mm2, 10 AWG 5.26 mm2, 8 AWG 8.37 mm2, 4/0 AWG 107.2 mm2 */
    {"2.081 mm2", "14 AWG"},
    {"8.04 mm2", "8.04 mm2 (between 10 and 8 AWG)"},
    {"2.5 mm2", "2.5 mm2 (between 14 and 12 AWG)"},
    {"107.22 mm2", "4/0 AWG"},
    {"120 mm2", "120 mm2"},
    {"0.1 mm2", "0.1 mm2"},
    {"1.5 gal/min", "1.5 gal/min"}, /* already there */
    {"80 gal/h", "80 gal/h"},
    {"3 ft", "3 ft"},
    {"14 AWG", "14 AWG"},
    {"70 degF", "70 degF"},
};

static void figures_are_told_as_the_trade_writes_them(void **state)
{
    (void)state;
    struct text text = {0};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct quantity quantity;
        struct unit unit;
        read(rows[i].metric, &quantity, &unit);
        text_clear(&text);
        quantity_tell(&text, quantity, &unit, UNITS_CUSTOMARY);
        assert_string_equal(text.bytes, rows[i].customary);
        text_clear(&text);
        quantity_tell(&text, quantity, &unit, UNITS_METRIC);
        size_t length = text.length;
        quantity_print(&text, quantity, &unit);
        assert_int_equal(text.length, 2 * length);
        assert_memory_equal(text.bytes, text.bytes + length, length);
    }
    text_drop(&text);
}

/* Nobody said in which unit. */
static void unnamed_units_follow_the_dimension(void **state)
{
    (void)state;
    static const struct {
        const char *words, *customary;
    } unnamed[] = {
        {"12 m3/h", "52.8 gal/min"}, {"50 L/h", "13.2 gal/h"}, {"20 m3", "5283 gal"},
        {"0.6 mm", "0.0236 in"},     {"3 bar", "43.5 psi"},    {"500 g", "1.1 lb"},
        {"2.081 mm2", "14 AWG"},     {"90 W", "90 W"},         {"20 degC", "68 degF"},
    };
    struct text text = {0};
    for (size_t i = 0; i < sizeof unnamed / sizeof *unnamed; i++) {
        struct quantity quantity;
        read(unnamed[i].words, &quantity, NULL);
        text_clear(&text);
        quantity_tell(&text, quantity, NULL, UNITS_CUSTOMARY);
        assert_string_equal(text.bytes, unnamed[i].customary);
    }
    text_drop(&text);
}

/* Whatever is told is the same quantity: read again it is as much, to half a unit of its third
 * digit. Goes over every unit of the table, so that a counterpart of another dimension, or one with
 * a wrong factor, shows. */
static void what_is_told_can_be_read(void **state)
{
    (void)state;
    static const double figures[] = {1.0, 2.5, 0.0123, 47.11, 999.6, 1234.0, -8.5, 87654.0};
    struct text text = {0};
    for (size_t row = 0; unit_row(row); row++) {
        const struct unit *unit = unit_row(row);
        bool wire = strcmp(unit->name, "AWG") == 0 || strcmp(unit->name, "mm2") == 0;
        for (size_t i = 0; !wire && i < sizeof figures / sizeof *figures; i++) {
            struct quantity quantity = {figures[i] * unit->scale + unit->offset, unit->dimension};
            struct quantity back;
            struct unit told;
            text_clear(&text);
            quantity_tell(&text, quantity, unit, UNITS_CUSTOMARY);
            read(text.bytes, &back, &told);
            if (!quantity.dimension.absolute)
                back = quantity_as_difference(back, told);
            double zero = quantity.dimension.absolute ? told.offset : 0.0;
            double close = 0.005 * fabs(quantity.value - zero) + (zero != 0.0 ? 0.005 : 0.0);
            assert_close(back.value, quantity.value, close);
            assert_true(dimension_same(back.dimension, quantity.dimension));
        }
    }
    text_drop(&text);
}

static void a_unit_of_its_own_comes_first(void **state)
{
    (void)state;
    struct text text = {0};
    struct value value = {.type = VALUE_QUANTITY};
    struct unit unit;
    read("350 W", &value.as.quantity, &unit);
    value_tell(&text, &value, "W", "BTU/h", UNITS_CUSTOMARY); /* 1 BTU/h = 0.2930711 W */
    assert_string_equal(text.bytes, "1194 BTU/h");
    text_clear(&text);
    value_tell(&text, &value, "W", "BTU/h", UNITS_METRIC);
    assert_string_equal(text.bytes, "350 W");
    read("0.1 m", &value.as.quantity, &unit);
    text_clear(&text);
    value_tell(&text, &value, "m", "ft", UNITS_CUSTOMARY); /* a head */
    assert_string_equal(text.bytes, "0.328 ft");
    text_clear(&text);
    value_tell(&text, &value, "m", "psi", UNITS_CUSTOMARY); /* can't show it */
    assert_string_equal(text.bytes, "0.1 m");
    text_drop(&text);
}

static void ranges_have_one_unit(void **state)
{
    (void)state;
    struct text text = {0};
    struct value value = {.type = VALUE_RANGE};
    const char *why;
    struct unit unit;
    static const struct {
        const char *words, *customary;
    } ranges[] = {{"-15 .. 34 degC", "5 degF .. 93.2 degF"},
                  {"0.1 .. 2 m", "0.328 ft .. 6.56 ft"},
                  {"2 .. 5 K", "3.6 degF .. 9 degF"},
                  {"2.081 .. 3 mm2", "14 AWG .. 3 mm2 (between 14 and 12 AWG)"},
                  {"1 .. 2.081 mm2", "1 mm2 (between 18 and 16 AWG) .. 14 AWG"}};
    for (size_t i = 0; i < sizeof ranges / sizeof *ranges; i++) {
        assert_true(
            range_parse(ranges[i].words, &value.as.range.low, &value.as.range.high, &unit, &why));
        text_clear(&text);
        value_tell(&text, &value, unit.name, NULL, UNITS_CUSTOMARY);
        assert_string_equal(text.bytes, ranges[i].customary);
    }
    text_drop(&text);
}

static void what_was_written_is_echoed(void **state)
{
    (void)state;
    static const struct {
        const char *words, *metric, *customary;
    } echoes[] = {{"14 AWG", "14 AWG", "14 AWG (2.08 mm2)"},
                  {"1/0 AWG", "1/0 AWG", "1/0 AWG (53.5 mm2)"},
                  {"2.5 mm2", "2.5 mm2", "2.5 mm2"},
                  {"7 m", "7 m", "7 m"},
                  {"25 ft", "25 ft", "25 ft"}};
    struct text text = {0};
    for (size_t i = 0; i < sizeof echoes / sizeof *echoes; i++) {
        struct value value = {.type = VALUE_QUANTITY};
        struct unit unit;
        read(echoes[i].words, &value.as.quantity, &unit);
        value.unit = unit.name;
        text_clear(&text);
        value_echo(&text, &value, UNITS_METRIC);
        assert_string_equal(text.bytes, echoes[i].metric);
        text_clear(&text);
        value_echo(&text, &value, UNITS_CUSTOMARY);
        assert_string_equal(text.bytes, echoes[i].customary);
    }
    text_drop(&text);
}

/* Sums: four digits, in the unit of a sentence or in what stands in its place. */
static void figures_of_sums(void **state)
{
    (void)state;
    static const struct {
        double si;
        const char *unit, *customary, *metric, *told, *bare;
    } figures[] = {
        {1e-4, "L/h", NULL, "360 L/h", "95.1 gal/h", "95.1"},
        {1e-4, "L/h", "gal/min", "360 L/h", "1.585 gal/min", "1.585"},
        {0.05, "m", "ft", "0.05 m", "0.164 ft", "0.164"},
        {68.47, "degC", NULL, "68.47 degC", "155.2 degF", "155.2"},
        {20.0, "degC", "degC", "20 degC", "20 degC", "20"},
        {5.0, "K", NULL, "5 K", "9 degF", "9"},
        {4.0572e6, "kWh", "BTU", "1.127 kWh", "3845 BTU", "3845"},
        {4.0572e7, "kWh", "BTU", "11.27 kWh", "38455 BTU", "38455"},
        {1000.0, "W/m2", "BTU/h ft2", "1000 W/m2", "317 BTU/h ft2", "317"},
        {12345.6, "", NULL, "12346", "12346", "12346"},
        {1.5e8, "Pa", "Pa", "1.5e+08 Pa", "1.5e+08 Pa", "1.5e+08"},
        {2.0810e-6, "mm2", NULL, "2.081 mm2", "14 AWG", NULL},
    };
    char room[FIGURE_ROOM];
    for (size_t i = 0; i < sizeof figures / sizeof *figures; i++) {
        const char *unit = figures[i].unit, *customary = figures[i].customary;
        double si = figures[i].si;
        assert_string_equal(figure_tell(room, si, unit, customary, UNITS_METRIC),
                            figures[i].metric);
        assert_string_equal(figure_tell(room, si, unit, customary, UNITS_CUSTOMARY),
                            figures[i].told);
        if (figures[i].bare)
            assert_string_equal(figure_bare(room, si, unit, customary, UNITS_CUSTOMARY),
                                figures[i].bare);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(figures_are_told_as_the_trade_writes_them),
        cmocka_unit_test(unnamed_units_follow_the_dimension),
        cmocka_unit_test(what_is_told_can_be_read),
        cmocka_unit_test(a_unit_of_its_own_comes_first),
        cmocka_unit_test(ranges_have_one_unit),
        cmocka_unit_test(what_was_written_is_echoed),
        cmocka_unit_test(figures_of_sums),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
