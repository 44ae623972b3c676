/* thermostat.h - things that switch on at one value and off at another: thermostats, light
 * switches, a pump's start and stop sun. Whether it is on is the caller's to keep. */
#ifndef RT_THERMOSTAT_H
#define RT_THERMOSTAT_H
#include <stdbool.h>

struct switching {
    double on_from;   /* on at this value and above */
    double off_below; /* off below this; not above on_from */
};

/* Whether it is on at a value, having been on or not before: between the two it stays
 * as it was. A NAN leaves it as it was. */
bool switching_is_on(struct switching at, bool was_on, double value);

enum thermostat_acts { THERMOSTAT_CLOSES_ON_RISE, THERMOSTAT_CLOSES_ON_FALL };

struct thermostat {
    struct switching warm; /* on: on its warm side */
    enum thermostat_acts acts;
};

/* It acts at the set point while it gets warmer and comes back a band below it while it
 * cools, whichever way its contact moves. Usual for sold modules; common practice, no source. */
struct thermostat thermostat_of(double set_point_degc, double band_k, enum thermostat_acts acts);

/* A difference thermostat: closes from on_k of hot over cold, opens below off_k. Its value is
 * the difference. */
struct thermostat thermostat_of_difference(double on_k, double off_k);

/* Whether its contact is closed at a temperature (or difference), having been so or not. */
bool thermostat_is_closed(const struct thermostat *thermostat, bool was_closed, double degc);

#endif
