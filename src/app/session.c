#include "app/session_work.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "app/job_edit.h"
#include "base/clock.h"
#include "base/mem.h"
#include "base/text.h"
#include "casefile/casefile.h"
#include "logbook/logbook_copy.h"
#include "report/backlog.h"
#include "screen/photo_bench.h"
#include "screen/photo_days.h"
#include "screen/refused.h"

/* ---- the watched folder ---- */

bool session_start_watch(struct session *s, struct err *e)
{
    struct watch_options o = {.wake = s->wake, .wake_arg = s->wake_ctx};

    watch_stop(s->watch);
    s->watch = s->settings.watched[0] ? watch_start(s->settings.watched, &o, e) : NULL;
    return s->watch != NULL || s->settings.watched[0] == '\0';
}

/* ---- the file browser's folder ---- */

/* Which of its folders are logbooks, where another copy is looked for. */
static void find_logbooks(struct session *s)
{
    char path[FILES_PATH_BYTES], inside[FILES_PATH_BYTES];

    free(s->are_logbooks);
    s->m.files_are_logbooks = s->are_logbooks = NULL;
    if (s->m.files == NULL || (s->st.files_for != FILES_MERGE && s->st.files_for != FILES_COPY))
        return;
    s->m.files_are_logbooks = s->are_logbooks = mem_alloc(s->files.n_entries + 1, sizeof *s->are_logbooks);
    for (size_t i = 0; i < s->files.n_entries; i++)
        s->are_logbooks[i] = s->files.entries[i].is_folder && files_join(path, sizeof path, s->files_dir, s->files.entries[i].name) &&
                             files_join(inside, sizeof inside, path, "logbook.db") && files_exists(inside);
}

void session_list_folder(struct session *s, const char *dir)
{
    size_t n_photos;
    int64_t n_bytes;

    files_list_release(&s->files);
    text_copy(s->files_dir, sizeof s->files_dir, dir);
    s->files_changed_ns = dir[0] != '\0' ? files_folder_changed_ns(dir) : -1;
    s->m.files = dir[0] != '\0' && files_list_load(dir, &s->files, NULL) ? &s->files : NULL;
    find_logbooks(s);
    s->copy_words[0] = s->copy_name[0] = '\0';
    if (s->m.files == NULL || s->st.files_for != FILES_COPY)
        return;
    logbook_copy_size(logbook_folder(s->lb), &n_photos, &n_bytes);
    logbook_copy_words(n_photos, n_bytes, s->copy_words, sizeof s->copy_words);
    logbook_copy_name(logbook_folder(s->lb), dir, s->today, s->copy_name, sizeof s->copy_name);
}

/* ---- life ---- */

void session_take_report(struct session *s)
{
    s->m.report_ask.units = settings_units(&s->settings);
    if (!report_visits_parse(s->settings.report_visits, &s->m.report_ask.n_visits, NULL))
        s->m.report_ask.n_visits = 1;
    if (!report_parts_parse(s->settings.report_without, &s->m.report_ask.without, NULL))
        s->m.report_ask.without = 0;
}

struct session *session_create(const char *folder, bool apart, void (*wake)(void *ctx), void *ctx, struct err *e)
{
    struct session *s = mem_alloc(1, sizeof *s);
    char db[1100];

    if (files_join(db, sizeof db, folder, "logbook.db") && !files_exists(db)) {
        struct files_list list = {0};
        bool empty = !files_exists(folder) || (files_list_load(folder, &list, NULL) && list.n_entries == 0);

        files_list_release(&list);
        if (empty && !logbook_create(folder, e)) {
            free(s);
            return NULL;
        }
    }
    s->lb = logbook_open(folder, LOGBOOK_WINDOW, e);
    if (s->lb == NULL) {
        free(s);
        return NULL;
    }
    if (apart)
        settings_apart(&s->settings);
    else
        settings_load(&s->settings);
    s->engines_arena = arena_create();
    s->search_arena = arena_create();
    s->conflicts_arena = arena_create();
    s->engine_arena = arena_create();
    s->worker = worker_create(wake, ctx);
    s->intake = intake_create(folder, wake, ctx);
    s->measurer = measurer_create(wake, ctx);
    s->report_job = report_job_create(wake, ctx);
    s->report_view = report_view_create(folder, wake, ctx);
    s->errand = errand_create(wake, ctx);
    if (s->errand == NULL || s->worker == NULL || s->intake == NULL || s->measurer == NULL || s->report_view == NULL) {
        err_set(e, ERR_IO, "A thread or a helper process could not be started.");
        session_destroy(s);
        return NULL;
    }
    s->behind = logbook_can_write(s->lb) ? behind_create(folder, s->settings.compression_rule) : NULL;
    s->wake = wake;
    s->wake_ctx = ctx;
    (void)session_start_watch(s, NULL); /* a folder that is gone is simply not watched */
    s->m.watched = s->settings.watched;
    s->m.photos_here = s->settings.photos_here;
    s->m.files_dir = s->files_dir;
    text_copy(s->name, sizeof s->name, files_name(folder));
    clock_today(s->today);
    text_copy(s->why, sizeof s->why, logbook_why_read_only(s->lb));
    s->m.logbook_name = s->name;
    if (realpath(folder, s->folder_path) == NULL)
        text_copy(s->folder_path, sizeof s->folder_path, folder);
    s->m.logbook_folder = s->folder_path;
    s->m.copy_name = s->copy_name;
    s->m.copy_words = s->copy_words;
    s->m.can_write = logbook_can_write(s->lb);
    s->m.why_read_only = s->why;
    s->m.today = s->today;
    s->m.engine_id = s->m.visit_id = "";
    s->m.proposal_why = s->m.take_words = "";
    s->m.inches = s->settings.inches;
    s->m.large_targets = s->settings.large_targets;
    s->m.scale_percent = settings_scale_percent(&s->settings);
    s->m.compression_rule = s->settings.compression_rule;
    s->m.pressure = s->settings.pressure;
    s->m.report_paper = s->settings.report_paper;
    s->m.report_written = s->report_written;
    session_take_report(s);
    s->st.cylinder = -1;
    s->st.found = -1;
    s->st.photo = -1;
    s->st.bench.tool = s->st.bench.point = -1;
    s->st.bench.share = 50;
    if (!session_reload(s, true, e)) {
        session_destroy(s);
        return NULL;
    }
    draft_take_up(&s->draft, s->lb, &s->m, &s->st);
    return s;
}

void session_keep_draft(struct session *s, struct ui *ui)
{
    draft_keep(&s->draft, s->lb, &s->m, &s->st, ui);
}

void session_destroy(struct session *s)
{
    if (s == NULL)
        return;
    watch_stop(s->watch);
    behind_destroy(s->behind);
    errand_destroy(s->errand);
    worker_destroy(s->worker);
    intake_destroy(s->intake);
    measurer_destroy(s->measurer);
    report_job_destroy(s->report_job);
    report_view_destroy(s->report_view);
    files_list_release(&s->files);
    free(s->are_logbooks);
    session_drop_engine(s);
    record_release(&s->left);
    arena_destroy(s->engines_arena);
    arena_destroy(s->search_arena);
    arena_destroy(s->conflicts_arena);
    taking_close(&s->taking);
    text_release(&s->take_waiting);
    arena_destroy(s->engine_arena);
    logbook_close(s->lb);
    free(s);
}

struct model *session_model(struct session *s)
{
    return &s->m;
}

struct screen_state *session_state(struct session *s)
{
    return &s->st;
}

void session_set_pictures(struct session *s, struct session_pictures p)
{
    intake_set_pictures(s->intake, p);
}

/* What is kept of one run of typing, bit by bit, is one step of undo, until something else is done. */
static void join_typing(struct session *s, int64_t run)
{
    if (run == 0 || run != s->typed_run)
        s->typed_step = 0;
    s->typed_run = run;
    logbook_join_on(s->lb, s->typed_step != 0 && s->typed_step == logbook_undo_step(s->lb) ? s->typed_step : 0);
}

bool session_apply(struct session *s, struct ui *ui, const struct actions *actions)
{
    bool changed = false, quit = false;
    int64_t before = logbook_undo_step(s->lb);
    struct err e;

    clock_today(s->today); /* the window may stay open over midnight, and steps are dated */
    join_typing(s, ui_committed(ui));
    for (int i = 0; i < actions->n; i++) {
        const struct action *a = &actions->list[i];
        bool edited;

        if (a->type == ACT_QUIT) {
            quit = true;
            continue;
        }
        err_clear(&e);
        if (!session_carry_out(s, ui, a, &edited, &e)) {
            logbook_rollback(s->lb);
            if (a->field[0] == '\0')
                ui_toast(ui, e.text, NULL);
            else
                refused_note(&s->st, a, e.text);
            if (a->entered) /* typed keys must not become commands */
                ui_focus_again(ui);
        } else if (a->field[0] != '\0') {
            refused_drop(&s->st, a->field);
        }
        changed = changed || edited;
    }
    logbook_join_on(s->lb, 0);
    if (logbook_undo_step(s->lb) != before)
        s->typed_step = logbook_undo_step(s->lb);
    if (changed) {
        err_clear(&e);
        if (!session_reload(s, false, &e))
            ui_toast(ui, e.text, NULL);
        ui_wake_at_s(ui, ui_now_s(ui));
    }
    return quit;
}

/* ---- news from elsewhere ---- */

static void take_levels(struct session *s)
{
    memset(s->m.cylinder_level, 0, sizeof s->m.cylinder_level);
    for (int c = 0; c < s->record.engine.n_cylinders; c++)
        s->m.cylinder_level[c] = findings_level(&s->findings, c);
}

static void ask_of(struct session *s, const struct logbook_photo *p, struct measure_question *q)
{
    char path[1400];

    logbook_photo_path(s->lb, p->sha256, p->format, path, sizeof path);
    measure_question_make(q, p, path, s->record.engine.plug.thread, s->m.marks, s->m.n_marks);
}

/* The photo compared with is measured when nothing is left to do at the one shown. True when something is new. */
static bool measure_other(struct session *s)
{
    const bool beside = s->st.screen == SCREEN_PHOTOS && s->measuring.photo[0] != '\0';
    const struct logbook_photo *p = beside ? bench_other(&s->m, &s->st) : NULL;
    struct measure_question q = {.photo = ""};

    if (p != NULL && (s->m.measured == NULL || s->m.measured->busy))
        return false;
    if (p != NULL && photo_ready(p))
        ask_of(s, p, &q);
    if (measure_question_same(&q, &s->measuring_other))
        return false;
    if (strcmp(q.photo, s->measuring_other.photo) != 0)
        s->m.measured_other = NULL;
    s->measuring_other = q;
    if (q.photo[0] != '\0')
        measurer_ask(s->measurer, &q);
    return true;
}

/* Keeps what is measured in step with the photo shown and its marks; true when something is new. */
static bool measure(struct session *s)
{
    const struct logbook_photo *p = s->st.screen == SCREEN_PHOTOS && s->st.photo >= 0 && s->st.photo < (int)s->m.n_photos ? &s->m.photos[s->st.photo] : NULL;
    struct measure_question q = {.photo = ""};
    struct photo_measured got;
    bool news = false;

    while (measurer_take(s->measurer, &got))
        if (strcmp(got.photo, s->measuring.photo) == 0) {
            s->measured = got;
            s->m.measured = &s->measured;
            news = true;
        } else if (strcmp(got.photo, s->measuring_other.photo) == 0) {
            s->measured_other = got;
            s->m.measured_other = &s->measured_other;
            news = true;
        }
    if (p != NULL && photo_ready(p)) {
        ask_of(s, p, &q);
        q.find = bench_offer_wanted(&s->m, &s->st, p);
    }
    if (measure_question_same(&q, &s->measuring))
        return measure_other(s) || news;
    if (strcmp(q.photo, s->measuring.photo) != 0)
        s->m.measured = NULL;
    s->measuring = q;
    memset(&s->measuring_other, 0, sizeof s->measuring_other); /* its answer may be thrown away now: it is asked again */
    if (q.photo[0] == '\0')
        return true;
    if (s->m.measured == NULL)
        memset(&s->measured, 0, sizeof s->measured);
    text_copy(s->measured.photo, sizeof s->measured.photo, q.photo);
    s->measured.busy = true;
    s->m.measured = &s->measured;
    measurer_ask(s->measurer, &q);
    return true;
}

/* Keeps the report in step with what it is made of while it is looked at; true when there is a new one. */
static bool preview(struct session *s, struct err *e)
{
    struct report_question q = {.ask = s->m.report_ask, .state = s->loaded};
    bool news = report_view_take(s->report_view, &s->m.report, e);

    if (s->st.screen != SCREEN_REPORT || s->m.record == NULL || s->visit_id[0] == '\0')
        return news;
    text_copy(q.engine, sizeof q.engine, s->engine_id);
    text_copy(q.visit, sizeof q.visit, s->visit_id);
    text_copy(q.compression_rule, sizeof q.compression_rule, s->settings.compression_rule);
    if (report_question_same(&q, &s->report_asked))
        return news;
    if (strcmp(q.engine, s->report_asked.engine) != 0 || strcmp(q.visit, s->report_asked.visit) != 0) {
        s->m.report = NULL; /* what was shown is of another visit */
        s->report_written[0] = '\0';
    }
    s->report_asked = q;
    report_view_ask(s->report_view, &q);
    return true;
}

/* Their words for the search. */
static void keep_findings(struct session *s)
{
    struct text t = {0};

    backlog_words(&s->record.engine, &s->findings, &t);
    logbook_keep_findings(s->lb, s->engine_id, s->visit_id, text_get(&t));
    text_release(&t);
}

bool session_poll(struct session *s, struct ui *ui)
{
    struct findings f;
    uint64_t number;
    bool final, news = false;
    struct err e = {0};
    int n_jobs;
    char ended[1400], words[1500];

    while (worker_take(s->worker, &f, &number, &final)) {
        if (number != s->asked || s->m.record == NULL) {
            findings_release(&f);
            continue;
        }
        if (s->m.findings != NULL)
            findings_release(&s->findings);
        s->findings = f;
        s->m.findings = &s->findings;
        if (s->st.found >= f.n_stand_outs)
            s->st.found = -1;
        take_levels(s);
        if (final)
            keep_findings(s);
        job_edit_propose(&s->m, &s->job);
        news = true;
    }
    if (intake_poll(s->intake, s->lb, &e)) { /* photos were taken in and recorded */
        size_t n_was = s->m.n_photos;
        char(*was)[UUID_BYTES] = mem_alloc(n_was + 1, sizeof *was);

        for (size_t i = 0; i < n_was; i++)
            text_copy(was[i], UUID_BYTES, s->m.photos[i].id);
        session_reload(s, false, &e);
        session_note_newest(s, was, n_was);
        free(was);
        news = true;
    }
    news = session_take_errand(s, ui, &e) || news;
    if (report_job_take(s->report_job, &final, ended, sizeof ended)) {
        if (final && text_ends(ended, ".json")) {
            char without[160];

            (void)casefile_left_out(&s->m.record->engine, without, sizeof without);
            text_format(words, sizeof words, "Case written, without %s (a backup has those): %s", without, ended);
        } else {
            text_format(words, sizeof words, !final ? "%s" : strstr(ended, "/line-up-") != NULL ? "Sheet written: %s" : "Report written: %s", ended);
        }
        ui_toast(ui, words, NULL);
        text_copy(s->report_written, sizeof s->report_written, final ? words : "");
        s->m.report_writing = false;
        news = true;
    }
    if (e.text[0])
        ui_toast(ui, e.text, NULL);
    if (s->watch != NULL && s->visit_id[0] != '\0' && s->m.can_write) {
        char path[4096];
        struct text files = {0};

        while (watch_next(s->watch, path, sizeof path))
            text_addf(&files, "%s\n", path);
        intake_add(s->intake, s->visit_id, "", text_get(&files));
        text_release(&files);
    }
    if (s->st.panel == PANEL_FILES) {
        intake_preview(s->intake, s->st.files_preview);
        if (s->files_dir[0] != '\0' && files_folder_changed_ns(s->files_dir) != s->files_changed_ns) {
            char dir[sizeof s->files_dir];

            text_copy(dir, sizeof dir, s->files_dir);
            session_list_folder(s, dir);
            news = true;
        }
    } else if (s->files_dir[0] != '\0') {
        session_list_folder(s, "");
    }
    if (!s->m.can_write && logbook_comes_first(s->lb)) { /* the other window is closed, or was killed */
        s->why[0] = '\0';
        s->m.can_write = true;
        s->behind = behind_create(s->folder_path, s->settings.compression_rule);
        session_reload(s, true, &e);
        if (!form_holds(&s->m, &s->st.fresh))
            draft_take_up(&s->draft, s->lb, &s->m, &s->st);
        ui_toast(ui, "The other window of this logbook is closed: things can be noted here now.", NULL);
        news = true;
    }
    n_jobs = s->m.jobs_all;
    if (intake_progress(s->intake, &s->m.jobs_done, &s->m.jobs_all))
        news = true;
    if (n_jobs > 0 && s->m.jobs_all == 0 && s->st.screen != SCREEN_PLAN && photo_days_ask(&s->m, &s->st, ended, sizeof ended)) { /* there it stands with its answers */
        text_format(words, sizeof words, "%s It is asked on Plan.", ended);
        ui_toast(ui, words, NULL);
    }
    if (logbook_changed_outside(s->lb)) {
        session_reload(s, true, &e);
        behind_again(s->behind); /* it may have brought visits */
        news = true;
    }
    if (s->m.record == NULL && session_levels_in_view(s)) /* of rows that were scrolled to */
        news = true;
    for (int i = s->st.engines_from, n = 0; s->m.record == NULL && i < s->st.engines_to && i < (int)s->m.n_engines && n < 2; i++) {
        if (s->engine_levels[i].counted || !s->engine_levels[i].known)
            continue;
        if (n++ == 0) /* one at a time: nothing waits for the rest */
            session_count_open(s, &s->engine_levels[i], &s->m.engines[i]);
        else
            ui_wake_at_s(ui, ui_now_s(ui));
        news = true;
    }
    if (session_show_lineup(s))
        news = true;
    if (preview(s, &e))
        news = true;
    if (s->st.screen == SCREEN_PHOTOS && s->st.photo >= 0 && s->st.photo < (int)s->m.n_photos) {
        intake_pictures(s->intake, s->m.photos, s->m.n_photos, s->st.photo);
        s->m.large_lacks = !intake_has_large(s->intake, &s->m.photos[s->st.photo]);
        intake_tiles(s->intake, 0, &s->m.photos[s->st.photo], s->st.tiles.list, s->st.tiles.n);
        if (s->st.bench.beside > 0 && s->st.bench.beside <= (int)s->m.n_photos) {
            intake_pictures(s->intake, s->m.photos, s->m.n_photos, s->st.bench.beside - 1);
            intake_tiles(s->intake, 1, &s->m.photos[s->st.bench.beside - 1], s->st.other_tiles.list, s->st.other_tiles.n);
        } else {
            intake_tiles(s->intake, 1, NULL, NULL, 0);
        }
    } else {
        intake_pictures(s->intake, s->m.photos, s->m.n_photos, -1);
        intake_tiles(s->intake, 0, NULL, NULL, 0);
        intake_tiles(s->intake, 1, NULL, NULL, 0);
    }
    if (measure(s))
        news = true;
    {
        char path[1400], said[1500];

        if (measurer_saved(s->measurer, path, sizeof path, &e)) {
            text_format(said, sizeof said, "Written: %s, with .svg and .json beside it", path);
            ui_toast(ui, path[0] != '\0' ? said : e.text, NULL);
            news = true;
        }
    }
    return news;
}

bool session_settled(struct session *s)
{
    return !errand_busy(s->errand) && !worker_busy(s->worker) && !intake_busy(s->intake) && !measurer_busy(s->measurer) && !report_job_busy(s->report_job) && !report_view_busy(s->report_view) && session_lineup_asked(s);
}
