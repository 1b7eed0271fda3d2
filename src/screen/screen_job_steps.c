/* screen_job_steps.c - the middle of the Job screen: steps over days, the caution each needs, what is proposed. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/text.h"
#include "record/steps.h"
#include "report/closing.h"
#include "screen/screen_job.h"

static const struct ui_style title = {.size_px = 18, .weight = UI_SEMIBOLD, .colour = UI_TEXT};
static const struct ui_style words = {.size_px = 14, .colour = UI_TEXT, .max_lines = 8, .top = true};
static const struct ui_style words_done = {.size_px = 14, .colour = UI_TEXT_SOFT, .max_lines = 8, .top = true};
static const struct ui_style side = {.colour = UI_TEXT_SOFT, .align = UI_RIGHT, .max_lines = 3, .top = true};
static const struct ui_style caution = {.colour = UI_WATCH_INK, .max_lines = 4, .top = true};
static const struct ui_style caution_done = {.colour = UI_TEXT_SOFT, .max_lines = 4, .top = true};
static const struct ui_style note = {.colour = UI_TEXT_SOFT, .max_lines = 4, .top = true};

static const struct job_choice states[] = {{"todo", "to do", NULL}, {"waiting", "waiting", "W"}, {"done", "done", "D"}, {"later", "look again", "L"}, {"photo", "photo", "F6"}};
#define N_STATES 4 /* behind them: a photo is added */
#define N_CHIPS 5
#define THUMB_W 88.0f
#define THUMB_H 66.0f

/* The circle before a step: shape and not colour alone tells its state. */
static void mark(struct ui *ui, float x, float y, const char *state)
{
    if (strcmp(state, "done") == 0) {
        ui_disc(ui, x, y, 10, ui_rgba(UI_DARK));
        ui_line(ui, x - 4.5f, y + 0.5f, x - 1.2f, y + 4, 2, UI_DARK_TEXT);
        ui_line(ui, x - 1.2f, y + 4, x + 4.8f, y - 3.6f, 2, UI_DARK_TEXT);
    } else if (strcmp(state, "waiting") == 0) {
        ui_disc(ui, x, y, 10, ui_rgba(UI_WATCH));
        ui_line(ui, x, y - 5.5f, x, y, 2, UI_WATCH_TEXT);
        ui_line(ui, x, y, x + 4, y + 2, 2, UI_WATCH_TEXT);
    } else if (strcmp(state, "later") == 0) {
        for (int k = 0; k < 8; k++)
            ui_arc(ui, x, y, 10, 2, (float)k * 45, (float)k * 45 + 24, ui_rgba(UI_TEXT_QUIET));
    } else {
        ui_ring(ui, x, y, 10, 2, ui_rgba(UI_TEXT_SOFT));
        if (strcmp(state, "over") == 0)
            ui_line(ui, x - 4.5f, y, x + 4.5f, y, 2, UI_TEXT_SOFT);
    }
}

static void distance_words(const struct model *m, double metres, char *to, size_t n_room)
{
    char at[40];

    visit_format_odometer(MAYBE(metres), job_distance_unit(model_visit(m)), at, sizeof at);
    text_format(to, n_room, "after %s", at);
}

/* "14 Jun 2026" of the visit that left a step or a part open; "" of the visit's own. */
void job_left_words(const struct model *m, const char *visit_id, char *to, size_t n_room)
{
    to[0] = '\0';
    if (strcmp(visit_id, m->visit_id) == 0)
        return;
    if (model_visit_index(m, visit_id) >= 0)
        clock_date_words(m->visits[model_visit_index(m, visit_id)].date, to, n_room);
}

/* A repair to be looked at again: what the readings of this visit say of it. */
static const struct follow *looked_again(const struct model *m, const struct logbook_step *s)
{
    char cause[112];

    for (size_t i = 0; i < m->n_watches; i++) {
        text_format(cause, sizeof cause, "again:%s@%s", m->watches[i].verdict->cause, m->watches[i].verdict->place);
        if (strcmp(cause, s->source) == 0 && m->watches[i].follow.state != FOLLOW_NOT_LOOKED && m->watches[i].follow.state != FOLLOW_NOT_DONE)
            return &m->watches[i].follow;
    }
    return NULL;
}

/* Whether the distance after which it is to be looked at again has been driven by this visit. */
static bool due(const struct model *m, const struct logbook_step *s)
{
    struct maybe run = closing_run_m(m->record, m->record->n_visits - 1, s);

    return s->after_m.given && run.given && run.value >= s->after_m.value;
}

static void left_side_words(const struct model *m, const struct logbook_step *s, const char *since, char *to, size_t n_room)
{
    const struct follow *f = looked_again(m, s);
    char after[200] = "", answer[120];

    if (closing_so_far(m->record, s, m->watches, m->n_watches, answer, sizeof answer)) {
        text_copy(to, n_room, answer);
        return;
    }
    if (f != NULL) {
        text_format(to, n_room, "looked at: %s", follow_words(f->state));
        return;
    }
    if (closing_answer(m->record, s, m->watches, m->n_watches, answer, sizeof answer)) {
        text_format(to, n_room, "answered: %s", answer);
        return;
    }
    if (strcmp(s->state, "waiting") == 0)
        text_format(after, sizeof after, s->waits_for[0] ? " · waiting for %s" : " · waiting%s", TEXT_SHORT(s->waits_for, 40));
    else if (due(m, s))
        text_copy(after, sizeof after, " · due");
    else if (strcmp(s->state, "later") == 0 && s->after_m.given) {
        text_copy(after, sizeof after, " · ");
        distance_words(m, s->after_m.value, after + strlen(after), sizeof after - strlen(after));
    }
    else if (step_carry(s->source) != STEP_STAYS)
        text_format(after, sizeof after, " · %s", step_carry_words(s->source));
    text_format(to, n_room, "left %s%s", since, after);
}

/* What was noted tells that it was done, and nobody ticked it. */
static bool done_as_noted(const struct model *m, const struct logbook_step *s)
{
    return strcmp(s->state, "todo") == 0 && strcmp(s->visit, m->visit_id) == 0 && job_is_over(m->record, s->source);
}

static void side_words(const struct model *m, const struct logbook_step *s, char *to, size_t n_room)
{
    char since[40], why[120];

    int n = record_plug_count(&m->record->engine), read = 0;

    to[0] = '\0';
    job_left_words(m, s->visit, since, sizeof since);
    if (strcmp(s->state, "done") == 0)
        clock_date_words(s->done_on, to, n_room);
    else if (closing_moot(m->record, s, why, sizeof why))
        text_format(to, n_room, "over: %s", why);
    else if (done_as_noted(m, s))
        text_copy(to, n_room, "done, by what is noted");
    else if (since[0] != '\0')
        left_side_words(m, s, since, to, n_room);
    else if (strcmp(s->state, "waiting") == 0)
        text_format(to, n_room, s->waits_for[0] ? "waiting for %s" : "waiting%s", s->waits_for);
    else if (strcmp(s->state, "later") == 0 && s->after_m.given)
        distance_words(m, s->after_m.value, to, n_room);
    else if (strcmp(s->source, "refit") == 0) {
        for (int i = 0; i < n; i++)
            read += model_visit(m)->readings[i].refit == words_find(WORDS_REFIT, "torqued") && !ready_comes_out(m->ready->why[i]);
        text_format(to, n_room, "%d of %d", read, n);
    } else if ((read = job_answered_plugs(m->record, model_visit(m), s->source, &n)) > 0) {
        text_format(to, n_room, "%d of %d", read, n);
    }
}

/* Nothing is to be done for it any more, with a tick or without. */
static bool is_behind(const struct model *m, const struct logbook_step *s)
{
    char answer[120];

    return strcmp(s->state, "done") == 0 || done_as_noted(m, s) || closing_moot(m->record, s, answer, sizeof answer) || closing_answer(m->record, s, m->watches, m->n_watches, answer, sizeof answer);
}

/* Everything of a step but its circle; measures when the pen does not draw. held: its cautions stay when it is ticked. */
static void put_step(struct job_pen *p, const struct model *m, const struct logbook_step *s, bool held)
{
    const struct job_caution *cautions[JOB_MOST_CAUTIONS];
    const bool done = is_behind(m, s), lacks = closing_lacks_outcome(m->record, s, m->verdicts, m->n_verdicts);
    int n_cautions = (done && !held) || lacks ? 0 : job_cautions_of(s->caution, cautions);
    float w = p->w, top = p->y, sw;
    char aside[220];

    side_words(m, s, aside, sizeof aside);
    sw = aside[0] ? fminf(ui_text_width(p->ui, aside, &side) + 2, w * 0.36f) : 0;
    p->w = w - sw - (sw > 0 ? 12 : 0);
    job_put(p, s->text, done ? &words_done : &words, 0);
    if (p->draws && aside[0])
        ui_text(p->ui, (struct rect){p->x + w - sw, top + 1, sw, 60}, aside, &side);
    p->w = w;
    if (sw > 0)
        p->y = fmaxf(p->y, top + 1 + ui_text_height(p->ui, sw, aside, &side));
    if (s->note[0] != '\0') {
        p->y += 3;
        job_put(p, s->note, &note, 0);
    }
    if (lacks) {
        p->y += 3;
        job_put(p, "Ticked, no figure noted. What did it settle? Note the figures, judge the cause on the left, or write it in the step's note.", &caution, 0);
    }
    for (int i = 0; i < n_cautions; i++) {
        p->y += 4;
        if (p->draws)
            ui_diamond(p->ui, p->x + 5, p->y + 9, 9, ui_rgba(done ? UI_TEXT_SOFT : UI_WATCH_INK));
        p->x += 16;
        p->w -= 16;
        job_put(p, cautions[i]->text, done ? &caution_done : &caution, 0);
        p->x -= 16;
        p->w += 16;
    }
}

static const struct {
    const char *id, *label, *hint, *column;
} step_fields[] = {{"job.step.text", "Step", "", "text"}, {"job.step.note", "Note", "what was found, torn, borrowed", "note"},
              {"job.step.waits", "Waits for", "part or tool", "waits_for"}, {"job.step.after", "Look again after", "500 mi, 800 km", "after_m"}};

/* Fields of the chosen step; gives the height. */
static float editor(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, const struct logbook_step *s, struct rect r)
{
    char value[256] = "";
    float top = r.y, t = ui_target_px(ui);
    struct rect row;

    for (int i = 0; i < 4; i++) {
        struct action *a;

        switch (i) {
        case 0: text_copy(value, sizeof value, s->text); break;
        case 1: text_copy(value, sizeof value, s->note); break;
        case 2: text_copy(value, sizeof value, s->waits_for); break;
        default:
            value[0] = '\0';
            if (s->after_m.given)
                visit_format_odometer(s->after_m, job_distance_unit(model_visit(m)), value, sizeof value);
        }
        a = job_field(ui, st, out, &(struct job_asked){step_fields[i].id, step_fields[i].label, step_fields[i].hint, value, s->id, sizeof value, ACT_STEP_TEXT}, &r);
        if (a != NULL) {
            text_copy(a->id, sizeof a->id, s->id);
            text_copy(a->column, sizeof a->column, step_fields[i].column);
        }
    }
    row = ui_cut_top(&r, t);
    {
        bool own = strcmp(s->visit, m->visit_id) == 0;
        static const char elsewhere[] = "It keeps its place in the list of the visit that left it open.";
        struct ui_button up = {.key = "−", .disabled = own ? NULL : elsewhere}, down = {.key = "+", .disabled = own ? NULL : elsewhere}, gone = {.look = UI_LOOK_QUIET, .key = "Delete"};
        struct action *a;

        if (ui_button(ui, "job.step.up", ui_cut_left(&row, ui_button_width(ui, "Earlier", &up)), "Earlier", &up)) {
            a = actions_add(out, ACT_STEP_MOVE);
            text_copy(a->id, sizeof a->id, s->id);
            a->number = -1;
        }
        ui_cut_left(&row, 8);
        if (ui_button(ui, "job.step.down", ui_cut_left(&row, ui_button_width(ui, "Later", &down)), "Later", &down)) {
            a = actions_add(out, ACT_STEP_MOVE);
            text_copy(a->id, sizeof a->id, s->id);
            a->number = 1;
        }
        ui_cut_left(&row, 8);
        if (ui_button(ui, "job.step.remove", ui_cut_left(&row, ui_button_width(ui, "Take out", &gone)), "Take out", &gone)) {
            a = actions_add(out, ACT_TAKE_OUT);
            text_copy(a->column, sizeof a->column, "step");
            text_copy(a->id, sizeof a->id, s->id);
        }
    }
    return r.y - top + 4;
}

/* What the chosen step can become, and the keys for it. */
static void state_chips(struct ui *ui, struct screen_state *st, struct actions *out, const struct logbook_step *s, struct rect r)
{
    int now = -1, chosen;
    struct action *a;

    for (int i = 0; i < N_STATES; i++)
        if (strcmp(states[i].id, s->state) == 0)
            now = i;
    chosen = job_row_chips(ui, st, "job.state", r, states, N_CHIPS, now);
    if (chosen == N_STATES)
        screen_files_open(st, FILES_PHOTOS);
    if (chosen < 0 || chosen >= N_STATES)
        return;
    a = actions_add(out, ACT_STEP_STATE);
    text_copy(a->id, sizeof a->id, s->id);
    text_copy(a->column, sizeof a->column, states[chosen].id);
}

static int n_photos_of(const struct model *m, const struct logbook_step *s)
{
    int n = 0;

    for (size_t i = 0; i < m->n_photos; i++)
        n += strcmp(m->photos[i].step, s->id) == 0;
    return n;
}

/* Its photos, small; one is opened by a click. */
static void photos_of(struct ui *ui, const struct model *m, struct screen_state *st, const struct logbook_step *s, struct rect r)
{
    int left = n_photos_of(m, s);

    for (size_t i = 0; i < m->n_photos && left > 0; i++) {
        const struct logbook_photo *p = &m->photos[i];
        struct rect tile;
        char id[64], more[24];

        if (strcmp(p->step, s->id) != 0)
            continue;
        if (r.w < THUMB_W || (r.w < 2 * THUMB_W && left > 1)) {
            text_format(more, sizeof more, "+%d", left);
            ui_text(ui, r, more, &side);
            break;
        }
        tile = ui_cut_left(&r, THUMB_W);
        ui_cut_left(&r, 6);
        left--;
        text_format(id, sizeof id, "job.photo.%.36s", p->id);
        if (ui_region(ui, id, tile, UI_ROLE_IMAGE, p->name, p->caption, 4).clicked) {
            st->photo = (int)i;
            st->screen = SCREEN_PHOTOS;
        }
        ui_round(ui, tile, 4, UI_TRAY_CARD);
        if (photo_ready(p))
            photo_draw(ui, p, ui_inset(tile, 3, 3));
        else
            ui_text(ui, ui_inset(tile, 4, 4), p->trouble, &(struct ui_style){.size_px = 11, .colour = UI_BAR_TEXT, .max_lines = 4, .top = true});
    }
}

static float step_px(struct job_pen p, const struct model *m, const struct logbook_step *s, bool held)
{
    const float top = p.y;

    put_step(&p, m, s, held);
    return fmaxf(48, p.y + 14 - (top - 14));
}

/* How tall its words stand. One that was open since the screen was opened stays as tall as it was then, and as it is with its tick. */
static float held_px(const struct job_pen *p, const struct model *m, struct screen_state *st, const struct logbook_step *s, bool *held)
{
    const uint64_t of = ui_hash(s->note, strlen(s->note), ui_hash(s->text, strlen(s->text), ui_hash(s->id, strlen(s->id), 0)));
    struct logbook_step ticked = *s;
    int at = 0;

    while (at < st->n_job_held && st->job_held[at].of != of)
        at++;
    *held = at < st->n_job_held || !is_behind(m, s);
    if (at == st->n_job_held && (is_behind(m, s) || at == JOB_MOST_HELD))
        return step_px(*p, m, s, *held);
    if (at == st->n_job_held) {
        text_copy(ticked.state, sizeof ticked.state, "done");
        text_copy(ticked.done_on, sizeof ticked.done_on, m->today);
        st->job_held[st->n_job_held].of = of;
        st->job_held[st->n_job_held++].px = step_px(*p, m, &ticked, true);
    }
    return st->job_held[at].px = fmaxf(st->job_held[at].px, step_px(*p, m, s, true));
}

/* row: of the list, what earlier visits left open first. */
static float step_row(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, struct rect r, float y, int row)
{
    const int i = row - (int)m->n_left_steps;
    const struct logbook_step *s = model_step_row(m, row);
    bool chosen = job_chosen(st, JOB_STEPS, row), able = chosen && m->can_write, open = able && st->job_open;
    struct job_pen p = {ui, r.x + 62, y + 14, r.w - 62 - 36, false};
    struct rect card, circle, chips = {0, 0, 0, 0}, photos = {0, 0, 0, 0};
    struct ui_hit hit;
    char id[32], answer[120];
    bool moot = closing_moot(m->record, s, answer, sizeof answer), held;

    card = (struct rect){r.x + 20, y, r.w - 40, held_px(&p, m, st, s, &held)};
    if (n_photos_of(m, s) > 0) {
        photos = (struct rect){card.x + 42, y + card.h - 4, card.w - 60, THUMB_H};
        card.h += THUMB_H + 8;
    }
    if (able) {
        chips = (struct rect){card.x + 18, y + card.h, card.w - 36, job_row_chips_px(ui, card.w - 36, states, N_CHIPS)};
        card.h += chips.h + 12;
    }
    snprintf(id, sizeof id, i < 0 ? "job.left.%d" : "job.step.%d", i < 0 ? row : i);
    hit = ui_region(ui, id, card, UI_ROLE_ROW, s->text, moot ? "over" : s->state, 8);
    if (hit.clicked) {
        if (chosen)
            job_turn_fields(st);
        job_choose(st, JOB_STEPS, row);
    }
    float paper = card.h + (open ? ui_target_px(ui) + 16 : 0); /* the fields stand in the card: its paper first, as tall as the editor */

    for (size_t k = 0; k < sizeof step_fields / sizeof step_fields[0] && open; k++)
        paper += job_field_px(ui, st, step_fields[k].id, s->id, card.w - 36);
    ui_round(ui, (struct rect){card.x, card.y, card.w, paper}, 8, UI_CARD);
    circle = (struct rect){card.x + 6, card.y, 36, fminf(card.h, 48)};
    snprintf(id, sizeof id, i < 0 ? "job.left-tick.%d" : "job.tick.%d", i < 0 ? row : i);
    if (ui_region(ui, id, circle, UI_ROLE_TOGGLE, "done", s->state, 8).clicked && m->can_write) {
        struct action *a = actions_add(out, ACT_STEP_STATE);

        text_copy(a->id, sizeof a->id, s->id);
        text_copy(a->column, sizeof a->column, strcmp(s->state, "done") == 0 ? "todo" : "done");
    }
    mark(ui, card.x + 24, card.y + 24, moot ? "over" : done_as_noted(m, s) || closing_answer(m->record, s, m->watches, m->n_watches, answer, sizeof answer) ? "done" : s->state);
    p.draws = true;
    put_step(&p, m, s, held);
    if (photos.w > 0)
        photos_of(ui, m, st, s, photos);
    if (able)
        state_chips(ui, st, out, s, chips);
    y = card.y + card.h;
    if (open)
        y += editor(ui, m, st, out, s, (struct rect){card.x + 18, y, card.w - 36, 1000}) + 12;
    if (chosen && st->job_show > 0) /* with its fields */
        ui_scroll_show(ui, (struct rect){card.x, card.y, card.w, y - card.y});
    if (chosen)
        ui_select_line(ui, (struct rect){card.x, card.y, card.w, y - card.y}, 8, 2);
    return y + 8;
}

static float proposed(struct ui *ui, const struct model *m, struct actions *out, struct rect r, float y)
{
    const struct job *j = m->job;
    struct ui_button all = {.look = UI_LOOK_DARK, .key = "T"};
    char label[80];
    struct rect row;
    int n = j->n_steps + j->n_parts;

    if (n == 0 || !m->can_write)
        return y;
    y += 6;
    if (j->n_parts > 0)
        text_format(label, sizeof label, "Take over %d step%s, %d part%s", j->n_steps, j->n_steps == 1 ? "" : "s", j->n_parts, j->n_parts == 1 ? "" : "s");
    else
        text_format(label, sizeof label, "Take over %d step%s", j->n_steps, j->n_steps == 1 ? "" : "s");
    row = (struct rect){r.x + 20, y, r.w - 40, ui_target_px(ui)};
    ui_text(ui, row, "Proposed", &(struct ui_style){.size_px = 14, .weight = UI_SEMIBOLD, .colour = UI_TEXT});
    if (ui_button(ui, "job.take-all", ui_cut_right(&row, ui_button_width(ui, label, &all)), label, &all))
        actions_add(out, ACT_TAKE_PROPOSED)->number = -1;
    y += ui_target_px(ui) + 8;
    for (int i = 0; i < n; i++) {
        const char *text = i < j->n_steps ? j->steps[i].text : j->parts[i - j->n_steps].text;
        const struct job_caution *k[JOB_MOST_CAUTIONS] = {NULL};
        struct job_pen p = {ui, r.x + 62, y + 12, r.w - 62 - 36, false};
        struct rect card;
        struct ui_hit hit;
        char id[32], line[300];

        if (i < j->n_steps)
            job_cautions_of(j->steps[i].caution, k);
        if (i < j->n_steps)
            text_format(line, sizeof line, "%s%s", strcmp(j->steps[i].state, "done") == 0 ? "Done already: " : "", text);
        else
            text_format(line, sizeof line, "Part: %d × %s", j->parts[i - j->n_steps].quantity, text);
        job_put(&p, line, &words, 0);
        card = (struct rect){r.x + 20, y, r.w - 40, fmaxf(44, p.y + 12 - y)};
        snprintf(id, sizeof id, "job.proposed.%d", i);
        hit = ui_region(ui, id, card, UI_ROLE_BUTTON, line, k[0] != NULL ? k[0]->text : "", 8);
        ui_round_dashed(ui, card, 8, 1, hit.hover ? UI_TEXT : UI_TEXT_QUIET);
        ui_text(ui, (struct rect){card.x + 14, card.y, 20, fminf(card.h, 44)}, "+", &(struct ui_style){.size_px = 18, .colour = UI_TEXT_SOFT});
        p.y = y + 12;
        p.draws = true;
        job_put(&p, line, &words, 0);
        if (hit.clicked)
            actions_add(out, ACT_TAKE_PROPOSED)->number = i;
        y += card.h + 6;
    }
    return y;
}

void job_steps_head(struct ui *ui, struct rect r)
{
    ui_text(ui, (struct rect){r.x + 20, r.y + 14, r.w - 40, 30}, "Steps", &title);
}

float job_steps_list(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, struct rect r, float y)
{
    struct ui_field add = {.name = "new step", .placeholder = "A step of your own, then Enter"};
    struct rect field;
    char typed[256];

    y += 2;
    for (int i = 0; i < model_step_rows(m); i++)
        y = step_row(ui, m, st, out, r, y, i);
    if (model_step_rows(m) == 0)
        y += ui_text(ui, (struct rect){r.x + 20, y, r.w - 40, 60}, "No step is noted yet. Take over what is proposed, or write your own.", &note) + 8;
    if (m->can_write) {
        field = (struct rect){r.x + 20, y, r.w - 40, ui_target_px(ui) + 4};
        if (job_new_field(ui, "job.new-step", &add, "N", field, typed, sizeof typed))
            text_copy(actions_add(out, ACT_STEP_ADD)->text, sizeof typed, typed), job_await(m, st, JOB_STEPS);
        y += field.h + 10;
    }
    return job_closing(ui, m, st, out, r, proposed(ui, m, out, r, y));
}
