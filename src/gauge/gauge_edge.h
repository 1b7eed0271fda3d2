/* gauge_edge.h - straight edges square to a line: where two stand that could be electrodes', and where
 * exactly one lies. Lengths in pixels along and across a frame. */
#ifndef GAUGE_GAUGE_EDGE_H
#define GAUGE_GAUGE_EDGE_H

#include "gauge/gauge_strip.h"

struct gauge_pair {
    double at[2];    /* to a pixel or so */
    double evidence; /* logarithm of how much likelier than no edges, mean of a row; under 1 is nothing */
    double rival_px; /* how much another pair, nearly as good, would differ in width; 0 none */
    double stripe_px; /* how wide a dark stripe is beside an end, which may be a shadow or the electrode itself; 0 none */
};
/* Where a pair is looked for. */
struct gauge_pair_of {
    const struct gauge_strip *strip;     /* cut along the frame */
    const struct gauge_strip *beside[2]; /* as long, of rows past a centre electrode's sides, the lower and the upper; NULL: not looked at */
    double length, reach; /* of the line: edges stand near -length/2 and +length/2, `reach` px off at most */
    double mm;            /* px in a millimetre */
    double narrow;        /* px to each side of the middle that both electrodes fill, however fine */
    double face_px[2];    /* how wide a face of either electrode may show at the most */
    int tip;              /* which of the two ends is the centre electrode's, 0 or 1; -1 not known */
};
/* The two edges the gap lies between: the strip that begins at the metal of one electrode and ends at that of the other. Where the bench lies
 * on the far side of an edge, or the centre electrode's end would go on past its sides, it is that of a shadow or a face. False when there is none. */
bool gauge_edge_pair(const struct gauge_pair_of *of, struct gauge_pair *out);

/* The edge that stands out most near `near`, a drawn end, at most `reach` px from it; returns its evidence as above, 0 when there is none. */
double gauge_edge_near(const struct gauge_strip *s, double near, double reach, double mm, double narrow, double *at);

/* A straight edge through rows of the strip. */
struct gauge_line {
    double at, slope; /* at t = 0; px along for a px across */
    double scatter;   /* px, of the rows about the line */
    double slope_sd;
    double t0, t1;    /* rows it was seen in, without a break */
};
/* Follows the edge near `at` across the rows; side is -1 where the metal lies before it, +1 behind.
 * square_sd says how far from square to the frame it may be (slope). False when too few rows show it. */
bool gauge_edge_follow(const struct gauge_strip *s, double at, int side, double mm, double narrow, double square_sd, struct gauge_line *out);

/* Half the width, in px, of a fine wire whose tip ends at `at`; 0 when what ends there is no fine wire. The metal lies on
 * `side` as above. */
double gauge_edge_wire(const struct gauge_strip *s, double at, int side, double mm);

#endif
