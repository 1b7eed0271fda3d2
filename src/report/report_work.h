/* report_work.h - shared inside src/report only. */
#ifndef REPORT_REPORT_WORK_H
#define REPORT_REPORT_WORK_H

struct text;

/* Text as HTML shows it: & < > " ' escaped, line ends as <br>. */
void report_escape(struct text *t, const char *s);

#endif
