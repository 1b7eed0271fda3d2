/* lineup_plug.h - one plug of the Line-up as it was at one visit. For screen_lineup.c. */
#ifndef SCREEN_LINEUP_PLUG_H
#define SCREEN_LINEUP_PLUG_H

#include "screen/model.h"

/* How a plug is shown. */
enum lineup_shown {
    SHOWN_NOTHING,    /* not read, no photo; in the side view: no photo of its side */
    SHOWN_DRAWN,      /* its tip, from the reading */
    SHOWN_COMING,     /* being cut out of its photo */
    SHOWN_CUT,        /* upright, to scale */
    SHOWN_WHOLE       /* the middle of a photo that does not tell where the plug is: not to scale */
};
struct lineup_plug {
    enum lineup_shown shown;
    const struct plug_cut *cut;         /* COMING, CUT */
    const struct logbook_photo *photo;  /* WHOLE */
    const struct reading *reading;      /* never NULL; perhaps not present */
    int cylinder;
};
struct lineup_plug lineup_plug_of(const struct model *m, int visit, struct plug_place at, enum crop_view view);
/* "photo, to scale by its nose, light corrected by the grey patch" */
void lineup_plug_words(const struct lineup_plug *p, char *to, size_t n_room);
/* About x, y, size wide: the plug only; `share` of it laid over what is there. */
void lineup_plug_draw(struct ui *ui, const struct lineup_plug *p, float x, float y, float size, float share);
/* What is read there besides: oil or water in the well, the mark of the gravest sign, a dashed rim where the
 * light is as taken. */
void lineup_plug_signs(struct ui *ui, const struct engine *en, const struct lineup_plug *p, float x, float y, float size);

#endif
