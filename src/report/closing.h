/* closing.h - what is said when a visit ends: what was done, what stays open for the next one, what is over with
 * this one and why. Pure: from rows that are loaded. */
#ifndef REPORT_CLOSING_H
#define REPORT_CLOSING_H

#include "report/report.h"

enum closing_kind { CLOSING_CHECKED, CLOSING_OPEN, CLOSING_OVER, CLOSING_KIND_COUNT };
const char *closing_words(enum closing_kind k); /* "What was done" */

struct closing_line {
    enum closing_kind kind;
    char text[400]; /* a step whole, and what is said behind it */
};
#define CLOSING_MOST 96

struct closing_rows {
    const struct record *record; /* its last visit is the one that ends */
    const struct logbook_step *steps;
    const struct logbook_need *needs;
    const struct report_watch *watches;
    const struct logbook_verdict *verdicts; /* of the engine */
    size_t n_steps, n_needs, n_watches, n_verdicts;
    bool past;                   /* other visits came after it: whether the engine may be started is theirs to say */
};
/* By kind, and in each in the order of the rows; gives how many. What is more than fits is said in the last line. */
int closing_of(const struct closing_rows *c, struct closing_line out[CLOSING_MOST]);

bool closing_is_done(const struct logbook_step *s); /* it was ticked */
/* What of this visit answers a step that an earlier one left open: "no complaint at this visit" the warm idle that asked whether
 * the complaint is gone, "looked at: gone" the look again at a repair once it has run so far, "measured: in range" a gap to be set. False, and "": it is still to be done. */
bool closing_answer(const struct record *r, const struct logbook_step *s, const struct report_watch *watches, size_t n_watches, char *to, size_t n_room);
/* What was looked at before it had run as far as the look was promised for, the step being still asked: "gone so far, after 700 km; look
 * again after 800 km". False, and "": nothing of the kind. */
bool closing_so_far(const struct record *r, const struct logbook_step *s, const struct report_watch *watches, size_t n_watches, char *to, size_t n_room);
/* How far it ran from the visit of a step until the visit numbered `at`, metres; not given: one of them has no odometer. */
struct maybe closing_run_m(const struct record *r, int at, const struct logbook_step *s);
/* A step that nobody made and that is over: what it was to settle was renewed at its visit or since, or what it comes before was done
 * without it. why: "coil of cylinder 6 renewed", "the plugs were pulled first"; false, and "": it is not so. */
bool closing_moot(const struct record *r, const struct logbook_step *s, char *why, size_t n_room);
/* Its visit, the record's last, is closed and took it along untouched: what each visit begins with. */
bool closing_went_with_visit(const struct record *r, const struct logbook_step *s);
/* Still to be done at the record's last visit: not ticked, nor done already without its tick, answered, or over in one of these ways. */
bool closing_is_open(const struct record *r, const struct logbook_step *s, const struct report_watch *watches, size_t n_watches);
/* Of n steps that earlier visits left open, those that no visit between them and the record's last one answered: they come to
 * stand last of the n; gives how many. */
size_t closing_still_left(const struct record *r, struct logbook_step *left, size_t n, const struct report_watch *watches, size_t n_watches);
/* A check that was ticked without saying what it settled: no note, no verdict on its cause, no compression or leakage of its
 * cylinders at the record's last visit. */
bool closing_lacks_outcome(const struct record *r, const struct logbook_step *s, const struct logbook_verdict *verdicts, size_t n);
#define CLOSING_NO_OUTCOME "done, no figure noted"

#endif
