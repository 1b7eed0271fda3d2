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

/* Where this nose lies among the others of the visit: a scale from dark to light, a tick for each of them, this one's through it. */
static void strip_of_noses(struct bench_column *c, const struct model *m, const struct logbook_photo *p, const double lab[3])
{
    const struct visit *v = model_visit(m);
    struct rect row = ui_cut_top(&c->r, 34), bar = {row.x, row.y + 8, row.w, 12};
    const struct ui_style small = {.size_px = 11, .colour = UI_TEXT_QUIET}, right = {.size_px = 11, .colour = UI_TEXT_QUIET, .align = UI_RIGHT};
    const float x = bar.x + bar.w * (float)fmin(fmax(lab[0] / 100, 0), 1), step = bar.w / 50;
    const float name_px = ui_text_width(c->ui, "this nose", &small), end_px = fmaxf(ui_text_width(c->ui, "dark", &small), ui_text_width(c->ui, "light", &small)) + 6;
    int n_others = 0;

    for (int i = 0; i < 50; i++) { /* lightness in even steps */
        uint8_t rgb[3];

        colour_from_lab((i + 0.5) * 2, 0, 0, rgb);
        ui_fill_rgba(c->ui, (struct rect){bar.x + step * (float)i, bar.y, step + 0.5f, bar.h}, (struct rgba){rgb[0], rgb[1], rgb[2], 255});
    }
    ui_round_line(c->ui, bar, 1, 1, UI_TEXT_QUIET);
    for (int i = 0; v != NULL && i < record_plug_count(&m->record->engine); i++) {
        const struct reading *r = &v->readings[i];

        if (!r->nose_L.given || (r->cylinder == p->cylinder && r->position == (p->position > 0 ? p->position : 0)))
            continue;
        n_others++;
        ui_fill(c->ui, (struct rect){bar.x + bar.w * (float)fmin(fmax(r->nose_L.value / 100, 0), 1) - 1, bar.y + bar.h, 2, 7}, UI_TEXT_SOFT);
    }
    ui_fill(c->ui, (struct rect){x - 2.5f, bar.y - 6, 5, bar.h + 13}, UI_EDGE_LIGHT);
    ui_fill(c->ui, (struct rect){x - 1.5f, bar.y - 6, 3, bar.h + 13}, UI_SELECT);
    row = ui_cut_top(&c->r, 18);
    ui_text(c->ui, row, "dark", &small);
    ui_text(c->ui, row, "light", &right);
    ui_text(c->ui, (struct rect){fminf(fmaxf(x - name_px / 2, row.x + end_px), row.x + row.w - end_px - name_px), row.y, name_px + 2, row.h}, "this nose", &small);
    ui_note(c->ui, "bench.noses", bar, "lightness of this nose among the others", n_others == 0 ? "no other is known" : n_others == 1 ? "one other" : "several others");
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
    did = refused_text_field(c->ui, st, "bench.reflects", name, row, (struct ui_field){.name = "reflectance", .placeholder = "0.18; paper 0.8", .select_all = true}, now, typed, sizeof typed);
    if ((did & UI_COMMIT) != 0) {
        if (typed[0] == '\0' || (text_to_double(typed, &share) && share >= 0.02 && share <= 1)) {
            refused_drop(st, name);
            changed.known = share;
            bench_put(c->ui, out, &changed, 1, "Reflectance of the patch");
        } else {
            refused_here(c->ui, st, name, typed, did, "Write the share of light it sends back, 0.02 to 1: 0.18 a grey card, about 0.8 white paper.");
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
        bench_say(c, "Say above which plug this is; then the colour can be taken over.", UI_TEXT);
    } else if (p->cylinder >= 0 && r != NULL && r->nose_L.given && fabs(r->nose_L.value - got->lab[0]) < 0.05) {
        text_format(label, sizeof label, "This is the colour noted of %s.", plug);
        bench_say(c, label, UI_TEXT);
    } else if (m->can_write) {
        text_format(label, sizeof label, p->cylinder < 0 ? "Place at %s, use as its colour" : "Use as nose colour of %s", plug);
        if (bench_button(c, "bench.use-colour", label, &use))
            bench_take_colour(m, st, out, p);
    }
}
