/* report_job.h - writes the report of a visit beside the window: the program itself is run with its verb
 * `report`, which decodes the originals; the window goes on. */
#ifndef APP_REPORT_JOB_H
#define APP_REPORT_JOB_H

#include <stdbool.h>

struct err;
struct report_job;

/* wake is called from a thread of its own when a report is done. */
struct report_job *report_job_create(void (*wake)(void *ctx), void *ctx);
void report_job_destroy(struct report_job *j); /* waits for one that is being written; NULL is fine */
struct report_wish {
    const char *folder, *engine_id, *visit_id, *compression_rule;
    const char *without, *paper; /* as the verb takes them */
    const char *visits, *units;
    bool sheet, firing, side;    /* the line-up alone, and how it is laid */
    const char *laid;            /* "VISIT,VISIT,PERCENT", NULL: no two visits over each other */
    const char *path;
};
/* Begins. Fails ERR_BUSY while one is being written, ERR_IO when no process can be started. */
bool report_job_start(struct report_job *j, const struct report_wish *wish, struct err *e);
bool report_job_busy(struct report_job *j);
/* True once when one has ended; *fine and its path, or false and what the verb said. */
bool report_job_take(struct report_job *j, bool *fine, char *said, unsigned long n_room);

#endif
