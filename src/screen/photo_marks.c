/* photo_marks.c - marks as they are seen on a photo: a light line on a dark edge, that stands out from
 * porcelain and from soot, and labels that keep clear of each other. */
#include <math.h>
#include <string.h>

#include "base/labels.h"
#include "base/mem.h"
#include "base/text.h"
#include "base/units.h"
#include "report/report_marks_work.h"
#include "screen/photo_bench.h"

#define HANDLE_PX 7.0f

const struct logbook_mark *bench_marks(const struct model *m, const char *photo, size_t *n)
{
    size_t first = 0;

    while (first < m->n_marks && strcmp(m->marks[first].photo, photo) != 0)
        first++;
    *n = 0;
    while (first + *n < m->n_marks && strcmp(m->marks[first + *n].photo, photo) == 0)
        ++*n;
    return *n > 0 ? &m->marks[first] : NULL;
}

const struct logbook_mark *bench_find(const struct model *m, const struct logbook_photo *p, enum mark_kind kind)
{
    size_t n;
    const struct logbook_mark *marks = bench_marks(m, p->id, &n);

    for (size_t i = n; i-- > 0;)
        if (marks[i].kind == kind)
            return &marks[i];
    return NULL;
}

const struct logbook_mark *bench_selected(const struct model *m, const struct screen_state *st, const struct logbook_photo *p)
{
    size_t n;
    const struct logbook_mark *marks = bench_marks(m, p->id, &n);

    for (size_t i = 0; i < n; i++)
        if (st->bench.mark[0] != '\0' && strcmp(marks[i].id, st->bench.mark) == 0)
            return &marks[i];
    return NULL;
}

const struct photo_measured *bench_measured(const struct model *m, const char *photo)
{
    const struct photo_measured *both[] = {m->measured, m->measured_other};

    for (int i = 0; i < 2; i++)
        if (both[i] != NULL && strcmp(both[i]->photo, photo) == 0)
            return both[i];
    return NULL;
}

void bench_let_go(struct screen_state *st)
{
    st->bench.mark[0] = '\0';
    st->bench.point = -1;
    st->bench.drag = BENCH_IDLE;
    st->bench.levelling = false;
    st->bench.draft.n_points = 0;
}

/* ---- strokes ---- */

static struct rgba ink_of(const struct logbook_mark *mark)
{
    const struct mark_colour_row *c = mark_colour_row(mark->colour);

    return (struct rgba){c->r, c->g, c->b, 255};
}

struct pen {
    struct ui *ui;
    struct rgba ink;
    float width;
};

static void stroke(const struct pen *p, float x0, float y0, float x1, float y1)
{
    ui_line(p->ui, x0, y0, x1, y1, p->width + 2, UI_EDGE_DARK);
    ui_line_rgba(p->ui, x0, y0, x1, y1, p->width, p->ink);
}

/* Edge first, whole, so that no corner is cut by the edge of the next side. */
static void outline(const struct pen *p, const float *xy, int n, bool closed)
{
    for (int pass = 0; pass < 2; pass++)
        for (int i = 0; i + (closed ? 0 : 1) < n; i++) {
            const float *a = &xy[2 * i], *b = &xy[2 * ((i + 1) % n)];

            if (pass == 0)
                ui_line(p->ui, a[0], a[1], b[0], b[1], p->width + 2, UI_EDGE_DARK);
            else
                ui_line_rgba(p->ui, a[0], a[1], b[0], b[1], p->width, p->ink);
        }
}

/* A line with bars square to it, at its ends and, for a scale, at every thread. */
static void barred(const struct pen *p, const float *xy, float bar, int n_between)
{
    float dx = xy[2] - xy[0], dy = xy[3] - xy[1], length = hypotf(dx, dy);
    float nx = length > 0 ? -dy / length : 0, ny = length > 0 ? dx / length : 1;

    for (int pass = 0; pass < 2; pass++)
        for (int i = -1; i <= n_between + 1; i++) {
            float k = (float)i / (float)(n_between + 1), b = i == 0 || i == n_between + 1 ? bar : bar * 0.7f;
            float x = xy[0] + dx * k, y = xy[1] + dy * k;
            float from[2] = {x - nx * b, y - ny * b}, to[2] = {x + nx * b, y + ny * b};

            if (i < 0) {
                memcpy(from, xy, sizeof from);
                memcpy(to, xy + 2, sizeof to);
            }
            if (pass == 0)
                ui_line(p->ui, from[0], from[1], to[0], to[1], p->width + 2, UI_EDGE_DARK);
            else
                ui_line_rgba(p->ui, from[0], from[1], to[0], to[1], p->width, p->ink);
        }
}

/* On the screen the corners of a box or points of an ellipse that two opposite corners in the photo say. */
static int ring_of(const struct logbook_mark *mark, const struct photo_place *at, float *to)
{
    const double *x = mark->x, *y = mark->y;
    int n = 40;

    if (mark->kind != MARK_ELLIPSE) {
        photo_corners(at, x[0], y[0], x[1], y[1], to);
        return 4;
    }
    for (int i = 0; i < n; i++) {
        double t = 2 * 3.14159265358979 * i / n;

        photo_to_screen(at, (x[0] + x[1]) / 2 + cos(t) * (x[1] - x[0]) / 2, (y[0] + y[1]) / 2 + sin(t) * (y[1] - y[0]) / 2, &to[2 * i], &to[2 * i + 1]);
    }
    return n;
}

void bench_mark_as_seen(const struct model *m, const struct logbook_mark *mark, struct logbook_mark *to)
{
    const struct photo_measured *got = bench_measured(m, mark->photo);
    bool scale = mark->kind == MARK_SCALE && got != NULL && got->scales[PHOTO_SCALE_THREAD].given, gap = mark->kind == MARK_GAP && got != NULL && got->gap_given;

    const struct photo_scale *length = got == NULL ? NULL : mark->kind == MARK_HEX ? &got->scales[PHOTO_SCALE_HEX] : mark->kind == MARK_LENGTH ? &got->scales[PHOTO_SCALE_LENGTH] : NULL;

    *to = *mark;
    for (int i = 0; i < 2 && length != NULL && length->held; i++)
        to->x[i] = length->x[i], to->y[i] = length->y[i];
    for (int i = 0; i < 2 && (scale || gap); i++) {
        to->x[i] = scale ? got->scale_x[i] : got->gap_x[i];
        to->y[i] = scale ? got->scale_y[i] : got->gap_y[i];
    }
}

static void draw_one(const struct pen *p, const struct logbook_mark *mark, const struct photo_measured *got, const struct photo_place *at)
{
    float xy[2 * MARK_MAX_POINTS], ring[80];
    int n = mark->n_points;

    for (int i = 0; i < n; i++)
        photo_to_screen(at, mark->x[i], mark->y[i], &xy[2 * i], &xy[2 * i + 1]);
    switch (mark->kind) {
    case MARK_SCALE:
        barred(p, xy, 6, got != NULL && got->scales[PHOTO_SCALE_THREAD].given && got->n_periods > 1 && got->n_periods < 60 ? (int)lrint(got->n_periods) - 1 : 0);
        break;
    case MARK_GAP:
        barred(p, xy, 10, 0);
        break;
    case MARK_LENGTH: barred(p, xy, 7, got != NULL && got->scales[PHOTO_SCALE_LENGTH].held && got->scales[PHOTO_SCALE_LENGTH].n_marks < 60 ? (int)lrint(got->scales[PHOTO_SCALE_LENGTH].n_marks) - 1 : 0); break;
    case MARK_HEX:
    case MARK_RULER: barred(p, xy, 7, 0); break;
    case MARK_ARROW: {
        double a = atan2((double)(xy[3] - xy[1]), (double)(xy[2] - xy[0]));

        stroke(p, xy[0], xy[1], xy[2], xy[3]);
        for (int s = -1; s <= 1; s += 2)
            stroke(p, xy[2], xy[3], xy[2] - 12 * (float)cos(a + s * 0.5), xy[3] - 12 * (float)sin(a + s * 0.5));
        break;
    }
    case MARK_PATCH:
    case MARK_BOX:
    case MARK_ELLIPSE: outline(p, ring, ring_of(mark, at, ring), true); break;
    case MARK_NOSE:
    case MARK_POLYGON:
    case MARK_FREE: outline(p, xy, n, true); break;
    case MARK_PIN:
        ui_disc(p->ui, xy[0], xy[1], 7, ui_rgba(UI_EDGE_DARK));
        ui_disc(p->ui, xy[0], xy[1], 5.5f, p->ink);
        ui_disc(p->ui, xy[0], xy[1], 2, ui_rgba(UI_EDGE_DARK));
        break;
    case MARK_TEXT: ui_disc(p->ui, xy[0], xy[1], 2.5f, p->ink); break;
    case MARK_KIND_COUNT: break;
    }
}

/* ---- labels ---- */

void bench_mark_words(const struct model *m, const struct logbook_mark *mark, char *to, size_t n_room)
{
    const struct photo_measured *got = bench_measured(m, mark->photo);
    char size[32];
    double length_px = mark->n_points > 1 ? hypot(mark->x[1] - mark->x[0], mark->y[1] - mark->y[0]) : 0;

    to[0] = '\0';
    if (mark->kind == MARK_GAP && got != NULL && got->gap_given) {
        char pm[32];

        model_format_gap(m, got->gap_mm, size, sizeof size);
        model_format_gap(m, got->gap_pm_mm, pm, sizeof pm);
        text_format(to, n_room, "gap %s ± %s %s", size, pm, m->inches ? "in" : "mm");
    } else if (mark->kind == MARK_SCALE && got != NULL && got->scales[PHOTO_SCALE_THREAD].given && got->n_periods > 1) {
        text_format(to, n_room, "%.0f threads · %.2f mm", got->n_periods, got->n_periods * got->pitch_px / got->scales[PHOTO_SCALE_THREAD].px_per_mm);
    } else if (mark->kind == MARK_HEX) {
        text_format(to, n_room, "hex %s mm", bench_hex(m, mark));
    } else if (mark->kind == MARK_LENGTH && mark->marks[0] != '\0') {
        if (got != NULL && got->scales[PHOTO_SCALE_LENGTH].held)
            text_format(to, n_room, "%.0f × %s", got->scales[PHOTO_SCALE_LENGTH].n_marks, strcmp(mark->marks, "inch16") == 0 ? "1/16 in" : "1 mm");
    } else if ((mark->kind == MARK_SCALE || mark->kind == MARK_LENGTH) && mark->known > 0) {
        text_format(to, n_room, "%.2f mm", mark->known);
    } else if (mark->kind == MARK_RULER) {
        if (got != NULL && got->scale_given) {
            model_format_gap(m, length_px / got->px_per_mm, size, sizeof size);
            text_format(to, n_room, "%s %s", size, m->inches ? "in" : "mm");
        } else {
            text_format(to, n_room, "%.0f px", length_px);
        }
    } else if (mark->kind == MARK_NOSE && got != NULL && got->colour_given) {
        text_format(to, n_room, "nose L* %.0f a* %.0f b* %.0f", got->lab[0], got->lab[1], got->lab[2]);
    }
    if (mark->text[0] != '\0') {
        size_t used = strlen(to);

        text_format(to + used, n_room - used, "%s%s", used > 0 ? " · " : "", mark->text);
    }
}

/* One of the two lengths that tell different scales. */
static bool is_at_odds(const struct photo_measured *got, enum mark_kind kind)
{
    if (got == NULL || got->conflict[0] == '\0')
        return false;
    return kind == MARK_SCALE ? got->at_odds[PHOTO_SCALE_THREAD] : kind == MARK_HEX ? got->at_odds[PHOTO_SCALE_HEX] : kind == MARK_LENGTH && got->at_odds[PHOTO_SCALE_LENGTH];
}

/* Dashes along a line, its own ink between them: seen on any photo, and not by colour alone. */
static void draw_at_odds(struct ui *ui, const struct logbook_mark *mark, const struct photo_place *at)
{
    float x0, y0, x1, y1;

    photo_to_screen(at, mark->x[0], mark->y[0], &x0, &y0);
    photo_to_screen(at, mark->x[1], mark->y[1], &x1, &y1);
    ui_line(ui, x0, y0, x1, y1, 7, UI_EDGE_LIGHT);
    ui_line_dashed(ui, x0, y0, x1, y1, 5, UI_ACT);
    ui_triangle(ui, x0, y0, 18, ui_rgba(UI_EDGE_LIGHT));
    ui_triangle(ui, x0, y0, 13, ui_rgba(UI_ACT));
}

/* The mark as it is drawn, in pixels of the screen, where a box may be turned. */
static void on_screen(const struct model *m, const struct logbook_mark *mark, const struct photo_place *at, struct logbook_mark *to)
{
    bench_mark_as_seen(m, mark, to);
    if (at->lean_deg != 0)
        marks_to_outline(to);
    for (int i = 0; i < to->n_points; i++) {
        float x, y;

        photo_to_screen(at, to->x[i], to->y[i], &x, &y);
        to->x[i] = (double)x, to->y[i] = (double)y;
    }
}

static bool is_in_view(const struct logbook_mark *seen, struct rect view)
{
    double x0 = 1e9, y0 = 1e9, x1 = -1e9, y1 = -1e9;

    for (int i = 0; i < seen->n_points; i++) {
        x0 = fmin(x0, seen->x[i]), x1 = fmax(x1, seen->x[i]);
        y0 = fmin(y0, seen->y[i]), y1 = fmax(y1, seen->y[i]);
    }
    return x1 >= (double)view.x && x0 <= (double)(view.x + view.w) && y1 >= (double)view.y && y0 <= (double)(view.y + view.h);
}

static void box_of(struct rect r, double to[4])
{
    to[0] = (double)r.x, to[1] = (double)r.y, to[2] = (double)(r.x + r.w), to[3] = (double)(r.y + r.h);
}

static void label(const struct pen *p, struct labels *l, int i, const struct logbook_mark *mark, const struct logbook_mark *seen, struct rect view, const char *words)
{
    char id[80];
    struct ui_style style = {.weight = UI_SEMIBOLD, .colour = UI_DARK_TEXT, .align = UI_CENTRE};
    float w = fminf(ui_text_width(p->ui, words, &style) + 20, view.w - 16), h = 26;
    struct labels_spot at;
    struct rect r;

    if (!is_in_view(seen, view))
        return;
    marks_labels_place(l, i, seen, (double)w, (double)h, &at);
    if (at.away) {
        struct pen thin = {p->ui, p->ink, 1};

        stroke(&thin, (float)at.leader[0], (float)at.leader[1], (float)at.leader[2], (float)at.leader[3]);
    }
    r = (struct rect){roundf((float)at.box[0]), roundf((float)at.box[1]), w, h};
    ui_round(p->ui, r, 4, UI_DARK);
    ui_fill_rgba(p->ui, (struct rect){r.x, r.y + 4, 3, r.h - 8}, p->ink);
    ui_text(p->ui, r, words, &style);
    text_format(id, sizeof id, "photo.label.%s.%.36s", mark_kind_row(mark->kind)->id, mark->id);
    ui_note(p->ui, id, r, words, "");
}

int bench_marks_in(struct ui *ui, const struct model *m, const struct logbook_photo *p, const struct photo_place *at, struct rect r)
{
    size_t n;
    const struct logbook_mark *marks = bench_marks(m, p->id, &n);
    struct logbook_mark *seen = arena_alloc(ui_arena(ui), 1, sizeof *seen);
    struct marks_shape *s = arena_alloc(ui_arena(ui), 1, sizeof *s);
    double box[4];
    int n_in = 0;

    box_of(r, box);
    for (size_t i = 0; i < n; i++) {
        bool in = false;
        int from = 0;

        on_screen(m, &marks[i], at, seen);
        marks_shape_make(seen, 1, s);
        for (int k = 0; k < s->n_lines; k++) {
            for (int q = from; q + 1 < s->end[k] && !in; q++)
                in = labels_length_inside(box, &(struct labels_line){s->x[q], s->y[q], s->x[q + 1], s->y[q + 1], 0}) >= 0;
            from = s->end[k];
        }
        n_in += in;
    }
    return n_in;
}

/* ---- all of them ---- */

static void handles(struct ui *ui, const struct logbook_mark *mark, int point, const struct photo_place *at)
{
    if (mark->n_points == 2 && hypot(mark->x[1] - mark->x[0], mark->y[1] - mark->y[0]) * (double)at->zoom < 26)
        return; /* they would hide what lies between */
    for (int i = 0; i < mark->n_points; i++) {
        float x, y;

        photo_to_screen(at, mark->x[i], mark->y[i], &x, &y);
        ui_ring(ui, x, y, HANDLE_PX, 5, ui_rgba(UI_EDGE_LIGHT)); /* open: the edge below it is seen */
        ui_ring(ui, x, y, HANDLE_PX, 3, ui_rgba(UI_SELECT));
        if (i == point)
            ui_ring(ui, x, y, HANDLE_PX + 6, 2, ui_rgba(UI_EDGE_LIGHT));
    }
}

void bench_draw_marks(struct ui *ui, const struct model *m, const struct screen_state *st, const struct logbook_photo *p, const struct photo_place *at, struct rect view, const struct bench_covered *covered)
{
    const struct photo_measured *got = bench_measured(m, p->id);
    double edge[4];
    struct labels labels;
    size_t n;
    const struct logbook_mark *marks = bench_marks(m, p->id, &n);
    const struct logbook_mark *draft = st != NULL && st->bench.draft.n_points > 0 && strcmp(st->bench.draft.photo, p->id) == 0 ? &st->bench.draft : NULL;
    struct logbook_mark *on = covered != NULL && n > 0 ? arena_alloc(ui_arena(ui), n, sizeof *on) : NULL;

    if (on != NULL) {
        box_of(ui_inset(view, 8, 8), edge);
        labels_begin(&labels, ui_arena(ui), edge, 1);
    }
    for (int i = 0; i < (on != NULL ? covered->n : 0); i++) {
        box_of(covered->r[i], edge);
        labels_add_box(&labels, edge, true);
    }
    for (size_t i = 0; i < (on != NULL ? n : 0); i++) {
        on_screen(m, &marks[i], at, &on[i]);
        marks_labels_add(&labels, (int)i, &on[i]);
    }
    for (int pass = 0; pass < 2; pass++) /* labels above every line */
        for (size_t i = 0; i < n; i++) {
            bool moving = draft != NULL && strcmp(draft->id, marks[i].id) == 0;
            const struct logbook_mark *mark = moving ? draft : &marks[i];
            struct pen pen = {ui, ink_of(mark), (float)mark->width_px};
            char words[400];

            if (pass == 0) {
                struct logbook_mark seen = *mark;

                if (!moving)
                    bench_mark_as_seen(m, mark, &seen);
                draw_one(&pen, &seen, moving ? NULL : got, at);
                if (!moving && is_at_odds(got, mark->kind))
                    draw_at_odds(ui, &seen, at);
                continue;
            }
            bench_mark_words(m, mark, words, sizeof words);
            if (!moving && is_at_odds(got, mark->kind)) {
                const size_t used = strlen(words);

                text_format(words + used, sizeof words - used, "%sdoes not agree", used > 0 ? " · " : "");
                ui_note(ui, mark->kind == MARK_SCALE ? "photo.at-odds.thread" : mark->kind == MARK_HEX ? "photo.at-odds.hex" : "photo.at-odds.length", view, words, "");
            }
            if (words[0] != '\0' && !moving && on != NULL)
                label(&pen, &labels, (int)i, mark, &on[i], view, words);
        }
    if (draft != NULL && (st->bench.drag == BENCH_NEW || st->bench.drag == BENCH_LEVEL || st->bench.drag == BENCH_IDLE || st->bench.drag == BENCH_CLOSE)) {
        struct pen pen = {ui, ink_of(draft), (float)draft->width_px};
        float xy[2 * MARK_MAX_POINTS];

        if (draft->kind != MARK_POLYGON && draft->kind != MARK_NOSE && draft->kind != MARK_FREE) {
            draw_one(&pen, draft, NULL, at);
        } else {
            for (int i = 0; i < draft->n_points; i++)
                photo_to_screen(at, draft->x[i], draft->y[i], &xy[2 * i], &xy[2 * i + 1]);
            outline(&pen, xy, draft->n_points, false);
            for (int i = 0; i < draft->n_points && bench_corners_begun(&st->bench); i++)
                ui_disc(ui, xy[2 * i], xy[2 * i + 1], 3, pen.ink);
            if (draft->n_points > 2 && bench_corners_begun(&st->bench)) /* to be pressed */
                ui_ring(ui, xy[0], xy[1], HANDLE_PX, 2, pen.ink);
            else if (draft->n_points > 0)
                ui_disc(ui, xy[0], xy[1], 4, pen.ink);
        }
    }
    if (st != NULL && bench_selected(m, st, p) != NULL)
        handles(ui, draft != NULL && strcmp(draft->id, st->bench.mark) == 0 ? draft : bench_selected(m, st, p), st->bench.point, at);
}
