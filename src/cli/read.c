/* read.c - sootbook read [--causes FILE] [--compression-rule RULE] CASE.json */
#include <stdio.h>
#include <stdlib.h>

#include "base/err.h"
#include "base/files.h"
#include "base/text.h"
#include "base/units.h"
#include "casefile/casefile.h"
#include "cli/cli.h"
#include "reading/cause_table.h"
#include "reading/findings.h"
#include "reading/pressure.h"

#define MAX_TABLE_BYTES (4u << 20)

static bool read_causes(const char *path, struct cause_table **out, struct err *e)
{
    char *data;
    size_t n_bytes;
    bool fine;

    if (!files_read(path, MAX_TABLE_BYTES, &data, &n_bytes, e))
        return false;
    fine = cause_table_parse(data, n_bytes, out, e);
    free(data);
    return fine || err_wrap(e, "%s", path);
}

/* What is taken as written, but may be a slip. */
static void tell_doubts(const char *file, const struct record *r)
{
    for (int v = 0; v < r->n_visits; v++)
        for (int i = 0; i < ENGINE_MAX_PLUGS; i++) {
            const struct reading *x = &r->visits[v].readings[i];
            char doubt[200] = "";

            if (x->compression_kpa.given)
                pressure_doubt(x->compression_kpa.value, unit_find("kPa"), doubt, sizeof doubt);
            if (doubt[0] == '\0' && x->compression_wet_kpa.given)
                pressure_doubt(x->compression_wet_kpa.value, unit_find("kPa"), doubt, sizeof doubt);
            if (doubt[0] != '\0')
                fprintf(stderr, "sootbook: %s: cylinder %s: %s\n", file, r->engine.cylinders[x->cylinder].label, doubt);
        }
}

int cli_read(int argc, char **argv)
{
    const char *file;
    char *data, *json;
    size_t n_bytes;
    int n;
    struct record r;
    struct findings f;
    struct reading_options options = {0};
    struct cli_option own[] = {{"--causes", NULL, false}, {"--compression-rule", NULL, false}};
    struct cause_table *table = NULL;
    struct err e = {0};
    bool fine;

    if (!cli_options(argc, argv, own, 2, &file, 1, &n))
        return 2;
    if (n != 1)
        return cli_wrong("read", "name the case to read");
    if (!cli_take_rule("read", &own[1], options.compression_rule, sizeof options.compression_rule))
        return 2;
    if (!files_read(file, CASEFILE_MAX_BYTES, &data, &n_bytes, &e))
        return cli_failed(&e);
    fine = casefile_parse(data, n_bytes, &r, &e);
    free(data);
    if (!fine) {
        err_wrap(&e, "%s", file);
        return cli_failed(&e);
    }
    tell_doubts(file, &r);
    fine = own[0].value == NULL || read_causes(own[0].value, &table, &e);
    options.causes = table;
    fine = fine && reading_run(&r, &options, &f, &e);
    if (!fine) {
        cause_table_destroy(table);
        record_release(&r);
        return cli_failed(&e);
    }
    json = casefile_format_findings(&r, &f);
    fputs(json, stdout);
    free(json);
    findings_release(&f);
    cause_table_destroy(table);
    record_release(&r);
    return cli_printed();
}
