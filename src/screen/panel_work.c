/* panel_work.c - work done after a visit's readings, whoever did it: the causes of the next visit are weighed by it. */
#include <string.h>

#include "base/text.h"
#include "screen/panels.h"

static engine_set all_of(const struct engine *en)
{
    return en->n_cylinders == ENGINE_MAX_CYLINDERS ? ~(engine_set)0 : ((engine_set)1 << en->n_cylinders) - 1;
}

/* What the chips say, as verb:part:place; false while something is not chosen. Nothing chosen of the places: all. */
static bool put_together(const struct engine *en, const struct screen_state *st, struct visit_done *d)
{
    bool bank = st->work_bank > 0 && st->work_bank <= en->n_banks;
    engine_set all = all_of(en);

    if (st->work_verb <= 0 || st->work_part <= 0)
        return false;
    *d = (struct visit_done){.verb = st->work_verb, .part = st->work_part, .bank = -1, .from = -1, .to = -1};
    d->cylinders = bank ? engine_bank_set(en, st->work_bank - 1) : st->work_cylinders & all;
    if (bank)
        d->bank = st->work_bank - 1;
    d->all = !bank && (d->cylinders == 0 || d->cylinders == all);
    if (d->all)
        d->cylinders = all;
    return true;
}

static void set_work(struct actions *out, const struct engine *en, const struct visit_done *d, bool done)
{
    struct action *a = actions_add(out, ACT_SET_WORK);

    visit_format_done(en, d, a->text, sizeof a->text);
    a->flag = done;
}

static void word_row(struct ui *ui, const struct engine *en, const char *id, enum words list, int *chosen, struct rect *r)
{
    struct ui_flow flow = ui_flow_begin(*r, 34);
    int n;
    const struct word *rows = words_rows(list, &n);

    for (int i = 0; i < n; i++) {
        char chip[64];

        if (list == WORDS_DONE_VERB && strcmp(rows[i].id, "swapped") == 0)
            continue; /* two things change places on the Job, where they are things */
        if (list == WORDS_DONE_PART && strcmp(rows[i].id, "lead") == 0 && !engine_may_have_leads(en))
            continue;
        text_format(chip, sizeof chip, "%s.%s", id, rows[i].id);
        if (ui_chip(ui, chip, ui_flow_next(&flow, ui_chip_width(ui, rows[i].label, NULL)), rows[i].label, *chosen == i + 1, NULL))
            *chosen = *chosen == i + 1 ? 0 : i + 1;
    }
    ui_cut_top(r, ui_flow_height(&flow) + 8);
}

static void place_row(struct ui *ui, const struct engine *en, struct screen_state *st, struct rect *r)
{
    struct ui_flow flow = ui_flow_begin(*r, 34);
    char id[64], label[64];
    int counted[ENGINE_MAX_CYLINDERS], n;

    if (ui_chip(ui, "work.all", ui_flow_next(&flow, ui_chip_width(ui, "all", NULL)), "all", st->work_bank == 0 && st->work_cylinders == 0, NULL)) {
        st->work_bank = 0;
        st->work_cylinders = 0;
    }
    for (int b = 0; b < en->n_banks && en->n_banks > 1; b++) {
        text_format(id, sizeof id, "work.bank.%d", b);
        text_format(label, sizeof label, "bank %s", en->banks[b].name);
        if (ui_chip(ui, id, ui_flow_next(&flow, ui_chip_width(ui, label, NULL)), label, st->work_bank == b + 1, NULL)) {
            st->work_bank = st->work_bank == b + 1 ? 0 : b + 1;
            st->work_cylinders = 0;
        }
    }
    n = en->n_cylinders > 1 ? engine_set_list(en, all_of(en), counted) : 0;
    for (int i = 0; i < n; i++) {
        int c = counted[i];

        text_format(id, sizeof id, "work.cylinder.%s", en->cylinders[c].label);
        if (ui_chip(ui, id, ui_flow_next(&flow, ui_chip_width(ui, en->cylinders[c].label, NULL)), en->cylinders[c].label, (st->work_cylinders >> c & 1u) != 0, NULL)) {
            st->work_cylinders ^= (engine_set)1 << c;
            st->work_bank = 0;
        }
    }
    ui_cut_top(r, ui_flow_height(&flow) + 8);
}

void panel_work(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, struct rect *r)
{
    const struct visit *v = model_visit(m);
    const struct engine *en = &m->record->engine;
    struct ui_button add = {.look = UI_LOOK_PLAIN};
    struct visit_done d;
    struct rect row;
    char words[220], button[240];
    bool whole;

    ui_heading(ui, ui_cut_top(r, 22), "Work done after this reading: the next one is judged by it");
    for (int i = 0; i < v->n_done; i++) {
        char id[40];

        row = ui_cut_top(r, 40);
        visit_done_words(en, &v->done[i], words, sizeof words);
        text_format(id, sizeof id, "work.done.%d", i);
        ui_text(ui, (struct rect){row.x, row.y, row.w - 120, 36}, words, &(struct ui_style){.colour = UI_TEXT});
        ui_note(ui, id, row, words, "");
        text_format(id, sizeof id, "work.back.%d", i);
        if (m->can_write && ui_button(ui, id, (struct rect){row.x + row.w - 112, row.y, 112, 34}, "Take back", NULL))
            set_work(out, en, &v->done[i], false);
    }
    if (!m->can_write)
        return;
    word_row(ui, en, "work.verb", WORDS_DONE_VERB, &st->work_verb, r);
    word_row(ui, en, "work.part", WORDS_DONE_PART, &st->work_part, r);
    place_row(ui, en, st, r);
    whole = put_together(en, st, &d);
    if (whole)
        visit_done_words(en, &d, words, sizeof words);
    else
        text_copy(words, sizeof words, "what was done, to which part, and where");
    text_format(button, sizeof button, "Add: %s", words);
    add.disabled = whole ? NULL : "Choose what was done and to which part.";
    row = ui_cut_top(r, ui_target_px(ui) + 14);
    row.h -= 14;
    if (ui_button(ui, "work.add", ui_cut_left(&row, ui_button_width(ui, button, &add)), button, &add)) {
        set_work(out, en, &d, true);
        st->work_verb = st->work_part = st->work_bank = 0;
        st->work_cylinders = 0;
    }
}
