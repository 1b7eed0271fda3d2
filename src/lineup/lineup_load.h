/* lineup_load.h - the plugs of all visits, cut out of their photos, for who draws the line-up without a window. Photos
 * are decoded here: not for the window's process. */
#ifndef LINEUP_LINEUP_LOAD_H
#define LINEUP_LINEUP_LOAD_H

#include "lineup/lineup_crop.h"
#include "record/record.h"

struct arena;

struct lineup_cell {
    const uint8_t *jpeg;      /* LINEUP_CUT_PX square; NULL: no photo shows the plug */
    size_t n_jpeg;
    bool to_scale;            /* else the middle of a photo that does not tell where the plug is */
    enum lineup_light light;  /* to_scale */
};
/* Cells at visit * plugs of the engine + plug index, in the arena. Cuts come from the cache beside the logbook; one
 * that is missing there is made and kept. A photo that cannot be decoded gives none: it is no failure. From the side
 * only those that are to scale. Fails as the logbook does. */
bool lineup_load(struct logbook *lb, const struct record *r, enum crop_view view, struct arena *a, struct lineup_cell **cells, struct err *e);

#endif
