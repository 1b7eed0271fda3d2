/* report_held.c - what became of repairs and of parts swapped, for the report and the Job screen. */
#include <string.h>

#include "base/clock.h"
#include "base/text.h"
#include "logbook/logbook.h"
#include "report/report.h"

static int visit_index(const struct record *r, const char *id)
{
    for (int i = 0; i < r->n_visits; i++)
        if (strcmp(r->visits[i].id, id) == 0)
            return i;
    return -1;
}

/* The visit after whose reading the accepted cause was worked on, as the work noted tells; -1 none yet. */
static int worked_on(const struct record *r, int from, const struct logbook_verdict *v)
{
    char key[112];

    text_format(key, sizeof key, "%s@%s", v->cause, v->place);
    for (int i = from; i < r->n_visits - 1; i++)
        if (job_answered(r, &r->visits[i], NULL, key))
            return i;
    return -1;
}

/* Accepted before this visit, and nothing noted that was done about it. */
static bool not_done(const struct record *r, int at, const struct logbook_verdict *v, struct follow *out)
{
    char date[40];

    if (at >= r->n_visits - 1 || job_cause_find(v->cause) == NULL)
        return false;
    clock_date_words(r->visits[at].date[0] ? r->visits[at].date : "no date", date, sizeof date);
    memset(out, 0, sizeof *out);
    out->state = FOLLOW_NOT_DONE;
    text_format(out->shown, sizeof out->shown, "accepted on %s; no work on it is noted since", date);
    return true;
}

size_t report_watches(const struct record *r, const struct logbook_verdict *verdicts, size_t n, struct report_watch *out, size_t n_room)
{
    size_t k = 0;

    for (size_t i = 0; i < n && k < n_room; i++) {
        const struct logbook_verdict *v = &verdicts[i];
        bool repaired = v->repaired_visit[0] != '\0';
        int at = visit_index(r, repaired ? v->repaired_visit : v->visit);

        if (strcmp(v->state, "dismissed") == 0 || at < 0)
            continue;
        out[k].verdict = v;
        if (!repaired && worked_on(r, at, v) < 0)
            k += not_done(r, at, v, &out[k].follow);
        else
            k += follow_of(r, repaired ? at : worked_on(r, at, v), v->cause, v->place, &out[k].follow);
    }
    return k;
}

size_t report_swaps(const struct record *r, struct swap_verdict *out, size_t n_room)
{
    size_t k = 0;

    if (r->n_visits < 2)
        return 0;
    for (int i = 0; i < r->visits[r->n_visits - 2].n_done && k < n_room; i++) {
        const struct visit_done *d = &r->visits[r->n_visits - 2].done[i];

        if (d->from >= 0 && d->to >= 0)
            swap_judge(r, d, &out[k++]);
    }
    return k;
}
