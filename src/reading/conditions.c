/* conditions.c - what stands out by itself: signs and states by their gravity (urgency columns of
 * assets/deposits.csv and wells-and-ignition.csv). */
#include <stdio.h>
#include <string.h>

#include "reading/cause_fact.h"
#include "reading/codes.h"
#include "reading/reading_work.h"

#define BIT(i) ((engine_set)1 << (i))

static enum level step(enum level level, int by)
{
    int v = (int)level + by;

    if (level == LEVEL_NONE)
        return LEVEL_NONE;
    return v < LEVEL_NOTE ? LEVEL_NOTE : v > LEVEL_STOP ? LEVEL_STOP : (enum level)v;
}

/* The table's level is for a moderate amount. A trace is one step less; much of it is one step more
 * up to act (only what is stop by itself stops). */
enum level findings_sign_level(const struct engine *en, enum sign s, int amount)
{
    enum level base = sign_row(s)->level;

    if (s == SIGN_OIL_WET && en->strokes == 2 && amount < 3)
        base = step(base, -1);
    if (amount == 1)
        return base == LEVEL_STOP ? LEVEL_ACT : step(base, -1);
    if (amount == 3 && base < LEVEL_ACT)
        return step(base, 1);
    return base;
}

enum level findings_plug_level(const struct engine *en, const struct reading *r)
{
    enum level worst = LEVEL_NONE;

    for (int s = 0; s < SIGN_COUNT; s++) {
        enum level level = r->amount[s] > 0 ? findings_sign_level(en, (enum sign)s, r->amount[s]) : LEVEL_NONE;

        worst = level > worst ? level : worst;
    }
    return worst;
}

/* ---- what would change a condition's meaning and is not known yet ---- */

static bool no_wet_test(const struct work *w, const struct reading *r)
{
    const struct reading *first = visit_reading_const(w->v, w->en, r->cylinder, 0);

    return !r->compression_wet_kpa.given && !first->compression_wet_kpa.given;
}
static bool drying_unknown(const struct work *w, const struct reading *r)
{
    (void)w;
    return r->dries == 0;
}
static bool side_unknown(const struct work *w, const struct reading *r)
{
    (void)w;
    return r->heavier_side == 0;
}
static bool well_unseen(const struct work *w, const struct reading *r)
{
    return engine_may_have_wells(w->en) && r->amount[SIGN_WELL_OIL] == AMOUNT_UNSEEN;
}
static bool end_unseen(const struct work *w, const struct reading *r)
{
    (void)w;
    return !r->zone_seen[ZONE_FIRING_END];
}
static bool order_unknown(const struct work *w, const struct reading *r)
{
    (void)r;
    return w->v->n_removal == 0;
}
static bool edge_unseen(const struct work *w, const struct reading *r)
{
    (void)r;
    return !w->v->outside_seen;
}
static bool coolant_unasked(const struct work *w, const struct reading *r)
{
    (void)r;
    return !w->v->complaints_given;
}
static bool last_run_unknown(const struct work *w, const struct reading *r)
{
    (void)r;
    return w->v->last_run == 0;
}
static bool tightness_unknown(const struct work *w, const struct reading *r)
{
    (void)w;
    return r->tightness == 0;
}
static bool boot_unseen(const struct work *w, const struct reading *r)
{
    (void)w;
    return !reading_zone_looked(r, ZONE_BOOT);
}

static const struct {
    enum sign sign;
    bool (*unknown)(const struct work *w, const struct reading *r);
    const char *what;
} asks[] = {
    {SIGN_OIL_WET, drying_unknown, "whether it dries: petrol does in minutes, oil does not"},
    {SIGN_OIL_WET, no_wet_test, "compression dry and with oil: a rise of a tenth points at rings or bore"},
    {SIGN_FUEL_WET, drying_unknown, "whether it dries: petrol does in minutes, oil does not"},
    {SIGN_OIL_ASH, side_unknown, "which side of the nose the crust is heavier on: the intake side speaks for a stem seal"},
    {SIGN_DRY_CARBON, last_run_unknown, "how it last ran: idling and short trips soot a sound engine"},
    {SIGN_PALE, tightness_unknown, "how tight it sat: a loose plug runs hot"},
    {SIGN_BLISTERED, tightness_unknown, "how tight it sat: a loose plug runs hot"},
    {SIGN_COOLANT, coolant_unasked, "whether coolant is lost"},
    {SIGN_THREADS_OIL, well_unseen, "whether its well was wet before it was drawn"},
    {SIGN_THREADS_OIL, end_unseen, "whether the firing end is oily"},
    {SIGN_THREADS_OIL, order_unknown, "the order the plugs were drawn in"},
    {SIGN_BODY_FLASHOVER, boot_unseen, "the inside of its boot: a track there matches one on the plug"},
    {SIGN_WELL_OIL, edge_unseen, "whether the cover's outer edge is oily: that tells its gasket from a tube seal"},
};

static void missing(struct work *w, const struct measure *m, struct stand_out *s)
{
    for (size_t k = 0; k < sizeof asks / sizeof asks[0]; k++) {
        bool unknown = false;

        for (int i = 0; i < m->n && (int)asks[k].sign == m->sign; i++)
            unknown = unknown || ((s->cylinders >> work_cylinder(w, m->plug[i]) & 1u) != 0 && m->value[i] > 0 && asks[k].unknown(w, &w->v->readings[m->plug[i]]));
        if (unknown)
            work_add_line(w, &s->missing, "%s", asks[k].what);
    }
    work_missing_others(w, m, s);
}

static void capital(char *s)
{
    if (s[0] >= 'a' && s[0] <= 'z')
        s[0] = (char)(s[0] - 'a' + 'A');
}

/* The plugs that show something: their number, cylinders, and position where it is one plug. */
struct shown {
    bool plug[ENGINE_MAX_PLUGS];
    int n, position;
    engine_set cylinders;
};

static void show(const struct work *w, struct shown *h, int plug)
{
    h->plug[plug] = true;
    h->cylinders |= BIT(work_cylinder(w, plug));
    h->position = h->n++ == 0 ? work_position(w, plug) : -1;
}

static struct stand_out *add(struct work *w, const struct shown *h, enum level level, const char *what)
{
    struct stand_out *s = work_add_stand_out(w);
    char words[160];

    s->kind = STAND_CONDITION;
    s->cylinders = h->cylinders;
    s->position = h->position;
    s->level = level;
    work_where(w, h->cylinders, h->position, s->where, sizeof s->where);
    work_plugs_words(w, h->plug, words, sizeof words);
    capital(words);
    text_format(s->headline, sizeof s->headline, "%s: %s", words, what);
    return s;
}

/* " (bank 2)" where there are several and all lie in one. */
static void add_bank(const struct work *w, engine_set set, struct text *t)
{
    for (int b = 0; b < w->en->n_banks && w->en->n_banks > 1; b++)
        if ((set & ~engine_bank_set(w->en, b)) == 0)
            text_addf(t, " (bank %s)", w->en->banks[b].name);
}

/* "; 7 others looked at: 2 moderate, 5 none" */
static void add_others(const struct measure *m, const struct shown *h, struct text *t)
{
    int n_of[4] = {0}, n = 0, n_amounts = 0, told = 0;

    for (int i = 0; i < m->n; i++)
        if (!h->plug[m->plug[i]]) {
            n_amounts += n_of[(int)m->value[i]]++ == 0;
            n++;
        }
    if (n == 0)
        return;
    text_addf(t, "; %d other%s looked at: ", n, n == 1 ? "" : "s");
    for (int amount = 3; amount >= 0; amount--) {
        if (n_of[amount] == 0)
            continue;
        text_add(t, told++ > 0 ? ", " : "");
        if (n_amounts > 1)
            text_addf(t, "%d ", n_of[amount]);
        text_add(t, amount_words(amount));
    }
}

/* A radial's bottom cylinders: in the lowest part of the circle oil runs to while it stands. */
static bool at_the_bottom(const struct engine *en, engine_set set)
{
    return set != 0 && (set & ~work_bottom(en)) == 0;
}

/* Where oil in wells may come from, and what tells these apart: said with the finding, whether or not one of them is likely enough to be named among the
 * causes. Two wells under one cover speak for what they share first. By ricksfreeautorepairadvice.com, engineerfix.com (valve cover gasket),
 * frenzycars.pages.dev (tube seals); that spilt oil does not come back: from memory. */
const char *work_from_above(const struct work *w, engine_set wells)
{
    bool shared = false;

    if (w->en->strokes == 2 || !engine_may_have_wells(w->en))
        return "";
    for (int b = 0; b < w->en->n_banks; b++) {
        const engine_set here = wells & engine_bank_set(w->en, b);

        shared = shared || (here & (here - 1)) != 0;
    }
    return shared ? " From above: the cover gasket (its outer edge is oily then), the wells' own seals (wet from their top edge), or oil spilt at filling (once dried it stays away)."
                  : " From above: the well's own seal (wet from its top edge), the cover gasket (its outer edge is oily then), or oil spilt at filling (once dried it stays away).";
}

static void write_text(const struct work *w, const struct measure *m, const struct shown *h, int least, int most, struct stand_out *s)
{
    struct text t = {0};

    if (h->n == 1)
        text_addf(&t, "%s", amount_words(most));
    else if (h->n == m->n)
        text_addf(&t, "all %d looked at, %s", h->n, amount_words(most));
    else
        text_addf(&t, "%d of the %d looked at, %s", h->n, m->n, amount_words(most));
    text_add(&t, least < most ? " at most" : "");
    add_bank(w, s->cylinders, &t);
    add_others(m, h, &t);
    text_add(&t, m->sign == SIGN_THREADS_OIL ? ". Wet threads alone do not tell inside from outside." : ".");
    if (m->sign == SIGN_OIL_WET && at_the_bottom(w->en, h->cylinders))
        text_add(&t, " Oil drains to the bottom cylinders of a radial while it stands: that alone is no fault.");
    if (m->sign == SIGN_OIL_WET && apart_drained(w).degree > 0)
        text_add(&t, " Oil runs to the bottom plugs of lying cylinders while the engine stands or idles: that alone is no fault.");
    if (m->sign == SIGN_WELL_OIL)
        text_add(&t, work_from_above(w, h->cylinders));
    capital(t.s);
    text_copy(s->text, sizeof s->text, t.s);
    text_release(&t);
}

/* One entry for a sign at one level, over all plugs that show it. */
static void signs(struct work *w, const struct measure *m)
{
    const struct sign_row *row = sign_row((enum sign)m->sign);

    for (int level = LEVEL_STOP; level >= LEVEL_NOTE; level--) {
        struct shown h = {.position = -1};
        int least = 3, most = 0;
        struct stand_out *s;

        for (int k = 0; k < m->n; k++)
            if (m->value[k] > 0 && !m->explained[k] && (int)findings_sign_level(w->en, (enum sign)m->sign, (int)m->value[k]) == level) {
                show(w, &h, m->plug[k]);
                most = m->value[k] > most ? (int)m->value[k] : most;
                least = m->value[k] < least ? (int)m->value[k] : least;
            }
        if (h.n == 0)
            continue;
        s = add(w, &h, (enum level)level, m->label);
        text_copy(s->measure, sizeof s->measure, m->id);
        s->sign = m->sign;
        s->value = MAYBE(most);
        s->reference = MAYBE(0);
        write_text(w, m, &h, least, most, s);
        text_format(s->how, sizeof s->how,
                    "The condition counts by itself, whatever the others show: %s for a moderate amount (table of conditions, "
                    "row “%s”), a trace one step less, much of it one step more up to act. Amounts: 0 none, 1 trace, 2 moderate, 3 heavy.",
                    level_id(row->level), row->fact[0] ? row->fact : "common practice, no source");
        missing(w, m, s);
    }
}

/* ---- states of a plug that are no amounts ---- */

const struct work_state work_states[] = {
    {"electrode", WORDS_ELECTRODE, "rounded", LEVEL_NOTE, "", "rounded electrodes", "Rounded edges want more voltage; the gap tells whether they are due."},
    {"electrode", WORDS_ELECTRODE, "eroded", LEVEL_ACT, "worn", "worn electrodes", "Renew what is worn, and look at the coil and boot that worked against it."},
    {"electrode", WORDS_ELECTRODE, "melted", LEVEL_STOP, "melted", "melted electrode", "Pre-ignition: look into the cylinder before it runs again."},
    {"electrode", WORDS_ELECTRODE, "bent", LEVEL_STOP, "mechanical", "bent electrode", "Something touched it: the reach is wrong or something is loose in the cylinder. Do not crank."},
    {"insulator", WORDS_INSULATOR, "cracked", LEVEL_STOP, "cracked-nose", "cracked nose", "Find the piece if one is missing; a trapped one glows."},
    {"insulator", WORDS_INSULATOR, "chipped", LEVEL_STOP, "cracked-nose", "chipped nose", "Find the piece; a trapped one glows."},
    {"tightness", WORDS_TIGHTNESS, "loose", LEVEL_ACT, "blowby", "came out loose", "A loose plug runs hot and blows past its seat."},
    {"tightness", WORDS_TIGHTNESS, "tight", LEVEL_NOTE, "", "came out very tight", "Look at the thread before it goes back."},
};
const int work_n_states = (int)(sizeof work_states / sizeof work_states[0]);

static int state_of(const struct reading *r, enum words list)
{
    return list == WORDS_ELECTRODE ? r->electrode : list == WORDS_INSULATOR ? r->insulator : r->tightness;
}

/* Plugs of a set wear together: from half of those looked at, and more than one, the set is due. */
static bool set_is_due(const struct work_state *state, int n, int n_seen)
{
    return strcmp(state->id, "eroded") == 0 && n > 1 && 2 * n >= n_seen;
}

static void states(struct work *w, const struct work_state *state)
{
    int value = words_find(state->list, state->id), n_seen = 0;
    struct shown h = {.position = -1};
    struct stand_out *s;
    struct text t = {0};

    for (int i = 0; i < record_plug_count(w->en); i++) {
        int here = state_of(&w->v->readings[i], state->list);

        n_seen += here != 0;
        if (here == value)
            show(w, &h, i);
    }
    if (h.n == 0)
        return;
    s = add(w, &h, state->level, state->what);
    text_copy(s->measure, sizeof s->measure, state->measure);
    if (n_seen == 1)
        text_add(&t, "No other was looked at");
    else if (h.n == n_seen)
        text_addf(&t, "All %d looked at", n_seen);
    else if (h.n == 1)
        text_addf(&t, "Only this one of the %d looked at", n_seen);
    else
        text_addf(&t, "%d of the %d looked at", h.n, n_seen);
    add_bank(w, h.cylinders, &t);
    text_addf(&t, ". %s", set_is_due(state, h.n, n_seen) ? "Renew the set, and look at the coils and boots that worked against it." : state->means);
    text_copy(s->text, sizeof s->text, t.s);
    text_release(&t);
    text_format(s->how, sizeof s->how, "The state counts by itself (table of conditions, row “%s”).", state->fact[0] ? state->fact : "common practice, no source");
    if (n_seen < record_plug_count(w->en))
        work_add_line(w, &s->missing, "the same of the %d plugs not looked at", record_plug_count(w->en) - n_seen);
}

/* ---- trouble codes that name a cylinder ---- */

static bool is_of_bank(const struct code *code)
{
    return code->kind == CODE_LEAN || code->kind == CODE_RICH;
}

/* What a code names: a bank, a coil that several cylinders share, or cylinders. */
static void code_names(const struct work *w, const struct code *code, char *to, size_t n_room)
{
    char words[160];

    engine_set_words(w->en, code->cylinders, words, sizeof words);
    if (is_of_bank(code) && w->en->n_banks == 1)
        text_copy(to, n_room, "the only bank");
    else if (is_of_bank(code))
        work_where(w, code->cylinders, -1, to, n_room);
    else
        text_format(to, n_room, "%s%s", code->kind == CODE_COIL ? "the coil of " : "", words);
}

/* The firing ends of what the code names that nobody looked at. */
static void ask_for_ends(struct work *w, const struct code *code, struct stand_out *s)
{
    bool unseen[ENGINE_MAX_PLUGS] = {false};
    char words[160];
    int n = 0;

    for (int i = 0; i < record_plug_count(w->en); i++)
        if ((code->cylinders & BIT(work_cylinder(w, i))) != 0 && !w->v->readings[i].zone_seen[ZONE_FIRING_END]) {
            unseen[i] = true;
            n++;
        }
    if (n == 0)
        return;
    work_plugs_words(w, unseen, words, sizeof words);
    work_add_line(w, &s->missing, "the firing end%s of %s: nobody has looked", n == 1 ? "" : "s", words);
}

static void codes(struct work *w)
{
    for (int k = 0; k < w->v->n_codes; k++) {
        struct code code = code_read(w->en, w->v->codes[k]);
        struct stand_out *s;
        struct text t = {0};
        char words[160];

        if (code.kind == CODE_UNKNOWN)
            continue;
        if (code.cylinders == 0) {
            if (code.kind == CODE_MISFIRE || code.kind == CODE_INJECTOR)
                work_add_line(w, &w->f->notes, "%s (%s) names a cylinder this engine does not have: check its numbering.", w->v->codes[k], code.meaning);
            else if (code.kind == CODE_MISFIRE_ANY && w->en->n_cylinders > 1)
                work_add_line(w, &w->f->notes, "%s (%s) names no cylinder: it weighs for none alone, and clears none. Cutting out one by one tells which.", w->v->codes[k], code.meaning);
            continue;
        }
        s = work_add_stand_out(w);
        s->kind = STAND_CONDITION;
        s->cylinders = code.cylinders;
        s->level = LEVEL_WATCH;
        work_where(w, s->cylinders, -1, s->where, sizeof s->where);
        text_format(s->measure, sizeof s->measure, "code.%s", w->v->codes[k]);
        code_names(w, &code, words, sizeof words);
        text_format(s->headline, sizeof s->headline, "%s names %s", w->v->codes[k], words);
        text_addf(&t, "%s", code.meaning);
        if (!is_of_bank(&code))
            add_bank(w, s->cylinders, &t);
        text_add(&t, ". A code says what the control unit saw, not which part is broken.");
        text_copy(s->text, sizeof s->text, t.s);
        text_release(&t);
        text_copy(s->how, sizeof s->how,
                  "The generic code's number is the maker's number of the cylinder (SAE J2012), matched with the labels of this engine, never with a place.");
        ask_for_ends(w, &code, s);
        if (w->v->n_tests == 0)
            work_add_line(w, &s->missing, "whether it makes a difference when that cylinder is cut out");
    }
}

void work_conditions(struct work *w)
{
    codes(w);
    for (int i = 0; i < w->n_measures; i++)
        if (w->measures[i].kind == MEASURE_SIGN)
            signs(w, &w->measures[i]);
    for (int k = 0; k < work_n_states; k++)
        states(w, &work_states[k]);
}
