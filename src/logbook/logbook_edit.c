/* logbook_edit.c - the one way in. Every field that changes is a row of the edit log, written in the
 * same transaction as the field itself; a change is one transaction and one undo step; undo and redo
 * are changes, too. */
#include "logbook/logbook_db.h"

#include <assert.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/files.h"
#include "base/mem.h"
#include "base/text.h"

/* ---- device: who writes ---- */

/* What tells this copy of the logbook from any other: a copied folder must not go on counting under
 * the name of the first one, or merging the two would mistake one edit for another. */
static void fingerprint(struct logbook *lb, char *to, size_t n_room)
{
    char dir[FILES_PATH_BYTES], path[FILES_PATH_BYTES], machine[128] = "", *data;
    struct stat st;
    size_t n;

    if (files_read("/etc/machine-id", 256, &data, &n, NULL)) {
        data[strcspn(data, "\r\n")] = '\0';
        text_copy(machine, sizeof machine, data);
        free(data);
    }
    if (realpath(lb->folder, dir) == NULL)
        text_copy(dir, sizeof dir, lb->folder);
    memset(&st, 0, sizeof st);
    if (files_join(path, sizeof path, lb->folder, "logbook.db"))
        (void)stat(path, &st); /* zeroes are as good a mark as any */
    uuid_from_parts(to, "copy", machine, dir, NULL);
    n = strlen(to);
    text_format(to + n, n_room - n, "/%ju", (uintmax_t)st.st_ino);
}

bool logbook_db_read_meta(struct logbook *lb, const char *key, char *to, size_t n_room, struct err *e)
{
    static const char sql[] = "SELECT value FROM meta WHERE key = ?1";
    sqlite3_stmt *q = logbook_db_prepare(lb, sql, e);
    bool row;

    to[0] = '\0';
    if (q == NULL)
        return false;
    logbook_db_bind(q, 1, key);
    if (!logbook_db_step(lb, q, &row, e))
        return false;
    if (row)
        logbook_db_text(q, 0, to, n_room);
    logbook_db_done(q);
    return true;
}

bool logbook_db_write_meta(struct logbook *lb, const char *key, const char *value, struct err *e)
{
    static const char sql[] = "INSERT INTO meta (key, value) VALUES (?1, ?2)"
                              " ON CONFLICT (key) DO UPDATE SET value = excluded.value";
    sqlite3_stmt *q = logbook_db_prepare(lb, sql, e);

    if (q == NULL)
        return false;
    logbook_db_bind(q, 1, key);
    logbook_db_bind(q, 2, value);
    return logbook_db_run(lb, q, e);
}

#define DRAFT "draft of an engine"

bool logbook_keep_draft(struct logbook *lb, const char *text, struct err *e)
{
    return logbook_db_write_meta(lb, DRAFT, text, e);
}

bool logbook_read_draft(struct logbook *lb, char *to, size_t n_room)
{
    return logbook_db_read_meta(lb, DRAFT, to, n_room, NULL);
}

void logbook_db_name_key(const char *device, char to[64])
{
    text_format(to, 64, "name of %s", device);
}

/* "Barn on bench": the folder and the machine, so that a person knows the copies of a logbook apart. */
static bool name_copy(struct logbook *lb, struct err *e)
{
    char key[64], was[80], name[80], machine[65] = "", dir[FILES_PATH_BYTES];

    if (realpath(lb->folder, dir) == NULL)
        text_copy(dir, sizeof dir, lb->folder);
    if (gethostname(machine, sizeof machine) != 0)
        machine[0] = '\0';
    machine[sizeof machine - 1] = '\0';
    text_format(name, sizeof name, "%s%s%s", TEXT_SHORT(files_name(dir), 40), machine[0] ? " on " : "", TEXT_SHORT(machine, 30));
    text_sanitize(name, sizeof name);
    logbook_db_name_key(lb->device, key);
    return logbook_db_read_meta(lb, key, was, sizeof was, e) && (strcmp(was, name) == 0 || logbook_db_write_meta(lb, key, name, e));
}

static bool load_device(struct logbook *lb, struct err *e)
{
    static const char own[] = "SELECT counter FROM device WHERE id = ?1";
    static const char all[] = "SELECT max(clock) FROM device";
    char now[96], was[96];
    sqlite3_stmt *q;
    bool row;

    fingerprint(lb, now, sizeof now);
    if (!logbook_db_read_meta(lb, "copy", was, sizeof was, e) || !logbook_db_read_meta(lb, "device", lb->device, sizeof lb->device, e))
        return false;
    if (lb->device[0] == '\0' || strcmp(now, was) != 0) {
        uuid_make(lb->device);
        if (!logbook_db_write_meta(lb, "device", lb->device, e) || !logbook_db_write_meta(lb, "copy", now, e) ||
            (was[0] != '\0' && strcmp(now, was) != 0 && !logbook_db_write_meta(lb, LOGBOOK_FORMER, "", e)))
            return false;
    }
    if (!name_copy(lb, e))
        return false;
    lb->counter = lb->clock = 0;
    q = logbook_db_prepare(lb, own, e);
    if (q == NULL)
        return false;
    logbook_db_bind(q, 1, lb->device);
    if (!logbook_db_step(lb, q, &row, e))
        return false;
    if (row)
        lb->counter = sqlite3_column_int64(q, 0);
    logbook_db_done(q);
    q = logbook_db_prepare(lb, all, e);
    if (q == NULL || !logbook_db_step(lb, q, &row, e))
        return false;
    if (row)
        lb->clock = sqlite3_column_int64(q, 0);
    logbook_db_done(q);
    return true;
}

/* ---- begin and commit ---- */

bool logbook_db_begin(struct logbook *lb, const char *label, const char *kind, const char *reverses, struct err *e)
{
    struct err why;

    assert(!lb->in_change);
    if (!lb->can_write)
        return err_set(e, ERR_READONLY, "Nothing was changed. %s", logbook_why_read_only(lb));
    if (!logbook_db_exec(lb, "BEGIN IMMEDIATE", "Beginning an edit", e))
        return false;
    if (!load_device(lb, &why)) {
        sqlite3_exec(lb->db, "ROLLBACK", NULL, NULL, NULL);
        if (e != NULL)
            *e = why;
        return false;
    }
    lb->in_change = true;
    lb->failed = false;
    lb->change = 0;
    lb->join = strcmp(kind, "do") == 0 ? lb->join_on : 0;
    lb->kind = kind;
    text_copy(lb->reverses, sizeof lb->reverses, reverses != NULL ? reverses : "");
    text_copy(lb->label, sizeof lb->label, label);
    lb->n_touched = 0;
    lb->made.table = NULL;
    err_clear(&lb->trouble);
    return true;
}

bool logbook_begin(struct logbook *lb, const char *label, struct err *e)
{
    return logbook_db_begin(lb, label, "do", NULL, e);
}

void logbook_join(struct logbook *lb, int64_t step)
{
    assert(lb->in_change);
    lb->join = step;
}

void logbook_join_on(struct logbook *lb, int64_t step)
{
    lb->join_on = step;
}

int64_t logbook_step(const struct logbook *lb)
{
    return lb->step;
}

bool logbook_in_change(const struct logbook *lb)
{
    return lb->in_change;
}

void logbook_rollback(struct logbook *lb)
{
    if (!lb->in_change)
        return;
    sqlite3_exec(lb->db, "ROLLBACK", NULL, NULL, NULL);
    lb->in_change = false;
}

bool logbook_db_fail(struct logbook *lb, struct err *e)
{
    if (lb->in_change && !lb->failed) {
        lb->failed = true;
        if (e != NULL)
            lb->trouble = *e;
    }
    return false;
}

/* The change's own row, when its first edit comes. */
static bool write_change(struct logbook *lb, struct err *e)
{
    static const char sql[] =
        "INSERT INTO change (id, device, counter, clock, seen, at_ms, kind, reverses, label)"
        " VALUES (?1, ?2, ?3, ?4, (SELECT json_group_object(id, counter) FROM device WHERE id <> ?2),"
        " ?5, ?6, ?7, ?8)";
    sqlite3_stmt *q;
    char id[UUID_BYTES];

    if (lb->change != 0)
        return true;
    q = logbook_db_prepare(lb, sql, e);
    if (q == NULL)
        return false;
    uuid_make(id);
    logbook_db_bind(q, 1, id);
    logbook_db_bind(q, 2, lb->device);
    sqlite3_bind_int64(q, 3, lb->counter + 1);
    sqlite3_bind_int64(q, 4, lb->clock + 1);
    sqlite3_bind_int64(q, 5, clock_now_utc_ms());
    logbook_db_bind(q, 6, lb->kind);
    logbook_db_bind(q, 7, lb->reverses[0] ? lb->reverses : NULL);
    logbook_db_bind(q, 8, lb->label);
    if (!logbook_db_run(lb, q, e))
        return false;
    lb->change = sqlite3_last_insert_rowid(lb->db);
    return true;
}

static bool close_change(struct logbook *lb, struct err *e)
{
    static const char known[] = "INSERT INTO device (id, counter, clock) VALUES (?1, ?2, ?3)"
                                " ON CONFLICT (id) DO UPDATE SET counter = excluded.counter, clock = excluded.clock";
    static const char forget[] = "UPDATE undo SET undone = 2 WHERE undone = 1";
    static const char stack[] = "INSERT INTO undo (change, undone, step) VALUES (?1, 0, nullif(?2, 0))";
    sqlite3_stmt *q = logbook_db_prepare(lb, known, e);

    if (q == NULL)
        return false;
    logbook_db_bind(q, 1, lb->device);
    sqlite3_bind_int64(q, 2, lb->counter + 1);
    sqlite3_bind_int64(q, 3, lb->clock + 1);
    if (!logbook_db_run(lb, q, e))
        return false;
    if (strcmp(lb->kind, "do") == 0 || strcmp(lb->kind, "settle") == 0) {
        q = logbook_db_prepare(lb, forget, e);
        if (q == NULL || !logbook_db_run(lb, q, e))
            return false;
        q = logbook_db_prepare(lb, stack, e);
        if (q == NULL)
            return false;
        sqlite3_bind_int64(q, 1, lb->change);
        sqlite3_bind_int64(q, 2, lb->join);
        if (!logbook_db_run(lb, q, e))
            return false;
    }
    return logbook_db_see_conflicts(lb, e) && logbook_db_index_touched(lb, e);
}

bool logbook_commit(struct logbook *lb, struct err *e)
{
    struct err why;
    int code;

    assert(lb->in_change);
    if (lb->failed) {
        logbook_rollback(lb);
        if (e != NULL)
            *e = lb->trouble;
        return false;
    }
    if (lb->change != 0 && !close_change(lb, &why)) {
        logbook_rollback(lb);
        if (e != NULL)
            *e = why;
        return false;
    }
    code = sqlite3_exec(lb->db, "COMMIT", NULL, NULL, NULL);
    if (code != SQLITE_OK) {
        logbook_db_error(lb, code, lb->label, e);
        logbook_rollback(lb);
        return false;
    }
    lb->in_change = false;
    if (lb->change == lb->seen + 1) /* else another copy's edit lies between: it is still to be seen */
        lb->seen = lb->change;
    lb->step = lb->join != 0 ? lb->join : lb->change;
    /* The change is on the disk; labels that cannot be read now are read at the next change. */
    (void)logbook_db_load_labels(lb, &why);
    return true;
}

/* ---- set ---- */

static sqlite3_stmt *column_statement(struct logbook *lb, int column, bool put, struct err *e)
{
    size_t n;
    const struct logbook_column *c = logbook_columns(&n) + column;
    sqlite3_stmt ***kept = put ? &lb->put : &lb->get, **at;
    char sql[256];
    int code;

    if (*kept == NULL)
        *kept = mem_alloc(n, sizeof **kept);
    at = &(*kept)[column];
    if (*at != NULL) {
        logbook_db_done(*at);
        return *at;
    }
    /* Names of our own table list, never outside text. */
    if (put)
        snprintf(sql, sizeof sql,
                 "INSERT INTO %s (id, %s) VALUES (?1, ?2) ON CONFLICT (id) DO UPDATE SET %s = excluded.%s",
                 c->table, c->column, c->column, c->column);
    else
        snprintf(sql, sizeof sql, "SELECT %s FROM %s WHERE id = ?1", c->column, c->table);
    code = sqlite3_prepare_v3(lb->db, sql, -1, SQLITE_PREPARE_PERSISTENT, at, NULL);
    if (code != SQLITE_OK) {
        logbook_db_error(lb, code, "Asking the database", e);
        return NULL;
    }
    return *at;
}

static bool same_value(sqlite3_value *a, sqlite3_value *b)
{
    int type = sqlite3_value_type(a);

    if (type != sqlite3_value_type(b))
        return false;
    switch (type) {
    case SQLITE_INTEGER:
        return sqlite3_value_int64(a) == sqlite3_value_int64(b);
    case SQLITE_FLOAT: {
        double x = sqlite3_value_double(a), y = sqlite3_value_double(b);

        return memcmp(&x, &y, sizeof x) == 0;
    }
    case SQLITE_NULL:
        return true;
    default: {
        const unsigned char *s = sqlite3_value_text(a), *t = sqlite3_value_text(b);

        return s != NULL && t != NULL && strcmp((const char *)s, (const char *)t) == 0;
    }
    }
}

/* old: NULL for a row that was not there. */
static bool write_edit(struct logbook *lb, const struct logbook_column *c, const char *row, sqlite3_value *old,
                       sqlite3_value *new, struct err *e)
{
    static const char sql[] = "INSERT INTO edit (change, tbl, row, col, old, new) VALUES (?1, ?2, ?3, ?4, ?5, ?6)";
    sqlite3_stmt *q;

    if (!write_change(lb, e))
        return false;
    q = logbook_db_prepare(lb, sql, e);
    if (q == NULL)
        return false;
    sqlite3_bind_int64(q, 1, lb->change);
    logbook_db_bind(q, 2, c->table);
    logbook_db_bind(q, 3, row);
    logbook_db_bind(q, 4, c->column);
    if (old != NULL)
        sqlite3_bind_value(q, 5, old);
    else if (strcmp(c->column, "gone") == 0)
        sqlite3_bind_int(q, 5, 1); /* a row that never was counts as taken away */
    sqlite3_bind_value(q, 6, new);
    if (!logbook_db_run(lb, q, e))
        return false;
    logbook_db_touch(lb, c->table, row);
    return true;
}

static sqlite3_value *value_of(sqlite3_stmt *stmt, int column)
{
    return sqlite3_value_dup(sqlite3_column_value(stmt, column));
}

/* A protected value made of a binding: SQLite gives values only from statements. */
static sqlite3_value *make_value(struct logbook *lb, enum logbook_type type, bool null, int64_t i, double r,
                                 const char *s, struct err *e)
{
    static const char sql[] = "SELECT ?1";
    sqlite3_stmt *q = logbook_db_prepare(lb, sql, e);
    sqlite3_value *v = NULL;
    bool row;

    if (q == NULL)
        return NULL;
    if (null)
        sqlite3_bind_null(q, 1);
    else if (type == LOGBOOK_INT)
        sqlite3_bind_int64(q, 1, i);
    else if (type == LOGBOOK_REAL)
        sqlite3_bind_double(q, 1, r);
    else
        sqlite3_bind_text(q, 1, s, -1, SQLITE_STATIC);
    if (!logbook_db_step(lb, q, &row, e))
        return NULL;
    v = value_of(q, 0);
    logbook_db_done(q);
    return v;
}

static bool come_into_being(struct logbook *lb, const char *table, const char *row, struct err *e)
{
    sqlite3_value *zero = make_value(lb, LOGBOOK_INT, false, 0, 0, NULL, e);
    bool fine = zero != NULL && logbook_db_put(lb, logbook_db_column(table, "gone"), row, zero, false, e);

    sqlite3_value_free(zero);
    return fine;
}

/* Of a row made just now nobody need ask the database what a column holds that was not set yet: a record
 * taken over is written three times as fast. */
static bool holds_nothing(const struct logbook *lb, int column, const char *row)
{
    size_t n;
    const struct logbook_column *c = logbook_columns(&n) + column;

    return lb->made.table != NULL && !lb->made_set[column] && strcmp(lb->made.row, row) == 0 && strcmp(lb->made.table, c->table) == 0;
}

static void remember_made(struct logbook *lb, const struct logbook_column *c, const char *row)
{
    size_t n;

    logbook_columns(&n);
    if (lb->made_set == NULL)
        lb->made_set = mem_alloc(n, sizeof *lb->made_set);
    memset(lb->made_set, 0, n * sizeof *lb->made_set);
    lb->made.table = c->table;
    text_copy(lb->made.row, sizeof lb->made.row, row);
}

bool logbook_db_store(struct logbook *lb, int column, const char *row, sqlite3_value *v, struct err *e)
{
    sqlite3_stmt *q = column_statement(lb, column, true, e);

    if (q == NULL)
        return false;
    logbook_db_bind(q, 1, row);
    sqlite3_bind_value(q, 2, v);
    return logbook_db_run(lb, q, e);
}

bool logbook_db_put(struct logbook *lb, int column, const char *row, sqlite3_value *v, bool force, struct err *e)
{
    size_t n;
    const struct logbook_column *c = logbook_columns(&n) + column;
    sqlite3_value *old = NULL;
    bool there, same, is_gone = strcmp(c->column, "gone") == 0, made = holds_nothing(lb, column, row), fine = false;
    sqlite3_stmt *q = made ? NULL : logbook_db_peek(lb, column, row, &there, e);

    if (made) {
        there = true;
    } else if (q == NULL) {
        return false;
    } else {
        if (there)
            old = value_of(q, 0);
        logbook_db_done(q);
    }
    if (made)
        same = sqlite3_value_type(v) == SQLITE_NULL;
    else if (there)
        same = same_value(old, v);
    else
        same = is_gone ? sqlite3_value_int(v) == 1 : sqlite3_value_type(v) == SQLITE_NULL;
    if (same && !force) {
        fine = true;
        goto done;
    }
    if (!there && !is_gone && !come_into_being(lb, c->table, row, e))
        goto done;
    fine = logbook_db_store(lb, column, row, v, e) && write_edit(lb, c, row, old, v, e);
    if (fine && !there) /* gone is the column a row begins with */
        remember_made(lb, c, row);
    if (fine && lb->made.table == c->table && strcmp(lb->made.row, row) == 0)
        lb->made_set[column] = true;
done:
    sqlite3_value_free(old);
    return fine;
}

static bool set(struct logbook *lb, const char *table, const char *row, const char *column, enum logbook_type type,
                bool null, int64_t i, double r, const char *s, struct err *e)
{
    size_t n;
    int at = logbook_db_column(table, column);
    struct err why = {0};
    sqlite3_value *v;
    bool fine;

    assert(lb->in_change && at >= 0);
    assert(null || logbook_columns(&n)[at].type == type);
    if (lb->failed) {
        if (e != NULL)
            *e = lb->trouble;
        return false;
    }
    if (null && holds_nothing(lb, at, row))
        return true;
    v = make_value(lb, type, null, i, r, s, &why);
    fine = v != NULL && logbook_db_put(lb, at, row, v, false, &why);
    sqlite3_value_free(v);
    if (!fine) {
        logbook_db_fail(lb, &why);
        if (e != NULL)
            *e = why;
    }
    return fine;
}

bool logbook_set_text(struct logbook *lb, const char *table, const char *row, const char *column, const char *value,
                      struct err *e)
{
    if (value != NULL && !text_is_utf8(value, strlen(value))) {
        struct err why;

        err_set(&why, ERR_BADARG, "The text for %s is not UTF-8.", column);
        if (e != NULL)
            *e = why;
        return logbook_db_fail(lb, &why);
    }
    return set(lb, table, row, column, LOGBOOK_TEXT, value == NULL, 0, 0, value, e);
}

bool logbook_set_int(struct logbook *lb, const char *table, const char *row, const char *column, int64_t value,
                     struct err *e)
{
    return set(lb, table, row, column, LOGBOOK_INT, false, value, 0, NULL, e);
}

bool logbook_set_real(struct logbook *lb, const char *table, const char *row, const char *column, double value,
                      struct err *e)
{
    assert(isfinite(value)); /* checked where it came in */
    return set(lb, table, row, column, LOGBOOK_REAL, false, 0, value, NULL, e);
}

bool logbook_clear(struct logbook *lb, const char *table, const char *row, const char *column, struct err *e)
{
    return set(lb, table, row, column, LOGBOOK_TEXT, true, 0, 0, NULL, e);
}

bool logbook_add(struct logbook *lb, const char *table, char id[UUID_BYTES], struct err *e)
{
    uuid_make(id);
    return logbook_set_int(lb, table, id, "gone", 0, e);
}

bool logbook_remove(struct logbook *lb, const char *table, const char *row, struct err *e)
{
    return logbook_set_int(lb, table, row, "gone", 1, e);
}

bool logbook_db_put_text(struct logbook *lb, const char *table, const char *row, const char *column, const char *s,
                         struct err *e)
{
    return logbook_set_text(lb, table, row, column, s == NULL || s[0] == '\0' ? NULL : s, e);
}

bool logbook_db_put_maybe(struct logbook *lb, const char *table, const char *row, const char *column, struct maybe m,
                          double factor, struct err *e)
{
    if (!m.given)
        return logbook_clear(lb, table, row, column, e);
    return logbook_set_int(lb, table, row, column, (int64_t)llround(m.value * factor), e);
}

bool logbook_db_put_index(struct logbook *lb, const char *table, const char *row, const char *column, int v, struct err *e)
{
    return v < 0 ? logbook_clear(lb, table, row, column, e) : logbook_set_int(lb, table, row, column, v, e);
}

/* ---- get ---- */

sqlite3_stmt *logbook_db_peek(struct logbook *lb, int column, const char *row, bool *there, struct err *e)
{
    sqlite3_stmt *q = column_statement(lb, column, false, e);

    if (q == NULL)
        return NULL;
    logbook_db_bind(q, 1, row);
    return logbook_db_step(lb, q, there, e) ? q : NULL;
}

static sqlite3_stmt *find(struct logbook *lb, const char *table, const char *row, const char *column)
{
    int at = logbook_db_column(table, column);
    sqlite3_stmt *q;
    bool there;

    assert(at >= 0);
    q = logbook_db_peek(lb, at, row, &there, NULL);
    if (q == NULL)
        return NULL;
    if (!there || sqlite3_column_type(q, 0) == SQLITE_NULL) {
        logbook_db_done(q);
        return NULL;
    }
    return q;
}

bool logbook_get_text(struct logbook *lb, const char *table, const char *row, const char *column, char *to, size_t n_room)
{
    sqlite3_stmt *q = find(lb, table, row, column);

    to[0] = '\0';
    if (q == NULL)
        return false;
    logbook_db_text(q, 0, to, n_room);
    logbook_db_done(q);
    return true;
}

bool logbook_get_int(struct logbook *lb, const char *table, const char *row, const char *column, int64_t *out)
{
    sqlite3_stmt *q = find(lb, table, row, column);

    if (q == NULL)
        return false;
    *out = sqlite3_column_int64(q, 0);
    logbook_db_done(q);
    return true;
}

bool logbook_is_there(struct logbook *lb, const char *table, const char *row)
{
    int64_t gone;

    return logbook_get_int(lb, table, row, "gone", &gone) && gone == 0;
}
