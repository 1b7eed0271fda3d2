/* photo_facts.c - beside the photo: what was measured in it and what that rests on, its marks, and onto
 * which plug it belongs. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/colour.h"
#include "base/mem.h"
#include "base/text.h"
#include "screen/photo_bench.h"
#include "screen/refused.h"

/* A column that is filled from the top. */
struct column {
    struct ui *ui;
    struct rect r;
};

static void say(struct column *c, const char *words, enum ui_colour colour)
{
    struct ui_style style = {.colour = colour, .top = true, .max_lines = 12};
    float h = ui_text_height(c->ui, c->r.w, words, &style);

    ui_text(c->ui, ui_cut_top(&c->r, h), words, &style);
    ui_cut_top(&c->r, 6);
}

static void title(struct column *c, const char *words)
{
    ui_text(c->ui, ui_cut_top(&c->r, 28), words, &(struct ui_style){.size_px = 18, .weight = UI_SEMIBOLD, .colour = UI_TEXT});
    ui_cut_top(&c->r, 2);
}

static void heading(struct column *c, const char *words)
{
    ui_cut_top(&c->r, 10);
    ui_heading(c->ui, ui_cut_top(&c->r, 24), words);
}

static bool button(struct column *c, const char *id, const char *label, const struct ui_button *o)
{
    bool hit = ui_button(c->ui, id, ui_cut_left(&(struct rect){c->r.x, c->r.y, c->r.w, fmaxf(36, ui_target_px(c->ui))}, fminf(c->r.w, ui_button_width(c->ui, label, o))), label, o);

    ui_cut_top(&c->r, fmaxf(36, ui_target_px(c->ui)) + 8);
    return hit;
}

static const struct photo_measured *measured(const struct model *m, const struct logbook_photo *p)
{
    return m->measured != NULL && strcmp(m->measured->photo, p->id) == 0 ? m->measured : NULL;
}

/* The plug that a figure would be taken for: the photo's, else the one selected on the plan. False: none. */
static bool plug_of(const struct model *m, const struct screen_state *st, const struct logbook_photo *p, int *cylinder, int *position)
{
    *cylinder = p->cylinder >= 0 ? p->cylinder : st->cylinder;
    *position = p->cylinder < 0 ? st->position : p->position > 0 ? p->position : 0;
    return *cylinder >= 0 && *cylinder < m->record->engine.n_cylinders;
}

static void plug_words(const struct model *m, const struct screen_state *st, const struct logbook_photo *p, char *to, size_t n_room)
{
    int cylinder, position;

    to[0] = '\0';
    if (plug_of(m, st, p, &cylinder, &position))
        engine_plug_label(&m->record->engine, cylinder, position, to, n_room);
}

static const struct reading *reading_of(const struct model *m, const struct screen_state *st, const struct logbook_photo *p)
{
    int cylinder, position;

    return plug_of(m, st, p, &cylinder, &position) ? model_reading(m, cylinder, position) : NULL;
}

/* ---- taking over ---- */

/* The plug has this gap already, as fine as it is written. */
static bool gap_is_taken(const struct model *m, const struct screen_state *st, const struct logbook_photo *p, double mm)
{
    const struct reading *r = reading_of(m, st, p);
    char one[16], other[16];

    if (p->cylinder < 0 || r == NULL || !r->gap_mm.given)
        return false;
    model_format_gap(m, mm, one, sizeof one);
    model_format_gap(m, r->gap_mm.value, other, sizeof other);
    return strcmp(one, other) == 0;
}

static void take_gap(const struct model *m, const struct screen_state *st, struct actions *out, const struct logbook_photo *p, double mm)
{
    struct action *a = actions_add(out, ACT_SET_GAP);

    plug_of(m, st, p, &a->cylinder, &a->position);
    if (p->cylinder < 0)
        text_copy(a->id, sizeof a->id, p->id);
    model_format_gap(m, mm, a->text, sizeof a->text);
    text_format(a->text + strlen(a->text), sizeof a->text - strlen(a->text), m->inches ? " in" : " mm"); /* named: a measured one is not asked about */
}

bool bench_take(const struct model *m, struct screen_state *st, struct actions *out, const struct logbook_photo *p)
{
    const struct photo_measured *got = measured(m, p);
    int cylinder, position;

    if (got == NULL || !m->can_write)
        return false;
    if (got->gap_given && !got->busy && plug_of(m, st, p, &cylinder, &position) && !gap_is_taken(m, st, p, got->gap_mm)) {
        take_gap(m, st, out, p, got->gap_mm);
        return true;
    }
    return false;
}

bool bench_take_colour(const struct model *m, const struct screen_state *st, struct actions *out, const struct logbook_photo *p)
{
    const struct photo_measured *got = measured(m, p);
    struct action *a;
    int cylinder, position;

    if (got == NULL || !got->colour_given || !plug_of(m, st, p, &cylinder, &position) || !m->can_write)
        return false;
    a = actions_add(out, ACT_SET_NOSE);
    a->cylinder = cylinder;
    a->position = position;
    if (p->cylinder < 0)
        text_copy(a->id, sizeof a->id, p->id);
    memcpy(a->lab, got->lab, sizeof a->lab);
    return true;
}

/* ---- gap and scale ---- */

static void gap_sentence(const struct model *m, const struct photo_measured *got, const struct reading *r, char *to, size_t n_room)
{
    const struct engine_plug_spec *spec = &m->record->engine.plug;
    char other[16], limit[16], gauge[16];
    size_t used;
    double most = spec->gap_limit_mm > 0 ? spec->gap_limit_mm : spec->gap_max_mm;

    text_from_double(other, sizeof other, m->inches ? got->gap_mm : got->gap_mm / 25.4, m->inches ? 2 : 3);
    text_format(to, n_room, "%s %s", other, m->inches ? "mm" : "in");
    used = strlen(to);
    if (most > 0) {
        const char *verdict = got->gap_mm - got->gap_pm_mm > most ? "past it" : got->gap_mm + got->gap_pm_mm > most ? "may be past it, use the feeler gauge" : got->gap_mm + got->gap_pm_mm < spec->gap_min_mm ? "and below the range" : "within";

        model_format_gap(m, most, limit, sizeof limit);
        text_format(to + used, n_room - used, " · %s %s %s: %s", spec->gap_limit_mm > 0 ? "limit" : "upper end", limit, m->inches ? "in" : "mm", verdict);
        used = strlen(to);
    }
    if (r != NULL && r->gap_mm.given) {
        double off = fabs(r->gap_mm.value - got->gap_mm);

        model_format_gap(m, r->gap_mm.value, gauge, sizeof gauge);
        text_format(to + used, n_room - used, ". Noted: %s %s, %s", gauge, m->inches ? "in" : "mm", off <= got->gap_pm_mm ? "which agrees." : "which the photo does not bear out.");
    }
}

static void gap_part(struct column *c, const struct model *m, struct screen_state *st, struct actions *out, const struct logbook_photo *p, const struct photo_measured *got)
{
    const struct reading *r = reading_of(m, st, p);
    struct ui_button use = {.look = UI_LOOK_DARK, .key = "Enter"};
    char words[500], size[16], pm[16], plug[48], label[80];

    title(c, "Gap from the photo");
    if (got != NULL && got->gap_given) {
        struct rect row = ui_cut_top(&c->r, 36);
        struct ui_style big = {.size_px = 26, .weight = UI_BOLD, .colour = UI_TEXT, .tabular = true};

        model_format_gap(m, got->gap_mm, size, sizeof size);
        model_format_gap(m, got->gap_pm_mm, pm, sizeof pm);
        ui_text(c->ui, ui_cut_left(&row, ui_text_width(c->ui, size, &big) + 10), size, &big);
        text_format(words, sizeof words, "%s ± %s%s", m->inches ? "in" : "mm", pm, got->busy ? " …" : "");
        ui_text(c->ui, row, words, &(struct ui_style){.size_px = 18, .colour = UI_TEXT_SOFT});
        text_format(label, sizeof label, "%s %s", size, words);
        ui_note(c->ui, "bench.gap", row, "gap", label);
        gap_sentence(m, got, r, words, sizeof words);
        say(c, words, UI_TEXT_SOFT);
        if (got->gap_words[0] != '\0')
            say(c, got->gap_words, UI_TEXT_SOFT);
        say(c, "Check it with a feeler gauge before you act on it.", UI_TEXT_SOFT);
        plug_words(m, st, p, plug, sizeof plug);
        if (plug[0] == '\0') {
            say(c, "Say below which plug this is; then the gap can be taken over.", UI_TEXT);
        } else if (gap_is_taken(m, st, p, got->gap_mm)) {
            text_format(label, sizeof label, "This is the gap noted of %s.", plug);
            ui_note(c->ui, "bench.taken", (struct rect){c->r.x, c->r.y, c->r.w, 20}, "taken", label);
            say(c, label, UI_TEXT);
        } else if (m->can_write) {
            text_format(label, sizeof label, p->cylinder < 0 ? "Place at %s, use as its gap" : r != NULL && r->gap_mm.given ? "Use as gap of %s instead" : "Use as gap of %s", plug);
            if (button(c, "bench.use-gap", label, &use))
                take_gap(m, st, out, p, got->gap_mm);
        }
        return;
    }
    if (got != NULL && got->gap_words[0] != '\0') {
        ui_note(c->ui, "bench.gap-why", (struct rect){c->r.x, c->r.y, c->r.w, 20}, "no gap", got->gap_words);
        say(c, got->gap_words, UI_TEXT);
    } else if (got != NULL && got->busy && bench_find(m, p, MARK_GAP) != NULL) {
        say(c, "Measuring …", UI_TEXT_SOFT);
    }
    if (bench_find(m, p, MARK_GAP) == NULL || bench_find(m, p, MARK_SCALE) == NULL)
        say(c, "On a side view: a line along the threads (S) gives the scale, a line across the gap (G) the gap. Rough is enough.", UI_TEXT_SOFT);
}

static void scale_part(struct column *c, const struct model *m, struct actions *out, const struct logbook_photo *p, const struct photo_measured *got)
{
    const struct logbook_mark *line = bench_find(m, p, MARK_SCALE);
    static const char *const threads[] = {"M8x1.0", "M10x1.0", "M12x1.25", "M14x1.25", "M18x1.5"};
    const char *card = m->record->engine.plug.thread[0] != '\0' ? m->record->engine.plug.thread : "M14x1.25", *thread;
    char words[160], typed[32], now[32] = "";
    struct logbook_mark changed;

    if (line == NULL)
        return;
    changed = *line;
    thread = line->thread[0] != '\0' ? line->thread : card;
    heading(c, "Scale");
    if (got != NULL && got->scale_given) {
        if (got->n_periods > 0) {
            ui_value_row(c->ui, "bench.thread", ui_cut_top(&c->r, 32), got->on_outline ? "From the thread, outline" : "From the thread, middle", thread, true, NULL);
            text_format(words, sizeof words, "%.2f px over %.1f threads", got->pitch_px, got->n_periods);
            ui_value_row(c->ui, "bench.pitch", ui_cut_top(&c->r, 32), "Pitch found", words, false, NULL);
        }
        text_format(words, sizeof words, "%.2f px/mm ± %.1f %%", got->px_per_mm, 100 * got->px_per_mm_pm / got->px_per_mm);
        ui_value_row(c->ui, "bench.scale", ui_cut_top(&c->r, 32), "Scale", words, false, NULL);
        ui_cut_top(&c->r, 6);
    }
    if (got != NULL && got->scale_words[0] != '\0') {
        ui_note(c->ui, "bench.scale-words", (struct rect){c->r.x, c->r.y, c->r.w, 20}, "scale", got->scale_words);
        say(c, got->scale_words, got->scale_given ? UI_TEXT_SOFT : UI_TEXT);
    }
    if (!m->can_write)
        return;
    if (line->known <= 0) { /* another plug than the card's */
        struct ui_flow flow = ui_flow_begin(c->r, ui_target_px(c->ui));

        for (size_t i = 0; i < sizeof threads / sizeof threads[0]; i++) {
            char id[40];

            text_format(id, sizeof id, "bench.thread.%s", threads[i]);
            if (ui_chip(c->ui, id, ui_flow_next(&flow, ui_chip_width(c->ui, threads[i], NULL)), threads[i], strcmp(thread, threads[i]) == 0, NULL)) {
                text_copy(changed.thread, sizeof changed.thread, strcmp(threads[i], card) == 0 ? "" : threads[i]);
                bench_put(c->ui, out, &changed, 1, "Thread of the photo");
            }
        }
        ui_cut_top(&c->r, ui_flow_height(&flow) + 8);
    }
    {
        struct rect row = ui_cut_top(&c->r, ui_target_px(c->ui));
        double mm;
        unsigned did;

        ui_text(c->ui, ui_cut_left(&row, 152), "It is a known length, mm", &(struct ui_style){.colour = UI_TEXT_SOFT});
        if (line->known > 0)
            text_from_double(now, sizeof now, line->known, 2);
        did = ui_text_field(c->ui, "bench.known", row, &(struct ui_field){.name = "known length", .placeholder = "16", .select_all = true}, now, typed, sizeof typed);
        if ((did & UI_COMMIT) != 0 && (typed[0] == '\0' || (text_to_double(typed, &mm) && mm > 0 && mm < 1000))) {
            changed.known = typed[0] == '\0' ? 0 : mm;
            bench_put(c->ui, out, &changed, 1, "Known length");
        }
        ui_cut_top(&c->r, 6);
    }
}

/* ---- marks ---- */

static void chosen_part(struct column *c, const struct model *m, struct screen_state *st, struct actions *out, const struct logbook_mark *mark)
{
    struct logbook_mark changed = *mark;
    struct ui_button away = {.look = UI_LOOK_QUIET, .key = "Delete"};
    char typed[256];
    unsigned did;
    struct rect row = ui_cut_top(&c->r, ui_target_px(c->ui));

    if (!m->can_write)
        return;
    did = ui_text_field(c->ui, "bench.text", row, &(struct ui_field){.name = "words on the mark", .placeholder = "words beside it"}, mark->text, typed, sizeof typed);
    if ((did & UI_COMMIT) != 0 && strcmp(typed, mark->text) != 0) {
        text_copy(changed.text, sizeof changed.text, typed);
        bench_put(c->ui, out, &changed, 1, "Words on a mark");
    }
    ui_cut_top(&c->r, 6);
    row = ui_cut_top(&c->r, ui_target_px(c->ui));
    for (int i = 0; i < MARK_COLOUR_COUNT; i++) {
        const struct mark_colour_row *k = mark_colour_row((enum mark_colour)i);
        struct rect cell = ui_cut_left(&row, ui_target_px(c->ui));
        char id[32];
        struct ui_hit hit;

        text_format(id, sizeof id, "bench.colour.%s", k->id);
        hit = ui_region(c->ui, id, cell, UI_ROLE_TOGGLE, k->id, mark->colour == (enum mark_colour)i ? "on" : "off", 6);
        ui_disc(c->ui, cell.x + cell.w / 2, cell.y + cell.h / 2, 10, ui_rgba(UI_EDGE_DARK));
        ui_disc(c->ui, cell.x + cell.w / 2, cell.y + cell.h / 2, 8.5f, (struct rgba){k->r, k->g, k->b, 255});
        if (mark->colour == (enum mark_colour)i)
            ui_select_ring(c->ui, cell.x + cell.w / 2, cell.y + cell.h / 2, 13, 2);
        if (hit.clicked) {
            changed.colour = (enum mark_colour)i;
            bench_put(c->ui, out, &changed, 1, "Colour of a mark");
        }
    }
    ui_cut_left(&row, 8);
    if (ui_chip(c->ui, "bench.wide", ui_cut_left(&row, ui_chip_width(c->ui, "bold", NULL)), "bold", mark->width_px > 2, NULL)) {
        changed.width_px = mark->width_px > 2 ? 2 : 4;
        bench_put(c->ui, out, &changed, 1, "Line of a mark");
    }
    ui_cut_top(&c->r, 6);
    if (button(c, "bench.delete", "Take the mark away", &away)) {
        text_copy(actions_add(out, ACT_REMOVE_MARK)->id, UUID_BYTES, mark->id);
        bench_let_go(st);
    }
}

static void marks_part(struct column *c, const struct model *m, struct screen_state *st, struct actions *out, const struct logbook_photo *p)
{
    struct ui_button save = {.key = "Ctrl+S"};
    size_t n;
    const struct logbook_mark *marks = bench_marks(m, p->id, &n);

    if (n == 0)
        return;
    heading(c, "Marks");
    for (size_t i = 0; i < n; i++) {
        bool chosen = strcmp(marks[i].id, st->bench.mark) == 0;
        char words[400], id[64];

        bench_mark_words(m, &marks[i], words, sizeof words);
        text_format(id, sizeof id, "bench.mark.%.36s", marks[i].id);
        if (ui_value_row(c->ui, id, ui_cut_top(&c->r, 32), mark_kind_row(marks[i].kind)->label, words, chosen, NULL)) {
            bench_pick(st, -1);
            text_copy(st->bench.mark, sizeof st->bench.mark, marks[i].id);
        }
        if (chosen) {
            ui_cut_top(&c->r, 6);
            chosen_part(c, m, st, out, &marks[i]);
        }
    }
    ui_cut_top(&c->r, 10);
    if (button(c, "bench.export", "Save a copy with marks", &save))
        text_copy(actions_add(out, ACT_EXPORT_MARKS)->id, UUID_BYTES, p->id);
}

/* ---- colour ---- */

/* Where this nose lies among the others of the visit, dark to light. */
static void strip_of_noses(struct column *c, const struct model *m, const struct logbook_photo *p, const double lab[3])
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
static void reflectance(struct column *c, struct screen_state *st, struct actions *out, const struct logbook_mark *patch)
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
    did = refused_text_field(c->ui, st, "bench.reflects", name, row, (struct ui_field){.name = "reflectance", .placeholder = "0.18 (white paper 0.9)", .select_all = true}, now, typed, sizeof typed);
    if ((did & UI_COMMIT) != 0) {
        struct action refused = {.number = 0};

        text_copy(refused.field, sizeof refused.field, name);
        if (typed[0] == '\0' || (text_to_double(typed, &share) && share >= 0.02 && share <= 1)) {
            refused_drop(st, name);
            changed.known = share;
            bench_put(c->ui, out, &changed, 1, "Reflectance of the patch");
        } else {
            text_copy(refused.text, sizeof refused.text, typed);
            refused_note(st, &refused, "Write the share of light it sends back, 0.02 to 1: 0.18 a grey card, 0.9 white paper.");
        }
    }
    ui_cut_top(&c->r, 4 + refused_words(c->ui, st, "bench.reflects", name, c->r, true));
}

static void colour_part(struct column *c, const struct model *m, struct screen_state *st, struct actions *out, const struct logbook_photo *p, const struct photo_measured *got)
{
    const struct reading *r = reading_of(m, st, p);
    struct ui_button use = {.key = "K"};
    char words[200], plug[48], label[80];
    double apart;

    if (got == NULL || (bench_find(m, p, MARK_NOSE) == NULL && bench_find(m, p, MARK_PATCH) == NULL))
        return;
    heading(c, "Colour of the nose");
    if (m->can_write && bench_find(m, p, MARK_PATCH) != NULL)
        reflectance(c, st, out, bench_find(m, p, MARK_PATCH));
    if (!got->colour_given) {
        if (got->colour_words[0] != '\0') {
            ui_note(c->ui, "bench.colour-why", (struct rect){c->r.x, c->r.y, c->r.w, 20}, "no colour", got->colour_words);
            say(c, got->colour_words, UI_TEXT);
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
    say(c, words, UI_TEXT_SOFT);
    if (got->colour_words[0] != '\0')
        say(c, got->colour_words, UI_TEXT_SOFT);
    if (got->suggest[0] != '\0') {
        ui_note(c->ui, "bench.suggest", (struct rect){c->r.x, c->r.y, c->r.w, 20}, "suggestion", got->suggest);
        say(c, got->suggest, UI_TEXT);
    }
    strip_of_noses(c, m, p, got->lab);
    apart = from_the_others(m, p, got->lab);
    if (apart >= 0) {
        text_format(words, sizeof words, "ΔE %.1f from the median of the other noses.", apart);
        say(c, words, UI_TEXT_SOFT);
    }
    plug_words(m, st, p, plug, sizeof plug);
    if (plug[0] == '\0') {
        say(c, "Say below which plug this is; then the colour can be taken over.", UI_TEXT);
    } else if (p->cylinder >= 0 && r != NULL && r->nose_L.given && fabs(r->nose_L.value - got->lab[0]) < 0.05) {
        text_format(label, sizeof label, "This is the colour noted of %s.", plug);
        say(c, label, UI_TEXT);
    } else if (m->can_write) {
        text_format(label, sizeof label, p->cylinder < 0 ? "Place at %s, use as its colour" : "Use as nose colour of %s", plug);
        if (button(c, "bench.use-colour", label, &use))
            bench_take_colour(m, st, out, p);
    }
}

/* ---- the photo itself ---- */

static void place_part(struct column *c, const struct model *m, struct actions *out, const struct logbook_photo *p)
{
    const struct engine *en = &m->record->engine;
    char label[48], id[40];
    struct ui_flow flow;

    heading(c, "Belongs to cylinder");
    flow = ui_flow_begin(c->r, ui_target_px(c->ui));
    for (int k = 0; k < en->n_cylinders; k++)
        for (int pos = 0; pos < en->n_positions; pos++) {
            engine_plug_label(en, k, pos, label, sizeof label);
            text_format(id, sizeof id, "photo.plug.%s", label);
            if (ui_chip(c->ui, id, ui_flow_next(&flow, fmaxf(44, ui_chip_width(c->ui, label, NULL))), label, p->cylinder == k && (p->position == pos || en->n_positions == 1), NULL) && m->can_write) {
                struct action *a = actions_add(out, ACT_PLACE_PHOTO);

                text_copy(a->id, sizeof a->id, p->id);
                a->cylinder = p->cylinder == k && p->position == pos ? -1 : k;
                a->position = pos;
                a->zone = p->zone;
            }
        }
    ui_cut_top(&c->r, ui_flow_height(&flow) + 4);
    heading(c, "Shows");
    flow = ui_flow_begin(c->r, ui_target_px(c->ui));
    for (int z = 0; z < ZONE_COUNT; z++) {
        const char *shown = zone_row((enum zone)z)->label;

        text_format(id, sizeof id, "photo.zone.%s", zone_row((enum zone)z)->id);
        if (ui_chip(c->ui, id, ui_flow_next(&flow, ui_chip_width(c->ui, shown, NULL)), shown, p->zone == z, NULL) && m->can_write) {
            struct action *a = actions_add(out, ACT_PLACE_PHOTO);

            text_copy(a->id, sizeof a->id, p->id);
            a->cylinder = p->cylinder;
            a->position = p->position > 0 ? p->position : 0;
            a->zone = z;
        }
    }
    ui_cut_top(&c->r, ui_flow_height(&flow) + 4);
}

static void file_part(struct column *c, const struct logbook_photo *p)
{
    char line[300];

    heading(c, "This photo");
    ui_value_row(c->ui, "photo.name", ui_cut_top(&c->r, 34), "File", p->name, false, NULL);
    if (p->taken[0])
        text_format(line, sizeof line, "%.10s %.8s", p->taken, strlen(p->taken) > 11 ? p->taken + 11 : "");
    else
        text_copy(line, sizeof line, "time not known");
    ui_value_row(c->ui, "photo.taken", ui_cut_top(&c->r, 34), "Taken", line, false, NULL);
    text_format(line, sizeof line, "%d × %d", p->width, p->height);
    ui_value_row(c->ui, "photo.size", ui_cut_top(&c->r, 34), "Size", line, false, NULL);
}

void photo_facts(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, const struct logbook_photo *p, struct rect r)
{
    const struct photo_measured *got = measured(m, p);
    struct rect foot = ui_cut_bottom(&r, 60), content;
    struct column c = {ui, {0, 0, 0, 0}};
    float start;

    ui_fill(ui, r, UI_PANEL);
    ui_fill(ui, foot, UI_PANEL);
    ui_fill(ui, (struct rect){foot.x, foot.y, foot.w, 1}, UI_LINE);
    content = ui_scroll_begin(ui, "photo.facts", r);
    c.r = (struct rect){content.x + 18, content.y + 14, content.w - 36, 8000};
    start = content.y;
    if (photo_ready(p))
        gap_part(&c, m, st, out, p, got);
    if (p->cylinder < 0) /* then that is what comes next */
        place_part(&c, m, out, p);
    if (photo_ready(p)) {
        scale_part(&c, m, out, p, got);
        colour_part(&c, m, st, out, p, got);
        marks_part(&c, m, st, out, p);
    }
    if (p->cylinder >= 0)
        place_part(&c, m, out, p);
    file_part(&c, p);
    ui_scroll_end(ui, c.r.y + 18 - start);
    if (m->can_write) {
        struct ui_button turn = {.key = "T"}, level = {.key = "U"}, drop = {.look = UI_LOOK_QUIET, .key = "Del"};
        float w = ui_button_width(ui, "Turn", &turn);
        struct rect row = ui_inset(foot, 18, m->large_targets ? 8 : 10);

        if (ui_button(ui, "photo.turn", ui_cut_left(&row, w), "Turn", &turn))
            bench_turn(out, p, 1, 0, false);
        ui_cut_left(&row, 8);
        if (ui_button(ui, "photo.level", ui_cut_left(&row, ui_button_width(ui, "Level", &level)), "Level", &level))
            bench_level(m, st, out, p);
        ui_cut_left(&row, 8);
        if (ui_button(ui, "photo.remove", ui_cut_left(&row, ui_button_width(ui, "Take out", &drop)), "Take out", &drop))
            text_copy(actions_add(out, ACT_REMOVE_PHOTO)->id, UUID_BYTES, p->id);
    }
}
