/* photo_colour.c - beside the photo: the colour of a nose, how it lies among the others, and what the patch
 * reflects. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/colour.h"
#include "base/text.h"
#include "screen/photo_bench.h"
#include "screen/refused.h"

bool bench_take_colour(const struct model *m, const struct screen_state *st, struct actions *out, const struct logbook_photo *p)
{
    const struct photo_measured *got = bench_measured(m, p->id);
    struct action *a;
    int cylinder, position;

    if (got == NULL || !got->colour_given || !bench_plug_of(m, st, p, &cylinder, &position) || !m->can_write)
        return false;
    a = actions_add(out, ACT_SET_NOSE);
    a->cylinder = cylinder;
    a->position = position;
    if (p->cylinder < 0)
        text_copy(a->id, sizeof a->id, p->id);
    memcpy(a->figures, got->lab, sizeof got->lab);
    return true;
}

/* Where this nose lies among the others of the visit, dark to light. */
static void strip_of_noses(struct bench_column *c, const struct model *m, const struct logbook_photo *p, const double lab[3])
{
    const struct visit *v = model_visit(m);
    struct rect row = ui_cut_top(&c->r, 34);
    float y = row.y + 16;

    ui_fill(c->ui, (struct rect){row.x + 8, y - 3, row.w - 16, 6}, UI_LINE);
    for (int i = 0; v != NULL && i < record_plug_count(&m->record->engine); i++) {
        const struct reading *r = &v->readings[i];

        if (r->nose_L.given && !(r->cylinder == p->cylinder && r->position == (p->position > 0 ? p->position : 0)))
            ui_disc(c->ui, row.x + 8 + (row.w - 16) * (float)fmin(fmax(r->nose_L.value / 100, 0), 1), y, 6, ui_rgba(UI_TEXT_QUIET));
    }
    ui_disc(c->ui, row.x + 8 + (row.w - 16) * (float)fmin(fmax(lab[0] / 100, 0), 1), y, 9, ui_rgba(UI_EDGE_LIGHT));
    ui_disc(c->ui, row.x + 8 + (row.w - 16) * (float)fmin(fmax(lab[0] / 100, 0), 1), y, 7.5f, ui_rgba(UI_SELECT));
    row = ui_cut_top(&c->r, 18);
    ui_text(c->ui, row, "dark", &(struct ui_style){.size_px = 11, .colour = UI_TEXT_QUIET});
    ui_text(c->ui, row, "light", &(struct ui_style){.size_px = 11, .colour = UI_TEXT_QUIET, .align = UI_RIGHT});
}

static int by_value(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;

    return (x > y) - (x < y);
}

/* The colour difference to the median of the other noses; less than 0: there are none. */
static double from_the_others(const struct model *m, const struct logbook_photo *p, const double lab[3])
{
    static const int most = ENGINE_MAX_PLUGS;
    const struct visit *v = model_visit(m);
    double of[3][ENGINE_MAX_PLUGS], median[3];
    int n = 0;

    for (int i = 0; v != NULL && i < record_plug_count(&m->record->engine) && n < most; i++) {
        const struct reading *r = &v->readings[i];

        if (!r->nose_L.given || (r->cylinder == p->cylinder && r->position == (p->position > 0 ? p->position : 0)))
            continue;
        of[0][n] = r->nose_L.value;
        of[1][n] = r->nose_a.value;
        of[2][n++] = r->nose_b.value;
    }
    if (n == 0)
        return -1;
    for (int k = 0; k < 3; k++) {
        qsort(of[k], (size_t)n, sizeof of[k][0], by_value);
        median[k] = n % 2 ? of[k][n / 2] : (of[k][n / 2 - 1] + of[k][n / 2]) / 2;
    }
    return colour_difference(lab, median);
}

/* How much light the patch reflects: a grey card's 0.18 where nothing else is said. */
static void reflectance(struct bench_column *c, struct screen_state *st, struct actions *out, const struct logbook_mark *patch)
{
    struct rect row = ui_cut_top(&c->r, ui_target_px(c->ui));
    struct logbook_mark changed = *patch;
    char typed[32], now[32] = "", name[64];
    double share = 0;
    unsigned did;

    text_format(name, sizeof name, "bench.reflects %s", patch->photo); /* what is refused stays with its photo */
    ui_text(c->ui, ui_cut_left(&row, 152), "The patch reflects", &(struct ui_style){.colour = UI_TEXT_SOFT});
    if (patch->known > 0)
        text_from_double(now, sizeof now, patch->known, 2);
    did = refused_text_field(c->ui, st, "bench.reflects", name, row, (struct ui_field){.name = "reflectance", .placeholder = "0.18; paper 0.9", .select_all = true}, now, typed, sizeof typed);
    if ((did & UI_COMMIT) != 0) {
        if (typed[0] == '\0' || (text_to_double(typed, &share) && share >= 0.02 && share <= 1)) {
            refused_drop(st, name);
            changed.known = share;
            bench_put(c->ui, out, &changed, 1, "Reflectance of the patch");
        } else {
            refused_here(c->ui, st, name, typed, did, "Write the share of light it sends back, 0.02 to 1: 0.18 a grey card, 0.9 white paper.");
        }
    }
    ui_cut_top(&c->r, 4 + refused_words(c->ui, st, "bench.reflects", name, c->r, true));
}

void bench_colour_part(struct bench_column *c, const struct model *m, struct screen_state *st, struct actions *out, const struct logbook_photo *p, const struct photo_measured *got)
{
    const struct reading *r = bench_reading_of(m, st, p);
    struct ui_button use = {.key = "K"};
    char words[200], plug[48], label[80];
    double apart;

    if (got == NULL || (bench_find(m, p, MARK_NOSE) == NULL && bench_find(m, p, MARK_PATCH) == NULL))
        return;
    bench_heading(c, "Colour of the nose");
    if (m->can_write && bench_find(m, p, MARK_PATCH) != NULL)
        reflectance(c, st, out, bench_find(m, p, MARK_PATCH));
    if (!got->colour_given) {
        if (got->colour_words[0] != '\0') {
            ui_note(c->ui, "bench.colour-why", (struct rect){c->r.x, c->r.y, c->r.w, 20}, "no colour", got->colour_words);
            bench_say(c, got->colour_words, UI_TEXT);
        }
        return;
    }
    {
        struct rect row = ui_cut_top(&c->r, 36), patch = ui_cut_left(&row, 36);

        ui_fill_rgba(c->ui, patch, (struct rgba){got->srgb[0], got->srgb[1], got->srgb[2], 255});
        ui_cut_left(&row, 12);
        text_format(words, sizeof words, "L* %.0f   a* %.0f   b* %.0f", got->lab[0], got->lab[1], got->lab[2]);
        ui_note(c->ui, "bench.colour", row, "colour", words);
        ui_text(c->ui, row, words, &(struct ui_style){.size_px = 14, .weight = UI_SEMIBOLD, .colour = UI_TEXT, .tabular = true});
        ui_cut_top(&c->r, 8);
    }
    text_format(words, sizeof words, "dark on %.0f %%, glossy on %.0f %% of the outline; lightness varies by %.0f", got->dark_share * 100, got->gloss_share * 100, got->spread);
    bench_say(c, words, UI_TEXT_SOFT);
    if (got->colour_words[0] != '\0')
        bench_say(c, got->colour_words, UI_TEXT_SOFT);
    if (got->suggest[0] != '\0') {
        ui_note(c->ui, "bench.suggest", (struct rect){c->r.x, c->r.y, c->r.w, 20}, "suggestion", got->suggest);
        bench_say(c, got->suggest, UI_TEXT);
    }
    strip_of_noses(c, m, p, got->lab);
    apart = from_the_others(m, p, got->lab);
    if (apart >= 0) {
        text_format(words, sizeof words, "ΔE %.1f from the median of the other noses.", apart);
        bench_say(c, words, UI_TEXT_SOFT);
    }
    bench_plug_words(m, st, p, plug, sizeof plug);
    if (plug[0] == '\0') {
        bench_say(c, "Say below which plug this is; then the colour can be taken over.", UI_TEXT);
    } else if (p->cylinder >= 0 && r != NULL && r->nose_L.given && fabs(r->nose_L.value - got->lab[0]) < 0.05) {
        text_format(label, sizeof label, "This is the colour noted of %s.", plug);
        bench_say(c, label, UI_TEXT);
    } else if (m->can_write) {
        text_format(label, sizeof label, p->cylinder < 0 ? "Place at %s, use as its colour" : "Use as nose colour of %s", plug);
        if (bench_button(c, "bench.use-colour", label, &use))
            bench_take_colour(m, st, out, p);
    }
}
