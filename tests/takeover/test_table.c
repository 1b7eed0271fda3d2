/* Tables of readings: encodings, separators, dates and headings as people keep them; what is wrong is named by its
 * cell; nothing is written before it is accepted, one undo takes it back, and taken twice it changes nothing. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <stdlib.h>
#include <string.h>

#include "base/err.h"
#include "base/files.h"
#include "base/mem.h"
#include "base/text.h"
#include "logbook/logbook.h"
#include "record/ready.h"
#include "takeover/plan.h"
#include "../help/help.h"

static struct logbook *fresh(void)
{
    struct err e = {0};
    struct logbook *lb = logbook_create(folder, &e) ? logbook_open(folder, LOGBOOK_WRITE, &e) : NULL;

    if (lb == NULL)
        fail_msg("%s", e.text);
    return lb;
}

static void add_engine(struct logbook *lb, const char *preset, const char *name)
{
    struct engine en = engine_find_preset(preset)->engine;
    struct err e = {0};
    char id[UUID_BYTES];

    uuid_make(id);
    text_copy(en.name, sizeof en.name, name);
    assert_true(logbook_begin(lb, "Engine", &e) && logbook_put_engine(lb, id, &en, &e) && logbook_commit(lb, &e));
}

static void parse(const char *s, struct take_table *t)
{
    struct err e = {0};

    if (!take_table_parse(s, strlen(s), "sheet.csv", t, &e))
        fail_msg("%s", e.text);
}

/* From bytes to a plan; the table stays the caller's. */
static void plan(struct logbook *lb, const char *s, const char *preset, struct take_table *t, struct take_target *target, struct arena *a, struct take_plan *p)
{
    struct err e = {0};

    parse(s, t);
    take_table_match(t, NULL);
    if (!take_target_find(lb, t, NULL, preset, "", "", target, &e))
        fail_msg("%s", e.text);
    if (target->known)
        take_table_match(t, &target->engine);
    if (!take_plan_make(lb, t, target, NULL, a, p, &e))
        fail_msg("%s", e.text);
}

static void take(struct logbook *lb, const char *s, const char *preset, char engine[UUID_BYTES])
{
    struct arena *a = arena_create();
    struct take_target target;
    struct take_table t;
    struct take_plan p;
    struct err e = {0};
    char visit[UUID_BYTES];

    plan(lb, s, preset, &t, &target, a, &p);
    assert_string_equal(p.question, "");
    if (!take_plan_write(lb, &t, &p, &target, NULL, engine, visit, &e))
        fail_msg("%s", e.text);
    take_table_release(&t);
    arena_destroy(a);
}

/* One sheet, planned for a fresh logbook of one straight four; let_go() of it. */
struct planned {
    struct logbook *lb;
    struct arena *a;
    struct take_target target;
    struct take_table t;
    struct take_plan p;
};

static void plan_for_four(struct planned *of, const char *s)
{
    of->lb = fresh();
    of->a = arena_create();
    add_engine(of->lb, "i4", "Moth");
    plan(of->lb, s, NULL, &of->t, &of->target, of->a, &of->p);
}

static void let_go(struct planned *of)
{
    take_table_release(&of->t);
    arena_destroy(of->a);
    logbook_close(of->lb);
}

/* ---- the table of fields ---- */

static void every_field_is_sound(void **state)
{
    size_t n;
    const struct logbook_column *columns = logbook_columns(&n);

    (void)state;
    for (int i = 0; i < TAKE_FIELD_COUNT; i++) {
        const struct take_field *f = take_field((enum take_field_id)i);
        bool kept = f->column == NULL;

        assert_int_equal(take_field_find(f->id), i);
        assert_true(f->label[0] != '\0' && (i == TAKE_NOTHING || f->words[0] != '\0'));
        for (size_t k = 0; f->column != NULL && k < n; k++)
            if (strcmp(columns[k].table, "reading") == 0 && strcmp(columns[k].column, f->column) == 0) {
                enum logbook_type type = f->kind == TAKE_IS_REAL ? LOGBOOK_REAL : f->kind == TAKE_IS_WORD || f->kind == TAKE_IS_PART ? LOGBOOK_TEXT : LOGBOOK_INT;

                assert_int_equal(columns[k].type, type);
                kept = true;
            }
        if (!kept)
            fail_msg("%s: no column %s", f->id, f->column);
        for (int k = 0; k < 5 && f->units[k] != NULL; k++) {
            assert_non_null(unit_find(f->units[k]));
            if (i != TAKE_ODOMETER)
                assert_int_equal(unit_find(f->units[k])->kind, unit_find(f->units[0])->kind);
        }
        /* each of its headings means it, and no other field's */
        for (const char *w = f->words; *w != '\0';) {
            char word[80];
            struct take_heading h;
            size_t len = strcspn(w, "|");

            text_format(word, sizeof word, "%.*s", (int)len, w);
            take_heading_read(word, NULL, 0, &h);
            if ((int)h.field != i || !h.sure)
                fail_msg("“%s” is %s, not %s", word, take_field(h.field)->id, f->id);
            w += len + (w[len] == '|');
        }
    }
}

static void headings_as_people_write_them(void **state)
{
    static const char *const plugs[] = {"1", "2", "3", "12", "3 top", "3 bottom"};
    static const struct {
        const char *text;
        enum take_field_id field;
        const char *unit, *plug;
    } rows[] = {
        {"Gap (mm)", TAKE_GAP, "mm", ""}, {"gap_left_mm", TAKE_GAP_LEFT, "mm", ""}, {"GAP 3 [in]", TAKE_GAP, "in", "3"}, {"gap cyl. 12", TAKE_GAP, "", "12"},
        {"Cyl3 gap", TAKE_GAP, "", "3"}, {"Zyl 2 Kompression bar", TAKE_COMPRESSION, "bar", "2"}, {"compression_wet_kpa", TAKE_COMPRESSION_WET, "kPa", ""},
        {"gap 3 top mm", TAKE_GAP, "mm", "3 top"}, {"nose_L", TAKE_NOSE_L, "", ""}, {"Kilometerstand", TAKE_ODOMETER, "km", ""}, {"odometer (mi)", TAKE_ODOMETER, "mi", ""}, {"Mileage (mi, approx.)", TAKE_ODOMETER, "mi", ""}, {"Odometer [approx. km]", TAKE_ODOMETER, "km", ""}, {"Gap (as found, in)", TAKE_GAP, "in", ""}, {"mileage", TAKE_ODOMETER, "", ""},
        {"Cylinder", TAKE_CYLINDER, "", ""}, {"Cylinder 3", TAKE_NOTHING, "", "3"}, {"2", TAKE_NOTHING, "", "2"}, {"leak-down %", TAKE_LEAK, "", ""}, {"shoe size", TAKE_NOTHING, "", ""},
        {"torque lbf.ft", TAKE_TORQUE, "lbf.ft", ""}, {"Drehmoment Nm", TAKE_TORQUE, "Nm", ""}, {"engine hours", TAKE_ODOMETER, "h", ""},
    };

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct take_heading h;

        take_heading_read(rows[i].text, plugs, 6, &h);
        if (h.field != rows[i].field || strcmp(h.unit, rows[i].unit) != 0 || strcmp(h.plug, rows[i].plug) != 0)
            fail_msg("“%s”: %s, unit “%s”, plug “%s”", rows[i].text, take_field(h.field)->id, h.unit, h.plug);
    }
}

static void numbers_and_dates_as_people_write_them(void **state)
{
    static const struct {
        const char *cell;
        bool grouped, fine;
        double value;
    } numbers[] = {{"1.1", false, true, 1.1}, {"1,1", false, true, 1.1}, {"1.234,5", false, true, 1234.5}, {"1,234.5", false, true, 1234.5}, {"97.655", true, true, 97655},
                   {"97 655", false, true, 97655}, {"97'655 km", false, true, 97655}, {"12 kPa", false, false, 0}, {"abc", false, false, 0}, {"", false, false, 0}, {"-3", false, true, -3}};
    static const struct {
        const char *cell;
        enum take_date is;
        const char *iso;
    } dates[] = {{"2026-06-14", TAKE_DATE_SURE, "2026-06-14"}, {"14.06.2026", TAKE_DATE_SURE, "2026-06-14"}, {"4.6.26", TAKE_DATE_SURE, "2026-06-04"}, {"1.2.99", TAKE_DATE_SURE, "1999-02-01"},
                 {"14 Jun 2026", TAKE_DATE_SURE, "2026-06-14"}, {"14. Juni 2026", TAKE_DATE_SURE, "2026-06-14"}, {"June 14, 2026", TAKE_DATE_SURE, "2026-06-14"},
                 {"Sun, 14th June 26", TAKE_DATE_SURE, "2026-06-14"}, {"14-Jun-2026", TAKE_DATE_SURE, "2026-06-14"}, {"3. M\xC3\xA4rz 1999", TAKE_DATE_SURE, "1999-03-03"},
                 {"2026 Dec 1", TAKE_DATE_SURE, "2026-12-01"}, {"20260614", TAKE_DATE_SURE, "2026-06-14"}, {"31 Feb 2026", TAKE_DATE_NONE, ""}, {"June 2026", TAKE_DATE_NONE, ""}, {"12345678", TAKE_DATE_NONE, ""},
                 {"2026/6/4", TAKE_DATE_SURE, "2026-06-04"}, {"2026-06-14 10:22", TAKE_DATE_SURE, "2026-06-14"}, {"03/04/2024", TAKE_DATE_SLASH, ""},
                 {"13/04/2024", TAKE_DATE_SLASH, ""}, {"13/14/2024", TAKE_DATE_NONE, ""}, {"31.02.2024", TAKE_DATE_NONE, ""}, {"1/2-2024", TAKE_DATE_NONE, ""}, {"yesterday", TAKE_DATE_NONE, ""}};

    (void)state;
    for (size_t i = 0; i < sizeof numbers / sizeof numbers[0]; i++) {
        const struct unit *unit;
        double v = 0;
        bool fine = take_read_number(take_field(TAKE_ODOMETER), numbers[i].cell, numbers[i].grouped, &v, &unit);

        if (fine != numbers[i].fine || (fine && v != numbers[i].value))
            fail_msg("“%s” gave %g", numbers[i].cell, v);
    }
    for (size_t i = 0; i < sizeof dates / sizeof dates[0]; i++) {
        char iso[11] = "";
        int a, b, y;
        enum take_date is = take_read_date(dates[i].cell, iso, &a, &b, &y);

        if (is != dates[i].is || (is == TAKE_DATE_SURE && strcmp(iso, dates[i].iso) != 0))
            fail_msg("“%s” gave %s", dates[i].cell, iso);
    }
}

/* A date typed by itself: where day and month may be either way round, only what the calendar settles. */
static void one_date_is_taken_or_asked_about(void **state)
{
    static const struct {
        const char *typed, *iso; /* "" refused */
    } rows[] = {{"30.12.2026", "2026-12-30"}, {"3.4.26", "2026-04-03"}, {"12/30/2026", "2026-12-30"}, {"30/12/2026", "2026-12-30"}, {"4/4/2026", "2026-04-04"},
                {"03/04/2026", ""}, {"14 Jun 2026", "2026-06-14"}, {"2026-06-14", "2026-06-14"}, {"31.11.2026", ""}, {"someday", ""}};

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        char iso[11] = "";
        struct err e = {0};
        bool fine = take_typed_date(rows[i].typed, iso, &e);

        assert_int_equal(fine, rows[i].iso[0] != '\0');
        if (fine)
            assert_string_equal(iso, rows[i].iso);
        else
            assert_non_null(strstr(e.text, rows[i].typed));
    }
}

static void signs_as_people_write_them(void **state)
{
    int amounts[SIGN_COUNT];
    struct err e = {0};

    (void)state;
    assert_true(take_read_signs(ZONE_WELL, -1, "oil 3; dirt a trace", amounts, &e));
    assert_int_equal(amounts[SIGN_WELL_OIL], 3);
    assert_int_equal(amounts[SIGN_WELL_DIRT], 1);
    assert_int_equal(amounts[SIGN_WELL_WATER], -1);
    assert_true(take_read_signs(ZONE_FIRING_END, -1, "heavy dry carbon", amounts, &e));
    assert_int_equal(amounts[SIGN_DRY_CARBON], 3);
    assert_true(take_read_signs(ZONE_FIRING_END, -1, "oil-wet", amounts, &e));
    assert_int_equal(amounts[SIGN_OIL_WET], 2);
    assert_true(take_read_signs(ZONE_WELL, -1, "none", amounts, &e));
    assert_false(take_read_signs(ZONE_WELL, -1, "marmalade", amounts, &e));
    assert_non_null(strstr(e.text, "marmalade"));
    assert_non_null(strstr(e.text, "oil, water"));
}

/* What somebody types who knows no list; -2: it has to be asked for. */
static void plain_words_of_a_well(void **state)
{
    static const struct {
        const char *cell;
        int own, oil, water; /* sign of the column; amounts */
    } rows[] = {
        {"dry", -1, -1, -1}, {"Dry", -1, -1, -1}, {"clean", -1, -1, -1}, {"ok", -1, -1, -1}, {"OK.", -1, -1, -1}, {"none", -1, -1, -1}, {"no", -1, -1, -1}, {"0", -1, -1, -1},
        {"trocken", -1, -1, -1}, {"dry and clean", -1, -1, -1}, {"i.O.", -1, -1, -1},
        {"a bit of oil", -1, 1, -1}, {"oil", -1, 2, -1}, {"oily", -1, 2, -1}, {"some oil", -1, 2, -1}, {"lots of oil", -1, 3, -1}, {"full of oil", -1, 3, -1}, {"very oily", -1, 3, -1},
        {"very slightly oily", -1, 1, -1}, {"no oil", -1, 0, -1}, {"oil 2", -1, 2, -1}, {"oil: 3", -1, 3, -1}, {"oil +++", -1, 3, -1}, {"oil+water", -1, 2, 2}, {"oil and a little water", -1, 2, 1},
        {"\xC3\x96l", -1, 2, -1}, {"\xC3\xB6lig", -1, 2, -1}, {"etwas \xC3\x96l", -1, 1, -1}, {"viel \xC3\x96l und Wasser", -1, 3, 2}, {"kein \xC3\x96l", -1, 0, -1}, {"oil yes", -1, 2, -1},
        {"wet", -1, -2, -2}, {"2", -1, -2, -2}, {"yes", -1, -2, -2}, {"marmalade", -1, -2, -2},
        {"2", SIGN_WELL_OIL, 2, -1}, {"yes", SIGN_WELL_OIL, 2, -1}, {"no", SIGN_WELL_OIL, 0, -1}, {"x", SIGN_WELL_OIL, 2, -1}, {"ja", SIGN_WELL_OIL, 2, -1}, {"nein", SIGN_WELL_OIL, 0, -1},
        {"0", SIGN_WELL_OIL, 0, -1}, {"a bit", SIGN_WELL_OIL, 1, -1}, {"heavy", SIGN_WELL_OIL, 3, -1}, {"dry", SIGN_WELL_OIL, 0, -1}, {"++", SIGN_WELL_OIL, 2, -1}, {"7", SIGN_WELL_OIL, -2, -2},
    };

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        int amounts[SIGN_COUNT];
        struct err e = {0};

        if (take_read_signs(ZONE_WELL, rows[i].own, rows[i].cell, amounts, &e) != (rows[i].oil > -2))
            fail_msg("“%s”: %s", rows[i].cell, e.text);
        if (rows[i].oil > -2 && (amounts[SIGN_WELL_OIL] != rows[i].oil || amounts[SIGN_WELL_WATER] != rows[i].water))
            fail_msg("“%s”: oil %d, water %d", rows[i].cell, amounts[SIGN_WELL_OIL], amounts[SIGN_WELL_WATER]);
    }
}

static void every_plain_word_is_its_sign(void **state)
{
    size_t n;
    const struct take_sign_words *rows = take_sign_words(&n);

    (void)state;
    for (size_t i = 0; i < n; i++)
        for (const char *w = rows[i].words; *w != '\0'; w += strcspn(w, "|"), w += *w == '|') {
            char word[60];
            int amounts[SIGN_COUNT], sign = sign_find(rows[i].zone, rows[i].sign);
            struct err e = {0};

            text_format(word, sizeof word, "%.*s", (int)strcspn(w, "|"), w);
            assert_true(sign >= 0);
            if (!take_read_signs(rows[i].zone, -1, word, amounts, &e) || amounts[sign] != 2)
                fail_msg("%s, “%s”: %s", zone_row(rows[i].zone)->id, word, e.text);
        }
}

static void what_is_not_noted_is_no_word(void **state)
{
    static const char *const unsaid[] = {"", "-", "--", " - ", "\xE2\x80\x93", "\xE2\x80\x94", "?", "n/a", "N/A", "k.A.", "not checked"}, *const said[] = {"0", "no", "none", "1.1", "-1", "dry", "nil"};

    (void)state;
    for (size_t i = 0; i < sizeof unsaid / sizeof unsaid[0]; i++)
        if (!take_is_unsaid(unsaid[i]))
            fail_msg("“%s” says something", unsaid[i]);
    for (size_t i = 0; i < sizeof said / sizeof said[0]; i++)
        if (take_is_unsaid(said[i]))
            fail_msg("“%s” says nothing", said[i]);
}

static void plain_words_of_lists(void **state)
{
    static const struct {
        enum words list;
        const char *cell, *id;
    } rows[] = {{WORDS_ELECTRODE, "worn", "rounded"}, {WORDS_INSULATOR, "OK", "sound"}, {WORDS_WASHER, "old", "used"}, {WORDS_WASHER, "neu", "new"}, {WORDS_TIGHTNESS, "too tight", "tight"},
                {WORDS_REFIT, "done", "torqued"}, {WORDS_THREAD_STATE, "trocken", "dry"}, {WORDS_ELECTRODE, "sharp edges", "sharp"}};
    static const struct {
        const char *cell;
        bool yes;
    } answers[] = {{"yes", true}, {"Ja", true}, {"x", true}, {"NO", false}, {"nein", false}, {"0", false}, {"1", true}, {"wahr", true}};

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct err e = {0};
        int value;

        if (!take_read_word(rows[i].list, rows[i].cell, &value, &e) || strcmp(words_id(rows[i].list, value), rows[i].id) != 0)
            fail_msg("“%s”: %s", rows[i].cell, e.text);
    }
    for (size_t i = 0; i < sizeof answers / sizeof answers[0]; i++) {
        struct err e = {0};
        bool yes;

        if (!take_read_yes_no(answers[i].cell, &yes, &e) || yes != answers[i].yes)
            fail_msg("“%s”: %s", answers[i].cell, e.text);
    }
}

/* A column for each sign of a zone, with amounts alone. */
static void a_heading_may_name_the_sign(void **state)
{
    struct take_table t;

    (void)state;
    parse("date,cyl,well oil,well water,Schacht Rost,boot,coil cracked\n2024-06-14,1,2,no,x,ok,yes\n", &t);
    take_table_match(&t, NULL);
    for (int i = 2; i <= 4; i++)
        assert_int_equal(t.columns[i].field, TAKE_WELL);
    assert_int_equal(t.columns[2].sign, SIGN_WELL_OIL);
    assert_int_equal(t.columns[3].sign, SIGN_WELL_WATER);
    assert_int_equal(t.columns[4].sign, SIGN_WELL_RUST);
    assert_int_equal(t.columns[5].field, TAKE_BOOT);
    assert_int_equal(t.columns[5].sign, -1);
    assert_int_equal(t.columns[6].sign, SIGN_COIL_CRACKED);
    take_table_release(&t);
}

/* ---- files ---- */

static void whatever_the_file_is_written_in(void **state)
{
    static const struct {
        const char *bytes, *encoding;
        char separator;
    } rows[] = {{"Datum;Zyl;Abstand;Bemerkung\n14.06.2024;1;1,10;\"sch\xF6n; trocken\"\n", "Latin-1", ';'},
                {"\xEF\xBB\xBF" "date,cyl,gap,notes\r\n2024-06-14,1,\"1,10\",\"sch\xC3\xB6n; trocken\"\r\n", "UTF-8", ','},
                {"date\tcyl\tgap\tnotes\n2024-06-14\t1\t1.10\tsch\xC3\xB6n; trocken\n", "UTF-8", '\t'},
                {"sep=;\ndate;cyl;gap;notes\n2024-06-14;1;1.10;\"sch\xC3\xB6n; trocken\"", "UTF-8", ';'}};

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct take_table t;

        parse(rows[i].bytes, &t);
        assert_string_equal(t.encoding, rows[i].encoding);
        assert_int_equal(t.separator, rows[i].separator);
        take_table_match(&t, NULL);
        assert_true(t.headed);
        assert_int_equal(t.columns[0].field, TAKE_DATE);
        assert_int_equal(t.columns[1].field, TAKE_CYLINDER);
        assert_int_equal(t.columns[2].field, TAKE_GAP);
        assert_int_equal(t.columns[3].field, TAKE_NOTES);
        assert_string_equal(csv_cell(&t.csv, 1, 3), "sch\xC3\xB6n; trocken");
        take_table_release(&t);
    }
}

static void what_is_no_table_is_refused(void **state)
{
    static const struct {
        const char *bytes;
        size_t n;
        const char *says;
    } rows[] = {{"\xFF\xFE" "d\0a\0", 6, "UTF-16"}, {"", 0, "no table"}, {"just a line", 11, "no table"}, {"a,b\n1,\"2\n", 9, "never closed"}};

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct take_table t;
        struct err e = {0};

        assert_false(take_table_parse(rows[i].bytes, rows[i].n, "sheet.csv", &t, &e));
        if (strstr(e.text, rows[i].says) == NULL)
            fail_msg("%zu: %s", i, e.text);
    }
}

static void without_headings_the_figures_tell(void **state)
{
    struct take_table t;

    (void)state;
    parse("2024-06-14,97655,1,1.10\n2024-06-14,97655,2,1.12\n2025-06-14,101000,1,1.20\n", &t);
    take_table_match(&t, NULL);
    assert_false(t.headed);
    assert_int_equal(t.columns[0].field, TAKE_DATE);
    assert_int_equal(t.columns[1].field, TAKE_ODOMETER);
    assert_int_equal(t.columns[2].field, TAKE_CYLINDER);
    assert_int_equal(t.columns[3].field, TAKE_GAP);
    take_table_release(&t);
}

/* ---- into the logbook ---- */

static void one_row_for_each_cylinder(void **state)
{
    static const char sheet[] = "Datum;km;Zyl;Elektrodenabstand;Kompression bar;Schacht;Kerze;Bemerkung\n"
                                "14.06.2024;97.655;1;1,10;11,2;oil 3;neu 1;riecht\n"
                                "14.06.2024;97.655;2;1,15;11,0;none;neu 2;\n"
                                "15.08.2025;104.120;2;1,25;10,9;;;\n";
    struct logbook *lb = fresh();
    struct logbook_report report;
    struct record r;
    struct ready ready;
    struct err e = {0};
    const struct reading *q;
    char engine[UUID_BYTES];

    (void)state;
    add_engine(lb, "i4", "Moth");
    take(lb, sheet, NULL, engine);
    assert_true(logbook_load_record(lb, engine, NULL, &r, &e));
    assert_int_equal(r.n_visits, 2);
    assert_string_equal(r.visits[0].date, "2024-06-14");
    assert_true(r.visits[0].odometer_m.value == 97655000);
    assert_string_equal(r.visits[0].notes, "1: riecht");
    ready_of(&r, &ready); /* history: nobody is warned of plugs read years ago */
    assert_true(r.visits[1].state.closed == CLOSED_AS_HISTORY && ready_to_start(&ready));
    q = visit_reading_const(&r.visits[0], &r.engine, 0, 0);
    assert_true(q->gap_mm.value == 1.1 && q->compression_kpa.value == 1120 && q->amount[SIGN_WELL_OIL] == 3);
    assert_string_equal(q->plug_name, "neu 1");
    q = visit_reading_const(&r.visits[0], &r.engine, 1, 0);
    assert_true(q->zone_seen[ZONE_WELL] && q->amount[SIGN_WELL_OIL] == 0 && !q->zone_seen[ZONE_BOOT]);
    assert_true(visit_reading_const(&r.visits[1], &r.engine, 1, 0)->gap_mm.value == 1.25);
    assert_false(visit_reading_const(&r.visits[1], &r.engine, 0, 0)->present);
    record_release(&r);
    take(lb, sheet, NULL, engine); /* again: all of it is there */
    assert_true(logbook_verify(lb, &report, &e));
    assert_string_equal(report.text, "");
    assert_string_equal(logbook_undo_label(lb), "Taken over: sheet.csv");
    assert_true(logbook_undo(lb, &e));
    assert_string_equal(logbook_undo_label(lb), "Engine"); /* the second time was no step, one undo took all of it */
    assert_true(logbook_load_record(lb, engine, NULL, &r, &e));
    assert_int_equal(r.n_visits, 0);
    record_release(&r);
    logbook_close(lb);
}

/* A digit left out makes an odometer that stands beside another of its day, or runs back: said, and taken all the same. */
static void an_odometer_that_does_not_go_on_is_told(void **state)
{
    static const char sheet[] = "date,odometer km,cylinder,gap mm\n2021-05-01,171200,1,1.00\n2022-05-01,178000,1,1.00\n2022-05-01,17800,2,1.05\n2023-05-01,180000,1,1.10\n2024-05-01,179000,1,1.10\n";
    static const char *const said[] = {"shows 178,000 km, and 17,800 km on the same day: they are taken for two visits", "shows 17,800 km, less than the 171,200 km of 1 May 2021 before it", "shows 179,000 km, less than the 180,000 km of 1 May 2023 before it"};
    struct logbook *lb = fresh();
    struct arena *a = arena_create();
    struct take_target target;
    struct take_table t;
    struct take_plan p;

    (void)state;
    plan(lb, sheet, "i4", &t, &target, a, &p);
    assert_int_equal(p.n_troubles, sizeof said / sizeof said[0]);
    for (size_t i = 0; i < sizeof said / sizeof said[0]; i++) {
        bool told = false;

        for (size_t k = 0; k < p.n_troubles; k++)
            told = told || (p.troubles[k].only_said && strstr(p.troubles[k].text, said[i]) != NULL);
        if (!told)
            fail_msg("%s: %s", said[i], p.troubles[0].text);
    }
    take_table_release(&t);
    arena_destroy(a);
    logbook_close(lb);
}

/* The report puts a mark before what a spreadsheet would take for a formula. */
static void the_mark_before_a_formula_is_no_part_of_a_word(void **state)
{
    struct logbook *lb = fresh();
    struct record r;
    struct err e = {0};
    char engine[UUID_BYTES];

    (void)state;
    take(lb, "date,cylinder,gap mm,plug,notes\n2024-05-01,1,1.00,'+plug,\"'@SUM, and 'so' on\"\n2024-05-01,2,1.00,'quoted',\n", "i4", engine);
    assert_true(logbook_load_record(lb, engine, NULL, &r, &e));
    assert_string_equal(visit_reading_const(&r.visits[0], &r.engine, 0, 0)->plug_name, "+plug");
    assert_string_equal(visit_reading_const(&r.visits[0], &r.engine, 1, 0)->plug_name, "'quoted'");
    assert_string_equal(r.visits[0].notes, "1: @SUM, and 'so' on");
    record_release(&r);
    logbook_close(lb);
}

static void one_row_for_each_visit(void **state)
{
    struct logbook *lb = fresh();
    struct record r;
    struct err e = {0};
    char engine[UUID_BYTES];

    (void)state;
    take(lb, "date,odometer (mi),gap 1,gap 2,gap 3,gap 4,1,2,3,4,notes\n2024-03-14,12000,.041,.042,.043,.040,170,172,168,,first\n2025-03-14,15000,.042,.043,,.041,168,171,170,169,\n", "i4", engine);
    assert_true(logbook_load_record(lb, engine, NULL, &r, &e));
    assert_string_equal(r.engine.name, "sheet");
    assert_int_equal(r.n_visits, 2);
    assert_true(r.visits[0].odometer_m.value == 19312128); /* 12,000 mi of 1609.344 m */
    assert_string_equal(r.visits[0].notes, "first");
    for (int c = 0; c < 4; c++) {
        static const double in[] = {.041, .042, .043, .040};
        const struct reading *q = visit_reading_const(&r.visits[0], &r.engine, c, 0);

        assert_true(q->gap_mm.value > in[c] * 25.4 - 0.0006 && q->gap_mm.value < in[c] * 25.4 + 0.0006);
        assert_int_equal(q->compression_kpa.given, c < 3);
    }
    /* 170 psi of 6.894757 kPa (NIST SP 811) */
    assert_true(visit_reading_const(&r.visits[0], &r.engine, 0, 0)->compression_kpa.value > 1172.1 && visit_reading_const(&r.visits[0], &r.engine, 0, 0)->compression_kpa.value < 1172.12);
    assert_false(visit_reading_const(&r.visits[1], &r.engine, 2, 0)->gap_mm.given);
    record_release(&r);
    logbook_close(lb);
}

static void what_is_wrong_is_named_by_its_cell(void **state)
{
    struct planned of;
    const struct take_plan *p = &of.p;

    (void)state;
    plan_for_four(&of, "date,cyl,gap,well\n2024-06-14,1,1.1,\n2024-06-14,9,1.1,\n2024-06-14,2,abc,marmalade\n31.02.2024,3,1.1,\n,,,\n2024-06-14,4,1.2,oil\n");
    assert_string_equal(p->question, "");
    assert_int_equal(p->n_rows, 5);
    assert_int_equal(p->n_bad_rows, 3);
    assert_int_equal(p->n_readings, 2);
    assert_int_equal(p->n_troubles, 4);
    assert_int_equal(p->troubles[0].line, 3);
    assert_int_equal(p->troubles[0].column, 1);
    assert_non_null(strstr(p->troubles[0].text, "no cylinder “9”"));
    assert_int_equal(p->troubles[1].line, 4);
    assert_int_equal(p->troubles[1].column, 2);
    assert_int_equal(p->troubles[2].column, 3);
    assert_int_equal(p->troubles[3].line, 5);
    assert_int_equal(p->troubles[3].column, 0);
    let_go(&of);
}

/* A cylinder written twice, none of the next: the second row took the place of the first without a word, and one firing end was
 * normal and oily at once. Rows that add to each other are as good as before. */
static void a_plug_that_stands_twice_is_told(void **state)
{
    struct planned of;
    const struct take_plan *p = &of.p;

    (void)state;
    plan_for_four(&of, "date,cyl,gap mm,firing end\n2024-06-14,1,1.02,normal\n2024-06-14,2,1.04,normal\n2024-06-14,2,1.09,\n2024-06-14,2,,oily\n2024-06-14,4,,oily\n2024-06-14,4,1.05,\n2024-06-14,4,1.05,oily\n2024-09-01,2,1.09,oily\n");
    assert_string_equal(p->question, "");
    assert_int_equal(p->n_bad_rows, 2);
    assert_int_equal(p->n_troubles, 2);
    assert_int_equal(p->troubles[0].line, 4);
    assert_int_equal(p->troubles[0].column, 2);
    assert_false(p->troubles[0].only_said);
    assert_non_null(strstr(p->troubles[0].text, "Line 3 says otherwise of plug 2 on 14 Jun 2024 already (gap mm: “1.04” there, “1.09” here)"));
    assert_int_equal(p->troubles[1].line, 5);
    assert_int_equal(p->troubles[1].column, 3);
    assert_int_equal(p->n_readings, 4);
    let_go(&of);
}

/* A row was thrown away, gap, well and compression with it, for one word or one slip. */
static void one_cell_does_not_cost_its_row(void **state)
{
    struct planned of;
    const struct take_plan *p = &of.p;
    struct record r;
    struct err e = {0};
    char engine[UUID_BYTES], visit[UUID_BYTES], words[300], out[80];

    (void)state;
    plan_for_four(&of, "date,cyl,gap mm,well,firing end,compression kPa\n2024-06-14,1,1.10,dry,white,1200\n2024-06-14,2,4.3,oil,black sooty,1180\n2024-06-14,3,1.12,dry,tan,1190\n2024-06-14,9,1.12,marmalade,tan,1190\n2024-06-14,4,,marmalade,,\n");
    assert_string_equal(p->question, "");
    assert_int_equal(p->n_bad_rows, 2); /* no such cylinder; nothing is left of the last */
    assert_int_equal(p->n_bad_cells, 2);
    assert_true(take_plan_left_out(p, out, sizeof out));
    assert_string_equal(out, "2 rows and 2 cells");
    take_plan_words(p, words, sizeof words);
    assert_non_null(strstr(words, "; 2 rows and 2 cells left out"));
    for (size_t i = 0; i < p->n_troubles; i++)
        assert_true(p->troubles[i].cell_out == (p->troubles[i].line < 4) && p->troubles[i].only_said == p->troubles[i].cell_out);
    assert_true(take_plan_write(of.lb, &of.t, p, &of.target, NULL, engine, visit, &e));
    assert_true(logbook_load_record(of.lb, engine, NULL, &r, &e));
    for (int c = 0; c < 4; c++) {
        const struct reading *q = visit_reading_const(record_current(&r), &r.engine, c, 0);

        assert_int_equal(q->compression_kpa.given, c < 3);
        assert_int_equal(q->gap_mm.given, c == 0 || c == 2);
        assert_int_equal(q->amount[SIGN_WELL_OIL], c == 1 ? 2 : c == 3 ? AMOUNT_UNSEEN : 0);
        assert_int_equal(reading_zone_looked(q, ZONE_FIRING_END), c == 1 || c == 2);
    }
    assert_int_equal(visit_reading_const(record_current(&r), &r.engine, 1, 0)->amount[SIGN_DRY_CARBON], 2);
    record_release(&r);
    let_go(&of);
}

/* Colours as they are written beside a plug; one that may mean several things is still asked about. */
static void colours_of_a_firing_end(void **state)
{
    static const struct {
        const char *cell;
        int sign; /* -1: asked about */
    } rows[] = {{"black sooty", SIGN_DRY_CARBON}, {"black and sooty", SIGN_DRY_CARBON}, {"Sooty, black", SIGN_DRY_CARBON}, {"dry black", SIGN_DRY_CARBON}, {"very sooty", SIGN_DRY_CARBON}, {"black oily", SIGN_OIL_WET},
                {"oily and black", SIGN_OIL_WET}, {"light tan", SIGN_NORMAL}, {"grey-brown", SIGN_NORMAL}, {"black", -1}, {"white", -1}, {"fouled", -1}, {"black and tan", -1}};

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        int amounts[SIGN_COUNT];
        struct err e = {0};
        const bool read = take_read_signs(ZONE_FIRING_END, -1, rows[i].cell, amounts, &e);

        if (read != (rows[i].sign >= 0) || (read && amounts[rows[i].sign] <= 0))
            fail_msg("“%s”: %s", rows[i].cell, read ? "another sign" : e.text);
    }
}

/* 15 psi is hardly a compression: where the heading names the unit it is a dead cylinder's, taken and said; where nothing
 * does, it may be bar, and it stays out. */
static void a_dead_cylinder_is_taken_where_the_unit_is_named(void **state)
{
    static const struct {
        const char *head;
        size_t n_bad;
    } rows[] = {{"compression psi", 0}, {"compression", 1}};

    struct logbook *lb = fresh();

    (void)state;
    add_engine(lb, "i4", "Ember");
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct arena *a = arena_create();
        char table[200];
        struct take_table t;
        struct take_target target;
        struct take_plan p;

        text_format(table, sizeof table, "date,cylinder,%s\n2025-01-10,1,150\n2025-01-10,2,148\n2025-01-10,3,15\n2025-01-10,4,152\n", rows[i].head);
        plan(lb, table, NULL, &t, &target, a, &p);
        assert_int_equal(p.n_bad_rows, rows[i].n_bad);
        assert_int_equal(p.n_troubles, 1);
        assert_non_null(strstr(p.troubles[0].text, "15.0 psi is hardly a compression"));
        take_table_release(&t);
        arena_destroy(a);
    }
    logbook_close(lb);
}

/* The first thing wrong with a row does not hide the others, and no sentence is cut short. */
static void all_that_is_wrong_with_a_row_is_told(void **state)
{
    struct planned of;
    const struct take_plan *p = &of.p;

    (void)state;
    plan_for_four(&of, "date,cyl,km,gap,well,firing end\n31.02.2024,9,far,abc,marmalade; jam,jelly\n2024-06-14,,,1.1,dry,\n");
    assert_int_equal(p->n_rows, 2);
    assert_int_equal(p->n_bad_rows, 2);
    assert_int_equal(p->n_values, 0);
    assert_int_equal(p->n_visits, 0);
    assert_int_equal(p->n_troubles, 7);
    for (int column = 0; column < 6; column++) {
        size_t n = 0;

        for (size_t i = 0; i < 6; i++)
            n += p->troubles[i].line == 2 && p->troubles[i].column == column;
        assert_int_equal(n, 1);
    }
    for (size_t i = 0; i < 6; i++) {
        const char *end = strrchr(p->troubles[i].text, '.');

        if (end == NULL || end[1] != '\0')
            fail_msg("cut short: %s", p->troubles[i].text);
        if (p->troubles[i].column == 4)
            assert_true(strstr(p->troubles[i].text, "“marmalade”") != NULL && strstr(p->troubles[i].text, "“jam”") != NULL);
        if (p->troubles[i].column == 5) /* the longest list of words */
            assert_non_null(strstr(p->troubles[i].text, "metal-specks, none. Or take the column as notes."));
    }
    assert_int_equal(p->troubles[6].line, 3); /* whose figures they are: said once */
    let_go(&of);
}

/* What is said to be new is what is new, and a unit that was guessed is said. */
static void words_say_what_happens(void **state)
{
    static const char first[] = "date,cyl,gap,comp\n2024-06-14,1,1.1,11\n2024-06-15,2,1.1,11\n2024-06-16,3,1.1,11\n";
    static const char same_visits[] = "date,cyl,well,gap\n2024-06-14,1,dry,-\n2024-06-15,2,dry,0.7 mm\n2024-06-16,3,dry,1.1 mm\n2024-07-01,9,dry,1.1 mm\n";
    struct logbook *lb = fresh();
    struct arena *a = arena_create();
    struct take_target target;
    struct take_table t;
    struct take_plan p;
    struct text assumed = {0};
    char engine[UUID_BYTES], words[300];

    (void)state;
    add_engine(lb, "i4", "Moth");
    plan(lb, first, NULL, &t, &target, a, &p);
    take_plan_words(&p, words, sizeof words);
    assert_string_equal(words, "3 readings with 6 values into 3 new visits");
    take_plan_assumed(&t, &p, false, &assumed);
    assert_string_equal(text_get(&assumed), "gap is taken as mm, comp is taken as bar: no unit is written there. Another is said in the heading, as in “gap (mm)”, or by --columns 3=gap:UNIT (mm, in).");
    take_table_release(&t);
    take(lb, first, NULL, engine);
    plan(lb, first, NULL, &t, &target, a, &p);
    take_plan_words(&p, words, sizeof words);
    assert_string_equal(words, "nothing new: 6 values of the table are in the logbook already");
    take_table_release(&t);
    plan(lb, same_visits, NULL, &t, &target, a, &p); /* readings there, values new */
    take_plan_words(&p, words, sizeof words);
    assert_string_equal(words, "3 readings with 4 values into 3 visits of the logbook; 1 takes the place of another; 1 value there already; 1 row left out");
    text_clear(&assumed);
    take_plan_assumed(&t, &p, false, &assumed); /* each figure has its unit */
    assert_string_equal(text_get(&assumed), "");
    text_release(&assumed);
    take_table_release(&t);
    arena_destroy(a);
    logbook_close(lb);
}

/* Figures that each name their unit leave nothing to guess. */
static void a_unit_in_every_cell_is_not_guessed(void **state)
{
    static const struct {
        const char *cells[2], *unit;
        bool guessed;
    } rows[] = {{{"88.000 km", "91.000 km"}, "km", false}, {{"55,000 mi", "56,000 mi"}, "mi", false}, {{"88000", "91000"}, "km", true}, {{"88.000 km", "91000"}, "km", true}, {{"88.000 km", "56,000 mi"}, "km", true}};

    (void)state;
    for (size_t k = 0; k < sizeof rows / sizeof rows[0]; k++) {
        struct take_table t;
        char sheet[200];

        text_format(sheet, sizeof sheet, "date;odometer;cyl;gap\n2024-06-14;%s;1;1.1\n2024-08-14;%s;1;1.1\n", rows[k].cells[0], rows[k].cells[1]);
        parse(sheet, &t);
        take_table_match(&t, NULL);
        assert_string_equal(t.columns[1].unit, rows[k].unit);
        if (t.columns[1].unit_guessed != rows[k].guessed)
            fail_msg("%s, %s", rows[k].cells[0], rows[k].cells[1]);
        take_table_release(&t);
    }
}

static void what_is_not_known_is_asked(void **state)
{
    struct logbook *lb = fresh();
    struct arena *a = arena_create();
    struct take_target target;
    struct take_table t;
    struct take_plan p;
    struct err e = {0};

    (void)state;
    plan(lb, "date,cyl,gap\n2024-06-14,1,1.1\n", NULL, &t, &target, a, &p); /* of one cylinder: many engines would fit */
    assert_non_null(strstr(p.question, "Which engine"));
    take_table_release(&t);
    add_engine(lb, "i4", "Moth");
    plan(lb, "date,gap\n2024-06-14,1.1\n", NULL, &t, &target, a, &p);
    assert_non_null(strstr(p.question, "Which column names the cylinder"));
    take_table_release(&t);
    plan(lb, "date,cyl,gap\n03/04/2024,1,1.1\n05/04/2024,1,1.1\n", NULL, &t, &target, a, &p);
    assert_non_null(strstr(p.question, "day or the month"));
    t.dates = TAKE_MONTH_FIRST;
    assert_true(take_plan_make(lb, &t, &target, NULL, a, &p, &e));
    assert_string_equal(p.visits[1].date, "2024-05-04");
    take_table_release(&t);
    plan(lb, "date,cyl,gap\n03/04/2024,1,1.1\n25/04/2024,1,1.1\n", NULL, &t, &target, a, &p); /* the second tells the first */
    assert_string_equal(p.question, "");
    assert_string_equal(p.visits[0].date, "2024-04-03");
    take_table_release(&t);
    plan(lb, "date,mileage,cyl,gap\n2024-04-03,\"98,450\",1,1.1\n", NULL, &t, &target, a, &p); /* nothing says miles */
    assert_string_equal(p.question, "Is “mileage” in miles, kilometres or hours? Neither the heading nor its figures say it.");
    take_table_release(&t);
    plan(lb, "date,mileage,cyl,gap\n2024-04-03,\"98,450 mi\",1,1.1\n", NULL, &t, &target, a, &p);
    assert_string_equal(p.question, "");
    take_table_release(&t);
    plan(lb, "cyl,gap\n1,1.1\n", NULL, &t, &target, a, &p);
    assert_non_null(strstr(p.question, "date"));
    take_table_release(&t);
    plan(lb, "shoe,size\nleft,42\n", NULL, &t, &target, a, &p);
    assert_non_null(strstr(p.question, "No column"));
    assert_true(take_table_columns(&t, "shoe=notes,2=-", &e));
    assert_int_equal(t.columns[0].field, TAKE_NOTES);
    assert_false(take_table_columns(&t, "hat=notes", &e));
    assert_false(take_table_columns(&t, "shoe=hat", &e));
    assert_false(take_table_columns(&t, "size=gap:bar", &e));
    take_table_release(&t);
    arena_destroy(a);
    logbook_close(lb);
}

/* "Plug gap" was taken for the plug's name, a title above the headings hid them all, and a column "Oil" was dropped without a word. */
static void sheets_as_people_keep_them(void **state)
{
    static const char *const gaps[] = {"Plug gap", "plug gap mm", "Spark plug gap (mm)",
                                       "Kerzenabstand"};
    struct logbook *lb = fresh();
    struct arena *a = arena_create();
    struct take_target target;
    struct take_table t;
    struct take_plan p;
    struct err e = {0};
    char sheet[300];

    (void)state;
    add_engine(lb, "i4", "Moth");
    for (size_t i = 0; i < sizeof gaps / sizeof gaps[0]; i++) {
        text_format(sheet, sizeof sheet,
                    "date;km;cyl;%s\n2024-06-14;97655;1;0,8\n2024-06-14;97655;2;0,85\n", gaps[i]);
        plan(lb, sheet, NULL, &t, &target, a, &p);
        assert_int_equal(t.columns[3].field, TAKE_GAP);
        assert_string_equal(t.columns[3].unit, "mm");
        assert_int_equal(p.n_bad_rows, 0);
        take_table_release(&t);
    }
    plan(lb,
         "Garage notes;;;\n;;;\nDatum;km;Zyl;Plug "
         "gap\n14.06.2024;97655;1;0,8\n14.06.2024;97655;2;x\n",
         NULL, &t, &target, a, &p);
    assert_string_equal(p.question, "");
    assert_int_equal(t.columns[0].field, TAKE_DATE);
    assert_int_equal(t.columns[3].field, TAKE_GAP);
    assert_int_equal(p.n_bad_rows, 1);
    assert_int_equal(p.troubles[0].line, 5); /* of the file, title and all */
    take_table_release(&t);
    plan(lb, "date;km;cyl;gap;Oil\n2024-06-14;97655;1;0,8;ok\n2024-06-14;97655;2;0,85;a bit\n",
         NULL, &t, &target, a, &p);
    assert_non_null(strstr(p.question, "Where was the oil of “Oil” seen"));
    assert_true(take_table_columns(&t, "Oil=well", &e) &&
                take_plan_make(lb, &t, &target, NULL, a, &p, &e));
    assert_string_equal(p.question, "");
    assert_int_equal(p.n_bad_rows, 0);
    assert_true(take_table_columns(&t, "Oil=-", &e) &&
                take_plan_make(lb, &t, &target, NULL, a, &p, &e));
    assert_string_equal(p.question, "");
    take_table_release(&t);
    arena_destroy(a);
    logbook_close(lb);
}

static void what_counts_as_not_noted_is_told(void **state)
{
    struct planned of;
    const struct take_plan *p = &of.p;

    (void)state;
    plan_for_four(&of, "date,cyl,gap (mm),compression (psi)\n2024-04-03,1,1.1,170\n2024-04-03,2,n/a,??\n2024-04-03,3,-,\n2024-04-03,4\n");
    assert_string_equal(p->question, "");
    assert_int_equal(p->n_troubles, 2); /* a dash and a blank are usual */
    assert_true(p->troubles[0].only_said && p->troubles[1].only_said);
    assert_int_equal(p->troubles[0].line, 3);
    assert_string_equal(p->troubles[0].text, "“n/a” (gap (mm)), “??” (compression (psi)): taken as not noted.");
    assert_int_equal(p->troubles[1].line, 5);
    assert_string_equal(p->troubles[1].text, "The row ends after 2 of 4 cells: the rest is taken as not noted.");
    let_go(&of);
}

static void what_takes_the_place_of_something_is_said(void **state)
{
    struct logbook *lb = fresh();
    struct arena *a = arena_create();
    struct take_target target;
    struct take_table t;
    struct take_plan p;
    char engine[UUID_BYTES];

    (void)state;
    add_engine(lb, "i4", "Moth");
    take(lb, "date,cyl,gap,comp kpa\n2024-06-14,1,1.10,1120.4\n2024-06-14,2,1.10,1100\n", NULL, engine);
    plan(lb, "date,cyl,gap,comp kpa\n2024-06-14,1,1.10,1120\n2024-06-14,2,1.20,1100\n", NULL, &t, &target, a, &p);
    assert_int_equal(p.n_same, 3); /* 1120 is 1120.4 in whole kPa: what is there is the more exact */
    assert_int_equal(p.n_replaced, 1);
    assert_int_equal(p.n_troubles, 1);
    assert_true(p.troubles[0].only_said);
    assert_non_null(strstr(p.troubles[0].text, "1.10 mm"));
    assert_int_equal(p.n_bad_rows, 0);
    take_table_release(&t);
    plan(lb, "date,cyl,gap in\n2024-06-14,2,0.047\n", NULL, &t, &target, a, &p);
    assert_int_equal(p.n_replaced, 1);
    assert_non_null(strstr(p.troubles[0].text, "0.043 in")); /* as the table is: 1.10 / 25.4 */
    take_table_release(&t);
    arena_destroy(a);
    logbook_close(lb);
}

/* The plug of the book goes onto a card that names none; another one there stays, and several are asked about. */
static void the_plug_of_the_book_goes_onto_the_card(void **state)
{
    struct logbook *lb = fresh();
    struct arena *a = arena_create();
    struct take_target target;
    struct take_table t;
    struct take_plan p;
    struct engine en;
    struct err e = {0};
    char engine[UUID_BYTES], words[300];

    (void)state;
    add_engine(lb, "i4", "Moth");
    plan(lb, "date,cyl,gap,plug type\n2024-06-14,1,1.10,Quill 14-R\n2024-06-14,2,1.10, Quill 18-K\n", NULL, &t, &target, a, &p);
    assert_string_equal(p.plug_type, "");
    assert_true(p.n_troubles == 1 && p.troubles[0].only_said && p.troubles[0].line == 3);
    assert_non_null(strstr(p.troubles[0].text, "several plugs"));
    take_table_release(&t);
    plan(lb, "date,cyl,gap,plug type\n2024-06-14,1,1.10,Quill 14-R \n2024-06-14,2,1.10,\n", NULL, &t, &target, a, &p);
    assert_string_equal(p.plug_type, "Quill 14-R");
    assert_int_equal(p.n_troubles, 0);
    take_plan_words(&p, words, sizeof words);
    assert_non_null(strstr(words, "“Quill 14-R” onto the engine's card"));
    take_table_release(&t);
    take(lb, "date,cyl,gap,plug type\n2024-06-14,1,1.10,Quill 14-R \n2024-06-14,2,1.10,\n", NULL, engine);
    assert_true(logbook_load_engine(lb, engine, &en, &e));
    assert_string_equal(en.plug.type, "Quill 14-R");
    assert_true(logbook_undo(lb, &e)); /* with the readings, one step */
    assert_true(logbook_load_engine(lb, engine, &en, &e));
    assert_string_equal(en.plug.type, "");
    assert_true(logbook_redo(lb, &e));
    /* taken over again it changes nothing; another one is told */
    plan(lb, "date,cyl,gap,plug type\n2024-06-14,1,1.10,Quill 14-R\n", NULL, &t, &target, a, &p);
    assert_true(p.plug_type[0] == '\0' && p.n_troubles == 0 && p.n_new == 0);
    take_table_release(&t);
    plan(lb, "date,cyl,gap,plug type\n2024-06-14,1,1.10,Quill 18-K\n", NULL, &t, &target, a, &p);
    assert_true(p.plug_type[0] == '\0' && p.n_troubles == 1 && p.troubles[0].only_said);
    assert_non_null(strstr(p.troubles[0].text, "stays as it is"));
    take_table_release(&t);
    arena_destroy(a);
    logbook_close(lb);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_field_is_sound),
        cmocka_unit_test(headings_as_people_write_them),
        cmocka_unit_test(numbers_and_dates_as_people_write_them),
        cmocka_unit_test(one_date_is_taken_or_asked_about), cmocka_unit_test(signs_as_people_write_them),
        cmocka_unit_test(plain_words_of_a_well),
        cmocka_unit_test(every_plain_word_is_its_sign),
        cmocka_unit_test(what_is_not_noted_is_no_word),
        cmocka_unit_test(plain_words_of_lists),
        cmocka_unit_test(a_heading_may_name_the_sign),
        cmocka_unit_test(whatever_the_file_is_written_in),
        cmocka_unit_test(what_is_no_table_is_refused),
        cmocka_unit_test(without_headings_the_figures_tell),
        cmocka_unit_test_setup_teardown(one_row_for_each_cylinder, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(an_odometer_that_does_not_go_on_is_told, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(the_mark_before_a_formula_is_no_part_of_a_word, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(one_row_for_each_visit, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(what_is_wrong_is_named_by_its_cell, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(one_cell_does_not_cost_its_row, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(a_plug_that_stands_twice_is_told, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(colours_of_a_firing_end, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(all_that_is_wrong_with_a_row_is_told, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(a_dead_cylinder_is_taken_where_the_unit_is_named, make_folder, drop_folder),
        cmocka_unit_test(a_unit_in_every_cell_is_not_guessed), cmocka_unit_test_setup_teardown(words_say_what_happens, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(what_is_not_known_is_asked, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(sheets_as_people_keep_them, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(what_counts_as_not_noted_is_told, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(what_takes_the_place_of_something_is_said, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(the_plug_of_the_book_goes_onto_the_card, make_folder, drop_folder),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
