/* logbook_lost.c - what is noted of a plug that the card of its engine does not have is in no list and no warning. A card written
 * anew refuses that (logbook_renumber.c); here are the other ways in which a card and what is noted come together: copies
 * merged, a step undone, one of two values chosen. */
#include "logbook/logbook_db.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"

struct list {
    struct arena *a;
    void *items;
    size_t n, n_room;
};

static struct logbook_lost *add(struct list *l, const char *table, const char *id, const char *engine, const char *column)
{
    struct logbook_lost *x = arena_push(l->a, &l->items, &l->n, &l->n_room, sizeof *x);

    text_copy(x->table, sizeof x->table, table);
    text_copy(x->id, sizeof x->id, id);
    text_copy(x->engine, sizeof x->engine, engine);
    x->column = column;
    x->cylinder = x->position = -1;
    return x;
}

static void first_line(const char *words, char *to, size_t n_room)
{
    text_copy(to, n_room, words);
    for (char *c = to; *c != '\0'; c++)
        if (*c == '\t' || *c == '\n')
            *c = ' ';
}

/* ---- rows of plugs ---- */

static bool list_rows(struct logbook *lb, struct list *l, const char *engine, const struct engine *en, struct err *e)
{
    static const char sql[] = "SELECT 'reading', r.id, r.cylinder, r.position FROM visit v JOIN reading r ON r.visit = v.id WHERE v.engine = ?1 AND v.gone = 0 AND r.gone = 0"
                              " UNION ALL SELECT 'photo', p.id, p.cylinder, coalesce(p.position, 0) FROM visit v JOIN photo p ON p.visit = v.id WHERE v.engine = ?1 AND v.gone = 0 AND p.gone = 0 AND p.cylinder IS NOT NULL"
                              " UNION ALL SELECT 'installation', id, cylinder, coalesce(position, 0) FROM installation WHERE engine = ?1 AND gone = 0 AND cylinder IS NOT NULL";
    struct logbook_holes holes;
    sqlite3_stmt *q = logbook_db_holes_of_engine(lb, engine, &holes, e) ? logbook_db_prepare(lb, sql, e) : NULL;
    const size_t first = l->n;
    size_t n_kept = first;
    bool fine;

    if (q == NULL)
        return false;
    logbook_db_bind(q, 1, engine);
    while (logbook_db_next(lb, q, &fine, e)) {
        const int cylinder = sqlite3_column_int(q, 2), position = sqlite3_column_int(q, 3);
        int c = cylinder, p = position;
        struct logbook_lost *x;

        if (logbook_db_place(&holes, en, &c, &p))
            continue;
        x = add(l, (const char *)sqlite3_column_text(q, 0), (const char *)sqlite3_column_text(q, 1), engine, "");
        x->cylinder = cylinder;
        x->position = position;
    }
    for (size_t i = first; fine && i < l->n; i++) { /* a reading of which nothing is said goes with its hole */
        struct logbook_lost *all = l->items;
        bool has = true;

        fine = strcmp(all[i].table, "reading") != 0 || logbook_db_has_notes(lb, all[i].id, &has, e);
        if (has)
            all[n_kept++] = all[i];
    }
    l->n = n_kept;
    return fine;
}

/* ---- what visits name in words ---- */

static bool names_only(const struct engine *en, const char *text, bool banks)
{
    for (const char *line = text; *line != '\0'; line += strcspn(line, "\n"), line += *line == '\n') {
        const char *from = line + strcspn(line, "\t\n");
        char name[40];

        from += *from == '\t';
        text_format(name, sizeof name, "%.*s", (int)strcspn(from, "\t\n"), from);
        if ((banks ? engine_find_bank(en, name) : engine_find_cylinder(en, name)) < 0)
            return false;
    }
    return true;
}

static bool list_words(struct logbook *lb, struct list *l, const char *engine, const struct engine *en, struct err *e)
{
    static const char visits[] = "SELECT id, coalesce(removal, ''), coalesce(tests, ''), coalesce(outside, '') FROM visit WHERE engine = ?1 AND gone = 0";
    static const char done[] = "SELECT d.id, d.what FROM visit v JOIN done d ON d.visit = v.id WHERE v.engine = ?1 AND v.gone = 0 AND d.gone = 0";
    static const char *const columns[] = {"removal", "tests", "outside"};
    sqlite3_stmt *q = logbook_db_prepare(lb, visits, e);
    struct visit *v = mem_alloc(1, sizeof *v);
    bool fine = q != NULL;

    if (q != NULL)
        logbook_db_bind(q, 1, engine);
    while (q != NULL && logbook_db_next(lb, q, &fine, e))
        for (int k = 0; k < 3; k++) {
            const char *text = (const char *)sqlite3_column_text(q, k + 1);
            struct err ignored;

            if (text[0] == '\0')
                continue;
            if (k == 0)
                visit_init(v, en);
            if (k == 0 ? !visit_parse_removal(en, v, text, &ignored) : !names_only(en, text, k == 2)) {
                struct logbook_lost *x = add(l, "visit", (const char *)sqlite3_column_text(q, 0), engine, columns[k]);

                first_line(text, x->why, sizeof x->why);
            }
        }
    q = fine ? logbook_db_prepare(lb, done, e) : NULL;
    fine = q != NULL;
    if (q != NULL)
        logbook_db_bind(q, 1, engine);
    while (q != NULL && logbook_db_next(lb, q, &fine, e)) {
        char what[200];
        struct visit_done d;
        struct err ignored;

        logbook_db_text(q, 1, what, sizeof what);
        if (!visit_parse_done(en, what, &d, &ignored)) {
            struct logbook_lost *x = add(l, "done", (const char *)sqlite3_column_text(q, 0), engine, "");

            first_line(what, x->why, sizeof x->why);
        }
    }
    free(v);
    return fine;
}

/* ---- the whole ---- */

static bool read_id(sqlite3_stmt *q, void *item, struct err *e)
{
    (void)e;
    logbook_db_text(q, 0, item, UUID_BYTES);
    return true;
}

bool logbook_db_list_lost(struct logbook *lb, struct arena *a, struct logbook_lost **lost, size_t *n, struct err *e)
{
    struct list l = {.a = a};
    struct engine *en = mem_alloc(1, sizeof *en);
    char(*ids)[UUID_BYTES];
    void *items;
    size_t n_engines;
    bool fine = logbook_db_list(lb, "SELECT id FROM engine WHERE gone = 0", NULL, read_id, UUID_BYTES, a, &items, &n_engines, e);

    ids = items;
    for (size_t i = 0; fine && i < n_engines; i++) {
        struct err why = {0};

        if (!logbook_load_engine(lb, ids[i], en, &why)) {
            struct logbook_lost *x = add(&l, "engine", ids[i], ids[i], "");

            text_copy(x->why, sizeof x->why, why.text);
        } else
            fine = list_rows(lb, &l, ids[i], en, e) && list_words(lb, &l, ids[i], en, e);
    }
    free(en);
    *lost = fine ? l.items : NULL;
    *n = fine ? l.n : 0;
    return fine;
}

static bool is_in(const struct logbook_lost *x, const struct logbook_lost *list, size_t n)
{
    for (size_t i = 0; i < n; i++)
        if (strcmp(list[i].id, x->id) == 0 && strcmp(list[i].table, x->table) == 0 && strcmp(list[i].column, x->column) == 0)
            return true;
    return false;
}

bool logbook_db_lost_since(struct logbook *lb, const struct logbook_lost *before, size_t n_before, const struct logbook_lost *there, size_t n_there,
                           struct logbook_lost *out, bool *is, struct err *e)
{
    struct arena *a = arena_create();
    struct logbook_lost *now;
    size_t n;
    bool fine = logbook_db_list_lost(lb, a, &now, &n, e);

    *is = false;
    for (size_t i = 0; fine && !*is && i < n; i++)
        if (!is_in(&now[i], before, n_before) && !is_in(&now[i], there, n_there)) {
            *out = now[i];
            *is = true;
        }
    arena_destroy(a);
    return fine;
}

/* Its label, where the card of that logbook has it. */
static bool label_in(struct logbook *lb, const struct logbook_lost *lost, char *to, size_t n_room)
{
    struct engine *en = mem_alloc(1, sizeof *en);
    struct logbook_holes holes;
    int c = lost->cylinder, p = lost->position;
    bool has = logbook_load_engine(lb, lost->engine, en, NULL) && logbook_db_holes_of_engine(lb, lost->engine, &holes, NULL) && logbook_db_place(&holes, en, &c, &p);

    if (has)
        engine_plug_label(en, c, p, to, n_room);
    free(en);
    return has;
}

static bool is_row_there(struct logbook *lb, const struct logbook_lost *lost)
{
    return logbook_is_there(lb, lost->table, lost->id);
}

void logbook_db_lost_words(struct logbook *lb, struct logbook *other, const struct logbook_lost *lost, bool *here, char *to, size_t n_room)
{
    static const struct {
        const char *table, *column, *words;
    } of[] = {{"reading", "", "there are readings of"}, {"photo", "", "there are photos of"}, {"installation", "", "there are parts fitted to"},
              {"visit", "removal", "The order plugs were drawn in"}, {"visit", "tests", "A test"}, {"visit", "outside", "Oil noted along a bank"}, {"done", "", "Work done"}};
    char name[ENGINE_NAME_BYTES] = "the engine", label[48] = "";
    const char *called;
    size_t k = 0;

    while (k + 1 < sizeof of / sizeof of[0] && (strcmp(of[k].table, lost->table) != 0 || strcmp(of[k].column, lost->column) != 0))
        k++;
    if (!logbook_get_text(lb, "engine", lost->engine, "name", name, sizeof name) && other != NULL)
        (void)logbook_get_text(other, "engine", lost->engine, "name", name, sizeof name);
    called = TEXT_SHORT(name, 40); /* the window's line is short */
    *here = is_row_there(lb, lost) && (lost->cylinder < 0 || label_in(lb, lost, label, sizeof label));
    if (!*here && other != NULL && lost->cylinder >= 0)
        (void)label_in(other, lost, label, sizeof label);
    if (strcmp(lost->table, "engine") == 0)
        text_format(to, n_room, "The card of “%s” would not hold together: %.*s", called, (int)strcspn(lost->why, "."), lost->why);
    else if (lost->cylinder >= 0)
        text_format(to, n_room, "Plug %s of “%s” would vanish, and %s it", label, called, of[k].words);
    else
        text_format(to, n_room, "%s of “%s” would vanish: “%s” names what its card does not have", of[k].words, called, lost->why);
}
