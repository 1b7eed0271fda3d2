/* Threads that nobody named: those that may be meant are told, and no other is chosen in silence. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <string.h>

#include "base/err.h"
#include "gauge/gauge_which.h"
#include "plug_scene.h"

static const struct scene plain = {
    .gap = 0.9, .tip_r = 1.25, .strap_half = 1.3, .strap_thick = 1.4, .corner = 0.03, .thread_from = -16, .thread_to = -2.5, .strap_side = 1,
    .steel = {0.45, 0.44, 0.42}, .tip = {0.3, 0.29, 0.27}, .strap = {0.34, 0.33, 0.3}, .nose = {0.75, 0.73, 0.7}, .bench = {0.1, 0.14, 0.22},
    .shine = 0.3, .weave = 0.2, .seed = 3, .light = {-0.3, -0.6, 1}, .ambient = 0.4, .distance = 300, .px_per_mm = 13, .turn_deg = 8, .blur_px = 0.8, .noise = 0.004,
    .width = 340, .height = 320, .centre_x = 255, .centre_y = 170};

static bool fits(const struct gauge_which *w, const char *thread)
{
    for (int i = 0; i < w->n; i++)
        if (strcmp(w->rows[i].thread, thread) == 0)
            return w->rows[i].fits;
    return false;
}

/* Most of a thread's outline. */
static void outline_of(const struct scene *c, struct gauge_point line[2])
{
    for (int k = 0; k < 2; k++)
        scene_shows(c, k ? -4 : -15, c->major / 2, 0, &line[k].x, &line[k].y);
}

/* Of every thread the table has: a rough line on it, nothing said. */
static void the_right_thread_is_always_among_those_that_fit(void **state)
{
    static const struct {
        const char *thread;
        double major, pitch;
        const char *asked_too, *never; /* as wide within what a photo tells; much wider or thinner */
    } rows[] = {
        {"M10x1.0", 10, 1.0, "M12x1.25", "M18x1.5"}, {"M12x1.25", 12, 1.25, "M10x1.0", NULL}, {"M14x1.25", 14, 1.25, NULL, "M8x1.0"}, {"M18x1.5", 18, 1.5, NULL, "M10x1.0"}};

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct scene c = plain;
        struct gauge_point line[2];
        struct gauge_which any, one;
        struct err e = {0};
        struct gauge_picture p;
        uint8_t *rgba;
        char names[120];

        c.major = rows[i].major, c.pitch = rows[i].pitch;
        outline_of(&c, line);
        line[0].x += 3, line[1].y -= 2;
        rgba = scene_paint(&c);
        p = (struct gauge_picture){c.width, c.height, rgba};
        if (!gauge_which_read(&p, line, 0, 0, NULL, &any, &e) || !gauge_which_read(&p, line, rows[i].pitch, 0, NULL, &one, &e))
            fail_msg("%s: %s", rows[i].thread, e.text);
        gauge_which_names(&any, names, sizeof names);
        print_message("%s: %.2f wide, %s\n", rows[i].thread, any.wide, names);
        assert_true(fits(&any, rows[i].thread));
        assert_true(rows[i].never == NULL || !fits(&any, rows[i].never));
        if (rows[i].asked_too != NULL) {
            assert_true(fits(&any, rows[i].asked_too));
            assert_true(gauge_which_spread(&any) > 0.2499); /* 1.25 to 1.0 */
        }
        for (int k = 0; k < one.n; k++) /* the pitch was said: only its threads are looked at */
            assert_float_equal(one.rows[k].pitch_mm, rows[i].pitch, 1e-9);
        assert_string_equal(one.rows[0].thread, rows[i].thread);
        if (rows[i].major >= 12 && rows[i].pitch < 1.3) /* 9.6 and 11.2 pitches are told apart where outlines are clear */
            assert_int_equal(one.n_fit, 1);
        free(rgba);
    }
}

/* Each thread told as itself, and as those of another pitch that are not as wide. */
static void a_thread_that_was_told_wrongly_is_seen(void **state)
{
    static const struct {
        const char *thread;
        double major, pitch;
    } rows[] = {{"M10x1.0", 10, 1.0}, {"M12x1.25", 12, 1.25}, {"M14x1.25", 14, 1.25}, {"M18x1.5", 18, 1.5}};
    int n_told = 0;

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct scene c = plain;
        struct gauge_point line[2];
        struct gauge_picture p;
        uint8_t *rgba;

        c.major = rows[i].major, c.pitch = rows[i].pitch;
        outline_of(&c, line);
        line[0].x += 3, line[1].y -= 2;
        rgba = scene_paint(&c);
        p = (struct gauge_picture){c.width, c.height, rgba};
        for (size_t k = 0; k < sizeof rows / sizeof rows[0]; k++) {
            bool near = fabs(rows[k].major / rows[k].pitch * rows[i].pitch / rows[i].major - 1) < 0.06;
            struct gauge_thread scale;
            struct gauge_other other;

            if (!gauge_thread_read(&p, line, rows[k].pitch, rows[k].major, 0, &scale, NULL)) {
                assert_true(i != k);
                continue;
            }
            if (i == k || near) { /* as wide within what a photo tells */
                assert_false(gauge_which_other(&p, &scale, &other));
            } else if (fabs(rows[i].pitch - rows[k].pitch) > 0.01 && fabs(scale.pitch_px / (c.pitch * c.px_per_mm) - 1) < 0.03) { /* its turns were found */
                bool seen = gauge_which_other(&p, &scale, &other);

                print_message("%s told as %s: %s\n", rows[i].thread, rows[k].thread, seen ? other.thread : "taken");
                n_told += seen;
            }
        }
        free(rgba);
    }
    assert_true(n_told >= 2); /* in this even light; of 106 such of the truth set 73 are seen, and none of its 60 right ones is asked about */
}

/* A line that is read as one thread after the other gives each what it gives alone, and says the same where it is none. */
static void a_line_read_once_is_each_threads(void **state)
{
    static const double pitches[] = {1.5, 1.25, 1.0};
    struct scene c = plain;
    struct gauge_point line[2];
    struct gauge_line *kept = gauge_line_create();
    struct gauge_picture p;
    uint8_t *rgba;
    int n_read = 0;

    (void)state;
    c.major = 14, c.pitch = 1.25;
    outline_of(&c, line);
    rgba = scene_paint(&c);
    p = (struct gauge_picture){c.width, c.height, rgba};
    for (size_t i = 0; i < sizeof pitches / sizeof pitches[0]; i++) {
        struct gauge_thread alone, with;
        struct err e = {0}, e_with = {0};
        bool read = gauge_thread_read(&p, line, pitches[i], 0, 0, &alone, &e);

        assert_int_equal(gauge_thread_read_as(&p, line, pitches[i], 0, 0, kept, &with, &e_with), read);
        assert_string_equal(e_with.text, e.text);
        assert_int_equal(gauge_thread_read_as(&p, line, pitches[i], 0, 0, kept, &with, NULL), read);
        if (read) {
            assert_memory_equal(&with.pitch_px, &alone.pitch_px, sizeof alone.pitch_px);
            assert_memory_equal(&with.middle, &alone.middle, sizeof alone.middle);
        }
        n_read += read;
    }
    assert_true(n_read > 0);
    gauge_line_destroy(kept);
    gauge_line_destroy(NULL);
    free(rgba);
}

static void names_stand_in_a_row(void **state)
{
    struct gauge_which w = {.n = 3, .n_fit = 3, .rows = {{"M12x1.25", 12, 1.25, 1, true}, {"M14x1.25", 14, 1.25, 1, true}, {"M10x1.0", 10, 1, 1, true}}};
    char to[80];

    (void)state;
    gauge_which_names(&w, to, sizeof to);
    assert_string_equal(to, "M12x1.25, M14x1.25 or M10x1.0");
    assert_float_equal(gauge_which_spread(&w), 0.25, 1e-9);
    w.n_fit = 2;
    gauge_which_names(&w, to, sizeof to);
    assert_string_equal(to, "M12x1.25 or M14x1.25");
    assert_float_equal(gauge_which_spread(&w), 0, 1e-9);
}

static void where_nothing_repeats_the_reason_is_told(void **state)
{
    static uint8_t grey[200 * 200 * 4];
    struct gauge_which w;
    struct err e = {0};

    (void)state;
    memset(grey, 128, sizeof grey);
    assert_false(gauge_which_read(&(struct gauge_picture){200, 200, grey}, (struct gauge_point[2]){{20, 100}, {180, 100}}, 0, 0, NULL, &w, &e));
    assert_non_null(strstr(e.text, "Nothing repeats"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_right_thread_is_always_among_those_that_fit),
        cmocka_unit_test(a_thread_that_was_told_wrongly_is_seen),
        cmocka_unit_test(a_line_read_once_is_each_threads),
        cmocka_unit_test(names_stand_in_a_row),
        cmocka_unit_test(where_nothing_repeats_the_reason_is_told),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
