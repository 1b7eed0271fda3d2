/* On its way in: a table, a folder of old photos, another copy of the logbook; and the copy on its way out. */
#include "app/session_work.h"

#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "base/text.h"
#include "takeover/takeover.h"

/* What is added while a step of the job is chosen belongs to it. */
static const char *chosen_step(const struct session *s)
{
    const struct screen_state *st = &s->st;

    if (st->screen != SCREEN_JOB || st->job_section != JOB_STEPS || st->job_row >= model_step_rows(&s->m))
        return "";
    return model_step_row(&s->m, st->job_row)->id;
}

/* The model and the panel are in step with what is being taken over. */
static void show_taking(struct session *s)
{
    const struct taking *t = &s->taking;
    bool looking = errand_busy(s->errand) && s->errand_does != TAKING_PLAN, any = t->open || t->old != NULL || t->merge || looking;

    s->m.take_photos = t->old;
    s->m.take_folder = t->folder;
    s->m.take = t->open ? &t->table : NULL;
    s->m.take_target = t->open ? &t->target : NULL;
    s->m.take_plan = t->open ? &t->plan : NULL;
    s->m.merge = t->merge ? &t->merged : NULL;
    s->m.merge_conflicts = t->conflicts;
    s->m.n_merge_conflicts = t->n_conflicts;
    s->m.take_busy = looking ? s->errand_title : NULL;
    s->m.take_planning = errand_busy(s->errand) && s->errand_does == TAKING_PLAN;
    if (any && s->st.panel != PANEL_TAKE) {
        s->st.panel = PANEL_TAKE;
        s->st.take_column = 0;
    } else if (!any && s->st.panel == PANEL_TAKE) {
        s->st.panel = PANEL_NONE;
    }
}

static struct taking_job *new_job(struct session *s, enum taking_do what)
{
    struct taking_job *j = mem_alloc(1, sizeof *j);

    j->what = what;
    text_copy(j->logbook, sizeof j->logbook, logbook_folder(s->lb));
    return j;
}

static void start(struct session *s, struct taking_job *j, const char *title)
{
    s->errand_does = j->what;
    text_copy(s->errand_title, sizeof s->errand_title, title);
    s->errand_words[0] = '\0';
    errand_start(s->errand, taking_work, taking_job_free, j);
}

/* Opens the next table or folder that waits, when none is being looked at. */
static void take_next(struct session *s)
{
    if (!s->taking.open && s->taking.old == NULL && !s->taking.merge && !errand_busy(s->errand) && s->take_waiting.n_bytes > 0) {
        struct taking_job *j = new_job(s, TAKING_OPEN);
        size_t n = strcspn(text_get(&s->take_waiting), "\n");
        struct text rest = {0};
        char title[200];

        text_format(j->path, sizeof j->path, "%.*s", (int)n, text_get(&s->take_waiting));
        text_add(&rest, text_get(&s->take_waiting) + n + 1);
        text_release(&s->take_waiting);
        s->take_waiting = rest;
        text_copy(j->taking.shown, sizeof j->taking.shown, s->engine_id);
        text_copy(j->taking.visit, sizeof j->taking.visit, s->visit_id);
        j->engine_open = s->m.record != NULL;
        if (j->engine_open)
            j->en = s->record.engine;
        text_format(title, sizeof title, "%s %s", files_is_folder(j->path) ? "Looking through" : "Reading", TEXT_SHORT(files_name(j->path), 120));
        start(s, j, title);
    }
    show_taking(s);
}

/* Plans the table anew beside the window; a change that comes meanwhile stops it, and it begins again. */
static void plan_again(struct session *s, bool anew)
{
    struct taking_job *j;

    if (errand_busy(s->errand)) {
        s->plan_again = true;
        s->plan_anew = s->plan_anew || anew;
        errand_stop(s->errand);
        return;
    }
    j = new_job(s, TAKING_PLAN);
    j->anew = anew || s->plan_anew;
    s->plan_again = s->plan_anew = false;
    j->taking = s->taking; /* the cells are only read; the arena is its own */
    j->taking.arena = NULL;
    start(s, j, "");
}

static void write_table(struct session *s)
{
    struct taking_job *j = new_job(s, TAKING_WRITE);
    char title[200];

    text_format(title, sizeof title, "Taking over %s", TEXT_SHORT(s->taking.table.name, 120));
    j->taking = s->taking;
    memset(&s->taking, 0, sizeof s->taking);
    start(s, j, title);
    show_taking(s);
}

void session_merge(struct session *s, const char *folder)
{
    struct taking_job *j;
    char title[200];

    if (errand_busy(s->errand))
        return;
    j = new_job(s, TAKING_MERGE);
    text_copy(j->path, sizeof j->path, folder);
    text_format(title, sizeof title, "Merging %s", TEXT_SHORT(files_name(folder), 120));
    taking_close(&s->taking);
    start(s, j, title);
    show_taking(s);
}

void session_merge_back(struct session *s)
{
    if (errand_busy(s->errand))
        return;
    start(s, new_job(s, TAKING_BACK), "Taking the merge back");
    show_taking(s);
}

static void write_copy(struct session *s, const char *into)
{
    struct taking_job *j;

    if (errand_busy(s->errand))
        return;
    j = new_job(s, TAKING_COPY);
    text_copy(j->path, sizeof j->path, into);
    start(s, j, "Copying this logbook");
    show_taking(s);
}

static void stop_taking(struct session *s)
{
    if (errand_busy(s->errand))
        errand_drop(s->errand); /* the plan reads the table's cells */
    s->plan_again = s->plan_anew = false;
    taking_close(&s->taking);
    take_next(s);
}

/* A table that was written is shown: the engine with the last of its visits that were written. */
static void show_written(struct session *s, const struct taking_job *j)
{
    if (strcmp(j->engine_id, s->engine_id) != 0) {
        session_drop_engine(s);
        text_copy(s->engine_id, sizeof s->engine_id, j->engine_id);
        session_to_plan(s);
    }
    text_copy(s->visit_id, sizeof s->visit_id, j->visit_id);
    s->st.found = s->st.photo = -1;
}

static void take_plan_back(struct session *s, struct taking_job *j)
{
    if (s->plan_again || !j->fine) /* what was planned is not what is chosen now */
        return;
    arena_destroy(s->taking.arena);
    s->taking = j->taking;
    j->taking.arena = NULL;
    s->m.take_made++;
}

static void take_back(struct session *s, struct ui *ui, struct taking_job *j, struct err *e)
{
    char said[sizeof j->words + 20];

    if (!j->fine && j->err.code != ERR_CANCEL)
        *e = j->err;
    if (j->what == TAKING_COPY) {
        if (j->fine || j->err.code == ERR_CANCEL)
            ui_toast(ui, j->fine ? j->words : j->err.text, NULL);
    } else if (j->what == TAKING_PLAN) {
        take_plan_back(s, j);
    } else if (j->what == TAKING_OPEN && j->fine) {
        s->m.take_made++;
        s->taking = j->taking;
        memset(&j->taking, 0, sizeof j->taking);
    } else if (j->what == TAKING_WRITE && !j->fine) { /* nothing was written: it stands there as before */
        s->taking = j->taking;
        memset(&j->taking, 0, sizeof j->taking);
    } else if (j->fine) {
        (void)logbook_changed_outside(s->lb); /* written by its own handle: what is shown is loaded anew here */
        if (j->what == TAKING_WRITE)
            show_written(s, j);
        session_reload(s, true, e);
        behind_again(s->behind); /* of its visits only the last is shown */
        text_format(said, sizeof said, "%s%s", j->what == TAKING_WRITE ? "Taken over: " : "", j->words);
        ui_toast(ui, said, j->what != TAKING_BACK && s->m.undo_label[0] != '\0' ? "Undo" : NULL);
    }
}

bool session_take_errand(struct session *s, struct ui *ui, struct err *e)
{
    struct taking_job *j = errand_take(s->errand);
    char what[40];
    size_t n_done, n_all;

    if (j == NULL) {
        if (!errand_progress(s->errand, what, sizeof what, &n_done, &n_all) || s->errand_does == TAKING_PLAN)
            return false;
        if (what[0] != '\0' && n_all > 0)
            text_format(s->errand_words, sizeof s->errand_words, "%zu of %zu %s", n_done, n_all, what);
        else if (what[0] != '\0')
            text_format(s->errand_words, sizeof s->errand_words, "%zu %s", n_done, what);
        s->m.take_words = s->errand_words;
        s->m.take_share = n_all > 0 ? (float)n_done / (float)n_all : 0;
        return true;
    }
    take_back(s, ui, j, e);
    taking_job_free(j);
    if (s->plan_again && s->taking.open)
        plan_again(s, false);
    s->m.take_share = 0;
    s->m.take_words = "";
    take_next(s);
    return true;
}

bool session_take_files(struct session *s, struct ui *ui, const char *files, bool *edited, struct err *e)
{
    char name[ENGINE_NAME_BYTES], id[UUID_BYTES], path[4096], said[ENGINE_NAME_BYTES + 60];
    struct text photos = {0};
    int n_visits;
    bool fine = true;

    *edited = false;
    for (; fine && *files != '\0'; files += strcspn(files, "\n"), files += *files == '\n') {
        text_format(path, sizeof path, "%.*s", (int)strcspn(files, "\n"), files);
        if (files_is_folder(path) || take_is_table(path)) { /* looked at first, one after the other */
            text_addf(&s->take_waiting, "%s\n", path);
            continue;
        }
        if (!takeover_is_case(path)) {
            text_addf(&photos, "%s\n", path);
            continue;
        }
        fine = takeover_case(s->lb, path, id, name, sizeof name, &n_visits, e);
        if (fine) {
            *edited = true;
            text_format(said, sizeof said, "Taken over: %s, %d visit%s", name, n_visits, n_visits == 1 ? "" : "s");
            ui_toast(ui, said, "Undo");
        }
    }
    if (fine && photos.n_bytes > 0) {
        if (s->visit_id[0] != '\0')
            intake_add(s->intake, s->visit_id, chosen_step(s), text_get(&photos));
        else
            fine = err_set(e, ERR_BADARG, "Open a visit first: photos belong to a visit.");
    }
    text_release(&photos);
    take_next(s);
    return fine;
}

void session_take(struct session *s, const struct action *a)
{
    switch (a->type) {
    case ACT_TAKE_COLUMN:
    case ACT_TAKE_DATES:
    case ACT_TAKE_ENGINE: {
        bool anew;

        if (!s->taking.open)
            return;
        taking_change(&s->taking, a, &anew);
        plan_again(s, anew);
        show_taking(s);
        return;
    }
    case ACT_TAKE_ACCEPT:
        if (errand_busy(s->errand)) /* it is still being planned */
            return;
        if (s->taking.open) {
            if (s->taking.plan.question[0] == '\0' && s->taking.plan.n_values > 0)
                write_table(s);
            return;
        }
        if (s->taking.merge) {
            session_merge(s, s->taking.folder);
            return;
        }
        if (s->taking.old != NULL) {
            intake_add_old(s->intake, s->taking.shown, s->taking.old, s->taking.arena);
            s->taking.arena = NULL; /* goes with the photos */
            taking_close(&s->taking);
        }
        take_next(s);
        return;
    case ACT_TAKE_STOP:
        stop_taking(s);
        return;
    case ACT_COPY_LOGBOOK:
        write_copy(s, a->text);
        return;
    default: break;
    }
}
