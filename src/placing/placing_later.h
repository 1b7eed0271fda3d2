/* placing_later.h - photos that come when plugs of the visit have photos already. What is known then: when those were
 * taken, and the order of the plugs. Pure; for placing.c.
 *
 * A plug that has a photo gets the next one as another view, never as its firing end: nothing a bore shows is
 * replaced. In this order, each only where it is beyond doubt:
 *   between two plugs that follow each other with some left out, photos are of those left out;
 *   photos behind (or before) the photo of each plug alike, or close behind some, are of that plug;
 *   photos before all of them, or behind all, are a pass along the same order: wells, coils, the plugs again, the rest
 *   of the plugs; while plugs are still without one, those behind are the rest of the plugs, of the same sitting only.
 * The figures are common practice, no source. */
#ifndef PLACING_PLACING_LATER_H
#define PLACING_PLACING_LATER_H

#include "photo/place.h"
#include "placing/placing.h"

struct later_taken {  /* a photo of a plug itself that has its place */
    double s;
    int plug;         /* index of the plug */
    bool shown;       /* in its bore */
};
struct later_waiting {
    double s;
    const char *name;
    size_t index;     /* the caller's; handed through */
    int plug, zone;   /* out: plug -1 nothing proposed; zone -1 not said, another view */
};
struct later {
    const struct place_seat *order; /* as the plugs were drawn; n_order 0: not known */
    size_t n_order;
    int n_plugs, n_positions;       /* of the engine; a plug's index is cylinder * n_positions + position */
    struct later_taken *taken;      /* with the times; are sorted */
    size_t n_taken;
    double *besides;                /* times of photos with a place that show something else */
    size_t n_besides;
    struct later_waiting *waiting;  /* are sorted by time and name */
    size_t n_waiting;
    const struct place_pass *passes; /* nothing of which has a photo yet: wells, coils */
    size_t n_passes;
    bool no_wells;                  /* the engine has neither wells nor coils that could be photographed */
};
/* Fills in plug and zone; the sentence says what was understood and what not. */
void placing_later(struct later *l, char *sentence, size_t n_room);

#endif
