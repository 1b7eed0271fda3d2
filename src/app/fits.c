#include "app/fits.h"

#include <math.h>
#include <string.h>

#include "base/text.h"
#include "ui/ui.h"

#define SLACK 1.5f    /* px: rounding */
#define TOUCH_W 3.0f  /* so much may lie over a text: its box is larger than its letters */
#define TOUCH_H 5.0f
#define TALL 96.0f    /* of what is taller than a small area, the beginning is enough */

static struct rect common(struct rect a, struct rect b)
{
    float x0 = fmaxf(a.x, b.x), y0 = fmaxf(a.y, b.y);

    return (struct rect){x0, y0, fmaxf(0, fminf(a.x + a.w, b.x + b.w) - x0), fmaxf(0, fminf(a.y + a.h, b.y + b.h) - y0)};
}

static bool is_area(const struct ui_draw *d)
{
    return (d->type == UI_DRAW_FILL || d->type == UI_DRAW_ROUND || d->type == UI_DRAW_DISC) && d->colour.a == 255;
}

/* What a text stands on at a place: the last area below it there; NULL when that is a picture, or nothing. */
static const struct ui_draw *below(const struct ui_draw *all, size_t i, float x, float y)
{
    while (i-- > 0)
        if (ui_inside(all[i].r, x, y)) {
            if (is_area(&all[i]))
                return &all[i];
            if (all[i].type == UI_DRAW_IMAGE || all[i].type == UI_DRAW_PAINTING)
                return NULL;
        }
    return NULL;
}

/* A field scrolls its text, and a photo is moved below its frame. */
static bool may_be_cut(const struct ui *ui, struct rect seen)
{
    size_t n;
    const struct ui_widget *all = ui_widgets(ui, &n);

    for (size_t i = 0; i < n; i++)
        if ((all[i].role == UI_ROLE_FIELD || strcmp(all[i].id, "photo.view") == 0) && ui_inside(all[i].bounds, seen.x + seen.w / 2, seen.y + seen.h / 2))
            return true;
    return false;
}

static const char *trouble(const struct ui *ui, const struct ui_draw *all, size_t n, size_t i, struct rect clip, struct rect seen)
{
    const struct ui_draw *t = &all[i];
    const struct rect screen = ui_screen(ui);
    const struct ui_draw *from = below(all, i, t->r.x + 1, t->r.y + t->r.h / 2), *to = below(all, i, t->r.x + t->r.w - 1, t->r.y + t->r.h / 2);
    struct rect now = clip;

    if (strcmp(t->text, "…") == 0)
        return "nothing is left of it but its ellipsis";
    if ((t->r.x < clip.x - SLACK || t->r.x + t->r.w > clip.x + clip.w + SLACK) && !may_be_cut(ui, seen))
        return "it is cut without an ellipsis";
    if (clip.w >= screen.w && clip.h >= screen.h && t->r.y + t->r.h > screen.h + SLACK)
        return "it leaves the window at its foot";
    if (from != NULL && to != NULL && from != to && (from->r.x > t->r.x + t->r.w || t->r.x + t->r.w > from->r.x + from->r.w + SLACK) && to->r.w * to->r.h > 0 && to < from)
        return "it leaves the area it stands on";
    for (size_t k = i + 1; k < n; k++) {
        struct rect over;

        if (all[k].type == UI_DRAW_CLIP)
            now = all[k].r;
        if (!is_area(&all[k]) && all[k].type != UI_DRAW_TEXT)
            continue;
        over = common(common(all[k].r, now), seen);
        if (over.w > TOUCH_W && over.h > TOUCH_H)
            return all[k].type == UI_DRAW_TEXT ? "another text is written over it" : "it is covered";
    }
    return NULL;
}

bool fits_read(const struct ui *ui, struct text *why)
{
    struct rect clip = ui_screen(ui);
    size_t n, from = 0;
    const struct ui_draw *all = ui_draws(ui, &n);
    bool fine = true;

    for (size_t i = 0; i < n; i++)
        if (all[i].type == UI_DRAW_FILL && all[i].colour.a == ui_rgba(UI_SHADE).a && all[i].r.w >= clip.w)
            from = i;
    for (size_t i = 0; i < n; i++) {
        struct rect seen;
        const char *what;

        if (all[i].type == UI_DRAW_CLIP)
            clip = all[i].r;
        if (i < from || all[i].type != UI_DRAW_TEXT)
            continue;
        seen = common(all[i].r, clip);
        if (seen.w <= TOUCH_W || seen.h <= TOUCH_H)
            continue;
        what = trouble(ui, all, n, i, clip, seen);
        if (what != NULL) {
            text_addf(why, "%s“%s” at %.0f, %.0f: %s", fine ? "" : "; ", TEXT_SHORT(all[i].text, 40), (double)all[i].r.x, (double)all[i].r.y, what);
            fine = false;
        }
    }
    return fine;
}

bool fits_seen(const struct ui_widget *w)
{
    return w->bounds.w >= w->whole.w - SLACK && w->bounds.h >= fminf(w->whole.h, TALL) - SLACK;
}

const struct ui_widget *fits_hidden(const struct ui *ui, int *from)
{
    size_t n;
    const struct ui_widget *all = ui_widgets(ui, &n);
    int top = 0;

    for (size_t i = 0; i < n; i++)
        top = all[i].layer > top ? all[i].layer : top;
    while (*from < (int)n) {
        const struct ui_widget *w = &all[(*from)++];

        if (w->layer == top && w->takes_focus && w->enabled && !fits_seen(w))
            return w;
    }
    return NULL;
}
