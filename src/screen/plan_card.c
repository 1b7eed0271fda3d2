/* plan_card.c - the selected cylinder: its photo, what is on the firing end, the gap, what is around
 * the plug; and the tray of photos that wait for their bore. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/err.h"
#include "base/mem.h"
#include "base/text.h"
#include "screen/commands.h"
#include "screen/panels.h"
#include "screen/refused.h"

bool photo_ready(const struct logbook_photo *p)
{
    return p->trouble[0] == '\0' && p->width > 0;
}

/* "oil · heavy, dirt · a trace" of a zone; what was looked at and clean; "not looked at". */
static bool zone_words(const struct reading *r, enum zone z, char *to, size_t n_room)
{
    struct text t = {0};
    bool bad = false;

    if (r == NULL || !reading_zone_looked(r, z)) {
        text_copy(to, n_room, "not looked at");
        return false;
    }
    for (int s = 0; s < SIGN_COUNT; s++)
        if (sign_row((enum sign)s)->zone == z && r->amount[s] > 0) {
            text_addf(&t, "%s%s · %s", t.n_bytes ? ", " : "", sign_row((enum sign)s)->label, amount_words(r->amount[s]));
            bad = bad || sign_row((enum sign)s)->level >= LEVEL_WATCH;
        }
    text_copy(to, n_room, t.n_bytes ? text_get(&t) : !r->zone_seen[z] ? "looked at in part" : z == ZONE_WELL ? "dry, clean" : "nothing on it");
    text_release(&t);
    return bad;
}

static void deposits(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, struct rect *r, const struct reading *reading)
{
    struct ui_flow flow;

    ui_heading(ui, ui_cut_top(r, 24), "Firing end: a letter, again for more; + more, − less");
    flow = ui_flow_begin(*r, ui_target_px(ui));
    for (int s = (int)sign_first(ZONE_FIRING_END); s < (int)sign_first(ZONE_FIRING_END) + sign_count(ZONE_FIRING_END); s++) {
        const struct sign_row *row = sign_row((enum sign)s);
        int amount = reading != NULL ? reading->amount[s] : AMOUNT_UNSEEN;
        char key[2] = {row->key >= 'a' && row->key <= 'z' ? (char)(row->key - 'a' + 'A') : row->key, '\0'}, id[48], label[64];

        text_format(label, sizeof label, "%s%s", row->label, s == SIGN_NORMAL ? "" : amount == 1 ? " ·" : amount == 3 ? " ···" : ""); /* wear is not less or more normal */
        text_format(id, sizeof id, "sign.%s", row->id);
        if (ui_chip(ui, id, ui_flow_next(&flow, ui_chip_width(ui, label, key)), label, amount > 0, key) && m->can_write)
            actions_next_sign(out, st, reading, s);
    }
    amount_less_chip(ui, m, st, out, &flow);
    ui_cut_top(r, ui_flow_height(&flow) + 12);
    ui_cut_top(r, contradiction_note(ui, reading, *r)); /* below the chips, which keep their place */
}

/* A refused figure stays with its plug. */
static void gap_name(const struct screen_state *st, char to[64])
{
    text_format(to, 64, "gap.found %d %d", st->cylinder, st->position);
}

float gap_refused(struct ui *ui, struct screen_state *st, struct rect r, bool draw)
{
    char name[64];

    gap_name(st, name);
    return refused_words(ui, st, "gap.found", name, r, draw);
}

/* As one would type the gap the book names. */
static void gap_example(const struct model *m, char *to, size_t n_room)
{
    const struct engine_plug_spec *spec = &m->record->engine.plug;
    double mm = spec->gap_min_mm > 0 ? fmax(spec->gap_min_mm, spec->gap_max_mm) : 1.1; /* no book: a gap many engines have */

    if (m->inches)
        text_format(to, n_room, "type %.0f", mm / 0.0254);
    else
        text_format(to, n_room, "type %.2f", mm);
}

bool gap_field(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, struct rect r)
{
    const struct reading *reading = model_reading(m, st->cylinder, st->position);
    struct ui_field field = {.name = "gap as found", .large = true, .select_all = true, };
    struct maybe gauge = reading != NULL ? reading_gauge_gap(reading) : (struct maybe){0}; /* the field is the feeler gauge's */
    char now[32] = "", typed[64] = "", name[64], photo[32], example[32];
    bool is_gap;
    int32_t um;
    struct err e = {0};
    unsigned result;

    gap_example(m, example, sizeof example);
    field.placeholder = example;
    if (gauge.given) {
        model_format_gap(m, gauge.value, now, sizeof now);
    } else if (reading != NULL && reading->gap_from_photo) {
        model_format_found(m, reading, photo, sizeof photo);
        field.placeholder = photo;
    }
    gap_name(st, name);
    result = refused_text_field(ui, st, "gap.found", name, r, field, now, typed, sizeof typed);
    is_gap = typed[strspn(typed, " ")] == '\0' || record_read_gap_of(&m->record->engine, typed, m->inches, &um, &e);
    if ((result & UI_COMMIT) != 0 && m->can_write) {
        struct action *a = actions_add(out, ACT_SET_GAP);

        a->cylinder = st->cylinder;
        a->position = st->position;
        refused_typed(a, name, typed, result);
    }
    return (result & UI_ENTER) != 0 && is_gap;
}

bool trust_gap_button(struct ui *ui, const char *id, struct rect r, const struct reading *reading)
{
    struct ui_button o = {.key = "Shift+G"};
    const char *label = reading->gap_from_photo ? "Count the gauge's" : "Count the photo's";

    return ui_button(ui, id, ui_cut_left(&r, fminf(r.w, ui_button_width(ui, label, &o))), label, &o);
}

/* Where a photo had a say in the gap: a line of its own, amber where photo and gauge differ, and which counts. */
static void gap_source(struct ui *ui, const struct model *m, const struct screen_state *st, struct actions *out, const struct reading *reading, struct rect *r)
{
    char words[120];
    bool agree;
    struct rect row;
    struct ui_style style = {.weight = UI_MEDIUM, .top = true, .max_lines = 3};
    float other_px;

    if (reading == NULL || !reading->gap_photo_mm.given)
        return;
    agree = reading_gaps_agree(reading);
    other_px = agree ? 16 : 36;
    reading_format_gap_source(reading, m->inches, words, sizeof words);
    style.colour = agree ? UI_TEXT : UI_WATCH_TEXT;
    row = *r;
    row.w = fminf(row.w, ui_text_width(ui, words, &style) + other_px);
    row.h = fmaxf(24, ui_text_height(ui, row.w - other_px, words, &style) + 6);
    ui_cut_top(r, row.h + 6);
    ui_round(ui, row, 5, agree ? UI_LINE : UI_WATCH);
    if (!agree)
        level_mark(ui, row.x + row.w - 14, row.y + row.h / 2, 14, LEVEL_WATCH);
    ui_text(ui, (struct rect){row.x + 8, row.y + 3, row.w - other_px, row.h - 6}, words, &style);
    ui_note(ui, "card.gap-source", row, "where the gap comes from", words);
    if (!reading_gauge_gap(reading).given || !m->can_write)
        return;
    row = ui_cut_top(r, fmaxf(36, ui_target_px(ui)));
    if (trust_gap_button(ui, "card.gap-trust", row, reading))
        actions_trust_gap(out, st->cylinder, st->position, !reading->gap_from_photo);
    ui_cut_top(r, 6);
}

/* What the card's range says of the gap that was found; before one is, the range. */
static void gap_advice(const struct model *m, const struct engine_plug_spec *spec, struct maybe found, char *to, size_t n_room)
{
    enum gap_verdict verdict = found.given ? gap_against(spec, found.value) : GAP_IN_RANGE;
    char low[16], high[16];

    model_format_gap(m, spec->gap_min_mm, low, sizeof low);
    model_format_gap(m, spec->gap_max_mm, high, sizeof high);
    if (!found.given)
        text_format(to, n_room, spec->gap_max_mm > spec->gap_min_mm ? "book %s–%s" : "book %s", low, high);
    else if (verdict == GAP_PAST_LIMIT)
        text_copy(to, n_room, "past the limit");
    else if (verdict == GAP_IN_RANGE && (spec->gap_max_mm > 0 || found.value <= spec->gap_min_mm + 0.0501))
        text_copy(to, n_room, "in range");
    else if (verdict == GAP_HAIR_OVER)
        text_copy(to, n_room, "a hair over");
    else
        text_format(to, n_room, "set it to %s", low);
}

static void gap_fields(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, struct rect *r, const struct reading *reading)
{
    struct rect row, half;
    char other[64] = "", set[64];
    const struct engine_plug_spec *spec = &m->record->engine.plug;
    struct maybe found = {0}; /* what the field shows */
    struct ui_style unit = {.size_px = 14, .colour = UI_TEXT}, soft = {.colour = UI_TEXT_SOFT, .align = UI_RIGHT};

    if (reading != NULL)
        found = reading_gauge_gap(reading).given ? reading_gauge_gap(reading) : reading->gap_mm;
    row = ui_cut_top(r, 24);
    ui_heading(ui, row, "Gap as found");
    ui_keycap(ui, row.x + row.w, row.y + 12, "F7", false);
    row = ui_cut_top(r, 44);
    half = ui_cut_left(&row, 110);
    if (found.given) {
        char figure[24];

        unit_tell_length(&(struct unit_choice){.inches = !m->inches}, found.value, true, figure, sizeof figure);
        text_format(other, sizeof other, "%s  (%s)", m->inches ? "in" : "mm", figure);
    } else {
        text_copy(other, sizeof other, m->inches ? "in  (43 is 0.043)" : "mm");
    }
    gap_field(ui, m, st, out, half);
    ui_text(ui, (struct rect){row.x + 12, row.y, row.w, row.h}, other, &unit);
    if (spec->gap_min_mm > 0) {
        gap_advice(m, spec, found, set, sizeof set);
        if (reading != NULL && refit_scrap(m->record, reading)[0] != '\0') /* its gap is not set */
            text_copy(set, sizeof set, "a new plug");
        ui_text(ui, row, set, &soft);
        ui_note(ui, "card.gap-advice", row, "gap advice", set);
    }
    ui_cut_top(r, 6);
    gap_source(ui, m, st, out, reading, r);
    ui_cut_top(r, 6 + gap_refused(ui, st, *r, true));
    conflicts_at_field(ui, m, st, out, true, r);
}

static void other_measures(const struct reading *q, char *to, size_t n_room)
{
    text_copy(to, n_room, "not taken");
    if (q == NULL)
        return;
    if (q->differential_over_80.given)
        text_format(to, n_room, "%.0f over 80", q->differential_over_80.value);
    if (q->leak_percent.given)
        text_format(to, n_room, "leak-down %.0f %%", q->leak_percent.value);
    if (q->compression_wet_kpa.given && q->leak_percent.given)
        text_format(to, n_room, "wet; leak-down %.0f %%", q->leak_percent.value);
    else if (q->compression_wet_kpa.given)
        text_copy(to, n_room, "wet taken");
}

/* The gravest of what is said of the plug itself. */
static void particulars(const struct reading *q, char *to, size_t n_room)
{
    text_copy(to, n_room, "none noted");
    if (q == NULL)
        return;
    if (q->electrode > 0)
        text_copy(to, n_room, words_label(WORDS_ELECTRODE, q->electrode));
    if (q->tightness > 0)
        text_copy(to, n_room, words_label(WORDS_TIGHTNESS, q->tightness));
    if (q->insulator > 0)
        text_copy(to, n_room, words_label(WORDS_INSULATOR, q->insulator));
}

static void around(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, struct rect *r, const struct reading *reading)
{
    int n;
    const struct zone_key *rows = screen_zone_keys(&n);
    char value[200], id[40];
    float h = ui_target_px(ui);

    (void)out;
    ui_heading(ui, ui_cut_top(r, 22), "Around the plug");
    for (int i = 0; i < n; i++) {
        bool bad;

        if (!model_asks_zone(m, reading, rows[i].zone))
            continue;
        bad = zone_words(reading, rows[i].zone, value, sizeof value);
        text_format(id, sizeof id, "zone.%s", zone_row(rows[i].zone)->id);
        if (ui_value_row(ui, id, ui_cut_top(r, h), zone_row(rows[i].zone)->label, value, bad, rows[i].key)) {
            st->panel = PANEL_SIGNS;
            st->signs_zone = rows[i].zone;
        }
    }
    struct rect row = ui_cut_top(r, h + 6);
    struct ui_style left = {.colour = UI_TEXT_SOFT};
    char name[64];

    text_format(value, sizeof value, "Compression, dry (%s)", m->pressure);
    ui_text(ui, row, value, &left);
    measure_field(ui, m, st, out, st->cylinder, MEASURE_DRY, "compression", (struct rect){row.x + row.w - 92, row.y + 3, 92, h});
    measure_field_name(st->cylinder, MEASURE_DRY, name);
    ui_cut_top(r, refused_words(ui, st, "compression", name, *r, true));
    other_measures(reading, value, sizeof value);
    if (ui_value_row(ui, "card.measures", ui_cut_top(r, h), "Wet, leak-down", value, false, "Shift+M"))
        st->panel = PANEL_MEASURES;
    particulars(reading, value, sizeof value);
    if (ui_value_row(ui, "card.particulars", ui_cut_top(r, h), "Particulars", value, false, "Shift+D"))
        st->panel = PANEL_PLUG;
    row = ui_cut_top(r, h + 4);
    ui_text(ui, row, "Refit", &left);
    float x = row.x + row.w;

    for (int k = 3; k >= 1; k--) {
        const char *label = words_label(WORDS_REFIT, k);
        float w = ui_chip_width(ui, label, NULL);

        x -= w;
        text_format(id, sizeof id, "refit.%s", words_id(WORDS_REFIT, k));
        if (ui_chip(ui, id, (struct rect){x, row.y + 2, w, h}, label, reading != NULL && reading->refit == k, NULL) && m->can_write) {
            struct action *a = actions_add(out, ACT_REFIT);

            a->cylinder = st->cylinder;
            a->position = st->position;
            a->number = reading != NULL && reading->refit == k ? 0 : k;
        }
        x -= 6;
    }
    if (reading != NULL) {
        struct ui_style ask = {.colour = UI_WATCH_INK, .max_lines = 4, .top = true};

        refit_ask(m->record, reading, m->inches, value, sizeof value);
        if (value[0] != '\0') {
            h = ui_text_height(ui, r->w - 16, value, &ask);
            row = ui_cut_top(r, h + 8);
            ui_note(ui, "card.ask", row, "to be asked first", value);
            ui_diamond(ui, row.x + 5, row.y + 9, 9, ui_rgba(UI_WATCH_INK));
            ui_text(ui, (struct rect){row.x + 16, row.y, row.w - 16, h}, value, &ask);
        }
    }
}

#define LOW_CARD_PX 600.0f

void plan_card(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, struct rect r)
{
    const struct engine *en = &m->record->engine;
    const struct reading *reading;
    const struct logbook_photo *photo, *offered;
    struct ui_style number = {.size_px = 26, .weight = UI_BOLD, .colour = UI_TEXT}, soft = {.colour = UI_TEXT_SOFT, .max_lines = 2, .top = true};
    struct rect view, content, top, footer;
    char words[160], label[48];
    float start, w;
    struct plug_place next = {st->cylinder, st->position};

    ui_fill(ui, r, UI_PANEL);
    if (st->cylinder < 0 || st->cylinder >= en->n_cylinders) {
        ui_text(ui, ui_inset(r, 18, 20), "Pick a cylinder: click its bore or press its number.", &soft);
        return;
    }
    reading = model_reading(m, st->cylinder, st->position);
    footer = ui_cut_bottom(&r, 60);
    ui_fill(ui, (struct rect){footer.x, footer.y, footer.w, 1}, UI_LINE);
    view = r;
    content = ui_scroll_begin(ui, "card", view);
    r = (struct rect){content.x + 18, content.y + 14, content.w - 36, 4000};
    start = r.y;
    /* the picture: an open bore until there is one, so that a first sign moves nothing away from under the pointer; in a low window it stands
     * beside the name, so that the gap stays in view */
    photo = model_bore_photo(m, st->cylinder, st->position);
    offered = photo == NULL ? model_proposed_photo(m, st->cylinder, st->position) : NULL;
    const bool beside = view.h < LOW_CARD_PX;
    struct rect pic = {0};

    engine_plug_label(en, st->cylinder, st->position, label, sizeof label);
    w = ui_text_width(ui, label, &number);
    engine_describe_cylinder(en, st->cylinder, words, sizeof words);
    if (beside) {
        soft.max_lines = 4;
        top = ui_cut_top(&r, 102);
        pic = ui_cut_right(&top, 130);
        pic.h = 96;
        ui_cut_right(&top, 10);
    } else {
        top = ui_cut_top(&r, fmaxf(40, ui_text_height(ui, r.w - w - 12, words, &soft) + 16));
    }
    ui_text(ui, (struct rect){top.x, top.y, w + 4, 40}, label, &number);
    ui_note(ui, "card.number", top, "selected cylinder", label);
    ui_text(ui, (struct rect){top.x + w + 12, top.y + 11, top.w - w - 12, beside ? 84 : 40}, words, &soft);
    conflicts_of_plug(ui, m, st, &r);
    if (!beside)
        pic = ui_cut_top(&r, fminf(190, view.h * 0.26f));
    struct ui_hit hit = ui_region(ui, "card.picture", pic, UI_ROLE_IMAGE, "photo of the firing end", photo ? photo->name : reading != NULL && reading_tells_plug(reading) ? "drawn from the reading" : "nothing yet", 8);
    const bool drawn = photo != NULL || offered != NULL || (reading != NULL && reading_tells_plug(reading));

    ui_round(ui, pic, 8, drawn ? UI_DESK_DARK : UI_DESK);
    if (photo != NULL && photo_ready(photo)) {
        photo_draw(ui, photo, pic);
    } else if (offered != NULL && photo_ready(offered)) { /* as in its bore */
        ui_fade(ui, 0.6f);
        photo_draw(ui, offered, pic);
        ui_fade(ui, 1);
    } else if (reading != NULL && reading_tells_plug(reading)) {
        struct bore_look look = bore_look_of(reading, st->cylinder);
        float d = pic.h - 20;

        bore_draw(ui, (struct rect){pic.x + (pic.w - d) / 2, pic.y + 10, d, d}, &look);
    } else if (!drawn) {
        bore_open(ui, pic.x + pic.w / 2, pic.y + pic.h / 2, pic.h / 2 - 10);
    }
    if (hit.clicked && photo != NULL) {
        st->newest[0] = '\0';
        st->photo = (int)(photo - m->photos);
        st->screen = SCREEN_PHOTOS;
    }
    {
        int n = 0;
        struct rect line = ui_cut_top(&r, 30);

        for (size_t i = 0; i < m->n_photos; i++)
            n += m->photos[i].cylinder == st->cylinder && m->photos[i].position == st->position;
        if (reading != NULL && reading->nose_L.given)
            text_format(words, sizeof words, "%d photo%s · nose L* %.0f", n, n == 1 ? "" : "s", reading->nose_L.value);
        else
            text_format(words, sizeof words, n ? "%d photo%s" : offered != NULL ? "a photo is proposed" : reading != NULL && reading_tells_plug(reading) ? "no photo: drawn from the reading" : "no photo, not read yet", n, n == 1 ? "" : "s");
        ui_text(ui, line, words, &(struct ui_style){.colour = UI_TEXT_SOFT});
        ui_keycap(ui, line.x + line.w, line.y + 15, "Enter", false);
    }
    conflicts_at_field(ui, m, st, out, false, &r);
    deposits(ui, m, st, out, &r, reading);
    gap_fields(ui, m, st, out, &r, reading);
    around(ui, m, st, out, &r, reading);
    ui_scroll_end(ui, r.y - start + 30);
    /* onward */
    footer = ui_inset(footer, 18, m->large_targets ? 8 : 10);
    if (model_next_plug(m, &next)) {
        struct ui_button dark = {.look = UI_LOOK_DARK, .key = "."};

        engine_plug_label(en, next.cylinder, next.position, label, sizeof label);
        text_format(words, sizeof words, "Next: %s", label);
        if (ui_button(ui, "card.next", ui_cut_left(&footer, ui_button_width(ui, words, &dark)), words, &dark)) {
            st->cylinder = next.cylinder;
            st->position = next.position;
        }
        ui_cut_left(&footer, 8);
    }
    struct ui_button plain = {.key = "F4"};

    if (ui_button(ui, "card.pulling", ui_cut_left(&footer, ui_button_width(ui, "Plug by plug", &plain)), "Plug by plug", &plain))
        pulling_begin(m, st);
}

/* ---- the tray ---- */

#define MORE_PX  54.0f  /* the way to those that do not fit, with the space before it */
#define WORDS_PX 180.0f /* in less they would be cut */

static bool waits(const struct model *m, int photo)
{
    return photo >= 0 && photo < (int)m->n_photos && logbook_photo_waits(&m->photos[photo]);
}

int tray_shows(const struct model *m, const struct screen_state *st)
{
    return !waits(m, st->photo) ? -2 : strcmp(st->shows_of, m->photos[st->photo].id) == 0 ? st->shows : -1;
}

void tray_next(const struct model *m, struct screen_state *st)
{
    int n = (int)m->n_photos, from = waits(m, st->photo) ? st->photo : -1, found = -1;

    for (int i = 1; i <= n && found < 0; i++)
        if (waits(m, (from + i + n) % n) && (from + i + n) % n != from)
            found = (from + i + n) % n;
    st->photo = found;
}

/* Those that wait, in the order they are shown: where a place is proposed first, while none is taken up. */
static int tray_order(const struct model *m, const struct screen_state *st, int *list)
{
    int n = 0;

    for (int round = 0; round < 2; round++)
        for (int i = 0; i < (int)m->n_photos; i++) {
            bool first = waits(m, st->photo) || (m->proposal != NULL && m->proposal[i].cylinder >= 0);

            if (waits(m, i) && first == (round == 0))
                list[n++] = i;
        }
    return n;
}

/* Photos wait for which nothing is proposed, and the order they could be laid along is not drawn, or not to its end. */
static bool asks_order(const struct model *m, const struct screen_state *st, const struct photos_waiting *waiting)
{
    const int n_all = record_plug_count(&m->record->engine);

    return m->can_write && !waits(m, st->photo) && waiting->n_proposed < waiting->n && model_visit(m)->n_removal < n_all && n_all > 1;
}

/* The first sentence, with its stop. */
static int sentence_bytes(const char *words)
{
    const char *stop = strstr(words, ". ");

    return stop != NULL ? (int)(stop - words) + 1 : (int)strlen(words);
}

/* What is understood of the photos that wait, or why nothing is; how to place those left by hand. */
static void tray_words(const struct model *m, const struct screen_state *st, const struct photos_waiting *waiting, char *to, size_t n_room)
{
    if (tray_shows(m, st) >= 0)
        text_format(to, n_room, "It shows: %s. Press the number of its plug; then the next is taken up. Esc: let go", zone_row((enum zone)tray_shows(m, st))->label);
    else if (waits(m, st->photo))
        text_format(to, n_room, "Press its plug's number, or drag it; first, with Shift, what it shows: F firing end, W well, T threads, B body, O boot, C coil, %sN connector. Esc: let go", engine_may_have_leads(&m->record->engine) ? "L lead, " : "");
    else if (m->proposal_why[0] == '\0')
        text_copy(to, n_room, "Drag them onto their plugs.");
    else if (asks_order(m, st, waiting)) /* the button beside it says the rest */
        text_format(to, n_room, "%.*s Or drag them onto their plugs.", sentence_bytes(m->proposal_why), m->proposal_why);
    else if (waiting->n_proposed > 0)
        text_copy(to, n_room, m->proposal_why);
    else if (waiting->n > record_plug_count(&m->record->engine)) /* wells and parts first, then the plugs: without those the times may tell */
        text_format(to, n_room, "%s Place those of wells and parts: the rest is tried anew.", m->proposal_why);
    else
        text_format(to, n_room, "%s Drag them onto their plugs.", m->proposal_why);
}

/* Those of the tray that are seen, from which on: as it was turned, but with the one that was just taken up among them. */
static int tray_window(struct screen_state *st, const int *list, int n, int fit)
{
    for (int k = 0; k < n && st->photo != st->tray_showed; k++)
        if ((k < st->tray_from || k >= st->tray_from + fit) && list[k] == st->photo)
            st->tray_from = k < st->tray_from ? k : k - fit + 1;
    st->tray_showed = st->photo;
    if (st->tray_from >= n || st->tray_from < 0)
        st->tray_from = 0;
    return st->tray_from;
}

void plan_tray(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, struct rect r)
{
    struct ui_style bold = {.weight = UI_SEMIBOLD, .colour = UI_BAR_TEXT}, soft = {.colour = UI_BAR_TEXT, .max_lines = 3, .top = true};
    struct ui_button draw = {.look = UI_LOOK_DASHED, .key = command_key("draw-order")};
    struct ui_button add = {.look = UI_LOOK_DASHED, .key = "F6"}, accept = {.look = UI_LOOK_DARK, .key = "Enter"}, by_number = {.look = UI_LOOK_DASHED, .key = "Shift+P"};
    const struct photos_waiting waiting = model_waiting(m);
    const bool taken_up = waits(m, st->photo) && waiting.n_proposed == 0;
    char line[500];
    struct rect text, row, right;
    float wide;

    ui_fill(ui, r, UI_TRAY);
    r = ui_inset(r, 18, 8);
    right = ui_cut_right(&r, ui_button_width(ui, "By number", &by_number) + 8);
    if (waiting.n > 0 && m->can_write && ui_button(ui, "tray.number", ui_cut_bottom(&right, (right.h - 8) / 2), "By number", &by_number))
        tray_next(m, st);
    if (waiting.n > 0)
        ui_cut_bottom(&right, 8);
    if (m->can_write && ui_button(ui, "tray.add", right, "Add photos…", &add))
        screen_files_open(st, FILES_PHOTOS);
    ui_cut_right(&r, 12);
    wide = fminf(420, fmaxf(r.w * 0.5f, fminf(r.w, asks_order(m, st, &waiting) ? 340 : 160))); /* a word to a line is not read */
    if (waiting.n > 0) /* but a photo that is not seen cannot be placed: one at least, two where the words have room beside them, and the way to more */
        wide = fmaxf(0, fminf(wide, r.w - 12 - r.h * 1.05f - (waiting.n > 1 ? MORE_PX : 0)));
    if (waiting.n > 1 && !asks_order(m, st, &waiting) && r.w - 12 - 2 * (r.h * 1.05f + 10) - MORE_PX >= WORDS_PX)
        wide = fminf(wide, r.w - 12 - 2 * (r.h * 1.05f + 10) - MORE_PX);
    if (waiting.n > 0 && waiting.n_proposed == 0 && wide < 60) /* a syllable to a line tells nobody how */
        wide = 0;
    text = ui_cut_left(&r, waiting.n > 0 ? wide : r.w);
    if (waiting.n == 0) {
        ui_text(ui, (struct rect){text.x, text.y + 4, text.w, 20}, m->n_photos ? "All photos are placed" : "No photos yet", &bold);
        if (m->watched[0] != '\0') /* they come by themselves: said where one waits for them */
            text_format(line, sizeof line, "new ones come in from %s; or drop files here, or paste them", TEXT_SHORT(m->watched, 300));
        else
            text_copy(line, sizeof line, "drop files here, or paste them");
        ui_text(ui, (struct rect){text.x, text.y + 26, text.w, 60}, line, &soft);
        return;
    }
    if (waiting.n_proposed > 0 && m->can_write) {
        text_format(line, sizeof line, waiting.n_proposed < waiting.n ? "Accept %d of %d" : "Accept %d", waiting.n_proposed, waiting.n);
        row = ui_cut_top(&text, ui_target_px(ui));
        if (ui_button(ui, "tray.accept", ui_cut_left(&row, ui_button_width(ui, line, &accept)), line, &accept))
            actions_add(out, ACT_ACCEPT_PROPOSAL);
        soft.max_lines = 2;
    } else if (taken_up) { /* how to place it takes all the room */
        row = (struct rect){0};
        soft.max_lines = 5;
    } else {
        text_format(line, sizeof line, "%d photo%s to place", waiting.n, waiting.n == 1 ? "" : "s");
        row = ui_cut_top(&text, asks_order(m, st, &waiting) ? ui_target_px(ui) : 20);
        if (text.w > 0)
            ui_text(ui, ui_cut_left(&row, ui_text_width(ui, line, &bold)), line, &bold);
        soft.max_lines = row.h > 20 ? 2 : 3;
    }
    ui_cut_left(&row, 14);
    if (asks_order(m, st, &waiting) && row.w < ui_button_width(ui, "Draw the order", &draw))
        draw.key = NULL; /* F9 has it */
    if (asks_order(m, st, &waiting) && row.w >= ui_button_width(ui, "Draw the order", &draw) && ui_button(ui, "tray.order", ui_cut_left(&row, ui_button_width(ui, "Draw the order", &draw)), "Draw the order", &draw))
        plan_order_begin(m, st);
    tray_words(m, st, &waiting, line, sizeof line);
    if (!taken_up)
        ui_cut_top(&text, 4);
    if (ui_text_height(ui, text.w, line, &(struct ui_style){.max_lines = 99}) > (taken_up ? text.h : ui_text_height(ui, text.w, line, &soft)))
        soft.size_px = 11;
    if (text.w > 0)
        ui_text(ui, text, line, &soft);
    ui_note(ui, "tray.words", text, "photos to place", line);
    ui_cut_left(&r, 12);
    float w = fminf(r.h * 1.4f, fmaxf(r.h * 1.05f, (r.w - 50) / 2 - 10));
    int *list = arena_alloc(ui_arena(ui), m->n_photos, sizeof *list), n = tray_order(m, st, list), fit = (int)((r.w + 10) / (w + 10));

    if (fit < n)
        fit = (int)((r.w + 10.5f - MORE_PX) / (w + 10));
    const int from = tray_window(st, list, n, fit > 0 ? fit : 1);

    for (int k = from; k < n && fit > 0; k++) {
        const int i = list[k];
        const struct logbook_photo *p = &m->photos[i];
        struct rect tile;
        char id[64], payload[64];
        struct ui_hit hit;

        if (k - from >= fit)
            break;
        tile = ui_cut_left(&r, w);
        ui_cut_left(&r, 10);
        text_format(id, sizeof id, "tray.%.36s", p->id);
        text_format(payload, sizeof payload, "photo:%.36s", p->id);
        hit = ui_region(ui, id, tile, UI_ROLE_IMAGE, p->name, st->photo == i ? "selected" : "", 4);
        ui_drag_source(ui, payload, hit, photo_key(p->sha256, false));
        ui_round(ui, tile, 4, UI_TRAY_CARD);
        if (p->trouble[0]) {
            ui_text(ui, ui_inset(tile, 6, 6), p->trouble, &(struct ui_style){.size_px = 11, .colour = UI_BAR_TEXT, .max_lines = 4, .top = true});
        } else if (p->height > 0) {
            photo_draw(ui, p, ui_inset(tile, 4, 4));
        }
        line[0] = '\0';
        if (st->photo == i && tray_shows(m, st) >= 0) {
            text_copy(line, sizeof line, zone_row((enum zone)tray_shows(m, st))->label);
        } else if (m->proposal != NULL && m->proposal[i].cylinder >= 0) {
            char label[48];

            engine_plug_label(&m->record->engine, m->proposal[i].cylinder, m->proposal[i].position, label, sizeof label);
            text_format(line, sizeof line, "→ %s%s", label, m->proposal[i].zone < 0 ? " view" : m->proposal[i].zone == ZONE_FIRING_END ? "" : m->proposal[i].zone == ZONE_WELL ? " well" : " coil");
        }
        if (line[0] != '\0') {
            float lw = fminf(ui_text_width(ui, line, &bold) + 14, tile.w - 8);

            ui_round(ui, (struct rect){tile.x + 4, tile.y + 4, lw, 22}, 5, UI_DARK);
            ui_text(ui, (struct rect){tile.x + 4, tile.y + 4, lw, 22}, line, &(struct ui_style){.weight = UI_SEMIBOLD, .colour = UI_DARK_TEXT, .align = UI_CENTRE});
        }
        if (st->photo == i)
            ui_select_line(ui, tile, 4, 3);
        if (hit.clicked) {
            st->photo = st->photo == i ? -1 : i;
            if (hit.twice) {
                st->photo = i;
                st->screen = SCREEN_PHOTOS;
            }
        }
    }
    if (fit < n && fit > 0) { /* the next of them, behind the last the first again */
        const int seen = n - from < fit ? n - from : fit;
        const struct rect place = {r.x + (float)(fit - seen) * (w + 10), r.y, MORE_PX - 10, r.h};
        const float turned = ui_take_wheel(ui, (struct rect){place.x - (float)fit * (w + 10), r.y, place.w + (float)fit * (w + 10), r.h});

        text_format(line, sizeof line, "+%d", n - seen);
        const struct ui_hit more = ui_region(ui, "tray.more", place, UI_ROLE_BUTTON, "more photos", line, 6);

        if (more.hover)
            ui_round_line(ui, place, 6, 1, UI_BAR_TEXT);
        ui_text(ui, place, line, &(struct ui_style){.weight = UI_SEMIBOLD, .colour = UI_BAR_TEXT, .align = UI_CENTRE});
        if (more.clicked || turned < 0)
            st->tray_from = from + fit < n ? from + fit : more.clicked ? 0 : from;
        else if (turned > 0)
            st->tray_from = from > fit ? from - fit : 0;
        if (st->tray_from != from)
            ui_wake_at_s(ui, ui_now_s(ui));
    }
}
