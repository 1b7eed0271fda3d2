/* One long piece of work beside the window: it tells how far it is, is stopped, comes back, and is let go of when nobody
 * takes it. What it is used for: a folder of photos, a large table, a merge.  check-with: threads */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <pthread.h>
#include <stdatomic.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "app/errand.h"
#include "app/taking.h"
#include "base/files.h"
#include "base/mem.h"
#include "base/text.h"
#include "../help/help.h"

static atomic_int n_woken, n_freed;

static void woken(void *ctx)
{
    (void)ctx;
    atomic_fetch_add(&n_woken, 1);
}

struct steps {
    size_t n, done;
    bool stopped;
};

static void count_up(struct errand *r, void *job)
{
    struct steps *j = job;

    while (j->done < j->n && !j->stopped) {
        j->stopped = !errand_go_on(r, "steps", ++j->done, j->n);
        if (j->n > 1000)
            usleep(100);
    }
}

static void let_go(void *job)
{
    atomic_fetch_add(&n_freed, 1);
    free(job);
}

static struct steps *new_job(size_t n)
{
    struct steps *j = mem_alloc(1, sizeof *j);

    j->n = n;
    return j;
}

static void *wait_for(struct errand *r)
{
    void *job;

    while ((job = errand_take(r)) == NULL)
        usleep(500);
    return job;
}

static void it_is_done_and_comes_back(void **state)
{
    struct errand *r = errand_create(woken, NULL);
    char what[40];
    size_t done, all;

    (void)state;
    assert_non_null(r);
    assert_false(errand_busy(r));
    assert_null(errand_take(r));
    for (size_t n = 1; n < 200; n += 50) {
        struct steps *j;

        errand_start(r, count_up, let_go, new_job(n));
        j = wait_for(r);
        assert_int_equal(j->done, n);
        assert_false(j->stopped);
        assert_false(errand_progress(r, what, sizeof what, &done, &all));
        assert_string_equal(what, "steps");
        assert_int_equal(done, n);
        free(j);
    }
    assert_true(atomic_load(&n_woken) > 0);
    errand_destroy(r);
}

static void it_is_stopped_or_dropped(void **state)
{
    struct errand *r = errand_create(woken, NULL);
    struct steps *j;

    (void)state;
    errand_start(r, count_up, let_go, new_job(1000000));
    errand_stop(r);
    j = wait_for(r);
    assert_true(j->stopped && j->done < j->n);
    free(j);
    atomic_store(&n_freed, 0);
    errand_start(r, count_up, let_go, new_job(1000000));
    errand_drop(r);
    assert_int_equal(atomic_load(&n_freed), 1);
    assert_false(errand_busy(r));
    errand_start(r, count_up, let_go, new_job(1000000));
    errand_destroy(r); /* while it runs */
    assert_int_equal(atomic_load(&n_freed), 2);
}

/* ---- what is on its way in ---- */

static struct taking_job *take(struct errand *r, enum taking_do what, const char *path)
{
    struct taking_job *j = mem_alloc(1, sizeof *j);

    j->what = what;
    text_format(j->logbook, sizeof j->logbook, "%s/log", folder);
    text_format(j->path, sizeof j->path, "%s/%s", folder, path);
    errand_start(r, taking_work, taking_job_free, j);
    return wait_for(r);
}

static void a_table_a_folder_and_a_copy_are_looked_at(void **state)
{
    struct errand *r = errand_create(woken, NULL);
    struct taking_job *j, *plan;
    struct text sheet = {0};
    char path[300];
    struct err e = {0};
    struct logbook *lb;
    struct engine en = engine_find_preset("i4")->engine;

    (void)state;
    text_copy(en.name, sizeof en.name, "Moth");
    text_format(path, sizeof path, "%s/log", folder);
    assert_true(logbook_create(path, &e));
    text_format(path, sizeof path, "%s/other", folder);
    assert_true(logbook_create(path, &e));
    lb = logbook_open(path, LOGBOOK_WRITE, &e);
    uuid_make(path);
    assert_true(logbook_begin(lb, "Engine", &e) && logbook_put_engine(lb, path, &en, &e) && logbook_commit(lb, &e));
    logbook_close(lb);
    /* the other copy: looked at, then taken in, with what was there kept beside it */
    j = take(r, TAKING_OPEN, "other");
    assert_true(j->fine && j->taking.merge);
    assert_int_equal(j->taking.merged.n_engines, 1);
    taking_job_free(j);
    j = take(r, TAKING_MERGE, "other");
    if (!j->fine)
        fail_msg("%s", j->err.text);
    assert_non_null(strstr(j->words, "1 engine come in"));
    assert_non_null(strstr(j->words, "As it was: before-merge-"));
    taking_job_free(j);
    /* a table: read, planned anew with the cells it lends, written */
    text_add(&sheet, "date,cyl,gap\n");
    for (int i = 0; i < 3000; i++)
        text_addf(&sheet, "20%02d-%02d-%02d,%d,1.%02d\n", i / 336, i / 28 % 12 + 1, i % 28 + 1, i % 4 + 1, i % 40);
    text_format(path, sizeof path, "%s/sheet.csv", folder);
    assert_true(files_write(path, text_get(&sheet), sheet.n_bytes, &e));
    text_release(&sheet);
    j = take(r, TAKING_OPEN, "sheet.csv");
    if (!j->fine)
        fail_msg("%s", j->err.text);
    assert_int_equal(j->taking.plan.n_rows, 3000);
    assert_int_equal(j->taking.plan.n_new, 3000);
    plan = mem_alloc(1, sizeof *plan);
    plan->what = TAKING_PLAN;
    text_copy(plan->logbook, sizeof plan->logbook, j->logbook);
    plan->taking = j->taking;
    plan->taking.arena = NULL;
    take_table_choose(&plan->taking.table, 2, TAKE_NOTHING, "", "");
    errand_start(r, taking_work, taking_job_free, plan);
    plan = wait_for(r);
    assert_true(plan->fine && plan->taking.plan.question[0] != '\0');
    taking_job_free(plan);
    j->what = TAKING_WRITE;
    j->fine = false;
    errand_start(r, taking_work, taking_job_free, j);
    j = wait_for(r);
    if (!j->fine)
        fail_msg("%s", j->err.text);
    assert_true(j->engine_id[0] != '\0' && j->visit_id[0] != '\0');
    taking_job_free(j);
    /* a folder of photos without an engine to lay them on */
    text_format(path, sizeof path, "%s/photos", folder);
    assert_true(files_make_folder(path, &e));
    j = take(r, TAKING_OPEN, "photos");
    assert_false(j->fine);
    assert_non_null(strstr(j->err.text, "Open the engine"));
    taking_job_free(j);
    errand_destroy(r);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(it_is_done_and_comes_back),
        cmocka_unit_test(it_is_stopped_or_dropped),
        cmocka_unit_test_setup_teardown(a_table_a_folder_and_a_copy_are_looked_at, make_folder, drop_folder),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
