#include "screen/model.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/text.h"
#include "record/seated.h"
#include "screen/commands.h"

struct action *actions_add(struct actions *out, enum action_type type)
{
    static const int most = (int)(sizeof out->list / sizeof out->list[0]);
    struct action *a = &out->list[out->n < most ? out->n++ : most - 1];

    memset(a, 0, sizeof *a);
    a->type = type;
    a->cylinder = -1;
    return a;
}

struct unit_choice model_units(const struct model *m)
{
    return (struct unit_choice){m->inches, unit_find(m->pressure)};
}

void model_format_gap(const struct model *m, double mm, char *to, size_t n_room)
{
    struct unit_choice units = model_units(m);

    unit_tell_length(&units, mm, false, to, n_room);
}

void model_gap_hint(const struct model *m, char *to, size_t n_room)
{
    const struct engine_plug_spec *spec = &m->record->engine.plug;

    model_format_gap(m, spec->gap_min_mm > 0 ? spec->gap_min_mm : spec->gap_max_mm > 0 ? spec->gap_max_mm : 1.0, to, n_room);
}

void model_format_found(const struct model *m, const struct reading *r, char *to, size_t n_room)
{
    char figure[16];

    model_format_gap(m, r->gap_mm.value, figure, sizeof figure);
    text_format(to, n_room, "%s%s", r->gap_from_photo ? "≈" : "", figure);
}

void model_plug_short(struct ui *ui, const struct engine *en, int cylinder, int position, float width, const struct ui_style *style, char *to, size_t n_room)
{
    const char *name = en->position_names[position];
    float widest = 0;

    for (int p = 0; p < en->n_positions; p++) { /* all of a cylinder alike: "2 t" beside "2 b", not beside "2 top" */
        engine_plug_label(en, cylinder, p, to, n_room);
        widest = fmaxf(widest, ui_text_width(ui, to, style));
    }
    engine_plug_label(en, cylinder, position, to, n_room);
    if (en->n_positions < 2 || widest <= width)
        return;
    text_format(to, n_room, "%s %.*s", en->cylinders[cylinder].label, (int)text_next(name, 0), name);
    if (ui_text_width(ui, to, style) > width)
        text_format(to, n_room, "%.*s", (int)text_next(name, 0), name);
}

const struct visit *model_visit(const struct model *m)
{
    return m->record != NULL && m->record->n_visits > 0 ? record_current(m->record) : NULL;
}

const struct reading *model_reading(const struct model *m, int cylinder, int position)
{
    const struct visit *v = model_visit(m);

    if (v == NULL || cylinder < 0 || cylinder >= m->record->engine.n_cylinders)
        return NULL;
    return visit_reading_const(v, &m->record->engine, cylinder, position);
}

const struct reading *model_plug_reading(const struct model *m, int cylinder, int position)
{
    const struct reading *q = model_reading(m, cylinder, position);

    return q != NULL ? seated_plug(model_visit(m), q) : NULL;
}

int model_order_count(const struct model *m)
{
    return record_plug_count(&m->record->engine);
}

struct plug_place model_order_at(const struct model *m, int i)
{
    const struct visit *v = model_visit(m);
    const int n = m->record->engine.n_positions, n_drawn = v != NULL ? v->n_removal : 0;

    if (i < n_drawn)
        return visit_drawn(v, i);
    for (int at = 0; at < record_plug_count(&m->record->engine); at++) /* those the order does not name, as they stand */
        if ((n_drawn == 0 || visit_find_drawn(v, at / n, at % n) < 0) && i-- == n_drawn)
            return (struct plug_place){at / n, at % n};
    return (struct plug_place){0, 0};
}

bool model_next_plug(const struct model *m, struct plug_place *at)
{
    int n = model_order_count(m);

    for (int i = 0; i + 1 < n; i++) {
        struct plug_place here = model_order_at(m, i);

        if (here.cylinder == at->cylinder && here.position == at->position) {
            *at = model_order_at(m, i + 1);
            return true;
        }
    }
    return false;
}

bool model_asks_zone(const struct model *m, const struct reading *r, enum zone zone)
{
    const struct engine *en = &m->record->engine;

    return (zone == ZONE_WELL ? engine_may_have_wells(en) : zone != ZONE_LEAD || engine_may_have_leads(en)) || (r != NULL && reading_zone_looked(r, zone));
}

bool model_asks_well(const struct model *m, const struct reading *r)
{
    return model_asks_zone(m, r, ZONE_WELL);
}

bool pulling_finished(const struct model *m, struct plug_place at)
{
    const struct reading *r = model_reading(m, at.cylinder, at.position);

    return r != NULL && r->gap_mm.given && reading_main_deposit(r) >= 0;
}

void pulling_go(const struct model *m, struct screen_state *st, int at)
{
    const int n = model_order_count(m);
    struct plug_place place;

    st->pull_at = at < 0 || at >= n ? 0 : at;
    if (n == 0)
        return;
    place = model_order_at(m, st->pull_at);
    st->cylinder = place.cylinder;
    st->position = place.position;
}

void pulling_begin(const struct model *m, struct screen_state *st)
{
    const int n = model_order_count(m);
    int selected = -1, open = -1;

    for (int i = 0; i < n; i++) {
        const struct plug_place at = model_order_at(m, i);

        if (at.cylinder == st->cylinder && at.position == st->position)
            selected = i;
        if (open < 0 && !pulling_finished(m, at))
            open = i;
    }
    if (selected >= 0 && (open < 0 || (!st->by_default && !pulling_finished(m, model_order_at(m, selected)))))
        open = selected;
    pulling_go(m, st, open >= 0 ? open : 0);
    st->screen = SCREEN_PLAN;
    st->panel = PANEL_NONE;
    st->pulling = true;
}

int pulling_unread(const struct model *m, char *to, size_t n_room)
{
    const struct engine *en = &m->record->engine;
    bool marked[ENGINE_MAX_PLUGS] = {false};
    int n = 0;

    for (int i = 0; i < model_order_count(m); i++) {
        const struct plug_place at = model_order_at(m, i);
        const struct reading *r = model_reading(m, at.cylinder, at.position);

        if (r != NULL && (r->gap_mm.given || reading_main_deposit(r) >= 0))
            continue;
        marked[record_plug_index(en, at.cylinder, at.position)] = true;
        n++;
    }
    engine_plugs_words(en, marked, to, n_room);
    return n;
}

void pulling_step(const struct model *m, struct screen_state *st)
{
    if (st->pull_at + 1 < model_order_count(m)) {
        pulling_go(m, st, st->pull_at + 1);
        return;
    }
    st->pulling = false;
    st->pulled = true;
    st->tell_unread = true; /* when what was typed last is noted */
}

void pulling_tell_unread(struct ui *ui, const struct model *m, struct screen_state *st)
{
    char plugs[400], said[480];

    if (st->tell_unread && pulling_unread(m, plugs, sizeof plugs) > 0) {
        text_format(said, sizeof said, "Not read yet: %s. %s goes on with them.", plugs, command_key("pulling"));
        ui_toast(ui, said, NULL);
    }
    st->tell_unread = false;
}

struct action *actions_note_sign(struct actions *out, struct screen_state *st, int sign, int amount)
{
    struct action *a = actions_add(out, ACT_NOTE_SIGN);

    a->cylinder = st->cylinder;
    a->position = st->position;
    a->sign = sign;
    a->amount = amount;
    st->noted_sign = sign + 1;
    st->noted_cylinder = st->cylinder;
    st->noted_position = st->position;
    return a;
}

void actions_trust_gap(struct actions *out, int cylinder, int position, bool photo)
{
    struct action *a = actions_add(out, ACT_TRUST_GAP);

    a->cylinder = cylinder;
    a->position = position;
    a->flag = photo;
}

/* The last sign of a firing end taken back: it was a slip, nobody says that nothing is on it. */
static void note_or_take_back(struct actions *out, struct screen_state *st, const struct reading *r, int sign, int amount)
{
    bool others = false;

    for (int s = (int)sign_first(ZONE_FIRING_END); s < (int)sign_first(ZONE_FIRING_END) + sign_count(ZONE_FIRING_END); s++)
        others = others || (s != sign && r != NULL && r->amount[s] > 0);
    if (amount == 0 && !others && sign_row((enum sign)sign)->zone == ZONE_FIRING_END)
        actions_see_zone(out, st, ZONE_FIRING_END, false);
    else
        (void)actions_note_sign(out, st, sign, amount);
}

void actions_next_sign(struct actions *out, struct screen_state *st, const struct reading *r, int sign)
{
    const int now = r != NULL && r->amount[sign] > 0 ? r->amount[sign] : 0;

    note_or_take_back(out, st, r, sign, sign == SIGN_NORMAL ? 2 : amount_next(now));
}

/* How much there is of the sign that was noted last, of the plug shown; 0 none. */
static int amount_noted(const struct model *m, const struct screen_state *st)
{
    const struct reading *r = model_reading(m, st->cylinder, st->position);
    const int sign = st->noted_sign - 1;

    return r != NULL && sign >= 0 && st->noted_cylinder == st->cylinder && st->noted_position == st->position && r->amount[sign] > 0 ? r->amount[sign] : 0;
}

void amount_of_zone(const struct model *m, struct screen_state *st, enum zone zone)
{
    const struct reading *r = model_reading(m, st->cylinder, st->position);
    const int first = (int)sign_first(zone);
    int most = -1;

    if (r == NULL || (amount_noted(m, st) > 0 && sign_row((enum sign)(st->noted_sign - 1))->zone == zone))
        return;
    for (int s = first; s < first + sign_count(zone); s++)
        if (r->amount[s] > 0 && (most < 0 || r->amount[s] > r->amount[most]))
            most = s;
    if (most < 0)
        return;
    st->noted_sign = most + 1;
    st->noted_cylinder = st->cylinder;
    st->noted_position = st->position;
}

static void amount_by(const struct model *m, struct screen_state *st, struct actions *out, int step)
{
    const int sign = st->noted_sign - 1, now = amount_noted(m, st);

    if (sign == SIGN_NORMAL && step < 0) /* it has no amount: it is there or not */
        note_or_take_back(out, st, model_reading(m, st->cylinder, st->position), sign, 0);
    else if (sign != SIGN_NORMAL && now + step <= 3)
        note_or_take_back(out, st, model_reading(m, st->cylinder, st->position), sign, now + step);
}

void amount_keys(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out)
{
    const int step = ui_key(ui, "+") ? 1 : ui_key(ui, "-") ? -1 : 0;

    if (step == 0 || !m->can_write || st->cylinder < 0)
        return;
    if (amount_noted(m, st) == 0)
        ui_toast(ui, "Note a sign of this plug first: + and − then say how much of it there is.", NULL);
    else
        amount_by(m, st, out, step);
}

void amount_less_chip(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, struct ui_flow *flow)
{
    char label[64];
    struct rect chip;

    if (amount_noted(m, st) == 0)
        return;
    {
        const struct sign_row *sign = sign_row((enum sign)(st->noted_sign - 1));

        if (sign->zone == ZONE_FIRING_END)
            text_format(label, sizeof label, "less: %s", sign->label);
        else /* among those of the firing end: of what */
            text_format(label, sizeof label, "%s, less: %s", zone_row(sign->zone)->label, sign->label);
    }
    chip = ui_flow_next(flow, ui_chip_width(ui, label, "−"));
    if (out != NULL && ui_chip(ui, "sign.less", chip, label, false, "−") && m->can_write)
        amount_by(m, st, out, -1);
}

float contradiction_note(struct ui *ui, const struct reading *reading, struct rect r)
{
    static const struct ui_style style = {.colour = UI_WATCH_INK, .max_lines = 3, .top = true};
    char words[240];
    float h;

    if (reading == NULL || !reading_contradicts(reading, words, sizeof words))
        return 0;
    h = ui_text_height(ui, r.w - 18, words, &style);
    ui_diamond(ui, r.x + 5, r.y + 9, 9, ui_rgba(UI_WATCH_INK));
    ui_text(ui, (struct rect){r.x + 18, r.y, r.w - 18, h}, words, &style);
    ui_note(ui, "sign.which", (struct rect){r.x, r.y, r.w, h}, "which is it", words);
    return h + 8;
}

struct action *actions_see_zone(struct actions *out, const struct screen_state *st, enum zone zone, bool seen)
{
    struct action *a = actions_add(out, ACT_SEE_ZONE);

    a->cylinder = st->cylinder;
    a->position = st->position;
    a->zone = (int)zone;
    a->flag = seen;
    return a;
}

const struct zone_key *screen_zone_keys(int *n)
{
    static const struct zone_key keys[] = {{ZONE_WELL, "Shift+W"}, {ZONE_THREADS, "Shift+T"}, {ZONE_BODY, "Shift+B"}, {ZONE_BOOT, "Shift+O"},
                                           {ZONE_COIL, "Shift+C"}, {ZONE_LEAD, "Shift+L"}, {ZONE_CONNECTOR, "Shift+N"}};

    *n = (int)(sizeof keys / sizeof keys[0]);
    return keys;
}

int screen_zone_pressed(struct ui *ui, const struct model *m)
{
    int n;
    const struct zone_key *keys = screen_zone_keys(&n);

    if (ui_key(ui, "Shift+F"))
        return ZONE_FIRING_END;
    for (int i = 0; i < n; i++)
        if ((keys[i].zone != ZONE_LEAD || engine_may_have_leads(&m->record->engine)) && ui_key(ui, keys[i].key))
            return (int)keys[i].zone;
    return -1;
}

const char *const screen_ignitions[ENGINE_IGNITION_COUNT] = {"", "coil per plug", "shared coils", "distributor", "magneto"};

struct rgba level_colour(enum level level)
{
    switch (level) {
    case LEVEL_STOP:
    case LEVEL_ACT: return ui_rgba(UI_ACT);
    case LEVEL_WATCH: return ui_rgba(UI_WATCH);
    case LEVEL_NOTE: return ui_rgba(UI_NOTE);
    case LEVEL_NONE:
    case LEVEL_COUNT: break;
    }
    return ui_rgba(UI_LINE);
}

void level_mark(struct ui *ui, float x, float y, float size, enum level level)
{
    struct rgba light = ui_rgba(UI_EDGE_LIGHT), dark = ui_rgba(UI_EDGE_DARK), c = level_colour(level);

    /* an edge each, by which the mark stands out from bars, desk and cards */
    if (level >= LEVEL_ACT) {
        ui_triangle(ui, x, y - 0.5f, size + 5, light);
        ui_triangle(ui, x, y, size, c);
    } else if (level == LEVEL_WATCH) {
        ui_diamond(ui, x, y, size + 3, dark);
        ui_diamond(ui, x, y, size, c);
    } else if (level == LEVEL_NOTE) {
        ui_disc(ui, x, y, size * 0.4f + 1.5f, light);
        ui_disc(ui, x, y, size * 0.4f, c);
    }
}

const struct logbook_photo *model_bore_photo(const struct model *m, int cylinder, int position)
{
    return logbook_bore_photo(m->photos, m->n_photos, cylinder, position);
}

const struct plug_cut *model_bore_cut(const struct model *m, int cylinder, int position)
{
    const struct logbook_photo *photo = model_bore_photo(m, cylinder, position);
    size_t at = (size_t)record_plug_index(&m->record->engine, cylinder, position) * CROP_VIEW_COUNT + CROP_TIP;
    const struct visit_photos *of = m->lineup != NULL ? &m->lineup[m->record->n_visits - 1] : NULL;
    const struct plug_cut *cut = of != NULL && at < of->n_cuts ? &of->cuts[at] : NULL;

    return cut != NULL && photo != NULL && cut->plan != NULL && cut->facts.known && !cut->facts.failed && strcmp(cut->plan->photo, photo->id) == 0 ? cut : NULL;
}

void model_visit_words(const struct model *m, size_t visit, char *to, size_t n_room)
{
    const struct logbook_visit *v = &m->visits[visit];
    char date[32], odometer[32], nth[16] = "";
    size_t same = 0;

    while (v->date[0] != '\0' && same < visit && strcmp(m->visits[visit - same - 1].date, v->date) == 0)
        same++;
    if (same > 0)
        text_format(nth, sizeof nth, " (%zu)", same + 1);
    clock_date_words(v->date[0] ? v->date : "no date", date, sizeof date);
    visit_format_odometer(v->odometer_m, v->odometer_unit, odometer, sizeof odometer);
    text_format(to, n_room, "%s%s%s%s%s", date, nth, v->ahead ? ", to come" : "", odometer[0] ? " · " : "", odometer);
}

int model_step_rows(const struct model *m)
{
    return (int)(m->n_left_steps + m->n_steps);
}

int model_need_rows(const struct model *m)
{
    return (int)(m->n_left_needs + m->n_needs);
}

const struct logbook_step *model_step_row(const struct model *m, int row)
{
    return &m->steps[row - (int)m->n_left_steps];
}

const struct logbook_need *model_need_row(const struct model *m, int row)
{
    return &m->needs[row - (int)m->n_left_needs];
}

const struct logbook_step *model_step(const struct model *m, const char *id)
{
    for (int i = 0; i < model_step_rows(m); i++)
        if (strcmp(model_step_row(m, i)->id, id) == 0)
            return model_step_row(m, i);
    return NULL;
}

int model_visit_index(const struct model *m, const char *id)
{
    for (size_t i = 0; i < m->n_visits; i++)
        if (strcmp(m->visits[i].id, id) == 0)
            return (int)i;
    return -1;
}

static bool is_of(const struct logbook_photo *p, int cylinder, int position)
{
    return p->cylinder == cylinder && (p->position > 0 ? p->position : 0) == position;
}

bool screen_to_photos(const struct model *m, struct screen_state *st)
{
    const struct logbook_photo *shown = st->photo >= 0 && st->photo < (int)m->n_photos ? &m->photos[st->photo] : NULL, *found = NULL;

    for (size_t i = 0; st->newest[0] != '\0' && i < m->n_photos; i++) /* one that just came in and has no place yet: it is what is wanted */
        if (strcmp(m->photos[i].id, st->newest) == 0 && logbook_photo_waits(&m->photos[i]))
            found = &m->photos[i];
    if (shown != NULL && (logbook_photo_waits(shown) || is_of(shown, st->cylinder, st->position)))
        found = shown;
    if (found == NULL && st->cylinder >= 0)
        found = model_bore_photo(m, st->cylinder, st->position);
    for (size_t i = 0; found == NULL && i < m->n_photos; i++)
        if (is_of(&m->photos[i], st->cylinder, st->position))
            found = &m->photos[i];
    st->newest[0] = '\0';
    if (found == NULL && st->cylinder >= 0)
        return false;
    st->photo = found != NULL ? (int)(found - m->photos) : -1;
    st->screen = SCREEN_PHOTOS;
    st->pulling = false;
    return true;
}

static bool proposed(const struct model *m, size_t i)
{
    return m->photos[i].cylinder < 0 && m->proposal != NULL && m->proposal[i].cylinder >= 0;
}

struct photos_waiting model_waiting(const struct model *m)
{
    struct photos_waiting w = {0};

    for (size_t i = 0; i < m->n_photos; i++) {
        w.n += logbook_photo_waits(&m->photos[i]);
        w.n_proposed += proposed(m, i);
    }
    return w;
}

const struct logbook_photo *model_proposed_photo(const struct model *m, int cylinder, int position)
{
    for (size_t i = 0; i < m->n_photos; i++)
        if (proposed(m, i) && m->proposal[i].cylinder == cylinder && m->proposal[i].position == position &&
            (m->proposal[i].zone < 0 || m->proposal[i].zone == ZONE_FIRING_END))
            return &m->photos[i];
    return NULL;
}

uint64_t photo_key(const char *sha256, bool large)
{
    return ui_hash(sha256, strlen(sha256), large ? 0x1B5u : 0x5A1u);
}

uint64_t plug_cut_key(const struct lineup_plan *plan)
{
    const int what[2] = {lineup_plan_version(plan), (int)plan->view};

    return ui_hash(what, sizeof what, photo_key(plan->sha256, false));
}

uint64_t photo_tile_key(const char *sha256, const struct photo_tile *t)
{
    return ui_hash(t, sizeof *t, photo_key(sha256, true));
}

uint64_t photo_file_key(const char *path)
{
    return ui_hash(path, strlen(path), 0xF11Eu);
}

void photo_draw(struct ui *ui, const struct logbook_photo *p, struct rect r)
{
    float w = (float)(p->turn % 2 ? p->height : p->width), h = (float)(p->turn % 2 ? p->width : p->height);
    float k = fminf(r.w / w, r.h / h), lean = (float)p->lean_mdeg / 1000;

    if (p->lean_mdeg != 0) { /* as large as all of it finds room */
        float c = cosf(lean * 0.01745329f), s = fabsf(sinf(lean * 0.01745329f)), pw = (float)p->width, ph = (float)p->height;

        k = fminf(r.w / (c * w + s * h), r.h / (s * w + c * h));
        ui_layer_image(ui, (struct rect){r.x + (r.w - pw * k) / 2, r.y + (r.h - ph * k) / 2, pw * k, ph * k}, photo_key(p->sha256, false), (float)(p->turn * 90) + lean, 1, 1);
        return;
    }
    w *= k;
    h *= k;
    ui_image(ui, (struct rect){r.x + (r.w - w) / 2, r.y + (r.h - h) / 2, w, h}, photo_key(p->sha256, false), (struct rect){0, 0, 1, 1}, p->turn, false);
}
