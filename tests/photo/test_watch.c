/* The watched folder, with real files: by the system's word and by looking alone. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/clock.h"
#include "base/err.h"
#include "base/files.h"
#include "base/text.h"
#include "photo/watch.h"
#include "../help/help.h"

static int drop_both(void **state)
{
    char command[128];

    text_format(command, sizeof command, "rm -rf '%s.away'", folder);
    return drop_folder(state) != 0 || system(command) != 0;
}

static void add_to(const char *name, const char *words)
{
    char path[200];
    FILE *f;

    text_format(path, sizeof path, "%s/%s", folder, name);
    f = fopen(path, "a");
    assert_non_null(f);
    fputs(words, f);
    assert_int_equal(fclose(f), 0);
}

static char let_be[8]; /* how those are named that may be told or not, "" none */

static bool next(struct watch *w, const char *wanted, char *path, size_t n_room)
{
    while (watch_next(w, path, n_room))
        if (let_be[0] == '\0' || text_equal(files_name(path), wanted) || strncmp(files_name(path), let_be, strlen(let_be)) != 0)
            return true;
    return false;
}

/* Waits for one file, at most two minutes; true when its name is the one wanted. */
static bool comes(struct watch *w, const char *name)
{
    char path[300];

    for (int i = 0; i < 12000; i++) {
        if (next(w, name, path, sizeof path)) {
            if (!text_equal(files_name(path), name))
                print_message("got %s, want %s\n", files_name(path), name);
            return text_equal(files_name(path), name);
        }
        usleep(10000);
    }
    return false;
}

#define SETTLE_S 0.3

/* One that grows in steps shorter than the settling time is told once, after the last. False where a busy machine made a step
 * longer than that, which tells nothing. */
static bool grows(struct watch *w, int k)
{
    double longest_s = 0, last_s;
    char name[40], path[300];
    bool told = false;

    text_format(name, sizeof name, "slow-%d.heic", k);
    add_to(name, "more");
    last_s = clock_monotonic_s();
    for (int i = 0; i < 5; i++) {
        usleep(100000);
        told = next(w, name, path, sizeof path) || told;
        add_to(name, "more");
        longest_s = fmax(longest_s, clock_monotonic_s() - last_s);
        last_s = clock_monotonic_s();
    }
    if (longest_s >= SETTLE_S) {
        text_copy(let_be, sizeof let_be, "slow-");
        return false;
    }
    assert_false(told);
    assert_true(comes(w, name));
    return true;
}

static void play(bool poll_only)
{
    struct watch_options o = {.settle_s = SETTLE_S, .poll_s = 0.1, .poll_only = poll_only};
    struct err e = {0};
    struct watch *w;
    char path[300], away[80];
    int n_grown = 0;

    let_be[0] = '\0';
    add_to("old.jpg", "there before");
    w = watch_start(folder, &o, &e);
    if (!w)
        fail_msg("%s", e.text);
    usleep(150000);
    add_to("notes.txt", "no picture");
    add_to(".hidden.jpg", "half a copy of a sync program");
    add_to("new.JPG", "one");
    assert_true(comes(w, "new.JPG"));

    while (!grows(w, n_grown++))
        ;

    /* The card is pulled out and comes back with one more. */
    text_format(away, sizeof away, "%s.away", folder);
    assert_int_equal(rename(folder, away), 0);
    usleep(200000);
    assert_int_equal(rename(away, folder), 0);
    add_to("later.png", "after");
    assert_true(comes(w, "later.png"));
    usleep(500000);
    assert_false(next(w, "", path, sizeof path)); /* nothing twice, nothing old, no notes */
    watch_stop(w);
}

static void by_word(void **state)
{
    (void)state;
    play(false);
}

static void by_looking(void **state)
{
    (void)state;
    play(true);
}

static void existing_files_when_asked(void **state)
{
    struct watch_options o = {.settle_s = 0.1, .existing_too = true};
    struct watch *w;

    (void)state;
    add_to("old.jpg", "there before");
    w = watch_start(folder, &o, NULL);
    assert_non_null(w);
    assert_true(comes(w, "old.jpg"));
    watch_stop(w);
}

static void what_cannot_be_watched(void **state)
{
    struct err e = {0};
    char path[100];

    (void)state;
    assert_null(watch_start("/no/such/folder", NULL, &e));
    assert_int_equal(e.code, ERR_NOTFOUND);
    add_to("a.jpg", "x");
    text_format(path, sizeof path, "%s/a.jpg", folder);
    assert_null(watch_start(path, NULL, &e));
    assert_non_null(strstr(e.text, "no folder"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(by_word, make_folder, drop_both),
        cmocka_unit_test_setup_teardown(by_looking, make_folder, drop_both),
        cmocka_unit_test_setup_teardown(existing_files_when_asked, make_folder, drop_both),
        cmocka_unit_test_setup_teardown(what_cannot_be_watched, make_folder, drop_both),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
