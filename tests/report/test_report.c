/* What is handed over: nothing asks the network, nothing a person typed becomes markup or a formula. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include <stdlib.h>
#include <string.h>

#include "base/csv.h"
#include "base/err.h"
#include "base/mem.h"
#include "base/text.h"
#include "logbook/logbook.h"
#include "report/report.h"
#include "report_case.h"

/* The page of the record's last visit; told: what the logbook adds to it, or NULL. */
static void page(const struct record *r, const struct findings *f, const struct report_visit *told, const struct report_source *more, report_parts without, struct text *t)
{
    struct report_visit visit = {0};
    struct report_source source = {0};
    struct report_ask ask = {.without = without};
    struct arena *a = arena_create();
    struct content c;

    if (told != NULL)
        visit = *told;
    if (more != NULL)
        source = *more;
    visit.at = r->n_visits - 1;
    visit.findings = f;
    source.record = r;
    source.visits = &visit;
    source.n_visits = 1;
    content_make(&source, &ask, a, &c);
    report_html(&c, t);
    arena_destroy(a);
}

static size_t count(const char *in, const char *what)
{
    size_t n = 0;

    for (const char *at = strstr(in, what); at != NULL; at = strstr(at + 1, what))
        n++;
    return n;
}

static const unsigned char dot[] = "\xFF\xD8\xFFnot looked at here";

static void page_stands_alone_and_escapes(void **state)
{
    struct record r;
    struct findings f;
    struct text t = {0};
    struct logbook_step step = {.text = "Fit <b>new</b> gasket", .state = "waiting", .waits_for = "a \"gasket\""};
    struct logbook_need need = {.text = "washers", .state = "to-order", .quantity = 8};
    struct logbook_fact fact = {.label = "Socket", .value = "16 mm & thin"};
    struct report_picture pictures[2] = {
        {.cylinder = 5, .position = 0, .zone = ZONE_WELL, .fine = true, .name = "a.jpg", .taken = "", .jpeg = dot, .n_bytes = sizeof dot - 1, .width = 4, .height = 3},
        {.cylinder = -1, .position = -1, .zone = -1, .name = "<x>.jpg", .taken = ""}};
    struct report_visit visit = {.steps = &step, .needs = &need, .pictures = pictures, .n_steps = 1, .n_needs = 1, .n_pictures = 2};
    struct report_source source = {.facts = &fact, .n_facts = 1};
    static const char *const outside[] = {"src=\"http", "href=", "url(", "@import", "<script", "<link", "<b>", "<x>"};

    (void)state;
    load_case(REPORT_CASE, &r, &f);
    text_copy(r.engine.name, sizeof r.engine.name, "<script>alert(1)</script>");
    text_copy(r.engine.cylinders[0].label, sizeof r.engine.cylinders[0].label, "<b>1");
    page(&r, &f, &visit, &source, 0, &t);
    for (size_t i = 0; i < sizeof outside / sizeof outside[0]; i++)
        if (strstr(text_get(&t), outside[i]) != NULL)
            fail_msg("the page holds %s", outside[i]);
    assert_non_null(strstr(text_get(&t), "&lt;script&gt;alert(1)"));
    assert_non_null(strstr(text_get(&t), "Fit &lt;b&gt;new&lt;/b&gt; gasket"));
    assert_non_null(strstr(text_get(&t), "waits for a &quot;gasket&quot;"));
    assert_non_null(strstr(text_get(&t), "8 × washers"));
    assert_non_null(strstr(text_get(&t), "16 mm &amp; thin"));
    /* RFC 4648: FF D8 FF is "/9j/" */
    assert_non_null(strstr(text_get(&t), "data:image/jpeg;base64,/9j/"));
    assert_non_null(strstr(text_get(&t), "cannot be shown"));
    assert_int_equal(count(text_get(&t), "<h1>"), 1);
    assert_int_equal(count(text_get(&t), "<img "), count(text_get(&t), " alt=\""));
    assert_int_equal(count(text_get(&t), "<table"), count(text_get(&t), "</table>"));
    assert_int_equal(count(text_get(&t), "<div"), count(text_get(&t), "</div>"));
    assert_true(text_is_utf8(text_get(&t), t.n_bytes));
    text_release(&t);
    findings_release(&f);
    record_release(&r);
}

/* What is written from right to left runs that way, and nothing else is touched. */
static void what_runs_from_right_to_left_does(void **state)
{
    struct record r;
    struct findings f;
    struct text t = {0};

    (void)state;
    load_case(REPORT_CASE, &r, &f);
    page(&r, &f, NULL, NULL, 0, &t);
    assert_null(strstr(text_get(&t), "dir="));
    text_clear(&t);
    text_copy(r.visits[r.n_visits - 1].notes, sizeof r.visits[0].notes, "רעש במנוע חם, 1.10 mm");
    text_copy(r.engine.name, sizeof r.engine.name, "محرك V8");
    text_copy(r.engine.subtitle, sizeof r.engine.subtitle, "רכב 1974"); /* stands in a line of ours, which stays as it is */
    page(&r, &f, NULL, NULL, 0, &t);
    assert_non_null(strstr(text_get(&t), "<h1 dir=\"auto\">محرك V8</h1>"));
    assert_non_null(strstr(text_get(&t), ">\xE2\x81\xA8רכב 1974\xE2\x81\xA9 · "));
    assert_non_null(strstr(text_get(&t), " dir=\"auto\">רעש במנוע חם, 1.10 mm<"));
    text_release(&t);
    findings_release(&f);
    record_release(&r);
}

/* What a reader of the tightening wants is how far to turn; who says so stands below, by name. On a phone a chart is seen from its
 * newest end, the plan whole. */
static void the_page_is_for_who_reads_it(void **state)
{
    struct record r;
    struct findings f;
    struct text t = {0};

    (void)state;
    load_case(REPORT_CASE, &r, &f);
    page(&r, &f, NULL, NULL, 0, &t);
    assert_non_null(strstr(text_get(&t), "New washer: finger-tight, then 180–270° (5 sources)."));
    assert_non_null(strstr(text_get(&t), "Other washers turn less, as the plug&#39;s box says: gasket (solid copper), new: 30°; gasket (solid copper), reused: 15°."));
    assert_non_null(strstr(text_get(&t), "Angles by gsparkplug.com; "));
    assert_non_null(strstr(text_get(&t), "<div class=\"wide newest\"><svg role=\"img\" class=\"large\" aria-label=\""));
    /* the figures of its axis stay in view there, and that it can be moved is said */
    assert_non_null(strstr(text_get(&t), "<p class=\"soft hint\">← Earlier visits lie to the left"));
    assert_non_null(strstr(text_get(&t), "</svg><svg class=\"axis\" aria-hidden=\"true\""));
    assert_non_null(strstr(strstr(text_get(&t), "<svg class=\"axis\""), "text-anchor=\"end\""));
    assert_non_null(strstr(text_get(&t), "<svg role=\"img\" class=\"desk\" aria-label=\"The engine seen from above"));
    text_release(&t);
    findings_release(&f);
    record_release(&r);
}

/* A buyer takes what is not named for looked at: one coil was, and the coils stood nowhere. */
static void what_was_not_looked_at_names_its_cylinders(void **state)
{
    struct record r;
    struct findings f;
    struct text t = {0};
    struct visit *v;

    (void)state;
    load_case(REPORT_CASE, &r, &f);
    r.engine.ignition = ENGINE_COIL_PER_PLUG;
    v = &r.visits[r.n_visits - 1];
    for (int i = 0; i < record_plug_count(&r.engine); i++) {
        for (int z = 0; z < ZONE_COUNT; z++)
            reading_see_zone(&v->readings[i], (enum zone)z);
        for (int s = 0; i != 2 && s < SIGN_COUNT; s++)
            if (sign_row((enum sign)s)->zone == ZONE_COIL)
                v->readings[i].amount[s] = AMOUNT_UNSEEN;
        v->readings[i].zone_seen[ZONE_COIL] = i == 2;
    }
    for (int s = 0; s < SIGN_COUNT; s++)
        if (sign_row((enum sign)s)->zone == ZONE_BOOT)
            v->readings[1].amount[s] = AMOUNT_UNSEEN;
    v->readings[1].zone_seen[ZONE_BOOT] = false;
    page(&r, &f, NULL, NULL, 0, &t);
    assert_string_equal(r.engine.cylinders[1].label, "3");
    assert_non_null(strstr(text_get(&t), "Not looked at: boots of 3; coils of all but 5."));
    text_release(&t);
    findings_release(&f);
    record_release(&r);
}

/* On a phone the line-up shows all plugs: it is drawn as wide as the page. */
static void the_line_up_fits_a_phone(void **state)
{
    struct record r;
    struct findings f;
    struct text t = {0};
    const char *at;

    (void)state;
    load_case(REPORT_CASE, &r, &f);
    page(&r, &f, NULL, NULL, 0, &t);
    at = strstr(text_get(&t), "aria-label=\"All ");
    assert_non_null(at);
    assert_int_equal(strncmp(at - strlen("class=\"desk\" "), "class=\"desk\" ", strlen("class=\"desk\" ")), 0); /* not "desk large", which is moved about */
    text_release(&t);
    findings_release(&f);
    record_release(&r);
}

/* A column in which no row says anything is left out, and what nobody looked at is said below. */
static void empty_columns_are_left_out(void **state)
{
    struct record r;
    struct findings f;
    struct text t = {0};
    struct visit *v;
    size_t n_threads;

    (void)state;
    load_case(REPORT_CASE, &r, &f);
    v = &r.visits[r.n_visits - 1];
    page(&r, &f, NULL, NULL, 0, &t);
    assert_non_null(strstr(text_get(&t), ">Gap, mm</th>"));
    n_threads = count(text_get(&t), ">Threads</th>");
    text_clear(&t);
    for (int i = 0; i < record_plug_count(&r.engine); i++) {
        v->readings[i].gap_mm.given = v->readings[i].gap_photo_mm.given = false;
        v->readings[i].zone_seen[ZONE_THREADS] = false;
        for (int s = (int)sign_first(ZONE_THREADS); s < (int)sign_first(ZONE_THREADS) + sign_count(ZONE_THREADS); s++)
            v->readings[i].amount[s] = AMOUNT_UNSEEN;
    }
    page(&r, &f, NULL, NULL, 0, &t);
    assert_null(strstr(text_get(&t), ">Gap, mm</th>"));
    assert_int_equal(count(text_get(&t), ">Threads</th>"), n_threads - 1); /* that of the torque charts stays */
    assert_non_null(strstr(text_get(&t), "Not looked at: coils, threads, bodies of all"));
    assert_non_null(strstr(text_get(&t), ">Firing end</th>"));
    /* on a phone each cell has its heading beside it */
    assert_non_null(strstr(text_get(&t), "data-head=\"Firing end\""));
    text_release(&t);
    findings_release(&f);
    record_release(&r);
}

static void the_warning_stays_until_every_plug_is_torqued(void **state)
{
    struct record r;
    struct findings f;
    struct text t = {0};
    int torqued = words_find(WORDS_REFIT, "torqued"), hand = words_find(WORDS_REFIT, "hand");

    (void)state;
    load_case(REPORT_CASE, &r, &f);
    for (int i = 0; i < record_plug_count(&r.engine); i++)
        r.visits[r.n_visits - 1].readings[i].refit = torqued;
    page(&r, &f, NULL, NULL, 0, &t); /* the bare connector still stands in the way */
    assert_null(strstr(text_get(&t), "torqued."));
    assert_non_null(strstr(text_get(&t), "Do not start: connector 6 is bare."));
    assert_non_null(strstr(text_get(&t), "Do not start: oil stood in the wells of 2, 4, 6: liquid that lies in a cylinder locks the engine"));
    text_clear(&t);
    {
        struct visit *v = &r.visits[r.n_visits - 1];

        assert_true(visit_parse_done(&r.engine, "replaced:connector:cylinder 6", &v->done[v->n_done++], NULL));
        v->state.turned = TURN_DONE;
    }
    page(&r, &f, NULL, NULL, 0, &t);
    assert_null(strstr(text_get(&t), "Do not start"));
    text_clear(&t);
    visit_reading(&r.visits[r.n_visits - 1], &r.engine, engine_find_cylinder(&r.engine, "3"), 0)->refit = hand;
    page(&r, &f, NULL, NULL, 0, &t);
    assert_non_null(strstr(text_get(&t), "Do not start: plug 3 is only hand-tight"));
    text_clear(&t);
    for (int i = 0; i < record_plug_count(&r.engine); i++)
        r.visits[r.n_visits - 1].readings[i].refit = hand;
    page(&r, &f, NULL, NULL, 0, &t);
    assert_non_null(strstr(text_get(&t), "Do not start: all 8 plugs are only hand-tight"));
    text_release(&t);
    findings_release(&f);
    record_release(&r);
}

/* Reads the table back with the CSV reader, and looks for a formula that survived. */
static void table_reads_back(void **state)
{
    static const struct {
        const char *column, *want;
    } cells[] = {{"odometer_mi", "97655"}, {"plug_run_mi", "4535"}, {"plug_run_counted_mi", ""}, {"plug_type", "Quill 14-R"}, {"differential_over_80", "72"}, {"tightness", "tight"}, {"mark_clock", "7"}, {"dries", "no"}};
    struct record r;
    struct findings f;
    struct text t = {0};
    struct csv c;
    struct err e = {.code = ERR_NONE};
    struct report_marks_said said = {0};
    struct report_run runs[2];
    struct visit *v;

    (void)state;
    load_case(REPORT_CASE, &r, &f);
    for (int i = 0; i < 2; i++)
        runs[i] = (struct report_run){r.n_visits - 1, i == 0 ? 0 : engine_find_cylinder(&r.engine, "6"), 0, 4535 * 1609.344};
    said = (struct report_marks_said){r.n_visits - 1, engine_find_cylinder(&r.engine, "6"), 0, "-pin: \"crack\""};
    v = &r.visits[r.n_visits - 1];
    text_copy(v->notes, sizeof v->notes, "@SUM(1)\nsecond line");
    v->n_complaints = 0;
    visit_toggle_complaint(v, words_find(WORDS_COMPLAINT, "misfire-idle-hot"));
    text_copy(v->complaint_words, sizeof v->complaint_words, "gone above 1500");
    v->odometer_m = MAYBE(97655 * 1609.344); /* NIST SP 811: a mile is 1609.344 m */
    v->odometer_unit = words_find(WORDS_ODOMETER_UNIT, "mi");
    v->readings[0].plug_distance_m = MAYBE(4535 * 1609.344);
    visit_reading(v, &r.engine, engine_find_cylinder(&r.engine, "6"), 0)->plug_distance_m = (struct maybe){false, 0};
    v->readings[0].differential_over_80 = MAYBE(72);
    text_copy(r.engine.plug.type, sizeof r.engine.plug.type, "Quill 14-R");
    v->readings[0].tightness = words_find(WORDS_TIGHTNESS, "tight");
    v->readings[0].mark_clock = 7;
    v->readings[0].dries = 2;
    text_copy(r.engine.name, sizeof r.engine.name, "=1+1,\"x\"");
    report_csv(&r, 1, &(struct report_beside){.said = &said, .n_said = 1, .runs = runs, .n_runs = 2}, &t);
    assert_true(csv_parse(text_get(&t), t.n_bytes, ',', &c, &e));
    assert_int_equal(c.n_rows, 9);
    for (size_t i = 1; i < c.n_rows; i++) {
        assert_int_equal(c.n_cells[i], c.n_cells[0]);
        assert_string_equal(csv_cell(&c, i, csv_column(&c, "engine")), "'=1+1,\"x\"");
        if (strcmp(csv_cell(&c, i, csv_column(&c, "cylinder")), "6") == 0) {
            assert_string_equal(csv_cell(&c, i, csv_column(&c, "gap_mm")), "1.10");
            assert_string_equal(csv_cell(&c, i, csv_column(&c, "well")), "oil 3");
            assert_string_equal(csv_cell(&c, i, csv_column(&c, "coil")), "");
            assert_string_equal(csv_named(&c, i, "photo_marks"), "'-pin: \"crack\"");
            assert_string_equal(csv_named(&c, i, "plug_run_mi"), ""); /* nobody said it, the logbook counts it */
            assert_string_equal(csv_named(&c, i, "plug_run_counted_mi"), "4535");
        }
        assert_string_equal(csv_named(&c, i, "complaint"), i == 1 ? "misses at hot idle; gone above 1500" : "");
        assert_string_equal(csv_named(&c, i, "notes"), i == 1 ? "'@SUM(1)\nsecond line" : "");
    }
    for (size_t i = 0; i < sizeof cells / sizeof cells[0]; i++)
        if (strcmp(csv_named(&c, 1, cells[i].column), cells[i].want) != 0)
            fail_msg("%s is “%s”, not “%s”", cells[i].column, csv_named(&c, 1, cells[i].column), cells[i].want);
    csv_release(&c);
    text_clear(&t);
    /* all visits: those before have their rows too, one without a reading has one */
    record_add_visit(&r);
    text_copy(r.visits[r.n_visits - 1].notes, sizeof r.visits[0].notes, "only looked");
    report_csv(&r, REPORT_ALL_VISITS, NULL, &t);
    assert_true(csv_parse(text_get(&t), t.n_bytes, ',', &c, &e));
    assert_true(c.n_rows > 9);
    assert_string_equal(csv_named(&c, c.n_rows - 1, "notes"), "only looked");
    assert_string_equal(csv_named(&c, c.n_rows - 1, "cylinder"), "");
    assert_int_equal(c.n_cells[c.n_rows - 1], c.n_cells[0]);
    csv_release(&c);
    text_release(&t);
    findings_release(&f);
    record_release(&r);
}

/* What was said of the visit is handed over with it, escaped; a visit nobody said anything of has no list. */
static void page_tells_of_the_visit(void **state)
{
    static const char *const told[] = {"<dt>Trouble codes</dt><dd>P0306", "“gone &lt;above&gt; 1500”", "<dt>Cut out one by one</dt><dd>no change: cylinder 6", "<dt>In the dark</dt><dd>sparks seen: cylinder 3",
                                       "<dt>Oil changed</dt><dd>7.4 l of 5W-30", "<dt>Weather</dt><dd>damp &amp; cold", "<dt>Until</dt><dd>16 Jun 2026", "<dt>Oil in the intake</dt><dd>no"};
    struct record r;
    struct findings f;
    struct text t = {0};
    struct visit *v;
    struct err e = {0};

    (void)state;
    load_case(REPORT_CASE, &r, &f);
    v = &r.visits[r.n_visits - 1];
    v->n_codes = v->n_tests = 0;
    assert_true(visit_add_code(v, "P0306", &e));
    assert_true(visit_set_test(v, words_find(WORDS_TEST, "cut-out"), engine_find_cylinder(&r.engine, "6"), words_find(WORDS_TEST_RESULT, "no-change")));
    assert_true(visit_set_test(v, words_find(WORDS_TEST, "dark"), engine_find_cylinder(&r.engine, "3"), words_find(WORDS_TEST_RESULT, "sparks")));
    v->care.oil_change_l = MAYBE(7.4);
    text_copy(v->care.oil_change_unit, sizeof v->care.oil_change_unit, "l");
    text_copy(v->care.oil_grade, sizeof v->care.oil_grade, "5W-30");
    text_copy(v->care.weather, sizeof v->care.weather, "damp & cold");
    text_copy(v->care.last_day, sizeof v->care.last_day, "2026-06-16");
    text_copy(v->complaint_words, sizeof v->complaint_words, "gone <above> 1500");
    v->oil_in_intake = 2;
    page(&r, &f, NULL, NULL, 0, &t);
    for (size_t i = 0; i < sizeof told / sizeof told[0]; i++)
        if (strstr(text_get(&t), told[i]) == NULL)
            fail_msg("the page lacks “%s”", told[i]);
    text_release(&t);
    memset(&v->care, 0, sizeof v->care);
    v->n_codes = v->n_tests = v->n_complaints = v->n_removal = v->oil_in_intake = v->last_run = v->fuel = 0;
    v->outside_seen = false;
    v->complaint_words[0] = '\0';
    v->n_outside = 0;
    page(&r, &f, NULL, NULL, (report_parts)1 << REPORT_ENGINE | (report_parts)1 << REPORT_SHORT | (report_parts)1 << REPORT_CLOSING, &t);
    assert_null(strstr(text_get(&t), "<dl>"));
    text_release(&t);
    findings_release(&f);
    record_release(&r);
}

/* How the visit ended is handed over: what was checked, what stays open, a person's own words; of a visit before it no
 * word of starting, which is the last one's to say. */
static void page_tells_how_the_visit_ended(void **state)
{
    static const char *const told[] = {"<dt class=\"say\">What was done</dt><dd>8 of 8 firing ends read", "<dt class=\"say\">What stays open</dt><dd>Do not start:", "<dd>set &lt;gaps&gt;</dd>", "<dt class=\"say\">In the end</dt><dd>idles evenly"};
    struct logbook_step steps[] = {{.text = "dry the wells", .state = "done"}, {.text = "set <gaps>", .state = "todo"}};
    struct report_visit visits[2] = {{.steps = steps, .n_steps = 2, .ended_with = "idles evenly"}};
    struct report_source source = {.visits = visits, .n_visits = 2};
    struct report_ask ask = {.n_visits = 2};
    struct content content;
    struct arena *a = arena_create();
    struct record r;
    struct findings f, before = {0};
    struct text t = {0};

    (void)state;
    load_case(REPORT_CASE, &r, &f);
    page(&r, &f, &visits[0], NULL, (report_parts)1 << REPORT_SHORT, &t);
    for (size_t i = 0; i < sizeof told / sizeof told[0]; i++)
        if (strstr(text_get(&t), told[i]) == NULL)
            fail_msg("the page lacks “%s”", told[i]);
    text_clear(&t);
    page(&r, &f, &visits[0], NULL, 0, &t); /* among the first words, too */
    assert_int_equal(count(text_get(&t), "<dt class=\"say\">In the end</dt><dd>idles evenly"), 2);
    text_clear(&t);
    record_add_visit(&r); /* the same visit as one of the past */
    source.record = &r;
    visits[0].at = r.n_visits - 1;
    visits[0].findings = &before;
    visits[1] = (struct report_visit){.at = r.n_visits - 2, .findings = &f};
    content_make(&source, &ask, a, &content);
    report_html(&content, &t);
    assert_int_equal(count(text_get(&t), "firing ends read"), 1);
    assert_int_equal(count(text_get(&t), "<dd>Do not start"), 1); /* of the visit that is the latest now, though it drew none of them */
    assert_int_equal(count(text_get(&t), "<dd>Do not start: since "), 1);
    arena_destroy(a);
    text_release(&t);
    findings_release(&f);
    record_release(&r);
}

/* Each part that can be left out is there without being asked, and gone when it is; what stands in the way of starting is
 * said all the same. */
static void parts_can_be_left_out(void **state)
{
    struct logbook_step step = {.text = "a step", .state = "todo"};
    struct logbook_need need = {.text = "washers", .state = "to-order", .quantity = 8};
    struct logbook_fact fact = {.label = "Socket", .value = "16 mm"};
    struct report_picture picture = {.cylinder = 1, .zone = -1, .fine = true, .name = "a.jpg", .taken = "", .jpeg = dot, .n_bytes = sizeof dot - 1, .width = 4, .height = 3};
    struct report_visit visit = {.steps = &step, .needs = &need, .pictures = &picture, .n_steps = 1, .n_needs = 1, .n_pictures = 1};
    struct report_source source = {.facts = &fact, .n_facts = 1};
    struct record r;
    struct findings f;
    struct text t = {0};
    char heading[96];
    report_parts set;
    struct err e = {0};

    (void)state;
    load_case(REPORT_CASE, &r, &f);
    { /* two visits, work between them, notes: every part has something to say */
        struct visit *before = &r.visits[0], *v;

        if (r.n_visits < 2) {
            record_add_visit(&r);
            before = &r.visits[0];
            r.visits[1] = *before;
        }
        v = &r.visits[r.n_visits - 1];
        before->odometer_m = MAYBE(v->odometer_m.value - 1e7);
        before->n_done = 0;
        assert_true(visit_parse_done(&r.engine, "replaced:coil:cylinder 6", &before->done[before->n_done++], &e));
        text_copy(v->notes, sizeof v->notes, "smells of varnish");
    }
    for (int p = 0; p < REPORT_PART_COUNT; p++) {
        const struct report_part_row *row = report_part_row((enum report_part)p);

        text_format(heading, sizeof heading, "<h2>%s</h2>", row->label);
        page(&r, &f, &visit, &source, 0, &t);
        if (count(text_get(&t), heading) != 1)
            fail_msg("%s stands %zu times in a whole page", heading, count(text_get(&t), heading));
        text_clear(&t);
        assert_true(report_parts_parse(row->id, &set, &e));
        assert_int_equal(set, (report_parts)1 << p);
        page(&r, &f, &visit, &source, set, &t);
        if (count(text_get(&t), heading) != 0)
            fail_msg("%s stands in a page without it", heading);
        assert_non_null(strstr(text_get(&t), "Do not start"));
        text_clear(&t);
    }
    assert_true(report_parts_parse("photos, notes,line-up", &set, &e));
    assert_int_equal(set, 1u << REPORT_PHOTOS | 1u << REPORT_NOTES | 1u << REPORT_LINEUP);
    assert_false(report_parts_parse("photos,secrets", &set, &e));
    assert_non_null(strstr(e.text, "“secrets”"));
    assert_non_null(strstr(e.text, "short, plan, causes"));
    text_release(&t);
    findings_release(&f);
    record_release(&r);
}

/* The page without its marks and styles: what a person reads, alternative texts of pictures and how a figure was computed, too. */
static void words_of(const struct text *page, struct text *out)
{
    for (const char *s = strstr(text_get(page), "<body>"); *s != '\0'; s++) {
        if (strncmp(s, "aria-label=\"", 12) == 0 || strncmp(s, "alt=\"", 5) == 0) {
            s = strchr(s, '"') + 1;
            text_addf(out, " %.*s ", (int)strcspn(s, "\""), s);
        }
        if (*s == '<') {
            text_add_char(out, ' ');
            for (; *s != '>' && strncmp(s, " aria-label=", 12) != 0 && strncmp(s, " alt=", 5) != 0; s++)
                ;
        } else if (*s != '>') {
            text_add_char(out, *s);
        }
    }
}

/* Settings of inch and psi hold for every figure of the page: none is left in mm or kPa, but for a chart's torque, which has
 * its N·m beside. Figures by hand: 1.10 mm / 25.4 = 0.043; 1250 kPa / 6.894757 (NIST SP 811) = 181 psi; 28 N·m / 1.355818 = 21. */
static void page_speaks_the_units_set(void **state)
{
    static const char *const wanted[] = {"0.043", "Gap, in", "Compression, psi", "181", "wet, psi", "Gap as left, in", "0.040", "lbf·ft (", "The maker&#39;s figure wins: 21 lbf·ft (28 N·m)", "middle gap 0.04", "read to about 0.0012 in", "gauge&#39;s ±0.001 in"};
    static const char *const foreign[] = {" mm", ", mm", " kPa", ", kPa", "millimet"};
    struct report_ask ask = {.units = {true, unit_find("psi")}};
    struct report_visit visit = {0};
    struct report_source source = {0};
    struct reading_options o = {.seed = 1, .units = ask.units};
    struct record r;
    struct findings f;
    struct visit *v;
    struct text t = {0}, words = {0};
    struct arena *a = arena_create();
    struct content c;

    (void)state;
    load_case(REPORT_CASE, &r, &f);
    findings_release(&f);
    r.engine.plug.maker_torque_nm = 28;
    v = record_add_visit(&r);
    *v = r.visits[r.n_visits - 2];
    v->odometer_m.value += 1e7;
    text_copy(v->date, sizeof v->date, "2027-02-01");
    for (int i = 0; i < record_plug_count(&r.engine); i++) {
        v->readings[i].compression_kpa = MAYBE(1250 - 5 * i);
        v->readings[i].compression_wet_kpa = MAYBE(1300 - 5 * i);
        r.visits[r.n_visits - 2].readings[i].compression_kpa = MAYBE(1240);
        v->readings[i].gap_left_mm = MAYBE(1.02);
    }
    assert_true(reading_run(&r, &o, &f, NULL));
    visit = (struct report_visit){.at = r.n_visits - 1, .findings = &f};
    source = (struct report_source){.record = &r, .visits = &visit, .n_visits = 1};
    content_make(&source, &ask, a, &c);
    report_html(&c, &t);
    words_of(&t, &words);
    for (size_t i = 0; i < sizeof wanted / sizeof wanted[0]; i++)
        if (strstr(text_get(&words), wanted[i]) == NULL)
            fail_msg("the page in inches and psi lacks “%s”", wanted[i]);
    for (size_t i = 0; i < sizeof foreign / sizeof foreign[0]; i++)
        if (strstr(text_get(&words), foreign[i]) != NULL)
            fail_msg("the page in inches and psi says “%.60s”", strstr(text_get(&words), foreign[i]) - 30);
    text_release(&t);
    text_release(&words);
    arena_destroy(a);
    findings_release(&f);
    record_release(&r);
}

static void a_step(struct logbook_step *s, const char *state, const char *text, const char *waits_for)
{
    memset(s, 0, sizeof *s);
    text_copy(s->state, sizeof s->state, state);
    text_copy(s->text, sizeof s->text, text);
    text_copy(s->waits_for, sizeof s->waits_for, waits_for);
}

/* Who gets the page by mail reads first what is wrong and how sure that is, what to do next, what to buy; all of it before
 * the evidence, and before what the engine is. */
static void page_begins_with_what_matters(void **state)
{
    static const char *const in_order[] = {"Do not start", "<h2>In short</h2>", "Most likely", "Valve-cover gasket, bank 2: very likely, ", "Do next", "Clean the sills (waits for brake cleaner)", "Set the gaps", "Buy", "2 × boot",
                                           "Ordered", "a gasket", "<h2>Plan</h2>", "<h2>Likely causes</h2>", "Oil in the well: ", "<h2>What stands out</h2>", "<h2>Steps</h2>", "Wells dried", "<h2>Readings</h2>", "<h2>Engine</h2>"};
    static const char *const not_in_short[] = {"Wells dried", "look again"};
    struct logbook_step steps[4];
    struct logbook_need needs[3] = {{.text = "boot", .state = "to-order", .quantity = 2}, {.text = "a gasket", .state = "ordered", .quantity = 1}, {.text = "washers", .state = "in-hand", .quantity = 8}};
    struct report_visit visit = {.steps = steps, .needs = needs, .n_steps = 4, .n_needs = 3};
    struct record r;
    struct findings f;
    struct text t = {0};
    const char *at, *plan;

    (void)state;
    a_step(&steps[0], "done", "Wells dried", "");
    a_step(&steps[1], "waiting", "Clean the sills", "brake cleaner");
    a_step(&steps[2], "todo", "Set the gaps", "");
    a_step(&steps[3], "later", "look again", "");
    load_case(REPORT_CASE, &r, &f);
    page(&r, &f, &visit, NULL, 0, &t);
    at = text_get(&t);
    plan = strstr(at, "<h2>Plan</h2>");
    for (size_t i = 0; i < sizeof in_order / sizeof in_order[0]; i++) {
        const char *next = strstr(at, in_order[i]);

        if (next == NULL)
            fail_msg("“%s” does not come behind “%s”", in_order[i], i > 0 ? in_order[i - 1] : "the head");
        at = next;
    }
    for (size_t i = 0; i < sizeof not_in_short / sizeof not_in_short[0]; i++)
        assert_true(strstr(text_get(&t), not_in_short[i]) > plan);
    text_clear(&t);
    for (int i = 0; i < record_plug_count(&r.engine); i++) /* all are out: looking into the wells first is over */
        reading_note(visit_reading(&r.visits[r.n_visits - 1], &r.engine, i / r.engine.n_positions, i % r.engine.n_positions), SIGN_NORMAL, 1);
    a_step(&steps[0], "todo", "Look into the wells", "");
    text_copy(steps[0].source, sizeof steps[0].source, "look");
    page(&r, &f, &visit, NULL, 0, &t);
    at = strstr(text_get(&t), "Do next");
    assert_true(strstr(at, "Look into the wells") > strstr(text_get(&t), "<h2>Plan</h2>"));
    text_clear(&t);
    visit.n_steps = visit.n_needs = 0; /* nothing written down: the check that settles it */
    page(&r, &f, &visit, NULL, 0, &t);
    at = strstr(text_get(&t), "Do next");
    assert_non_null(at);
    assert_true(strstr(at, "Degrease the cover") < strstr(text_get(&t), "<h2>Plan</h2>"));
    text_release(&t);
    findings_release(&f);
    record_release(&r);
}

static const char *after(const struct text *t, const char *head, const char *what)
{
    const char *at = strstr(text_get(t), head);

    return at == NULL ? NULL : strstr(at, what);
}

static void four_in_line(struct record *r)
{
    struct err e = {0};

    record_init(r);
    if (!engine_parse_banks(&r->engine, "1 2 3 4", &e) || !engine_parse_firing(&r->engine, "1 3 4 2", &e) || !engine_finish(&r->engine, &e))
        fail_msg("%s", e.text);
}

/* A coil was decided on and no plug is out: the coil is what comes next, and nothing of pulling. When it was renewed, it is told
 * as renewed; the wells that are shut again ask for no drying. */
static void short_tells_what_is_left_of_it(void **state)
{
    struct logbook_step steps[4];
    struct report_visit visit = {.steps = steps, .n_steps = 4};
    struct record r;
    struct findings f;
    struct text t = {0};
    struct reading_options options = {0};
    struct visit *v;
    struct err e = {0};

    (void)state;
    four_in_line(&r);
    v = record_add_visit(&r);
    reading_note(visit_reading(v, &r.engine, 2, 0), SIGN_COIL_CRACKED, 2);
    reading_note(visit_reading(v, &r.engine, 1, 0), SIGN_WELL_OIL, 2);
    a_step(&steps[0], "todo", "Pull the plugs in order", "");
    text_copy(steps[0].source, sizeof steps[0].source, "pull");
    a_step(&steps[1], "todo", "Look over coils", "");
    text_copy(steps[1].source, sizeof steps[1].source, "coils");
    a_step(&steps[2], "todo", "Renew the coil: cylinder 3", "");
    text_copy(steps[2].source, sizeof steps[2].source, "coil-one@cylinder 3");
    a_step(&steps[3], "todo", "Refit the plugs", "");
    text_copy(steps[3].source, sizeof steps[3].source, "refit");
    assert_true(reading_run(&r, &options, &f, &e));
    page(&r, &f, &visit, NULL, 0, &t);
    assert_true(after(&t, "Do next", "Renew the coil") < after(&t, "Do next", "Look over coils"));
    assert_true(after(&t, "Do next", "Pull the plugs") > strstr(text_get(&t), "<h2>Plan</h2>"));
    assert_true(after(&t, "Do next", "Refit the plugs") > strstr(text_get(&t), "<h2>Plan</h2>"));
    assert_non_null(strstr(text_get(&t), "Dry the wells before"));
    assert_null(strstr(text_get(&t), "Renewed"));
    text_clear(&t);
    text_copy(steps[2].caution, sizeof steps[2].caution, "engine-run"); /* what it runs for keeps its place */
    page(&r, &f, &visit, NULL, 0, &t);
    assert_true(after(&t, "Do next", "Renew the coil") > after(&t, "Do next", "Look over coils"));
    steps[2].caution[0] = '\0';
    text_clear(&t);
    v->state.closed = CLOSED_BY_HAND; /* what each visit begins with is over with it */
    page(&r, &f, &visit, NULL, 0, &t);
    assert_true(after(&t, "Do next", "Renew the coil") < strstr(text_get(&t), "<h2>Plan</h2>"));
    assert_true(after(&t, "Do next", "Look over coils") > strstr(text_get(&t), "<h2>Plan</h2>"));
    assert_non_null(strstr(text_get(&t), "over, not made</td><th scope=\"row\">Look over coils</th><td data-head=\"Note\">each visit begins with it</td>"));
    v->state.closed = 0;
    text_clear(&t);
    findings_release(&f);
    assert_true(visit_parse_done(&r.engine, "replaced:coil:cylinder 3", &v->done[v->n_done++], &e));
    visit_reading(v, &r.engine, 1, 0)->refit = words_find(WORDS_REFIT, "torqued");
    text_copy(steps[2].state, sizeof steps[2].state, "done");
    assert_true(reading_run(&r, &options, &f, &e));
    page(&r, &f, &visit, NULL, 0, &t);
    assert_non_null(after(&t, "Seen", "Renewed since: "));
    assert_non_null(after(&t, "What stands out", "Renewed after this reading."));
    assert_non_null(after(&t, "Did the repairs hold?", "No plug was read since: the next visit tells whether it held."));
    assert_non_null(after(&t, "Hole by hole", "<td data-head=\"Tightened to\">not noted</td>"));
    assert_null(strstr(text_get(&t), "Dry the wells before"));
    text_release(&t);
    findings_release(&f);
    record_release(&r);
}

/* The wide gap went with its plug: nothing is left to act on. The soot on it may come again, and stays. */
static void a_new_plug_takes_its_gap_along(void **state)
{
    struct record r;
    struct findings f;
    struct text t = {0};
    struct reading_options options = {0};
    struct visit *v;
    struct err e = {0};

    (void)state;
    four_in_line(&r);
    r.engine.plug.gap_min_mm = 1.0;
    r.engine.plug.gap_max_mm = 1.1;
    r.engine.plug.gap_limit_mm = 1.3;
    v = record_add_visit(&r);
    for (int i = 0; i < 4; i++) {
        reading_note(visit_reading(v, &r.engine, i, 0), i == 3 ? SIGN_DRY_CARBON : SIGN_NORMAL, 2);
        visit_reading(v, &r.engine, i, 0)->gap_mm = MAYBE(i == 3 ? 1.4 : 1.05);
    }
    for (int renewed = 0; renewed < 2; renewed++) {
        if (renewed)
            assert_true(visit_parse_done(&r.engine, "replaced:plug:cylinder 4", &v->done[v->n_done++], &e));
        assert_true(reading_run(&r, &options, &f, &e));
        page(&r, &f, NULL, NULL, 0, &t);
        assert_non_null(after(&t, "Seen", renewed ? "Renewed since: Gap past the limit" : "Act on: Gap past the limit"));
        assert_null(after(&t, "Seen", "Renewed since: Cylinder 4"));
        text_clear(&t);
        findings_release(&f);
    }
    text_release(&t);
    record_release(&r);
}

/* Where a cylinder has two plugs, the plan says of each which it is; on the radial too. */
static void plan_names_the_plugs_of_a_cylinder(void **state)
{
    static const char *const cases[] = {"tests/fuzz/corpus/case/twin-plug.json", "tests/cases/r7-differential.json"};

    (void)state;
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        struct record r;
        struct findings f;
        struct text t = {0};
        const char *plan, *end;
        char name[64];

        load_case(cases[i], &r, &f);
        page(&r, &f, NULL, NULL, 0, &t);
        plan = strstr(text_get(&t), "<h2>Plan</h2>");
        assert_non_null(plan);
        end = strstr(plan, "</svg>");
        for (int p = 0; p < r.engine.n_positions; p++) {
            size_t n = 0;

            text_format(name, sizeof name, ">%s</text>", r.engine.position_names[p]);
            for (const char *at = strstr(plan, name); at != NULL && at < end; at = strstr(at + 1, name))
                n++;
            if (n != (size_t)r.engine.n_cylinders)
                fail_msg("%s: “%s” stands at %zu of %d cylinders", cases[i], r.engine.position_names[p], n, r.engine.n_cylinders);
        }
        text_release(&t);
        findings_release(&f);
        record_release(&r);
    }
}

/* Of three visits two are told in full, and the page says where the third is. */
static void page_says_where_the_other_visits_are(void **state)
{
    static const struct {
        size_t n_told;
        report_parts without;
        const char *says;
        size_t n_headings;
    } rows[] = {
        {1, 0, "The 2 visits before this one are in the line-up and the trends; a report of all visits tells them in full.", 0},
        {2, 0, "The visit before these is in the line-up and the trends; a report of all visits tells it in full.", 2},
        {2, 1u << REPORT_LINEUP, "The visit before these is in the trends; a report", 2},
        {2, 1u << REPORT_LINEUP | 1u << REPORT_TRENDS, "The visit before these is not in this report; a report", 2},
        {3, 0, "3 visits, the last on", 3},
    };
    struct record r;
    struct findings f;

    (void)state;
    load_case(REPORT_CASE, &r, &f);
    while (r.n_visits < 3) {
        struct visit *v = record_add_visit(&r);

        *v = r.visits[0];
        v->odometer_m.value += 1e7 * r.n_visits;
    }
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct report_visit visits[3] = {{.at = 2, .findings = &f}, {.at = 1, .findings = &f}, {.at = 0, .findings = &f}};
        struct report_source source = {.record = &r, .visits = visits, .n_visits = rows[i].n_told};
        struct report_ask ask = {.n_visits = (int)rows[i].n_told, .without = rows[i].without};
        struct arena *a = arena_create();
        struct text t = {0};
        struct content c;

        content_make(&source, &ask, a, &c);
        report_html(&c, &t);
        if (strstr(text_get(&t), rows[i].says) == NULL)
            fail_msg("row %zu: the page does not say “%s”", i, rows[i].says);
        assert_int_equal(count(text_get(&t), "<h2>Visit of "), rows[i].n_headings);
        assert_int_equal(count(text_get(&t), "tells them in full") + count(text_get(&t), "tells it in full"), rows[i].n_told < 3);
        text_release(&t);
        arena_destroy(a);
    }
    findings_release(&f);
    record_release(&r);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(page_stands_alone_and_escapes),
        cmocka_unit_test(what_runs_from_right_to_left_does),
        cmocka_unit_test(the_page_is_for_who_reads_it),
        cmocka_unit_test(empty_columns_are_left_out),
        cmocka_unit_test(what_was_not_looked_at_names_its_cylinders),
        cmocka_unit_test(the_line_up_fits_a_phone),
        cmocka_unit_test(the_warning_stays_until_every_plug_is_torqued),
        cmocka_unit_test(table_reads_back),
        cmocka_unit_test(page_tells_of_the_visit),
        cmocka_unit_test(page_tells_how_the_visit_ended), cmocka_unit_test(parts_can_be_left_out),
        cmocka_unit_test(a_new_plug_takes_its_gap_along),
        cmocka_unit_test(plan_names_the_plugs_of_a_cylinder),
        cmocka_unit_test(page_begins_with_what_matters), cmocka_unit_test(short_tells_what_is_left_of_it),
        cmocka_unit_test(page_says_where_the_other_visits_are),
        cmocka_unit_test(page_speaks_the_units_set),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
