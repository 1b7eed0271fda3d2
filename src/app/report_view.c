#include "app/report_view.h"

#include <stdatomic.h>
#include <stdlib.h>
#include <string.h>

#include "app/background.h"
#include "base/err.h"
#include "base/mem.h"
#include "base/text.h"

struct made {
    struct report_loaded loaded;
    struct content content;
    struct report_preview preview;
};
struct report_view {
    struct background back; /* its lock guards all below but cancel and shown */
    atomic_bool cancel;   /* of the one that is being made */
    bool asked, running, ready;
    struct report_question wanted;
    struct made *made;    /* NULL with ready: why says it */
    struct err why;
    struct made *shown;   /* the main thread's */
    char folder[1024];
    void (*wake)(void *ctx);
    void *ctx;
};

bool report_question_same(const struct report_question *a, const struct report_question *b)
{
    return strcmp(a->engine, b->engine) == 0 && strcmp(a->visit, b->visit) == 0 && strcmp(a->compression_rule, b->compression_rule) == 0 &&
           a->ask.n_visits == b->ask.n_visits && a->ask.units.inches == b->ask.units.inches && a->ask.units.pressure == b->ask.units.pressure && a->ask.without == b->ask.without && a->state == b->state;
}

static void let_go(struct made *m)
{
    if (m == NULL)
        return;
    arena_destroy(m->preview.memory);
    report_loaded_release(&m->loaded);
    free(m);
}

static struct made *make(struct report_view *v, const struct report_question *q, struct err *e)
{
    struct report_options o = {.ask = q->ask, .compression_rule = q->compression_rule, .cancel = &v->cancel};
    struct logbook *lb = logbook_open(v->folder, LOGBOOK_READ, e);
    struct made *m = mem_alloc(1, sizeof *m);

    if (lb == NULL || !report_load(lb, q->engine, q->visit, &o, &m->loaded, e)) {
        logbook_close(lb);
        free(m);
        return NULL;
    }
    logbook_close(lb);
    content_make(&m->loaded.source, &q->ask, m->loaded.memory, &m->content);
    m->preview.content = &m->content;
    m->preview.memory = arena_create();
    return m;
}

static void *run(void *arg)
{
    struct report_view *v = arg;

    pthread_mutex_lock(&v->back.lock);
    while (!v->back.quit) {
        struct report_question q;
        struct made *m;
        struct err e = {.code = ERR_NONE};

        if (!v->asked) {
            pthread_cond_wait(&v->back.work, &v->back.lock);
            continue;
        }
        q = v->wanted;
        v->asked = false;
        v->running = true;
        atomic_store(&v->cancel, false);
        pthread_mutex_unlock(&v->back.lock);
        m = make(v, &q, &e);
        pthread_mutex_lock(&v->back.lock);
        v->running = false;
        if (m == NULL && (v->asked || v->back.quit)) /* stopped for a newer one */
            continue;
        let_go(v->made);
        v->made = m;
        v->why = e;
        v->ready = true;
        pthread_mutex_unlock(&v->back.lock);
        v->wake(v->ctx);
        pthread_mutex_lock(&v->back.lock);
    }
    pthread_mutex_unlock(&v->back.lock);
    return NULL;
}

struct report_view *report_view_create(const char *folder, void (*wake)(void *ctx), void *ctx)
{
    struct report_view *v = mem_alloc(1, sizeof *v);

    text_copy(v->folder, sizeof v->folder, folder);
    v->wake = wake;
    v->ctx = ctx;
    if (!background_begin(&v->back, run, v)) {
        free(v);
        return NULL;
    }
    return v;
}

void report_view_destroy(struct report_view *v)
{
    if (v == NULL)
        return;
    pthread_mutex_lock(&v->back.lock);
    atomic_store(&v->cancel, true);
    background_end(&v->back);
    let_go(v->made);
    let_go(v->shown);
    free(v);
}

void report_view_ask(struct report_view *v, const struct report_question *q)
{
    pthread_mutex_lock(&v->back.lock);
    atomic_store(&v->cancel, true); /* under the lock: the thread clears it there, when it takes a question */
    v->wanted = *q;
    v->asked = true;
    pthread_cond_signal(&v->back.work);
    pthread_mutex_unlock(&v->back.lock);
}

bool report_view_take(struct report_view *v, struct report_preview **out, struct err *e)
{
    bool ready;

    pthread_mutex_lock(&v->back.lock);
    ready = v->ready;
    v->ready = false;
    if (ready) {
        let_go(v->shown);
        v->shown = v->made;
        v->made = NULL;
        *out = v->shown != NULL ? &v->shown->preview : NULL;
        if (v->shown == NULL)
            *e = v->why;
    }
    pthread_mutex_unlock(&v->back.lock);
    return ready;
}

bool report_view_busy(struct report_view *v)
{
    bool busy;

    pthread_mutex_lock(&v->back.lock);
    busy = v->asked || v->running || v->ready;
    pthread_mutex_unlock(&v->back.lock);
    return busy;
}
