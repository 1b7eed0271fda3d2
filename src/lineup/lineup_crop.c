#include "lineup/lineup_crop.h"

#include <assert.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/err.h"
#include "base/mem.h"
#include "base/text.h"
#include "gauge/gauge_circle.h"
#include "gauge/gauge_cut.h"
#include "gauge/gauge_thread.h"
#include "photo/photo.h"

#define CUT_VERSION 1 /* counts when cuts are made another way */
#define PI 3.14159265358979323846
#define JPEG_QUALITY 90
#define DESK_GREY 138 /* beyond the photo's edge */
#define LEAST_LINE_PX 20.0

struct lineup_field lineup_field_of(enum crop_view view, const char *thread)
{
    double major_mm, pitch_mm;

    engine_thread_size(thread, &major_mm, &pitch_mm);
    return view == CROP_TIP ? (struct lineup_field){major_mm + 2, 0.5, 0.5} : (struct lineup_field){major_mm + 6, 0.5, 0.3};
}

/* A third of the thread: the insulator of an M14 plug ends some 4 to 5 mm wide (from memory). */
double lineup_nose_mm(const char *thread)
{
    double major_mm, pitch_mm;

    engine_thread_size(thread, &major_mm, &pitch_mm);
    return major_mm * 0.325;
}

const char *lineup_light_words(enum lineup_light l)
{
    static const char *const words[] = {[LINEUP_AS_TAKEN] = "light as taken: no grey patch", [LINEUP_REFUSED] = "light as taken: the grey patch cannot be read",
                                        [LINEUP_CORRECTED] = "light corrected by the grey patch"};

    return words[l];
}

/* ---- what there is to go by ---- */

/* The scale line lies along a thread: it is not of a length that was said. */
static bool has_thread(const struct lineup_plan *plan)
{
    return plan->has[MARK_SCALE] && !(plan->marks[MARK_SCALE].known > 0);
}

bool lineup_plan_make(const struct logbook_photo *p, enum crop_view view, const char *thread, const struct logbook_mark *marks, size_t n_marks,
                      const struct logbook_crop *crops, size_t n_crops, struct lineup_plan *out)
{
    bool framed_otherwise = false;

    memset(out, 0, sizeof *out);
    if (p->trouble[0] != '\0' || p->width <= 0 || p->height <= 0)
        return false;
    text_copy(out->photo, sizeof out->photo, p->id);
    text_copy(out->sha256, sizeof out->sha256, p->sha256);
    text_copy(out->format, sizeof out->format, p->format);
    text_copy(out->thread, sizeof out->thread, thread);
    out->view = view;
    out->width = p->width;
    out->height = p->height;
    out->turn_deg = logbook_photo_turn_deg(p);
    for (size_t i = 0; i < n_marks; i++)
        if (marks[i].kind <= MARK_NOSE && strcmp(marks[i].photo, p->id) == 0) {
            out->has[marks[i].kind] = true;
            out->marks[marks[i].kind] = marks[i];
        }
    if (out->has[MARK_SCALE] && out->marks[MARK_SCALE].thread[0] != '\0') /* said of this photo */
        text_copy(out->thread, sizeof out->thread, out->marks[MARK_SCALE].thread);
    for (size_t i = 0; i < n_crops; i++)
        if (strcmp(crops[i].photo, p->id) == 0) {
            if (crops[i].view != view) {
                framed_otherwise = true;
                continue;
            }
            out->by_hand = true;
            out->hand = crops[i];
        }
    if (out->by_hand)
        return true;
    if (framed_otherwise) /* a person said what it shows */
        return false;
    /* A nose beside a gap line or a thread is one seen from the side. */
    return view == CROP_TIP ? out->has[MARK_NOSE] && !out->has[MARK_GAP] && !has_thread(out) : (out->has[MARK_SCALE] && out->has[MARK_GAP]) || (has_thread(out) && out->has[MARK_NOSE]);
}

/* Only an outline that bounds a circle is that of a tip: a nose may have been outlined from the side, too. */
static bool looks_right(const struct lineup_plan *plan)
{
    struct gauge_point o[MARK_MAX_POINTS], m;
    const struct logbook_mark *nose = &plan->marks[MARK_NOSE];
    double r;

    if (plan->by_hand || plan->view != CROP_TIP)
        return true;
    for (int i = 0; i < nose->n_points; i++)
        o[i] = (struct gauge_point){nose->x[i], nose->y[i]};
    return nose->n_points >= 3 && gauge_circle_fit(o, nose->n_points, &m, &r);
}

const struct logbook_photo *lineup_pick(const struct logbook_photo *photos, size_t n, const struct logbook_mark *marks, size_t n_marks,
                                        const struct logbook_crop *crops, size_t n_crops, int cylinder, int position, enum crop_view view,
                                        const char *thread, struct lineup_plan *out)
{
    const struct logbook_photo *best = NULL;
    struct lineup_plan *plan = mem_alloc(1, sizeof *plan);
    bool checked = false; /* the best is known to look right: that takes a while, and is asked only where there is a choice */

    for (size_t i = 0; i < n; i++) {
        const struct logbook_photo *p = &photos[i];

        if (p->cylinder != cylinder || p->position != position || !lineup_plan_make(p, view, thread, marks, n_marks, crops, n_crops, plan) ||
            (!plan->by_hand && p->zone >= 0 && p->zone != ZONE_FIRING_END && !(view == CROP_SIDE && (p->zone == ZONE_THREADS || p->zone == ZONE_BODY))))
            continue;
        if (best != NULL && !checked && !out->by_hand && !plan->by_hand) {
            checked = looks_right(out);
            if (!checked)
                best = NULL;
        }
        if (best == NULL || (plan->by_hand && !out->by_hand)) {
            best = p;
            *out = *plan;
        }
    }
    free(plan);
    return best;
}

int lineup_plan_version(const struct lineup_plan *plan)
{
    struct text t = {0};
    char id[UUID_BYTES], hex[8] = "";

    text_addf(&t, "%d %s %d %d %.3f %s", CUT_VERSION, crop_view_id(plan->view), plan->width, plan->height, plan->turn_deg, plan->thread);
    if (plan->by_hand)
        text_addf(&t, " by hand %.3f %.3f %.3f %.5f %d", plan->hand.x, plan->hand.y, plan->hand.turn_deg, plan->hand.px_per_mm, plan->hand.by_eye);
    for (int k = 0; k <= MARK_NOSE; k++)
        if (plan->has[k] && (k == MARK_PATCH || !plan->by_hand)) {
            text_addf(&t, " %d %.5f", k, plan->marks[k].known);
            for (int i = 0; i < plan->marks[k].n_points; i++)
                text_addf(&t, " %.3f %.3f", plan->marks[k].x[i], plan->marks[k].y[i]);
        }
    uuid_from_parts(id, "cut", text_get(&t), "", "");
    text_release(&t);
    memcpy(hex, id, 7);
    return (int)strtol(hex, NULL, 16) + 1;
}

/* ---- where the plug is ---- */

/* Of the photo, in pixels of the smaller copy. */
struct copy {
    struct gauge_picture picture;
    double k; /* px of the photo for one of the copy */
    double focal_px;
};

static struct gauge_point point_of(const struct copy *c, const struct logbook_mark *m, int i)
{
    return (struct gauge_point){m->x[i] / c->k, m->y[i] / c->k};
}

/* Millimetres along a line whose length was said. */
static bool scale_of_length(const struct lineup_plan *plan, double *px_per_mm)
{
    const struct logbook_mark *m = &plan->marks[MARK_SCALE];
    double px = plan->has[MARK_SCALE] ? hypot(m->x[1] - m->x[0], m->y[1] - m->y[0]) : 0;

    if (!plan->has[MARK_SCALE] || !(m->known > 0) || px < LEAST_LINE_PX)
        return false;
    *px_per_mm = px / m->known;
    return true;
}

static bool find_tip(const struct lineup_plan *plan, struct lineup_cut *out, struct err *e)
{
    const struct logbook_mark *nose = &plan->marks[MARK_NOSE];
    struct gauge_point o[MARK_MAX_POINTS], m;
    double r;

    for (int i = 0; i < nose->n_points; i++)
        o[i] = (struct gauge_point){nose->x[i], nose->y[i]};
    if (nose->n_points < 3 || !gauge_circle_fit(o, nose->n_points, &m, &r))
        return err_set(e, ERR_MEASURE, "The outline of the nose is no circle, so the middle of the plug is not known. Draw along its edge, or set the frame by hand.");
    out->x = m.x;
    out->y = m.y;
    out->turn_deg = plan->turn_deg;
    out->by_eye = !scale_of_length(plan, &out->px_per_mm);
    if (out->by_eye)
        out->px_per_mm = 2 * r / lineup_nose_mm(plan->thread);
    return true;
}

/* Along the plug as it was found, from the thread to the firing end: the farther one of the nose is as good as the end of the
 * electrode, which stands out of it by a millimetre (from memory). */
static void nose_end(const struct logbook_mark *nose, double mx, double my, double *ux, double *uy, double *x, double *y)
{
    double cx = 0, cy = 0, far = -INFINITY;

    for (int i = 0; i < nose->n_points; i++)
        cx += nose->x[i] / nose->n_points, cy += nose->y[i] / nose->n_points;
    if (*ux * (cx - mx) + *uy * (cy - my) < 0)
        *ux = -*ux, *uy = -*uy;
    for (int i = 0; i < nose->n_points; i++)
        far = fmax(far, *ux * (nose->x[i] - cx) + *uy * (nose->y[i] - cy));
    *x = cx + far * *ux;
    *y = cy + far * *uy;
}

static bool find_side(const struct lineup_plan *plan, const struct copy *c, struct lineup_cut *out, struct err *e)
{
    const struct logbook_mark *line = &plan->marks[MARK_SCALE], *gap = &plan->marks[MARK_GAP];
    double mx = (line->x[0] + line->x[1]) / 2, my = (line->y[0] + line->y[1]) / 2, ux, uy, length, major_mm, pitch_mm;
    int near = hypot(gap->x[0] - mx, gap->y[0] - my) <= hypot(gap->x[1] - mx, gap->y[1] - my) ? 0 : 1;

    if (scale_of_length(plan, &out->px_per_mm)) { /* it may lie any way: the gap goes along the plug */
        ux = gap->x[1 - near] - gap->x[near];
        uy = gap->y[1 - near] - gap->y[near];
    } else {
        const struct gauge_point ends[2] = {point_of(c, line, 0), point_of(c, line, 1)};
        struct gauge_thread t;

        engine_thread_size(plan->thread, &major_mm, &pitch_mm);
        if (!gauge_thread_read(&c->picture, ends, pitch_mm, plan->thread[0] ? major_mm : 0, c->focal_px, &t, e))
            return false;
        out->px_per_mm = t.px_per_mm * c->k;
        ux = t.ux;
        uy = t.uy;
        if (plan->has[MARK_GAP] && ux * (gap->x[near] - mx) + uy * (gap->y[near] - my) < 0)
            ux = -ux, uy = -uy;
    }
    length = hypot(ux, uy);
    if (!(length > 0))
        return err_set(e, ERR_MEASURE, "The gap line has no length, so it is not known which way the plug lies. Draw it from electrode to electrode.");
    out->x = gap->x[near];
    out->y = gap->y[near];
    if (!plan->has[MARK_GAP])
        nose_end(&plan->marks[MARK_NOSE], mx, my, &ux, &uy, &out->x, &out->y);
    out->turn_deg = remainder(-90 - atan2(uy, ux) * 180 / PI, 360);
    return true;
}

static void find_light(const struct lineup_plan *plan, const struct copy *c, struct lineup_cut *out, struct gauge_light *light)
{
    const struct logbook_mark *patch = &plan->marks[MARK_PATCH];
    struct gauge_point a, b;

    out->light = LINEUP_AS_TAKEN;
    if (!plan->has[MARK_PATCH])
        return;
    a = point_of(c, patch, 0);
    b = point_of(c, patch, 1);
    out->light = gauge_light_read(&c->picture, &(struct gauge_box){fmin(a.x, b.x), fmin(a.y, b.y), fabs(a.x - b.x), fabs(a.y - b.y)},
                                  patch->known > 0 ? patch->known : GAUGE_REFLECTANCE, light, NULL)
                     ? LINEUP_CORRECTED
                     : LINEUP_REFUSED;
}

static bool find(const struct lineup_plan *plan, const struct copy *c, struct lineup_cut *out, struct gauge_light *light, struct err *e)
{
    memset(out, 0, sizeof *out);
    if (plan->by_hand) {
        out->x = plan->hand.x;
        out->y = plan->hand.y;
        out->turn_deg = plan->hand.turn_deg;
        out->px_per_mm = plan->hand.px_per_mm;
        out->by_eye = plan->hand.by_eye;
        out->by_hand = true;
    } else if (plan->view == CROP_TIP ? !find_tip(plan, out, e) : !find_side(plan, c, out, e)) {
        return false;
    }
    if (!(out->px_per_mm * lineup_field_of(plan->view, plan->thread).mm < 8.0 * fmax(plan->width, plan->height)))
        return err_set(e, ERR_MEASURE, "The scale cannot be: the plug would be many times as large as the photo. Draw the marks again.");
    find_light(plan, c, out, light);
    return true;
}

static struct copy copy_of(const struct lineup_plan *plan, const struct photo_pixels *px, double focal_px)
{
    assert(px->width > 0 && px->height > 0);
    return (struct copy){{px->width, px->height, px->rgba}, fmax(plan->width, plan->height) / fmax(px->width, px->height), focal_px};
}

bool lineup_cut_find(const struct lineup_plan *plan, const struct photo_pixels *px, double focal_px, struct lineup_cut *out, struct err *e)
{
    struct copy c = copy_of(plan, px, focal_px);
    struct gauge_light light;

    return find(plan, &c, out, &light, e);
}

bool lineup_cut_make(const struct lineup_plan *plan, const struct photo_pixels *px, double focal_px, struct lineup_cut *out, struct err *e)
{
    struct lineup_field field = lineup_field_of(plan->view, plan->thread);
    struct copy c = copy_of(plan, px, focal_px);
    struct gauge_light light;
    struct gauge_cut cut = {.ax = field.ax, .ay = field.ay, .outside = DESK_GREY};

    if (!find(plan, &c, out, &light, e))
        return false;
    out->rgba = mem_try((size_t)LINEUP_CUT_PX * LINEUP_CUT_PX, 4);
    if (out->rgba == NULL)
        return err_set(e, ERR_LIMIT, "There is not enough memory to cut the plug out of its photo.");
    cut.at = (struct gauge_point){out->x / c.k, out->y / c.k};
    cut.turn_deg = out->turn_deg;
    cut.px = out->px_per_mm / c.k * field.mm / LINEUP_CUT_PX;
    cut.light = out->light == LINEUP_CORRECTED ? &light : NULL;
    gauge_cut_make(&c.picture, &cut, LINEUP_CUT_PX, LINEUP_CUT_PX, out->rgba);
    return true;
}

bool lineup_middle_make(const struct photo_pixels *px, double turn_deg, struct photo_pixels *out)
{
    double lean = remainder(turn_deg, 90) * PI / 180, side = (px->width < px->height ? px->width : px->height) / (cos(lean) + fabs(sin(lean)));
    struct gauge_picture picture = {px->width, px->height, px->rgba};
    struct gauge_cut cut = {.at = {px->width / 2.0, px->height / 2.0}, .ax = 0.5, .ay = 0.5, .turn_deg = turn_deg, .px = side / LINEUP_CUT_PX};

    *out = (struct photo_pixels){LINEUP_CUT_PX, LINEUP_CUT_PX, mem_try((size_t)LINEUP_CUT_PX * LINEUP_CUT_PX, 4)};
    if (out->rgba != NULL)
        gauge_cut_make(&picture, &cut, LINEUP_CUT_PX, LINEUP_CUT_PX, out->rgba);
    return out->rgba != NULL;
}

void lineup_cut_release(struct lineup_cut *c)
{
    free(c->rgba);
    memset(c, 0, sizeof *c);
}

/* ---- kept ---- */

bool lineup_cut_pack(const struct lineup_cut *c, uint8_t **bytes, size_t *n_bytes)
{
    struct photo_pixels px = {LINEUP_CUT_PX, LINEUP_CUT_PX, c->rgba};
    char line[160];
    uint8_t *jpeg;
    size_t n_jpeg, n_line;

    if (!photo_encode_jpeg(&px, JPEG_QUALITY, &jpeg, &n_jpeg, NULL))
        return false;
    text_format(line, sizeof line, "%.3f %.3f %.4f %.5f %d %d %d\n", c->x, c->y, c->turn_deg, c->px_per_mm, c->by_eye, c->by_hand, (int)c->light);
    n_line = strlen(line);
    *bytes = mem_try(n_line + n_jpeg, 1);
    if (*bytes != NULL) {
        memcpy(*bytes, line, n_line);
        memcpy(*bytes + n_line, jpeg, n_jpeg);
        *n_bytes = n_line + n_jpeg;
    }
    free(jpeg);
    return *bytes != NULL;
}

bool lineup_cut_unpack(const uint8_t *bytes, size_t n_bytes, struct lineup_cut *out, const uint8_t **jpeg, size_t *n_jpeg)
{
    const uint8_t *end = memchr(bytes, '\n', n_bytes < 160 ? n_bytes : 160);
    char line[160];
    double v[7];
    char *at = line;

    memset(out, 0, sizeof *out);
    if (end == NULL || (size_t)(end - bytes) >= sizeof line)
        return false;
    memcpy(line, bytes, (size_t)(end - bytes));
    line[end - bytes] = '\0';
    for (int i = 0; i < 7; i++) {
        size_t n = strcspn(at, " ");
        bool last = at[n] == '\0';

        at[n] = '\0';
        if (last != (i == 6) || !text_to_double(at, &v[i]))
            return false;
        at += n + 1;
    }
    if (!(v[3] > 0) || v[6] < 0 || v[6] >= LINEUP_LIGHT_COUNT)
        return false;
    out->x = v[0], out->y = v[1], out->turn_deg = v[2], out->px_per_mm = v[3];
    out->by_eye = v[4] > 0;
    out->by_hand = v[5] > 0;
    out->light = (enum lineup_light)(int)v[6];
    *jpeg = end + 1;
    *n_jpeg = n_bytes - (size_t)(end + 1 - bytes);
    return true;
}
