/* report.h - what is handed over: one self-contained page, a table, the case. Records in, text out. */
#ifndef REPORT_REPORT_H
#define REPORT_REPORT_H

#include <stdbool.h>
#include "base/text.h"
#include "reading/findings.h"
#include "record/record.h"

struct err;

/* HTML without outside requests; no location data. */
void report_html(const struct record *r, const struct findings *f, struct text *out);
/* One row a plug, RFC 4180, harmless to spreadsheets. */
void report_csv(const struct record *r, struct text *out);

bool report_write_html(const char *path, const struct record *r, const struct findings *f, struct err *e);

#endif
