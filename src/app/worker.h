/* worker.h - one background thread that reads records: a first answer at once, the exact one after.
 * It owns copies of what it works on; results carry the number of the request, stale ones are dropped. */
#ifndef APP_WORKER_H
#define APP_WORKER_H

#include <stdbool.h>
#include <stdint.h>
#include "reading/findings.h"
#include "record/record.h"

struct worker;

/* wake is called from the thread when a result is ready. */
struct worker *worker_create(void (*wake)(void *ctx), void *ctx);
void worker_destroy(struct worker *w); /* cancels, joins; NULL is fine */

/* For what is asked from now on; "" the default. */
struct worker_settings {
    char compression_rule[24]; /* published rule */
    struct unit_choice units;  /* sentences tell their figures in */
};
void worker_set(struct worker *w, const struct worker_settings *settings);
/* Asks for the findings of a record, which is copied; an older request is cancelled. */
void worker_ask(struct worker *w, const struct record *r, uint64_t number);
/* Takes the newest result. *final: the exact answer (or nothing more will come). */
bool worker_take(struct worker *w, struct findings *out, uint64_t *number, bool *final);
bool worker_busy(struct worker *w);

#endif
