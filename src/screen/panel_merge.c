/* panel_merge.c - another copy of the logbook: what it would bring, how far it is with it, and what both say differently,
 * as a list and at the field itself. */
#include <math.h>
#include <string.h>

#include "base/clock.h"
#include "base/files.h"
#include "base/text.h"
#include "screen/commands.h"
#include "screen/panels.h"

/* ---- how far it is ---- */

void panel_take_busy(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out)
{
    struct rect r = panel_begin(ui, "panel.busy", panel_middle(ui, 640, 190), m->take_busy, st), line;
    struct ui_button stop = {.key = "Esc"};

    ui_text(ui, ui_cut_top(&r, 26), m->take_words[0] ? m->take_words : "…", &(struct ui_style){.tabular = true});
    ui_note(ui, "busy.words", r, "how far", m->take_words);
    ui_cut_top(&r, 6);
    line = ui_cut_top(&r, 6);
    ui_round(ui, line, 3, UI_LINE);
    if (m->take_share > 0)
        ui_round(ui, (struct rect){line.x, line.y, fmaxf(6, line.w * fminf(m->take_share, 1)), line.h}, 3, UI_TEXT);
    ui_cut_top(&r, 12);
    line = ui_cut_top(&r, 40);
    if (ui_button(ui, "busy.stop", ui_cut_left(&line, ui_button_width(ui, "Stop", &stop)), "Stop", &stop))
        st->panel = PANEL_NONE;
    ui_cut_left(&line, 14);
    ui_text(ui, line, "The window goes on beside it; stopped, nothing is changed.", &(struct ui_style){.colour = UI_TEXT_SOFT});
    ui_modal_end(ui);
    if (st->panel == PANEL_NONE)
        actions_add(out, ACT_TAKE_STOP);
}

/* ---- values of a field ---- */

/* "Moth, 14 Jun 2026 · gap as found of 3" */
static void field_words(const struct logbook_conflict *c, char *to, size_t n_room)
{
    char date[32];

    clock_date_words(c->date, date, sizeof date);
    text_format(to, n_room, "%s%s%s · %s", c->engine_name, date[0] ? ", " : "", date, c->what);
}

static void settle(struct actions *out, size_t conflict, int value)
{
    struct action *a = actions_add(out, ACT_SETTLE);

    a->number = (int)conflict;
    a->amount = value;
}

static float value_px(bool narrow)
{
    return narrow ? 52 : 36;
}

static float values_px(const struct logbook_conflict *c, bool narrow)
{
    return value_px(narrow) * (float)c->n;
}

/* The values of a conflict below one another, each with its copy and time, those in a second line where it is narrow; keys: the
 * figures that choose, shown where they work. The value that was picked, -1 none. */
static int value_rows(struct ui *ui, const char *prefix, const struct logbook_conflict *c, bool keys, bool can_choose, bool narrow, struct rect *r)
{
    int picked = -1;

    for (int k = 0; k < c->n; k++) {
        char words[300], id[80];
        struct rect row = ui_cut_top(r, value_px(narrow)), in;
        struct ui_hit hit;

        logbook_conflict_words(c, k, words, sizeof words);
        text_format(id, sizeof id, "%s.%d", prefix, k + 1);
        row.h -= 4;
        if (can_choose) {
            hit = ui_region(ui, id, row, UI_ROLE_BUTTON, words, k == 0 ? "stands" : "", 6);
            ui_round(ui, row, 6, hit.hover || hit.focused ? UI_CARD_DIM : UI_CARD);
            if (hit.clicked)
                picked = k;
        } else {
            ui_note(ui, id, row, "value", words);
            ui_round(ui, row, 6, UI_CARD);
        }
        in = ui_inset(row, 10, 2);
        if (keys) {
            char key[8];

            text_format(key, sizeof key, "%d", k + 1);
            ui_keycap(ui, in.x + in.w, in.y + in.h / 2, key, false);
            ui_cut_right(&in, 30);
        }
        if (narrow) {
            text_format(words, sizeof words, "%s%s", c->values[k], k == 0 ? " · stands" : "");
            ui_text(ui, ui_cut_top(&in, 20), words, &(struct ui_style){.weight = k == 0 ? UI_SEMIBOLD : UI_MEDIUM});
            logbook_conflict_written(c, k, words, sizeof words);
            ui_text(ui, in, words, &(struct ui_style){.size_px = 11, .colour = UI_TEXT_SOFT});
        } else {
            ui_text(ui, in, words, &(struct ui_style){.weight = k == 0 ? UI_SEMIBOLD : UI_MEDIUM});
        }
    }
    return picked;
}

/* ---- before a merge ---- */

static void fact(struct ui *ui, struct rect *r, const char *id, const char *label, int n, const char *zero)
{
    struct rect row = ui_cut_top(r, 28);
    char words[60];

    if (n > 0)
        text_format(words, sizeof words, "%d", n);
    else
        text_copy(words, sizeof words, zero);
    ui_note(ui, id, row, label, words);
    ui_text(ui, ui_cut_left(&row, 330), label, &(struct ui_style){.colour = n > 0 ? UI_TEXT : UI_TEXT_SOFT});
    ui_text(ui, row, words, &(struct ui_style){.weight = n > 0 ? UI_SEMIBOLD : UI_MEDIUM, .colour = n > 0 ? UI_TEXT : UI_TEXT_SOFT, .tabular = true});
}

void panel_merge(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out)
{
    const struct logbook_merged *g = m->merge;
    struct ui_button take = {.look = UI_LOOK_DARK, .key = "Ctrl+Enter"};
    struct ui_style soft = {.colour = UI_TEXT_SOFT, .max_lines = 4, .top = true};
    static const char stays[] = "The other copy is only read and stays as it is. As long as nothing was changed since, Ctrl+Z takes a merge back whole; this logbook as it was is kept beside it, as before-merge-DATE.db. "
                                "Fields with two values keep both; one of them, not always the one written last, stands until you choose (Ctrl+M).";
    struct rect r, foot, content;
    char line[260];
    bool nothing = g->n_changes == 0 && g->n_photos == 0;
    float y;

    text_format(line, sizeof line, "Merge: %s", TEXT_SHORT(files_name(m->take_folder), 120));
    r = panel_begin(ui, "panel.merge", panel_middle(ui, 900, fminf(820, 470 + (float)m->n_merge_conflicts * 110)), line, st);
    foot = ui_cut_bottom(&r, 46);
    ui_text(ui, ui_cut_top(&r, 26), nothing ? "That copy has nothing this one lacks." : "What would come in:", &(struct ui_style){.weight = UI_SEMIBOLD});
    fact(ui, &r, "merge.engines", "Engines", g->n_engines, "none new");
    fact(ui, &r, "merge.visits", "Visits", g->n_visits, "none new");
    fact(ui, &r, "merge.readings", "Readings", g->n_readings, "none new");
    if (g->n_readings_more > 0)
        fact(ui, &r, "merge.readings-more", "Readings here that say more, or otherwise", g->n_readings_more, "none");
    fact(ui, &r, "merge.photos", "Photos", g->n_photos_noted, "none new");
    fact(ui, &r, "merge.edits", "Entries written there", (int)g->n_edits, "none");
    if (g->n_taken_out > 0)
        fact(ui, &r, "merge.taken-out", "Taken out there, and then here", g->n_taken_out, "none");
    if (g->n_photos_missing > 0)
        fact(ui, &r, "merge.missing", "Photo files missing there", g->n_photos_missing, "none");
    if (g->damaged)
        fact(ui, &r, "merge.damaged", "Damage in that copy's database: sootbook verify tells", 1, "none");
    fact(ui, &r, "merge.conflicts", "Fields said differently by both", (int)m->n_merge_conflicts, "none");
    ui_cut_top(&r, 4);
    ui_text(ui, ui_cut_bottom(&r, ui_text_height(ui, r.w, stays, &soft) + 4), stays, &soft);
    content = ui_scroll_begin(ui, "merge.list", r);
    y = content.y;
    for (size_t i = 0; i < m->n_merge_conflicts; i++) {
        const struct logbook_conflict *c = &m->merge_conflicts[i];
        struct rect values = {content.x + 28, y + 26, content.w - 44, values_px(c, false)};
        char id[48];

        y += 26 + values_px(c, false) + 12;
        if (y < r.y || values.y - 26 > r.y + r.h) /* there may be thousands */
            continue;
        field_words(c, line, sizeof line);
        level_mark(ui, content.x + 10, values.y - 13, 13, LEVEL_WATCH);
        ui_text(ui, (struct rect){content.x + 28, values.y - 26, content.w - 44, 26}, line, &(struct ui_style){.weight = UI_SEMIBOLD});
        text_format(id, sizeof id, "merge.conflict.%zu", i + 1);
        (void)value_rows(ui, id, c, false, false, false, &values);
    }
    ui_scroll_end(ui, y - content.y);
    ui_cut_top(&foot, 8);
    take.disabled = !m->can_write ? m->why_read_only : nothing ? "there is nothing to take in" : NULL;
    if ((ui_button(ui, "merge.accept", ui_cut_left(&foot, ui_button_width(ui, "Merge", &take)), "Merge", &take) || ui_key(ui, "Ctrl+Enter")) && take.disabled == NULL)
        actions_add(out, ACT_TAKE_ACCEPT);
    ui_cut_left(&foot, 14);
    ui_text(ui, foot, take.disabled != NULL ? take.disabled : "Nothing is written before.", &(struct ui_style){.colour = UI_TEXT_SOFT});
    ui_modal_end(ui);
    if (st->panel == PANEL_NONE)
        actions_add(out, ACT_TAKE_STOP);
}

/* ---- after it ---- */

/* Which copy was merged last, and whether that can be taken back. */
static void last_merge(struct ui *ui, const struct model *m, struct actions *out, struct rect r)
{
    const struct logbook_last_merge *g = &m->last_merge;
    struct ui_button back = {.key = command_key("undo")};
    char date[32], words[420];

    clock_date_words(g->day, date, sizeof date);
    text_format(words, sizeof words, "Merged last: “%s”, %s.%s%s", g->other, date, g->why_not[0] ? " " : "", g->why_not);
    ui_note(ui, "conflicts.last-merge", r, "merged last", words);
    if (g->why_not[0] == '\0' && ui_button(ui, "conflicts.take-back", ui_cut_left(&r, ui_button_width(ui, "Take the merge back", &back)), "Take the merge back", &back))
        actions_add(out, ACT_UNDO);
    if (g->why_not[0] == '\0')
        ui_cut_left(&r, 14);
    ui_text(ui, r, words, &(struct ui_style){.colour = UI_TEXT_SOFT, .max_lines = g->why_not[0] ? 3 : 0});
}

void panel_conflicts(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out)
{
    static const char *const digits[LOGBOOK_MOST_VALUES] = {"1", "2", "3", "4"};
    struct rect r, content;
    int n = (int)m->n_conflicts;
    bool moved = false;
    float y, wanted = 150;

    for (int i = 0; i < n; i++)
        wanted += 46 + values_px(&m->conflicts[i], false);
    if (m->merged_last)
        wanted += 64;
    r = panel_begin(ui, "panel.conflicts", panel_middle(ui, 900, fminf(720, wanted)), "Said differently by merged copies", st);
    if (m->merged_last) {
        struct rect foot = ui_cut_bottom(&r, 56);

        ui_cut_top(&foot, 12);
        last_merge(ui, m, out, foot);
    }
    if (st->conflict >= n)
        st->conflict = n > 0 ? n - 1 : 0;
    ui_text(ui, ui_cut_top(&r, 24), n > 0 ? "The first value stands until one is chosen; all are kept.   ↑ ↓ the field   1 2 choose" : "Nothing is left to choose: every field has one value.",
            &(struct ui_style){.colour = UI_TEXT_SOFT});
    if (n > 0 && ui_key(ui, "Down")) {
        st->conflict = (st->conflict + 1) % n;
        moved = true;
    } else if (n > 0 && ui_key(ui, "Up")) {
        st->conflict = (st->conflict + n - 1) % n;
        moved = true;
    }
    for (int k = 0; n > 0 && m->can_write && k < m->conflicts[st->conflict].n; k++)
        if (ui_key(ui, digits[k]))
            settle(out, (size_t)st->conflict, k);
    ui_cut_top(&r, 6);
    content = ui_scroll_begin(ui, "conflicts", r);
    y = content.y;
    for (int i = 0; i < n; i++) {
        const struct logbook_conflict *c = &m->conflicts[i];
        struct rect box = {content.x, y, content.w - 14, 34 + values_px(c, false)}, values = {box.x + 28, y + 30, box.w - 36, values_px(c, false)};
        char line[420], id[48];
        int picked;

        y += box.h + 12;
        if (i != st->conflict && (box.y > r.y + r.h + box.h || y + box.h < r.y)) /* there may be thousands; one more on either side, for Tab to go to */
            continue;
        if (i == st->conflict) {
            ui_select_line(ui, box, 8, 2);
            if (moved)
                ui_scroll_show(ui, box);
        }
        field_words(c, line, sizeof line);
        level_mark(ui, box.x + 14, box.y + 15, 13, LEVEL_WATCH);
        ui_text(ui, (struct rect){box.x + 28, box.y + 2, box.w - 36, 26}, line, &(struct ui_style){.weight = UI_SEMIBOLD});
        text_format(id, sizeof id, "conflict.%d", i + 1);
        picked = value_rows(ui, id, c, i == st->conflict, m->can_write, false, &values);
        if (picked >= 0)
            settle(out, (size_t)i, picked);
    }
    ui_scroll_end(ui, y - content.y);
    ui_modal_end(ui);
}

/* ---- at the field ---- */

static bool is_of_plug(const struct model *m, const struct screen_state *st, const struct logbook_conflict *c)
{
    return c->cylinder == st->cylinder && c->position == st->position && strcmp(c->visit, m->visit_id) == 0;
}

static bool is_of_gap(const struct logbook_conflict *c)
{
    return strcmp(c->table, "reading") == 0 && strncmp(c->column, "gap_", 4) == 0;
}

/* Which of the conflicts of the selected plug the keys are of: the first. */
static int first_of_plug(const struct model *m, const struct screen_state *st)
{
    for (size_t i = 0; i < m->n_conflicts; i++)
        if (is_of_plug(m, st, &m->conflicts[i]) && is_of_gap(&m->conflicts[i]))
            return (int)i;
    for (size_t i = 0; i < m->n_conflicts; i++)
        if (is_of_plug(m, st, &m->conflicts[i]))
            return (int)i;
    return -1;
}

void conflicts_settle_here(const struct model *m, const struct screen_state *st, struct actions *out, int value)
{
    int i = first_of_plug(m, st);

    if (i >= 0 && m->can_write && value < m->conflicts[i].n)
        settle(out, (size_t)i, value);
}

void conflicts_of_plug(struct ui *ui, const struct model *m, const struct screen_state *st, struct rect *r)
{
    int i = first_of_plug(m, st);
    struct rect row;
    char words[200];

    if (i < 0)
        return;
    row = ui_cut_top(r, 28);
    text_format(words, sizeof words, "Copies differ: %s", m->conflicts[i].what);
    ui_round(ui, row, 6, UI_WATCH);
    level_mark(ui, row.x + 13, row.y + 14, 13, LEVEL_WATCH);
    ui_text(ui, (struct rect){row.x + 26, row.y, row.w - 96, row.h}, words, &(struct ui_style){.weight = UI_SEMIBOLD, .colour = UI_WATCH_TEXT});
    ui_keycap(ui, row.x + row.w - 6, row.y + 14, "Ctrl+1 2", false);
    ui_note(ui, "card.copies-differ", row, "copies differ", words);
    ui_cut_top(r, 8);
}

/* One of them with its values, to be chosen; keys: those that choose are of this one. */
static void conflict_box(struct ui *ui, const struct model *m, struct actions *out, size_t i, const char *prefix, bool keys, bool can_choose, struct rect *r)
{
    const struct logbook_conflict *c = &m->conflicts[i];
    struct rect box = ui_cut_top(r, 34 + values_px(c, true)), values = {box.x + 6, box.y + 28, box.w - 12, values_px(c, true)};
    char id[48], words[300];
    int picked;

    ui_round(ui, box, 6, UI_WATCH);
    level_mark(ui, box.x + 13, box.y + 14, 13, LEVEL_WATCH);
    text_format(words, sizeof words, "Two copies differ: %s", c->what);
    ui_text(ui, (struct rect){box.x + 26, box.y + 2, box.w - (keys ? 100 : 34), 24}, words, &(struct ui_style){.weight = UI_SEMIBOLD, .colour = UI_WATCH_TEXT});
    if (keys)
        ui_keycap(ui, box.x + box.w - 6, box.y + 14, "Ctrl+1 2", false);
    text_format(id, sizeof id, "%s.%zu", prefix, i + 1);
    picked = value_rows(ui, id, c, false, can_choose, true, &values);
    if (picked >= 0)
        settle(out, i, picked);
    ui_cut_top(r, 8);
}

void conflicts_at_field(struct ui *ui, const struct model *m, const struct screen_state *st, struct actions *out, bool gap, struct rect *r)
{
    int first = first_of_plug(m, st);

    for (size_t i = 0; i < m->n_conflicts; i++)
        if (is_of_plug(m, st, &m->conflicts[i]) && is_of_gap(&m->conflicts[i]) == gap)
            conflict_box(ui, m, out, i, "card.conflict", (int)i == first, m->can_write, r);
}

static bool is_of_card(const struct logbook_conflict *c, const char *engine)
{
    return strcmp(c->table, "engine") == 0 && strcmp(c->row, engine) == 0;
}

int conflicts_of_card(const struct model *m, const char *engine)
{
    int n = 0;

    for (size_t i = 0; i < m->n_conflicts; i++)
        n += is_of_card(&m->conflicts[i], engine);
    return n;
}

void conflicts_at_card(struct ui *ui, const struct model *m, struct actions *out, const char *engine, const char *const *columns, bool can_choose, struct rect *r)
{
    for (size_t i = 0; i < m->n_conflicts; i++)
        for (int k = 0; columns[k] != NULL; k++)
            if (is_of_card(&m->conflicts[i], engine) && strcmp(m->conflicts[i].column, columns[k]) == 0)
                conflict_box(ui, m, out, i, "new.conflict", false, can_choose && m->can_write, r);
}

void conflicts_mark(struct ui *ui, const struct model *m, const char *table, const char *column, struct rect r)
{
    for (size_t i = 0; i < m->n_conflicts; i++) {
        const struct logbook_conflict *c = &m->conflicts[i];
        char words[300], id[60];

        if (strcmp(c->table, table) != 0 || strcmp(c->column, column) != 0 || strcmp(c->visit, m->visit_id) != 0)
            continue;
        text_format(words, sizeof words, "also said: %s (Ctrl+M)", c->n > 1 ? c->values[1] : "");
        text_format(id, sizeof id, "conflict.at.%s", column);
        level_mark(ui, r.x + 7, r.y + r.h / 2, 13, LEVEL_WATCH);
        ui_note(ui, id, r, "copies differ", words);
        ui_text(ui, (struct rect){r.x + 18, r.y, r.w - 18, r.h}, words, &(struct ui_style){.size_px = 11, .colour = UI_TEXT_SOFT});
    }
}
