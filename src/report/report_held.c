/* report_held.c - what became of repairs and of parts swapped, for the report and the Job screen. */
#include <string.h>

#include "base/clock.h"
#include "base/text.h"
#include "logbook/logbook.h"
#include "report/report.h"

enum job_state report_judged(const struct record *r, const struct logbook_verdict *verdicts, size_t n, const char *cause, const char *place)
{
    struct job_judged judged[2 * ENGINE_MAX_CYLINDERS];
    int n_judged = 0;

    for (size_t i = 0; i < n && n_judged < 2 * ENGINE_MAX_CYLINDERS; i++) {
        const struct logbook_verdict *v = &verdicts[i];

        if (strcmp(v->visit, record_current(r)->id) != 0 || strcmp(v->cause, cause) != 0 || v->state[0] == '\0')
            continue;
        text_copy(judged[n_judged].cause, sizeof judged[0].cause, v->cause);
        text_copy(judged[n_judged].place, sizeof judged[0].place, v->place);
        judged[n_judged++].state = strcmp(v->state, "dismissed") == 0 ? JOB_DISMISSED : strcmp(v->state, "accepted") == 0 ? JOB_ACCEPTED : JOB_REPAIRED;
    }
    return job_judged_as(&r->engine, judged, n_judged, cause, place);
}

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

static void date_words(const struct record *r, int at, char *to, size_t n_room)
{
    if (r->visits[at].date[0] != '\0')
        clock_date_words(r->visits[at].date, to, n_room);
    else
        text_copy(to, n_room, "a visit without a date");
}

void report_watch_words(const struct record *r, const struct report_watch *w, char *to, size_t n_room)
{
    char date[40];

    if (w->told_at < 0 || w->told_at >= r->n_visits - 1) {
        text_copy(to, n_room, follow_words(w->follow.state));
        return;
    }
    date_words(r, w->told_at, date, sizeof date);
    text_format(to, n_room, "%s on %s", follow_words(w->follow.state), date);
}

/* A visit at which nobody read or asked anything found nothing out. */
static bool says_anything(const struct record *r, const struct visit *v)
{
    bool any = v->n_codes > 0 || v->n_tests > 0 || visit_complaint_asked(v);

    for (int i = 0; i < record_plug_count(&r->engine) && !any; i++)
        any = v->readings[i].present;
    return any;
}

/* What a visit between the repair and the record's last one found out; the latest of them. -1: none did. */
static int found_before(const struct record *r, int repaired, const struct logbook_verdict *v, struct follow *out)
{
    for (int at = r->n_visits - 2; at > repaired; at--) {
        struct record until = record_until(r, at + 1);

        if (says_anything(r, &r->visits[at]) && follow_of(&until, repaired, v->cause, v->place, out) && out->state != FOLLOW_NOT_LOOKED && out->state != FOLLOW_NOT_TOLD)
            return at;
    }
    return -1;
}

/* What was found out is not asked again; what was gone and is there again is back, however little of it. */
static bool watch(const struct record *r, int repaired, const struct logbook_verdict *v, struct report_watch *out)
{
    struct follow before;
    char date[40], shown[sizeof before.shown];
    int at;

    out->told_at = r->n_visits - 1;
    if (!follow_of(r, repaired, v->cause, v->place, &out->follow))
        return false;
    if (out->follow.state == FOLLOW_GONE || out->follow.state == FOLLOW_BACK || (at = found_before(r, repaired, v, &before)) < 0)
        return true;
    date_words(r, at, date, sizeof date);
    if (out->follow.state == FOLLOW_NOT_LOOKED && (before.state == FOLLOW_GONE || before.state == FOLLOW_BETTER)) {
        out->follow = before;
        out->told_at = at;
        text_copy(shown, sizeof shown, before.shown);
        text_format(out->follow.shown, sizeof out->follow.shown, "%s on %s: %s", follow_words(before.state), date, shown);
        return true;
    }
    if (before.state == FOLLOW_GONE && (out->follow.state == FOLLOW_BETTER || out->follow.state == FOLLOW_PARTLY))
        out->follow.state = FOLLOW_BACK;
    text_copy(shown, sizeof shown, out->follow.shown);
    text_format(out->follow.shown, sizeof out->follow.shown, "%s on %s; %s", follow_words(before.state), date, shown);
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
        out[k].told_at = r->n_visits - 1;
        if (!repaired && worked_on(r, at, v) < 0)
            k += not_done(r, at, v, &out[k].follow);
        else
            k += watch(r, repaired ? at : worked_on(r, at, v), v, &out[k]);
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
            swap_judge(r, d, &out[k]);
        k += d->from >= 0 && d->to >= 0 && !out[k].again;
    }
    return k;
}
