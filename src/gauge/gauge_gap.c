#include "gauge/gauge_gap.h"

#include <math.h>
#include <string.h>

#include "base/err.h"
#include "gauge/gauge_edge.h"
#include "gauge/gauge_rim.h"
#include "gauge/gauge_view.h"

#define DEGREE 0.017453292519943295
#define REACH_PX 13.0  /* edges are looked for this near to the drawn ends: a hand's 8 px each way and a lean */
#define HAND_PX 8.0    /* so far off a drawn end may lie, across as along */
#define BAND_MM 1.6    /* each way: past the side of a 2.5 mm electrode */
#define BESIDE_FROM_MM 1.75 /* past the side of the thickest centre electrode, 2.9 mm, */
#define BESIDE_TO_MM 2.15   /*   and not yet where a leg bends */
#define ROUNDED_MM 0.25 /* and so much wider by edges that are worn round */
#define NARROW_MM 0.35 /* each way: within a fine wire */
#define FINE_PX_MM 25  /* where electrodes are looked for, sharper pictures than this tell no more: they are sampled coarser */
#define RIM_PX_MM 40   /* and where exactly they end, than this: no phone resolves more */
#define ASIDE_PX 14    /* a line farther from the axis was drawn there on purpose */
#define TIP_SLOPE 0.03 /* of an edge, standard deviation: a tip is turned square, a strap may lean */
#define STRAP_SLOPE 0.05
#define AXIS_SLOPE 0.008 /* the axis as the thread tells it, standard deviation */
#define BENT 0.3         /* share of straps that lean, and by how much. Common practice, no source */
#define BENT_SLOPE 0.045
#define THICK_MM 1.35 /* of side electrodes, and how far from that any is (from memory) */
#define THICK_REACH_MM 0.5
#define BACK_EVIDENCE 2.0
#define BACK_AGREES 2.5
#define FREE_SLOPE 0.2 /* where no thread tells the direction */
#define EVIDENCE 0.8   /* less of either edge is none */
/* Rounding of an edge, as standard deviations from 0: of most, and of the share that is well worn. Common practice, no source */
#define CORNER_MM 0.03
#define WORN_MM 0.09
#define WORN 0.3
/* People hold a camera within some degrees of square: a few of them squarely by care, the others so. */
#define CAREFUL 0.25
#define CAREFUL_DEG 0.5
#define USUAL_DEG 2.5
#define MOST_DEG 9.0
#define STEP_DEG 0.25
#define TOLD_DEG 1.0 /* a thread that tells the angle less closely does not outvote the rims */
#define EDGE_PX 0.15   /* of an edge whatever the fit says: JPEG moves edges by this */
#define MODEL_MM 0.01
#define RIVAL 0.25 /* share of what another pair of edges, nearly as good, would differ by: the best is the one meant but now and then */
#define COVER 1.6 /* such deviations hold the truth in 95 of 100 rendered plugs of all scenes: faults are seldom as large as each may be */
/* Rims of both ends together that may as well be there as not: past so much the edges may be rounded by any of it. Of 68 rendered readings
 * seven have more, and all of the sample's five, whose corners are rounded by two tenths, which are read that much too wide. */
#define RIMS_MM 0.26
#define RIMS_ALL_MM 0.32
#define RIMS_COVER 0.8
#define DEPTH_SD_MM 0.2 /* of the two half depths */
#define CELL_MM 0.004 /* a gap is told in cells of this, up to more than any plug's */
#define CELLS 1200
#define MAX_UNCERTAINTY_MM 0.3 /* wider is no use for setting a gap */

#define TOO_DOUBTFUL "The edges at this line are so faint, or so many, that the gap would be told to %.2f mm only. Draw the line again with its ends on the edges, " \
                     "take the photo sharper on a bench of another colour, or use a feeler gauge."
#define TOO_DOUBTFUL_COPY "The gap would be told to %.2f mm only: by its edges, faint or many, and by the angle of view, which needs the focal length that this photo does not " \
                          "tell. Take the original file, not a copy that was sent; draw the line again with its ends on the edges, or use a feeler gauge."

/* One look: a strip, the edges in it. */
struct look {
    struct gauge_frame f;
    double length, mm, fine; /* px of the line along the frame, px in a mm, px as fine as is sampled */
    bool axis_known;
    bool tip_first;          /* the centre electrode's tip is the edge at the line's first end */
    struct gauge_strip strip;
    struct gauge_pair pair;
    struct gauge_line edge[2];
    double strap_slope, strap_slope_sd; /* of the side electrode: both its sides together */
};

/* Half depths, along the line of sight, as usual for a thread of this size (from memory). */
static double tip_depth(const struct gauge_thread *scale)
{
    return 0.72 + 0.038 * (scale->major_mm > 0 ? scale->major_mm : 14);
}

static double strap_depth(const struct gauge_thread *scale)
{
    return 0.6 + 0.05 * (scale->major_mm > 0 ? scale->major_mm : 14);
}

static void frame_make(const struct gauge_point line[2], const struct gauge_thread *scale, struct look *l)
{
    double dx = line[1].x - line[0].x, dy = line[1].y - line[0].y, along, side;

    l->length = hypot(dx, dy);
    l->mm = scale->px_per_mm;
    l->fine = fmax(1, l->mm / FINE_PX_MM);
    l->f = (struct gauge_frame){{(line[0].x + line[1].x) / 2, (line[0].y + line[1].y) / 2}, dx / l->length, dy / l->length};
    along = l->f.ux * scale->ux + l->f.uy * scale->uy;
    /* a short line turns a good deal when its ends are some px off, over a narrow gap by any angle; the axis is known better than the line is drawn */
    if (!scale->has_body || sqrt(fmax(0, 1 - along * along)) * l->length > 2 * HAND_PX + sin(15 * DEGREE) * l->length)
        return;
    l->axis_known = true;
    l->f.ux = scale->ux * (along > 0 ? 1 : -1), l->f.uy = scale->uy * (along > 0 ? 1 : -1);
    l->length *= fabs(along);
    side = (scale->middle.x - l->f.origin.x) * -l->f.uy + (scale->middle.y - l->f.origin.y) * l->f.ux;
    if (fabs(side) > ASIDE_PX * l->fine)
        side = 0;
    l->f.origin.x -= side * l->f.uy, l->f.origin.y += side * l->f.ux;
    l->tip_first = (l->f.origin.x - scale->middle.x) * l->f.ux + (l->f.origin.y - scale->middle.y) * l->f.uy > 0;
}

/* How wide an electrode's face may show, in px, of half depth `depth` in mm. */
static double face_widest(const struct look *l, const struct gauge_view *view, double depth)
{
    double deg = view->known ? fmin(fabs(view->off_deg) + view->sd_deg, MOST_DEG) : MOST_DEG;

    return (2 * depth * tan(deg * DEGREE) + ROUNDED_MM) * l->mm;
}

static bool pair_find(const struct gauge_picture *p, const struct gauge_thread *scale, const struct gauge_view *view, double half, double narrow, struct look *l)
{
    struct gauge_strip beside[2] = {{0}};
    struct gauge_pair_of of = {.strip = &l->strip, .length = l->length, .reach = REACH_PX, .mm = l->mm, .narrow = narrow, .tip = l->axis_known ? !l->tip_first : -1};
    bool found;

    for (int i = 0; i < 2; i++) {
        double t0 = (i ? BESIDE_FROM_MM : -BESIDE_TO_MM) * l->mm, t1 = (i ? BESIDE_TO_MM : -BESIDE_FROM_MM) * l->mm;

        of.face_px[i] = face_widest(l, view, i == of.tip ? tip_depth(scale) : strap_depth(scale));
        if (gauge_strip_cut(p, &l->f, -half, half, t0, t1, l->fine / 2, l->fine, false, &beside[i], NULL) && beside[i].seen[0] && beside[i].seen[beside[i].n_t - 1])
            of.beside[i] = &beside[i];
    }
    found = gauge_edge_pair(&of, &l->pair) && l->pair.evidence >= EVIDENCE;
    gauge_strip_release(&beside[0]), gauge_strip_release(&beside[1]);
    return found;
}

static bool look_at(const struct gauge_picture *p, const struct gauge_thread *scale, const struct gauge_view *view, struct look *l, struct err *e)
{
    double half = l->length / 2 + REACH_PX + 14 * l->fine, narrow = NARROW_MM * l->mm;

    if (!gauge_strip_cut(p, &l->f, -half, half, -BAND_MM * l->mm, BAND_MM * l->mm, l->fine / 2, l->fine, false, &l->strip, e))
        return false;
    for (int j = 0; j < l->strip.n_t; j++)
        if (!l->strip.seen[j] && fabs(l->strip.t0 + j * l->strip.step_t) < narrow)
            return err_set(e, ERR_MEASURE, "The gap lies too near to the picture's edge to be measured.");
    if (!pair_find(p, scale, view, half, narrow, l))
        return err_set(e, ERR_MEASURE, "No two edges of metal stand out near the ends of this line. The gap may be bridged, out of focus or of the bench's "
                       "colour: draw the line again, from the centre electrode's tip to the side electrode, or use a feeler gauge.");
    if (l->pair.stripe_px > 0)
        return err_set(e, ERR_MEASURE, "A dark stripe %.2f mm wide runs along an electrode. Is it its shadow, or the electrode? The gap is so much wider or narrower. Take the photo "
                       "with no shadow in the gap, the light from another side, or use a feeler gauge.", l->pair.stripe_px / l->mm);
    for (int i = 0; i < 2; i++) {
        double slope = !l->axis_known ? FREE_SLOPE : (i == 0) == l->tip_first ? TIP_SLOPE : STRAP_SLOPE;

        /* too faint row by row: then as the whole band shows it */
        if (!gauge_edge_follow(&l->strip, l->pair.at[i], i ? 1 : -1, l->mm, narrow, slope, &l->edge[i]))
            l->edge[i] = (struct gauge_line){.at = l->pair.at[i], .scatter = 1, .slope_sd = slope, .t0 = -narrow, .t1 = narrow};
    }
    l->strap_slope = l->edge[l->tip_first ? 1 : 0].slope, l->strap_slope_sd = l->edge[l->tip_first ? 1 : 0].slope_sd;
    return true;
}

/* How likely a rounding of an edge is beforehand. */
static double rounding_prior(double mm)
{
    return (1 - WORN) / CORNER_MM * exp(-0.5 * mm * mm / (CORNER_MM * CORNER_MM)) + WORN / WORN_MM * exp(-0.5 * mm * mm / (WORN_MM * WORN_MM));
}

/* How likely each place of an end is, at each blur, off square by a tangent and with a face `face` px wide seen of the electrode. */
static void end_given(const struct gauge_rim *r, double face, double off_tan, double mm, double (*place)[GAUGE_RIM_PLACES])
{
    double likely[GAUGE_RIM_BLURS][GAUGE_RIM_PLACES][GAUGE_RIM_WIDTHS], prior[GAUGE_RIM_WIDTHS];

    gauge_rim_given(r, face, off_tan, likely);
    for (int k = 0; k < GAUGE_RIM_WIDTHS; k++)
        prior[k] = rounding_prior(k * r->width_step / mm) * (k == 0 ? 0.5 : 1);
    memset(place, 0, GAUGE_RIM_BLURS * sizeof *place);
    for (int blur = 0; blur < GAUGE_RIM_BLURS; blur++)
        for (int i = 0; i < GAUGE_RIM_PLACES; i++)
            for (int k = 0; k < GAUGE_RIM_WIDTHS; k++)
                place[blur][i] += prior[k] * likely[blur][i][k];
}

/* Half depths of the electrodes at both ends: as usual, a wire as thick as it is seen wide. As wide as they are deep is how they are looked at, too. */
static void depths(const struct look *l, const struct gauge_thread *scale, double depth[2])
{
    double wire = 0;

    if (l->axis_known)
        wire = gauge_edge_wire(&l->strip, l->edge[l->tip_first ? 0 : 1].at, l->tip_first ? -1 : 1, l->mm);
    depth[l->tip_first ? 0 : 1] = wire > 0 ? wire / l->mm : tip_depth(scale);
    depth[l->tip_first ? 1 : 0] = strap_depth(scale);
}

/* Both ends, sampled as finely as the picture is sharp. half_mm: half widths of both. */
static bool rims_read(const struct gauge_picture *p, const struct look *l, const double half_mm[2], double off_tan, struct gauge_rim rim[2], struct err *e)
{
    double fine = fmax(1, l->mm / RIM_PX_MM), half = l->length / 2 + REACH_PX + 14 * l->fine, rows = fmax(half_mm[0], half_mm[1]) * l->mm;
    struct gauge_strip s;
    bool told = true;

    if (!gauge_strip_cut(p, &l->f, -half, half, -rows, rows, fine / 2, fine, false, &s, e))
        return false;
    for (int i = 0; told && i < 2; i++) {
        const struct gauge_rim_end end = {.half_px = half_mm[i] * l->mm, .round = (i == 0) == l->tip_first, .off_tan = off_tan};

        told = gauge_rim_read(&s, &l->edge[i], i ? 1 : -1, l->edge[1].at - l->edge[0].at, l->mm, &end, &rim[i]);
    }
    gauge_strip_release(&s);
    return told || err_set(e, ERR_MEASURE, "What lies beside the edges at this line is too narrow to tell metal from bench. Take the photo nearer.");
}

/* A side electrode is a bar of even thickness: its far side runs as the near one does and stands out against the bench by itself, away
 * from what falls into the gap. Where it is found and agrees, both tell the slope. */
static void back_follow(const struct gauge_picture *p, struct look *l)
{
    int far = l->tip_first ? 1 : -1;
    struct gauge_line *strap = &l->edge[l->tip_first ? 1 : 0], back;
    double near = strap->at + far * THICK_MM * l->mm, reach = THICK_REACH_MM * l->mm, room = reach + 6 * l->fine, at;
    struct gauge_strip s;

    if (!l->axis_known || !gauge_strip_cut(p, &l->f, near - room, near + room, -BAND_MM * l->mm, BAND_MM * l->mm, l->fine / 2, l->fine, false, &s, NULL))
        return;
    if (gauge_edge_near(&s, near, reach, l->mm, NARROW_MM * l->mm, &at) >= BACK_EVIDENCE &&
        gauge_edge_follow(&s, at, -far, l->mm, NARROW_MM * l->mm, STRAP_SLOPE, &back) && fabs(back.slope - strap->slope) < BACK_AGREES * hypot(back.slope_sd, strap->slope_sd)) {
        double a = 1 / (strap->slope_sd * strap->slope_sd), b = 1 / (back.slope_sd * back.slope_sd);

        l->strap_slope = (a * strap->slope + b * back.slope) / (a + b), l->strap_slope_sd = 1 / sqrt(a + b);
    }
    gauge_strip_release(&s);
}

/* How much the strap leans towards the tip, as a tangent, and how far that is known. A tip is square to the axis: its own slope tells no
 * more than how far off the axis was found. Most straps are square too, and what rows scatter by is no lean. */
static double lean_of(const struct look *l, double *sd)
{
    const struct gauge_line *tip = &l->edge[l->tip_first ? 0 : 1];
    double axis_sd = l->axis_known ? AXIS_SLOPE : FREE_SLOPE, share = axis_sd * axis_sd / (axis_sd * axis_sd + tip->slope_sd * tip->slope_sd);
    double lean = fabs(l->strap_slope - share * tip->slope), straight, leaning;

    *sd = hypot(l->strap_slope_sd, sqrt(share) * tip->slope_sd);
    straight = (1 - BENT) / *sd * exp(-0.5 * pow(lean / *sd, 2));
    leaning = BENT / hypot(*sd, BENT_SLOPE) * exp(-0.5 * pow(lean / hypot(*sd, BENT_SLOPE), 2));
    return lean * leaning / (straight + leaning);
}

struct verdict {
    double seen_mm;            /* between the ends, as they are seen */
    double off, off_var;       /* radians, positive: the face of the second electrode shows */
    double hidden_mm;
    double ends[2];            /* px along */
    double share[CELLS];       /* of a gap being CELL_MM times that: all that is known put together */
};

/* Weighs every angle by what the thread says of it, by the faces that would show, and by habit.
 *   along  1 where the line runs as the thread's axis does, -1 against it */
static bool weigh(const struct look *l, const struct gauge_rim rim[2], const struct gauge_view *view, int along, const double depth[2], struct verdict *out)
{
    enum { SUMS = 2 * GAUGE_RIM_PLACES - 1 };
    double sum = 0, both = depth[0] + depth[1], ends[2][GAUGE_RIM_BLURS][GAUGE_RIM_PLACES];

    memset(out, 0, sizeof *out);
    for (double deg = -MOST_DEG; deg <= MOST_DEG + 1e-9; deg += STEP_DEG) {
        double t = tan(deg * DEGREE), w, apart[SUMS] = {0}, all = 0, first[2] = {0}, seen = 0;

        w = CAREFUL / CAREFUL_DEG * exp(-0.5 * deg * deg / (CAREFUL_DEG * CAREFUL_DEG)) + (1 - CAREFUL) / USUAL_DEG * exp(-0.5 * deg * deg / (USUAL_DEG * USUAL_DEG));
        w *= gauge_view_likely(view, along * deg);
        for (int i = 0; i < 2; i++) /* the one's face shows or the other's */
            end_given(&rim[i], 2 * depth[i] * fmax(0, i ? t : -t) * l->mm, t, l->mm, ends[i]);
        for (int b = 0; b < GAUGE_RIM_BLURS; b++) { /* one camera, one distance: both ends are as sharp */
            const double *place[2] = {ends[0][b], ends[1][b]};
            double total[2] = {0}, mean[2] = {0};

            for (int i = 0; i < GAUGE_RIM_PLACES; i++)
                for (int e = 0; e < 2; e++)
                    total[e] += place[e][i], mean[e] += place[e][i] * (rim[e].place0 + i * rim[e].place_step);
            if (!(total[0] * total[1] > 0))
                continue;
            for (int i = 0; i < GAUGE_RIM_PLACES; i++)
                for (int k = 0; k < GAUGE_RIM_PLACES; k++)
                    apart[i + k] += place[0][i] * place[1][k];
            all += total[0] * total[1];
            first[0] += mean[0] * total[1], first[1] += mean[1] * total[0];
        }
        if (!(all > 0))
            continue;
        /* what a rim looks like tells little of the angle against a thread's clear turns: a face may be lit or sooted out of sight */
        if (view->known && view->sd_deg < TOLD_DEG)
            w /= all;
        for (int i = 0; i < SUMS; i++) {
            double mm = (l->edge[1].at - l->edge[0].at + rim[0].place0 + rim[1].place0 + i * rim[0].place_step) / l->mm, cell = (mm + both * fabs(t)) / CELL_MM;
            int k = (int)floor(cell);

            seen += apart[i] * mm;
            if (k >= 0 && k + 1 < CELLS)
                out->share[k] += w * apart[i] * (k + 1 - cell), out->share[k + 1] += w * apart[i] * (cell - k);
        }
        sum += w * all;
        out->seen_mm += w * seen, out->hidden_mm += w * all * both * fabs(t);
        out->off += w * all * deg * DEGREE, out->off_var += w * all * deg * deg * DEGREE * DEGREE;
        out->ends[0] += w * (all * l->edge[0].at - first[0]), out->ends[1] += w * (all * l->edge[1].at + first[1]);
    }
    if (!(sum > 0))
        return false;
    out->seen_mm /= sum, out->hidden_mm /= sum;
    out->off /= sum, out->off_var = fmax(out->off_var / sum - out->off * out->off, 0);
    out->ends[0] /= sum, out->ends[1] /= sum;
    for (int k = 0; k < CELLS; k++)
        out->share[k] /= sum;
    return true;
}

/* What of the uncertainty is of rims that look like the bench, as wide as they may be. */
static double rims_doubt(const struct gauge_rim rim[2], double mm)
{
    double wide = (rim[0].unsure_px + rim[1].unsure_px) / mm;

    return RIMS_COVER * wide * fmin(fmax((wide - RIMS_MM) / (RIMS_ALL_MM - RIMS_MM), 0), 1);
}

/* The gap that is as probably too wide as too narrow, after all is blurred by what else may be wrong: what may be hidden makes one tail
 * longer, so where the most lies tells worse. Returns how far from it, root mean square, the truth is thought to be. */
static double settle(const double *share, double else_sd, double *gap_mm)
{
    double soft[CELLS] = {0}, all = 0, gone = 0, square = 0;
    int reach = (int)ceil(4 * else_sd / CELL_MM), middle = 0;

    for (int m = -reach; m <= reach; m++) {
        double w = exp(-0.5 * pow(m * CELL_MM / else_sd, 2));

        for (int k = 0; k < CELLS; k++)
            if (share[k] > 0 && k + m >= 0 && k + m < CELLS)
                soft[k + m] += w * share[k], all += w * share[k];
    }
    while (middle < CELLS - 1 && gone + soft[middle] < all / 2)
        gone += soft[middle++];
    *gap_mm = middle * CELL_MM + (soft[middle] > 0 ? ((all / 2 - gone) / soft[middle] - 0.5) * CELL_MM : 0);
    for (int k = 0; k < CELLS; k++)
        square += soft[k] * pow(k * CELL_MM - *gap_mm, 2);
    return all > 0 ? sqrt(square / all) : 0;
}

bool gauge_gap_read(const struct gauge_picture *p, const struct gauge_point line[2], const struct gauge_thread *scale, struct gauge_gap *out,
                    struct err *e)
{
    struct look l = {0};
    struct gauge_rim rim[2] = {0};
    struct gauge_view view;
    struct verdict v;
    double depth[2], tip, lean, lean_sd, off, edges, along, leaned;
    bool fine, weighed;

    memset(out, 0, sizeof *out);
    if (!(hypot(line[1].x - line[0].x, line[1].y - line[0].y) >= 2))
        return err_set(e, ERR_BADARG, "The line across the gap is %.0f px long. Draw it from one electrode to the other.",
                       hypot(line[1].x - line[0].x, line[1].y - line[0].y));
    frame_make(line, scale, &l);
    along = (l.f.origin.x - scale->middle.x) * scale->ux + (l.f.origin.y - scale->middle.y) * scale->uy;
    gauge_view_read(p, scale, along, &view);
    fine = look_at(p, scale, &view, &l, e);
    for (int pass = 0; fine && pass < 2 && !l.axis_known; pass++) { /* the edges lie square to the gap */
        double k = atan((l.edge[0].slope + l.edge[1].slope) / 2), ux = l.f.ux * cos(k) + l.f.uy * sin(k);

        l.f.uy = l.f.uy * cos(k) - l.f.ux * sin(k);
        l.f.ux = ux;
        gauge_strip_release(&l.strip);
        fine = look_at(p, scale, &view, &l, e);
    }
    if (fine) {
        depths(&l, scale, depth);
        back_follow(p, &l);
        fine = rims_read(p, &l, depth, view.known ? tan(fmax(0, fabs(view.off_deg) - view.sd_deg / 2) * DEGREE) : 0, rim, e);
    }
    gauge_strip_release(&l.strip);
    weighed = fine && weigh(&l, rim, &view, l.f.ux * scale->ux + l.f.uy * scale->uy < 0 ? -1 : 1, depth, &v);
    for (int i = 0; i < 2; i++)
        gauge_rim_release(&rim[i]);
    if (!fine)
        return false;
    if (!weighed)
        return err_set(e, ERR_MEASURE, "An electrode's edge at this line is too soft or too ragged to be measured. Take the photo nearer and sharper, with the "
                       "bench well lit behind the gap.");
    /* a feeler meets the nearer side of a strap that leans */
    tip = depth[l.tip_first ? 0 : 1];
    lean = lean_of(&l, &lean_sd);
    leaned = lean * tip;
    off = fabs(v.off);
    out->off_deg = off / DEGREE, out->off_sd_deg = sqrt(v.off_var) / DEGREE;
    edges = (hypot(fmax(l.edge[0].scatter, 0.3), fmax(l.edge[1].scatter, 0.3)) * EDGE_PX / 0.3 * l.fine + RIVAL * l.pair.rival_px) / l.mm;
    out->uncertainty_mm = COVER * settle(v.share, sqrt(edges * edges + pow(v.seen_mm * scale->px_per_mm_sd / l.mm, 2) + pow(DEPTH_SD_MM * tan(off), 2) +
                                                   pow(fmin(lean, lean_sd) * tip / 2, 2) + MODEL_MM * MODEL_MM), &out->gap_mm);
    out->hidden_mm = v.hidden_mm;
    out->gap_mm -= leaned;
    if (!(out->gap_mm > 0.1 && out->gap_mm < 4))
        return err_set(e, ERR_MEASURE, "What lies between the edges at this line would be %.2f mm wide, which no plug's gap is. Check the line and the pitch.",
                       out->gap_mm);
    if (out->uncertainty_mm > MAX_UNCERTAINTY_MM)
        return err_set(e, ERR_MEASURE, scale->distance_mm > 0 ? TOO_DOUBTFUL : TOO_DOUBTFUL_COPY, out->uncertainty_mm);
    out->uncertainty_mm = hypot(out->uncertainty_mm, rims_doubt(rim, l.mm)); /* told, however wide: a better line would not help */
    for (int i = 0; i < 2; i++)
        out->across[i] = (struct gauge_point){l.f.origin.x + v.ends[i] * l.f.ux, l.f.origin.y + v.ends[i] * l.f.uy};
    return true;
}
