/* refit.h - what is to be asked before a plug goes in again. What it is tightened to: record/refit_book.h. */
#ifndef READING_REFIT_H
#define READING_REFIT_H

#include <stdbool.h>
#include <stddef.h>
#include "record/record.h"
#include "record/refit_book.h"

/* Where a gap is worn out: past the limit on the engine's card, "renew past". The end of the range to set is none: a plug past
 * it is gapped again. 0: the card says no limit. */
double refit_worn_from_mm(const struct engine_plug_spec *spec);
bool refit_is_worn(const struct engine_plug_spec *spec, double gap_mm);
/* A new plug came into the hole after the readings of the record's last visit, as work done says. */
bool refit_is_new(const struct record *r, const struct reading *q);
bool refit_is_cleaned(const struct record *r, const struct reading *q); /* the same of cleaning it */
/* Why this plug, as it came out, does not go in again, "insulator cracked", "electrodes worn"; "" it may. A new one in its
 * hole answers it. */
const char *refit_scrap(const struct record *r, const struct reading *q);
/* What is to be asked before this plug goes in again, said at its row: it came out wet, past its limit, cracked.
 * "" nothing; a new plug answers all of it, cleaning the wet (of wells, the step that dries them), the gap as left
 * its limit. q: of the hole; plug: of the plug that is in it, another hole's where it was moved after the readings, whose name is told then. */
void refit_ask(const struct record *r, const struct reading *q, const struct reading *plug, bool inches, char *to, size_t n_room);

#endif
