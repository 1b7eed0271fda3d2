#include "report/sheet.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/clock.h"
#include "base/mem.h"
#include "base/text.h"
#include "lineup/lineup_load.h"
#include "photo/photo.h"
#include "record/record.h"
#include "report/content_work.h"
#include "report/paint.h"
#include "report/report_pdf.h"
#include "report/trend.h"

#define LEFT_PX 150.0
#define TOP_PX 58.0
#define HEADS_PX 64.0
#define FOOT_PX 46.0
#define DARK 0x101010u
#define BAND 0x9a9a9au
#define RULE 0x757575u
#define SHARP 2.0 /* pixels for one of the drawing: sharp on paper and on fine screens */

struct sheet {
    const struct record *r;
    const struct lineup_cell *cells;
    const struct sheet_ask *ask;
    struct drawing *d;
    struct arena *a;
    struct plug_place at[ENGINE_MAX_PLUGS];
    int n, from, newest; /* columns; the oldest and the newest visit shown */
    double each, radius;
    bool uncorrected, middle; /* what the legend has to say */
    int n_photos, n_scaled, n_lit; /* photos drawn; at one scale; in one light */
};

static double column(const struct sheet *s, int i)
{
    return LEFT_PX + (i + 0.5) * s->each;
}

static void lay_out(struct sheet *s)
{
    const struct engine *en = &s->r->engine;

    for (int i = 0; i < en->n_cylinders; i++)
        for (int p = 0; p < en->n_positions; p++)
            s->at[s->n++] = (struct plug_place){s->ask->firing ? en->firing[i] : i, p};
    if (s->ask->n_columns > 0) {
        s->n = s->ask->n_columns < s->n - s->ask->first_column ? s->ask->n_columns : s->n - s->ask->first_column;
        memmove(s->at, s->at + s->ask->first_column, (size_t)s->n * sizeof s->at[0]);
    }
    s->each = s->n <= 8 ? 124 : s->n <= 12 ? 104 : 84;
    s->radius = s->each / 2 - 9;
    s->newest = s->r->n_visits - 1 - s->ask->skip_visits;
    s->from = s->ask->n_visits > 0 && s->r->n_visits > s->ask->n_visits ? s->r->n_visits - s->ask->n_visits : 0;
}

static double row_px(const struct sheet *s)
{
    return 2 * s->radius + 68;
}

static void visit_date(const struct visit *v, char *to, size_t n_room)
{
    clock_date_words(v->date[0] ? v->date : "no date", to, n_room);
}

static void draw_heads(struct sheet *s)
{
    const struct engine *en = &s->r->engine;
    char words[200], vehicle[sizeof en->subtitle + 8];

    drawing_text(s->d, 16, 30, en->name, 18, true, DRAW_LEFT, DARK);
    text_format(words, sizeof words, "%s%sLine-up %s, %s", text_apart(en->subtitle, vehicle, sizeof vehicle), en->subtitle[0] ? " · " : "", s->ask->view == CROP_TIP ? "of the tips" : "from the side", s->ask->firing ? "in firing order" : "by bank");
    drawing_text(s->d, 16, 49, words, 13, false, DRAW_LEFT, DARK);
    for (int i = 0; i < s->n && !s->ask->firing; i++) {
        int bank = en->cylinders[s->at[i].cylinder].bank;

        bool first = i == 0 || bank != en->cylinders[s->at[i - 1].cylinder].bank;
        int n = 0;

        while (i + n < s->n && en->cylinders[s->at[i + n].cylinder].bank == bank) /* a page may begin within a bank */
            n++;
        if (first && bank % 2 == 1)
            drawing_box(s->d, column(s, i) - s->each / 2, TOP_PX, s->each * n, s->d->height - TOP_PX - FOOT_PX, 0, BAND);
        if (first && en->n_banks > 1) {
            text_format(words, sizeof words, "Bank %s", en->banks[bank].name);
            drawing_text(s->d, column(s, i) - s->each / 2 + 8, TOP_PX + 20, words, 14, true, DRAW_LEFT, DARK);
        }
    }
    for (int i = 0; i < s->n; i++) {
        engine_plug_label(en, s->at[i].cylinder, s->at[i].position, words, sizeof words);
        content_tag(s->d, column(s, i), TOP_PX + 30, fmin(s->each - 6, fmax(30, 12 + 8 * (double)strlen(words))), words);
    }
}

static bool is_shown(const struct sheet *s, const struct reading *q, const struct lineup_cell *cell)
{
    return cell->jpeg != NULL || (s->ask->view == CROP_TIP && reading_tells_plug(q)); /* a tip is no side */
}

/* The plug alone, cut out of its photo or drawn. */
static void draw_tip(struct sheet *s, const struct reading *q, const struct lineup_cell *cell, struct plug_place at, double x, double y)
{
    struct report_picture *photo = NULL;

    if (cell->jpeg != NULL) {
        photo = arena_alloc(s->a, 1, sizeof *photo);
        *photo = (struct report_picture){.disc = cell->jpeg, .n_disc_bytes = cell->n_jpeg, .disc_px = LINEUP_CUT_PX, .fine = true, .to_scale = cell->to_scale, .light_corrected = cell->light == LINEUP_CORRECTED};
        s->n_photos++;
        s->n_scaled += photo->to_scale;
        s->n_lit += photo->to_scale && photo->light_corrected;
        s->uncorrected = s->uncorrected || (photo->to_scale && !photo->light_corrected);
        s->middle = s->middle || !photo->to_scale;
    }
    if (reading_tells_plug(q) && !is_shown(s, q, cell))
        drawing_text(s->d, x, y + 4, "no photo", 11, false, DRAW_MIDDLE, DARK);
    else
        content_plug(s->d, x, y, s->radius, q, at.cylinder, photo, true);
}

static void draw_plug(struct sheet *s, const struct reading *q, const struct lineup_cell *cell, struct plug_place at, double x, double y)
{
    int n_noted, gravest = reading_gravest_sign(q, &n_noted);
    char label[40], words[80];

    draw_tip(s, q, cell, at, x, y);
    if (q->present && q->gap_mm.given)
        content_pill(s->d, &s->r->engine.plug, &s->ask->units, q, x, y + s->radius + 8, fmin(52, s->each - 8));
    if (gravest < 0)
        return;
    content_fit(sign_row((enum sign)gravest)->label, s->each, label, sizeof label);
    content_mark(s->d, x + s->radius * 0.86, y - s->radius * 0.86, sign_row((enum sign)gravest)->level);
    text_format(words, sizeof words, n_noted > 1 && s->each > 110 && strlen(label) < 12 ? "%s, %d more" : "%s", label, n_noted - 1);
    drawing_text(s->d, x, y + s->radius + 41, words, 11, false, DRAW_MIDDLE, DARK);
}

static void draw_share(struct sheet *s, const struct reading *q, const struct lineup_cell *cell, struct plug_place at, double x, double y, double share)
{
    const double reach = s->radius * 1.2 + 4;

    if (share <= 0)
        return;
    if (share < 1)
        drawing_layer(s->d, share, x - reach, y - reach, 2 * reach, 2 * reach);
    draw_tip(s, q, cell, at, x, y);
    if (share < 1)
        drawing_layer_end(s->d);
}

static void change_pill(struct sheet *s, int plug, double x, double y)
{
    const struct sheet_laid *laid = &s->ask->laid;
    const struct reading *over = &s->r->visits[laid->over].readings[plug], *under = &s->r->visits[laid->under].readings[plug];
    char figure[16], words[24];
    double change = over->gap_mm.value - under->gap_mm.value, w = fmin(58, s->each - 8);

    if (!over->present || !under->present || !over->gap_mm.given || !under->gap_mm.given)
        return;
    unit_tell_length(&s->ask->units, fabs(change), false, figure, sizeof figure);
    text_format(words, sizeof words, "%s%s", change < -0.0005 ? "−" : "+", figure);
    if (!trend_same_plug(s->r, laid->over, laid->under, plug)) {
        w = fmin(78, s->each - 8);
        text_copy(words, sizeof words, w >= 74 ? "other plug" : "other");
    }
    drawing_box(s->d, x - w / 2, y, w, 19, 5, 0xf1f1f1);
    drawing_text(s->d, x, y + 14, words, 13, true, DRAW_MIDDLE, DARK);
}

/* Two visits laid over each other, or the one of them seen, as the window shows them. */
static void draw_laid(struct sheet *s, double y)
{
    const struct sheet_laid *laid = &s->ask->laid;
    const struct engine *en = &s->r->engine;
    const struct visit *over = &s->r->visits[laid->over], *under = &s->r->visits[laid->under];
    int n_plugs = record_plug_count(en), n_both = 0;
    double middle = y + 12 + s->radius;
    char dates[2][32], words[64], more[48];
    bool turns = laid->share <= 0 || laid->share >= 100, second = laid->share <= 0;

    for (int i = 0; i < s->n; i++) {
        int plug = record_plug_index(en, s->at[i].cylinder, s->at[i].position);
        const struct lineup_cell *a = &s->cells[(size_t)laid->over * (size_t)n_plugs + (size_t)plug], *b = &s->cells[(size_t)laid->under * (size_t)n_plugs + (size_t)plug];

        n_both += is_shown(s, &over->readings[plug], a) && is_shown(s, &under->readings[plug], b);
    }
    drawing_box(s->d, 0, y, s->d->width, row_px(s), 0, BAND);
    drawing_line(s->d, 0, y + row_px(s) - 1, s->d->width, y + row_px(s) - 1, 2, false, DARK);
    visit_date(over, dates[0], sizeof dates[0]);
    visit_date(under, dates[1], sizeof dates[1]);
    text_format(words, sizeof words, "%d %% of it over", laid->share);
    text_copy(more, sizeof more, dates[turns ? !second : 1]);
    if (n_both == 0) {
        text_copy(words, sizeof words, s->ask->view == CROP_SIDE ? "no side photos of it and" : "no plug read at it and");
        text_format(more, sizeof more, s->ask->view == CROP_SIDE ? "of %s" : "at %s", dates[1]);
    } else if (turns) {
        text_copy(words, sizeof words, "in turn with");
    }
    drawing_text(s->d, 16, middle - 18, dates[second], 14, true, DRAW_LEFT, DARK);
    drawing_text(s->d, 16, middle, words, n_both == 0 ? 11 : 13, false, DRAW_LEFT, DARK);
    drawing_text(s->d, 16, middle + 17, more, 13, false, DRAW_LEFT, DARK);
    drawing_text(s->d, 16, middle + 38, "gap: the change", 13, false, DRAW_LEFT, DARK);
    for (int i = 0; i < s->n; i++) {
        int plug = record_plug_index(en, s->at[i].cylinder, s->at[i].position);
        const struct lineup_cell *a = &s->cells[(size_t)laid->over * (size_t)n_plugs + (size_t)plug], *b = &s->cells[(size_t)laid->under * (size_t)n_plugs + (size_t)plug];

        if (!turns || second)
            draw_share(s, &under->readings[plug], b, s->at[i], column(s, i), middle, 1);
        if (!second)
            draw_share(s, &over->readings[plug], a, s->at[i], column(s, i), middle, laid->share / 100.0);
        change_pill(s, plug, column(s, i), middle + s->radius + 8);
    }
}

static bool lays_over(const struct sheet_ask *ask)
{
    return ask->laid.on && ask->skip_visits == 0;
}

static void draw_visit(struct sheet *s, int visit, double y)
{
    const struct visit *v = &s->r->visits[visit];
    int n_plugs = record_plug_count(&s->r->engine), n_read = visit_plugs_read(v, n_plugs);
    double middle = y + 12 + s->radius;
    char words[64];

    drawing_line(s->d, 0, y, s->d->width, y, 1, false, RULE);
    visit_date(v, words, sizeof words);
    drawing_text(s->d, 16, middle - 8, words, 14, true, DRAW_LEFT, DARK);
    visit_format_odometer(v->odometer_m, v->odometer_unit, words, sizeof words);
    drawing_text(s->d, 16, middle + 11, words, 13, false, DRAW_LEFT, DARK);
    text_format(words, sizeof words, "%d of %d read", n_read, n_plugs);
    drawing_text(s->d, 16, middle + 30, words, 13, false, DRAW_LEFT, DARK);
    for (int i = 0; i < s->n; i++) {
        int plug = record_plug_index(&s->r->engine, s->at[i].cylinder, s->at[i].position);

        draw_plug(s, &v->readings[plug], &s->cells[(size_t)visit * (size_t)n_plugs + (size_t)plug], s->at[i], column(s, i), middle);
    }
}

/* What is true of the photos drawn. */
static void photo_words(const struct sheet *s, char *to, size_t n_room)
{
    char scaled[16] = "none", lit[16] = "none";

    if (s->n_photos == 0) {
        text_copy(to, n_room, " Drawn from the readings.");
    } else if (s->n_lit == s->n_photos) {
        text_copy(to, n_room, " Photos at one scale, in one light by their grey patches.");
    } else {
        if (s->n_scaled > 0)
            text_format(scaled, sizeof scaled, "%d", s->n_scaled);
        if (s->n_lit > 0)
            text_format(lit, sizeof lit, "%d", s->n_lit);
        text_format(to, n_room, " Of %d photo%s %s at one scale, %s in one light by a grey patch.", s->n_photos, s->n_photos == 1 ? "" : "s", scaled, lit);
    }
}

static void draw_foot(struct sheet *s)
{
    double y = s->d->height - FOOT_PX;
    char words[300], photos[160];

    photo_words(s, photos, sizeof photos);
    drawing_line(s->d, 0, y, s->d->width, y, 1, false, RULE);
    text_format(words, sizeof words, "Gaps in %s.%s%s%s", unit_choice_length(&s->ask->units)->label, photos, s->uncorrected ? " Dashed rim: light as taken." : "",
                s->middle ? " Smaller: not to scale." : "");
    drawing_text(s->d, 16, y + 27, words, 13, false, DRAW_LEFT, DARK);
}

void sheet_draw(const struct record *r, const struct lineup_cell *cells, const struct sheet_ask *ask, struct arena *a, struct drawing *out)
{
    struct sheet s = {.r = r, .cells = cells, .ask = ask, .d = out, .a = a};
    double y = TOP_PX + HEADS_PX, row;

    lay_out(&s);
    row = row_px(&s);
    memset(out, 0, sizeof *out);
    out->memory = a;
    out->desk = true;
    out->width = fmax(LEFT_PX + s.each * s.n + 16, 640);
    out->height = y + row * (s.newest - s.from + 1 + lays_over(ask)) + FOOT_PX;
    draw_heads(&s);
    if (lays_over(ask)) {
        draw_laid(&s, y);
        y += row;
    }
    for (int v = s.newest; v >= s.from; v--, y += row)
        draw_visit(&s, v, y);
    draw_foot(&s);
}

bool sheet_png(struct logbook *lb, const struct record *r, const struct sheet_ask *ask, uint8_t **bytes, size_t *n_bytes, struct err *e)
{
    struct arena *a = arena_create();
    struct photo_pixels px = {0};
    struct lineup_cell *cells;
    struct drawing d;
    bool fine = lineup_load(lb, r, ask->view, a, &cells, e);

    if (fine) {
        sheet_draw(r, cells, ask, a, &d);
        fine = drawing_paint(&d, SHARP, &px, e) && paint_png(&px, bytes, n_bytes, e);
        photo_pixels_release(&px);
    }
    arena_destroy(a);
    return fine;
}

/* ---- on paper ---- */

#define COLUMNS_MOST 12 /* plugs beside each other: more are too small to be compared */
#define WORDS_LEAST_PT 6.0 /* what is written at 11 px is to be read without a glass */

/* How many visits a page of this size holds; scale: pt of it for a px of the drawing. */
static int visits_on(const struct sheet *s, double wide_pt, double high_pt, double *scale)
{
    double width = fmax(LEFT_PX + s->each * s->n + 16, 640);
    int n;

    *scale = wide_pt / width;
    n = (int)((high_pt / *scale - TOP_PX - HEADS_PX - FOOT_PX) / row_px(s));
    if (n < 1) { /* one that is made smaller */
        *scale = high_pt / (TOP_PX + HEADS_PX + FOOT_PX + row_px(s));
        n = 1;
    }
    return n;
}

struct sheet_pages {
    struct drawing *list;
    size_t n, n_room;
};

static void lay_pages(const struct record *r, const struct lineup_cell *cells, const struct sheet_ask *ask, const struct report_paper *paper, struct arena *a, struct sheet_pages *pages, bool *lying)
{
    int n_plugs = record_plug_count(&r->engine), n_groups = (n_plugs + COLUMNS_MOST - 1) / COLUMNS_MOST, per = (n_plugs + n_groups - 1) / n_groups;
    struct sheet_ask part = *ask;
    struct sheet first = {.r = r, .ask = &part};
    double wide = report_paper_width_pt(paper), high = report_paper_height_pt(paper), upright_scale, lying_scale;
    int upright, across, n_visits, per_page;

    per = (per + r->engine.n_positions - 1) / r->engine.n_positions * r->engine.n_positions; /* a cylinder's plugs stay together */
    part.first_column = 0;
    part.n_columns = per;
    lay_out(&first);
    n_visits = first.newest - first.from + 1;
    upright = visits_on(&first, wide, high, &upright_scale);
    across = visits_on(&first, high, wide, &lying_scale);
    /* upright where it is still to be read and saves paper, or shows all as large */
    *lying = !(upright_scale * 11 >= WORDS_LEAST_PT && upright > across && n_visits + ask->laid.on > across);
    per_page = *lying ? across : upright;
    for (int column = 0; column < n_plugs; column += per)
        for (int visit = 0, next; visit < n_visits; visit = next) {
            struct drawing *d = arena_push(a, (void **)&pages->list, &pages->n, &pages->n_room, sizeof *d);

            next = visit + per_page - (visit == 0 && ask->laid.on && per_page > 1); /* on a page for one row the two are made smaller */
            part.first_column = column;
            part.skip_visits = visit;
            part.n_visits = next < n_visits ? next : n_visits;
            sheet_draw(r, cells, &part, a, d);
        }
}

bool sheet_pdf(struct logbook *lb, const struct record *r, const struct sheet_ask *ask, const struct report_paper *paper, struct text *out, struct err *e)
{
    struct arena *a = arena_create();
    struct sheet_pages pages = {0};
    struct lineup_cell *cells;
    bool lying, fine = lineup_load(lb, r, ask->view, a, &cells, e);

    if (fine) {
        lay_pages(r, cells, ask, paper, a, &pages, &lying);
        fine = report_pdf_drawings(pages.list, pages.n, arena_format(a, "%s: line-up", r->engine.name[0] ? r->engine.name : "Engine"), paper, lying, out, e);
    }
    arena_destroy(a);
    return fine;
}
