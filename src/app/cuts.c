#include "app/cuts.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "app/background.h"
#include "base/err.h"
#include "base/mem.h"
#include "base/text.h"
#include "photo/photo.h"

#define UNDER_WAY 4 /* photos of 2048 px are 12 MB each */

enum stage { FREE, DECODING, WAITING, CUTTING, DONE };
struct place {
    enum stage stage; /* guarded by the lock, and so is the rest but while CUTTING */
    uint64_t key;
    struct lineup_plan plan;
    struct photo_result pixels;
    struct lineup_cut cut;
    uint8_t *packed; /* for the cache, NULL without memory */
    size_t n_packed;
    bool ok;
    struct err err;
};

struct known {
    uint64_t key;
    struct cut_facts facts;
};

struct cuts {
    struct background back;
    struct place places[UNDER_WAY];
    struct lineup_plan taken; /* of the cut taken last */
    struct known *known;      /* the main thread's */
    size_t n_known, known_room;
    void (*wake)(void *ctx);
    void *ctx;
};

/* ---- the thread ---- */

static void make(struct place *p)
{
    const struct photo_result *r = &p->pixels;
    struct photo_pixels px = {r->width, r->height, (uint8_t *)(uintptr_t)r->rgba}; /* only read */
    double focal_px = r->info.focal_as_35mm_mm / 36 * fmax(r->width, r->height); /* a film frame is 36 mm wide */

    err_clear(&p->err);
    p->ok = r->ok && lineup_cut_make(&p->plan, &px, focal_px, &p->cut, &p->err);
    if (!r->ok)
        p->err = r->err;
    if (!p->ok || !lineup_cut_pack(&p->cut, &p->packed, &p->n_packed))
        p->packed = NULL;
    photo_result_release(&p->pixels);
}

static struct place *find_stage(struct cuts *c, enum stage stage)
{
    for (int i = 0; i < UNDER_WAY; i++)
        if (c->places[i].stage == stage)
            return &c->places[i];
    return NULL;
}

static void *run(void *arg)
{
    struct cuts *c = arg;

    pthread_mutex_lock(&c->back.lock);
    while (!c->back.quit) {
        struct place *p = find_stage(c, WAITING);

        if (p == NULL) {
            pthread_cond_wait(&c->back.work, &c->back.lock);
            continue;
        }
        p->stage = CUTTING;
        pthread_mutex_unlock(&c->back.lock);
        make(p);
        pthread_mutex_lock(&c->back.lock);
        p->stage = DONE;
        pthread_mutex_unlock(&c->back.lock);
        c->wake(c->ctx);
        pthread_mutex_lock(&c->back.lock);
    }
    pthread_mutex_unlock(&c->back.lock);
    return NULL;
}

struct cuts *cuts_create(void (*wake)(void *ctx), void *ctx)
{
    struct cuts *c = mem_alloc(1, sizeof *c);

    c->wake = wake;
    c->ctx = ctx;
    if (!background_begin(&c->back, run, c)) {
        free(c);
        return NULL;
    }
    return c;
}

void cuts_destroy(struct cuts *c)
{
    if (c == NULL)
        return;
    pthread_mutex_lock(&c->back.lock);
    background_end(&c->back);
    for (int i = 0; i < UNDER_WAY; i++) {
        if (c->places[i].stage == WAITING)
            photo_result_release(&c->places[i].pixels);
        if (c->places[i].stage == DONE) {
            lineup_cut_release(&c->places[i].cut);
            free(c->places[i].packed);
        }
    }
    free(c->known);
    free(c);
}

/* ---- the main thread ---- */

bool cuts_begin(struct cuts *c, uint64_t key, const struct lineup_plan *plan)
{
    struct place *p;

    pthread_mutex_lock(&c->back.lock);
    p = find_stage(c, FREE);
    if (p != NULL) {
        p->stage = DECODING;
        p->key = key;
        p->plan = *plan;
    }
    pthread_mutex_unlock(&c->back.lock);
    return p != NULL;
}

bool cuts_give(struct cuts *c, struct photo_result *r)
{
    bool ours = false;

    pthread_mutex_lock(&c->back.lock);
    for (int i = 0; i < UNDER_WAY && !ours; i++)
        if (c->places[i].stage == DECODING && c->places[i].key == r->tag) {
            c->places[i].pixels = *r;
            c->places[i].stage = WAITING;
            ours = true;
            pthread_cond_signal(&c->back.work);
        }
    pthread_mutex_unlock(&c->back.lock);
    return ours;
}

bool cuts_take(struct cuts *c, struct cut_made *out)
{
    struct place *p;

    pthread_mutex_lock(&c->back.lock);
    p = find_stage(c, DONE);
    if (p != NULL) {
        c->taken = p->plan;
        *out = (struct cut_made){p->key, &c->taken, p->ok, p->cut, p->packed, p->n_packed};
        cuts_note(c, p->key, p->ok ? &p->cut : NULL, p->err.text);
        memset(&p->cut, 0, sizeof p->cut);
        p->packed = NULL;
        p->stage = FREE;
    }
    pthread_mutex_unlock(&c->back.lock);
    return p != NULL;
}

void cuts_note(struct cuts *c, uint64_t key, const struct lineup_cut *cut, const char *why)
{
    struct known *k = NULL;

    for (size_t i = 0; i < c->n_known && k == NULL; i++)
        if (c->known[i].key == key)
            k = &c->known[i];
    if (k == NULL) {
        if (c->n_known == c->known_room) {
            c->known_room = c->known_room ? c->known_room * 2 : 64;
            c->known = mem_resize(c->known, c->known_room, sizeof *c->known);
        }
        k = &c->known[c->n_known++];
    }
    memset(k, 0, sizeof *k);
    k->key = key;
    k->facts.known = true;
    k->facts.failed = cut == NULL;
    if (cut != NULL) {
        k->facts.light = cut->light;
        k->facts.by_eye = cut->by_eye;
        k->facts.by_hand = cut->by_hand;
    } else {
        text_copy(k->facts.why, sizeof k->facts.why, why);
    }
}

struct cut_facts cuts_facts(const struct cuts *c, uint64_t key)
{
    for (size_t i = 0; i < c->n_known; i++)
        if (c->known[i].key == key)
            return c->known[i].facts;
    return (struct cut_facts){.known = false};
}
