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

#include "base/err.h"
#include "base/text.h"
#include "logbook/logbook.h"
#include "../help/help.h"

static inline const char *program_path(void)
{
    return getenv("SOOTBOOK") != NULL ? getenv("SOOTBOOK") : "build/sootbook";
}

/* The sample logbook, to be played in. */
static inline void write_sample(void)
{
    char command[300];

    text_format(command, sizeof command, "'%s' sample '%s/log'", program_path(), folder);
    assert_int_equal(system(command), 0);
}

/* Runs the program; what it said goes to out. */
static inline int play(const char *script, char *out, size_t n_room)
{
    char command[700];
    FILE *f;
    size_t n;

    text_format(command, sizeof command,
                "SDL_VIDEODRIVER=dummy SOOTBOOK_TODAY=2026-06-14 XDG_CONFIG_HOME=%s/config XDG_DATA_HOME=%s/data "
                "'%s' drive '%s/log' --script '%s' 2>&1",
                folder, folder, program_path(), folder, script);
    f = popen(command, "r");
    assert_non_null(f);
    n = fread(out, 1, n_room - 1, f);
    out[n] = '\0';
    return pclose(f);
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
