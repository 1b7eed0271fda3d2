/* report_marks_work.h - the shape of a mark and the place of its label, as every form of export has them. */
#ifndef REPORT_REPORT_MARKS_WORK_H
#define REPORT_REPORT_MARKS_WORK_H

#include <stddef.h>
#include "base/labels.h"
#include "logbook/logbook.h"

#define MARKS_SHAPE_POINTS 160
#define MARKS_SHAPE_LINES  8
struct marks_shape { /* polylines in px of the photo; line i ends before point end[i] */
    int n, n_lines;
    double x[MARKS_SHAPE_POINTS], y[MARKS_SHAPE_POINTS];
    int end[MARKS_SHAPE_LINES];
};
/* unit: px of the photo that count as one of the screen: bars and arrow heads grow with it. */
void marks_shape_make(const struct logbook_mark *m, double unit, struct marks_shape *s);
void marks_shape_box(const struct marks_shape *s, double box[4]); /* left, top, right, bottom */
/* What two corners stand for, as an outline, which can be turned. Other marks stay as they are. */
void marks_to_outline(struct logbook_mark *m);
double marks_unit(int width, int height);
/* The mark's lines and what is looked at there; all of them before the first label is placed. i: its number, m: in
 * the labels' own coordinates. */
void marks_labels_add(struct labels *l, int i, const struct logbook_mark *m);
/* Where the words of that mark stand, w × h; an arrow's at its tail. */
void marks_labels_place(struct labels *l, int i, const struct logbook_mark *m, double w, double h, struct labels_spot *out);

#endif
