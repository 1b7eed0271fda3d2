/* pool.c - the pool's side: a queue of jobs, one thread that deals them out to the helpers, watches
 * the clock, replaces helpers that die or hang, and puts finished originals into their folder.
 *
 * The lock covers the queue, the results and the counts. Files are opened, copied names made final and
 * helpers started without it: only the pool's thread does those. */
#define _GNU_SOURCE /* O_TMPFILE, F_GET_SEALS, pipe2 */
#include "photo/pool.h"

#include <assert.h>
#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <pthread.h>
#include <signal.h>
#include <spawn.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include "base/clock.h"
#include "base/err.h"
#include "base/files.h"
#include "base/mem.h"
#include "base/text.h"
#include "photo/pool_keep.h"
#include "photo/pool_wire.h"

extern char **environ;

#define MAX_HELPERS 64
#define DEFAULT_TIME_LIMIT_S 30.0
#define HELPER_FD 3

struct job {
    struct job *next;
    uint64_t ticket;
    struct photo_job ask;   /* path and keep_folder are own copies */
    int bytes_fd;           /* memory with ask.bytes in it, -1 */
    bool cancelled;         /* under the lock */
};

struct done {
    struct done *next;
    struct photo_result result;
};

struct helper {
    pid_t pid;   /* 0: none */
    int channel; /* -1: none */
    struct job *job;
    struct keep keep;
    double due_s, started_s;
    int n_early_deaths; /* died before any job, one after the other */
};

struct photo_pool {
    struct photo_pool_options options;
    pthread_t thread;
    bool thread_runs;
    int wake[2]; /* a byte wakes the thread */
    struct helper helpers[MAX_HELPERS];
    int n_helpers;

    pthread_mutex_t lock;
    pthread_cond_t changed; /* a result came, or the last job went */
    struct job *first_job, **last_job;
    struct done *first_done, **last_done;
    uint64_t last_ticket;
    int n_running, n_waiting, n_imports_left, n_imports_done, n_replaced;
    struct job *running[MAX_HELPERS]; /* what each helper has, for cancelling */
    pid_t pids[MAX_HELPERS];
    bool stop;
};

/* ---- helpers come and go (pool's thread, or before it runs) ---- */

static bool start_helper(struct photo_pool *p, struct helper *h, struct err *e)
{
    char name[] = "sootbook", flag[] = WIRE_HELPER_FLAG, channel[] = "3"; /* HELPER_FD */
    char *argv[] = {name, flag, channel, NULL};
    posix_spawn_file_actions_t actions;
    posix_spawnattr_t attr;
    sigset_t signals;
    int pair[2], trouble;

    if (socketpair(AF_UNIX, SOCK_SEQPACKET | SOCK_CLOEXEC, 0, pair) != 0)
        return err_set_errno(e, ERR_IO, "A picture helper cannot be started");
    posix_spawn_file_actions_init(&actions);
    posix_spawn_file_actions_adddup2(&actions, pair[1], HELPER_FD);
    posix_spawn_file_actions_addclosefrom_np(&actions, HELPER_FD + 1);
    posix_spawnattr_init(&attr);
    sigemptyset(&signals);
    posix_spawnattr_setsigmask(&attr, &signals);
    posix_spawnattr_setflags(&attr, POSIX_SPAWN_SETSIGMASK);
    trouble = posix_spawn(&h->pid, "/proc/self/exe", &actions, &attr, argv, environ);
    posix_spawn_file_actions_destroy(&actions);
    posix_spawnattr_destroy(&attr);
    close(pair[1]);
    if (trouble != 0) {
        close(pair[0]);
        h->pid = 0;
        h->channel = -1;
        errno = trouble;
        return err_set_errno(e, ERR_IO, "A picture helper cannot be started");
    }
    h->channel = pair[0];
    h->started_s = clock_monotonic_s();
    pthread_mutex_lock(&p->lock);
    p->pids[h - p->helpers] = h->pid;
    pthread_mutex_unlock(&p->lock);
    return true;
}

static int end_helper(struct photo_pool *p, struct helper *h)
{
    int status = 0;

    if (h->channel >= 0)
        close(h->channel);
    h->channel = -1;
    if (h->pid > 0) {
        pthread_mutex_lock(&p->lock);
        p->pids[h - p->helpers] = 0;
        pthread_mutex_unlock(&p->lock);
        kill(h->pid, SIGKILL);
        while (waitpid(h->pid, &status, 0) < 0 && errno == EINTR)
            ;
    }
    h->pid = 0;
    return status;
}

/* ---- jobs and results ---- */

static void job_release(struct job *j)
{
    free((char *)(uintptr_t)j->ask.path);
    free((char *)(uintptr_t)j->ask.keep_folder);
    if (j->bytes_fd >= 0)
        close(j->bytes_fd);
    free(j);
}

static void result_begin(const struct job *j, struct photo_result *r)
{
    memset(r, 0, sizeof *r);
    r->ticket = j->ticket;
    r->tag = j->ask.tag;
    r->generation = j->ask.generation;
    r->work = j->ask.work;
    text_copy(r->path, sizeof r->path, j->ask.path ? j->ask.path : "");
}

/* Takes the job and the result over; was_running says which count it leaves. Lock held. */
static void deliver_locked(struct photo_pool *p, struct job *j, const struct photo_result *r, bool was_running)
{
    struct done *d = mem_alloc(1, sizeof *d);

    d->result = *r;
    *p->last_done = d;
    p->last_done = &d->next;
    if (was_running)
        p->n_running--;
    else
        p->n_waiting--;
    if (j->ask.work == PHOTO_WORK_IMPORT) {
        p->n_imports_left--;
        p->n_imports_done++;
    }
    pthread_cond_broadcast(&p->changed);
}

static void deliver(struct photo_pool *p, struct job *j, struct photo_result *r)
{
    pthread_mutex_lock(&p->lock);
    for (int i = 0; i < p->n_helpers; i++)
        if (p->running[i] == j)
            p->running[i] = NULL;
    deliver_locked(p, j, r, true);
    pthread_mutex_unlock(&p->lock);
    job_release(j);
    if (p->options.wake)
        p->options.wake(p->options.wake_arg);
}

static void deliver_failed(struct photo_pool *p, struct job *j, const struct err *e)
{
    struct photo_result r;

    result_begin(j, &r);
    r.err = *e;
    deliver(p, j, &r);
}

static int open_source(const struct job *j, struct err *e)
{
    struct stat st;
    int fd;

    if (j->bytes_fd >= 0)
        return fcntl(j->bytes_fd, F_DUPFD_CLOEXEC, 0);
    fd = open(j->ask.path, O_RDONLY | O_CLOEXEC | O_NONBLOCK | O_NOCTTY);
    if (fd < 0) {
        if (errno == ENOENT || errno == ENOTDIR)
            err_set(e, ERR_NOTFOUND, "The file is not there (any more). Was the card or phone unplugged?");
        else if (errno == EACCES || errno == EPERM)
            err_set(e, ERR_IO, "You have no permission to read this file. Change its permissions, or copy it somewhere else.");
        else if (errno == ELOOP)
            err_set(e, ERR_IO, "This is a link that leads round in a circle. Add the photo itself.");
        else
            err_set_errno(e, ERR_IO, "The file cannot be opened");
        return -1;
    }
    if (fstat(fd, &st) != 0 || !S_ISREG(st.st_mode)) {
        if (S_ISDIR(st.st_mode))
            err_set(e, ERR_BADARG, "This is a folder, no picture. Open it and add the photos in it.");
        else
            err_set(e, ERR_BADARG, "This is no ordinary file, so no picture can be read from it.");
        close(fd);
        return -1;
    }
    return fd;
}

/* Gives a job to an idle helper; a job that cannot begin is delivered as failed at once. */
static void begin_job(struct photo_pool *p, struct helper *h, struct job *j)
{
    struct wire_job w = {.ticket = j->ticket, .work = j->ask.work, .max_px = j->ask.max_px, .region = j->ask.region, .shrink = j->ask.shrink};
    struct err e = {0};
    int fds[2];
    bool sent;

    w.keep = j->ask.work == PHOTO_WORK_IMPORT && j->ask.keep_folder;
    fds[0] = open_source(j, &e);
    if (fds[0] < 0) {
        deliver_failed(p, j, &e);
        return;
    }
    if (w.keep && !keep_begin(&h->keep, j->ask.keep_folder, &e)) {
        close(fds[0]);
        deliver_failed(p, j, &e);
        return;
    }
    fds[1] = h->keep.fd;
    sent = wire_send(h->channel, &w, sizeof w, fds, w.keep ? 2 : 1);
    close(fds[0]);
    h->job = j;
    h->due_s = clock_monotonic_s() + p->options.time_limit_s;
    if (!sent)
        h->due_s = 0; /* it is gone: dealt with as overdue in the same round */
}

/* Numbers of an answer against what can be. */
static bool answer_fits(const struct wire_answer *a, size_t n_shared)
{
    if (a->width < 1 || a->height < 1 || a->width > PHOTO_MAX_SIDE_PX || a->height > PHOTO_MAX_SIDE_PX)
        return false;
    if ((uint64_t)a->width * (uint64_t)a->height > PHOTO_MAX_PIXELS ||
        a->n_rgba != (size_t)a->width * (size_t)a->height * 4)
        return false;
    if (a->n_thumb_jpeg > PHOTO_MAX_FILE_BYTES || a->n_preview_jpeg > PHOTO_MAX_FILE_BYTES)
        return false;
    return a->n_rgba + a->n_thumb_jpeg + a->n_preview_jpeg <= n_shared && a->info.format >= 0 &&
           a->info.format < N_PHOTO_FORMATS && strspn(a->sha256, "0123456789abcdef") == strlen(a->sha256);
}

static bool map_answer(const struct wire_answer *a, int fd, struct photo_result *r, struct err *e)
{
    const int wanted = F_SEAL_SHRINK | F_SEAL_WRITE;
    struct stat st;
    void *map;

    if (fd < 0 || (fcntl(fd, F_GET_SEALS) & wanted) != wanted || fstat(fd, &st) != 0 || !answer_fits(a, (size_t)st.st_size))
        return err_set(e, ERR_FORMAT, "The picture could not be read: its helper answered nonsense. The file may be damaged.");
    map = mmap(NULL, (size_t)st.st_size, PROT_READ, MAP_SHARED, fd, 0);
    if (map == MAP_FAILED)
        return err_set(e, ERR_LIMIT, "There is not enough memory for the picture. Close other programs.");
    r->map = map;
    r->n_map = (size_t)st.st_size;
    r->width = a->width;
    r->height = a->height;
    r->rgba = map;
    r->n_thumb_jpeg = a->n_thumb_jpeg;
    r->n_preview_jpeg = a->n_preview_jpeg;
    r->thumb_jpeg = a->n_thumb_jpeg ? r->rgba + a->n_rgba : NULL;
    r->preview_jpeg = a->n_preview_jpeg ? r->rgba + a->n_rgba + a->n_thumb_jpeg : NULL;
    return true;
}

static bool is_cancelled(struct photo_pool *p, const struct job *j)
{
    bool c;

    pthread_mutex_lock(&p->lock);
    c = j->cancelled;
    pthread_mutex_unlock(&p->lock);
    return c;
}

/* The original gets its name, where one is kept. */
static bool keep_original(struct helper *h, const struct job *j, struct photo_result *r)
{
    return h->keep.fd < 0 || keep_finish(&h->keep, j->ask.keep_folder, r->sha256, photo_format_id(r->info.format), r->kept_path,
                                         sizeof r->kept_path, &r->was_kept, &r->err);
}

/* The helper answered: the original gets its name, the pixels are mapped. */
static void finish_job(struct photo_pool *p, struct helper *h, struct wire_answer *a, int fd)
{
    struct job *j = h->job;
    struct photo_result r;

    h->job = NULL;
    result_begin(j, &r);
    a->err.text[sizeof a->err.text - 1] = '\0';
    a->sha256[sizeof a->sha256 - 1] = '\0';
    a->info.taken[sizeof a->info.taken - 1] = '\0';
    r.took_s = a->took_s;
    r.n_bytes = a->n_bytes;
    if (strspn(a->sha256, "0123456789abcdef") == 64)
        text_copy(r.sha256, sizeof r.sha256, a->sha256);
    if (is_cancelled(p, j)) {
        err_set(&r.err, ERR_CANCEL, "Cancelled.");
    } else if (!a->ok) {
        r.err = a->err;
        text_sanitize(r.err.text, sizeof r.err.text);
        if (r.err.code == ERR_NONE)
            err_set(&r.err, ERR_FORMAT, "The picture could not be read.");
        if (a->damaged && r.sha256[0] != '\0' && a->info.format >= 0 && a->info.format < N_PHOTO_FORMATS) {
            r.info = a->info;
            r.damaged = keep_original(h, j, &r);
        }
    } else if (map_answer(a, fd, &r, &r.err)) {
        r.info = a->info;
        r.ok = keep_original(h, j, &r);
        if (!r.ok)
            photo_result_release(&r);
    }
    keep_drop(&h->keep);
    deliver(p, j, &r);
}

/* The helper died or was ended: its picture gets the reason, a new helper takes its place. */
static void replace_helper(struct photo_pool *p, struct helper *h, bool overdue)
{
    struct job *j = h->job;
    bool early = !j && clock_monotonic_s() - h->started_s < 2.0;
    struct err e = {0};

    end_helper(p, h);
    h->job = NULL;
    keep_drop(&h->keep);
    h->n_early_deaths = early ? h->n_early_deaths + 1 : 0;
    pthread_mutex_lock(&p->lock);
    p->n_replaced++;
    pthread_mutex_unlock(&p->lock);
    /* One that cannot even start would be started for ever. */
    if (h->n_early_deaths < 3)
        start_helper(p, h, NULL);
    if (!j)
        return;
    if (is_cancelled(p, j))
        err_set(&e, ERR_CANCEL, "Cancelled.");
    else if (overdue)
        err_set(&e, ERR_LIMIT, "Reading this picture took longer than %.0f seconds and was given up. It may be damaged; save it "
                "afresh as JPEG, then add that.", p->options.time_limit_s);
    else
        err_set(&e, ERR_FORMAT, "Reading this picture ended its helper: the file is damaged, or memory ran out. Copy it from the "
                "phone or camera again.");
    deliver_failed(p, j, &e);
}

static void read_answer(struct photo_pool *p, struct helper *h)
{
    struct wire_answer a;
    int fds[WIRE_MAX_FDS];
    size_t n_fds;

    if (!wire_receive(h->channel, &a, sizeof a, fds, &n_fds)) {
        replace_helper(p, h, false);
        return;
    }
    h->n_early_deaths = 0;
    if (!h->job || a.ticket != h->job->ticket)
        replace_helper(p, h, false);
    else
        finish_job(p, h, &a, n_fds > 0 ? fds[0] : -1);
    while (n_fds > 0)
        close(fds[--n_fds]);
}

/* ---- the pool's thread ---- */

/* For helper number `index`, -1 when there is none. It counts as running from here on, so that it can be
 * cancelled at any moment. lanes: bits of
 * those whose regions it does, too. */
static struct job *next_job(struct photo_pool *p, int index, unsigned lanes)
{
    struct job **at, **first = NULL, *j;

    pthread_mutex_lock(&p->lock);
    for (at = &p->first_job; *at; at = &(*at)->next) {
        if ((*at)->ask.work == PHOTO_WORK_REGION && (lanes >> (*at)->ask.lane & 1) == 0)
            continue;
        if ((*at)->ask.first)
            break;
        if (!first || ((*at)->ask.urgent && !(*first)->ask.urgent))
            first = at;
    }
    if (!*at && first)
        at = first;
    j = *at;
    if (j) {
        *at = j->next;
        if (!j->next)
            p->last_job = at;
        j->next = NULL;
        p->n_waiting--;
        p->n_running++;
        if (index >= 0)
            p->running[index] = j;
    }
    pthread_mutex_unlock(&p->lock);
    return j;
}

static int count_helpers(const struct photo_pool *p)
{
    int n = 0;

    for (int i = 0; i < p->n_helpers; i++)
        n += p->helpers[i].channel >= 0;
    return n;
}

static void deal_out(struct photo_pool *p)
{
    struct job *j;
    int n = count_helpers(p), order = 0; /* the first helper there is does lane 0, the second lane 1; one alone both */

    for (int i = 0; i < p->n_helpers; i++) {
        unsigned lanes = n == 1 ? 3 : order == 0 ? 1 : order == 1 ? 2 : 0;

        if (p->helpers[i].channel < 0)
            continue;
        while (p->helpers[i].channel >= 0 && !p->helpers[i].job && (j = next_job(p, i, lanes)))
            begin_job(p, &p->helpers[i], j);
        order++;
    }
    if (count_helpers(p) == 0)
        while ((j = next_job(p, -1, 3))) {
            struct err e = {0};

            err_set(&e, ERR_IO, "No picture helper can be started, so pictures cannot be read. Start Sootbook again.");
            deliver_failed(p, j, &e);
        }
}

static bool stopping(struct photo_pool *p)
{
    bool s;

    pthread_mutex_lock(&p->lock);
    s = p->stop;
    pthread_mutex_unlock(&p->lock);
    return s;
}

/* Milliseconds until the first helper is overdue; -1: nothing runs. */
static int until_due_ms(const struct photo_pool *p)
{
    double now_s = clock_monotonic_s(), first_s = -1;

    for (int i = 0; i < p->n_helpers; i++)
        if (p->helpers[i].job) {
            double left_s = p->helpers[i].due_s - now_s;

            left_s = left_s < 0 ? 0 : left_s;
            first_s = first_s < 0 || left_s < first_s ? left_s : first_s;
        }
    return first_s < 0 ? -1 : (int)(first_s * 1000) + 1;
}

static void *serve(void *arg)
{
    struct photo_pool *p = arg;
    struct pollfd fds[MAX_HELPERS + 1];

    while (!stopping(p)) {
        double now_s;

        deal_out(p);
        fds[0] = (struct pollfd){.fd = p->wake[0], .events = POLLIN};
        for (int i = 0; i < p->n_helpers; i++) /* -1 is passed over by poll() */
            fds[i + 1] = (struct pollfd){.fd = p->helpers[i].channel, .events = POLLIN};
        if (poll(fds, (nfds_t)p->n_helpers + 1, until_due_ms(p)) < 0)
            continue;
        if (fds[0].revents) {
            char drained[64];

            while (read(p->wake[0], drained, sizeof drained) > 0)
                ;
        }
        now_s = clock_monotonic_s();
        for (int i = 0; i < p->n_helpers; i++) {
            struct helper *h = &p->helpers[i];

            if (fds[i + 1].revents && h->channel >= 0)
                read_answer(p, h);
            else if (h->job && now_s >= h->due_s)
                replace_helper(p, h, h->due_s > 0);
        }
    }
    return NULL;
}

static void wake_thread(struct photo_pool *p)
{
    ssize_t n = write(p->wake[1], "", 1); /* full: it is awake anyway */

    (void)n;
}

/* ---- for callers ---- */

struct photo_pool *photo_pool_create(const struct photo_pool_options *options, struct err *e)
{
    struct photo_pool *p = mem_alloc(1, sizeof *p);
    int n;

    if (options)
        p->options = *options;
    if (p->options.time_limit_s <= 0)
        p->options.time_limit_s = DEFAULT_TIME_LIMIT_S;
    n = p->options.n_helpers > 0 ? p->options.n_helpers : (int)sysconf(_SC_NPROCESSORS_ONLN);
    p->n_helpers = n < 1 ? 1 : n > MAX_HELPERS ? MAX_HELPERS : n;
    p->last_job = &p->first_job;
    p->last_done = &p->first_done;
    pthread_mutex_init(&p->lock, NULL);
    pthread_cond_init(&p->changed, NULL);
    for (int i = 0; i < p->n_helpers; i++) {
        p->helpers[i].channel = -1;
        p->helpers[i].keep.fd = -1;
    }
    if (pipe2(p->wake, O_CLOEXEC | O_NONBLOCK) != 0) {
        p->wake[0] = p->wake[1] = -1;
        err_set_errno(e, ERR_IO, "Picture helpers cannot be started");
        goto failed;
    }
    for (int i = 0; i < p->n_helpers; i++)
        if (!start_helper(p, &p->helpers[i], e))
            goto failed;
    if (pthread_create(&p->thread, NULL, serve, p) != 0) {
        err_set(e, ERR_IO, "Picture helpers cannot be started: the system gives no thread.");
        goto failed;
    }
    p->thread_runs = true;
    return p;
failed:
    photo_pool_destroy(p);
    return NULL;
}

void photo_pool_destroy(struct photo_pool *p)
{
    struct photo_result r;

    if (!p)
        return;
    if (p->thread_runs) {
        pthread_mutex_lock(&p->lock);
        p->stop = true;
        pthread_mutex_unlock(&p->lock);
        wake_thread(p);
        pthread_join(p->thread, NULL);
    }
    for (int i = 0; i < p->n_helpers; i++) {
        end_helper(p, &p->helpers[i]);
        keep_drop(&p->helpers[i].keep);
        if (p->helpers[i].job)
            job_release(p->helpers[i].job);
    }
    while (p->first_job) {
        struct job *j = p->first_job;

        p->first_job = j->next;
        job_release(j);
    }
    while (photo_pool_next(p, &r))
        photo_result_release(&r);
    if (p->wake[0] >= 0) {
        close(p->wake[0]);
        close(p->wake[1]);
    }
    pthread_cond_destroy(&p->changed);
    pthread_mutex_destroy(&p->lock);
    free(p);
}

static int memory_with(const uint8_t *bytes, size_t n_bytes)
{
    int fd = memfd_create("bytes", MFD_CLOEXEC);
    size_t at = 0;

    while (fd >= 0 && at < n_bytes) {
        ssize_t put = write(fd, bytes + at, n_bytes - at);

        if (put <= 0 && errno != EINTR) {
            close(fd);
            return -1;
        }
        at += put > 0 ? (size_t)put : 0;
    }
    if (fd >= 0)
        lseek(fd, 0, SEEK_SET);
    return fd;
}

uint64_t photo_pool_submit(struct photo_pool *p, const struct photo_job *job)
{
    struct job *j = mem_alloc(1, sizeof *j);
    uint64_t ticket;

    assert((job->path || job->bytes) && (job->lane == 0 || job->lane == 1));
    j->ask = *job;
    j->ask.path = mem_copy_text(job->path);
    j->ask.keep_folder = mem_copy_text(job->keep_folder);
    j->ask.bytes = NULL;
    j->bytes_fd = job->path ? -1 : memory_with(job->bytes, job->n_bytes);
    if (!j->ask.path && j->bytes_fd < 0)
        j->ask.path = mem_copy_text(""); /* no memory: fails when it is opened */
    pthread_mutex_lock(&p->lock);
    ticket = j->ticket = ++p->last_ticket;
    *p->last_job = j;
    p->last_job = &j->next;
    p->n_waiting++;
    if (job->work == PHOTO_WORK_IMPORT) {
        if (p->n_imports_left == 0)
            p->n_imports_done = 0;
        p->n_imports_left++;
    }
    pthread_mutex_unlock(&p->lock);
    wake_thread(p);
    return ticket;
}

static bool take_done_locked(struct photo_pool *p, struct photo_result *out)
{
    struct done *d = p->first_done;

    if (!d)
        return false;
    p->first_done = d->next;
    if (!p->first_done)
        p->last_done = &p->first_done;
    *out = d->result;
    free(d);
    return true;
}

bool photo_pool_next(struct photo_pool *p, struct photo_result *out)
{
    bool got;

    pthread_mutex_lock(&p->lock);
    got = take_done_locked(p, out);
    pthread_mutex_unlock(&p->lock);
    return got;
}

bool photo_pool_wait(struct photo_pool *p, struct photo_result *out)
{
    bool got;

    pthread_mutex_lock(&p->lock);
    while (!(got = take_done_locked(p, out)) && p->n_waiting + p->n_running > 0)
        pthread_cond_wait(&p->changed, &p->lock);
    pthread_mutex_unlock(&p->lock);
    return got;
}

void photo_result_release(struct photo_result *r)
{
    if (r->map)
        munmap(r->map, r->n_map);
    r->map = NULL;
    r->n_map = 0;
    r->rgba = r->thumb_jpeg = r->preview_jpeg = NULL;
    r->n_thumb_jpeg = r->n_preview_jpeg = 0;
}

/* Which jobs a cancel is about. */
struct choice {
    bool all, by_ticket;
    uint64_t ticket;
    int generation;
};

static bool is_meant(const struct job *j, const struct choice *c)
{
    return c->all || (c->by_ticket ? j->ticket == c->ticket : j->ask.generation == c->generation);
}

static void cancel(struct photo_pool *p, struct choice c)
{
    struct job **at, *gone = NULL;

    pthread_mutex_lock(&p->lock);
    for (at = &p->first_job; *at;) {
        struct job *j = *at;
        struct photo_result r;

        if (!is_meant(j, &c)) {
            at = &j->next;
            continue;
        }
        *at = j->next;
        result_begin(j, &r);
        err_set(&r.err, ERR_CANCEL, "Cancelled.");
        deliver_locked(p, j, &r, false);
        j->next = gone;
        gone = j;
    }
    p->last_job = at;
    for (int i = 0; i < p->n_helpers; i++)
        if (p->running[i] && is_meant(p->running[i], &c))
            p->running[i]->cancelled = true;
    pthread_mutex_unlock(&p->lock);
    while (gone) {
        struct job *j = gone;

        gone = j->next;
        job_release(j);
    }
    wake_thread(p);
}

void photo_pool_cancel(struct photo_pool *p, uint64_t ticket)
{
    cancel(p, (struct choice){.by_ticket = true, .ticket = ticket});
}

void photo_pool_cancel_generation(struct photo_pool *p, int generation)
{
    cancel(p, (struct choice){.generation = generation});
}

void photo_pool_cancel_all(struct photo_pool *p)
{
    cancel(p, (struct choice){.all = true});
}

void photo_pool_count(struct photo_pool *p, struct photo_pool_counts *out)
{
    pthread_mutex_lock(&p->lock);
    *out = (struct photo_pool_counts){p->n_waiting,      p->n_running, p->n_imports_left,
                                      p->n_imports_done, p->n_helpers, p->n_replaced};
    pthread_mutex_unlock(&p->lock);
}

int photo_pool_helper_pid(struct photo_pool *p, int index)
{
    int pid = 0;

    pthread_mutex_lock(&p->lock);
    if (index >= 0 && index < p->n_helpers)
        pid = p->pids[index];
    pthread_mutex_unlock(&p->lock);
    return pid;
}
