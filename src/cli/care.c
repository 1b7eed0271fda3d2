/* care.c - sootbook verify, backup, report: looking after a logbook and handing it over. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/err.h"
#include "base/files.h"
#include "base/mem.h"
#include "casefile/casefile.h"
#include "cli/cli.h"
#include "logbook/logbook.h"
#include "reading/findings.h"
#include "report/report.h"

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

static bool write_as(const char *path, const struct record *r, const struct report_extra *extra, const char *rule, struct err *e)
{
    const char *ext = files_extension(path);
    struct text t = {0};
    struct findings f;
    struct reading_options o = {0};
    bool fine;

    if (strcmp(ext, "json") == 0) {
        char *json = casefile_format(r);

        fine = files_write(path, json, strlen(json), e);
        free(json);
        return fine;
    }
    if (strcmp(ext, "csv") == 0) {
        report_csv(r, &t);
        fine = files_write(path, text_get(&t), t.n_bytes, e);
        text_release(&t);
        return fine;
    }
    text_copy(o.compression_rule, sizeof o.compression_rule, rule);
    if (!reading_run(r, &o, &f, e))
        return false;
    fine = report_write_html(path, r, &f, extra, e);
    findings_release(&f);
    return fine;
}

int cli_report(int argc, char **argv)
{
    struct cli_option o[] = {{.name = "--visit"}, {.name = "--engine"}, {.name = "-o"}, {.name = "--compression-rule"}};
    const char *folder;
    char engine[UUID_BYTES], visit[UUID_BYTES];
    int n;
    struct err e = {0};
    struct logbook *lb;
    struct record r;
    struct report_extra extra;
    struct arena *a;
    const char *ext;
    char rule[24] = "";
    bool fine;

    if (!cli_options(argc, argv, o, 4, &folder, 1, &n))
        return 2;
    if (n != 1 || o[2].value == NULL)
        return cli_wrong("report", "name the logbook, and the file to write behind -o");
    ext = files_extension(o[2].value);
    if (strcmp(ext, "html") != 0 && strcmp(ext, "csv") != 0 && strcmp(ext, "json") != 0)
        return cli_wrong("report", "%s: a report ends in .html, .csv or .json", o[2].value);
    if (!cli_take_rule("report", &o[3], rule, sizeof rule))
        return 2;
    lb = logbook_open(folder, LOGBOOK_READ, &e);
    if (lb == NULL)
        return cli_failed(&e);
    fine = logbook_find_engine(lb, o[1].value ? o[1].value : "", engine, &e) &&
           logbook_find_visit(lb, engine, o[0].value ? o[0].value : "", visit, &e) &&
           logbook_load_record(lb, engine, visit, &r, &e);
    if (!fine) {
        logbook_close(lb);
        return cli_failed(&e);
    }
    a = arena_create();
    memset(&extra, 0, sizeof extra);
    if (strcmp(ext, "html") == 0)
        fine = report_load_extra(lb, engine, visit, a, &extra, &e);
    logbook_close(lb);
    fine = fine && write_as(o[2].value, &r, &extra, rule, &e);
    arena_destroy(a);
    record_release(&r);
    return fine ? 0 : cli_failed(&e);
}
