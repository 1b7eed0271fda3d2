/* logbook.h - a logbook on disk: a folder with logbook.db (SQLite) and photos/ (originals named by
 * their SHA-256). Every edit is a row of the edit log, written in the same transaction as the change
 * itself; undo appends the reverse. One struct logbook per thread. docs/logbook-format.md tells the
 * tables. */
#ifndef LOGBOOK_LOGBOOK_H
#define LOGBOOK_LOGBOOK_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include "base/clock.h"
#include "base/files.h"
#include "record/record.h"

struct arena;
struct err;
struct logbook;

/* ---- open and close ---- */
enum logbook_mode {
    LOGBOOK_READ,   /* nothing is written */
    LOGBOOK_WRITE,  /* a command: writes beside an open window */
    LOGBOOK_WINDOW  /* the window: a second one opens for reading only and says so */
};
/* Makes the folder if need be; fails when it holds a logbook already. */
bool logbook_create(const char *folder, struct err *e);
/* NULL on failure: no logbook there, not ours, a newer version, no permission, a network file system
 * (for writing), damaged. An older version is brought up to date after a backup copy. */
struct logbook *logbook_open(const char *folder, enum logbook_mode mode, struct err *e);
/* To read, for a command: one of an older version is brought up to date first, after a copy, as the window does it. */
struct logbook *logbook_open_updated(const char *folder, bool *updated, struct err *e);
void logbook_close(struct logbook *lb); /* NULL is fine */
bool logbook_can_write(const struct logbook *lb);
/* Of a window that reads only because another one has the logbook open: when that is gone, this one writes from now on, and true is
 * given, once. What the other wrote last may be unread. Cheap: ask at an input. */
bool logbook_comes_first(struct logbook *lb);
const char *logbook_why_read_only(const struct logbook *lb); /* "" when it can write */
const char *logbook_folder(const struct logbook *lb);
/* True when another connection made an edit since the last call; what is only worked out and kept beside the log is none. Cheap: ask
 * on every wake-up. */
bool logbook_changed_outside(struct logbook *lb);

/* ---- the one way in ---- */
/* Tables and columns an edit may name, with their types; one test walks it. */
enum logbook_type { LOGBOOK_TEXT, LOGBOOK_INT, LOGBOOK_REAL };
struct logbook_column {
    const char *table, *column;
    enum logbook_type type;
    const char *refers; /* table it points into, or NULL */
    const char *about;  /* unit or words, for docs/logbook-format.md */
};
const struct logbook_column *logbook_columns(size_t *n);

/* Edits between begin and commit are one transaction and one undo step (or join one); nothing changed is no step.
 * After a failed edit the rest of the change does nothing and commit fails with the first trouble;
 * then everything is as it was at begin. Begins do not nest. Labels are shown: "Gap of 3".
 * What commit acknowledged is on the disk. */
bool logbook_begin(struct logbook *lb, const char *label, struct err *e);
bool logbook_commit(struct logbook *lb, struct err *e);
void logbook_rollback(struct logbook *lb);
bool logbook_in_change(const struct logbook *lb); /* between begin and commit */
/* What a person did in one go but is written bit by bit (forty photos dropped at once) is one undo step:
 * each later change joins, between begin and commit, the step of the first. What was done in between
 * stays a step of its own, and is undone before it. Step 0 joins nothing. */
void logbook_join(struct logbook *lb, int64_t step);
/* Changes begun from here on join that step, as logbook_join() says, until step 0. */
void logbook_join_on(struct logbook *lb, int64_t step);
/* Step of the change committed last through this struct, 0 when it changed nothing; the one that would
 * be undone next, 0 none. */
int64_t logbook_step(const struct logbook *lb);
int64_t logbook_undo_step(const struct logbook *lb);
/* Sets one field; the row comes into being with its first edit. NULL clears. Nothing is logged when
 * the value is there already. */
bool logbook_set_text(struct logbook *lb, const char *table, const char *row, const char *column, const char *value, struct err *e);
bool logbook_set_int(struct logbook *lb, const char *table, const char *row, const char *column, int64_t value, struct err *e);
bool logbook_set_real(struct logbook *lb, const char *table, const char *row, const char *column, double value, struct err *e);
bool logbook_clear(struct logbook *lb, const char *table, const char *row, const char *column, struct err *e);
/* Makes a row with a fresh id / takes it out of sight (it stays in the log and can come back). */
bool logbook_add(struct logbook *lb, const char *table, char id[UUID_BYTES], struct err *e);
bool logbook_remove(struct logbook *lb, const char *table, const char *row, struct err *e);
/* One field as it is now, also inside a change; false when the row or the value is missing. */
bool logbook_get_text(struct logbook *lb, const char *table, const char *row, const char *column, char *to, size_t n_room);
bool logbook_get_int(struct logbook *lb, const char *table, const char *row, const char *column, int64_t *out);
bool logbook_is_there(struct logbook *lb, const char *table, const char *row); /* exists and is not taken away */

/* Labels of what would be undone or redone; "" when nothing. Changes made in this copy, by the window
 * and by commands beside it, survive a restart. A field that something newer (a merged copy) has set
 * since is left alone; where that leaves nothing to do they fail and say so, and the step is none any more. */
const char *logbook_undo_label(const struct logbook *lb);
const char *logbook_redo_label(const struct logbook *lb);
bool logbook_undo(struct logbook *lb, struct err *e);
bool logbook_redo(struct logbook *lb, struct err *e);
/* The change committed last can no longer be undone: what a logbook starts with is no step of the user. */
bool logbook_keep_last(struct logbook *lb, struct err *e);

/* ---- writing what the window and the commands need (inside begin … commit) ---- */
/* Only what differs is written. When cylinders are renumbered or moved, readings, photos, parts and
 * orders follow their label (a label that is new takes over the place); a cylinder or plug position
 * that would vanish with something noted on it is refused. */
bool logbook_put_engine(struct logbook *lb, const char *id, const struct engine *en, struct err *e);
/* Text of a form that is being filled in and no row yet: outside the edit log, this copy's own. "" drops it. The text must fit n_room
 * to be read. */
bool logbook_keep_draft(struct logbook *lb, const char *text, struct err *e);
bool logbook_read_draft(struct logbook *lb, char *to, size_t n_room);
/* date, odometer, complaint … everything of the visit but its readings; work done that *v does not name
 * is taken away. */
bool logbook_put_visit(struct logbook *lb, const char *id, const char *engine_id, const struct engine *en,
                       const struct visit *v, struct err *e);
/* The same of a visit that was loaded as *was and became *v: only what differs is written, so that what a
 * command wrote beside an open window stays. */
bool logbook_change_visit(struct logbook *lb, const char *id, const struct engine *en, const struct visit *was, const struct visit *v, struct err *e);
/* Row id of a plug's reading, the same on every device, from its hole; or from its place in the engine. A hole's number is
 * that of its place until the engine is numbered anew; then it goes along with the label. */
void logbook_reading_id(const char *visit_id, int cylinder_hole, int position_hole, char id[UUID_BYTES]);
bool logbook_find_reading(struct logbook *lb, const char *visit_id, int cylinder, int position, char id[UUID_BYTES], struct err *e);
/* Makes the reading's row if need be. */
bool logbook_touch_reading(struct logbook *lb, const char *visit_id, int cylinder, int position, char id[UUID_BYTES], struct err *e);
/* Whole reading, as it is in memory. A plug that is known keeps its name. */
bool logbook_put_reading(struct logbook *lb, const char *visit_id, const struct reading *r, struct err *e);
/* One sign; amount AMOUNT_UNSEEN takes the note away, and so does 0 where something was noted; elsewhere 0 says that there
 * is none. Of the rest of its zone nothing is said, but for the firing end (reading_say). */
bool logbook_note_sign(struct logbook *lb, const char *visit_id, int cylinder, int position, enum sign s, int amount, struct err *e);
bool logbook_see_rest(struct logbook *lb, const char *visit_id, int cylinder, int position, enum zone z, struct err *e); /* nothing else is there */
bool logbook_see_zone(struct logbook *lb, const char *visit_id, int cylinder, int position, enum zone z, bool seen, struct err *e);
/* um < 0 clears. unit "mm" or "in": as it was typed. */
bool logbook_put_gap(struct logbook *lb, const char *visit_id, int cylinder, int position, bool as_left, int64_t um, const char *unit, struct err *e);
/* The gap as found, measured in a photo: kept beside the feeler gauge's; um < 0 takes it away. */
bool logbook_put_gap_photo(struct logbook *lb, const char *visit_id, int cylinder, int position, int64_t um, int64_t pm_um, struct err *e);
/* Which of the two counts: the photo's, or (not photo) the feeler gauge's where there is one. */
bool logbook_trust_gap(struct logbook *lb, const char *visit_id, int cylinder, int position, bool photo, struct err *e);
/* Which plug was in the hole, by its name; one that the engine does not know yet is made. */
bool logbook_name_plug(struct logbook *lb, const char *visit_id, int cylinder, int position, const char *name, struct err *e);
/* A record with all its visits as a new engine; gives its id. For cases and the sample. */
bool logbook_import_record(struct logbook *lb, const struct record *r, char engine_id[UUID_BYTES], struct err *e);

/* ---- reading back ---- */
struct logbook_engine {
    char id[UUID_BYTES];
    char name[ENGINE_NAME_BYTES], subtitle[ENGINE_NAME_BYTES];
    struct engine engine;
    int n_visits, n_open_steps, n_parts_ordered, n_parts_to_order;
    char last_visit[UUID_BYTES], last_date[11];
    struct maybe last_odometer_m;
    int last_odometer_unit;
    char last_note[160];       /* what the last visit ended with, "" */
    int n_steps_waiting;       /* of the open ones, those that wait for a part or a tool */
    int n_photos;
    char last_complaint[32];   /* first complaint of the last visit, an id; "" */
    char next_step[160];       /* the first open step, "" */
};
/* Newest visit first. */
bool logbook_list_engines(struct logbook *lb, struct arena *a, struct logbook_engine **engines, size_t *n, struct err *e);
bool logbook_load_engine(struct logbook *lb, const char *engine_id, struct engine *en, struct err *e);
struct logbook_visit {
    char id[UUID_BYTES], date[11];
    struct maybe odometer_m;
    int odometer_unit;
    int n_photos, n_unplaced;
    bool closed;
    bool ahead; /* its date is still to come: it is not the latest while another is not */
};
/* Oldest first; those without a date last, those ahead behind them. */
bool logbook_list_visits(struct logbook *lb, const char *engine_id, struct arena *a, struct logbook_visit **visits, size_t *n, struct err *e);
size_t logbook_latest_visit(const struct logbook_visit *visits, size_t n); /* the last that is not ahead, else the last; n > 0 */
/* The engine with its visits, read up to and with `visit_id` (NULL: all); later ones stand behind it. out is released on failure. */
bool logbook_load_record(struct logbook *lb, const char *engine_id, const char *visit_id, struct record *out, struct err *e);
/* The engine with its latest visit, and of those before it the ones on which rests whether it may be started; none when it has none: for
 * what needs no history. Plugs that the visit itself does not name have no name, and nothing can be told of growth or repairs. out is released on failure. */
bool logbook_load_latest(struct logbook *lb, const char *engine_id, struct record *out, struct err *e);
/* The number of the change committed last, here or beside; -1 when it cannot be read. */
int64_t logbook_last_change(struct logbook *lb);
/* Brings a record that logbook_load_record() gave up to date where all that was edited behind the change `since` stands in
 * its last visit: that one is read anew, and the record is as if it were loaded. *done false: more than that was edited, and
 * the record has to be loaded again, as it has on failure; its last visit may then be the new one. */
bool logbook_refresh_record(struct logbook *lb, const char *engine_id, int64_t since, struct record *r, bool *done, struct err *e);
/* A visit named by its id or its date, "DATE/2" the second of that date; an engine by its id or its
 * name. "" picks the latest / the only one. Fails ERR_NOTFOUND with the list of what there is,
 * ERR_BADARG where several visits are of the date. */
bool logbook_find_engine(struct logbook *lb, const char *name, char id[UUID_BYTES], struct err *e);
bool logbook_find_visit(struct logbook *lb, const char *engine_id, const char *name, char id[UUID_BYTES], struct err *e);

/* ---- photos ---- */
struct logbook_photo {
    char id[UUID_BYTES], visit[UUID_BYTES];
    char sha256[65], name[256], format[16];
    int cylinder, position;    /* -1: not placed yet */
    int zone;                  /* enum zone, -1 not said */
    char taken[32];            /* camera's local time "2026-06-14T10:42:17.250", "" unknown */
    int offset_min;            /* from UTC, when offset_given */
    bool offset_given;
    int width, height;         /* as displayed */
    int turn;                  /* quarter turns clockwise a person added */
    int lean_mdeg;             /* and so much more clockwise, thousandths of a degree, -45000 .. 45000 */
    char trouble[256];         /* why it cannot be shown, "" */
    char step[UUID_BYTES];     /* step of the job it belongs to, "" */
    char caption[160];         /* what it shows, in words: a harness, a drain plug; "" */
    int64_t sort;
};
double logbook_photo_turn_deg(const struct logbook_photo *p); /* all of it, clockwise */
/* It lies in the tray: of no plug, no step, nor said what it shows. */
bool logbook_photo_waits(const struct logbook_photo *p);
/* The id under which a picture of a visit is kept: the same file dropped twice is one photo. */
void logbook_photo_id(const char *visit_id, const char *sha256, char id[UUID_BYTES]);
/* Copies the file into FOLDER/photos under its SHA-256, unchanged and flushed (once), and fills sha256,
 * name and format of *out. Touches no database: any thread, any process, before logbook_put_photo(). */
bool logbook_keep_original(const char *folder, const char *path, struct logbook_photo *out, struct err *e);
bool logbook_put_photo(struct logbook *lb, const struct logbook_photo *p, struct err *e);
bool logbook_place_photo(struct logbook *lb, const char *id, const char *visit_id, int cylinder, int position, struct err *e); /* cylinder -1: in the tray */
bool logbook_list_photos(struct logbook *lb, const char *visit_id, struct arena *a, struct logbook_photo **photos, size_t *n, struct err *e);
/* The one that stands for a plug's firing end: the first taken of it, else the first of no zone. NULL: none. */
const struct logbook_photo *logbook_bore_photo(const struct logbook_photo *photos, size_t n, int cylinder, int position);
/* Whether a visit of the engine has a photo of this file. */
bool logbook_has_photo(struct logbook *lb, const char *engine_id, const char *sha256);
/* Path of the original, whether or not it is there. */
bool logbook_photo_path(const struct logbook *lb, const char *sha256, const char *format, char *to, size_t n_room);

/* ---- marks: what is drawn on a photo, as vectors in the photo's own coordinates ---- */
enum mark_kind {
    MARK_SCALE,   /* 2 points, along the threads (or, with `known`, along something of known length) */
    MARK_HEX,     /* 2 points, across the plug's hexagon */
    MARK_LENGTH,  /* 2 points, along a ruler or anything of known length */
    MARK_GAP,     /* 2 points, from electrode to electrode */
    MARK_PATCH,   /* 2 points, opposite corners of a grey or white patch */
    MARK_NOSE,    /* 3 or more: outline of the insulator's nose */
    MARK_PIN, MARK_ARROW, MARK_POLYGON, MARK_FREE, MARK_ELLIPSE, MARK_BOX, MARK_TEXT, MARK_RULER, MARK_KIND_COUNT
};
struct mark_kind_row {
    const char *id;         /* as stored */
    const char *label;      /* "scale line" */
    int n_least, n_most;    /* points */
    bool only;              /* a photo has one of it: drawing another takes its place */
};
const struct mark_kind_row *mark_kind_row(enum mark_kind k);
enum mark_colour { MARK_YELLOW, MARK_BLUE, MARK_WHITE, MARK_RED, MARK_COLOUR_COUNT };
struct mark_colour_row {
    const char *id;
    uint8_t r, g, b;
};
const struct mark_colour_row *mark_colour_row(enum mark_colour c);

#define MARK_MAX_POINTS 96
struct logbook_mark {
    char id[UUID_BYTES], photo[UUID_BYTES];
    enum mark_kind kind;
    int n_points;
    double x[MARK_MAX_POINTS], y[MARK_MAX_POINTS]; /* px of the photo as displayed, from its top left */
    enum mark_colour colour;
    int width_px;              /* of the line on the screen, 1 … 9 */
    double known;              /* LENGTH, SCALE: its length in mm, PATCH: its reflectance 0 … 1; 0: not said, thread pitch, 0.18 */
    char thread[16];           /* SCALE along threads: which, "M12x1.25"; "" that of the engine's card */
    char hex[8];               /* HEX: its size, an id of assets/hex.csv; "" the one usual for the thread */
    char lies[12];             /* HEX: "corners", "flats" (how it is turned); LENGTH: "bench", "level" (where it lies); "" not said */
    char marks[8];             /* LENGTH along a ruler: its marks are counted, "mm" or "inch16" (a sixteenth) apart; "" its length is known instead */
    char text[256];
    int64_t sort;              /* order of drawing; 0 in a new one: on top */
};
/* A new mark of a photo, with a fresh id and the colour of its kind; no points yet. */
void logbook_mark_init(struct logbook_mark *m, const char *photo_id, enum mark_kind kind);
/* Fails ERR_BADARG when points are too few, too many or no numbers. */
bool logbook_put_mark(struct logbook *lb, const struct logbook_mark *m, struct err *e);
/* Of all photos of a visit, those of one photo together, lowest first. A mark of a kind this version does
 * not know is left out. */
bool logbook_list_marks(struct logbook *lb, const char *visit_id, struct arena *a, struct logbook_mark **marks, size_t *n, struct err *e);

/* ---- crops: where a photo shows its plug, as a person set it; the Line-up finds the others itself ---- */
enum crop_view {
    CROP_TIP,  /* along the axis, onto the firing end */
    CROP_SIDE, /* across the axis */
    CROP_VIEW_COUNT
};
const char *crop_view_id(enum crop_view v); /* "tip", "side": as stored */
struct logbook_crop {
    char id[UUID_BYTES], photo[UUID_BYTES];
    enum crop_view view;
    double x, y;         /* middle of the tip or of the gap, px of the photo as displayed */
    double turn_deg;     /* clockwise, so that the plug stands upright with its firing end up; -180 … 180 */
    double px_per_mm;    /* px of the photo for a millimetre of the plug, above 0 */
    bool by_eye;         /* that was not measured: the plug only looks as large as the others */
};
/* A photo has one crop for each view; its id follows from both, so that two copies of a logbook set the same row. */
void logbook_crop_id(const char *photo_id, enum crop_view view, char id[UUID_BYTES]);
/* By its photo and view. Fails ERR_BADARG when a figure is none, or lies where no photo can be. */
bool logbook_put_crop(struct logbook *lb, const struct logbook_crop *c, struct err *e);
/* Of all photos of a visit. One that is not whole, or of a view this version does not know, is left out. */
bool logbook_list_crops(struct logbook *lb, const char *visit_id, struct arena *a, struct logbook_crop **crops, size_t *n, struct err *e);

/* ---- steps, parts to get, facts for next time ---- */
struct logbook_step {
    char id[UUID_BYTES], visit[UUID_BYTES];
    char text[256], note[256], state[16]; /* todo, waiting, done, later */
    char done_on[11];
    int64_t sort;              /* 0 in a new one: last */
    char waits_for[128];       /* part or tool, "" */
    struct maybe after_m;      /* later: look again after so many metres */
    char caution[64], source[64]; /* id of a caution; the finding or cause it was proposed from; "" */
};
bool logbook_put_step(struct logbook *lb, const struct logbook_step *s, struct err *e);
bool logbook_list_steps(struct logbook *lb, const char *visit_id, struct arena *a, struct logbook_step **steps, size_t *n, struct err *e);
/* Steps that the engine's other visits left open, by the date of their visits: those that wait, that are to be looked
 * at again, that repair something or were written by hand. What every visit begins and ends with is left out: it is
 * done afresh. And parts that are not fitted. What was finished since the visit began is among them. */
bool logbook_list_left_steps(struct logbook *lb, const char *visit_id, struct arena *a, struct logbook_step **steps, size_t *n, struct err *e);
struct logbook_need {
    char id[UUID_BYTES], visit[UUID_BYTES];
    char text[160], note[160], state[16]; /* to-order, ordered, in-hand, fitted */
    char on[11];
    int quantity;
    int64_t sort;
};
bool logbook_put_need(struct logbook *lb, const struct logbook_need *s, struct err *e);
bool logbook_list_needs(struct logbook *lb, const char *visit_id, struct arena *a, struct logbook_need **needs, size_t *n, struct err *e);
bool logbook_list_left_needs(struct logbook *lb, const char *visit_id, struct arena *a, struct logbook_need **needs, size_t *n, struct err *e);
/* What a person makes of a likely cause, and what became of it. Its id follows from visit, cause and place, so
 * that two copies of a logbook judge in the same row. */
struct logbook_verdict {
    char id[UUID_BYTES], engine[UUID_BYTES], visit[UUID_BYTES]; /* visit at which it was judged */
    char cause[32], place[64];           /* id of assets/causes.csv; "bank 2" */
    char state[16];                      /* accepted, dismissed, repaired, gone, better, back */
    char repaired_visit[UUID_BYTES];     /* "" not yet */
    char note[160];
};
void logbook_verdict_id(const char *visit_id, const char *cause, const char *place, char id[UUID_BYTES]);
bool logbook_put_verdict(struct logbook *lb, const struct logbook_verdict *v, struct err *e);
/* Of an engine, by the date of their visits. */
bool logbook_list_verdicts(struct logbook *lb, const char *engine_id, struct arena *a, struct logbook_verdict **verdicts, size_t *n, struct err *e);
/* A step one place up (by -1) or down (+1) in the order of its visit; nothing at the end of the list. */
bool logbook_move_step(struct logbook *lb, const char *visit_id, const char *step_id, int by, struct err *e);
/* ---- parts as things: plugs, coils, leads, injectors that sit in holes and move ---- */
struct logbook_part {
    char id[UUID_BYTES], kind[16]; /* plug, coil, lead, injector */
    char name[80], state[16], note[160]; /* fitted, aside, scrapped; "" only named */
    struct maybe before_m;      /* run before it came into this engine */
    int cylinder, position;     /* the hole it is in after the record's last visit; cylinder -1: none */
    char since[11];             /* date it came there, "" before the first visit */
    int n_seats;                /* holes it has been in, each time counted */
    bool moved_now, left_now;   /* came into its hole, left was_cylinder, after the last visit's readings */
    int was_cylinder, was_position;
    struct maybe run_m;         /* by itself, up to the last visit: metres, or seconds where hours are counted */
    bool run_at_least, hours;   /* more than that: part of its life is not in the logbook */
};
/* By kind and name. The record is the engine's, up to the visit shown. */
bool logbook_list_parts(struct logbook *lb, const char *engine_id, const struct record *r, struct arena *a, struct logbook_part **parts, size_t *n, struct err *e);
int logbook_part_positions(const struct engine *en, const char *kind); /* holes of a cylinder for such a part */
void logbook_part_place(const struct engine *en, const char *kind, int cylinder, int position, char *to, size_t n_room); /* "3", "3 top" where there are several */
/* Moves parts of a kind after this visit's readings, all at once. Each hole that is left must be filled again
 * (ERR_BADARG names the one that is not). What has no name yet gets one: "plug from 3 top". */
bool logbook_move_parts(struct logbook *lb, const char *visit_id, const char *engine_id, const struct engine *en, const char *kind, const struct plug_move *moves, int n, struct err *e);
/* Two cylinders' parts of a kind change places: as logbook_move_parts(), and a line of work done, by which the
 * next visit tells whether the trouble went along. */
bool logbook_swap_parts(struct logbook *lb, const char *visit_id, const char *engine_id, const struct engine *en, int part, int from, int to, struct err *e);
/* A new part of that name into a hole; the old one is set aside and stays known. */
bool logbook_renew_part(struct logbook *lb, const char *visit_id, const char *engine_id, const struct engine *en, const char *kind, int cylinder, int position, const char *name, struct err *e);
/* A part that was set aside into a hole; what is in there is set aside. */
bool logbook_fit_part(struct logbook *lb, const char *visit_id, const char *engine_id, const struct engine *en, const char *part_id, int cylinder, int position, struct err *e);
/* A line of work done was added or taken back: a part that it renews leaves its hole, or is back in it. */
bool logbook_note_renewed(struct logbook *lb, const char *visit_id, const char *engine_id, const struct engine *en, const struct visit_done *d, bool done, struct err *e);

struct logbook_fact {
    char id[UUID_BYTES], engine[UUID_BYTES];
    char label[80], value[200];
    int64_t sort;
};
bool logbook_put_fact(struct logbook *lb, const struct logbook_fact *f, struct err *e);
bool logbook_list_facts(struct logbook *lb, const char *engine_id, struct arena *a, struct logbook_fact **facts, size_t *n, struct err *e);

/* ---- search: engines, visits, steps, parts to get, facts and findings, by the words noted in them ---- */
struct logbook_hit {
    char table[24], row[UUID_BYTES];           /* "engine", "visit", "step", "need", "fact", "finding" */
    char engine[UUID_BYTES], visit[UUID_BYTES]; /* visit "" for what belongs to the engine as a whole */
    char engine_name[ENGINE_NAME_BYTES], date[11];
    char text[200];                            /* the words around the place */
    struct logbook_place {
        uint16_t from, to;                     /* bytes of text: what was looked for */
    } places[12];
    int n_places;
};
struct logbook_unread { /* a visit whose findings nobody has worked out yet */
    char engine[UUID_BYTES], visit[UUID_BYTES];
};
/* Engine by engine, each oldest first. */
bool logbook_list_unread(struct logbook *lb, struct arena *a, struct logbook_unread **visits, size_t *n, struct err *e);
/* Findings are worked out anew whenever a visit is shown and never logged; their words, as they were when it was
 * last shown, are kept for the search beside the log ("finding", with the visit's id). "": nothing to say of it. Does nothing
 * where they stand already, or where the logbook cannot be written just now. */
void logbook_keep_findings(struct logbook *lb, const char *engine_id, const char *visit_id, const char *words);
/* What holds every word of `words`, the last one also as a beginning ("coil cra" finds "coil cracked");
 * accents and case count for nothing. Best first, at most `most`; where more than a thousand hold them, engines of that name and then
 * what was noted last. No word: nothing. */
bool logbook_search(struct logbook *lb, const char *words, int most, struct arena *a, struct logbook_hit **hits, size_t *n, struct err *e);

/* ---- copies that went apart ---- */
struct logbook_merged {
    size_t n_changes, n_edits;     /* taken from the other copy */
    int n_photos, n_photos_missing; /* files copied; missing or damaged in the other copy, too */
    int n_conflicts;               /* fields in conflict now */
    bool damaged;                  /* the other copy's database is, beside what could be read of it */
    /* rows that are seen now and were not before, and the other way round */
    int n_engines, n_visits, n_readings, n_photos_noted, n_taken_out;
    int n_readings_more;           /* readings seen before, of which the other copy says something this one did not */
};
/* Asked while a merge runs, with how far it is: false stops it, and nothing is changed. NULL: not asked. */
struct logbook_watch {
    bool (*go_on)(void *ctx, const char *what, size_t n_done, size_t n_all);
    void *ctx;
};
/* Takes in what the logbook in `folder` has and this one lacks: the union of both edit logs, photos by their hash.
 * Merged twice nothing changes; in which order copies are merged does not matter. It is all or nothing, and no
 * change of the log (logbook_merge_keeping() can be taken back). The other copy is only read. Fails when it is none, of another version, went apart under one
 * name (put back from a backup and written on), or was stopped (ERR_CANCEL; photos copied by then stay, unnamed). */
bool logbook_merge(struct logbook *lb, const char *folder, const struct logbook_watch *watch, struct logbook_merged *out, struct err *e);
/* "2 engines, 5 visits, 40 readings and 12 photos come in (310 edits); 3 fields with more than one value" */
void logbook_merged_words(const struct logbook_merged *m, char *to, size_t n_room);
/* The same, with the database as it was kept beside it first; its name, "before-merge-DAY.db", comes back in kept, "" where
 * nothing came in. As long as nothing was changed since that is not undone again, the merge can be taken back. */
#define LOGBOOK_KEPT_BYTES 40
bool logbook_merge_keeping(struct logbook *lb, const char *folder, const char *day, const struct logbook_watch *watch, struct logbook_merged *out, char kept[LOGBOOK_KEPT_BYTES], struct err *e);
struct logbook_last_merge {
    char kept[LOGBOOK_KEPT_BYTES], other[120], day[11]; /* name of the folder merged; when */
    char path[FILES_PATH_BYTES]; /* of that folder, "" not known */
    int n_since;          /* changes made since that are not undone */
    char why_not[300];    /* it cannot be taken back: the sentence that says so; "" it can */
};
bool logbook_last_merge(struct logbook *lb, struct logbook_last_merge *out); /* false: none is noted */
/* The logbook is as it was before its last merge, as if that had not been: nothing of it is left in the log, so that it can
 * be merged again, and the other copy keeps what it has when this one is merged there. Photo files stay, unnamed. Fails as
 * why_not says, also when the copy kept is not what it was; nothing is changed then. */
bool logbook_take_merge_back(struct logbook *lb, struct err *e);
/* The copy whose merge was taken back last, to be merged again, while nothing was changed since and it is there. It may have
 * been written on meanwhile: then that comes in too. */
bool logbook_merge_to_redo(struct logbook *lb, char *folder, size_t n_room);
struct logbook_conflict;
struct unit_choice;
/* The same on a copy that is thrown away, without photos: what a merge would bring, and the fields it would leave in
 * conflict (in the arena). Files of photos are counted by their names, not looked into. */
bool logbook_merge_preview(struct logbook *lb, const char *folder, const struct logbook_watch *watch, struct arena *a, struct logbook_merged *out,
                           struct logbook_conflict **conflicts, size_t *n_conflicts, struct err *e);
/* A field to which copies gave different values without knowing of each other; also a row that one took out while
 * the other wrote in it. One value stands, by the order in which the copies could know of each other's changes, which
 * need not be the one written last by the clock; all are kept until one is chosen. */
#define LOGBOOK_MOST_VALUES 4
struct logbook_conflict {
    char table[24], row[UUID_BYTES], column[32];
    char engine[UUID_BYTES], visit[UUID_BYTES]; /* where it is seen; "" none */
    char engine_name[ENGINE_NAME_BYTES], date[11];
    char what[240];                             /* "gap as found of 3", "visit: notes" */
    int cylinder, position;                     /* of the plug; -1 none */
    bool both;                                  /* two rows, not two values of one: both stand until one is chosen */
    int n;                                      /* values, the one that stands first */
    char values[LOGBOOK_MOST_VALUES][120];
    int64_t at_ms[LOGBOOK_MOST_VALUES];         /* when each was written, ms since 1970 UTC; 0 not known */
    char by[LOGBOOK_MOST_VALUES][80];           /* the copy it was written in, "Barn on bench"; "another copy" not known */
    bool here[LOGBOOK_MOST_VALUES];             /* that copy is this one */
};
/* "1.10 mm, written 14 Jun 2026 18:20 in this copy (Barn on bench), stands" */
void logbook_conflict_written(const struct logbook_conflict *c, int value, char *to, size_t n_room); /* "written … in …" of it */
/* "gap as found", "complaint in own words": a column's name for a person. */
void logbook_column_words(const char *column, char *to, size_t n_room);
void logbook_conflict_words(const struct logbook_conflict *c, int value, char *to, size_t n_room);
/* The units their values, and the figures in steps that are listed or found, are told in from now on; mm, kPa and N·m before.
 * Distances are told as the engine's odometer tells them. */
void logbook_tell_in(struct logbook *lb, const struct unit_choice *units);
bool logbook_list_conflicts(struct logbook *lb, struct arena *a, struct logbook_conflict **conflicts, size_t *n, struct err *e);
int logbook_count_conflicts(struct logbook *lb);
/* Chooses one of its values: a step of undo. */
bool logbook_settle(struct logbook *lb, const struct logbook_conflict *c, int value, struct err *e);

/* ---- care ---- */
struct logbook_report {
    int n_photos, n_missing, n_damaged, n_stray, n_edits;
    bool sound;
    char text[2000]; /* a line for each trouble */
};
/* Database, foreign keys, the edit log against the tables, what is noted of plugs that no card has, every photo's hash (a photo named anywhere
 * in the log is not stray). False only when the check itself could not be made. */
bool logbook_verify(struct logbook *lb, struct logbook_report *out, struct err *e);
/* A consistent copy of the database in one file, while others write. An existing file is refused. */
bool logbook_backup(struct logbook *lb, const char *file, struct err *e);

#endif
