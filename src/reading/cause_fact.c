#include "reading/cause_fact.h"

#include <assert.h>
#include <math.h>
#include <string.h>

#include "base/text.h"
#include "reading/compression.h"
#include "reading/job.h"
#include "reading/stats.h"

#define BIT(i) ((engine_set)1 << (i))
#define KNOWN(d) ((struct known){true, (d)})
#define UNKNOWN ((struct known){false, 0})

/* A trace is less than half a moderate amount: what is no more than a trace is on many sound engines. */
const double fact_amount_degree[] = {0, 0.4, 0.9, 1};

#define DAMAGE_TRACE 0.8
#define LEAST_DIFFERENT 0.5 /* steps of an amount by which a firing end is darker or lighter than the others */

static double ramp(double x, double none, double full)
{
    return fmin(1, fmax(0, (x - none) / (full - none)));
}

static const struct reading *plug_of(const struct facts *f, int c, int p)
{
    return visit_reading_const(f->w->v, f->w->en, c, p);
}

/* ---- what the visit holds, by cylinder ---- */

static bool is_explained(const struct work *w, int sign, int plug)
{
    for (int i = 0; i < w->n_measures; i++)
        if (w->measures[i].sign == sign)
            for (int k = 0; k < w->measures[i].n; k++)
                if (w->measures[i].plug[k] == plug)
                    return w->measures[i].explained[k];
    return false;
}

static void most(double *to, const struct maybe *x, int sense)
{
    if (x->given && (isnan(*to) || sense * x->value > sense * *to))
        *to = x->value;
}

static void collect_cylinder(struct facts *f, int c)
{
    const struct engine *en = f->w->en;

    f->compression_kpa[c] = f->wet_kpa[c] = f->leak_percent[c] = f->differential[c] = f->gap_mm[c] = f->nose_L[c] = NAN;
    for (int s = 0; s < SIGN_COUNT; s++)
        f->amount[c][s] = AMOUNT_UNSEEN;
    for (int p = 0; p < en->n_positions; p++) {
        const struct reading *r = plug_of(f, c, p);

        for (int s = 0; s < SIGN_COUNT; s++) {
            bool outside = s == SIGN_THREADS_OIL || s == SIGN_BODY_OIL;
            int8_t a = r->amount[s];

            if (outside && a > 0 && is_explained(f->w, s, record_plug_index(en, c, p)))
                a = AMOUNT_UNSEEN;
            if (a > f->amount[c][s])
                f->amount[c][s] = a;
        }
        most(&f->compression_kpa[c], &r->compression_kpa, 1);
        most(&f->wet_kpa[c], &r->compression_wet_kpa, 1);
        most(&f->leak_percent[c], &r->leak_percent, 1);
        most(&f->differential[c], &r->differential_over_80, -1);
        most(&f->gap_mm[c], &r->gap_mm, 1);
        most(&f->nose_L[c], &r->nose_L, -1);
    }
    if (f->compression_kpa[c] > f->highest_kpa)
        f->highest_kpa = f->compression_kpa[c];
}

bool fact_darkness(const struct reading *const plugs[], int n_plugs, double *steps)
{
    static const enum sign dark[] = {SIGN_DRY_CARBON, SIGN_LEADED, SIGN_OIL_ASH, SIGN_FUEL_ASH, SIGN_OIL_WET, SIGN_FUEL_WET};
    double sum = 0;
    int n = 0;

    for (int i = 0; i < n_plugs; i++) {
        double x = 0;

        if ((!plugs[i]->zone_seen[ZONE_FIRING_END] && !plugs[i]->nose_L.given) || reading_has_not_run(plugs[i]))
            continue;
        if (plugs[i]->zone_seen[ZONE_FIRING_END]) {
            for (size_t k = 0; k < sizeof dark / sizeof dark[0]; k++)
                x = fmax(x, plugs[i]->amount[dark[k]]);
            x -= fmax(plugs[i]->amount[SIGN_PALE], plugs[i]->amount[SIGN_BLISTERED]);
        }
        if (plugs[i]->nose_L.given)
            x += (60 - plugs[i]->nose_L.value) / 15; /* 15 L* for a step of an amount: judgement */
        sum += x;
        n++;
    }
    *steps = n > 0 ? sum / n : 0;
    return n > 0;
}

static bool darkness_of(const struct facts *f, const struct visit *v, int c, double *steps)
{
    const struct reading *plugs[ENGINE_MAX_POSITIONS];
    const struct engine *en = f->w->en;

    for (int p = 0; p < en->n_positions; p++)
        plugs[p] = visit_reading_const(v, en, c, p);
    return fact_darkness(plugs, en->n_positions, steps);
}

/* Smoothly darker towards one end on each bank, no single step making up a gradient of two or more. */
static struct known graded(const struct facts *f)
{
    const struct engine *en = f->w->en;
    int direction = 0, n_banks = 0;
    double least = INFINITY;

    for (int b = 0; b < en->n_banks; b++) {
        double x[ENGINE_MAX_CYLINDERS], jump = 0;
        int n = 0, way;

        for (int i = 0; i < en->banks[b].n_cylinders; i++)
            n += darkness_of(f, f->w->v, en->banks[b].first + i, &x[n]);
        if (n < 3)
            continue;
        n_banks++;
        way = x[n - 1] > x[0] ? 1 : -1;
        for (int i = 1; i < n; i++) {
            if (way * (x[i] - x[i - 1]) < -0.2)
                return KNOWN(0);
            jump = fmax(jump, fabs(x[i] - x[i - 1]));
        }
        if (fabs(x[n - 1] - x[0]) < 0.6)
            return KNOWN(0);
        if (fabs(x[n - 1] - x[0]) > 1.3 && jump > 0.55 * fabs(x[n - 1] - x[0]))
            return KNOWN(0);
        if (direction != 0 && direction != way)
            return KNOWN(0);
        direction = way;
        least = fmin(least, fabs(x[n - 1] - x[0]));
    }
    return n_banks > 0 ? KNOWN(fmin(1, 0.5 + least / 4)) : UNKNOWN;
}

/* Along each bank they stand at its ends, none of the others between; a ring has no end. */
static bool at_ends(const struct engine *en, engine_set set, engine_set of)
{
    for (int b = 0; b < en->n_banks && en->layout != ENGINE_RADIAL; b++) {
        bool was = true;
        int n_turns = 0;

        for (int c = en->banks[b].first; c < en->banks[b].first + en->banks[b].n_cylinders; c++)
            if ((of & BIT(c)) != 0) {
                bool in = (set & BIT(c)) != 0;

                n_turns += in != was;
                was = in;
            }
        if (n_turns > 2)
            return false;
    }
    return true;
}

/* A difference between cylinders that was there last time too. It is told where it may be the engine's manner: small (more than two
 * steps is no cool end, common practice, no source) or smooth, towards an end, and nobody complains or has repaired it in vain. */
static struct known as_before(struct facts *f)
{
    const struct engine *en = f->w->en;
    double now[ENGINE_MAX_CYLINDERS], then[ENGINE_MAX_CYLINDERS], low = INFINITY, high = -INFINITY, middle, shift, worst = 0, same, size;
    engine_set read = 0, differ = 0;
    int cylinder[ENGINE_MAX_CYLINDERS], n = 0;

    if (f->before == NULL)
        return UNKNOWN;
    for (int c = 0; c < en->n_cylinders; c++) {
        cylinder[n] = c;
        n += darkness_of(f, f->w->v, c, &now[n]) && darkness_of(f, f->before, c, &then[n]);
    }
    if (n < 2)
        return UNKNOWN;
    middle = stats_median(now, n);
    shift = middle - stats_median(then, n);
    for (int i = 0; i < n; i++) {
        low = fmin(low, now[i]);
        high = fmax(high, now[i]);
        worst = fmax(worst, fabs(now[i] - then[i] - shift));
        read |= BIT(cylinder[i]);
        if (fabs(now[i] - middle) * (n == 2 ? 2 : 1) >= LEAST_DIFFERENT) { /* of two the middle lies between them */
            differ |= BIT(cylinder[i]);
            f->in_vain |= fabs(now[i] - then[i] - shift) < LEAST_DIFFERENT ? work_repaired(f->w, BIT(cylinder[i])) : 0;
        }
    }
    if (high - low < LEAST_DIFFERENT)
        return UNKNOWN;
    same = ramp(worst, 0.8, 0.4);
    size = f->graded.known && f->graded.degree > 0 ? 1 : ramp(high - low, 2, 1.3);
    if (same > 0 && (size == 0 || !at_ends(en, differ, read) || !work_may_be_manner(f->w, differ)))
        return UNKNOWN;
    return KNOWN(same * (same > 0 ? size : 1));
}

/* Pairs on one coil of which one plug wears at the centre and the other at the side. */
static struct known alternate(const struct facts *f)
{
    const struct engine *en = f->w->en;
    int n_pairs = 0, n_differ = 0;

    for (int g = 0; g < en->n_coil_groups; g++)
        for (int p = 0; p < en->n_positions; p++) {
            int seen = 0, differ = 0, first = 0;

            for (int c = 0; c < en->n_cylinders; c++) {
                int on = (en->coil_groups[g] & BIT(c)) != 0 ? plug_of(f, c, p)->wear_on : 0;

                if (on == 0)
                    continue;
                if (seen++ == 0)
                    first = on;
                else
                    differ = on != first && on != words_find(WORDS_WEAR_ON, "both") && first != words_find(WORDS_WEAR_ON, "both");
            }
            n_pairs += seen == 2;
            n_differ += seen == 2 && differ;
        }
    return n_pairs > 0 ? KNOWN((double)n_differ / n_pairs) : UNKNOWN;
}

static uint64_t damage_signs(void)
{
    uint64_t mask = 0;
    int n;
    const struct job_cause *rows = job_causes(&n);

    for (int i = 0; i < n; i++)
        for (int s = 0; s < SIGN_COUNT; s++)
            mask |= rows[i].seen[s] ? UINT64_C(1) << s : 0;
    return mask;
}

/* Oil on a boot or coil came from somewhere: on many it is a gasket, and no fault of each. */
static uint64_t part_damage_signs(void)
{
    uint64_t mask = 0;

    for (int s = 0; s < SIGN_COUNT; s++) {
        const enum zone z = sign_row((enum sign)s)->zone;

        if ((z == ZONE_BODY || z == ZONE_BOOT || z == ZONE_COIL || z == ZONE_LEAD || z == ZONE_CONNECTOR) && sign_is_fault((enum sign)s) &&
            s != SIGN_BOOT_OIL_SOAKED && s != SIGN_COIL_OIL_SOAKED)
            mask |= UINT64_C(1) << s;
    }
    return mask;
}

static void collect_low(struct facts *f)
{
    const struct compression_rule *rule = compression_rule_find(f->w->options->compression_rule), *least = compression_rule_of_least_floor();
    double kpa[ENGINE_MAX_CYLINDERS];
    int n = 0;

    for (int c = 0; c < f->w->en->n_cylinders; c++)
        if (!isnan(f->compression_kpa[c]))
            kpa[n++] = f->compression_kpa[c];
    for (int c = 0; c < f->w->en->n_cylinders; c++) {
        double x = f->compression_kpa[c];

        if (x < FACT_POOR_KPA || (!isnan(x) && rule != NULL && !compression_passes(rule, kpa, n, x)))
            f->fails |= BIT(c);
        if (least != NULL && x < least->floor_kpa - 1)
            f->not_normal |= BIT(c);
    }
    f->not_normal |= f->fails;
}

void facts_collect(struct facts *f, const struct work *w)
{
    const struct engine *en = w->en;

    memset(f, 0, sizeof *f);
    f->w = w;
    f->before = w->r->n_visits > 1 ? &w->r->visits[w->r->n_visits - 2] : NULL;
    for (int c = 0; c < en->n_cylinders; c++) {
        f->all |= BIT(c);
        collect_cylinder(f, c);
        for (int p = 0; p < en->n_positions; p++)
            for (int k = 0; k < 2; k++)
                if (is_explained(w, k ? SIGN_BODY_OIL : SIGN_THREADS_OIL, record_plug_index(en, c, p)) &&
                    plug_of(f, c, p)->amount[k ? SIGN_BODY_OIL : SIGN_THREADS_OIL] > 0)
                    f->ran_down |= BIT(c);
    }
    for (int i = 0; i < w->f->n_stand_outs; i++)
        if (w->f->stand_outs[i].kind == STAND_CARRY_OVER)
            f->carried |= w->f->stand_outs[i].cylinders;
    f->ran_down &= ~f->carried;
    for (int i = 0; i < w->v->n_codes; i++)
        f->codes[i] = code_read(en, w->v->codes[i]);
    for (int i = 0; i < w->v->n_codes; i++)
        f->missing |= f->codes[i].kind == CODE_MISFIRE || f->codes[i].kind == CODE_COIL ? f->codes[i].cylinders : 0;
    collect_low(f);
    f->damage = damage_signs();
    f->part_damage = part_damage_signs();
    f->alternate = alternate(f);
    f->graded = graded(f);
    f->as_before = as_before(f);
}

/* ---- one atom at one cylinder ---- */

static struct known sign_at(const struct facts *f, uint64_t mask, int c)
{
    int best = AMOUNT_UNSEEN;
    bool damaged = false;

    for (int s = 0; s < SIGN_COUNT; s++) {
        if ((mask >> s & 1u) == 0)
            continue;
        best = f->amount[c][s] > best ? f->amount[c][s] : best;
        damaged = damaged || (f->amount[c][s] > 0 && (f->damage >> s & 1u) != 0);
    }
    return best == AMOUNT_UNSEEN ? UNKNOWN : KNOWN(fmax(fact_amount_degree[best], damaged ? DAMAGE_TRACE : 0));
}

int fact_word(const struct reading *r, const struct fact_atom *a)
{
    if (a->list < 0)
        return a->which == 0 ? r->dries : r->as_book;
    switch ((enum words)a->list) {
    case WORDS_ELECTRODE: return r->electrode;
    case WORDS_WEAR_ON: return r->wear_on;
    case WORDS_INSULATOR: return r->insulator;
    case WORDS_SIDE: return r->heavier_side;
    case WORDS_TIGHTNESS: return r->tightness;
    case WORDS_TURNS: return r->threads_turns;
    default: return 0;
    }
}

static struct known word_at(const struct facts *f, const struct fact_atom *a, int c)
{
    struct known out = UNKNOWN;

    for (int p = 0; p < f->w->en->n_positions; p++) {
        const struct reading *r = plug_of(f, c, p);
        int v;

        if (a->list == WORDS_LEAK_HEARD) {
            if (r->leak_heard_given)
                out = KNOWN(fmax(out.degree, (r->leak_heard & (uint32_t)(a->mask >> 1)) != 0));
            continue;
        }
        v = fact_word(r, a);
        if (v != 0)
            out = KNOWN(fmax(out.degree, (a->mask >> v & 1u) != 0));
    }
    return out;
}

double fact_of_others(const struct facts *f, const double *x, int c)
{
    double rest[ENGINE_MAX_CYLINDERS];
    int n = 0;

    for (int i = 0; i < f->w->en->n_cylinders; i++)
        if (i != c && !isnan(x[i]))
            rest[n++] = x[i];
    return n >= 2 ? stats_median(rest, n) : NAN;
}

/* The nose's lightness speaks only where nothing else covers it. */
static bool nose_is_covered(const struct facts *f, int c)
{
    for (int s = 0; s <= SIGN_METAL_SPECKS; s++)
        if (s != SIGN_NORMAL && s != SIGN_DRY_CARBON && s != SIGN_PALE && s != SIGN_BLISTERED && f->amount[c][s] > 0)
            return true;
    return false;
}

/* Limits: compression by the 75 % rule, full at it and none from 88 % on, half where another rule that was chosen is failed, and by
 * itself from 690 kPa, the least any published rule asks for (GM Solstice 2006), fully at 550;
 * wet rise of a tenth (Ford Probe 1997); leak-down 12 to 30 %, differential 60/80 (AC 43.13-1B 8-14);
 * nose 10 to 20 L* from the others, by itself below 38 or above 84; distance 40,000 to 60,000 km for nickel,
 * twice that for precious metal (common practice, no source). */
static struct known number_at(const struct facts *f, enum fact_number which, int c)
{
    const struct engine_plug_spec *spec = &f->w->en->plug;
    double x, rest, degree = 0;
    bool known = false;

    switch (which) {
    case NUMBER_COMPRESSION_LOW:
        x = f->compression_kpa[c];
        if (isnan(x))
            return UNKNOWN;
        if (f->w->en->n_cylinders > 1 && isnan(fact_of_others(f, f->compression_kpa, c)) && f->highest_kpa <= x && x > FACT_POOR_KPA)
            return x > 800 ? KNOWN(0) : UNKNOWN;
        degree = fmax(ramp(x / f->highest_kpa, 0.88, 0.755), ramp(x, 690, FACT_POOR_KPA));
        return KNOWN((f->fails & BIT(c)) != 0 ? fmax(0.5, degree) : degree);
    case NUMBER_WET_RISE:
        if (isnan(f->compression_kpa[c]) || isnan(f->wet_kpa[c]) || f->compression_kpa[c] <= 0)
            return UNKNOWN;
        return KNOWN(ramp(f->wet_kpa[c] / f->compression_kpa[c], 1.06, 1.11));
    case NUMBER_LEAK_HIGH:
        if (isnan(f->leak_percent[c]) && isnan(f->differential[c]))
            return UNKNOWN;
        if (!isnan(f->leak_percent[c]))
            degree = ramp(f->leak_percent[c], 12, 30);
        if (!isnan(f->differential[c]))
            degree = fmax(degree, ramp(f->differential[c], 68, 59));
        return KNOWN(degree);
    case NUMBER_GAP_WIDE:
        rest = fact_of_others(f, f->gap_mm, c);
        return isnan(f->gap_mm[c]) || isnan(rest) ? UNKNOWN : KNOWN(ramp(f->gap_mm[c] - rest, 0.05, 0.18));
    case NUMBER_GAP_OVER:
        if (isnan(f->gap_mm[c]) || (spec->gap_max_mm <= 0 && spec->gap_limit_mm <= 0))
            return UNKNOWN;
        if (spec->gap_limit_mm > 0 && f->gap_mm[c] > spec->gap_limit_mm + 1e-9)
            return KNOWN(1);
        return KNOWN(spec->gap_max_mm > 0 ? ramp(f->gap_mm[c] - spec->gap_max_mm, 0.015, 0.12) : 0);
    case NUMBER_GAP_SMALL:
        if (isnan(f->gap_mm[c]))
            return UNKNOWN;
        rest = fact_of_others(f, f->gap_mm, c);
        if (spec->gap_min_mm > 0)
            degree = ramp(spec->gap_min_mm - f->gap_mm[c], 0.1, 0.4);
        return KNOWN(isnan(rest) ? degree : fmax(degree, ramp(rest - f->gap_mm[c], 0.2, 0.5)));
    case NUMBER_NOSE_DARK:
    case NUMBER_NOSE_LIGHT:
        x = f->nose_L[c];
        if (isnan(x) || nose_is_covered(f, c))
            return UNKNOWN;
        rest = fact_of_others(f, f->nose_L, c);
        if (which == NUMBER_NOSE_DARK)
            return KNOWN(fmax(isnan(rest) ? 0 : ramp(rest - x, 8, 20), ramp(x, 46, 36)));
        return KNOWN(fmax(isnan(rest) ? 0 : ramp(x - rest, 8, 18), ramp(x, 80, 88)));
    case NUMBER_DISTANCE_LONG:
        x = spec->electrode == ENGINE_PLATINUM || spec->electrode == ENGINE_IRIDIUM ? 2 : 1;
        for (int p = 0; p < f->w->en->n_positions; p++)
            if (plug_of(f, c, p)->plug_distance_m.given && f->w->v->odometer_unit != words_find(WORDS_ODOMETER_UNIT, "h")) {
                known = true;
                degree = fmax(degree, ramp(plug_of(f, c, p)->plug_distance_m.value, x * 30e6, x * 55e6));
            }
        return known ? KNOWN(degree) : UNKNOWN;
    case NUMBER_COUNT:
        break;
    }
    assert(false && "every number is handled");
    return UNKNOWN;
}

/* A misfire wherever it comes (P0300) may be at any cylinder: where it stands, one that no code names is not cleared. */
static struct known code_at(const struct facts *f, enum code_kind kind, int c)
{
    bool of_cylinder = kind == CODE_MISFIRE || kind == CODE_COIL || kind == CODE_INJECTOR, here = false, anywhere = false;

    for (int i = 0; i < f->w->v->n_codes; i++) {
        anywhere = anywhere || f->codes[i].kind == CODE_MISFIRE_ANY;
        if (f->codes[i].kind == kind)
            here = here || (f->codes[i].cylinders & BIT(c)) != 0 || (f->codes[i].cylinders == 0 && !of_cylinder);
    }
    if (kind == CODE_MISFIRE && anywhere && !here)
        return UNKNOWN;
    return f->w->v->n_codes > 0 ? KNOWN(here) : UNKNOWN;
}

static struct known test_at(const struct facts *f, const struct fact_atom *a, int c)
{
    struct known out = UNKNOWN;

    for (int i = 0; i < f->w->v->n_tests; i++) {
        const struct visit_test *t = &f->w->v->tests[i];

        if (t->cylinder == c && t->test == a->which)
            out = KNOWN((a->mask >> t->result & 1u) != 0);
    }
    return out;
}

/* Work on a carburettor was noted after some visit. */
static bool carburettor_work(const struct facts *f)
{
    for (int k = 0; k < f->w->r->n_visits; k++)
        for (int i = 0; i < f->w->r->visits[k].n_done; i++)
            if (f->w->r->visits[k].done[i].part == words_find(WORDS_DONE_PART, "carburettor"))
                return true;
    return false;
}

static struct known engine_is(const struct facts *f, enum fact_engine which)
{
    const struct engine *en = f->w->en;
    enum engine_ignition ig = en->ignition;

    switch (which) {
    case IS_COIL_PER_PLUG: return ig == ENGINE_IGNITION_UNKNOWN ? UNKNOWN : KNOWN(ig == ENGINE_COIL_PER_PLUG);
    case IS_SHARED_COIL: return ig == ENGINE_IGNITION_UNKNOWN ? UNKNOWN : KNOWN(ig == ENGINE_SHARED_COIL);
    case IS_LEADS: return ig == ENGINE_IGNITION_UNKNOWN ? UNKNOWN : KNOWN(ig != ENGINE_COIL_PER_PLUG);
    case IS_OPEN: return en->access == ENGINE_ACCESS_UNKNOWN ? UNKNOWN : KNOWN(en->access == ENGINE_ACCESS_OPEN);
    case IS_HOT_PLUG: return en->plug.heat_given ? KNOWN(en->plug.heat_steps > 0) : UNKNOWN;
    case IS_COLD_PLUG: return en->plug.heat_given ? KNOWN(en->plug.heat_steps < 0) : UNKNOWN;
    case IS_BOOK_PLUG: return en->plug.heat_given ? KNOWN(en->plug.heat_steps == 0) : UNKNOWN;
    case IS_CARBURETTOR: /* where the card says nothing and nothing else speaks for injection */
        return en->fuel <= ENGINE_CARBURETTOR && en->n_mixture_groups == 0 && ig != ENGINE_COIL_PER_PLUG && ig != ENGINE_SHARED_COIL && en->n_cylinders > 1 ? UNKNOWN : KNOWN(en->n_mixture_groups > 1);
    case IS_SINGLE: return KNOWN(en->n_cylinders == 1);
    case IS_TWO_STROKE: return KNOWN(en->strokes == 2);
    case IS_TIMED: return ig == ENGINE_IGNITION_UNKNOWN ? UNKNOWN : KNOWN(!engine_may_have_own_coils(en));
    case IS_AIR_COOLED: return engine_is_propeller_like(en) ? KNOWN(1) : UNKNOWN; /* others do not say */
    case IS_WITHOUT_INJECTORS: return en->fuel == ENGINE_FUEL_UNKNOWN ? UNKNOWN : KNOWN(engine_is_without_injectors(en));
    case IS_INJECTED: return en->fuel == ENGINE_FUEL_UNKNOWN ? UNKNOWN : KNOWN(en->fuel != ENGINE_CARBURETTOR);
    case IS_ONE_PLUG: return KNOWN(en->n_positions == 1);
    case IS_CARBURETTOR_WORK: return KNOWN(carburettor_work(f));
    case IS_COUNT: break;
    }
    assert(false && "every fact of the engine is handled");
    return UNKNOWN;
}

/* The latest earlier visit at which that zone was looked at. */
static struct known before_at(const struct facts *f, uint64_t mask, int c)
{
    for (int k = f->w->r->n_visits - 2; k >= 0; k--) {
        int best = AMOUNT_UNSEEN;

        for (int p = 0; p < f->w->en->n_positions; p++)
            for (int s = 0; s < SIGN_COUNT; s++)
                if ((mask >> s & 1u) != 0) {
                    int a = reading_shows(visit_reading_const(&f->w->r->visits[k], f->w->en, c, p), (enum sign)s);

                    best = a > best ? a : best;
                }
        if (best != AMOUNT_UNSEEN)
            return KNOWN(fact_amount_degree[best]);
    }
    return UNKNOWN;
}

static struct known done_at(const struct facts *f, const struct fact_atom *a, int c)
{
    if (f->before == NULL)
        return UNKNOWN;
    for (int i = 0; i < f->before->n_done; i++) {
        const struct visit_done *d = &f->before->done[i];

        if ((a->list == 0 || d->verb == a->list) && (a->mask >> d->part & 1u) != 0 && (d->cylinders & BIT(c)) != 0)
            return KNOWN(1);
    }
    return KNOWN(0);
}

double cause_trouble(const struct engine *en, const struct visit *v, int c)
{
    static const enum sign bad[] = {SIGN_DRY_CARBON, SIGN_FUEL_WET, SIGN_WASHED, SIGN_OIL_WET, SIGN_PALE, SIGN_BLISTERED};
    double sum = 0;

    for (int i = 0; i < v->n_codes; i++) {
        struct code code = code_read(en, v->codes[i]);

        if (code.kind == CODE_MISFIRE || code.kind == CODE_COIL)
            sum += (code.cylinders & BIT(c)) != 0 ? 3 : 0;
    }
    for (int i = 0; i < v->n_tests; i++)
        if (v->tests[i].cylinder == c)
            sum += visit_test_tells_fault(v->tests[i].test, v->tests[i].result) ? 3 : -1;
    for (int p = 0; p < en->n_positions; p++)
        for (size_t k = 0; k < sizeof bad / sizeof bad[0]; k++) {
            int a = reading_shows(visit_reading_const(v, en, c, p), bad[k]);

            sum += a > 1 ? a : 0;
        }
    return sum;
}

/* A code or a test names the cylinder: more than how its plug looks. */
static bool is_named(const struct engine *en, const struct visit *v, int c)
{
    for (int i = 0; i < v->n_codes; i++) {
        struct code code = code_read(en, v->codes[i]);

        if ((code.kind == CODE_MISFIRE || code.kind == CODE_COIL) && (code.cylinders & BIT(c)) != 0)
            return true;
    }
    for (int i = 0; i < v->n_tests; i++)
        if (v->tests[i].cylinder == c && visit_test_tells_fault(v->tests[i].test, v->tests[i].result))
            return true;
    return false;
}

bool fact_is_named(const struct facts *f, int cylinder)
{
    return is_named(f->w->en, f->w->v, cylinder);
}

/* Something shows how the cylinder does: its firing end, what was tried on it, or codes and a cylinder cut out without a
 * difference, which name those that miss and so speak of those they do not name. */
static bool is_read(const struct engine *en, const struct visit *v, int c)
{
    const int cut_out = words_find(WORDS_TEST, "cut-out");
    bool told = false, anywhere = false;

    for (int p = 0; p < en->n_positions; p++)
        if (visit_reading_const(v, en, c, p)->zone_seen[ZONE_FIRING_END] && !reading_has_not_run(visit_reading_const(v, en, c, p)))
            return true;
    for (int i = 0; i < v->n_tests; i++)
        if (v->tests[i].cylinder == c || (v->tests[i].test == cut_out && visit_test_tells_fault(v->tests[i].test, v->tests[i].result)))
            return true;
    for (int i = 0; i < v->n_codes; i++) {
        struct code code = code_read(en, v->codes[i]);

        told = told || ((code.kind == CODE_MISFIRE || code.kind == CODE_COIL) && code.cylinders != 0);
        anywhere = anywhere || code.kind == CODE_MISFIRE_ANY;
    }
    return (told && !anywhere) || cause_trouble(en, v, c) > 0;
}

struct swap_told cause_swap_told(const struct engine *en, const struct visit *was, const struct visit *now, const struct visit_done *d)
{
    double was_a = cause_trouble(en, was, d->from), was_b = cause_trouble(en, was, d->to);
    double at_from, at_to;
    struct swap_told out = {.from = was_a >= was_b ? d->from : d->to, .to = was_a >= was_b ? d->to : d->from};

    at_from = cause_trouble(en, now, out.from);
    at_to = cause_trouble(en, now, out.to);
    out.alike_before = was_a == was_b;
    out.none_now = at_from == at_to && at_from <= 0;
    out.both_now = !out.none_now && (at_from == at_to || (is_named(en, now, out.from) && is_named(en, now, out.to)));
    out.unread = !is_read(en, now, d->from) || !is_read(en, now, d->to);
    if (out.unread || out.alike_before || out.none_now || out.both_now)
        return out;
    out.followed = at_to > at_from;
    out.stayed = !out.followed;
    return out;
}

static bool same_pair(const struct visit_done *a, const struct visit_done *b)
{
    return a->from >= 0 && a->to >= 0 && ((a->from == b->from && a->to == b->to) || (a->from == b->to && a->to == b->from));
}

uint64_t cause_swap_moved(const struct visit *v, const struct visit_done *d)
{
    uint64_t moved = 0;
    bool noted = false;

    for (int i = 0; i < v->n_done; i++)
        if (v->done[i].verb == d->verb && same_pair(&v->done[i], d)) {
            moved ^= UINT64_C(1) << v->done[i].part;
            noted = noted || v->done[i].part == d->part;
        }
    return noted ? moved : moved | UINT64_C(1) << d->part;
}

void cause_swap_parts(uint64_t parts, const char *last, char *to, size_t n_room)
{
    to[0] = '\0';
    for (int part = 0; part < 64; part++)
        if ((parts >> part & 1u) != 0) {
            parts &= ~(UINT64_C(1) << part);
            text_format(to + strlen(to), n_room - strlen(to), "%s%s%s%s", to[0] == '\0' ? "" : parts != 0 ? ", " : " ", to[0] != '\0' && parts == 0 ? last : "",
                        to[0] != '\0' && parts == 0 ? " " : "", words_label(WORDS_DONE_PART, part));
        }
}

/* Parts moved together and the trouble with them; some of them were put back since, and it stayed: it is the one that is left. */
static bool is_left_over(const struct facts *f, const struct visit_done *back, uint64_t parts, int c)
{
    const struct record *r = f->w->r;
    const struct visit *first = r->n_visits > 2 ? &r->visits[r->n_visits - 3] : NULL;

    for (int i = 0; first != NULL && i < first->n_done; i++) {
        const struct visit_done *d = &first->done[i];
        uint64_t moved, left;
        struct swap_told told;

        if (d->verb != back->verb || !same_pair(d, back))
            continue;
        moved = cause_swap_moved(first, d);
        left = moved & ~cause_swap_moved(f->before, back);
        if (left == moved || left == 0 || (left & (left - 1)) != 0 || (left & parts) == 0)
            continue;
        told = cause_swap_told(f->w->en, first, f->before, d);
        if (told.followed && told.to == c)
            return true;
    }
    return false;
}

/* A part was swapped between two cylinders of which one gave trouble. At the cylinder that now holds
 * the suspect part: yes when the trouble came along. At the one it came from: no when it stayed. */
static struct known swap_at(const struct facts *f, uint64_t parts, int c)
{
    if (f->before == NULL)
        return UNKNOWN;
    for (int i = 0; i < f->before->n_done; i++) {
        const struct visit_done *d = &f->before->done[i];
        struct swap_told told;

        if (d->verb != words_find(WORDS_DONE_VERB, "swapped") || d->from < 0 || d->to < 0)
            continue;
        told = cause_swap_told(f->w->en, f->before, f->w->v, d);
        if (told.stayed && c == told.from && is_left_over(f, d, parts, c))
            return KNOWN(1);
        if ((parts & cause_swap_moved(f->before, d) & UINT64_C(1) << d->part) == 0)
            continue;
        if (told.followed && c == told.to)
            return KNOWN(1);
        if (told.stayed && c == told.from)
            return KNOWN(0);
    }
    return UNKNOWN;
}

/* Hanging down in a radial, where oil runs when it stands: more than 90 degrees from the first of the
 * ring, which is numbered from the top. */
static bool at_bottom(const struct engine *en, int c)
{
    const struct engine_bank *ring = &en->banks[en->cylinders[c].bank];

    return en->layout == ENGINE_RADIAL && fabs((double)(c - ring->first) / ring->n_cylinders - 0.5) < 0.25;
}

/* Cut out one after the other, another cylinder is the one that makes no difference. Of this one nothing was written down, as
 * people do of those that drop; where it was, that says it itself. */
static struct known dead_elsewhere(const struct facts *f, int c)
{
    const int cut_out = words_find(WORDS_TEST, "cut-out");
    bool elsewhere = false;

    for (int i = 0; i < f->w->v->n_tests; i++) {
        const struct visit_test *t = &f->w->v->tests[i];

        if (t->test != cut_out)
            continue;
        if (t->cylinder == c)
            return UNKNOWN;
        elsewhere = elsewhere || visit_test_tells_fault(t->test, t->result);
    }
    return elsewhere ? KNOWN(1) : UNKNOWN;
}

/* Codes name those that miss, and this is none of them. */
static struct known named_elsewhere(const struct facts *f, int c)
{
    return f->missing != 0 && (f->missing & BIT(c)) == 0 ? KNOWN(1) : UNKNOWN;
}

static struct known shape_at(const struct facts *f, enum fact_shape which, int c)
{
    switch (which) {
    case SHAPED_ALTERNATE: return f->alternate;
    case SHAPED_GRADED: return f->graded;
    case SHAPED_AS_BEFORE: return f->as_before;
    case SHAPED_CARRIED: return KNOWN((f->carried & BIT(c)) != 0);
    case SHAPED_RAN_DOWN: return KNOWN((f->ran_down & BIT(c)) != 0);
    case SHAPED_BOTTOM: return KNOWN(at_bottom(f->w->en, c));
    case SHAPED_DEAD_ELSEWHERE: return dead_elsewhere(f, c);
    case SHAPED_CODE_ELSEWHERE: return named_elsewhere(f, c);
    case SHAPED_DRAINED: return apart_drained(f->w);
    case SHAPED_IN_VAIN: return f->before == NULL ? UNKNOWN : KNOWN((f->in_vain & BIT(c)) != 0);
    case SHAPED_COUNT: break;
    }
    assert(false && "every shape is handled");
    return UNKNOWN;
}

static struct known listed(int value, uint64_t mask)
{
    return value != 0 ? KNOWN((mask >> value & 1u) != 0) : UNKNOWN;
}

static struct known visit_is(const struct facts *f, const struct fact_atom *a, int c)
{
    const struct visit *v = f->w->v;

    switch ((enum fact_visit)a->which) {
    case VISIT_LAST_RUN: return listed(v->last_run, a->mask);
    case VISIT_FUEL: return listed(v->fuel, a->mask);
    case VISIT_SOCKET: return listed(v->socket, a->mask);
    case VISIT_OIL_IN_INTAKE: return v->oil_in_intake != 0 ? KNOWN(v->oil_in_intake == 1) : UNKNOWN;
    case VISIT_OUTSIDE:
        if (!v->outside_seen)
            return UNKNOWN;
        for (int i = 0; i < v->n_outside; i++)
            if (v->outside[i].bank == f->w->en->cylinders[c].bank)
                return KNOWN(fact_amount_degree[v->outside[i].amount]);
        return KNOWN(0);
    case VISIT_FACT_COUNT: break;
    }
    assert(false && "every fact of the visit is handled");
    return UNKNOWN;
}

static struct known complained(const struct facts *f, uint64_t mask)
{
    const struct visit *v = f->w->v;

    for (int i = 0; i < v->n_complaints; i++)
        if ((mask >> v->complaints[i] & 1u) != 0)
            return KNOWN(1);
    /* who names one complaint has not said that there is no other */
    return v->complaints_given && !visit_complains(v) ? KNOWN(0) : UNKNOWN;
}

struct known fact_atom_at(const struct facts *f, const struct fact_atom *a, int c)
{
    switch (a->kind) {
    case FACT_SIGN: return sign_at(f, a->mask, c);
    case FACT_WORD: return word_at(f, a, c);
    case FACT_NUMBER: return number_at(f, (enum fact_number)a->which, c);
    case FACT_COMPLAINT: return complained(f, a->mask);
    case FACT_CODE: return code_at(f, (enum code_kind)a->which, c);
    case FACT_TEST: return test_at(f, a, c);
    case FACT_ENGINE: return engine_is(f, (enum fact_engine)a->which);
    case FACT_BEFORE: return before_at(f, a->mask, c);
    case FACT_DONE: return done_at(f, a, c);
    case FACT_SWAP: return swap_at(f, a->mask, c);
    case FACT_SHAPE: return shape_at(f, (enum fact_shape)a->which, c);
    case FACT_VISIT: return visit_is(f, a, c);
    case FACT_APART: return a->which == APART_ROW ? apart_row(f->w, a->mask, &(struct plug_row){0}) : apart_at(f->w, a->mask, c);
    }
    assert(false && "every kind is handled");
    return UNKNOWN;
}

struct known fact_at(const struct facts *f, const struct fact *x, int cylinder)
{
    struct known out = UNKNOWN;

    for (int i = 0; i < x->n; i++) {
        struct known k = fact_atom_at(f, &x->atoms[i], cylinder);

        if (k.known)
            out = KNOWN(fmax(out.degree, k.degree));
    }
    return out;
}

bool fact_is_between(const struct facts *f, const struct fact *x, int c)
{
    for (int i = 0; i < x->n; i++)
        if (x->atoms[i].kind == FACT_NUMBER && x->atoms[i].which == NUMBER_COMPRESSION_LOW && (f->not_normal & BIT(c)) != 0)
            return true;
    return false;
}

bool fact_zone_seen(const struct facts *f, uint64_t mask, int zone, int c)
{
    for (int s = 0; s < SIGN_COUNT; s++)
        if ((mask >> s & 1u) != 0 && (int)sign_row((enum sign)s)->zone == zone && f->amount[c][s] != AMOUNT_UNSEEN)
            return true;
    return false;
}

double fact_seen_share(const struct facts *f, const struct fact *x, int c)
{
    bool asked[ZONE_COUNT] = {false}, nose = false;
    uint64_t mask = 0;
    int n = 0, n_seen = 0;

    for (int i = 0; i < x->n; i++) {
        if (x->atoms[i].kind == FACT_SIGN)
            mask |= x->atoms[i].mask;
        nose = nose || (x->atoms[i].kind == FACT_NUMBER && fact_atom_at(f, &x->atoms[i], c).known);
    }
    for (int s = 0; s < SIGN_COUNT; s++)
        if ((mask >> s & 1u) != 0)
            asked[sign_row((enum sign)s)->zone] = true;
    for (int z = 0; z < ZONE_COUNT; z++) {
        bool seen = asked[z] && (fact_zone_seen(f, mask, z, c) || (z == ZONE_FIRING_END && nose));
        bool none = (z == ZONE_LEAD && !engine_may_have_leads(f->w->en)) || (z == ZONE_COIL && !engine_may_have_own_coils(f->w->en)) ||
                    (z == ZONE_WELL && !engine_may_have_wells(f->w->en));

        n += asked[z] && (seen || !none);
        n_seen += seen;
    }
    return n > 0 ? (double)n_seen / n : 1;
}

bool fact_is_global(const struct fact *x)
{
    for (int i = 0; i < x->n; i++) {
        const struct fact_atom *a = &x->atoms[i];
        bool shape = a->kind == FACT_SHAPE && (a->which == SHAPED_ALTERNATE || a->which == SHAPED_GRADED || a->which == SHAPED_AS_BEFORE || a->which == SHAPED_DRAINED);
        bool visit = a->kind == FACT_VISIT && a->which != VISIT_OUTSIDE;
        bool row = a->kind == FACT_APART && a->which == APART_ROW;

        if (a->kind != FACT_COMPLAINT && a->kind != FACT_ENGINE && !shape && !row && !visit && !(a->kind == FACT_CODE && a->which == CODE_MISFIRE_ANY))
            return false;
    }
    return true;
}
