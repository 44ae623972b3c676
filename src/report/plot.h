/* plot.h - a frame with axes, curves in it and marks on them, in the strokes of svg.h. Private to
 * the report layer. */
#ifndef RT_REPORT_PLOT_H
#define RT_REPORT_PLOT_H
#include "report/svg.h"

/* Values from low to high, which are multiples of the step. */
struct axis {
    double low, high, step;
    const char *words; /* "flow, L/h" */
};

/* An axis that holds these values, with about so many steps of 1, 2 or 5 times a power of ten. */
struct axis axis_make(double low, double high, int steps, const char *words);
/* The value at a tick, with the places that the step needs. */
void axis_say(struct text *out, const struct axis *axis, double value);

struct plot {
    double left, top, width, height; /* px */
    struct axis x, y;                /* y upwards */
    bool bare;                       /* no numbers and words below: another plot stands there */
};

double plot_x(const struct plot *plot, double value); /* px */
double plot_y(const struct plot *plot, double value);

/* Grid, frame, ticks and words. */
void plot_frame(struct text *out, const struct plot *plot);
/* A line through points in the axes' values, cut at the frame, broken where one is NAN. */
void plot_curve(struct text *out, const struct plot *plot, const struct svg_pen *pen,
                const double *x, const double *y, size_t count);

/* Numbered marks, which keep off each other: the later one is moved aside, with a line to its
 * place. */
struct marks {
    struct {
        double x, y; /* px, where its number stands */
    } at[8];
    size_t count;
};
/* Nothing of a mark that is NAN or outside the frame. */
void plot_mark(struct text *out, const struct plot *plot, struct marks *marks, double x, double y,
               int number);

#define LEGEND_LINE 14.0
/* A row of a legend: a stroke, or (pen NULL) a number in its circle; and raw words. */
void legend_row(struct text *out, double x, double y, const struct svg_pen *pen, int number,
                const char *words);
#endif
