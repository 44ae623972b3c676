/* faults.c - counting faults. */
#include "store/faults.h"

bool faults_count(struct faults *faults, struct place at)
{
    if (++faults->count <= faults->most)
        return true;
    if (faults->count == faults->most + 1)
        diagnostics_add(faults->diagnostics, LEVEL_ERROR, TOPIC_READS, at,
                        "%zu faults stand before this one. Reading stopped here.", faults->most);
    return false;
}

bool faults_full(const struct faults *faults)
{
    return faults->count > faults->most;
}
