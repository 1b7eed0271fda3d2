/* logbook_conflict.c - fields that copies set differently without knowing of each other: found by what each change
 * had seen, kept until somebody chooses, told in words. */
#include "logbook/logbook_conflict.h"

#include <assert.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "base/mem.h"

/* The edits of one field. An edit that was undone, and its undoing, count for nothing; of the others a head is one
 * that no other knew of. What stands is the latest of all. Undoing writes a value again: told is who wrote it first. */
#define EDITS_OF_FIELD                                                                                                                          \
    "WITH f AS (SELECT e.seq AS at, e.new AS new, c.id AS id, c.device AS device, c.counter AS counter, c.clock AS clock, c.seen AS seen,"       \
    " c.kind AS kind, c.reverses AS reverses, c.at_ms AS at_ms FROM edit e JOIN change c ON c.seq = e.change"                                    \
    " WHERE e.row = ?2 AND e.col = ?3 AND e.tbl = ?1),"                                                                                          \
    " stands AS (SELECT * FROM f ORDER BY clock DESC, device DESC, at DESC LIMIT 1),"                                                            \
    " undone AS (SELECT x.id FROM f x WHERE x.kind IN ('do', 'settle') AND"                                                                      \
    " (SELECT k.kind FROM f k WHERE k.reverses = x.id ORDER BY k.clock DESC, k.device DESC LIMIT 1) = 'undo'),"                                  \
    " live AS (SELECT * FROM f WHERE id NOT IN undone AND (reverses IS NULL OR reverses NOT IN undone)),"                                        \
    " heads AS (SELECT * FROM live a WHERE NOT EXISTS (SELECT 1 FROM live b WHERE b.at <> a.at AND"                                              \
    " ((b.device = a.device AND (b.counter > a.counter OR (b.counter = a.counter AND b.at > a.at))) OR"                                          \
    " (b.device <> a.device AND coalesce(json_extract(b.seen, '$.\"' || a.device || '\"'), 0) >= a.counter)))),"                                 \
    " shown AS (SELECT *, 1 AS now FROM stands UNION ALL SELECT *, 0 FROM heads),"                                                               \
    " told AS (SELECT s.new, s.clock, coalesce(o.device, s.device) AS device, coalesce(o.at_ms, s.at_ms) AS at_ms, s.now"                        \
    " FROM shown s LEFT JOIN f o ON s.reverses IS NOT NULL AND o.at = (SELECT x.at FROM f x WHERE x.reverses IS NULL AND x.id NOT IN undone AND x.new IS s.new" \
    " AND typeof(x.new) = typeof(s.new) AND x.clock < s.clock ORDER BY x.clock DESC, x.device DESC LIMIT 1))"

sqlite3_stmt *logbook_db_ask_field(struct logbook *lb, const char *sql, const char *table, const char *row, const char *column, struct err *e)
{
    sqlite3_stmt *q = logbook_db_prepare(lb, sql, e);

    if (q == NULL)
        return NULL;
    logbook_db_bind(q, 1, table);
    logbook_db_bind(q, 2, row);
    logbook_db_bind(q, 3, column);
    return q;
}

bool logbook_db_run_field(struct logbook *lb, const char *sql, const char *table, const char *row, const char *column, struct err *e)
{
    sqlite3_stmt *q = logbook_db_ask_field(lb, sql, table, row, column, e);

    return q != NULL && logbook_db_run(lb, q, e);
}

/* A row that is out of sight while another copy wrote in it: added where it is found (see_taken_out), gone when
 * somebody has said which is to be. */
static bool is_settled(struct logbook *lb, const char *table, const char *row, bool *settled, struct err *e)
{
    static const char sql[] = EDITS_OF_FIELD " SELECT 1 FROM stands WHERE new = 0 OR kind = 'settle' OR (kind = 'redo' AND ?1 = 'observation')";
    sqlite3_stmt *q = logbook_db_ask_field(lb, sql, table, row, "gone", e);

    if (q == NULL || !logbook_db_step(lb, q, settled, e))
        return false;
    logbook_db_done(q);
    return true;
}

/* ---- normal wear in one copy, a fault at the same firing end in the other ---- */

#define LATEST_AMOUNT(of) "(SELECT e.change FROM edit e JOIN change c ON c.seq = e.change WHERE e.tbl = 'observation' AND e.row = " of ".id AND e.col = 'amount' ORDER BY c.clock DESC, c.device DESC, e.seq DESC LIMIT 1)"
#define UNSEEN(by, of) "coalesce(json_extract(" by ".seen, '$.\"' || " of ".device || '\"'), 0) < " of ".counter"

/* What was noted beside the row ?2, an observation of normal wear, by a copy that did not know of it, nor the other way round. */
static const char beside_normal[] = "SELECT t.id, t.sign, t.amount, a.device, a.at_ms, b.device, b.at_ms FROM observation n"
                                    " JOIN observation t ON t.reading = n.reading AND t.zone = n.zone AND t.sign <> n.sign AND t.gone = 0 AND t.amount > 0"
                                    " JOIN change a ON a.seq = " LATEST_AMOUNT("n") " JOIN change b ON b.seq = " LATEST_AMOUNT("t")
                                    " WHERE n.id = ?2 AND n.zone = 'firing_end' AND n.sign = 'normal' AND n.gone = 0 AND n.amount > 0"
                                    " AND a.device <> b.device AND " UNSEEN("a", "b") " AND " UNSEEN("b", "a") " ORDER BY b.clock DESC, b.device DESC, t.sign";

/* One of these rows speaks of a fault: of what may lie on a sound plug too nothing is asked. */
static bool is_fault(sqlite3_stmt *q)
{
    const int s = sign_find(ZONE_FIRING_END, (const char *)sqlite3_column_text(q, 1));

    return s >= 0 && sign_is_fault((enum sign)s);
}

static void fault_words(sqlite3_stmt *q, char *to, size_t n_room)
{
    const int s = sign_find(ZONE_FIRING_END, (const char *)sqlite3_column_text(q, 1));

    text_format(to, n_room, "%s, %s", sign_row((enum sign)s)->label, amount_words(sqlite3_column_int(q, 2) & 3));
}

/* ---- two plugs in one hole ---- */

#define LATEST_EDIT(of) "(SELECT e.change FROM edit e JOIN change c ON c.seq = e.change WHERE e.tbl = 'installation' AND e.row = " of ".id ORDER BY c.clock DESC, c.device DESC, e.seq DESC LIMIT 1)"
/* What else sits, by its last word, in the hole of the row ?2; the least id of them carries the difference. */
static const char beside_seat[] = "SELECT o.id, op.name, np.name, a.device, a.at_ms, b.device, b.at_ms FROM installation n JOIN part np ON np.id = n.part AND np.gone = 0"
                                  " JOIN installation o ON o.engine = n.engine AND o.cylinder = n.cylinder AND coalesce(o.position, 0) = coalesce(n.position, 0) AND o.id > n.id AND o.gone = 0 AND o.to_visit IS NULL"
                                  " JOIN part op ON op.id = o.part AND op.gone = 0 AND op.kind = np.kind AND op.id <> np.id"
                                  " JOIN change a ON a.seq = " LATEST_EDIT("n") " JOIN change b ON b.seq = " LATEST_EDIT("o")
                                  " WHERE n.id = ?2 AND n.gone = 0 AND n.to_visit IS NULL ORDER BY b.clock DESC, b.device DESC, o.id";

static bool is_seat(sqlite3_stmt *q)
{
    (void)q;
    return true;
}

static void seat_words(sqlite3_stmt *q, char *to, size_t n_room)
{
    logbook_db_text(q, 1, to, n_room);
}

/* Rows that contradict one another though each field has one value: sql gives those against the row ?2, their id first. */
static const struct beside {
    const char *table, *sql;
    bool (*counts)(sqlite3_stmt *q);
    void (*words)(sqlite3_stmt *q, char *to, size_t n_room);
} besides[] = {{"observation", beside_normal, is_fault, fault_words}, {"installation", beside_seat, is_seat, seat_words}};

static const struct beside *beside_of(const char *table, const char *column)
{
    for (size_t i = 0; i < sizeof besides / sizeof besides[0]; i++)
        if (strcmp(column, "gone") == 0 && strcmp(besides[i].table, table) == 0)
            return &besides[i];
    return NULL;
}

static bool contradicts(struct logbook *lb, const char *table, const char *row, const char *column, bool *is, struct err *e)
{
    const struct beside *b = beside_of(table, column);
    sqlite3_stmt *q;
    bool fine;

    *is = false;
    if (b == NULL)
        return true;
    q = logbook_db_ask_field(lb, b->sql, table, row, column, e);
    if (q == NULL)
        return false;
    while (logbook_db_next(lb, q, &fine, e))
        *is = *is || b->counts(q);
    return fine;
}

static const char keep_conflict[] = "INSERT OR IGNORE INTO conflict (tbl, row, col) VALUES (?1, ?2, ?3)";

bool logbook_db_keep_conflict(struct logbook *lb, const char *table, const char *row, const char *column, struct err *e)
{
    return logbook_db_run_field(lb, keep_conflict, table, row, column, e);
}

bool logbook_db_see_conflict(struct logbook *lb, const char *table, const char *row, const char *column, struct err *e)
{
    static const char count[] = EDITS_OF_FIELD " SELECT count(*) FROM (SELECT 1 FROM told GROUP BY typeof(new), new)";
    static const char drop[] = "DELETE FROM conflict WHERE tbl = ?1 AND row = ?2 AND col = ?3";
    sqlite3_stmt *q = logbook_db_ask_field(lb, count, table, row, column, e);
    bool there, many, settled = true, against;

    if (q == NULL || !logbook_db_step(lb, q, &there, e))
        return false;
    many = there && sqlite3_column_int(q, 0) > 1;
    logbook_db_done(q);
    if (!contradicts(lb, table, row, column, &against, e))
        return false;
    many = many || against;
    if (!many && strcmp(column, "gone") == 0 && !is_settled(lb, table, row, &settled, e))
        return false;
    return (!many && !settled) || logbook_db_run_field(lb, many ? keep_conflict : drop, table, row, column, e);
}

bool logbook_db_see_conflicts(struct logbook *lb, struct err *e)
{
    static const char any[] = "SELECT 1 FROM conflict LIMIT 1";
    static const char settled_before[] = "SELECT 1 FROM change WHERE id = ?1 AND kind = 'settle'";
    static const char settles[] = "UPDATE change SET kind = 'settle' WHERE seq = ?1 AND kind = 'do'";
    static const char touched[] = "SELECT DISTINCT e.tbl, e.row, e.col FROM edit e JOIN conflict f ON f.row = e.row AND f.col = e.col AND f.tbl = e.tbl WHERE e.change = ?1"
                                  " UNION SELECT f.tbl, f.row, f.col FROM edit e JOIN observation t ON t.id = e.row JOIN observation n ON n.reading = t.reading AND n.zone = t.zone"
                                  " JOIN conflict f ON f.row = n.id AND f.col = 'gone' AND f.tbl = 'observation' WHERE e.change = ?1 AND e.tbl = 'observation' AND e.col IN ('gone', 'amount')"
                                  " UNION SELECT tbl, row, col FROM conflict WHERE tbl = 'installation' AND EXISTS (SELECT 1 FROM edit e WHERE e.change = ?1 AND e.tbl = 'installation')";
    static const char all[] = "SELECT DISTINCT tbl, row, col FROM edit WHERE change = ?1"
                              " UNION SELECT 'observation', n.id, 'gone' FROM edit e JOIN observation t ON t.id = e.row JOIN observation n ON n.reading = t.reading AND n.zone = 'firing_end' AND n.sign = 'normal'"
                              " WHERE e.change = ?1 AND e.tbl = 'observation'"
                              " UNION SELECT 'installation', n.id, 'gone' FROM edit e JOIN installation i ON i.id = e.row JOIN installation n ON n.engine = i.engine AND n.gone = 0"
                              " WHERE e.change = ?1 AND e.tbl = 'installation'";
    bool there, again = false, fine;
    sqlite3_stmt *q = logbook_db_prepare(lb, any, e);
    int n = 0;

    if (q == NULL || !logbook_db_step(lb, q, &there, e))
        return false;
    logbook_db_done(q);
    if (lb->reverses[0] != '\0') { /* a choice is taken back, or made again */
        q = logbook_db_prepare(lb, settled_before, e);
        if (q == NULL)
            return false;
        logbook_db_bind(q, 1, lb->reverses);
        if (!logbook_db_step(lb, q, &again, e))
            return false;
        logbook_db_done(q);
    }
    if (!there && !again)
        return true;
    q = logbook_db_prepare(lb, again ? all : touched, e);
    if (q == NULL)
        return false;
    sqlite3_bind_int64(q, 1, lb->change);
    while (logbook_db_next(lb, q, &fine, e)) {
        char table[24], row[UUID_BYTES], column[32];

        logbook_db_text(q, 0, table, sizeof table);
        logbook_db_text(q, 1, row, sizeof row);
        logbook_db_text(q, 2, column, sizeof column);
        /* What was in conflict and is written has been chosen; the change says so before the field is looked at. */
        if (n++ == 0 && !again) {
            sqlite3_stmt *s = logbook_db_prepare(lb, settles, e);

            if (s != NULL)
                sqlite3_bind_int64(s, 1, lb->change);
            if (s == NULL || !logbook_db_run(lb, s, e)) {
                logbook_db_done(q);
                return false;
            }
        }
        if (again && strcmp(column, "gone") == 0 && strcmp(lb->kind, "undo") == 0 && !logbook_db_keep_conflict(lb, table, row, column, e))
            fine = false;
        if (!fine || !logbook_db_see_conflict(lb, table, row, column, e)) {
            logbook_db_done(q);
            return false;
        }
    }
    return fine;
}

/* ---- what is in conflict ---- */

int logbook_count_conflicts(struct logbook *lb)
{
    int64_t n = logbook_db_pragma(lb, "SELECT count(*) FROM conflict");

    return n > 0 ? (int)n : 0;
}

void logbook_tell_in(struct logbook *lb, const struct unit_choice *units)
{
    lb->units = *units;
}

/* Lengths, pressures and torques in the units that are set. */
static bool figure_words(const struct unit_choice *units, const char *column, double value, char *to, size_t n_room)
{
    if (text_ends(column, "_um"))
        unit_tell_length(units, value / 1000, true, to, n_room);
    else if (text_ends(column, "_pa"))
        unit_tell_pressure(units, value / 1000, true, to, n_room);
    else if (text_ends(column, "_mnm"))
        unit_tell_torque(units, value / 1000, value / 1000, to, n_room);
    else
        return false;
    return true;
}

/* The unit of the engine's odometer, as it is noted at the visit, else at the latest that says; WORDS_ODOMETER_UNIT, 0 none does. */
static int odometer_unit_of(struct logbook *lb, const struct logbook_conflict *c)
{
    static const char sql[] = "SELECT odometer_unit FROM visit WHERE engine = ?1 AND odometer_unit IS NOT NULL ORDER BY id = ?2 DESC, date DESC LIMIT 1";
    sqlite3_stmt *q = logbook_db_prepare(lb, sql, NULL);
    bool row;
    int unit = 0;

    if (q == NULL)
        return 0;
    logbook_db_bind(q, 1, c->engine);
    logbook_db_bind(q, 2, c->visit);
    if (logbook_db_step(lb, q, &row, NULL) && row)
        unit = words_find(WORDS_ODOMETER_UNIT, (const char *)sqlite3_column_text(q, 0));
    logbook_db_done(q);
    return unit > 0 ? unit : 0;
}

/* "left: 1 3 5, right: 2 4 6" of engine.banks; of one bank its labels. */
static void numbering_words(const char *banks, char *to, size_t n_room)
{
    const bool several = strchr(banks, '\n') != NULL;
    struct text t = {0};

    for (const char *line = banks; *line != '\0'; line += strcspn(line, "\n"), line += *line == '\n') {
        int n_name = (int)strcspn(line, "\t\n"), from = n_name + (line[n_name] == '\t');

        text_addf(&t, "%s%.*s%s%.*s", t.n_bytes ? ", " : "", several ? n_name : 0, line, several && n_name > 0 ? ": " : "", (int)strcspn(line + from, "\t\n"), line + from);
    }
    text_copy(to, n_room, text_get(&t));
    text_release(&t);
}

/* A stored value for people; odometer: the unit distances are told in. */
static void value_words(const struct unit_choice *units, int odometer, const char *table, const char *column, sqlite3_stmt *q, int at, char *to, size_t n_room)
{
    char number[40];

    if (strcmp(column, "gone") == 0) {
        text_copy(to, n_room, sqlite3_column_int(q, at) ? "taken out" : "kept");
        return;
    }
    if (sqlite3_column_type(q, at) == SQLITE_NULL) {
        text_copy(to, n_room, "nothing");
        return;
    }
    if (strcmp(table, "observation") == 0 && strcmp(column, "amount") == 0) {
        text_copy(to, n_room, amount_words(sqlite3_column_int(q, at) & 3));
        return;
    }
    if (strncmp(column, "seen_", 5) == 0) {
        text_copy(to, n_room, "looked at");
        return;
    }
    if (sqlite3_column_type(q, at) == SQLITE_INTEGER && figure_words(units, column, sqlite3_column_double(q, at), to, n_room))
        return;
    if (sqlite3_column_type(q, at) == SQLITE_INTEGER && text_ends(column, "_m")) {
        visit_format_odometer(MAYBE(sqlite3_column_double(q, at)), odometer, to, n_room);
        return;
    }
    if (sqlite3_column_type(q, at) == SQLITE_INTEGER && text_ends(column, "_ml")) {
        text_from_double(number, sizeof number, sqlite3_column_double(q, at) / 1000, 1);
        text_format(to, n_room, "%s l", number);
        return;
    }
    if (strcmp(table, "engine") == 0 && strcmp(column, "banks") == 0) {
        numbering_words((const char *)sqlite3_column_text(q, at), to, n_room);
        return;
    }
    if (strcmp(table, "step") == 0 && strcmp(column, "text") == 0)
        unit_tell_words(units, (const char *)sqlite3_column_text(q, at), to, n_room);
    else
        logbook_db_text(q, at, to, n_room);
    for (char *c = to; *c != '\0'; c++)
        if (*c == '\n' || *c == '\t')
            *c = ' ';
}

void logbook_column_words(const char *column, char *to, size_t n_room)
{
    static const struct {
        const char *column, *words;
    } rows[] = {{"gone", "taken out or kept"}, {"gap_um", "gap as found"}, {"gap_left_um", "gap as left"}, {"odometer_m", "odometer"}, {"compression_pa", "compression"},
                {"compression_wet_pa", "wet compression"}, {"sort", "place in the list"}, {"complaint_words", "complaint in own words"}, {"removal", "order the plugs come out"},
                {"codes", "trouble codes"}, {"oil_in_intake", "oil in the intake"}, {"last_run", "how it last ran"}, {"oil_change", "oil changed"}, {"banks", "numbering"}, {"fuel_system", "how the fuel comes in"}, {"kept", "scrap that stays in"}};
    static const char *const endings[] = {"_um", "_pa", "_mnm", "_ml", "_m", "_deg"};

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        if (strcmp(rows[i].column, column) == 0) {
            text_copy(to, n_room, rows[i].words);
            return;
        }
    text_copy(to, n_room, column);
    for (size_t i = 0; i < sizeof endings / sizeof endings[0]; i++)
        if (text_ends(to, endings[i])) {
            to[strlen(to) - strlen(endings[i])] = '\0';
            break;
        }
    for (char *c = to; *c != '\0'; c++)
        if (*c == '_')
            *c = ' ';
}

/* Goes up from the row to its engine, collecting whose it is. */
static void find_owner(struct logbook *lb, struct logbook_conflict *c, char *of, size_t n_room)
{
    char table[24], row[UUID_BYTES], up[UUID_BYTES];
    struct text t = {0};
    struct engine *en = mem_alloc(1, sizeof *en);
    struct logbook_holes holes;
    int64_t cylinder = -1, position = 0;

    text_copy(table, sizeof table, c->table);
    text_copy(row, sizeof row, c->row);
    for (int i = 0; i < 5; i++) {
        static const struct {
            const char *table, *column, *to, *name;
        } ways[] = {{"observation", "reading", "reading", "sign"}, {"reading", "visit", "visit", NULL}, {"mark", "photo", "photo", "kind"}, {"crop", "photo", "photo", NULL}, {"photo", "visit", "visit", "name"},
                    {"step", "visit", "visit", "text"}, {"need", "visit", "visit", "text"}, {"done", "visit", "visit", "what"}, {"verdict", "visit", "visit", "cause"}, {"installation", "part", "part", NULL},
                    {"part", "engine", "engine", "name"}, {"fact", "engine", "engine", "label"}, {"visit", "engine", "engine", NULL}};
        size_t k = 0;
        char name[120], told[120];

        if (strcmp(table, "visit") == 0)
            text_copy(c->visit, sizeof c->visit, row);
        if (strcmp(table, "reading") == 0 && logbook_get_int(lb, table, row, "cylinder", &cylinder))
            (void)logbook_get_int(lb, table, row, "position", &position);
        if (strcmp(table, "engine") == 0) {
            text_copy(c->engine, sizeof c->engine, row);
            break;
        }
        while (k < sizeof ways / sizeof ways[0] && strcmp(ways[k].table, table) != 0)
            k++;
        if (k == sizeof ways / sizeof ways[0])
            break;
        if (ways[k].name != NULL && logbook_get_text(lb, table, row, ways[k].name, name, sizeof name)) {
            unit_tell_words(&lb->units, name, told, sizeof told);
            text_addf(&t, "%s%s", t.n_bytes ? ", " : "", told);
        }
        if (!logbook_get_text(lb, table, row, ways[k].column, up, sizeof up))
            break;
        text_copy(table, sizeof table, ways[k].to);
        text_copy(row, sizeof row, up);
    }
    c->cylinder = (int)cylinder;
    c->position = (int)position;
    if (cylinder >= 0 && c->engine[0] != '\0' && logbook_load_engine(lb, c->engine, en, NULL) && logbook_db_holes_of_engine(lb, c->engine, &holes, NULL) &&
        logbook_db_place(&holes, en, &c->cylinder, &c->position)) {
        char plug[48];

        engine_plug_label(en, c->cylinder, c->position, plug, sizeof plug);
        text_addf(&t, "%s%s", t.n_bytes ? " of " : "of ", plug);
    } else {
        c->cylinder = c->position = -1;
    }
    free(en);
    text_copy(of, n_room, text_get(&t));
    text_release(&t);
}

/* Each value once, with the edit that stands for it: the one that holds, else its latest. */
#define VALUES_OF_FIELD                                                                                                                                 \
    EDITS_OF_FIELD ", ranked AS (SELECT *, row_number() OVER (PARTITION BY typeof(new), new ORDER BY now DESC, clock DESC, device DESC) AS k FROM told)" \
                   " SELECT new, at_ms, device FROM ranked WHERE k = 1 ORDER BY now DESC, clock DESC, device DESC"

sqlite3_stmt *logbook_db_ask_values(struct logbook *lb, const char *table, const char *row, const char *column, struct err *e)
{
    return logbook_db_ask_field(lb, VALUES_OF_FIELD, table, row, column, e);
}

/* The copy a value was written in. */
static void name_writer(struct logbook *lb, const char *device, struct logbook_conflict *c, int i)
{
    static const char *const here[] = {"device", LOGBOOK_FORMER, "previewed"};
    char key[64], own[UUID_BYTES];

    logbook_db_name_key(device, key);
    if (!logbook_db_read_meta(lb, key, c->by[i], sizeof c->by[i], NULL) || c->by[i][0] == '\0')
        text_copy(c->by[i], sizeof c->by[i], "another copy");
    c->here[i] = false;
    for (size_t k = 0; k < sizeof here / sizeof here[0]; k++)
        c->here[i] = c->here[i] || (logbook_db_read_meta(lb, here[k], own, sizeof own, NULL) && strcmp(own, device) == 0);
}

#define NORMAL_WEAR sign_row(SIGN_NORMAL)->label

/* "normal wear" against "oil-wet, moderate; bridged gap, heavy", the plug in a hole against another: both stand until one is chosen.
 * *is: that is what contradicts. */
static bool read_contradiction(struct logbook *lb, struct logbook_conflict *c, bool *is, struct err *e)
{
    const struct beside *b = beside_of(c->table, c->column);
    sqlite3_stmt *q;
    char writers[2][UUID_BYTES];
    bool fine;

    *is = false;
    if (b == NULL)
        return true;
    q = logbook_db_ask_field(lb, b->sql, c->table, c->row, c->column, e);
    if (q == NULL)
        return false;
    while (logbook_db_next(lb, q, &fine, e)) {
        char words[120];
        size_t n;

        if (!b->counts(q))
            continue;
        if (!*is) {
            if (b->words == seat_words)
                logbook_db_text(q, 2, c->values[0], sizeof c->values[0]);
            else
                text_copy(c->values[0], sizeof c->values[0], NORMAL_WEAR);
            c->values[1][0] = '\0';
            logbook_db_text(q, 3, writers[0], sizeof writers[0]);
            c->at_ms[0] = sqlite3_column_int64(q, 4);
            logbook_db_text(q, 5, writers[1], sizeof writers[1]);
            c->at_ms[1] = sqlite3_column_int64(q, 6);
        }
        n = strlen(c->values[1]);
        b->words(q, words, sizeof words);
        text_format(c->values[1] + n, sizeof c->values[1] - n, "%s%s", *is ? "; " : "", words);
        *is = true;
    }
    c->both = *is;
    c->n = *is ? 2 : 0;
    for (int i = 0; fine && i < c->n; i++)
        name_writer(lb, writers[i], c, i);
    return fine;
}

static bool read_values(struct logbook *lb, struct logbook_conflict *c, struct err *e)
{
    char writers[LOGBOOK_MOST_VALUES][UUID_BYTES];
    sqlite3_stmt *q = logbook_db_ask_field(lb, VALUES_OF_FIELD, c->table, c->row, c->column, e);
    const int odometer = odometer_unit_of(lb, c);
    bool fine;

    if (q == NULL)
        return false;
    while (logbook_db_next(lb, q, &fine, e)) {
        if (c->n == LOGBOOK_MOST_VALUES)
            continue; /* all are in the log; the latest are shown */
        value_words(&lb->units, odometer, c->table, c->column, q, 0, c->values[c->n], sizeof c->values[0]);
        c->at_ms[c->n] = sqlite3_column_int64(q, 1);
        logbook_db_text(q, 2, writers[c->n], sizeof writers[0]);
        c->n++;
    }
    for (int i = 0; fine && i < c->n; i++)
        name_writer(lb, writers[i], c, i);
    if (fine && c->n == 1 && strcmp(c->column, "gone") == 0) { /* taken out here, written in there */
        text_copy(c->by[c->n], sizeof c->by[0], c->here[0] ? "another copy" : "this copy");
        c->here[c->n] = !c->here[0];
        text_copy(c->values[c->n++], sizeof c->values[0], "kept");
    }
    return fine;
}

void logbook_conflict_written(const struct logbook_conflict *c, int value, char *to, size_t n_room)
{
    char when[60] = "";
    time_t at = (time_t)(c->at_ms[value] / 1000);
    bool named = strcmp(c->by[value], "another copy") != 0 && strcmp(c->by[value], "this copy") != 0;
    struct tm tm;

    if (c->at_ms[value] > 0 && localtime_r(&at, &tm) != NULL) {
        char iso[11], day[32];

        text_format(iso, sizeof iso, "%04d-%02d-%02d", (tm.tm_year + 1900) % 10000, tm.tm_mon + 1, tm.tm_mday);
        clock_date_words(iso, day, sizeof day);
        text_format(when, sizeof when, " %s %02d:%02d", day, tm.tm_hour, tm.tm_min);
    }
    if (c->here[value])
        text_format(to, n_room, "written%s in this copy%s%s%s", when, named ? " (" : "", named ? c->by[value] : "", named ? ")" : "");
    else
        text_format(to, n_room, "written%s in %s", when, c->by[value]);
}

void logbook_conflict_words(const struct logbook_conflict *c, int value, char *to, size_t n_room)
{
    char written[200];

    logbook_conflict_written(c, value, written, sizeof written);
    text_format(to, n_room, "%s, %s%s", c->values[value], written, c->both ? ": stands beside the other" : value == 0 ? ": stands" : "");
}

/* "plug in 1", at the visit after whose readings it came there. */
static void seat_of(struct logbook *lb, struct logbook_conflict *c)
{
    char part[UUID_BYTES] = "", kind[16] = "plug", place[48] = "";
    struct engine *en = mem_alloc(1, sizeof *en);
    struct logbook_holes holes;
    int64_t cylinder = -1, position = 0;

    if (logbook_get_text(lb, "installation", c->row, "part", part, sizeof part))
        (void)logbook_get_text(lb, "part", part, "kind", kind, sizeof kind);
    (void)logbook_get_int(lb, "installation", c->row, "cylinder", &cylinder);
    (void)logbook_get_int(lb, "installation", c->row, "position", &position);
    (void)logbook_get_text(lb, "installation", c->row, "from_visit", c->visit, sizeof c->visit);
    c->cylinder = (int)cylinder;
    c->position = (int)position;
    if (logbook_load_engine(lb, c->engine, en, NULL) && logbook_db_holes_of_engine(lb, c->engine, &holes, NULL) && logbook_db_place(&holes, en, &c->cylinder, &c->position))
        logbook_part_place(en, kind, c->cylinder, c->position, place, sizeof place);
    else
        c->cylinder = c->position = -1;
    text_format(c->what, sizeof c->what, "%s%s%s", kind, place[0] ? " in " : "", place);
    free(en);
}

bool logbook_list_conflicts(struct logbook *lb, struct arena *a, struct logbook_conflict **conflicts, size_t *n, struct err *e)
{
    static const char sql[] = "SELECT tbl, row, col FROM conflict ORDER BY tbl, row, col";
    sqlite3_stmt *q = logbook_db_prepare(lb, sql, e);
    void *items = NULL;
    size_t n_room = 0;
    bool fine;

    *n = 0;
    *conflicts = NULL;
    if (q == NULL)
        return false;
    while (logbook_db_next(lb, q, &fine, e)) {
        struct logbook_conflict *c = arena_push(a, &items, n, &n_room, sizeof *c);

        logbook_db_text(q, 0, c->table, sizeof c->table);
        logbook_db_text(q, 1, c->row, sizeof c->row);
        logbook_db_text(q, 2, c->column, sizeof c->column);
    }
    *conflicts = items;
    for (size_t i = 0; fine && i < *n; i++) {
        struct logbook_conflict *c = &(*conflicts)[i];
        char column[48], of[160];
        bool against = false;

        find_owner(lb, c, of, sizeof of);
        logbook_column_words(c->column, column, sizeof column);
        fine = read_contradiction(lb, c, &against, e);
        if (against && strcmp(c->table, "installation") == 0)
            seat_of(lb, c);
        else if (against)
            text_format(c->what, sizeof c->what, "firing end%s", strstr(of, " of ") != NULL ? strstr(of, " of ") : "");
        else if (strcmp(c->table, "reading") == 0) /* "gap as found of 3" says it */
            text_format(c->what, sizeof c->what, "%s%s%s", column, of[0] ? " " : "", of);
        else
            text_format(c->what, sizeof c->what, "%s: %s%s%s", c->table, column, of[0] ? " " : "", of);
        if (c->engine[0] != '\0')
            logbook_get_text(lb, "engine", c->engine, "name", c->engine_name, sizeof c->engine_name);
        if (c->visit[0] != '\0')
            logbook_get_text(lb, "visit", c->visit, "date", c->date, sizeof c->date);
        fine = fine && (against || read_values(lb, c, e));
    }
    if (!fine)
        *n = 0;
    return fine;
}

/* One of them goes: of a plug that is nowhere then, it is set aside. */
static bool take_away(struct logbook *lb, const char *table, const char *row, struct err *e)
{
    static const char sql[] = "SELECT 1 FROM installation WHERE part = ?1 AND gone = 0 AND to_visit IS NULL LIMIT 1";
    char part[UUID_BYTES];
    sqlite3_stmt *q;
    bool sits;

    if (!logbook_set_int(lb, table, row, "gone", 1, e))
        return false;
    if (strcmp(table, "installation") != 0 || !logbook_get_text(lb, table, row, "part", part, sizeof part))
        return true;
    q = logbook_db_prepare(lb, sql, e);
    if (q == NULL)
        return false;
    logbook_db_bind(q, 1, part);
    if (!logbook_db_step(lb, q, &sits, e))
        return false;
    logbook_db_done(q);
    return sits || logbook_set_text(lb, "part", part, "state", "aside", e);
}

/* The row goes, or what speaks against it. */
static bool settle_contradiction(struct logbook *lb, const struct logbook_conflict *c, int value, struct err *e)
{
    const struct beside *b = beside_of(c->table, c->column);
    struct arena *a = arena_create();
    char (*others)[UUID_BYTES] = NULL;
    void *items = NULL;
    size_t n = 0, n_room = 0;
    sqlite3_stmt *q = logbook_db_ask_field(lb, b->sql, c->table, c->row, c->column, e);
    bool fine = q != NULL;

    while (q != NULL && logbook_db_next(lb, q, &fine, e))
        if (b->counts(q))
            logbook_db_text(q, 0, arena_push(a, &items, &n, &n_room, UUID_BYTES), UUID_BYTES);
    others = items;
    if (fine && value == 1)
        fine = take_away(lb, c->table, c->row, e);
    for (size_t i = 0; fine && value == 0 && i < n; i++)
        fine = take_away(lb, c->table, others[i], e);
    arena_destroy(a);
    return fine;
}

bool logbook_settle(struct logbook *lb, const struct logbook_conflict *c, int value, struct err *e)
{
    static const char sql[] = VALUES_OF_FIELD " LIMIT 1 OFFSET ?4";
    static const char zero[] = "SELECT 0";
    char label[LOGBOOK_LABEL_BYTES];
    sqlite3_value *v = NULL;
    sqlite3_stmt *q;
    struct err why = {.text = ""};
    struct arena *a = arena_create();
    struct logbook_lost *before = NULL, lost;
    size_t n_before = 0;
    bool there, fine = false, is_lost = false, here;

    assert(value >= 0 && value < c->n);
    text_format(label, sizeof label, "Chosen: %s", c->what);
    if (!logbook_db_begin(lb, label, "settle", NULL, e)) {
        arena_destroy(a);
        return false;
    }
    if (!logbook_db_list_lost(lb, a, &before, &n_before, &why))
        goto done;
    if (c->both) {
        fine = settle_contradiction(lb, c, value, &why);
        goto done;
    }
    q = logbook_db_ask_field(lb, sql, c->table, c->row, c->column, &why);
    if (q != NULL)
        sqlite3_bind_int(q, 4, value);
    if (q != NULL && logbook_db_step(lb, q, &there, &why)) {
        if (!there) { /* "kept", which no edit says */
            logbook_db_done(q);
            q = logbook_db_prepare(lb, zero, &why);
            if (q == NULL || !logbook_db_step(lb, q, &there, &why))
                goto done;
        }
        v = sqlite3_value_dup(sqlite3_column_value(q, 0));
        logbook_db_done(q);
        fine = logbook_db_put(lb, logbook_db_column(c->table, c->column), c->row, v, true, &why);
    }
done:
    sqlite3_value_free(v);
    fine = fine && logbook_db_lost_since(lb, before, n_before, NULL, 0, &lost, &is_lost, &why) && !is_lost;
    arena_destroy(a);
    if (fine)
        return logbook_commit(lb, e);
    logbook_rollback(lb);
    if (is_lost) {
        char words[400];

        logbook_db_lost_words(lb, NULL, &lost, &here, words, sizeof words);
        err_set(&why, ERR_BADARG, "“%s” cannot be chosen: %s. Nothing was changed. Choose the other value, or write the card as it is to be (E on Engines).", c->values[value], words);
    }
    if (e != NULL)
        *e = why;
    return false;
}
