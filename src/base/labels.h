/* labels.h - where the words of marks stand: beside what they name and clear of it, of every line, of each
 * other and of the edge, with a leader where they stand away. Pure geometry, y down, any unit. */
#ifndef BASE_LABELS_H
#define BASE_LABELS_H

#include <stdbool.h>
#include <stddef.h>

struct arena;

struct labels {
    struct arena *arena; /* all of it lives as long */
    double edge[4];      /* left, top, right, bottom: labels stay inside */
    double unit;         /* length that counts as one pixel of a screen */
    struct labels_line {
        double x0, y0, x1, y1;
        int mark;        /* whose; -1 a leader */
    } *lines;
    struct labels_box {
        double at[4];
        bool filled;     /* a label, or what lies over the picture: never to be met; else what is looked at: met only where there is no other place */
    } *boxes;
    size_t n_lines, lines_room, n_boxes, boxes_room;
};

struct labels_spot {
    double box[4];       /* left, top, right, bottom */
    double leader[4];    /* from the label to what it names */
    bool away;           /* so far that the leader is to be drawn */
};

void labels_begin(struct labels *l, struct arena *a, const double edge[4], double unit);
/* All lines and boxes are added before the first label is placed. */
void labels_add_line(struct labels *l, int mark, double x0, double y0, double x1, double y1);
void labels_add_box(struct labels *l, const double box[4], bool filled);
/* Places words of w × h beside one of the mark's anchors (x, y pairs, n of them, at least one), and keeps the place.
 * A label larger than the edges allow begins at their left upper corner. */
void labels_place(struct labels *l, int mark, const double *anchors, int n, double w, double h, struct labels_spot *out);
/* How much of the line lies in the box (left, top, right, bottom); less than 0: they do not touch. */
double labels_length_inside(const double box[4], const struct labels_line *line);

#endif
