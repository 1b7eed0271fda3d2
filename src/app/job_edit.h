/* job_edit.h - actions of the Job screen as edits of the logbook, each one undo step. */
#ifndef APP_JOB_EDIT_H
#define APP_JOB_EDIT_H

#include <stdbool.h>
#include <stdint.h>
#include "screen/model.h"

struct err;

/* Carries out an action of the job; fails with the sentence to show, inside a change or outside. */
bool job_edit(struct logbook *lb, const struct model *m, const struct action *a, struct err *e);
/* Within a change that is begun: the gap as left of a plug, in um, -1 taken away; the steps it answers are closed. */
bool job_edit_gap_left(struct logbook *lb, const struct model *m, int cylinder, int position, int32_t um, struct err *e);
/* What is proposed and not taken over yet; the record is loaded, findings may be NULL. */
void job_edit_propose(const struct model *m, struct job *out);

#endif
