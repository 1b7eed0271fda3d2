/* errand.h - one long piece of work beside the window, told how far it is and stopped by Escape: a folder looked
 * through, a large table read, a copy merged. What it works on belongs to it until it is taken back. */
#ifndef APP_ERRAND_H
#define APP_ERRAND_H

#include <stdbool.h>
#include <stddef.h>

struct errand;

/* wake is called from the thread when there is news. NULL when no thread can be had. */
struct errand *errand_create(void (*wake)(void *ctx), void *ctx);
void errand_destroy(struct errand *r); /* stops what runs, and waits; a job not taken is let go of; NULL is fine */

/* Runs work(job) in the thread. The one before must have been taken. free_job: for one that nobody takes any more. */
void errand_start(struct errand *r, void (*work)(struct errand *r, void *job), void (*free_job)(void *job), void *job);
/* In the thread: how far it is. False: it was stopped, the work returns soon. Fits struct logbook_watch. */
bool errand_go_on(void *errand, const char *what, size_t n_done, size_t n_all);
void errand_stop(struct errand *r);       /* the one that runs; its job comes back all the same */
void errand_drop(struct errand *r);       /* stops it, waits, and lets go of the job */
/* Something runs or waits to be taken. what: words of errand_go_on, "" none yet. */
bool errand_progress(struct errand *r, char *what, size_t n_room, size_t *n_done, size_t *n_all);
bool errand_busy(struct errand *r);
void *errand_take(struct errand *r);      /* the job, once it is done; NULL not yet */

#endif
