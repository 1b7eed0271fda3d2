/* screen_ready.c - "do not start", with all its reasons, under the visits of Plan and Job: red, as in the page. */
#include <math.h>

#include "base/text.h"
#include "screen/commands.h"
#include "screen/model.h"

static const struct ui_style warn = {.size_px = 14, .weight = UI_SEMIBOLD, .colour = UI_ACT_TEXT, .max_lines = 4, .top = true};
#define SIDE 16.0f
#define MARK 22.0f
static const char turned_label[] = "Turned by hand";

static struct ui_button turned_button(void)
{
    return (struct ui_button){.look = UI_LOOK_PLAIN, .key = command_key("turned")};
}

/* "Do not start: plugs 3, 4 are out; …"; false when nothing stands in the way. */
static bool said(const struct model *m, char words[READY_WORDS_BYTES + 32])
{
    char why[READY_WORDS_BYTES];

    if (ready_to_start(m->ready))
        return false;
    ready_words(m->record, m->ready, why, sizeof why);
    text_format(words, READY_WORDS_BYTES + 32, "Do not start: %s.", why);
    return true;
}

/* Asked for on the strip while liquid is still to be turned out. */
static float button_px(struct ui *ui, const struct model *m)
{
    struct ui_button turned = turned_button();

    return ready_asks_to_turn(m->ready) && m->can_write ? ui_button_width(ui, turned_label, &turned) + 12 : 0;
}

float screen_ready_px(struct ui *ui, const struct model *m, float w)
{
    char words[READY_WORDS_BYTES + 32];
    float button, text;

    if (!said(m, words))
        return 0;
    button = button_px(ui, m);
    text = ui_text_height(ui, w - 2 * SIDE - MARK - button, words, &warn) + 12;
    return ceilf(fmaxf(text, button > 0 ? ui_target_px(ui) + 8 : 0));
}

void screen_ready(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, struct rect r)
{
    const char *id = st->screen == SCREEN_JOB ? "job.do-not-start" : "bar.do-not-start";
    char words[READY_WORDS_BYTES + 32], why[READY_WORDS_BYTES];
    const struct ready *ready = m->ready;
    struct rect in;
    float button, h;

    if (!said(m, words))
        return;
    ready_words(m->record, ready, why, sizeof why);
    ui_fill(ui, r, UI_ACT);
    in = ui_inset(r, SIDE, 4);
    button = button_px(ui, m);
    if (button > 0) {
        struct rect b = ui_cut_right(&in, button - 12);
        struct ui_button turned = turned_button();

        ui_cut_right(&in, 12);
        b.y += (b.h - ui_target_px(ui)) / 2;
        b.h = ui_target_px(ui);
        if (ui_button(ui, "ready.turned", b, turned_label, &turned))
            actions_add(out, ACT_TURNED);
    }
    if (ui_region(ui, id, in, UI_ROLE_BUTTON, "do not start", why, 4).clicked && ready->n_loose > 0) { /* shows the first that is not */
        st->cylinder = ready->first_cylinder;
        st->position = ready->first_position;
        if (st->screen == SCREEN_JOB) {
            st->job_section = JOB_PLUGS;
            st->job_row = record_plug_index(&m->record->engine, ready->first_cylinder, ready->first_position);
            st->job_show = true;
        }
    }
    ui_triangle(ui, in.x + 7, in.y + in.h / 2, 14, ui_rgba(UI_ACT_TEXT));
    h = ui_text_height(ui, in.w - MARK, words, &warn);
    ui_text(ui, (struct rect){in.x + MARK, in.y + fmaxf(0, (in.h - h) / 2), in.w - MARK, h}, words, &warn);
}
