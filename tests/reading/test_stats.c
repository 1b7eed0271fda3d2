/* Statistics against tests/outside: theilsen.csv, robust.csv, permutation.csv, joincount.csv. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <math.h>
#include <string.h>

#include "base/csv.h"
#include "base/err.h"
#include "base/text.h"
#include "reading/arrange.h"
#include "reading/stats.h"
#include "../help/help.h"

static int list(const char *s, double *to, int max)
{
    int n = 0;

    while (*s != '\0') {
        char part[64];
        size_t k = strcspn(s, ";");

        assert_true(k < sizeof part && n < max);
        memcpy(part, s, k);
        part[k] = '\0';
        assert_true(text_to_double(part, &to[n++]));
        s += k + (s[k] == ';');
    }
    return n;
}

static double number(const struct csv *c, size_t row, const char *column)
{
    double v = NAN;

    text_to_double(csv_cell(c, row, csv_column(c, column)), &v);
    return v;
}

static void close_to(const char *what, double got, double want, double relative)
{
    if (!(fabs(got - want) <= relative * fmax(1e-300, fabs(want)) + 1e-15))
        fail_msg("%s: %.15g, want %.15g", what, got, want);
}

static void theil_sen_agrees(void **state)
{
    struct csv c = load_table("tests/outside/theilsen.csv");

    (void)state;
    for (size_t i = 1; i < c.n_rows; i++) {
        double x[200], y[200];
        int n = list(csv_cell(&c, i, csv_column(&c, "x")), x, 200);
        struct stats_trend t;
        const char *name = csv_cell(&c, i, 0);

        assert_int_equal(list(csv_cell(&c, i, csv_column(&c, "y")), y, 200), n);
        assert_true(stats_theil_sen(x, y, n, number(&c, i, "conf_level"), &t));
        close_to(name, t.slope, number(&c, i, "slope"), 1e-9);
        close_to(name, t.intercept, number(&c, i, "intercept_separate"), 1e-9);
        close_to(name, t.slope_low, number(&c, i, "slope_lo"), 1e-9);
        close_to(name, t.slope_high, number(&c, i, "slope_hi"), 1e-9);
        assert_int_equal(t.n_slopes, (int)number(&c, i, "n_slopes"));
    }
    assert_int_equal(c.n_rows, 33);
    csv_release(&c);
}

static void robust_statistics_agree(void **state)
{
    struct csv c = load_table("tests/outside/robust.csv");
    int checked = 0;

    (void)state;
    for (size_t i = 1; i < c.n_rows; i++) {
        const char *quantity = csv_cell(&c, i, csv_column(&c, "quantity"));
        const char *expected = csv_cell(&c, i, csv_column(&c, "expected"));
        double x[400], want[400];
        int n = list(csv_cell(&c, i, csv_column(&c, "data")), x, 400);

        if (strcmp(quantity, "median") == 0) {
            close_to(csv_cell(&c, i, 0), stats_median(x, n), number(&c, i, "expected"), 1e-12);
        } else if (strcmp(quantity, "mad_raw") == 0) {
            close_to(csv_cell(&c, i, 0), stats_mad(x, n), number(&c, i, "expected"), 1e-9);
        } else if (strcmp(quantity, "modified_z") == 0) {
            double z;

            if (strcmp(expected, "undefined") == 0) {
                assert_false(stats_modified_z(x, n, 0, &z));
            } else {
                assert_int_equal(list(expected, want, 400), n);
                for (int k = 0; k < n; k++) {
                    assert_true(stats_modified_z(x, n, k, &z));
                    if (fabs(z - want[k]) > 1e-8)
                        fail_msg("%s: z %d is %g, want %g", csv_cell(&c, i, 0), k, z, want[k]);
                }
            }
        } else {
            continue;
        }
        checked++;
    }
    assert_true(checked >= 40);
    csv_release(&c);
}

/* Mean of the first group against the rest: the engine's contrast must count the same arrangements. */
static void permutation_counts_agree(void **state)
{
    struct csv c = load_table("tests/outside/permutation.csv");
    int checked = 0;

    (void)state;
    for (size_t i = 1; i < c.n_rows; i++) {
        struct arrange a = {0};
        struct arrange_place place = {0};
        struct arrange_result r;
        double x[ENGINE_MAX_PLUGS], y[ENGINE_MAX_PLUGS];
        int nx = list(csv_cell(&c, i, csv_column(&c, "x")), x, ENGINE_MAX_PLUGS);
        int ny = list(csv_cell(&c, i, csv_column(&c, "y")), y, ENGINE_MAX_PLUGS);
        struct err e;

        a.n = nx + ny;
        for (int k = 0; k < a.n; k++) {
            a.value[k] = k < nx ? x[k] : y[k - nx];
            place.weight[k] = k < nx ? 1.0 / nx : -1.0 / ny;
        }
        if (arrange_count(a.value, a.n) > 400000)
            continue; /* seconds each; the bench runs them */
        a.n_shapes = a.n_places = 1;
        a.places = &place;
        a.max_exact = ARRANGE_MAX_EXACT;
        assert_true(arrange_run(&a, &r, &e));
        assert_true(r.exact);
        close_to(csv_cell(&c, i, 0), r.chance[0], number(&c, i, "p_greater"), 1e-9);
        checked++;
    }
    assert_true(checked >= 15);
    csv_release(&c);
}

static void counts_of_arrangements(void **state)
{
    static const double wells[] = {3, 3, 3, 0, 0, 0, 0, 0}, amounts[] = {3, 2, 3, 0, 0, 0, 0, 0};

    (void)state;
    assert_true(arrange_count(wells, 8) > 55.5 && arrange_count(wells, 8) < 56.5);
    assert_true(arrange_count(amounts, 8) > 167.5 && arrange_count(amounts, 8) < 168.5);
    close_to("quantile", stats_normal_quantile(0.975), 1.959963984540054, 1e-12); /* R qnorm(0.975) */
    close_to("quantile", stats_normal_quantile(0.005), -2.575829303548901, 1e-12);
}

/* A sample stays within its own stated error of the exact answer, and repeats with its seed. */
static void sampling_keeps_to_its_error(void **state)
{
    struct arrange a = {.n = 8, .value = {3, 3, 3, 0, 0, 0, 0, 0}, .n_shapes = 1, .n_places = 2, .seed = 7};
    struct arrange_place places[2] = {{0}, {0}};
    struct arrange_result exact, once, again;
    struct err e;

    (void)state;
    for (int k = 0; k < 8; k++) {
        places[0].weight[k] = k < 4 ? 0.25 : -0.25;
        places[1].weight[k] = -places[0].weight[k];
    }
    a.places = places;
    a.max_exact = 1000;
    assert_true(arrange_run(&a, &exact, &e));
    close_to("8 of 56", exact.chance[0], 8.0 / 56, 1e-12);
    a.max_exact = 0;
    a.n_samples = 20000;
    assert_true(arrange_run(&a, &once, &e) && arrange_run(&a, &again, &e));
    assert_false(once.exact);
    assert_true(fabs(once.chance[0] - exact.chance[0]) < 4 * sqrt(exact.chance[0] / 20000));
    assert_true(once.chance[0] >= again.chance[0] && once.chance[0] <= again.chance[0]);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(theil_sen_agrees),        cmocka_unit_test(robust_statistics_agree),
        cmocka_unit_test(permutation_counts_agree), cmocka_unit_test(counts_of_arrangements),
        cmocka_unit_test(sampling_keeps_to_its_error),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
