/* Actions of the screens: each one edit, one undo step. */
#include "app/session_work.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "app/job_edit.h"
#include "app/note_edit.h"
#include "base/mem.h"
#include "base/text.h"
#include "base/units.h"
#include "reading/codes.h"
#include "screen/refused.h"

#define SEARCH_MOST 60 /* hits shown: nobody reads more */

static const struct engine *engine(const struct session *s)
{
    return &s->record.engine;
}

static void plug_name(const struct session *s, const struct action *a, char *to, size_t n_room)
{
    engine_plug_label(engine(s), a->cylinder, a->position, to, n_room);
}

void session_to_plan(struct session *s)
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
        session_to_plan(s);
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
        return err_set(e, ERR_BADARG, "“%s” is before anybody kept a log of plugs: is the year right?", TEXT_SHORT(text, 30));
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
        return err_set(e, ERR_BADARG, "“%s” is no odometer reading: write a number and mi, km or h.", TEXT_SHORT(text, 40));
    if (*rest == '\0' && unit_before == 0 && inches)
        return err_set(e, ERR_BADARG, "Miles, kilometres or hours? Write “%s mi”, “%s km” or “%s h”; later ones then need no word.", TEXT_SHORT(text, 20), TEXT_SHORT(text, 20), TEXT_SHORT(text, 20));
    *metres = MAYBE(v * unit_find(words_id(WORDS_ODOMETER_UNIT, *unit))->factor);
    return true;
}

/* Those that are codes are taken; false when there were others, each named. */
static bool take_codes(struct visit *v, const char *text, struct err *e)
{
    char others[120] = "";
    char code[24];
    int n_others = 0;
    struct err why = {0};

    v->n_codes = 0;
    while (visit_next_code(&text, code, sizeof code)) {
        if (!visit_add_code(v, code, &why)) {
            text_format(others + strlen(others), sizeof others - strlen(others), "%s“%s”", n_others > 0 ? ", " : "", code);
            n_others++;
        }
    }
    if (n_others == 0)
        return true;
    if (v->n_codes == VISIT_MAX_CODES)
        return err_set(e, ERR_LIMIT, "%s", why.text);
    return err_set(e, ERR_BADARG, "%s %s like P0306%s.", others, n_others == 1 ? "is no trouble code" : "are no trouble codes", v->n_codes > 0 ? "; the rest is noted" : "");
}

/* Taken as it was read out, and said at once: mostly a slip, or another numbering. */
static void tell_codes(const struct session *s, struct ui *ui, const struct visit *v)
{
    char said[120];

    for (int i = 0; i < v->n_codes; i++) {
        const struct code read = code_read(engine(s), v->codes[i]);

        if ((read.kind == CODE_MISFIRE || read.kind == CODE_INJECTOR) && read.cylinders == 0) {
            text_format(said, sizeof said, "%s names a cylinder this engine does not have. It is noted; check it, and the numbering.", v->codes[i]);
            ui_toast(ui, said, "Undo");
            return;
        }
    }
}

static bool set_visit(struct session *s, struct ui *ui, const struct action *a, struct err *e)
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
    if (fine && all_taken && a->type == ACT_SET_VISIT_TEXT && strcmp(a->column, "codes") == 0)
        tell_codes(s, ui, v);
    free(v);
    return fine && all_taken;
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
    if (a->type == ACT_SET_GAP_LEFT)
        return logbook_begin(s->lb, label, e) && job_edit_gap_left(s->lb, &s->m, a->cylinder, a->position, *typed ? um : -1, e) && logbook_commit(s->lb, e);
    return logbook_begin(s->lb, label, e) && logbook_put_gap(s->lb, s->visit_id, a->cylinder, a->position, false, *typed ? um : -1, s->m.inches ? "in" : "mm", e) &&
           logbook_commit(s->lb, e);
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
static bool step(struct session *s, struct ui *ui, const char *what, const char *label, bool turn(struct logbook *, struct err *), struct err *e)
{
    char said[200];

    text_format(said, sizeof said, "%s: %s", what, label);
    if (!turn(s->lb, e))
        return false;
    ui_toast(ui, said, NULL);
    return true;
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
    text_format(to, n_room, "%s/%s-%s%s.%s", s->folder_path, kind, text_get(&t), strcmp(s->settings.report_visits, "1") == 0 || strcmp(ext, "json") == 0 || strcmp(kind, "line-up") == 0 ? "" : several, ext);
    text_release(&t);
}

static bool start_report(struct session *s, const char *kind, const char *ext, struct err *e)
{
    struct unit_choice choice = settings_units(&s->settings);
    char path[1400], units[16], laid[2 * UUID_BYTES + 8];
    struct report_wish wish = {.folder = logbook_folder(s->lb), .engine_id = s->engine_id, .visit_id = s->visit_id, .compression_rule = s->settings.compression_rule,
                               .without = s->settings.report_without, .paper = s->settings.report_paper, .visits = s->settings.report_visits, .units = units, .path = path};

    unit_choice_format(&choice, units, sizeof units);
    report_path(s, kind, ext, path, sizeof path);
    if (strcmp(kind, "line-up") == 0) { /* as it is shown */
        wish.sheet = true;
        wish.firing = s->st.lineup_firing;
        wish.side = s->st.lineup_view == CROP_SIDE;
        if (s->st.lineup_laid != LINEUP_APART && s->st.lineup_over < s->record.n_visits && s->st.lineup_under < s->record.n_visits) {
            text_format(laid, sizeof laid, "%s,%s,%d", s->record.visits[s->st.lineup_over].id, s->record.visits[s->st.lineup_under].id,
                        s->st.lineup_laid == LINEUP_OVERLAID ? s->st.lineup_share : s->st.lineup_blinked ? 0 : 100);
            wish.laid = laid;
        }
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
        session_to_plan(s);
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
    case ACT_NEW_VISIT: /* it begins on the plan, wherever the last one was left */
        refused_drop(&s->st, NULL);
        s->st.screen = SCREEN_PLAN;
        s->st.pulling = s->st.editing_order = false;
        s->st.panel = PANEL_VISIT;
        s->st.found = s->st.photo = -1;
        return add_visit(s, e);
    case ACT_ADD_ENGINE:
    case ACT_SAVE_ENGINE: return add_engine(s, a, e);
    case ACT_SET_THREAD:
    case ACT_NO_WELLS: return set_card(s, a, e);
    case ACT_SET_VISIT_TEXT:
    case ACT_TOGGLE_COMPLAINT: return set_visit(s, ui, a, e);
    case ACT_SET_GAP:
    case ACT_SET_GAP_LEFT: return set_gap(s, a, e);
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
    case ACT_KEEP_SCRAP:
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
    case ACT_PHOTOS_APART:
    case ACT_CAPTION:
    case ACT_PLACE_PHOTO:
    case ACT_ACCEPT_PROPOSAL:
    case ACT_TURN_PHOTO:
    case ACT_PUT_MARKS:
    case ACT_SET_CROP:
    case ACT_SET_NOSE:
    case ACT_SET_GAP_PHOTO:
    case ACT_EXPORT_MARKS: return session_photo(s, ui, a, edited, e);
    case ACT_REMOVE_PHOTO:
        if (!take_out(s, "Photo taken out", "photo", a->id, e))
            return false;
        ui_toast(ui, "The photo is taken out of this visit; its file is kept.", "Undo");
        return true;
    case ACT_REMOVE_MARK: return take_out(s, "Mark taken away", "mark", a->id, e);
    case ACT_REMOVE_CROP: return take_out(s, "Frame taken away", "crop", a->id, e);
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
    case ACT_TAKE_ENGINE:
    case ACT_TAKE_ACCEPT:
    case ACT_TAKE_STOP:
    case ACT_COPY_LOGBOOK:
        *edited = false;
        session_take(s, a);
        return true;
    case ACT_SETTLE: return a->number >= (int)s->m.n_conflicts || logbook_settle(s->lb, &s->m.conflicts[a->number], a->amount, e);
    case ACT_ADD_FILES: return session_take_files(s, ui, a->files, edited, e);
    case ACT_CANCEL_JOBS:
        *edited = false;
        intake_cancel(s->intake, 0);
        ui_toast(ui, "Stopped. Photos that were in already stay.", NULL);
        return true;
    case ACT_UNDO:
        if (s->m.merged_last && s->m.last_merge.why_not[0] == '\0') {
            *edited = false;
            session_merge_back(s);
            return true;
        }
        if (logbook_undo_label(s->lb)[0] == '\0')
            return true;
        intake_cancel(s->intake, logbook_undo_step(s->lb)); /* the rest of what is taken back stays out */
        return step(s, ui, "Undone", logbook_undo_label(s->lb), logbook_undo, e);
    case ACT_REDO:
        if (s->redo_merge[0] != '\0') { /* what was taken back last */
            *edited = false;
            session_merge(s, s->redo_merge);
            return true;
        }
        if (logbook_redo_label(s->lb)[0] == '\0')
            return true;
        return step(s, ui, "Done again", logbook_redo_label(s->lb), logbook_redo, e);
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
    case ACT_PHOTOS_HERE:
        *edited = false;
        settings_photos_here(&s->settings, s->visit_id, true);
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
    case ACT_NONE:
    case ACT_QUIT: break;
    }
    *edited = false;
    return true;
}
