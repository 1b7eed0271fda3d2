/* photo_draw.c - drawing and changing marks by hand: a press, a drag, a release is one mark and one undo
 * step; the keys do the same from the middle of the view. */
#include <math.h>
#include <string.h>

#include "base/mem.h"
#include "base/text.h"
#include "screen/photo_bench.h"

#define NEAR_PX 9.0f  /* so near counts as on it */
#define LEAST_PX 6.0f /* a shorter drag was a click */
#define SNAP_DEG 3.0  /* arrows, rulers and hex lines this near to level, 45°, upright or the plug's axis become so */
#define PI 3.14159265358979

void bench_put(struct ui *ui, struct actions *out, const struct logbook_mark *marks, int n, const char *label)
{
    struct action *a = actions_add(out, ACT_PUT_MARKS);
    struct logbook_mark *copy = arena_alloc(ui_arena(ui), (size_t)n, sizeof *copy);

    memcpy(copy, marks, (size_t)n * sizeof *copy);
    a->marks = copy;
    a->number = n;
    text_copy(a->text, sizeof a->text, label);
}

/* What is drawn next: behind the scale the gap, behind the patch the nose, where they are not there yet. */
static int follows(const struct model *m, const struct logbook_mark *mark)
{
    int next = mark->kind == MARK_SCALE || mark->kind == MARK_HEX || mark->kind == MARK_LENGTH ? MARK_GAP : mark->kind == MARK_PATCH ? MARK_NOSE : -1;
    size_t n;
    const struct logbook_mark *marks = bench_marks(m, mark->photo, &n);

    for (size_t i = 0; i < n; i++)
        if (next >= 0 && marks[i].kind == (enum mark_kind)next)
            return -1;
    return next;
}

static void put(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, struct logbook_mark *mark, bool fresh)
{
    char label[80];

    if (fresh && mark_kind_row(mark->kind)->only) { /* the one there was is moved: its looks and its place in the order stay */
        size_t n;
        const struct logbook_mark *marks = bench_marks(m, mark->photo, &n);

        for (size_t i = 0; i < n; i++)
            if (marks[i].kind == mark->kind) {
                text_copy(mark->id, sizeof mark->id, marks[i].id);
                mark->known = marks[i].known;
                text_copy(mark->thread, sizeof mark->thread, marks[i].thread);
                text_copy(mark->hex, sizeof mark->hex, marks[i].hex);
                text_copy(mark->lies, sizeof mark->lies, marks[i].lies);
                text_copy(mark->marks, sizeof mark->marks, marks[i].marks);
                mark->sort = marks[i].sort;
                mark->colour = marks[i].colour;
                mark->width_px = marks[i].width_px;
                text_copy(mark->text, sizeof mark->text, marks[i].text);
            }
    }
    text_format(label, sizeof label, "%s%s", fresh ? "" : "Moved: ", mark_kind_row(mark->kind)->label);
    bench_put(ui, out, mark, 1, label);
    st->bench.point = -1;
    st->bench.tool = fresh ? follows(m, mark) : -1;
    st->bench.drag = BENCH_IDLE;
    text_copy(st->bench.mark, sizeof st->bench.mark, st->bench.tool < 0 ? mark->id : "");
    if (mark->kind == MARK_TEXT && fresh)
        ui_focus(ui, "bench.text");
    if (mark->kind == MARK_LENGTH && fresh && !(mark->known > 0) && mark->marks[0] == '\0')
        ui_focus(ui, "bench.known");
}

/* ---- what lies under the pointer ---- */

static float to_segment(float x, float y, const float *a, const float *b)
{
    float dx = b[0] - a[0], dy = b[1] - a[1], l2 = dx * dx + dy * dy;
    float t = l2 > 0 ? fminf(1, fmaxf(0, ((x - a[0]) * dx + (y - a[1]) * dy) / l2)) : 0;

    return hypotf(x - a[0] - t * dx, y - a[1] - t * dy);
}

static float to_mark(const struct logbook_mark *mark, const struct photo_place *at, float x, float y)
{
    float xy[2 * MARK_MAX_POINTS], least = 1e9f;
    int n = mark->n_points;
    bool box = mark->kind == MARK_PATCH || mark->kind == MARK_BOX || mark->kind == MARK_ELLIPSE;

    for (int i = 0; i < n; i++)
        photo_to_screen(at, mark->x[i], mark->y[i], &xy[2 * i], &xy[2 * i + 1]);
    if (box) {
        photo_corners(at, mark->x[0], mark->y[0], mark->x[1], mark->y[1], xy);
        n = 4;
    }
    if (n == 1)
        return hypotf(x - xy[0], y - xy[1]);
    for (int i = 0; i + (n > 2 ? 0 : 1) < n; i++)
        least = fminf(least, to_segment(x, y, &xy[2 * i], &xy[2 * ((i + 1) % n)]));
    return least;
}

/* Within a shape that has an inside: even-odd over its corners on the screen. */
static bool is_inside(const struct logbook_mark *mark, const struct photo_place *at, float x, float y)
{
    const bool box = mark->kind == MARK_PATCH || mark->kind == MARK_BOX || mark->kind == MARK_ELLIPSE;
    float xy[2 * MARK_MAX_POINTS];
    int n = box ? 4 : mark->n_points;
    bool in = false;

    if (!box && mark->kind != MARK_POLYGON && mark->kind != MARK_NOSE && mark->kind != MARK_FREE)
        return false;
    if (box)
        photo_corners(at, mark->x[0], mark->y[0], mark->x[1], mark->y[1], xy);
    for (int i = 0; i < n && !box; i++)
        photo_to_screen(at, mark->x[i], mark->y[i], &xy[2 * i], &xy[2 * i + 1]);
    for (int i = 0, k = n - 1; i < n; k = i++) {
        const float *a = &xy[2 * i], *b = &xy[2 * k];

        if ((a[1] > y) != (b[1] > y) && x < (b[0] - a[0]) * (y - a[1]) / (b[1] - a[1]) + a[0])
            in = !in;
    }
    return in;
}

static void take_whole(struct bench_state *b, const struct model *m, const struct logbook_mark *mark)
{
    text_copy(b->mark, sizeof b->mark, mark->id);
    b->point = -1;
    b->draft = *mark;
    b->drag = m->can_write ? BENCH_WHOLE : BENCH_IDLE;
}

static int point_at(const struct logbook_mark *mark, const struct photo_place *at, float x, float y)
{
    for (int i = 0; i < mark->n_points; i++) {
        float px, py;

        photo_to_screen(at, mark->x[i], mark->y[i], &px, &py);
        if (hypotf(px - x, py - y) <= NEAR_PX + 3)
            return i;
    }
    return -1;
}

/* ---- shaping ---- */

static bool is_lasso(enum mark_kind k)
{
    return k == MARK_NOSE || k == MARK_FREE;
}

bool bench_corners_begun(const struct bench_state *b)
{
    return b->draft.n_points > 0 && b->drag == BENCH_IDLE && b->tool == (int)b->draft.kind && (b->tool == MARK_POLYGON || is_lasso(b->draft.kind));
}

static bool is_near(const struct logbook_mark *mark, int point, const struct photo_place *at, float sx, float sy)
{
    float x, y;

    photo_to_screen(at, mark->x[point], mark->y[point], &x, &y);
    return hypotf(x - sx, y - sy) <= NEAR_PX;
}

static void add_point(struct logbook_mark *mark, double x, double y)
{
    if (mark->n_points == MARK_MAX_POINTS) { /* every second one goes: the shape stays */
        for (int i = 1; 2 * i < mark->n_points; i++) {
            mark->x[i] = mark->x[2 * i];
            mark->y[i] = mark->y[2 * i];
        }
        mark->n_points /= 2;
    }
    mark->x[mark->n_points] = x;
    mark->y[mark->n_points++] = y;
}

static double less_than_turn(double a) /* the same line's angle nearest to 0 */
{
    return a - PI * round(a / PI);
}

/* Turns the line about its point `fixed` to what is level, upright or between on the screen, where the photo may
 * lean, or to the plug's axis and square to it where the thread tells that: to the nearest that is near enough. */
static void snap(const struct model *m, struct logbook_mark *mark, int fixed, double lean_deg)
{
    const struct photo_measured *got = bench_measured(m, mark->photo);
    int free_end = 1 - fixed;
    double dx = mark->x[free_end] - mark->x[fixed], dy = mark->y[free_end] - mark->y[fixed], length = hypot(dx, dy), a = atan2(dy, dx);
    double nearest = 1e9, level = -lean_deg * PI / 180;

    if (mark->kind != MARK_ARROW && mark->kind != MARK_RULER && mark->kind != MARK_HEX)
        return;
    for (int i = 0; i < 6; i++) {
        double to = level + i * PI / 4, off;

        if (i >= 4 && (got == NULL || !got->scales[PHOTO_SCALE_THREAD].given))
            break;
        if (i >= 4)
            to = atan2(got->scale_y[1] - got->scale_y[0], got->scale_x[1] - got->scale_x[0]) + (i - 4) * PI / 2;
        off = less_than_turn(to - a);
        if (fabs(off) < fabs(nearest))
            nearest = off;
    }
    if (fabs(nearest) > SNAP_DEG * PI / 180)
        return;
    mark->x[free_end] = mark->x[fixed] + length * cos(a + nearest);
    mark->y[free_end] = mark->y[fixed] + length * sin(a + nearest);
}

static void hold_inside(const struct logbook_photo *p, double *x, double *y)
{
    *x = fmin(fmax(*x, 0), p->width);
    *y = fmin(fmax(*y, 0), p->height);
}

/* The line is cut off where it leaves the picture, so that it keeps the way it was snapped to. */
static void cut_at_edge(const struct logbook_photo *p, struct logbook_mark *mark, int fixed)
{
    const double x = mark->x[fixed], y = mark->y[fixed], dx = mark->x[1 - fixed] - x, dy = mark->y[1 - fixed] - y;
    double share = 1;

    if (dx != 0)
        share = fmin(share, ((dx > 0 ? p->width : 0) - x) / dx);
    if (dy != 0)
        share = fmin(share, ((dy > 0 ? p->height : 0) - y) / dy);
    share = fmax(share, 0);
    mark->x[1 - fixed] = x + dx * share;
    mark->y[1 - fixed] = y + dy * share;
    hold_inside(p, &mark->x[1 - fixed], &mark->y[1 - fixed]);
}

/* As far as all of it stays in the picture; one that lies beyond its edge comes in. */
static void move_by(const struct logbook_photo *p, struct logbook_mark *mark, int point, double dx, double dy)
{
    for (int i = 0; i < mark->n_points; i++)
        if (point < 0 || i == point) {
            dx = fmin(fmax(dx, -mark->x[i]), p->width - mark->x[i]);
            dy = fmin(fmax(dy, -mark->y[i]), p->height - mark->y[i]);
        }
    for (int i = 0; i < mark->n_points; i++)
        if (point < 0 || i == point) {
            mark->x[i] += dx;
            mark->y[i] += dy;
        }
}

static bool large_enough(const struct logbook_mark *mark, const struct photo_place *at)
{
    float x0 = 1e9f, y0 = 1e9f, x1 = -1e9f, y1 = -1e9f;

    if (mark->n_points < mark_kind_row(mark->kind)->n_least)
        return false;
    for (int i = 0; i < mark->n_points; i++) {
        float x, y;

        photo_to_screen(at, mark->x[i], mark->y[i], &x, &y);
        x0 = fminf(x0, x), x1 = fmaxf(x1, x);
        y0 = fminf(y0, y), y1 = fmaxf(y1, y);
    }
    return mark->n_points == 1 || fmaxf(x1 - x0, y1 - y0) >= LEAST_PX;
}

/* ---- the pointer ---- */

/* One more corner of an outline that is begun; the first one, or the last one again, closes it where that can be. */
static void corner(struct bench_state *b, const struct photo_place *at, float sx, float sy, double x, double y)
{
    const int n = b->draft.n_points;

    b->corners = n;
    if (is_near(&b->draft, n - 1, at, sx, sy) || is_near(&b->draft, 0, at, sx, sy)) {
        if (large_enough(&b->draft, at))
            b->drag = BENCH_CLOSE;
        return;
    }
    add_point(&b->draft, x, y);
    b->drag = is_lasso(b->draft.kind) ? BENCH_NEW : BENCH_IDLE;
}

static void press(struct screen_state *st, const struct model *m, const struct logbook_photo *p, const struct photo_place *at, float sx, float sy, double x, double y)
{
    struct bench_state *b = &st->bench;
    const struct logbook_mark *marks, *chosen = bench_selected(m, st, p);
    size_t n;

    hold_inside(p, &x, &y); /* the desk beside it is no part of it */
    b->grab_x = x;
    b->grab_y = y;
    if (b->levelling) {
        logbook_mark_init(&b->draft, p->id, MARK_RULER);
        add_point(&b->draft, x, y);
        add_point(&b->draft, x, y);
        b->drag = BENCH_LEVEL;
        return;
    }
    if (b->tool >= 0 && m->can_write) {
        if (bench_corners_begun(b)) {
            corner(b, at, sx, sy, x, y);
            return;
        }
        logbook_mark_init(&b->draft, p->id, (enum mark_kind)b->tool);
        add_point(&b->draft, x, y);
        if (mark_kind_row(b->draft.kind)->n_most == 2)
            add_point(&b->draft, x, y);
        b->drag = b->tool == MARK_POLYGON ? BENCH_IDLE : BENCH_NEW;
        b->corners = 0;
        return;
    }
    b->draft.n_points = 0;
    if (chosen != NULL && (b->point = point_at(chosen, at, sx, sy)) >= 0) {
        b->draft = *chosen;
        b->drag = m->can_write ? BENCH_POINT : BENCH_IDLE;
        return;
    }
    marks = bench_marks(m, p->id, &n);
    for (size_t i = n; i-- > 0;)
        if (to_mark(&marks[i], at, sx, sy) <= NEAR_PX) {
            take_whole(b, m, &marks[i]);
            return;
        }
    if (chosen != NULL && is_inside(chosen, at, sx, sy)) { /* of one that is chosen all of it can be taken hold of */
        take_whole(b, m, chosen);
        return;
    }
    b->mark[0] = '\0';
    b->point = -1;
    b->drag = BENCH_PAN;
}

static bool has_moved(const struct logbook_mark *a, const struct logbook_mark *b)
{
    return memcmp(a->x, b->x, (size_t)a->n_points * sizeof a->x[0]) != 0 || memcmp(a->y, b->y, (size_t)a->n_points * sizeof a->y[0]) != 0;
}

/* Drawn around in one stroke, or with its last one back to where it began. */
static bool is_closed(const struct bench_state *b, const struct photo_place *at)
{
    const struct logbook_mark *d = &b->draft;
    float x, y;

    if (!large_enough(d, at))
        return false;
    photo_to_screen(at, d->x[d->n_points - 1], d->y[d->n_points - 1], &x, &y);
    return b->corners == 0 || (d->n_points - b->corners > 1 && is_near(d, 0, at, x, y));
}

static void release(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, const struct logbook_photo *p, const struct photo_place *at)
{
    struct bench_state *b = &st->bench;
    const struct logbook_mark *was = bench_selected(m, st, p);
    struct logbook_mark drawn = b->draft;
    enum bench_drag drag = b->drag;

    b->drag = BENCH_IDLE;
    if (drag == BENCH_NEW && is_lasso(drawn.kind) && !is_closed(b, at)) {
        if (b->corners == 0)
            b->draft.n_points = 1; /* a click: corners are set */
        return;
    }
    b->draft.n_points = 0;
    if (drag == BENCH_LEVEL) {
        if (large_enough(&drawn, at)) {
            bench_turn_by_line(out, p, drawn.x[0], drawn.y[0], drawn.x[1], drawn.y[1]);
            b->levelling = false;
        }
    } else if (drag == BENCH_NEW || drag == BENCH_CLOSE) {
        if (large_enough(&drawn, at))
            put(ui, m, st, out, &drawn, true);
    } else if (was != NULL && has_moved(was, &drawn)) {
        int point = drag == BENCH_POINT ? b->point : -1;

        put(ui, m, st, out, &drawn, false);
        b->point = point;
    }
}

static void close_outline(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, const struct photo_place *at)
{
    struct logbook_mark drawn = st->bench.draft;

    if (!large_enough(&drawn, at)) { /* it stays begun */
        ui_toast(ui, "An outline has three corners at least.", NULL);
        return;
    }
    st->bench.draft.n_points = 0;
    put(ui, m, st, out, &drawn, true);
}

bool bench_pointer(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, const struct logbook_photo *p,
                   const struct photo_place *at, const struct ui_hit *hit, struct rect view)
{
    struct bench_state *b = &st->bench;
    float sx = view.x + hit->x * view.w, sy = view.y + hit->y * view.h;
    double x, y;

    photo_from_screen(at, sx, sy, &x, &y);
    if (hit->drag_began)
        press(st, m, p, at, sx, sy, x, y);
    if (b->drag == BENCH_PAN) {
        if (!hit->down)
            b->drag = BENCH_IDLE;
        return false;
    }
    if (b->drag == BENCH_IDLE)
        return b->tool >= 0 || b->levelling;
    if (hit->down) {
        hold_inside(p, &x, &y);
        if (b->drag == BENCH_NEW && is_lasso(b->draft.kind)) {
            float lx, ly;

            photo_to_screen(at, b->draft.x[b->draft.n_points - 1], b->draft.y[b->draft.n_points - 1], &lx, &ly);
            if (hypotf(lx - sx, ly - sy) > 4)
                add_point(&b->draft, x, y);
        } else if (b->drag == BENCH_CLOSE) {
            return true;
        } else if (b->drag == BENCH_NEW || b->drag == BENCH_LEVEL) {
            b->draft.x[b->draft.n_points - 1] = x;
            b->draft.y[b->draft.n_points - 1] = y;
            if (b->draft.n_points == 2 && b->drag == BENCH_NEW) {
                snap(m, &b->draft, 0, at->lean_deg);
                cut_at_edge(p, &b->draft, 0);
            }
        } else if (b->drag == BENCH_POINT && b->point < b->draft.n_points) {
            b->draft.x[b->point] = x;
            b->draft.y[b->point] = y;
            if (b->draft.n_points == 2) {
                snap(m, &b->draft, 1 - b->point, at->lean_deg);
                cut_at_edge(p, &b->draft, 1 - b->point);
            }
        } else {
            move_by(p, &b->draft, -1, x - b->grab_x, y - b->grab_y);
            b->grab_x = x;
            b->grab_y = y;
        }
        return true;
    }
    release(ui, m, st, out, p, at);
    return true;
}

/* ---- the keyboard ---- */

/* A mark of the chosen kind in the middle of the view, of a size that its points can be moved at. */
static void put_in_middle(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, const struct logbook_photo *p, const struct photo_place *at)
{
    struct rect view = ui_find_widget(ui, "photo.view") != NULL ? ui_find_widget(ui, "photo.view")->bounds : ui_screen(ui);
    float cx = view.x + view.w / 2, cy = view.y + view.h / 2;
    struct logbook_mark mark;
    int n;

    logbook_mark_init(&mark, p->id, (enum mark_kind)st->bench.tool);
    n = mark_kind_row(mark.kind)->n_most == 1 ? 1 : mark_kind_row(mark.kind)->n_most == 2 ? 2 : 6;
    for (int i = 0; i < n; i++) {
        double t = n == 6 ? i * 3.14159265358979 / 3 : 0, x, y;
        float dx = n == 1 ? 0 : n == 2 ? (i ? 60.0f : -60.0f) : 60 * (float)cos(t), dy = n == 1 ? 0 : n == 2 ? (i ? 40.0f : -40.0f) : 60 * (float)sin(t);

        if (n == 2 && mark.kind != MARK_PATCH && mark.kind != MARK_BOX && mark.kind != MARK_ELLIPSE)
            dy = 0;
        photo_from_screen(at, cx + dx, cy + dy, &x, &y);
        hold_inside(p, &x, &y);
        add_point(&mark, x, y);
    }
    put(ui, m, st, out, &mark, true);
}

static bool nudge(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, const struct logbook_photo *p, const struct photo_place *at)
{
    static const struct {
        const char *key;
        float dx, dy;
    } keys[] = {{"Left", -1, 0}, {"Right", 1, 0}, {"Up", 0, -1}, {"Down", 0, 1}, {"Shift+Left", -10, 0}, {"Shift+Right", 10, 0}, {"Shift+Up", 0, -10}, {"Shift+Down", 0, 10}};
    const struct logbook_mark *chosen = bench_selected(m, st, p);

    for (size_t i = 0; chosen != NULL && m->can_write && i < sizeof keys / sizeof keys[0]; i++)
        if (ui_key(ui, keys[i].key)) {
            struct logbook_mark moved = *chosen;
            double x0, y0, x1, y1;
            int point = st->bench.point;

            photo_from_screen(at, 0, 0, &x0, &y0);
            photo_from_screen(at, keys[i].dx, keys[i].dy, &x1, &y1);
            move_by(p, &moved, point, x1 - x0, y1 - y0);
            put(ui, m, st, out, &moved, false);
            st->bench.point = point;
            return true;
        }
    return false;
}

static void next_mark(const struct model *m, struct screen_state *st, const struct logbook_photo *p)
{
    size_t n;
    const struct logbook_mark *marks = bench_marks(m, p->id, &n);
    size_t next = 0;

    for (size_t i = 0; i < n; i++)
        if (strcmp(marks[i].id, st->bench.mark) == 0)
            next = (i + 1) % n;
    bench_let_go(st);
    st->bench.tool = -1;
    if (n > 0)
        text_copy(st->bench.mark, sizeof st->bench.mark, marks[next].id);
}

void bench_reorder(struct ui *ui, const struct model *m, struct actions *out, const struct logbook_mark *mark, int step)
{
    size_t n, at = 0;
    const struct logbook_mark *marks = bench_marks(m, mark->photo, &n);
    struct logbook_mark two[2];

    while (at < n && strcmp(marks[at].id, mark->id) != 0)
        at++;
    if (at == n || (step < 0 && at == 0) || (step > 0 && at + 1 == n))
        return;
    two[0] = marks[at];
    two[1] = marks[step > 0 ? at + 1 : at - 1];
    two[0].sort = two[1].sort;
    two[1].sort = marks[at].sort;
    bench_put(ui, out, two, 2, step > 0 ? "Mark brought forward" : "Mark sent back");
}

void bench_next_colour(struct ui *ui, struct actions *out, const struct logbook_mark *mark)
{
    struct logbook_mark changed = *mark;

    changed.colour = (enum mark_colour)((mark->colour + 1) % MARK_COLOUR_COUNT);
    bench_put(ui, out, &changed, 1, "Colour of a mark");
}

/* A photo that waits goes to the plug that is chosen on the plan, as by its number; what it shows is not said by that. */
static void place_here(struct ui *ui, const struct model *m, const struct screen_state *st, struct actions *out, const struct logbook_photo *p)
{
    char label[48], said[100];
    struct action *a;

    if (!bench_places_here(m, st, p))
        return;
    a = actions_add(out, ACT_PLACE_PHOTO);
    text_copy(a->id, sizeof a->id, p->id);
    a->cylinder = st->cylinder;
    a->position = st->position;
    a->zone = -1;
    engine_plug_label(&m->record->engine, st->cylinder, st->position, label, sizeof label);
    text_format(said, sizeof said, "The photo is of plug %s.", label);
    ui_toast(ui, said, "Undo");
}

bool bench_places_here(const struct model *m, const struct screen_state *st, const struct logbook_photo *p)
{
    return m->can_write && logbook_photo_waits(p) && st->cylinder >= 0 && !st->by_default;
}

bool bench_keys(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, const struct logbook_photo *p, const struct photo_place *at)
{
    struct bench_state *b = &st->bench;
    const struct logbook_mark *chosen = bench_selected(m, st, p);

    int n_tools;
    const struct bench_tool *tools = bench_tools(&n_tools);

    for (int i = 0; i < n_tools; i++)
        if ((m->can_write || tools[i].kind < 0) && ui_key(ui, tools[i].key)) {
            bench_pick(st, tools[i].kind);
            return true;
        }
    if (nudge(ui, m, st, out, p, at))
        return true;
    if (ui_key(ui, "m")) {
        next_mark(m, st, p);
        return true;
    }
    if (chosen != NULL && ui_key(ui, "h")) {
        b->point = b->point + 1 < chosen->n_points ? b->point + 1 : -1;
        return true;
    }
    if (chosen != NULL && m->can_write && ui_key(ui, "Shift+F")) {
        bench_reorder(ui, m, out, chosen, 1);
        return true;
    }
    if (chosen != NULL && m->can_write && ui_key(ui, "Shift+B")) {
        bench_reorder(ui, m, out, chosen, -1);
        return true;
    }
    if (chosen != NULL && m->can_write && ui_key(ui, "Shift+I")) {
        bench_next_colour(ui, out, chosen);
        return true;
    }
    if (chosen != NULL && m->can_write && ui_key(ui, "Delete")) {
        text_copy(actions_add(out, ACT_REMOVE_MARK)->id, UUID_BYTES, chosen->id);
        bench_let_go(st);
        b->mark_gone = true;
        return true;
    }
    if (bench_offer_keys(ui, m, st, out, p))
        return true;
    if ((chosen != NULL || b->draft.n_points > 0 || b->tool >= 0) && ui_key(ui, "Escape")) {
        bench_pick(st, -1);
        return true;
    }
    if (bench_corners_begun(b) && ui_key(ui, "Backspace")) {
        b->draft.n_points--;
        return true;
    }
    if (ui_key(ui, "Enter")) {
        if (bench_corners_begun(b))
            close_outline(ui, m, st, out, at);
        else if (b->tool >= 0 && m->can_write)
            put_in_middle(ui, m, st, out, p, at);
        else if (!bench_take(m, st, out, p))
            place_here(ui, m, st, out, p);
        return true;
    }
    return false;
}
