/* screen_panels.c - what opens over a screen: the signs of one zone, the keys, rules; the visit is panel_visit.c,
 * pressures and a plug's particulars panel_noted.c. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/mem.h"
#include "base/text.h"
#include "reading/compression.h"
#include "screen/commands.h"
#include "screen/panels.h"
#include "screen/refused.h"

struct rect panel_middle(struct ui *ui, float w, float h)
{
    const struct rect s = ui_screen(ui);
    const float bar_px = 54;

    w = fminf(w, s.w - 32);
    h = fminf(h, s.h - bar_px - 12);
    return (struct rect){(s.w - w) / 2, fmaxf(bar_px, (s.h - h) / 2), w, h};
}

struct rect panel_tall(struct ui *ui, float w, float h)
{
    const struct rect s = ui_screen(ui);

    w = fminf(w, s.w - 32);
    h = fminf(h, s.h - 32);
    return (struct rect){(s.w - w) / 2, (s.h - h) / 2, w, h};
}

static const struct ui_style title_style = {.size_px = 18, .weight = UI_SEMIBOLD, .colour = UI_TEXT};
#define CLOSE_PX 110.0f
#define SIDE_PX 24.0f

struct rect panel_beside_title(struct ui *ui, struct rect panel, const char *title)
{
    const float left = SIDE_PX + ui_text_width(ui, title, &title_style) + 16;

    return (struct rect){panel.x + left, panel.y, panel.w - left - CLOSE_PX - SIDE_PX - 16, panel.h};
}

struct rect panel_grown(struct ui *ui, float w, float h, float more)
{
    struct rect r = panel_middle(ui, w, h);

    r.h = fminf(r.h + more, ui_screen(ui).h - 12 - r.y);
    return r;
}

/* st NULL: the panel asks, and its own buttons close it. */
static struct rect begin(struct ui *ui, const char *id, struct rect r, const char *title, struct screen_state *st)
{
    struct rect head;
    struct ui_button leave = {.look = UI_LOOK_QUIET, .key = "Esc"};

    ui_modal_begin(ui, id, r, title);
    ui_round(ui, r, 12, UI_PANEL);
    r = ui_inset(r, SIDE_PX, 18);
    head = ui_cut_top(&r, 40);
    if (st != NULL && ui_button(ui, "panel.close", ui_cut_right(&head, CLOSE_PX), "Close", &leave))
        st->panel = PANEL_NONE;
    ui_text(ui, head, title, &title_style);
    ui_cut_top(&r, 8);
    return r;
}

struct rect panel_begin(struct ui *ui, const char *id, struct rect r, const char *title, struct screen_state *st)
{
    return begin(ui, id, r, title, st);
}

/* ---- signs of one zone: a letter notes, the same again notes more ---- */

/* From zone to zone of the plug, without leaving. */
static void other_zone(struct ui *ui, const struct model *m, struct screen_state *st)
{
    int n;
    const struct zone_key *zones = screen_zone_keys(&n);

    for (int i = 0; i < n; i++)
        if (model_asks_zone(m, model_reading(m, st->cylinder, st->position), zones[i].zone) && ui_key(ui, zones[i].key))
            st->signs_zone = zones[i].zone;
}

static void signs_panel(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out)
{
    static const char *const amounts[] = {"none", "trace", "moderate", "heavy"};
    const struct reading *reading = model_reading(m, st->cylinder, st->position);
    int first = (int)sign_first(st->signs_zone), n = sign_count(st->signs_zone);
    char title[80], label[48], id[64];
    struct rect r;
    bool seen = reading != NULL && reading->zone_seen[st->signs_zone], looked = reading != NULL && reading_zone_looked(reading, st->signs_zone), noted = false;

    engine_plug_label(&m->record->engine, st->cylinder, st->position, label, sizeof label);
    if (st->signs_zone == ZONE_COIL && !engine_may_have_own_coils(&m->record->engine) && m->record->engine.n_cylinders > 1)
        text_copy(title, sizeof title, "Coil (one for all cylinders)");
    else
        text_format(title, sizeof title, "%s of %s", zone_row(st->signs_zone)->label, label);
    r = panel_begin(ui, "panel.signs", panel_middle(ui, 640, 178 + 44 * (float)n), title, st);
    for (int s = first; s < first + n; s++) {
        struct rect row = ui_cut_top(&r, 44);
        const struct sign_row *sr = sign_row((enum sign)s);
        char key[2] = {(char)(sr->key - 'a' + 'A'), '\0'};
        int now = reading != NULL && reading->amount[s] > 0 ? reading->amount[s] : 0;
        float x = row.x + row.w;

        noted = noted || now > 0;
        ui_text(ui, (struct rect){row.x, row.y, 220, 40}, sr->label, &(struct ui_style){.size_px = 14, .weight = now ? UI_SEMIBOLD : UI_REGULAR, .colour = UI_TEXT});
        ui_keycap(ui, row.x + 250, row.y + 20, key, false);
        for (int a = 3; a >= 0; a--) {
            float w = ui_chip_width(ui, amounts[a], NULL);

            x -= w;
            text_format(id, sizeof id, "sign.%s.%s", sr->id, amounts[a]);
            if (ui_chip(ui, id, (struct rect){x, row.y + 2, w, 36}, amounts[a], reading != NULL && reading->amount[s] == a, NULL) && m->can_write)
                actions_note_sign(out, st, s, a);
            x -= 6;
        }
        char lower[2] = {sr->key, '\0'};

        if (m->can_write && ui_key(ui, lower))
            actions_next_sign(out, st, reading, s);
    }
    if (m->can_write && st->signs_zone == ZONE_WELL && ui_key(ui, "y")) /* as plug by plug */
        actions_next_sign(out, st, reading, SIGN_WELL_OIL);
    amount_of_zone(m, st, st->signs_zone);
    amount_keys(ui, m, st, out);
    ui_text(ui, ui_cut_top(&r, 28), "A letter notes its sign; again: more. + and −: more, less of the last one, down to none.", &(struct ui_style){.colour = UI_TEXT_SOFT});
    ui_cut_top(&r, 10);
    {
        struct rect row = ui_cut_top(&r, 40);
        struct ui_button clean = {.key = "X"}, unseen = {.look = UI_LOOK_QUIET}, done = {.look = UI_LOOK_DARK, .key = "Enter"};

        /* with something noted, that it is all there is: nobody said it before */
        clean.look = noted && seen ? UI_LOOK_QUIET : clean.look;
        if (m->can_write && (ui_button(ui, "signs.clean", ui_cut_left(&row, 220), noted ? "Nothing else there" : st->signs_zone == ZONE_WELL ? "Dry and clean" : "Looked at: nothing", &clean) || ui_key(ui, "x"))) {
            struct action *a = actions_see_zone(out, st, st->signs_zone, true);

            a->number = noted;
        }
        ui_cut_left(&row, 10);
        if (m->can_write && looked && ui_button(ui, "signs.unseen", ui_cut_left(&row, 160), "Not looked at", &unseen))
            actions_see_zone(out, st, st->signs_zone, false);
        if (ui_button(ui, "signs.done", ui_cut_right(&row, ui_button_width(ui, "Done", &done)), "Done", &done))
            st->panel = PANEL_NONE;
    }
    if (ui_key(ui, "Enter"))
        st->panel = PANEL_NONE;
    ui_modal_end(ui);
}

/* ---- keys ---- */

enum key_rank { KEYS_OF_THE_SCREEN, KEYS_ALL_OVER, KEYS_ELSEWHERE, KEY_RANKS };

/* What only the screen under the list has, or few others too; what is to be had there as nearly everywhere; the rest. */
static enum key_rank key_rank(const struct command *c, enum command_place here)
{
    if ((c->places & here) == 0)
        return KEYS_ELSEWHERE;
    return __builtin_popcount(c->places & COMMAND_EVERYWHERE) <= 4 ? KEYS_OF_THE_SCREEN : KEYS_ALL_OVER;
}

/* A key in its column; gives the height. places: where it is to be had, NULL goes without saying. */
static float help_line(struct ui *ui, const struct command *c, const char *places, struct rect r)
{
    struct ui_style key = {.weight = UI_SEMIBOLD, .colour = UI_TEXT, .max_lines = 3, .top = true}, what = {.colour = UI_TEXT_SOFT, .max_lines = 12, .top = true};
    struct ui_style where = {.size_px = 11, .colour = UI_TEXT_QUIET, .max_lines = 8, .top = true};
    float w_where = places != NULL ? 98 : 0, w = r.w - 116 - w_where;
    char id[64];

    r.h = fmaxf(20, fmaxf(ui_text_height(ui, w, c->words, &what), ui_text_height(ui, 112, c->shown, &key)));
    if (places != NULL)
        r.h = fmaxf(r.h, ui_text_height(ui, w_where - 12, places, &where) + 2);
    ui_text(ui, (struct rect){r.x, r.y, 112, r.h}, c->shown, &key);
    ui_text(ui, (struct rect){r.x + 116, r.y, w, r.h}, c->words, &what);
    if (places != NULL)
        ui_text(ui, (struct rect){r.x + r.w - w_where + 12, r.y + 2, w_where - 12, r.h - 2}, places, &where);
    text_format(id, sizeof id, "help.%s", c->id);
    ui_note(ui, id, r, c->words, c->shown);
    return r.h + 9;
}

/* The keys of the screen one is on first. */
static void help_panel(struct ui *ui, struct screen_state *st)
{
    static const struct ui_style head = {.size_px = 14, .weight = UI_SEMIBOLD, .colour = UI_TEXT};
    static const char *const heads[KEY_RANKS] = {"", "Nearly everywhere", "On other screens"};
    const enum command_place here = commands_here(st);
    int n;
    const struct command *c = commands(&n);
    struct rect r = panel_begin(ui, "panel.help", panel_middle(ui, 1080, 700), "Keys", st), content;
    int n_columns = r.w > 760 ? 2 : 1;
    float column = (r.w - 40) / (float)n_columns, y, top;
    char name[80];

    content = ui_scroll_begin(ui, "help", r);
    y = content.y;
    commands_places(here, name, sizeof name);
    name[0] = name[0] >= 'a' && name[0] <= 'z' ? (char)(name[0] - 'a' + 'A') : name[0];
    for (int rank = 0; rank < KEY_RANKS; rank++) {
        int n_of = 0, at = 0;
        float below;

        for (int i = 0; i < n; i++)
            n_of += key_rank(&c[i], here) == (enum key_rank)rank;
        if (n_of == 0)
            continue;
        ui_text(ui, (struct rect){content.x, y, content.w, 28}, rank == KEYS_OF_THE_SCREEN ? name : heads[rank], &head);
        top = below = y += 34;
        for (int i = 0; i < n; i++) {
            char places[80];

            if (key_rank(&c[i], here) != (enum key_rank)rank)
                continue;
            if (at == (n_of + n_columns - 1) / n_columns) /* the next column */
                y = top;
            commands_places(c[i].places, places, sizeof places);
            y += help_line(ui, &c[i], rank == KEYS_ELSEWHERE ? places : NULL,
                           (struct rect){content.x + (at >= (n_of + n_columns - 1) / n_columns ? column + 24 : 0), y, column - 4, 0});
            below = fmaxf(below, y);
            at++;
        }
        y = below + 14;
    }
    ui_scroll_end(ui, y - content.y);
    ui_modal_end(ui);
}

/* Names what goes before it goes: "engine", or "visit" of the open engine. */
static void remove_panel(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out)
{
    const bool visit = st->panel == PANEL_REMOVE_VISIT;
    const struct logbook_engine *e = &m->engines[st->engine_row];
    char title[ENGINE_NAME_BYTES + 64], said[400], words[80];
    struct rect r, row;
    struct ui_button yes = {.look = UI_LOOK_DARK, .key = "Enter"}, no = {.key = "Esc"};
    bool taken, left;

    if (visit) {
        model_visit_words(m, (size_t)model_visit_index(m, m->visit_id), words, sizeof words); /* one is shown: see screen_panels() */
        text_format(title, sizeof title, "Take out the visit of %s?", words);
    } else {
        text_format(title, sizeof title, "Take out “%s”?", e->name);
    }
    r = begin(ui, "panel.remove", panel_middle(ui, 560, 230), title, NULL);
    if (visit)
        text_copy(said, sizeof said, "With it go its readings, notes, steps and parts to get. The photos stay as files in the logbook's folder. Undo brings everything back, also tomorrow.");
    else if (e->n_visits > 0)
        text_format(said, sizeof said, "With it go its %d visit%s, with all readings, notes and steps. The photos stay as files in the logbook's folder. Undo brings everything back, also tomorrow.", e->n_visits, e->n_visits == 1 ? "" : "s");
    else
        text_copy(said, sizeof said, "It has no visit yet. Undo brings it back.");
    ui_text(ui, ui_cut_top(&r, 84), said, &(struct ui_style){.size_px = 14, .colour = UI_TEXT, .max_lines = 4, .top = true});
    ui_note(ui, "remove.what", r, "what goes", said);
    row = ui_cut_bottom(&r, 44);
    taken = ui_button(ui, "remove.yes", ui_cut_left(&row, ui_button_width(ui, "Take it out", &yes)), "Take it out", &yes);
    ui_cut_left(&row, 10);
    left = ui_button(ui, "remove.no", ui_cut_left(&row, ui_button_width(ui, "Leave it", &no)), "Leave it", &no);
    taken = taken || (!left && ui_key(ui, "Enter"));
    if (taken)
        text_copy(actions_add(out, visit ? ACT_REMOVE_VISIT : ACT_REMOVE_ENGINE)->id, UUID_BYTES, visit ? m->visit_id : e->id);
    if (taken || left)
        st->panel = PANEL_NONE;
    ui_modal_end(ui);
}

/* Makers differ: each published rule with where it is printed. */
static void rules_panel(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out)
{
    int n;
    const struct compression_rule *rules = compression_rules(&n);
    struct rect r = panel_begin(ui, "panel.rules", panel_middle(ui, 720, 150 + 58 * (float)n), "Compression is judged by", st);
    char id[48], words[sizeof rules[0].words];

    ui_text(ui, ui_cut_top(&r, 30), "Published rules differ. The engine maker's own comes first, where you have it.", &(struct ui_style){.colour = UI_TEXT_SOFT});
    for (int i = 0; i < n; i++) {
        struct rect row = ui_cut_top(&r, 58), line = ui_inset(row, 14, 6);
        bool on = strcmp(rules[i].id, m->compression_rule) == 0;
        struct ui_hit hit;

        text_format(id, sizeof id, "rule.%s", rules[i].id);
        hit = ui_region(ui, id, row, UI_ROLE_TOGGLE, rules[i].words, on ? "on" : "", 8);
        if (on)
            ui_select_line(ui, ui_inset(row, 0, 2), 8, 2);
        text_copy(words, sizeof words, rules[i].words);
        if (words[0] >= 'a' && words[0] <= 'z')
            words[0] = (char)(words[0] - 'a' + 'A');
        ui_text(ui, ui_cut_top(&line, 24), words, &(struct ui_style){.size_px = 14, .weight = UI_SEMIBOLD});
        ui_text(ui, ui_cut_top(&line, 20), rules[i].source, &(struct ui_style){.colour = UI_TEXT_SOFT});
        if (hit.clicked) {
            text_copy(actions_add(out, ACT_SET_RULE)->text, sizeof out->list[0].text, rules[i].id);
            st->panel = PANEL_NONE;
        }
    }
    ui_modal_end(ui);
}

void screen_panels(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out)
{
    if (st->panel == PANEL_NONE)
        return;
    if (refused_escape(ui, st)) {
        if (st->panel == PANEL_TAKE)
            actions_add(out, ACT_TAKE_STOP);
        st->panel = PANEL_NONE;
        return;
    }
    switch (st->panel) {
    case PANEL_SIGNS:
        if (m->record != NULL && st->cylinder >= 0) {
            other_zone(ui, m, st);
            signs_panel(ui, m, st, out);
        } else {
            st->panel = PANEL_NONE;
        }
        break;
    case PANEL_VISIT:
        if (model_visit(m) != NULL)
            panel_visit(ui, m, st, out);
        else
            st->panel = PANEL_NONE;
        break;
    case PANEL_HELP: help_panel(ui, st); break;
    case PANEL_FILES: screen_files(ui, m, st, out); break;
    case PANEL_REMOVE_VISIT:
    case PANEL_REMOVE_ENGINE:
        if (m->can_write && st->engine_row < (int)m->n_engines && (st->panel == PANEL_REMOVE_VISIT ? model_visit(m) != NULL : m->record == NULL))
            remove_panel(ui, m, st, out);
        else
            st->panel = PANEL_NONE;
        break;
    case PANEL_SEARCH: screen_search(ui, m, st, out); break;
    case PANEL_MEASURES:
        if (model_visit(m) != NULL)
            panel_measures(ui, m, st, out);
        else
            st->panel = PANEL_NONE;
        break;
    case PANEL_PLUG:
        if (model_visit(m) != NULL && st->cylinder >= 0)
            panel_plug(ui, m, st, out);
        else
            st->panel = PANEL_NONE;
        break;
    case PANEL_TAKE:
        if (m->take_busy != NULL)
            panel_take_busy(ui, m, st, out);
        else if (m->merge != NULL)
            panel_merge(ui, m, st, out);
        else if (m->take != NULL)
            panel_take(ui, m, st, out);
        else if (m->take_photos != NULL)
            panel_old_photos(ui, m, st, out);
        else
            st->panel = PANEL_NONE;
        break;
    case PANEL_CONFLICTS: panel_conflicts(ui, m, st, out); break;
    case PANEL_RULES: rules_panel(ui, m, st, out); break;
    case PANEL_NONE: break;
    }
}

/* In a window that only reads, what was pressed, typed or clicked and did nothing is answered: nobody shall think that it
 * was noted. */
static void answer_reading_only(struct ui *ui, const struct model *m, const struct screen_state *before, const struct screen_state *st)
{
    const char *key = ui_key_name(ui), *id = ui_clicked(ui);
    const struct ui_widget *w = id != NULL ? ui_find_widget(ui, id) : NULL;
    const bool letter = key != NULL && (strlen(key) == 1 || text_starts(key, "Shift+") || strcmp(key, "Delete") == 0 || strcmp(key, "Ctrl+N") == 0) && !text_ends(key, "Tab");
    const bool pressed = w != NULL && (w->role == UI_ROLE_BUTTON || w->role == UI_ROLE_TOGGLE);
    const bool typed = ui_committed(ui) != 0 && st->panel != PANEL_SEARCH && st->panel != PANEL_FILES && st->screen != SCREEN_REPORT;
    char said[300];

    if (memcmp(before, st, sizeof *st) != 0 || !(letter || pressed || typed))
        return;
    text_format(said, sizeof said, "Nothing was noted. %s", m->why_read_only);
    ui_toast(ui, said, NULL);
}

void screen_all(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out)
{
    struct rect r = ui_screen(ui), spare;
    float name_px = 0;
    struct screen_state *before = NULL;
    const enum panel_id was = st->panel;

    if (!m->can_write && m->record != NULL) {
        before = arena_alloc(ui_arena(ui), 1, sizeof *before);
        memcpy(before, st, sizeof *before);
    }

    ui_set_large_targets(ui, m->large_targets);
    ui_fill(ui, r, UI_DESK);
    if (m->record == NULL)
        st->screen = SCREEN_ENGINES;
    else if (st->screen == SCREEN_ENGINES)
        st->screen = SCREEN_PLAN;
    if (m->record != NULL)
        plan_settle_digits(ui, m, st, out);
    if (commands_keys(ui, m, st, out))
        st->menu = false; /* its own keys stand in it */
    if (st->screen != SCREEN_JOB)
        job_let_go(st);
    if (st->screen != SCREEN_PLAN || st->pulling)
        ui_toast_end(ui, PLAN_TOAST);
    if (st->screen == SCREEN_ENGINES) {
        spare = screen_engines(ui, m, st, out, r);
    } else {
        struct rect bar = ui_cut_top(&r, 52), visits = ui_cut_top(&r, m->large_targets ? 52 : 44);

        if (st->screen == SCREEN_PLAN && !st->menu)
            plan_keys(ui, m, st, out);
        spare = screen_bar(ui, m, st, out, bar, &name_px);
        screen_visits(ui, m, st, out, visits);
        if (st->screen == SCREEN_PLAN || st->screen == SCREEN_JOB)
            screen_ready(ui, m, st, out, ui_cut_top(&r, screen_ready_px(ui, m, st, r.w)));
        if (st->screen == SCREEN_PLAN)
            screen_plan(ui, m, st, out, r);
        else if (st->screen == SCREEN_LINEUP)
            screen_lineup(ui, m, st, out, r);
        else if (st->screen == SCREEN_JOB && model_visit(m) != NULL)
            screen_job(ui, m, st, out, r);
        else if (st->screen == SCREEN_TRENDS)
            screen_trends(ui, m, st, r);
        else if (st->screen == SCREEN_REPORT && model_visit(m) != NULL)
            screen_report(ui, m, st, out, r);
        else
            screen_photos(ui, m, st, out, r);
    }
    screen_panels(ui, m, st, out);
    if (st->panel != was) {
        panel_tell_what_waits(ui, st, was);
        panel_show_what_waits(st);
    }
    if (st->menu)
        commands_menu(ui, m, st, out);
    if (before != NULL && out->n == 0)
        answer_reading_only(ui, m, before, st);
    if (st->panel == PANEL_VISIT) { /* it needs all the height there is: what is said lies in its head */
        const struct rect panel = panel_tall(ui, VISIT_W, VISIT_H);

        if (panel.y < spare.y + 50) {
            spare.x = panel_beside_title(ui, panel, VISIT_TITLE).x;
            spare.w = panel_beside_title(ui, panel, VISIT_TITLE).w;
            name_px = 0;
        }
    }
    /* beside the name of what is open, over it where it is long: what is needed next stands everywhere else */
    if (ui_toasts(ui, (struct rect){spare.x, spare.y + 2, spare.w, 48}, name_px))
        actions_add(out, ACT_UNDO);
}
