#include "logbook/cache.h"

#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/mem.h"
#include "base/text.h"

struct cache {
    char path[1200]; /* "" when it is kept in memory */
    sqlite3 *db;
    sqlite3_stmt *get, *put;
};

static const char schema[] = "PRAGMA journal_mode=WAL; PRAGMA synchronous=OFF;"
                             "CREATE TABLE IF NOT EXISTS picture (sha256 TEXT, kind INTEGER, version INTEGER, jpeg BLOB,"
                             " PRIMARY KEY (sha256, kind)) STRICT;";

static void stop(struct cache *c)
{
    sqlite3_finalize(c->get);
    sqlite3_finalize(c->put);
    sqlite3_close(c->db);
    c->get = c->put = NULL;
    c->db = NULL;
}

static bool start(struct cache *c, const char *path)
{
    if (sqlite3_open_v2(path, &c->db, SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE | SQLITE_OPEN_NOMUTEX, NULL) == SQLITE_OK &&
        sqlite3_busy_timeout(c->db, 1000) == SQLITE_OK && sqlite3_exec(c->db, schema, NULL, NULL, NULL) == SQLITE_OK &&
        sqlite3_prepare_v2(c->db, "SELECT jpeg FROM picture WHERE sha256 = ?1 AND kind = ?2 AND version = ?3", -1, &c->get, NULL) == SQLITE_OK &&
        sqlite3_prepare_v2(c->db, "INSERT OR REPLACE INTO picture VALUES (?1, ?2, ?3, ?4)", -1, &c->put, NULL) == SQLITE_OK)
        return true;
    stop(c);
    return false;
}

static void drop(const char *path)
{
    char name[1220];

    unlink(path);
    text_format(name, sizeof name, "%s-wal", path); /* it would be played into the new file */
    unlink(name);
    text_format(name, sizeof name, "%s-shm", path);
    unlink(name);
}

/* Damage shows only when the page is read: then the file is started afresh, too. */
static bool heal(struct cache *c, int code)
{
    code &= 0xFF;
    if ((code != SQLITE_CORRUPT && code != SQLITE_NOTADB) || c->path[0] == '\0')
        return false;
    stop(c);
    drop(c->path);
    if (start(c, c->path))
        return true;
    c->path[0] = '\0';
    return start(c, ":memory:");
}

struct cache *cache_open(const char *folder)
{
    struct cache *c = mem_alloc(1, sizeof *c);

    if (text_format(c->path, sizeof c->path, "%s/cache.db", folder)) {
        if (start(c, c->path))
            return c;
        drop(c->path); /* damaged: everything in it can be made again */
        if (start(c, c->path))
            return c;
    }
    c->path[0] = '\0';
    (void)start(c, ":memory:");
    return c;
}

void cache_close(struct cache *c)
{
    if (c == NULL)
        return;
    stop(c);
    free(c);
}

bool cache_get(struct cache *c, const char *sha256, enum cache_kind kind, int version, unsigned char **jpeg, size_t *n_bytes)
{
    bool found = false;
    int code;

    if (c->get == NULL)
        return false;
    sqlite3_bind_text(c->get, 1, sha256, -1, SQLITE_STATIC);
    sqlite3_bind_int(c->get, 2, (int)kind);
    sqlite3_bind_int(c->get, 3, version);
    code = sqlite3_step(c->get);
    if (code == SQLITE_ROW) {
        *n_bytes = (size_t)sqlite3_column_bytes(c->get, 0);
        *jpeg = mem_try(*n_bytes, 1);
        found = *jpeg != NULL && *n_bytes > 0;
        if (found)
            memcpy(*jpeg, sqlite3_column_blob(c->get, 0), *n_bytes);
    }
    sqlite3_reset(c->get);
    (void)heal(c, code); /* the picture is not there either way */
    return found;
}

void cache_put(struct cache *c, const char *sha256, enum cache_kind kind, int version, const unsigned char *jpeg, size_t n_bytes)
{
    for (int i = 0; i < 2 && c->put != NULL; i++) {
        int code;

        sqlite3_bind_text(c->put, 1, sha256, -1, SQLITE_STATIC);
        sqlite3_bind_int(c->put, 2, (int)kind);
        sqlite3_bind_int(c->put, 3, version);
        sqlite3_bind_blob64(c->put, 4, jpeg, n_bytes, SQLITE_STATIC);
        code = sqlite3_step(c->put); /* a picture not kept is made again */
        sqlite3_reset(c->put);
        if (!heal(c, code))
            return;
    }
}
