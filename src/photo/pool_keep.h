/* pool_keep.h - an original on its way into the logbook's folder: a file without a name until all of
 * it is there, then named by its hash. Not for others than the pool. */
#ifndef PHOTO_POOL_KEEP_H
#define PHOTO_POOL_KEEP_H

#include <stdbool.h>
#include <stddef.h>

struct err;

struct keep {
    int fd;          /* to write into; -1: none */
    char name[1200]; /* where the file system knows no nameless files; "" */
};
/* Opens a new file in folder. Fails ERR_IO with a sentence about the folder or the disk. */
bool keep_begin(struct keep *k, const char *folder, struct err *e);
/* Names it folder/sha256.extension, which is written to path. An original of that name and size that is
 * there already stays, and was_there says so; one of another size (a copy cut off by a crash) is
 * replaced. */
bool keep_finish(struct keep *k, const char *folder, const char *sha256, const char *extension, char *path, size_t n_room,
                 bool *was_there, struct err *e);
/* Closes; what got no name is gone. Safe on one that was never begun (fd -1). */
void keep_drop(struct keep *k);

#endif
