#include "app/taking.h"

#include <stdlib.h>
#include <string.h>

#include "base/clock.h"
#include "base/err.h"
#include "base/files.h"
#include "base/mem.h"
#include "base/text.h"
#include "logbook/logbook_copy.h"

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

static bool plan(struct taking *t, struct logbook *lb, const struct logbook_watch *watch, struct err *e)
{
    arena_reset(t->arena);
    return take_plan_make(lb, &t->table, &t->target, watch, t->arena, &t->plan, e);
}

static bool aim(struct taking *t, struct logbook *lb, const struct logbook_watch *watch, struct err *e)
{
    if (!take_target_find(lb, &t->table, t->engine[0] ? t->engine : NULL, t->preset[0] ? t->preset : NULL, t->shown, t->visit, &t->target, e))
        return false;
    match(t);
    return plan(t, lb, watch, e);
}

bool taking_is_logbook(const char *path)
{
    char db[FILES_PATH_BYTES];

    return files_is_folder(path) && files_join(db, sizeof db, path, "logbook.db") && files_exists(db);
}

/* ---- in the thread ---- */

static bool open_table(struct taking_job *j, struct logbook *lb, const struct logbook_watch *watch)
{
    struct taking *t = &j->taking;

    if (!take_table_read(j->path, &t->table, &j->err))
        return false;
    t->open = true;
    take_table_match(&t->table, NULL);
    return aim(t, lb, watch, &j->err);
}

static bool open_folder(struct taking_job *j, struct logbook *lb, const struct logbook_watch *watch)
{
    struct taking *t = &j->taking;

    text_copy(t->folder, sizeof t->folder, j->path);
    if (taking_is_logbook(j->path)) {
        t->merge = true;
        return logbook_merge_preview(lb, j->path, watch, t->arena, &t->merged, &t->conflicts, &t->n_conflicts, &j->err);
    }
    if (!j->engine_open)
        return err_set(&j->err, ERR_BADARG, "Open the engine these photos are of first, then drop the folder again.");
    t->old = arena_alloc(t->arena, 1, sizeof *t->old);
    return old_photos_find(lb, t->shown, &j->en, j->path, watch, t->arena, t->old, &j->err);
}

static bool merge_in(struct taking_job *j, struct logbook *lb, const struct logbook_watch *watch)
{
    char words[500], kept[LOGBOOK_KEPT_BYTES], today[11];
    struct logbook_merged m;

    clock_today(today);
    if (!logbook_merge_keeping(lb, j->path, today, watch, &m, kept, &j->err))
        return false;
    logbook_merged_words(&m, words, sizeof words);
    text_format(j->words, sizeof j->words, "Merged: %s.%s%s", words, kept[0] ? " As it was: " : "", kept);
    return true;
}

static bool merge_back(struct taking_job *j, struct logbook *lb)
{
    struct logbook_last_merge last;

    if (!logbook_last_merge(lb, &last) || !logbook_take_merge_back(lb, &j->err))
        return false;
    text_format(j->words, sizeof j->words, "The merge of “%s” is taken back; it can be merged again.", last.other);
    return true;
}

static bool copy_out(struct taking_job *j, struct logbook *lb, const struct logbook_watch *watch)
{
    struct logbook_copied done;
    char today[11], held[80];

    clock_today(today);
    if (!logbook_copy(lb, j->path, today, watch, &done, &j->err))
        return false;
    logbook_copy_words(done.n_photos, done.n_bytes, held, sizeof held);
    text_format(j->words, sizeof j->words, "Copied, with %s: %s", held, done.folder);
    return true;
}

void taking_work(struct errand *r, void *job)
{
    struct taking_job *j = job;
    struct logbook_watch watch = {errand_go_on, r};
    struct logbook *lb = logbook_open(j->logbook, j->what == TAKING_WRITE || j->what == TAKING_MERGE || j->what == TAKING_BACK ? LOGBOOK_WRITE : LOGBOOK_READ, &j->err);

    if (lb == NULL)
        return;
    if (j->taking.arena == NULL)
        j->taking.arena = arena_create();
    switch (j->what) {
    case TAKING_OPEN: j->fine = files_is_folder(j->path) ? open_folder(j, lb, &watch) : open_table(j, lb, &watch); break;
    case TAKING_PLAN: j->fine = j->anew ? aim(&j->taking, lb, &watch, &j->err) : plan(&j->taking, lb, &watch, &j->err); break;
    case TAKING_WRITE:
        take_plan_words(&j->taking.plan, j->words, sizeof j->words);
        j->fine = take_plan_write(lb, &j->taking.table, &j->taking.plan, &j->taking.target, &watch, j->engine_id, j->visit_id, &j->err);
        break;
    case TAKING_MERGE: j->fine = merge_in(j, lb, &watch); break;
    case TAKING_BACK: j->fine = merge_back(j, lb); break;
    case TAKING_COPY: j->fine = copy_out(j, lb, &watch); break;
    }
    logbook_close(lb);
}

void taking_job_free(void *job)
{
    struct taking_job *j = job;

    if (j->what == TAKING_PLAN)
        j->taking.open = false; /* the cells are not its own */
    taking_close(&j->taking);
    free(j);
}

/* ---- in the window's thread ---- */

void taking_change(struct taking *t, const struct action *a, bool *anew)
{
    char plug[32];

    *anew = false;
    switch (a->type) {
    case ACT_TAKE_COLUMN:
        text_copy(plug, sizeof plug, t->table.columns[a->number].plug);
        take_table_choose(&t->table, a->number, (enum take_field_id)a->sign, a->text, plug);
        break;
    case ACT_TAKE_DATES: t->table.dates = a->flag ? TAKE_DAY_FIRST : TAKE_MONTH_FIRST; break;
    case ACT_TAKE_ENGINE:
        text_copy(t->engine, sizeof t->engine, a->id);
        text_copy(t->preset, sizeof t->preset, a->text);
        *anew = true;
        break;
    default: break;
    }
}
