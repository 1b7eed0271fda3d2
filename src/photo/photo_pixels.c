/* photo_pixels.c - pixels made smaller, turned upright, brought to sRGB and written as JPEG. */
#include "photo/photo.h"

#include <assert.h>
#include <stdio.h> /* jpeglib.h wants FILE */
#include <stdlib.h>
#include <string.h>

#include <jpeglib.h>
#include <lcms2.h>
#include <setjmp.h>

#include "base/err.h"
#include "base/mem.h"
#include "photo/photo_work.h"

void photo_pixels_release(struct photo_pixels *p)
{
    free(p->rgba);
    memset(p, 0, sizeof *p);
}

static bool no_memory(int width, int height, struct err *e)
{
    return err_set(e, ERR_LIMIT, "There is not enough memory for a picture of %d × %d pixels. Close other programs, or add a "
                   "smaller copy.", width, height);
}

static bool allocate(struct photo_pixels *p, int width, int height, struct err *e)
{
    p->width = width;
    p->height = height;
    p->rgba = mem_try((size_t)width * (size_t)height, 4);
    return p->rgba || no_memory(width, height, e);
}

/* ---- smaller, by areas ----
 * Every pixel out is the mean of the area it covers. Row weights of one row out are whole numbers that
 * add up to 256 (the running total is rounded, so no error builds up), and so are column weights: sums
 * stay within 16 and 32 bits. Averaging is done on the stored sRGB values: for pictures of 256 and
 * 1280 px the difference from linear light does not show, and nothing is measured on them. */

/* 256 times the share of the n_out-th area that lies before `at`. */
static int share(int at, int index, int n_from, int n_to)
{
    double s = ((double)at * n_to - (double)index * n_from) / n_from;

    return s <= 0 ? 0 : s >= 1 ? 256 : (int)(s * 256 + 0.5);
}

static void fit(int from_width, int from_height, int max_px, int *width, int *height)
{
    int longer = from_width > from_height ? from_width : from_height;

    *width = from_width;
    *height = from_height;
    if (max_px <= 0 || longer <= max_px)
        return;
    *width = (int)((double)from_width * max_px / longer + 0.5);
    *height = (int)((double)from_height * max_px / longer + 0.5);
    if (*width < 1)
        *width = 1;
    if (*height < 1)
        *height = 1;
}

bool photo_shrinker_begin(struct photo_shrinker *s, int from_width, int from_height, int max_px,
                          struct photo_pixels *out, struct err *e)
{
    memset(s, 0, sizeof *s);
    s->from_width = from_width;
    s->from_height = from_height;
    fit(from_width, from_height, max_px, &s->to_width, &s->to_height);
    s->out = out;
    s->sum = mem_try((size_t)from_width + 16, 4 * sizeof *s->sum);
    s->columns = mem_try((size_t)s->to_width, 2 * sizeof *s->columns);
    if (!s->sum || !s->columns) {
        photo_shrinker_end(s);
        return no_memory(s->to_width, s->to_height, e);
    }
    /* The columns an area begins in and ends in; those between have the same weight but for rounding. */
    for (int x = 0; x < s->to_width; x++) {
        int64_t begin = (int64_t)x * from_width, end = begin + from_width;

        s->columns[2 * x] = (uint32_t)(begin / s->to_width);
        s->columns[2 * x + 1] = (uint32_t)((end + s->to_width - 1) / s->to_width);
    }
    if (!allocate(out, s->to_width, s->to_height, e)) {
        photo_shrinker_end(s);
        return false;
    }
    return true;
}

void photo_shrinker_end(struct photo_shrinker *s)
{
    free(s->sum);
    free(s->columns);
    s->sum = NULL;
    s->columns = NULL;
}

/* In blocks of 16 so that the compiler makes vector code of it; both are padded to whole blocks by the
 * caller but for the last block of `from`, which is done singly. */
static void add_row(uint16_t *restrict sum, const uint8_t *restrict from, size_t n, uint16_t weight)
{
    size_t i = 0;

    for (; i + 16 <= n; i += 16)
        for (int k = 0; k < 16; k++)
            sum[i + (size_t)k] = (uint16_t)(sum[i + (size_t)k] + from[i + (size_t)k] * weight);
    for (; i < n; i++)
        sum[i] = (uint16_t)(sum[i] + from[i] * weight);
}

static void emit_row(struct photo_shrinker *s)
{
    uint8_t *to = s->out->rgba + (size_t)s->to_row * (size_t)s->to_width * 4;

    for (int x = 0; x < s->to_width; x++) {
        uint32_t r = 1 << 15, g = 1 << 15, b = 1 << 15;
        int before = 0;

        for (uint32_t c = s->columns[2 * x]; c < s->columns[2 * x + 1]; c++) {
            int upto = share((int)c + 1, x, s->from_width, s->to_width);
            uint32_t w = (uint32_t)(upto - before);
            const uint16_t *p = s->sum + (size_t)c * 4;

            before = upto;
            r += p[0] * w;
            g += p[1] * w;
            b += p[2] * w;
        }
        *to++ = (uint8_t)(r >> 16);
        *to++ = (uint8_t)(g >> 16);
        *to++ = (uint8_t)(b >> 16);
        *to++ = 255;
    }
    memset(s->sum, 0, (size_t)s->from_width * 4 * sizeof *s->sum);
    s->to_row++;
}

void photo_shrinker_row(struct photo_shrinker *s, const uint8_t *rgba)
{
    size_t n = (size_t)s->from_width * 4;
    int y = s->row++;

    assert(y < s->from_height);
    if (s->to_width == s->from_width && s->to_height == s->from_height) {
        if (rgba != s->out->rgba + (size_t)y * n) /* else it was written there already */
            memcpy(s->out->rgba + (size_t)y * n, rgba, n);
        s->to_row++;
        return;
    }
    /* A row lies in one area, or across the border of two. */
    while (s->to_row < s->to_height) {
        int w = share(y + 1, s->to_row, s->from_height, s->to_height) - share(y, s->to_row, s->from_height, s->to_height);

        if (w > 0)
            add_row(s->sum, rgba, n, (uint16_t)w);
        if ((int64_t)(y + 1) * s->to_height < (int64_t)(s->to_row + 1) * s->from_height)
            break;
        emit_row(s);
    }
}

bool photo_shrink(const struct photo_pixels *from, int max_px, struct photo_pixels *out, struct err *e)
{
    struct photo_shrinker s;

    memset(out, 0, sizeof *out);
    if (!photo_shrinker_begin(&s, from->width, from->height, max_px, out, e))
        return false;
    for (int y = 0; y < from->height; y++)
        photo_shrinker_row(&s, from->rgba + (size_t)y * (size_t)from->width * 4);
    photo_shrinker_end(&s);
    return true;
}

/* ---- upright ---- */

/* EXIF orientation as steps through the stored picture: pixel (x, y) as displayed is the stored pixel
 * (x0 + x*xx + y*xy, y0 + x*yx + y*yy), with x0, y0 the far edge where a step is negative.
 * Source: EXIF 2.32, 4.6.4.A, tag 274. */
static const struct {
    signed char xx, xy, yx, yy;
} turns[9] = {
    {1, 0, 0, 1},   {1, 0, 0, 1},   {-1, 0, 0, 1}, {-1, 0, 0, -1}, {1, 0, 0, -1},
    {0, 1, 1, 0},   {0, 1, -1, 0},  {0, -1, -1, 0}, {0, -1, 1, 0},
};

bool photo_turn_upright(struct photo_pixels *p, int orientation, struct err *e)
{
    struct photo_pixels to = {0};
    int xx = turns[orientation].xx, xy = turns[orientation].xy, yx = turns[orientation].yx, yy = turns[orientation].yy;
    int x0 = xx + xy < 0 ? p->width - 1 : 0, y0 = yx + yy < 0 ? p->height - 1 : 0;
    bool swaps = orientation >= 5;
    ptrdiff_t step = xx + (ptrdiff_t)yx * p->width, row_step = xy + (ptrdiff_t)yy * p->width;

    if (orientation <= 1)
        return true;
    if (!allocate(&to, swaps ? p->height : p->width, swaps ? p->width : p->height, e))
        return false;
    for (int y = 0; y < to.height; y++) {
        ptrdiff_t at = (ptrdiff_t)y0 * p->width + x0 + row_step * y;
        uint8_t *row = to.rgba + (size_t)y * (size_t)to.width * 4;

        for (int x = 0; x < to.width; x++, at += step)
            memcpy(row + (size_t)x * 4, p->rgba + at * 4, 4);
    }
    free(p->rgba);
    *p = to;
    return true;
}

struct photo_region photo_region_stored(const struct photo_region *r, int orientation, int stored_width, int stored_height)
{
    struct photo_region s;
    int xx = turns[orientation].xx, xy = turns[orientation].xy, yx = turns[orientation].yx, yy = turns[orientation].yy;
    int x0 = xx + xy < 0 ? stored_width - 1 : 0, y0 = yx + yy < 0 ? stored_height - 1 : 0;
    int x1 = r->x + r->width - 1, y1 = r->y + r->height - 1;
    int ax = x0 + r->x * xx + r->y * xy, ay = y0 + r->x * yx + r->y * yy;
    int bx = x0 + x1 * xx + y1 * xy, by = y0 + x1 * yx + y1 * yy;

    s.x = ax < bx ? ax : bx;
    s.y = ay < by ? ay : by;
    s.width = abs(ax - bx) + 1;
    s.height = abs(ay - by) + 1;
    return s;
}

/* ---- where decoders put their rows ---- */
bool photo_sink_begin(struct photo_sink *s, int width, int height, struct err *e)
{
    s->row = 0;
    if (s->held != NULL) {
        s->held->stored_width = width;
        s->held->stored_height = height;
        s->held->rgb = mem_try((size_t)width * (size_t)height, 3);
        return s->held->rgb != NULL || err_set(e, ERR_LIMIT, "There is not enough memory for a picture of %d × %d pixels. Close other programs.", width, height);
    }
    if (s->cut)
        return allocate(s->out, s->region.width, s->region.height, e);
    return photo_shrinker_begin(&s->shrinker, width, height, s->max_px, s->out, e);
}

uint8_t *photo_sink_place(const struct photo_sink *s)
{
    const struct photo_shrinker *k = &s->shrinker;

    if (s->held != NULL || s->cut || k->to_width != k->from_width || k->to_height != k->from_height)
        return NULL;
    return s->out->rgba + (size_t)k->row * (size_t)k->from_width * 4;
}

uint8_t *photo_sink_place_rgb(const struct photo_sink *s)
{
    return s->held != NULL ? s->held->rgb + (size_t)s->row * (size_t)s->held->stored_width * 3 : NULL;
}

void photo_sink_row_placed(struct photo_sink *s)
{
    s->row++;
}

void photo_sink_row(struct photo_sink *s, const uint8_t *rgba)
{
    uint8_t *packed = photo_sink_place_rgb(s);
    int y = s->row++;

    if (packed != NULL) {
        for (int x = 0; x < s->held->stored_width; x++)
            memcpy(packed + (size_t)x * 3, rgba + (size_t)x * 4, 3);
    } else if (!s->cut) {
        photo_shrinker_row(&s->shrinker, rgba);
    } else if (y >= s->region.y && y < s->region.y + s->region.height) {
        size_t n = (size_t)s->region.width * 4;

        memcpy(s->out->rgba + (size_t)(y - s->region.y) * n, rgba + (size_t)s->region.x * 4, n);
    }
}

bool photo_sink_full(const struct photo_sink *s)
{
    return s->cut && s->row >= s->region.y + s->region.height;
}

void photo_sink_profile(struct photo_sink *s, const uint8_t *icc, size_t n_icc)
{
    if (s->held == NULL) {
        photo_to_srgb(s->out, icc, n_icc);
    } else if ((s->held->icc = mem_try(n_icc, 1)) != NULL) {
        memcpy(s->held->icc, icc, n_icc);
        s->held->n_icc = n_icc;
    }
}

void photo_sink_end(struct photo_sink *s)
{
    if (s->held == NULL && !s->cut)
        photo_shrinker_end(&s->shrinker);
}

/* ---- colour ---- */

/* Profiles that say sRGB are by far the most common; converting would only cost time and rounding. */
static bool is_srgb(cmsHPROFILE profile)
{
    char words[64];

    if (cmsGetProfileInfoASCII(profile, cmsInfoDescription, "en", "US", words, sizeof words) == 0)
        return false;
    words[sizeof words - 1] = '\0';
    return strncmp(words, "sRGB", 4) == 0;
}

void photo_to_srgb(struct photo_pixels *p, const uint8_t *icc, size_t n_icc)
{
    cmsHPROFILE from, to;
    cmsHTRANSFORM change = NULL;

    if (n_icc < 128 || n_icc > 16 * 1024 * 1024)
        return;
    from = cmsOpenProfileFromMem(icc, (cmsUInt32Number)n_icc);
    if (!from)
        return;
    if (cmsGetColorSpace(from) != cmsSigRgbData || is_srgb(from)) {
        cmsCloseProfile(from);
        return;
    }
    to = cmsCreate_sRGBProfile();
    if (to)
        change = cmsCreateTransform(from, TYPE_RGBA_8, to, TYPE_RGBA_8, INTENT_RELATIVE_COLORIMETRIC,
                                    cmsFLAGS_COPY_ALPHA);
    if (change) {
        for (int y = 0; y < p->height; y++) {
            uint8_t *row = p->rgba + (size_t)y * (size_t)p->width * 4;

            cmsDoTransform(change, row, row, (cmsUInt32Number)p->width);
        }
        cmsDeleteTransform(change);
    }
    if (to)
        cmsCloseProfile(to);
    cmsCloseProfile(from);
}

/* ---- JPEG out ---- */
struct jpeg_out_trouble {
    struct jpeg_error_mgr base;
    jmp_buf back;
};

static void jpeg_out_failed(j_common_ptr cinfo)
{
    struct jpeg_out_trouble *t = (struct jpeg_out_trouble *)cinfo->err;

    longjmp(t->back, 1);
}

bool photo_encode_jpeg(const struct photo_pixels *p, int quality, uint8_t **jpeg, size_t *n_bytes, struct err *e)
{
    struct jpeg_compress_struct c;
    struct jpeg_out_trouble trouble;
    unsigned char *bytes = NULL;
    unsigned long n = 0;
    unsigned char **bytes_at = &bytes; /* through pointers: setjmp() keeps no plain locals */

    *jpeg = NULL;
    *n_bytes = 0;
    memset(&c, 0, sizeof c);
    c.err = jpeg_std_error(&trouble.base);
    trouble.base.error_exit = jpeg_out_failed;
    if (setjmp(trouble.back)) {
        jpeg_destroy_compress(&c);
        free(*bytes_at);
        return err_set(e, ERR_LIMIT, "A preview of %d × %d pixels could not be made: not enough memory.", p->width, p->height);
    }
    jpeg_create_compress(&c);
    jpeg_mem_dest(&c, bytes_at, &n);
    c.image_width = (JDIMENSION)p->width;
    c.image_height = (JDIMENSION)p->height;
    c.input_components = 4;
    c.in_color_space = JCS_EXT_RGBX;
    jpeg_set_defaults(&c);
    jpeg_set_quality(&c, quality, TRUE);
    jpeg_start_compress(&c, TRUE);
    while (c.next_scanline < c.image_height) {
        JSAMPROW row = p->rgba + (size_t)c.next_scanline * (size_t)p->width * 4;

        jpeg_write_scanlines(&c, &row, 1);
    }
    jpeg_finish_compress(&c);
    jpeg_destroy_compress(&c);
    *jpeg = *bytes_at;
    *n_bytes = n;
    return true;
}
