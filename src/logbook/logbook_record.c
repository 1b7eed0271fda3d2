/* logbook_record.c - visits out, with what was read at them: an engine with its history, or its latest visit alone. */
#include "logbook/logbook_db.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "record/ready.h"
#include "record/steps.h"
#include "record/stops.h"

static void read_lists(struct visit *v, const struct engine *en, const char *complaints, bool complaints_given, const char *codes, const char *tests, const char *outside, bool outside_seen)
{
    char word[64];

    v->complaints_given = complaints_given;
    while (*complaints != '\0' && v->n_complaints < VISIT_MAX_COMPLAINTS) {
        size_t n = strcspn(complaints, " ");
        int w;

        text_format(word, sizeof word, "%.*s", (int)n, complaints);
        w = words_find(WORDS_COMPLAINT, word);
        if (w > 0)
            v->complaints[v->n_complaints++] = w;
        complaints += n + (complaints[n] == ' ');
    }
    while (*codes != '\0' && v->n_codes < VISIT_MAX_CODES) {
        size_t n = strcspn(codes, " ");

        text_format(v->codes[v->n_codes++], sizeof v->codes[0], "%.*s", (int)n, codes);
        codes += n + (codes[n] == ' ');
    }
    while (*tests != '\0' && v->n_tests < VISIT_MAX_TESTS) {
        char a[40], b[40], c[40];
        size_t n = strcspn(tests, "\n");

        if (sscanf(tests, "%39[^\t]\t%39[^\t]\t%39[^\n]", a, b, c) == 3) {
            struct visit_test t = {words_find(WORDS_TEST, a), engine_find_cylinder(en, b), words_find(WORDS_TEST_RESULT, c)};

            if (t.test > 0 && t.cylinder >= 0 && t.result > 0)
                v->tests[v->n_tests++] = t;
        }
        tests += n + (tests[n] == '\n');
    }
    v->outside_seen = outside_seen;
    while (*outside != '\0' && v->n_outside < ENGINE_MAX_BANKS) {
        int amount;
        char name[40];
        size_t n = strcspn(outside, "\n");

        if (sscanf(outside, "%d\t%39[^\n]", &amount, name) == 2 && engine_find_bank(en, name) >= 0)
            v->outside[v->n_outside++] = (struct visit_outside){engine_find_bank(en, name), amount};
        outside += n + (outside[n] == '\n');
    }
}

#define VISIT_COLUMNS                                                                              \
    "id, date, odometer_m, odometer_unit, removal, socket, last_run, fuel, oil_in_intake,"         \
    " complaints, codes, tests, outside, notes, last_day, weather, oil_level, oil_use, oil_change_ml," \
    " oil_change_unit, oil_grade, oil_filter, closed, complaint_words"

static void read_visit(sqlite3_stmt *q, struct visit *v, const struct engine *en)
{
    char removal[2000], word[64], complaints[1000], codes[400], tests[2000], outside[400];
    bool complaints_given = sqlite3_column_type(q, 9) != SQLITE_NULL, outside_seen = sqlite3_column_type(q, 12) != SQLITE_NULL;
    struct err ignored;

    logbook_db_text(q, 0, v->id, sizeof v->id);
    logbook_db_text(q, 1, v->date, sizeof v->date);
    v->odometer_m = logbook_db_maybe(q, 2, 1);
    logbook_db_text(q, 3, word, sizeof word);
    v->odometer_unit = words_find(WORDS_ODOMETER_UNIT, word);
    logbook_db_text(q, 4, removal, sizeof removal);
    /* An order that names cylinders of an earlier numbering is not shown rather than shown wrong. */
    (void)visit_parse_removal(en, v, removal, &ignored);
    logbook_db_text(q, 5, word, sizeof word);
    v->socket = words_find(WORDS_SOCKET, word);
    logbook_db_text(q, 6, word, sizeof word);
    v->last_run = words_find(WORDS_LAST_RUN, word);
    logbook_db_text(q, 7, word, sizeof word);
    v->fuel = words_find(WORDS_FUEL, word);
    v->oil_in_intake = sqlite3_column_type(q, 8) == SQLITE_NULL ? 0 : sqlite3_column_int(q, 8) ? 1 : 2;
    logbook_db_text(q, 9, complaints, sizeof complaints);
    logbook_db_text(q, 10, codes, sizeof codes);
    logbook_db_text(q, 11, tests, sizeof tests);
    logbook_db_text(q, 12, outside, sizeof outside);
    logbook_db_text(q, 13, v->notes, sizeof v->notes);
    logbook_db_text(q, 14, v->care.last_day, sizeof v->care.last_day);
    logbook_db_text(q, 15, v->care.weather, sizeof v->care.weather);
    logbook_db_text(q, 16, v->care.oil_level, sizeof v->care.oil_level);
    logbook_db_text(q, 17, v->care.oil_use, sizeof v->care.oil_use);
    v->care.oil_change_l = logbook_db_maybe(q, 18, 0.001);
    logbook_db_text(q, 19, v->care.oil_change_unit, sizeof v->care.oil_change_unit);
    logbook_db_text(q, 20, v->care.oil_grade, sizeof v->care.oil_grade);
    logbook_db_text(q, 21, v->care.oil_filter, sizeof v->care.oil_filter);
    v->state.closed = sqlite3_column_int(q, 22);
    logbook_db_text(q, 23, v->complaint_words, sizeof v->complaint_words);
    read_lists(v, en, complaints, complaints_given, codes, tests, outside, outside_seen);
}

static int word_at(sqlite3_stmt *q, int column, enum words list)
{
    int v = words_find(list, (const char *)sqlite3_column_text(q, column));

    return v > 0 ? v : 0;
}

static int yes_no_at(sqlite3_stmt *q, int column)
{
    return sqlite3_column_type(q, column) == SQLITE_NULL ? 0 : sqlite3_column_int(q, column) ? 1 : 2;
}

/* ---- readings ---- */

static uint32_t heard_at(sqlite3_stmt *q, int column)
{
    int n;
    const struct word *words = words_rows(WORDS_LEAK_HEARD, &n);
    uint32_t heard = 0;
    char list[200];

    logbook_db_text(q, column, list, sizeof list);
    for (const char *s = list; *s != '\0';) {
        size_t len = strcspn(s, " ");

        for (int i = 0; i < n; i++)
            if (strlen(words[i].id) == len && strncmp(words[i].id, s, len) == 0)
                heard |= 1u << i;
        s += len + (s[len] == ' ');
    }
    return heard;
}

static void read_reading(sqlite3_stmt *q, struct reading *r)
{
    logbook_db_text(q, 0, r->id, sizeof r->id);
    for (int z = 0; z < ZONE_COUNT; z++)
        if (sqlite3_column_int(q, 3 + z) != 0)
            reading_see_zone(r, (enum zone)z);
    r->threads_turns = word_at(q, 11, WORDS_TURNS);
    r->dries = yes_no_at(q, 12);
    r->heavier_side = word_at(q, 13, WORDS_SIDE);
    r->electrode = word_at(q, 14, WORDS_ELECTRODE);
    r->wear_on = word_at(q, 15, WORDS_WEAR_ON);
    r->insulator = word_at(q, 16, WORDS_INSULATOR);
    r->tightness = word_at(q, 17, WORDS_TIGHTNESS);
    r->refit = word_at(q, 18, WORDS_REFIT);
    r->gap_mm = logbook_db_maybe(q, 19, 0.001);
    r->gap_photo_mm = logbook_db_maybe(q, 36, 0.001);
    r->gap_photo_pm_mm = logbook_db_maybe(q, 37, 0.001).value;
    r->gap_trust_photo = sqlite3_column_type(q, 38) != SQLITE_NULL && strcmp((const char *)sqlite3_column_text(q, 38), "photo") == 0;
    reading_choose_gap(r);
    r->gap_left_mm = logbook_db_maybe(q, 20, 0.001);
    logbook_db_text(q, 21, r->plug_id, sizeof r->plug_id);
    logbook_db_text(q, 22, r->plug_name, sizeof r->plug_name);
    r->plug_distance_m = logbook_db_maybe(q, 23, 1);
    r->mark_clock = sqlite3_column_int(q, 24);
    r->as_book = yes_no_at(q, 25);
    r->nose_L = logbook_db_maybe(q, 26, 1);
    r->nose_a = logbook_db_maybe(q, 27, 1);
    r->nose_b = logbook_db_maybe(q, 28, 1);
    r->compression_kpa = logbook_db_maybe(q, 29, 0.001);
    r->compression_wet_kpa = logbook_db_maybe(q, 30, 0.001);
    r->leak_percent = logbook_db_maybe(q, 31, 1);
    r->differential_over_80 = logbook_db_maybe(q, 32, 1);
    r->washer = word_at(q, 34, WORDS_WASHER);
    r->thread_state = word_at(q, 35, WORDS_THREAD_STATE);
    r->torque_nm = logbook_db_maybe(q, 39, 0.001);
    logbook_db_text(q, 40, r->torque_unit, sizeof r->torque_unit);
    r->unplugged = yes_no_at(q, 41) == 2;
    r->plugged = yes_no_at(q, 41) == 1;
    r->turned_out = sqlite3_column_int(q, 42) != 0;
    r->kept = sqlite3_column_int(q, 43) != 0;
    r->leak_heard_given = sqlite3_column_type(q, 33) != SQLITE_NULL;
    r->leak_heard = heard_at(q, 33);
    r->present = reading_says(r);
}

static void read_sign(sqlite3_stmt *q, struct reading *r)
{
    const char *zone = (const char *)sqlite3_column_text(q, 44), *sign = (const char *)sqlite3_column_text(q, 45);
    int z = zone != NULL && sign != NULL ? zone_find(zone) : -1, s = z >= 0 ? sign_find((enum zone)z, sign) : -1, amount = sqlite3_column_int(q, 46);

    if (s >= 0 && sqlite3_column_type(q, 45) != SQLITE_NULL && amount >= 0 && amount <= 3)
        reading_say(r, (enum sign)s, amount);
}

static bool load_readings(struct logbook *lb, struct visit *v, const struct engine *en, struct err *e)
{
    /* a row for each sign of a reading, one row for a reading without; those of a reading come together */
    static const char sql[] =
        "SELECT r.id, r.cylinder, r.position, seen_firing_end, seen_threads, seen_body, seen_well, seen_boot, seen_coil, seen_lead,"
        " seen_connector, threads_turns, dries, heavier_side, electrode, wear_on, insulator, tightness, refit, gap_um, gap_left_um,"
        " plug, p.name, plug_distance_m, mark_clock, as_book, nose_L, nose_a, nose_b, compression_pa, compression_wet_pa,"
        " leak_percent, differential_over_80, leak_heard, washer, thread_state, gap_photo_um, gap_photo_pm_um, gap_trusted, torque_mnm, torque_unit, connected, turned_out, kept,"
        " o.zone, o.sign, o.amount FROM reading r LEFT JOIN part p ON p.id = r.plug LEFT JOIN observation o ON o.reading = r.id AND o.gone = 0"
        " WHERE r.visit = ?1 AND r.gone = 0";
    struct logbook_holes holes;
    sqlite3_stmt *q = logbook_db_holes_of_visit(lb, v->id, &holes, e) ? logbook_db_prepare(lb, sql, e) : NULL;
    bool fine;

    if (q == NULL)
        return false;
    logbook_db_bind(q, 1, v->id);
    while (logbook_db_next(lb, q, &fine, e)) {
        int c = sqlite3_column_int(q, 1), p = sqlite3_column_int(q, 2);
        struct reading *r;

        if (!logbook_db_place(&holes, en, &c, &p))
            continue;
        r = visit_reading(v, en, c, p);
        if (strcmp(r->id, (const char *)sqlite3_column_text(q, 0)) != 0)
            read_reading(q, r);
        read_sign(q, r);
    }
    return fine && logbook_db_note_apart(lb, v, en, e);
}

/* ---- visits ---- */

static bool load_done(struct logbook *lb, struct visit *v, const struct engine *en, struct err *e)
{
    static const char sql[] = "SELECT what FROM done WHERE visit = ?1 AND gone = 0 ORDER BY sort, id";
    sqlite3_stmt *q = logbook_db_prepare(lb, sql, e);
    bool fine;

    if (q == NULL)
        return false;
    logbook_db_bind(q, 1, v->id);
    while (logbook_db_next(lb, q, &fine, e)) {
        char what[200];
        struct err ignored;

        logbook_db_text(q, 0, what, sizeof what);
        if (v->n_done < VISIT_MAX_DONE && visit_parse_done(en, what, &v->done[v->n_done], &ignored))
            v->n_done++;
    }
    return fine;
}

/* Something was seen before that visit which is to be looked into until somebody says it was. */
static bool stop_seen_before(const struct record *r, int before)
{
    for (int at = 0; at < before; at++)
        for (int i = 0; i < record_plug_count(&r->engine); i++)
            for (int k = 0; k < VISIT_STOPS; k++)
                if (stop_shown(k, &r->visits[at].readings[i]))
                    return true;
    return false;
}

static void stop_ticked(struct visit *v, const struct engine *en, const char *source, bool done)
{
    engine_set of;

    for (int k = 0; k < VISIT_STOPS && done; k++)
        if (stop_step_is(k, en, source, &of))
            v->state.stops_told[k] |= of;
}

static void stop_judged(struct visit *v, const struct engine *en, const char *cause, const char *place, bool taken)
{
    engine_set of;

    for (int k = 0; k < VISIT_STOPS; k++)
        if (stop_cause_is(k, en, cause, place, &of) && (!taken || stop_by_cause(k)))
            (taken ? v->state.stops_taken : v->state.stops_told)[k] |= of;
}

/* What merged copies say differently of a cause settles nothing, and is taken for accepted. */
#define JUDGED_APART "EXISTS (SELECT 1 FROM conflict f WHERE f.row = d.id AND f.col = 'state' AND f.tbl = 'verdict')"
#define JUDGED_STATE "(d.state IN ('accepted', 'dismissed', 'repaired', 'gone') OR " JUDGED_APART ")"

/* Rows of visit, what, place, whether the cause was taken for true: of the visits before that one, of which no more is read. */
static bool load_stops_from(struct logbook *lb, const char *sql, const char *engine_id, struct record *r, int before, bool judged, bool *any_taken, struct err *e)
{
    sqlite3_stmt *q = logbook_db_prepare(lb, sql, e);
    bool fine;

    if (q == NULL)
        return false;
    logbook_db_bind(q, 1, engine_id);
    while (logbook_db_next(lb, q, &fine, e)) {
        char id[UUID_BYTES], what[96], place[96];

        logbook_db_text(q, 0, id, sizeof id);
        logbook_db_text(q, 1, what, sizeof what);
        logbook_db_text(q, 2, place, sizeof place);
        for (int at = 0; at < before; at++) {
            if (strcmp(r->visits[at].id, id) != 0)
                continue;
            if (!judged) {
                stop_ticked(&r->visits[at], &r->engine, what, true);
                continue;
            }
            stop_judged(&r->visits[at], &r->engine, what, place, sqlite3_column_int(q, 3) != 0);
            for (int k = 0; k < VISIT_STOPS; k++)
                *any_taken = *any_taken || r->visits[at].state.stops_taken[k] != 0;
        }
    }
    return fine;
}

static bool load_stops(struct logbook *lb, const char *engine_id, struct record *r, int before, struct err *e)
{
    static const char verdicts[] = "SELECT v.id, d.cause, coalesce(d.place, ''), d.state = 'accepted' OR " JUDGED_APART
                                   " FROM verdict d JOIN visit v ON v.id = d.visit WHERE v.engine = ?1 AND v.gone = 0 AND d.gone = 0 AND " JUDGED_STATE;
    static const char steps[] = "SELECT v.id, s.source, '' FROM step s JOIN visit v ON v.id = s.visit WHERE v.engine = ?1 AND v.gone = 0 AND s.gone = 0 AND s.state = 'done' AND s.source LIKE '%@%'"
                                " AND NOT EXISTS (SELECT 1 FROM conflict f WHERE f.row = s.id AND f.col = 'state' AND f.tbl = 'step')";
    bool asked = stop_seen_before(r, before);

    return before == 0 || (load_stops_from(lb, verdicts, engine_id, r, before, true, &asked, e) && (!asked || load_stops_from(lb, steps, engine_id, r, before, false, &asked, e)));
}

/* How far the work of the visit has come, and what shows beside its readings that plugs were drawn. */
static bool load_state(struct logbook *lb, struct visit *v, const struct engine *en, struct err *e)
{
    static const char steps[] = "SELECT source, state, EXISTS (SELECT 1 FROM conflict f WHERE f.row = step.id AND f.col = 'state' AND f.tbl = 'step') FROM step"
                                " WHERE visit = ?1 AND gone = 0 AND (source IN ('turn', 'idle', 'use', 'dry') OR source LIKE '%@%')";
    static const char judged[] = "SELECT d.cause, coalesce(d.place, ''), d.state = 'accepted' OR " JUDGED_APART " FROM verdict d WHERE d.visit = ?1 AND d.gone = 0 AND " JUDGED_STATE;
    static const char drawn[] = "SELECT cylinder, position, 1 FROM photo WHERE visit = ?1 AND gone = 0 AND zone IN ('firing_end', 'threads', 'body')"
                                " UNION ALL SELECT i.cylinder, coalesce(i.position, 0), 2 FROM installation i JOIN part p ON p.id = i.part"
                                "  WHERE i.from_visit = ?1 AND i.gone = 0 AND p.kind = 'plug'";
    struct logbook_holes holes;
    sqlite3_stmt *q = logbook_db_holes_of_visit(lb, v->id, &holes, e) ? logbook_db_prepare(lb, steps, e) : NULL;
    bool fine;

    if (q == NULL)
        return false;
    logbook_db_bind(q, 1, v->id);
    while (logbook_db_next(lb, q, &fine, e)) {
        char source[96], state[16];
        bool apart = sqlite3_column_int(q, 2) != 0, done; /* merged copies differ: it is not taken for done */

        logbook_db_text(q, 0, source, sizeof source);
        logbook_db_text(q, 1, state, sizeof state);
        done = strcmp(state, "done") == 0 && !apart;
        if (step_runs(source))
            v->state.ran = v->state.ran || done;
        else if (strcmp(source, "dry") == 0)
            v->state.dried = v->state.dried || done;
        else if (strcmp(source, "turn") != 0)
            stop_ticked(v, en, source, done);
        else if (v->state.turned != TURN_OPEN)
            v->state.turned = done ? TURN_DONE : TURN_OPEN;
        v->state.turned_apart = v->state.turned_apart || (apart && strcmp(source, "turn") == 0);
    }
    q = fine ? logbook_db_prepare(lb, judged, e) : NULL;
    if (q == NULL)
        return false;
    logbook_db_bind(q, 1, v->id);
    while (logbook_db_next(lb, q, &fine, e)) {
        char cause[48], place[96];

        logbook_db_text(q, 0, cause, sizeof cause);
        logbook_db_text(q, 1, place, sizeof place);
        stop_judged(v, en, cause, place, sqlite3_column_int(q, 2) != 0);
    }
    q = fine ? logbook_db_prepare(lb, drawn, e) : NULL;
    if (q == NULL)
        return false;
    logbook_db_bind(q, 1, v->id);
    while (logbook_db_next(lb, q, &fine, e)) {
        int c = sqlite3_column_int(q, 0), p = sqlite3_column_int(q, 1);

        if (sqlite3_column_type(q, 0) != SQLITE_NULL && logbook_db_place(&holes, en, &c, &p))
            visit_reading(v, en, c, p)->drawn_by |= sqlite3_column_int(q, 2) == 1 ? DRAWN_PHOTO : DRAWN_MOVED;
    }
    return fine;
}

bool logbook_db_load_visit(struct logbook *lb, const char *id, const struct engine *en, struct visit *v, struct err *e)
{
    static const char sql[] = "SELECT " VISIT_COLUMNS " FROM visit WHERE id = ?1 AND gone = 0";
    sqlite3_stmt *q = logbook_db_prepare(lb, sql, e);
    bool there;

    visit_init(v, en);
    if (q == NULL)
        return false;
    logbook_db_bind(q, 1, id);
    if (!logbook_db_step(lb, q, &there, e))
        return false;
    if (there)
        read_visit(q, v, en);
    logbook_db_done(q);
    return there ? load_done(lb, v, en, e) : err_set(e, ERR_NOTFOUND, "This visit is not in the logbook.");
}

/* ---- an engine with its visits ---- */

static bool count_visits(struct logbook *lb, const char *engine_id, int *n, struct err *e)
{
    static const char sql[] = "SELECT count(*) FROM visit WHERE engine = ?1 AND gone = 0";
    sqlite3_stmt *q = logbook_db_prepare(lb, sql, e);
    bool row;

    if (q == NULL)
        return false;
    logbook_db_bind(q, 1, engine_id);
    if (!logbook_db_step(lb, q, &row, e))
        return false;
    *n = sqlite3_column_int(q, 0);
    logbook_db_done(q);
    return true;
}

/* The rows of a statement that names visits of the engine, ?1, in their order. */
static bool add_visits(struct logbook *lb, const char *sql, const char *engine_id, struct record *out, struct err *e)
{
    sqlite3_stmt *q = logbook_db_prepare(lb, sql, e);
    bool fine;

    if (q == NULL)
        return false;
    logbook_db_bind(q, 1, engine_id);
    while (logbook_db_next(lb, q, &fine, e)) {
        struct visit *v = record_add_visit(out);

        read_visit(q, v, &out->engine);
        fine = load_readings(lb, v, &out->engine, e) && load_done(lb, v, &out->engine, e);
        if (!fine) {
            logbook_db_done(q);
            break;
        }
    }
    return fine;
}

/* Of the visit that is read, and of those on which the engine's state rests. */
static bool load_states(struct logbook *lb, const char *engine_id, struct record *r, struct err *e)
{
    const int oldest = ready_oldest(r);

    if (!load_stops(lb, engine_id, r, oldest, e))
        return false;
    for (int at = oldest; at < r->n_visits + r->n_later + r->n_ahead; at++)
        if (at != r->n_visits - 1 && !load_state(lb, &r->visits[at], &r->engine, e))
            return false;
    return r->n_visits == 0 || load_state(lb, &r->visits[r->n_visits - 1], &r->engine, e);
}

/* Visits still to come stand last of the n_all; where all are, the clock is more likely wrong than each of them. */
static int count_ahead(const struct record *r, int n_all)
{
    int n = 0;

    while (n < n_all && clock_is_ahead(r->visits[n_all - 1 - n].date))
        n++;
    return n < n_all ? n : 0;
}

/* The same of those behind the record's last. */
static int count_ahead_behind(const struct record *r, int n_behind)
{
    const int n = count_ahead(r, r->n_visits + n_behind);

    return n < n_behind ? n : n_behind;
}

static bool load_history(struct logbook *lb, const char *engine_id, const char *visit_id, struct record *out, struct err *e)
{
    static const char sql[] = "SELECT " VISIT_COLUMNS " FROM visit WHERE engine = ?1 AND gone = 0" LOGBOOK_OLDEST_FIRST("");
    int n_all, at = 0;

    if (!logbook_load_engine(lb, engine_id, &out->engine, e) || !count_visits(lb, engine_id, &n_all, e))
        return false;
    record_reserve(out, n_all);
    if (!add_visits(lb, sql, engine_id, out, e))
        return false;
    while (visit_id != NULL && at < out->n_visits && strcmp(out->visits[at].id, visit_id) != 0)
        at++;
    if (visit_id != NULL && at == out->n_visits)
        return err_set(e, ERR_NOTFOUND, "This visit is not in the logbook.");
    if (visit_id != NULL) {
        const int n_behind = out->n_visits - at - 1;

        out->n_visits = at + 1;
        out->n_ahead = count_ahead_behind(out, n_behind);
        out->n_later = n_behind - out->n_ahead;
    }
    return out->n_visits == 0 || (logbook_db_seat_plugs(lb, engine_id, out, 0, e) && load_states(lb, engine_id, out, e));
}

static bool load_latest(struct logbook *lb, const char *engine_id, struct record *out, struct err *e)
{
    /* Older ones only where they may matter to whether the engine may be started: not before the odometer went on, nor before the date of one that idled or
     * drove; but from the first one on that found insulation bare, or that notes a torque (one far over the book stays until that
     * plug is out). Each of these is looked up once, not for each visit: 16 ms of 2,000, not 740. An
     * odometer that leapt shows nothing (record_odometer_leapt); of eight in a row that did, none is asked further. */
#define HOURS(v) "(coalesce(" v "odometer_unit, '') = 'h')"
#define NUMBER_AS(n) #n
#define NUMBER(n) NUMBER_AS(n)
    static const char sql[] =
        "WITH mine AS NOT MATERIALIZED (SELECT * FROM visit WHERE engine = ?1 AND gone = 0), latest AS MATERIALIZED (SELECT id FROM mine" LOGBOOK_LATEST_FIRST("") " LIMIT 1),"
        " bare AS MATERIALIZED (SELECT min(v.date) AS date FROM mine v CROSS JOIN reading r ON r.visit = v.id AND r.gone = 0 CROSS JOIN observation o ON o.reading = r.id AND o.gone = 0"
        "  WHERE o.sign = 'insulation-bare' AND o.zone IN ('connector', 'lead')),"
        " tight AS MATERIALIZED (SELECT min(v.date) AS date FROM mine v CROSS JOIN reading r ON r.visit = v.id AND r.gone = 0 WHERE r.torque_mnm IS NOT NULL),"
        " run AS MATERIALIZED (SELECT max(date) AS date FROM mine WHERE last_run IN ('idle', 'load') AND NOT is_ahead(date)),"
        " seen AS MATERIALIZED (SELECT id, date, odometer_m, odometer_unit FROM mine WHERE odometer_m IS NOT NULL" LOGBOOK_LATEST_FIRST("") " LIMIT 8),"
        " step AS (SELECT *, lag(odometer_m) OVER w AS before, lag(date) OVER w AS since FROM seen WINDOW w AS (PARTITION BY " HOURS("") LOGBOOK_OLDEST_FIRST("") ")),"
        " read AS MATERIALIZED (SELECT date, odometer_m, odometer_unit FROM step WHERE NOT coalesce(odometer_m - before > (julianday(date) - julianday(since) + 1) * CASE WHEN " HOURS("") " THEN " NUMBER(ODOMETER_DAY_S) " ELSE " NUMBER(ODOMETER_DAY_M) " END, 0)" LOGBOOK_LATEST_FIRST("") " LIMIT 1)"
        " SELECT " VISIT_COLUMNS " FROM mine WHERE id = (SELECT id FROM latest) OR date IS NULL OR date >= (SELECT date FROM bare) OR date >= (SELECT date FROM tight)"
        "  OR NOT (coalesce(date < (SELECT date FROM run), 0)"
        "   OR EXISTS (SELECT 1 FROM read WHERE (read.date IS NULL OR read.date >= mine.date) AND read.odometer_m >= mine.odometer_m + CASE WHEN " HOURS("mine.") " THEN " NUMBER(READY_RUN_S) " ELSE " NUMBER(READY_RUN_M) " END AND " HOURS("read.") " = " HOURS("mine.") "))" LOGBOOK_OLDEST_FIRST("");

    if (!logbook_load_engine(lb, engine_id, &out->engine, e) || !add_visits(lb, sql, engine_id, out, e))
        return false;
    out->n_ahead = count_ahead(out, out->n_visits);
    out->n_visits -= out->n_ahead;
    return logbook_db_seat_plugs(lb, engine_id, out, 0, e) && load_states(lb, engine_id, out, e);
}

bool logbook_load_record(struct logbook *lb, const char *engine_id, const char *visit_id, struct record *out, struct err *e)
{
    record_init(out);
    if (load_history(lb, engine_id, visit_id, out, e))
        return true;
    record_release(out);
    return false;
}

bool logbook_load_latest(struct logbook *lb, const char *engine_id, struct record *out, struct err *e)
{
    record_init(out);
    if (load_latest(lb, engine_id, out, e))
        return true;
    record_release(out);
    return false;
}

/* ---- the record's last visit anew ---- */

int64_t logbook_last_change(struct logbook *lb)
{
    return logbook_db_pragma(lb, LOGBOOK_LAST_CHANGE);
}

/* Whether all that was edited behind change ?1 stands in the visit ?2, and not in what orders the visits, or is nothing
 * that a record holds. A row counts by every visit it ever was of: one that was made and taken back names none now. */
static bool edited_only(struct logbook *lb, int64_t since, const char *visit_id, bool *only, struct err *e)
{
#define ELSEWHERE(row) "EXISTS (SELECT 1 FROM edit o WHERE o.row = " row " AND o.col = 'visit' AND o.new <> ?2)"
    static const char sql[] =
        "SELECT NOT EXISTS (SELECT 1 FROM edit e WHERE e.change > ?1 AND CASE"
        " WHEN e.tbl = 'visit' THEN e.row <> ?2 OR e.col IN ('gone', 'engine', 'date')"
        " WHEN e.tbl IN ('reading', 'done', 'photo', 'step', 'verdict') THEN " ELSEWHERE("e.row")
        " WHEN e.tbl = 'observation' THEN EXISTS (SELECT 1 FROM edit r WHERE r.row = e.row AND r.col = 'reading' AND " ELSEWHERE("r.new") ")"
        " ELSE e.tbl NOT IN ('mark', 'crop', 'need', 'fact') END)";
    sqlite3_stmt *q = logbook_db_prepare(lb, sql, e);
    bool row;

    if (q == NULL)
        return false;
    sqlite3_bind_int64(q, 1, since);
    logbook_db_bind(q, 2, visit_id);
    if (!logbook_db_step(lb, q, &row, e))
        return false;
    *only = sqlite3_column_int(q, 0) != 0;
    logbook_db_done(q);
    return true;
}

static bool read_again(struct logbook *lb, const char *engine_id, struct record *r, struct visit *fresh, bool *done, struct err *e)
{
    const int at = r->n_visits - 1, oldest = ready_oldest(r);

    if (!logbook_db_load_visit(lb, r->visits[at].id, &r->engine, fresh, e) || !load_readings(lb, fresh, &r->engine, e))
        return false;
    record_renew_last(r, fresh);
    if (!logbook_db_seat_plugs(lb, engine_id, r, at, e) || !load_state(lb, &r->visits[at], &r->engine, e))
        return false;
    *done = ready_oldest(r) == oldest; /* else other visits' states count, or no longer */
    return true;
}

bool logbook_refresh_record(struct logbook *lb, const char *engine_id, int64_t since, struct record *r, bool *done, struct err *e)
{
    struct visit *fresh;
    bool only, fine;

    *done = false;
    if (r->n_visits == 0 || count_ahead_behind(r, r->n_later + r->n_ahead) != r->n_ahead) /* it is another day */
        return true;
    if (!edited_only(lb, since, record_current(r)->id, &only, e))
        return false;
    if (!only)
        return true;
    fresh = mem_alloc(1, sizeof *fresh);
    fine = read_again(lb, engine_id, r, fresh, done, e);
    free(fresh);
    return fine;
}
