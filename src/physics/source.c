#include "physics/source.h"

#include <stddef.h>

struct source source_from_supply(double voltage_v)
{
    return (struct source){voltage_v, 0.0};
}

double source_v(struct source source, double current_a)
{
    return source.open_v - source.resistance_ohm * current_a;
}

double source_a(struct source source, double volts, double *per_volt)
{
    if (per_volt)
        *per_volt = -1.0 / source.resistance_ohm;
    return (source.open_v - volts) / source.resistance_ohm;
}
