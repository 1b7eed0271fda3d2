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
    int n, from;      /* columns; the oldest visit shown */
    double each, radius;
    bool uncorrected, middle, photos; /* what the legend has to say */
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
    s->each = s->n <= 8 ? 124 : s->n <= 12 ? 104 : 84;
    s->radius = s->each / 2 - 9;
    s->from = s->ask->n_visits > 0 && s->r->n_visits > s->ask->n_visits ? s->r->n_visits - s->ask->n_visits : 0;
}

static void draw_heads(struct sheet *s)
{
    const struct engine *en = &s->r->engine;
    char words[200];

    drawing_text(s->d, 16, 30, en->name, 18, true, DRAW_LEFT, DARK);
    text_format(words, sizeof words, "%s%sLine-up %s, %s", en->subtitle, en->subtitle[0] ? " · " : "", s->ask->view == CROP_TIP ? "of the tips" : "from the side", s->ask->firing ? "in firing order" : "by bank");
    drawing_text(s->d, 16, 49, words, 13, false, DRAW_LEFT, DARK);
    for (int i = 0; i < s->n && !s->ask->firing; i++) {
        int bank = en->cylinders[s->at[i].cylinder].bank;

        bool first = i == 0 || bank != en->cylinders[s->at[i - 1].cylinder].bank;
        int n = en->banks[bank].n_cylinders * en->n_positions;

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

/* Cut to the letters there is room for at 11 px. */
static void fit(const char *label, double px, char *to, size_t n_room)
{
    int most = (int)(px / 6);

    if ((int)strlen(label) <= most)
        text_copy(to, n_room, label);
    else
        text_format(to, n_room, "%.*s…", most - 1, label);
}

static void draw_plug(struct sheet *s, const struct reading *q, const struct lineup_cell *cell, struct plug_place at, double x, double y)
{
    struct report_picture *photo = NULL;
    int n_noted, gravest = reading_gravest_sign(q, &n_noted);
    char label[40], words[80];

    if (cell->jpeg != NULL) {
        photo = arena_alloc(s->a, 1, sizeof *photo);
        *photo = (struct report_picture){.disc = cell->jpeg, .n_disc_bytes = cell->n_jpeg, .disc_px = LINEUP_CUT_PX, .fine = true, .to_scale = cell->to_scale, .light_corrected = cell->light == LINEUP_CORRECTED};
        s->photos = true;
        s->uncorrected = s->uncorrected || (photo->to_scale && !photo->light_corrected);
        s->middle = s->middle || !photo->to_scale;
    }
    if (photo == NULL && s->ask->view == CROP_SIDE && q->present) /* a tip is no side */
        drawing_text(s->d, x, y + 4, "no photo", 11, false, DRAW_MIDDLE, DARK);
    else
        content_plug(s->d, x, y, s->radius, q, at.cylinder, photo, true);
    if (q->present && q->gap_mm.given)
        content_pill(s->d, &s->r->engine.plug, &s->ask->units, q, x, y + s->radius + 8, fmin(52, s->each - 8));
    if (gravest < 0)
        return;
    fit(sign_row((enum sign)gravest)->label, s->each, label, sizeof label);
    content_mark(s->d, x + s->radius * 0.86, y - s->radius * 0.86, sign_row((enum sign)gravest)->level);
    text_format(words, sizeof words, n_noted > 1 && s->each > 110 && strlen(label) < 12 ? "%s, %d more" : "%s", label, n_noted - 1);
    drawing_text(s->d, x, y + s->radius + 41, words, 11, false, DRAW_MIDDLE, DARK);
}

static void draw_visit(struct sheet *s, int visit, double y)
{
    const struct visit *v = &s->r->visits[visit];
    int n_plugs = record_plug_count(&s->r->engine), n_read = 0;
    double middle = y + 12 + s->radius;
    char words[64];

    for (int i = 0; i < n_plugs; i++)
        n_read += v->readings[i].present;
    drawing_line(s->d, 0, y, s->d->width, y, 1, false, RULE);
    clock_date_words(v->date[0] ? v->date : "no date", words, sizeof words);
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

static void draw_foot(struct sheet *s)
{
    double y = s->d->height - FOOT_PX;
    char words[300];

    drawing_line(s->d, 0, y, s->d->width, y, 1, false, RULE);
    text_format(words, sizeof words, "Gaps in %s.%s%s%s", unit_choice_length(&s->ask->units)->label, s->photos ? " Photos at one scale, in one light by their grey patches." : " Drawn from the readings.", s->uncorrected ? " Dashed rim: light as taken." : "",
                s->middle ? " Smaller: not to scale." : "");
    drawing_text(s->d, 16, y + 27, words, 13, false, DRAW_LEFT, DARK);
}

void sheet_draw(const struct record *r, const struct lineup_cell *cells, const struct sheet_ask *ask, struct arena *a, struct drawing *out)
{
    struct sheet s = {.r = r, .cells = cells, .ask = ask, .d = out, .a = a};
    double y = TOP_PX + HEADS_PX, row;

    lay_out(&s);
    row = 2 * s.radius + 68;
    memset(out, 0, sizeof *out);
    out->memory = a;
    out->desk = true;
    out->width = fmax(LEFT_PX + s.each * s.n + 16, 640);
    out->height = y + row * (r->n_visits - s.from) + FOOT_PX;
    draw_heads(&s);
    for (int v = r->n_visits - 1; v >= s.from; v--, y += row)
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
