#include "physics/battery_charge.h"

#include <math.h>

double battery_charge_efficiency(enum battery_chemistry chemistry)
{
    return chemistry == BATTERY_LIFEPO4 || chemistry == BATTERY_NMC ? 0.99 : 0.85;
}

static double held(double share)
{
    return share < 0.0 ? 0.0 : share > 1.0 ? 1.0 : share;
}

struct battery_charge battery_charge_of(const struct battery *battery, double cold_multiplier,
                                        double efficiency, double share)
{
    return (struct battery_charge){
        .capacity_as = battery->capacity_as * battery->parallel / cold_multiplier,
        .efficiency =
            isnan(efficiency) ? battery_charge_efficiency(battery->chemistry) : efficiency,
        .share = held(share),
    };
}

static struct battery_step give(struct battery_charge *battery, double asked_as)
{
    double there_as = battery->share * battery->capacity_as;
    if (asked_as >= there_as) {
        battery->share = 0.0;
        return (struct battery_step){.given_as = there_as, .short_as = asked_as - there_as};
    }
    battery->share -= asked_as / battery->capacity_as;
    return (struct battery_step){.given_as = asked_as};
}

static struct battery_step take(struct battery_charge *battery, double offered_as)
{
    double room_as = (1.0 - battery->share) * battery->capacity_as;
    double stored_as = offered_as * battery->efficiency;
    if (stored_as >= room_as) {
        battery->share = 1.0;
        double taken_as = room_as / battery->efficiency;
        return (struct battery_step){.stored_as = room_as,
                                     .wasted_as = taken_as - room_as,
                                     .refused_as = offered_as - taken_as};
    }
    battery->share += stored_as / battery->capacity_as;
    return (struct battery_step){.stored_as = stored_as, .wasted_as = offered_as - stored_as};
}

struct battery_step battery_charge_step(struct battery_charge *battery, double current_a,
                                        double seconds)
{
    return current_a >= 0.0 ? give(battery, current_a * seconds)
                            : take(battery, -current_a * seconds);
}
