/* screen_lineup.c - all plugs side by side, the visits above one another, newest on top: the photo or a
 * tip drawn from the reading, oil in the well, the gap; below, how each gap grows. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/clock.h"
#include "base/text.h"
#include "base/units.h"
#include "screen/model.h"

#define LABEL_PX 160.0f

struct lineup {
    const struct model *m;
    const struct engine *en;
    int n;                              /* columns */
    struct plug_place at[ENGINE_MAX_PLUGS];
    float x, w, size;                   /* of the first column, of each, of a plug */
};

static void lay_out(struct lineup *l, const struct screen_state *st, struct rect r)
{
    for (int i = 0; i < l->en->n_cylinders; i++)
        for (int p = 0; p < l->en->n_positions; p++)
            l->at[l->n++] = (struct plug_place){st->lineup_firing ? l->en->firing[i] : i, p};
    l->x = r.x + LABEL_PX;
    l->w = fminf(148, (r.w - LABEL_PX - 20) / (float)l->n);
    l->size = fminf(108, l->w - 10);
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

static void gap_pill(struct ui *ui, const struct lineup *l, const struct reading *q, float x, float y)
{
    enum level level = gap_level(&l->en->plug, q->gap_mm.value);
    float w = fminf(60, l->w - 2);
    struct rect r = {x - w / 2, y, w, 24};
    char gap[16];

    model_format_found(l->m, q, gap, sizeof gap);
    ui_round(ui, r, 5, level == LEVEL_ACT ? UI_ACT : level == LEVEL_WATCH ? UI_WATCH : UI_PANEL);
    ui_text(ui, r, gap, &(struct ui_style){.size_px = l->w > 50 ? 13 : 11, .weight = UI_SEMIBOLD, .colour = level == LEVEL_ACT ? UI_ACT_TEXT : level == LEVEL_WATCH ? UI_WATCH_TEXT : UI_TEXT, .align = UI_CENTRE, .tabular = true});
}

static void draw_visit(struct ui *ui, const struct lineup *l, struct screen_state *st, struct actions *out, int visit, struct rect row)
{
    const struct visit *v = &l->m->record->visits[visit];
    const struct visit_photos *photos = l->m->lineup != NULL ? &l->m->lineup[visit] : NULL;
    struct ui_style strong = {.size_px = 14, .weight = UI_SEMIBOLD, .colour = UI_DESK_TEXT}, plain = {.colour = UI_DESK_TEXT};
    struct rect label = ui_inset((struct rect){row.x, row.y, LABEL_PX, row.h}, 16, 14);
    char date[32], odometer[48], id[64];
    struct ui_hit hit;
    int n_read = 0;

    for (int i = 0; i < record_plug_count(l->en); i++)
        n_read += v->readings[i].present;
    clock_date_words(v->date[0] ? v->date : "no date", date, sizeof date);
    visit_format_odometer(v->odometer_m, v->odometer_unit, odometer, sizeof odometer);
    text_format(id, sizeof id, "lineup.visit.%d", visit);
    hit = ui_region(ui, id, (struct rect){row.x + 6, row.y + 6, LABEL_PX - 10, row.h - 12}, UI_ROLE_ROW, date, odometer, 8);
    ui_line(ui, row.x, row.y, row.x + row.w, row.y, 1, UI_DESK_DARK);
    ui_text(ui, ui_cut_top(&label, 24), date, &strong);
    ui_text(ui, ui_cut_top(&label, 20), odometer, &plain);
    text_format(id, sizeof id, "%d of %d read", n_read, record_plug_count(l->en));
    ui_text(ui, ui_cut_top(&label, 20), id, &plain);
    if (hit.clicked && v->id[0]) {
        text_copy(actions_add(out, ACT_OPEN_VISIT)->id, UUID_BYTES, v->id);
        st->screen = SCREEN_PLAN;
    }
    for (int i = 0; i < l->n; i++) {
        const struct reading *r = visit_reading_const(v, l->en, l->at[i].cylinder, l->at[i].position);
        const struct logbook_photo *photo = photos != NULL ? logbook_bore_photo(photos->photos, photos->n, l->at[i].cylinder, l->at[i].position) : NULL;
        float y = row.y + 14 + l->size / 2;

        bore_show(ui, column(l, i), y, l->size / 2, r, photo, l->at[i].cylinder);
        if (st->cylinder == l->at[i].cylinder && st->position == l->at[i].position)
            ui_select_ring(ui, column(l, i), y, l->size / 2 + 3, 3);
        if (r->present && r->gap_mm.given)
            gap_pill(ui, l, r, column(l, i), y + l->size / 2 + 6);
    }
}

/* Growth of each gap with its last run, the limit dashed. */
static void draw_growth(struct ui *ui, const struct lineup *l, const struct screen_state *st, struct rect row)
{
    const struct wear *w = l->m->wear;
    const struct unit *mile = unit_find("mi");
    bool miles = strcmp(words_id(WORDS_ODOMETER_UNIT, record_current(l->m->record)->odometer_unit), "mi") == 0;
    double per = miles && !w->hours ? mile->factor / 1000 : 1, least = 1e9, most = 0;
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
    ui_text(ui, ui_cut_top(&label, 20), w->hours ? "per 100 h" : miles ? "per 1,000 mi" : "per 1,000 km", &(struct ui_style){.colour = UI_DESK_TEXT});
    if (w->limit_mm > 0) {
        model_format_gap(l->m, w->limit_mm, words, sizeof words);
        ui_text(ui, ui_cut_top(&label, 20), "dashes: the limit,", &(struct ui_style){.colour = UI_DESK_TEXT});
        ui_text(ui, ui_cut_top(&label, 20), words, &(struct ui_style){.colour = UI_DESK_TEXT});
    }
    for (int i = 0; i < l->n; i++) {
        const struct wear_plug *p = &w->plugs[record_plug_index(l->en, l->at[i].cylinder, l->at[i].position)];
        struct rect card = {column(l, i) - l->w / 2 + 4, row.y + 12, l->w - 8, row.h - 24}, in = ui_inset(card, 8, 8), chart;
        bool fast = p->known && w->rate > 0 && p->rate > 2 * w->rate && p->rate_low > w->rate;

        ui_round(ui, card, 8, UI_PANEL);
        if (st->cylinder == l->at[i].cylinder && st->position == l->at[i].position)
            ui_select_line(ui, card, 8, 3);
        chart = ui_cut_top(&in, in.h - 24);
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
            text_from_double(words, sizeof words, p->rate * per * (l->m->inches ? 1 / 25.4 : 1), l->m->inches ? 4 : 3);
            ui_text(ui, in, words, &(struct ui_style){.size_px = l->w > 60 ? 13 : 11, .weight = UI_SEMIBOLD, .colour = fast ? UI_WATCH_INK : UI_TEXT, .tabular = true});
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
    if (ui_key(ui, "Enter") || ui_key(ui, "Escape"))
        st->screen = SCREEN_PLAN;
}

/* The gravest that is said of wear, in one line. */
static const char *wear_words(const struct model *m)
{
    for (int i = 0; m->findings != NULL && i < m->findings->n_stand_outs; i++)
        if (m->findings->stand_outs[i].kind == STAND_WEAR || strcmp(m->findings->stand_outs[i].measure, "gap_growth") == 0)
            return m->findings->stand_outs[i].text;
    return "";
}

void screen_lineup(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, struct rect r)
{
    struct lineup l = {.m = m, .en = &m->record->engine};
    struct ui_button order = {.key = "F"};
    struct rect foot, content;
    float row_h, y;
    int n = m->record->n_visits;

    lay_out(&l, st, r);
    keys(ui, &l, st);
    ui_fill(ui, r, UI_DESK);
    foot = ui_cut_bottom(&r, 56);
    draw_heads(ui, &l, st, r);
    ui_cut_top(&r, 72);
    row_h = l.size + 14 + 6 + 24 + 14;
    content = ui_scroll_begin(ui, "lineup", r);
    y = content.y;
    st->lineup_from = n;
    st->lineup_to = 0;
    for (int v = n - 1; v >= 0; v--, y += row_h) {
        if (y > r.y + r.h || y + row_h < r.y)
            continue;
        st->lineup_from = v < st->lineup_from ? v : st->lineup_from;
        st->lineup_to = v + 1 > st->lineup_to ? v + 1 : st->lineup_to;
        draw_visit(ui, &l, st, out, v, (struct rect){content.x, y, content.w, row_h});
    }
    if (m->wear != NULL && m->wear->known) {
        draw_growth(ui, &l, st, (struct rect){content.x, y, content.w, 150});
        y += 150;
    }
    ui_scroll_end(ui, y - content.y);
    ui_fill(ui, foot, UI_TRAY);
    foot = ui_inset(foot, 16, 8);
    const char *words = st->lineup_firing ? "By bank" : "By firing order";
    if (ui_button(ui, "lineup.order", ui_cut_left(&foot, ui_button_width(ui, words, &order)), words, &order))
        st->lineup_firing = !st->lineup_firing;
    ui_cut_left(&foot, 16);
    ui_text(ui, foot, wear_words(m), &(struct ui_style){.size_px = 14, .colour = UI_BAR_TEXT});
}
