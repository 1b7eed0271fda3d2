/* Tiles of a view: what a person sees is covered, and no finer than the screen shows. Expected values by
 * hand. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <math.h>
#include <stdio.h> /* jpeglib.h wants FILE */
#include <stdlib.h>
#include <string.h>

#include <jpeglib.h>

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

/* A JPEG that says in EXIF how it is to be turned; across, down: pixels that share a colour difference, 0 0 grey. */
enum blue { NOISE, MILD_NOISE, EVEN };
static uint8_t *jpeg_turned(int orientation, int across, int down, enum blue blue, size_t *n_bytes)
{
    static const uint8_t exif[] = {'E', 'x', 'i', 'f', 0, 0, 'M', 'M', 0, 42, 0, 0, 0, 8, 0, 1, 1, 0x12, 0, 3, 0, 0, 0, 1, 0, 0, 0, 0, 0, 0, 0, 0};
    struct jpeg_compress_struct c;
    struct jpeg_error_mgr errors;
    uint8_t head[sizeof exif], row[77 * 3], *jpeg = NULL;
    unsigned long n = 0;
    unsigned grain = 1;

    memcpy(head, exif, sizeof exif);
    head[25] = (uint8_t)orientation;
    c.err = jpeg_std_error(&errors);
    jpeg_create_compress(&c);
    jpeg_mem_dest(&c, &jpeg, &n);
    c.image_width = 77;
    c.image_height = 51;
    c.input_components = across > 0 ? 3 : 1;
    c.in_color_space = across > 0 ? JCS_RGB : JCS_GRAYSCALE;
    jpeg_set_defaults(&c);
    jpeg_set_quality(&c, 90, TRUE);
    if (across > 0) {
        c.comp_info[0].h_samp_factor = across;
        c.comp_info[0].v_samp_factor = down;
    }
    c.write_JFIF_header = FALSE;
    jpeg_start_compress(&c, TRUE);
    jpeg_write_marker(&c, JPEG_APP0 + 1, head, sizeof head);
    for (int y = 0; y < 51; y++) {
        JSAMPROW at = row;

        for (int x = 0; x < 77; x++, grain = grain * 1103515245u + 12345u) {
            uint8_t *to = row + (across > 0 ? 3 * x : x);

            to[0] = (uint8_t)(x * 3);
            if (across > 0) {
                to[1] = (uint8_t)(y * 5);
                to[2] = (uint8_t)(blue == NOISE ? grain >> 24 : 64 + (blue == MILD_NOISE ? grain >> 26 : (unsigned)x));
            }
        }
        jpeg_write_scanlines(&c, &at, 1);
    }
    jpeg_finish_compress(&c);
    jpeg_destroy_compress(&c);
    *n_bytes = n;
    return jpeg;
}

static const int codings[][2] = {{2, 2}, {2, 1}, {1, 1}, {1, 2}, {4, 1}, {0, 0}};

/* What a tile shows is what libjpeg's own decoding of the whole has there, in each of the eight positions, however
 * finely colour is coded; a smaller copy of a JPEG is averaged before it becomes R, G, B, which rounds by 2 where colour
 * is even. */
static void parts_are_cut_turned_and_averaged(void **state)
{
    static const struct photo_region parts[] = {{0, 0, 40, 30}, {11, 7, 33, 41}, {0, 0, 51, 51}};
    struct photo_pixels all, out;
    struct photo_held held;
    struct photo_info info;
    struct err e = {0};

    (void)state;
    for (int i_case = 0; i_case < 16 * (int)(sizeof codings / sizeof *codings); i_case++) {
        const int *coding = codings[i_case / 16], o = i_case % 8 + 1;
        const enum blue blue = i_case / 8 % 2 ? EVEN : NOISE;
        size_t n;
        uint8_t *jpeg = jpeg_turned(o, coding[0], coding[1], blue, &n);

        assert_true(photo_decode(jpeg, n, 0, NULL, &all, &info, &e));
        assert_true(info.orientation == o && all.width == (o < 5 ? 77 : 51));
        assert_true(photo_hold(jpeg, n, 0, &held, &e));
        assert_true(held.info.width == all.width && held.info.height == all.height);
        for (size_t i = 0; i < 3; i++)
            for (int shrink = 1; shrink <= 4; shrink *= 2) {
                const struct photo_region *r = &parts[i];
                const int off = shrink > 1 && held.rgb == NULL ? 2 : 0;

                if (off > 0 && blue == NOISE)
                    continue;

                assert_true(photo_cut(&held, r, shrink, &out, &e));
                assert_true(out.width == (r->width + shrink - 1) / shrink && out.height == (r->height + shrink - 1) / shrink);
                for (int y = 0; y < out.height; y++)
                    for (int x = 0; x < out.width; x++)
                        for (int k = 0; k < 4; k++) {
                            int sum = 0, count = 0;

                            for (int sy = y * shrink; sy < r->height && sy < (y + 1) * shrink; sy++)
                                for (int sx = x * shrink; sx < r->width && sx < (x + 1) * shrink; sx++, count++)
                                    sum += all.rgba[4 * ((r->y + sy) * all.width + r->x + sx) + k];
                            if (abs(out.rgba[4 * (y * out.width + x) + k] - (sum + count / 2) / count) > off)
                                fail_msg("colour by %d × %d, position %d, part %zu by %d: %d, %d channel %d", coding[0], coding[1], o, i, shrink, x, y, k);
                        }
                photo_pixels_release(&out);
            }
        photo_held_release(&held);
        photo_pixels_release(&all);
        free(jpeg);
    }
    assert_false(photo_hold((const uint8_t *)"no picture", 10, 0, &held, &e));
    assert_false(photo_is_held(&held));
}

static size_t held_bytes(const struct photo_held *h)
{
    size_t n = 0;

    for (int i = 0; i < 3; i++)
        n += (size_t)h->planes[i].pitch * (size_t)h->planes[i].height;
    return n;
}

/* Where colour would take too much memory it is kept at half the fineness: lightness stays to the bit, colours stay
 * where they are and as they are wherever they are even. */
static void colour_is_halved_where_memory_is_short(void **state)
{
    static const struct photo_region all = {0, 0, 77, 51};
    struct photo_pixels fine, half;
    struct photo_held held;
    struct err e = {0};

    (void)state;
    for (size_t i = 0; i < 3; i++) {
        size_t n, n_full;
        double sum[3] = {0, 0, 0};
        int n_whole = 0;
        uint8_t *jpeg = jpeg_turned(1, codings[i][0], codings[i][1], MILD_NOISE, &n);

        assert_true(photo_hold(jpeg, n, 1 << 20, &held, &e)); /* room enough: as it is coded */
        n_full = held_bytes(&held);
        assert_true(held.across == codings[i][0] && held.down == codings[i][1]);
        assert_true(photo_cut(&held, &all, 1, &fine, &e));
        photo_held_release(&held);
        assert_true(photo_hold(jpeg, n, 77 * 51, &held, &e));
        assert_true(held.across == 2 && held.down == 2);
        assert_true(i == 0 ? held_bytes(&held) == n_full : held_bytes(&held) * 4 <= n_full * 3 + 4 * 96);
        assert_true(photo_cut(&held, &all, 1, &half, &e));
        for (int p = 0; p < 77 * 51; p++) {
            const uint8_t *f = fine.rgba + 4 * p, *h = half.rgba + 4 * p;
            bool clipped = false;

            for (int k = 0; k < 3; k++)
                clipped = clipped || f[k] == 0 || f[k] == 255 || h[k] == 0 || h[k] == 255;
            if (clipped)
                continue;
            n_whole++;
            for (int k = 0; k < 3; k++)
                sum[k] += f[k] - h[k];
            if (fabs(0.299 * (f[0] - h[0]) + 0.587 * (f[1] - h[1]) + 0.114 * (f[2] - h[2])) > 1.5) /* lightness by ITU-R BT.601 */
                fail_msg("colour by %d × %d: %d, %d is %d %d %d, halved %d %d %d", codings[i][0], codings[i][1], p % 77, p / 77, f[0], f[1], f[2], h[0], h[1], h[2]);
        }
        assert_true(n_whole > 77 * 51 / 2);
        for (int k = 0; k < 3; k++) /* red rises to the right, green downwards: out of place they would be off in the mean */
            assert_true(fabs(sum[k] / n_whole) < 1);
        photo_held_release(&held);
        photo_pixels_release(&fine);
        photo_pixels_release(&half);
        free(jpeg);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_level_is_just_sharp_enough),
        cmocka_unit_test(a_view_is_covered),
        cmocka_unit_test(a_coarse_view_needs_none),
        cmocka_unit_test(parts_are_cut_turned_and_averaged),
        cmocka_unit_test(colour_is_halved_where_memory_is_short),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
