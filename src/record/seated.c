#include "record/seated.h"

#include <assert.h>

bool seated_other(const struct visit *v, const struct reading *q)
{
    return q->plug_now == PLUG_OTHER || (q->plug_now == 0 && (visit_worked_at(v, "replaced", "plug") >> q->cylinder & 1u) != 0); /* the work names a cylinder: where a plug came from says more */
}

const struct reading *seated_plug(const struct visit *v, const struct reading *q)
{
    if (seated_other(v, q))
        return NULL;
    return q->plug_now > 0 ? &v->readings[q->plug_now - 1] : q;
}

int seated_row(const struct visit *v, int n_plugs, int hole)
{
    int row = hole;

    assert(hole < n_plugs);
    if (v->readings[hole].plug_now > 0)
        return v->readings[hole].plug_now - 1;
    for (int left = n_plugs; seated_other(v, &v->readings[hole]) && left > 0; left--) { /* whose plug has this row is in another hole: on to that hole's */
        int at = 0;

        while (at < n_plugs && v->readings[at].plug_now != PLUG_FROM(row))
            at++;
        if (at == n_plugs)
            break;
        row = at;
    }
    return row;
}

struct maybe seated_gap_left(const struct visit *v, int n_plugs, const struct reading *q)
{
    return v->readings[seated_row(v, n_plugs, (int)(q - v->readings))].gap_left_mm;
}
