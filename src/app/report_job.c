#define _GNU_SOURCE /* closefrom in a spawned process */
#include "app/report_job.h"

#include <errno.h>
#include <fcntl.h>
#include <pthread.h>
#include <spawn.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/wait.h>
#include <unistd.h>

#include "base/err.h"
#include "base/mem.h"
#include "base/text.h"

extern char **environ;

struct report_job {
    void (*wake)(void *ctx);
    void *ctx;
    pthread_t thread;
    pthread_mutex_t lock; /* the fields below */
    bool started;         /* there is a thread to join */
    bool done, fine;
    pid_t child;
    int from_child;       /* what it says in trouble */
    char path[1400], said[1400];
};

struct report_job *report_job_create(void (*wake)(void *ctx), void *ctx)
{
    struct report_job *j = mem_alloc(1, sizeof *j);

    j->wake = wake;
    j->ctx = ctx;
    pthread_mutex_init(&j->lock, NULL);
    return j;
}

void report_job_destroy(struct report_job *j)
{
    if (j == NULL)
        return;
    if (j->started)
        pthread_join(j->thread, NULL);
    pthread_mutex_destroy(&j->lock);
    free(j);
}

/* Reads what the child says until it ends. */
static void *wait_for_child(void *arg)
{
    struct report_job *j = arg;
    char said[sizeof j->said];
    size_t n = 0;
    ssize_t got;
    int status = 0;

    while (n < sizeof said - 1 && (got = read(j->from_child, said + n, sizeof said - 1 - n)) != 0) {
        if (got < 0 && errno != EINTR)
            break;
        n += got > 0 ? (size_t)got : 0;
    }
    while (n > 0 && said[n - 1] == '\n')
        n--;
    said[n] = '\0';
    close(j->from_child);
    while (waitpid(j->child, &status, 0) < 0 && errno == EINTR) {
    }
    pthread_mutex_lock(&j->lock);
    j->fine = WIFEXITED(status) && WEXITSTATUS(status) == 0;
    text_copy(j->said, sizeof j->said, j->fine ? j->path : said[0] ? said : "The report was not written: its process ended at once. Try again.");
    j->done = true;
    pthread_mutex_unlock(&j->lock);
    j->wake(j->ctx);
    return NULL;
}

static bool spawn(struct report_job *j, char *const *argv, struct err *e)
{
    posix_spawn_file_actions_t actions;
    int pair[2], trouble;

    if (socketpair(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0, pair) != 0)
        return err_set_errno(e, ERR_IO, "The report cannot be begun");
    posix_spawn_file_actions_init(&actions);
    posix_spawn_file_actions_adddup2(&actions, pair[1], STDERR_FILENO);
    posix_spawn_file_actions_addopen(&actions, STDOUT_FILENO, "/dev/null", O_WRONLY, 0);
    posix_spawn_file_actions_addclosefrom_np(&actions, STDERR_FILENO + 1);
    trouble = posix_spawn(&j->child, "/proc/self/exe", &actions, NULL, argv, environ);
    posix_spawn_file_actions_destroy(&actions);
    close(pair[1]);
    if (trouble == 0) {
        j->from_child = pair[0];
        return true;
    }
    close(pair[0]);
    errno = trouble;
    return err_set_errno(e, ERR_IO, "The report cannot be begun");
}

bool report_job_start(struct report_job *j, const struct report_wish *w, struct err *e)
{
    const char *words[] = {"sootbook", "report", w->folder, "--engine", w->engine_id, "--visit", w->visit_id, "--compression-rule", w->compression_rule,
                           "--without", w->without, "--paper", w->paper, "--visits", w->visits, "--units", w->units, "-o", w->path};
    const char *flags[] = {w->sheet ? "--sheet" : NULL, w->firing ? "--firing" : NULL, w->side ? "--side" : NULL, w->laid != NULL ? "--laid" : NULL, w->laid};
    enum { N_WORDS = sizeof words / sizeof words[0], N_FLAGS = sizeof flags / sizeof flags[0] };
    char *argv[N_WORDS + N_FLAGS + 1] = {NULL};
    int n = 0;
    bool fine = !report_job_busy(j) || err_set(e, ERR_BUSY, "A report is being written; try again in a moment.");

    while (n < N_WORDS) {
        argv[n] = mem_copy_text(words[n]);
        n++;
    }
    for (int i = 0; i < N_FLAGS; i++)
        if (flags[i] != NULL)
            argv[n++] = mem_copy_text(flags[i]);
    if (fine && j->started)
        pthread_join(j->thread, NULL);
    if (fine) {
        j->started = j->done = false;
        text_copy(j->path, sizeof j->path, w->path);
        fine = spawn(j, argv, e);
    }
    if (fine && pthread_create(&j->thread, NULL, wait_for_child, j) != 0) {
        close(j->from_child);
        waitpid(j->child, NULL, 0);
        fine = err_set(e, ERR_IO, "The report cannot be begun: no more threads.");
    } else if (fine) {
        j->started = true;
    }
    while (n > 0)
        free(argv[--n]);
    return fine;
}

bool report_job_busy(struct report_job *j)
{
    bool busy;

    pthread_mutex_lock(&j->lock);
    busy = j->started && !j->done;
    pthread_mutex_unlock(&j->lock);
    return busy;
}

bool report_job_take(struct report_job *j, bool *fine, char *said, unsigned long n_room)
{
    bool done;

    pthread_mutex_lock(&j->lock);
    done = j->started && j->done;
    if (done) {
        *fine = j->fine;
        text_copy(said, n_room, j->said);
    }
    pthread_mutex_unlock(&j->lock);
    if (done) {
        pthread_join(j->thread, NULL);
        j->started = false;
    }
    return done;
}
