/* What a ± is made of: parts that add up to it, the largest named, and what to do about it. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <string.h>

#include "base/err.h"
#include "gauge/gauge_budget.h"
#include "plug_scene.h"

static const struct scene plain = {
    .major = 14, .pitch = 1.25, .gap = 0.9, .tip_r = 1.25, .strap_half = 1.3, .strap_thick = 1.4, .corner = 0.03, .thread_from = -16, .thread_to = -2.5, .strap_side = 1,
    .steel = {0.45, 0.44, 0.42}, .tip = {0.3, 0.29, 0.27}, .strap = {0.34, 0.33, 0.3}, .nose = {0.75, 0.73, 0.7}, .bench = {0.1, 0.14, 0.22},
    .shine = 0.3, .weave = 0.2, .seed = 3, .light = {-0.3, -0.6, 1}, .ambient = 0.4, .distance = 300, .px_per_mm = 13, .turn_deg = 8, .blur_px = 0.8, .noise = 0.004,
    .width = 340, .height = 300, .centre_x = 255, .centre_y = 160};

/* A picture, and what is known of it: changed by each row. */
static void the_largest_part_is_named_with_its_remedy(void **state)
{
    static const struct {
        const char *what;
        double px_per_mm_sd, off_deg, off_sd_deg, pm_mm, length_px, focal_px;
        bool outline, thread;
        enum gauge_part largest;
        const char *words;
    } rows[] = {
        {"a short line", 0.9, 0, 0.2, 0.13, 3.6 * 13 * 1.25, 4000, true, true, GAUGE_PART_SCALE, "over 3.6 turns: lay it over more"},
        {"the middle, no focal length", 0.9, 0, 0.2, 0.13, 10 * 13 * 1.25, 0, false, true, GAUGE_PART_DEPTH, "along the outline of the thread"},
        {"a length", 0.9, 0, 0.2, 0.13, 200, 0, false, false, GAUGE_PART_SCALE, "a line along the threads is surer"},
        {"an angle nobody knows", 0.02, 0, 3, 0.17, 10 * 13 * 1.25, 0, true, true, GAUGE_PART_ANGLE, "not a copy that was sent"},
        {"an angle known badly", 0.02, 3, 2, 0.19, 10 * 13 * 1.25, 4000, true, true, GAUGE_PART_ANGLE, "known to 2.0° only: take another picture square"},
        {"from afar", 0.02, 0, 0.1, 0.12, 10 * 13 * 1.25, 4000, true, true, GAUGE_PART_COUNT, "closer: a millimetre is only 13 px"}};
    struct scene c = plain;
    uint8_t *rgba = scene_paint(&c);
    struct gauge_picture p = {c.width, c.height, rgba};

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct gauge_thread t = {.pitch_mm = 1.25, .pitch_px = rows[i].thread ? 13 * 1.25 : 0, .length_px = rows[i].length_px, .px_per_mm = 13, .px_per_mm_sd = rows[i].px_per_mm_sd,
                                 .on_outline = rows[i].outline, .has_body = true, .distance_mm = rows[i].focal_px > 0 ? 300 : 0};
        struct gauge_gap g = {.gap_mm = 0.9, .uncertainty_mm = rows[i].pm_mm, .off_deg = rows[i].off_deg, .off_sd_deg = rows[i].off_sd_deg};
        struct gauge_budget b;
        double sum = 0;
        char words[300];

        scene_shows(&c, -8, 0, 0, &t.middle.x, &t.middle.y);
        scene_shows(&c, 0, 0, 0, &g.across[0].x, &g.across[0].y);
        scene_shows(&c, c.gap, 0, 0, &g.across[1].x, &g.across[1].y);
        gauge_budget_make(&p, &t, &g, rows[i].focal_px, &b);
        for (int k = 0; k < GAUGE_PART_COUNT; k++) {
            assert_true(b.mm[k] >= 0 && b.mm[k] <= g.uncertainty_mm + 1e-9);
            sum += b.mm[k] * b.mm[k];
        }
        if (fabs(sqrt(sum) - g.uncertainty_mm) > 1e-6)
            fail_msg("%s: parts make %g, not %g", rows[i].what, sqrt(sum), g.uncertainty_mm);
        if (rows[i].largest != GAUGE_PART_COUNT ? b.largest != rows[i].largest : b.largest != GAUGE_PART_TIP && b.largest != GAUGE_PART_STRAP)
            fail_msg("%s: %s", rows[i].what, gauge_part_label(b.largest));
        gauge_budget_remedy(&b, b.largest, words, sizeof words);
        if (strstr(words, rows[i].words) == NULL)
            fail_msg("%s: %s", rows[i].what, words);
    }
    free(rgba);
}

/* The one end that is soft has the larger part, whichever way the line was drawn. */
static void the_softer_edge_has_more_of_it(void **state)
{
    struct scene c = plain;
    uint8_t *rgba, *soft;
    struct gauge_thread t = {.pitch_mm = 1.25, .pitch_px = 50, .length_px = 500, .px_per_mm = 40, .px_per_mm_sd = 0.04, .on_outline = true, .has_body = true};
    struct gauge_gap g = {.gap_mm = 0.9, .uncertainty_mm = 0.1, .off_sd_deg = 0.1};
    struct gauge_budget b;
    char words[300];

    (void)state;
    c.px_per_mm = 40, c.width = 260, c.height = 200, c.centre_x = 130, c.centre_y = 100, c.turn_deg = 0, c.noise = 0;
    rgba = scene_paint(&c);
    soft = malloc((size_t)c.width * (size_t)c.height * 4);
    memcpy(soft, rgba, (size_t)c.width * (size_t)c.height * 4);
    scene_shows(&c, 0, 0, 0, &g.across[0].x, &g.across[0].y);
    scene_shows(&c, c.gap, 0, 0, &g.across[1].x, &g.across[1].y);
    t.middle = (struct gauge_point){g.across[0].x - 300, g.across[0].y};
    for (int y = 0; y < c.height; y++) /* smeared along, from the gap's middle on */
        for (int x = (int)g.across[0].x + 20; x < c.width - 8; x++)
            for (int k = 0; k < 3; k++) {
                int sum = 0;

                for (int i = -8; i <= 8; i++)
                    sum += rgba[((size_t)y * (size_t)c.width + (size_t)(x + i)) * 4 + (size_t)k];
                soft[((size_t)y * (size_t)c.width + (size_t)x) * 4 + (size_t)k] = (uint8_t)(sum / 17);
            }
    for (int way = 0; way < 2; way++) {
        struct gauge_point first = g.across[0];

        gauge_budget_make(&(struct gauge_picture){c.width, c.height, soft}, &t, &g, 4000, &b);
        assert_int_equal(b.largest, GAUGE_PART_STRAP);
        assert_true(b.mm[GAUGE_PART_STRAP] > 1.5 * b.mm[GAUGE_PART_TIP]);
        gauge_budget_remedy(&b, b.largest, words, sizeof words);
        assert_non_null(strstr(words, "side electrode's edge is soft"));
        g.across[0] = g.across[1], g.across[1] = first;
    }
    free(rgba);
    free(soft);
}

static void every_part_has_its_words(void **state)
{
    struct gauge_budget b = {.px_per_mm = 50, .turns = 9, .thread = true, .along_outline = true};

    (void)state;
    for (int k = 0; k < GAUGE_PART_COUNT; k++) {
        char words[300] = "";

        gauge_budget_remedy(&b, (enum gauge_part)k, words, sizeof words);
        assert_true(strlen(words) > 40 && words[strlen(words) - 1] == '.');
        assert_true(gauge_part_id((enum gauge_part)k)[0] != '\0' && gauge_part_label((enum gauge_part)k)[0] != '\0');
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_largest_part_is_named_with_its_remedy),
        cmocka_unit_test(the_softer_edge_has_more_of_it),
        cmocka_unit_test(every_part_has_its_words),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
