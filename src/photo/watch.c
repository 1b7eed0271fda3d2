/* watch.c - the watched folder.
 *
 * The folder is listed again and again; a file is told once its size and time have stayed the same for
 * settle_s. That alone works everywhere, network folders included. Where the system can send word of
 * changes (inotify), the thread sleeps until it does and only looks while some file is still growing. */
#include "photo/watch.h"

#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <pthread.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>
#ifdef __linux__
#include <sys/inotify.h>
#endif

#include "base/clock.h"
#include "base/err.h"
#include "base/files.h"
#include "base/mem.h"
#include "base/text.h"
#include "photo/photo.h"

struct seen {
    char *name;
    int64_t n_bytes, modified_s;
    double since_s; /* size and time have been so since */
    bool told, there;
};

struct watch {
    struct watch_options options;
    char *folder;
    pthread_t thread;
    bool thread_runs;
    int stop[2];   /* a byte ends the thread */
    int word;      /* inotify; -1: none */
    int word_for;  /* its watch of the folder; -1: to be set (again) */
    struct seen *files; /* thread only */
    size_t n_files;

    pthread_mutex_t lock; /* guards the queue below */
    char **ready;
    size_t n_ready;
};

static struct seen *find_seen(struct watch *w, const char *name)
{
    for (size_t i = 0; i < w->n_files; i++)
        if (strcmp(w->files[i].name, name) == 0)
            return &w->files[i];
    return NULL;
}

static void tell(struct watch *w, const char *name)
{
    char path[FILES_PATH_BYTES];

    if (!files_join(path, sizeof path, w->folder, name))
        return;
    pthread_mutex_lock(&w->lock);
    w->ready = mem_resize(w->ready, w->n_ready + 1, sizeof *w->ready);
    w->ready[w->n_ready++] = mem_copy_text(path);
    pthread_mutex_unlock(&w->lock);
    if (w->options.wake)
        w->options.wake(w->options.wake_arg);
}

/* Files that are gone are forgotten: one that comes back under the same name is new. */
static void forget_gone(struct watch *w)
{
    size_t n = 0;

    for (size_t i = 0; i < w->n_files; i++) {
        if (!w->files[i].there) {
            free(w->files[i].name);
            continue;
        }
        w->files[n] = w->files[i];
        n++;
    }
    w->n_files = n;
}

static bool look_at_file(struct watch *w, const struct files_entry *f, bool at_start, double now_s)
{
    struct seen *s = find_seen(w, f->name);

    if (!s) {
        w->files = mem_resize(w->files, w->n_files + 1, sizeof *w->files);
        s = &w->files[w->n_files++];
        *s = (struct seen){mem_copy_text(f->name), f->n_bytes, f->modified_s, now_s, at_start && !w->options.existing_too, true};
        return !s->told;
    }
    s->there = true;
    if (s->n_bytes != f->n_bytes || s->modified_s != f->modified_s) {
        /* Written over under the same name: a photo of its own again. One that was still growing when
         * the watch began is not old either. */
        s->n_bytes = f->n_bytes;
        s->modified_s = f->modified_s;
        s->since_s = now_s;
        s->told = false;
        return true;
    }
    if (s->told || f->n_bytes == 0) /* nothing in it yet: word comes when there is */
        return false;
    if (now_s - s->since_s < w->options.settle_s)
        return true;
    s->told = true;
    tell(w, f->name);
    return false;
}

/* True when a file is still settling, so that the next look must come soon. A folder that cannot be
 * read just now (card pulled out) keeps what is known of it. */
static bool look(struct watch *w, bool at_start)
{
    struct files_list list;
    double now_s = clock_monotonic_s();
    bool settling = false;

    if (!files_list_load(w->folder, &list, NULL))
        return false;
    for (size_t i = 0; i < w->n_files; i++)
        w->files[i].there = false;
    for (size_t i = 0; i < list.n_entries; i++)
        if (!list.entries[i].is_folder && photo_name_fits(list.entries[i].name))
            settling |= look_at_file(w, &list.entries[i], at_start, now_s);
    files_list_release(&list);
    forget_gone(w);
    return settling;
}

/* Asks for word again after the folder went and came back. */
static bool has_word(struct watch *w)
{
#ifdef __linux__
    if (w->word >= 0 && w->word_for < 0)
        w->word_for = inotify_add_watch(w->word, w->folder,
                                        IN_CREATE | IN_CLOSE_WRITE | IN_MODIFY | IN_MOVED_TO | IN_MOVED_FROM | IN_DELETE |
                                            IN_DELETE_SELF | IN_MOVE_SELF | IN_ONLYDIR);
    return w->word >= 0 && w->word_for >= 0;
#else
    (void)w;
    return false;
#endif
}

static void read_word(struct watch *w)
{
#ifdef __linux__
    union {
        struct inotify_event first; /* for its alignment */
        char room[4096];
    } events;
    ssize_t n = read(w->word, events.room, sizeof events.room);

    for (ssize_t at = 0; at + (ssize_t)sizeof(struct inotify_event) <= n;) {
        struct inotify_event ev;

        memcpy(&ev, events.room + at, sizeof ev);
        if (ev.mask & IN_MOVE_SELF)
            inotify_rm_watch(w->word, ev.wd);
        if (ev.mask & (IN_IGNORED | IN_DELETE_SELF | IN_MOVE_SELF | IN_UNMOUNT))
            w->word_for = -1;
        at += (ssize_t)sizeof ev + (ssize_t)ev.len;
    }
#else
    (void)w;
#endif
}

static void *run(void *arg)
{
    struct watch *w = arg;
    bool settling = look(w, true);

    for (;;) {
        struct pollfd fds[2] = {{.fd = w->stop[0], .events = POLLIN}, {.fd = w->word, .events = POLLIN}};
        int wait_ms = (int)(w->options.poll_s * 1000);

        if (settling && w->options.settle_s < w->options.poll_s)
            wait_ms = (int)(w->options.settle_s * 1000) / 2 + 1;
        else if (!settling && has_word(w))
            wait_ms = -1;
        if (poll(fds, 2, wait_ms) < 0 && errno != EINTR)
            break;
        if (fds[0].revents)
            break;
        if (fds[1].revents)
            read_word(w);
        settling = look(w, false);
    }
    return NULL;
}

struct watch *watch_start(const char *folder, const struct watch_options *options, struct err *e)
{
    struct watch *w;
    struct stat st;

    if (stat(folder, &st) != 0) {
        err_set(e, ERR_NOTFOUND, "There is no folder %s to watch. Choose another one.", folder);
        return NULL;
    }
    if (!S_ISDIR(st.st_mode)) {
        err_set(e, ERR_BADARG, "%s is no folder. Choose the folder the photos land in.", folder);
        return NULL;
    }
    if (access(folder, R_OK | X_OK) != 0) {
        err_set(e, ERR_IO, "You have no permission to read the folder %s. Choose another one, or change its permissions.", folder);
        return NULL;
    }
    w = mem_alloc(1, sizeof *w);
    if (options)
        w->options = *options;
    if (w->options.settle_s <= 0)
        w->options.settle_s = 1.5;
    if (w->options.poll_s <= 0)
        w->options.poll_s = 2;
    w->folder = mem_copy_text(folder);
    w->word = w->word_for = -1;
    w->stop[0] = w->stop[1] = -1;
    pthread_mutex_init(&w->lock, NULL);
#ifdef __linux__
    if (!w->options.poll_only && !files_on_network(folder, NULL, 0))
        w->word = inotify_init1(IN_CLOEXEC | IN_NONBLOCK);
    has_word(w); /* before the first look: nothing falls between */
#endif
    if (pipe(w->stop) != 0 || pthread_create(&w->thread, NULL, run, w) != 0) {
        err_set(e, ERR_IO, "The folder %s cannot be watched: the system gives no thread or pipe. Close other programs.", folder);
        watch_stop(w);
        return NULL;
    }
    fcntl(w->stop[0], F_SETFD, FD_CLOEXEC);
    fcntl(w->stop[1], F_SETFD, FD_CLOEXEC);
    w->thread_runs = true;
    return w;
}

void watch_stop(struct watch *w)
{
    if (!w)
        return;
    if (w->thread_runs) {
        ssize_t n = write(w->stop[1], "", 1);

        (void)n;
        pthread_join(w->thread, NULL);
    }
    for (int i = 0; i < 2; i++)
        if (w->stop[i] >= 0)
            close(w->stop[i]);
    if (w->word >= 0)
        close(w->word);
    for (size_t i = 0; i < w->n_files; i++)
        free(w->files[i].name);
    for (size_t i = 0; i < w->n_ready; i++)
        free(w->ready[i]);
    free(w->files);
    free(w->ready);
    free(w->folder);
    pthread_mutex_destroy(&w->lock);
    free(w);
}

bool watch_next(struct watch *w, char *path, size_t n_room)
{
    bool got = false;

    pthread_mutex_lock(&w->lock);
    while (!got && w->n_ready > 0) {
        got = text_copy(path, n_room, w->ready[0]);
        free(w->ready[0]);
        w->n_ready--;
        memmove(w->ready, w->ready + 1, w->n_ready * sizeof *w->ready);
    }
    pthread_mutex_unlock(&w->lock);
    return got;
}
