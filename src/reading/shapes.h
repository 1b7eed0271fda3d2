/* shapes.h - the places of each shape on one engine: any bank, any pair of neighbours, any group. The
 * weights of a place add up to 0 over the plugs read and their squares to 1, so that the sum of weight
 * times value is the correlation of the readings with the place's profile (times their own spread) and
 * places of unlike size can be compared. */
#ifndef READING_SHAPES_H
#define READING_SHAPES_H

#include "reading/arrange.h"
#include "reading/findings.h"
#include "reading/measure.h"

struct arena;

struct shape_place {
    engine_set cover; /* cylinders; 0 for a trend and for a whole row of plugs */
    int position;     /* plug position meant, -1: all of them */
};

struct shapes {
    int n, n_room;
    struct arrange_place *weights;
    struct shape_place *places; /* beside weights */
    const struct measure *m;
    const struct record *r;
    struct arena *memory;
};

/* All places of all shapes for one measure of the record's last visit. Trends and contrasts are turned
 * so that the worse way is positive; where either way counts they are looked at both ways. */
void shapes_build(struct shapes *s, const struct record *r, const struct measure *m, struct arena *memory);
/* Whether a plug of the measure (0 .. m->n-1) lies in the place. */
bool shapes_covers(const struct shapes *s, int place, int i);
/* Neighbours along the banks among the plugs read; returns their number, at most n_room. */
int shapes_edges(const struct record *r, const struct measure *m, struct arrange_edge *to, int n_room);

#endif
