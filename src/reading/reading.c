/* reading.c - one reading from beginning to end. */
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/clock.h"
#include "base/err.h"
#include "base/units.h"
#include "reading/job.h"
#include "reading/reading_work.h"
#include "reading/refit.h"
#include "record/ready.h"

/* ---- shared by the steps ---- */

static void *grow(struct arena *a, void *items, int n, int *room, size_t n_bytes)
{
    if (n == *room) {
        int more = *room ? *room * 2 : 16;
        void *bigger = arena_alloc(a, (size_t)more, n_bytes);

        if (n > 0)
            memcpy(bigger, items, (size_t)n * n_bytes);
        *room = more;
        return bigger;
    }
    return items;
}

struct stand_out *work_add_stand_out(struct work *w)
{
    struct findings *f = w->f;

    f->stand_outs = grow(w->a, f->stand_outs, f->n_stand_outs, &w->stand_room, sizeof *f->stand_outs);
    struct stand_out *s = &f->stand_outs[f->n_stand_outs++];

    s->position = -1;
    s->sign = -1;
    s->pattern = -1;
    return s;
}

struct pattern *work_add_pattern(struct work *w)
{
    struct findings *f = w->f;

    f->patterns = grow(w->a, f->patterns, f->n_patterns, &w->pattern_room, sizeof *f->patterns);
    return &f->patterns[f->n_patterns++];
}

void work_add_line(struct work *w, struct lines *lines, const char *fmt, ...)
{
    char line[600];
    char **more = arena_alloc(w->a, (size_t)lines->n + 1, sizeof *more);
    va_list args;

    va_start(args, fmt);
    vsnprintf(line, sizeof line, fmt, args);
    va_end(args);
    if (lines->n > 0)
        memcpy(more, lines->text, (size_t)lines->n * sizeof *more);
    more[lines->n] = arena_text(w->a, line);
    lines->text = more;
    lines->n++;
}

int work_cylinder(const struct work *w, int plug)
{
    return plug / w->en->n_positions;
}

int work_position(const struct work *w, int plug)
{
    return plug % w->en->n_positions;
}

/* Plugs that were put back, cleaned or not, are no repair, nor are parts that two cylinders exchanged. */
engine_set work_repaired(const struct work *w, engine_set set)
{
    const struct visit *before = w->r->n_visits > 1 ? &w->r->visits[w->r->n_visits - 2] : NULL;
    const int replaced = words_find(WORDS_DONE_VERB, "replaced"), swapped = words_find(WORDS_DONE_VERB, "swapped"), adjusted = words_find(WORDS_DONE_VERB, "adjusted"), plug = words_find(WORDS_DONE_PART, "plug");
    engine_set out = 0;

    for (int i = 0; before != NULL && i < before->n_done; i++) {
        const struct visit_done *d = &before->done[i];
        bool every = d->all || __builtin_popcount(d->cylinders) == w->en->n_cylinders;

        if (!every && d->verb != swapped && (d->part != plug || d->verb == replaced || d->verb == adjusted))
            out |= d->cylinders & set;
    }
    return out;
}

bool work_may_be_manner(const struct work *w, engine_set differ)
{
    return !visit_complains(w->v) && work_repaired(w, differ) == 0;
}

/* As the case format writes places. */
void work_where(const struct work *w, engine_set set, int position, char *to, size_t n_room)
{
    const struct engine *en = w->en;
    engine_set all = 0;
    struct text t = {0};
    int cylinders[ENGINE_MAX_CYLINDERS], n = engine_set_list(en, set, cylinders);

    for (int i = 0; i < en->n_cylinders; i++)
        all |= (engine_set)1 << i;
    if (set == 0 || (set == all && n > 1)) {
        text_copy(to, n_room, "engine");
        return;
    }
    if (en->n_banks > 1)
        for (int b = 0; b < en->n_banks; b++)
            if (set == engine_bank_set(en, b) && n > 1) {
                text_format(to, n_room, "bank %s", en->banks[b].name);
                return;
            }
    if (position >= 0 && en->n_positions > 1 && n == 1)
        text_add(&t, "plug ");
    else
        text_add(&t, n == 1 ? "cylinder " : "cylinders ");
    for (int i = 0; i < n; i++)
        text_addf(&t, "%s%s", i > 0 ? ", " : "", en->cylinders[cylinders[i]].label);
    if (position >= 0 && en->n_positions > 1 && n == 1)
        text_addf(&t, " %s", en->position_names[position]);
    text_copy(to, n_room, text_get(&t));
    text_release(&t);
}

engine_set work_bottom(const struct engine *en)
{
    engine_set set = 0;

    for (int c = 0; c < en->n_cylinders && en->layout == ENGINE_RADIAL; c++) {
        int bank = en->cylinders[c].bank;
        double from_top_deg = 360.0 * (en->cylinders[c].place + (bank % 2 ? 0.5 : 0.0)) / en->banks[bank].n_cylinders; /* rows stand staggered, as drawn */

        if (fabs(from_top_deg - 180) <= 65)
            set |= (engine_set)1 << c;
    }
    return set;
}

void work_plugs_words(const struct work *w, const bool *plugs, char *to, size_t n_room)
{
    const struct engine *en = w->en;
    engine_set set = 0, whole = 0;
    uint32_t positions = 0;
    int n_plugs = 0, cylinders[ENGINE_MAX_CYLINDERS], n;
    struct text t = {0};
    char words[160];

    for (int c = 0; c < en->n_cylinders; c++) {
        int n_here = 0;

        for (int p = 0; p < en->n_positions; p++)
            if (plugs[record_plug_index(en, c, p)]) {
                n_here++;
                positions |= 1u << p;
            }
        n_plugs += n_here;
        if (n_here > 0)
            set |= (engine_set)1 << c;
        if (n_here == en->n_positions)
            whole |= (engine_set)1 << c;
    }
    engine_set_words(en, set, words, sizeof words);
    n = engine_set_list(en, set, cylinders);
    if (set == whole) { /* every plug of these cylinders */
        text_add(&t, words);
    } else if (n_plugs > 1 && n_plugs == n && (positions & (positions - 1)) == 0) {
        text_addf(&t, "%s plugs of %s", en->position_names[__builtin_ctz(positions)], words);
    } else {
        int k = 0;

        text_add(&t, n_plugs == 1 ? "plug " : "plugs ");
        for (int i = 0; i < n; i++)
            for (int p = 0; p < en->n_positions; p++)
                if (plugs[record_plug_index(en, cylinders[i], p)]) {
                    text_addf(&t, "%s%s %s", k == 0 ? "" : k + 1 == n_plugs ? " and " : ", ", en->cylinders[cylinders[i]].label, en->position_names[p]);
                    k++;
                }
    }
    text_copy(to, n_room, text_get(&t));
    text_release(&t);
}

void work_gap(const struct work *w, double mm, char *to, size_t n_room)
{
    unit_tell_length(&w->options->units, mm, true, to, n_room);
}

void work_pressure(const struct work *w, double kpa, bool with_unit, char *to, size_t n_room)
{
    unit_tell_pressure(&w->options->units, kpa, with_unit, to, n_room);
}

/* The simplest fraction within 3 % of the chance, up to a denominator of 20; above that 1 in N. */
void work_odds(double chance, char *to, size_t n_room)
{
    char number[32];

    if (chance >= 0.995) {
        text_copy(to, n_room, "always");
        return;
    }
    for (int d = 2; d <= 20; d++) {
        int k = (int)lround(chance * d);

        if (k >= 1 && k < d && fabs((double)k / d - chance) < 0.03 * chance) {
            text_format(to, n_room, "%d in %d", k, d);
            return;
        }
    }
    text_from_count(number, sizeof number, lround(1 / fmax(chance, 1e-12)));
    text_format(to, n_room, "1 in %s", number);
}

/* ---- order: gravest first, then what is rarer by luck, then place ---- */

static int graver_first(const void *pa, const void *pb)
{
    const struct stand_out *a = pa, *b = pb;
    int bits_a = __builtin_popcount(a->cylinders), bits_b = __builtin_popcount(b->cylinders);

    if (a->level != b->level)
        return a->level > b->level ? -1 : 1;
    if ((a->pattern >= 0) != (b->pattern >= 0))
        return a->pattern >= 0 ? -1 : 1;
    if ((a->sign == SIGN_WELL_OIL) != (b->sign == SIGN_WELL_OIL)) /* where it comes from before what it wets */
        return a->sign == SIGN_WELL_OIL ? -1 : 1;
    if (bits_a != bits_b)
        return bits_a > bits_b ? -1 : 1;
    if (a->cylinders != b->cylinders)
        return a->cylinders < b->cylinders ? -1 : 1;
    return strcmp(a->measure, b->measure);
}

/* What a fuller entry says already is not said again: the conditions a pattern covers, a gap over the
 * range that is also unlike its neighbours, a reading unlike the others that fails its rule. */
static void drop_said_twice(struct work *w)
{
    struct findings *f = w->f;
    int n = 0;

    for (int i = 0; i < f->n_stand_outs; i++) {
        const struct stand_out *s = &f->stand_outs[i];
        bool said = false;

        for (int k = 0; k < f->n_stand_outs && !said; k++) {
            const struct stand_out *o = &f->stand_outs[k];

            if (s->kind == STAND_CONDITION && s->pattern < 0 && o->pattern >= 0 && o->sign == s->sign)
                said = (s->cylinders & ~o->cylinders) == 0;
            if (s->kind == STAND_GAP && s->level <= LEVEL_WATCH && o->kind == STAND_UNLIKE_NEIGHBOURS && strcmp(o->measure, "gap") == 0)
                said = s->cylinders == o->cylinders && s->level <= o->level;
            if (s->kind == STAND_UNLIKE_NEIGHBOURS && strcmp(s->measure, "gap") == 0 && o->kind == STAND_GAP && o->level > s->level && s->value.given && refit_is_worn(&w->en->plug, s->value.value))
                said = (s->cylinders & ~o->cylinders) == 0; /* past the limit: that it is wider than the others adds nothing */
            if (s->kind == STAND_UNLIKE_NEIGHBOURS && o->kind == STAND_COMPRESSION && o->level >= s->level && strcmp(o->measure, s->measure) == 0)
                said = (s->cylinders & ~o->cylinders) == 0;
        }
        if (!said)
            f->stand_outs[n++] = *s;
    }
    f->n_stand_outs = n;
}

/* Where liquid may stand in the cylinder, as "do not start" has it (record/ready.h), and the bottom cylinders of a radial that
 * stood: oil drains there. What was there when the engine was turned by hand is over, as all of it is once it ran. */
static engine_set may_hold_liquid(const struct work *w)
{
    const bool turned = w->v->state.turned == TURN_DONE;
    bool ran = false;
    struct ready_liquid found = {0};
    engine_set set;

    if (w->v->state.ran) { /* a tick, which holes that stand open contradict */
        struct ready *ready = mem_alloc(1, sizeof *ready);

        ready_of(w->r, ready);
        ran = ready_ran_by_tick(w->r, ready, w->r->n_visits - 1);
        free(ready);
    }
    if (ran)
        return 0;
    ready_liquid_of(w->v, w->en, &found);
    set = ready_liquid_set(&found);
    for (int i = 0; turned && i < record_plug_count(w->en); i++)
        if (w->v->readings[i].turned_out)
            set &= ~((engine_set)1 << w->v->readings[i].cylinder);
    return !turned && w->v->last_run != 0 && w->v->last_run == words_find(WORDS_LAST_RUN, "stored") ? set | work_bottom(w->en) : set;
}

static void caution_liquid(struct work *w)
{
    engine_set set = may_hold_liquid(w);
    char words[160];

    if (set == 0)
        return;
    engine_set_words(w->en, set, words, sizeof words);
    work_add_line(w, &w->f->advice,
                  "Before cranking, turn the engine two full turns by hand with the plugs out: %s may hold liquid, which cannot be "
                  "compressed. Cranked against it a rod bends.%s",
                  words, (set & work_bottom(w->en)) != 0 ? " Oil drains to the bottom cylinders of a radial while it stands." : "");
}

static void caution_propeller(struct work *w)
{
    static const char *const ids[] = {"propeller", "aviation"};

    for (size_t i = 0; engine_is_propeller_like(w->en) && i < sizeof ids / sizeof ids[0]; i++)
        work_add_line(w, &w->f->advice, "%s", job_caution_find(ids[i])->text);
}

static void cautions(struct work *w)
{
    engine_set wet = 0;

    for (int i = 0; i < record_plug_count(w->en); i++) {
        const struct reading *r = &w->v->readings[i];

        if (w->v->state.dried || r->refit == words_find(WORDS_REFIT, "torqued"))
            continue; /* nothing is unscrewed there any more */
        if (r->amount[SIGN_WELL_OIL] > 0 || r->amount[SIGN_WELL_WATER] > 0 || r->amount[SIGN_WELL_FUEL] > 0)
            wet |= (engine_set)1 << r->cylinder;
    }
    caution_liquid(w);
    caution_propeller(w);
    if (wet != 0)
        work_add_line(w, &w->f->advice, "Dry the wells before unscrewing: what stands in them falls into the cylinder.");
    for (int i = 0; i < w->f->n_stand_outs; i++)
        if (w->f->stand_outs[i].level == LEVEL_STOP) {
            work_add_line(w, &w->f->advice, "Do not run the engine before this is settled: %s.", w->f->stand_outs[i].headline);
            break;
        }
    if (w->f->n_stand_outs > 0)
        work_add_line(w, &w->f->advice, "A reading is a pointer, not a verdict. Confirm by test before buying parts; the maker's manual and a licensed mechanic come first.");
}

/* The last time it went back, or on by more than can be; kept as it is noted, but no growth and no run of a part is computed across it. */
static void odometer_breaks(struct work *w)
{
    for (int k = w->r->n_visits - 1; k > 0; k--) {
        int before = record_odometer_breaks(w->r, k);
        char was[40], is[40], on[32];

        if (before < 0)
            continue;
        visit_format_odometer(w->r->visits[before].odometer_m, w->r->visits[before].odometer_unit, was, sizeof was);
        visit_format_odometer(w->r->visits[k].odometer_m, w->r->visits[k].odometer_unit, is, sizeof is);
        clock_date_words(w->r->visits[before].date, on, sizeof on);
        work_add_line(w, &w->f->notes, "The odometer went %s, from %s%s%s%s to %s: a slip, or another instrument. Growth of gaps and runs of parts are not computed across it.",
                      record_odometer_back(w->r, k) >= 0 ? "back" : "on by more than it can have run in the days between", was, on[0] ? " (" : "", on, on[0] ? ")" : "", is);
        return;
    }
}

/* It counted hours when it was read last, and distance now, or the other way round. */
static void odometer_counts_otherwise(struct work *w)
{
    const int hours = words_find(WORDS_ODOMETER_UNIT, "h");
    const struct visit *now = record_current(w->r), *v = NULL;
    char was[40], is[40], on[32];

    for (int k = w->r->n_visits - 2; k >= 0 && v == NULL; k--)
        if (w->r->visits[k].odometer_m.given)
            v = &w->r->visits[k];
    if (v == NULL || !now->odometer_m.given || (v->odometer_unit == hours) == (now->odometer_unit == hours))
        return;
    visit_format_odometer(v->odometer_m, v->odometer_unit, was, sizeof was);
    visit_format_odometer(now->odometer_m, now->odometer_unit, is, sizeof is);
    clock_date_words(v->date, on, sizeof on);
    work_add_line(w, &w->f->notes, "The odometer shows %s, and showed %s%s%s%s: hours and distance cannot be set against each other. Growth of gaps and runs of parts are not computed across it.",
                  is, was, on[0] ? " (" : "", on, on[0] ? ")" : "");
}

static void what_cannot_be_said(struct work *w)
{
    const struct visit *v = record_current(w->r);
    int n = record_plug_count(w->en), n_read = visit_plugs_read(v, n), n_said = 0;
    bool new_ones[ENGINE_MAX_PLUGS] = {false};
    int n_new = 0;
    char words[200];

    for (int i = 0; i < n; i++) {
        n_said += v->readings[i].present;
        new_ones[i] = reading_has_not_run(&v->readings[i]);
        n_new += new_ones[i];
    }
    if (n_new > 0) {
        work_plugs_words(w, new_ones, words, sizeof words);
        work_add_line(w, &w->f->notes, "New plugs that have not run since they were fitted (%s): that they are pale and clean tells nothing of the engine yet.", n_new == n && n > 1 ? "all" : words);
    }
    if (n_said == 0)
        work_add_line(w, &w->f->notes, "Nothing is read yet.");
    else if (n_read == 0)
        work_add_line(w, &w->f->notes, "No plug is read yet: what was noted beside them is judged alone.");
    else if (n_read < n)
        work_add_line(w, &w->f->notes, "%d of %d plugs are read; the others count as not looked at.", n_read, n);
    odometer_breaks(w);
    odometer_counts_otherwise(w);
    if (w->en->n_cylinders == 1)
        work_add_line(w, &w->f->notes, "With one cylinder there are no neighbours: only the reading itself and earlier visits can speak.");
    else if (w->en->n_cylinders <= 3)
        work_add_line(w, &w->f->notes, "With %d cylinders no pattern can be told from luck: the smallest odds there are is 1 in %d.", w->en->n_cylinders, w->en->n_cylinders);
}

/* The visit as it speaks for the engine: of plugs that were read as they went in, what they do not show as new ones. */
static const struct visit *evidence(struct work *w)
{
    const struct visit *v = record_current(w->r);
    struct visit *kept = NULL;

    for (int i = 0; i < record_plug_count(w->en); i++)
        if (reading_has_not_run(&v->readings[i])) {
            if (kept == NULL) {
                kept = arena_alloc(w->a, 1, sizeof *kept);
                *kept = *v;
            }
            reading_keep_evidence(&kept->readings[i]);
        }
    return kept != NULL ? kept : v;
}

/* What is measured, carried over and left out, before anything is said of it. */
static struct work *begin(const struct record *r, const struct reading_options *options, struct findings *out)
{
    struct work *w = mem_alloc(1, sizeof *w);

    memset(out, 0, sizeof *out);
    out->memory = arena_create();
    w->r = r;
    w->en = &r->engine;
    w->options = options;
    w->f = out;
    w->a = out->memory;
    w->v = evidence(w);
    w->n_measures = measure_collect(r, w->v, w->measures);
    for (int i = 0; i < w->n_measures; i++)
        measure_tell_in(&w->measures[i], w->options);
    work_wear_measure(w);
    work_carry_over(w);
    return w;
}

/* What stands out at single plugs. */
static void say_of_plugs(struct work *w)
{
    work_conditions(w);
    work_gaps(w);
    work_unlike(w);
    work_compression(w);
}

void reading_levels(const struct record *r, enum level levels[])
{
    const struct reading_options options = {.first_answer = true};
    struct findings f;
    struct work *w = begin(r, &options, &f);

    say_of_plugs(w);
    drop_said_twice(w);
    for (int c = 0; c < r->engine.n_cylinders; c++)
        levels[c] = findings_level(&f, c);
    free(w);
    findings_release(&f);
}

bool reading_run(const struct record *r, const struct reading_options *options, struct findings *out, struct err *e)
{
    struct work *w = begin(r, options, out);
    bool fine = work_patterns(w, e);

    if (fine) {
        say_of_plugs(w);
        work_wear(w);
        work_pattern_stand_outs(w);
        drop_said_twice(w);
        if (out->n_stand_outs > 0)
            qsort(out->stand_outs, (size_t)out->n_stand_outs, sizeof *out->stand_outs, graver_first);
        work_causes(w);
        cautions(w);
        what_cannot_be_said(w);
    } else {
        findings_release(out);
    }
    free(w);
    return fine;
}
