/* plan_engine.c - the engine from above: banks, bores, and what each one shows. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/text.h"
#include "reading/stats.h"
#include "screen/model.h"

#define BIT(i) ((engine_set)1 << (i))

/* Where things are drawn: pitch in logical px, origin of the engine's drawing. */
struct place {
    float x, y, pitch, row; /* row: vertical px for one unit of the engine's drawing */
};

static bool has_rows(const struct engine *en)
{
    return en->layout == ENGINE_V || en->layout == ENGINE_FLAT || en->layout == ENGINE_W;
}

#define FRONT_PX 40.0f

static struct place fit(const struct engine *en, struct rect r)
{
    struct engine_spot size = engine_extent(en);
    float labels = en->layout == ENGINE_RADIAL ? 40 : en->n_banks > 1 ? 84 : 44, w = r.w - 64, h = r.h - labels - 12;
    struct place p;

    const bool rows = has_rows(en) && en->n_banks == 2; /* between them no more than the front mark needs, or what is free */

    p.pitch = fminf(w / (float)size.x, rows ? fmaxf((h - FRONT_PX) / 2, h / (float)size.y) : h / (float)size.y);
    p.pitch = fminf(p.pitch, 190);
    p.row = p.pitch;
    if (rows)
        p.row = (p.pitch + fminf(fmaxf((h - p.pitch * 2) * 0.7f, fminf(FRONT_PX, h - p.pitch * 2)), p.pitch * 0.45f)) / 1.5f;
    p.x = r.x + (r.w - p.pitch * (float)size.x) / 2;
    p.y = r.y + (r.h - ((float)size.y - 1) * p.row - p.pitch) / 2;
    return p;
}

static void spot_px(const struct engine *en, const struct place *p, int c, float *x, float *y)
{
    struct engine_spot s = engine_spot(en, c);

    *x = p->x + (float)s.x * p->pitch;
    *y = p->y + p->pitch / 2 + ((float)s.y - 0.5f) * p->row;
}

static struct rect box_of(const struct engine *en, const struct place *p, engine_set set, float pad)
{
    float x0 = 1e9f, y0 = 1e9f, x1 = -1e9f, y1 = -1e9f;

    for (int c = 0; c < en->n_cylinders; c++)
        if ((set >> c & 1u) != 0) {
            float x, y;

            spot_px(en, p, c, &x, &y);
            x0 = fminf(x0, x), x1 = fmaxf(x1, x);
            y0 = fminf(y0, y), y1 = fmaxf(y1, y);
        }
    float half = p->pitch / 2 + pad;

    return (struct rect){x0 - half, y0 - half, x1 - x0 + 2 * half, y1 - y0 + 2 * half};
}

static void bank_line(const struct model *m, int b, char *to, size_t n_room)
{
    const struct engine *en = &m->record->engine;
    const struct visit *v = model_visit(m);
    int wet = 0, seen = 0, n_gaps = 0;
    double gaps[ENGINE_MAX_PLUGS];
    struct text t = {0};

    for (int i = 0; v != NULL && i < record_plug_count(en); i++) {
        const struct reading *r = &v->readings[i];

        if (en->cylinders[r->cylinder].bank != b)
            continue;
        seen += r->amount[SIGN_WELL_OIL] != AMOUNT_UNSEEN;
        wet += r->amount[SIGN_WELL_OIL] > 0;
        if (r->gap_mm.given)
            gaps[n_gaps++] = r->gap_mm.value;
    }
    if (seen > 0)
        text_addf(&t, "%d of %d well%s wet", wet, seen, seen == 1 ? "" : "s");
    if (n_gaps > 0) {
        char gap[16];

        model_format_gap(m, stats_median(gaps, n_gaps), gap, sizeof gap);
        text_addf(&t, "%smedian gap %s %s", t.n_bytes ? " · " : "", gap, m->inches ? "in" : "mm");
    }
    text_copy(to, n_room, text_get(&t));
    text_release(&t);
}

static void draw_bands(struct ui *ui, const struct model *m, const struct place *p, float right)
{
    const struct engine *en = &m->record->engine;

    if (en->layout == ENGINE_RADIAL)
        return;
    for (int b = 0; b < en->n_banks; b++) {
        struct rect box = box_of(en, p, engine_bank_set(en, b), fminf(6, p->pitch * 0.05f));
        char line[120], name[48];
        struct ui_style bold = {.size_px = 14, .weight = UI_SEMIBOLD, .colour = UI_DESK_TEXT}, soft = {.colour = UI_DESK_QUIET};
        bool below;
        float y, w;

        ui_round(ui, box, 14, UI_DESK_BAND);
        if (en->n_cylinders == 1) /* nothing to sum up: the card says it all */
            continue;
        below = b == 0 && en->n_banks > 1;
        y = below ? box.y + box.h + 4 : box.y - 28;
        text_format(name, sizeof name, en->n_banks == 1 ? "All cylinders" : "Bank %s", en->banks[b].name);
        w = ui_text_width(ui, name, &bold);
        ui_text(ui, (struct rect){box.x + 12, y, w + 4, 24}, name, &bold);
        bank_line(m, b, line, sizeof line);
        ui_text(ui, (struct rect){box.x + 12 + w + 12, y, right - box.x - w - 24, 24}, line, &soft);
    }
}

/* Several plugs of a cylinder stand side by side: what holds them together. */
static void draw_pairs(struct ui *ui, const struct engine *en, const struct place *p)
{
    for (int c = 0; c < en->n_cylinders && en->n_positions > 1; c++) {
        struct rect box = box_of(en, p, BIT(c), -2);
        char id[48];

        text_format(id, sizeof id, "plan.pair.%s", en->cylinders[c].label);
        ui_round_line(ui, box, 12, 2, UI_DESK_DARK);
        ui_note(ui, id, box, "plugs of one cylinder", en->cylinders[c].label);
    }
}

/* Dashes of a level's colour on a line that stands out from the desk. */
static void cover_line(struct ui *ui, struct rect box, float w, enum ui_colour colour)
{
    ui_round_line(ui, ui_inset(box, -1, -1), 15, w + 2, colour == UI_WATCH ? UI_EDGE_DARK : UI_EDGE_LIGHT);
    ui_round_dashed(ui, box, 14, w, colour);
}

/* The dashed outline around what a stand-out covers. */
static void draw_cover(struct ui *ui, const struct model *m, const struct screen_state *st, const struct place *p)
{
    const struct engine *en = &m->record->engine;
    const struct stand_out *s = NULL;
    enum ui_colour colour;
    engine_set set;
    int bank = -1;

    if (m->findings == NULL)
        return;
    if (st->found >= 0 && st->found < m->findings->n_stand_outs)
        s = &m->findings->stand_outs[st->found];
    for (int i = 0; s == NULL && i < m->findings->n_stand_outs; i++)
        if (m->findings->stand_outs[i].pattern >= 0 && m->findings->stand_outs[i].level >= LEVEL_WATCH)
            s = &m->findings->stand_outs[i];
    if (s == NULL || s->cylinders == 0)
        return;
    set = s->cylinders;
    if (text_starts(s->where, "bank ")) { /* the whole bank is meant */
        bank = engine_find_bank(en, s->where + 5);
        if (bank >= 0)
            set = engine_bank_set(en, bank);
    }
    colour = s->level >= LEVEL_ACT ? UI_ACT : s->level == LEVEL_WATCH ? UI_WATCH : UI_NOTE;
    if (bank >= 0 || (set & (set - 1)) == 0) {
        struct rect box = box_of(en, p, set, fminf(6, p->pitch * 0.05f));

        cover_line(ui, box, 2.5f, colour);
    } else { /* scattered: one outline each */
        for (int c = 0; c < en->n_cylinders; c++)
            if ((set >> c & 1u) != 0)
                cover_line(ui, box_of(en, p, BIT(c), -1), 2, colour);
    }
}

/* What is wrong at a plug beside its gap, for the chip on its bore. */
struct tag {
    const char *name;
    enum level level;
};

static void raise_tag(struct tag *t, enum level level)
{
    if (level > t->level)
        t->level = level;
}

/* "conn., well +1", the gravest first: `shown` names, then how many more if counted. Signs are known at once;
 * what the plug itself and its pressures say comes with the findings, so that bore, ribbon and list agree. */
static enum level tag_of(const struct model *m, const struct reading *r, int shown, bool counted, char *to, size_t n_room)
{
    struct tag tags[ZONE_COUNT + 1] = {{"well", LEVEL_NONE}, {"conn.", LEVEL_NONE}, {"coil", LEVEL_NONE}, {"lead", LEVEL_NONE}, {"boot", LEVEL_NONE},
                                       {"body", LEVEL_NONE}, {"threads", LEVEL_NONE}, {"plug", LEVEL_NONE}, {"compr.", LEVEL_NONE}};
    static const int at[ZONE_COUNT] = {[ZONE_WELL] = 0, [ZONE_COIL] = 2, [ZONE_CONNECTOR] = 1, [ZONE_LEAD] = 3, [ZONE_BOOT] = 4, [ZONE_BODY] = 5, [ZONE_THREADS] = 6, [ZONE_FIRING_END] = 7};
    static const char *const of_plug[] = {"electrode", "insulator", "tightness"}, *const of_cylinder[] = {"compression", "leak_percent", "differential_over_80"};
    enum level worst = LEVEL_NONE;
    struct text t = {0};
    int n = 0;

    for (int s = 0; s < SIGN_COUNT; s++)
        if (r->amount[s] > 0)
            raise_tag(&tags[at[sign_row((enum sign)s)->zone]], findings_sign_level(&m->record->engine, (enum sign)s, r->amount[s]));
    for (int i = 0; m->findings != NULL && i < m->findings->n_stand_outs; i++) {
        const struct stand_out *o = &m->findings->stand_outs[i];

        if ((o->cylinders >> r->cylinder & 1u) == 0 || (o->position >= 0 && o->position != r->position) || o->level < LEVEL_WATCH)
            continue;
        /* of a cylinder with several plugs, those that show it */
        if (o->position < 0 && m->record->engine.n_positions > 1 && o->sign >= 0 && r->amount[o->sign] <= 0)
            continue;
        if (text_starts(o->measure, "nose.") || text_starts(o->measure, "firing_end."))
            raise_tag(&tags[7], o->level);
        for (size_t k = 0; k < 3; k++) {
            if (strcmp(o->measure, of_plug[k]) == 0)
                raise_tag(&tags[7], o->level);
            if (strcmp(o->measure, of_cylinder[k]) == 0)
                raise_tag(&tags[8], o->level);
        }
    }
    for (enum level level = LEVEL_STOP; level > LEVEL_NONE; level--)
        for (size_t k = 0; k < sizeof tags / sizeof tags[0]; k++)
            if (tags[k].level == level) {
                worst = level > worst ? level : worst;
                if (n++ < shown)
                    text_addf(&t, "%s%s", t.n_bytes ? ", " : "", tags[k].name);
            }
    if (counted && n > shown)
        text_addf(&t, " +%d", n - shown);
    text_copy(to, n_room, text_get(&t));
    text_release(&t);
    return worst;
}

static void pill(struct ui *ui, struct rect r, const char *text, enum level level)
{
    enum ui_colour back = level >= LEVEL_ACT ? UI_ACT : level == LEVEL_WATCH ? UI_WATCH : level == LEVEL_NOTE ? UI_NOTE : UI_PANEL;
    enum ui_colour ink = level >= LEVEL_ACT ? UI_ACT_TEXT : level == LEVEL_WATCH ? UI_WATCH_TEXT : level == LEVEL_NOTE ? UI_NOTE_TEXT : UI_TEXT;
    struct ui_style s = {.weight = UI_SEMIBOLD, .colour = ink, .align = UI_CENTRE, .tabular = true};
    struct rect in = r;

    ui_round(ui, r, 5, back);
    if (level >= LEVEL_WATCH && r.w > 40) {
        if (level >= LEVEL_ACT)
            ui_triangle(ui, r.x + 14, r.y + r.h / 2, 10, ui_rgba(ink));
        else
            ui_diamond(ui, r.x + 14, r.y + r.h / 2, 10, ui_rgba(ink));
        in.x += 16;
        in.w -= 16;
    }
    ui_text(ui, ui_inset(in, 4, 0), text, &s);
}

static void draw_bore(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, const struct place *p, int c, int pos)
{
    const struct engine *en = &m->record->engine;
    const struct reading *r = model_reading(m, c, pos);
    const struct logbook_photo *photo = model_bore_photo(m, c, pos), *offered;
    float x, y, pitch = p->pitch, R, label_px = p->pitch - 6;
    char id[48], name[64], tag[64], label[48];
    bool chosen = st->cylinder == c && st->position == pos;
    struct rect box;
    struct ui_hit hit;
    const char *dragged;

    spot_px(en, p, c, &x, &y);
    if (en->n_positions > 1) { /* several plugs share the bore's place, side by side */
        float step = pitch / (float)en->n_positions;

        x += ((float)pos - (float)(en->n_positions - 1) / 2) * step;
        pitch = step * 1.06f;
        label_px = step - 10; /* that of the next one begins a step further on */
    }
    R = pitch * 0.425f;
    box = (struct rect){x - pitch / 2 + 2, y - p->pitch / 2 + 2, pitch - 4, p->pitch - 4};
    engine_plug_label(en, c, pos, label, sizeof label);
    text_format(id, sizeof id, en->n_positions > 1 ? "plan.plug.%s" : "plan.cylinder.%s", label);
    text_format(name, sizeof name, "cylinder %s", label);
    hit = ui_region(ui, id, box, UI_ROLE_AREA, name, chosen ? "selected" : "", 10);
    if (hit.clicked) {
        if (st->editing_order) {
            plan_order_tap(st, c, pos);
        } else {
            st->cylinder = c;
            st->position = pos;
            st->by_default = false;
            st->newest[0] = '\0'; /* what came in last is no longer what is looked at */
        }
    }
    dragged = ui_dragged(ui);
    if (hit.dropped && dragged != NULL && text_starts(dragged, "photo:")) {
        struct action *a = actions_add(out, ACT_PLACE_PHOTO);

        text_copy(a->id, sizeof a->id, dragged + 6);
        a->cylinder = c;
        a->position = pos;
        a->zone = -1;
    }
    if (photo == NULL && (offered = model_proposed_photo(m, c, pos)) != NULL) { /* as it would be */
        ui_fade(ui, 0.6f);
        bore_show(ui, x, y, R, r, offered, NULL, c);
        ui_fade(ui, 1);
        ui_round_dashed(ui, (struct rect){x - R - 1, y - R - 1, 2 * R + 2, 2 * R + 2}, R + 1, 2, UI_DESK_TEXT);
    } else {
        bore_show(ui, x, y, R, r, photo, model_bore_cut(m, c, pos), c);
    }
    if (chosen)
        ui_select_ring(ui, x, y, R + 5, 4);
    else if (hit.hover)
        ui_ring(ui, x, y, R + 3, 2, (struct rgba){40, 40, 40, 255});
    if (st->editing_order) {
        int at = plan_order_place(st, c, pos);

        if (at >= 0) {
            char number_in_order[16];
            struct ui_style big = {.size_px = 26, .weight = UI_BOLD, .colour = UI_SELECT_TEXT, .align = UI_CENTRE};

            snprintf(number_in_order, sizeof number_in_order, "%d", at + 1);
            ui_disc(ui, x, y, 24, ui_rgba(UI_SELECT));
            ui_text(ui, (struct rect){x - 24, y - 24, 48, 48}, number_in_order, &big);
        }
    }
    /* number, gap, signs */
    struct ui_style tag_style = {.size_px = pitch > 90 ? 18 : pitch > 50 ? 13 : 11, .weight = UI_BOLD, .colour = UI_DARK_TEXT, .align = UI_CENTRE};
    float tag_h = pitch > 90 ? 28 : pitch > 50 ? 22 : 18, tag_pad = pitch > 50 ? 14 : 6, tag_w;

    model_plug_short(ui, en, c, pos, label_px - tag_pad, &tag_style, label, sizeof label);
    tag_w = fmaxf(pitch > 50 ? tag_h + 4 : 14, ui_text_width(ui, label, &tag_style) + tag_pad);
    struct rect number = {x - pitch / 2 + 4, y - p->pitch / 2 + 4, tag_w, tag_h};

    ui_round(ui, number, 6, chosen ? UI_SELECT : UI_DARK);
    ui_text(ui, number, label, &tag_style);
    if (r == NULL)
        return;
    float pill_h = pitch > 90 ? 24 : 18, pill_y = y + p->pitch / 2 - pill_h - 4, gap_w = 0;

    if (r->gap_mm.given) {
        char gap[16];
        enum level g = model_gap_level(m, r);
        int size = pitch > 50 ? 13 : 11;

        model_format_found(m, r, gap, sizeof gap);
        gap_w = pitch > 90 ? (g == LEVEL_NONE ? 54 : 66) : fminf(44, pitch - 2);
        struct rect gr = {x + pitch / 2 - gap_w - 4, pill_y, gap_w, pill_h};

        engine_plug_label(en, c, pos, name, sizeof name);
        text_format(id, sizeof id, "plan.gap.%s", name);
        for (char *sign = id; *sign != '\0'; sign++) /* a script's words end at a space */
            *sign = *sign == ' ' ? '-' : *sign;
        ui_note(ui, id, gr, gap, g >= LEVEL_ACT ? "act on" : g >= LEVEL_WATCH ? "watch" : "sound");
        if (g == LEVEL_NONE) {
            ui_round(ui, gr, 5, UI_PANEL);
            ui_text(ui, gr, gap, &(struct ui_style){.size_px = size, .weight = UI_SEMIBOLD, .colour = UI_TEXT, .align = UI_CENTRE, .tabular = true});
        } else if (pitch > 90) {
            pill(ui, gr, gap, g);
        } else { /* the mark above, clear of the figure */
            struct ui_style s = {.size_px = size, .weight = UI_BOLD, .colour = g >= LEVEL_ACT ? UI_ACT_TEXT : UI_WATCH_TEXT, .align = UI_CENTRE, .tabular = true};

            ui_round(ui, gr, 5, g >= LEVEL_ACT ? UI_ACT : UI_WATCH);
            ui_text(ui, gr, gap, &s);
            level_mark(ui, gr.x + gr.w - 8, gr.y - 10, 12, g);
        }
    }
    enum level t = tag_of(m, r, 2, true, tag, sizeof tag);

    if (t != LEVEL_NONE && pitch > 70) {
        struct ui_style s = {.weight = UI_SEMIBOLD};
        float most = pitch - 8 - (gap_w > 0 ? gap_w + 4 : 0);
        float extra = t >= LEVEL_WATCH ? 30 : 12;

        if (ui_text_width(ui, tag, &s) + extra > most)
            tag_of(m, r, 1, true, tag, sizeof tag);
        if (ui_text_width(ui, tag, &s) + extra > most)
            tag_of(m, r, 1, false, tag, sizeof tag);
        float w = ui_text_width(ui, tag, &s) + extra;

        if (w <= most)
            pill(ui, (struct rect){x - pitch / 2 + 4, pill_y, w, pill_h}, tag, t);
        else /* no room for words: the mark alone */
            level_mark(ui, x - fminf(pitch / 2 - 12, R * 0.8f), pill_y + 10, 14, t); /* on its own bore, not between two */
    } else if (t != LEVEL_NONE) { /* small bores: at the shoulder, clear of number and gap */
        level_mark(ui, x + R * 0.75f, y - R * 0.75f, 12, t);
    }
}

static void draw_front(struct ui *ui, const struct engine *en, const struct place *p)
{
    struct engine_spot size = engine_extent(en);
    struct ui_style s = {.colour = UI_DESK_TEXT};
    float y, x = p->x + 4, x1 = p->x + (float)size.x * p->pitch;

    if (en->layout == ENGINE_RADIAL || en->layout == ENGINE_SINGLE) {
        if (en->layout == ENGINE_RADIAL)
            ui_text(ui, (struct rect){p->x, p->y - 4, 240, 20}, "seen from the front", &s);
        return;
    }
    if (en->n_banks > 2) { /* between more than two rows there is no room: beside them */
        x = p->x - 74;
        x1 = x + 60;
        y = p->y + p->pitch / 2 + ((float)size.y - 1) / 2 * p->row;
    } else if (has_rows(en) && en->n_banks == 2)
        y = p->y + p->pitch / 2 + 0.75f * p->row;
    else
        y = p->y + p->pitch / 2 + ((float)size.y - 1) * p->row + p->pitch / 2 + 22;
    float tri[] = {x + 10, y - 10, x + 10, y + 10, x - 8, y};

    ui_polygon(ui, tri, 3, ui_rgba(UI_DESK_TEXT));
    ui_text(ui, (struct rect){x + 18, y - 12, 50, 24}, "front", &s);
    if (x1 > x + 90)
        ui_line_dashed(ui, x + 66, y, x1 - 8, y, 1, UI_DESK_DARK);
}

void plan_engine(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, struct rect r)
{
    const struct engine *en = &m->record->engine;
    struct place p = fit(en, r);

    draw_bands(ui, m, &p, r.x + r.w - 12);
    draw_pairs(ui, en, &p);
    draw_front(ui, en, &p);
    for (int c = 0; c < en->n_cylinders; c++)
        for (int pos = 0; pos < en->n_positions; pos++)
            draw_bore(ui, m, st, out, &p, c, pos);
    draw_cover(ui, m, st, &p);
}
