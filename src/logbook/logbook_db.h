/* logbook_db.h - what the parts of the logbook share. Not for callers. */
#ifndef LOGBOOK_LOGBOOK_DB_H
#define LOGBOOK_LOGBOOK_DB_H

#include <sqlite3.h>
#include "base/err.h"
#include "base/text.h"
#include "base/units.h"
#include "logbook/logbook.h"

#define LOGBOOK_APPLICATION_ID 0x536F6F74 /* "Soot": visible to `file` and PRAGMA application_id */
#define LOGBOOK_VERSION 11
#define LOGBOOK_MAX_STATEMENTS 128
#define LOGBOOK_LABEL_BYTES 96

struct cached {
    const char *sql; /* its address is the key: statements are static texts */
    sqlite3_stmt *stmt;
};

/* A row whose words for the search have to be taken anew. */
struct touched {
    const char *table;
    char row[UUID_BYTES];
};

struct logbook {
    sqlite3 *db;
    char folder[1024];
    bool can_write;
    char why[200];
    struct unit_choice units; /* values in conflict are told in */
    int lock_fd;
    bool comes_second; /* another window holds the lock */
    int64_t data_version;
    int64_t seen; /* the last change of the log this copy knows of, its own and others' */

    struct cached cached[LOGBOOK_MAX_STATEMENTS];
    int n_cached;
    sqlite3_stmt **get, **put; /* one for each column, made at first use */

    char device[UUID_BYTES]; /* who writes; known inside a change */
    int64_t counter, clock;
    bool in_change, failed;
    struct err trouble; /* the first one of the change */
    char label[LOGBOOK_LABEL_BYTES];
    const char *kind;
    char reverses[UUID_BYTES];
    int64_t change; /* its seq once the first edit is written, else 0 */
    int64_t join, join_on, step, undo_step; /* 0 none */
    struct touched *touched;
    size_t n_touched, touched_room;
    struct touched made; /* row that came into being last in this change, table NULL none */
    bool *made_set;      /* of its columns: set since; the others hold nothing */
    char undo_label[LOGBOOK_LABEL_BYTES], redo_label[LOGBOOK_LABEL_BYTES];
};

/* ---- SQLite ---- */

/* Turns an SQLite result into words: what was tried, cause, what to do. Always false. */
bool logbook_db_error(struct logbook *lb, int code, const char *doing, struct err *e);
bool logbook_db_exec(struct logbook *lb, const char *sql, const char *doing, struct err *e);
/* A statement kept for reuse, reset and unbound; NULL with *e set. sql must be static text. */
sqlite3_stmt *logbook_db_prepare(struct logbook *lb, const char *sql, struct err *e);
void logbook_db_done(sqlite3_stmt *stmt); /* resets and unbinds; NULL is fine */
/* Steps: true with *row telling whether there is one; on failure resets. */
bool logbook_db_step(struct logbook *lb, sqlite3_stmt *stmt, bool *row, struct err *e);
/* For loops over rows: true while there is one. At the end and on failure it resets the statement and
 * *fine tells which of both it was. */
bool logbook_db_next(struct logbook *lb, sqlite3_stmt *stmt, bool *fine, struct err *e);
/* Steps a statement that gives no rows, and resets it. */
bool logbook_db_run(struct logbook *lb, sqlite3_stmt *stmt, struct err *e);
void logbook_db_bind(sqlite3_stmt *stmt, int i, const char *text); /* NULL binds NULL; text must outlive the step */
void logbook_db_text(sqlite3_stmt *stmt, int column, char *to, size_t n_room); /* NULL: "" */
struct maybe logbook_db_maybe(sqlite3_stmt *stmt, int column, double factor); /* value * factor */
#define LOGBOOK_LAST_CHANGE "SELECT coalesce(max(seq), 0) FROM change"
int64_t logbook_db_pragma(struct logbook *lb, const char *sql); /* -1 when it fails */
/* Every row of `sql` as an item in the arena; owner is bound to ?1 unless NULL. read() fills a zeroed item.
 * On failure *items is NULL and *n 0. */
typedef bool logbook_db_reader(sqlite3_stmt *stmt, void *item, struct err *e);
bool logbook_db_list(struct logbook *lb, const char *sql, const char *owner, logbook_db_reader *read, size_t n_item_bytes,
                     struct arena *a, void **items, size_t *n, struct err *e);

/* ---- schema ---- */
#define LOGBOOK_N_TABLES_MAX 24
bool logbook_db_schema(sqlite3 *db, struct err *e); /* makes the tables of LOGBOOK_VERSION */
int logbook_db_column(const char *table, const char *column); /* index into logbook_columns(), -1 */
const char *logbook_db_table(const char *table); /* the table's own static name, NULL when unknown */
/* steps[i] takes version i + 1 to i + 2, up to version n_steps + 1; a copy of the database is kept as
 * logbook-version-N.db before. Each step is a transaction of its own. */
bool logbook_db_migrate(struct logbook *lb, const char *const *steps, int n_steps, struct err *e);
/* For tests: what files_on_network() would say. */
extern bool (*logbook_db_on_network)(const char *path, char *name, size_t n_room);

/* ---- edits ---- */
bool logbook_db_begin(struct logbook *lb, const char *label, const char *kind, const char *reverses, struct err *e);
bool logbook_db_fail(struct logbook *lb, struct err *e); /* remembers *e as the trouble of the change; false */
bool logbook_db_load_labels(struct logbook *lb, struct err *e);
/* Sets a column to the value of a protected copy; also when it is the same, if force. */
bool logbook_db_put(struct logbook *lb, int column, const char *row, sqlite3_value *v, bool force, struct err *e);
/* Writes the column and nothing else: for edits that are in the log already. */
bool logbook_db_store(struct logbook *lb, int column, const char *row, sqlite3_value *v, struct err *e);
/* At the end of a change: fields in conflict that it wrote are chosen, those whose choice it takes back are not. */
bool logbook_db_see_conflicts(struct logbook *lb, struct err *e);
/* The statement that reads a column, on the row; NULL on failure, the caller calls logbook_db_done(). */
sqlite3_stmt *logbook_db_peek(struct logbook *lb, int column, const char *row, bool *there, struct err *e);
void logbook_db_touch(struct logbook *lb, const char *table, const char *row);
void logbook_db_forget_statements(struct logbook *lb); /* finalises all */

/* Shorter names for the writers: whether "not said" clears. */
bool logbook_db_put_text(struct logbook *lb, const char *table, const char *row, const char *column, const char *s, struct err *e); /* "" clears */
bool logbook_db_put_maybe(struct logbook *lb, const char *table, const char *row, const char *column, struct maybe m, double factor, struct err *e); /* whole */
/* A new row (*sort 0) comes last among those of its owner; sql gives the highest so far. */
bool logbook_db_next_sort(struct logbook *lb, const char *sql, const char *owner, int64_t *sort, struct err *e);
bool logbook_db_put_index(struct logbook *lb, const char *table, const char *row, const char *column, int v, struct err *e); /* < 0 clears */

/* ---- search ---- */
bool logbook_db_index_touched(struct logbook *lb, struct err *e);
/* Once for a logbook that was indexed in other words than it would be now; where it cannot be written just now, another time. */
void logbook_db_index_anew(struct logbook *lb);

/* ---- visits and engines ---- */
/* The one order of an engine's visits; v is "" or the table's name with its dot. One without a date is just being written: it
 * is the latest, but for those whose date lies ahead, which stand behind all others: they say nothing of today. */
#define LOGBOOK_OLDEST_FIRST(v) " ORDER BY is_ahead(" v "date), " v "date IS NULL, " v "date, " v "id"
/* A step s of the visit v that is open behind its visit's end: what each kind of step does stands in job-steps.csv. */
#define LOGBOOK_STEP_STAYS_OPEN                                                                                        \
    "(s.state <> 'done' AND (s.state IN ('waiting', 'later') OR step_carry(s.source) = 'stays' OR"                     \
    " (step_carry(s.source) = 'until-run' AND NOT EXISTS (SELECT 1 FROM visit x WHERE x.engine = v.engine AND"         \
    "  x.gone = 0 AND x.id <> v.id AND NOT is_ahead(x.date) AND ((x.date > v.date AND x.last_run IN ('idle', 'load')) OR (x.date >= v.date AND x.odometer_m > v.odometer_m))))))"
void logbook_db_functions(struct logbook *lb); /* gives SQL step_carry(source), "stays", "until-run" or "over", and is_ahead(date), 1 behind today */
#define LOGBOOK_LATEST_FIRST(v) " ORDER BY is_ahead(" v "date), " v "date IS NULL DESC, " v "date DESC, " v "id DESC"
/* Writes what differs between two states of a visit, each told in the words of its engine. */
bool logbook_db_change_visit(struct logbook *lb, const char *id, const struct engine *was_en, const struct visit *was,
                             const struct engine *en, const struct visit *v, struct err *e);
/* The visit and its work done, without readings. */
bool logbook_db_load_visit(struct logbook *lb, const char *id, const struct engine *en, struct visit *v, struct err *e);
/* Notes with the readings of a visit what merged copies say otherwise of whether the engine may be started. */
bool logbook_db_note_apart(struct logbook *lb, struct visit *v, const struct engine *en, struct err *e);
/* Names the plug of each reading that does not say which it was, by where the parts sat at that visit. */
bool logbook_db_seat_plugs(struct logbook *lb, const char *engine_id, struct record *r, int first, struct err *e); /* from the visit `first` on */
bool logbook_db_put_none(struct logbook *lb, const char *reading, enum sign s, struct err *e); /* none of a sign, where the rest of its zone was not looked at */
bool logbook_db_put_amount(struct logbook *lb, const char *reading, enum sign s, int amount, struct err *e);
/* The number of the hole at each place of an engine: as the places, until it is numbered anew. */
struct logbook_holes {
    int cylinder[ENGINE_MAX_CYLINDERS], position[ENGINE_MAX_POSITIONS];
};
void logbook_db_first_holes(struct logbook_holes *h);
bool logbook_db_holes_of_engine(struct logbook *lb, const char *engine_id, struct logbook_holes *h, struct err *e);
bool logbook_db_holes_of_visit(struct logbook *lb, const char *visit_id, struct logbook_holes *h, struct err *e);
/* From the hole a row names to the place in the engine; false when it has no such hole. And back. */
bool logbook_db_place(const struct logbook_holes *h, const struct engine *en, int *cylinder, int *position);
void logbook_db_hole(const struct logbook_holes *h, int *cylinder, int *position);
/* Which holes the places have when the engine, as it is kept, becomes `en`: a hole follows its label. Renames what visits say
 * in words. To be called before the engine is written. Fails, naming the plug, when something noted would be lost. */
bool logbook_db_renumber(struct logbook *lb, const char *engine_id, const struct engine *en, struct logbook_holes *h, struct err *e);
/* Numbers the places of an engine that have no hole yet (-1): a name that comes back has the hole it had, by the edit log; another
 * a number from `next` on that none ever had. name() gives that of a place; cylinders: of cylinders, else of plugs in one. */
bool logbook_db_new_holes(struct logbook *lb, const char *engine_id, bool cylinders, int next, const char *(*name)(const struct engine *en, int i),
                          const struct engine *en, int *holes, int n, struct err *e);
/* What a hole was called last on the engine's card, by the edit log; "" never. */
void logbook_db_hole_name(struct logbook *lb, const char *engine_id, bool cylinders, int hole, char *to, size_t n_room);
/* Something is said of the plug, besides that there is a row for it. */
bool logbook_db_has_notes(struct logbook *lb, const char *reading, bool *has, struct err *e);
/* What is noted of a plug, a cylinder or a bank that its engine's card does not have; or an engine whose card does not hold together.
 * It is in no list and no warning. */
struct logbook_lost {
    char table[16], id[UUID_BYTES], engine[UUID_BYTES];
    const char *column;   /* of a visit, "" else */
    int cylinder, position; /* holes, of what is noted of a plug; -1 else */
    char why[200];        /* of a card, or the words in a visit */
};
bool logbook_db_list_lost(struct logbook *lb, struct arena *a, struct logbook_lost **lost, size_t *n, struct err *e);
/* The first that is lost now and was not in either list; false in *is: none. */
bool logbook_db_lost_since(struct logbook *lb, const struct logbook_lost *before, size_t n_before, const struct logbook_lost *there, size_t n_there,
                           struct logbook_lost *out, bool *is, struct err *e);
/* "Plug 4 of “Moth” would vanish, and there are readings of it", no full stop: the state in which it is seen is that of lb, else of `other` (NULL none);
 * *here: that of lb. */
void logbook_db_lost_words(struct logbook *lb, struct logbook *other, const struct logbook_lost *lost, bool *here, char *to, size_t n_room);
#define LOGBOOK_ENGINE_COLUMNS                                                                     \
    "name, subtitle, layout, banks, firing, intervals, strokes, ignition, coil_groups,"            \
    " mixture_groups, breather_near, n_positions, position_names, access, head, thread, seat,"     \
    " electrode, gap_min_um, gap_max_um, gap_limit_um, heat_steps, torque_mnm, hex_um, plug_type, fuel_system"
/* Reads those columns from `first` on. */
bool logbook_db_read_engine(sqlite3_stmt *stmt, int first, struct engine *en, struct err *e);

/* What belongs to this copy alone, by key; "" not there. */
bool logbook_db_read_meta(struct logbook *lb, const char *key, char *to, size_t n_room, struct err *e);
bool logbook_db_write_meta(struct logbook *lb, const char *key, const char *value, struct err *e);
#define LOGBOOK_FORMER "former device" /* in meta: under which this copy wrote until a merge was taken back */
/* The key under which a copy's name is kept: that of the device that writes there. */
void logbook_db_name_key(const char *device, char to[64]);

#endif
