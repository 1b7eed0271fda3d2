/* content_plugs.c - plugs as pictures: the engine from above, the line-up of the latest visits, the photos. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/clock.h"
#include "base/mem.h"
#include "base/text.h"
#include "logbook/logbook.h"
#include "reading/stats.h"
#include "report/content_work.h"
#include "report/plug_look.h"

#define PI 3.14159265358979
#define WIDEST 720.0     /* px a drawing is laid out for at most */
#define LINEUP_PX 644.0  /* the line-up's: read on a phone yet when it is drawn to its width */
#define LINEUP_VISITS 6  /* the latest; more would be no picture any more */
#define LINEUP_COLUMNS 12 /* plugs in a row; more go into further rows */

static uint32_t rgb_of(const uint8_t c[3])
{
    return (uint32_t)c[0] << 16 | (uint32_t)c[1] << 8 | c[2];
}

static const struct report_picture *picture_of(const struct maker *m, int visit, int cylinder, int position)
{
    for (size_t i = 0; i < m->source->n_of_plugs; i++) {
        const struct report_picture *p = &m->source->of_plugs[i];

        if (p->visit == visit && p->cylinder == cylinder && p->position == position && p->fine)
            return p;
    }
    return NULL;
}

/* A bar about the middle, `from` to `to` along the direction, `half` to each side. */
static void bar(struct drawing *d, double x, double y, double deg, double from, double to, double half, uint32_t rgb)
{
    double sx = sin(deg * PI / 180), sy = -cos(deg * PI / 180);
    double points[8] = {x + sx * from - sy * half, y + sy * from + sx * half, x + sx * to - sy * half, y + sy * to + sx * half,
                        x + sx * to + sy * half, y + sy * to - sx * half, x + sx * from + sy * half, y + sy * from - sx * half};

    drawing_polygon(d, points, 4, rgb);
}

void content_plug(struct drawing *d, double x, double y, double radius, const struct reading *q, int cylinder, const struct report_picture *photo, bool among)
{
    uint8_t rgb[3];

    if (plug_well_rgb(q, rgb))
        drawing_ring(d, x, y, radius * 1.08, radius * 0.11 + 2, 90, 270, rgb_of(rgb));
    if (photo != NULL) {
        struct drawing_shape *s;

        drawing_disc(d, x, y, radius + 1, 0x4a4947);
        s = drawing_add(d, DRAW_PHOTO);
        s->x = x, s->y = y, s->radius = photo->to_scale || !among ? radius : radius * 0.8, s->photo = photo;
        for (int i = 0; i < 20 && among && photo->to_scale && !photo->light_corrected; i++) /* dashed: the light is as taken */
            drawing_ring(d, x, y, radius + 2, 1.5, i * 18, i * 18 + 10, 0x101010);
        return;
    }
    if (q == NULL || !reading_tells_plug(q)) {
        drawing_ring(d, x, y, radius * 0.96, 2, 0, 0, 0x5a5a5a);
        drawing_ring(d, x, y, radius * 0.62, 1, 0, 0, 0x686868);
        return;
    }
    plug_nose_rgb(q, rgb);
    drawing_disc(d, x, y, radius, 0x4a4947);
    drawing_disc(d, x, y, radius * 0.95, 0x77756f);
    drawing_ring(d, x, y, radius * 0.80, radius * 0.14, 0, 0, 0x8b8983);
    drawing_disc(d, x, y, radius * 0.66, 0x2c2926);
    drawing_disc(d, x, y, radius * 0.44, rgb_of(rgb));
    drawing_disc(d, x, y, radius * 0.15, 0x3c3a38);
    drawing_disc(d, x, y, radius * 0.13, 0x8f8d89);
    bar(d, x, y, plug_strap_deg(q, cylinder), -0.20 * radius, 0.84 * radius, 0.165 * radius, 0x3f3c38);
    bar(d, x, y, plug_strap_deg(q, cylinder), -0.18 * radius, 0.82 * radius, 0.135 * radius, 0xa5a39d);
}

void content_fit(const char *label, double px, char *to, size_t n_room)
{
    size_t most = (size_t)fmax(1, px / 6); /* of 11 px */

    if (strlen(label) <= most)
        text_copy(to, n_room, label);
    else if (most < 4)
        text_format(to, n_room, "%.*s", (int)text_next(label, 0), label);
    else
        text_format(to, n_room, "%.*s…", (int)most - 1, label);
}

void content_pill(struct drawing *d, const struct engine_plug_spec *spec, const struct unit_choice *units, const struct reading *q, double x, double y, double w)
{
    enum gap_verdict verdict = gap_against(spec, q->gap_mm.value);
    bool act = verdict == GAP_PAST_LIMIT, watch = verdict == GAP_OVER || verdict == GAP_UNDER;
    char figure[16], gap[24];

    unit_tell_length(units, q->gap_mm.value, false, figure, sizeof figure);
    text_format(gap, sizeof gap, "%s%s", q->gap_from_photo ? "≈" : "", figure);
    drawing_box(d, x - w / 2, y, w, 19, 5, act ? INK_ACT : watch ? INK_WATCH : 0xf1f1f1);
    drawing_text(d, x, y + 14, gap, w < 34 ? 11 : 13, true, DRAW_MIDDLE, act ? INK_WHITE : INK_TEXT);
}

void content_mark(struct drawing *d, double x, double y, enum level level)
{
    double triangle[] = {x, y - 8, x + 9, y + 7, x - 9, y + 7}, diamond[] = {x, y - 9, x + 9, y, x, y + 9, x - 9, y};

    if (level >= LEVEL_ACT)
        drawing_polygon(d, triangle, 3, INK_ACT);
    else if (level == LEVEL_WATCH)
        drawing_polygon(d, diamond, 4, INK_WATCH);
}

void content_tag(struct drawing *d, double x, double y, double w, const char *label)
{
    drawing_box(d, x - w / 2, y, w, 24, 5, 0x1a1a1a);
    drawing_text(d, x, y + 17, label, strlen(label) > 3 ? 11 : 14, true, DRAW_MIDDLE, INK_WHITE);
}

/* "Bank 2 · 3 of 4 wells wet · middle gap 1.09 mm" */
static void bank_words(const struct record *r, const struct unit_choice *units, int bank, char *to, size_t n_room)
{
    const struct engine *en = &r->engine;
    const struct visit *v = record_current(r);
    double gaps[ENGINE_MAX_PLUGS];
    int n_gaps = 0, n_wells = 0, n_wet = 0;
    char gap[32];
    struct text t = {0};

    for (int i = 0; i < record_plug_count(en); i++) {
        const struct reading *q = &v->readings[i];

        if (en->cylinders[i / en->n_positions].bank != bank || !q->present)
            continue;
        n_wells += reading_zone_looked(q, ZONE_WELL);
        n_wet += q->amount[SIGN_WELL_OIL] > 0 || q->amount[SIGN_WELL_WATER] > 0;
        if (q->gap_mm.given)
            gaps[n_gaps++] = q->gap_mm.value;
    }
    if (n_wells > 0)
        text_addf(&t, "%d of %d wells wet", n_wet, n_wells);
    if (n_gaps > 0) {
        unit_tell_length(units, stats_median(gaps, n_gaps), true, gap, sizeof gap);
        text_addf(&t, "%smiddle gap %s", t.n_bytes ? " · " : "", gap);
    }
    text_copy(to, n_room, text_get(&t));
    text_release(&t);
}

static void plates(struct drawing *d, const struct record *r, const struct unit_choice *units, double pitch, double left, double top)
{
    const struct engine *en = &r->engine;

    for (int b = 0; b < en->n_banks && en->layout != ENGINE_RADIAL; b++) {
        struct engine_spot a = engine_spot(en, en->banks[b].first), z = engine_spot(en, en->banks[b].first + en->banks[b].n_cylinders - 1);
        double y = fmin(a.y, z.y) - 0.5, h = fabs(a.y - z.y) + 1, at = top + y * pitch;
        char words[96];

        if (en->layout == ENGINE_NARROW_V) { /* one head over both rows */
            if (b > 0)
                continue;
            at = top, h = engine_extent(en).y;
        }
        drawing_box(d, left + (a.x - 0.5) * pitch - 4, at, (z.x - a.x + 1) * pitch + 8, h * pitch, 12, 0x9a9a9a);
        if (en->layout == ENGINE_NARROW_V || en->n_banks == 1)
            continue;
        text_format(words, sizeof words, "Bank %s", en->banks[b].name);
        drawing_text(d, left + (a.x - 0.5) * pitch, at - 7, words, 13, true, DRAW_LEFT, 0x101010);
        bank_words(r, units, b, words, sizeof words);
        drawing_text(d, left + (z.x + 0.5) * pitch, at - 7, words, 11, false, DRAW_RIGHT, 0x101010);
    }
}

static void front(struct drawing *d, double x, double y)
{
    double arrow[] = {x, y, x + 11, y - 6, x + 11, y + 6};

    drawing_polygon(d, arrow, 3, 0x101010);
    drawing_text(d, x + 18, y + 4.5, "front", 13, false, DRAW_LEFT, 0x101010);
}

void content_plan(struct maker *m, const struct record *r, const struct report_visit *v)
{
    const struct engine *en = &r->engine;
    const struct visit *visit = record_current(r);
    struct engine_spot size = engine_extent(en);
    double pitch = fmin(116, (WIDEST - 48) / size.x), left = 24, top = en->n_banks > 1 && en->layout != ENGINE_RADIAL ? 40 : 20, radius = pitch * (en->n_positions > 1 ? 0.2 : 0.36);
    struct drawing *d = arena_alloc(m->a, 1, sizeof *d);
    struct content_block *b;
    struct text alt = {0};

    d->memory = m->a;
    d->desk = true, d->narrow = DRAW_FITTED;
    d->width = size.x * pitch + 2 * left;
    d->height = size.y * pitch + top + (en->layout == ENGINE_RADIAL ? 20 : 34);
    plates(d, r, &m->ask->units, pitch, left, top);
    if (en->layout != ENGINE_RADIAL)
        front(d, left, d->height - 17);
    text_add(&alt, en->layout == ENGINE_RADIAL ? "The engine seen from the propeller's side." : "The engine seen from above, front to the left.");
    for (int c = 0; c < en->n_cylinders; c++) {
        struct engine_spot s = engine_spot(en, c);
        double x = left + s.x * pitch, y = top + s.y * pitch;
        enum level level = findings_level(v->findings, c);

        for (int p = 0; p < en->n_positions; p++) {
            const struct reading *q = visit_reading_const(visit, en, c, p);
            char gap[32], name[40];
            double px = x + (p - (en->n_positions - 1) / 2.0) * pitch * (en->n_positions > 2 ? 0.3 : 0.44), py = y + (en->n_positions > 1 ? pitch * 0.09 : 0);

            unit_tell_length(&m->ask->units, q->gap_mm.value, true, gap, sizeof gap);
            if (level >= LEVEL_WATCH)
                drawing_ring(d, px, py, radius + 2, 4, 0, 0, level >= LEVEL_ACT ? INK_ACT : INK_WATCH); /* about an open bore, too */
            content_plug(d, px, py, radius, q, c, picture_of(m, v->at, c, p), false);
            if (q->present && q->gap_mm.given)
                content_pill(d, &en->plug, &m->ask->units, q, en->n_positions > 1 ? px : x + pitch * 0.25, y + pitch * (en->n_positions > 1 ? 0.32 : 0.28), fmin(44, pitch * 0.42));
            if (en->n_positions > 1) {
                content_fit(en->position_names[p], pitch * (en->n_positions > 2 ? 0.3 : 0.44) - 2, name, sizeof name);
                drawing_text(d, px, py - radius - 5, name, 11, false, DRAW_MIDDLE, 0x101010);
            }
            if (q->present && q->gap_mm.given)
                text_addf(&alt, " %s%s%s: gap %s%s.", en->cylinders[c].label, en->n_positions > 1 ? " " : "", en->position_names[p], gap,
                          level >= LEVEL_ACT ? ", act" : level == LEVEL_WATCH ? ", watch" : "");
        }
        content_tag(d, x - pitch * 0.32, y - pitch * 0.46, fmax(28, 8 + 9 * (double)strlen(en->cylinders[c].label)), en->cylinders[c].label);
        content_mark(d, x + pitch * 0.36, y - pitch * 0.34, level);
    }
    maker_part(m, REPORT_PLAN);
    b = maker_add(m, CONTENT_DRAWING);
    b->drawing = d;
    b->text = arena_text(m->a, text_get(&alt));
    text_release(&alt);
}

/* ---- line-up ---- */

static void lineup_rows(struct maker *m, const struct record *r, struct drawing *d, int first, int n, double each, double left, double *y)
{
    const struct engine *en = &r->engine;
    double radius = fmin(30, each / 2 - 4), step = 2 * radius + 34;
    int from = r->n_visits > LINEUP_VISITS ? r->n_visits - LINEUP_VISITS : 0;
    char words[64];

    for (int i = 0; i < n; i++) {
        engine_plug_label(en, (first + i) / en->n_positions, (first + i) % en->n_positions, words, sizeof words);
        if (en->n_positions > 1 && each < 80) /* "3 t" */
            text_format(words, sizeof words, "%s %.*s", en->cylinders[(first + i) / en->n_positions].label, (int)text_next(en->position_names[(first + i) % en->n_positions], 0), en->position_names[(first + i) % en->n_positions]);
        content_tag(d, left + (i + 0.5) * each, *y, fmin(each - 4, fmax(28, 10 + 8 * (double)strlen(words))), words);
    }
    *y += 34;
    for (int v = r->n_visits - 1; v >= from; v--) {
        const struct visit *visit = &r->visits[v];

        clock_date_words(visit->date[0] ? visit->date : "no date", words, sizeof words);
        drawing_text(d, 14, *y + radius - 2, words, 13, true, DRAW_LEFT, 0x101010);
        visit_format_odometer(visit->odometer_m, visit->odometer_unit, words, sizeof words);
        drawing_text(d, 14, *y + radius + 15, words, 11, false, DRAW_LEFT, 0x101010);
        for (int i = 0; i < n; i++) {
            const struct reading *q = &visit->readings[first + i];
            double x = left + (i + 0.5) * each;

            content_plug(d, x, *y + radius, radius, q, (first + i) / en->n_positions, picture_of(m, v, (first + i) / en->n_positions, (first + i) % en->n_positions), true);
            if (q->present && q->gap_mm.given)
                content_pill(d, &en->plug, &m->ask->units, q, x, *y + 2 * radius + 4, fmin(44, each - 4));
        }
        *y += step;
    }
}

void content_lineup(struct maker *m, const struct record *r)
{
    const struct engine *en = &r->engine;
    int n = record_plug_count(en), n_groups = (n + LINEUP_COLUMNS - 1) / LINEUP_COLUMNS, per = (n + n_groups - 1) / n_groups;
    double left = 104, each = fmin(96, (LINEUP_PX - left - 12) / per), y = 12;
    struct drawing *d;
    struct content_block *b;

    if (r->n_visits < 2)
        return;
    if (en->n_positions > 1) /* a cylinder's plugs stay in one row */
        per = (per + en->n_positions - 1) / en->n_positions * en->n_positions;
    d = arena_alloc(m->a, 1, sizeof *d);
    d->memory = m->a;
    d->desk = true;
    d->narrow = DRAW_FITTED; /* all plugs side by side are what it is for */
    d->width = left + each * per + 12;
    for (int first = 0; first < n; first += per)
        lineup_rows(m, r, d, first, n - first < per ? n - first : per, each, left, &y);
    d->height = y;
    maker_part(m, REPORT_LINEUP);
    if (m->source->n_of_plugs > 0)
        maker_text(m, TONE_SOFT, "Photos are cut out at one scale, by the nose, and in one light, by a grey patch. Dashed rim: the light is as it was taken. Smaller: the photo does not tell where the plug is, and is not to scale.");
    if (r->n_visits > LINEUP_VISITS)
        maker_text(m, TONE_SOFT, arena_format(m->a, "The latest %d of %d visits, newest on top.", LINEUP_VISITS, r->n_visits));
    b = maker_add(m, CONTENT_DRAWING);
    b->drawing = d;
    b->text = arena_format(m->a, "All %d plugs side by side, the visits above one another, newest on top, with the gap in %s under each; the same figures stand under Readings.", n, m->ask->units.inches ? "inches" : "millimetres");
}

/* ---- photos ---- */

/* "Plug 4, coil: crack at the tower", "Swap the coil …", "drain plug", or that it has no place yet. */
static const char *photo_words(struct maker *m, const struct report_visit *v, const struct report_picture *p, const char *plug, const char *zone)
{
    const char *step = "", *caption = p->caption != NULL ? p->caption : "", *said = p->said != NULL ? p->said : "", *and = caption[0] && said[0] ? "; " : "";

    for (size_t i = 0; p->step != NULL && p->step[0] != '\0' && i < v->n_steps; i++)
        if (strcmp(v->steps[i].id, p->step) == 0)
            step = v->steps[i].text;
    if (plug[0] != '\0')
        return arena_format(m->a, "Plug %s%s%s%s%s%s%s", plug, zone[0] ? ", " : "", zone, caption[0] || said[0] ? ": " : "", caption, and, said);
    if (caption[0] != '\0' || step[0] != '\0')
        return arena_format(m->a, "%s%s%s%s%s", caption, and, said, caption[0] || said[0] ? step[0] ? ", with the step: " : "" : "With the step: ", step);
    return arena_format(m->a, "Not placed yet: %s%s%s", p->name, said[0] ? ": " : "", said);
}

void content_photos(struct maker *m, const struct record *r, const struct report_visit *v)
{
    const struct report_picture **list;
    struct cells captions = {0};
    struct content_block *b;

    if (v->n_pictures == 0)
        return;
    list = arena_alloc(m->a, v->n_pictures, sizeof *list);
    for (size_t i = 0; i < v->n_pictures; i++) {
        const struct report_picture *p = &v->pictures[i];
        const char *zone = p->zone >= 0 && p->zone < ZONE_COUNT ? zone_row((enum zone)p->zone)->label : "";
        char label[48] = "";

        list[i] = p;
        if (p->cylinder >= 0 && p->cylinder < r->engine.n_cylinders)
            engine_plug_label(&r->engine, p->cylinder, p->position < 0 ? 0 : p->position, label, sizeof label);
        maker_cell(m, &captions, TONE_PLAIN, photo_words(m, v, p, label, zone));
    }
    maker_part(m, REPORT_PHOTOS);
    b = maker_add(m, CONTENT_PHOTOS);
    b->pictures = list;
    b->lines = captions.list;
    b->n_lines = captions.n;
}
