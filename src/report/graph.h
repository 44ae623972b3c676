/* graph.h - where boxes and the lines between them go on a page. Graphviz's layered drawing does
 * it, in a child process of ours: the library ends its process when memory runs out and keeps some
 * of what it takes. It is loaded only there, so that no other command waits for it. Lengths are px,
 * y downwards. Private to the report layer. */
#ifndef RT_REPORT_GRAPH_H
#define RT_REPORT_GRAPH_H
#include <stdbool.h>
#include <stddef.h>

#include "base/arena.h"

struct graph_point {
    double x, y;
};

struct graph_box {
    double width, height;     /* in */
    struct graph_point place; /* its middle, out */
};

struct graph_line {
    size_t from, to;                  /* boxes */
    double label_width, label_height; /* room for words beside it; 0: none */
    struct graph_point label;         /* the middle of that room */
    struct graph_point *points;       /* out: cubic Bezier, 3 n + 1 of them, in the arena */
    size_t point_count;
};

struct graph {
    struct graph_box *boxes;
    size_t box_count;
    struct graph_line *lines;
    size_t line_count;
    double width, height; /* out: of the whole */
};

enum graph_end {
    GRAPH_PLACED,
    GRAPH_NOT_PLACED, /* the library is not there, took too long or gave up */
    GRAPH_NO_MEMORY,
};

/* Places everything, the way of the lines downwards or to the right. The same places each time. */
enum graph_end graph_place(struct graph *graph, bool downwards, struct arena *arena);
#endif
