/* gauge_which.h - which thread it may be, told by how many of its own pitches it is wide: an M12x1.25 9.6 of them, an M10x1.0 ten.
 * Those are too near to each other for a photo, and taken for the other the scale is a quarter off: so what may be is told, and a
 * person says which it is. */
#ifndef GAUGE_GAUGE_WHICH_H
#define GAUGE_GAUGE_WHICH_H

#include "gauge/gauge_gap.h"
#include "gauge/gauge_thread.h"

#define GAUGE_MAX_WHICH 8
struct gauge_which_row {
    char thread[16];           /* of assets/threads.csv, "M14x1.25" */
    double major_mm, pitch_mm;
    double score;              /* how well both outlines stand where such a thread has them; 2 at the most */
    bool fits;                 /* hardly less well than those of the best */
};
struct gauge_which {
    int n, n_fit;
    double wide;               /* pitches from outline to outline, as seen */
    struct gauge_which_row rows[GAUGE_MAX_WHICH]; /* that fits best first */
};
/* Reads a line along a thread that nobody named, and compares what is seen with the threads of the table.
 *   pitch_mm  only those of this pitch; 0 all
 *   focal_px  focal length in pixels of this picture, 0 unknown
 *   drawn     of this picture and line, to be kept for the next reading of them; or NULL
 * Of 129 rendered threads by two scenes, clean, rusty and oily, the right one was always among those that fit; alone in 7 where the
 * pitch is unknown, in 109 where it is known.
 * Fails as gauge_thread_read() does. */
bool gauge_which_read(const struct gauge_picture *p, const struct gauge_point line[2], double pitch_mm, double focal_px, struct gauge_line *drawn, struct gauge_which *out, struct err *e);

/* The gap of a plug of whose thread the pitch alone was said: by the thread its turns stand for, which comes first. Where others of its pitch are as wide, the ±
 * covers what each would give; where none shows (which->n_fit is 0), by its turns alone. Fails as the readings of scale and gap do. */
bool gauge_which_gap(const struct gauge_picture *p, const struct gauge_point thread[2], const struct gauge_point across[2], double pitch_mm, double focal_px,
                     struct gauge_which *which, struct gauge_thread *scale, struct gauge_gap *gap, struct err *e);

/* Whether a thread that was told is another one's: read as it, outlines stand where another thread of the table, of another pitch, has them, by how much more their
 * inside repeats than what is outside, and by how their crests do; each alone is misled by a shadow of the turns. Threads as near to each other in width as an
 * M12x1.25 and an M10x1.0 are not told apart. Of wrong ones told for three scenes' pictures seven in ten are seen; of right ones none of 178 readings of the truth set and of
 * near pictures, one of 146 by a second scene, one of twelve pictures by a third were taken for another's. */
bool gauge_which_other(const struct gauge_picture *p, const struct gauge_thread *scale, struct gauge_other *other);

/* By what part the scale would be another, were it the least instead of the most of those that fit: 0.25 of M12x1.25 and M10x1.0. */
double gauge_which_spread(const struct gauge_which *w);
/* "M12x1.25, M14x1.25 or M10x1.0", of those that fit. */
void gauge_which_names(const struct gauge_which *w, char *to, size_t n_room);

#endif
