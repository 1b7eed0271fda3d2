/* photo_days.h - photos that came into a visit of another day: whether they belong here, or are a visit of their own. */
#ifndef SCREEN_PHOTO_DAYS_H
#define SCREEN_PHOTO_DAYS_H

#include "screen/model.h"

/* It waits in the tray of the visit shown, and its camera noted a day that is not the visit's: one before it, or, when the visit is closed
 * or another one follows, one behind its last. */
bool photo_is_of_another_day(const struct model *m, const struct logbook_photo *p);
/* Of those photos: "6 photos are of 2 May 2026: here, or a visit of their own?"; false when there are none, or it was said that they
 * belong here. */
bool photo_days_ask(const struct model *m, const struct screen_state *st, char *to, size_t n_room);
void photo_days_here(const struct model *m, struct actions *out); /* they belong here; kept */
void photo_days_apart(const struct model *m, const struct screen_state *st, struct actions *out); /* a visit of their own */
/* The question with its two answers, cut off the top of r; nothing where nothing is asked. */
void photo_days_row(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, struct rect *r);

#endif
