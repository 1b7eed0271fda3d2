/* screen_job_parts.c - the right of the Job screen: parts to get, refitting hole by hole, what to remember
 * for next time. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/text.h"
#include "base/units.h"
#include "record/ready.h"
#include "screen/commands.h"
#include "screen/screen_job.h"

static const struct ui_style title = {.size_px = 18, .weight = UI_SEMIBOLD, .colour = UI_TEXT, .max_lines = 2, .top = true};
static const struct ui_style body = {.colour = UI_TEXT, .max_lines = 3, .top = true};
static const struct ui_style side = {.colour = UI_TEXT_SOFT, .align = UI_RIGHT, .max_lines = 3, .top = true};
static const struct ui_style soft = {.colour = UI_TEXT_SOFT, .max_lines = 6, .top = true};
static const struct ui_style ask = {.colour = UI_WATCH_INK, .max_lines = 4, .top = true};
static const struct ui_style measure = {.colour = UI_WATCH_INK, .max_lines = 10, .top = true};
static const struct ui_style strong = {.weight = UI_SEMIBOLD, .colour = UI_TEXT, .align = UI_RIGHT, .max_lines = 3, .top = true};

static const struct job_choice need_states[] = {{"to-order", "to order", NULL}, {"ordered", "ordered", NULL}, {"in-hand", "in hand", NULL}, {"fitted", "fitted", NULL}};

/* Two columns that both wrap; gives the height. */
static float two(struct ui *ui, struct rect r, float y, const char *left, const char *right, const struct ui_style *right_style, bool draws)
{
    float half = (r.w - 12) * 0.5f, h = fmaxf(ui_text_height(ui, half, left, &body), ui_text_height(ui, half, right, right_style));

    if (draws) {
        ui_text(ui, (struct rect){r.x, y + 7, half, h}, left, &body);
        ui_text(ui, (struct rect){r.x + half + 12, y + 7, half, h}, right, right_style);
        ui_fill(ui, (struct rect){r.x, y + h + 13, r.w, 1}, UI_LINE);
    }
    return h + 14;
}

/* ---- parts ---- */

static void need_words(const struct model *m, const struct logbook_need *d, char *to, size_t n_room)
{
    const char *state = d->state;
    char on[32] = "", since[40];

    job_left_words(m, d->visit, since, sizeof since);
    for (size_t i = 0; i < 4; i++)
        if (strcmp(need_states[i].id, d->state) == 0)
            state = need_states[i].label;
    if (d->on[0] != '\0' && strcmp(d->state, "to-order") != 0)
        clock_date_words(d->on, on, sizeof on);
    else if (since[0] != '\0')
        text_format(on, sizeof on, "since %s", TEXT_SHORT(since, 20));
    text_format(to, n_room, "%d · %s%s%s", d->quantity, state, on[0] ? " " : "", on);
}

static float need_editor(struct ui *ui, struct screen_state *st, struct actions *out, const struct logbook_need *d, struct rect r)
{
    float top = r.y;
    char number[16];
    struct ui_button gone = {.look = UI_LOOK_QUIET, .key = "Delete"};
    const struct {
        struct job_asked field;
        const char *column;
    } asked[] = {{{"job.part.text", "Part", "", d->text, d->id, 160, ACT_NEED_TEXT}, "text"},
                 {{"job.part.quantity", "How many", "", number, d->id, 8, ACT_NEED_TEXT}, "quantity"},
                 {{"job.part.note", "Note", "part number, where from", d->note, d->id, 160, ACT_NEED_TEXT}, "note"}};

    snprintf(number, sizeof number, "%d", d->quantity);
    for (size_t i = 0; i < sizeof asked / sizeof asked[0]; i++) {
        struct action *a = job_field(ui, st, out, &asked[i].field, &r);

        if (a != NULL) {
            text_copy(a->id, sizeof a->id, d->id);
            text_copy(a->column, sizeof a->column, asked[i].column);
        }
    }
    if (ui_button(ui, "job.part.remove", (struct rect){r.x, r.y, ui_button_width(ui, "Take out", &gone), ui_target_px(ui)}, "Take out", &gone)) {
        struct action *a = actions_add(out, ACT_TAKE_OUT);

        text_copy(a->column, sizeof a->column, "need");
        text_copy(a->id, sizeof a->id, d->id);
    }
    return r.y + ui_target_px(ui) + 8 - top;
}

/* What the chosen part can become; D is the key of the next; gives the height. */
static float need_chips(struct ui *ui, struct screen_state *st, struct actions *out, const struct logbook_need *d, struct rect r)
{
    struct job_choice choices[4];
    int now = -1, chosen;

    memcpy(choices, need_states, sizeof choices);
    for (int i = 0; i < 4; i++)
        if (strcmp(choices[i].id, d->state) == 0)
            now = i;
    if (now + 1 < 4)
        choices[now + 1].key = "D";
    chosen = job_row_chips(ui, st, "job.part.state", r, choices, 4, now);
    if (chosen >= 0) {
        struct action *a = actions_add(out, ACT_NEED_STATE);

        text_copy(a->id, sizeof a->id, d->id);
        text_copy(a->column, sizeof a->column, choices[chosen].id);
    }
    return job_row_chips_px(ui, r.w, choices, 4);
}

float job_parts_list(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, struct rect r, float y)
{
    struct ui_field add = {.name = "new part", .placeholder = "A part, then Enter"};
    struct rect in = {r.x + 20, r.y, r.w - 40, r.h}, field;
    char typed[160];

    ui_text(ui, (struct rect){in.x, y + 16, in.w, 26}, "Parts", &title);
    y += 46;
    for (int row_no = 0; row_no < model_need_rows(m); row_no++) {
        const int i = row_no - (int)m->n_left_needs; /* below 0: left open by an earlier visit */
        const struct logbook_need *d = model_need_row(m, row_no);
        bool chosen = job_chosen(st, JOB_PARTS, row_no);
        char id[32], state[80];
        struct rect row;
        struct ui_hit hit;

        need_words(m, d, state, sizeof state);
        row = (struct rect){r.x, y, r.w, two(ui, in, y, d->text, state, &side, false)};
        if (d->note[0])
            row.h += ui_text_height(ui, in.w, d->note, &soft);
        snprintf(id, sizeof id, i < 0 ? "job.left-part.%d" : "job.part.%d", i < 0 ? row_no : i);
        hit = ui_region(ui, id, row, UI_ROLE_ROW, d->text, state, 0);
        if (hit.clicked) {
            if (chosen)
                job_turn_fields(st);
            job_choose(st, JOB_PARTS, row_no);
        }
        if (chosen)
            ui_fill(ui, row, UI_CARD);
        else if (hit.hover)
            ui_fill(ui, row, UI_CARD_DIM);
        {
            float h = two(ui, in, y, d->text, state, &side, true);

            if (d->note[0]) {
                ui_fill(ui, (struct rect){in.x, y + h - 1, in.w, 1}, chosen ? UI_CARD : UI_PANEL);
                ui_text(ui, (struct rect){in.x, y + h - 5, in.w, row.h - h}, d->note, &soft);
                ui_fill(ui, (struct rect){in.x, y + row.h - 1, in.w, 1}, UI_LINE);
            }
        }
        if (chosen)
            ui_fill_rgba(ui, (struct rect){r.x, row.y, 4, row.h}, ui_rgba(UI_SELECT));
        y += row.h;
        if (chosen && m->can_write)
            y += need_chips(ui, st, out, d, (struct rect){in.x, y + 8, in.w, 200}) + 14;
        if (chosen && st->job_open && m->can_write)
            y += need_editor(ui, st, out, d, (struct rect){in.x, y, in.w, 400});
        if (chosen && st->job_show > 0) /* with its fields */
            ui_scroll_show(ui, (struct rect){row.x, row.y, row.w, y - row.y});
    }
    if (model_need_rows(m) == 0)
        y += ui_text(ui, (struct rect){in.x, y, in.w, 40}, "Nothing to get. Parts are proposed from accepted causes.", &soft) + 4;
    if (m->can_write) {
        field = (struct rect){in.x, y + 8, in.w, ui_target_px(ui) + 4};
        if (job_new_field(ui, "job.new-part", &add, "P", field, typed, sizeof typed))
            text_copy(actions_add(out, ACT_NEED_ADD)->text, sizeof typed, typed), job_await(m, st, JOB_PARTS);
        y += field.h + 12;
    }
    return y + 12;
}

/* ---- refitting ---- */

static float torque_table(struct ui *ui, const struct model *m, struct rect in, float y)
{
    const struct engine *en = &m->record->engine;
    const struct refit *f = m->refit;
    const struct unit_choice units = model_units(m);
    char line[200], id[48];

    if (f == NULL) {
        y += 8;
        ui_diamond(ui, in.x + 5, y + 9, 9, ui_rgba(UI_WATCH_INK));
        ui_note(ui, "job.torque.unknown", (struct rect){in.x, y, in.w, 20}, "thread and seat", m->refit_why);
        y += ui_text(ui, (struct rect){in.x + 16, y, in.w - 16, 160}, m->refit_why, &measure) + 8;
        if (m->book == NULL || m->book->maker_nm <= 0)
            return y;
        unit_tell_torque(&units, m->book->maker_nm, m->book->maker_nm, line, sizeof line);
        ui_note(ui, "job.torque.maker", (struct rect){in.x, y, in.w, 30}, "maker's book", line);
        return y + two(ui, in, y, "Maker's book", line, &strong, true);
    }
    if (f->maker_nm > 0)
        unit_tell_torque(&units, f->maker_nm, f->maker_nm, line, sizeof line);
    else
        text_copy(line, sizeof line, "not entered · it wins");
    ui_note(ui, "job.torque.maker", (struct rect){in.x, y, in.w, 30}, "maker's book", line);
    y += two(ui, in, y, "Maker's book", line, f->maker_nm > 0 ? &strong : &side, true);
    for (int i = 0; i < f->n_charts; i++) {
        const struct refit_chart *c = &f->charts[i];
        char name[100];

        unit_tell_torque(&units, c->nm_min, c->nm_max, line, sizeof line);
        text_format(name, sizeof name, "%s%s%s%s%s", c->name, strcmp(c->head, "not stated") == 0 ? ", head not stated" : en->head == ENGINE_HEAD_UNKNOWN ? ", " : "",
                    strcmp(c->head, "not stated") != 0 && en->head == ENGINE_HEAD_UNKNOWN ? c->head : "",
                    strcmp(c->threads, "not stated") == 0 || c->threads[0] == '\0' ? "" : ", threads ", strcmp(c->threads, "not stated") == 0 ? "" : c->threads);
        snprintf(id, sizeof id, "job.torque.%d", i);
        ui_note(ui, id, (struct rect){in.x, y, in.w, 30}, name, line);
        y += two(ui, in, y, name, line, &side, true);
    }
    if (en->plug.seat == ENGINE_SEAT_TAPER) {
        if (refit_turn_words(f, false, line, sizeof line))
            y += two(ui, in, y, "Taper seat", line, &side, true);
    } else {
        if (refit_turn_words(f, false, line, sizeof line))
            y += two(ui, in, y, "New washer", line, &side, true);
        if (refit_turn_words(f, true, line, sizeof line))
            y += two(ui, in, y, "Used washer", line, &side, true);
    }
    y += 6;
    y += ui_text(ui, (struct rect){in.x, y, in.w, 60}, f->n_apart > 0 ? "Charts differ, some do not even overlap: take the plug's own box or the maker's book. Greased threads need less." : "Charts are for the threads they name; greased threads need less.", &soft);
    return y + 8;
}

/* Two words of which one holds, or neither when it is picked again. */
static void refit_chips(struct ui *ui, struct actions *out, const char *prefix, const char *column, const char *key, struct rect r, const struct job_choice *choices, const struct reading *q, int now)
{
    struct job_choice two_words[2] = {choices[0], choices[1]};
    struct action *a;
    int chosen;

    two_words[now % 2].key = key; /* the one its key leads to */
    chosen = job_chips(ui, prefix, r, two_words, 2, now - 1);
    if (chosen < 0)
        return;
    a = actions_add(out, ACT_REFIT_WORD);
    a->cylinder = q->cylinder;
    a->position = q->position;
    text_copy(a->column, sizeof a->column, column);
    a->number = chosen + 1 == now ? 0 : chosen + 1;
}

static void toggle(struct actions *out, enum action_type type, int cylinder, int position, bool on)
{
    struct action *a = actions_add(out, type);

    a->cylinder = cylinder;
    a->position = position;
    a->flag = on;
}

void job_clean(const struct model *m, struct actions *out, int cylinder, int position)
{
    const struct reading *plug = model_plug_reading(m, cylinder, position);

    if (plug != NULL) /* a new one is clean; the work names the cylinder it was read in */
        toggle(out, ACT_CLEANED, plug->cylinder, plug->position, !refit_is_cleaned(m->record, model_reading(m, cylinder, position)));
}

/* Also where an earlier visit left it off and this one does not say. */
static bool is_unplugged(const struct model *m, int cylinder, int position)
{
    const struct reading *q = model_reading(m, cylinder, position);

    return q->unplugged || (!q->plugged && m->record->n_later == 0 && (m->ready->unplugged >> cylinder & 1u) != 0);
}

void job_unplug(const struct model *m, struct actions *out, int cylinder, int position)
{
    toggle(out, ACT_UNPLUGGED, cylinder, position, !is_unplugged(m, cylinder, position));
}

/* A torque far off the book, red when it may not be started so; gives the height. */
static float torque_warning(struct ui *ui, const struct model *m, const char *id, const struct reading *q, struct rect in, float y)
{
    static const struct ui_style grave = {.weight = UI_SEMIBOLD, .colour = UI_ACT_INK, .max_lines = 8, .top = true};
    const struct unit_choice units = model_units(m);
    enum refit_off off;
    char words[400], name[48];
    float h;

    if (m->book == NULL || !q->torque_nm.given)
        return 0;
    off = refit_warn(m->book, &units, q->torque_nm.value, reading_is_greased(q), words, sizeof words);
    if (off == REFIT_FINE)
        return 0;
    if (refit_stops(off))
        ui_triangle(ui, in.x + 6, y + 9, 11, ui_rgba(UI_ACT_INK));
    else
        ui_diamond(ui, in.x + 5, y + 9, 9, ui_rgba(UI_WATCH_INK));
    text_format(name, sizeof name, "%s the book", refit_off_words(off));
    h = ui_text(ui, (struct rect){in.x + 16, y, in.w - 16, 160}, words, refit_stops(off) ? &grave : &ask) + 6;
    ui_note(ui, id, (struct rect){in.x, y, in.w, h}, name, words);
    return h;
}

/* Fields of the chosen hole; gives the height. */
static float hole(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, int c, int p, struct rect r)
{
    static const struct job_choice washers[] = {{"new", "washer new", NULL}, {"used", "washer used", NULL}}, threads[] = {{"dry", "thread dry", NULL}, {"greased", "greased", NULL}};
    const struct reading *q = model_reading(m, c, p);
    const struct unit_choice units = model_units(m);
    float top = r.y, t = ui_target_px(ui);
    char value[32] = "", of[48], advice[400], angle[100], hint[16], set_to[64];
    struct action *a;
    float below;

    if (m->record->engine.plug.seat != ENGINE_SEAT_TAPER)
        refit_chips(ui, out, "job.washer", "washer", "U", ui_cut_top(&r, t + 6), washers, q, q->washer);
    refit_chips(ui, out, "job.thread", "thread_state", "G", ui_cut_top(&r, t + 6), threads, q, q->thread_state);
    {
        struct rect line = ui_cut_top(&r, t + 6);
        const char *off = m->record->engine.ignition == ENGINE_COIL_PER_PLUG ? "coil still unplugged" : "lead still off";

        line.h = t;
        if (model_plug_reading(m, c, p) != NULL) {
            if (ui_chip(ui, "job.cleaned", ui_cut_left(&line, ui_chip_width(ui, "cleaned, dry", command_key("cleaned"))), "cleaned, dry", refit_is_cleaned(m->record, q), command_key("cleaned")))
                job_clean(m, out, c, p);
            ui_cut_left(&line, 6);
        }
        if (ui_chip(ui, "job.unplugged", ui_cut_left(&line, ui_chip_width(ui, off, command_key("unplugged"))), off, is_unplugged(m, c, p), command_key("unplugged")))
            job_unplug(m, out, c, p);
    }
    model_gap_hint(m, hint, sizeof hint);
    if (refit_gap_left(m->record, q).given)
        model_format_gap(m, refit_gap_left(m->record, q).value, value, sizeof value);
    engine_plug_label(&m->record->engine, c, p, of, sizeof of);
    a = job_field(ui, st, out, &(struct job_asked){"job.gap-left", m->inches ? "Gap as left, in" : "Gap as left, mm", hint, value, of, 64, ACT_SET_GAP_LEFT}, &r);
    if (a != NULL) {
        a->cylinder = c;
        a->position = p;
    }
    value[0] = '\0';
    /* no example: a figure that stands there is taken for one to tighten to */
    text_copy(set_to, sizeof set_to, "as the wrench was set");
    if (m->book != NULL && m->book->maker_nm > 0)
        unit_tell_torque(&units, m->book->maker_nm, m->book->maker_nm, set_to, sizeof set_to);
    if (q->torque_nm.given) {
        const struct unit *unit = unit_find(q->torque_unit) != NULL ? unit_find(q->torque_unit) : unit_find("Nm");

        text_from_double(value, sizeof value, unit_convert(q->torque_nm.value, unit_find("Nm"), unit), 1);
        text_format(value + strlen(value), sizeof value - strlen(value), " %s", unit->label);
    }
    ui_keycap(ui, r.x + r.w, r.y + 8, command_key("torque"), false);
    below = r.y + ui_target_px(ui) + 28;
    a = job_field(ui, st, out, &(struct job_asked){"job.torque", m->inches ? "Tightened to, lbf·ft" : "Tightened to, N·m", set_to, value, of, 64, ACT_SET_TORQUE}, &r);
    if (a != NULL) {
        a->cylinder = c;
        a->position = p;
    }
    if (r.y > below + 1) /* refused: the figure before says nothing of what stands in the field */
        return r.y - top + 4;
    advice[0] = '\0';
    r.y += torque_warning(ui, m, "job.torque.far", q, r, r.y);
    if (q->torque_nm.given && m->refit != NULL) {
        refit_compare(m->refit, &units, q->torque_nm.value, advice, sizeof advice);
        ui_note(ui, "job.torque.lies", (struct rect){r.x, r.y, r.w, 4}, "where the torque lies", advice);
        r.y += ui_text(ui, (struct rect){r.x, r.y, r.w, 90}, advice, &soft) + 4;
        advice[0] = '\0';
    }
    if (m->refit != NULL && q->washer != 0 && refit_turn_words(m->refit, q->washer == words_find(WORDS_WASHER, "used"), angle, sizeof angle))
        text_format(advice, sizeof advice, "%s washer: %s.", q->washer == words_find(WORDS_WASHER, "used") ? "Used" : "New", angle);
    if (reading_is_greased(q))
        text_format(advice + strlen(advice), sizeof advice - strlen(advice), "%sGreased: sources say a fifth to a third less than the dry figure, and that plated plugs want none; the maker's word wins.", advice[0] ? " " : "");
    if (advice[0])
        r.y += ui_text(ui, (struct rect){r.x, r.y, r.w, 90}, advice, &soft) + 4;
    ui_note(ui, "job.advice", (struct rect){r.x, r.y - 4, r.w, 4}, "tightening", advice);
    return r.y - top + 4;
}

/* What another visit left of a plug that this one says nothing of; one that has to come out, or of which merged copies differ, always. */
static const char *left_words(const struct model *m, int i)
{
    static const char *const words[READY_WHY_COUNT] = {[READY_OUT] = "still out", [READY_HAND] = "hand-tight", [READY_DRAWN] = "not torqued", [READY_APART] = "copies differ", [READY_OVER] = "take it out", [READY_LOOSE] = "tighten it", [READY_SCRAP] = "scrap, and in again"};
    const char *why = words[m->ready->why[i]];

    return why != NULL && (ready_comes_out(m->ready->why[i]) || m->ready->why[i] == READY_APART || m->ready->plug_at[i] != m->record->n_visits - 1) ? why : "";
}

void job_keep_scrap(const struct model *m, struct actions *out, int cylinder, int position)
{
    const int i = record_plug_index(&m->record->engine, cylinder, position);

    if (m->ready->kept[i] || m->ready->why[i] == READY_SCRAP)
        toggle(out, ACT_KEEP_SCRAP, cylinder, position, !m->ready->kept[i]);
}

/* Torqued in again though it is scrap: red, or a caution where somebody said that it stays; the answer stands below. */
static float scrap_warning(struct ui *ui, const struct model *m, struct actions *out, int i, struct rect in, float y)
{
    static const struct ui_style red = {.weight = UI_SEMIBOLD, .colour = UI_ACT_INK, .max_lines = 4, .top = true};
    const bool kept = m->ready->kept[i];
    const struct ui_button answer = {.look = UI_LOOK_QUIET, .key = command_key("keep-scrap")};
    const char *label = kept ? "It is to come out after all" : "It stays in, on my own word";
    char words[240], id[32];
    float h;

    if (kept)
        text_format(words, sizeof words, "Scrap (%s), in on your own word: what breaks off it falls into the cylinder. A new one as soon as it can be had.", m->ready->scrap[i]);
    else
        text_format(words, sizeof words, "It came out with its %s and is in again: do not run it. I notes a new plug; was it noted by mistake, correct it on Plan.", m->ready->scrap[i]);
    if (kept)
        ui_diamond(ui, in.x + 5, y + 9, 9, ui_rgba(UI_WATCH_INK));
    else
        ui_triangle(ui, in.x + 6, y + 9, 11, ui_rgba(UI_ACT_INK));
    h = ui_text(ui, (struct rect){in.x + 16, y, in.w - 16, 120}, words, kept ? &ask : &red) + 6;
    snprintf(id, sizeof id, kept ? "job.kept.%d" : "job.scrap.%d", i);
    ui_note(ui, id, (struct rect){in.x, y, in.w, h}, kept ? "scrap, kept" : "scrap, and in again", words);
    if (!m->can_write || m->record->n_later > 0)
        return h;
    snprintf(id, sizeof id, "job.keep.%d", i);
    if (ui_button(ui, id, (struct rect){in.x + 16, y + h, ui_button_width(ui, label, &answer), ui_target_px(ui)}, label, &answer))
        job_keep_scrap(m, out, i / m->record->engine.n_positions, i % m->record->engine.n_positions);
    return h + ui_target_px(ui) + 6;
}

static float holes(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, struct rect r, float y)
{
    const struct engine *en = &m->record->engine;
    struct rect in = {r.x + 20, r.y, r.w - 40, r.h};
    float t = ui_target_px(ui);

    for (int i = 0; i < record_plug_count(en); i++) {
        int c = i / en->n_positions, p = i % en->n_positions;
        const struct reading *q = model_reading(m, c, p), *plug = model_plug_reading(m, c, p);
        bool chosen = job_chosen(st, JOB_PLUGS, i);
        struct rect row = {r.x, y, r.w, t + 10}, grip;
        char id[32], label[48], value[80] = "", figure[24] = "", payload[24], asked[300];
        struct ui_hit hit;
        float x = in.x + in.w;

        engine_plug_label(en, c, p, label, sizeof label);
        const bool swapping = st->job_swap_from > 0 && m->can_write;

        if (st->job_swap_from - 1 == c) {
            text_format(value, sizeof value, "its %s: with which? Its row, or its number", job_kinds[st->job_kind].id);
        } else if (swapping) {
            text_format(value, sizeof value, "swap with the %s of %s", job_kinds[st->job_kind].id, en->cylinders[st->job_swap_from - 1].label);
        } else if (ready_comes_out(m->ready->why[i])) {
            text_copy(value, sizeof value, left_words(m, i));
        } else if (refit_gap_left(m->record, q).given) {
            model_format_gap(m, refit_gap_left(m->record, q).value, figure, sizeof figure);
            text_format(value, sizeof value, "%s %s as left", figure, m->inches ? "in" : "mm");
        } else if (plug != NULL && plug->gap_mm.given) {
            model_format_found(m, plug, figure, sizeof figure);
            text_format(value, sizeof value, "%s %s found", figure, m->inches ? "in" : "mm");
        }
        if (value[0] == '\0')
            text_copy(value, sizeof value, left_words(m, i));
        snprintf(id, sizeof id, "job.plug.%d", i);
        hit = ui_region(ui, id, row, UI_ROLE_ROW, label, words_label(WORDS_REFIT, q->refit), 0);
        grip = (struct rect){in.x, y, swapping ? in.w : in.w * 0.42f, row.h}; /* where no button is: to be dragged, to be dropped on */
        snprintf(id, sizeof id, "job.hole.%d", i);
        snprintf(payload, sizeof payload, "hole:%d", c);
        if (m->can_write && en->n_cylinders > 1) {
            struct ui_hit hold = ui_region(ui, id, grip, UI_ROLE_AREA, "drag onto another hole", label, 2);
            const char *dragged = ui_dragged(ui);

            ui_drag_source(ui, payload, hold, 0);
            if (hold.dropped && dragged != NULL && text_starts(dragged, "hole:")) {
                int from = 0;

                if (sscanf(dragged + 5, "%d", &from) == 1 && from != c)
                    job_ask_swap(st, out, from, c);
            }
            hit.clicked = hit.clicked || hold.clicked;
            hit.hover = hit.hover || hold.hover;
        }
        if (hit.clicked) {
            if (swapping)
                job_swap_at(st, out, c);
            job_choose(st, JOB_PLUGS, i);
        }
        if (chosen && st->job_show > 0) /* with its fields */
            ui_scroll_show(ui, (struct rect){row.x, row.y, row.w, row.h + 3 * t + 230});
        if (chosen)
            ui_fill_rgba(ui, (struct rect){r.x, row.y, 4, row.h}, ui_rgba(UI_SELECT));
        else if (hit.hover)
            ui_fill(ui, row, UI_CARD_DIM);
        ui_text(ui, (struct rect){in.x, y, 74, row.h}, label, &(struct ui_style){.size_px = 14, .weight = UI_SEMIBOLD, .colour = UI_TEXT});
        for (int k = 3; k >= 1 && !swapping; k--) { /* a press anywhere on the row is the answer, and nothing else */
            float w = ui_chip_width(ui, words_label(WORDS_REFIT, k), NULL);

            x -= w;
            snprintf(id, sizeof id, "job.refit.%d.%s", i, words_id(WORDS_REFIT, k));
            if (ui_chip(ui, id, (struct rect){x, y + 5, w, t}, words_label(WORDS_REFIT, k), q->refit == k, NULL) && m->can_write) {
                struct action *a = actions_add(out, ACT_REFIT);

                a->cylinder = c;
                a->position = p;
                a->number = q->refit == k ? 0 : k;
                job_choose(st, JOB_PLUGS, i);
            }
            x -= 4;
        }
        {
            const struct ui_style tabular = {.colour = UI_TEXT_SOFT, .tabular = true};
            float from = in.x + (en->n_positions > 1 ? 76.0f : 34.0f);

            if (figure[0] != '\0' && ui_text_width(ui, value, &tabular) > x - from - 4) /* "found" goes before the unit does */
                text_format(value, sizeof value, "%s %s", figure, m->inches ? "in" : "mm");
            ui_text(ui, (struct rect){from, y, fmaxf(0, x - from - 4), row.h}, value, &(struct ui_style){.colour = UI_TEXT_SOFT, .tabular = true});
        }
        y += row.h;
        refit_ask(m->record, q, m->inches, asked, sizeof asked);
        if (asked[0] != '\0') {
            snprintf(id, sizeof id, "job.ask.%d", i);
            ui_note(ui, id, (struct rect){in.x, y - 2, in.w, 20}, "to be asked first", asked);
            ui_diamond(ui, in.x + 5, y + 6, 9, ui_rgba(UI_WATCH_INK));
            y += ui_text(ui, (struct rect){in.x + 16, y - 3, in.w - 16, 80}, asked, &ask) + 4;
        }
        if (m->ready->why[i] == READY_SCRAP || m->ready->kept[i])
            y += scrap_warning(ui, m, out, i, in, y);
        if (!chosen || !m->can_write) {
            snprintf(id, sizeof id, "job.far.%d", i);
            y += torque_warning(ui, m, id, q, in, y);
        }
        if (chosen && m->can_write)
            y += hole(ui, m, st, out, c, p, (struct rect){in.x, y, in.w, 600});
        ui_fill(ui, (struct rect){in.x, y - 1, in.w, 1}, UI_LINE);
    }
    return y;
}

float job_refit_list(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, struct rect r, float y)
{
    const struct engine *en = &m->record->engine;
    struct rect in = {r.x + 20, r.y, r.w - 40, r.h};
    char line[240];

    text_format(line, sizeof line, "Refit torque%s%s%s%s%s%s%s", en->plug.thread[0] ? ", " : "", en->plug.thread,
                en->plug.seat == ENGINE_SEAT_UNKNOWN ? "" : en->plug.seat == ENGINE_SEAT_TAPER ? " taper seat" : " gasket seat",
                engine_head_id(en->head)[0] ? ", " : "", engine_head_id(en->head)[0] ? engine_head_id(en->head) : "", en->plug.type[0] ? ", " : "", en->plug.type);
    y += 6;
    y += ui_text(ui, (struct rect){in.x, y, in.w, 60}, line, &title) + 8;
    ui_fill(ui, (struct rect){in.x, y, in.w, 1}, UI_LINE);
    y = torque_table(ui, m, in, y);
    y += 8;
    ui_text(ui, (struct rect){in.x, y, in.w, 26}, "Hole by hole", &title);
    if (st->job_section == JOB_PLUGS) { /* above the words they note */
        const float w = ui_chip_width(ui, words_label(WORDS_REFIT, words_find(WORDS_REFIT, "torqued")), NULL);

        ui_keycap(ui, in.x + in.w, y + 10, "D", false);
        ui_keycap(ui, in.x + in.w - w - 4, y + 10, command_key("hand-tight"), false);
    }
    y += 30;
    y = holes(ui, m, st, out, r, y);
    return job_things_list(ui, m, st, out, in, y) + 12;
}

/* ---- for next time ---- */

static float fact_editor(struct ui *ui, struct screen_state *st, struct actions *out, const struct logbook_fact *f, struct rect r)
{
    static const char *const columns[] = {"label", "value"}, *const ids[] = {"job.fact.label", "job.fact.value"}, *const names[] = {"What", "As it is"};
    struct ui_button gone = {.look = UI_LOOK_QUIET};
    float top = r.y;

    ui_cut_top(&r, 6);
    for (int i = 0; i < 2; i++) {
        struct action *a = job_field(ui, st, out, &(struct job_asked){ids[i], names[i], "", i == 0 ? f->label : f->value, f->id, i == 0 ? sizeof f->label : sizeof f->value, ACT_FACT_TEXT}, &r);

        if (a != NULL) {
            text_copy(a->id, sizeof a->id, f->id);
            text_copy(a->column, sizeof a->column, columns[i]);
        }
    }
    if (ui_button(ui, "job.fact.remove", (struct rect){r.x, r.y, ui_button_width(ui, "Take out", &gone), ui_target_px(ui)}, "Take out", &gone)) {
        struct action *a = actions_add(out, ACT_TAKE_OUT);

        text_copy(a->column, sizeof a->column, "fact");
        text_copy(a->id, sizeof a->id, f->id);
        st->job_fact = 0;
    }
    return r.y + ui_target_px(ui) + 8 - top;
}


/* All of a fact: it is what is remembered. One that is long stands below its name. */
static float fact_words(struct ui *ui, struct rect in, float y, const struct logbook_fact *f, bool draws)
{
    static const struct ui_style whole = {.colour = UI_TEXT_SOFT, .align = UI_RIGHT, .max_lines = 4, .top = true}, below = {.colour = UI_TEXT_SOFT, .max_lines = 24, .top = true};
    const float half = (in.w - 12) * 0.5f, label_h = ui_text_height(ui, in.w, f->label, &body);
    float h;

    if (ui_text_height(ui, half, f->value, &side) >= ui_text_height(ui, half, f->value, &whole))
        return two(ui, in, y, f->label, f->value, &side, draws);
    h = ui_text_height(ui, in.w, f->value, &below);
    if (draws) {
        ui_text(ui, (struct rect){in.x, y + 7, in.w, label_h}, f->label, &body);
        ui_text(ui, (struct rect){in.x, y + 9 + label_h, in.w, h}, f->value, &below);
        ui_fill(ui, (struct rect){in.x, y + label_h + h + 15, in.w, 1}, UI_LINE);
    }
    return label_h + h + 16;
}

float job_facts_list(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, struct rect r, float y)
{
    struct ui_field add = {.name = "for next time", .placeholder = "Plug socket: 16 mm, thin wall"};
    struct rect in = {r.x + 20, r.y, r.w - 40, r.h};
    char typed[280];

    y += 8;
    ui_text(ui, (struct rect){in.x, y, in.w, 26}, "For next time", &title);
    y += 30;
    for (size_t i = 0; i < m->n_facts; i++) {
        char id[32];
        float h = fact_words(ui, in, y, &m->facts[i], false);

        snprintf(id, sizeof id, "job.fact.%d", (int)i);
        if (ui_region(ui, id, (struct rect){r.x, y, r.w, h}, UI_ROLE_ROW, m->facts[i].label, m->facts[i].value, 0).clicked) {
            st->job_fact = st->job_fact == (int)i + 1 ? 0 : (int)i + 1;
            if (st->job_fact > 0)
                ui_focus(ui, "job.fact.value"); /* and so it comes into view */
        }
        fact_words(ui, in, y, &m->facts[i], true);
        y += h;
        if (st->job_fact == (int)i + 1 && m->can_write)
            y += fact_editor(ui, st, out, &m->facts[i], (struct rect){in.x, y, in.w, 300});
    }
    if (m->can_write) {
        y += 8;
        if (job_new_field(ui, "job.new-fact", &add, "F", (struct rect){in.x, y, in.w, ui_target_px(ui) + 4}, typed, sizeof typed))
            text_copy(actions_add(out, ACT_FACT_ADD)->text, sizeof typed, typed);
        y += ui_target_px(ui) + 8;
    }
    return y;
}
