/* converter.h - a DC-DC converter as a law between two circuits: what it gives
 * its output and takes from its input, with derivatives. Whether it is on is the
 * caller's memory (it has hysteresis); this file gives the two thresholds.
 * Knows nothing of cables, loads, rigs or rules.
 *
 * For a solver. While on, a converter ties input voltage Vi, output voltage Vo and
 * output current Io by one equation and takes an input current:
 *
 *     converter_residual(Vi, Vo, Io) = 0        one row, unknown Io
 *     Ii = converter_input(Vi, Vo, Io)          leaves the input node
 *
 * or, one circuit at a time: walk the output circuit with converter_output_v() as
 * its source, hand its conductance to converter_seen(), and get the input current
 * and its full derivative as if the converter and all behind it were one load.
 * While off: Vo = 0, Io = 0, Ii = 0. */
#ifndef RT_CONVERTER_H
#define RT_CONVERTER_H
#include <stdbool.h>

enum converter_type { CONVERTER_STEP_DOWN, CONVERTER_STEP_UP, CONVERTER_BOTH };

struct converter {
    enum converter_type type;
    double output_v;    /* set voltage */
    double dropout_v;   /* least input less output while regulating, at max_a; step-down */
    double min_input_v; /* input below which it stops; the low end of its input range */
    double restart_v;   /* input at which it comes back; min_input_v + 0.5 V when unknown */
    double max_a;       /* of the output; INFINITY or NAN when unknown */
    double efficiency;  /* 0 < efficiency <= 1 */
    double idle_w;      /* own consumption while on */
    bool pass_through;  /* a step-down that hands its input on when that is too low */
};

enum converter_state {
    CONVERTER_OFF,
    CONVERTER_REGULATING, /* output at its set voltage */
    CONVERTER_PASSING,    /* output = input less a resistive drop */
    CONVERTER_LIMITED,    /* output current at max_a, output voltage where the load takes that */
};

/* Input voltage at which it cuts out, in V: the larger of min_input_v and
 * output_v + dropout_v for a step-down that does not pass through, else min_input_v. */
double converter_stop_v(const struct converter *converter);

/* Input voltage at which it comes (back) on, in V: the larger of restart_v and
 * converter_stop_v(). */
double converter_start_v(const struct converter *converter);

/* Whether it hands its input on at any input voltage: a step-down that passes through, and a
 * step-up from above its output. */
bool converter_can_pass(const struct converter *converter);

/* Open voltage and source resistance while passing: V_out = V_in - constant_v -
 * resistance x I_out, with resistance dropout_v / max_a; without a max_a the
 * whole dropout_v is constant. */
struct converter_drop {
    double constant_v;
    double resistance_ohm;
};
struct converter_drop converter_drop(const struct converter *converter);

/* Output voltage that it can hold at an output current not above max_a, in V: the
 * set voltage, or less while passing. *per_input_v and *per_output_a (may be NULL)
 * get the derivatives, 1 and ohm. Not below 0. */
double converter_output_v(const struct converter *converter, double input_v, double output_a,
                          double *per_input_v, double *per_output_a);

/* State while on, at a point where the residual vanishes. The residual decides
 * elsewhere: the state whose equation is the active one. */
enum converter_state converter_state(const struct converter *converter, double input_v,
                                     double output_v, double output_a);

struct converter_row {
    double value; /* V; 0 on the law */
    double per_input_v;
    double per_output_v;
    double per_output_a; /* ohm */
};

/* The law of the output while on, as one residual for Newton:
 * the larger of V_out - converter_output_v() and 1 ohm x (I_out - max_a), so that
 * either voltage or current is at its limit and the other within. */
struct converter_row converter_residual(const struct converter *converter, double input_v,
                                        double output_v, double output_a);

struct converter_input {
    double amps;
    double per_input_v; /* A/V, the other two held */
    double per_output_v;
    double per_output_a;
};

/* Input current while on, in A: (V_out I_out / efficiency + idle) / V_in, also of a
 * step-up that regulates from above its output. While passing, the input is in series
 * with the output and no current is gained: I_out max(1, V_out / (efficiency V_in)) +
 * idle / V_in, which is an efficiency of min(efficiency, V_out / V_in). Both agree where
 * they meet as long as the drop there is no larger than (1 - efficiency) of the input. 1/V_in
 * follows its tangent below half of min_input_v (a twentieth of output_v when that is 0), where the
 * converter is off, so that a solver on its way through finds finite numbers. */
struct converter_input converter_input(const struct converter *converter, double input_v,
                                       double output_v, double output_a);

struct converter_seen {
    enum converter_state state;
    double input_a;
    double per_input_v;          /* d input_a / d input_v with the output circuit following, A/V */
    double output_v_per_input_v; /* how the output follows the input */
};

/* The converter and all behind it as one load, at a point on the law.
 * conductance_s  d I_out / d V_out of the output circuit there, A/V, above
 *                -1 / resistance while passing (a steady point) */
struct converter_seen converter_seen(const struct converter *converter, double input_v,
                                     double output_v, double output_a, double conductance_s);
#endif
