/* report.h - what is handed over: records in; a page, a table, paper out. */
#ifndef REPORT_REPORT_H
#define REPORT_REPORT_H

#include <stdatomic.h>
#include <stdbool.h>
#include <stddef.h>
#include "base/text.h"
#include "reading/findings.h"
#include "reading/job.h"
#include "record/record.h"
#include "report/content.h"

struct arena;
struct err;
struct logbook;
struct logbook_fact;
struct logbook_need;
struct logbook_photo;
struct logbook_step;
struct logbook_verdict;

/* A photo as it is handed over: made afresh, turned as a person turned it, so that nothing of the original's
 * EXIF (place, camera, owner) leaves with the report. */
struct report_picture {
    int visit, cylinder, position, zone; /* index in the record; -1: not placed, not said */
    const char *name, *taken;     /* file name; camera's local time, "" */
    const char *caption, *step;   /* what it shows, in words; id of the step it belongs to; "" or NULL */
    const struct logbook_photo *photo; /* the window shows its own small picture of it; NULL none */
    const char *said;             /* what is written on it, "oil on the shell; crack"; "" */
    bool fine;                    /* it can be shown */
    const unsigned char *jpeg;    /* NULL where only named */
    size_t n_bytes;
    int width, height;            /* px, turned */
    bool of_plug;                 /* stands for its plug in the plan and the line-up: */
    const unsigned char *disc;    /* the plug cut out of it as a square, for a disc; NULL none */
    bool to_scale;                /* else its middle: nothing says where in it the plug is */
    bool light_corrected;         /* by its grey patch */
    size_t n_disc_bytes;
    int disc_px;
};
/* A visit as it is told. */
struct report_visit {
    int at;                               /* index in the record */
    const struct findings *findings;
    const struct logbook_step *steps;
    const struct logbook_need *needs;
    const struct report_picture *pictures; /* by plug, those not placed last */
    size_t n_steps, n_needs, n_pictures;
    const struct logbook_step *left_steps; /* of the latest, where several are told: what those before it left open */
    const struct logbook_need *left_needs;
    size_t n_left_steps, n_left_needs;
    const char *ended_with;               /* what a person said at its end; "" or NULL nothing */
};
/* A field that merged copies say differently, and nobody has chosen yet. */
struct report_differ {
    int visit, cylinder, position; /* index in the record, of the plug; -1 none */
    const char *what, *values;     /* "gap as found of 3", "0.60 mm or 0.95 mm": what the report goes by first */
};
struct report_source {
    const struct record *record;          /* up to the visit shown */
    const struct report_visit *visits;    /* that are told, the one shown first */
    size_t n_visits;
    const struct report_picture *of_plugs; /* of all visits, those that stand for a plug */
    size_t n_of_plugs;
    const struct report_differ *differ;   /* of the engine and of the visits that are told, the latest first */
    size_t n_differ;
    const struct logbook_fact *facts;
    const struct logbook_verdict *verdicts; /* of the engine */
    size_t n_facts, n_verdicts;
};
struct report_loaded {
    struct report_source source;
    struct record record;
    struct findings *findings; /* of each visit told */
    size_t n_findings;
    struct arena *memory;
};
struct report_options {
    struct report_ask ask;     /* as content_make() takes it */
    bool pixels;               /* photos are decoded, which takes a while and is not for the window's process */
    const char *compression_rule; /* "" the usual one */
    const atomic_bool *cancel; /* NULL: cannot be cancelled */
};
/* Loads what a report of a visit needs. Photos come from the cache beside the logbook; where one is missing
 * there, the original is decoded. One that cannot be decoded is named too, it is no failure. Fails as the
 * logbook does, ERR_CANCEL; *out is then empty. */
bool report_load(struct logbook *lb, const char *engine_id, const char *visit_id, const struct report_options *options, struct report_loaded *out, struct err *e);
void report_loaded_release(struct report_loaded *l); /* frees and zeroes */

/* What was said at the record's last visit of a cause as it is listed now (job_judged_as). */
enum job_state report_judged(const struct record *r, const struct logbook_verdict *verdicts, size_t n, const char *cause, const char *place);

/* What became of accepted and repaired causes by the record's last visit, and of parts swapped after the
 * visit before; they give how many there are, at most n_room. */
struct report_watch {
    const struct logbook_verdict *verdict;
    struct follow follow;
    int told_at; /* the visit that shows it, an index: what an earlier one found out stands until something speaks against it */
};
#define REPORT_MOST_WATCHED 24
/* "better", "gone on 20 Jul 2026" where an earlier visit than the record's last showed it. */
void report_watch_words(const struct record *r, const struct report_watch *w, char *to, size_t n_room);
size_t report_watches(const struct record *r, const struct logbook_verdict *verdicts, size_t n, struct report_watch *out, size_t n_room);
size_t report_swaps(const struct record *r, struct swap_verdict *out, size_t n_room);

/* HTML without outside requests; no location data. */
void report_html(const struct content *c, struct text *out);
/* What the marks on a plug's photos say: "pin: crack; gap; text: oil on the shell". */
struct report_marks_said {
    int visit, cylinder, position;
    const char *text;
};
bool report_load_marks(struct logbook *lb, const struct record *r, int n_visits, struct arena *a, struct report_marks_said **said, size_t *n, struct err *e);
/* What the logbook counts a plug to have run by a visit's reading, from when it came into the engine new or with a run that was said:
 * metres, or seconds where hours are counted. Where part of its life is not known there is none. In the order of visits, and of their plugs. */
struct report_run {
    int visit, cylinder, position;
    double run_m;
};
bool report_load_runs(struct logbook *lb, const char *engine, const struct record *r, int n_visits, struct arena *a, struct report_run **runs, size_t *n, struct err *e);
bool report_load_differ(struct logbook *lb, const char *engine, const struct record *r, int n_visits, struct arena *a, struct report_differ **differ, size_t *n, struct err *e);
/* Of the steps that are open at an engine's latest visit, its own and those left to it, how many are not open any more (closing.h),
 * and the words of the first that is neither, "" none. */
struct report_answered {
    int n;
    char next[160];
};
bool report_load_answered(struct logbook *lb, const char *engine, const char *visit, struct report_answered *out, struct err *e);
/* One row a plug of the latest n_visits (at least one); RFC 4180, harmless to spreadsheets. A visit of which no plug was read
 * has one row. Distances are in the unit of the last visit's odometer. */
struct report_beside { /* what a record does not hold */
    struct report_marks_said *said;
    struct report_run *runs;
    struct report_differ *differ;
    size_t n_said, n_runs, n_differ;
};
void report_csv(const struct record *r, int n_visits, const struct report_beside *b, struct text *out); /* b: NULL nothing */

#endif
