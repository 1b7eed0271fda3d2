/* logbook_merge.c - two copies of a logbook become one: the union of their edit logs. The value of a field is
 * that of its latest edit (Lamport clock, then the device's name), so the order of merging does not matter.
 * Values of one field set by copies that did not know of each other are a conflict: found by what each change
 * had seen, kept until somebody chooses. Everything here follows from the log alone. */
#include "logbook/logbook_conflict.h"

#include <assert.h>
#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#include "base/files.h"
#include "base/mem.h"
#include "base/text.h"

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
           err_set(e, ERR_FORMAT, "The edit log of %s names %s.%s of %s, which no logbook has. Run sootbook verify on it; nothing was changed.", u->other->folder, TEXT_SHORT(table, 30), TEXT_SHORT(column, 40), TEXT_SHORT(row, 40));
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

static const char latest[] = "SELECT e.new FROM edit e JOIN change c ON c.seq = e.change WHERE e.row = ?2 AND e.col = ?3 AND e.tbl = ?1"
                             " ORDER BY c.clock DESC, c.device DESC, e.seq DESC LIMIT 1";

static bool put_latest(struct logbook *lb, const char *table, const char *row, const char *column, struct err *e)
{
    sqlite3_stmt *q = logbook_db_ask_field(lb, latest, table, row, column, e);
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
        !logbook_db_run_field(lb, start, table, row, "0", e))
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
            fine = logbook_db_keep_conflict(lb, rows[i].table, rows[i].id, "gone", e);
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
    static const char more[] = "SELECT count(DISTINCT t.id) FROM (SELECT row AS id FROM edit WHERE tbl = 'reading' AND change IN (SELECT change FROM temp.theirs)"
                               " UNION ALL SELECT o.reading FROM edit e JOIN observation o ON o.id = e.row WHERE e.tbl = 'observation' AND e.change IN (SELECT change FROM temp.theirs)) t"
                               " JOIN temp.before b ON b.tbl = 'reading' AND b.id = t.id JOIN reading r ON r.id = t.id AND r.gone = 0";
    const struct {
        const char *table;
        int *to;
    } rows[] = {{"'engine'", &u->out->n_engines}, {"'visit'", &u->out->n_visits}, {"'reading'", &u->out->n_readings}, {"'photo'", &u->out->n_photos_noted}};
    char sql[900];

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        text_format(sql, sizeof sql, "%s%s", added, rows[i].table);
        *rows[i].to = (int)logbook_db_pragma(u->lb, sql);
    }
    u->out->n_readings_more = (int)logbook_db_pragma(u->lb, more);
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
    /* normal wear and a fault at one firing end are two rows, which no field of theirs tells */
    static const char normal[] = "SELECT DISTINCT 'observation', n.id, 'gone' FROM edit e JOIN observation t ON t.id = e.row JOIN observation n ON n.reading = t.reading AND n.zone = 'firing_end' AND n.sign = 'normal'"
                                 " WHERE e.tbl = 'observation' AND e.change IN (SELECT change FROM temp.theirs)";
    /* nor do they tell of two plugs in one hole */
    static const char seats[] = "SELECT DISTINCT 'installation', n.id, 'gone' FROM edit e JOIN installation i ON i.id = e.row JOIN installation n ON n.engine = i.engine AND n.cylinder = i.cylinder AND n.gone = 0"
                                " WHERE e.tbl = 'installation' AND e.change IN (SELECT change FROM temp.theirs)";
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
        fine = (strcmp(column, "gone") != 0 || logbook_db_keep_conflict(u->lb, table, row, column, e)) && logbook_db_see_conflict(u->lb, table, row, column, e);
        if (!fine) {
            logbook_db_done(q);
            return false;
        }
    }
    return fine && each_field(u->lb, both, logbook_db_see_conflict, e) && each_field(u->lb, normal, logbook_db_see_conflict, e) && each_field(u->lb, seats, logbook_db_see_conflict, e) && see_taken_out(u->lb, out_there, in_here, e) && see_taken_out(u->lb, out_here, in_there, e);
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
    if (other == NULL && why.code == ERR_OLDER) /* a copy to be merged is only read */
        text_format(why.text + strlen(why.text), sizeof why.text - strlen(why.text), " Then merge.");
    if (other != NULL && !logbook_db_exec(other, "BEGIN", "Merging", &why)) {
        logbook_close(other);
        other = NULL;
    }
    if (other == NULL && e != NULL)
        *e = why;
    return other;
}

/* Told in the state before: whichever copy's card has the plug shows what is noted of it. */
static bool refuse_lost(struct union_of *u, const struct logbook_lost *lost, struct err *e)
{
    char words[400];
    bool here;

    logbook_db_lost_words(u->lb, u->other, lost, &here, words, sizeof words);
    if (lost->cylinder < 0)
        return err_set(e, ERR_BADARG, "%s. Nothing was changed. Write that card alike in both copies (E on Engines), then merge.", words);
    return err_set(e, ERR_BADARG, "%s %s. Nothing was changed. Give %s that plug again (E on Engines), or take those out %s; then merge.", words,
                   here ? "here" : "in the other copy", here ? "the other copy's card" : "the card here", here ? "here" : "there");
}

static bool merge_and_commit(struct union_of *u, struct err *e)
{
    struct arena *a = arena_create();
    struct logbook_lost *before, *there, lost;
    size_t n_before, n_there;
    bool fine, is_lost = false;

    u->n_changes = (size_t)logbook_db_pragma(u->other, "SELECT count(*) FROM change");
    u->out->damaged = logbook_db_pragma(u->other, "SELECT count(*) FROM (SELECT 1 FROM pragma_quick_check(1) WHERE quick_check <> 'ok')") != 0;
    fine = logbook_db_list_lost(u->other, a, &there, &n_there, e) && logbook_db_begin(u->lb, "", "do", NULL, e);
    if (!fine) {
        arena_destroy(a);
        return false;
    }
    fine = logbook_db_list_lost(u->lb, a, &before, &n_before, e) && merge_logs(u, e) && logbook_db_index_touched(u->lb, e) &&
           logbook_db_lost_since(u->lb, before, n_before, there, n_there, &lost, &is_lost, e) && !is_lost;
    arena_destroy(a);
    if (fine)
        count_rows(u);
    fine = fine && logbook_db_exec(u->lb, "DROP TABLE IF EXISTS temp.below; DROP TABLE temp.before; DROP TABLE temp.known; DROP TABLE temp.ours; DROP TABLE temp.theirs", "Merging", e) &&
           go_on(u, "edits", u->n_changes, u->n_changes, e) && logbook_commit(u->lb, e);
    if (!fine && u->lb->in_change)
        logbook_rollback(u->lb);
    logbook_db_forget_statements(u->lb); /* some name tables that are gone */
    if (is_lost)
        return refuse_lost(u, &lost, e);
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
    text_add(&t, n_said ? " come in" : m->n_changes > 0 ? "no new visit or reading" : "nothing new comes in");
    if (m->n_readings_more > 0)
        text_addf(&t, ", %d reading%s more or otherwise", m->n_readings_more, m->n_readings_more == 1 ? " says" : "s say");
    if (m->n_taken_out > 0)
        text_addf(&t, ", %d %s taken out", m->n_taken_out, m->n_taken_out == 1 ? "is" : "are");
    if (m->n_changes > 0)
        text_addf(&t, "; %zu %s written there %s taken over", m->n_edits, m->n_edits == 1 ? "entry" : "entries", m->n_edits == 1 ? "is" : "are");
    if (m->n_photos > 0)
        text_addf(&t, "; %d photo file%s to copy", m->n_photos, m->n_photos == 1 ? "" : "s");
    if (m->damaged)
        text_add(&t, "; the database of that copy is damaged: what could be read of it is taken, sootbook verify tells of the rest");
    if (m->n_photos_missing > 0)
        text_addf(&t, "; %d photo%s missing or damaged there", m->n_photos_missing, m->n_photos_missing == 1 ? " is" : "s are");
    if (m->n_conflicts > 0)
        text_addf(&t, "; %d %s differently by both copies", m->n_conflicts, m->n_conflicts == 1 ? "is said" : "are said");
    text_copy(to, n_room, text_get(&t));
    text_release(&t);
}
