/* pool_wire.h - what the pool and its helpers say to one another over a socket that keeps message
 * borders: one job with its descriptors, one answer with the descriptor of the pixels. Both ends are
 * the same program, so plain structs do; the pool still checks every number of an answer, since a
 * hostile picture may have taken a helper over. */
#ifndef PHOTO_POOL_WIRE_H
#define PHOTO_POOL_WIRE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include "base/err.h"
#include "photo/photo.h"
#include "photo/pool.h"

#define WIRE_HELPER_FLAG "--picture-helper"
#define WIRE_MAX_FDS 2

struct wire_job {
    uint64_t ticket;
    enum photo_work work;
    int max_px;
    struct photo_region region;
    int shrink;
    bool keep; /* the second descriptor is the file to copy into; the first is always the source */
};

struct wire_answer {
    uint64_t ticket;
    bool ok, damaged; /* damaged: not ok, but a picture by its first bytes; info.format tells which */
    struct err err;
    struct photo_info info;
    int64_t n_bytes;
    char sha256[65];
    int width, height;
    size_t n_rgba, n_thumb_jpeg, n_preview_jpeg; /* one behind the other in the shared memory */
    double took_s;
};

/* One message with up to WIRE_MAX_FDS descriptors. False when the other end is gone or, receiving,
 * sent something of another size. fds that are received belong to the caller. */
bool wire_send(int socket, const void *message, size_t n_bytes, const int *fds, size_t n_fds);
bool wire_receive(int socket, void *message, size_t n_bytes, int fds[WIRE_MAX_FDS], size_t *n_fds);

#endif
