/* logbook.c - making, opening and closing; older versions are brought up to date here. */
#include "logbook/logbook_db.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/files.h"
#include "base/mem.h"
#include "base/text.h"

bool (*logbook_db_on_network)(const char *path, char *name, size_t n_room) = files_on_network;

static bool db_path(const char *folder, char *to, size_t n_room, struct err *e)
{
    return files_join(to, n_room, folder, "logbook.db") ||
           err_set(e, ERR_BADARG, "The path %s is too long.", TEXT_SHORT(folder, 80));
}

/* Room for what a large change touches (rows are named by hashes, so it touches pages everywhere); taken
 * only as it fills. Below 0: KiB. */
#define CACHE_KIB "-65536"

static bool set_up(struct logbook *lb, struct err *e)
{
    sqlite3_busy_timeout(lb->db, 5000);
    sqlite3_extended_result_codes(lb->db, 1);
    if (!logbook_db_exec(lb, "PRAGMA foreign_keys=ON; PRAGMA trusted_schema=OFF;", "Opening the logbook", e))
        return false;
    if (logbook_db_pragma(lb, "PRAGMA foreign_keys") != 1)
        return err_set(e, ERR_IO, "This SQLite was built without foreign keys; the logbook is not opened.");
    /* FULL: an acknowledged edit is on the disk, also when the power goes. */
    return !lb->can_write ||
           logbook_db_exec(lb, "PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL; PRAGMA cache_size=" CACHE_KIB ";", "Opening the logbook", e);
}

static bool refuse_network(const char *folder, struct err *e)
{
    char kind[32];

    if (logbook_db_on_network(folder, kind, sizeof kind))
        return err_set(e, ERR_READONLY,
                       "%s lies on a network file system (%s), where SQLite cannot keep a database safe. "
                       "Put the logbook on this machine's own disk, and merge copies instead.",
                       folder, kind);
    return true;
}

/* A database of ours and what SQLite keeps beside it. */
static void drop_database(const char *path)
{
    static const char *const endings[] = {"", "-wal", "-shm", "-journal"};
    char name[1200];

    for (size_t i = 0; i < sizeof endings / sizeof endings[0]; i++)
        if (text_format(name, sizeof name, "%s%s", path, endings[i]))
            unlink(name);
}

/* The name is on the disk, too; where a folder cannot be flushed, the system does it by and by. */
static void flush_folder(const char *folder)
{
    int fd = open(folder, O_RDONLY | O_CLOEXEC);

    if (fd >= 0) {
        (void)fsync(fd);
        close(fd);
    }
}

static bool refuse_second(const char *folder, struct err *e)
{
    return err_set(e, ERR_BADARG, "%s holds a logbook already. Open it, or name another folder.", folder);
}

bool logbook_create(const char *folder, struct err *e)
{
    char path[1100], beside[1140], photos[1100], sql[96];
    struct logbook lb = {.can_write = true, .lock_fd = -1};
    int code;
    bool fine;

    if (!text_copy(lb.folder, sizeof lb.folder, folder))
        return err_set(e, ERR_BADARG, "The path %s is too long.", TEXT_SHORT(folder, 80));
    if (!db_path(folder, path, sizeof path, e) || !files_make_folder(folder, e) || !refuse_network(folder, e))
        return false;
    if (files_exists(path))
        return refuse_second(folder, e);
    if (!files_join(photos, sizeof photos, folder, "photos") || !files_make_folder(photos, e))
        return false;
    /* Made beside and renamed when whole: a stop in between leaves no logbook, not half of one. */
    text_format(beside, sizeof beside, "%s.%ld.new", path, (long)getpid());
    drop_database(beside);
    code = sqlite3_open_v2(beside, &lb.db, SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE | SQLITE_OPEN_NOMUTEX, NULL);
    if (code != SQLITE_OK) {
        logbook_db_error(&lb, code, "Making the logbook", e);
        sqlite3_close(lb.db);
        return false;
    }
    snprintf(sql, sizeof sql, "PRAGMA application_id=%d; PRAGMA user_version=%d;", LOGBOOK_APPLICATION_ID, LOGBOOK_VERSION);
    fine = set_up(&lb, e) && logbook_db_exec(&lb, "BEGIN IMMEDIATE", "Making the logbook", e) &&
           logbook_db_schema(lb.db, e) && logbook_db_exec(&lb, sql, "Making the logbook", e) &&
           logbook_db_exec(&lb, "COMMIT", "Making the logbook", e);
    sqlite3_close(lb.db); /* takes its journal in */
    if (fine && link(beside, path) != 0) { /* unlike a rename, never over the logbook another one just made */
        if (errno == EEXIST)
            fine = refuse_second(folder, e);
        else if (rename(beside, path) != 0) /* a file system without links */
            fine = err_set_errno(e, ERR_IO, "The logbook %s cannot be made", path);
    }
    drop_database(beside);
    if (fine)
        flush_folder(folder);
    return fine;
}

/* From each version to the next. */
static const char *const steps[LOGBOOK_VERSION - 1] = {
    "ALTER TABLE undo ADD COLUMN step INTEGER", /* changes that are undone together */
    "ALTER TABLE photo ADD COLUMN lean_mdeg INTEGER", /* photos turned by less than a quarter */
    /* where a photo shows its plug */
    "CREATE TABLE crop (id TEXT PRIMARY KEY, gone INTEGER NOT NULL DEFAULT 1 CHECK (gone IN (0, 1)),"
    " photo TEXT REFERENCES photo(id) DEFERRABLE INITIALLY DEFERRED, view TEXT, x REAL, y REAL, turn_deg REAL,"
    " px_per_mm REAL, by_eye INTEGER) STRICT; CREATE INDEX crop_photo ON crop(photo)",
    /* gaps measured in photos, beside the feeler gauge's */
    "ALTER TABLE reading ADD COLUMN gap_photo_um INTEGER; ALTER TABLE reading ADD COLUMN gap_photo_pm_um INTEGER; ALTER TABLE reading ADD COLUMN gap_trusted TEXT",
    /* copies that are merged */
    "CREATE TABLE conflict (tbl TEXT NOT NULL, row TEXT NOT NULL, col TEXT NOT NULL, PRIMARY KEY (row, col, tbl)) STRICT, WITHOUT ROWID",
    "ALTER TABLE visit ADD COLUMN complaint_words TEXT", /* a complaint in own words */
    "ALTER TABLE engine ADD COLUMN plug_type TEXT", /* the plug the maker's book names */
    "ALTER TABLE reading ADD COLUMN turned_out INTEGER", /* what turning by hand answered */
    /* how the fuel comes in; plugs that stay in though they are scrap */
    "ALTER TABLE engine ADD COLUMN fuel_system TEXT; ALTER TABLE reading ADD COLUMN kept INTEGER",
    "SELECT 1", /* rows name holes: as the places, where nobody has numbered anew since */
};

bool logbook_db_migrate(struct logbook *lb, const char *const *list, int n_steps, struct err *e)
{
    int64_t version = logbook_db_pragma(lb, "PRAGMA user_version");
    char backup[1300], sql[64];

    if (version >= n_steps + 1)
        return true;
    text_format(backup, sizeof backup, "%s/logbook-version-%d.db", lb->folder, (int)version);
    if (!files_exists(backup) && !logbook_backup(lb, backup, e))
        return err_wrap(e, "Keeping a copy before bringing the logbook up to date");
    for (; version < n_steps + 1; version++) {
        snprintf(sql, sizeof sql, "PRAGMA user_version=%d", (int)version + 1);
        if (!logbook_db_exec(lb, "BEGIN IMMEDIATE", "Bringing the logbook up to date", e))
            return false;
        if (!logbook_db_exec(lb, list[version - 1], "Bringing the logbook up to date", e) ||
            !logbook_db_exec(lb, sql, "Bringing the logbook up to date", e) ||
            !logbook_db_exec(lb, "COMMIT", "Bringing the logbook up to date", e)) {
            sqlite3_exec(lb->db, "ROLLBACK", NULL, NULL, NULL);
            return false;
        }
    }
    return true;
}

static bool check_version(struct logbook *lb, struct err *e)
{
    int64_t id = logbook_db_pragma(lb, "PRAGMA application_id"), version;

    if (id < 0)
        return logbook_db_error(lb, sqlite3_errcode(lb->db), "Opening the logbook", e);
    version = logbook_db_pragma(lb, "PRAGMA user_version");
    if (id != LOGBOOK_APPLICATION_ID)
        return err_set(e, ERR_FORMAT,
                       "%s/logbook.db is a database, but not a Sootbook logbook. Name the folder of a logbook.",
                       lb->folder);
    if (version > LOGBOOK_VERSION)
        return err_set(e, ERR_VERSION,
                       "The logbook %s was written by a newer Sootbook (version %d; this one knows %d). "
                       "Update Sootbook; nothing was changed.",
                       lb->folder, (int)version, LOGBOOK_VERSION);
    if (version < LOGBOOK_VERSION && !lb->can_write)
        return err_set(e, ERR_OLDER,
                       "The logbook %s is of an older version and must be brought up to date first: open it in the window once, or look at it with "
                       "“sootbook verify”. A copy of it as it was is kept.",
                       lb->folder);
    return logbook_db_migrate(lb, steps, LOGBOOK_VERSION - 1, e);
}

static void let_window_lock_go(struct logbook *lb)
{
    if (lb->lock_fd >= 0)
        close(lb->lock_fd);
    lb->lock_fd = -1;
}

static bool take_window_lock(struct logbook *lb)
{
    char path[1100];

    text_format(path, sizeof path, "%s/window.lock", lb->folder);
    lb->lock_fd = open(path, O_RDWR | O_CREAT | O_CLOEXEC, 0666);
    if (lb->lock_fd >= 0 && flock(lb->lock_fd, LOCK_EX | LOCK_NB) == 0)
        return true;
    lb->comes_second = lb->lock_fd >= 0;
    text_copy(lb->why, sizeof lb->why, lb->comes_second ? "Reading only until the other window of this logbook is closed." : "Reading only: no permission to write in the folder.");
    let_window_lock_go(lb);
    return false;
}

bool logbook_comes_first(struct logbook *lb)
{
    if (!lb->comes_second || sqlite3_db_readonly(lb->db, "main") != 0 || !take_window_lock(lb))
        return false;
    lb->can_write = true;
    if (!set_up(lb, NULL)) {
        lb->can_write = false;
        let_window_lock_go(lb);
        return false;
    }
    lb->comes_second = false;
    lb->why[0] = '\0';
    logbook_db_index_anew(lb);
    return true;
}

/* With no journal beside it nobody is writing: the database can be read as it stands. */
static bool has_journal(const char *path)
{
    char journal[1200];
    struct stat st;

    return text_format(journal, sizeof journal, "%s-wal", path) && stat(journal, &st) == 0 && st.st_size > 0;
}

static int open_as_it_stands(struct logbook *lb, const char *path)
{
    struct text uri = {0};
    int code;

    text_add(&uri, path[0] == '/' ? "file://" : "file:");
    for (const char *c = path; *c != '\0'; c++)
        if (strchr("%?#", *c) != NULL)
            text_addf(&uri, "%%%02X", (unsigned)*c);
        else
            text_add_char(&uri, *c);
    text_add(&uri, "?immutable=1");
    code = sqlite3_open_v2(text_get(&uri), &lb->db, SQLITE_OPEN_READONLY | SQLITE_OPEN_NOMUTEX | SQLITE_OPEN_URI, NULL);
    text_release(&uri);
    return code;
}

/* WAL needs its shared file also for reading, so the database is opened for writing where that is
 * possible; where the file cannot be made, in a folder one may not write or on a full disk, without. */
static int open_database(struct logbook *lb, const char *path)
{
    bool may_write = access(path, W_OK) == 0 && access(lb->folder, W_OK) == 0;
    int code;

    if (!may_write && !has_journal(path))
        return open_as_it_stands(lb, path);
    code = sqlite3_open_v2(path, &lb->db, (may_write ? SQLITE_OPEN_READWRITE : SQLITE_OPEN_READONLY) | SQLITE_OPEN_NOMUTEX, NULL);
    if (code != SQLITE_OK || lb->can_write || has_journal(path) || logbook_db_pragma(lb, "PRAGMA schema_version") >= 0)
        return code;
    code = sqlite3_errcode(lb->db) & 0xFF;
    if (code != SQLITE_IOERR && code != SQLITE_CANTOPEN && code != SQLITE_FULL)
        return SQLITE_OK; /* what is wrong is told when it is looked at */
    sqlite3_close(lb->db);
    lb->db = NULL;
    return open_as_it_stands(lb, path);
}

struct logbook *logbook_open(const char *folder, enum logbook_mode mode, struct err *e)
{
    struct logbook *lb;
    char path[1100];
    struct err why;
    int code;

    if (!db_path(folder, path, sizeof path, e))
        return NULL;
    if (!files_is_folder(folder)) {
        if (files_exists(folder))
            err_set(e, ERR_BADARG, "%s is a file; a logbook is a folder that holds logbook.db.", folder);
        else
            err_set(e, ERR_NOTFOUND, "There is no folder %s, so no logbook either. Name the folder of a logbook.", folder);
        return NULL;
    }
    if (!files_exists(path)) {
        err_set(e, ERR_NOTFOUND, "The folder %s holds no logbook (no logbook.db).", folder);
        return NULL;
    }
    lb = mem_alloc(1, sizeof *lb);
    lb->lock_fd = -1;
    lb->can_write = mode != LOGBOOK_READ;
    text_copy(lb->folder, sizeof lb->folder, folder);
    if (lb->can_write && !refuse_network(folder, &why)) {
        if (mode == LOGBOOK_WRITE) {
            if (e != NULL)
                *e = why;
            logbook_close(lb);
            return NULL;
        }
        lb->can_write = false;
        text_copy(lb->why, sizeof lb->why, "Reading only: the logbook lies on a network file system.");
    }
    if (lb->can_write && (access(path, W_OK) != 0 || access(folder, W_OK) != 0)) {
        if (mode == LOGBOOK_WRITE) {
            err_set(e, ERR_READONLY, "The logbook %s cannot be written: no permission. Check who owns the folder.", folder);
            logbook_close(lb);
            return NULL;
        }
        lb->can_write = false;
        text_copy(lb->why, sizeof lb->why, "Reading only: no permission to write the logbook.");
    }
    if (mode == LOGBOOK_WINDOW && lb->can_write)
        lb->can_write = take_window_lock(lb);
    code = open_database(lb, path);
    if (code != SQLITE_OK) {
        logbook_db_error(lb, code, "Opening the logbook", e);
        logbook_close(lb);
        return NULL;
    }
    logbook_db_functions(lb);
    if (!check_version(lb, e) || !set_up(lb, e) || !logbook_db_load_labels(lb, e)) {
        logbook_close(lb);
        return NULL;
    }
    logbook_db_index_anew(lb);
    lb->data_version = logbook_db_pragma(lb, "PRAGMA data_version");
    lb->seen = logbook_db_pragma(lb, LOGBOOK_LAST_CHANGE);
    return lb;
}

struct logbook *logbook_open_updated(const char *folder, bool *updated, struct err *e)
{
    struct err why = {.code = ERR_NONE};
    struct logbook *lb = logbook_open(folder, LOGBOOK_READ, &why);

    *updated = false;
    if (lb == NULL && why.code == ERR_OLDER) {
        lb = logbook_open(folder, LOGBOOK_WRITE, &why);
        if (lb == NULL) {
            err_set(e, why.code, "The logbook %s is of an older version and must be brought up to date first, which fails: %s", folder, why.text);
            return NULL;
        }
        logbook_close(lb);
        *updated = true;
        lb = logbook_open(folder, LOGBOOK_READ, &why);
    }
    if (lb == NULL && e != NULL)
        *e = why;
    return lb;
}

void logbook_close(struct logbook *lb)
{
    if (lb == NULL)
        return;
    logbook_rollback(lb);
    logbook_db_forget_statements(lb);
    sqlite3_close(lb->db);
    let_window_lock_go(lb);
    free(lb->touched);
    free(lb->made_set);
    free(lb);
}

bool logbook_can_write(const struct logbook *lb)
{
    return lb->can_write;
}

const char *logbook_why_read_only(const struct logbook *lb)
{
    return lb->can_write ? "" : lb->why[0] ? lb->why : "The logbook was opened for reading only.";
}

const char *logbook_folder(const struct logbook *lb)
{
    return lb->folder;
}

bool logbook_changed_outside(struct logbook *lb)
{
    int64_t now = logbook_db_pragma(lb, "PRAGMA data_version"), last;
    struct err why;

    if (now == lb->data_version)
        return false;
    lb->data_version = now;
    last = logbook_db_pragma(lb, LOGBOOK_LAST_CHANGE);
    if (last == lb->seen)
        return false; /* derived words were kept, no edit was made */
    lb->seen = last;
    (void)logbook_db_load_labels(lb, &why); /* a trouble shows at the next edit */
    return true;
}
