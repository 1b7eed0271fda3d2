/* gauge_circle.h - the circle of a nose whose outline was drawn by hand. */
#ifndef GAUGE_GAUGE_CIRCLE_H
#define GAUGE_GAUGE_CIRCLE_H

#include "gauge/gauge.h"

/* The circle that bounds a closed outline: the side electrode hides a part of the nose and the centre
 * electrode its middle, so what is drawn is often a crescent, of which only the outer edge is the nose's.
 *   outline    3 or more corners, px; the last is joined to the first
 *   middle, radius_px  written only on success
 * False when less than a third of the outline lies on such a circle, or it would be
 * so large that the outline spans less than 75 degrees of it: something else, or a nose seen from the side.
 * Method: circles through triples of points set evenly along the outline (Fischler and Bolles, Communications
 * of the ACM 24(6), 1981), of those that hold nearly all of it the one with most points on it, then fitted to
 * these by least squares (Kåsa, IEEE Transactions on Instrumentation and Measurement 25, 1976). */
bool gauge_circle_fit(const struct gauge_point *outline, int n, struct gauge_point *middle, double *radius_px);

#endif
