#include "physics/roughness.h"

#include <math.h>
#include <stddef.h>
#include <string.h>

#include "base/names.h"

struct row {
    const char *material;
    double roughness_mm;
    double hazen_williams_c;
};

/* One row for each word that a rig may use. The textbook is Munson, Young and
 * Okiishi, Fundamentals of Fluid Mechanics, 5th ed, with White, as reprinted on
 * an engineering reference page; "drawn" is its row for drawn tubing of brass,
 * copper, lead and plastic, which stands for any smooth tube without a row of
 * its own (common practice, no source). */
static const struct row rows[] = {
    {"copper", 0.0015, 135.0},         /* textbook, new */
    {"brass", 0.002, 135.0},           /* textbook, new */
    {"bronze", 0.002, 135.0},          /* as brass */
    {"stainless-steel", 0.002, 145.0}, /* White table 6.1, from memory */
    {"galvanised-steel", 0.15, 120.0}, /* textbook, new */
    {"cast-iron", 0.26, 130.0},        /* textbook, new */
    {"steel", 0.4, 100.0},             /* Idelchik, lightly rusted: what it is after a season */
    {"aluminium", 0.0015, 135.0},      /* drawn */
    {"lead", 0.0015, 135.0},           /* drawn */
    {"hdpe", 0.0015, 145.0},           /* textbook, polyethylene */
    {"ldpe", 0.0015, 145.0},           /* textbook, polyethylene */
    {"pex", 0.0015, 145.0},            /* from memory */
    {"pvc", 0.0015, 145.0},            /* textbook, new */
    {"cpvc", 0.0015, 145.0},           /* as PVC */
    {"pp", 0.0015, 135.0},             /* drawn, plastic */
    {"nylon", 0.0015, 135.0},          /* drawn, plastic */
    {"abs", 0.0015, 135.0},            /* drawn, plastic */
    {"polycarbonate", 0.0015, 135.0},  /* drawn, plastic */
    {"pvc-hose", 0.007, 145.0},        /* braided PVC hose, smooth bore; from memory */
    {"epdm-hose", 0.01, 140.0},        /* smooth-bore rubber hose, White, from memory */
    {"silicone-hose", 0.01, 140.0},    /* the same row */
    {"rubber-hose", 0.01, 140.0},      /* the same row */
    {"glass", 0.0015, 140.0},          /* textbook, clean */
    {"timber", 0.5, 120.0},            /* textbook, wood stave */
};

static const struct row *find(const char *material)
{
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        if (name_same(material, rows[i].material))
            return &rows[i];
    return NULL;
}

double roughness_m(const char *material)
{
    const struct row *row = find(material);
    return row ? row->roughness_mm * 1e-3 : NAN;
}

double roughness_hazen_williams(const char *material)
{
    const struct row *row = find(material);
    return row ? row->hazen_williams_c : NAN;
}
