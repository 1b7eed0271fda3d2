/* report_load.c - what a report is made of: the record, a reading of each visit told, steps, parts, photos. Photos
 * are decoded and encoded again, which leaves everything but the picture behind; several at a time. */
#include <math.h>
#include <pthread.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/err.h"
#include "base/files.h"
#include "base/mem.h"
#include "lineup/lineup_crop.h"
#include "logbook/cache.h"
#include "logbook/logbook.h"
#include "photo/photo.h"
#include "report/closing.h"
#include "report/report.h"
#include "report/report_marks.h"

/* Wide enough for a column on paper. 120 photos at 640 px make about 6 MB of page. */
#define EMBEDDED_QUALITY 80
#define LINEUP_VISITS 6
#define MOST_THREADS 4
#define MARKS_SEEN_PX 330.0 /* a photo is about so wide on the page: marks are drawn to be read there */

static int embedded_px(size_t n_photos)
{
    return n_photos <= 160 ? 640 : n_photos <= 400 ? 480 : 320;
}

struct picture_job { /* a photo to be made */
    struct logbook_photo photo;
    const struct lineup_plan *plan; /* NULL: its middle */
    struct report_mark *marks;      /* to be drawn, in px of the photo */
    size_t n_marks;
    struct report_picture *out;
    bool large;
    unsigned char *data;  /* preview or original, freed when decoded */
    size_t n_bytes;
    unsigned char *jpeg, *disc;
    size_t n_jpeg, n_disc;
};
struct work {
    struct picture_job *jobs;
    size_t n, n_room, next;
    int px;
    pthread_mutex_t lock; /* next */
    const atomic_bool *cancel;
};

static bool cancelled(const atomic_bool *cancel)
{
    return cancel != NULL && atomic_load(cancel);
}

/* The plug as the Line-up shows it: upright, to scale, in its corrected light, where the photo tells that. */
static void make_disc(const struct photo_pixels *p, struct picture_job *job)
{
    struct photo_pixels disc = {LINEUP_CUT_PX, LINEUP_CUT_PX, NULL};
    struct lineup_cut cut = {.rgba = NULL};

    if (job->plan != NULL && lineup_cut_make(job->plan, p, 0, &cut, NULL)) {
        disc.rgba = cut.rgba;
        job->out->to_scale = true;
        job->out->light_corrected = cut.light == LINEUP_CORRECTED;
    } else if (!lineup_middle_make(p, logbook_photo_turn_deg(&job->photo), &disc)) {
        return;
    }
    if (photo_encode_jpeg(&disc, EMBEDDED_QUALITY, &job->disc, &job->n_disc, NULL))
        job->out->disc_px = LINEUP_CUT_PX;
    photo_pixels_release(&disc);
}

static void make(struct picture_job *job, int px)
{
    struct photo_pixels p = {0};
    bool fine = job->data != NULL && photo_decode(job->data, job->n_bytes, px, NULL, &p, NULL, NULL);

    for (size_t i = 0; i < job->n_marks && fine; i++) /* to the smaller picture */
        for (int k = 0; k < job->marks[i].mark.n_points; k++) {
            job->marks[i].mark.x[k] *= (double)p.width / job->photo.width;
            job->marks[i].mark.y[k] *= (double)p.height / job->photo.height;
        }

    free(job->data);
    job->data = NULL;
    if (fine && job->out->of_plug)
        make_disc(&p, job);
    if (fine && job->large && report_marks_turn(&p, job->marks, job->n_marks, job->photo.turn, NULL) && report_marks_lean(&p, job->marks, job->n_marks, job->photo.lean_mdeg, NULL) &&
        (job->n_marks == 0 || report_marks_draw_sized(&p, job->marks, job->n_marks, (p.width > p.height ? p.width : p.height) / MARKS_SEEN_PX, NULL)) && photo_encode_jpeg(&p, EMBEDDED_QUALITY, &job->jpeg, &job->n_jpeg, NULL)) {
        job->out->width = p.width;
        job->out->height = p.height;
    }
    job->out->fine = fine;
    photo_pixels_release(&p);
}

static void *make_some(void *arg)
{
    struct work *w = arg;

    for (;;) {
        size_t i;

        pthread_mutex_lock(&w->lock);
        i = w->next++;
        pthread_mutex_unlock(&w->lock);
        if (i >= w->n || cancelled(w->cancel))
            return NULL;
        make(&w->jobs[i], w->px);
    }
}

static const unsigned char *keep(struct arena *a, unsigned char *bytes, size_t n)
{
    unsigned char *kept = bytes != NULL ? arena_alloc(a, n, 1) : NULL;

    if (kept != NULL)
        memcpy(kept, bytes, n);
    free(bytes);
    return kept;
}

static void make_all(struct logbook *lb, struct work *w, struct arena *a)
{
    struct cache *cache = cache_open(logbook_folder(lb));
    pthread_t threads[MOST_THREADS];
    long n_cores = sysconf(_SC_NPROCESSORS_ONLN);
    int n_threads = 0, most = n_cores < 1 ? 1 : n_cores < MOST_THREADS ? (int)n_cores : MOST_THREADS;

    for (size_t i = 0; i < w->n; i++) {
        struct picture_job *job = &w->jobs[i];
        char path[FILES_PATH_BYTES], *original;

        if (!cache_get(cache, job->photo.sha256, CACHE_PREVIEW, PHOTO_PREVIEW_VERSION, &job->data, &job->n_bytes) &&
            logbook_photo_path(lb, job->photo.sha256, job->photo.format, path, sizeof path) && files_read(path, PHOTO_MAX_FILE_BYTES, &original, &job->n_bytes, NULL))
            job->data = (unsigned char *)original;
    }
    cache_close(cache);
    pthread_mutex_init(&w->lock, NULL);
    photo_load_decoders();
    while (n_threads < most && pthread_create(&threads[n_threads], NULL, make_some, w) == 0)
        n_threads++;
    if (n_threads == 0)
        make_some(w);
    for (int i = 0; i < n_threads; i++)
        pthread_join(threads[i], NULL);
    pthread_mutex_destroy(&w->lock);
    for (size_t i = 0; i < w->n; i++) {
        struct picture_job *job = &w->jobs[i];

        free(job->data);
        job->out->jpeg = keep(a, job->jpeg, job->n_jpeg);
        job->out->n_bytes = job->n_jpeg;
        job->out->disc = keep(a, job->disc, job->n_disc);
        job->out->n_disc_bytes = job->n_disc;
    }
}

/* By plug, along the engine; those that belong to no plug last. */
static int compare_photos(const void *x, const void *y)
{
    const struct logbook_photo *a = x, *b = y;
    unsigned pa = (unsigned)a->cylinder, pb = (unsigned)b->cylinder; /* -1 becomes the largest */

    if (pa != pb)
        return pa < pb ? -1 : 1;
    if (a->position != b->position)
        return a->position < b->position ? -1 : 1;
    if (a->zone != b->zone)
        return a->zone < b->zone ? -1 : 1;
    return strcmp(a->taken, b->taken);
}

/* Lines of measuring are left out: what they gave stands among the readings. */
static bool by_hand(enum mark_kind kind)
{
    return kind >= MARK_PIN && kind != MARK_RULER;
}

static void take_marks(const struct logbook_mark *marks, size_t n, const char *photo, struct arena *a, struct picture_job *job, const char **said)
{
    size_t k = 0;

    *said = "";
    for (size_t i = 0; i < n; i++)
        k += strcmp(marks[i].photo, photo) == 0 && by_hand(marks[i].kind);
    if (k == 0)
        return;
    if (job != NULL)
        job->marks = arena_alloc(a, k, sizeof *job->marks);
    for (size_t i = 0; i < n; i++) {
        if (strcmp(marks[i].photo, photo) != 0 || !by_hand(marks[i].kind))
            continue;
        if (marks[i].text[0] != '\0')
            *said = arena_format(a, "%s%s%s", *said, (*said)[0] ? "; " : "", marks[i].text);
        if (job == NULL)
            continue;
        job->marks[job->n_marks].mark = marks[i];
        text_copy(job->marks[job->n_marks++].words, sizeof job->marks[0].words, marks[i].text);
    }
}

/* As it is shown, turned: a leaned one is as large as all of it needs. */
static void set_size(struct report_picture *out, const struct logbook_photo *p)
{
    double w = p->turn % 2 ? p->height : p->width, h = p->turn % 2 ? p->width : p->height, a = p->lean_mdeg / 1000.0 * 3.14159265358979 / 180;

    out->width = (int)ceil(w * fabs(cos(a)) + h * fabs(sin(a)));
    out->height = (int)ceil(w * fabs(sin(a)) + h * fabs(cos(a)));
}

/* Pictures of a visit; all of them when it is told, else those that stand for a plug. */
static bool list_pictures(struct logbook *lb, const struct record *r, int at, bool told, struct arena *a, struct work *w, struct report_picture **pictures, size_t *n, struct err *e)
{
    struct logbook_photo *photos;
    struct logbook_crop *crops;
    struct logbook_mark *marks;
    struct lineup_plan *plans;
    size_t n_photos, n_crops, n_marks;

    if (!logbook_list_photos(lb, r->visits[at].id, a, &photos, &n_photos, e) || !logbook_list_crops(lb, r->visits[at].id, a, &crops, &n_crops, e) ||
        !logbook_list_marks(lb, r->visits[at].id, a, &marks, &n_marks, e))
        return false;
    if (n_photos > 1)
        qsort(photos, n_photos, sizeof *photos, compare_photos);
    plans = arena_alloc(a, n_photos + 1, sizeof *plans);
    *pictures = arena_alloc(a, n_photos + 1, sizeof **pictures);
    *n = 0;
    for (size_t i = 0; i < n_photos; i++) {
        const struct logbook_photo *p = &photos[i];
        const struct logbook_photo *tip = p->cylinder < 0 ? NULL : lineup_pick(photos, n_photos, marks, n_marks, crops, n_crops, p->cylinder, p->position, CROP_TIP, r->engine.plug.thread, &plans[i]);
        bool of_plug = p->cylinder >= 0 && (tip != NULL ? tip : logbook_bore_photo(photos, n_photos, p->cylinder, p->position)) == p;
        struct report_picture *out;
        struct picture_job *job;

        if (!told && !of_plug)
            continue;
        out = &(*pictures)[(*n)++];
        *out = (struct report_picture){.visit = at, .cylinder = p->cylinder, .position = p->position, .zone = p->zone, .name = arena_text(a, p->name), .caption = arena_text(a, p->caption), .step = arena_text(a, p->step), .taken = arena_text(a, p->taken),
                                       .photo = p, .of_plug = of_plug, .fine = p->width > 0 && p->height > 0 && p->trouble[0] == '\0'};
        set_size(out, p);
        job = w == NULL ? NULL : arena_push(a, (void **)&w->jobs, &w->n, &w->n_room, sizeof *job);
        if (job != NULL)
            *job = (struct picture_job){.photo = *p, .plan = tip == p ? &plans[i] : NULL, .out = out, .large = told};
        take_marks(marks, n_marks, p->id, a, job, &out->said);
    }
    return true;
}

static bool read_visit(const struct record *r, const struct report_options *o, int at, struct findings *f, struct err *e)
{
    struct record until = record_until(r, at + 1);
    struct reading_options options = {.cancel = o->cancel, .units = o->ask.units};

    text_copy(options.compression_rule, sizeof options.compression_rule, o->compression_rule);
    return reading_run(&until, &options, f, e);
}

/* Steps and parts; of the latest, told alone, also what those before it left open. */
static bool load_job(struct logbook *lb, const struct report_loaded *l, const char *id, bool alone, bool latest, struct report_visit *v, struct err *e)
{
    struct arena *a = l->memory;
    struct report_watch watches[REPORT_MOST_WATCHED];
    struct logbook_step *steps, *left_steps = NULL;
    struct logbook_need *needs, *left_needs = NULL;
    size_t n_left_steps = 0, n_left_needs = 0;

    if (!logbook_list_steps(lb, id, a, &steps, &v->n_steps, e) || !logbook_list_needs(lb, id, a, &needs, &v->n_needs, e) ||
        ((alone || latest) && (!logbook_list_left_steps(lb, id, a, &left_steps, &n_left_steps, e) || !logbook_list_left_needs(lb, id, a, &left_needs, &n_left_needs, e))))
        return false;
    if (n_left_steps > 0) { /* the record's last visit is this one */
        size_t n_watches = report_watches(&l->record, l->source.verdicts, l->source.n_verdicts, watches, REPORT_MOST_WATCHED), n = n_left_steps;

        n_left_steps = closing_still_left(&l->record, left_steps, n, watches, n_watches);
        left_steps += n - n_left_steps;
    }
    if (!alone) { /* each visit tells its own; only what is in short of them all needs them */
        v->steps = steps;
        v->needs = needs;
        v->left_steps = left_steps;
        v->left_needs = left_needs;
        v->n_left_steps = n_left_steps;
        v->n_left_needs = n_left_needs;
        return true;
    }
    v->steps = arena_join(a, left_steps, n_left_steps, steps, v->n_steps, sizeof *steps);
    v->needs = arena_join(a, left_needs, n_left_needs, needs, v->n_needs, sizeof *needs);
    v->n_steps += n_left_steps;
    v->n_needs += n_left_needs;
    return true;
}

static const char *ended_with(struct logbook *lb, const char *id, struct arena *a)
{
    char words[400];

    return logbook_get_text(lb, "visit", id, "ended_with", words, sizeof words) ? arena_text(a, words) : "";
}

static bool load_visit(struct logbook *lb, const struct report_options *o, bool alone, struct report_loaded *l, struct work *w, struct report_visit *v, struct err *e)
{
    struct report_picture *pictures;

    if (!read_visit(&l->record, o, v->at, &l->findings[l->n_findings], e))
        return false;
    v->findings = &l->findings[l->n_findings++];
    if (!load_job(lb, l, l->record.visits[v->at].id, alone, v->at == l->record.n_visits - 1, v, e) ||
        !list_pictures(lb, &l->record, v->at, true, l->memory, w, &pictures, &v->n_pictures, e))
        return false;
    for (size_t i = 0; i < v->n_steps; i++) /* the log reads it of the latest visits alone */
        if (strcmp(v->steps[i].source, "dry") == 0 && strcmp(v->steps[i].state, "done") == 0 && strcmp(v->steps[i].visit, l->record.visits[v->at].id) == 0)
            l->record.visits[v->at].state.dried = true;
    v->pictures = pictures;
    v->ended_with = ended_with(lb, l->record.visits[v->at].id, l->memory);
    return true;
}

/* Those of the visits told, and of those that are only in the line-up. */
static bool gather_of_plugs(struct logbook *lb, struct report_loaded *l, const struct report_visit *visits, size_t n_visits, struct work *w, struct err *e)
{
    const struct report_picture **all = NULL;
    struct report_picture *flat;
    size_t n = 0, n_room = 0;

    for (int at = l->record.n_visits - 1; at >= 0; at--) {
        struct report_picture *pictures = NULL;
        size_t n_pictures = 0;

        for (size_t i = 0; i < n_visits; i++)
            if (visits[i].at == at)
                n_pictures = visits[i].n_pictures, pictures = (struct report_picture *)visits[i].pictures;
        if (pictures == NULL && at >= l->record.n_visits - LINEUP_VISITS && !list_pictures(lb, &l->record, at, false, l->memory, w, &pictures, &n_pictures, e))
            return false;
        for (size_t i = 0; i < n_pictures; i++)
            if (pictures[i].of_plug)
                *(const struct report_picture **)arena_push(l->memory, (void **)&all, &n, &n_room, sizeof *all) = &pictures[i];
    }
    if (w != NULL) {
        w->px = embedded_px(w->n);
        make_all(lb, w, l->memory);
    }
    flat = arena_alloc(l->memory, n + 1, sizeof *flat);
    for (size_t i = 0; i < n; i++)
        flat[i] = *all[i];
    l->source.of_plugs = flat;
    l->source.n_of_plugs = n;
    return true;
}

bool report_load(struct logbook *lb, const char *engine_id, const char *visit_id, const struct report_options *o, struct report_loaded *out, struct err *e)
{
    struct work work = {.cancel = o->cancel}, *w = o->pixels ? &work : NULL;
    struct logbook_fact *facts;
    struct logbook_verdict *verdicts;
    struct report_differ *differ = NULL;
    struct report_visit *visits;
    char latest[UUID_BYTES] = "";
    size_t n;
    bool fine, alone;

    memset(out, 0, sizeof *out);
    logbook_tell_in(lb, &o->ask.units);
    if (!logbook_load_record(lb, engine_id, visit_id, &out->record, e))
        return false;
    out->memory = arena_create();
    alone = o->ask.n_visits <= 1 && logbook_find_visit(lb, engine_id, "", latest, NULL) && strcmp(latest, visit_id) == 0;
    n = (size_t)(out->record.n_visits - report_first_told(&out->record, o->ask.n_visits));
    visits = arena_alloc(out->memory, n + 1, sizeof *visits);
    out->findings = arena_alloc(out->memory, n + 1, sizeof *out->findings);
    fine = logbook_list_facts(lb, engine_id, out->memory, &facts, &out->source.n_facts, e) && logbook_list_verdicts(lb, engine_id, out->memory, &verdicts, &out->source.n_verdicts, e) &&
           report_load_differ(lb, engine_id, &out->record, o->ask.n_visits, out->memory, &differ, &out->source.n_differ, e);
    out->source.differ = differ;
    out->source.verdicts = fine ? verdicts : NULL; /* what they tell is asked for as steps are read */
    for (size_t i = 0; i < n && fine; i++) {
        visits[i].at = out->record.n_visits - 1 - (int)i;
        fine = load_visit(lb, o, alone, out, w, &visits[i], e);
    }
    fine = fine && gather_of_plugs(lb, out, visits, n, w, e);
    if (fine && cancelled(o->cancel))
        fine = err_set(e, ERR_CANCEL, "The report was stopped.");
    if (!fine) {
        report_loaded_release(out);
        return false;
    }
    out->source.record = &out->record;
    out->source.visits = visits;
    out->source.n_visits = n;
    out->source.facts = facts;
    return true;
}

void report_loaded_release(struct report_loaded *l)
{
    for (size_t i = 0; i < l->n_findings; i++)
        findings_release(&l->findings[i]);
    record_release(&l->record);
    arena_destroy(l->memory);
    memset(l, 0, sizeof *l);
}

/* ---- marks in words ---- */

static const struct logbook_photo *photo_of(const struct logbook_photo *photos, size_t n, const char *id)
{
    for (size_t i = 0; i < n; i++)
        if (strcmp(photos[i].id, id) == 0)
            return &photos[i];
    return NULL;
}

bool report_load_marks(struct logbook *lb, const struct record *r, int n_visits, struct arena *a, struct report_marks_said **said, size_t *n, struct err *e)
{
    size_t n_room = 0;

    *said = NULL;
    *n = 0;
    for (int at = report_first_told(r, n_visits); at < r->n_visits; at++) {
        struct logbook_photo *photos;
        struct logbook_mark *marks;
        size_t n_photos, n_marks, first = *n;

        if (!logbook_list_photos(lb, r->visits[at].id, a, &photos, &n_photos, e) || !logbook_list_marks(lb, r->visits[at].id, a, &marks, &n_marks, e))
            return false;
        for (size_t i = 0; i < n_marks; i++) {
            const struct logbook_photo *p = photo_of(photos, n_photos, marks[i].photo);
            const char *kind = mark_kind_row(marks[i].kind)->label, *text = marks[i].text;
            struct report_marks_said *s = NULL;

            if (p == NULL || p->cylinder < 0)
                continue;
            for (size_t k = first; k < *n; k++)
                if ((*said)[k].cylinder == p->cylinder && (*said)[k].position == (p->position < 0 ? 0 : p->position))
                    s = &(*said)[k];
            if (s == NULL) {
                s = arena_push(a, (void **)said, n, &n_room, sizeof *s);
                *s = (struct report_marks_said){at, p->cylinder, p->position < 0 ? 0 : p->position, ""};
            }
            s->text = arena_format(a, "%s%s%s%s%s", s->text, s->text[0] ? "; " : "", kind, text[0] ? ": " : "", text);
        }
    }
    return true;
}

bool report_load_runs(struct logbook *lb, const char *engine, const struct record *r, int n_visits, struct arena *a, struct report_run **runs, size_t *n, struct err *e)
{
    size_t n_room = 0;

    *runs = NULL;
    *n = 0;
    for (int at = report_first_told(r, n_visits); at < r->n_visits; at++) {
        struct record until = record_until(r, at + 1);
        struct logbook_part *parts;
        size_t n_parts;
        bool any = false;

        for (int i = 0; i < record_plug_count(&r->engine); i++)
            any = any || (r->visits[at].readings[i].present && r->visits[at].readings[i].plug_id[0] != '\0');
        if (!any) /* no plug is followed by its own name */
            continue;
        if (!logbook_list_parts(lb, engine, &until, a, &parts, &n_parts, e))
            return false;
        for (int i = 0; i < record_plug_count(&r->engine); i++) {
            const struct reading *q = &r->visits[at].readings[i];

            for (size_t k = 0; k < n_parts && q->present && q->plug_id[0] != '\0'; k++)
                if (strcmp(parts[k].id, q->plug_id) == 0 && parts[k].run_m.given && !parts[k].run_at_least)
                    *(struct report_run *)arena_push(a, (void **)runs, n, &n_room, sizeof **runs) = (struct report_run){at, q->cylinder, q->position, parts[k].run_m.value};
        }
    }
    return true;
}

bool report_load_answered(struct logbook *lb, const char *engine, const char *visit, struct report_answered *out, struct err *e)
{
    struct arena *a = arena_create();
    struct report_watch watches[REPORT_MOST_WATCHED];
    struct logbook_verdict *verdicts;
    struct logbook_step *lists[2];
    size_t n[2], n_verdicts, n_watches, n_left;
    struct record r;
    int n_undone = 0, n_open = 0;
    bool any = false, fine = logbook_list_left_steps(lb, visit, a, &lists[0], &n[0], e) && logbook_list_steps(lb, visit, a, &lists[1], &n[1], e) && logbook_list_verdicts(lb, engine, a, &verdicts, &n_verdicts, e);

    memset(out, 0, sizeof *out);
    for (int k = 0; k < 2 && fine; k++)
        for (size_t i = 0; i < n[k]; i++) {
            if (closing_is_done(&lists[k][i]))
                continue;
            n_undone++;
            any = any || lists[k][i].source[0] != '\0'; /* a person's own nothing answers */
        }
    if (!fine || !any || !logbook_load_record(lb, engine, visit, &r, e)) {
        arena_destroy(a);
        return fine && !any;
    }
    n_watches = report_watches(&r, verdicts, n_verdicts, watches, REPORT_MOST_WATCHED);
    n_left = closing_still_left(&r, lists[0], n[0], watches, n_watches);
    lists[0] += n[0] - n_left; /* the others a visit between answered */
    n[0] = n_left;
    for (int k = 0; k < 2; k++)
        for (size_t i = 0; i < n[k]; i++) {
            if (closing_is_open(&r, &lists[k][i], watches, n_watches) && n_open++ == 0)
                text_copy(out->next, sizeof out->next, lists[k][i].text);
        }
    out->n = n_undone - n_open;
    record_release(&r);
    arena_destroy(a);
    return true;
}
