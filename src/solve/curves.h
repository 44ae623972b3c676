/* curves.h - what a picture of a rig needs besides its solved figures: the same laws and the same
 * solver, asked at many points. Works on a circuit of its own and writes nothing into the rig,
 * which has to be solved before. Everything is SI: V, A, W/m2, m3/s, m, degC, s.
 *
 * Between weak-sun and bright-noon the weather follows the sun in a straight line: air and water
 * are at their means up to 250 W/m2 and at their highest at 1000 W/m2, so that both conditions lie
 * on one line (common practice, no source). */
#ifndef RT_CURVES_H
#define RT_CURVES_H
#include "base/arena.h"
#include "base/outcome.h"
#include "rig/rig.h"

/* Points in order of x or along the way; NAN in both: the line breaks there. */
struct curve {
    double *x, *y;
    size_t count;
};

/* All of these answer OUTCOME_OK, OUTCOME_NO_MEMORY, or OUTCOME_REFUSED: there is nothing to show.
 * A rig whose day is past its limit (LATER_PARTS_MAX of later.h) is not asked so often either. */

#define CURVES_SUNS 4
#define CURVES_STEPS 100
struct curves_panel {
    double sun[CURVES_SUNS]; /* 1000, 750, 500, 250 W/m2 in the panel's plane */
    double cell_degc[CURVES_SUNS];
    struct curve amps[CURVES_SUNS]; /* A by V at the two ends of all its modules, from 0 V to open,
                                       or to where it works beyond that */
    /* Where it works, V and A, as the sun rises by 10 W/m2 to 1000, each time from dark; broken
     * where something on it starts or stops. */
    struct curve works;
    /* What all that hangs on it takes at each voltage at its ends, V and A, in the weather of
     * bright-noon and with the wires between; none where it shares its wires with another source,
     * where something tracks its best point, or where no current flows at bright-noon. */
    struct curve load;
    struct {
        double volts, amps; /* NAN: nothing settled */
    } bright_noon, weak_sun;
};
/* REFUSED: not a panel, or its label could not be fitted. */
enum outcome curves_of_panel(const struct rig *rig, size_t part, struct arena *arena,
                             struct curves_panel *out);

enum curves_speed { CURVES_RATED, CURVES_BRIGHT_NOON, CURVES_WEAK_SUN, CURVES_SPEED_COUNT };
struct curves_pump {
    struct {
        double volts;       /* at the pump; NAN: not known */
        double speed;       /* over rated speed; 0: it stands, and has no curve */
        double flow, head;  /* where it works; NAN for rated */
        struct curve pump;  /* m by m3/s of all its pieces, down to no head */
        struct curve pipes; /* what the water asks in that weather; none for rated: the solver's
                               answers to other speeds of this pump, the other pumps as they are */
    } at[CURVES_SPEED_COUNT];
};
/* REFUSED: not a pump, or its curve or its water is not known. */
enum outcome curves_of_pump(const struct rig *rig, size_t part, struct arena *arena,
                            struct curves_pump *out);

struct curves_track {
    size_t part;
    double *values; /* by step */
};
struct curves_tracks {
    struct curves_track *at;
    size_t count;
};
struct curves_day {
    double step_s;
    size_t steps;                   /* from midnight to midnight, solar time */
    double *sun;                    /* W/m2 in the first panel's plane, else the first coil's */
    struct curves_tracks pumps;     /* flow, m3/s; those whose flow is known */
    struct curves_tracks tanks;     /* mean of its water, degC; those that a coil warms */
    struct curves_tracks batteries; /* charge, 0 to 1; those in parallel as their first */
};
/* The rig's day as day.h reckons it. REFUSED: no sun is known, or nothing of a day hangs on it. */
enum outcome curves_of_day(const struct rig *rig, struct arena *arena, struct curves_day *out);
#endif
