/* pattern_how.c - how a pattern was computed, in words, and a second opinion: a published test of
 * another kind on the very place that was found. It looks at that place alone, so it is the smaller of the
 * two; the odds shown count all places of the shape. */
#include <math.h>
#include <string.h>

#include "reading/reading_work.h"
#include "reading/shapes.h"
#include "reading/stats.h"

#define JOINS_MOST 20000 /* arrangements gone through for a second opinion about neighbours */

static bool is_trend(enum pattern_shape s)
{
    return s == SHAPE_FRONT_REAR || s == SHAPE_REMOVAL_ORDER;
}

/* A place covers some plugs of the measure: inside and outside apart. */
struct halves {
    double in[ENGINE_MAX_PLUGS], out[ENGINE_MAX_PLUGS];
    int n_in, n_out, in_shown, out_shown;
};

static void halve(struct halves *h, const struct measure *m, const struct shapes *s, int place, const double *value)
{
    *h = (struct halves){.n_in = 0};
    for (int i = 0; i < m->n; i++)
        if (shapes_covers(s, place, i)) {
            h->in_shown += value[i] > 0;
            h->in[h->n_in++] = value[i];
        } else {
            h->out_shown += value[i] > 0;
            h->out[h->n_out++] = value[i];
        }
}

static void add_odds(struct text *t, const char *lead, double chance)
{
    char odds[48];

    work_odds(chance, odds, sizeof odds);
    text_addf(t, " Second opinion, this place alone: %s, %s.", lead, odds);
}

static void second_of_cover(struct text *t, const struct measure *m, const struct halves *h)
{
    char lead[120];
    double all[ENGINE_MAX_PLUGS], u, g, p;

    if (m->kind == MEASURE_SIGN) {
        text_format(lead, sizeof lead, "Fisher's exact test of shown or not (%d of %d inside, %d of %d outside)", h->in_shown, h->n_in,
                    h->out_shown, h->n_out);
        add_odds(t, lead, stats_fisher(h->in_shown, h->n_in - h->in_shown, h->out_shown, h->n_out - h->out_shown).greater);
    } else if (h->n_in == 1) {
        memcpy(all, h->in, sizeof h->in[0]);
        memcpy(all + 1, h->out, (size_t)h->n_out * sizeof h->out[0]);
        if (stats_grubbs(all, h->n_out + 1, 0, &g, &p)) {
            text_format(lead, sizeof lead, "Grubbs' test of the one farthest out (G %.2f)", g);
            add_odds(t, lead, p);
        }
    } else {
        struct stats_p exact = stats_mann_whitney(h->in, h->n_in, h->out, h->n_out, &u);

        text_format(lead, sizeof lead, "Mann and Whitney's exact test (U %.4g of %d)", u, h->n_in * h->n_out);
        add_odds(t, lead, exact.two_sided);
    }
}

static void second_of_trend(struct text *t, const struct work *w, const struct measure *m, const struct pattern *p, const double *value)
{
    double at[ENGINE_MAX_PLUGS], tau;
    int s;
    struct stats_p exact;
    struct stats_fit line;
    char lead[120];

    for (int i = 0; i < m->n; i++) {
        int c = work_cylinder(w, m->plug[i]);

        at[i] = p->shape == SHAPE_FRONT_REAR ? w->en->cylinders[c].place : visit_find_drawn(w->v, c, work_position(w, m->plug[i]));
    }
    if (p->shape == SHAPE_FRONT_REAR && m->kind != MEASURE_SIGN && stats_least_squares(at, value, m->n, 0, 1, &line))
        text_addf(t, " By least squares %+.3g %s for each place to the rear, give or take %.2g.", line.coefficient[1] * m->told_factor, m->told_unit, line.sd[1] * m->told_factor);
    if (stats_kendall(at, value, m->n, &s, &tau, &exact)) {
        text_format(lead, sizeof lead, "Kendall's rank test (tau-b %.2f)", tau);
        add_odds(t, lead, p->shape == SHAPE_REMOVAL_ORDER ? exact.less : exact.two_sided);
    }
}

/* Whether neighbours are alike over the whole engine: join count of a sign, Moran's I of a figure. */
static void second_of_neighbours(struct text *t, const struct work *w, const struct measure *m, const double *value)
{
    struct arrange_edge edges[3 * ENGINE_MAX_PLUGS];
    struct arrange_joins joins = {.edges = edges};
    struct arrange a = {.n = m->n, .n_shapes = 1, .n_joins = 1, .joins = &joins, .max_exact = JOINS_MOST, .cancel = w->options->cancel};
    struct arrange_result r;
    char odds[48];

    for (int i = 0; i < m->n; i++)
        a.value[i] = m->kind == MEASURE_SIGN ? value[i] > 0 : value[i];
    joins.n_edges = shapes_edges(w->r, m, edges, 3 * ENGINE_MAX_PLUGS);
    joins.centre = m->kind == MEASURE_SIGN ? 0 : stats_mean(value, m->n);
    if (joins.n_edges == 0 || arrange_count(a.value, a.n) > JOINS_MOST || !arrange_run(&a, &r, NULL))
        return;
    work_odds(r.chance[0], odds, sizeof odds);
    if (m->kind == MEASURE_SIGN)
        text_addf(t, " Second opinion, all neighbours: %.0f of %d neighbouring pairs both show it (join count), %s.", r.statistic[0],
                  joins.n_edges, odds);
    else
        text_addf(t, " Second opinion, all neighbours: how alike they are (Moran's I), %s.", odds);
}

void pattern_how(const struct work *w, struct pattern *p, const struct shapes *s, int place, int direction, const double *value)
{
    const struct measure *m = s->m;
    const int decimals = m->told_decimals > 1 ? m->told_decimals : 2;
    struct text t = {0};
    char odds[48], count[32];
    struct halves h;

    work_odds(p->chance, odds, sizeof odds);
    text_from_count(count, sizeof count, lround(p->arrangements));
    if (is_trend(p->shape)) {
        text_addf(&t, "Correlation with the %s explains %.0f %% of the spread.", p->shape == SHAPE_FRONT_REAR ? "place in the bank" : "order drawn",
                  100 * p->strength);
    } else {
        halve(&h, m, s, place, value);
        text_addf(&t, "Mean of the %d inside %.*f%s%s, of the %d outside %.*f%s%s; the place explains %.0f %% of the spread.", h.n_in,
                  decimals, stats_mean(h.in, h.n_in) * m->told_factor, m->told_unit[0] ? " " : "", m->told_unit, h.n_out, decimals,
                  stats_mean(h.out, h.n_out) * m->told_factor, m->told_unit[0] ? " " : "", m->told_unit, 100 * p->strength);
    }
    text_addf(&t, " %s %s arrangements of the same readings; as strong or stronger at any such place%s: %s.", p->exact ? "Counted over all" : "Sampled:",
              count, direction < 0 || m->worse == 0 ? ", either way" : "", odds);
    if (!p->exact)
        text_addf(&t, " Standard error %.1g.", p->error);
    if (!p->exact && w->options->first_answer)
        text_add(&t, " The last answer follows.");
    else if (is_trend(p->shape))
        second_of_trend(&t, w, m, p, value);
    else if (p->shape == SHAPE_ADJACENT_PAIR)
        second_of_neighbours(&t, w, m, value);
    else
        second_of_cover(&t, m, &h);
    text_copy(p->how, sizeof p->how, text_get(&t));
    text_release(&t);
}
