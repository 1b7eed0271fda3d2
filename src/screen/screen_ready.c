/* screen_ready.c - "do not start", with all its reasons, under the visits of Plan and Job: red, as in the page. */
#include <math.h>
#include <string.h>

#include "base/text.h"
#include "record/steps.h"
#include "screen/commands.h"
#include "screen/model.h"

static const struct ui_style warn = {.size_px = 14, .weight = UI_SEMIBOLD, .colour = UI_ACT_TEXT, .max_lines = 4, .top = true};
static const struct ui_style caution = {.size_px = 14, .weight = UI_SEMIBOLD, .colour = UI_WATCH_TEXT, .max_lines = 4, .top = true};
#define SIDE 16.0f
#define MARK 22.0f

/* What answers the strip, from the right. Once asked, the question stands in the place of the reasons. */
struct answer {
    const char *id, *label, *key;
};
static int answers(const struct model *m, const struct screen_state *st, struct answer list[2])
{
    if (st->ran_asked[0] != '\0' && m->can_write) {
        list[0] = (struct answer){"ready.no", "No", "Esc"};
        list[1] = (struct answer){"ready.were-torqued", "Yes, torqued", command_key("turned")};
        return 2;
    }
    if (!ready_asks_to_turn(m->ready) || !m->can_write)
        return 0;
    if (!st->turned_asked) {
        list[0] = (struct answer){"ready.turned", "Turned by hand", command_key("turned")};
        return 1;
    }
    list[0] = (struct answer){"ready.were-in", "No", "Esc"};
    list[1] = (struct answer){"ready.turned", "Yes, they were out", command_key("turned")};
    return 2;
}

/* "Plugs 2, 3 were drawn, and nothing says that they are torqued again. …" */
static void ran_question(const struct model *m, char *to, size_t n_room)
{
    const struct engine *en = &m->record->engine;
    bool marked[ENGINE_MAX_PLUGS];
    char plugs[400];
    int n = ready_blank(m->record, m->ready, marked);

    engine_plugs_words(en, marked, plugs, sizeof plugs);
    if (plugs[0] >= 'a' && plugs[0] <= 'z')
        plugs[0] = (char)(plugs[0] - 'a' + 'A');
    text_format(to, n_room, n == 1 ? "%s was drawn, and nothing says that it is torqued again. Was it in, and torqued, when it ran? Yes notes it as torqued and ticks the step; with a plug loose it blows out." : "%s were drawn, and nothing says that they are torqued again. Were they in, and torqued, when it ran? Yes notes them as torqued and ticks the step; with a plug loose it blows out.", plugs);
}

#define SAID_BYTES (2 * READY_WORDS_BYTES)

/* "Do not start: plugs 3, 4 are out; …", and what plugs are kept that are scrap; false when there is nothing of either. */
static bool said(const struct model *m, const struct screen_state *st, char words[SAID_BYTES])
{
    char why[READY_WORDS_BYTES], kept[READY_WORDS_BYTES];
    const bool keeps = ready_kept_words(&m->record->engine, m->ready, kept, sizeof kept);

    if (keeps && kept[0] >= 'a' && kept[0] <= 'z')
        kept[0] = (char)(kept[0] - 'a' + 'A');
    if (ready_to_start(m->ready)) {
        text_format(words, SAID_BYTES, "%s.", kept);
        return keeps;
    }
    ready_words(m->record, m->ready, why, sizeof why);
    text_format(words, SAID_BYTES, keeps ? "Do not start: %s. %s." : "Do not start: %s.", why, kept);
    if (st->ran_asked[0] != '\0')
        ran_question(m, words, SAID_BYTES);
    else if (st->turned_asked)
        text_copy(words, SAID_BYTES, "Plugs are in now. Was it turned by hand, two full turns, with the plugs out, before they went in? With them in, liquid cannot get out and bends a rod.");
    return true;
}

static float button_px(struct ui *ui, const struct answer *a)
{
    return ui_button_width(ui, a->label, &(struct ui_button){.look = UI_LOOK_PLAIN, .key = a->key});
}

static float answers_px(struct ui *ui, const struct model *m, const struct screen_state *st)
{
    struct answer list[2];
    int n = answers(m, st, list);
    float w = 0;

    for (int i = 0; i < n; i++)
        w += button_px(ui, &list[i]) + 12;
    return w;
}

float screen_ready_px(struct ui *ui, const struct model *m, struct screen_state *st, float w)
{
    char words[SAID_BYTES];
    float button, text = 0;
    /* Reasons are to come, and at the first one nothing moves away from under the pointer or a greasy hand: two lines, a button. */
    const bool open = st->screen == SCREEN_PLAN && (st->pulling || (m->can_write && m->visit_id[0] != '\0' && !m->closed));
    const float from_the_start = open ? ceilf(fmaxf(ui_text_height(ui, w, "Do not start\nDo not start", &warn) + 12, ui_target_px(ui) + 8)) : 0;

    if (strcmp(st->ready_visit, m->visit_id) != 0 || fabsf(st->ready_w - w) > 0.5f) {
        text_copy(st->ready_visit, sizeof st->ready_visit, m->visit_id);
        st->ready_w = w;
        st->ready_px = 0;
    }
    if (said(m, st, words)) {
        button = answers_px(ui, m, st);
        text = ui_text_height(ui, w - 2 * SIDE - MARK - button, words, &warn) + 12;
        st->ready_px = fmaxf(st->ready_px, ceilf(fmaxf(text, button > 0 ? ui_target_px(ui) + 8 : 0)));
    }
    return fmaxf(st->ready_px, from_the_start);
}

/* Only where it is to be ticked that the engine ran: the warm idle or the use behind it. */
static bool asks_for_the_holes(const struct model *m, const struct action *a)
{
    bool marked[ENGINE_MAX_PLUGS];

    if (a->type != ACT_STEP_STATE || a->flag || strcmp(a->column, "done") != 0)
        return false;
    for (int i = 0; i < model_step_rows(m); i++)
        if (strcmp(model_step_row(m, i)->id, a->id) == 0)
            return step_runs(model_step_row(m, i)->source) && ready_blank(m->record, m->ready, marked) > 0;
    return false;
}

void screen_ready_ask_ran(const struct model *m, struct screen_state *st, struct actions *out)
{
    int n = 0;

    for (int i = 0; i < out->n; i++) {
        if (asks_for_the_holes(m, &out->list[i])) {
            text_copy(st->ran_asked, sizeof st->ran_asked, out->list[i].id);
            st->turned_asked = false;
        } else {
            out->list[n++] = out->list[i];
        }
    }
    out->n = n;
}

static void were_torqued(struct screen_state *st, struct actions *out)
{
    struct action *a = actions_add(out, ACT_STEP_STATE);

    text_copy(a->id, sizeof a->id, st->ran_asked);
    text_copy(a->column, sizeof a->column, "done");
    a->flag = true;
    st->ran_asked[0] = '\0';
}

void screen_ready_turned(const struct model *m, struct screen_state *st, struct actions *out)
{
    if (m->can_write && st->ran_asked[0] != '\0') {
        were_torqued(st, out);
        return;
    }
    if (!m->can_write || !ready_asks_to_turn(m->ready))
        return;
    if (st->turned_asked || ready_can_turn(m->record, m->ready))
        actions_add(out, ACT_TURNED);
    st->turned_asked = !st->turned_asked && !ready_can_turn(m->record, m->ready);
}

static void ask(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, struct rect *in)
{
    struct answer list[2];
    int n = answers(m, st, list);

    for (int i = 0; i < n; i++) {
        struct rect b = ui_cut_right(in, button_px(ui, &list[i]));

        ui_cut_right(in, 12);
        b.y += (b.h - ui_target_px(ui)) / 2;
        b.h = ui_target_px(ui);
        if (!ui_button(ui, list[i].id, b, list[i].label, &(struct ui_button){.look = UI_LOOK_PLAIN, .key = list[i].key}))
            continue;
        if (strcmp(list[i].id, "ready.turned") == 0 || strcmp(list[i].id, "ready.were-torqued") == 0)
            screen_ready_turned(m, st, out);
        else {
            st->turned_asked = false;
            st->ran_asked[0] = '\0';
        }
    }
}

/* The room stays, so that what is below keeps its place. */
static void none_left(struct ui *ui, const struct screen_state *st, struct rect r)
{
    /* the room is there before there is a reason */
    const char *words = st->ready_px > 0 ? "Nothing that is noted stands in the way of starting any more." : "From the first plug that is out, what stands in the way of starting is told here.";

    if (r.h <= 0)
        return;
    ui_fill(ui, r, UI_TRAY);
    r = ui_inset(r, SIDE, 4);
    ui_text(ui, r, words, &(struct ui_style){.size_px = 14, .colour = UI_BAR_TEXT});
    ui_note(ui, st->ready_px > 0 ? "ready.none-left" : "ready.to-come", r, words, "");
}

void screen_ready(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, struct rect r)
{
    const char *id = st->screen == SCREEN_JOB ? "job.do-not-start" : "bar.do-not-start";
    char words[SAID_BYTES], why[READY_WORDS_BYTES];
    const struct ready *ready = m->ready;
    struct rect in;
    float h;

    bool marked[ENGINE_MAX_PLUGS];

    if (strcmp(st->ran_visit, m->visit_id) != 0 || model_step(m, st->ran_asked) == NULL || ready_blank(m->record, ready, marked) == 0)
        st->ran_asked[0] = '\0';
    text_copy(st->ran_visit, sizeof st->ran_visit, m->visit_id);
    st->turned_asked = st->turned_asked && ready_asks_to_turn(ready) && !ready_can_turn(m->record, ready);
    if (!said(m, st, words)) {
        none_left(ui, st, r);
        return;
    }
    if ((st->turned_asked || st->ran_asked[0] != '\0') && st->panel == PANEL_NONE && !ui_typing(ui) && ui_key(ui, "Escape")) {
        ui_key_take(ui);
        st->turned_asked = false;
        st->ran_asked[0] = '\0';
    }
    if (ready_to_start(ready)) {
        ui_fill(ui, r, UI_WATCH);
        in = ui_inset(r, SIDE, 4);
        h = ui_text_height(ui, in.w - MARK, words, &caution);
        ui_diamond(ui, in.x + 7, in.y + in.h / 2, 12, ui_rgba(UI_WATCH_TEXT));
        ui_text(ui, (struct rect){in.x + MARK, in.y + fmaxf(0, (in.h - h) / 2), in.w - MARK, h}, words, &caution);
        ui_note(ui, st->screen == SCREEN_JOB ? "job.kept" : "bar.kept", in, "scrap that stays in", words);
        return;
    }
    ready_words(m->record, ready, why, sizeof why);
    ui_fill(ui, r, UI_ACT);
    in = ui_inset(r, SIDE, 4);
    ask(ui, m, st, out, &in);
    if (ui_region(ui, id, in, UI_ROLE_BUTTON, "do not start", st->turned_asked || st->ran_asked[0] != '\0' ? words : why, 4).clicked && ready->n_loose > 0) { /* shows the first that is not */
        st->cylinder = ready->first_cylinder;
        st->position = ready->first_position;
        if (st->screen == SCREEN_JOB) {
            st->job_section = JOB_PLUGS;
            st->job_row = record_plug_index(&m->record->engine, ready->first_cylinder, ready->first_position);
            st->job_show = 1;
        }
    }
    ui_triangle(ui, in.x + 7, in.y + in.h / 2, 14, ui_rgba(UI_ACT_TEXT));
    h = ui_text_height(ui, in.w - MARK, words, &warn);
    ui_text(ui, (struct rect){in.x + MARK, in.y + fmaxf(0, (in.h - h) / 2), in.w - MARK, h}, words, &warn);
}
