#include "base/share.h"

#include <pthread.h>
#include <stdbool.h>
#include <unistd.h>

#define MOST 8 /* threads; memory, not the cores, sets the pace beyond */

struct range {
    void (*work)(void *ctx, int from, int to);
    void *ctx;
    int from, to;
};

static void *run(void *range)
{
    struct range *r = range;

    r->work(r->ctx, r->from, r->to);
    return NULL;
}

static int n_cores(void)
{
    const long n = sysconf(_SC_NPROCESSORS_ONLN);

    return n < 1 ? 1 : n > MOST ? MOST : (int)n;
}

void share_rows(int n, int least, void (*work)(void *ctx, int from, int to), void *ctx)
{
    struct range ranges[MOST];
    pthread_t threads[MOST];
    bool made[MOST] = {false};
    int n_ranges = n / (least > 0 ? least : 1), cores = n_cores();

    n_ranges = n_ranges < 1 ? 1 : n_ranges > cores ? cores : n_ranges;
    for (int i = 0; i < n_ranges; i++) {
        ranges[i] = (struct range){work, ctx, (int)((long)n * i / n_ranges), (int)((long)n * (i + 1) / n_ranges)};
        made[i] = i > 0 && pthread_create(&threads[i], NULL, run, &ranges[i]) == 0;
    }
    for (int i = 0; i < n_ranges; i++)
        if (!made[i])
            run(&ranges[i]);
    for (int i = 0; i < n_ranges; i++)
        if (made[i])
            pthread_join(threads[i], NULL);
}
