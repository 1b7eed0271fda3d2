/* photo_facts.c - beside the photo: what was measured in it and what that rests on, its marks, and onto
 * which plug it belongs. */
#include <math.h>
#include <string.h>

#include "base/text.h"
#include "base/units.h"
#include "screen/photo_bench.h"

#define LEAST_PART_MM 0.005 /* less is not shown: it would read 0.00 */

void bench_say(struct bench_column *c, const char *words, enum ui_colour colour)
{
    struct ui_style style = {.colour = colour, .top = true, .max_lines = 12};
    float h = ui_text_height(c->ui, c->r.w, words, &style);

    ui_text(c->ui, ui_cut_top(&c->r, h), words, &style);
    ui_cut_top(&c->r, 6);
}

static void title(struct bench_column *c, const char *words)
{
    ui_text(c->ui, ui_cut_top(&c->r, 28), words, &(struct ui_style){.size_px = 18, .weight = UI_SEMIBOLD, .colour = UI_TEXT});
    ui_cut_top(&c->r, 2);
}

void bench_heading(struct bench_column *c, const char *words)
{
    ui_cut_top(&c->r, 10);
    ui_heading(c->ui, ui_cut_top(&c->r, 24), words);
}

bool bench_button(struct bench_column *c, const char *id, const char *label, const struct ui_button *o)
{
    bool hit = ui_button(c->ui, id, ui_cut_left(&(struct rect){c->r.x, c->r.y, c->r.w, fmaxf(36, ui_target_px(c->ui))}, fminf(c->r.w, ui_button_width(c->ui, label, o))), label, o);

    ui_cut_top(&c->r, fmaxf(36, ui_target_px(c->ui)) + 8);
    return hit;
}

bool bench_plug_of(const struct model *m, const struct screen_state *st, const struct logbook_photo *p, int *cylinder, int *position)
{
    *cylinder = p->cylinder >= 0 ? p->cylinder : st->cylinder;
    *position = p->cylinder < 0 ? st->position : p->position > 0 ? p->position : 0;
    return *cylinder >= 0 && *cylinder < m->record->engine.n_cylinders;
}

void bench_plug_words(const struct model *m, const struct screen_state *st, const struct logbook_photo *p, char *to, size_t n_room)
{
    int cylinder, position;

    to[0] = '\0';
    if (bench_plug_of(m, st, p, &cylinder, &position))
        engine_plug_label(&m->record->engine, cylinder, position, to, n_room);
}

const struct reading *bench_reading_of(const struct model *m, const struct screen_state *st, const struct logbook_photo *p)
{
    int cylinder, position;

    return bench_plug_of(m, st, p, &cylinder, &position) ? model_reading(m, cylinder, position) : NULL;
}

/* ---- taking over ---- */

/* The plug has this gap from a photo already, as fine as it is written. */
static bool gap_is_taken(const struct model *m, const struct screen_state *st, const struct logbook_photo *p, double mm)
{
    const struct reading *r = bench_reading_of(m, st, p);

    return p->cylinder >= 0 && r != NULL && r->gap_photo_mm.given && lrint(r->gap_photo_mm.value * 1000) == record_gap_as_shown_um(mm, m->inches);
}

static void take_gap(const struct model *m, const struct screen_state *st, struct actions *out, const struct logbook_photo *p, const struct photo_measured *got)
{
    struct action *a = actions_add(out, ACT_SET_GAP_PHOTO);

    bench_plug_of(m, st, p, &a->cylinder, &a->position);
    if (p->cylinder < 0)
        text_copy(a->id, sizeof a->id, p->id);
    a->figures[0] = got->gap_mm;
    a->figures[1] = got->gap_pm_mm;
}

bool bench_take(const struct model *m, struct screen_state *st, struct actions *out, const struct logbook_photo *p)
{
    const struct photo_measured *got = bench_measured(m, p->id);
    int cylinder, position;

    if (got == NULL || !m->can_write)
        return false;
    if (got->gap_given && !got->busy && bench_plug_of(m, st, p, &cylinder, &position) && !gap_is_taken(m, st, p, got->gap_mm)) {
        take_gap(m, st, out, p, got);
        return true;
    }
    return false;
}

/* ---- gap ---- */

static void gap_sentence(const struct model *m, const struct photo_measured *got, const struct reading *r, char *to, size_t n_room)
{
    const struct engine_plug_spec *spec = &m->record->engine.plug;
    char limit[16], gauge[16];
    size_t used;
    double most = spec->gap_limit_mm > 0 ? spec->gap_limit_mm : spec->gap_max_mm;

    unit_tell_length(&(struct unit_choice){.inches = !m->inches}, got->gap_mm, true, to, n_room);
    used = strlen(to);
    if (most > 0) {
        const char *verdict = got->gap_mm - got->gap_pm_mm > most ? "past it" : got->gap_mm + got->gap_pm_mm > most ? "may be past it, use the feeler gauge" : got->gap_mm + got->gap_pm_mm < spec->gap_min_mm ? "not reached, but below the range" : "within";

        model_format_gap(m, most, limit, sizeof limit);
        text_format(to + used, n_room - used, " · %s %s %s: %s", spec->gap_limit_mm > 0 ? "limit" : "upper end", limit, m->inches ? "in" : "mm", verdict);
        used = strlen(to);
    }
    if (r != NULL && reading_gauge_gap(r).given) {
        struct reading beside = *r;

        beside.gap_photo_mm = MAYBE(got->gap_mm);
        beside.gap_photo_pm_mm = got->gap_pm_mm;
        model_format_gap(m, reading_gauge_gap(r).value, gauge, sizeof gauge);
        text_format(to + used, n_room - used, ". Feeler gauge: %s %s, %s", gauge, m->inches ? "in" : "mm", reading_gaps_agree(&beside) ? "which agrees." : "which the photo does not bear out.");
    }
}

/* The gap is noted: which of two counts, and how to be rid of it. */
static void noted_part(struct bench_column *c, const struct model *m, const struct screen_state *st, struct actions *out, const struct logbook_photo *p, const struct reading *r)
{
    struct ui_button away = {.look = UI_LOOK_QUIET};
    struct rect row = {c->r.x, c->r.y, c->r.w, fmaxf(36, ui_target_px(c->ui))}, half;
    int cylinder, position;

    if (!m->can_write || !bench_plug_of(m, st, p, &cylinder, &position))
        return;
    half = ui_cut_right(&row, ui_button_width(c->ui, "Not its gap", &away));
    if (ui_button(c->ui, "bench.gap-away", half, "Not its gap", &away)) {
        struct action *a = actions_add(out, ACT_SET_GAP_PHOTO);

        a->cylinder = cylinder;
        a->position = position;
        a->figures[0] = -1;
    }
    if (reading_gauge_gap(r).given && trust_gap_button(c->ui, "bench.gap-trust", row, r))
        actions_trust_gap(out, cylinder, position, !r->gap_from_photo);
    ui_cut_top(&c->r, row.h + 8);
}

/* What the ± is made of, the largest part first, and what to do about that one. */
static void doubt_part(struct bench_column *c, const struct model *m, const struct photo_measured *got)
{
    bool told[GAUGE_PART_COUNT] = {false};
    char words[32], size[16], id[32];

    bench_heading(c, "What the ± is made of");
    for (int n = 0; n < GAUGE_PART_COUNT; n++) {
        int most = -1;

        for (int k = 0; k < GAUGE_PART_COUNT; k++)
            if (!told[k] && (most < 0 || got->gap_part_mm[k] > got->gap_part_mm[most]))
                most = k;
        told[most] = true;
        if (got->gap_part_mm[most] < LEAST_PART_MM)
            continue;
        model_format_gap(m, got->gap_part_mm[most], size, sizeof size);
        text_format(words, sizeof words, "± %s %s", size, m->inches ? "in" : "mm");
        text_format(id, sizeof id, "bench.doubt.%s", gauge_part_id((enum gauge_part)most));
        ui_value_row(c->ui, id, ui_cut_top(&c->r, 28), gauge_part_label((enum gauge_part)most), words, n == 0, NULL);
    }
    ui_cut_top(&c->r, 6);
    ui_note(c->ui, "bench.remedy", (struct rect){c->r.x, c->r.y, c->r.w, 20}, "to make the ± smaller", got->gap_remedy);
    bench_say(c, got->gap_remedy, UI_TEXT);
}

static void gap_part(struct bench_column *c, const struct model *m, struct screen_state *st, struct actions *out, const struct logbook_photo *p, const struct photo_measured *got)
{
    const struct reading *r = bench_reading_of(m, st, p);
    struct ui_button use = {.look = UI_LOOK_DARK, .key = "Enter"};
    const struct unit_choice units = model_units(m);
    char words[500], size[16], pm[100], plug[48], label[160];
    bool gauged = r != NULL && reading_gauge_gap(r).given;

    title(c, "Gap from the photo");
    if (bench_offer_part(c, m, st, out, p))
        return;
    if (got != NULL && got->n_which > 0) {
        bench_ask_thread(c, m, out, got);
        if (!got->gap_given) /* by another scale */
            return;
    }
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
        gap_sentence(m, got, p->cylinder >= 0 ? r : NULL, words, sizeof words); /* of a photo nobody placed there is no gauge's gap */
        bench_say(c, words, UI_TEXT_SOFT);
        if (got->gap_words[0] != '\0') {
            unit_tell_words(&units, got->gap_words, words, sizeof words);
            bench_say(c, words, UI_TEXT_SOFT);
        }
        if (!gauged)
            bench_say(c, "Check it with a feeler gauge before you act on it.", UI_TEXT_SOFT);
        bench_plug_words(m, st, p, plug, sizeof plug);
        if (plug[0] == '\0') {
            bench_say(c, "Say above which plug this is; then the gap can be taken over.", UI_TEXT);
        } else if (gap_is_taken(m, st, p, got->gap_mm)) {
            reading_format_gap_source(r, m->inches, pm, sizeof pm);
            model_format_found(m, r, size, sizeof size);
            if (reading_gauge_gap(r).given) /* both figures stand in it */
                text_format(label, sizeof label, "Noted of %s: %s.", plug, pm);
            else
                text_format(label, sizeof label, "Noted of %s: %s %s, %s.", plug, size, m->inches ? "in" : "mm", pm);
            ui_note(c->ui, "bench.taken", (struct rect){c->r.x, c->r.y, c->r.w, 20}, "taken", label);
            bench_say(c, label, UI_TEXT);
            noted_part(c, m, st, out, p, r);
        } else if (m->can_write) {
            text_format(label, sizeof label, p->cylinder < 0 && gauged ? "Place at %s, keep beside the gauge's" : p->cylinder < 0 ? "Place at %s, use as its gap" : gauged ? "Keep beside the gauge's of %s" : "Use as gap of %s", plug);
            if (bench_button(c, "bench.use-gap", label, &use))
                take_gap(m, st, out, p, got);
        }
        doubt_part(c, m, got);
        return;
    }
    if (got != NULL && got->gap_words[0] != '\0') {
        ui_note(c->ui, "bench.gap-why", (struct rect){c->r.x, c->r.y, c->r.w, 20}, "no gap", got->gap_words);
        bench_say(c, got->gap_words, UI_TEXT);
    } else if (got != NULL && got->busy && bench_find(m, p, MARK_GAP) != NULL) {
        bench_say(c, "Measuring …", UI_TEXT_SOFT);
    } else if (bench_offer_coming(m, st, p)) {
        bench_say(c, "Looking for thread and gap …", UI_TEXT_SOFT);
    }
    bench_offer_back_part(c, m, st, p);
    if (bench_find(m, p, MARK_GAP) == NULL || (bench_find(m, p, MARK_SCALE) == NULL && bench_find(m, p, MARK_HEX) == NULL && bench_find(m, p, MARK_LENGTH) == NULL))
        bench_say(c, "On a side view: a line along the threads (S) gives the scale, a line across the gap (G) the gap. Rough is enough. Where no thread is seen: across the hex (6), along a ruler (5).", UI_TEXT_SOFT);
    if (bench_offer_missed(m, st, p))
        bench_say(c, "Without lines nothing was found that is sure enough to offer.", UI_TEXT_SOFT);
}

/* ---- the photo itself ---- */

static void place_part(struct bench_column *c, const struct model *m, struct screen_state *st, struct actions *out, const struct logbook_photo *p)
{
    const struct engine *en = &m->record->engine;
    char label[48], id[40];
    struct ui_flow flow;

    bench_heading(c, "Belongs to cylinder");
    flow = ui_flow_begin(c->r, ui_target_px(c->ui));
    for (int k = 0; k < en->n_cylinders; k++)
        for (int pos = 0; pos < en->n_positions; pos++) {
            engine_plug_label(en, k, pos, label, sizeof label);
            text_format(id, sizeof id, "photo.plug.%s", label);
            if (ui_chip(c->ui, id, ui_flow_next(&flow, fmaxf(44, ui_chip_width(c->ui, label, NULL))), label, p->cylinder == k && (p->position == pos || en->n_positions == 1), NULL) && m->can_write) {
                struct action *a = actions_add(out, ACT_PLACE_PHOTO);

                if (p->cylinder < 0)
                    text_copy(st->bench.placed_here, sizeof st->bench.placed_here, p->id);
                text_copy(a->id, sizeof a->id, p->id);
                a->cylinder = p->cylinder == k && p->position == pos ? -1 : k;
                a->position = pos;
                a->zone = p->zone;
            }
        }
    ui_cut_top(&c->r, ui_flow_height(&flow) + 4);
    bench_heading(c, "Shows");
    flow = ui_flow_begin(c->r, ui_target_px(c->ui));
    for (int z = 0; z < ZONE_COUNT; z++) {
        const char *shown = zone_row((enum zone)z)->label;

        if (z == ZONE_LEAD && p->zone != z && !engine_may_have_leads(&m->record->engine))
            continue;
        text_format(id, sizeof id, "photo.zone.%s", zone_row((enum zone)z)->id);
        if (ui_chip(c->ui, id, ui_flow_next(&flow, ui_chip_width(c->ui, shown, NULL)), shown, p->zone == z, NULL) && m->can_write) {
            struct action *a = actions_add(out, ACT_PLACE_PHOTO);

            text_copy(a->id, sizeof a->id, p->id);
            a->cylinder = p->cylinder;
            a->position = p->position > 0 ? p->position : 0;
            a->zone = p->zone == z ? -1 : z; /* pressed again: not said */
            a->flag = true;
        }
    }
    ui_cut_top(&c->r, ui_flow_height(&flow) + 4);
    if (m->can_write) {
        struct ui_field words = {.name = "what it shows, in words", .placeholder = "or in words: drain plug, harness, cover"};
        char typed[sizeof p->caption];

        const unsigned did = ui_text_field(c->ui, "photo.caption", ui_cut_top(&c->r, ui_target_px(c->ui) + 4), &words, p->caption, typed, sizeof typed);

        if ((did & UI_ENTER) != 0) /* done: the next letters are commands again */
            ui_focus(c->ui, NULL);
        if ((did & UI_COMMIT) != 0 && strcmp(typed, p->caption) != 0) {
            struct action *a = actions_add(out, ACT_CAPTION);

            text_copy(a->id, sizeof a->id, p->id);
            text_copy(a->text, sizeof a->text, typed);
        }
        ui_cut_top(&c->r, 8);
    }
    if (model_step(m, p->step) != NULL)
        ui_value_row(c->ui, "photo.step", ui_cut_top(&c->r, 34), "Step of the job", model_step(m, p->step)->text, false, NULL);
}

static void file_part(struct bench_column *c, const struct logbook_photo *p)
{
    char line[300];

    bench_heading(c, "This photo");
    ui_value_row(c->ui, "photo.name", ui_cut_top(&c->r, 34), "File", p->name, false, NULL);
    if (p->taken[0])
        text_format(line, sizeof line, "%.10s %.8s", p->taken, strlen(p->taken) > 11 ? p->taken + 11 : "");
    else
        text_copy(line, sizeof line, "time not known");
    ui_value_row(c->ui, "photo.taken", ui_cut_top(&c->r, 34), "Taken", line, false, NULL);
    if (p->width > 0)
        text_format(line, sizeof line, "%d × %d", p->width, p->height);
    else
        text_copy(line, sizeof line, "not known");
    ui_value_row(c->ui, "photo.size", ui_cut_top(&c->r, 34), "Size", line, false, NULL);
}

void photo_facts(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, const struct logbook_photo *p, struct rect r)
{
    const struct photo_measured *got = bench_measured(m, p->id);
    struct rect foot = ui_cut_bottom(&r, 60), content;
    struct bench_column c = {ui, {0, 0, 0, 0}};
    bool place_first;
    float start;

    ui_fill(ui, r, UI_PANEL);
    ui_fill(ui, foot, UI_PANEL);
    ui_fill(ui, (struct rect){foot.x, foot.y, foot.w, 1}, UI_LINE);
    content = ui_scroll_begin(ui, "photo.facts", r);
    c.r = (struct rect){content.x + 18, content.y + 14, content.w - 36, 8000};
    start = content.y;
    place_first = p->cylinder < 0 || strcmp(st->bench.placed_here, p->id) == 0;
    if (!place_first)
        st->bench.placed_here[0] = '\0';
    else /* what comes next: above all that is still looked for */
        place_part(&c, m, st, out, p);
    if (photo_ready(p)) {
        gap_part(&c, m, st, out, p, got);
        bench_scale_part(&c, m, st, out, p, got);
        bench_colour_part(&c, m, st, out, p, got);
        bench_marks_part(&c, m, st, out, p);
    }
    if (!place_first)
        place_part(&c, m, st, out, p);
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
