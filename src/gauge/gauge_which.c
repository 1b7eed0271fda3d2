#include "gauge/gauge_which.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/assets.h"
#include "base/csv.h"
#include "base/err.h"
#include "base/mem.h"
#include "base/text.h"
#include "gauge/gauge_strip.h"

#define PI 3.14159265358979323846
enum { PER_PITCH = 24, REACH = 8, ALL = 2 * REACH * PER_PITCH + 1 }; /* samples; pitches each way of the axis */
#define FAR 6.7          /* pitches from the axis: outside of every thread, what repeats there is chance */
#define CREST_FROM 0.9   /* pitches inside an outline: there its crests show against the bench, */
#define CREST_TO 0.12    /*   up to it but for blur; */
#define BENCH_FROM 0.08  /* outside: nothing that repeats */
#define BENCH_TO 0.8
#define ASIDE 1.0        /* pitches that the axis may lie off where it was read */
#define OFF 0.2          /* and an outline where it ought to be: of crests that are worn, or blurred */
#define AS_WELL 0.7      /* of the best's score */
#define AGAINST 0.72     /* of another thread's contrast that the told one's outlines have: it is not as wide. Of a wrong one told they have 0.45 to 0.73, but where dirt hides them */
#define STANDS_LESS 0.9  /* and of its repeating crests' score */
#define COMMONEST_MM 1.25
#define SAME_TURN 0.1
#define UNSEEN "How thick the thread is does not show. Say which thread it is."
#define SELDOM_MM 9      /* thinner plugs are seldom met: they must stand out by more */
#define SELDOM 0.9

/* How strongly each row across repeats with one pitch, against chance: 0..1. -1 where the row is not seen. */
static bool repeats(const struct gauge_picture *p, const struct gauge_thread *scale, double out[ALL])
{
    double turns = fmax(floor(0.8 * scale->length_px / scale->pitch_px), 3), half = turns * scale->pitch_px / 2, step = scale->pitch_px / PER_PITCH, far[ALL], chance;
    struct gauge_frame f = {scale->middle, scale->ux, scale->uy};
    struct gauge_strip s;
    int n = 0;

    if (!gauge_strip_cut(p, &f, -half, half, -REACH * scale->pitch_px, (REACH + 0.5 / PER_PITCH) * scale->pitch_px, step, step, false, &s, NULL))
        return false;
    for (int j = 0; j < ALL; j++) {
        double re[3] = {0}, im[3] = {0}, sum = 0;

        out[j] = -1;
        if (j >= s.n_t || !s.seen[j])
            continue;
        for (int i = 0; i < s.n_s; i++) {
            double a = 2 * PI * i / PER_PITCH;

            for (int c = 0; c < 3; c++) { /* highlights count for less */
                double v = sqrt((double)s.rgb[(size_t)j * (size_t)s.n_s + (size_t)i][c]);

                re[c] += v * cos(a), im[c] += v * sin(a);
            }
        }
        for (int c = 0; c < 3; c++)
            sum += re[c] * re[c] + im[c] * im[c];
        out[j] = sqrt(sum) / s.n_s;
        if (abs(j - ALL / 2) > FAR * PER_PITCH)
            far[n++] = out[j];
    }
    gauge_strip_release(&s);
    if (n < PER_PITCH / 2) { /* a frame that ends at the outline */
        n = 0;
        for (int j = 0; j < ALL; j++)
            if (out[j] >= 0)
                far[n++] = out[j];
        if (n < PER_PITCH)
            return false;
        chance = (gauge_median(far, n), far[n / 10]);
    } else {
        chance = gauge_median(far, n);
    }
    for (int j = 0; j < ALL; j++)
        if (out[j] >= 0)
            out[j] /= out[j] + 1.5 * chance + 0.03;
    return true;
}

/* Sums of what is seen, and how many. */
struct sums {
    double v[ALL + 1];
    int n[ALL + 1];
    double least;
};

/* Mean from a to b pitches off the axis, on one side; -1 where hardly any of it is seen. */
static double mean(const struct sums *m, int side, double a, double b)
{
    int i = ALL / 2 + (int)lround((side > 0 ? a : -b) * PER_PITCH), j = ALL / 2 + (int)lround((side > 0 ? b : -a) * PER_PITCH);

    i = i < 0 ? 0 : i, j = j > ALL ? ALL : j;
    return j > i && m->n[j] - m->n[i] > 3 ? (m->v[j] - m->v[i]) / (m->n[j] - m->n[i]) : -1;
}

/* How well outlines stand `wide` pitches apart, wherever near the axis. */
static double stand(const struct sums *m, double wide)
{
    double most = 0;

    for (double aside = -ASIDE; aside <= ASIDE + 1e-9; aside += 2.0 / PER_PITCH) {
        double score = 0;

        for (int side = -1; side <= 1; side += 2) {
            double at = wide / 2 + side * aside, in = mean(m, side, at - CREST_FROM, at - CREST_TO), outside = mean(m, side, at + BENCH_FROM, at + BENCH_TO);

            if (in >= 0)
                score += in - (outside >= 0 ? outside : m->least);
        }
        most = fmax(most, score);
    }
    return most;
}

/* The best of outlines so wide, or a little more or less. */
static double stand_about(const struct sums *m, double wide, double *at)
{
    double most = 0;

    for (double off = -OFF; off <= OFF + 1e-9; off += 1.0 / PER_PITCH) {
        double score = stand(m, wide + off);

        if (score > most)
            most = score, *at = wide + off;
    }
    return most;
}

static bool sums_make(const struct gauge_picture *p, const struct gauge_thread *scale, struct sums *m)
{
    double repeat[ALL];

    *m = (struct sums){.least = 1};
    if (!scale->has_body || !repeats(p, scale, repeat))
        return false;
    for (int j = 0; j < ALL; j++) {
        bool seen = repeat[j] >= 0;

        m->v[j + 1] = m->v[j] + (seen ? repeat[j] : 0), m->n[j + 1] = m->n[j] + seen;
        if (seen)
            m->least = fmin(m->least, repeat[j]);
    }
    return true;
}

static int better(const void *a, const void *b)
{
    const struct gauge_which_row *p = a, *q = b;

    return p->score > q->score ? -1 : p->score < q->score ? 1 : strcmp(p->thread, q->thread);
}

/* As any thread of this pitch, or of any pitch, the commonest first: which it is shows afterwards. */
static bool read_any(const struct gauge_picture *p, const struct gauge_point line[2], const struct csv *t, double pitch_mm, double focal_px, struct gauge_line *drawn,
                     struct gauge_thread *out, struct err *e)
{
    bool fine = gauge_thread_read_as(p, line, pitch_mm > 0 ? pitch_mm : COMMONEST_MM, 0, focal_px, drawn, out, e);

    for (size_t row = 1; row < t->n_rows && !(pitch_mm > 0) && !fine; row++)
        fine = gauge_thread_read_as(p, line, strtod(csv_named(t, row, "pitch_mm"), NULL), 0, focal_px, drawn, out, NULL);
    return fine;
}

/* Compares a body that was read with the threads of the table. */
static bool compare(const struct gauge_picture *p, const struct gauge_thread *scale, const struct csv *t, double pitch_mm, struct gauge_which *out, struct err *e)
{
    struct sums m;
    double most = 0;

    if (!sums_make(p, scale, &m))
        return err_set(e, ERR_MEASURE, UNSEEN);
    for (size_t row = 1; row < t->n_rows && out->n < GAUGE_MAX_WHICH; row++) {
        struct gauge_which_row *r = &out->rows[out->n];
        double wide = 0;

        *r = (struct gauge_which_row){.major_mm = strtod(csv_named(t, row, "major_mm"), NULL), .pitch_mm = strtod(csv_named(t, row, "pitch_mm"), NULL)};
        if (pitch_mm > 0 && fabs(r->pitch_mm - pitch_mm) >= 0.01)
            continue;
        text_copy(r->thread, sizeof r->thread, csv_named(t, row, "thread"));
        r->score = stand_about(&m, r->major_mm / r->pitch_mm, &wide) * (r->major_mm < SELDOM_MM ? SELDOM : 1);
        if (r->score > most)
            most = r->score, out->wide = wide;
        out->n++;
    }
    for (int i = 0; i < out->n; i++)
        out->n_fit += out->rows[i].fits = most > 0 && out->rows[i].score >= AS_WELL * most;
    qsort(out->rows, (size_t)out->n, sizeof out->rows[0], better);
    return out->n_fit > 0 || err_set(e, ERR_MEASURE, UNSEEN);
}

bool gauge_which_read(const struct gauge_picture *p, const struct gauge_point line[2], double pitch_mm, double focal_px, struct gauge_line *drawn, struct gauge_which *out, struct err *e)
{
    struct gauge_line *own;
    struct gauge_thread scale;
    struct csv t;
    bool fine;

    memset(out, 0, sizeof *out);
    if (!asset_table("threads.csv", &t, e))
        return false;
    own = drawn == NULL ? gauge_line_create() : NULL;
    fine = read_any(p, line, &t, pitch_mm, focal_px, drawn != NULL ? drawn : own, &scale, e) && compare(p, &scale, &t, pitch_mm, out, e);
    gauge_line_destroy(own);
    csv_release(&t);
    return fine;
}

bool gauge_which_other(const struct gauge_picture *p, const struct gauge_thread *scale, struct gauge_other *other)
{
    struct sums m;
    double at;

    if (gauge_thread_against(p, scale, other) >= AGAINST || !sums_make(p, scale, &m))
        return false;
    return stand_about(&m, scale->major_mm / scale->pitch_mm, &at) < STANDS_LESS * stand_about(&m, other->major_mm / other->pitch_mm, &at);
}

/* Brings the thread that was taken to the front, as one that fits. */
static void take_first(struct gauge_which *w, double major_mm)
{
    for (int i = 0; i < w->n; i++)
        if (fabs(w->rows[i].major_mm - major_mm) < 0.1) {
            struct gauge_which_row taken = w->rows[i];

            w->n_fit += !taken.fits;
            taken.fits = true;
            memmove(w->rows + 1, w->rows, (size_t)i * sizeof *w->rows);
            w->rows[0] = taken;
            return;
        }
}

/* What other threads that fit as well make of the gap. */
static double doubt_of_others(const struct gauge_picture *p, const struct gauge_point thread[2], const struct gauge_point across[2], double pitch_mm, double focal_px,
                              const struct gauge_which *which, const struct gauge_thread *scale, const struct gauge_gap *gap, struct gauge_line *drawn)
{
    double doubt = gap->uncertainty_mm;

    for (int i = 1; i < which->n_fit; i++) {
        struct gauge_thread other_scale;
        struct gauge_gap other;

        /* turns are as long whatever they are wound on: another length was read off something else */
        if (gauge_thread_read_as(p, thread, pitch_mm, which->rows[i].major_mm, focal_px, drawn, &other_scale, NULL) &&
            fabs(other_scale.pitch_px / scale->pitch_px - 1) < SAME_TURN && gauge_gap_read(p, across, &other_scale, &other, NULL))
            doubt = fmax(doubt, fabs(other.gap_mm - gap->gap_mm) + other.uncertainty_mm);
    }
    return doubt;
}

bool gauge_which_gap(const struct gauge_picture *p, const struct gauge_point thread[2], const struct gauge_point across[2], double pitch_mm, double focal_px,
                     struct gauge_which *which, struct gauge_thread *scale, struct gauge_gap *gap, struct err *e)
{
    struct gauge_line *drawn = gauge_line_create();
    struct csv t;
    bool fine;

    memset(which, 0, sizeof *which);
    fine = gauge_thread_read_as(p, thread, pitch_mm, 0, focal_px, drawn, scale, e) && gauge_gap_read(p, across, scale, gap, e) && asset_table("threads.csv", &t, e);
    if (fine) {
        if (compare(p, scale, &t, pitch_mm, which, NULL)) {
            take_first(which, scale->major_mm);
            gap->uncertainty_mm = doubt_of_others(p, thread, across, pitch_mm, focal_px, which, scale, gap, drawn);
        }
        csv_release(&t);
    }
    gauge_line_destroy(drawn);
    return fine;
}

double gauge_which_spread(const struct gauge_which *w)
{
    double least = 1e9, most = 0;

    for (int i = 0; i < w->n_fit; i++)
        least = fmin(least, w->rows[i].pitch_mm), most = fmax(most, w->rows[i].pitch_mm);
    return most > 0 ? most / least - 1 : 0;
}

void gauge_which_names(const struct gauge_which *w, char *to, size_t n_room)
{
    size_t used = 0;

    to[0] = '\0';
    for (int i = 0; i < w->n_fit; i++) {
        text_format(to + used, n_room - used, "%s%s", i == 0 ? "" : i + 1 < w->n_fit ? ", " : " or ", w->rows[i].thread);
        used = strlen(to);
    }
}
