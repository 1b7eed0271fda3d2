/* gauge_span.h - how far it is across a straight-sided body, edge to edge, from a line drawn across it: a plug's hexagon. */
#ifndef GAUGE_GAUGE_SPAN_H
#define GAUGE_GAUGE_SPAN_H

#include "gauge/gauge.h"

struct gauge_span {
    struct gauge_point ends[2]; /* on the edges, square to them */
    double end_sd_px;           /* of each */
};
/* Finds both edges below a pixel along a band of profiles, as those of a gap (gauge_edge.h); the line's ends may be some px off and
 * its direction some degrees.
 *   mm  px in a millimetre, roughly
 * Fails ERR_MEASURE, with the end it is about, when an edge does not stand out there, is ragged, or the two do not run alongside. */
bool gauge_span_read(const struct gauge_picture *p, const struct gauge_point line[2], double mm, struct gauge_span *out, struct err *e);

#endif
