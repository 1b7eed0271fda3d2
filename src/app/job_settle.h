/* job_settle.h - when work is written down, the steps and parts it answers are closed with it, in the same change. */
#ifndef APP_JOB_SETTLE_H
#define APP_JOB_SETTLE_H

#include <stdbool.h>
#include "screen/model.h"

struct err;

/* Within a change that is begun. v: the visit shown as it will be after it. new_plug: index of a plug that is new
 * with it, -1 none. Steps and parts answered now and not before are done and fitted; those no longer answered are
 * open again: a part nobody had ordered is to be ordered, another one is in hand. */
bool job_settle(struct logbook *lb, const struct model *m, const struct visit *v, int new_plug, struct err *e);
/* The step that repairs the cause and the one that settles it, "coil-one" at "cylinder 6": done with its repair. */
bool job_settle_cause(struct logbook *lb, const struct model *m, const char *cause, const char *place, struct err *e);
/* The part that goes with a step, by the step's key; NULL: none is on the list. */
const struct logbook_need *job_settle_part_of(const struct model *m, const struct logbook_step *s);
/* The step that asks for a part, open or done; NULL: none is on the list. */
const struct logbook_step *job_settle_step_of(const struct model *m, const struct logbook_need *d);
bool job_settle_part_state(struct logbook *lb, const struct logbook_need *d, bool fitted, struct err *e);

#endif
