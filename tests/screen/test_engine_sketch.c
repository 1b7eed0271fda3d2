/* The small drawing of an engine on its card: what a cylinder's mark says covers no number. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "screen/model.h"
#include "../help/measure.h"

/* Of a polygon, its box. */
static struct rect box_of(const struct ui_draw *d)
{
    float x0 = d->points[0], y0 = d->points[1], x1 = x0, y1 = y0;

    for (int i = 1; i < d->n_points; i++) {
        x0 = fminf(x0, d->points[2 * i]);
        x1 = fmaxf(x1, d->points[2 * i]);
        y0 = fminf(y0, d->points[2 * i + 1]);
        y1 = fmaxf(y1, d->points[2 * i + 1]);
    }
    return (struct rect){x0, y0, x1 - x0, y1 - y0};
}

/* The figures of a number: as wide as they are set, seven tenths of their size high (from memory, of most sans-serif faces). */
static struct rect figures_of(const struct ui_draw *d)
{
    float h = 0.7f * (float)d->size_px, middle = d->r.y + d->r.h / 2;

    return (struct rect){d->r.x, middle - h / 2, d->r.w, h};
}

static void a_mark_covers_no_number(void **state)
{
    static const char *const presets[] = {"i4", "i6", "v8-odd-left", "f4-seq", "w8", "r7", "twin-360"};
    static const float widths[] = {100, 140, 200, 320}; /* of the card's drawing: at 960 × 600 where it gave way, up to 1440 × 900 */

    (void)state;
    for (size_t i = 0; i < sizeof presets / sizeof presets[0] * 4 * 2; i++) {
        const struct engine_preset *p = engine_find_preset(presets[i / 8]);
        struct engine_levels levels = {.known = true};
        struct ui *ui = ui_create_without_fonts();
        const struct ui_draw *all;
        size_t n;
        int n_marks = 0;

        if (p == NULL)
            fail_msg("there is no layout %s", presets[i / 8]);
        for (int c = 0; c < p->engine.n_cylinders; c++)
            levels.level[c] = i % 2 == 0 ? LEVEL_ACT : LEVEL_WATCH;
        ui_begin(ui, 1280, 720, 1);
        engine_sketch(ui, &p->engine, &levels, 54, (struct rect){100, 100, widths[i / 2 % 4], 138});
        ui_end(ui);
        all = ui_draws(ui, &n);
        for (size_t k = 0; k < n; k++) {
            struct rect mark, number;

            if (all[k].type != UI_DRAW_POLYGON)
                continue;
            mark = box_of(&all[k]);
            n_marks++;
            for (size_t t = 0; t < n; t++) {
                if (all[t].type != UI_DRAW_TEXT || strcmp(all[t].text, "front") == 0)
                    continue;
                number = figures_of(&all[t]);
                if (mark.x < number.x + number.w && number.x < mark.x + mark.w && mark.y < number.y + number.h && number.y < mark.y + mark.h)
                    fail_msg("%s, %.0f px wide: a mark at %.0f, %.0f lies over “%s”", presets[i / 8], (double)widths[i / 2 % 4], (double)mark.x, (double)mark.y, all[t].text);
            }
        }
        assert_true(n_marks >= 2 * p->engine.n_cylinders);
        ui_destroy(ui);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(a_mark_covers_no_number)};

    return cmocka_run_group_tests(tests, NULL, NULL);
}
