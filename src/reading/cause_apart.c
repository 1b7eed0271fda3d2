/* cause_apart.c - the plugs of one cylinder against each other. What a cylinder burns (its mixture, its air, oil past rings and
 * valves) is at all its plugs; what one of them shows alone is that plug's own, or of what fires it. */
#include <math.h>
#include <string.h>

#include "reading/cause_fact.h"

#define BIT(i) ((engine_set)1 << (i))
#define SHOWN 0.3 /* a trace and more */

static double clip(double x)
{
    return fmin(1, fmax(0, x));
}

/* How clearly each plug of the cylinder shows one of the signs; NaN: nobody looked. Gives how many were looked at. */
static int shown_at(const struct work *w, uint64_t mask, int c, double degree[ENGINE_MAX_POSITIONS])
{
    int n = 0;

    for (int p = 0; p < w->en->n_positions; p++) {
        const struct reading *r = visit_reading_const(w->v, w->en, c, p);
        int most = AMOUNT_UNSEEN;

        for (int s = 0; s < SIGN_COUNT; s++)
            if ((mask >> s & 1u) != 0 && r->amount[s] > most)
                most = r->amount[s];
        degree[p] = most != AMOUNT_UNSEEN ? fact_amount_degree[most] : NAN;
        n += most != AMOUNT_UNSEEN;
    }
    return n;
}

static bool is_bottom(const struct engine *en, int position)
{
    return en->layout == ENGINE_FLAT && (strcmp(en->position_names[position], "bottom") == 0 || strcmp(en->position_names[position], "lower") == 0);
}

/* The plugs that show it, and those that were looked at and do not, as bits of positions. */
static struct known apart(const struct work *w, uint64_t mask, int c, unsigned *with, unsigned *without)
{
    const uint64_t oil = UINT64_C(1) << SIGN_OIL_WET | UINT64_C(1) << SIGN_OIL_ASH;
    double degree[ENGINE_MAX_POSITIONS], top = 0, least = 1;
    bool below = true;

    *with = *without = 0;
    if (shown_at(w, mask, c, degree) < 2)
        return (struct known){false, 0};
    for (int p = 0; p < w->en->n_positions; p++)
        if (!isnan(degree[p])) {
            top = fmax(top, degree[p]);
            least = fmin(least, degree[p]);
            *(degree[p] >= SHOWN ? with : without) |= 1u << p;
            below = below && (degree[p] < SHOWN || is_bottom(w->en, p));
        }
    if (*with == 0 || ((mask & oil) != 0 && below && *without != 0)) /* oil runs to the bottom plug, whatever it comes from */
        return (struct known){false, 0};
    return (struct known){true, top - least};
}

struct known apart_at(const struct work *w, uint64_t mask, int c)
{
    unsigned with, without;

    return apart(w, mask, c, &with, &without);
}

unsigned apart_without(const struct work *w, uint64_t mask, int c)
{
    unsigned with, without;

    apart(w, mask, c, &with, &without);
    return with != 0 ? without : 0;
}

/* The sum, over the cylinders of a bank, of how clearly they show it at this plug alone. */
static double alone_at(const struct work *w, uint64_t mask, const struct engine_bank *bank, int position, int *n_alone)
{
    double sum = 0;

    for (int c = bank->first; c < bank->first + bank->n_cylinders; c++) {
        double degree[ENGINE_MAX_POSITIONS], others = 0;

        if (shown_at(w, mask, c, degree) < 2 || !(degree[position] >= SHOWN))
            continue;
        for (int p = 0; p < w->en->n_positions; p++)
            others = p != position && !isnan(degree[p]) ? fmax(others, degree[p]) : others;
        *n_alone += others < SHOWN;
        sum += others < SHOWN ? degree[position] : 0;
    }
    return sum;
}

/* Nearly all of the cylinders, as with what is asked of every one; never a single one. On a bank it is one row of plugs, on the next
 * it may be the other (a magneto that fires the top of one side and the bottom of the other). */
static struct known row_of(const struct work *w, uint64_t mask, bool bottom, struct plug_row *row)
{
    const struct engine *en = w->en;
    double sum = 0, degree[ENGINE_MAX_POSITIONS];
    bool shown = false;

    *row = (struct plug_row){-1, 0, 0};
    for (int c = 0; c < en->n_cylinders; c++) {
        row->n_looked_at += shown_at(w, mask, c, degree) >= 2;
        for (int p = 0; p < en->n_positions; p++)
            shown = shown || degree[p] >= SHOWN;
    }
    for (int b = 0; b < en->n_banks; b++) {
        double best = 0;
        int at = -1, n_best = 0;

        for (int p = 0; p < en->n_positions; p++) {
            int n = 0;
            double of_row = !bottom || is_bottom(en, p) ? alone_at(w, mask, &en->banks[b], p, &n) : 0;

            if (of_row > best) {
                best = of_row;
                at = p;
                n_best = n;
            }
        }
        row->position = row->n_alone == 0 ? at : at == row->position || at < 0 ? row->position : -1;
        row->n_alone += n_best;
        sum += best;
    }
    if (row->n_looked_at < 2 || !shown)
        return (struct known){false, 0};
    return (struct known){true, row->n_alone < 2 ? 0 : clip((sum / row->n_looked_at - 0.35) / 0.45)};
}

struct known apart_row(const struct work *w, uint64_t mask, struct plug_row *row)
{
    return row_of(w, mask, false, row);
}

struct known apart_drained(const struct work *w)
{
    struct plug_row row;
    struct known k = row_of(w, UINT64_C(1) << SIGN_OIL_WET, true, &row);

    return k.degree > 0 && w->v->last_run != words_find(WORDS_LAST_RUN, "load") ? k : (struct known){false, 0};
}
