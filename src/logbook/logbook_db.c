/* logbook_db.c - the helper around SQLite: every result code becomes a sentence here. */
#include "logbook/logbook_db.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"

bool logbook_db_error(struct logbook *lb, int code, const char *doing, struct err *e)
{
    const char *said = lb->db != NULL ? sqlite3_errmsg(lb->db) : sqlite3_errstr(code);

    switch (code & 0xFF) {
    case SQLITE_BUSY:
    case SQLITE_LOCKED:
        return err_set(e, ERR_BUSY,
                       "%s: another program is writing in %s just now. Wait a moment and try again.",
                       doing, lb->folder);
    case SQLITE_FULL:
        return err_set(e, ERR_IO,
                       "%s: the disk of %s is full. Make room and try again; what was noted before is kept.",
                       doing, lb->folder);
    case SQLITE_READONLY:
    case SQLITE_PERM:
        return err_set(e, ERR_READONLY, "%s: %s cannot be written. Check who owns the folder.", doing,
                       lb->folder);
    case SQLITE_CORRUPT:
        return err_set(e, ERR_FORMAT,
                       "%s: the database %s/logbook.db is damaged (%s). Keep a copy of the folder, then go "
                       "back to the latest backup.",
                       doing, lb->folder, said);
    case SQLITE_NOTADB:
        return err_set(e, ERR_FORMAT, "%s/logbook.db is no SQLite database, so it is no logbook.", lb->folder);
    case SQLITE_IOERR:
        return err_set(e, ERR_IO,
                       "%s: the disk of %s reports an error (%s). Check the space and the disk; what was "
                       "noted before is kept.",
                       doing, lb->folder, said);
    case SQLITE_CANTOPEN:
        return err_set(e, ERR_IO, "%s: %s/logbook.db cannot be opened. Check the permissions.", doing, lb->folder);
    default:
        return err_set(e, ERR_IO, "%s: the database in %s says “%s”.", doing, lb->folder, said);
    }
}

bool logbook_db_exec(struct logbook *lb, const char *sql, const char *doing, struct err *e)
{
    int code = sqlite3_exec(lb->db, sql, NULL, NULL, NULL);

    return code == SQLITE_OK || logbook_db_error(lb, code, doing, e);
}

sqlite3_stmt *logbook_db_prepare(struct logbook *lb, const char *sql, struct err *e)
{
    struct cached *c;
    int code;

    for (int i = 0; i < lb->n_cached; i++)
        if (lb->cached[i].sql == sql) {
            logbook_db_done(lb->cached[i].stmt);
            return lb->cached[i].stmt;
        }
    assert(lb->n_cached < LOGBOOK_MAX_STATEMENTS); /* as many as there are texts in this folder */
    c = &lb->cached[lb->n_cached];
    code = sqlite3_prepare_v3(lb->db, sql, -1, SQLITE_PREPARE_PERSISTENT, &c->stmt, NULL);
    if (code != SQLITE_OK) {
        logbook_db_error(lb, code, "Asking the database", e);
        return NULL;
    }
    c->sql = sql;
    lb->n_cached++;
    return c->stmt;
}

void logbook_db_forget_statements(struct logbook *lb)
{
    size_t n_columns;

    logbook_columns(&n_columns);
    for (int i = 0; i < lb->n_cached; i++)
        sqlite3_finalize(lb->cached[i].stmt);
    lb->n_cached = 0;
    for (size_t i = 0; i < n_columns; i++) {
        if (lb->get != NULL)
            sqlite3_finalize(lb->get[i]);
        if (lb->put != NULL)
            sqlite3_finalize(lb->put[i]);
    }
    free(lb->get);
    free(lb->put);
    lb->get = lb->put = NULL;
}

void logbook_db_done(sqlite3_stmt *stmt)
{
    if (stmt != NULL) {
        sqlite3_reset(stmt);
        sqlite3_clear_bindings(stmt);
    }
}

bool logbook_db_step(struct logbook *lb, sqlite3_stmt *stmt, bool *row, struct err *e)
{
    int code = sqlite3_step(stmt);

    *row = code == SQLITE_ROW;
    if (code == SQLITE_ROW || code == SQLITE_DONE)
        return true;
    logbook_db_error(lb, code, sqlite3_stmt_readonly(stmt) ? "Reading" : "Writing", e);
    logbook_db_done(stmt);
    return false;
}

bool logbook_db_next(struct logbook *lb, sqlite3_stmt *stmt, bool *fine, struct err *e)
{
    bool row = false;

    *fine = logbook_db_step(lb, stmt, &row, e);
    if (*fine && !row)
        logbook_db_done(stmt);
    return row;
}

bool logbook_db_run(struct logbook *lb, sqlite3_stmt *stmt, struct err *e)
{
    bool row;

    if (!logbook_db_step(lb, stmt, &row, e))
        return false;
    logbook_db_done(stmt);
    return true;
}

void logbook_db_bind(sqlite3_stmt *stmt, int i, const char *text)
{
    if (text == NULL)
        sqlite3_bind_null(stmt, i);
    else
        sqlite3_bind_text(stmt, i, text, -1, SQLITE_STATIC);
}

void logbook_db_text(sqlite3_stmt *stmt, int column, char *to, size_t n_room)
{
    const unsigned char *s = sqlite3_column_text(stmt, column);

    text_copy(to, n_room, s != NULL ? (const char *)s : "");
}

struct maybe logbook_db_maybe(sqlite3_stmt *stmt, int column, double factor)
{
    if (sqlite3_column_type(stmt, column) == SQLITE_NULL)
        return (struct maybe){0};
    return MAYBE(sqlite3_column_double(stmt, column) * factor);
}

int64_t logbook_db_pragma(struct logbook *lb, const char *sql)
{
    sqlite3_stmt *stmt = NULL;
    int64_t v = -1;

    if (sqlite3_prepare_v2(lb->db, sql, -1, &stmt, NULL) == SQLITE_OK && sqlite3_step(stmt) == SQLITE_ROW)
        v = sqlite3_column_int64(stmt, 0);
    sqlite3_finalize(stmt);
    return v;
}

bool logbook_db_list(struct logbook *lb, const char *sql, const char *owner, logbook_db_reader *read, size_t n_item_bytes,
                     struct arena *a, void **items, size_t *n, struct err *e)
{
    sqlite3_stmt *q = logbook_db_prepare(lb, sql, e);
    size_t n_room = 0;
    bool fine = q != NULL;

    *items = NULL;
    *n = 0;
    if (fine && owner != NULL)
        logbook_db_bind(q, 1, owner);
    while (fine && logbook_db_next(lb, q, &fine, e))
        if (!read(q, arena_push(a, items, n, &n_room, n_item_bytes), e)) {
            logbook_db_done(q);
            fine = false;
        }
    if (!fine) {
        *items = NULL;
        *n = 0;
    }
    return fine;
}
