#include "physics/ampacity.h"

#include <math.h>
#include <stddef.h>

#define COUNT(table) ((int)(sizeof(table) / sizeof *(table)))

static const double mm2 = 1e-6; /* m2 */

/* A size within this of a tabulated one has reached it, mm2. */
static const double same_mm2 = 1e-6;

/* ---- practice iec ---- */

enum method { METHOD_B1, METHOD_C, METHOD_E, METHOD_COUNT };

/* A, copper, PVC 70 degC, two loaded conductors, air 30 degC. IEC 60364-5-52:2009,
 * table B.52.2 (B1, C) and B.52.10 (E); C from 25 mm2 up from memory. */
static const struct {
    double area_mm2;
    double amps[METHOD_COUNT];
} pvc[] = {
    {1.5, {17.5, 19.5, 22}}, {2.5, {24, 27, 30}},   {4, {32, 36, 40}},     {6, {41, 46, 51}},
    {10, {57, 63, 70}},      {16, {76, 85, 94}},    {25, {101, 112, 119}}, {35, {125, 138, 148}},
    {50, {151, 168, 180}},   {70, {192, 213, 232}}, {95, {232, 258, 282}},
};

struct size_amps {
    double area_mm2;
    double amps;
};

/* Flexible cord, two loaded conductors, air 30 degC: general flexible-cord table (BS 7671
 * table 4F3A family), the lower where copies differ. */
static const struct size_amps cord_iec[] = {
    {0.5, 3}, {0.75, 6}, {1.0, 10}, {1.25, 13}, {1.5, 15},
};

/* Panel cable, two touching on a surface, conductor 120 degC, air 60 degC.
 * EN 50618:2014, table A.3, from memory. */
static const struct size_amps panel[] = {
    {1.5, 24}, {2.5, 33}, {4, 44}, {6, 57}, {10, 79}, {16, 107}, {25, 142}, {35, 176},
};

struct air_factor {
    double upto_degc;
    double factor;
};

/* IEC 60364-5-52:2009, table B.52.14, insulation of 70 and of 90 degC. */
static const struct air_factor air_pvc[] = {
    {10, 1.22}, {15, 1.17}, {20, 1.12}, {25, 1.06}, {30, 1},   {35, 0.94},
    {40, 0.87}, {45, 0.79}, {50, 0.71}, {55, 0.61}, {60, 0.5},
};
static const struct air_factor air_xlpe[] = {
    {10, 1.15}, {15, 1.12}, {20, 1.08}, {25, 1.04}, {30, 1},    {35, 0.96}, {40, 0.91}, {45, 0.87},
    {50, 0.82}, {55, 0.76}, {60, 0.71}, {65, 0.65}, {70, 0.58}, {75, 0.5},  {80, 0.41},
};

/* sqrt((120 - T)/60), the lower of it and EN 50618:2014, table A.4. */
static const struct air_factor air_panel[] = {
    {60, 1},
    {70, 0.91},
    {80, 0.82},
    {90, 0.71},
};

/* Bunched or enclosed, by number of circuits; the last row for nine and more.
 * IEC 60364-5-52:2009, table B.52.17, from memory. */
static const double bunched[] = {1, 0.8, 0.7, 0.65, 0.6, 0.57, 0.54, 0.52, 0.5};

/* ---- practice north-america ---- */

enum column { COLUMN_60, COLUMN_75, COLUMN_90, COLUMN_COUNT };

/* A, copper, air 30 degC, at most three loaded conductors; NAN where the table is blank.
 * NFPA 70 (2020, 2023), table 310.16. Gauge 0 is 1/0, -3 is 4/0. */
static const struct {
    int gauge;
    double amps[COLUMN_COUNT];
} table_310_16[] = {
    {18, {NAN, NAN, 14}},  {16, {NAN, NAN, 18}},  {14, {15, 20, 25}},    {12, {20, 25, 30}},
    {10, {30, 35, 40}},    {8, {40, 50, 55}},     {6, {55, 65, 75}},     {4, {70, 85, 95}},
    {3, {85, 100, 115}},   {2, {95, 115, 130}},   {1, {110, 130, 145}},  {0, {125, 150, 170}},
    {-1, {145, 175, 195}}, {-2, {165, 200, 225}}, {-3, {195, 230, 260}},
};

struct gauge_amps {
    int gauge;
    double amps;
};

/* NFPA 70, table 400.5(A)(1), two loaded conductors. */
static const struct gauge_amps cord_na[] = {
    {18, 10}, {17, 12}, {16, 13}, {14, 18}, {12, 25},
};

/* NFPA 70, 240.4(D), copper; 18 and 16 AWG from memory. */
static const struct gauge_amps small_conductor[] = {
    {18, 7}, {16, 10}, {14, 15}, {12, 20}, {10, 30},
};

/* NFPA 70, table 310.15(B)(1)(1); 0 where the table is blank: no current is left. */
static const struct {
    double upto_degc;
    double factor[COLUMN_COUNT];
} air_na[] = {
    {10, {1.29, 1.2, 1.15}},  {15, {1.22, 1.15, 1.12}}, {20, {1.15, 1.11, 1.08}},
    {25, {1.08, 1.05, 1.04}}, {30, {1, 1, 1}},          {35, {0.91, 0.94, 0.96}},
    {40, {0.82, 0.88, 0.91}}, {45, {0.71, 0.82, 0.87}}, {50, {0.58, 0.75, 0.82}},
    {55, {0.41, 0.67, 0.76}}, {60, {0, 0.58, 0.71}},    {65, {0, 0.47, 0.65}},
    {70, {0, 0.33, 0.58}},    {75, {0, 0, 0.5}},        {80, {0, 0, 0.41}},
    {85, {0, 0, 0.29}},
};

/* NFPA 70, table 310.15(C)(1), from memory: loaded conductors (two a circuit) up to, factor. */
static const struct {
    int upto;
    double factor;
} loaded_conductors[] = {
    {3, 1}, {6, 0.8}, {9, 0.7}, {20, 0.5}, {30, 0.45}, {40, 0.4},
};

/* ---- choosing ---- */

static struct ampacity unknown(const char *why)
{
    return (struct ampacity){.why = why, .table = "no table", .full_current_a = INFINITY};
}

/* Fills what follows from base, factors and count. */
static void finish(struct ampacity *found, double count)
{
    found->known = true;
    found->full_current_a = found->base_a * found->grouping_factor * count;
    found->amps = found->full_current_a * found->air_factor;
}

static double find_air_factor(const struct air_factor *rows, int count, double air_degc)
{
    for (int i = 0; i < count; i++)
        if (air_degc <= rows[i].upto_degc)
            return rows[i].factor;
    return 0.0;
}

/* The largest size that is not above area_mm2; -1 when all are. */
static int find_size(const struct size_amps *rows, int count, double area_mm2)
{
    int found = -1;
    for (int i = 0; i < count; i++)
        if (rows[i].area_mm2 <= area_mm2 + same_mm2)
            found = i;
    return found;
}

static struct ampacity from_sizes(const struct size_amps *rows, int count, double area_mm2,
                                  const char *table, const char *too_thin)
{
    int row = find_size(rows, count, area_mm2);
    if (row < 0)
        return unknown(too_thin);
    return (struct ampacity){
        .table = table,
        .row_m2 = rows[row].area_mm2 * mm2,
        .base_a = rows[row].amps,
        .table_degc = 70.0,
        .table_air_degc = 30.0,
    };
}

static enum method method_of(enum ampacity_laid laid)
{
    switch (laid) {
    case AMPACITY_LAID_ON_SURFACE:
        return METHOD_C;
    case AMPACITY_LAID_IN_AIR:
        return METHOD_E;
    case AMPACITY_LAID_UNKNOWN: /* the lowest column */
    case AMPACITY_LAID_IN_CONDUIT:
    case AMPACITY_LAID_BURIED:
    case AMPACITY_LAID_CORD: /* looked up elsewhere */
        break;
    }
    return METHOD_B1;
}

static struct ampacity from_pvc(double area_mm2, enum ampacity_laid laid)
{
    static const char *const name[METHOD_COUNT] = {
        [METHOD_B1] = "IEC 60364-5-52 table B.52.2, method B1",
        [METHOD_C] = "IEC 60364-5-52 table B.52.2, method C",
        [METHOD_E] = "IEC 60364-5-52 table B.52.10, method E",
    };
    enum method method = method_of(laid);
    int row = 0; /* thinner ones are cords */
    for (int i = 0; i < COUNT(pvc); i++)
        if (pvc[i].area_mm2 <= area_mm2 + same_mm2)
            row = i;
    return (struct ampacity){
        .why = laid == AMPACITY_LAID_BURIED
                   ? "no table for cables in the ground was at hand; taken as in conduit"
                   : NULL,
        .table = name[method],
        .row_m2 = pvc[row].area_mm2 * mm2,
        .base_a = pvc[row].amps[method],
        .table_degc = 70.0,
        .table_air_degc = 30.0,
    };
}

static struct ampacity base_iec(const struct ampacity_wire *wire, double area_mm2)
{
    bool below_pvc = area_mm2 < pvc[0].area_mm2 - same_mm2;
    bool upto_cord = area_mm2 <= cord_iec[COUNT(cord_iec) - 1].area_mm2 + same_mm2;
    if (wire->wire.panel_cable) {
        struct ampacity found = from_sizes(panel, COUNT(panel), area_mm2,
                                           "EN 50618 table A.3, two touching on a surface",
                                           "the table for panel cable starts at 1.5 mm2");
        if (found.base_a > 0.0) {
            found.table_degc = 120.0;
            found.table_air_degc = 60.0;
        }
        return found;
    }
    if (wire->laid == AMPACITY_LAID_CORD || below_pvc ||
        (wire->laid == AMPACITY_LAID_UNKNOWN && wire->wire.strands == CONDUCTOR_FLEXIBLE &&
         upto_cord))
        return from_sizes(cord_iec, COUNT(cord_iec), area_mm2,
                          "flexible cord, two loaded conductors (BS 7671 table 4F3A family)",
                          "the table for flexible cord starts at 0.5 mm2");
    return from_pvc(area_mm2, wire->laid);
}

static double iec_air_factor(const struct ampacity_wire *wire, double air_degc)
{
    if (wire->wire.panel_cable)
        return find_air_factor(air_panel, COUNT(air_panel), air_degc);
    if (wire->insulation_degc >= 90.0)
        return find_air_factor(air_xlpe, COUNT(air_xlpe), air_degc);
    return find_air_factor(air_pvc, COUNT(air_pvc), air_degc);
}

static struct ampacity find_iec(const struct ampacity_wire *wire, double air_degc)
{
    struct ampacity found = base_iec(wire, wire->wire.area_m2 / mm2);
    if (!(found.base_a > 0.0))
        return found;
    int circuits = wire->grouped < 1 ? 1 : wire->grouped;
    found.grouping_factor = bunched[circuits < COUNT(bunched) ? circuits - 1 : COUNT(bunched) - 1];
    found.air_factor = iec_air_factor(wire, air_degc);
    finish(&found, wire->count);
    return found;
}

/* The thickest row that is not thicker than the gauge; -1 when all are thicker. */
static int find_gauge(const struct gauge_amps *rows, int count, int gauge)
{
    int found = -1;
    for (int i = 0; i < count; i++)
        if (rows[i].gauge >= gauge)
            found = i;
    return found;
}

static enum column column_of(double insulation_degc)
{
    if (insulation_degc >= 90.0)
        return COLUMN_90;
    return insulation_degc >= 75.0 ? COLUMN_75 : COLUMN_60;
}

static struct ampacity from_cord_na(int row)
{
    return (struct ampacity){
        .table = "NFPA 70 table 400.5(A)(1), flexible cord, two loaded conductors",
        .row_m2 = conductor_gauge_area_m2(cord_na[row].gauge),
        .base_a = cord_na[row].amps,
        .table_degc = 60.0,
        .table_air_degc = 30.0,
    };
}

/* The base value for a gauge of 18 or thicker, and the column of its air factor. */
static struct ampacity base_na(const struct ampacity_wire *wire, int gauge, enum column *column)
{
    static const char *const name[COLUMN_COUNT] = {
        "NFPA 70 table 310.16, 60 degC column",
        "NFPA 70 table 310.16, 75 degC column",
        "NFPA 70 table 310.16, 90 degC column",
    };
    static const double limit_degc[COLUMN_COUNT] = {60.0, 75.0, 90.0};
    int cord = find_gauge(cord_na, COUNT(cord_na), gauge);
    bool is_cord = wire->laid == AMPACITY_LAID_CORD || (wire->laid == AMPACITY_LAID_UNKNOWN &&
                                                        wire->wire.strands == CONDUCTOR_FLEXIBLE);
    *column = COLUMN_60;
    if (is_cord && cord_na[cord].gauge == gauge)
        return from_cord_na(cord);
    if (wire->insulation_degc < 60.0)
        return unknown("no column of NFPA 70 table 310.16 is for insulation below 60 degC");
    enum column insulation = column_of(wire->insulation_degc);
    int row = 0;
    for (int i = 0; i < COUNT(table_310_16); i++)
        if (table_310_16[i].gauge >= gauge)
            row = i;
    if (isnan(table_310_16[row].amps[insulation]))
        return from_cord_na(cord);
    *column = insulation;
    return (struct ampacity){
        .table = name[insulation],
        .row_m2 = conductor_gauge_area_m2(table_310_16[row].gauge),
        .base_a = table_310_16[row].amps[insulation],
        .table_degc = limit_degc[insulation],
        .table_air_degc = 30.0,
    };
}

static double count_factor(int circuits)
{
    for (int i = 0; i < COUNT(loaded_conductors); i++)
        if (circuits <= loaded_conductors[i].upto / 2)
            return loaded_conductors[i].factor;
    return 0.35; /* 41 and more */
}

static double na_air_factor(enum column column, double air_degc)
{
    for (int i = 0; i < COUNT(air_na); i++)
        if (air_degc <= air_na[i].upto_degc)
            return air_na[i].factor[column];
    return 0.0;
}

static struct ampacity find_na(const struct ampacity_wire *wire, double air_degc)
{
    int gauge = conductor_area_gauge(wire->wire.area_m2);
    if (gauge > table_310_16[0].gauge)
        return unknown("the tables start at 18 AWG");
    enum column column;
    struct ampacity found = base_na(wire, gauge, &column);
    if (!(found.base_a > 0.0))
        return found;
    found.grouping_factor = count_factor(wire->grouped);
    found.air_factor = na_air_factor(column, air_degc);
    finish(&found, wire->count);
    return found;
}

struct ampacity ampacity_find(const struct ampacity_wire *wire, double air_degc)
{
    if (!(wire->wire.area_m2 > 0.0))
        return unknown("the size of the wire is not known");
    if (wire->wire.metal == CONDUCTOR_ALUMINIUM)
        return unknown("the tables are for copper");
    return wire->practice == AMPACITY_IEC ? find_iec(wire, air_degc) : find_na(wire, air_degc);
}

double ampacity_small_conductor_fuse_a(double area_m2)
{
    if (!(area_m2 > 0.0))
        return NAN;
    int gauge = conductor_area_gauge(area_m2);
    if (gauge <= 8)
        return INFINITY;
    int row = find_gauge(small_conductor, COUNT(small_conductor), gauge);
    return row < 0 ? NAN : small_conductor[row].amps;
}

double ampacity_panel_design_a(enum ampacity_practice practice, double short_a, double strings)
{
    double factor = practice == AMPACITY_IEC ? 1.25 : 1.25 * 1.25;
    return factor * short_a * strings;
}

double ampacity_load_design_a(double running_a)
{
    return 1.25 * running_a;
}
