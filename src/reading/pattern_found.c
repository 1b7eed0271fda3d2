/* pattern_found.c - patterns that stand out: a sign that keeps to one bank, a figure that differs on a bank,
 * a pair or a group by more than anybody would overlook. */
#include <math.h>
#include <string.h>

#include "reading/reading_work.h"

#define BIT(i) ((engine_set)1 << (i))
#define RARE 0.05 /* for the strongest of all shapes tested on the measure */

static void with_capital(const struct measure *m, char *to, size_t n_room)
{
    text_format(to, n_room, "%c%s", m->label[0] >= 'a' && m->label[0] <= 'z' ? m->label[0] - 'a' + 'A' : m->label[0], m->label + 1);
}

/* "1 in 35 by luck"; of a sample with its standard error. */
static void odds_words(const struct pattern *p, char *to, size_t n_room)
{
    char odds[48];

    work_odds(p->chance, odds, sizeof odds);
    if (p->exact)
        text_format(to, n_room, "%s by luck%s", odds, p->chance > 0.25 ? ": no wonder" : "");
    else
        text_format(to, n_room, "about %s by luck%s (sampled: %.2g %%, standard error %.1g %%)", odds, p->chance > 0.25 ? ": no wonder" : "",
                    100 * p->chance, 100 * p->error);
}

static const char *plural(const struct measure *m)
{
    return m->sign == SIGN_WELL_OIL ? "Oil in the wells" : m->sign == SIGN_WELL_WATER ? "Water in the wells" : NULL;
}

/* Signs: all of what is seen lies in one bank. */
static void signs_on_one_bank(struct work *w)
{
    const struct engine *en = w->en;

    for (int k = 0; k < w->f->n_patterns; k++) {
        const struct pattern *p = &w->f->patterns[k];
        const struct measure *m = measure_find(w->measures, w->n_measures, p->measure);
        struct stand_out *s, *condition = NULL;
        char words[160], label[120];
        int bank = -1, n_shown = 0, n_bank = 0, most = 0;
        engine_set shown = 0;
        bool mixed = false;

        if (p->shape != SHAPE_ONE_BANK || m == NULL || m->kind != MEASURE_SIGN || !p->adverse || sign_row((enum sign)m->sign)->level == LEVEL_NONE)
            continue;
        for (int i = 0; i < m->n; i++)
            if (m->value[i] > 0 && !m->explained[i]) {
                int b = en->cylinders[work_cylinder(w, m->plug[i])].bank;

                mixed = mixed || (bank >= 0 && bank != b);
                bank = b;
                n_shown++;
                shown |= BIT(work_cylinder(w, m->plug[i]));
                most = m->value[i] > most ? (int)m->value[i] : most;
            }
        if (mixed || (shown & (shown - 1)) == 0) /* several plugs of one cylinder are that cylinder */
            continue;
        if (most == 1 && p->chance > RARE)
            continue; /* traces are in the eye of the beholder: a pattern of them must be rare */
        for (int i = 0; i < m->n; i++)
            n_bank += en->cylinders[work_cylinder(w, m->plug[i])].bank == bank;
        if (n_bank == m->n || 2 * n_shown < n_bank)
            continue; /* the other bank was not looked at, or less than half of this one shows it */
        for (int i = 0; i < w->f->n_stand_outs; i++)
            if (w->f->stand_outs[i].kind == STAND_CONDITION && w->f->stand_outs[i].sign == m->sign)
                condition = &w->f->stand_outs[i];
        /* The pattern says what the condition says and more: it takes its place. */
        s = condition != NULL && condition->cylinders == p->cylinders ? condition : work_add_stand_out(w);
        if (s != condition) {
            s->kind = STAND_CONDITION;
            s->level = findings_sign_level(en, (enum sign)m->sign, most);
            s->value = MAYBE(most);
            s->reference = MAYBE(0);
            work_missing_others(w, m, s);
        }
        s->cylinders = p->cylinders;
        text_format(s->where, sizeof s->where, "bank %s", en->banks[bank].name);
        text_copy(s->measure, sizeof s->measure, m->id);
        s->sign = m->sign;
        s->pattern = k;
        if (plural(m) != NULL)
            text_copy(label, sizeof label, plural(m));
        else
            with_capital(m, label, sizeof label);
        text_format(s->headline, sizeof s->headline, "%s keeps to bank %s", label, en->banks[bank].name);
        engine_set_words(en, p->cylinders, words, sizeof words);
        words[0] = (char)(words[0] - 'a' + 'A');
        text_format(s->text, sizeof s->text, "%s; %s.%s", words,
                    en->n_banks == 2 ? "the other bank shows none" : "the other banks show none",
                    m->sign == SIGN_WELL_OIL ? work_from_above(w, p->cylinders) : "");
        odds_words(p, s->odds, sizeof s->odds);
        text_format(s->how, sizeof s->how, "Either bank would have been noticed, so both count. %s", p->how);
    }
}

static bool is_group(enum pattern_shape s)
{
    return s == SHAPE_ONE_BANK || s == SHAPE_ADJACENT_PAIR || s == SHAPE_COMPANION_PAIR || s == SHAPE_COIL_GROUP ||
           s == SHAPE_MIXTURE_GROUP || s == SHAPE_FIRING_NEIGHBOURS;
}

/* One measure of colour is enough: its others say the same again. Growth and gap are two. */
static bool is_figure(const struct measure *m)
{
    return m->kind != MEASURE_SIGN && m->kind != MEASURE_NOSE_A && m->kind != MEASURE_NOSE_B && m->kind != MEASURE_NOSE_DE &&
           m->kind != MEASURE_COMPRESSION_WET && m->threshold->compared;
}

static void mean_in_and_out(const struct work *w, const struct measure *m, const struct pattern *p, double *in, double *out)
{
    int n_in = 0, n_out = 0;

    *in = *out = 0;
    for (int i = 0; i < m->n; i++) {
        bool inside = (p->cylinders == 0 || (p->cylinders & BIT(work_cylinder(w, m->plug[i]))) != 0) &&
                      (p->position < 0 || p->position == work_position(w, m->plug[i]));

        if (inside)
            *in += m->value[i], n_in++;
        else
            *out += m->value[i], n_out++;
    }
    *in /= n_in > 0 ? n_in : 1;
    *out /= n_out > 0 ? n_out : 1;
}

/* Figures: the strongest group of a measure, when it is rare and the difference is one that counts. */
static void figures_on_a_group(struct work *w)
{
    const char *done = "";

    for (int k = 0; k < w->f->n_patterns; k++) {
        const struct pattern *p = &w->f->patterns[k];
        const struct measure *m = measure_find(w->measures, w->n_measures, p->measure);
        char label[120], in_words[32], out_words[32];
        double in, out;
        struct stand_out *s;

        if (m == NULL || !is_figure(m) || !is_group(p->shape) || p->chance_any > RARE || strcmp(done, p->measure) == 0)
            continue;
        mean_in_and_out(w, m, p, &in, &out);
        if (fabs(in - out) < threshold_counts_from(m->threshold, out))
            continue;
        done = p->measure;
        s = work_add_stand_out(w);
        s->kind = STAND_UNLIKE_NEIGHBOURS;
        s->cylinders = p->cylinders;
        s->position = p->position;
        text_copy(s->where, sizeof s->where, p->where);
        text_copy(s->measure, sizeof s->measure, m->id);
        text_copy(s->unit, sizeof s->unit, m->unit);
        s->level = LEVEL_WATCH;
        s->value = MAYBE(in);
        s->reference = MAYBE(out);
        s->pattern = k;
        with_capital(m, label, sizeof label);
        text_from_double(in_words, sizeof in_words, in * m->told_factor, m->told_decimals);
        text_from_double(out_words, sizeof out_words, out * m->told_factor, m->told_decimals);
        text_format(s->headline, sizeof s->headline, "%s: %s unlike the rest", label, p->where);
        text_format(s->text, sizeof s->text, "%s %s in the mean against %s %s; it %s.", in_words, m->told_unit, out_words, m->told_unit,
                    pattern_shape_words(p->shape));
        odds_words(p, s->odds, sizeof s->odds);
        text_copy(s->how, sizeof s->how, p->how);
        work_missing_others(w, m, s);
    }
}

void work_pattern_stand_outs(struct work *w)
{
    signs_on_one_bank(w);
    figures_on_a_group(w);
}
