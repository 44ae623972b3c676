/* test_pictures.c - the drawing of the circuits and the charts: well-formed, whole, the same each
 * time, true to the figures, and through any lack of memory. */
#include "rigs.h"

#include "failing.h"

#include "physics/pv.h"
#include "report/chart.h"
#include "report/diagram.h"
#include "report/plot.h"
#include "report/report.h"
#include "report/svg.h"
#include "solve/curves.h"

static const char preamble[] =
    "rigtally: 1\nname: \"T <b>&\\\"'\"\nsite: { latitude: 47 deg, air: -10 .. 30 degC, water: "
    "10 .. 30 degC, sun: 5 kWh/m2 }\nparts:\n";

/* A panel, a step-down and a pump that turns water through a coil; a spare valve on no run. */
static const char loop[] =
    "  roof: { is: panel, voc: 21.6 V, isc: 2.56 A, vmp: 17.2 V, imp: 2.33 A, azimuth: 180 deg, "
    "tilt: 40 deg }\n"
    "  f1: { is: fuse, rating: 5 A }\n"
    "  conv: { is: converter, type: step-down, input: 7 .. 40 V, output: 12 V, pass_through: yes, "
    "max_current: 3 A }\n"
    "  pump: { is: pump, voltage: 12 V, power: 8 W, max_head: 4 m, max_flow: 420 L/h, height: 0 m "
    "}\n"
    "  coil: { is: coil, area: 1.4 m2, bore: 10 mm, length: 18 m, material: copper, height: 1 m, "
    "azimuth: 180 deg, tilt: 40 deg }\n"
    "  drum: { is: tank, volume: 90 L, height: 0 m, level: 0.5 m, depth: 0.8 m }\n"
    "  spare-valve: { is: valve, action: hand, kv: 1 m3/h, spare: yes }\n"
    "cables:\n  - { from: roof, to: conv, area: 2.5 mm2, length: 5 m, through: [f1] }\n"
    "  - { from: conv, to: pump, area: 1.5 mm2, length: 5 m }\n"
    "pipes:\n  - { from: drum, to: pump, bore: 13 mm, length: 1 m, material: hdpe }\n"
    "  - { from: pump, to: coil, bore: 13 mm, length: 4 m, material: hdpe }\n"
    "  - { from: coil, to: drum, bore: 13 mm, length: 4 m, material: hdpe, ends: under-water }\n";

static struct rig *solve(struct bench *bench, const char *parts)
{
    size_t room = sizeof preamble + strlen(parts);
    char *text = arena_take(bench->arena, room, 1);
    assert_non_null(text);
    snprintf(text, room, "%s%s", preamble, parts);
    return bench_solve(bench, text);
}

/* ---- XML ---- */

/* Every tag closed by its like, every attribute quoted, every & an entity by number (XML 1.0,
 * sections 3.1 and 4.1). What stands there instead, or NULL. */
static const char *not_xml(const char *at)
{
    char open[16][16];
    size_t depth = 0;
    while (*at) {
        if (*at == '&') {
            size_t digits = strspn(at + 2, "0123456789");
            if (at[1] != '#' || !digits || at[2 + digits] != ';')
                return at;
        }
        if (*at++ != '<')
            continue;
        bool closes = *at == '/';
        at += closes;
        char name[16] = "";
        size_t length = strspn(at, "abcdefghijklmnopqrstuvwxyz");
        if (!length || length >= sizeof name)
            return at;
        memcpy(name, at, length);
        at += length;
        while (!closes && *at == ' ') {
            at += 1 + strspn(at + 1, "abcdefghijklmnopqrstuvwxyzBV0123456789-");
            if (strncmp(at, "=\"", 2) != 0)
                return at;
            at += 2 + strcspn(at + 2, "\"<&");
            if (*at++ != '"')
                return at;
        }
        bool empty = *at == '/';
        at += empty;
        if (*at++ != '>')
            return at;
        if (closes && (!depth || strcmp(open[--depth], name) != 0))
            return at;
        if (!closes && !empty) {
            if (depth == 16)
                return at;
            memcpy(open[depth++], name, sizeof name);
        }
    }
    return depth ? at : NULL;
}

static void what_is_not_xml_is_noticed(void **state)
{
    (void)state;
    static const char *const bad[] = {"<a>", "<a></b>", "a & b", "<a b=c/>", "<a b=\"<\"/>",
                                      "<a/", "</a>",    "<>",    "&amp",     "<a b=\"c/>"};
    assert_null(not_xml("<a b=\"c\"><d/>e &#38; f</a>\n"));
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++)
        if (!not_xml(bad[i]))
            fail_msg("taken for XML: %s", bad[i]);
}

static void assert_xml(const struct text *text)
{
    assert_false(text->failed);
    assert_true(text->length > 0);
    const char *at = not_xml(text->bytes);
    if (at)
        fail_msg("no XML from here on: %.60s", at);
}

static size_t count(const struct text *text, const char *what)
{
    size_t count = 0;
    for (const char *at = text->bytes; (at = strstr(at, what)); at++)
        count++;
    return count;
}

/* ---- The strokes ---- */

static void words_are_escaped(void **state)
{
    (void)state;
    static const struct {
        const char *raw, *shown;
    } rows[] = {
        {"plain 12 V", "plain 12 V"},
        {"<b>&\"'", "&#60;b&#62;&#38;&#34;&#39;"},
        {"\x1b[2J", "\\x1b[2J"},
        {"a\xe2\x80\xae"
         "b",
         "a&#60;U+202E&#62;b"},
        {"gr\xc3\xbcn", "gr\xc3\xbcn"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct text text = {0};
        escape_html(&text, rows[i].raw);
        assert_string_equal(text.bytes, rows[i].shown);
        text_drop(&text);
    }
}

/* Adobe Font Metrics of Helvetica: W 944, i 222, blank 278 (from memory), a sixth added. */
static void words_have_a_width(void **state)
{
    (void)state;
    const struct svg_words ten = {.size = 10};
    assert_close(svg_width(&ten, "Wi "), 10.0 * (0.944 + 0.222 + 0.278) * 1.17, 1e-9);
    assert_true(svg_width(&ten, "\xc3\xbc") > 0.0);
    assert_true(svg_width(&ten, "\xff") > 0.0);
}

/* ---- The drawing ---- */

static void the_drawing_names_every_part_once(void **state)
{
    (void)state;
    static const char *const names[] = {"roof",      "f1",        "conv",        "pump",
                                        "coil",      "drum",      "spare-valve", "roof-conv",
                                        "conv-pump", "drum-pump", "pump-coil",   "coil-drum"};
    struct bench bench;
    bench_open(&bench);
    struct rig *rig = solve(&bench, loop);
    struct text text = {0};
    assert_true(diagram_draw(rig, &text));
    assert_xml(&text);
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        char word[64];
        snprintf(word, sizeof word, ">%s</text>", names[i]);
        assert_int_equal(count(&text, word), 1);
    }
    assert_int_equal(count(&text, "<svg "), 1);
    assert_int_equal(count(&text, "role=\"img\""), 1);
    assert_int_equal(count(&text, " id="), 0);
    assert_int_equal(count(&text, "<title>Circuits of T &#60;b&#62;&#38;&#34;&#39;</title>"), 1);
    text_drop(&text);
    bench_close(&bench);
}

/* What stands on it are the figures of the rig. */
static void the_drawing_tells_the_figures(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench);
    struct rig *rig = solve(&bench, loop);
    struct text text = {0}, words = {0};
    assert_true(diagram_draw(rig, &text));
    struct quantity flow = {figure(rig, "pump.flow", CONDITION_BRIGHT_NOON), {{0}, false}};
    struct unit unit;
    assert_true(unit_find("L/h", 3, &unit));
    flow.dimension = unit.dimension;
    text_add(&words, ">");
    quantity_print(&words, flow, &unit);
    text_add(&words, ", ");
    flow.value = figure(rig, "pump.head", CONDITION_BRIGHT_NOON);
    assert_true(unit_find("m", 1, &unit));
    flow.dimension = unit.dimension;
    quantity_print(&words, flow, &unit);
    text_add(&words, "</text>");
    assert_int_equal(count(&text, words.bytes), 1);
    text_drop(&text);
    text_drop(&words);
    bench_close(&bench);
}

static void the_drawing_is_the_same_each_time(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench);
    struct rig *rig = solve(&bench, loop);
    struct text one = {0}, two = {0};
    assert_true(diagram_draw(rig, &one));
    assert_true(diagram_draw(rig, &two));
    assert_string_equal(one.bytes, two.bytes);
    text_drop(&one);
    text_drop(&two);
    bench_close(&bench);
}

/* A row of so many tanks, each with a pipe to the next. */
static struct rig *row_of_tanks(struct bench *bench, size_t tanks)
{
    struct text text = {0};
    for (size_t i = 0; i < tanks; i++)
        text_print(&text, "  t%zu: { is: tank, volume: 90 L, height: 0 m, level: 0.5 m }\n", i);
    text_add(&text, tanks > 1 ? "pipes:\n" : "");
    for (size_t i = 1; i < tanks; i++)
        text_print(&text,
                   "  - { from: t%zu, to: t%zu, bore: 13 mm, length: 1 m, material: hdpe }\n",
                   i - 1, i);
    struct rig *rig = solve(bench, text.bytes);
    text_drop(&text);
    return rig;
}

static void a_drawing_has_an_end(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench);
    struct text text = {0};
    assert_true(diagram_draw(row_of_tanks(&bench, DIAGRAM_PARTS_MAX), &text));
    assert_int_equal(count(&text, "<svg "), 1);
    text_clear(&text);
    assert_true(diagram_draw(row_of_tanks(&bench, DIAGRAM_PARTS_MAX + 1), &text));
    assert_xml(&text);
    assert_int_equal(count(&text, "<svg "), 0);
    assert_int_equal(count(&text, "of 151 parts"), 1);
    text_drop(&text);
    bench_close(&bench);
}

/* ---- Axes ---- */

static void axes_have_round_ticks(void **state)
{
    (void)state;
    static const struct {
        double low, high;
        int steps;
        double from, to, step;
        const char *first, *last;
    } rows[] = {
        {0.0, 832.0, 10, 0.0, 900.0, 100.0, "0", "900"},
        {0.0, 2.0, 5, 0.0, 2.0, 0.5, "0.0", "2.0"},
        {-0.28, 6.4, 6, -2.0, 8.0, 2.0, "-2", "8"},
        {7.7, 43.1, 4, 0.0, 50.0, 10.0, "0", "50"},
        {0.0, 0.013, 5, 0.0, 0.015, 0.005, "0.000", "0.015"},
        {0.0, 12345.0, 6, 0.0, 15000.0, 5000.0, "0", "15000"},
        {5.0, 5.0, 4, 5.0, 6.0, 0.5, "5.0", "6.0"},
        {0.0, 100.0, 4, 0.0, 100.0, 50.0, "0", "100"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct axis axis = axis_make(rows[i].low, rows[i].high, rows[i].steps, "");
        struct text text = {0};
        assert_close(axis.low, rows[i].from, 1e-9 * rows[i].step);
        assert_close(axis.high, rows[i].to, 1e-9 * rows[i].step);
        assert_close(axis.step, rows[i].step, 1e-9 * rows[i].step);
        axis_say(&text, &axis, axis.low);
        text_add(&text, " ");
        axis_say(&text, &axis, axis.high);
        char want[64];
        snprintf(want, sizeof want, "%s %s", rows[i].first, rows[i].last);
        assert_string_equal(text.bytes, want);
        text_drop(&text);
    }
}

static void curves_are_cut_at_the_frame(void **state)
{
    (void)state;
    struct plot plot = {100, 100, 100, 100, {0, 10, 5, ""}, {0, 10, 5, ""}, false};
    const double x[] = {-5, 5, 15, NAN, 20, 2, 8}, y[] = {5, 5, 15, NAN, 20, 2, 2};
    struct text text = {0};
    plot_curve(&text, &plot, &svg_thin, x, y, 7);
    /* in from the left at half height, out at the right upper corner; in again by the same corner
     */
    assert_string_equal(text.bytes,
                        "<path d=\"M 100.0 150.0L 150.0 150.0L 200.0 100.0M 200.0 100.0L 120.0 "
                        "180.0L 180.0 180.0\" fill=\"none\" stroke=\"#000\"/>\n");
    text_drop(&text);
}

/* ---- The curves behind the charts ---- */

/* How far a point lies off a curve: the y between the two of its points about x. */
static double height_at(const struct curve *curve, double x)
{
    for (size_t i = 1; i < curve->count; i++)
        if (curve->x[i - 1] <= x && x <= curve->x[i])
            return curve->y[i - 1] + (curve->y[i] - curve->y[i - 1]) * (x - curve->x[i - 1]) /
                                         (curve->x[i] - curve->x[i - 1] + 1e-300);
    return NAN;
}

static void a_panel_works_where_its_curves_meet(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench);
    struct rig *rig = solve(&bench, loop);
    struct curves_panel panel;
    assert_int_equal(curves_of_panel(rig, rig_find_part(rig, "roof"), bench.arena, &panel),
                     OUTCOME_OK);
    struct pv_label label = pv_label_blank();
    label.voc_v = 21.6;
    label.isc_a = 2.56;
    label.vmp_v = 17.2;
    label.imp_a = 2.33;
    double lifted = pv_fit(&label).isc_factor;
    static const enum condition at[] = {CONDITION_BRIGHT_NOON, CONDITION_WEAK_SUN};
    for (size_t i = 0; i < 2; i++) {
        const struct curve *amps = &panel.amps[i ? CURVES_SUNS - 1 : 0];
        double volts = figure(rig, "roof.volts", at[i]), works = figure(rig, "roof.amps", at[i]);
        assert_near(amps->y[0], lifted * figure(rig, "roof.short_current", at[i]), 1e-9);
        assert_near(amps->x[amps->count - 1], figure(rig, "roof.open_voltage", at[i]), 1e-9);
        assert_close(amps->y[amps->count - 1], 0.0, 1e-9);
        assert_near(i ? panel.weak_sun.volts : panel.bright_noon.volts, volts, 1e-6);
        assert_near(i ? panel.weak_sun.amps : panel.bright_noon.amps, works, 1e-6);
        assert_true(works > 0.1);
        assert_near(height_at(amps, volts), works, 1e-3);
        assert_near(panel.cell_degc[i ? CURVES_SUNS - 1 : 0],
                    figure(rig, "roof.cell_temperature", at[i]), 1e-9);
    }
    assert_true(panel.load.count > 20);
    assert_near(height_at(&panel.load, panel.bright_noon.volts), panel.bright_noon.amps, 1e-3);
    size_t last = panel.works.count - 1;
    assert_near(panel.works.x[last], panel.bright_noon.volts, 1e-9);
    assert_near(panel.works.y[last], panel.bright_noon.amps, 1e-9);
    bench_close(&bench);
}

static void a_pump_works_where_its_curves_meet(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench);
    struct rig *rig = solve(&bench, loop);
    struct curves_pump pump;
    assert_int_equal(curves_of_pump(rig, rig_find_part(rig, "pump"), bench.arena, &pump),
                     OUTCOME_OK);
    static const enum condition at[] = {
        [CURVES_BRIGHT_NOON] = CONDITION_BRIGHT_NOON, [CURVES_WEAK_SUN] = CONDITION_WEAK_SUN};
    for (int i = CURVES_BRIGHT_NOON; i <= CURVES_WEAK_SUN; i++) {
        double flow = figure(rig, "pump.flow", at[i]), head = figure(rig, "pump.head", at[i]);
        assert_true(flow > 1e-6);
        assert_near(pump.at[i].flow, flow, 1e-6);
        assert_near(pump.at[i].head, head, 1e-6);
        assert_near(pump.at[i].volts, figure(rig, "pump.volts", at[i]), 1e-6);
        assert_near(height_at(&pump.at[i].pump, flow), head, 1e-3);
        assert_near(height_at(&pump.at[i].pipes, flow), head, 1e-3);
    }
    /* the plate: 4 m without flow, 420 L/h without head */
    const struct curve *rated = &pump.at[CURVES_RATED].pump;
    assert_near(rated->y[0], 4.0, 1e-9);
    assert_near(rated->x[rated->count - 1], 420e-3 / 3600.0, 1e-9);
    assert_close(rated->y[rated->count - 1], 0.0, 1e-9);
    bench_close(&bench);
}

static void the_drawn_day_is_the_day(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench);
    struct rig *rig = solve(&bench, loop);
    struct curves_day day;
    assert_int_equal(curves_of_day(rig, bench.arena, &day), OUTCOME_OK);
    assert_int_equal(day.pumps.count, 1);
    assert_int_equal(day.tanks.count, 1);
    assert_int_equal(day.batteries.count, 0);
    assert_int_equal(solve_later(rig), OUTCOME_OK);
    double moved = 0.0, warmest = 0.0;
    for (size_t i = 0; i < day.steps; i++) {
        moved += day.pumps.at[0].values[i] * day.step_s;
        warmest = fmax(warmest, day.tanks.at[0].values[i]);
    }
    assert_near(moved, figure(rig, "pump.day_volume", CONDITION_BRIGHT_NOON), 1e-9);
    assert_near(warmest, figure(rig, "drum.high_temperature", CONDITION_BRIGHT_NOON), 1e-9);
    bench_close(&bench);
}

/* A pump that a battery feeds all day, and panels that fill it through a controller. */
static const char stored[] =
    "  roof: { is: panel, voc: 21.6 V, isc: 2.56 A, vmp: 17.2 V, imp: 2.33 A, azimuth: 180 deg, "
    "tilt: 40 deg }\n"
    "  keeper: { is: controller, type: pwm, battery_voltage: 12 V }\n"
    "  store: { is: battery, chemistry: agm, voltage: 12 V, capacity: 20 Ah }\n"
    "  pump: { is: pump, voltage: 12 V, power: 8 W, max_head: 4 m, max_flow: 420 L/h, height: 0 m, "
    "runs: always }\n"
    "  low: { is: tank, volume: 90 L, height: 0 m, level: 0.5 m }\n"
    "  high: { is: tank, volume: 90 L, height: 1 m, level: 0.5 m }\n"
    "cables:\n  - { from: roof, to: keeper, area: 2.5 mm2, length: 5 m }\n"
    "  - { from: keeper, to: store, area: 2.5 mm2, length: 1 m }\n"
    "  - { from: store, to: pump, area: 1.5 mm2, length: 5 m }\n"
    "pipes:\n  - { from: low, to: pump, bore: 13 mm, length: 1 m, material: hdpe }\n"
    "  - { from: pump, to: high, bore: 13 mm, length: 4 m, material: hdpe, ends: under-water }\n";

static void a_battery_is_followed_through_the_day(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench);
    struct rig *rig = solve(&bench, stored);
    struct curves_day day;
    assert_int_equal(curves_of_day(rig, bench.arena, &day), OUTCOME_OK);
    assert_int_equal(day.batteries.count, 1);
    assert_int_equal(solve_later(rig), OUTCOME_OK);
    double lowest = 1.0;
    for (size_t i = 0; i < day.steps; i++)
        lowest = fmin(lowest, day.batteries.at[0].values[i]);
    assert_true(lowest < 0.9);
    assert_near(lowest, figure(rig, "store.lowest_charge", CONDITION_BRIGHT_NOON), 1e-9);
    bench_close(&bench);
}

/* ---- The charts ---- */

static bool panel_of(const struct rig *rig, struct text *out)
{
    return chart_panel(rig, rig_find_part(rig, "roof"), out);
}

static bool pump_of(const struct rig *rig, struct text *out)
{
    return chart_pump(rig, rig_find_part(rig, "pump"), out);
}

static void charts_are_drawn(void **state)
{
    (void)state;
    static const struct {
        const char *parts;
        bool (*draw)(const struct rig *rig, struct text *out);
        const char *title, *axis;
    } rows[] = {
        {loop, panel_of, "What roof gives, and where it works", "voltage, V"},
        {loop, pump_of, "What pump makes, and what its water asks", "flow, L/h"},
        {loop, chart_day, "The day of T &#60;b&#62;&#38;&#34;&#39;", "solar time, h"},
        {stored, panel_of, "What roof gives, and where it works", "voltage, V"},
        {stored, pump_of, "What pump makes, and what its water asks", "flow, L/h"},
        {stored, chart_day, "The day of T &#60;b&#62;&#38;&#34;&#39;", "store: charge, %"},
    };
    struct bench bench;
    bench_open(&bench);
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct rig *rig = solve(&bench, rows[i].parts);
        struct text one = {0}, two = {0};
        char word[128];
        assert_true(rows[i].draw(rig, &one));
        assert_xml(&one);
        assert_int_equal(count(&one, "<svg "), 1);
        assert_int_equal(count(&one, " id="), 0);
        assert_int_equal(count(&one, "nan"), 0);
        assert_int_equal(count(&one, "inf"), 0);
        snprintf(word, sizeof word, "<title>%s</title>", rows[i].title);
        assert_int_equal(count(&one, word), 1);
        snprintf(word, sizeof word, ">%s</text>", rows[i].axis);
        assert_int_equal(count(&one, word), 1);
        assert_true(rows[i].draw(rig, &two));
        assert_string_equal(one.bytes, two.bytes);
        text_drop(&one);
        text_drop(&two);
    }
    bench_close(&bench);
}

/* The point where it works is drawn at the figures of the rig: its number's circle, in px. */
static void the_mark_stands_at_the_figures(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench);
    struct rig *rig = solve(&bench, loop);
    struct text text = {0};
    assert_true(pump_of(rig, &text));
    /* 46 px from the left, 380 px wide from 0 to 500 L/h; 40 px from above, 220 px from 5 to 0 m */
    double flow = 3.6e6 * figure(rig, "pump.flow", CONDITION_BRIGHT_NOON);
    double head_m = figure(rig, "pump.head", CONDITION_BRIGHT_NOON);
    char word[64];
    snprintf(word, sizeof word, "cx=\"%.1f\" cy=\"%.1f\"", 46.0 + 380.0 * flow / 500.0,
             40.0 + 220.0 * (5.0 - head_m) / 5.0);
    assert_int_equal(count(&text, ">500</text>"), 1);
    assert_int_equal(count(&text, ">5</text>"), 1);

    assert_int_equal(count(&text, word), 1);
    text_drop(&text);
    bench_close(&bench);
}

static void nothing_to_show_appends_nothing(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench);
    struct rig *rig = solve(&bench, loop);
    struct text text = {0};
    assert_true(chart_panel(rig, rig_find_part(rig, "pump"), &text));
    assert_true(chart_pump(rig, rig_find_part(rig, "roof"), &text));
    rig = row_of_tanks(&bench, 2);
    assert_true(chart_day(rig, &text));
    assert_int_equal(text.length, 0);
    bench_close(&bench);
}

/* ---- Memory ---- */

#ifdef SANITIZED
/* The sanitizers keep malloc for themselves. */
static void every_allocation_fails(void **state)
{
    (void)state;
    skip();
}
#else
typedef bool picture(const struct rig *rig, struct text *out);

static void fail_each(const char *name, picture *draw, const struct rig *rig, const char *also)
{
    struct text right = {0};
    allocator.on = true;
    allocator.from_here_on = false;
    allocator.fails_at = -1;
    allocator.made = allocator.held = 0;
    assert_true(draw(rig, &right));
    allocator.on = false;
    long made = allocator.made;
    assert_true(made > 5);
    long step = 1 + made / 200; /* of many, some */
    for (long k = 0; k < 2 * made; k += step) {
        struct text text = {0};
        allocator.on = true;
        allocator.from_here_on = k >= made;
        allocator.fails_at = k % made;
        allocator.made = allocator.held = 0;
        bool done = draw(rig, &text);
        bool whole = !text.failed && text.length &&
                     (strcmp(text.bytes, right.bytes) == 0 || (also && strstr(text.bytes, also)));
        text_drop(&text);
        allocator.on = false;
        if (done && !whole)
            fail_msg("%s: allocation %ld of %ld: another picture", name, k % made, made);
        if (allocator.held != 0)
            fail_msg("%s: allocation %ld of %ld: %ld blocks kept", name, k % made, made,
                     allocator.held);
    }
    print_message("%s: %ld allocations\n", name, made);
    text_drop(&right);
}

static void every_allocation_fails(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench);
    struct rig *rig = solve(&bench, loop);
    assert_int_equal(solve_later(rig), OUTCOME_OK);
    /* where only the child lacks memory, the drawing is left out */
    fail_each("drawing", diagram_draw, rig, "left-out");
    fail_each("panel", panel_of, rig, NULL);
    fail_each("pump", pump_of, rig, NULL);
    fail_each("day", chart_day, rig, NULL);
    bench_close(&bench);
}
#endif

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_is_not_xml_is_noticed),
        cmocka_unit_test(words_are_escaped),
        cmocka_unit_test(words_have_a_width),
        cmocka_unit_test(the_drawing_names_every_part_once),
        cmocka_unit_test(the_drawing_tells_the_figures),
        cmocka_unit_test(the_drawing_is_the_same_each_time),
        cmocka_unit_test(a_drawing_has_an_end),
        cmocka_unit_test(axes_have_round_ticks),
        cmocka_unit_test(curves_are_cut_at_the_frame),
        cmocka_unit_test(a_panel_works_where_its_curves_meet),
        cmocka_unit_test(a_pump_works_where_its_curves_meet),
        cmocka_unit_test(the_drawn_day_is_the_day),
        cmocka_unit_test(a_battery_is_followed_through_the_day),
        cmocka_unit_test(charts_are_drawn),
        cmocka_unit_test(the_mark_stands_at_the_figures),
        cmocka_unit_test(nothing_to_show_appends_nothing),
        cmocka_unit_test(every_allocation_fails),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
