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
/* Of the plug that is in the hole of q, one of the readings of the record's last visit, after that visit's work (record/seated.h). */
bool refit_is_new(const struct record *r, const struct reading *q); /* none that was read at this visit */
bool refit_is_cleaned(const struct record *r, const struct reading *q);
/* Why that plug, as it came out, does not go in again, "insulator cracked", "electrodes worn"; "" it may. A new one answers it. */
const char *refit_scrap(const struct record *r, const struct reading *q);
struct maybe refit_gap_left(const struct record *r, const struct reading *q);
struct maybe refit_gap(const struct record *r, const struct reading *q); /* as left, else as found; of a new one as left alone */
/* What is to be asked before it goes in again, said at the hole's row: it came out wet, past its limit, cracked.
 * "" nothing; a new plug answers all of it, cleaning the wet (of wells, the step that dries them), the gap as left
 * its limit. What stood in the well stays with the hole; of a plug from another hole that one's name is told. */
void refit_ask(const struct record *r, const struct reading *q, bool inches, char *to, size_t n_room);

#endif
