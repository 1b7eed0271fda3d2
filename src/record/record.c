#include "record/record.h"

#include <assert.h>
#include <math.h>
#include <stdatomic.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#include "base/clock.h"
#include "base/err.h"
#include "base/mem.h"
#include "base/text.h"
#include "base/units.h"

void reading_init(struct reading *r, int cylinder, int position)
{
    memset(r, 0, sizeof *r);
    r->cylinder = cylinder;
    r->position = position;
    for (int s = 0; s < SIGN_COUNT; s++)
        r->amount[s] = AMOUNT_UNSEEN;
}

/* Of a visit whose used part is zero. */
static void start_readings(struct visit *v, const struct engine *en)
{
    for (int c = 0; c < en->n_cylinders; c++)
        for (int p = 0; p < en->n_positions; p++)
            reading_init(&v->readings[record_plug_index(en, c, p)], c, p);
}

void visit_init(struct visit *v, const struct engine *en)
{
    memset(v, 0, sizeof *v);
    start_readings(v, en);
}

void record_init(struct record *r)
{
    memset(r, 0, sizeof *r);
    engine_init(&r->engine);
}

/* The visits of one or several records. A visit has room for the most plugs there can be; of an engine with eight,
 * nine tenths of it are never touched, and memory that is not touched costs nothing as long as it comes zeroed from
 * the system. */
struct room {
    atomic_int n_owners;
    int n_used; /* visits that were begun here; those behind are still zero */
    struct visit visits[];
};

static struct room *room_of(const struct record *r)
{
    return r->visits != NULL ? (struct room *)((char *)r->visits - offsetof(struct room, visits)) : NULL;
}

static void leave(struct room *room)
{
    if (room != NULL && atomic_fetch_sub(&room->n_owners, 1) == 1)
        free(room);
}

void record_release(struct record *r)
{
    leave(room_of(r));
    memset(r, 0, sizeof *r);
}

static size_t used_bytes(const struct engine *en)
{
    return offsetof(struct visit, readings) + (size_t)record_plug_count(en) * sizeof(struct reading);
}

static void make_room(struct record *r, int n_room)
{
    struct room *to;

    const int n_all = r->n_visits + r->n_later + r->n_ahead;

    assert(n_room >= n_all);
    to = mem_alloc(1, sizeof *to + (size_t)n_room * sizeof to->visits[0]);
    atomic_init(&to->n_owners, 1);
    to->n_used = n_all;
    for (int i = 0; i < n_all; i++)
        memcpy(&to->visits[i], &r->visits[i], used_bytes(&r->engine));
    leave(room_of(r));
    r->visits = to->visits;
    r->n_room = n_room;
}

void record_reserve(struct record *r, int n_visits)
{
    if (n_visits > r->n_room)
        make_room(r, n_visits);
}

struct visit *record_add_visit(struct record *r)
{
    int n = r->n_visits;
    struct visit *v;

    assert(r->engine.n_cylinders > 0 && r->n_later == 0);
    if (n == r->n_room || atomic_load(&room_of(r)->n_owners) > 1)
        make_room(r, n < r->n_room ? r->n_room : n == 0 ? 1 : 2 * n);
    v = &r->visits[n];
    if (n < room_of(r)->n_used)
        memset(v, 0, used_bytes(&r->engine));
    else
        room_of(r)->n_used = n + 1;
    start_readings(v, &r->engine);
    r->n_visits++;
    return v;
}

void record_renew_last(struct record *r, const struct visit *v)
{
    assert(r->n_visits > 0);
    if (atomic_load(&room_of(r)->n_owners) > 1)
        make_room(r, r->n_room);
    memcpy(&r->visits[r->n_visits - 1], v, used_bytes(&r->engine));
}

struct record record_until(const struct record *r, int n_visits)
{
    struct record until = *r;

    assert(n_visits >= 0 && n_visits <= r->n_visits + r->n_later);
    until.n_visits = n_visits;
    until.n_later = r->n_visits + r->n_later - n_visits;
    return until;
}

void record_share(struct record *to, const struct record *from)
{
    *to = *from;
    if (from->visits != NULL)
        atomic_fetch_add(&room_of(from)->n_owners, 1);
}

const struct visit *record_current(const struct record *r)
{
    assert(r->n_visits > 0);
    return &r->visits[r->n_visits - 1];
}

struct reading *visit_reading(struct visit *v, const struct engine *en, int cylinder, int position)
{
    assert(cylinder >= 0 && cylinder < en->n_cylinders && position >= 0 && position < en->n_positions);
    return &v->readings[record_plug_index(en, cylinder, position)];
}

const struct reading *visit_reading_const(const struct visit *v, const struct engine *en,
                                          int cylinder, int position)
{
    assert(cylinder >= 0 && cylinder < en->n_cylinders && position >= 0 && position < en->n_positions);
    return &v->readings[record_plug_index(en, cylinder, position)];
}

bool reading_says(const struct reading *r)
{
    const struct maybe figures[] = {r->torque_nm, r->gap_mm, r->gap_left_mm, r->gap_photo_mm, r->plug_distance_m, r->nose_L, r->compression_kpa, r->compression_wet_kpa, r->leak_percent, r->differential_over_80};
    const int words[] = {r->threads_turns, r->dries, r->heavier_side, r->electrode, r->wear_on, r->insulator, r->tightness, r->refit, r->washer, r->thread_state, r->mark_clock, r->as_book};

    for (int z = 0; z < ZONE_COUNT; z++)
        if (r->zone_seen[z])
            return true;
    for (size_t i = 0; i < sizeof figures / sizeof figures[0]; i++)
        if (figures[i].given)
            return true;
    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++)
        if (words[i] != 0)
            return true;
    return r->unplugged || r->leak_heard_given || r->plug_id[0] != '\0' || r->plug_name[0] != '\0';
}

bool reading_tells_plug(const struct reading *r)
{
    static const enum zone on_plug[] = {ZONE_FIRING_END, ZONE_THREADS, ZONE_BODY};

    for (size_t z = 0; r->present && z < sizeof on_plug / sizeof on_plug[0]; z++)
        if (reading_zone_looked(r, on_plug[z]))
            return true;
    return r->present && (r->gap_mm.given || r->nose_L.given || r->dries != 0 || r->heavier_side != 0 || r->electrode != 0 || r->wear_on != 0 || r->insulator != 0);
}

int visit_plugs_read(const struct visit *v, int n_plugs)
{
    int n = 0;

    for (int i = 0; i < n_plugs; i++)
        n += reading_tells_plug(&v->readings[i]);
    return n;
}

int visit_wells_read(const struct visit *v, int n_plugs)
{
    int n = 0;

    for (int i = 0; i < n_plugs; i++)
        n += v->readings[i].present && reading_zone_looked(&v->readings[i], ZONE_WELL);
    return n;
}

void reading_see_zone(struct reading *r, enum zone z)
{
    r->present = true;
    r->zone_seen[z] = true;
    for (int s = (int)sign_first(z), end = s + sign_count(z); s < end; s++)
        if (r->amount[s] == AMOUNT_UNSEEN)
            r->amount[s] = 0;
}

void reading_say(struct reading *r, enum sign s, int amount)
{
    assert(amount >= 0 && amount <= 3);
    if (sign_row(s)->zone == ZONE_FIRING_END)
        reading_see_zone(r, ZONE_FIRING_END);
    r->present = true;
    r->amount[s] = (int8_t)amount;
}

bool reading_zone_looked(const struct reading *r, enum zone z)
{
    if (r->zone_seen[z])
        return true;
    for (int s = (int)sign_first(z), end = s + sign_count(z); s < end; s++)
        if (r->amount[s] != AMOUNT_UNSEEN)
            return true;
    return false;
}

bool reading_has_not_run(const struct reading *r)
{
    return r->present && (r->plug_distance_m.given ? r->plug_distance_m.value <= 0 : r->unrun);
}

static bool is_on_plug(enum zone z)
{
    return z == ZONE_FIRING_END || z == ZONE_THREADS || z == ZONE_BODY;
}

int reading_shows(const struct reading *r, enum sign s)
{
    const bool as_new = r->amount[s] <= 0 || s == SIGN_PALE || s == SIGN_NORMAL;

    return as_new && is_on_plug(sign_row(s)->zone) && reading_has_not_run(r) ? AMOUNT_UNSEEN : r->amount[s];
}

void reading_keep_evidence(struct reading *r)
{
    if (!reading_has_not_run(r))
        return;
    for (int s = 0; s < SIGN_COUNT; s++)
        r->amount[s] = (int8_t)reading_shows(r, (enum sign)s);
    for (int z = 0; z < ZONE_COUNT; z++)
        r->zone_seen[z] = r->zone_seen[z] && !is_on_plug((enum zone)z);
    r->nose_L.given = r->nose_a.given = r->nose_b.given = false;
    r->electrode = r->electrode == words_find(WORDS_ELECTRODE, "sharp") ? 0 : r->electrode;
    r->insulator = r->insulator == words_find(WORDS_INSULATOR, "sound") ? 0 : r->insulator;
}

void reading_note(struct reading *r, enum sign s, int amount)
{
    assert(amount >= 0 && amount <= 3);
    reading_see_zone(r, sign_row(s)->zone);
    r->amount[s] = (int8_t)amount;
}

int reading_main_deposit(const struct reading *r)
{
    int best = -1;

    for (int s = 0; s < SIGN_COUNT; s++) {
        if (sign_row((enum sign)s)->zone != ZONE_FIRING_END || r->amount[s] <= 0)
            continue;
        if (best < 0 || r->amount[s] > r->amount[best] ||
            (r->amount[s] == r->amount[best] &&
             sign_row((enum sign)s)->level > sign_row((enum sign)best)->level))
            best = s;
    }
    return best;
}

bool reading_is_greased(const struct reading *r)
{
    return r->thread_state != 0 && r->thread_state == words_find(WORDS_THREAD_STATE, "greased");
}

bool reading_contradicts(const struct reading *r, char *to, size_t n_room)
{
    struct text t = {0};
    bool any;

    for (int s = 0; s < SIGN_COUNT && r->amount[SIGN_NORMAL] > 0; s++)
        if (sign_is_fault((enum sign)s) && sign_row((enum sign)s)->zone == ZONE_FIRING_END && r->amount[s] > 0)
            text_addf(&t, "%s%s", t.n_bytes > 0 ? ", " : "", sign_row((enum sign)s)->label);
    any = t.n_bytes > 0;
    if (any)
        text_format(to, n_room, "%s together with %s: which?", sign_row(SIGN_NORMAL)->label, text_get(&t));
    else
        text_copy(to, n_room, "");
    text_release(&t);
    return any;
}

int reading_gravest_sign(const struct reading *r, int *n_noted)
{
    int best = -1;

    *n_noted = 0;
    for (int i = 0; i < SIGN_COUNT; i++) {
        enum level level = sign_row((enum sign)i)->level;

        if (r->amount[i] <= 0 || level == LEVEL_NONE)
            continue;
        (*n_noted)++;
        if (best < 0 || level > sign_row((enum sign)best)->level || (level == sign_row((enum sign)best)->level && r->amount[i] > r->amount[best]))
            best = i;
    }
    return best;
}

enum gap_verdict gap_against(const struct engine_plug_spec *spec, double mm)
{
    if (spec->gap_limit_mm > 0 && mm > spec->gap_limit_mm + 1e-9)
        return GAP_PAST_LIMIT;
    if (spec->gap_max_mm > 0 && mm > spec->gap_max_mm + 0.0101)
        return GAP_OVER;
    if (spec->gap_max_mm > 0 && mm > spec->gap_max_mm + 1e-9)
        return GAP_HAIR_OVER;
    if (spec->gap_min_mm > 0 && mm < spec->gap_min_mm - 0.0501)
        return GAP_UNDER;
    return GAP_IN_RANGE;
}

struct plug_place visit_drawn(const struct visit *v, int i)
{
    return (struct plug_place){v->removal[i] / ENGINE_MAX_POSITIONS, v->removal[i] % ENGINE_MAX_POSITIONS};
}

int visit_find_drawn(const struct visit *v, int cylinder, int position)
{
    for (int i = 0; i < v->n_removal; i++)
        if (v->removal[i] == cylinder * ENGINE_MAX_POSITIONS + position)
            return i;
    return -1;
}

int visit_read_odometer_unit(const char *typed)
{
    static const struct {
        const char *word, *unit;
    } words[] = {{"mi", "mi"}, {"mile", "mi"}, {"miles", "mi"}, {"km", "km"}, {"kms", "km"}, {"kilometre", "km"}, {"kilometres", "km"}, {"kilometer", "km"}, {"kilometers", "km"},
                 {"h", "h"}, {"hr", "h"}, {"hrs", "h"}, {"hour", "h"}, {"hours", "h"}};
    size_t n = strlen(typed);

    while (n > 0 && (typed[n - 1] == ' ' || typed[n - 1] == '.'))
        n--;
    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++)
        if (strlen(words[i].word) == n && strncasecmp(words[i].word, typed, n) == 0)
            return words_find(WORDS_ODOMETER_UNIT, words[i].unit);
    return 0;
}

const struct unit *visit_odometer_unit(int unit)
{
    return unit_find(unit > 0 ? words_id(WORDS_ODOMETER_UNIT, unit) : "km");
}

void visit_toggle_complaint(struct visit *v, int word)
{
    int none = words_find(WORDS_COMPLAINT, "none"), n = 0;
    bool there = false;

    for (int i = 0; i < v->n_complaints; i++) {
        there = there || v->complaints[i] == word;
        if (v->complaints[i] != word && word != none && v->complaints[i] != none)
            v->complaints[n++] = v->complaints[i];
    }
    if (!there && n < VISIT_MAX_COMPLAINTS)
        v->complaints[n++] = word;
    v->n_complaints = n;
    v->complaints_given = true;
}

bool visit_complains(const struct visit *v)
{
    return v->complaint_words[0] != '\0' || (v->n_complaints > 0 && strcmp(words_id(WORDS_COMPLAINT, v->complaints[0]), "none") != 0);
}

bool visit_complaint_asked(const struct visit *v)
{
    return v->complaints_given || v->complaint_words[0] != '\0';
}

void visit_format_complaint(const struct visit *v, char *to, size_t n_room)
{
    struct text t = {0};
    char own[sizeof v->complaint_words + 8];

    for (int i = 0; i < v->n_complaints; i++)
        text_addf(&t, "%s%s", i > 0 ? ", " : "", words_label(WORDS_COMPLAINT, v->complaints[i]));
    if (v->complaint_words[0] != '\0')
        text_addf(&t, "%s“%s”", t.n_bytes > 0 ? ": " : "", text_apart(v->complaint_words, own, sizeof own));
    text_copy(to, n_room, text_get(&t));
    text_release(&t);
}

static bool in_hours(int unit)
{
    return unit != 0 && unit == words_find(WORDS_ODOMETER_UNIT, "h");
}

void visit_format_odometer(struct maybe metres, int unit, char *to, size_t n_room)
{
    const struct unit *u = visit_odometer_unit(unit);
    const long tenths = metres.given ? lround(metres.value / u->factor * 10) : 0;
    char number[32];

    to[0] = '\0';
    if (!metres.given)
        return;
    if (in_hours(unit) && tenths % 10 != 0) { /* what their instruments show; of miles nobody asks for it */
        text_from_count(number, sizeof number, tenths / 10);
        text_format(to, n_room, "%s.%ld %s", number, labs(tenths % 10), u->label);
        return;
    }
    text_from_count(number, sizeof number, lround(metres.value / u->factor));
    text_format(to, n_room, "%s %s", number, u->label);
}

/* ---- "replaced:valve-cover-seal:bank 2" ---- */

static bool parse_place(const struct engine *en, const char *place, struct visit_done *d,
                        struct err *e)
{
    d->bank = -1;
    d->from = d->to = -1;
    if (strcmp(place, "all") == 0) {
        d->all = true;
        for (int i = 0; i < en->n_cylinders; i++)
            d->cylinders |= (engine_set)1 << i;
        return true;
    }
    if (text_starts(place, "bank ")) {
        d->bank = engine_find_bank(en, place + 5);
        if (d->bank < 0)
            return err_set(e, ERR_BADARG, "There is no bank “%s”.", TEXT_SHORT(place + 5, 40));
        d->cylinders = engine_bank_set(en, d->bank);
        return true;
    }
    if (text_starts(place, "cylinder ") || text_starts(place, "cylinders ")) {
        const char *s = strchr(place, ' ');
        int n = 0;

        while (*s != '\0') {
            char label[32];
            size_t k = 0;
            int c;

            s += strspn(s, " ,");
            while (*s != '\0' && *s != ',' && *s != ' ') {
                if (k + 1 < sizeof label)
                    label[k++] = *s;
                s++;
            }
            label[k] = '\0';
            if (k == 0)
                break;
            if (strcmp(label, "and") == 0) /* as findings join the last two */
                continue;
            c = engine_find_cylinder(en, label);
            if (c < 0)
                return err_set(e, ERR_BADARG, "There is no cylinder %s.", label);
            d->cylinders |= (engine_set)1 << c;
            if (n == 0)
                d->from = c;
            else if (n == 1)
                d->to = c;
            n++;
        }
        if (n > 0)
            return true;
    }
    return err_set(e, ERR_BADARG,
                   "“%s” is no place: use all, bank NAME, cylinder N or cylinders N,M.", TEXT_SHORT(place, 60));
}

bool visit_parse_done(const struct engine *en, const char *text, struct visit_done *out,
                      struct err *e)
{
    char line[200], words[400], *part, *place;
    struct visit_done d = {0};

    if (!text_copy(line, sizeof line, text))
        return err_set(e, ERR_BADARG, "“%s” is too long.", TEXT_SHORT(text, 40));
    part = strchr(line, ':');
    place = part != NULL ? strchr(part + 1, ':') : NULL;
    if (place == NULL)
        return err_set(e, ERR_BADARG, "“%s” is not of the form verb:part:place.", TEXT_SHORT(text, 80));
    *part++ = '\0';
    *place++ = '\0';
    d.verb = words_find(WORDS_DONE_VERB, line);
    if (d.verb <= 0) {
        words_list(WORDS_DONE_VERB, words, sizeof words);
        return err_set(e, ERR_BADARG, "“%s” is no known verb; there are %s.", TEXT_SHORT(line, 40), words);
    }
    d.part = words_find(WORDS_DONE_PART, part);
    if (d.part <= 0) {
        words_list(WORDS_DONE_PART, words, sizeof words);
        return err_set(e, ERR_BADARG, "“%s” is no known part; there are %s.", TEXT_SHORT(part, 40), words);
    }
    if (!parse_place(en, place, &d, e))
        return false;
    if (strcmp(words_id(WORDS_DONE_VERB, d.verb), "swapped") != 0 || d.from == d.to || d.to < 0 ||
        d.cylinders != ((engine_set)1 << d.from | (engine_set)1 << d.to))
        d.from = d.to = -1; /* only an exchange of two has a first and a second */
    *out = d;
    return true;
}

void visit_format_done(const struct engine *en, const struct visit_done *d, char *to, size_t n_room)
{
    struct text t = {0};

    text_addf(&t, "%s:%s:", words_id(WORDS_DONE_VERB, d->verb), words_id(WORDS_DONE_PART, d->part));
    if (d->all) {
        text_add(&t, "all");
    } else if (d->bank >= 0) {
        text_addf(&t, "bank %s", en->banks[d->bank].name);
    } else {
        bool several = (d->cylinders & (d->cylinders - 1)) != 0, first = true;

        text_add(&t, several ? "cylinders " : "cylinder ");
        if (d->from >= 0) {
            text_add(&t, en->cylinders[d->from].label);
            first = false;
        }
        if (d->to >= 0)
            text_addf(&t, "%s%s", first ? "" : ",", en->cylinders[d->to].label);
        for (int i = 0; i < en->n_cylinders; i++)
            if ((d->cylinders >> i & 1u) != 0 && i != d->from && i != d->to) {
                text_addf(&t, "%s%s", first ? "" : ",", en->cylinders[i].label);
                first = false;
            }
    }
    text_copy(to, n_room, text_get(&t));
    text_release(&t);
}

void visit_done_words(const struct engine *en, const struct visit_done *d, char *to, size_t n_room)
{
    struct text t = {0};
    char line[200];

    visit_format_done(en, d, line, sizeof line); /* no name of a place holds a colon behind the last of these */
    text_addf(&t, "%s %s, ", words_label(WORDS_DONE_PART, d->part), words_label(WORDS_DONE_VERB, d->verb));
    for (const char *s = strchr(strchr(line, ':') + 1, ':') + 1; *s != '\0'; s++)
        text_addf(&t, *s == ',' && s[1] != ' ' ? "%c " : "%c", *s);
    text_copy(to, n_room, text_get(&t));
    text_release(&t);
}

void visit_done_short(const struct visit *v, char *to, size_t n_room)
{
    uint64_t told[64] = {0}; /* by verb, bits of its parts */
    struct text t = {0};

    for (int i = 0; i < v->n_done; i++) {
        const int verb = v->done[i].verb;

        if (told[verb] != 0)
            continue;
        for (int k = i; k < v->n_done; k++) {
            const uint64_t part = (uint64_t)1 << v->done[k].part;

            if (v->done[k].verb != verb || (told[verb] & part) != 0)
                continue;
            text_addf(&t, "%s%s", told[verb] != 0 ? ", " : t.n_bytes > 0 ? "; " : "", words_label(WORDS_DONE_PART, v->done[k].part));
            told[verb] |= part;
        }
        text_addf(&t, " %s", words_label(WORDS_DONE_VERB, verb));
    }
    text_copy(to, n_room, text_get(&t));
    text_release(&t);
}

bool visit_add_code(struct visit *v, const char *code, struct err *e)
{
    char large[8] = "";
    bool fine = strlen(code) == 5;

    for (int i = 0; fine && i < 6; i++)
        large[i] = code[i] >= 'a' && code[i] <= 'z' ? (char)(code[i] - 'a' + 'A') : code[i];
    fine = fine && strchr("PBCU", large[0]) != NULL && large[1] >= '0' && large[1] <= '3' &&
           strspn(large + 2, "0123456789ABCDEF") == 3;
    if (!fine)
        return err_set(e, ERR_BADARG, "“%s” is no trouble code like P0306.", TEXT_SHORT(code, 20));
    if (v->n_codes == VISIT_MAX_CODES)
        return err_set(e, ERR_LIMIT, "A visit holds at most %d trouble codes.", VISIT_MAX_CODES);
    text_copy(v->codes[v->n_codes++], sizeof v->codes[0], large);
    return true;
}

/* Bytes of a sign that sets codes apart; 0: it belongs to one. */
static size_t is_between_codes(const char *s)
{
    static const char *const dashes[] = {"–", "—", "·", "\u00a0"};

    for (size_t i = 0; i < sizeof dashes / sizeof dashes[0]; i++)
        if (text_starts(s, dashes[i]))
            return strlen(dashes[i]);
    return (*s > 0 && *s < '0') || (*s > '9' && *s < 'A') || (*s > 'Z' && *s < 'a') || (*s > 'z' && *s < 127) ? 1 : 0;
}

bool visit_next_code(const char **at, char *code, size_t n_room)
{
    size_t n = 0, between;

    while (**at != '\0' && (between = is_between_codes(*at)) > 0)
        *at += between;
    while ((*at)[n] != '\0' && is_between_codes(*at + n) == 0)
        n++;
    text_format(code, n_room, "%.*s", (int)n, *at);
    *at += n;
    return n > 0;
}

#define GAP_LEAST_MM 0.2
#define GAP_MOST_MM 2.5

void reading_choose_gap(struct reading *r)
{
    r->gap_from_photo = r->gap_photo_mm.given && (r->gap_trust_photo || !r->gap_mm.given);
    r->gap_gauge_mm = r->gap_from_photo ? r->gap_mm : (struct maybe){0};
    if (r->gap_from_photo)
        r->gap_mm = r->gap_photo_mm;
}

struct maybe reading_gauge_gap(const struct reading *r)
{
    return r->gap_from_photo ? r->gap_gauge_mm : r->gap_mm;
}

bool reading_gaps_agree(const struct reading *r)
{
    struct maybe gauge = reading_gauge_gap(r);

    return !gauge.given || !r->gap_photo_mm.given || fabs(gauge.value - r->gap_photo_mm.value) <= hypot(r->gap_photo_pm_mm, GAUGE_PM_MM) + 1e-9;
}

void reading_format_gap_source(const struct reading *r, bool inches, char *to, size_t n_room)
{
    struct maybe gauge = reading_gauge_gap(r);
    char photo[16], pm[16], by_hand[16];
    double unit = inches ? MM_PER_INCH : 1;
    int n_decimals = inches ? 3 : 2;

    text_from_double(photo, sizeof photo, r->gap_photo_mm.value / unit, n_decimals);
    text_from_double(pm, sizeof pm, r->gap_photo_pm_mm / unit, n_decimals);
    text_from_double(by_hand, sizeof by_hand, gauge.value / unit, n_decimals);
    if (gauge.given && r->gap_photo_mm.given)
        text_format(to, n_room, "feeler %s, photo %s ± %s: %s%s", by_hand, photo, pm, reading_gaps_agree(r) ? "agree" : "apart", r->gap_from_photo ? "; photo counts" : "");
    else if (r->gap_photo_mm.given)
        text_format(to, n_room, "photo ± %s", pm);
    else
        text_copy(to, n_room, gauge.given ? "feeler gauge" : "");
}

static bool gap_is_usual(double mm)
{
    return mm >= GAP_LEAST_MM && mm <= GAP_MOST_MM;
}

int32_t record_gap_as_shown_um(double mm, bool inches)
{
    char shown[24];
    double figure = 0;

    text_from_double(shown, sizeof shown, inches ? mm / MM_PER_INCH : mm, inches ? 3 : 2);
    text_to_double(shown, &figure);
    return (int32_t)lround(figure * (inches ? MM_PER_INCH : 1) * 1000);
}

bool record_read_gap(const char *typed, bool inches, int32_t *um, struct err *e)
{
    char figure[24] = "", other[24] = "";
    int32_t meant;
    double mm;

    text_copy(figure, sizeof figure, typed + strspn(typed, " "));
    for (size_t n = strlen(figure); n > 0 && figure[n - 1] == ' '; n--)
        figure[n - 1] = '\0';
    text_format(other, sizeof other, "%s %s", TEXT_SHORT(figure, 12), inches ? "mm" : "in");
    if (!unit_parse_gap(figure, inches, um))
        mm = -1;
    else
        mm = *um / 1000.0;
    /* a unit was named, or it is closed, or it is as gaps are */
    if (mm >= 0 && (strpbrk(figure, "mit\"") != NULL || *um == 0 || gap_is_usual(mm)))
        return true;
    if (unit_parse_gap(other, inches, &meant) && gap_is_usual(meant / 1000.0)) {
        if (inches)
            return err_set(e, ERR_BADARG, "“%s” is no gap of a plug in inches. Millimetres? Then type “%s” (%.3f in).", TEXT_SHORT(figure, 12), other, meant / 1000.0 / MM_PER_INCH);
        return err_set(e, ERR_BADARG, "“%s” is no gap of a plug in mm. Inches? Then type “%s” (%.2f mm).", TEXT_SHORT(figure, 12), other, meant / 1000.0);
    }
    if (mm < 0)
        return err_set(e, ERR_BADARG, inches ? "“%s” is no gap: type 43 or 0.043 (inch)." : "“%s” is no gap: type 1.1 or 1,10 (mm).", TEXT_SHORT(typed, 20));
    if (inches)
        return err_set(e, ERR_BADARG, "%.3f in is no usual gap: plugs have 0.008 to 0.098. If it is so, type “%s in”.", mm / MM_PER_INCH, TEXT_SHORT(figure, 12));
    return err_set(e, ERR_BADARG, "%.2f mm is no usual gap: plugs have 0.2 to 2.5. If it is so, type “%s mm”; inches are typed “0.043 in”.", mm, TEXT_SHORT(figure, 12));
}

bool record_read_gap_of(const struct engine *en, const char *typed, bool inches, int32_t *um, struct err *e)
{
    const double least = en->plug.gap_min_mm, most = en->plug.gap_max_mm > least ? en->plug.gap_max_mm : least;
    int32_t meant;
    double mm, meant_mm;

    if (!record_read_gap(typed, inches, um, e))
        return false;
    mm = *um / 1000.0;
    if (least <= 0 || *um == 0 || strpbrk(typed, "mit\"") != NULL || (mm > least * 0.6 && mm < most * 1.7) || !unit_parse_gap(typed, !inches, &meant))
        return true;
    meant_mm = meant / 1000.0;
    if (meant_mm < least * 0.8 || meant_mm > most * 1.3)
        return true;
    if (inches)
        return err_set(e, ERR_BADARG, "“%s” would be %.3f in; the engine's gaps are %.3f to %.3f. Millimetres? Then type “%.2f mm”; else “%.3f in”.", TEXT_SHORT(typed, 12), mm / MM_PER_INCH, least / MM_PER_INCH, most / MM_PER_INCH, meant_mm, mm / MM_PER_INCH);
    return err_set(e, ERR_BADARG, "“%s” would be %.2f mm; the engine's gaps are %.2f to %.2f. Inches? Then type “%.3f in” (%.2f mm); else “%.2f mm”.", TEXT_SHORT(typed, 12), mm, least, most, meant_mm / MM_PER_INCH, meant_mm, mm);
}

/* ---- odometer ---- */

static bool counts_hours(const struct visit *v)
{
    return in_hours(v->odometer_unit);
}

/* The visit before at which it was read, counting the same; -1 none. */
static int odometer_before(const struct record *r, int visit)
{
    const struct visit *v = &r->visits[visit];

    for (int k = visit - 1; v->odometer_m.given && k >= 0; k--)
        if (r->visits[k].odometer_m.given && counts_hours(&r->visits[k]) == counts_hours(v))
            return k;
    return -1;
}

int record_odometer_back(const struct record *r, int visit)
{
    int k = odometer_before(r, visit);

    return k >= 0 && r->visits[k].odometer_m.value > r->visits[visit].odometer_m.value ? k : -1;
}

int record_odometer_leapt(const struct record *r, int visit)
{
    int k = odometer_before(r, visit), y0, m0, d0, y1, m1, d1;
    double days;

    if (k < 0 || !clock_parse_date(r->visits[k].date, &y0, &m0, &d0) || !clock_parse_date(r->visits[visit].date, &y1, &m1, &d1))
        return -1;
    days = (double)(clock_days(y1, m1, d1) - clock_days(y0, m0, d0)) + 1; /* the first and the last as well */
    return r->visits[visit].odometer_m.value - r->visits[k].odometer_m.value > days * (counts_hours(&r->visits[visit]) ? ODOMETER_DAY_S : ODOMETER_DAY_M) ? k : -1;
}

int record_odometer_breaks(const struct record *r, int visit)
{
    int back = record_odometer_back(r, visit);

    return back >= 0 ? back : record_odometer_leapt(r, visit);
}

/* ---- removal order ---- */

int record_find_plug(const struct engine *en, const char *label)
{
    for (int c = 0; c < en->n_cylinders; c++)
        for (int p = 0; p < en->n_positions; p++) {
            char name[48];

            engine_plug_label(en, c, p, name, sizeof name);
            if (strcmp(name, label) == 0)
                return c * ENGINE_MAX_POSITIONS + p;
        }
    return -1;
}

void visit_format_oil_change(const struct visit_care *care, char *to, size_t n_room)
{
    const struct unit *u = unit_find(care->oil_change_unit[0] ? care->oil_change_unit : "l");

    to[0] = '\0';
    if (care->oil_change_l.given && u != NULL)
        text_format(to, n_room, "%.*f %s", u->n_decimals, care->oil_change_l.value / u->factor, u->label);
}

/* ---- tests ---- */

int visit_test_results(int test, int results[VISIT_TEST_RESULTS])
{
    static const struct {
        const char *test, *results[VISIT_TEST_RESULTS];
    } rows[] = {{"cut-out", {"no-change", "drops"}},
                {"damp", {"misses", "no-change"}},
                {"dark", {"sparks", "sparks-lead", "sparks-coil", "sparks-boot", "no-change"}}};
    int n = 0;

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        if (strcmp(words_id(WORDS_TEST, test), rows[i].test) == 0)
            while (n < VISIT_TEST_RESULTS && rows[i].results[n] != NULL) {
                results[n] = words_find(WORDS_TEST_RESULT, rows[i].results[n]);
                n++;
            }
    return n;
}

bool visit_test_tells_fault(int test, int result)
{
    int results[VISIT_TEST_RESULTS], n = visit_test_results(test, results);

    for (int i = 0; i < n - 1; i++)
        if (results[i] == result)
            return true;
    return false;
}

engine_set visit_worked_at(const struct visit *v, const char *verb, const char *part)
{
    const int which_verb = words_find(WORDS_DONE_VERB, verb), which_part = words_find(WORDS_DONE_PART, part);
    engine_set set = 0;

    for (int i = 0; i < v->n_done; i++)
        if (v->done[i].verb == which_verb && v->done[i].part == which_part)
            set |= v->done[i].cylinders;
    return set;
}

int visit_find_test(const struct visit *v, int test, int cylinder)
{
    for (int i = 0; i < v->n_tests; i++)
        if (v->tests[i].test == test && v->tests[i].cylinder == cylinder)
            return v->tests[i].result;
    return 0;
}

bool visit_set_test(struct visit *v, int test, int cylinder, int result)
{
    int at = 0;

    while (at < v->n_tests && (v->tests[at].test != test || v->tests[at].cylinder != cylinder))
        at++;
    if (result == 0) {
        if (at < v->n_tests) {
            memmove(&v->tests[at], &v->tests[at + 1], (size_t)(v->n_tests - at - 1) * sizeof v->tests[0]);
            v->n_tests--;
        }
        return true;
    }
    if (at == VISIT_MAX_TESTS)
        return false;
    v->tests[at] = (struct visit_test){test, cylinder, result};
    v->n_tests += at == v->n_tests;
    return true;
}
