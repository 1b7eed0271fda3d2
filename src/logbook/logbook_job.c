/* logbook_job.c - what a job is made of beyond plain rows: verdicts on causes and the order of steps. */
#include "logbook/logbook_db.h"

#include <string.h>

#include "base/clock.h"
#include "base/err.h"
#include "base/mem.h"
#include "base/text.h"
#include "record/steps.h"

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

/* ---- steps behind their visit's end ---- */

static void tell_carry(sqlite3_context *context, int n, sqlite3_value **values)
{
    const char *source = (const char *)sqlite3_value_text(values[0]);

    (void)n;
    sqlite3_result_text(context, step_carry_id(step_carry(source != NULL ? source : "")), -1, SQLITE_STATIC);
}

static void tell_ahead(sqlite3_context *context, int n, sqlite3_value **values)
{
    (void)n;
    sqlite3_result_int(context, clock_is_ahead((const char *)sqlite3_value_text(values[0])));
}

/* The ids of a visit's complaints as the window words them. */
static void tell_complaints(sqlite3_context *context, int n, sqlite3_value **values)
{
    const char *id = (const char *)sqlite3_value_text(values[0]);
    struct text t = {0};

    (void)n;
    for (id += id != NULL ? strspn(id, " ") : 0; id != NULL && *id != '\0'; id += strspn(id, " ")) {
        char one[48];
        size_t n_id = strcspn(id, " ");
        int w;

        text_format(one, sizeof one, "%.*s", (int)n_id, id);
        w = words_find(WORDS_COMPLAINT, one);
        text_addf(&t, "%s%s", t.n_bytes > 0 ? ", " : "", w > 0 ? words_label(WORDS_COMPLAINT, w) : one);
        id += n_id;
    }
    sqlite3_result_text(context, text_get(&t), -1, SQLITE_TRANSIENT);
    text_release(&t);
}

void logbook_db_functions(struct logbook *lb)
{
    (void)sqlite3_create_function(lb->db, "is_ahead", 1, SQLITE_UTF8, NULL, tell_ahead, NULL, NULL);
    (void)sqlite3_create_function(lb->db, "complaint_words", 1, SQLITE_UTF8 | SQLITE_DETERMINISTIC, NULL, tell_complaints, NULL, NULL);
    (void)sqlite3_create_function(lb->db, "step_carry", 1, SQLITE_UTF8 | SQLITE_DETERMINISTIC, NULL, tell_carry, NULL, NULL);
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
