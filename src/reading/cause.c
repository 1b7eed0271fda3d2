/* cause.c - likely causes. For each cause and each place of its scope the log-odds are added up: prior
 * and evidence, in decibans (10 log10 of the odds). Terms of one story tell the same thing, so the
 * strongest counts whole, the next a third, further ones nothing. Rivals that explain the same story at
 * the same cylinders share it; what a cause has of its own stands on its own, so that two faults can
 * hold at once. Formulas: docs/how-it-computes.md, "Causes". */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "reading/cause_work.h"
#include "reading/job.h"

#define BIT(i) ((engine_set)1 << (i))
#define MAX_PLACES 64
#define MAX_LISTED 14
#define LEAST_LISTED 0.03
#define LEAST_SAID_DB 3.0 /* a cause is listed when the evidence speaks for it by so much */
#define RIVAL_DB 3.0   /* a story ties two causes when it speaks for both by so much */
#define LOCAL_DB 3.0    /* less than that seen at a place is nothing */
#define CLEAR_DB 10.0   /* from so much on a story is shown clearly, 10 to 1 */
#define TOGETHER_DB 7.0 /* cylinders of one cause stand in one entry when their log-odds lie so close */

/* ---- log-odds ---- */

/* The term tells of something seen at the place itself. */
static bool is_local(const struct cause_term *m)
{
    return !fact_is_global(&m->fact) && m->yes_db > 0 && cause_over_inside(m->over);
}

/* Cylinders of the place that fail by chance: two that do so at once are unlikely. What a firing end shows of itself (metal, coolant, a
 * closed gap) is no chance: such cylinders stand as one of them does. */
static int by_chance(const struct causes *k, const struct judged *j)
{
    engine_set certain = 0;

    for (int i = j->row->first_term; i < j->row->first_term + j->row->n_terms; i++)
        if (is_local(&k->t->terms[i]) && cause_term_of_itself(&k->t->terms[i]))
            certain |= cause_shown(&k->answers[i], j->place.set & k->answers[i].known);
    return cause_bits(j->place.set & ~certain) + (certain != 0);
}

/* beside: what nobody looked at there is left out of the stories it shows clearly itself; NULL: nothing is left out. */
static void judge_beside(const struct causes *k, struct judged *j, double wide_share, const struct judged *beside)
{
    const struct cause_row *row = j->row;
    double first[2][CAUSE_MAX_STORIES] = {{0}}, second[2][CAUSE_MAX_STORIES] = {{0}};

    j->wide_share = wide_share;
    j->local_db = 0;
    j->prior_db = j->log_odds_db = row->prior_db + row->more_db * (by_chance(k, j) - 1) * cause_of_cylinders(row);
    for (int i = row->first_term; i < row->first_term + row->n_terms; i++) {
        struct weighed x = cause_term_weigh(k, i, &j->place);
        double db = x.db, size;
        int story = k->t->terms[i].story, against;

        if (j->unlooked && cause_term_of_damage(k, &k->t->terms[i]))
            continue;
        if (beside != NULL && beside->story_db[story] >= CLEAR_DB && !cause_term_weigh(k, i, &beside->place).known)
            continue;
        if (is_local(&k->t->terms[i]) && x.known && x.degree >= 0.3)
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

static void judge(const struct causes *k, struct judged *j, double wide_share)
{
    judge_beside(k, j, wide_share, NULL);
}

/* ---- places ---- */

static int group_places(const engine_set *groups, int n_groups, int least, engine_set all, struct place *out)
{
    int n = 0;

    for (int g = 0; g < n_groups && n < MAX_PLACES; g++)
        if (cause_bits(groups[g]) >= least && (groups[g] != all || n_groups == 1))
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

static struct judged *add(struct causes *k, const struct cause_row *row, struct place p, double wide_share, bool unlooked)
{
    struct judged *j = arena_push(k->w->a, (void **)&k->list, &k->n_list, &k->list_room, sizeof *k->list);

    j->row = row;
    j->place = p;
    j->unlooked = unlooked;
    judge(k, j, wide_share);
    return j;
}

/* A complaint is of the engine; among the places of one cause it falls to those that show something
 * themselves, and fully from 10 decibans on. */
static double share_of_wide(const struct judged *j)
{
    return cause_clip((j->local_db - LOCAL_DB) / (10 - LOCAL_DB));
}

/* Judges every place by what is seen there. False when no place shows anything. */
static bool judge_locally(const struct causes *k, const struct cause_row *row, const struct place *at, int n, struct judged *each, bool unlooked)
{
    bool any = false;

    memset(each, 0, (size_t)n * sizeof *each);
    for (int i = 0; i < n; i++) {
        each[i].row = row;
        each[i].place = at[i];
        each[i].unlooked = unlooked;
        judge(k, &each[i], 0);
        any = any || each[i].local_db >= LOCAL_DB;
        if (each[i].local_db > 0)
            judge(k, &each[i], share_of_wide(&each[i]));
    }
    return any;
}

/* Where the damage itself is to be seen the part is renewed, elsewhere it is tried: never the two in one entry. */
static engine_set seen_damage(const struct causes *k, const struct cause_row *row, const struct place *at, int n)
{
    const struct job_cause *job = job_cause_find(row->id);
    engine_set seen = 0;

    for (int c = 0; job != NULL && c < n; c++)
        if (job_is_seen(k->w->r, job, at[c].set))
            seen |= at[c].set;
    return seen;
}

static int likeliest(const struct judged *each, int n, engine_set of)
{
    int best = -1;

    for (int c = 0; c < n; c++)
        if ((of & each[c].place.set) != 0 && (best < 0 || each[c].log_odds_db > each[best].log_odds_db))
            best = c;
    return best;
}

/* They show the cause about as clearly. That nobody looked at a further zone of the one (its boot, under an oily well) makes it none
 * of another kind. */
static bool about_as_clear(const struct causes *k, const struct judged *one, const struct judged *best)
{
    struct judged less = *best;

    if (one->log_odds_db > best->log_odds_db - TOGETHER_DB)
        return true;
    judge_beside(k, &less, best->wide_share, one);
    return one->log_odds_db > less.log_odds_db - TOGETHER_DB;
}

/* ---- damage that was found ---- */

/* Damage to a part outside the cylinder is found at the place, and speaks for the cause. */
static bool is_damaged(const struct causes *k, const struct judged *j)
{
    for (int i = j->row->first_term; i < j->row->first_term + j->row->n_terms; i++)
        if (is_local(&k->t->terms[i]) && cause_term_of_damage(k, &k->t->terms[i])) {
            struct weighed x = cause_term_weigh(k, i, &j->place);

            if (x.known && x.db > 0)
                return true;
        }
    return false;
}

/* j is no less likely than this one. */
static void is_no_less(const struct causes *k, struct judged *j, const struct judged *than)
{
    struct judged *copy = arena_alloc(k->w->a, 1, sizeof *copy);

    *copy = *than;
    copy->less = j->less;
    j->less = copy;
}

/* That several parts fail at once by chance is unlikely; but damage that is to be seen is no chance (leads age as a set): several
 * of them stand as the one that shows it most clearly, and what is found at different ones is not added up. */
static void raise_to_clearest(const struct causes *k, struct judged *j, const struct judged *each, int n)
{
    for (int c = 0; c < n; c++)
        if ((j->place.set & each[c].place.set) != 0 && is_damaged(k, &each[c]))
            is_no_less(k, j, &each[c]);
}

/* Cylinders that show the same cause about as clearly stand in one entry, wherever they are; those that show it less clearly
 * in a further one. */
static void add_together(struct causes *k, const struct cause_row *row, const struct place *at, int n, const struct judged *each, engine_set left)
{
    engine_set seen = seen_damage(k, row, at, n);

    while (left != 0) {
        int best = likeliest(each, n, left);
        engine_set mates = left & ((seen & at[best].set) != 0 ? seen : ~seen), together = 0;
        double share = 1;

        for (int c = 0; c < n; c++)
            if ((mates & at[c].set) != 0 && about_as_clear(k, &each[c], &each[best])) {
                together |= at[c].set;
                share = fmin(share, each[c].wide_share);
            }
        raise_to_clearest(k, add(k, row, (struct place){together, -1}, share, each[best].unlooked), each, n);
        left &= ~together;
    }
}

/* Cylinders at which something is seen; where what is seen at none of them says more, those a code or a test names, and not
 * some cylinder nobody knows. Where nothing names one either it is just that. */
static void add_cylinders(struct causes *k, const struct cause_row *row, const struct place *at, int n, bool unlooked)
{
    struct judged each[MAX_PLACES];
    bool shown = judge_locally(k, row, at, n, each, unlooked);
    engine_set left = 0;

    for (int c = 0; c < n; c++)
        if (shown ? each[c].local_db >= LOCAL_DB : each[c].local_db > 0 && fact_is_named(&k->facts, c)) {
            left |= at[c].set;
            each[c].wide_share = shown ? each[c].wide_share : 1;
        }
    add_together(k, row, at, n, each, left);
    if (left != 0)
        return;
    add(k, row, (struct place){k->facts.all, -1}, 1, unlooked);
    k->list[k->n_list - 1].log_odds_db += row->prior_db - k->list[k->n_list - 1].prior_db; /* at one of them */
    k->list[k->n_list - 1].prior_db = row->prior_db;
}

/* Places of several cylinders: each that shows something; the only one there is always. */
static void add_places(struct causes *k, const struct cause_row *row, const struct place *at, int n, bool unlooked)
{
    struct judged each[MAX_PLACES];

    judge_locally(k, row, at, n, each, unlooked);
    for (int i = 0; i < n; i++)
        if (n == 1 || each[i].local_db >= LOCAL_DB)
            add(k, row, at[i], n == 1 ? 1 : each[i].wide_share, unlooked);
}

static void add_row(struct causes *k, const struct cause_row *row, bool unlooked)
{
    struct place at[MAX_PLACES];
    int n = places(k, row->scope, at);

    if (cause_of_cylinders(row))
        add_cylinders(k, row, at, n, unlooked);
    else
        add_places(k, row, at, n, unlooked);
}

/* All entries of one cause. Where damage was found, none is less likely than the cause was there before anybody looked: what is
 * little by itself (a trace of hardening) takes the doubt from the other cylinders, not from this one. */
static void add_cause(struct causes *k, const struct cause_row *row)
{
    const size_t first = k->n_list;
    struct judged *before;
    bool damaged = false;
    size_t n;

    add_row(k, row, false);
    n = k->n_list;
    for (size_t i = first; i < n; i++)
        damaged = damaged || is_damaged(k, &k->list[i]);
    if (!damaged)
        return;
    add_row(k, row, true);
    before = &k->list[n];
    for (size_t i = first; i < n; i++)
        for (size_t b = 0; b < k->n_list - n && is_damaged(k, &k->list[i]); b++)
            if ((before[b].place.set & k->list[i].place.set) != 0)
                is_no_less(k, &k->list[i], &before[b]);
    k->n_list = n;
}

/* ---- parts that moved together ---- */

uint64_t cause_own_swaps(const struct cause_table *t, const struct cause_row *row)
{
    uint64_t parts = 0;

    for (int i = row->first_term; i < row->first_term + row->n_terms; i++)
        if (t->terms[i].fact.n > 0 && t->terms[i].fact.atoms[0].kind == FACT_SWAP && t->terms[i].yes_db > 0)
            parts |= t->terms[i].fact.atoms[0].mask;
    return parts;
}

static bool is_swap_story(const struct causes *k, const struct cause_row *row, int story)
{
    for (int i = row->first_term; i < row->first_term + row->n_terms; i++)
        if (k->t->terms[i].story == story && k->t->terms[i].fact.n > 0 && k->t->terms[i].fact.atoms[0].kind == FACT_SWAP)
            return true;
    return false;
}

static double swap_db(const struct causes *k, const struct judged *j)
{
    double sum = 0;

    for (int s = 0; s < k->t->n_stories; s++)
        sum += is_swap_story(k, j->row, s) ? j->story_db[s] : 0;
    return sum;
}

/* The likeliest cause of each of the parts, at the cylinder they are in now. */
static int causes_of_parts(const struct causes *k, struct together *x, struct judged **out)
{
    int n = 0;

    for (int part = 0; part < 64; part++) {
        struct judged *best = NULL;

        for (size_t i = 0; i < k->n_list && (x->parts >> part & 1u) != 0; i++) {
            struct judged *j = &k->list[i];

            if ((j->place.set & BIT(x->to)) != 0 && j->together == NULL && (cause_own_swaps(k->t, j->row) >> part & 1u) != 0 && (best == NULL || j->log_odds_db > best->log_odds_db))
                best = j;
        }
        if (best == NULL)
            continue;
        best->together = x;
        out[n++] = best;
    }
    return n;
}

/* The mean of what one story says of them, where it speaks for all of them or against all; else NAN. */
static double mean_of_story(struct judged *const *each, int n, int s)
{
    bool pro = true, contra = true;
    double mean = 0;

    for (int i = 0; i < n; i++) {
        pro = pro && each[i]->story_db[s] > 0;
        contra = contra && each[i]->story_db[s] < 0;
        mean += each[i]->story_db[s] / n;
    }
    return pro || contra ? mean : NAN;
}

/* What went along with several parts speaks for each of them alike, and what shows in the cylinder no less: both are levelled
 * to the mean, and only what each has of its own (a crack, a gap) tells them apart. */
static void level(const struct causes *k, struct judged *const *each, int n)
{
    double swaps = 0;

    for (int i = 0; i < n; i++)
        swaps += swap_db(k, each[i]) / n;
    for (int i = 0; i < n; i++)
        each[i]->log_odds_db += swaps - swap_db(k, each[i]);
    for (int s = 0; s < k->t->n_stories; s++) {
        const double mean = mean_of_story(each, n, s);

        for (int i = 0; i < n && !isnan(mean); i++)
            if (!is_swap_story(k, each[i]->row, s)) {
                each[i]->log_odds_db += mean - each[i]->story_db[s];
                each[i]->story_db[s] = mean;
            }
    }
}

static void level_together(struct causes *k)
{
    for (int i = 0; k->facts.before != NULL && i < k->facts.before->n_done; i++) {
        const struct visit_done *d = &k->facts.before->done[i];
        struct judged *each[64];
        struct together *x;
        struct swap_told told;
        uint64_t moved;
        int n;

        if (d->from < 0 || d->to < 0)
            continue;
        moved = cause_swap_moved(k->facts.before, d);
        told = cause_swap_told(k->w->en, k->facts.before, k->w->v, d);
        if ((moved & (moved - 1)) == 0 || (moved & ((UINT64_C(2) << d->part) - 1)) != UINT64_C(1) << d->part || !told.followed) /* once for all of them */
            continue;
        x = arena_alloc(k->w->a, 1, sizeof *x);
        *x = (struct together){moved, told.from, told.to, 0};
        n = causes_of_parts(k, x, each);
        level(k, each, n);
    }
}

/* The first of them in the list is put back, and that step is proposed. */
static void lead_from_together(struct causes *k)
{
    for (size_t i = 0; i < k->n_list; i++) {
        struct together *x = k->list[i].together;

        if (x == NULL)
            continue;
        k->list[i].leads = k->list[i].leads || k->list[i].probability < CAUSE_LEAST_SHOWN;
        if (x->back != 0)
            continue;
        k->list[i].asks = true;
        for (int part = 0; part < 64 && x->back == 0; part++)
            x->back = (x->parts & cause_own_swaps(k->t, k->list[i].row)) >> part & 1u ? part : 0;
    }
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
    return sum + (a->together != NULL && a->together == b->together ? fmax(0, swap_db(k, a)) : 0);
}

/* Rivals exclude one another as far as they lean on the same story; with what it has of its own alone
 * a cause may hold beside them. own: the entry it is asked for. */
static double shared_chance(const struct causes *k, const struct judged *a, const struct judged *own)
{
    double rivals = 0, taken = 0;

    for (size_t n = 0; n < k->n_list; n++) {
        const struct judged *b = &k->list[n];
        double common = b != own ? shared_db(k, a, b) : 0;

        if (common <= 0)
            continue;
        rivals += cause_odds(b->log_odds_db);
        if (b->log_odds_db >= a->log_odds_db - 3) /* b explains it at its own cylinders only */
            taken = fmax(taken, common * cause_bits(a->place.set & b->place.set) / cause_bits(a->place.set));
    }
    return fmin(CAUSE_MOST_SAID, fmax(cause_odds(a->log_odds_db) / (1 + cause_odds(a->log_odds_db) + rivals), cause_chance(a->log_odds_db - taken) * (taken > 0)));
}

static void share(struct causes *k)
{
    for (size_t i = 0; i < k->n_list; i++) {
        struct judged *a = &k->list[i];

        a->probability = a->less == NULL || a->together != NULL || !cause_of_cylinders(a->row) ? shared_chance(k, a, a) : 0;
        for (const struct judged *x = a->less; x != NULL && a->together == NULL; x = x->less) {
            double p = shared_chance(k, x, a);

            if (p >= a->probability) { /* the first of equals: they stand the other way round */
                a->probability = p;
                a->as = x;
            }
        }
    }
    for (size_t i = 0; i < k->n_list; i++)
        if (k->list[i].as != NULL) {
            k->list[i].prior_db = k->list[i].as->prior_db;
            k->list[i].log_odds_db = k->list[i].as->log_odds_db;
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

/* Nothing else was said of the engine than how the plug of one of its cylinders looks: whether it is unlike the others nobody knows. */
static bool one_plug_alone(const struct work *w)
{
    int n_read = 0;

    for (int c = 0; c < w->en->n_cylinders; c++) {
        bool read = false;

        for (int p = 0; p < w->en->n_positions; p++) {
            const struct reading *q = visit_reading_const(w->v, w->en, c, p);

            read = read || q->zone_seen[ZONE_FIRING_END] || q->nose_L.given;
        }
        n_read += read;
    }
    return w->en->n_cylinders > 1 && n_read == 1 && !visit_complains(w->v) && w->v->n_codes == 0 && w->v->n_tests == 0;
}

/* The term rests on the colour of a firing end that calls for nothing by itself. */
static bool is_colour(const struct causes *k, const struct cause_term *m)
{
    for (int n = 0; n < m->fact.n; n++) {
        const struct fact_atom *a = &m->fact.atoms[n];

        if (a->kind == FACT_NUMBER && (a->which == NUMBER_NOSE_DARK || a->which == NUMBER_NOSE_LIGHT))
            continue;
        if (a->kind != FACT_SIGN)
            return false;
        for (int s = 0; s < SIGN_COUNT; s++)
            for (int c = 0; c < k->w->en->n_cylinders && (a->mask >> s & 1u) != 0; c++)
                if (k->facts.amount[c][s] > 0 && (sign_row((enum sign)s)->zone != ZONE_FIRING_END || findings_sign_level(k->w->en, (enum sign)s, k->facts.amount[c][s]) >= LEVEL_ACT))
                    return false;
    }
    return true;
}

/* Something that was seen, measured, read out or tried speaks for it, not only what is complained of and how the engine is
 * built. That a thing was not found points nowhere, but for a swap. */
static bool is_pointed_at(const struct causes *k, const struct judged *j, bool alone)
{
    for (int i = j->row->first_term; i < j->row->first_term + j->row->n_terms; i++) {
        const struct cause_term *m = &k->t->terms[i];
        enum fact_kind kind = m->fact.n > 0 ? m->fact.atoms[0].kind : FACT_ENGINE;
        struct weighed x = cause_term_weigh(k, i, &j->place);

        if (kind != FACT_COMPLAINT && kind != FACT_ENGINE && x.known && x.db >= 1 && (x.present || kind == FACT_SWAP) && !(alone && is_colour(k, m)))
            return true;
    }
    return false;
}

/* The melted electrode of one of the cylinders speaks for it: why it melted. What it did (a piston that melts with it) is no why. */
static bool melts(const struct causes *k, const struct judged *j, engine_set set)
{
    uint64_t melted = (uint64_t)1 << words_find(WORDS_ELECTRODE, "melted");

    if ((j->place.set & set) == 0 || strcmp(j->row->id, "piston") == 0)
        return false;
    for (int i = j->row->first_term; i < j->row->first_term + j->row->n_terms; i++) {
        const struct cause_term *m = &k->t->terms[i];

        if (m->yes_db >= LEAST_SAID_DB && m->over == OVER_ANY && m->fact.n == 1 && m->fact.atoms[0].kind == FACT_WORD && m->fact.atoms[0].list == WORDS_ELECTRODE && m->fact.atoms[0].mask == melted)
            return true;
    }
    return false;
}

static engine_set melted_of(const struct causes *k)
{
    int melted = words_find(WORDS_ELECTRODE, "melted");
    engine_set set = 0;

    for (int i = 0; i < record_plug_count(k->w->en); i++)
        if (k->w->v->readings[i].present && k->w->v->readings[i].electrode == melted)
            set |= (engine_set)1 << k->w->v->readings[i].cylinder;
    return set;
}

/* The gravest thing a plug shows has every cause named that the table knows for it. */
static void lead_from_melted(struct causes *k)
{
    engine_set set = melted_of(k);

    for (size_t c = 0; c < k->n_list && set != 0; c++)
        if (melts(k, &k->list[c], set))
            k->list[c].leads = k->list[c].leads || k->list[c].probability < CAUSE_LEAST_SHOWN;
}

/* Nothing speaks for it: the prior alone is no reading, and that nothing is complained of points nowhere. A complaint alone
 * names a cause only where few others give it. */
static void drop_unspoken(struct causes *k)
{
    bool complains = visit_complains(k->w->v), alone = one_plug_alone(k->w);
    engine_set melted = melted_of(k);
    size_t n = 0;

    for (size_t i = 0; i < k->n_list; i++)
        if (melts(k, &k->list[i], melted) || (k->list[i].log_odds_db >= k->list[i].prior_db + LEAST_SAID_DB &&
             (is_pointed_at(k, &k->list[i], alone) || (complains && k->list[i].probability >= CAUSE_POSSIBLE))))
            k->list[n++] = k->list[i];
    k->n_list = n;
}

/* ---- what calls for action ---- */

/* The sign at one of the cylinders, or -1 its low pressure, speaks for it; on all of them, for what feeds all. */
static bool explains(const struct causes *k, const struct judged *j, int sign, engine_set set)
{
    if (j->row->ordinary || (j->place.set & set) == 0)
        return false;
    for (int i = j->row->first_term; i < j->row->first_term + j->row->n_terms; i++) {
        const struct cause_term *m = &k->t->terms[i];

        if (m->yes_db < LEAST_SAID_DB || !(cause_over_inside(m->over) || m->over == OVER_EVERY))
            continue;
        for (int n = 0; n < m->fact.n; n++) {
            const struct fact_atom *a = &m->fact.atoms[n];
            bool shows = sign >= 0 ? a->kind == FACT_SIGN && (a->mask >> sign & 1u) != 0
                                   : a->kind == FACT_NUMBER && (a->which == NUMBER_COMPRESSION_LOW || a->which == NUMBER_LEAK_HIGH);
            struct weighed x;

            if (!shows)
                continue;
            x = cause_term_weigh(k, i, &j->place);
            if (x.known && x.present && x.db > 0)
                return true;
        }
    }
    return false;
}

#define MOST_LEADS 2 /* weak causes named for one finding */

/* What calls for action has its causes named, however weak they are, and the first of them is to be settled. */
static void lead_from_findings(struct causes *k)
{
    for (int i = 0; i < k->w->f->n_stand_outs; i++) {
        struct stand_out *s = &k->w->f->stand_outs[i];
        int n = 0;

        if (s->level < LEVEL_ACT || s->cylinders == 0 || !(s->kind == STAND_COMPRESSION || (s->kind == STAND_CONDITION && s->sign >= 0)))
            continue;
        for (size_t c = 0; c < k->n_list && n < MOST_LEADS; c++) {
            struct judged *j = &k->list[c];

            if (!explains(k, j, s->kind == STAND_COMPRESSION ? -1 : s->sign, s->cylinders))
                continue;
            j->asks = j->asks || n == 0;
            j->leads = j->leads || j->probability < CAUSE_LEAST_SHOWN;
            n += j->probability < CAUSE_LEAST_SHOWN ? 1 : MOST_LEADS;
        }
        s->unexplained = n == 0 && s->kind == STAND_CONDITION && !(s->sign == SIGN_OIL_WET && apart_drained(k->w).degree > 0); /* which is ordinary */
    }
}

#define MOST_NAMED 4     /* causes named for one cylinder that a code or a test names */
#define LEAST_NAMED_DB 4 /* to them such a code or test speaks by so much */

/* A code or a test that names the cylinder speaks for it, by so many decibans at the least. */
static bool explains_miss(const struct causes *k, const struct judged *j, int c, double least_db)
{
    const struct place here = {BIT(c), -1};

    if (j->row->ordinary || j->row->scope == SCOPE_ENGINE || (j->place.set & BIT(c)) == 0)
        return false;
    for (int i = j->row->first_term; i < j->row->first_term + j->row->n_terms; i++) {
        const struct cause_term *m = &k->t->terms[i];
        bool names = m->fact.n > 0 && !fact_is_global(&m->fact) && (m->fact.atoms[0].kind == FACT_CODE || m->fact.atoms[0].kind == FACT_TEST);
        struct weighed x;

        if (!names || m->yes_db < least_db || !cause_over_inside(m->over))
            continue;
        x = cause_term_weigh(k, i, &here);
        if (x.known && x.present && x.db > 0)
            return true;
    }
    return false;
}

/* A likely cause accounts for it, though it is not what one looks at first (low compression is a miss as well). */
static bool is_accounted_for(const struct causes *k, int c)
{
    for (size_t i = 0; i < k->n_list; i++)
        if (k->list[i].probability >= CAUSE_LIKELY && explains_miss(k, &k->list[i], c, 1))
            return true;
    return false;
}

/* Where a code or a test says which cylinder misses, what one looks at first there is in the list, however weak, and the
 * first of it is to be settled: a weak one only where no likely cause accounts for the miss. */
static void lead_from_misses(struct causes *k)
{
    for (int c = 0; c < k->w->en->n_cylinders; c++) {
        int n = 0;

        for (size_t i = 0; fact_is_named(&k->facts, c) && i < k->n_list && n < MOST_NAMED; i++) {
            struct judged *j = &k->list[i];

            if (!explains_miss(k, j, c, LEAST_NAMED_DB))
                continue;
            j->asks = j->asks || (n == 0 && (j->probability >= CAUSE_LEAST_SHOWN || !is_accounted_for(k, c)));
            j->leads = j->leads || j->probability < CAUSE_LEAST_SHOWN;
            n++;
        }
    }
}

/* It misses, nobody knows where, and no cause is likely: the first of those that what a plug shows speaks for is to be settled. */
static void lead_from_complaint(struct causes *k)
{
    static const char *const misses[] = {"misfire-idle-hot", "misfire-idle-cold", "misfire-load", "misfire-wet-weather", "rough-running"};
    bool complains = false;

    for (int i = 0; i < k->w->v->n_complaints; i++)
        for (size_t m = 0; m < sizeof misses / sizeof misses[0]; m++)
            complains = complains || strcmp(words_id(WORDS_COMPLAINT, k->w->v->complaints[i]), misses[m]) == 0;
    for (size_t i = 0; i < k->n_list; i++)
        complains = complains && !k->list[i].asks && (k->list[i].row->ordinary || k->list[i].probability < CAUSE_LIKELY);
    for (size_t i = 0; i < k->n_list && complains; i++)
        if (!k->list[i].row->ordinary && k->list[i].row->scope != SCOPE_ENGINE && k->list[i].probability >= CAUSE_LEAST_SHOWN) {
            k->list[i].asks = true;
            return;
        }
}

/* What is to be seen to be broken is renewed, beside whatever else there is. */
static void lead_from_damage(struct causes *k)
{
    for (size_t i = 0; i < k->n_list; i++) {
        const struct job_cause *job = job_cause_find(k->list[i].row->id);

        if (job != NULL && k->list[i].probability >= CAUSE_LEAST_SHOWN && job_is_seen(k->w->r, job, k->list[i].place.set))
            k->list[i].asks = true;
    }
}

/* Those that are shown before those that are not, else as they stand. */
static void shown_first(struct causes *k)
{
    size_t n = 0;

    for (size_t i = 0; i < k->n_list; i++) {
        struct judged j = k->list[i];

        if (j.probability < CAUSE_LEAST_SHOWN && !j.leads)
            continue;
        memmove(&k->list[n + 1], &k->list[n], (i - n) * sizeof j);
        k->list[n++] = j;
    }
}

/* ---- all of it ---- */

/* Of the whole engine: work tells something where what it was to mend is there again, not at another cylinder. */
static void keep_work_in_place(struct causes *k)
{
    for (int n = 0; n < k->t->n_causes; n++)
        for (int i = k->t->causes[n].first_term; i < k->t->causes[n].first_term + k->t->causes[n].n_terms && k->t->causes[n].scope == SCOPE_ENGINE; i++) {
            const struct cause_term *m = &k->t->terms[i];

            for (int c = 0; c < k->w->en->n_cylinders && m->fact.n > 0 && m->fact.atoms[0].kind == FACT_DONE && m->when.n > 0; c++)
                k->answers[i].degree[c] = fmin(k->answers[i].degree[c], k->answers[i].when_degree[c]);
        }
}

/* A swap of a part that does not settle the cause, made together with one that does, tells of it nothing. */
static void forget_mixed_swaps(struct causes *k)
{
    for (int c = 0; c < k->t->n_causes; c++) {
        const struct cause_row *row = &k->t->causes[c];
        uint64_t own = cause_own_swaps(k->t, row);

        for (int i = 0; k->facts.before != NULL && i < k->facts.before->n_done; i++) {
            const struct visit_done *d = &k->facts.before->done[i];
            uint64_t moved = d->from >= 0 && d->to >= 0 ? cause_swap_moved(k->facts.before, d) : 0;

            if ((moved & own) == 0 || (moved & ~own) == 0 || !cause_swap_told(k->w->en, k->facts.before, k->w->v, d).followed)
                continue;
            for (int m = row->first_term; m < row->first_term + row->n_terms; m++)
                if (k->t->terms[m].fact.n > 0 && k->t->terms[m].fact.atoms[0].kind == FACT_SWAP && (k->t->terms[m].fact.atoms[0].mask & own) == 0)
                    k->answers[m].known &= ~d->cylinders;
        }
    }
}

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
                a->between |= fact_is_between(&k->facts, &m->fact, c) ? BIT(c) : 0;
                a->degree[c] = x.degree;
                a->seen_share[c] = fact_seen_share(&k->facts, &m->fact, c);
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

/* A swap that two cylinders in trouble leave open: said, or the odds below would seem to come from nowhere. */
static void note_open_swaps(struct work *w)
{
    const struct visit *before = w->r->n_visits > 1 ? &w->r->visits[w->r->n_visits - 2] : NULL;

    for (int i = 0; before != NULL && i < before->n_done; i++) {
        struct swap_verdict v;

        if (before->done[i].from < 0 || before->done[i].to < 0)
            continue;
        swap_judge(w->r, &before->done[i], &v);
        if (v.state == SWAP_CANNOT_TELL && v.both && !v.again)
            work_add_line(w, &w->f->notes, "%s. %s", v.headline, v.shown);
    }
}

void work_causes(struct work *w)
{
    struct causes *k;
    int n_listed = 0;

    if (!anything_read(w))
        return;
    note_open_swaps(w);
    k = arena_alloc(w->a, 1, sizeof *k);
    k->w = w;
    k->t = w->options->causes != NULL ? w->options->causes : cause_table_builtin();
    facts_collect(&k->facts, w);
    ask_all(k);
    keep_work_in_place(k);
    forget_mixed_swaps(k);
    for (int i = 0; i < k->t->n_causes; i++)
        add_cause(k, &k->t->causes[i]);
    level_together(k);
    share(k);
    if (k->n_list == 0)
        return;
    qsort(k->list, k->n_list, sizeof *k->list, likelier_first);
    drop_unspoken(k);
    lead_from_findings(k);
    lead_from_melted(k);
    lead_from_misses(k);
    lead_from_damage(k);
    lead_from_together(k);
    lead_from_complaint(k);
    shown_first(k);
    while (n_listed < MAX_LISTED && (size_t)n_listed < k->n_list && (k->list[n_listed].probability >= LEAST_LISTED || k->list[n_listed].leads))
        n_listed++;
    w->f->causes = arena_alloc(w->a, (size_t)n_listed + 1, sizeof *w->f->causes);
    w->f->n_causes = n_listed;
    for (int i = 0; i < n_listed; i++)
        cause_write(k, &k->list[i], &w->f->causes[i]);
}
