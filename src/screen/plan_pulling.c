/* plan_pulling.c - the dirty-hands state: one plug at a time in the order they are drawn, four huge
 * targets, and few keys: the deposit's letter, W for oil in the well, the gap in figures, Enter. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/text.h"
#include "screen/model.h"
#include "screen/photo_days.h"

static void well_words(const struct reading *r, char *to, size_t n_room)
{
    if (r == NULL || !reading_zone_looked(r, ZONE_WELL))
        text_copy(to, n_room, "not looked at");
    else if (r->amount[SIGN_WELL_OIL] > 0)
        text_format(to, n_room, "oil, %s", amount_words(r->amount[SIGN_WELL_OIL]));
    else if (r->amount[SIGN_WELL_WATER] > 0)
        text_copy(to, n_room, "water");
    else
        text_copy(to, n_room, r->zone_seen[ZONE_WELL] ? "dry" : "looked at in part");
}

/* Title and value of one of the four. */
static void draw_target(struct ui *ui, struct rect r, const char *title, const char *value, bool done, bool title_only)
{
    struct ui_style big = {.size_px = 26, .weight = UI_SEMIBOLD, .colour = done ? UI_DARK_TEXT : UI_TEXT}, small = {.size_px = 14, .colour = done ? UI_BAR_TEXT : UI_TEXT_SOFT};

    ui_round(ui, r, 12, done ? UI_DARK : UI_PANEL);
    ui_text(ui, (struct rect){r.x + 22, r.y + 18, r.w - 84, 22}, title, &small); /* the key stands at its end */
    if (!title_only)
        ui_text(ui, (struct rect){r.x + 22, r.y + 42, r.w - 44, 40}, value, &big);
}

/* One that is pressed as a whole. */
static bool target(struct ui *ui, const char *id, struct rect r, const char *title, const char *value, const char *key, bool done, bool title_only)
{
    struct ui_hit hit = ui_region(ui, id, r, UI_ROLE_BUTTON, title, value, 12);

    draw_target(ui, r, title, value, done, title_only);
    if (hit.hover)
        ui_round_line(ui, r, 12, 3, UI_SELECT);
    ui_keycap(ui, r.x + r.w - 18, r.y + 28, key, done);
    return hit.clicked;
}

void plan_no_wells(const struct model *m, struct actions *out)
{
    if (m->record->engine.access == ENGINE_ACCESS_UNKNOWN)
        actions_add(out, ACT_NO_WELLS);
}

#define HUGE_CHIP_PX 48.0f

/* Whether the sign noted last, which less takes back, is one of this zone. */
static bool noted_in(const struct screen_state *st, enum zone zone)
{
    return st->noted_sign > 0 && sign_row((enum sign)(st->noted_sign - 1))->zone == zone;
}

/* Not one target but two: a press on the whole would note oil nobody saw. Where the engine's card does not say how the plugs sit, it can be said here: nobody is asked again for wells that are
 * not there. */
static void well_target(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, const struct reading *reading, struct rect cell)
{
    struct ui_button none = {.key = "Shift+X"};
    const bool looked = reading != NULL && reading_zone_looked(reading, ZONE_WELL), oil = looked && reading->amount[SIGN_WELL_OIL] > 0;
    const bool dry = looked && !oil && reading->zone_seen[ZONE_WELL] && reading->amount[SIGN_WELL_WATER] <= 0;
    const bool asks_access = m->record->engine.access == ENGINE_ACCESS_UNKNOWN && !looked && m->can_write;
    /* as tall as the cell has room for, so that a red bar above does not make them small */
    const bool low = cell.h < 88 + 2 * ui_target_px(ui) + 28;
    const char *const none_label = low ? "No wells" : "Plugs stand in the open: no wells";
    const float none_w = ui_button_width(ui, none_label, &none);
    const float room = cell.h - 88 - 10 - (asks_access && !low ? ui_target_px(ui) + 18 : 0), chip_px = fmaxf(ui_target_px(ui), fminf(room, HUGE_CHIP_PX + 16));
    const float least = chip_px >= HUGE_CHIP_PX ? 200 : 140, top = fminf(88, cell.h - chip_px - 6);
    struct ui_flow flow = ui_flow_begin((struct rect){cell.x + 22, cell.y + top, cell.w - 44, 0}, chip_px);
    const bool crowded = top < 82; /* the chips would cover the value: it stands in the title's place then */
    char value[80], short_title[96];

    well_words(reading, value, sizeof value);
    text_format(short_title, sizeof short_title, "Well: %s", value);
    draw_target(ui, cell, crowded ? short_title : "Well first: dry, or oil, again more", value, false, crowded);
    ui_note(ui, "pulling.well", cell, "Well first", value);
    if (ui_chip(ui, "pulling.dry", ui_flow_next(&flow, fmaxf(least, ui_chip_width(ui, "dry", "X"))), "dry", dry, "X") && m->can_write)
        actions_see_zone(out, st, ZONE_WELL, true);
    if (ui_chip(ui, "pulling.oil", ui_flow_next(&flow, fmaxf(least, ui_chip_width(ui, "oil", "Y"))), "oil", oil, "Y") && m->can_write)
        actions_next_sign(out, st, reading, SIGN_WELL_OIL);
    if (noted_in(st, ZONE_WELL))
        amount_less_chip(ui, m, st, out, &flow);
    if (asks_access && ui_button(ui, "pulling.no-wells",
                                 low ? (struct rect){cell.x + cell.w - 22 - none_w, cell.y + 40, none_w, ui_target_px(ui)}
                                     : (struct rect){cell.x + 22, cell.y + cell.h - ui_target_px(ui) - 10, none_w, ui_target_px(ui)},
                                 none_label, &none))
        plan_no_wells(m, out);
}

/* Where no times tell the plug: the photo that came in by itself last, for the plug in hand, "pull, photograph, next"; where that
 * has one already, only what came in just now. Of several that came in together the first, for a plug that has none: they were
 * taken in the order the plugs came out, if in any. Those of another day come behind, while it is asked where they belong. NULL
 * none. */
static const struct logbook_photo *offered_here(const struct model *m, const struct screen_state *st)
{
    const struct logbook_photo *first = NULL, *last = NULL, *elsewhere = NULL;
    char asked[160];
    const bool days = photo_days_ask(m, st, asked, sizeof asked);

    for (size_t i = 0; i < m->n_photos && model_waiting(m).n_proposed == 0; i++) {
        const struct logbook_photo *p = &m->photos[i];

        if (!logbook_photo_waits(p) || !photo_ready(p))
            continue;
        if (strcmp(p->id, st->newest) == 0 && st->newest_with == 1)
            return p;
        if (days && photo_is_of_another_day(m, p)) {
            elsewhere = elsewhere == NULL ? p : elsewhere;
            continue;
        }
        first = first == NULL ? p : first;
        last = p;
    }
    if (model_bore_photo(m, st->cylinder, st->position) != NULL)
        return NULL;
    if (first == NULL)
        return elsewhere;
    return st->newest_with > 1 || st->newest[0] == '\0' ? first : last;
}

bool pulling_offers(const struct model *m, const struct screen_state *st)
{
    return m->can_write && offered_here(m, st) != NULL;
}

void pulling_place(const struct model *m, const struct screen_state *st, int zone, struct actions *out)
{
    struct action *a = actions_add(out, ACT_PLACE_PHOTO);

    text_copy(a->id, sizeof a->id, offered_here(m, st)->id);
    a->cylinder = st->cylinder;
    a->position = st->position;
    a->zone = zone;
    a->flag = true;
}

bool pulling_accept(const struct model *m, const struct screen_state *st, struct actions *out)
{
    if (!m->can_write || (!pulling_offers(m, st) && model_waiting(m).n_proposed == 0))
        return false;
    if (pulling_offers(m, st)) /* it was asked for the firing end; one more of a plug that has it is another view */
        pulling_place(m, st, model_bore_photo(m, st->cylinder, st->position) == NULL ? ZONE_FIRING_END : -1, out);
    else
        actions_add(out, ACT_ACCEPT_PROPOSAL);
    return true;
}

/* What else the photo offered may show, where there is room for it; F9 says it too. */
static void shows_hint(struct ui *ui, const struct model *m, struct rect r, float below)
{
    static const struct ui_style style = {.colour = UI_TEXT_SOFT, .max_lines = 4, .top = true};
    char words[120];

    text_format(words, sizeof words, "Or it shows, with Shift: W the well, T threads, B body, O boot, C coil, %sN connector.", engine_may_have_leads(&m->record->engine) ? "L lead, " : "");
    r.h = ui_text_height(ui, r.w, words, &style);
    if (r.y + r.h > below)
        return;
    ui_text(ui, r, words, &style);
    ui_note(ui, "pulling.shows", r, "what the photo shows", words);
}

/* The plug's photo, or the one that is proposed or offered for it among those that came in; Ctrl+Enter puts them where
 * they are proposed, the one offered on this plug. */
static void photo_target(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, struct plug_place at, struct rect cell)
{
    const struct logbook_photo *taken = model_bore_photo(m, at.cylinder, at.position);
    const struct logbook_photo *here = offered_here(m, st), *other = here != NULL ? here : model_proposed_photo(m, at.cylinder, at.position);
    const struct logbook_photo *shown = taken != NULL && here == NULL ? taken : other;
    const struct photos_waiting waiting = model_waiting(m);
    struct ui_button accept = {.look = UI_LOOK_DARK, .key = "Ctrl+Enter"};
    struct ui_style soft = {.size_px = 14, .colour = taken != NULL ? UI_BAR_TEXT : UI_TEXT_SOFT, .max_lines = 3, .top = true};
    /* as tall as there is room for under it, where the offer says what else it may show */
    const float tall = fmaxf(ui_target_px(ui), fminf(HUGE_CHIP_PX, cell.h - 124 - (here != NULL ? 54 : 10)));
    const bool low = here != NULL && m->can_write && cell.h - fminf(124, cell.h - tall - 10) - tall < 80;
    const float button_y = fminf(low ? 92 : 124, cell.h - tall - 10);
    char line[200], label[48], heading[40];
    float w;

    if (here != NULL && taken != NULL)
        text_copy(heading, sizeof heading, "taken; one more of it?");
    else if (low && waiting.n > 1) /* the line that says so has no room */
        text_format(heading, sizeof heading, "is it this one, of %d?", waiting.n);
    else
        text_copy(heading, sizeof heading, taken != NULL ? "taken" : shown != NULL ? "is it this one?" : "none yet");
    if (target(ui, "pulling.photo", cell, "Photo of the firing end", heading, "F6", taken != NULL, false))
        screen_files_open(st, FILES_PHOTOS);
    if (shown != NULL && shown->height > 0 && shown->trouble[0] == '\0')
        photo_draw(ui, shown, (struct rect){cell.x + cell.w * 0.55f, cell.y + 48, cell.w * 0.45f - 20, cell.h - 68});
    if (waiting.n == 0)
        return;
    text_format(line, sizeof line, "%d photo%s to place", waiting.n, waiting.n == 1 ? "" : "s");
    if (low) /* what else it may show is worth more than how many wait */
        line[0] = '\0';
    else if (here != NULL && photo_days_ask(m, st, line, sizeof line) && !photo_is_of_another_day(m, here) && strcmp(here->id, st->newest) != 0)
        text_format(line, sizeof line, "%d photos to place; this one is the first of this visit's day", waiting.n);
    else if (here != NULL)
        text_format(line, sizeof line, waiting.n == 1 ? "%d photo to place" : strcmp(here->id, st->newest) == 0 ? "%d photos to place; this one came last" : "%d photos to place; this one is the first of them", waiting.n);
    else if (waiting.n_proposed == 0)
        text_format(line, sizeof line, "%d photo%s to place on the plan: %s", waiting.n, waiting.n == 1 ? "" : "s", m->proposal_why[0] ? m->proposal_why : "drag onto a cylinder");
    if (cell.h < 150) /* a small window: what fits */
        soft.max_lines = (int)fmaxf(1, (cell.h - 96) / 18);
    if (button_y >= 112 || (waiting.n_proposed == 0 && here == NULL)) /* not where the button lies over it */
        ui_text(ui, (struct rect){cell.x + 22, cell.y + 92, (shown != NULL ? cell.w * 0.55f : cell.w) - 44, 60}, line, &soft);
    if (waiting.n_proposed == 0 && here == NULL)
        return;
    engine_plug_label(&m->record->engine, at.cylinder, at.position, label, sizeof label);
    if (here != NULL)
        text_format(line, sizeof line, "Yes: plug %s", label);
    else
        text_format(line, sizeof line, "Accept %d", waiting.n_proposed);
    w = ui_button_width(ui, line, &accept);
    if (m->can_write && ui_button(ui, "tray.accept", (struct rect){cell.x + 22, cell.y + button_y, w, tall}, line, &accept))
        (void)pulling_accept(m, st, out);
    if (here != NULL && m->can_write)
        shows_hint(ui, m, (struct rect){cell.x + 22, cell.y + button_y + tall + 8, cell.w * 0.55f - 44, 0}, cell.y + cell.h - 8);
}

/* ---- the firing end: a chip for each sign, all of them in view or scrolled to ---- */

#define SIGNS_TOP_PX 84.0f
#define SIGNS_SHORT_PX 46.0f /* in a low window the chips alone say what is noted */

static void sign_label(const struct reading *reading, int s, char *to, size_t n_room)
{
    const int amount = reading != NULL && s != SIGN_NORMAL ? reading->amount[s] : 0;

    text_format(to, n_room, "%s%s%s", sign_row((enum sign)s)->label, amount > 0 ? " · " : "", amount > 0 ? amount_words(amount) : "");
}

/* Lays the chips into the flow; draws them when there is somebody to tell what was pressed. -1: none was. */
static int sign_chips(struct ui *ui, const struct reading *reading, struct ui_flow *flow, bool draw)
{
    int pressed = -1;

    for (int s = (int)sign_first(ZONE_FIRING_END); s < (int)sign_first(ZONE_FIRING_END) + sign_count(ZONE_FIRING_END); s++) {
        char key[2] = {(char)(sign_row((enum sign)s)->key - 'a' + 'A'), '\0'}, id[48], label[80];
        struct rect chip;

        sign_label(reading, s, label, sizeof label);
        chip = ui_flow_next(flow, ui_chip_width(ui, label, key));
        text_format(id, sizeof id, "sign.%s", sign_row((enum sign)s)->id);
        if (draw && ui_chip(ui, id, chip, label, reading != NULL && reading->amount[s] > 0, key))
            pressed = s;
    }
    return pressed;
}

static float signs_height(struct ui *ui, const struct model *m, struct screen_state *st, const struct reading *reading, float width, float chip_px)
{
    struct ui_flow flow = ui_flow_begin((struct rect){0, 0, width, 0}, chip_px);

    (void)sign_chips(ui, reading, &flow, false);
    if (!noted_in(st, ZONE_WELL))
        amount_less_chip(ui, m, st, NULL, &flow);
    return ui_flow_height(&flow);
}

static void signs_target(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, struct rect cell, const struct reading *reading, float chip_px, float signs_top)
{
    const int main = reading != NULL ? reading_main_deposit(reading) : -1;
    struct rect view = {cell.x + 22, cell.y + signs_top, cell.w - 32, cell.h - signs_top - 8}, content;
    char value[80] = "not noted", which[240];
    const bool asks = reading != NULL && reading_contradicts(reading, which, sizeof which); /* in view, however low the window */
    struct ui_flow flow;
    int pressed, n_more = 0;

    for (int s = (int)sign_first(ZONE_FIRING_END); main >= 0 && s < (int)sign_first(ZONE_FIRING_END) + sign_count(ZONE_FIRING_END); s++)
        n_more += s != main && reading->amount[s] > 0;
    if (main >= 0)
        sign_label(reading, main, value, sizeof value);
    if (n_more > 0)
        text_format(value + strlen(value), sizeof value - strlen(value), ", %d more", n_more);
    if (target(ui, "pulling.deposit", cell, asks ? which : "Firing end: a letter notes it, again more; − less", value, "N", false, signs_top < SIGNS_TOP_PX) && m->can_write && main < 0)
        (void)actions_note_sign(out, st, SIGN_NORMAL, 2);
    content = ui_scroll_begin(ui, "pulling.signs", view);
    flow = ui_flow_begin((struct rect){content.x, content.y, view.w - 12, 0}, chip_px);
    pressed = sign_chips(ui, reading, &flow, true);
    if (!noted_in(st, ZONE_WELL))
        amount_less_chip(ui, m, st, out, &flow);
    ui_scroll_end(ui, ui_flow_height(&flow));
    if (pressed >= 0 && m->can_write)
        actions_next_sign(out, st, reading, pressed);
}

void plan_pulling(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, struct rect r)
{
    const struct engine *en = &m->record->engine;
    int n = model_order_count(m), c, p;
    const struct reading *reading;
    char label[48], line[200], plugs[400];
    struct ui_style huge = {.size_px = 26, .weight = UI_BOLD, .colour = UI_DESK_TEXT}, soft = {.size_px = 14, .colour = UI_DESK_QUIET};
    struct ui_button leave = {.key = "Esc"}, next = {.look = UI_LOOK_DARK, .key = "Enter", .size_px = 18};
    struct rect bar, cells, cell, low, gap_cell;
    float w, h, chip_px, signs_top;
    int n_done = 0;

    if (n == 0)
        return;
    pulling_go(m, st, st->pull_at); /* the order may have changed */
    c = st->cylinder, p = st->position;
    reading = model_reading(m, c, p);
    for (int i = 0; i < n; i++)
        n_done += pulling_finished(m, model_order_at(m, i));
    ui_fill(ui, r, UI_DESK);
    r = ui_inset(r, 28, 20);
    if (r.y - ui_screen(ui).y > 150) { /* under the room of the reasons not to start */
        r.y -= 12;
        r.h += 12;
    }
    bar = ui_cut_top(&r, 50);
    engine_plug_label(en, c, p, label, sizeof label);
    text_format(line, sizeof line, "Now plug %s", label);
    w = ui_text_width(ui, line, &huge) + 18;
    ui_text(ui, (struct rect){bar.x, bar.y, w, 44}, line, &huge);
    ui_note(ui, "pulling.now", bar, "now plug", label);
    {
        struct rect b = ui_cut_right(&bar, ui_button_width(ui, "Back to the plan", &leave));

        b.h = 40;
        if (ui_button(ui, "pulling.leave", b, "Back to the plan", &leave))
            st->pulling = false;
    }
    ui_cut_left(&bar, w);
    text_format(line, sizeof line, "%d of %d %s · %d finished%s", st->pull_at + 1, n, n == 1 ? "plug" : model_visit(m)->n_removal == 0 ? "as they stand: no order is drawn" : model_visit(m)->n_removal < n ? "in the order drawn, then the rest" : "in the order drawn", n_done,
                st->pull_at + 1 < n && m->visit_id[0] && model_visit(m)->socket == words_find(WORDS_SOCKET, "shared") ? " · wipe the socket before the next one" : "");
    ui_text(ui, (struct rect){bar.x, bar.y, bar.w - 16, 44}, line, &soft);
    ui_note(ui, "pulling.at", bar, "where we are", line);
    /* the row of plugs, where we are */
    struct rect dots = ui_cut_bottom(&r, 64);

    w = fminf(en->n_positions > 1 ? 96 : 64, (dots.w - 330) / (float)n); /* the button onward stands to the right */
    for (int i = 0; i < n; i++) {
        struct plug_place at = model_order_at(m, i);
        char id[32];
        struct rect d = {dots.x + (float)i * w, dots.y + 12, w - (w > 44 ? 6 : 3), 44};
        bool here = i == st->pull_at, done = pulling_finished(m, at);

        engine_plug_label(en, at.cylinder, at.position, label, sizeof label);
        snprintf(id, sizeof id, "pulling.plug.%d", i);
        struct ui_hit hit = ui_region(ui, id, d, UI_ROLE_TAB, label, here ? "on" : done ? "done" : "", 8);

        ui_round(ui, d, 8, here ? UI_SELECT : done ? UI_DARK : UI_DESK_BAND);
        if (here)
            ui_select_line(ui, d, 8, 2);
        struct ui_style in_dot = {.size_px = w > 44 ? 14 : 11, .weight = UI_BOLD, .colour = here ? UI_SELECT_TEXT : done ? UI_DARK_TEXT : UI_DESK_TEXT, .align = UI_CENTRE};

        model_plug_short(ui, en, at.cylinder, at.position, d.w - 4, &in_dot, label, sizeof label);
        ui_text(ui, d, label, &in_dot);
        if (hit.clicked)
            pulling_go(m, st, i);
    }
    if (st->pull_at + 1 < n) {
        struct plug_place at = model_order_at(m, st->pull_at + 1);

        engine_plug_label(en, at.cylinder, at.position, label, sizeof label);
        text_format(line, sizeof line, "Next: plug %s", label);
    } else {
        const int n_left = pulling_unread(m, plugs, sizeof plugs);

        if (n_left > 0)
            text_format(line, sizeof line, "Finish: %d plug%s not read", n_left, n_left == 1 ? "" : "s");
        else
            text_copy(line, sizeof line, "Finish: back to the plan");
    }
    w = ui_button_width(ui, line, &next) + 40;
    if (ui_button(ui, "pulling.next", (struct rect){dots.x + dots.w - w, dots.y + 6, w, 56}, line, &next))
        pulling_step(m, st);
    /* four huge targets; the signs of the firing end get what they need */
    cells = r;
    signs_top = cells.h < 340 ? SIGNS_SHORT_PX : SIGNS_TOP_PX;
    w = (cells.w - 16) / 2;
    {
        const float gap_w = fmaxf(340, cells.w * 0.3f), signs_w = cells.w - 16 - gap_w;
        const float around = signs_top + 16, usual = (cells.h - 24) / 2;

        /* large ones for gloved hands where there is room */
        for (chip_px = HUGE_CHIP_PX; chip_px > ui_target_px(ui) && around + signs_height(ui, m, st, reading, signs_w - 44, chip_px) > usual;)
            chip_px -= 2;
        chip_px = fmaxf(chip_px, ui_target_px(ui));
        h = fminf(fmaxf(usual, around + signs_height(ui, m, st, reading, signs_w - 44, chip_px)), cells.h - 16 - (signs_top < SIGNS_TOP_PX ? 118 : 128));
        low = ui_cut_bottom(&cells, h);
        ui_cut_bottom(&cells, 16);
        gap_cell = ui_cut_right(&low, gap_w);
        ui_cut_right(&low, 16);
    }
    h = cells.h;
    if (model_asks_well(m, reading)) {
        well_target(ui, m, st, out, reading, (struct rect){cells.x, cells.y, w, h});
        photo_target(ui, m, st, out, (struct plug_place){c, p}, (struct rect){cells.x + w + 16, cells.y, w, h});
    } else {
        photo_target(ui, m, st, out, (struct plug_place){c, p}, cells);
    }
    signs_target(ui, m, st, out, low, reading, chip_px, signs_top);
    {
        struct ui_style t = {.size_px = 14, .colour = UI_TEXT_SOFT};

        cell = gap_cell;
        ui_round(ui, cell, 12, UI_PANEL);
        ui_text(ui, (struct rect){cell.x + 22, cell.y + 18, cell.w - 44, 22}, m->inches ? "Gap as found, inch" : "Gap as found, mm: just type the figure", &t);
        /* the figure is the last thing on a plug: onward, unless it was refused */
        if (gap_field(ui, m, st, out, (struct rect){cell.x + 22, cell.y + cell.h / 2 - 26, fminf(cell.w - 44, 260), 56}))
            pulling_step(m, st);
        gap_refused(ui, st, (struct rect){cell.x + 22, cell.y + cell.h / 2 + 38, cell.w - 44, 60}, true);
    }
}
