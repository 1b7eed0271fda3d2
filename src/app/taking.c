#include "app/taking.h"

#include <string.h>

#include "base/err.h"
#include "base/mem.h"
#include "base/text.h"

void taking_close(struct taking *t)
{
    if (t->open)
        take_table_release(&t->table);
    arena_destroy(t->arena);
    memset(t, 0, sizeof *t);
}

/* The columns by what is known of the engine; what a person chose stays. */
static void match(struct taking *t)
{
    struct take_column was[TAKE_MAX_COLUMNS];
    enum take_dates dates = t->table.dates;
    bool asked = t->table.dates_asked;

    memcpy(was, t->table.columns, sizeof was);
    take_table_match(&t->table, t->target.known ? &t->target.engine : NULL);
    for (int i = 0; i < t->table.n_columns; i++)
        if (was[i].how == TAKE_CHOSEN)
            take_table_choose(&t->table, i, was[i].field, was[i].unit, was[i].plug);
    if (asked && t->table.dates_asked)
        t->table.dates = dates;
}

static bool plan(struct taking *t, struct logbook *lb, struct err *e)
{
    arena_reset(t->arena);
    return take_plan_make(lb, &t->table, &t->target, t->arena, &t->plan, e);
}

static bool aim(struct taking *t, struct logbook *lb, struct err *e)
{
    if (!take_target_find(lb, &t->table, t->engine[0] ? t->engine : NULL, t->preset[0] ? t->preset : NULL, t->shown, t->visit, &t->target, e))
        return false;
    match(t);
    return plan(t, lb, e);
}

bool taking_open(struct taking *t, struct logbook *lb, const char *path, const char *shown, const char *visit, struct err *e)
{
    taking_close(t);
    t->arena = arena_create();
    if (!take_table_read(path, &t->table, e)) {
        taking_close(t);
        return false;
    }
    t->open = true;
    text_copy(t->shown, sizeof t->shown, shown);
    text_copy(t->visit, sizeof t->visit, visit);
    take_table_match(&t->table, NULL);
    if (aim(t, lb, e))
        return true;
    taking_close(t);
    return false;
}

bool taking_open_folder(struct taking *t, struct logbook *lb, const char *path, const char *shown, const struct engine *en, struct err *e)
{
    taking_close(t);
    t->arena = arena_create();
    t->old = arena_alloc(t->arena, 1, sizeof *t->old);
    text_copy(t->folder, sizeof t->folder, path);
    text_copy(t->shown, sizeof t->shown, shown);
    if (old_photos_find(lb, shown, en, path, t->arena, t->old, e))
        return true;
    taking_close(t);
    return false;
}

bool taking_change(struct taking *t, struct logbook *lb, const struct action *a, struct err *e)
{
    char plug[32];

    if (!t->open)
        return true;
    switch (a->type) {
    case ACT_TAKE_COLUMN:
        text_copy(plug, sizeof plug, t->table.columns[a->number].plug);
        take_table_choose(&t->table, a->number, (enum take_field_id)a->sign, a->text, plug);
        break;
    case ACT_TAKE_DATES: t->table.dates = a->flag ? TAKE_DAY_FIRST : TAKE_MONTH_FIRST; break;
    case ACT_TAKE_ENGINE:
        text_copy(t->engine, sizeof t->engine, a->id);
        text_copy(t->preset, sizeof t->preset, a->text);
        return aim(t, lb, e);
    default: break;
    }
    return plan(t, lb, e);
}

bool taking_accept(struct taking *t, struct logbook *lb, char engine_id[UUID_BYTES], char visit_id[UUID_BYTES], struct err *e)
{
    if (!t->open || t->plan.question[0] != '\0' || t->plan.n_values == 0)
        return err_set(e, ERR_BADARG, "There is nothing to take over yet.");
    if (!take_plan_write(lb, &t->table, &t->plan, &t->target, engine_id, visit_id, e))
        return false;
    taking_close(t);
    return true;
}
