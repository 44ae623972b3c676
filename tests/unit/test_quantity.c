/* test_quantity.c - reading, printing and reckoning with quantities. */
#include "check.h"

#include <time.h>

#include "base/text.h"
#include "quantity/quantity.h"

#define PI 3.14159265358979323846
#define SIZE_36 (PI / 4.0 * 0.000127 * 0.000127)  /* m2: 0.005 in across, by ASTM B258 */
#define SIZE_4_0 (PI / 4.0 * 0.011684 * 0.011684) /* 0.46 in */

static const struct {
    const char *text;
    double si;
    const char *unit; /* as found; NULL: a product without a name */
} good[] = {
    /* writings */
    {"12 V", 12.0, "V"},
    {"12V", 12.0, "V"},
    {"  12  \t V ", 12.0, "V"},
    {"12\xc2\xa0V", 12.0, "V"},
    {"+12.50 volts", 12.5, "V"},
    {"-0.35 %/K", -0.0035, "%/K"},
    {"\xe2\x88\x92"
     "0.35 %/\xc2\xb0"
     "C",
     -0.0035, "%/K"},
    {"24 VDC", 24.0, "V"},
    {"1e1 mV", 0.01, "mV"},
    {"1.5E+3 mA", 1.5, "mA"},
    {"2.5mm2", 2.5e-6, "mm2"},
    {"2.5 mm\xc2\xb2", 2.5e-6, "mm2"},
    {"2.5mm\xc2\xb2", 2.5e-6, "mm2"},
    {"2.5 mm^2", 2.5e-6, "mm2"},
    {"2.5 sqmm", 2.5e-6, "mm2"},
    {"2.5 sq mm", 2.5e-6, "mm2"},
    {"240 L/h", 240e-3 / 3600.0, "L/h"},
    {"240 l/h", 240e-3 / 3600.0, "L/h"},
    {"240 L / h", 240e-3 / 3600.0, "L/h"},
    {"240 litres per hour", 240e-3 / 3600.0, "L/h"},
    {"4 lpm", 4e-3 / 60.0, "L/min"},
    {"1.5 gal/min", 1.5 * 3.785411784e-3 / 60.0, "gal/min"},
    {"1.5 gpm", 1.5 * 3.785411784e-3 / 60.0, "gal/min"},
    {"2 m\xc2\xb3/h", 2.0 / 3600.0, "m3/h"},
    {"2 m3 h-1", 2.0 / 3600.0, NULL},
    {"2 m\xc2\xb3\xc2\xb7h\xe2\x81\xbb\xc2\xb9", 2.0 / 3600.0, NULL},
    {"40 degC", 40.0, "degC"},
    {"40 \xc2\xb0"
     "C",
     40.0, "degC"},
    {"40\xe2\x84\x83", 40.0, "degC"},
    {"104 degF", 40.0, "degF"},
    {"-40 \xc2\xb0"
     "F",
     -40.0, "degF"},
    {"-273.15 degC", -273.15, "degC"},
    {"5 K", 5.0, "K"},
    {"47 deg", 47.0 * PI / 180.0, "deg"},
    {"47\xc2\xb0", 47.0 * PI / 180.0, "deg"},
    {"3 %", 0.03, "%"},
    {"3%", 0.03, "%"},
    {"12", 12.0, ""},
    {"-1.5e-3", -0.0015, ""},
    {"0", 0.0, ""},
    /* the dimensions of a rig */
    {"30 m\xce\xa9", 0.03, "mohm"},
    {"4.7 k\xe2\x84\xa6", 4700.0, "kohm"},
    {"7.98 \xce\xa9/km", 7.98e-3, "ohm/km"},
    {"1.98 ohm/kft", 1.98 / 304.8, "ohm/kft"},
    {"100 Ah", 360000.0, "Ah"},
    {"1.2 kWh", 4.32e6, "kWh"},
    {"5.2 kWh/m2", 18.72e6, "kWh/m2"},
    {"18.72 MJ/m\xc2\xb2", 18.72e6, "MJ/m2"},
    {"1000 W/m2", 1000.0, "W/m2"},
    {"1 kW/m2", 1000.0, "kW/m2"},
    {"4 W/m2K", 4.0, "W/m2K"},
    {"4 W/(m2 K)", 4.0, "W/m2K"},
    {"4 W/(m\xc2\xb2\xc2\xb7K)", 4.0, "W/m2K"},
    {"4 W/m2/K", 4.0, "W/m2K"},
    {"4 W/m2 K", 4.0, "W/m2K"},
    {"4 W/m2\xc2\xb0"
     "C",
     4.0, "W/m2K"},
    {"0.04 W/mK", 0.04, "W/mK"},
    {"0.04 W/(m*K)", 0.04, "W/mK"},
    {"0.02 kg/s per m2", 0.02, "kg/m2s"},
    {"0.02 kg/m2s", 0.02, "kg/m2s"},
    {"4186 J/kgK", 4186.0, "J/kgK"},
    {"-60 mV/K", -0.06, "mV/K"},
    {"2.4 mA/\xc2\xb0"
     "C",
     2.4e-3, "mA/K"},
    {"1.7 1/K", 1.7, "1/K"},
    {"6 per h", 6.0 / 3600.0, "per h"},
    {"6/h", 6.0 / 3600.0, "per h"},
    {"15 psi", 15.0 * 6894.757293168, "psi"}, /* NIST SP 811, B.8: 6.894 757 E+03 */
    {"2.5 bar", 2.5e5, "bar"},
    {"3 ft", 0.9144, "ft"},
    {"0.5 in", 0.0127, "in"},
    {"45 \xc2\xb5m", 45e-6, "um"},
    {"90 L", 0.09, "L"},
    {"20 gal", 20.0 * 3.785411784e-3, "gal"},
    {"2 days", 172800.0, "d"},
    {"1.5 h", 5400.0, "h"},
    {"3000 rpm", 314.159265358979, "rpm"},
    /* wires: ASTM B258 */
    {"36 AWG", SIZE_36, "AWG"}, /* 0.005 in across, by definition */
    {"0000 AWG", SIZE_4_0, "AWG"},
    {"4/0 AWG", SIZE_4_0, "AWG"},
    {"4/0AWG", SIZE_4_0, "AWG"},
    {"250 kcmil", 250.0 * 5.06707479097498e-7, "kcmil"},
    /* products without a name */
    {"2 kWh/day", 2.0 * 3.6e6 / 86400.0, NULL},
    {"3 N m", 3.0, NULL},
    {"2 V A", 2.0, NULL},
    {"10 mm/min", 1e-2 / 60.0, NULL},
    {"11 ft2 degF h/BTU", 11.0 * 0.09290304 * 5.0 / 9.0 * 3600.0 / 1055.05585262, NULL},
};

static void good_text_is_read(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof good / sizeof *good; i++) {
        struct quantity quantity;
        struct unit unit;
        const char *why = "nothing";
        if (!quantity_parse(good[i].text, &quantity, &unit, &why)) {
            print_error("'%s' %s\n", good[i].text, why);
            fail();
        }
        if (!unit.name != !good[i].unit || (unit.name && strcmp(unit.name, good[i].unit) != 0)) {
            print_error("'%s' is in %s\n", good[i].text, unit.name ? unit.name : "no unit");
            fail();
        }
        if (fabs(quantity.value - good[i].si) > 1e-12 * fabs(good[i].si))
            print_error("'%s'\n", good[i].text);
        assert_near(quantity.value, good[i].si, 1e-12);
    }
}

static const char no_number[] = "does not begin with a number";
static const char not_finite[] = "is not a finite number";
static const char decimal_comma[] = "has a decimal comma; write a point";
static const char thousands[] = "has thousands set apart; leave nothing between them";
static const char either_comma[] =
    "has a comma; write a point before decimals and nothing between thousands";
static const char unknown_unit[] = "has a unit that is not known";
static const char bad_size[] = "is not a wire size; AWG goes from 40 to 4/0";
static const char fraction[] = "is a fraction; write it with a point";
static const char range[] = "is a range, where one figure is due";

static const struct {
    const char *text, *why;
} bad[] = {
    {"", "is empty"},
    {"   ", "is empty"},
    {"-", "is empty"},
    {"V", no_number},
    {"twelve V", no_number},
    {"0x10 V", unknown_unit},
    {"- 5 V", no_number},
    {"--5 V", no_number},
    {".5 V", "has no digit before its point"},
    {"5. V", "has no digit after its point"},
    {"nan", not_finite},
    {"-inf V", not_finite},
    {"Infinity V", not_finite},
    {"1e400 V", "is too large a number"},
    {"1e308 kWh", "is too large a number"},
    {"-1e308 kWh", "is too large a number"},
    {"1e-400 V", "is too small a number"},
    {"1e99999999999999999999 V", "is too large a number"},
    {"12,5 V", decimal_comma},
    {"0,125 V", decimal_comma},
    {"1.234,5 V", decimal_comma},
    {"1,000 V", either_comma},
    {"1,000,000 V", thousands},
    {"1,000.5 V", thousands},
    {"1 000 V", thousands},
    {"1\xc2\xa0"
     "000 V",
     thousands},
    {"1'000 V", thousands},
    {"1_000 V", thousands},
    {"1.000.000 V", "has more than one point"},
    {"12 5 V", "is more than one number"},
    {"1/2 in", fraction},
    {"1/0", fraction},
    {"1/0 in", fraction},
    {"1 1/2 in", "is more than one number"},
    {"12-24 V", "looks like a range; write .. between its ends"},
    {"12 .. 24 V", range},
    {"12..24 V", range},
    {"12 V .. 24 V", range},
    {"12 Volz", unknown_unit},
    {"12 VAC", unknown_unit}, /* alternating volts are not the volts meant here */
    {"12 v5", NULL},          /* fifth power of a volt */
    {"12 V5000", unknown_unit},
    {"12 mVV", unknown_unit},
    {"12 e", unknown_unit},
    {"12e V", unknown_unit},
    {"12 L//h", unknown_unit},
    {"12 L/", unknown_unit},
    {"12 /", unknown_unit},
    {"12 L/(h", unknown_unit},
    {"12 L/h)", unknown_unit},
    {"12 L/()", unknown_unit},
    {"12 W/(m2/K)", unknown_unit},
    {"12 (V)", unknown_unit},
    {"12 V\n", unknown_unit},
    {"12 \x80\x80", unknown_unit},
    {"12 m\xc2", unknown_unit},
    {"12 \x1b[31mV", unknown_unit},
    {"12 AWG2", unknown_unit},
    {"12 m/AWG", unknown_unit},
    {"12 m9m9m9", unknown_unit},
    {"12 m9 m9 m9 m9 m9 m9 m9 m9", NULL},
    {"12 m9 m9 m9 m9 m9 m9 m9 m9 m9", unknown_unit},
    {"12 m3^9 m", NULL},
    {"12 kg s9/gal9 L9 m9 L9 L9 m9 gal9", unknown_unit}, /* exponents past 127 */
    {"41 AWG", bad_size},
    {"5/0 AWG", bad_size},
    {"14.5 AWG", bad_size},
    {"-2 AWG", bad_size},
    {"00000 AWG", bad_size},
    {"014 AWG", bad_size},
    {"1e1 AWG", bad_size},
    {"-274 degC", "is below absolute zero"},
    {"-460 degF", "is below absolute zero"},
};

static void bad_text_is_refused_with_a_reason(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        struct quantity quantity = {.value = 77.0};
        struct unit unit = {.name = "untouched"};
        const char *why = NULL;
        bool read = quantity_parse(bad[i].text, &quantity, &unit, &why);
        if (read != !bad[i].why || (!read && strcmp(why, bad[i].why) != 0)) {
            print_error("'%s' %s\n", bad[i].text, read ? "was read" : why);
            fail();
        }
        if (!read) {
            assert_true(quantity.value == 77.0);
            assert_string_equal(unit.name, "untouched");
        }
    }
}

static const struct {
    const char *text;
    double low, high;
    const char *unit, *why;
} ranges[] = {
    {"-15 .. 34 degC", -15.0, 34.0, "degC", NULL},
    {"6 V .. 26 V", 6.0, 26.0, "V", NULL},
    {"6..26 V", 6.0, 26.0, "V", NULL},
    {"6 \xe2\x80\xa6 26V", 6.0, 26.0, "V", NULL},
    {"500 mV .. 2 V", 0.5, 2.0, "V", NULL},
    {"32 .. 212 degF", 0.0, 100.0, "degF", NULL},
    {"12 .. 12 V", 12.0, 12.0, "V", NULL},
    {"4 .. 10", 4.0, 10.0, "", NULL},
    {"0.5 .. 2.5 mm2", 0.5e-6, 2.5e-6, "mm2", NULL},
    {"36 .. 4/0 AWG", SIZE_36, SIZE_4_0, "AWG", NULL},
    {"4/0 .. 36 AWG", SIZE_36, SIZE_4_0, "AWG", NULL},
    {"36 AWG .. 100 mm2", SIZE_36, 1e-4, "mm2", NULL},
    {"26 .. 6 V", 0, 0, NULL, "has its low end above its high end"},
    {"6 V .. 26", 0, 0, NULL, "has a unit at its low end only; write it at the high end"},
    {"6 V .. 26 A", 0, 0, NULL, "has ends of different kinds"},
    {"5 K .. 20 degC", 0, 0, NULL, "has ends of different kinds"},
    {"12 V", 0, 0, NULL, "is not a range; write its low end, two points, its high end"},
    {"", 0, 0, NULL, "is not a range; write its low end, two points, its high end"},
    {".. 26 V", 0, 0, NULL, "has only one end"},
    {"6 V ..", 0, 0, NULL, "has only one end"},
    {"6 ... 26 V", 0, 0, NULL, "does not begin with a number"},
    {"6 .. 26 .. 30 V", 0, 0, NULL, "has a unit that is not known"},
    {"6,5 .. 26 V", 0, 0, NULL, "has a decimal comma; write a point"},
    {"1e308 .. 1e308 kWh", 0, 0, NULL, "is too large a number"},
    {"-300 .. 20 degC", 0, 0, NULL, "is below absolute zero"},
    {"3/0 .. 4 V", 0, 0, NULL, "is a fraction; write it with a point"},
};

static void ranges_are_read(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof ranges / sizeof *ranges; i++) {
        struct quantity low = {.value = 77.0}, high = {.value = 78.0};
        struct unit unit;
        const char *why = NULL;
        bool read = range_parse(ranges[i].text, &low, &high, &unit, &why);
        if (read != !ranges[i].why || (!read && strcmp(why, ranges[i].why) != 0)) {
            print_error("'%s' %s\n", ranges[i].text, read ? "was read" : why);
            fail();
        }
        if (!read) {
            assert_true(low.value == 77.0 && high.value == 78.0);
            continue;
        }
        assert_close(low.value, ranges[i].low, 1e-12 * fabs(ranges[i].low) + 1e-14);
        assert_near(high.value, ranges[i].high, 1e-12);
        assert_string_equal(unit.name, ranges[i].unit);
    }
}

static void numbers_are_whole_texts(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        double value;
        const char *why;
    } rows[] = {
        {"12", 12.0, NULL},
        {"-0.1", -0.1, NULL},
        {"1e-3", 1e-3, NULL},
        {"1.7976931348623157e308", 1.7976931348623157e308, NULL},
        {"4.9406564584124654e-324", 4.9406564584124654e-324, NULL},
        {"9007199254740993", 9007199254740992.0, NULL}, /* a tie goes to the even one */
        {"9007199254740993.0000000000000000000000000001", 9007199254740994.0, NULL},
        {"0.1e1", 1.0, NULL},
        {"0000000000000000000000000000.00000000000000000000012e22", 1.2, NULL},
        {"0e999999999", 0.0, NULL},
        {"12 ", 0, "is not a number"},
        {" 12", 0, "does not begin with a number"},
        {"12V", 0, "is not a number"},
        {"1e", 0, "is not a number"},
        {"1e+", 0, "is not a number"},
        {"0x1p3", 0, "is not a number"},
        {"1,5", 0, "has a decimal comma; write a point"},
        {"1.8e308", 0, "is too large a number"},
        {"", 0, "is empty"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        double value = 77.0;
        const char *why = NULL;
        bool read = number_parse(rows[i].text, strlen(rows[i].text), &value, &why);
        if (read != !rows[i].why || (!read && strcmp(why, rows[i].why) != 0)) {
            print_error("'%s' %s\n", rows[i].text, read ? "was read" : why);
            fail();
        }
        assert_true(value == (read ? rows[i].value : 77.0));
    }
}

/* Digits past what a double can hold still break a tie, however far behind. */
static void a_very_long_number_is_rounded_rightly(void **state)
{
    (void)state;
    char text[3000];
    double value;
    const char *why;
    memset(text, '0', sizeof text);
    memcpy(text, "9007199254740993.", 17);
    assert_true(number_parse(text, sizeof text, &value, &why));
    assert_true(value == 9007199254740992.0);
    text[sizeof text - 1] = '1';
    assert_true(number_parse(text, sizeof text, &value, &why));
    assert_true(value == 9007199254740994.0);
}

static const struct {
    const char *text; /* read, then printed in the unit read */
    const char *same; /* that */
    const char *own;  /* in the unit that printing chooses */
} printed[] = {
    {"12 V", "12 V", "12 V"},
    {"12.75 V", "12.75 V", "12.75 V"},
    {"1.34064 V", "1.34 V", "1.34 V"},
    {"0.0032 V", "0.0032 V", "3.2 mV"},
    {"0.5 V", "0.5 V", "0.5 V"},
    {"100 mV", "100 mV", "0.1 V"},
    {"11.6 A", "11.6 A", "11.6 A"},
    {"10.999 A", "11 A", "11 A"},
    {"99.96 A", "99.96 A", "99.96 A"},
    {"99.961 A", "100 A", "100 A"},
    {"1234.56 W", "1235 W", "1235 W"},
    {"25000 W", "25000 W", "25 kW"},
    {"0.054 m3/h", "0.054 m3/h", "54 L/h"},
    {"1.5e-5 m3/s", "1.5e-5 m3/s", "54 L/h"},
    {"1.5 gpm", "1.5 gal/min", "341 L/h"},
    {"12 m3/h", "12 m3/h", "12 m3/h"},
    {"250000 Pa", "250000 Pa", "2.5 bar"},
    {"5 kPa", "5 kPa", "50 mbar"},
    {"15 psi", "15 psi", "1.03 bar"},
    {"1.5e-6 m2", "1.5e-6 m2", "1.5 mm2"},
    {"1.4 m2", "1.4 m2", "1.4 m2"},
    {"0.013 m", "0.013 m", "13 mm"},
    {"0.5 in", "0.5 in", "12.7 mm"},
    {"0.0015 mm", "0.0015 mm", "1.5 um"},
    {"0.046 mm", "0.046 mm", "0.046 mm"},
    {"3600 s", "3600 s", "1 h"},
    {"90 s", "90 s", "90 s"},
    {"600 s", "600 s", "10 min"},
    {"48 h", "48 h", "2 d"},
    {"90 L", "90 L", "90 L"},
    {"100 Ah", "100 Ah", "100 Ah"},
    {"1000 Wh", "1000 Wh", "1 kWh"},
    {"2.5 mm2", "2.5 mm2", "2.5 mm2"},
    {"14 AWG", "14 AWG", "2.08 mm2"},
    {"00 AWG", "2/0 AWG", "67.4 mm2"},
    {"-15 degC", "-15 degC", "-15 degC"},
    {"32 degF", "32 degF", "0 degC"},
    {"99 degF", "99 degF", "37.2 degC"},
    {"-0.0 degC", "0 degC", "0 degC"},
    {"-0.001 degC", "0 degC", "0 degC"},
    {"0 V", "0 V", "0 V"},
    {"-0 V", "0 V", "0 V"},
    {"0 m3/s", "0 m3/s", "0 L/h"},
    {"0 mm", "0 mm", "0 m"},
    {"3 %", "3 %", "0.03"},
    {"5.588 %", "5.588 %", "0.05588"},
    {"-0.35 %/K", "-0.35 %/K", "-0.35 %/K"},
    {"47 deg", "47 deg", "47 deg"},
    {"12", "12", "12"},
    {"20000 h", "20000 h", "833 d"},
    {"12345678 W", "1.23e7 W", "12346 kW"},
    {"9.9999e9 W", "1e10 W", "9999900 kW"},
    {"1e-300 V", "1e-300 V", "1e-297 mV"},
    {"-4e-310 V", "-4e-310 V", "-4e-307 mV"},
    {"2 kWh/day", "83.3 W", "83.3 W"},
    {"6/h", "6 per h", "6 per h"},
    {"3 kg m2/s5", "3 kg m2/s5", "3 kg m2/s5"},
    {"3 1/s4", "3 1/s4", "3 1/s4"},
    {"3 m4 A", "3 m4 A", "3 m4 A"},
};

static void quantities_print_as_people_write_them(void **state)
{
    (void)state;
    struct text text = {0};
    for (size_t i = 0; i < sizeof printed / sizeof *printed; i++) {
        struct quantity quantity;
        struct unit unit;
        const char *why;
        assert_true(quantity_parse(printed[i].text, &quantity, &unit, &why));
        text_clear(&text);
        quantity_print(&text, quantity, &unit);
        text_add(&text, "|");
        quantity_print(&text, quantity, NULL);
        char want[128];
        snprintf(want, sizeof want, "%s|%s", printed[i].same, printed[i].own);
        assert_string_equal(text.bytes, want);
    }
    text_drop(&text);
}

static void odd_values_print(void **state)
{
    (void)state;
    static const struct dimension kelvin = {.exponent = {[BASE_K] = 1}};
    struct unit fahrenheit, celsius, volt;
    assert_true(unit_find("degF", 4, &fahrenheit) && unit_find("degC", 4, &celsius));
    assert_true(unit_find("V", 1, &volt));
    const struct {
        struct quantity quantity;
        const struct unit *unit;
        const char *want;
    } rows[] = {
        {{NAN, volt.dimension}, NULL, "unknown V"},
        {{INFINITY, volt.dimension}, &volt, "infinite V"},
        {{-INFINITY, dimension_none}, NULL, "-infinite"},
        {{5.0, kelvin}, &fahrenheit, "9 degF"}, /* a difference */
        {{5.0, kelvin}, &celsius, "5 K"},
        {{5.0, kelvin}, &volt, "5 K"}, /* a unit that can't show it */
        {{1e300, celsius.dimension}, NULL, "1e300 degC"},
        {{1.0000000001, volt.dimension}, NULL, "1 V"},
    };
    struct text text = {0};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        text_clear(&text);
        quantity_print(&text, rows[i].quantity, rows[i].unit);
        assert_string_equal(text.bytes, rows[i].want);
    }
    text_drop(&text);
}

/* Whatever is printed can be read again, and is the same to half a unit of its third digit. */
static void what_is_printed_can_be_read(void **state)
{
    (void)state;
    static const double figures[] = {1.0,    2.5,    0.0123,  47.11,  999.6,
                                     1234.0, 0.1234, 87654.0, 3.3e-7, 7.77e9};
    struct text text = {0};
    for (size_t row = 0; unit_row(row); row++) {
        const struct unit *unit = unit_row(row);
        for (size_t i = 0; i < sizeof figures / sizeof *figures; i++) {
            struct quantity quantity = {figures[i] * unit->scale + unit->offset, unit->dimension};
            if (strcmp(unit->name, "AWG") == 0)
                quantity.value = figures[i] * 1e-6;
            for (int own = 0; own < 2; own++) {
                struct quantity back;
                const char *why = "";
                text_clear(&text);
                quantity_print(&text, quantity, own ? NULL : unit);
                if (!quantity_parse(text.bytes, &back, NULL, &why)) {
                    print_error("'%s' %s\n", text.bytes, why);
                    fail();
                }
                double figure = quantity.value - (own ? 0.0 : unit->offset);
                double close = 0.005 * fabs(figure) + (unit->dimension.absolute ? 0.005 : 0.0);
                assert_close(back.value, quantity.value, close);
                assert_true(dimension_same(back.dimension, quantity.dimension));
            }
        }
    }
    text_drop(&text);
}

/* ASTM B258 table 1 (diameters in mils): 10 AWG 101.9, 14 AWG 64.1, 18 AWG 40.3, 24 AWG 20.1,
 * 30 AWG 10.0, 40 AWG 3.1, 1 AWG 289.3, 1/0 324.9, 2/0 364.8, 3/0 409.6. From memory. Between
 * 4/0 and 36 AWG the ratio of neighbours is the 39th root of 92. */
static void wire_sizes_follow_the_standard(void **state)
{
    (void)state;
    static const struct {
        const char *size;
        double mils;
    } rows[] = {
        {"4/0", 460.0}, {"3/0", 409.6}, {"2/0", 364.8}, {"1/0", 324.9}, {"1", 289.3}, {"10", 101.9},
        {"14", 64.1},   {"18", 40.3},   {"24", 20.1},   {"30", 10.0},   {"36", 5.0},  {"40", 3.1},
    };
    struct quantity quantity;
    const char *why;
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        char text[16];
        snprintf(text, sizeof text, "%s AWG", rows[i].size);
        assert_true(quantity_parse(text, &quantity, NULL, &why));
        double mils = 2.0 * sqrt(quantity.value / PI) / 25.4e-6;
        assert_close(mils, rows[i].mils, 0.051);
    }
    double last = 0.0, ratio = pow(92.0, 2.0 / 39.0);
    for (int size = 40; size >= -3; size--) {
        char text[16];
        if (size > 0)
            snprintf(text, sizeof text, "%d AWG", size);
        else
            snprintf(text, sizeof text, "%.*s AWG", 1 - size, "0000");
        assert_true(quantity_parse(text, &quantity, NULL, &why));
        if (last > 0.0)
            assert_near(quantity.value / last, ratio, 1e-12);
        last = quantity.value;
    }
}

/* Every writing in the table finds its own unit, and no two units share one. */
static const struct {
    const char *name, *writings[8];
} table[] = {
#define UNIT(name, scale, m, kg, s, a, k, rad, asked, shown, word, ...) {name, {name, __VA_ARGS__}},
#define TEMPERATURE(name, scale, offset, m, kg, s, a, k, rad, asked, shown, word, ...)             \
    {name, {name, __VA_ARGS__}},
#include "quantity/unit.def"
#undef UNIT
#undef TEMPERATURE
};

static void every_writing_finds_its_unit(void **state)
{
    (void)state;
    size_t rows = sizeof table / sizeof *table;
    for (size_t i = 0; i < rows; i++) {
        for (size_t j = 0; j < 8 && table[i].writings[j] && table[i].writings[j][0]; j++) {
            const char *writing = table[i].writings[j];
            struct unit unit;
            if (!unit_find(writing, strlen(writing), &unit) ||
                strcmp(unit.name, table[i].name) != 0) {
                print_error("%s of %s\n", writing, table[i].name);
                fail();
            }
        }
        assert_string_equal(unit_row(i)->name, table[i].name);
    }
    assert_null(unit_row(rows));
}

static struct dimension dimension_of(const char *name)
{
    struct unit unit;
    if (!unit_find(name, strlen(name), &unit)) {
        print_error("no unit %s\n", name);
        fail();
    }
    return unit.dimension;
}

static void dimensions_have_words_and_units(void **state)
{
    (void)state;
    static const struct {
        const char *unit, *word, *units, *si;
    } rows[] = {
        {"mV", "voltage", "V or mV", "V"},
        {"mA", "current", "A or mA", "A"},
        {"kW", "power", "W or kW", "W"},
        {"kWh", "energy", "Wh, kWh or MJ", "J"},
        {"Ah", "charge", "Ah or mAh", "C"},
        {"gpm", "flow", "L/h, L/min or gal/min", "m3/s"},
        {"psi", "pressure", "bar, kPa or psi", "Pa"},
        {"ft", "length", "m, mm, ft or in", "m"},
        {"mm2", "area", "m2, mm2, ft2 or AWG", "m2"},
        {"L", "volume", "L, m3 or gal", "m3"},
        {"degF", "temperature", "degC or degF", "degC"},
        {"K", "temperature difference", "K", "K"},
        {"h", "time", "s, min, h or d", "s"},
        {"ft/s", "speed", "m/s or ft/s", "m/s"},
        {"deg", "angle", "deg or rad", "rad"},
        {"mohm", "resistance", "ohm or mohm", "ohm"},
        {"kW/m2", "irradiance", "W/m2", "W/m2"},
        {"kWh/m2", "irradiation", "kWh/m2 or MJ/m2", "J/m2"},
        {"%/K", "change per kelvin", "%/K", "1/K"},
        {"mV/K", "voltage per kelvin", "V/K or mV/K", "V/K"},
        {"per h", "frequency", "Hz or per h", "Hz"},
        {"W/m2K", "heat loss per area", "W/m2K", "W/m2K"},
        {"kg/m2s", "mass flow per area", "kg/m2s", "kg/m2s"},
        {"%", "plain number", "a plain number or %", "1"},
        {"kg m2/s5 rad", NULL, "kg m2/s5 rad", "kg m2/s5 rad"},
        {"1/s4", NULL, "1/s4", "1/s4"},
        {"m5", NULL, "m5", "m5"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct dimension dimension = dimension_of(rows[i].unit);
        char units[80], spare[64];
        if (rows[i].word)
            assert_string_equal(dimension_word(dimension), rows[i].word);
        else
            assert_null(dimension_word(dimension));
        dimension_units(dimension, units, sizeof units);
        assert_string_equal(units, rows[i].units);
        assert_string_equal(dimension_si(dimension, spare), rows[i].si);
    }
}

static void hints_are_cut_at_the_end(void **state)
{
    (void)state;
    char units[9] = "untouched";
    dimension_units(dimension_of("L/h"), units, 0);
    assert_memory_equal(units, "untouched", 9);
    dimension_units(dimension_of("L/h"), units, 8);
    assert_string_equal(units, "L/h, L/");
    dimension_units(dimension_of("L/h"), units, 1);
    assert_string_equal(units, "");
}

/* Of units that printing chooses each dimension has one that takes what is too small for the
 * others, one row with its word, and the SI unit on that row. */
static void the_table_is_complete(void **state)
{
    (void)state;
    static const struct {
        double scale;
        bool asked;
        double shown;
        const char *word;
    } rows[] = {
#define NEVER INFINITY
#define UNIT(name, scale, m, kg, s, a, k, rad, asked, shown, word, ...) {scale, asked, shown, word},
#define TEMPERATURE(name, scale, offset, m, kg, s, a, k, rad, asked, shown, word, ...)             \
    {scale, asked, shown, word},
#include "quantity/unit.def"
#undef UNIT
#undef TEMPERATURE
    };
    for (size_t i = 0; unit_row(i); i++) {
        size_t words = 0, asked = 0, least = 0;
        struct dimension dimension = unit_row(i)->dimension;
        for (size_t j = 0; unit_row(j); j++) {
            if (!dimension_same(dimension, unit_row(j)->dimension))
                continue;
            words += rows[j].word != NULL;
            asked += rows[j].asked;
            least += rows[j].shown == 0.0;
            if (rows[j].word)
                assert_true(rows[j].scale == 1.0);
        }
        bool none = dimension_same(dimension, dimension_none);
        if (asked == 0 || words != !none || least != !none) {
            print_error("%s: %zu words, %zu asked, %zu shown from 0\n", unit_row(i)->name, words,
                        asked, least);
            fail();
        }
    }
}

static struct quantity q(const char *text)
{
    struct quantity quantity;
    const char *why;
    if (!quantity_parse(text, &quantity, NULL, &why)) {
        print_error("'%s' %s\n", text, why);
        fail();
    }
    return quantity;
}

static void quantities_reckon(void **state)
{
    (void)state;
    static const struct {
        const char *a;
        char sign;
        const char *b, *result; /* NULL: refused */
    } rows[] = {
        {"12 V", '+', "500 mV", "12.5 V"},
        {"12 V", '+', "7 A", NULL},
        {"12 V", '-', "12", NULL},
        {"20 degC", '+', "5 K", "25 degC"},
        {"5 K", '+', "20 degC", "25 degC"},
        {"20 degC", '+', "5 degC", NULL},
        {"20 degC", '-', "5 degC", "15 K"},
        {"20 degC", '-', "5 K", "15 degC"},
        {"20 K", '-', "5 degC", NULL},
        {"20 degC", '*', "2", NULL},
        {"2", '*', "20 degC", NULL},
        {"20 degC", '/', "2", NULL},
        {"12 V", '*', "7 A", "84 W"},
        {"84 W", '/', "12 V", "7 A"},
        {"12 V", '/', "4 ohm", "3 A"},
        {"12 V", '/', "6 V", "2"},
        {"100 Ah", '*', "12 V", "1.2 kWh"},
        {"3", '+', "5 %", "3.05"},
        {"1 rad", '+', "1", NULL},
        {"5 K", '*', "2", "10 K"},
        {"1 m9 m9 m9 m9 m9 m9 m9", '*', "1 m9 m9 m9 m9 m9 m9 m9 m9", NULL},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct quantity a = q(rows[i].a), b = q(rows[i].b), out = {77.0, dimension_none};
        bool (*reckon)(struct quantity, struct quantity, struct quantity *) =
            rows[i].sign == '+'   ? quantity_add
            : rows[i].sign == '-' ? quantity_subtract
            : rows[i].sign == '*' ? quantity_multiply
                                  : quantity_divide;
        bool done = reckon(a, b, &out);
        if (done != (rows[i].result != NULL)) {
            print_error("%s %c %s\n", rows[i].a, rows[i].sign, rows[i].b);
            fail();
        }
        struct quantity want = done ? q(rows[i].result) : (struct quantity){77.0, dimension_none};
        assert_near(out.value, want.value, 1e-12);
        assert_true(dimension_same(out.dimension, want.dimension));
    }
}

static void powers_keep_whole_exponents(void **state)
{
    (void)state;
    static const struct {
        const char *a;
        double exponent;
        const char *result;
    } rows[] = {
        {"3 m", 2.0, "9 m2"}, {"9 m2", 0.5, "3 m"},        {"4 m", 0.5, NULL},
        {"4", 0.5, "2"},      {"8 L", 1.0 / 3.0, "0.2 m"}, {"2 s", -1.0, "0.5 Hz"},
        {"5 m", 0.0, "1"},    {"20 degC", 1.0, NULL},      {"2 m", 128.0, NULL},
        {"2 m", 1e300, NULL}, {"2", 10.0, "1024"},         {"2 m", INFINITY, NULL},
        {"2 m", NAN, NULL},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct quantity out = {77.0, dimension_none};
        bool done = quantity_power(q(rows[i].a), rows[i].exponent, &out);
        if (done != (rows[i].result != NULL)) {
            print_error("%s ^ %g\n", rows[i].a, rows[i].exponent);
            fail();
        }
        struct quantity want = done ? q(rows[i].result) : (struct quantity){77.0, dimension_none};
        assert_near(out.value, want.value, 1e-12);
        assert_true(dimension_same(out.dimension, want.dimension));
    }
}

static void a_temperature_can_be_meant_as_a_difference(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        double kelvin;
    } rows[] = {{"9 degF", 5.0}, {"5 degC", 5.0}, {"5 K", 5.0}, {"0 degF", 0.0}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct quantity quantity;
        struct unit unit;
        const char *why;
        assert_true(quantity_parse(rows[i].text, &quantity, &unit, &why));
        quantity = quantity_as_difference(quantity, unit);
        assert_close(quantity.value, rows[i].kelvin, 1e-14);
        assert_true(dimension_same(quantity.dimension, dimension_of("K")));
    }
}

/* Text of 64 KiB, the most that a scalar may have, of every kind that could make reading slow. */
static void hostile_text_is_refused_quickly(void **state)
{
    (void)state;
    static const char *const fillers[] = {
        "9",  "0",   "/",     "1/",  "m/",    "m ",   "(",  "/(", ")", "m2", "\x80",
        "..", ".",   "1.",    ",1",  "1,000", "e",    "1e", "-",  " ", "V",  "\xc2\xb2",
        "^",  "m^2", " per ", "deg", "\xc2",  "\xe2", "\t", "'1", "_", "*",  "AWG"};
    static const char *const starts[] = {"", "1", "1 ", "1 V/", "1.5", "0.", "-", "1 ..", "1e"};
    size_t size = 64 * 1024;
    char *text = malloc(size + 1);
    assert_non_null(text);
    clock_t begun = clock();
    for (size_t i = 0; i < sizeof starts / sizeof *starts; i++) {
        for (size_t j = 0; j < sizeof fillers / sizeof *fillers; j++) {
            size_t length = strlen(starts[i]), step = strlen(fillers[j]);
            memcpy(text, starts[i], length);
            for (; length + step <= size; length += step)
                memcpy(text + length, fillers[j], step);
            text[length] = '\0';
            struct quantity low, high;
            struct unit unit;
            const char *why = NULL;
            if (!quantity_parse(text, &low, &unit, &why))
                assert_non_null(why);
            else
                assert_true(isfinite(low.value));
            why = NULL;
            if (!range_parse(text, &low, &high, &unit, &why))
                assert_non_null(why);
            unit_find(text, length, &unit);
        }
    }
    free(text);
    double seconds = (double)(clock() - begun) / CLOCKS_PER_SEC;
    print_message("%zu texts of 64 KiB in %.3f s\n",
                  sizeof starts / sizeof *starts * sizeof fillers / sizeof *fillers, seconds);
    assert_true(seconds < 5.0);
}

/* Random texts of the bytes that mean something here: nothing may be read outside, nothing but a
 * finite value may come out. A fixed seed, so that a failure comes again. */
static void random_text_does_no_harm(void **state)
{
    (void)state;
    static const char alphabet[] =
        "0123456789.,-+eE/ ()^*%VAWmKsLhkgdC'_\xc2\xb2\xb0\xe2\x88\x92\x80";
    uint64_t random = 0x9e3779b97f4a7c15u;
    for (int round = 0; round < 200000; round++) {
        size_t length = 0;
        char *text = malloc(33); /* on the heap, so that AddressSanitizer sees its end */
        assert_non_null(text);
        for (; length < 32; length++) {
            random = random * 6364136223846793005u + 1442695040888963407u;
            if ((random >> 33) % 24 == 0)
                break;
            text[length] = alphabet[(random >> 40) % (sizeof alphabet - 1)];
        }
        text[length] = '\0';
        char *exact = malloc(length + 1);
        assert_non_null(exact);
        memcpy(exact, text, length + 1);
        struct quantity low, high;
        struct unit unit;
        const char *why = NULL;
        if (quantity_parse(exact, &low, &unit, &why))
            assert_true(isfinite(low.value));
        else
            assert_non_null(why);
        if (range_parse(exact, &low, &high, &unit, &why))
            assert_true(low.value <= high.value);
        free(exact);
        exact = malloc(length + (length == 0)); /* without a NUL */
        assert_non_null(exact);
        memcpy(exact, text, length);
        double number;
        if (number_parse(exact, length, &number, &why))
            assert_true(isfinite(number));
        unit_find(exact, length, &unit);
        free(exact);
        free(text);
    }
}

/* Against the C library's own reading, to the last bit, in the C locale. A fixed seed. */
static void numbers_are_rounded_as_the_c_library_does(void **state)
{
    (void)state;
    uint64_t random = 0x2545f4914f6cdd1du;
    for (int round = 0; round < 100000; round++) {
        char text[64];
        random = random * 6364136223846793005u + 1442695040888963407u;
        int digits = 1 + (int)((random >> 33) % 19);
        int behind = (int)((random >> 40) % (unsigned)digits);
        int exponent = (int)((random >> 45) % 61) - 30;
        size_t length = 0;
        for (int i = 0; i < digits; i++) {
            random = random * 6364136223846793005u + 1442695040888963407u;
            if (i > 0 && i == digits - behind)
                text[length++] = '.';
            text[length++] = (char)('0' + (random >> 33) % 10);
        }
        length += (size_t)snprintf(text + length, sizeof text - length, "e%d", exponent);
        double number;
        const char *why;
        assert_true(number_parse(text, length, &number, &why));
        if (number != strtod(text, NULL))
            fail_msg("%s is read as %.17g, not as %.17g", text, number, strtod(text, NULL));
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(good_text_is_read),
        cmocka_unit_test(bad_text_is_refused_with_a_reason),
        cmocka_unit_test(ranges_are_read),
        cmocka_unit_test(numbers_are_whole_texts),
        cmocka_unit_test(a_very_long_number_is_rounded_rightly),
        cmocka_unit_test(quantities_print_as_people_write_them),
        cmocka_unit_test(odd_values_print),
        cmocka_unit_test(what_is_printed_can_be_read),
        cmocka_unit_test(wire_sizes_follow_the_standard),
        cmocka_unit_test(every_writing_finds_its_unit),
        cmocka_unit_test(dimensions_have_words_and_units),
        cmocka_unit_test(hints_are_cut_at_the_end),
        cmocka_unit_test(the_table_is_complete),
        cmocka_unit_test(quantities_reckon),
        cmocka_unit_test(powers_keep_whole_exponents),
        cmocka_unit_test(a_temperature_can_be_meant_as_a_difference),
        cmocka_unit_test(hostile_text_is_refused_quickly),
        cmocka_unit_test(random_text_does_no_harm),
        cmocka_unit_test(numbers_are_rounded_as_the_c_library_does),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
