/* seated.h - which plug is in which hole after a visit's readings, and where its row is. Pure. */
#ifndef RECORD_SEATED_H
#define RECORD_SEATED_H

#include "record/record.h"

/* The reading of the plug that is in the hole of q by now: of another hole where it was moved, NULL of one that this visit read nowhere, as a
 * new one. q: one of v's readings. */
const struct reading *seated_plug(const struct visit *v, const struct reading *q);
/* A new plug or one that was set aside came into that hole. */
bool seated_other(const struct visit *v, const struct reading *q);
/* Whose row of v's readings holds the gap as left of the plug that is in this hole, as in visit.readings: the plug's own, where it was read; of one
 * that was read nowhere that of a plug that was set aside. So what is left goes along with the plug. */
int seated_row(const struct visit *v, int n_plugs, int hole);
struct maybe seated_gap_left(const struct visit *v, int n_plugs, const struct reading *q);

#endif
