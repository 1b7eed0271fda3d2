/* A large photo on the screen, each figure beside a reference of the same run, best of five in turn:
 * the first view of 12 megapixels from the file against `vipsthumbnail -s 1440` (libvips), and out of the
 * cached preview; the tiles of a view at 100 % against a plain decoding by libjpeg-turbo; the memory a
 * helper holds for 48 megapixels. Pictures are a sample photo enlarged, with grain, by ImageMagick, and repeated by libvips. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <jpeglib.h>

#include "base/clock.h"
#include "base/err.h"
#include "base/files.h"
#include "base/text.h"
#include "photo/photo_view.h"
#include "photo/pool.h"

enum { ROUNDS = 5 };

static char folder[64];

static bool run(const char *command)
{
    return system(command) == 0;
}

static double first_view_s(struct photo_pool *pool, const char *path, const uint8_t *jpeg, size_t n_bytes, int max_px)
{
    double began_s = clock_monotonic_s();
    struct photo_result r;

    photo_pool_submit(pool, &(struct photo_job){.work = PHOTO_WORK_DECODE, .path = path, .bytes = jpeg, .n_bytes = n_bytes, .max_px = max_px});
    if (!photo_pool_wait(pool, &r) || !r.ok)
        return -1;
    photo_result_release(&r);
    return clock_monotonic_s() - began_s;
}

/* All tiles of a view of 956 × 804 at 100 % in the middle: what Photos shows at 1440 × 900. */
static double tiles_s(struct photo_pool *pool, const char *path, int width, int height, double *first_s)
{
    struct photo_box seen = {width / 2.0 - 478, height / 2.0 - 402, width / 2.0 + 478, height / 2.0 + 402};
    struct photo_tile tiles[PHOTO_VIEW_MAX_TILES];
    size_t n = photo_view_tiles(width, height, 1, &seen, PHOTO_PREVIEW_PX, tiles, PHOTO_VIEW_MAX_TILES);
    double began_s = clock_monotonic_s();
    struct photo_result r;

    *first_s = 0;
    for (size_t i = 0; i < n; i++)
        photo_pool_submit(pool, &(struct photo_job){.work = PHOTO_WORK_REGION, .path = path, .urgent = true,
                                                    .region = photo_tile_region(&tiles[i], width, height), .shrink = 1});
    for (size_t i = 0; i < n; i++) {
        if (!photo_pool_wait(pool, &r) || !r.ok)
            return -1;
        if (i == 0)
            *first_s = clock_monotonic_s() - began_s;
        photo_result_release(&r);
    }
    return clock_monotonic_s() - began_s;
}

static double plain_decode_s(const char *path)
{
    double began_s = clock_monotonic_s();
    struct jpeg_decompress_struct c;
    struct jpeg_error_mgr errors;
    FILE *f = fopen(path, "rb");
    JSAMPLE *rgb;

    if (!f)
        return -1;
    c.err = jpeg_std_error(&errors);
    jpeg_create_decompress(&c);
    jpeg_stdio_src(&c, f);
    jpeg_read_header(&c, TRUE);
    jpeg_start_decompress(&c);
    rgb = malloc((size_t)c.output_width * c.output_height * 3);
    while (rgb && c.output_scanline < c.output_height) {
        JSAMPROW row = rgb + (size_t)c.output_scanline * c.output_width * 3;

        jpeg_read_scanlines(&c, &row, 1);
    }
    jpeg_finish_decompress(&c);
    jpeg_destroy_decompress(&c);
    fclose(f);
    free(rgb);
    return clock_monotonic_s() - began_s;
}

static void least(double *best, double s)
{
    if (s >= 0 && s < *best)
        *best = s;
}

static long resident_kb(int pid)
{
    char path[64], line[200];
    long kb = 0;
    FILE *f;

    text_format(path, sizeof path, "/proc/%d/status", pid);
    f = fopen(path, "r");
    while (f && fgets(line, sizeof line, f))
        if (strncmp(line, "VmRSS:", 6) == 0)
            kb = atol(line + 6);
    if (f)
        fclose(f);
    return kb;
}

/* times: of 12 megapixels, across and down. */
static bool measure(const char *name, int times, struct err *e)
{
    char path[120], other[120], command[500], *preview;
    int width = 4000 * times, height = 3000 * times;
    double view = 1e9, cached = 1e9, thumbnail = 1e9, tiles = 1e9, first = 1e9, plain = 1e9;
    struct photo_pool *pool;
    size_t n_preview;
    long kb;

    text_format(path, sizeof path, "%s/%s.jpg", folder, name);
    text_format(other, sizeof other, "%s/%s-again.jpg", folder, name);
    text_format(command, sizeof command,
                "vips replicate '%s/grain.jpg' '%s[Q=90]' %d %d && cp '%s' '%s' && vipsthumbnail -s %d -o '%s/preview.jpg' '%s'", folder, path,
                times, times, path, other, PHOTO_PREVIEW_PX, folder, path);
    if (!run(command))
        return err_set(e, ERR_NOTFOUND, "vips or vipsthumbnail failed; is libvips-tools installed?");
    text_format(command, sizeof command, "%s/preview.jpg", folder);
    if (!files_read(command, 1 << 24, &preview, &n_preview, e))
        return false;
    pool = photo_pool_create(&(struct photo_pool_options){.n_helpers = 1}, e);
    if (!pool)
        return false;
    text_format(command, sizeof command, "vipsthumbnail -s 1440 -o '%s/t.jpg' '%s'", folder, path);
    for (int i = 0; i < ROUNDS; i++) {
        const char *which = i % 2 ? other : path; /* not the one that is held */
        double began_s, first_s, all_s;

        least(&view, first_view_s(pool, path, NULL, 0, 1440));
        least(&cached, first_view_s(pool, NULL, (uint8_t *)preview, n_preview, PHOTO_PREVIEW_PX));
        began_s = clock_monotonic_s();
        if (run(command))
            least(&thumbnail, clock_monotonic_s() - began_s);
        all_s = tiles_s(pool, which, width, height, &first_s);
        least(&tiles, all_s);
        least(&first, first_s);
        least(&plain, plain_decode_s(which));
    }
    kb = resident_kb(photo_pool_helper_pid(pool, 0));
    printf("%s: first view from the file %.0f ms, vipsthumbnail -s 1440 %.0f ms, ratio %.2f; out of the cached preview %.0f ms, ratio %.2f\n",
           name, view * 1000, thumbnail * 1000, view / thumbnail, cached * 1000, cached / thumbnail);
    printf("%s: tiles at 100 %%: first %.0f ms, all %.0f ms; plain decoding by libjpeg-turbo %.0f ms, ratio %.2f; the helper holds %ld MB\n",
           name, first * 1000, tiles * 1000, plain * 1000, tiles / plain, kb / 1024);
    photo_pool_destroy(pool);
    free(preview);
    return true;
}

int main(int argc, char **argv)
{
    struct err e = {0};
    char command[200];
    int status;
    bool ok;

    if (photo_helper_run(argc, argv, &status))
        return status;
    strcpy(folder, "/tmp/sootbook-view-XXXXXX");
    if (!mkdtemp(folder))
        return 1;
    text_format(command, sizeof command,
                "convert samples/photos/six-1-end.jpg -resize '4000x3000!' -attenuate 0.3 +noise Gaussian -quality 92 '%s/grain.jpg'", folder);
    ok = (run(command) || err_set(&e, ERR_NOTFOUND, "convert failed; is imagemagick installed?")) && measure("12 MP", 1, &e) &&
         measure("48 MP", 2, &e) && measure("108 MP", 3, &e);
    if (!ok)
        fprintf(stderr, "%s\n", e.text);
    text_format(command, sizeof command, "rm -rf '%s'", folder);
    return system(command) != 0 || !ok;
}
