/* screen_photos.c - one photo large: zoom about the pointer, pan, turn; the strip of the visit's
 * photos; and onto which plug and zone it belongs. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/text.h"
#include "screen/model.h"

static float fit_zoom(const struct logbook_photo *p, struct rect r)
{
    return fminf(r.w / (float)p->width, r.h / (float)p->height);
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
        if (hit.clicked) {
            st->photo = (int)i;
            st->zoom = 0;
        }
        y += 94;
    }
    ui_scroll_end(ui, y - content.y);
}

static void facts(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, const struct logbook_photo *p, struct rect r)
{
    const struct engine *en = &m->record->engine;
    char line[300], label[48], id[40];
    struct ui_flow flow;

    struct rect foot = ui_cut_bottom(&r, 60), content;
    float start;

    ui_fill(ui, r, UI_PANEL);
    ui_fill(ui, foot, UI_PANEL);
    ui_fill(ui, (struct rect){foot.x, foot.y, foot.w, 1}, UI_LINE);
    content = ui_scroll_begin(ui, "photo.facts", r);
    r = (struct rect){content.x + 18, content.y + 16, content.w - 36, 4000};
    start = content.y;
    ui_text(ui, ui_cut_top(&r, 28), "This photo", &(struct ui_style){.size_px = 18, .weight = UI_SEMIBOLD, .colour = UI_TEXT});
    ui_cut_top(&r, 6);
    ui_value_row(ui, "photo.name", ui_cut_top(&r, 34), "File", p->name, false, NULL);
    if (p->taken[0])
        text_format(line, sizeof line, "%.10s %.8s", p->taken, strlen(p->taken) > 11 ? p->taken + 11 : "");
    else
        text_copy(line, sizeof line, "time not known");
    ui_value_row(ui, "photo.taken", ui_cut_top(&r, 34), "Taken", line, false, NULL);
    text_format(line, sizeof line, "%d × %d", p->width, p->height);
    ui_value_row(ui, "photo.size", ui_cut_top(&r, 34), "Size", line, false, NULL);
    ui_cut_top(&r, 14);
    ui_heading(ui, ui_cut_top(&r, 24), "Belongs to cylinder");
    flow = ui_flow_begin(r, ui_target_px(ui));
    for (int c = 0; c < en->n_cylinders; c++)
        for (int pos = 0; pos < en->n_positions; pos++) {
            engine_plug_label(en, c, pos, label, sizeof label);
            text_format(id, sizeof id, "photo.plug.%s", label);
            if (ui_chip(ui, id, ui_flow_next(&flow, fmaxf(44, ui_chip_width(ui, label, NULL))), label, p->cylinder == c && (p->position == pos || en->n_positions == 1), NULL) && m->can_write) {
                struct action *a = actions_add(out, ACT_PLACE_PHOTO);

                text_copy(a->id, sizeof a->id, p->id);
                a->cylinder = p->cylinder == c && p->position == pos ? -1 : c;
                a->position = pos;
                a->zone = p->zone;
            }
        }
    ui_cut_top(&r, ui_flow_height(&flow) + 14);
    ui_heading(ui, ui_cut_top(&r, 24), "Shows");
    flow = ui_flow_begin(r, ui_target_px(ui));
    for (int z = 0; z < ZONE_COUNT; z++) {
        const char *shown = zone_row((enum zone)z)->label;

        text_format(id, sizeof id, "photo.zone.%s", zone_row((enum zone)z)->id);
        if (ui_chip(ui, id, ui_flow_next(&flow, ui_chip_width(ui, shown, NULL)), shown, p->zone == z, NULL) && m->can_write) {
            struct action *a = actions_add(out, ACT_PLACE_PHOTO);

            text_copy(a->id, sizeof a->id, p->id);
            a->cylinder = p->cylinder;
            a->position = p->position > 0 ? p->position : 0;
            a->zone = z;
        }
    }
    ui_scroll_end(ui, r.y + ui_flow_height(&flow) + 18 - start);
    if (m->can_write) {
        struct ui_button turn = {.key = "T"}, drop = {.look = UI_LOOK_QUIET, .key = "Delete"};
        float w = ui_button_width(ui, "Turn", &turn);
        struct rect row = ui_inset(foot, 18, m->large_targets ? 8 : 10);

        if (ui_button(ui, "photo.turn", ui_cut_left(&row, w), "Turn", &turn)) {
            struct action *a = actions_add(out, ACT_TURN_PHOTO);

            text_copy(a->id, sizeof a->id, p->id);
            a->number = (p->turn + 1) % 4;
        }
        ui_cut_left(&row, 10);
        if (ui_button(ui, "photo.remove", ui_cut_left(&row, ui_button_width(ui, "Take out", &drop)), "Take out", &drop))
            text_copy(actions_add(out, ACT_REMOVE_PHOTO)->id, UUID_BYTES, p->id);
    }
    (void)st;
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

/* Sharp tiles over the small copy, as far as they are there; which ones are wanted goes to st. cx, cy:
 * where the middle of the picture is drawn. */
static void tiles(struct ui *ui, const struct model *m, struct screen_state *st, const struct logbook_photo *p, struct rect view,
                  float cx, float cy, float zoom)
{
    double x0 = (double)(view.x - cx) / (double)zoom, y0 = (double)(view.y - cy) / (double)zoom;
    double x1 = x0 + (double)(view.w / zoom), y1 = y0 + (double)(view.h / zoom);
    double scale = m->px_scale > 0 ? (double)m->px_scale : 1;
    struct photo_box seen;
    size_t n_was = st->n_tiles;
    uint64_t was = ui_hash(st->tiles, n_was * sizeof *st->tiles, 1);

    turn_about_middle((4 - p->turn) % 4, &x0, &y0);
    turn_about_middle((4 - p->turn) % 4, &x1, &y1);
    seen = (struct photo_box){fmin(x0, x1) + p->width / 2.0, fmin(y0, y1) + p->height / 2.0, fmax(x0, x1) + p->width / 2.0,
                              fmax(y0, y1) + p->height / 2.0};
    st->n_tiles = photo_view_tiles(p->width, p->height, (double)zoom * scale, &seen, PHOTO_PREVIEW_PX, st->tiles, PHOTO_VIEW_MAX_TILES);
    if (st->n_tiles != n_was || ui_hash(st->tiles, n_was * sizeof *st->tiles, 1) != was)
        ui_wake_at_s(ui, ui_now_s(ui)); /* they are asked for after this frame */
    for (size_t i = 0; i < st->n_tiles; i++) {
        struct photo_region r = photo_tile_region(&st->tiles[i], p->width, p->height);
        double x = r.x + r.width / 2.0 - p->width / 2.0, y = r.y + r.height / 2.0 - p->height / 2.0;
        float w = (float)(p->turn % 2 ? r.height : r.width) * zoom, h = (float)(p->turn % 2 ? r.width : r.height) * zoom;

        turn_about_middle(p->turn, &x, &y);
        ui_image(ui, (struct rect){cx + (float)x * zoom - w / 2, cy + (float)y * zoom - h / 2, w, h},
                 photo_tile_key(p->sha256, &st->tiles[i]), (struct rect){0, 0, 1, 1}, p->turn, false);
    }
}

void screen_photos(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, struct rect r)
{
    const struct logbook_photo *p;
    struct rect view, left, band;
    struct ui_hit hit;
    float zoom, least, w, h, px, py;
    char line[160];

    if (m->n_photos == 0) {
        struct ui_button add = {.look = UI_LOOK_DARK, .key = "F6"};

        ui_fill(ui, r, UI_DESK);
        ui_text(ui, (struct rect){r.x, r.y + r.h / 2 - 50, r.w, 30}, "No photos of this visit yet", &(struct ui_style){.size_px = 18, .weight = UI_SEMIBOLD, .colour = UI_DESK_TEXT, .align = UI_CENTRE});
        if (m->can_write && ui_button(ui, "photos.add", (struct rect){r.x + r.w / 2 - 90, r.y + r.h / 2, 180, 44}, "Add photos…", &add))
            st->panel = PANEL_FILES;
        return;
    }
    if (st->photo < 0 || st->photo >= (int)m->n_photos)
        st->photo = 0;
    p = &m->photos[st->photo];
    left = ui_cut_left(&r, 132);
    ui_fill(ui, left, UI_BAR_RAISED);
    strip(ui, m, st, left);
    facts(ui, m, st, out, p, ui_cut_right(&r, 352));
    band = ui_cut_bottom(&r, 36);
    view = r;
    ui_fill(ui, view, UI_DESK_DARK);
    ui_fill(ui, band, UI_BAR_RAISED);
    hit = ui_region(ui, "photo.view", view, UI_ROLE_IMAGE, p->name, "", 0);
    if (!ui_typing(ui) && st->panel == PANEL_NONE) {
        if (ui_key(ui, "Right") || ui_key(ui, "."))
            st->photo = (st->photo + 1) % (int)m->n_photos, st->zoom = 0;
        else if (ui_key(ui, "Left") || ui_key(ui, ","))
            st->photo = (st->photo + (int)m->n_photos - 1) % (int)m->n_photos, st->zoom = 0;
        else if (ui_key(ui, "Escape"))
            st->screen = SCREEN_PLAN, st->photo = -1;
        else if (ui_key(ui, "f"))
            st->zoom = 0;
        else if (m->can_write && ui_key(ui, "t")) {
            struct action *a = actions_add(out, ACT_TURN_PHOTO);

            text_copy(a->id, sizeof a->id, p->id);
            a->number = (p->turn + 1) % 4;
        } else if (m->can_write && ui_key(ui, "Delete"))
            text_copy(actions_add(out, ACT_REMOVE_PHOTO)->id, UUID_BYTES, p->id);
        if (st->photo < 0)
            return;
        p = &m->photos[st->photo];
    }
    if (p->trouble[0] || p->width <= 0) {
        st->n_tiles = 0;
        ui_text(ui, ui_inset(view, 60, view.h / 2 - 40), p->trouble[0] ? p->trouble : "This photo is still being taken in.", &(struct ui_style){.size_px = 14, .colour = UI_CARD, .max_lines = 4, .top = true});
        return;
    }
    {
        struct rect inner = ui_inset(view, 16, 16);

        least = p->turn % 2 ? fminf(inner.w / (float)p->height, inner.h / (float)p->width) : fit_zoom(p, inner);
    }
    zoom = st->zoom > 0 ? st->zoom : least;
    if (ui_key(ui, "1") && !ui_typing(ui))
        st->zoom = zoom = 1;
    float by = ui_take_wheel(ui, view);

    if (ui_key(ui, "+") || ui_key(ui, "="))
        by = 1;
    if (ui_key(ui, "-"))
        by = -1;
    if (by > 0 || by < 0) { /* about the pointer, or the middle for keys */
        float fresh = fminf(fmaxf(zoom * powf(1.25f, by), least), 8);
        float ax = hit.hover ? hit.x * view.w - view.w / 2 : 0, ay = hit.hover ? hit.y * view.h - view.h / 2 : 0;

        if (st->zoom <= 0)
            st->pan_x = st->pan_y = 0;
        st->pan_x = ax - (ax - st->pan_x) * fresh / zoom;
        st->pan_y = ay - (ay - st->pan_y) * fresh / zoom;
        st->zoom = zoom = fresh;
        if (fresh <= least * 1.001f)
            st->zoom = 0;
    }
    if (hit.drag_began) {
        st->grab_x = hit.x * view.w - st->pan_x;
        st->grab_y = hit.y * view.h - st->pan_y;
    } else if (hit.down && st->zoom > 0) {
        st->pan_x = hit.x * view.w - st->grab_x;
        st->pan_y = hit.y * view.h - st->grab_y;
    }
    px = st->zoom > 0 ? st->pan_x : 0;
    py = st->zoom > 0 ? st->pan_y : 0;
    w = (p->turn % 2 ? (float)p->height : (float)p->width) * zoom;
    h = (p->turn % 2 ? (float)p->width : (float)p->height) * zoom;
    ui_clip_push(ui, view);
    ui_image(ui, (struct rect){view.x + view.w / 2 + px - w / 2, view.y + view.h / 2 + py - h / 2, w, h}, photo_key(p->sha256, true), (struct rect){0, 0, 1, 1}, p->turn, false);
    tiles(ui, m, st, p, view, view.x + view.w / 2 + px, view.y + view.h / 2 + py, zoom);
    ui_clip_pop(ui);
    text_format(line, sizeof line, "%.0f %%   wheel: zoom   drag: pan   1: 100 %%   F: fit   T: turn   ← →: next   Esc: plan", (double)zoom * 100);
    ui_text(ui, ui_inset(band, 16, 0), line, &(struct ui_style){.weight = UI_MEDIUM, .colour = UI_BAR_TEXT});
}
