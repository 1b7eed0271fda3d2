/* logbook_engine.c - engines in and out. Groups and orders are kept by label, so that a person who
 * reads the database understands them. */
#include "logbook/logbook_db.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/mem.h"
#include "base/text.h"

static bool put_um(struct logbook *lb, const char *id, const char *column, double mm, struct err *e)
{
    return logbook_db_put_maybe(lb, "engine", id, column, mm > 0 ? MAYBE(mm) : (struct maybe){0}, 1000, e);
}

static void groups_text(const struct engine *en, const engine_set *groups, int n, struct text *t)
{
    char line[600];

    text_clear(t);
    engine_format_groups(en, groups, n, line, sizeof line);
    text_add(t, line);
}

static bool are_first(const int *holes, int n)
{
    for (int i = 0; i < n; i++)
        if (holes[i] != i)
            return false;
    return true;
}

/* Labels, and the holes they name where these are not as the places. */
static void banks_text(const struct engine *en, const struct logbook_holes *h, struct text *t)
{
    bool first = are_first(h->cylinder, en->n_cylinders);

    for (int b = 0; b < en->n_banks; b++) {
        const struct engine_bank *bank = &en->banks[b];

        text_addf(t, "%s%s\t", b ? "\n" : "", bank->name);
        for (int i = 0; i < bank->n_cylinders; i++)
            text_addf(t, "%s%s", i ? " " : "", en->cylinders[bank->first + i].label);
        for (int i = 0; i < bank->n_cylinders && !first; i++)
            text_addf(t, "%s%d", i ? " " : "\t", h->cylinder[bank->first + i]);
    }
}

static void positions_text(const struct engine *en, const struct logbook_holes *h, struct text *t)
{
    bool first = are_first(h->position, en->n_positions);

    for (int i = 0; i < en->n_positions && (!first || en->n_positions > 1); i++) {
        text_addf(t, "%s%s", i ? "\n" : "", en->n_positions > 1 ? en->position_names[i] : "");
        if (!first)
            text_addf(t, "\t%d", h->position[i]);
    }
}

/* What is noted is told apart by these names. */
static bool check_positions(const struct engine *en, struct err *e)
{
    for (int i = 0; i < en->n_positions; i++)
        for (int k = 0; k < i && en->n_positions > 1; k++)
            if (strcmp(en->position_names[i], en->position_names[k]) == 0)
                return err_set(e, ERR_BADARG, "Two plugs of a cylinder are called “%s”. Give each a name of its own.", en->position_names[i]);
    return true;
}

bool logbook_put_engine(struct logbook *lb, const char *id, const struct engine *en, struct err *e)
{
    struct text banks = {0}, coil = {0}, mixture = {0}, breather = {0}, names = {0};
    char firing[400], intervals[400];
    const struct engine_plug_spec *p = &en->plug;
    struct logbook_holes holes;
    struct err why = {0};
    bool fine;

    if (!check_positions(en, &why) || !logbook_db_renumber(lb, id, en, &holes, &why)) {
        if (e != NULL)
            *e = why;
        return logbook_db_fail(lb, &why);
    }
    banks_text(en, &holes, &banks);
    engine_format_firing(en, firing, sizeof firing);
    engine_format_intervals(en, intervals, sizeof intervals);
    if (en->coil_groups_given)
        groups_text(en, en->coil_groups, en->n_coil_groups, &coil);
    groups_text(en, en->mixture_groups, en->n_mixture_groups, &mixture);
    if (en->breather_near != 0)
        groups_text(en, &en->breather_near, 1, &breather);
    positions_text(en, &holes, &names);
    fine = logbook_set_int(lb, "engine", id, "gone", 0, e) && logbook_db_put_text(lb, "engine", id, "name", en->name, e) &&
           logbook_db_put_text(lb, "engine", id, "subtitle", en->subtitle, e) &&
           logbook_db_put_text(lb, "engine", id, "layout", engine_layout_id(en->layout), e) &&
           logbook_db_put_text(lb, "engine", id, "banks", text_get(&banks), e) &&
           logbook_db_put_text(lb, "engine", id, "firing", firing, e) &&
           logbook_db_put_text(lb, "engine", id, "intervals", intervals, e) &&
           logbook_set_int(lb, "engine", id, "strokes", en->strokes, e) &&
           logbook_db_put_text(lb, "engine", id, "ignition", engine_ignition_id(en->ignition), e) &&
           (en->coil_groups_given ? logbook_set_text(lb, "engine", id, "coil_groups", text_get(&coil), e) : logbook_clear(lb, "engine", id, "coil_groups", e)) &&
           logbook_db_put_text(lb, "engine", id, "mixture_groups", text_get(&mixture), e) &&
           logbook_db_put_text(lb, "engine", id, "breather_near", text_get(&breather), e) &&
           logbook_set_int(lb, "engine", id, "n_positions", en->n_positions, e) &&
           logbook_db_put_text(lb, "engine", id, "position_names", text_get(&names), e) &&
           logbook_db_put_text(lb, "engine", id, "access", engine_access_id(en->access), e) &&
           logbook_db_put_text(lb, "engine", id, "head", engine_head_id(en->head), e) &&
           logbook_db_put_text(lb, "engine", id, "thread", p->thread, e) &&
           logbook_db_put_text(lb, "engine", id, "seat", engine_seat_id(p->seat), e) &&
           logbook_db_put_text(lb, "engine", id, "electrode", engine_electrode_id(p->electrode), e) &&
           put_um(lb, id, "gap_min_um", p->gap_min_mm, e) && put_um(lb, id, "gap_max_um", p->gap_max_mm, e) &&
           put_um(lb, id, "gap_limit_um", p->gap_limit_mm, e) && put_um(lb, id, "torque_mnm", p->maker_torque_nm, e) &&
           put_um(lb, id, "hex_um", p->hex_mm, e) && logbook_db_put_text(lb, "engine", id, "plug_type", p->type, e) &&
           logbook_db_put_text(lb, "engine", id, "fuel_system", engine_fuel_id(en->fuel), e) &&
           (p->heat_given ? logbook_set_int(lb, "engine", id, "heat_steps", p->heat_steps, e) : logbook_clear(lb, "engine", id, "heat_steps", e));
    text_release(&banks);
    text_release(&coil);
    text_release(&mixture);
    text_release(&breather);
    text_release(&names);
    return fine;
}

static bool read_banks(struct engine *en, const char *text, struct err *e)
{
    while (*text != '\0') {
        char line[512], *labels[ENGINE_MAX_CYLINDERS + 1], *tab, *at;
        const char *pointers[ENGINE_MAX_CYLINDERS];
        size_t n = strcspn(text, "\n");
        int n_labels = 0;

        if (n >= sizeof line)
            return err_set(e, ERR_FORMAT, "The numbering of an engine in the logbook is too long.");
        memcpy(line, text, n);
        line[n] = '\0';
        text += n + (text[n] == '\n');
        tab = strchr(line, '\t');
        if (tab == NULL)
            return err_set(e, ERR_FORMAT, "The numbering of an engine in the logbook is damaged.");
        *tab = '\0';
        tab[1 + strcspn(tab + 1, "\t")] = '\0'; /* the holes: logbook_holes.c */
        for (at = tab + 1; *at != '\0' && n_labels < ENGINE_MAX_CYLINDERS;) {
            labels[n_labels] = at;
            at += strcspn(at, " ");
            if (*at == ' ')
                *at++ = '\0';
            pointers[n_labels] = labels[n_labels];
            n_labels++;
        }
        if (!engine_add_bank(en, line, pointers, n_labels, e))
            return false;
    }
    return true;
}

static bool read_groups(const struct engine *en, const char *text, engine_set *groups, int *n, struct err *e)
{
    struct err why = {0};

    return engine_parse_groups(en, text, groups, n, &why) || err_set(e, ERR_FORMAT, "The groups of an engine in the logbook are damaged: %s", why.text);
}

bool logbook_db_read_engine(sqlite3_stmt *q, int first, struct engine *en, struct err *e)
{
    char text[1200];
    int c = first, word;
    engine_set set[ENGINE_MAX_CYLINDERS];
    int n;

    engine_init(en);
    logbook_db_text(q, c++, en->name, sizeof en->name);
    logbook_db_text(q, c++, en->subtitle, sizeof en->subtitle);
    logbook_db_text(q, c++, text, sizeof text);
    word = engine_layout_find(text);
    en->layout = word >= 0 ? (enum engine_layout)word : ENGINE_INLINE;
    logbook_db_text(q, c++, text, sizeof text);
    if (!read_banks(en, text, e))
        return false;
    logbook_db_text(q, c++, text, sizeof text);
    if (!engine_parse_firing(en, text, e))
        return false;
    logbook_db_text(q, c++, text, sizeof text);
    if (!engine_parse_intervals(en, text, e))
        return false;
    en->strokes = sqlite3_column_int(q, c++);
    logbook_db_text(q, c++, text, sizeof text);
    word = engine_ignition_find(text);
    en->ignition = word >= 0 ? (enum engine_ignition)word : ENGINE_IGNITION_UNKNOWN;
    en->coil_groups_given = sqlite3_column_type(q, c) != SQLITE_NULL;
    logbook_db_text(q, c++, text, sizeof text);
    if (en->coil_groups_given && !read_groups(en, text, en->coil_groups, &en->n_coil_groups, e))
        return false;
    logbook_db_text(q, c++, text, sizeof text);
    if (!read_groups(en, text, en->mixture_groups, &en->n_mixture_groups, e))
        return false;
    logbook_db_text(q, c++, text, sizeof text);
    if (!read_groups(en, text, set, &n, e))
        return false;
    for (int i = 0; i < n; i++)
        en->breather_near |= set[i];
    en->n_positions = sqlite3_column_int(q, c++);
    logbook_db_text(q, c++, text, sizeof text);
    for (int i = 0, at = 0; i < ENGINE_MAX_POSITIONS && text[at] != '\0'; i++) {
        int len = (int)strcspn(text + at, "\n");

        text_format(en->position_names[i], sizeof en->position_names[i], "%.*s", (int)strcspn(text + at, "\t\n"), text + at);
        at += len + (text[at + len] == '\n');
    }
    logbook_db_text(q, c++, text, sizeof text);
    word = engine_access_find(text);
    en->access = word >= 0 ? (enum engine_access)word : ENGINE_ACCESS_UNKNOWN;
    logbook_db_text(q, c++, text, sizeof text);
    word = engine_head_find(text);
    en->head = word >= 0 ? (enum engine_head)word : ENGINE_HEAD_UNKNOWN;
    logbook_db_text(q, c++, en->plug.thread, sizeof en->plug.thread);
    logbook_db_text(q, c++, text, sizeof text);
    word = engine_seat_find(text);
    en->plug.seat = word >= 0 ? (enum engine_seat)word : ENGINE_SEAT_UNKNOWN;
    logbook_db_text(q, c++, text, sizeof text);
    word = engine_electrode_find(text);
    en->plug.electrode = word >= 0 ? (enum engine_electrode)word : ENGINE_ELECTRODE_UNKNOWN;
    en->plug.gap_min_mm = logbook_db_maybe(q, c++, 0.001).value;
    en->plug.gap_max_mm = logbook_db_maybe(q, c++, 0.001).value;
    en->plug.gap_limit_mm = logbook_db_maybe(q, c++, 0.001).value;
    en->plug.heat_given = sqlite3_column_type(q, c) != SQLITE_NULL;
    en->plug.heat_steps = sqlite3_column_int(q, c++);
    en->plug.maker_torque_nm = logbook_db_maybe(q, c++, 0.001).value;
    en->plug.hex_mm = logbook_db_maybe(q, c++, 0.001).value;
    logbook_db_text(q, c++, en->plug.type, sizeof en->plug.type);
    logbook_db_text(q, c++, text, sizeof text);
    word = engine_fuel_find(text);
    en->fuel = word >= 0 ? (enum engine_fuel)word : ENGINE_FUEL_UNKNOWN;
    return engine_finish(en, e);
}

bool logbook_load_engine(struct logbook *lb, const char *engine_id, struct engine *en, struct err *e)
{
    static const char sql[] = "SELECT " LOGBOOK_ENGINE_COLUMNS " FROM engine WHERE id = ?1 AND gone = 0";
    sqlite3_stmt *q = logbook_db_prepare(lb, sql, e);
    bool row, fine;

    if (q == NULL)
        return false;
    logbook_db_bind(q, 1, engine_id);
    if (!logbook_db_step(lb, q, &row, e))
        return false;
    fine = row ? logbook_db_read_engine(q, 0, en, e) : err_set(e, ERR_NOTFOUND, "This engine is not in the logbook.");
    logbook_db_done(q);
    return fine;
}

static bool read_listed(sqlite3_stmt *q, void *item, struct err *e)
{
    struct logbook_engine *x = item;
    char text[400];
    int c = 26; /* behind LOGBOOK_ENGINE_COLUMNS */

    if (!logbook_db_read_engine(q, 0, &x->engine, e))
        return false;
    text_copy(x->name, sizeof x->name, x->engine.name);
    text_copy(x->subtitle, sizeof x->subtitle, x->engine.subtitle);
    logbook_db_text(q, c++, x->id, sizeof x->id);
    x->n_visits = sqlite3_column_int(q, c++);
    logbook_db_text(q, c++, x->last_visit, sizeof x->last_visit);
    logbook_db_text(q, c++, x->last_date, sizeof x->last_date);
    x->last_odometer_m = logbook_db_maybe(q, c++, 1);
    logbook_db_text(q, c++, text, sizeof text);
    x->last_odometer_unit = words_find(WORDS_ODOMETER_UNIT, text);
    logbook_db_text(q, c++, x->last_note, sizeof x->last_note);
    logbook_db_text(q, c++, text, sizeof text);
    text[strcspn(text, " ")] = '\0';
    text_copy(x->last_complaint, sizeof x->last_complaint, text);
    x->n_open_steps = sqlite3_column_int(q, c++);
    x->n_steps_waiting = sqlite3_column_int(q, c++);
    x->n_parts_ordered = sqlite3_column_int(q, c++);
    x->n_parts_to_order = sqlite3_column_int(q, c++);
    x->n_photos = sqlite3_column_int(q, c++);
    logbook_db_text(q, c++, x->next_step, sizeof x->next_step);
    return true;
}

bool logbook_list_engines(struct logbook *lb, struct arena *a, struct logbook_engine **engines, size_t *n, struct err *e)
{
    /* Each table is gone through once, not once for every engine: 7 ms of 10,000 visits, not 23. A visit's place is
     * LOGBOOK_LATEST_FIRST as one text, so that the latest of a group comes with its greatest. */
    static const char sql[] =
        "WITH visits AS MATERIALIZED (SELECT engine, count(*) AS n, id, max((NOT is_ahead(date)) || (date IS NULL) || coalesce(date, '') || char(1) || id) FROM visit"
        "  WHERE gone = 0 GROUP BY engine),"
        " steps AS MATERIALIZED (SELECT v.engine, v.date, v.id AS visit, s.sort, s.text, s.state = 'waiting' AS waits,"
        "  " LOGBOOK_STEP_STAYS_OPEN " OR (v.id = (SELECT id FROM visits WHERE engine = v.engine) AND s.state <> 'done') AS stays"
        "  FROM step s CROSS JOIN visit v ON v.id = s.visit WHERE v.gone = 0 AND s.gone = 0 AND s.state <> 'done'),"
        " needs AS MATERIALIZED (SELECT v.engine, sum(s.state = 'ordered') AS ordered, sum(s.state = 'to-order') AS missing FROM need s CROSS JOIN visit v ON v.id = s.visit"
        "  WHERE v.gone = 0 AND s.gone = 0 GROUP BY v.engine),"
        " photos AS MATERIALIZED (SELECT v.engine, count(*) AS n FROM photo p CROSS JOIN visit v ON v.id = p.visit WHERE v.gone = 0 AND p.gone = 0 GROUP BY v.engine)"
        " SELECT " LOGBOOK_ENGINE_COLUMNS ", e.id, coalesce(visits.n, 0),"
        " last.id, last.date, last.odometer_m, last.odometer_unit, last.ended_with, last.complaints,"
        " (SELECT count(*) FROM steps WHERE engine = e.id AND stays), (SELECT count(*) FROM steps WHERE engine = e.id AND waits),"
        " coalesce(needs.ordered, 0), coalesce(needs.missing, 0), coalesce(photos.n, 0),"
        " (SELECT text FROM steps WHERE engine = e.id AND stays ORDER BY date IS NULL, date, visit, sort LIMIT 1)"
        " FROM engine e LEFT JOIN visits ON visits.engine = e.id LEFT JOIN visit last ON last.id = visits.id LEFT JOIN needs ON needs.engine = e.id LEFT JOIN photos ON photos.engine = e.id"
        " WHERE e.gone = 0 ORDER BY last.id IS NULL, last.date IS NULL DESC, last.date DESC, e.id DESC";
    void *items;
    bool fine = logbook_db_list(lb, sql, NULL, read_listed, sizeof(struct logbook_engine), a, &items, n, e);

    *engines = items;
    for (size_t i = 0; fine && i < *n; i++) {
        char told[sizeof (*engines)->next_step];

        unit_tell_words(&lb->units, (*engines)[i].next_step, told, sizeof told);
        text_copy((*engines)[i].next_step, sizeof told, told);
    }
    return fine;
}

bool logbook_find_engine(struct logbook *lb, const char *name, char id[UUID_BYTES], struct err *e)
{
    struct arena *a = arena_create();
    struct logbook_engine *engines;
    struct text all = {0};
    size_t n;
    bool fine;

    if (!logbook_list_engines(lb, a, &engines, &n, e)) {
        arena_destroy(a);
        return false;
    }
    fine = false;
    for (size_t i = 0; i < n && !fine; i++)
        if ((name[0] == '\0' && n == 1) || strcmp(engines[i].id, name) == 0 || strcmp(engines[i].name, name) == 0) {
            text_copy(id, UUID_BYTES, engines[i].id);
            fine = true;
        }
    for (size_t i = 0; i < n; i++)
        text_addf(&all, "%s“%s”", i ? ", " : "", engines[i].name);
    if (!fine && n == 0)
        err_set(e, ERR_NOTFOUND, "The logbook has no engine yet.");
    else if (!fine)
        err_set(e, ERR_NOTFOUND, "%s%s%s Name one of: %s.", name[0] ? "There is no engine “" : "The logbook has several engines.", name, name[0] ? "”." : "", TEXT_SHORT(text_get(&all), 400));
    text_release(&all);
    arena_destroy(a);
    return fine;
}
