/* Scales from a hexagon and from a ruler against a pinhole camera of the test's own: corners of a turned prism and ends
 * of a ruler, projected. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/csv.h"
#include "base/err.h"
#include "gauge/gauge_length.h"
#include "../help/help.h"

static const double degree = 3.14159265358979 / 180;

/* Width of a hexagon seen along z by a camera `away` mm from its axis, which lies square to z; turned by `turn` from a
 * face towards the camera. flats: across flats; focal in px. */
static double seen_width(double flats, double turn, double away, double focal)
{
    double low = 1e9, high = -1e9, r = flats / 2 / cos(30 * degree);

    for (int k = 0; k < 6; k++) {
        double a = turn + 60 * k * degree, y = r * cos(a), z = r * sin(a), at = focal * y / (away - z);

        low = fmin(low, at), high = fmax(high, at);
    }
    return high - low;
}

static double uniform(unsigned *seed)
{
    *seed = *seed * 1103515245u + 12345u;
    return (*seed >> 8) / 16777216.0;
}

/* Corners of a face towards the camera are at turn 0 (a corner to each side). Every row: 2,000 hexagons made within
 * h13, turned as a person would call it so, drawn with ends 2 px off: the stated ± holds the truth about as often as it says. */
static void a_hexagon_tells_the_scale(void **state)
{
    static const struct {
        const char *name, *id;
        enum gauge_lies lies;
        double from_deg, to_deg, away;
        bool focal_known;
        double most_sd; /* so wide at the most: else anything would hold */
    } rows[] = {
        {"a face in the middle", "16", GAUGE_LIES_CORNERS, -6, 6, 200, true, 0.016},
        {"an edge in the middle", "16", GAUGE_LIES_FLATS, 24, 36, 200, true, 0.028},
        {"an edge in the middle, near", "20.8", GAUGE_LIES_FLATS, 24, 36, 120, true, 0.032},
        {"an edge, no focal length", "16", GAUGE_LIES_FLATS, 24, 36, 170, false, 0.035},
        {"turned anyhow", "16", GAUGE_LIES_UNSAID, 0, 30, 300, true, 0.046},
    };

    (void)state;
    for (size_t k = 0; k < sizeof rows / sizeof rows[0]; k++) {
        struct gauge_hex h;
        struct gauge_length what;
        unsigned seed = 7;
        int held = 0, n = 2000;

        assert_true(gauge_hex_find(rows[k].id, "", &h));
        gauge_hex_length(&h, rows[k].lies, &what);
        for (int i = 0; i < n; i++) {
            double nominal = strtod(rows[k].id, NULL), made = nominal - uniform(&seed) * 0.27, away = rows[k].away, focal = 20 * away; /* 20 px/mm at the axis */
            double w = seen_width(made, (rows[k].from_deg + (rows[k].to_deg - rows[k].from_deg) * uniform(&seed)) * degree, away, focal);
            struct gauge_point line[2] = {{100, 100}, {100, 100 + w + (uniform(&seed) + uniform(&seed) - 1) * 4.9}};
            struct gauge_thread t;
            struct err e;

            assert_true(gauge_length_read(line, 2, &what, rows[k].focal_known ? focal : 0, &t, &e));
            assert_true(t.px_per_mm_sd / t.px_per_mm < rows[k].most_sd);
            held += fabs(t.px_per_mm - 20) <= 2 * t.px_per_mm_sd;
        }
        if (held < n * 0.9)
            fail_msg("%s: %d of %d within the stated ±", rows[k].name, held, n);
    }
}

static void a_ruler_tells_the_scale(void **state)
{
    static const struct {
        const char *name;
        enum gauge_lies lies;
        double below_mm; /* the ruler lies so far behind the axis */
        bool focal_known;
        double most_sd;
    } rows[] = {
        {"as high as the axis", GAUGE_LIES_LEVEL, 1, true, 0.02},
        {"on the bench", GAUGE_LIES_BENCH, 8.5, true, 0.02},
        {"on the bench, no focal length", GAUGE_LIES_BENCH, 8.5, false, 0.035},
        {"not said, on the bench", GAUGE_LIES_UNSAID, 8.5, true, 0.06},
        {"not said, level", GAUGE_LIES_UNSAID, 0, false, 0.06},
    };

    (void)state;
    for (size_t k = 0; k < sizeof rows / sizeof rows[0]; k++)
        for (double away = 150; away <= 450; away += 50) {
            struct gauge_length what;
            struct gauge_point line[2] = {{10, 50}, {10, 50}};
            struct gauge_thread t;
            struct err e;

            gauge_ruler_length(50, rows[k].lies, 16, &what);
            line[1].x += 50 * 20 * away / (away + rows[k].below_mm);
            assert_true(gauge_length_read(line, 2, &what, rows[k].focal_known ? 20 * away : 0, &t, &e));
            if (fabs(t.px_per_mm - 20) > 2 * t.px_per_mm_sd)
                fail_msg("%s, %.0f mm away: %.3f ± %.3f", rows[k].name, away, t.px_per_mm, 2 * t.px_per_mm_sd);
            assert_true(t.px_per_mm_sd / t.px_per_mm < rows[k].most_sd);
            if (rows[k].focal_known)
                assert_true(fabs(t.distance_mm / away - 1) < 0.07);
        }
}

/* What is short says so; the longer line is the surer one. */
static void ends_count_for_their_length(void **state)
{
    struct gauge_length what;
    struct gauge_thread t, longer;
    struct err e;

    (void)state;
    gauge_ruler_length(10, GAUGE_LIES_LEVEL, 16, &what);
    assert_false(gauge_length_read((struct gauge_point[2]){{0, 0}, {13, 0}}, 2, &what, 0, &t, &e));
    assert_non_null(strstr(e.text, "too short"));
    assert_false(gauge_length_read((struct gauge_point[2]){{5, 5}, {5, 5}}, 2, &what, 0, &t, &e));
    assert_true(gauge_length_read((struct gauge_point[2]){{0, 0}, {15, 0}}, 2, &what, 0, &t, &e));
    gauge_ruler_length(100, GAUGE_LIES_LEVEL, 16, &what);
    assert_true(gauge_length_read((struct gauge_point[2]){{0, 0}, {150, 0}}, 2, &what, 0, &longer, &e));
    assert_true(longer.px_per_mm_sd < 0.3 * t.px_per_mm_sd);
}

static void the_table_of_hexagons_is_sound(void **state)
{
    static const struct {
        const char *thread, *id;
    } usual[] = {{"M14x1.25", "16"}, {"M10x1.0", "16"}, {"M12x1.25", "18"}, {"M18x1.5", "20.8"}, {"M8x1.0", "13"}, {"", "16"}, {"M99x9", "16"}};
    struct csv raw = load_table("assets/hex.csv"), threads = load_table("assets/threads.csv");
    struct gauge_hex h[GAUGE_MAX_HEXES], one;
    int n = gauge_hexes(h);

    (void)state;
    assert_int_equal(n, (int)raw.n_rows - 1);
    for (int i = 0; i < n; i++) {
        assert_true(h[i].id[0] != '\0' && h[i].label[0] != '\0' && csv_named(&raw, (size_t)i + 1, "source")[0] != '\0');
        assert_true(fabs(strtod(h[i].id, NULL) - strtod(csv_named(&raw, (size_t)i + 1, "flats_mm"), NULL)) < 0.03);
        assert_true(h[i].flats_mm < strtod(csv_named(&raw, (size_t)i + 1, "flats_mm"), NULL) && h[i].flats_sd_mm > 0.05 && h[i].flats_sd_mm < 0.2);
        assert_true(i == 0 || h[i].flats_mm > h[i - 1].flats_mm);
        assert_true(gauge_hex_find(h[i].id, "", &one) && strcmp(one.label, h[i].label) == 0);
    }
    for (size_t i = 0; i < sizeof usual / sizeof usual[0]; i++) {
        assert_true(gauge_hex_find("", usual[i].thread, &one));
        assert_string_equal(one.id, usual[i].id);
    }
    for (size_t row = 1; row < threads.n_rows; row++) { /* each thread has one */
        int n_usual = 0;

        for (int i = 0; i < n; i++)
            n_usual += strstr(h[i].usual_for, csv_named(&threads, row, "thread")) != NULL;
        assert_int_equal(n_usual, 1);
    }
    assert_false(gauge_hex_find("17", "", &one));
    csv_release(&raw);
    csv_release(&threads);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_hexagon_tells_the_scale),
        cmocka_unit_test(a_ruler_tells_the_scale),
        cmocka_unit_test(ends_count_for_their_length),
        cmocka_unit_test(the_table_of_hexagons_is_sound),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
