#include "physics/thermostat.h"

bool switching_is_on(struct switching at, bool was_on, double value)
{
    if (value >= at.on_from)
        return true;
    return was_on && !(value < at.off_below);
}

struct thermostat thermostat_of(double set_point_degc, double band_k, enum thermostat_acts acts)
{
    return (struct thermostat){{set_point_degc, set_point_degc - band_k}, acts};
}

struct thermostat thermostat_of_difference(double on_k, double off_k)
{
    return (struct thermostat){{on_k, off_k}, THERMOSTAT_CLOSES_ON_RISE};
}

bool thermostat_is_closed(const struct thermostat *thermostat, bool was_closed, double degc)
{
    bool rises = thermostat->acts == THERMOSTAT_CLOSES_ON_RISE;
    return switching_is_on(thermostat->warm, was_closed == rises, degc) == rises;
}
