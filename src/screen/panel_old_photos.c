/* panel_old_photos.c - a folder of photos on its way in: which visit and which plug each would go to. Nothing is
 * written before it is accepted. A folder may hold thousands: only the rows in view are made. */
#include <assert.h>
#include <math.h>
#include <string.h>

#include "base/files.h"
#include "base/text.h"
#include "screen/panels.h"

#define HEAD_PX 30
#define ROW_PX  24
#define GAP_PX  10

/* A column of rows at y, of which only those in the view are drawn. */
struct list {
    struct ui *ui;
    const struct model *m;
    struct rect view, content;
    float y;
};

static bool in_view(const struct list *l, float y, float h)
{
    return y + h > l->view.y && y < l->view.y + l->view.h;
}

/* Of n rows from l->y on those in the view: *from .. *to (exclusive). Goes on below them. */
static void rows_in_view(struct list *l, size_t n, size_t *from, size_t *to)
{
    float above = (l->view.y - l->y) / ROW_PX, shown = (l->view.y + l->view.h - l->y) / ROW_PX;

    *from = above <= 0 ? 0 : above >= (float)n ? n : (size_t)above;
    *to = shown <= 0 ? 0 : shown >= (float)n ? n : (size_t)ceilf(shown);
    l->y += (float)n * ROW_PX;
}

static void visit_words(const struct old_visit *v, char *to, size_t n_room)
{
    char date[32], last[32];
    bool several = strcmp(v->date, v->last_day) != 0;

    clock_date_words(v->date, date, sizeof date);
    clock_date_words(v->last_day, last, sizeof last);
    text_format(to, n_room, "%s%s%s · %s · %zu photo%s, %zu onto plugs", date, several ? " to " : "", several ? last : "",
                v->id[0] ? "the visit there is" : "a new visit", v->n_photos, v->n_photos == 1 ? "" : "s", v->n_placed);
}

static void photo_row(const struct list *l, const struct old_photo *x, float y)
{
    struct rect row = {l->content.x + 16, y, l->content.w - 32, ROW_PX};
    char plug[48], line[120];

    if (x->cylinder >= 0) {
        engine_plug_label(&l->m->record->engine, x->cylinder, x->position, plug, sizeof plug);
        text_format(line, sizeof line, "%s · %s", plug, zone_row((enum zone)x->zone)->label);
    } else {
        text_copy(line, sizeof line, "into the tray");
    }
    ui_text(l->ui, ui_cut_right(&row, 200), line, &(struct ui_style){.align = UI_RIGHT, .colour = x->cylinder >= 0 ? UI_TEXT : UI_TEXT_SOFT});
    ui_text(l->ui, row, x->shown, &(struct ui_style){.colour = UI_TEXT_SOFT});
}

/* The visit's own photos stand together from `photos` on. */
static void old_visit(struct list *l, size_t v, const struct old_photo *photos)
{
    const struct old_visit *visit = &l->m->take_photos->visits[v];
    struct rect head = {l->content.x, l->y, l->content.w - 16, HEAD_PX};
    size_t from, to;
    float top;

    if (in_view(l, l->y, HEAD_PX)) {
        char line[200], id[40];

        visit_words(visit, line, sizeof line);
        text_format(id, sizeof id, "old.visit.%zu", v + 1);
        ui_text(l->ui, head, line, &(struct ui_style){.size_px = 14, .weight = UI_SEMIBOLD});
        ui_note(l->ui, id, head, "visit", line);
    }
    top = l->y += HEAD_PX;
    rows_in_view(l, visit->n_photos, &from, &to);
    for (size_t i = from; i < to; i++) {
        assert(photos[i].visit == (int)v);
        photo_row(l, &photos[i], top + (float)i * ROW_PX);
    }
    l->y += GAP_PX;
}

/* They come first in the list of photos: no date sorts before any. */
static void undated(struct list *l, const struct old_photos *p)
{
    size_t from, to;
    float top;

    level_mark(l->ui, l->content.x + 8, l->y + 14, 13, LEVEL_WATCH);
    ui_text(l->ui, (struct rect){l->content.x + 26, l->y, l->content.w - 40, HEAD_PX}, "Without a date: these stay out", &(struct ui_style){.size_px = 14, .weight = UI_SEMIBOLD});
    top = l->y += HEAD_PX;
    rows_in_view(l, p->n_undated, &from, &to);
    for (size_t i = from; i < to; i++)
        ui_text(l->ui, (struct rect){l->content.x + 26, top + (float)i * ROW_PX, l->content.w - 40, ROW_PX}, p->photos[i].shown, &(struct ui_style){.colour = UI_TEXT_SOFT});
}

void panel_old_photos(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out)
{
    const struct old_photos *p = m->take_photos;
    struct ui_button take = {.look = UI_LOOK_DARK, .key = "Ctrl+Enter"};
    const struct old_photo *photos = p->photos + p->n_undated;
    struct list l = {.ui = ui, .m = m};
    struct rect r, foot;
    char line[260];

    text_format(line, sizeof line, "Take over: %s", TEXT_SHORT(files_name(m->take_folder), 120));
    r = panel_begin(ui, "panel.old", panel_middle(ui, 900, 860), line, st);
    foot = ui_cut_bottom(&r, 46);
    old_photos_words(p, line, sizeof line);
    ui_text(ui, ui_cut_top(&r, 26), line, &(struct ui_style){.weight = UI_SEMIBOLD});
    ui_note(ui, "old.words", r, "photos", line);
    ui_text(ui, ui_cut_top(&r, 26), "By dates and cylinders in names, else by the day the camera noted. What is in the logbook already is not taken twice.", &(struct ui_style){.colour = UI_TEXT_SOFT});
    ui_cut_top(&r, 6);
    l.view = r;
    l.content = ui_scroll_begin(ui, "old.list", r);
    l.y = l.content.y;
    for (size_t v = 0; v < p->n_visits; photos += p->visits[v++].n_photos)
        old_visit(&l, v, photos);
    if (p->n_undated > 0)
        undated(&l, p);
    ui_scroll_end(ui, l.y - l.content.y);
    ui_cut_top(&foot, 8);
    take.disabled = !m->can_write ? m->why_read_only : p->n == p->n_undated ? "no photo has a date" : NULL;
    if ((ui_button(ui, "old.accept", ui_cut_left(&foot, ui_button_width(ui, "Take over", &take)), "Take over", &take) || ui_key(ui, "Ctrl+Enter")) && take.disabled == NULL)
        actions_add(out, ACT_TAKE_ACCEPT);
    ui_cut_left(&foot, 14);
    ui_text(ui, foot, take.disabled != NULL ? take.disabled : "One step of undo takes all of it back; the files stay as they are.", &(struct ui_style){.colour = UI_TEXT_SOFT});
    ui_modal_end(ui);
    if (st->panel == PANEL_NONE)
        actions_add(out, ACT_TAKE_STOP);
}
