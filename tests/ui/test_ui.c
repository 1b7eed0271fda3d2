/* The kit without a window: contrast of the theme, areas of shapes, focus, fields. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/text.h"
#include "ui/ui.h"
#include "ui/ui_raster.h"

/* ---- theme ---- */

/* Relative luminance and contrast ratio: WCAG 2.2, "relative luminance" and "contrast ratio". */
static double luminance(struct rgba c)
{
    double v[3] = {c.r / 255.0, c.g / 255.0, c.b / 255.0};

    for (int i = 0; i < 3; i++)
        v[i] = v[i] <= 0.04045 ? v[i] / 12.92 : pow((v[i] + 0.055) / 1.055, 2.4);
    return 0.2126 * v[0] + 0.7152 * v[1] + 0.0722 * v[2];
}

static double contrast(struct rgba a, struct rgba b)
{
    double x = luminance(a), y = luminance(b);

    return (fmax(x, y) + 0.05) / (fmin(x, y) + 0.05);
}

static void texts_reach_wcag_aa(void **state)
{
    /* every pair of text and surface that the program puts together; 4.5:1 for text */
    static const enum ui_colour pairs[][2] = {
        {UI_BAR_TEXT, UI_BAR}, {UI_BAR_QUIET, UI_BAR}, {UI_BAR_TEXT, UI_BAR_RAISED}, {UI_BAR_QUIET, UI_BAR_RAISED},
        {UI_BAR_TEXT, UI_BAR_FIELD}, {UI_DESK_TEXT, UI_DESK}, {UI_DESK_QUIET, UI_DESK}, {UI_DESK_TEXT, UI_DESK_BAND},
        {UI_TEXT, UI_PANEL}, {UI_TEXT_SOFT, UI_PANEL}, {UI_TEXT_QUIET, UI_PANEL}, {UI_TEXT, UI_CARD}, {UI_TEXT_SOFT, UI_CARD},
        {UI_TEXT_QUIET, UI_CARD}, {UI_TEXT, UI_CARD_DIM}, {UI_TEXT_SOFT, UI_CARD_DIM}, {UI_TEXT_QUIET, UI_CARD_DIM},
        {UI_DARK_TEXT, UI_DARK}, {UI_ACT_TEXT, UI_ACT}, {UI_WATCH_TEXT, UI_WATCH}, {UI_NOTE_TEXT, UI_NOTE},
        {UI_SELECT_TEXT, UI_SELECT}, {UI_ACT_INK, UI_PANEL}, {UI_ACT_INK, UI_CARD_DIM}, {UI_WATCH_INK, UI_PANEL},
        {UI_BAR_TEXT, UI_TRAY}, {UI_BAR_TEXT, UI_TRAY_CARD}};

    (void)state;
    for (size_t i = 0; i < sizeof pairs / sizeof pairs[0]; i++) {
        double c = contrast(ui_rgba(pairs[i][0]), ui_rgba(pairs[i][1]));

        if (c < 4.5)
            fail_msg("%s on %s: %.2f:1", ui_colour_row(pairs[i][0])->id, ui_colour_row(pairs[i][1])->id, c);
    }
    assert_true(fabs(contrast((struct rgba){0, 0, 0, 255}, (struct rgba){255, 255, 255, 255}) - 21) < 1e-9);
}

static void surfaces_are_neutral(void **state)
{
    (void)state;
    for (int i = 0; i < UI_COLOUR_COUNT; i++) {
        const struct ui_colour_row *r = ui_colour_row((enum ui_colour)i);

        assert_true(r->id[0] != '\0');
        if (r->neutral)
            assert_true(r->colour.r == r->colour.g && r->colour.g == r->colour.b);
    }
}

/* Levels stay apart for colour-blind eyes: Machado, Oliveira and Fernandes (2009), severity 1.0,
 * matrices from memory, applied to linear light; the distance is that of lightness and of the two
 * remaining channels. */
static void levels_stay_apart_for_colour_blind_eyes(void **state)
{
    static const double see[2][3][3] = {
        {{0.152286, 1.052583, -0.204868}, {0.114503, 0.786281, 0.099216}, {-0.003882, -0.048116, 1.051998}},  /* protan */
        {{0.367322, 0.860646, -0.227968}, {0.280085, 0.672501, 0.047413}, {-0.011820, 0.042940, 0.968881}}}; /* deutan */
    static const enum ui_colour levels[] = {UI_ACT, UI_WATCH, UI_NOTE, UI_SELECT};

    (void)state;
    for (int m = 0; m < 2; m++)
        for (int i = 0; i < 4; i++)
            for (int k = 0; k < i; k++) {
                double d = 0;
                struct rgba a = ui_rgba(levels[i]), b = ui_rgba(levels[k]);
                double la[3] = {pow(a.r / 255.0, 2.2), pow(a.g / 255.0, 2.2), pow(a.b / 255.0, 2.2)};
                double lb[3] = {pow(b.r / 255.0, 2.2), pow(b.g / 255.0, 2.2), pow(b.b / 255.0, 2.2)};

                for (int c = 0; c < 3; c++) {
                    double x = 0, y = 0;

                    for (int q = 0; q < 3; q++) {
                        x += see[m][c][q] * la[q];
                        y += see[m][c][q] * lb[q];
                    }
                    d += (pow(fmax(x, 0), 1 / 2.2) - pow(fmax(y, 0), 1 / 2.2)) * (pow(fmax(x, 0), 1 / 2.2) - pow(fmax(y, 0), 1 / 2.2));
                }
                if (sqrt(d) < 0.15)
                    fail_msg("%s and %s look alike (%.2f)", ui_colour_row(levels[i])->id, ui_colour_row(levels[k])->id, sqrt(d));
            }
}

/* ---- shapes ---- */

static double area(const uint8_t *alpha, int n)
{
    double sum = 0;

    for (int i = 0; i < n; i++)
        sum += alpha[i] / 255.0;
    return sum;
}

static void shapes_cover_their_areas(void **state)
{
    static uint8_t a[200 * 200];
    static const float triangle[] = {10, 10, 110, 10, 10, 90};
    static const float radii[] = {6, 12.5f, 40, 80};

    (void)state;
    for (size_t i = 0; i < 4; i++) {
        memset(a, 0, sizeof a);
        raster_disc(a, 200, 200, 100, 100, radii[i]);
        assert_true(fabs(area(a, 40000) / (3.14159265 * radii[i] * radii[i]) - 1) < 0.02);
        memset(a, 0, sizeof a);
        raster_ring(a, 200, 200, radii[i], 4, 0, 0);
        assert_true(fabs(area(a, 40000) / (3.14159265 * (radii[i] * radii[i] - (radii[i] - 4) * (radii[i] - 4))) - 1) < 0.02);
    }
    memset(a, 0, sizeof a);
    raster_polygon(a, 200, 200, triangle, 3);
    assert_true(fabs(area(a, 40000) - 100 * 80 / 2.0) < 25);
    memset(a, 0, sizeof a);
    raster_round(a, 120, 60, 10);
    assert_true(fabs(area(a, 7200) - (120 * 60 - (4 - 3.14159265) * 100)) < 12);
    memset(a, 0, sizeof a);
    raster_round_line(a, 120, 60, 0, 3, 0, 0);
    assert_true(fabs(area(a, 7200) - (120 * 60 - 114 * 54)) < 12);
    memset(a, 0, sizeof a);
    raster_line(a, 200, 200, 20, 20, 140, 110, 4, 0, 0);
    assert_true(fabs(area(a, 40000) - 150 * 4) < 12);
}

/* ---- frames: every sign is 8 wide ---- */

static float width(void *ctx, const char *s, size_t n, int size, int weight, bool tabular)
{
    size_t signs = 0;

    (void)ctx, (void)size, (void)weight, (void)tabular;
    for (size_t i = 0; i < n; i++)
        signs += ((unsigned char)s[i] & 0xC0) != 0x80;
    return 8 * (float)signs;
}

static float line(void *ctx, int size)
{
    (void)ctx;
    return (float)size * 1.4f;
}

struct screen {
    struct ui *ui;
    char text[256], clip[256];
    int clicks;
    unsigned last;
    double now;
};

static char *clip_get(void *ctx)
{
    return strdup(((struct screen *)ctx)->clip);
}

static void clip_set(void *ctx, const char *s)
{
    text_copy(((struct screen *)ctx)->clip, 256, s);
}

static void frame(struct screen *s)
{
    char typed[256];
    unsigned r;

    ui_begin(s->ui, 800, 600, s->now);
    if (ui_button(s->ui, "first", (struct rect){10, 10, 100, 32}, "First", NULL))
        s->clicks++;
    r = ui_text_field(s->ui, "field", (struct rect){10, 60, 300, 40}, &(struct ui_field){.name = "field"}, s->text, typed, sizeof typed);
    if ((r & UI_COMMIT) != 0)
        text_copy(s->text, sizeof s->text, typed);
    s->last |= r;
    ui_chip(s->ui, "chip", (struct rect){10, 120, 100, 32}, "Chip", false, "C");
    ui_end(s->ui);
}

static void settle(struct screen *s)
{
    do
        frame(s);
    while (ui_pending(s->ui));
    frame(s);
}

static void key(struct screen *s, const char *name)
{
    struct ui_event ev = {.type = UI_EVENT_KEY};

    text_copy(ev.key, sizeof ev.key, name);
    ui_feed(s->ui, &ev);
    settle(s);
}

static void type(struct screen *s, const char *text)
{
    struct ui_event ev = {.type = UI_EVENT_TEXT, .text = strdup(text)};

    ui_feed(s->ui, &ev);
    settle(s);
}

static struct screen open_screen(void)
{
    struct screen s = {.now = 1};

    s.ui = ui_create((struct ui_measure){width, line, NULL});
    frame(&s);
    return s;
}

static void tab_goes_in_the_order_drawn(void **state)
{
    struct screen s = open_screen();
    static const char *const order[] = {"first", "field", "chip", "first"};

    (void)state;
    for (int i = 0; i < 4; i++) {
        key(&s, "Tab");
        assert_string_equal(ui_focused(s.ui), order[i]);
    }
    key(&s, "Shift+Tab");
    assert_string_equal(ui_focused(s.ui), "chip");
    key(&s, "Tab");
    key(&s, "Enter");
    assert_int_equal(s.clicks, 1);
    key(&s, "Down");
    assert_string_equal(ui_focused(s.ui), "field");
    ui_destroy(s.ui);
}

static void a_field_edits_by_whole_characters(void **state)
{
    struct screen s = open_screen();

    (void)state;
    ui_set_clipboard(s.ui, (struct ui_clipboard){clip_get, clip_set, &s});
    ui_focus(s.ui, "field");
    settle(&s);
    type(&s, "cafe\xCC\x81 \xE4\xB8\xAD\xE6\x96\x87"); /* e with a combining accent; two CJK signs */
    key(&s, "Backspace");
    key(&s, "Enter");
    assert_string_equal(s.text, "cafe\xCC\x81 \xE4\xB8\xAD");
    key(&s, "Backspace");
    key(&s, "Backspace");
    key(&s, "Backspace"); /* the accent goes with its letter */
    key(&s, "Enter");
    assert_string_equal(s.text, "caf");
    key(&s, "Ctrl+Z");
    key(&s, "Enter");
    assert_string_equal(s.text, "cafe\xCC\x81");
    key(&s, "Ctrl+A");
    key(&s, "Ctrl+C");
    assert_string_equal(s.clip, "cafe\xCC\x81");
    type(&s, "x");
    key(&s, "Ctrl+V");
    key(&s, "Enter");
    assert_string_equal(s.text, "xcafe\xCC\x81");
    key(&s, "Home");
    key(&s, "Shift+Right");
    key(&s, "Delete");
    key(&s, "Enter");
    assert_string_equal(s.text, "cafe\xCC\x81");
    ui_destroy(s.ui);
}

static void what_is_composed_is_not_typed_yet(void **state)
{
    struct screen s = open_screen();
    struct ui_event ev = {.type = UI_EVENT_COMPOSE, .text = strdup("ni")};

    (void)state;
    ui_focus(s.ui, "field");
    settle(&s);
    ui_feed(s.ui, &ev);
    settle(&s);
    key(&s, "Backspace"); /* belongs to the input method while it composes */
    assert_string_equal(ui_find_widget(s.ui, "field")->value, "");
    type(&s, "\xE4\xBD\xA0");
    key(&s, "Enter");
    assert_string_equal(s.text, "\xE4\xBD\xA0");
    ui_destroy(s.ui);
}

static void typing_is_acknowledged_by_leaving_or_pausing(void **state)
{
    struct screen s = open_screen();

    (void)state;
    ui_focus(s.ui, "field");
    settle(&s);
    type(&s, "1.1");
    assert_string_equal(s.text, ""); /* not yet */
    s.now += 0.6;
    frame(&s);
    assert_string_equal(s.text, "1.1"); /* half a second's pause */
    type(&s, "0");
    key(&s, "Tab");
    assert_string_equal(s.text, "1.10"); /* left */
    ui_focus(s.ui, "field");
    settle(&s);
    type(&s, "99");
    key(&s, "Escape");
    assert_string_equal(s.text, "1.10"); /* as it was */
    ui_destroy(s.ui);
}

static void letters_in_a_field_are_no_shortcuts(void **state)
{
    struct screen s = open_screen();
    struct ui_event ev = {.type = UI_EVENT_KEY, .key = "n"};

    (void)state;
    ui_focus(s.ui, "field");
    settle(&s);
    ui_feed(s.ui, &ev);
    frame(&s);
    assert_null(ui_key_name(s.ui));
    ui_focus(s.ui, NULL);
    settle(&s);
    ui_feed(s.ui, &ev);
    ui_begin(s.ui, 800, 600, s.now);
    assert_true(ui_key(s.ui, "n"));
    assert_false(ui_key(s.ui, "n")); /* once */
    ui_end(s.ui);
    ui_destroy(s.ui);
}

static void text_is_cut_and_wrapped_at_whole_characters(void **state)
{
    struct ui *ui = ui_create((struct ui_measure){width, line, NULL});
    struct ui_style one = {.size_px = 10}, many = {.size_px = 10, .max_lines = 3};
    size_t n;
    const struct ui_draw *d;

    (void)state;
    ui_begin(ui, 800, 600, 1);
    ui_text(ui, (struct rect){0, 0, 64, 20}, "\xC3\xA9t\xC3\xA9 de l'ann\xC3\xA9" "e", &one);
    assert_true(fabsf(ui_text_height(ui, 80, "one two three four", &many) - 28) < 0.1f); /* "one two", "three four" */
    d = ui_draws(ui, &n);
    assert_int_equal(n, 1);
    assert_string_equal(d[0].text, "\xC3\xA9t\xC3\xA9 de\xE2\x80\xA6"); /* the blank before the ellipsis goes */
    ui_end(ui);
    ui_destroy(ui);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(texts_reach_wcag_aa),
        cmocka_unit_test(surfaces_are_neutral),
        cmocka_unit_test(levels_stay_apart_for_colour_blind_eyes),
        cmocka_unit_test(shapes_cover_their_areas),
        cmocka_unit_test(tab_goes_in_the_order_drawn),
        cmocka_unit_test(a_field_edits_by_whole_characters),
        cmocka_unit_test(what_is_composed_is_not_typed_yet),
        cmocka_unit_test(typing_is_acknowledged_by_leaving_or_pausing),
        cmocka_unit_test(letters_in_a_field_are_no_shortcuts),
        cmocka_unit_test(text_is_cut_and_wrapped_at_whole_characters),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
