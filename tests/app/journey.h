/* journey.h - what tests that play scripts in the built program share. The logbook is `log` in the test's folder. */
#ifndef TESTS_APP_JOURNEY_H
#define TESTS_APP_JOURNEY_H

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/err.h"
#include "base/files.h"
#include "base/text.h"
#include "logbook/logbook.h"
#include "../help/help.h"

static inline const char *program_path(void)
{
    return getenv("SOOTBOOK") != NULL ? getenv("SOOTBOOK") : "build/sootbook";
}

/* The sample logbook, written once for all tests of a program and copied for each. With it go the pictures made for the tests before: they
 * are kept by what their photos hold, and decoding them takes up to a third of a journey. The first test finds none. */
static char sample_folder[64], sample_copied_to[64];

static inline void drop_sample(void)
{
    char command[128];

    text_format(command, sizeof command, "rm -rf '%s'", sample_folder);
    if (system(command) != 0)
        fprintf(stderr, "%s stays behind\n", sample_folder);
}

/* The sample logbook, to be played in. */
static inline void write_sample(void)
{
    char command[300];

    if (sample_folder[0] == '\0') {
        text_copy(sample_folder, sizeof sample_folder, "/tmp/sootbook-sample-XXXXXX");
        assert_non_null(mkdtemp(sample_folder));
        assert_int_equal(atexit(drop_sample), 0);
        text_format(command, sizeof command, "'%s' sample '%s/log'", program_path(), sample_folder);
        assert_int_equal(system(command), 0);
    }
    text_format(command, sizeof command, "cp -a '%s/log' '%s/log'", sample_folder, folder);
    assert_int_equal(system(command), 0);
    text_copy(sample_copied_to, sizeof sample_copied_to, folder);
}

/* What was decoded on the way is there for the tests behind. A program that was killed leaves its cache in pieces. */
static inline void keep_pictures(void)
{
    char from[128], rest[128], command[300];

    text_format(from, sizeof from, "%s/log/cache.db", folder);
    text_format(rest, sizeof rest, "%s-wal", from);
    if (strcmp(sample_copied_to, folder) != 0 || !files_exists(from) || files_exists(rest))
        return;
    text_format(command, sizeof command, "cp '%s' '%s/log/cache.db'", from, sample_folder);
    assert_int_equal(system(command), 0);
}

/* Runs the program; what it said goes to out. */
static inline int play(const char *script, char *out, size_t n_room)
{
    char command[700];
    FILE *f;
    size_t n;
    int status;

    text_format(command, sizeof command,
                "SDL_VIDEODRIVER=dummy SOOTBOOK_TODAY=2026-06-14 XDG_CONFIG_HOME=%s/config XDG_DATA_HOME=%s/data "
                "'%s' drive '%s/log' --script '%s' 2>&1",
                folder, folder, program_path(), folder, script);
    f = popen(command, "r");
    assert_non_null(f);
    n = fread(out, 1, n_room - 1, f);
    out[n] = '\0';
    status = pclose(f);
    keep_pictures();
    return status;
}

/* Plays a script that must go through to its end. */
static inline void plays(const char *script)
{
    char out[4000];

    if (play(script, out, sizeof out) != 0)
        fail_msg("%s", out);
}

/* The logbook that was played in, after it was verified; logbook_close() it. */
static inline struct logbook *open_sound(int *n_photos)
{
    char path[128];
    struct err e = {0};
    struct logbook_report report;
    struct logbook *lb;

    text_format(path, sizeof path, "%s/log", folder);
    lb = logbook_open(path, LOGBOOK_READ, &e);
    assert_non_null(lb);
    assert_true(logbook_verify(lb, &report, &e));
    if (!report.sound)
        fail_msg("%s", report.text);
    if (n_photos != NULL)
        *n_photos = report.n_photos;
    return lb;
}

#endif
