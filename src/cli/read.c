/* read.c - sootbook read CASE.json */
#include <stdio.h>
#include <stdlib.h>

#include "base/err.h"
#include "base/files.h"
#include "casefile/casefile.h"
#include "cli/cli.h"
#include "reading/findings.h"

int cli_read(int argc, char **argv)
{
    const char *file;
    char *data, *json;
    size_t n_bytes;
    int n;
    struct record r;
    struct findings f;
    struct reading_options options = {0};
    struct err e = {0};
    bool fine;

    if (!cli_options(argc, argv, NULL, 0, &file, 1, &n))
        return 2;
    if (n != 1)
        return cli_wrong("read", "name the case to read");
    if (!files_read(file, CASEFILE_MAX_BYTES, &data, &n_bytes, &e))
        return cli_failed(&e);
    fine = casefile_parse(data, n_bytes, &r, &e);
    free(data);
    if (!fine) {
        err_wrap(&e, "%s", file);
        return cli_failed(&e);
    }
    fine = reading_run(&r, &options, &f, &e);
    if (!fine) {
        record_release(&r);
        return cli_failed(&e);
    }
    json = casefile_format_findings(&r, &f);
    fputs(json, stdout);
    free(json);
    findings_release(&f);
    record_release(&r);
    return cli_printed();
}
