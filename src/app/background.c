#include "app/background.h"

#include <sys/resource.h>

#define NICE 5 /* the window's own thread comes first; less than the picture helpers', whose pixels are for what is read here */

static void let_go(struct background *b)
{
    pthread_cond_destroy(&b->work);
    pthread_mutex_destroy(&b->lock);
}

static void *begin(void *arg)
{
    struct background *b = arg;

#ifdef __linux__ /* of this thread alone; elsewhere it would be of the whole program */
    setpriority(PRIO_PROCESS, 0, NICE);
#endif
    return b->run(b->arg);
}

bool background_begin(struct background *b, void *(*run)(void *arg), void *arg)
{
    pthread_mutex_init(&b->lock, NULL);
    pthread_cond_init(&b->work, NULL);
    b->quit = false;
    b->run = run;
    b->arg = arg;
    if (pthread_create(&b->thread, NULL, begin, b) == 0)
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
