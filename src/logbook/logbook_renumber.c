/* logbook_renumber.c - when an engine is renumbered, what was noted goes along. Readings are kept by
 * place, people write labels on plug boxes: so a label that is still there keeps what was noted under
 * it, wherever it sits now; a label that is new takes over the place of the one that went. */
#include "logbook/logbook_db.h"

#include <stdlib.h>
#include <string.h>

#include "base/mem.h"

/* Where each old place is now, -1: gone. */
struct move {
    int cylinder[ENGINE_MAX_CYLINDERS], bank[ENGINE_MAX_BANKS], position[ENGINE_MAX_POSITIONS];
    bool places, words; /* something sits elsewhere; something has another name */
};

typedef int finder(const struct engine *en, const char *label);
typedef const char *namer(const struct engine *en, int i);

static const char *cylinder_name(const struct engine *en, int i)
{
    return en->cylinders[i].label;
}

static const char *bank_name(const struct engine *en, int i)
{
    return en->banks[i].name;
}

static const char *position_name(const struct engine *en, int i)
{
    return en->position_names[i];
}

/* -1 also when two positions bear the name, as an old logbook may have it: then the place decides. */
static int find_position(const struct engine *en, const char *name)
{
    int at = -1;

    for (int i = 0; i < en->n_positions; i++)
        if (strcmp(en->position_names[i], name) == 0) {
            if (at >= 0)
                return -1;
            at = i;
        }
    return at;
}

static void find_places(const struct engine *old, int n_old, const struct engine *en, int n_new, finder *find, namer *name,
                        struct move *m, int *to)
{
    for (int i = 0; i < n_old; i++) {
        to[i] = find(old, name(old, i)) == i ? find(en, name(old, i)) : -1;
        if (i < n_new && to[i] < 0 && find(old, name(en, i)) < 0)
            to[i] = i; /* a new name for the place, not that of another one */
        m->places = m->places || to[i] != i;
        m->words = m->words || to[i] < 0 || strcmp(name(old, i), name(en, to[i])) != 0;
    }
}

static void find_move(const struct engine *old, const struct engine *en, struct move *m)
{
    memset(m, 0, sizeof *m);
    find_places(old, old->n_cylinders, en, en->n_cylinders, engine_find_cylinder, cylinder_name, m, m->cylinder);
    find_places(old, old->n_banks, en, en->n_banks, engine_find_bank, bank_name, m, m->bank);
    if (old->n_positions == 1 || en->n_positions == 1) { /* the only plug has no name: it is the first of several */
        for (int p = 1; p < old->n_positions; p++)
            m->position[p] = -1;
        m->places = m->places || old->n_positions > 1;
        m->words = m->words || old->n_positions != en->n_positions;
    } else {
        find_places(old, old->n_positions, en, en->n_positions, find_position, position_name, m, m->position);
    }
}

static bool refuse(const struct engine *old, int cylinder, int position, const char *what, struct err *e)
{
    char label[48];

    engine_plug_label(old, cylinder, position, label, sizeof label);
    return err_set(e, ERR_BADARG, "Plug %s would vanish, and %s it. Take that out first, or write a new engine.", label, what);
}

/* ---- rows that name a place ---- */

struct placed {
    char id[UUID_BYTES];
    int cylinder, position;
};

static bool read_placed(sqlite3_stmt *q, void *item, struct err *e)
{
    struct placed *p = item;

    (void)e;
    logbook_db_text(q, 0, p->id, sizeof p->id);
    p->cylinder = sqlite3_column_int(q, 1);
    p->position = sqlite3_column_int(q, 2);
    return true;
}

/* Whether the old engine has this place. What was out of place before is left alone. */
static bool is_place(const struct engine *old, const struct placed *p)
{
    return p->cylinder >= 0 && p->cylinder < old->n_cylinders && p->position >= 0 && p->position < old->n_positions;
}

static bool is_kept(const struct move *m, const struct placed *p)
{
    return m->cylinder[p->cylinder] >= 0 && m->position[p->position] >= 0;
}

static bool move_rows(struct logbook *lb, const char *table, const char *sql, const char *engine_id, const struct engine *old,
                      const struct move *m, const char *what, struct err *e)
{
    struct arena *a = arena_create();
    struct placed *rows;
    void *items;
    size_t n;
    bool fine = logbook_db_list(lb, sql, engine_id, read_placed, sizeof *rows, a, &items, &n, e);

    rows = items;
    for (size_t i = 0; fine && i < n; i++) {
        if (!is_place(old, &rows[i]))
            continue;
        fine = (is_kept(m, &rows[i]) || refuse(old, rows[i].cylinder, rows[i].position, what, e)) &&
               logbook_set_int(lb, table, rows[i].id, "cylinder", m->cylinder[rows[i].cylinder], e) &&
               logbook_set_int(lb, table, rows[i].id, "position", m->position[rows[i].position], e);
    }
    arena_destroy(a);
    return fine;
}

/* ---- readings: a reading's id names its place, so what it holds is carried to another row ---- */

struct carried {
    sqlite3_value **values; /* one for each column of reading, NULL in other tables */
    int8_t amount[SIGN_COUNT]; /* AMOUNT_UNSEEN: no row says anything of it */
    char to[UUID_BYTES];    /* "" when it stays where it is, or goes nowhere */
    bool has_notes;
};

static bool is_content(const struct logbook_column *c)
{
    static const char *const place[] = {"gone", "visit", "cylinder", "position"};

    if (strcmp(c->table, "reading") != 0)
        return false;
    for (size_t i = 0; i < sizeof place / sizeof place[0]; i++)
        if (strcmp(c->column, place[i]) == 0)
            return false;
    return true;
}

static bool pick_up(struct logbook *lb, const struct placed *from, struct carried *out, struct arena *a, struct err *e)
{
    static const char sql[] = "SELECT zone, sign, amount FROM observation WHERE reading = ?1 AND gone = 0";
    size_t n;
    const struct logbook_column *columns = logbook_columns(&n);
    sqlite3_stmt *q;
    bool row, fine;

    out->values = arena_alloc(a, n, sizeof *out->values);
    for (int s = 0; s < SIGN_COUNT; s++)
        out->amount[s] = AMOUNT_UNSEEN;
    for (size_t i = 0; i < n; i++) {
        if (!is_content(&columns[i]))
            continue;
        q = logbook_db_peek(lb, (int)i, from->id, &row, e);
        if (q == NULL)
            return false;
        out->values[i] = sqlite3_value_dup(sqlite3_column_value(q, 0));
        out->has_notes = out->has_notes || sqlite3_value_type(out->values[i]) != SQLITE_NULL;
        logbook_db_done(q);
    }
    q = logbook_db_prepare(lb, sql, e);
    if (q == NULL)
        return false;
    logbook_db_bind(q, 1, from->id);
    while (logbook_db_next(lb, q, &fine, e)) {
        char zone[32], sign[32];
        int z, s;

        logbook_db_text(q, 0, zone, sizeof zone);
        logbook_db_text(q, 1, sign, sizeof sign);
        z = zone_find(zone);
        s = z >= 0 ? sign_find((enum zone)z, sign) : -1;
        if (s >= 0)
            out->amount[s] = (int8_t)sqlite3_column_int(q, 2);
        out->has_notes = true;
    }
    return fine;
}

/* The row is left blank as well as taken away: the next plug at that place must not find the old notes. */
static bool clear_away(struct logbook *lb, const char *reading, struct err *e)
{
    size_t n;
    const struct logbook_column *columns = logbook_columns(&n);

    for (size_t i = 0; i < n; i++)
        if (is_content(&columns[i]) && !logbook_clear(lb, "reading", reading, columns[i].column, e))
            return false;
    for (int s = 0; s < SIGN_COUNT; s++)
        if (!logbook_db_put_amount(lb, reading, (enum sign)s, 0, e))
            return false;
    return logbook_remove(lb, "reading", reading, e);
}

static bool put_down(struct logbook *lb, const char *visit_id, const struct carried *c, int cylinder, int position, struct err *e)
{
    size_t n;
    char id[UUID_BYTES];

    logbook_columns(&n);
    if (!logbook_touch_reading(lb, visit_id, cylinder, position, id, e))
        return false;
    for (size_t i = 0; i < n; i++)
        if (c->values[i] != NULL && !logbook_db_put(lb, (int)i, id, c->values[i], false, e))
            return false;
    for (int s = 0; s < SIGN_COUNT; s++)
        if (!(c->amount[s] == 0 ? logbook_db_put_none(lb, id, (enum sign)s, e) : logbook_db_put_amount(lb, id, (enum sign)s, c->amount[s], e)))
            return false;
    return true;
}

static bool move_readings(struct logbook *lb, const char *visit_id, const struct engine *old, const struct move *m, struct err *e)
{
    static const char sql[] = "SELECT id, cylinder, position FROM reading WHERE visit = ?1 AND gone = 0";
    struct arena *a = arena_create();
    struct placed *rows;
    struct carried *carried = NULL;
    void *items;
    size_t n, n_columns;
    bool fine = logbook_db_list(lb, sql, visit_id, read_placed, sizeof *rows, a, &items, &n, e);

    logbook_columns(&n_columns);
    rows = items;
    carried = arena_alloc(a, n + 1, sizeof *carried);
    for (size_t i = 0; fine && i < n; i++) { /* all are read before the first is written over */
        if (!is_place(old, &rows[i]))
            continue;
        if (is_kept(m, &rows[i]))
            logbook_reading_id(visit_id, m->cylinder[rows[i].cylinder], m->position[rows[i].position], carried[i].to);
        if (strcmp(carried[i].to, rows[i].id) == 0)
            continue;
        fine = pick_up(lb, &rows[i], &carried[i], a, e) && (carried[i].to[0] != '\0' || !carried[i].has_notes ||
               refuse(old, rows[i].cylinder, rows[i].position, "there are readings of", e));
    }
    for (size_t i = 0; fine && i < n; i++) {
        bool taken = carried[i].values == NULL;

        for (size_t k = 0; k < n && !taken; k++)
            taken = strcmp(carried[k].to, rows[i].id) == 0;
        fine = taken || clear_away(lb, rows[i].id, e);
    }
    for (size_t i = 0; fine && i < n; i++)
        fine = carried[i].values == NULL || carried[i].to[0] == '\0' ||
               put_down(lb, visit_id, &carried[i], m->cylinder[rows[i].cylinder], m->position[rows[i].position], e);
    for (size_t i = 0; i < n; i++)
        for (size_t k = 0; k < n_columns && carried[i].values != NULL; k++)
            sqlite3_value_free(carried[i].values[k]);
    arena_destroy(a);
    return fine;
}

/* ---- what a visit names in words ---- */

static bool rename_done(const struct engine *old, const struct move *m, struct visit_done *d, struct err *e)
{
    engine_set set = 0;

    for (int c = 0; c < old->n_cylinders; c++)
        if ((d->cylinders >> c & 1u) != 0) {
            if (m->cylinder[c] >= 0)
                set |= (engine_set)1 << m->cylinder[c];
            else if (!d->all && d->bank < 0)
                return err_set(e, ERR_BADARG, "Cylinder %s would vanish, and work done on it is noted. Take that out first, or write a new engine.",
                               old->cylinders[c].label);
        }
    d->cylinders = set;
    if (d->bank >= 0) {
        if (m->bank[d->bank] < 0 && set == 0)
            return err_set(e, ERR_BADARG, "Bank %s would vanish, and work done on it is noted. Take that out first, or write a new engine.",
                           old->banks[d->bank].name);
        d->bank = m->bank[d->bank]; /* -1: its cylinders are named instead */
    }
    d->from = d->from >= 0 ? m->cylinder[d->from] : -1;
    d->to = d->to >= 0 ? m->cylinder[d->to] : -1;
    return true;
}

static bool rename_in(const struct engine *old, const struct move *m, struct visit *v, struct err *e)
{
    for (int i = 0; i < v->n_removal; i++) {
        struct plug_place drawn = visit_drawn(v, i);
        int c = m->cylinder[drawn.cylinder], p = m->position[drawn.position];

        if (c < 0 || p < 0)
            return refuse(old, drawn.cylinder, drawn.position, "a removal order names", e);
        v->removal[i] = (int16_t)(c * ENGINE_MAX_POSITIONS + p);
    }
    for (int i = 0; i < v->n_tests; i++) {
        int c = v->tests[i].cylinder;

        if (m->cylinder[c] < 0)
            return err_set(e, ERR_BADARG, "Cylinder %s would vanish, and a test of it is noted. Take that out first, or write a new engine.",
                           old->cylinders[c].label);
        v->tests[i].cylinder = m->cylinder[c];
    }
    for (int i = 0; i < v->n_outside; i++) {
        int b = v->outside[i].bank;

        if (m->bank[b] < 0)
            return err_set(e, ERR_BADARG, "Bank %s would vanish, and oil along it is noted. Take that out first, or write a new engine.",
                           old->banks[b].name);
        v->outside[i].bank = m->bank[b];
    }
    for (int i = 0; i < v->n_done; i++)
        if (!rename_done(old, m, &v->done[i], e))
            return false;
    return true;
}

static bool rename_visit(struct logbook *lb, const char *visit_id, const struct engine *old, const struct engine *en,
                         const struct move *m, struct err *e)
{
    struct visit *was = mem_alloc(2, sizeof *was), *now = was + 1;
    bool fine = logbook_db_load_visit(lb, visit_id, old, was, e);

    *now = *was;
    fine = fine && rename_in(old, m, now, e) && logbook_db_change_visit(lb, visit_id, old, was, en, now, e);
    free(was);
    return fine;
}

/* ---- the whole ---- */

static bool read_id(sqlite3_stmt *q, void *item, struct err *e)
{
    (void)e;
    logbook_db_text(q, 0, item, UUID_BYTES);
    return true;
}

static bool move_visits(struct logbook *lb, const char *engine_id, const struct engine *old, const struct engine *en,
                        const struct move *m, struct err *e)
{
    static const char sql[] = "SELECT id FROM visit WHERE engine = ?1 AND gone = 0";
    struct arena *a = arena_create();
    char(*ids)[UUID_BYTES];
    void *items;
    size_t n;
    bool fine = logbook_db_list(lb, sql, engine_id, read_id, UUID_BYTES, a, &items, &n, e);

    ids = items;
    for (size_t i = 0; fine && i < n; i++)
        fine = (!m->places || move_readings(lb, ids[i], old, m, e)) && (!m->words || rename_visit(lb, ids[i], old, en, m, e));
    arena_destroy(a);
    return fine;
}

bool logbook_db_renumber(struct logbook *lb, const char *engine_id, const struct engine *en, struct err *e)
{
    static const char photos[] = "SELECT p.id, p.cylinder, coalesce(p.position, 0) FROM photo p JOIN visit v ON v.id = p.visit"
                                 " WHERE v.engine = ?1 AND v.gone = 0 AND p.gone = 0 AND p.cylinder IS NOT NULL";
    static const char parts[] = "SELECT id, cylinder, coalesce(position, 0) FROM installation"
                                " WHERE engine = ?1 AND gone = 0 AND cylinder IS NOT NULL";
    struct engine old;
    struct move m;

    if (!logbook_is_there(lb, "engine", engine_id))
        return true; /* a new one: nothing to carry */
    if (!logbook_load_engine(lb, engine_id, &old, e))
        return false;
    find_move(&old, en, &m);
    return (!m.places && !m.words) ||
           (move_visits(lb, engine_id, &old, en, &m, e) &&
            move_rows(lb, "photo", photos, engine_id, &old, &m, "there are photos of", e) &&
            move_rows(lb, "installation", parts, engine_id, &old, &m, "there are parts fitted to", e));
}
