#include "physics/converter.h"

#include <math.h>
#include <stddef.h>

#include "physics/reciprocal.h"

double converter_stop_v(const struct converter *converter)
{
    if (converter->type == CONVERTER_STEP_DOWN && !converter->pass_through)
        return fmax(converter->min_input_v, converter->output_v + converter->dropout_v);
    return converter->min_input_v;
}

double converter_start_v(const struct converter *converter)
{
    double restart_v =
        isnan(converter->restart_v) ? converter->min_input_v + 0.5 : converter->restart_v;
    return fmax(restart_v, converter_stop_v(converter));
}

struct converter_drop converter_drop(const struct converter *converter)
{
    if (!(converter->max_a < INFINITY))
        return (struct converter_drop){converter->dropout_v, 0.0};
    return (struct converter_drop){0.0, converter->dropout_v / converter->max_a};
}

bool converter_can_pass(const struct converter *converter)
{
    return (converter->type == CONVERTER_STEP_DOWN && converter->pass_through) ||
           converter->type == CONVERTER_STEP_UP;
}

/* A step-up hands its input on through its diode once that is above the output. */
static bool may_pass(const struct converter *converter, double input_v)
{
    return converter->type == CONVERTER_STEP_UP ? input_v > converter->output_v
                                                : converter_can_pass(converter);
}

double converter_output_v(const struct converter *converter, double input_v, double output_a,
                          double *per_input_v, double *per_output_a)
{
    struct converter_drop drop = converter_drop(converter);
    double passed_v = input_v - drop.constant_v - drop.resistance_ohm * output_a;
    bool passes = may_pass(converter, input_v) && passed_v < converter->output_v;
    bool follows = passes && passed_v > 0.0;
    if (per_input_v)
        *per_input_v = follows ? 1.0 : 0.0;
    if (per_output_a)
        *per_output_a = follows ? -drop.resistance_ohm : 0.0;
    return passes ? fmax(passed_v, 0.0) : converter->output_v;
}

struct converter_row converter_residual(const struct converter *converter, double input_v,
                                        double output_v, double output_a)
{
    struct converter_row row = {.per_output_v = 1.0};
    double per_input_v, per_output_a;
    row.value =
        output_v - converter_output_v(converter, input_v, output_a, &per_input_v, &per_output_a);
    row.per_input_v = -per_input_v;
    row.per_output_a = -per_output_a;
    if (output_a - converter->max_a > row.value)
        return (struct converter_row){.value = output_a - converter->max_a, .per_output_a = 1.0};
    return row;
}

enum converter_state converter_state(const struct converter *converter, double input_v,
                                     double output_v, double output_a)
{
    double held_v = converter_output_v(converter, input_v, output_a, NULL, NULL);
    if (output_a - converter->max_a > output_v - held_v)
        return CONVERTER_LIMITED;
    return held_v < converter->output_v ? CONVERTER_PASSING : CONVERTER_REGULATING;
}

static bool passes(const struct converter *converter, double input_v, double output_a)
{
    return converter_output_v(converter, input_v, output_a, NULL, NULL) < converter->output_v;
}

struct converter_input converter_input(const struct converter *converter, double input_v,
                                       double output_v, double output_a)
{
    double floor_v = 0.5 * converter->min_input_v;
    if (!(floor_v > 0.0))
        floor_v = 0.05 * converter->output_v;
    double slope;
    double inverse = reciprocal_above(input_v, floor_v, &slope);
    double gain = inverse / converter->efficiency;
    if (output_v * gain < 1.0 && passes(converter, input_v, output_a))
        return (struct converter_input){
            .amps = output_a + converter->idle_w * inverse,
            .per_input_v = converter->idle_w * slope,
            .per_output_a = 1.0,
        };
    double power_w = output_v * output_a / converter->efficiency + converter->idle_w;
    return (struct converter_input){
        .amps = power_w * inverse,
        .per_input_v = power_w * slope,
        .per_output_v = output_a * gain,
        .per_output_a = output_v * gain,
    };
}

struct converter_seen converter_seen(const struct converter *converter, double input_v,
                                     double output_v, double output_a, double conductance_s)
{
    struct converter_seen seen = {
        .state = converter_state(converter, input_v, output_v, output_a),
    };
    struct converter_input input = converter_input(converter, input_v, output_v, output_a);
    if (seen.state == CONVERTER_PASSING) {
        /* V_out moves by the input less what the load's own answer drops. */
        double per_input_v, per_output_a;
        converter_output_v(converter, input_v, output_a, &per_input_v, &per_output_a);
        seen.output_v_per_input_v = per_input_v / (1.0 - per_output_a * conductance_s);
    }
    seen.input_a = input.amps;
    seen.per_input_v =
        input.per_input_v +
        seen.output_v_per_input_v * (input.per_output_v + input.per_output_a * conductance_s);
    return seen;
}
