/* Long lists: only what is in view is made, and paging through shows every row. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/err.h"
#include "base/mem.h"
#include "base/text.h"
#include "screen/commands.h"
#include "../help/measure.h"

enum { PHOTOS = OLD_PHOTOS_MOST, UNDATED = 100, A_VISIT = 7, VISITS = (PHOTOS - UNDATED + A_VISIT - 1) / A_VISIT, ROOM = 60, CONFLICTS = 2000, SHOTS = 400 };

struct desk {
    struct ui *ui;
    struct model m;
    struct screen_state st;
    struct record record;
    struct ready ready;
    struct actions out;
};

static void set_up(struct desk *d, enum panel_id panel)
{
    memset(d, 0, sizeof *d);
    d->ui = ui_create_without_fonts();
    record_init(&d->record);
    d->record.engine = engine_find_preset("v8-odd-left")->engine;
    record_add_visit(&d->record);
    d->m = (struct model){.logbook_name = "Barn", .can_write = true, .why_read_only = "", .engine_id = "a", .visit_id = "b", .record = &d->record, .undo_label = "", .redo_label = "", .proposal_why = "",
                          .watched = "", .files_dir = "", .today = "2026-06-14", .compression_rule = "ratio-75", .pressure = "kPa", .report_paper = "a4", .report_written = "", .refit_why = "", .ended_with = "",
                          .take_folder = "/photos/old"};
    ready_of(&d->record, &d->ready);
    d->m.ready = &d->ready;
    d->st.screen = SCREEN_PLAN;
    d->st.cylinder = 0;
    d->st.found = d->st.photo = -1;
    d->st.bench.tool = -1;
    d->st.panel = panel;
}

static void tear_down(struct desk *d)
{
    ui_destroy(d->ui);
    record_release(&d->record);
}

static void frame(struct desk *d)
{
    d->out.n = 0;
    ui_begin(d->ui, 1280, 720, 1);
    screen_all(d->ui, &d->m, &d->st, &d->out);
    ui_end(d->ui);
}

static void press(struct desk *d, const char *key)
{
    struct ui_event ev = {.type = UI_EVENT_KEY};

    text_copy(ev.key, sizeof ev.key, key);
    ui_feed(d->ui, &ev);
    frame(d);
    frame(d); /* where it was scrolled to */
}

/* Marks the rows whose texts are on the screen; how many are. */
static size_t note_seen(struct desk *d, bool *seen)
{
    size_t n, n_here = 0;
    const struct ui_draw *all = ui_draws(d->ui, &n);
    unsigned at;

    for (size_t i = 0; i < n; i++)
        if (all[i].type == UI_DRAW_TEXT && sscanf(all[i].text, "folder/shot %u", &at) == 1 && at < PHOTOS) {
            seen[at] = true;
            n_here++;
        }
    return n_here;
}

static size_t count_widgets(struct desk *d, const char *prefix)
{
    size_t n, n_here = 0;
    const struct ui_widget *all = ui_widgets(d->ui, &n);

    for (size_t i = 0; i < n; i++)
        n_here += strncmp(all[i].id, prefix, strlen(prefix)) == 0;
    return n_here;
}

static void old_photos_are_made_as_they_come_into_view(void **state)
{
    static struct desk d;
    static struct old_photo photos[PHOTOS];
    static struct old_visit visits[VISITS];
    static char names[PHOTOS][32];
    static bool seen[PHOTOS];
    struct old_photos p = {.photos = photos, .n = PHOTOS, .n_undated = UNDATED, .visits = visits, .n_visits = VISITS, .n_new_visits = VISITS};

    (void)state;
    set_up(&d, PANEL_TAKE);
    d.m.take_photos = &p;
    for (int i = 0; i < PHOTOS; i++) { /* those without a date first, as they come from the folder */
        int v = i < UNDATED ? -1 : (i - UNDATED) / A_VISIT;

        snprintf(names[i], sizeof names[i], "folder/shot %d", i);
        photos[i] = (struct old_photo){.shown = names[i], .visit = v, .cylinder = i % 3 - 1};
        if (v < 0)
            continue;
        visits[v].n_photos++;
        snprintf(visits[v].date, sizeof visits[v].date, "20%02d-%02d-%02d", v / 300, v / 25 % 12 + 1, v % 25 + 1);
        text_copy(visits[v].last_day, sizeof visits[v].last_day, visits[v].date);
    }
    frame(&d);
    frame(&d);
    assert_non_null(ui_find_widget(d.ui, "old.visit.1"));
    assert_true(note_seen(&d, seen) > 10);
    assert_true(seen[UNDATED] && !seen[UNDATED + 2 * ROOM]);
    for (int page = 0; page < 2000 && !seen[UNDATED - 1]; page++) { /* the undated stand last */
        assert_in_range(note_seen(&d, seen), 1, ROOM);
        assert_true(count_widgets(&d, "old.visit.") < ROOM);
        press(&d, "PageDown");
        (void)note_seen(&d, seen);
    }
    for (int i = 0; i < PHOTOS; i++)
        if (!seen[i])
            fail_msg("photo %d was on no page", i);
    press(&d, "Home");
    assert_non_null(ui_find_widget(d.ui, "old.visit.1"));
    assert_null(ui_find_widget(d.ui, "old.visit.500"));
    tear_down(&d);
}

static void conflicts_are_made_as_they_come_into_view(void **state)
{
    static struct desk d;
    static struct logbook_conflict conflicts[CONFLICTS];

    (void)state;
    set_up(&d, PANEL_CONFLICTS);
    for (int i = 0; i < CONFLICTS; i++)
        conflicts[i] = (struct logbook_conflict){.table = "reading", .column = "gap_um", .visit = "b", .what = "gap as found", .n = 2, .values = {"1.10 mm", "1.20 mm"}};
    d.m.conflicts = conflicts;
    d.m.n_conflicts = CONFLICTS;
    frame(&d);
    frame(&d);
    assert_non_null(ui_find_widget(d.ui, "conflict.1.1"));
    assert_in_range(count_widgets(&d, "conflict."), 4, ROOM);
    for (int i = 1; i < 30; i++) { /* the chosen one is always there and in view */
        char id[32];
        const struct ui_widget *w;

        press(&d, "Down");
        text_format(id, sizeof id, "conflict.%d.1", d.st.conflict + 1);
        w = ui_find_widget(d.ui, id);
        assert_int_equal(d.st.conflict, i);
        assert_non_null(w);
        assert_true(w->bounds.h > 0);
        assert_in_range(count_widgets(&d, "conflict."), 4, ROOM);
    }
    tear_down(&d);
}

static void the_strip_is_made_as_it_comes_into_view(void **state)
{
    static struct desk d;
    static struct logbook_photo photos[SHOTS];

    (void)state;
    set_up(&d, PANEL_NONE);
    for (int i = 0; i < SHOTS; i++) {
        text_format(photos[i].id, sizeof photos[i].id, "photo%d", i);
        photos[i].cylinder = photos[i].position = photos[i].zone = -1;
        photos[i].width = 4000;
        photos[i].height = 3000;
    }
    d.m.photos = photos;
    d.m.n_photos = SHOTS;
    d.st.screen = SCREEN_PHOTOS;
    d.st.photo = 0;
    frame(&d);
    for (int i = 1; i < SHOTS; i += 13) {
        d.st.photo = i;
        d.st.bench.reveal = 3;
        for (int k = 0; k < 4; k++)
            frame(&d);
        char id[48];
        const struct ui_widget *w;

        text_format(id, sizeof id, "strip.photo%d", i);
        w = ui_find_widget(d.ui, id);
        assert_non_null(w);
        assert_true(w->bounds.h > 40);
        assert_in_range(count_widgets(&d, "strip."), 5, 16);
    }
    tear_down(&d);
}

static bool in_tray(struct desk *d, int i)
{
    char id[48];

    text_format(id, sizeof id, "tray.photo%d", i);
    return ui_find_widget(d->ui, id) != NULL;
}

/* Of ten photos that wait two were shown at 1280 × 720, with a "+8" that could not be pressed, and how to place one was cut off in
 * the middle. */
static void every_photo_of_the_tray_can_be_had(void **state)
{
    static struct desk d;
    static struct logbook_photo photos[10];
    bool seen[10] = {false}, all = false;
    size_t n;
    const struct ui_draw *draws;
    const struct ui_widget *words;

    (void)state;
    set_up(&d, PANEL_NONE);
    d.m.photos = photos;
    d.m.n_photos = 10;
    for (int i = 0; i < 10; i++) {
        text_format(photos[i].id, sizeof photos[i].id, "photo%d", i);
        text_format(photos[i].name, sizeof photos[i].name, "p%d.jpg", i);
        photos[i].cylinder = photos[i].position = photos[i].zone = -1;
        photos[i].width = 4000;
        photos[i].height = 3000;
    }
    frame(&d);
    assert_true(in_tray(&d, 0) && !in_tray(&d, 9));
    for (int press_n = 0; press_n < 10; press_n++) {
        const struct ui_widget *more = ui_find_widget(d.ui, "tray.more");
        struct ui_event ev = {.type = UI_EVENT_MOVE};

        all = true;
        for (int i = 0; i < 10; i++) {
            seen[i] = seen[i] || in_tray(&d, i);
            all = all && seen[i];
        }
        assert_non_null(more);
        assert_true(more->takes_focus);
        if (all)
            break;
        ev.x = more->bounds.x + more->bounds.w / 2;
        ev.y = more->bounds.y + more->bounds.h / 2;
        ui_feed(d.ui, &ev);
        frame(&d);
        ev.type = UI_EVENT_DOWN;
        ev.button = 1;
        ui_feed(d.ui, &ev);
        frame(&d);
        ev.type = UI_EVENT_UP;
        ui_feed(d.ui, &ev);
        frame(&d);
        frame(&d);
    }
    assert_true(all);
    /* the one taken up is seen, whichever they were turned to, and how to place it is told to its end */
    d.st.photo = 4;
    frame(&d);
    frame(&d);
    assert_true(in_tray(&d, 4));
    words = ui_find_widget(d.ui, "tray.words");
    assert_non_null(words);
    assert_non_null(strstr(words->value, "N connector"));
    draws = ui_draws(d.ui, &n);
    for (size_t i = 0; i < n; i++)
        if (draws[i].type == UI_DRAW_TEXT && ui_inside(words->bounds, draws[i].r.x + 1, draws[i].r.y + 1) && strstr(draws[i].text, "…") != NULL)
            fail_msg("“%s” is cut off", draws[i].text);
    /* and they can be turned on while it is */
    for (size_t i = 0; i < 2; i++) {
        struct ui_event ev = {.type = UI_EVENT_KEY};

        ui_focus(d.ui, "tray.more");
        frame(&d);
        text_copy(ev.key, sizeof ev.key, "Space");
        ui_feed(d.ui, &ev);
        frame(&d);
        frame(&d);
    }
    assert_false(in_tray(&d, 4));
    tear_down(&d);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(old_photos_are_made_as_they_come_into_view),
        cmocka_unit_test(conflicts_are_made_as_they_come_into_view),
        cmocka_unit_test(the_strip_is_made_as_it_comes_into_view),
        cmocka_unit_test(every_photo_of_the_tray_can_be_had),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
