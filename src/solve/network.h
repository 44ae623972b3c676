/* network.h - nodes with an effort (head, volts), branches whose effort drop rises with
 * their flow, fixed efforts, injections: finds the flows that are conserved at every
 * node and the efforts that drive them. Knows nothing of water, wires or rigs.
 *
 * Such flows minimise a convex function (the content of W. Millar, Phil. Mag. 42 (1951)
 * 1150, from memory): Newton's steps keep every node balanced, and a line search on the
 * function's slope makes them converge from anywhere when every law rises. The linear
 * system is that of E. Todini and S. Pilati's gradient method (1988, from memory),
 * factored by SuiteSparse KLU: ordered once per structure, refactored per step; in large
 * meshes only when slopes have changed, as in Newton's method with a held derivative. */
#ifndef RT_NETWORK_H
#define RT_NETWORK_H
#include <stdbool.h>
#include <stddef.h>

#include "base/outcome.h"

#define NETWORK_GROUND SIZE_MAX /* a fixed node of effort 0 that is always there */

/* Effort lost from a branch's first node to its second at a flow, and its slope, which
 * must not be negative. May jump in slope, not in value. */
typedef double network_law(const void *context, double flow, double *slope);

struct network; /* owns its own memory until network_drop */

/* NULL when memory runs out. */
struct network *network_new(size_t node_count, size_t branch_count);
void network_drop(struct network *network); /* NULL is allowed */

/* Before network_order: which nodes a branch joins. Nodes beyond node_count are our own mistake. */
void network_join(struct network *network, size_t branch, size_t from, size_t to, network_law *law,
                  const void *context);
/* Whether a node's effort is given. A part of the network that no fixed node holds gets
 * its first node fixed at 0. May not change after network_order. */
void network_fix(struct network *network, size_t node, bool fixed);
/* Orders the unknowns. OUTCOME_NO_MEMORY or OUTCOME_OK. */
enum outcome network_order(struct network *network);

/* Effort of a fixed node; flow that enters the network at a free one. A node at which flow is
 * ever to enter has to be told so (0 will do) before network_order(). */
void network_set_effort(struct network *network, size_t node, double effort);
void network_inject(struct network *network, size_t node, double flow);
/* A size of flow below which nothing matters: convergence is to 1e-13 of the larger of it
 * and the largest flow. And the least slope that a step reckons with where a law is flat;
 * it shapes steps, not answers. */
void network_set_scale(struct network *network, double flow_scale, double least_slope);
/* Lets the next solve begin at a flow of a branch; only where all branches are one chain, which
 * has one flow. */
void network_begin_at(struct network *network, size_t branch, double flow);
/* Forgets the flows of the last solve, from which the next one starts. */
void network_restart(struct network *network);

enum network_end {
    NETWORK_SETTLED,
    NETWORK_UNSETTLED, /* no balance found within the iterations allowed, or a law gave no number */
    NETWORK_NO_MEMORY,
};
enum network_end network_solve(struct network *network);

double network_flow(const struct network *network, size_t branch);
/* Efforts; of nodes between just two branches only after network_fill(). */
void network_fill(struct network *network);
double network_effort(const struct network *network, size_t node);
int network_iterations(const struct network *network); /* of the last solve */

/* Largest imbalance of flow at any free node after the last solve, relative to the largest
 * flow through that node, or to the scale where that is larger. */
double network_imbalance(const struct network *network);

/* How the flow of branch `of` answers to one more unit of effort pushing in branch `by`
 * (its drop lowered by 1), after a solve that settled: d flow / d effort. */
double network_response(struct network *network, size_t of, size_t by);
#endif
