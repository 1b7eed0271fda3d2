#include "gauge/gauge_budget.h"

#include <math.h>
#include <string.h>

#include "base/text.h"
#include "gauge/gauge_strip.h"

#define DEGREE 0.017453292519943295
#define HIDDEN_MM 0.045   /* of the gap for each degree off square, with electrodes of 2.5 mm: docs/measuring.md */
#define EITHER_WAY 0.6    /* spread of an angle's size where its sign is not known, of its own: that of a bell folded at 0 */
#define LEAST_SHARE 0.3   /* of the ±, that the edges make at least: what was found there is never free of doubt */
#define ALONG_MM 0.3      /* looked at each way of an end */
#define ACROSS_MM 0.3
#define FAINT 12.0        /* grey levels between metal and gap: below, an edge is doubtful for that alone */
#define ENOUGH_TURNS 6.0
#define ENOUGH_PX 30.0    /* in a millimetre */
#define SOFT_PX 6.0

static const struct {
    const char *id, *label;
} parts[GAUGE_PART_COUNT] = {
    [GAUGE_PART_SCALE] = {"scale", "Scale"},
    [GAUGE_PART_DEPTH] = {"depth", "Perspective"},
    [GAUGE_PART_TIP] = {"tip", "Centre electrode's edge"},
    [GAUGE_PART_STRAP] = {"strap", "Side electrode's edge"},
    [GAUGE_PART_ANGLE] = {"angle", "Angle of view"},
};

const char *gauge_part_id(enum gauge_part part)
{
    return parts[part].id;
}

const char *gauge_part_label(enum gauge_part part)
{
    return parts[part].label;
}

/* Across an end: by how many grey levels the light changes about it, and over how many pixels, were it to change all along as
 * quickly as at its steepest. */
static void edge_look(const struct gauge_picture *p, struct gauge_point at, double ux, double uy, double mm, double *soft_px, double *contrast)
{
    struct gauge_frame f = {at, ux, uy};
    struct gauge_strip s;
    double profile[256] = {0}, low = 255, high = 0, steepest = 0;
    int n;

    *soft_px = SOFT_PX, *contrast = 0;
    if (!gauge_strip_cut(p, &f, -ALONG_MM * mm, ALONG_MM * mm, -ACROSS_MM * mm, ACROSS_MM * mm, fmax(0.5, ALONG_MM * mm / 100), 1, false, &s, NULL))
        return;
    n = s.n_s < 256 ? s.n_s : 256;
    for (int i = 0; i < n; i++) {
        for (int j = 0; j < s.n_t; j++) {
            const float *v = s.rgb[(size_t)j * (size_t)s.n_s + (size_t)i];

            profile[i] += (0.3 * (double)v[0] + 0.5 * (double)v[1] + 0.2 * (double)v[2]) / s.n_t;
        }
        low = fmin(low, profile[i]), high = fmax(high, profile[i]);
        if (i >= 2)
            steepest = fmax(steepest, fabs(profile[i] - profile[i - 2]) / (2 * s.step_s));
    }
    *contrast = high - low;
    if (steepest > 0)
        *soft_px = *contrast / steepest;
    gauge_strip_release(&s);
}

void gauge_budget_make(const struct gauge_picture *p, const struct gauge_thread *scale, const struct gauge_gap *gap, double focal_px, struct gauge_budget *out)
{
    double whole = gap->uncertainty_mm, angle = gap->off_sd_deg, edges, weight[2], known = 0, most = whole * sqrt(1 - LEAST_SHARE * LEAST_SHARE);
    double dx = gap->across[1].x - gap->across[0].x, dy = gap->across[1].y - gap->across[0].y, length = fmax(hypot(dx, dy), 1e-6);
    /* the end that lies nearer to the thread is the centre electrode's */
    bool tip_first = !scale->has_body || (gap->across[0].x - scale->middle.x) * dx + (gap->across[0].y - scale->middle.y) * dy > 0;

    *out = (struct gauge_budget){.px_per_mm = scale->px_per_mm, .off_sd_deg = gap->off_sd_deg, .focal_known = focal_px > 0, .along_outline = scale->on_outline,
                                 .thread = scale->pitch_px > 0, .turns = scale->pitch_px > 0 ? scale->length_px / scale->pitch_px : 0};
    if (gap->off_deg < gap->off_sd_deg)
        angle *= EITHER_WAY;
    out->mm[GAUGE_PART_ANGLE] = 2 * HIDDEN_MM * angle;
    /* of a thread's middle without a focal length, what the bow leaves open is most of the scale's doubt */
    out->mm[out->thread && !(scale->on_outline || scale->distance_mm > 0) ? GAUGE_PART_DEPTH : GAUGE_PART_SCALE] =
        2 * gap->gap_mm * scale->px_per_mm_sd / scale->px_per_mm;
    for (int k = 0; k < GAUGE_PART_COUNT; k++)
        known += out->mm[k] * out->mm[k];
    known = sqrt(known);
    for (int k = 0; k < GAUGE_PART_COUNT && known > most; k++)
        out->mm[k] *= most / known;
    edges = sqrt(fmax(whole * whole - fmin(known, most) * fmin(known, most), 0));
    for (int k = 0; k < 2; k++) {
        int end = (k == 0) == tip_first ? 0 : 1; /* of the line */
        double way = end == 0 ? -1 : 1, contrast;

        edge_look(p, gap->across[end], way * dx / length, way * dy / length, scale->px_per_mm, &out->soft_px[k], &contrast);
        weight[k] = out->soft_px[k] * (1 + FAINT / fmax(contrast, 1));
    }
    for (int k = 0; k < 2; k++)
        out->mm[k ? GAUGE_PART_STRAP : GAUGE_PART_TIP] = edges * weight[k] / fmax(hypot(weight[0], weight[1]), 1e-9);
    for (int k = 1; k < GAUGE_PART_COUNT; k++)
        if (out->mm[k] > out->mm[out->largest])
            out->largest = (enum gauge_part)k;
}

static void edge_remedy(const struct gauge_budget *b, int end, char *to, size_t n_room)
{
    const char *name = end ? "side electrode's edge" : "centre electrode's edge";

    if (b->px_per_mm < ENOUGH_PX)
        text_format(to, n_room, "Take the picture closer: a millimetre is only %.0f px, and %.0f or more tell the %s better.", b->px_per_mm, ENOUGH_PX, name);
    else if (b->soft_px[end] > SOFT_PX)
        text_format(to, n_room, "The %s is soft, %.0f px wide: focus on the gap, hold still, and see that no shadow falls into it.", name, b->soft_px[end]);
    else
        text_format(to, n_room, "See in the magnifier that the line ends on the %s; a bench of another colour behind the gap, evenly lit, shows where the metal ends.", name);
}

void gauge_budget_remedy(const struct gauge_budget *b, enum gauge_part part, char *to, size_t n_room)
{
    switch (part) {
    case GAUGE_PART_TIP:
    case GAUGE_PART_STRAP: edge_remedy(b, part == GAUGE_PART_STRAP, to, n_room); return;
    case GAUGE_PART_ANGLE:
        if (b->focal_known)
            text_format(to, n_room, "The angle of view is known to %.1f° only: take another picture square to the plug, from 30 cm or farther and zoomed in, the thread in even light.", b->off_sd_deg);
        else
            text_format(to, n_room, "The angle of view is known to %.1f° only, for the photo does not tell its focal length: take the original file, not a copy that was sent, or another picture square to the plug, from 30 cm or farther.", b->off_sd_deg);
        return;
    case GAUGE_PART_DEPTH:
        text_copy(to, n_room, "How much nearer than the gap the middle of the thread lies is not known: draw the scale line along the outline of the thread.");
        return;
    default:
        if (!b->thread)
            text_copy(to, n_room, "The scale is told by a length: a line along the threads is surer, or say where the length lies and draw it longer.");
        else if (b->turns < ENOUGH_TURNS)
            text_format(to, n_room, "The scale line lies over %.1f turns: lay it over more, as many as are sharp.", b->turns);
        else if (!b->along_outline)
            text_copy(to, n_room, "Draw the scale line along the outline of the thread, where turns stand out against the bench.");
        else
            text_copy(to, n_room, "The turns are not even along the scale line: draw it along the other outline, or where they are sharp and clean.");
    }
}
