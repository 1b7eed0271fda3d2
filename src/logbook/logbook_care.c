/* logbook_care.c - is it whole, a copy of it, and the index for the search. */
#include "logbook/logbook_db.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/files.h"
#include "base/mem.h"

/* ---- words for the search: rebuilt for the rows a change touched, never logged ---- */

static const struct {
    const char *table;
    const char *gather; /* words of a row; ?1 its id */
} indexed[] = {
    {"engine", "SELECT id, NULL, coalesce(name, '') || ' ' || coalesce(subtitle, '') || ' ' || coalesce(plug_type, '') || ' ' || coalesce(notes, '') FROM engine WHERE id = ?1 AND gone = 0"},
    {"visit", "SELECT engine, id, coalesce(date, '') || ' ' || coalesce(notes, '') || ' ' || coalesce(codes, '') || ' ' || complaint_words(complaints) || ' ' || coalesce(complaint_words, '') || ' ' || coalesce(ended_with, '') FROM visit WHERE id = ?1 AND gone = 0"},
    {"step", "SELECT v.engine, v.id, coalesce(s.text, '') || ' ' || coalesce(s.note, '') FROM step s JOIN visit v ON v.id = s.visit WHERE s.id = ?1 AND s.gone = 0"},
    {"need", "SELECT v.engine, v.id, coalesce(s.text, '') || ' ' || coalesce(s.note, '') FROM need s JOIN visit v ON v.id = s.visit WHERE s.id = ?1 AND s.gone = 0"},
    {"photo", "SELECT v.engine, v.id, p.caption FROM photo p JOIN visit v ON v.id = p.visit WHERE p.id = ?1 AND p.gone = 0 AND p.caption IS NOT NULL"},
    {"fact", "SELECT engine, NULL, coalesce(label, '') || ' ' || coalesce(value, '') FROM fact WHERE id = ?1 AND gone = 0"},
};

static const char *gather_of(const char *table)
{
    for (size_t i = 0; i < sizeof indexed / sizeof indexed[0]; i++)
        if (strcmp(indexed[i].table, table) == 0)
            return indexed[i].gather;
    return NULL;
}

void logbook_db_touch(struct logbook *lb, const char *table, const char *row)
{
    table = logbook_db_table(table);
    if (gather_of(table) == NULL)
        return; /* no words in it */
    if (lb->n_touched > 0 && lb->touched[lb->n_touched - 1].table == table && strcmp(lb->touched[lb->n_touched - 1].row, row) == 0)
        return; /* the fields of a row mostly come one after the other; what comes twice is dropped when sorted */
    if (lb->n_touched == lb->touched_room) {
        lb->touched_room = lb->touched_room ? lb->touched_room * 2 : 32;
        lb->touched = mem_resize(lb->touched, lb->touched_room, sizeof *lb->touched);
    }
    lb->touched[lb->n_touched].table = table;
    text_copy(lb->touched[lb->n_touched++].row, UUID_BYTES, row);
}

/* Puts `text` in place of the row's words; NULL: it has none any more. */
static bool put_words(struct logbook *lb, const char *table, const char *row, const char *engine, const char *visit, const char *text, struct err *e)
{
    static const char drop_words[] = "DELETE FROM words WHERE rowid IN (SELECT id FROM found WHERE tbl = ?1 AND row = ?2)";
    static const char drop[] = "DELETE FROM found WHERE tbl = ?1 AND row = ?2";
    static const char add[] = "INSERT INTO found (tbl, row, engine, visit) VALUES (?1, ?2, ?3, ?4)";
    static const char add_words[] = "INSERT INTO words (rowid, text) VALUES (last_insert_rowid(), ?1)";
    sqlite3_stmt *q;

    for (int i = 0; i < 2; i++) {
        q = logbook_db_prepare(lb, i == 0 ? drop_words : drop, e);
        if (q == NULL)
            return false;
        logbook_db_bind(q, 1, table);
        logbook_db_bind(q, 2, row);
        if (!logbook_db_run(lb, q, e))
            return false;
    }
    if (text == NULL)
        return true;
    q = logbook_db_prepare(lb, add, e);
    if (q == NULL)
        return false;
    logbook_db_bind(q, 1, table);
    logbook_db_bind(q, 2, row);
    logbook_db_bind(q, 3, engine[0] ? engine : NULL);
    logbook_db_bind(q, 4, visit[0] ? visit : NULL);
    if (!logbook_db_run(lb, q, e))
        return false;
    q = logbook_db_prepare(lb, add_words, e);
    if (q == NULL)
        return false;
    logbook_db_bind(q, 1, text);
    return logbook_db_run(lb, q, e);
}

/* One blank between words: fields that say nothing leave more. */
static void close_up(char *text)
{
    size_t n = 0;

    for (const char *s = text; *s != '\0'; s++)
        if (*s != ' ' || (n > 0 && text[n - 1] != ' '))
            text[n++] = *s;
    text[n - (n > 0 && text[n - 1] == ' ')] = '\0';
}

static bool index_row(struct logbook *lb, const char *table, const char *row, const char *gather, struct err *e)
{
    sqlite3_stmt *q = logbook_db_prepare(lb, gather, e);
    char engine[UUID_BYTES] = "", visit[UUID_BYTES] = "", *text = NULL;
    bool there, fine;

    if (q == NULL)
        return false;
    logbook_db_bind(q, 1, row);
    if (!logbook_db_step(lb, q, &there, e))
        return false;
    if (there) {
        logbook_db_text(q, 0, engine, sizeof engine);
        logbook_db_text(q, 1, visit, sizeof visit);
        text = mem_copy_text((const char *)sqlite3_column_text(q, 2));
        if (text != NULL)
            close_up(text);
    }
    logbook_db_done(q);
    fine = put_words(lb, table, row, engine, visit, text, e);
    free(text);
    return fine;
}

/* Whether these are the words that stand for the visit already. */
static bool stands(struct logbook *lb, const char *visit_id, const char *words)
{
    static const char sql[] = "SELECT w.text FROM found f JOIN words w ON w.rowid = f.id WHERE f.tbl = 'finding' AND f.row = ?1";
    sqlite3_stmt *q = logbook_db_prepare(lb, sql, NULL);
    bool there = false, same;

    if (q == NULL)
        return true;
    logbook_db_bind(q, 1, visit_id);
    same = logbook_db_step(lb, q, &there, NULL) && there && text_equal((const char *)sqlite3_column_text(q, 0), words);
    logbook_db_done(q);
    return same;
}

void logbook_keep_findings(struct logbook *lb, const char *engine_id, const char *visit_id, const char *words)
{
    if (!lb->can_write || lb->in_change || stands(lb, visit_id, words) || sqlite3_exec(lb->db, "BEGIN IMMEDIATE", NULL, NULL, NULL) != SQLITE_OK)
        return;
    (void)sqlite3_exec(lb->db, put_words(lb, "finding", visit_id, engine_id, visit_id, words, NULL) ? "COMMIT" : "ROLLBACK", NULL, NULL, NULL);
    if (sqlite3_get_autocommit(lb->db) == 0) /* a full disk: what was looked at is found again another time */
        sqlite3_exec(lb->db, "ROLLBACK", NULL, NULL, NULL);
}

static bool read_unread(sqlite3_stmt *q, void *item, struct err *e)
{
    struct logbook_unread *u = item;

    (void)e;
    logbook_db_text(q, 0, u->engine, sizeof u->engine);
    logbook_db_text(q, 1, u->visit, sizeof u->visit);
    return true;
}

bool logbook_list_unread(struct logbook *lb, struct arena *a, struct logbook_unread **visits, size_t *n, struct err *e)
{
    static const char sql[] = "SELECT v.engine, v.id FROM visit v JOIN engine e ON e.id = v.engine WHERE v.gone = 0 AND e.gone = 0"
                              " AND NOT EXISTS (SELECT 1 FROM found f WHERE f.row = v.id AND f.tbl = 'finding') ORDER BY v.engine, v.date IS NULL, v.date, v.id";
    void *items;
    bool fine = logbook_db_list(lb, sql, NULL, read_unread, sizeof(struct logbook_unread), a, &items, n, e);

    *visits = items;
    return fine;
}

static int by_row(const void *x, const void *y)
{
    const struct touched *a = x, *b = y;
    int order = strcmp(a->row, b->row);

    return order != 0 ? order : strcmp(a->table, b->table);
}

bool logbook_db_index_touched(struct logbook *lb, struct err *e)
{
    if (lb->n_touched > 1)
        qsort(lb->touched, lb->n_touched, sizeof *lb->touched, by_row);
    for (size_t i = 0; i < lb->n_touched; i++)
        if ((i == 0 || by_row(&lb->touched[i - 1], &lb->touched[i]) != 0) &&
            !index_row(lb, lb->touched[i].table, lb->touched[i].row, gather_of(lb->touched[i].table), e))
            return false;
    lb->n_touched = 0;
    return true;
}

#define WORDS_ARE "2" /* in meta, "words": how rows were put in words when all of them were indexed; 2: complaints as people read them */

void logbook_db_index_anew(struct logbook *lb)
{
    static const char sql[] = "SELECT id FROM visit WHERE gone = 0 AND complaints IS NOT NULL";
    char are[8], id[UUID_BYTES];
    sqlite3_stmt *q;
    bool fine;

    if (!lb->can_write || (logbook_db_read_meta(lb, "words", are, sizeof are, NULL) && strcmp(are, WORDS_ARE) == 0) ||
        sqlite3_exec(lb->db, "BEGIN IMMEDIATE", NULL, NULL, NULL) != SQLITE_OK)
        return;
    q = logbook_db_prepare(lb, sql, NULL);
    fine = q != NULL;
    while (q != NULL && logbook_db_next(lb, q, &fine, NULL)) {
        logbook_db_text(q, 0, id, sizeof id);
        logbook_db_touch(lb, "visit", id);
    }
    fine = fine && logbook_db_index_touched(lb, NULL) && logbook_db_write_meta(lb, "words", WORDS_ARE, NULL);
    lb->n_touched = 0;
    (void)sqlite3_exec(lb->db, fine ? "COMMIT" : "ROLLBACK", NULL, NULL, NULL);
    if (sqlite3_get_autocommit(lb->db) == 0)
        sqlite3_exec(lb->db, "ROLLBACK", NULL, NULL, NULL);
}

/* ---- copies ---- */

bool logbook_backup(struct logbook *lb, const char *file, struct err *e)
{
    sqlite3 *to = NULL;
    sqlite3_backup *b;
    char beside[1400];
    int code, finished;

    if (files_exists(file))
        return err_set(e, ERR_BADARG, "%s is there already; name a new file.", file);
    text_format(beside, sizeof beside, "%s.part", file);
    unlink(beside);
    code = sqlite3_open_v2(beside, &to, SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE, NULL);
    if (code == SQLITE_OK) {
        b = sqlite3_backup_init(to, "main", lb->db, "main");
        if (b != NULL) {
            /* In one go: taken by parts, it would begin again with every edit of somebody else. */
            code = sqlite3_backup_step(b, -1);
            finished = sqlite3_backup_finish(b);
            code = code == SQLITE_DONE ? finished : code;
        } else {
            code = sqlite3_errcode(to);
        }
    }
    if (code != SQLITE_OK) {
        if ((code & 0xFF) == SQLITE_BUSY || (code & 0xFF) == SQLITE_LOCKED)
            err_set(e, ERR_BUSY, "The copy %s was not made: another program holds %s just now. Wait a moment and try again.", file, lb->folder);
        else
            err_set(e, ERR_IO, "The copy %s cannot be written: %s. Check the permissions and the room on its disk.", file, sqlite3_errstr(code));
        sqlite3_close(to);
        unlink(beside);
        return false;
    }
    /* one file: no journal beside it */
    sqlite3_exec(to, "PRAGMA journal_mode=DELETE", NULL, NULL, NULL);
    sqlite3_close(to);
    if (rename(beside, file) != 0) {
        err_set_errno(e, ERR_IO, "The copy %s cannot be written", file);
        unlink(beside);
        return false;
    }
    return true;
}

/* ---- verify ---- */

__attribute__((format(printf, 2, 3))) static void trouble(struct logbook_report *out, const char *fmt, ...)
{
    size_t n = strlen(out->text);
    va_list args;

    out->sound = false;
    va_start(args, fmt);
    vsnprintf(out->text + n, sizeof out->text - n, fmt, args);
    va_end(args);
}

static bool check_database(struct logbook *lb, struct logbook_report *out, struct err *e)
{
    static const char integrity[] = "PRAGMA integrity_check(20)", keys[] = "PRAGMA foreign_key_check";
    sqlite3_stmt *q = logbook_db_prepare(lb, integrity, e);
    bool fine;
    char text[300];

    if (q == NULL)
        return false;
    while (logbook_db_next(lb, q, &fine, e)) {
        logbook_db_text(q, 0, text, sizeof text);
        if (strcmp(text, "ok") != 0)
            trouble(out, "Database: %s\n", text);
    }
    q = fine ? logbook_db_prepare(lb, keys, e) : NULL;
    if (q == NULL)
        return false;
    while (logbook_db_next(lb, q, &fine, e)) {
        logbook_db_text(q, 0, text, sizeof text);
        trouble(out, "A row of %s points to one that is not there.\n", text);
    }
    return fine;
}

/* Whether what the log says last of a field stands in the table. */
static bool same_as_logged(struct logbook *lb, sqlite3_value *logged, const char *table, const char *row, const char *column, bool *same, struct err *e)
{
    static const char is_same[] = "SELECT ?1 IS ?2 AND typeof(?1) = typeof(?2)";
    int at = logbook_db_column(table, column);
    sqlite3_stmt *get, *q;
    bool there;

    *same = false;
    if (at < 0)
        return true;
    get = logbook_db_peek(lb, at, row, &there, e);
    q = get != NULL ? logbook_db_prepare(lb, is_same, e) : NULL;
    if (q == NULL)
        return false;
    if (there)
        sqlite3_bind_value(q, 1, sqlite3_column_value(get, 0));
    else if (strcmp(column, "gone") == 0)
        sqlite3_bind_int(q, 1, 1); /* a row that is not there counts as taken away */
    sqlite3_bind_value(q, 2, logged);
    logbook_db_done(get);
    if (!logbook_db_step(lb, q, &there, e))
        return false;
    *same = sqlite3_column_int(q, 0) != 0;
    logbook_db_done(q);
    return true;
}

struct logged {
    char table[24], row[UUID_BYTES], column[32];
};

/* Nothing was taken out or changed beside the log. */
static bool check_lost(struct logbook *lb, struct logbook_report *out, struct err *e)
{
    static const char sql[] = "SELECT e.tbl, e.row, e.col, e.new FROM edit e JOIN change c ON c.seq = e.change"
                              " ORDER BY e.row, e.col, e.tbl, c.clock, c.device, e.seq";
    sqlite3_stmt *q = logbook_db_prepare(lb, sql, e);
    struct logged last = {"", "", ""};
    sqlite3_value *value = NULL;
    int n_bad = 0;
    bool row, fine = q != NULL;

    for (row = fine; row;) {
        struct logged now = {"", "", ""};

        row = logbook_db_next(lb, q, &fine, e);
        if (row) {
            logbook_db_text(q, 0, now.table, sizeof now.table);
            logbook_db_text(q, 1, now.row, sizeof now.row);
            logbook_db_text(q, 2, now.column, sizeof now.column);
        }
        /* the last edit of a field is the one before another field's */
        if (fine && value != NULL && (strcmp(now.row, last.row) != 0 || strcmp(now.column, last.column) != 0 || strcmp(now.table, last.table) != 0)) {
            bool same;

            fine = same_as_logged(lb, value, last.table, last.row, last.column, &same, e);
            if (fine && !same && ++n_bad <= 5)
                trouble(out, "The edit log has another value of %s.%s (row %s).\n", last.table, last.column, last.row);
        }
        if (!fine)
            break;
        sqlite3_value_free(value);
        value = row ? sqlite3_value_dup(sqlite3_column_value(q, 3)) : NULL;
        last = now;
    }
    if (n_bad > 5)
        trouble(out, "So it is with %d more fields.\n", n_bad - 5);
    logbook_db_done(q);
    sqlite3_value_free(value);
    return fine;
}

/* A value that no edit set came in beside the log. */
static bool check_unlogged(struct logbook *lb, struct logbook_report *out, struct err *e)
{
    size_t n;
    const struct logbook_column *c = logbook_columns(&n);

    out->n_edits = (int)logbook_db_pragma(lb, "SELECT count(*) FROM edit");
    for (size_t i = 0; i < n; i++) {
        sqlite3_stmt *q = NULL;
        char sql[400];
        bool row;

        snprintf(sql, sizeof sql,
                 "SELECT count(*) FROM %s t WHERE t.%s IS NOT %s AND NOT EXISTS"
                 " (SELECT 1 FROM edit e WHERE e.row = t.id AND e.col = '%s' AND e.tbl = '%s')",
                 c[i].table, c[i].column, strcmp(c[i].column, "gone") == 0 ? "1" : "NULL", c[i].column, c[i].table);
        if (sqlite3_prepare_v2(lb->db, sql, -1, &q, NULL) != SQLITE_OK)
            return logbook_db_error(lb, sqlite3_errcode(lb->db), "Checking the edit log", e);
        if (!logbook_db_step(lb, q, &row, e)) {
            sqlite3_finalize(q);
            return false;
        }
        if (row && sqlite3_column_int(q, 0) > 0)
            trouble(out, "Values of %s.%s that no edit set: %d.\n", c[i].table, c[i].column, sqlite3_column_int(q, 0));
        sqlite3_finalize(q);
    }
    return true;
}

static bool check_photos(struct logbook *lb, struct logbook_report *out, struct err *e)
{
    static const char sql[] = "SELECT DISTINCT sha256, format, name FROM photo WHERE sha256 IS NOT NULL AND gone = 0";
    static const char named[] = "SELECT 1 FROM edit WHERE tbl = 'photo' AND col = 'sha256' AND new = ?1 LIMIT 1";
    sqlite3_stmt *q = logbook_db_prepare(lb, sql, e);
    struct files_list list = {0};
    char folder[1200], hex[65];
    bool row, fine;

    if (q == NULL)
        return false;
    while (logbook_db_next(lb, q, &fine, e)) {
        char sha[65], format[16], name[256], path[1400];

        logbook_db_text(q, 0, sha, sizeof sha);
        logbook_db_text(q, 1, format, sizeof format);
        logbook_db_text(q, 2, name, sizeof name);
        out->n_photos++;
        logbook_photo_path(lb, sha, format, path, sizeof path);
        if (!files_exists(path)) {
            out->n_missing++;
            trouble(out, "The photo %s is missing.\n", name);
        } else if (!files_sha256(path, hex, NULL) || strcmp(hex, sha) != 0) {
            out->n_damaged++;
            trouble(out, "The photo %s is not what it was: its bytes changed.\n", name);
        }
    }
    if (!fine)
        return false;
    text_format(folder, sizeof folder, "%s/photos", lb->folder);
    if (!files_list_load(folder, &list, NULL))
        return true;
    for (size_t i = 0; i < list.n_entries; i++) {
        text_format(hex, sizeof hex, "%.64s", list.entries[i].name);
        q = logbook_db_prepare(lb, named, e);
        if (q == NULL)
            break;
        logbook_db_bind(q, 1, hex);
        if (!logbook_db_step(lb, q, &row, e))
            break;
        if (!row)
            out->n_stray++; /* told, no trouble: a file nobody names takes room only */
        logbook_db_done(q);
    }
    files_list_release(&list);
    return true;
}

/* A merge of an earlier version could leave such rows: nothing shows them until the card has the plug again. */
static bool check_off_card(struct logbook *lb, struct logbook_report *out, struct err *e)
{
    struct arena *a = arena_create();
    struct logbook_lost *lost;
    size_t n;
    bool fine = logbook_db_list_lost(lb, a, &lost, &n, e);

    for (size_t i = 0; fine && i < n; i++) {
        char cylinder[24], position[24], name[ENGINE_NAME_BYTES], banks[8] = "";
        bool said = lost[i].cylinder < 0; /* what a visit names in words is no trouble: it is of an earlier numbering */

        (void)logbook_get_text(lb, "engine", lost[i].engine, "banks", banks, sizeof banks);
        if (strcmp(lost[i].table, "engine") == 0 && banks[0] != '\0') /* a card of which nothing was written yet hides nothing */
            trouble(out, "An engine of this logbook cannot be shown: %s\n", lost[i].why);
        for (size_t k = 0; k < i && !said; k++)
            said = lost[k].cylinder == lost[i].cylinder && lost[k].position == lost[i].position && strcmp(lost[k].engine, lost[i].engine) == 0;
        if (said)
            continue;
        logbook_db_hole_name(lb, lost[i].engine, true, lost[i].cylinder, cylinder, sizeof cylinder);
        logbook_db_hole_name(lb, lost[i].engine, false, lost[i].position, position, sizeof position);
        (void)logbook_get_text(lb, "engine", lost[i].engine, "name", name, sizeof name);
        trouble(out, "Something is noted of plug %s%s%s of “%s”, which its card no longer has: it is not shown. Give the card that plug again (E on Engines).\n", cylinder, position[0] ? " " : "", position, TEXT_SHORT(name, 40));
    }
    arena_destroy(a);
    return fine;
}

bool logbook_verify(struct logbook *lb, struct logbook_report *out, struct err *e)
{
    memset(out, 0, sizeof *out);
    out->sound = true;
    return check_database(lb, out, e) && check_lost(lb, out, e) && check_unlogged(lb, out, e) && check_off_card(lb, out, e) && check_photos(lb, out, e);
}
