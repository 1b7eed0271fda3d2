#include "app/intake.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/err.h"
#include "base/files.h"
#include "base/mem.h"
#include "base/text.h"
#include "logbook/cache.h"
#include "photo/place.h"
#include "photo/pool.h"

enum { TAG_IMPORT = 1, TAG_SMALL, TAG_LARGE };

struct waiting { /* a picture asked for */
    uint64_t key;
};

struct intake {
    struct photo_pool *pool;
    struct cache *cache;
    char folder[1024], photos_folder[1100];
    char visit[UUID_BYTES]; /* of the imports under way */
    struct session_pictures pictures;
    struct waiting *waiting;
    size_t n_waiting, waiting_room;
    uint64_t *failed;       /* pictures that cannot be had: not asked for again */
    size_t n_failed, failed_room;
    int done, all, generation;
    int64_t sort;
};

struct intake *intake_create(const char *folder, void (*wake)(void *ctx), void *ctx)
{
    struct intake *in = mem_alloc(1, sizeof *in);
    struct photo_pool_options o = {.wake = wake, .wake_arg = ctx};

    text_copy(in->folder, sizeof in->folder, folder);
    text_format(in->photos_folder, sizeof in->photos_folder, "%s/photos", folder);
    in->pool = photo_pool_create(&o, NULL);
    if (in->pool == NULL) {
        free(in);
        return NULL;
    }
    in->cache = cache_open(folder);
    return in;
}

void intake_destroy(struct intake *in)
{
    if (in == NULL)
        return;
    photo_pool_destroy(in->pool);
    cache_close(in->cache);
    free(in->waiting);
    free(in->failed);
    free(in);
}

void intake_set_pictures(struct intake *in, struct session_pictures p)
{
    in->pictures = p;
}

/* ---- imports ---- */

void intake_add(struct intake *in, const char *visit_id, const char *files)
{
    const char *at = files;

    text_copy(in->visit, sizeof in->visit, visit_id);
    while (at != NULL && *at != '\0') {
        char path[4096];
        size_t n = strcspn(at, "\n");
        struct photo_job job = {.work = PHOTO_WORK_IMPORT, .path = path, .keep_folder = in->photos_folder, .tag = TAG_IMPORT};

        if (n > 0 && n < sizeof path) {
            memcpy(path, at, n);
            path[n] = '\0';
            job.generation = in->generation;
            photo_pool_submit(in->pool, &job);
            in->all++;
        }
        at += n + (at[n] == '\n');
    }
}

void intake_cancel(struct intake *in)
{
    photo_pool_cancel_generation(in->pool, in->generation++);
    in->all = in->done = 0;
}

static bool record_one(struct intake *in, struct logbook *lb, const struct photo_result *r, struct err *e)
{
    struct logbook_photo p = {.cylinder = -1, .position = -1, .zone = -1};

    text_copy(p.visit, sizeof p.visit, in->visit);
    text_copy(p.sha256, sizeof p.sha256, r->sha256);
    text_copy(p.name, sizeof p.name, files_name(r->path));
    text_sanitize(p.name, sizeof p.name);
    text_copy(p.format, sizeof p.format, photo_format_id(r->info.format));
    text_copy(p.taken, sizeof p.taken, r->info.taken);
    p.offset_given = r->info.offset_given;
    p.offset_min = r->info.offset_min;
    p.width = r->info.width;
    p.height = r->info.height;
    p.sort = ++in->sort;
    logbook_photo_id(in->visit, r->sha256, p.id);
    if (logbook_is_there(lb, "photo", p.id))
        return true; /* the same file twice is one photo */
    return logbook_put_photo(lb, &p, e);
}

static bool record_damaged(struct intake *in, struct logbook *lb, const struct photo_result *r, struct err *e)
{
    struct logbook_photo p = {.cylinder = -1, .position = -1, .zone = -1};

    if (!logbook_keep_original(in->folder, r->path, &p, e))
        return false;
    text_copy(p.visit, sizeof p.visit, in->visit);
    text_copy(p.trouble, sizeof p.trouble, r->err.text);
    p.sort = ++in->sort;
    logbook_photo_id(in->visit, p.sha256, p.id);
    return logbook_is_there(lb, "photo", p.id) || logbook_put_photo(lb, &p, e);
}

static void forget_waiting(struct intake *in, uint64_t key)
{
    for (size_t i = 0; i < in->n_waiting; i++)
        if (in->waiting[i].key == key) {
            in->waiting[i] = in->waiting[--in->n_waiting];
            return;
        }
}

static bool was_failed(const struct intake *in, uint64_t key)
{
    for (size_t i = 0; i < in->n_failed; i++)
        if (in->failed[i] == key)
            return true;
    return false;
}

static void note_failed(struct intake *in, uint64_t key)
{
    if (in->n_failed == in->failed_room) {
        in->failed_room = in->failed_room ? in->failed_room * 2 : 16;
        in->failed = mem_resize(in->failed, in->failed_room, sizeof *in->failed);
    }
    in->failed[in->n_failed++] = key;
}

/* Results that wait: imports are recorded together, pictures handed on. A few at a time, so that no
 * frame waits for a hundred. */
bool intake_poll(struct intake *in, struct logbook *lb, struct err *e)
{
    struct photo_result r;
    bool in_change = false, fine = true;
    int n = 0;

    while (n < 4 && photo_pool_next(in->pool, &r)) {
        n++;
        if (r.tag == TAG_IMPORT) {
            if (r.generation != in->generation) {
                photo_result_release(&r);
                continue;
            }
            in->done++;
            if (!r.ok && r.err.code == ERR_FORMAT && r.sha256[0] != '\0') {
                /* Damaged, but a file: it is kept as it is, and its tile says what is wrong with it. */
                if (!in_change)
                    fine = in_change = logbook_begin(lb, "Photos added", e);
                fine = fine && record_damaged(in, lb, &r, e);
            } else if (!r.ok) {
                if (r.err.code != ERR_CANCEL && e->text[0] == '\0')
                    err_set(e, r.err.code, "%s was not taken in. %s", files_name(r.path), r.err.text);
            } else {
                if (r.thumb_jpeg != NULL)
                    cache_put(in->cache, r.sha256, CACHE_THUMB, PHOTO_PREVIEW_VERSION, r.thumb_jpeg, r.n_thumb_jpeg);
                if (r.preview_jpeg != NULL)
                    cache_put(in->cache, r.sha256, CACHE_PREVIEW, PHOTO_PREVIEW_VERSION, r.preview_jpeg, r.n_preview_jpeg);
                if (in->pictures.put != NULL && r.rgba != NULL)
                    in->pictures.put(in->pictures.ctx, photo_key(r.sha256, false), r.rgba, r.width, r.height);
                if (!in_change)
                    fine = in_change = logbook_begin(lb, in->all == 1 ? "Photo added" : "Photos added", e);
                fine = fine && record_one(in, lb, &r, e);
            }
        } else { /* a picture for the window; its key is the ticket's tag shifted in */
            uint64_t key = r.tag;

            forget_waiting(in, key);
            if (r.ok && in->pictures.put != NULL)
                in->pictures.put(in->pictures.ctx, key, r.rgba, r.width, r.height);
            else if (!r.ok)
                note_failed(in, key);
        }
        photo_result_release(&r);
    }
    if (in_change) {
        if (fine)
            fine = logbook_commit(lb, e);
        if (!fine)
            logbook_rollback(lb);
    }
    if (in->all > 0 && in->done >= in->all)
        in->all = in->done = 0;
    return n > 0 && in_change && fine;
}

bool intake_progress(struct intake *in, int *done, int *all)
{
    bool changed = *done != in->done || *all != in->all;

    *done = in->done;
    *all = in->all;
    return changed;
}

/* ---- pictures for the window ---- */

static void note_waiting(struct intake *in, uint64_t key)
{
    if (in->n_waiting == in->waiting_room) {
        in->waiting_room = in->waiting_room ? in->waiting_room * 2 : 32;
        in->waiting = mem_resize(in->waiting, in->waiting_room, sizeof *in->waiting);
    }
    in->waiting[in->n_waiting++].key = key;
}

static void ask(struct intake *in, const struct logbook_photo *p, bool large)
{
    uint64_t key = photo_key(p->sha256, large);
    unsigned char *jpeg = NULL;
    size_t n_bytes = 0;
    char path[1400];
    struct photo_job job = {.work = PHOTO_WORK_DECODE, .urgent = true, .tag = key};

    for (size_t i = 0; i < in->n_waiting; i++)
        if (in->waiting[i].key == key)
            return;
    if (was_failed(in, key))
        return;
    text_format(path, sizeof path, "%s/%s.%s", in->photos_folder, p->sha256, p->format);
    job.max_px = large ? 2400 : PHOTO_THUMB_PX;
    if (!large && cache_get(in->cache, p->sha256, CACHE_THUMB, PHOTO_PREVIEW_VERSION, &jpeg, &n_bytes)) {
        job.bytes = jpeg;
        job.n_bytes = n_bytes;
    } else {
        job.path = path;
    }
    photo_pool_submit(in->pool, &job);
    free(jpeg);
    note_waiting(in, key);
}

void intake_preview(struct intake *in, const char *path)
{
    uint64_t key = photo_file_key(path);
    struct photo_job job = {.work = PHOTO_WORK_DECODE, .path = path, .max_px = PHOTO_THUMB_PX, .urgent = true, .tag = key};

    for (size_t i = 0; i < in->n_waiting; i++)
        if (in->waiting[i].key == key)
            return;
    if (path[0] == '\0' || in->pictures.has == NULL || in->pictures.has(in->pictures.ctx, key) || was_failed(in, key))
        return;
    photo_pool_submit(in->pool, &job);
    note_waiting(in, key);
}

bool intake_pictures(struct intake *in, const struct logbook_photo *photos, size_t n, int large)
{
    if (in->pictures.has == NULL)
        return false;
    for (size_t i = 0; i < n; i++) {
        if (photos[i].trouble[0] != '\0' || photos[i].width <= 0)
            continue;
        if (!in->pictures.has(in->pictures.ctx, photo_key(photos[i].sha256, false)))
            ask(in, &photos[i], false);
        if ((int)i == large && !in->pictures.has(in->pictures.ctx, photo_key(photos[i].sha256, true)))
            ask(in, &photos[i], true);
    }
    return false;
}

bool intake_busy(struct intake *in)
{
    struct photo_pool_counts c;

    photo_pool_count(in->pool, &c);
    return c.n_waiting + c.n_running > 0 || in->n_waiting > 0 || in->all > 0;
}

/* ---- where they would go ---- */

void intake_propose(const struct record *r, const struct logbook_photo *photos, size_t n, struct arena *a,
                    const struct photo_proposal **proposal, const char **why)
{
    const struct engine *en = &r->engine;
    const struct visit *v = record_current(r);
    struct place_photo *given = arena_alloc(a, n, sizeof *given);
    struct place_choice *choices = arena_alloc(a, n, sizeof *choices);
    struct place_seat *seats = arena_alloc(a, ENGINE_MAX_PLUGS, sizeof *seats);
    struct photo_proposal *out = arena_alloc(a, n, sizeof *out);
    size_t *which = arena_alloc(a, n, sizeof *which), n_given = 0, n_seats = 0;
    char *sentence = arena_alloc(a, 300, 1);
    struct place_pass passes[3] = {{.zone = ZONE_WELL, .one = "well", .many = "wells"},
                                   {.zone = ZONE_COIL, .one = "coil", .many = "coils"},
                                   {.zone = ZONE_FIRING_END, .one = "plug", .many = "plugs"}};

    *proposal = NULL;
    *why = "";
    for (size_t i = 0; i < n; i++) {
        out[i].cylinder = -1;
        if (photos[i].cylinder >= 0 || n_given == PLACE_MAX_PHOTOS)
            continue;
        given[n_given].time_given = place_parse_time(photos[i].taken, &given[n_given].taken_s);
        given[n_given].name = photos[i].name;
        which[n_given++] = i;
    }
    if (n_given == 0)
        return;
    if (v->n_removal > 0)
        for (int i = 0; i < v->n_removal; i++)
            seats[n_seats++] = (struct place_seat){v->removal[i] / ENGINE_MAX_POSITIONS, v->removal[i] % ENGINE_MAX_POSITIONS};
    for (int p = 0; p < 3; p++) {
        if (passes[p].zone == ZONE_WELL && en->access == ENGINE_ACCESS_OPEN)
            continue;
        if (passes[p].zone == ZONE_COIL && en->ignition != ENGINE_COIL_PER_PLUG)
            continue;
        passes[p].seats = seats;
        passes[p].n_seats = n_seats;
    }
    if (place_propose(given, n_given, passes, 3, choices, sentence, 300) == PLACE_PROPOSED)
        for (size_t k = 0; k < n_given; k++)
            if (choices[k].pass >= 0) {
                const struct place_pass *pass = &passes[choices[k].pass];

                out[which[k]] = (struct photo_proposal){pass->seats[choices[k].seat].cylinder, pass->seats[choices[k].seat].position, pass->zone};
            }
    *proposal = out;
    *why = sentence;
}
