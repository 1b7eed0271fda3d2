/* What is said in passing covers nothing that can be pressed. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <stdio.h>
#include <string.h>

#include "base/text.h"
#include "screen/commands.h"
#include "../help/measure.h"

static const char *const said[] = {"Framed.", "The photo is taken out of this visit; its file is kept.",
                                   "This file cannot be read as a table: it holds a picture. Choose one with commas, semicolons or tabs between its cells, or drop the picture on the visit it belongs to."};
static const struct {
    float w, h;
} sizes[] = {{LEAST_WIDTH, LEAST_HEIGHT}, {1280, 720}, {1440, 900}, {1920, 1080}};

static bool meet(struct rect a, struct rect b)
{
    return a.x < b.x + b.w && b.x < a.x + a.w && a.y < b.y + b.h && b.y < a.y + a.h;
}

/* A short one leaves the engine's name free, too. */
static void spares_the_name(struct ui *ui, const char *words, const char *name, const char *where)
{
    const struct ui_widget *toast = ui_find_widget(ui, "toast"), *engines = ui_find_widget(ui, "bar.engines");
    const struct ui_style style = {.size_px = 18, .weight = UI_SEMIBOLD};

    if (strcmp(words, said[0]) == 0 && toast->bounds.x < engines->bounds.x + engines->bounds.w + 18 + ui_text_width(ui, name, &style))
        fail_msg("%s: it lies over the name", where);
}

/* From this layer on: what lies below a panel is not used. */
static void covers_nothing(struct ui *ui, int layer, const char *where)
{
    const struct ui_widget *toast = ui_find_widget(ui, "toast"), *all;
    size_t n;

    if (toast == NULL)
        fail_msg("%s: nothing is said", where);
    assert_true(toast->bounds.w >= 100 && toast->bounds.h >= 40);
    all = ui_widgets(ui, &n);
    for (size_t i = 0; i < n; i++)
        if (all[i].layer >= layer && all[i].takes_focus && strcmp(all[i].id, "toast.action") != 0 && meet(all[i].bounds, toast->bounds))
            fail_msg("%s: it lies over %s", where, all[i].id);
}

static void begin(struct record *record, struct ready *ready)
{
    record_init(record);
    record->engine = engine_find_preset("v8-odd-left")->engine;
    text_copy(record->engine.name, sizeof record->engine.name, "Merrow 4.2 V8 of the north barn");
    record_add_visit(record);
    ready_of(record, ready);
}

/* record NULL: no engine is open. */
static struct model model_of(const struct record *record, const struct ready *ready, bool large_targets)
{
    static struct job job;
    static struct refit book;

    return (struct model){.logbook_name = "Barn", .logbook_folder = "/barn", .can_write = true, .why_read_only = "", .engine_id = "a", .visit_id = "b", .undo_label = "Gap of 3 as found, and the photo's", .redo_label = "",
                          .proposal_why = "", .watched = "", .files_dir = "", .today = "2026-06-14", .compression_rule = "ratio-75", .pressure = "kPa", .report_paper = "a4", .report_written = "", .refit_why = "",
                          .ended_with = "", .take_folder = "", .large_targets = large_targets, .ready = ready, .job = &job, .book = &book, .record = record};
}

/* The screen, with the words said in passing. */
static void say(struct ui *ui, const struct model *m, struct screen_state *st, float w, float h, const char *words)
{
    struct actions out = {0};

    ui_toast(ui, words, "Undo");
    for (int k = 0; k < 2; k++) {
        out.n = 0;
        ui_begin(ui, w, h, 1);
        screen_all(ui, m, st, &out);
        ui_end(ui);
    }
}

static void a_toast_covers_nothing_that_is_used(void **state)
{
    static const enum screen_id screens[] = {SCREEN_ENGINES, SCREEN_PLAN, SCREEN_PHOTOS, SCREEN_LINEUP, SCREEN_TRENDS, SCREEN_JOB};
    struct record record;
    struct ready ready;

    (void)state;
    begin(&record, &ready);
    for (size_t i = 0; i < 2 * (sizeof sizes / sizeof sizes[0]) * (sizeof screens / sizeof screens[0]) * (sizeof said / sizeof said[0]); i++) {
        const size_t s = i / 2 % (sizeof sizes / sizeof sizes[0]), at = i / 2 / (sizeof sizes / sizeof sizes[0]) % (sizeof screens / sizeof screens[0]);
        const char *words = said[i / 2 / (sizeof sizes / sizeof sizes[0]) / (sizeof screens / sizeof screens[0])];
        struct ui *ui = ui_create_without_fonts();
        struct model m = model_of(screens[at] == SCREEN_ENGINES ? NULL : &record, &ready, i % 2 == 1);
        struct screen_state st = {.screen = screens[at], .found = -1, .photo = -1, .bench.tool = -1};
        char where[120];

        say(ui, &m, &st, sizes[s].w, sizes[s].h, words);
        text_format(where, sizeof where, "%.0f × %.0f, screen %d%s, “%.20s…”", (double)sizes[s].w, (double)sizes[s].h, (int)screens[at], m.large_targets ? ", large targets" : "", words);
        covers_nothing(ui, 0, where);
        if (screens[at] != SCREEN_ENGINES && sizes[s].w >= 1280)
            spares_the_name(ui, words, record.engine.name, where);
        ui_destroy(ui);
    }
    record_release(&record);
}

/* Nor what opens over a screen: in a low window a panel reached up over the bar, and its title lay below what was said. */
static void a_toast_leaves_a_panel_free(void **state)
{
    static const struct {
        enum panel_id panel;
        const char *id;
    } panels[] = {{PANEL_VISIT, "panel.visit"}, {PANEL_SIGNS, "panel.signs"}, {PANEL_HELP, "panel.help"}, {PANEL_FILES, "panel.files"}, {PANEL_RULES, "panel.rules"},
                  {PANEL_SEARCH, "panel.search"}, {PANEL_MEASURES, "panel.measures"}, {PANEL_PLUG, "panel.plug"}, {PANEL_CONFLICTS, "panel.conflicts"}};
    struct record record;
    struct ready ready;

    (void)state;
    begin(&record, &ready);
    for (size_t i = 0; i < 2 * (sizeof sizes / sizeof sizes[0]) * (sizeof panels / sizeof panels[0]); i++) {
        const size_t s = i / 2 % (sizeof sizes / sizeof sizes[0]), p = i / 2 / (sizeof sizes / sizeof sizes[0]);
        struct ui *ui = ui_create_without_fonts();
        struct model m = model_of(&record, &ready, i % 2 == 1);
        struct screen_state st = {.screen = SCREEN_PLAN, .panel = panels[p].panel, .found = -1, .photo = -1, .bench.tool = -1};
        const struct ui_widget *panel, *toast;
        struct rect free_of;

        say(ui, &m, &st, sizes[s].w, sizes[s].h, said[1]);
        panel = ui_find_widget(ui, panels[p].id);
        toast = ui_find_widget(ui, "toast");
        if (panel == NULL || toast == NULL)
            fail_msg("%s is not there, or nothing is said", panels[p].id);
        free_of = panel->bounds;
        if (panels[p].panel == PANEL_VISIT) { /* it takes the bar's height too: its title, on the left, is what must be read */
            free_of = (struct rect){panel->bounds.x, panel->bounds.y, 24 + ui_text_width(ui, "This visit", &(struct ui_style){.size_px = 18, .weight = UI_SEMIBOLD}), panel->bounds.h};
            covers_nothing(ui, panel->layer, panels[p].id);
        }
        if (meet(free_of, toast->bounds))
            fail_msg("%.0f × %.0f%s: it lies over %s", (double)sizes[s].w, (double)sizes[s].h, m.large_targets ? ", large targets" : "", panels[p].id);
        if (panel->bounds.y + panel->bounds.h > sizes[s].h)
            fail_msg("%.0f × %.0f: %s leaves the window at its foot", (double)sizes[s].w, (double)sizes[s].h, panels[p].id);
        ui_destroy(ui);
    }
    record_release(&record);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(a_toast_covers_nothing_that_is_used), cmocka_unit_test(a_toast_leaves_a_panel_free)};

    return cmocka_run_group_tests(tests, NULL, NULL);
}
