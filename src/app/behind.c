#include "app/behind.h"

#include <stdlib.h>

#include "app/background.h"
#include "base/err.h"
#include "base/mem.h"
#include "base/text.h"
#include "logbook/logbook.h"
#include "report/backlog.h"

struct behind {
    struct background back;
    atomic_bool cancel;
    bool wanted; /* guarded by the lock */
    char folder[1024], compression_rule[24];
};

static void pass(struct behind *b)
{
    struct reading_options o = {0};
    struct logbook *lb = logbook_open(b->folder, LOGBOOK_WRITE, NULL);
    size_t n_read;

    if (lb == NULL)
        return; /* nothing may be written there */
    text_copy(o.compression_rule, sizeof o.compression_rule, b->compression_rule);
    (void)backlog_read(lb, &o, &b->cancel, &n_read, NULL); /* what could not be read is read when it is opened */
    logbook_close(lb);
}

static void *run(void *arg)
{
    struct behind *b = arg;

    pthread_mutex_lock(&b->back.lock);
    while (!b->back.quit) {
        if (!b->wanted) {
            pthread_cond_wait(&b->back.work, &b->back.lock);
            continue;
        }
        b->wanted = false;
        pthread_mutex_unlock(&b->back.lock);
        pass(b);
        pthread_mutex_lock(&b->back.lock);
    }
    pthread_mutex_unlock(&b->back.lock);
    return NULL;
}

struct behind *behind_create(const char *folder, const char *compression_rule)
{
    struct behind *b = mem_alloc(1, sizeof *b);

    b->wanted = true;
    text_copy(b->folder, sizeof b->folder, folder);
    text_copy(b->compression_rule, sizeof b->compression_rule, compression_rule);
    if (!background_begin(&b->back, run, b)) {
        free(b);
        return NULL;
    }
    return b;
}

void behind_destroy(struct behind *b)
{
    if (b == NULL)
        return;
    pthread_mutex_lock(&b->back.lock);
    atomic_store(&b->cancel, true);
    background_end(&b->back);
    free(b);
}

void behind_again(struct behind *b)
{
    if (b == NULL)
        return;
    pthread_mutex_lock(&b->back.lock);
    b->wanted = true;
    pthread_cond_signal(&b->back.work);
    pthread_mutex_unlock(&b->back.lock);
}
