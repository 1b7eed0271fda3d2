/* logbook_parts.c - plugs, coils, leads and injectors as things: where each sat between which visits, what
 * it has run, and the edits that move it. A part gets its row when it is first moved or named; what nobody
 * ever moved has none, and simply is what sits in its hole. */
#include "logbook/logbook_db.h"

#include <limits.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/err.h"
#include "base/mem.h"
#include "base/text.h"

/* ---- seats: part, hole, from after the readings of one visit to those of another ---- */

struct seat {
    char id[UUID_BYTES], part[UUID_BYTES], kind[16], name[80], from_id[UUID_BYTES], to_id[UUID_BYTES];
    char from_date[11], to_date[11];
    int cylinder, position;
    bool has_from, has_to, fresh; /* fresh: the part came new */
    int from, to; /* places of the visits in a record: -1 before the first, INT_MAX still there */
};

static bool read_seat(sqlite3_stmt *q, void *item, struct err *e)
{
    struct seat *s = item;

    (void)e;
    logbook_db_text(q, 0, s->id, sizeof s->id);
    logbook_db_text(q, 1, s->part, sizeof s->part);
    s->cylinder = sqlite3_column_int(q, 2);
    s->position = sqlite3_column_int(q, 3);
    logbook_db_text(q, 4, s->kind, sizeof s->kind);
    logbook_db_text(q, 5, s->name, sizeof s->name);
    s->has_from = sqlite3_column_type(q, 6) != SQLITE_NULL;
    s->has_to = sqlite3_column_type(q, 7) != SQLITE_NULL;
    logbook_db_text(q, 6, s->from_id, sizeof s->from_id);
    logbook_db_text(q, 7, s->to_id, sizeof s->to_id);
    logbook_db_text(q, 8, s->from_date, sizeof s->from_date);
    logbook_db_text(q, 9, s->to_date, sizeof s->to_date);
    s->fresh = sqlite3_column_type(q, 10) != SQLITE_NULL && sqlite3_column_int64(q, 10) <= 0;
    return true;
}

static bool list_seats(struct logbook *lb, const char *engine_id, struct arena *a, struct seat **seats, size_t *n, struct err *e)
{
    static const char sql[] = "SELECT i.id, i.part, i.cylinder, coalesce(i.position, 0), p.kind, p.name, i.from_visit, i.to_visit, f.date, t.date, p.distance_before_m"
                              " FROM installation i JOIN part p ON p.id = i.part LEFT JOIN visit f ON f.id = i.from_visit LEFT JOIN visit t ON t.id = i.to_visit"
                              " WHERE i.engine = ?1 AND i.gone = 0 AND p.gone = 0 ORDER BY f.date, i.position, i.id";
    const struct engine all = {.n_cylinders = ENGINE_MAX_CYLINDERS, .n_positions = ENGINE_MAX_POSITIONS};
    struct logbook_holes holes;
    void *items;
    bool fine = logbook_db_holes_of_engine(lb, engine_id, &holes, e) && logbook_db_list(lb, sql, engine_id, read_seat, sizeof(struct seat), a, &items, n, e);

    *seats = fine ? items : NULL;
    for (size_t i = 0; fine && i < *n; i++)
        if (!logbook_db_place(&holes, &all, &(*seats)[i].cylinder, &(*seats)[i].position))
            (*seats)[i].cylinder = -1;
    return fine;
}

/* Place of a visit among the first n_visits of the record, which are in LOGBOOK_OLDEST_FIRST; -1 when it is not there. */
static int place_of(const struct record *r, int n_visits, const char *date, const char *id)
{
    int low = 0, high = n_visits - 1;

    while (low <= high) {
        int mid = (low + high) / 2, order;
        const struct visit *v = &r->visits[mid];

        order = (v->date[0] == '\0') - (date[0] == '\0');
        order = order != 0 ? order : strcmp(v->date, date);
        order = order != 0 ? order : strcmp(v->id, id);
        if (order == 0)
            return mid;
        if (order < 0)
            low = mid + 1;
        else
            high = mid - 1;
    }
    return -1;
}

/* Finds the visits of a seat among the first n_visits of the record; false when it begins after them or at a visit taken out. */
static bool place_seat(const struct record *r, int n_visits, struct seat *s)
{
    int to = s->has_to ? place_of(r, n_visits, s->to_date, s->to_id) : -1;

    s->from = s->has_from ? place_of(r, n_visits, s->from_date, s->from_id) : -1;
    s->to = to >= 0 ? to : INT_MAX;
    return (s->from >= 0 || !s->has_from) && s->cylinder >= 0 && s->cylinder < r->engine.n_cylinders && s->position >= 0 &&
           s->position < r->engine.n_positions;
}

static int by_part(const void *a, const void *b)
{
    const struct seat *x = a, *y = b;
    int order = strcmp(x->part, y->part);

    return order != 0 ? order : (x->from > y->from) - (x->from < y->from);
}

/* Which plug came into the hole of a seat after its visit's readings, for the visit's own row: the seats of a part stand together,
 * oldest first. On the way it may have stood in other holes at the same visit. */
static void tell_now(struct record *r, const struct seat *seats, size_t i)
{
    const struct seat *s = &seats[i];
    struct reading *q = visit_reading(&r->visits[s->from], &r->engine, s->cylinder, s->position);
    int hole = record_plug_index(&r->engine, s->cylinder, s->position), was = -1;

    while (i > 0 && strcmp(seats[i - 1].part, s->part) == 0 && was < 0 && seats[i - 1].to == s->from) {
        i--;
        if (seats[i].from < s->from)
            was = record_plug_index(&r->engine, seats[i].cylinder, seats[i].position);
    }
    q->plug_now = was < 0 ? PLUG_OTHER : was == hole ? 0 : PLUG_FROM(was);
}

#define STOOD_M 1000 /* odometers are written down in whole km or miles (common practice, no source); of one that counts hours: */
#define STOOD_S 360

/* Nothing at a visit says that the engine ran after the plug came in new at the visit before; its odometer stands where it stood. */
static bool stood_still(const struct record *r, int from, int at)
{
    const struct visit *a = &r->visits[from], *b = &r->visits[at];
    const bool hours = b->odometer_unit != 0 && b->odometer_unit == words_find(WORDS_ODOMETER_UNIT, "h");

    for (int v = from + 1; v <= at; v++)
        if (r->visits[v].last_run == words_find(WORDS_LAST_RUN, "idle") || r->visits[v].last_run == words_find(WORDS_LAST_RUN, "load"))
            return false;
    return a->odometer_m.given && b->odometer_m.given && a->odometer_unit == b->odometer_unit && fabs(b->odometer_m.value - a->odometer_m.value) < (hours ? STOOD_S : STOOD_M);
}

/* The warm idle that ends the job of a visit is ticked, or the use behind it. */
static bool idled(struct logbook *lb, const char *visit, bool *is, struct err *e)
{
    static const char sql[] = "SELECT 1 FROM step WHERE visit = ?1 AND gone = 0 AND source IN ('idle', 'use') AND state = 'done'";
    sqlite3_stmt *q = logbook_db_prepare(lb, sql, e);

    if (q == NULL)
        return false;
    logbook_db_bind(q, 1, visit);
    if (!logbook_db_step(lb, q, is, e))
        return false;
    logbook_db_done(q);
    return true;
}

/* The plug of a seat came new into it, and into no other before. */
static bool came_new(const struct seat *seats, size_t n, const struct seat *s)
{
    if (!s->fresh || s->from < 0)
        return false;
    for (size_t i = 0; i < n; i++)
        if (&seats[i] != s && strcmp(seats[i].part, s->part) == 0 && seats[i].from <= s->from)
            return false;
    return true;
}

bool logbook_db_seat_plugs(struct logbook *lb, const char *engine_id, struct record *r, int first, struct err *e)
{
    const int n_all = r->n_visits + r->n_later + r->n_ahead;
    struct arena *a = arena_create();
    struct seat *seats;
    size_t n, n_placed = 0;
    bool ran_then = false, fine = list_seats(lb, engine_id, a, &seats, &n, e);

    for (size_t i = 0; fine && i < n; i++)
        if (strcmp(seats[i].kind, "plug") == 0 && place_seat(r, n_all, &seats[i]))
            seats[n_placed++] = seats[i];
    for (size_t i = 0; i < n_placed; i++) {
        struct seat *s = &seats[i];

        for (int v = s->from + 1 > first ? s->from + 1 : first; v < r->n_visits && v <= s->to; v++) {
            struct reading *q = visit_reading(&r->visits[v], &r->engine, s->cylinder, s->position);

            if (q->id[0] != '\0' && q->plug_id[0] == '\0') {
                text_copy(q->plug_id, sizeof q->plug_id, s->part);
                text_copy(q->plug_name, sizeof q->plug_name, s->name);
            }
            if (strcmp(q->plug_id, s->part) != 0)
                continue;
            q->unrun = came_new(seats, n_placed, s) && stood_still(r, s->from, v);
            for (int k = s->from; fine && q->unrun && k < v; k++) {
                fine = idled(lb, r->visits[k].id, &ran_then, e);
                q->unrun = !ran_then;
            }
        }
    }
    if (n_placed > 1)
        qsort(seats, n_placed, sizeof *seats, by_part);
    for (size_t i = 0; i < n_placed; i++)
        if (seats[i].from >= first && seats[i].from >= 0 && seats[i].to != seats[i].from)
            tell_now(r, seats, i);
    arena_destroy(a);
    return fine;
}

/* ---- reading back ---- */

static bool read_part(sqlite3_stmt *q, void *item, struct err *e)
{
    struct logbook_part *p = item;

    (void)e;
    logbook_db_text(q, 0, p->id, sizeof p->id);
    logbook_db_text(q, 1, p->kind, sizeof p->kind);
    logbook_db_text(q, 2, p->name, sizeof p->name);
    logbook_db_text(q, 3, p->state, sizeof p->state);
    p->before_m = logbook_db_maybe(q, 4, 1);
    logbook_db_text(q, 5, p->note, sizeof p->note);
    p->cylinder = -1;
    return true;
}

static bool counts_hours(const struct visit *v)
{
    return v->odometer_unit != 0 && v->odometer_unit == words_find(WORDS_ODOMETER_UNIT, "h");
}

/* What a part ran between two visits, by the odometers noted there or nearest between them; *whole when it is
 * all of it. False when nothing can be told. */
static bool ran(const struct record *r, int from, int to, double *x, bool *whole)
{
    const struct visit *a, *b;
    int first = from, last = to;

    while (first < last && !r->visits[first].odometer_m.given)
        first++;
    while (last > first && !r->visits[last].odometer_m.given)
        last--;
    a = &r->visits[first];
    b = &r->visits[last];
    *whole = first == from && last == to;
    if (first == last || counts_hours(a) != counts_hours(b))
        return false;
    for (int k = first + 1; k <= last; k++)
        if (record_odometer_breaks(r, k) >= first) /* what it showed before says nothing of the way since */
            return false;
    *x = b->odometer_m.value - a->odometer_m.value;
    return true;
}

/* What the readings say of a plug by its name. */
struct trail {
    int first, last, hole; /* visits that name it in the hole it was named in last; hole -1: none does */
    int said_at;           /* the latest that tells its run, -1 none */
    double said_m;
};

static void follow_names(const struct record *r, const struct logbook_part *parts, size_t n, struct trail *out)
{
    for (size_t k = 0; k < n; k++)
        out[k] = (struct trail){.hole = -1, .said_at = -1};
    for (int v = 0; v < r->n_visits; v++)
        for (int i = 0; i < record_plug_count(&r->engine); i++) {
            const struct reading *q = &r->visits[v].readings[i];
            size_t k = 0;

            while (q->plug_id[0] != '\0' && k < n && strcmp(parts[k].id, q->plug_id) != 0)
                k++;
            if (q->plug_id[0] == '\0' || k == n)
                continue;
            out[k].first = out[k].hole == i ? out[k].first : v;
            out[k].last = v;
            out[k].hole = i;
            if (q->plug_distance_m.given && out[k].said_at < v) {
                out[k].said_at = v;
                out[k].said_m = q->plug_distance_m.value;
            }
        }
}

/* A plug that was never moved but that readings name: where it is since they do, as a seat. False when it is not
 * named, or another one is in its hole by now. */
static bool seat_by_name(const struct record *r, const struct logbook_part *p, const struct trail *t, struct seat *out)
{
    if (t->hole < 0)
        return false;
    for (int v = t->last; v < r->n_visits; v++) {
        const struct reading *q = &r->visits[v].readings[t->hole];

        if (q->plug_id[0] != '\0' && strcmp(q->plug_id, p->id) != 0)
            return false;
        for (int i = 0; i < r->visits[v].n_done; i++) {
            const struct visit_done *d = &r->visits[v].done[i];

            if (d->verb == words_find(WORDS_DONE_VERB, "replaced") && d->part == words_find(WORDS_DONE_PART, "plug") &&
                (d->cylinders >> (t->hole / r->engine.n_positions) & 1) != 0)
                return false;
        }
    }
    *out = (struct seat){.cylinder = t->hole / r->engine.n_positions, .position = t->hole % r->engine.n_positions, .from = t->first, .to = INT_MAX};
    text_copy(out->part, sizeof out->part, p->id);
    return true;
}

/* Own run up to the record's last visit: what a person said of it at a reading and what came after, else the
 * sum over its seats. What is not known leaves "at least". */
static void run_of(const struct record *r, const struct seat *seats, size_t n, const struct trail *t, struct logbook_part *p)
{
    int last = r->n_visits - 1;
    double sum = t->said_at >= 0 ? t->said_m : p->before_m.given ? p->before_m.value : 0, x;
    bool any = t->said_at >= 0 || p->before_m.given, least = false;

    for (size_t i = 0; i < n; i++) {
        const struct seat *s = &seats[i];
        int from = s->from > t->said_at ? s->from : t->said_at, to = s->to < last ? s->to : last;
        bool whole;

        if (strcmp(s->part, p->id) != 0)
            continue;
        least = least || (from < 0 && !p->before_m.given); /* it was there before anything was noted */
        from = from < 0 ? 0 : from;
        if (from >= to)
            continue;
        if (ran(r, from, to, &x, &whole)) {
            sum += x;
            any = true;
            least = least || !whole;
        } else {
            least = true;
        }
    }
    if (any)
        p->run_m = MAYBE(sum);
    p->run_at_least = least;
    p->hours = last >= 0 && counts_hours(&r->visits[last]);
}

bool logbook_list_parts(struct logbook *lb, const char *engine_id, const struct record *r, struct arena *a, struct logbook_part **parts, size_t *n, struct err *e)
{
    static const char sql[] = "SELECT id, kind, name, state, distance_before_m, note FROM part WHERE engine = ?1 AND gone = 0 ORDER BY kind, name, id";
    struct seat *seats;
    struct trail *trails;
    size_t n_seats, n_placed = 0;
    void *items;

    *parts = NULL;
    *n = 0;
    if (!list_seats(lb, engine_id, a, &seats, &n_seats, e) || !logbook_db_list(lb, sql, engine_id, read_part, sizeof(struct logbook_part), a, &items, n, e))
        return false;
    *parts = items;
    for (size_t i = 0; i < n_seats; i++)
        if (place_seat(r, r->n_visits, &seats[i]))
            seats[n_placed++] = seats[i];
    trails = arena_alloc(a, *n + 1, sizeof *trails);
    follow_names(r, *parts, *n, trails);
    for (size_t k = 0; k < *n; k++) {
        struct logbook_part *p = &(*parts)[k];
        struct seat named;

        for (size_t i = 0; i < n_placed; i++)
            if (strcmp(seats[i].part, p->id) == 0) {
                p->n_seats++;
                if (seats[i].to == INT_MAX) {
                    p->cylinder = seats[i].cylinder;
                    p->position = seats[i].position;
                    text_copy(p->since, sizeof p->since, seats[i].from_date);
                    p->moved_now = r->n_visits > 0 && seats[i].from == r->n_visits - 1;
                } else if (r->n_visits > 0 && seats[i].to == r->n_visits - 1 && (!p->left_now || seats[i].from < seats[i].to)) { /* where it was read */
                    p->left_now = true;
                    p->was_cylinder = seats[i].cylinder;
                    p->was_position = seats[i].position;
                }
            }
        if (p->n_seats == 0 && seat_by_name(r, p, &trails[k], &named)) {
            p->cylinder = named.cylinder;
            p->position = named.position;
            run_of(r, &named, 1, &trails[k], p);
            p->run_at_least = p->run_at_least || (trails[k].said_at < 0 && !p->before_m.given); /* it was there before it was named */
        } else {
            run_of(r, seats, n_placed, &trails[k], p);
        }
    }
    return true;
}

/* ---- moving ---- */

static bool a_part(const char *kind)
{
    return strcmp(kind, "plug") == 0 || strcmp(kind, "coil") == 0 || strcmp(kind, "lead") == 0 || strcmp(kind, "injector") == 0;
}

int logbook_part_positions(const struct engine *en, const char *kind)
{
    return strcmp(kind, "plug") == 0 || strcmp(kind, "lead") == 0 ? en->n_positions : 1;
}

void logbook_part_place(const struct engine *en, const char *kind, int cylinder, int position, char *to, size_t n_room)
{
    if (logbook_part_positions(en, kind) > 1)
        engine_plug_label(en, cylinder, position, to, n_room);
    else
        text_copy(to, n_room, en->cylinders[cylinder].label);
}

/* The open seat at a hole, NULL when no part is known there. */
static struct seat *open_seat(struct seat *seats, size_t n, const char *kind, int cylinder, int position)
{
    for (size_t i = 0; i < n; i++)
        if (!seats[i].has_to && seats[i].cylinder == cylinder && seats[i].position == position && strcmp(seats[i].kind, kind) == 0)
            return &seats[i];
    return NULL;
}

/* An open seat, its id into `id`. */
static bool put_seat(struct logbook *lb, const char *engine_id, const char *part, int cylinder, int position, const char *from_visit, char id[UUID_BYTES], struct err *e)
{
    struct logbook_holes holes;
    char place[32];

    if (!logbook_db_holes_of_engine(lb, engine_id, &holes, e))
        return false;
    logbook_db_hole(&holes, &cylinder, &position);
    snprintf(place, sizeof place, "%d/%d", cylinder, position);
    uuid_from_parts(id, "installation", from_visit, part, place);
    return logbook_set_int(lb, "installation", id, "gone", 0, e) && logbook_set_text(lb, "installation", id, "part", part, e) &&
           logbook_set_text(lb, "installation", id, "engine", engine_id, e) && logbook_set_int(lb, "installation", id, "cylinder", cylinder, e) &&
           logbook_set_int(lb, "installation", id, "position", position, e) && logbook_db_put_text(lb, "installation", id, "from_visit", from_visit, e) &&
           logbook_clear(lb, "installation", id, "to_visit", e);
}

static bool put_part(struct logbook *lb, const char *id, const char *engine_id, const char *kind, const char *name, struct err *e)
{
    return logbook_set_int(lb, "part", id, "gone", 0, e) && logbook_set_text(lb, "part", id, "engine", engine_id, e) &&
           logbook_set_text(lb, "part", id, "kind", kind, e) && logbook_set_text(lb, "part", id, "name", name, e) &&
           logbook_set_text(lb, "part", id, "state", "fitted", e);
}

struct done_line {
    char visit[UUID_BYTES], what[200];
};

static bool read_done_line(sqlite3_stmt *q, void *item, struct err *e)
{
    struct done_line *d = item;

    (void)e;
    logbook_db_text(q, 0, d->visit, sizeof d->visit);
    logbook_db_text(q, 1, d->what, sizeof d->what);
    return true;
}

/* The visit after whose readings the part of that hole was last renewed, "" never noted; before `visit_id`. */
static bool renewed_at(struct logbook *lb, const char *visit_id, const char *engine_id, const struct engine *en, const char *kind, int cylinder, char visit[UUID_BYTES], struct err *e)
{
    static const char sql[] = "SELECT d.visit, d.what FROM done d JOIN visit v ON v.id = d.visit WHERE v.engine = ?1 AND v.gone = 0 AND d.gone = 0"
                              " ORDER BY v.date IS NULL, v.date, v.id";
    struct arena *a = arena_create();
    struct done_line *lines;
    void *items;
    size_t n;
    bool fine = logbook_db_list(lb, sql, engine_id, read_done_line, sizeof *lines, a, &items, &n, e);

    visit[0] = '\0';
    lines = items;
    for (size_t i = 0; fine && i < n && strcmp(lines[i].visit, visit_id) != 0; i++) {
        struct visit_done d;
        struct err ignored;

        if (visit_parse_done(en, lines[i].what, &d, &ignored) && d.verb == words_find(WORDS_DONE_VERB, "replaced") &&
            d.part == words_find(WORDS_DONE_PART, kind) && (d.cylinders >> cylinder & 1) != 0)
            text_copy(visit, UUID_BYTES, lines[i].visit);
    }
    arena_destroy(a);
    return fine;
}

/* The thing that is in a hole, made known when it is not: a plug by what the reading names, else with a name
 * that tells the hole. *seat is its open seat, "" when it has none. */
static bool part_in(struct logbook *lb, const char *visit_id, const char *engine_id, const struct engine *en, const char *kind, int cylinder, int position,
                    struct seat *known, char part[UUID_BYTES], char seat[UUID_BYTES], struct err *e)
{
    char reading[UUID_BYTES], name[80], from[UUID_BYTES], place[48];
    bool plug = strcmp(kind, "plug") == 0;

    seat[0] = '\0';
    if (known != NULL) {
        text_copy(part, UUID_BYTES, known->part);
        text_copy(seat, UUID_BYTES, known->id);
        return true;
    }
    if (!logbook_find_reading(lb, visit_id, cylinder, position, reading, e))
        return false;
    if (!plug || !logbook_get_text(lb, "reading", reading, "plug", part, UUID_BYTES) || part[0] == '\0') {
        logbook_part_place(en, kind, cylinder, position, place, sizeof place);
        text_format(name, sizeof name, "%s from %s", kind, place);
        uuid_from_parts(part, "part", engine_id, visit_id, name);
        if (!put_part(lb, part, engine_id, kind, name, e) ||
            (plug && logbook_is_there(lb, "reading", reading) && !logbook_set_text(lb, "reading", reading, "plug", part, e)))
            return false;
    }
    return renewed_at(lb, visit_id, engine_id, en, kind, cylinder, from, e) && put_seat(lb, engine_id, part, cylinder, position, from, seat, e);
}

static bool unlike(const struct engine *en, const struct plug_move *m, int n, struct err *e)
{
    char plug[64];

    for (int i = 0; i < n; i++) {
        int leave = 0, come = 0;

        for (int k = 0; k < n; k++) {
            leave += m[k].from.cylinder == m[i].from.cylinder && m[k].from.position == m[i].from.position;
            come += m[k].to.cylinder == m[i].from.cylinder && m[k].to.position == m[i].from.position;
        }
        engine_plug_label(en, m[i].from.cylinder, m[i].from.position, plug, sizeof plug);
        if (leave > 1)
            return err_set(e, ERR_BADARG, "%s is to go to two holes.", plug);
        if (come != 1)
            return err_set(e, ERR_BADARG, come == 0 ? "Nothing is to go into %s; each hole needs a part again." : "Two parts are to go into %s.", plug);
    }
    return true;
}

bool logbook_move_parts(struct logbook *lb, const char *visit_id, const char *engine_id, const struct engine *en, const char *kind, const struct plug_move *moves, int n, struct err *e)
{
    struct arena *a;
    struct seat *seats;
    size_t n_seats;
    char(*parts)[UUID_BYTES], seat[UUID_BYTES];
    bool fine;

    if (!a_part(kind))
        return err_set(e, ERR_BADARG, "A %s is not moved from cylinder to cylinder; plugs, coils, leads and injectors are.", kind);
    if (!unlike(en, moves, n, e))
        return false;
    a = arena_create();
    parts = arena_alloc(a, (size_t)n + 1, sizeof *parts);
    fine = list_seats(lb, engine_id, a, &seats, &n_seats, e);
    for (int i = 0; fine && i < n; i++)
        fine = part_in(lb, visit_id, engine_id, en, kind, moves[i].from.cylinder, moves[i].from.position,
                       open_seat(seats, n_seats, kind, moves[i].from.cylinder, moves[i].from.position), parts[i], seat, e) &&
               logbook_set_text(lb, "installation", seat, "to_visit", visit_id, e);
    for (int i = 0; fine && i < n; i++) /* when all are out */
        fine = put_seat(lb, engine_id, parts[i], moves[i].to.cylinder, moves[i].to.position, visit_id, seat, e);
    arena_destroy(a);
    return fine;
}

static bool add_work(struct logbook *lb, const char *visit_id, const struct engine *en, const struct visit_done *d, struct err *e)
{
    struct visit *was = mem_alloc(1, sizeof *was), *v = mem_alloc(1, sizeof *v);
    bool fine = logbook_db_load_visit(lb, visit_id, en, was, e), there = false;

    for (int i = 0; fine && i < was->n_done; i++)
        there = there || (d->from < 0 && was->done[i].verb == d->verb && was->done[i].part == d->part && was->done[i].cylinders == d->cylinders);
    if (fine && !there && was->n_done == VISIT_MAX_DONE)
        fine = err_set(e, ERR_LIMIT, "This visit already holds %d lines of work done; begin another visit.", VISIT_MAX_DONE);
    if (fine && !there) {
        *v = *was;
        v->done[v->n_done++] = *d;
        fine = logbook_change_visit(lb, visit_id, en, was, v, e);
    }
    free(was);
    free(v);
    return fine;
}

bool logbook_swap_parts(struct logbook *lb, const char *visit_id, const char *engine_id, const struct engine *en, int part, int from, int to, struct err *e)
{
    const char *kind = words_id(WORDS_DONE_PART, part);
    struct visit_done d = {.verb = words_find(WORDS_DONE_VERB, "swapped"), .part = part, .bank = -1,
                           .cylinders = (engine_set)1 << from | (engine_set)1 << to, .from = from, .to = to};
    struct plug_move moves[2 * ENGINE_MAX_POSITIONS];
    int n = 0;

    if (!a_part(kind))
        return err_set(e, ERR_BADARG, "A %s is not moved from cylinder to cylinder; plugs, coils, leads and injectors are.", words_label(WORDS_DONE_PART, part));
    if (from == to)
        return err_set(e, ERR_BADARG, "A part is moved to another cylinder; name two different ones.");
    for (int p = 0; p < logbook_part_positions(en, kind); p++) {
        moves[n++] = (struct plug_move){{from, p}, {to, p}};
        moves[n++] = (struct plug_move){{to, p}, {from, p}};
    }
    return add_work(lb, visit_id, en, &d, e) && logbook_move_parts(lb, visit_id, engine_id, en, kind, moves, n, e);
}

/* Takes what is in a hole out, into `state`. */
static bool take_out(struct logbook *lb, const char *visit_id, const char *engine_id, const struct engine *en, const char *kind, int cylinder, int position, const char *state, struct err *e)
{
    struct arena *a = arena_create();
    struct seat *seats;
    size_t n;
    char part[UUID_BYTES], seat[UUID_BYTES];
    bool fine = list_seats(lb, engine_id, a, &seats, &n, e) &&
                part_in(lb, visit_id, engine_id, en, kind, cylinder, position, open_seat(seats, n, kind, cylinder, position), part, seat, e) &&
                logbook_set_text(lb, "installation", seat, "to_visit", visit_id, e) && logbook_set_text(lb, "part", part, "state", state, e);

    arena_destroy(a);
    return fine;
}

bool logbook_renew_part(struct logbook *lb, const char *visit_id, const char *engine_id, const struct engine *en, const char *kind, int cylinder, int position, const char *name, struct err *e)
{
    struct visit_done d = {.verb = words_find(WORDS_DONE_VERB, "replaced"), .part = words_find(WORDS_DONE_PART, kind), .bank = -1,
                           .cylinders = (engine_set)1 << cylinder, .from = -1, .to = -1};
    char part[UUID_BYTES], seat[UUID_BYTES];

    if (!a_part(kind))
        return err_set(e, ERR_BADARG, "A %s has no hole of its own; plugs, coils, leads and injectors have.", kind);
    uuid_make(part);
    /* the line of work names a whole cylinder: said only where that is one part */
    return take_out(lb, visit_id, engine_id, en, kind, cylinder, position, "aside", e) && put_part(lb, part, engine_id, kind, name, e) &&
           logbook_set_int(lb, "part", part, "distance_before_m", 0, e) && put_seat(lb, engine_id, part, cylinder, position, visit_id, seat, e) &&
           (logbook_part_positions(en, kind) > 1 || add_work(lb, visit_id, en, &d, e));
}

bool logbook_fit_part(struct logbook *lb, const char *visit_id, const char *engine_id, const struct engine *en, const char *part_id, int cylinder, int position, struct err *e)
{
    char kind[16], state[16] = "", name[80] = "", seat[UUID_BYTES];

    if (!logbook_get_text(lb, "part", part_id, "kind", kind, sizeof kind) || !logbook_is_there(lb, "part", part_id))
        return err_set(e, ERR_NOTFOUND, "This part was taken out of the logbook meanwhile.");
    (void)logbook_get_text(lb, "part", part_id, "name", name, sizeof name);
    (void)logbook_get_text(lb, "part", part_id, "state", state, sizeof state);
    if (strcmp(state, "aside") != 0)
        return err_set(e, ERR_BADARG, "“%s” is %s: only what is set aside can be fitted.", name, strcmp(state, "scrapped") == 0 ? "scrapped" : "in a hole");
    if (position >= logbook_part_positions(en, kind))
        position = 0;
    return take_out(lb, visit_id, engine_id, en, kind, cylinder, position, "aside", e) && logbook_set_text(lb, "part", part_id, "state", "fitted", e) &&
           put_seat(lb, engine_id, part_id, cylinder, position, visit_id, seat, e);
}

/* It stood in another hole before, at the readings of that visit. */
static bool was_moved(const struct seat *seats, size_t n, const char *part, const char *visit_id)
{
    for (size_t i = 0; i < n; i++)
        if (strcmp(seats[i].part, part) == 0 && seats[i].has_to && strcmp(seats[i].to_id, visit_id) == 0)
            return true;
    return false;
}

/* Renewed, and not gone to another hole. */
static bool is_aside(struct logbook *lb, const char *part)
{
    char state[16] = "";

    return logbook_get_text(lb, "part", part, "state", state, sizeof state) && strcmp(state, "aside") == 0;
}

bool logbook_note_renewed(struct logbook *lb, const char *visit_id, const char *engine_id, const struct engine *en, const struct visit_done *d, bool done, struct err *e)
{
    const char *kind = words_id(WORDS_DONE_PART, d->part);
    struct arena *a;
    struct seat *seats;
    size_t n;
    bool fine;

    if (d->verb != words_find(WORDS_DONE_VERB, "replaced") || !a_part(kind))
        return true;
    a = arena_create();
    fine = list_seats(lb, engine_id, a, &seats, &n, e);
    for (size_t i = 0; fine && i < n; i++) {
        struct seat *s = &seats[i];

        if (strcmp(s->kind, kind) != 0 || s->cylinder < 0 || s->cylinder >= en->n_cylinders || (d->cylinders >> s->cylinder & 1) == 0)
            continue;
        if (done && !s->has_to && (strcmp(s->from_id, visit_id) != 0 || was_moved(seats, n, s->part, visit_id)))
            fine = logbook_set_text(lb, "installation", s->id, "to_visit", visit_id, e) && logbook_set_text(lb, "part", s->part, "state", "aside", e);
        else if (!done && s->has_to && strcmp(s->to_id, visit_id) == 0 && open_seat(seats, n, kind, s->cylinder, s->position) == NULL && is_aside(lb, s->part))
            fine = logbook_clear(lb, "installation", s->id, "to_visit", e) && logbook_set_text(lb, "part", s->part, "state", "fitted", e);
    }
    arena_destroy(a);
    return fine;
}
