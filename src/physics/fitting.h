/* fitting.h - loss coefficients K of fittings by the rig's names for them, and
 * the head that a K costs. Knows nothing of rigs; names are plain strings.
 *
 * A K belongs to the velocity in the bore where the fitting sits, h = K v2/2g;
 * no correction is made for laminar flow. */
#ifndef RT_FITTING_H
#define RT_FITTING_H

/* What a pipe adds at its own ends: where it leaves a tank, and where it ends
 * in a tank or in the air, whatever the flow's direction. Textbook values
 * (Munson, Young and Okiishi, Fundamentals of Fluid Mechanics, table 8.2). */
#define FITTING_K_ENTRANCE 0.5
#define FITTING_K_EXIT 1.0
/* One return bend of a serpentine, threaded; same table. */
#define FITTING_K_RETURN_BEND 1.5
/* A swing check valve open; a standing pump is taken as one. Same table. */
#define FITTING_K_CHECK_SWING 2.0
/* Barb's bore over hose's bore when nobody knows it. */
#define FITTING_BARB_RATIO 0.80

/* K of a fitting: elbow, bend-45, return-bend, tee-run, tee-branch, ball-valve,
 * gate-valve, union, entry, exit, foot-valve; barb at FITTING_BARB_RATIO.
 * NAN for any other name, and for reducer, which needs its ratio. */
double fitting_k(const char *name);

/* K of a straight hose barb on the hose's velocity; ratio is the barb's bore
 * over the hose's. Straight between the rows 0.55 .. 0.90, held beyond. */
double fitting_barb_k(double ratio);

/* K of a sudden narrowing on the velocity in the *smaller* bore; ratio is the
 * smaller bore over the larger. Straight between the rows 0.40 .. 0.95 and on
 * to nothing at 1, held below. A ratio above 1 is taken as its inverse. */
double fitting_reducer_k(double ratio);

/* K on another bore's velocity: k (other/own)^4. */
double fitting_k_on_bore(double k, double own_bore_m, double other_bore_m);

/* Head lost in m, k v|v|/2g, signed as the flow; *by_flow_s_m2 (may be NULL) is
 * d h / d Q in s/m2, 0 at rest. */
double fitting_loss_m(double flow_m3s, double bore_m, double k, double *by_flow_s_m2);

#endif
