/* Actions of the screens: each one edit, one undo step. */
#include "app/session_work.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "app/job_edit.h"
#include "app/note_edit.h"
#include "base/mem.h"
#include "base/text.h"
#include "base/units.h"
#include "screen/photo_bench.h"
#include "screen/photo_days.h"
#include "screen/refused.h"
#include "takeover/takeover.h"

#define SEARCH_MOST 60 /* hits shown: nobody reads more */

static const struct engine *engine(const struct session *s)
{
    return &s->record.engine;
}

static void plug_name(const struct session *s, const struct action *a, char *to, size_t n_room)
{
    engine_plug_label(engine(s), a->cylinder, a->position, to, n_room);
}

/* An engine that is opened is seen from above, its first plug on the card. */
static void to_plan(struct session *s)
{
    s->st.screen = SCREEN_PLAN;
    s->st.cylinder = s->st.position = 0;
    s->st.by_default = true;
    s->st.found = s->st.photo = -1;
    s->st.pulling = s->st.editing_order = false;
}

static bool add_visit(struct session *s, struct err *e)
{
    struct visit *v = mem_alloc(1, sizeof *v);
    const struct visit *last = s->m.record != NULL && s->record.n_visits > 0 ? record_current(&s->record) : NULL;
    char id[UUID_BYTES];
    bool fine;

    visit_init(v, engine(s));
    text_copy(v->date, sizeof v->date, s->today);
    if (last != NULL) { /* what seldom changes is taken over */
        v->odometer_unit = last->odometer_unit;
        v->fuel = last->fuel;
    }
    uuid_make(id);
    fine = logbook_begin(s->lb, "New visit", e) && logbook_put_visit(s->lb, id, s->engine_id, engine(s), v, e) && logbook_commit(s->lb, e);
    free(v);
    if (fine)
        text_copy(s->visit_id, sizeof s->visit_id, id);
    return fine;
}

static bool add_engine(struct session *s, const struct action *a, struct err *e)
{
    struct engine en;
    char id[UUID_BYTES];

    if (!engine_form_engine(&s->st.fresh, &en, e) || !engine_form_named(&s->st.fresh, e))
        return false;
    if (a->type == ACT_SAVE_ENGINE)
        text_copy(id, sizeof id, a->id);
    else
        uuid_make(id);
    if (!logbook_begin(s->lb, a->type == ACT_SAVE_ENGINE ? "Engine changed" : "New engine", e) ||
        !logbook_put_engine(s->lb, id, &en, e) || !logbook_commit(s->lb, e))
        return false;
    s->st.new_open = false;
    if (a->flag) {
        text_copy(s->engine_id, sizeof s->engine_id, id);
        s->visit_id[0] = '\0';
        to_plan(s);
        if (!session_load_engine(s, true, e) || !add_visit(s, e))
            return false;
        s->st.panel = PANEL_VISIT;
    }
    return true;
}

/* What the work asked for goes onto the engine's card: the thread a photo's scale rests on, or that there are no wells. */
static bool set_card(struct session *s, const struct action *a, struct err *e)
{
    struct engine en = *engine(s);

    if (a->type == ACT_NO_WELLS)
        en.access = ENGINE_ACCESS_OPEN;
    else
        text_copy(en.plug.thread, sizeof en.plug.thread, a->text);
    return logbook_begin(s->lb, a->type == ACT_NO_WELLS ? "Plugs stand in the open" : "Thread of the engine's plugs", e) &&
           logbook_put_engine(s->lb, s->engine_id, &en, e) && logbook_commit(s->lb, e);
}

/* A visit that has a date keeps one. */
static bool set_date(const char *text, struct visit *v, struct err *e)
{
    char iso[11];

    if (text[strspn(text, " ")] == '\0')
        return v->date[0] == '\0' || err_set(e, ERR_BADARG, "A visit stands by its date: write one, like 2026-06-14. A visit that was none is taken out at the end of this panel.");
    if (!take_typed_date(text, iso, e))
        return false;
    if (strcmp(iso, "1900") < 0)
        return err_set(e, ERR_BADARG, "“%.30s” is before anybody kept a log of plugs: is the year right?", text);
    text_copy(v->date, sizeof v->date, iso);
    return true;
}

/* "97655 mi", "97,655 mi", "97655": metres, and the unit said or used before. A bare figure counts as the engine's last one did; the first one
 * is in km, or asked about where inches are set. */
static bool parse_odometer(const char *text, int unit_before, bool inches, struct maybe *metres, int *unit, struct err *e)
{
    double v = 0;
    const char *rest = text + strspn(text, " ");

    if (*rest == '\0') {
        *metres = (struct maybe){false, 0};
        *unit = unit_before;
        return true;
    }
    rest = text_read_grouped(rest, &v);
    if (rest != NULL)
        *unit = *rest ? visit_read_odometer_unit(rest) : unit_before ? unit_before : words_find(WORDS_ODOMETER_UNIT, "km");
    if (rest == NULL || *unit <= 0 || v > 1e7)
        return err_set(e, ERR_BADARG, "“%.40s” is no odometer reading: write a number and mi, km or h.", text);
    if (*rest == '\0' && unit_before == 0 && inches)
        return err_set(e, ERR_BADARG, "Miles, kilometres or hours? Write “%.20s mi”, “%.20s km” or “%.20s h”; later ones then need no word.", text, text, text);
    *metres = MAYBE(v * unit_find(words_id(WORDS_ODOMETER_UNIT, *unit))->factor);
    return true;
}

/* Those that are codes are taken; false when there were others, each named. */
static bool take_codes(struct visit *v, const char *text, struct err *e)
{
    char others[120] = "";
    int n_others = 0;
    struct err why = {0};

    v->n_codes = 0;
    for (text += strspn(text, " ,;"); *text != '\0'; text += strspn(text, " ,;")) {
        size_t n = strcspn(text, " ,;");
        char code[16];

        text_format(code, sizeof code, "%.*s", (int)n, text);
        if (!visit_add_code(v, code, &why)) {
            text_format(others + strlen(others), sizeof others - strlen(others), "%s“%s”", n_others > 0 ? ", " : "", code);
            n_others++;
        }
        text += n;
    }
    if (n_others == 0)
        return true;
    if (v->n_codes == VISIT_MAX_CODES)
        return err_set(e, ERR_LIMIT, "%s", why.text);
    return err_set(e, ERR_BADARG, "%s %s like P0306%s.", others, n_others == 1 ? "is no trouble code" : "are no trouble codes", v->n_codes > 0 ? "; the rest is noted" : "");
}

static bool set_visit(struct session *s, const struct action *a, struct err *e)
{
    struct visit *v = mem_alloc(1, sizeof *v);
    bool fine = true, all_taken = true;
    char label[80], what[64];

    *v = *record_current(&s->record);
    logbook_column_words(a->column, what, sizeof what);
    text_format(label, sizeof label, "Visit: %s", what);
    if (a->type == ACT_TOGGLE_COMPLAINT) {
        visit_toggle_complaint(v, a->number);
        text_copy(label, sizeof label, "Complaint");
    } else if (strcmp(a->column, "date") == 0) {
        fine = set_date(a->text, v, e);
    } else if (strcmp(a->column, "odometer") == 0) {
        fine = parse_odometer(a->text, v->odometer_unit, s->m.inches, &v->odometer_m, &v->odometer_unit, e);
    } else if (strcmp(a->column, "codes") == 0) {
        all_taken = take_codes(v, a->text, e);
    } else if (strcmp(a->column, "removal") == 0) {
        fine = visit_parse_removal(engine(s), v, a->text, e);
    } else if (strcmp(a->column, "notes") == 0) {
        text_copy(v->notes, sizeof v->notes, a->text);
    } else {
        fine = note_visit_word(v, a->column, a->text, e);
    }
    fine = fine && logbook_begin(s->lb, label, e) && logbook_change_visit(s->lb, s->visit_id, engine(s), record_current(&s->record), v, e) && logbook_commit(s->lb, e);
    free(v);
    return fine && all_taken;
}

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

static bool set_gap(struct session *s, const struct action *a, struct err *e)
{
    int32_t um = -1;
    char label[80], plug[48];
    const char *typed = a->text;

    while (*typed == ' ')
        typed++;
    if (*typed != '\0' && !record_read_gap_of(engine(s), typed, s->m.inches, &um, e))
        return false;
    plug_name(s, a, plug, sizeof plug);
    text_format(label, sizeof label, "Gap of %s", plug);
    return logbook_begin(s->lb, label, e) &&
           logbook_put_gap(s->lb, s->visit_id, a->cylinder, a->position, a->type == ACT_SET_GAP_LEFT, *typed ? um : -1, s->m.inches ? "in" : "mm", e) &&
           (a->type != ACT_SET_GAP_LEFT || job_edit_gap_left(s->lb, &s->m, a->cylinder, a->position, *typed ? um : -1, e)) && logbook_commit(s->lb, e);
}

static bool set_gap_photo(struct session *s, const struct action *a, struct err *e)
{
    char label[80], plug[48];
    int64_t um = a->figures[0] < 0 ? -1 : record_gap_as_shown_um(a->figures[0], s->m.inches), pm_um = record_gap_as_shown_um(fmax(a->figures[1], s->m.inches ? 0.0254 : 0.01), s->m.inches);

    plug_name(s, a, plug, sizeof plug);
    text_format(label, sizeof label, a->figures[0] < 0 ? "Gap of %s from a photo taken away" : "Gap of %s from a photo", plug);
    return logbook_begin(s->lb, label, e) && (a->id[0] == '\0' || place(s, a->id, a->cylinder, a->position, -1, false, e)) && /* the photo is not placed yet */
           logbook_put_gap_photo(s->lb, s->visit_id, a->cylinder, a->position, um, pm_um, e) && logbook_commit(s->lb, e);
}

static bool trust_gap(struct session *s, const struct action *a, struct err *e)
{
    char label[80], plug[48];

    plug_name(s, a, plug, sizeof plug);
    text_format(label, sizeof label, a->flag ? "Gap of %s: the photo's counts" : "Gap of %s: the feeler gauge's counts", plug);
    return logbook_begin(s->lb, label, e) && logbook_trust_gap(s->lb, s->visit_id, a->cylinder, a->position, a->flag, e) && logbook_commit(s->lb, e);
}

static bool note_sign(struct session *s, const struct action *a, struct err *e)
{
    char label[120], plug[48];

    plug_name(s, a, plug, sizeof plug);
    text_format(label, sizeof label, "%s, %s: %s", plug, zone_row(sign_row((enum sign)a->sign)->zone)->label, sign_row((enum sign)a->sign)->label);
    return logbook_begin(s->lb, label, e) &&
           logbook_note_sign(s->lb, s->visit_id, a->cylinder, a->position, (enum sign)a->sign, a->amount, e) && logbook_commit(s->lb, e);
}

/* What changed holes may be listed where it is not in view. */
static void tell_swap(const struct session *s, struct ui *ui, const struct action *a)
{
    const char *from = engine(s)->cylinders[a->cylinder].label, *to = engine(s)->cylinders[a->number].label;
    char said[160];

    text_format(said, sizeof said, "The %s of %s is in %s now, that of %s in %s.", a->column, from, to, to, from);
    ui_toast(ui, said, "Undo");
}

/* What is undone may be of a plug that is not on the screen. */
static void tell_step(struct ui *ui, const char *what, const char *label)
{
    char said[200];

    text_format(said, sizeof said, "%s: %s", what, label);
    ui_toast(ui, said, NULL);
}

/* A visit that is closed makes nothing safe. */
static void tell_closed(const struct session *s, struct ui *ui, const struct action *a)
{
    char why[200], said[260];

    if (!a->flag || ready_to_start(s->m.ready))
        return;
    ready_brief(s->m.ready, why, sizeof why);
    text_format(said, sizeof said, "Closed. “Do not start” stands all the same: %s.", why);
    ui_toast(ui, said, NULL);
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
    text_format(folder, sizeof folder, "%s/copies", logbook_folder(s->lb));
    fine = measurer_save(s->measurer, original, folder, p, marks, n);
    free(marks);
    return fine || err_set(e, ERR_BUSY, "A copy is still being written; try again in a moment.");
}

static bool set_nose(struct session *s, const struct action *a, struct err *e)
{
    static const char *const columns[] = {"nose_L", "nose_a", "nose_b"};
    char row[UUID_BYTES], label[80], plug[48];

    plug_name(s, a, plug, sizeof plug);
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

/* "report-merrow-4-2-v8-2026-06-14.html": one file a visit; a second visit of the day gets its number; "-all" for all of them. */
static void report_path(const struct session *s, const char *kind, const char *ext, char *to, size_t n_room)
{
    const struct visit *v = record_current(&s->record);
    struct text t = {0};
    char several[16];
    int n_that_day = 0;

    text_format(several, sizeof several, "-%s", strcmp(s->settings.report_visits, "all") == 0 ? "all" : s->settings.report_visits);

    for (const char *c = s->record.engine.name; *c != '\0'; c++) {
        char low = *c >= 'A' && *c <= 'Z' ? (char)(*c - 'A' + 'a') : *c;

        if ((low >= 'a' && low <= 'z') || (low >= '0' && low <= '9'))
            text_add_char(&t, low);
        else if (t.n_bytes > 0 && t.s[t.n_bytes - 1] != '-')
            text_add_char(&t, '-');
    }
    if (t.n_bytes > 0 && t.s[t.n_bytes - 1] != '-')
        text_add_char(&t, '-');
    text_add(&t, v->date[0] ? v->date : "no-date");
    for (int i = 0; i < s->record.n_visits; i++)
        n_that_day += strcmp(s->record.visits[i].date, v->date) == 0;
    if (n_that_day > 1)
        text_addf(&t, "-%d", n_that_day);
    text_format(to, n_room, "%s/%s-%s%s.%s", logbook_folder(s->lb), kind, text_get(&t), strcmp(s->settings.report_visits, "1") == 0 || strcmp(ext, "json") == 0 || strcmp(kind, "line-up") == 0 ? "" : several, ext);
    text_release(&t);
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

static bool start_report(struct session *s, const char *kind, const char *ext, struct err *e)
{
    struct unit_choice choice = settings_units(&s->settings);
    char path[1400], units[16];
    struct report_wish wish = {.folder = logbook_folder(s->lb), .engine_id = s->engine_id, .visit_id = s->visit_id, .compression_rule = s->settings.compression_rule,
                               .without = s->settings.report_without, .paper = s->settings.report_paper, .visits = s->settings.report_visits, .units = units, .path = path};

    unit_choice_format(&choice, units, sizeof units);
    report_path(s, kind, ext, path, sizeof path);
    if (strcmp(kind, "line-up") == 0) { /* as it is shown */
        wish.sheet = true;
        wish.firing = s->st.lineup_firing;
        wish.side = s->st.lineup_view == CROP_SIDE;
    }
    if (!report_job_start(s->report_job, &wish, e))
        return false;
    s->m.report_writing = true;
    return true;
}

/* What a report holds, kept for the next one too. */
static void set_report(struct session *s, const struct action *a)
{
    if (strcmp(a->column, "without") == 0)
        text_copy(s->settings.report_without, sizeof s->settings.report_without, a->text);
    else if (strcmp(a->column, "paper") == 0)
        text_copy(s->settings.report_paper, sizeof s->settings.report_paper, a->text);
    else
        text_copy(s->settings.report_visits, sizeof s->settings.report_visits, a->text);
    session_take_report(s);
    settings_save(&s->settings);
}

/* What is added while a step of the job is chosen belongs to it. */
static const char *chosen_step(const struct session *s)
{
    const struct screen_state *st = &s->st;

    if (st->screen != SCREEN_JOB || st->job_section != JOB_STEPS || st->job_row >= model_step_rows(&s->m))
        return "";
    return model_step_row(&s->m, st->job_row)->id;
}

/* ---- on its way in: a table, a folder, another copy ---- */

/* The model and the panel are in step with what is being taken over. */
static void show_taking(struct session *s)
{
    const struct taking *t = &s->taking;
    bool looking = errand_busy(s->errand) && s->errand_does != TAKING_PLAN, any = t->open || t->old != NULL || t->merge || looking;

    s->m.take_photos = t->old;
    s->m.take_folder = t->folder;
    s->m.take = t->open ? &t->table : NULL;
    s->m.take_target = t->open ? &t->target : NULL;
    s->m.take_plan = t->open ? &t->plan : NULL;
    s->m.merge = t->merge ? &t->merged : NULL;
    s->m.merge_conflicts = t->conflicts;
    s->m.n_merge_conflicts = t->n_conflicts;
    s->m.take_busy = looking ? s->errand_title : NULL;
    s->m.take_planning = errand_busy(s->errand) && s->errand_does == TAKING_PLAN;
    if (any && s->st.panel != PANEL_TAKE) {
        s->st.panel = PANEL_TAKE;
        s->st.take_column = 0;
    } else if (!any && s->st.panel == PANEL_TAKE) {
        s->st.panel = PANEL_NONE;
    }
}

static struct taking_job *new_job(struct session *s, enum taking_do what)
{
    struct taking_job *j = mem_alloc(1, sizeof *j);

    j->what = what;
    text_copy(j->logbook, sizeof j->logbook, logbook_folder(s->lb));
    return j;
}

static void start(struct session *s, struct taking_job *j, const char *title)
{
    s->errand_does = j->what;
    text_copy(s->errand_title, sizeof s->errand_title, title);
    s->errand_words[0] = '\0';
    errand_start(s->errand, taking_work, taking_job_free, j);
}

/* Opens the next table or folder that waits, when none is being looked at. */
static void take_next(struct session *s)
{
    if (!s->taking.open && s->taking.old == NULL && !s->taking.merge && !errand_busy(s->errand) && s->take_waiting.n_bytes > 0) {
        struct taking_job *j = new_job(s, TAKING_OPEN);
        size_t n = strcspn(text_get(&s->take_waiting), "\n");
        struct text rest = {0};
        char title[200];

        text_format(j->path, sizeof j->path, "%.*s", (int)n, text_get(&s->take_waiting));
        text_add(&rest, text_get(&s->take_waiting) + n + 1);
        text_release(&s->take_waiting);
        s->take_waiting = rest;
        text_copy(j->taking.shown, sizeof j->taking.shown, s->engine_id);
        text_copy(j->taking.visit, sizeof j->taking.visit, s->visit_id);
        j->engine_open = s->m.record != NULL;
        if (j->engine_open)
            j->en = *engine(s);
        text_format(title, sizeof title, "%s %.120s", files_is_folder(j->path) ? "Looking through" : "Reading", files_name(j->path));
        start(s, j, title);
    }
    show_taking(s);
}

/* Plans the table anew beside the window; a change that comes meanwhile stops it, and it begins again. */
static void plan_again(struct session *s, bool anew)
{
    struct taking_job *j;

    if (errand_busy(s->errand)) {
        s->plan_again = true;
        s->plan_anew = s->plan_anew || anew;
        errand_stop(s->errand);
        return;
    }
    j = new_job(s, TAKING_PLAN);
    j->anew = anew || s->plan_anew;
    s->plan_again = s->plan_anew = false;
    j->taking = s->taking; /* the cells are only read; the arena is its own */
    j->taking.arena = NULL;
    start(s, j, "");
}

static void write_table(struct session *s)
{
    struct taking_job *j = new_job(s, TAKING_WRITE);
    char title[200];

    text_format(title, sizeof title, "Taking over %.120s", s->taking.table.name);
    j->taking = s->taking;
    memset(&s->taking, 0, sizeof s->taking);
    start(s, j, title);
    show_taking(s);
}

static void write_merge(struct session *s, const char *folder)
{
    struct taking_job *j;
    char title[200];

    if (errand_busy(s->errand))
        return;
    j = new_job(s, TAKING_MERGE);
    text_copy(j->path, sizeof j->path, folder);
    text_format(title, sizeof title, "Merging %.120s", files_name(folder));
    taking_close(&s->taking);
    start(s, j, title);
    show_taking(s);
}

/* The last thing done was a merge: the whole of it goes. */
static void write_merge_back(struct session *s)
{
    if (errand_busy(s->errand))
        return;
    start(s, new_job(s, TAKING_BACK), "Taking the merge back");
    show_taking(s);
}

static void write_copy(struct session *s, const char *into)
{
    struct taking_job *j;

    if (errand_busy(s->errand))
        return;
    j = new_job(s, TAKING_COPY);
    text_copy(j->path, sizeof j->path, into);
    start(s, j, "Copying this logbook");
    show_taking(s);
}

static void stop_taking(struct session *s)
{
    if (errand_busy(s->errand))
        errand_drop(s->errand); /* the plan reads the table's cells */
    s->plan_again = s->plan_anew = false;
    taking_close(&s->taking);
    take_next(s);
}

/* A table that was written is shown: the engine with the last of its visits that were written. */
static void show_written(struct session *s, const struct taking_job *j)
{
    if (strcmp(j->engine_id, s->engine_id) != 0) {
        session_drop_engine(s);
        text_copy(s->engine_id, sizeof s->engine_id, j->engine_id);
        to_plan(s);
    }
    text_copy(s->visit_id, sizeof s->visit_id, j->visit_id);
    s->st.found = s->st.photo = -1;
}

static void take_plan_back(struct session *s, struct taking_job *j)
{
    if (s->plan_again || !j->fine) /* what was planned is not what is chosen now */
        return;
    arena_destroy(s->taking.arena);
    s->taking = j->taking;
    j->taking.arena = NULL;
    s->m.take_made++;
}

static void take_back(struct session *s, struct ui *ui, struct taking_job *j, struct err *e)
{
    char said[sizeof j->words + 20];

    if (!j->fine && j->err.code != ERR_CANCEL)
        *e = j->err;
    if (j->what == TAKING_COPY) {
        if (j->fine || j->err.code == ERR_CANCEL)
            ui_toast(ui, j->fine ? j->words : j->err.text, NULL);
    } else if (j->what == TAKING_PLAN) {
        take_plan_back(s, j);
    } else if (j->what == TAKING_OPEN && j->fine) {
        s->m.take_made++;
        s->taking = j->taking;
        memset(&j->taking, 0, sizeof j->taking);
    } else if (j->what == TAKING_WRITE && !j->fine) { /* nothing was written: it stands there as before */
        s->taking = j->taking;
        memset(&j->taking, 0, sizeof j->taking);
    } else if (j->fine) {
        (void)logbook_changed_outside(s->lb); /* written by its own handle: what is shown is loaded anew here */
        if (j->what == TAKING_WRITE)
            show_written(s, j);
        session_reload(s, true, e);
        behind_again(s->behind); /* of its visits only the last is shown */
        text_format(said, sizeof said, "%s%s", j->what == TAKING_WRITE ? "Taken over: " : "", j->words);
        ui_toast(ui, said, j->what != TAKING_BACK && s->m.undo_label[0] != '\0' ? "Undo" : NULL);
    }
}

bool session_take_errand(struct session *s, struct ui *ui, struct err *e)
{
    struct taking_job *j = errand_take(s->errand);
    char what[40];
    size_t n_done, n_all;

    if (j == NULL) {
        if (!errand_progress(s->errand, what, sizeof what, &n_done, &n_all) || s->errand_does == TAKING_PLAN)
            return false;
        if (what[0] != '\0' && n_all > 0)
            text_format(s->errand_words, sizeof s->errand_words, "%zu of %zu %s", n_done, n_all, what);
        else if (what[0] != '\0')
            text_format(s->errand_words, sizeof s->errand_words, "%zu %s", n_done, what);
        s->m.take_words = s->errand_words;
        s->m.take_share = n_all > 0 ? (float)n_done / (float)n_all : 0;
        return true;
    }
    take_back(s, ui, j, e);
    taking_job_free(j);
    if (s->plan_again && s->taking.open)
        plan_again(s, false);
    s->m.take_share = 0;
    s->m.take_words = "";
    take_next(s);
    return true;
}

/* Cases among the files become engines, the others are photos of the visit. edited: an engine came in; photos come
 * in by themselves. */
static bool take_files(struct session *s, struct ui *ui, const char *files, bool *edited, struct err *e)
{
    char name[ENGINE_NAME_BYTES], id[UUID_BYTES], path[4096], said[ENGINE_NAME_BYTES + 60];
    struct text photos = {0};
    int n_visits;
    bool fine = true;

    *edited = false;
    for (; fine && *files != '\0'; files += strcspn(files, "\n"), files += *files == '\n') {
        text_format(path, sizeof path, "%.*s", (int)strcspn(files, "\n"), files);
        if (files_is_folder(path) || take_is_table(path)) { /* looked at first, one after the other */
            text_addf(&s->take_waiting, "%s\n", path);
            continue;
        }
        if (!takeover_is_case(path)) {
            text_addf(&photos, "%s\n", path);
            continue;
        }
        fine = takeover_case(s->lb, path, id, name, sizeof name, &n_visits, e);
        if (fine) {
            *edited = true;
            text_format(said, sizeof said, "Taken over: %s, %d visit%s", name, n_visits, n_visits == 1 ? "" : "s");
            ui_toast(ui, said, "Undo");
        }
    }
    if (fine && photos.n_bytes > 0) {
        if (s->visit_id[0] != '\0')
            intake_add(s->intake, s->visit_id, chosen_step(s), text_get(&photos));
        else
            fine = err_set(e, ERR_BADARG, "Open a visit first: photos belong to a visit.");
    }
    text_release(&photos);
    take_next(s);
    return fine;
}

/* Takes a row out of sight, as one step of undo. */
static bool take_out(struct session *s, const char *label, const char *table, const char *id, struct err *e)
{
    return logbook_begin(s->lb, label, e) && logbook_remove(s->lb, table, id, e) && logbook_commit(s->lb, e);
}

bool session_carry_out(struct session *s, struct ui *ui, const struct action *a, bool *edited, struct err *e)
{
    *edited = true;
    switch (a->type) {
    case ACT_OPEN_ENGINE:
    case ACT_OPEN_HIT: /* the visit it stands in, "" the latest */
        session_drop_engine(s);
        text_copy(s->engine_id, sizeof s->engine_id, a->id);
        text_copy(s->visit_id, sizeof s->visit_id, a->type == ACT_OPEN_HIT ? a->text : "");
        to_plan(s);
        return true;
    case ACT_CLOSE_ENGINE: session_close_engine(s); return true;
    case ACT_SEARCH: {
        struct logbook_hit *hits;

        *edited = false;
        arena_reset(s->search_arena);
        s->m.n_hits = 0;
        if (!logbook_search(s->lb, a->text, SEARCH_MOST, s->search_arena, &hits, &s->m.n_hits, e))
            return false;
        s->m.hits = hits;
        ui_wake_at_s(ui, ui_now_s(ui));
        return true;
    }
    case ACT_OPEN_VISIT:
        refused_drop(&s->st, NULL);
        text_copy(s->visit_id, sizeof s->visit_id, a->id);
        s->st.found = s->st.photo = -1;
        return true;
    case ACT_NEW_VISIT:
        refused_drop(&s->st, NULL);
        s->st.panel = PANEL_VISIT;
        s->st.found = s->st.photo = -1;
        return add_visit(s, e);
    case ACT_ADD_ENGINE:
    case ACT_SAVE_ENGINE: return add_engine(s, a, e);
    case ACT_SET_THREAD:
    case ACT_NO_WELLS: return set_card(s, a, e);
    case ACT_SET_VISIT_TEXT:
    case ACT_TOGGLE_COMPLAINT: return set_visit(s, a, e);
    case ACT_SET_GAP:
    case ACT_SET_GAP_LEFT: return set_gap(s, a, e);
    case ACT_SET_GAP_PHOTO: return set_gap_photo(s, a, e);
    case ACT_TRUST_GAP: return trust_gap(s, a, e);
    case ACT_NOTE_SIGN: return note_sign(s, a, e);
    case ACT_SEE_ZONE:
        return logbook_begin(s->lb, "Looked at", e) &&
               (a->flag && a->number ? logbook_see_rest(s->lb, s->visit_id, a->cylinder, a->position, (enum zone)a->zone, e)
                                     : logbook_see_zone(s->lb, s->visit_id, a->cylinder, a->position, (enum zone)a->zone, a->flag, e)) && logbook_commit(s->lb, e);
    case ACT_SET_MEASURE:
    case ACT_TOGGLE_HEARD:
    case ACT_SET_PLUG:
    case ACT_SET_TEST:
    case ACT_SET_OUTSIDE: return note_edit(s->lb, &s->m, a, e);
    case ACT_SET_PRESSURE:
        *edited = false;
        text_copy(s->settings.pressure, sizeof s->settings.pressure, a->text);
        settings_save(&s->settings);
        session_take_report(s);
        session_ask_findings(s);
        return session_reload(s, false, e);
    case ACT_REFIT:
    case ACT_REFIT_WORD:
    case ACT_PART_NEW:
    case ACT_PART_FIT:
    case ACT_PART_TEXT:
    case ACT_SCHEME:
    case ACT_ROTATE:
    case ACT_TURNED:
    case ACT_SET_TORQUE:
    case ACT_CLEANED:
    case ACT_UNPLUGGED:
    case ACT_JUDGE:
    case ACT_STEP_STATE:
    case ACT_STEP_TEXT:
    case ACT_STEP_ADD:
    case ACT_STEP_MOVE:
    case ACT_TAKE_PROPOSED:
    case ACT_NEED_STATE:
    case ACT_NEED_TEXT:
    case ACT_NEED_ADD:
    case ACT_FACT_ADD:
    case ACT_FACT_TEXT:
    case ACT_SET_WORK:
    case ACT_TAKE_OUT: return job_edit(s->lb, &s->m, a, e);
    case ACT_CLOSE_VISIT:
        if (!job_edit(s->lb, &s->m, a, e))
            return false;
        tell_closed(s, ui, a);
        return true;
    case ACT_SWAP_PARTS:
        if (!job_edit(s->lb, &s->m, a, e))
            return false;
        tell_swap(s, ui, a);
        return true;
    case ACT_PHOTOS_APART: return photos_apart(s, ui, e);
    case ACT_CAPTION: return set_caption(s, a, e);
    case ACT_PLACE_PHOTO:
        return logbook_begin(s->lb, "Photo placed", e) && place(s, a->id, a->cylinder, a->position, a->zone, a->flag, e) && logbook_commit(s->lb, e);
    case ACT_ACCEPT_PROPOSAL: return s->m.proposal == NULL || accept(s, e);
    case ACT_TURN_PHOTO:
        return turn(s, a, e);
    case ACT_REMOVE_PHOTO:
        if (!take_out(s, "Photo taken out", "photo", a->id, e))
            return false;
        ui_toast(ui, "The photo is taken out of this visit; its file is kept.", "Undo");
        return true;
    case ACT_PUT_MARKS: return put_marks(s, a, e);
    case ACT_REMOVE_MARK: return take_out(s, "Mark taken away", "mark", a->id, e);
    case ACT_SET_CROP:
        if (!set_crop(s, a, e))
            return false;
        ui_toast(ui, "Framed. The Line-up shows the plug so.", "Undo");
        return true;
    case ACT_REMOVE_CROP: return take_out(s, "Frame taken away", "crop", a->id, e);
    case ACT_SET_NOSE: return set_nose(s, a, e);
    case ACT_EXPORT_MARKS:
        *edited = false;
        return save_marked(s, a, e);
    case ACT_REMOVE_VISIT:
        if (!take_out(s, "Visit taken out", "visit", a->id, e))
            return false;
        ui_toast(ui, "The visit is taken out; photo files are kept.", "Undo");
        return true;
    case ACT_REMOVE_ENGINE:
        if (!take_out(s, "Engine taken out", "engine", a->id, e))
            return false;
        ui_toast(ui, "The engine is taken out; photo files are kept.", "Undo");
        return true;
    case ACT_TAKE_COLUMN:
    case ACT_TAKE_DATES:
    case ACT_TAKE_ENGINE: {
        bool anew;

        *edited = false;
        if (!s->taking.open)
            return true;
        taking_change(&s->taking, a, &anew);
        plan_again(s, anew);
        show_taking(s);
        return true;
    }
    case ACT_TAKE_ACCEPT:
        *edited = false;
        if (errand_busy(s->errand)) /* it is still being planned */
            return true;
        if (s->taking.open) {
            if (s->taking.plan.question[0] == '\0' && s->taking.plan.n_values > 0)
                write_table(s);
            return true;
        }
        if (s->taking.merge) {
            write_merge(s, s->taking.folder);
            return true;
        }
        if (s->taking.old != NULL) {
            intake_add_old(s->intake, s->taking.shown, s->taking.old, s->taking.arena);
            s->taking.arena = NULL; /* goes with the photos */
            taking_close(&s->taking);
        }
        take_next(s);
        return true;
    case ACT_TAKE_STOP:
        *edited = false;
        stop_taking(s);
        return true;
    case ACT_SETTLE: return a->number >= (int)s->m.n_conflicts || logbook_settle(s->lb, &s->m.conflicts[a->number], a->amount, e);
    case ACT_ADD_FILES: return take_files(s, ui, a->files, edited, e);
    case ACT_CANCEL_JOBS:
        *edited = false;
        intake_cancel(s->intake, 0);
        ui_toast(ui, "Stopped. Photos that were in already stay.", NULL);
        return true;
    case ACT_UNDO:
        if (s->m.merged_last && s->m.last_merge.why_not[0] == '\0') {
            *edited = false;
            write_merge_back(s);
            return true;
        }
        if (logbook_undo_label(s->lb)[0] == '\0')
            return true;
        intake_cancel(s->intake, logbook_undo_step(s->lb)); /* the rest of what is taken back stays out */
        tell_step(ui, "Undone", logbook_undo_label(s->lb));
        return logbook_undo(s->lb, e);
    case ACT_REDO:
        if (s->redo_merge[0] != '\0') { /* what was taken back last */
            *edited = false;
            write_merge(s, s->redo_merge);
            return true;
        }
        if (logbook_redo_label(s->lb)[0] == '\0')
            return true;
        tell_step(ui, "Done again", logbook_redo_label(s->lb));
        return logbook_redo(s->lb, e);
    case ACT_WRITE_REPORT:
        *edited = false;
        return s->record.n_visits == 0 || start_report(s, "report", a->text, e);
    case ACT_SET_REPORT:
        *edited = false;
        set_report(s, a);
        return true;
    case ACT_WRITE_SHEET:
        *edited = false;
        return s->record.n_visits == 0 || start_report(s, "line-up", a->text[0] != '\0' ? a->text : "png", e);
    case ACT_SET_UNITS:
        *edited = false;
        s->settings.inches = s->m.inches = !s->m.inches;
        settings_save(&s->settings);
        session_take_report(s);
        session_ask_findings(s);
        return session_reload(s, false, e); /* its conflicts are told in the units */
    case ACT_SET_TARGETS:
        *edited = false;
        s->settings.large_targets = s->m.large_targets = !s->m.large_targets;
        settings_save(&s->settings);
        return true;
    case ACT_SET_SCALE:
        *edited = false;
        settings_set_scale(&s->settings, a->number);
        s->m.scale_percent = a->number;
        settings_save(&s->settings);
        return true;
    case ACT_SET_RULE:
        *edited = false;
        text_copy(s->settings.compression_rule, sizeof s->settings.compression_rule, a->text);
        settings_save(&s->settings);
        session_ask_findings(s);
        return true;
    case ACT_WATCH:
        *edited = false;
        text_copy(s->settings.watched, sizeof s->settings.watched, a->text);
        settings_save(&s->settings);
        return session_start_watch(s, e);
    case ACT_LIST_FOLDER:
        *edited = false;
        session_list_folder(s, a->text);
        ui_wake_at_s(ui, ui_now_s(ui));
        return true;
    case ACT_COPY_LOGBOOK:
        *edited = false;
        write_copy(s, a->text);
        return true;
    case ACT_NONE:
    case ACT_QUIT: break;
    }
    *edited = false;
    return true;
}
