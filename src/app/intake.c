#include "app/intake.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "app/cuts.h"
#include "base/err.h"
#include "base/files.h"
#include "base/mem.h"
#include "base/text.h"
#include "logbook/cache.h"
#include "photo/pool.h"
#include "placing/old_photos.h"
#include "placing/placing.h"

struct keys { /* a handful of pictures */
    uint64_t *list;
    size_t n, n_room;
};

struct drop { /* files that came at once: one undo step */
    int number;       /* generation of its jobs, from 1 */
    char visit[UUID_BYTES], job_step[UUID_BYTES];
    int64_t step;     /* 0: nothing recorded yet */
    int n_all, n_left;
    bool cancelled;
    int n_refused;
    struct err refused; /* of the first refused */
    struct old_photos *old; /* a folder's: where each goes; NULL: all into `visit` */
    struct arena *arena;    /* it lives in */
    char engine[UUID_BYTES];
    uint64_t first_file;    /* tag of its first */
};

/* A view that is being made sharp. */
struct view {
    uint64_t tiles[PHOTO_VIEW_MAX_TILES]; /* keys */
    size_t n;
    int generation; /* of its jobs, below 0, even for the first */
};

struct intake {
    struct photo_pool *pool;
    struct cache *cache;
    char photos_folder[1100];
    struct drop *drops; /* under way */
    size_t n_drops, n_drops_room;
    int last_drop;
    struct cuts *cuts;
    struct session_pictures pictures;
    struct keys waiting; /* pictures asked for */
    struct keys failed;  /* pictures that cannot be had: not asked for again */
    struct view views[2]; /* of the photo shown, of the one compared with it */
    uint64_t last_file; /* files keep the order they came in */
};

struct intake *intake_create(const char *folder, void (*wake)(void *ctx), void *ctx)
{
    struct intake *in = mem_alloc(1, sizeof *in);
    struct photo_pool_options o = {.wake = wake, .wake_arg = ctx};

    text_format(in->photos_folder, sizeof in->photos_folder, "%s/photos", folder);
    in->pool = photo_pool_create(&o, NULL);
    in->cuts = in->pool != NULL ? cuts_create(wake, ctx) : NULL;
    if (in->cuts == NULL) {
        photo_pool_destroy(in->pool);
        free(in);
        return NULL;
    }
    in->views[0].generation = -2; /* those of files being taken in are above 0, none is 0 */
    in->views[1].generation = -1;
    in->cache = cache_open(folder);
    return in;
}

void intake_destroy(struct intake *in)
{
    if (in == NULL)
        return;
    photo_pool_destroy(in->pool);
    cuts_destroy(in->cuts);
    cache_close(in->cache);
    free(in->waiting.list);
    free(in->failed.list);
    for (size_t i = 0; i < in->n_drops; i++)
        arena_destroy(in->drops[i].arena);
    free(in->drops);
    free(in);
}

void intake_set_pictures(struct intake *in, struct session_pictures p)
{
    in->pictures = p;
}

/* ---- imports ---- */

static struct drop *begin_drop(struct intake *in, const char *visit_id, const char *job_step)
{
    struct drop *d;

    if (in->n_drops == in->n_drops_room) {
        in->n_drops_room = in->n_drops_room ? in->n_drops_room * 2 : 4;
        in->drops = mem_resize(in->drops, in->n_drops_room, sizeof *in->drops);
    }
    d = &in->drops[in->n_drops++];
    *d = (struct drop){.number = ++in->last_drop};
    text_copy(d->visit, sizeof d->visit, visit_id);
    text_copy(d->job_step, sizeof d->job_step, job_step);
    return d;
}

void intake_add(struct intake *in, const char *visit_id, const char *job_step, const char *files)
{
    struct drop *d = NULL;
    const char *at = files;

    while (at != NULL && *at != '\0') {
        char path[4096];
        size_t n = strcspn(at, "\n");

        if (n > 0 && n < sizeof path) {
            if (d == NULL)
                d = begin_drop(in, visit_id, job_step);
            memcpy(path, at, n);
            path[n] = '\0';
            photo_pool_submit(in->pool, &(struct photo_job){.work = PHOTO_WORK_IMPORT, .path = path, .keep_folder = in->photos_folder,
                                                            .generation = d->number, .tag = ++in->last_file});
            d->n_all++;
            d->n_left++;
        }
        at += n + (at[n] == '\n');
    }
}

void intake_add_old(struct intake *in, const char *engine_id, struct old_photos *p, struct arena *arena)
{
    struct drop *d = begin_drop(in, "", "");

    d->old = p;
    d->arena = arena;
    d->first_file = in->last_file + 1;
    text_copy(d->engine, sizeof d->engine, engine_id);
    for (size_t i = 0; i < p->n; i++) {
        in->last_file++; /* also of one that stays out: the tag tells which it is */
        if (p->photos[i].visit < 0)
            continue;
        photo_pool_submit(in->pool, &(struct photo_job){.work = PHOTO_WORK_IMPORT, .path = p->photos[i].path, .keep_folder = in->photos_folder,
                                                        .generation = d->number, .tag = in->last_file});
        d->n_all++;
        d->n_left++;
    }
}

void intake_cancel(struct intake *in, int64_t step)
{
    for (size_t i = 0; i < in->n_drops; i++)
        if (step == 0 || in->drops[i].step == step) {
            photo_pool_cancel_generation(in->pool, in->drops[i].number);
            in->drops[i].cancelled = true;
        }
}

static struct drop *find_drop(struct intake *in, int number)
{
    for (size_t i = 0; i < in->n_drops; i++)
        if (in->drops[i].number == number)
            return &in->drops[i];
    return NULL;
}

/* The change that results are recorded in: one for those that come together from one drop. */
struct change {
    struct drop *drop; /* NULL: none is open */
    bool fine, recorded;
};

static void close_change(struct change *c, struct logbook *lb, struct err *e)
{
    if (c->drop == NULL)
        return;
    if (c->fine && logbook_commit(lb, e)) {
        if (logbook_step(lb) != 0)
            c->drop->step = logbook_step(lb);
        c->recorded = true;
    } else {
        logbook_rollback(lb);
    }
    c->drop = NULL;
}

static void record(struct intake *in, struct logbook *lb, struct drop *d, const struct photo_result *r, struct change *c, struct err *e)
{
    char id[UUID_BYTES];

    placing_keep_pictures(in->cache, r);
    if (in->pictures.put != NULL && r->rgba != NULL)
        in->pictures.put(in->pictures.ctx, photo_key(r->sha256, false), r->rgba, r->width, r->height);
    if (c->drop != d) {
        close_change(c, lb, e);
        if (!logbook_begin(lb, d->old != NULL ? "Old photos taken over" : d->n_all == 1 ? "Photo added" : "Photos added", e))
            return;
        logbook_join(lb, d->step);
        c->drop = d;
        c->fine = true;
    }
    if (d->old != NULL) {
        bool taken;

        c->fine = c->fine && old_photos_record(lb, d->engine, d->old, &d->old->photos[r->tag - d->first_file], r, (int64_t)r->tag, &taken, e);
        return;
    }
    c->fine = c->fine && placing_record(lb, d->visit, r, (int64_t)r->tag, e);
    if (c->fine && d->job_step[0] != '\0') {
        logbook_photo_id(d->visit, r->sha256, id);
        c->fine = logbook_set_text(lb, "photo", id, "step", d->job_step, e);
    }
}

/* Drops that are through go; what of them was refused is told at the end, once. */
static void finish_drops(struct intake *in, struct err *e)
{
    for (size_t i = 0; i < in->n_drops;) {
        struct drop *d = &in->drops[i];

        if (d->n_left > 0) {
            i++;
            continue;
        }
        if (d->n_refused > 0 && e->text[0] == '\0') {
            *e = d->refused;
            if (d->n_refused > 1)
                err_wrap(e, "%d files were not taken in, the first of them", d->n_refused);
        }
        arena_destroy(d->arena);
        *d = in->drops[--in->n_drops];
    }
}

static bool keys_have(const struct keys *k, uint64_t key)
{
    for (size_t i = 0; i < k->n; i++)
        if (k->list[i] == key)
            return true;
    return false;
}

static void keys_add(struct keys *k, uint64_t key)
{
    if (k->n == k->n_room) {
        k->n_room = k->n_room ? k->n_room * 2 : 32;
        k->list = mem_resize(k->list, k->n_room, sizeof *k->list);
    }
    k->list[k->n++] = key;
}

static void keys_drop(struct keys *k, uint64_t key)
{
    for (size_t i = 0; i < k->n; i++)
        if (k->list[i] == key) {
            k->list[i] = k->list[--k->n];
            return;
        }
}

static enum cache_kind cut_kind(const struct lineup_plan *plan)
{
    return plan->view == CROP_TIP ? CACHE_TIP : CACHE_SIDE;
}

static void take_cuts(struct intake *in)
{
    struct cut_made made;

    while (cuts_take(in->cuts, &made)) {
        keys_drop(&in->waiting, made.key);
        if (!made.ok) {
            keys_add(&in->failed, made.key);
            continue;
        }
        if (in->pictures.put != NULL)
            in->pictures.put(in->pictures.ctx, made.key, made.cut.rgba, LINEUP_CUT_PX, LINEUP_CUT_PX);
        if (made.packed != NULL)
            cache_put(in->cache, made.plan->sha256, cut_kind(made.plan), lineup_plan_version(made.plan), made.packed, made.n_packed);
        free(made.packed);
        lineup_cut_release(&made.cut);
    }
}

/* Taken before a frame: handing on a tile of 512 px, 1 MB, takes a millisecond of its sixteen. */
enum { FEW_RESULTS = 4, FEW_BYTES = 2 << 20 };

/* Results that wait: imports are recorded together, pictures handed on. A few at a time, so that no
 * frame waits for a hundred. */
bool intake_poll(struct intake *in, struct logbook *lb, struct err *e)
{
    struct change c = {0};
    struct photo_result r;
    size_t n_bytes = 0;
    int n = 0;

    while (n < FEW_RESULTS && n_bytes < FEW_BYTES && photo_pool_next(in->pool, &r)) {
        struct drop *d = r.work == PHOTO_WORK_IMPORT ? find_drop(in, r.generation) : NULL;

        n += r.err.code != ERR_CANCEL;
        n_bytes += (size_t)r.width * (size_t)r.height * 4;
        if (d != NULL) {
            d->n_left--;
            if (r.ok || r.damaged)
                record(in, lb, d, &r, &c, e);
            else if (r.err.code != ERR_CANCEL && d->n_refused++ == 0)
                err_set(&d->refused, r.err.code, "%s was not taken in. %s", files_name(r.path), r.err.text);
        } else if (cuts_give(in->cuts, &r)) { /* its key waits until it is cut */
            continue;
        } else { /* a picture for the window; the tag is its key */
            keys_drop(&in->waiting, r.tag);
            if (r.ok && in->pictures.put != NULL)
                in->pictures.put(in->pictures.ctx, r.tag, r.rgba, r.width, r.height);
            else if (!r.ok && r.err.code != ERR_CANCEL)
                keys_add(&in->failed, r.tag);
        }
        photo_result_release(&r);
    }
    close_change(&c, lb, e);
    finish_drops(in, e);
    take_cuts(in);
    return c.recorded;
}

bool intake_progress(struct intake *in, int *done, int *all)
{
    int was_done = *done, was_all = *all;

    *done = *all = 0;
    for (size_t i = 0; i < in->n_drops; i++)
        if (!in->drops[i].cancelled) {
            *all += in->drops[i].n_all;
            *done += in->drops[i].n_all - in->drops[i].n_left;
        }
    return *done != was_done || *all != was_all;
}

/* ---- pictures for the window ---- */

/* Neither there nor on its way nor past hope. */
static bool is_wanted(const struct intake *in, uint64_t key)
{
    return !keys_have(&in->waiting, key) && !keys_have(&in->failed, key) && !in->pictures.has(in->pictures.ctx, key);
}

static void ask(struct intake *in, struct photo_job *job)
{
    job->urgent = true;
    photo_pool_submit(in->pool, job);
    keys_add(&in->waiting, job->tag);
}

static void ask_photo(struct intake *in, const struct logbook_photo *p, bool large)
{
    unsigned char *jpeg = NULL;
    size_t n_bytes = 0;
    char path[1400];
    struct photo_job job = {.work = PHOTO_WORK_DECODE, .tag = photo_key(p->sha256, large), .max_px = large ? PHOTO_PREVIEW_PX : PHOTO_THUMB_PX, .first = large};

    if (!is_wanted(in, job.tag))
        return;
    text_format(path, sizeof path, "%s/%s.%s", in->photos_folder, p->sha256, p->format);
    if (cache_get(in->cache, p->sha256, large ? CACHE_PREVIEW : CACHE_THUMB, PHOTO_PREVIEW_VERSION, &jpeg, &n_bytes)) {
        job.bytes = jpeg;
        job.n_bytes = n_bytes;
    } else {
        job.path = path;
    }
    ask(in, &job);
    free(jpeg);
}

/* Takes the tiles of this view as wanted; those of the last one that wait yet are called off. */
static void set_view(struct intake *in, struct view *v, const uint64_t *keys, size_t n)
{
    if (n == v->n && memcmp(keys, v->tiles, n * sizeof *keys) == 0)
        return;
    if (v->n > 0)
        photo_pool_cancel_generation(in->pool, v->generation);
    for (size_t i = 0; i < v->n; i++)
        keys_drop(&in->waiting, v->tiles[i]);
    memcpy(v->tiles, keys, n * sizeof *keys);
    v->n = n;
    v->generation -= 2;
}

static bool waits(const struct intake *in, const struct view *v)
{
    for (size_t i = 0; i < v->n; i++)
        if (keys_have(&in->waiting, v->tiles[i]))
            return true;
    return false;
}

void intake_tiles(struct intake *in, int lane, const struct logbook_photo *p, const struct photo_tile *tiles, size_t n)
{
    uint64_t keys[PHOTO_VIEW_MAX_TILES];
    char path[1400];

    if (in->pictures.has == NULL)
        return;
    if (lane > 0 && waits(in, &in->views[0])) /* one helper at a time: the window draws meanwhile */
        n = 0;
    for (size_t i = 0; i < n; i++)
        keys[i] = photo_tile_key(p->sha256, &tiles[i]);
    set_view(in, &in->views[lane], keys, n);
    if (n == 0)
        return;
    text_format(path, sizeof path, "%s/%s.%s", in->photos_folder, p->sha256, p->format);
    for (size_t i = 0; i < n; i++) {
        struct photo_job job = {.work = PHOTO_WORK_REGION, .path = path, .tag = keys[i], .generation = in->views[lane].generation, .lane = lane,
                                .region = photo_tile_region(&tiles[i], p->width, p->height), .shrink = 1 << tiles[i].level, .first = true};

        if (job.region.width > 0 && is_wanted(in, job.tag))
            ask(in, &job);
    }
}

struct cut_facts intake_cut(struct intake *in, uint64_t key, const struct lineup_plan *plan)
{
    struct photo_job job = {.work = PHOTO_WORK_DECODE, .tag = key, .max_px = LINEUP_DECODE_PX};
    unsigned char *kept = NULL;
    char path[1400];
    struct lineup_cut cut;
    size_t n_bytes;

    if (in->pictures.has == NULL || !is_wanted(in, key))
        return cuts_facts(in->cuts, key);
    if (cache_get(in->cache, plan->sha256, cut_kind(plan), lineup_plan_version(plan), &kept, &n_bytes) &&
        lineup_cut_unpack(kept, n_bytes, &cut, &job.bytes, &job.n_bytes)) {
        cuts_note(in->cuts, key, &cut, "");
        ask(in, &job);
    } else if (cuts_begin(in->cuts, key, plan)) {
        text_format(path, sizeof path, "%s/%s.%s", in->photos_folder, plan->sha256, plan->format);
        job.path = path;
        ask(in, &job);
    }
    free(kept);
    return cuts_facts(in->cuts, key);
}

bool intake_has_large(const struct intake *in, const struct logbook_photo *p)
{
    return in->pictures.has != NULL && in->pictures.has(in->pictures.ctx, photo_key(p->sha256, true));
}

void intake_preview(struct intake *in, const char *path)
{
    struct photo_job job = {.work = PHOTO_WORK_DECODE, .tag = photo_file_key(path), .path = path, .max_px = PHOTO_THUMB_PX};

    if (path[0] != '\0' && in->pictures.has != NULL && is_wanted(in, job.tag))
        ask(in, &job);
}

void intake_pictures(struct intake *in, const struct logbook_photo *photos, size_t n, int large)
{
    if (in->pictures.has == NULL)
        return;
    if (large >= 0 && large < (int)n && photos[large].trouble[0] == '\0' && photos[large].width > 0) /* before hundreds of small ones */
        ask_photo(in, &photos[large], true);
    for (size_t i = 0; i < n; i++)
        if (photos[i].trouble[0] == '\0' && photos[i].width > 0)
            ask_photo(in, &photos[i], false);
}

bool intake_busy(struct intake *in)
{
    struct photo_pool_counts c;

    photo_pool_count(in->pool, &c);
    return c.n_waiting + c.n_running > 0 || in->waiting.n > 0 || in->n_drops > 0;
}
