/* plan_look.h - what last time asks this visit to look at, on Plan. */
#ifndef SCREEN_PLAN_LOOK_H
#define SCREEN_PLAN_LOOK_H

#include "screen/model.h"

/* Draws the rows from y on, none where nothing is asked; gives where it ends. */
float plan_look(struct ui *ui, const struct model *m, struct screen_state *st, struct rect r, float y);
/* To the next of them, plug by plug, and round again; says so where there is none. */
void plan_look_next(struct ui *ui, const struct model *m, struct screen_state *st);

#endif
