#include "report/svg.h"

#include <math.h>
#include <string.h>

#include "document/scan.h"
#include "report/report.h"

const struct svg_pen svg_thin = {1.0, NULL, "#000"};

static void add_element(struct text *out, const char *name, const char *raw)
{
    text_print(out, "<%s>", name);
    escape_html(out, raw);
    text_print(out, "</%s>\n", name);
}

void svg_begin(struct text *out, double width, double height, double scale, const char *title,
               const char *about)
{
    text_print(out,
               "<svg xmlns=\"http://www.w3.org/2000/svg\" role=\"img\" width=\"%.1f\" "
               "height=\"%.1f\" viewBox=\"0 0 %.1f %.1f\" font-family=\"Helvetica, Arial, "
               "sans-serif\" fill=\"#000\">\n",
               width * scale, height * scale, width, height);
    add_element(out, "title", title);
    add_element(out, "desc", about);
}

void svg_end(struct text *out)
{
    text_add(out, "</svg>\n");
}

void svg_number(struct text *out, double length)
{
    double tenths = round(10.0 * length) / 10.0;
    text_print(out, " %.1f", tenths == 0.0 ? 0.0 : tenths);
}

static void add_attribute(struct text *out, const char *name, double length)
{
    double tenths = round(10.0 * length) / 10.0;
    text_print(out, " %s=\"%.1f\"", name, tenths == 0.0 ? 0.0 : tenths);
}

static void add_pen(struct text *out, const struct svg_pen *pen)
{
    text_print(out, " stroke=\"%s\"", pen->colour);
    if (pen->width != 1.0)
        add_attribute(out, "stroke-width", pen->width);
    if (pen->dash)
        text_print(out, " stroke-dasharray=\"%s\"", pen->dash);
}

void svg_line(struct text *out, const struct svg_pen *pen, double x1, double y1, double x2,
              double y2)
{
    text_add(out, "<line");
    add_attribute(out, "x1", x1);
    add_attribute(out, "y1", y1);
    add_attribute(out, "x2", x2);
    add_attribute(out, "y2", y2);
    add_pen(out, pen);
    text_add(out, "/>\n");
}

void svg_path(struct text *out, const struct svg_pen *pen, const char *fill, const char *path)
{
    text_print(out, "<path d=\"%s\" fill=\"%s\"", path, fill);
    add_pen(out, pen);
    text_add(out, "/>\n");
}

void svg_box(struct text *out, const struct svg_pen *pen, const char *fill, double x, double y,
             double width, double height)
{
    text_add(out, "<rect");
    add_attribute(out, "x", x);
    add_attribute(out, "y", y);
    add_attribute(out, "width", width);
    add_attribute(out, "height", height);
    text_print(out, " fill=\"%s\"", fill);
    add_pen(out, pen);
    text_add(out, "/>\n");
}

void svg_circle(struct text *out, const struct svg_pen *pen, const char *fill, double x, double y,
                double radius)
{
    text_add(out, "<circle");
    add_attribute(out, "cx", x);
    add_attribute(out, "cy", y);
    add_attribute(out, "r", radius);
    text_print(out, " fill=\"%s\"", fill);
    add_pen(out, pen);
    text_add(out, "/>\n");
}

/* ---- Words ---- */

void svg_text(struct text *out, const struct svg_words *words, double x, double y, const char *raw)
{
    static const char *const anchors[] = {"start", "middle", "end"};
    text_add(out, "<text");
    add_attribute(out, "x", x);
    add_attribute(out, "y", y);
    add_attribute(out, "font-size", words->size);
    if (words->anchor != SVG_START)
        text_print(out, " text-anchor=\"%s\"", anchors[words->anchor]);
    if (words->bold)
        text_add(out, " font-weight=\"bold\"");
    if (words->halo)
        text_add(out, " stroke=\"#fff\" stroke-width=\"3\" paint-order=\"stroke\"");
    text_add(out, ">");
    escape_html(out, raw);
    text_add(out, "</text>\n");
}

/* Thousandths of the size, from the blank on. */
static const unsigned short widths[] = {
    278, 278, 355, 556, 556, 889, 667, 191, 333, 333, 389, 584, 278, 333,  278, 278, 556, 556, 556,
    556, 556, 556, 556, 556, 556, 556, 278, 278, 584, 584, 584, 556, 1015, 667, 667, 722, 722, 667,
    611, 778, 722, 278, 500, 667, 556, 833, 722, 778, 667, 778, 722, 667,  611, 722, 667, 944, 667,
    667, 611, 278, 278, 278, 469, 556, 333, 556, 556, 500, 556, 556, 278,  556, 556, 222, 222, 500,
    222, 833, 556, 556, 556, 556, 333, 500, 278, 556, 500, 722, 500, 500,  500, 334, 260, 334, 584};

double svg_width(const struct svg_words *words, const char *raw)
{
    double sum = 0.0;
    for (const char *at = raw, *end = raw + strlen(raw); at < end;) {
        uint32_t code;
        at += scan_decode(at, (size_t)(end - at), &code);
        if (code >= 0x20 && code < 0x7f)
            sum += widths[code - 0x20];
        else
            sum += code < 0x20 || code >= 0x1100 ? 1000.0 : 600.0; /* wide scripts; \x1b */
    }
    return sum / 1000.0 * words->size * (words->bold ? 1.25 : 1.17);
}
