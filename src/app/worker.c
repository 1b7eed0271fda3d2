#include "app/worker.h"

#include <stdatomic.h>
#include <stdlib.h>
#include <string.h>

#include "app/background.h"
#include "base/err.h"
#include "base/mem.h"
#include "base/text.h"

struct worker {
    struct background back; /* its lock guards all below but cancel */
    atomic_bool cancel;   /* of the reading that runs */
    bool asked, running, ready, final;
    struct record wanted;
    uint64_t wanted_number, result_number;
    struct worker_settings settings;
    struct findings result;
    void (*wake)(void *ctx);
    void *ctx;
};

static void put_result(struct worker *w, struct findings *f, uint64_t number, bool final)
{
    pthread_mutex_lock(&w->back.lock);
    if (w->ready)
        findings_release(&w->result);
    w->result = *f;
    w->result_number = number;
    w->final = final;
    w->ready = true;
    pthread_mutex_unlock(&w->back.lock);
    w->wake(w->ctx);
}

static void *run(void *arg)
{
    struct worker *w = arg;

    pthread_mutex_lock(&w->back.lock);
    while (!w->back.quit) {
        struct record r;
        struct findings f;
        struct reading_options o = {.cancel = &w->cancel, .first_answer = true};
        struct worker_settings told; /* as they are now, for both answers */
        uint64_t number;
        bool provisional = false;

        if (!w->asked) {
            pthread_cond_wait(&w->back.work, &w->back.lock);
            continue;
        }
        r = w->wanted;
        memset(&w->wanted, 0, sizeof w->wanted);
        number = w->wanted_number;
        told = w->settings;
        text_copy(o.compression_rule, sizeof o.compression_rule, told.compression_rule);
        o.units = told.units;
        w->asked = false;
        w->running = true;
        atomic_store(&w->cancel, false);
        pthread_mutex_unlock(&w->back.lock);
        if (reading_run(&r, &o, &f, NULL)) {
            provisional = f.provisional;
            put_result(w, &f, number, !provisional);
        }
        if (provisional && !atomic_load(&w->cancel)) {
            o.first_answer = false;
            if (reading_run(&r, &o, &f, NULL))
                put_result(w, &f, number, true);
        }
        record_release(&r);
        pthread_mutex_lock(&w->back.lock);
        w->running = false;
    }
    pthread_mutex_unlock(&w->back.lock);
    return NULL;
}

struct worker *worker_create(void (*wake)(void *ctx), void *ctx)
{
    struct worker *w = mem_alloc(1, sizeof *w);

    w->wake = wake;
    w->ctx = ctx;
    if (!background_begin(&w->back, run, w)) {
        free(w);
        return NULL;
    }
    return w;
}

void worker_destroy(struct worker *w)
{
    if (w == NULL)
        return;
    pthread_mutex_lock(&w->back.lock);
    atomic_store(&w->cancel, true);
    background_end(&w->back);
    if (w->asked)
        record_release(&w->wanted);
    if (w->ready)
        findings_release(&w->result);
    free(w);
}

void worker_set(struct worker *w, const struct worker_settings *settings)
{
    pthread_mutex_lock(&w->back.lock);
    w->settings = *settings;
    pthread_mutex_unlock(&w->back.lock);
}

void worker_ask(struct worker *w, const struct record *r, uint64_t number)
{
    struct record copy;

    record_share(&copy, r);
    pthread_mutex_lock(&w->back.lock);
    atomic_store(&w->cancel, true); /* under the lock: the thread clears it there, when it takes a question */
    if (w->asked)
        record_release(&w->wanted);
    w->wanted = copy;
    w->wanted_number = number;
    w->asked = true;
    pthread_cond_signal(&w->back.work);
    pthread_mutex_unlock(&w->back.lock);
}

bool worker_take(struct worker *w, struct findings *out, uint64_t *number, bool *final)
{
    bool have;

    pthread_mutex_lock(&w->back.lock);
    have = w->ready;
    if (have) {
        *out = w->result;
        *number = w->result_number;
        *final = w->final;
        memset(&w->result, 0, sizeof w->result);
        w->ready = false;
    }
    pthread_mutex_unlock(&w->back.lock);
    return have;
}

bool worker_busy(struct worker *w)
{
    bool busy;

    pthread_mutex_lock(&w->back.lock);
    busy = w->asked || w->running || w->ready;
    pthread_mutex_unlock(&w->back.lock);
    return busy;
}
