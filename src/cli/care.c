/* care.c - sootbook verify, backup: looking after a logbook. */
#include <stdio.h>

#include "base/err.h"
#include "cli/cli.h"
#include "logbook/logbook.h"

int cli_verify(int argc, char **argv)
{
    const char *folder;
    int n;
    struct err e = {0};
    struct logbook *lb;
    struct logbook_report r;

    if (!cli_options(argc, argv, NULL, 0, &folder, 1, &n))
        return 2;
    if (n != 1)
        return cli_wrong("verify", "name the logbook");
    lb = logbook_open(folder, LOGBOOK_READ, &e);
    if (lb == NULL)
        return cli_failed(&e);
    if (!logbook_verify(lb, &r, &e)) {
        logbook_close(lb);
        return cli_failed(&e);
    }
    logbook_close(lb);
    printf("%d edits, %d photos: %d missing, %d damaged; %d files nobody names\n", r.n_edits, r.n_photos, r.n_missing, r.n_damaged, r.n_stray);
    if (r.sound) {
        puts("clean");
        return cli_printed();
    }
    fputs(r.text, stderr);
    return 1;
}

int cli_backup(int argc, char **argv)
{
    const char *names[2];
    int n;
    struct err e = {0};
    struct logbook *lb;
    bool fine;

    if (!cli_options(argc, argv, NULL, 0, names, 2, &n))
        return 2;
    if (n != 2)
        return cli_wrong("backup", "name the logbook and the file to write");
    lb = logbook_open(names[0], LOGBOOK_READ, &e);
    if (lb == NULL)
        return cli_failed(&e);
    fine = logbook_backup(lb, names[1], &e);
    logbook_close(lb);
    return fine ? 0 : cli_failed(&e);
}
