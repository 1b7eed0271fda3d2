/* paint.c - lines by their distance to each pixel, areas by how much of each pixel they cover, words by the
 * outlines of a typeface. */
#pragma GCC diagnostic push
#pragma GCC diagnostic ignored "-Wconversion"
#pragma GCC diagnostic ignored "-Wsign-conversion"
#pragma GCC diagnostic ignored "-Wshadow"
#pragma GCC diagnostic ignored "-Wunused-function"
#pragma GCC diagnostic ignored "-Wcast-qual"
#define STB_TRUETYPE_IMPLEMENTATION
#define STBTT_STATIC
#include <stb/stb_truetype.h>
#define STB_IMAGE_WRITE_IMPLEMENTATION
#define STB_IMAGE_WRITE_STATIC
#pragma GCC diagnostic ignored "-Wmissing-prototypes"
#include <stb/stb_image_write.h>
#pragma GCC diagnostic pop

#include "report/paint.h"

#include <fontconfig/fontconfig.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/err.h"
#include "base/files.h"
#include "base/mem.h"
#include "base/text.h"
#include "photo/photo.h"

#define PI 3.14159265358979323846

void paint_mix(struct photo_pixels *p, int x, int y, const uint8_t rgb[3], double share)
{
    uint8_t *at;

    if (x < 0 || y < 0 || x >= p->width || y >= p->height || share <= 0)
        return;
    at = p->rgba + ((size_t)y * (size_t)p->width + (size_t)x) * 4;
    for (int i = 0; i < 3; i++)
        at[i] = (uint8_t)lrint(at[i] + (rgb[i] - at[i]) * fmin(share, 1));
}

void paint_line(struct photo_pixels *p, double x0, double y0, double x1, double y1, double width, const uint8_t rgb[3])
{
    double dx = x1 - x0, dy = y1 - y0, l2 = dx * dx + dy * dy, r = width / 2;
    int top = (int)floor(fmin(y0, y1) - r - 1), low = (int)ceil(fmax(y0, y1) + r + 1);

    top = top < 0 ? 0 : top;
    low = low > p->height - 1 ? p->height - 1 : low;
    for (int y = top; y <= low; y++) {
        /* where the row may meet the line: between the ends, cut to the part near this row */
        double left = fmin(x0, x1), right = fmax(x0, x1);

        if (fabs(dy) > 1e-9) {
            double reach = (r + 1.5) * sqrt(l2) / fabs(dy), at = x0 + dx * (y + 0.5 - y0) / dy;

            left = fmax(left, at - reach);
            right = fmin(right, at + reach);
        }
        for (int x = (int)fmax(0, floor(left - r - 1)); x <= (int)fmin(p->width - 1, ceil(right + r + 1)); x++) {
            double t = l2 > 0 ? fmin(1, fmax(0, ((x + 0.5 - x0) * dx + (y + 0.5 - y0) * dy) / l2)) : 0;

            paint_mix(p, x, y, rgb, r + 0.5 - hypot(x + 0.5 - x0 - t * dx, y + 0.5 - y0 - t * dy));
        }
    }
}

static void bounds(double x0, double y0, double x1, double y1, const struct photo_pixels *p, int to[4])
{
    to[0] = (int)fmax(0, floor(x0 - 1)), to[1] = (int)fmax(0, floor(y0 - 1));
    to[2] = (int)fmin(p->width - 1, ceil(x1 + 1)), to[3] = (int)fmin(p->height - 1, ceil(y1 + 1));
}

void paint_box(struct photo_pixels *p, double x, double y, double w, double h, double radius, const uint8_t rgb[3])
{
    double r = fmin(radius, fmin(w, h) / 2);
    int b[4];

    bounds(x, y, x + w, y + h, p, b);
    for (int j = b[1]; j <= b[3]; j++)
        for (int i = b[0]; i <= b[2]; i++) {
            /* how far outside of the box less its corners' radius */
            double dx = fabs(i + 0.5 - x - w / 2) - (w / 2 - r), dy = fabs(j + 0.5 - y - h / 2) - (h / 2 - r);
            double out = hypot(fmax(dx, 0), fmax(dy, 0)) + fmin(fmax(dx, dy), 0) - r;

            paint_mix(p, i, j, rgb, 0.5 - out);
        }
}

void paint_ring(struct photo_pixels *p, double x, double y, double radius, double width, double from_deg, double to_deg, const uint8_t rgb[3])
{
    bool whole = !(to_deg > from_deg);
    int b[4];

    bounds(x - radius - width, y - radius - width, x + radius + width, y + radius + width, p, b);
    for (int j = b[1]; j <= b[3]; j++)
        for (int i = b[0]; i <= b[2]; i++) {
            double dx = i + 0.5 - x, dy = j + 0.5 - y, d = hypot(dx, dy), cover = 0.5 + width / 2 - fabs(d - radius), deg = atan2(dx, -dy) * 180 / PI;

            if (cover <= 0)
                continue;
            if (!whole) { /* past its ends by less than a pixel it fades */
                double past = fmod(deg - from_deg + 720, 360), over = past - (to_deg - from_deg);

                cover = over <= 0 ? cover : fmin(cover, 0.5 - fmin(over, 360 - past) * PI / 180 * d);
            }
            paint_mix(p, i, j, rgb, cover);
        }
}

void paint_polygon(struct photo_pixels *p, const double *points, int n_points, const uint8_t rgb[3])
{
    double x0 = points[0], y0 = points[1], x1 = x0, y1 = y0;
    int b[4];

    for (int k = 1; k < n_points; k++) {
        x0 = fmin(x0, points[2 * k]), x1 = fmax(x1, points[2 * k]);
        y0 = fmin(y0, points[2 * k + 1]), y1 = fmax(y1, points[2 * k + 1]);
    }
    bounds(x0, y0, x1, y1, p, b);
    for (int j = b[1]; j <= b[3]; j++)
        for (int i = b[0]; i <= b[2]; i++) {
            int inside = 0;

            for (int q = 0; q < 16; q++) { /* four points each way in a pixel, even-odd */
                double px = i + (q % 4 + 0.5) / 4, py = j + (q / 4 + 0.5) / 4;
                bool in = false;

                for (int k = 0, l = n_points - 1; k < n_points; l = k++) {
                    double ky = points[2 * k + 1], ly = points[2 * l + 1];

                    if ((ky > py) != (ly > py) && px < points[2 * k] + (points[2 * l] - points[2 * k]) * (py - ky) / (ly - ky))
                        in = !in;
                }
                inside += in;
            }
            paint_mix(p, i, j, rgb, inside / 16.0);
        }
}

/* ---- words ---- */

struct paint_face {
    char *bytes;
    stbtt_fontinfo info;
    int ascent;
};

/* The program's typeface where Debian puts it, else what fontconfig offers for it. */
static const struct {
    const char *usual, *asked;
} weights[2] = {{"/usr/share/fonts/opentype/inter/Inter-Regular.otf", "Inter,sans-serif:regular"},
                {"/usr/share/fonts/opentype/inter/Inter-SemiBold.otf", "Inter,sans-serif:semibold"}};

struct paint_face *paint_face_open(bool bold, struct err *e)
{
    struct paint_face *f = mem_alloc(1, sizeof *f);
    char path[1024];
    size_t n_bytes;
    int descent, gap, offset, index = 0;

    text_copy(path, sizeof path, weights[bold].usual);
    if (!files_exists(path)) {
        FcPattern *want = FcNameParse((const FcChar8 *)weights[bold].asked), *got;
        FcResult result;
        FcChar8 *file = NULL;

        FcConfigSubstitute(NULL, want, FcMatchPattern);
        FcDefaultSubstitute(want);
        got = FcFontMatch(NULL, want, &result);
        if (got != NULL && FcPatternGetString(got, FC_FILE, 0, &file) == FcResultMatch) {
            text_copy(path, sizeof path, (const char *)file);
            FcPatternGetInteger(got, FC_INDEX, 0, &index);
        }
        if (got != NULL)
            FcPatternDestroy(got);
        FcPatternDestroy(want);
    }
    if (!files_read(path, 64 << 20, &f->bytes, &n_bytes, e)) {
        free(f);
        return NULL;
    }
    offset = stbtt_GetFontOffsetForIndex((const unsigned char *)f->bytes, index);
    if (offset < 0 || !stbtt_InitFont(&f->info, (const unsigned char *)f->bytes, offset)) {
        paint_face_close(f);
        err_set(e, ERR_FORMAT, "The typeface %s cannot be used to write on the picture.", path);
        return NULL;
    }
    stbtt_GetFontVMetrics(&f->info, &f->ascent, &descent, &gap);
    return f;
}

void paint_face_close(struct paint_face *f)
{
    if (f != NULL)
        free(f->bytes);
    free(f);
}

static float scale_of(const struct paint_face *f, double size_px)
{
    return stbtt_ScaleForMappingEmToPixels(&f->info, (float)size_px);
}

double paint_ascent(const struct paint_face *f, double size_px)
{
    return rint((double)((float)f->ascent * scale_of(f, size_px)));
}

double paint_width(const struct paint_face *f, double size_px, const char *s)
{
    float scale = scale_of(f, size_px);
    double w = 0;

    for (size_t at = 0; s[at] != '\0'; at = text_next(s, at)) {
        int advance, bearing;

        stbtt_GetCodepointHMetrics(&f->info, (int)text_codepoint(s, at), &advance, &bearing);
        w += (double)((float)advance * scale);
    }
    return w;
}

void paint_words(struct photo_pixels *p, const struct paint_face *f, double size_px, double x, double baseline, const char *s, const uint8_t rgb[3])
{
    float scale = scale_of(f, size_px);

    for (size_t at = 0; s[at] != '\0'; at = text_next(s, at)) {
        int code = (int)text_codepoint(s, at), advance, bearing, w, h, dx, dy;
        unsigned char *mask = stbtt_GetCodepointBitmapSubpixel(&f->info, scale, scale, (float)(x - floor(x)), 0, code, &w, &h, &dx, &dy);

        for (int j = 0; mask != NULL && j < h; j++)
            for (int i = 0; i < w; i++)
                paint_mix(p, (int)floor(x) + dx + i, (int)lrint(baseline) + dy + j, rgb, mask[j * w + i] / 255.0);
        stbtt_FreeBitmap(mask, NULL);
        stbtt_GetCodepointHMetrics(&f->info, code, &advance, &bearing);
        x += (double)((float)advance * scale);
    }
}

/* ---- files ---- */

bool paint_png(const struct photo_pixels *p, uint8_t **bytes, size_t *n_bytes, struct err *e)
{
    size_t n_px = (size_t)p->width * (size_t)p->height;
    uint8_t *rgb = mem_try(n_px, 3);
    int n = 0;

    *bytes = NULL;
    for (size_t i = 0; i < n_px && rgb != NULL; i++)
        memcpy(rgb + 3 * i, p->rgba + 4 * i, 3);
    if (rgb != NULL)
        *bytes = stbi_write_png_to_mem(rgb, p->width * 3, p->width, p->height, 3, &n);
    free(rgb);
    *n_bytes = (size_t)n;
    return *bytes != NULL || err_set(e, ERR_LIMIT, "There is not enough memory to write a picture of %d × %d pixels.", p->width, p->height);
}
