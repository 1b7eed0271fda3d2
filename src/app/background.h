/* background.h - a thread that waits for questions under a lock, as all of the window do: begun whole or not at all,
 * ended in one way. What it is asked and answers stands beside it in its owner's struct and is guarded by the same lock. */
#ifndef APP_BACKGROUND_H
#define APP_BACKGROUND_H

#include <pthread.h>
#include <stdbool.h>

struct background {
    pthread_t thread;
    pthread_mutex_t lock;
    pthread_cond_t work; /* signalled when there is something to do, or quit is set */
    bool quit;           /* guarded by the lock: run() returns soon after it is set */
    void *(*run)(void *arg);
    void *arg;
};
/* Starts run(arg), where it can behind the window in rank. False when no thread can be had; then nothing is held, and *b may be begun again. */
bool background_begin(struct background *b, void *(*run)(void *arg), void *arg);
/* Ends it, waits for it and lets go of the lock and the rest. The caller holds the lock: what it has told the thread under it, to drop
 * its work, and quit reach the thread together. */
void background_end(struct background *b);

#endif
