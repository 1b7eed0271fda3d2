/* The written cases of tests/cases: each rests on a published description (expect.csv names it). The
 * right cause comes first in at least 90 %, among the first three in at least 98 %, both causes of a
 * double one are found in at least 90 %, and a healthy set has no fault at or above one half. */
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
#include "casefile/casefile.h"
#include "../help/help.h"
#include "reading/findings.h"

#define MIN_CASES 80

struct tally {
    int n, n_caused, first, three, doubles, both, healthy, healthy_wrong, missing, missing_first;
};

static struct record load_case(const char *name)
{
    char path[160], *data;
    size_t n;
    struct record r = {0};
    struct err e = {0};

    text_format(path, sizeof path, "tests/cases/%s.json", name);
    if (!files_read(path, 1 << 20, &data, &n, &e) || !casefile_parse(data, n, &r, &e))
        fail_msg("%s: %s", path, e.text);
    free(data);
    return r;
}

/* "2 4 6" as a set; "" is the whole engine. */
static engine_set set_of(const struct engine *en, const char *text)
{
    char copy[120], *rest = copy, *label;
    engine_set set = 0;

    text_copy(copy, sizeof copy, text);
    while ((label = strtok_r(rest, " ", &rest)) != NULL) {
        int c = engine_find_cylinder(en, label);

        if (c < 0)
            fail_msg("expect.csv: no cylinder “%s”", label);
        set |= (engine_set)1 << c;
    }
    return set;
}

/* Rank of the expected cause at the expected place; n_causes when it is not listed. A place counts when
 * at least half of what is listed and half of what is expected are the same cylinders. */
static int rank_of(const struct findings *f, const struct engine *en, const char *id, const char *cylinders)
{
    engine_set want = set_of(en, cylinders);

    for (int i = 0; i < f->n_causes; i++) {
        engine_set got = f->causes[i].cylinders, all = (engine_set)((UINT64_C(1) << en->n_cylinders) - 1);
        engine_set w = want ? want : all, g = got ? got : all;
        int common = __builtin_popcount(w & g);

        if (strcmp(f->causes[i].id, id) == 0 && 2 * common >= __builtin_popcount(w) && 2 * common >= __builtin_popcount(g))
            return i;
    }
    return f->n_causes;
}

static void one_case(const struct csv *c, size_t row, size_t n_rows, struct tally *t)
{
    const char *name = csv_named(c, row, "case"), *tags = csv_named(c, row, "tags");
    struct record r = load_case(name);
    struct findings f;
    struct reading_options o = {0};
    struct err e = {0};
    int best = 99;
    bool all = true, wrong = false;

    if (!reading_run(&r, &o, &f, &e))
        fail_msg("%s: %s", name, e.text);
    if (csv_named(c, row, "source")[0] == '\0')
        fail_msg("%s names no source", name);
    t->n++;
    for (int i = 0; i < f.n_causes; i++)
        wrong = wrong || (!f.causes[i].ordinary && f.causes[i].probability >= 0.5);
    if (strstr(tags, "healthy") != NULL) {
        t->healthy++;
        t->healthy_wrong += wrong;
    }
    for (size_t k = row; k < row + n_rows && strcmp(csv_named(c, k, "cause"), "none") != 0; k++) {
        int rank = rank_of(&f, &r.engine, csv_named(c, k, "cause"), csv_named(c, k, "cylinders"));

        best = rank < best ? rank : best;
        all = all && rank < f.n_causes && f.causes[rank].probability >= 0.5;
    }
    if (best < 99) {
        t->n_caused++;
        t->first += best == 0 && f.n_causes > 0;
        t->three += best < 3 && best < f.n_causes;
        if (strstr(tags, "missing") != NULL) {
            t->missing++;
            t->missing_first += best == 0 && f.n_causes > 0;
        }
    }
    if (n_rows > 1) {
        t->doubles++;
        t->both += all;
    }
    if (best != 99 ? best > 0 || (n_rows > 1 && !all) : wrong)
        printf("  %-32s expected %s, first is %s\n", name, csv_named(c, row, "cause"), f.n_causes ? f.causes[0].id : "nothing");
    findings_release(&f);
    record_release(&r);
}

static void print(const char *what, const struct tally *t)
{
    printf("%-10s %3d cases | first %d of %d | first three %d | both %d of %d doubles | healthy with a fault %d of %d | much missing, first %d of %d\n",
           what, t->n, t->first, t->n_caused, t->three, t->both, t->doubles, t->healthy_wrong, t->healthy, t->missing_first, t->missing);
}

static void cases(void **state)
{
    struct csv c = load_table("tests/cases/expect.csv");
    struct tally all = {0}, held = {0};

    (void)state;
    for (size_t row = 1; row < c.n_rows;) {
        size_t n = 1;

        while (row + n < c.n_rows && strcmp(csv_named(&c, row + n, "case"), csv_named(&c, row, "case")) == 0)
            n++;
        one_case(&c, row, n, &all);
        if (text_starts(csv_named(&c, row, "group"), "held"))
            one_case(&c, row, n, &held);
        row += n;
    }
    print("all", &all);
    print("held out", &held);
    assert_true(all.n >= MIN_CASES);
    assert_true(all.first * 10 >= all.n_caused * 9);
    assert_true(all.three * 100 >= all.n_caused * 98);
    assert_true(all.both * 10 >= all.doubles * 9);
    assert_int_equal(all.healthy_wrong, 0);
    csv_release(&c);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(cases)};

    return cmocka_run_group_tests(tests, NULL, NULL);
}
