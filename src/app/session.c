#include "app/session.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "app/intake.h"
#include "app/job_edit.h"
#include "app/measure.h"
#include "app/report_job.h"
#include "app/settings.h"
#include "app/worker.h"
#include "base/err.h"
#include "base/files.h"
#include "base/mem.h"
#include "base/text.h"
#include "base/units.h"
#include "photo/watch.h"
#include "screen/photo_bench.h"
#include "screen/refused.h"

#define SEARCH_MOST 60 /* hits shown: nobody reads more */

struct session {
    struct logbook *lb;
    struct worker *worker;
    struct intake *intake;
    struct measurer *measurer;
    struct measure_question measuring; /* asked last; no photo: nothing */
    struct photo_measured measured;
    struct report_job *report_job;
    struct settings settings;
    struct watch *watch;
    void (*wake)(void *ctx);
    void *wake_ctx;
    struct model m;
    struct screen_state st;
    struct engine_levels *engine_levels; /* of m.engines, each looked up when it comes into view */
    struct arena *engines_arena, *engine_arena; /* lists of Engines; lists of the open engine */
    struct arena *search_arena; /* what was found */
    struct visit_photos *lineup; /* of the record's visits, each looked up when it comes into view */
    struct wear wear;
    struct record record;
    struct job job;                 /* what is proposed for the visit shown */
    struct refit refit;
    struct report_watch watches[REPORT_MOST_WATCHED];
    struct swap_verdict swaps[REPORT_MOST_WATCHED];
    char refit_why[200], ended_with[400];
    struct findings findings;
    struct files_list files; /* of files_dir, for the file browser */
    char files_dir[1024];
    int64_t files_changed_ns;
    uint64_t asked; /* number of the newest question to the worker */
    char engine_id[UUID_BYTES], visit_id[UUID_BYTES], name[128], today[11], why[200];
};

/* ---- loading ---- */

static enum level worst_of(const struct reading *r)
{
    enum level worst = LEVEL_NONE;

    for (int s = 0; s < SIGN_COUNT; s++)
        if (r->amount[s] > 1 && sign_row((enum sign)s)->level > worst)
            worst = sign_row((enum sign)s)->level;
    return worst;
}

/* The worst sign of each cylinder at the last visit: quick, without the whole reading. */
static void load_levels(struct session *s, struct engine_levels *levels, const struct logbook_engine *e)
{
    struct record r;

    levels->known = true;
    if (e->n_visits == 0 || !logbook_load_record(s->lb, e->id, e->last_visit, &r, NULL))
        return;
    const struct visit *v = record_current(&r);

    for (int i = 0; i < record_plug_count(&r.engine); i++) {
        const struct reading *q = &v->readings[i];
        enum level level = worst_of(q);

        enum gap_verdict gap = q->gap_mm.given ? gap_against(&r.engine.plug, q->gap_mm.value) : GAP_IN_RANGE;

        if ((gap == GAP_OVER || gap == GAP_PAST_LIMIT) && r.engine.plug.gap_max_mm > 0 && level < LEVEL_WATCH)
            level = LEVEL_WATCH;
        if (level > (enum level)levels->level[q->cylinder])
            levels->level[q->cylinder] = (uint8_t)level;
    }
    record_release(&r);
}

static bool load_engines(struct session *s, struct err *e)
{
    struct logbook_engine *engines = NULL;
    struct engine_levels *levels;
    size_t n = 0;

    arena_reset(s->engines_arena);
    s->m.n_engines = 0;
    if (!logbook_list_engines(s->lb, s->engines_arena, &engines, &n, e))
        return false;
    levels = arena_alloc(s->engines_arena, n ? n : 1, sizeof *levels);
    s->m.n_all_visits = 0;
    for (size_t i = 0; i < n; i++)
        s->m.n_all_visits += (size_t)engines[i].n_visits;
    s->m.engines = engines;
    s->engine_levels = levels;
    s->m.engine_levels = levels;
    s->m.n_engines = n;
    return true;
}

static void drop_engine(struct session *s)
{
    refused_drop(&s->st, NULL);
    if (s->m.record != NULL)
        record_release(&s->record);
    if (s->m.findings != NULL)
        findings_release(&s->findings);
    s->m.record = NULL;
    s->m.wear = NULL;
    s->m.lineup = NULL;
    s->m.findings = NULL;
    s->m.n_visits = s->m.n_photos = s->m.n_marks = s->m.n_facts = s->m.n_steps = s->m.n_needs = s->m.n_verdicts = s->m.n_watches = s->m.n_swaps = 0;
    s->m.proposal = NULL;
    memset(s->m.cylinder_level, 0, sizeof s->m.cylinder_level);
}

static void close_engine(struct session *s)
{
    drop_engine(s);
    s->engine_id[0] = s->visit_id[0] = '\0';
    s->st.screen = SCREEN_ENGINES;
    s->st.panel = PANEL_NONE;
}

static void propose(struct session *s)
{
    const struct model *m = &s->m;
    size_t n_room = 300;
    char *sentence = arena_alloc(s->engine_arena, n_room, 1);
    struct photo_proposal *out = arena_alloc(s->engine_arena, m->n_photos, sizeof *out);
    bool any = m->n_photos > 0 && placing_propose(m->record, m->photos, m->n_photos, s->engine_arena, out, sentence, n_room);

    s->m.proposal = any ? out : NULL;
    s->m.proposal_why = any ? sentence : "";
}

/* What the job screen shows beyond rows: charts, proposals, whether repairs held. */
static void see_job(struct session *s)
{
    struct err e = {0};

    s->m.refit = refit_for_engine(&s->record.engine, &s->refit, &e) ? &s->refit : NULL;
    text_copy(s->refit_why, sizeof s->refit_why, e.text);
    s->m.refit_why = s->refit_why;
    s->m.closed = false;
    for (size_t i = 0; i < s->m.n_visits; i++)
        if (strcmp(s->m.visits[i].id, s->visit_id) == 0)
            s->m.closed = s->m.visits[i].closed;
    if (!logbook_get_text(s->lb, "visit", s->visit_id, "ended_with", s->ended_with, sizeof s->ended_with))
        s->ended_with[0] = '\0';
    s->m.ended_with = s->ended_with;
    s->m.watches = s->watches;
    s->m.swaps = s->swaps;
    s->m.n_watches = report_watches(&s->record, s->m.verdicts, s->m.n_verdicts, s->watches, REPORT_MOST_WATCHED);
    s->m.n_swaps = report_swaps(&s->record, s->swaps, REPORT_MOST_WATCHED);
    s->m.job = &s->job;
    job_edit_propose(&s->m, &s->job);
}

static bool load_engine(struct session *s, struct err *e)
{
    struct arena *a = arena_create();
    struct logbook_visit *visits;
    struct logbook_photo *photos = NULL;
    struct logbook_mark *marks = NULL;
    struct logbook_fact *facts;
    struct logbook_step *steps = NULL;
    struct logbook_need *needs = NULL;
    struct logbook_verdict *verdicts;
    size_t n_visits, n_photos = 0, n_marks = 0, n_facts, n_steps = 0, n_needs = 0, n_verdicts;
    bool there = false;
    struct record r;

    if (!logbook_list_visits(s->lb, s->engine_id, a, &visits, &n_visits, e))
        goto failed;
    for (size_t i = 0; i < n_visits; i++)
        there = there || strcmp(visits[i].id, s->visit_id) == 0;
    if (!there)
        text_copy(s->visit_id, sizeof s->visit_id, n_visits ? visits[n_visits - 1].id : "");
    if ((s->visit_id[0] && (!logbook_list_photos(s->lb, s->visit_id, a, &photos, &n_photos, e) || !logbook_list_marks(s->lb, s->visit_id, a, &marks, &n_marks, e))) ||
        !logbook_list_facts(s->lb, s->engine_id, a, &facts, &n_facts, e) ||
        (s->visit_id[0] && (!logbook_list_steps(s->lb, s->visit_id, a, &steps, &n_steps, e) || !logbook_list_needs(s->lb, s->visit_id, a, &needs, &n_needs, e))) ||
        !logbook_list_verdicts(s->lb, s->engine_id, a, &verdicts, &n_verdicts, e) ||
        !logbook_load_record(s->lb, s->engine_id, s->visit_id[0] ? s->visit_id : NULL, &r, e))
        goto failed;
    /* All of it is there: only now does it take the place of what was shown. */
    if (s->m.record != NULL)
        record_release(&s->record);
    arena_destroy(s->engine_arena);
    s->engine_arena = a;
    s->record = r;
    s->m.record = &s->record;
    s->m.wear = r.n_visits > 0 ? &s->wear : NULL;
    if (r.n_visits > 0)
        wear_of(&s->record, &s->wear);
    s->lineup = arena_alloc(a, (size_t)r.n_visits + 1, sizeof *s->lineup);
    s->m.lineup = s->lineup;
    s->m.visits = visits;
    s->m.n_visits = n_visits;
    s->m.photos = photos;
    s->m.n_photos = n_photos;
    s->m.marks = marks;
    s->m.n_marks = n_marks;
    s->m.facts = facts;
    s->m.n_facts = n_facts;
    s->m.steps = steps;
    s->m.n_steps = n_steps;
    s->m.needs = needs;
    s->m.n_needs = n_needs;
    s->m.verdicts = verdicts;
    s->m.n_verdicts = n_verdicts;
    s->m.engine_id = s->engine_id;
    s->m.visit_id = s->visit_id;
    propose(s);
    see_job(s);
    worker_set_compression_rule(s->worker, s->settings.compression_rule);
    if (r.n_visits > 0)
        worker_ask(s->worker, &s->record, ++s->asked);
    return true;
failed:
    arena_destroy(a);
    return false;
}

/* Which photo of the visit is new among n_was of before: Photos is to open with it. */
static void note_newest(struct session *s, char (*was)[UUID_BYTES], size_t n_was)
{
    for (size_t i = 0; i < s->m.n_photos; i++) {
        bool old = false;

        for (size_t k = 0; k < n_was && !old; k++)
            old = strcmp(was[k], s->m.photos[i].id) == 0;
        if (!old)
            text_copy(s->st.newest, sizeof s->st.newest, s->m.photos[i].id);
    }
}

static void refresh_labels(struct session *s)
{
    s->m.undo_label = logbook_undo_label(s->lb);
    s->m.redo_label = logbook_redo_label(s->lb);
}

static bool reload(struct session *s, struct err *e)
{
    bool fine = s->engine_id[0] != '\0' ? load_engine(s, e) : load_engines(s, e); /* what is on the screen */

    if (!fine && s->engine_id[0] != '\0' && e->code == ERR_NOTFOUND) { /* taken back, or out by a command: nothing is noted of it */
        close_engine(s);
        fine = load_engines(s, e);
    }

    refresh_labels(s);
    return fine;
}

/* ---- the watched folder ---- */

static bool start_watch(struct session *s, struct err *e)
{
    struct watch_options o = {.wake = s->wake, .wake_arg = s->wake_ctx};

    watch_stop(s->watch);
    s->watch = s->settings.watched[0] ? watch_start(s->settings.watched, &o, e) : NULL;
    return s->watch != NULL || s->settings.watched[0] == '\0';
}

/* ---- the file browser's folder ---- */

static void list_folder(struct session *s, const char *dir)
{
    files_list_release(&s->files);
    text_copy(s->files_dir, sizeof s->files_dir, dir);
    s->files_changed_ns = dir[0] != '\0' ? files_folder_changed_ns(dir) : -1;
    s->m.files = dir[0] != '\0' && files_list_load(dir, &s->files, NULL) ? &s->files : NULL;
}

/* ---- life ---- */

struct session *session_create(const char *folder, bool apart, void (*wake)(void *ctx), void *ctx, struct err *e)
{
    struct session *s = mem_alloc(1, sizeof *s);
    char db[1100];
    const char *today = getenv("SOOTBOOK_TODAY");

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
    s->engine_arena = arena_create();
    s->worker = worker_create(wake, ctx);
    s->intake = intake_create(folder, wake, ctx);
    s->measurer = measurer_create(wake, ctx);
    s->report_job = report_job_create(wake, ctx);
    if (s->worker == NULL || s->intake == NULL || s->measurer == NULL) {
        err_set(e, ERR_IO, "A thread or a helper process could not be started.");
        session_destroy(s);
        return NULL;
    }
    s->wake = wake;
    s->wake_ctx = ctx;
    (void)start_watch(s, NULL); /* a folder that is gone is simply not watched */
    s->m.watched = s->settings.watched;
    s->m.files_dir = s->files_dir;
    text_copy(s->name, sizeof s->name, files_name(folder));
    if (today != NULL && strlen(today) == 10)
        text_copy(s->today, sizeof s->today, today);
    else
        clock_today(s->today);
    text_copy(s->why, sizeof s->why, logbook_why_read_only(s->lb));
    s->m.logbook_name = s->name;
    s->m.can_write = logbook_can_write(s->lb);
    s->m.why_read_only = s->why;
    s->m.today = s->today;
    s->m.engine_id = s->m.visit_id = "";
    s->m.proposal_why = "";
    s->m.inches = s->settings.inches;
    s->m.large_targets = s->settings.large_targets;
    s->m.compression_rule = s->settings.compression_rule;
    s->st.cylinder = -1;
    s->st.found = -1;
    s->st.photo = -1;
    s->st.bench.tool = s->st.bench.point = -1;
    if (!reload(s, e)) {
        session_destroy(s);
        return NULL;
    }
    return s;
}

void session_destroy(struct session *s)
{
    if (s == NULL)
        return;
    watch_stop(s->watch);
    worker_destroy(s->worker);
    intake_destroy(s->intake);
    measurer_destroy(s->measurer);
    report_job_destroy(s->report_job);
    files_list_release(&s->files);
    drop_engine(s);
    arena_destroy(s->engines_arena);
    arena_destroy(s->search_arena);
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

/* ---- actions: each one edit, one undo step ---- */

static const struct engine *engine(const struct session *s)
{
    return &s->record.engine;
}

static void plug_name(const struct session *s, const struct action *a, char *to, size_t n_room)
{
    engine_plug_label(engine(s), a->cylinder, a->position, to, n_room);
}

static bool add_visit(struct session *s, struct err *e)
{
    struct visit *v = mem_alloc(1, sizeof *v);
    const struct visit *last = s->m.record != NULL && s->record.n_visits > 0 ? record_current(&s->record) : NULL;
    char id[UUID_BYTES];
    bool fine;

    visit_init(v, engine(s));
    text_copy(v->date, sizeof v->date, s->today);
    if (last != NULL) { /* what seldom changes is taken over */
        v->odometer_unit = last->odometer_unit;
        v->fuel = last->fuel;
    }
    uuid_make(id);
    fine = logbook_begin(s->lb, "New visit", e) && logbook_put_visit(s->lb, id, s->engine_id, engine(s), v, e) && logbook_commit(s->lb, e);
    free(v);
    if (fine)
        text_copy(s->visit_id, sizeof s->visit_id, id);
    return fine;
}

static bool add_engine(struct session *s, const struct action *a, struct err *e)
{
    struct engine en;
    char id[UUID_BYTES];

    if (!new_engine_build(&s->st.fresh, &en, e))
        return false;
    if (a->type == ACT_SAVE_ENGINE)
        text_copy(id, sizeof id, a->id);
    else
        uuid_make(id);
    if (!logbook_begin(s->lb, a->type == ACT_SAVE_ENGINE ? "Engine changed" : "New engine", e) ||
        !logbook_put_engine(s->lb, id, &en, e) || !logbook_commit(s->lb, e))
        return false;
    s->st.new_open = false;
    if (a->flag) {
        text_copy(s->engine_id, sizeof s->engine_id, id);
        s->visit_id[0] = '\0';
        s->st.screen = SCREEN_PLAN;
        s->st.cylinder = 0;
        s->st.position = 0;
        if (!load_engine(s, e) || !add_visit(s, e))
            return false;
        s->st.panel = PANEL_VISIT;
    }
    return true;
}

/* "97655 mi", "97,655 mi", "97655": metres, and the unit said or used before. */
static bool parse_odometer(const char *text, int unit_before, struct maybe *metres, int *unit, struct err *e)
{
    char number[64];
    size_t n = 0;
    double v;
    const char *rest = text;

    while (*rest == ' ')
        rest++;
    if (*rest == '\0') {
        *metres = (struct maybe){false, 0};
        *unit = unit_before;
        return true;
    }
    for (; *rest != '\0' && (strchr("0123456789.,", *rest) != NULL); rest++)
        if (*rest != ',' && n + 1 < sizeof number)
            number[n++] = *rest;
    number[n] = '\0';
    while (*rest == ' ')
        rest++;
    *unit = *rest ? words_find(WORDS_ODOMETER_UNIT, rest) : unit_before ? unit_before : words_find(WORDS_ODOMETER_UNIT, "km");
    if (*unit <= 0 || !text_to_double(number, &v) || v < 0 || v > 1e7)
        return err_set(e, ERR_BADARG, "“%.40s” is no odometer reading: write a number and mi, km or h.", text);
    *metres = MAYBE(v * unit_find(words_id(WORDS_ODOMETER_UNIT, *unit))->factor);
    return true;
}

/* Those that are codes are taken; false when there were others, each named. */
static bool take_codes(struct visit *v, const char *text, struct err *e)
{
    char others[120] = "";
    int n_others = 0;
    struct err why = {0};

    v->n_codes = 0;
    for (text += strspn(text, " ,;"); *text != '\0'; text += strspn(text, " ,;")) {
        size_t n = strcspn(text, " ,;");
        char code[16];

        text_format(code, sizeof code, "%.*s", (int)n, text);
        if (!visit_add_code(v, code, &why)) {
            text_format(others + strlen(others), sizeof others - strlen(others), "%s“%s”", n_others > 0 ? ", " : "", code);
            n_others++;
        }
        text += n;
    }
    if (n_others == 0)
        return true;
    if (v->n_codes == VISIT_MAX_CODES)
        return err_set(e, ERR_LIMIT, "%s", why.text);
    return err_set(e, ERR_BADARG, "%s %s like P0306%s.", others, n_others == 1 ? "is no trouble code" : "are no trouble codes", v->n_codes > 0 ? "; the rest is noted" : "");
}

static bool set_visit(struct session *s, const struct action *a, struct err *e)
{
    struct visit *v = mem_alloc(1, sizeof *v);
    bool fine = true, all_taken = true;
    char label[80];

    *v = *record_current(&s->record);
    text_format(label, sizeof label, "Visit: %s", a->column);
    if (a->type == ACT_TOGGLE_COMPLAINT) {
        int at = -1;

        for (int i = 0; i < v->n_complaints; i++)
            if (v->complaints[i] == a->number)
                at = i;
        if (at >= 0) {
            memmove(&v->complaints[at], &v->complaints[at + 1], (size_t)(v->n_complaints - at - 1) * sizeof v->complaints[0]);
            v->n_complaints--;
        } else if (v->n_complaints < VISIT_MAX_COMPLAINTS) {
            v->complaints[v->n_complaints++] = a->number;
        }
        v->complaints_given = true;
        text_copy(label, sizeof label, "Complaint");
    } else if (a->type == ACT_SET_REMOVAL) {
        int at = visit_find_drawn(v, a->cylinder, a->position);

        if (at >= 0) { /* tapped again: taken out of the order */
            memmove(&v->removal[at], &v->removal[at + 1], (size_t)(v->n_removal - at - 1) * sizeof v->removal[0]);
            v->n_removal--;
        } else {
            v->removal[v->n_removal++] = (int16_t)(a->cylinder * ENGINE_MAX_POSITIONS + a->position);
        }
        text_copy(label, sizeof label, "Removal order");
    } else if (strcmp(a->column, "date") == 0) {
        v->date[0] = '\0';
        fine = a->text[strspn(a->text, " ")] == '\0' || clock_read_date(a->text, v->date) ||
               err_set(e, ERR_BADARG, "“%.40s” is no date: write 2026-06-14 or 14 Jun 2026.", a->text);
    } else if (strcmp(a->column, "odometer") == 0) {
        fine = parse_odometer(a->text, v->odometer_unit, &v->odometer_m, &v->odometer_unit, e);
    } else if (strcmp(a->column, "codes") == 0) {
        all_taken = take_codes(v, a->text, e);
    } else if (strcmp(a->column, "removal") == 0) {
        fine = visit_parse_removal(engine(s), v, a->text, e);
    } else if (strcmp(a->column, "notes") == 0) {
        text_copy(v->notes, sizeof v->notes, a->text);
    } else if (strcmp(a->column, "last_run") == 0) {
        v->last_run = words_find(WORDS_LAST_RUN, a->text);
    } else if (strcmp(a->column, "socket") == 0) {
        v->socket = words_find(WORDS_SOCKET, a->text);
    } else if (strcmp(a->column, "fuel") == 0) {
        v->fuel = words_find(WORDS_FUEL, a->text);
    }
    fine = fine && logbook_begin(s->lb, label, e) && logbook_change_visit(s->lb, s->visit_id, engine(s), record_current(&s->record), v, e) && logbook_commit(s->lb, e);
    free(v);
    return fine && all_taken;
}

static const struct logbook_photo *photo_of(const struct session *s, const char *id)
{
    for (size_t i = 0; i < s->m.n_photos; i++)
        if (strcmp(s->m.photos[i].id, id) == 0)
            return &s->m.photos[i];
    return NULL;
}

static bool place(struct session *s, const char *id, int cylinder, int position, int zone, struct err *e)
{
    const struct logbook_photo *p = photo_of(s, id);
    struct logbook_photo q;

    if (p == NULL)
        return true;
    q = *p;
    q.cylinder = cylinder;
    q.position = cylinder < 0 ? -1 : position;
    q.zone = zone >= 0 ? zone : p->zone >= 0 ? p->zone : cylinder >= 0 ? ZONE_FIRING_END : -1;
    return logbook_put_photo(s->lb, &q, e);
}

static bool set_gap(struct session *s, const struct action *a, struct err *e)
{
    int32_t um = -1;
    char label[80], plug[48];
    const char *typed = a->text;

    while (*typed == ' ')
        typed++;
    if (*typed != '\0' && !record_read_gap(typed, s->m.inches, &um, e))
        return false;
    plug_name(s, a, plug, sizeof plug);
    text_format(label, sizeof label, "Gap of %s", plug);
    return logbook_begin(s->lb, label, e) &&
           (a->id[0] == '\0' || place(s, a->id, a->cylinder, a->position, -1, e)) && /* measured in a photo not placed yet */
           logbook_put_gap(s->lb, s->visit_id, a->cylinder, a->position, a->type == ACT_SET_GAP_LEFT, *typed ? um : -1, s->m.inches ? "in" : "mm", e) &&
           logbook_commit(s->lb, e);
}

static bool note_sign(struct session *s, const struct action *a, struct err *e)
{
    char label[120], plug[48];

    plug_name(s, a, plug, sizeof plug);
    text_format(label, sizeof label, "%s, %s: %s", plug, zone_row(sign_row((enum sign)a->sign)->zone)->label, sign_row((enum sign)a->sign)->label);
    return logbook_begin(s->lb, label, e) &&
           logbook_note_sign(s->lb, s->visit_id, a->cylinder, a->position, (enum sign)a->sign, a->amount, e) && logbook_commit(s->lb, e);
}

static bool set_reading(struct session *s, const struct action *a, struct err *e)
{
    char row[UUID_BYTES], label[80], plug[48];
    double v = 0;
    bool empty = a->text[strspn(a->text, " ")] == '\0';

    plug_name(s, a, plug, sizeof plug);
    text_format(label, sizeof label, "Reading of %s", plug);
    if (!empty && (!text_to_double(a->text, &v) || v < 0 || v > 10000))
        return err_set(e, ERR_BADARG, "“%.20s” is no pressure in kPa.", a->text);
    return logbook_begin(s->lb, label, e) && logbook_touch_reading(s->lb, s->visit_id, a->cylinder, a->position, row, e) &&
           (empty ? logbook_clear(s->lb, "reading", row, a->column, e) : logbook_set_int(s->lb, "reading", row, a->column, llround(v * 1000), e)) &&
           logbook_commit(s->lb, e);
}

static bool accept(struct session *s, struct err *e)
{
    char label[60];
    int n = 0;

    for (size_t i = 0; i < s->m.n_photos; i++)
        n += s->m.photos[i].cylinder < 0 && s->m.proposal[i].cylinder >= 0;
    text_format(label, sizeof label, "%d photos placed", n);
    if (!logbook_begin(s->lb, label, e))
        return false;
    for (size_t i = 0; i < s->m.n_photos; i++)
        if (s->m.photos[i].cylinder < 0 && s->m.proposal[i].cylinder >= 0 &&
            !place(s, s->m.photos[i].id, s->m.proposal[i].cylinder, s->m.proposal[i].position, s->m.proposal[i].zone, e))
            return false;
    return logbook_commit(s->lb, e);
}

static bool put_marks(struct session *s, const struct action *a, struct err *e)
{
    if (!logbook_begin(s->lb, a->text, e))
        return false;
    for (int i = 0; i < a->number; i++)
        if (!logbook_put_mark(s->lb, &a->marks[i], e))
            return false;
    return logbook_commit(s->lb, e);
}

/* Copies with the marks as they are seen: lines held to what was measured, and what is written beside. */
static bool save_marked(struct session *s, const struct action *a, struct err *e)
{
    const struct logbook_photo *p = photo_of(s, a->id);
    struct report_mark *marks;
    char original[1400], folder[1100];
    size_t n = 0;
    bool fine;

    if (p == NULL)
        return true;
    marks = mem_alloc(s->m.n_marks + 1, sizeof *marks);
    for (size_t i = 0; i < s->m.n_marks; i++)
        if (strcmp(s->m.marks[i].photo, p->id) == 0) {
            bench_mark_as_seen(&s->m, &s->m.marks[i], &marks[n].mark);
            bench_mark_words(&s->m, &s->m.marks[i], marks[n].words, sizeof marks[n].words);
            n++;
        }
    logbook_photo_path(s->lb, p->sha256, p->format, original, sizeof original);
    text_format(folder, sizeof folder, "%s/copies", logbook_folder(s->lb));
    fine = measurer_save(s->measurer, original, folder, p, marks, n);
    free(marks);
    return fine || err_set(e, ERR_BUSY, "A copy is still being written; try again in a moment.");
}

static bool set_nose(struct session *s, const struct action *a, struct err *e)
{
    static const char *const columns[] = {"nose_L", "nose_a", "nose_b"};
    char row[UUID_BYTES], label[80], plug[48];

    plug_name(s, a, plug, sizeof plug);
    text_format(label, sizeof label, "Nose colour of %s", plug);
    if (!logbook_begin(s->lb, label, e) || (a->id[0] != '\0' && !place(s, a->id, a->cylinder, a->position, -1, e)) ||
        !logbook_touch_reading(s->lb, s->visit_id, a->cylinder, a->position, row, e))
        return false;
    for (int i = 0; i < 3; i++) /* a hundredth is finer than any two readings agree */
        if (!logbook_set_real(s->lb, "reading", row, columns[i], round(a->lab[i] * 100) / 100, e))
            return false;
    return logbook_commit(s->lb, e);
}

/* "report-merrow-4-2-v8-2026-06-14.html": one file a visit; a second visit of the day gets its number. */
static void report_path(const struct session *s, char *to, size_t n_room)
{
    const struct visit *v = record_current(&s->record);
    struct text t = {0};
    int n_that_day = 0;

    for (const char *c = s->record.engine.name; *c != '\0'; c++) {
        char low = *c >= 'A' && *c <= 'Z' ? (char)(*c - 'A' + 'a') : *c;

        if ((low >= 'a' && low <= 'z') || (low >= '0' && low <= '9'))
            text_add_char(&t, low);
        else if (t.n_bytes > 0 && t.s[t.n_bytes - 1] != '-')
            text_add_char(&t, '-');
    }
    if (t.n_bytes > 0 && t.s[t.n_bytes - 1] != '-')
        text_add_char(&t, '-');
    text_add(&t, v->date[0] ? v->date : "no-date");
    for (int i = 0; i < s->record.n_visits; i++)
        n_that_day += strcmp(s->record.visits[i].date, v->date) == 0;
    if (n_that_day > 1)
        text_addf(&t, "-%d", n_that_day);
    text_format(to, n_room, "%s/report-%s.html", logbook_folder(s->lb), text_get(&t));
    text_release(&t);
}

static bool write_report(struct session *s, struct err *e)
{
    char path[1300];

    report_path(s, path, sizeof path);
    return report_job_start(s->report_job, logbook_folder(s->lb), s->engine_id, s->visit_id, s->settings.compression_rule, path, e);
}

static bool carry_out(struct session *s, struct ui *ui, const struct action *a, bool *edited, struct err *e)
{
    *edited = true;
    switch (a->type) {
    case ACT_OPEN_ENGINE:
    case ACT_OPEN_HIT: /* the visit it stands in, "" the latest */
        drop_engine(s);
        text_copy(s->engine_id, sizeof s->engine_id, a->id);
        text_copy(s->visit_id, sizeof s->visit_id, a->type == ACT_OPEN_HIT ? a->text : "");
        s->st.screen = SCREEN_PLAN;
        s->st.cylinder = 0;
        s->st.position = 0;
        s->st.found = s->st.photo = -1;
        s->st.pulling = s->st.editing_order = false;
        return true;
    case ACT_CLOSE_ENGINE: close_engine(s); return true;
    case ACT_SEARCH: {
        struct logbook_hit *hits;

        *edited = false;
        arena_reset(s->search_arena);
        s->m.n_hits = 0;
        if (!logbook_search(s->lb, a->text, SEARCH_MOST, s->search_arena, &hits, &s->m.n_hits, e))
            return false;
        s->m.hits = hits;
        ui_wake_at_s(ui, ui_now_s(ui));
        return true;
    }
    case ACT_OPEN_VISIT:
        refused_drop(&s->st, NULL);
        text_copy(s->visit_id, sizeof s->visit_id, a->id);
        s->st.found = s->st.photo = -1;
        return true;
    case ACT_NEW_VISIT:
        refused_drop(&s->st, NULL);
        s->st.panel = PANEL_VISIT;
        s->st.found = s->st.photo = -1;
        return add_visit(s, e);
    case ACT_ADD_ENGINE:
    case ACT_SAVE_ENGINE: return add_engine(s, a, e);
    case ACT_SET_VISIT_TEXT:
    case ACT_SET_REMOVAL:
    case ACT_TOGGLE_COMPLAINT: return set_visit(s, a, e);
    case ACT_SET_GAP:
    case ACT_SET_GAP_LEFT: return set_gap(s, a, e);
    case ACT_NOTE_SIGN: return note_sign(s, a, e);
    case ACT_SEE_ZONE:
        return logbook_begin(s->lb, "Looked at", e) && logbook_see_zone(s->lb, s->visit_id, a->cylinder, a->position, (enum zone)a->zone, a->flag, e) && logbook_commit(s->lb, e);
    case ACT_SET_READING_REAL: return set_reading(s, a, e);
    case ACT_REFIT:
    case ACT_REFIT_WORD:
    case ACT_SWAP_PARTS:
    case ACT_JUDGE:
    case ACT_STEP_STATE:
    case ACT_STEP_TEXT:
    case ACT_STEP_ADD:
    case ACT_STEP_MOVE:
    case ACT_TAKE_PROPOSED:
    case ACT_NEED_STATE:
    case ACT_NEED_TEXT:
    case ACT_NEED_ADD:
    case ACT_FACT_ADD:
    case ACT_FACT_TEXT:
    case ACT_CLOSE_VISIT:
    case ACT_TAKE_OUT: return job_edit(s->lb, &s->m, a, e);
    case ACT_PLACE_PHOTO:
        return logbook_begin(s->lb, "Photo placed", e) && place(s, a->id, a->cylinder, a->position, a->zone, e) && logbook_commit(s->lb, e);
    case ACT_ACCEPT_PROPOSAL: return s->m.proposal == NULL || accept(s, e);
    case ACT_TURN_PHOTO:
        return logbook_begin(s->lb, "Photo turned", e) && logbook_set_int(s->lb, "photo", a->id, "turn", a->number, e) && logbook_commit(s->lb, e);
    case ACT_REMOVE_PHOTO:
        if (!logbook_begin(s->lb, "Photo taken out", e) || !logbook_remove(s->lb, "photo", a->id, e) || !logbook_commit(s->lb, e))
            return false;
        ui_toast(ui, "The photo is taken out of this visit; its file is kept.", "Undo");
        return true;
    case ACT_PUT_MARKS: return put_marks(s, a, e);
    case ACT_REMOVE_MARK:
        return logbook_begin(s->lb, "Mark taken away", e) && logbook_remove(s->lb, "mark", a->id, e) && logbook_commit(s->lb, e);
    case ACT_SET_NOSE: return set_nose(s, a, e);
    case ACT_EXPORT_MARKS:
        *edited = false;
        return save_marked(s, a, e);
    case ACT_REMOVE_ENGINE:
        if (!logbook_begin(s->lb, "Engine taken out", e) || !logbook_remove(s->lb, "engine", a->id, e) || !logbook_commit(s->lb, e))
            return false;
        ui_toast(ui, "The engine is taken out; photo files are kept.", "Undo");
        return true;
    case ACT_ADD_FILES:
        *edited = false;
        if (s->visit_id[0] == '\0')
            return err_set(e, ERR_BADARG, "Open a visit first: photos belong to a visit.");
        intake_add(s->intake, s->visit_id, a->files);
        return true;
    case ACT_CANCEL_JOBS:
        *edited = false;
        intake_cancel(s->intake, 0);
        ui_toast(ui, "Stopped. Photos that were in already stay.", NULL);
        return true;
    case ACT_UNDO:
        if (logbook_undo_label(s->lb)[0] == '\0')
            return true;
        intake_cancel(s->intake, logbook_undo_step(s->lb)); /* the rest of what is taken back stays out */
        return logbook_undo(s->lb, e);
    case ACT_REDO: return logbook_redo_label(s->lb)[0] == '\0' || logbook_redo(s->lb, e);
    case ACT_WRITE_REPORT:
        *edited = false;
        return s->record.n_visits == 0 || write_report(s, e);
    case ACT_SET_UNITS:
        *edited = false;
        s->settings.inches = s->m.inches = !s->m.inches;
        settings_save(&s->settings);
        return true;
    case ACT_SET_TARGETS:
        *edited = false;
        s->settings.large_targets = s->m.large_targets = !s->m.large_targets;
        settings_save(&s->settings);
        return true;
    case ACT_SET_RULE:
        *edited = false;
        text_copy(s->settings.compression_rule, sizeof s->settings.compression_rule, a->text);
        settings_save(&s->settings);
        worker_set_compression_rule(s->worker, s->settings.compression_rule);
        if (s->m.record != NULL && s->record.n_visits > 0)
            worker_ask(s->worker, &s->record, ++s->asked);
        return true;
    case ACT_WATCH:
        *edited = false;
        text_copy(s->settings.watched, sizeof s->settings.watched, a->text);
        settings_save(&s->settings);
        return start_watch(s, e);
    case ACT_LIST_FOLDER:
        *edited = false;
        list_folder(s, a->text);
        ui_wake_at_s(ui, ui_now_s(ui));
        return true;
    case ACT_NONE:
    case ACT_QUIT: break;
    }
    *edited = false;
    return true;
}

bool session_apply(struct session *s, struct ui *ui, const struct actions *actions)
{
    bool changed = false, quit = false;
    struct err e;

    for (int i = 0; i < actions->n; i++) {
        const struct action *a = &actions->list[i];
        bool edited;

        if (a->type == ACT_QUIT) {
            quit = true;
            continue;
        }
        err_clear(&e);
        if (!carry_out(s, ui, a, &edited, &e)) {
            logbook_rollback(s->lb);
            if (a->field[0] == '\0')
                ui_toast(ui, e.text, NULL);
            else
                refused_note(&s->st, a, e.text);
        } else if (a->field[0] != '\0') {
            refused_drop(&s->st, a->field);
        }
        changed = changed || edited;
    }
    if (changed) {
        err_clear(&e);
        if (!reload(s, &e))
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

/* The photos of the visits in view; true when some were looked up. */
static bool load_lineup(struct session *s)
{
    bool news = false;

    for (int v = s->st.lineup_from; s->m.record != NULL && v < s->st.lineup_to && v < s->record.n_visits; v++) {
        struct visit_photos *p = &s->lineup[v];
        struct logbook_photo *photos;

        if (!p->known) {
            p->known = true;
            if (logbook_list_photos(s->lb, s->record.visits[v].id, s->engine_arena, &photos, &p->n, NULL))
                p->photos = photos;
            else
                p->n = 0;
            news = true;
        }
        intake_pictures(s->intake, p->photos, p->n, -1);
    }
    return news;
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
        }
    if (p != NULL && photo_ready(p)) {
        char path[1400];

        logbook_photo_path(s->lb, p->sha256, p->format, path, sizeof path);
        measure_question_make(&q, p, path, s->record.engine.plug.thread, s->m.marks, s->m.n_marks);
    }
    if (measure_question_same(&q, &s->measuring))
        return news;
    if (strcmp(q.photo, s->measuring.photo) != 0)
        s->m.measured = NULL;
    s->measuring = q;
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

bool session_poll(struct session *s, struct ui *ui)
{
    struct findings f;
    uint64_t number;
    bool final, news = false;
    struct err e = {0};
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
        job_edit_propose(&s->m, &s->job);
        news = true;
    }
    if (s->m.record == NULL)
        for (int i = s->st.engines_from; i < s->st.engines_to && i < (int)s->m.n_engines; i++)
            if (!s->engine_levels[i].known) {
                load_levels(s, &s->engine_levels[i], &s->m.engines[i]);
                news = true;
            }
    if (intake_poll(s->intake, s->lb, &e)) { /* photos were taken in and recorded */
        size_t n_was = s->m.n_photos;
        char(*was)[UUID_BYTES] = mem_alloc(n_was + 1, sizeof *was);

        for (size_t i = 0; i < n_was; i++)
            text_copy(was[i], UUID_BYTES, s->m.photos[i].id);
        reload(s, &e);
        note_newest(s, was, n_was);
        free(was);
        news = true;
    }
    if (report_job_take(s->report_job, &final, ended, sizeof ended)) {
        text_format(words, sizeof words, final ? "Report written: %s" : "%s", ended);
        ui_toast(ui, words, NULL);
        news = true;
    }
    if (e.text[0])
        ui_toast(ui, e.text, NULL);
    if (s->watch != NULL && s->visit_id[0] != '\0' && s->m.can_write) {
        char path[4096];
        struct text files = {0};

        while (watch_next(s->watch, path, sizeof path))
            text_addf(&files, "%s\n", path);
        intake_add(s->intake, s->visit_id, text_get(&files));
        text_release(&files);
    }
    if (s->st.panel == PANEL_FILES) {
        intake_preview(s->intake, s->st.files_preview);
        if (s->files_dir[0] != '\0' && files_folder_changed_ns(s->files_dir) != s->files_changed_ns) {
            char dir[sizeof s->files_dir];

            text_copy(dir, sizeof dir, s->files_dir);
            list_folder(s, dir);
            news = true;
        }
    } else if (s->files_dir[0] != '\0') {
        list_folder(s, "");
    }
    if (intake_progress(s->intake, &s->m.jobs_done, &s->m.jobs_all))
        news = true;
    if (logbook_changed_outside(s->lb)) {
        reload(s, &e);
        news = true;
    }
    if (s->st.screen == SCREEN_LINEUP && load_lineup(s))
        news = true;
    if (s->st.screen == SCREEN_PHOTOS && s->st.photo >= 0 && s->st.photo < (int)s->m.n_photos) {
        intake_pictures(s->intake, s->m.photos, s->m.n_photos, s->st.photo);
        if (s->st.bench.beside > 0 && s->st.bench.beside <= (int)s->m.n_photos)
            intake_pictures(s->intake, s->m.photos, s->m.n_photos, s->st.bench.beside - 1);
        intake_tiles(s->intake, &s->m.photos[s->st.photo], s->st.tiles, s->st.n_tiles);
    } else {
        intake_pictures(s->intake, s->m.photos, s->m.n_photos, -1);
        intake_tiles(s->intake, NULL, NULL, 0);
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
    return !worker_busy(s->worker) && !intake_busy(s->intake) && !measurer_busy(s->measurer) && !report_job_busy(s->report_job);
}
