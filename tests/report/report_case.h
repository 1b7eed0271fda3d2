/* report_case.h - a written case with its findings, for the tests of the report. */
#ifndef TESTS_REPORT_REPORT_CASE_H
#define TESTS_REPORT_REPORT_CASE_H

#include <stdlib.h>

#include "base/err.h"
#include "base/files.h"
#include "casefile/casefile.h"
#include "reading/findings.h"

#define REPORT_CASE "tests/fuzz/corpus/case/v8.json" /* a V8, oil in the wells of bank 2, connector 6 bare */

static inline void load_case(const char *path, struct record *r, struct findings *f)
{
    struct err e = {.code = ERR_NONE};
    struct reading_options o = {.seed = 1};
    char *data;
    size_t n;

    assert_true(files_read(path, 1 << 20, &data, &n, &e));
    if (!casefile_parse(data, n, r, &e))
        fail_msg("%s: %s", path, e.text);
    free(data);
    assert_true(reading_run(r, &o, f, &e));
}

#endif
