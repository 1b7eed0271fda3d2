/* report_pen.h - draws a report's paper in the window. */
#ifndef SCREEN_REPORT_PEN_H
#define SCREEN_REPORT_PEN_H

#include "report/paper.h"
#include "screen/model.h"

struct report_pen {
    struct paper_pen pen;
    struct ui *ui;
    const struct model *m;
    int from, to; /* visits whose pictures were drawn; from > to: none */
};
void report_pen_init(struct report_pen *p, struct ui *ui, const struct model *m);

#endif
