/* report_work.h - shared inside src/report only. */
#ifndef REPORT_REPORT_WORK_H
#define REPORT_REPORT_WORK_H

#include "report/report.h"

/* Text as HTML shows it: & < > " ' escaped, line ends as <br>. */
void report_escape(struct text *t, const char *s);
/* What is said of the visit as a whole; nothing when nothing is. */
void report_add_visit(struct text *t, const struct record *r);
/* "What was done": the work after earlier visits and after this one; nothing when there is none. */
void report_add_done(struct text *t, const struct record *r);
/* Steps, parts, facts and photos. */
void report_add_extra(struct text *t, const struct record *r, const struct report_extra *extra);

/* report_job.c: what became of repairs and swaps; tightening and the holes. */
void report_add_held(struct text *t, const struct record *r, const struct report_extra *x);
void report_add_refit(struct text *t, const struct record *r);

#endif
