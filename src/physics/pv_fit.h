/* pv_fit.h - the numbers behind pv_fit: parameters from four figures and a wanted
 * temperature coefficient. Shared by pv_label.c, pv_fit.c and their tests. */
#ifndef RT_PV_FIT_H
#define RT_PV_FIT_H
#include "physics/pv.h"

/* One module at reference: 0 < vmp < voc < 2 vmp and 0 < imp < isc < 2 imp. */
struct pv_figures {
    double vmp_v, imp_a, voc_v, isc_a;
};

/* The parameters with a given a = ideality_v that meet all four figures. False when the two
 * resistances cannot both be at least 0; *cell is then untouched. */
bool pv_fit_at(const struct pv_figures *figures, double ideality_v, struct pv_cell *cell);

/* Chooses a, and if need be isc_factor and gap_ev, so that the power's coefficient becomes
 * power_pct_per_k. Reads the completed label, isc_a_per_k and power_pct_per_k of *fit; writes cell,
 * gap_ev, isc_factor, power_pct_per_k_met and the flag PV_WARN_POWER_TEMP_NOT_MET. False
 * when no a at all can meet the four figures. */
bool pv_fit_parameters(struct pv_fit *fit);

#endif
