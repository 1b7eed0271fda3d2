/* report_marks_work.h - the shape of a mark and the place of its label, as every form of export has them. */
#ifndef REPORT_REPORT_MARKS_WORK_H
#define REPORT_REPORT_MARKS_WORK_H

#include <stddef.h>
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
void marks_label_box(const struct logbook_mark *m, const struct marks_shape *s, double box[4]); /* what its words stand beside */
double marks_unit(int width, int height);
/* Beside the shape, clear of what is taken and inside the picture where that can be. */
void marks_label_place(const double shape[4], double w, double h, double unit, int width, int height, const double (*taken)[4], size_t n_taken, double out[4]);

#endif
