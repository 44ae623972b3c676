#include "physics/npsh.h"

#include <math.h>

#include "physics/water.h"

double npsh_air_pa(double altitude_m)
{
    if (isnan(altitude_m))
        return altitude_m;
    double held = fmin(fmax(altitude_m, -1000.0), 11000.0);
    return 101325.0 * pow(1.0 - 2.25577e-5 * held, 5.25588);
}

double npsh_available_m(double air_pa, double vapour_pa, double density_kg_m3,
                        double water_height_m, double pump_height_m, double friction_m)
{
    return (air_pa - vapour_pa) / (density_kg_m3 * WATER_GRAVITY_M_S2) + water_height_m -
           pump_height_m - friction_m;
}
