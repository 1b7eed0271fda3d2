/* screen_photos.c - one photo large: zoom about the pointer, pan, turn; the strip of the visit's
 * photos; a magnifier; a second photo beside it. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/text.h"
#include "screen/photo_bench.h"

#define MOST_ZOOM 8.0f

static void show_photo(struct screen_state *st, int i)
{
    st->photo = i;
    st->zoom = 0;
    st->bench.framing = BENCH_FRAME_NONE;
    st->bench.mark_gone = st->bench.no_corner = false;
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

        y += 94;
        if (st->photo != (int)i && (t.y > r.y + r.h + 94 || y + 94 < r.y)) /* one more on either side, for Tab to go to */
            continue;
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
    }
    ui_scroll_end(ui, y - content.y);
}

/* ---- the magnifier: a square of the photo, four times as large as it is there, in the corner that has the fewest
 * marks, away from the pointer and from what it shows ---- */

#define LOUPE_PX 208.0f
#define LOUPE_EDGE 18.0f
#define LOUPE_AWAY 40.0f /* so near the pointer is at it */

struct loupe {
    double x, y;         /* of the photo, in its middle */
    const char *caption; /* below it; NULL: it goes along with the pointer */
    struct rect r;       /* the picture; none: no width */
};

static struct rect loupe_frame(const struct ui *ui, const struct loupe *l)
{
    return (struct rect){l->r.x - 4, l->r.y - 4, l->r.w + 8, l->r.h + 8 + (l->caption != NULL ? ui_target_px(ui) - 4 : 0)};
}

static bool is_within(struct rect r, float x, float y, float around)
{
    return x >= r.x - around && x < r.x + r.w + around && y >= r.y - around && y < r.y + r.h + around;
}

/* It stays where it is as long as no other corner is better. */
static void loupe_lay(struct ui *ui, const struct model *m, struct screen_state *st, const struct logbook_photo *p, const struct photo_place *at, struct rect view,
                      const struct ui_hit *hit, struct loupe *l)
{
    const float below = l->caption != NULL ? ui_target_px(ui) : 0;
    int least = 1 << 20, best = 0;
    float sx, sy;

    photo_to_screen(at, l->x, l->y, &sx, &sy);
    for (int i = 0; i < 4; i++) {
        const int c = (st->bench.corner + i) % 4;
        struct rect frame;
        int cost;

        l->r = (struct rect){c % 2 ? view.x + view.w - LOUPE_PX - LOUPE_EDGE : view.x + LOUPE_EDGE, c / 2 ? view.y + LOUPE_EDGE : view.y + view.h - LOUPE_PX - LOUPE_EDGE - below, LOUPE_PX, LOUPE_PX};
        frame = loupe_frame(ui, l);
        cost = bench_marks_in(ui, m, p, at, frame) + (is_within(frame, sx, sy, LOUPE_AWAY) ? 100 : 0);
        if (l->caption == NULL && is_within(frame, view.x + hit->x * view.w, view.y + hit->y * view.h, LOUPE_AWAY)) /* what is put away by a click stays for it */
            cost += 1000;
        if (st->bench.beside > 0 && c == 2) /* the photo's name is there */
            cost += 10;
        if (cost < least)
            least = cost, best = c;
        if (cost == 0)
            break;
    }
    st->bench.corner = best;
    l->r.x = best % 2 ? view.x + view.w - LOUPE_PX - LOUPE_EDGE : view.x + LOUPE_EDGE;
    l->r.y = best / 2 ? view.y + LOUPE_EDGE : view.y + view.h - LOUPE_PX - LOUPE_EDGE - below;
}

static void loupe_draw(struct ui *ui, const struct model *m, struct screen_state *st, const struct logbook_photo *p, const struct photo_place *at, const struct loupe *l)
{
    const struct rect r = l->r, frame = loupe_frame(ui, l);
    struct photo_place big = *at;
    float bx, by;

    big.zoom = fmaxf(at->zoom * 4, 2);
    big.cx = big.cy = 0;
    photo_to_screen(&big, l->x, l->y, &bx, &by);
    big.cx = r.x + r.w / 2 - bx;
    big.cy = r.y + r.h / 2 - by;
    ui_round(ui, frame, 6, UI_BAR);
    if (l->caption != NULL) {
        struct rect row = {r.x, r.y + r.h, r.w, ui_target_px(ui)}, cross = ui_cut_right(&row, row.h);
        const float cx = cross.x + cross.w / 2, cy = cross.y + cross.h / 2;
        static const char *const corners[] = {"lower left", "lower right", "upper left", "upper right"};
        struct ui_hit hit = ui_region(ui, "photo.corner-away", cross, UI_ROLE_BUTTON, "put the magnified gap away (L: it is back)", corners[st->bench.corner], 4);

        ui_text(ui, row, l->caption, &(struct ui_style){.weight = UI_SEMIBOLD, .colour = UI_BAR_TEXT});
        if (hit.hover)
            ui_round(ui, ui_inset(cross, 3, 3), 4, UI_BAR_FIELD);
        for (int k = -1; k <= 1; k += 2)
            ui_line(ui, cx - 5, cy - 5 * (float)k, cx + 5, cy + 5 * (float)k, 2, UI_BAR_TEXT);
        if (hit.clicked)
            st->bench.no_corner = true;
    }
    ui_clip_push(ui, r);
    ui_fill(ui, r, UI_DESK_DARK);
    photo_paint(ui, m, st, p, &big, r);
    bench_draw_marks(ui, m, st->bench.draft.n_points > 0 ? st : NULL, p, &big, r, NULL);
    bench_draw_offer(ui, m, st, p, &big);
    for (int i = 0; i < 4 && l->caption == NULL; i++) { /* cross hairs, open in the middle */
        float dx = i == 0 ? 1.0f : i == 1 ? -1.0f : 0, dy = i == 2 ? 1.0f : i == 3 ? -1.0f : 0, cx = r.x + r.w / 2, cy = r.y + r.h / 2;

        ui_line(ui, cx + dx * 8, cy + dy * 8, cx + dx * 22, cy + dy * 22, 3, UI_EDGE_DARK);
        ui_line(ui, cx + dx * 8, cy + dy * 8, cx + dx * 22, cy + dy * 22, 1, UI_EDGE_LIGHT);
    }
    ui_clip_pop(ui);
}

/* While something is drawn, or when it is asked for, at the pointer; else at a gap that is measured and too
 * small in the view to be judged by eye. False: nowhere. */
static bool loupe_wanted(const struct model *m, const struct screen_state *st, const struct logbook_photo *p, const struct photo_place *at, struct rect view, const struct ui_hit *hit,
                         struct loupe *l)
{
    const struct photo_measured *got = bench_measured(m, p->id);
    const struct photo_offer *offer = bench_offer(m, st, p);
    bool drawing = st->bench.tool == MARK_SCALE || st->bench.tool == MARK_HEX || st->bench.tool == MARK_LENGTH || st->bench.tool == MARK_GAP || st->bench.drag == BENCH_POINT;
    const double *x, *y;

    *l = (struct loupe){0};
    if (st->bench.framing != BENCH_FRAME_NONE)
        return false;
    if ((st->bench.loupe || drawing) && hit->hover) {
        photo_from_screen(at, view.x + hit->x * view.w, view.y + hit->y * view.h, &l->x, &l->y);
        return true;
    }
    if (st->bench.drag == BENCH_IDLE && st->bench.tool < 0 && got != NULL && got->gap_given && st->bench.beside == 0)
        x = got->gap_x, y = got->gap_y, l->caption = "ends held to the edges";
    else if (offer != NULL)
        x = offer->gap_x, y = offer->gap_y, l->caption = "found, not drawn";
    else
        return false;
    l->x = (x[0] + x[1]) / 2;
    l->y = (y[0] + y[1]) / 2;
    return !st->bench.no_corner && hypot(x[1] - x[0], y[1] - y[0]) * (double)at->zoom < 60;
}

/* By a factor about (ax, ay), from the middle of the view. */
static void zoom_about(struct screen_state *st, float by, float least, float ax, float ay)
{
    float zoom = st->zoom > 0 ? st->zoom : least, fresh = fminf(fmaxf(zoom * by, least), MOST_ZOOM);

    if (st->zoom <= 0)
        st->pan_x = st->pan_y = 0;
    st->pan_x = ax - (ax - st->pan_x) * fresh / zoom;
    st->pan_y = ay - (ay - st->pan_y) * fresh / zoom;
    st->zoom = fresh <= least * 1.001f ? 0 : fresh;
}

/* Zoomed and moved as st says; so far only that the middle of the view stays on the photo. */
static void lay(struct screen_state *st, struct photo_place *at)
{
    if (st->zoom <= 0)
        return;
    at->zoom = st->zoom;
    struct rect all = photo_bounds(at);

    st->pan_x = fminf(fmaxf(st->pan_x, -all.w / 2), all.w / 2);
    st->pan_y = fminf(fmaxf(st->pan_y, -all.h / 2), all.h / 2);
    at->cx += st->pan_x;
    at->cy += st->pan_y;
}

/* By two fingers, which also move it; what the first of them had begun to draw is let go of. */
static void pinch(struct screen_state *st, const struct ui_pinch *by, float least, struct rect view)
{
    if (st->bench.drag != BENCH_IDLE) {
        st->bench.drag = BENCH_IDLE;
        st->bench.draft.n_points = 0;
    }
    if (st->zoom <= 0) {
        st->zoom = least;
        st->pan_x = st->pan_y = 0;
    }
    st->pan_x += by->dx;
    st->pan_y += by->dy;
    zoom_about(st, expf(by->spread), least, by->x - view.x - view.w / 2, by->y - view.y - view.h / 2);
}

/* No mark is chosen: the photo itself is meant, which is asked first where a mark was just taken away. */
static void delete_key(struct ui *ui, struct screen_state *st, struct actions *out, const struct logbook_photo *p)
{
    if (!st->bench.mark_gone) {
        text_copy(actions_add(out, ACT_REMOVE_PHOTO)->id, UUID_BYTES, p->id);
        return;
    }
    st->bench.mark_gone = false;
    ui_toast(ui, "No mark is chosen (M: the next one). Delete once more takes the whole photo out.", NULL);
}

/* Another photo, another screen, out of the visit; what bench_keys() left. pressed: the key of a button below the photo, NULL none. */
static void photo_keys(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, const struct logbook_photo *p, float least, const char *pressed)
{
    int n = (int)m->n_photos;

    if (bench_turn_keys(ui, m, st, out, p) || bench_compare_keys(ui, m, st, pressed))
        return;
    if (ui_key(ui, "Right") || ui_key(ui, "."))
        show_photo(st, (st->photo + 1) % n);
    else if (ui_key(ui, "Left") || ui_key(ui, ","))
        show_photo(st, (st->photo + n - 1) % n);
    else if (ui_key(ui, "Escape")) {
        show_photo(st, -1);
        st->screen = SCREEN_PLAN;
    } else if (bench_asked(ui, pressed, "f"))
        st->zoom = 0;
    else if (bench_asked(ui, pressed, "1"))
        zoom_about(st, 1 / (st->zoom > 0 ? st->zoom : least), least, 0, 0);
    else if (bench_asked(ui, pressed, "l")) {
        st->bench.loupe = !st->bench.loupe;
        st->bench.no_corner = false;
    } else if (ui_key(ui, "k"))
        bench_take_colour(m, st, out, p);
    else if (m->can_write && ui_key(ui, "Delete"))
        delete_key(ui, st, out, p);
}

static void no_photos(struct ui *ui, const struct model *m, struct screen_state *st, struct rect r)
{
    struct ui_button add = {.look = UI_LOOK_DARK, .key = "F6"};

    ui_fill(ui, r, UI_DESK);
    ui_text(ui, (struct rect){r.x, r.y + r.h / 2 - 50, r.w, 30}, "No photos of this visit yet", &(struct ui_style){.size_px = 18, .weight = UI_SEMIBOLD, .colour = UI_DESK_TEXT, .align = UI_CENTRE});
    if (m->can_write && ui_button(ui, "photos.add", (struct rect){r.x + r.w / 2 - 90, r.y + r.h / 2, 180, 44}, "Add photos…", &add))
        screen_files_open(st, FILES_PHOTOS);
}

static bool same_tiles(const struct view_tiles *a, const struct view_tiles *b)
{
    return a->n == b->n && memcmp(a->list, b->list, a->n * sizeof a->list[0]) == 0;
}

/* For the outline: what of the photo is in the middle, and how. */
static void say_place(struct ui *ui, const struct photo_place *at, struct rect view)
{
    double x, y;
    char words[80];

    photo_from_screen(at, view.x + view.w / 2, view.y + view.h / 2, &x, &y);
    text_format(words, sizeof words, "%.0f, %.0f at %.0f %%, turned %.1f°", x, y, (double)at->zoom * 100, at->turn * 90 + at->lean_deg);
    ui_note(ui, "photo.place", view, "in the middle", words);
}

/* What can be done, in the line below the photo; true: it has room for buttons. */
static bool band_words(const struct model *m, const struct screen_state *st, const struct logbook_photo *p, const struct photo_place *at, char *to, size_t n_room)
{
    char zoom[40], label[48];

    text_format(zoom, sizeof zoom, "%.0f %%", (double)at->zoom * 100);
    if (p->lean_mdeg != 0)
        text_format(zoom, sizeof zoom, "%.0f %%   %+.1f°", (double)at->zoom * 100, p->lean_mdeg / 1000.0);
    if (st->bench.framing != BENCH_FRAME_NONE)
        bench_frame_words(m, st, p, to, n_room);
    else if (st->bench.levelling)
        text_format(to, n_room, "%s   draw along what shall be level or upright   Q W: by 1°, with Shift 0.1°   0: back   Esc", zoom);
    else if (bench_corners_begun(&st->bench))
        text_format(to, n_room, "%s   corners: %d   the first one, Enter or a double click: close   Backspace: one back   Esc", zoom, st->bench.draft.n_points);
    else if (st->bench.tool >= 0)
        text_format(to, n_room, "%s   %s   Enter: in the middle   Esc", zoom, bench_tool_of(st->bench.tool)->words);
    else if (bench_offer(m, st, p) != NULL)
        text_format(to, n_room, "%s   thread and gap lines are offered   Enter: use them   Esc: no   wheel: zoom   drag: pan", zoom);
    else if (bench_selected(m, st, p) != NULL)
        text_format(to, n_room, "%s   %s   Esc: let go", zoom, bench_tool_of(-1)->words);
    else if (bench_places_here(m, st, p)) {
        engine_plug_label(&m->record->engine, st->cylinder, st->position, label, sizeof label);
        text_format(to, n_room, "%s   Enter: onto plug %s, which is chosen   wheel: zoom   drag: pan   Esc: plan", zoom, label);
    } else {
        text_format(to, n_room, "%s   wheel: zoom   drag: pan", zoom);
        return true;
    }
    return false;
}

#define ZOOM_PX 80.0f /* "100 %" beside the buttons */

/* For the pointer what else only keys do, at the right end of the line, as many as there is room for; band: what they leave of it. The key of
 * the one pressed, NULL none. */
static const char *band_buttons(struct ui *ui, const struct model *m, const struct screen_state *st, struct rect *band)
{
    const struct bench_state *b = &st->bench;
    const bool beside = b->beside > 0, several = m->n_photos > 1;
    const struct {
        const char *key, *cap, *id, *label;
        bool shown;
    } list[] = {{"Escape", "Esc", "photo.do.alone", "Alone", beside},
                {"j", "J", "photo.do.blend", beside && b->blended ? "Side by side" : "Blend", several},
                {"c", "C", "photo.do.compare", beside ? "The next" : "Compare", several},
                {"l", "L", "photo.do.magnifier", "Magnifier", !beside},
                {"f", "F", "photo.do.fit", "Fit", true},
                {"1", "1", "photo.do.full", "100 %", true}};
    const char *pressed = NULL;

    struct rect row = ui_inset(*band, 8, 3);

    for (size_t i = 0; i < sizeof list / sizeof list[0]; i++) {
        struct ui_button look = {.look = UI_LOOK_BAR, .key = list[i].cap};

        if (!list[i].shown || row.w < ui_button_width(ui, list[i].label, &look) + ZOOM_PX)
            continue;
        if (ui_button(ui, list[i].id, ui_cut_right(&row, ui_button_width(ui, list[i].label, &look)), list[i].label, &look))
            pressed = list[i].key;
        ui_cut_right(&row, 4);
    }
    band->w = row.x + row.w - band->x;
    return pressed;
}

void screen_photos(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, struct rect r)
{
    const struct view_tiles was = st->tiles, was_other = st->other_tiles;
    const struct logbook_photo *p;
    struct rect view, left, band, other = {0};
    struct photo_place at;
    struct ui_hit hit;
    struct ui_pinch fingers;
    struct bench_covered covered = {.n = 0};
    struct loupe loupe;
    float least, by;
    bool drawing;
    const struct ui_style words = {.weight = UI_MEDIUM, .colour = UI_BAR_TEXT};
    const char *pressed = NULL;
    char line[260];

    st->tiles.n = st->other_tiles.n = 0;
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
    band = ui_cut_bottom(&r, fmaxf(36, ui_target_px(ui) + 4));
    if (st->bench.beside > (int)m->n_photos || st->bench.beside - 1 == st->photo)
        st->bench.beside = 0;
    if (st->bench.beside > 0 && !st->bench.blended)
        other = ui_cut_right(&r, r.w / 2);
    view = r;
    ui_fill(ui, view, UI_DESK_DARK);
    ui_fill(ui, band, UI_BAR_RAISED);
    hit = ui_region(ui, "photo.view", view, UI_ROLE_IMAGE, p->name, "", 0);
    if (!photo_ready(p)) {
        if (other.w > 0)
            bench_beside(ui, m, st, bench_other(m, st), NULL, 1, view, other);
        ui_text(ui, ui_inset(view, 60, view.h / 2 - 40), p->trouble[0] ? p->trouble : "This photo is still being taken in.", &(struct ui_style){.size_px = 14, .colour = UI_CARD, .max_lines = 4, .top = true});
        if (!ui_typing(ui) && st->panel == PANEL_NONE)
            photo_keys(ui, m, st, out, p, 1, NULL);
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
        zoom_about(st, powf(1.25f, by), least, hit.hover ? hit.x * view.w - view.w / 2 : 0, hit.hover ? hit.y * view.h - view.h / 2 : 0);
    if (ui_take_pinch(ui, view, &fingers))
        pinch(st, &fingers, least, view);
    lay(st, &at);
    drawing = bench_pointer(ui, m, st, out, p, &at, &hit, view);
    if (!drawing && hit.drag_began) {
        st->grab_x = hit.x * view.w - st->pan_x;
        st->grab_y = hit.y * view.h - st->pan_y;
    } else if (!drawing && hit.down && st->zoom > 0) {
        st->pan_x = hit.x * view.w - st->grab_x;
        st->pan_y = hit.y * view.h - st->grab_y;
        at = photo_fit(p, ui_inset(view, 16, 16));
        lay(st, &at);
    }
    say_place(ui, &at, view);
    ui_clip_push(ui, view);
    photo_paint(ui, m, st, p, &at, view);
    if (st->bench.beside > 0 && st->bench.blended)
        bench_blend(ui, m, st, p, &at, least, view);
    if (st->bench.beside > 0)
        covered.r[covered.n++] = bench_title_place(ui, m, p, view);
    if (st->bench.beside > 0 && st->bench.blended)
        covered.r[covered.n++] = bench_share_place(view);
    if (loupe_wanted(m, st, p, &at, view, &hit, &loupe)) {
        loupe_lay(ui, m, st, p, &at, view, &hit, &loupe);
        covered.r[covered.n++] = loupe_frame(ui, &loupe);
    }
    bench_draw_marks(ui, m, st, p, &at, view, &covered);
    if (st->bench.framing != BENCH_FRAME_NONE)
        bench_frame_draw(ui, m, st, p, view);
    else
        bench_draw_offer(ui, m, st, p, &at);
    if (loupe.r.w > 0)
        loupe_draw(ui, m, st, p, &at, &loupe);
    ui_clip_pop(ui);
    if (other.w > 0)
        bench_beside(ui, m, st, bench_other(m, st), &at, least, view, other);
    if (st->bench.beside > 0)
        bench_title(ui, m, p, view);
    if (!same_tiles(&was, &st->tiles) || !same_tiles(&was_other, &st->other_tiles))
        ui_wake_at_s(ui, ui_now_s(ui)); /* they are asked for after this frame */
    if (band_words(m, st, p, &at, line, sizeof line)) {
        pressed = band_buttons(ui, m, st, &band);
        if (ui_text_width(ui, line, &words) > band.w - 24)
            line[strcspn(line, "%") + 1] = '\0'; /* how the pointer zooms and pans is found without it */
    }
    ui_text(ui, ui_inset(band, 16, 0), line, &words);
    ui_note(ui, "photo.band", band, line, "");
    if (pressed != NULL) {
        photo_keys(ui, m, st, out, p, least, pressed);
        return;
    }
    if (ui_typing(ui) || st->panel != PANEL_NONE || (st->bench.framing != BENCH_FRAME_NONE && bench_frame_keys(ui, m, st, out, p, &at, view)))
        return;
    if (!bench_keys(ui, m, st, out, p, &at))
        photo_keys(ui, m, st, out, p, least, NULL);
}
