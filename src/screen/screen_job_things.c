/* screen_job_things.c - the right of the Job screen: plugs, coils, leads and injectors as things that change
 * holes, are renewed, set aside and rotated, each with its own run. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/text.h"
#include "screen/refused.h"
#include "screen/screen_job.h"

#define SCHEME "job.scheme" /* the field of the rotation */

static const struct ui_style title = {.size_px = 18, .weight = UI_SEMIBOLD, .colour = UI_TEXT, .max_lines = 2, .top = true};
static const struct ui_style body = {.colour = UI_TEXT, .max_lines = 3, .top = true};
static const struct ui_style side = {.colour = UI_TEXT_SOFT, .align = UI_RIGHT, .max_lines = 2, .top = true, .tabular = true};
static const struct ui_style soft = {.colour = UI_TEXT_SOFT, .max_lines = 6, .top = true};

const struct job_choice job_kinds[4] = {{"plug", "plugs", NULL}, {"coil", "coils", NULL}, {"lead", "leads", NULL}, {"injector", "injectors", NULL}};

#define N_KINDS ((int)(sizeof job_kinds / sizeof job_kinds[0]))

bool job_has_kind(const struct model *m, int kind)
{
    const struct engine *en = &m->record->engine;
    const char *id = job_kinds[kind].id;

    for (size_t i = 0; i < m->n_parts; i++)
        if (strcmp(m->parts[i].kind, id) == 0)
            return true;
    if (strcmp(id, "coil") == 0) /* one that feeds all changes no hole */
        return engine_may_have_own_coils(en);
    return strcmp(id, "lead") == 0 ? engine_may_have_leads(en) : strcmp(id, "injector") != 0 || !engine_is_without_injectors(en);
}

int job_kind_after(const struct model *m, int kind)
{
    do
        kind = (kind + 1) % N_KINDS;
    while (!job_has_kind(m, kind));
    return kind;
}

/* Gives the kind chosen now, -1 none. */
static int kind_chips(struct ui *ui, const struct model *m, const struct screen_state *st, struct rect r)
{
    struct job_choice choices[N_KINDS];
    int kinds[N_KINDS] = {0}, n = 0, on = 0, chosen;

    for (int i = 0; i < N_KINDS; i++)
        if (job_has_kind(m, i)) {
            on = i == st->job_kind ? n : on;
            choices[n] = job_kinds[i];
            kinds[n++] = i;
        }
    chosen = job_chips(ui, "job.kind", r, choices, n, on);
    return chosen < 0 ? -1 : kinds[chosen];
}

/* ---- actions ---- */

void job_ask_swap(const struct screen_state *st, struct actions *out, int from, int to)
{
    struct action *a = actions_add(out, ACT_SWAP_PARTS);

    text_copy(a->column, sizeof a->column, job_kinds[st->job_kind].id);
    a->cylinder = from;
    a->number = to;
}

void job_swap_at(struct screen_state *st, struct actions *out, int cylinder)
{
    if (st->job_swap_from > 0 && st->job_swap_from - 1 != cylinder)
        job_ask_swap(st, out, st->job_swap_from - 1, cylinder);
    st->job_swap_from = st->job_swap_from > 0 ? 0 : cylinder + 1;
}

/* The hole that is chosen in the list above. */
static struct plug_place here(const struct model *m, const struct screen_state *st)
{
    int n = m->record->engine.n_positions, i = st->job_section == JOB_PLUGS ? st->job_row : 0;
    struct plug_place at = {i / n, i % n};

    if (at.position >= logbook_part_positions(&m->record->engine, job_kinds[st->job_kind].id))
        at.position = 0;
    return at;
}

void job_renew_here(const struct model *m, struct screen_state *st, struct actions *out)
{
    struct plug_place at = here(m, st);
    struct action *a = actions_add(out, ACT_PART_NEW);

    text_copy(a->column, sizeof a->column, job_kinds[st->job_kind].id);
    a->cylinder = at.cylinder;
    a->position = at.position;
    st->job_show_things = true;
}

/* ---- rotation ---- */

static void scheme_of(const struct model *m, char *to, size_t n_room)
{
    struct plug_move moves[ENGINE_MAX_PLUGS];
    int n = job_rotation(&m->record->engine, moves);

    to[0] = '\0';
    if (n > 0)
        record_format_moves(&m->record->engine, moves, n, to, n_room);
    for (size_t i = 0; i < m->n_facts; i++)
        if (strcmp(m->facts[i].label, JOB_ROTATION) == 0)
            text_copy(to, n_room, m->facts[i].value);
}

void job_rotate(const struct model *m, struct screen_state *st, struct actions *out)
{
    struct action *a = actions_add(out, ACT_ROTATE);

    st->job_show_things = true;
    scheme_of(m, a->text, sizeof a->text);
    text_copy(a->field, sizeof a->field, SCHEME);
}

static float rotation(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, struct rect in, float y)
{
    struct ui_button plain = {.look = UI_LOOK_PLAIN, .key = "R"};
    struct ui_field field = {.name = "rotation", .placeholder = m->record->engine.n_positions > 1 ? "1 top > 3 bottom > 1 top" : "1 > 3 > 4 > 2 > 1"};
    char scheme[400], typed[400];
    unsigned result;

    scheme_of(m, scheme, sizeof scheme);
    y += 10;
    ui_heading(ui, (struct rect){in.x, y, in.w, 20}, "Rotation: which plug goes where");
    y += 20;
    result = refused_text_field(ui, st, SCHEME, SCHEME, (struct rect){in.x, y, in.w, ui_target_px(ui) + 4}, field, scheme, typed, sizeof typed);
    if ((result & UI_COMMIT) != 0 && strcmp(typed, scheme) != 0)
        refused_typed(actions_add(out, ACT_SCHEME), SCHEME, typed, result);
    if ((result & UI_ENTER) != 0)
        ui_focus(ui, NULL); /* R is a key again */
    y += ui_target_px(ui) + 8;
    y += refused_words(ui, st, SCHEME, SCHEME, (struct rect){in.x, y, in.w, 80}, true);
    if (scheme[0] != '\0') {
        y += ui_text(ui, (struct rect){in.x, y, in.w, 200}, scheme, &(struct ui_style){.colour = UI_TEXT_SOFT, .max_lines = 8, .top = true}) + 4;
        if (ui_button(ui, "job.rotate", (struct rect){in.x, y, ui_button_width(ui, "Rotate as written", &plain), ui_target_px(ui)}, "Rotate as written", &plain))
            job_rotate(m, st, out);
        y += ui_target_px(ui) + 6;
    }
    return y;
}

/* ---- the parts that are known ---- */

static void run_words(const struct model *m, const struct logbook_part *p, char *to, size_t n_room)
{
    char words[48];
    int unit = model_visit(m)->odometer_unit;

    to[0] = '\0';
    if (!p->run_m.given)
        return;
    visit_format_odometer(p->run_m, unit, words, sizeof words);
    text_format(to, n_room, " · %s%s run", p->run_at_least ? "at least " : "", words);
}

static void where_words(const struct model *m, const struct logbook_part *p, char *to, size_t n_room)
{
    char hole[48], run[80];

    run_words(m, p, run, sizeof run);
    if (p->cylinder < 0) {
        text_format(to, n_room, "%s%s", strcmp(p->state, "scrapped") == 0 ? "scrapped" : strcmp(p->state, "aside") == 0 ? "set aside" : "no longer in it", run);
        return;
    }
    logbook_part_place(&m->record->engine, p->kind, p->cylinder, p->position, hole, sizeof hole);
    text_format(to, n_room, "in %s%s", hole, run);
}

static float thing_editor(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, const struct logbook_part *p, struct rect r)
{
    static const char *const columns[] = {"name", "note"}, *const ids[] = {"job.thing.name", "job.thing.note"}, *const names[] = {"Name", "Note"},
                      *const hints[] = {"", "mark on it, where it lies, why it came out"};
    struct ui_button plain = {.look = UI_LOOK_PLAIN}, quiet = {.look = UI_LOOK_QUIET};
    struct plug_place at = here(m, st);
    char label[80], hole[48];
    float top = r.y, w;

    ui_cut_top(&r, 6);
    for (int i = 0; i < 2; i++) {
        struct action *a = job_field(ui, st, out, &(struct job_asked){ids[i], names[i], hints[i], i == 0 ? p->name : p->note, p->id, i == 0 ? sizeof p->name : sizeof p->note, ACT_PART_TEXT}, &r);

        if (a != NULL) {
            text_copy(a->id, sizeof a->id, p->id);
            text_copy(a->column, sizeof a->column, columns[i]);
        }
    }
    if (p->cylinder >= 0)
        return r.y - top + 4;
    if (strcmp(p->state, "aside") == 0) {
        logbook_part_place(&m->record->engine, p->kind, at.cylinder, at.position, hole, sizeof hole);
        text_format(label, sizeof label, "Fit into %s", hole);
        w = ui_button_width(ui, label, &plain);
        if (ui_button(ui, "job.thing.fit", (struct rect){r.x, r.y, w, ui_target_px(ui)}, label, &plain)) {
            struct action *a = actions_add(out, ACT_PART_FIT);

            text_copy(a->id, sizeof a->id, p->id);
            a->cylinder = at.cylinder;
            a->position = at.position;
        }
        r.x += w + 8;
    }
    text_copy(label, sizeof label, strcmp(p->state, "scrapped") == 0 ? "Not scrapped: keep it" : "Scrapped");
    if (ui_button(ui, "job.thing.scrap", (struct rect){r.x, r.y, ui_button_width(ui, label, &quiet), ui_target_px(ui)}, label, &quiet)) {
        struct action *a = actions_add(out, ACT_PART_TEXT);

        text_copy(a->id, sizeof a->id, p->id);
        text_copy(a->column, sizeof a->column, "state");
        text_copy(a->text, sizeof a->text, strcmp(p->state, "scrapped") == 0 ? "aside" : "scrapped");
    }
    return r.y + ui_target_px(ui) + 8 - top;
}

static float things(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, struct rect in, float y)
{
    float half = floorf(in.w * 0.5f);

    for (size_t i = 0; i < m->n_parts; i++) {
        const struct logbook_part *p = &m->parts[i];
        char id[32], where[160];
        float h, low;
        struct rect row;
        struct ui_hit hit;

        if (strcmp(p->kind, job_kinds[st->job_kind].id) != 0)
            continue;
        where_words(m, p, where, sizeof where);
        h = ui_text_height(ui, half - 8, p->name, &body);
        low = ui_text_height(ui, in.w - half, where, &side);
        h = (h > low ? h : low) + 14;
        row = (struct rect){in.x - 20, y, in.w + 40, h};
        snprintf(id, sizeof id, "job.thing.%d", (int)i);
        hit = ui_region(ui, id, row, UI_ROLE_ROW, p->name, where, 0);
        if (hit.clicked)
            st->job_thing = st->job_thing == (int)i + 1 ? 0 : (int)i + 1;
        if (hit.hover)
            ui_fill(ui, row, UI_CARD_DIM);
        ui_text(ui, (struct rect){in.x, y + 7, half - 8, h}, p->name, &body);
        ui_text(ui, (struct rect){in.x + half, y + 7, in.w - half, h}, where, &side);
        y += h;
        if (p->note[0] != '\0')
            y += ui_text(ui, (struct rect){in.x, y - 4, in.w, 60}, p->note, &soft);
        if (st->job_thing == (int)i + 1 && m->can_write)
            y += thing_editor(ui, m, st, out, p, (struct rect){in.x, y, in.w, 400});
        ui_fill(ui, (struct rect){in.x, y - 1, in.w, 1}, UI_LINE);
    }
    return y;
}

/* A swap says what became of both. */
static bool swapped(const struct visit *v, const struct logbook_part *p)
{
    for (int i = 0; i < v->n_done; i++)
        if (v->done[i].from >= 0 && strcmp(words_id(WORDS_DONE_PART, v->done[i].part), p->kind) == 0 &&
            (p->cylinder == v->done[i].from || p->cylinder == v->done[i].to))
            return true;
    return false;
}

static float said(struct ui *ui, struct rect in, float y, const char *line)
{
    float h = ui_text(ui, (struct rect){in.x, y, in.w, 40}, line, &body);

    ui_note(ui, "job.moved", (struct rect){in.x, y, in.w, h}, "changed places", line);
    return y + h + 2;
}

/* What happened to parts after this visit's readings. */
static float moved(struct ui *ui, const struct model *m, struct rect in, float y)
{
    const struct engine *en = &m->record->engine;
    const struct visit *v = model_visit(m);
    char line[200];
    int n_moved = 0;

    for (size_t i = 0; i < m->n_parts; i++)
        n_moved += m->parts[i].moved_now && m->parts[i].left_now && !swapped(v, &m->parts[i]);
    if (n_moved > 3) { /* a rotation: the list tells where each is */
        text_format(line, sizeof line, "%d parts changed holes at this visit", n_moved);
        y = said(ui, in, y, line);
    }
    for (int i = 0; i < v->n_done; i++)
        if (v->done[i].from >= 0 && v->done[i].to >= 0) {
            text_format(line, sizeof line, "%s of %s and %s changed places", words_label(WORDS_DONE_PART, v->done[i].part), en->cylinders[v->done[i].from].label,
                        en->cylinders[v->done[i].to].label);
            y = said(ui, in, y, line);
        }
    for (size_t i = 0; i < m->n_parts; i++) {
        const struct logbook_part *p = &m->parts[i];
        char from[48], to[48];

        if ((!p->moved_now && !(p->left_now && p->cylinder < 0)) || swapped(v, p) || (n_moved > 3 && p->moved_now && p->left_now))
            continue;
        if (p->left_now)
            logbook_part_place(&m->record->engine, p->kind, p->was_cylinder, p->was_position, from, sizeof from);
        if (p->cylinder >= 0)
            logbook_part_place(&m->record->engine, p->kind, p->cylinder, p->position, to, sizeof to);
        if (p->cylinder < 0)
            text_format(line, sizeof line, "%s: out of %s, %s", p->name, from, strcmp(p->state, "scrapped") == 0 ? "scrapped" : "set aside");
        else if (p->left_now)
            text_format(line, sizeof line, "%s: from %s into %s", p->name, from, to);
        else
            text_format(line, sizeof line, "%s: into %s", p->name, to);
        y = said(ui, in, y, line);
    }
    return y;
}

float job_things_list(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, struct rect in, float y)
{
    const struct engine *en = &m->record->engine;
    struct plug_place at = here(m, st);
    struct ui_button swap = {.look = UI_LOOK_PLAIN, .key = "M"}, fresh = {.look = UI_LOOK_PLAIN, .key = "I"};
    int chosen;
    char label[100], hole[48];

    if (st->job_show_kinds)
        ui_scroll_show(ui, (struct rect){in.x, y, in.w, 54 + 3 * (ui_target_px(ui) + 8)});
    y += 16;
    ui_text(ui, (struct rect){in.x, y, in.w, 26}, "Parts that change holes", &title);
    y += 30;
    chosen = kind_chips(ui, m, st, (struct rect){in.x, y, in.w - 30, ui_target_px(ui)});
    ui_keycap(ui, in.x + in.w, y + ui_target_px(ui) / 2, "K", false);
    if (chosen >= 0) {
        st->job_kind = chosen;
        st->job_thing = 0;
    }
    y += ui_target_px(ui) + 8;
    if (m->can_write) {
        logbook_part_place(&m->record->engine, job_kinds[st->job_kind].id, at.cylinder, at.position, hole, sizeof hole);
        if (en->n_cylinders > 1) {
            if (st->job_swap_from > 0)
                text_copy(label, sizeof label, "with which? Its row, or its number");
            else
                text_format(label, sizeof label, "Swap that of %s with …", en->cylinders[at.cylinder].label);
            if (ui_button(ui, "job.swap", (struct rect){in.x, y, fminf(in.w, ui_button_width(ui, label, &swap)), ui_target_px(ui)}, label, &swap))
                job_swap_at(st, out, at.cylinder);
            y += ui_target_px(ui) + 6;
        }
        text_format(label, sizeof label, "A new %s in %s", job_kinds[st->job_kind].id, hole);
        if (ui_button(ui, "job.renew", (struct rect){in.x, y, fminf(in.w, ui_button_width(ui, label, &fresh)), ui_target_px(ui)}, label, &fresh))
            job_renew_here(m, st, out);
        y += ui_target_px(ui) + 6;
        if (en->n_cylinders > 1)
            y += ui_text(ui, (struct rect){in.x, y, in.w, 60}, "or drag one hole onto another above. The next visit tells whether the trouble went along. What comes out is set aside and keeps its run.", &soft) + 4;
    }
    y = moved(ui, m, in, y);
    y = things(ui, m, st, out, in, y + 4);
    if (st->job_show_things)
        ui_scroll_show(ui, (struct rect){in.x, y - 60, in.w, 60});
    if (m->can_write && en->n_cylinders > 1 && st->job_kind == 0)
        y = rotation(ui, m, st, out, in, y);
    return y;
}
