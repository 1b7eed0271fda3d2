/* Statistics and the odds engine against the tables of tests/outside. */
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

static void within(const struct csv *c, size_t row, double got)
{
    double tolerance = 1e-6, want = number(c, row, "expected");

    text_to_double(csv_named(c, row, "tolerance"), &tolerance);
    if (strncmp(csv_named(c, row, "quantity"), "gesd_", 5) == 0 && strcmp(csv_named(c, row, "kind"), "read") == 0)
        want += 5e-4, tolerance = 5.0001e-4; /* printed cut to three decimals, not rounded */
    if (!(fabs(got - want) <= fmax(tolerance, tolerance * fabs(want))))
        fail_msg("%s %s: %.12g, want %.12g within %g", csv_cell(c, row, 0), csv_named(c, row, "quantity"), got, want, tolerance);
}

static void grubbs_row(const struct csv *c, size_t row, const char *quantity, const double *x, int n)
{
    int side = strstr(quantity, "_max") ? 1 : strstr(quantity, "_min") ? -1 : 0;
    double g, p;

    if (strncmp(quantity, "grubbs_crit_", 12) == 0) {
        within(c, row, stats_grubbs_critical(n, 0.05, strstr(quantity, "two_sided") != NULL));
    } else if (strcmp(csv_named(c, row, "expected"), "undefined") == 0) {
        assert_false(stats_grubbs(x, n, side, &g, &p));
    } else {
        assert_true(stats_grubbs(x, n, side, &g, &p));
        within(c, row, strncmp(quantity, "grubbs_G", 8) == 0 ? g : p);
    }
}

/* Rosner's test is Grubbs' again and again, the farthest left out each time. */
static void gesd_row(const struct csv *c, size_t row, const char *quantity, const double *data, int n)
{
    double x[400], g = 0, p, step = 0;

    memcpy(x, data, (size_t)n * sizeof *x);
    assert_true(text_to_double(strrchr(quantity, '_') + 1, &step));
    for (int i = 1; i < (int)step; i++) {
        double mean = stats_mean(x, n);
        int far = 0;

        for (int k = 1; k < n; k++)
            far = fabs(x[k] - mean) > fabs(x[far] - mean) ? k : far;
        x[far] = x[--n];
    }
    assert_true(stats_grubbs(x, n, 0, &g, &p));
    if (strncmp(quantity, "gesd_R", 6) == 0)
        within(c, row, g);
    else
        within(c, row, stats_grubbs_critical(n, 0.05, true));
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
        } else if (strcmp(quantity, "modified_z_flagged_gt_3.5") == 0) {
            int n_want = list(expected, want, 400), at = 0;
            double z;

            for (int k = 0; k < n; k++)
                if (stats_modified_z(x, n, k, &z) && fabs(z) > 3.5) {
                    assert_true(at < n_want && fabs(want[at] - k) < 0.5);
                    at++;
                }
            assert_int_equal(at, n_want);
        } else if (strcmp(quantity, "mean") == 0) {
            close_to(csv_cell(&c, i, 0), stats_mean(x, n), number(&c, i, "expected"), 1e-12);
        } else if (strcmp(quantity, "sd_n_minus_1") == 0) {
            close_to(csv_cell(&c, i, 0), stats_sd(x, n), number(&c, i, "expected"), 1e-9);
        } else if (strncmp(quantity, "grubbs_", 7) == 0) {
            grubbs_row(&c, i, quantity, x, n);
        } else if (strncmp(quantity, "gesd_R_", 7) == 0 || strncmp(quantity, "gesd_lambda_", 12) == 0) {
            gesd_row(&c, i, quantity, x, n);
        } else { /* Dixon's ratio and the count of outliers rest on tables the program does not use */
            assert_true(strncmp(quantity, "dixon_", 6) == 0 || strcmp(quantity, "gesd_outlier_count_alpha_05") == 0);
            continue;
        }
        checked++;
    }
    assert_int_equal(checked, 342 - 36 - 1);
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
        a.n_shapes = a.n_places = 1;
        a.places = &place;
        a.max_exact = ARRANGE_MAX_EXACT;
        assert_true(arrange_run(&a, &r, &e));
        assert_true(r.exact);
        close_to(csv_cell(&c, i, 0), r.chance[0], number(&c, i, "p_greater"), 1e-12);
        for (int k = 0; k < a.n; k++)
            place.weight[k] = -place.weight[k];
        assert_true(arrange_run(&a, &r, &e));
        close_to(csv_cell(&c, i, 0), r.chance[0], number(&c, i, "p_less"), 1e-12);
        a.two_sided[0] = true;
        assert_true(arrange_run(&a, &r, &e));
        close_to(csv_cell(&c, i, 0), r.chance[0], number(&c, i, "p_two_sided"), 1e-12);
        checked++;
    }
    assert_int_equal(checked, 22);
    csv_release(&c);
}

static void grubbs_critical_values_agree(void **state)
{
    struct csv c = load_table("tests/outside/grubbs-critical.csv");

    (void)state;
    for (size_t i = 1; i < c.n_rows; i++) {
        int n = (int)number(&c, i, "n");

        assert_true(fabs(stats_grubbs_critical(n, 0.05, false) - number(&c, i, "G_one_sided_05")) < 1e-6);
        assert_true(fabs(stats_grubbs_critical(n, 0.05, true) - number(&c, i, "G_two_sided_05")) < 1e-6);
        assert_true(fabs(stats_grubbs_critical(n, 0.01, false) - number(&c, i, "G_one_sided_01")) < 1e-6);
        assert_true(fabs(stats_grubbs_critical(n, 0.01, true) - number(&c, i, "G_two_sided_01")) < 1e-6);
    }
    assert_int_equal(c.n_rows, 29);
    csv_release(&c);
}

static void p_agrees(const struct csv *c, size_t row, struct stats_p p)
{
    close_to(csv_cell(c, row, 0), p.less, number(c, row, "p_less"), 1e-12);
    close_to(csv_cell(c, row, 0), p.greater, number(c, row, "p_greater"), 1e-12);
    close_to(csv_cell(c, row, 0), p.two_sided, number(c, row, "p_two_sided"), 1e-12);
}

static void tables_of_four_agree(void **state)
{
    struct csv c = load_table("tests/outside/fisher.csv");

    (void)state;
    for (size_t i = 1; i < c.n_rows; i++) {
        int v[4];

        for (int k = 0; k < 4; k++)
            v[k] = (int)number(&c, i, (const char *[]){"a", "b", "c", "d"}[k]);
        p_agrees(&c, i, stats_fisher(v[0], v[1], v[2], v[3]));
        close_to(csv_cell(&c, i, 0), stats_hypergeometric(v[0] + v[1] + v[2] + v[3], v[0] + v[1], v[0] + v[2], v[0]),
                 number(&c, i, "p_point"), 1e-12);
    }
    assert_int_equal(c.n_rows, 36);
    csv_release(&c);
    c = load_table("tests/outside/hypergeom.csv");
    for (size_t i = 1; i < c.n_rows; i++) {
        int n = (int)number(&c, i, "population_N"), marked = (int)number(&c, i, "marked_K"), drawn = (int)number(&c, i, "drawn_n");
        int hits = (int)number(&c, i, "hits_k");
        double least = 0, most = 0;

        for (int k = 0; k <= n; k++) {
            least += k >= hits ? stats_hypergeometric(n, marked, drawn, k) : 0;
            most += k <= hits ? stats_hypergeometric(n, marked, drawn, k) : 0;
        }
        close_to("hits", stats_hypergeometric(n, marked, drawn, hits), number(&c, i, "pmf"), 1e-12);
        close_to("at least", least, number(&c, i, "sf_ge"), 1e-12);
        close_to("at most", most, number(&c, i, "cdf_le"), 1e-12);
    }
    assert_int_equal(c.n_rows, 21);
    csv_release(&c);
}

static void kendall_agrees(void **state)
{
    struct csv c = load_table("tests/outside/kendall.csv");

    (void)state;
    for (size_t i = 1; i < c.n_rows; i++) {
        double x[64], y[64], tau;
        int n = list(csv_named(&c, i, "x"), x, 64), s;
        struct stats_p p;

        assert_int_equal(list(csv_named(&c, i, "y"), y, 64), n);
        assert_true(stats_kendall(x, y, n, &s, &tau, &p));
        assert_int_equal(s, (int)number(&c, i, "S"));
        if (strcmp(csv_named(&c, i, "tau_b"), "nan") == 0)
            assert_true(isnan(tau));
        else
            close_to(csv_cell(&c, i, 0), tau, number(&c, i, "tau_b"), 1e-12);
        p_agrees(&c, i, p);
    }
    assert_int_equal(c.n_rows, 30);
    csv_release(&c);
}

static void mann_whitney_agrees(void **state)
{
    struct csv c = load_table("tests/outside/mannwhitney.csv");

    (void)state;
    for (size_t i = 1; i < c.n_rows; i++) {
        double x[64], y[64], u;
        int n_x = list(csv_named(&c, i, "x"), x, 64), n_y = list(csv_named(&c, i, "y"), y, 64);

        p_agrees(&c, i, stats_mann_whitney(x, n_x, y, n_y, &u));
        close_to(csv_cell(&c, i, 0), u, number(&c, i, "U_x"), 1e-12);
    }
    assert_int_equal(c.n_rows, 24);
    csv_release(&c);
}

/* NIST's certified data sets, and the lines through the Theil-Sen series. */
static void least_squares_agree(void **state)
{
    struct csv c = load_table("tests/outside/lsq.csv"), lines = load_table("tests/outside/theilsen.csv");

    (void)state;
    for (size_t i = 1; i < c.n_rows; i++) {
        const char *set = csv_named(&c, i, "dataset"), *model = csv_named(&c, i, "model"), *q = csv_named(&c, i, "quantity");
        double x[64], y[64], want = 0, got, tolerance = strncmp(set, "pontius", 7) == 0 ? 1e-6 : 1e-9;
        int n = 0, first = strchr(model, '0') ? 0 : 1, last = strchr(model, '2') ? 2 : 1;
        struct stats_fit fit;

        if (strncmp(set, "theilsen:", 9) == 0) {
            for (size_t k = 1; k < lines.n_rows && n == 0; k++)
                if (strcmp(csv_cell(&lines, k, 0), set + 9) == 0) {
                    n = list(csv_named(&lines, k, "x"), x, 64);
                    assert_int_equal(list(csv_named(&lines, k, "y"), y, 64), n);
                }
        } else {
            char path[64];
            size_t stem = strcspn(set, "-");

            text_format(path, sizeof path, "tests/outside/lsq-%.*s.csv", (int)stem, set);
            struct csv data = load_table(path);

            for (size_t k = 1; k < data.n_rows; k++, n++) {
                x[n] = number(&data, k, "x");
                y[n] = number(&data, k, "y");
            }
            csv_release(&data);
        }
        assert_true(n > 0);
        assert_true(stats_least_squares(x, y, n, first, last, &fit));
        if (strcmp(csv_named(&c, i, "exact_recomputed"), "nan") == 0) {
            assert_true(isnan(fit.r_squared)); /* no spread to explain */
            continue;
        }
        if (!text_to_double(csv_named(&c, i, "certified"), &want))
            assert_true(text_to_double(csv_named(&c, i, "exact_recomputed"), &want));
        got = q[0] == 'B'                     ? fit.coefficient[q[1] - '0' - first]
              : strncmp(q, "sd_B", 4) == 0    ? fit.sd[q[4] - '0' - first]
              : strcmp(q, "residual_sd") == 0 ? fit.residual_sd
              : strcmp(q, "R2") == 0          ? fit.r_squared
              : strcmp(q, "RSS") == 0         ? fit.residual_squares
                                              : fit.f;
        if (!(fabs(got - want) <= tolerance * fabs(want) + 1e-13))
            fail_msg("%s %s: %.15g, want %.15g", set, q, got, want);
    }
    assert_int_equal(c.n_rows, 123);
    csv_release(&c);
    csv_release(&lines);
}

/* ---- neighbours: join counts, Moran's I ---- */

static int edge_list(const char *s, struct arrange_edge *to)
{
    int n = 0;

    while (*s != '\0') {
        int from = 0, end = 0;

        for (; *s >= '0' && *s <= '9'; s++)
            from = 10 * from + *s - '0';
        assert_int_equal(*s++, '-');
        for (; *s >= '0' && *s <= '9'; s++)
            end = 10 * end + *s - '0';
        s += *s == ';';
        to[n++] = (struct arrange_edge){(uint8_t)from, (uint8_t)end};
    }
    return n;
}

/* Share of arrangements with as large a statistic of neighbours. */
static double joined(const double *value, int n, const struct arrange_edge *edges, int n_edges, double centre, double *statistic)
{
    struct arrange_joins joins = {.centre = centre, .n_edges = n_edges, .edges = edges};
    struct arrange a = {.n = n, .n_shapes = 1, .n_joins = 1, .joins = &joins, .max_exact = ARRANGE_MAX_EXACT};
    struct arrange_result r;

    memcpy(a.value, value, (size_t)n * sizeof *value);
    assert_true(arrange_run(&a, &r, NULL) && r.exact);
    *statistic = r.statistic[0];
    return r.chance[0];
}

static void join_counts_agree(void **state)
{
    struct csv c = load_table("tests/outside/joincount.csv");

    (void)state;
    for (size_t i = 1; i < c.n_rows; i++) {
        struct arrange_edge edges[200];
        const char *labels = csv_named(&c, i, "labels");
        double value[ENGINE_MAX_PLUGS], bb;
        int n = (int)strlen(labels), n_edges = edge_list(csv_named(&c, i, "edges"), edges);

        for (int k = 0; k < n; k++)
            value[k] = labels[k] - '0';
        close_to(csv_cell(&c, i, 0), joined(value, n, edges, n_edges, 0, &bb), number(&c, i, "p_BB_ge"), 1e-12);
        close_to(csv_cell(&c, i, 0), bb, number(&c, i, "BB"), 1e-12);
    }
    assert_int_equal(c.n_rows, 45);
    csv_release(&c);
}

static void morans_i_agrees(void **state)
{
    struct csv c = load_table("tests/outside/moran.csv");

    (void)state;
    for (size_t i = 1; i < c.n_rows; i++) {
        struct arrange_edge edges[200];
        double value[ENGINE_MAX_PLUGS], sum, squares = 0, p, mean;
        int n = list(csv_named(&c, i, "values"), value, ENGINE_MAX_PLUGS), n_edges = edge_list(csv_named(&c, i, "edges"), edges);

        mean = stats_mean(value, n);
        for (int k = 0; k < n; k++)
            squares += (value[k] - mean) * (value[k] - mean);
        if (strcmp(csv_named(&c, i, "moran_I"), "undefined") == 0) {
            assert_false(squares > 0);
            continue;
        }
        p = joined(value, n, edges, n_edges, mean, &sum);
        close_to(csv_cell(&c, i, 0), n * sum / (n_edges * squares), number(&c, i, "moran_I"), 1e-12);
        close_to(csv_cell(&c, i, 0), p, number(&c, i, "p_ge"), 1e-12);
    }
    assert_int_equal(c.n_rows, 16);
    csv_release(&c);
}

/* ---- the strongest of a family ---- */

/* One hypothesis of the table as a shape: marked among positions, joined pairs of marked, or the
 * difference between the means of the marked and the rest. */
static void add_hypothesis(struct arrange *a, struct arrange_place *places, struct arrange_joins *joins, struct arrange_edge (*edges)[200],
                           const char *statistic, int n_marked)
{
    double v[64];
    int shape = a->n_shapes++, n;

    if (strncmp(statistic, "join:", 5) == 0) {
        int m = 0;
        const char *graph = statistic + 5;
        struct arrange_edge *to = edges[a->n_joins];
        double size = 0;

        if (strncmp(graph, "ring ", 5) == 0) {
            n = list(graph + 5, v, 64);
            for (int i = 0; i < n; i++)
                to[m++] = (struct arrange_edge){(uint8_t)v[i], (uint8_t)v[(i + 1) % n]};
        } else if (strncmp(graph, "path", 4) == 0) {
            assert_true(text_to_double(graph + 4, &size));
            for (int i = 0; i + 1 < (int)size; i++)
                to[m++] = (struct arrange_edge){(uint8_t)i, (uint8_t)(i + 1)};
        } else {
            assert_true(strncmp(graph, "ladder2x", 8) == 0 && text_to_double(graph + 8, &size));
            n = (int)size;
            for (int i = 0; i < n; i++) {
                if (i + 1 < n) {
                    to[m++] = (struct arrange_edge){(uint8_t)i, (uint8_t)(i + 1)};
                    to[m++] = (struct arrange_edge){(uint8_t)(n + i), (uint8_t)(n + i + 1)};
                }
                to[m++] = (struct arrange_edge){(uint8_t)i, (uint8_t)(n + i)};
            }
        }
        joins[a->n_joins++] = (struct arrange_joins){.shape = shape, .n_edges = m, .edges = to};
        return;
    }
    struct arrange_place *p = &places[a->n_places++];

    memset(p, 0, sizeof *p);
    p->shape = shape;
    if (strncmp(statistic, "count:", 6) == 0) {
        n = list(statistic + 6, v, 64);
        for (int i = 0; i < n; i++)
            p->weight[(int)v[i]] = 1;
    } else if (strncmp(statistic, "absdiff:", 8) == 0) {
        double sum = 0;

        assert_int_equal(list(statistic + 8, v, 64), a->n);
        for (int i = 0; i < a->n; i++)
            sum += v[i];
        for (int i = 0; i < a->n; i++) /* mean of the marked less mean of the rest, by which are marked */
            p->weight[i] = (v[i] - sum / a->n) * (1.0 / n_marked + 1.0 / (a->n - n_marked));
        a->two_sided[shape] = true;
    } else { /* the count of all marked: never changes */
        for (int i = 0; i < a->n; i++)
            p->weight[i] = 1;
    }
}

static void families_agree(void **state)
{
    struct csv c = load_table("tests/outside/westfall-young.csv");
    int n_any = 0;

    (void)state;
    for (size_t i = 1; i < c.n_rows;) {
        struct arrange a = {.max_exact = ARRANGE_MAX_EXACT};
        struct arrange_place places[8];
        struct arrange_joins joins[8];
        static struct arrange_edge edges[8][200];
        struct arrange_result r;
        double marked[64];
        int n_marked = list(csv_named(&c, i, "marked"), marked, 64);
        size_t end = i;

        a.n = (int)number(&c, i, "n");
        a.places = places;
        a.joins = joins;
        for (int k = 0; k < n_marked; k++)
            a.value[(int)marked[k]] = 1;
        for (; end < c.n_rows && strcmp(csv_cell(&c, end, 0), csv_cell(&c, i, 0)) == 0; end++)
            add_hypothesis(&a, places, joins, edges, csv_named(&c, end, "statistic"), n_marked);
        assert_true(arrange_run(&a, &r, NULL) && r.exact);
        for (int k = 0; i < end; i++, k++) {
            double want_z = number(&c, i, "Z_observed");
            char name[64];

            text_format(name, sizeof name, "%s %d", csv_cell(&c, i, 0), k + 1);
            close_to(name, r.arrangements, number(&c, i, "total"), 1e-12);
            close_to(name, r.statistic[k], number(&c, i, "T_observed"), 1e-9);
            close_to(name, r.chance[k], number(&c, i, "p_raw"), 1e-12);
            if (strcmp(csv_named(&c, i, "scale"), "z") != 0)
                continue; /* statistics on unlike scales as they are: the engine always brings them to one */
            if (fabs(r.z[k] - want_z) > 1e-9)
                fail_msg("%s: z %.12g, want %.12g", name, r.z[k], want_z);
            close_to(name, r.chance_any[k], number(&c, i, "p_maxT"), 1e-12);
            n_any++;
        }
    }
    assert_int_equal(c.n_rows, 33);
    assert_int_equal(n_any, 26);
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
        cmocka_unit_test(sampling_keeps_to_its_error), cmocka_unit_test(grubbs_critical_values_agree),
        cmocka_unit_test(tables_of_four_agree),        cmocka_unit_test(kendall_agrees),
        cmocka_unit_test(mann_whitney_agrees),         cmocka_unit_test(least_squares_agree),
        cmocka_unit_test(join_counts_agree),           cmocka_unit_test(morans_i_agrees),
        cmocka_unit_test(families_agree),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
