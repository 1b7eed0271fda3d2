/* report.h - what is handed over: one self-contained page, a table, the case. Records in, text out. */
#ifndef REPORT_REPORT_H
#define REPORT_REPORT_H

#include <stdbool.h>
#include <stddef.h>
#include "base/text.h"
#include "reading/findings.h"
#include "reading/job.h"
#include "record/record.h"

struct arena;
struct err;
struct logbook;
struct logbook_fact;
struct logbook_need;
struct logbook_step;
struct logbook_verdict;

/* A photo as it is embedded: a JPEG made afresh, so that nothing of the original's EXIF (place,
 * camera, owner) leaves with the report. */
struct report_picture {
    int cylinder, position, zone; /* -1: not placed, not said */
    const char *name, *taken;     /* file name; camera's local time, "" */
    const unsigned char *jpeg;    /* NULL: cannot be shown */
    size_t n_bytes;
    int width, height;            /* px */
};
/* What a logbook knows beyond the record. All arrays may be empty. */
struct report_extra {
    const struct logbook_step *steps;
    const struct logbook_need *needs;
    const struct logbook_fact *facts;
    const struct report_picture *pictures; /* by plug, those not placed last */
    const struct logbook_verdict *verdicts; /* of the engine */
    size_t n_steps, n_needs, n_facts, n_pictures, n_verdicts;
};
/* Loads it into the arena. Photos come from the cache beside the logbook; where one is missing there,
 * the original is decoded: not for the window's process. A photo that cannot be decoded is named too, it is no failure. */
bool report_load_extra(struct logbook *lb, const char *engine_id, const char *visit_id, struct arena *a, struct report_extra *out, struct err *e);

/* What became of accepted and repaired causes by the record's last visit, and of parts swapped after the
 * visit before; they give how many there are, at most n_room. */
struct report_watch {
    const struct logbook_verdict *verdict;
    struct follow follow;
};
#define REPORT_MOST_WATCHED 24
size_t report_watches(const struct record *r, const struct logbook_verdict *verdicts, size_t n, struct report_watch *out, size_t n_room);
size_t report_swaps(const struct record *r, struct swap_verdict *out, size_t n_room);

/* HTML without outside requests; no location data. extra may be NULL. */
void report_html(const struct record *r, const struct findings *f, const struct report_extra *extra, struct text *out);
/* One row a plug, RFC 4180, harmless to spreadsheets. */
void report_csv(const struct record *r, struct text *out);

bool report_write_html(const char *path, const struct record *r, const struct findings *f, const struct report_extra *extra,
                       struct err *e);

#endif
