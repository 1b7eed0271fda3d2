/* photo_compare.c - a second photo: beside the one shown, or laid over it, so that what differs is seen to
 * move or to change. */
#include <math.h>
#include <string.h>

#include "base/text.h"
#include "screen/photo_bench.h"

#define STEP 10 /* per cent, of the keys */

const struct logbook_photo *bench_other(const struct model *m, const struct screen_state *st)
{
    return st->bench.beside > 0 && st->bench.beside <= (int)m->n_photos ? &m->photos[st->bench.beside - 1] : NULL;
}

#define TITLE_PX 26.0f
static const struct ui_style title_style = {.weight = UI_SEMIBOLD, .colour = UI_DARK_TEXT};

static void title_words(const struct model *m, const struct logbook_photo *p, char *to, size_t n_room)
{
    char label[48] = "not placed";

    if (p->cylinder >= 0)
        engine_plug_label(&m->record->engine, p->cylinder, p->position > 0 ? p->position : 0, label, sizeof label);
    text_format(to, n_room, "%s%s · %s", p->cylinder >= 0 ? "cylinder " : "", label, p->name);
}

struct rect bench_title_place(struct ui *ui, const struct model *m, const struct logbook_photo *p, struct rect view)
{
    char line[400];

    title_words(m, p, line, sizeof line);
    return (struct rect){view.x + 12, view.y + 10, fminf(view.w - 24, ui_text_width(ui, line, &title_style) + 20), TITLE_PX};
}

void bench_title(struct ui *ui, const struct model *m, const struct logbook_photo *p, struct rect view)
{
    const struct rect r = bench_title_place(ui, m, p, view);
    char line[400];

    title_words(m, p, line, sizeof line);
    ui_round(ui, r, 4, UI_DARK);
    ui_text(ui, ui_inset(r, 10, 0), line, &title_style);
}

void bench_beside(struct ui *ui, const struct model *m, struct screen_state *st, const struct logbook_photo *p, const struct photo_place *first, float least, struct rect beside, struct rect view)
{
    struct photo_place at = photo_fit(p, ui_inset(view, 16, 16));
    const struct bench_covered covered = {{bench_title_place(ui, m, p, view)}, 1};

    if (first != NULL) {
        at.zoom *= first->zoom / least;
        at.cx += first->cx - (beside.x + beside.w / 2);
        at.cy += first->cy - (beside.y + beside.h / 2);
    }
    ui_fill(ui, view, UI_DESK_DARK);
    ui_note(ui, "photo.beside", view, "photo beside", p->name);
    if (photo_ready(p)) {
        ui_clip_push(ui, view);
        photo_paint_other(ui, m, st, p, &at, view, 1);
        bench_draw_marks(ui, m, NULL, p, &at, view, &covered);
        ui_clip_pop(ui);
    } else {
        ui_text(ui, ui_inset(view, 24, view.h / 2 - 40), p->trouble[0] ? p->trouble : "This photo is still being taken in.", &(struct ui_style){.size_px = 14, .colour = UI_CARD, .max_lines = 4, .top = true});
    }
    ui_fill(ui, (struct rect){view.x, view.y, 2, view.h}, UI_BAR);
    bench_title(ui, m, p, view);
}

/* Where the other lies: as large in proportion, in the middle of the first; where both have a gap line, with
 * that on the first one's. */
static struct photo_place over(const struct model *m, const struct logbook_photo *p, const struct photo_place *at, float least, const struct logbook_photo *other, struct rect view,
                               bool *by_gap)
{
    struct photo_place to = photo_fit(other, ui_inset(view, 16, 16));
    const struct logbook_mark *mine = bench_find(m, p, MARK_GAP), *its = bench_find(m, other, MARK_GAP);
    float ax, ay, bx, by;

    to.zoom *= at->zoom / least;
    to.cx = at->cx;
    to.cy = at->cy;
    *by_gap = mine != NULL && its != NULL;
    if (*by_gap) {
        photo_to_screen(at, (mine->x[0] + mine->x[1]) / 2, (mine->y[0] + mine->y[1]) / 2, &ax, &ay);
        photo_to_screen(&to, (its->x[0] + its->x[1]) / 2, (its->y[0] + its->y[1]) / 2, &bx, &by);
        to.cx += ax - bx;
        to.cy += ay - by;
    }
    return to;
}

struct rect bench_share_place(struct rect view)
{
    const float w = fminf(400, view.w - 24);

    return (struct rect){view.x + (view.w - w) / 2, view.y + view.h - 56, w, 44};
}

static void slider(struct ui *ui, struct screen_state *st, const struct logbook_photo *other, struct rect view, bool by_gap)
{
    const struct rect panel = bench_share_place(view);
    struct rect track;
    char words[300], value[16];
    struct ui_hit hit;

    ui_round(ui, panel, 6, UI_BAR);
    text_format(value, sizeof value, "%d %%", st->bench.share);
    text_format(words, sizeof words, "%s of %s%s", value, other->name, by_gap ? ", gap on gap" : "");
    track = (struct rect){panel.x + 44, panel.y + 20, panel.w - 88, 18};
    hit = ui_region(ui, "photo.blend", ui_inset(track, -8, -4), UI_ROLE_BUTTON, "share of the other photo", value, 6);
    if (hit.down || hit.drag_began) {
        float x = (hit.x * (track.w + 16) - 8) / track.w;

        st->bench.share = (int)lrintf(fminf(fmaxf(x, 0), 1) * 100);
    }
    if (hit.focused && ui_key(ui, "Left"))
        st->bench.share = st->bench.share > STEP ? st->bench.share - STEP : 0;
    if (hit.focused && ui_key(ui, "Right"))
        st->bench.share = st->bench.share < 100 - STEP ? st->bench.share + STEP : 100;
    ui_text(ui, (struct rect){panel.x + 44, panel.y + 2, panel.w - 88, 18}, words, &(struct ui_style){.weight = UI_MEDIUM, .colour = UI_BAR_TEXT, .align = UI_CENTRE});
    ui_round(ui, (struct rect){track.x, track.y + 7, track.w, 4}, 2, UI_BAR_QUIET);
    ui_disc(ui, track.x + track.w * (float)st->bench.share / 100, track.y + 9, 8, ui_rgba(UI_BAR_TEXT));
    ui_keycap(ui, panel.x + 36, panel.y + panel.h / 2, "Y", true);
    ui_keycap(ui, panel.x + panel.w - 10, panel.y + panel.h / 2, "Z", true);
}

void bench_blend(struct ui *ui, const struct model *m, struct screen_state *st, const struct logbook_photo *p, const struct photo_place *at, float least, struct rect view)
{
    const struct logbook_photo *other = bench_other(m, st);
    bool by_gap = false;

    if (photo_ready(other)) {
        struct photo_place to = over(m, p, at, least, other, view, &by_gap);

        ui_note(ui, "photo.over", view, "photo laid over", other->name);
        photo_paint_other(ui, m, st, other, &to, view, fminf((float)st->bench.share / 100, 0.9999f));
    }
    slider(ui, st, other, view, by_gap);
}

bool bench_asked(struct ui *ui, const char *pressed, const char *key)
{
    return (pressed != NULL && strcmp(pressed, key) == 0) || ui_key(ui, key);
}

bool bench_compare_keys(struct ui *ui, const struct model *m, struct screen_state *st, const char *pressed)
{
    struct bench_state *b = &st->bench;
    int n = (int)m->n_photos;

    if (b->beside > 0 && bench_asked(ui, pressed, "Escape")) {
        b->beside = 0;
    } else if (bench_asked(ui, pressed, "c")) { /* the next one, and at last none */
        do
            b->beside = b->beside >= n ? 0 : b->beside + 1;
        while (b->beside - 1 == st->photo);
    } else if (n > 1 && bench_asked(ui, pressed, "j")) { /* over it; again: beside it */
        b->blended = b->beside == 0 || !b->blended;
        if (b->beside == 0)
            b->beside = st->photo + 1 < n ? st->photo + 2 : st->photo;
    } else if (b->beside > 0 && b->blended && ui_key(ui, "y")) {
        b->share = b->share > STEP ? b->share - STEP : 0;
    } else if (b->beside > 0 && b->blended && ui_key(ui, "z")) {
        b->share = b->share < 100 - STEP ? b->share + STEP : 100;
    } else {
        return false;
    }
    return true;
}
