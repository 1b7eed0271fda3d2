#include "app/intake.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/err.h"
#include "base/files.h"
#include "base/mem.h"
#include "base/text.h"
#include "logbook/cache.h"
#include "photo/pool.h"
#include "placing/placing.h"

enum { TAG_IMPORT = 1, TAG_SMALL, TAG_LARGE };

struct keys { /* a handful of pictures */
    uint64_t *list;
    size_t n, n_room;
};

struct intake {
    struct photo_pool *pool;
    struct cache *cache;
    char folder[1024], photos_folder[1100];
    char visit[UUID_BYTES]; /* of the imports under way */
    struct session_pictures pictures;
    struct keys waiting; /* pictures asked for */
    struct keys failed;  /* pictures that cannot be had: not asked for again */
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
    free(in->waiting.list);
    free(in->failed.list);
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
                placing_keep_pictures(in->cache, &r);
                if (in->pictures.put != NULL && r.rgba != NULL)
                    in->pictures.put(in->pictures.ctx, photo_key(r.sha256, false), r.rgba, r.width, r.height);
                if (!in_change)
                    fine = in_change = logbook_begin(lb, in->all == 1 ? "Photo added" : "Photos added", e);
                fine = fine && placing_record(lb, in->visit, &r, ++in->sort, e);
            }
        } else { /* a picture for the window; its key is the ticket's tag shifted in */
            uint64_t key = r.tag;

            keys_drop(&in->waiting, key);
            if (r.ok && in->pictures.put != NULL)
                in->pictures.put(in->pictures.ctx, key, r.rgba, r.width, r.height);
            else if (!r.ok)
                keys_add(&in->failed, key);
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

/* Neither there nor on its way nor past hope. */
static bool is_wanted(const struct intake *in, uint64_t key)
{
    return !keys_have(&in->waiting, key) && !keys_have(&in->failed, key) && !in->pictures.has(in->pictures.ctx, key);
}

static void ask(struct intake *in, struct photo_job *job)
{
    job->work = PHOTO_WORK_DECODE;
    job->urgent = true;
    photo_pool_submit(in->pool, job);
    keys_add(&in->waiting, job->tag);
}

static void ask_photo(struct intake *in, const struct logbook_photo *p, bool large)
{
    unsigned char *jpeg = NULL;
    size_t n_bytes = 0;
    char path[1400];
    struct photo_job job = {.tag = photo_key(p->sha256, large), .max_px = large ? 2400 : PHOTO_THUMB_PX};

    if (!is_wanted(in, job.tag))
        return;
    text_format(path, sizeof path, "%s/%s.%s", in->photos_folder, p->sha256, p->format);
    if (!large && cache_get(in->cache, p->sha256, CACHE_THUMB, PHOTO_PREVIEW_VERSION, &jpeg, &n_bytes)) {
        job.bytes = jpeg;
        job.n_bytes = n_bytes;
    } else {
        job.path = path;
    }
    ask(in, &job);
    free(jpeg);
}

void intake_preview(struct intake *in, const char *path)
{
    struct photo_job job = {.tag = photo_file_key(path), .path = path, .max_px = PHOTO_THUMB_PX};

    if (path[0] != '\0' && in->pictures.has != NULL && is_wanted(in, job.tag))
        ask(in, &job);
}

void intake_pictures(struct intake *in, const struct logbook_photo *photos, size_t n, int large)
{
    if (in->pictures.has == NULL)
        return;
    for (size_t i = 0; i < n; i++) {
        if (photos[i].trouble[0] != '\0' || photos[i].width <= 0)
            continue;
        ask_photo(in, &photos[i], false);
        if ((int)i == large)
            ask_photo(in, &photos[i], true);
    }
}

bool intake_busy(struct intake *in)
{
    struct photo_pool_counts c;

    photo_pool_count(in->pool, &c);
    return c.n_waiting + c.n_running > 0 || in->waiting.n > 0 || in->all > 0;
}
