/* logbook_merge.c - two copies of a logbook become one: the union of their edit logs. The value of a field is
 * that of its latest edit (Lamport clock, then the device's name), so the order of merging does not matter.
 * Values of one field set by copies that did not know of each other are a conflict: found by what each change
 * had seen, kept until somebody chooses. Everything here follows from the log alone. */
#include "logbook/logbook_db.h"

#include <assert.h>
#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#include "base/files.h"
#include "base/mem.h"

/* The edits of one field. An edit that was undone, and its undoing, count for nothing; of the others a head is one
 * that no other knew of. What stands is the latest of all. */
#define EDITS_OF_FIELD                                                                                                                          \
    "WITH f AS (SELECT e.seq AS at, e.new AS new, c.id AS id, c.device AS device, c.counter AS counter, c.clock AS clock, c.seen AS seen,"       \
    " c.kind AS kind, c.reverses AS reverses, c.at_ms AS at_ms FROM edit e JOIN change c ON c.seq = e.change"                                    \
    " WHERE e.row = ?2 AND e.col = ?3 AND e.tbl = ?1),"                                                                                          \
    " stands AS (SELECT * FROM f ORDER BY clock DESC, device DESC, at DESC LIMIT 1),"                                                            \
    " undone AS (SELECT x.id FROM f x WHERE x.kind IN ('do', 'settle') AND"                                                                      \
    " (SELECT k.kind FROM f k WHERE k.reverses = x.id ORDER BY k.clock DESC, k.device DESC LIMIT 1) = 'undo'),"                                  \
    " live AS (SELECT * FROM f WHERE id NOT IN undone AND (reverses IS NULL OR reverses NOT IN undone)),"                                        \
    " heads AS (SELECT * FROM live a WHERE NOT EXISTS (SELECT 1 FROM live b WHERE b.at <> a.at AND"                                              \
    " ((b.device = a.device AND (b.counter > a.counter OR (b.counter = a.counter AND b.at > a.at))) OR"                                          \
    " (b.device <> a.device AND coalesce(json_extract(b.seen, '$.\"' || a.device || '\"'), 0) >= a.counter)))),"                                 \
    " told AS (SELECT new, clock, device, at_ms, 1 AS now FROM stands UNION ALL SELECT new, clock, device, at_ms, 0 FROM heads)"

static const char latest[] = "SELECT e.new FROM edit e JOIN change c ON c.seq = e.change WHERE e.row = ?2 AND e.col = ?3 AND e.tbl = ?1"
                             " ORDER BY c.clock DESC, c.device DESC, e.seq DESC LIMIT 1";

static sqlite3_stmt *ask_field(struct logbook *lb, const char *sql, const char *table, const char *row, const char *column, struct err *e)
{
    sqlite3_stmt *q = logbook_db_prepare(lb, sql, e);

    if (q == NULL)
        return NULL;
    logbook_db_bind(q, 1, table);
    logbook_db_bind(q, 2, row);
    logbook_db_bind(q, 3, column);
    return q;
}

static bool run_field(struct logbook *lb, const char *sql, const char *table, const char *row, const char *column, struct err *e)
{
    sqlite3_stmt *q = ask_field(lb, sql, table, row, column, e);

    return q != NULL && logbook_db_run(lb, q, e);
}

/* A row that is out of sight while another copy wrote in it: added where it is found (see_taken_out), gone when
 * somebody has said which is to be. */
static bool is_settled(struct logbook *lb, const char *table, const char *row, bool *settled, struct err *e)
{
    static const char sql[] = EDITS_OF_FIELD " SELECT 1 FROM stands WHERE new = 0 OR kind = 'settle'";
    sqlite3_stmt *q = ask_field(lb, sql, table, row, "gone", e);

    if (q == NULL || !logbook_db_step(lb, q, settled, e))
        return false;
    logbook_db_done(q);
    return true;
}

static const char keep_conflict[] = "INSERT OR IGNORE INTO conflict (tbl, row, col) VALUES (?1, ?2, ?3)";

/* Notes whether the field is in conflict. */
static bool see_conflict(struct logbook *lb, const char *table, const char *row, const char *column, struct err *e)
{
    static const char count[] = EDITS_OF_FIELD " SELECT count(*) FROM (SELECT 1 FROM told GROUP BY typeof(new), new)";
    static const char drop[] = "DELETE FROM conflict WHERE tbl = ?1 AND row = ?2 AND col = ?3";
    sqlite3_stmt *q = ask_field(lb, count, table, row, column, e);
    bool there, many, settled = true;

    if (q == NULL || !logbook_db_step(lb, q, &there, e))
        return false;
    many = there && sqlite3_column_int(q, 0) > 1;
    logbook_db_done(q);
    if (!many && strcmp(column, "gone") == 0 && !is_settled(lb, table, row, &settled, e))
        return false;
    return (!many && !settled) || run_field(lb, many ? keep_conflict : drop, table, row, column, e);
}

bool logbook_db_see_conflicts(struct logbook *lb, struct err *e)
{
    static const char any[] = "SELECT 1 FROM conflict LIMIT 1";
    static const char settled_before[] = "SELECT 1 FROM change WHERE id = ?1 AND kind = 'settle'";
    static const char settles[] = "UPDATE change SET kind = 'settle' WHERE seq = ?1 AND kind = 'do'";
    static const char touched[] = "SELECT DISTINCT e.tbl, e.row, e.col FROM edit e JOIN conflict f ON f.row = e.row AND f.col = e.col AND f.tbl = e.tbl WHERE e.change = ?1";
    static const char all[] = "SELECT DISTINCT tbl, row, col FROM edit WHERE change = ?1";
    bool there, again = false, fine;
    sqlite3_stmt *q = logbook_db_prepare(lb, any, e);
    int n = 0;

    if (q == NULL || !logbook_db_step(lb, q, &there, e))
        return false;
    logbook_db_done(q);
    if (lb->reverses[0] != '\0') { /* a choice is taken back, or made again */
        q = logbook_db_prepare(lb, settled_before, e);
        if (q == NULL)
            return false;
        logbook_db_bind(q, 1, lb->reverses);
        if (!logbook_db_step(lb, q, &again, e))
            return false;
        logbook_db_done(q);
    }
    if (!there && !again)
        return true;
    q = logbook_db_prepare(lb, again ? all : touched, e);
    if (q == NULL)
        return false;
    sqlite3_bind_int64(q, 1, lb->change);
    while (logbook_db_next(lb, q, &fine, e)) {
        char table[24], row[UUID_BYTES], column[32];

        logbook_db_text(q, 0, table, sizeof table);
        logbook_db_text(q, 1, row, sizeof row);
        logbook_db_text(q, 2, column, sizeof column);
        /* What was in conflict and is written has been chosen; the change says so before the field is looked at. */
        if (n++ == 0 && !again) {
            sqlite3_stmt *s = logbook_db_prepare(lb, settles, e);

            if (s != NULL)
                sqlite3_bind_int64(s, 1, lb->change);
            if (s == NULL || !logbook_db_run(lb, s, e)) {
                logbook_db_done(q);
                return false;
            }
        }
        if (again && strcmp(column, "gone") == 0 && strcmp(lb->kind, "undo") == 0 && !run_field(lb, keep_conflict, table, row, column, e))
            fine = false;
        if (!fine || !see_conflict(lb, table, row, column, e)) {
            logbook_db_done(q);
            return false;
        }
    }
    return fine;
}

/* ---- the union of two logs ---- */

struct union_of {
    struct logbook *lb, *other;
    struct logbook_merged *out;
    const struct logbook_watch *watch;
    size_t n_changes; /* of the other copy */
};

static bool go_on(const struct union_of *u, const char *what, size_t n_done, size_t n_all, struct err *e)
{
    if (u->watch == NULL || u->watch->go_on(u->watch->ctx, what, n_done, n_all))
        return true;
    return err_set(e, ERR_CANCEL, "Stopped; nothing was changed.");
}

static bool each(struct logbook *lb, const char *const *sqls, int n, struct err *e)
{
    for (int i = 0; i < n; i++)
        if (!logbook_db_exec(lb, sqls[i], "Merging", e))
            return false;
    return true;
}

/* temp.known: every change of the other copy; temp.ours, temp.theirs: what only one of both had. */
static bool list_changes(struct union_of *u, struct err *e)
{
    static const char *const make[] = {"DROP TABLE IF EXISTS temp.known; DROP TABLE IF EXISTS temp.ours; DROP TABLE IF EXISTS temp.theirs",
                                       "CREATE TEMP TABLE known (id TEXT PRIMARY KEY); CREATE TEMP TABLE ours (change INTEGER PRIMARY KEY); CREATE TEMP TABLE theirs (change INTEGER PRIMARY KEY)"};
    static const char *const split[] = {"INSERT INTO temp.ours SELECT seq FROM change WHERE id NOT IN (SELECT id FROM temp.known)"};
    static const char ids[] = "SELECT id FROM change";
    static const char add[] = "INSERT INTO temp.known (id) VALUES (?1)";
    sqlite3_stmt *from, *to;
    bool fine;

    if (!each(u->lb, make, 2, e))
        return false;
    from = logbook_db_prepare(u->other, ids, e);
    if (from == NULL)
        return false;
    while (logbook_db_next(u->other, from, &fine, e)) {
        to = logbook_db_prepare(u->lb, add, e);
        if (to != NULL)
            sqlite3_bind_value(to, 1, sqlite3_column_value(from, 0));
        if (to == NULL || !logbook_db_run(u->lb, to, e)) {
            logbook_db_done(from);
            return false;
        }
    }
    return fine && each(u->lb, split, 1, e);
}

/* Two changes that bear one name and are not the same: one copy was put back from a backup and written on. */
static bool check_name(struct union_of *u, sqlite3_stmt *change, struct err *e)
{
    static const char same[] = "SELECT label FROM change WHERE device = ?1 AND counter = ?2";
    sqlite3_stmt *q = logbook_db_prepare(u->lb, same, e);
    char ours[LOGBOOK_LABEL_BYTES], theirs[LOGBOOK_LABEL_BYTES];
    bool there;

    if (q == NULL)
        return false;
    sqlite3_bind_value(q, 1, sqlite3_column_value(change, 2));
    sqlite3_bind_value(q, 2, sqlite3_column_value(change, 3));
    if (!logbook_db_step(u->lb, q, &there, e))
        return false;
    if (there) {
        logbook_db_text(q, 0, ours, sizeof ours);
        logbook_db_text(change, 9, theirs, sizeof theirs);
        err_set(e, ERR_FORMAT, "The two copies went apart under one name (“%s” here, “%s” there): one of them was put back from a backup and written on. They cannot be merged; nothing was changed.", ours, theirs);
    }
    logbook_db_done(q);
    return !there;
}

/* What comes in is looked at once, here: names of this version's tables, ids that are ids. */
static bool check_edit(struct union_of *u, sqlite3_stmt *edit, struct err *e)
{
    char table[32], row[64], column[40];

    logbook_db_text(edit, 0, table, sizeof table);
    logbook_db_text(edit, 1, row, sizeof row);
    logbook_db_text(edit, 2, column, sizeof column);
    return (logbook_db_column(table, column) >= 0 && uuid_is_valid(row)) ||
           err_set(e, ERR_FORMAT, "The edit log of %s names %.30s.%.40s of %.40s, which no logbook has. Run sootbook verify on it; nothing was changed.", u->other->folder, table, column, row);
}

static bool take_edits(struct union_of *u, int64_t from, int64_t to, struct err *e)
{
    static const char all[] = "SELECT tbl, row, col, old, new FROM edit WHERE change = ?1 ORDER BY seq";
    static const char add[] = "INSERT INTO edit (change, tbl, row, col, old, new) VALUES (?1, ?2, ?3, ?4, ?5, ?6)";
    sqlite3_stmt *q = logbook_db_prepare(u->other, all, e);
    bool fine;

    if (q == NULL)
        return false;
    sqlite3_bind_int64(q, 1, from);
    while (logbook_db_next(u->other, q, &fine, e)) {
        sqlite3_stmt *w = check_edit(u, q, e) ? logbook_db_prepare(u->lb, add, e) : NULL;

        if (w != NULL) {
            sqlite3_bind_int64(w, 1, to);
            for (int i = 0; i < 5; i++)
                sqlite3_bind_value(w, i + 2, sqlite3_column_value(q, i));
        }
        if (w == NULL || !logbook_db_run(u->lb, w, e)) {
            logbook_db_done(q);
            return false;
        }
        u->out->n_edits++;
    }
    return fine;
}

static bool take_changes(struct union_of *u, struct err *e)
{
    static const char all[] = "SELECT seq, id, device, counter, clock, seen, at_ms, kind, reverses, label FROM change ORDER BY seq";
    static const char have[] = "SELECT 1 FROM change WHERE id = ?1";
    static const char add[] = "INSERT INTO change (id, device, counter, clock, seen, at_ms, kind, reverses, label) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9)";
    static const char note[] = "INSERT INTO temp.theirs (change) VALUES (?1)";
    sqlite3_stmt *q = logbook_db_prepare(u->other, all, e), *w;
    size_t n_seen = 0;
    bool fine, there;

    if (q == NULL)
        return false;
    while (logbook_db_next(u->other, q, &fine, e)) {
        int64_t seq;

        w = n_seen++ % 64 != 0 || go_on(u, "edits", n_seen, u->n_changes, e) ? logbook_db_prepare(u->lb, have, e) : NULL;
        if (w == NULL)
            goto failed;
        sqlite3_bind_value(w, 1, sqlite3_column_value(q, 1));
        if (!logbook_db_step(u->lb, w, &there, e))
            goto failed;
        logbook_db_done(w);
        if (there)
            continue;
        w = check_name(u, q, e) ? logbook_db_prepare(u->lb, add, e) : NULL;
        if (w == NULL)
            goto failed;
        for (int i = 1; i <= 9; i++)
            sqlite3_bind_value(w, i, sqlite3_column_value(q, i));
        if (!logbook_db_run(u->lb, w, e))
            goto failed;
        seq = sqlite3_last_insert_rowid(u->lb->db);
        w = logbook_db_prepare(u->lb, note, e);
        if (w == NULL)
            goto failed;
        sqlite3_bind_int64(w, 1, seq);
        if (!logbook_db_run(u->lb, w, e) || !take_edits(u, sqlite3_column_int64(q, 0), seq, e))
            goto failed;
        u->out->n_changes++;
    }
    return fine;
failed:
    logbook_db_done(q);
    return false;
}

/* Calls `see` for each field that `sql` gives. */
static bool each_field(struct logbook *lb, const char *sql, bool (*see)(struct logbook *lb, const char *table, const char *row, const char *column, struct err *e), struct err *e)
{
    sqlite3_stmt *q = logbook_db_prepare(lb, sql, e);
    bool fine;

    if (q == NULL)
        return false;
    while (logbook_db_next(lb, q, &fine, e)) {
        char table[24], row[UUID_BYTES], column[32];

        logbook_db_text(q, 0, table, sizeof table);
        logbook_db_text(q, 1, row, sizeof row);
        logbook_db_text(q, 2, column, sizeof column);
        if (!see(lb, table, row, column, e)) {
            logbook_db_done(q);
            return false;
        }
    }
    return fine;
}

static bool put_latest(struct logbook *lb, const char *table, const char *row, const char *column, struct err *e)
{
    sqlite3_stmt *q = ask_field(lb, latest, table, row, column, e);
    sqlite3_value *v;
    bool there, fine;

    if (q == NULL || !logbook_db_step(lb, q, &there, e))
        return false;
    assert(there);
    v = sqlite3_value_dup(sqlite3_column_value(q, 0));
    logbook_db_done(q);
    fine = logbook_db_store(lb, logbook_db_column(table, column), row, v, e);
    sqlite3_value_free(v);
    if (fine)
        logbook_db_touch(lb, table, row);
    return fine;
}

/* ---- rows one copy took out while the other wrote in them or below them ---- */

/* Rows of `table` and what hangs on them, into temp.below. */
static bool add_below(struct logbook *lb, const char *table, const char *row, struct err *e)
{
    static const char start[] = "INSERT OR IGNORE INTO temp.below (tbl, row, seen) VALUES (?1, ?2, ?3)";
    static const char next[] = "SELECT tbl, row FROM temp.below WHERE seen = 0 LIMIT 1";
    static const char done[] = "UPDATE temp.below SET seen = 1 WHERE tbl = ?1 AND row = ?2";
    size_t n;
    const struct logbook_column *columns = logbook_columns(&n);
    sqlite3_stmt *q;
    bool there;

    if (!logbook_db_exec(lb, "DROP TABLE IF EXISTS temp.below; CREATE TEMP TABLE below (tbl TEXT, row TEXT, seen INTEGER, PRIMARY KEY (tbl, row))", "Merging", e) ||
        !run_field(lb, start, table, row, "0", e))
        return false;
    for (;;) {
        char at[24], id[UUID_BYTES];

        q = logbook_db_prepare(lb, next, e);
        if (q == NULL || !logbook_db_step(lb, q, &there, e))
            return false;
        if (there) {
            logbook_db_text(q, 0, at, sizeof at);
            logbook_db_text(q, 1, id, sizeof id);
        }
        logbook_db_done(q);
        if (!there)
            return true;
        q = logbook_db_prepare(lb, done, e);
        if (q == NULL)
            return false;
        logbook_db_bind(q, 1, at);
        logbook_db_bind(q, 2, id);
        if (!logbook_db_run(lb, q, e))
            return false;
        for (size_t i = 0; i < n; i++) {
            char sql[200];

            if (columns[i].refers == NULL || strcmp(columns[i].refers, at) != 0)
                continue;
            snprintf(sql, sizeof sql, "INSERT OR IGNORE INTO temp.below SELECT '%s', id, 0 FROM %s WHERE %s = '%s'", columns[i].table, columns[i].table, columns[i].column, id); /* a UUID, checked */
            if (!logbook_db_exec(lb, sql, "Merging", e))
                return false;
        }
    }
}

static bool see_taken_out(struct logbook *lb, const char *sql, const char *written_by, struct err *e)
{
    sqlite3_stmt *q = logbook_db_prepare(lb, sql, e);
    struct arena *a = arena_create();
    struct row {
        char table[24], id[UUID_BYTES];
    } *rows = NULL;
    void *items = NULL;
    size_t n = 0, n_room = 0;
    bool fine = q != NULL;

    while (q != NULL && logbook_db_next(lb, q, &fine, e)) {
        struct row *r = arena_push(a, &items, &n, &n_room, sizeof *r);

        logbook_db_text(q, 0, r->table, sizeof r->table);
        logbook_db_text(q, 1, r->id, sizeof r->id);
    }
    rows = items;
    for (size_t i = 0; fine && i < n; i++) {
        bool written = false;

        if (logbook_is_there(lb, rows[i].table, rows[i].id))
            continue;
        fine = add_below(lb, rows[i].table, rows[i].id, e);
        q = fine ? logbook_db_prepare(lb, written_by, e) : NULL;
        fine = q != NULL && logbook_db_step(lb, q, &written, e);
        logbook_db_done(q);
        if (fine && written)
            fine = run_field(lb, keep_conflict, rows[i].table, rows[i].id, "gone", e);
    }
    arena_destroy(a);
    return fine;
}

/* Names of copies the other one knows; that of its own folder where it never wrote one down. */
static bool take_names(struct union_of *u, struct err *e)
{
    static const char names[] = "SELECT key, value FROM meta WHERE key LIKE 'name of %'";
    static const char add[] = "INSERT OR IGNORE INTO meta (key, value) VALUES (?1, ?2)";
    sqlite3_stmt *q = logbook_db_prepare(u->other, names, e), *w;
    char device[UUID_BYTES], key[64], was[80];
    bool fine;

    if (q == NULL)
        return false;
    while (logbook_db_next(u->other, q, &fine, e)) {
        w = logbook_db_prepare(u->lb, add, e);
        if (w != NULL)
            for (int i = 0; i < 2; i++)
                sqlite3_bind_value(w, i + 1, sqlite3_column_value(q, i));
        if (w == NULL || !logbook_db_run(u->lb, w, e)) {
            logbook_db_done(q);
            return false;
        }
    }
    if (!fine || !logbook_db_read_meta(u->other, "device", device, sizeof device, e))
        return false;
    logbook_db_name_key(device, key);
    return device[0] == '\0' || (logbook_db_read_meta(u->lb, key, was, sizeof was, e) && (was[0] != '\0' || logbook_db_write_meta(u->lb, key, files_name(u->other->folder), e)));
}

#define SEEN_ROWS "SELECT 'engine' AS tbl, id FROM engine WHERE gone = 0 UNION ALL SELECT 'visit', id FROM visit WHERE gone = 0" \
                  " UNION ALL SELECT 'reading', id FROM reading WHERE gone = 0 UNION ALL SELECT 'photo', id FROM photo WHERE gone = 0"

static bool note_rows(struct union_of *u, struct err *e)
{
    return logbook_db_exec(u->lb, "DROP TABLE IF EXISTS temp.before; CREATE TEMP TABLE before AS " SEEN_ROWS "; CREATE INDEX temp.before_row ON before (tbl, id)", "Merging", e);
}

static void count_rows(struct union_of *u)
{
    static const char added[] = "SELECT count(*) FROM (" SEEN_ROWS ") n WHERE NOT EXISTS (SELECT 1 FROM temp.before b WHERE b.tbl = n.tbl AND b.id = n.id) AND n.tbl = ";
    const struct {
        const char *table;
        int *to;
    } rows[] = {{"'engine'", &u->out->n_engines}, {"'visit'", &u->out->n_visits}, {"'reading'", &u->out->n_readings}, {"'photo'", &u->out->n_photos_noted}};
    char sql[900];

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        text_format(sql, sizeof sql, "%s%s", added, rows[i].table);
        *rows[i].to = (int)logbook_db_pragma(u->lb, sql);
    }
    u->out->n_taken_out = (int)logbook_db_pragma(u->lb, "SELECT count(*) FROM temp.before b WHERE NOT EXISTS (SELECT 1 FROM (" SEEN_ROWS ") n WHERE n.tbl = b.tbl AND n.id = b.id)");
}

static bool merge_logs(struct union_of *u, struct err *e)
{
    static const char devices[] = "INSERT INTO device (id, counter, clock) SELECT device, max(counter), max(clock) FROM change WHERE seq IN (SELECT change FROM temp.theirs) GROUP BY device"
                                  " ON CONFLICT (id) DO UPDATE SET counter = max(counter, excluded.counter), clock = max(clock, excluded.clock)";
    static const char fields[] = "SELECT DISTINCT tbl, row, col FROM edit WHERE change IN (SELECT change FROM temp.theirs)";
    /* in conflict can only be what both copies wrote apart from each other, and what was so in one of them */
    static const char both[] = "SELECT DISTINCT e.tbl, e.row, e.col FROM edit e WHERE e.change IN (SELECT change FROM temp.theirs) AND (EXISTS"
                               " (SELECT 1 FROM edit o WHERE o.row = e.row AND o.col = e.col AND o.tbl = e.tbl AND o.change IN (SELECT change FROM temp.ours))"
                               " OR EXISTS (SELECT 1 FROM conflict f WHERE f.row = e.row AND f.col = e.col AND f.tbl = e.tbl))";
    static const char out_there[] = "SELECT DISTINCT tbl, row FROM edit WHERE col = 'gone' AND new = 1 AND change IN (SELECT change FROM temp.theirs)";
    static const char out_here[] = "SELECT DISTINCT tbl, row FROM edit WHERE col = 'gone' AND new = 1 AND change IN (SELECT change FROM temp.ours)";
    static const char in_here[] = "SELECT 1 FROM edit e JOIN temp.below b ON b.row = e.row AND b.tbl = e.tbl WHERE e.change IN (SELECT change FROM temp.ours) AND NOT (e.col = 'gone' AND e.new = 1) LIMIT 1";
    static const char in_there[] = "SELECT 1 FROM edit e JOIN temp.below b ON b.row = e.row AND b.tbl = e.tbl WHERE e.change IN (SELECT change FROM temp.theirs) AND NOT (e.col = 'gone' AND e.new = 1) LIMIT 1";
    static const char known[] = "SELECT tbl, row, col FROM conflict";
    sqlite3_stmt *q;
    bool fine;

    if (!note_rows(u, e) || !list_changes(u, e) || !take_changes(u, e) || !take_names(u, e))
        return false;
    q = logbook_db_prepare(u->lb, devices, e);
    if (q == NULL || !logbook_db_run(u->lb, q, e) || !each_field(u->lb, fields, put_latest, e))
        return false;
    q = logbook_db_prepare(u->other, known, e); /* those of the other copy come along */
    if (q == NULL)
        return false;
    while (logbook_db_next(u->other, q, &fine, e)) {
        char table[24], row[UUID_BYTES], column[32];

        logbook_db_text(q, 0, table, sizeof table);
        logbook_db_text(q, 1, row, sizeof row);
        logbook_db_text(q, 2, column, sizeof column);
        fine = (strcmp(column, "gone") != 0 || run_field(u->lb, keep_conflict, table, row, column, e)) && see_conflict(u->lb, table, row, column, e);
        if (!fine) {
            logbook_db_done(q);
            return false;
        }
    }
    return fine && each_field(u->lb, both, see_conflict, e) && see_taken_out(u->lb, out_there, in_here, e) && see_taken_out(u->lb, out_here, in_there, e);
}

/* ---- photos ---- */

static bool is_hex(const char *s)
{
    return strlen(s) == 64 && strspn(s, "0123456789abcdef") == 64;
}

/* Copies the originals this one lacks. Files nobody names yet are harmless: a merge that stops here lost nothing. */
static bool take_photos(struct union_of *u, bool only_count, struct err *e)
{
    size_t n_seen = 0, n_all = (size_t)logbook_db_pragma(u->other, "SELECT count(DISTINCT sha256) FROM photo WHERE sha256 IS NOT NULL");
    static const char sql[] = "SELECT DISTINCT sha256, format FROM photo WHERE sha256 IS NOT NULL";
    sqlite3_stmt *q = logbook_db_prepare(u->other, sql, e);
    bool fine;

    if (q == NULL)
        return false;
    while (logbook_db_next(u->other, q, &fine, e)) {
        char sha[80], format[16], from[1400], to[1400], hex[65];
        struct logbook_photo kept;

        logbook_db_text(q, 0, sha, sizeof sha);
        logbook_db_text(q, 1, format, sizeof format);
        if (!is_hex(sha) || strspn(format, "abcdefghijklmnopqrstuvwxyz0123456789") != strlen(format)) {
            logbook_db_done(q);
            return err_set(e, ERR_FORMAT, "A photo of %s has no name a photo can have. Run sootbook verify on it; nothing was changed.", u->other->folder);
        }
        if (!go_on(u, "photos", ++n_seen, n_all, e)) {
            logbook_db_done(q);
            return false;
        }
        logbook_photo_path(u->lb, sha, format, to, sizeof to);
        if (files_exists(to))
            continue;
        logbook_photo_path(u->other, sha, format, from, sizeof from);
        if (only_count) {
            u->out->n_photos += files_exists(from);
            u->out->n_photos_missing += !files_exists(from);
            continue;
        }
        if (!files_exists(from) || !files_sha256(from, hex, NULL) || strcmp(hex, sha) != 0) {
            u->out->n_photos_missing++; /* it is missing there, too: verify tells which */
            continue;
        }
        if (!logbook_keep_original(u->lb->folder, from, &kept, e)) {
            logbook_db_done(q);
            return false;
        }
        u->out->n_photos++;
    }
    return fine;
}

static bool same_folder(const char *a, const char *b)
{
    char x[FILES_PATH_BYTES], y[FILES_PATH_BYTES];

    return realpath(a, x) != NULL && realpath(b, y) != NULL && strcmp(x, y) == 0;
}

/* One state of the other copy, whatever is written there meanwhile. NULL with why. */
static struct logbook *open_other(struct logbook *lb, const char *folder, struct err *e)
{
    struct err why = {.text = ""};
    struct logbook *other;

    if (same_folder(lb->folder, folder)) {
        err_set(e, ERR_BADARG, "%s is this logbook itself. Name the other copy.", folder);
        return NULL;
    }
    other = logbook_open(folder, LOGBOOK_READ, &why);
    if (other == NULL && why.code == ERR_VERSION)
        text_format(why.text + strlen(why.text), sizeof why.text - strlen(why.text), " Open it once with this Sootbook, then merge.");
    if (other != NULL && !logbook_db_exec(other, "BEGIN", "Merging", &why)) {
        logbook_close(other);
        other = NULL;
    }
    if (other == NULL && e != NULL)
        *e = why;
    return other;
}

static bool merge_and_commit(struct union_of *u, struct err *e)
{
    bool fine;

    u->n_changes = (size_t)logbook_db_pragma(u->other, "SELECT count(*) FROM change");
    if (!logbook_db_begin(u->lb, "", "do", NULL, e))
        return false;
    fine = merge_logs(u, e) && logbook_db_index_touched(u->lb, e);
    if (fine)
        count_rows(u);
    fine = fine && logbook_db_exec(u->lb, "DROP TABLE IF EXISTS temp.below; DROP TABLE temp.before; DROP TABLE temp.known; DROP TABLE temp.ours; DROP TABLE temp.theirs", "Merging", e) &&
           go_on(u, "edits", u->n_changes, u->n_changes, e) && logbook_commit(u->lb, e);
    if (!fine && u->lb->in_change)
        logbook_rollback(u->lb);
    logbook_db_forget_statements(u->lb); /* some name tables that are gone */
    if (fine)
        u->out->n_conflicts = (int)logbook_db_pragma(u->lb, "SELECT count(*) FROM conflict");
    return fine;
}

bool logbook_merge(struct logbook *lb, const char *folder, const struct logbook_watch *watch, struct logbook_merged *out, struct err *e)
{
    struct union_of u = {.lb = lb, .out = out, .watch = watch};
    struct err why = {.text = ""}; /* e may be NULL */
    bool fine;

    memset(out, 0, sizeof *out);
    if (!lb->can_write)
        return err_set(e, ERR_READONLY, "Nothing was changed. %s", logbook_why_read_only(lb));
    u.other = open_other(lb, folder, e);
    if (u.other == NULL)
        return false;
    fine = take_photos(&u, false, &why) && merge_and_commit(&u, &why);
    logbook_close(u.other);
    if (!fine && e != NULL)
        *e = why;
    return fine;
}

/* The names the other copy's changes are told by hold in the copy that is thrown away, too; its own are this one's. */
static bool keep_own_device(struct logbook *lb, struct logbook *trial, struct err *e)
{
    char device[UUID_BYTES];

    return logbook_db_read_meta(lb, "device", device, sizeof device, e) && (device[0] == '\0' || logbook_db_write_meta(trial, "previewed", device, e));
}

static void remove_trial(const char *folder)
{
    DIR *d = opendir(folder);
    char path[FILES_PATH_BYTES];

    for (const struct dirent *f = d != NULL ? readdir(d) : NULL; f != NULL; f = readdir(d))
        if (strcmp(f->d_name, ".") != 0 && strcmp(f->d_name, "..") != 0 && files_join(path, sizeof path, folder, f->d_name))
            (void)files_remove(path, NULL);
    if (d != NULL)
        closedir(d);
    (void)rmdir(folder);
}

bool logbook_merge_preview(struct logbook *lb, const char *folder, const struct logbook_watch *watch, struct arena *a, struct logbook_merged *out,
                           struct logbook_conflict **conflicts, size_t *n_conflicts, struct err *e)
{
    struct union_of u = {.lb = NULL, .out = out, .watch = watch};
    const char *tmp = getenv("TMPDIR");
    char place[300], path[340];
    struct err why = {.text = ""};
    bool fine, photos;

    memset(out, 0, sizeof *out);
    *conflicts = NULL;
    *n_conflicts = 0;
    u.other = open_other(lb, folder, e);
    if (u.other == NULL)
        return false;
    u.lb = lb;
    photos = take_photos(&u, true, &why);
    text_format(place, sizeof place, "%.250s/sootbook-preview-XXXXXX", tmp != NULL && tmp[0] != '\0' ? tmp : "/tmp");
    if (!photos || mkdtemp(place) == NULL) {
        logbook_close(u.other);
        if (e != NULL && !photos)
            *e = why;
        return photos ? err_set_errno(e, ERR_IO, "The merge cannot be tried in %s", place) : false;
    }
    text_format(path, sizeof path, "%s/logbook.db", place);
    fine = logbook_backup(lb, path, &why);
    u.lb = fine ? logbook_open(place, LOGBOOK_WRITE, &why) : NULL;
    fine = u.lb != NULL && keep_own_device(lb, u.lb, &why) && merge_and_commit(&u, &why) && logbook_list_conflicts(u.lb, a, conflicts, n_conflicts, &why);
    if (u.lb != NULL)
        logbook_close(u.lb);
    logbook_close(u.other);
    remove_trial(place);
    if (!fine && e != NULL)
        *e = why;
    return fine;
}

static void add_count(struct text *t, int *n_said, int n, const char *noun)
{
    if (n > 0)
        text_addf(t, "%s%d %s%s", (*n_said)++ ? ", " : "", n, noun, n == 1 ? "" : "s");
}

void logbook_merged_words(const struct logbook_merged *m, char *to, size_t n_room)
{
    struct text t = {0};
    int n_said = 0;

    add_count(&t, &n_said, m->n_engines, "engine");
    add_count(&t, &n_said, m->n_visits, "visit");
    add_count(&t, &n_said, m->n_readings, "reading");
    add_count(&t, &n_said, m->n_photos_noted, "photo");
    text_add(&t, n_said ? " come in" : m->n_changes > 0 ? "no new rows; what is there changes" : "nothing new comes in");
    if (m->n_taken_out > 0)
        text_addf(&t, ", %d %s taken out", m->n_taken_out, m->n_taken_out == 1 ? "is" : "are");
    if (m->n_changes > 0)
        text_addf(&t, "; %zu change%s with %zu edit%s", m->n_changes, m->n_changes == 1 ? "" : "s", m->n_edits, m->n_edits == 1 ? "" : "s");
    if (m->n_photos > 0)
        text_addf(&t, "; %d photo file%s to copy", m->n_photos, m->n_photos == 1 ? "" : "s");
    if (m->n_photos_missing > 0)
        text_addf(&t, "; %d photo%s missing or damaged there", m->n_photos_missing, m->n_photos_missing == 1 ? " is" : "s are");
    if (m->n_conflicts > 0)
        text_addf(&t, "; %d field%s with more than one value", m->n_conflicts, m->n_conflicts == 1 ? "" : "s");
    text_copy(to, n_room, text_get(&t));
    text_release(&t);
}

/* ---- what is in conflict ---- */

int logbook_count_conflicts(struct logbook *lb)
{
    int64_t n = logbook_db_pragma(lb, "SELECT count(*) FROM conflict");

    return n > 0 ? (int)n : 0;
}

/* A stored value for people: lengths in mm, pressures in kPa, distances in km. */
static void value_words(const char *table, const char *column, sqlite3_stmt *q, int at, char *to, size_t n_room)
{
    static const struct {
        const char *ending;
        double factor;
        int n_decimals;
        const char *unit;
    } rows[] = {{"_um", 0.001, 2, " mm"}, {"_pa", 0.001, 0, " kPa"}, {"_m", 0.001, 0, " km"}, {"_mnm", 0.001, 1, " N·m"}, {"_ml", 0.001, 1, " l"}};
    char number[40];

    if (strcmp(column, "gone") == 0) {
        text_copy(to, n_room, sqlite3_column_int(q, at) ? "taken out" : "kept");
        return;
    }
    if (sqlite3_column_type(q, at) == SQLITE_NULL) {
        text_copy(to, n_room, "nothing");
        return;
    }
    if (strcmp(table, "observation") == 0 && strcmp(column, "amount") == 0) {
        text_copy(to, n_room, amount_words(sqlite3_column_int(q, at) & 3));
        return;
    }
    if (strncmp(column, "seen_", 5) == 0) {
        text_copy(to, n_room, "looked at");
        return;
    }
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        if (sqlite3_column_type(q, at) == SQLITE_INTEGER && text_ends(column, rows[i].ending)) {
            text_from_double(number, sizeof number, sqlite3_column_double(q, at) * rows[i].factor, rows[i].n_decimals);
            text_format(to, n_room, "%s%s", number, rows[i].unit);
            return;
        }
    logbook_db_text(q, at, to, n_room);
    for (char *c = to; *c != '\0'; c++)
        if (*c == '\n' || *c == '\t')
            *c = ' ';
}

/* "gap as found": the column in words. */
static void column_words(const char *column, char *to, size_t n_room)
{
    static const struct {
        const char *column, *words;
    } rows[] = {{"gone", "taken out or kept"}, {"gap_um", "gap as found"}, {"gap_left_um", "gap as left"}, {"odometer_m", "odometer"}, {"compression_pa", "compression"},
                {"compression_wet_pa", "wet compression"}, {"sort", "place in the list"}};
    static const char *const endings[] = {"_um", "_pa", "_mnm", "_ml", "_m", "_deg"};

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        if (strcmp(rows[i].column, column) == 0) {
            text_copy(to, n_room, rows[i].words);
            return;
        }
    text_copy(to, n_room, column);
    for (size_t i = 0; i < sizeof endings / sizeof endings[0]; i++)
        if (text_ends(to, endings[i])) {
            to[strlen(to) - strlen(endings[i])] = '\0';
            break;
        }
    for (char *c = to; *c != '\0'; c++)
        if (*c == '_')
            *c = ' ';
}

/* Goes up from the row to its engine, collecting whose it is. */
static void find_owner(struct logbook *lb, struct logbook_conflict *c, char *of, size_t n_room)
{
    char table[24], row[UUID_BYTES], up[UUID_BYTES];
    struct text t = {0};
    struct engine *en = mem_alloc(1, sizeof *en);
    int64_t cylinder = -1, position = 0;

    text_copy(table, sizeof table, c->table);
    text_copy(row, sizeof row, c->row);
    for (int i = 0; i < 5; i++) {
        static const struct {
            const char *table, *column, *to, *name;
        } ways[] = {{"observation", "reading", "reading", "sign"}, {"reading", "visit", "visit", NULL}, {"mark", "photo", "photo", "kind"}, {"crop", "photo", "photo", NULL}, {"photo", "visit", "visit", "name"},
                    {"step", "visit", "visit", "text"}, {"need", "visit", "visit", "text"}, {"done", "visit", "visit", "what"}, {"verdict", "visit", "visit", "cause"}, {"installation", "part", "part", NULL},
                    {"part", "engine", "engine", "name"}, {"fact", "engine", "engine", "label"}, {"visit", "engine", "engine", NULL}};
        size_t k = 0;
        char name[120];

        if (strcmp(table, "visit") == 0)
            text_copy(c->visit, sizeof c->visit, row);
        if (strcmp(table, "reading") == 0 && logbook_get_int(lb, table, row, "cylinder", &cylinder))
            (void)logbook_get_int(lb, table, row, "position", &position);
        if (strcmp(table, "engine") == 0) {
            text_copy(c->engine, sizeof c->engine, row);
            break;
        }
        while (k < sizeof ways / sizeof ways[0] && strcmp(ways[k].table, table) != 0)
            k++;
        if (k == sizeof ways / sizeof ways[0])
            break;
        if (ways[k].name != NULL && logbook_get_text(lb, table, row, ways[k].name, name, sizeof name))
            text_addf(&t, "%s%s", t.n_bytes ? ", " : "", name);
        if (!logbook_get_text(lb, table, row, ways[k].column, up, sizeof up))
            break;
        text_copy(table, sizeof table, ways[k].to);
        text_copy(row, sizeof row, up);
    }
    c->cylinder = (int)cylinder;
    c->position = cylinder >= 0 ? (int)position : -1;
    if (cylinder >= 0 && c->engine[0] != '\0' && logbook_load_engine(lb, c->engine, en, NULL) && cylinder < en->n_cylinders) {
        char plug[48];

        engine_plug_label(en, (int)cylinder, (int)position, plug, sizeof plug);
        text_addf(&t, "%s%s", t.n_bytes ? " of " : "of ", plug);
    }
    free(en);
    text_copy(of, n_room, text_get(&t));
    text_release(&t);
}

/* Each value once, with the edit that stands for it: the one that holds, else its latest. */
#define VALUES_OF_FIELD                                                                                                                                 \
    EDITS_OF_FIELD ", ranked AS (SELECT *, row_number() OVER (PARTITION BY typeof(new), new ORDER BY now DESC, clock DESC, device DESC) AS k FROM told)" \
                   " SELECT new, at_ms, device FROM ranked WHERE k = 1 ORDER BY now DESC, clock DESC, device DESC"

/* The copy a value was written in. */
static void name_writer(struct logbook *lb, const char *device, struct logbook_conflict *c, int i)
{
    char key[64], own[UUID_BYTES], previewed[UUID_BYTES];

    logbook_db_name_key(device, key);
    if (!logbook_db_read_meta(lb, key, c->by[i], sizeof c->by[i], NULL) || c->by[i][0] == '\0')
        text_copy(c->by[i], sizeof c->by[i], "another copy");
    c->here[i] = (logbook_db_read_meta(lb, "device", own, sizeof own, NULL) && strcmp(own, device) == 0) ||
                 (logbook_db_read_meta(lb, "previewed", previewed, sizeof previewed, NULL) && strcmp(previewed, device) == 0);
}

static bool read_values(struct logbook *lb, struct logbook_conflict *c, struct err *e)
{
    char writers[LOGBOOK_MOST_VALUES][UUID_BYTES];
    sqlite3_stmt *q = ask_field(lb, VALUES_OF_FIELD, c->table, c->row, c->column, e);
    bool fine;

    if (q == NULL)
        return false;
    while (logbook_db_next(lb, q, &fine, e)) {
        if (c->n == LOGBOOK_MOST_VALUES)
            continue; /* all are in the log; the latest are shown */
        value_words(c->table, c->column, q, 0, c->values[c->n], sizeof c->values[0]);
        c->at_ms[c->n] = sqlite3_column_int64(q, 1);
        logbook_db_text(q, 2, writers[c->n], sizeof writers[0]);
        c->n++;
    }
    for (int i = 0; fine && i < c->n; i++)
        name_writer(lb, writers[i], c, i);
    if (fine && c->n == 1 && strcmp(c->column, "gone") == 0) { /* taken out here, written in there */
        text_copy(c->by[c->n], sizeof c->by[0], c->here[0] ? "another copy" : "this copy");
        c->here[c->n] = !c->here[0];
        text_copy(c->values[c->n++], sizeof c->values[0], "kept");
    }
    return fine;
}

void logbook_conflict_written(const struct logbook_conflict *c, int value, char *to, size_t n_room)
{
    char when[60] = "";
    time_t at = (time_t)(c->at_ms[value] / 1000);
    bool named = strcmp(c->by[value], "another copy") != 0 && strcmp(c->by[value], "this copy") != 0;
    struct tm tm;

    if (c->at_ms[value] > 0 && localtime_r(&at, &tm) != NULL) {
        char iso[11], day[32];

        text_format(iso, sizeof iso, "%04d-%02d-%02d", (tm.tm_year + 1900) % 10000, tm.tm_mon + 1, tm.tm_mday);
        clock_date_words(iso, day, sizeof day);
        text_format(when, sizeof when, " %s %02d:%02d", day, tm.tm_hour, tm.tm_min);
    }
    if (c->here[value])
        text_format(to, n_room, "written%s in this copy%s%s%s", when, named ? " (" : "", named ? c->by[value] : "", named ? ")" : "");
    else
        text_format(to, n_room, "written%s in %s", when, c->by[value]);
}

void logbook_conflict_words(const struct logbook_conflict *c, int value, char *to, size_t n_room)
{
    char written[200];

    logbook_conflict_written(c, value, written, sizeof written);
    text_format(to, n_room, "%s, %s%s", c->values[value], written, value == 0 ? ": stands" : "");
}

bool logbook_list_conflicts(struct logbook *lb, struct arena *a, struct logbook_conflict **conflicts, size_t *n, struct err *e)
{
    static const char sql[] = "SELECT tbl, row, col FROM conflict ORDER BY tbl, row, col";
    sqlite3_stmt *q = logbook_db_prepare(lb, sql, e);
    void *items = NULL;
    size_t n_room = 0;
    bool fine;

    *n = 0;
    *conflicts = NULL;
    if (q == NULL)
        return false;
    while (logbook_db_next(lb, q, &fine, e)) {
        struct logbook_conflict *c = arena_push(a, &items, n, &n_room, sizeof *c);

        logbook_db_text(q, 0, c->table, sizeof c->table);
        logbook_db_text(q, 1, c->row, sizeof c->row);
        logbook_db_text(q, 2, c->column, sizeof c->column);
    }
    *conflicts = items;
    for (size_t i = 0; fine && i < *n; i++) {
        struct logbook_conflict *c = &(*conflicts)[i];
        char column[48], of[160];

        find_owner(lb, c, of, sizeof of);
        column_words(c->column, column, sizeof column);
        if (strcmp(c->table, "reading") == 0) /* "gap as found of 3" says it */
            text_format(c->what, sizeof c->what, "%s%s%s", column, of[0] ? " " : "", of);
        else
            text_format(c->what, sizeof c->what, "%s: %s%s%s", c->table, column, of[0] ? " " : "", of);
        if (c->engine[0] != '\0')
            logbook_get_text(lb, "engine", c->engine, "name", c->engine_name, sizeof c->engine_name);
        if (c->visit[0] != '\0')
            logbook_get_text(lb, "visit", c->visit, "date", c->date, sizeof c->date);
        fine = read_values(lb, c, e);
    }
    if (!fine)
        *n = 0;
    return fine;
}

bool logbook_settle(struct logbook *lb, const struct logbook_conflict *c, int value, struct err *e)
{
    static const char sql[] = VALUES_OF_FIELD " LIMIT 1 OFFSET ?4";
    static const char zero[] = "SELECT 0";
    char label[LOGBOOK_LABEL_BYTES];
    sqlite3_value *v = NULL;
    sqlite3_stmt *q;
    struct err why = {.text = ""};
    bool there, fine = false;

    assert(value >= 0 && value < c->n);
    text_format(label, sizeof label, "Chosen: %s", c->what);
    if (!logbook_db_begin(lb, label, "settle", NULL, e))
        return false;
    q = ask_field(lb, sql, c->table, c->row, c->column, &why);
    if (q != NULL)
        sqlite3_bind_int(q, 4, value);
    if (q != NULL && logbook_db_step(lb, q, &there, &why)) {
        if (!there) { /* "kept", which no edit says */
            logbook_db_done(q);
            q = logbook_db_prepare(lb, zero, &why);
            if (q == NULL || !logbook_db_step(lb, q, &there, &why))
                goto done;
        }
        v = sqlite3_value_dup(sqlite3_column_value(q, 0));
        logbook_db_done(q);
        fine = logbook_db_put(lb, logbook_db_column(c->table, c->column), c->row, v, true, &why);
    }
done:
    sqlite3_value_free(v);
    if (fine)
        return logbook_commit(lb, e);
    logbook_rollback(lb);
    if (e != NULL)
        *e = why;
    return false;
}
