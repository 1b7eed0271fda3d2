/* report_differ.c - fields that merged copies of the logbook say differently, of which nobody has chosen yet: told with every
 * value, since what a report goes by may be the wrong one. Where a copy lies, and on whose machine, is nobody's business
 * whom the report is handed to. */
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "base/text.h"
#include "logbook/logbook.h"
#include "report/report.h"

/* What is drawn on photos, and in which order lists stand, no report tells. */
static bool is_told(const struct logbook_conflict *c)
{
    return strcmp(c->table, "mark") != 0 && strcmp(c->table, "crop") != 0 && strcmp(c->column, "sort") != 0;
}

static int by_visit(const void *a, const void *b)
{
    const struct report_differ *x = a, *y = b;

    if (x->visit != y->visit)
        return y->visit - x->visit;
    if (x->cylinder != y->cylinder)
        return x->cylinder - y->cylinder;
    return x->position != y->position ? x->position - y->position : strcmp(x->what, y->what);
}

bool report_load_differ(struct logbook *lb, const char *engine, const struct record *r, int n_visits, struct arena *a, struct report_differ **differ, size_t *n, struct err *e)
{
    struct logbook_conflict *list;
    size_t n_list, n_room = 0;
    void *items = NULL;

    *differ = NULL;
    *n = 0;
    if (logbook_count_conflicts(lb) == 0)
        return true;
    if (!logbook_list_conflicts(lb, a, &list, &n_list, e))
        return false;
    for (size_t i = 0; i < n_list; i++) {
        const struct logbook_conflict *c = &list[i];
        const char *values = "";
        int at = -1;

        for (int v = report_first_told(r, n_visits); v < r->n_visits && at < 0; v++)
            at = strcmp(r->visits[v].id, c->visit) == 0 ? v : -1;
        if (strcmp(c->engine, engine) != 0 || !is_told(c) || (at < 0 && c->visit[0] != '\0'))
            continue;
        for (int k = 0; k < c->n; k++)
            values = arena_format(a, "%s%s%s", values, k > 0 ? " or " : "", c->values[k]);
        *(struct report_differ *)arena_push(a, &items, n, &n_room, sizeof **differ) = (struct report_differ){at, c->cylinder, c->position, arena_text(a, c->what), values};
    }
    *differ = items;
    if (*n > 1)
        qsort(*differ, *n, sizeof **differ, by_visit);
    return true;
}
