#include "reading/job.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "base/text.h"
#include "base/units.h"
#include "reading/cause_at.h"
#include "reading/job_work.h"
#include "reading/refit.h"
#include "record/ready.h"
#include "record/seated.h"
#include "record/stops.h"

/* ---- places ---- */

engine_set job_place(const struct engine *en, const char *place)
{
    return record_place(en, place);
}

void job_done_line(const struct engine *en, const struct job_cause *c, const char *place, char *to, size_t n_room)
{
    char where[100];

    to[0] = '\0';
    if (c->done[0] == '\0' || job_place(en, place) == 0)
        return;
    record_done_place(place, where, sizeof where);
    text_format(to, n_room, "%s:%s", c->done, where);
}

/* ---- proposals ---- */

static struct job_step *add_step(struct job *j, const char *key, const char *text, const char *caution)
{
    struct job_step *s;

    for (int i = 0; i < j->n_steps; i++)
        if (strcmp(j->steps[i].key, key) == 0)
            return NULL;
    if (j->n_steps == JOB_MAX)
        return NULL;
    s = &j->steps[j->n_steps++];
    memset(s, 0, sizeof *s);
    text_copy(s->key, sizeof s->key, key);
    text_copy(s->marked, sizeof s->marked, text);
    unit_tell_words(&j->units, text, s->text, sizeof s->text);
    text_copy(s->caution, sizeof s->caution, caution);
    text_copy(s->state, sizeof s->state, "todo");
    return s;
}

int job_distance_unit(const struct visit *v)
{
    return v->odometer_unit == words_find(WORDS_ODOMETER_UNIT, "h") ? words_find(WORDS_ODOMETER_UNIT, "km") : v->odometer_unit;
}

/* An engine that counts hours is looked at again when it suits; otherwise whole fifties in the unit
 * the odometer counts in: 800 km are 500 mi. */
static struct maybe round_distance(const struct record *r, double metres)
{
    const struct unit *u = visit_odometer_unit(record_current(r)->odometer_unit);
    double step = 50 * (strcmp(u->id, "mi") == 0 ? u->factor : 1000);

    if (job_distance_unit(record_current(r)) != record_current(r)->odometer_unit)
        return (struct maybe){false, 0};
    return MAYBE(fmax(1, round(metres / step)) * step);
}

/* The visit whose complaint is to be asked for: this one where it was asked, also when there is none, or the last before it that was. */
static const struct visit *complaint_of(const struct record *r)
{
    const struct visit *v = record_current(r);

    for (int i = r->n_visits - 2; i >= 0 && !visit_complaint_asked(v); i--)
        if (visit_complaint_asked(&r->visits[i]))
            return &r->visits[i];
    return v;
}

/* Which of the complaints: those a warm idle or a start shows, those it is used for, all. */
enum asks { ASKS_IDLE, ASKS_USE, ASKS_ALL };

static bool is_asked(int complaint, enum asks which)
{
    return which == ASKS_ALL || job_complaint_driven(complaint) == (which == ASKS_USE);
}

static int n_asked(const struct visit *v, enum asks which)
{
    int n = 0;

    for (int i = 0; i < v->n_complaints; i++)
        n += is_asked(v->complaints[i], which);
    return n;
}

/* What shows the complaint where a warm idle does not, "start it cold after a night, then …"; "" where it does (assets/complaint-checks.csv). */
static void complaint_check(const struct record *r, enum asks which, char *to, size_t n_room)
{
    const struct visit *v = complaint_of(r);

    to[0] = '\0';
    for (int i = 0; i < v->n_complaints; i++) {
        const char *then = job_complaint_then(v->complaints[i]);

        if (is_asked(v->complaints[i], which) && then[0] != '\0' && strstr(to, then) == NULL && strlen(to) + strlen(then) + 7 < n_room)
            text_format(to + strlen(to), n_room - strlen(to), "%s%s", to[0] != '\0' ? ", then " : "", then);
    }
}

static void complaint_asked(const struct record *r, enum asks which, char *to, size_t n_room)
{
    const struct visit *v = complaint_of(r);
    char own[120]; /* so much of the person's words; a step holds no more */
    bool said = false;

    to[0] = '\0';
    if (!visit_complains(v) || (which == ASKS_IDLE && n_asked(v, which) == 0 && n_asked(v, ASKS_USE) > 0))
        return;
    if (v->complaint_words[0] != '\0') {
        bool whole = text_copy(own, sizeof own, v->complaint_words);

        text_format(to, n_room, "“%s%s”", own, whole ? "" : "…");
    }
    for (int i = 0; i < v->n_complaints && v->complaint_words[0] == '\0'; i++) {
        if (!is_asked(v->complaints[i], which))
            continue;
        text_format(to + strlen(to), n_room - strlen(to), "%s“%s”", said ? ", " : "", words_label(WORDS_COMPLAINT, v->complaints[i]));
        said = true;
    }
    text_format(to + strlen(to), n_room - strlen(to), ": gone?");
}

void job_complaint_asked(const struct record *r, char *to, size_t n_room)
{
    complaint_asked(r, ASKS_ALL, to, n_room);
}

static bool all_drawn(const struct visit *v, int n_plugs)
{
    for (int i = 0; i < n_plugs; i++)
        if (!ready_was_drawn(v, &v->readings[i]))
            return false;
    return n_plugs > 0;
}

/* As the visit says it was done; a plug that is still to be drawn asks for it, of those that are out nothing is claimed. */
static const char *socket_words(const struct record *r)
{
    const struct visit *v = record_current(r);

    if (record_plug_count(&r->engine) == 1)
        return ""; /* it touches no other */
    if (v->socket != 0 && v->socket != words_find(WORDS_SOCKET, "wiped"))
        return words_label(WORDS_SOCKET, v->socket);
    return v->socket == 0 && all_drawn(v, record_plug_count(&r->engine)) ? "" : "socket wiped between them";
}

/* {where}, {why}, {gap}, {limit}, {book}, {electrode}, {then}, {complaint}, {use}, {gone}, {socket} filled in. */
void job_fill(const struct record *r, const char *text, const char *where, const char *why, char *to, size_t n_room)
{
    char number[32], asked[200];
    struct text t = {0};

    for (const char *s = text; *s != '\0';) {
        if (text_starts(s, "{where}")) {
            text_add(&t, where);
        } else if (text_starts(s, "{why}")) {
            text_add(&t, why);
        } else if (text_starts(s, "{gap}") || text_starts(s, "{limit}")) {
            unit_mark_length(s[1] == 'g' ? r->engine.plug.gap_min_mm : refit_worn_from_mm(&r->engine.plug), number, sizeof number);
            text_add(&t, number);
        } else if (text_starts(s, "{book}")) {
            text_add(&t, refit_book_words(&r->engine));
        } else if (text_starts(s, "{electrode}")) {
            const char *metal = engine_electrode_id(r->engine.plug.electrode);

            text_addf(&t, "%c%s", metal[0] - 'a' + 'A', metal + 1);
        } else if (text_starts(s, "{then}")) {
            complaint_check(r, ASKS_IDLE, asked, 93); /* and the complaint: a step holds no more */
            text_addf(&t, "%s%s", asked[0] != '\0' ? ", then " : "", asked);
        } else if (text_starts(s, "{use}")) {
            complaint_check(r, ASKS_USE, asked, 120);
            text_addf(&t, "%c%s", asked[0] - 'a' + 'A', asked + 1);
        } else if (text_starts(s, "{gone}")) {
            complaint_asked(r, ASKS_USE, asked, sizeof asked);
            text_add(&t, asked);
        } else if (text_starts(s, "{socket}")) {
            text_addf(&t, "%s%s", socket_words(r)[0] != '\0' ? ", " : "", socket_words(r));
        } else if (text_starts(s, "{complaint}")) {
            complaint_asked(r, ASKS_IDLE, asked, sizeof asked);
            text_add(&t, asked[0] != '\0' ? asked : "does it run evenly?");
        } else {
            text_addf(&t, "%c", *s++);
            continue;
        }
        s = strchr(s, '}') + 1;
    }
    text_copy(to, n_room, text_get(&t));
    text_release(&t);
}

/* The rows of job-steps.csv for one occasion. */
void job_add_begins_why(const struct record *r, const char *at, const char *where, const char *why, struct job *j)
{
    int n_begins;
    const struct job_begin *begins = job_begins(&n_begins);

    for (int i = 0; i < n_begins; i++) {
        const struct job_begin *b = &begins[i];
        struct job_step *s;
        char key[64], text[256];

        if (strcmp(b->at, at) != 0)
            continue;
        text_format(key, sizeof key, "%s@%s", b->key, where);
        job_fill(r, b->text, where, why, text, sizeof text);
        s = add_step(j, where[0] && strcmp(at, "wet") != 0 ? key : b->key, text, b->caution);
        if (s == NULL)
            continue;
        text_copy(s->does, sizeof s->does, b->does);
        s->first = text_starts(at, "start") || strcmp(at, "wet") == 0;
        s->running = text_starts(at, "found:") && text_starts(b->caution, "engine-run"); /* it runs for this */
        s->driven = strcmp(at, "driven") == 0;
        s->running = s->running || s->driven;
        s->last = strcmp(at, "end") == 0 || text_starts(at, "run") || text_starts(at, "gaps:") || s->running;
        if (b->after_m > 0) {
            s->after_m = round_distance(r, b->after_m);
            text_copy(s->state, sizeof s->state, "later");
        }
    }
}

void job_add_begins(const struct record *r, const char *at, const char *where, struct job *j)
{
    job_add_begins_why(r, at, where, "", j);
}

void job_head_thread(const struct record *r, const char *where, const char *took, struct job_step *to)
{
    struct job *j = mem_alloc(1, sizeof *j);

    job_add_begins_why(r, "renewed-over", where, took, j);
    assert(j->n_steps == 1);
    *to = j->steps[0];
    free(j);
}

static int count_bits(engine_set set)
{
    int n = 0;

    for (; set != 0; set &= set - 1)
        n++;
    return n;
}

/* New plugs are those of the book, where its type is written down. */
void job_name_plug(const struct engine *en, struct job_part *p)
{
    size_t n = strlen(p->text);

    if (en->plug.type[0] != '\0' && n + strlen(en->plug.type) + 4 <= sizeof p->text)
        text_format(p->text + n, sizeof p->text - n, " (%s)", en->plug.type);
}

static bool shows(const struct reading *q, const bool signs[SIGN_COUNT])
{
    for (int s = 0; s < SIGN_COUNT; s++)
        if (signs[s] && q->amount[s] > 0)
            return true;
    return false;
}

static bool shows_damage(const struct record *r, const struct job_cause *c, const struct reading *q)
{
    return shows(q, c->seen) || (c->seen_repair[0] != '\0' && strcmp(c->done, "replaced:plug") == 0 && refit_scrap(r, q)[0] != '\0');
}

bool job_is_seen(const struct record *r, const struct job_cause *c, engine_set cylinders)
{
    for (int i = 0; i < record_plug_count(&r->engine); i++) {
        const struct reading *q = &record_current(r)->readings[i];

        if (q->present && (cylinders >> q->cylinder & 1u) != 0 && shows_damage(r, c, q))
            return true;
    }
    return false;
}

/* What is renewed is one plug's own. */
static bool is_of_plug(const struct job_cause *c)
{
    static const char *const parts[] = {"plug", "coil", "boot", "lead", "connector"};

    for (size_t i = 0; i < sizeof parts / sizeof parts[0]; i++)
        if (text_starts(c->done, "replaced:") && strcmp(c->done + strlen("replaced:"), parts[i]) == 0)
            return c->per == JOB_PER_CYLINDER;
    return false;
}

void job_at_plug(const struct record *r, const struct job_cause *c, engine_set cylinders, char *to, size_t n_room)
{
    const struct engine *en = &r->engine;

    to[0] = '\0';
    if (en->n_positions < 2 || !is_of_plug(c) || cylinders == 0 || (cylinders & (cylinders - 1)) != 0)
        return;
    for (int damage = 1; damage >= 0 && to[0] == '\0'; damage--) { /* what is broken, else what does not look sound */
        int at = -1, n = 0;

        for (int i = 0; i < record_plug_count(en); i++) {
            const struct reading *q = &record_current(r)->readings[i];

            if (!q->present || (cylinders >> q->cylinder & 1u) == 0 || !(damage ? shows_damage(r, c, q) : findings_plug_level(en, q) >= LEVEL_WATCH))
                continue;
            at = i;
            n++;
        }
        if (n > 1)
            return;
        if (n == 1 && en->n_cylinders == 1)
            text_format(to, n_room, "%s plug", en->position_names[at % en->n_positions]);
        else if (n == 1)
            text_format(to, n_room, "cylinder %s %s", en->cylinders[at / en->n_positions].label, en->position_names[at % en->n_positions]);
    }
}

/* Where a cause is, as its step and its part say it. */
static void place_words(const struct record *r, const struct job_cause *row, const char *where, engine_set cylinders, char to[CAUSE_AT_BYTES])
{
    job_at_plug(r, row, cylinders != 0 ? cylinders : job_place(&r->engine, where), to, CAUSE_AT_BYTES);
    if (to[0] == '\0')
        cause_at_place(&r->engine, row->cause, where, to);
}

static void add_part(const struct record *r, const struct job_cause *row, const char *where, engine_set cylinders, struct job *j)
{
    const struct engine *en = &r->engine;
    struct job_part *p;
    char at[CAUSE_AT_BYTES];
    int affected = count_bits(cylinders != 0 ? cylinders : job_place(en, where)), n_all = en->n_cylinders * (is_of_plug(row) ? en->n_positions : 1);

    if (row->part[0] == '\0' || j->n_parts == JOB_MAX)
        return;
    for (int i = 0; i < j->n_parts; i++) /* one kind of part is one line: how many, and whether as a set */
        if (strncmp(j->parts[i].text, row->part, strlen(row->part)) == 0 && row->per == JOB_PER_SET)
            return;
    p = &j->parts[j->n_parts++];
    memset(p, 0, sizeof *p);
    text_format(p->key, sizeof p->key, "%s@%s", row->cause, where);
    p->quantity = row->per == JOB_PER_CYLINDER ? affected : row->per == JOB_PER_SET ? record_plug_count(en) : 1;
    place_words(r, row, where, cylinders, at);
    if (row->per == JOB_PER_SET)
        at[0] = '\0';
    text_format(p->text, sizeof p->text, "%s%s%s", row->part, at[0] != '\0' ? ", " : "", at);
    if (strcmp(row->done, "replaced:plug") == 0)
        job_name_plug(en, p);
    if (en->n_cylinders == 1)
        return;
    if (row->per == JOB_PER_CYLINDER && affected > 1)
        text_format(p->note, sizeof p->note, "%d of %d affected: one set may be cheaper", affected, n_all);
    else if (row->per == JOB_PER_CYLINDER)
        text_format(p->note, sizeof p->note, "1 of %d affected: one is enough", n_all);
}

/* Several single parts of one kind, each from a cause of its own: one, or the set? */
static void ask_for_sets(const struct record *r, struct job *j)
{
    for (int i = 0; i < j->n_parts; i++) {
        size_t n = strcspn(j->parts[i].text, ",");
        int together = 0;

        if (j->parts[i].note[0] == '\0')
            continue;
        for (int k = 0; k < j->n_parts; k++)
            if (strcspn(j->parts[k].text, ",") == n && strncmp(j->parts[i].text, j->parts[k].text, n) == 0)
                together += j->parts[k].quantity;
        if (together > 1)
            text_format(j->parts[i].note, sizeof j->parts[i].note, "%d of %d affected: one set may be cheaper", together, r->engine.n_cylinders);
    }
}

enum job_state job_judged_as(const struct engine *en, const struct job_judged *judged, int n, const char *cause, const char *place)
{
    engine_set set = job_place(en, place), of[JOB_STATE_COUNT] = {0};

    for (int i = 0; i < n; i++) {
        if (strcmp(judged[i].cause, cause) != 0 || judged[i].state == JOB_LEFT)
            continue;
        if (strcmp(judged[i].place, place) == 0)
            return judged[i].state;
        of[judged[i].state] |= job_place(en, judged[i].place);
    }
    if (set == 0 || (set & ~(of[JOB_ACCEPTED] | of[JOB_DISMISSED] | of[JOB_REPAIRED])) != 0)
        return JOB_OPEN;
    if ((set & ~of[JOB_DISMISSED]) == 0)
        return JOB_DISMISSED;
    return (set & ~(of[JOB_REPAIRED] | of[JOB_DISMISSED])) == 0 ? JOB_REPAIRED : JOB_ACCEPTED;
}

/* A swap has told that it is this cause, here. */
static bool is_settled(const struct findings *f, const char *cause, const char *where)
{
    for (int i = 0; f != NULL && i < f->n_causes; i++)
        if (strcmp(f->causes[i].id, cause) == 0 && strcmp(f->causes[i].where, where) == 0)
            return f->causes[i].settled;
    return false;
}

static void add_repair(const struct record *r, const struct findings *f, const char *cause, const char *where, engine_set cylinders, struct job *j);

static bool is_seen_at_all(const struct record *r, const struct job_cause *c, engine_set cylinders)
{
    for (int i = 0; i < r->engine.n_cylinders; i++)
        if ((cylinders >> i & 1u) != 0 && !job_is_seen(r, c, (engine_set)1 << i))
            return false;
    return cylinders != 0;
}

/* It runs for this: that comes when the plugs are in again. */
static void mark_running(struct job_step *s, bool is_driven)
{
    if (s == NULL)
        return;
    s->running = true;
    s->last = true;
    s->driven = is_driven;
}

static void running_last(struct job *j)
{
    struct job_step *all = mem_alloc((size_t)j->n_steps + 1, sizeof *all);
    int n = 0;

    for (int rank = 0; rank < 3; rank++)
        for (int i = 0; i < j->n_steps; i++)
            if (j->steps[i].running + j->steps[i].driven == rank)
                all[n++] = j->steps[i];
    memcpy(j->steps, all, (size_t)n * sizeof *all);
    free(all);
}

/* Parts that moved together are settled by the one step of the first of them. */
static bool is_told_before(const struct findings *f, int cause)
{
    for (int i = 0; i < cause; i++)
        if (f->causes[i].together != 0 && f->causes[i].together == f->causes[cause].together && f->causes[i].cylinders == f->causes[cause].cylinders)
            return true;
    return false;
}

/* Checks that settle likely causes nobody judged yet. */
static void add_checks(const struct record *r, const struct findings *f, const struct job_judged *judged, int n_judged, bool running, struct job *out)
{
    for (int i = 0; f != NULL && i < findings_n_on_screen(f); i++) {
        const struct cause *c = &f->causes[i];
        const struct job_cause *row = job_cause_find(c->id);
        struct job_step *s;
        char key[64], text[256], at[CAUSE_AT_BYTES];

        if (!findings_to_settle(c) || job_judged_as(&r->engine, judged, n_judged, c->id, c->where) != JOB_OPEN)
            continue;
        if (c->settled) { /* nothing is left to be found out */
            if (!running)
                add_repair(r, f, c->id, c->where, c->cylinders, out);
            continue;
        }
        /* a plug that is seen to be scrap has its own step */
        if (row != NULL && strcmp(row->done, "replaced:plug") == 0 && job_is_seen(r, row, c->cylinders))
            continue;
        if (row != NULL && row->seen_repair[0] != '\0' && is_seen_at_all(r, row, c->cylinders)) { /* nothing is to be settled first: it is renewed, and bought */
            if (!running)
                add_repair(r, f, c->id, c->where, c->cylinders, out);
            continue;
        }
        /* what is seen is mended with the engine off */
        if ((row != NULL && row->settles_running && !job_is_seen(r, row, c->cylinders)) != running)
            continue;
        if (is_told_before(f, i))
            continue;
        text_format(key, sizeof key, "settle:%s@%s", c->id, c->where);
        cause_at_found(&r->engine, c, at);
        text_format(text, sizeof text, "Settle whether: %s. %s", at, c->settles);
        s = add_step(out, key, text, row == NULL ? "" : running && row->settle_caution[0] != '\0' ? row->settle_caution : row->caution);
        if (running)
            mark_running(s, row->driven);
    }
}

static void add_repair(const struct record *r, const struct findings *f, const char *cause, const char *where, engine_set cylinders, struct job *j)
{
    const struct job_cause *row = job_cause_find(cause);
    struct job_step *s;
    char key[64], text[256], at[CAUSE_AT_BYTES];

    if (row == NULL)
        return;
    place_words(r, row, where, cylinders, at);
    text_format(key, sizeof key, "%s@%s", cause, where);
    text_format(text, sizeof text, "%s%s%s", is_settled(f, cause, where) ? job_settled_repair(cause) : job_is_seen(r, row, cylinders != 0 ? cylinders : job_place(&r->engine, where)) ? row->seen_repair : row->repair, at[0] != '\0' ? ": " : "", at);
    s = add_step(j, key, text, row->caution);
    if (strcmp(row->caution, "engine-run") == 0)
        mark_running(s, row->driven);
    if (row->again_m > 0) {
        text_format(key, sizeof key, "again:%s@%s", cause, where);
        cause_at_words(&r->engine, cause, where, at);
        text_format(text, sizeof text, "Look again whether it held: %s", at);
        s = add_step(j, key, text, "");
        if (s != NULL) {
            s->after_m = round_distance(r, row->again_m);
            text_copy(s->state, sizeof s->state, "later");
        }
    }
    add_part(r, row, where, cylinders, j);
}

/* ---- tightened too far ---- */

static void add_over(const struct record *r, const struct ready *ready, struct job *j)
{
    char where[200];

    if (ready_over_words(&r->engine, ready, where, sizeof where))
        job_add_begins(r, "over", where, j);
}

/* ---- boots that stood in oil ---- */

#define SOAKED 2 /* moderate: an amount that calls for action; a trace is wiped off in passing */

/* Cleaned and looked over, and a new one where that shows it is needed: it may be wanted, so it is on the list as such. */
static void add_soaked(const struct record *r, struct job *j)
{
    const struct visit *v = record_current(r);
    const char *part, *note;
    engine_set set = 0;
    struct job_part *p;
    char where[200], key[64];
    int n = 0;

    for (int i = 0; i < record_plug_count(&r->engine); i++)
        if (v->readings[i].amount[SIGN_BOOT_OIL_SOAKED] >= SOAKED)
            set |= (engine_set)1 << v->readings[i].cylinder;
    set &= ~(job_worked_at(v, "replaced:boot") | job_worked_at(v, "cleaned:boot") | job_renewed_by_repair(r, j, "Plug boot"));
    if (set == 0)
        return;
    for (int i = 0; i < record_plug_count(&r->engine); i++)
        n += (set >> v->readings[i].cylinder & 1u) != 0 && v->readings[i].amount[SIGN_BOOT_OIL_SOAKED] >= SOAKED;
    engine_set_words(&r->engine, set, where, sizeof where);
    job_add_begins(r, "found:soaked", where, j);
    text_format(key, sizeof key, "soaked@%s", where);
    part = job_part_optional(key, &note);
    if (part == NULL || j->n_parts == JOB_MAX)
        return;
    p = &j->parts[j->n_parts++];
    memset(p, 0, sizeof *p);
    text_copy(p->key, sizeof p->key, key);
    text_format(p->text, sizeof p->text, "%s: %s", part, where);
    text_copy(p->note, sizeof p->note, note);
    p->quantity = n;
}

/* ---- what must be looked into before it runs again ---- */

/* Liquid that lies in a cylinder: it is turned by hand before anything that cranks it, a compression test too. */
static void add_wet(const struct record *r, const struct ready *ready, struct job *j)
{
    struct ready_liquid liquid = ready->liquid;
    char where[200];

    for (int k = 0; k < READY_LIQUIDS && r->n_later == 0; k++) /* what an earlier visit saw, and nobody turned it since */
        liquid.of[k] |= ready->turn_first.of[k];
    if (ready_liquid_set(&liquid) == 0)
        return;
    ready_liquid_words(&r->engine, &liquid, where, sizeof where);
    job_add_begins(r, "wet", where, j);
}

static void add_stops(const struct record *r, const struct ready *ready, struct job *j)
{
    char at[32], where[200];

    for (int k = 0; k < VISIT_STOPS; k++) {
        engine_set set = ready->stops[k] | (r->n_later == 0 ? ready->stops_run[k] : 0); /* also what it was run over, until it is said */

        for (int c = 0; stop_by_cause(k) && c < r->engine.n_cylinders; c++) /* accepted at this visit, it has the step that mends it */
            if (ready->stop_at[k][c] == r->n_visits - 1)
                set &= ~((engine_set)1 << c);
        if (set == 0)
            continue;
        text_format(at, sizeof at, "stop:%s", stop_row(k)->id);
        engine_set_words(&r->engine, set, where, sizeof where);
        job_add_begins(r, at, where, j);
    }
}

/* Until then nothing is proposed that it would have to run for. */
static void drop_running(struct job *j)
{
    int n = 0;

    for (int i = 0; i < j->n_steps; i++)
        if (!j->steps[i].running && strcmp(j->steps[i].key, "idle") != 0)
            j->steps[n++] = j->steps[i];
    j->n_steps = n;
}

/* ---- what harms it under load ---- */

#define MOST_OF_WHY 100 /* characters: a step holds no more */

static bool harms_under_load(const struct record *r, const char *cause, const char *where)
{
    const struct job_cause *row = job_cause_find(cause);
    engine_set set = job_place(&r->engine, where);
    bool harms = row != NULL && row->harms;

    for (int i = 0; row != NULL && i < record_plug_count(&r->engine); i++) {
        const struct reading *q = &record_current(r)->readings[i];

        harms = harms || (q->present && (set >> q->cylinder & 1u) != 0 && shows(q, row->harms_with));
    }
    return harms;
}

/* Mended by the work that is noted, it is in the way of nothing. */
static void add_harm(const struct record *r, const char *cause, const char *where, struct text *why)
{
    char key[64], at[CAUSE_AT_BYTES];

    text_format(key, sizeof key, "%s@%s", cause, where);
    if (!harms_under_load(r, cause, where) || job_answered(r, record_current(r), NULL, key))
        return;
    cause_at_words(&r->engine, cause, where, at);
    if (why->n_bytes == 0 || strstr(text_get(why), at) == NULL)
        text_addf(why, "%s%s", why->n_bytes > 0 ? "; " : "", at);
}

/* Causes that harm the engine under load and are neither mended nor set aside: accepted, or likely and only to be settled. False: none. */
static bool load_is_held(const struct record *r, const struct findings *f, const struct job_judged *judged, int n_judged, char *why, size_t n_room)
{
    struct text t = {0};

    for (int i = 0; i < n_judged; i++)
        if (judged[i].state == JOB_ACCEPTED || (judged[i].state == JOB_LEFT && job_judged_as(&r->engine, judged, n_judged, judged[i].cause, judged[i].place) == JOB_OPEN))
            add_harm(r, judged[i].cause, judged[i].place, &t);
    for (int i = 0; f != NULL && i < findings_n_on_screen(f); i++)
        if (findings_to_settle(&f->causes[i]) && job_judged_as(&r->engine, judged, n_judged, f->causes[i].id, f->causes[i].where) == JOB_OPEN)
            add_harm(r, f->causes[i].id, f->causes[i].where, &t);
    text_copy(why, n_room, TEXT_SHORT(text_get(&t), MOST_OF_WHY));
    text_release(&t);
    return why[0] != '\0';
}

/* The warm idle, what needs it running, and what it is used under load for: that keeps its place, and is not offered while it would harm. */
static void add_runs(const struct record *r, const struct findings *f, const struct job_judged *judged, int n_judged, struct job *j)
{
    char why[4 * MOST_OF_WHY];
    const bool held = load_is_held(r, f, judged, n_judged, why, sizeof why);

    job_add_begins_why(r, held ? "run:held" : "run", "", why, j);
    add_checks(r, f, judged, n_judged, true, j);
    if (n_asked(complaint_of(r), ASKS_USE) > 0)
        job_add_begins(r, "driven", "", j);
    for (int i = 0; i < j->n_steps; i++)
        j->steps[i].held = held && j->steps[i].driven;
}

/* ---- where there may be a propeller ---- */

/* Where it runs, what the propeller does then is told first, belts and fans besides: the same engine may drive a truck. */
static void warn_of_propeller(struct job *j)
{
    const struct job_caution *list[JOB_MOST_CAUTIONS];

    for (int i = 0; i < j->n_steps; i++) {
        char *caution = j->steps[i].caution;
        int n = job_cautions_of(caution, list);
        bool asks = false;

        for (int k = 0; k < n; k++)
            asks = asks || (list[k]->propeller && strcmp(list[k]->id, "engine-run") != 0);
        text_put_for(caution, sizeof j->steps[i].caution, "engine-run", "engine-run-prop+engine-run");
        if (asks)
            text_format(caution + strlen(caution), sizeof j->steps[i].caution - strlen(caution), "+propeller");
    }
}

int job_rotation(const struct engine *en, struct plug_move moves[ENGINE_MAX_PLUGS])
{
    int n = 0;

    if (en->n_positions != 2 || en->ignition != ENGINE_MAGNETO || en->n_cylinders < 2)
        return 0;
    for (int i = 0; i < en->n_cylinders; i++)
        for (int p = 0; p < 2; p++)
            moves[n++] = (struct plug_move){{en->firing[i], p}, {en->firing[(i + 1) % en->n_cylinders], 1 - p}};
    return n;
}

static void add_rotation(const struct record *r, struct job *j)
{
    struct plug_move moves[ENGINE_MAX_PLUGS];
    int n = job_rotation(&r->engine, moves);
    struct job_step *s;
    char text[256] = "Rotate the plugs: ";
    size_t used = strlen(text);

    if (n == 0)
        return;
    record_format_moves(&r->engine, moves, n, text + used, sizeof text - used);
    if (strlen(text) + 1 == sizeof text) /* too many to be said in a step: the scheme stands with the parts */
        text_copy(text, sizeof text, "Rotate the plugs by the scheme written with the parts that change holes");
    s = add_step(j, "rotate", text, "");
    if (s != NULL)
        s->last = true;
}

/* What the work noted at this visit answers is neither to be done nor to be bought. */
static void drop_answered(const struct record *r, struct job *j)
{
    int n_steps = 0, n_parts = 0;

    for (int i = 0; i < j->n_steps; i++)
        if (!job_answered(r, record_current(r), NULL, j->steps[i].key))
            j->steps[n_steps++] = j->steps[i];
    for (int i = 0; i < j->n_parts; i++)
        if (!job_part_answered(r, record_current(r), NULL, j->parts[i].key))
            j->parts[n_parts++] = j->parts[i];
    j->n_steps = n_steps;
    j->n_parts = n_parts;
}

/* ---- what is over ---- */

/* Each cylinder has a plug at which the zone was looked at. What is noted in a well was seen there; of coils and wiring one thing that
 * is noted leaves the rest unsaid. */
static bool all_seen(const struct record *r, enum zone zone)
{
    const struct engine *en = &r->engine;

    for (int c = 0; c < en->n_cylinders; c++) {
        bool seen = false;

        for (int p = 0; p < en->n_positions; p++)
            seen = seen || visit_reading_const(record_current(r), en, c, p)->zone_seen[zone] || (zone == ZONE_WELL && reading_zone_looked(visit_reading_const(record_current(r), en, c, p), zone));
        if (!seen)
            return false;
    }
    return true;
}

/* Somebody looked into every well, and what stood in one of them is noted as cleaned out. */
static bool wells_empty(const struct record *r)
{
    const struct visit *v = record_current(r);
    engine_set cleaned = job_worked_at(v, "cleaned:well");

    for (int i = 0; i < record_plug_count(&r->engine); i++)
        for (int s = 0; s < SIGN_COUNT; s++)
            if (sign_row((enum sign)s)->zone == ZONE_WELL && v->readings[i].amount[s] > 0 && (cleaned >> v->readings[i].cylinder & 1u) == 0)
                return false;
    return all_seen(r, ZONE_WELL);
}

bool job_is_over(const struct record *r, const char *key)
{
    if (r->n_visits == 0)
        return false;
    if (strcmp(key, "look") == 0)
        return all_seen(r, ZONE_WELL);
    if (strcmp(key, "dry") == 0)
        return record_current(r)->state.dried || wells_empty(r);
    if (strcmp(key, "pull") == 0)
        return all_drawn(record_current(r), record_plug_count(&r->engine));
    return strcmp(key, "coils") == 0 && all_seen(r, ZONE_BOOT) && all_seen(r, ZONE_CONNECTOR) && (!engine_may_have_own_coils(&r->engine) || all_seen(r, ZONE_COIL)) &&
           (!engine_may_have_leads(&r->engine) || all_seen(r, ZONE_LEAD));
}

bool job_is_too_late(const struct record *r, const char *key, char *why, size_t n_room)
{
    int n;
    const struct job_begin *rows = job_begins(&n);

    why[0] = '\0';
    for (int i = 0; i < n; i++)
        if (rows[i].before[0] != '\0' && strcmp(rows[i].key, key) == 0 && job_is_over(r, rows[i].before) && !job_is_over(r, key)) {
            text_copy(why, n_room, rows[i].too_late);
            job_words_of_engine(&r->engine, why, n_room);
        }
    return why[0] != '\0';
}

/* Such a step comes ticked. */
static void tick_over(const struct record *r, struct job *j)
{
    char why[80];

    for (int i = 0; i < j->n_steps; i++) {
        if (job_is_over(r, j->steps[i].key))
            text_copy(j->steps[i].state, sizeof j->steps[i].state, "done");
        j->steps[i].too_late = job_is_too_late(r, j->steps[i].key, why, sizeof why);
    }
}

/* Dry and wet of every cylinder: what taking it again asks for is there. */
static bool compression_is_whole(const struct record *r)
{
    for (int c = 0; c < r->engine.n_cylinders; c++) {
        const struct reading *q = visit_reading_const(record_current(r), &r->engine, c, 0);

        if (!q->compression_kpa.given || !q->compression_wet_kpa.given)
            return false;
    }
    return true;
}

void job_propose(const struct record *r, const struct findings *f, const struct job_judged *judged, int n_judged, const struct unit_choice *units, struct job *out)
{
    static const struct {
        enum stand_out_kind kind;
        const char *at;
    } kinds[] = {{STAND_COMPRESSION, "found:compression"}, {STAND_CARRY_OVER, "found:carry-over"}, {STAND_WEAR, "found:wear"}};
    struct ready ready;
    char where[200];

    memset(out, 0, sizeof *out);
    if (units != NULL)
        out->units = *units;
    if (r->n_visits == 0)
        return;
    if (engine_is_propeller_like(&r->engine))
        job_add_begins(r, "start:propeller", "", out);
    if (engine_may_have_wells(&r->engine))
        job_add_begins(r, "start:well", "", out);
    job_add_begins(r, "start", "", out);
    ready_of(r, &ready);
    add_wet(r, &ready, out);
    add_stops(r, &ready, out);
    for (int i = 0; f != NULL && i < f->n_stand_outs; i++)
        for (size_t k = 0; k < sizeof kinds / sizeof kinds[0]; k++)
            if (f->stand_outs[i].kind == kinds[k].kind && (f->stand_outs[i].cylinders != 0 || kinds[k].kind != STAND_WEAR)) { /* of the whole engine there are no others */
                const bool differential = strcmp(f->stand_outs[i].measure, "differential_over_80") == 0;

                if (kinds[k].kind != STAND_COMPRESSION || differential || !compression_is_whole(r))
                    job_add_begins(r, differential ? "found:differential" : kinds[k].at, f->stand_outs[i].where, out);
            }
    for (int i = 0; f != NULL && i < f->n_stand_outs; i++)
        if (f->stand_outs[i].unexplained)
            job_add_begins(r, "found:unexplained", f->stand_outs[i].where, out);
    add_checks(r, f, judged, n_judged, false, out);
    for (int i = 0; i < n_judged; i++)
        if (judged[i].state == JOB_ACCEPTED || judged[i].state == JOB_REPAIRED)
            add_repair(r, f, judged[i].cause, judged[i].place, 0, out);
    drop_answered(r, out);
    ask_for_sets(r, out);
    add_soaked(r, out);
    add_over(r, &ready, out);
    job_add_gaps(r, out);
    add_rotation(r, out); /* then nobody knows which gap was found where */
    job_add_begins(r, "end", "", out);
    add_runs(r, f, judged, n_judged, out);
    drop_answered(r, out);
    running_last(out);
    if (ready_stops_set(&ready) != 0 || ready_scrap_words(&r->engine, &ready, where, sizeof where))
        drop_running(out);
    tick_over(r, out);
    for (int i = 0; i < out->n_steps; i++) {
        job_words_of_engine(&r->engine, out->steps[i].text, sizeof out->steps[i].text);
        job_words_of_engine(&r->engine, out->steps[i].marked, sizeof out->steps[i].marked);
    }
    for (int i = 0; i < out->n_parts; i++)
        job_words_of_engine(&r->engine, out->parts[i].text, sizeof out->parts[i].text);
    if (engine_is_propeller_like(&r->engine))
        warn_of_propeller(out);
}
