/* svg.h - the strokes and words that our pictures are made of, as one <svg> for an HTML page: black
 * on white, no ids, no styles, no scripts. Lengths are px of 1/96 inch, y downwards. Private to the
 * report layer. Memory that runs out shows in out->failed. */
#ifndef RT_REPORT_SVG_H
#define RT_REPORT_SVG_H
#include "base/text.h"

#define SVG_PAGE_WIDTH 680.0 /* 180 mm */

enum svg_anchor { SVG_START, SVG_MIDDLE, SVG_END };

/* How a line is drawn: its width, its dashes ("6 3"; NULL: none), its colour ("#000"). */
struct svg_pen {
    double width;
    const char *dash, *colour;
};
extern const struct svg_pen svg_thin; /* 1 px, black */

struct svg_words {
    double size; /* px */
    enum svg_anchor anchor;
    bool bold;
    bool halo; /* white behind it, where lines cross it */
};

/* What it shows, in `title` and `about`, raw. Drawn `scale` times as large as its numbers say. */
void svg_begin(struct text *out, double width, double height, double scale, const char *title,
               const char *about);
void svg_end(struct text *out);

/* " 12.3": a length as it stands in a path. */
void svg_number(struct text *out, double length);
void svg_line(struct text *out, const struct svg_pen *pen, double x1, double y1, double x2,
              double y2);
/* An outline in SVG's path language. fill: "none", "#fff" ... */
void svg_path(struct text *out, const struct svg_pen *pen, const char *fill, const char *path);
void svg_box(struct text *out, const struct svg_pen *pen, const char *fill, double x, double y,
             double width, double height);
void svg_circle(struct text *out, const struct svg_pen *pen, const char *fill, double x, double y,
                double radius);
/* y is the base line. */
void svg_text(struct text *out, const struct svg_words *words, double x, double y, const char *raw);

/* How wide raw words are, px, set in a sans serif: the widths of Helvetica (Adobe's font metrics,
 * from memory) with a sixth more, for other fonts are wider. */
double svg_width(const struct svg_words *words, const char *raw);
#endif
