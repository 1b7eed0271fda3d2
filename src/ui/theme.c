/* theme.c - every colour of the program, in one table. Surfaces are neutral grey (R = G = B), so that
 * porcelain can be judged by eye against them (the idea of ISO 3664: a neutral surround). Hue only
 * says: act, watch, note, selection, and never alone. tests/ui/test_theme.c checks contrast. */
#include "ui/ui.h"

#define GREY(v) {v, v, v, 255}

static const struct ui_colour_row rows[] = {
    [UI_BAR] = {"bar", GREY(42), true, true},
    [UI_BAR_RAISED] = {"bar-raised", GREY(58), true, true},
    [UI_BAR_FIELD] = {"bar-field", GREY(78), true, true},
    [UI_BAR_TEXT] = {"bar-text", GREY(242), false, true},
    [UI_BAR_QUIET] = {"bar-quiet", GREY(190), false, true},
    [UI_DESK] = {"desk", GREY(138), true, true},
    [UI_DESK_BAND] = {"desk-band", GREY(154), true, true},
    [UI_DESK_DARK] = {"desk-dark", GREY(112), true, true},
    [UI_DESK_TEXT] = {"desk-text", GREY(16), false, true},
    [UI_DESK_QUIET] = {"desk-quiet", GREY(26), false, true},
    [UI_PANEL] = {"panel", GREY(241), true, true},
    [UI_CARD] = {"card", GREY(255), true, true},
    [UI_CARD_DIM] = {"card-dim", GREY(221), true, true},
    [UI_LINE] = {"line", GREY(208), false, true},
    [UI_TEXT] = {"text", GREY(24), false, true},
    [UI_TEXT_SOFT] = {"text-soft", GREY(58), false, true},
    [UI_TEXT_QUIET] = {"text-quiet", GREY(86), false, true},
    [UI_BUTTON_LINE] = {"button-line", GREY(122), false, true},
    [UI_DARK] = {"dark", GREY(26), true, true},
    [UI_DARK_TEXT] = {"dark-text", GREY(255), false, true},
    [UI_ACT] = {"act", {178, 34, 26, 255}, true, false},
    [UI_ACT_TEXT] = {"act-text", GREY(255), false, true},
    [UI_WATCH] = {"watch", {244, 168, 0, 255}, true, false},
    [UI_WATCH_TEXT] = {"watch-text", GREY(20), false, true},
    [UI_WATCH_INK] = {"watch-ink", {133, 77, 0, 255}, false, false},
    [UI_NOTE] = {"note", {78, 94, 112, 255}, true, false},
    [UI_NOTE_TEXT] = {"note-text", GREY(255), false, true},
    [UI_ACT_INK] = {"act-ink", {168, 28, 20, 255}, false, false},
    [UI_SELECT] = {"select", {8, 82, 204, 255}, true, false},
    [UI_SELECT_TEXT] = {"select-text", GREY(255), false, true},
    [UI_TRAY] = {"tray", GREY(104), true, true},
    [UI_TRAY_CARD] = {"tray-card", GREY(74), true, true},
    [UI_SHADE] = {"shade", {0, 0, 0, 110}, false, true},
};
_Static_assert(sizeof rows / sizeof rows[0] == UI_COLOUR_COUNT, "a row for each colour");

const struct ui_colour_row *ui_colour_row(enum ui_colour c)
{
    return &rows[c];
}

struct rgba ui_rgba(enum ui_colour c)
{
    return rows[c].colour;
}
