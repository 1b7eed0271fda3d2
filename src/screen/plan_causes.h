/* plan_causes.h - the likely causes within the scrolled list of Plan. */
#ifndef SCREEN_PLAN_CAUSES_H
#define SCREEN_PLAN_CAUSES_H

#include "screen/model.h"

/* Draws them from y on in the column r and returns where they end; nothing when there are none worth
 * showing. m->findings is not NULL. */
float plan_causes(struct ui *ui, const struct model *m, struct screen_state *st, struct rect r, float y);

/* Names the causes that the list leaves out, under its end at the top of r, as wide as r. Returns how high that is, 0 none. */
float plan_causes_more(struct ui *ui, const struct findings *f, const char *id, struct rect r, const struct ui_style *style);

/* Cuts a line off the top of *r that names the most likely cause and leads to it; nothing when none is
 * likely. */
void plan_first_suspect(struct ui *ui, const struct model *m, struct screen_state *st, struct rect *r);

#endif
