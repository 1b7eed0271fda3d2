/* screen_photos.c - one photo large: zoom about the pointer, pan, turn; the strip of the visit's
 * photos; a magnifier; a second photo beside it. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/text.h"
#include "screen/photo_bench.h"

static void show_photo(struct screen_state *st, int i)
{
    st->photo = i;
    st->zoom = 0;
    st->bench.reveal = 3; /* a list that was not there yet has no length in its first */
    bench_pick(st, -1);
}

static void strip(struct ui *ui, const struct model *m, struct screen_state *st, struct rect r)
{
    struct rect content = ui_scroll_begin(ui, "strip", r);
    float y = content.y + 10;

    for (size_t i = 0; i < m->n_photos; i++) {
        const struct logbook_photo *p = &m->photos[i];
        struct rect t = {r.x + 10, y, r.w - 26, 84};
        char id[64], label[48];
        struct ui_hit hit;

        text_format(id, sizeof id, "strip.%.36s", p->id);
        hit = ui_region(ui, id, t, UI_ROLE_IMAGE, p->name, st->photo == (int)i ? "shown" : "", 4);
        ui_round(ui, t, 4, UI_BAR_FIELD);
        if (p->trouble[0]) {
            ui_text(ui, ui_inset(t, 6, 6), p->trouble, &(struct ui_style){.size_px = 11, .colour = UI_BAR_TEXT, .max_lines = 5, .top = true});
        } else if (p->width > 0) {
            photo_draw(ui, p, ui_inset(t, 3, 3));
        }
        if (p->cylinder >= 0) {
            engine_plug_label(&m->record->engine, p->cylinder, p->position > 0 ? p->position : 0, label, sizeof label);
            struct ui_style in_tag = {.weight = UI_BOLD, .colour = UI_DARK_TEXT, .align = UI_CENTRE};
            struct rect tag = {t.x + 4, t.y + 4, fmaxf(30, fminf(ui_text_width(ui, label, &in_tag) + 12, t.w - 8)), 20};

            model_plug_short(ui, &m->record->engine, p->cylinder, p->position > 0 ? p->position : 0, tag.w - 8, &in_tag, label, sizeof label);
            ui_round(ui, tag, 4, UI_DARK);
            ui_text(ui, tag, label, &in_tag);
        }
        if (st->photo == (int)i)
            ui_select_line(ui, t, 4, 3);
        if (st->photo == (int)i && st->bench.reveal > 0) {
            ui_scroll_show(ui, ui_inset(t, 0, -8));
            st->bench.reveal--;
            ui_wake_at_s(ui, ui_now_s(ui));
        }
        if (hit.clicked) {
            show_photo(st, (int)i);
        }
        y += 94;
    }
    ui_scroll_end(ui, y - content.y);
}

/* (x, y) from the middle of the picture as stored to the middle of it as turned a quarter `turn` times
 * clockwise; 4 - turn leads back. */
static void turn_about_middle(int turn, double *x, double *y)
{
    for (int i = 0; i < turn; i++) {
        double was_x = *x;

        *x = -*y;
        *y = was_x;
    }
}

void photo_to_screen(const struct photo_place *p, double x, double y, float *sx, float *sy)
{
    x -= p->width / 2.0;
    y -= p->height / 2.0;
    turn_about_middle(p->turn, &x, &y);
    *sx = p->cx + (float)(x * (double)p->zoom);
    *sy = p->cy + (float)(y * (double)p->zoom);
}

void photo_from_screen(const struct photo_place *p, float sx, float sy, double *x, double *y)
{
    *x = (double)(sx - p->cx) / (double)p->zoom;
    *y = (double)(sy - p->cy) / (double)p->zoom;
    turn_about_middle((4 - p->turn) % 4, x, y);
    *x += p->width / 2.0;
    *y += p->height / 2.0;
}

struct photo_place photo_fit(const struct logbook_photo *p, struct rect r)
{
    float w = (float)(p->turn % 2 ? p->height : p->width), h = (float)(p->turn % 2 ? p->width : p->height);

    return (struct photo_place){r.x + r.w / 2, r.y + r.h / 2, fminf(r.w / w, r.h / h), p->turn, p->width, p->height};
}

/* Where a part of the photo is drawn. */
static struct rect part_on_screen(const struct photo_place *at, const struct photo_region *r)
{
    float x0, y0, x1, y1;

    photo_to_screen(at, r->x, r->y, &x0, &y0);
    photo_to_screen(at, r->x + r->width, r->y + r->height, &x1, &y1);
    return (struct rect){fminf(x0, x1), fminf(y0, y1), fabsf(x1 - x0), fabsf(y1 - y0)};
}

void photo_paint(struct ui *ui, const struct model *m, struct screen_state *st, const struct logbook_photo *p, const struct photo_place *at, struct rect view)
{
    struct photo_region whole = {0, 0, p->width, p->height};
    struct photo_tile tiles[PHOTO_VIEW_MAX_TILES];
    double x0, y0, x1, y1, scale = m->px_scale > 0 ? (double)m->px_scale : 1;
    struct photo_box seen;
    size_t n;

    ui_image(ui, part_on_screen(at, &whole), photo_key(p->sha256, true), (struct rect){0, 0, 1, 1}, p->turn, false);
    photo_from_screen(at, view.x, view.y, &x0, &y0);
    photo_from_screen(at, view.x + view.w, view.y + view.h, &x1, &y1);
    seen = (struct photo_box){fmin(x0, x1), fmin(y0, y1), fmax(x0, x1), fmax(y0, y1)};
    n = photo_view_tiles(p->width, p->height, (double)at->zoom * scale, &seen, PHOTO_PREVIEW_PX, tiles, PHOTO_VIEW_MAX_TILES);
    for (size_t i = 0; i < n; i++) {
        struct photo_region r = photo_tile_region(&tiles[i], p->width, p->height);
        bool there = false;

        ui_image(ui, part_on_screen(at, &r), photo_tile_key(p->sha256, &tiles[i]), (struct rect){0, 0, 1, 1}, p->turn, false);
        for (size_t k = 0; k < st->n_tiles && !there; k++)
            there = memcmp(&st->tiles[k], &tiles[i], sizeof tiles[i]) == 0;
        if (!there && st->n_tiles < PHOTO_VIEW_MAX_TILES)
            st->tiles[st->n_tiles++] = tiles[i];
    }
}

/* ---- the magnifier: a square of the photo, four times as large as it is there, in a corner away from
 * the pointer ---- */

#define LOUPE_PX 208.0f

/* x, y: of the photo, in its middle; caption below it, NULL none. */
static void loupe(struct ui *ui, const struct model *m, struct screen_state *st, const struct logbook_photo *p, const struct photo_place *at, struct rect view,
                  double x, double y, const char *caption)
{
    float sx, sy, bx, by;
    struct photo_place big = *at;

    photo_to_screen(at, x, y, &sx, &sy);
    bool right = sx < view.x + LOUPE_PX + 60 && sy > view.y + view.h - LOUPE_PX - 60;
    struct rect r = {right ? view.x + view.w - LOUPE_PX - 18 : view.x + 18, view.y + view.h - LOUPE_PX - (caption != NULL ? 44 : 18), LOUPE_PX, LOUPE_PX};

    big.zoom = fmaxf(at->zoom * 4, 2);
    big.cx = big.cy = 0;
    photo_to_screen(&big, x, y, &bx, &by);
    big.cx = r.x + r.w / 2 - bx;
    big.cy = r.y + r.h / 2 - by;
    ui_round(ui, (struct rect){r.x - 4, r.y - 4, r.w + 8, r.h + (caption != NULL ? 34 : 8)}, 6, UI_BAR);
    if (caption != NULL)
        ui_text(ui, (struct rect){r.x, r.y + r.h, r.w, 28}, caption, &(struct ui_style){.weight = UI_SEMIBOLD, .colour = UI_BAR_TEXT, .align = UI_CENTRE});
    ui_clip_push(ui, r);
    ui_fill(ui, r, UI_DESK_DARK);
    photo_paint(ui, m, st, p, &big, r);
    bench_draw_marks(ui, m, st->bench.draft.n_points > 0 ? st : NULL, p, &big, (struct rect){r.x, r.y, 0, 0});
    for (int i = 0; i < 4 && caption == NULL; i++) { /* cross hairs, open in the middle */
        float dx = i == 0 ? 1.0f : i == 1 ? -1.0f : 0, dy = i == 2 ? 1.0f : i == 3 ? -1.0f : 0, cx = r.x + r.w / 2, cy = r.y + r.h / 2;

        ui_line(ui, cx + dx * 8, cy + dy * 8, cx + dx * 22, cy + dy * 22, 3, UI_EDGE_DARK);
        ui_line(ui, cx + dx * 8, cy + dy * 8, cx + dx * 22, cy + dy * 22, 1, UI_EDGE_LIGHT);
    }
    ui_clip_pop(ui);
}

/* While something is drawn, or when it is asked for, at the pointer; else at a gap that is measured and too
 * small in the view to be judged by eye. */
static void magnify(struct ui *ui, const struct model *m, struct screen_state *st, const struct logbook_photo *p, const struct photo_place *at, struct rect view,
                    const struct ui_hit *hit)
{
    const struct photo_measured *got = m->measured != NULL && strcmp(m->measured->photo, p->id) == 0 ? m->measured : NULL;
    bool drawing = st->bench.tool == MARK_SCALE || st->bench.tool == MARK_GAP || st->bench.drag == BENCH_POINT;
    double x, y;

    if ((st->bench.loupe || drawing) && hit->hover) {
        photo_from_screen(at, view.x + hit->x * view.w, view.y + hit->y * view.h, &x, &y);
        loupe(ui, m, st, p, at, view, x, y, NULL);
    } else if (st->bench.drag == BENCH_IDLE && st->bench.tool < 0 && got != NULL && got->gap_given && st->bench.beside == 0 &&
               hypot(got->gap_x[1] - got->gap_x[0], got->gap_y[1] - got->gap_y[0]) * (double)at->zoom < 60) {
        loupe(ui, m, st, p, at, view, (got->gap_x[0] + got->gap_x[1]) / 2, (got->gap_y[0] + got->gap_y[1]) / 2, "ends held to the edges");
    }
}

/* ---- one photo, as it lies in its part of the window ---- */

static struct rect title_of(struct ui *ui, const struct model *m, const struct logbook_photo *p, struct rect view)
{
    char label[48] = "not placed", line[400];
    struct rect r = {view.x + 12, view.y + 10, view.w - 24, 26};
    struct ui_style style = {.weight = UI_SEMIBOLD, .colour = UI_DARK_TEXT};

    if (p->cylinder >= 0)
        engine_plug_label(&m->record->engine, p->cylinder, p->position > 0 ? p->position : 0, label, sizeof label);
    text_format(line, sizeof line, "%s%s · %s", p->cylinder >= 0 ? "cylinder " : "", label, p->name);
    r.w = fminf(r.w, ui_text_width(ui, line, &style) + 20);
    ui_round(ui, r, 4, UI_DARK);
    ui_text(ui, ui_inset(r, 10, 0), line, &style);
    return r;
}

static void beside(struct ui *ui, const struct model *m, struct screen_state *st, const struct logbook_photo *p, struct rect view)
{
    struct photo_place at = photo_fit(p, ui_inset(view, 12, 12));

    ui_fill(ui, view, UI_DESK_DARK);
    ui_fill(ui, (struct rect){view.x, view.y, 2, view.h}, UI_BAR);
    ui_note(ui, "photo.beside", view, "photo beside", p->name);
    if (photo_ready(p)) {
        ui_clip_push(ui, view);
        ui_image(ui, part_on_screen(&at, &(struct photo_region){0, 0, p->width, p->height}), photo_key(p->sha256, true), (struct rect){0, 0, 1, 1}, p->turn, false);
        bench_draw_marks(ui, m, NULL, p, &at, view);
        ui_clip_pop(ui);
    } else {
        ui_text(ui, ui_inset(view, 24, view.h / 2 - 40), p->trouble[0] ? p->trouble : "This photo is still being taken in.", &(struct ui_style){.size_px = 14, .colour = UI_CARD, .max_lines = 4, .top = true});
    }
    title_of(ui, m, p, view);
    (void)st;
}

/* Zoom about the pointer, or the middle for keys. */
static void zoom_by(struct screen_state *st, float by, float least, const struct ui_hit *hit, struct rect view)
{
    float zoom = st->zoom > 0 ? st->zoom : least, fresh = fminf(fmaxf(zoom * powf(1.25f, by), least), 8);
    float ax = hit->hover ? hit->x * view.w - view.w / 2 : 0, ay = hit->hover ? hit->y * view.h - view.h / 2 : 0;

    if (st->zoom <= 0)
        st->pan_x = st->pan_y = 0;
    st->pan_x = ax - (ax - st->pan_x) * fresh / zoom;
    st->pan_y = ay - (ay - st->pan_y) * fresh / zoom;
    st->zoom = fresh <= least * 1.001f ? 0 : fresh;
}

static void turn_photo(const struct logbook_photo *p, struct actions *out)
{
    struct action *a = actions_add(out, ACT_TURN_PHOTO);

    text_copy(a->id, sizeof a->id, p->id);
    a->number = (p->turn + 1) % 4;
}

/* Another photo, another screen, out of the visit; what bench_keys() left. */
static void photo_keys(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, const struct logbook_photo *p)
{
    int n = (int)m->n_photos;

    if (ui_key(ui, "Right") || ui_key(ui, "."))
        show_photo(st, (st->photo + 1) % n);
    else if (ui_key(ui, "Left") || ui_key(ui, ","))
        show_photo(st, (st->photo + n - 1) % n);
    else if (st->bench.beside > 0 && ui_key(ui, "Escape"))
        st->bench.beside = 0;
    else if (ui_key(ui, "Escape")) {
        show_photo(st, -1);
        st->screen = SCREEN_PLAN;
    } else if (ui_key(ui, "f"))
        st->zoom = 0;
    else if (ui_key(ui, "1"))
        st->zoom = 1;
    else if (ui_key(ui, "l"))
        st->bench.loupe = !st->bench.loupe;
    else if (ui_key(ui, "c")) /* the next one beside it, and at last none */
        st->bench.beside = st->bench.beside >= n ? 0 : st->bench.beside + 1 == st->photo + 1 ? (st->bench.beside + 2 > n ? 0 : st->bench.beside + 2) : st->bench.beside + 1;
    else if (ui_key(ui, "k"))
        bench_take_colour(m, st, out, p);
    else if (m->can_write && ui_key(ui, "t"))
        turn_photo(p, out);
    else if (m->can_write && ui_key(ui, "Delete"))
        text_copy(actions_add(out, ACT_REMOVE_PHOTO)->id, UUID_BYTES, p->id);
}

static void no_photos(struct ui *ui, const struct model *m, struct screen_state *st, struct rect r)
{
    struct ui_button add = {.look = UI_LOOK_DARK, .key = "F6"};

    ui_fill(ui, r, UI_DESK);
    ui_text(ui, (struct rect){r.x, r.y + r.h / 2 - 50, r.w, 30}, "No photos of this visit yet", &(struct ui_style){.size_px = 18, .weight = UI_SEMIBOLD, .colour = UI_DESK_TEXT, .align = UI_CENTRE});
    if (m->can_write && ui_button(ui, "photos.add", (struct rect){r.x + r.w / 2 - 90, r.y + r.h / 2, 180, 44}, "Add photos…", &add))
        st->panel = PANEL_FILES;
}

void screen_photos(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, struct rect r)
{
    struct photo_tile was_tiles[PHOTO_VIEW_MAX_TILES];
    size_t n_was = st->n_tiles;
    const struct logbook_photo *p;
    struct rect view, left, band;
    struct photo_place at;
    struct ui_hit hit;
    float least, by;
    bool drawing;
    char line[260];

    memcpy(was_tiles, st->tiles, n_was * sizeof *was_tiles);
    st->n_tiles = 0;
    if (m->n_photos == 0) {
        no_photos(ui, m, st, r);
        return;
    }
    for (int i = 0; st->newest[0] != '\0' && i < (int)m->n_photos; i++)
        if (strcmp(m->photos[i].id, st->newest) == 0)
            show_photo(st, i);
    st->newest[0] = '\0';
    if (st->photo < 0 || st->photo >= (int)m->n_photos)
        show_photo(st, 0);
    p = &m->photos[st->photo];
    left = ui_cut_left(&r, 120);
    ui_fill(ui, left, UI_BAR_RAISED);
    strip(ui, m, st, left);
    bench_tool_column(ui, m, st, ui_cut_left(&r, 76));
    photo_facts(ui, m, st, out, p, ui_cut_right(&r, 340));
    band = ui_cut_bottom(&r, 36);
    if (st->bench.beside > (int)m->n_photos || st->bench.beside - 1 == st->photo)
        st->bench.beside = 0;
    if (st->bench.beside > 0)
        beside(ui, m, st, &m->photos[st->bench.beside - 1], ui_cut_right(&r, r.w / 2));
    view = r;
    ui_fill(ui, view, UI_DESK_DARK);
    ui_fill(ui, band, UI_BAR_RAISED);
    hit = ui_region(ui, "photo.view", view, UI_ROLE_IMAGE, p->name, "", 0);
    if (!photo_ready(p)) {
        ui_text(ui, ui_inset(view, 60, view.h / 2 - 40), p->trouble[0] ? p->trouble : "This photo is still being taken in.", &(struct ui_style){.size_px = 14, .colour = UI_CARD, .max_lines = 4, .top = true});
        if (!ui_typing(ui) && st->panel == PANEL_NONE)
            photo_keys(ui, m, st, out, p);
        return;
    }
    at = photo_fit(p, ui_inset(view, 16, 16));
    least = at.zoom;
    by = ui_take_wheel(ui, view);
    if (!ui_typing(ui) && st->panel == PANEL_NONE) {
        if (ui_key(ui, "+") || ui_key(ui, "="))
            by = 1;
        if (ui_key(ui, "-"))
            by = -1;
    }
    if (by > 0 || by < 0)
        zoom_by(st, by, least, &hit, view);
    if (st->zoom > 0) {
        at.zoom = st->zoom;
        at.cx += st->pan_x;
        at.cy += st->pan_y;
    }
    drawing = bench_pointer(ui, m, st, out, p, &at, &hit, view);
    if (!drawing && hit.drag_began) {
        st->grab_x = hit.x * view.w - st->pan_x;
        st->grab_y = hit.y * view.h - st->pan_y;
    } else if (!drawing && hit.down && st->zoom > 0) {
        at.cx += hit.x * view.w - st->grab_x - st->pan_x;
        at.cy += hit.y * view.h - st->grab_y - st->pan_y;
        st->pan_x = hit.x * view.w - st->grab_x;
        st->pan_y = hit.y * view.h - st->grab_y;
    }
    ui_clip_push(ui, view);
    photo_paint(ui, m, st, p, &at, view);
    bench_draw_marks(ui, m, st, p, &at, view);
    magnify(ui, m, st, p, &at, view, &hit);
    ui_clip_pop(ui);
    if (st->bench.beside > 0)
        title_of(ui, m, p, view);
    if (n_was != st->n_tiles || memcmp(was_tiles, st->tiles, n_was * sizeof *was_tiles) != 0)
        ui_wake_at_s(ui, ui_now_s(ui)); /* they are asked for after this frame */
    if (st->bench.tool >= 0)
        text_format(line, sizeof line, "%.0f %%   %s   Enter: in the middle   Esc", (double)at.zoom * 100, bench_tool_of(st->bench.tool)->words);
    else if (bench_selected(m, st, p) != NULL)
        text_format(line, sizeof line, "%.0f %%   %s   Esc: let go", (double)at.zoom * 100, bench_tool_of(-1)->words);
    else
        text_format(line, sizeof line, "%.0f %%   wheel: zoom   drag: pan   1: 100 %%   F: fit   T: turn   L: magnifier   C: compare   ← →: next   Esc: plan", (double)at.zoom * 100);
    ui_text(ui, ui_inset(band, 16, 0), line, &(struct ui_style){.weight = UI_MEDIUM, .colour = UI_BAR_TEXT});
    if (!ui_typing(ui) && st->panel == PANEL_NONE && !bench_keys(ui, m, st, out, p, &at))
        photo_keys(ui, m, st, out, p);
}
