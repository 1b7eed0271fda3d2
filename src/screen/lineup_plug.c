/* lineup_plug.c - a plug cut out of its photo is a disc (from the side a card) at the scale of all others; a photo
 * that cannot be cut is shown as a square, so that nobody takes it for one to scale. */
#include "screen/lineup_plug.h"

#include <math.h>
#include <string.h>

#include "base/text.h"

struct lineup_plug lineup_plug_of(const struct model *m, int visit, struct plug_place at, enum crop_view view)
{
    const struct engine *en = &m->record->engine;
    const struct visit_photos *photos = m->lineup != NULL ? &m->lineup[visit] : NULL;
    struct lineup_plug p = {.reading = visit_reading_const(&m->record->visits[visit], en, at.cylinder, at.position), .cylinder = at.cylinder};
    size_t cut = (size_t)record_plug_index(en, at.cylinder, at.position) * CROP_VIEW_COUNT + (size_t)view;

    if (photos != NULL && cut < photos->n_cuts && photos->cuts[cut].plan != NULL && !photos->cuts[cut].facts.failed) {
        p.cut = &photos->cuts[cut];
        p.shown = p.cut->facts.known ? SHOWN_CUT : SHOWN_COMING;
        return p;
    }
    if (view == CROP_SIDE)
        return p;
    p.photo = photos != NULL ? logbook_bore_photo(photos->photos, photos->n, at.cylinder, at.position) : NULL;
    p.shown = p.photo != NULL && photo_ready(p.photo) ? SHOWN_WHOLE : reading_tells_plug(p.reading) ? SHOWN_DRAWN : SHOWN_NOTHING;
    return p;
}

void lineup_plug_words(const struct lineup_plug *p, char *to, size_t n_room)
{
    switch (p->shown) {
    case SHOWN_NOTHING: text_copy(to, n_room, reading_tells_plug(p->reading) ? "no photo of its side" : "not read"); break;
    case SHOWN_DRAWN: text_copy(to, n_room, "drawn from the reading"); break;
    case SHOWN_COMING: text_copy(to, n_room, "photo, being cut out"); break;
    case SHOWN_WHOLE: text_copy(to, n_room, "photo as taken, not to scale: its nose is not outlined, nor its frame set"); break;
    case SHOWN_CUT:
        text_format(to, n_room, "photo, %s, %s", p->cut->facts.by_hand ? "framed by hand" : p->cut->facts.by_eye ? "to scale by its nose" : "to measured scale", lineup_light_words(p->cut->facts.light));
        break;
    }
}

void lineup_plug_draw(struct ui *ui, const struct lineup_plug *p, float x, float y, float size, float share)
{
    struct rect box = {x - size / 2, y - size / 2, size, size};
    static const struct rect all = {0, 0, 1, 1};

    ui_fade(ui, share);
    switch (p->shown) {
    case SHOWN_CUT:
    case SHOWN_COMING:
        if (p->cut->plan->view == CROP_TIP) {
            if (share >= 1)
                ui_disc(ui, x, y, size / 2 + 1, (struct rgba){74, 73, 71, 255});
            ui_image(ui, box, p->cut->key, all, 0, true);
        } else {
            if (share >= 1)
                ui_fill(ui, box, UI_DESK_DARK);
            ui_image(ui, box, p->cut->key, all, 0, false);
        }
        break;
    case SHOWN_WHOLE: {
        float w = (float)p->photo->width, h = (float)p->photo->height, side = fminf(w, h);

        box = ui_inset(box, size * 0.08f, size * 0.08f);
        if (share >= 1)
            ui_fill(ui, box, UI_DESK_DARK);
        ui_image(ui, box, photo_key(p->photo->sha256, false), (struct rect){(1 - side / w) / 2, (1 - side / h) / 2, side / w, side / h}, p->photo->turn, false);
        break;
    }
    case SHOWN_DRAWN: {
        struct bore_look look = bore_look_of(p->reading, p->cylinder);

        bore_draw(ui, box, &look);
        break;
    }
    case SHOWN_NOTHING:
        if (share >= 1 && reading_tells_plug(p->reading))
            ui_round_dashed(ui, ui_inset(box, size * 0.1f, size * 0.1f), 4, 1, UI_DESK_DARK);
        else if (share >= 1)
            bore_open(ui, x, y, size / 2);
        if (share >= 1 && reading_tells_plug(p->reading) && size > 80)
            ui_text(ui, box, "no side photo", &(struct ui_style){.size_px = 11, .colour = UI_DESK_TEXT, .align = UI_CENTRE});
        break;
    }
    ui_fade(ui, 1);
}

void lineup_plug_signs(struct ui *ui, const struct engine *en, const struct lineup_plug *p, float x, float y, float size)
{
    enum level level = findings_plug_level(en, p->reading);

    if (p->shown == SHOWN_CUT && p->cut->facts.light != LINEUP_CORRECTED)
        ui_round_dashed(ui, (struct rect){x - size / 2 - 2, y - size / 2 - 2, size + 4, size + 4}, p->cut->plan->view == CROP_TIP ? size / 2 + 2 : 2, 1.5f, UI_DESK_TEXT);
    bore_well(ui, x, y, size / 2, p->reading);
    if (level > LEVEL_NONE && size >= 40)
        level_mark(ui, x + size * 0.42f, y - size * 0.42f, 12, level);
}
