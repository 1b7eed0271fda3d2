/* gauge_rows.h - rows of a picture along a line, and the periods in them. */
#ifndef GAUGE_GAUGE_ROWS_H
#define GAUGE_GAUGE_ROWS_H

#include "gauge/gauge_strip.h"

/* Rows of grey with their trend taken away, windowed. */
struct gauge_rows {
    int n, n_s;
    double step, t0, step_t;
    float *v;
    double *total; /* what is left of each row, squared; 0: row not wholly seen */
};

/* Cuts rows from -half_s to half_s along the frame, at t0 to t1 across it; steps in px. Fails ERR_LIMIT. gauge_rows_release()
 * them. */
bool gauge_rows_cut(const struct gauge_picture *p, const struct gauge_frame *f, double half_s, double t0, double t1, double step, double step_t,
                    struct gauge_rows *out, struct err *e);
void gauge_rows_release(struct gauge_rows *r);

/* Share of each row's variance explained by the period in px and its first harmonics: n of them, 0 where a row is not seen. */
void gauge_rows_explain(const struct gauge_rows *r, double period, double *share);

/* Best period of each row within 6 % of this one, to a small part of the scan's step by a parabola, and the share
 * it explains; 0 where the best lies at the end of the scan. */
void gauge_rows_periods(const struct gauge_rows *r, double period, double *best, double *share);

#endif
