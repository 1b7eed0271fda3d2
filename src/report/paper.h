/* paper.h - a report's content laid out in one column: the same for PDF and for the window, which only bring their
 * own pens. Sizes are px; paper takes 0.75 pt for each. */
#ifndef REPORT_PAPER_H
#define REPORT_PAPER_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include "report/content.h"
#include "report/drawing.h"

struct paper_style {
    double size_px;      /* 11, 13, 14, 18 or 26; in a drawing that is made smaller also others */
    bool bold, tabular;
    uint32_t rgb;
    enum drawing_align align;
};
/* What draws, at places in px from the top left. */
struct paper_pen {
    void *ctx;
    double (*text_width)(void *ctx, const char *s, const struct paper_style *style); /* in one line */
    /* In as many lines as it takes in a width; gives their height. Draws when draw is true. */
    double (*text)(void *ctx, double x, double y, double w, const char *s, const struct paper_style *style, bool draw);
    void (*words)(void *ctx, double x, double baseline, const char *s, const struct paper_style *style); /* in one line, aligned about x */
    void (*box)(void *ctx, double x, double y, double w, double h, double radius, uint32_t rgb);
    void (*disc)(void *ctx, double x, double y, double radius, uint32_t rgb);
    void (*ring)(void *ctx, double x, double y, double radius, double width, double from_deg, double to_deg, uint32_t rgb);
    void (*line)(void *ctx, double x0, double y0, double x1, double y1, double width, bool dashed, uint32_t rgb);
    void (*polygon)(void *ctx, const double *points, int n_points, uint32_t rgb);
    void (*picture)(void *ctx, double x, double y, double w, double h, const struct report_picture *p, bool disc);
    /* What is drawn until the next call, with share 0, lies over the rest as one picture of which so much shows. NULL: the pen
     * has none; only the sheet of the line-up needs them. */
    void (*layer)(void *ctx, double share);
};

/* What is not torn between pages: a heading, a card, a row of a table or of photos. */
struct paper_piece {
    const struct content_block *block;
    size_t first, n;          /* lines of the block that are in it; a table's head: n 0 */
    const double *columns;    /* TABLE, FACTS: widths, of all its rows */
    double y, before, height; /* from the column's top; of it: space before the piece, without it */
    bool keep;                /* stays with the next piece */
    double scale;             /* DRAWING */
};
struct paper {
    struct paper_piece *pieces;
    size_t n_pieces, n_room;
    double width, height;     /* of the column */
};
/* Lays content out; highest: what fits on a page (drawings are made smaller to fit), 0 no end. Pieces are in the arena. */
void paper_lay(const struct paper_pen *pen, const struct content *c, double width, double highest, struct arena *a, struct paper *out);
void paper_draw(const struct paper_pen *pen, const struct paper *paper, const struct paper_piece *p, double x, double y);
/* How high what must stand on one page from this piece on is: it, those it stays with, and behind a heading a few lines, so that
 * no part begins with one line at the foot of a page. */
double paper_together(const struct paper *p, size_t piece);
/* Makes the drawing that stands on one page with this piece smaller, where that brings all of it into the room that is left
 * (px from the piece's top) and its words stay readable; false: it does not. */
bool paper_shrink(struct paper *p, size_t piece, double room);
/* The head that is repeated where a table goes on, on the next page; NULL: none. */
const struct paper_piece *paper_head_of(const struct paper *p, size_t piece);

#endif
