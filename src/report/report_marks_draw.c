/* report_marks_draw.c - marks drawn into pixels: lines by their distance to each pixel, words by the
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

#include "report/report_marks.h"

#include <fontconfig/fontconfig.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/err.h"
#include "base/files.h"
#include "base/mem.h"
#include "photo/photo.h"
#include "report/report_marks_work.h"

static void mix(struct photo_pixels *p, int x, int y, const uint8_t rgb[3], double share)
{
    uint8_t *at;

    if (x < 0 || y < 0 || x >= p->width || y >= p->height || share <= 0)
        return;
    at = p->rgba + ((size_t)y * (size_t)p->width + (size_t)x) * 4;
    for (int i = 0; i < 3; i++)
        at[i] = (uint8_t)lrint(at[i] + (rgb[i] - at[i]) * fmin(share, 1));
}

static void line(struct photo_pixels *p, double x0, double y0, double x1, double y1, double width, const uint8_t rgb[3])
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

            mix(p, x, y, rgb, r + 0.5 - hypot(x + 0.5 - x0 - t * dx, y + 0.5 - y0 - t * dy));
        }
    }
}

static void shape(struct photo_pixels *p, const struct marks_shape *s, double width, const uint8_t rgb[3])
{
    int from = 0;

    for (int l = 0; l < s->n_lines; l++) {
        for (int i = from; i + 1 < s->end[l]; i++)
            line(p, s->x[i], s->y[i], s->x[i + 1], s->y[i + 1], width, rgb);
        from = s->end[l];
    }
}

/* ---- words ---- */

struct face {
    char *bytes;
    stbtt_fontinfo info;
    float scale;
    int ascent_px;
};

/* The program's typeface where Debian puts it, else what fontconfig offers for it. */
static bool open_face(struct face *f, double size_px, struct err *e)
{
    static const char usual[] = "/usr/share/fonts/opentype/inter/Inter-SemiBold.otf";
    char path[1024];
    size_t n_bytes;
    int ascent, descent, gap, offset, index = 0;

    memset(f, 0, sizeof *f);
    text_copy(path, sizeof path, usual);
    if (!files_exists(path)) {
        FcPattern *want = FcNameParse((const FcChar8 *)"Inter,sans-serif:semibold"), *got;
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
    if (!files_read(path, 64 << 20, &f->bytes, &n_bytes, e))
        return false;
    offset = stbtt_GetFontOffsetForIndex((const unsigned char *)f->bytes, index);
    if (offset < 0 || !stbtt_InitFont(&f->info, (const unsigned char *)f->bytes, offset)) {
        free(f->bytes);
        f->bytes = NULL;
        return err_set(e, ERR_FORMAT, "The typeface %s cannot be used to write on the picture.", path);
    }
    f->scale = stbtt_ScaleForMappingEmToPixels(&f->info, (float)size_px);
    stbtt_GetFontVMetrics(&f->info, &ascent, &descent, &gap);
    f->ascent_px = (int)lrintf((float)ascent * f->scale);
    return true;
}

static double words_width(const struct face *f, const char *s)
{
    double w = 0;

    for (size_t at = 0; s[at] != '\0'; at = text_next(s, at)) {
        int advance, bearing;

        stbtt_GetCodepointHMetrics(&f->info, (int)text_codepoint(s, at), &advance, &bearing);
        w += (double)((float)advance * f->scale);
    }
    return w;
}

static void words(struct photo_pixels *p, const struct face *f, double x, double baseline, const char *s, const uint8_t rgb[3])
{
    for (size_t at = 0; s[at] != '\0'; at = text_next(s, at)) {
        int code = (int)text_codepoint(s, at), advance, bearing, w, h, dx, dy;
        unsigned char *mask = stbtt_GetCodepointBitmapSubpixel(&f->info, f->scale, f->scale, (float)(x - floor(x)), 0, code, &w, &h, &dx, &dy);

        for (int j = 0; mask != NULL && j < h; j++)
            for (int i = 0; i < w; i++)
                mix(p, (int)floor(x) + dx + i, (int)lrint(baseline) + dy + j, rgb, mask[j * w + i] / 255.0);
        stbtt_FreeBitmap(mask, NULL);
        stbtt_GetCodepointHMetrics(&f->info, code, &advance, &bearing);
        x += (double)((float)advance * f->scale);
    }
}

/* ---- all of it ---- */

bool report_marks_draw(struct photo_pixels *p, const struct report_mark *marks, size_t n, struct err *e)
{
    static const uint8_t dark[3] = {20, 20, 20}, ground[3] = {26, 26, 26}, light[3] = {255, 255, 255};
    double unit = marks_unit(p->width, p->height), (*taken)[4];
    size_t n_taken = 0;
    struct marks_shape s;
    struct face f;

    if (!open_face(&f, 13 * unit, e))
        return false;
    taken = mem_alloc(n + 1, sizeof *taken);
    for (size_t i = 0; i < n; i++) {
        const struct mark_colour_row *c = mark_colour_row(marks[i].mark.colour);
        const uint8_t rgb[3] = {c->r, c->g, c->b};

        marks_shape_make(&marks[i].mark, unit, &s);
        shape(p, &s, (marks[i].mark.width_px + 2) * unit * 0.7, dark);
        shape(p, &s, marks[i].mark.width_px * unit * 0.7, rgb);
    }
    for (size_t i = 0; i < n; i++)
        if (marks[i].words[0] != '\0') {
            double box[4], *at = taken[n_taken], w = words_width(&f, marks[i].words) + 14 * unit, h = 22 * unit;

            marks_shape_make(&marks[i].mark, unit, &s);
            marks_label_box(&marks[i].mark, &s, box);
            marks_label_place(box, w, h, unit, p->width, p->height, (const double(*)[4])taken, n_taken, at);
            n_taken++;
            for (int y = (int)at[1]; y < (int)at[3]; y++)
                for (int x = (int)at[0]; x < (int)at[2]; x++)
                    mix(p, x, y, ground, 1);
            words(p, &f, at[0] + 7 * unit, at[1] + h / 2 + f.ascent_px * 0.37, marks[i].words, light);
        }
    free(taken);
    free(f.bytes);
    return true;
}

bool report_marks_turn(struct photo_pixels *p, struct report_mark *marks, size_t n, int turn, struct err *e)
{
    struct photo_pixels q;

    turn &= 3;
    if (turn == 0)
        return true;
    q = (struct photo_pixels){turn % 2 ? p->height : p->width, turn % 2 ? p->width : p->height, mem_try((size_t)p->width * (size_t)p->height, 4)};
    if (q.rgba == NULL)
        return err_set(e, ERR_LIMIT, "There is not enough memory to turn the picture.");
    for (int y = 0; y < p->height; y++)
        for (int x = 0; x < p->width; x++) {
            int tx = turn == 1 ? p->height - 1 - y : turn == 2 ? p->width - 1 - x : y;
            int ty = turn == 1 ? x : turn == 2 ? p->height - 1 - y : p->width - 1 - x;

            memcpy(q.rgba + ((size_t)ty * (size_t)q.width + (size_t)tx) * 4, p->rgba + ((size_t)y * (size_t)p->width + (size_t)x) * 4, 4);
        }
    for (size_t k = 0; k < n; k++)
        for (int i = 0; i < marks[k].mark.n_points; i++) {
            double x = marks[k].mark.x[i], y = marks[k].mark.y[i];

            marks[k].mark.x[i] = turn == 1 ? p->height - y : turn == 2 ? p->width - x : y;
            marks[k].mark.y[i] = turn == 1 ? x : turn == 2 ? p->height - y : p->width - x;
        }
    photo_pixels_release(p);
    *p = q;
    return true;
}

/* ---- files ---- */

static bool write_picture(const char *path, const struct photo_pixels *p, bool png, struct err *e)
{
    uint8_t *bytes;
    size_t n_bytes;
    int n = 0;
    bool fine;

    if (png) {
        for (size_t i = 0; i < (size_t)p->width * (size_t)p->height; i++) /* three bytes a pixel, in place */
            memmove(p->rgba + 3 * i, p->rgba + 4 * i, 3);
        bytes = stbi_write_png_to_mem(p->rgba, p->width * 3, p->width, p->height, 3, &n);
        if (bytes == NULL)
            return err_set(e, ERR_LIMIT, "There is not enough memory to write %s.", path);
        n_bytes = (size_t)n;
    } else if (!photo_encode_jpeg(p, 92, &bytes, &n_bytes, e)) {
        return false;
    }
    fine = files_write(path, bytes, n_bytes, e);
    free(bytes);
    return fine;
}

bool report_marks_write(const char *folder, const struct logbook_photo *photo, struct photo_pixels *p, struct report_mark *marks, size_t n,
                        char *path, size_t n_room, struct err *e)
{
    bool png = strcmp(photo->format, "png") == 0, fine;
    char name[256], file[1400];
    struct text t = {0};

    text_copy(name, sizeof name, files_name(photo->name));
    if (strrchr(name, '.') != NULL && strrchr(name, '.') != name)
        *strrchr(name, '.') = '\0';
    if (!files_make_folder(folder, e))
        return false;
    /* Both in the photo's own coordinates, before it is turned. */
    text_format(file, sizeof file, "%s/%s-marked.json", folder, name);
    report_marks_json(marks, n, photo->sha256, &t);
    fine = files_write(file, text_get(&t), t.n_bytes, e);
    text_clear(&t);
    text_format(path, n_room, "../photos/%s.%s", photo->sha256, photo->format);
    report_marks_svg(marks, n, p->width, p->height, path, &t);
    text_format(file, sizeof file, "%s/%s-marked.svg", folder, name);
    text_format(path, n_room, "%s/%s-marked.%s", folder, name, png ? "png" : "jpg");
    fine = fine && files_write(file, text_get(&t), t.n_bytes, e) && report_marks_turn(p, marks, n, photo->turn, e) &&
           report_marks_draw(p, marks, n, e) && write_picture(path, p, png, e);
    text_release(&t);
    return fine;
}
