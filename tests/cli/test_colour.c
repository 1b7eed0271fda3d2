/* Colour and deposits of a nose, on rendered plugs that are known to be dry or oily. */
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
#include "gauge/gauge_colour.h"

static int corners_of(const char *at, struct gauge_point *to)
{
    int n = 0;

    while (*at != '\0') {
        char *end;

        to[n].x = strtod(at, &end);
        to[n++].y = strtod(end + 1, &end);
        at = end + (*end == ';');
    }
    return n;
}

static bool read_nose(const char *where, const char *file, const struct gauge_box *patch, double reflectance, const char *outline, struct gauge_colour *c, struct err *e)
{
    struct photo_pixels pixels;
    struct gauge_picture p;
    struct gauge_light light;
    struct gauge_point corners[GAUGE_MAX_CORNERS];
    char path[100];
    bool fine;

    text_format(path, sizeof path, "%s/%s", where, file);
    if (!cli_picture_load(path, &pixels, NULL, e))
        fail_msg("%s", e->text);
    p = (struct gauge_picture){pixels.width, pixels.height, pixels.rgba};
    fine = gauge_light_read(&p, patch, reflectance, &light, e) && gauge_colour_read(&p, corners, corners_of(outline, corners), &light, c, e);
    photo_pixels_release(&pixels);
    return fine;
}

static bool suggests(const struct gauge_colour *c, const char *id)
{
    for (int i = 0; i < c->n_suggested; i++)
        if (strcmp(c->suggested[i].id, id) == 0)
            return true;
    return false;
}

static double number(const struct csv *c, size_t row, const char *name)
{
    return strtod(csv_named(c, row, name), NULL);
}

static void rendered_noses_have_their_colour_and_only_oily_ones_shine(void **state)
{
    struct csv t = load_table("tests/photos/truth.csv");
    int n = 0, n_oily = 0;

    (void)state;
    for (size_t i = 1; i < t.n_rows; i++) {
        const char *file = csv_named(&t, i, "file");
        struct gauge_box patch = {number(&t, i, "patch_x"), number(&t, i, "patch_y"), number(&t, i, "patch_w"), number(&t, i, "patch_h")};
        bool oily = strcmp(csv_named(&t, i, "condition"), "oily") == 0;
        struct gauge_colour c;
        struct err e = {0};

        if (!read_nose("tests/photos", file, &patch, number(&t, i, "patch_reflectance"), csv_named(&t, i, "nose_polygon"), &c, &e)) {
            if (number(&t, i, "nose_median_L") < 100) /* one faces the light better than its card, and is clipped */
                fail_msg("%s: %s", file, e.text);
            continue;
        }
        if (!(fabs(c.lab[0] - number(&t, i, "nose_median_L")) < 3 && fabs(c.lab[1] - number(&t, i, "nose_median_a")) < 3 && fabs(c.lab[2] - number(&t, i, "nose_median_b")) < 3))
            fail_msg("%s: L* %.1f a* %.1f b* %.1f", file, c.lab[0], c.lab[1], c.lab[2]);
        if (suggests(&c, "wet-oil") != oily)
            fail_msg("%s: glossy on %.4f, %s", file, c.gloss_share, csv_named(&t, i, "condition"));
        n++, n_oily += oily;
    }
    assert_int_equal(n, 33);
    assert_int_equal(n_oily, 12);
    csv_release(&t);
}

/* The outline of the flat four's first nose touches the strap, which is bright: dry, and once called oily. */
static void the_sample_s_noses_are_called_oily_only_where_oil_is(void **state)
{
    struct csv marks = load_table("samples/photos/marks.csv"), scene = load_table("samples/scene/pictures.csv");
    int n = 0, n_oily = 0;

    (void)state;
    for (size_t i = 1; i < marks.n_rows; i++) {
        const char *file = csv_named(&marks, i, "file"), *outline = NULL;
        struct gauge_point box[GAUGE_MAX_CORNERS];
        struct gauge_colour c;
        struct err e = {0};
        double oil = -1;

        if (strcmp(csv_named(&marks, i, "kind"), "patch") != 0)
            continue;
        for (size_t k = 1; k < marks.n_rows; k++)
            if (strcmp(csv_named(&marks, k, "file"), file) == 0 && strcmp(csv_named(&marks, k, "kind"), "area") == 0)
                outline = csv_named(&marks, k, "points");
        for (size_t k = 1; k < scene.n_rows; k++)
            if (strcmp(csv_named(&scene, k, "file"), file) == 0)
                oil = number(&scene, k, "oil_end");
        assert_non_null(outline);
        assert_true(oil >= 0);
        assert_int_equal(corners_of(csv_named(&marks, i, "points"), box), 2);
        if (!read_nose("samples/photos", file, &(struct gauge_box){box[0].x, box[0].y, box[1].x - box[0].x, box[1].y - box[0].y}, GAUGE_REFLECTANCE, outline, &c, &e))
            fail_msg("%s: %s", file, e.text);
        if (suggests(&c, "wet-oil") != (oil > 0.3))
            fail_msg("%s: glossy on %.4f, oil %g", file, c.gloss_share, oil);
        n++, n_oily += oil > 0.3;
    }
    assert_int_equal(n, 14);
    assert_int_equal(n_oily, 1);
    csv_release(&marks);
    csv_release(&scene);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(rendered_noses_have_their_colour_and_only_oily_ones_shine),
        cmocka_unit_test(the_sample_s_noses_are_called_oily_only_where_oil_is),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
