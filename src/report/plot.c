#include "report/plot.h"

#include <math.h>
#include <stdio.h>

#define MARK_RADIUS 7.0
#define CLEAR_PX (2.0 * MARK_RADIUS + 2.0) /* between two marks */

static const struct svg_words small = {.size = 9}, small_middle = {.size = 9, .anchor = SVG_MIDDLE},
                              small_end = {.size = 9, .anchor = SVG_END},
                              title = {.size = 10, .bold = true};
static const struct svg_pen grid = {0.5, NULL, "#ccc"}, frame = {0.8, NULL, "#000"};

/* ---- Axes ---- */

struct axis axis_make(double low, double high, int steps, const char *words)
{
    if (!(high > low))
        high = low + 1.0;
    double rough = (high - low) / steps, power = pow(10.0, floor(log10(rough)));
    double times = rough / power;
    double step = power * (times <= 1.0 ? 1.0 : times <= 2.0 ? 2.0 : times <= 5.0 ? 5.0 : 10.0);
    /* a value at a tick but for rounding needs no further step */
    return (struct axis){step * floor(low / step + 1e-9), step * ceil(high / step - 1e-9), step,
                         words};
}

void axis_say(struct text *out, const struct axis *axis, double value)
{
    int places = (int)fmax(0.0, -floor(log10(axis->step) + 1e-9));
    text_print(out, "%.*f", places, fabs(value) < 1e-9 * axis->step ? 0.0 : value);
}

static int ticks(const struct axis *axis)
{
    return (int)lround((axis->high - axis->low) / axis->step);
}

double plot_x(const struct plot *plot, double value)
{
    return plot->left + plot->width * (value - plot->x.low) / (plot->x.high - plot->x.low);
}

double plot_y(const struct plot *plot, double value)
{
    return plot->top + plot->height * (plot->y.high - value) / (plot->y.high - plot->y.low);
}

static void draw_tick(struct text *out, const struct plot *plot, bool across, double value)
{
    const struct axis *axis = across ? &plot->x : &plot->y;
    double right = plot->left + plot->width, bottom = plot->top + plot->height;
    double x = plot_x(plot, value), y = plot_y(plot, value);
    struct text words = {0};
    axis_say(&words, axis, value);
    if (across) {
        svg_line(out, &grid, x, plot->top, x, bottom);
        svg_line(out, &frame, x, bottom, x, bottom + 3.0);
        if (!plot->bare)
            svg_text(out, &small_middle, x, bottom + 13.0, words.failed ? "" : words.bytes);
    } else {
        svg_line(out, &grid, plot->left, y, right, y);
        svg_line(out, &frame, plot->left - 3.0, y, plot->left, y);
        svg_text(out, &small_end, plot->left - 5.0, y + 3.0, words.failed ? "" : words.bytes);
    }
    out->failed |= words.failed;
    text_drop(&words);
}

void plot_frame(struct text *out, const struct plot *plot)
{
    double bottom = plot->top + plot->height;
    for (int i = 0; i <= ticks(&plot->x); i++)
        draw_tick(out, plot, true, plot->x.low + i * plot->x.step);
    for (int i = 0; i <= ticks(&plot->y); i++)
        draw_tick(out, plot, false, plot->y.low + i * plot->y.step);
    svg_box(out, &frame, "none", plot->left, plot->top, plot->width, plot->height);
    if (plot->y.low < 0.0 && plot->y.high > 0.0)
        svg_line(out, &frame, plot->left, plot_y(plot, 0.0), plot->left + plot->width,
                 plot_y(plot, 0.0));
    svg_text(out, &title, plot->left, plot->top - 6.0, plot->y.words);
    if (!plot->bare)
        svg_text(out, &(struct svg_words){.size = 10, .bold = true, .anchor = SVG_END},
                 plot->left + plot->width, bottom + 26.0, plot->x.words);
}

/* ---- Curves ---- */

struct cut {
    double from, to; /* what of a piece is inside, 0 to 1 */
};

/* Takes away what of the piece is beyond one side: where start + t way < 0. */
static void cut_side(struct cut *cut, double start, double way)
{
    if (way > 0.0)
        cut->from = fmax(cut->from, -start / way);
    else if (way < 0.0)
        cut->to = fmin(cut->to, -start / way);
    else if (start < 0.0)
        cut->to = -1.0;
}

static void add_point(struct text *path, char letter, double x, double y)
{
    text_add_bytes(path, &letter, 1);
    svg_number(path, x);
    svg_number(path, y);
}

/* A straight piece in px, as far as it lies in the frame. *joined: the path ends where it begins.
 */
static void add_piece(struct text *path, const struct plot *plot, double x1, double y1, double x2,
                      double y2, bool *joined)
{
    struct cut cut = {0.0, 1.0};
    cut_side(&cut, x1 - plot->left, x2 - x1);
    cut_side(&cut, plot->left + plot->width - x1, x1 - x2);
    cut_side(&cut, y1 - plot->top, y2 - y1);
    cut_side(&cut, plot->top + plot->height - y1, y1 - y2);
    if (cut.from > cut.to) {
        *joined = false;
        return;
    }
    if (!*joined || cut.from > 0.0)
        add_point(path, 'M', x1 + cut.from * (x2 - x1), y1 + cut.from * (y2 - y1));
    add_point(path, 'L', x1 + cut.to * (x2 - x1), y1 + cut.to * (y2 - y1));
    *joined = cut.to == 1.0;
}

void plot_curve(struct text *out, const struct plot *plot, const struct svg_pen *pen,
                const double *x, const double *y, size_t count)
{
    struct text path = {0};
    bool joined = false;
    size_t from = 0; /* the last point that was drawn */
    for (size_t i = 1; i < count; i++) {
        bool gap = isnan(x[i]) || isnan(y[i]) || isnan(x[from]) || isnan(y[from]);
        /* of a level stretch the ends are enough */
        bool level = !gap && i + 1 < count && y[i] == y[from] && y[i + 1] == y[i];
        if (level)
            continue;
        if (gap)
            joined = false;
        else
            add_piece(&path, plot, plot_x(plot, x[from]), plot_y(plot, y[from]), plot_x(plot, x[i]),
                      plot_y(plot, y[i]), &joined);
        from = i;
    }
    if (path.length)
        svg_path(out, pen, "none", path.bytes);
    out->failed |= path.failed;
    text_drop(&path);
}

/* ---- Marks and legends ---- */

static void draw_number(struct text *out, double x, double y, int number)
{
    char word[16];
    snprintf(word, sizeof word, "%d", number);
    svg_circle(out, &frame, "#fff", x, y, MARK_RADIUS);
    svg_text(out, &(struct svg_words){.size = 9, .anchor = SVG_MIDDLE, .bold = true}, x, y + 3.2,
             word);
}

static bool is_clear(const struct marks *marks, double x, double y)
{
    for (size_t i = 0; i < marks->count; i++)
        if (hypot(marks->at[i].x - x, marks->at[i].y - y) < CLEAR_PX)
            return false;
    return true;
}

void plot_mark(struct text *out, const struct plot *plot, struct marks *marks, double x, double y,
               int number)
{
    double px = plot_x(plot, x), py = plot_y(plot, y);
    bool inside = px >= plot->left - 0.5 && px <= plot->left + plot->width + 0.5 &&
                  py >= plot->top - 0.5 && py <= plot->top + plot->height + 0.5;
    if (!inside || marks->count == sizeof marks->at / sizeof *marks->at)
        return;
    double x_now = px, y_now = py;
    while (!is_clear(marks, x_now, y_now)) {
        x_now += CLEAR_PX;
        y_now -= 0.5 * CLEAR_PX;
    }
    if (x_now != px)
        svg_line(out, &frame, px, py, x_now, y_now);
    draw_number(out, x_now, y_now, number);
    marks->at[marks->count].x = x_now;
    marks->at[marks->count++].y = y_now;
}

void legend_row(struct text *out, double x, double y, const struct svg_pen *pen, int number,
                const char *words)
{
    if (pen)
        svg_line(out, pen, x, y, x + 34.0, y);
    else
        draw_number(out, x + 17.0, y, number);
    svg_text(out, &small, x + 42.0, y + 3.2, words);
}
