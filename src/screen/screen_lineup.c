/* screen_lineup.c - all plugs side by side, the visits above one another, newest on top, at one scale and in
 * one light: cut out of their photos, or the tip drawn from the reading; what is noted, the gap; two visits laid
 * over each other; below, how each gap grows. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/clock.h"
#include "base/text.h"
#include "base/units.h"
#include "report/trend.h"
#include "screen/lineup_plug.h"

#define LABEL_PX 160.0f
#define BELOW_PX 30.0f /* the gap below a plug */
#define SIGN_PX  18.0f /* and what is noted, where there is room for words */

struct lineup {
    const struct model *m;
    const struct engine *en;
    int n;                              /* columns */
    struct plug_place at[ENGINE_MAX_PLUGS];
    float x, w, size;                   /* of the first column, of each, of a plug */
    bool words;                         /* there is room for them in a column */
    bool uncorrected, whole, no_side;   /* seen: one in the light as taken, one not to scale, none of its side */
};

static void lay_out(struct lineup *l, const struct screen_state *st, struct rect r)
{
    for (int i = 0; i < l->en->n_cylinders; i++)
        for (int p = 0; p < l->en->n_positions; p++)
            l->at[l->n++] = (struct plug_place){st->lineup_firing ? l->en->firing[i] : i, p};
    l->x = r.x + LABEL_PX;
    l->w = fminf(148, (r.w - LABEL_PX - 20) / (float)l->n);
    l->size = fminf(108, l->w - 12);
    l->words = l->w >= 96;
}

static float row_height(const struct lineup *l)
{
    return l->size + 14 + 6 + 24 + 14 + (l->words ? SIGN_PX : 0);
}

static float column(const struct lineup *l, int i)
{
    return l->x + ((float)i + 0.5f) * l->w;
}

/* The banks as bands over the whole height, their names, the numbers. */
static void draw_heads(struct ui *ui, const struct lineup *l, struct screen_state *st, struct rect r)
{
    struct ui_style number = {.size_px = l->w > 80 ? 18 : l->w > 50 ? 13 : 11, .weight = UI_BOLD, .colour = UI_DARK_TEXT, .align = UI_CENTRE};
    char label[48], id[64];

    for (int i = 0; i < l->n && !st->lineup_firing; i++) {
        int bank = l->en->cylinders[l->at[i].cylinder].bank;
        bool first = i == 0 || bank != l->en->cylinders[l->at[i - 1].cylinder].bank;

        if (bank % 2 == 1)
            ui_fill(ui, (struct rect){column(l, i) - l->w / 2, r.y, l->w, r.h}, UI_DESK_BAND);
        if (first && l->en->n_banks > 1) {
            text_format(label, sizeof label, "Bank %s", l->en->banks[bank].name);
            ui_text(ui, (struct rect){column(l, i) - l->w / 2 + 6, r.y + 6, l->w * 2, 24}, label, &(struct ui_style){.size_px = 14, .weight = UI_SEMIBOLD, .colour = UI_DESK_TEXT});
        }
    }
    for (int i = 0; i < l->n; i++) {
        bool chosen = st->cylinder == l->at[i].cylinder && st->position == l->at[i].position;
        struct rect tag = {column(l, i) - fminf(20, l->w / 2 - 3), r.y + 34, fminf(40, l->w - 6), 28};
        struct ui_hit hit;

        engine_plug_label(l->en, l->at[i].cylinder, l->at[i].position, label, sizeof label);
        text_format(id, sizeof id, "lineup.plug.%s", label);
        hit = ui_region(ui, id, tag, UI_ROLE_TAB, label, chosen ? "on" : "", 6);
        model_plug_short(ui, l->en, l->at[i].cylinder, l->at[i].position, tag.w - 6, &number, label, sizeof label);
        ui_round(ui, tag, 6, chosen ? UI_SELECT : UI_DARK);
        ui_text(ui, tag, label, &number);
        if (hit.clicked) {
            st->cylinder = l->at[i].cylinder;
            st->position = l->at[i].position;
        }
    }
}

static void gap_pill(struct ui *ui, const struct lineup *l, const struct reading *q, bool shown, float x, float y)
{
    enum level level = shown ? model_gap_level(l->m, q) : gap_level(&l->en->plug, q->gap_mm.value);
    float w = fminf(60, l->w - 2);
    struct rect r = {x - w / 2, y, w, 24};
    char gap[16];

    model_format_found(l->m, q, gap, sizeof gap);
    ui_round(ui, r, 5, level == LEVEL_ACT ? UI_ACT : level == LEVEL_WATCH ? UI_WATCH : UI_PANEL);
    ui_text(ui, r, gap, &(struct ui_style){.size_px = l->w > 50 ? 13 : 11, .weight = UI_SEMIBOLD, .colour = level == LEVEL_ACT ? UI_ACT_TEXT : level == LEVEL_WATCH ? UI_WATCH_TEXT : UI_TEXT, .align = UI_CENTRE, .tabular = true});
}

/* "dry carbon, 2 more" */
static void sign_words(struct ui *ui, const struct lineup *l, const struct reading *r, float x, float y)
{
    int n_noted, gravest = reading_gravest_sign(r, &n_noted);
    char words[80];

    if (gravest < 0 || !l->words)
        return;
    text_format(words, sizeof words, n_noted > 1 ? "%s, %d more" : "%s", sign_row((enum sign)gravest)->label, n_noted - 1);
    ui_text(ui, (struct rect){x - l->w / 2 + 2, y, l->w - 4, SIGN_PX}, words, &(struct ui_style){.size_px = 11, .colour = UI_DESK_TEXT, .align = UI_CENTRE});
}

/* What is in view and not looked up yet is, behind this frame. */
static void ask_for(struct ui *ui, const struct lineup *l, int visit, const struct lineup_plug *p)
{
    if ((l->m->lineup != NULL && !l->m->lineup[visit].known) || (p->shown == SHOWN_COMING && !p->cut->asked))
        ui_wake_at_s(ui, ui_now_s(ui));
}

/* For the outline: what is seen there. */
static void note_plug(struct ui *ui, const struct lineup *l, const struct lineup_plug *p, int visit, struct plug_place at, float x, float y)
{
    char id[80], label[48], words[200];

    engine_plug_label(l->en, at.cylinder, at.position, label, sizeof label);
    text_format(id, sizeof id, "lineup.at.%d.%s", visit, label);
    lineup_plug_words(p, words, sizeof words);
    ui_note(ui, id, (struct rect){x - l->size / 2, y - l->size / 2, l->size, l->size}, label, words);
}

static void visit_date(const struct visit *v, char *to, size_t n_room)
{
    clock_date_words(v->date[0] ? v->date : "no date", to, n_room);
}

static void draw_visit(struct ui *ui, struct lineup *l, struct screen_state *st, struct actions *out, int visit, struct rect row)
{
    const struct visit *v = &l->m->record->visits[visit];
    struct ui_style strong = {.size_px = 14, .weight = UI_SEMIBOLD, .colour = UI_DESK_TEXT}, plain = {.colour = UI_DESK_TEXT};
    struct rect label = ui_inset((struct rect){row.x, row.y, LABEL_PX, row.h}, 16, 14);
    char date[32], odometer[48], id[64];
    const char *done = l->m->lineup != NULL ? l->m->lineup[visit].done : NULL;
    struct ui_hit hit;
    int n_read = visit_plugs_read(v, record_plug_count(l->en));

    visit_date(v, date, sizeof date);
    visit_format_odometer(v->odometer_m, v->odometer_unit, odometer, sizeof odometer);
    text_format(id, sizeof id, "lineup.visit.%d", visit);
    hit = ui_region(ui, id, (struct rect){row.x + 6, row.y + 6, LABEL_PX - 10, row.h - 12}, UI_ROLE_ROW, date, odometer, 8);
    ui_line(ui, row.x, row.y, row.x + row.w, row.y, 1, UI_DESK_DARK);
    ui_text(ui, ui_cut_top(&label, 24), date, &strong);
    ui_text(ui, ui_cut_top(&label, 20), odometer, &plain);
    text_format(id, sizeof id, "%d of %d read", n_read, record_plug_count(l->en));
    ui_text(ui, ui_cut_top(&label, 20), id, &plain);
    if (done != NULL)
        ui_text(ui, label, done, &(struct ui_style){.size_px = 12, .colour = UI_DESK_TEXT, .max_lines = (int)(label.h / 17), .top = true});
    if (hit.clicked && v->id[0]) {
        text_copy(actions_add(out, ACT_OPEN_VISIT)->id, UUID_BYTES, v->id);
        st->screen = SCREEN_PLAN;
    }
    for (int i = 0; i < l->n; i++) {
        const struct lineup_plug p = lineup_plug_of(l->m, visit, l->at[i], st->lineup_view);
        float x = column(l, i), y = row.y + 14 + l->size / 2;

        ask_for(ui, l, visit, &p);
        l->uncorrected = l->uncorrected || (p.shown == SHOWN_CUT && p.cut->facts.light != LINEUP_CORRECTED);
        l->whole = l->whole || p.shown == SHOWN_WHOLE;
        l->no_side = l->no_side || (st->lineup_view == CROP_SIDE && p.shown == SHOWN_NOTHING && reading_tells_plug(p.reading));
        lineup_plug_draw(ui, &p, x, y, l->size, 1);
        lineup_plug_signs(ui, l->en, &p, x, y, l->size);
        note_plug(ui, l, &p, visit, l->at[i], x, y);
        if (st->cylinder == l->at[i].cylinder && st->position == l->at[i].position)
            ui_select_ring(ui, x, y, l->size / 2 + 5, 2.5f);
        if (p.reading->present && p.reading->gap_mm.given)
            gap_pill(ui, l, p.reading, strcmp(v->id, l->m->visit_id) == 0, x, y + l->size / 2 + 6);
        sign_words(ui, l, p.reading, x, y + l->size / 2 + 6 + 26);
    }
}

/* ---- two visits, one over the other ---- */

/* By so many visits to the older side, round to the newest; never the other one. */
static int older(const struct lineup *l, int visit, int other)
{
    int n = l->m->record->n_visits;

    do
        visit = (visit + n - 1) % n;
    while (visit == other);
    return visit;
}

static void lay_over(const struct lineup *l, struct screen_state *st, enum lineup_laid laid)
{
    int n = l->m->record->n_visits;

    if (n < 2)
        return;
    if (st->lineup_laid == LINEUP_APART) {
        st->lineup_over = n - 1;
        st->lineup_under = n - 2;
        if (st->lineup_share <= 0)
            st->lineup_share = 50;
    }
    st->lineup_blinked = laid == LINEUP_BLINKED && st->lineup_laid == LINEUP_BLINKED && !st->lineup_blinked;
    st->lineup_laid = laid;
}

static void share_by(struct screen_state *st, int by)
{
    st->lineup_share = st->lineup_share + by < 10 ? 10 : st->lineup_share + by > 90 ? 90 : st->lineup_share + by;
}

static bool small_button(struct ui *ui, struct rect *r, const char *id, const char *label, const char *key)
{
    struct ui_button look = {.key = key};
    bool pressed = ui_button(ui, id, ui_cut_left(r, ui_button_width(ui, label, &look)), label, &look);

    ui_cut_left(r, 8);
    return pressed;
}

/* mixed: there is something to lay over something. */
static void laid_buttons(struct ui *ui, const struct lineup *l, struct screen_state *st, bool mixed, struct rect r)
{
    int n = l->m->record->n_visits;

    if (small_button(ui, &r, "lineup.blink", st->lineup_laid == LINEUP_BLINKED ? "The other" : "One, then the other", "B"))
        lay_over(l, st, LINEUP_BLINKED);
    if (st->lineup_laid == LINEUP_BLINKED) {
        if (small_button(ui, &r, "lineup.both", "Both", "O"))
            st->lineup_laid = LINEUP_OVERLAID;
    } else if (mixed) {
        if (small_button(ui, &r, "lineup.less", "Less of the upper", "Y"))
            share_by(st, -10);
        if (small_button(ui, &r, "lineup.more", "More", "Z"))
            share_by(st, 10);
    }
    if (n > 2 && small_button(ui, &r, "lineup.over", "Another above", "P"))
        st->lineup_over = older(l, st->lineup_over, st->lineup_under);
    if (n > 2 && small_button(ui, &r, "lineup.under", "below", "N"))
        st->lineup_under = older(l, st->lineup_under, st->lineup_over);
    if (small_button(ui, &r, "lineup.apart", "Close", "Esc"))
        st->lineup_laid = LINEUP_APART;
}

static void change_pill(struct ui *ui, const struct lineup *l, const struct screen_state *st, const struct reading *over, const struct reading *under, struct plug_place at, float x, float y)
{
    const bool same = trend_same_plug(l->m->record, st->lineup_over, st->lineup_under, record_plug_index(l->en, at.cylinder, at.position));
    float w = fminf(same ? 64 : 84, l->w - 2);
    double change = over->gap_mm.value - under->gap_mm.value;
    char gap[24], words[32], label[48], id[80];

    if (!over->present || !under->present || !over->gap_mm.given || !under->gap_mm.given)
        return;
    model_format_gap(l->m, fabs(change), gap, sizeof gap);
    if (same)
        text_format(words, sizeof words, "%s%s", change < -0.0005 ? "−" : "+", gap);
    else
        text_copy(words, sizeof words, w >= 80 ? "other plug" : "other");
    engine_plug_label(l->en, at.cylinder, at.position, label, sizeof label);
    text_format(id, sizeof id, "lineup.change.%s", label);
    ui_note(ui, id, (struct rect){x - w / 2, y, w, 24}, label, words);
    ui_round(ui, (struct rect){x - w / 2, y, w, 24}, 5, UI_PANEL);
    ui_text(ui, (struct rect){x - w / 2, y, w, 24}, words, &(struct ui_style){.size_px = l->w > 50 ? 13 : 11, .weight = UI_SEMIBOLD, .colour = UI_TEXT, .align = UI_CENTRE, .tabular = true});
}

static void draw_laid(struct ui *ui, const struct lineup *l, struct screen_state *st, struct rect row)
{
    struct ui_style strong = {.size_px = 14, .weight = UI_SEMIBOLD, .colour = UI_DESK_TEXT}, plain = {.colour = UI_DESK_TEXT};
    struct rect label = ui_inset((struct rect){row.x, row.y, LABEL_PX, row.h}, 16, 14);
    char over[32], under[32], words[96];
    bool blinked = st->lineup_laid == LINEUP_BLINKED;
    int n_both = 0; /* plugs that both visits show */

    ui_fill(ui, row, UI_DESK_BAND);
    ui_line(ui, row.x, row.y + row.h - 1, row.x + row.w, row.y + row.h - 1, 2, UI_DESK_TEXT);
    visit_date(&l->m->record->visits[st->lineup_over], over, sizeof over);
    visit_date(&l->m->record->visits[st->lineup_under], under, sizeof under);
    ui_text(ui, ui_cut_top(&label, 24), blinked && st->lineup_blinked ? under : over, &strong);
    for (int i = 0; i < l->n; i++)
        n_both += lineup_plug_of(l->m, st->lineup_over, l->at[i], st->lineup_view).shown != SHOWN_NOTHING && lineup_plug_of(l->m, st->lineup_under, l->at[i], st->lineup_view).shown != SHOWN_NOTHING;
    if (n_both == 0)
        text_format(words, sizeof words, st->lineup_view == CROP_SIDE ? "no side photos of it and of %s" : "no plug read at it and at %s", under);
    else if (blinked)
        text_format(words, sizeof words, "in turn with %s", st->lineup_blinked ? over : under);
    else
        text_format(words, sizeof words, "%d %% of it over %s", st->lineup_share, under);
    label.h = 38;
    ui_text(ui, label, words, &(struct ui_style){.colour = UI_DESK_TEXT, .max_lines = 2, .top = true});
    ui_note(ui, "lineup.laid", (struct rect){row.x, row.y, LABEL_PX, row.h}, blinked && st->lineup_blinked ? under : over, words);
    ui_cut_top(&label, 40);
    label.h = 20;
    ui_text(ui, label, "gap: the change", &plain);
    for (int i = 0; i < l->n; i++) {
        const struct lineup_plug a = lineup_plug_of(l->m, st->lineup_over, l->at[i], st->lineup_view), b = lineup_plug_of(l->m, st->lineup_under, l->at[i], st->lineup_view);
        float x = column(l, i), y = row.y + 14 + l->size / 2;

        ask_for(ui, l, st->lineup_over, &a);
        ask_for(ui, l, st->lineup_under, &b);
        if (!blinked)
            lineup_plug_draw(ui, &b, x, y, l->size, 1);
        lineup_plug_draw(ui, blinked && st->lineup_blinked ? &b : &a, x, y, l->size, blinked ? 1 : (float)st->lineup_share / 100);
        change_pill(ui, l, st, a.reading, b.reading, l->at[i], x, y + l->size / 2 + 6);
    }
    laid_buttons(ui, l, st, n_both > 0, (struct rect){row.x + LABEL_PX, row.y + row.h - 40, row.w - LABEL_PX - 16, 32});
}

#define GROWTH_PX 150

/* How far it is to the limit, below the growth: "≈ 8,900 mi left". */
static void draw_left(struct ui *ui, const struct lineup *l, const struct wear_plug *p, bool fast, struct rect r)
{
    char left[40], words[64];

    if (!p->left.given)
        return;
    wear_format_left(p->left.value, record_current(l->m->record)->odometer_unit, left, sizeof left);
    if (p->left.value <= 0)
        text_copy(words, sizeof words, l->words ? "limit passed" : "passed");
    else
        text_format(words, sizeof words, l->words ? "≈ %s left" : "%s", left);
    ui_text(ui, r, words, &(struct ui_style){.size_px = 11, .colour = fast ? UI_WATCH_INK : UI_TEXT_SOFT, .tabular = true});
}

/* Growth of each gap with its last run, the limit dashed. */
static void draw_growth(struct ui *ui, const struct lineup *l, const struct screen_state *st, struct rect row)
{
    const struct wear *w = l->m->wear;
    struct wear_unit told = wear_unit_of(w, record_current(l->m->record)->odometer_unit, l->m->inches);
    double least = 1e9, most = 0;
    struct rect label = ui_inset((struct rect){row.x, row.y, LABEL_PX, row.h}, 16, 14);
    char words[64];

    for (int i = 0; i < record_plug_count(l->en); i++)
        for (int k = 0; k < w->plugs[i].n_points; k++) {
            least = fmin(least, w->plugs[i].gap_mm[k]);
            most = fmax(most, w->plugs[i].gap_mm[k]);
        }
    most = fmax(fmax(most, w->limit_mm), least + 0.1);
    ui_line(ui, row.x, row.y, row.x + row.w, row.y, 1, UI_DESK_DARK);
    ui_text(ui, ui_cut_top(&label, 24), "Gap growth", &(struct ui_style){.size_px = 14, .weight = UI_SEMIBOLD, .colour = UI_DESK_TEXT});
    text_format(words, sizeof words, "per %s", told.run);
    ui_text(ui, ui_cut_top(&label, 20), words, &(struct ui_style){.colour = UI_DESK_TEXT});
    if (w->limit_mm > 0) {
        model_format_gap(l->m, w->limit_mm, words, sizeof words);
        ui_text(ui, ui_cut_top(&label, 20), "dashes: the limit,", &(struct ui_style){.colour = UI_DESK_TEXT});
        ui_text(ui, ui_cut_top(&label, 20), words, &(struct ui_style){.colour = UI_DESK_TEXT});
    }
    for (int i = 0; i < l->n; i++) {
        const struct wear_plug *p = &w->plugs[record_plug_index(l->en, l->at[i].cylinder, l->at[i].position)];
        struct rect card = {column(l, i) - l->w / 2 + 4, row.y + 12, l->w - 8, row.h - 24}, in = ui_inset(card, 8, 8), chart;
        bool fast = p->known && w->rate > 0 && p->rate > 2 * w->rate && p->rate_low > w->rate, left = p->left.given && l->w > 60;

        ui_round(ui, card, 8, UI_PANEL);
        if (st->cylinder == l->at[i].cylinder && st->position == l->at[i].position)
            ui_select_line(ui, card, 8, 3);
        chart = ui_cut_top(&in, in.h - (left ? 36 : 24));
        if (w->limit_mm > 0) {
            float y = chart.y + chart.h * (float)((most - w->limit_mm) / (most - least)) * 0.9f + 4;

            ui_line_dashed(ui, chart.x, y, chart.x + chart.w, y, 1, UI_TEXT_QUIET);
        }
        for (int k = 0; k < p->n_points; k++) {
            double span = p->x[p->n_points - 1] - p->x[0];
            float x = chart.x + 5 + (chart.w - 10) * (float)(span > 0 ? (p->x[k] - p->x[0]) / span : 0.5);
            float y = chart.y + chart.h * (float)((most - p->gap_mm[k]) / (most - least)) * 0.9f + 4;
            float x0 = k > 0 ? chart.x + 5 + (chart.w - 10) * (float)((p->x[k - 1] - p->x[0]) / span) : x;
            float y0 = k > 0 ? chart.y + chart.h * (float)((most - p->gap_mm[k - 1]) / (most - least)) * 0.9f + 4 : y;

            if (k > 0)
                ui_line(ui, x0, y0, x, y, 2, fast ? UI_WATCH_INK : UI_TEXT);
            ui_disc(ui, x, y, 3.5f, ui_rgba(fast ? UI_WATCH_INK : UI_TEXT));
        }
        if (p->known) {
            text_from_double(words, sizeof words, p->rate * told.factor, told.n_decimals);
            ui_text(ui, left ? ui_cut_top(&in, 20) : in, words, &(struct ui_style){.size_px = l->w > 60 ? 13 : 11, .weight = UI_SEMIBOLD, .colour = fast ? UI_WATCH_INK : UI_TEXT, .tabular = true});
            if (left)
                draw_left(ui, l, p, fast, in);
        } else {
            ui_text(ui, in, l->w > 90 ? "one visit only" : "–", &(struct ui_style){.size_px = 11, .colour = UI_TEXT_SOFT});
        }
    }
}

static void keys(struct ui *ui, const struct lineup *l, struct screen_state *st)
{
    int now = 0, step;

    if (st->panel != PANEL_NONE || ui_typing(ui))
        return;
    for (int i = 0; i < l->n; i++)
        if (l->at[i].cylinder == st->cylinder && l->at[i].position == st->position)
            now = i;
    step = ui_key(ui, ".") ? 1 : ui_key(ui, ",") ? -1 : 0;
    if (step != 0) {
        now = (now + step + l->n) % l->n;
        st->cylinder = l->at[now].cylinder;
        st->position = l->at[now].position;
    }
    if (ui_key(ui, "f"))
        st->lineup_firing = !st->lineup_firing;
    if (ui_key(ui, "v"))
        st->lineup_view = st->lineup_view == CROP_TIP ? CROP_SIDE : CROP_TIP;
    if (ui_key(ui, "b"))
        lay_over(l, st, LINEUP_BLINKED);
    if (ui_key(ui, "o")) {
        if (st->lineup_laid == LINEUP_OVERLAID)
            st->lineup_laid = LINEUP_APART;
        else
            lay_over(l, st, LINEUP_OVERLAID);
    }
    if (st->lineup_laid != LINEUP_APART) {
        step = ui_key(ui, "z") ? 10 : ui_key(ui, "y") ? -10 : 0;
        share_by(st, step);
        if (l->m->record->n_visits > 2 && ui_key(ui, "p"))
            st->lineup_over = older(l, st->lineup_over, st->lineup_under);
        if (l->m->record->n_visits > 2 && ui_key(ui, "n"))
            st->lineup_under = older(l, st->lineup_under, st->lineup_over);
        if (ui_key(ui, "Escape"))
            st->lineup_laid = LINEUP_APART;
    }
    if (ui_key(ui, "Enter") || ui_key(ui, "Escape"))
        st->screen = SCREEN_PLAN;
}

/* The gravest that is said of wear, in one line; "" nothing. */
static void wear_words(const struct model *m, char *to, size_t n_room)
{
    to[0] = '\0';
    for (int i = 0; m->findings != NULL && i < m->findings->n_stand_outs && to[0] == '\0'; i++) {
        const struct stand_out *s = &m->findings->stand_outs[i];

        if (s->kind == STAND_WEAR || strcmp(s->measure, "gap_growth") == 0)
            text_format(to, n_room, "%s: %.*s", s->headline, (int)strcspn(s->text, ";"), s->text);
    }
}

static void draw_foot(struct ui *ui, const struct lineup *l, struct screen_state *st, struct actions *out, struct rect r)
{
    struct ui_button lay = {.key = "O", .disabled = l->m->record->n_visits < 2 ? "There is only one visit yet." : NULL};
    const char *words = st->lineup_laid != LINEUP_APART ? "Visits apart" : "Lay two visits over";
    struct rect buttons;
    char legend[200], wear[700];

    ui_fill(ui, r, UI_TRAY);
    r = ui_inset(r, 16, 8);
    buttons = (struct rect){r.x, r.y, r.w, 40};
    if (small_button(ui, &buttons, "lineup.order", st->lineup_firing ? "By bank" : "By firing order", "F"))
        st->lineup_firing = !st->lineup_firing;
    if (small_button(ui, &buttons, "lineup.view", st->lineup_view == CROP_TIP ? "From the side" : "Onto the tips", "V"))
        st->lineup_view = st->lineup_view == CROP_TIP ? CROP_SIDE : CROP_TIP;
    if (ui_button(ui, "lineup.lay", ui_cut_left(&buttons, ui_button_width(ui, words, &lay)), words, &lay)) {
        if (st->lineup_laid != LINEUP_APART)
            st->lineup_laid = LINEUP_APART;
        else
            lay_over(l, st, LINEUP_OVERLAID);
    }
    ui_cut_left(&buttons, 8);
    if (small_button(ui, &buttons, "lineup.sheet", "Save the sheet", "Ctrl+S"))
        actions_add(out, ACT_WRITE_SHEET);
    ui_cut_left(&buttons, 8);
    r = buttons;
    text_format(legend, sizeof legend, "%s%s%s", l->uncorrected ? "Dashed rim: light as taken, no grey patch.  " : "", l->whole ? "Square: photo as taken, not to scale.  " : "",
                l->no_side ? "A side photo needs its thread line and its gap line or nose, or a frame (Shift+L there)." : "");
    wear_words(l->m, wear, sizeof wear);
    if (wear[0] == '\0' || legend[0] == '\0')
        r.y += 10;
    if (wear[0] != '\0')
        ui_text(ui, ui_cut_top(&r, 20), wear, &(struct ui_style){.colour = UI_BAR_TEXT});
    ui_text(ui, ui_cut_top(&r, 20), legend, &(struct ui_style){.colour = UI_BAR_TEXT});
    ui_note(ui, "lineup.legend", r, "legend", legend);
}

void screen_lineup(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, struct rect r)
{
    struct lineup l = {.m = m, .en = &m->record->engine};
    struct rect foot, content;
    float row_h, y;
    int n = m->record->n_visits;
    bool grown = false;

    lay_out(&l, st, r);
    if (st->lineup_over >= n || st->lineup_under >= n) /* another engine, or a visit that is gone */
        st->lineup_laid = LINEUP_APART;
    keys(ui, &l, st);
    ui_fill(ui, r, UI_DESK);
    foot = ui_cut_bottom(&r, 56);
    draw_heads(ui, &l, st, r);
    ui_cut_top(&r, 72);
    row_h = row_height(&l);
    if (st->lineup_laid != LINEUP_APART)
        draw_laid(ui, &l, st, ui_cut_top(&r, l.size + 14 + BELOW_PX + 14 + 40));
    /* the growth stands below the visits, in whole, as long as one of them is in view above it */
    if (m->wear != NULL && m->wear->known && r.h >= GROWTH_PX + row_h) {
        draw_growth(ui, &l, st, ui_cut_bottom(&r, GROWTH_PX));
        grown = true;
    }
    content = ui_scroll_begin(ui, "lineup", r);
    y = content.y;
    st->lineup_from = n;
    st->lineup_to = 0;
    for (int v = n - 1; v >= 0; v--, y += row_h) {
        if (y > r.y + r.h + row_h || y + 2 * row_h < r.y) /* out of view, and so is the one beside it that Tab goes to */
            continue;
        st->lineup_from = v < st->lineup_from ? v : st->lineup_from;
        st->lineup_to = v + 1 > st->lineup_to ? v + 1 : st->lineup_to;
        draw_visit(ui, &l, st, out, v, (struct rect){content.x, y, content.w, row_h});
    }
    if (m->wear != NULL && m->wear->known && !grown) {
        draw_growth(ui, &l, st, (struct rect){content.x, y, content.w, GROWTH_PX});
        y += GROWTH_PX;
    }
    ui_scroll_end(ui, y - content.y);
    draw_foot(ui, &l, st, out, foot);
}
