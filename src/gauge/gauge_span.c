#include "gauge/gauge_span.h"

#include <math.h>
#include <string.h>

#include "base/err.h"
#include "gauge/gauge_edge.h"

#define REACH_PX 13.0  /* as for a gap's line: a hand's 8 px each way and a lean */
#define BAND_MM 2.0    /* each way along the body */
#define NARROW_MM 0.7
#define FINE_PX_MM 25  /* sharper pictures than this tell no more */
#define EVIDENCE 3.0    /* grain makes 1.6 */
#define LEAN 0.15      /* of an edge: the line is drawn freely */
#define APART 0.07     /* between the edges' slopes: a body's sides run alongside, but for what is seen at an angle */
#define EDGE_PX 0.15   /* whatever the fit says: JPEG moves edges by this */

bool gauge_span_read(const struct gauge_picture *p, const struct gauge_point line[2], double mm, struct gauge_span *out, struct err *e)
{
    double dx = line[1].x - line[0].x, dy = line[1].y - line[0].y, length = hypot(dx, dy), fine = fmax(1, mm / FINE_PX_MM), half = length / 2 + (REACH_PX + 14) * fine, slope, turn, middle, wide, sd = 0;
    struct gauge_line edge[2];
    struct gauge_strip s;
    struct gauge_frame f;

    memset(out, 0, sizeof *out);
    if (!(length >= 40))
        return err_set(e, ERR_MEASURE, "The line is too short to look for the edges at its ends.");
    f = (struct gauge_frame){{(line[0].x + line[1].x) / 2, (line[0].y + line[1].y) / 2}, dx / length, dy / length};
    if (!gauge_strip_cut(p, &f, -half, half, -BAND_MM * mm, BAND_MM * mm, fine / 2, fine, false, &s, e))
        return false;
    for (int k = 0; k < 2; k++) {
        double at, evidence = gauge_edge_near(&s, (k ? 0.5 : -0.5) * length, REACH_PX * fine, mm, NARROW_MM * mm, &at);

        if (evidence < EVIDENCE || !gauge_edge_follow(&s, at, k ? -1 : 1, mm, NARROW_MM * mm, LEAN, &edge[k])) {
            gauge_strip_release(&s);
            return err_set(e, ERR_MEASURE, "No straight edge stands out at the line's %s end.", k ? "second" : "first");
        }
        sd = hypot(sd, edge[k].scatter);
    }
    gauge_strip_release(&s);
    if (fabs(edge[1].slope - edge[0].slope) > APART)
        return err_set(e, ERR_MEASURE, "What was found at the two ends of the line does not run alongside, as the sides of a hex do.");
    slope = (edge[0].slope + edge[1].slope) / 2; /* px along for a px across */
    turn = atan(slope);
    middle = (edge[0].at + edge[1].at) / 2, wide = (edge[1].at - edge[0].at) * cos(turn);
    for (int k = 0; k < 2; k++) { /* square to the edges, through where the line's middle is */
        double a = (k ? 0.5 : -0.5) * wide, along = middle + a * cos(turn), across = -a * sin(turn);

        out->ends[k] = (struct gauge_point){f.origin.x + along * f.ux - across * f.uy, f.origin.y + along * f.uy + across * f.ux};
    }
    out->end_sd_px = fmax(0.5 * sd / sqrt(2), EDGE_PX) * fine;
    return true;
}
