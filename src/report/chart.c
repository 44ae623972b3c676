/* chart.c - the three charts: what is drawn in which stroke, and what is said of it. */
#include "report/chart.h"

#include <math.h>
#include <string.h>

#include "base/arena.h"
#include "quantity/quantity.h"
#include "report/plot.h"
#include "solve/curves.h"

#define WIDTH 440.0 /* two stand side by side on a sheet of paper */
#define LEFT 46.0
#define RIGHT 14.0
#define INNER (WIDTH - LEFT - RIGHT)

/* Strokes that can be told apart without colour. */
static const struct svg_pen strokes[] = {
    {1.5, NULL, "#000"},    {1.4, "9 3", "#000"},     {1.4, "4 3", "#000"},
    {1.6, "1.5 3", "#000"}, {1.4, "9 3 2 3", "#000"}, {2.6, NULL, "#000"},
};
enum { STROKES = sizeof strokes / sizeof *strokes };
static const struct svg_pen broad = {3.4, NULL, "#999"}, dotted = {1.2, "9 3 2 3", "#000"};

/* ---- A chart on the way ---- */

struct chart {
    const struct rig *rig;
    struct text *out;
    struct text words, about;
    struct arena *arena;
};

/* An axis for SI values in the units of the rig. */
struct scale {
    struct unit unit;
    const char *words; /* "flow, L/h"; "" when memory ran out, which the chart then knows */
};

/* For values of this unit, up to `most`; `customary`: as in figure_tell. */
static struct scale scale_for(struct chart *chart, const char *what, const char *unit,
                              const char *customary, double most)
{
    struct scale scale = {.unit = {.name = unit, .scale = 1.0}};
    unit_find(unit, strlen(unit), &scale.unit);
    scale.unit.customary = customary;
    scale.unit = unit_told(&scale.unit, rig_units(chart->rig), most);
    scale.words = arena_print(chart->arena, "%s, %s", what, scale.unit.name);
    chart->out->failed |= !scale.words;
    scale.words = scale.words ? scale.words : "";
    return scale;
}

static double on_scale(const struct scale *scale, double si)
{
    return (si - scale->unit.offset) / scale->unit.scale;
}

static void say_on(struct text *words, const struct scale *scale, double si)
{
    quantity_print(words, (struct quantity){si, scale->unit.dimension}, &scale->unit);
}

/* "12 V": an SI value in a unit by its name that is the same everywhere. */
static void say(struct text *words, double si, const char *unit_name)
{
    struct unit unit;
    if (unit_find(unit_name, strlen(unit_name), &unit))
        quantity_print(words, (struct quantity){si, unit.dimension}, &unit);
}

/* The same of one that the rig's practice writes in other units. */
static void tell(struct chart *chart, double si, const char *unit_name)
{
    struct unit unit;
    if (unit_find(unit_name, strlen(unit_name), &unit))
        quantity_tell(&chart->words, (struct quantity){si, unit.dimension}, &unit,
                      rig_units(chart->rig));
}

/* What stands in `words`, which is then empty. In a chart that failed, nothing. */
static const char *take_words(struct chart *chart, char *room, size_t size)
{
    size_t length = chart->words.length < size ? chart->words.length : size - 1;
    memcpy(room, length ? chart->words.bytes : "", length);
    room[length] = '\0';
    chart->out->failed |= chart->words.failed;
    text_clear(&chart->words);
    return room;
}

/* A row of the legend, which is told in the chart's description too. */
static void add_row(struct chart *chart, double *y, const struct svg_pen *pen, int number)
{
    char room[256];
    const char *words = take_words(chart, room, sizeof room);
    legend_row(chart->out, LEFT, *y, pen, number, words);
    *y += LEGEND_LINE;
}

static void begin(struct chart *chart, double height)
{
    char room[256];
    const char *title = take_words(chart, room, sizeof room);
    svg_begin(chart->out, WIDTH, height, 1.0, title, chart->about.length ? chart->about.bytes : "");
    svg_text(chart->out, &(struct svg_words){.size = 12, .bold = true}, 0.0, 12.0, title);
}

typedef enum outcome chart_maker(struct chart *chart, size_t part);

static bool make(const struct rig *rig, size_t part, struct text *out, chart_maker *maker)
{
    struct chart chart = {.rig = rig, .out = out, .arena = arena_new()};
    enum outcome outcome = chart.arena ? maker(&chart, part) : OUTCOME_NO_MEMORY;
    out->failed |= outcome == OUTCOME_NO_MEMORY || chart.words.failed || chart.about.failed;
    text_drop(&chart.words);
    text_drop(&chart.about);
    arena_drop(chart.arena);
    return !out->failed;
}

static double largest(const struct curve *curve, bool of_y, double so_far)
{
    for (size_t i = 0; i < curve->count; i++)
        so_far = fmax(so_far, of_y ? curve->y[i] : curve->x[i]);
    return so_far;
}

/* ---- A panel ---- */

#define AMPS_HEIGHT 170.0
#define WATTS_HEIGHT 140.0

struct panel_point {
    const char *condition;
    double volts, amps;
};

static void say_panel_point(struct text *words, const struct panel_point *point)
{
    text_print(words, "%s: ", point->condition);
    if (isnan(point->volts)) {
        text_add(words, "nothing settles");
        return;
    }
    say(words, point->volts, "V");
    text_add(words, ", ");
    say(words, fabs(point->amps) < 1e-6 ? 0.0 : point->amps, "A");
    text_add(words, ", ");
    say(words, fabs(point->amps) < 1e-6 ? 0.0 : point->volts * point->amps, "W");
}

/* A curve's watts, V by V. */
static bool watts_of(const struct curve *amps, struct arena *arena, struct curve *out)
{
    *out = (struct curve){amps->x, ARENA_TAKE(arena, amps->count + 1, double), amps->count};
    for (size_t i = 0; out->y && i < amps->count; i++)
        out->y[i] = amps->x[i] * amps->y[i];
    return out->y;
}

static void draw_suns(struct chart *chart, const struct plot *plot, const struct curve *curves,
                      const struct curve *works, const struct curve *load)
{
    plot_frame(chart->out, plot);
    plot_curve(chart->out, plot, &broad, works->x, works->y, works->count);
    plot_curve(chart->out, plot, &dotted, load->x, load->y, load->count);
    for (size_t i = 0; i < CURVES_SUNS; i++)
        plot_curve(chart->out, plot, &strokes[i], curves[i].x, curves[i].y, curves[i].count);
}

/* Beside each curve its sun: over the level part of the current, over the top of the power, where
 * a mark still has room. */
static void name_suns(struct chart *chart, const struct plot *plot,
                      const struct curves_panel *panel, const struct curve *curves, bool tops)
{
    for (size_t i = 0; i < CURVES_SUNS; i++) {
        size_t at = 0;
        for (size_t k = 0; tops && k < curves[i].count; k++)
            at = curves[i].y[k] > curves[i].y[at] ? k : at;
        char room[128];
        say(&chart->words, panel->sun[i], "W/m2");
        if (!tops) {
            text_add(&chart->words, ", cells at ");
            tell(chart, panel->cell_degc[i], "degC");
        }
        svg_text(chart->out,
                 &(struct svg_words){.size = 9, .anchor = tops ? SVG_END : SVG_START, .halo = true},
                 plot_x(plot, curves[i].x[at]) + (tops ? -10.0 : 4.0),
                 plot_y(plot, curves[i].y[at]) - 4.0, take_words(chart, room, sizeof room));
    }
}

static void draw_panel(struct chart *chart, const struct curves_panel *panel,
                       const struct curve *watts, const struct curve *works_watts,
                       const struct curve *load_watts, const struct panel_point points[2])
{
    double most_v = 0.0, most_a = largest(&panel->works, true, 0.0), least_a = 0.0;
    double most_w = largest(works_watts, true, 0.0), least_w = 0.0;
    for (size_t i = 0; i < CURVES_SUNS; i++) {
        most_v = largest(&panel->amps[i], false, most_v);
        most_a = largest(&panel->amps[i], true, most_a);
        most_w = largest(&watts[i], true, most_w);
    }
    for (size_t i = 0; i < 2; i++) {
        most_v = fmax(most_v, points[i].volts);
        least_a = fmin(least_a, points[i].amps);
        least_w = fmin(least_w, points[i].volts * points[i].amps);
    }
    struct plot plot = {LEFT,
                        40.0,
                        INNER,
                        AMPS_HEIGHT,
                        axis_make(0.0, 1.02 * most_v, 8, "voltage, V"),
                        axis_make(least_a, 1.06 * most_a, 6, "current, A"),
                        true};
    struct marks marks = {0};
    draw_suns(chart, &plot, panel->amps, &panel->works, &panel->load);
    name_suns(chart, &plot, panel, panel->amps, false);
    for (int i = 0; i < 2; i++)
        plot_mark(chart->out, &plot, &marks, points[i].volts, points[i].amps, i + 1);
    plot.top += AMPS_HEIGHT + 28.0;
    plot.height = WATTS_HEIGHT;
    plot.y = axis_make(least_w, 1.08 * most_w, 6, "power, W");
    plot.bare = false;
    marks.count = 0;
    draw_suns(chart, &plot, watts, works_watts, load_watts);
    name_suns(chart, &plot, panel, watts, true);
    for (int i = 0; i < 2; i++)
        plot_mark(chart->out, &plot, &marks, points[i].volts, points[i].volts * points[i].amps,
                  i + 1);
}

static enum outcome make_panel(struct chart *chart, size_t part)
{
    struct curves_panel panel;
    struct curve watts[CURVES_SUNS], works_watts, load_watts;
    enum outcome outcome = curves_of_panel(chart->rig, part, chart->arena, &panel);
    if (outcome != OUTCOME_OK)
        return outcome;
    for (size_t i = 0; i < CURVES_SUNS; i++)
        if (!watts_of(&panel.amps[i], chart->arena, &watts[i]))
            return OUTCOME_NO_MEMORY;
    if (!watts_of(&panel.works, chart->arena, &works_watts) ||
        !watts_of(&panel.load, chart->arena, &load_watts))
        return OUTCOME_NO_MEMORY;
    struct panel_point points[2] = {
        {"bright-noon", panel.bright_noon.volts, panel.bright_noon.amps},
        {"weak-sun", panel.weak_sun.volts, panel.weak_sun.amps}};
    for (size_t i = 0; i < 2; i++) {
        say_panel_point(&chart->about, &points[i]);
        text_add(&chart->about, i ? "." : "; ");
    }
    double rows = 62.0 + AMPS_HEIGHT + WATTS_HEIGHT + 48.0;
    text_print(&chart->words, "What %s gives, and where it works", chart->rig->parts[part].id);
    begin(chart, rows + (panel.load.count ? 4.0 : 3.0) * LEGEND_LINE);
    draw_panel(chart, &panel, watts, &works_watts, &load_watts, points);
    text_add(&chart->words, panel.works.count
                                ? "where what hangs on it holds it, as the sun rises to 1000 W/m2"
                                : "(nothing that hangs on it runs in any sun up to 1000 W/m2)");
    add_row(chart, &rows, &broad, 0);
    if (panel.load.count) {
        text_add(&chart->words, "what hangs on it takes at each voltage, at bright-noon");
        add_row(chart, &rows, &dotted, 0);
    }
    for (int i = 0; i < 2; i++) {
        say_panel_point(&chart->words, &points[i]);
        add_row(chart, &rows, NULL, i + 1);
    }
    svg_end(chart->out);
    return OUTCOME_OK;
}

bool chart_panel(const struct rig *rig, size_t part, struct text *out)
{
    return make(rig, part, out, make_panel);
}

/* ---- A pump ---- */

#define PUMP_HEIGHT 220.0

/* Flow is told in m3/h where L/h would have five figures. */
static struct scale flow_scale(struct chart *chart, double most_m3s)
{
    struct scale hours = scale_for(chart, "flow", "L/h", NULL, most_m3s);
    bool large = rig_units(chart->rig) == UNITS_METRIC && on_scale(&hours, most_m3s) >= 10000.0;
    return large ? scale_for(chart, "flow", "m3/h", NULL, most_m3s) : hours;
}

/* Values on a scale; NULL: no memory. */
static double *scale_values(const double *values, size_t count, const struct scale *scale,
                            struct arena *arena)
{
    double *scaled = ARENA_TAKE(arena, count + 1, double);
    for (size_t i = 0; scaled && i < count; i++)
        scaled[i] = on_scale(scale, values[i]);
    return scaled;
}

/* What a pump's chart is drawn in. */
struct pump_scales {
    struct scale flow, head;
};

static bool scale_curve(struct curve *curve, const struct pump_scales *scales, struct arena *arena)
{
    curve->x = scale_values(curve->x, curve->count, &scales->flow, arena);
    curve->y = scale_values(curve->y, curve->count, &scales->head, arena);
    return curve->x && curve->y;
}

static const char *const speed_names[] = {"rated", "bright-noon", "weak-sun"};

static void say_speed(struct text *words, const struct curves_pump *pump, int which)
{
    text_print(words, "the pump, %s", speed_names[which]);
    if (!isnan(pump->at[which].volts)) {
        text_add(words, ": ");
        say(words, pump->at[which].volts, "V");
    }
    if (pump->at[which].speed == 0.0)
        text_add(words, ", where it stands");
}

static void say_pump_point(struct text *words, const struct curves_pump *pump, int which,
                           const struct pump_scales *scales)
{
    text_print(words, "%s: ", speed_names[which]);
    if (isnan(pump->at[which].flow) || pump->at[which].speed == 0.0) {
        text_add(words, isnan(pump->at[which].flow) ? "nothing settles" : "it stands");
        return;
    }
    say_on(words, &scales->flow, pump->at[which].flow);
    text_add(words, " at ");
    say_on(words, &scales->head, pump->at[which].head);
}

static void draw_pump(struct chart *chart, const struct curves_pump *pump, double most_flow,
                      double most_head, const struct pump_scales *scales)
{
    double least = 0.0, least_flow = 0.0;
    for (int i = CURVES_BRIGHT_NOON; i < CURVES_SPEED_COUNT; i++)
        if (pump->at[i].speed > 0.0) {
            least = fmin(least, on_scale(&scales->head, pump->at[i].head));
            least_flow = fmin(least_flow, on_scale(&scales->flow, pump->at[i].flow));
        }
    struct plot plot = {
        LEFT,
        40.0,
        INNER,
        PUMP_HEIGHT,
        axis_make(least_flow, 1.04 * on_scale(&scales->flow, most_flow), 7, scales->flow.words),
        axis_make(least, 1.06 * on_scale(&scales->head, most_head), 6, scales->head.words),
        false};
    static const struct svg_pen *const pipes[] = {NULL, &broad, &dotted};
    struct marks marks = {0};
    plot_frame(chart->out, &plot);
    for (int i = CURVES_BRIGHT_NOON; i < CURVES_SPEED_COUNT; i++)
        plot_curve(chart->out, &plot, pipes[i], pump->at[i].pipes.x, pump->at[i].pipes.y,
                   pump->at[i].pipes.count);
    for (int i = 0; i < CURVES_SPEED_COUNT; i++)
        plot_curve(chart->out, &plot, &strokes[(i + 2) % 3], pump->at[i].pump.x, pump->at[i].pump.y,
                   pump->at[i].pump.count);
    for (int i = CURVES_BRIGHT_NOON; i < CURVES_SPEED_COUNT; i++)
        if (pump->at[i].speed > 0.0)
            plot_mark(chart->out, &plot, &marks, on_scale(&scales->flow, pump->at[i].flow),
                      on_scale(&scales->head, pump->at[i].head), i);
}

static void add_pump_rows(struct chart *chart, const struct curves_pump *pump,
                          const struct pump_scales *scales, double y)
{
    for (int i = 0; i < CURVES_SPEED_COUNT; i++) {
        say_speed(&chart->words, pump, i);
        add_row(chart, &y, &strokes[(i + 2) % 3], 0);
    }
    text_add(&chart->words, "what lift, pipes and fittings ask, at bright-noon");
    add_row(chart, &y, &broad, 0);
    text_add(&chart->words, "what they ask at weak-sun, with cooler water");
    add_row(chart, &y, &dotted, 0);
    for (int i = CURVES_BRIGHT_NOON; i < CURVES_SPEED_COUNT; i++) {
        say_pump_point(&chart->words, pump, i, scales);
        add_row(chart, &y, NULL, i);
    }
}

static enum outcome make_pump(struct chart *chart, size_t part)
{
    struct curves_pump pump;
    enum outcome outcome = curves_of_pump(chart->rig, part, chart->arena, &pump);
    if (outcome != OUTCOME_OK)
        return outcome;
    double most_flow = 0.0, most_head = 0.0;
    for (int i = 0; i < CURVES_SPEED_COUNT; i++) {
        most_flow = fmax(largest(&pump.at[i].pump, false, most_flow), pump.at[i].flow);
        most_head = fmax(largest(&pump.at[i].pump, true, most_head), pump.at[i].head);
    }
    const struct pump_scales scales = {
        .flow = flow_scale(chart, most_flow),
        .head = scale_for(chart, "head", "m", "ft", most_head),
    };
    for (int i = 0; i < CURVES_SPEED_COUNT; i++)
        if (!scale_curve(&pump.at[i].pump, &scales, chart->arena) ||
            !scale_curve(&pump.at[i].pipes, &scales, chart->arena))
            return OUTCOME_NO_MEMORY;
    for (int i = CURVES_BRIGHT_NOON; i < CURVES_SPEED_COUNT; i++) {
        say_pump_point(&chart->about, &pump, i, &scales);
        text_add(&chart->about, i == CURVES_WEAK_SUN ? "." : "; ");
    }
    double rows = 40.0 + PUMP_HEIGHT + 46.0;
    text_print(&chart->words, "What %s makes, and what its water asks", chart->rig->parts[part].id);
    begin(chart, rows + 7.0 * LEGEND_LINE);
    draw_pump(chart, &pump, most_flow, most_head, &scales);
    add_pump_rows(chart, &pump, &scales, rows);
    svg_end(chart->out);
    return OUTCOME_OK;
}

bool chart_pump(const struct rig *rig, size_t part, struct text *out)
{
    return make(rig, part, out, make_pump);
}

/* ---- The day ---- */

#define STRIP_HEIGHT 80.0
#define STRIP_GAP 30.0

/* One of the plots above each other. */
struct strip {
    const struct curves_tracks *tracks;
    struct scale scale;
    double low, high; /* that its axis holds at least; NAN: what its values ask */
};

static double rows_of(const struct strip *strip)
{
    size_t count = strip->tracks->count;
    return count < 2 ? 0.0 : LEGEND_LINE * (double)(count > STROKES ? STROKES + 1 : count);
}

static struct axis axis_of(const struct strip *strip, size_t steps, const char *words)
{
    double low = isnan(strip->low) ? INFINITY : strip->low;
    double high = isnan(strip->high) ? -INFINITY : strip->high;
    for (size_t i = 0; i < strip->tracks->count; i++)
        for (size_t k = 0; k < steps; k++) {
            low = fmin(low, on_scale(&strip->scale, strip->tracks->at[i].values[k]));
            high = fmax(high, on_scale(&strip->scale, strip->tracks->at[i].values[k]));
        }
    return axis_make(low, high, 4, words);
}

/* The strip with what it shows of whom in its words; a legend where it shows more than one. */
static bool draw_strip(struct chart *chart, const struct strip *strip, const struct curves_day *day,
                       const double *hours, double *y, bool last)
{
    const struct curves_tracks *tracks = strip->tracks;
    double *values = ARENA_TAKE(chart->arena, day->steps + 1, double);
    char room[128];
    bool one = tracks->count == 1 && tracks->at[0].part != NO_PART;
    if (one)
        text_print(&chart->words, "%s: ", chart->rig->parts[tracks->at[0].part].id);
    text_add(&chart->words, strip->scale.words);
    const char *words = take_words(chart, room, sizeof room);
    if (!values)
        return false;
    struct plot plot = {LEFT,
                        *y,
                        INNER,
                        STRIP_HEIGHT,
                        {0.0, 24.0, 3.0, "solar time, h"},
                        axis_of(strip, day->steps, words),
                        !last};
    plot_frame(chart->out, &plot);
    *y += STRIP_HEIGHT + (last ? 34.0 : 10.0);
    for (size_t i = 0; i < tracks->count && i < STROKES; i++) {
        for (size_t k = 0; k < day->steps; k++)
            values[k] = on_scale(&strip->scale, tracks->at[i].values[k]);
        plot_curve(chart->out, &plot, &strokes[i], hours, values, day->steps);
        if (tracks->count < 2)
            continue;
        text_add(&chart->words, chart->rig->parts[tracks->at[i].part].id);
        add_row(chart, y, &strokes[i], 0);
    }
    if (tracks->count > STROKES) {
        text_print(&chart->words, "and %zu more, not drawn", tracks->count - STROKES);
        svg_text(chart->out, &(struct svg_words){.size = 9}, LEFT, *y + 3.2,
                 take_words(chart, room, sizeof room));
        *y += LEGEND_LINE;
    }
    *y += STRIP_GAP - 10.0;
    return true;
}

static enum outcome draw_strips(struct chart *chart, const struct strip *strips, size_t count,
                                const struct curves_day *day)
{
    double *hours = ARENA_TAKE(chart->arena, day->steps + 1, double), y = 40.0;
    for (size_t k = 0; hours && k < day->steps; k++)
        hours[k] = (double)(k + 1) * day->step_s / 3600.0;
    bool room = hours;
    for (size_t i = 0; room && i < count; i++)
        room = draw_strip(chart, &strips[i], day, hours, &y, i + 1 == count);
    return room ? OUTCOME_OK : OUTCOME_NO_MEMORY;
}

static enum outcome make_day(struct chart *chart, size_t part)
{
    (void)part;
    struct curves_day day;
    enum outcome outcome = curves_of_day(chart->rig, chart->arena, &day);
    if (outcome != OUTCOME_OK)
        return outcome;
    double most = 0.0;
    for (size_t i = 0; i < day.pumps.count; i++)
        for (size_t k = 0; k < day.steps; k++)
            most = fmax(most, day.pumps.at[i].values[k]);
    struct curves_track sun = {NO_PART, day.sun};
    struct curves_tracks suns = {&sun, 1};
    const struct strip all[] = {
        {&suns, scale_for(chart, "sun in the plane", "W/m2", NULL, 0.0), 0.0, 100.0},
        {&day.pumps, flow_scale(chart, most), 0.0, 1.0},
        {&day.tanks, scale_for(chart, "mean of its water", "degC", NULL, 0.0), NAN, NAN},
        {&day.batteries, scale_for(chart, "charge", "%", NULL, 0.0), 0.0, 100.0}};
    struct strip strips[sizeof all / sizeof *all];
    size_t count = 0;
    double height = 40.0 + 34.0 - 10.0;
    for (size_t i = 0; i < sizeof all / sizeof *all; i++)
        if (all[i].tracks->count) {
            strips[count++] = all[i];
            height += STRIP_HEIGHT + STRIP_GAP + rows_of(&all[i]);
        }
    text_add(&chart->about, "From midnight to midnight:");
    for (size_t i = 0; i < count; i++)
        text_print(&chart->about, "%s %s", i ? ";" : "", strips[i].scale.words);
    text_add(&chart->about, ".");
    text_print(&chart->words, "The day of %s", chart->rig->name ? chart->rig->name : "the rig");
    begin(chart, height);
    outcome = draw_strips(chart, strips, count, &day);
    svg_end(chart->out);
    return outcome;
}

bool chart_day(const struct rig *rig, struct text *out)
{
    return make(rig, NO_PART, out, make_day);
}
