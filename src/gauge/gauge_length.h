/* gauge_length.h - the scale of a picture from a line drawn by hand along something of known length: the plug's
 * hexagon, a ruler beside it. Pure arithmetic on the line's ends; no pixels are looked at. */
#ifndef GAUGE_GAUGE_LENGTH_H
#define GAUGE_GAUGE_LENGTH_H

#include "gauge/gauge_thread.h"

/* What the line runs along, and where that lies. */
struct gauge_length {
    double mm, mm_sd;             /* how long it looks from straight above */
    double nearer_mm, nearer_sd_mm; /* to the camera than the plug's axis; negative: farther away */
};

/* A hexagon of assets/hex.csv. */
struct gauge_hex {
    const char *id, *label;       /* "16", "16 mm (5/8 in)" */
    double flats_mm, flats_sd_mm; /* across flats as made: below the nominal size, within its tolerance */
    const char *usual_for;        /* threads it usually goes with, "M14x1.25 M10x1.0" */
};
/* How the hexagon is turned to the camera. Across the corners its outline lies in the plane of the axis and hardly
 * changes as it turns; across the flats its edges lie nearer and every degree counts. */
enum gauge_lies { GAUGE_LIES_UNSAID, GAUGE_LIES_CORNERS, GAUGE_LIES_FLATS, /* a ruler: */ GAUGE_LIES_BENCH, GAUGE_LIES_LEVEL };
#define GAUGE_MAX_HEXES 16
/* All of them, smallest first; gives how many. They live as long as the program. */
int gauge_hexes(struct gauge_hex out[GAUGE_MAX_HEXES]);
/* By its id; "" the one usual for this thread, 16 mm where none is. False when there is no such id. */
bool gauge_hex_find(const char *id, const char *thread, struct gauge_hex *out);
/* Its outline, edge to edge square to the axis. lies: UNSAID, CORNERS or FLATS. */
void gauge_hex_length(const struct gauge_hex *h, enum gauge_lies lies, struct gauge_length *out);
/* A ruler or anything else of known length beside the plug. lies: UNSAID, BENCH (what the plug lies on) or LEVEL (as
 * high as the plug's axis). hex_mm: across flats, of the plug that lies there: half of it is how high the axis is. */
void gauge_ruler_length(double mm, enum gauge_lies lies, double hex_mm, struct gauge_length *out);

/* The scale in the plane of the plug's axis. end_sd_px: how exactly each end was drawn; focal_px: 0 unknown, then the
 * camera is taken to be 150 to 600 mm away. Only px_per_mm, px_per_mm_sd, length_px, distance_mm and the direction of *out
 * are given; the rest is 0: it is no thread. Fails ERR_BADARG when the line is so short that its ends make
 * more than a fifth of it. */
bool gauge_length_read(const struct gauge_point line[2], double end_sd_px, const struct gauge_length *what, double focal_px,
                       struct gauge_thread *out, struct err *e);

#endif
