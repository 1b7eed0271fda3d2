/* screen_plan.c - the working screen, and its keys. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/text.h"
#include "screen/model.h"
#include "screen/photo_days.h"
#include "screen/refused.h"

static void pick(const struct model *m, struct screen_state *st, struct actions *out, int c)
{
    const struct engine *en = &m->record->engine;

    if (st->editing_order) {
        plan_order_number(m, st, c);
        return;
    }
    if (st->photo >= 0 && st->photo < (int)m->n_photos && m->photos[st->photo].cylinder < 0 && st->screen == SCREEN_PLAN) {
        /* a photo of the tray is selected: the number places it, and the next one is taken up */
        struct action *a = actions_add(out, ACT_PLACE_PHOTO);

        text_copy(a->id, sizeof a->id, m->photos[st->photo].id);
        a->cylinder = c;
        a->zone = tray_shows(m, st);
        for (int p = 0; p < en->n_positions && model_bore_photo(m, c, a->position) != NULL; p++)
            a->position = p; /* of its plugs the first that shows none */
        tray_next(m, st);
        return;
    }
    st->newest[0] = '\0'; /* what came in last is no longer what is looked at */
    if (st->cylinder == c && en->n_positions > 1 && !st->by_default)
        st->position = (st->position + 1) % en->n_positions; /* the same number again: its other plug */
    else
        st->position = 0;
    st->cylinder = c;
    st->by_default = false;
}

static char lower(char c)
{
    return c >= 'A' && c <= 'Z' ? (char)(c - 'A' + 'a') : c;
}

static bool begins(const char *label, const char *typed)
{
    while (*typed != '\0')
        if (lower(*label++) != lower(*typed++))
            return false;
    return true;
}

/* The figures of a label: "1A" and "A1" are both reached by "1". */
static const char *figures(const char *label)
{
    while (*label != '\0' && (*label < '0' || *label > '9'))
        label++;
    return label;
}

static bool has_number(const char *label, const char *typed)
{
    const char *f = figures(label);
    size_t n = strlen(typed);

    return n > 0 && strncmp(f, typed, n) == 0 && (f[n] < '0' || f[n] > '9');
}

/* Whether typing on could still name another cylinder. */
static bool may_go_on(const struct engine *en, const char *typed)
{
    for (int c = 0; c < en->n_cylinders; c++) {
        const char *label = en->cylinders[c].label, *f = figures(label);

        if ((begins(label, typed) && label[strlen(typed)] != '\0') || (begins(f, typed) && f[strlen(typed)] != '\0'))
            return true;
    }
    return false;
}

/* The cylinder of this name; else the next one that bears this number, so that "1" again goes from
 * 1A to 1B. */
static int named(const struct engine *en, const char *typed, int from)
{
    for (int c = 0; c < en->n_cylinders; c++)
        if (begins(en->cylinders[c].label, typed) && en->cylinders[c].label[strlen(typed)] == '\0')
            return c;
    for (int i = 1; i <= en->n_cylinders; i++) {
        int c = ((from < 0 ? -1 : from) + i + en->n_cylinders) % en->n_cylinders;

        if (has_number(en->cylinders[c].label, typed))
            return c;
    }
    return -1;
}

static void take_digits(const struct model *m, struct screen_state *st, struct actions *out)
{
    const bool job = st->screen == SCREEN_JOB;
    int found = named(&m->record->engine, st->digits, job ? job_hole(m, st) : st->cylinder);

    st->digits[0] = '\0';
    if (found >= 0 && job)
        job_pick_hole(m, st, found);
    else if (found >= 0)
        pick(m, st, out, found);
}

static bool is_figure(const char *key)
{
    return key != NULL && key[0] >= '0' && key[0] <= '9' && key[1] == '\0';
}

static bool is_letter(const char *key)
{
    return key != NULL && key[0] >= 'a' && key[0] <= 'z' && key[1] == '\0';
}

void plan_settle_digits(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out)
{
    const char *key = ui_key_name(ui);

    if (st->digits[0] == '\0')
        return;
    if (ui_now_s(ui) > st->digits_until_s || ui_pressed(ui) || (key != NULL && !is_figure(key) && !is_letter(key)))
        take_digits(m, st, out);
    else /* asked anew in each frame: one drawn meanwhile forgets it */
        ui_wake_at_s(ui, st->digits_until_s + 0.01);
}

/* Figures pick a cylinder: at once where no longer name begins so, else after a short pause or with
 * the next key (plan_settle_digits). A letter that completes a name ("1A") belongs to it and notes no deposit; any other
 * key works on the cylinder just named, never on the one before. */
void plan_digits(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out)
{
    const struct engine *en = &m->record->engine;
    const char *key = ui_key_name(ui);
    char wanted[sizeof st->digits];

    if (!is_figure(key) && (!is_letter(key) || st->digits[0] == '\0'))
        return;
    if (!text_format(wanted, sizeof wanted, "%s%s", st->digits, key) || (named(en, wanted, -1) < 0 && !may_go_on(en, wanted))) {
        if (st->digits[0])
            take_digits(m, st, out);
        if (is_letter(key))
            return; /* a deposit on the cylinder just named */
        text_copy(wanted, sizeof wanted, key);
    }
    ui_key_take(ui);
    text_copy(st->digits, sizeof st->digits, wanted);
    if (!may_go_on(en, wanted)) {
        take_digits(m, st, out);
        return;
    }
    st->digits_until_s = ui_now_s(ui) + 0.7; /* "1" may become "12" or "1A" */
    ui_wake_at_s(ui, st->digits_until_s + 0.01);
}

static void letters(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out)
{
    const char *key = ui_key_name(ui);

    if (!is_letter(key) || st->cylinder < 0 || !m->can_write)
        return;
    for (int s = 0; s < SIGN_COUNT; s++)
        if (sign_row((enum sign)s)->zone == ZONE_FIRING_END && sign_row((enum sign)s)->key == key[0]) {
            ui_key_take(ui);
            actions_next_sign(out, st, model_reading(m, st->cylinder, st->position), s);
            return;
        }
}

static void no_photo_of(struct ui *ui, const struct model *m, const struct screen_state *st)
{
    char label[48], line[120];

    engine_plug_label(&m->record->engine, st->cylinder, st->position, label, sizeof label);
    text_format(line, sizeof line, "No photo of plug %s yet: drop one, or press F6.", label);
    ui_toast(ui, line, NULL);
}

void plan_keys(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out)
{
    int n_zones;
    const struct zone_key *zones = screen_zone_keys(&n_zones);
    const char *key = ui_key_name(ui);
    int shows;

    if (st->panel != PANEL_NONE || m->record == NULL || model_visit(m) == NULL)
        return;
    if (st->pulling && refused_escape(ui, st))
        st->pulling = false;
    if (ui_typing(ui))
        return;
    if (st->pulling) {
        const bool asks_well = model_asks_well(m, model_reading(m, st->cylinder, st->position));

        if (ui_key(ui, "Enter")) {
            pulling_step(m, st);
        } else if (ui_key(ui, "Ctrl+Enter")) {
            (void)pulling_accept(m, st, out);
        } else if (pulling_offers(m, st) && (shows = screen_zone_pressed(ui, m)) >= 0) {
            pulling_place(m, st, shows, out);
        } else if (ui_key(ui, ",")) {
            pulling_go(m, st, st->pull_at - 1);
        } else if (asks_well && ui_key(ui, "y") && m->can_write) {
            actions_next_sign(out, st, model_reading(m, st->cylinder, st->position), SIGN_WELL_OIL);
        } else if (asks_well && ui_key(ui, "x") && m->can_write) {
            actions_see_zone(out, st, ZONE_WELL, true);
        } else if (asks_well && ui_key(ui, "Shift+X") && m->can_write) {
            plan_no_wells(m, out);
        } else if (is_figure(key) || (key != NULL && strcmp(key, ".") == 0)) { /* .043 */
            ui_focus(ui, "gap.found"); /* a figure is a gap here; its text event follows and is typed in */
            ui_key_take(ui);
        } else {
            amount_keys(ui, m, st, out);
            letters(ui, m, st, out);
        }
        return;
    }
    plan_digits(ui, m, st, out);
    if (st->editing_order) {
        (void)plan_order_keys(ui, m, st, out);
        return;
    }
    if (tray_shows(m, st) > -2 && m->can_write && (shows = screen_zone_pressed(ui, m)) >= 0) { /* of the photo taken up */
        text_copy(st->shows_of, sizeof st->shows_of, m->photos[st->photo].id);
        st->shows = shows;
        return;
    }
    for (int i = 0; i < n_zones; i++)
        if (st->cylinder >= 0 && model_asks_zone(m, model_reading(m, st->cylinder, st->position), zones[i].zone) && ui_key(ui, zones[i].key)) {
            st->panel = PANEL_SIGNS;
            st->signs_zone = zones[i].zone;
            return;
        }
    if (ui_key(ui, "Escape")) {
        if (st->photo >= 0)
            st->photo = -1;
        else if (st->found >= 0)
            st->found = -1;
        else if (st->pulled) /* pressed to leave plug by plug, which was left by the last plug */
            ui_toast(ui, PLAN_TOAST, NULL);
        else
            actions_add(out, ACT_CLOSE_ENGINE);
        st->pulled = false;
    } else if (key != NULL) {
        st->pulled = false;
    }
    if (ui_key(ui, "Enter") || ui_key(ui, "Ctrl+Enter")) {
        if (model_waiting(m).n_proposed > 0 && m->can_write)
            actions_add(out, ACT_ACCEPT_PROPOSAL);
        else if (!screen_to_photos(m, st))
            no_photo_of(ui, m, st);
    }
    if (ui_key(ui, ".") && st->cylinder >= 0) {
        struct plug_place at = {st->cylinder, st->position};

        if (model_next_plug(m, &at)) {
            st->cylinder = at.cylinder;
            st->position = at.position;
        }
    }
    amount_keys(ui, m, st, out);
    letters(ui, m, st, out);
}

void screen_plan(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, struct rect r)
{
    struct rect left, right, tray, ribbon;
    const bool small = r.w < 1360, narrow = r.w < 1120;

    if (model_visit(m) == NULL) {
        struct ui_style big = {.size_px = 18, .weight = UI_SEMIBOLD, .colour = UI_DESK_TEXT, .align = UI_CENTRE};
        struct ui_button dark = {.look = UI_LOOK_DARK, .key = "Ctrl+N"};
        float w = ui_button_width(ui, "Open the first visit", &dark);

        ui_fill(ui, r, UI_DESK);
        ui_text(ui, (struct rect){r.x, r.y + r.h / 2 - 60, r.w, 30}, engine_may_have_wells(&m->record->engine) ? "No visit yet: look into the wells, dry them, then pull the plugs one by one." : "No visit yet: clean round the plugs, then pull them one by one.", &big);
        if (m->can_write && ui_button(ui, "visit.first", (struct rect){r.x + (r.w - w) / 2, r.y + r.h / 2, w, 44}, "Open the first visit", &dark))
            actions_add(out, ACT_NEW_VISIT);
        return;
    }
    photo_days_row(ui, m, st, out, &r);
    if (st->pulling) {
        plan_pulling(ui, m, st, out, r);
        return;
    }
    pulling_tell_unread(ui, m, st);
    if (st->left_px <= 0)
        st->left_px = narrow ? 220 : small ? 264 : 300;
    left = ui_cut_left(&r, st->left_px);
    right = ui_cut_right(&r, narrow ? 316 : small ? 352 : 380);
    ui_fill(ui, r, UI_DESK);
    tray = ui_cut_bottom(&r, fmaxf(96, 2 * ui_target_px(ui) + 24));
    ribbon = m->record->engine.n_cylinders > 1 ? ui_cut_bottom(&r, 108) : (struct rect){0, 0, 0, 0};
    plan_found(ui, m, st, out, left);
    if (st->editing_order)
        plan_order_band(ui, m, st, out, ui_cut_top(&r, ui_target_px(ui) + 42));
    plan_engine(ui, m, st, out, r);
    if (m->record->engine.n_cylinders > 1) {
        int pressed = firing_ribbon(ui, &m->record->engine, m->cylinder_level, st->cylinder, true, ribbon);

        if (pressed >= 0) {
            st->cylinder = pressed;
            st->position = 0;
        }
    }
    plan_tray(ui, m, st, out, tray);
    plan_card(ui, m, st, out, right);
    st->left_px = ui_splitter(ui, "plan.splitter", (struct rect){left.x + left.w - 4, left.y, 8, left.h}, st->left_px, 220, 460, 1);
}
