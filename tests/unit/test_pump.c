/* Pump curves from two figures and from points, the affinity laws, what lies
 * beyond the curve's ends, and standing pumps. */
#include "check.h"
#include "physics/pump.h"
#include "slope.h"

static const struct pump_seat hose = {.bore_m = 0.013, .holds_back = false};
static const struct pump_seat tight = {.bore_m = 0.013, .holds_back = true};
static const struct pump_seat bare = {.bore_m = 0.0, .holds_back = false};

/* 4 m and 420 L/h: H = 4 (1 - (Q/Qmax)2). */
static void from_the_plate(void **state)
{
    (void)state;
    struct pump_curve curve;
    double open = 420e-3 / 3600.0;
    assert_int_equal(pump_curve_of_plate(4.0, open, &curve), PUMP_FIT_GOOD);
    assert_near(pump_head_m(&curve, &hose, 0.0, 1.0, NULL, NULL), 4.0, 1e-15);
    assert_near(pump_head_m(&curve, &hose, open / 2.0, 1.0, NULL, NULL), 3.0, 1e-14);
    assert_close(pump_head_m(&curve, &hose, open, 1.0, NULL, NULL), 0.0, 1e-14);
    /* past the open flow the same law goes on */
    assert_near(pump_head_m(&curve, &hose, 2.0 * open, 1.0, NULL, NULL), -12.0, 1e-14);
    /* most water power on it: rho g Qmax H0 2/(3 sqrt 3), at Qmax/sqrt 3 */
    double q = open / sqrt(3.0);
    double head = pump_head_m(&curve, &hose, q, 1.0, NULL, NULL);
    assert_near(pump_water_power_w(q, head, 1000.0), 0.3849 * 9806.65 * open * 4.0, 3e-5);
    assert_int_equal(pump_curve_of_plate(0.0, open, &curve), PUMP_FIT_TOO_FEW);
    assert_int_equal(pump_curve_of_plate(4.0, -open, &curve), PUMP_FIT_TOO_FEW);
    assert_int_equal(pump_curve_of_plate(4.0, INFINITY, &curve), PUMP_FIT_TOO_FEW);
    assert_int_equal(pump_curve_of_plate(NAN, open, &curve), PUMP_FIT_TOO_FEW);
}

/* Affinity laws: flow with speed, head with its square (Fox and McDonald,
 * example 10.7; Cengel and Cimbala, example 14-10). */
static void slower(void **state)
{
    (void)state;
    struct pump_curve curve = {5.0, -2e3, -4e7, 0.0};
    for (double s = 0.2; s < 2.0; s += 0.3)
        for (double q = 0.0; q < 6e-4; q += 5e-5)
            assert_close(pump_head_m(&curve, &hose, q * s, s, NULL, NULL),
                         s * s * pump_head_m(&curve, &hose, q, 1.0, NULL, NULL), 1e-13);
}

struct running {
    struct pump_curve curve;
    struct pump_seat seat;
    double speed, flow;
};

static double by_flow(double flow, double *slope, const void *context)
{
    const struct running *r = context;
    return pump_head_m(&r->curve, &r->seat, flow, r->speed, slope, NULL);
}

static double by_speed(double speed, double *slope, const void *context)
{
    const struct running *r = context;
    return pump_head_m(&r->curve, &r->seat, r->flow, speed, NULL, slope);
}

static double standing(double flow, double *slope, const void *context)
{
    return pump_standing_head_m(&((const struct running *)context)->seat, flow, slope);
}

static void slopes(void **state)
{
    (void)state;
    struct running r = {{5.0, -2e3, -4e7, 3e-4}, hose, 0.7, 0.0};
    for (int seat = 0; seat < 3; seat++) {
        r.seat = seat == 0 ? hose : seat == 1 ? tight : bare;
        for (double sign = -1.0; sign <= 1.0; sign += 2.0)
            for (double size = 1e-7; size < 3e-3; size *= 1.7) {
                r.flow = sign * size;
                double slope, speed_slope;
                double head = pump_head_m(&r.curve, &r.seat, r.flow, 0.7, &slope, &speed_slope);
                double noise = 1e-11 * (1.0 + fabs(head)) / (1e-3 * size);
                assert_close(slope, slope_by_difference(by_flow, r.flow, 1e-3 * size, &r),
                             1e-9 * fabs(slope) + noise);
                assert_close(speed_slope, slope_by_difference(by_speed, 0.7, 1e-3, &r),
                             1e-8 * fabs(speed_slope) + 1e-11 * fabs(head) / 1e-3);
                pump_standing_head_m(&r.seat, r.flow, &slope);
                assert_close(slope, slope_by_difference(standing, r.flow, 1e-3 * size, &r),
                             1e-9 * fabs(slope));
            }
    }
}

/* Against reverse flow: the shut-off head and the loss of a swing check valve
 * (K 2.0) on the pipe's bore. At no flow the two sides meet. */
static void pushed_back(void **state)
{
    (void)state;
    struct pump_curve curve;
    assert_int_equal(pump_curve_of_plate(4.0, 1e-4, &curve), PUMP_FIT_GOOD);
    double flow = -3.14159265358979323846 / 4.0 * 0.013 * 0.013; /* 1 m/s */
    double loss = 2.0 / (2.0 * 9.80665);
    assert_near(pump_head_m(&curve, &hose, flow, 0.5, NULL, NULL), 1.0 + loss, 1e-14);
    assert_near(pump_head_m(&curve, &bare, flow, 0.5, NULL, NULL), 1.0, 1e-14);
    assert_near(pump_head_m(&curve, &hose, -1e-20, 0.5, NULL, NULL), 1.0, 1e-14);
    assert_near(pump_standing_head_m(&hose, flow, NULL), loss, 1e-14);
    assert_near(pump_standing_head_m(&hose, -flow, NULL), -loss, 1e-14);
    assert_close(pump_standing_head_m(&bare, flow, NULL), 0.0, 0.0);
    /* one that holds back leaks 1e-12 m3/s at 10 m more */
    assert_near(pump_head_m(&curve, &tight, -1e-12, 0.5, NULL, NULL), 11.0, 1e-12);
    assert_near(pump_standing_head_m(&tight, 1e-12, NULL), -10.0, 1e-12);
}

/* Points on a known curve give it back, pinned or free. */
static void points_on_a_curve(void **state)
{
    (void)state;
    double flow[6], head[6];
    for (int i = 0; i < 6; i++) {
        flow[i] = i * 2e-5;
        head[i] = 4.0 - 5e3 * flow[i] - 2e8 * flow[i] * flow[i];
    }
    struct pump_curve curve;
    for (int pinned = 0; pinned < 2; pinned++) {
        assert_int_equal(pump_curve_of_points(flow, head, 6, pinned ? 4.0 : NAN, &curve),
                         PUMP_FIT_GOOD);
        assert_near(curve.shutoff_m, 4.0, 1e-12);
        assert_near(curve.linear_s_m2, -5e3, 1e-10);
        assert_near(curve.square_s2_m5, -2e8, 1e-10);
        assert_close(pump_head_m(&curve, &bare, curve.open_m3s, 1.0, NULL, NULL), 0.0, 1e-12);
    }
    /* an exact H0 - c Q2: the linear term is rounding and no reason to refuse */
    for (int i = 0; i < 6; i++)
        head[i] = 4.0 - 2e8 * flow[i] * flow[i];
    assert_int_equal(pump_curve_of_points(flow, head, 6, NAN, &curve), PUMP_FIT_GOOD);
    assert_near(curve.open_m3s, sqrt(4.0 / 2e8), 1e-10);
}

/* By hand: points (1, 3), (2, 1.5), (3, 1) litres a second and metres. Free: the
 * parabola through them, 5.5 - 3 Q + 0.5 Q2, whose slope where it is lowest (Q =
 * 3, H = 1) is 0: it never opens. Pinned to 4 m: least squares of Q and Q2 on
 * head - 4, sums 14, 36, 98 against -15 and -38: b = -102/76, c = 8/76. */
static void least_squares_by_hand(void **state)
{
    (void)state;
    const double flow[] = {1e-3, 2e-3, 3e-3};
    const double head[] = {3.0, 1.5, 1.0};
    struct pump_curve curve = {7.0, 7.0, 7.0, 7.0};
    assert_int_equal(pump_curve_of_points(flow, head, 3, NAN, &curve), PUMP_FIT_NEVER_OPENS);
    assert_close(curve.shutoff_m, 7.0, 0.0); /* untouched */
    assert_int_equal(pump_curve_of_points(flow, head, 3, 4.0, &curve), PUMP_FIT_GOOD);
    assert_near(curve.shutoff_m, 4.0, 0.0);
    assert_near(curve.linear_s_m2 * 1e-3, -102.0 / 76.0, 1e-13);
    assert_near(curve.square_s2_m5 * 1e-6, 8.0 / 76.0, 1e-12);
    /* the smaller zero of 4 - 102/76 Q + 8/76 Q2 */
    double b = 102.0 / 76.0, c = 8.0 / 76.0;
    assert_near(curve.open_m3s * 1e3, (b - sqrt(b * b - 16.0 * c)) / (2.0 * c), 1e-13);
}

static void refused_points(void **state)
{
    (void)state;
    struct pump_curve curve;
    const double flow[] = {0.0, 1e-3, 2e-3, 3e-3};
    const double hump[] = {3.0, 4.0, 4.0, 3.0};
    assert_int_equal(pump_curve_of_points(flow, hump, 4, NAN, &curve), PUMP_FIT_RISES);
    const double rising[] = {1.0, 2.0, 3.0, 4.0};
    assert_int_equal(pump_curve_of_points(flow, rising, 4, NAN, &curve), PUMP_FIT_RISES);
    const double flat[] = {2.0, 2.0, 2.0, 2.0};
    assert_int_equal(pump_curve_of_points(flow, flat, 4, NAN, &curve), PUMP_FIT_NEVER_OPENS);
    const double below[] = {-1.0, -2.0, -3.5, -5.0};
    assert_int_equal(pump_curve_of_points(flow, below, 4, NAN, &curve), PUMP_FIT_NO_HEAD);
    const double good[] = {4.0, 3.6, 2.5, 0.5};
    assert_int_equal(pump_curve_of_points(flow, good, 2, NAN, &curve), PUMP_FIT_TOO_FEW);
    assert_int_equal(pump_curve_of_points(flow, good, 2, 4.0, &curve), PUMP_FIT_TOO_FEW);
    assert_int_equal(pump_curve_of_points(flow, good, 3, 4.0, &curve), PUMP_FIT_GOOD);
    assert_int_equal(pump_curve_of_points(flow, good, 0, 4.0, &curve), PUMP_FIT_TOO_FEW);
    const double same[] = {1e-3, 1e-3, 1e-3, 1e-3};
    assert_int_equal(pump_curve_of_points(same, good, 4, NAN, &curve), PUMP_FIT_TOO_FEW);
    const double twice[] = {1e-3, 1e-3, 2e-3, 2e-3};
    assert_int_equal(pump_curve_of_points(twice, good, 4, NAN, &curve), PUMP_FIT_TOO_FEW);
    const double odd[] = {0.0, -1e-3, 2e-3, 3e-3};
    assert_int_equal(pump_curve_of_points(odd, good, 4, NAN, &curve), PUMP_FIT_TOO_FEW);
    const double lost[] = {4.0, 3.6, NAN, 0.5};
    assert_int_equal(pump_curve_of_points(flow, lost, 4, NAN, &curve), PUMP_FIT_TOO_FEW);
}

/* Least squares means that no other curve lies nearer: each coefficient nudged
 * either way makes the sum of squares larger. Points of Schaschke (2000), example
 * 9.2, H = 12 - 70 Q - 4300 Q2, with one of them read 0.1 m too high. */
static double misfit(const struct pump_curve *curve, const double *flow, const double *head, int n)
{
    double sum = 0.0;
    for (int i = 0; i < n; i++) {
        double error = pump_head_m(curve, &bare, flow[i], 1.0, NULL, NULL) - head[i];
        sum += error * error;
    }
    return sum;
}

static void no_curve_lies_nearer(void **state)
{
    (void)state;
    double flow[5], head[5];
    for (int i = 0; i < 5; i++) {
        flow[i] = 0.01 * i;
        head[i] = 12.0 - 70.0 * flow[i] - 4300.0 * flow[i] * flow[i] + (i == 2 ? 0.1 : 0.0);
    }
    struct pump_curve best;
    assert_int_equal(pump_curve_of_points(flow, head, 5, NAN, &best), PUMP_FIT_GOOD);
    double least = misfit(&best, flow, head, 5);
    for (double way = -1e-4; way < 2e-4; way += 2e-4) {
        struct pump_curve other = best;
        other.shutoff_m *= 1.0 + way;
        assert_true(misfit(&other, flow, head, 5) > least);
        other = best;
        other.linear_s_m2 *= 1.0 + way;
        assert_true(misfit(&other, flow, head, 5) > least);
        other = best;
        other.square_s2_m5 *= 1.0 + way;
        assert_true(misfit(&other, flow, head, 5) > least);
    }
}

struct diaphragm {
    double speed, flow;
};

static double diaphragm_by_flow(double flow, double *slope, const void *context)
{
    return pump_diaphragm_head_m(3e5, 6e-5, 998.0, flow, ((const struct diaphragm *)context)->speed,
                                 slope, NULL);
}

static double diaphragm_by_speed(double speed, double *slope, const void *context)
{
    return pump_diaphragm_head_m(3e5, 6e-5, 998.0, ((const struct diaphragm *)context)->flow, speed,
                                 NULL, slope);
}

/* Q = Qmax s (1 - 0.25 p/pmax), 3 bar and 6e-5 m3/s. */
static void diaphragm(void **state)
{
    (void)state;
    double top = 3e5 / (998.0 * 9.80665);
    struct diaphragm d = {0.5, 0.0};
    assert_near(diaphragm_by_flow(0.0, NULL, &d), top, 1e-14);
    assert_near(diaphragm_by_flow(0.75 * 3e-5, NULL, &d), top, 1e-14);
    assert_near(diaphragm_by_flow(0.875 * 3e-5, NULL, &d), 0.5 * top, 1e-13);
    assert_close(diaphragm_by_flow(3e-5, NULL, &d), 0.0, 1e-13);
    assert_near(diaphragm_by_flow(3.3e-5, NULL, &d), -0.4 * top, 1e-12);
    assert_near(diaphragm_by_flow(-1e-12, NULL, &d), top + 10.0, 1e-12);
    for (double flow = 1e-6; flow < 6e-5; flow += 1.37e-6) {
        d.flow = flow;
        double slope;
        diaphragm_by_flow(flow, &slope, &d);
        assert_close(slope, slope_by_difference(diaphragm_by_flow, flow, 1e-8, &d),
                     1e-8 * fabs(slope) + 1e-5);
        diaphragm_by_speed(0.5, &slope, &d);
        assert_close(slope, slope_by_difference(diaphragm_by_speed, 0.5, 1e-4, &d),
                     1e-8 * fabs(slope) + 1e-9);
    }
}

static void efficiency(void **state)
{
    (void)state;
    /* 0.16345 W per (L/min m) at 1000 kg/m3, published to five figures */
    assert_near(pump_water_power_w(1.0 / 60000.0, 1.0, 1000.0), 0.16345, 1e-4);
    /* 2.7241 Wh per m3 lifted 1 m */
    assert_near(pump_water_power_w(1.0, 1.0, 1000.0) / 3600.0, 2.7241, 2e-5);
    assert_near(pump_efficiency(1e-4, 3.0, 1000.0, 8.0), 9806.65e-4 * 3.0 / 8.0, 1e-14);
    assert_true(isnan(pump_efficiency(1e-4, 3.0, 1000.0, 0.0)));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(from_the_plate),
        cmocka_unit_test(slower),
        cmocka_unit_test(slopes),
        cmocka_unit_test(pushed_back),
        cmocka_unit_test(points_on_a_curve),
        cmocka_unit_test(least_squares_by_hand),
        cmocka_unit_test(refused_points),
        cmocka_unit_test(no_curve_lies_nearer),
        cmocka_unit_test(diaphragm),
        cmocka_unit_test(efficiency),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
