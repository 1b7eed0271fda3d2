#include "app/errand.h"

#include <assert.h>
#include <stdatomic.h>
#include <stdlib.h>

#include "app/background.h"
#include "base/clock.h"
#include "base/mem.h"
#include "base/text.h"

#define NEWS_S 0.05 /* how often the window is woken to show how far it is */

struct errand {
    struct background back; /* its lock guards all below but stop */
    pthread_cond_t ended;
    atomic_bool stop;
    bool running, done;
    void (*work)(struct errand *r, void *job);
    void (*free_job)(void *job);
    void *job;
    char what[40];
    size_t n_done, n_all;
    double told_s;
    void (*wake)(void *ctx);
    void *ctx;
};

static void *run(void *arg)
{
    struct errand *r = arg;

    pthread_mutex_lock(&r->back.lock);
    while (!r->back.quit) {
        if (!r->running) {
            pthread_cond_wait(&r->back.work, &r->back.lock);
            continue;
        }
        pthread_mutex_unlock(&r->back.lock);
        r->work(r, r->job);
        pthread_mutex_lock(&r->back.lock);
        r->running = false;
        r->done = true;
        pthread_cond_signal(&r->ended);
        r->wake(r->ctx);
    }
    pthread_mutex_unlock(&r->back.lock);
    return NULL;
}

struct errand *errand_create(void (*wake)(void *ctx), void *ctx)
{
    struct errand *r = mem_alloc(1, sizeof *r);

    r->wake = wake;
    r->ctx = ctx;
    pthread_cond_init(&r->ended, NULL);
    if (background_begin(&r->back, run, r))
        return r;
    pthread_cond_destroy(&r->ended);
    free(r);
    return NULL;
}

void errand_destroy(struct errand *r)
{
    if (r == NULL)
        return;
    errand_drop(r);
    pthread_mutex_lock(&r->back.lock);
    background_end(&r->back);
    pthread_cond_destroy(&r->ended);
    free(r);
}

void errand_start(struct errand *r, void (*work)(struct errand *r, void *job), void (*free_job)(void *job), void *job)
{
    pthread_mutex_lock(&r->back.lock);
    assert(!r->running && !r->done);
    atomic_store(&r->stop, false);
    r->work = work;
    r->free_job = free_job;
    r->job = job;
    r->what[0] = '\0';
    r->n_done = r->n_all = 0;
    r->told_s = 0;
    r->running = true;
    pthread_cond_signal(&r->back.work);
    pthread_mutex_unlock(&r->back.lock);
}

bool errand_go_on(void *errand, const char *what, size_t n_done, size_t n_all)
{
    struct errand *r = errand;
    double now_s = clock_monotonic_s();
    bool tell;

    pthread_mutex_lock(&r->back.lock);
    text_copy(r->what, sizeof r->what, what);
    r->n_done = n_done;
    r->n_all = n_all;
    tell = now_s - r->told_s > NEWS_S;
    if (tell)
        r->told_s = now_s;
    pthread_mutex_unlock(&r->back.lock);
    if (tell)
        r->wake(r->ctx);
    return !atomic_load(&r->stop);
}

void errand_stop(struct errand *r)
{
    atomic_store(&r->stop, true);
}

void errand_drop(struct errand *r)
{
    errand_stop(r);
    pthread_mutex_lock(&r->back.lock);
    while (r->running)
        pthread_cond_wait(&r->ended, &r->back.lock);
    if (r->done)
        r->free_job(r->job);
    r->done = false;
    r->job = NULL;
    pthread_mutex_unlock(&r->back.lock);
}

bool errand_progress(struct errand *r, char *what, size_t n_room, size_t *n_done, size_t *n_all)
{
    bool busy;

    pthread_mutex_lock(&r->back.lock);
    busy = r->running || r->done;
    text_copy(what, n_room, r->what);
    *n_done = r->n_done;
    *n_all = r->n_all;
    pthread_mutex_unlock(&r->back.lock);
    return busy;
}

bool errand_busy(struct errand *r)
{
    bool busy;

    pthread_mutex_lock(&r->back.lock);
    busy = r->running || r->done;
    pthread_mutex_unlock(&r->back.lock);
    return busy;
}

void *errand_take(struct errand *r)
{
    void *job = NULL;

    pthread_mutex_lock(&r->back.lock);
    if (r->done) {
        job = r->job;
        r->job = NULL;
        r->done = false;
    }
    pthread_mutex_unlock(&r->back.lock);
    return job;
}
