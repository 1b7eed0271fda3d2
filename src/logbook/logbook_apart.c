/* logbook_apart.c - where merged copies differ on what may be in the way of starting the engine, the careful one counts until one
 * is chosen: so a reading also says what the value that does not stand would say. */
#include "logbook/logbook_conflict.h"

#include <string.h>

#include "base/mem.h"

static bool is_null(sqlite3_stmt *q)
{
    return sqlite3_column_type(q, 0) == SQLITE_NULL;
}

static void not_torqued(sqlite3_stmt *q, struct reading *r)
{
    r->apart.in = r->apart.in || is_null(q) || strcmp((const char *)sqlite3_column_text(q, 0), "torqued") != 0;
}

static void off(sqlite3_stmt *q, struct reading *r)
{
    r->apart.on = r->apart.on || (!is_null(q) && sqlite3_column_int(q, 0) == 0);
}

static void not_turned(sqlite3_stmt *q, struct reading *r)
{
    r->apart.turned = r->apart.turned || is_null(q);
}

static void not_kept(sqlite3_stmt *q, struct reading *r)
{
    r->apart.kept = r->apart.kept || is_null(q);
}

static void other_torque(sqlite3_stmt *q, struct reading *r)
{
    if (!r->apart.torque_nm.given)
        r->apart.torque_nm = logbook_db_maybe(q, 0, 0.001);
}

static void bare_lead(sqlite3_stmt *q, struct reading *r)
{
    r->apart.bare_lead = r->apart.bare_lead || sqlite3_column_int(q, 0) > 0;
}

static void bare_connector(sqlite3_stmt *q, struct reading *r)
{
    r->apart.bare_connector = r->apart.bare_connector || sqlite3_column_int(q, 0) > 0;
}

/* The fields that count, each with what another value of it says. */
static const struct {
    const char *table, *column, *zone, *sign;
    void (*take)(sqlite3_stmt *q, struct reading *r);
} fields[] = {
    {"reading", "refit", "", "", not_torqued},
    {"reading", "connected", "", "", off},
    {"reading", "turned_out", "", "", not_turned},
    {"reading", "kept", "", "", not_kept},
    {"reading", "torque_mnm", "", "", other_torque},
    {"observation", "amount", "lead", "insulation-bare", bare_lead},
    {"observation", "amount", "connector", "insulation-bare", bare_connector},
};

struct field_apart {
    char table[24], row[UUID_BYTES], column[32], zone[32], sign[32], reading[UUID_BYTES];
};

static bool read_field(sqlite3_stmt *q, void *item, struct err *e)
{
    struct field_apart *f = item;

    (void)e;
    logbook_db_text(q, 0, f->table, sizeof f->table);
    logbook_db_text(q, 1, f->row, sizeof f->row);
    logbook_db_text(q, 2, f->column, sizeof f->column);
    logbook_db_text(q, 3, f->zone, sizeof f->zone);
    logbook_db_text(q, 4, f->sign, sizeof f->sign);
    logbook_db_text(q, 5, f->reading, sizeof f->reading);
    return true;
}

/* A note that one copy took away while the other wrote in it, or made again. */
static void take_gone(const struct field_apart *f, struct reading *r)
{
    if (strcmp(f->sign, "insulation-bare") != 0)
        return;
    r->apart.bare_lead = r->apart.bare_lead || strcmp(f->zone, "lead") == 0;
    r->apart.bare_connector = r->apart.bare_connector || strcmp(f->zone, "connector") == 0;
}

static bool take_values(struct logbook *lb, const struct field_apart *f, struct reading *r, struct err *e)
{
    for (size_t i = 0; i < sizeof fields / sizeof fields[0]; i++) {
        sqlite3_stmt *q;
        bool fine;

        if (strcmp(fields[i].table, f->table) != 0 || strcmp(fields[i].column, f->column) != 0 || strcmp(fields[i].zone, f->zone) != 0 || strcmp(fields[i].sign, f->sign) != 0)
            continue;
        q = logbook_db_ask_values(lb, f->table, f->row, f->column, e);
        if (q == NULL)
            return false;
        for (bool stands = true; logbook_db_next(lb, q, &fine, e); stands = false)
            if (!stands)
                fields[i].take(q, r);
        if (!fine)
            return false;
    }
    return true;
}

bool logbook_db_note_apart(struct logbook *lb, struct visit *v, const struct engine *en, struct err *e)
{
    static const char sql[] = "SELECT f.tbl, f.row, f.col, '', '', r.id FROM conflict f JOIN reading r ON r.id = f.row WHERE f.tbl = 'reading' AND r.visit = ?1"
                              " UNION ALL SELECT f.tbl, f.row, f.col, o.zone, o.sign, o.reading FROM conflict f JOIN observation o ON o.id = f.row JOIN reading r ON r.id = o.reading"
                              "  WHERE f.tbl = 'observation' AND r.visit = ?1";
    struct arena *a;
    struct field_apart *list;
    void *items;
    size_t n;
    bool fine;

    if (logbook_count_conflicts(lb) == 0)
        return true;
    a = arena_create();
    fine = logbook_db_list(lb, sql, v->id, read_field, sizeof *list, a, &items, &n, e);
    list = items;
    for (size_t i = 0; fine && i < n; i++)
        for (int k = 0; fine && k < record_plug_count(en); k++) {
            struct reading *r = &v->readings[k];

            if (strcmp(r->id, list[i].reading) != 0)
                continue;
            if (strcmp(list[i].column, "gone") == 0)
                take_gone(&list[i], r);
            else
                fine = take_values(lb, &list[i], r, e);
        }
    arena_destroy(a);
    return fine;
}
