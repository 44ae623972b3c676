#include "report/symbol.h"

#include <math.h>
#include <string.h>

#include "report/svg.h"

/* Outlines about the middle of a symbol, 28 px wide, in SVG's path language. */
struct symbol {
    const char *kind;
    const char *outline; /* hollow */
    const char *solid;   /* black, or NULL */
    const char *letter;  /* a word in it, or NULL */
    double letter_y;
};

#define CONTACT "M-14 8H-7L7 0M7 8H14M0 4V-3M-6-13H6V-3H-6Z"
#define SQUARE "M-12-12H12V12H-12Z"
#define BOW_TIE "M-13-4L13 12V-4L-13 12Z"

static const struct symbol symbols[] = {
    {"panel", "M-14-10H14V10H-14ZM-14-10L0 3L14-10M0 3V10", NULL, NULL, 0},
    {"battery", "M-14 0H-7M-7-10V10M0-10V10M7 0H14", "M-4-6H-2V6H-4ZM4-6H7V6H4Z", NULL, 0},
    {"supply", SQUARE "M-12 12L12-12M-9-5C-7-10-5-10-3-5S1-1 2-6M2 5H9M2 8H9", NULL, NULL, 0},
    {"controller", SQUARE "M-12 12L12-12M-9-7H-2M-9-4H-2M3 2V9M9 2V9", "M5 4H7V7H5Z", NULL, 0},
    {"converter", SQUARE "M-12 12L12-12M-9-7H-2M-9-4H-2M2 5H9M2 8H9", NULL, NULL, 0},
    {"fuse", "M-14 0H14M-10-5H10V5H-10Z", NULL, NULL, 0},
    {"breaker", "M-14 5H-7L7-5M7 5H14M-10 2L-4 8M-10 8L-4 2", NULL, NULL, 0},
    {"switch", "M-14 4H-7L7-6M7 4H14", NULL, NULL, 0},
    {"relay", CONTACT "M-6-3L6-13", NULL, NULL, 0},
    {"light-switch", CONTACT, NULL, "lx", -5},
    {"timer", CONTACT, NULL, "t", -5},
    {"flow-switch", CONTACT, NULL, "q", -5},
    {"pressure-switch", CONTACT, NULL, "p", -5},
    {"float-switch", CONTACT, NULL, "L", -5},
    {"thermostat", CONTACT, NULL, "T", -5},
    {"sensor", "M-12 0A12 12 0 1 0 12 0A12 12 0 1 0-12 0Z", NULL, "T", 4},
    {"plug", "M-14 0H-5M0-6A6 6 0 0 0 0 6M12 0H14", "M0-2H12V2H0Z", NULL, 0},
    {"junction", "M-12 0H12M0-12V12", "M-4 0A4 4 0 1 0 4 0A4 4 0 1 0-4 0Z", NULL, 0},
    {"enclosure", SQUARE "M-8-8H8V8H-8Z", NULL, NULL, 0},
    {"load", "M-12 0A12 12 0 1 0 12 0A12 12 0 1 0-12 0ZM-8.5-8.5L8.5 8.5M-8.5 8.5L8.5-8.5", NULL,
     NULL, 0},
    {"pump", "M-13 0A13 13 0 1 0 13 0A13 13 0 1 0-13 0ZM-6.5-11.3L13 0L-6.5 11.3", NULL, NULL, 0},
    {"check-valve", "M-11-8V8L11 0ZM11-8V8M-14 0H-11M11 0H14", NULL, NULL, 0},
    {"relief-valve", BOW_TIE "M0 4V-2L-4-4L4-7L-4-10L0-13", NULL, NULL, 0},
    {"expansion-vessel", "M-12 0A12 12 0 1 0 12 0A12 12 0 1 0-12 0ZM-12 0C-6-5 6 5 12 0", NULL,
     NULL, 0},
    {"mixing-valve", "M-13-8L13 8V-8L-13 8ZM0 0L-7 13H7Z", NULL, NULL, 0},
    {"air-vent", "M-7 12V-3H7V12ZM0-3V-13M-3-9L0-13L3-9", NULL, NULL, 0},
    {"filter", "M-14 0L0-12L14 0L0 12ZM0-12V-8M0-5V-1M0 2V6M0 9V12", NULL, NULL, 0},
    {"outlet", "M-13-4H-1L8-10M-13 4H-1L8 10M3 0H6M9 0H12M6-4L9-5M6 4L9 5", NULL, NULL, 0},
    {"coil", "M-14-10H8A3.5 3.5 0 0 1 8-3H-8A3.5 3.5 0 0 0-8 4H8A3.5 3.5 0 0 1 8 11H-14", NULL,
     NULL, 0},
    {"fitting", "M-13-4H13M-13 4H-4V13M4 13V4H13", NULL, NULL, 0},
    {"clamp", "M-9 0A9 9 0 1 0 9 0A9 9 0 1 0-9 0ZM-4-13H4V-8H-4Z", NULL, NULL, 0},
};

static const struct symbol plain = {"", SQUARE, NULL, NULL, 0};

static const struct symbol *find(const struct part *part)
{
    for (size_t i = 0; i < sizeof symbols / sizeof *symbols; i++)
        if (strcmp(symbols[i].kind, part->kind->name) == 0)
            return &symbols[i];
    return &plain;
}

static void draw_outline(struct text *out, const struct symbol *symbol)
{
    static const struct svg_words words = {.size = 9, .anchor = SVG_MIDDLE};
    svg_path(out, &svg_thin, "none", symbol->outline);
    if (symbol->solid)
        svg_path(out, &svg_thin, "#000", symbol->solid);
    if (symbol->letter)
        svg_text(out, &words, 0.0, symbol->letter_y, symbol->letter);
}

/* By hand, or with a winding or a motor. */
static void draw_valve(struct text *out, const struct part *part)
{
    svg_path(out, &svg_thin, "none", BOW_TIE "M0 4V-6");
    if (part_is(part, "action", "hand"))
        svg_path(out, &svg_thin, "none", "M-6-6H6");
    else
        svg_path(out, &svg_thin, "none", "M-5-13H5V-6H-5ZM-5-6L5-13");
}

/* With its water as high as it stands in it; half full where that is not known. */
static void draw_tank(struct text *out, const struct part *part)
{
    double share = part_number(part, "level") / part_number(part, "depth");
    double top = 12.0 - 24.0 * (isnan(share) ? 0.5 : fmin(fmax(share, 0.0), 1.0));
    svg_path(out, &svg_thin, "none", "M-13-13V13H13V-13");
    svg_line(out, &svg_thin, -13.0, top, 13.0, top);
    for (double y = top + 4.0; y < 13.0; y += 4.0)
        svg_line(out, &(struct svg_pen){1.0, "3 3", "#000"}, -10.0, y, 10.0, y);
}

void symbol_draw(struct text *out, const struct part *part, double x, double y)
{
    text_add(out, "<g transform=\"translate(");
    svg_number(out, x);
    svg_number(out, y);
    text_add(out, ")\">\n");
    if (strcmp(part->kind->name, "valve") == 0)
        draw_valve(out, part);
    else if (strcmp(part->kind->name, "tank") == 0)
        draw_tank(out, part);
    else
        draw_outline(out, find(part));
    text_add(out, "</g>\n");
}
