#include "app/background.h"

static void let_go(struct background *b)
{
    pthread_cond_destroy(&b->work);
    pthread_mutex_destroy(&b->lock);
}

bool background_begin(struct background *b, void *(*run)(void *arg), void *arg)
{
    pthread_mutex_init(&b->lock, NULL);
    pthread_cond_init(&b->work, NULL);
    b->quit = false;
    if (pthread_create(&b->thread, NULL, run, arg) == 0)
        return true;
    let_go(b);
    return false;
}

void background_end(struct background *b)
{
    b->quit = true;
    pthread_cond_signal(&b->work);
    pthread_mutex_unlock(&b->lock);
    pthread_join(b->thread, NULL);
    let_go(b);
}
