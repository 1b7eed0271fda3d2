/* cause_words.c - a judged cause in words: what speaks for and against it, what nobody looked at, the
 * sum behind its probability. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "reading/cause_work.h"
#include "reading/job.h"

#define BIT(i) ((engine_set)1 << (i))

static void capital(char *s)
{
    if (s[0] >= 'a' && s[0] <= 'z')
        s[0] = (char)(s[0] - 'a' + 'A');
}

/* The cylinders of a set as people count them: by number where every label is one, else as they stand. */
static int by_number(const struct engine *en, engine_set set, int *order)
{
    bool numbers = true;
    int n = 0;

    for (int c = 0; c < en->n_cylinders; c++)
        if ((set & BIT(c)) != 0) {
            order[n++] = c;
            numbers = numbers && en->cylinders[c].label[strspn(en->cylinders[c].label, "0123456789")] == '\0';
        }
    for (int i = 1; i < n && numbers; i++)
        for (int k = i; k > 0 && atoi(en->cylinders[order[k]].label) < atoi(en->cylinders[order[k - 1]].label); k--) {
            int c = order[k];

            order[k] = order[k - 1];
            order[k - 1] = c;
        }
    return n;
}

/* "2, 4, 6" */
static void labels(const struct engine *en, engine_set set, struct text *t)
{
    int order[ENGINE_MAX_CYLINDERS], n = by_number(en, set, order);

    for (int i = 0; i < n; i++)
        text_addf(t, "%s%s", i ? ", " : "", en->cylinders[order[i]].label);
}

/* The plugs of the cylinder at which such a sign was looked for, as bits of positions. */
static unsigned looked_at(const struct causes *k, const struct cause_term *m, int c)
{
    unsigned out = 0;

    for (int p = 0; p < k->w->en->n_positions; p++)
        for (int s = 0; s < SIGN_COUNT && m->fact.atoms[0].kind == FACT_SIGN; s++)
            out |= (m->fact.atoms[0].mask >> s & 1u) != 0 && visit_reading_const(k->w->v, k->w->en, c, p)->amount[s] != AMOUNT_UNSEEN ? 1u << p : 0;
    return out;
}

/* " bottom" where only some of a cylinder's plugs show it, or, where none does, were looked at. */
static void position_words(const struct causes *k, const struct cause_term *m, int c, struct text *t)
{
    const struct engine *en = k->w->en;
    unsigned on = fact_positions(&k->facts, &m->fact, c);

    if (on == 0)
        on = looked_at(k, m, c);
    if (on == 0 || on == (1u << en->n_positions) - 1)
        return;
    for (int p = 0, n = 0; p < en->n_positions; p++)
        if ((on >> p & 1u) != 0)
            text_addf(t, "%s%s", n++ ? " and " : " ", en->position_names[p]);
}

/* Plugs of the set at which such a sign was looked for, or that show it; 0 where it is of no single plug. */
static int count_plugs(const struct causes *k, const struct cause_term *m, engine_set set, bool showing)
{
    int n = 0;

    for (int c = 0; c < k->w->en->n_cylinders && k->w->en->n_positions > 1; c++)
        if ((set & BIT(c)) != 0 && m->fact.atoms[0].kind == FACT_SIGN)
            n += __builtin_popcount(showing ? fact_positions(&k->facts, &m->fact, c) : looked_at(k, m, c));
    return n;
}

#define MOST_FIGURES 3 /* that differ, in one line */

/* All of them have one and the same figure. */
static bool same_figure(const struct causes *k, const struct cause_term *m, const int *order, int n, char *first, size_t n_room)
{
    char other[80];

    if (n < 2)
        return false;
    fact_figure(&k->facts, &m->fact, order[0], first, n_room);
    for (int i = 1; i < n; i++) {
        fact_figure(&k->facts, &m->fact, order[i], other, sizeof other);
        if (strcmp(first, other) != 0)
            return false;
    }
    return first[0] != '\0';
}

/* "2 (610 kPa, highest 1,180), 3 (640 kPa, highest 1,180)", "2, 3 (each 610 kPa, highest 1,180)". */
static void labels_with_figures(const struct causes *k, const struct cause_term *m, engine_set set, struct text *t)
{
    const struct engine *en = k->w->en;
    int order[ENGINE_MAX_CYLINDERS], n = by_number(en, set, order);
    char shared[80];
    bool same = same_figure(k, m, order, n, shared, sizeof shared);

    for (int i = 0; i < n; i++) {
        char figure[80] = "";

        if (n <= MOST_FIGURES && !same)
            fact_figure(&k->facts, &m->fact, order[i], figure, sizeof figure);
        text_addf(t, "%s%s", i ? ", " : "", en->cylinders[order[i]].label);
        position_words(k, m, order[i], t);
        if (figure[0] != '\0')
            text_addf(t, " (%s)", figure);
    }
    if (same)
        text_addf(t, " (each %s)", shared);
}

/* "bank 2": for what is seen along a cover, not on a plug. */
static void bank_words(const struct causes *k, engine_set set, struct text *t)
{
    const struct engine *en = k->w->en;

    for (int b = 0, n = 0; b < en->n_banks; b++)
        if ((engine_bank_set(en, b) & set) != 0)
            text_addf(t, "%s%s", n++ ? ", " : "", en->banks[b].name);
}

/* What is there, or is not there, at one cylinder. */
static void phrase(const struct causes *k, const struct cause_term *m, const struct answer *a, int c, bool present, char *to, size_t n_room)
{
    if (!present) {
        fact_absent(&k->facts, &m->fact, c, to, n_room);
        return;
    }
    fact_name(&k->facts, &m->fact, BIT(c), to, n_room);
    if (m->fact.atoms[0].kind == FACT_SIGN && a->degree[c] < 0.5)
        text_format(to + strlen(to), n_room - strlen(to), " (a trace)");
}

/* Where a cylinder has several plugs, they are what is counted: " on 4 of 8 plugs looked at", " on the 6 plugs of the other cylinders". */
static void plugs_counted(const struct causes *k, const struct cause_term *m, engine_set seen, int n_plugs, bool rest, bool present, struct text *t)
{
    int n = count_plugs(k, m, seen, true);

    n = present ? n : n_plugs - n;
    if (rest)
        text_addf(t, n == n_plugs ? " on the %d plugs of the other " : " on %d of the %d plugs of the other ", n, n_plugs);
    else if (!present && n == n_plugs)
        text_addf(t, " on any of %d plugs looked at", n);
    else
        text_addf(t, n == n_plugs ? " on all %d plugs looked at" : " on %d of %d plugs looked at", n, n_plugs);
    if (rest)
        text_add(t, m->over == OVER_BANKS ? "bank" : cause_bits(seen) == 1 ? "cylinder" : "cylinders");
}

/* Where: ": 2, 3", " also at 4", " on 3 of 8 looked at". */
static void where_seen(const struct causes *k, const struct cause_term *m, engine_set set, engine_set seen, bool present, struct text *t)
{
    const struct engine *en = k->w->en;
    bool wide = m->over == OVER_EVERY || m->over == OVER_SEVERAL || m->over == OVER_ALL_BANKS || m->over == OVER_NEAR;
    bool rest = m->over == OVER_OTHERS || m->over == OVER_MATES || m->over == OVER_BANKS, all = set == seen;
    int n = cause_bits(set), n_seen = cause_bits(seen), n_plugs = count_plugs(k, m, seen, false);
    bool whole = present && all && n > 2 && seen == (k->facts.all & k->answers[m - k->t->terms].known);

    if (n_plugs > 0 && cause_bits(k->facts.all) > 1 && (wide || whole || (rest && !present))) {
        plugs_counted(k, m, seen, n_plugs, rest, present, t);
        return;
    }
    if (whole && m->fact.atoms[0].kind == FACT_APART) {
        text_addf(t, " of %d cylinders", n);
        return;
    }
    if (cause_bits(k->facts.all) == 1) {
        char figure[80];

        fact_figure(&k->facts, &m->fact, 0, figure, sizeof figure);
        if (figure[0] != '\0')
            text_addf(t, " (%s)", figure);
        return;
    }
    if (rest && present) {
        text_add(t, " also at ");
        labels_with_figures(k, m, set, t);
    } else if (rest && all) {
        if (n == 1)
            text_add(t, m->over == OVER_BANKS ? " on the one looked at of the other bank" : " on the other one looked at");
        else
            text_addf(t, " on the %s%d looked at", m->over == OVER_BANKS ? "other bank, " : "other ", n);
    } else if (rest) {
        text_addf(t, " on %d of the %s%d looked at", n, m->over == OVER_BANKS ? "other bank’s " : "other ", n_seen);
    } else if (whole) {
        text_addf(t, " on all %d looked at", n);
    } else if (wide) {
        text_addf(t, all && !present ? " on any of %d looked at" : " on %d of %d looked at", n, n_seen);
    } else {
        text_add(t, ": ");
        labels_with_figures(k, m, set, t);
        for (int b = 0; b < en->n_banks && present && en->n_banks > 1 && n > 1; b++)
            if ((set & ~engine_bank_set(en, b)) == 0)
                text_addf(t, ", %s on bank %s", n > 2 ? "all" : "both", en->banks[b].name);
    }
}

/* "Oil-wet firing end: 4; oil ash crust: 5": cylinders of which the same is said stand together. */
static void grouped(const struct causes *k, const struct cause_term *m, engine_set set, engine_set seen, bool present, struct text *t)
{
    const struct answer *a = &k->answers[m - k->t->terms];
    engine_set left = set;

    while (left != 0) {
        engine_set same = 0;
        char first[200], next[200];

        phrase(k, m, a, __builtin_ctz(left), present, first, sizeof first);
        for (int c = 0; c < k->w->en->n_cylinders; c++)
            if ((left & BIT(c)) != 0) {
                phrase(k, m, a, c, present, next, sizeof next);
                if (strcmp(first, next) == 0)
                    same |= BIT(c);
            }
        if (m->fact.atoms[0].kind == FACT_CODE && present) { /* all their numbers at once */
            fact_name(&k->facts, &m->fact, left, first, sizeof first);
            same = left;
        }
        if (left == set)
            capital(first);
        else
            text_add(t, "; ");
        text_add(t, first);
        where_seen(k, m, same, seen, present, t);
        left &= ~same;
    }
}

static void placed_words(const struct causes *k, const struct cause_term *m, const struct place *p, bool present, struct text *t)
{
    const struct answer *a = &k->answers[m - k->t->terms];
    engine_set seen = cause_asked(k, m->over, p) & a->known, shown = cause_shown(a, seen), clean = seen & ~shown & ~a->between;
    char name[200];

    if (m->fact.atoms[0].kind == FACT_VISIT) { /* the cover's edge */
        fact_name(&k->facts, &m->fact, k->facts.all, name, sizeof name);
        if (present)
            capital(name);
        text_addf(t, "%s%s%s", present ? "" : "No ", name, k->w->en->n_banks > 1 ? ", bank " : ""); /* an only cover needs no name */
        if (k->w->en->n_banks > 1)
            bank_words(k, present ? shown : clean, t);
        return;
    }
    if (m->over == OVER_NEAR && shown != 0) {
        fact_name(&k->facts, &m->fact, shown, name, sizeof name);
        capital(name);
        text_addf(t, "%s %s next to the breather", name, present ? "worse" : "is no worse");
        return;
    }
    if (m->over == OVER_ALL_BANKS && shown != 0 && !present) {
        fact_name(&k->facts, &m->fact, shown, name, sizeof name);
        capital(name);
        text_addf(t, "%s not on every bank", name);
        return;
    }
    if (present && shown == 0) /* a figure on its way there */
        for (int c = 0; c < k->w->en->n_cylinders; c++)
            shown |= (seen & BIT(c)) != 0 && a->degree[c] > 0 ? BIT(c) : 0;
    if (present || clean == 0)
        grouped(k, m, shown, seen, true, t);
    else
        grouped(k, m, clean, seen, false, t);
}

/* One line of evidence. */
static void words_of(const struct causes *k, int term, const struct place *p, bool present, struct text *t)
{
    const struct cause_term *m = &k->t->terms[term];
    const char *own = present ? m->words_yes : m->words_no;
    char name[200];

    text_clear(t);
    if (own[0] != '\0') {
        const char *named = strstr(own, "{named}"); /* the cylinders codes name */

        text_format(name, sizeof name, "%.*s", named != NULL ? (int)(named - own) : (int)strlen(own), own);
        capital(name);
        text_add(t, name);
        if (named != NULL) {
            labels(k->w->en, k->facts.missing, t);
            text_add(t, named + strlen("{named}"));
        }
    } else if (fact_is_global(&m->fact)) {
        if (present)
            fact_name(&k->facts, &m->fact, k->facts.all, name, sizeof name);
        else
            fact_absent(&k->facts, &m->fact, 0, name, sizeof name);
        capital(name);
        text_add(t, name);
    } else {
        placed_words(k, m, p, present, t);
    }
}

struct line_of {
    int term;
    double db;
    bool present;
};

static int heavier_first(const void *pa, const void *pb)
{
    const struct line_of *a = pa, *b = pb;
    double d = fabs(b->db) - fabs(a->db);

    return d < 0 ? -1 : d > 0 ? 1 : a->term - b->term;
}

static bool has_line(const struct lines *l, const char *text)
{
    for (int i = 0; i < l->n; i++)
        if (strcmp(l->text[i], text) == 0)
            return true;
    return false;
}

/* How the engine is built, which its card tells. */
static bool is_of_card(const struct cause_term *m)
{
    const struct fact_atom *a = &m->fact.atoms[0];

    return a->kind == FACT_ENGINE && (a->which == IS_COIL_PER_PLUG || a->which == IS_SHARED_COIL || a->which == IS_CARBURETTOR) && fabs(m->yes_db) + fabs(m->no_db) >= 4;
}

/* What is missing: the expected shift of the log-odds if somebody looked, by the probability as it
 * stands; at least 5 decibans, or it would hardly change the answer. */
static void add_missing(struct causes *k, const struct judged *j, struct cause *out)
{
    struct line_of gaps[200] = {{.term = 0}};
    const struct job_cause *job = job_cause_find(j->row->id);
    bool damaged = job != NULL && job_is_seen(k->w->r, job, j->place.set);
    int n = 0;

    for (int i = j->row->first_term; i < j->row->first_term + j->row->n_terms && n < 200; i++) {
        const struct cause_term *m = &k->t->terms[i];
        struct weighed x = cause_term_weigh(k, i, &j->place);
        double shift = fabs(m->yes_db) * j->probability + fabs(m->no_db) * (1 - j->probability);

        if (is_of_card(m)) /* said once and for all: asked where there is room for it */
            shift = 5;
        if (x.known) /* at the zones that were looked at; the others may still show it */
            shift *= x.present ? 0 : 1 - cause_seen_share(k, i, &j->place);
        if (cause_asked_share(m, &k->answers[i], &j->place) <= 0 || shift < 5 || m->over == OVER_BANKS)
            continue;
        gaps[n++] = (struct line_of){i, shift, false};
    }
    qsort(gaps, (size_t)n, sizeof gaps[0], heavier_first);
    for (int i = 0, n_swaps = 0; i < n && out->missing.n < 3; i++) {
        const struct cause_term *m = &k->t->terms[gaps[i].term];
        const struct answer *a = &k->answers[gaps[i].term];
        engine_set set = cause_asked(k, m->over, &j->place);
        char ask[200];
        struct text t = {0};

        for (int c = 0; c < k->w->en->n_cylinders; c++)
            if (((a->known & BIT(c)) != 0 && a->seen_share[c] >= 1) || !fact_is_open(&k->facts, &m->fact, c))
                set &= ~BIT(c);
        fact_asks(&k->facts, &m->fact, set, ask, sizeof ask);
        if (m->fact.atoms[0].kind == FACT_SWAP && (m->yes_db <= 0 || out->settled || damaged || n_swaps++ > 0)) /* one swap test leaves room for what is only to be looked at; what is broken is swapped onto nothing */
            continue;
        if (ask[0] == '\0' || set == 0)
            continue;
        text_add(&t, ask);
        if (!fact_is_global(&m->fact) && m->fact.atoms[0].kind != FACT_CODE && m->fact.atoms[0].kind != FACT_SWAP && cause_bits(k->facts.all) > 1 && m->fact.atoms[0].kind != FACT_VISIT) {
            if (set == k->facts.all)
                text_add(&t, ": all");
            else {
                text_add(&t, ": ");
                labels(k->w->en, set, &t);
            }
        }
        if (!has_line(&out->missing, text_get(&t)))
            work_add_line(k->w, &out->missing, "%s", text_get(&t));
        text_release(&t);
    }
}

static void where_words(const struct causes *k, const struct judged *j, struct cause *out)
{
    const struct engine *en = k->w->en;
    engine_set show = 0;

    if (j->row->scope == SCOPE_BANK) {
        text_format(out->where, sizeof out->where, "bank %s", en->banks[en->cylinders[__builtin_ctz(j->place.set)].bank].name);
        for (int i = j->row->first_term; i < j->row->first_term + j->row->n_terms && show == 0; i++) {
            const struct cause_term *m = &k->t->terms[i];

            if (m->over != OVER_MOST || m->yes_db <= 0)
                continue;
            for (int c = 0; c < en->n_cylinders; c++)
                if ((j->place.set & k->answers[i].known & BIT(c)) != 0 && k->answers[i].degree[c] >= 0.3)
                    show |= BIT(c);
        }
        out->cylinders = show != 0 ? show : j->place.set;
        return;
    }
    if (j->row->scope == SCOPE_ENGINE) {
        text_copy(out->where, sizeof out->where, "engine");
        return;
    }
    work_where(k->w, j->place.set, -1, out->where, sizeof out->where);
    if (j->row->scope == SCOPE_MIXTURE_GROUP || j->row->scope == SCOPE_COIL_GROUP) {
        struct text t = {0};

        text_add(&t, "group ");
        labels(en, j->place.set, &t);
        text_copy(out->where, sizeof out->where, text_get(&t));
        text_release(&t);
    }
    out->cylinders = j->place.set == k->facts.all && cause_bits(k->facts.all) > 1 ? 0 : j->place.set;
}

static void add_db(struct text *t, double db)
{
    text_addf(t, "%s%.0f", db < -0.5 ? "−" : "+", fabs(db));
}

static void add_odds(struct text *t, double db)
{
    char n[32];

    text_from_count(n, sizeof n, lround(cause_odds(fmin(60, fabs(db)))));
    if (fabs(db) < 9)
        text_addf(t, db < 0 ? "1 to %.1f" : "%.1f to 1", cause_odds(fabs(db)));
    else
        text_addf(t, db < 0 ? "1 to %s" : "%s to 1", n);
}

/* A swap that went along with the trouble, of a part by which this cause is settled. */
static bool is_settled(const struct causes *k, const struct judged *j)
{
    if (j->together != NULL)
        return false;
    if (job_settled_repair(j->row->id) == NULL)
        return false;
    for (int i = j->row->first_term; i < j->row->first_term + j->row->n_terms; i++) {
        const struct cause_term *m = &k->t->terms[i];
        struct weighed x = cause_term_weigh(k, i, &j->place);

        if (m->fact.n > 0 && m->fact.atoms[0].kind == FACT_SWAP && m->yes_db > 0 && x.known && x.present && x.degree >= 0.5)
            return true;
    }
    return false;
}

static void together_settles(const struct causes *k, const struct together *x, char *to, size_t n_room)
{
    const struct engine *en = k->w->en;
    char parts[80];

    cause_swap_parts(x->parts, "and", parts, sizeof parts);
    capital(parts);
    text_format(to, n_room, "%s moved from %s to %s together, and the trouble with them: it is one of the %s. Engine and ignition off: swap the %s back to %s, drive, read again.", parts,
                en->cylinders[x->from].label, en->cylinders[x->to].label, cause_bits((engine_set)x->parts) == 2 ? "two" : "parts", words_label(WORDS_DONE_PART, x->back),
                en->cylinders[x->from].label);
}

/* Of a swap that speaks for it: which parts went, where it was not one alone. */
static void together_words(const struct together *x, struct text *t)
{
    char parts[80];

    cause_swap_parts(x->parts, "and", parts, sizeof parts);
    text_clear(t);
    text_addf(t, "The trouble went with %s, which moved together", parts);
}

/* Where most of a place show it, those that do not are named against it. */
static void add_dry(struct causes *k, int term, const struct judged *j, struct lines *to)
{
    const struct cause_term *m = &k->t->terms[term];
    const struct answer *a = &k->answers[term];
    engine_set seen = j->place.set & a->known, dry = seen & ~cause_shown(a, seen);
    struct text t = {0};

    if (m->over != OVER_MOST || m->yes_db < 10 || dry == 0 || dry == seen || fact_is_global(&m->fact))
        return;
    grouped(k, m, dry, seen, false, &t);
    work_add_line(k->w, to, "%s", text_get(&t));
    text_release(&t);
}

/* The terms that weigh, the heaviest first. */
static int gather_lines(const struct causes *k, const struct judged *j, struct line_of lines[200])
{
    int n = 0;

    for (int i = j->row->first_term; i < j->row->first_term + j->row->n_terms && n < 200; i++) {
        struct weighed x = cause_term_weigh(k, i, &j->place);
        struct line_of l = {i, x.db, x.present};

        if (j->unlooked && cause_term_of_damage(k, &k->t->terms[i]))
            continue;
        if (l.db > 0 && fact_is_global(&k->t->terms[i].fact))
            l.db *= j->wide_share;
        if (x.known && fabs(l.db) >= 1)
            lines[n++] = l;
    }
    qsort(lines, (size_t)n, sizeof lines[0], heavier_first);
    return n;
}

static void line_words(const struct causes *k, const struct judged *j, const struct line_of *l, struct text *t)
{
    words_of(k, l->term, &j->place, l->present, t);
    if (j->together != NULL && k->t->terms[l->term].fact.atoms[0].kind == FACT_SWAP && l->present)
        together_words(j->together, t);
}

/* Each figure of the sum. */
static void add_sum(const struct causes *k, const struct judged *j, struct text *how)
{
    struct line_of lines[200] = {{.term = 0}};
    struct text t = {0};
    int n = gather_lines(k, j, lines);

    text_add(how, "Prior ");
    add_db(how, j->row->prior_db);
    text_add(how, " dB");
    if (cause_of_cylinders(j->row) && cause_bits(j->place.set) > 1 && j->local_db > 0 && j->prior_db < j->row->prior_db) {
        text_addf(how, ", %d cylinders at once ", cause_bits(j->place.set));
        add_db(how, j->prior_db - j->row->prior_db);
    }
    for (int i = 0; i < n; i++) {
        line_words(k, j, &lines[i], &t);
        text_add(how, "; ");
        add_db(how, lines[i].db);
        text_addf(how, " %s", text_get(&t));
    }
    text_release(&t);
}

/* Where it stands as another one stood: why, and that one's sum. */
static void add_basis(const struct causes *k, const struct judged *j, struct text *how)
{
    if (j->as != NULL && (j->as->unlooked || j->as->place.set != j->place.set)) {
        j = j->as;
        if (j->unlooked) {
            text_add(how, "No less likely for damage that was found: as if nobody had looked at the parts outside the cylinder. ");
        } else {
            text_add(how, "As at ");
            labels(k->w->en, j->place.set, how);
            text_add(how, " alone: damage that is to be seen needs no chance for each further cylinder. ");
        }
    }
    add_sum(k, j, how);
}

void cause_write(struct causes *k, const struct judged *j, struct cause *out)
{
    struct line_of lines[200] = {{.term = 0}};
    struct text t = {0}, how = {0};
    const struct job_cause *job_row = job_cause_find(j->row->id);
    int n = 0;

    text_copy(out->id, sizeof out->id, j->row->id);
    text_copy(out->label, sizeof out->label, j->row->label);
    text_copy(out->settles, sizeof out->settles, job_row != NULL && job_is_seen(k->w->r, job_row, j->place.set) ? job_row->seen_settles : j->row->settles);
    out->ordinary = j->row->ordinary;
    out->asks = j->asks;
    out->leads = j->leads;
    out->together = j->together != NULL ? j->together->parts : 0;
    if (j->together != NULL)
        together_settles(k, j->together, out->settles, sizeof out->settles);
    out->settled = is_settled(k, j);
    if (out->settled)
        text_format(out->settles, sizeof out->settles, "%s.", job_settled_repair(j->row->id));
    job_words_of_engine(k->w->en, out->label, sizeof out->label);
    job_words_of_engine(k->w->en, out->settles, sizeof out->settles);
    out->probability = j->probability;
    where_words(k, j, out);
    if (job_row != NULL)
        job_at_plug(k->w->r, job_row, j->place.set, out->at_plug, sizeof out->at_plug);
    add_basis(k, j, &how);
    n = gather_lines(k, j, lines);
    for (int i = 0; i < n; i++) {
        struct lines *to = lines[i].db > 0 ? &out->pro : &out->contra;

        line_words(k, j, &lines[i], &t);
        if (to->n < 6 && !has_line(to, text_get(&t)))
            work_add_line(k->w, to, "%s", text_get(&t));
        if (lines[i].present)
            add_dry(k, lines[i].term, j, &out->contra);
    }
    text_add(&how, ". Evidence that tells one story counts once and a third. ");
    if (j->together != NULL)
        text_add(&how, "What tells of the parts that moved together is levelled between them. ");
    text_add(&how, "Sum ");
    add_db(&how, j->log_odds_db);
    text_add(&how, " dB, odds ");
    add_odds(&how, j->log_odds_db);
    if (fabs(j->probability - fmin(CAUSE_MOST_SAID, cause_chance(j->log_odds_db))) > 0.01)
        text_add(&how, "; shared with rivals that explain the same evidence");
    text_addf(&how, ": %.0f %%%s.", 100 * j->probability, j->probability >= CAUSE_MOST_SAID ? ", the most that is said without the check" : "");
    out->how = arena_text(k->w->a, text_get(&how));
    add_missing(k, j, out);
    text_release(&t);
    text_release(&how);
}
