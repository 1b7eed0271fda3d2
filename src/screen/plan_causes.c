/* plan_causes.c - likely causes below what stands out: how likely in words and as a bar, what speaks
 * for and against, the check that settles it; the sum behind it when a person picks one. */
#include <math.h>
#include <stdio.h>

#include "base/text.h"
#include "reading/cause_at.h"
#include "screen/model.h"
#include "screen/plan_causes.h"

#define MOST_FOR 4
#define MOST_AGAINST 3

static const struct ui_style title = {.size_px = 18, .weight = UI_SEMIBOLD, .colour = UI_TEXT};
static const struct ui_style head = {.size_px = 14, .weight = UI_SEMIBOLD, .colour = UI_TEXT, .max_lines = 3, .top = true};
static const struct ui_style quiet = {.colour = UI_TEXT_SOFT};
static const struct ui_style right = {.colour = UI_TEXT_SOFT, .align = UI_RIGHT, .top = true};
static const struct ui_style body = {.colour = UI_TEXT, .max_lines = 3, .top = true};
static const struct ui_style contra = {.colour = UI_WATCH_INK, .max_lines = 3, .top = true};
static const struct ui_style soft = {.colour = UI_TEXT_SOFT, .max_lines = 5, .top = true};
static const struct ui_style long_text = {.colour = UI_TEXT_SOFT, .max_lines = 30, .top = true};

/* A pen that measures when it does not draw, so that a row knows its height before it is drawn. */
struct pen {
    struct ui *ui;
    float x, y, w;
    bool draws;
};

static void put(struct pen *p, const char *text, const struct ui_style *style, float gap)
{
    float h = ui_text_height(p->ui, p->w, text, style);

    if (p->draws)
        ui_text(p->ui, (struct rect){p->x, p->y, p->w, h}, text, style);
    p->y += h + gap;
}

static void put_lines(struct pen *p, const struct lines *lines, int most, const char *mark, const struct ui_style *style)
{
    char line[640];

    for (int i = 0; i < lines->n && i < most; i++) {
        text_format(line, sizeof line, "%s %s", mark, lines->text[i]);
        put(p, line, style, 1);
    }
}

/* What was looked at: "from 8 plugs, 8 wells and 2 earlier visits". */
static void sources(const struct model *m, char *to, size_t n_room)
{
    const struct record *r = m->record;
    const struct visit *v = record_current(r);
    int n_all = record_plug_count(&r->engine), n_plugs = visit_plugs_read(v, n_all), n_wells = visit_wells_read(v, n_all), earlier = r->n_visits - 1;
    struct text t = {0};

    text_addf(&t, "from %d plug%s", n_plugs, n_plugs == 1 ? "" : "s");
    if (n_wells > 0)
        text_addf(&t, ", %d well%s", n_wells, n_wells == 1 ? "" : "s");
    if (v->n_codes > 0)
        text_addf(&t, ", %d code%s", v->n_codes, v->n_codes == 1 ? "" : "s");
    if (earlier > 0)
        text_addf(&t, ", %d earlier visit%s", earlier, earlier == 1 ? "" : "s");
    text_copy(to, n_room, text_get(&t));
    text_release(&t);
}

/* The name, how likely, the bar. */
static void put_head(struct pen *p, const struct cause *c, const char *name)
{
    const char *likely = cause_likelihood_words(c->probability);
    float w = p->w;

    p->w = w - 72;
    if (p->draws)
        ui_text(p->ui, (struct rect){p->x + w - 84, p->y + 1, 84, 20}, likely, &right);
    put(p, name, &head, 6);
    p->w = w;
    if (p->draws) {
        enum ui_colour fill = c->probability >= 0.5 ? UI_DARK : c->probability >= 0.2 ? UI_TEXT_QUIET : UI_BUTTON_LINE;

        ui_round(p->ui, (struct rect){p->x, p->y, w, 8}, 4, UI_LINE);
        ui_round(p->ui, (struct rect){p->x, p->y, fmaxf(8, w * (float)c->probability), 8}, 4, fill);
    }
    p->y += 8 + 8;
}

static void put_cause(struct pen *p, const struct cause *c, const char *name, bool open)
{
    char line[1400];
    struct text missing = {0};

    put_head(p, c, name);
    put_lines(p, &c->pro, open ? c->pro.n : MOST_FOR, "+", &body);
    put_lines(p, &c->contra, open ? c->contra.n : MOST_AGAINST, "−", &contra);
    p->y += 3;
    text_format(line, sizeof line, "%s %s", c->ordinary ? "Nothing is broken." : "Settles it:", c->settles);
    put(p, line, &soft, 2);
    for (int i = 0; i < c->missing.n; i++)
        text_addf(&missing, "%s%s", i ? "; " : "Not looked at: ", c->missing.text[i]);
    if (c->missing.n > 0)
        put(p, text_get(&missing), &soft, 2);
    text_release(&missing);
    if (open) {
        p->y += 6;
        put(p, c->how, &long_text, 0);
    }
}

float plan_causes_more(struct ui *ui, const struct findings *f, const char *id, struct rect r, const struct ui_style *style)
{
    char words[600];

    findings_more_words(f, words, sizeof words);
    if (words[0] == '\0')
        return 0;
    r.y += 10;
    r.h = ui_text_height(ui, r.w, words, style);
    ui_text(ui, r, words, style);
    ui_note(ui, id, r, words, "");
    return r.h + 20;
}

float plan_causes(struct ui *ui, const struct model *m, struct screen_state *st, struct rect r, float y)
{
    const struct findings *f = m->findings;
    char line[160];
    int n = 0;

    if (f != NULL)
        n = findings_n_on_screen(f);
    if (n == 0)
        return y;
    y += 16;
    ui_text(ui, (struct rect){r.x + 16, y, r.w - 32, 28}, "Likely causes", &title);
    sources(m, line, sizeof line);
    ui_text(ui, (struct rect){r.x + 16, y + 28, r.w - 32, 20}, line, &quiet);
    y += 56;
    ui_fill(ui, (struct rect){r.x, y, r.w, 1}, UI_LINE);
    for (int i = 0; i < n; i++) {
        const struct cause *c = &f->causes[i];
        struct pen p = {ui, r.x + 18, y + 12, r.w - 38, false};
        bool open = st->cause_open == i + 1;
        char id[32], name[CAUSE_AT_BYTES];
        struct rect row;
        struct ui_hit hit;

        cause_at_found(&m->record->engine, c, name);
        put_cause(&p, c, name, open);
        row = (struct rect){r.x, y, r.w, p.y + 10 - y};
        snprintf(id, sizeof id, "cause.%d", i);
        hit = ui_region(ui, id, row, UI_ROLE_ROW, name, cause_likelihood_words(c->probability), 0);
        if (open)
            ui_fill(ui, row, UI_CARD);
        else if (hit.hover)
            ui_fill(ui, row, UI_CARD_DIM);
        if (hit.clicked)
            st->cause_open = open ? 0 : i + 1;
        p.y = y + 12;
        p.draws = true;
        put_cause(&p, c, name, open);
        if (open)
            ui_note(ui, "cause.how", row, "how this was computed", c->how);
        y += row.h;
        ui_fill(ui, (struct rect){r.x, y - 1, r.w, 1}, UI_LINE);
    }
    return y + plan_causes_more(ui, f, "cause.more", (struct rect){r.x + 18, y, r.w - 38, 0}, &soft);
}

void plan_first_suspect(struct ui *ui, const struct model *m, struct screen_state *st, struct rect *r)
{
    static const struct ui_style style = {.weight = UI_MEDIUM, .colour = UI_TEXT, .max_lines = 2, .top = true};
    const struct findings *f = m->findings;
    struct rect row;
    char line[300], at[CAUSE_AT_BYTES];
    struct ui_hit hit;

    if (f == NULL || f->n_causes == 0 || f->causes[0].probability < CAUSE_LIKELY)
        return;
    cause_at_found(&m->record->engine, &f->causes[0], at);
    text_format(line, sizeof line, "%s: %s", f->causes[0].ordinary ? "Most likely" : "First suspect", at);
    row = ui_cut_top(r, ui_text_height(ui, r->w - 32, line, &style) + 16);
    hit = ui_region(ui, "cause.first", row, UI_ROLE_BUTTON, line, cause_likelihood_words(f->causes[0].probability), 0);
    ui_fill(ui, row, hit.hover ? UI_CARD : UI_CARD_DIM);
    ui_text(ui, (struct rect){row.x + 16, row.y + 8, row.w - 32, row.h - 16}, line, &style);
    if (hit.clicked) {
        st->cause_open = 1;
        ui_focus(ui, "cause.0"); /* comes into view with the focus */
    }
}
