#include "solve/network.h"

#include <assert.h>
#include <float.h>
#include <klu.h>
#include <limits.h>
#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#define NO_ROW (-1)

enum { MOST_ITERATIONS = 200, MOST_SEARCH = 60 };

/* The slope that a step takes at the least, as a share of the typical slope: laws like that
 * of an open valve are flat at rest. It shapes steps, not answers. */
static const double flattest = 1e-10;

/* Steps may be taken with slopes of before, and what was factored of them, while no slope is
 * further from what it was than this share: each such step leaves about this share of what it sets
 * out from, so that two or three come as close as one with slopes of its own. Worth it where
 * factoring costs more than so many multiplications for each law that a step more has to read. */
static const double near_slope = 0.03;
static const double dear_factoring = 100.0;

/* A step of which the search would take less than this runs into a wall: an outlet that lets no
 * more through, a valve that shuts. To search on would meet one wall a step. Instead some steps are
 * taken whole: laws are straight on a wall, so that Newton's method finds which of them are met as
 * one of active sets does. Should that lead nowhere, the search goes on from there. */
static const double short_share = 0.01;
enum { MOST_LEAPS = 40, MOST_STRIDES = 30, MOST_HALVINGS = 30 };

struct branch {
    size_t from, to;
    network_law *law;
    const void *context;
};

/* Branches in series, joined by nodes that have nothing else: one unknown flow. Most are single. */
struct chain {
    size_t first, count; /* in network->links */
    size_t from, to;
    int at[4]; /* where it adds in the matrix: from-from, to-to, from-to, to-from; -1: nowhere */
};

struct link {
    size_t branch;
    double sign; /* 1: along the chain, -1: against it */
};

struct network {
    size_t node_count, branch_count;
    struct branch *branches;
    bool *fixed, *kept; /* kept: flow may enter here */
    int *row;           /* of a free node; NO_ROW when fixed or inside a chain */
    double *effort, *inject, *busiest;
    struct chain *chains;
    struct link *links;
    size_t *chain_of, *link_of; /* by branch */
    size_t chain_count;
    /* by chain */
    double *flow, *drop, *slope, *true_slope, *excess, *step, *trial_drop, *trial_slope;
    int free_count;
    int *column, *row_of; /* compressed columns */
    double *value, *right;
    double scale, least_slope;
    klu_common common;
    klu_symbolic *symbolic;
    klu_numeric *numeric;
    bool ordered;
    bool dear;     /* factoring is */
    bool factored; /* numeric is of the slopes as they stand */
    int iterations, leaps_left;
    bool has_leapt;
    double reach; /* see farthest_reach() */
};

struct network *network_new(size_t node_count, size_t branch_count)
{
    if (node_count > INT_MAX / 8 || branch_count > INT_MAX / 8)
        return NULL;
    struct network *network = calloc(1, sizeof *network);
    if (!network)
        return NULL;
    /* one more of each, so that none is empty */
    size_t nodes = node_count + 1, branches = branch_count + 1;
    network->node_count = node_count;
    network->branch_count = branch_count;
    network->scale = 1e-12;
    network->least_slope = 1e-9;
    network->branches = calloc(branches, sizeof *network->branches);
    network->chains = calloc(branches, sizeof *network->chains);
    network->links = calloc(branches, sizeof *network->links);
    network->chain_of = calloc(2 * branches, sizeof *network->chain_of);
    network->fixed = calloc(2 * nodes, sizeof *network->fixed);
    network->row = calloc(nodes, sizeof *network->row);
    network->effort = calloc(4 * nodes, sizeof *network->effort);
    network->flow = calloc(8 * branches, sizeof *network->flow);
    if (!network->branches || !network->chains || !network->links || !network->chain_of ||
        !network->fixed || !network->row || !network->effort || !network->flow) {
        network_drop(network);
        return NULL;
    }
    network->link_of = network->chain_of + branches;
    network->kept = network->fixed + nodes;
    network->inject = network->effort + nodes;
    network->right = network->effort + 2 * nodes;
    network->busiest = network->effort + 3 * nodes;
    double **arrays[] = {&network->drop,       &network->slope, &network->true_slope,
                         &network->excess,     &network->step,  &network->trial_drop,
                         &network->trial_slope};
    for (size_t i = 0; i < sizeof arrays / sizeof *arrays; i++)
        *arrays[i] = network->flow + (i + 1) * branches;
    klu_defaults(&network->common);
    network->common.btf = 0; /* symmetric: nothing to be had from a block form */
    return network;
}

void network_drop(struct network *network)
{
    if (!network)
        return;
    if (network->numeric)
        klu_free_numeric(&network->numeric, &network->common);
    if (network->symbolic)
        klu_free_symbolic(&network->symbolic, &network->common);
    free(network->branches);
    free(network->chains);
    free(network->links);
    free(network->chain_of);
    free(network->fixed);
    free(network->row);
    free(network->effort);
    free(network->flow);
    free(network->column);
    free(network->row_of);
    free(network->value);
    free(network);
}

void network_join(struct network *network, size_t branch, size_t from, size_t to, network_law *law,
                  const void *context)
{
    assert(branch < network->branch_count);
    assert(from < network->node_count || from == NETWORK_GROUND);
    assert(to < network->node_count || to == NETWORK_GROUND);
    network->branches[branch] =
        (struct branch){.from = from, .to = to, .law = law, .context = context};
}

void network_fix(struct network *network, size_t node, bool fixed)
{
    assert(!network->ordered);
    network->fixed[node] = fixed;
}

void network_set_effort(struct network *network, size_t node, double effort)
{
    network->effort[node] = effort;
}

void network_inject(struct network *network, size_t node, double flow)
{
    assert(!network->ordered || network->kept[node] || network->fixed[node]);
    network->kept[node] = true;
    network->inject[node] = flow;
}

void network_set_scale(struct network *network, double flow_scale, double least_slope)
{
    network->scale = flow_scale;
    network->least_slope = least_slope;
}

void network_restart(struct network *network)
{
    memset(network->flow, 0, network->chain_count * sizeof *network->flow);
    for (size_t i = 0; i < network->node_count; i++)
        if (!network->fixed[i])
            network->effort[i] = 0.0;
}

/* ---- Structure ---- */

static size_t root_of(size_t *parent, size_t node)
{
    while (parent[node] != node)
        node = parent[node] = parent[parent[node]];
    return node;
}

/* Fixes the first node of every part that no fixed node holds. Ground is the last place. */
static bool hold_every_part(struct network *network)
{
    size_t ground = network->node_count;
    size_t *parent = malloc((ground + 1) * sizeof *parent);
    bool *held = calloc(ground + 1, sizeof *held);
    bool enough = parent && held;
    if (enough) {
        for (size_t i = 0; i <= ground; i++)
            parent[i] = i;
        for (size_t b = 0; b < network->branch_count; b++) {
            size_t from = network->branches[b].from, to = network->branches[b].to;
            parent[root_of(parent, from == NETWORK_GROUND ? ground : from)] =
                root_of(parent, to == NETWORK_GROUND ? ground : to);
        }
        held[root_of(parent, ground)] = true;
        for (size_t i = 0; i < ground; i++)
            if (network->fixed[i])
                held[root_of(parent, i)] = true;
        for (size_t i = 0; i < ground; i++)
            if (!held[root_of(parent, i)]) {
                held[root_of(parent, i)] = true;
                network->fixed[i] = true;
            }
    }
    free(parent);
    free(held);
    return enough;
}

static int row_at(const struct network *network, size_t node)
{
    return node == NETWORK_GROUND ? NO_ROW : network->row[node];
}

/* ---- Series ---- */

struct ends { /* the branches at each node: at[first[n]] .. at[first[n + 1]] */
    size_t *first, *at;
};

static void free_ends(struct ends *ends)
{
    free(ends->first);
    free(ends->at);
}

static bool find_ends(const struct network *network, struct ends *ends)
{
    /* one place further on than where it is read, so that filling in moves it there */
    ends->first = calloc(network->node_count + 2, sizeof *ends->first);
    ends->at = calloc(2 * network->branch_count + 1, sizeof *ends->at);
    if (!ends->first || !ends->at)
        return false;
    size_t *first = ends->first + 1;
    for (size_t b = 0; b < network->branch_count; b++) {
        const size_t nodes[] = {network->branches[b].from, network->branches[b].to};
        for (int e = 0; e < 2; e++)
            if (nodes[e] != NETWORK_GROUND)
                first[nodes[e]]++;
    }
    size_t sum = 0;
    for (size_t i = 0; i < network->node_count; i++) {
        size_t count = first[i];
        first[i] = sum;
        sum += count;
    }
    for (size_t b = 0; b < network->branch_count; b++) {
        const size_t nodes[] = {network->branches[b].from, network->branches[b].to};
        for (int e = 0; e < 2; e++)
            if (nodes[e] != NETWORK_GROUND)
                ends->at[first[nodes[e]]++] = b;
    }
    return true;
}

/* A free node at which two branches meet and nothing enters. */
static bool is_inner(const struct network *network, const struct ends *ends, size_t node)
{
    return node != NETWORK_GROUND && !network->fixed[node] && !network->kept[node] &&
           ends->first[node + 1] - ends->first[node] == 2 &&
           ends->at[ends->first[node]] != ends->at[ends->first[node] + 1];
}

static size_t far_end(const struct branch *branch, size_t node)
{
    return branch->from == node ? branch->to : branch->from;
}

/* The chain through a branch: back to where it begins, then forth. */
static void lay_chain(struct network *network, const struct ends *ends, size_t branch,
                      size_t *next_link)
{
    size_t start = network->branches[branch].from, first = branch;
    for (size_t n = 0; n < network->branch_count && is_inner(network, ends, start); n++) {
        const size_t *two = &ends->at[ends->first[start]];
        size_t before = two[0] == first ? two[1] : two[0];
        if (before == branch)
            break; /* a ring: it begins anywhere */
        first = before;
        start = far_end(&network->branches[first], start);
    }
    struct chain *chain = &network->chains[network->chain_count];
    *chain = (struct chain){.first = *next_link, .from = start};
    size_t here = start, b = first;
    for (;;) {
        network->links[*next_link] =
            (struct link){b, network->branches[b].from == here ? 1.0 : -1.0};
        network->chain_of[b] = network->chain_count;
        network->link_of[b] = (*next_link)++;
        chain->count++;
        here = far_end(&network->branches[b], here);
        if (!is_inner(network, ends, here))
            break;
        const size_t *two = &ends->at[ends->first[here]];
        b = two[0] == b ? two[1] : two[0];
        if (network->chain_of[b] != SIZE_MAX)
            break;
    }
    chain->to = here;
    network->chain_count++;
}

static bool find_chains(struct network *network)
{
    struct ends ends = {NULL, NULL};
    bool enough = find_ends(network, &ends);
    size_t next_link = 0;
    for (size_t b = 0; b < network->branch_count; b++)
        network->chain_of[b] = SIZE_MAX;
    for (size_t b = 0; b < network->branch_count && enough; b++)
        if (network->chain_of[b] == SIZE_MAX)
            lay_chain(network, &ends, b, &next_link);
    for (size_t i = 0; i < network->node_count && enough; i++)
        network->row[i] = is_inner(network, &ends, i) ? NO_ROW : 0;
    free_ends(&ends);
    return enough;
}

/* The ends of chains that are not fixed are the unknowns. A ring's own end counts as one. */
static void number_rows(struct network *network)
{
    network->free_count = 0;
    for (size_t i = 0; i < network->chain_count; i++)
        if (network->chains[i].from != NETWORK_GROUND)
            network->row[network->chains[i].from] = 0;
    for (size_t i = 0; i < network->node_count; i++)
        network->row[i] =
            network->fixed[i] || network->row[i] == NO_ROW ? NO_ROW : network->free_count++;
}

/* Entries of one column, unsorted, each neighbour once: walks the branches that touch it. */
struct pattern {
    int *first, *next, *other; /* for each row a chain of neighbours; 2 per branch */
};

static int find_entry(const struct network *network, int column, int row)
{
    for (int i = network->column[column]; i < network->column[column + 1]; i++)
        if (network->row_of[i] == row)
            return i;
    return -1;
}

static bool lay_out(struct network *network, const struct pattern *pattern)
{
    int rows = network->free_count;
    int count = 0;
    int *seen = malloc(((size_t)rows + 1) * sizeof *seen);
    if (!seen)
        return false;
    for (int r = 0; r < rows; r++)
        seen[r] = -1;
    for (int r = 0; r < rows; r++) {
        network->column[r] = count;
        network->row_of[count++] = r;
        for (int link = pattern->first[r]; link >= 0; link = pattern->next[link]) {
            int other = pattern->other[link];
            if (seen[other] != r) {
                seen[other] = r;
                network->row_of[count++] = other;
            }
        }
    }
    network->column[rows] = count;
    free(seen);
    for (size_t b = 0; b < network->chain_count; b++) {
        struct chain *branch = &network->chains[b];
        int from = row_at(network, branch->from), to = row_at(network, branch->to);
        bool both = from >= 0 && to >= 0 && from != to;
        branch->at[0] = from >= 0 && from != to ? network->column[from] : -1;
        branch->at[1] = to >= 0 && from != to ? network->column[to] : -1;
        branch->at[2] = both ? find_entry(network, to, from) : -1;
        branch->at[3] = both ? find_entry(network, from, to) : -1;
    }
    return true;
}

static void note_pair(struct pattern *pattern, int link, int row, int other)
{
    pattern->other[link] = other;
    pattern->next[link] = pattern->first[row];
    pattern->first[row] = link;
}

static bool find_pattern(struct network *network)
{
    size_t rows = (size_t)network->free_count;
    size_t links = 2 * network->branch_count + 1;
    struct pattern pattern = {
        .first = malloc((rows + 1) * sizeof(int)),
        .next = malloc(links * sizeof(int)),
        .other = malloc(links * sizeof(int)),
    };
    bool enough = pattern.first && pattern.next && pattern.other;
    if (enough) {
        for (size_t r = 0; r <= rows; r++)
            pattern.first[r] = -1;
        for (size_t b = 0; b < network->chain_count; b++) {
            int from = row_at(network, network->chains[b].from);
            int to = row_at(network, network->chains[b].to);
            if (from < 0 || to < 0 || from == to)
                continue;
            note_pair(&pattern, (int)(2 * b), from, to);
            note_pair(&pattern, (int)(2 * b + 1), to, from);
        }
        enough = lay_out(network, &pattern);
    }
    free(pattern.first);
    free(pattern.next);
    free(pattern.other);
    return enough;
}

enum outcome network_order(struct network *network)
{
    assert(!network->ordered);
    if (!hold_every_part(network) || !find_chains(network))
        return OUTCOME_NO_MEMORY;
    network->ordered = true;
    number_rows(network);
    size_t rows = (size_t)network->free_count;
    size_t entries = rows + 2 * network->branch_count + 1;
    network->column = calloc(rows + 1, sizeof *network->column);
    network->row_of = calloc(entries, sizeof *network->row_of);
    network->value = calloc(entries, sizeof *network->value);
    if (!network->column || !network->row_of || !network->value || !find_pattern(network))
        return OUTCOME_NO_MEMORY;
    if (rows > 0) {
        network->symbolic =
            klu_analyze((int)rows, network->column, network->row_of, &network->common);
        if (!network->symbolic)
            return OUTCOME_NO_MEMORY;
        network->dear =
            network->symbolic->est_flops > dear_factoring * (double)network->chain_count;
    }
    return OUTCOME_OK;
}

/* ---- Solving ---- */

static double effort_at(const struct network *network, size_t node)
{
    return node == NETWORK_GROUND ? 0.0 : network->effort[node];
}

static double push(const struct network *network, size_t chain)
{
    const struct chain *c = &network->chains[chain];
    return effort_at(network, c->from) - effort_at(network, c->to);
}

static double chain_law(const struct network *network, size_t chain, double flow, double *slope)
{
    const struct chain *c = &network->chains[chain];
    double drop = 0.0;
    *slope = 0.0;
    for (size_t i = c->first; i < c->first + c->count; i++) {
        const struct link *link = &network->links[i];
        const struct branch *branch = &network->branches[link->branch];
        double more;
        drop += link->sign * branch->law(branch->context, link->sign * flow, &more);
        *slope += more;
    }
    return drop;
}

/* A shut valve, an outlet that lets no more through: they tell nothing of what is typical. */
static bool is_wall(double slope)
{
    return slope >= 1e9;
}

static void read_laws(struct network *network)
{
    for (size_t b = 0; b < network->chain_count; b++)
        network->drop[b] = chain_law(network, b, network->flow[b], &network->true_slope[b]);
}

/* Are the slopes that were factored still near enough? */
static bool may_hold_slopes(const struct network *network, double floor)
{
    if (!network->dear || !network->factored)
        return false;
    double most = 0.0;
    for (size_t b = 0; b < network->chain_count; b++) {
        double slope = fmax(network->true_slope[b], floor);
        most = fmax(most, fabs(slope - network->slope[b]) / network->slope[b]);
    }
    return most <= near_slope;
}

/* What each chain's drop falls short of its push, and the slope that a step reckons with. */
static bool weigh_laws(struct network *network)
{
    double typical = 0.0;
    for (size_t b = 0; b < network->chain_count; b++) {
        network->excess[b] = push(network, b) - network->drop[b];
        if (!isfinite(network->drop[b]) || !isfinite(network->true_slope[b]))
            return false;
        if (!is_wall(network->true_slope[b]))
            typical = fmax(typical, network->true_slope[b]);
    }
    double floor = fmax(flattest * typical, network->least_slope);
    if (may_hold_slopes(network, floor))
        return true;
    network->factored = false;
    for (size_t b = 0; b < network->chain_count; b++)
        network->slope[b] = fmax(network->true_slope[b], floor);
    return true;
}

static void fill_matrix(struct network *network)
{
    memset(network->value, 0, (size_t)network->column[network->free_count] * sizeof(double));
    for (size_t b = 0; b < network->chain_count; b++) {
        const int *at = network->chains[b].at;
        double conductance = 1.0 / network->slope[b];
        for (int i = 0; i < 4; i++)
            if (at[i] >= 0)
                network->value[at[i]] += i < 2 ? conductance : -conductance;
    }
    /* A node that no branch holds firmly (none, or only shut ones) still needs a pivot. */
    for (int r = 0; r < network->free_count; r++)
        if (!(network->value[network->column[r]] > 0.0))
            network->value[network->column[r]] = 1.0;
}

static bool factor(struct network *network)
{
    if (network->factored)
        return true;
    fill_matrix(network);
    network->factored = network->free_count == 1 ||
                        (network->numeric &&
                         klu_refactor(network->column, network->row_of, network->value,
                                      network->symbolic, network->numeric, &network->common) &&
                         network->common.status == KLU_OK);
    if (network->factored)
        return true;
    if (network->numeric)
        klu_free_numeric(&network->numeric, &network->common);
    network->numeric = klu_factor(network->column, network->row_of, network->value,
                                  network->symbolic, &network->common);
    network->factored = network->numeric && network->common.status == KLU_OK;
    return network->factored;
}

/* Right side: what each node lacks, present flows and excess efforts together. */
static void gather(struct network *network)
{
    for (size_t i = 0; i < network->node_count; i++)
        if (network->row[i] >= 0)
            network->right[network->row[i]] = network->inject[i];
    for (size_t b = 0; b < network->chain_count; b++) {
        double out = network->excess[b] / network->slope[b] + network->flow[b];
        int from = row_at(network, network->chains[b].from);
        int to = row_at(network, network->chains[b].to);
        if (from >= 0)
            network->right[from] -= out;
        if (to >= 0)
            network->right[to] += out;
    }
}

static double right_at(const struct network *network, size_t node)
{
    int row = row_at(network, node);
    return row < 0 ? 0.0 : network->right[row];
}

static bool solve_rows(struct network *network)
{
    if (network->free_count == 0)
        return true;
    if (network->free_count == 1) {
        network->right[0] /= network->value[network->column[0]];
        return true;
    }
    return klu_solve(network->symbolic, network->numeric, network->free_count, 1, network->right,
                     &network->common);
}

/* One step of Newton: efforts move, and the flow step is laid out. */
static bool newton_step(struct network *network)
{
    if (network->free_count > 0 && !factor(network))
        return false;
    gather(network);
    if (!solve_rows(network))
        return false;
    for (size_t b = 0; b < network->chain_count; b++) {
        const struct chain *chain = &network->chains[b];
        double more = right_at(network, chain->from) - right_at(network, chain->to);
        network->step[b] = (network->excess[b] + more) / network->slope[b];
        if (!isfinite(network->step[b]))
            return false;
    }
    for (size_t i = 0; i < network->node_count; i++)
        if (network->row[i] >= 0)
            network->effort[i] += network->right[network->row[i]];
    return true;
}

/* Slope of the content along the step, at a share of it; rises from below 0 at 0. The laws
 * there are left in trial_drop and trial_slope. */
static double slope_along(struct network *network, double share)
{
    double sum = 0.0;
    for (size_t b = 0; b < network->chain_count; b++) {
        double flow = network->flow[b] + share * network->step[b];
        network->trial_drop[b] = chain_law(network, b, flow, &network->trial_slope[b]);
        sum += network->step[b] * (network->trial_drop[b] - push(network, b));
    }
    return sum;
}

/* The share of the step to take: all of it, unless it overshoots the lowest content by much. */
static double search(struct network *network)
{
    double start = 0.0;
    for (size_t b = 0; b < network->chain_count; b++)
        start -= network->step[b] * network->step[b] * network->slope[b];
    double end = slope_along(network, 1.0);
    if (!(end > -0.5 * start) || start == 0.0)
        return 1.0;
    double low = 0.0, high = 1.0, low_slope = start, high_slope = end;
    double share = 1.0;
    for (int i = 0; i < MOST_SEARCH; i++) {
        /* secant, kept off the ends, in turn with halving */
        share = i % 2 ? 0.5 * (low + high)
                      : low + (high - low) *
                                  fmin(fmax(low_slope / (low_slope - high_slope), 0.02), 0.98);
        double here = slope_along(network, share);
        if (fabs(here) <= -0.5 * start)
            break;
        if (here > 0.0) {
            high = share;
            high_slope = here;
        } else {
            low = share;
            low_slope = here;
        }
    }
    return share;
}

static double largest_flow(const struct network *network)
{
    double most = network->scale;
    for (size_t b = 0; b < network->chain_count; b++)
        most = fmax(most, fabs(network->flow[b]));
    return most;
}

static double largest_step(const struct network *network)
{
    double most = 0.0;
    for (size_t b = 0; b < network->chain_count; b++)
        most = fmax(most, fabs(network->step[b]));
    return most;
}

/* Efforts at the nodes inside chains: what is left along the way. */
static void fill_chains(struct network *network)
{
    for (size_t c = 0; c < network->chain_count; c++) {
        const struct chain *chain = &network->chains[c];
        size_t here = chain->from;
        double effort = effort_at(network, here), slope;
        for (size_t i = chain->first; i + 1 < chain->first + chain->count; i++) {
            const struct link *link = &network->links[i];
            const struct branch *branch = &network->branches[link->branch];
            effort -=
                link->sign * branch->law(branch->context, link->sign * network->flow[c], &slope);
            here = far_end(branch, here);
            network->effort[here] = effort;
        }
    }
}

/* The largest flow that what is left of efforts would still move, by each chain's own slope. */
static double left_to_move(const struct network *network)
{
    double most = 0.0;
    for (size_t b = 0; b < network->chain_count; b++)
        most = fmax(most, fabs(network->excess[b]) / network->slope[b]);
    return most;
}

/* ---- Leaps ---- */

/* No chain can be pushed by more: as far as the fixed efforts lie apart, and what branches push
 * themselves. */
static double farthest_reach(const struct network *network)
{
    double low = INFINITY, high = -INFINITY, own = 0.0, slope;
    for (size_t i = 0; i < network->node_count; i++)
        if (network->fixed[i]) {
            low = fmin(low, network->effort[i]);
            high = fmax(high, network->effort[i]);
        }
    for (size_t b = 0; b < network->chain_count; b++)
        own += fabs(chain_law(network, b, 0.0, &slope));
    return low <= high ? own + fmax(high, 0.0) - fmin(low, 0.0) : own;
}

static void begin_leaps(struct network *network)
{
    network->leaps_left = MOST_LEAPS;
    network->has_leapt = true;
    network->reach = farthest_reach(network);
}

/* The flow at which a chain's law comes to what its ends push: from where it is in ever wider
 * strides until the flow lies between two, then by halving. */
static double pushed_flow(const struct network *network, size_t chain)
{
    double flow = network->flow[chain], slope;
    double want = fmin(fmax(push(network, chain), -network->reach), network->reach);
    double way = chain_law(network, chain, flow, &slope) < want ? 1.0 : -1.0;
    double near = flow, far = flow + way * network->scale;
    for (int i = 0; i < MOST_STRIDES; i++) {
        if (way * (chain_law(network, chain, far, &slope) - want) >= 0.0)
            break;
        near = far;
        far += 4.0 * (far - flow);
    }
    for (int i = 0; i < MOST_HALVINGS; i++) {
        double middle = 0.5 * (near + far);
        if (way * (chain_law(network, chain, middle, &slope) - want) >= 0.0)
            far = middle;
        else
            near = middle;
    }
    return near;
}

/* After a step that was taken whole. A chain that has just come off a wall stands where its law is
 * flat, and tells nothing of the flow that it will have; one far beyond what can push it would come
 * back by a share of it a step, a small one where the law is steep. Both take the flow that belongs
 * to the efforts at their ends; the next step puts right what nodes then lack. False: there was
 * none. */
static bool mend_flows(struct network *network)
{
    bool mended = false;
    for (size_t b = 0; b < network->chain_count; b++) {
        double slope, drop = chain_law(network, b, network->flow[b], &slope);
        bool off_wall = is_wall(network->true_slope[b]) && !is_wall(slope);
        if (!off_wall && fabs(drop) <= network->reach)
            continue;
        network->flow[b] = pushed_flow(network, b);
        mended = true;
    }
    return mended;
}

/* ---- Steps ---- */

#define EFFORT_CLOSE 1e-11
enum { MOST_MORE = 3 }; /* further steps for it: rounding may not let it come so close */

/* What is left of efforts in a chain whose flow is as good as none (it is shut) is an error of the
 * head behind it, however little it would move. Not so at a wall that is met at some flow: there
 * the last bit of the flow is more than that. */
static bool is_close(const struct network *network)
{
    for (size_t b = 0; b < network->chain_count; b++)
        if (fabs(network->excess[b]) >
            fmax(EFFORT_CLOSE, DBL_EPSILON * fabs(network->flow[b]) * network->true_slope[b]))
            return false;
    return true;
}

static void move_flows(struct network *network, double share)
{
    for (size_t b = 0; b < network->chain_count; b++)
        network->flow[b] += share * network->step[b];
}

/* Takes a step, or the part of it that the search finds, and reads the laws there. *balanced: as
 * the flows then are. Gives the share that was taken; 0 when flows were mended, so that nothing has
 * settled yet. */
static double take_step(struct network *network, bool search_it, bool *balanced)
{
    double share = search_it ? search(network) : 1.0;
    *balanced = true;
    if (share < short_share && !network->has_leapt)
        begin_leaps(network);
    if (network->leaps_left > 0) {
        network->leaps_left--;
        move_flows(network, 1.0);
        *balanced = !mend_flows(network);
        read_laws(network);
        return *balanced ? 1.0 : 0.0;
    }
    move_flows(network, share);
    if (search_it) {
        memcpy(network->drop, network->trial_drop, network->chain_count * sizeof(double));
        memcpy(network->true_slope, network->trial_slope, network->chain_count * sizeof(double));
    } else {
        read_laws(network);
    }
    return share;
}

enum network_end network_solve(struct network *network)
{
    bool balanced = network_imbalance(network) < 1e-12;
    double move = INFINITY, last = INFINITY, share = 0.0;
    int more = MOST_MORE;
    network->leaps_left = 0;
    network->has_leapt = false;
    read_laws(network);
    for (network->iterations = 0; network->iterations <= MOST_ITERATIONS; network->iterations++) {
        if (!weigh_laws(network))
            return NETWORK_UNSETTLED;
        double most = largest_flow(network);
        if (share == 1.0) {
            bool settled = left_to_move(network) <= fmax(1e-13 * most, 1e-6 * network->scale) ||
                           (move <= 1e-9 * most && move >= 0.25 * last);
            if (settled && (is_close(network) || more-- == 0))
                return NETWORK_SETTLED;
        }
        if (!newton_step(network))
            return network->common.status == KLU_OUT_OF_MEMORY ? NETWORK_NO_MEMORY
                                                               : NETWORK_UNSETTLED;
        last = move;
        move = largest_step(network);
        /* A first step from flows that do not balance has to be taken whole; so may one so small
         * that the laws are straight along it, where a search would only find rounding. */
        bool search_it = balanced && move > 1e-8 * most && network->leaps_left == 0;
        share = take_step(network, search_it, &balanced);
    }
    return NETWORK_UNSETTLED;
}

double network_flow(const struct network *network, size_t branch)
{
    return network->links[network->link_of[branch]].sign * network->flow[network->chain_of[branch]];
}

void network_begin_at(struct network *network, size_t branch, double flow)
{
    if (network->chain_count == 1)
        network->flow[0] = network->links[network->link_of[branch]].sign * flow;
}

void network_fill(struct network *network)
{
    fill_chains(network);
}

double network_effort(const struct network *network, size_t node)
{
    return effort_at(network, node);
}

int network_iterations(const struct network *network)
{
    return network->iterations;
}

double network_imbalance(const struct network *network)
{
    double *sum = network->right; /* free between solves */
    double *busiest = network->busiest;
    double worst = 0.0;
    double scale = network->scale;
    for (size_t b = 0; b < network->chain_count; b++)
        scale = fmax(scale, 1e-6 * fabs(network->flow[b]));
    for (size_t i = 0; i < network->node_count; i++) {
        if (network->row[i] < 0)
            continue;
        sum[network->row[i]] = network->inject[i];
        busiest[network->row[i]] = fmax(scale, fabs(network->inject[i]));
    }
    for (size_t b = 0; b < network->chain_count; b++) {
        double flow = network->flow[b];
        int from = row_at(network, network->chains[b].from);
        int to = row_at(network, network->chains[b].to);
        if (from >= 0) {
            sum[from] -= flow;
            busiest[from] = fmax(busiest[from], fabs(flow));
        }
        if (to >= 0) {
            sum[to] += flow;
            busiest[to] = fmax(busiest[to], fabs(flow));
        }
    }
    for (int r = 0; r < network->free_count; r++)
        worst = fmax(worst, fabs(sum[r]) / busiest[r]);
    return worst;
}

double network_response(struct network *network, size_t of, size_t by)
{
    const struct chain *pushed = &network->chains[network->chain_of[by]];
    const struct chain *seen = &network->chains[network->chain_of[of]];
    double sign =
        network->links[network->link_of[of]].sign * network->links[network->link_of[by]].sign;
    int from = row_at(network, pushed->from), to = row_at(network, pushed->to);
    double direct = 1.0 / network->slope[network->chain_of[by]];
    if (network->free_count > 0)
        memset(network->right, 0, (size_t)network->free_count * sizeof *network->right);
    if (from >= 0)
        network->right[from] -= direct;
    if (to >= 0)
        network->right[to] += direct;
    if (!solve_rows(network))
        return NAN;
    double more = right_at(network, seen->from) - right_at(network, seen->to);
    return sign * (more / network->slope[network->chain_of[of]] + (pushed == seen ? direct : 0.0));
}
