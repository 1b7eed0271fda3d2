/* The circle of a nose from an outline drawn by hand. Circles are made here; the middles of the sample photos
 * are the scene's own camera's (samples/photos/crops.csv). */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "gauge/gauge_circle.h"
#include "../help/help.h"

#define PI 3.14159265358979323846
#define MAX_CORNERS 96

static double jitter(uint32_t *seed)
{
    *seed = *seed * 1664525u + 1013904223u;
    return (*seed >> 8) / 8388608.0 - 1;
}

/* All around, with a hand's unsteadiness of 2 % of the radius. */
static void a_whole_outline_gives_its_middle(void **state)
{
    uint32_t seed = 7;

    (void)state;
    for (int round = 0; round < 10; round++) {
        struct gauge_point o[24], m;
        double cx = 600 + 200 * jitter(&seed), cy = 400 + 200 * jitter(&seed), r = 60 + 30 * jitter(&seed), got;

        for (int i = 0; i < 24; i++) {
            double a = i * PI / 12, at = r * (1 + 0.02 * jitter(&seed));

            o[i] = (struct gauge_point){cx + at * cos(a), cy + at * sin(a)};
        }
        if (!gauge_circle_fit(o, 24, &m, &got) || hypot(m.x - cx, m.y - cy) > 0.025 * r || fabs(got / r - 1) > 0.03)
            fail_msg("round %d: %.1f px off, radius %.1f for %.1f", round, hypot(m.x - cx, m.y - cy), got, r);
    }
}

/* What the side electrode leaves: a straight edge, or a ring with a piece out of it. */
static void what_is_hidden_does_not_move_the_middle(void **state)
{
    struct gauge_point cut[20], crescent[40], m;
    double r;

    (void)state;
    for (int i = 0; i < 20; i++)
        cut[i] = (struct gauge_point){500 + 80 * cos(0.6 + i * 4.4 / 19), 300 + 80 * sin(0.6 + i * 4.4 / 19)};
    assert_true(gauge_circle_fit(cut, 20, &m, &r));
    assert_true(hypot(m.x - 500, m.y - 300) < 2 && fabs(r - 80) < 2);
    for (int i = 0; i < 20; i++) {
        double a = 1 + i * 3.0 / 19;

        crescent[i] = (struct gauge_point){500 + 80 * cos(a), 300 + 80 * sin(a)};
        crescent[39 - i] = (struct gauge_point){500 + 55 * cos(a), 300 + 55 * sin(a)};
    }
    assert_true(gauge_circle_fit(crescent, 40, &m, &r));
    assert_true(hypot(m.x - 500, m.y - 300) < 2 && fabs(r - 80) < 2);
}

static void an_outline_that_bounds_no_circle_gives_none(void **state)
{
    const struct gauge_point spike[] = {{0, 0}, {400, 10}, {0, 20}}, dot[] = {{5, 5}, {5, 5}, {5, 5}};
    const struct gauge_point bar[] = {{0, 0}, {200, 0}, {200, 20}, {0, 20}};
    struct gauge_point m = {-1, -1};
    double r = -1;

    (void)state;
    assert_false(gauge_circle_fit(spike, 3, &m, &r));
    assert_false(gauge_circle_fit(dot, 3, &m, &r));
    assert_false(gauge_circle_fit(bar, 4, &m, &r));
    assert_true(m.x < 0 && r < 0);
}

/* Outlines as a careful person draws them on the sample's photos. The nose stands some millimetres nearer to the
 * camera than the middle of the shell, so one that looks a little askew shows them apart. Its radius stays the
 * same share of a millimetre: all plugs are of one kind. */
static void noses_of_the_sample_give_the_plugs_middle_and_those_seen_from_the_side_none(void **state)
{
    struct csv marks = load_table("samples/photos/marks.csv"), crops = load_table("samples/photos/crops.csv");
    int n_tip = 0, n_side = 0;

    (void)state;
    for (size_t i = 1; i < crops.n_rows; i++)
        for (size_t k = 1; k < marks.n_rows; k++) {
            const char *file = csv_named(&crops, i, "file");
            bool tip = strcmp(csv_named(&crops, i, "view"), "tip") == 0, found;
            struct gauge_point o[MAX_CORNERS], m;
            double ox[MAX_CORNERS], oy[MAX_CORNERS], r, x = strtod(csv_named(&crops, i, "x"), NULL), y = strtod(csv_named(&crops, i, "y"), NULL), mm = strtod(csv_named(&crops, i, "px_per_mm"), NULL);

            if (strcmp(csv_named(&marks, k, "kind"), "area") != 0 || strcmp(csv_named(&marks, k, "file"), file) != 0)
                continue;
            int n = read_points(csv_named(&marks, k, "points"), ox, oy, MAX_CORNERS);

            for (int q = 0; q < n; q++)
                o[q] = (struct gauge_point){ox[q], oy[q]};
            found = gauge_circle_fit(o, n, &m, &r);
            if (found != tip)
                fail_msg("%s: %s", file, found ? "a circle in a side view" : "no circle");
            n_tip += tip, n_side += !tip;
            if (tip && (hypot(m.x - x, m.y - y) > 0.4 * mm || fabs(r / mm / 2.285 - 1) > 0.02))
                fail_msg("%s: %.2f mm from the middle, radius %.3f mm", file, hypot(m.x - x, m.y - y) / mm, r / mm);
        }
    assert_true(n_tip == 20 && n_side == 5);
    csv_release(&marks);
    csv_release(&crops);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_whole_outline_gives_its_middle),
        cmocka_unit_test(what_is_hidden_does_not_move_the_middle),
        cmocka_unit_test(an_outline_that_bounds_no_circle_gives_none),
        cmocka_unit_test(noses_of_the_sample_give_the_plugs_middle_and_those_seen_from_the_side_none),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
