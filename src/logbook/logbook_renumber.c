/* logbook_renumber.c - when an engine is renumbered, what was noted goes along. It is kept by hole, people write labels on
 * plug boxes: so a label that is still there keeps its hole, wherever it sits now; a label that is new takes over the
 * hole of the one that went. Only what a visit says in words is written anew. */
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

/* ---- rows of holes that go ---- */

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

bool logbook_db_has_notes(struct logbook *lb, const char *reading, bool *has, struct err *e)
{
    static const char *const place[] = {"gone", "visit", "cylinder", "position"};
    static const char sql[] = "SELECT 1 FROM observation WHERE reading = ?1 AND gone = 0 LIMIT 1";
    size_t n;
    const struct logbook_column *columns = logbook_columns(&n);
    sqlite3_stmt *q = logbook_db_prepare(lb, sql, e);

    if (q == NULL)
        return false;
    logbook_db_bind(q, 1, reading);
    if (!logbook_db_step(lb, q, has, e))
        return false;
    logbook_db_done(q);
    for (size_t i = 0; i < n && !*has; i++) {
        bool row, content = strcmp(columns[i].table, "reading") == 0;

        for (size_t k = 0; k < sizeof place / sizeof place[0]; k++)
            content = content && strcmp(columns[i].column, place[k]) != 0;
        if (!content)
            continue;
        q = logbook_db_peek(lb, (int)i, reading, &row, e);
        if (q == NULL)
            return false;
        *has = row && sqlite3_column_type(q, 0) != SQLITE_NULL;
        logbook_db_done(q);
    }
    return true;
}

/* Refused where a row of `sql` names a hole that goes, what was out of place before being left alone; a reading of which nothing
 * is said goes with its hole. */
static bool let_go(struct logbook *lb, const char *sql, const char *owner, const struct engine *old, const struct logbook_holes *was,
                   const struct move *m, bool readings, const char *what, struct err *e)
{
    struct arena *a = arena_create();
    struct placed *rows;
    void *items;
    size_t n;
    bool fine = logbook_db_list(lb, sql, owner, read_placed, sizeof *rows, a, &items, &n, e);

    rows = items;
    for (size_t i = 0; fine && i < n; i++) {
        bool has = true;

        if (!logbook_db_place(was, old, &rows[i].cylinder, &rows[i].position) ||
            (m->cylinder[rows[i].cylinder] >= 0 && m->position[rows[i].position] >= 0))
            continue;
        fine = (!readings || logbook_db_has_notes(lb, rows[i].id, &has, e)) &&
               (has ? refuse(old, rows[i].cylinder, rows[i].position, what, e) : logbook_remove(lb, "reading", rows[i].id, e));
    }
    arena_destroy(a);
    return fine;
}

/* A hole goes where its label goes; one whose label comes back is the one that bore it, and a new one has a number that none
 * had: another copy may have noted something at it. */
static bool move_holes(struct logbook *lb, const char *engine_id, const struct engine *en, bool cylinders, const int *to, int n_old, int n_new, int *holes, struct err *e)
{
    int was[ENGINE_MAX_CYLINDERS], next = 0;

    memcpy(was, holes, (size_t)n_old * sizeof *was);
    for (int i = 0; i < n_old; i++)
        next = was[i] >= next ? was[i] + 1 : next;
    for (int i = 0; i < n_new; i++)
        holes[i] = -1;
    for (int i = 0; i < n_old; i++)
        if (to[i] >= 0)
            holes[to[i]] = was[i];
    return logbook_db_new_holes(lb, engine_id, cylinders, next, cylinders ? cylinder_name : position_name, en, holes, n_new, e);
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
                        const struct logbook_holes *was, const struct move *m, struct err *e)
{
    static const char readings[] = "SELECT id, cylinder, position FROM reading WHERE visit = ?1 AND gone = 0";
    static const char sql[] = "SELECT id FROM visit WHERE engine = ?1 AND gone = 0";
    struct arena *a = arena_create();
    char(*ids)[UUID_BYTES];
    void *items;
    size_t n;
    bool fine = logbook_db_list(lb, sql, engine_id, read_id, UUID_BYTES, a, &items, &n, e);

    ids = items;
    for (size_t i = 0; fine && i < n; i++)
        fine = (!m->places || let_go(lb, readings, ids[i], old, was, m, true, "there are readings of", e)) && (!m->words || rename_visit(lb, ids[i], old, en, m, e));
    arena_destroy(a);
    return fine;
}

bool logbook_db_renumber(struct logbook *lb, const char *engine_id, const struct engine *en, struct logbook_holes *h, struct err *e)
{
    static const char photos[] = "SELECT p.id, p.cylinder, coalesce(p.position, 0) FROM photo p JOIN visit v ON v.id = p.visit"
                                 " WHERE v.engine = ?1 AND v.gone = 0 AND p.gone = 0 AND p.cylinder IS NOT NULL";
    static const char parts[] = "SELECT id, cylinder, coalesce(position, 0) FROM installation"
                                " WHERE engine = ?1 AND gone = 0 AND cylinder IS NOT NULL";
    struct engine old;
    struct logbook_holes was;
    struct move m;

    logbook_db_first_holes(h);
    if (!logbook_is_there(lb, "engine", engine_id))
        return true; /* a new one: nothing was noted of it */
    if (!logbook_load_engine(lb, engine_id, &old, e) || !logbook_db_holes_of_engine(lb, engine_id, &was, e))
        return false;
    find_move(&old, en, &m);
    *h = was;
    if (!move_holes(lb, engine_id, en, true, m.cylinder, old.n_cylinders, en->n_cylinders, h->cylinder, e) ||
        !move_holes(lb, engine_id, en, false, m.position, old.n_positions, en->n_positions, h->position, e))
        return false;
    return (!m.places && !m.words) ||
           (move_visits(lb, engine_id, &old, en, &was, &m, e) &&
            let_go(lb, photos, engine_id, &old, &was, &m, false, "there are photos of", e) &&
            let_go(lb, parts, engine_id, &old, &was, &m, false, "there are parts fitted to", e));
}
