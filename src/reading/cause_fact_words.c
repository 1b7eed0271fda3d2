/* cause_fact_words.c - facts in words: their names, the figures behind them, what to look at. */
#include <assert.h>
#include <math.h>
#include <string.h>

#include "reading/cause_fact.h"

#define BIT(i) ((engine_set)1 << (i))

/* The first listed word of a mask. */
static int first_of(uint64_t mask)
{
    for (int i = 0; i < 64; i++)
        if ((mask >> i & 1u) != 0)
            return i;
    return 0;
}

/* The complaint of the mask that was made, else the first. */
static int made_of(const struct facts *f, uint64_t mask)
{
    for (int i = 0; i < f->w->v->n_complaints; i++)
        if ((mask >> f->w->v->complaints[i] & 1u) != 0)
            return f->w->v->complaints[i];
    return first_of(mask);
}

static const char *const number_names[] = {"low compression", "compression that rises with oil", "leak-down", "gap wider than the others", "gap over the range",
                                           "closed gap", "dark nose", "pale nose", "long distance run"};
_Static_assert(sizeof number_names / sizeof number_names[0] == NUMBER_COUNT, "a name for each number");
static const char *const engine_names[] = {"a coil on each plug", "shared coils", "plug leads", "plugs in the open", "plugs hotter than the book", "plugs colder than the book",
                                           "plugs of the book's heat range", "several mixture groups", "a single cylinder",
                                           "a two-stroke engine", "a distributor or magneto", "work on a carburettor", "cooled by air", "no injector at a cylinder", "no carburettor", "one plug in each cylinder"};
_Static_assert(sizeof engine_names / sizeof engine_names[0] == IS_COUNT, "a name for each fact of the engine");
static const char *const shape_names[] = {"wear at centre and side in turn on each coil", "a smooth gradient from front to rear", "the same differences as last time",
                                          "oil that fades along the removal order", "oil in the well as the plug was drawn",
                                          "at the bottom of the radial", "another cylinder that makes no difference when cut out", "a code that names another cylinder",
                                          "the same again after a repair", "oil on the bottom plugs alone"};
_Static_assert(sizeof shape_names / sizeof shape_names[0] == SHAPED_COUNT, "a name for each shape");
static const char *const side_names[] = {"", "deposit heavier on the intake side", "deposit heavier on the exhaust side", "deposit even all round"};
static const char *const heard_names[] = {"", "air heard at the intake", "air heard at the exhaust", "air heard at the breather", "bubbles in the coolant", "air heard at the next plug hole"};

static void word_name(const struct fact_atom *a, int value, char *to, size_t n_room)
{
    const char *label = a->list >= 0 ? words_label((enum words)a->list, value) : "";

    if (a->list < 0)
        text_copy(to, n_room, a->which == 0 ? (a->mask == 2 ? "wetness that dries" : "wetness that stays") : a->mask == 2 ? "the part of the book" : "a part other than the book's");
    else if (a->list == WORDS_SIDE)
        text_copy(to, n_room, side_names[value]);
    else if (a->list == WORDS_LEAK_HEARD)
        text_copy(to, n_room, heard_names[value]);
    else if (a->list == WORDS_ELECTRODE)
        text_format(to, n_room, "electrode %s", label);
    else if (a->list == WORDS_INSULATOR)
        text_format(to, n_room, "insulator %s", label);
    else if (a->list == WORDS_WEAR_ON)
        text_format(to, n_room, "wear on %s", label);
    else if (a->list == WORDS_TIGHTNESS)
        text_format(to, n_room, "plug %s", label);
    else
        text_format(to, n_room, "oil on %s", label);
}

/* "P0306 (cylinder 6 misfire detected)", or several by their numbers. */
/* A test of the visit, as evidence: when nothing was found, and as what to do next. */
static const struct {
    const char *id, *clean, *asks;
} tests[] = {{"cut-out", "idle drops when it is cut out", "what cutting it out does to the idle"},
             {"damp", "no miss when sprayed damp", "whether it misses when sprayed damp"},
             {"dark", "no sparks in the dark", "in the dark, where sparks jump"}};

static int test_index(const struct fact_atom *a)
{
    int i = 0;

    while (strcmp(tests[i].id, words_id(WORDS_TEST, a->which)) != 0)
        i++;
    return i;
}

/* "sparks at the coil in the dark": what was found on the set, else the first that is asked for. */
static void test_name(const struct facts *f, const struct fact_atom *a, engine_set shown, char *to, size_t n_room)
{
    static const struct {
        const char *test, *result, *words;
    } rows[] = {{"cut-out", "no-change", "cutting it out changes nothing"}, {"cut-out", "drops", "idle drops when it is cut out"},
                {"damp", "misses", "a miss when sprayed damp"}, {"damp", "no-change", "no miss when sprayed damp"},
                {"dark", "sparks", "sparks seen in the dark"}, {"dark", "sparks-lead", "sparks along the lead in the dark"},
                {"dark", "sparks-coil", "sparks at the coil in the dark"}, {"dark", "sparks-boot", "sparks at the boot in the dark"},
                {"dark", "no-change", "no sparks in the dark"}};
    int result = first_of(a->mask);

    for (int i = 0; i < f->w->v->n_tests; i++) {
        const struct visit_test *t = &f->w->v->tests[i];

        if (t->test == a->which && (shown >> t->cylinder & 1u) != 0 && (a->mask >> t->result & 1u) != 0)
            result = t->result;
    }
    text_copy(to, n_room, words_label(WORDS_TEST_RESULT, result));
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        if (strcmp(rows[i].test, words_id(WORDS_TEST, a->which)) == 0 && strcmp(rows[i].result, words_id(WORDS_TEST_RESULT, result)) == 0)
            text_copy(to, n_room, rows[i].words);
}

static bool codes_name(const struct facts *f, const struct fact_atom *a, engine_set shown, char *to, size_t n_room)
{
    struct text t = {0};
    int n = 0, last = 0;

    for (int i = 0; i < f->w->v->n_codes; i++)
        if ((int)f->codes[i].kind == a->which && (f->codes[i].cylinders == 0 || (f->codes[i].cylinders & shown) != 0)) {
            text_addf(&t, "%s%s", n++ ? ", " : "", f->w->v->codes[i]);
            last = i;
        }
    if (n == 1)
        text_addf(&t, " (%c%s)", f->codes[last].meaning[0] - 'A' + 'a', f->codes[last].meaning + 1);
    text_copy(to, n_room, text_get(&t));
    text_release(&t);
    return n > 0;
}

/* The sign of the mask that is heaviest on the set; the first where none shows. */
static int strongest(const struct facts *f, uint64_t mask, engine_set set)
{
    int best = -1, most_seen = 0;

    for (int s = 0; s < SIGN_COUNT; s++)
        for (int c = 0; c < f->w->en->n_cylinders; c++)
            if ((mask >> s & 1u) != 0 && (set & BIT(c)) != 0 && f->amount[c][s] > most_seen) {
                most_seen = f->amount[c][s];
                best = s;
            }
    return best >= 0 ? best : first_of(mask);
}

/* "no dry soot on the other plug", "fuel-wet firing end on the top plugs alone, 4 of 4 cylinders". */
static void apart_name(const struct facts *f, const struct fact_atom *a, engine_set shown, char *to, size_t n_room)
{
    const struct engine *en = f->w->en;
    const char *sign = sign_row((enum sign)strongest(f, a->mask, shown))->sentence;
    struct plug_row row;

    if (a->which == APART_PLUG) {
        text_format(to, n_room, "no %s on the other plug%s", sign, en->n_positions > 2 ? "s" : "");
        return;
    }
    apart_row(f->w, a->mask, &row);
    if (row.position < 0)
        text_format(to, n_room, "%s on one plug of a cylinder alone, %d of %d cylinders", sign, row.n_alone, row.n_looked_at);
    else
        text_format(to, n_room, "%s on the %s plugs alone, %d of %d cylinders", sign, en->position_names[row.position], row.n_alone, row.n_looked_at);
}

static void atom_name(const struct facts *f, const struct fact_atom *a, engine_set shown, char *to, size_t n_room)
{
    int value = first_of(a->mask);

    switch (a->kind) {
    case FACT_SIGN:
    case FACT_BEFORE:
        text_format(to, n_room, "%s%s", sign_row((enum sign)strongest(f, a->mask, shown))->sentence, a->kind == FACT_BEFORE ? " at an earlier visit" : "");
        return;
    case FACT_WORD:
        for (int c = 0; c < f->w->en->n_cylinders && a->list >= 0; c++)
            for (int p = 0; p < f->w->en->n_positions && (shown & BIT(c)) != 0; p++) {
                const struct reading *r = visit_reading_const(f->w->v, f->w->en, c, p);
                int v = a->list == WORDS_LEAK_HEARD ? first_of((uint64_t)r->leak_heard << 1 & a->mask) : fact_word(r, a);

                if (v > 0 && (a->mask >> v & 1u) != 0)
                    value = v;
            }
        word_name(a, value, to, n_room);
        return;
    case FACT_NUMBER: text_copy(to, n_room, a->which == NUMBER_COMPRESSION_LOW && (f->fails & shown) == 0 ? "compression on the low side" : number_names[a->which]); return;
    case FACT_COMPLAINT:
        value = made_of(f, a->mask);
        text_format(to, n_room, value == words_find(WORDS_COMPLAINT, "none") ? "%s" : "complaint: %s", words_label(WORDS_COMPLAINT, value));
        return;
    case FACT_CODE:
        if (codes_name(f, a, shown, to, n_room))
            return;
        text_format(to, n_room, "%s code", code_kind_id((enum code_kind)a->which));
        return;
    case FACT_TEST: test_name(f, a, shown, to, n_room); return;
    case FACT_ENGINE: text_copy(to, n_room, engine_names[a->which]); return;
    case FACT_DONE:
        for (int i = 0; f->before != NULL && i < f->before->n_done; i++) /* the part that it was */
            if ((a->list == 0 || f->before->done[i].verb == a->list) && (a->mask >> f->before->done[i].part & 1u) != 0 && (f->before->done[i].cylinders & shown) != 0)
                value = f->before->done[i].part;
        text_format(to, n_room, "%s %s after the last visit", words_label(WORDS_DONE_PART, value), a->list > 0 ? words_label(WORDS_DONE_VERB, a->list) : "worked on");
        return;
    case FACT_SWAP: text_format(to, n_room, "trouble that follows the swapped %s", words_label(WORDS_DONE_PART, value)); return;
    case FACT_SHAPE: text_copy(to, n_room, shape_names[a->which]); return;
    case FACT_APART: apart_name(f, a, shown, to, n_room); return;
    case FACT_VISIT:
        switch ((enum fact_visit)a->which) {
        case VISIT_LAST_RUN: text_format(to, n_room, "last run: %s", words_label(WORDS_LAST_RUN, f->w->v->last_run ? f->w->v->last_run : value)); return;
        case VISIT_FUEL: text_format(to, n_room, "fuel: %s", words_label(WORDS_FUEL, f->w->v->fuel ? f->w->v->fuel : value)); return;
        case VISIT_SOCKET: text_copy(to, n_room, words_label(WORDS_SOCKET, value)); return;
        case VISIT_OIL_IN_INTAKE: text_copy(to, n_room, "oil in the intake"); return;
        case VISIT_OUTSIDE: text_copy(to, n_room, "oil along the cover's outer edge"); return;
        case VISIT_FACT_COUNT: break;
        }
    }
    assert(false && "every fact has a name");
}

void fact_name(const struct facts *f, const struct fact *x, engine_set shown, char *to, size_t n_room)
{
    const struct fact_atom *best = &x->atoms[0];
    double most_degree = 0;

    for (int i = 0; i < x->n; i++)
        for (int c = 0; c < f->w->en->n_cylinders; c++) {
            struct known k = (shown & BIT(c)) != 0 ? fact_atom_at(f, &x->atoms[i], c) : (struct known){false, 0};

            if (k.known && k.degree > most_degree) {
                most_degree = k.degree;
                best = &x->atoms[i];
            }
        }
    atom_name(f, best, shown, to, n_room);
}

static bool shows_anywhere(const struct facts *f, int sign)
{
    for (int c = 0; c < f->w->en->n_cylinders; c++)
        if (f->amount[c][sign] > 0)
            return true;
    return false;
}

/* "no dry soot, no tracked boot": of each zone one sign of the mask that was looked at, one that another cylinder shows before others. */
static int seen_signs(const struct facts *f, uint64_t mask, int c, struct text *t)
{
    int n = 0;

    for (int z = 0; z < ZONE_COUNT; z++) {
        int told = -1;

        for (int s = SIGN_COUNT - 1; s >= 0; s--)
            if ((mask >> s & 1u) != 0 && (int)sign_row((enum sign)s)->zone == z && f->amount[c][s] != AMOUNT_UNSEEN &&
                (told < 0 || shows_anywhere(f, s) || !shows_anywhere(f, told)))
                told = s;
        if (told >= 0)
            text_addf(t, "%s%s", n++ ? ", no " : "no ", sign_row((enum sign)told)->sentence);
    }
    return n;
}

void fact_absent(const struct facts *f, const struct fact *x, int c, char *to, size_t n_room)
{
    static const char *const normal[] = {"compression is normal", "compression does not rise with oil", "leak-down is small", "gap is like the others", "gap is within the range",
                                         "gap is not closed", "nose is not dark", "nose is not pale", "distance run is short"};
    struct text t = {0};
    unsigned told = 0;
    int n = 0;

    _Static_assert(sizeof normal / sizeof normal[0] == NUMBER_COUNT, "words for each number");
    for (int i = 0; i < x->n; i++) {
        const struct fact_atom *a = &x->atoms[i];
        char name[200];

        if (a->kind == FACT_SIGN) {
            n += seen_signs(f, a->mask, c, &t);
        } else if (!fact_atom_at(f, a, c).known) {
            continue;
        } else if (a->kind == FACT_NUMBER) {
            if (n == 0 || (a->which != NUMBER_NOSE_DARK && a->which != NUMBER_NOSE_LIGHT)) /* the deposit has said it */
                text_addf(&t, "%s%s", n++ ? ", " : "", normal[a->which]);
        } else if (a->kind == FACT_WORD && a->list < 0) {
            text_addf(&t, "%s%s", n++ ? ", " : "",
                      a->which == 0 ? (a->mask == 2 ? "the wetness does not dry" : "the wetness dries") : a->mask == 2 ? "not the part of the book" : "the part of the book");
        } else if (a->kind == FACT_TEST) {
            if ((told >> a->which & 1u) == 0) /* several results of one test are asked for one by one */
                text_addf(&t, "%s%s", n++ ? ", " : "", tests[test_index(a)].clean);
            told |= 1u << a->which;
        } else if (a->kind == FACT_APART && a->which == APART_PLUG) {
            text_addf(&t, "%s%s on %s", n++ ? ", " : "", sign_row((enum sign)strongest(f, a->mask, BIT(c)))->sentence, f->w->en->n_positions > 2 ? "all plugs read" : "both plugs");
        } else if (a->kind == FACT_APART) {
            text_addf(&t, "%sno row of plugs is unlike the other", n++ ? ", " : "");
        } else {
            atom_name(f, a, 0, name, sizeof name);
            bool the = text_starts(name, "the "), one = text_starts(name, "a ");

            text_addf(&t, "%s%s %s", n++ ? ", " : "", the ? "not" : "no", one ? name + 2 : name);
        }
    }
    text_copy(to, n_room, text_get(&t));
    text_release(&t);
}

unsigned fact_positions(const struct facts *f, const struct fact *x, int c)
{
    unsigned out = 0;

    for (int p = 0; p < f->w->en->n_positions; p++)
        for (int i = 0; i < x->n; i++) {
            const struct reading *r = visit_reading_const(f->w->v, f->w->en, c, p);
            const struct fact_atom *a = &x->atoms[i];
            int v = a->kind == FACT_WORD && a->list != WORDS_LEAK_HEARD ? fact_word(r, a) : 0;
            bool wide = a->kind == FACT_NUMBER && (a->which == NUMBER_GAP_WIDE || a->which == NUMBER_GAP_OVER) && r->gap_mm.given && r->gap_mm.value >= f->gap_mm[c];

            for (int s = 0; s < SIGN_COUNT && a->kind == FACT_SIGN; s++)
                out |= (a->mask >> s & 1u) != 0 && r->amount[s] > 0 ? 1u << p : 0;
            out |= (v > 0 && (a->mask >> v & 1u) != 0) || wide ? 1u << p : 0;
            out |= a->kind == FACT_APART ? apart_without(f->w, a->mask, c) : 0;
        }
    return out;
}

static bool only_one(const struct facts *f)
{
    int n = 0;

    for (int c = 0; c < f->w->en->n_cylinders; c++)
        n += !isnan(f->compression_kpa[c]);
    return n == 1;
}

void fact_figure(const struct facts *f, const struct fact *x, int c, char *to, size_t n_room)
{
    to[0] = '\0';
    for (int i = 0; i < x->n && to[0] == '\0'; i++) {
        char a[24], b[24];
        double rest;

        if (x->atoms[i].kind != FACT_NUMBER || !fact_atom_at(f, &x->atoms[i], c).known)
            continue;
        switch ((enum fact_number)x->atoms[i].which) {
        case NUMBER_COMPRESSION_LOW:
            work_pressure(f->w, f->compression_kpa[c], true, a, sizeof a);
            work_pressure(f->w, f->highest_kpa, false, b, sizeof b);
            if (f->w->en->n_cylinders == 1)
                text_format(to, n_room, "%s, no other to compare it with", a);
            else if (only_one(f))
                text_format(to, n_room, "%s, the only one measured", a);
            else
                text_format(to, n_room, "%s, highest %s", a, b);
            break;
        case NUMBER_WET_RISE:
            work_pressure(f->w, f->compression_kpa[c], true, a, sizeof a);
            work_pressure(f->w, f->wet_kpa[c], false, b, sizeof b);
            text_format(to, n_room, "%s dry, %s with oil", a, b);
            break;
        case NUMBER_LEAK_HIGH:
            if (!isnan(f->leak_percent[c]))
                text_format(to, n_room, "%.0f %%", f->leak_percent[c]);
            else
                text_format(to, n_room, "%.0f/80", f->differential[c]);
            break;
        case NUMBER_GAP_WIDE:
        case NUMBER_GAP_OVER:
        case NUMBER_GAP_SMALL:
            work_gap(f->w, f->gap_mm[c], to, n_room);
            break;
        case NUMBER_NOSE_DARK:
        case NUMBER_NOSE_LIGHT:
            rest = fact_of_others(f, f->nose_L, c);
            if (isnan(rest))
                text_format(to, n_room, "L* %.0f", f->nose_L[c]);
            else
                text_format(to, n_room, "L* %.0f, the others %.0f", f->nose_L[c], rest);
            break;
        case NUMBER_DISTANCE_LONG:
        case NUMBER_COUNT:
            break;
        }
    }
}

/* Something was found there: it was looked at, though perhaps not all of it. */
static bool zone_told(const struct facts *f, int zone, int c)
{
    for (int s = 0; s < SIGN_COUNT; s++)
        if ((int)sign_row((enum sign)s)->zone == zone && f->amount[c][s] > 0)
            return true;
    return false;
}

static bool zone_asked(const struct facts *f, uint64_t mask, int zone)
{
    bool asked = false;

    for (int s = 0; s < SIGN_COUNT; s++)
        asked = asked || ((mask >> s & 1u) != 0 && (int)sign_row((enum sign)s)->zone == zone);
    return asked && !(zone == ZONE_LEAD && !engine_may_have_leads(f->w->en)) && !(zone == ZONE_WELL && !engine_may_have_wells(f->w->en));
}

bool fact_is_open(const struct facts *f, const struct fact *x, int c)
{
    const struct fact_atom *a = &x->atoms[0];

    if (a->kind == FACT_WORD && a->list < 0 && a->which == 0)
        return f->amount[c][SIGN_OIL_WET] > 0 || f->amount[c][SIGN_FUEL_WET] > 0 || f->amount[c][SIGN_COOLANT] > 0;
    if (a->kind == FACT_APART) /* only where one plug shows it and no other was looked at */
        return f->amount[c][strongest(f, a->mask, BIT(c))] > 0 && !apart_at(f->w, a->mask, c).known;
    if (a->kind != FACT_SIGN)
        return true;
    for (int z = 0; z < ZONE_COUNT; z++)
        if (zone_asked(f, a->mask, z) && !fact_zone_seen(f, a->mask, z, c) && !zone_told(f, z, c))
            return true;
    return false;
}

/* "the boot, the coil" */
static void ask_zones(const struct facts *f, const struct fact *x, engine_set set, char *to, size_t n_room)
{
    static const char *const zones[] = {"the firing end", "the threads", "the upper insulator", "the well", "the boot", "the coil", "the lead", "the connector"};
    struct text t = {0};
    uint64_t mask = x->atoms[0].mask;

    _Static_assert(sizeof zones / sizeof zones[0] == ZONE_COUNT, "words for each zone");
    for (int z = 0, n = 0; z < ZONE_COUNT; z++) {
        bool seen = true;

        for (int c = 0; c < f->w->en->n_cylinders; c++)
            seen = seen && ((set & BIT(c)) == 0 || fact_zone_seen(f, mask, z, c) || zone_told(f, z, c));
        if (zone_asked(f, mask, z) && !seen)
            text_addf(&t, "%s%s", n++ ? ", " : "", zones[z]);
    }
    text_copy(to, n_room, text_get(&t));
    text_release(&t);
}

void fact_asks(const struct facts *f, const struct fact *x, engine_set set, char *to, size_t n_room)
{
    static const char *const numbers[] = {"dry compression", "compression with oil", "leak-down", "the gap", "the gap", "the gap", "the look of the nose", "the look of the nose", "the distance the plug has run"};
    const struct fact_atom *a = &x->atoms[0];

    _Static_assert(sizeof numbers / sizeof numbers[0] == NUMBER_COUNT, "words for each number");
    to[0] = '\0';
    switch (a->kind) {
    case FACT_SIGN: ask_zones(f, x, set, to, n_room); return;
    case FACT_NUMBER: text_copy(to, n_room, numbers[a->which]); return;
    case FACT_COMPLAINT: text_copy(to, n_room, visit_complains(f->w->v) ? "what else the driver complains of" : "what the driver complains of"); return;
    case FACT_CODE: text_copy(to, n_room, "the trouble codes"); return;
    case FACT_TEST: text_copy(to, n_room, tests[test_index(a)].asks); return;
    case FACT_SWAP: text_format(to, n_room, "whether the trouble follows the %s to another cylinder", words_label(WORDS_DONE_PART, first_of(a->mask))); return;
    case FACT_ENGINE:
        if (a->which == IS_HOT_PLUG || a->which == IS_COLD_PLUG || a->which == IS_BOOK_PLUG)
            text_copy(to, n_room, "the plugs' heat range against the book");
        else if (a->which == IS_COIL_PER_PLUG || a->which == IS_SHARED_COIL)
            text_copy(to, n_room, "what its ignition is: a coil on each plug, shared coils, distributor or magneto");
        else if (a->which == IS_CARBURETTOR || a->which == IS_WITHOUT_INJECTORS || a->which == IS_INJECTED)
            text_copy(to, n_room, f->w->en->fuel == ENGINE_FUEL_UNKNOWN ? "whether carburettors or injectors feed it, and which cylinders share a carburettor" : "which cylinders share a carburettor");
        return;
    case FACT_VISIT:
        text_copy(to, n_room, a->which == VISIT_OIL_IN_INTAKE ? "whether there is oil in the intake" : a->which == VISIT_OUTSIDE ? "the cover's outer edge"
                              : a->which == VISIT_FUEL ? "which fuel it runs on" : a->which == VISIT_LAST_RUN ? "how it ran last" : "whether the socket was wiped");
        return;
    case FACT_WORD:
        if (a->list < 0)
            text_copy(to, n_room, a->which == 0 ? "whether the wetness dries" : "the plug's number against the book");
        else
            text_copy(to, n_room, a->list == WORDS_LEAK_HEARD ? "where the air is heard to leak" : a->list == WORDS_SIDE ? "which side of the nose is heavier"
                                  : a->list == WORDS_TIGHTNESS ? "how tight the plug was" : a->list == WORDS_INSULATOR ? "the nose for cracks" : a->list == WORDS_TURNS ? "which turns of the thread are wet" : "the electrodes");
        return;
    case FACT_SHAPE:
        if (a->which == SHAPED_ALTERNATE)
            text_copy(to, n_room, "which electrode of each plug is worn");
        return;
    case FACT_APART:
        if (f->w->en->n_positions > 1 && a->which == APART_PLUG)
            text_copy(to, n_room, "the cylinder's other plug");
        return;
    case FACT_BEFORE:
    case FACT_DONE: return; /* an earlier visit cannot be made now */
    }
}
