/* The reading's figures: first and exact answer for three engines, and the exact odds of one bank against
 * SciPy's permutation_test on the same values and statistic in the same run. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/clock.h"
#include "base/err.h"
#include "base/text.h"
#include "reading/arrange.h"
#include "reading/findings.h"

static uint64_t state = 1;

static int dice(int n)
{
    state = state * 6364136223846793005u + 1442695040888963407u;
    return (int)((state >> 33) % (uint64_t)n);
}

/* All that a visit can hold: oil in most wells of the last bank, traces elsewhere, figures with noise. */
static struct record make(enum engine_layout layout, const char *banks, const char *order, int n_positions)
{
    struct record r;
    struct err e = {0};
    const struct engine *en;

    record_init(&r);
    r.engine.layout = layout;
    r.engine.n_positions = n_positions;
    if (n_positions > 1) {
        text_copy(r.engine.position_names[0], sizeof r.engine.position_names[0], "top");
        text_copy(r.engine.position_names[1], sizeof r.engine.position_names[1], "bottom");
    }
    if (!engine_parse_banks(&r.engine, banks, &e) || !engine_parse_firing(&r.engine, order, &e) || !engine_finish(&r.engine, &e)) {
        fprintf(stderr, "%s\n", e.text);
        exit(1);
    }
    record_add_visit(&r);
    en = &r.engine;
    for (int i = 0; i < record_plug_count(en); i++) {
        struct reading *x = &r.visits[0].readings[i];
        bool last_bank = en->cylinders[x->cylinder].bank == en->n_banks - 1;

        reading_note(x, SIGN_WELL_OIL, last_bank && dice(4) != 0 ? 2 : 0);
        reading_note(x, SIGN_BOOT_OIL_SOAKED, last_bank && dice(2) != 0 ? 1 : 0);
        reading_note(x, SIGN_DRY_CARBON, dice(6) == 0);
        x->gap_mm = MAYBE(1.0 + dice(12) / 100.0);
        x->nose_L = MAYBE(60 + dice(150) / 10.0), x->nose_a = MAYBE(3), x->nose_b = MAYBE(14);
        if (x->position == 0) {
            x->compression_kpa = MAYBE(1080 + dice(80));
            x->leak_percent = MAYBE(4 + dice(8));
        }
    }
    return r;
}

static double read_once(const struct record *r, bool first, struct findings *f)
{
    struct reading_options o = {.first_answer = first};
    double start = clock_monotonic_s();

    if (!reading_run(r, &o, f, NULL))
        exit(1);
    return (clock_monotonic_s() - start) * 1e3;
}

static void answers(const char *name, const struct record *r)
{
    struct findings f;
    double first = 1e9, exact = 1e9, most = 0;
    bool provisional = false;

    for (int i = 0; i < 5; i++) {
        first = fmin(first, read_once(r, true, &f));
        provisional = f.provisional;
        findings_release(&f);
    }
    for (int i = 0; i < 3; i++) {
        exact = fmin(exact, read_once(r, false, &f));
        for (int k = 0; k < f.n_patterns; k++)
            most = f.patterns[k].exact ? fmax(most, f.patterns[k].arrangements) : most;
        findings_release(&f);
    }
    printf("%-22s first answer %7.2f ms%s, last answer %8.2f ms (%d plugs, up to %.0f arrangements counted)\n", name, first,
           provisional ? " (provisional)" : "", exact, record_plug_count(&r->engine), most);
}

/* Whether the first half differs from the second: mean against mean, either way. */
static void against_scipy(const char *name, const double *value, int n)
{
    struct arrange a = {.n = n, .n_shapes = 1, .n_places = 1, .two_sided = {true}, .max_exact = ARRANGE_MAX_EXACT};
    struct arrange_place place = {0};
    struct arrange_result r;
    char script[4000], line[128] = "";
    struct text t = {0};
    int rounds = 1000;
    double ours, theirs = 0, p = 0;
    FILE *python;
    double start;

    memcpy(a.value, value, (size_t)n * sizeof *value);
    for (int i = 0; i < n; i++)
        place.weight[i] = (i < n / 2 ? 2.0 : -2.0) / n;
    a.places = &place;
    start = clock_monotonic_s();
    for (int i = 0; i < rounds; i++)
        arrange_run(&a, &r, NULL);
    ours = (clock_monotonic_s() - start) / rounds;
    for (int i = 0; i < n; i++)
        text_addf(&t, "%s%g", i ? "," : "", value[i]);
    text_format(script, sizeof script,
                "/usr/bin/python3 -c 'import time, numpy as np\n"
                "from scipy.stats import permutation_test\n"
                "v = np.array([%s]); h = len(v) // 2\n"
                "f = lambda x, y, axis: np.abs(np.mean(x, axis=axis) - np.mean(y, axis=axis))\n"
                "t = time.perf_counter()\n"
                "r = permutation_test((v[:h], v[h:]), f, vectorized=True, n_resamples=np.inf, batch=100000, alternative=\"greater\")\n"
                "print(time.perf_counter() - t, r.pvalue)'",
                text_get(&t));
    text_release(&t);
    python = popen(script, "r");
    if (python == NULL || fgets(line, sizeof line, python) == NULL || sscanf(line, "%lf %lf", &theirs, &p) != 2)
        printf("%-22s SciPy is not there to compare with\n", name);
    else
        printf("%-22s ours %.3g ms, SciPy %.3g ms: ratio %.0f; p %.9g and %.9g\n", name, ours * 1e3, theirs * 1e3, theirs / ours, r.chance[0], p);
    if (python != NULL)
        pclose(python);
}

int main(void)
{
    static const double wells[] = {2, 3, 2, 0, 0, 0, 0, 0, 1, 0, 2, 2, 0, 0, 0, 1, 0, 0, 0, 2, 0, 0, 0, 1};
    static const double gaps[] = {1.10, 1.12, 1.09, 1.15, 1.18, 1.14, 1.08, 1.11};
    struct record r = make(ENGINE_INLINE, "1 2 3 4 5 6", "1 5 3 6 2 4", 1);

    answers("inline six", &r);
    record_release(&r);
    r = make(ENGINE_V, "1 3 5 7 / 2 4 6 8", "1 8 4 3 6 5 7 2", 1);
    answers("V8", &r);
    record_release(&r);
    r = make(ENGINE_V, "1 2 3 4 5 6 / 7 8 9 10 11 12", "1 7 5 11 3 9 6 12 2 8 4 10", 2);
    answers("V12, two plugs each", &r);
    record_release(&r);
    against_scipy("8 wells, one bank", wells, 8);
    against_scipy("8 gaps, one bank", gaps, 8);
    against_scipy("24 wells, one bank", wells, 24);
    return 0;
}
