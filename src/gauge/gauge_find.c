#include "gauge/gauge_find.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/assets.h"
#include "base/csv.h"
#include "base/err.h"
#include "base/mem.h"
#include "base/text.h"
#include "gauge/gauge_beside.h"

#define DEGREE 0.017453292519943295
#define MAX_PITCHES 8
/* What makes it sure. Of 42 plugs without a side electrode none scored more than 0.53; of 84 with one, of two scenes, the firing end
 * came first in nine of ten, all but one of those with more than 0.43. */
#define LEAST_SCORE 0.4
#define POOR 0.45        /* with a score below this both ends must be told closely by what lies beside them */
#define LEAST_LEAD 0.06  /* before what stands elsewhere */
#define ENOUGH 0.7       /* no need to look at the bands that repeat less well: chance has not come near it */
#define FAINT 0.75       /* of the first band's score: with a firing end found, no more is looked for beside such */
#define ELSEWHERE_MM 0.3 /* along the axis */
#define ASIDE_MM 2.0     /* across it, where a gap is as wide */
#define MOST_DOUBT_MM 0.12 /* of the gap read: an end known less well may lie anywhere near; */
#define CLOSE_MM 0.05      /*   but where what lies beside has both ends as near as this, the doubt is of the camera's angle, which moves no end */
#define WEAK 0.55         /* with a score below this what lies beside both ends must tell: a thread without a side electrode, or a shadow's stripe, scores as much */
#define WEAK_TELLS 0.5
/* Each end as read at its edge must lie where it is found otherwise: by what lies beside it, where enough of it tells, and by its shape.
 * On 34 rendered plugs and 110 of another scene the ends that were right lay within 0.08 mm of the first but for one in twelve, those that
 * were wrong did not but for one in four. */
#define BESIDE_MM 0.09
#define FARTHER 0.25    /* of an end's width, that reaches farther out: it is in patches, and may end anywhere */
#define FACE_MM 0.18    /* that a dark face may show beyond the metal seen beside the bench: both ends of that are as near as a line need be */
#define STRONG 0.62     /* with such a score, such a doubt and an edge where the shape has it, what lies beside is overruled: */
#define STRONG_DOUBT_MM 0.08 /* a soft shadow, or a bench that changes there, puts it off */
#define STRONG_MM 0.05
#define TELLS 0.3       /* share of an end's width */
#define SHAPE_MM 0.25
#define ALONE_MM 0.12   /* where only the shape tells */
#define MOST_HIDDEN_MM 0.1 /* more of a gap is seldom hidden: then how much is not known well */
#define SAME_SCALE 0.04  /* of two lines along one thread: on its middle it is nearer to the camera */

/* One way to see a plug in the picture. */
struct guess {
    struct gauge_thread scale;
    struct gauge_point end; /* of the thread, on the axis */
    double ux, uy;          /* from the thread to the firing end */
    double length_px;       /* of the thread */
    struct gauge_tip tip;
};

static struct gauge_point ahead(struct gauge_point from, double ux, double uy, double by)
{
    return (struct gauge_point){from.x + by * ux, from.y + by * uy};
}

static struct gauge_point on_axis(const struct guess *g, double along_mm)
{
    return ahead(g->end, g->ux, g->uy, along_mm * g->scale.px_per_mm);
}

static struct gauge_point onto_axis(const struct guess *g, struct gauge_point from)
{
    double off = (from.y - g->end.y) * g->ux - (from.x - g->end.x) * g->uy;

    return ahead(from, -g->uy, g->ux, -off);
}

/* The pitches threads have, each once. */
static int pitches(double out[MAX_PITCHES])
{
    struct csv t;
    int n = 0;

    if (!asset_table("threads.csv", &t, NULL))
        return 0;
    for (size_t row = 1; row < t.n_rows && n < MAX_PITCHES; row++) {
        double pitch;
        bool known = !text_to_double(csv_named(&t, row, "pitch_mm"), &pitch);

        for (int k = 0; k < n; k++)
            known = known || fabs(out[k] - pitch) < 1e-9;
        if (!known)
            out[n++] = pitch;
    }
    csv_release(&t);
    return n;
}

/* Guesses, the best and the best of those that stand elsewhere. */
struct ranking {
    struct guess best;
    double second;
};

static bool elsewhere(const struct guess *a, const struct guess *b)
{
    for (int k = 0; k < 2; k++) {
        struct gauge_point p = on_axis(a, k ? a->tip.strap_mm : a->tip.tip_mm), q = on_axis(b, k ? b->tip.strap_mm : b->tip.tip_mm);
        double dx = q.x - p.x, dy = q.y - p.y, mm = a->scale.px_per_mm;

        if (fabs(dx * a->ux + dy * a->uy) > ELSEWHERE_MM * mm || fabs(dy * a->ux - dx * a->uy) > ASIDE_MM * mm)
            return true;
    }
    return false;
}

static void rank(struct ranking *r, const struct guess *g)
{
    bool other = r->best.tip.score > 0 && elsewhere(g, &r->best);

    if (g->tip.score <= r->best.tip.score) {
        r->second = other ? fmax(r->second, g->tip.score) : r->second;
        return;
    }
    if (other)
        r->second = r->best.tip.score;
    r->best = *g;
}

/* Looks for a firing end at both ends of a band, were it a thread of this pitch. */
static void look(const struct gauge_picture *p, const struct gauge_band *b, double pitch_mm, double focal_px, struct gauge_line *drawn, struct ranking *r)
{
    struct gauge_point line[2] = {ahead(b->middle, b->ux, b->uy, -b->length_px / 2), ahead(b->middle, b->ux, b->uy, b->length_px / 2)};
    struct gauge_thread scale;

    if (!gauge_thread_read_as(p, line, pitch_mm, 0, focal_px, drawn, &scale, NULL) || !scale.has_body)
        return;
    for (int way = -1; way <= 1; way += 2) {
        struct guess g = {.scale = scale, .ux = way * scale.ux, .uy = way * scale.uy, .length_px = b->length_px};
        struct gauge_frame f;

        g.end = ahead(scale.middle, g.ux, g.uy, b->length_px / 2);
        f = (struct gauge_frame){g.end, g.ux, g.uy};
        if (!gauge_tip_find(p, &f, scale.px_per_mm, scale.radius_px / scale.px_per_mm, &g.tip))
            continue;
        g.end = ahead(g.end, -g.uy, g.ux, g.tip.aside_mm * scale.px_per_mm);
        rank(r, &g);
    }
}

/* The same place seen twice. */
static bool same(const struct gauge_band *a, const struct gauge_band *b)
{
    return hypot(a->middle.x - b->middle.x, a->middle.y - b->middle.y) < 0.1 * a->width_px && fabs(a->ux * b->uy - a->uy * b->ux) < 0.018 &&
           fabs(a->period_px / b->period_px - 1) < 0.04;
}

/* The two ends of a gap, mm along the axis, by shape and by what lies beside them. */
struct ends {
    double shape_mm[2];
    struct gauge_beside beside[2];
};

static void ends_find(const struct gauge_picture *p, const struct guess *g, struct ends *out)
{
    const struct gauge_tip *tip = &g->tip;
    struct gauge_frame f = {g->end, g->ux, g->uy};
    double gap = tip->strap_mm - tip->tip_mm, half = 0.85 * tip->wide_mm, from = 0.12 - tip->past_mm, to = fmax(1, from + 0.5);
    bool up = tip->leg_side > 0; /* the bench is seen past the side electrode's free end */
    struct gauge_beside_end ends[2] = {{tip->tip_mm, 1, gap, -half, half, true, true}, {tip->strap_mm, -1, gap, up ? from : -to, up ? to : -from, up, !up}};

    for (int k = 0; k < 2; k++) {
        out->shape_mm[k] = ends[k].at_mm;
        gauge_beside_read(p, &f, g->scale.px_per_mm, &ends[k], &out->beside[k]);
    }
}

/* One end as read at its edge, mm along the axis: whether what else tells of it agrees, and where it then lies. */
static bool end_agrees(const struct ends *e, int k, double read_mm, double score, double doubt_mm, double *at_mm)
{
    double off = fabs(read_mm - e->shape_mm[k]), aside = fabs(read_mm - e->beside[k].at_mm);

    *at_mm = read_mm;
    if (e->beside[k].farther > FARTHER)
        return false;
    if (score < WEAK && e->beside[k].share < WEAK_TELLS)
        return false;
    if (e->beside[k].share < TELLS)
        return off < ALONE_MM;
    if (off >= SHAPE_MM)
        return false;
    if (aside < BESIDE_MM || (score >= STRONG && doubt_mm <= STRONG_DOUBT_MM && off < STRONG_MM))
        return true;
    *at_mm = (read_mm + e->beside[k].at_mm) / 2; /* the edge of a face in its own shade, and the first metal that shows: the end lies between */
    return aside < FACE_MM && score >= WEAK;
}

/* To the eye a gap is short by what the camera's angle hides of it, at either end: the line becomes as long as the gap it tells. */
static void as_long_as_told(struct gauge_find *f)
{
    double dx = f->gap.across[1].x - f->gap.across[0].x, dy = f->gap.across[1].y - f->gap.across[0].y, seen = hypot(dx, dy), more = fmin(f->gap.gap_mm * f->scale.px_per_mm - seen, MOST_HIDDEN_MM * f->scale.px_per_mm);

    if (!(seen > 0 && more > 0))
        return;
    for (int k = 0; k < 2; k++)
        f->across[k] = ahead(f->across[k], dx / seen, dy / seen, (k ? 0.5 : -0.5) * more);
}

/* Reads scale and gap from lines as a person would draw them: along either outline, or over the body. Keeps the one whose gap is
 * least in doubt and agrees with the ends found otherwise. */
static bool read_lines(const struct gauge_picture *p, const struct guess *g, double focal_px, struct gauge_find *out)
{
    struct gauge_point shape[2] = {on_axis(g, g->tip.tip_mm), on_axis(g, g->tip.strap_mm)};
    double half = fmax(0.85 * g->length_px, 4.5 * g->scale.pitch_px) / 2, least = HUGE_VAL;
    bool found = false;
    struct ends ends;

    ends_find(p, g, &ends);
    for (int turn = 0; turn < 3; turn++) { /* the body last, with a handicap: it lies nearer to the camera than the gap */
        int where = turn == 0 ? 1 : turn == 1 ? -1 : 0;
        double t = where * 0.97 * g->scale.radius_px;
        struct gauge_point middle = ahead(onto_axis(g, g->scale.middle), -g->uy, g->ux, t), line[2] = {ahead(middle, g->ux, g->uy, -half), ahead(middle, g->ux, g->uy, half)};
        struct gauge_thread scale;
        struct gauge_gap gap;
        double at_mm[2];
        bool agree = true, close = true;

        if (!gauge_thread_read(p, line, g->scale.pitch_mm, 0, focal_px, &scale, NULL) || fabs(scale.px_per_mm / g->scale.px_per_mm - 1) > SAME_SCALE)
            continue;
        scale.middle = onto_axis(g, scale.middle); /* an outline is confused with its shadow's: the firing end tells better */
        if (!gauge_gap_read(p, shape, &scale, &gap, NULL))
            continue;
        for (int k = 0; k < 2; k++) {
            agree &= end_agrees(&ends, k, ((gap.across[k].x - g->end.x) * g->ux + (gap.across[k].y - g->end.y) * g->uy) / g->scale.px_per_mm, g->tip.score, gap.uncertainty_mm, &at_mm[k]);
            close &= ends.beside[k].share >= WEAK_TELLS && fabs(at_mm[k] - ends.beside[k].at_mm) < CLOSE_MM;
        }
        agree &= close || (gap.uncertainty_mm <= MOST_DOUBT_MM && g->tip.score >= POOR);
        agree &= gap.uncertainty_mm <= MOST_DOUBT_MM || g->tip.score >= STRONG;
        if (!agree || gap.uncertainty_mm * (where == 0 ? 1.3 : 1) > least)
            continue;
        found = true;
        least = gap.uncertainty_mm;
        out->scale = scale, out->gap = gap;
        memcpy(out->thread, line, sizeof line);
        for (int k = 0; k < 2; k++)
            out->across[k] = on_axis(g, at_mm[k]);
    }
    if (found)
        as_long_as_told(out);
    return found;
}

bool gauge_find(const struct gauge_picture *p, double pitch_mm, double focal_px, const struct gauge_stop *stop, struct gauge_find *out, struct err *e)
{
    struct gauge_band bands[GAUGE_MAX_BANDS];
    double tried[MAX_PITCHES] = {pitch_mm};
    int n_bands = gauge_band_find(p, stop, bands), n_pitches = pitch_mm > 0 ? 1 : pitches(tried);
    struct ranking r = {0};

    memset(out, 0, sizeof *out);
    for (int k = 0; k < n_bands && r.best.tip.score < ENOUGH; k++) {
        bool seen = r.best.tip.score >= LEAST_SCORE && bands[k].score < FAINT * bands[0].score;
        struct gauge_line *drawn = gauge_line_create();

        for (int i = 0; i < k; i++)
            seen |= same(&bands[i], &bands[k]);
        for (int i = 0; i < n_pitches && !seen && !gauge_stopped(stop); i++)
            look(p, &bands[k], tried[i], focal_px, drawn, &r);
        gauge_line_destroy(drawn);
    }
    if (gauge_stopped(stop))
        return err_set(e, ERR_CANCEL, "Looking for the plug was stopped.");
    if (n_bands == 0 || !(r.best.tip.score > 0))
        return err_set(e, ERR_MEASURE, "No thread stands out in this picture. Draw the line along the thread yourself.");
    if (r.best.tip.score < LEAST_SCORE || r.best.tip.score - r.second < LEAST_LEAD)
        return err_set(e, ERR_MEASURE, "No firing end with its gap to the side stands out beside a thread. Draw both lines yourself.");
    if (!read_lines(p, &r.best, focal_px, out))
        return err_set(e, ERR_MEASURE, "A firing end seems to be there, but the edges of its electrodes are too faint to be sure of the gap. Draw both lines yourself.");
    out->tip = r.best.tip;
    out->axis[0] = ahead(r.best.end, r.best.ux, r.best.uy, -r.best.length_px);
    out->axis[1] = on_axis(&r.best, r.best.tip.strap_mm + r.best.tip.thick_mm);
    return true;
}
