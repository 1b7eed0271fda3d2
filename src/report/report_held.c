/* report_held.c - what became of repairs and of parts swapped, for the report and the Job screen. */
#include <string.h>

#include "logbook/logbook.h"
#include "report/report.h"

static int visit_index(const struct record *r, const char *id)
{
    for (int i = 0; i < r->n_visits; i++)
        if (strcmp(r->visits[i].id, id) == 0)
            return i;
    return -1;
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
        if (follow_of(r, at, v->cause, v->place, &out[k].follow))
            k++;
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
