/* note_edit.h - what is noted beyond signs and gaps: pressures, where air is heard, a plug's particulars,
 * tests, oil, weather. Each an edit of its own. */
#ifndef APP_NOTE_EDIT_H
#define APP_NOTE_EDIT_H

#include <stdbool.h>
#include "screen/model.h"

struct err;

/* Carries out ACT_SET_MEASURE, _TOGGLE_HEARD, _SET_PLUG, _SET_TEST, _SET_OUTSIDE; fails with the sentence to
 * show, inside a change or outside. */
bool note_edit(struct logbook *lb, const struct model *m, const struct action *a, struct err *e);
/* One field of a visit as typed or chosen: last_run, socket, fuel, oil_in_intake, last_day, weather, oil_level,
 * oil_use, oil_change, oil_grade, oil_filter. Fails ERR_BADARG with the sentence to show. */
bool note_visit_word(struct visit *v, const char *column, const char *text, struct err *e);

#endif
