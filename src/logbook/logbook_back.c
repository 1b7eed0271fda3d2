/* logbook_back.c - a merge that can be taken back. What the edit log appends goes on to every copy it is merged with: a
 * merge undone there would take out in the other copy, too, what was written in it. So the logbook as it was is kept
 * beside it, and put back whole as long as nothing changed since stands: no edit is lost that was not undone, and it can be merged again. */
#include "logbook/logbook_conflict.h"

#include <limits.h>
#include <stdlib.h>
#include <string.h>

#include "base/files.h"
#include "base/mem.h"
#include "base/text.h"

#define NOTED "merged" /* in meta, a line for each: kept, other, day, last change before and after, the other's path (since version 9: may be missing) */
#define BACK "merge taken back" /* the other's path, and the last change then */
#define NOTE_BYTES (FILES_PATH_BYTES + 400)

static bool read_number(const char *s, int64_t *to)
{
    char *end;

    *to = strtoll(s, &end, 10);
    return end != s && *to >= 0;
}

static bool read_note(struct logbook *lb, struct logbook_last_merge *out, int64_t *before, int64_t *after)
{
    char noted[NOTE_BYTES], *lines[6] = {noted};

    if (!logbook_db_read_meta(lb, NOTED, noted, sizeof noted, NULL) || noted[0] == '\0')
        return false;
    for (int i = 1; i < 5; i++) {
        lines[i] = strchr(lines[i - 1], '\n');
        if (lines[i] == NULL)
            return false;
        *lines[i]++ = '\0';
    }
    lines[5] = strchr(lines[4], '\n');
    if (lines[5] != NULL)
        text_copy(out->path, sizeof out->path, lines[5] + 1);
    text_copy(out->kept, sizeof out->kept, lines[0]);
    text_copy(out->other, sizeof out->other, lines[1]);
    text_copy(out->day, sizeof out->day, lines[2]);
    return strchr(out->kept, '/') == NULL && read_number(lines[3], before) && read_number(lines[4], after);
}

static bool count_behind(struct logbook *lb, const char *sql, int64_t after, int *n)
{
    sqlite3_stmt *q = logbook_db_prepare(lb, sql, NULL);
    bool row;

    if (q == NULL)
        return false;
    sqlite3_bind_int64(q, 1, after);
    if (!logbook_db_step(lb, q, &row, NULL))
        return false;
    *n = row ? sqlite3_column_int(q, 0) : 0;
    logbook_db_done(q);
    return true;
}

/* Changes behind `after` that stand: those done and not undone, and undoings of what was done before. Where none is left the
 * fields are asked as well, since a step that had begun before is undone with what came behind. */
static bool count_standing(struct logbook *lb, int64_t after, int *n)
{
    static const char changes[] = "SELECT (SELECT count(*) FROM change c LEFT JOIN undo u ON u.change = c.seq WHERE c.seq > ?1 AND c.kind IN ('do', 'settle') AND coalesce(u.undone, 0) = 0)"
                                  " + (SELECT count(*) FROM (SELECT 1 FROM change r JOIN change x ON x.id = r.reverses WHERE r.seq > ?1 AND x.seq <= ?1 GROUP BY x.seq HAVING count(*) % 2 = 1))";
    static const char fields[] = "SELECT count(*) FROM (SELECT min(seq) AS first, max(seq) AS last FROM edit WHERE change > ?1 GROUP BY tbl, row, col) f"
                                 " JOIN edit a ON a.seq = f.first JOIN edit b ON b.seq = f.last WHERE a.old IS NOT b.new OR typeof(a.old) <> typeof(b.new)";
    int n_fields = 0;

    if (!count_behind(lb, changes, after, n) || (*n == 0 && !count_behind(lb, fields, after, &n_fields)))
        return false;
    *n += n_fields > 0;
    return true;
}

bool logbook_last_merge(struct logbook *lb, struct logbook_last_merge *out)
{
    int64_t before, after;
    char path[FILES_PATH_BYTES];

    memset(out, 0, sizeof *out);
    if (!read_note(lb, out, &before, &after) || !count_standing(lb, after, &out->n_since))
        return false;
    if (!lb->can_write)
        text_copy(out->why_not, sizeof out->why_not, logbook_why_read_only(lb));
    else if (out->n_since > 0)
        text_format(out->why_not, sizeof out->why_not, "It cannot be taken back any more: %d change%s made since, which would be lost. The logbook as it was before stays in its folder as %s.", out->n_since,
                    out->n_since == 1 ? " was" : "s were", out->kept);
    else if (!files_join(path, sizeof path, lb->folder, out->kept) || !files_exists(path))
        text_format(out->why_not, sizeof out->why_not, "It cannot be taken back: %s, the logbook as it was before, is not in its folder any more.", out->kept);
    return true;
}

bool logbook_merge_keeping(struct logbook *lb, const char *folder, const char *day, const struct logbook_watch *watch, struct logbook_merged *out, char kept[LOGBOOK_KEPT_BYTES], struct err *e)
{
    char path[FILES_PATH_BYTES], note[NOTE_BYTES], full[PATH_MAX];
    int64_t before;

    for (int i = 1;; i++) {
        if (i == 1)
            text_format(kept, LOGBOOK_KEPT_BYTES, "before-merge-%s.db", day);
        else
            text_format(kept, LOGBOOK_KEPT_BYTES, "before-merge-%s-%d.db", day, i);
        if (!files_join(path, sizeof path, lb->folder, kept))
            return err_set(e, ERR_LIMIT, "The path of %s is too long.", lb->folder);
        if (!files_exists(path))
            break;
    }
    if (!lb->can_write)
        return err_set(e, ERR_READONLY, "Nothing was changed. %s", logbook_why_read_only(lb));
    if (!logbook_backup(lb, path, e))
        return false;
    before = logbook_db_pragma(lb, LOGBOOK_LAST_CHANGE);
    if (!logbook_merge(lb, folder, watch, out, e)) {
        (void)files_remove(path, NULL);
        return false;
    }
    if (out->n_changes == 0) { /* it is as it was */
        (void)files_remove(path, NULL);
        kept[0] = '\0';
        return true;
    }
    text_format(note, sizeof note, "%s\n%s\n%s\n%lld\n%lld\n%s", kept, TEXT_SHORT(files_name(folder), 100), day, (long long)before, (long long)logbook_db_pragma(lb, LOGBOOK_LAST_CHANGE),
                realpath(folder, full) != NULL && strchr(full, '\n') == NULL ? full : "");
    return logbook_db_write_meta(lb, NOTED, note, e);
}

/* The copy is a logbook of this version, whole, and as it was just before the merge. */
static bool check_kept(struct logbook *kept, const char *path, int64_t before, struct err *e)
{
    if (logbook_db_pragma(kept, "PRAGMA application_id") == LOGBOOK_APPLICATION_ID && logbook_db_pragma(kept, "PRAGMA user_version") == LOGBOOK_VERSION &&
        logbook_db_pragma(kept, LOGBOOK_LAST_CHANGE) == before && logbook_db_pragma(kept, "SELECT count(*) FROM pragma_quick_check WHERE quick_check = 'ok'") == 1)
        return true;
    return err_set(e, ERR_FORMAT, "%s is not the logbook as it was before the merge: another version, damaged or written on. Nothing was changed.", path);
}

/* The last change as another handle sees it, while this one is held. */
static int64_t last_change_now(const struct logbook *lb)
{
    struct logbook beside = {.lock_fd = -1};
    char path[FILES_PATH_BYTES];
    int64_t last = -1;

    if (files_join(path, sizeof path, lb->folder, "logbook.db") && sqlite3_open_v2(path, &beside.db, SQLITE_OPEN_READWRITE | SQLITE_OPEN_NOMUTEX, NULL) == SQLITE_OK)
        last = logbook_db_pragma(&beside, LOGBOOK_LAST_CHANGE);
    sqlite3_close(beside.db);
    return last;
}

/* The whole database in one transaction of SQLite's: a stop in between leaves it as it is. */
static bool put_back(struct logbook *lb, struct logbook *kept, int64_t last, struct err *e)
{
    sqlite3_backup *b = sqlite3_backup_init(lb->db, "main", kept->db, "main");
    int code, finished;

    if (b == NULL)
        return logbook_db_error(lb, sqlite3_errcode(lb->db), "Taking the merge back", e);
    code = sqlite3_backup_step(b, 0); /* nothing yet: from here on nobody else writes */
    if (code == SQLITE_OK && last_change_now(lb) != last) {
        sqlite3_backup_finish(b);
        return err_set(e, ERR_BUSY, "Something was changed just now, so the merge cannot be taken back. Nothing else was done.");
    }
    if (code == SQLITE_OK)
        code = sqlite3_backup_step(b, -1);
    finished = sqlite3_backup_finish(b);
    code = code == SQLITE_DONE ? finished : code;
    return code == SQLITE_OK || logbook_db_error(lb, code, "Taking the merge back", e);
}

/* What was done and undone since may be known to another copy by now: this one goes on as a new device, which gives none of
 * its numbers away twice. */
static bool write_as_another(struct logbook *lb, struct err *e)
{
    char own[UUID_BYTES];

    return logbook_db_read_meta(lb, "device", own, sizeof own, e) && logbook_db_write_meta(lb, LOGBOOK_FORMER, own, e) && logbook_db_write_meta(lb, "device", "", e);
}

bool logbook_take_merge_back(struct logbook *lb, struct err *e)
{
    struct logbook_last_merge last;
    struct logbook kept = {.lock_fd = -1};
    char path[FILES_PATH_BYTES], note[NOTE_BYTES];
    int64_t before, after, now = logbook_db_pragma(lb, LOGBOOK_LAST_CHANGE);
    bool fine;

    if (!logbook_last_merge(lb, &last) || !read_note(lb, &last, &before, &after))
        return err_set(e, ERR_NOTFOUND, "No merge is noted in this logbook that could be taken back.");
    if (last.why_not[0] != '\0')
        return err_set(e, ERR_BADARG, "%s", last.why_not);
    files_join(path, sizeof path, lb->folder, last.kept);
    if (sqlite3_open_v2(path, &kept.db, SQLITE_OPEN_READONLY | SQLITE_OPEN_NOMUTEX, NULL) != SQLITE_OK) {
        err_set(e, ERR_IO, "%s cannot be read: %s. Nothing was changed.", path, sqlite3_errmsg(kept.db));
        sqlite3_close(kept.db);
        return false;
    }
    logbook_db_forget_statements(lb);
    fine = check_kept(&kept, path, before, e) && put_back(lb, &kept, now, e) && (now == after || write_as_another(lb, e));
    sqlite3_close(kept.db);
    text_format(note, sizeof note, "%s\n%lld", last.path, (long long)before);
    if (fine && last.path[0] != '\0')
        (void)logbook_db_write_meta(lb, BACK, note, NULL); /* without it there is only no redo */
    lb->data_version = logbook_db_pragma(lb, "PRAGMA data_version");
    lb->seen = logbook_db_pragma(lb, LOGBOOK_LAST_CHANGE);
    return fine && logbook_db_load_labels(lb, e);
}

bool logbook_merge_to_redo(struct logbook *lb, char *folder, size_t n_room)
{
    char noted[NOTE_BYTES], *line;
    int64_t then;

    folder[0] = '\0';
    if (!lb->can_write || !logbook_db_read_meta(lb, BACK, noted, sizeof noted, NULL))
        return false;
    line = strchr(noted, '\n');
    if (line == NULL)
        return false;
    *line++ = '\0';
    if (!read_number(line, &then) || then != logbook_db_pragma(lb, LOGBOOK_LAST_CHANGE) || !files_is_folder(noted))
        return false;
    return text_copy(folder, n_room, noted);
}
