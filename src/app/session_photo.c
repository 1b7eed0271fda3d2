/* Actions on the photos of a visit: where they belong, what is drawn and measured on them. */
#include "app/session_work.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "base/text.h"
#include "screen/photo_bench.h"
#include "screen/photo_days.h"

static const struct logbook_photo *photo_of(const struct session *s, const char *id)
{
    for (size_t i = 0; i < s->m.n_photos; i++)
        if (strcmp(s->m.photos[i].id, id) == 0)
            return &s->m.photos[i];
    return NULL;
}

/* What it shows stays what was said of it; nothing is claimed. zone_told: as it is given, even if nothing is said. */
static bool place(struct session *s, const char *id, int cylinder, int position, int zone, bool zone_told, struct err *e)
{
    const struct logbook_photo *p = photo_of(s, id);
    struct logbook_photo q;

    if (p == NULL)
        return true;
    q = *p;
    q.cylinder = cylinder;
    q.position = cylinder < 0 ? -1 : position;
    q.zone = zone >= 0 || zone_told ? zone : p->zone;
    if (q.zone == ZONE_FIRING_END && cylinder >= 0 && !zone_told) { /* moved to a plug that has one, it is another view */
        const struct logbook_photo *shown = logbook_bore_photo(s->m.photos, s->m.n_photos, cylinder, position);

        q.zone = shown == NULL || shown == p || (p->cylinder == cylinder && p->position == position) ? ZONE_FIRING_END : -1;
    }
    return logbook_put_photo(s->lb, &q, e);
}

/* A photo into another visit: a row of that one, with what was drawn on it. */
static bool move_photo(struct session *s, const struct logbook_photo *p, const char *visit_id, struct err *e)
{
    struct logbook_photo q = *p;

    text_copy(q.visit, sizeof q.visit, visit_id);
    logbook_photo_id(visit_id, p->sha256, q.id);
    if (!logbook_is_there(s->lb, "photo", q.id) && !logbook_put_photo(s->lb, &q, e))
        return false;
    for (size_t i = 0; i < s->m.n_marks; i++) {
        struct logbook_mark mark = s->m.marks[i];

        if (strcmp(mark.photo, p->id) != 0)
            continue;
        uuid_make(mark.id);
        text_copy(mark.photo, sizeof mark.photo, q.id);
        if (!logbook_put_mark(s->lb, &mark, e))
            return false;
    }
    for (size_t i = 0; i < s->m.n_crops; i++) {
        struct logbook_crop crop = s->m.crops[i];

        if (strcmp(crop.photo, p->id) != 0)
            continue;
        text_copy(crop.photo, sizeof crop.photo, q.id);
        if (!logbook_put_crop(s->lb, &crop, e))
            return false;
    }
    return logbook_remove(s->lb, "photo", p->id, e);
}

/* The visit there is on that day, the latest of several, else a new one: closed, when it lies before the one shown. */
static bool visit_of_day(struct session *s, const char *day, char id[UUID_BYTES], struct err *e)
{
    id[0] = '\0';
    for (size_t i = 0; i < s->m.n_visits; i++)
        if (strcmp(s->m.visits[i].date, day) == 0)
            text_copy(id, UUID_BYTES, s->m.visits[i].id);
    if (id[0] != '\0')
        return true;
    return logbook_add(s->lb, "visit", id, e) && logbook_set_text(s->lb, "visit", id, "engine", s->engine_id, e) && logbook_set_text(s->lb, "visit", id, "date", day, e) &&
           (strcmp(day, record_current(&s->record)->date) > 0 || logbook_set_int(s->lb, "visit", id, "closed", CLOSED_AS_HISTORY, e));
}

/* Those of another day go to a visit of their own, each to that of its day; the last of these is shown. */
static bool photos_apart(struct session *s, struct ui *ui, struct err *e)
{
    char day[11], made[11] = "", id[UUID_BYTES] = "", date[32], said[120];
    int n = 0;

    if (!logbook_begin(s->lb, "Photos to a visit of their own", e))
        return false;
    for (bool more = true; more;) { /* day after day, so that each is made once */
        char next[11] = "";

        for (size_t i = 0; i < s->m.n_photos; i++) {
            text_format(day, sizeof day, "%.10s", s->m.photos[i].taken);
            if (photo_is_of_another_day(&s->m, &s->m.photos[i]) && strcmp(day, made) > 0 && (next[0] == '\0' || strcmp(day, next) < 0))
                text_copy(next, sizeof next, day);
        }
        more = next[0] != '\0';
        if (more && !visit_of_day(s, next, id, e))
            return false;
        for (size_t i = 0; more && i < s->m.n_photos; i++)
            if (strncmp(s->m.photos[i].taken, next, 10) == 0 && photo_is_of_another_day(&s->m, &s->m.photos[i])) {
                if (!move_photo(s, &s->m.photos[i], id, e))
                    return false;
                n++;
            }
        if (more)
            text_copy(made, sizeof made, next);
    }
    if (!logbook_commit(s->lb, e))
        return false;
    if (n == 0)
        return true;
    clock_date_words(made, date, sizeof date);
    text_format(said, sizeof said, "%d photo%s now in the visit of %s, which is shown.", n, n == 1 ? " is" : "s are", date);
    ui_toast(ui, said, "Undo");
    text_copy(s->visit_id, sizeof s->visit_id, id);
    s->st.found = s->st.photo = -1;
    return true;
}

static bool set_caption(struct session *s, const struct action *a, struct err *e)
{
    const char *text = a->text + strspn(a->text, " ");

    return logbook_begin(s->lb, "What the photo shows", e) &&
           logbook_set_text(s->lb, "photo", a->id, "caption", *text ? text : NULL, e) && logbook_commit(s->lb, e);
}

static bool accept(struct session *s, struct err *e)
{
    char label[60];
    int n = 0;

    for (size_t i = 0; i < s->m.n_photos; i++)
        n += s->m.photos[i].cylinder < 0 && s->m.proposal[i].cylinder >= 0;
    text_format(label, sizeof label, "%d photos placed", n);
    if (!logbook_begin(s->lb, label, e))
        return false;
    for (size_t i = 0; i < s->m.n_photos; i++)
        if (s->m.photos[i].cylinder < 0 && s->m.proposal[i].cylinder >= 0 &&
            !place(s, s->m.photos[i].id, s->m.proposal[i].cylinder, s->m.proposal[i].position, s->m.proposal[i].zone, true, e))
            return false;
    return logbook_commit(s->lb, e);
}

static bool put_marks(struct session *s, const struct action *a, struct err *e)
{
    if (!logbook_begin(s->lb, a->text, e))
        return false;
    for (int i = 0; i < a->number; i++)
        if (!logbook_put_mark(s->lb, &a->marks[i], e))
            return false;
    return logbook_commit(s->lb, e);
}

/* Copies with the marks as they are seen: lines held to what was measured, and what is written beside. */
static bool save_marked(struct session *s, const struct action *a, struct err *e)
{
    const struct logbook_photo *p = photo_of(s, a->id);
    struct report_mark *marks;
    char original[1400], folder[1100];
    size_t n = 0;
    bool fine;

    if (p == NULL)
        return true;
    marks = mem_alloc(s->m.n_marks + 1, sizeof *marks);
    for (size_t i = 0; i < s->m.n_marks; i++)
        if (strcmp(s->m.marks[i].photo, p->id) == 0) {
            bench_mark_as_seen(&s->m, &s->m.marks[i], &marks[n].mark);
            bench_mark_words(&s->m, &s->m.marks[i], marks[n].words, sizeof marks[n].words);
            n++;
        }
    logbook_photo_path(s->lb, p->sha256, p->format, original, sizeof original);
    text_format(folder, sizeof folder, "%s/copies", s->folder_path);
    fine = measurer_save(s->measurer, original, folder, p, marks, n);
    free(marks);
    return fine || err_set(e, ERR_BUSY, "A copy is still being written; try again in a moment.");
}

static bool set_nose(struct session *s, const struct action *a, struct err *e)
{
    static const char *const columns[] = {"nose_L", "nose_a", "nose_b"};
    char row[UUID_BYTES], label[80], plug[48];

    engine_plug_label(&s->record.engine, a->cylinder, a->position, plug, sizeof plug);
    text_format(label, sizeof label, "Nose colour of %s", plug);
    if (!logbook_begin(s->lb, label, e) || (a->id[0] != '\0' && !place(s, a->id, a->cylinder, a->position, -1, false, e)) ||
        !logbook_touch_reading(s->lb, s->visit_id, a->cylinder, a->position, row, e))
        return false;
    for (int i = 0; i < 3; i++) /* a hundredth is finer than any two readings agree */
        if (!logbook_set_real(s->lb, "reading", row, columns[i], round(a->figures[i] * 100) / 100, e))
            return false;
    return logbook_commit(s->lb, e);
}

static bool set_crop(struct session *s, const struct action *a, struct err *e)
{
    struct logbook_crop c = {.view = (enum crop_view)a->number, .x = a->figures[0], .y = a->figures[1], .turn_deg = a->figures[2], .px_per_mm = a->figures[3], .by_eye = true};

    text_copy(c.photo, sizeof c.photo, a->id);
    return logbook_begin(s->lb, "Frame of a photo", e) && logbook_put_crop(s->lb, &c, e) && logbook_commit(s->lb, e);
}

/* Degree after degree of one photo is one step of undo, until something else is done. */
static bool turn(struct session *s, const struct action *a, struct err *e)
{
    bool goes_on = s->turned_step != 0 && strcmp(s->turned, a->id) == 0 && logbook_undo_step(s->lb) == s->turned_step;

    if (!logbook_begin(s->lb, "Photo turned", e))
        return false;
    if (goes_on && a->flag)
        logbook_join(s->lb, s->turned_step);
    if (!logbook_set_int(s->lb, "photo", a->id, "turn", a->number, e) || !logbook_set_int(s->lb, "photo", a->id, "lean_mdeg", a->amount, e) ||
        !logbook_commit(s->lb, e))
        return false;
    s->turned_step = logbook_undo_step(s->lb);
    text_copy(s->turned, sizeof s->turned, a->id);
    return true;
}

static bool set_gap_photo(struct session *s, const struct action *a, struct err *e)
{
    char label[80], plug[48];
    int64_t um = a->figures[0] < 0 ? -1 : record_gap_as_shown_um(a->figures[0], s->m.inches), pm_um = record_gap_as_shown_um(fmax(a->figures[1], s->m.inches ? 0.0254 : 0.01), s->m.inches);

    engine_plug_label(&s->record.engine, a->cylinder, a->position, plug, sizeof plug);
    text_format(label, sizeof label, a->figures[0] < 0 ? "Gap of %s from a photo taken away" : "Gap of %s from a photo", plug);
    return logbook_begin(s->lb, label, e) && (a->id[0] == '\0' || place(s, a->id, a->cylinder, a->position, -1, false, e)) && /* the photo is not placed yet */
           logbook_put_gap_photo(s->lb, s->visit_id, a->cylinder, a->position, um, pm_um, e) && logbook_commit(s->lb, e);
}

bool session_photo(struct session *s, struct ui *ui, const struct action *a, bool *edited, struct err *e)
{
    *edited = true;
    switch (a->type) {
    case ACT_PHOTOS_APART: return photos_apart(s, ui, e);
    case ACT_CAPTION: return set_caption(s, a, e);
    case ACT_PLACE_PHOTO:
        return logbook_begin(s->lb, "Photo placed", e) && place(s, a->id, a->cylinder, a->position, a->zone, a->flag, e) && logbook_commit(s->lb, e);
    case ACT_ACCEPT_PROPOSAL: return s->m.proposal == NULL || accept(s, e);
    case ACT_TURN_PHOTO: return turn(s, a, e);
    case ACT_PUT_MARKS: return put_marks(s, a, e);
    case ACT_SET_CROP:
        if (!set_crop(s, a, e))
            return false;
        ui_toast(ui, "Framed. The Line-up shows the plug so.", "Undo");
        return true;
    case ACT_SET_NOSE: return set_nose(s, a, e);
    case ACT_EXPORT_MARKS:
        *edited = false;
        return save_marked(s, a, e);
    case ACT_SET_GAP_PHOTO: return set_gap_photo(s, a, e);
    default: break;
    }
    *edited = false;
    return true;
}
