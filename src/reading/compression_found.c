/* compression_found.c - what the compression, wet compression, leak-down and differential readings of a
 * visit say, each by the published rule it names. */
#include <assert.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/units.h"
#include "reading/compression.h"
#include "reading/pressure.h"
#include "reading/reading_work.h"

#define BIT(i) ((engine_set)1 << (i))
/* "About zero": nothing but the gauge's own push (common practice, no source for the figure). */
#define NOTHING_KPA 150

/* The readings of the cylinders, NAN where none was taken. */
struct pressures {
    double dry[ENGINE_MAX_CYLINDERS], wet[ENGINE_MAX_CYLINDERS];
    uint32_t heard[ENGINE_MAX_CYLINDERS];
    engine_set dry_given, wet_given, rises, leak_given;
    double list[ENGINE_MAX_CYLINDERS]; /* the dry ones that were taken */
    int n;
    const struct compression_rule *rule;
};

static void gather(const struct work *w, struct pressures *p)
{
    memset(p, 0, sizeof *p);
    for (int i = 0; i < record_plug_count(w->en); i++) {
        const struct reading *r = &w->v->readings[i];
        engine_set bit = BIT(r->cylinder);

        if (r->compression_kpa.given && (p->dry_given & bit) == 0) {
            p->dry[r->cylinder] = p->list[p->n++] = r->compression_kpa.value;
            p->dry_given |= bit;
        }
        if (r->compression_wet_kpa.given && (p->wet_given & bit) == 0) {
            p->wet[r->cylinder] = r->compression_wet_kpa.value;
            p->wet_given |= bit;
        }
        if (r->leak_percent.given || r->differential_over_80.given)
            p->leak_given |= bit;
        if (r->leak_heard_given)
            p->heard[r->cylinder] |= r->leak_heard;
    }
    for (int c = 0; c < w->en->n_cylinders; c++)
        if ((p->dry_given & p->wet_given & BIT(c)) != 0 && compression_rises_wet(p->dry[c], p->wet[c]))
            p->rises |= BIT(c);
    p->rule = compression_rule_find(w->options->compression_rule);
    assert(p->rule != NULL);
}

static struct stand_out *add(struct work *w, engine_set set, const char *measure, const char *unit, enum level level)
{
    struct stand_out *s = work_add_stand_out(w);

    s->kind = STAND_COMPRESSION;
    s->cylinders = set;
    work_where(w, set, -1, s->where, sizeof s->where);
    text_copy(s->measure, sizeof s->measure, measure);
    text_copy(s->unit, sizeof s->unit, unit);
    s->level = level;
    return s;
}

static void more(struct stand_out *s, const char *words)
{
    size_t n = strlen(s->text);

    text_copy(s->text + n, sizeof s->text - n, words);
}

/* What oil did to a low cylinder. */
static void wet_words(const struct work *w, const struct pressures *p, int c, struct stand_out *s)
{
    char line[160], wet[24];
    double rise;

    if ((p->wet_given & BIT(c)) == 0)
        return;
    work_pressure(w, p->wet[c], true, wet, sizeof wet);
    rise = p->dry[c] > 0 ? 100 * (p->wet[c] / p->dry[c] - 1) : 0;
    text_format(line, sizeof line, " With oil %s (%+.0f %%): %s.", wet, rise,
                (p->rises & BIT(c)) != 0 ? "it rises, so rings or bore" : "it hardly rises, so a valve, the head gasket or a broken ring");
    more(s, line);
}

static void heard_words(const struct pressures *p, int c, struct stand_out *s)
{
    static const char *const means[] = {"the intake valve", "the exhaust valve", "the rings", "the head gasket or a crack", "the gasket between the two cylinders"};
    int n_rows;
    const struct word *rows = words_rows(WORDS_LEAK_HEARD, &n_rows);

    assert(n_rows == (int)(sizeof means / sizeof means[0]));
    for (int i = 0; i < n_rows; i++)
        if ((p->heard[c] >> i & 1u) != 0) {
            char line[120];

            text_format(line, sizeof line, " %s %s: %s.", i == 3 ? "Seen:" : "Heard", rows[i].label, means[i]);
            more(s, line);
        }
}

static bool none_heard(const struct pressures *p, engine_set set)
{
    for (int c = 0; c < ENGINE_MAX_CYLINDERS; c++)
        if ((set & BIT(c)) != 0 && p->heard[c] != 0)
            return false;
    return true;
}

static void missing(struct work *w, const struct pressures *p, engine_set set, struct stand_out *s)
{
    if ((set & ~p->wet_given) != 0)
        work_add_line(w, &s->missing, "wet compression: a rise of a tenth or more points at rings or bore");
    if ((set & ~p->leak_given) != 0)
        work_add_line(w, &s->missing, "leak-down: where the air is heard tells valve, rings and gasket apart");
    if (p->n < w->en->n_cylinders)
        work_add_line(w, &s->missing, "compression of the %d cylinders not measured", w->en->n_cylinders - p->n);
}

static void name_rule(struct stand_out *s, const struct pressures *p)
{
    text_format(s->odds, sizeof s->odds, "rule: %s", p->rule->words);
    text_format(s->how, sizeof s->how,
                "Rule “%s”: %s (%s). Published rules differ; another can be chosen in the settings, and the engine maker's own figure "
                "comes first. Printed limits are rounded, so half a unit of the limit and of the readings is forgiven.",
                p->rule->id, p->rule->words, p->rule->source);
}

static void low_one(struct work *w, const struct pressures *p, int c, double limit)
{
    struct stand_out *s = add(w, BIT(c), "compression", "kPa", LEVEL_ACT);
    char value[24], least[24];

    s->value = MAYBE(p->dry[c]);
    s->reference = MAYBE(limit);
    work_pressure(w, p->dry[c], true, value, sizeof value);
    work_pressure(w, limit, true, least, sizeof least);
    text_format(s->headline, sizeof s->headline, "Compression of %s is low", w->en->cylinders[c].label);
    text_copy(s->text, sizeof s->text, value);
    if (w->en->n_banks > 1) {
        more(s, " (bank ");
        more(s, w->en->banks[w->en->cylinders[c].bank].name);
        more(s, ")");
    }
    more(s, "; at least ");
    more(s, least);
    more(s, " by the rule.");
    if (p->dry[c] < NOTHING_KPA)
        more(s, " About nothing: a holed piston, a burnt or stuck-open valve or a broken valve train.");
    wet_words(w, p, c, s);
    heard_words(p, c, s);
    name_rule(s, p);
    missing(w, p, BIT(c), s);
}

/* Two neighbours of one bank low, and oil does not help: the gasket between them (Pontiac Solstice 2006,
 * Ford LSG-875 p. I-08, Ford Probe 1997). */
static void low_pair(struct work *w, const struct pressures *p, int c, int d, double limit)
{
    engine_set set = BIT(c) | BIT(d);
    struct stand_out *s = add(w, set, "compression", "kPa", LEVEL_ACT);
    char one[24], other[24], least[24], words[160];

    s->value = MAYBE(fmin(p->dry[c], p->dry[d]));
    s->reference = MAYBE(limit);
    work_pressure(w, p->dry[c], false, one, sizeof one);
    work_pressure(w, p->dry[d], true, other, sizeof other);
    work_pressure(w, limit, true, least, sizeof least);
    text_format(s->headline, sizeof s->headline, "Compression of %s and %s is low, and they are neighbours", w->en->cylinders[c].label, w->en->cylinders[d].label);
    text_format(s->text, sizeof s->text, "%s and %s; at least %s by the rule.", one, other, least);
    if (w->en->n_banks > 1) {
        text_format(words, sizeof words, " Both in bank %s.", w->en->banks[w->en->cylinders[c].bank].name);
        more(s, words);
    }
    more(s, (p->wet_given & set) == set ? " Oil does not raise them: the head gasket between them." : " The head gasket between them is the first suspect, if oil does not raise them.");
    heard_words(p, c, s);
    heard_words(p, d, s);
    name_rule(s, p);
    missing(w, p, set, s);
}

static void whole_set(struct work *w, const struct pressures *p, engine_set low, double limit)
{
    struct stand_out *s = add(w, low, "compression", "kPa", LEVEL_WATCH);
    int highest = 0, lowest = 0, n_floor = 0;
    char high[24], least[24], floor[24];
    bool any = false;

    for (int c = 0; c < w->en->n_cylinders; c++)
        if ((p->dry_given & BIT(c)) != 0) {
            highest = !any || p->dry[c] > p->dry[highest] ? c : highest;
            lowest = !any || p->dry[c] < p->dry[lowest] ? c : lowest;
            any = true;
            n_floor += p->rule->floor_kpa > 0 && p->dry[c] < p->rule->floor_kpa - 1;
        }
    s->value = MAYBE(p->dry[lowest]);
    s->reference = MAYBE(limit);
    work_pressure(w, p->dry[highest], true, high, sizeof high);
    work_pressure(w, p->dry[lowest], true, least, sizeof least);
    if (n_floor * 2 > p->n) {
        work_pressure(w, p->rule->floor_kpa, true, floor, sizeof floor);
        text_copy(s->headline, sizeof s->headline, "Compression is low on most cylinders");
        text_format(s->text, sizeof s->text, "From %s to %s, at least %s by the rule. Evenly low and better with oil: worn; not better: valve timing. "
                    "First look at the test itself: throttle open, battery full, engine warm.", least, high, floor);
    } else {
        text_copy(s->headline, sizeof s->headline, "Compression differs more than the rule lets");
        text_format(s->text, sizeof s->text, "Highest %s at %s, lowest %s at %s; most cylinders lie under the limit, so the high one may be the odd one: "
                    "carbon in the chamber raises it, and so does oil.", high, w->en->cylinders[highest].label, least, w->en->cylinders[lowest].label);
    }
    name_rule(s, p);
    missing(w, p, low, s);
}

/* Gives those that are. */
static engine_set low_ones(struct work *w, const struct pressures *p)
{
    double limit = compression_limit_kpa(p->rule, p->list, p->n);
    engine_set low = 0, told = 0;
    int n_low = 0;

    for (int c = 0; c < w->en->n_cylinders; c++)
        if ((p->dry_given & BIT(c)) != 0 && (!compression_passes(p->rule, p->list, p->n, p->dry[c]) || p->dry[c] < NOTHING_KPA)) {
            low |= BIT(c);
            n_low++;
        }
    if (p->n > 2 && n_low * 2 > p->n) {
        whole_set(w, p, low, limit);
        return low;
    }
    for (int c = 0; c + 1 < w->en->n_cylinders; c++)
        for (int d = c + 1; d < w->en->n_cylinders; d++)
            if ((low >> c & low >> d & 1u) != 0 && (engine_kin(w->en, c, ENGINE_KIN_ADJACENT) & BIT(d)) != 0 &&
                (p->rises & (BIT(c) | BIT(d))) == 0) {
                low_pair(w, p, c, d, limit);
                told |= BIT(c) | BIT(d);
            }
    for (int c = 0; c < w->en->n_cylinders; c++)
        if ((low & ~told & BIT(c)) != 0)
            low_one(w, p, c, limit);
    return low;
}

/* All under what another published rule asks of each, while the chosen one only compares them: an evenly worn engine
 * passes that. An old engine of low compression may read so too, hence no more than a note. */
static void evenly_low(struct work *w, const struct pressures *p)
{
    const struct compression_rule *strict = compression_rule_of_least_floor();
    double highest = 0;
    struct stand_out *s;
    char high[24], least[24];

    for (int i = 0; i < p->n; i++)
        highest = fmax(highest, p->list[i]);
    if (strict == NULL || p->rule->floor_kpa > 0 || highest >= strict->floor_kpa - 1)
        return;
    s = add(w, p->dry_given, "compression", "kPa", LEVEL_NOTE);
    s->value = MAYBE(highest);
    s->reference = MAYBE(strict->floor_kpa);
    work_pressure(w, highest, true, high, sizeof high);
    work_pressure(w, strict->floor_kpa, true, least, sizeof least);
    text_copy(s->headline, sizeof s->headline, p->n > 1 ? "Compression is low on all that were measured" : "Compression is low");
    text_format(s->text, sizeof s->text,
                "%s%s, where a published rule asks for at least %s of each. %sThe maker's figure decides: old engines of low compression read so when sound. "
                "First look at the test itself: throttle open, battery full, engine warm.",
                high, p->n > 1 ? " at most" : "", least, p->n > 1 ? "They differ little, which the chosen rule lets pass. " : "");
    text_format(s->how, sizeof s->how, "Rule “%s”: %s (%s). The chosen one, “%s”, has no least figure.", strict->id, strict->words, strict->source, p->rule->id);
    missing(w, p, p->dry_given, s);
}

/* Cylinders that are not low but rise with oil; all of them: an evenly worn engine. */
static void wet_rise(struct work *w, const struct pressures *p)
{
    engine_set both = p->dry_given & p->wet_given, set = 0;
    double most = 0;
    int n = 0;
    struct stand_out *s;
    char words[160];

    for (int c = 0; c < w->en->n_cylinders; c++)
        if ((p->rises & BIT(c)) != 0 && compression_passes(p->rule, p->list, p->n, p->dry[c])) {
            set |= BIT(c);
            most = fmax(most, 100 * (p->wet[c] / p->dry[c] - 1));
            n++;
        }
    if (set == 0)
        return;
    s = add(w, set, "compression_wet", "%", set == both && n > 2 ? LEVEL_WATCH : LEVEL_NOTE);
    s->value = MAYBE(most);
    s->reference = MAYBE(100 * (COMPRESSION_WET_RISE - 1));
    engine_set_words(w->en, set, words, sizeof words);
    text_format(s->headline, sizeof s->headline, "Oil raises compression: %s", words);
    text_format(s->text, sizeof s->text, "By up to %.0f %%; from 10 %% on rings or bore leak.%s", most,
                set == both && n > 2 ? " All rise alike: an evenly worn engine, or more oil than a teaspoon was put in."
                : p->n > 1                  ? " Dry they pass the rule."
                                            : " One cylinder alone passes no rule: there is none to compare it with.");
    text_copy(s->how, sizeof s->how, "Wet reading over dry reading; a tenth or more points at rings or bore (Ford Probe 1997 manual, with 5 ml of oil; others put in 15 ml, and too much oil raises it by itself).");
    if (p->n < 2 && w->en->n_cylinders > 1)
        work_add_line(w, &s->missing, "compression of the other cylinders");
    if (set == both && both != p->dry_given)
        work_add_line(w, &s->missing, "wet compression of the others: one that does not rise tells more than one that does");
}

/* Wet readings below the dry ones: one of the two is not what it is said to be. */
static void wet_below(struct work *w, const struct pressures *p)
{
    const struct unit *unit = unit_find("kPa");
    engine_set set = 0;
    char words[160], doubt[200];
    struct stand_out *s;

    for (int c = 0; c < w->en->n_cylinders; c++) {
        doubt[0] = '\0';
        if ((p->dry_given & p->wet_given & BIT(c)) != 0)
            pressure_wet_doubt(p->dry[c], p->wet[c], unit, doubt, sizeof doubt);
        set |= doubt[0] != '\0' ? BIT(c) : 0;
    }
    if (set == 0)
        return;
    s = add(w, set, "compression_wet", "%", LEVEL_WATCH);
    s->reference = MAYBE(100 * (PRESSURE_WET_LEAST - 1));
    for (int c = 0; c < w->en->n_cylinders; c++)
        if ((set & BIT(c)) != 0) {
            double rise = 100 * (p->wet[c] / p->dry[c] - 1);

            s->value = MAYBE(s->value.given ? fmin(s->value.value, rise) : rise);
        }
    engine_set_words(w->en, set, words, sizeof words);
    text_format(s->headline, sizeof s->headline, "Wet compression below dry: %s", words);
    text_format(s->text, sizeof s->text, "By up to %.0f %%. Oil takes no pressure away: see whether the two changed places or a digit is wrong, or take both again. They are counted as they stand.", -s->value.value);
    text_format(s->how, sizeof s->how, "Wet reading over dry reading; from %.0f %% below it is asked about, less is how gauges differ (common practice, no source).", 100 * (1 - PRESSURE_WET_LEAST));
}

/* Leak-down or differential: one entry for a band. */
static void leaks(struct work *w, const struct pressures *p, enum compression_leak kind)
{
    const struct measure *m = measure_find(w->measures, w->n_measures, kind == COMPRESSION_LEAK_PERCENT ? "leak_percent" : "differential_over_80");
    int n;
    const struct compression_band *bands = compression_bands(&n);

    for (int b = 0; b < n && m != NULL; b++) {
        engine_set set = 0;
        double worst = 0, loss_most = -1;
        struct stand_out *s;
        char words[160];

        for (int i = 0; i < m->n; i++) {
            double loss = kind == COMPRESSION_LEAK_PERCENT ? m->value[i] : compression_differential_loss(m->value[i]);

            if (compression_band_of(kind, loss) != &bands[b])
                continue;
            set |= BIT(work_cylinder(w, m->plug[i]));
            if (loss > loss_most) {
                loss_most = loss;
                worst = m->value[i];
            }
        }
        if (set == 0 || bands[b].level == LEVEL_NONE)
            continue;
        s = add(w, set, m->id, m->unit, (enum level)bands[b].level);
        s->value = MAYBE(worst);
        s->reference = MAYBE(kind == COMPRESSION_LEAK_PERCENT ? bands[b].from : 60);
        engine_set_words(w->en, set, words, sizeof words);
        if (kind == COMPRESSION_LEAK_PERCENT) {
            text_format(s->headline, sizeof s->headline, "Leak-down of %s: %.0f %%", words, worst);
            text_format(s->text, sizeof s->text, "%.0f %%: %s.", worst, bands[b].words);
        } else {
            text_format(s->headline, sizeof s->headline, "Differential of %s: %.0f/80", words, worst);
            text_format(s->text, sizeof s->text, "%.0f of 80 psi, a loss of %.1f %%: %s.", worst, loss_most, bands[b].words);
            work_add_line(w, &s->missing, "the tester's master-orifice reading of that day, where the engine's maker asks for it instead of 60");
        }
        for (int c = 0; c < w->en->n_cylinders; c++)
            if ((set & BIT(c)) != 0)
                heard_words(p, c, s);
        if (bands[b].level >= LEVEL_WATCH && none_heard(p, set)) /* it calls for the next look by itself, however weak each cause is by then */
            more(s, " That air is lost is measured, where it goes is not: take it again warm and listen: at the intake or the exhaust it is a valve, at the breather the rings, in the coolant or the next plug hole the head gasket.");
        text_format(s->how, sizeof s->how, "Published band (%s). Percentages depend on the tester's orifice and pressure and compare only on the same tester; the maker's figure comes first.",
                    bands[b].source);
        for (int c = 0; c < w->en->n_cylinders; c++)
            if ((set & BIT(c)) != 0 && p->heard[c] == 0) {
                work_add_line(w, &s->missing, "where the air is heard: intake, exhaust, breather, coolant or the next plug hole");
                break;
            }
    }
}

void work_compression(struct work *w)
{
    struct pressures *p = arena_alloc(w->a, 1, sizeof *p);
    engine_set low = 0;

    gather(w, p);
    for (int c = 0; c < w->en->n_cylinders; c++) {
        char doubt[200] = "";

        if ((p->dry_given & BIT(c)) != 0)
            pressure_doubt(p->dry[c], unit_find("kPa"), doubt, sizeof doubt);
        if (doubt[0] != '\0')
            work_add_line(w, &w->f->notes, "Compression of %s: %s It is counted as it stands.", w->en->cylinders[c].label, doubt);
    }
    if (p->n >= 2)
        low = low_ones(w, p);
    if (p->n >= 1 && low == 0)
        evenly_low(w, p);
    if ((p->dry_given & p->wet_given) != 0)
        wet_rise(w, p), wet_below(w, p);
    leaks(w, p, COMPRESSION_LEAK_PERCENT);
    leaks(w, p, COMPRESSION_DIFFERENTIAL);
}
