/* watch.h - a folder where photos land (from a phone's sync, a cable, a card): tells each new picture
 * file once, when it has stopped growing. */
#ifndef PHOTO_WATCH_H
#define PHOTO_WATCH_H

#include <stdbool.h>
#include <stddef.h>

struct err;
struct watch;

struct watch_options {
    double settle_s;         /* size unchanged for so long: complete; 0: 1.5 s */
    double poll_s;           /* looked at so often where the system sends no word; 0: 2 s */
    bool poll_only;          /* never ask the system for word (network folders, tests) */
    bool existing_too;       /* files there at the start count as new */
    void (*wake)(void *arg); /* from the watcher's thread when a file waits; may be NULL */
    void *wake_arg;
};
/* Fails ERR_NOTFOUND / ERR_IO with a sentence when the folder cannot be read. A folder that vanishes
 * later (card pulled out) is waited for. */
struct watch *watch_start(const char *folder, const struct watch_options *options, struct err *e);
void watch_stop(struct watch *w); /* NULL is fine */
/* Path of the next complete new file; false when none waits. */
bool watch_next(struct watch *w, char *path, size_t n_room);

#endif
