/* follow.c - whether a repair held, and where the trouble went when parts were swapped. */
#include <stdio.h>
#include <string.h>

#include "base/text.h"
#include "reading/cause_work.h"
#include "reading/codes.h"
#include "reading/compression.h"
#include "reading/job.h"

#define BIT(c) ((engine_set)1 << (c))
#define CLEARLY 0.05 /* share of the highest: less is the gauge's own scatter (common practice, no source) */

const char *follow_words(enum follow_state s)
{
    static const char *const words[] = {"not looked at yet", "not told", "gone", "better", "back", "not done yet", "not everywhere"};

    return words[s];
}

/* ---- one measure, before and now ---- */

struct seen { /* what the measures together say */
    struct text shown;
    int before, now, before_where_looked, missing;
    engine_set gone, same; /* cylinders at which a sign went, and at which it is as heavy as before */
    bool named; /* a code or a test names the place again */
    bool untold; /* the complaint goes on, which may come from another cylinder */
    bool which;  /* and which one that is nobody knows */
    engine_set unseen[ZONE_COUNT], gap_unseen, compression_unseen;
};

/* The part a sign sits on: what a new one looks like says nothing of the trouble. */
static const struct {
    enum zone zone;
    const char *part;
} sits_on[] = {{ZONE_COIL, "coil"}, {ZONE_BOOT, "boot"}, {ZONE_LEAD, "lead"}, {ZONE_CONNECTOR, "connector"}};

/* Cylinders of the set whose part of that zone was renewed since visit `from` was read. */
static engine_set renewed_since(const struct record *r, int from, enum zone zone, engine_set set)
{
    int verb = words_find(WORDS_DONE_VERB, "replaced");
    engine_set out = 0;

    for (size_t k = 0; k < sizeof sits_on / sizeof sits_on[0]; k++)
        for (int i = from; i < r->n_visits - 1 && sits_on[k].zone == zone; i++)
            for (int n = 0; n < r->visits[i].n_done; n++)
                if (r->visits[i].done[n].verb == verb && r->visits[i].done[n].part == words_find(WORDS_DONE_PART, sits_on[k].part))
                    out |= r->visits[i].done[n].cylinders & set;
    return out;
}

static int sign_named(const char *measure)
{
    char name[64];

    for (int s = 0; s < SIGN_COUNT; s++) {
        sign_measure((enum sign)s, name, sizeof name);
        if (strcmp(name, measure) == 0)
            return s;
    }
    return -1;
}

static int amount_at(const struct record *r, const struct visit *v, int c, int sign)
{
    int most = AMOUNT_UNSEEN;

    for (int p = 0; p < r->engine.n_positions; p++) {
        int a = reading_shows(visit_reading_const(v, &r->engine, c, p), (enum sign)sign);

        most = a > most ? a : most;
    }
    return most;
}

static void look_at_sign(const struct record *r, int repaired, const struct visit *now, engine_set set, int sign, struct seen *x)
{
    const struct visit *was = &r->visits[repaired];
    engine_set fresh = renewed_since(r, repaired, sign_row((enum sign)sign)->zone, set);
    struct text a = {0}, b = {0}, left = {0};
    int n_fresh = 0;

    for (int c = 0; c < r->engine.n_cylinders; c++) {
        int before = amount_at(r, was, c, sign), after = amount_at(r, now, c, sign);
        const char *label = r->engine.cylinders[c].label;

        if ((set & BIT(c)) == 0)
            continue;
        if (before > 0) {
            text_addf(&a, "%s%s %s", a.n_bytes ? ", " : "", label, amount_words(before));
            if ((fresh & BIT(c)) != 0 && after <= 0) {
                n_fresh++;
                continue;
            }
            x->before += before;
            if (after == AMOUNT_UNSEEN) {
                x->missing++;
                x->unseen[sign_row((enum sign)sign)->zone] |= BIT(c);
                text_addf(&left, "%s%s", left.n_bytes ? ", " : "", label);
            } else {
                x->before_where_looked += before;
                x->gone |= after == 0 ? BIT(c) : 0;
                x->same |= after >= before ? BIT(c) : 0;
            }
        }
        if (after > 0) {
            text_addf(&b, "%s%s %s", b.n_bytes ? ", " : "", label, amount_words(after));
            x->now += after;
        }
    }
    if (a.n_bytes > 0 || b.n_bytes > 0) {
        text_addf(&x->shown, "%s%s: before %s", x->shown.n_bytes ? " · " : "", sign_row((enum sign)sign)->sentence, a.n_bytes ? text_get(&a) : "none");
        if (left.n_bytes > 0)
            text_addf(&x->shown, "; not looked at: %s", text_get(&left));
        if (n_fresh > 0)
            text_addf(&x->shown, "; renewed since, how the new one looks tells nothing");
        if (b.n_bytes > 0 || (left.n_bytes == 0 && n_fresh == 0))
            text_addf(&x->shown, "; now %s", b.n_bytes ? text_get(&b) : "none");
    }
    text_release(&a);
    text_release(&b);
    text_release(&left);
}

/* What a plug was like as it came out, told by a word. A plug that was read since and of which nothing of the kind is said has
 * none of it, but for how tight it sat: that is known only where it was said. */
static int word_of(const struct reading *q, enum words list)
{
    return list == WORDS_ELECTRODE ? q->electrode : list == WORDS_INSULATOR ? q->insulator : list == WORDS_TIGHTNESS ? q->tightness : 0;
}

static void look_at_word(const struct record *r, const struct visit *was, const struct visit *now, engine_set set, enum words list, uint64_t bad, struct seen *x)
{
    const int torqued = words_find(WORDS_REFIT, "torqued");
    const char *word = "";
    struct text a = {0}, b = {0}, left = {0};
    bool tightened = list == WORDS_TIGHTNESS;

    for (int i = 0; i < record_plug_count(&r->engine); i++) {
        const struct reading *q = &was->readings[i], *p = &now->readings[i];
        int before = word_of(q, list), after = word_of(p, list);
        char label[48];

        if ((set & BIT(q->cylinder)) == 0 || before == 0 || (bad >> before & 1u) == 0)
            continue;
        engine_plug_label(&r->engine, q->cylinder, q->position, label, sizeof label);
        word = words_label(list, before);
        tightened = tightened && q->refit == torqued;
        text_addf(&a, "%s%s", a.n_bytes ? ", " : "", label);
        x->before += 2;
        if (after == 0 && (list == WORDS_TIGHTNESS || !p->zone_seen[ZONE_FIRING_END] || reading_has_not_run(p))) {
            x->missing++;
            text_addf(&left, "%s%s", left.n_bytes ? ", " : "", label);
            continue;
        }
        x->before_where_looked += 2;
        x->now += after != 0 && (bad >> after & 1u) != 0 ? 2 : 0;
        if (after != 0)
            text_addf(&b, "%s%s %s", b.n_bytes ? ", " : "", label, words_label(list, after));
    }
    if (a.n_bytes > 0) {
        text_addf(&x->shown, "%s%s %s: before %s%s", x->shown.n_bytes ? " · " : "", list == WORDS_TIGHTNESS ? "came out" : list == WORDS_ELECTRODE ? "electrode" : "insulator", word, text_get(&a),
                  tightened ? ", then torqued" : "");
        if (left.n_bytes > 0)
            text_addf(&x->shown, list == WORDS_TIGHTNESS ? "; how tight it comes out now is not said: %s" : "; not looked at: %s", text_get(&left));
        if (b.n_bytes > 0 || left.n_bytes == 0)
            text_addf(&x->shown, "; now %s", b.n_bytes ? text_get(&b) : "nothing of it");
    }
    text_release(&a);
    text_release(&b);
    text_release(&left);
}

#define LOOSE ((uint64_t)1 << words_find(WORDS_TIGHTNESS, "loose"))

/* Gaps past the range, counted. */
static void look_at_gaps(const struct record *r, const struct visit *was, const struct visit *now, engine_set set, struct seen *x)
{
    int before = 0, after = 0, unread = 0;

    for (int i = 0; i < record_plug_count(&r->engine); i++) {
        const struct reading *a = &was->readings[i], *b = &now->readings[i];

        if ((set & BIT(i / r->engine.n_positions)) == 0 || !a->gap_mm.given || gap_against(&r->engine.plug, a->gap_mm.value) < GAP_OVER ||
            gap_against(&r->engine.plug, a->gap_mm.value) == GAP_UNDER)
            continue;
        before++;
        unread += !b->gap_mm.given;
        x->gap_unseen |= b->gap_mm.given ? 0 : BIT(i / r->engine.n_positions);
        after += b->gap_mm.given && (gap_against(&r->engine.plug, b->gap_mm.value) == GAP_OVER || gap_against(&r->engine.plug, b->gap_mm.value) == GAP_PAST_LIMIT);
    }
    if (before == 0)
        return;
    x->before += before;
    x->before_where_looked += before - unread;
    x->missing += unread;
    x->now += after;
    text_addf(&x->shown, "%sgaps past the range: %d before, %d now", x->shown.n_bytes ? " · " : "", before, after);
    if (unread > 0)
        text_addf(&x->shown, "; %d not measured", unread);
}

/* The lowest of the set as a share of the highest of all, 0 when one of the set was not taken. */
static double share(const struct record *r, const struct visit *v, engine_set set, bool *passes)
{
    const struct compression_rule *rule = compression_rule_find("");
    double kpa[ENGINE_MAX_CYLINDERS], least = 0, most = 0;
    int n = 0;

    for (int c = 0; c < r->engine.n_cylinders; c++) {
        const struct maybe *m = &visit_reading_const(v, &r->engine, c, 0)->compression_kpa;

        if (!m->given) {
            if ((set & BIT(c)) != 0)
                return 0;
            continue;
        }
        kpa[n++] = m->value;
        most = m->value > most ? m->value : most;
        if ((set & BIT(c)) != 0 && (least == 0 || m->value < least))
            least = m->value;
    }
    if (n < 2 || most <= 0)
        return 0;
    *passes = compression_passes(rule, kpa, n, least);
    return least / most;
}

static void look_at_compression(const struct record *r, const struct visit *was, const struct visit *now, engine_set set, struct seen *x)
{
    bool passed = true, passes = true;
    double before = share(r, was, set, &passed), after;

    if (before <= 0 || passed)
        return;
    after = share(r, now, set, &passes);
    x->before += 2;
    text_addf(&x->shown, "%scompression: %.0f %% of the highest before", x->shown.n_bytes ? " · " : "", before * 100);
    if (after <= 0) {
        x->missing++;
        for (int c = 0; c < r->engine.n_cylinders; c++)
            x->compression_unseen |= visit_reading_const(now, &r->engine, c, 0)->compression_kpa.given ? 0 : BIT(c) & set;
        text_add(&x->shown, "; not taken now");
        return;
    }
    x->before_where_looked += 2;
    x->now += passes ? 0 : after > before + CLEARLY ? 1 : 2;
    text_addf(&x->shown, "; %.0f %% now", after * 100);
}

/* ---- a miss ---- */

struct missed { /* what a visit says of a miss at the set */
    struct text words;
    bool codes, tests; /* codes, tests there name the set */
    bool codes_read, all_tested, complaint_asked, complains;
    engine_set elsewhere; /* cylinders outside the set that codes or tests name, where none names it */
};

/* What is complained of has to do with the mixture, oil, smoke or heat: whether it misses is another matter, and was not said. */
static bool complains_of_a_miss(const struct visit *v)
{
    static const char *const others[] = {"idle-high", "oil-use", "burnt-oil-smell", "coolant-use", "overheating", "blue-smoke-start", "blue-smoke-load", "blue-smoke-overrun", "white-smoke", "run-on", "none"};
    bool miss = v->complaint_words[0] != '\0'; /* in a person's own words it may be */

    for (int i = 0; i < v->n_complaints; i++) {
        bool other = false;

        for (size_t k = 0; k < sizeof others / sizeof others[0]; k++)
            other = other || strcmp(words_id(WORDS_COMPLAINT, v->complaints[i]), others[k]) == 0;
        miss = miss || !other;
    }
    return miss;
}

static void missed_at(const struct record *r, const struct visit *v, engine_set set, struct missed *x)
{
    engine_set tested = 0;
    bool any = false;

    memset(x, 0, sizeof *x);
    x->codes_read = v->n_codes > 0;
    for (int i = 0; i < v->n_codes; i++) {
        struct code code = code_read(&r->engine, v->codes[i]);

        if (code.kind == CODE_MISFIRE_ANY) { /* may be any cylinder */
            x->codes_read = false;
            any = true;
        }
        if (code.kind != CODE_MISFIRE && code.kind != CODE_COIL)
            continue;
        x->elsewhere |= code.cylinders & ~set;
        if ((code.cylinders & set) == 0)
            continue;
        x->codes = true;
        text_addf(&x->words, "%s%s", x->words.n_bytes ? ", " : "", v->codes[i]);
    }
    for (int i = 0; i < v->n_tests; i++) {
        if ((set & BIT(v->tests[i].cylinder)) == 0) {
            if (visit_test_tells_fault(v->tests[i].test, v->tests[i].result))
                x->elsewhere |= BIT(v->tests[i].cylinder);
            continue;
        }
        tested |= BIT(v->tests[i].cylinder);
        text_addf(&x->words, "%s%s %s: %s", x->words.n_bytes ? ", " : "", words_label(WORDS_TEST, v->tests[i].test), r->engine.cylinders[v->tests[i].cylinder].label,
                  words_label(WORDS_TEST_RESULT, v->tests[i].result));
        x->tests = x->tests || visit_test_tells_fault(v->tests[i].test, v->tests[i].result);
    }
    x->all_tested = tested == set;
    if (any || x->codes || x->tests)
        x->elsewhere = 0;
    x->complains = complains_of_a_miss(v);
    x->complaint_asked = x->complains || (visit_complaint_asked(v) && !visit_complains(v));
    if (x->complaint_asked) {
        char said[300];

        visit_format_complaint(v, said, sizeof said);
        text_addf(&x->words, "%s%s", x->words.n_bytes ? ", " : "", said);
    }
}

static engine_set all_cylinders(const struct record *r)
{
    return (BIT(r->engine.n_cylinders - 1) << 1) - 1;
}

/* A part of the set was changed with one there since it was repaired: the trouble may have gone along, whatever the repair did. */
static bool went_along(const struct record *r, int repaired, engine_set set, engine_set there)
{
    for (int at = repaired; at < r->n_visits - 1; at++)
        for (int i = 0; i < r->visits[at].n_done; i++) {
            const struct visit_done *d = &r->visits[at].done[i];

            if (d->from >= 0 && d->to >= 0 && (((set & BIT(d->from)) != 0 && (there & BIT(d->to)) != 0) || ((set & BIT(d->to)) != 0 && (there & BIT(d->from)) != 0)))
                return true;
        }
    return false;
}

static void add_elsewhere(const struct record *r, engine_set set, engine_set there, bool along, struct text *t)
{
    char at[120], not_at[120];

    engine_set_words(&r->engine, there, at, sizeof at);
    engine_set_words(&r->engine, set, not_at, sizeof not_at);
    text_addf(t, ": at %s, no longer at %s%s", at, not_at, along ? "; but parts were changed over between them, which says nothing of the repair" : "");
}

/* Codes and tests speak of the place itself. The complaint is of the whole engine: that it is gone answers for all of it,
 * that it goes on says of no cylinder that it is this one. */
static void look_at_misfire(const struct record *r, int repaired, const struct visit *now, engine_set set, struct seen *x)
{
    const struct visit *was = &r->visits[repaired];
    struct missed a, b;
    bool looked, known, along;

    missed_at(r, was, set, &a);
    missed_at(r, now, set, &b);
    along = went_along(r, repaired, set, b.elsewhere);
    looked = b.codes || b.tests || ((b.all_tested || (b.codes_read && a.codes) || b.elsewhere != 0) && !along);
    known = looked || (b.complaint_asked && (!b.complains || set == all_cylinders(r)));
    if (a.codes || a.tests || a.complains || b.codes || b.tests) {
        x->before += 2;
        x->before_where_looked += known ? 2 : 0;
        x->missing += !known;
        x->named = x->named || b.codes || b.tests;
        x->untold = x->untold || (!known && b.complains);
        if (b.codes || b.tests || (known && !looked && b.complains))
            x->now += 2;
        text_addf(&x->shown, "%smiss: before %s; now %s", x->shown.n_bytes ? " · " : "", a.words.n_bytes ? text_get(&a.words) : "none noted",
                  b.words.n_bytes ? text_get(&b.words) : b.codes_read ? "no code of it" : "not said: complaint, codes or a cut-out test will tell");
        x->which = x->which || (!known && b.complains && b.elsewhere == 0);
        if (b.elsewhere != 0)
            add_elsewhere(r, set, b.elsewhere, along, &x->shown);
        else if (!known && b.complains)
            text_add(&x->shown, ": at which cylinder is not known; read the codes, or cut out one by one");
    }
    text_release(&a.words);
    text_release(&b.words);
}

/* Where nothing that is watched for was noted: what else there spoke for the cause, by the table of causes. */
static void look_at_evidence(const struct record *r, int repaired, engine_set set, const char *cause, struct seen *x)
{
    const struct cause_table *t = cause_table_builtin();
    const struct visit *was = &r->visits[repaired], *now = record_current(r);
    const struct cause_row *row = &t->causes[cause_table_find(t, cause)];
    uint64_t signs = 0, words[WORDS_COUNT] = {0};
    bool miss = false, low = false;

    for (int i = row->first_term; i < row->first_term + row->n_terms; i++)
        for (int n = 0; n < t->terms[i].fact.n && t->terms[i].yes_db > 0 && cause_over_inside(t->terms[i].over); n++) {
            const struct fact_atom *a = &t->terms[i].fact.atoms[n];

            if (a->kind == FACT_SIGN)
                signs |= a->mask;
            else if (a->kind == FACT_WORD && a->list >= 0)
                words[a->list] |= a->mask;
            miss = miss || a->kind == FACT_TEST || (a->kind == FACT_CODE && (a->which == CODE_MISFIRE || a->which == CODE_COIL));
            low = low || (a->kind == FACT_NUMBER && a->which == NUMBER_COMPRESSION_LOW);
        }
    for (int s = 0; s < SIGN_COUNT; s++)
        for (int c = 0; c < r->engine.n_cylinders && (signs >> s & 1u) != 0; c++)
            if ((set & BIT(c)) != 0 && amount_at(r, was, c, s) > 0) {
                look_at_sign(r, repaired, now, set, s, x);
                break;
            }
    for (int list = 0; list < WORDS_COUNT; list++)
        look_at_word(r, was, now, set, (enum words)list, words[list], x);
    if (miss)
        look_at_misfire(r, repaired, now, set, x);
    if (low)
        look_at_compression(r, was, now, set, x);
}

/* Where no sign showed the cause: the complaint did. */
static void look_at_complaint(const struct record *r, const struct visit *was, const struct visit *now, engine_set set, struct seen *x)
{
    for (int i = 0; i < was->n_complaints; i++) {
        bool still = false;

        if (strcmp(words_id(WORDS_COMPLAINT, was->complaints[i]), "none") == 0)
            continue;
        for (int k = 0; k < now->n_complaints; k++)
            still = still || now->complaints[k] == was->complaints[i];
        bool untold = still && set != all_cylinders(r);

        x->before++;
        x->untold = x->untold || untold;
        x->which = x->which || untold;
        x->missing += !now->complaints_given || untold;
        x->before_where_looked += now->complaints_given && !untold;
        x->now += still && !untold;
        text_addf(&x->shown, "%scomplaint “%s”: %s", x->shown.n_bytes ? " · " : "", words_label(WORDS_COMPLAINT, was->complaints[i]),
                  untold ? "still there, at which cylinder is not known" : still ? "still there" : now->complaints_given ? "no longer" : "not asked for");
    }
}

/* One part renewed at several cylinders held at some of them and not at the others: said of each, and not as one verdict. */
static bool tell_apart(const struct record *r, struct seen *x)
{
    engine_set gone = x->gone & ~x->same;
    struct text t = {0};

    if (gone == 0 || x->same == 0)
        return false;
    for (int as_before = 0; as_before < 2; as_before++)
        for (int c = 0, n = 0; c < r->engine.n_cylinders; c++)
            if (((as_before ? x->same : gone) & BIT(c)) != 0)
                text_addf(&t, "%s%s", n++ > 0 ? ", " : as_before ? "; as before at " : "gone at ", r->engine.cylinders[c].label);
    text_addf(&t, " · %s", text_get(&x->shown));
    text_release(&x->shown);
    x->shown = t;
    return true;
}

bool follow_of(const struct record *r, int repaired, const char *cause, const char *place, struct follow *out)
{
    const struct job_cause *row = job_cause_find(cause);
    engine_set set = job_place(&r->engine, place);
    struct seen x = {.before = 0};
    const struct visit *was, *now;
    char watch[240];

    memset(out, 0, sizeof *out);
    if (row == NULL || set == 0 || repaired < 0 || repaired >= r->n_visits - 1)
        return false;
    was = &r->visits[repaired];
    now = record_current(r);
    text_copy(watch, sizeof watch, row->watch);
    for (char *m = watch; *m != '\0';) {
        size_t n = strcspn(m, "|");
        char *next = m + n + (m[n] == '|');
        int sign;

        m[n] = '\0';
        m += strspn(m, " ");
        for (size_t k = strlen(m); k > 0 && m[k - 1] == ' '; k--)
            m[k - 1] = '\0';
        sign = sign_named(m);
        if (sign >= 0)
            look_at_sign(r, repaired, now, set, sign, &x);
        else if (strcmp(m, "gap") == 0)
            look_at_gaps(r, was, now, set, &x);
        else if (strcmp(m, "misfire") == 0)
            look_at_misfire(r, repaired, now, set, &x);
        else if (strcmp(m, "tightness") == 0)
            look_at_word(r, was, now, set, WORDS_TIGHTNESS, LOOSE, &x);
        else
            look_at_compression(r, was, now, set, &x);
        m = next;
    }
    if (x.before == 0 && x.now == 0 && x.shown.n_bytes == 0)
        look_at_evidence(r, repaired, set, cause, &x);
    if (x.before == 0 && x.now == 0)
        look_at_complaint(r, was, now, set, &x);
    if (x.before == 0 && x.now == 0 && x.shown.n_bytes == 0)
        text_add(&x.shown, "nothing that shows this cause was noted before the repair");
    if ((x.before == 0 && x.now == 0) || (x.missing > 0 && x.now == 0))
        out->state = x.untold ? FOLLOW_NOT_TOLD : FOLLOW_NOT_LOOKED;
    else
        out->state = x.now == 0 ? FOLLOW_GONE : tell_apart(r, &x) ? FOLLOW_PARTLY : x.now < x.before_where_looked && !x.named ? FOLLOW_BETTER : FOLLOW_BACK;
    text_copy(out->shown, sizeof out->shown, text_get(&x.shown));
    memcpy(out->unseen, x.unseen, sizeof out->unseen);
    out->gap_unseen = x.gap_unseen;
    out->which = out->state == FOLLOW_NOT_TOLD && x.which;
    out->compression_unseen = x.compression_unseen;
    text_release(&x.shown);
    return true;
}

/* ---- swap test ---- */

/* "3: P0303, cut out: no change, fuel-wet". */
static void evidence(const struct record *r, const struct visit *v, int c, struct text *t)
{
    const struct engine *en = &r->engine;
    bool any = false;

    text_addf(t, "%s: ", en->cylinders[c].label);
    for (int i = 0; i < v->n_codes; i++) {
        struct code code = code_read(en, v->codes[i]);

        if ((code.kind == CODE_MISFIRE || code.kind == CODE_COIL) && (code.cylinders & BIT(c)) != 0) {
            text_addf(t, "%s%s", any ? ", " : "", v->codes[i]);
            any = true;
        }
    }
    for (int i = 0; i < v->n_tests; i++)
        if (v->tests[i].cylinder == c) {
            text_addf(t, "%s%s: %s", any ? ", " : "", words_label(WORDS_TEST, v->tests[i].test), words_label(WORDS_TEST_RESULT, v->tests[i].result));
            any = true;
        }
    for (int p = 0; p < en->n_positions; p++) {
        int s = reading_main_deposit(visit_reading_const(v, en, c, p));

        if (s >= 0) {
            text_addf(t, "%s%s", any ? ", " : "", sign_row((enum sign)s)->label);
            any = true;
        }
    }
    if (!any)
        text_add(t, "nothing noted");
}

void swap_judge(const struct record *r, const struct visit_done *d, struct swap_verdict *out)
{
    const struct engine *en = &r->engine;
    const struct visit *was, *now;
    uint64_t moved;
    char parts[80];
    struct swap_told told;
    struct text t = {0};
    bool together, two;
    int from, to;

    memset(out, 0, sizeof *out);
    if (r->n_visits < 2 || d->from < 0 || d->to < 0)
        return;
    was = &r->visits[r->n_visits - 2];
    now = record_current(r);
    moved = cause_swap_moved(was, d);
    out->again = (moved & UINT64_C(1) << d->part) == 0 || (moved & ((UINT64_C(1) << d->part) - 1)) != 0;
    together = (moved & (moved - 1)) != 0;
    two = (moved & (moved - 1) & ((moved & (moved - 1)) - 1)) == 0;
    told = cause_swap_told(en, was, now, d);
    from = told.from;
    to = told.to;
    out->both = told.both_now && !told.alike_before;
    if (told.unread) {
        text_format(out->shown, sizeof out->shown, "Read the firing ends of %s and %s at this visit; note codes and cut-out tests.",
                    en->cylinders[d->from].label, en->cylinders[d->to].label);
    } else if (told.alike_before) {
        text_format(out->shown, sizeof out->shown, "Before the swap nothing told %s and %s apart.", en->cylinders[d->from].label, en->cylinders[d->to].label);
    } else if (told.none_now) {
        text_copy(out->shown, sizeof out->shown, "The trouble is at neither now: a contact that was bad, or it has not come back yet.");
    } else if (told.both_now) {
        text_add(&t, "Both give trouble now, ");
        evidence(r, now, from, &t);
        text_add(&t, "; ");
        evidence(r, now, to, &t);
        text_addf(&t, ". A code of %s may be left from before, or both fail: clear the codes, drive, read them again, cut out each.", en->cylinders[from].label);
        text_copy(out->shown, sizeof out->shown, text_get(&t));
        text_clear(&t);
    } else {
        out->state = told.followed ? SWAP_FOLLOWED : SWAP_STAYED;
    }
    cause_swap_parts(moved, out->state != SWAP_STAYED || !two ? "and" : "nor", parts, sizeof parts);
    switch (out->state) {
    case SWAP_FOLLOWED:
        text_format(out->headline, sizeof out->headline, "Trouble followed %s%s from %s to %s%s", together ? "" : "the ", parts, en->cylinders[from].label, en->cylinders[to].label,
                    !together ? "" : two ? ": one of the two" : ": one of them");
        if (together)
            text_add(&t, "They moved together: swap one of them back, drive, read again · ");
        break;
    case SWAP_STAYED:
        text_format(out->headline, sizeof out->headline, "Trouble stayed at %s: it is %s %s", en->cylinders[from].label, !together ? "not the" : two ? "neither" : "none of", parts);
        break;
    case SWAP_CANNOT_TELL:
        text_format(out->headline, sizeof out->headline, "Swap of %s of %s and %s: cannot tell yet", parts, en->cylinders[d->from].label, en->cylinders[d->to].label);
        text_release(&t);
        return;
    }
    text_add(&t, "before ");
    evidence(r, was, from, &t);
    text_add(&t, "; ");
    evidence(r, was, to, &t);
    text_add(&t, " · now ");
    evidence(r, now, from, &t);
    text_add(&t, "; ");
    evidence(r, now, to, &t);
    text_copy(out->shown, sizeof out->shown, text_get(&t));
    text_release(&t);
}
