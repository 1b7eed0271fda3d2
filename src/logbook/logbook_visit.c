/* logbook_visit.c - visits and readings in; lists of visits. Out with their readings: logbook_record.c. */
#include "logbook/logbook_db.h"

#include <assert.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "base/text.h"

static const char *const seen_columns[ZONE_COUNT] = {"seen_firing_end", "seen_threads", "seen_body", "seen_well",
                                                     "seen_boot", "seen_coil", "seen_lead", "seen_connector"};

/* ---- in ---- */

static bool put_text(struct logbook *lb, const char *table, const char *row, const char *column, const char *s, struct err *e)
{
    return logbook_db_put_text(lb, table, row, column, s, e);
}

/* What a visit keeps in columns of its own, as it is written. */
struct field {
    const char *column;
    bool given, is_number;
    int64_t number;
    struct text text;
};
#define N_FIELDS 22

static void text_field(struct field *f, const char *column, const char *s)
{
    f->column = column;
    f->given = s[0] != '\0';
    text_add(&f->text, s);
}

static void number_field(struct field *f, const char *column, bool given, int64_t number)
{
    *f = (struct field){.column = column, .given = given, .is_number = true, .number = number};
}

static void fields_of(const struct engine *en, const struct visit *v, struct field f[N_FIELDS])
{
    char removal[1200];
    int n = 0;

    memset(f, 0, N_FIELDS * sizeof *f);
    visit_format_removal(en, v, removal, sizeof removal);
    text_field(&f[n++], "date", v->date);
    number_field(&f[n++], "odometer_m", v->odometer_m.given, llround(v->odometer_m.value));
    text_field(&f[n++], "odometer_unit", words_id(WORDS_ODOMETER_UNIT, v->odometer_unit));
    text_field(&f[n++], "removal", removal);
    text_field(&f[n++], "socket", words_id(WORDS_SOCKET, v->socket));
    text_field(&f[n++], "last_run", words_id(WORDS_LAST_RUN, v->last_run));
    text_field(&f[n++], "fuel", words_id(WORDS_FUEL, v->fuel));
    number_field(&f[n++], "oil_in_intake", v->oil_in_intake != 0, v->oil_in_intake == 1);
    text_field(&f[n++], "complaint_words", v->complaint_words);
    text_field(&f[n++], "notes", v->notes);
    text_field(&f[n++], "last_day", v->care.last_day);
    text_field(&f[n++], "weather", v->care.weather);
    text_field(&f[n++], "oil_level", v->care.oil_level);
    text_field(&f[n++], "oil_use", v->care.oil_use);
    number_field(&f[n++], "oil_change_ml", v->care.oil_change_l.given, llround(v->care.oil_change_l.value * 1000));
    text_field(&f[n++], "oil_change_unit", v->care.oil_change_unit);
    text_field(&f[n++], "oil_grade", v->care.oil_grade);
    text_field(&f[n++], "oil_filter", v->care.oil_filter);
    f[n] = (struct field){.column = "complaints", .given = v->complaints_given};
    for (int i = 0; i < v->n_complaints; i++)
        text_addf(&f[n].text, "%s%s", i ? " " : "", words_id(WORDS_COMPLAINT, v->complaints[i]));
    f[++n] = (struct field){.column = "codes", .given = v->n_codes > 0};
    for (int i = 0; i < v->n_codes; i++)
        text_addf(&f[n].text, "%s%s", i ? " " : "", v->codes[i]);
    f[++n] = (struct field){.column = "tests", .given = v->n_tests > 0};
    for (int i = 0; i < v->n_tests; i++)
        text_addf(&f[n].text, "%s%s\t%s\t%s", i ? "\n" : "", words_id(WORDS_TEST, v->tests[i].test),
                  en->cylinders[v->tests[i].cylinder].label, words_id(WORDS_TEST_RESULT, v->tests[i].result));
    f[++n] = (struct field){.column = "outside", .given = v->outside_seen};
    for (int i = 0; i < v->n_outside; i++)
        text_addf(&f[n].text, "%s%d\t%s", i ? "\n" : "", v->outside[i].amount, en->banks[v->outside[i].bank].name);
    assert(n + 1 == N_FIELDS);
}

static void fields_release(struct field f[N_FIELDS])
{
    for (int i = 0; i < N_FIELDS; i++)
        text_release(&f[i].text);
}

static bool same_field(const struct field *a, const struct field *b)
{
    return a->given == b->given && a->number == b->number && text_equal(text_get(&a->text), text_get(&b->text));
}

static bool put_field(struct logbook *lb, const char *id, const struct field *f, struct err *e)
{
    if (!f->given)
        return logbook_clear(lb, "visit", id, f->column, e);
    return f->is_number ? logbook_set_int(lb, "visit", id, f->column, f->number, e)
                        : logbook_set_text(lb, "visit", id, f->column, text_get(&f->text), e);
}

/* ---- work done: a row for each line ---- */

struct done_row {
    char id[UUID_BYTES], what[200];
    bool used;
};

static bool read_done(sqlite3_stmt *q, void *item, struct err *e)
{
    struct done_row *d = item;

    (void)e;
    logbook_db_text(q, 0, d->id, sizeof d->id);
    logbook_db_text(q, 1, d->what, sizeof d->what);
    return true;
}

/* A line of `rows` that says this and is not taken yet. */
static struct done_row *find_done(struct done_row *rows, size_t n, const char *what)
{
    for (size_t i = 0; i < n; i++)
        if (!rows[i].used && strcmp(rows[i].what, what) == 0)
            return &rows[i];
    return NULL;
}

static struct done_row *done_lines(struct arena *a, const struct engine *en, const struct visit *v)
{
    struct done_row *lines = arena_alloc(a, VISIT_MAX_DONE, sizeof *lines);

    for (int i = 0; v != NULL && i < v->n_done; i++)
        visit_format_done(en, &v->done[i], lines[i].what, sizeof lines[i].what);
    return lines;
}

/* Makes the lines kept those of `v`. With `was`, only what `v` added to it or took from it; without,
 * a line that cannot be read against this engine stays: the person was not shown it either. */
static bool put_done(struct logbook *lb, const char *visit_id, const struct engine *was_en, const struct visit *was,
                     const struct engine *en, const struct visit *v, struct err *e)
{
    static const char sql[] = "SELECT id, what FROM done WHERE visit = ?1 AND gone = 0 ORDER BY sort, id";
    struct arena *a = arena_create();
    struct done_row *before = done_lines(a, was_en, was), *after = done_lines(a, en, v), *rows;
    size_t n_before = was != NULL ? (size_t)was->n_done : 0, n;
    void *items;
    bool fine = logbook_db_list(lb, sql, visit_id, read_done, sizeof *rows, a, &items, &n, e);

    rows = items;
    for (int i = 0; fine && i < v->n_done; i++) {
        struct done_row *known = find_done(before, n_before, after[i].what), *row = find_done(rows, n, after[i].what);
        char number[12], id[UUID_BYTES];

        if (known != NULL)
            known->used = true;
        if (row != NULL)
            row->used = true;
        else if (known != NULL)
            continue; /* taken away meanwhile by somebody else */
        snprintf(number, sizeof number, "%d", i);
        uuid_from_parts(id, "done", visit_id, after[i].what, number);
        if (row == NULL && logbook_is_there(lb, "done", id))
            uuid_make(id); /* the name of a line that stands further up or down now */
        if (row != NULL)
            text_copy(id, sizeof id, row->id);
        fine = logbook_set_int(lb, "done", id, "gone", 0, e) && logbook_set_text(lb, "done", id, "visit", visit_id, e) &&
               logbook_set_text(lb, "done", id, "what", after[i].what, e) && logbook_set_int(lb, "done", id, "sort", i, e);
    }
    for (size_t i = 0; fine && i < n; i++) {
        struct visit_done parsed;
        struct err ignored;
        struct done_row *known = find_done(before, n_before, rows[i].what);

        if (known != NULL)
            known->used = true;
        if (!rows[i].used && (was != NULL ? known != NULL : visit_parse_done(en, rows[i].what, &parsed, &ignored)))
            fine = logbook_remove(lb, "done", rows[i].id, e);
    }
    arena_destroy(a);
    return fine;
}

bool logbook_put_visit(struct logbook *lb, const char *id, const char *engine_id, const struct engine *en,
                       const struct visit *v, struct err *e)
{
    struct field f[N_FIELDS];
    bool fine = logbook_set_int(lb, "visit", id, "gone", 0, e) && logbook_set_text(lb, "visit", id, "engine", engine_id, e);

    fields_of(en, v, f);
    for (int i = 0; fine && i < N_FIELDS; i++)
        fine = put_field(lb, id, &f[i], e);
    fields_release(f);
    return fine && put_done(lb, id, en, NULL, en, v, e);
}

bool logbook_change_visit(struct logbook *lb, const char *id, const struct engine *en, const struct visit *was, const struct visit *v, struct err *e)
{
    if (!logbook_is_there(lb, "visit", id)) {
        struct err why;

        err_set(&why, ERR_NOTFOUND, "This visit was taken out meanwhile; nothing was changed.");
        if (e != NULL)
            *e = why;
        return logbook_db_fail(lb, &why);
    }
    return logbook_db_change_visit(lb, id, en, was, en, v, e);
}

bool logbook_db_change_visit(struct logbook *lb, const char *id, const struct engine *was_en, const struct visit *was,
                             const struct engine *en, const struct visit *v, struct err *e)
{
    struct field before[N_FIELDS], after[N_FIELDS];
    bool fine = true;

    fields_of(was_en, was, before);
    fields_of(en, v, after);
    for (int i = 0; fine && i < N_FIELDS; i++)
        fine = same_field(&before[i], &after[i]) || put_field(lb, id, &after[i], e);
    fields_release(before);
    fields_release(after);
    return fine && put_done(lb, id, was_en, was, en, v, e);
}

void logbook_reading_id(const char *visit_id, int cylinder, int position, char id[UUID_BYTES])
{
    char c[16], p[16];

    snprintf(c, sizeof c, "%d", cylinder);
    snprintf(p, sizeof p, "%d", position);
    uuid_from_parts(id, "reading", visit_id, c, p);
}

bool logbook_find_reading(struct logbook *lb, const char *visit_id, int cylinder, int position, char id[UUID_BYTES], struct err *e)
{
    struct logbook_holes holes;

    if (!logbook_db_holes_of_visit(lb, visit_id, &holes, e))
        return false;
    logbook_db_hole(&holes, &cylinder, &position);
    logbook_reading_id(visit_id, cylinder, position, id);
    return true;
}

bool logbook_touch_reading(struct logbook *lb, const char *visit_id, int cylinder, int position, char id[UUID_BYTES], struct err *e)
{
    struct logbook_holes holes;

    if (!logbook_db_holes_of_visit(lb, visit_id, &holes, e))
        return false;
    logbook_db_hole(&holes, &cylinder, &position);
    logbook_reading_id(visit_id, cylinder, position, id);
    return logbook_set_int(lb, "reading", id, "gone", 0, e) && logbook_set_text(lb, "reading", id, "visit", visit_id, e) &&
           logbook_set_int(lb, "reading", id, "cylinder", cylinder, e) && logbook_set_int(lb, "reading", id, "position", position, e);
}

static bool put_row(struct logbook *lb, const char *id, const char *reading, const struct sign_row *row, int amount, struct err *e)
{
    return logbook_set_int(lb, "observation", id, "gone", 0, e) && logbook_set_text(lb, "observation", id, "reading", reading, e) &&
           logbook_set_text(lb, "observation", id, "zone", zone_row(row->zone)->id, e) &&
           logbook_set_text(lb, "observation", id, "sign", row->id, e) && logbook_set_int(lb, "observation", id, "amount", amount, e);
}

bool logbook_db_put_amount(struct logbook *lb, const char *reading, enum sign s, int amount, struct err *e)
{
    const struct sign_row *row = sign_row(s);
    char id[UUID_BYTES];

    uuid_from_parts(id, "observation", reading, zone_row(row->zone)->id, row->id);
    if (amount <= 0) /* one that never was stays so */
        return !logbook_is_there(lb, "observation", id) || logbook_remove(lb, "observation", id, e);
    return put_row(lb, id, reading, row, amount, e);
}

bool logbook_db_put_none(struct logbook *lb, const char *reading, enum sign s, struct err *e)
{
    const struct sign_row *row = sign_row(s);
    char id[UUID_BYTES];

    uuid_from_parts(id, "observation", reading, zone_row(row->zone)->id, row->id);
    return put_row(lb, id, reading, row, 0, e);
}

static bool put_real(struct logbook *lb, const char *row, const char *column, struct maybe m, struct err *e)
{
    return m.given ? logbook_set_real(lb, "reading", row, column, m.value, e) : logbook_clear(lb, "reading", row, column, e);
}

static bool put_word(struct logbook *lb, const char *row, const char *column, enum words list, int value, struct err *e)
{
    return put_text(lb, "reading", row, column, words_id(list, value), e);
}

/* The plug of that name the engine knows: of several the one in that hole; else the id a new one of the name has. */
static bool plug_of_name(struct logbook *lb, const char *engine, const struct reading *r, char part[UUID_BYTES], struct err *e)
{
    static const char sql[] = "SELECT p.id FROM part p WHERE p.engine = ?1 AND p.kind = 'plug' AND p.name = ?2 AND p.gone = 0"
                              " ORDER BY EXISTS (SELECT 1 FROM installation i WHERE i.part = p.id AND i.gone = 0 AND i.cylinder = ?3 AND coalesce(i.position, 0) = ?4) DESC, p.id = ?5 DESC, p.id LIMIT 1";
    int cylinder = r->cylinder, position = r->position;
    struct logbook_holes holes;
    sqlite3_stmt *q = logbook_db_holes_of_engine(lb, engine, &holes, e) ? logbook_db_prepare(lb, sql, e) : NULL;
    bool there;

    uuid_from_parts(part, "part", engine, "plug", r->plug_name);
    if (q == NULL)
        return false;
    logbook_db_hole(&holes, &cylinder, &position);
    logbook_db_bind(q, 1, engine);
    logbook_db_bind(q, 2, r->plug_name);
    sqlite3_bind_int(q, 3, cylinder);
    sqlite3_bind_int(q, 4, position);
    logbook_db_bind(q, 5, part);
    if (!logbook_db_step(lb, q, &there, e))
        return false;
    if (there)
        logbook_db_text(q, 0, part, UUID_BYTES);
    logbook_db_done(q);
    return true;
}

/* The part a reading names, made when it is new: by its id, or by its name, which within an engine is one
 * plug. A part that is there keeps its name: a reading tells which plug it was, it does not rename it. */
static bool put_plug(struct logbook *lb, const char *visit_id, const struct reading *r, char part[UUID_BYTES], struct err *e)
{
    char engine[UUID_BYTES], owner[UUID_BYTES], name[64];

    part[0] = '\0';
    if (r->plug_name[0] == '\0' && !uuid_is_valid(r->plug_id))
        return true;
    logbook_get_text(lb, "visit", visit_id, "engine", engine, sizeof engine);
    if (!uuid_is_valid(r->plug_id)) {
        if (!plug_of_name(lb, engine, r, part, e))
            return false;
    } else if (logbook_get_text(lb, "part", r->plug_id, "engine", owner, sizeof owner) && strcmp(owner, engine) != 0) {
        uuid_from_parts(part, "part", engine, "plug", r->plug_id); /* a copy of another engine's plug */
    } else {
        text_copy(part, UUID_BYTES, r->plug_id);
    }
    return logbook_set_int(lb, "part", part, "gone", 0, e) && logbook_set_text(lb, "part", part, "engine", engine, e) &&
           logbook_set_text(lb, "part", part, "kind", "plug", e) &&
           (logbook_get_text(lb, "part", part, "name", name, sizeof name) || put_text(lb, "part", part, "name", r->plug_name, e));
}

bool logbook_put_reading(struct logbook *lb, const char *visit_id, const struct reading *r, struct err *e)
{
    char id[UUID_BYTES], heard[200] = "", part[UUID_BYTES];
    bool fresh, fine;
    int64_t gone;
    int n;
    const struct word *words = words_rows(WORDS_LEAK_HEARD, &n);

    for (int i = 0; i < n; i++)
        if ((r->leak_heard >> i & 1u) != 0)
            text_format(heard + strlen(heard), sizeof heard - strlen(heard), "%s%s", heard[0] ? " " : "", words[i].id);
    if (!logbook_find_reading(lb, visit_id, r->cylinder, r->position, id, e))
        return false;
    fresh = !logbook_get_int(lb, "reading", id, "gone", &gone);
    if (!logbook_touch_reading(lb, visit_id, r->cylinder, r->position, id, e))
        return false;
    for (int z = 0; z < ZONE_COUNT; z++)
        if (r->zone_seen[z] ? !logbook_set_int(lb, "reading", id, seen_columns[z], 1, e) : !logbook_clear(lb, "reading", id, seen_columns[z], e))
            return false;
    /* the reading's own columns first: its row is the one made last */
    fine = put_word(lb, id, "threads_turns", WORDS_TURNS, r->threads_turns, e) &&
           logbook_db_put_index(lb, "reading", id, "dries", r->dries == 0 ? -1 : r->dries == 1, e) &&
           logbook_db_put_index(lb, "reading", id, "as_book", r->as_book == 0 ? -1 : r->as_book == 1, e) &&
           put_word(lb, id, "heavier_side", WORDS_SIDE, r->heavier_side, e) && put_word(lb, id, "electrode", WORDS_ELECTRODE, r->electrode, e) &&
           put_word(lb, id, "wear_on", WORDS_WEAR_ON, r->wear_on, e) && put_word(lb, id, "insulator", WORDS_INSULATOR, r->insulator, e) &&
           put_word(lb, id, "tightness", WORDS_TIGHTNESS, r->tightness, e) && put_word(lb, id, "refit", WORDS_REFIT, r->refit, e) &&
           put_word(lb, id, "washer", WORDS_WASHER, r->washer, e) && put_word(lb, id, "thread_state", WORDS_THREAD_STATE, r->thread_state, e) &&
           logbook_db_put_maybe(lb, "reading", id, "gap_um", reading_gauge_gap(r), 1000, e) &&
           logbook_db_put_maybe(lb, "reading", id, "gap_photo_um", r->gap_photo_mm, 1000, e) &&
           logbook_db_put_maybe(lb, "reading", id, "gap_photo_pm_um", r->gap_photo_mm.given ? MAYBE(r->gap_photo_pm_mm) : (struct maybe){0}, 1000, e) &&
           put_text(lb, "reading", id, "gap_trusted", r->gap_trust_photo ? "photo" : "", e) &&
           logbook_db_put_maybe(lb, "reading", id, "gap_left_um", r->gap_left_mm, 1000, e) &&
           logbook_db_put_maybe(lb, "reading", id, "torque_mnm", r->torque_nm, 1000, e) && put_text(lb, "reading", id, "torque_unit", r->torque_unit, e) &&
           logbook_db_put_index(lb, "reading", id, "turned_out", r->turned_out ? 1 : -1, e) &&
           logbook_db_put_index(lb, "reading", id, "connected", r->unplugged ? 0 : r->plugged ? 1 : -1, e) &&
           logbook_db_put_maybe(lb, "reading", id, "plug_distance_m", r->plug_distance_m, 1, e) &&
           logbook_db_put_index(lb, "reading", id, "mark_clock", r->mark_clock == 0 ? -1 : r->mark_clock, e) &&
           put_real(lb, id, "nose_L", r->nose_L, e) && put_real(lb, id, "nose_a", r->nose_a, e) && put_real(lb, id, "nose_b", r->nose_b, e) &&
           logbook_db_put_maybe(lb, "reading", id, "compression_pa", r->compression_kpa, 1000, e) &&
           logbook_db_put_maybe(lb, "reading", id, "compression_wet_pa", r->compression_wet_kpa, 1000, e) &&
           put_real(lb, id, "leak_percent", r->leak_percent, e) && put_real(lb, id, "differential_over_80", r->differential_over_80, e) &&
           (r->leak_heard_given ? logbook_set_text(lb, "reading", id, "leak_heard", heard, e) : logbook_clear(lb, "reading", id, "leak_heard", e));
    for (int s = 0; fine && s < SIGN_COUNT; s++) /* of a reading that never was nothing can be taken away */
        fine = r->amount[s] == 0 && !r->zone_seen[sign_row((enum sign)s)->zone] ? logbook_db_put_none(lb, id, (enum sign)s, e)
               : (fresh && r->amount[s] <= 0) || logbook_db_put_amount(lb, id, (enum sign)s, r->amount[s], e);
    return fine && put_plug(lb, visit_id, r, part, e) && put_text(lb, "reading", id, "plug", part, e);
}

bool logbook_name_plug(struct logbook *lb, const char *visit_id, int cylinder, int position, const char *name, struct err *e)
{
    struct reading r;
    char id[UUID_BYTES], part[UUID_BYTES];

    reading_init(&r, cylinder, position);
    text_copy(r.plug_name, sizeof r.plug_name, name);
    return put_plug(lb, visit_id, &r, part, e) && logbook_touch_reading(lb, visit_id, cylinder, position, id, e) && put_text(lb, "reading", id, "plug", part, e);
}

bool logbook_note_sign(struct logbook *lb, const char *visit_id, int cylinder, int position, enum sign s, int amount, struct err *e)
{
    enum zone z = sign_row(s)->zone;
    char id[UUID_BYTES], row[UUID_BYTES];
    int64_t seen = 0;

    if (!logbook_touch_reading(lb, visit_id, cylinder, position, id, e))
        return false;
    if (z == ZONE_FIRING_END) /* see reading_say() */
        return logbook_set_int(lb, "reading", id, seen_columns[z], 1, e) && logbook_db_put_amount(lb, id, s, amount, e);
    uuid_from_parts(row, "observation", id, zone_row(z)->id, sign_row(s)->id);
    if (amount == 0 && !(logbook_get_int(lb, "reading", id, seen_columns[z], &seen) && seen != 0) && !logbook_is_there(lb, "observation", row))
        return logbook_db_put_none(lb, id, s, e);
    return logbook_db_put_amount(lb, id, s, amount, e);
}

bool logbook_see_rest(struct logbook *lb, const char *visit_id, int cylinder, int position, enum zone z, struct err *e)
{
    char id[UUID_BYTES];

    return logbook_touch_reading(lb, visit_id, cylinder, position, id, e) && logbook_set_int(lb, "reading", id, seen_columns[z], 1, e);
}

bool logbook_see_zone(struct logbook *lb, const char *visit_id, int cylinder, int position, enum zone z, bool seen, struct err *e)
{
    char id[UUID_BYTES];

    if (!logbook_touch_reading(lb, visit_id, cylinder, position, id, e))
        return false;
    for (int s = 0; s < SIGN_COUNT; s++) /* "nothing there" and "not looked at" both take the notes away */
        if (sign_row((enum sign)s)->zone == z && !logbook_db_put_amount(lb, id, (enum sign)s, 0, e))
            return false;
    return seen ? logbook_set_int(lb, "reading", id, seen_columns[z], 1, e) : logbook_clear(lb, "reading", id, seen_columns[z], e);
}

bool logbook_put_gap(struct logbook *lb, const char *visit_id, int cylinder, int position, bool as_left, int64_t um, const char *unit, struct err *e)
{
    char id[UUID_BYTES];
    const char *column = as_left ? "gap_left_um" : "gap_um", *unit_column = as_left ? "gap_left_unit" : "gap_unit";

    if (!logbook_touch_reading(lb, visit_id, cylinder, position, id, e))
        return false;
    if (um < 0)
        return logbook_clear(lb, "reading", id, column, e) && logbook_clear(lb, "reading", id, unit_column, e);
    return logbook_set_int(lb, "reading", id, column, um, e) && logbook_set_text(lb, "reading", id, unit_column, unit, e);
}

bool logbook_put_gap_photo(struct logbook *lb, const char *visit_id, int cylinder, int position, int64_t um, int64_t pm_um, struct err *e)
{
    char id[UUID_BYTES];

    if (!logbook_touch_reading(lb, visit_id, cylinder, position, id, e))
        return false;
    if (um < 0)
        return logbook_clear(lb, "reading", id, "gap_photo_um", e) && logbook_clear(lb, "reading", id, "gap_photo_pm_um", e) &&
               logbook_clear(lb, "reading", id, "gap_trusted", e);
    return logbook_set_int(lb, "reading", id, "gap_photo_um", um, e) && logbook_set_int(lb, "reading", id, "gap_photo_pm_um", pm_um, e);
}

bool logbook_trust_gap(struct logbook *lb, const char *visit_id, int cylinder, int position, bool photo, struct err *e)
{
    char id[UUID_BYTES];

    return logbook_touch_reading(lb, visit_id, cylinder, position, id, e) &&
           (photo ? logbook_set_text(lb, "reading", id, "gap_trusted", "photo", e) : logbook_clear(lb, "reading", id, "gap_trusted", e));
}

static int by_text(const void *a, const void *b)
{
    return strcmp(a, b);
}

bool logbook_import_record(struct logbook *lb, const struct record *r, char engine_id[UUID_BYTES], struct err *e)
{
    char(*ids)[UUID_BYTES] = mem_alloc((size_t)r->n_visits + 1, sizeof *ids);
    bool fine;

    uuid_make(engine_id);
    for (int i = 0; i < r->n_visits; i++)
        uuid_make(ids[i]);
    /* visits of one date, or of none, are told apart by their ids: they keep their order */
    qsort(ids, (size_t)r->n_visits, sizeof *ids, by_text);
    fine = logbook_put_engine(lb, engine_id, &r->engine, e);
    for (int i = 0; fine && i < r->n_visits; i++) {
        fine = logbook_put_visit(lb, ids[i], engine_id, &r->engine, &r->visits[i], e);
        for (int k = 0; fine && k < record_plug_count(&r->engine); k++)
            fine = !r->visits[i].readings[k].present || logbook_put_reading(lb, ids[i], &r->visits[i].readings[k], e);
    }
    free(ids);
    return fine;
}

/* ---- lists ---- */

static bool read_listed(sqlite3_stmt *q, void *item, struct err *e)
{
    struct logbook_visit *v = item;
    char unit[16];

    (void)e;
    logbook_db_text(q, 0, v->id, sizeof v->id);
    logbook_db_text(q, 1, v->date, sizeof v->date);
    v->odometer_m = logbook_db_maybe(q, 2, 1);
    logbook_db_text(q, 3, unit, sizeof unit);
    v->odometer_unit = words_find(WORDS_ODOMETER_UNIT, unit);
    v->closed = sqlite3_column_int(q, 4) != 0;
    v->n_photos = sqlite3_column_int(q, 5);
    v->n_unplaced = sqlite3_column_int(q, 6);
    v->ahead = clock_is_ahead(v->date);
    return true;
}

bool logbook_list_visits(struct logbook *lb, const char *engine_id, struct arena *a, struct logbook_visit **visits, size_t *n, struct err *e)
{
    static const char sql[] =
        "SELECT v.id, v.date, v.odometer_m, v.odometer_unit, v.closed,"
        " (SELECT count(*) FROM photo p WHERE p.visit = v.id AND p.gone = 0),"
        " (SELECT count(*) FROM photo p WHERE p.visit = v.id AND p.gone = 0 AND p.cylinder IS NULL AND p.step IS NULL AND p.caption IS NULL)"
        " FROM visit v WHERE v.engine = ?1 AND v.gone = 0" LOGBOOK_OLDEST_FIRST("v.");
    void *items;
    bool fine = logbook_db_list(lb, sql, engine_id, read_listed, sizeof(struct logbook_visit), a, &items, n, e);

    *visits = items;
    return fine;
}

size_t logbook_latest_visit(const struct logbook_visit *visits, size_t n)
{
    size_t at = n;

    while (at > 0 && visits[at - 1].ahead)
        at--;
    return at > 0 ? at - 1 : n - 1;
}

#define VISIT_LABEL_BYTES 32

/* "2026-06-14", or "2026-06-14/2" where several visits are of that date. */
static void visit_label(const struct logbook_visit *visits, size_t n, size_t which, char to[VISIT_LABEL_BYTES])
{
    int n_same = 0, place = 0;

    for (size_t i = 0; i < n; i++)
        if (strcmp(visits[i].date, visits[which].date) == 0) {
            n_same++;
            place += i <= which;
        }
    if (n_same > 1)
        text_format(to, VISIT_LABEL_BYTES, "%s/%d", visits[which].date, place);
    else
        text_copy(to, VISIT_LABEL_BYTES, visits[which].date);
}

bool logbook_find_visit(struct logbook *lb, const char *engine_id, const char *name, char id[UUID_BYTES], struct err *e)
{
    struct arena *a = arena_create();
    struct logbook_visit *visits;
    struct text all = {0};
    size_t n;
    int n_of_date = 0;
    bool fine = false;

    if (!logbook_list_visits(lb, engine_id, a, &visits, &n, e)) {
        arena_destroy(a);
        return false;
    }
    if (n > 0 && name[0] == '\0') {
        text_copy(id, UUID_BYTES, visits[logbook_latest_visit(visits, n)].id);
        fine = true;
    }
    for (size_t i = 0; i < n && !fine; i++) {
        char label[VISIT_LABEL_BYTES];

        visit_label(visits, n, i, label);
        if (strcmp(visits[i].id, name) == 0 || strcmp(label, name) == 0) {
            text_copy(id, UUID_BYTES, visits[i].id);
            fine = true;
        }
        n_of_date += strcmp(visits[i].date, name) == 0;
        text_addf(&all, "%s%s", i ? ", " : "", label);
    }
    if (!fine && n == 0)
        err_set(e, ERR_NOTFOUND, "This engine has no visit yet.");
    else if (!fine && n_of_date > 1)
        err_set(e, ERR_BADARG, "%d visits are of %s: name one as %s/1 to %s/%d, in the order they were made, or by its id.", n_of_date,
                name, name, name, n_of_date);
    else if (!fine)
        err_set(e, ERR_NOTFOUND, "There is no visit “%s”. There are: %s.", name, TEXT_SHORT(text_get(&all), 400));
    text_release(&all);
    arena_destroy(a);
    return fine;
}

double logbook_photo_turn_deg(const struct logbook_photo *p)
{
    return p->turn * 90 + p->lean_mdeg / 1000.0;
}

const struct logbook_photo *logbook_bore_photo(const struct logbook_photo *photos, size_t n, int cylinder, int position)
{
    const struct logbook_photo *best = NULL;

    /* The first one taken of the firing end: people look along the axis first, then at the side. */
    for (size_t i = 0; i < n; i++) {
        const struct logbook_photo *p = &photos[i];

        if (p->cylinder != cylinder || p->position != position || p->trouble[0] != '\0')
            continue;
        if (p->zone == ZONE_FIRING_END)
            return p;
        if (p->zone < 0 && best == NULL)
            best = p;
    }
    return best;
}
