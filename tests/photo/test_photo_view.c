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

/* A JPEG that says in EXIF how it is to be turned. */
static uint8_t *jpeg_turned(int orientation, size_t *n_bytes)
{
    static const uint8_t head[] = {0xff, 0xd8, 0xff, 0xe1, 0, 34, 'E', 'x', 'i', 'f', 0, 0, 'M', 'M', 0, 42, 0, 0, 0, 8, 0, 1, 1, 0x12, 0, 3, 0, 0, 0, 1, 0, 0, 0, 0, 0, 0, 0, 0};
    struct photo_pixels p = {77, 51, malloc(77 * 51 * 4)};
    uint8_t *jpeg, *whole;
    struct err e = {0};
    size_t n;

    for (int i = 0; i < 77 * 51; i++) {
        p.rgba[4 * i] = (uint8_t)(i % 77 * 3);
        p.rgba[4 * i + 1] = (uint8_t)(i / 77 * 5);
        p.rgba[4 * i + 2] = (uint8_t)(i % 7 * 20);
        p.rgba[4 * i + 3] = 255;
    }
    assert_true(photo_encode_jpeg(&p, 90, &jpeg, &n, &e));
    whole = malloc(n + sizeof head);
    memcpy(whole, head, sizeof head);
    whole[31] = (uint8_t)orientation;
    memcpy(whole + sizeof head, jpeg + 2, n - 2);
    *n_bytes = n - 2 + sizeof head;
    free(jpeg);
    photo_pixels_release(&p);
    return whole;
}

/* What a tile shows is what the whole decoding has there, in each of the eight positions. */
static void parts_are_cut_turned_and_averaged(void **state)
{
    static const struct photo_region parts[] = {{0, 0, 40, 30}, {11, 7, 33, 41}, {0, 0, 51, 51}};
    struct photo_pixels all, out;
    struct photo_held held;
    struct photo_info info;
    struct err e = {0};

    (void)state;
    for (int o = 1; o <= 8; o++) {
        size_t n;
        uint8_t *jpeg = jpeg_turned(o, &n);

        assert_true(photo_decode(jpeg, n, 0, NULL, &all, &info, &e));
        assert_true(info.orientation == o && all.width == (o < 5 ? 77 : 51));
        assert_true(photo_hold(jpeg, n, &held, &e));
        assert_true(held.info.width == all.width && held.info.height == all.height);
        for (size_t i = 0; i < 3; i++)
            for (int shrink = 1; shrink <= 4; shrink *= 2) {
                const struct photo_region *r = &parts[i];

                assert_true(photo_cut(&held, r, shrink, &out, &e));
                assert_true(out.width == (r->width + shrink - 1) / shrink && out.height == (r->height + shrink - 1) / shrink);
                for (int y = 0; y < out.height; y++)
                    for (int x = 0; x < out.width; x++)
                        for (int k = 0; k < 4; k++) {
                            int sum = 0, count = 0;

                            for (int sy = y * shrink; sy < r->height && sy < (y + 1) * shrink; sy++)
                                for (int sx = x * shrink; sx < r->width && sx < (x + 1) * shrink; sx++, count++)
                                    sum += all.rgba[4 * ((r->y + sy) * all.width + r->x + sx) + k];
                            assert_int_equal(out.rgba[4 * (y * out.width + x) + k], (sum + count / 2) / count);
                        }
                photo_pixels_release(&out);
            }
        photo_held_release(&held);
        photo_pixels_release(&all);
        free(jpeg);
    }
    assert_false(photo_hold((const uint8_t *)"no picture", 10, &held, &e));
    assert_null(held.rgb);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_level_is_just_sharp_enough),
        cmocka_unit_test(a_view_is_covered),
        cmocka_unit_test(a_coarse_view_needs_none),
        cmocka_unit_test(parts_are_cut_turned_and_averaged),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
