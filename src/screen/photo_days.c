#include "screen/photo_days.h"

#include <string.h>

#include "base/clock.h"
#include "base/text.h"
#include "screen/commands.h"

static void day_of(const struct logbook_photo *p, char iso[11])
{
    int y, m, d;

    text_format(iso, 11, "%.10s", p->taken);
    if (!clock_parse_date(iso, &y, &m, &d))
        iso[0] = '\0';
}

/* Another visit begins on that day or before it, and behind this one. */
static bool follows(const struct model *m, const char *day)
{
    const char *own = model_visit(m)->date;

    for (size_t i = 0; i < m->n_visits; i++)
        if (strcmp(m->visits[i].date, own) > 0 && strcmp(m->visits[i].date, day) <= 0)
            return true;
    return false;
}

bool photo_is_of_another_day(const struct model *m, const struct logbook_photo *p)
{
    const struct visit *v = model_visit(m);
    char day[11];
    const char *last;

    if (v == NULL || v->date[0] == '\0' || !logbook_photo_waits(p))
        return false;
    day_of(p, day);
    last = v->care.last_day[0] != '\0' ? v->care.last_day : v->date;
    if (day[0] == '\0')
        return false;
    return strcmp(day, v->date) < 0 || (strcmp(day, last) > 0 && (m->closed || follows(m, day)));
}

bool photo_days_ask(const struct model *m, const struct screen_state *st, char *to, size_t n_room)
{
    char first[11] = "", day[11], date[32];
    bool several = false;
    int n = 0;

    (void)st;
    if (!m->can_write || model_visit(m) == NULL || (m->photos_here != NULL && strstr(m->photos_here, m->visit_id) != NULL))
        return false;
    for (size_t i = 0; i < m->n_photos; i++) {
        if (!photo_is_of_another_day(m, &m->photos[i]))
            continue;
        day_of(&m->photos[i], day);
        if (n++ == 0)
            text_copy(first, sizeof first, day);
        several = several || strcmp(first, day) != 0;
    }
    if (n == 0)
        return false;
    clock_date_words(first, date, sizeof date);
    text_format(to, n_room, "%d photo%s %s %s%s: here, or %s of %s own?", n, n == 1 ? "" : "s", n == 1 ? "is of" : "are of", date, several ? " and other days" : "", several ? "visits" : "a visit", n == 1 ? "its" : "their");
    return true;
}

void photo_days_here(const struct model *m, struct actions *out)
{
    if (model_visit(m) != NULL)
        actions_add(out, ACT_PHOTOS_HERE);
}

void photo_days_apart(const struct model *m, const struct screen_state *st, struct actions *out)
{
    char words[160];

    if (photo_days_ask(m, st, words, sizeof words))
        actions_add(out, ACT_PHOTOS_APART);
}

void photo_days_row(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, struct rect *r)
{
    const struct ui_button here = {.key = command_key("photos-here")}, apart = {.look = UI_LOOK_DARK, .key = command_key("photos-apart")};
    struct ui_style style = {.weight = UI_SEMIBOLD, .colour = UI_WATCH_TEXT};
    const float h = ui_target_px(ui) + 16;
    struct rect row;
    char words[160];

    if (!photo_days_ask(m, st, words, sizeof words))
        return;
    row = ui_cut_top(r, h);
    ui_fill(ui, row, UI_WATCH);
    row = ui_inset(row, 18, 8);
    ui_diamond(ui, row.x + 6, row.y + row.h / 2, 12, ui_rgba(UI_WATCH_TEXT));
    ui_cut_left(&row, 22);
    if (ui_button(ui, "days.apart", ui_cut_right(&row, ui_button_width(ui, "Of their own", &apart)), "Of their own", &apart))
        photo_days_apart(m, st, out);
    ui_cut_right(&row, 8);
    if (ui_button(ui, "days.here", ui_cut_right(&row, ui_button_width(ui, "Here", &here)), "Here", &here))
        photo_days_here(m, out);
    ui_cut_right(&row, 8);
    style.max_lines = ui_text_width(ui, words, &style) > row.w ? 2 : 1;
    ui_text(ui, row, words, &style);
    ui_note(ui, "days.words", row, words, "");
}
