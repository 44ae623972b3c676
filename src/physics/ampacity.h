/* ampacity.h - what current a wire may carry: which table, which column, which
 * factors, for both wiring practices. Knows nothing of fuses' ratings (fuse.h),
 * of rigs or rules. */
#ifndef RT_AMPACITY_H
#define RT_AMPACITY_H
#include "physics/conductor.h"

enum ampacity_practice { AMPACITY_IEC, AMPACITY_NORTH_AMERICA };

enum ampacity_laid {
    AMPACITY_LAID_UNKNOWN,
    AMPACITY_LAID_IN_CONDUIT,
    AMPACITY_LAID_ON_SURFACE,
    AMPACITY_LAID_IN_AIR,
    AMPACITY_LAID_BURIED,
    AMPACITY_LAID_CORD,
};

struct ampacity_wire {
    enum ampacity_practice practice;
    struct conductor_wire wire;
    enum ampacity_laid laid;
    double insulation_degc; /* NAN when unknown: the coolest column */
    int grouped;            /* circuits lying together, this one included; below 1 is 1 */
    double count;           /* such cables in parallel */
};

struct ampacity {
    bool known;
    const char *why;   /* when not known, why not; when known, NULL or a doubt to ask about;
                          a constant phrase that can follow "ampacity unknown: " */
    const char *table; /* names table and column, a constant phrase */
    double row_m2;     /* the tabulated size that was taken; for gauges its computed area */
    double base_a;     /* table value of one conductor, before factors */
    double air_factor; /* at the given air; 0 above the table's last row */
    double grouping_factor;
    double amps;           /* base x air x grouping x count */
    double full_current_a; /* base x grouping x count: heats the wire to table_degc in air of
                              table_air_degc; INFINITY when not known */
    double table_degc;     /* conductor limit of the table that gave base_a */
    double table_air_degc; /* its reference air */
};

/* The ampacity at an air temperature in degC. Sources: IEC 60364-5-52 tables
 * B.52.2, B.52.10, B.52.14, B.52.17, the general flexible-cord table, EN 50618
 * tables A.3 and A.4; NFPA 70 tables 310.16, 310.15(B)(1)(1), 310.15(C)(1) and
 * 400.5(A)(1). The size is the largest tabulated one that is not above the
 * wire's; air factors are those of the first row that is not below the air, never
 * interpolated. Not known: a wire thinner than the table, aluminium (the tables
 * are for copper), insulation below 60 degC in north-america, an area that is no
 * number. No table stands behind a buried cable (iec): it is taken as in conduit
 * and `why` says so. */
struct ampacity ampacity_find(const struct ampacity_wire *wire, double air_degc);

/* Largest fuse that NFPA 70, 240.4(D) allows a small copper conductor, in A,
 * whatever its ampacity. INFINITY from 8 AWG up; NAN below 18 AWG. Sizes between
 * rows take the thinner row. */
double ampacity_small_conductor_fuse_a(double area_m2);

/* Current that a panel circuit is designed for, in A: 1.25 x Isc x strings
 * [IEC 62548] or 1.25 x 1.25 x Isc x strings [NFPA 70, 690.8(A) and (B)]. */
double ampacity_panel_design_a(enum ampacity_practice practice, double short_a, double strings);

/* Current that any other circuit is designed for, in A: 1.25 x what runs for
 * hours [NFPA 70, 210.20(A); in the IEC world common practice]. */
double ampacity_load_design_a(double running_a);
#endif
