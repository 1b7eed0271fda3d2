/* A picture file of any bytes: refused with a sentence, or its facts are within their limits. Small ones
 * are decoded too, whole, smaller and in part; the corpus is tests/outside/broken and exif beside what
 * was found. */
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "base/err.h"
#include "photo/photo.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t n_bytes);

/* Decoding more would only slow the search down. */
enum { MOST_PIXELS = 256 * 256 };

static void check(int holds)
{
    if (!holds)
        abort();
}

static void decode(const uint8_t *data, size_t n_bytes, int max_px, const struct photo_region *region)
{
    struct photo_pixels p;
    struct photo_info info;
    struct err e = {0};

    if (photo_decode(data, n_bytes, max_px, region, &p, &info, &e)) {
        check(p.width > 0 && p.height > 0 && p.rgba);
        check(max_px == 0 || (p.width <= max_px && p.height <= max_px));
        check(!region || (p.width == region->width && p.height == region->height));
        check(region || max_px > 0 || (p.width == info.width && p.height == info.height));
        check(p.rgba[3] == 255 && p.rgba[(size_t)p.width * (size_t)p.height * 4 - 1] == 255);
        photo_pixels_release(&p);
    } else {
        check(e.text[0] != '\0' && !p.rgba);
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t n_bytes)
{
    struct photo_info info;
    struct err e = {0};

    if (!photo_parse_info(data, n_bytes, &info, &e)) {
        check(e.text[0] != '\0');
        return 0;
    }
    check(info.width > 0 && info.height > 0 && (int64_t)info.width * info.height <= PHOTO_MAX_PIXELS);
    check(info.orientation >= 1 && info.orientation <= 8);
    check(memchr(info.taken, '\0', sizeof info.taken) != NULL);
    for (const char *c = info.taken; *c; c++)
        check(strchr("0123456789-T:.", *c) != NULL);
    if ((int64_t)info.width * info.height > MOST_PIXELS)
        return 0;
    decode(data, n_bytes, 0, NULL);
    decode(data, n_bytes, 17, NULL);
    decode(data, n_bytes, 0, &(struct photo_region){info.width / 2, info.height / 2, (info.width + 1) / 2, (info.height + 1) / 2});
    return 0;
}
