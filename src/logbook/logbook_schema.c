/* logbook_schema.c - the tables. Each row of the list is a column an edit may set; the CREATE
 * statements are made from it, so that the log and the tables cannot disagree. Lengths are whole
 * micrometres, pressures pascals, distances metres, each with the unit it was typed in. */
#include "logbook/logbook_db.h"

#include <string.h>

#define T LOGBOOK_TEXT
#define I LOGBOOK_INT
#define R LOGBOOK_REAL
#define GONE(table) {table, "gone", I, NULL, "1: taken away, can come back"}

/* clang-format off */
static const struct logbook_column columns[] = {
    GONE("engine"),
    {"engine", "name", T, NULL, ""}, {"engine", "subtitle", T, NULL, "\"1998 saloon\""},
    {"engine", "layout", T, NULL, "word of the case format"},
    {"engine", "banks", T, NULL, "a line for each bank: name, tab, cylinder labels front to rear; tab, their holes where it was numbered anew"},
    {"engine", "firing", T, NULL, "labels in firing order"},
    {"engine", "intervals", T, NULL, "degrees, NULL when even"},
    {"engine", "strokes", I, NULL, "2 or 4"}, {"engine", "ignition", T, NULL, "word of the case format"},
    {"engine", "coil_groups", T, NULL, "labels, groups set off by /; NULL: not given"},
    {"engine", "mixture_groups", T, NULL, "labels, groups set off by /"},
    {"engine", "breather_near", T, NULL, "labels"},
    {"engine", "n_positions", I, NULL, "plugs in each cylinder"},
    {"engine", "position_names", T, NULL, "a line for each; tab, its hole as with banks"}, {"engine", "access", T, NULL, "well, open"},
    {"engine", "head", T, NULL, "aluminium, cast-iron"}, {"engine", "thread", T, NULL, "M14x1.25"},
    {"engine", "seat", T, NULL, "gasket, taper"}, {"engine", "electrode", T, NULL, "nickel, platinum, iridium"},
    {"engine", "gap_min_um", I, NULL, "um"}, {"engine", "gap_max_um", I, NULL, "um"},
    {"engine", "gap_limit_um", I, NULL, "um"}, {"engine", "gap_unit", T, NULL, "as typed"},
    {"engine", "heat_steps", I, NULL, "hotter (+), colder (-) than the book"},
    {"engine", "torque_mnm", I, NULL, "the maker's own figure, mN.m"}, {"engine", "torque_unit", T, NULL, "as typed"},
    {"engine", "hex_um", I, NULL, "across flats, um"}, {"engine", "notes", T, NULL, ""},
    {"engine", "plug_type", T, NULL, "maker and number, as written"},
    {"engine", "fuel_system", T, NULL, "carburettor, single-point, port, direct"},

    GONE("visit"),
    {"visit", "engine", T, "engine", ""}, {"visit", "date", T, NULL, "2026-06-14"},
    {"visit", "last_day", T, NULL, "when it took several days"},
    {"visit", "odometer_m", I, NULL, "m; hours run: s"}, {"visit", "odometer_unit", T, NULL, "mi, km, h"},
    {"visit", "removal", T, NULL, "labels in the order drawn"}, {"visit", "socket", T, NULL, "shared, wiped"},
    {"visit", "last_run", T, NULL, "word of the case format"}, {"visit", "fuel", T, NULL, "word of the case format"},
    {"visit", "oil_in_intake", I, NULL, "0, 1"},
    {"visit", "complaints", T, NULL, "words, blanks between; empty: none asked for"},
    {"visit", "complaint_words", T, NULL, "in the person's own words"},
    {"visit", "codes", T, NULL, "P0306, blanks between"},
    {"visit", "tests", T, NULL, "a line for each: test, tab, label, tab, result"},
    {"visit", "outside", T, NULL, "a line for each: amount, tab, bank; empty: looked, nothing"},
    {"visit", "notes", T, NULL, ""}, {"visit", "ended_with", T, NULL, "what was checked, what stays open"},
    {"visit", "closed", I, NULL, "1: finished; 2: was history when it was taken over"}, {"visit", "weather", T, NULL, ""},
    {"visit", "oil_level", T, NULL, ""}, {"visit", "oil_use", T, NULL, ""},
    {"visit", "oil_change_ml", I, NULL, "ml"}, {"visit", "oil_change_unit", T, NULL, "as typed"},
    {"visit", "oil_grade", T, NULL, ""}, {"visit", "oil_filter", T, NULL, ""},

    GONE("done"),
    {"done", "visit", T, "visit", ""}, {"done", "what", T, NULL, "verb:part:place"},
    {"done", "note", T, NULL, ""}, {"done", "sort", I, NULL, ""},

    GONE("reading"),
    {"reading", "visit", T, "visit", ""}, {"reading", "cylinder", I, NULL, "hole, see engine.banks: the place it first had, 0 first"},
    {"reading", "position", I, NULL, "0 for the only plug"},
    {"reading", "seen_firing_end", I, NULL, "1: looked at"}, {"reading", "seen_threads", I, NULL, "1: looked at"},
    {"reading", "seen_body", I, NULL, "1: looked at"}, {"reading", "seen_well", I, NULL, "1: looked at"},
    {"reading", "seen_boot", I, NULL, "1: looked at"}, {"reading", "seen_coil", I, NULL, "1: looked at"},
    {"reading", "seen_lead", I, NULL, "1: looked at"}, {"reading", "seen_connector", I, NULL, "1: looked at"},
    {"reading", "threads_turns", T, NULL, "upper, lower, all"}, {"reading", "dries", I, NULL, "0, 1"},
    {"reading", "heavier_side", T, NULL, ""}, {"reading", "electrode", T, NULL, ""},
    {"reading", "wear_on", T, NULL, ""}, {"reading", "insulator", T, NULL, ""},
    {"reading", "tightness", T, NULL, ""}, {"reading", "refit", T, NULL, "out, hand, torqued"},
    {"reading", "gap_um", I, NULL, "as found, by the feeler gauge, um"}, {"reading", "gap_unit", T, NULL, "as typed"},
    {"reading", "gap_photo_um", I, NULL, "as found, measured in a photo, um"},
    {"reading", "gap_photo_pm_um", I, NULL, "about 95 in 100 lie so near, um"},
    {"reading", "gap_trusted", T, NULL, "which counts: photo; not said: gap_um where there is one, else gap_photo_um"},
    {"reading", "gap_left_um", I, NULL, "as left, um"}, {"reading", "gap_left_unit", T, NULL, "as typed"},
    {"reading", "plug", T, "part", "the plug that was drawn"},
    {"reading", "plug_distance_m", I, NULL, "run by this plug, m"},
    {"reading", "mark_clock", I, NULL, "1..12, 12 the intake side"}, {"reading", "as_book", I, NULL, "0, 1"},
    {"reading", "nose_L", R, NULL, "CIELAB, D65"}, {"reading", "nose_a", R, NULL, "CIELAB, D65"},
    {"reading", "nose_b", R, NULL, "CIELAB, D65"},
    {"reading", "compression_pa", I, NULL, "Pa"}, {"reading", "compression_wet_pa", I, NULL, "Pa"},
    {"reading", "pressure_unit", T, NULL, "as typed"}, {"reading", "leak_percent", R, NULL, "%"},
    {"reading", "differential_over_80", R, NULL, "psi, of 80"},
    {"reading", "leak_heard", T, NULL, "words, blanks between; empty: listened, nothing"},
    {"reading", "washer", T, NULL, "new, used"}, {"reading", "thread_state", T, NULL, "dry, greased"},
    {"reading", "torque_mnm", I, NULL, "mN.m"}, {"reading", "torque_unit", T, NULL, "as typed"},
    {"reading", "torque_chart", T, NULL, "name of the chart it came from"},
    {"reading", "turn_deg", I, NULL, "turned after the seat, degrees"},
    {"reading", "turned_out", I, NULL, "1: liquid that stood here was turned out by hand"},
    {"reading", "kept", I, NULL, "1: scrap, and in again on somebody's own word"},
    {"reading", "connected", I, NULL, "0: lead or connector still off; 1: on again"}, {"reading", "note", T, NULL, ""},

    GONE("observation"),
    {"observation", "reading", T, "reading", ""}, {"observation", "zone", T, NULL, "word of the case format"},
    {"observation", "sign", T, NULL, "word of the case format"}, {"observation", "amount", I, NULL, "0..3; 0 where the rest of the zone was not looked at"},

    GONE("part"),
    {"part", "engine", T, "engine", ""}, {"part", "kind", T, NULL, "plug, coil, lead, injector"},
    {"part", "name", T, NULL, ""}, {"part", "state", T, NULL, "fitted, aside, scrapped"},
    {"part", "distance_before_m", I, NULL, "run before it came here, m"}, {"part", "note", T, NULL, ""},

    GONE("installation"),
    {"installation", "part", T, "part", ""}, {"installation", "engine", T, "engine", ""},
    {"installation", "cylinder", I, NULL, "hole"}, {"installation", "position", I, NULL, ""},
    {"installation", "from_visit", T, "visit", "fitted after this visit's readings; NULL: was there before"},
    {"installation", "to_visit", T, "visit", "taken out at this visit; NULL: still there"},

    GONE("photo"),
    {"photo", "visit", T, "visit", ""}, {"photo", "sha256", T, NULL, "of the original in photos/"},
    {"photo", "name", T, NULL, "as the file was called"}, {"photo", "format", T, NULL, "ending of the original"},
    {"photo", "cylinder", I, NULL, "hole, NULL: in the tray"}, {"photo", "position", I, NULL, ""},
    {"photo", "zone", T, NULL, "word of the case format"},
    {"photo", "taken", T, NULL, "the camera's local time, with its fraction"},
    {"photo", "offset_min", I, NULL, "of the camera's clock from UTC, minutes"},
    {"photo", "width", I, NULL, "as displayed, px"}, {"photo", "height", I, NULL, "as displayed, px"},
    {"photo", "turn", I, NULL, "quarter turns clockwise by hand"},
    {"photo", "lean_mdeg", I, NULL, "turned clockwise besides, thousandths of a degree, -45000 to 45000"},
    {"photo", "trouble", T, NULL, "why it cannot be shown"}, {"photo", "caption", T, NULL, ""},
    {"photo", "step", T, "step", "the step it belongs to"}, {"photo", "sort", I, NULL, ""},

    GONE("mark"),
    {"mark", "photo", T, "photo", ""}, {"mark", "kind", T, NULL, "scale, gap, patch, nose, pin, arrow, polygon, free, ellipse, box, text, ruler"},
    {"mark", "points", T, NULL, "JSON: [[x, y], …], px of the photo as displayed"},
    {"mark", "style", T, NULL, "JSON: colour, width; known, thread, hex, lies, marks"}, {"mark", "text", T, NULL, ""},
    {"mark", "sort", I, NULL, "lowest drawn first"},

    GONE("crop"),
    {"crop", "photo", T, "photo", ""}, {"crop", "view", T, NULL, "tip, side"},
    {"crop", "x", R, NULL, "middle of the tip or of the gap, px of the photo as displayed"},
    {"crop", "y", R, NULL, "middle of the tip or of the gap, px of the photo as displayed"},
    {"crop", "turn_deg", R, NULL, "clockwise, so that the plug stands upright with its firing end up"},
    {"crop", "px_per_mm", R, NULL, "px of the photo for a millimetre of the plug"},
    {"crop", "by_eye", I, NULL, "1: the scale is not measured"},

    GONE("step"),
    {"step", "visit", T, "visit", ""}, {"step", "text", T, NULL, ""}, {"step", "note", T, NULL, ""},
    {"step", "state", T, NULL, "todo, waiting, done, later"}, {"step", "done_on", T, NULL, "date"},
    {"step", "waits_for", T, NULL, "part or tool"}, {"step", "after_m", I, NULL, "look again after, m"},
    {"step", "caution", T, NULL, ""}, {"step", "source", T, NULL, "finding or cause"}, {"step", "sort", I, NULL, ""},

    GONE("need"),
    {"need", "visit", T, "visit", ""}, {"need", "text", T, NULL, ""}, {"need", "note", T, NULL, ""},
    {"need", "state", T, NULL, "to-order, ordered, in-hand, fitted"}, {"need", "on_date", T, NULL, "date"},
    {"need", "quantity", I, NULL, ""}, {"need", "sort", I, NULL, ""},

    GONE("fact"),
    {"fact", "engine", T, "engine", ""}, {"fact", "label", T, NULL, ""}, {"fact", "value", T, NULL, ""},
    {"fact", "sort", I, NULL, ""},

    GONE("verdict"),
    {"verdict", "engine", T, "engine", ""}, {"verdict", "visit", T, "visit", ""}, {"verdict", "cause", T, NULL, ""},
    {"verdict", "place", T, NULL, ""}, {"verdict", "state", T, NULL, "accepted, dismissed, repaired, gone, better, back"},
    {"verdict", "repaired_visit", T, "visit", ""}, {"verdict", "note", T, NULL, ""},
};
/* clang-format on */
#define N_COLUMNS (sizeof columns / sizeof columns[0])

const struct logbook_column *logbook_columns(size_t *n)
{
    *n = N_COLUMNS;
    return columns;
}

int logbook_db_column(const char *table, const char *column)
{
    for (size_t i = 0; i < N_COLUMNS; i++)
        if (columns[i].column[0] == column[0] && strcmp(columns[i].column, column) == 0 &&
            strcmp(columns[i].table, table) == 0)
            return (int)i;
    return -1;
}

const char *logbook_db_table(const char *table)
{
    int i = logbook_db_column(table, "gone");

    return i < 0 ? NULL : columns[i].table;
}

static const char *const type_names[] = {[LOGBOOK_TEXT] = "TEXT", [LOGBOOK_INT] = "INTEGER", [LOGBOOK_REAL] = "REAL"};

static const char log_tables[] =
    /* A change is what a person sees as one edit. (device, counter) names it everywhere; clock is
     * later than that of every change its writer had seen (Lamport); seen tells, as a JSON object, the
     * counter of every other device known to the writer. */
    "CREATE TABLE change (seq INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, device TEXT NOT NULL,"
    " counter INTEGER NOT NULL, clock INTEGER NOT NULL, seen TEXT NOT NULL, at_ms INTEGER NOT NULL,"
    " kind TEXT NOT NULL CHECK (kind IN ('do','undo','redo','settle')), reverses TEXT, label TEXT NOT NULL,"
    " UNIQUE (device, counter)) STRICT;"
    "CREATE TABLE edit (seq INTEGER PRIMARY KEY, change INTEGER NOT NULL REFERENCES change(seq),"
    " tbl TEXT NOT NULL, row TEXT NOT NULL, col TEXT NOT NULL, old ANY, new ANY) STRICT;"
    "CREATE INDEX edit_field ON edit(row, col);"
    "CREATE INDEX edit_change ON edit(change);"
    "CREATE VIEW edit_log AS SELECT e.seq AS edit, c.device, c.counter, c.seen, c.clock,"
    " datetime(c.at_ms / 1000, 'unixepoch') AS at_utc, c.kind, c.label, e.tbl, e.row, e.col, e.old, e.new"
    " FROM edit e JOIN change c ON c.seq = e.change;"
    /* The rest belongs to this copy alone and can be made again from the log. */
    "CREATE TABLE device (id TEXT PRIMARY KEY, counter INTEGER NOT NULL, clock INTEGER NOT NULL) STRICT;"
    "CREATE TABLE meta (key TEXT PRIMARY KEY, value TEXT NOT NULL) STRICT;"
    /* undone: 1 it can be done again, 2 no more, since something else was done; step: the first change of those that are
     * undone together, NULL: this one alone */
    "CREATE TABLE undo (change INTEGER PRIMARY KEY REFERENCES change(seq), undone INTEGER NOT NULL, step INTEGER) STRICT;"
    /* fields to which copies gave different values, until somebody chooses */
    "CREATE TABLE conflict (tbl TEXT NOT NULL, row TEXT NOT NULL, col TEXT NOT NULL, PRIMARY KEY (row, col, tbl)) STRICT, WITHOUT ROWID;"
    "CREATE TABLE found (id INTEGER PRIMARY KEY, tbl TEXT NOT NULL, row TEXT NOT NULL, engine TEXT, visit TEXT,"
    " UNIQUE (row, tbl)) STRICT;"
    "CREATE VIRTUAL TABLE words USING fts5(text, tokenize = 'unicode61 remove_diacritics 2', prefix = '2 3');";

static const char indexes[] =
    "CREATE INDEX visit_engine ON visit(engine, date);"
    "CREATE INDEX done_visit ON done(visit);"
    "CREATE INDEX reading_visit ON reading(visit);"
    "CREATE INDEX reading_plug ON reading(plug);"
    "CREATE INDEX observation_reading ON observation(reading);"
    "CREATE INDEX part_engine ON part(engine);"
    "CREATE INDEX installation_part ON installation(part);"
    "CREATE INDEX installation_engine ON installation(engine);"
    "CREATE INDEX installation_from ON installation(from_visit);"
    "CREATE INDEX installation_to ON installation(to_visit);"
    "CREATE INDEX photo_visit ON photo(visit);"
    "CREATE INDEX photo_sha ON photo(sha256);"
    "CREATE INDEX photo_step ON photo(step);"
    "CREATE INDEX mark_photo ON mark(photo);"
    "CREATE INDEX crop_photo ON crop(photo);"
    "CREATE INDEX step_visit ON step(visit);"
    "CREATE INDEX need_visit ON need(visit);"
    "CREATE INDEX fact_engine ON fact(engine);"
    "CREATE INDEX verdict_engine ON verdict(engine);"
    "CREATE INDEX verdict_visit ON verdict(visit);"
    "CREATE INDEX verdict_repaired ON verdict(repaired_visit);";

bool logbook_db_schema(sqlite3 *db, struct err *e)
{
    struct text sql = {0};
    bool fine;

    for (size_t i = 0; i < N_COLUMNS;) {
        const char *table = columns[i].table;

        text_addf(&sql, "CREATE TABLE %s (id TEXT PRIMARY KEY, gone INTEGER NOT NULL DEFAULT 1 CHECK (gone IN (0, 1))",
                  table);
        for (i++; i < N_COLUMNS && strcmp(columns[i].table, table) == 0; i++) { /* gone comes first */
            text_addf(&sql, ", %s %s", columns[i].column, type_names[columns[i].type]);
            if (columns[i].refers != NULL)
                text_addf(&sql, " REFERENCES %s(id) DEFERRABLE INITIALLY DEFERRED", columns[i].refers);
        }
        text_add(&sql, ") STRICT;");
    }
    text_add(&sql, log_tables);
    text_add(&sql, indexes);
    fine = sqlite3_exec(db, text_get(&sql), NULL, NULL, NULL) == SQLITE_OK ||
           err_set(e, ERR_IO, "Making the tables of the logbook: %s.", sqlite3_errmsg(db));
    text_release(&sql);
    return fine;
}
