/* pool.h - picture helpers: processes of this program that take pictures in and decode them.
 *
 * A damaged or hostile picture can at worst end a helper: it is replaced, and its picture gets a
 * reason. Helpers are started by exec, get descriptors and never paths, and hand pixels back through
 * sealed shared memory. One thread of the pool serves them; results are fetched by the thread that
 * wants them, when wake() said so. */
#ifndef PHOTO_POOL_H
#define PHOTO_POOL_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include "base/err.h"
#include "photo/photo.h"

/* First in main(): true when this process was started as a picture helper; it has then done its work
 * and main returns *status. Test programs that use a pool call it too. */
bool photo_helper_run(int argc, char **argv, int *status);

struct photo_pool;
struct photo_pool_options {
    int n_helpers;          /* 0: one for each core */
    double time_limit_s;    /* for one picture; 0: 30 s */
    void (*wake)(void *arg); /* called from the pool's thread when a result waits or a count changed;
                             * may be NULL. No lock of the pool is held. */
    void *wake_arg;
};
/* Starts the helpers; call before SDL video. options NULL: all 0. */
struct photo_pool *photo_pool_create(const struct photo_pool_options *options, struct err *e);
/* Stops everything at once; jobs not done are dropped, half copies removed. NULL is fine. */
void photo_pool_destroy(struct photo_pool *p);

enum photo_work {
    PHOTO_WORK_IMPORT, /* hash, copy into keep_folder, info, thumbnail and preview */
    PHOTO_WORK_DECODE, /* pixels, at most max_px on the longer side (0: full size) */
    PHOTO_WORK_REGION  /* pixels of a part. One helper does these (for each lane), and holds the last picture
                        * decoded for a while: the tiles of one view cost one decoding. */
};
struct photo_job {
    enum photo_work work;
    const char *path;         /* the file; or NULL and the bytes (say a cached JPEG), copied at once */
    const uint8_t *bytes;
    size_t n_bytes;
    const char *keep_folder;  /* IMPORT: existing folder the original is copied into; NULL: no copy */
    int max_px;               /* DECODE */
    struct photo_region region; /* REGION: px at full size, inside the picture */
    int lane;                 /* REGION: 0, or 1 for a second picture looked at beside the first */
    int shrink;               /* REGION: so many times smaller, 1 to 32; 0 as 1 */
    bool urgent;              /* before everything that is not (what is on the screen now) */
    bool first;               /* and before all that is only urgent: what is looked at */
    int generation;           /* anything; for photo_pool_cancel_generation() and to drop stale results */
    uint64_t tag;             /* anything; comes back */
};
/* Ticket of the job, never 0. Paths are copied. */
uint64_t photo_pool_submit(struct photo_pool *p, const struct photo_job *job);

struct photo_result {
    uint64_t ticket, tag;
    int generation;
    enum photo_work work;
    bool ok;
    struct err err;         /* when not ok: a sentence for the picture's tile */
    bool damaged;           /* IMPORT, not ok: a picture by its first bytes that cannot be shown. It is kept
                             * all the same (kept_path, info.format), the only copy may be damaged. What is
                             * no picture at all, or too large, is not kept. */
    char path[1024];        /* as submitted, cut if longer; "" for bytes */
    struct photo_info info;
    int64_t n_bytes;        /* of the file */
    char sha256[65];        /* IMPORT; also of what could be read through, but not shown */
    char kept_path[1200];   /* IMPORT with keep_folder: keep_folder/SHA256.EXT */
    bool was_kept;          /* it was there already: the same file */
    int width, height;      /* of rgba: IMPORT the thumbnail, else what was asked for */
    const uint8_t *rgba;    /* upright sRGB, width * 4 bytes a row; NULL when not ok */
    const uint8_t *thumb_jpeg, *preview_jpeg; /* IMPORT: upright JPEGs for the cache */
    size_t n_thumb_jpeg, n_preview_jpeg;
    double took_s;          /* from start to end in the helper */
    void *map; size_t n_map; /* behind the pointers above; photo_result_release() */
};
/* Next finished job; false when none waits. Cancelled jobs come back with ERR_CANCEL. */
bool photo_pool_next(struct photo_pool *p, struct photo_result *out);
/* Waits for one (commands): false when nothing is left to wait for. */
bool photo_pool_wait(struct photo_pool *p, struct photo_result *out);
void photo_result_release(struct photo_result *r);

/* Nothing of a cancelled job stays on disk. One that just finished may still come as done. */
void photo_pool_cancel(struct photo_pool *p, uint64_t ticket);
void photo_pool_cancel_generation(struct photo_pool *p, int generation);
void photo_pool_cancel_all(struct photo_pool *p);

struct photo_pool_counts {
    int n_waiting, n_running; /* jobs */
    int n_imports_left, n_imports_done; /* done: since the last time none was left */
    int n_helpers, n_replaced; /* helpers; those that died or hung and were replaced */
};
void photo_pool_count(struct photo_pool *p, struct photo_pool_counts *out);
/* Process id of a helper, 0 when there is none: for tests that end or stop one. */
int photo_pool_helper_pid(struct photo_pool *p, int index);

#endif
