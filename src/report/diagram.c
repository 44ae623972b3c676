/* diagram.c - a rig as a graph of cards and lines, and that graph drawn. */
#include "report/diagram.h"

#include <math.h>
#include <string.h>

#include "base/arena.h"
#include "report/graph.h"
#include "report/report.h"
#include "report/svg.h"
#include "report/symbol.h"
#include "solve/solve.h"

#define PAGE_HEIGHT 860.0 /* 228 mm */
#define MARGIN 6.0
#define LINE 11.5 /* between two base lines */
enum { LINES_MAX = 5, NAME_MAX = 30 };

static const struct svg_words strong = {.size = 10, .bold = true};
static const struct svg_words usual = {.size = 9};

/* ---- What is said of each kind ---- */

/* A line of figures: those that are known, one after the other. */
struct saying {
    const char *before;
    const char *attributes[3];
};

static const struct speech {
    const char *kind;
    const char *given[2]; /* behind the kind's name */
    struct saying solved[2];
} speeches[] = {
    {"panel", {"power"}, {{"", {"volts", "amps", "watts"}}}},
    {"battery", {"voltage", "capacity"}, {{"", {"volts", "amps"}}}},
    {"supply", {"max_current"}, {{"", {"volts", "amps"}}}},
    {"controller", {"type"}, {{"in ", {"panel_volts", "panel_amps"}}, {"out ", {"charge_amps"}}}},
    {"converter",
     {"type"},
     {{"in ", {"input_volts", "input_amps"}}, {"out ", {"output_volts", "output_amps"}}}},
    {"fuse", {"rating"}, {{0}}},
    {"breaker", {"rating"}, {{0}}},
    {"load", {"power"}, {{"", {"volts", "amps", "watts"}}}},
    {"pump", {"power"}, {{"", {"volts", "amps", "watts"}}, {"", {"flow", "head"}}}},
    {"valve", {"action"}, {{"", {"flow", "pressure_drop"}}}},
    {"relief-valve", {"set_pressure"}, {{0}}},
    {"expansion-vessel", {"volume"}, {{0}}},
    {"filter", {"mesh"}, {{0}}},
    {"outlet", {NULL}, {{"", {"flow"}}}},
    {"coil", {"area"}, {{"", {"flow", "outlet_temperature"}}, {"brings ", {"gain"}}}},
    {"tank", {"volume"}, {{"water ", {"level"}}, {"warms to ", {"high_temperature"}}}},
    {"thermostat", {"set_point"}, {{0}}},
    {"cable", {"length", "area"}, {{"", {"amps"}}, {"loses ", {"volt_drop"}}}},
    {"pipe", {"length", "bore"}, {{"", {"flow"}}, {"loses ", {"friction_head"}}}},
};

static const struct speech *speech_of(const struct part *part)
{
    for (size_t i = 0; i < sizeof speeches / sizeof *speeches; i++)
        if (strcmp(speeches[i].kind, part->kind->name) == 0)
            return &speeches[i];
    return NULL;
}

static bool is_run(const struct part *part)
{
    return kind_is(part->kind, "run");
}

/* ", 12 V": a figure at bright-noon, or as given; nothing of what is not known. True when it said
 * something. */
static bool say_figure(struct text *out, const struct rig *rig, const struct part *part,
                       const char *attribute, const char *between)
{
    int index = attribute ? kind_attribute(part->kind, attribute) : -1;
    if (index < 0)
        return false;
    const struct attribute *what = &part->kind->attributes[index];
    const struct part_value *known = &part->values[index];
    struct value value = known->value;
    enum condition at = what->solved == SOLVED_ONCE ? 0 : CONDITION_BRIGHT_NOON;
    if (known->solved ? !solved_value(what, known->solved[at], &value) : value.type == VALUE_NONE)
        return false;
    text_add(out, between);
    if (!known->solved) {
        part_tell(out, rig, what, known);
        return true;
    }
    if (is_run(part) && value.type == VALUE_QUANTITY) /* the way is drawn */
        value.as.quantity.value = fabs(value.as.quantity.value);
    attribute_tell(out, what, &value, rig_units(rig));
    return true;
}

/* ", 2 in series": only where it is not one. */
static void say_number(struct text *out, const struct part *part, const char *attribute,
                       const char *after)
{
    double number = part_number_or(part, attribute, 1.0);
    if (number != 1.0)
        text_print(out, ", %.10g %s", number, after);
}

static void say(struct text *out, const struct rig *rig, const struct part *part,
                const struct saying *saying)
{
    bool said = false;
    for (size_t i = 0; saying->before && i < 3; i++)
        said |= say_figure(out, rig, part, saying->attributes[i], said ? ", " : saying->before);
}

/* ---- The rig as a graph ---- */

struct card {
    size_t part;
    const char *lines[LINES_MAX];
    size_t line_count;
};

enum look { LOOK_CABLE, LOOK_PIPE, LOOK_READS };

struct wire {
    enum look look;
    const char *lines[LINES_MAX];
    size_t line_count;
    double way; /* above 0: current or water goes from `from` to `to`; below: back; 0: it stands */
};

struct drawing {
    const struct rig *rig;
    struct arena *arena;
    struct text words; /* scratch */
    struct card *cards;
    struct wire *wires;
    size_t *card_of; /* by part; NO_PART */
    struct graph graph;
    double scale, bottom;
    bool no_memory;
};

static bool is_drawable(const struct rig *rig, size_t part)
{
    return part < rig->part_count && rig->parts[part].kind && part != rig->site &&
           part != rig->whole && !is_run(&rig->parts[part]);
}

/* Takes what stands in `words` as a line. */
static void take_line(struct drawing *drawing, const char **lines, size_t *count)
{
    struct text *words = &drawing->words;
    if (words->length && *count < LINES_MAX) {
        lines[*count] = arena_copy(drawing->arena, words->bytes, words->length);
        drawing->no_memory |= !lines[(*count)++];
    }
    drawing->no_memory |= words->failed;
    text_clear(words);
}

/* The beginning of a very long name would push all else off the page. */
static void add_name(struct text *words, const char *name)
{
    size_t length = strlen(name);
    text_add_bytes(words, name, length > NAME_MAX ? NAME_MAX : length);
    text_add(words, length > NAME_MAX ? "..." : "");
}

static void add_kind(struct text *words, const char *kind)
{
    for (; *kind; kind++)
        text_add_bytes(words, *kind == '-' ? " " : kind, 1);
}

/* Name; kind and what was given; what was worked out. */
static void word_part(struct drawing *drawing, const struct part *part, const char **lines,
                      size_t *count)
{
    struct text *words = &drawing->words;
    const struct speech *speech = speech_of(part);
    add_name(words, part->id);
    take_line(drawing, lines, count);
    bool run = is_run(part), said = run;
    if (!run)
        add_kind(words, part->kind->name);
    for (size_t i = 0; speech && i < 2; i++)
        said = say_figure(words, drawing->rig, part, speech->given[i],
                          !run            ? (said ? ", " : " ")
                          : words->length ? ", "
                                          : "") ||
               said;
    say_number(words, part, "series", "in series");
    say_number(words, part, "parallel", "in parallel");
    say_number(words, part, "count", "of them");
    take_line(drawing, lines, count);
    for (size_t i = 0; speech && i < 2; i++) {
        say(words, drawing->rig, part, &speech->solved[i]);
        take_line(drawing, lines, count);
    }
}

static double widest(const char *const *lines, size_t count)
{
    double width = 0.0;
    for (size_t i = 0; i < count; i++)
        if (lines[i])
            width = fmax(width, svg_width(i == 0 ? &strong : &usual, lines[i]));
    return width;
}

static void add_card(struct drawing *drawing, size_t part)
{
    struct graph *graph = &drawing->graph;
    struct card *card = &drawing->cards[graph->box_count];
    card->part = part;
    word_part(drawing, &drawing->rig->parts[part], card->lines, &card->line_count);
    graph->boxes[graph->box_count] = (struct graph_box){
        .width = SYMBOL_PX + 3.0 * MARGIN + widest(card->lines, card->line_count),
        .height = fmax(SYMBOL_PX, LINE * (double)card->line_count) + MARGIN,
    };
    drawing->card_of[part] = graph->box_count++;
}

static void add_wire(struct drawing *drawing, size_t from, size_t to, const struct wire *wire)
{
    struct graph *graph = &drawing->graph;
    drawing->wires[graph->line_count] = *wire;
    graph->lines[graph->line_count++] = (struct graph_line){
        .from = drawing->card_of[from],
        .to = drawing->card_of[to],
        .label_width =
            wire->line_count ? widest(wire->lines, wire->line_count) + 2.0 * MARGIN : 0.0,
        .label_height = LINE * (double)wire->line_count,
    };
}

/* From end to end through what stands in it, with its words at the first piece. */
static void add_run(struct drawing *drawing, const struct part *run)
{
    const struct rig *rig = drawing->rig;
    bool cable = strcmp(run->kind->name, "cable") == 0;
    struct wire wire = {.look = cable ? LOOK_CABLE : LOOK_PIPE};
    double way = part_solved(run, cable ? "amps" : "flow", CONDITION_BRIGHT_NOON);
    wire.way = isnan(way) ? 0.0 : way;
    if (!is_drawable(rig, run->from) || !is_drawable(rig, run->to))
        return;
    word_part(drawing, run, wire.lines, &wire.line_count);
    size_t at = run->from;
    for (size_t i = 0; i <= run->through_count; i++) {
        size_t next = i < run->through_count ? run->through[i].part : run->to;
        if (!is_drawable(rig, next))
            continue;
        add_wire(drawing, at, next, &wire);
        wire.line_count = 0;
        at = next;
    }
}

static void add_readings(struct drawing *drawing, size_t part)
{
    const size_t *read;
    size_t count = rig_related(drawing->rig, part, "reads", &read);
    for (size_t i = 0; i < count; i++)
        if (is_drawable(drawing->rig, read[i]))
            add_wire(drawing, read[i], part, &(struct wire){.look = LOOK_READS});
}

static size_t count_lines(const struct rig *rig)
{
    size_t count = 0;
    for (size_t i = 0; i < rig->part_count; i++) {
        const size_t *read;
        if (rig->parts[i].kind && is_run(&rig->parts[i]))
            count += rig->parts[i].through_count + 1;
        else if (is_drawable(rig, i))
            count += rig_related(rig, i, "reads", &read);
    }
    return count;
}

static bool build(struct drawing *drawing, size_t parts)
{
    const struct rig *rig = drawing->rig;
    struct graph *graph = &drawing->graph;
    size_t lines = count_lines(rig);
    drawing->cards = ARENA_TAKE(drawing->arena, parts + 1, struct card);
    drawing->wires = ARENA_TAKE(drawing->arena, lines + 1, struct wire);
    drawing->card_of = ARENA_TAKE(drawing->arena, rig->part_count + 1, size_t);
    graph->boxes = ARENA_TAKE(drawing->arena, parts + 1, struct graph_box);
    graph->lines = ARENA_TAKE(drawing->arena, lines + 1, struct graph_line);
    if (!drawing->cards || !drawing->wires || !drawing->card_of || !graph->boxes || !graph->lines)
        return false;
    for (size_t i = 0; i < rig->part_count; i++)
        if (is_drawable(rig, i))
            add_card(drawing, i);
    for (size_t i = 0; i < rig->part_count; i++)
        if (rig->parts[i].kind && is_run(&rig->parts[i]))
            add_run(drawing, &rig->parts[i]);
    for (size_t i = 0; i < rig->part_count; i++)
        if (is_drawable(rig, i))
            add_readings(drawing, i);
    return !drawing->no_memory;
}

/* ---- The graph as strokes ---- */

static struct graph_point on_curve(const struct graph_point *p, double t, struct graph_point *slope)
{
    double u = 1.0 - t;
    *slope = (struct graph_point){
        u * u * (p[1].x - p[0].x) + 2.0 * u * t * (p[2].x - p[1].x) + t * t * (p[3].x - p[2].x),
        u * u * (p[1].y - p[0].y) + 2.0 * u * t * (p[2].y - p[1].y) + t * t * (p[3].y - p[2].y)};
    double a = u * u * u, b = 3.0 * u * u * t, c = 3.0 * u * t * t, d = t * t * t;
    return (struct graph_point){a * p[0].x + b * p[1].x + c * p[2].x + d * p[3].x,
                                a * p[0].y + b * p[1].y + c * p[2].y + d * p[3].y};
}

static void add_corner(struct text *path, char letter, double x, double y)
{
    text_add_bytes(path, &letter, 1);
    svg_number(path, x);
    svg_number(path, y);
}

/* A solid head at the middle of a line, the way that current or water takes. */
static void draw_head(struct drawing *drawing, struct text *out, const struct graph_line *line,
                      double way)
{
    struct graph_point slope;
    struct graph_point at = on_curve(&line->points[3 * ((line->point_count - 1) / 6)], 0.5, &slope);
    double length = hypot(slope.x, slope.y);
    if (!(length > 0.0) || way == 0.0)
        return;
    double size = way > 0.0 ? 5.0 / length : -5.0 / length;
    double x = slope.x * size, y = slope.y * size;
    struct text *path = &drawing->words;
    add_corner(path, 'M', at.x + x, at.y + y);
    add_corner(path, 'L', at.x - x - 0.8 * y, at.y - y + 0.8 * x);
    add_corner(path, 'L', at.x - x + 0.8 * y, at.y - y - 0.8 * x);
    text_add(path, "Z");
    svg_path(out, &svg_thin, "#000", path->failed ? "" : path->bytes);
    drawing->no_memory |= path->failed;
    text_clear(path);
}

static const struct svg_pen cable_pen = {1.4, NULL, "#000"}, pipe_pen = {5.0, NULL, "#000"},
                            bore_pen = {2.6, NULL, "#fff"}, reads_pen = {0.8, "2 3", "#000"};

static void draw_stroke(struct text *out, enum look look, const char *path)
{
    if (look != LOOK_PIPE) {
        svg_path(out, look == LOOK_CABLE ? &cable_pen : &reads_pen, "none", path);
        return;
    }
    svg_path(out, &pipe_pen, "none", path);
    svg_path(out, &bore_pen, "none", path);
}

static void draw_line(struct drawing *drawing, struct text *out, size_t index)
{
    const struct graph_line *line = &drawing->graph.lines[index];
    struct text *path = &drawing->words;
    if (line->point_count < 4)
        return;
    add_corner(path, 'M', line->points[0].x, line->points[0].y);
    for (size_t i = 1; i < line->point_count; i++)
        add_corner(path, i % 3 == 1 ? 'C' : ' ', line->points[i].x, line->points[i].y);
    draw_stroke(out, drawing->wires[index].look, path->failed ? "" : path->bytes);
    drawing->no_memory |= path->failed;
    text_clear(path);
    draw_head(drawing, out, line, drawing->wires[index].way);
}

static void draw_words(struct text *out, const char *const *lines, size_t count, double x, double y,
                       bool halo)
{
    y -= 0.5 * LINE * (double)count - 0.75 * LINE;
    for (size_t i = 0; i < count; i++) {
        struct svg_words words = i == 0 ? strong : usual;
        words.halo = halo;
        svg_text(out, &words, x, y + LINE * (double)i, lines[i]);
    }
}

static void draw_card(const struct drawing *drawing, struct text *out, size_t index)
{
    const struct card *card = &drawing->cards[index];
    const struct graph_box *box = &drawing->graph.boxes[index];
    double left = box->place.x - 0.5 * box->width;
    svg_box(out, &(struct svg_pen){0.7, NULL, "#666"}, "#fff", left,
            box->place.y - 0.5 * box->height, box->width, box->height);
    symbol_draw(out, &drawing->rig->parts[card->part], left + MARGIN + 0.5 * SYMBOL_PX,
                box->place.y);
    draw_words(out, card->lines, card->line_count, left + 2.0 * MARGIN + SYMBOL_PX, box->place.y,
               false);
}

/* What the strokes mean, below the drawing. */
static void draw_legend(struct drawing *drawing, struct text *out)
{
    static const struct {
        const char *path, *words;
    } rows[] = {
        [LOOK_CABLE] = {"M0 0H34", "cable"},
        [LOOK_PIPE] = {"M0 0H34", "pipe"},
        [LOOK_READS] = {"M0 0H34", "reads"},
    };
    double x = 0.0, y = drawing->bottom + 20.0;
    for (size_t look = 0; look < sizeof rows / sizeof *rows; look++) {
        bool used = false;
        for (size_t i = 0; i < drawing->graph.line_count; i++)
            used |= drawing->wires[i].look == (enum look)look;
        if (!used)
            continue;
        text_add(out, "<g transform=\"translate(");
        svg_number(out, x);
        svg_number(out, y);
        text_add(out, ")\">\n");
        draw_stroke(out, (enum look)look, rows[look].path);
        text_add(out, "</g>\n");
        svg_text(out, &usual, x + 40.0, y + 3.0, rows[look].words);
        x += 50.0 + svg_width(&usual, rows[look].words);
    }
    svg_text(out, &usual, x, y + 3.0, "Figures at bright-noon.");
}

static void describe(const struct drawing *drawing, struct text *about)
{
    const struct rig *rig = drawing->rig;
    text_add(about, "Figures are those at bright-noon.");
    for (size_t i = 0; i < rig->part_count; i++) {
        const struct part *run = &rig->parts[i];
        if (!run->kind || !is_run(run) || !is_drawable(rig, run->from) ||
            !is_drawable(rig, run->to))
            continue;
        text_print(about, " %s %s goes from %s", run->kind->name, run->id,
                   rig->parts[run->from].id);
        for (size_t k = 0; k < run->through_count; k++)
            if (is_drawable(rig, run->through[k].part))
                text_print(about, "%s %s", k ? "," : " through",
                           rig->parts[run->through[k].part].id);
        text_print(about, " to %s.", rig->parts[run->to].id);
    }
}

static void draw(struct drawing *drawing, struct text *out)
{
    const struct graph *graph = &drawing->graph;
    struct text title = {0}, about = {0};
    text_print(&title, "Circuits of %s", drawing->rig->name ? drawing->rig->name : "the rig");
    describe(drawing, &about);
    drawing->bottom = graph->height;
    svg_begin(out, fmax(graph->width, 200.0) + 2.0 * MARGIN, drawing->bottom + 36.0, drawing->scale,
              title.failed ? "" : title.bytes, about.failed ? "" : about.bytes);
    text_print(out, "<g transform=\"translate(%.1f %.1f)\">\n", MARGIN, MARGIN);
    for (size_t i = 0; i < graph->line_count; i++)
        draw_line(drawing, out, i);
    for (size_t i = 0; i < graph->box_count; i++)
        draw_card(drawing, out, i);
    for (size_t i = 0; i < graph->line_count; i++)
        draw_words(out, drawing->wires[i].lines, drawing->wires[i].line_count,
                   graph->lines[i].label.x - 0.5 * graph->lines[i].label_width + MARGIN,
                   graph->lines[i].label.y, true);
    draw_legend(drawing, out);
    text_add(out, "</g>\n");
    svg_end(out);
    out->failed |= title.failed || about.failed || drawing->no_memory;
    text_drop(&title);
    text_drop(&about);
}

/* ---- On a page ---- */

static double scale_of(const struct graph *graph)
{
    double across = SVG_PAGE_WIDTH / (graph->width + 2.0 * MARGIN);
    double down = PAGE_HEIGHT / (graph->height + 36.0);
    return fmin(1.0, fmin(across, down));
}

/* Downwards or to the right, whichever can be printed larger. */
static enum graph_end place(struct drawing *drawing)
{
    enum graph_end end = graph_place(&drawing->graph, true, drawing->arena);
    drawing->scale = scale_of(&drawing->graph);
    if (end != GRAPH_PLACED || drawing->scale == 1.0)
        return end;
    end = graph_place(&drawing->graph, false, drawing->arena);
    double scale = scale_of(&drawing->graph);
    if (end == GRAPH_PLACED && scale <= drawing->scale)
        end = graph_place(&drawing->graph, true, drawing->arena);
    else
        drawing->scale = scale;
    return end;
}

static void leave_out(struct text *out, const char *why)
{
    text_print(out, "<p class=\"left-out\">The drawing of the circuits is left out: %s</p>\n", why);
}

static size_t count_parts(const struct rig *rig)
{
    size_t count = 0;
    for (size_t i = 0; i < rig->part_count; i++)
        count += is_drawable(rig, i);
    return count;
}

static void draw_parts(const struct rig *rig, size_t parts, struct arena *arena, struct text *out)
{
    struct drawing drawing = {.rig = rig, .arena = arena};
    enum graph_end end = build(&drawing, parts) ? place(&drawing) : GRAPH_NO_MEMORY;
    if (end == GRAPH_PLACED)
        draw(&drawing, out);
    else if (end == GRAPH_NOT_PLACED)
        leave_out(out, "Graphviz, which places its parts, is not there or gave up.");
    out->failed |= end == GRAPH_NO_MEMORY;
    text_drop(&drawing.words);
}

bool diagram_draw(const struct rig *rig, struct text *out)
{
    size_t parts = count_parts(rig);
    if (parts == 0) {
        leave_out(out, "the rig has no parts.");
        return !out->failed;
    }
    if (parts > DIAGRAM_PARTS_MAX) {
        struct text why = {0};
        text_print(&why, "of %zu parts none could be read on a page; it is made of up to %d.",
                   parts, DIAGRAM_PARTS_MAX);
        leave_out(out, why.failed ? "" : why.bytes);
        out->failed |= why.failed;
        text_drop(&why);
        return !out->failed;
    }
    struct arena *arena = arena_new();
    if (!arena || solve_later(rig) == OUTCOME_NO_MEMORY)
        out->failed = true;
    else
        draw_parts(rig, parts, arena, out);
    arena_drop(arena);
    return !out->failed;
}
