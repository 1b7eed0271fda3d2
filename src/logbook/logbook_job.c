/* logbook_job.c - what a job is made of beyond plain rows: verdicts on causes, the order of steps, parts
 * that change holes. */
#include "logbook/logbook_db.h"

#include <stdlib.h>
#include <string.h>

#include "base/err.h"
#include "base/mem.h"
#include "base/text.h"

/* ---- verdicts ---- */

void logbook_verdict_id(const char *visit_id, const char *cause, const char *place, char id[UUID_BYTES])
{
    uuid_from_parts(id, "verdict", visit_id, cause, place);
}

bool logbook_put_verdict(struct logbook *lb, const struct logbook_verdict *v, struct err *e)
{
    return logbook_set_int(lb, "verdict", v->id, "gone", 0, e) && logbook_set_text(lb, "verdict", v->id, "engine", v->engine, e) &&
           logbook_set_text(lb, "verdict", v->id, "visit", v->visit, e) && logbook_set_text(lb, "verdict", v->id, "cause", v->cause, e) &&
           logbook_db_put_text(lb, "verdict", v->id, "place", v->place, e) && logbook_set_text(lb, "verdict", v->id, "state", v->state, e) &&
           logbook_db_put_text(lb, "verdict", v->id, "repaired_visit", v->repaired_visit, e) &&
           logbook_db_put_text(lb, "verdict", v->id, "note", v->note, e);
}

static bool read_verdict(sqlite3_stmt *q, void *item, struct err *e)
{
    struct logbook_verdict *v = item;

    (void)e;
    logbook_db_text(q, 0, v->id, sizeof v->id);
    logbook_db_text(q, 1, v->engine, sizeof v->engine);
    logbook_db_text(q, 2, v->visit, sizeof v->visit);
    logbook_db_text(q, 3, v->cause, sizeof v->cause);
    logbook_db_text(q, 4, v->place, sizeof v->place);
    logbook_db_text(q, 5, v->state, sizeof v->state);
    logbook_db_text(q, 6, v->repaired_visit, sizeof v->repaired_visit);
    logbook_db_text(q, 7, v->note, sizeof v->note);
    return true;
}

bool logbook_list_verdicts(struct logbook *lb, const char *engine_id, struct arena *a, struct logbook_verdict **verdicts, size_t *n, struct err *e)
{
    static const char sql[] = "SELECT d.id, d.engine, d.visit, d.cause, d.place, d.state, d.repaired_visit, d.note FROM verdict d"
                              " JOIN visit v ON v.id = d.visit WHERE d.engine = ?1 AND d.gone = 0 AND v.gone = 0"
                              " ORDER BY v.date IS NULL, v.date, v.id, d.cause, d.place";
    void *items;
    bool fine = logbook_db_list(lb, sql, engine_id, read_verdict, sizeof(struct logbook_verdict), a, &items, n, e);

    *verdicts = items;
    return fine;
}

/* ---- the order of steps ---- */

bool logbook_move_step(struct logbook *lb, const char *visit_id, const char *step_id, int by, struct err *e)
{
    struct arena *a = arena_create();
    struct logbook_step *steps;
    size_t n, at = 0;
    bool fine = logbook_list_steps(lb, visit_id, a, &steps, &n, e);

    while (fine && at < n && strcmp(steps[at].id, step_id) != 0)
        at++;
    if (fine && at < n && (by < 0 ? at > 0 : at + 1 < n)) {
        struct logbook_step moved = steps[at];
        size_t to = by < 0 ? at - 1 : at + 1;

        steps[at] = steps[to];
        steps[to] = moved;
        /* numbered afresh: two copies may have given the same number to different steps */
        for (size_t i = 0; i < n && fine; i++)
            fine = logbook_set_int(lb, "step", steps[i].id, "sort", (int64_t)i + 1, e);
    }
    arena_destroy(a);
    return fine;
}

/* ---- parts that change holes ---- */

struct seat {
    char id[UUID_BYTES], part[UUID_BYTES];
    int64_t position;
};

static bool read_seat(sqlite3_stmt *q, void *item, struct err *e)
{
    struct seat *s = item;

    (void)e;
    logbook_db_text(q, 0, s->id, sizeof s->id);
    logbook_db_text(q, 1, s->part, sizeof s->part);
    s->position = sqlite3_column_int64(q, 2);
    return true;
}

static bool seats_of(struct logbook *lb, const char *engine_id, const char *kind, int cylinder, struct arena *a, struct seat **seats, size_t *n, struct err *e)
{
    char sql[400];
    void *items;
    bool fine;

    text_format(sql, sizeof sql,
                "SELECT i.id, i.part, coalesce(i.position, 0) FROM installation i JOIN part p ON p.id = i.part"
                " WHERE i.engine = ?1 AND i.gone = 0 AND i.to_visit IS NULL AND i.cylinder = %d AND p.kind = '%s' ORDER BY i.position, i.id",
                cylinder, kind);
    fine = logbook_db_list(lb, sql, engine_id, read_seat, sizeof(struct seat), a, &items, n, e);
    *seats = items;
    return fine;
}

/* A part that a reading names, or one that gets a name now: it is the thing that was in this hole. */
static bool part_at(struct logbook *lb, const char *visit_id, const char *engine_id, const struct engine *en, const char *kind, int cylinder, int position, char part[UUID_BYTES], struct err *e)
{
    char reading[UUID_BYTES], name[80];

    logbook_reading_id(visit_id, cylinder, position, reading);
    if (strcmp(kind, "plug") == 0 && logbook_get_text(lb, "reading", reading, "plug", part, UUID_BYTES) && part[0] != '\0')
        return true;
    text_format(name, sizeof name, "%s from %s", kind, en->cylinders[cylinder].label);
    if (strcmp(kind, "plug") == 0 && en->n_positions > 1)
        text_format(name, sizeof name, "plug from %s %s", en->cylinders[cylinder].label, en->position_names[position]);
    uuid_from_parts(part, "part", engine_id, visit_id, name);
    return logbook_set_int(lb, "part", part, "gone", 0, e) && logbook_set_text(lb, "part", part, "engine", engine_id, e) &&
           logbook_set_text(lb, "part", part, "kind", kind, e) && logbook_set_text(lb, "part", part, "name", name, e) &&
           logbook_set_text(lb, "part", part, "state", "fitted", e) &&
           (strcmp(kind, "plug") != 0 || !logbook_is_there(lb, "reading", reading) || logbook_set_text(lb, "reading", reading, "plug", part, e));
}

static bool seat_part(struct logbook *lb, const char *visit_id, const char *engine_id, const char *part, int cylinder, int64_t position, struct err *e)
{
    char id[UUID_BYTES], place[32];

    text_format(place, sizeof place, "%d/%d", cylinder, (int)position);
    uuid_from_parts(id, "installation", visit_id, part, place);
    return logbook_set_int(lb, "installation", id, "gone", 0, e) && logbook_set_text(lb, "installation", id, "part", part, e) &&
           logbook_set_text(lb, "installation", id, "engine", engine_id, e) && logbook_set_int(lb, "installation", id, "cylinder", cylinder, e) &&
           logbook_set_int(lb, "installation", id, "position", position, e) && logbook_set_text(lb, "installation", id, "from_visit", visit_id, e) &&
           logbook_clear(lb, "installation", id, "to_visit", e);
}

/* Everything of the kind at one cylinder goes to the other. */
static bool move_all(struct logbook *lb, const char *visit_id, const char *engine_id, const struct engine *en, const char *kind, const struct seat *seats, size_t n, int from, int to, struct err *e)
{
    int n_positions = strcmp(kind, "plug") == 0 || strcmp(kind, "lead") == 0 ? en->n_positions : 1;

    for (size_t i = 0; i < n; i++)
        if (!logbook_set_text(lb, "installation", seats[i].id, "to_visit", visit_id, e))
            return false;
    for (int p = 0; p < n_positions; p++) {
        char part[UUID_BYTES] = "";

        for (size_t i = 0; i < n; i++)
            if (seats[i].position == p)
                text_copy(part, sizeof part, seats[i].part);
        if ((part[0] == '\0' && !part_at(lb, visit_id, engine_id, en, kind, from, p, part, e)) ||
            !seat_part(lb, visit_id, engine_id, part, to, p, e))
            return false;
    }
    return true;
}

bool logbook_swap_parts(struct logbook *lb, const char *visit_id, const char *engine_id, const struct engine *en, int part, int from, int to, struct err *e)
{
    const char *kind = words_id(WORDS_DONE_PART, part);
    struct arena *a;
    struct seat *first, *second;
    size_t n_first, n_second;
    struct visit *was, *v;
    bool fine;

    if (strcmp(kind, "plug") != 0 && strcmp(kind, "coil") != 0 && strcmp(kind, "lead") != 0 && strcmp(kind, "injector") != 0)
        return err_set(e, ERR_BADARG, "A %s is not moved from cylinder to cylinder; plugs, coils, leads and injectors are.", words_label(WORDS_DONE_PART, part));
    if (from == to)
        return err_set(e, ERR_BADARG, "A part is moved to another cylinder; name two different ones.");
    was = mem_alloc(1, sizeof *was);
    v = mem_alloc(1, sizeof *v);
    a = arena_create();
    fine = logbook_db_load_visit(lb, visit_id, en, was, e);
    if (fine && was->n_done == VISIT_MAX_DONE)
        fine = err_set(e, ERR_LIMIT, "This visit already holds %d lines of work done; begin another visit.", VISIT_MAX_DONE);
    if (fine) {
        *v = *was;
        v->done[v->n_done++] = (struct visit_done){.verb = words_find(WORDS_DONE_VERB, "swapped"), .part = part, .bank = -1,
                                                   .cylinders = (engine_set)1 << from | (engine_set)1 << to, .from = from, .to = to};
        fine = logbook_change_visit(lb, visit_id, en, was, v, e) && seats_of(lb, engine_id, kind, from, a, &first, &n_first, e) &&
               seats_of(lb, engine_id, kind, to, a, &second, &n_second, e) &&
               move_all(lb, visit_id, engine_id, en, kind, first, n_first, from, to, e) &&
               move_all(lb, visit_id, engine_id, en, kind, second, n_second, to, from, e);
    }
    arena_destroy(a);
    free(was);
    free(v);
    return fine;
}
