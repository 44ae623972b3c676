/* buying.h - what must be ordered for a rig: pieces, metres of cable and hose,
 * clamps, prices. Counts what the list says and judges nothing. */
#ifndef RT_BUYING_H
#define RT_BUYING_H
#include "rig/rig.h"

/* What some parts cost together, in the money that the rig is written in. */
struct buying_price {
    double known;    /* of the pieces whose price is given */
    double unpriced; /* pieces whose price is not given: never counted as 0 without being told */
};

/* Parts that are ordered as one line: of one catalogue entry, with none of its figures written
 * otherwise; a part of no entry stands for itself. Runs are not among them (see below). */
struct buying_item {
    const struct kind *kind;
    const struct entry *entry; /* NULL: described in the rig file */
    const size_t *parts;       /* in the rig's order */
    size_t part_count;
    double pieces; /* count x series x parallel; of a fuse in each string: x the strings */
    double spares; /* those of them that lie in a drawer (`spare: yes`) */
    struct buying_price price;
};

/* Cable or pipe by the metre: runs alike in size, material, entry and (cable) cores. */
struct buying_length {
    const struct kind *kind;   /* cable or pipe */
    const struct entry *entry; /* NULL: described in the rig file */
    double size;               /* cable: area of one conductor, m2; pipe: bore, m; NAN: not known */
    double cores;              /* cable: conductors in it; NAN: not known, and always of a pipe */
    const char *material;      /* NULL: not known */
    const size_t *runs;        /* in the rig's order */
    size_t run_count;
    double length_m;   /* to be bought, no waste added: length x count, and twice that of a cable of
                          one   core, which goes out and back; without the runs that follow */
    double unmeasured; /* pieces whose length is not known */
    struct buying_price price; /* a run's price is that of one whole piece */
};

/* Hose ends that want a clamp, by the outside of the hose. A hose is a pipe of pvc-hose, epdm-hose,
 * silicone-hose or rubber-hose, or of a material that is not told (as the rules of ports take it).
 * Its two ends, and the two at each water part in its `through`, want a clamp each, but for: a
 * second end that hangs free or under water; an end at a tank or outlet that names no port (it
 * hangs over the rim; is the open end); an end at a thread, a push fitting or a flange, which hold
 * it otherwise. Any other part that names no port counts as a barb. Where `fittings:` names more
 * barbs in the run than that, they count. */
struct buying_clamps {
    double outside_m; /* outside, else bore + 2 x wall; NAN: not known */
    double bore_m;    /* of the first such hose; NAN: not known */
    double ends;      /* clamps wanted */
    double clamped;   /* ends for which the list has a clamp whose size holds the hose */
};

struct buying_list {
    const struct buying_item *items; /* in the rig's order */
    size_t item_count;
    const struct buying_length *cables, *pipes; /* by size, the unknown last */
    size_t cable_count, pipe_count;
    const struct buying_clamps *clamps; /* by outside, the unknown last */
    size_t clamp_count;
    const size_t *lone_plugs; /* plugs for which the list has no opposite half of the pattern and no
                                 panel with it; spares are not asked */
    size_t lone_plug_count;
    double barbed_ends;   /* sum of clamps[].ends */
    double clamps_listed; /* clamps in the list that are no spares */
    double clamped_ends;  /* sum of clamps[].clamped: each clamp holds one end. A hose of unknown
                             outside, and a clamp of unknown size, fit any */
    struct buying_price price;
};

/* The rig's list; it lives in arena, names of the rig's parts by their number. What is there
 * already (`bought: no`) is not on it, nor are clamps for such a hose. Needs nothing that is
 * solved. NULL when memory runs out; there is no other failure. */
const struct buying_list *buying_list(struct arena *arena, const struct rig *rig);

/* Metres in the list of cable of one conductor area (m2), or of pipe of one bore (m): sizes that
 * differ by less than one part in 1e9 are the same. Sets *unmeasured (may be NULL) to the pieces
 * that have no length. 0 when the list has none. */
double buying_cable_m(const struct buying_list *list, double area_m2, double *unmeasured);
double buying_pipe_m(const struct buying_list *list, double bore_m, double *unmeasured);
#endif
