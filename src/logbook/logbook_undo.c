/* logbook_undo.c - undo and redo. Both append: an undone change is followed by its reverse in the log.
 * A value is only put back where the one the change left still stands, so that what a merged copy
 * brought since is not overwritten. */
#include "logbook/logbook_db.h"

#include <string.h>

#include "base/mem.h"

/* A step stands where its first change stands: what a person did since the photos were dropped is undone
 * before them, even if some of them came in later. */
static const char next_undo[] = "SELECT coalesce(u.step, u.change), c.id, c.label FROM undo u JOIN change c ON c.seq = u.change"
                                " WHERE u.undone = 0 ORDER BY 1 DESC, u.change DESC LIMIT 1";
static const char next_redo[] = "SELECT coalesce(u.step, u.change), c.id, c.label FROM undo u JOIN change c ON c.seq = u.change"
                                " WHERE u.undone = 1 ORDER BY 1, u.change DESC LIMIT 1";
#define OF_STEP "(SELECT u.change FROM undo u WHERE coalesce(u.step, u.change) = ?1 AND u.undone < 2)"

struct target {
    int64_t step; /* 0: none */
    char id[UUID_BYTES], label[LOGBOOK_LABEL_BYTES];
};

static bool find_target(struct logbook *lb, const char *sql, struct target *out, struct err *e)
{
    sqlite3_stmt *q = logbook_db_prepare(lb, sql, e);
    bool row;

    memset(out, 0, sizeof *out);
    if (q == NULL || !logbook_db_step(lb, q, &row, e))
        return false;
    if (row) {
        out->step = sqlite3_column_int64(q, 0);
        logbook_db_text(q, 1, out->id, sizeof out->id);
        logbook_db_text(q, 2, out->label, sizeof out->label);
    }
    logbook_db_done(q);
    return true;
}

bool logbook_db_load_labels(struct logbook *lb, struct err *e)
{
    struct target undo, redo;

    if (!find_target(lb, next_undo, &undo, e) || !find_target(lb, next_redo, &redo, e))
        return false;
    lb->undo_step = undo.step;
    text_copy(lb->undo_label, sizeof lb->undo_label, undo.label);
    text_copy(lb->redo_label, sizeof lb->redo_label, redo.label);
    return true;
}

const char *logbook_undo_label(const struct logbook *lb)
{
    return lb->undo_label;
}

int64_t logbook_undo_step(const struct logbook *lb)
{
    return lb->undo_step;
}

const char *logbook_redo_label(const struct logbook *lb)
{
    return lb->redo_label;
}

/* Puts `to` back where `from` stands. */
static bool put_back(struct logbook *lb, sqlite3_stmt *q, int from, int to, struct err *e)
{
    static const char is_same[] = "SELECT ?1 IS ?2 AND typeof(?1) = typeof(?2)";
    char table[24], row[UUID_BYTES], column[32];
    int at;
    sqlite3_stmt *same;
    sqlite3_value *now = NULL, *expected, *value;
    bool there, equal = false, differs, fine = false;
    sqlite3_stmt *get;

    logbook_db_text(q, 0, table, sizeof table);
    logbook_db_text(q, 1, row, sizeof row);
    logbook_db_text(q, 2, column, sizeof column);
    at = logbook_db_column(table, column);
    if (at < 0)
        return err_set(e, ERR_FORMAT, "The edit log names %s.%s, which this logbook does not have.", table, column);
    expected = sqlite3_value_dup(sqlite3_column_value(q, from));
    value = sqlite3_value_dup(sqlite3_column_value(q, to));
    get = logbook_db_peek(lb, at, row, &there, e);
    if (get == NULL)
        goto done;
    if (there)
        now = sqlite3_value_dup(sqlite3_column_value(get, 0));
    logbook_db_done(get);
    same = logbook_db_prepare(lb, is_same, e);
    if (same == NULL)
        goto done;
    if (now != NULL)
        sqlite3_bind_value(same, 1, now);
    sqlite3_bind_value(same, 2, expected);
    if (!logbook_db_step(lb, same, &there, e))
        goto done;
    equal = sqlite3_column_int(same, 0) != 0;
    logbook_db_done(same);
    sqlite3_bind_value(same, 1, value);
    sqlite3_bind_value(same, 2, expected);
    if (!logbook_db_step(lb, same, &there, e))
        goto done;
    differs = sqlite3_column_int(same, 0) == 0;
    logbook_db_done(same);
    /* a choice of the value that stood: taken back, it is an edit all the same */
    fine = !equal || logbook_db_put(lb, at, row, value, !differs, e);
done:
    sqlite3_value_free(now);
    sqlite3_value_free(expected);
    sqlite3_value_free(value);
    return fine;
}

/* Nothing of the step stands as it was left: it leaves the stack, so that what lies behind it is in reach. */
static void give_up(struct logbook *lb, const struct target *target, bool undo, struct err *e)
{
    static const char drop[] = "DELETE FROM undo WHERE change IN " OF_STEP;
    sqlite3_stmt *q = logbook_db_prepare(lb, drop, e);

    if (q == NULL)
        return;
    sqlite3_bind_int64(q, 1, target->step);
    if (logbook_db_run(lb, q, e) && logbook_commit(lb, e))
        err_set(e, ERR_NOTFOUND, undo ? "“%s” cannot be undone: another value stands there by now, of a copy that was merged in. Nothing was changed; the next undo takes what was done before it."
                                     : "“%s” cannot be done again: another value stands there by now, of a copy that was merged in. Nothing was changed.",
                target->label);
}

/* Put back it would take what a merged copy noted out of sight: it leaves the stack, too. */
static bool let_be(struct logbook *lb, const struct target *target, const struct logbook_lost *lost, bool undo, struct err *e)
{
    static const char drop[] = "DELETE FROM undo WHERE change IN " OF_STEP;
    char words[400];
    bool here;
    sqlite3_stmt *q;

    logbook_db_lost_words(lb, NULL, lost, &here, words, sizeof words);
    if (!logbook_db_begin(lb, "", undo ? "undo" : "redo", NULL, e))
        return false;
    q = logbook_db_prepare(lb, drop, e);
    if (q != NULL)
        sqlite3_bind_int64(q, 1, target->step);
    if (q == NULL || !logbook_db_run(lb, q, e) || !logbook_commit(lb, e)) {
        logbook_rollback(lb);
        return false;
    }
    return err_set(e, ERR_BADARG, undo ? "“%s” cannot be undone: %s. Nothing was changed; the next undo takes what was done before it."
                                     : "“%s” cannot be done again: %s. Nothing was changed.",
                   target->label, words);
}

/* A card is put back, or a row comes back in sight. */
static bool may_lose(struct logbook *lb, int64_t step, bool undo, bool *may, struct err *e)
{
    static const char sql[] = "SELECT 1 FROM edit e WHERE change IN " OF_STEP " AND (tbl = 'engine' OR (col = 'gone' AND (CASE ?2 WHEN 1 THEN old ELSE new END) = 0)) LIMIT 1";
    sqlite3_stmt *q = logbook_db_prepare(lb, sql, e);

    if (q == NULL)
        return false;
    sqlite3_bind_int64(q, 1, step);
    sqlite3_bind_int(q, 2, undo);
    if (!logbook_db_step(lb, q, may, e))
        return false;
    logbook_db_done(q);
    return true;
}

/* The unit a figure was typed in goes with the figure: where a merged copy's stands it keeps its own. So units come behind
 * the rest, of those rows of which something was put back, or of which the step says nothing but the unit. */
#define EDITS "SELECT tbl, row, col, old, new FROM edit e WHERE change IN " OF_STEP
#define IS_UNIT(e) "substr(" e ".col, -5) = '_unit'"
#define FIGURES EDITS " AND NOT " IS_UNIT("e")
#define UNITS                                                                                                                          \
    EDITS " AND " IS_UNIT("e") " AND (EXISTS (SELECT 1 FROM edit n WHERE n.change = ?2 AND n.row = e.row AND n.tbl = e.tbl)"             \
          " OR NOT EXISTS (SELECT 1 FROM edit o WHERE o.change IN " OF_STEP " AND o.row = e.row AND o.tbl = e.tbl AND NOT " IS_UNIT("o") "))"

static bool put_all_back(struct logbook *lb, const char *sql, int64_t step, bool undo, struct err *e)
{
    sqlite3_stmt *q = logbook_db_prepare(lb, sql, e);
    bool fine;

    if (q == NULL)
        return false;
    sqlite3_bind_int64(q, 1, step);
    if (sqlite3_bind_parameter_count(q) > 1)
        sqlite3_bind_int64(q, 2, lb->change);
    while (logbook_db_next(lb, q, &fine, e))
        if (!put_back(lb, q, undo ? 4 : 3, undo ? 3 : 4, e)) {
            logbook_db_done(q);
            return false;
        }
    return fine;
}

static bool turn(struct logbook *lb, bool undo, struct err *e)
{
    static const char figures_back[] = FIGURES " ORDER BY seq DESC", figures_again[] = FIGURES " ORDER BY seq";
    static const char units_back[] = UNITS " ORDER BY seq DESC", units_again[] = UNITS " ORDER BY seq";
    static const char mark[] = "UPDATE undo SET undone = ?2 WHERE change IN " OF_STEP;
    struct arena *a = arena_create();
    struct logbook_lost *before = NULL, lost;
    size_t n_before = 0;
    bool may = false, is_lost = false;
    struct target target;
    struct err why = {0};
    sqlite3_stmt *q;

    /* Looked up inside the transaction: a command beside the window may have been quicker. */
    if (!logbook_db_begin(lb, "", undo ? "undo" : "redo", NULL, e)) {
        arena_destroy(a);
        return false;
    }
    if (!find_target(lb, undo ? next_undo : next_redo, &target, &why))
        goto failed;
    if (target.step == 0) {
        err_set(&why, ERR_NOTFOUND, undo ? "There is nothing to undo." : "There is nothing to redo.");
        goto failed;
    }
    text_copy(lb->label, sizeof lb->label, target.label);
    text_copy(lb->reverses, sizeof lb->reverses, target.id);
    if (!may_lose(lb, target.step, undo, &may, &why) || (may && !logbook_db_list_lost(lb, a, &before, &n_before, &why)))
        goto failed;
    if (!put_all_back(lb, undo ? figures_back : figures_again, target.step, undo, &why) || !put_all_back(lb, undo ? units_back : units_again, target.step, undo, &why))
        goto failed;
    if (lb->change == 0) {
        give_up(lb, &target, undo, &why);
        goto failed;
    }
    if (may && !logbook_db_lost_since(lb, before, n_before, NULL, 0, &lost, &is_lost, &why))
        goto failed;
    if (is_lost)
        goto failed;
    q = logbook_db_prepare(lb, mark, &why);
    if (q == NULL)
        goto failed;
    sqlite3_bind_int64(q, 1, target.step);
    sqlite3_bind_int(q, 2, undo ? 1 : 0);
    if (!logbook_db_run(lb, q, &why))
        goto failed;
    arena_destroy(a);
    return logbook_commit(lb, e);
failed:
    arena_destroy(a);
    logbook_rollback(lb);
    if (is_lost)
        return let_be(lb, &target, &lost, undo, e);
    if (e != NULL)
        *e = why;
    return false;
}

bool logbook_undo(struct logbook *lb, struct err *e)
{
    return turn(lb, true, e);
}

bool logbook_redo(struct logbook *lb, struct err *e)
{
    return turn(lb, false, e);
}

bool logbook_keep_last(struct logbook *lb, struct err *e)
{
    static const char keep[] = "DELETE FROM undo WHERE change = (SELECT max(seq) FROM change)";

    return logbook_db_exec(lb, keep, "keep the last change", e) && logbook_db_load_labels(lb, e);
}
