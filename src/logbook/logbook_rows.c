/* logbook_rows.c - the plain rows of a visit or an engine: photos, steps, parts to get, facts. */
#include "logbook/logbook_db.h"

#include <stdio.h>
#include <string.h>

#include "base/files.h"
#include "base/mem.h"

static bool put(struct logbook *lb, const char *table, const char *row, const char *column, const char *s, struct err *e)
{
    return logbook_db_put_text(lb, table, row, column, s, e);
}

/* ---- photos ---- */

void logbook_photo_id(const char *visit_id, const char *sha256, char id[UUID_BYTES])
{
    uuid_from_parts(id, "photo", visit_id, sha256, "");
}

bool logbook_photo_path(const struct logbook *lb, const char *sha256, const char *format, char *to, size_t n_room)
{
    return text_format(to, n_room, "%s/photos/%s.%s", lb->folder, sha256, format);
}

bool logbook_keep_original(const char *folder, const char *path, struct logbook_photo *out, struct err *e)
{
    char kept[1400];

    if (!files_sha256(path, out->sha256, e))
        return false;
    text_copy(out->name, sizeof out->name, files_name(path));
    text_sanitize(out->name, sizeof out->name);
    text_copy(out->format, sizeof out->format, files_extension(path));
    for (char *c = out->format; *c != '\0'; c++)
        if (*c >= 'A' && *c <= 'Z')
            *c = (char)(*c - 'A' + 'a');
    if (strcmp(out->format, "jpeg") == 0)
        text_copy(out->format, sizeof out->format, "jpg");
    text_format(kept, sizeof kept, "%s/photos/%s.%s", folder, out->sha256, out->format);
    return files_exists(kept) || files_copy(path, kept, e);
}

bool logbook_has_photo(struct logbook *lb, const char *engine_id, const char *sha256)
{
    static const char sql[] = "SELECT 1 FROM photo p JOIN visit v ON v.id = p.visit WHERE p.sha256 = ?1 AND v.engine = ?2 AND p.gone = 0 AND v.gone = 0 LIMIT 1";
    sqlite3_stmt *q = logbook_db_prepare(lb, sql, NULL);
    bool there = false;

    if (q == NULL)
        return false;
    logbook_db_bind(q, 1, sha256);
    logbook_db_bind(q, 2, engine_id);
    (void)logbook_db_step(lb, q, &there, NULL);
    logbook_db_done(q);
    return there;
}

bool logbook_place_photo(struct logbook *lb, const char *id, const char *visit_id, int cylinder, int position, struct err *e)
{
    struct logbook_holes holes;

    if (!logbook_db_holes_of_visit(lb, visit_id, &holes, e))
        return false;
    position = cylinder < 0 ? -1 : position < 0 ? 0 : position;
    logbook_db_hole(&holes, &cylinder, &position);
    return logbook_db_put_index(lb, "photo", id, "cylinder", cylinder, e) && logbook_db_put_index(lb, "photo", id, "position", position, e);
}

bool logbook_put_photo(struct logbook *lb, const struct logbook_photo *p, struct err *e)
{
    return logbook_set_int(lb, "photo", p->id, "gone", 0, e) && logbook_set_text(lb, "photo", p->id, "visit", p->visit, e) &&
           put(lb, "photo", p->id, "sha256", p->sha256, e) && put(lb, "photo", p->id, "name", p->name, e) &&
           put(lb, "photo", p->id, "format", p->format, e) && logbook_place_photo(lb, p->id, p->visit, p->cylinder, p->position, e) &&
           put(lb, "photo", p->id, "zone", p->zone < 0 ? "" : zone_row((enum zone)p->zone)->id, e) &&
           put(lb, "photo", p->id, "taken", p->taken, e) &&
           (p->offset_given ? logbook_set_int(lb, "photo", p->id, "offset_min", p->offset_min, e) : logbook_clear(lb, "photo", p->id, "offset_min", e)) &&
           logbook_set_int(lb, "photo", p->id, "width", p->width, e) && logbook_set_int(lb, "photo", p->id, "height", p->height, e) &&
           logbook_set_int(lb, "photo", p->id, "turn", p->turn, e) &&
           logbook_set_int(lb, "photo", p->id, "lean_mdeg", p->lean_mdeg, e) && put(lb, "photo", p->id, "trouble", p->trouble, e) &&
           put(lb, "photo", p->id, "step", p->step, e) && put(lb, "photo", p->id, "caption", p->caption, e) &&
           logbook_set_int(lb, "photo", p->id, "sort", p->sort, e);
}

bool logbook_photo_waits(const struct logbook_photo *p)
{
    return p->cylinder < 0 && p->step[0] == '\0' && p->caption[0] == '\0';
}

/* What another program may have put there. */
static int held_lean(int64_t mdeg)
{
    return mdeg < -45000 ? -45000 : mdeg > 45000 ? 45000 : (int)mdeg;
}

static bool read_photo(sqlite3_stmt *q, void *item, struct err *e)
{
    struct logbook_photo *p = item;
    char zone[32];

    (void)e;
    logbook_db_text(q, 0, p->id, sizeof p->id);
    logbook_db_text(q, 1, p->visit, sizeof p->visit);
    logbook_db_text(q, 2, p->sha256, sizeof p->sha256);
    logbook_db_text(q, 3, p->name, sizeof p->name);
    logbook_db_text(q, 4, p->format, sizeof p->format);
    p->cylinder = sqlite3_column_type(q, 5) == SQLITE_NULL ? -1 : sqlite3_column_int(q, 5);
    p->position = sqlite3_column_type(q, 6) == SQLITE_NULL ? -1 : sqlite3_column_int(q, 6);
    logbook_db_text(q, 7, zone, sizeof zone);
    p->zone = zone[0] ? zone_find(zone) : -1;
    logbook_db_text(q, 8, p->taken, sizeof p->taken);
    p->offset_given = sqlite3_column_type(q, 9) != SQLITE_NULL;
    p->offset_min = sqlite3_column_int(q, 9);
    p->width = sqlite3_column_int(q, 10);
    p->height = sqlite3_column_int(q, 11);
    p->turn = sqlite3_column_int(q, 12) & 3;
    logbook_db_text(q, 13, p->trouble, sizeof p->trouble);
    p->sort = sqlite3_column_int64(q, 14);
    p->lean_mdeg = held_lean(sqlite3_column_int64(q, 15));
    logbook_db_text(q, 16, p->step, sizeof p->step);
    logbook_db_text(q, 17, p->caption, sizeof p->caption);
    return true;
}

bool logbook_list_photos(struct logbook *lb, const char *visit_id, struct arena *a, struct logbook_photo **photos, size_t *n, struct err *e)
{
    static const char sql[] = "SELECT id, visit, sha256, name, format, cylinder, position, zone, taken, offset_min, width, height, turn, trouble, sort, lean_mdeg, step, caption"
                              " FROM photo WHERE visit = ?1 AND gone = 0 ORDER BY taken IS NULL, taken, sort, id";
    const struct engine all = {.n_cylinders = ENGINE_MAX_CYLINDERS, .n_positions = ENGINE_MAX_POSITIONS};
    struct logbook_holes holes;
    void *items = NULL;
    bool fine = logbook_db_holes_of_visit(lb, visit_id, &holes, e) && logbook_db_list(lb, sql, visit_id, read_photo, sizeof(struct logbook_photo), a, &items, n, e);

    *photos = items;
    for (size_t i = 0; fine && i < *n; i++) {
        struct logbook_photo *p = &(*photos)[i];
        int cylinder = p->cylinder, position = p->position < 0 ? 0 : p->position;

        if (cylinder >= 0 && logbook_db_place(&holes, &all, &cylinder, &position)) {
            p->cylinder = cylinder;
            p->position = position;
        }
    }
    return fine;
}

/* ---- steps ---- */

bool logbook_db_next_sort(struct logbook *lb, const char *sql, const char *owner, int64_t *sort, struct err *e)
{
    sqlite3_stmt *q;
    bool row;

    if (*sort != 0)
        return true;
    q = logbook_db_prepare(lb, sql, e);
    if (q == NULL)
        return false;
    logbook_db_bind(q, 1, owner);
    if (!logbook_db_step(lb, q, &row, e))
        return false;
    *sort = row ? sqlite3_column_int64(q, 0) + 1 : 1;
    logbook_db_done(q);
    return true;
}

bool logbook_put_step(struct logbook *lb, const struct logbook_step *s, struct err *e)
{
    static const char last[] = "SELECT coalesce(max(sort), 0) FROM step WHERE visit = ?1";
    int64_t sort = s->sort;

    return logbook_db_next_sort(lb, last, s->visit, &sort, e) && logbook_set_int(lb, "step", s->id, "gone", 0, e) &&
           logbook_set_text(lb, "step", s->id, "visit", s->visit, e) && put(lb, "step", s->id, "text", s->text, e) &&
           put(lb, "step", s->id, "note", s->note, e) && put(lb, "step", s->id, "state", s->state, e) &&
           put(lb, "step", s->id, "done_on", s->done_on, e) && put(lb, "step", s->id, "waits_for", s->waits_for, e) &&
           logbook_db_put_maybe(lb, "step", s->id, "after_m", s->after_m, 1, e) && put(lb, "step", s->id, "caution", s->caution, e) &&
           put(lb, "step", s->id, "source", s->source, e) && logbook_set_int(lb, "step", s->id, "sort", sort, e);
}

static bool read_step(sqlite3_stmt *q, void *item, struct err *e)
{
    struct logbook_step *s = item;

    (void)e;
    logbook_db_text(q, 0, s->id, sizeof s->id);
    logbook_db_text(q, 1, s->visit, sizeof s->visit);
    logbook_db_text(q, 2, s->text, sizeof s->text);
    logbook_db_text(q, 3, s->note, sizeof s->note);
    logbook_db_text(q, 4, s->state, sizeof s->state);
    logbook_db_text(q, 5, s->done_on, sizeof s->done_on);
    logbook_db_text(q, 6, s->waits_for, sizeof s->waits_for);
    s->after_m = logbook_db_maybe(q, 7, 1);
    logbook_db_text(q, 8, s->caution, sizeof s->caution);
    logbook_db_text(q, 9, s->source, sizeof s->source);
    s->sort = sqlite3_column_int64(q, 10);
    return true;
}

/* A step that was proposed keeps its figures in braces. */
static void tell_steps(const struct logbook *lb, struct logbook_step *steps, size_t n)
{
    char told[sizeof steps->text];

    for (size_t i = 0; i < n; i++) {
        unit_tell_words(&lb->units, steps[i].text, told, sizeof told);
        text_copy(steps[i].text, sizeof steps[i].text, told);
    }
}

bool logbook_list_steps(struct logbook *lb, const char *visit_id, struct arena *a, struct logbook_step **steps, size_t *n, struct err *e)
{
    static const char sql[] = "SELECT id, visit, text, note, state, done_on, waits_for, after_m, caution, source, sort FROM step"
                              " WHERE visit = ?1 AND gone = 0 ORDER BY sort, id";
    void *items;
    bool fine = logbook_db_list(lb, sql, visit_id, read_step, sizeof(struct logbook_step), a, &items, n, e);

    *steps = items;
    tell_steps(lb, *steps, fine ? *n : 0);
    return fine;
}

#define THIS_DATE "(SELECT date FROM visit WHERE id = ?1)"

bool logbook_list_left_steps(struct logbook *lb, const char *visit_id, struct arena *a, struct logbook_step **steps, size_t *n, struct err *e)
{
    static const char sql[] = "SELECT s.id, s.visit, s.text, s.note, s.state, s.done_on, s.waits_for, s.after_m, s.caution, s.source, s.sort FROM step s"
                              " JOIN visit v ON v.id = s.visit WHERE v.engine = (SELECT engine FROM visit WHERE id = ?1) AND v.id <> ?1 AND v.gone = 0 AND s.gone = 0"
                              " AND (" LOGBOOK_STEP_STAYS_OPEN
                              "  OR (s.state = 'done' AND v.date < " THIS_DATE " AND s.done_on >= " THIS_DATE ")) ORDER BY v.date, v.id, s.sort, s.id";
    void *items;
    bool fine = logbook_db_list(lb, sql, visit_id, read_step, sizeof(struct logbook_step), a, &items, n, e);

    *steps = items;
    tell_steps(lb, *steps, fine ? *n : 0);
    return fine;
}

/* ---- parts to get ---- */

bool logbook_put_need(struct logbook *lb, const struct logbook_need *s, struct err *e)
{
    static const char last[] = "SELECT coalesce(max(sort), 0) FROM need WHERE visit = ?1";
    int64_t sort = s->sort;

    return logbook_db_next_sort(lb, last, s->visit, &sort, e) && logbook_set_int(lb, "need", s->id, "gone", 0, e) &&
           logbook_set_text(lb, "need", s->id, "visit", s->visit, e) && put(lb, "need", s->id, "text", s->text, e) &&
           put(lb, "need", s->id, "note", s->note, e) && put(lb, "need", s->id, "state", s->state, e) &&
           put(lb, "need", s->id, "on_date", s->on, e) && logbook_set_int(lb, "need", s->id, "quantity", s->quantity, e) &&
           logbook_set_int(lb, "need", s->id, "sort", sort, e);
}

static bool read_need(sqlite3_stmt *q, void *item, struct err *e)
{
    struct logbook_need *s = item;

    (void)e;
    logbook_db_text(q, 0, s->id, sizeof s->id);
    logbook_db_text(q, 1, s->visit, sizeof s->visit);
    logbook_db_text(q, 2, s->text, sizeof s->text);
    logbook_db_text(q, 3, s->note, sizeof s->note);
    logbook_db_text(q, 4, s->state, sizeof s->state);
    logbook_db_text(q, 5, s->on, sizeof s->on);
    s->quantity = sqlite3_column_int(q, 6);
    s->sort = sqlite3_column_int64(q, 7);
    return true;
}

bool logbook_list_needs(struct logbook *lb, const char *visit_id, struct arena *a, struct logbook_need **needs, size_t *n, struct err *e)
{
    static const char sql[] = "SELECT id, visit, text, note, state, on_date, quantity, sort FROM need WHERE visit = ?1 AND gone = 0 ORDER BY sort, id";
    void *items;
    bool fine = logbook_db_list(lb, sql, visit_id, read_need, sizeof(struct logbook_need), a, &items, n, e);

    *needs = items;
    return fine;
}

bool logbook_list_left_needs(struct logbook *lb, const char *visit_id, struct arena *a, struct logbook_need **needs, size_t *n, struct err *e)
{
    static const char sql[] = "SELECT s.id, s.visit, s.text, s.note, s.state, s.on_date, s.quantity, s.sort FROM need s JOIN visit v ON v.id = s.visit"
                              " WHERE v.engine = (SELECT engine FROM visit WHERE id = ?1) AND v.id <> ?1 AND v.gone = 0 AND s.gone = 0"
                              " AND (s.state <> 'fitted' OR (v.date < " THIS_DATE " AND s.on_date >= " THIS_DATE ")) ORDER BY v.date, v.id, s.sort, s.id";
    void *items;
    bool fine = logbook_db_list(lb, sql, visit_id, read_need, sizeof(struct logbook_need), a, &items, n, e);

    *needs = items;
    return fine;
}

/* ---- facts for next time ---- */

bool logbook_put_fact(struct logbook *lb, const struct logbook_fact *f, struct err *e)
{
    static const char last[] = "SELECT coalesce(max(sort), 0) FROM fact WHERE engine = ?1";
    int64_t sort = f->sort;

    return logbook_db_next_sort(lb, last, f->engine, &sort, e) && logbook_set_int(lb, "fact", f->id, "gone", 0, e) &&
           logbook_set_text(lb, "fact", f->id, "engine", f->engine, e) && put(lb, "fact", f->id, "label", f->label, e) &&
           put(lb, "fact", f->id, "value", f->value, e) && logbook_set_int(lb, "fact", f->id, "sort", sort, e);
}

static bool read_fact(sqlite3_stmt *q, void *item, struct err *e)
{
    struct logbook_fact *f = item;

    (void)e;
    logbook_db_text(q, 0, f->id, sizeof f->id);
    logbook_db_text(q, 1, f->engine, sizeof f->engine);
    logbook_db_text(q, 2, f->label, sizeof f->label);
    logbook_db_text(q, 3, f->value, sizeof f->value);
    f->sort = sqlite3_column_int64(q, 4);
    return true;
}

bool logbook_list_facts(struct logbook *lb, const char *engine_id, struct arena *a, struct logbook_fact **facts, size_t *n, struct err *e)
{
    static const char sql[] = "SELECT id, engine, label, value, sort FROM fact WHERE engine = ?1 AND gone = 0 ORDER BY sort, id";
    void *items;
    bool fine = logbook_db_list(lb, sql, engine_id, read_fact, sizeof(struct logbook_fact), a, &items, n, e);

    *facts = items;
    return fine;
}
