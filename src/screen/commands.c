#include "screen/commands.h"
#include "screen/photo_bench.h"

#include <assert.h>
#include <math.h>
#include <string.h>

#include "base/mem.h"
#include "base/text.h"
#include "screen/panels.h"
#include "screen/photo_days.h"
#include "screen/plan_look.h"

/* ---- what they do ---- */

static void to_engines(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out)
{
    (void)ui, (void)m, (void)st;
    actions_add(out, ACT_CLOSE_ENGINE);
}

static void show(struct screen_state *st, enum screen_id screen)
{
    st->screen = screen;
    st->pulling = false;
    st->panel = PANEL_NONE;
}

static void to_plan(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out)
{
    (void)ui, (void)m, (void)out;
    show(st, SCREEN_PLAN);
}

static void to_photos(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out)
{
    (void)ui, (void)out;
    st->panel = PANEL_NONE;
    if (!screen_to_photos(m, st))
        show(st, SCREEN_PHOTOS);
}

static void to_trends(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out)
{
    (void)ui, (void)out;
    if (model_visit(m) != NULL)
        show(st, SCREEN_TRENDS);
}

static void to_lineup(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out)
{
    (void)ui, (void)out;
    if (model_visit(m) != NULL)
        show(st, SCREEN_LINEUP);
}

static void to_job(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out)
{
    (void)ui, (void)out;
    if (model_visit(m) != NULL)
        show(st, SCREEN_JOB);
}

static void to_pulling(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out)
{
    (void)ui, (void)out;
    if (model_visit(m) != NULL)
        pulling_begin(m, st);
}

static void draw_order(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out)
{
    (void)ui, (void)out;
    if (st->panel == PANEL_NONE || st->panel == PANEL_VISIT)
        plan_order_begin(m, st);
}

static void by_number(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out)
{
    (void)ui, (void)out;
    if (m->can_write && model_visit(m) != NULL)
        tray_next(m, st);
}

static void edit_visit(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out)
{
    (void)ui, (void)out;
    if (model_visit(m) != NULL)
        st->panel = PANEL_VISIT;
}

static void add_photos(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out)
{
    (void)ui, (void)out;
    if (m->can_write && model_visit(m) != NULL)
        screen_files_open(st, FILES_PHOTOS);
}

static void take_over(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out)
{
    (void)ui, (void)out;
    if (m->can_write)
        screen_files_open(st, FILES_TAKE);
}

static void type_gap(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out)
{
    (void)out;
    if (st->cylinder >= 0 && model_visit(m) != NULL)
        ui_focus(ui, "gap.found");
}

/* Of the plug selected on the plan, or of the photo's. */
static void trust_gap(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out)
{
    const struct reading *r = NULL;
    int cylinder = st->cylinder, position = st->position;

    (void)ui;
    if (model_visit(m) == NULL || !m->can_write)
        return;
    if (st->screen == SCREEN_PHOTOS && (st->photo < 0 || st->photo >= (int)m->n_photos || !bench_plug_of(m, st, &m->photos[st->photo], &cylinder, &position)))
        return;
    r = cylinder >= 0 ? model_reading(m, cylinder, position) : NULL;
    if (r != NULL && r->gap_photo_mm.given && reading_gauge_gap(r).given)
        actions_trust_gap(out, cylinder, position, !r->gap_from_photo);
}

static void change_units(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out)
{
    (void)ui, (void)m, (void)st;
    actions_add(out, ACT_SET_UNITS);
}

static void show_keys(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out)
{
    (void)ui, (void)m, (void)out;
    st->panel = st->panel == PANEL_HELP ? PANEL_NONE : PANEL_HELP;
}

static void change_targets(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out)
{
    (void)ui, (void)m, (void)st;
    actions_add(out, ACT_SET_TARGETS);
}

/* The next of the steps; none that would leave too little of a window. */
static void scale_by(struct ui *ui, const struct model *m, int step, struct actions *out)
{
    static const int percents[] = {100, 125, 150, 175, 200, 225, 250, 300};
    const float now = (m->px_scale > 0 ? m->px_scale : 1) * 100;
    const struct rect all = ui_screen(ui);
    const float most = fminf(all.w / LEAST_WIDTH, all.h / LEAST_HEIGHT) * now;
    int next = 0;
    char words[120];

    for (size_t i = 0; i < sizeof percents / sizeof percents[0]; i++)
        if (step > 0 ? next == 0 && (float)percents[i] > now + 1 : (float)percents[i] < now - 1)
            next = percents[i];
    if (next > 0 && (step < 0 || (float)next <= most + 1)) {
        actions_add(out, ACT_SET_SCALE)->number = next;
        text_format(words, sizeof words, "Drawn at %d %%. %s larger, %s smaller, %s as the screen says.", next, command_key("larger"), command_key("smaller"), command_key("as-screen"));
    } else if (next > 0) {
        text_format(words, sizeof words, "%d %% needs a window of %d × %d pixels. Make it larger first.", next, LEAST_WIDTH * next / 100, LEAST_HEIGHT * next / 100);
    } else {
        text_format(words, sizeof words, "It goes no %s than %.0f %%.", step > 0 ? "larger" : "smaller", (double)now);
    }
    ui_toast(ui, words, NULL);
}

static void larger(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out)
{
    (void)st;
    scale_by(ui, m, 1, out);
}

static void smaller(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out)
{
    (void)st;
    scale_by(ui, m, -1, out);
}

static void as_screen(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out)
{
    (void)m, (void)st;
    actions_add(out, ACT_SET_SCALE)->number = 0;
    ui_toast(ui, "Drawn as large as the screen says.", NULL);
}

static void search(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out)
{
    (void)ui, (void)m, (void)out;
    st->panel = PANEL_SEARCH;
    st->search_opened = true;
}

static void conflicts(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out)
{
    (void)ui, (void)m, (void)out;
    st->panel = PANEL_CONFLICTS;
}

static void settle_first(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out)
{
    (void)ui;
    conflicts_settle_here(m, st, out, 0);
}

static void settle_second(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out)
{
    (void)ui;
    conflicts_settle_here(m, st, out, 1);
}

/* The logbook's folder is chosen among files; what it would bring is shown before anything is written. */
static void merge_copy(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out)
{
    (void)ui, (void)out;
    if (m->can_write)
        screen_files_open(st, FILES_MERGE);
}

static void copy_logbook(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out)
{
    (void)ui, (void)m, (void)out;
    screen_files_open(st, FILES_COPY);
}

static void choose_rule(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out)
{
    (void)ui, (void)m, (void)out;
    st->panel = PANEL_RULES;
}

static void measures(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out)
{
    char id[64];

    (void)out;
    if (model_visit(m) == NULL)
        return;
    st->panel = PANEL_MEASURES;
    st->measure_row = st->cylinder >= 0 ? st->cylinder : 0;
    text_format(id, sizeof id, "measure.dry.%s", m->record->engine.cylinders[st->measure_row].label);
    ui_focus(ui, id);
}

static void turned(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out)
{
    (void)ui;
    if (model_visit(m) != NULL)
        screen_ready_turned(m, st, out);
}

static void particulars(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out)
{
    (void)ui, (void)out;
    if (model_visit(m) != NULL && st->cylinder >= 0)
        st->panel = PANEL_PLUG;
}

static void photos_here(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out)
{
    (void)ui, (void)st;
    photo_days_here(m, out);
}

static void photos_apart(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out)
{
    (void)ui;
    photo_days_apart(m, st, out);
}

static void look_next(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out)
{
    (void)out;
    if (model_visit(m) != NULL && (st->panel == PANEL_NONE || st->panel == PANEL_SIGNS || st->panel == PANEL_VISIT || st->panel == PANEL_MEASURES))
        plan_look_next(ui, m, st);
}

static void new_visit(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out)
{
    (void)ui, (void)st;
    if (m->can_write)
        actions_add(out, ACT_NEW_VISIT);
}

static void turn_visit(const struct model *m, int step, struct actions *out)
{
    int shown = model_visit_index(m, m->visit_id);

    if (shown >= 0 && shown + step >= 0 && shown + step < (int)m->n_visits)
        text_copy(actions_add(out, ACT_OPEN_VISIT)->id, UUID_BYTES, m->visits[shown + step].id);
}

static void visit_before(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out)
{
    (void)ui, (void)st;
    turn_visit(m, -1, out);
}

static void visit_after(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out)
{
    (void)ui, (void)st;
    turn_visit(m, 1, out);
}

static void to_report(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out)
{
    (void)ui, (void)out;
    if (model_visit(m) != NULL)
        show(st, SCREEN_REPORT);
}

static void save_copy(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out)
{
    (void)ui;
    if (st->photo >= 0 && st->photo < (int)m->n_photos && photo_ready(&m->photos[st->photo]))
        text_copy(actions_add(out, ACT_EXPORT_MARKS)->id, UUID_BYTES, m->photos[st->photo].id);
}

/* The next photo gets this one's marks, where it has none of the kind that a photo has one of, and is shown. What measures goes on by itself;
 * words, pins and rulers say something of this plug, which may be false of the next one, and go along when they are asked for once more. */
static void copy_marks_on(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out)
{
    const struct logbook_photo *from, *to;
    const struct logbook_mark *marks;
    struct logbook_mark *copies;
    char words[200];
    size_t n;
    int k = 0, n_measuring = 0, n_left = 0;
    bool all;

    if (!m->can_write || st->photo < 0 || st->photo >= (int)m->n_photos)
        return;
    from = &m->photos[st->photo];
    to = st->photo + 1 < (int)m->n_photos ? &m->photos[st->photo + 1] : NULL;
    marks = bench_marks(m, from->id, &n);
    if (n == 0 || to == NULL || !photo_ready(from) || !photo_ready(to)) {
        ui_toast(ui, n == 0 ? "No marks are drawn on this photo that could be copied to the next." : to == NULL ? "This is the last photo: there is no next one to copy the marks to." : "The marks cannot be copied: one of the two photos is not there yet.", NULL);
        return;
    }
    all = strcmp(st->bench.words_left, from->id) == 0;
    copies = arena_alloc(ui_arena(ui), n, sizeof *copies);
    for (size_t i = 0; i < n; i++) {
        const bool measures = marks[i].kind <= MARK_NOSE;

        n_measuring += measures;
        if (mark_kind_row(marks[i].kind)->only && bench_find(m, to, marks[i].kind) != NULL)
            continue;
        if (!measures && !all) {
            n_left++;
            continue;
        }
        copies[k] = marks[i];
        uuid_make(copies[k].id);
        text_copy(copies[k].photo, sizeof copies[k].photo, to->id);
        copies[k].sort = 0;
        if (!all)
            copies[k].text[0] = '\0';
        for (int p = 0; p < copies[k].n_points; p++) { /* the same place of a larger or smaller picture */
            copies[k].x[p] *= (double)to->width / from->width;
            copies[k].y[p] *= (double)to->height / from->height;
        }
        k++;
    }
    text_copy(st->bench.words_left, sizeof st->bench.words_left, n_left > 0 ? from->id : "");
    if (n_measuring == 0 && n_left > 0) {
        ui_toast(ui, "Nothing here measures: these marks are about this plug. Shift+C once more copies them to the next photo all the same.", NULL);
        return;
    }
    if (k > 0)
        bench_put(ui, out, copies, k, "Marks copied to the next photo");
    if (k == 0)
        text_copy(words, sizeof words, "This photo has those marks already");
    else
        text_format(words, sizeof words, "%d mark%s copied to this photo", k, k == 1 ? "" : "s");
    if (n_left > 0)
        text_format(words + strlen(words), sizeof words - strlen(words), "; %d about the other plug stayed there (back with , and Shift+C once more: copied too)", n_left);
    ui_toast(ui, words, k > 0 ? "Undo" : NULL);
    st->photo++;
    st->bench.mark[0] = '\0';
    st->bench.point = -1;
}

static void frame_plug(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out)
{
    (void)ui, (void)out;
    if (m->can_write && st->photo >= 0 && st->photo < (int)m->n_photos && photo_ready(&m->photos[st->photo]))
        bench_frame_next(st);
}

static void save_sheet(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out)
{
    (void)ui, (void)st;
    if (model_visit(m) != NULL)
        actions_add(out, ACT_WRITE_SHEET);
}

static void undo(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out)
{
    (void)ui, (void)st;
    if (m->can_write)
        actions_add(out, ACT_UNDO);
}

static void redo(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out)
{
    (void)ui, (void)st;
    if (m->can_write)
        actions_add(out, ACT_REDO);
}

static void leave(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out)
{
    (void)ui, (void)m, (void)st;
    actions_add(out, ACT_QUIT);
}

/* ---- the table ---- */

/* clang-format off */
static const struct command table[] = {
    {"engines", "F1", "back to all engines", NULL, {"F1"}, COMMAND_ENGINE, true, false, to_engines},
    {"plan", "F2", "Plan", NULL, {"F2"}, COMMAND_PULLING | COMMAND_PHOTOS | COMMAND_TRENDS | COMMAND_LINEUP | COMMAND_JOB | COMMAND_REPORT, true, false, to_plan},
    {"photos", "F3", "Photos", NULL, {"F3"}, COMMAND_PLAN | COMMAND_PULLING | COMMAND_TRENDS | COMMAND_LINEUP | COMMAND_JOB | COMMAND_REPORT, true, false, to_photos},
    {"pulling", "F4", "plug by plug, in the order drawn where there is one", NULL, {"F4"}, COMMAND_PLAN | COMMAND_PHOTOS | COMMAND_TRENDS | COMMAND_LINEUP | COMMAND_JOB | COMMAND_REPORT, true, false, to_pulling},
    {"trends", "F11", "Trends: a measure over the visits", NULL, {"F11"}, COMMAND_PLAN | COMMAND_PULLING | COMMAND_PHOTOS | COMMAND_LINEUP | COMMAND_JOB | COMMAND_REPORT, true, false, to_trends},
    {"lineup", "F12", "Line-up: all plugs of all visits side by side", NULL, {"F12"}, COMMAND_PLAN | COMMAND_PULLING | COMMAND_PHOTOS | COMMAND_TRENDS | COMMAND_JOB | COMMAND_REPORT, true, false, to_lineup},
    {"job", "Ctrl+J", "Job: causes, steps, parts, refitting", NULL, {"Ctrl+J"}, COMMAND_PLAN | COMMAND_PULLING | COMMAND_PHOTOS | COMMAND_TRENDS | COMMAND_LINEUP | COMMAND_REPORT, true, false, to_job},
    {"visit", "F5", "this visit: date, odometer, complaint, order", NULL, {"F5"}, COMMAND_ENGINE, false, false, edit_visit},
    {"draw-order", "Shift+R", "draw the order the plugs come out, on the plan", NULL, {"Shift+R"}, COMMAND_PLAN | COMMAND_PULLING, true, false, draw_order},
    {"order-back", "Backspace", "while the order is drawn: the last one back", NULL, {"Backspace"}, COMMAND_PLAN, false, false, NULL},
    {"by-number", "Shift+P", "take up the next photo of the tray: a number then places it", NULL, {"Shift+P"}, COMMAND_PLAN, false, false, by_number},
    {"photo-shows", "Shift+F", "the photo taken up shows the firing end; W, T, B, O, C, L, N with Shift: the well and so on; the number then places it", NULL, {"Shift+F"}, COMMAND_PLAN, false, false, NULL},
    {"photo-shows-here", "Shift+F W …", "the photo offered goes to the plug in hand and shows its firing end, well, threads (T), body (B), boot (O), coil (C), lead (L), connector (N)", NULL, {"Shift+F", "Shift+W", "Shift+N"}, COMMAND_PULLING, false, false, NULL},
    {"look-next", "Ctrl+L", "what last time asks to look at: the next of it", NULL, {"Ctrl+L"}, COMMAND_ENGINE, true, false, look_next},
    {"photos-here", "Shift+H", "photos of another day than the visit's: they belong here", NULL, {"Shift+H"}, COMMAND_PLAN | COMMAND_PULLING, false, false, photos_here},
    {"photos-apart", "Shift+V", "photos of another day than the visit's: a visit of their own", NULL, {"Shift+V"}, COMMAND_PLAN | COMMAND_PULLING, false, false, photos_apart},
    {"add-photos", "F6", "add photos", "Add photos…", {"F6"}, COMMAND_ENGINE, false, false, add_photos},
    {"gap", "F7", "gap of the selected plug", NULL, {"F7"}, COMMAND_PLAN | COMMAND_PULLING, false, false, type_gap},
    {"trust-gap", "Shift+G", "count the photo's gap or the feeler gauge's, where there are both", NULL, {"Shift+G"}, COMMAND_PLAN | COMMAND_PHOTOS, false, false, trust_gap},
    {"units", "F8", "inch or millimetre", "Inch or millimetre", {"F8"}, COMMAND_EVERYWHERE, true, false, change_units},
    {"keys", "F9", "this list", "All keys", {"F9"}, COMMAND_EVERYWHERE, true, false, show_keys},
    {"targets", "F10", "large targets, for gloves", "Large targets", {"F10"}, COMMAND_EVERYWHERE, true, false, change_targets},
    {"larger", "Ctrl++", "everything larger, to 300 %", "Everything larger", {"Ctrl++", "Ctrl+="}, COMMAND_EVERYWHERE, true, false, larger},
    {"smaller", "Ctrl+−", "everything smaller, to 100 %", "Everything smaller", {"Ctrl+-"}, COMMAND_EVERYWHERE, true, false, smaller},
    {"as-screen", "Ctrl+0", "everything as large as the screen says", "As large as the screen says", {"Ctrl+0"}, COMMAND_EVERYWHERE, true, false, as_screen},
    {"search", "Ctrl+F", "search all engines, visits and notes", "Search…", {"Ctrl+F"}, COMMAND_EVERYWHERE, false, false, search},
    {"settle-first", "Ctrl+1", "of two values that merged copies have for the selected plug: the first", NULL, {"Ctrl+1"}, COMMAND_PLAN, false, false, settle_first},
    {"settle-second", "Ctrl+2", "the second", NULL, {"Ctrl+2"}, COMMAND_PLAN, false, false, settle_second},
    {"merge", "Shift+M", "take in another copy of this logbook: what would come in is shown first", "Merge another copy…", {"Shift+M"}, COMMAND_ENGINES, false, false, merge_copy},
    {"copy-logbook", "Ctrl+B", "a copy of this logbook with its photos, onto a stick or another disk; tells where it lies", "Copy of this logbook…", {"Ctrl+B"}, COMMAND_EVERYWHERE, false, false, copy_logbook},
    {"conflicts", "Ctrl+M", "what merged copies say differently", NULL, {"Ctrl+M"}, COMMAND_EVERYWHERE, false, false, conflicts},
    {"rules", "Ctrl+K", "the rule compression is judged by", "Rule for compression…", {"Ctrl+K"}, COMMAND_ENGINE, false, false, choose_rule},
    {"new-engine", "N", "new engine", NULL, {"n", "Ctrl+N"}, COMMAND_ENGINES, false, false, NULL},
    {"start-over", "Ctrl+R", "the engine's form, taken up as it was left: empty again", NULL, {"Ctrl+R"}, COMMAND_ENGINES, false, false, NULL},
    {"change-engine", "E", "change the chosen engine", NULL, {"e"}, COMMAND_ENGINES, false, false, NULL},
    {"remove-engine", "Delete", "take the chosen engine out", NULL, {"Delete"}, COMMAND_ENGINES, false, false, NULL},
    {"add-open", "Ctrl+Enter", "new engine: add it and open its first visit; a changed one: keep the changes", NULL, {"Ctrl+Enter"}, COMMAND_ENGINES, false, false, NULL},
    {"add", "Shift+Enter", "new engine: add it only", NULL, {"Shift+Enter"}, COMMAND_ENGINES, false, false, NULL},
    {"new-visit", "Ctrl+N", "new visit", NULL, {"Ctrl+N"}, COMMAND_ENGINE, false, false, new_visit},
    {"visit-before", "Ctrl+PageUp", "the visit before", NULL, {"Ctrl+PageUp"}, COMMAND_ENGINE, false, false, visit_before},
    {"visit-after", "Ctrl+PageDown", "the visit after", NULL, {"Ctrl+PageDown"}, COMMAND_ENGINE, false, false, visit_after},
    {"report", "Ctrl+R", "Report: what will be handed over, and writing it", "Report…", {"Ctrl+R"}, COMMAND_PLAN | COMMAND_PULLING | COMMAND_PHOTOS | COMMAND_TRENDS | COMMAND_LINEUP | COMMAND_JOB, true, false, to_report},
    {"report-part", "A … R", "take a part of the report in, or leave it out: the letter beside it", NULL, {"a", "b", "r"}, COMMAND_REPORT, false, false, NULL},
    {"report-alone", "Shift+A … R", "that part alone, as G, the parts to order; again: all of them", NULL, {"Shift+A", "Shift+R"}, COMMAND_REPORT, false, false, NULL},
    {"report-visits", "V", "this visit or all", NULL, {"v"}, COMMAND_REPORT, false, false, NULL},
    {"report-how-many", "W", "so many of the latest visits", NULL, {"w"}, COMMAND_REPORT, false, false, NULL},
    {"report-write", "1 … 4", "write it as a page, PDF, table, case", NULL, {"1", "2", "4"}, COMMAND_REPORT, false, false, NULL},
    {"report-sheet", "5 6", "write the line-up alone, as a picture or as PDF", NULL, {"5", "6"}, COMMAND_REPORT, false, false, NULL},
    {"report-paper", "Y", "PDF on A4 or Letter", NULL, {"y"}, COMMAND_REPORT, false, false, NULL},
    {"take-file", "Ctrl+O", "take over a table of readings, a written case, a folder of old photos or a copy of the logbook", "Take over a table or a case…", {"Ctrl+O"}, COMMAND_EVERYWHERE, false, false, take_over},
    {"undo", "Ctrl+Z", "undo", NULL, {"Ctrl+Z"}, COMMAND_EVERYWHERE, true, false, undo},
    {"redo", "Ctrl+Y", "redo", NULL, {"Ctrl+Y", "Ctrl+Shift+Z"}, COMMAND_EVERYWHERE, true, false, redo},
    {"leave", "Ctrl+Q", "leave; everything is kept", NULL, {"Ctrl+Q"}, COMMAND_EVERYWHERE, true, false, leave},
    {"paste", "Ctrl+V", "take in photos from the clipboard", NULL, {"Ctrl+V"}, COMMAND_ENGINE, false, true, NULL},
    {"pick", "1 … 9", "pick a cylinder by its name: 7, 12, 1A; the number again: its next plug", NULL, {"3"}, COMMAND_PLAN, false, false, NULL},
    {"figure", "0 … 9", "type the gap: 1.1, 110, .043", NULL, {"1", "."}, COMMAND_PULLING, false, false, NULL},
    {"deposit", "N C O F …", "note a deposit: the letter on its chip; again: more, up to heavy; − takes it back", NULL, {"n", "c", "o"}, COMMAND_PLAN | COMMAND_PULLING, false, false, NULL},
    {"zone", "Shift+W", "signs of the well; with T threads, B body, O boot, C coil, L lead, N connector", NULL, {"Shift+W", "Shift+T", "Shift+N"}, COMMAND_PLAN, false, false, NULL},
    {"measures", "Shift+M", "compression, leak-down and differential of all cylinders", NULL, {"Shift+M"}, COMMAND_PLAN | COMMAND_PULLING | COMMAND_JOB, false, false, measures},
    {"turned", "Ctrl+T", "the engine was turned by hand, plugs out; yes where the red strip asks", NULL, {"Ctrl+T"}, COMMAND_PLAN | COMMAND_PULLING | COMMAND_JOB, false, false, turned},
    {"particulars", "Shift+D", "particulars of the plug: how tight, cracked, worn where", NULL, {"Shift+D"}, COMMAND_PLAN | COMMAND_PULLING, false, false, particulars},
    {"well-dry", "X", "well dry", NULL, {"x"}, COMMAND_PULLING, false, false, NULL},
    {"well-oil", "Y", "oil in the well: moderate, again heavy; − less", NULL, {"y"}, COMMAND_PULLING, false, false, NULL},
    {"no-wells", "Shift+X", "the plugs stand in the open: no wells, where the engine does not say", NULL, {"Shift+X"}, COMMAND_PULLING, false, false, NULL},
    {"amount", "+ −", "of the sign noted last: more, less", NULL, {"+", "-"}, COMMAND_PLAN | COMMAND_PULLING, false, false, NULL},
    {"next", ".", "next plug, next photo", NULL, {"."}, COMMAND_PLAN | COMMAND_PHOTOS | COMMAND_TRENDS | COMMAND_LINEUP, false, false, NULL},
    {"before", ",", "the one before", NULL, {","}, COMMAND_PULLING | COMMAND_PHOTOS | COMMAND_TRENDS | COMMAND_LINEUP, false, false, NULL},
    {"firing", "F", "by bank or by firing order", NULL, {"f"}, COMMAND_LINEUP, false, false, NULL},
    {"sheet", "Ctrl+S", "save the line-up as one picture", "Save the sheet", {"Ctrl+S"}, COMMAND_LINEUP, false, false, save_sheet},
    {"lineup-view", "V", "plugs onto their tips or from the side", NULL, {"v"}, COMMAND_LINEUP, false, false, NULL},
    {"lineup-lay", "O", "two visits laid over each other, or apart", NULL, {"o"}, COMMAND_LINEUP, false, false, NULL},
    {"lineup-blink", "B", "two visits in turn: again the other", NULL, {"b"}, COMMAND_LINEUP, false, false, NULL},
    {"lineup-visits", "P N", "of two visits laid over: another above, another below", NULL, {"p", "n"}, COMMAND_LINEUP, false, false, NULL},
    {"lineup-share", "Y Z", "of two visits laid over: less and more of the upper one", NULL, {"y", "z"}, COMMAND_LINEUP, false, false, NULL},
    {"table", "T", "trends as a table", NULL, {"t"}, COMMAND_TRENDS, false, false, NULL},
    {"by-plug", "P", "lines follow the plug through the holes it stood in, or the cylinder", NULL, {"p"}, COMMAND_TRENDS, false, false, NULL},
    {"measure", "+", "the next measure", NULL, {"+"}, COMMAND_TRENDS, false, false, NULL},
    {"accept", "A", "accept the chosen cause", NULL, {"a"}, COMMAND_JOB, false, false, NULL},
    {"set-aside", "S", "set the chosen cause aside", NULL, {"s"}, COMMAND_JOB, false, false, NULL},
    {"take-over", "T", "take over the proposed steps and parts", NULL, {"t"}, COMMAND_JOB, false, false, NULL},
    {"pick-hole", "1 … 9", "choose a hole by its cylinder's name; the number again: its next plug", NULL, {"3"}, COMMAND_JOB, false, false, NULL},
    {"hand-tight", "H", "the plug is in, hand-tight; again: it is out", NULL, {"h"}, COMMAND_JOB, false, false, NULL},
    {"done", "D", "step done, part one state on, plug torqued, cause repaired", NULL, {"d"}, COMMAND_JOB, false, false, NULL},
    {"waiting", "W", "the step waits for a part or tool", NULL, {"w"}, COMMAND_JOB, false, false, NULL},
    {"look-again", "L", "look again after a distance", NULL, {"l"}, COMMAND_JOB, false, false, NULL},
    {"edit", "E", "show the fields of what is chosen", NULL, {"e"}, COMMAND_JOB, false, false, NULL},
    {"order", "+ −", "the step one place later, earlier", NULL, {"+", "-"}, COMMAND_JOB, false, false, NULL},
    {"new-step", "N", "a step of your own", NULL, {"n"}, COMMAND_JOB, false, false, NULL},
    {"new-part", "P", "a part to get", NULL, {"p"}, COMMAND_JOB, false, false, NULL},
    {"new-fact", "F", "something for next time", NULL, {"f"}, COMMAND_JOB, false, false, NULL},
    {"washer", "U", "the plug's washer: new, used", NULL, {"u"}, COMMAND_JOB, false, false, NULL},
    {"grease", "G", "the plug's thread: dry, greased", NULL, {"g"}, COMMAND_JOB, false, false, NULL},
    {"cleaned", "X", "the plug was cleaned and dried", NULL, {"x"}, COMMAND_JOB, false, false, NULL},
    {"unplugged", "O", "the plug's lead or connector is still off", NULL, {"o"}, COMMAND_JOB, false, false, NULL},
    {"keep-scrap", "Shift+K", "the plug that is scrap stays in, on your own word; again: it is to come out", NULL, {"Shift+K"}, COMMAND_JOB, false, false, NULL},
    {"torque", "Q", "what the plug was tightened to", NULL, {"q"}, COMMAND_JOB, false, false, NULL},
    {"kind", "K", "the kind of part that changes holes: plugs, coils, leads, injectors", NULL, {"k"}, COMMAND_JOB, false, false, NULL},
    {"move", "M", "the part of the chosen plug changes holes: press again at the other", NULL, {"m"}, COMMAND_JOB, false, false, NULL},
    {"renew", "I", "a new part of that kind into the chosen hole", NULL, {"i"}, COMMAND_JOB, false, false, NULL},
    {"rotate", "R", "move all plugs as the rotation says", NULL, {"r"}, COMMAND_JOB, false, false, NULL},
    {"close-visit", "C", "the visit is closed, or open again", NULL, {"c"}, COMMAND_JOB, false, false, NULL},
    {"job-out", "Delete", "take the step or part out", NULL, {"Delete"}, COMMAND_JOB, false, false, NULL},
    {"zoom", "+ −", "zoom in and out", NULL, {"+", "-"}, COMMAND_PHOTOS, false, false, NULL},
    {"full-size", "1", "photo at 100 %", NULL, {"1"}, COMMAND_PHOTOS, false, false, NULL},
    {"fit", "F", "whole photo", NULL, {"f"}, COMMAND_PHOTOS, false, false, NULL},
    {"turn", "T", "turn the photo by a quarter", NULL, {"t"}, COMMAND_PHOTOS, false, false, NULL},
    {"lean", "Q W", "turn the photo by 1°; with Shift by 0.1°", NULL, {"q", "w", "Shift+Q"}, COMMAND_PHOTOS, false, false, NULL},
    {"lean-fine", "Shift+W", "turn the photo by 0.1° clockwise", NULL, {"Shift+W"}, COMMAND_PHOTOS, false, false, NULL},
    {"level", "U", "level the photo by the chosen line, or by one drawn along what shall be level or upright", NULL, {"u"}, COMMAND_PHOTOS, false, false, NULL},
    {"straight", "0", "the photo as it was taken, but for quarter turns", NULL, {"0"}, COMMAND_PHOTOS, false, false, NULL},
    {"take-out", "Delete", "take the mark away; without one the photo out of the visit", NULL, {"Delete"}, COMMAND_PHOTOS, false, false, NULL},
    {"copy", "Ctrl+S", "save a copy of the photo with its marks", "Save a copy with marks", {"Ctrl+S"}, COMMAND_PHOTOS, false, false, save_copy},
    {"copy-marks", "Shift+C", "copy the marks that measure to the next photo; there and back, once more: words and pins too", "Copy marks to the next photo", {"Shift+C"}, COMMAND_PHOTOS, false, false, copy_marks_on},
    {"frame", "Shift+L", "frame the plug for the Line-up: from its tip, from its side", "Frame for the Line-up", {"Shift+L"}, COMMAND_PHOTOS, false, false, frame_plug},
    {"tool-select", "V", "select marks", NULL, {"v"}, COMMAND_PHOTOS, false, false, NULL},
    {"tool-scale", "S", "draw the scale line, along the threads", NULL, {"s"}, COMMAND_PHOTOS, false, false, NULL},
    {"tool-hex", "6", "draw across the hex", NULL, {"6"}, COMMAND_PHOTOS, false, false, NULL},
    {"tool-length", "5", "draw along a known length", NULL, {"5"}, COMMAND_PHOTOS, false, false, NULL},
    {"tool-gap", "G", "draw the gap line", NULL, {"g"}, COMMAND_PHOTOS, false, false, NULL},
    {"tool-patch", "P", "draw the grey patch", NULL, {"p"}, COMMAND_PHOTOS, false, false, NULL},
    {"tool-nose", "N", "draw the outline of the nose", NULL, {"n"}, COMMAND_PHOTOS, false, false, NULL},
    {"tool-pin", "I", "set a pin", NULL, {"i"}, COMMAND_PHOTOS, false, false, NULL},
    {"tool-arrow", "A", "draw an arrow", NULL, {"a"}, COMMAND_PHOTOS, false, false, NULL},
    {"tool-outline", "O", "draw an outline; D freely, E an ellipse, B a box", NULL, {"o", "d", "e"}, COMMAND_PHOTOS, false, false, NULL},
    {"tool-box", "B", "draw a box", NULL, {"b"}, COMMAND_PHOTOS, false, false, NULL},
    {"tool-text", "X", "write on the photo", NULL, {"x"}, COMMAND_PHOTOS, false, false, NULL},
    {"tool-ruler", "R", "draw a ruler", NULL, {"r"}, COMMAND_PHOTOS, false, false, NULL},
    {"corner-back", "Backspace", "while an outline is set by its corners: the last one back", NULL, {"Backspace"}, COMMAND_PHOTOS, false, false, NULL},
    {"take", "Enter", "use the lines offered; take the gap; set the mark of the tool; close an outline", NULL, {"Enter"}, COMMAND_PHOTOS, false, false, NULL},
    {"offer-again", "Shift+O", "offer again the lines found that were turned down", NULL, {"Shift+O"}, COMMAND_PHOTOS, false, false, NULL},
    {"colour", "K", "take the nose's colour", NULL, {"k"}, COMMAND_PHOTOS, false, false, NULL},
    {"mark", "M", "the next mark; arrows move it, Shift+arrows by ten", NULL, {"m"}, COMMAND_PHOTOS, false, false, NULL},
    {"mark-point", "H", "the next point of the mark: arrows then move that", NULL, {"h"}, COMMAND_PHOTOS, false, false, NULL},
    {"mark-order", "Shift+F B", "the mark in front of the next one; Shift+B behind the one before", NULL, {"Shift+F", "Shift+B"}, COMMAND_PHOTOS, false, false, NULL},
    {"mark-colour", "Shift+I", "the mark's next colour", NULL, {"Shift+I"}, COMMAND_PHOTOS, false, false, NULL},
    {"loupe", "L", "magnifier at the pointer; brings the gap's back that was put away", NULL, {"l"}, COMMAND_PHOTOS, false, false, NULL},
    {"compare", "C", "another photo beside this one; again the next", NULL, {"c"}, COMMAND_PHOTOS, false, false, NULL},
    {"blend", "J", "the photo compared with over this one, or beside it", NULL, {"j"}, COMMAND_PHOTOS, false, false, NULL},
    {"share", "Y Z", "less and more of the photo that lies over this one", NULL, {"y", "z"}, COMMAND_PHOTOS, false, false, NULL},
    {"accept-photos", "Ctrl+Enter", "put the photos where they are proposed; plug by plug, one whose time tells no plug: on the plug in hand", NULL, {"Ctrl+Enter"}, COMMAND_PLAN | COMMAND_PULLING, false, false, NULL},
    {"enter", "Enter", "open; accept where the photos go; onward", NULL, {"Enter"}, COMMAND_ENGINES | COMMAND_PLAN | COMMAND_PULLING, false, false, NULL},
    {"escape", "Esc", "back, close, let a mark go, turn down the lines offered; out of a field too: what was typed is kept, Ctrl+Z takes it back", NULL, {"Escape"}, COMMAND_ENGINE, false, false, NULL},
    {"tab", "Tab", "next control; Shift+Tab the one before, arrows move too", NULL, {"Tab"}, COMMAND_EVERYWHERE, false, false, NULL},
};
/* clang-format on */

const struct command *commands(int *n)
{
    *n = (int)(sizeof table / sizeof table[0]);
    return table;
}

const char *command_key(const char *id)
{
    for (size_t i = 0; i < sizeof table / sizeof table[0]; i++)
        if (strcmp(table[i].id, id) == 0)
            return table[i].shown;
    assert(false); /* a command that the table does not have */
    return "";
}

enum command_place commands_here(const struct screen_state *st)
{
    switch (st->screen) {
    case SCREEN_PLAN: return st->pulling ? COMMAND_PULLING : COMMAND_PLAN;
    case SCREEN_PHOTOS: return COMMAND_PHOTOS;
    case SCREEN_TRENDS: return COMMAND_TRENDS;
    case SCREEN_LINEUP: return COMMAND_LINEUP;
    case SCREEN_JOB: return COMMAND_JOB;
    case SCREEN_REPORT: return COMMAND_REPORT;
    case SCREEN_ENGINES:
    case SCREEN_COUNT: break;
    }
    return COMMAND_ENGINES;
}

void commands_places(unsigned places, char *to, size_t n_room)
{
    static const struct {
        unsigned place;
        const char *words;
    } words[] = {{COMMAND_ENGINES, "Engines"}, {COMMAND_PLAN, "Plan"}, {COMMAND_PULLING, "plug by plug"}, {COMMAND_PHOTOS, "Photos"}, {COMMAND_TRENDS, "Trends"}, {COMMAND_LINEUP, "Line-up"}, {COMMAND_JOB, "Job"}, {COMMAND_REPORT, "Report"}};
    size_t used = 0;

    text_copy(to, n_room, places == COMMAND_EVERYWHERE ? "everywhere" : places == COMMAND_ENGINE ? "an engine" : "");
    for (size_t i = 0; i < sizeof words / sizeof words[0] && to[0] != 'e' && to[0] != 'a'; i++)
        if ((places & words[i].place) != 0) {
            text_format(to + used, n_room - used, "%s%s", used ? ", " : "", words[i].words);
            used = strlen(to);
        }
}

/* A field has its own undo and redo and takes the keys while it has something to undo or to redo. What it leaves is the
 * logbook's, unless what was typed is not kept yet. */
static bool while_typing(const struct ui *ui, const struct command *c)
{
    if (c->run == undo || c->run == redo)
        return !ui_unsaved(ui);
    return c->run != visit_before && c->run != visit_after;
}

/* The screen that is under the panel: its key closes that. */
static bool leads_here(const struct command *c, enum command_place here)
{
    static const struct {
        void (*run)(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out);
        enum command_place place;
    } screens[] = {{to_plan, COMMAND_PLAN}, {to_photos, COMMAND_PHOTOS}, {to_pulling, COMMAND_PULLING}, {to_trends, COMMAND_TRENDS}, {to_lineup, COMMAND_LINEUP}, {to_job, COMMAND_JOB}, {to_report, COMMAND_REPORT}};

    for (size_t i = 0; i < sizeof screens / sizeof screens[0]; i++)
        if (screens[i].run == c->run)
            return screens[i].place == here;
    return false;
}

bool commands_keys(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out)
{
    const enum command_place here = commands_here(st);

    for (size_t i = 0; i < sizeof table / sizeof table[0]; i++) {
        const struct command *c = &table[i];

        if (st->panel != PANEL_NONE && leads_here(c, here) && ui_key(ui, c->keys[0])) {
            st->panel = PANEL_NONE;
            return true;
        }
        if (c->run == NULL || (c->places & here) == 0 || (st->panel != PANEL_NONE && !c->over_panels) ||
            (ui_typing(ui) && !while_typing(ui, c)))
            continue;
        for (int k = 0; k < 3 && c->keys[k] != NULL; k++)
            if (ui_key(ui, c->keys[k])) {
                c->run(ui, m, st, out);
                if (ui_typing(ui) && commands_here(st) != here)
                    ui_focus(ui, NULL); /* a field of the same name may stand there */
                return true;
            }
    }
    return false;
}

void commands_menu(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out)
{
    struct ui_menu_item items[sizeof table / sizeof table[0]];
    const struct command *of[sizeof table / sizeof table[0]];
    int n = 0, chosen;

    for (size_t i = 0; i < sizeof table / sizeof table[0]; i++)
        if (table[i].menu != NULL && (table[i].places & commands_here(st)) != 0) {
            of[n] = &table[i];
            items[n++] = (struct ui_menu_item){table[i].menu, table[i].shown};
        }
    chosen = ui_menu(ui, "menu", st->menu_x, st->menu_y, items, n);
    if (chosen == UI_MENU_OPEN)
        return;
    st->menu = false;
    if (chosen >= 0)
        of[chosen]->run(ui, m, st, out);
}
