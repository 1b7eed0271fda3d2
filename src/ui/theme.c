/* theme.c - every colour of the program, in one table. Surfaces are neutral grey (R = G = B), so that
 * porcelain can be judged by eye against them (the idea of ISO 3664: a neutral surround). Hue only
 * says: act, watch, note, selection, and never alone. Marks and focus carry a second, light or dark
 * edge, so that they stand out from bars, desk and cards alike. tests/ui/test_ui.c walks both tables. */
#include <math.h>

#include "ui/ui.h"

#define GREY(v) {v, v, v, 255}

static const struct ui_colour_row rows[] = {
    [UI_BAR] = {"bar", GREY(42), true, true},
    [UI_BAR_RAISED] = {"bar-raised", GREY(58), true, true},
    [UI_BAR_FIELD] = {"bar-field", GREY(78), true, true},
    [UI_BAR_TEXT] = {"bar-text", GREY(242), false, true},
    [UI_BAR_QUIET] = {"bar-quiet", GREY(194), false, true},
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
    [UI_EDGE_LIGHT] = {"edge-light", GREY(255), false, true},
    [UI_EDGE_DARK] = {"edge-dark", GREY(20), false, true},
    [UI_SHADE] = {"shade", {0, 0, 0, 110}, false, true},
};
_Static_assert(sizeof rows / sizeof rows[0] == UI_COLOUR_COUNT, "a row for each colour");

const struct ui_colour_row *ui_colour_row(enum ui_colour c)
{
    return &rows[c];
}

/* Every pair the program draws; the script player's verb `contrast` meets the texts where they stand. */
static const struct ui_pair pairs[] = {
    {UI_BAR_TEXT, UI_BAR, UI_PAIR_TEXT}, {UI_BAR_QUIET, UI_BAR, UI_PAIR_TEXT}, {UI_BAR_TEXT, UI_BAR_RAISED, UI_PAIR_TEXT},
    {UI_BAR_QUIET, UI_BAR_RAISED, UI_PAIR_TEXT}, {UI_BAR_TEXT, UI_BAR_FIELD, UI_PAIR_TEXT}, {UI_BAR_QUIET, UI_BAR_FIELD, UI_PAIR_TEXT},
    {UI_DESK_TEXT, UI_DESK, UI_PAIR_TEXT}, {UI_DESK_QUIET, UI_DESK, UI_PAIR_TEXT}, {UI_DESK_TEXT, UI_DESK_BAND, UI_PAIR_TEXT},
    {UI_TEXT, UI_PANEL, UI_PAIR_TEXT}, {UI_TEXT_SOFT, UI_PANEL, UI_PAIR_TEXT}, {UI_TEXT_QUIET, UI_PANEL, UI_PAIR_TEXT},
    {UI_TEXT, UI_CARD, UI_PAIR_TEXT}, {UI_TEXT_SOFT, UI_CARD, UI_PAIR_TEXT}, {UI_TEXT_QUIET, UI_CARD, UI_PAIR_TEXT},
    {UI_TEXT, UI_CARD_DIM, UI_PAIR_TEXT}, {UI_TEXT_SOFT, UI_CARD_DIM, UI_PAIR_TEXT}, {UI_TEXT_QUIET, UI_CARD_DIM, UI_PAIR_TEXT},
    {UI_DARK_TEXT, UI_DARK, UI_PAIR_TEXT}, {UI_BAR_TEXT, UI_DARK, UI_PAIR_TEXT}, {UI_BAR_QUIET, UI_DARK, UI_PAIR_TEXT},
    {UI_ACT_TEXT, UI_ACT, UI_PAIR_TEXT}, {UI_WATCH_TEXT, UI_WATCH, UI_PAIR_TEXT}, {UI_NOTE_TEXT, UI_NOTE, UI_PAIR_TEXT},
    {UI_SELECT_TEXT, UI_SELECT, UI_PAIR_TEXT}, {UI_ACT_INK, UI_PANEL, UI_PAIR_TEXT}, {UI_ACT_INK, UI_CARD, UI_PAIR_TEXT},
    {UI_ACT_INK, UI_CARD_DIM, UI_PAIR_TEXT}, {UI_WATCH_INK, UI_PANEL, UI_PAIR_TEXT}, {UI_BAR_TEXT, UI_TRAY, UI_PAIR_TEXT},
    {UI_BAR_TEXT, UI_TRAY_CARD, UI_PAIR_TEXT}, {UI_BUTTON_LINE, UI_CARD, UI_PAIR_MARK}, {UI_BUTTON_LINE, UI_PANEL, UI_PAIR_MARK},
    /* a mark against its edge, and the edge against every surface the mark itself does not stand out from */
    {UI_ACT, UI_EDGE_LIGHT, UI_PAIR_MARK}, {UI_NOTE, UI_EDGE_LIGHT, UI_PAIR_MARK}, {UI_WATCH, UI_EDGE_DARK, UI_PAIR_MARK},
    {UI_SELECT, UI_EDGE_LIGHT, UI_PAIR_MARK}, {UI_EDGE_LIGHT, UI_BAR, UI_PAIR_MARK}, {UI_EDGE_LIGHT, UI_BAR_RAISED, UI_PAIR_MARK},
    {UI_EDGE_LIGHT, UI_BAR_FIELD, UI_PAIR_MARK}, {UI_EDGE_LIGHT, UI_DESK, UI_PAIR_MARK}, {UI_EDGE_LIGHT, UI_DESK_DARK, UI_PAIR_MARK},
    {UI_EDGE_LIGHT, UI_TRAY, UI_PAIR_MARK}, {UI_EDGE_LIGHT, UI_TRAY_CARD, UI_PAIR_MARK}, {UI_EDGE_LIGHT, UI_DARK, UI_PAIR_MARK},
    {UI_EDGE_DARK, UI_DESK, UI_PAIR_MARK}, {UI_EDGE_DARK, UI_DESK_BAND, UI_PAIR_MARK}, {UI_EDGE_DARK, UI_PANEL, UI_PAIR_MARK},
    {UI_EDGE_DARK, UI_CARD, UI_PAIR_MARK}, {UI_EDGE_DARK, UI_CARD_DIM, UI_PAIR_MARK}, {UI_SELECT, UI_PANEL, UI_PAIR_MARK},
    {UI_SELECT, UI_CARD, UI_PAIR_MARK}, {UI_SELECT, UI_CARD_DIM, UI_PAIR_MARK}, {UI_ACT, UI_PANEL, UI_PAIR_MARK},
    {UI_ACT, UI_CARD_DIM, UI_PAIR_MARK}, {UI_NOTE, UI_PANEL, UI_PAIR_MARK},
};

const struct ui_pair *ui_pairs(size_t *n)
{
    *n = sizeof pairs / sizeof pairs[0];
    return pairs;
}

static double luminance(struct rgba c)
{
    double v[3] = {c.r / 255.0, c.g / 255.0, c.b / 255.0};

    for (int i = 0; i < 3; i++)
        v[i] = v[i] <= 0.04045 ? v[i] / 12.92 : pow((v[i] + 0.055) / 1.055, 2.4);
    return 0.2126 * v[0] + 0.7152 * v[1] + 0.0722 * v[2];
}

double ui_contrast(struct rgba a, struct rgba b)
{
    double x = luminance(a), y = luminance(b);

    return (fmax(x, y) + 0.05) / (fmin(x, y) + 0.05);
}

struct rgba ui_rgba(enum ui_colour c)
{
    return rows[c].colour;
}
