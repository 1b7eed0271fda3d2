/* 40 noisy photos of 12 megapixels (about 5 MB each, as phones write them) through the picture helpers
 * alone: copied and flushed, hashed, thumbnail and preview made; against `vipsthumbnail -s 256` (libvips)
 * on the same files in the same run. Best of three each, in turn. bench_import.sh times the same with
 * the window and the logbook, on smoother pictures. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/clock.h"
#include "base/err.h"
#include "base/files.h"
#include "base/text.h"
#include "photo/photo.h"
#include "photo/pool.h"

enum { N_PHOTOS = 40, WIDTH = 4000, HEIGHT = 3000, ROUNDS = 3 };

static char folder[64];

static bool make_photo(int number, struct err *e)
{
    struct photo_pixels p = {WIDTH, HEIGHT, malloc((size_t)WIDTH * HEIGHT * 4)};
    unsigned random = (unsigned)number * 2654435761u + 1;
    char path[100];
    uint8_t *jpeg = NULL;
    size_t n = 0;
    bool ok;

    if (!p.rgba)
        return err_set(e, ERR_LIMIT, "no memory");
    for (int y = 0; y < HEIGHT; y++)
        for (int x = 0; x < WIDTH; x++) {
            uint8_t *to = p.rgba + ((size_t)y * WIDTH + (size_t)x) * 4;
            int light = (x + number * 90) * 90 / WIDTH + y * 70 / HEIGHT, noise;

            random = random * 1664525u + 1013904223u;
            noise = (int)(random >> 27) - 16 + ((x / 40 + y / 40) % 2) * 25; /* grain, and edges */
            to[0] = (uint8_t)(50 + light + noise);
            to[1] = (uint8_t)(45 + light + noise);
            to[2] = (uint8_t)(40 + light / 2 + noise);
            to[3] = 255;
        }
    text_format(path, sizeof path, "%s/p%02d.jpg", folder, number);
    ok = photo_encode_jpeg(&p, 90, &jpeg, &n, e) && files_write(path, jpeg, n, e);
    free(jpeg);
    photo_pixels_release(&p);
    return ok;
}

static bool take_in(int round, double *took_s, int64_t *n_bytes, struct err *e)
{
    char kept[100];
    double began_s = clock_monotonic_s();
    struct photo_pool *pool;
    struct photo_result r;
    bool ok = true;

    text_format(kept, sizeof kept, "%s/kept%d", folder, round);
    if (!files_make_folder(kept, e) || !(pool = photo_pool_create(NULL, e))) /* starting the helpers counts */
        return false;
    for (int i = 0; i < N_PHOTOS; i++) {
        char path[100];

        text_format(path, sizeof path, "%s/p%02d.jpg", folder, i);
        photo_pool_submit(pool, &(struct photo_job){.work = PHOTO_WORK_IMPORT, .path = path, .keep_folder = kept});
    }
    *n_bytes = 0;
    while (photo_pool_wait(pool, &r)) {
        if (!r.ok) {
            *e = r.err;
            ok = false;
        }
        *n_bytes += r.n_bytes;
        photo_result_release(&r);
    }
    photo_pool_destroy(pool);
    *took_s = clock_monotonic_s() - began_s;
    return ok;
}

static bool run(struct err *e)
{
    char command[300];
    double ours_s = 1e9, theirs_s = 1e9;
    int64_t n_bytes = 0;

    for (int i = 0; i < N_PHOTOS; i++)
        if (!make_photo(i, e))
            return false;
    text_format(command, sizeof command, "vipsthumbnail -s 256 -o '%s/t-%%s.jpg' '%s'/p*.jpg", folder, folder);
    for (int k = 0; k < ROUNDS; k++) {
        double took_s, began_s;

        if (!take_in(k, &took_s, &n_bytes, e))
            return false;
        ours_s = took_s < ours_s ? took_s : ours_s;
        began_s = clock_monotonic_s();
        if (system(command) != 0)
            return err_set(e, ERR_NOTFOUND, "vipsthumbnail failed; is libvips-tools installed?");
        took_s = clock_monotonic_s() - began_s;
        theirs_s = took_s < theirs_s ? took_s : theirs_s;
    }
    printf("%d photos of 12 MP, %.1f MB each: taken in %.2f s (%.0f ms each), vipsthumbnail -s 256 %.2f s, ratio %.2f\n", N_PHOTOS,
           (double)n_bytes / 1e6 / N_PHOTOS, ours_s, ours_s * 1000 / N_PHOTOS, theirs_s, ours_s / theirs_s);
    return true;
}

int main(int argc, char **argv)
{
    struct err e = {0};
    char command[100];
    int status;
    bool ok;

    if (photo_helper_run(argc, argv, &status))
        return status;
    strcpy(folder, "/tmp/sootbook-intake-XXXXXX");
    if (!mkdtemp(folder))
        return 1;
    ok = run(&e);
    if (!ok)
        fprintf(stderr, "%s\n", e.text);
    text_format(command, sizeof command, "rm -rf '%s'", folder);
    return system(command) != 0 || !ok;
}
