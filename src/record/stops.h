/* stops.h - what must be looked into before the engine runs again, however its plugs are: signs and states whose level
 * is stop, and causes with which it is not to be run, once somebody accepted them; each with what settles it. Pure. */
#ifndef RECORD_STOPS_H
#define RECORD_STOPS_H

#include "record/record.h"

struct stop_row {
    const char *id;    /* as in visit_state.stops_told; its step is "stop-" and this, assets/job-steps.csv */
    int sign;          /* from a moderate amount on; -1: a state of the plug, or its cause that was accepted */
    enum words list;
    const char *state[2]; /* both NULL: the cause */
    const char *what;  /* "metal specks", before "at 2" */
    const char *cause; /* set aside or repaired there, it settles this: assets/causes.csv; "" none */
    const char *part;  /* WORDS_DONE_PART; replaced, it settles this; "" none */
};
const struct stop_row *stop_row(int k); /* k < VISIT_STOPS */
bool stop_by_cause(int k); /* the cause accepted: shown by visit_state.stops_taken alone. The step that mends it settles it, too */
bool stop_shown(int k, const struct reading *q);
/* Whether its place was looked at and nothing of it is there: of a visit after which the engine had run, it is in the way no more. */
bool stop_seen_gone(int k, const struct reading *q);
/* What no cleaning mends, "insulator cracked": such a plug does not go in again; "" none. */
const char *stop_scrap(const struct reading *q);
/* The same of what is a danger to the engine: not of electrodes that are only worn out, nor of a track. */
const char *stop_broken(const struct reading *q);
/* Whether a step of this name asks for it, "stop-metal-specks@cylinder 2", or mends its cause that was accepted, "coolant@cylinder 2"; gives the cylinders, all of them where it cannot be read. */
bool stop_step_is(int k, const struct engine *en, const char *source, engine_set *of);
/* The same of a cause at a place. */
bool stop_cause_is(int k, const struct engine *en, const char *cause, const char *place, engine_set *of);

#endif
