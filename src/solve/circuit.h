/* circuit.h - a rig's runs and parts as what the physics works on: trees of wire with
 * sources and loads, and a network of water. Built once for a rig; the state of one
 * condition at a time is kept in it. Knows how parts are joined, not how they settle
 * (electric.c, water.c). */
#ifndef RT_CIRCUIT_H
#define RT_CIRCUIT_H
#include "physics/ampacity.h"
#include "physics/battery.h"
#include "physics/coil.h"
#include "physics/conductor.h"
#include "physics/converter.h"
#include "physics/motor.h"
#include "physics/pump.h"
#include "physics/pv.h"
#include "physics/source.h"
#include "physics/water.h"
#include "rig/rig.h"
#include "solve/network.h"

#define NONE SIZE_MAX

enum field {
#define FIELD(symbol, name) FIELD_##symbol,
#include "solve/field.def"
#undef FIELD
    FIELD_COUNT
};

/* ---- Wires ---- */

/* A cable run, an in-line part that stands between two runs, or the resistance of a series of
 * panels. `upper` lies towards the tree's root. */
struct stretch {
    size_t part;
    size_t from, to;     /* knots, as written */
    size_t upper, lower; /* NONE while the tree is not rooted */
    size_t next;         /* the next stretch below the same knot */
    bool cable;
    double contacts_ohm; /* in-line parts */
    double r20_ohm;      /* loop */
    struct ampacity_wire wire;
    struct conductor_run run; /* of the condition */
    struct ampacity ampacity; /* of the condition */
    double amps;              /* from upper to lower */
    double ohm, offset;       /* its law as a line: lower = upper + offset - ohm amps */
};

struct panel {
    size_t part;
    struct pv_fit fit;
    double series, parallel, noct_degc, area_m2, weak_loss;
    struct pv_array array; /* of the condition */
    double cell_degc, open_v, cold_open_v;
    double volts, amps;
    double junction_v; /* where the next search for its current begins; 0: not known */
    size_t chain;      /* the giver that it belongs to */
};

enum giver_kind { GIVER_PANELS, GIVER_BATTERY, GIVER_SUPPLY, GIVER_CHARGER };

/* What pushes current into a knot. */
struct giver {
    enum giver_kind kind;
    size_t part; /* of a chain: its panel with the way out */
    size_t knot;
    size_t next;                     /* the next one at the same knot */
    size_t first_panel, panel_count; /* a chain of panels in series, in circuit->chained */
    size_t first_link, link_count;   /* the cables between them, in circuit->links */
    struct battery battery;
    double open_v; /* of the condition: battery, supply */
    double resistance_ohm;
    size_t charger; /* taker at the panel side */
    double amps;    /* what it gives */
    double guess_a;
};

enum taker_kind { TAKER_MOTOR, TAKER_CONVERTER, TAKER_CHARGER };

/* What takes current from a knot. */
struct taker {
    enum taker_kind kind;
    size_t part, knot, next;
    double count;
    double start_v, stop_v;
    bool on;
    /* motors and other loads */
    struct motor motor;
    size_t pump; /* in circuit->pumps, or NONE */
    /* converters */
    struct converter converter;
    bool booster;       /* holds its panels at their best voltage, and gives what power they have */
    bool tracking;      /* it does so now: too little for its set output */
    size_t output_tree; /* NONE: nothing at its output */
    double output_v, output_a;
    enum converter_state state;
    struct { /* what its current limit came to; see limited_v in electric.c */
        double held_v, volts;
        size_t epoch, running;
    } limit;
    /* chargers */
    bool mppt;
    size_t charge;           /* giver at the battery side */
    double panel_v, panel_a; /* also of boosters that track */
    /* both */
    double volts, amps; /* amps of all `count` */
};

struct knot {
    size_t part;
    size_t tree;
    size_t first_giver, first_taker, first_stretch; /* stretches below it */
    size_t above; /* stretch to its upper neighbour; NONE: the root */
    double volts;
    double base, slope; /* what it and all below take, as a line: base + slope volts */
};

struct tree {
    size_t root;
    size_t feeder;                 /* the converter (taker) whose output it is, or NONE */
    size_t first_knot, knot_count; /* in circuit->order, root first */
    bool panels, battery, supply,
        charger;             /* what stands on it; charger: panels feed a controller */
    bool known;              /* all figures that its state needs */
    double volts, root_amps; /* at the root; what leaves it */
    bool settled;
    struct { /* what it took when it was last asked; see tree_current in electric.c */
        bool known, rough;
        double volts, amps, slope;
        size_t epoch, running;
    } last;
};

/* ---- Water ---- */

enum element_kind {
    ELEMENT_PIPE,
    ELEMENT_PUMP,
    ELEMENT_COIL,
    ELEMENT_VALVE,
    ELEMENT_CHECK,
    ELEMENT_LOSS, /* k on a bore, and a straight length of it */
    ELEMENT_OUTLET,
    ELEMENT_ONE_WAY, /* lets flow > 0 through, without loss */
};

struct element {
    enum element_kind kind;
    size_t part;
    size_t branch;
    double count;
    double bore_m, length_m, roughness_m, k; /* pipe, loss */
    double kv_m3s;                           /* valve, check, outlet; NAN: no loss */
    double cracking_pa;
    bool rests_shut, switched_shut; /* a valve, without current and with its switches on */
    bool shut;                      /* in the condition */
    bool held_shut;                 /* a pilot valve that lacks pressure, in the condition */
    bool shut_at_noon;              /* either of both, at bright noon */
    bool pilot;                     /* opens only by the pressure across it */
    double least_pa;
    double nominal_m3s, nominal_pa, exponent; /* outlet */
    struct coil_tube coil;
    size_t pump; /* in circuit->pumps */
    /* of the condition */
    double viscosity, density;
    enum water_fluid fluid;
};

struct branch_of_water {
    size_t from, to; /* nodes */
    size_t from_port, to_port;
    size_t water, at, at_from, at_to; /* its network, and its branch and nodes there */
    size_t next_in_piece;
    size_t first, count; /* elements in series */
    size_t part;
    bool known; /* every figure of its piece is there; else it is kept shut */
    const struct circuit *circuit;
};

/* A converter's limit asks for two speeds in turn, over and over. */
enum { PUMP_ANSWERS = 4 };

struct pump_answer {
    bool known;
    size_t stamp;                                           /* of the circuit, then */
    double speed, flow, head, flow_by_speed, head_by_speed; /* flow of one */
};

struct pump {
    size_t part, element, taker; /* taker NONE: not wired */
    bool diaphragm, known;       /* known: its curve */
    bool fed_known;              /* so is all that feeds it */
    struct pump_curve curve;
    struct pump_seat seat;
    double given_pa, given_m, max_flow_m3s; /* diaphragm: max_pressure, max_head */
    double max_pa;                          /* with the density of the condition */
    double shutoff_share;
    double count;
    /* state */
    double speed;  /* 0: stands */
    double before; /* in the last round */
    /* what the water answers to this pump's speed: now, and to the last few speeds before */
    struct pump_answer answer, last[PUMP_ANSWERS];
    size_t next; /* of the last, the one to be forgotten next */
};

/* A run without bore: it joins two ports without loss. */
struct joint {
    size_t part;
    size_t from_port, to_port;
    double flow; /* NAN: not known */
};

struct free_end {
    size_t node;
    double height_m;
};

struct circuit {
    struct rig *rig;
    struct diagnostics *diagnostics;
    struct arena *arena; /* owns all of this but the network */

    size_t *touch_first, *touch; /* runs that end at a part: touch[touch_first[p] .. touch_first[p +
                                    1]], in the rig's order */

    struct {
        struct knot *at;
        size_t count, room;
    } knots;
    struct {
        struct stretch *at;
        size_t count, room;
    } stretches;
    struct {
        struct panel *at;
        size_t count, room;
    } panels;
    struct {
        struct giver *at;
        size_t count, room;
    } givers;
    struct {
        struct taker *at;
        size_t count, room;
    } takers;
    struct {
        struct tree *at;
        size_t count, room;
    } trees;
    struct {
        size_t *at;
        size_t count, room;
    } order, chained, links;
    size_t *knot_in,
        *knot_out; /* by part; NONE. A converter's input and output; of a controller its
                      panel and its battery side; of an in-line part its two ends */

    struct {
        struct network **at;
        size_t count, room;
    } waters;                      /* one for each piece */
    size_t *first_of_water;        /* the first branch of each */
    struct heights_search *search; /* scratch of water_high_heads */
    struct {
        struct branch_of_water *at;
        size_t count, room;
    } branches;
    struct {
        struct element *at;
        size_t count, room;
    } elements;
    struct {
        struct pump *at;
        size_t count, room;
    } pumps;
    struct {
        struct joint *at;
        size_t count, room;
    } joints;
    struct {
        struct free_end *at;
        size_t count, room;
    } free_ends;
    size_t node_count;
    size_t *node_of_port;    /* by 2 part and 2 part + 1 */
    size_t *element_of_part; /* NONE: it has none */
    size_t *piece_of_branch; /* which piece of water, hanging together without a tank between */
    bool *piece_known;       /* by piece: all figures are there */
    double *fixed_head;      /* by node; NAN: free */
    double *head_now;        /* of fixed nodes, while a tank is drained */
    size_t *water_of, *node_in_water; /* of free nodes */
    bool *is_tank;                    /* by node */
    bool *is_joint;                   /* by part: a run without bore */
    double *lowest;     /* by part: lowest height of anything that its water joins; ... */
    bool *lowest_known; /* ... once it was asked for */
    size_t stamp;       /* grows with every change of a pump's speed */
    size_t epoch;       /* grows when what running loads take at a voltage may have changed */
    bool rough;         /* only what a tree takes is asked: its loads may stand a little aside */
    bool coupled;       /* several pumps move the same water: each asks the others' speeds */

    /* the condition */
    double sun, air_degc, water_degc, density;
    bool weak;          /* correct for weak sun */
    bool pilots_follow; /* pilot valves open and shut with the speed of each pump that is asked */
    bool no_flow;       /* the outlet is shut: shares are those at no flow */
    bool unsettled;
    bool no_memory;
    double imbalance;
};

/* OUTCOME_REFUSED when there is nothing to solve. */
enum outcome circuit_build(struct rig *rig, struct diagnostics *diagnostics, struct arena *arena,
                           struct circuit *out);
void circuit_drop(struct circuit *circuit);

enum outcome circuit_build_wires(struct circuit *circuit);
enum outcome circuit_build_water(struct circuit *circuit);

/* Does a tree have all its figures, and all that is behind its converters? */
bool circuit_tree_known(const struct circuit *circuit, size_t tree);
/* ... and all up to the load's source. A load without any source is known: it stands. */
bool circuit_feed_known(const struct circuit *circuit, size_t taker);

/* A cable and a panel as the physics wants them. */
struct ampacity_wire circuit_wire(const struct rig *rig, const struct part *cable);
struct pv_label circuit_label(const struct part *panel);

/* Room in an array that grows in the circuit's arena; false: no memory. */
#define CIRCUIT_ADD(circuit, list, ...)                                                            \
    (ARENA_GROW((circuit)->arena, &(circuit)->list)                                                \
         ? ((circuit)->list.at[(circuit)->list.count++] = (__VA_ARGS__), true)                     \
         : false)

/* Writes a solved number; an attribute that the kind lacks is passed over. */
void circuit_put(const struct circuit *circuit, size_t part, enum field field,
                 enum condition condition, double value);
/* Where a number is put; NULL: the kind lacks the attribute. */
struct part_value *circuit_value(const struct circuit *circuit, size_t part, enum field field);
void circuit_put_once(const struct circuit *circuit, size_t part, enum field field, double value);

static inline bool circuit_is_kind(const struct circuit *circuit, size_t part, const char *kind)
{
    return part < circuit->rig->part_count && part_of_kind(&circuit->rig->parts[part], kind);
}
#endif
