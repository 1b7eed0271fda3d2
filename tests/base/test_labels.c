/* Where words stand beside marks: by what is drawn, not by the way the place was found. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <math.h>

#include "base/labels.h"
#include "base/mem.h"

#define W 744.0 /* a view of 1280 × 720 */
#define H 560.0

static const double view[4] = {0, 0, W, H};

static bool meet(const double a[4], const double b[4])
{
    return a[0] < b[2] && b[0] < a[2] && a[1] < b[3] && b[1] < a[3];
}

/* By steps along it. */
static bool is_crossed(const double box[4], double x0, double y0, double x1, double y1)
{
    for (int i = 0; i <= 2000; i++) {
        double x = x0 + (x1 - x0) * i / 2000, y = y0 + (y1 - y0) * i / 2000;

        if (x > box[0] && x < box[2] && y > box[1] && y < box[3])
            return true;
    }
    return false;
}

/* The state of a generator of pseudo-random numbers, linear congruent; 0..1. */
static double any(uint64_t *seed)
{
    *seed = *seed * 6364136223846793005u + 1442695040888963407u;
    return (double)(*seed >> 11) / 9007199254740992.0;
}

static void twelve_around_one_place_and_one_in_each_corner(void **state)
{
    static const double corners[][2] = {{2, 2}, {398, 2}, {2, 298}, {398, 298}}, edge[4] = {0, 0, 400, 300};
    struct arena *a = arena_create();
    struct labels_spot spots[12];
    struct labels l;

    (void)state;
    labels_begin(&l, a, edge, 1);
    for (int i = 0; i < 12; i++) {
        const double *at = i < 8 ? (const double[]){200, 150} : corners[i - 8];

        labels_place(&l, i, at, 1, 60, 18, &spots[i]);
        for (int k = 0; k < i; k++)
            assert_false(meet(spots[i].box, spots[k].box));
        assert_true(spots[i].box[0] >= 0 && spots[i].box[1] >= 0 && spots[i].box[2] <= 400 && spots[i].box[3] <= 300);
    }
    arena_destroy(a);
}

/* Six lines anywhere, each with words: no words lie on a line, on other words or over the edge. */
static void words_keep_off_every_line(void **state)
{
    (void)state;
    for (uint64_t run = 1; run <= 300; run++) {
        uint64_t seed = run;
        struct arena *a = arena_create();
        struct labels_spot spots[6];
        struct labels l;
        double xy[6][4];

        labels_begin(&l, a, view, 1);
        for (int i = 0; i < 6; i++) {
            xy[i][0] = any(&seed) * W, xy[i][1] = any(&seed) * H;
            xy[i][2] = fmin(fmax(xy[i][0] + (any(&seed) - 0.5) * 400, 0), W), xy[i][3] = fmin(fmax(xy[i][1] + (any(&seed) - 0.5) * 400, 0), H);
            labels_add_line(&l, i, xy[i][0], xy[i][1], xy[i][2], xy[i][3]);
        }
        for (int i = 0; i < 6; i++) {
            labels_place(&l, i, xy[i], 2, 110, 26, &spots[i]);
            for (int k = 0; k < 6; k++)
                if (is_crossed(spots[i].box, xy[k][0], xy[k][1], xy[k][2], xy[k][3]))
                    fail_msg("seed %d: words of %d on line %d", (int)run, i, k);
            for (int k = 0; k < i; k++)
                if (meet(spots[i].box, spots[k].box) || (spots[k].away && is_crossed(spots[i].box, spots[k].leader[0], spots[k].leader[1], spots[k].leader[2], spots[k].leader[3])))
                    fail_msg("seed %d: words of %d on those of %d or their leader", (int)run, i, k);
            assert_true(spots[i].box[0] >= 0 && spots[i].box[1] >= 0 && spots[i].box[2] <= W && spots[i].box[3] <= H);
        }
        arena_destroy(a);
    }
}

/* What is looked at stays seen: the words go away from it, and a leader tells what they name. */
static void what_is_looked_at_stays_free(void **state)
{
    static const double gap[4] = {300, 280, 318, 280}, end[4] = {230, 200, 390, 360};
    struct arena *a = arena_create();
    struct labels_spot spot;
    struct labels l;

    (void)state;
    labels_begin(&l, a, view, 1);
    labels_add_line(&l, 0, gap[0], gap[1], gap[2], gap[3]);
    labels_add_box(&l, end, false);
    labels_place(&l, 0, gap, 2, 96, 26, &spot);
    assert_false(meet(spot.box, end));
    assert_true(spot.away);
    assert_true(spot.leader[2] == 300 || spot.leader[2] == 318);
    assert_true(hypot(spot.leader[0] - spot.leader[2], spot.leader[1] - spot.leader[3]) < 120);
    arena_destroy(a);
}

/* Nowhere is free: still inside, and not on what may never be hidden. */
static void a_full_view_has_a_place_all_the_same(void **state)
{
    static const double whole[4] = {0, 0, W, H}, loupe[4] = {0, 0, W, H / 2}, at[2] = {300, 100};
    struct arena *a = arena_create();
    struct labels_spot spot;
    struct labels l;

    (void)state;
    labels_begin(&l, a, view, 1);
    labels_add_box(&l, whole, false);
    labels_add_box(&l, loupe, true);
    for (int i = 0; i < 60; i++)
        labels_add_line(&l, 1, 0, i * 10, W, i * 10);
    labels_place(&l, 0, at, 1, 100, 26, &spot);
    assert_true(spot.box[1] >= H / 2 && spot.box[3] <= H);
    labels_place(&l, 0, at, 1, 2 * W, 26, &spot); /* wider than the view: its beginning is seen */
    assert_true(spot.box[0] >= 0 && spot.box[0] <= 0);
    arena_destroy(a);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(twelve_around_one_place_and_one_in_each_corner),
        cmocka_unit_test(words_keep_off_every_line),
        cmocka_unit_test(what_is_looked_at_stays_free),
        cmocka_unit_test(a_full_view_has_a_place_all_the_same),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
