/* screen_search.c - words looked for in all engines, visits, steps, parts and facts. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/clock.h"
#include "base/text.h"
#include "screen/panels.h"

static const char *what_it_is(const char *table)
{
    static const struct {
        const char *table, *words;
    } names[] = {{"engine", "engine"}, {"visit", "visit"}, {"step", "step"}, {"need", "part to get"}, {"fact", "for next time"}, {"photo", "photo"}, {"finding", "what stood out when last looked at"}};

    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++)
        if (strcmp(names[i].table, table) == 0)
            return names[i].words;
    return table;
}

/* The words around the place, those that were found set off by a ground, a line below and weight. */
static void hit_text(struct ui *ui, struct rect r, const struct logbook_hit *hit)
{
    static const struct ui_style plain = {.colour = UI_TEXT_SOFT}, found = {.colour = UI_TEXT, .weight = UI_SEMIBOLD};
    size_t at = 0;

    for (int i = 0; i <= hit->n_places && r.w > 0; i++) {
        size_t from = i < hit->n_places ? hit->places[i].from : strlen(hit->text), to = i < hit->n_places ? hit->places[i].to : from;
        char part[sizeof hit->text];
        float w;

        text_format(part, sizeof part, "%.*s", (int)(from - at), hit->text + at);
        w = ui_text_width(ui, part, &plain);
        ui_text(ui, ui_cut_left(&r, fminf(w, r.w)), part, &plain);
        text_format(part, sizeof part, "%.*s", (int)(to - from), hit->text + from);
        w = fminf(ui_text_width(ui, part, &found), r.w);
        if (w > 1) {
            struct rect place = ui_cut_left(&r, w);

            ui_fill(ui, (struct rect){place.x - 1, place.y + 3, place.w + 2, place.h - 6}, UI_CARD_DIM);
            ui_fill(ui, (struct rect){place.x - 1, place.y + place.h - 4, place.w + 2, 2}, UI_SELECT);
            ui_text(ui, place, part, &found);
        }
        at = to;
    }
}

void screen_search(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out)
{
    struct rect r, content;
    struct ui_field field = {.name = "search", .placeholder = "words: coil cracked, P0306, barn", .large = true};
    char id[48], line[300], date[32];
    unsigned result;

    r = panel_begin(ui, "panel.search", panel_middle(ui, 760, 620), "Search all engines", st);
    result = ui_text_field(ui, "search.words", ui_cut_top(&r, 44), &field, st->search, st->search, sizeof st->search);
    if (st->search_opened) { /* one may type at once */
        ui_focus(ui, "search.words");
        st->search_opened = false;
    }
    if ((result & UI_CHANGED) != 0)
        text_copy(actions_add(out, ACT_SEARCH)->text, sizeof out->list[0].text, st->search);
    ui_cut_top(&r, 10);
    if (m->n_hits == 0) {
        ui_text(ui, ui_cut_top(&r, 30), st->search[0] ? "Nothing holds all these words. Fewer words find more." : "Looks in names, notes, codes, steps, parts, what photos show, facts for next time and what last stood out.", &(struct ui_style){.colour = UI_TEXT_SOFT});
        ui_modal_end(ui);
        return;
    }
    content = ui_scroll_begin(ui, "search.hits", r);
    for (size_t i = 0; i < m->n_hits; i++) {
        const struct logbook_hit *hit = &m->hits[i];
        struct rect row = {content.x, content.y + (float)i * 62, content.w - 8, 58}, in = ui_inset(row, 12, 6);
        struct ui_hit at;
        char own[ENGINE_NAME_BYTES + 8];

        clock_date_words(hit->date, date, sizeof date);
        text_format(line, sizeof line, "%s · %s%s%s", text_apart(hit->engine_name, own, sizeof own), what_it_is(hit->table), date[0] ? " of " : "", date);
        text_format(id, sizeof id, "search.hit.%zu", i);
        at = ui_region(ui, id, row, UI_ROLE_ROW, line, hit->text, 8);
        ui_round(ui, row, 8, at.hover || at.focused ? UI_CARD : UI_PANEL);
        ui_text(ui, ui_cut_top(&in, 22), line, &(struct ui_style){.weight = UI_SEMIBOLD});
        hit_text(ui, ui_cut_top(&in, 24), hit);
        if (at.clicked) {
            struct action *a = actions_add(out, ACT_OPEN_HIT);

            text_copy(a->id, sizeof a->id, hit->engine);
            text_copy(a->text, sizeof a->text, hit->visit);
            st->panel = PANEL_NONE;
        }
    }
    ui_scroll_end(ui, 62 * (float)m->n_hits);
    ui_modal_end(ui);
}
