/* job_edit_work.h - what the edits of the job share. Each takes an action of screen/model.h and is one undo step unless it says
 * "within a change"; fails with the sentence to show. Not for callers outside job_edit.c, job_edit_refit.c and job_edit_parts.c. */
#ifndef APP_JOB_EDIT_WORK_H
#define APP_JOB_EDIT_WORK_H

#include <stdbool.h>
#include "screen/model.h"

struct err;

/* ---- job_edit.c ---- */

/* One change of one row of text columns; "" empties the column. */
bool job_edit_set_one(struct logbook *lb, const char *label, const char *table, const char *id, const char *column, const char *text, struct err *e);
/* Within a change: a line of work done, "cleaned:plug:cylinder 3", noted or taken back, with the steps and parts it answers. "": nothing. */
bool job_edit_put_work(struct logbook *lb, const struct model *m, const char *line, bool done, struct err *e);
/* Within a change: a step's state, with what it brings about. */
bool job_edit_set_step_state(struct logbook *lb, const struct model *m, const struct logbook_step *s, const char *state, struct err *e);
/* Within a change: causes whose repair is the work named in `wanted` are repaired. */
bool job_edit_note_repaired(struct logbook *lb, const struct model *m, const char *wanted, struct err *e);

/* ---- job_edit_refit.c ---- */

bool job_edit_refit(struct logbook *lb, const struct model *m, const struct action *a, struct err *e);
bool job_edit_refit_word(struct logbook *lb, const struct model *m, const struct action *a, struct err *e);
bool job_edit_set_torque(struct logbook *lb, const struct model *m, const struct action *a, struct err *e);
bool job_edit_cleaned(struct logbook *lb, const struct model *m, const struct action *a, struct err *e);
bool job_edit_keep_scrap(struct logbook *lb, const struct model *m, const struct action *a, struct err *e);
bool job_edit_unplugged(struct logbook *lb, const struct model *m, const struct action *a, struct err *e);
/* Within a change: another plug is in this hole now, so how the one before was tightened holds no more. fresh: a new one, or one
 * that was set aside; the gap as left was that of the one before. */
bool job_edit_plug_changed(struct logbook *lb, const struct model *m, int cylinder, int position, bool fresh, struct err *e);

/* ---- job_edit_parts.c ---- */

bool job_edit_swap_parts(struct logbook *lb, const struct model *m, const struct action *a, struct err *e);
bool job_edit_part_new(struct logbook *lb, const struct model *m, const struct action *a, struct err *e);
bool job_edit_part_fit(struct logbook *lb, const struct model *m, const struct action *a, struct err *e);
bool job_edit_part_text(struct logbook *lb, const struct action *a, struct err *e);
bool job_edit_keep_scheme(struct logbook *lb, const struct model *m, const char *text, struct err *e);
bool job_edit_rotate(struct logbook *lb, const struct model *m, const struct action *a, struct err *e);

#endif
