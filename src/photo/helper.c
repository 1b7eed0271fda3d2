/* helper.c - the picture helper process: jobs come in over a socket, pixels go out in shared memory.
 *
 * It opens nothing by name. The decoders' libraries are loaded before the first job, memory and file
 * sizes are limited, and the memory it hands out is sealed, so that the pool can read it without
 * fearing that it shrinks underneath. */
#define _GNU_SOURCE /* memfd_create, seals, sync_file_range */
#include "photo/pool.h"

#include <errno.h>
#include <fcntl.h>
#ifdef __GLIBC__
#include <malloc.h> /* malloc_trim */
#endif
#include <poll.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/clock.h"
#include "base/err.h"
#include "base/files.h"
#include "base/mem.h"
#include "base/text.h"
#include "photo/photo.h"
#include "photo/photo_view.h"
#include "photo/pool_wire.h"

#if defined(__SANITIZE_ADDRESS__) || defined(__SANITIZE_THREAD__)
#define HAS_SHADOW_MEMORY 1
#elif defined(__has_feature)
#if __has_feature(address_sanitizer) || __has_feature(thread_sanitizer)
#define HAS_SHADOW_MEMORY 1
#endif
#endif

/* 200 megapixels as 32-bit pixels are 0.8 GB; a progressive JPEG of that size needs 0.6 GB of
 * coefficients besides, the file itself up to 0.5 GB, the libraries 0.2 GB of addresses. */
#define MAX_ADDRESS_BYTES ((rlim_t)2816 * 1024 * 1024)
#define PREVIEW_QUALITY 85
#define THUMB_QUALITY   85

static void set_limits(void)
{
    struct rlimit none = {0, 0}, files = {64, 64}, size = {PHOTO_MAX_FILE_BYTES * 4, PHOTO_MAX_FILE_BYTES * 4};

    setrlimit(RLIMIT_CORE, &none);
    setrlimit(RLIMIT_NOFILE, &files);
    setrlimit(RLIMIT_FSIZE, &size);
    signal(SIGXFSZ, SIG_IGN);
    signal(SIGINT, SIG_IGN); /* Ctrl+C is for the program that started this one */
#ifndef HAS_SHADOW_MEMORY
    {
        struct rlimit memory = {MAX_ADDRESS_BYTES, MAX_ADDRESS_BYTES};

        if (sizeof(void *) == 8)
            setrlimit(RLIMIT_AS, &memory);
    }
#endif
    setpriority(PRIO_PROCESS, 0, 10); /* the window comes first */
}

/* libpng and libtiff write to standard error themselves; the pool's caller gets a sentence instead.
 * Sanitizers keep theirs: their reports matter more. */
static void be_quiet(void)
{
#ifndef HAS_SHADOW_MEMORY
    int fd = open("/dev/null", O_WRONLY | O_CLOEXEC);

    if (fd >= 0) {
        dup2(fd, STDERR_FILENO);
        close(fd);
    }
#endif
}

/* The whole file, once. */
static bool read_source(int fd, uint8_t **data, size_t *n_bytes, struct err *e)
{
    struct stat st;
    size_t n_room, n = 0;
    uint8_t *d;

    if (fstat(fd, &st) != 0)
        return err_set_errno(e, ERR_IO, "The file cannot be read");
    if (st.st_size < 0 || (uint64_t)st.st_size > PHOTO_MAX_FILE_BYTES)
        return err_set(e, ERR_LIMIT, "The file is larger than %zu MB, which is more than any photo. Save a smaller copy and add "
                       "that.", PHOTO_MAX_FILE_BYTES / (1024 * 1024));
    n_room = (size_t)st.st_size;
    d = malloc(n_room + 1); /* not zeroed: it is read over at once */
    if (!d)
        return err_set(e, ERR_LIMIT, "There is not enough memory to read the file.");
    while (n < n_room) {
        ssize_t got = read(fd, d + n, n_room - n);

        if (got < 0 && errno == EINTR)
            continue;
        if (got < 0) {
            err_set_errno(e, ERR_IO, "The file cannot be read to its end");
            free(d);
            return false;
        }
        if (got == 0) /* it became shorter meanwhile */
            break;
        n += (size_t)got;
    }
    *data = d;
    *n_bytes = n;
    return true;
}

static bool copy_to(int fd, const uint8_t *data, size_t n_bytes, struct err *e)
{
    size_t n = 0;

    while (n < n_bytes) {
        ssize_t put = write(fd, data + n, n_bytes - n);

        if (put < 0 && errno == EINTR)
            continue;
        if (put < 0 && (errno == ENOSPC || errno == EDQUOT))
            return err_set(e, ERR_IO, "The disk is full: the photo could not be copied into the logbook. Make room, then add it "
                           "again.");
        if (put < 0)
            return err_set_errno(e, ERR_IO, "The photo could not be copied into the logbook");
        n += (size_t)put;
    }
#ifdef __linux__
    sync_file_range(fd, 0, 0, SYNC_FILE_RANGE_WRITE); /* the disk works while the picture is decoded */
#endif
    return true;
}

static bool flush_copy(int fd, struct err *e)
{
    if (fsync(fd) == 0 || errno == EINVAL || errno == EROFS)
        return true;
    if (errno == ENOSPC || errno == EDQUOT)
        return err_set(e, ERR_IO, "The disk is full: the photo could not be copied into the logbook. Make room, then add it again.");
    return err_set_errno(e, ERR_IO, "The copied photo could not be brought to the disk");
}

/* Everything in one piece of sealed memory. */
static int share_memory(const struct photo_pixels *p, const uint8_t *thumb, const uint8_t *preview, struct wire_answer *a)
{
    const uint8_t *parts[3] = {p->rgba, thumb, preview};
    size_t n_parts[3] = {(size_t)p->width * (size_t)p->height * 4, a->n_thumb_jpeg, a->n_preview_jpeg};
    size_t n = n_parts[0] + n_parts[1] + n_parts[2];
    int fd = memfd_create("picture", MFD_CLOEXEC | MFD_ALLOW_SEALING);

    if (fd < 0)
        return -1;
    /* Written, not mapped: no page has to be cleared first, and seals may then forbid every change. */
    for (int i = 0; i < 3; i++)
        for (size_t at = 0; at < n_parts[i];) {
            ssize_t put = write(fd, parts[i] + at, n_parts[i] - at);

            if (put < 0 && errno == EINTR)
                continue;
            if (put <= 0) {
                close(fd);
                return -1;
            }
            at += (size_t)put;
        }
    if (n == 0 || fcntl(fd, F_ADD_SEALS, F_SEAL_SHRINK | F_SEAL_GROW | F_SEAL_WRITE | F_SEAL_SEAL) != 0) {
        close(fd);
        return -1;
    }
    a->width = p->width;
    a->height = p->height;
    a->n_rgba = n_parts[0];
    return fd;
}

static bool make_previews(const uint8_t *data, size_t n_bytes, struct photo_pixels *thumb, uint8_t **thumb_jpeg,
                          uint8_t **preview_jpeg, struct wire_answer *a)
{
    struct photo_pixels preview;
    bool ok = photo_decode(data, n_bytes, PHOTO_PREVIEW_PX, NULL, &preview, &a->info, &a->err) &&
              photo_shrink(&preview, PHOTO_THUMB_PX, thumb, &a->err) &&
              photo_encode_jpeg(thumb, THUMB_QUALITY, thumb_jpeg, &a->n_thumb_jpeg, &a->err) &&
              photo_encode_jpeg(&preview, PREVIEW_QUALITY, preview_jpeg, &a->n_preview_jpeg, &a->err);

    photo_pixels_release(&preview);
    return ok;
}

/* The picture whose parts were asked for last: 72 MB for 48 megapixels of a phone, given back when nobody asks. Two may
 * be looked at at once, each by a helper of its own. */
static struct held {
    dev_t device;
    ino_t inode;
    off_t n_bytes;
    struct timespec changed;
    struct photo_held picture;
} held;
#define HOLD_MS 20000
#define HOLD_BYTES ((size_t)100 << 20)

static void let_go(void)
{
    photo_held_release(&held.picture);
    memset(&held, 0, sizeof held);
}

/* Decodes the file behind fd unless it is the one that is held. */
static bool hold(int fd, struct err *e)
{
    struct stat st;
    uint8_t *data;
    size_t n_bytes;
    bool ok;

    if (fstat(fd, &st) != 0)
        return err_set_errno(e, ERR_IO, "The file cannot be read");
    if (photo_is_held(&held.picture) && st.st_dev == held.device && st.st_ino == held.inode && st.st_size == held.n_bytes &&
        st.st_mtim.tv_sec == held.changed.tv_sec && st.st_mtim.tv_nsec == held.changed.tv_nsec)
        return true;
    let_go();
    if (!read_source(fd, &data, &n_bytes, e))
        return false;
    ok = photo_hold(data, n_bytes, HOLD_BYTES, &held.picture, e);
    free(data);
    if (!ok)
        return false;
    held.device = st.st_dev;
    held.inode = st.st_ino;
    held.n_bytes = st.st_size;
    held.changed = st.st_mtim;
    return true;
}

static bool cut_part(const struct wire_job *job, int fd, struct photo_pixels *out, struct wire_answer *a)
{
    const struct photo_region *r = &job->region;

    if (!hold(fd, &a->err))
        return false;
    a->info = held.picture.info;
    a->n_bytes = (int64_t)held.n_bytes;
    if (r->x < 0 || r->y < 0 || r->width < 1 || r->height < 1 || r->x > a->info.width - r->width || r->y > a->info.height - r->height)
        return err_set(&a->err, ERR_BADARG, "The part asked for is not inside the picture.");
    return photo_cut(&held.picture, r, job->shrink > 1 ? job->shrink : 1, out, &a->err);
}

/* Returns the descriptor of the shared memory, -1 when there is none. */
static int do_job(const struct wire_job *job, const int *fds, size_t n_fds, struct wire_answer *a)
{
    double began_s = clock_monotonic_s();
    uint8_t *data = NULL, *thumb_jpeg = NULL, *preview_jpeg = NULL;
    struct photo_pixels pixels = {0};
    size_t n_bytes = 0;
    int fd = -1;
    bool ok = false;

    memset(a, 0, sizeof *a);
    a->ticket = job->ticket;
    if (n_fds < (job->keep ? 2u : 1u))
        goto done;
    if (job->work == PHOTO_WORK_REGION) {
        ok = cut_part(job, fds[0], &pixels, a);
    } else if (!read_source(fds[0], &data, &n_bytes, &a->err)) {
        goto done;
    } else if (job->work == PHOTO_WORK_IMPORT) {
        a->n_bytes = (int64_t)n_bytes;
        if (job->keep && n_bytes > 0 && !copy_to(fds[1], data, n_bytes, &a->err))
            goto done;
        files_sha256_bytes(data, n_bytes, a->sha256);
        ok = make_previews(data, n_bytes, &pixels, &thumb_jpeg, &preview_jpeg, a);
        if (!ok && a->err.code == ERR_FORMAT) {
            a->info.format = photo_sniff(data, n_bytes);
            a->damaged = a->info.format != PHOTO_UNKNOWN;
        }
        if (job->keep && (ok || a->damaged) && !flush_copy(fds[1], &a->err))
            ok = a->damaged = false;
    } else {
        a->n_bytes = (int64_t)n_bytes;
        ok = photo_decode(data, n_bytes, job->max_px, NULL, &pixels, &a->info, &a->err);
    }
    if (ok) {
        fd = share_memory(&pixels, thumb_jpeg, preview_jpeg, a);
        if (fd < 0)
            ok = err_set(&a->err, ERR_LIMIT, "There is not enough memory for a picture of %d × %d pixels. Close other programs.",
                         pixels.width, pixels.height);
    }
done:
    a->ok = ok;
    photo_pixels_release(&pixels);
    free(data);
    free(thumb_jpeg);
    free(preview_jpeg);
    a->took_s = clock_monotonic_s() - began_s;
    return fd;
}

bool photo_helper_run(int argc, char **argv, int *status)
{
    struct wire_job job;
    struct wire_answer answer;
    long channel;
    int fds[WIRE_MAX_FDS];
    size_t n_fds;

    if (argc != 3 || strcmp(argv[1], WIRE_HELPER_FLAG) != 0)
        return false;
    *status = 2;
    if (!text_to_long(argv[2], &channel) || channel < 0 || channel > 1023)
        return true;
    photo_load_decoders();
    be_quiet();
    set_limits();
    for (;;) {
        if (photo_is_held(&held.picture) && poll(&(struct pollfd){.fd = (int)channel, .events = POLLIN}, 1, HOLD_MS) == 0)
            let_go();
        if (!wire_receive((int)channel, &job, sizeof job, fds, &n_fds))
            break;
        int shared = do_job(&job, fds, n_fds, &answer);

        for (size_t i = 0; i < n_fds; i++)
            close(fds[i]);
        if (!wire_send((int)channel, &answer, sizeof answer, &shared, shared >= 0 ? 1 : 0))
            break;
        if (shared >= 0)
            close(shared);
#ifdef __GLIBC__
        if (job.work != PHOTO_WORK_REGION)
            malloc_trim(0); /* a large photo came through; nobody waits for this */
#endif
    }
    *status = 0; /* the pool has gone, or wants this helper gone */
    return true;
}
