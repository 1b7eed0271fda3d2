/* cause.c - likely causes. For each cause and each place of its scope the log-odds are added up: prior
 * and evidence, in decibans (10 log10 of the odds). Terms of one story tell the same thing, so the
 * strongest counts whole, the next a third, further ones nothing. Rivals that explain the same story at
 * the same cylinders share it; what a cause has of its own stands on its own, so that two faults can
 * hold at once. Formulas: docs/how-it-computes.md, "Causes". */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "reading/cause_fact.h"

#define BIT(i) ((engine_set)1 << (i))
#define MAX_PLACES 64
#define MAX_LISTED 14
#define LEAST_LISTED 0.03
#define LEAST_SAID_DB 3.0 /* a cause is listed when the evidence speaks for it by so much */
#define MOST_SAID 0.99 /* a reading is a pointer: without the check nothing is surer */
#define TRACE 0.4      /* degrees of amounts, see cause_fact.c */
#define MODERATE 0.9
#define RIVAL_DB 3.0   /* a story ties two causes when it speaks for both by so much */
#define LOCAL_DB 3.0    /* less than that seen at a place is nothing */
#define TOGETHER_DB 7.0 /* cylinders of one cause stand in one entry when their log-odds lie so close */

struct place {
    engine_set set;
    int second; /* SCOPE_FIRING_PAIR: the one that fires second */
};

struct answer { /* a term's degrees at every cylinder, asked once */
    double degree[ENGINE_MAX_CYLINDERS], when_degree[ENGINE_MAX_CYLINDERS];
    engine_set known;
};

struct judged {
    const struct cause_row *row;
    struct place place;
    double log_odds_db, probability;
    double local_db;                    /* what is seen at the place itself speaks for it by so much */
    double wide_share;                  /* share of what the whole engine says (complaints, fuel) that falls to this place */
    double story_db[CAUSE_MAX_STORIES]; /* what each story adds */
};

struct causes {
    struct work *w;
    const struct cause_table *t;
    struct facts facts;
    struct answer *answers;
    struct judged *list;
    size_t n_list, list_room;
};

static int bits(engine_set s)
{
    return __builtin_popcount(s);
}

static double clip(double x)
{
    return fmin(1, fmax(0, x));
}

/* ---- a fact over a place ---- */

static engine_set banks_of(const struct engine *en, engine_set set)
{
    engine_set out = 0;

    for (int b = 0; b < en->n_banks; b++)
        if ((engine_bank_set(en, b) & set) != 0)
            out |= engine_bank_set(en, b);
    return out;
}

/* The cylinders a term asks of, at a place. */
static engine_set asked(const struct causes *k, enum cause_over over, const struct place *p)
{
    const struct engine *en = k->w->en;

    switch (over) {
    case OVER_HERE:
    case OVER_EACH:
    case OVER_ANY:
    case OVER_MOST: return p->set;
    case OVER_SECOND: return p->second >= 0 ? BIT(p->second) : p->set;
    case OVER_OTHERS: return k->facts.all & ~p->set;
    case OVER_MATES: return banks_of(en, p->set) & ~p->set;
    case OVER_BANKS: return k->facts.all & ~banks_of(en, p->set);
    case OVER_EVERY:
    case OVER_SEVERAL:
    case OVER_ALL_BANKS:
    case OVER_NEAR:
    case OVER_COUNT: break;
    }
    return k->facts.all;
}

static double sum_over(const struct answer *a, engine_set set)
{
    double sum = 0;

    for (int c = 0; c < ENGINE_MAX_CYLINDERS; c++)
        if ((set & BIT(c)) != 0)
            sum += a->degree[c];
    return sum;
}

static bool all_banks(const struct engine *en, const struct answer *a, double *degree)
{
    int with = 0;

    if (en->n_banks < 2)
        return false;
    for (int b = 0; b < en->n_banks; b++) {
        engine_set seen = engine_bank_set(en, b) & a->known;
        double top = 0;

        if (seen == 0)
            return false;
        for (int c = 0; c < en->n_cylinders; c++)
            if ((seen & BIT(c)) != 0)
                top = fmax(top, a->degree[c]);
        with += top >= 0.4;
    }
    *degree = with > 0 ? (double)(with - 1) / (en->n_banks - 1) : 0;
    return true;
}

/* Degree of a term at a place; false when nobody looked. *weight below 1: only few of those asked were
 * looked at. */
static bool degree_at(const struct causes *k, const struct cause_term *m, const struct answer *a, const struct place *p,
                      double *degree, double *weight)
{
    engine_set set = asked(k, m->over, p), seen = set & a->known;
    const struct engine *en = k->w->en;
    int n = bits(seen), count = 0;
    double sum = sum_over(a, seen), least = 1, top = 0;

    *weight = 1;
    if (n == 0)
        return false;
    for (int c = 0; c < en->n_cylinders; c++)
        if ((seen & BIT(c)) != 0) {
            least = fmin(least, a->degree[c]);
            top = fmax(top, a->degree[c]);
            count += a->degree[c] >= 0.4;
        }
    switch (m->over) {
    case OVER_EACH:
        *degree = least;
        *weight = seen == set || least < 0.2 ? 1 : 0.5;
        return true;
    case OVER_ANY: *degree = top; return true;
    case OVER_MOST:
        *degree = clip(sum / n / 0.65);
        *weight = clip((double)n / bits(set) * 2);
        return true;
    case OVER_EVERY:
        *degree = fact_is_global(&m->fact) ? sum / n : clip((sum / n - 0.35) / 0.45);
        *weight = clip((double)n / bits(set) * 2);
        return true;
    case OVER_SEVERAL:
        *degree = clip((count - 1) / 2.0);
        *weight = clip((double)n / bits(set) * 2);
        return true;
    case OVER_ALL_BANKS: return all_banks(en, a, degree);
    case OVER_NEAR: {
        engine_set near = en->breather_near & seen, far = seen & ~near;

        if (near == 0 || far == 0)
            return false;
        *degree = clip(sum_over(a, near) / bits(near) - sum_over(a, far) / bits(far));
        return true;
    }
    case OVER_OTHERS:
    case OVER_MATES:
    case OVER_BANKS:
        *degree = sum / n;
        *weight = n > 1 || bits(set) == 1 ? 1 : 0.6;
        return true;
    case OVER_HERE:
    case OVER_SECOND:
    case OVER_COUNT: break;
    }
    *degree = sum / n;
    return true;
}

/* How far the term is asked at this place: fully from a moderate amount of what it waits for. */
static double asked_share(const struct cause_term *m, const struct answer *a, const struct place *p)
{
    double top = 0;

    if (m->when.n == 0)
        return 1;
    for (int c = 0; c < ENGINE_MAX_CYLINDERS; c++)
        if ((p->set & BIT(c)) != 0)
            top = fmax(top, a->when_degree[c]);
    return top < 0.35 ? 0 : clip(top / MODERATE);
}

/* Asked of the place itself. */
static bool inside(enum cause_over over)
{
    return over == OVER_HERE || over == OVER_EACH || over == OVER_ANY || over == OVER_MOST || over == OVER_SECOND;
}

/* Decibans of one term; *degree is set when it is known. */
static double term_db(const struct causes *k, int term, const struct place *p, bool *known, double *degree)
{
    const struct cause_term *m = &k->t->terms[term];
    const struct answer *a = &k->answers[term];
    double weight = 1, absent, share = asked_share(m, a, p);

    *known = share > 0 && degree_at(k, m, a, p, degree, &weight);
    if (!*known)
        return 0;
    weight *= share;
    /* A trace of a sign is a little for it, nothing against it. */
    absent = m->fact.atoms[0].kind == FACT_SIGN && inside(m->over) && m->over != OVER_MOST ? clip(1 - *degree / TRACE) : 1 - *degree;
    return weight * (m->yes_db * *degree + m->no_db * absent);
}

/* ---- log-odds ---- */

/* The term tells of something seen at the place itself. */
static bool is_local(const struct cause_term *m)
{
    return !fact_is_global(&m->fact) && m->yes_db > 0 && inside(m->over);
}

static void judge(const struct causes *k, struct judged *j, double wide_share)
{
    const struct cause_row *row = j->row;
    double first[2][CAUSE_MAX_STORIES] = {{0}}, second[2][CAUSE_MAX_STORIES] = {{0}};

    j->wide_share = wide_share;
    j->local_db = 0;
    j->log_odds_db = row->prior_db + row->more_db * (bits(j->place.set) - 1) * (row->scope == SCOPE_CYLINDER);
    for (int i = row->first_term; i < row->first_term + row->n_terms; i++) {
        bool known;
        double degree, db = term_db(k, i, &j->place, &known, &degree), size;
        int story = k->t->terms[i].story, against;

        if (is_local(&k->t->terms[i]) && known && degree >= 0.3)
            j->local_db += fmax(0, db);
        if (db > 0 && fact_is_global(&k->t->terms[i].fact))
            db *= wide_share;
        size = fabs(db);
        against = db < 0;
        if (size > first[against][story]) {
            second[against][story] = first[against][story];
            first[against][story] = size;
        } else if (size > second[against][story]) {
            second[against][story] = size;
        }
    }
    for (int s = 0; s < k->t->n_stories; s++) {
        j->story_db[s] = first[0][s] + second[0][s] / 3 - first[1][s] - second[1][s] / 3;
        j->log_odds_db += j->story_db[s];
    }
}

static double odds(double db)
{
    return pow(10, db / 10);
}

static double chance(double db)
{
    double o = odds(db);

    return o / (1 + o);
}

/* ---- places ---- */

static int group_places(const engine_set *groups, int n_groups, int least, engine_set all, struct place *out)
{
    int n = 0;

    for (int g = 0; g < n_groups && n < MAX_PLACES; g++)
        if (bits(groups[g]) >= least && (groups[g] != all || n_groups == 1))
            out[n++] = (struct place){groups[g], -1};
    return n;
}

static int places(const struct causes *k, enum cause_scope scope, struct place *out)
{
    const struct engine *en = k->w->en;
    int n = 0;

    switch (scope) {
    case SCOPE_CYLINDER:
        for (int c = 0; c < en->n_cylinders; c++)
            out[n++] = (struct place){BIT(c), -1};
        break;
    case SCOPE_BANK:
        for (int b = 0; b < en->n_banks; b++)
            out[n++] = (struct place){engine_bank_set(en, b), -1};
        break;
    case SCOPE_PAIR:
        for (int c = 0; c < en->n_cylinders; c++)
            for (int d = c + 1; d < en->n_cylinders && n < MAX_PLACES; d++)
                if ((engine_kin(en, c, ENGINE_KIN_ADJACENT) & BIT(d)) != 0)
                    out[n++] = (struct place){BIT(c) | BIT(d), -1};
        break;
    case SCOPE_FIRING_PAIR:
        for (int i = 0; i < en->n_cylinders && en->n_cylinders > 2; i++) {
            int a = en->firing[i], b = en->firing[(i + 1) % en->n_cylinders];

            if (en->cylinders[a].bank == en->cylinders[b].bank)
                out[n++] = (struct place){BIT(a) | BIT(b), b};
        }
        break;
    case SCOPE_COIL_GROUP: return group_places(en->coil_groups, en->n_coil_groups, 2, 0, out);
    case SCOPE_MIXTURE_GROUP: return en->n_mixture_groups > 1 ? group_places(en->mixture_groups, en->n_mixture_groups, 1, k->facts.all, out) : 0;
    case SCOPE_ENGINE:
    case SCOPE_COUNT: out[n++] = (struct place){k->facts.all, -1}; break;
    }
    return n;
}

static void add(struct causes *k, const struct cause_row *row, struct place p, double wide_share)
{
    struct judged *j = arena_push(k->w->a, (void **)&k->list, &k->n_list, &k->list_room, sizeof *k->list);

    j->row = row;
    j->place = p;
    judge(k, j, wide_share);
}

/* A complaint is of the engine; among the places of one cause it falls to those that show something
 * themselves, and fully from 10 decibans on. */
static double share_of_wide(const struct judged *j)
{
    return clip((j->local_db - LOCAL_DB) / (10 - LOCAL_DB));
}

/* Judges every place by what is seen there. False when no place shows anything. */
static bool judge_locally(const struct causes *k, const struct cause_row *row, const struct place *at, int n, struct judged *each)
{
    bool any = false;

    memset(each, 0, (size_t)n * sizeof *each);
    for (int i = 0; i < n; i++) {
        each[i].row = row;
        each[i].place = at[i];
        judge(k, &each[i], 0);
        any = any || each[i].local_db >= LOCAL_DB;
        if (each[i].local_db > 0)
            judge(k, &each[i], share_of_wide(&each[i]));
    }
    return any;
}

/* Cylinders that show the same cause about as clearly stand in one entry; the rest each in its own.
 * Where none shows anything it is some cylinder, nobody knows which. */
static void add_cylinders(struct causes *k, const struct cause_row *row, const struct place *at, int n)
{
    struct judged each[MAX_PLACES];
    struct place together = {0, -1};
    int best = 0;
    double share = 1;

    if (!judge_locally(k, row, at, n, each)) {
        add(k, row, (struct place){k->facts.all, -1}, 1);
        k->list[k->n_list - 1].log_odds_db -= row->more_db * (bits(k->facts.all) - 1);
        return;
    }
    for (int c = 0; c < n; c++)
        if (each[c].log_odds_db > each[best].log_odds_db)
            best = c;
    for (int c = 0; c < n; c++)
        if (c == best || (each[c].log_odds_db > each[best].log_odds_db - TOGETHER_DB && each[c].local_db >= LOCAL_DB)) {
            together.set |= at[c].set;
            share = fmin(share, each[c].wide_share);
        }
    add(k, row, together, share);
    for (int c = 0; c < n; c++)
        if ((together.set & at[c].set) == 0 && each[c].local_db >= LOCAL_DB)
            add(k, row, at[c], each[c].wide_share);
}

/* Places of several cylinders: each that shows something; the only one there is always. */
static void add_places(struct causes *k, const struct cause_row *row, const struct place *at, int n)
{
    struct judged each[MAX_PLACES];

    judge_locally(k, row, at, n, each);
    for (int i = 0; i < n; i++)
        if (n == 1 || each[i].local_db >= LOCAL_DB)
            add(k, row, at[i], n == 1 ? 1 : each[i].wide_share);
}

/* ---- rivals ---- */

/* What of a's evidence b explains as well: stories that speak for both, at cylinders of both. */
static double shared_db(const struct causes *k, const struct judged *a, const struct judged *b)
{
    double sum = 0;

    if ((a->place.set & b->place.set) == 0 || a == b)
        return 0;
    for (int s = 0; s < k->t->n_stories; s++)
        if (a->story_db[s] >= RIVAL_DB && b->story_db[s] >= RIVAL_DB)
            sum += a->story_db[s];
    return sum;
}

/* Rivals exclude one another as far as they lean on the same story; with what it has of its own alone
 * a cause may hold beside them. */
static void share(struct causes *k)
{
    for (size_t i = 0; i < k->n_list; i++) {
        struct judged *a = &k->list[i];
        double rivals = 0, taken = 0;

        for (size_t n = 0; n < k->n_list; n++) {
            const struct judged *b = &k->list[n];
            double common = shared_db(k, a, b);

            if (common <= 0)
                continue;
            rivals += odds(b->log_odds_db);
            if (b->log_odds_db >= a->log_odds_db - 3) /* b explains it at its own cylinders only */
                taken = fmax(taken, common * bits(a->place.set & b->place.set) / bits(a->place.set));
        }
        a->probability = fmin(MOST_SAID, fmax(odds(a->log_odds_db) / (1 + odds(a->log_odds_db) + rivals), chance(a->log_odds_db - taken) * (taken > 0)));
    }
}

static int likelier_first(const void *pa, const void *pb)
{
    const struct judged *a = pa, *b = pb;

    if (a->probability != b->probability)
        return a->probability > b->probability ? -1 : 1;
    if (a->log_odds_db != b->log_odds_db)
        return a->log_odds_db > b->log_odds_db ? -1 : 1;
    if (a->row != b->row)
        return a->row < b->row ? -1 : 1;
    return a->place.set < b->place.set ? -1 : 1;
}

/* Nothing speaks for it: the prior alone is no reading. */
static void drop_unspoken(struct causes *k)
{
    size_t n = 0;

    for (size_t i = 0; i < k->n_list; i++)
        if (k->list[i].log_odds_db >= k->list[i].row->prior_db + LEAST_SAID_DB)
            k->list[n++] = k->list[i];
    k->n_list = n;
}

/* ---- words ---- */

static void capital(char *s)
{
    if (s[0] >= 'a' && s[0] <= 'z')
        s[0] = (char)(s[0] - 'a' + 'A');
}

/* "2, 4, 6" */
static void labels(const struct engine *en, engine_set set, struct text *t)
{
    for (int c = 0, n = 0; c < en->n_cylinders; c++)
        if ((set & BIT(c)) != 0)
            text_addf(t, "%s%s", n++ ? ", " : "", en->cylinders[c].label);
}

static void add_figures(const struct causes *k, const struct cause_term *m, engine_set shown, struct text *t)
{
    char figure[80];

    if (bits(shown) > 2 || shown == 0)
        return;
    for (int c = 0; c < k->w->en->n_cylinders; c++)
        if ((shown & BIT(c)) != 0) {
            fact_figure(&k->facts, &m->fact, c, figure, sizeof figure);
            if (figure[0])
                text_addf(t, "; %s%s%s", bits(shown) > 1 ? k->w->en->cylinders[c].label : "", bits(shown) > 1 ? ": " : "", figure);
        }
}

static engine_set shown_of(const struct answer *a, engine_set seen)
{
    engine_set shown = 0;

    for (int c = 0; c < ENGINE_MAX_CYLINDERS; c++)
        if ((seen & BIT(c)) != 0 && a->degree[c] >= 0.3)
            shown |= BIT(c);
    return shown;
}

/* "bank 2": for what is seen along a cover, not on a plug. */
static void bank_words(const struct causes *k, engine_set set, struct text *t)
{
    const struct engine *en = k->w->en;

    for (int b = 0, n = 0; b < en->n_banks; b++)
        if ((engine_bank_set(en, b) & set) != 0)
            text_addf(t, "%s%s", n++ ? ", " : "", en->banks[b].name);
}

static void placed_words(const struct causes *k, const struct cause_term *m, const struct answer *a, const struct place *p, double degree, struct text *t)
{
    const struct engine *en = k->w->en;
    engine_set set = asked(k, m->over, p), seen = set & a->known, shown = 0;
    bool wide = m->over == OVER_EVERY || m->over == OVER_SEVERAL || m->over == OVER_ALL_BANKS || m->over == OVER_NEAR;
    bool rest = m->over == OVER_OTHERS || m->over == OVER_MATES || m->over == OVER_BANKS;
    char name[140];

    shown = shown_of(a, seen);
    fact_name(&k->facts, &m->fact, shown, name, sizeof name);
    if (m->fact.atoms[0].kind == FACT_VISIT) { /* the cover's edge */
        if (shown == 0)
            text_add(t, "No ");
        else
            capital(name);
        text_addf(t, "%s, bank ", name);
        bank_words(k, shown != 0 ? shown : seen, t);
        return;
    }
    if (shown != 0 && (degree >= 0.3 || wide || rest)) {
        capital(name);
        text_add(t, name);
        if (bits(k->facts.all) == 1)
            return;
        if (shown == seen && bits(seen) > 2 && seen == (k->facts.all & a->known))
            text_addf(t, " on all %d looked at", bits(seen));
        else if (wide)
            text_addf(t, " on %d of %d looked at", bits(shown), bits(seen));
        else {
            text_add(t, rest ? " also at " : ": ");
            labels(en, shown, t);
        }
        if (!rest && !wide && en->n_banks > 1 && bits(shown) > 1)
            for (int b = 0; b < en->n_banks; b++)
                if ((shown & ~engine_bank_set(en, b)) == 0)
                    text_addf(t, ", %s on bank %s", bits(shown) > 2 ? "all" : "both", en->banks[b].name);
        add_figures(k, m, shown, t);
        return;
    }
    text_addf(t, "No %s", name);
    if (bits(k->facts.all) == 1)
        return;
    if (rest)
        text_addf(t, " on the %s%d looked at", m->over == OVER_BANKS ? "other bank, " : "other ", bits(seen));
    else if (wide)
        text_addf(t, " on any of %d looked at", bits(seen));
    else {
        text_add(t, " at ");
        labels(en, seen, t);
    }
    add_figures(k, m, seen, t);
}

/* One line of evidence. */
static void words_of(const struct causes *k, int term, const struct place *p, double degree, struct text *t)
{
    const struct cause_term *m = &k->t->terms[term];
    const char *own = degree >= 0.5 ? m->words_yes : m->words_no;
    char name[140];

    text_clear(t);
    if (own[0] != '\0') {
        text_add(t, own);
    } else if (fact_is_global(&m->fact)) {
        fact_name(&k->facts, &m->fact, k->facts.all, name, sizeof name);
        if (degree >= 0.3) {
            capital(name);
            text_add(t, name);
        } else {
            text_addf(t, "%s%s", m->fact.atoms[0].kind == FACT_COMPLAINT ? "No " : "Not: ", name);
        }
    } else {
        placed_words(k, m, &k->answers[term], p, degree, t);
    }
}

struct line_of {
    int term;
    double db, degree;
    bool known;
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

/* What is missing: the expected shift of the log-odds if somebody looked, by the probability as it
 * stands; at least 5 decibans, or it would hardly change the answer. */
static void add_missing(struct causes *k, const struct judged *j, struct cause *out)
{
    struct line_of gaps[200];
    int n = 0;

    for (int i = j->row->first_term; i < j->row->first_term + j->row->n_terms && n < 200; i++) {
        const struct cause_term *m = &k->t->terms[i];
        bool known;
        double degree, shift = fabs(m->yes_db) * j->probability + fabs(m->no_db) * (1 - j->probability);

        term_db(k, i, &j->place, &known, &degree);
        if (known || asked_share(m, &k->answers[i], &j->place) <= 0 || shift < 5 || m->over == OVER_BANKS)
            continue;
        gaps[n++] = (struct line_of){i, shift, 0, false};
    }
    qsort(gaps, (size_t)n, sizeof gaps[0], heavier_first);
    for (int i = 0; i < n && out->missing.n < 3; i++) {
        const struct cause_term *m = &k->t->terms[gaps[i].term];
        engine_set set = asked(k, m->over, &j->place) & ~k->answers[gaps[i].term].known;
        char ask[120];
        struct text t = {0};

        fact_asks(&m->fact, ask, sizeof ask);
        if (ask[0] == '\0' || set == 0)
            continue;
        text_add(&t, ask);
        if (!fact_is_global(&m->fact) && m->fact.atoms[0].kind != FACT_CODE && m->fact.atoms[0].kind != FACT_SWAP && bits(k->facts.all) > 1 && m->fact.atoms[0].kind != FACT_VISIT) {
            if (set == k->facts.all)
                text_add(&t, " of all");
            else {
                text_add(&t, " of ");
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
    out->cylinders = j->place.set == k->facts.all && bits(k->facts.all) > 1 ? 0 : j->place.set;
}

static void add_db(struct text *t, double db)
{
    text_addf(t, "%s%.0f", db < -0.5 ? "−" : "+", fabs(db));
}

static void add_odds(struct text *t, double db)
{
    char n[32];

    text_from_count(n, sizeof n, lround(odds(fmin(60, fabs(db)))));
    if (fabs(db) < 9)
        text_addf(t, db < 0 ? "1 to %.1f" : "%.1f to 1", odds(fabs(db)));
    else
        text_addf(t, db < 0 ? "1 to %s" : "%s to 1", n);
}

/* Where most of a place show it, those that do not are named against it. */
static void add_dry(struct causes *k, int term, const struct judged *j, struct lines *to)
{
    const struct cause_term *m = &k->t->terms[term];
    const struct answer *a = &k->answers[term];
    engine_set seen = j->place.set & a->known, dry = seen & ~shown_of(a, seen);
    char name[140];
    struct text t = {0};

    if (m->over != OVER_MOST || m->yes_db < 10 || dry == 0 || dry == seen || fact_is_global(&m->fact))
        return;
    fact_name(&k->facts, &m->fact, seen & ~dry, name, sizeof name);
    labels(k->w->en, dry, &t);
    work_add_line(k->w, to, "No %s at %s", name, text_get(&t));
    text_release(&t);
}

static void write_out(struct causes *k, const struct judged *j, struct cause *out)
{
    struct line_of lines[200];
    struct text t = {0}, how = {0};
    int n = 0;

    text_copy(out->id, sizeof out->id, j->row->id);
    text_copy(out->label, sizeof out->label, j->row->label);
    text_copy(out->settles, sizeof out->settles, j->row->settles);
    out->ordinary = j->row->ordinary;
    out->probability = j->probability;
    where_words(k, j, out);
    text_add(&how, "Prior ");
    add_db(&how, j->row->prior_db);
    text_add(&how, " dB");
    if (j->row->scope == SCOPE_CYLINDER && bits(j->place.set) > 1 && j->local_db > 0) {
        text_addf(&how, ", %d cylinders at once ", bits(j->place.set));
        add_db(&how, j->row->more_db * (bits(j->place.set) - 1));
    }
    for (int i = j->row->first_term; i < j->row->first_term + j->row->n_terms && n < 200; i++) {
        struct line_of l = {.term = i};

        l.db = term_db(k, i, &j->place, &l.known, &l.degree);
        if (l.db > 0 && fact_is_global(&k->t->terms[i].fact))
            l.db *= j->wide_share;
        if (l.known && fabs(l.db) >= 1)
            lines[n++] = l;
    }
    qsort(lines, (size_t)n, sizeof lines[0], heavier_first);
    for (int i = 0; i < n; i++) {
        struct lines *to = lines[i].db > 0 ? &out->pro : &out->contra;

        words_of(k, lines[i].term, &j->place, lines[i].degree, &t);
        if (to->n < 6 && !has_line(to, text_get(&t)))
            work_add_line(k->w, to, "%s", text_get(&t));
        text_add(&how, "; ");
        add_db(&how, lines[i].db);
        text_addf(&how, " %s", text_get(&t));
        add_dry(k, lines[i].term, j, &out->contra);
    }
    text_add(&how, ". Evidence that tells one story counts once and a third. Sum ");
    add_db(&how, j->log_odds_db);
    text_add(&how, " dB, odds ");
    add_odds(&how, j->log_odds_db);
    if (fabs(j->probability - fmin(MOST_SAID, chance(j->log_odds_db))) > 0.01)
        text_add(&how, "; shared with rivals that explain the same evidence");
    text_addf(&how, ": %.0f %%%s.", 100 * j->probability, j->probability >= MOST_SAID ? ", the most that is said without the check" : "");
    out->how = arena_text(k->w->a, text_get(&how));
    add_missing(k, j, out);
    text_release(&t);
    text_release(&how);
}

/* ---- all of it ---- */

static void ask_all(struct causes *k)
{
    k->answers = arena_alloc(k->w->a, (size_t)k->t->n_terms, sizeof *k->answers);
    for (int i = 0; i < k->t->n_terms; i++) {
        const struct cause_term *m = &k->t->terms[i];
        struct answer *a = &k->answers[i];

        for (int c = 0; c < k->w->en->n_cylinders; c++) {
            struct known x = fact_at(&k->facts, &m->fact, c), when = {false, 0};

            if (x.known) {
                a->known |= BIT(c);
                a->degree[c] = x.degree;
            }
            if (m->when.n > 0)
                when = fact_at(&k->facts, &m->when, c);
            a->when_degree[c] = when.known ? when.degree : 0;
        }
    }
}

static bool anything_read(const struct work *w)
{
    for (int i = 0; i < record_plug_count(w->en); i++)
        if (w->v->readings[i].present)
            return true;
    return w->v->n_complaints > 0 || w->v->n_codes > 0 || w->v->n_tests > 0 || w->v->outside_seen;
}

void work_causes(struct work *w)
{
    struct causes *k;
    struct place at[MAX_PLACES];
    int n_listed = 0;

    if (!anything_read(w))
        return;
    k = arena_alloc(w->a, 1, sizeof *k);
    k->w = w;
    k->t = w->options->causes != NULL ? w->options->causes : cause_table_builtin();
    facts_collect(&k->facts, w);
    ask_all(k);
    for (int i = 0; i < k->t->n_causes; i++) {
        const struct cause_row *row = &k->t->causes[i];
        int n;

        n = places(k, row->scope, at);
        if (row->scope == SCOPE_CYLINDER)
            add_cylinders(k, row, at, n);
        else
            add_places(k, row, at, n);
    }
    share(k);
    qsort(k->list, k->n_list, sizeof *k->list, likelier_first);
    drop_unspoken(k);
    while (n_listed < MAX_LISTED && (size_t)n_listed < k->n_list && k->list[n_listed].probability >= LEAST_LISTED)
        n_listed++;
    w->f->causes = arena_alloc(w->a, (size_t)n_listed + 1, sizeof *w->f->causes);
    w->f->n_causes = n_listed;
    for (int i = 0; i < n_listed; i++)
        write_out(k, &k->list[i], &w->f->causes[i]);
}
