/* test_units_gnu.c - every row of the unit table against GNU units, which keeps
 * its own definitions. Skipped where that program is not installed. */
#include "check.h"

#include "base/text.h"
#include "quantity/quantity.h"

/* Our names in GNU's spelling. A unit without one makes the test fail. */
static const struct {
    const char *ours, *gnu;
} spellings[] = {
    {"%", "percent"},
    {"V", "volt"},
    {"mV", "millivolt"},
    {"kV", "kilovolt"},
    {"A", "ampere"},
    {"mA", "milliampere"},
    {"kA", "kiloampere"},
    {"W", "watt"},
    {"kW", "kilowatt"},
    {"mW", "milliwatt"},
    {"hp", "horsepower"},
    {"BTU/h", "btu/hour"},
    {"Wh", "watt hour"},
    {"kWh", "kilowatt hour"},
    {"J", "joule"},
    {"kJ", "kilojoule"},
    {"MJ", "megajoule"},
    {"BTU", "btu"},
    {"Ah", "ampere hour"},
    {"mAh", "milliampere hour"},
    {"C", "coulomb"},
    {"ohm", "ohm"},
    {"mohm", "milliohm"},
    {"kohm", "kiloohm"},
    {"ohm/m", "ohm/meter"},
    {"ohm/km", "ohm/kilometer"},
    {"ohm/kft", "ohm/(1000 foot)"},
    {"ohm m", "ohm meter"},
    {"ohm mm2/m", "ohm millimeter^2/meter"},
    {"L/h", "liter/hour"},
    {"L/min", "liter/minute"},
    {"gal/min", "gallon/minute"},
    {"gal/h", "gallon/hour"},
    {"gal/d", "gallon/day"},
    {"L/s", "liter/second"},
    {"L/d", "liter/day"},
    {"m3/h", "meter^3/hour"},
    {"m3/d", "meter^3/day"},
    {"m3/s", "meter^3/second"},
    {"ft3/min", "foot^3/minute"},
    {"bar", "bar"},
    {"kPa", "kilopascal"},
    {"psi", "pound force/inch^2"},
    {"mbar", "millibar"},
    {"hPa", "hectopascal"},
    {"Pa", "pascal"},
    {"MPa", "megapascal"},
    {"atm", "atmosphere"},
    {"mH2O", "meter water"},
    {"ftH2O", "foot water"},
    {"inH2O", "inch water"},
    {"inHg", "inch Hg"},
    {"mmHg", "millimeter Hg"},
    {"m", "meter"},
    {"mm", "millimeter"},
    {"ft", "foot"},
    {"in", "inch"},
    {"cm", "centimeter"},
    {"km", "kilometer"},
    {"um", "micrometer"},
    {"yd", "yard"},
    {"kft", "1000 foot"},
    {"L/m2", "liter/meter^2"},
    {"m2", "meter^2"},
    {"mm2", "millimeter^2"},
    {"ft2", "foot^2"},
    {"cm2", "centimeter^2"},
    {"in2", "inch^2"},
    {"kcmil", "1000 circularmil"},
    {"L", "liter"},
    {"m3", "meter^3"},
    {"gal", "gallon"},
    {"mL", "milliliter"},
    {"cm3", "centimeter^3"},
    {"ft3", "foot^3"},
    {"in3", "inch^3"},
    {"kg", "kilogram"},
    {"g", "gram"},
    {"lb", "pound"},
    {"oz", "ounce"},
    {"degC", "tempC"},
    {"degF", "tempF"},
    {"K", "kelvin"},
    {"s", "second"},
    {"min", "minute"},
    {"h", "hour"},
    {"d", "day"},
    {"ms", "millisecond"},
    {"m/s", "meter/second"},
    {"ft/s", "foot/second"},
    {"km/h", "kilometer/hour"},
    {"mph", "mile/hour"},
    {"m/s2", "meter/second^2"},
    {"N", "newton"},
    {"deg", "degree"},
    {"rad", "radian"},
    {"rpm", "revolution/minute"},
    {"rad/s", "radian/second"},
    {"Hz", "hertz"},
    {"per h", "1/hour"},
    {"W/m2", "watt/meter^2"},
    {"kW/m2", "kilowatt/meter^2"},
    {"kWh/m2", "kilowatt hour/meter^2"},
    {"MJ/m2", "megajoule/meter^2"},
    {"Wh/m2", "watt hour/meter^2"},
    {"J/m2", "joule/meter^2"},
    {"gal/ft2", "gallon/foot^2"},
    {"BTU/hft2F", "btu/hour/foot^2/degF"},
    {"BTUin/hft2F", "btu inch/hour/foot^2/degF"},
    {"BTU/hF", "btu/hour/degF"},
    {"BTU/F", "btu/degF"},
    {"BTU/lbF", "btu/pound/degF"},
    {"lb/h", "pound/hour"},
    {"lb/h ft2", "pound/hour/foot^2"},
    {"lb/ft3", "pound/foot^3"},
    {"ft2/s", "foot^2/second"},
    {"W/m2K", "watt/meter^2/kelvin"},
    {"m2K/W", "meter^2 kelvin/watt"},
    {"W/mK", "watt/meter/kelvin"},
    {"W/K", "watt/kelvin"},
    {"J/K", "joule/kelvin"},
    {"J/kgK", "joule/kilogram/kelvin"},
    {"kg/s", "kilogram/second"},
    {"kg/h", "kilogram/hour"},
    {"kg/m2s", "kilogram/meter^2/second"},
    {"kg/m3", "kilogram/meter^3"},
    {"m2/s", "meter^2/second"},
    {"mm2/s", "centistokes"},
    {"Pa s", "pascal second"},
    {"%/K", "percent/kelvin"},
    {"1/K", "1/kelvin"},
    {"V/K", "volt/kelvin"},
    {"mV/K", "millivolt/kelvin"},
    {"A/K", "ampere/kelvin"},
    {"mA/K", "milliampere/kelvin"},
    {"AWG", "wiregauge"},
};

static const char *spelling_of(const char *ours)
{
    for (size_t i = 0; i < sizeof spellings / sizeof *spellings; i++)
        if (strcmp(spellings[i].ours, ours) == 0)
            return spellings[i].gnu;
    print_error("%s has no counterpart listed\n", ours);
    fail();
    return NULL;
}

static void every_unit_has_one_counterpart(void **state)
{
    (void)state;
    size_t count = 0;
    for (; unit_row(count); count++)
        assert_non_null(spelling_of(unit_row(count)->name));
    assert_int_equal(count, sizeof spellings / sizeof *spellings);
}

static bool installed(void)
{
    FILE *pipe = popen("units --version 2>/dev/null", "r");
    char line[80] = "";
    if (!pipe)
        return false;
    bool read = fgets(line, sizeof line, pipe) != NULL;
    pclose(pipe);
    return read && strncmp(line, "GNU Units", 9) == 0;
}

/* A gallon is the US one here, whatever the person's language is set to. One run answers all: pairs
 * of lines go in, a figure for each comes out. GNU's own answer to units that do not conform is a
 * sentence, and so no number. */
struct question {
    struct text command;
    double ours[256];
    char what[256][320];
    size_t count;
};

static void begin(struct question *question)
{
    *question = (struct question){0};
    text_add(&question->command,
             "LC_ALL=C UNITS_ENGLISH=US units -t -o %.17g 2>&1 <<'end of questions'\n");
}

static void ask(struct question *question, const char *have, const char *want, double ours)
{
    assert_true(question->count < sizeof question->ours / sizeof *question->ours);
    text_print(&question->command, "%s\n%s\n", have, want);
    snprintf(question->what[question->count], sizeof question->what[0], "%s in %s", have, want);
    question->ours[question->count++] = ours;
}

static void compare(struct question *question, double relative)
{
    char line[256];
    text_add(&question->command, "end of questions\n");
    assert_false(question->command.failed);
    FILE *pipe = popen(question->command.bytes, "r");
    assert_non_null(pipe);
    for (size_t i = 0; i < question->count; i++) {
        assert_non_null(fgets(line, sizeof line, pipe));
        char *end;
        double gnu = strtod(line, &end);
        if (end == line || *end != '\n' || fabs(question->ours[i] - gnu) > relative * fabs(gnu)) {
            print_error("%s: ours %.17g, GNU %s", question->what[i], question->ours[i], line);
            fail();
        }
    }
    assert_null(fgets(line, sizeof line, pipe));
    assert_int_equal(pclose(pipe), 0);
    text_drop(&question->command);
}

/* The SI unit made of the row's exponents, so that these are checked as well as the scale. */
static void write_si(const struct unit *unit, char *out, size_t size)
{
    static const char *const bases[] = {"meter",  "kilogram", "second",
                                        "ampere", "kelvin",   "radian"};
    size_t length = (size_t)snprintf(out, size, "1");
    for (size_t i = 0; i < BASE_COUNT; i++)
        if (unit->dimension.exponent[i])
            length += (size_t)snprintf(out + length, size - length, " %s^%d", bases[i],
                                       unit->dimension.exponent[i]);
}

static bool is_multiple(const struct unit *unit)
{
    return !unit->dimension.absolute && isfinite(unit->scale);
}

static void every_unit_agrees_with_gnu_units(void **state)
{
    (void)state;
    if (!installed()) {
        print_message("skipped: GNU units is not installed\n");
        skip();
    }
    struct question question;
    begin(&question);
    for (size_t i = 0; unit_row(i); i++) {
        const struct unit *unit = unit_row(i);
        char si[160];
        const char *gnu = spelling_of(unit->name);
        if (!is_multiple(unit))
            continue;
        write_si(unit, si, sizeof si);
        ask(&question, gnu, si, unit->scale);
    }
    print_message("%zu units asked\n", question.count);
    compare(&question, 1e-14);
}

/* GNU lets a radian pass for 1, so that angles are told apart here. */
static void only_angles_have_radians(void **state)
{
    (void)state;
    static const char *const angles[] = {"deg", "rad", "rpm", "rad/s"};
    size_t count = 0;
    for (size_t i = 0; unit_row(i); i++) {
        const struct unit *unit = unit_row(i);
        bool angle = false;
        for (size_t j = 0; j < sizeof angles / sizeof *angles; j++)
            angle |= strcmp(unit->name, angles[j]) == 0;
        assert_int_equal(unit->dimension.exponent[BASE_RAD], angle);
        count += angle;
    }
    assert_int_equal(count, sizeof angles / sizeof *angles);
}

static double si_of(const char *text)
{
    struct quantity quantity;
    const char *why;
    if (!quantity_parse(text, &quantity, NULL, &why)) {
        print_error("'%s' %s\n", text, why);
        fail();
    }
    return quantity.value;
}

/* In kelvin, because that is never near 0: GNU adds 273.15 on its way. */
static void temperatures_agree_with_gnu_units(void **state)
{
    (void)state;
    if (!installed()) {
        print_message("skipped: GNU units is not installed\n");
        skip();
    }
    static const double figures[] = {-273.15, -40.0, -15.0, 0.0, 25.0, 32.0, 99.9, 212.0};
    struct question question;
    begin(&question);
    for (size_t i = 0; unit_row(i); i++) {
        const struct unit *unit = unit_row(i);
        for (size_t j = 0; unit->dimension.absolute && j < sizeof figures / sizeof *figures; j++) {
            char have[64], text[64];
            snprintf(have, sizeof have, "%s(%.17g)", spelling_of(unit->name), figures[j]);
            snprintf(text, sizeof text, "%.17g %s", figures[j], unit->name);
            ask(&question, have, "kelvin", si_of(text) + 273.15);
        }
    }
    print_message("%zu temperatures asked\n", question.count);
    assert_true(question.count > 0);
    compare(&question, 1e-14);
}

static void wire_sizes_agree_with_gnu_units(void **state)
{
    (void)state;
    if (!installed()) {
        print_message("skipped: GNU units is not installed\n");
        skip();
    }
    struct question question;
    begin(&question);
    for (int size = -3; size <= 40; size++) {
        char have[64], text[32];
        snprintf(have, sizeof have, "(wiregauge(%d))^2 pi/4", size);
        if (size > 0)
            snprintf(text, sizeof text, "%d AWG", size);
        else
            snprintf(text, sizeof text, "%d/0 AWG", 1 - size);
        ask(&question, have, "meter^2", si_of(text));
    }
    compare(&question, 1e-13);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_unit_has_one_counterpart),
        cmocka_unit_test(every_unit_agrees_with_gnu_units),
        cmocka_unit_test(only_angles_have_radians),
        cmocka_unit_test(temperatures_agree_with_gnu_units),
        cmocka_unit_test(wire_sizes_agree_with_gnu_units),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
