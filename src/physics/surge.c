#include "physics/surge.h"

#include <math.h>
#include <stddef.h>
#include <string.h>

struct row {
    const char *material;
    double modulus_gpa;
};

/* Short-term Young's moduli near 20 degC, all from memory of handbook values.
 * Of two rows for one material the stiffer stands, as it makes more surge. */
static const struct row rows[] = {
    {"copper", 120.0},
    {"brass", 100.0},
    {"bronze", 105.0},
    {"stainless-steel", 193.0},
    {"galvanised-steel", 207.0},
    {"cast-iron", 100.0},
    {"steel", 207.0},
    {"aluminium", 69.0},
    {"lead", 16.0},
    {"hdpe", 1.0},
    {"ldpe", 0.25},
    {"pex", 0.7},
    {"pvc", 3.0},
    {"cpvc", 2.9},
    {"pp", 1.3},
    {"nylon", 2.0},
    {"abs", 2.3},
    {"polycarbonate", 2.4},
    {"pvc-hose", 0.1},
    {"epdm-hose", 0.03},
    {"rubber-hose", 0.03},
    {"silicone-hose", 0.008},
    {"glass", 70.0},
};

double surge_wall_modulus_pa(const char *material)
{
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        if (strcmp(material, rows[i].material) == 0)
            return rows[i].modulus_gpa * 1e9;
    return NAN;
}

double surge_wave_speed_m_s(double water_modulus_pa, double density_kg_m3, double bore_m,
                            double wall_m, double wall_modulus_pa)
{
    double give =
        isinf(wall_modulus_pa) ? 0.0 : water_modulus_pa / wall_modulus_pa * (bore_m / wall_m);
    return sqrt(water_modulus_pa / density_kg_m3 / (1.0 + give));
}

double surge_round_trip_s(double length_m, double wave_m_s)
{
    return 2.0 * length_m / wave_m_s;
}

double surge_pressure_pa(double density_kg_m3, double wave_m_s, double velocity_m_s,
                         double length_m, double closing_s)
{
    double peak = density_kg_m3 * wave_m_s * velocity_m_s;
    double round_trip = surge_round_trip_s(length_m, wave_m_s);
    return closing_s > round_trip ? peak * (round_trip / closing_s) : peak;
}
