#include "solve/network.h"

#include <assert.h>
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
static const double flattest = 1e-7;

struct branch {
    size_t from, to;
    network_law *law;
    const void *context;
    int at[4]; /* where it adds in the matrix: from-from, to-to, from-to, to-from; -1: nowhere */
};

struct network {
    size_t node_count, branch_count;
    struct branch *branches;
    bool *fixed;
    int *row; /* of a free node; NO_ROW when fixed */
    double *effort, *inject, *busiest;
    double *flow, *slope, *excess, *step;
    int free_count;
    int *column, *row_of; /* compressed columns */
    double *value, *right;
    double scale, least_slope;
    klu_common common;
    klu_symbolic *symbolic;
    klu_numeric *numeric;
    int iterations;
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
    network->fixed = calloc(nodes, sizeof *network->fixed);
    network->row = calloc(nodes, sizeof *network->row);
    network->effort = calloc(4 * nodes, sizeof *network->effort);
    network->flow = calloc(4 * branches, sizeof *network->flow);
    if (!network->branches || !network->fixed || !network->row || !network->effort ||
        !network->flow) {
        network_drop(network);
        return NULL;
    }
    network->inject = network->effort + nodes;
    network->right = network->effort + 2 * nodes;
    network->busiest = network->effort + 3 * nodes;
    network->slope = network->flow + branches;
    network->excess = network->flow + 2 * branches;
    network->step = network->flow + 3 * branches;
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
        (struct branch){ .from = from, .to = to, .law = law, .context = context };
}

void network_fix(struct network *network, size_t node, bool fixed)
{
    assert(!network->symbolic);
    network->fixed[node] = fixed;
}

void network_set_effort(struct network *network, size_t node, double effort)
{
    network->effort[node] = effort;
}

void network_inject(struct network *network, size_t node, double flow)
{
    network->inject[node] = flow;
}

void network_set_scale(struct network *network, double flow_scale, double least_slope)
{
    network->scale = flow_scale;
    network->least_slope = least_slope;
}

void network_restart(struct network *network)
{
    memset(network->flow, 0, network->branch_count * sizeof *network->flow);
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

static void number_rows(struct network *network)
{
    network->free_count = 0;
    for (size_t i = 0; i < network->node_count; i++)
        network->row[i] = network->fixed[i] ? NO_ROW : network->free_count++;
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
    for (size_t b = 0; b < network->branch_count; b++) {
        struct branch *branch = &network->branches[b];
        int from = row_at(network, branch->from), to = row_at(network, branch->to);
        bool both = from >= 0 && to >= 0 && from != to;
        branch->at[0] = from >= 0 && from != to ? network->column[from] : -1;
        branch->at[1] = to >= 0 && from != to ? network->column[to] : -1;
        branch->at[2] = both ? find_entry(network, to, from) : -1;
        branch->at[3] = both ? find_entry(network, from, to) : -1;
    }
    return true;
}

static void chain(struct pattern *pattern, int link, int row, int other)
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
        for (size_t b = 0; b < network->branch_count; b++) {
            int from = row_at(network, network->branches[b].from);
            int to = row_at(network, network->branches[b].to);
            if (from < 0 || to < 0 || from == to)
                continue;
            chain(&pattern, (int)(2 * b), from, to);
            chain(&pattern, (int)(2 * b + 1), to, from);
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
    assert(!network->symbolic);
    if (!hold_every_part(network))
        return OUTCOME_NO_MEMORY;
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
    }
    return OUTCOME_OK;
}

/* ---- Solving ---- */

static double effort_at(const struct network *network, size_t node)
{
    return node == NETWORK_GROUND ? 0.0 : network->effort[node];
}

static double push(const struct network *network, size_t branch)
{
    const struct branch *b = &network->branches[branch];
    return effort_at(network, b->from) - effort_at(network, b->to);
}

static double drop_at(const struct network *network, size_t branch, double flow, double *slope)
{
    const struct branch *b = &network->branches[branch];
    return b->law(b->context, flow, slope);
}

/* Laws at the present flows: what each branch's drop falls short of its push. */
static bool read_laws(struct network *network)
{
    double typical = 0.0;
    for (size_t b = 0; b < network->branch_count; b++) {
        double drop = drop_at(network, b, network->flow[b], &network->slope[b]);
        network->excess[b] = push(network, b) - drop;
        if (!isfinite(drop) || !isfinite(network->slope[b]))
            return false;
        /* a shut branch tells nothing of what is typical */
        typical = fmax(typical, fmin(network->slope[b], 1e9));
    }
    double floor = fmax(flattest * typical, network->least_slope);
    for (size_t b = 0; b < network->branch_count; b++)
        network->slope[b] = fmax(network->slope[b], floor);
    return true;
}

static bool factor(struct network *network)
{
    memset(network->value, 0, (size_t)network->column[network->free_count] * sizeof(double));
    for (size_t b = 0; b < network->branch_count; b++) {
        const int *at = network->branches[b].at;
        double conductance = 1.0 / network->slope[b];
        for (int i = 0; i < 4; i++)
            if (at[i] >= 0)
                network->value[at[i]] += i < 2 ? conductance : -conductance;
    }
    /* A node that no branch holds firmly (none, or only shut ones) still needs a pivot. */
    for (int r = 0; r < network->free_count; r++)
        if (!(network->value[network->column[r]] > 0.0))
            network->value[network->column[r]] = 1.0;
    if (network->numeric &&
        klu_refactor(network->column, network->row_of, network->value, network->symbolic,
                     network->numeric, &network->common) &&
        network->common.status == KLU_OK)
        return true;
    if (network->numeric)
        klu_free_numeric(&network->numeric, &network->common);
    network->numeric = klu_factor(network->column, network->row_of, network->value,
                                  network->symbolic, &network->common);
    return network->numeric && network->common.status == KLU_OK;
}

/* Right side: what each node lacks, present flows and excess efforts together. */
static void gather(struct network *network, bool balanced)
{
    for (size_t i = 0; i < network->node_count; i++)
        if (network->row[i] >= 0)
            network->right[network->row[i]] = balanced ? 0.0 : network->inject[i];
    for (size_t b = 0; b < network->branch_count; b++) {
        double out = network->excess[b] / network->slope[b];
        if (!balanced)
            out += network->flow[b];
        int from = row_at(network, network->branches[b].from);
        int to = row_at(network, network->branches[b].to);
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
    return network->free_count == 0 ||
           klu_solve(network->symbolic, network->numeric, network->free_count, 1, network->right,
                     &network->common);
}

/* One step of Newton: efforts move, and the flow step is laid out. */
static bool newton_step(struct network *network)
{
    if (network->free_count > 0 && !factor(network))
        return false;
    gather(network, false);
    if (!solve_rows(network))
        return false;
    for (size_t b = 0; b < network->branch_count; b++) {
        const struct branch *branch = &network->branches[b];
        double more = right_at(network, branch->from) - right_at(network, branch->to);
        network->step[b] = (network->excess[b] + more) / network->slope[b];
        if (!isfinite(network->step[b]))
            return false;
    }
    for (size_t i = 0; i < network->node_count; i++)
        if (network->row[i] >= 0)
            network->effort[i] += network->right[network->row[i]];
    return true;
}

/* Slope of the content along the step, at a share of it. Falls from below 0 at 0. */
static double slope_along(const struct network *network, double share)
{
    double sum = 0.0;
    for (size_t b = 0; b < network->branch_count; b++) {
        double flow = network->flow[b] + share * network->step[b];
        double slope;
        double drop = drop_at(network, b, flow, &slope);
        sum += network->step[b] * (drop - push(network, b));
    }
    return sum;
}

/* The share of the step to take: all of it, unless it overshoots the lowest content by much. */
static double search(const struct network *network)
{
    double start = 0.0;
    for (size_t b = 0; b < network->branch_count; b++)
        start -= network->step[b] * network->step[b] * network->slope[b];
    double end = slope_along(network, 1.0);
    if (!(end > -0.5 * start) || start == 0.0)
        return 1.0;
    double low = 0.0, high = 1.0, low_slope = start, high_slope = end;
    double share = 1.0;
    for (int i = 0; i < MOST_SEARCH; i++) {
        /* secant, kept off the ends, in turn with halving */
        share = i % 2 ? 0.5 * (low + high)
                      : low + (high - low) * fmin(fmax(low_slope / (low_slope - high_slope), 0.02), 0.98);
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
    for (size_t b = 0; b < network->branch_count; b++)
        most = fmax(most, fabs(network->flow[b]));
    return most;
}

static double largest_step(const struct network *network)
{
    double most = 0.0;
    for (size_t b = 0; b < network->branch_count; b++)
        most = fmax(most, fabs(network->step[b]));
    return most;
}

enum network_end network_solve(struct network *network)
{
    bool balanced = network_imbalance(network) < 1e-12;
    double last = INFINITY;
    for (network->iterations = 1; network->iterations <= MOST_ITERATIONS; network->iterations++) {
        if (!read_laws(network) || !newton_step(network))
            return network->common.status == KLU_OUT_OF_MEMORY ? NETWORK_NO_MEMORY
                                                               : NETWORK_UNSETTLED;
        /* A first step from flows that do not balance has to be taken whole; so may one that is
         * nothing but rounding, along which the search could see no content fall. */
        bool rounding = largest_step(network) <=
                        fmax(1e-13 * largest_flow(network), 1e-9 * network->scale);
        double share = balanced && !rounding ? search(network) : 1.0;
        balanced = true;
        for (size_t b = 0; b < network->branch_count; b++)
            network->flow[b] += share * network->step[b];
        double move = largest_step(network);
        double most = largest_flow(network);
        if (share == 1.0 && (move <= 1e-13 * most || (move <= 1e-9 * most && move >= 0.25 * last)))
            return NETWORK_SETTLED;
        last = move;
    }
    return NETWORK_UNSETTLED;
}

double network_flow(const struct network *network, size_t branch)
{
    return network->flow[branch];
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
    for (size_t b = 0; b < network->branch_count; b++)
        scale = fmax(scale, 1e-6 * fabs(network->flow[b]));
    for (size_t i = 0; i < network->node_count; i++) {
        if (network->row[i] < 0)
            continue;
        sum[network->row[i]] = network->inject[i];
        busiest[network->row[i]] = fmax(scale, fabs(network->inject[i]));
    }
    for (size_t b = 0; b < network->branch_count; b++) {
        double flow = network->flow[b];
        int from = row_at(network, network->branches[b].from);
        int to = row_at(network, network->branches[b].to);
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
    const struct branch *pushed = &network->branches[by];
    const struct branch *seen = &network->branches[of];
    int from = row_at(network, pushed->from), to = row_at(network, pushed->to);
    double direct = 1.0 / network->slope[by];
    if (network->free_count > 0)
        memset(network->right, 0, (size_t)network->free_count * sizeof *network->right);
    if (from >= 0)
        network->right[from] -= direct;
    if (to >= 0)
        network->right[to] += direct;
    if (!solve_rows(network))
        return NAN;
    double more = right_at(network, seen->from) - right_at(network, seen->to);
    return more / network->slope[of] + (of == by ? direct : 0.0);
}
