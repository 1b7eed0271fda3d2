#include "app/session_work.h"

#include <stdlib.h>
#include <string.h>

#include "app/job_edit.h"
#include "base/mem.h"
#include "base/text.h"
#include "report/closing.h"
#include "screen/photo_days.h"
#include "screen/refused.h"

static void know_levels(struct session *s, struct engine_levels *levels, const struct logbook_engine *e)
{
    enum level worst[ENGINE_MAX_CYLINDERS];
    struct record r;
    struct ready ready;

    if (e->n_visits > 0 && !logbook_load_latest(s->lb, e->id, &r, NULL)) /* another copy writes just now: asked again */
        return;
    levels->known = true;
    if (e->n_visits == 0)
        return;
    if (r.n_visits == 0) { /* taken out by a command meanwhile */
        record_release(&r);
        return;
    }
    const struct visit *v = record_current(&r);

    ready_of(&r, &ready);
    ready_brief(&ready, levels->not_ready, sizeof levels->not_ready);
    reading_levels(&r, worst);
    for (int c = 0; c < r.engine.n_cylinders; c++)
        levels->level[c] = (uint8_t)worst[c];
    for (int i = 0; i < record_plug_count(&r.engine); i++) {
        const struct reading *q = &v->readings[i];

        if (q->zone_seen[ZONE_FIRING_END] && !levels->read[q->cylinder])
            levels->nose[q->cylinder] = bore_look_of(q, q->cylinder).nose;
        levels->read[q->cylinder] = levels->read[q->cylinder] || q->zone_seen[ZONE_FIRING_END];
    }
    record_release(&r);
}

bool session_levels_in_view(struct session *s)
{
    const int to = s->st.engines_to > 0 ? s->st.engines_to : 8; /* before the first frame: what a screen holds at most */
    bool news = false;

    for (int i = s->st.engines_from; i < to && i < (int)s->m.n_engines; i++)
        if (!s->engine_levels[i].known) {
            know_levels(s, &s->engine_levels[i], &s->m.engines[i]);
            news = news || s->engine_levels[i].known;
        }
    return news;
}

void session_count_open(struct session *s, struct engine_levels *levels, const struct logbook_engine *e)
{
    struct report_answered answered;

    levels->counted = true;
    if (e->n_open_steps > 0 && e->n_visits > 0 && report_load_answered(s->lb, e->id, e->last_visit, &answered, NULL)) {
        levels->n_answered = answered.n;
        text_copy(levels->next_step, sizeof levels->next_step, answered.next);
    }
}

/* What was looked up of the engines stands where nothing was edited since, on the same day; *ids: whose it is. The caller frees both. */
static struct engine_levels *levels_that_stand(const struct session *s, int64_t now, const char *today, char (**ids)[UUID_BYTES])
{
    struct engine_levels *kept;

    *ids = NULL;
    if (s->m.n_engines == 0 || s->levels_to != now || strcmp(s->levels_day, today) != 0)
        return NULL;
    kept = mem_alloc(s->m.n_engines, sizeof *kept);
    *ids = mem_alloc(s->m.n_engines, sizeof **ids);
    for (size_t i = 0; i < s->m.n_engines; i++) {
        kept[i] = s->engine_levels[i];
        text_copy((*ids)[i], UUID_BYTES, s->m.engines[i].id);
    }
    return kept;
}

static bool load_engines(struct session *s, struct err *e)
{
    const int64_t now = logbook_last_change(s->lb);
    struct logbook_engine *engines = NULL;
    struct engine_levels *levels, *kept;
    size_t n = 0, n_kept = s->m.n_engines;
    char (*ids)[UUID_BYTES], today[11];

    clock_today(today);
    kept = levels_that_stand(s, now, today, &ids);
    s->levels_to = now;
    text_copy(s->levels_day, sizeof s->levels_day, today);
    arena_reset(s->engines_arena);
    s->m.n_engines = 0;
    if (!logbook_list_engines(s->lb, s->engines_arena, &engines, &n, e)) {
        free(kept);
        free(ids);
        return false;
    }
    levels = arena_alloc(s->engines_arena, n ? n : 1, sizeof *levels);
    for (size_t i = 0; i < n && kept != NULL; i++)
        for (size_t k = 0; k < n_kept; k++)
            if (strcmp(ids[(i + k) % n_kept], engines[i].id) == 0) { /* most often at the same place */
                levels[i] = kept[(i + k) % n_kept];
                levels[i].counted = false; /* in the units told now */
                break;
            }
    free(kept);
    free(ids);
    s->m.n_all_visits = 0;
    for (size_t i = 0; i < n; i++)
        s->m.n_all_visits += (size_t)engines[i].n_visits;
    s->m.engines = engines;
    s->engine_levels = levels;
    s->m.engine_levels = levels;
    s->m.n_engines = n;
    (void)session_levels_in_view(s); /* now, not behind the next frame: an engine is not shown without its warning */
    return true;
}

static void forget_left(struct session *s)
{
    record_release(&s->left);
    s->left_engine[0] = '\0';
}

void session_drop_engine(struct session *s)
{
    refused_drop(&s->st, NULL);
    if (s->m.record != NULL) {
        forget_left(s);
        s->left = s->record;
        s->left_to = s->read_to;
        clock_today(s->left_day);
        text_copy(s->left_engine, sizeof s->left_engine, s->engine_id);
        memset(&s->record, 0, sizeof s->record);
    }
    if (s->m.findings != NULL)
        findings_release(&s->findings);
    s->m.record = NULL;
    s->m.wear = NULL;
    s->m.lineup = NULL;
    s->m.findings = NULL;
    s->m.n_visits = s->m.n_photos = s->m.n_marks = s->m.n_crops = s->m.n_facts = s->m.n_steps = s->m.n_needs = s->m.n_verdicts = s->m.n_watches = s->m.n_swaps = s->m.n_parts = s->m.n_left_steps = s->m.n_left_needs = 0;
    s->m.proposal = NULL;
    memset(s->m.cylinder_level, 0, sizeof s->m.cylinder_level);
}

void session_close_engine(struct session *s)
{
    session_drop_engine(s);
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

    s->m.book = &s->refit;
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
    s->m.n_left_steps = closing_still_left(&s->record, (struct logbook_step *)s->m.steps - s->m.n_left_steps, s->m.n_left_steps, s->watches, s->m.n_watches);
    s->m.n_swaps = report_swaps(&s->record, s->swaps, REPORT_MOST_WATCHED);
    s->m.job = &s->job;
    job_edit_propose(&s->m, &s->job);
}

/* The visit's own steps and parts, with what earlier visits left open before them when it is the latest. */
static bool load_job_rows(struct session *s, bool latest, struct arena *a, struct model *to, struct err *e)
{
    struct logbook_step *left_steps = NULL, *steps;
    struct logbook_need *left_needs = NULL, *needs;

    if (!logbook_list_steps(s->lb, s->visit_id, a, &steps, &to->n_steps, e) || !logbook_list_needs(s->lb, s->visit_id, a, &needs, &to->n_needs, e) ||
        (latest && (!logbook_list_left_steps(s->lb, s->visit_id, a, &left_steps, &to->n_left_steps, e) ||
                    !logbook_list_left_needs(s->lb, s->visit_id, a, &left_needs, &to->n_left_needs, e))))
        return false;
    to->steps = (struct logbook_step *)arena_join(a, left_steps, to->n_left_steps, steps, to->n_steps, sizeof *steps) + to->n_left_steps;
    to->needs = (struct logbook_need *)arena_join(a, left_needs, to->n_left_needs, needs, to->n_needs, sizeof *needs) + to->n_left_needs;
    return true;
}

void session_ask_findings(struct session *s)
{
    struct worker_settings told = {.units = settings_units(&s->settings)};

    text_copy(told.compression_rule, sizeof told.compression_rule, s->settings.compression_rule);
    worker_set(s->worker, &told);
    if (s->m.record != NULL && s->record.n_visits > 0)
        worker_ask(s->worker, &s->record, ++s->asked);
}

/* Photos are kept by their places in the list, which others come into: the one chosen, the one compared with. One that
 * is gone leaves its place to the next on Photos, on the plan to none. */
static void keep_photos(struct session *s, const struct logbook_photo *photos, size_t n)
{
    int *kept[2] = {&s->st.photo, &s->st.bench.beside}, was[2] = {s->st.photo, s->st.bench.beside - 1};

    for (int k = 0; k < 2; k++) {
        bool found = false;

        if (was[k] < 0 || was[k] >= (int)s->m.n_photos)
            continue;
        for (size_t i = 0; i < n && !found; i++)
            if (strcmp(photos[i].id, s->m.photos[was[k]].id) == 0) {
                *kept[k] = (int)i + k; /* the one compared with is counted from 1 */
                found = true;
            }
        if (!found && (k == 1 || s->st.screen == SCREEN_PLAN))
            *kept[k] = k == 0 ? -1 : 0;
    }
}

/* The engine is opened again, at the same visit: what was read of it before, with what was edited since. taken: it is in *r. */
static bool take_left(struct session *s, struct record *r, bool *taken, struct err *e)
{
    const int64_t now = logbook_last_change(s->lb);
    char today[11];

    clock_today(today);
    *taken = strcmp(s->left_engine, s->engine_id) == 0 && s->left.n_visits > 0 && strcmp(record_current(&s->left)->id, s->visit_id) == 0 && strcmp(today, s->left_day) == 0 && s->left_to <= now;
    s->wear_stands = *taken && s->left_to == now;
    if (*taken && s->left_to != now && !logbook_refresh_record(s->lb, s->engine_id, s->left_to, &s->left, taken, e))
        return false;
    if (*taken) {
        *r = s->left;
        memset(&s->left, 0, sizeof s->left);
    }
    forget_left(s);
    return true;
}

/* Its record in *r: anew from the disk, or, where an edit touched no more than the visit shown, that visit alone; then *r is
 * the session's own. */
static bool load_record(struct session *s, bool whole, struct record *r, struct err *e)
{
    bool fresh = false;

    s->wear_stands = false;
    if (!whole && s->m.record != NULL && s->record.n_visits > 0 && strcmp(record_current(&s->record)->id, s->visit_id) == 0 &&
        !logbook_refresh_record(s->lb, s->engine_id, s->read_to, &s->record, &fresh, e))
        return false;
    if (s->m.record == NULL) {
        bool taken;

        if (!take_left(s, r, &taken, e))
            return false;
        if (taken)
            return true;
    }
    if (!fresh)
        return logbook_load_record(s->lb, s->engine_id, s->visit_id[0] ? s->visit_id : NULL, r, e);
    record_share(r, &s->record);
    return true;
}

bool session_load_engine(struct session *s, bool whole, struct err *e)
{
    const int64_t read_to = logbook_last_change(s->lb); /* what is written meanwhile is read again */
    struct arena *a = arena_create();
    struct logbook_visit *visits;
    struct logbook_photo *photos = NULL;
    struct logbook_mark *marks = NULL;
    struct logbook_crop *crops = NULL;
    struct logbook_fact *facts;
    struct model rows = {0}; /* its steps and parts only */
    struct logbook_verdict *verdicts;
    struct logbook_part *parts;
    size_t n_parts, n_visits, n_photos = 0, n_marks = 0, n_crops = 0, n_facts, n_verdicts;
    bool there = false;
    struct record r;

    if (!logbook_list_visits(s->lb, s->engine_id, a, &visits, &n_visits, e))
        goto failed;
    for (size_t i = 0; i < n_visits; i++)
        there = there || strcmp(visits[i].id, s->visit_id) == 0;
    if (!there)
        text_copy(s->visit_id, sizeof s->visit_id, n_visits ? visits[logbook_latest_visit(visits, n_visits)].id : "");
    if ((s->visit_id[0] && (!logbook_list_photos(s->lb, s->visit_id, a, &photos, &n_photos, e) || !logbook_list_marks(s->lb, s->visit_id, a, &marks, &n_marks, e) ||
                            !logbook_list_crops(s->lb, s->visit_id, a, &crops, &n_crops, e))) ||
        !logbook_list_facts(s->lb, s->engine_id, a, &facts, &n_facts, e) ||
        (s->visit_id[0] && !load_job_rows(s, strcmp(visits[logbook_latest_visit(visits, n_visits)].id, s->visit_id) == 0, a, &rows, e)) ||
        !logbook_list_verdicts(s->lb, s->engine_id, a, &verdicts, &n_verdicts, e) ||
        !load_record(s, whole, &r, e))
        goto failed;
    if (!logbook_list_parts(s->lb, s->engine_id, &r, a, &parts, &n_parts, e)) {
        record_release(&r);
        goto failed;
    }
    /* All of it is there: only now does it take the place of what was shown. */
    keep_photos(s, photos, n_photos);
    if (s->m.record != NULL)
        record_release(&s->record);
    arena_destroy(s->engine_arena);
    s->engine_arena = a;
    s->record = r;
    s->read_to = read_to;
    s->m.record = &s->record;
    ready_of(&s->record, &s->ready);
    s->m.ready = &s->ready;
    s->m.wear = r.n_visits > 0 ? &s->wear : NULL;
    if (r.n_visits > 0 && !s->wear_stands)
        wear_of(&s->record, &s->wear);
    s->lineup = arena_alloc(a, (size_t)r.n_visits + 1, sizeof *s->lineup);
    s->m.lineup = s->lineup;
    s->m.visits = visits;
    s->m.n_visits = n_visits;
    s->m.photos = photos;
    s->m.n_photos = n_photos;
    s->m.marks = marks;
    s->m.n_marks = n_marks;
    s->m.crops = crops;
    s->m.n_crops = n_crops;
    s->m.facts = facts;
    s->m.n_facts = n_facts;
    s->m.steps = rows.steps;
    s->m.n_steps = rows.n_steps;
    s->m.n_left_steps = rows.n_left_steps;
    s->m.needs = rows.needs;
    s->m.n_needs = rows.n_needs;
    s->m.n_left_needs = rows.n_left_needs;
    s->m.verdicts = verdicts;
    s->m.n_verdicts = n_verdicts;
    s->m.parts = parts;
    s->m.n_parts = n_parts;
    s->m.engine_id = s->engine_id;
    s->m.visit_id = s->visit_id;
    s->loaded++;
    propose(s);
    see_job(s);
    session_ask_findings(s);
    return true;
failed:
    arena_destroy(a);
    return false;
}

void session_note_newest(struct session *s, char (*was)[UUID_BYTES], size_t n_was)
{
    int n_new = 0, done = 0, all = 0;

    for (size_t i = 0; i < s->m.n_photos; i++) {
        bool old = false;

        for (size_t k = 0; k < n_was && !old; k++)
            old = strcmp(was[k], s->m.photos[i].id) == 0;
        if (old)
            continue;
        text_copy(s->st.newest, sizeof s->st.newest, s->m.photos[i].id);
        n_new++;
        if (photo_is_of_another_day(&s->m, &s->m.photos[i]) && strstr(s->settings.photos_here, s->visit_id) != NULL) { /* asked of these */
            settings_photos_here(&s->settings, s->visit_id, false);
            settings_save(&s->settings);
        }
    }
    s->st.newest_with = (s->st.newest_goes_on ? s->st.newest_with : 0) + n_new;
    (void)intake_progress(s->intake, &done, &all);
    s->st.newest_goes_on = done < all;
}

static void load_conflicts(struct session *s)
{
    struct logbook_conflict *list = NULL;

    arena_reset(s->conflicts_arena);
    s->m.n_conflicts = 0;
    if (logbook_count_conflicts(s->lb) > 0 && logbook_list_conflicts(s->lb, s->conflicts_arena, &list, &s->m.n_conflicts, NULL))
        s->m.conflicts = list;
}

static void refresh_labels(struct session *s)
{
    s->m.merged_last = logbook_last_merge(s->lb, &s->m.last_merge);
    text_format(s->merge_label, sizeof s->merge_label, "merge of “%s”", TEXT_SHORT(s->m.last_merge.other, 60));
    s->m.undo_label = s->m.merged_last && s->m.last_merge.why_not[0] == '\0' ? s->merge_label : logbook_undo_label(s->lb);
    if (logbook_merge_to_redo(s->lb, s->redo_merge, sizeof s->redo_merge))
        text_format(s->redo_merge_label, sizeof s->redo_merge_label, "merge of “%s”", TEXT_SHORT(files_name(s->redo_merge), 60));
    s->m.redo_label = s->redo_merge[0] != '\0' ? s->redo_merge_label : logbook_redo_label(s->lb);
}

bool session_reload(struct session *s, bool whole, struct err *e)
{
    const struct unit_choice units = settings_units(&s->settings);
    bool fine;

    if (whole) /* another took its place, perhaps an older one */
        forget_left(s);
    logbook_tell_in(s->lb, &units);
    fine = s->engine_id[0] != '\0' ? session_load_engine(s, whole, e) : load_engines(s, e); /* what is on the screen */
    if (!fine && s->engine_id[0] != '\0' && e->code == ERR_NOTFOUND) { /* taken back, or out by a command: nothing is noted of it */
        session_close_engine(s);
        fine = load_engines(s, e);
    }

    refresh_labels(s);
    load_conflicts(s);
    return fine;
}
