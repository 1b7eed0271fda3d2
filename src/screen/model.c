#include "screen/model.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/text.h"
#include "base/units.h"

struct action *actions_add(struct actions *out, enum action_type type)
{
    static const int most = (int)(sizeof out->list / sizeof out->list[0]);
    struct action *a = &out->list[out->n < most ? out->n++ : most - 1];

    memset(a, 0, sizeof *a);
    a->type = type;
    a->cylinder = -1;
    return a;
}

void model_format_gap(const struct model *m, double mm, char *to, size_t n_room)
{
    if (m->inches)
        text_from_double(to, n_room, mm / 25.4, 3);
    else
        text_from_double(to, n_room, mm, 2);
}

void model_format_odometer(struct maybe metres, int unit, char *to, size_t n_room)
{
    const char *id = words_id(WORDS_ODOMETER_UNIT, unit);
    const struct unit *u = unit_find(id[0] ? id : "km");
    char number[32];

    if (!metres.given) {
        text_copy(to, n_room, "");
        return;
    }
    text_from_count(number, sizeof number, lround(metres.value / u->factor));
    text_format(to, n_room, "%s %s", number, u->label);
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

int model_next_plug(const struct model *m, int cylinder, int position)
{
    const struct visit *v = model_visit(m);
    const struct engine *en = &m->record->engine;

    if (v != NULL && v->n_removal > 0) {
        for (int i = 0; i + 1 < v->n_removal; i++)
            if (v->removal[i] == cylinder * ENGINE_MAX_POSITIONS + position)
                return record_plug_index(en, v->removal[i + 1] / ENGINE_MAX_POSITIONS, v->removal[i + 1] % ENGINE_MAX_POSITIONS);
        return -1;
    }
    int next = record_plug_index(en, cylinder, position) + 1;

    return next < record_plug_count(en) ? next : -1;
}

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
    if (level >= LEVEL_ACT)
        ui_triangle(ui, x, y, size, level_colour(level));
    else if (level == LEVEL_WATCH)
        ui_diamond(ui, x, y, size, level_colour(level));
    else if (level == LEVEL_NOTE)
        ui_disc(ui, x, y, size * 0.4f, level_colour(level));
}

const struct logbook_photo *model_bore_photo(const struct model *m, int cylinder, int position)
{
    const struct logbook_photo *best = NULL;

    /* The first one taken of the firing end: people look along the axis first, then at the side. */
    for (size_t i = 0; i < m->n_photos; i++) {
        const struct logbook_photo *p = &m->photos[i];

        if (p->cylinder != cylinder || p->position != position || p->trouble[0] != '\0')
            continue;
        if (p->zone == ZONE_FIRING_END)
            return p;
        if (p->zone < 0 && best == NULL)
            best = p;
    }
    return best;
}

uint64_t photo_key(const char *sha256, bool large)
{
    return ui_hash(sha256, strlen(sha256), large ? 0x1B5u : 0x5A1u);
}

uint64_t photo_file_key(const char *path)
{
    return ui_hash(path, strlen(path), 0xF11Eu);
}
