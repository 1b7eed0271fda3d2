/* trend_plugs.c - a line for each plug instead of each hole: found from its last hole back. */
#include <string.h>

#include "base/mem.h"
#include "reading/wear.h"
#include "report/trend.h"

struct finder {
    struct trend *t;
    short *holes;
    bool *taken; /* a hole at a visit has a line: taken[visit * n_holes + hole] */
};

static bool is_taken(const struct finder *f, int visit, int hole)
{
    return f->taken[visit * f->t->n_holes + hole];
}

/* Lays the next line from that hole at that visit back, as far as no other has it. */
static void follow(struct finder *f, int line, int visit, int hole)
{
    const int n = f->t->r->n_visits;
    short *at = f->holes + line * n;

    wear_follow_plug(f->t->r, visit, hole, at);
    for (int v = 0; v < n; v++)
        if (v > visit || (at[v] >= 0 && is_taken(f, v, at[v])))
            at[v] = -1;
        else if (at[v] >= 0)
            f->taken[v * f->t->n_holes + at[v]] = true;
}

void trend_follow_plugs(struct trend *t, struct arena *a)
{
    const int n = t->r->n_visits;
    const struct trend by_hole = *t;
    struct finder f = {.t = t};

    if (t->row->of_cylinder || n == 0)
        return;
    f.holes = arena_alloc(a, (size_t)(t->n_holes + TREND_OUT_MAX) * (size_t)n, sizeof *f.holes);
    f.taken = arena_alloc(a, (size_t)t->n_holes * (size_t)n, sizeof *f.taken);
    for (int i = 0; i < t->n_holes; i++)
        follow(&f, i, n - 1, i);
    for (int v = n - 2; v >= 0; v--)
        for (int i = 0; i < t->n_holes && t->n_lines < t->n_holes + TREND_OUT_MAX; i++)
            if (!is_taken(&f, v, i) && trend_value(&by_hole, v, i).given)
                follow(&f, t->n_lines++, v, i);
    t->holes = f.holes;
}
