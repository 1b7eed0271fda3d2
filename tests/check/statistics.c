/* Random inputs and what the program makes of them, one Python dictionary a line, for statistics.py to
 * work out again. Argument: seed. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "reading/arrange.h"
#include "reading/stats.h"
#include "reading/wear.h"
#include "base/err.h"

#define ROUNDS 120
#define SERIES 240

static uint64_t state;

static int dice(int n)
{
    state = state * 6364136223846793005u + 1442695040888963407u;
    return (int)((state >> 33) % (uint64_t)n);
}

static void list(const char *name, const double *x, int n)
{
    printf("\"%s\": [", name);
    for (int i = 0; i < n; i++)
        printf("%s%.17g", i ? ", " : "", x[i]);
    printf("], ");
}

static void p_values(struct stats_p p)
{
    printf("\"less\": %.17g, \"greater\": %.17g, \"two\": %.17g}\n", p.less, p.greater, p.two_sided);
}

/* n values, all different when apart. */
static void deal(double *x, int n, int apart, int range)
{
    for (int i = 0; i < n; i++) {
        bool again;

        do {
            again = false;
            x[i] = dice(range) / 100.0;
            for (int k = 0; k < i && apart; k++)
                again = again || !(x[i] < x[k] || x[i] > x[k]);
        } while (again);
    }
}

static void one_round(void)
{
    double x[40], y[40], u, tau, g, p;
    int n = 3 + dice(6), m = 3 + dice(6), s;
    struct stats_p ps;
    struct stats_trend trend;
    struct stats_fit fit;
    struct arrange a = {.n_shapes = 1, .n_places = 1, .two_sided = {true}, .max_exact = ARRANGE_MAX_EXACT};
    struct arrange_place place = {0};
    struct arrange_result r;
    int t[4];

    for (int i = 0; i < 4; i++)
        t[i] = dice(9);
    if ((t[0] + t[1]) * (t[2] + t[3]) * (t[0] + t[2]) * (t[1] + t[3]) > 0) {
        printf("{\"what\": \"fisher\", \"t\": [%d, %d, %d, %d], ", t[0], t[1], t[2], t[3]);
        p_values(stats_fisher(t[0], t[1], t[2], t[3]));
    }
    deal(x, n + m, 1, 100);
    printf("{\"what\": \"mannwhitney\", ");
    list("x", x, n);
    list("y", x + n, m);
    ps = stats_mann_whitney(x, n, x + n, m, &u);
    printf("\"u\": %.17g, ", u);
    p_values(ps);
    deal(y, n + m, 1, 100);
    stats_kendall(x, y, n + m, &s, &tau, &ps);
    printf("{\"what\": \"kendall\", ");
    list("x", x, n + m);
    list("y", y, n + m);
    printf("\"tau\": %.17g, ", tau);
    p_values(ps);
    stats_theil_sen(x, y, n + m, 0.9, &trend);
    stats_least_squares(x, y, n + m, 0, 1, &fit);
    printf("{\"what\": \"lines\", ");
    list("x", x, n + m);
    list("y", y, n + m);
    printf("\"slope\": %.17g, \"low\": %.17g, \"high\": %.17g, \"b0\": %.17g, \"b1\": %.17g, \"sd\": %.17g, \"r2\": %.17g}\n", trend.slope,
           trend.slope_low, trend.slope_high, fit.coefficient[0], fit.coefficient[1], fit.sd[1], fit.r_squared);
    deal(x, n + m, 0, 30);
    if (stats_grubbs(x, n + m, 0, &g, &p)) {
        printf("{\"what\": \"grubbs\", ");
        list("x", x, n + m);
        printf("\"median\": %.17g, \"mad\": %.17g, \"g\": %.17g, \"p\": %.17g, \"crit\": %.17g}\n", stats_median(x, n + m),
               stats_mad(x, n + m), g, p, stats_grubbs_critical(n + m, 0.05, true));
    }
    n = 3 + dice(2);
    m = 3 + dice(3);
    deal(x, n + m, 0, 5); /* many equal ones */
    a.n = n + m;
    a.places = &place;
    memcpy(a.value, x, sizeof x);
    for (int i = 0; i < a.n; i++)
        place.weight[i] = i < n ? 1.0 / n : -1.0 / m;
    if (arrange_run(&a, &r, NULL)) {
        printf("{\"what\": \"permutation\", ");
        list("x", x, n);
        list("y", x + n, m);
        printf("\"p\": %.17g}\n", r.chance[0]);
    }
}

/* One plug over its visits, the gap read to hundredths: its growth and the distance left to the limit. */
static void one_series(void)
{
    struct record r;
    struct err e = {0};
    static struct wear w;
    int n = 3 + dice(12);
    double km = 10000 + dice(90000), gap = 0.70 + dice(30) / 100.0, grows = (3 + dice(25)) / 1000.0;

    record_init(&r);
    if (!engine_parse_banks(&r.engine, "1", &e) || !engine_parse_firing(&r.engine, "1", &e) || !engine_finish(&r.engine, &e))
        exit(1);
    r.engine.plug.gap_max_mm = 1.1;
    r.engine.plug.gap_limit_mm = 1.3;
    printf("{\"what\": \"growth\", \"points\": [");
    for (int i = 0; i < n; i++) {
        struct visit *v = record_add_visit(&r);
        struct reading *q = &v->readings[0];
        double read = ((int)(gap * 100 + 0.5) + dice(3) - 1) / 100.0;

        v->odometer_m = MAYBE(km * 1000);
        v->odometer_unit = words_find(WORDS_ODOMETER_UNIT, "km");
        q->present = true;
        q->gap_mm = MAYBE(read);
        printf("%s[%.17g, %.17g]", i ? ", " : "", km / 1000, read);
        km += 500 + dice(8000);
        gap += grows * 4;
    }
    wear_of(&r, &w);
    printf("], \"limit\": 1.3, \"known\": %s, \"rate\": %.17g, \"left\": %s", w.plugs[0].known ? "true" : "false", w.plugs[0].rate,
           w.plugs[0].left.given ? "" : "null");
    if (w.plugs[0].left.given)
        printf("%.17g", w.plugs[0].left.value / 1e6);
    printf("}\n");
    record_release(&r);
}

int main(int argc, char **argv)
{
    state = argc > 1 ? strtoull(argv[1], NULL, 10) : 1;
    for (int i = 0; i < ROUNDS; i++)
        one_round();
    for (int i = 0; i < SERIES; i++)
        one_series();
    return 0;
}
