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

static void every_pair_drawn_reaches_wcag_aa(void **state)
{
    size_t n;
    const struct ui_pair *pairs = ui_pairs(&n);

    (void)state;
    /* the ratio itself: black on white is 21 by definition; #767676 on white is the lightest grey that
     * reaches 4.5, #949494 the lightest that reaches 3 */
    assert_true(fabs(ui_contrast((struct rgba){0, 0, 0, 255}, (struct rgba){255, 255, 255, 255}) - 21) < 1e-9);
    assert_true(ui_contrast((struct rgba){0x76, 0x76, 0x76, 255}, (struct rgba){255, 255, 255, 255}) >= 4.5);
    assert_true(ui_contrast((struct rgba){0x77, 0x77, 0x77, 255}, (struct rgba){255, 255, 255, 255}) < 4.5);
    assert_true(ui_contrast((struct rgba){0x94, 0x94, 0x94, 255}, (struct rgba){255, 255, 255, 255}) >= 3);
    assert_true(ui_contrast((struct rgba){0x95, 0x95, 0x95, 255}, (struct rgba){255, 255, 255, 255}) < 3);
    for (size_t i = 0; i < n; i++) {
        double c = ui_contrast(ui_rgba(pairs[i].ink), ui_rgba(pairs[i].on));

        if (c < (pairs[i].use == UI_PAIR_TEXT ? 4.5 : 3))
            fail_msg("%s on %s: %.2f:1", ui_colour_row(pairs[i].ink)->id, ui_colour_row(pairs[i].on)->id, c);
    }
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
    ui_focus(s.ui, "chip");
    settle(&s);
    key(&s, "Right"); /* the wide field above does not lie to the right */
    assert_string_equal(ui_focused(s.ui), "chip");
    ui_destroy(s.ui);
}

static void feed_key(struct screen *s, const char *name, const char *types)
{
    struct ui_event ev = {.type = UI_EVENT_KEY, .text = types != NULL ? strdup(types) : NULL};

    text_copy(ev.key, sizeof ev.key, name);
    ui_feed(s->ui, &ev);
}

/* The program was busy: a click into the field and what was typed behind it come at once, keys without their text, for no field had the
 * focus when the system saw them. So do a key that asks for the focus, and what is typed into the field it opens. */
static void what_is_typed_ahead_reaches_the_field(void **state)
{
    struct ui_event press = {.type = UI_EVENT_DOWN, .button = 1, .x = 50, .y = 80}, up = {.type = UI_EVENT_UP, .button = 1, .x = 50, .y = 80};
    struct screen s = open_screen();

    (void)state;
    feed_key(&s, "C", "C"); /* no field yet: a command, no text */
    ui_feed(s.ui, &press);
    ui_feed(s.ui, &up);
    feed_key(&s, "1", "1");
    feed_key(&s, "Shift+K", "K");
    feed_key(&s, "", "\xc3\xa4");
    feed_key(&s, "Enter", NULL);
    settle(&s);
    assert_string_equal(s.text, "1K\xc3\xa4");
    ui_focus(s.ui, NULL);
    settle(&s);
    ui_focus(s.ui, "field"); /* asked for in a frame; the field shows itself in the next */
    feed_key(&s, "x", "x");
    feed_key(&s, "Enter", NULL);
    settle(&s);
    assert_string_equal(s.text, "1K\xc3\xa4x");
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

#define SHALOM "\xD7\xA9\xD7\x9C\xD7\x95\xD7\x9D"
#define SHIN "\xD7\xA9"

static float caret_x(const struct screen *s)
{
    struct rect r = {0};

    assert_true(ui_caret(s->ui, &r));
    return r.x - 22; /* the text begins there */
}

static void point_at(struct screen *s, enum ui_event_type type_of, float x)
{
    ui_feed(s->ui, &(struct ui_event){.type = type_of, .x = 22 + x, .y = 80, .button = 1});
    settle(s);
}

static int n_selected(const struct screen *s, struct rect *where)
{
    size_t n;
    const struct ui_draw *d = ui_draws(s->ui, &n);
    int found = 0;

    for (size_t i = 0; i < n; i++)
        if (d[i].type == UI_DRAW_FILL && d[i].colour.a == 70)
            where[found++] = d[i].r;
    return found;
}

static void words_of_both_directions_are_typed_and_deleted(void **state)
{
    struct screen s = open_screen();
    struct rect where[8];

    (void)state;
    ui_set_clipboard(s.ui, (struct ui_clipboard){clip_get, clip_set, &s});
    ui_focus(s.ui, "field");
    settle(&s);
    type(&s, "ab " SHALOM); /* seen: ab, then the word from its last letter to its first */
    assert_true(fabsf(caret_x(&s) - 24) < 0.1f); /* where the next letter of the word goes */
    type(&s, "x");
    assert_true(fabsf(caret_x(&s) - 64) < 0.1f);
    key(&s, "Backspace");
    key(&s, "Backspace");
    key(&s, "Enter");
    assert_string_equal(s.text, "ab \xD7\xA9\xD7\x9C\xD7\x95");
    /* pressed at the word's right end, which is its beginning */
    point_at(&s, UI_EVENT_DOWN, 49);
    point_at(&s, UI_EVENT_UP, 49);
    assert_true(fabsf(caret_x(&s) - 48) < 0.1f);
    type(&s, "y");
    key(&s, "Enter");
    assert_string_equal(s.text, "ab y\xD7\xA9\xD7\x9C\xD7\x95");
    key(&s, "Ctrl+A");
    assert_int_equal(n_selected(&s, where), 2);
    assert_true(fabsf(where[0].x - 22) < 0.1f && fabsf(where[0].w - 32) < 0.1f && fabsf(where[1].x - 54) < 0.1f && fabsf(where[1].w - 24) < 0.1f);
    /* from the b to behind the word's first letter: parted on the screen, one piece of the text */
    s.now += 1;
    point_at(&s, UI_EVENT_DOWN, 8);
    point_at(&s, UI_EVENT_MOVE, 47);
    point_at(&s, UI_EVENT_UP, 47);
    assert_int_equal(n_selected(&s, where), 2);
    assert_true(fabsf(where[1].x - 22 - 48) < 0.1f && fabsf(where[1].w - 8) < 0.1f);
    key(&s, "Ctrl+C");
    assert_string_equal(s.clip, "b y" SHIN);
    key(&s, "Delete");
    key(&s, "Enter");
    assert_string_equal(s.text, "a\xD7\x9C\xD7\x95");
    ui_destroy(s.ui);
}

static void a_line_from_the_right_is_walked_from_the_right(void **state)
{
    struct screen s = open_screen();

    (void)state;
    ui_focus(s.ui, "field");
    settle(&s);
    type(&s, SHALOM " V8"); /* seen: V8, a blank, the word */
    assert_true(fabsf(caret_x(&s) - 16) < 0.1f);
    key(&s, "Backspace");
    key(&s, "Backspace");
    key(&s, "Backspace");
    assert_true(fabsf(caret_x(&s) - 0) < 0.1f);
    key(&s, "Right"); /* back in the text, on to the right on the screen */
    assert_true(fabsf(caret_x(&s) - 8) < 0.1f);
    key(&s, "Left");
    key(&s, "Left");
    assert_true(fabsf(caret_x(&s) - 0) < 0.1f);
    key(&s, "Home");
    assert_true(fabsf(caret_x(&s) - 32) < 0.1f);
    key(&s, "Delete");
    key(&s, "Enter");
    assert_string_equal(s.text, "\xD7\x9C\xD7\x95\xD7\x9D");
    key(&s, "Home");
    key(&s, "Shift+Left");
    type(&s, SHIN "\xD6\xB8"); /* a letter and its vowel: one */
    key(&s, "Backspace");
    key(&s, "Enter");
    assert_string_equal(s.text, "\xD7\x95\xD7\x9D");
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
    assert_string_equal(s.text, "99"); /* the same */
    ui_destroy(s.ui);
}

/* As a command sees it: the keys that are left for the screen, and what was committed when they came. */
static void a_key_of_the_screen_comes_after_what_was_typed(void **state)
{
    static const char *const screens[] = {"F3", "Ctrl+J", "F1", "F12", "Ctrl+N", "Ctrl+Q", "Ctrl+PageUp", "Ctrl+Enter", "Shift+Enter"};
    struct screen s = open_screen();

    (void)state;
    for (size_t i = 0; i < sizeof screens / sizeof screens[0]; i++) {
        struct ui_event ev = {.type = UI_EVENT_KEY};
        char typed[16];

        ui_focus(s.ui, "field");
        settle(&s);
        key(&s, "Ctrl+A");
        text_format(typed, sizeof typed, "1.2%zu", i);
        type(&s, typed);
        text_copy(ev.key, sizeof ev.key, screens[i]);
        ui_feed(s.ui, &ev);
        frame(&s);
        assert_string_equal(s.text, typed);
        assert_true(ui_pending(s.ui)); /* the key waits until it is kept */
        ui_begin(s.ui, 800, 600, s.now);
        assert_true(ui_key(s.ui, screens[i]));
        ui_end(s.ui);
    }
    ui_destroy(s.ui);
}

static void escape_keeps_what_was_typed_as_tab_does(void **state)
{
    struct screen s = open_screen();

    (void)state;
    ui_focus(s.ui, "field");
    settle(&s);
    type(&s, "a slight miss at hot idle");
    s.now += 0.6;
    frame(&s);
    assert_string_equal(s.text, "a slight miss at hot idle");
    type(&s, ", gone above 1500"); /* words go on: none of them is lost */
    key(&s, "Escape");
    assert_string_equal(ui_focused(s.ui), "");
    assert_string_equal(s.text, "a slight miss at hot idle, gone above 1500");
    ui_focus(s.ui, "field");
    settle(&s);
    type(&s, " rpm"); /* nothing of it is kept yet */
    key(&s, "Escape");
    assert_string_equal(ui_focused(s.ui), "");
    assert_string_equal(s.text, "a slight miss at hot idle, gone above 1500 rpm");
    assert_string_equal(ui_find_widget(s.ui, "field")->value, "a slight miss at hot idle, gone above 1500 rpm");
    ui_destroy(s.ui);
}

static void words_are_kept_while_typing_goes_on(void **state)
{
    const char *said = "it clatters when cold and misses on the overrun only";
    struct screen s = open_screen();
    int64_t run = 0;
    size_t lost = 0;

    (void)state;
    ui_focus(s.ui, "field");
    settle(&s);
    for (size_t i = 0; said[i] != '\0'; i++) { /* 50 signs a second, without a pause */
        struct ui_event ev = {.type = UI_EVENT_TEXT, .text = strndup(said + i, 1)};

        s.now += 0.02;
        ui_feed(s.ui, &ev);
        frame(&s);
        if (ui_committed(s.ui) != 0) {
            assert_true(run == 0 || run == ui_committed(s.ui)); /* one run of typing: one step of undo */
            run = ui_committed(s.ui);
        }
        lost = i + 1 - strlen(s.text) > lost ? i + 1 - strlen(s.text) : lost;
    }
    assert_true(run != 0);
    assert_in_range(lost, 1, 24); /* never half a second of it */
    key(&s, "Enter");
    type(&s, "!");
    key(&s, "Enter");
    assert_string_equal(s.text, "it clatters when cold and misses on the overrun only!");
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

#define ALEF_BET "\xD7\x90\xD7\x91\xD7\x92 \xD7\x93\xD7\x94\xD7\x95"

/* Each line of a note begins at the side the note begins at, whatever its own first letter is. */
static void a_note_from_the_right_is_wrapped_to_the_right(void **state)
{
    struct ui *ui = ui_create((struct ui_measure){width, line, NULL});
    struct ui_style many = {.size_px = 10, .max_lines = 4};
    size_t n;
    const struct ui_draw *d;

    (void)state;
    ui_begin(ui, 800, 600, 1);
    ui_text(ui, (struct rect){0, 0, 80, 80}, ALEF_BET " V8 ok " SHALOM "\nplainly " SHALOM, &many);
    d = ui_draws(ui, &n);
    assert_int_equal(n, 4);
    assert_string_equal(d[0].text, ALEF_BET " V8");
    assert_true(fabsf(d[0].r.x - 0) < 0.1f);
    assert_string_equal(d[1].text, "\xE2\x80\x8F" "ok " SHALOM); /* the line alone would begin at the left */
    assert_true(fabsf(d[1].r.x + d[1].r.w - 80) < 0.1f);
    assert_string_equal(d[2].text, "plainly");
    assert_true(fabsf(d[2].r.x) < 0.1f && fabsf(d[3].r.x) < 0.1f);
    assert_string_equal(d[3].text, "\xE2\x80\x8E" SHALOM);
    ui_end(ui);
    ui_begin(ui, 800, 600, 1);
    ui_text(ui, (struct rect){30, 0, 80, 20}, SHALOM, &many); /* a single line stays where the screen has it */
    d = ui_draws(ui, &n);
    assert_true(fabsf(d[0].r.x - 30) < 0.1f);
    ui_end(ui);
    ui_destroy(ui);
}

/* ---- a larger screen: a scroll area, a tall field, a dialog, things to drag ---- */

struct desk {
    struct ui *ui;
    char notes[40], said[64];
    bool dialog, locked;
    int pressed, dropped_on, undone;
    float split;
    double now;
};

static void desk_frame(struct desk *d)
{
    char typed[sizeof d->notes], id[16];
    struct ui *ui = d->ui;
    struct rect area;
    struct ui_hit hit;

    ui_begin(ui, 800, 600, d->now);
    if (ui_button(ui, "open", (struct rect){10, 10, 100, 32}, "Open", NULL))
        d->dialog = true;
    if (ui_button(ui, "locked", (struct rect){120, 10, 100, 32}, "Locked", &(struct ui_button){.disabled = d->locked ? "not now" : NULL}))
        d->pressed++;
    area = ui_scroll_begin(ui, "area", (struct rect){10, 100, 300, 100});
    for (int i = 0; i < 10; i++) {
        snprintf(id, sizeof id, "row.%d", i);
        ui_button(ui, id, (struct rect){10, area.y + 40 * (float)i, 200, 32}, "Row", NULL);
    }
    ui_scroll_end(ui, 400);
    /* 14 px text is 19.6 high; 12 px in from the sides: 10 signs a line, three lines and a bit */
    if ((ui_text_field(ui, "notes", (struct rect){400, 100, 104, 76}, &(struct ui_field){.name = "notes", .multiline = true}, d->notes, typed, sizeof typed) & UI_COMMIT) != 0)
        text_copy(d->notes, sizeof d->notes, typed);
    hit = ui_region(ui, "thing", (struct rect){10, 300, 80, 60}, UI_ROLE_IMAGE, "thing", "", 0);
    ui_drag_source(ui, "photo:7", hit, 0);
    hit = ui_region(ui, "target", (struct rect){200, 300, 80, 60}, UI_ROLE_AREA, "target", "", 0);
    if (hit.dropped && strcmp(ui_dragged(ui), "photo:7") == 0)
        d->dropped_on++;
    d->split = ui_splitter(ui, "split", (struct rect){d->split - 4, 400, 8, 100}, d->split, 100, 300, 1);
    if (d->dialog) {
        ui_modal_begin(ui, "dialog", (struct rect){200, 200, 300, 200}, "Dialog");
        ui_button(ui, "inside", (struct rect){220, 220, 100, 32}, "Inside", NULL);
        if (ui_key(ui, "Escape"))
            d->dialog = false;
        ui_modal_end(ui);
    }
    if (ui_toasts(ui, (struct rect){100, 4, 500, 48}, 0))
        d->undone++;
    ui_end(ui);
}

static void desk_settle(struct desk *d)
{
    do
        desk_frame(d);
    while (ui_pending(d->ui));
    desk_frame(d);
    desk_frame(d);
}

static struct desk open_desk(void)
{
    struct desk d = {.now = 1, .split = 200};

    d.ui = ui_create((struct ui_measure){width, line, NULL});
    desk_frame(&d);
    return d;
}

static void press(struct desk *d, const char *name)
{
    struct ui_event ev = {.type = UI_EVENT_KEY};

    text_copy(ev.key, sizeof ev.key, name);
    ui_feed(d->ui, &ev);
    desk_settle(d);
}

static void write_text(struct desk *d, const char *text)
{
    ui_feed(d->ui, &(struct ui_event){.type = UI_EVENT_TEXT, .text = strdup(text)});
    desk_settle(d);
}

static void point(struct desk *d, enum ui_event_type type, float x, float y)
{
    ui_feed(d->ui, &(struct ui_event){.type = type, .button = 1, .x = x, .y = y});
    desk_settle(d);
}

static void click_at(struct desk *d, float x, float y)
{
    point(d, UI_EVENT_MOVE, x, y);
    point(d, UI_EVENT_DOWN, x, y);
    point(d, UI_EVENT_UP, x, y);
}

static bool in_full_view(const struct desk *d, const char *id)
{
    const struct ui_widget *w = ui_find_widget(d->ui, id);

    return w != NULL && fabsf(w->bounds.h - w->whole.h) < 0.5f;
}

static char *desk_clip_get(void *ctx)
{
    return strdup(((struct desk *)ctx)->said);
}

static void desk_clip_set(void *ctx, const char *s)
{
    text_copy(((struct desk *)ctx)->said, 64, s);
}

static void what_takes_the_focus_is_brought_into_view(void **state)
{
    struct desk d = open_desk();

    (void)state;
    assert_false(in_full_view(&d, "row.7"));
    ui_focus(d.ui, "row.7");
    desk_settle(&d);
    assert_true(in_full_view(&d, "row.7"));
    press(&d, "Tab");
    assert_string_equal(ui_focused(d.ui), "row.8");
    assert_true(in_full_view(&d, "row.8"));
    press(&d, "Home");
    assert_true(in_full_view(&d, "row.0")); /* the wheel and paging may take it out again */
    press(&d, "PageDown");
    assert_true(in_full_view(&d, "row.3")); /* nine tenths of the view on: 90 of its 100 */
    assert_false(in_full_view(&d, "row.0"));
    press(&d, "End");
    assert_true(in_full_view(&d, "row.9"));
    ui_destroy(d.ui);
}

static void escape_keeps_a_line_of_notes(void **state)
{
    struct desk d = open_desk();

    (void)state;
    text_copy(d.notes, sizeof d.notes, "dry");
    ui_focus(d.ui, "notes");
    desk_settle(&d);
    write_text(&d, " and cold");
    press(&d, "Escape");
    assert_string_equal(d.notes, "dry and cold");
    assert_string_equal(ui_focused(d.ui), "");
    ui_focus(d.ui, "notes");
    desk_settle(&d);
    write_text(&d, " and wet");
    assert_true(ui_unsaved(d.ui));
    d.now += 0.6;
    desk_frame(&d);
    assert_string_equal(d.notes, "dry and cold and wet");
    assert_false(ui_unsaved(d.ui));
    press(&d, "Escape");
    assert_string_equal(d.notes, "dry and cold and wet");
    assert_string_equal(ui_focused(d.ui), "");
    ui_destroy(d.ui);
}

static void a_full_field_says_so(void **state)
{
    struct desk d = open_desk();

    (void)state;
    ui_set_clipboard(d.ui, (struct ui_clipboard){desk_clip_get, desk_clip_set, &d});
    ui_focus(d.ui, "notes");
    desk_settle(&d);
    assert_non_null(ui_find_widget(d.ui, "field.room"));
    assert_string_equal(ui_find_widget(d.ui, "field.room")->value, "room for 39 more letters");
    text_copy(d.said, sizeof d.said, "0123456789 0123456789 0123456789 01234\xC3\xA9 more");
    press(&d, "Ctrl+V");
    press(&d, "Ctrl+Enter");
    assert_string_equal(d.notes, "0123456789 0123456789 0123456789 01234"); /* no half letter */
    assert_non_null(strstr(ui_find_widget(d.ui, "toast")->name, "first 38 of 45"));
    write_text(&d, "5");
    write_text(&d, "6");
    press(&d, "Ctrl+Enter");
    assert_string_equal(d.notes, "0123456789 0123456789 0123456789 012345");
    assert_string_equal(ui_find_widget(d.ui, "toast")->name, "This field is full: it holds 39 letters.");
    ui_destroy(d.ui);
}

static void a_tall_field_wraps_and_goes_by_its_lines(void **state)
{
    struct desk d = open_desk();

    (void)state;
    text_copy(d.notes, sizeof d.notes, "one two three four\nfive six seven x"); /* one two | three four | five six | seven x */
    ui_focus(d.ui, "notes");
    desk_settle(&d);
    press(&d, "Ctrl+Home");
    press(&d, "Down");
    write_text(&d, "A"); /* before three */
    press(&d, "Backspace");
    press(&d, "End");
    write_text(&d, "B"); /* behind four, before the line end */
    press(&d, "Backspace");
    press(&d, "Up");
    press(&d, "Home");
    press(&d, "Delete");
    press(&d, "Ctrl+Enter");
    assert_string_equal(d.notes, "ne two three four\nfive six seven x");
    press(&d, "PageDown"); /* three lines are shown: two on */
    press(&d, "PageDown");
    press(&d, "PageDown");
    press(&d, "Shift+Home");
    press(&d, "Delete");
    press(&d, "Ctrl+Enter");
    assert_string_equal(d.notes, "ne two three four\nfive six ");
    ui_destroy(d.ui);
}

static void a_tall_field_is_selected_in_by_the_mouse(void **state)
{
    struct desk d = open_desk();
    const struct ui_draw *draws;
    size_t n;
    bool seen = false;

    (void)state;
    ui_set_clipboard(d.ui, (struct ui_clipboard){desk_clip_get, desk_clip_set, &d});
    text_copy(d.notes, sizeof d.notes, "one two three four\nfive six seven");
    /* the second line begins at y 108 + 19.6; each sign is 8 wide */
    point(&d, UI_EVENT_MOVE, 412 + 16, 108 + 30);
    point(&d, UI_EVENT_DOWN, 412 + 16, 108 + 30);
    point(&d, UI_EVENT_MOVE, 412 + 32, 108 + 49); /* into the third */
    point(&d, UI_EVENT_UP, 412 + 32, 108 + 49);
    press(&d, "Ctrl+C");
    assert_string_equal(d.said, "ree four\nfive");
    d.now += 1;
    click_at(&d, 412 + 8, 108 + 5);
    d.now += 0.1;
    click_at(&d, 412 + 8, 108 + 5); /* twice: a word */
    press(&d, "Ctrl+C");
    assert_string_equal(d.said, "one");
    press(&d, "Ctrl+End"); /* the last line is scrolled to */
    draws = ui_draws(d.ui, &n);
    for (size_t i = 0; i < n; i++)
        if (draws[i].type == UI_DRAW_TEXT && strcmp(draws[i].text, "seven") == 0)
            seen = draws[i].r.y + draws[i].r.h <= 176;
    assert_true(seen);
    /* the wheel looks elsewhere, and typing comes back */
    ui_feed(d.ui, &(struct ui_event){.type = UI_EVENT_WHEEL, .dy = 1});
    desk_settle(&d);
    draws = ui_draws(d.ui, &n);
    for (size_t i = 0; i < n; i++)
        if (draws[i].type == UI_DRAW_TEXT && strcmp(draws[i].text, "one two") == 0)
            seen = draws[i].r.y >= 107;
    assert_true(seen);
    ui_destroy(d.ui);
}

static void a_tall_field_from_the_right_is_written_in(void **state)
{
    struct desk d = open_desk();

    (void)state;
    ui_set_clipboard(d.ui, (struct ui_clipboard){desk_clip_get, desk_clip_set, &d});
    text_copy(d.notes, sizeof d.notes, ALEF_BET " " SHALOM); /* 7 signs, then 4 in a second line: to the right edge, 80 wide */
    click_at(&d, 412 + 79, 108 + 24);
    press(&d, "Shift+End");
    press(&d, "Ctrl+C");
    assert_string_equal(d.said, SHALOM);
    d.now += 1;
    click_at(&d, 412 + 80 - 56, 108 + 5); /* the first line's left end is its end */
    write_text(&d, "\xD7\x96");
    press(&d, "Ctrl+Enter");
    assert_string_equal(d.notes, ALEF_BET "\xD7\x96 " SHALOM);
    press(&d, "Down");
    press(&d, "Home");
    write_text(&d, "V");
    press(&d, "Ctrl+Enter");
    assert_string_equal(d.notes, ALEF_BET "\xD7\x96 V" SHALOM);
    ui_destroy(d.ui);
}

static void what_cannot_be_used_says_so_and_tab_passes_it(void **state)
{
    struct desk d = open_desk();

    (void)state;
    d.locked = true;
    desk_settle(&d);
    assert_false(ui_find_widget(d.ui, "locked")->enabled);
    assert_string_equal(ui_find_widget(d.ui, "locked")->value, "not now");
    press(&d, "Tab");
    press(&d, "Tab");
    assert_string_equal(ui_focused(d.ui), "row.0");
    d.locked = false;
    desk_settle(&d);
    ui_focus(d.ui, "locked");
    desk_settle(&d);
    d.locked = true; /* while it has the focus: Tab goes on from there */
    desk_settle(&d);
    press(&d, "Space");
    assert_int_equal(d.pressed, 0);
    press(&d, "Tab");
    assert_string_equal(ui_focused(d.ui), "row.0");
    ui_destroy(d.ui);
}

static void space_presses_what_was_clicked(void **state)
{
    struct desk d = open_desk();

    (void)state;
    click_at(&d, 150, 20);
    assert_int_equal(d.pressed, 1);
    press(&d, "Space");
    assert_int_equal(d.pressed, 2);
    press(&d, "Enter"); /* the screen's own */
    assert_int_equal(d.pressed, 2);
    ui_destroy(d.ui);
}

static void a_closed_dialog_hands_the_focus_back(void **state)
{
    struct desk d = open_desk();

    (void)state;
    press(&d, "Tab");
    press(&d, "Enter");
    assert_true(d.dialog);
    assert_string_equal(ui_focused(d.ui), "");
    press(&d, "Tab");
    assert_string_equal(ui_focused(d.ui), "inside");
    press(&d, "Tab");
    assert_string_equal(ui_focused(d.ui), "inside"); /* Tab stays inside */
    press(&d, "Escape");
    assert_string_equal(ui_focused(d.ui), "open");
    ui_destroy(d.ui);
}

static void what_is_dragged_is_let_go_on_a_target(void **state)
{
    struct desk d = open_desk();

    (void)state;
    point(&d, UI_EVENT_MOVE, 50, 330);
    point(&d, UI_EVENT_DOWN, 50, 330);
    point(&d, UI_EVENT_MOVE, 53, 330); /* a shaky hand is no drag */
    assert_null(ui_dragged(d.ui));
    point(&d, UI_EVENT_MOVE, 150, 330);
    assert_string_equal(ui_dragged(d.ui), "photo:7");
    point(&d, UI_EVENT_MOVE, 240, 330);
    point(&d, UI_EVENT_UP, 240, 330);
    assert_int_equal(d.dropped_on, 1);
    assert_null(ui_dragged(d.ui));
    point(&d, UI_EVENT_DOWN, 50, 330);
    point(&d, UI_EVENT_MOVE, 600, 550); /* over nothing */
    point(&d, UI_EVENT_UP, 600, 550);
    assert_int_equal(d.dropped_on, 1);
    ui_destroy(d.ui);
}

static void a_splitter_goes_by_mouse_and_keys_and_stops(void **state)
{
    struct desk d = open_desk();

    (void)state;
    point(&d, UI_EVENT_MOVE, 200, 450);
    point(&d, UI_EVENT_DOWN, 200, 450);
    point(&d, UI_EVENT_MOVE, 250, 450);
    point(&d, UI_EVENT_UP, 250, 450);
    assert_true(fabsf(d.split - 250) < 1.5f);
    press(&d, "Right");
    assert_true(fabsf(d.split - 266) < 1.5f);
    for (int i = 0; i < 20; i++)
        press(&d, "Left");
    assert_true(fabsf(d.split - 100) < 0.01f);
    ui_destroy(d.ui);
}

static void a_toast_goes_by_itself_or_by_its_button(void **state)
{
    struct desk d = open_desk();
    const struct ui_widget *w;

    (void)state;
    ui_toast(d.ui, "Photo taken out", "Undo");
    desk_settle(&d);
    assert_string_equal(ui_find_widget(d.ui, "toast")->name, "Photo taken out");
    assert_true(ui_inside((struct rect){100, 4, 500, 48}, ui_find_widget(d.ui, "toast")->bounds.x, ui_find_widget(d.ui, "toast")->bounds.y));
    w = ui_find_widget(d.ui, "toast.action");
    assert_non_null(w);
    click_at(&d, w->bounds.x + 5, w->bounds.y + 5);
    assert_int_equal(d.undone, 1);
    assert_null(ui_find_widget(d.ui, "toast"));
    ui_toast(d.ui, "Kept", NULL);
    desk_settle(&d);
    assert_null(ui_find_widget(d.ui, "toast.action"));
    assert_true(ui_wake_in_s(d.ui, d.now) > 0); /* it asks for the frame that takes it away */
    assert_true(ui_wake_in_s(d.ui, d.now + 60) <= 0 && ui_wake_in_s(d.ui, d.now + 60) >= 0); /* long due, no frame came */
    d.now += 60;
    desk_settle(&d);
    assert_null(ui_find_widget(d.ui, "toast"));
    /* what is told after a minute without a frame is seen all the same */
    d.now += 60;
    ui_toast(d.ui, "Sheet written", NULL);
    desk_settle(&d);
    assert_non_null(ui_find_widget(d.ui, "toast"));
    ui_destroy(d.ui);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_pair_drawn_reaches_wcag_aa),
        cmocka_unit_test(surfaces_are_neutral),
        cmocka_unit_test(levels_stay_apart_for_colour_blind_eyes),
        cmocka_unit_test(shapes_cover_their_areas),
        cmocka_unit_test(tab_goes_in_the_order_drawn),
        cmocka_unit_test(what_is_typed_ahead_reaches_the_field),
        cmocka_unit_test(a_field_edits_by_whole_characters),
        cmocka_unit_test(words_of_both_directions_are_typed_and_deleted),
        cmocka_unit_test(a_line_from_the_right_is_walked_from_the_right),
        cmocka_unit_test(a_note_from_the_right_is_wrapped_to_the_right),
        cmocka_unit_test(what_is_composed_is_not_typed_yet),
        cmocka_unit_test(typing_is_acknowledged_by_leaving_or_pausing),
        cmocka_unit_test(a_key_of_the_screen_comes_after_what_was_typed),
        cmocka_unit_test(escape_keeps_what_was_typed_as_tab_does),
        cmocka_unit_test(words_are_kept_while_typing_goes_on),
        cmocka_unit_test(letters_in_a_field_are_no_shortcuts),
        cmocka_unit_test(text_is_cut_and_wrapped_at_whole_characters),
        cmocka_unit_test(what_takes_the_focus_is_brought_into_view),
        cmocka_unit_test(escape_keeps_a_line_of_notes),
        cmocka_unit_test(a_full_field_says_so),
        cmocka_unit_test(a_tall_field_wraps_and_goes_by_its_lines),
        cmocka_unit_test(a_tall_field_is_selected_in_by_the_mouse),
        cmocka_unit_test(a_tall_field_from_the_right_is_written_in),
        cmocka_unit_test(what_cannot_be_used_says_so_and_tab_passes_it),
        cmocka_unit_test(space_presses_what_was_clicked),
        cmocka_unit_test(a_closed_dialog_hands_the_focus_back),
        cmocka_unit_test(what_is_dragged_is_let_go_on_a_target),
        cmocka_unit_test(a_splitter_goes_by_mouse_and_keys_and_stops),
        cmocka_unit_test(a_toast_goes_by_itself_or_by_its_button),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
