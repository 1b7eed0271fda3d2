/* Walks the table of commands: each key of each does something at each of its places, the list of F9
 * shows it, and no key means two things at one place. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#include "base/err.h"
#include "base/files.h"
#include "base/text.h"
#include "screen/commands.h"
#include "../help/measure.h"

/* A V8 with three visits, the middle one open, two gaps of plug 1, a photo placed and one waiting. */
struct desk {
    struct ui *ui;
    struct model m;
    struct screen_state st;
    struct record record;
    struct ready ready;
    struct logbook_visit visits[3];
    struct logbook_photo photos[2];
    struct photo_proposal proposal[2];
    struct logbook_engine engines[2];
    struct logbook_mark mark[3];
    struct photo_measured measured;
    struct findings findings;
    struct cause causes[2];
    struct job job;
    struct logbook_step steps[2];
    struct logbook_need needs[2];
};

static void set_up(struct desk *d, enum command_place place)
{
    static const char *const ids[] = {"a", "b", "c"};

    memset(d, 0, sizeof *d);
    d->ui = ui_create_without_fonts();
    record_init(&d->record);
    d->record.engine = engine_find_preset("v8-odd-left")->engine;
    text_copy(d->record.engine.name, sizeof d->record.engine.name, "Merrow");
    for (int i = 0; i < 3; i++)
        text_copy(d->visits[i].id, sizeof d->visits[i].id, ids[i]);
    record_add_visit(&d->record);
    d->record.visits[0].readings[0].present = true; /* read by feeler gauge and in a photo */
    d->record.visits[0].readings[0].gap_mm = MAYBE(1.1);
    d->record.visits[0].readings[0].gap_photo_mm = MAYBE(1.14);
    reading_note(&d->record.visits[0].readings[0], SIGN_WELL_OIL, 3); /* and so the engine is to be turned by hand */
    for (int i = 0; i < 2; i++) {
        struct logbook_photo *p = &d->photos[i];

        text_copy(p->id, sizeof p->id, ids[i]);
        text_copy(p->sha256, sizeof p->sha256, ids[i]);
        p->cylinder = i == 0 ? 0 : -1;
        p->position = p->zone = i == 0 ? 0 : -1;
        p->width = 4000;
        p->height = 3000;
        d->proposal[i].cylinder = i == 0 ? -1 : 1;
        text_copy(d->engines[i].id, sizeof d->engines[i].id, ids[i]);
        text_copy(d->steps[i].id, sizeof d->steps[i].id, ids[i]);
        text_copy(d->steps[i].text, sizeof d->steps[i].text, "Look into the wells");
        text_copy(d->steps[i].state, sizeof d->steps[i].state, "todo");
        text_copy(d->needs[i].id, sizeof d->needs[i].id, ids[i]);
        text_copy(d->needs[i].state, sizeof d->needs[i].state, "ordered");
        text_copy(d->causes[i].id, sizeof d->causes[i].id, i == 0 ? "coil-one" : "rings");
        text_copy(d->causes[i].where, sizeof d->causes[i].where, "cylinder 1");
        d->causes[i].probability = 0.5;
        d->engines[i].engine = d->record.engine;
    }
    d->m = (struct model){.logbook_name = "Barn", .logbook_folder = "/home/barn", .copy_name = "Barn 2026-06-14", .copy_words = "2 photos, 8.1 MB", .can_write = true, .why_read_only = "", .engines = d->engines, .n_engines = 2, .engine_id = "", .visit_id = "",
                          .undo_label = "Gap", .redo_label = "Gap", .proposal_why = "", .watched = "", .files_dir = "", .today = "2026-06-14", .compression_rule = "ratio-75", .pressure = "kPa", .report_paper = "a4", .report_written = "", .px_scale = 1.25f};
    d->st.cylinder = 0;
    d->st.found = d->st.photo = -1;
    d->st.pull_at = 1;
    if (place != COMMAND_ENGINES) {
        d->m.record = &d->record;
        ready_of(&d->record, &d->ready);
        d->m.ready = &d->ready;
        d->m.engine_id = "a";
        d->m.visit_id = "b";
        d->m.visits = d->visits;
        d->m.n_visits = 3;
        d->m.photos = d->photos;
        d->m.n_photos = 2;
        d->m.proposal = d->proposal;
        d->st.screen = place == COMMAND_PHOTOS ? SCREEN_PHOTOS : place == COMMAND_JOB ? SCREEN_JOB : place == COMMAND_REPORT ? SCREEN_REPORT : SCREEN_PLAN;
        d->m.findings = &d->findings;
        d->m.job = &d->job;
        d->m.refit_why = d->m.ended_with = "";
        d->m.steps = d->steps;
        d->m.n_steps = 2;
        d->m.needs = d->needs;
        d->m.n_needs = 2;
        d->st.pulling = place == COMMAND_PULLING;
    }
    d->st.bench.tool = -1;
    if (place == COMMAND_PHOTOS) { /* a mark is chosen, a tool taken up, another photo laid over this one; the nose was read */
        d->st.photo = 0;
        d->st.zoom = 2;
        for (int i = 0; i < 3; i++) { /* the chosen one between two others */
            logbook_mark_init(&d->mark[i], d->photos[0].id, MARK_RULER);
            d->mark[i].n_points = 2;
            d->mark[i].x[1] = 900;
            d->mark[i].sort = i + 1;
        }
        d->m.marks = d->mark;
        d->m.n_marks = 3;
        d->m.measured = &d->measured;
        d->measured.colour_given = true;
        text_copy(d->measured.photo, sizeof d->measured.photo, d->photos[0].id);
        text_copy(d->st.bench.mark, sizeof d->st.bench.mark, d->mark[1].id);
        d->st.bench.tool = MARK_RULER;
        d->st.bench.beside = 2;
        d->st.bench.blended = true;
        d->st.bench.share = 50;
    }
}

static void tear_down(struct desk *d)
{
    ui_destroy(d->ui);
    record_release(&d->record);
}

static void frame(struct desk *d, struct actions *out)
{
    out->n = 0;
    ui_begin(d->ui, 1280, 720, 1);
    screen_all(d->ui, &d->m, &d->st, out);
    ui_end(d->ui);
}

static const enum command_place places[] = {COMMAND_ENGINES, COMMAND_PLAN, COMMAND_PULLING, COMMAND_PHOTOS, COMMAND_JOB, COMMAND_REPORT};

static void every_key_does_something_where_it_is_listed(void **state)
{
    static struct desk d;
    static struct actions out;
    static struct screen_state before;
    static const struct logbook_conflict differ = {.table = "reading", .column = "gap_um", .visit = "b", .what = "gap as found of 1", .n = 2, .values = {"1.10 mm", "1.20 mm"}};
    int n;
    const struct command *c = commands(&n);

    (void)state;
    for (int i = 0; i < n; i++)
        for (size_t p = 0; p < sizeof places / sizeof places[0]; p++)
            for (int k = 0; k < 3 && c[i].keys[k] != NULL && !c[i].elsewhere; k++) {
                struct ui_event ev = {.type = UI_EVENT_KEY};
                char words[80];

                bool lives = false;

                if ((c[i].places & places[p]) == 0)
                    continue;
                /* on Job a key acts on what is chosen: a cause, a step, a part or a plug */
                for (int section = 0; section < (places[p] == COMMAND_JOB ? 4 : 1) && !lives; section++) {
                    set_up(&d, places[p]);
                    d.findings.causes = d.causes;
                    d.findings.n_causes = places[p] == COMMAND_JOB ? 2 : 0;
                    d.job.n_steps = 1;
                    d.st.job_section = (enum job_section)section;
                    text_copy(d.st.job_visit, sizeof d.st.job_visit, d.m.visit_id);
                    d.st.job_row = places[p] == COMMAND_JOB && c[i].keys[k][0] == '-' ? 1 : 0;
                    d.st.editing_order = strcmp(c[i].id, "order-back") == 0;
                    d.st.n_order = 1;
                    text_copy(d.st.order_visit, sizeof d.st.order_visit, d.m.visit_id);
                    if (strcmp(c[i].id, "add-open") == 0 || strcmp(c[i].id, "add") == 0) { /* an engine is written down */
                        d.st.new_open = true;
                        engine_form_begin(&d.st.fresh, false);
                        engine_form_take_preset(&d.st.fresh, engine_find_preset("i4"));
                        text_copy(d.st.fresh.name, sizeof d.st.fresh.name, "Reed");
                    }
                    if (strncmp(c[i].id, "photos-", 7) == 0) { /* the one that waits is of another day */
                        text_copy(d.record.visits[0].date, sizeof d.record.visits[0].date, "2026-06-14");
                        text_copy(d.photos[1].taken, sizeof d.photos[1].taken, "2026-05-02T10:00:00");
                    }
                    if (strcmp(c[i].id, "start-over") == 0) { /* one that was left is open again */
                        engine_form_begin(&d.st.fresh, false);
                        d.st.new_open = d.st.fresh.taken_up = true;
                        text_copy(d.st.fresh.name, sizeof d.st.fresh.name, "Reed");
                    }
                    if (strcmp(c[i].id, "amount") == 0) { /* a sign of the plug was just noted, in the middle */
                        d.st.cylinder = d.st.noted_cylinder = places[p] == COMMAND_PULLING ? d.st.pull_at : 0;
                        reading_note(&d.record.visits[0].readings[d.st.cylinder], SIGN_WELL_OIL, 2);
                        d.st.noted_sign = SIGN_WELL_OIL + 1;
                    }
                    if (strcmp(c[i].id, "photo-shows") == 0) /* one of the tray is taken up */
                        d.st.photo = 1;
                    if (strcmp(c[i].id, "photo-shows-here") == 0) /* no time tells where it goes */
                        d.m.proposal = NULL;
                    if (strcmp(c[i].id, "offer-again") == 0) { /* lines were turned down, nothing is being drawn */
                        text_copy(d.st.bench.no_offer[0], UUID_BYTES, d.photos[0].id);
                        d.st.bench.mark[0] = '\0';
                        d.st.bench.tool = -1;
                        d.st.bench.beside = 0;
                    }
                    if (strcmp(c[i].id, "corner-back") == 0) { /* an outline is begun */
                        d.st.bench.tool = MARK_NOSE;
                        d.st.bench.mark[0] = '\0';
                        logbook_mark_init(&d.st.bench.draft, d.photos[0].id, MARK_NOSE);
                        d.st.bench.draft.n_points = 2;
                    }
                    if (strncmp(c[i].id, "settle-", 7) == 0) { /* merged copies differ about the chosen plug's gap */
                        d.m.conflicts = &differ;
                        d.m.n_conflicts = 1;
                    }
                    frame(&d, &out);
                    frame(&d, &out);
                    before = d.st;
                    text_copy(ev.key, sizeof ev.key, c[i].keys[k]);
                    ui_feed(d.ui, &ev);
                    frame(&d, &out);
                    lives = out.n > 0 || memcmp(&before, &d.st, sizeof before) != 0 || ui_focused(d.ui)[0] != '\0';
                    tear_down(&d);
                }
                commands_places(places[p], words, sizeof words);
                if (!lives)
                    fail_msg("%s (%s) is dead on %s", c[i].keys[k], c[i].words, words);
            }
}

static void no_key_means_two_things_at_one_place(void **state)
{
    int n;
    const struct command *c = commands(&n);

    (void)state;
    for (int i = 0; i < n; i++) {
        assert_true(c[i].id[0] && c[i].shown[0] && c[i].words[0] && c[i].places != 0 && c[i].keys[0] != NULL);
        assert_true(c[i].menu == NULL || c[i].run != NULL);
        for (int j = 0; j < i; j++) {
            assert_string_not_equal(c[i].id, c[j].id);
            for (int a = 0; a < 3 && c[i].keys[a] != NULL; a++)
                for (int b = 0; b < 3 && c[j].keys[b] != NULL; b++)
                    if ((c[i].places & c[j].places) != 0 && strcmp(c[i].keys[a], c[j].keys[b]) == 0)
                        fail_msg("%s is %s and %s", c[i].keys[a], c[i].id, c[j].id);
        }
    }
}

static void the_list_of_keys_and_the_menu_hold_the_table(void **state)
{
    static struct desk d;
    static struct actions out;
    int n, lines = 0;
    const struct command *c = commands(&n);

    (void)state;
    set_up(&d, COMMAND_PLAN);
    d.st.panel = PANEL_HELP;
    frame(&d, &out);
    for (int i = 0; i < n; i++) {
        char id[64];
        const struct ui_widget *w;

        text_format(id, sizeof id, "help.%s", c[i].id);
        w = ui_find_widget(d.ui, id);
        assert_non_null(w);
        assert_string_equal(w->name, c[i].words);
        assert_string_equal(w->value, c[i].shown);
    }
    d.st.panel = PANEL_NONE;
    d.st.menu = true;
    d.st.menu_x = 800;
    frame(&d, &out);
    for (int i = 0; i < n; i++)
        if (c[i].menu != NULL && (c[i].places & COMMAND_PLAN) != 0) {
            char id[16];
            const struct ui_widget *w;

            text_format(id, sizeof id, "menu.%d", lines++);
            w = ui_find_widget(d.ui, id);
            assert_non_null(w);
            assert_string_equal(w->name, c[i].menu);
        }
    assert_true(lines > 0);
    tear_down(&d);
}

/* On whichever screen F9 is pressed, its keys stand above those of the others. */
static void the_list_of_keys_begins_with_those_of_the_screen(void **state)
{
    static const enum command_place on[] = {COMMAND_ENGINES, COMMAND_PLAN, COMMAND_PULLING, COMMAND_PHOTOS, COMMAND_JOB, COMMAND_REPORT};
    static struct desk d;
    static struct actions out;
    int n;
    const struct command *c = commands(&n);

    (void)state;
    for (size_t p = 0; p < sizeof on / sizeof on[0]; p++) {
        float last = -1e9f, first = 1e9f, own = 1e9f;

        set_up(&d, on[p]);
        d.st.panel = PANEL_HELP;
        frame(&d, &out);
        for (int i = 0; i < n; i++) {
            char id[64];
            const struct ui_widget *w;

            text_format(id, sizeof id, "help.%s", c[i].id);
            w = ui_find_widget(d.ui, id);
            assert_non_null(w);
            if ((c[i].places & on[p]) == 0)
                first = fminf(first, w->whole.y);
            else
                last = fmaxf(last, w->whole.y);
            own = c[i].places == (unsigned)on[p] ? fminf(own, w->whole.y) : own;
        }
        if (!(last < first) || !(own < last))
            fail_msg("screen %zu: its keys end at %.0f, the others begin at %.0f", p, (double)last, (double)first);
        tear_down(&d);
    }
}

/* The menu names keys: pressed while it is open, each does what its line says, and the menu goes. */
static void the_menu_s_own_keys_work_in_it(void **state)
{
    static struct desk d;
    static struct actions out;
    static struct screen_state before;
    int n;
    const struct command *c = commands(&n);

    (void)state;
    for (int i = 0; i < n; i++)
        for (size_t p = 0; p < sizeof places / sizeof places[0]; p++) {
            struct ui_event ev = {.type = UI_EVENT_KEY};
            bool lives;

            if (c[i].menu == NULL || (c[i].places & places[p]) == 0)
                continue;
            set_up(&d, places[p]);
            d.st.menu = true;
            d.st.menu_x = 800;
            frame(&d, &out);
            assert_non_null(ui_find_widget(d.ui, "menu.0"));
            before = d.st;
            before.menu = false;
            text_copy(ev.key, sizeof ev.key, c[i].keys[0]);
            ui_feed(d.ui, &ev);
            frame(&d, &out);
            lives = out.n > 0 || memcmp(&before, &d.st, sizeof before) != 0;
            if (!lives || d.st.menu)
                fail_msg("%s (%s) in the menu: %s", c[i].keys[0], c[i].menu, lives ? "the menu stays" : "dead");
            tear_down(&d);
        }
}

/* Larger and smaller go by steps, and no further than a window of 960 x 600 logical pixels allows. */
static void things_are_drawn_larger_by_steps(void **state)
{
    static const struct {
        const char *key;
        double scale; /* of a window of 1280 x 720 logical px */
        int percent;  /* -1: stays, with words why */
    } rows[] = {{"Ctrl++", 1, -1}, {"Ctrl+=", 1.25, 150}, {"Ctrl++", 1.25, 150}, {"Ctrl++", 2, 225}, {"Ctrl++", 3, -1}, {"Ctrl+-", 2, 175}, {"Ctrl+-", 1.1, 100}, {"Ctrl+-", 1, -1}, {"Ctrl+0", 2, 0}};
    static struct desk d;
    static struct actions out;

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct ui_event ev = {.type = UI_EVENT_KEY};

        set_up(&d, COMMAND_PLAN);
        d.m.px_scale = (float)rows[i].scale;
        frame(&d, &out);
        text_copy(ev.key, sizeof ev.key, rows[i].key);
        ui_feed(d.ui, &ev);
        frame(&d, &out);
        assert_int_equal(out.n, rows[i].percent >= 0 ? 1 : 0);
        if (out.n > 0) {
            assert_int_equal(out.list[0].type, ACT_SET_SCALE);
            assert_int_equal(out.list[0].number, rows[i].percent);
        }
        assert_non_null(ui_find_widget(d.ui, "toast"));
        tear_down(&d);
    }
}

/* docs/the-job.md: what it says of keys and tests is so. */
static void the_job_is_told_truly(void **state)
{
    char *text, *line;
    size_t n_bytes;
    int n, n_rows = 0, n_keys = 0, n_files = 0;
    const struct command *c = commands(&n);
    struct err e = {0};

    (void)state;
    if (!files_read("docs/the-job.md", 65536, &text, &n_bytes, &e))
        fail_msg("%s", e.text);
    for (line = strtok(text, "\n"); line != NULL; line = strtok(NULL, "\n")) {
        int row;

        if (sscanf(line, "| %d |", &row) != 1)
            continue;
        assert_int_equal(row, ++n_rows);
        for (char *at = strchr(line, '`'); at != NULL; at = strchr(at + 1, '`')) { /* `Ctrl+J` */
            char key[32];
            bool known = false;

            text_format(key, sizeof key, "%.*s", (int)strcspn(at + 1, "`"), at + 1);
            for (int i = 0; i < n; i++) {
                known = known || strcmp(c[i].shown, key) == 0;
                for (int k = 0; k < 3 && c[i].keys[k] != NULL; k++)
                    known = known || strcasecmp(c[i].keys[k], key) == 0;
            }
            if (!known)
                fail_msg("row %d: no command has the key %s", row, key);
            at += strlen(key) + 1;
            n_keys++;
        }
        for (char *at = strstr(line, "tests/"); at != NULL; at = strstr(at + 1, "tests/")) {
            char path[128];

            text_format(path, sizeof path, "%.*s", (int)strcspn(at, " ,|"), at);
            if (!files_exists(path))
                fail_msg("row %d: there is no %s", row, path);
            n_files++;
        }
    }
    assert_int_equal(n_rows, 14);
    assert_true(n_keys > 28 && n_files > 20);
    free(text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_key_does_something_where_it_is_listed),
        cmocka_unit_test(no_key_means_two_things_at_one_place),
        cmocka_unit_test(the_list_of_keys_and_the_menu_hold_the_table),
        cmocka_unit_test(the_list_of_keys_begins_with_those_of_the_screen),
        cmocka_unit_test(the_menu_s_own_keys_work_in_it),
        cmocka_unit_test(things_are_drawn_larger_by_steps),
        cmocka_unit_test(the_job_is_told_truly),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
