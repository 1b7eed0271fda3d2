/* job_work.h - what the files of the job share: its tables and the filling in of their words. Not for callers of the reading. */
#ifndef READING_JOB_WORK_H
#define READING_JOB_WORK_H

#include "reading/job.h"

struct job_begin { /* row of job-steps.csv; its last two columns: record/steps.h */
    char at[24], key[24], text[200], caution[32], does[8];
    char before[24], too_late[80]; /* the step it comes before, and why it cannot be done once that is over; "" none */
    enum job_plugs plugs;
    double after_m;
};

/* ---- job_table.c ---- */

/* The rows of job-steps.csv; never NULL. */
const struct job_begin *job_begins(int *n);

/* The cause that a step or a part is of by its key, "coil-one@cylinder 3", and its place; NULL: of none. */
const struct job_cause *job_cause_of(const char *key, const char **place);
/* One of a cell's list, "cleaned:boot | replaced:boot", and where the next begins; NULL behind the last. */
const char *job_next_of(const char *list, char *one, size_t n_room);
/* What shows a complaint (a number of WORDS_COMPLAINT) where a warm idle does not; "": it does. */
const char *job_complaint_then(int complaint);
bool job_complaint_driven(int complaint); /* the engine is used for it, on the road or at its work */

/* ---- job.c ---- */

/* {where}, {why}, {gap}, {limit}, {book}, {electrode}, {then}, {complaint}, {use}, {gone}, {socket} filled in. */
void job_fill(const struct record *r, const char *text, const char *where, const char *why, char *to, size_t n_room);

/* The rows of job-steps.csv for one occasion become steps. */
void job_add_begins(const struct record *r, const char *at, const char *where, struct job *j);
void job_add_begins_why(const struct record *r, const char *at, const char *where, const char *why, struct job *j);

/* New plugs are those of the book, where its type is written down. */
void job_name_plug(const struct engine *en, struct job_part *p);

/* ---- job_plugs.c ---- */

/* Cylinders for which an accepted cause brings a new part of that name, "Spark plug". */
engine_set job_renewed_by_repair(const struct record *r, const struct job *j, const char *part);

/* Steps and parts for plugs that are scrap, bridged, or whose gap is to be measured, set or is past the limit. */
void job_add_gaps(const struct record *r, struct job *j);

#endif
