/* Periods of drawn threads whose diameter nothing tells, against the period they were drawn with. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "../help/help.h"
#include "base/err.h"
#include "base/text.h"
#include "cli/picture.h"
#include "gauge/gauge_thread.h"

#define DEGREE 0.017453292519943295
#define INCH_18 1.411 /* 18 turns an inch, which assets/threads.csv does not have */

static double number(const struct csv *c, size_t row, const char *name)
{
    return strtod(csv_named(c, row, name), NULL);
}

/* Along the axis, eight tenths of the picture long; where only an outline or a part shows turns, there. */
static void line_of(const struct csv *c, size_t row, double askew_deg, struct gauge_point line[2])
{
    double a = (number(c, row, "axis_angle_deg") + askew_deg) * DEGREE, ux = cos(a), uy = sin(a), w = number(c, row, "width"), h = number(c, row, "height");
    double half = 0.4 * fmin(w / fmax(fabs(ux), 1e-9), h / fmax(fabs(uy), 1e-9)), from = -half, to = half, aside = 0;

    if (strcmp(csv_named(c, row, "kind"), "silhouette") == 0)
        aside = number(c, row, "outer_radius_px") - 4;
    if (strstr(csv_named(c, row, "file"), "partial"))
        from = -190, to = -30; /* turns from -200 to -20 */
    for (int i = 0; i < 2; i++) {
        double s = i ? to : from;

        line[i] = (struct gauge_point){w / 2 + s * ux - aside * uy, h / 2 + s * uy + aside * ux};
    }
}

static void periods_of_drawn_threads_are_found(void **state)
{
    static const double askew[] = {0, -1.5};
    struct csv c = load_table("tests/outside/pitch.csv");

    (void)state;
    for (size_t row = 1; row < c.n_rows; row++) {
        const char *file = csv_named(&c, row, "file");
        /* half a hundredth; noise, blur, few turns and fine ones get a whole one */
        double most = strstr(file, "p05") || strstr(file, "p06") || strstr(file, "p07") || strstr(file, "p11") || strstr(file, "p12") ? 0.01 : 0.005;
        struct photo_pixels pixels;
        struct photo_info info;
        struct err e = {0};
        char path[128];

        text_format(path, sizeof path, "tests/outside/%s", file);
        if (!cli_picture_load(path, &pixels, &info, &e))
            fail_msg("%s", e.text);
        for (int k = 0; k < 2; k++) {
            struct gauge_picture p = {pixels.width, pixels.height, pixels.rgba};
            struct gauge_thread scale;
            struct gauge_point line[2];
            bool found;

            line_of(&c, row, askew[k], line);
            found = gauge_thread_read(&p, line, INCH_18, 0, 0, &scale, &e);
            if (strcmp(csv_named(&c, row, "periodic"), "yes") != 0) {
                assert_false(found);
                assert_int_equal(e.code, ERR_MEASURE);
                continue;
            }
            if (!found)
                fail_msg("%s: %s", file, e.text);
            print_message("%s, %.1f degrees askew: %.3f of %s px\n", file, askew[k], scale.pitch_px, csv_named(&c, row, "period_px"));
            assert_true(fabs(scale.pitch_px / number(&c, row, "period_px") - 1) <= most);
            assert_false(scale.has_body);
            assert_true(scale.px_per_mm_sd > scale.pitch_sd_px / INCH_18);
        }
        photo_pixels_release(&pixels);
    }
    csv_release(&c);
}

static void too_few_turns_are_counted(void **state)
{
    struct csv c = load_table("tests/photos/truth.csv");
    struct photo_pixels pixels;
    struct photo_info info;
    struct gauge_thread scale;
    struct gauge_point line[2];
    struct err e = {0};

    (void)state;
    if (!cli_picture_load("tests/photos/p01.jpg", &pixels, &info, &e))
        fail_msg("%s", e.text);
    for (int i = 0; i < 2; i++) { /* two and a half of ten turns */
        double share = i ? 0.6 : 0.35;

        line[i].x = number(&c, 1, "outline_x1") + share * (number(&c, 1, "outline_x2") - number(&c, 1, "outline_x1"));
        line[i].y = number(&c, 1, "outline_y1") + share * (number(&c, 1, "outline_y2") - number(&c, 1, "outline_y1"));
    }
    assert_false(gauge_thread_read(&(struct gauge_picture){pixels.width, pixels.height, pixels.rgba}, line, 1.25, 0, 0, &scale, &e));
    assert_int_equal(e.code, ERR_MEASURE);
    print_message("%s\n", e.text);
    assert_non_null(strstr(e.text, "Too few threads: about 2."));
    photo_pixels_release(&pixels);
    csv_release(&c);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(periods_of_drawn_threads_are_found),
        cmocka_unit_test(too_few_turns_are_counted),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
