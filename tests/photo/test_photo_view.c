/* Tiles of a view: what a person sees is covered, and no finer than the screen shows. Expected values by
 * hand. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <stdlib.h>
#include <string.h>

#include "base/err.h"
#include "photo/photo_view.h"

static void the_level_is_just_sharp_enough(void **state)
{
    static const struct {
        double zoom;
        int level;
    } rows[] = {{8, 0}, {1, 0}, {0.51, 0}, {0.5, 1}, {0.26, 1}, {0.25, 2}, {0.1, 3}, {0.001, PHOTO_VIEW_MAX_LEVEL}};

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        assert_int_equal(photo_view_level(rows[i].zoom), rows[i].level);
}

/* Views of many kinds: every visible pixel lies in a tile, no tile twice, none outside, nearest first. */
static void a_view_is_covered(void **state)
{
    static const int sizes[][2] = {{8000, 6000}, {6000, 8000}, {12000, 9000}, {1300, 90}, {513, 2000}};
    static const double zooms[] = {2, 1, 0.7, 0.5, 0.3, 0.2};

    (void)state;
    for (size_t s = 0; s < sizeof sizes / sizeof *sizes; s++)
        for (size_t z = 0; z < sizeof zooms / sizeof *zooms; z++)
            for (int at = -1; at <= 2; at++) {
                int w = sizes[s][0], h = sizes[s][1];
                double zoom = zooms[z], cx = w * at / 2.0 + 10, cy = h * at / 2.0 + 10;
                struct photo_box box = {cx - 700 / zoom, cy - 450 / zoom, cx + 700 / zoom, cy + 450 / zoom};
                struct photo_tile tiles[PHOTO_VIEW_MAX_TILES];
                size_t n = photo_view_tiles(w, h, zoom, &box, 0, tiles, PHOTO_VIEW_MAX_TILES);
                double seen_w = (box.x1 < w ? box.x1 : w) - (box.x0 > 0 ? box.x0 : 0);
                double seen_h = (box.y1 < h ? box.y1 : h) - (box.y0 > 0 ? box.y0 : 0), covered = 0;

                for (size_t i = 0; i < n; i++) {
                    struct photo_region r = photo_tile_region(&tiles[i], w, h);
                    double x0 = r.x > box.x0 ? r.x : box.x0, x1 = r.x + r.width < box.x1 ? r.x + r.width : box.x1;
                    double y0 = r.y > box.y0 ? r.y : box.y0, y1 = r.y + r.height < box.y1 ? r.y + r.height : box.y1;

                    assert_true(r.width > 0 && r.height > 0 && r.x + r.width <= w && r.y + r.height <= h);
                    assert_true(x1 > x0 && y1 > y0); /* something of it is seen */
                    assert_true((r.width - 1) >> tiles[i].level < PHOTO_TILE_PX);
                    covered += (x1 - x0) * (y1 - y0);
                    for (size_t k = 0; k < i; k++)
                        assert_false(tiles[k].x == tiles[i].x && tiles[k].y == tiles[i].y);
                }
                if (seen_w > 0 && seen_h > 0)
                    assert_true(covered > seen_w * seen_h * 0.999999 && covered < seen_w * seen_h * 1.000001);
                else
                    assert_int_equal(n, 0);
            }
}

static void a_coarse_view_needs_none(void **state)
{
    struct photo_box all = {0, 0, 8000, 6000};
    struct photo_tile tiles[4];

    (void)state;
    assert_int_equal(photo_view_tiles(8000, 6000, 0.16, &all, 1280, tiles, 4), 0);  /* exactly what is there */
    assert_int_equal(photo_view_tiles(8000, 6000, 0.17, &all, 1280, tiles, 4), 4);  /* 8 x 6 / 4 tiles, room for 4 */
    assert_int_equal(photo_view_tiles(1200, 900, 4, &all, 1280, tiles, 4), 0);      /* nothing finer exists */
    assert_int_equal(photo_tile_region(&(struct photo_tile){0, 16, 0}, 8000, 6000).width, 0);
    assert_int_equal(photo_tile_region(&(struct photo_tile){0, 15, 0}, 8000, 6000).width, 8000 - 15 * 512);
}

static void parts_are_cut_and_averaged(void **state)
{
    uint8_t rgba[5 * 3 * 4], *rgb = malloc(sizeof rgba);
    struct photo_pixels out = {0};
    struct err e = {0};

    (void)state;
    for (int i = 0; i < 5 * 3 * 4; i++)
        rgba[i] = (uint8_t)(i % 4 == 3 ? 255 : i * 4);
    memcpy(rgb, rgba, sizeof rgba);
    rgb = photo_pack_rgb(rgb, 15);
    assert_true(photo_cut(rgb, 5, &(struct photo_region){1, 1, 3, 2}, 1, &out, &e));
    assert_true(out.width == 3 && out.height == 2);
    for (int y = 0; y < 2; y++)
        assert_memory_equal(out.rgba + y * 12, rgba + ((y + 1) * 5 + 1) * 4, 12);
    photo_pixels_release(&out);
    assert_true(photo_cut(rgb, 5, &(struct photo_region){0, 0, 5, 3}, 2, &out, &e));
    assert_true(out.width == 3 && out.height == 2);
    for (int k = 0; k < 3; k++) { /* four pixels, and the one in the far corner */
        assert_int_equal(out.rgba[k], (rgba[k] + rgba[4 + k] + rgba[20 + k] + rgba[24 + k] + 2) / 4);
        assert_int_equal(out.rgba[5 * 4 + k], rgba[14 * 4 + k]);
    }
    photo_pixels_release(&out);
    free(rgb);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_level_is_just_sharp_enough),
        cmocka_unit_test(a_view_is_covered),
        cmocka_unit_test(a_coarse_view_needs_none),
        cmocka_unit_test(parts_are_cut_and_averaged),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
