#include "screen/model.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/text.h"

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

int model_order_count(const struct model *m)
{
    const struct visit *v = model_visit(m);

    return v != NULL && v->n_removal > 0 ? v->n_removal : record_plug_count(&m->record->engine);
}

struct plug_place model_order_at(const struct model *m, int i)
{
    const struct visit *v = model_visit(m);
    int n = m->record->engine.n_positions;

    return v != NULL && v->n_removal > 0 ? visit_drawn(v, i) : (struct plug_place){i / n, i % n};
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

void pulling_step(const struct model *m, struct screen_state *st)
{
    if (st->pull_at + 1 < model_order_count(m))
        st->pull_at++;
    else
        st->pulling = false;
}

struct action *actions_note_sign(struct actions *out, const struct screen_state *st, int sign, int amount)
{
    struct action *a = actions_add(out, ACT_NOTE_SIGN);

    a->cylinder = st->cylinder;
    a->position = st->position;
    a->sign = sign;
    a->amount = amount;
    return a;
}

void actions_trust_gap(struct actions *out, int cylinder, int position, bool photo)
{
    struct action *a = actions_add(out, ACT_TRUST_GAP);

    a->cylinder = cylinder;
    a->position = position;
    a->flag = photo;
}

void actions_toggle_sign(struct actions *out, const struct screen_state *st, const struct reading *r, int sign)
{
    actions_note_sign(out, st, sign, r != NULL && r->amount[sign] > 0 ? 0 : 2);
}

void actions_next_well(struct actions *out, const struct screen_state *st, const struct reading *r)
{
    bool seen = r != NULL && r->zone_seen[ZONE_WELL];

    actions_note_sign(out, st, SIGN_WELL_OIL, amount_next(seen ? r->amount[SIGN_WELL_OIL] : 0));
}

void actions_see_zone(struct actions *out, const struct screen_state *st, enum zone zone, bool seen)
{
    struct action *a = actions_add(out, ACT_SEE_ZONE);

    a->cylinder = st->cylinder;
    a->position = st->position;
    a->zone = (int)zone;
    a->flag = seen;
}

const struct zone_key *screen_zone_keys(int *n)
{
    static const struct zone_key keys[] = {{ZONE_WELL, "Shift+W"}, {ZONE_THREADS, "Shift+T"}, {ZONE_BODY, "Shift+B"}, {ZONE_BOOT, "Shift+O"},
                                           {ZONE_COIL, "Shift+C"}, {ZONE_LEAD, "Shift+L"}, {ZONE_CONNECTOR, "Shift+N"}};

    *n = (int)(sizeof keys / sizeof keys[0]);
    return keys;
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
    text_format(to, n_room, "%s%s%s%s", date, nth, odometer[0] ? " · " : "", odometer);
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
