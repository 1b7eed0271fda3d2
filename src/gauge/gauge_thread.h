/* gauge_thread.h - the scale of a picture from the pitch of a screw thread in it. */
#ifndef GAUGE_GAUGE_THREAD_H
#define GAUGE_GAUGE_THREAD_H

#include "gauge/gauge.h"

struct gauge_thread {
    double pitch_mm, length_px;       /* as asked: of the thread, of the line drawn */
    double pitch_px, pitch_sd_px;     /* along the plug's axis, where the line was drawn */
    double ux, uy;                    /* the axis' direction, the way the line was drawn */
    bool has_body;                    /* both outlines were found: */
    struct gauge_point middle;        /*   a point on the axis beside the line's middle */
    double radius_px;                 /*   half the distance of the outlines */
    double major_mm;                  /*   which thread of this pitch it is; 0 when not told */
    bool on_outline;                  /*   the line lies along an outline, not over the body */
    double distance_mm;               /* camera to axis, from the focal length; 0 unknown */
    double nearness, nearness_sd;     /* 1 over the distance, per mm, as the turns tell it, which look longer on the middle; sd 0 not told */
    double px_per_mm, px_per_mm_sd;   /* in the plane of the axis, where the gap lies */
};
/* Finds the period along a line drawn roughly along the threads: ends may be some px off and the
 * direction some degrees.
 *   pitch_mm  of the thread; threads of assets/threads.csv with this pitch tell how wide the body is. With a pitch that is
 *             not among them the period alone is found, near the line: no body, and a wider ±
 *   major_mm  of the thread where it is known, which tells threads of one pitch apart; 0 unknown
 *   focal_px  focal length in pixels of this picture, 0 unknown
 * Method: rows along the line are turned into spectra. A thread's body is a band as many pitches wide as its
 * diameter says, inside which rows repeat and beside which they don't: period, body and thread are the band
 * with the most contrast. Its place in pieces of the line gives the axis. Each row's own period is then fitted
 * against its depth, for the rows on the middle lie nearer to the camera, and what is left is the period in
 * the plane of the axis.
 * Fails ERR_MEASURE: too few turns, no period, two periods, outside the picture; ERR_BADARG: line or pitch unusable. */
bool gauge_thread_read(const struct gauge_picture *p, const struct gauge_point line[2], double pitch_mm, double major_mm, double focal_px,
                       struct gauge_thread *out, struct err *e);

struct gauge_other {
    char thread[16]; /* of assets/threads.csv, "M14x1.25" */
    double major_mm, pitch_mm;
    double wider; /* part by which a gap would be, were it this one; less than 0: narrower */
};
/* How well the outlines stand where the thread told has them, as a share of how well they stand for the best thread of the table of another pitch and width,
 * whose turns are taken to be as long in the picture. 1 where it can't be told; *best is empty then. */
double gauge_thread_against(const struct gauge_picture *p, const struct gauge_thread *scale, struct gauge_other *best);

/* What a line in a picture shows whatever its thread is: for reading it as several threads, one after the other. It is of the first
 * picture and line it was read with. */
struct gauge_line;
struct gauge_line *gauge_line_create(void);
void gauge_line_destroy(struct gauge_line *l);
/* The same, with what `l` holds already; NULL: nothing. */
bool gauge_thread_read_as(const struct gauge_picture *p, const struct gauge_point line[2], double pitch_mm, double major_mm, double focal_px, struct gauge_line *l,
                          struct gauge_thread *out, struct err *e);

#endif
