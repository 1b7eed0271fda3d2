/* report_marks_draw.c - marks drawn into pixels, and written beside each other in three forms. */
#include "report/report_marks.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/err.h"
#include "base/files.h"
#include "base/mem.h"
#include "photo/photo.h"
#include "report/paint.h"
#include "report/report_marks_work.h"

#define PI 3.14159265358979323846

static void shape(struct photo_pixels *p, const struct marks_shape *s, double width, const uint8_t rgb[3])
{
    int from = 0;

    for (int l = 0; l < s->n_lines; l++) {
        for (int i = from; i + 1 < s->end[l]; i++)
            paint_line(p, s->x[i], s->y[i], s->x[i + 1], s->y[i + 1], width, rgb);
        from = s->end[l];
    }
}

/* ---- all of it ---- */

bool report_marks_draw(struct photo_pixels *p, const struct report_mark *marks, size_t n, struct err *e)
{
    return report_marks_draw_sized(p, marks, n, marks_unit(p->width, p->height), e);
}

bool report_marks_draw_sized(struct photo_pixels *p, const struct report_mark *marks, size_t n, double unit, struct err *e)
{
    static const uint8_t dark[3] = {20, 20, 20}, ground[3] = {26, 26, 26}, light[3] = {255, 255, 255};
    const double edge[4] = {2 * unit, 2 * unit, p->width - 2 * unit, p->height - 2 * unit};
    struct labels labels;
    struct marks_shape s;
    struct arena *a;
    struct paint_face *f = paint_face_open(true, e);

    if (f == NULL)
        return false;
    a = arena_create();
    labels_begin(&labels, a, edge, unit);
    for (size_t i = 0; i < n; i++) {
        const struct mark_colour_row *c = mark_colour_row(marks[i].mark.colour);
        const uint8_t rgb[3] = {c->r, c->g, c->b};

        marks_labels_add(&labels, (int)i, &marks[i].mark);
        marks_shape_make(&marks[i].mark, unit, &s);
        shape(p, &s, (marks[i].mark.width_px + 2) * unit * 0.7, dark);
        shape(p, &s, marks[i].mark.width_px * unit * 0.7, rgb);
    }
    for (size_t i = 0; i < n; i++)
        if (marks[i].words[0] != '\0') {
            const struct mark_colour_row *c = mark_colour_row(marks[i].mark.colour);
            const double w = paint_width(f, 13 * unit, marks[i].words) + 14 * unit, h = 22 * unit;
            const uint8_t rgb[3] = {c->r, c->g, c->b};
            struct labels_spot at;

            marks_labels_place(&labels, (int)i, &marks[i].mark, w, h, &at);
            for (int pass = 0; pass < 2 && at.away; pass++)
                paint_line(p, at.leader[0], at.leader[1], at.leader[2], at.leader[3], (pass ? 1 : 2.5) * unit, pass ? rgb : dark);
            for (int y = (int)at.box[1]; y < (int)at.box[3]; y++)
                for (int x = (int)at.box[0]; x < (int)at.box[2]; x++)
                    paint_mix(p, x, y, ground, 1);
            paint_words(p, f, 13 * unit, at.box[0] + 7 * unit, at.box[1] + h / 2 + paint_ascent(f, 13 * unit) * 0.37, marks[i].words, light);
        }
    arena_destroy(a);
    paint_face_close(f);
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

bool report_marks_lean(struct photo_pixels *p, struct report_mark *marks, size_t n, int lean_mdeg, struct err *e)
{
    const double a = lean_mdeg * PI / 180000, c = cos(a), s = sin(a);
    struct photo_pixels q = {.width = (int)ceil(p->width * fabs(c) + p->height * fabs(s)), .height = (int)ceil(p->width * fabs(s) + p->height * fabs(c))};

    if (lean_mdeg == 0)
        return true;
    q.rgba = mem_try((size_t)q.width * (size_t)q.height, 4);
    if (q.rgba == NULL)
        return err_set(e, ERR_LIMIT, "There is not enough memory to turn the picture.");
    for (int y = 0; y < q.height; y++)
        for (int x = 0; x < q.width; x++) {
            double dx = x + 0.5 - q.width / 2.0, dy = y + 0.5 - q.height / 2.0;
            double fx = c * dx + s * dy + p->width / 2.0 - 0.5, fy = -s * dx + c * dy + p->height / 2.0 - 0.5;
            int x0 = (int)floor(fx), y0 = (int)floor(fy);
            uint8_t *to = q.rgba + ((size_t)y * (size_t)q.width + (size_t)x) * 4;

            to[0] = to[1] = to[2] = 118, to[3] = 255;
            if (x0 < -1 || y0 < -1 || x0 >= p->width || y0 >= p->height)
                continue;
            fx -= x0, fy -= y0;
            for (int k = 0; k < 3; k++) {
                double sum = 0.5;

                for (int i = 0; i < 4; i++) {
                    int sx = x0 + i % 2, sy = y0 + i / 2;
                    bool inside = sx >= 0 && sy >= 0 && sx < p->width && sy < p->height;

                    sum += (i % 2 ? fx : 1 - fx) * (i / 2 ? fy : 1 - fy) * (inside ? p->rgba[((size_t)sy * (size_t)p->width + (size_t)sx) * 4 + (size_t)k] : 118);
                }
                to[k] = (uint8_t)sum;
            }
        }
    for (size_t k = 0; k < n; k++) {
        struct logbook_mark *m = &marks[k].mark;

        marks_to_outline(m); /* it does not stay upright */
        for (int i = 0; i < m->n_points; i++) {
            double dx = m->x[i] - p->width / 2.0, dy = m->y[i] - p->height / 2.0;

            m->x[i] = c * dx - s * dy + q.width / 2.0;
            m->y[i] = s * dx + c * dy + q.height / 2.0;
        }
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
    bool fine;

    if (png ? !paint_png(p, &bytes, &n_bytes, e) : !photo_encode_jpeg(p, 92, &bytes, &n_bytes, e))
        return false;
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
           report_marks_lean(p, marks, n, photo->lean_mdeg, e) && report_marks_draw(p, marks, n, e) && write_picture(path, p, png, e);
    text_release(&t);
    return fine;
}
