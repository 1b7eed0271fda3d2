/* gauge_ruler.h - the marks of a ruler along a line: their period, which is a millimetre or a sixteenth of an inch, whatever the
 * person says it is. */
#ifndef GAUGE_GAUGE_RULER_H
#define GAUGE_GAUGE_RULER_H

#include "gauge/gauge.h"

struct gauge_ruler {
    double mark_px, mark_sd_px;  /* from one mark to the next, along the ruler */
    double n;                    /* whole marks' distances between the ends */
    struct gauge_point ends[2];  /* on two marks, as far apart as the line drawn allows */
};
/* Finds the marks along a line drawn across them, along the ruler's edge: some px off and some degrees off is allowed.
 * Method: rows along the line and beside it, as for a thread (gauge_rows.h); the shortest period that keeps to several rows is a
 * mark's, since longer marks, each fifth or second one, go on where the shorter ones end. What they lean across the rows turns the line.
 * Fails ERR_BADARG: a line of less than 40 px. ERR_MEASURE: nothing repeats; fewer than eight marks; two periods neither of which
 * is a multiple of the other, as between two scales. */
bool gauge_ruler_read(const struct gauge_picture *p, const struct gauge_point line[2], struct gauge_ruler *out, struct err *e);

#endif
