/* screen_job.c - the job: likely causes and what became of repairs, steps over days, parts, refitting. */
#include "screen/screen_job.h"

#include <assert.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/text.h"
#include "reading/cause_at.h"
#include "record/ready.h"
#include "report/closing.h"
#include "screen/plan_causes.h"
#include "screen/refused.h"

static const struct ui_style title = {.size_px = 18, .weight = UI_SEMIBOLD, .colour = UI_TEXT};
static const struct ui_style head = {.size_px = 14, .weight = UI_SEMIBOLD, .colour = UI_TEXT, .max_lines = 3, .top = true};
static const struct ui_style body = {.colour = UI_TEXT, .max_lines = 4, .top = true};
static const struct ui_style contra = {.colour = UI_WATCH_INK, .max_lines = 3, .top = true};
static const struct ui_style soft = {.colour = UI_TEXT_SOFT, .max_lines = 8, .top = true};
static const struct ui_style right = {.colour = UI_TEXT_SOFT, .align = UI_RIGHT, .top = true};

/* ---- shared by the lists ---- */

void job_put(struct job_pen *p, const char *text, const struct ui_style *style, float gap)
{
    float h = ui_text_height(p->ui, p->w, text, style);

    if (p->draws)
        ui_text(p->ui, (struct rect){p->x, p->y, p->w, h}, text, style);
    p->y += h + gap;
}

int job_chips(struct ui *ui, const char *prefix, struct rect r, const struct job_choice *choices, int n, int on)
{
    int chosen = -1;
    struct ui_flow flow = ui_flow_begin(r, ui_target_px(ui));

    for (int i = 0; i < n; i++) {
        char id[64];

        text_format(id, sizeof id, "%s.%s", prefix, choices[i].id);
        if (ui_chip(ui, id, ui_flow_next(&flow, ui_chip_width(ui, choices[i].label, choices[i].key)), choices[i].label, on == i, choices[i].key))
            chosen = i;
    }
    return chosen;
}

static struct rect fields_chip(struct ui *ui, struct rect r, const struct job_choice *choices, int n, float *h)
{
    struct ui_flow flow = ui_flow_begin(r, ui_target_px(ui));
    struct rect chip;

    for (int i = 0; i < n; i++)
        ui_flow_next(&flow, ui_chip_width(ui, choices[i].label, choices[i].key));
    chip = ui_flow_next(&flow, ui_chip_width(ui, "edit", "E"));
    *h = ui_flow_height(&flow);
    return chip;
}

void job_turn_fields(struct screen_state *st)
{
    st->job_open = !st->job_open;
    st->job_show = 3; /* they are drawn a frame later, and the list is as long as they make it one more later */
}

int job_row_chips(struct ui *ui, struct screen_state *st, const char *prefix, struct rect r, const struct job_choice *choices, int n, int on)
{
    int chosen = job_chips(ui, prefix, r, choices, n, on);
    char id[64];
    float h;

    text_format(id, sizeof id, "%s.fields", prefix);
    if (ui_chip(ui, id, fields_chip(ui, r, choices, n, &h), "edit", st->job_open, "E"))
        job_turn_fields(st);
    return chosen;
}

float job_row_chips_px(struct ui *ui, float w, const struct job_choice *choices, int n)
{
    float h;

    fields_chip(ui, (struct rect){0, 0, w, 200}, choices, n, &h);
    return h;
}

static void field_name(const char *id, const char *of, char to[64])
{
    text_format(to, 64, "%s %s", id, of);
}

float job_field_px(struct ui *ui, struct screen_state *st, const char *id, const char *of, float w)
{
    char name[64];

    field_name(id, of, name);
    return ui_target_px(ui) + 28 + refused_words(ui, st, id, name, (struct rect){0, 0, w, 80}, false);
}

struct action *job_field(struct ui *ui, struct screen_state *st, struct actions *out, const struct job_asked *f, struct rect *r)
{
    struct ui_field opts = {.name = f->label, .placeholder = f->hint};
    struct action *a = NULL;
    char typed[512], name[64];
    unsigned result;
    float h;

    assert(f->n_room <= sizeof typed);
    field_name(f->id, f->of, name);
    ui_heading(ui, ui_cut_top(r, 20), f->label);
    result = refused_text_field(ui, st, f->id, name, ui_cut_top(r, ui_target_px(ui) + 4), opts, f->value, typed, f->n_room);
    if ((result & UI_COMMIT) != 0 && strcmp(typed, f->value) != 0) {
        a = actions_add(out, f->type);
        refused_typed(a, name, typed, result);
    } else if ((result & UI_COMMIT) != 0) {
        refused_drop(st, name);
    }
    ui_cut_top(r, 4);
    h = refused_words(ui, st, f->id, name, (struct rect){r->x, r->y, r->w, 80}, true);
    ui_cut_top(r, h);
    return a;
}

bool job_new_field(struct ui *ui, const char *id, const struct ui_field *opts, const char *key, struct rect r, char *typed, size_t n_room)
{
    struct ui_field whole = *opts;
    unsigned result;
    bool given;

    whole.whole = true;
    result = ui_text_field(ui, id, r, &whole, "", typed, n_room);
    given = (result & UI_COMMIT) != 0 && typed[strspn(typed, " ")] != '\0';
    if (strcmp(ui_focused(ui), id) != 0)
        ui_keycap(ui, r.x + r.w - 10, r.y + r.h / 2, key, false);
    if (given && (result & UI_ENTER) != 0)
        ui_focus(ui, NULL);
    return given;
}

bool job_chosen(const struct screen_state *st, enum job_section section, int row)
{
    return st->job_section == section && st->job_row == row;
}

void job_choose(struct screen_state *st, enum job_section section, int row)
{
    if (!job_chosen(st, section, row))
        st->job_open = false;
    st->job_section = section;
    st->job_row = row;
    st->job_by_person = true;
}

enum job_state job_verdict(const struct model *m, const struct cause *c)
{
    return report_judged(m->record, m->verdicts, m->n_verdicts, c->id, c->where);
}

int job_n_causes(const struct model *m)
{
    return m->findings != NULL ? findings_n_on_screen(m->findings) : 0;
}

/* ---- causes ---- */

static void judge(struct actions *out, const struct cause *c, enum job_state state)
{
    struct action *a = actions_add(out, ACT_JUDGE);

    text_copy(a->column, sizeof a->column, c->id);
    text_copy(a->text, sizeof a->text, c->where);
    a->number = (int)state;
}

static void put_lines(struct job_pen *p, const struct lines *lines, int most, const char *mark, const struct ui_style *style)
{
    char line[640];

    for (int i = 0; i < lines->n && i < most; i++) {
        text_format(line, sizeof line, "%s %s", mark, lines->text[i]);
        job_put(p, line, style, 1);
    }
}

static void put_cause(struct job_pen *p, const struct cause *c, const char *name, enum job_state state, bool chosen)
{
    static const char *const words[] = {NULL, "accepted", "set aside", "repaired"};
    const char *side = state == JOB_OPEN ? cause_likelihood_words(c->probability) : words[state];
    char line[400];
    float w = p->w;

    p->w = w - 84;
    if (p->draws)
        ui_text(p->ui, (struct rect){p->x + w - 84, p->y + 1, 84, 20}, side, &right);
    job_put(p, name, &head, 6);
    p->w = w;
    if (p->draws) {
        ui_round(p->ui, (struct rect){p->x, p->y, w, 8}, 4, UI_LINE);
        ui_round(p->ui, (struct rect){p->x, p->y, fmaxf(8, w * (float)c->probability), 8}, 4, c->probability >= 0.5 ? UI_DARK : c->probability >= 0.2 ? UI_TEXT_QUIET : UI_BUTTON_LINE);
    }
    p->y += 16;
    if (state == JOB_DISMISSED && !chosen)
        return;
    put_lines(p, &c->pro, chosen ? 6 : 3, "+", &body);
    put_lines(p, &c->contra, chosen ? 6 : 2, "−", &contra);
    text_format(line, sizeof line, "%s %s", c->ordinary ? "Nothing is broken." : "Settles it:", c->settles);
    p->y += 3;
    job_put(p, line, &soft, 2);
}

/* Gives the height they take; draws them only when told to. */
static float cause_buttons(struct ui *ui, struct actions *out, const struct cause *c, enum job_state state, struct rect r, bool draws)
{
    static const struct {
        enum job_state state;
        const char *id, *label, *key;
    } rows[] = {{JOB_ACCEPTED, "job.accept", "Accept", "A"}, {JOB_DISMISSED, "job.set-aside", "Set aside", "S"}, {JOB_REPAIRED, "job.repaired", "Repaired", "D"}};
    struct ui_flow flow = ui_flow_begin(r, ui_target_px(ui));

    for (size_t i = 0; i < 3; i++) {
        struct rect chip = ui_flow_next(&flow, ui_chip_width(ui, rows[i].label, rows[i].key));

        if (draws && ui_chip(ui, rows[i].id, chip, rows[i].label, state == rows[i].state, rows[i].key))
            judge(out, c, state == rows[i].state ? JOB_OPEN : rows[i].state);
    }
    return ui_flow_height(&flow);
}

static float cause_rows(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, struct rect r, float y)
{
    int n = job_n_causes(m);

    if (m->findings == NULL)
        return y + ui_text(ui, (struct rect){r.x + 20, y, r.w - 40, 24}, "Reading …", &soft) + 8;
    if (n == 0)
        return y + ui_text(ui, (struct rect){r.x + 20, y, r.w - 40, 60}, "What was noted points to no cause yet. Note deposits, wells, gaps and codes on Plan.", &soft) + 12;
    for (int i = 0; i < n; i++) {
        const struct cause *c = &m->findings->causes[i];
        bool chosen = job_chosen(st, JOB_CAUSES, i);
        enum job_state state = job_verdict(m, c);
        struct job_pen p = {ui, r.x + 20, y + 12, r.w - 42, false};
        char id[32], name[CAUSE_AT_BYTES];
        struct rect row;
        struct ui_hit hit;

        cause_at_found(&m->record->engine, c, name);
        put_cause(&p, c, name, state, chosen);
        row = (struct rect){r.x, y, r.w, p.y + 10 - y};
        snprintf(id, sizeof id, "job.cause.%d", i);
        hit = ui_region(ui, id, row, UI_ROLE_ROW, name, state == JOB_OPEN ? cause_likelihood_words(c->probability) : state == JOB_ACCEPTED ? "accepted" : state == JOB_DISMISSED ? "set aside" : "repaired", 0);
        if (hit.clicked)
            job_choose(st, JOB_CAUSES, i);
        if (chosen)
            ui_fill(ui, row, UI_CARD);
        else if (hit.hover)
            ui_fill(ui, row, UI_CARD_DIM);
        p.y = y + 12;
        p.draws = true;
        put_cause(&p, c, name, state, chosen);
        y += row.h;
        if (chosen && m->can_write) {
            const struct rect buttons = {r.x + 20, y + 2, r.w - 40, 0};
            const float h = cause_buttons(ui, out, c, state, buttons, false) + 14;

            ui_fill(ui, (struct rect){r.x, y, r.w, h}, UI_CARD);
            cause_buttons(ui, out, c, state, buttons, true);
            y += h;
        }
        if (chosen)
            ui_fill_rgba(ui, (struct rect){r.x, row.y, 4, y - row.y}, ui_rgba(UI_SELECT));
        ui_fill(ui, (struct rect){r.x, y - 1, r.w, 1}, UI_LINE);
    }
    return y + plan_causes_more(ui, m->findings, "job.more-causes", (struct rect){r.x + 20, y, r.w - 40, 0}, &soft);
}

/* Those that were worked on, or those that were not; at_pen goes on below them. */
static void watch_rows(struct job_pen *at_pen, const struct model *m, struct rect r, bool done, const char *head_words)
{
    struct ui *ui = at_pen->ui;
    struct job_pen p = *at_pen;
    char id[40], at[CAUSE_AT_BYTES];
    bool any = false;

    for (size_t i = 0; i < m->n_watches; i++) {
        const struct report_watch *w = &m->watches[i];
        enum follow_state s = w->follow.state;
        float top;

        if ((s == FOLLOW_NOT_DONE) == done)
            continue;
        if (!any && head_words[0] != '\0')
            job_put(&p, head_words, &title, 8);
        any = true;
        top = p.y;
        p.w = r.w - 40 - 120;
        cause_at_words(&m->record->engine, w->verdict->cause, w->verdict->place, at);
        job_put(&p, at, &head, 2);
        p.w = r.w - 40;
        ui_text(ui, (struct rect){r.x + r.w - 140, top, 120, 20}, follow_words(s),
                &(struct ui_style){.weight = UI_SEMIBOLD, .colour = s == FOLLOW_BACK || s == FOLLOW_PARTLY ? UI_ACT_INK : s <= FOLLOW_NOT_TOLD || s == FOLLOW_NOT_DONE ? UI_WATCH_INK : UI_TEXT, .align = UI_RIGHT, .top = true});
        job_put(&p, w->follow.shown, &body, 10);
        snprintf(id, sizeof id, "job.watch.%d", (int)i);
        ui_note(ui, id, (struct rect){r.x, top, r.w, p.y - top}, at, follow_words(s));
    }
    *at_pen = p;
}

/* What became of earlier repairs, and of parts that were swapped; what was accepted and not done. */
static float watched(struct ui *ui, const struct model *m, struct rect r, float y)
{
    struct job_pen p = {ui, r.x + 20, y + 14, r.w - 40, true};
    size_t n_done = 0;
    char id[40];

    if (m->n_watches == 0 && m->n_swaps == 0)
        return y;
    for (size_t i = 0; i < m->n_watches; i++)
        n_done += m->watches[i].follow.state != FOLLOW_NOT_DONE;
    if (n_done + m->n_swaps > 0)
        job_put(&p, "Did it hold?", &title, 8);
    watch_rows(&p, m, r, true, "");
    for (size_t i = 0; i < m->n_swaps; i++) {
        float top = p.y;

        job_put(&p, m->swaps[i].headline, &head, 2);
        job_put(&p, m->swaps[i].shown, &body, 10);
        snprintf(id, sizeof id, "job.swap.%d", (int)i);
        ui_note(ui, id, (struct rect){r.x, top, r.w, p.y - top}, m->swaps[i].headline, m->swaps[i].shown);
    }
    watch_rows(&p, m, r, false, "Accepted before, not done yet");
    ui_fill(ui, (struct rect){r.x, p.y, r.w, 1}, UI_LINE);
    return p.y + 4;
}

float job_causes_list(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, struct rect r, float y)
{
    static const char pointer[] = "A reading is a pointer, not a verdict. Confirm by test before buying parts; the maker's manual and a licensed mechanic come first.";
    struct rect box;
    float h;

    y = watched(ui, m, r, y);
    ui_text(ui, (struct rect){r.x + 20, y + 14, r.w - 40, 26}, "Likely causes", &title);
    y = cause_rows(ui, m, st, out, r, y + 46);
    h = ui_text_height(ui, r.w - 68, pointer, &soft);
    box = (struct rect){r.x + 20, y + 16, r.w - 40, h + 22};
    ui_round(ui, box, 8, UI_CARD);
    ui_round_line(ui, box, 8, 1, UI_BUTTON_LINE);
    ui_text(ui, (struct rect){box.x + 14, box.y + 11, r.w - 68, h}, pointer, &soft);
    return box.y + box.h + 16;
}

/* ---- keys ---- */

static int n_rows(const struct model *m, enum job_section s)
{
    switch (s) {
    case JOB_CAUSES: return job_n_causes(m);
    case JOB_STEPS: return model_step_rows(m);
    case JOB_PARTS: return model_need_rows(m);
    case JOB_PLUGS: return model_visit(m) != NULL ? record_plug_count(&m->record->engine) : 0;
    }
    return 0;
}

static const struct cause *chosen_cause(const struct model *m, const struct screen_state *st)
{
    return st->job_section == JOB_CAUSES && st->job_row < job_n_causes(m) ? &m->findings->causes[st->job_row] : NULL;
}

void job_await(const struct model *m, struct screen_state *st, enum job_section section)
{
    st->job_awaits = section;
    st->job_awaits_above = n_rows(m, section);
}

static void choose_awaited(const struct model *m, struct screen_state *st)
{
    const int n = n_rows(m, st->job_awaits);

    if (st->job_awaits_above < 0 || n <= st->job_awaits_above)
        return;
    job_choose(st, st->job_awaits, n - 1);
    st->job_awaits_above = -1;
    st->job_show = 3;
}

/* Says what is repaired by it: it takes a reason off "do not start". Nobody may have meant the first cause. */
static void repaired_key(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out)
{
    const struct cause *c = chosen_cause(m, st);
    char name[CAUSE_AT_BYTES], said[CAUSE_AT_BYTES + 120];

    if (c == NULL)
        return;
    cause_at_found(&m->record->engine, c, name);
    if (st->job_by_person) {
        judge(out, c, JOB_REPAIRED);
        text_format(said, sizeof said, "Repaired: %s.", name);
    } else {
        text_format(said, sizeof said, "D once more: “%s” is repaired. The arrows go to steps, parts and plugs, where D means done.", name);
        st->job_by_person = true;
    }
    ui_toast(ui, said, NULL);
}

/* To be ticked: neither done, with a tick or without, nor needless or too late. */
static bool is_open(const struct model *m, const struct logbook_step *s)
{
    char why[120];

    return strcmp(s->state, "done") != 0 && !job_is_over(m->record, s->source) && !closing_moot(m->record, s, why, sizeof why);
}

/* The next step that is to be done, waited for, or was left to be looked at now; the same one where there is none behind it. */
static int next_open_step(const struct model *m, int row)
{
    for (int i = row + 1; i < n_rows(m, JOB_STEPS); i++) {
        const struct logbook_step *s = model_step_row(m, i);

        if (is_open(m, s) && (i < (int)m->n_left_steps || strcmp(s->state, "later") != 0))
            return i;
    }
    return row;
}

int job_hole(const struct model *m, const struct screen_state *st)
{
    return st->job_section == JOB_PLUGS ? st->job_row / m->record->engine.n_positions : -1;
}

void job_pick_hole(const struct model *m, struct screen_state *st, int cylinder)
{
    const int n = m->record->engine.n_positions, position = job_hole(m, st) == cylinder ? (st->job_row % n + 1) % n : 0;

    job_choose(st, JOB_PLUGS, cylinder * n + position);
    st->job_show = 1;
}

/* In by hand, which keeps dirt out; pressed again, out. */
static void hand_key(const struct model *m, const struct screen_state *st, struct actions *out)
{
    const int n = m->record->engine.n_positions, hand = words_find(WORDS_REFIT, "hand");
    struct action *a = actions_add(out, ACT_REFIT);

    a->cylinder = st->job_row / n;
    a->position = st->job_row % n;
    a->number = model_reading(m, a->cylinder, a->position)->refit == hand ? words_find(WORDS_REFIT, "out") : hand;
}

/* The chosen hole is torqued, and what is pressed next belongs to it still; where it is already, the next one is. */
static void hole_done(const struct model *m, struct screen_state *st, struct actions *out)
{
    const int n_positions = m->record->engine.n_positions;
    struct action *a;

    if (model_reading(m, st->job_row / n_positions, st->job_row % n_positions)->refit == words_find(WORDS_REFIT, "torqued") && st->job_row + 1 < n_rows(m, JOB_PLUGS))
        st->job_row++;
    a = actions_add(out, ACT_REFIT);
    a->cylinder = st->job_row / n_positions;
    a->position = st->job_row % n_positions;
    a->number = words_find(WORDS_REFIT, "torqued");
}

/* Done, onward: the same key for a step, a part, a plug and a repair. */
static void done_key(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out)
{
    static const char *const next_state[][2] = {{"to-order", "ordered"}, {"ordered", "in-hand"}, {"in-hand", "fitted"}};
    struct action *a;

    switch (st->job_section) {
    case JOB_CAUSES:
        repaired_key(ui, m, st, out);
        break;
    case JOB_STEPS:
        a = actions_add(out, ACT_STEP_STATE);
        text_copy(a->id, sizeof a->id, model_step_row(m, st->job_row)->id);
        text_copy(a->column, sizeof a->column, strcmp(model_step_row(m, st->job_row)->state, "done") == 0 ? "todo" : "done");
        if (strcmp(a->column, "done") == 0 && !st->job_open) {
            st->job_row = next_open_step(m, st->job_row);
            st->job_show = 1;
        }
        break;
    case JOB_PARTS:
        for (size_t i = 0; i < 3; i++)
            if (strcmp(model_need_row(m, st->job_row)->state, next_state[i][0]) == 0) {
                a = actions_add(out, ACT_NEED_STATE);
                text_copy(a->id, sizeof a->id, model_need_row(m, st->job_row)->id);
                text_copy(a->column, sizeof a->column, next_state[i][1]);
                break;
            }
        break;
    case JOB_PLUGS:
        hole_done(m, st, out);
        break;
    }
}

static void state_key(const struct model *m, const struct screen_state *st, struct actions *out, const char *state)
{
    struct action *a;

    if (st->job_section != JOB_STEPS)
        return;
    a = actions_add(out, ACT_STEP_STATE);
    text_copy(a->id, sizeof a->id, model_step_row(m, st->job_row)->id);
    text_copy(a->column, sizeof a->column, strcmp(model_step_row(m, st->job_row)->state, state) == 0 ? "todo" : state);
}

static void refit_key(const struct model *m, const struct screen_state *st, struct actions *out, const char *column, enum words list)
{
    const struct reading *r;
    struct action *a;

    if (st->job_section != JOB_PLUGS)
        return;
    a = actions_add(out, ACT_REFIT_WORD);
    a->cylinder = st->job_row / m->record->engine.n_positions;
    a->position = st->job_row % m->record->engine.n_positions;
    r = model_reading(m, a->cylinder, a->position);
    text_copy(a->column, sizeof a->column, column);
    a->number = 1 + (list == WORDS_WASHER ? r->washer : r->thread_state) % 2; /* first, second, first … */
}

static void take_out(const struct model *m, const struct screen_state *st, struct actions *out)
{
    struct action *a;

    if (st->job_section != JOB_STEPS && st->job_section != JOB_PARTS)
        return;
    a = actions_add(out, ACT_TAKE_OUT);
    text_copy(a->column, sizeof a->column, st->job_section == JOB_STEPS ? "step" : "need");
    text_copy(a->id, sizeof a->id, st->job_section == JOB_STEPS ? model_step_row(m, st->job_row)->id : model_need_row(m, st->job_row)->id);
}

static void move_step(const struct model *m, struct screen_state *st, struct actions *out, int by)
{
    struct action *a;

    if (st->job_section != JOB_STEPS || st->job_row < (int)m->n_left_steps || st->job_row + by < (int)m->n_left_steps || st->job_row + by >= n_rows(m, JOB_STEPS))
        return;
    a = actions_add(out, ACT_STEP_MOVE);
    text_copy(a->id, sizeof a->id, model_step_row(m, st->job_row)->id);
    a->number = by;
    st->job_row += by;
}

/* Opens the fields of what is chosen and goes into the one that is changed most. */
static void edit_key(struct ui *ui, struct screen_state *st)
{
    static const char *const first[] = {NULL, "job.step.text", "job.part.text", "job.gap-left"};

    job_turn_fields(st);
    if ((st->job_open || st->job_section == JOB_PLUGS) && first[st->job_section] != NULL)
        ui_focus(ui, first[st->job_section]);
}

static void go(const struct model *m, struct screen_state *st, int down)
{
    int n = n_rows(m, st->job_section), to = st->job_row + down;

    if (to >= 0 && to < n)
        job_choose(st, st->job_section, to);
    else if (to >= n && st->job_section == JOB_PARTS)
        job_choose(st, JOB_PLUGS, 0);
    else if (to < 0 && st->job_section == JOB_PLUGS && n_rows(m, JOB_PARTS) > 0)
        job_choose(st, JOB_PARTS, n_rows(m, JOB_PARTS) - 1);
    st->job_show = 1;
}

/* The row one comes to a list for: the first with something left to do, else the first. */
static int first_open(const struct model *m, enum job_section s)
{
    int n = n_rows(m, s), torqued = words_find(WORDS_REFIT, "torqued");

    if (s == JOB_PLUGS && m->ready->n_loose > 0)
        return record_plug_index(&m->record->engine, m->ready->first_cylinder, m->ready->first_position);
    for (int i = 0; i < n; i++) {
        if (s == JOB_CAUSES)
            break;
        if (s == JOB_STEPS && is_open(m, model_step_row(m, i)))
            return i;
        if (s == JOB_PARTS && strcmp(model_need_row(m, i)->state, "fitted") != 0)
            return i;
        if (s == JOB_PLUGS && model_visit(m)->readings[i].refit != torqued)
            return i;
    }
    return 0;
}

/* The list to the left or to the right that holds something. */
static void aside(const struct model *m, struct screen_state *st, int way)
{
    for (int s = (int)st->job_section + way; s >= 0 && s <= JOB_PLUGS; s += way)
        if (n_rows(m, (enum job_section)s) > 0) {
            job_choose(st, (enum job_section)s, first_open(m, (enum job_section)s));
            break;
        }
    st->job_show = 1;
}

/* While a part waits for the other: that cylinder's number, where no longer one begins with it. */
static bool answer_swap(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out)
{
    const struct engine *en = &m->record->engine;
    const char *key = ui_key_name(ui);
    int found = -1, n = 0;

    if (st->job_swap_from == 0 || key == NULL)
        return false;
    if (strcmp(key, "Escape") == 0) {
        ui_key_take(ui);
        st->job_swap_from = 0;
        return true;
    }
    for (int c = 0; c < en->n_cylinders && m->can_write; c++)
        if (text_starts(en->cylinders[c].label, key)) {
            found = c;
            n++;
        }
    if (n != 1 || strcmp(en->cylinders[found].label, key) != 0)
        return false;
    ui_key_take(ui);
    job_swap_at(st, out, found);
    job_choose(st, JOB_PLUGS, found * en->n_positions);
    return true;
}

static void next_kind(struct ui *ui, const struct model *m, struct screen_state *st)
{
    st->job_kind = job_kind_after(m, st->job_kind);
    st->job_show_kinds = true;
    ui_wake_at_s(ui, ui_now_s(ui));
}

/* Its button may be out of view. */
static void swap_key(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out)
{
    const int cylinder = st->job_row / m->record->engine.n_positions;
    char said[160];

    job_swap_at(st, out, cylinder);
    if (st->job_swap_from == 0)
        return;
    text_format(said, sizeof said, "The %s of %s changes places: press M at the other row, or its number. Esc: not.", job_kinds[st->job_kind].id, m->record->engine.cylinders[cylinder].label);
    ui_toast(ui, said, NULL);
}

static void keys(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out)
{
    bool write = m->can_write, some;

    if (answer_swap(ui, m, st, out))
        return;
    plan_digits(ui, m, st, out);
    some = st->job_row < n_rows(m, st->job_section);
    if (ui_key(ui, "Escape"))
        st->screen = SCREEN_PLAN;
    else if (ui_key(ui, "Down") || ui_key(ui, "."))
        go(m, st, 1);
    else if (ui_key(ui, "Up"))
        go(m, st, -1);
    else if (ui_key(ui, "Left"))
        aside(m, st, -1);
    else if (ui_key(ui, "Right"))
        aside(m, st, 1);
    else if (write && m->job->n_steps + m->job->n_parts > 0 && ui_key(ui, "t"))
        actions_add(out, ACT_TAKE_PROPOSED)->number = -1;
    else if (write && ui_key(ui, "c"))
        actions_add(out, ACT_CLOSE_VISIT)->flag = !m->closed;
    else if (write && ui_key(ui, "n"))
        ui_focus(ui, "job.new-step");
    else if (write && ui_key(ui, "p"))
        ui_focus(ui, "job.new-part");
    else if (write && ui_key(ui, "f"))
        ui_focus(ui, "job.new-fact");
    else if (write && some && ui_key(ui, "e"))
        edit_key(ui, st);
    else if (write && some && ui_key(ui, "d"))
        done_key(ui, m, st, out);
    else if (write && chosen_cause(m, st) != NULL && ui_key(ui, "a"))
        judge(out, chosen_cause(m, st), JOB_ACCEPTED);
    else if (write && chosen_cause(m, st) != NULL && ui_key(ui, "s"))
        judge(out, chosen_cause(m, st), JOB_DISMISSED);
    else if (write && some && ui_key(ui, "w"))
        state_key(m, st, out, "waiting");
    else if (write && some && ui_key(ui, "l"))
        state_key(m, st, out, "later");
    else if (write && some && ui_key(ui, "u"))
        refit_key(m, st, out, "washer", WORDS_WASHER);
    else if (write && some && ui_key(ui, "g"))
        refit_key(m, st, out, "thread_state", WORDS_THREAD_STATE);
    else if (write && some && st->job_section == JOB_PLUGS && ui_key(ui, "h"))
        hand_key(m, st, out);
    else if (write && some && st->job_section == JOB_PLUGS && ui_key(ui, "q"))
        ui_focus(ui, "job.torque");
    else if (write && some && st->job_section == JOB_PLUGS && ui_key(ui, "x"))
        job_clean(m, out, st->job_row / m->record->engine.n_positions, st->job_row % m->record->engine.n_positions);
    else if (write && some && st->job_section == JOB_PLUGS && ui_key(ui, "o"))
        job_unplug(m, out, st->job_row / m->record->engine.n_positions, st->job_row % m->record->engine.n_positions);
    else if (write && some && st->job_section == JOB_PLUGS && ui_key(ui, "Shift+K"))
        job_keep_scrap(m, out, st->job_row / m->record->engine.n_positions, st->job_row % m->record->engine.n_positions);
    else if (write && ui_key(ui, "k"))
        next_kind(ui, m, st);
    else if (write && some && st->job_section == JOB_PLUGS && ui_key(ui, "m"))
        swap_key(ui, m, st, out);
    else if (write && ui_key(ui, "i"))
        job_renew_here(m, st, out);
    else if (write && st->job_kind == 0 && m->record->engine.n_cylinders > 1 && ui_key(ui, "r"))
        job_rotate(m, st, out);
    else if (write && some && ui_key(ui, "Delete"))
        take_out(m, st, out);
    else if (write && some && ui_key(ui, "-"))
        move_step(m, st, out, -1);
    else if (write && some && ui_key(ui, "+"))
        move_step(m, st, out, 1);
}

void job_let_go(struct screen_state *st)
{
    st->n_job_held = 0;
    st->job_area = (struct rect){0, 0, 0, 0};
}

/* "Do not start" came in above the lists, or grew: what is under the pointer in them keeps its place. */
static void hold_place(struct ui *ui, struct screen_state *st, const char *scroll[3], struct rect r)
{
    const struct rect was = st->job_area;
    const bool same = was.h > 0 && fabsf(was.w - r.w) < 0.5f && fabsf(was.y + was.h - r.y - r.h) < 0.5f;

    for (int i = 0; i < 3 && same && r.y > was.y; i++)
        ui_scroll_by(ui, scroll[i], r.y - was.y);
    if (!same)
        st->n_job_held = 0; /* in another width words break otherwise */
    st->job_area = r;
}

void screen_job(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, struct rect r)
{
    struct rect left, middle, content;
    char scroll[64];
    int n;

    text_format(scroll, sizeof scroll, "job.middle.of.%s", m->visit_id); /* each visit from its top */
    if (strcmp(st->job_visit, m->visit_id) != 0)
        job_let_go(st);
    hold_place(ui, st, (const char *[3]){"job.left", scroll, "job.right"}, r);
    if (strcmp(st->job_visit, m->visit_id) != 0) { /* each visit from its beginning */
        text_copy(st->job_visit, sizeof st->job_visit, m->visit_id);
        job_choose(st, JOB_CAUSES, 0);
        st->job_by_person = false;
        st->job_awaits_above = -1;
        st->job_swap_from = 0;
    }
    if (!job_has_kind(m, st->job_kind))
        st->job_kind = 0;
    choose_awaited(m, st);
    n = n_rows(m, st->job_section);
    if (st->job_row >= n) /* what was chosen is gone */
        st->job_row = n > 0 ? n - 1 : 0;
    if (!ui_typing(ui) && st->panel == PANEL_NONE && !st->menu)
        keys(ui, m, st, out);
    left = ui_cut_left(&r, floorf(r.w * 0.325f));
    middle = ui_cut_left(&r, floorf(r.w * 0.53f));
    ui_fill(ui, left, UI_PANEL);
    ui_fill(ui, middle, UI_CARD_DIM);
    ui_fill(ui, r, UI_PANEL);
    content = ui_scroll_begin(ui, "job.left", left);
    ui_scroll_end(ui, job_causes_list(ui, m, st, out, left, content.y) - content.y);
    job_steps_head(ui, ui_cut_top(&middle, 54));
    ui_note(ui, "job.steps", middle, "steps", "");
    content = ui_scroll_begin(ui, scroll, middle);
    ui_scroll_end(ui, job_steps_list(ui, m, st, out, middle, content.y) - content.y + 20);
    content = ui_scroll_begin(ui, "job.right", r);
    ui_scroll_end(ui, job_facts_list(ui, m, st, out, r, job_refit_list(ui, m, st, out, r, job_parts_list(ui, m, st, out, r, content.y))) - content.y + 20);
    ui_fill(ui, (struct rect){middle.x, middle.y - 54, 1, middle.h + 54}, UI_LINE);
    ui_fill(ui, (struct rect){r.x, r.y, 1, r.h}, UI_LINE);
    if (st->job_show > 0 && --st->job_show > 0)
        ui_wake_at_s(ui, ui_now_s(ui));
    screen_ready_ask_ran(m, st, out);
    if (out->n == 0) /* what was asked for shows a frame later */
        st->job_show_things = st->job_show_kinds = false;
}
