/* cause_place.c - one term of the table at one place: which cylinders it asks of, to which degree it
 * holds there, how many decibans that is. */
#include <math.h>

#include "reading/cause_work.h"

#define BIT(i) ((engine_set)1 << (i))
#define TRACE 0.4 /* degrees of amounts, see cause_fact.c */
#define MODERATE 0.9

double cause_odds(double db)
{
    return pow(10, fmin(200, fmax(-200, db)) / 10); /* a table of one's own may run away */
}

double cause_chance(double db)
{
    double o = cause_odds(db);

    return o / (1 + o);
}

engine_set cause_shown(const struct answer *a, engine_set seen)
{
    engine_set shown = 0;

    for (int c = 0; c < ENGINE_MAX_CYLINDERS; c++)
        if ((seen & BIT(c)) != 0 && a->degree[c] >= 0.3)
            shown |= BIT(c);
    return shown;
}

static engine_set banks_of(const struct engine *en, engine_set set)
{
    engine_set out = 0;

    for (int b = 0; b < en->n_banks; b++)
        if ((engine_bank_set(en, b) & set) != 0)
            out |= engine_bank_set(en, b);
    return out;
}

/* The cylinders a term asks of, at a place. */
engine_set cause_asked(const struct causes *k, enum cause_over over, const struct place *p)
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

/* On every bank alike: each by its mean, two thirds being enough, and the strongest bank left out. */
static bool all_banks(const struct engine *en, const struct answer *a, double *degree)
{
    double sum = 0, top = 0;

    if (en->n_banks < 2)
        return false;
    for (int b = 0; b < en->n_banks; b++) {
        engine_set seen = engine_bank_set(en, b) & a->known;
        double of_bank;

        if (seen == 0)
            return false;
        of_bank = cause_clip(sum_over(a, seen) / cause_bits(seen) / 0.65);
        sum += of_bank;
        top = fmax(top, of_bank);
    }
    *degree = (sum - top) / (en->n_banks - 1);
    return true;
}

/* A half of the plugs speaks for the whole set; a single one of several hardly does. */
static double whole_weight(int n_seen, int n)
{
    return n_seen == 1 && n > 1 ? 0.25 : cause_clip(2.0 * n_seen / n);
}

/* Degree of a term at a place; false when nobody looked. *weight below 1: only few of those asked were
 * looked at. */
static bool degree_at(const struct causes *k, const struct cause_term *m, const struct answer *a, const struct place *p,
                      double *degree, double *weight)
{
    engine_set set = cause_asked(k, m->over, p), seen = set & a->known;
    const struct engine *en = k->w->en;
    int n = cause_bits(seen);
    double sum = sum_over(a, seen), least = 1, top = 0, count = 0;

    *weight = 1;
    if (n == 0)
        return false;
    for (int c = 0; c < en->n_cylinders; c++)
        if ((seen & BIT(c)) != 0) {
            least = fmin(least, a->degree[c]);
            top = fmax(top, a->degree[c]);
            count += a->degree[c] >= 0.4 ? fmin(1, a->degree[c] / MODERATE) : 0;
        }
    switch (m->over) {
    case OVER_EACH:
        *degree = least;
        *weight = seen == set || least < 0.2 ? 1 : 0.5 * n / cause_bits(set);
        return true;
    case OVER_ANY: *degree = top; return true;
    case OVER_MOST:
        *degree = cause_clip(sum / n / 0.65);
        *weight = cause_clip((double)n / cause_bits(set) * 2);
        return true;
    case OVER_EVERY:
        *degree = fact_is_global(&m->fact) ? sum / n : cause_clip((sum / n - 0.35) / 0.45);
        *weight = whole_weight(n, cause_bits(set));
        return true;
    case OVER_SEVERAL:
        if (cause_bits(set) == 1) /* an only cylinder cannot show it on several */
            return false;
        *degree = cause_clip((count - 1) / 2);
        *weight = whole_weight(n, cause_bits(set));
        return true;
    case OVER_ALL_BANKS: return all_banks(en, a, degree);
    case OVER_NEAR: {
        engine_set near = en->breather_near & seen, far = seen & ~near;

        if (near == 0 || far == 0)
            return false;
        *degree = cause_clip(sum_over(a, near) / cause_bits(near) - sum_over(a, far) / cause_bits(far));
        return true;
    }
    case OVER_OTHERS:
    case OVER_MATES:
    case OVER_BANKS:
        *degree = sum / n;
        *weight = n > 1 || cause_bits(set) == 1 ? 1 : 0.6;
        return true;
    case OVER_HERE:
    case OVER_SECOND:
    case OVER_COUNT: break;
    }
    *degree = sum / n;
    return true;
}

/* How far the term is asked at this place: fully from a moderate amount of what it waits for. */
double cause_asked_share(const struct cause_term *m, const struct answer *a, const struct place *p)
{
    double top = 0;

    if (m->when.n == 0)
        return 1;
    for (int c = 0; c < ENGINE_MAX_CYLINDERS; c++)
        if ((p->set & BIT(c)) != 0)
            top = fmax(top, a->when_degree[c]);
    return top < 0.35 ? 0 : cause_clip(top / MODERATE);
}

/* Asked of the place itself. */
bool cause_over_inside(enum cause_over over)
{
    return over == OVER_HERE || over == OVER_EACH || over == OVER_ANY || over == OVER_MOST || over == OVER_SECOND;
}

static bool tells_of(const struct fact *f, uint64_t signs)
{
    for (int i = 0; i < f->n; i++)
        if (f->atoms[i].kind == FACT_SIGN && (f->atoms[i].mask & signs) != 0)
            return true;
    return false;
}

bool cause_term_of_damage(const struct causes *k, const struct cause_term *m)
{
    return cause_over_inside(m->over) && ((m->yes_db >= 0 && tells_of(&m->fact, k->facts.part_damage)) || tells_of(&m->when, k->facts.part_damage));
}

bool cause_term_of_itself(const struct cause_term *m)
{
    return tells_of(&m->fact, UINT64_C(1) << SIGN_METAL_SPECKS | UINT64_C(1) << SIGN_COOLANT | UINT64_C(1) << SIGN_BRIDGED);
}

double cause_seen_share(const struct causes *k, int term, const struct place *p)
{
    const struct answer *a = &k->answers[term];
    engine_set seen = cause_asked(k, k->t->terms[term].over, p) & a->known;
    double sum = 0;

    for (int c = 0; c < ENGINE_MAX_CYLINDERS; c++)
        if ((seen & BIT(c)) != 0)
            sum += a->seen_share[c];
    return seen != 0 ? sum / cause_bits(seen) : 0;
}

/* How far a sign is not there, 0..1: a trace is a little for it and nothing against it, wherever it is, and so is a figure that is
 * neither what is asked for nor normal. */
static double absent_degree(const struct causes *k, int term, const struct place *p, double degree)
{
    const struct cause_term *m = &k->t->terms[term];
    const struct answer *a = &k->answers[term];
    engine_set seen = cause_asked(k, m->over, p) & a->known;
    double clean = 0;

    if (m->fact.atoms[0].kind != FACT_SIGN) {
        for (int c = 0; c < ENGINE_MAX_CYLINDERS; c++)
            clean += (seen & ~a->between & BIT(c)) != 0 ? 1 - a->degree[c] : 0;
        return (seen & a->between) != 0 ? fmin(1 - degree, clean / cause_bits(seen)) : 1 - degree;
    }
    if (m->over == OVER_EVERY) {
        for (int c = 0; c < ENGINE_MAX_CYLINDERS; c++)
            if ((seen & BIT(c)) != 0)
                clean += cause_clip(1 - a->degree[c] / TRACE);
        return fmin(1 - degree, cause_clip(clean / cause_bits(seen) / 0.65));
    }
    return cause_over_inside(m->over) && m->over != OVER_MOST ? cause_clip(1 - degree / TRACE) : 1 - degree;
}

struct weighed cause_term_weigh(const struct causes *k, int term, const struct place *p)
{
    const struct cause_term *m = &k->t->terms[term];
    const struct answer *a = &k->answers[term];
    struct weighed out = {false, true, 0, 0};
    double weight = 1, yes, no, share = cause_asked_share(m, a, p);

    out.known = share > 0 && degree_at(k, m, a, p, &out.degree, &weight);
    if (!out.known)
        return out;
    yes = m->yes_db * out.degree;
    /* A zone nobody looked at says nothing: what was not found counts by the zones that were. */
    no = m->no_db * absent_degree(k, term, p, out.degree) * cause_seen_share(k, term, p);
    out.present = fabs(yes) >= fabs(no);
    out.db = weight * share * (yes + no);
    return out;
}
