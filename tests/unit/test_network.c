/* test_network.c - the network solver on textbook pipe networks, on steep and flat laws,
 * and on a large grid. */
#include "check.h"

#include <time.h>

#include "physics/outlet.h"
#include "physics/pipe.h"
#include "physics/valve.h"
#include "solve/network.h"

struct line {
    double bore, length, roughness, k, viscosity;
};

static double line_law(const void *context, double flow, double *slope)
{
    const struct line *line = context;
    return pipe_loss_m(flow, line->bore, line->length, line->roughness, line->k, line->viscosity,
                       slope);
}

/* h = r Q |Q| */
static double square_law(const void *context, double flow, double *slope)
{
    double r = *(const double *)context;
    *slope = 2.0 * r * fabs(flow);
    return r * flow * fabs(flow);
}

/* Three pipes side by side between two levels 20.3 m apart, water at 20 degC. F. M. White,
 * Fluid Mechanics, 5th ed, example 6.18 (from memory): 62.5, 25.9 and 11.4 m3/h. Chart
 * figures of three digits. */
static void parallel_pipes(void **state)
{
    (void)state;
    const double nu = 1.02e-6;
    const struct line lines[] = {{0.08, 100.0, 0.24e-3, 0.0, nu},
                                 {0.06, 150.0, 0.12e-3, 0.0, nu},
                                 {0.04, 80.0, 0.20e-3, 0.0, nu}};
    const double published[] = {62.5, 25.9, 11.4};
    struct network *network = network_new(2, 3);
    assert_non_null(network);
    for (size_t i = 0; i < 3; i++)
        network_join(network, i, 0, 1, line_law, &lines[i]);
    network_fix(network, 0, true);
    network_fix(network, 1, true);
    assert_int_equal(network_order(network), OUTCOME_OK);
    network_set_effort(network, 0, 20.3);
    assert_int_equal(network_solve(network), NETWORK_SETTLED);
    for (size_t i = 0; i < 3; i++)
        assert_near(network_flow(network, i) * 3600.0, published[i], 0.01);
    network_drop(network);
}

/* Two loops of the kind that H. Cross solved by hand (Univ. Illinois Bull. 286, 1936):
 * 100 units enter at a corner and leave at three others. By his own test the losses round
 * each loop cancel, and each node balances. */
static void two_loops(void **state)
{
    (void)state;
    /*  0 --a-- 1 --b-- 2
     *  |       |       |
     *  c       d       e
     *  |       |       |
     *  3 --f-- 4 --g-- 5  */
    static const double r[] = {3e-3, 4e-3, 2e-3, 6e-3, 1e-3, 5e-3, 2.5e-3};
    static const size_t ends[][2] = {{0, 1}, {1, 2}, {0, 3}, {1, 4}, {2, 5}, {3, 4}, {4, 5}};
    struct network *network = network_new(6, 7);
    assert_non_null(network);
    for (size_t b = 0; b < 7; b++)
        network_join(network, b, ends[b][0], ends[b][1], square_law, &r[b]);
    network_fix(network, 5, true);
    network_inject(network, 0, 100.0);
    network_inject(network, 2, -30.0);
    network_inject(network, 3, -25.0);
    assert_int_equal(network_order(network), OUTCOME_OK);
    assert_int_equal(network_solve(network), NETWORK_SETTLED);
    double q[7], h[7];
    for (size_t b = 0; b < 7; b++) {
        double slope;
        q[b] = network_flow(network, b);
        h[b] = square_law(&r[b], q[b], &slope);
    }
    assert_close(h[0] + h[3] - h[5] - h[2], 0.0, 1e-10);
    assert_close(h[1] + h[4] - h[6] - h[3], 0.0, 1e-10);
    assert_close(q[0] + q[2], 100.0, 1e-10);
    assert_close(q[1] + q[3], q[0], 1e-10);
    assert_close(q[1] - q[4], 30.0, 1e-10);
    assert_close(q[2] - q[5], 25.0, 1e-10);
    assert_close(q[4] + q[6], 45.0, 1e-10);
    assert_true(network_imbalance(network) < 1e-9);
    network_drop(network);
}

/* A shut valve beside an open one, a check valve against the flow, a dead end. */
struct gate {
    double kv, crack;
    bool shut;
};

static double gate_law(const void *context, double flow, double *slope)
{
    const struct gate *gate = context;
    if (gate->shut)
        return valve_shut_loss_m(flow, slope);
    if (gate->crack >= 0.0)
        return check_valve_loss_m(flow, gate->kv, gate->crack, 1000.0, slope);
    return valve_loss_m(flow, gate->kv, slope);
}

static void steep_and_flat_laws(void **state)
{
    (void)state;
    /* tank 0 at 3 m; node 1; tank 2 at 0 m. 0-1 open valve, 1-2: shut valve, open valve,
     * check valve forwards and one backwards; 1-3 a dead end behind an open valve. */
    const struct gate gates[] = {{1.0 / 3600, -1, false},  {1.0 / 3600, -1, true},
                                 {2.0 / 3600, -1, false},  {1.0 / 3600, 5000.0, false},
                                 {1.0 / 3600, 0.0, false}, {1.0 / 3600, -1, false}};
    static const size_t ends[][2] = {{0, 1}, {1, 2}, {1, 2}, {1, 2}, {2, 1}, {1, 3}};
    struct network *network = network_new(4, 6);
    assert_non_null(network);
    for (size_t b = 0; b < 6; b++)
        network_join(network, b, ends[b][0], ends[b][1], gate_law, &gates[b]);
    network_fix(network, 0, true);
    network_fix(network, 2, true);
    assert_int_equal(network_order(network), OUTCOME_OK);
    network_set_scale(network, 1e-9, 1.0);
    network_set_effort(network, 0, 3.0);
    assert_int_equal(network_solve(network), NETWORK_SETTLED);
    /* by hand: with unit u = kv 1 m3/h at 1 bar = 10.197 m: h1 solves sqrt(3-h) = 2 sqrt(h) +
     * sqrt(h-c) */
    double c = 5000.0 / (1000.0 * 9.80665), low = c, high = 3.0;
    for (int i = 0; i < 200; i++) {
        double h = 0.5 * (low + high);
        if (sqrt(3.0 - h) > 2.0 * sqrt(h) + sqrt(h - c))
            low = h;
        else
            high = h;
    }
    if (sqrt(3.0 - c) < 2.0 * sqrt(c)) /* the check valve stays shut */
        low = 3.0 / 5.0;
    assert_near(network_effort(network, 1), low, 1e-9);
    assert_near(network_effort(network, 3), low, 1e-9);
    assert_near(network_flow(network, 2), 2.0 / 3600 * sqrt(low / (1e5 / 9806.65)), 1e-9);
    assert_close(network_flow(network, 5), 0.0, 1e-12);
    assert_close(network_flow(network, 4), 0.0, 1e-12);
    assert_close(network_flow(network, 1), 0.0, 1e-12);
    assert_true(network_imbalance(network) < 1e-9);
    network_drop(network);
}

/* A ring with a pump and no tank: only differences of head are known. */
static double lift_law(const void *context, double flow, double *slope)
{
    (void)context;
    *slope = 1e4;
    return 1e4 * flow - 2.0;
}

static void closed_ring(void **state)
{
    (void)state;
    const struct line line = {0.013, 20.0, 1.5e-6, 3.0, 1e-6};
    struct network *network = network_new(2, 2);
    assert_non_null(network);
    network_join(network, 0, 0, 1, lift_law, NULL);
    network_join(network, 1, 1, 0, line_law, &line);
    assert_int_equal(network_order(network), OUTCOME_OK);
    assert_int_equal(network_solve(network), NETWORK_SETTLED);
    double slope, flow = network_flow(network, 0);
    assert_close(2.0 - 1e4 * flow, line_law(&line, flow, &slope), 1e-10);
    /* the answer to a pump that pushes 1e-6 m more, against a second solve */
    double response = network_response(network, 1, 0);
    assert_near(response, 1.0 / (1e4 + slope), 1e-6);
    network_drop(network);
}

/* 50 x 50 nodes, 4,900 pipes of many sizes, one tank, water drawn at every node. */
static void large_grid(void **state)
{
    (void)state;
    enum { SIDE = 50, NODES = SIDE * SIDE, PIPES = 2 * SIDE * (SIDE - 1) + 100 };
    static struct line lines[PIPES];
    uint32_t seed = 12345;
    struct network *network = network_new(NODES, PIPES);
    assert_non_null(network);
    size_t b = 0;
    for (size_t y = 0; y < SIDE; y++)
        for (size_t x = 0; x < SIDE; x++)
            for (size_t way = 0; way < 2; way++) {
                if ((way ? y : x) + 1 == SIDE)
                    continue;
                size_t here = y * SIDE + x;
                network_join(network, b, here, here + (way ? SIDE : 1), line_law, &lines[b]);
                b++;
            }
    while (b < PIPES) {
        seed = seed * 1664525u + 1013904223u;
        network_join(network, b, (seed >> 8) % NODES,
                     (seed >> 4) % NODES == (seed >> 8) % NODES ? ((seed >> 8) + 1) % NODES
                                                                : (seed >> 4) % NODES,
                     line_law, &lines[b]);
        b++;
    }
    for (size_t i = 0; i < PIPES; i++) {
        seed = seed * 1664525u + 1013904223u;
        double share = (double)(seed >> 8) / 16777216.0;
        lines[i] = (struct line){0.01 + 0.09 * share, 5.0 + 100.0 * share, 1e-5, 2.0, 1.1e-6};
    }
    network_fix(network, 0, true);
    clock_t start = clock();
    for (size_t i = 1; i < NODES; i++)
        network_inject(network, i, i % 3 ? -1e-6 : -2e-5);
    assert_int_equal(network_order(network), OUTCOME_OK);
    network_set_effort(network, 0, 30.0);
    assert_int_equal(network_solve(network), NETWORK_SETTLED);
    double seconds = (double)(clock() - start) / CLOCKS_PER_SEC;
    print_message("%d pipes: %d iterations, %.3f s, imbalance %.1e\n", PIPES,
                  network_iterations(network), seconds, network_imbalance(network));
    assert_true(network_imbalance(network) < 1e-9);
    assert_true(seconds < 10.0); /* 1 s is meant; sanitizers and a busy machine take longer */
    /* again with other demands, warm: the order is kept, and at last the slopes as well; from rest
     * it comes to the same */
    for (int step = 0; step < 4; step++) {
        static double flows[PIPES];
        network_inject(network, NODES - 1, -1e-3 - (step ? pow(0.1, 3 * step) : 0.0));
        assert_int_equal(network_solve(network), NETWORK_SETTLED);
        assert_true(network_imbalance(network) < 1e-9);
        for (size_t i = 0; i < PIPES; i++)
            flows[i] = network_flow(network, i);
        double response = network_response(network, 0, 0);
        network_restart(network);
        assert_int_equal(network_solve(network), NETWORK_SETTLED);
        assert_near(network_response(network, 0, 0), response, 0.1); /* two held slopes apart */
        for (size_t i = 0; i < PIPES; i++)
            assert_true(fabs(flows[i] - network_flow(network, i)) <= 1e-15);
    }
    network_drop(network);
}

/* What lets water out at the end of a branch, by its exponent; 0: a tap with a check valve. */
static double dripper_law(const void *context, double flow, double *slope)
{
    static const double nominal = 2e-3 / 3600.0, pa = 1e5, density = 1000.0;
    double exponent = *(const double *)context;
    if (exponent > 0.0)
        return outlet_loss_m(flow, nominal, pa, exponent - 1.0, density, slope);
    return check_valve_loss_m(flow, nominal, 0.0, density, slope);
}

/* 400 branches along one header under 12 m of water, at heights from 0 to 15 m: drippers that
 * compensate, nearly so or not at all, and taps with check valves. Each is a wall or two that the
 * search would meet one by one. What comes of it has to obey each law, to the bit of a flow at a
 * wall. */
static void drippers_are_found_shut_open_and_full(void **state)
{
    (void)state;
    enum { ROWS = 400 };
    static const double one_and_exponent[] = {1.0, 1.05, 1.5, 0.0};
    const struct line header = {0.02, 1.0, 1e-5, 0.0, 1.1e-6},
                      tube = {0.004, 0.5, 1e-5, 1.0, 1.1e-6};
    struct network *network = network_new(1 + 3 * ROWS, 3 * ROWS);
    assert_non_null(network);
    for (size_t i = 0; i < ROWS; i++) {
        size_t here = 1 + 3 * i, before = i ? here - 3 : 0;
        network_join(network, 3 * i, before, here, line_law, &header);
        network_join(network, 3 * i + 1, here, here + 1, line_law, &tube);
        network_join(network, 3 * i + 2, here + 1, here + 2, dripper_law, &one_and_exponent[i % 4]);
        network_fix(network, here + 2, true);
    }
    network_fix(network, 0, true);
    assert_int_equal(network_order(network), OUTCOME_OK);
    network_set_scale(network, 1e-9, 100.0);
    network_set_effort(network, 0, 12.0);
    for (size_t i = 0; i < ROWS; i++)
        network_set_effort(network, 3 + 3 * i, (double)(i * 37 % ROWS) * 15.0 / ROWS);
    assert_int_equal(network_solve(network), NETWORK_SETTLED);
    assert_true(network_iterations(network) < 60);
    assert_true(network_imbalance(network) < 1e-9);
    network_fill(network);
    size_t full = 0, shut = 0;
    for (size_t i = 0; i < ROWS; i++) {
        double slope, flow = network_flow(network, 3 * i + 2);
        double left = network_effort(network, 1 + 3 * i) - network_effort(network, 3 + 3 * i) -
                      line_law(&tube, flow, &slope) -
                      dripper_law(&one_and_exponent[i % 4], flow, &slope);
        assert_true(fabs(left) <= 1e-10 + 4e-16 * fabs(flow) * slope);
        full += i % 4 == 0 && flow * 3600.0 > 2e-3 * (1.0 - 1e-9);
        shut += fabs(flow) < 1e-11;
    }
    assert_true(full > 20 && full < ROWS / 4 && shut > 50);
    network_drop(network);
}

/* A push less a square: a pump. */
struct square_pump {
    double push, r;
};

static double pump_law(const void *context, double flow, double *slope)
{
    const struct square_pump *pump = context;
    *slope = 2.0 * pump->r * fabs(flow);
    return pump->r * flow * fabs(flow) - pump->push;
}

/* Water that has to rise by `lift` and can't come back. */
static double rise_law(const void *context, double flow, double *slope)
{
    double lift = *(const double *)context;
    *slope = flow < 0.0 ? VALVE_SHUT_SLOPE_S_M2 : 0.0;
    return flow < 0.0 ? lift + VALVE_SHUT_SLOPE_S_M2 * flow : lift;
}

/* A strainer, a pump and a free end above the water: where the pump does not reach it, all that is
 * left to settle is rounding, and it must settle. Where it does: push - lift = (r1 + r2) Q2. */
static void pump_below_and_above_its_lift(void **state)
{
    (void)state;
    const double strainer = 1.4e7, lift = 0.55;
    struct square_pump pump = {0.0, 2e8};
    struct network *network = network_new(3, 3);
    assert_non_null(network);
    network_join(network, 0, 0, 1, square_law, &strainer);
    network_join(network, 1, 1, 2, pump_law, &pump);
    network_join(network, 2, 2, 0, rise_law, &lift);
    network_fix(network, 0, true);
    assert_int_equal(network_order(network), OUTCOME_OK);
    network_set_scale(network, 1e-9, 100.0);
    network_set_effort(network, 0, 0.4);
    for (int step = 0; step < 900; step++) {
        pump.push = 0.001 * step + 0.0005;
        assert_int_equal(network_solve(network), NETWORK_SETTLED);
        double past = fmax(0.0, pump.push - lift);
        assert_close(network_flow(network, 1), sqrt(past / (strainer + pump.r)), 1e-12);
    }
    network_drop(network);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(parallel_pipes),
        cmocka_unit_test(two_loops),
        cmocka_unit_test(steep_and_flat_laws),
        cmocka_unit_test(closed_ring),
        cmocka_unit_test(large_grid),
        cmocka_unit_test(pump_below_and_above_its_lift),
        cmocka_unit_test(drippers_are_found_shut_open_and_full),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
