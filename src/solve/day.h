/* day.h - one day of a rig, from midnight to midnight in solar time: what the sun gives it, when
 * its pumps run, how warm its tanks get, what its batteries do. Built on a circuit of its own;
 * the named conditions have to be solved before (start_sun and stop_sun come from there).
 *
 * Reckoned so: operating points are tabulated by the sun on the first panel's plane, 10 W/m2
 * apart, at mean air and water, straight between; loads on a battery by its charge as well, at
 * empty and full. A pump that panels feed turns from start_sun on and until stop_sun. */
#ifndef RT_DAY_H
#define RT_DAY_H
#include "physics/sun.h"
#include "physics/tank_heat.h"
#include "solve/circuit.h"

#define DAY_STEP_S 60.0  /* usual length of a step */
#define DAY_SPACING 10.0 /* W/m2 between two points of the table */

/* ---- The sky: day_sky.c ---- */

/* Sun on one plane, by step, W/m2. */
struct day_plane {
    size_t part;   /* the panel or coil that lies in it */
    double *clear; /* scaled to the site's sum, without passing clouds */
    double *sun;   /* with them */
};

struct day_sky {
    double step_s;
    size_t steps;             /* of one day */
    bool known;               /* the site's figures are there; else it is dark all day */
    double length_h;          /* sunrise to sunset; NAN: no latitude */
    double factor;            /* what the clear sky is multiplied by */
    double sum_j_m2;          /* of the first plane */
    double top;               /* most sun on the panel's plane */
    bool *up;                 /* by step: the sun stands above the horizon */
    double *air_degc;         /* by step */
    struct day_plane *planes; /* the first panel's, if there is one, then the coils' */
    size_t plane_count;
    size_t panel; /* index of the panel's plane, or NONE */
};

/* Needs the site's latitude and its sun or clearness; neither is asked of a rig without
 * panel and coil. OUTCOME_OK or OUTCOME_NO_MEMORY; all in the arena given. */
enum outcome day_sky_make(const struct rig *rig, struct arena *arena, double step_s,
                          struct day_sky *out);
/* Index of the plane in which a coil lies, else the panel's; NONE: there is none. */
size_t day_sky_plane_of(const struct day_sky *sky, size_t part);

/* ---- Operating points by sun and charge: day_table.c ---- */

enum feed { FEED_NOTHING, FEED_PANELS, FEED_BATTERY, FEED_SUPPLY };

struct day_table {
    double first; /* W/m2 of the first point */
    size_t count; /* points */
    size_t rows;  /* 1, or 2: batteries empty and full */
    size_t columns;
    double *values;              /* [row][column][point] */
    size_t takers, pumps, coils; /* how many columns of each: amps and watts, flow, flow */
    size_t charge_count;         /* points of the charge table, from 0 W/m2 on */
    double *charge;              /* [battery][empty, full][point]: A that panels can bring */
};

/* Which source a taker hangs on, through converters; *root: its tree. FEED_NOTHING: none, or
 * figures lack. */
enum feed day_feed(const struct circuit *circuit, const struct taker *taker, size_t *root);

enum outcome day_table_make(struct circuit *circuit, const struct day_sky *sky, const size_t *coils,
                            size_t coil_count, const size_t *batteries, size_t battery_count,
                            struct arena *arena, struct day_table *out);
double day_table_amps(const struct day_table *table, size_t taker, double sun, double charge);
double day_table_watts(const struct day_table *table, size_t taker, double sun, double charge);
double day_table_pump_m3s(const struct day_table *table, size_t pump, double sun, double charge);
double day_table_coil_m3s(const struct day_table *table, size_t coil, double sun, double charge);
/* A into a battery from the panels behind its charger (below 0: the charger's own use). */
double day_table_charge_a(const struct day_table *table, size_t battery, double sun, double charge);

/* ---- What switches: day_control.c ---- */

struct day;
struct day_control; /* a thermostat that can be followed */

/* When a part is to run, and the contacts in its run. */
enum day_clock { DAY_ALWAYS, DAY_WHILE_SUN, DAY_WHILE_DARK, DAY_AROUND_NOON };
struct day_schedule {
    enum day_clock clock;
    double hours; /* a day, NAN: not given */
    const size_t *contacts;
    size_t contact_count;
};

/* The thermostats, then (with the water's pieces known) every part's schedule. */
enum outcome day_control_make(struct day *day);
enum outcome day_control_plan(struct day *day);
/* Reads all thermostats; before each step. */
void day_control_step(struct day *day);
/* Do the contacts in a part's run let current through, and is it the time at which it is to run? */
bool day_control_allows(const struct day *day, size_t part);

/* ---- The day ---- */

struct day_tank {
    size_t part;
    bool known;
    struct tank_heat heat;
    double start_degc, evening_degc, high_degc, dawn_degc;
    double coil_j, pump_j, lost_j; /* over the day */
    double end_degc;
    double *mean_degc; /* at the beginning of each step and at the end of the last; in the rig's
                          arena */
    size_t plane;      /* whose sun says when evening is */
};

struct day_coil {
    size_t part, element, plane;
    size_t tank; /* in day->tanks; NONE: it warms none of them */
    bool known;
    double flow_m3s, inlet_degc, outlet_degc, gain_w; /* of the step */
    double gain_j, moved_m3;
};

struct day_pump {
    enum feed feed;
    size_t root;    /* tree */
    size_t battery; /* in day->batteries, or NONE */
    size_t tank;    /* in which its heat stays, or NONE */
    bool known, flow_known, running;
    double start_sun, stop_sun;
    double flow_m3s, watts; /* of the step */
    double moved_m3, heat_share;
    size_t steps_on, starts, most_starts; /* most: within an hour */
    unsigned char *started;               /* by step */
};

struct day_battery {
    size_t giver, tree;
    bool known, cut; /* cut: it ran empty, loads stand */
    double share, lowest, capacity_as, efficiency;
    double use_j, harvest_j, stored_as, given_as, short_as, refused_as;
};

/* What the sums of a day leave over; for tests. All but rounding when it is right. */
struct day_balance {
    double heat_gap;     /* largest share of what was brought to a tank that is not accounted for */
    double charge_gap;   /* the same of a battery's charge */
    double water_gap;    /* the same of what pumps moved and coils on their run got */
    double evening_degc; /* of the first tank that is known; NAN: none */
};

struct day {
    struct circuit *circuit;
    struct rig *rig;
    struct arena *arena;
    struct arena *kept; /* of the track of each tank: the rig's own, where that outlives the day */
    struct day_sky sky;
    struct day_table table;
    struct {
        struct day_tank *at;
        size_t count, room;
    } tanks;
    struct {
        struct day_coil *at;
        size_t count, room;
    } coils;
    struct {
        struct day_battery *at;
        size_t count, room;
    } batteries;
    struct day_pump *pumps; /* as circuit->pumps */
    bool *taker_on;         /* by taker, of the step */
    struct day_control *controls;
    size_t control_count;
    struct day_schedule *schedules; /* by part */
    size_t step;                    /* counted on beyond the first midnight */
    double water_degc, air_low, air_high;
};

/* Works the day out and writes its figures and their working into the rig. balance may be NULL. */
enum outcome day_solve(struct rig *rig, double step_s, struct day_balance *balance);

/* The same day once more, shown after each of its steps, to be drawn; writes nothing. What `seen`
 * answers but OUTCOME_OK ends it and is the answer. REFUSED: no sun is known. */
typedef enum outcome day_seen(const struct day *day, void *with);
enum outcome day_watch(struct rig *rig, double step_s, day_seen *seen, void *with);
#endif
